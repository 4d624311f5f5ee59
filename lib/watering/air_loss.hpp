// What of a sprinkling never reaches the ground: evaporation of the drops and drift.
//
// Trimmer 1987 (J. Irrig. Drain. Eng. 113(4), 616-620), an equation for the field tests and the
// nomogram of Frost and Schwalen (1955, 1960); coefficients from memory:
//
//   loss % = (1.98 D^-0.72 + 0.22 e^0.63 + 3.6e-4 p^1.16 + 0.14 U^0.7)^4.2
//
// with D the nozzle in mm, e the vapour pressure deficit in kPa, p the pressure at the nozzle in
// kPa, U the wind in m/s. Made for impact sprinklers with nozzles of 3 to 13 mm at 140 to 550 kPa
// in dry climates. Here it is also used for small low-pressure heads, somewhat outside of that, and
// bounded: deficit to 6 kPa, wind to 7 m/s, loss to 20 %. Other relations differ by a factor of
// two to five, so it is a modest correction and no more. Drops that evaporate also cool and moisten
// the air over the lawn; what that saves is not counted.
#pragma once

namespace firstmow::watering {

struct Nozzle {
    double diameter_mm = 4;
    double pressure_kpa = 300;
};

inline constexpr double kMostAirLoss = 0.2;

// 0..kMostAirLoss of what leaves the nozzle.
double air_loss(const Nozzle& nozzle, double wind_2m_m_s, double vapour_deficit_kpa);

// The weather of a catch-can test as the rules allow it (wind below 2.2 m/s), on a fair day. What
// was lost in such an hour is in the rate that the cans gave.
inline constexpr double kCanTestWindMPerS = 2.0;
inline constexpr double kCanTestDeficitKpa = 1.5;

} // namespace firstmow::watering
