#include "fixtures.hpp"

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <sqlite3.h>

namespace firstmow::store::test {

TempDir::TempDir() {
    std::string name = (std::filesystem::temp_directory_path() / "firstmow-store-XXXXXX").string();
    if (mkdtemp(name.data()) == nullptr) std::abort();
    path_ = name;
}

TempDir::~TempDir() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
}

WallTime at(std::int64_t n) {
    return wall_from_unix(1'785'542'400 + n);
}

engine::Cycle cycle(std::int64_t n, const std::string& zone) {
    engine::Cycle c;
    c.id = n;
    c.zone = zone;
    c.start = at(n);
    c.end = at(n + 480);
    c.planned_s = 600;
    c.run_s = 480;
    c.depth_mm = 0.1 * static_cast<double>(n);
    c.volume_l = 144.3;
    c.reason = "seedbed_drying";
    c.outcome = static_cast<engine::Outcome>(n % 4);
    return c;
}

engine::Decision decision(std::int64_t n, const std::string& zone) {
    engine::Decision d;
    d.time = at(n);
    d.zone = zone;
    d.verdict = static_cast<engine::Verdict>(n % 4);
    if (n % 2 == 0) d.start = at(n + 3600);
    d.run_s = 540;
    d.reason = "dry_by_noon";
    d.explanation = "The seed zone would be drier than -100 kPa at 11:40, so 9 minutes at 11:20.";
    return d;
}

engine::Moisture moisture(std::int64_t n, const std::string& zone) {
    engine::Moisture m;
    m.time = at(n);
    m.zone = zone;
    m.phase = static_cast<turf::Phase>(n % 6);
    m.seed_zone_mm = 1.75;
    m.seed_zone_kpa = -31.25 - static_cast<double>(n);
    m.low_quarter_kpa = -64.5;
    m.root_zone_mm = 80.1;
    m.evaporation_mm = -0.01;
    m.transpiration_mm = 0.02;
    m.rain_mm = 0.3;
    m.applied_mm = 1.0 / 3.0;
    m.runoff_mm = 0.005;
    m.drainage_mm = 0.006;
    m.soil_temp_c = 24.5;
    m.threshold_kpa = -100;
    return m;
}

engine::PhaseRecord phase_change(std::int64_t n, const std::string& zone) {
    return {at(n), zone, turf::Phase::pre_germination, turf::Phase::emergence,
            "half the radicles are out"};
}

engine::WeatherUsed weather_used(std::int64_t n) {
    engine::WeatherUsed used;
    used.hour.start = at(n);
    used.hour.air_temp_c = 27.5;
    used.hour.rel_humidity_pct = 55;
    used.hour.wind_2m_m_s = 1.8;
    used.hour.solar_w_m2 = 640;
    used.hour.rain_mm = 0.2;
    used.hour.rain_probability = 0.75;
    used.hour.humidity_origin = weather::Origin::forecast;
    used.hour.wind_origin = weather::Origin::estimated;
    used.hour.rain_origin = weather::Origin::assumed;
    used.et_short_mm = 0.51;
    return used;
}

engine::Correction correction(std::int64_t n, const std::string& zone) {
    return {at(n),
            zone,
            static_cast<engine::Cause>(n % 6),
            {1, 1.0 / 3.0, 0.9, 0.5},
            {1.1, 0.4, 0.95, 0.25},
            "A probe read 21 %: it is now taken that it dries 8 % faster."};
}

engine::Notice notice(std::int64_t n, const std::string& zone) {
    return {at(n), zone, static_cast<engine::Severity>(n % 3), "weather_late",
            "No weather for 3 hours; the season's mean is used \u2014 check the source."};
}

InputRow input(std::int64_t seq) {
    return {seq, {at(seq), MonoTime{Millis{1000 * seq + 7}}}, "hour", R"({"t":21.5,"h":60})"};
}

OpenCycle open_cycle(std::int64_t id, const std::string& zone) {
    return {zone, id, at(id), 600, "seedbed_drying"};
}

Step step(std::int64_t n) {
    Step s;
    s.inputs = {input(n)};
    s.records = {cycle(n), decision(n), moisture(n), weather_used(n)};
    s.opened = {open_cycle(n + 1, "zone-" + std::to_string(n % 2))};
    s.closed = {"zone-" + std::to_string((n + 1) % 2)};
    if (n % 3 == 0) s.snapshot = Snapshot{n, at(n), std::string(9000, 'x')};
    return s;
}

namespace {

template <class Row, class Make>
std::string same(const char* what, const Result<std::vector<Row>>& rows, std::int64_t n,
                 Make make) {
    if (!rows.ok()) return rows.error().message;
    std::vector<Row> expected;
    for (std::int64_t i = 1; i <= n; ++i)
        expected.push_back(make(i));
    return *rows == expected ? "" : std::string(what) + " differ";
}

} // namespace

std::string whole_steps(Store& store, std::int64_t& n) {
    const Result<std::vector<InputRow>> inputs = store.inputs_after(0, 1'000'000);
    if (!inputs.ok()) return inputs.error().message;
    n = static_cast<std::int64_t>(inputs->size());
    Filter all;
    all.limit = 1'000'000;
    std::string wrong = same("inputs", inputs, n, [](std::int64_t i) { return input(i); });
    if (wrong.empty())
        wrong = same("cycles", store.cycles(all), n, [](std::int64_t i) { return cycle(i); });
    if (wrong.empty())
        wrong =
            same("decisions", store.decisions(all), n, [](std::int64_t i) { return decision(i); });
    if (wrong.empty())
        wrong =
            same("moisture", store.moisture(all), n, [](std::int64_t i) { return moisture(i); });
    if (wrong.empty())
        wrong =
            same("weather", store.weather(all), n, [](std::int64_t i) { return weather_used(i); });
    if (!wrong.empty()) return wrong;

    const Result<std::vector<OpenCycle>> open = store.open_cycles();
    if (!open.ok()) return open.error().message;
    std::vector<OpenCycle> marks;
    if (n > 0) marks = {open_cycle(n + 1, "zone-" + std::to_string(n % 2))};
    if (*open != marks) return "marks of open cycles differ";
    const Result<std::optional<Snapshot>> snapshot = store.latest_snapshot();
    if (!snapshot.ok()) return snapshot.error().message;
    const std::int64_t last = n - n % 3;
    if (snapshot->has_value() != (last > 0)) return "a snapshot too many or too few";
    if (last > 0 && (*snapshot)->seq != last) return "the wrong snapshot";
    return {};
}

std::string raw(const std::string& file, const std::string& sql) {
    sqlite3* handle = nullptr;
    std::string answer;
    if (sqlite3_open(file.c_str(), &handle) == SQLITE_OK) {
        const auto take = [](void* to, int count, char** values, char**) {
            for (int i = 0; i < count; ++i)
                if (values[i] != nullptr) *static_cast<std::string*>(to) += values[i];
            return 0;
        };
        if (sqlite3_exec(handle, sql.c_str(), take, &answer, nullptr) != SQLITE_OK)
            answer = std::string("error: ") + sqlite3_errmsg(handle);
    }
    sqlite3_close(handle);
    return answer;
}

void write_file(const std::string& path, const std::string& bytes) {
    std::ofstream(path, std::ios::binary) << bytes;
}

std::string read_file(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

} // namespace firstmow::store::test
