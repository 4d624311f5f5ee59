#include "renovation/answers.hpp"

#include "base/text.hpp"

#include <algorithm>

namespace firstmow::renovation {

namespace {

garden::Zone* zone_of(garden::Garden& garden, const std::string& id) {
    const auto found = std::find_if(garden.zones.begin(), garden.zones.end(),
                                    [&](const garden::Zone& zone) { return zone.id == id; });
    return found == garden.zones.end() ? nullptr : &*found;
}

double sum_of(const std::vector<TriedPart>& mix) {
    double sum = 0;
    for (const TriedPart& part : mix)
        sum += part.parts;
    return sum;
}

std::vector<garden::MixPart> shares_of(const std::vector<TriedPart>& mix) {
    std::vector<garden::MixPart> shares;
    for (const TriedPart& part : mix)
        shares.push_back({part.species, part.parts / sum_of(mix)});
    return shares;
}

std::optional<Error> answer_for(garden::Zone& zone, const Answers& answers) {
    garden::OldLawn& lawn = zone.old_lawn;
    if (answers.grass_left_pct) lawn.desirable_grass_pct = answers.grass_left_pct;
    if (answers.traffic) lawn.traffic = answers.traffic;
    if (answers.instant) lawn.instant = answers.instant;
    if (answers.slope_pct) zone.slope_pct = *answers.slope_pct;
    garden::Establishment& sown = zone.establishment;
    if (!answers.mix.empty()) sown.mix = shares_of(answers.mix);
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
    if (answers.water_price_per_m3)
        garden.renovation.water_price_per_m3 = answers.water_price_per_m3;
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

Result<std::vector<TriedPart>> parse_mix(std::string_view text) {
    constexpr double kLeastShare = 0.001; // less is no part of a mix
    constexpr double kMostParts = 1000;
    std::vector<TriedPart> mix;
    while (!text.empty()) {
        const std::string_view item = text.substr(0, text.find(','));
        text.remove_prefix(std::min(item.size() + 1, text.size()));
        const std::size_t colon = item.find(':');
        const auto species = turf::species_by_key(item.substr(0, colon));
        const auto parts = colon == std::string_view::npos ? std::optional(1.0)
                                                           : parse_number(item.substr(colon + 1));
        const bool known = species && parts && *parts >= kLeastShare && *parts <= kMostParts;
        if (!known || std::any_of(mix.begin(), mix.end(), [&](const TriedPart& other) {
                return other.species == *species;
            }))
            return Error{"has '" + std::string(item.substr(0, 64)) +
                         "', which is no part of it; each species once with its parts by weight, "
                         "such as tall_fescue:85,kentucky_bluegrass:15, would be right"};
        mix.push_back({*species, *parts});
    }
    if (mix.empty()) return Error{"names no species; tall_fescue would be right"};
    for (const TriedPart& part : mix)
        if (part.parts < kLeastShare * sum_of(mix))
            return Error{"has a part of less than a thousandth of the whole; leave it out"};
    return mix;
}

} // namespace firstmow::renovation
