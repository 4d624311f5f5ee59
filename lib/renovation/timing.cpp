#include "renovation/timing.hpp"

#include "base/check.hpp"
#include "base/day_words.hpp"
#include "base/text.hpp"
#include "renovation/course.hpp"
#include "turf/establishment.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::renovation {

namespace {

constexpr double kDormantBelowC = 5; // 40-45 F (4-7 deg C) and staying there
constexpr double kSpringFromC = 10;  // ryegrass and bentgrass come up from about 10 deg C
constexpr double kWarmFromC = 18;    // 65 F: warm-season seed (default; Texas: best at 70-95 F)
constexpr double kSummerFromC = 16;  // soil, still warming (default)
constexpr double kHotC = 29.5;       // 85 F: from here seedlings are hard to keep (UC IPM, rot)
constexpr double kRootsStopC = 5;
constexpr int kLeastYears = 5;     // of record; fewer make no statistics
constexpr int kFrostLongPast = 90; // days after the first frost: the next one matters
constexpr int kSummerBetween = 45; // days to the last good day: what is sown sooner meets summer

Date on_season(Date start, double days) {
    return add_days(start, static_cast<int>(std::floor(days)));
}

struct WarmNeed {
    const turf::SpeciesTraits* traits = nullptr;
    double degree_days = 0;
    bool published = true;
};

// The greatest need among the warm-season grasses of a mix.
WarmNeed warm_need(const garden::Establishment& establishment) {
    WarmNeed need;
    for (const garden::MixPart& part : establishment.mix) {
        const turf::SpeciesTraits& traits = turf::traits(part.species);
        if (!traits.warm_season || part.share < turf::kImportantShare) continue;
        const bool bermuda = part.species == turf::Species::bermudagrass;
        const bool zoysia = part.species == turf::Species::zoysiagrass;
        // Nothing is published for buffalograss: the more cautious of the two.
        const double degree_days = bermuda ? 950 : 1750;
        if (degree_days > need.degree_days) need = {&traits, degree_days, bermuda || zoysia};
    }
    return need;
}

std::string days_text(int days) {
    return std::to_string(days) + (days == 1 ? " day" : " days");
}

// The last day from which so much warmth is left before `frost`.
std::optional<Date> latest_for_warmth(const Climate& climate, Date frost, double degree_days) {
    double sum = 0;
    for (int back = 1; back <= 300; ++back) {
        sum += std::max(0.0, climate.mean_on(add_days(frost, -back)) - 5);
        if (sum >= degree_days) return add_days(frost, -back);
    }
    return std::nullopt;
}

// Warm-season seed wants the months that cool-season seed dies in.
bool mixes_seasons(const garden::Establishment& establishment) {
    bool warm = false;
    bool cool = false;
    for (const garden::MixPart& part : establishment.mix)
        if (part.share >= turf::kImportantShare)
            (turf::traits(part.species).warm_season ? warm : cool) = true;
    return warm && cool;
}

Timing warm_timing(Timing timing, const WarmNeed& need, Date start, const Climate& climate,
                   const Show& show) {
    const std::string name(need.traits->name);
    const double soil_c = soil_temp_c(climate, start);
    if (const auto frost = timing.frost.counted_from()) {
        const double left = growing_degree_days(climate, start, *frost);
        timing.latest = latest_for_warmth(climate, *frost, need.degree_days);
        if (left < need.degree_days) {
            timing.verdict = Verdict::too_short;
            timing.sentences.push_back(
                "Not from seed now: " + name + " wants " + fixed(need.degree_days, 0) +
                " degree-days (C) above 5 C before the first frost" +
                (need.published ? "" : " (the rule for zoysiagrass; none is published for it)") +
                " and " + fixed(left, 0) + " are left from " + date_words(start) + ".");
            timing.sentences.push_back(
                timing.latest
                    ? "Sow next year between a soil of " + show.temperature(kWarmFromC) +
                          " and about " + day_month_words(*timing.latest) + ", or lay sod or plugs."
                    : "Summers here are too short for it from seed: a cool-season grass, or sod.");
            return timing;
        }
        timing.sentences.push_back(fixed(left, 0) +
                                   " degree-days (C) above 5 C are left before the "
                                   "first frost; " +
                                   name + " wants " + fixed(need.degree_days, 0) + ".");
    }
    if (soil_c < kWarmFromC) {
        timing.verdict = Verdict::too_cold;
        const auto warm = soil_stays_above(climate, start, kWarmFromC);
        timing.sentences.push_back(
            "The soil is usually at " + show.temperature(soil_c) + " on " + date_words(start) +
            ": too cold for " + name + ", which wants " + show.temperature(kWarmFromC) +
            " and more" + (warm ? "; that is from about " + date_words(*warm) + "." : "."));
    }
    return timing;
}

void say_what_then(Timing& timing, Date start, const Climate& climate, const Show& show) {
    const auto dormant = soil_stays_below(climate, start, kDormantBelowC);
    timing.sentences.push_back(
        "What then: sod, as long as the ground is open and it can root for three weeks above " +
        show.temperature(kRootsStopC) + ";");
    if (dormant)
        timing.sentences.push_back("or dormant seed from about " + date_words(*dormant) +
                                   ", when the soil is below " + show.temperature(kDormantBelowC) +
                                   " and stays there: it lies until spring, and "
                                   "some of it is lost to washing, birds and a warm spell;");
    const auto spring =
        soil_stays_above(climate, dormant.value_or(add_days(start, 60)), kSpringFromC);
    timing.sentences.push_back(
        "or spring" + (spring ? ", from about " + date_words(*spring) : std::string()) +
        ": weeds come up with it and the first summer finds it with short roots.");
}

void spring_timing(Timing& timing, Date start, const Climate& climate, const Show& show) {
    timing.verdict = Verdict::spring;
    const double soil_c = soil_temp_c(climate, start);
    timing.sentences.push_back(
        soil_c >= kSummerFromC
            ? "Sown into the rising heat: seedlings meet the hottest weeks with short roots and "
              "with summer weeds, and the bed is hardest to keep damp; late summer is better for "
              "cool-season grass."
            : "Spring sowing: it can work, but weeds come up with the grass and the first summer "
              "finds it with short roots; late summer is better for cool-season grass.");
    timing.sentences.push_back(
        "No pre-emergence weed killer goes with seed unless its label allows it.");
    if (soil_c < kSpringFromC) {
        const auto warm = soil_stays_above(climate, start, kSpringFromC);
        timing.sentences.push_back("The soil is usually at " + show.temperature(soil_c) + " on " +
                                   date_words(start) + "; germination gets going at about " +
                                   show.temperature(kSpringFromC) +
                                   (warm ? ", from about " + date_words(*warm) + "." : "."));
    }
}

Timing seed_timing(Timing timing, Date start, const Climate& climate, const Show& show) {
    const auto frost = timing.frost.counted_from();
    const double soil_now = soil_temp_c(climate, start);
    const bool warming = soil_temp_c(climate, add_days(start, 30)) > soil_now;
    if (frost) timing.latest = add_days(*frost, -kDaysBeforeFrost);
    const bool before_frost = !frost || start <= *frost;
    const bool growing_cold = !warming && soil_now <= 7;
    if (growing_cold) {
        timing.verdict = Verdict::dormant;
        timing.sentences.push_back(
            "The soil is usually at " + show.temperature(soil_now) + " on " + date_words(start) +
            ": this is dormant seed. It lies until spring; sow a little more, keep it from "
            "washing, and expect green when the soil passes " +
            show.temperature(kSpringFromC) + ".");
        return timing;
    }
    const bool meets_summer =
        !before_frost || (timing.latest && days_between(start, *timing.latest) > kSummerBetween);
    if (warming && (meets_summer || soil_now < 15)) {
        spring_timing(timing, start, climate, show);
        return timing;
    }
    if (timing.latest && start > *timing.latest) {
        timing.verdict = Verdict::too_late;
        const int days = days_between(start, *frost);
        timing.sentences.push_back(
            (days >= 0 ? "Too late to sow on " + date_words(start) + ": " + days_text(days) +
                             " are left before the first frost (" + date_words(*frost) +
                             "), and young grass wants " + days_text(kDaysBeforeFrost) + "."
                       : "Too late to sow on " + date_words(start) + ": the first frost (" +
                             date_words(*frost) + ") has usually come by then.") +
            " The last good day is " + date_words(*timing.latest) + ".");
        say_what_then(timing, start, climate, show);
        return timing;
    }
    if (timing.latest)
        timing.sentences.push_back("In time: " + days_text(days_between(start, *timing.latest)) +
                                   " before the last good day to sow, " +
                                   date_words(*timing.latest) + ".");
    if (climate.max_on(start) >= kHotC)
        timing.sentences.push_back("Afternoons usually reach " +
                                   show.temperature(climate.max_on(start)) +
                                   " at that time: see below whether the tap can keep it damp.");
    return timing;
}

Timing sod_timing(Timing timing, const garden::Establishment& establishment, const Climate& climate,
                  const Show& show) {
    const Course laid = course(establishment, climate);
    const auto cold = soil_stays_below(climate, *establishment.start, kRootsStopC);
    if (!laid.rooted || (cold && *laid.rooted > *cold)) {
        timing.verdict = Verdict::too_late;
        timing.sentences.push_back(
            "Late for sod: it would not root before the soil is below " +
            show.temperature(kRootsStopC) +
            (cold ? ", about " + date_words(*cold) : std::string()) +
            ". Laid on open ground it can lie until spring, if it is kept from drying out.");
    } else {
        timing.sentences.push_back("In time: sod laid on " + date_words(*establishment.start) +
                                   " usually roots by " + date_words(*laid.rooted) + ".");
    }
    return timing;
}

FrostOutlook outlook_of_season(const garden::Garden& garden, const FirstFreezes& record,
                               Date season) {
    FrostOutlook outlook;
    const FrostDays days = frost_days(record.days, record.years_without, FrostMethod::weibull);
    if (days.years >= kLeastYears) {
        outlook.years = days.years;
        outlook.years_without = days.years_without;
        if (days.in_10_pct) outlook.in_10_pct = on_season(season, *days.in_10_pct);
        if (days.in_50_pct) outlook.in_50_pct = on_season(season, *days.in_50_pct);
        if (days.in_90_pct) outlook.in_90_pct = on_season(season, *days.in_90_pct);
        return outlook;
    }
    if (!garden.site.first_frost) return outlook;
    const std::chrono::month_day typical = *garden.site.first_frost;
    Date frost{season.year() / typical.month() / typical.day()};
    if (frost < season) frost += std::chrono::years{1};
    outlook.in_50_pct = frost;
    return outlook;
}

} // namespace

FrostOutlook frost_outlook(const garden::Garden& garden, const FirstFreezes& record, Date date) {
    const bool southern = garden.site.place.latitude_deg < 0;
    const Date season = season_start(date, southern);
    const FrostOutlook here = outlook_of_season(garden, record, season);
    if (!here.in_50_pct || days_between(*here.in_50_pct, date) <= kFrostLongPast) return here;
    return outlook_of_season(garden, record, season + std::chrono::years{1});
}

Timing timing(const garden::Establishment& establishment, const Climate& climate,
              const FrostOutlook& frost, const Show& show) {
    CHECK(establishment.start.has_value() && establishment.method != turf::Method::none);
    Timing timing;
    timing.frost = frost;
    if (!frost.known()) {
        timing.verdict = Verdict::frost_unknown;
        timing.sentences.push_back("No first frost is known, so nothing can be counted back from "
                                   "it: write first_frost in [site], or give a daily_record.");
    } else if (!frost.counted_from()) {
        timing.sentences.push_back("Fewer than half of the years see a frost: it sets no limit.");
    }
    if (establishment.method == turf::Method::sod)
        return sod_timing(std::move(timing), establishment, climate, show);
    if (mixes_seasons(establishment))
        timing.sentences.push_back("The mix has warm- and cool-season grasses: they come up in "
                                   "different months, and what suits one kills the other. Sow one "
                                   "kind; the dates below are those of the warm-season one.");
    const WarmNeed need = warm_need(establishment);
    if (need.traits != nullptr)
        return warm_timing(std::move(timing), need, *establishment.start, climate, show);
    return seed_timing(std::move(timing), *establishment.start, climate, show);
}

} // namespace firstmow::renovation
