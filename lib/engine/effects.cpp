// What a changed garden file does to the season, in words: the other side of adopt().
#include "engine/parts.hpp"

#include <algorithm>

namespace firstmow::engine {

namespace {

bool same_species(const garden::Zone& a, const garden::Zone& b) {
    const auto& x = a.establishment.mix;
    const auto& y = b.establishment.mix;
    return x.size() == y.size() && std::all_of(x.begin(), x.end(), [&](const garden::MixPart& p) {
               return std::any_of(y.begin(), y.end(),
                                  [&](const garden::MixPart& q) { return q.species == p.species; });
           });
}

void zone_effects(const garden::Zone& was, const ZoneRuntime& runtime, const garden::Zone& is,
                  std::vector<std::string>& all) {
    if (was.establishment.method != is.establishment.method ||
        was.establishment.start != is.establishment.start) {
        all.push_back(is.name + " begins anew, its water too: it is sown or laid otherwise.");
        return;
    }
    if (!same_species(was, is))
        all.push_back("The grass of " + is.name +
                      " begins anew from its first day: another mix was sown. Its water stays.");
    if (!(was.ground() == is.ground()) ||
        was.establishment.seed_depth_mm != is.establishment.seed_depth_mm)
        all.push_back("The water in " + is.name +
                      " is taken over: as hard as it was held, it is held in the other soil.");
    const bool other_rate = was.precipitation_rate_mm_per_h != is.precipitation_rate_mm_per_h ||
                            was.rate_source != is.rate_source ||
                            was.distribution_uniformity != is.distribution_uniformity;
    if (other_rate && !(runtime.estimate == watering::prior(was.rate_source)))
        all.push_back("What was learned of the sprinklers of " + is.name +
                      " is forgotten; the file's new figures count from here.");
}

} // namespace

std::vector<std::string> effects(const Setup& before, const State& state, const Setup& after) {
    std::vector<std::string> all;
    for (std::size_t i = 0; i < before.garden.zones.size(); ++i) {
        const garden::Zone& was = before.garden.zones[i];
        const auto is = std::find_if(after.garden.zones.begin(), after.garden.zones.end(),
                                     [&](const garden::Zone& zone) { return zone.id == was.id; });
        if (state.zones[i].open)
            all.push_back("The water that runs on " + was.name +
                          " is stopped for the change, and planned anew.");
        if (is != after.garden.zones.end()) zone_effects(was, state.zones[i], *is, all);
    }
    return all;
}

} // namespace firstmow::engine
