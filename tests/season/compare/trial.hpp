// One trial: both columns through the same days, and how far they are apart.
#pragma once

#include "compare/beds.hpp"
#include "compare/invented_days.hpp"

#include <array>
#include <cmath>
#include <span>
#include <string>
#include <vector>

namespace firstmow::compare {

inline constexpr std::array<double, 3> kThresholds_kpa{-50, -100, -500};

// A spell of drying after a wetting: when the seed zone's mean fell through a threshold, hours
// after the wetting ended. A column that did not get there before the next wetting has the hours
// until then, so a miss counts at least as much as it must.
struct Crossing {
    double threshold_kpa = 0;
    int day = 0;
    double judge_h = 0;
    double engine_h = 0;
    bool judge_got_there = false;
    bool engine_got_there = false;
    // At the moment when the first of the two falls through: what the engine's seed zone holds
    // beyond the judge's, and how fast the one that falls is losing water.
    double surplus_mm = 0;
    double drying_mm_per_h = 0;
    double error_min() const { return (engine_h - judge_h) * 60; }
    // Within 20 minutes, or 10 % of the judge's time.
    bool good() const;
};

struct Refill {
    int day = 0;
    double judge_mm = 0; // back to -50 kPa, a quarter of an hour after the end of the run
    double engine_mm = 0;
    double error() const { return engine_mm / judge_mm - 1; }
    bool good() const { return std::abs(error()) <= 0.1; }
};

struct Trial {
    soil::TextureClass texture{};
    std::string weather;
    std::string watering;
    std::vector<Crossing> crossings;
    std::vector<Refill> refills; // 13:00 of chosen days, where the judge is drier than -100 kPa
    double judge_evaporation_mm = 0;
    double engine_evaporation_mm = 0;
    double judge_runoff_mm = 0;
    double engine_runoff_mm = 0;
    double judge_drainage_mm = 0;
    double engine_drainage_mm = 0;
    double evaporation_error() const { return engine_evaporation_mm / judge_evaporation_mm - 1; }
};

struct TrialOptions {
    int days = 14;
    double start_kpa = -100; // of the soil before the first watering
    int refine = 1;          // the engine's layers cut in so many
    bool thermal = false;    // the judge with a temperature profile
};
Trial run_trial(soil::TextureClass texture, const Weather& weather, const Watering& watering,
                const TrialOptions& options);
// The same through any steps of kStep_s that begin at midnight.
Trial run_trial(soil::TextureClass texture, std::span<const soil::SurfaceForcing> steps,
                const TrialOptions& options);

// Many trials in a few numbers.
struct Tally {
    int crossings = 0, good_crossings = 0;
    std::array<int, 3> by_threshold{}, good_by_threshold{};
    int refills = 0, good_refills = 0;
    double refill_error_sum = 0;
    int evaporations = 0, good_evaporations = 0; // within 5 %
    double worst_evaporation_error = 0;
    void add(const Trial& trial);
    double crossing_share() const { return share(good_crossings, crossings); }
    double refill_share() const { return share(good_refills, refills); }
    static double share(int good, int all) { return all == 0 ? 1 : double(good) / all; }
};

// The six soils, sand to clay.
inline constexpr std::array<soil::TextureClass, 6> kSoils{
    soil::TextureClass::sand,      soil::TextureClass::sandy_loam, soil::TextureClass::loam,
    soil::TextureClass::silt_loam, soil::TextureClass::clay_loam,  soil::TextureClass::clay};

} // namespace firstmow::compare
