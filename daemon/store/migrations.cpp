#include "store/migrations.hpp"

#include "base/check.hpp"

#include <array>
#include <string>

namespace firstmow::store {

namespace {

// Times are whole seconds UTC, mono_ms counts from the boot. Telemetry is keyed by its time and
// stands in that order in the file, so that a quarter of an hour of it touches one page. What is
// unique is made so by an index: an entry that comes twice (a replay, a retry) is kept once.
constexpr const char* kVersion1 = R"sql(
CREATE TABLE meta(
    key   TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE inputs(          -- everything that the engine was told, in order
    seq     INTEGER PRIMARY KEY,
    wall_s  INTEGER NOT NULL,
    mono_ms INTEGER NOT NULL,
    kind    TEXT NOT NULL,
    body    TEXT NOT NULL     -- JSON
) STRICT;

CREATE TABLE snapshots(       -- the engine's state after the input `seq`
    seq    INTEGER PRIMARY KEY,
    wall_s INTEGER NOT NULL,
    body   TEXT NOT NULL
) STRICT;

CREATE TABLE cycles(          -- a row per opening of a valve, once it has ended
    start_s   INTEGER NOT NULL,
    id        INTEGER NOT NULL,
    zone      TEXT NOT NULL,
    end_s     INTEGER NOT NULL,
    planned_s INTEGER NOT NULL,
    run_s     INTEGER NOT NULL,
    depth_mm  REAL NOT NULL,
    volume_l  REAL NOT NULL,
    reason    TEXT NOT NULL,
    outcome   TEXT NOT NULL,
    PRIMARY KEY (start_s, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE open_cycles(     -- a row while a valve is open: what a power cut leaves behind
    zone      TEXT PRIMARY KEY,
    id        INTEGER NOT NULL,
    start_s   INTEGER NOT NULL,
    planned_s INTEGER NOT NULL,
    reason    TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE decisions(
    seq         INTEGER PRIMARY KEY,
    time_s      INTEGER NOT NULL,
    zone        TEXT NOT NULL,
    verdict     TEXT NOT NULL,
    start_s     INTEGER,      -- of the run that it speaks of
    run_s       INTEGER NOT NULL,
    reason      TEXT NOT NULL,
    explanation TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX decisions_by_time
    ON decisions(time_s, zone, verdict, reason, run_s, coalesce(start_s, 0));

CREATE TABLE moisture(
    time_s           INTEGER NOT NULL,
    zone             TEXT NOT NULL,
    phase            TEXT NOT NULL,
    seed_zone_mm     REAL NOT NULL,
    seed_zone_kpa    REAL NOT NULL,
    low_quarter_kpa  REAL NOT NULL,
    root_zone_mm     REAL NOT NULL,
    evaporation_mm   REAL NOT NULL,
    transpiration_mm REAL NOT NULL,
    rain_mm          REAL NOT NULL,
    applied_mm       REAL NOT NULL,
    runoff_mm        REAL NOT NULL,
    drainage_mm      REAL NOT NULL,
    soil_temp_c      REAL NOT NULL,
    PRIMARY KEY (time_s, zone)
) STRICT, WITHOUT ROWID;

CREATE TABLE phases(
    seq        INTEGER PRIMARY KEY,
    time_s     INTEGER NOT NULL,
    zone       TEXT NOT NULL,
    from_phase TEXT NOT NULL,
    to_phase   TEXT NOT NULL,
    why        TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX phases_by_time ON phases(time_s, zone, from_phase, to_phase);

CREATE TABLE weather_used(    -- hours as they were used, named by their start
    hour_s           INTEGER PRIMARY KEY,
    air_temp_c       REAL NOT NULL,
    rel_humidity_pct REAL NOT NULL,
    wind_2m_m_s      REAL NOT NULL,
    solar_w_m2       REAL NOT NULL,
    rain_mm          REAL NOT NULL,
    rain_probability REAL NOT NULL,
    -- a letter each for temperature, humidity, wind, sun, rain:
    -- m measured, f forecast, e estimated, a assumed
    origins          TEXT NOT NULL CHECK (length(origins) = 5),
    et_short_mm      REAL NOT NULL
) STRICT;

CREATE TABLE notices(
    seq      INTEGER PRIMARY KEY,
    time_s   INTEGER NOT NULL,
    zone     TEXT NOT NULL,   -- empty: the whole garden
    severity TEXT NOT NULL,
    code     TEXT NOT NULL,
    text     TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX notices_by_time ON notices(time_s, zone, severity, code, text);
)sql";

// What the seed zone should have stayed above at that time; 0: not judged by it, or not known.
constexpr const char* kVersion2 = R"sql(
ALTER TABLE moisture ADD COLUMN threshold_kpa REAL NOT NULL DEFAULT 0;
)sql";

// Which source of the garden's list gave temperature, humidity, wind, sun and rain of an hour, ids
// with a blank between them; and every forecast as it was: an hour of it has a row for each time
// that something else was said of it, so the forecast at a moment is, for each hour, the newest row
// known by then.
constexpr const char* kVersion3 = R"sql(
ALTER TABLE weather_used ADD COLUMN sources TEXT NOT NULL DEFAULT '';

CREATE TABLE forecasts(
    hour_s           INTEGER NOT NULL,
    known_s          INTEGER NOT NULL, -- since when this was said of the hour
    air_temp_c       REAL NOT NULL,
    rel_humidity_pct REAL NOT NULL,
    wind_2m_m_s      REAL NOT NULL,
    solar_w_m2       REAL NOT NULL,
    rain_mm          REAL NOT NULL,
    rain_probability REAL NOT NULL,
    origins          TEXT NOT NULL CHECK (length(origins) = 5),
    sources          TEXT NOT NULL,
    PRIMARY KEY (hour_s, known_s)
) STRICT, WITHOUT ROWID;
)sql";

// What people and instruments saw, and what a zone's own factors became by it.
constexpr const char* kVersion4 = R"sql(
CREATE TABLE corrections(
    seq                INTEGER PRIMARY KEY,
    time_s             INTEGER NOT NULL,
    zone               TEXT NOT NULL,
    cause              TEXT NOT NULL,
    evaporation_before REAL NOT NULL,
    evaporation_after  REAL NOT NULL,
    rate_before        REAL NOT NULL,
    rate_after         REAL NOT NULL,
    uniformity_before  REAL NOT NULL,
    uniformity_after   REAL NOT NULL,
    intake_before      REAL NOT NULL,
    intake_after       REAL NOT NULL,
    why                TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX corrections_by_time ON corrections(time_s, zone, cause, why);
)sql";

// The step from version n to n + 1 stands at index n.
constexpr std::array<const char*, 4> kSteps = {kVersion1, kVersion2, kVersion3, kVersion4};

} // namespace

int newest_version() {
    return static_cast<int>(kSteps.size());
}

Status migrate(Database& database, int version) {
    CHECK(version >= 0 && version <= newest_version());
    for (int at = version; at < newest_version(); ++at) {
        const std::string step = std::string("BEGIN IMMEDIATE;") +
                                 kSteps[static_cast<std::size_t>(at)] +
                                 "PRAGMA application_id = " + std::to_string(kApplicationId) +
                                 "; PRAGMA user_version = " + std::to_string(at + 1) + "; COMMIT;";
        Status done = database.exec(step);
        if (!done.ok()) {
            if (database.in_transaction()) (void)database.exec("ROLLBACK");
            return done;
        }
    }
    return Done{};
}

} // namespace firstmow::store
