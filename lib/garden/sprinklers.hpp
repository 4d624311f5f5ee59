// Sprinklers: how fast they bring water, and how evenly, from what can be known of them.
//
// Catch cans: mean depth over time is the precipitation rate; the mean of the lowest quarter over
// the mean of all is the lower-quarter distribution uniformity, DU_LQ (the trade's audit practice;
// ASAE S436, ISO 15886-3). A quarter that is no whole number of cans counts the last one in part.
// 600 V / (t A) mm/h for V mL in t min through A cm2 is 3.66 V / (t A) in/h for square inches.
//
// From flow and area: 1 L on 1 m2 is 1 mm, so 60 (L/min) / m2 mm/h; in inches, gallons and square
// feet that is the trade's 96.25 gpm / ft2.
#pragma once

#include "base/result.hpp"

#include <array>
#include <cstdint>
#include <string_view>
#include <vector>

namespace firstmow::garden {

// How a zone's rate came to be known, best last: it says what the figure is worth, and whether what
// is lost in the air is in it.
enum class RateSource : std::uint8_t {
    given, // by the owner, as what reaches the ground
    heads, // the default of a kind of sprinkler; before the air has its share
    flow,  // flow over area; before the air has its share
    cans,  // a catch-can test; what reaches the ground
};

enum class Heads : std::uint8_t { unknown, spray, rotor, multi_stream, impact, oscillating };
inline constexpr std::array<std::string_view, 5> kHeadsKeys{"spray", "rotor", "multi_stream",
                                                            "impact", "oscillating"};

// Generic kinds, not products. Rates and ranges are utilities' guidance to home owners (spray 30 to
// 50 mm/h, rotor 6 to 19, multi-stream 9 to 20, impact 5 to 15, oscillating 8 to 25); uniformities
// are set between what audits find in home lawns (sprays 0.41, rotors 0.49, mean 0.45: Florida) and
// what good practice asks (0.65). Nozzle and pressure, for the loss in the air, are common
// practice, no source.
struct HeadTraits {
    double rate_mm_per_h;
    double uniformity;
    double nozzle_mm;    // diameter of the stream or jet
    double pressure_kpa; // at the nozzle
};
HeadTraits traits(Heads heads);

// Readings of one test: what stood in each can.
struct CatchCans {
    std::vector<double> depth_mm;
    double minutes = 0;
};
inline constexpr std::size_t kMostCans = 200;
inline constexpr double kLongestCanTestMin = 240;

struct CanTest {
    double rate_mm_per_h = 0;
    double uniformity = 0; // lower quarter, 0..1
    double spread = 0;     // standard deviation of the readings over their mean
    std::size_t cans = 0;
};
// The error is a sentence: no cans, too many, a negative or absurd depth, every can empty, no time.
Result<CanTest> evaluate(const CatchCans& cans);

// Depth in a can that holds this much, through an opening of this size.
constexpr double can_depth_mm(double volume_ml, double opening_cm2) {
    return 10.0 * volume_ml / opening_cm2;
}
constexpr double rate_from_flow_mm_per_h(double flow_l_per_min, double area_m2) {
    return 60.0 * flow_l_per_min / area_m2;
}

} // namespace firstmow::garden
