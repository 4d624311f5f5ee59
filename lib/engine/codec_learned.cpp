#include "engine/codec_learned.hpp"

#include "engine/codec_values.hpp"

namespace firstmow::engine {

Json estimate_json(const watering::Estimate& e) {
    return {{"mean", values_json(e.mean, static_cast<int>(e.mean.size()))},
            {"covariance", values_json(e.covariance, static_cast<int>(e.covariance.size()))}};
}

watering::Estimate read_estimate(Reader& r, const Json& j) {
    constexpr int kOf = static_cast<int>(watering::kUnknowns);
    return {read_values<watering::kUnknowns>(r, j, "mean", kOf),
            read_values<watering::kUnknowns * watering::kUnknowns>(r, j, "covariance", kOf * kOf)};
}

Json heard_json(const Heard& heard) {
    Json list = Json::array();
    for (const auto& time : heard)
        list.push_back(optional_json(time));
    return list;
}

Heard read_heard(Reader& r, const Json& j, const char* key) {
    Heard heard;
    const Json& list = r.list(j, key);
    if (list.size() != heard.size()) {
        r.fail(std::string("'") + key + "' has not as many times as there are causes");
        return heard;
    }
    for (std::size_t i = 0; i < heard.size(); ++i) {
        if (list[i].is_null()) continue;
        if (!list[i].is_number_integer())
            r.fail(std::string("'") + key + "' holds no time");
        else
            heard[i] = wall_from_unix(list[i].get<std::int64_t>());
    }
    return heard;
}
namespace {

Json factors_json(const watering::Factors& f) {
    return Json::array({f.evaporation, f.rate, f.uniformity, f.intake});
}

watering::Factors read_factors(Reader& r, const Json& j, const char* key) {
    const auto v = read_values<4>(r, j, key, 4);
    return {v[0], v[1], v[2], v[3]};
}
} // namespace

Json corrections_json(const std::vector<Undoable>& corrections) {
    Json list = Json::array();
    for (const Undoable& u : corrections)
        list.push_back({{"time", to_json_value(u.correction.time)},
                        {"zone", u.correction.zone},
                        {"cause", static_cast<int>(u.correction.cause)},
                        {"before", factors_json(u.correction.before)},
                        {"after", factors_json(u.correction.after)},
                        {"why", u.correction.why},
                        {"estimate", estimate_json(u.before)},
                        {"heard", heard_json(u.heard_before)}});
    return list;
}

std::vector<Undoable> read_corrections(Reader& r, const Json& j) {
    std::vector<Undoable> corrections;
    for (const Json& u : r.list(j, "corrections"))
        corrections.push_back(
            {{r.time(u, "time"), r.text(u, "zone"), r.choice(u, "cause", Cause::set_back),
              read_factors(r, u, "before"), read_factors(r, u, "after"), r.text(u, "why")},
             read_estimate(r, r.at(u, "estimate")),
             read_heard(r, u, "heard")});
    return corrections;
}

} // namespace firstmow::engine
