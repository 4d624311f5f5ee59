// How fast and how evenly a zone's sprinklers bring water: by exactly one of four ways.
#include "base/check.hpp"
#include "base/text.hpp"
#include "garden/sections.hpp"
#include "garden/wording.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string_view>

namespace firstmow::garden {

namespace {

constexpr std::string_view kWays[] = {"precipitation_rate", "catch_cans", "flow"};
constexpr Field kCanFields[] = {
    {"readings", true, "readings = \"14 16 17 19 20 22 24 25 mL\""},
    {"opening", false, "opening = \"105 cm2\""},
    {"diameter", false, "diameter = \"116 mm\""},
    {"time", true, "time = \"10 min\""},
};
constexpr Range kRates{0.1, 200};

struct Readings {
    std::vector<double> values;
    std::string unit;
};

// "14 16 17 mL": numbers, then their one unit.
std::optional<Readings> read_readings(const Fields& fields) {
    const auto text = fields.text("readings", 2000);
    if (!text) return std::nullopt;
    Readings readings;
    std::string_view rest = *text;
    while (!rest.empty()) {
        const std::string_view word = rest.substr(0, rest.find(' '));
        rest.remove_prefix(std::min(word.size() + 1, rest.size()));
        if (word.empty()) continue;
        const auto value = parse_number(word);
        if (!readings.unit.empty() || (!value && readings.values.empty())) break;
        if (value)
            readings.values.push_back(*value);
        else
            readings.unit = word;
        if (!readings.unit.empty() && !rest.empty()) break;
    }
    const std::string& unit = readings.unit;
    if (readings.values.empty() || !rest.empty() ||
        (unit != "mL" && unit != "mm" && unit != "cm" && unit != "in")) {
        fields.refuse("readings", in_quotes(*text) +
                                      " is no row of numbers with one unit (mL, mm, cm or in) at "
                                      "its end; \"14 16 17 19 mL\" would be right");
        return std::nullopt;
    }
    return readings;
}

// Of a can, where the readings are volumes.
std::optional<double> read_opening_cm2(const Fields& fields, const std::string& called,
                                       const Node& table, Errors& errors) {
    const bool area = fields.find("opening") != nullptr;
    const bool across = fields.find("diameter") != nullptr;
    if (area == across) {
        errors.add(table.spot, called + (area ? " has both \"opening\" and \"diameter\"; one of "
                                                "them would be right"
                                              : " gives mL and no size of the cans; opening = "
                                                "\"105 cm2\" or diameter = \"116 mm\" would be "
                                                "right"));
        return std::nullopt;
    }
    if (area) return fields.quantity("opening", Dimension::opening_cm2, {1, 5000});
    const auto mm = fields.quantity("diameter", Dimension::depth_mm, {10, 800});
    if (!mm) return std::nullopt;
    return std::numbers::pi / 4 * (*mm / 10) * (*mm / 10);
}

std::optional<CanTest> read_cans(const Node& table, const std::string& called, Errors& errors) {
    const Fields fields(table, called, kCanFields, errors);
    const auto readings = read_readings(fields);
    const auto time_s =
        fields.quantity("time", Dimension::duration_s, {30, kLongestCanTestMin * 60});
    if (!readings || !time_s) return std::nullopt;
    CatchCans cans;
    cans.minutes = *time_s / 60;
    double to_mm = readings->unit == "cm" ? 10 : readings->unit == "in" ? 25.4 : 1;
    if (readings->unit == "mL") {
        const auto cm2 = read_opening_cm2(fields, called, table, errors);
        if (!cm2) return std::nullopt;
        to_mm = can_depth_mm(1, *cm2);
    } else {
        for (const std::string_view key : {"opening", "diameter"})
            if (fields.find(key) != nullptr)
                fields.refuse(key, "is for readings in mL; leaving it out would be right");
    }
    for (const double value : readings->values)
        cans.depth_mm.push_back(value * to_mm);
    const Result<CanTest> test = evaluate(cans);
    if (!test) {
        fields.refuse("readings", "make no rate: " + test.error().message);
        return std::nullopt;
    }
    if (test->cans >= 4 && test->uniformity < 0.1) {
        fields.refuse("readings", "make a lower-quarter uniformity of " +
                                      fixed(test->uniformity, 2) +
                                      "; sprinklers that leave a quarter of the zone dry must be "
                                      "mended first, 0.1 or more would be right");
        return std::nullopt;
    }
    return *test;
}

// The one way in which the rate is given; empty when none is, nothing after an error.
std::optional<std::string_view> read_way(const Fields& fields, const Node& table,
                                         const std::string& called, Errors& errors) {
    std::string_view way;
    for (const std::string_view key : kWays) {
        if (fields.find(key) == nullptr) continue;
        if (!way.empty()) {
            fields.refuse(key, "says again what " + std::string(way) +
                                   " says, how fast the sprinklers bring water; one of " +
                                   choice_of(kWays) + " would be right");
            return std::nullopt;
        }
        way = key;
    }
    if (way.empty() && fields.find("heads") == nullptr) {
        errors.add(table.spot, called + " lacks \"precipitation_rate\"; write, for example, "
                                        "precipitation_rate = \"12 mm/h\" (or catch_cans, flow or "
                                        "heads: how fast the sprinklers bring water)");
        return std::nullopt;
    }
    return way;
}

void take_heads(Zone& zone, const Fields& fields, ReadZone& read) {
    const HeadTraits kind = traits(zone.heads);
    zone.rate_source = RateSource::heads;
    zone.precipitation_rate_mm_per_h = kind.rate_mm_per_h;
    read.rate_at = fields.find("heads")->spot;
    read.rate_key = "heads";
    read.caution =
        Caution{read.rate_at->line, read.rate_at->column,
                "the rate of " + in_quotes(zone.id) + " is only the usual one of such heads, " +
                    fixed(kind.rate_mm_per_h, 0) +
                    " mm/h; put out catch cans and write catch_cans, or measure its flow"};
}

} // namespace

void read_sprinklers(const Fields& fields, const Node& table, const std::string& called,
                     ReadZone& read, Errors& errors) {
    Zone& zone = read.zone;
    const auto heads = fields.word("heads", kHeadsKeys);
    if (heads) zone.heads = static_cast<Heads>(*heads + 1);
    if (heads) zone.distribution_uniformity = traits(zone.heads).uniformity;
    const auto way = read_way(fields, table, called, errors);
    if (way == "precipitation_rate") {
        const auto rate = fields.quantity(*way, Dimension::rate_mm_per_h, kRates);
        zone.precipitation_rate_mm_per_h = rate.value_or(0);
    } else if (way == "flow") {
        const auto flow = fields.quantity(*way, Dimension::flow_l_per_min, {0.1, 10000});
        if (flow && zone.area_m2 > 0)
            zone.precipitation_rate_mm_per_h = rate_from_flow_mm_per_h(*flow, zone.area_m2);
        zone.rate_source = RateSource::flow;
    } else if (way == "catch_cans") {
        zone.rate_source = RateSource::cans;
        if (const Node* const cans = fields.table(*way))
            if (const auto test = read_cans(*cans, "catch_cans of " + called, errors)) {
                zone.precipitation_rate_mm_per_h = test->rate_mm_per_h;
                if (test->cans >= 4) zone.distribution_uniformity = test->uniformity;
            }
    } else if (way && heads) {
        take_heads(zone, fields, read);
    }
    const double rate = zone.precipitation_rate_mm_per_h;
    if (way && !way->empty() && zone.area_m2 > 0 && rate > 0) {
        read.rate_at = fields.find(*way)->spot;
        read.rate_key = *way;
        if (rate < kRates.low || rate > kRates.high)
            fields.refuse(*way, "makes " + fixed(rate, 2) +
                                    " mm/h; 0.1 to 200 mm/h would be right (" +
                                    fixed(zone.area_m2, 1) + " m2)");
    }
    if (const auto du = fields.number("distribution_uniformity", {0.1, 1}))
        zone.distribution_uniformity = *du;
}

} // namespace firstmow::garden
