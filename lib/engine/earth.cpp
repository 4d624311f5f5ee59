#include "engine/earth.hpp"

#include "engine/parts.hpp"

#include <algorithm>

namespace firstmow::engine {

namespace {

constexpr Seconds kBehind{24 * 3600};

std::vector<double> potentials(const soil::Column& column, const soil::ColumnState& state) {
    std::vector<double> kpa;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const soil::Hydraulics& soil = column.soil[k]->hydraulics();
        kpa.push_back(soil.potential_kpa(std::min(state.theta[k], soil.saturation)));
    }
    return kpa;
}

bool judges_driest(const watering::ZoneSpec& spec, const ZoneRuntime& zone, WallTime now) {
    const turf::Progress& progress = zone.settled.progress;
    return watering::dry_test(spec, progress, turf::needs(progress, now)).driest_quarter;
}

} // namespace

ZoneEarth earth_behind(const Setup& setup, const State& state, std::size_t zone, WallTime now) {
    const ZoneRuntime& z = state.zones[zone];
    const watering::ZoneSpec spec = own_spec(setup, state, zone);
    ZoneEarth earth;
    earth.zone = setup.garden.zones[zone].id;
    for (int i = 0; i < spec.column.layers.count; ++i)
        earth.bottom_mm.push_back(spec.column.layers.bottom_mm[static_cast<std::size_t>(i)]);
    if (!state.begun) return earth;
    const auto hours = hours_since(setup, state, z.past, now);
    if (!hours || hours->empty() || z.past.at >= now) return earth;
    const bool driest = judges_driest(spec, z, now);
    watering::ZoneState soil = z.past.zone;
    soil::Flows unread;
    for (WallTime at = z.past.at;;) {
        if (at >= now - kBehind)
            earth.points.push_back({at, potentials(spec.column, driest ? soil.low : soil.mean)});
        const WallTime end = at + kEarthEvery;
        if (end > now) return earth;
        run_again(spec, soil, *hours, z.applied, at, end, unread, nullptr);
        at = end;
    }
}

void add_earth(ZoneEarth& earth, const Setup& setup, const State& state, std::size_t zone,
               WallTime now) {
    const watering::ZoneSpec spec = own_spec(setup, state, zone);
    const bool driest = judges_driest(spec, state.zones[zone], now);
    const auto hours = hours_ahead(setup, state, now, Seconds{1});
    const watering::ZoneState soil = zone_now(setup, state, zone, hours, now);
    earth.points.push_back({now, potentials(spec.column, driest ? soil.low : soil.mean)});
}

} // namespace firstmow::engine
