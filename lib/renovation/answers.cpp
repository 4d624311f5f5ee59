#include "renovation/answers.hpp"

#include <algorithm>

namespace firstmow::renovation {

namespace {

garden::Zone* zone_of(garden::Garden& garden, const std::string& id) {
    const auto found = std::find_if(garden.zones.begin(), garden.zones.end(),
                                    [&](const garden::Zone& zone) { return zone.id == id; });
    return found == garden.zones.end() ? nullptr : &*found;
}

std::optional<Error> answer_for(garden::Zone& zone, const Answers& answers) {
    garden::OldLawn& lawn = zone.old_lawn;
    if (answers.grass_left_pct) lawn.desirable_grass_pct = answers.grass_left_pct;
    if (answers.traffic) lawn.traffic = answers.traffic;
    if (answers.instant) lawn.instant = answers.instant;
    if (answers.slope_pct) zone.slope_pct = *answers.slope_pct;
    garden::Establishment& sown = zone.establishment;
    if (answers.start) sown.start = answers.start;
    if (answers.method) sown.method = *answers.method;
    if (sown.method == turf::Method::none) {
        if (!sown.start)
            return Error{"'" + zone.id +
                         "' is a grown-in lawn; give the day to plan for as start=2026-08-22"};
        sown.method = turf::Method::seed;
    }
    if (!sown.start)
        return Error{"'" + zone.id +
                     "' has no day of sowing or laying; give it as "
                     "start=2026-08-22"};
    if (sown.mix.empty() && sown.method != turf::Method::sod)
        sown.mix = {{turf::Species::kentucky_bluegrass, 1.0}};
    return std::nullopt;
}

} // namespace

Result<garden::Garden> with_answers(garden::Garden garden, const Answers& answers) {
    if (answers.units) garden.site.units = *answers.units;
    if (answers.first_frost) garden.site.first_frost = answers.first_frost;
    if (!answers.of_zone()) return garden;
    garden::Zone* zone = nullptr;
    if (!answers.zone.empty()) {
        zone = zone_of(garden, answers.zone);
        if (zone == nullptr) return Error{"the garden has no zone '" + answers.zone + "'"};
    } else if (garden.zones.size() == 1) {
        zone = &garden.zones.front();
    } else {
        return Error{"the garden has several zones; say whose answers these are, as zone=" +
                     (garden.zones.empty() ? std::string("ID") : garden.zones.front().id)};
    }
    if (auto wrong = answer_for(*zone, answers)) return std::move(*wrong);
    return garden;
}

} // namespace firstmow::renovation
