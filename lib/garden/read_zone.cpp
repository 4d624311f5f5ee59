#include "garden/sections.hpp"

#include "base/check.hpp"
#include "garden/wording.hpp"

#include <cmath>
#include <string_view>

namespace firstmow::garden {

namespace {

constexpr Field kFields[] = {
    {"id", true, "id = \"front\""},
    {"name", false, "name = \"Front lawn\""},
    {"area", true, "area = \"90 m2\""},
    {"soil", true, "soil = \"loam\""},
    {"loosened", false, "loosened = { depth = \"50 mm\" }"},
    {"topdressing", false, "topdressing = { depth = \"5 mm\", material = \"compost\" }"},
    {"slope", false, "slope = \"2 %\""},
    {"precipitation_rate", false, "precipitation_rate = \"12 mm/h\""},
    {"catch_cans", false, "catch_cans = { readings = \"9 10 11 12 mm\", time = \"60 min\" }"},
    {"flow", false, "flow = \"18 L/min\""},
    {"heads", false, "heads = \"rotor\""},
    {"distribution_uniformity", false, "distribution_uniformity = 0.65"},
    {"soil_below", false, "soil_below = \"-200 kPa\""},
    {"sun", false, "sun = \"part_shade\""},
    {"direct_sun", false, "direct_sun = \"5 h\""},
    {"shortest_run", false, "shortest_run = \"2 min\""},
    {"longest_run", false, "longest_run = \"60 min\""},
    {"most_per_day", false, "most_per_day = \"20 mm\""},
    {"valve", true, "valve = { driver = \"simulated\", channel = 1 }"},
    {"establishment", false, "[zone.establishment]"},
    {"renovation", false, "[zone.renovation]"},
};
// Hours of direct sun a day: full sun is six and more, part shade three to six, shade less than
// three (common practice, no source); the middle of each.
constexpr std::string_view kSun[] = {"full", "part_shade", "shade"};
constexpr std::optional<double> kSunHours[] = {std::nullopt, 4.5, 1.5};

void read_runs(const Fields& fields, Zone& zone) {
    // Ten seconds is about what a valve needs to open and the pipe to fill; more than four hours
    // without a look is a leak, not a run.
    constexpr Range kRuns{10, 4 * 3600};
    const auto shortest = fields.quantity("shortest_run", Dimension::duration_s, kRuns);
    const auto longest = fields.quantity("longest_run", Dimension::duration_s, kRuns);
    if (shortest) zone.shortest_run_s = whole_seconds(*shortest);
    if (longest) zone.longest_run_s = whole_seconds(*longest);
    const bool either = shortest || longest;
    if (either && zone.shortest_run_s > zone.longest_run_s)
        fields.refuse(shortest ? "shortest_run" : "longest_run",
                      "makes the shortest run (" + std::to_string(zone.shortest_run_s) +
                          " s) longer than the longest (" + std::to_string(zone.longest_run_s) +
                          " s); shortest_run up to longest_run would be right");
}

// Either a word, or a length, or hours of the clock.
void read_sun(const Fields& fields, Zone& zone, Errors& errors) {
    const Node* const node = fields.find("direct_sun");
    if (const auto sun = fields.word("sun", kSun)) {
        zone.direct_sun_h = kSunHours[*sun];
        if (node != nullptr)
            fields.refuse("sun", "stands beside direct_sun; one of the two would be right");
    }
    if (node == nullptr) return;
    if (node->kind == Kind::list) {
        zone.sun_hours = read_hours(fields, "direct_sun", errors);
        return;
    }
    if (const auto sun_s = fields.quantity("direct_sun", Dimension::duration_s, {0, 24 * 3600}))
        zone.direct_sun_h = *sun_s / 3600;
}

void read_ground(const Fields& fields, ReadZone& read) {
    Zone& zone = read.zone;
    const auto area = fields.quantity("area", Dimension::area_m2, {0.1, 100000});
    zone.area_m2 = area.value_or(0);
    if (const auto slope = fields.quantity("slope", Dimension::percent, {0, 100}))
        zone.slope_pct = *slope;
    if (const auto below = fields.quantity("soil_below", Dimension::potential_kpa, {-1500, 0}))
        zone.soil_below_kpa = *below;
}

} // namespace

std::optional<std::string> read_id(const Fields& fields) {
    constexpr std::size_t kLongestId = 32;
    std::optional<std::string> id = fields.text("id", kLongestId);
    if (!id) return std::nullopt;
    constexpr std::string_view kAllowed = "abcdefghijklmnopqrstuvwxyz"
                                          "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-";
    if (id->find_first_not_of(kAllowed) != std::string::npos) {
        fields.refuse("id", in_quotes(*id) +
                                " holds more than letters, digits and '-'; \"front\" or "
                                "\"bed-2\" would be right");
        return std::nullopt;
    }
    return id;
}

int whole_seconds(double seconds) {
    return static_cast<int>(std::lround(seconds));
}

ReadZone read_zone(const Node& table, Errors& errors) {
    std::string called = "[[zone]]";
    for (const Entry& entry : table.entries)
        if (entry.key == "id" && entry.value.kind == Kind::text)
            called += " " + in_quotes(entry.value.text);
    const Fields fields(table, called, kFields, errors);

    ReadZone read;
    if (const auto id = read_id(fields)) {
        read.zone.id = *id;
        read.id_at = fields.find("id")->spot;
    }
    read.zone.name = fields.text("name").value_or(read.zone.id);
    read_ground(fields, read);
    read_soil(fields, called, read.zone, errors);
    read_sprinklers(fields, table, called, read, errors);
    read_sun(fields, read.zone, errors);
    read_runs(fields, read.zone);
    read.zone.most_per_day_mm = fields.quantity("most_per_day", Dimension::depth_mm, {1, 500});
    if (const Node* const valve = fields.table("valve"))
        read.valve_at = read_valve(*valve, "valve of " + called, read.zone.valve, errors);
    if (const Node* const establishment = fields.table("establishment"))
        read.zone.establishment =
            read_establishment(*establishment, "establishment of " + called, errors);
    if (const Node* const renovation = fields.table("renovation"))
        read.zone.old_lawn = read_old_lawn(*renovation, "renovation of " + called, errors);
    return read;
}

} // namespace firstmow::garden
