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
           date_or(milestone.early, "?") +
           (milestone.late ? " to " + to_string(*milestone.late) : " or later") + ").";
}

void write_advice(const Plan& plan, const ZonePlan& zone, std::string& out) {
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
        out += paragraph("    ", way_words(plan, way));
}

void write_zone(const ZonePlan& zone, const Plan& plan, const Show& show, std::string& out) {
    const garden::Zone& z = *zone.zone;
    out += heading(z.name + ": " + std::string(name(z.establishment.method)) + " on " +
                   to_string(*z.establishment.start));
    for (const std::string& sentence : zone.timing.sentences)
        out += paragraph("  ", sentence);
    write_advice(plan, zone, out);
    const bool sod = z.establishment.method == turf::Method::sod;
    if (sod) {
        out += paragraph("  ", span_text("Rooted", zone.milestones.rooted));
    } else {
        out += paragraph("  ", span_text("First green", zone.milestones.first_green));
        out += paragraph("  ", span_text("All up", zone.milestones.all_up));
        out += paragraph("  ", span_text("First mow", zone.milestones.first_mow));
    }
    out += "  To buy, for " + show.area(z.area_m2) + ":\n";
    for (const std::string& line : shopping_words(plan, zone))
        out += paragraph("    - ", line);
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

void write_tap(const Plan& plan, std::string& out) {
    const auto words = tap_words(plan);
    if (!words) return;
    out += heading("Can the tap keep it damp?");
    out += paragraph("", words->demand);
    for (const std::string& zone : words->zones)
        out += paragraph("  - ", zone);
    out += paragraph("", words->verdict);
    for (const std::string& remedy : words->remedies)
        out += paragraph("  - ", remedy);
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
    for (const std::string& sentence : frost_words(plan))
        out += paragraph("", sentence);
    for (const ZonePlan& zone : plan.zones)
        write_zone(zone, plan, show, out);
    write_tap(plan, out);
    out += heading("Cautions");
    for (const std::string& caution : plan.cautions)
        out += paragraph("  - ", caution);
    return out;
}

} // namespace firstmow::renovation
