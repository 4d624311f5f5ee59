#include "engine/codec_turf.hpp"

#include "engine/codec_values.hpp"

#include <algorithm>

namespace firstmow::engine {

Json progress_json(const turf::Progress& p) {
    Json species = Json::array();
    for (const turf::SpeciesProgress& s : p.species)
        species.push_back({{"species", static_cast<int>(s.species)},
                           {"share", s.share},
                           {"tau", s.tau},
                           {"growth_cd", s.growth_cd},
                           {"root_depth_mm", s.root_depth_mm},
                           {"mow_cd", s.mow_cd},
                           {"first_green", optional_json(s.first_green)},
                           {"half_up", optional_json(s.half_up)},
                           {"all_up", optional_json(s.all_up)},
                           {"tau_per_day", s.tau_per_day},
                           {"tau_by_day", s.tau_by_day},
                           {"slowness", s.slowness},
                           {"belief", values_json(s.belief, turf::kSpeeds)},
                           {"alive_driest", values_json(s.alive_driest, turf::kLotClasses)},
                           {"alive_rest", values_json(s.alive_rest, turf::kLotClasses)}});
    return {{"method", static_cast<int>(p.method)},
            {"phase", static_cast<int>(p.phase)},
            {"phase_since", to_json_value(p.phase_since)},
            {"sown", optional_json(p.sown)},
            {"species", std::move(species)},
            {"seedlings_seen", optional_json(p.seedlings_seen)},
            {"half_up", optional_json(p.half_up)},
            {"all_up", optional_json(p.all_up)},
            {"first_mow", optional_json(p.first_mow)},
            {"first_mow_assumed", p.first_mow_assumed},
            {"rooted", optional_json(p.rooted)},
            {"rooted_assumed", p.rooted_assumed},
            {"growth_cd", p.growth_cd},
            {"cover_fraction", p.cover_fraction},
            {"root_depth_mm", p.root_depth_mm},
            {"standing_cover", p.standing_cover},
            {"standing_cd", p.standing_cd},
            {"last_mown", optional_json(p.last_mown)},
            {"soil_mean_c", p.soil_mean_c ? Json(*p.soil_mean_c) : Json(nullptr)},
            {"soil_swing_c", p.soil_swing_c},
            {"hardening", p.hardening}};
}
namespace {

turf::SpeciesProgress read_species(Reader& r, const Json& j) {
    turf::SpeciesProgress s;
    s.species = r.choice(j, "species", turf::Species::buffalograss);
    s.share = r.number(j, "share");
    s.tau = r.number(j, "tau");
    s.growth_cd = r.number(j, "growth_cd");
    s.root_depth_mm = r.number(j, "root_depth_mm");
    s.mow_cd = r.number(j, "mow_cd");
    s.first_green = r.maybe_time(j, "first_green");
    s.half_up = r.maybe_time(j, "half_up");
    s.all_up = r.maybe_time(j, "all_up");
    s.tau_per_day = r.number(j, "tau_per_day");
    if (Reader::has(j, "tau_by_day")) s.tau_by_day = read_numbers(r, j, "tau_by_day");
    s.slowness = r.number(j, "slowness");
    if (!(s.slowness > 0)) r.fail("'slowness' is not above 0");
    s.belief = read_values<turf::kSpeeds>(r, j, "belief", turf::kSpeeds);
    s.alive_driest = read_values<turf::kLotClasses>(r, j, "alive_driest", turf::kLotClasses);
    s.alive_rest = read_values<turf::kLotClasses>(r, j, "alive_rest", turf::kLotClasses);
    return s;
}

// A text of before did not keep when half of the mix was up: about when the species were with which
// half of the shares is reached.
std::optional<WallTime> half_up_of(const turf::Progress& p) {
    std::vector<const turf::SpeciesProgress*> up;
    double shares = 0;
    for (const turf::SpeciesProgress& s : p.species) {
        shares += s.share;
        if (s.half_up) up.push_back(&s);
    }
    std::ranges::sort(up, {}, [](const turf::SpeciesProgress* s) { return *s->half_up; });
    double sum = 0;
    for (const turf::SpeciesProgress* s : up)
        if ((sum += s->share) >= shares / 2) return s->half_up;
    return std::nullopt;
}
} // namespace

turf::Progress read_progress(Reader& r, const Json& j) {
    turf::Progress p;
    p.method = r.choice(j, "method", turf::Method::none);
    p.phase = r.choice(j, "phase", turf::Phase::rooting);
    p.phase_since = r.time(j, "phase_since");
    p.sown = r.maybe_time(j, "sown");
    for (const Json& s : r.list(j, "species"))
        p.species.push_back(read_species(r, s));
    p.seedlings_seen = r.maybe_time(j, "seedlings_seen");
    p.half_up = Reader::has(j, "half_up") ? r.maybe_time(j, "half_up") : half_up_of(p);
    p.all_up = r.maybe_time(j, "all_up");
    p.first_mow = r.maybe_time(j, "first_mow");
    p.first_mow_assumed = r.boolean(j, "first_mow_assumed");
    p.rooted = r.maybe_time(j, "rooted");
    p.rooted_assumed = r.boolean(j, "rooted_assumed");
    p.growth_cd = r.number(j, "growth_cd");
    p.cover_fraction = r.number(j, "cover_fraction");
    p.root_depth_mm = r.number(j, "root_depth_mm");
    p.standing_cover = r.number(j, "standing_cover");
    p.standing_cd = r.number(j, "standing_cd");
    p.last_mown = r.maybe_time(j, "last_mown");
    if (!r.at(j, "soil_mean_c").is_null()) p.soil_mean_c = r.number(j, "soil_mean_c");
    p.soil_swing_c = r.number(j, "soil_swing_c");
    p.hardening = r.number(j, "hardening");
    return p;
}

} // namespace firstmow::engine
