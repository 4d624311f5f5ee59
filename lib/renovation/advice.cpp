#include "renovation/advice.hpp"

#include "base/text.hpp"
#include "renovation/course.hpp"

#include <array>

namespace firstmow::renovation {

namespace {

constexpr double kSteepPct = 20; // seed does not stay (no source)
constexpr double kWashesPct = 5; // bare seed washes in a storm (USLE practice)

// A mix to reckon with where the zone names none (sod without a mix).
garden::Establishment as_method(const garden::Establishment& establishment, turf::Method method) {
    garden::Establishment other = establishment;
    other.method = method;
    if (other.mix.empty()) other.mix = {{turf::Species::kentucky_bluegrass, 1.0}};
    return other;
}

Way way(const garden::Zone& zone, const garden::Renovation& renovation, const Climate& climate,
        turf::Method method) {
    garden::Zone other = zone;
    other.establishment = as_method(zone.establishment, method);
    const Course run = course(other.establishment, climate);
    const Quantities q = quantities(other, renovation, run.net_mm);
    Way way{method, q.water_mm, q.water_l, q.water_cost, std::nullopt};
    if (run.first_mow)
        way.weeks_to_first_mow = days_between(*other.establishment.start, *run.first_mow) / 7.0;
    return way;
}

// Each sets the method and says why, or only says something.
void weigh_grass_left(const garden::OldLawn& lawn, Advice& advice) {
    if (!lawn.desirable_grass_pct) return;
    const double left = *lawn.desirable_grass_pct;
    const std::string share = fixed(left, 0) + " % of the ground is grass worth keeping";
    if (left >= kWorthKeepingPct) {
        advice.method = turf::Method::overseed;
        advice.reasons.push_back(share + ": from about 30 % on, seed into what stands fills it.");
    } else {
        advice.method = turf::Method::seed;
        advice.reasons.push_back(share +
                                 ": below about 30 % it is quicker to kill it and start over.");
    }
}

void weigh_slope(const garden::Zone& zone, Advice& advice) {
    if (advice.method == turf::Method::overseed) return; // standing turf holds the seed
    if (zone.slope_pct >= kSteepPct) {
        advice.method = turf::Method::sod;
        advice.reasons.push_back("The ground falls by " + fixed(zone.slope_pct, 0) +
                                 " %: seed would wash down; sod, staked, stays.");
    } else if (zone.slope_pct > kWashesPct && advice.method == turf::Method::seed) {
        advice.reasons.push_back("The ground falls by " + fixed(zone.slope_pct, 0) +
                                 " %: a storm washes bare seed; cover it with a blanket or straw.");
    }
}

void weigh_traffic(const garden::OldLawn& lawn, Advice& advice) {
    if (lawn.traffic != garden::Traffic::high) return;
    if (advice.method == turf::Method::seed) {
        advice.method = turf::Method::sod;
        advice.reasons.push_back("It will be walked on a lot: a sown lawn bears light use after "
                                 "8 to 10 weeks, sod after two to three. Fence it off if you sow "
                                 "all the same.");
    } else if (advice.method == turf::Method::overseed) {
        advice.reasons.push_back("It will be walked on a lot: keep people off until the first "
                                 "mow, and choose ryegrass or tall fescue, which bear it.");
    }
}

void weigh_haste(const garden::OldLawn& lawn, Advice& advice) {
    if (!lawn.instant.value_or(false)) return;
    advice.method = turf::Method::sod;
    advice.reasons.push_back("A lawn is wanted at once: only sod is green on the day.");
}

bool too_late(const Timing& timing) {
    return timing.verdict == Verdict::too_late || timing.verdict == Verdict::too_short;
}

// Sowing and laying on the same day, whichever of them the garden file has.
void weigh_season(const garden::Zone& zone, const Climate& climate, const Timing& timing,
                  const Show& show, Advice& advice) {
    const turf::Method own = zone.establishment.method;
    const auto on_that_day = [&](turf::Method method) {
        if ((method == turf::Method::sod) == (own == turf::Method::sod)) return timing;
        return renovation::timing(as_method(zone.establishment, method), climate, timing.frost,
                                  show);
    };
    const Timing sod = on_that_day(turf::Method::sod);
    if (advice.method == turf::Method::sod) {
        if (too_late(sod))
            advice.reasons.push_back("It is late for sod, too: it would lie until spring without "
                                     "rooting. Wait for the next good season if you can.");
        return;
    }
    const Timing seed = on_that_day(turf::Method::seed);
    if (seed.verdict == Verdict::dormant)
        advice.reasons.push_back("On that day it would be dormant seed, which lies until spring "
                                 "and of which some is lost; late summer is better.");
    if (seed.verdict == Verdict::spring && own == turf::Method::sod)
        advice.reasons.push_back("Sown before or in the heat it can work, with weeds and short "
                                 "roots; late summer is better.");
    if (!too_late(seed)) return;
    if (too_late(sod)) {
        advice.reasons.push_back("On that day it is too late to sow, and for sod to root: wait for "
                                 "the next good season, or sow dormant when the soil is cold.");
        return;
    }
    advice.method = turf::Method::sod;
    advice.reasons.push_back("On that day it is too late in the season to sow; sod can still "
                             "root. Or sow in the next good season.");
}

} // namespace

std::string_view name(turf::Method method) {
    switch (method) {
    case turf::Method::seed:
        return "sow anew";
    case turf::Method::overseed:
        return "overseed";
    case turf::Method::sod:
        return "lay sod";
    case turf::Method::none:
        break;
    }
    return "leave as it is";
}

std::optional<Advice> advise(const garden::Zone& zone, const garden::Renovation& renovation,
                             const Climate& climate, const Timing& timing, const Show& show) {
    const garden::OldLawn& lawn = zone.old_lawn;
    const bool asked = lawn.desirable_grass_pct || lawn.instant.value_or(false);
    if (!asked || zone.establishment.method == turf::Method::none) return std::nullopt;
    Advice advice;
    advice.method = turf::Method::seed;
    weigh_grass_left(lawn, advice);
    weigh_slope(zone, advice);
    weigh_traffic(lawn, advice);
    weigh_haste(lawn, advice);
    weigh_season(zone, climate, timing, show, advice);
    for (const turf::Method method :
         {turf::Method::overseed, turf::Method::seed, turf::Method::sod})
        advice.ways.push_back(way(zone, renovation, climate, method));
    return advice;
}

} // namespace firstmow::renovation
