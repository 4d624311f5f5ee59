// The description of a site and its zones: what the garden file says, checked and in SI units.
//
// Values in here are in range; whoever builds one by hand (tests) keeps that.
#pragma once

#include "base/time.hpp"
#include "soil/texture.hpp"
#include "turf/phase.hpp"
#include "turf/species.hpp"
#include "weather/hour.hpp"

#include <array>
#include <optional>
#include <string>
#include <vector>

namespace firstmow::garden {

enum class Units : std::uint8_t { metric, us };

struct Site {
    std::string name;
    weather::Place place;
    std::string timezone;        // IANA name
    Units units = Units::metric; // what people are shown; files stay metric
    std::optional<std::chrono::month_day> first_frost;
};

// Local clock time, [from, to), 0 <= from < to <= 86400.
struct HoursOfDay {
    int from_s = 0;
    int to_s = 0;
};

struct Supply {
    double flow_l_per_min = 0;
    std::vector<HoursOfDay> hours; // sorted, not overlapping, at least one
    std::array<bool, 7> days{true, true, true, true, true, true, true}; // Monday first
};

// Where weather comes from, for the daemon. (`simulate` is given its file.)
struct WeatherSource {
    std::optional<std::string> csv_file; // relative to the garden file
};

struct Valve {
    std::string driver; // "simulated"
    int channel = 0;    // 1..999, unique within a driver
    std::optional<std::string>
        file; // simulated: where changes are written; relative to the garden file
};

struct MixPart {
    turf::Species species{};
    double share = 0; // 0..1 of the seed by weight; the shares of a mix sum to 1
};

struct Establishment {
    turf::Method method = turf::Method::none;
    std::optional<Date> start; // sown or laid; present unless method is none
    double seed_depth_mm = 6;  // 1..25
    turf::Cover cover = turf::Cover::none;
    std::vector<MixPart> mix; // not empty for seed and overseed
};

struct Zone {
    std::string id; // letters, digits, '-'
    std::string name;
    double area_m2 = 0;
    soil::TextureClass soil{};
    double slope_pct = 0; // 0..100
    double precipitation_rate_mm_per_h =
        0;                                // what reaches the ground, zone mean, catch-can measured
    double distribution_uniformity = 0.6; // lower quarter, 0.1..1
    // Matric potential of the soil below the seedbed when the season starts (default: summer-dry).
    double soil_below_kpa = -200;
    // Bounds of one opening of the valve.
    int shortest_run_s = 120;
    int longest_run_s = 3600;
    Valve valve;
    Establishment establishment;

    double flow_l_per_min() const { return area_m2 * precipitation_rate_mm_per_h / 60.0; }
};

struct Garden {
    Site site;
    Supply supply;
    WeatherSource weather;
    std::vector<Zone> zones; // at least one; ids unique
};

} // namespace firstmow::garden
