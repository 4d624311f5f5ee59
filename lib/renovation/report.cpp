// The plan as text for a terminal.
#include "renovation/plan.hpp"

#include "base/text.hpp"
#include "renovation/seeding.hpp"

#include <algorithm>
#include <string_view>

namespace firstmow::renovation {

namespace {

constexpr std::size_t kColumns = 96;

// `lead`, then the words of `text`, wrapped; later lines are indented as deep as `lead` is long.
std::string paragraph(std::string_view lead, std::string_view text) {
    std::string out(lead);
    std::size_t column = lead.size();
    bool begun = false;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find(' '), text.size());
        const std::string_view word = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        if (begun && column + 1 + word.size() > kColumns) {
            out += "\n" + std::string(lead.size(), ' ');
            column = lead.size();
        } else if (begun) {
            out += ' ';
            ++column;
        }
        out += word;
        column += word.size();
        begun = true;
    }
    return out + "\n";
}

std::string heading(const std::string& text) {
    const auto characters = std::count_if(text.begin(), text.end(), [](char c) {
        return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
    });
    return "\n" + text + "\n" + std::string(static_cast<std::size_t>(characters), '-') + "\n";
}

std::string date_or(const std::optional<Date>& date, const char* otherwise) {
    return date ? to_string(*date) : std::string(otherwise);
}

std::string span_text(const char* what, const Milestone& milestone) {
    if (!milestone.usual) return std::string(what) + ": not within a year.";
    return std::string(what) + ": " + to_string(*milestone.usual) + " (" +
           date_or(milestone.early, "?") + " to " + date_or(milestone.late, "next spring") + ").";
}

std::string cost_text(const std::optional<double>& cost) {
    return cost ? ", costs " + fixed(*cost, 2) : std::string();
}

void write_frost(const Plan& plan, std::string& out) {
    if (plan.zones.empty()) return;
    const FrostOutlook& frost = plan.zones.front().timing.frost;
    if (frost.years > 0)
        out += paragraph("", "First frost, from " + std::to_string(frost.years) +
                                 " years of record: by " + date_or(frost.in_10_pct, "(none)") +
                                 " in 1 year of 10, by " + date_or(frost.in_50_pct, "(none)") +
                                 " in 5, by " + date_or(frost.in_90_pct, "(none)") + " in 9." +
                                 (frost.years_without > 0
                                      ? " Without any: " + std::to_string(frost.years_without) + "."
                                      : ""));
    else if (frost.in_50_pct)
        out += paragraph("", "First frost: " + to_string(*frost.in_50_pct) +
                                 ", the typical date of the garden file; in half of the years it "
                                 "comes sooner. Six weeks before is " +
                                 to_string(add_days(*frost.in_50_pct, -42)) + ", 45 days " +
                                 to_string(add_days(*frost.in_50_pct, -kDaysBeforeFrost)) + ".");
    else
        out += paragraph("", "First frost: not known; write first_frost or a daily_record.");
    out += paragraph("", plan.climate.from_record
                             ? "The usual course of the year is taken from the record."
                             : "The usual course of the year is a rule of thumb from latitude and "
                               "height, off by several degrees in many places; a daily_record "
                               "makes the dates better.");
}

void write_advice(const ZonePlan& zone, const Show& show, std::string& out) {
    if (!zone.advice) return;
    const Advice& advice = *zone.advice;
    const turf::Method chosen = zone.zone->establishment.method;
    out += paragraph("  ", "Advice: " + std::string(name(advice.method)) + "." +
                               (advice.method == chosen
                                    ? std::string(" So does the garden file.")
                                    : " The garden file says: " + std::string(name(chosen)) + "."));
    for (const std::string& reason : advice.reasons)
        out += paragraph("    - ", reason);
    for (const Way& way : advice.ways)
        out += paragraph("    ",
                         "To " + std::string(name(way.method)) + ": " + show.water(way.water_l) +
                             " of water" + cost_text(way.water_cost) + ", " +
                             (way.weeks_to_first_mow
                                  ? fixed(*way.weeks_to_first_mow, 1) + " weeks to the first mow."
                                  : std::string("no mow within a year.")));
}

void write_shopping(const ZonePlan& zone, const garden::Renovation& renovation, const Show& show,
                    std::string& out) {
    const Quantities& q = zone.quantities;
    const garden::Zone& z = *zone.zone;
    const auto line = [&](const std::string& text) { out += paragraph("    - ", text); };
    out += "  To buy, for " + show.area(z.area_m2) + ":\n";
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
}

void write_zone(const ZonePlan& zone, const Plan& plan, const Show& show, std::string& out) {
    const garden::Zone& z = *zone.zone;
    out += heading(z.name + ": " + std::string(name(z.establishment.method)) + " on " +
                   to_string(*z.establishment.start));
    for (const std::string& sentence : zone.timing.sentences)
        out += paragraph("  ", sentence);
    write_advice(zone, show, out);
    const bool sod = z.establishment.method == turf::Method::sod;
    if (sod) {
        out += paragraph("  ", span_text("Rooted", zone.milestones.rooted));
    } else {
        out += paragraph("  ", span_text("First green", zone.milestones.first_green));
        out += paragraph("  ", span_text("All up", zone.milestones.all_up));
        out += paragraph("  ", span_text("First mow", zone.milestones.first_mow));
    }
    write_shopping(zone, plan.garden->renovation, show, out);
    out += "  Dates:\n";
    const std::size_t own_name = z.name.size() + 2; // the heading says it
    for (const Event& event : zone.events) {
        std::string when = to_string(event.day);
        if (event.days > 1)
            when += " to " + to_string(add_days(event.day, event.days - 1)).substr(5);
        when.resize(std::max<std::size_t>(when.size(), 19), ' ');
        std::string title = event.title.substr(own_name);
        title[0] =
            title[0] >= 'a' && title[0] <= 'z' ? static_cast<char>(title[0] - 'a' + 'A') : title[0];
        out += paragraph("    " + when + " ", title + ". " + event.text);
    }
}

void write_trial(const garden::Garden& garden, const Trial& trial, const Show& show,
                 std::string& out) {
    for (const ZoneStrain& zone : trial.zones) {
        std::string called = zone.zone;
        for (const garden::Zone& z : garden.zones)
            if (z.id == zone.zone) called = z.name;
        out += paragraph(
            "  - ", called + ": " + fixed(zone.runs_per_day, 1) + " runs, " +
                        fixed(zone.minutes_per_day, 0) + " min, " +
                        show.depth(zone.gross_mm_per_day) + ", " + show.water(zone.litres_per_day) +
                        " a day; its driest quarter is too dry for " +
                        fixed(zone.dry_minutes_per_day, 0) + " min a day (down to " +
                        (zone.driest_kpa < -1500 ? std::string("air-dry")
                                                 : fixed(zone.driest_kpa, 0) + " kPa") +
                        ").");
    }
}

void write_feasibility(const Plan& plan, const Show& show, std::string& out) {
    if (!plan.feasibility) return;
    const Feasibility& f = *plan.feasibility;
    out += heading("Can the tap keep it damp?");
    out += paragraph(
        "", "On days of " + show.temperature(f.design_heat_c) +
                ", clear and dry, at that time of the year the air asks for " +
                fixed(f.eto_mm_per_day, 1) + " mm a day of reference grass, " +
                fixed(f.eto_peak_mm_per_h, 2) + " mm an hour at the worst. The tap gives " +
                show.flow(plan.garden->supply.flow_l_per_min) + " for " +
                fixed(f.open_minutes_per_day, 0) + " min a day (mean of the week), of which " +
                fixed(100 * f.tap_use, 0) + " % would be used.");
    write_trial(*plan.garden, f.as_is, show, out);
    if (f.as_is.holds()) {
        out += paragraph("", "It can: no bed is too dry for more than half an hour a day.");
        return;
    }
    out += paragraph("", "It cannot. What would help (the longest that any bed is too dry, in "
                         "minutes a day):");
    for (const Remedy& remedy : f.remedies)
        out += paragraph("  - ", remedy.what + ": " + fixed(remedy.trial.worst_dry_minutes(), 0) +
                                     (remedy.trial.holds() ? ", which will do." : "."));
    out += paragraph("  - ", "Cooler weather: every degree less helps; sow the thirstiest zone "
                             "when the worst heat is over.");
}

} // namespace

std::string report(const Plan& plan) {
    const Show show(plan.garden->site.units);
    std::string out = "Renovation plan: " + plan.garden->site.name + "\n";
    if (plan.zones.empty()) {
        out += paragraph("", "No zone is being established, so there is nothing to plan: give a "
                             "zone its [zone.establishment] with a method and a start.");
        return out;
    }
    write_frost(plan, out);
    for (const ZonePlan& zone : plan.zones)
        write_zone(zone, plan, show, out);
    write_feasibility(plan, show, out);
    out += heading("Cautions");
    for (const std::string& caution : plan.cautions)
        out += paragraph("  - ", caution);
    return out;
}

} // namespace firstmow::renovation
