#include "store/store.hpp"

#include "base/check.hpp"
#include "store/codes.hpp"
#include "store/impl.hpp"

#include <cmath>
#include <initializer_list>
#include <string_view>

namespace firstmow::store {

namespace {

// --- One writer per kind of record.

Status insert(Database& database, const engine::Cycle& cycle) {
    {
        Statement row = database.use(
            "INSERT INTO cycles(start_s, id, zone, end_s, planned_s, run_s, depth_mm, volume_l, "
            "reason, outcome) VALUES (?,?,?,?,?,?,?,?,?,?) ON CONFLICT DO NOTHING");
        row.put(to_unix(cycle.start)).put(cycle.id).put(cycle.zone).put(to_unix(cycle.end));
        row.put(cycle.planned_s).put(cycle.run_s).put(cycle.depth_mm).put(cycle.volume_l);
        row.put(cycle.reason).put(key(cycle.outcome));
        Status done = row.run();
        if (!done.ok()) return done;
    }
    return database.use("DELETE FROM open_cycles WHERE zone = ? AND id = ?")
        .put(cycle.zone)
        .put(cycle.id)
        .run();
}

Status insert(Database& database, const engine::Decision& decision) {
    Statement row = database.use(
        "INSERT INTO decisions(time_s, zone, verdict, start_s, run_s, reason, explanation) "
        "VALUES (?,?,?,?,?,?,?) ON CONFLICT DO NOTHING");
    row.put(to_unix(decision.time)).put(decision.zone).put(key(decision.verdict));
    if (decision.start) {
        row.put(to_unix(*decision.start));
    } else {
        row.put_null();
    }
    return row.put(decision.run_s).put(decision.reason).put(decision.explanation).run();
}

Status insert(Database& database, const engine::Moisture& m) {
    Statement row = database.use(
        "INSERT OR REPLACE INTO moisture(time_s, zone, phase, seed_zone_mm, seed_zone_kpa, "
        "low_quarter_kpa, root_zone_mm, evaporation_mm, transpiration_mm, rain_mm, applied_mm, "
        "runoff_mm, drainage_mm, soil_temp_c, threshold_kpa) "
        "VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)");
    row.put(to_unix(m.time)).put(m.zone).put(turf::key(m.phase));
    row.put(m.seed_zone_mm).put(m.seed_zone_kpa).put(m.low_quarter_kpa).put(m.root_zone_mm);
    row.put(m.evaporation_mm).put(m.transpiration_mm).put(m.rain_mm).put(m.applied_mm);
    row.put(m.runoff_mm).put(m.drainage_mm).put(m.soil_temp_c);
    return row.put(m.threshold_kpa).run();
}

Status insert(Database& database, const engine::PhaseRecord& change) {
    return database
        .use("INSERT INTO phases(time_s, zone, from_phase, to_phase, why) VALUES (?,?,?,?,?) "
             "ON CONFLICT DO NOTHING")
        .put(to_unix(change.time))
        .put(change.zone)
        .put(turf::key(change.from))
        .put(turf::key(change.to))
        .put(change.why)
        .run();
}

Status insert(Database& database, const engine::WeatherUsed& used) {
    const weather::Hour& hour = used.hour;
    const std::string origins = origin_letters(hour);
    Statement row = database.use(
        "INSERT OR REPLACE INTO weather_used(hour_s, air_temp_c, rel_humidity_pct, wind_2m_m_s, "
        "solar_w_m2, rain_mm, rain_probability, origins, et_short_mm, sources) "
        "VALUES (?,?,?,?,?,?,?,?,?,?)");
    row.put(to_unix(hour.start)).put(hour.air_temp_c).put(hour.rel_humidity_pct);
    row.put(hour.wind_2m_m_s).put(hour.solar_w_m2).put(hour.rain_mm).put(hour.rain_probability);
    return row.put(origins).put(used.et_short_mm).put(used.sources).run();
}

Status insert(Database& database, const engine::ForecastSaid& said) {
    const weather::Hour& hour = said.hour;
    const std::string origins = origin_letters(hour);
    Statement row = database.use(
        "INSERT OR REPLACE INTO forecasts(hour_s, known_s, air_temp_c, rel_humidity_pct, "
        "wind_2m_m_s, solar_w_m2, rain_mm, rain_probability, origins, sources) "
        "VALUES (?,?,?,?,?,?,?,?,?,?)");
    row.put(to_unix(hour.start)).put(to_unix(said.known));
    row.put(hour.air_temp_c).put(hour.rel_humidity_pct).put(hour.wind_2m_m_s);
    row.put(hour.solar_w_m2).put(hour.rain_mm).put(hour.rain_probability);
    return row.put(origins).put(said.sources).run();
}

Status insert(Database& database, const engine::Notice& notice) {
    return database
        .use("INSERT INTO notices(time_s, zone, severity, code, text) VALUES (?,?,?,?,?) "
             "ON CONFLICT DO NOTHING")
        .put(to_unix(notice.time))
        .put(notice.zone)
        .put(key(notice.severity))
        .put(notice.code)
        .put(notice.text)
        .run();
}

Status insert(Database& database, const engine::Correction& c) {
    Statement row = database.use(
        "INSERT INTO corrections(time_s, zone, cause, evaporation_before, evaporation_after, "
        "rate_before, rate_after, uniformity_before, uniformity_after, intake_before, "
        "intake_after, why) VALUES (?,?,?,?,?,?,?,?,?,?,?,?) ON CONFLICT DO NOTHING");
    row.put(to_unix(c.time)).put(c.zone).put(key(c.cause));
    row.put(c.before.evaporation).put(c.after.evaporation).put(c.before.rate).put(c.after.rate);
    row.put(c.before.uniformity).put(c.after.uniformity).put(c.before.intake).put(c.after.intake);
    return row.put(c.why).run();
}

Status insert(Database& database, const InputRow& input) {
    {
        Statement row = database.use("INSERT INTO inputs(seq, wall_s, mono_ms, kind, body) "
                                     "VALUES (?,?,?,?,?) ON CONFLICT DO NOTHING");
        row.put(input.seq).put(to_unix(input.at.wall));
        row.put(static_cast<std::int64_t>(input.at.mono.time_since_epoch().count()));
        Status done = row.put(input.kind).put(input.body).run();
        if (!done.ok() || database.rows_changed() == 1) return done;
    }
    // The number is taken. By the same input: a retry. By another: two histories, and we keep
    // the one that is written.
    Statement there = database.use("SELECT kind = ?, body = ? FROM inputs WHERE seq = ?");
    const Result<bool> row = there.put(input.kind).put(input.body).put(input.seq).step();
    if (!row.ok()) return row.error();
    if (*row && there.integer(0) == 1 && there.integer(1) == 1) return Done{};
    return database.complaint(Fault::refused, "refused an entry: input " +
                                                  std::to_string(input.seq) +
                                                  " is already there with another content");
}

Status insert(Database& database, const Snapshot& snapshot) {
    return database.use("INSERT OR REPLACE INTO snapshots(seq, wall_s, body) VALUES (?,?,?)")
        .put(snapshot.seq)
        .put(to_unix(snapshot.wall))
        .put(snapshot.body)
        .run();
}

Status insert(Database& database, const OpenCycle& cycle) {
    return database
        .use("INSERT OR REPLACE INTO open_cycles(zone, id, start_s, planned_s, reason) "
             "VALUES (?,?,?,?,?)")
        .put(cycle.zone)
        .put(cycle.id)
        .put(to_unix(cycle.start))
        .put(cycle.planned_s)
        .put(cycle.reason)
        .run();
}

Status insert(Database& database, const engine::Record& record) {
    return std::visit([&](const auto& one) { return insert(database, one); }, record);
}

Status remove_mark(Database& database, std::string_view zone) {
    return database.use("DELETE FROM open_cycles WHERE zone = ?").put(zone).run();
}

Status insert(Database& database, const Step& step);

template <class Items>
Status insert_all(Database& database, const Items& items) {
    for (const auto& item : items) {
        Status done = insert(database, item);
        if (!done.ok()) return done;
    }
    return Done{};
}

// Marks before records: a cycle that began and ended within one step leaves no mark.
Status insert(Database& database, const Step& step) {
    Status done = insert_all(database, step.inputs);
    if (done.ok()) done = insert_all(database, step.opened);
    if (done.ok()) done = insert_all(database, step.records);
    for (const std::string& zone : step.closed)
        if (done.ok()) done = remove_mark(database, zone);
    if (done.ok() && step.snapshot) done = insert(database, *step.snapshot);
    return done;
}

bool finite(std::initializer_list<double> values) {
    for (const double value : values)
        if (!std::isfinite(value)) return false;
    return true;
}

} // namespace

Store::Store(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Store::~Store() = default;
Store::Store(Store&&) noexcept = default;
Store& Store::operator=(Store&&) noexcept = default;

const std::string& Store::path() const {
    return impl_->database.path();
}
Fault Store::fault() const {
    return impl_->database.fault();
}

Status Store::begin() {
    CHECK(!impl_->begun);
    impl_->broken = false;
    Status done = impl_->database.use("BEGIN IMMEDIATE").run();
    if (done.ok()) impl_->begun = true;
    return done;
}

Status Store::commit() {
    CHECK(impl_->begun);
    if (impl_->broken) {
        rollback();
        return impl_->database.complaint(impl_->database.fault(),
                                         "the transaction has failed, nothing of it is kept");
    }
    Status done = impl_->database.use("COMMIT").run();
    if (!done.ok()) {
        rollback();
        return done;
    }
    impl_->begun = false;
    return done;
}

void Store::rollback() {
    const Fault why = impl_->database.fault();
    // Some failures (no room, no memory) have already rolled back.
    if (impl_->database.in_transaction()) (void)impl_->database.use("ROLLBACK").run();
    impl_->begun = false;
    impl_->broken = false;
    impl_->database.keep_fault(why);
}

Status Store::append(std::span<const engine::Record> records) {
    return atomically([&](Database& database) { return insert_all(database, records); });
}

Status Store::append_input(std::int64_t seq, const engine::Moment& at, std::string_view kind,
                           std::string_view json) {
    const InputRow row{seq, at, std::string(kind), std::string(json)};
    return atomically([&](Database& database) { return insert(database, row); });
}

Status Store::put_snapshot(std::int64_t seq, WallTime wall, std::string_view body) {
    const Snapshot snapshot{seq, wall, std::string(body)};
    return atomically([&](Database& database) { return insert(database, snapshot); });
}

Status Store::mark_open(const OpenCycle& cycle) {
    return atomically([&](Database& database) { return insert(database, cycle); });
}

Status Store::clear_open(std::string_view zone) {
    return atomically([&](Database& database) { return remove_mark(database, zone); });
}

Status Store::put_meta(std::string_view key, std::string_view value) {
    return atomically([&](Database& database) {
        return database.use("INSERT OR REPLACE INTO meta(key, value) VALUES (?,?)")
            .put(key)
            .put(value)
            .run();
    });
}

Status Store::write(std::span<const Step> steps) {
    return atomically([&](Database& database) { return insert_all(database, steps); });
}

Status Store::checkpoint() {
    Statement pragma = impl_->database.use("PRAGMA wal_checkpoint(TRUNCATE)");
    const Result<bool> row = pragma.step();
    if (!row.ok()) return row.error();
    if (*row && pragma.integer(0) != 0)
        return impl_->database.complaint(Fault::busy, "its log could not be emptied: in use");
    return Done{};
}

// What may grow without end: measured with four zones and hourly forecasts, a year brings 22 MB of
// moisture, 11 to 60 of inputs, 3 of decisions and less than 1 of all else; those are kept, for a
// day's review may be asked for back to the sowing, and the inputs are what everything can be
// derived from again. Three years are some 250 MB at most. A snapshot each day (15 MB) and what was
// forecast (40 MB and more) are of no use once they are old.
Status Store::upkeep(WallTime now) {
    // What was once thought of hours long past helps nobody; the decisions made from it stay.
    constexpr std::chrono::days kKeepForecasts{120};
    // A start takes the newest; the others are for whoever looks for a fault.
    constexpr int kKeepSnapshots = 8;
    Status done = impl_->database.use("DELETE FROM forecasts WHERE hour_s < ?")
                      .put(to_unix(now - kKeepForecasts))
                      .run();
    if (done.ok())
        done = impl_->database
                   .use("DELETE FROM snapshots WHERE seq NOT IN "
                        "(SELECT seq FROM snapshots ORDER BY seq DESC LIMIT ?)")
                   .put(kKeepSnapshots)
                   .run();
    if (!done.ok()) return done;
    return checkpoint();
}

Status writable(const engine::Record& record) {
    struct Look {
        bool operator()(const engine::Cycle& c) const { return finite({c.depth_mm, c.volume_l}); }
        bool operator()(const engine::Decision&) const { return true; }
        bool operator()(const engine::Moisture& m) const {
            return finite({m.seed_zone_mm, m.seed_zone_kpa, m.low_quarter_kpa, m.root_zone_mm,
                           m.evaporation_mm, m.transpiration_mm, m.rain_mm, m.applied_mm,
                           m.runoff_mm, m.drainage_mm, m.soil_temp_c, m.threshold_kpa});
        }
        bool operator()(const engine::PhaseRecord&) const { return true; }
        bool operator()(const engine::WeatherUsed& w) const {
            return finite({w.hour.air_temp_c, w.hour.rel_humidity_pct, w.hour.wind_2m_m_s,
                           w.hour.solar_w_m2, w.hour.rain_mm, w.hour.rain_probability,
                           w.et_short_mm});
        }
        bool operator()(const engine::Notice&) const { return true; }
        bool operator()(const engine::ForecastSaid& f) const {
            return finite({f.hour.air_temp_c, f.hour.rel_humidity_pct, f.hour.wind_2m_m_s,
                           f.hour.solar_w_m2, f.hour.rain_mm, f.hour.rain_probability});
        }
        bool operator()(const engine::Correction& c) const {
            return finite({c.before.evaporation, c.after.evaporation, c.before.rate, c.after.rate,
                           c.before.uniformity, c.after.uniformity, c.before.intake,
                           c.after.intake});
        }
    };
    if (std::visit(Look{}, record)) return Done{};
    static constexpr const char* kKinds[] = {"cycle",         "decision",     "moisture line",
                                             "phase change",  "weather hour", "notice",
                                             "forecast hour", "correction"};
    return Error{std::string("a ") + kKinds[record.index()] +
                 " for the journal has a number that is not finite"};
}

} // namespace firstmow::store
