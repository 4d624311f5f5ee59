// Six grown-in landscapes and the account by which weather-based controllers are judged: adequacy,
// (ETc - deficit) / ETc, and excess, (run-off + what goes beyond the roots' store) / ETc.
//
// The landscapes are those of the Irrigation Association's climatologically based test protocol,
// the formulas those of its use in ANSI/ASABE S627; both from memory, to be confirmed against the
// standards before conformance is claimed. ETc is that of FAO-56; ASABE S623 has 0.8 and 0.6 of
// reference ET for turf (the latter from memory), which is what it needs to look well, not ETc.
// What is no lawn there (ground cover, shrubs, trees) is grass here, on its soil, slope, sun and
// heads: firstmow knows nothing else.
#pragma once

#include "garden/garden.hpp"

#include <array>
#include <span>
#include <vector>

namespace firstmow::compare {

struct Landscape {
    const char* name;
    soil::TextureClass soil;
    double slope_pct;
    double direct_sun_h;       // of a day; 24: all day
    double working_storage_mm; // of the roots: from full to where stress begins
    turf::Species species;
    double rate_mm_per_h; // gross, of the heads
    double efficiency;    // the part of it that gets to the roots' store
};
inline constexpr std::array<Landscape, 6> kLandscapes{{
    {"1 loam, shade, spray", soil::TextureClass::loam, 6, 3, 21.6, turf::Species::tall_fescue, 40.6,
     0.55},
    {"2 silty clay, spray", soil::TextureClass::silty_clay, 10, 24, 14.0,
     turf::Species::bermudagrass, 40.6, 0.60},
    {"3 loamy sand, spray", soil::TextureClass::loamy_sand, 8, 24, 22.9, turf::Species::tall_fescue,
     35.6, 0.70},
    {"4 sandy loam, half shade, spray", soil::TextureClass::sandy_loam, 12, 6, 50.8,
     turf::Species::tall_fescue, 35.6, 0.75},
    {"5 clay loam, drip", soil::TextureClass::clay_loam, 2, 24, 57.2, turf::Species::tall_fescue,
     5.1, 0.80},
    {"6 clay, rotor", soil::TextureClass::clay, 20, 24, 14.0, turf::Species::bermudagrass, 8.9,
     0.65},
}};

// A zone whose stated rate is what gets to the store.
garden::Zone landscape_zone(const Landscape& landscape);

struct AccountHour {
    double reference_et_mm = 0; // at the zone, its shade taken off
    double rain_mm = 0;
    double applied_mm = 0;
    double runoff_mm = 0;
    double used_mm = 0; // what left the engine's column into the air; no part of the account
};
struct Account {
    double asked_mm = 0;
    double deficit_mm = 0;
    double excess_mm = 0;
    double applied_mm = 0;
    double used_mm = 0;
    double adequacy() const { return asked_mm > 0 ? 1 - deficit_mm / asked_mm : 1; }
    double excess() const { return asked_mm > 0 ? excess_mm / asked_mm : 0; }
};
// From a midnight on. The store begins half full, as in the protocol. Rain beyond what fits drains
// by the end of the day (FAO-56 chapter 8) and is nobody's fault.
Account account_of(const Landscape& landscape, std::span<const AccountHour> hours);

} // namespace firstmow::compare
