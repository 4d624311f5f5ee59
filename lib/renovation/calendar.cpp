#include "renovation/calendar.hpp"

#include "base/check.hpp"
#include "base/day_words.hpp"
#include "base/text.hpp"
#include "renovation/seeding.hpp"
#include "turf/mowing.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::renovation {

namespace {

// Common practice, no source, except where one is named.
constexpr int kOrderAhead = 14;
constexpr int kSoilTestAhead = 28;
constexpr int kWaterToGreenUp = 7;         // dry grass takes no herbicide up
constexpr int kFollowUpAfterUp = 30;       // about 1 lb N/1000 ft2 a month while it establishes
constexpr int kBroadleafAfterMow = 28;     // three to four mowings, a week apart
constexpr double kNitrogenFollowUp = 4.88; // g/m2, 1 lb/1000 ft2

class Builder {
public:
    Builder(const garden::Zone& zone, const garden::Renovation& renovation, const Timing& timing,
            const Milestones& milestones, const Quantities& quantities, const Show& show)
        : zone_(zone),
          renovation_(renovation),
          timing_(timing),
          milestones_(milestones),
          quantities_(quantities),
          show_(show),
          start_(*zone.establishment.start) {}

    std::vector<Event> build();

private:
    void add(Date day, std::string key, std::string title, std::string text, int days = 1);
    void add_shopping(Date first_work);
    Date add_ground_work();
    void add_overseed_work();
    void add_seeding();
    void add_emergence();
    void add_mowing();
    void add_laying();
    void add_after();
    std::string range(const Milestone& milestone) const;
    std::string materials() const;

    const garden::Zone& zone_;
    const garden::Renovation& renovation_;
    const Timing& timing_;
    const Milestones& milestones_;
    const Quantities& quantities_;
    const Show& show_;
    Date start_;
    std::vector<Event> events_;
};

void Builder::add(Date day, std::string key, std::string title, std::string text, int days) {
    events_.push_back(
        {day, days, zone_.id, std::move(key), zone_.name + ": " + title, std::move(text)});
}

std::string Builder::range(const Milestone& milestone) const {
    if (!milestone.early) return "Dates cannot be told.";
    if (milestones_.live && milestone.early == milestone.late) return "As it came.";
    const std::string start = milestones_.live ? "As the season goes; " : "In a year as usual; ";
    if (!milestone.late)
        return start + "no sooner than " + date_words(*milestone.early) +
               " in nine cases of ten, and how late cannot be told: winter may come between.";
    return start + "between " + date_words(*milestone.early) + " and " +
           date_words(*milestone.late) + " in eight cases of ten, by weather and seed.";
}

std::string Builder::materials() const {
    std::string text;
    if (quantities_.sod_rolls > 0)
        text = std::to_string(quantities_.sod_rolls) + " rolls of sod (" +
               show_.area(quantities_.sod_m2) + ", waste included), cut and delivered on the day";
    else
        for (const SeedPart& part : quantities_.seed)
            text += (text.empty() ? "" : ", ") + show_.mass(part.bulk_kg) + " of " +
                    std::string(turf::traits(part.species).name) + " seed";
    text += ", " + show_.mass(quantities_.starter_kg) + " of starter fertilizer";
    if (quantities_.topsoil_m3 > 0)
        text += ", " + show_.volume(quantities_.topsoil_m3) + " topsoil";
    if (quantities_.topdressing_m3 > 0)
        text += ", " + show_.volume(quantities_.topdressing_m3) + " topdressing";
    if (quantities_.straw_high_kg > 0)
        text += ", " + show_.mass(quantities_.straw_low_kg) + " to " +
                show_.mass(quantities_.straw_high_kg) + " of clean straw";
    if (quantities_.blanket_m2 > 0)
        text += ", " + show_.area(quantities_.blanket_m2) + " of germination blanket";
    return text + ".";
}

void Builder::add_shopping(Date first_work) {
    add(add_days(first_work, -kSoilTestAhead), "soil_test", "send in a soil test",
        "Its answer decides about lime and phosphorus; local law may forbid phosphorus without "
        "one.");
    add(add_days(start_, -kOrderAhead), "order",
        "order " + std::string(quantities_.sod_rolls > 0 ? "the sod" : "seed and fertilizer"),
        materials() + (quantities_.sod_rolls > 0
                           ? ""
                           : " Read the seed tag: purity, germination, weed seed, date of test."));
    add(add_days(start_, -kOrderAhead + 2), "catch_cans", "measure the sprinklers with catch cans",
        "Rate and uniformity in the garden file decide every run. Check for leaks; the backflow "
        "preventer is tested by someone licensed where the code says so.");
}

// Kill, till, level, settle. Returns the day of the first work.
Date Builder::add_ground_work() {
    const int settle = static_cast<int>(std::lround(renovation_.settle_days));
    const int wait = static_cast<int>(std::lround(renovation_.herbicide_wait_days));
    const Date till = add_days(start_, -std::max(settle, 1));
    Date first = till;
    if (wait > 0) {
        const Date kill = add_days(till, -wait);
        first = add_days(kill, -kWaterToGreenUp);
        add(first, "green_up", "water the old grass until it grows",
            "What is dormant takes nothing up and comes back.", kWaterToGreenUp);
        add(kill, "kill", "kill the old grass",
            std::string("The label of the herbicide is the law: where, when, how much, what to "
                        "wear, and how long to wait before seed or sod; local rules may ask for a "
                        "licence. ") +
                (renovation_.herbicide_wait_given
                     ? "The wait of " + std::to_string(wait) + " days is the garden file's."
                     : "The wait of " + std::to_string(wait) +
                           " days is only assumed: read the label and write herbicide_wait.") +
                (timing_.verdict == Verdict::dormant
                     ? " It works on grass that grows: before dormant seed that is weeks sooner, "
                       "while it is still warm."
                     : " Spray again what is green after a week.") +
                " Without chemicals: strip the sod.");
    }
    add(till, "till", "strip or till, then level",
        "Call before you dig: pipes and cables are marked free of charge in many places. Work "
        "when the soil crumbles, never wet. " +
            (quantities_.topsoil_m3 > 0
                 ? "Spread " + show_.volume(quantities_.topsoil_m3) + " of topsoil (" +
                       show_.depth(renovation_.topsoil_mm) + ") and mix it in. "
                 : std::string()) +
            "Grade away from the house.");
    if (settle > 1)
        add(add_days(till, 1), "settle", "let the ground settle",
            "Water once or twice, fill what sinks, roll lightly; a foot should sink no deeper "
            "than " +
                show_.depth(13) + ".",
            settle - 1);
    return first;
}

void Builder::add_overseed_work() {
    add(add_days(start_, -1), "scalp", "mow short and rake hard",
        "Down to about " + show_.depth(38) +
            " this once, clippings off, the ground slit or raked open: seed must touch soil.");
}

void Builder::add_seeding() {
    const bool overseed = zone_.establishment.method == turf::Method::overseed;
    const double depth_mm = zone_.establishment.seed_depth_mm;
    if (!overseed)
        add(add_days(start_, -1), "soak", "soak the ground once",
            "Wet it to " + show_.depth(150) + " in pulses, about " +
                show_.depth(first_soak_mm(zone_)) +
                " in all, and let the surface dry until it does not stick.");
    std::string text = show_.spread(quantities_.bulk_g_per_m2) +
                       " of seed, half along and half across, raked in to about " +
                       show_.depth(depth_mm) +
                       " and rolled. Starter: " + show_.spread(quantities_.starter_g_per_m2) + ".";
    if (quantities_.topdressing_m3 > 0)
        text += " Topdress with " + show_.depth(quantities_.topdressing_mm) + ".";
    if (quantities_.straw_high_kg > 0) text += " Straw, half of the soil still in sight.";
    if (quantities_.blanket_m2 > 0) text += " Pin the blanket down.";
    text += " From here the water is the daemon's: watch that local watering rules allow it, and "
            "ask for a new-lawn permit where there is one.";
    add(start_, "sow", overseed ? "overseed" : "sow", text);
}

void Builder::add_emergence() {
    if (milestones_.first_green.usual)
        add(*milestones_.first_green.usual, "first_green", "first green",
            range(milestones_.first_green) +
                (zone_.establishment.mix.size() > 1
                     ? " The quick grass of the mix only: water on as before."
                     : " The quickest seeds only: water on as before."));
    if (milestones_.all_up.usual)
        add(*milestones_.all_up.usual, "all_up", "all up",
            range(milestones_.all_up) +
                " The slowest grass is up; from here watering becomes rarer and deeper, by "
                "itself.");
}

void Builder::add_mowing() {
    const double height = mow_height_mm(zone_.establishment.mix);
    if (zone_.establishment.method == turf::Method::overseed)
        add(add_days(start_, 10), "mow_old_turf", "mow the standing grass, lightly",
            "It shades the seedlings: early and often, only when the soil is firm, with a light "
            "mower, sharp blade, clippings off. Tell firstmow the hour: no water in the three "
            "hours before, unless the seedbed would dry.");
    if (!milestones_.first_mow.usual) return;
    const Date mow = *milestones_.first_mow.usual;
    add(add_days(mow, -1), "skip_water", "let the surface dry for the mow",
        "Tell firstmow the hour of the mow: the soil must be firm under foot, so from twelve hours "
        "before it gives no water, and what would be due then comes sooner.");
    add(mow, "first_mow", "first mow",
        range(milestones_.first_mow) + " When most of the grass stands at " +
            show_.depth(height * 1.33) + ", cut it to " + show_.depth(height) +
            ", never more than a third. Sharp blade, light mower, few and wide turns. Then report "
            "it, and the water is drawn back.");
}

void Builder::add_laying() {
    const double height = mow_height_mm(zone_.establishment.mix);
    add(add_days(start_, -1), "rake", "rake level and moisten the ground",
        show_.depth(25) + " below walks and drives; starter: " +
            show_.spread(quantities_.starter_g_per_m2) + ", raked in.");
    add(start_, "lay", "lay the sod",
        "Within a day of cutting, joints staggered and tight, across the slope, rolled. Water "
        "each stretch within half an hour of laying, about " +
            show_.depth(25) + ": the soil below wet to " + show_.depth(90) + ".");
    if (milestones_.rooted.usual) {
        const Date tug = *milestones_.rooted.usual;
        add(tug, "tug_test", "tug test",
            range(milestones_.rooted) +
                " Pull at a corner: when it resists, report it as rooted, and the water is drawn "
                "back.");
        add(add_days(tug, 1), "skip_water", "let the surface dry for the mow",
            "Tell firstmow the hour of the mow: the soil must be firm under foot, so it gives no "
            "water in the hours before.");
        add(add_days(tug, 2), "first_mow", "first mow",
            "Only when it resists a tug. Down to " + show_.depth(height) +
                ", never more than a third; light mower, few turns.");
    }
    add(start_, "keep_off", "keep off", "Two to three weeks, until it is rooted.",
        turf::kKeepOffSodDays);
}

void Builder::add_after() {
    const bool sod = zone_.establishment.method == turf::Method::sod;
    const auto& up = sod ? milestones_.rooted.usual : milestones_.all_up.usual;
    if (!sod) {
        const int until_mow =
            milestones_.first_mow.usual ? days_between(start_, *milestones_.first_mow.usual) : 42;
        add(start_, "keep_off", "keep off", "People and pets, until the first mow.",
            std::max(until_mow, 1));
        add(add_days(start_, turf::kLightUseAfterDays), "light_use", "light use",
            "Bears light use after 8 to 10 weeks of growth; play and parties next year.");
    }
    if (up && milestones_.first_mow.usual) {
        add(add_days(*up, kFollowUpAfterUp), "feed", "feed again",
            "About " + show_.spread(kNitrogenFollowUp) +
                " of nitrogen, if it still grows; not on frozen or dormant grass. Label and local "
                "law hold.");
        add(add_days(*milestones_.first_mow.usual, kBroadleafAfterMow), "weeds",
            "weed killers no sooner than this",
            "Broadleaf weed killers harm seedlings until three or four mowings; the label says "
            "how many. Pull by hand before.");
    }
    if (milestones_.grown_in.usual)
        add(*milestones_.grown_in.usual, "grown_in", "an ordinary lawn",
            range(milestones_.grown_in) + " Watering is deep and rare from here.");
}

std::vector<Event> Builder::build() {
    const turf::Method method = zone_.establishment.method;
    Date first_work = start_;
    if (method == turf::Method::overseed)
        add_overseed_work();
    else
        first_work = add_ground_work();
    add_shopping(first_work);
    if (timing_.latest)
        add(*timing_.latest, "latest", "last good day to sow",
            std::to_string(kDaysBeforeFrost) + " days before the first frost is counted on; for "
                                               "warm-season grass, the last day with warmth "
                                               "enough left.");
    if (method == turf::Method::sod) {
        add_laying();
    } else {
        add_seeding();
        add_emergence();
        add_mowing();
    }
    add_after();
    sort_events(events_);
    return std::move(events_);
}

} // namespace

void sort_events(std::vector<Event>& events) {
    std::stable_sort(events.begin(), events.end(),
                     [](const Event& a, const Event& b) { return a.day < b.day; });
}

std::vector<Event> zone_events(const garden::Zone& zone, const garden::Renovation& renovation,
                               const Timing& timing, const Milestones& milestones,
                               const Quantities& quantities, const Show& show) {
    CHECK(zone.establishment.method != turf::Method::none);
    return Builder(zone, renovation, timing, milestones, quantities, show).build();
}

std::vector<Event> garden_events(const Timing& timing) {
    std::vector<Event> events;
    const FrostOutlook& frost = timing.frost;
    const auto day = [&](const std::optional<Date>& date, std::string key, std::string title,
                         std::string text) {
        if (date)
            events.push_back({*date, 1, "", std::move(key), std::move(title), std::move(text)});
    };
    const std::string record =
        frost.years > 0 ? "From " + std::to_string(frost.years) + " years of record." : "";
    day(frost.in_10_pct, "frost_10", "first frost by now in 1 year of 10", record);
    day(frost.in_50_pct, "frost_50",
        frost.years > 0 ? "first frost by now in 5 years of 10" : "typical first hard frost",
        record);
    day(frost.in_90_pct, "frost_90", "first frost by now in 9 years of 10", record);
    if (const auto counted = frost.counted_from())
        day(add_days(*counted, -7), "drain", "drain the pipes before hard frost",
            "Close and drain what can freeze. Blowing out with compressed air can burst pipes and "
            "hurt people: leave it to someone who does it for a living.");
    return events;
}

} // namespace firstmow::renovation
