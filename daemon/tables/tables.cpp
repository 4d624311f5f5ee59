#include "tables/tables.hpp"

#include "base/text.hpp"
#include "tables/json_text.hpp"

#include <array>
#include <cmath>
#include <string_view>

namespace firstmow::tables {
namespace {

// A value on its way into a table: plain text for CSV, and whether JSON needs quotes around it.
struct Cell {
    std::string text;
    bool quoted = false;
    bool absent = false;
};

Cell words(std::string_view text) {
    return {std::string(text), true, false};
}
Cell moment(WallTime time) {
    return {to_iso8601(time), true, false};
}
Cell whole(long long value) {
    return {std::to_string(value), false, false};
}
Cell amount(double value, int decimals) {
    if (!std::isfinite(value)) return {{}, false, true};
    return {fixed(value, decimals), false, false};
}

template <class Row>
struct Column {
    std::string_view name;
    Cell (*cell)(const Row&);
};

using engine::Correction;
using engine::Cycle;
using engine::Decision;
using engine::Moisture;
using engine::Notice;
using engine::PhaseRecord;
using engine::WeatherUsed;

constexpr std::array kCycleColumns{
    Column<Cycle>{"zone", [](const Cycle& c) { return words(c.zone); }},
    Column<Cycle>{"start", [](const Cycle& c) { return moment(c.start); }},
    Column<Cycle>{"end", [](const Cycle& c) { return moment(c.end); }},
    Column<Cycle>{"planned_s", [](const Cycle& c) { return whole(c.planned_s); }},
    Column<Cycle>{"run_s", [](const Cycle& c) { return whole(c.run_s); }},
    Column<Cycle>{"depth_mm", [](const Cycle& c) { return amount(c.depth_mm, 3); }},
    Column<Cycle>{"volume_l", [](const Cycle& c) { return amount(c.volume_l, 2); }},
    Column<Cycle>{"reason", [](const Cycle& c) { return words(c.reason); }},
    Column<Cycle>{"outcome", [](const Cycle& c) { return words(engine::key(c.outcome)); }},
};

constexpr std::array kDecisionColumns{
    Column<Decision>{"time", [](const Decision& d) { return moment(d.time); }},
    Column<Decision>{"zone", [](const Decision& d) { return words(d.zone); }},
    Column<Decision>{"decision", [](const Decision& d) { return words(engine::key(d.verdict)); }},
    Column<Decision>{"start",
                     [](const Decision& d) {
                         return d.start ? moment(*d.start) : Cell{{}, false, true};
                     }},
    Column<Decision>{"run_s", [](const Decision& d) { return whole(d.run_s); }},
    Column<Decision>{"reason", [](const Decision& d) { return words(d.reason); }},
    Column<Decision>{"explanation", [](const Decision& d) { return words(d.explanation); }},
};

constexpr std::array kMoistureColumns{
    Column<Moisture>{"time", [](const Moisture& m) { return moment(m.time); }},
    Column<Moisture>{"zone", [](const Moisture& m) { return words(m.zone); }},
    Column<Moisture>{"phase", [](const Moisture& m) { return words(turf::key(m.phase)); }},
    Column<Moisture>{"seed_zone_mm", [](const Moisture& m) { return amount(m.seed_zone_mm, 3); }},
    Column<Moisture>{"seed_zone_kpa", [](const Moisture& m) { return amount(m.seed_zone_kpa, 2); }},
    Column<Moisture>{"low_quarter_kpa",
                     [](const Moisture& m) { return amount(m.low_quarter_kpa, 2); }},
    Column<Moisture>{"root_zone_mm", [](const Moisture& m) { return amount(m.root_zone_mm, 3); }},
    Column<Moisture>{"evaporation_mm",
                     [](const Moisture& m) { return amount(m.evaporation_mm, 4); }},
    Column<Moisture>{"transpiration_mm",
                     [](const Moisture& m) { return amount(m.transpiration_mm, 4); }},
    Column<Moisture>{"rain_mm", [](const Moisture& m) { return amount(m.rain_mm, 4); }},
    Column<Moisture>{"applied_mm", [](const Moisture& m) { return amount(m.applied_mm, 4); }},
    Column<Moisture>{"runoff_mm", [](const Moisture& m) { return amount(m.runoff_mm, 4); }},
    Column<Moisture>{"drainage_mm", [](const Moisture& m) { return amount(m.drainage_mm, 4); }},
    Column<Moisture>{"soil_temp_c", [](const Moisture& m) { return amount(m.soil_temp_c, 2); }},
};

constexpr std::array kPhaseColumns{
    Column<PhaseRecord>{"time", [](const PhaseRecord& p) { return moment(p.time); }},
    Column<PhaseRecord>{"zone", [](const PhaseRecord& p) { return words(p.zone); }},
    Column<PhaseRecord>{"from", [](const PhaseRecord& p) { return words(turf::key(p.from)); }},
    Column<PhaseRecord>{"to", [](const PhaseRecord& p) { return words(turf::key(p.to)); }},
    Column<PhaseRecord>{"why", [](const PhaseRecord& p) { return words(p.why); }},
};

constexpr std::array kCorrectionColumns{
    Column<Correction>{"time", [](const Correction& c) { return moment(c.time); }},
    Column<Correction>{"zone", [](const Correction& c) { return words(c.zone); }},
    Column<Correction>{"cause", [](const Correction& c) { return words(engine::key(c.cause)); }},
    Column<Correction>{"evaporation_before",
                       [](const Correction& c) { return amount(c.before.evaporation, 4); }},
    Column<Correction>{"evaporation_after",
                       [](const Correction& c) { return amount(c.after.evaporation, 4); }},
    Column<Correction>{"rate_before", [](const Correction& c) { return amount(c.before.rate, 4); }},
    Column<Correction>{"rate_after", [](const Correction& c) { return amount(c.after.rate, 4); }},
    Column<Correction>{"uniformity_before",
                       [](const Correction& c) { return amount(c.before.uniformity, 4); }},
    Column<Correction>{"uniformity_after",
                       [](const Correction& c) { return amount(c.after.uniformity, 4); }},
    Column<Correction>{"intake_before",
                       [](const Correction& c) { return amount(c.before.intake, 4); }},
    Column<Correction>{"intake_after",
                       [](const Correction& c) { return amount(c.after.intake, 4); }},
    Column<Correction>{"why", [](const Correction& c) { return words(c.why); }},
};

constexpr std::array kNoticeColumns{
    Column<Notice>{"time", [](const Notice& n) { return moment(n.time); }},
    Column<Notice>{"zone", [](const Notice& n) { return words(n.zone); }},
    Column<Notice>{"severity", [](const Notice& n) { return words(engine::key(n.severity)); }},
    Column<Notice>{"code", [](const Notice& n) { return words(n.code); }},
    Column<Notice>{"text", [](const Notice& n) { return words(n.text); }},
};

constexpr std::array kWeatherColumns{
    Column<WeatherUsed>{"time", [](const WeatherUsed& w) { return moment(w.hour.start); }},
    Column<WeatherUsed>{"air_temp_c",
                        [](const WeatherUsed& w) { return amount(w.hour.air_temp_c, 1); }},
    Column<WeatherUsed>{"rel_humidity_pct",
                        [](const WeatherUsed& w) { return amount(w.hour.rel_humidity_pct, 1); }},
    Column<WeatherUsed>{"wind_2m_m_s",
                        [](const WeatherUsed& w) { return amount(w.hour.wind_2m_m_s, 2); }},
    Column<WeatherUsed>{"solar_w_m2",
                        [](const WeatherUsed& w) { return amount(w.hour.solar_w_m2, 1); }},
    Column<WeatherUsed>{"rain_mm", [](const WeatherUsed& w) { return amount(w.hour.rain_mm, 2); }},
    Column<WeatherUsed>{"et_short_mm",
                        [](const WeatherUsed& w) { return amount(w.et_short_mm, 3); }},
    Column<WeatherUsed>{"sources", [](const WeatherUsed& w) { return words(w.sources); }},
};

template <class Row, std::size_t n>
std::string to_csv(std::span<const Row> rows, const std::array<Column<Row>, n>& columns) {
    std::string out;
    for (const auto& column : columns) {
        if (&column != columns.data()) out += ',';
        out += column.name;
    }
    out += '\n';
    for (const Row& row : rows) {
        for (const auto& column : columns) {
            if (&column != columns.data()) out += ',';
            out += csv_field(column.cell(row).text);
        }
        out += '\n';
    }
    return out;
}

template <class Row, std::size_t n>
std::string to_json(std::span<const Row> rows, const std::array<Column<Row>, n>& columns) {
    std::string out = "[";
    for (const Row& row : rows) {
        out += out.size() == 1 ? "{" : ",\n{";
        for (const auto& column : columns) {
            if (&column != columns.data()) out += ',';
            out += '"';
            out += column.name;
            out += "\":";
            const Cell cell = column.cell(row);
            out += cell.absent ? "null" : cell.quoted ? json_text(cell.text) : cell.text;
        }
        out += '}';
    }
    out += ']';
    return out;
}

} // namespace

std::string cycles_csv(std::span<const Cycle> rows) {
    return to_csv(rows, kCycleColumns);
}
std::string decisions_csv(std::span<const Decision> rows) {
    return to_csv(rows, kDecisionColumns);
}
std::string moisture_csv(std::span<const Moisture> rows) {
    return to_csv(rows, kMoistureColumns);
}

std::string cycles_json(std::span<const Cycle> rows) {
    return to_json(rows, kCycleColumns);
}
std::string decisions_json(std::span<const Decision> rows) {
    return to_json(rows, kDecisionColumns);
}
std::string moisture_json(std::span<const Moisture> rows) {
    return to_json(rows, kMoistureColumns);
}
std::string phases_json(std::span<const PhaseRecord> rows) {
    return to_json(rows, kPhaseColumns);
}
std::string corrections_csv(std::span<const Correction> rows) {
    return to_csv(rows, kCorrectionColumns);
}
std::string corrections_json(std::span<const Correction> rows) {
    return to_json(rows, kCorrectionColumns);
}
std::string notices_json(std::span<const Notice> rows) {
    return to_json(rows, kNoticeColumns);
}
std::string weather_json(std::span<const WeatherUsed> rows) {
    return to_json(rows, kWeatherColumns);
}

} // namespace firstmow::tables
