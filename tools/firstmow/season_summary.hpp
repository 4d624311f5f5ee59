// A season in numbers, per zone: for people on stdout and for programs as summary.json.
#pragma once

#include "engine/engine.hpp"

#include <map>
#include <string>
#include <vector>

namespace firstmow::companion {

struct ZoneSummary {
    int cycles = 0;
    double applied_mm = 0;
    double volume_l = 0;
    double rain_mm = 0;
    double evaporation_mm = 0;
    double transpiration_mm = 0;
    double runoff_mm = 0;
    double drainage_mm = 0;
    // Before all are up (and for sod before it has rooted), in daylight.
    int daylight_lines = 0; // of 10 minutes
    int dry_lines = 0;      // driest quarter below -100 kPa
    int very_dry_lines = 0; // below -500 kPa
    double driest_kpa = 0;
    WallTime driest_at;
    std::vector<engine::PhaseRecord> phases;
    turf::Phase phase{};
    std::map<std::string, int> reasons; // cycles by reason
};

class SeasonSummary {
public:
    explicit SeasonSummary(const engine::Setup& setup) : setup_(setup) {}
    void add(const engine::Record& record);

    std::string json(WallTime from, WallTime to, const std::string& forecast,
                     std::uint64_t seed) const;
    // A page of text.
    std::string text(WallTime from, WallTime to) const;

private:
    // Whether the zone has been sown and the tap could have wetted it.
    bool sown(const std::string& id, WallTime t) const;

    const engine::Setup& setup_;
    std::map<std::string, ZoneSummary> zones_;
    std::map<std::int64_t, bool> daylight_; // by the hour's unix time
    double et_mm_ = 0;
    double hottest_c_ = -99;
    WallTime hottest_at_;
    int notices_ = 0;
};

} // namespace firstmow::companion
