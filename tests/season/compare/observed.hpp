// What was measured in or above a soil, read from a CSV of columns, and how a model agrees with it.
//
// The first column is `time` (UTC, the beginning of the hour) or `date_local` (a whole day of the
// site). What another column is, its name tells:
//   moist, vwc             soil moisture, m3/m3; with pct: per cent
//   soil_temp              soil temperature, deg C
//   latent, w_m2           latent heat, W/m2, up; becomes mm of water (2.45 MJ/kg)
//   actual_et, mm          evapotranspiration measured, mm
//   eto_mm                 short reference ET, mm
//   percolation, mm        water that left below
// and NNcm (or NN.Ncm) the depth. Other columns are passed over; an empty field, or one that holds
// no number, is a gap.
#pragma once

#include "base/time.hpp"
#include "base/timezone.hpp"

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace firstmow::compare {

enum class Quantity : std::uint8_t {
    moisture,
    soil_temp,
    evapotranspiration,
    reference_et,
    drained
};

struct Observed {
    std::string column;
    Quantity quantity{};
    double depth_mm = 0;
    Seconds span{3600}; // each value is the mean, or the sum, of so long
    std::vector<std::pair<WallTime, double>> values;
};
// In the order of the columns; nothing where the first column is none of the two.
std::vector<Observed> read_observed(std::string_view csv, const TimeZone& local);

// Pairs of (observed, modelled).
struct Agreement {
    std::size_t count = 0;
    double correlation = 0; // 0 where one of them does not vary
    double bias = 0;        // modelled less observed
    double rmse = 0;
    double unbiased_rmse = 0; // what is left of it when the bias is taken away
};
Agreement agreement(const std::vector<std::pair<double, double>>& pairs);

} // namespace firstmow::compare
