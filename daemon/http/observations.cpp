// What people and instruments see: reports, catch cans, probes; and taking back what came of them.
#include "base/text.hpp"
#include "http/body.hpp"
#include "http/problem.hpp"
#include "tables/json_text.hpp"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <utility>

namespace firstmow::http {
namespace {

using Json = nlohmann::json;

constexpr const char* kSeenExample = R"({"kind": "seedlings_seen"})";
constexpr const char* kCansExample =
    R"({"kind": "catch_cans", "readings_mm": [2.1, 1.8, 2.4, 2.0], "minutes": 10})";
constexpr const char* kProbeExample =
    R"({"kind": "soil_probe", "depth_mm": 50, "water_fraction": 0.21})";

// Takes the members of an observation one by one; remembers the first that does not fit.
class Members {
public:
    Members(const Json& body, const char* example) : body_(body), example_(example) {}

    bool has(const char* name) const { return body_.contains(name); }
    double number(const char* name, double low, double high) {
        if (!has(name)) return refuse(std::string("the body has no \"") + name + '"');
        const Json& value = body_[name];
        if (value.is_number())
            if (const double number = value.get<double>(); number >= low && number <= high)
                return number;
        return refuse('"' + std::string(name) + "\" must be a number from " +
                      tables::json_number(low, 2) + " to " + tables::json_number(high, 2));
    }
    std::vector<double> numbers(const char* name) {
        const Json& list = body_[name];
        std::vector<double> values;
        const bool good = list.is_array() && !list.empty() && list.size() <= garden::kMostCans &&
                          std::all_of(list.begin(), list.end(),
                                      [](const Json& value) { return value.is_number(); });
        if (!good)
            refuse('"' + std::string(name) + "\" must be a list of 1 to " +
                   std::to_string(garden::kMostCans) + " numbers");
        else
            for (const Json& value : list)
                values.push_back(value.get<double>());
        return values;
    }
    // Nothing beside these.
    void only(std::initializer_list<std::string_view> names) {
        for (const auto& [name, value] : body_.items())
            if (std::find(names.begin(), names.end(), name) == names.end())
                refuse("the body has the member \"" + name.substr(0, 40) +
                       "\", which does not belong there");
    }
    double refuse(const std::string& what) {
        if (wrong_.empty()) wrong_ = what + "; send for example " + example_;
        return 0;
    }
    const std::string& wrong() const { return wrong_; }

private:
    const Json& body_;
    const char* example_;
    std::string wrong_;
};

std::variant<engine::Input, Reply> read_cans(const std::string& zone, const Json& body) {
    Members members(body, kCansExample);
    engine::CatchCanTest test;
    test.zone = zone;
    test.cans.minutes = members.number("minutes", 0.5, garden::kLongestCanTestMin);
    if (members.has("readings_ml") == members.has("readings_mm"))
        members.refuse("one of \"readings_mm\" and \"readings_ml\" must be there");
    if (members.has("readings_ml")) {
        members.only({"kind", "minutes", "readings_ml", "opening_cm2"});
        const double opening_cm2 = members.number("opening_cm2", 1, 5000);
        for (const double ml : members.numbers("readings_ml"))
            test.cans.depth_mm.push_back(opening_cm2 > 0 ? garden::can_depth_mm(ml, opening_cm2)
                                                         : 0);
    } else if (members.has("readings_mm")) {
        members.only({"kind", "minutes", "readings_mm"});
        test.cans.depth_mm = members.numbers("readings_mm");
    }
    if (!members.wrong().empty()) return wrong_value(members.wrong());
    if (const auto evaluated = garden::evaluate(test.cans); !evaluated)
        return wrong_value("the cans are no test: " + evaluated.error().message);
    return engine::Input(std::move(test));
}

std::variant<engine::Input, Reply> read_probe(const std::string& zone, const Json& body) {
    Members members(body, kProbeExample);
    engine::SoilProbe probe;
    probe.zone = zone;
    members.only({"kind", "depth_mm", "water_fraction", "kpa"});
    probe.depth_mm = members.number("depth_mm", 5, 300);
    if (members.has("water_fraction") == members.has("kpa"))
        members.refuse("one of \"water_fraction\" (0 to 0.7) and \"kpa\" (0 or negative) must be "
                       "there");
    if (members.has("water_fraction"))
        probe.water_fraction = members.number("water_fraction", 0, 0.7);
    if (members.has("kpa")) probe.kpa = members.number("kpa", -100000, 0);
    if (!members.wrong().empty()) return wrong_value(members.wrong());
    return engine::Input(std::move(probe));
}

std::variant<engine::Input, Reply> read_seen(const std::string& zone, const Json& body,
                                             const std::string& kind) {
    const auto seen = turf::observation_by_key(kind);
    if (!seen)
        return wrong_value("\"kind\" must be seedlings_seen, nothing_yet, first_mow, mown, rooted, "
                           "surface_dry, puddling, catch_cans or soil_probe");
    if (body.size() != 1)
        return wrong_value(std::string("the body has members beside \"kind\"; send for example ") +
                           kSeenExample);
    return engine::Input(engine::Observation{zone, *seen});
}

} // namespace

void Routes::observe(App& app, Call call) {
    auto zone = read_zone(call, app.backend_);
    if (auto* refusal = std::get_if<Reply>(&zone)) return call.respond(std::move(*refusal));
    const std::string& id = std::get<std::string>(zone);
    auto read = read_object(call.request, kSeenExample);
    if (auto* refusal = std::get_if<Reply>(&read)) return call.respond(std::move(*refusal));
    const Json& body = std::get<Json>(read);
    if (!body.is_object() || !body.contains("kind"))
        return call.respond(
            wrong_value(std::string("the body has no \"kind\"; send for example ") + kSeenExample));
    const std::string kind = body["kind"].is_string() ? body["kind"].get<std::string>() : "";
    auto input = kind == "catch_cans"   ? read_cans(id, body)
                 : kind == "soil_probe" ? read_probe(id, body)
                                        : read_seen(id, body, kind);
    if (auto* refusal = std::get_if<Reply>(&input)) return call.respond(std::move(*refusal));
    tables::JsonWriter w;
    w.open('{').text("accepted", "observation").text("zone", id).text("kind", kind).close();
    order(app, call, std::move(std::get<engine::Input>(input)), w.take());
}

namespace {

std::string taken_back(const std::string& zone, const char* what) {
    tables::JsonWriter w;
    w.open('{').text("accepted", what).text("zone", zone).close();
    return w.take();
}

} // namespace

void Routes::take_back(App& app, Call call) {
    auto zone = read_zone(call, app.backend_);
    if (auto* refusal = std::get_if<Reply>(&zone)) return call.respond(std::move(*refusal));
    const std::string& id = std::get<std::string>(zone);
    order(app, call, engine::CorrectionUndo{id, false}, taken_back(id, "take_back"));
}

void Routes::set_back(App& app, Call call) {
    auto zone = read_zone(call, app.backend_);
    if (auto* refusal = std::get_if<Reply>(&zone)) return call.respond(std::move(*refusal));
    const std::string& id = std::get<std::string>(zone);
    order(app, call, engine::CorrectionUndo{id, true}, taken_back(id, "set_back"));
}

void Routes::undo(App& app, Call call) {
    auto zone = read_zone(call, app.backend_);
    if (auto* refusal = std::get_if<Reply>(&zone)) return call.respond(std::move(*refusal));
    const std::string& id = std::get<std::string>(zone);
    auto number = read_number(call.request, "number", 1, 9e15, R"({"number": 12})");
    if (auto* refusal = std::get_if<Reply>(&number)) return call.respond(std::move(*refusal));
    const engine::WordUndo undo{id, std::llround(std::get<double>(number))};
    order(app, call, undo, taken_back(id, "undo"));
}

} // namespace firstmow::http
