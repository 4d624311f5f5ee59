// A shortfall as the status tells it, beside what the description says of it.
#include "serving.hpp"

#include "base/text.hpp"

#include <httplib.h>
#include <nlohmann/json.hpp>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::http;
using nlohmann::json;

namespace {

bool is_of(const json& value, const std::string& type) {
    if (type == "object") return value.is_object();
    if (type == "array") return value.is_array();
    if (type == "string") return value.is_string();
    if (type == "number") return value.is_number();
    if (type == "boolean") return value.is_boolean();
    return type == "null" && value.is_null();
}

// What is wrong with `value` by `schema`, as far as the description of a shortfall goes; a key that
// is not described is wrong too. Empty: nothing.
std::string fault(const json& value, const json& schema, const std::string& where) {
    if (schema.contains("type") && !is_of(value, schema["type"].get<std::string>()))
        return where + " is no " + schema["type"].get<std::string>();
    if (schema.contains("enum")) {
        const json& allowed = schema["enum"];
        if (std::find(allowed.begin(), allowed.end(), value) == allowed.end())
            return where + " may not be " + value.dump();
    }
    if (schema.value("format", "") == "date-time" && !parse_iso8601(value.get<std::string>()))
        return where + " is no time";
    if (value.is_array()) {
        for (std::size_t i = 0; i < value.size(); ++i)
            if (auto wrong =
                    fault(value[i], schema.at("items"), where + "[" + std::to_string(i) + "]");
                !wrong.empty())
                return wrong;
    }
    if (value.is_object()) {
        for (const json& key : schema.at("required"))
            if (!value.contains(key.get<std::string>()))
                return where + " has no " + key.get<std::string>();
        for (const auto& [key, inner] : value.items()) {
            if (!schema.at("properties").contains(key)) return where + "." + key + " is unknown";
            if (auto wrong = fault(inner, schema["properties"][key], where + "." + key);
                !wrong.empty())
                return wrong;
        }
    }
    return {};
}

WallTime at(const char* text) {
    return parse_iso8601(text).value();
}

engine::ShortfallView dry_front() {
    engine::ShortfallView s;
    s.zone = "front";
    s.at_stake = "stand";
    s.until = at("2026-09-06T18:20:00Z");
    s.dry_hours = 5.26;
    s.lowest_kpa = -412.4;
    s.spells = {{at("2026-08-31T18:00:00Z"), at("2026-08-31T21:15:00Z"), -412.4},
                {at("2026-09-01T19:00:00Z"), at("2026-09-01T21:00:00Z"), -180}};
    s.helps = {{"longer_hours", 0}, {"straw", 1.5}, {"fewer_zones", 4}, {"even_nozzles", 4.76}};
    s.ask_authority = true;
    s.text = "Front lawn will be too dry for 5 h in the coming week.";
    return s;
}

json get(httplib::Client& client, const std::string& path) {
    const auto reply = client.Get(path);
    REQUIRE(reply);
    REQUIRE_EQ(reply->status, 200);
    return json::parse(reply->body);
}

} // namespace

TEST_CASE("status tells a shortfall with every key, as the description has it") {
    Serving serving;
    httplib::Client client{"127.0.0.1", serving.port()};
    CHECK_EQ(get(client, "/api/v1/status")["shortfalls"], json::array());
    engine::ShortfallView bare = dry_front();
    bare.zone = "side";
    bare.at_stake = "time";
    bare.spells.clear();
    bare.helps.clear();
    serving.on_loop([&](FakeBackend& backend, HttpServer&) {
        backend.change([&](engine::GardenView& view) { view.shortfalls = {dry_front(), bare}; });
    });
    const json told = get(client, "/api/v1/status")["shortfalls"];
    CHECK_EQ(told[0], json::parse(R"({
        "zone": "front", "at_stake": "stand", "until": "2026-09-06T18:20:00Z",
        "dry_hours": 5.3, "lowest_kpa": -412,
        "spells": [
            {"from": "2026-08-31T18:00:00Z", "until": "2026-08-31T21:15:00Z", "lowest_kpa": -412},
            {"from": "2026-09-01T19:00:00Z", "until": "2026-09-01T21:00:00Z", "lowest_kpa": -180}],
        "helps": [{"what": "longer_hours", "dry_hours": 0}, {"what": "straw", "dry_hours": 1.5},
                  {"what": "fewer_zones", "dry_hours": 4},
                  {"what": "even_nozzles", "dry_hours": 4.8}],
        "text": "Front lawn will be too dry for 5 h in the coming week."})"));
    REQUIRE_EQ(told.size(), 2);
    CHECK_EQ(told[1]["zone"], "side");
    CHECK_EQ(told[1]["spells"], json::array());

    const json schemas = get(client, "/api/v1/openapi.json")["components"]["schemas"];
    const json& shortfall = schemas["Shortfall"];
    for (const json& one : told)
        CHECK_EQ(fault(one, shortfall, "shortfall"), "");
    // Nothing is described that is not told.
    for (const auto& [key, of] : shortfall["properties"].items())
        CHECK_MESSAGE(told[0].contains(key), key);
    // The check itself sees what is wrong.
    json wrong = told[0];
    wrong["at_stake"] = "money";
    CHECK_EQ(fault(wrong, shortfall, "s"), "s.at_stake may not be \"money\"");
    wrong = told[0];
    wrong["helps"][1].erase("dry_hours");
    CHECK_EQ(fault(wrong, shortfall, "s"), "s.helps[1] has no dry_hours");
    wrong = told[0];
    wrong["spells"][0]["from"] = "yesterday";
    CHECK_EQ(fault(wrong, shortfall, "s"), "s.spells[0].from is no time");
}
