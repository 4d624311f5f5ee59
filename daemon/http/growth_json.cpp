#include "http/growth_json.hpp"

#include <string_view>
#include <vector>

namespace firstmow::http {
namespace {

using tables::JsonWriter;

void write_when(JsonWriter& w, std::string_view name, const turf::When& when) {
    if (!when.early) {
        w.null(name);
        return;
    }
    w.open('{', name);
    w.time("early", when.early).time("likely", when.likely).time("late", when.late);
    w.close();
}

void write_shares(JsonWriter& w, std::string_view name, const std::vector<double>& shares) {
    w.open('[', name);
    for (const double share : shares)
        w.raw_item(tables::json_number(share, 3));
    w.close();
}

std::string_view mow_word(turf::Mow mow) {
    switch (mow) {
    case turf::Mow::standing_turf:
        return "standing_turf";
    case turf::Mow::first:
        return "first";
    case turf::Mow::none:
        break;
    }
    return "none";
}

void write_species(JsonWriter& w, const turf::SpeciesProspect& species,
                   const std::optional<WallTime>& sown, WallTime now, bool curves) {
    const turf::SpeciesTraits& kind = turf::traits(species.species);
    w.open('{');
    w.text("species", kind.key).text("name", kind.name).number("share", species.share, 3);
    w.text("danger", turf::key(species.danger));
    w.number("up", species.up, 3).number("stand", species.stand, 3);
    w.open('{', "slowness").number("low", species.slowness_low, 3);
    w.number("likely", species.slowness, 3).number("high", species.slowness_high, 3).close();
    write_when(w, "first_green", species.first_green);
    write_when(w, "half_up", species.half_up);
    write_when(w, "all_up", species.all_up);
    if (curves) {
        if (sown) {
            // A value at the end of each step from the sowing on.
            w.open('{', "past").time("start", *sown).integer("step_s", 86400);
            write_shares(w, "up", species.curve_past);
            w.close();
        } else {
            w.null("past");
        }
        w.open('{', "curve").time("start", now).integer("step_s", 86400);
        write_shares(w, "low", species.curve_low);
        write_shares(w, "likely", species.curve);
        write_shares(w, "high", species.curve_high);
        w.close();
    }
    w.close();
}

} // namespace

void write_growth(JsonWriter& w, const engine::ZoneView& zone, WallTime now, bool curves) {
    if (zone.growth.empty()) {
        w.null("growth");
        return;
    }
    const turf::Prospect& prospect = zone.prospect;
    w.open('{', "growth").text("text", zone.growth);
    w.number("stand", zone.stand.alive, 3);
    w.number("stand_driest_quarter", zone.stand.alive_driest_quarter, 3);
    write_when(w, "first_green", prospect.first_green);
    write_when(w, "half_up", prospect.half_up);
    write_when(w, "all_up", prospect.all_up);
    write_when(w, "rooted", prospect.rooted);
    write_when(w, "first_mow", prospect.first_mow);
    write_when(w, "grown_in", prospect.grown_in);
    w.open('{', "mow").text("due", mow_word(zone.mow.due));
    w.number("cut_to_mm", zone.mow.cut_to_mm, 0);
    w.number("when_tall_mm", zone.mow.when_tall_mm, 0).close();
    w.time("keep_off_until", zone.keep_off_until);
    w.open('[', "species");
    for (const turf::SpeciesProspect& species : prospect.species)
        write_species(w, species, prospect.sown, now, curves);
    w.close();
    w.close();
}

std::string growth_json(const engine::GardenView& view) {
    JsonWriter w;
    w.open('{').time("time", view.time).open('[', "zones");
    for (const engine::ZoneView& zone : view.zones) {
        if (zone.growth.empty()) continue;
        w.open('{').text("id", zone.id).text("name", zone.name);
        w.text("phase", turf::key(zone.phase));
        write_growth(w, zone, view.time, true);
        w.close();
    }
    w.close().close();
    return w.take();
}

} // namespace firstmow::http
