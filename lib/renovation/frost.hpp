// When the first freeze of autumn comes: the dates by which it has come in 10, 50 and 90 of 100
// years.
//
// First freeze: the first day of the season with a minimum of 0 deg C (32 F) or less. Seasons begin
// on 1 July, south of the equator on 1 January (Midwestern Regional Climate Center; two-part where
// some years stay free of frost, as NCEI does: the share of years with a freeze times the
// distribution of their dates). Days are counted as one likes: what goes in comes out.
#pragma once

#include "base/time.hpp"
#include "renovation/record.hpp"

#include <optional>
#include <span>
#include <vector>

namespace firstmow::renovation {

enum class FrostMethod {
    weibull, // ordered dates, rank p(n+1), interpolated; the ends of the record beyond it
    normal,  // mean and standard deviation
};

// Nothing where so many years of a hundred see no freeze at all.
struct FrostDays {
    std::optional<double> in_10_pct;
    std::optional<double> in_50_pct;
    std::optional<double> in_90_pct;
    int years = 0;         // that were looked at
    int years_without = 0; // of them, free of frost
};

// `days`: one for each year with a freeze, in any order.
FrostDays frost_days(std::span<const double> days, int years_without, FrostMethod method);

// The day by which a freeze has come in `probability` (0..1) of the years.
std::optional<double> frost_day(std::span<const double> days, int years_without, FrostMethod method,
                                double probability);

// The season's first day in which `date` lies.
Date season_start(Date date, bool southern);

struct FirstFreezes {
    std::vector<double> days; // since the start of the season
    int years_without = 0;
    int years_skipped = 0; // with too many days missing
};
FirstFreezes first_freezes(std::span<const DailyAir> record, bool southern);

} // namespace firstmow::renovation
