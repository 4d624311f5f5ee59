#include "engine/codec_record.hpp"

#include <algorithm>

namespace firstmow::engine {

namespace {

bool all_numbers(const Json& list, std::size_t size) {
    return list.is_array() && list.size() == size &&
           std::all_of(list.begin(), list.end(), [](const Json& value) {
               return value.is_number() && std::isfinite(value.get<double>());
           });
}

} // namespace

Json forecast_record_json(const watering::ForecastRecord& record) {
    Json scores = Json::array();
    for (const auto& leads : record.scores)
        for (const watering::LeadScore& s : leads)
            scores.push_back(Json::array(
                {s.et_thought_mm, s.et_came_mm, s.et_off_mm, s.rain_thought_mm, s.rain_came_mm}));
    Json waiting = Json::array();
    for (const watering::Foretold& f : record.waiting)
        waiting.push_back(Json::array(
            {to_json_value(f.start), f.lead, static_cast<int>(f.thought), f.et_mm, f.rain_mm}));
    return {{"scores", std::move(scores)}, {"waiting", std::move(waiting)}};
}

watering::ForecastRecord read_forecast_record(Reader& r, const Json& state) {
    watering::ForecastRecord record;
    if (!Reader::has(state, "forecast_record")) return record;
    const Json& j = r.at(state, "forecast_record");
    const Json& scores = r.list(j, "scores");
    if (scores.size() != watering::kThoughts * watering::kLeads) {
        r.fail("'scores' has not one row for each lead of each kind");
        return record;
    }
    for (std::size_t i = 0; i < scores.size(); ++i) {
        if (!all_numbers(scores[i], 5)) {
            r.fail("'scores' holds something that is no row of five numbers");
            return record;
        }
        const auto v = [&](std::size_t k) { return scores[i][k].get<double>(); };
        record.scores[i / watering::kLeads][i % watering::kLeads] = {v(0), v(1), v(2), v(3), v(4)};
    }
    for (const Json& f : r.list(j, "waiting")) {
        if (!all_numbers(f, 5) || !f[0].is_number_integer() || !f[1].is_number_integer() ||
            !f[2].is_number_integer() || f[1].get<std::int64_t>() < 0 ||
            f[1].get<std::int64_t>() >= static_cast<std::int64_t>(watering::kLeads) ||
            f[2].get<std::int64_t>() < 0 ||
            f[2].get<std::int64_t>() >= static_cast<std::int64_t>(watering::kThoughts) ||
            record.waiting.size() >= watering::kMostForetold) {
            r.fail("'waiting' holds something that is no thought of an hour");
            return record;
        }
        record.waiting.push_back({wall_from_unix(f[0].get<std::int64_t>()),
                                  static_cast<std::uint8_t>(f[1].get<int>()),
                                  static_cast<watering::Thought>(f[2].get<int>()),
                                  f[3].get<double>(), f[4].get<double>()});
    }
    return record;
}

} // namespace firstmow::engine
