// Reading the journal back into the engine's own types.
#include "store/codes.hpp"
#include "store/impl.hpp"

#include <algorithm>
#include <limits>
#include <utility>

namespace firstmow::store {

namespace {

constexpr std::int64_t kEver = std::numeric_limits<std::int64_t>::max();

WallTime wall(const Statement& row, int column) {
    return wall_from_unix(row.integer(column));
}

// What stands in the file and no firstmow has written.
Error unknown(Database& database, const char* table, const std::string& word) {
    return database.complaint(Fault::damaged, std::string("the table ") + table +
                                                  " holds the unknown word '" + word + "'");
}

// The two orders of one query; both literals, so that the statement cache can keep them.
struct Query {
    const char* table;
    std::string_view newest;
    std::string_view oldest;
};

// Parameters: 1 zone (empty: all), 2 from, 3 to, 4 limit.
template <class Row, class Read>
Result<std::vector<Row>> select(Database& database, const Query& query, const Filter& filter,
                                Read read) {
    const bool newest = filter.keep == Filter::Keep::newest;
    Statement rows = database.use(newest ? query.newest : query.oldest);
    rows.put(filter.zone);
    rows.put(filter.from ? to_unix(*filter.from) : -kEver);
    rows.put(filter.to ? to_unix(*filter.to) : kEver);
    rows.put(std::max(filter.limit, 0));
    std::vector<Row> found;
    while (true) {
        const Result<bool> more = rows.step();
        if (!more.ok()) return more.error();
        if (!*more) break;
        Row row;
        const std::string word = read(rows, row);
        if (!word.empty()) return unknown(database, query.table, word);
        found.push_back(std::move(row));
    }
    if (newest) std::reverse(found.begin(), found.end());
    return found;
}

// --- One reader per table; each gives the word that it does not know, or "".

std::string read_cycle(const Statement& row, engine::Cycle& cycle) {
    cycle.start = wall(row, 0);
    cycle.id = row.integer(1);
    cycle.zone = row.text(2);
    cycle.end = wall(row, 3);
    cycle.planned_s = row.small(4);
    cycle.run_s = row.small(5);
    cycle.depth_mm = row.real(6);
    cycle.volume_l = row.real(7);
    cycle.reason = row.text(8);
    const auto outcome = engine::outcome_by_key(row.text(9));
    if (!outcome) return row.text(9);
    cycle.outcome = *outcome;
    return {};
}

std::string read_decision(const Statement& row, engine::Decision& decision) {
    decision.time = wall(row, 0);
    decision.zone = row.text(1);
    const auto verdict = engine::verdict_by_key(row.text(2));
    if (!verdict) return row.text(2);
    decision.verdict = *verdict;
    if (!row.is_null(3)) decision.start = wall(row, 3);
    decision.run_s = row.small(4);
    decision.reason = row.text(5);
    decision.explanation = row.text(6);
    return {};
}

std::string read_moisture(const Statement& row, engine::Moisture& m) {
    m.time = wall(row, 0);
    m.zone = row.text(1);
    const auto phase = phase_of(row.text(2));
    if (!phase) return row.text(2);
    m.phase = *phase;
    int column = 3;
    for (double* value : {&m.seed_zone_mm, &m.seed_zone_kpa, &m.low_quarter_kpa, &m.root_zone_mm,
                          &m.evaporation_mm, &m.transpiration_mm, &m.rain_mm, &m.applied_mm,
                          &m.runoff_mm, &m.drainage_mm, &m.soil_temp_c, &m.threshold_kpa})
        *value = row.real(column++);
    return {};
}

std::string read_phase(const Statement& row, engine::PhaseRecord& change) {
    change.time = wall(row, 0);
    change.zone = row.text(1);
    const auto from = phase_of(row.text(2));
    if (!from) return row.text(2);
    const auto to = phase_of(row.text(3));
    if (!to) return row.text(3);
    change.from = *from;
    change.to = *to;
    change.why = row.text(4);
    return {};
}

std::string read_weather(const Statement& row, engine::WeatherUsed& used) {
    weather::Hour& hour = used.hour;
    hour.start = wall(row, 0);
    int column = 1;
    for (double* value : {&hour.air_temp_c, &hour.rel_humidity_pct, &hour.wind_2m_m_s,
                          &hour.solar_w_m2, &hour.rain_mm, &hour.rain_probability})
        *value = row.real(column++);
    if (!take_origins(row.text(7), hour)) return row.text(7);
    used.et_short_mm = row.real(8);
    used.sources = row.text(9);
    return {};
}

std::string read_notice(const Statement& row, engine::Notice& notice) {
    notice.time = wall(row, 0);
    notice.zone = row.text(1);
    const auto severity = engine::severity_by_key(row.text(2));
    if (!severity) return row.text(2);
    notice.severity = *severity;
    notice.code = row.text(3);
    notice.text = row.text(4);
    return {};
}

std::string read_correction(const Statement& row, engine::Correction& c) {
    c.time = wall(row, 0);
    c.zone = row.text(1);
    const auto cause = engine::cause_by_key(row.text(2));
    if (!cause) return row.text(2);
    c.cause = *cause;
    int column = 3;
    for (double* value :
         {&c.before.evaporation, &c.after.evaporation, &c.before.rate, &c.after.rate,
          &c.before.uniformity, &c.after.uniformity, &c.before.intake, &c.after.intake})
        *value = row.real(column++);
    c.why = row.text(11);
    return {};
}

} // namespace

// The same text twice but for the order; a macro, because the cache wants literals.
#define FIRSTMOW_QUERY(table, columns, where, ascending, descending)                               \
    Query {                                                                                        \
        table,                                                                                     \
            "SELECT " columns " FROM " table " WHERE " where " ORDER BY " descending " LIMIT ?4",  \
            "SELECT " columns " FROM " table " WHERE " where " ORDER BY " ascending " LIMIT ?4"    \
    }

Result<std::vector<engine::Cycle>> Store::cycles(const Filter& filter) {
    return select<engine::Cycle>(
        impl_->database,
        FIRSTMOW_QUERY("cycles",
                       "start_s, id, zone, end_s, planned_s, run_s, depth_mm, volume_l, reason, "
                       "outcome",
                       "(?1 = '' OR zone = ?1) AND start_s >= ?2 AND start_s < ?3", "start_s, id",
                       "start_s DESC, id DESC"),
        filter, read_cycle);
}

Result<std::vector<engine::Decision>> Store::decisions(const Filter& filter) {
    return select<engine::Decision>(
        impl_->database,
        FIRSTMOW_QUERY("decisions", "time_s, zone, verdict, start_s, run_s, reason, explanation",
                       "(?1 = '' OR zone = ?1) AND time_s >= ?2 AND time_s < ?3", "time_s, seq",
                       "time_s DESC, seq DESC"),
        filter, read_decision);
}

Result<std::vector<engine::Moisture>> Store::moisture(const Filter& filter) {
    return select<engine::Moisture>(
        impl_->database,
        FIRSTMOW_QUERY("moisture",
                       "time_s, zone, phase, seed_zone_mm, seed_zone_kpa, low_quarter_kpa, "
                       "root_zone_mm, evaporation_mm, transpiration_mm, rain_mm, applied_mm, "
                       "runoff_mm, drainage_mm, soil_temp_c, threshold_kpa",
                       "(?1 = '' OR zone = ?1) AND time_s >= ?2 AND time_s < ?3", "time_s, zone",
                       "time_s DESC, zone DESC"),
        filter, read_moisture);
}

Result<std::vector<engine::PhaseRecord>> Store::phases(const Filter& filter) {
    return select<engine::PhaseRecord>(
        impl_->database,
        FIRSTMOW_QUERY("phases", "time_s, zone, from_phase, to_phase, why",
                       "(?1 = '' OR zone = ?1) AND time_s >= ?2 AND time_s < ?3", "time_s, seq",
                       "time_s DESC, seq DESC"),
        filter, read_phase);
}

Result<std::vector<engine::WeatherUsed>> Store::weather(const Filter& filter) {
    return select<engine::WeatherUsed>(
        impl_->database,
        FIRSTMOW_QUERY("weather_used",
                       "hour_s, air_temp_c, rel_humidity_pct, wind_2m_m_s, solar_w_m2, rain_mm, "
                       "rain_probability, origins, et_short_mm, sources",
                       "?1 IS NOT NULL AND hour_s >= ?2 AND hour_s < ?3", "hour_s", "hour_s DESC"),
        filter, read_weather);
}

Result<std::vector<engine::ForecastSaid>> Store::forecast_at(WallTime at) {
    constexpr std::chrono::days kAhead{12};
    Statement rows = impl_->database.use(
        "SELECT hour_s, air_temp_c, rel_humidity_pct, wind_2m_m_s, solar_w_m2, rain_mm, "
        "rain_probability, origins, max(known_s), sources FROM forecasts WHERE hour_s > ? AND "
        "hour_s < ? AND known_s <= ? GROUP BY hour_s ORDER BY hour_s");
    rows.put(to_unix(at - std::chrono::hours{1})).put(to_unix(at + kAhead)).put(to_unix(at));
    std::vector<engine::ForecastSaid> hours;
    for (;;) {
        const Result<bool> row = rows.step();
        if (!row.ok()) return row.error();
        if (!*row) return hours;
        engine::ForecastSaid said;
        engine::WeatherUsed read;
        if (const std::string fault = read_weather(rows, read); !fault.empty())
            return impl_->database.complaint(Fault::damaged, "a forecast says '" + fault + "'");
        said.hour = read.hour;
        said.known = wall(rows, 8);
        said.sources = read.sources;
        hours.push_back(std::move(said));
    }
}

Result<std::vector<engine::Notice>> Store::notices(const Filter& filter) {
    return select<engine::Notice>(
        impl_->database,
        FIRSTMOW_QUERY("notices", "time_s, zone, severity, code, text",
                       "(?1 = '' OR zone = ?1 OR zone = '') AND time_s >= ?2 AND time_s < ?3",
                       "time_s, seq", "time_s DESC, seq DESC"),
        filter, read_notice);
}

Result<std::vector<engine::Correction>> Store::corrections(const Filter& filter) {
    return select<engine::Correction>(
        impl_->database,
        FIRSTMOW_QUERY("corrections",
                       "time_s, zone, cause, evaporation_before, evaporation_after, rate_before, "
                       "rate_after, uniformity_before, uniformity_after, intake_before, "
                       "intake_after, why",
                       "(?1 = '' OR zone = ?1) AND time_s >= ?2 AND time_s < ?3", "time_s, seq",
                       "time_s DESC, seq DESC"),
        filter, read_correction);
}

#undef FIRSTMOW_QUERY

Result<std::optional<std::string>> Store::meta(std::string_view key) {
    Statement row = impl_->database.use("SELECT value FROM meta WHERE key = ?");
    const Result<bool> found = row.put(key).step();
    if (!found.ok()) return found.error();
    if (!*found) return std::optional<std::string>();
    return std::optional<std::string>(row.text(0));
}

Result<std::optional<Snapshot>> Store::latest_snapshot() {
    Statement row =
        impl_->database.use("SELECT seq, wall_s, body FROM snapshots ORDER BY seq DESC LIMIT 1");
    const Result<bool> found = row.step();
    if (!found.ok()) return found.error();
    if (!*found) return std::optional<Snapshot>();
    return std::optional<Snapshot>(Snapshot{row.integer(0), wall(row, 1), row.text(2)});
}

Result<std::vector<InputRow>> Store::inputs_after(std::int64_t seq, int limit) {
    Statement rows = impl_->database.use("SELECT seq, wall_s, mono_ms, kind, body FROM inputs "
                                         "WHERE seq > ? ORDER BY seq LIMIT ?");
    rows.put(seq).put(std::max(limit, 0));
    std::vector<InputRow> inputs;
    while (true) {
        const Result<bool> more = rows.step();
        if (!more.ok()) return more.error();
        if (!*more) return inputs;
        const engine::Moment at{wall(rows, 1), MonoTime{Millis{rows.integer(2)}}};
        inputs.push_back({rows.integer(0), at, rows.text(3), rows.text(4)});
    }
}

Result<std::vector<OpenCycle>> Store::open_cycles() {
    Statement rows = impl_->database.use(
        "SELECT zone, id, start_s, planned_s, reason FROM open_cycles ORDER BY zone");
    std::vector<OpenCycle> open;
    while (true) {
        const Result<bool> more = rows.step();
        if (!more.ok()) return more.error();
        if (!*more) return open;
        open.push_back({rows.text(0), rows.integer(1), wall(rows, 2), rows.small(3), rows.text(4)});
    }
}

Result<Tail> Store::tail() {
    Statement row = impl_->database.use(
        "SELECT (SELECT max(seq) FROM inputs),"
        " max(coalesce((SELECT max(id) FROM cycles), 0),"
        "     coalesce((SELECT max(id) FROM open_cycles), 0)),"
        " (SELECT max(t) FROM (SELECT max(wall_s) AS t FROM (SELECT wall_s FROM inputs"
        "      ORDER BY seq DESC LIMIT 100)"
        "    UNION ALL SELECT max(start_s) FROM cycles"
        "    UNION ALL SELECT max(time_s) FROM decisions"
        "    UNION ALL SELECT max(time_s) FROM moisture"
        "    UNION ALL SELECT max(start_s) FROM open_cycles))");
    const Result<bool> found = row.step();
    if (!found.ok()) return found.error();
    Tail tail;
    tail.last_seq = row.integer(0);
    tail.last_cycle_id = row.integer(1);
    if (!row.is_null(2)) tail.last_wall = wall(row, 2);
    return tail;
}

} // namespace firstmow::store
