// Is it the right time to sow or lay? Counted back from the first frost.
//
// Cool-season seed wants 45 days (about six weeks) before the first freeze (extension services);
// counted from the date by which it has come in one year of ten where a record tells it, otherwise
// from the typical date that the owner gives. Warm-season seed wants growing degree-days above 5
// deg C until then: 950 for bermudagrass, 1750 for zoysiagrass (Patton 2004, Crop Science).
#pragma once

#include "garden/garden.hpp"
#include "renovation/climate.hpp"
#include "renovation/frost.hpp"
#include "renovation/show.hpp"

#include <optional>
#include <string>
#include <vector>

namespace firstmow::renovation {

inline constexpr int kDaysBeforeFrost = 45;

// The first freeze that matters to a date: of the season that it belongs to, or of the next one
// where that lies three months back.
struct FrostOutlook {
    std::optional<Date> in_10_pct;
    std::optional<Date> in_50_pct;
    std::optional<Date> in_90_pct;
    int years = 0; // of record; 0: the owner's typical date, which stands in in_50_pct alone
    int years_without = 0;
    bool known() const { return in_50_pct.has_value() || years > 0; }
    // What is counted back from; nothing where frost is unknown or too rare.
    std::optional<Date> counted_from() const { return in_10_pct ? in_10_pct : in_50_pct; }
};
FrostOutlook frost_outlook(const garden::Garden& garden, const FirstFreezes& record, Date date);

enum class Verdict {
    in_time,
    too_late,      // too late to sow and too early for dormant seed
    dormant,       // seed would lie until spring: possible, with its risk
    spring,        // possible, with its caveat
    too_cold,      // warm-season seed: the soil is too cold yet
    too_short,     // warm-season seed: not enough warmth left before frost
    frost_unknown, // nothing to count back from
};

struct Timing {
    Verdict verdict = Verdict::in_time;
    FrostOutlook frost;
    std::optional<Date> latest;         // last good day for sowing (sod: laying) in that season
    std::vector<std::string> sentences; // what is the matter, and what then
    bool good() const { return verdict == Verdict::in_time || verdict == Verdict::frost_unknown; }
};

// `start` is present; the method is not `none`.
Timing timing(const garden::Establishment& establishment, const Climate& climate,
              const FrostOutlook& frost, const Show& show);

} // namespace firstmow::renovation
