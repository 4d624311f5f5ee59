#include "compare/beds.hpp"

namespace firstmow::compare {

judge::SaxtonRawls judge_soil(const soil::Composition& composition) {
    const soil::Hydraulics h = soil::hydraulics(composition);
    return judge::SaxtonRawls({h.saturation, h.saturated_mm_per_h, h.air_entry_kpa, h.a_kpa, h.b});
}

const judge::Grid& usual_grid() {
    static const judge::Grid grid = judge::make_grid(300, 0.125, 4, 8, 1.08);
    return grid;
}

EngineBed::EngineBed(soil::TextureClass texture, double start_kpa, int refine)
    : column_(soil::make_column(texture, kSeedDepth_mm, 0)) {
    if (refine > 1) column_ = soil::refined(column_, refine);
    state_ = soil::uniform_state(column_, start_kpa);
}

soil::Flows EngineBed::step(const soil::SurfaceForcing& forcing) {
    return soil::step(column_, state_, forcing, kStep_s);
}

namespace {

judge::Settings settings_of(soil::TextureClass texture, bool thermal) {
    judge::Settings settings;
    settings.thermal = thermal;
    settings.pond_capacity_mm = soil::make_column(texture, kSeedDepth_mm, 0).pond_capacity_mm;
    return settings;
}

} // namespace

JudgeBed::JudgeBed(soil::TextureClass texture, double start_kpa, bool thermal)
    : medium_(std::make_shared<const judge::SaxtonRawls>(judge_soil(texture))),
      profile_(*medium_, usual_grid(), settings_of(texture, thermal)) {
    profile_.fill(start_kpa * judge::kMmPerKpa);
}

soil::Flows JudgeBed::step(const soil::SurfaceForcing& forcing) {
    judge::Surface surface;
    surface.supply_mm_s = (forcing.supply_mm_per_h + forcing.dew_mm_per_h) / 3600;
    surface.demand_mm_s = forcing.evaporation_demand_mm_per_h / 3600;
    surface.temp_c = forcing.surface_temp_c;
    surface.air_vapour_kpa = forcing.air_vapour_kpa;
    const judge::Sums sums = profile_.advance(surface, kStep_s);
    soil::Flows flows;
    flows.supply_mm = sums.supply;
    flows.evaporation_mm = sums.evaporation;
    flows.runoff_mm = sums.runoff;
    flows.drainage_mm = sums.drainage;
    flows.intake_mm = sums.intake;
    return flows;
}

} // namespace firstmow::compare
