// The parts of the plan as sentences.
#include "renovation/plan.hpp"

#include "base/day_words.hpp"
#include "base/text.hpp"
#include "renovation/seeding.hpp"

namespace firstmow::renovation {

namespace {

std::string date_or(const std::optional<Date>& date, const char* otherwise) {
    return date ? date_words(*date) : std::string(otherwise);
}

std::string cost_text(const std::optional<double>& cost) {
    return cost ? ", costs " + fixed(*cost, 2) : std::string();
}

std::string strain_words(const garden::Garden& garden, const ZoneStrain& zone, const Show& show) {
    std::string called = zone.zone;
    for (const garden::Zone& z : garden.zones)
        if (z.id == zone.zone) called = z.name;
    return called + ": " + fixed(zone.runs_per_day, 1) + " runs, " +
           fixed(zone.minutes_per_day, 0) + " min, " + show.depth(zone.gross_mm_per_day) + ", " +
           show.water(zone.litres_per_day) + " a day; its driest quarter is too dry for " +
           fixed(zone.dry_minutes_per_day, 0) + " min a day (down to " +
           (zone.driest_kpa < -1500 ? std::string("air-dry") : fixed(zone.driest_kpa, 0) + " kPa") +
           ").";
}

} // namespace

std::vector<std::string> frost_words(const Plan& plan) {
    std::vector<std::string> words;
    if (plan.zones.empty()) return words;
    const FrostOutlook& frost = plan.zones.front().timing.frost;
    if (frost.years > 0)
        words.push_back("First frost, from " + std::to_string(frost.years) +
                        " years of record: by " + date_or(frost.in_10_pct, "(none)") +
                        " in 1 year of 10, by " + date_or(frost.in_50_pct, "(none)") +
                        " in 5, by " + date_or(frost.in_90_pct, "(none)") + " in 9." +
                        (frost.years_without > 0
                             ? " Without any: " + std::to_string(frost.years_without) + "."
                             : ""));
    else if (frost.in_50_pct)
        words.push_back("First frost: " + date_words(*frost.in_50_pct) +
                        ", the typical date that was given; in half of the years it comes sooner. "
                        "Six weeks before is " +
                        date_words(add_days(*frost.in_50_pct, -42)) + ", " +
                        std::to_string(kDaysBeforeFrost) + " days " +
                        date_words(add_days(*frost.in_50_pct, -kDaysBeforeFrost)) + ".");
    else
        words.push_back("First frost: not known; write first_frost or a daily_record.");
    words.push_back(plan.climate.from_record
                        ? "The usual course of the year is taken from the record."
                        : "The usual course of the year is a rule of thumb from latitude and "
                          "height, off by several degrees in many places; a daily_record makes "
                          "the dates better.");
    return words;
}

std::string way_words(const Plan& plan, const Way& way) {
    const Show show(plan.garden->site.units);
    return "To " + std::string(name(way.method)) + ": " + show.water(way.water_l) + " of water" +
           cost_text(way.water_cost) + ", " +
           (way.weeks_to_first_mow ? fixed(*way.weeks_to_first_mow, 1) + " weeks to the first mow."
                                   : std::string("no mow within a year."));
}

std::vector<std::string> shopping_words(const Plan& plan, const ZonePlan& zone) {
    const Show show(plan.garden->site.units);
    const garden::Renovation& renovation = plan.garden->renovation;
    std::vector<std::string> words;
    const auto line = [&](std::string text) { words.push_back(std::move(text)); };
    const Quantities& q = zone.quantities;
    for (const SeedPart& part : q.seed)
        line("Seed of " + std::string(turf::traits(part.species).name) + ": " +
             show.mass(part.bulk_kg) + " (" + show.mass(part.pure_live_kg) + " pure live seed).");
    if (!q.seed.empty())
        line("Together " + show.spread(q.bulk_g_per_m2) + " over the spreader at " +
             fixed(100 * q.pure_live_seed, 0) + " % pure live seed" +
             (q.seed_tag_assumed ? " (assumed: read the tag)." : "."));
    if (q.sod_rolls > 0)
        line("Sod: " + std::to_string(q.sod_rolls) + " rolls of " +
             show.area(renovation.sod_roll_m2) + ", " + show.area(q.sod_m2) + " with " +
             fixed(renovation.sod_waste_pct, 0) + " % waste.");
    const garden::Analysis& bag = renovation.starter;
    line("Starter " + fixed(bag.n_pct, 0) + "-" + fixed(bag.p2o5_pct, 0) + "-" +
         fixed(bag.k2o_pct, 0) + ": " + show.mass(q.starter_kg) + ", " +
         show.spread(q.starter_g_per_m2) + " for " +
         show.spread(renovation.starter_nitrogen_g_per_m2) + " of nitrogen (and " +
         show.spread(q.p2o5_g_per_m2) + " of P2O5).");
    if (q.topsoil_m3 > 0)
        line("Topsoil: " + show.volume(q.topsoil_m3) + " for " + show.depth(renovation.topsoil_mm) +
             ".");
    if (q.topdressing_m3 > 0)
        line("Topdressing: " + show.volume(q.topdressing_m3) + " for " +
             show.depth(q.topdressing_mm) + ".");
    if (q.straw_high_kg > 0)
        line("Straw, clean: " + show.mass(q.straw_low_kg) + " to " + show.mass(q.straw_high_kg) +
             ".");
    if (q.blanket_m2 > 0)
        line("Germination blanket: " + show.area(q.blanket_m2) + ", laps included.");
    line("Water until the first mow, were there no rain: " + show.water(q.water_l) + " (" +
         show.depth(q.water_mm) + ")" + cost_text(q.water_cost) + ".");
    if (q.water_with_rain_l)
        line("With the usual rain about " + show.water(*q.water_with_rain_l) + " (" +
             show.depth(*q.water_with_rain_mm) + ")" + cost_text(q.water_with_rain_cost) + ".");
    return words;
}

std::optional<TapWords> tap_words(const Plan& plan) {
    if (!plan.feasibility) return std::nullopt;
    const Show show(plan.garden->site.units);
    const Feasibility& f = *plan.feasibility;
    TapWords words;
    words.demand = "On days of " + show.temperature(f.design_heat_c) +
                   ", clear and dry, at that time of the year the air asks for " +
                   show.depth(f.eto_mm_per_day) + " a day of reference grass, " +
                   show.depth(f.eto_peak_mm_per_h) + " an hour at the worst. The tap gives " +
                   show.flow(plan.garden->supply.flow_l_per_min) + " for " +
                   fixed(f.open_minutes_per_day, 0) + " min a day (mean of the week), of which " +
                   fixed(100 * f.tap_use, 0) + " % would be used.";
    for (const ZoneStrain& zone : f.as_is.zones)
        words.zones.push_back(strain_words(*plan.garden, zone, show));
    if (f.as_is.holds()) {
        words.verdict = "It can: no bed is too dry for more than half an hour a day.";
        return words;
    }
    words.verdict = "It cannot. What would help (the longest that any bed is too dry, in minutes "
                    "a day):";
    for (const Remedy& remedy : f.remedies)
        words.remedies.push_back(remedy.what + ": " + fixed(remedy.trial.worst_dry_minutes(), 0) +
                                 (remedy.trial.holds() ? ", which will do." : "."));
    words.remedies.push_back("Cooler weather: every degree less helps; sow the thirstiest zone "
                             "when the worst heat is over.");
    return words;
}

} // namespace firstmow::renovation
