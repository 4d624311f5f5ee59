-- A journal as the first schema wrote it: a few rows of a simulated season of the demo garden.
PRAGMA application_id = 1718447991;
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
INSERT INTO moisture VALUES(1792908600,'bed','mature',1.1307975191103352,-199.75747394775556,-199.75747394775556,56.522161367794716,-0.0008008631099017402,0.0,0.0,0.0,0.0,0.00015429337334257664,10.391430534768086);
INSERT INTO moisture VALUES(1792908600,'front','pre_germination',1.1983830766836325,-199.6968216290668,-199.6968216290668,59.90258160719768,-0.00044047471044595716,0.0,0.0,0.0,0.0,2.83152651222686e-05,10.392109545150298);
INSERT INTO moisture VALUES(1792908600,'side','pre_germination',0.6155792089480058,-199.12112867401925,-199.12112867401925,36.90137946551023,-0.0005666106502554811,0.0,0.0,0.0,0.0,6.883725269002336e-07,10.214470203687888);
INSERT INTO cycles VALUES(1792929600,1,'front',1792930500,900,900,3.25,390.0,'first_soak','completed');
INSERT INTO cycles VALUES(1792929600,2,'bed',1792933200,3600,3600,10.0,300.0,'root_zone_used','completed');
INSERT INTO decisions VALUES(1,1792908000,'front','plan',1792929600,900,'first_soak','Runs 15 min at 06:00: the new bed is wetted through once, 25 mm deep; sooner was not possible.');
INSERT INTO decisions VALUES(2,1792908000,'side','wait',NULL,0,'not_started','No water yet: this zone is not sown or laid.');
INSERT INTO phases VALUES(1,1793503800,'front','pre_germination','emergence','Kentucky bluegrass has gathered 69 of the 116 degree-days to half its radicles: the first are out, and drying kills them.');
INSERT INTO weather_used VALUES(1792908000,8.42,74.4,0.82,0.0,0.0,1.0,'mmmmm',-0.004805178659410441);
INSERT INTO weather_used VALUES(1792911600,8.14,75.9,0.92,0.0,0.0,1.0,'mmmmm',-0.003995136414825355);
INSERT INTO notices VALUES(1,1792908000,'bed','warning','will_be_dry','Shrub bed is expected to be too dry from 00:00 until 06:00: the hours, the tap, the cold or a rest do not allow water sooner.');
PRAGMA user_version = 1;
