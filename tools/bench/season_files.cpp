#include "season_files.hpp"

#include "sim/season.hpp"
#include "weather/csv.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

namespace firstmow::bench {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view kMeta = "_meta.json";

std::optional<MeasuredSeason> read_season(const fs::path& meta) {
    const auto fail = [](const std::string& what) {
        std::fprintf(stderr, "bench: %s\n", what.c_str());
        return std::nullopt;
    };
    MeasuredSeason season;
    season.name = meta.filename().string();
    season.name.resize(season.name.size() - kMeta.size());
    const std::string stem = (meta.parent_path() / season.name).string();
    const auto text = read_whole(meta.string());
    const auto json = nlohmann::json::parse(text.value_or(""), nullptr, false);
    if (!json.is_object()) return fail(meta.string() + ": cannot be read as a JSON object");
    for (const char* key : {"lat", "lon", "elev_m", "tz_hours"})
        if (!json.contains(key) || !json[key].is_number())
            return fail(meta.string() + ": needs a number \"" + key + "\"");
    season.place = {json["lat"], json["lon"], json["elev_m"]};
    const double offset_h = json["tz_hours"];
    season.local = TimeZone("site", {{WallTime{}, Seconds{std::lround(offset_h * 3600)}, "site"}});
    if (json.contains("soil") && json["soil"].is_string()) season.soil = json["soil"];
    if (json.contains("cover") && json["cover"].is_string()) season.cover = json["cover"];
    const auto csv_text = read_whole(stem + ".csv");
    if (!csv_text) return fail(stem + ".csv: cannot be read");
    const weather::CsvReadings csv = weather::read_csv(*csv_text);
    if (!csv.faults.empty()) return fail(weather::located(stem + ".csv", csv.faults.front()));
    if (csv.readings.empty()) return fail(stem + ".csv: holds no hours");
    season.hours = sim::complete_all(season.place, csv.readings);
    for (const char* end : {"_obs.csv", "_obs_daily.csv"})
        if (fs::exists(stem + end)) season.observed_file = stem + end;
    return season;
}

} // namespace

std::optional<std::string> read_whole(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    if (!file) return std::nullopt;
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

std::optional<std::vector<MeasuredSeason>> read_seasons(const std::string& folder) {
    std::vector<fs::path> metas;
    std::error_code error;
    for (const auto& entry : fs::directory_iterator(folder, error))
        if (entry.path().filename().string().ends_with(kMeta)) metas.push_back(entry.path());
    std::sort(metas.begin(), metas.end());
    std::vector<MeasuredSeason> seasons;
    for (const fs::path& meta : metas) {
        auto season = read_season(meta);
        if (!season) return std::nullopt;
        seasons.push_back(std::move(*season));
    }
    if (seasons.empty()) {
        std::fprintf(stderr, "bench: %s: no season (NAME.csv with NAME_meta.json) in it\n",
                     folder.c_str());
        return std::nullopt;
    }
    return seasons;
}

double hour_et_mm(const weather::Place& place, const weather::Hour& hour,
                  weather::CloudMemory& clouds) {
    return weather::hourly_et(weather::Reference::asce_short, place, hour, clouds).et_mm;
}

} // namespace firstmow::bench
