// One step of the column: the implicit solution and its cutting into shorter steps.
#include "base/check.hpp"
#include "soil/column.hpp"
#include "soil/contact.hpp"
#include "soil/equations.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::soil {

namespace {

using Layers = std::array<double, kMaxLayers>;

// A layer may change by this much (volume fraction) in one solution; a step in which one changes
// more is made as much shorter, and the next one longer when there was room. From 0.021 on a sand
// that was just watered is seen to dry late: four good crossings of five instead of all.
constexpr double kLargestChange = 0.016;
constexpr double kShortestStepS = 1.0;

// Constants of one call of step().
struct Drive {
    double supply = 0;        // mm/s, dew included
    double evaporation = 0;   // demand, mm/s
    double transpiration = 0; // demand, mm/s
    double root_depth_mm = 0;
    double stress_depletion = 0.5;
    double vapour = 0;        // vapour density ratio at the surface temperature
    double air_potential = 0; // vapour potential of soil as dry as the air at the surface
};

// How water crosses the surface in one solution.
enum class Top {
    flux,   // all that is supplied goes in
    ponded, // the soil takes what it can, the rest stands on it
};

struct Solution {
    Layers change;             // of water content; those of the column's layers are set
    double intake_mm = 0;      // through the surface
    double evaporation_mm = 0; // out of the soil
    double drainage_mm = 0;
    double transpiration_mm = 0;
    double largest_change = 0;
};

// What roots take from each layer (mm/s). All of them together drink as the root zone as a whole
// allows (Ks of FAO-56 Eq. 84: all that is asked for until a part p of its water is used, then
// ever less to the wilting point); each layer gives by its share of the rooted depth, less where
// it is drier, so that roots in damp soil make up for those in dry soil.
double root_uptake(const Column& column, const ColumnState& state, const Drive& drive,
                   Layers& uptake) {
    const double free = 1 - drive.stress_depletion;
    double zone_left = 0; // of the available water of the rooted depth, 0..1
    double shares = 0;
    double top = 0;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const Hydraulics& soil = column.soil[k]->hydraulics();
        const double available = soil.field_capacity - soil.wilting_point;
        const double bottom = column.layers.bottom_mm[k];
        const double rooted =
            std::max(std::min(bottom, drive.root_depth_mm) - top, 0.0) / drive.root_depth_mm;
        const double left = std::clamp((state.theta[k] - soil.wilting_point) / available, 0.0, 1.0);
        zone_left += rooted * left;
        uptake[k] = rooted * std::min(left / free, 1.0);
        shares += uptake[k];
        top = bottom;
    }
    if (shares <= 0) return 0;
    const double sum = drive.transpiration * std::min(zone_left / free, 1.0);
    for (int i = 0; i < column.layers.count; ++i)
        uptake[static_cast<std::size_t>(i)] *= sum / shares;
    return sum;
}

// What crosses the surface in one solution, mm/s, with the slopes over the water of the first
// layer. Positive `in` is down, positive `out` is up.
struct Surface {
    double in = 0, d_in = 0;
    double out = 0, d_out = 0;
};

Surface surface_of(const Column& column, double pond_mm, const Drive& drive,
                   const SoilTable::Point& first, Top top, bool at_demand, double dt) {
    const double per_half = 2 / column.layers.thickness_mm[0];
    Surface s;
    s.in = drive.supply + pond_mm / dt; // on offer
    if (top == Top::ponded) {
        s.in = column.intake_factor *
               ((column.soil[0]->ponded_flux_potential() - first.flux_potential) * per_half +
                column.soil[0]->hydraulics().saturated_mm_per_h / 3600.0);
        s.d_in = -column.intake_factor * first.d_flux_potential * per_half;
    }
    // Evaporation: the demand, or what liquid and vapour can bring to a surface that is as dry as
    // the air, whichever is less.
    s.out = drive.evaporation;
    const double vapour = first.vapour_potential - drive.air_potential;
    const bool damper = vapour > 0;
    const double brings =
        (first.flux_potential + (damper ? drive.vapour * vapour : 0.0)) * per_half;
    if (brings < s.out && !at_demand) {
        s.out = brings;
        s.d_out =
            (first.d_flux_potential + (damper ? drive.vapour * first.d_vapour_potential : 0.0)) *
            per_half;
    }
    return s;
}

// Solves one implicit step of `dt` seconds into `s`; changes nothing else. `at_demand`: the surface
// is taken to be wet enough for the whole demand.
void solve_into(Solution& s, const Column& column, const ColumnState& state, double pond_mm,
                const Drive& drive, Top top, bool at_demand, double dt) {
    const int last = column.layers.count - 1;
    const double* const theta = state.theta.data();
    const double* const dz = column.layers.thickness_mm.data();
    const double* const per_gap = column.layers.per_gap.data();
    const SoilTable* const* const soil = column.soil.data();
    const double per_dt = 1 / dt;
    Equations eq;

    // Layer by layer into arrays, so that a processor can take two at once.
    double potential[kMaxLayers], d_potential[kMaxLayers];
    double conductivity[kMaxLayers], d_conductivity[kMaxLayers];
    for (int k = 0; k <= last; ++k) {
        const SoilTable::Point p = soil[k]->at(theta[k]);
        potential[k] = p.flux_potential + drive.vapour * p.vapour_potential;
        d_potential[k] = p.d_flux_potential + drive.vapour * p.d_vapour_potential;
        conductivity[k] = p.conductivity;
        d_conductivity[k] = p.d_conductivity;
    }
    double down[kMaxLayers];
    for (int k = 0; k < last; ++k) {
        down[k] = (potential[k] - potential[k + 1]) * per_gap[k] +
                  (conductivity[k] + conductivity[k + 1]) * 0.5;
        eq.above[k + 1] = -(d_potential[k] * per_gap[k] + d_conductivity[k] * 0.5);
        eq.below[k] = d_conductivity[k + 1] * 0.5 - d_potential[k + 1] * per_gap[k];
    }
    for (const int k : column.contacts) {
        const int l = k + 1;
        const Passing passing =
            across({*soil[k], potential[k], d_potential[k], conductivity[k], d_conductivity[k]},
                   {*soil[l], potential[l], d_potential[l], conductivity[l], d_conductivity[l]},
                   2 / dz[k], 2 / dz[l], drive.vapour);
        down[k] = passing.down;
        eq.above[k + 1] = -passing.d_upper;
        eq.below[k] = passing.d_lower;
    }
    // Out at the bottom: gravity alone.
    down[last] = conductivity[last];
    eq.above[last + 1] = -d_conductivity[last];
    const Surface surface =
        surface_of(column, pond_mm, drive, soil[0]->at(theta[0]), top, at_demand, dt);
    eq.own[0] = dz[0] * per_dt - eq.above[1] + (surface.d_out - surface.d_in);
    eq.gain[0] = surface.in - surface.out - down[0];
    for (int k = 1; k <= last; ++k) {
        eq.own[k] = dz[k] * per_dt - eq.above[k + 1] - eq.below[k - 1];
        eq.gain[k] = down[k - 1] - down[k];
    }

    s.transpiration_mm = 0;
    if (drive.transpiration > 0 && drive.root_depth_mm > 0) {
        Layers uptake;
        s.transpiration_mm = root_uptake(column, state, drive, uptake) * dt;
        for (int k = 0; k <= last; ++k)
            eq.gain[k] -= uptake[static_cast<std::size_t>(k)];
    }
    double* const change = s.change.data();
    eq.solve(last + 1, change);
    s.largest_change = 0;
    for (int k = 0; k <= last; ++k)
        s.largest_change = std::max(s.largest_change, std::abs(change[k]));

    s.intake_mm = (surface.in + surface.d_in * change[0]) * dt;
    s.evaporation_mm = (surface.out + surface.d_out * change[0]) * dt;
    s.drainage_mm = (conductivity[last] + d_conductivity[last] * change[last]) * dt;
}

// The same; a dry crust that is wetted on the way would, by the slope it had when dry, let more go
// than is asked for, so it is then solved with the demand.
void solve(Solution& s, const Column& column, const ColumnState& state, double pond_mm,
           const Drive& drive, Top top, double dt) {
    solve_into(s, column, state, pond_mm, drive, top, false, dt);
    if (s.evaporation_mm > drive.evaporation * dt + 1e-12)
        solve_into(s, column, state, pond_mm, drive, top, true, dt);
}

bool in_range(const Column& column, const ColumnState& state, const Solution& s) {
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const double theta = state.theta[k] + s.change[k];
        if (theta < column.soil[k]->driest() || theta > column.soil[k]->fullest()) return false;
    }
    return true;
}

// A stretch of time that is solved at once. Returns false when it must be cut. `change` becomes the
// largest of any layer.
bool try_step(const Column& column, ColumnState& state, const Drive& drive, double dt,
              double& change, Flows& flows) {
    const double offered = drive.supply * dt + state.pond_mm;
    Drive dry_part = drive;
    double from_pond = 0;
    if (state.pond_mm > 0) {
        // Standing water evaporates first, at the full demand.
        from_pond = std::min(drive.evaporation * dt, state.pond_mm);
        dry_part.evaporation = drive.evaporation - from_pond / dt;
    }
    const double pond = state.pond_mm - from_pond;
    Solution s;
    solve(s, column, state, pond, dry_part, Top::flux, dt);
    const double top_after = state.theta[0] + s.change[0];
    // A crust holds water back also where the soil below it is not full.
    if (offered > 0 &&
        (top_after > column.soil[0]->hydraulics().saturation || column.intake_factor < 1)) {
        Solution ponded;
        solve(ponded, column, state, pond, dry_part, Top::ponded, dt);
        if (ponded.intake_mm < s.intake_mm) s = ponded;
    }
    change = s.largest_change;
    if ((change > kLargestChange || !in_range(column, state, s)) && dt > kShortestStepS)
        return false;

    // The intake that the linear solution asked for can exceed what is there only by rounding.
    const double left = offered - from_pond - s.intake_mm;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        state.theta[k] += s.change[k];
    }
    state.pond_mm = left;
    double runoff = 0;
    if (state.pond_mm > column.pond_capacity_mm) {
        runoff = state.pond_mm - column.pond_capacity_mm;
        state.pond_mm = column.pond_capacity_mm;
    }
    flows.evaporation_mm += s.evaporation_mm + from_pond;
    flows.transpiration_mm += s.transpiration_mm;
    flows.drainage_mm += s.drainage_mm;
    flows.intake_mm += s.intake_mm;
    flows.runoff_mm += runoff;
    return true;
}

} // namespace

Flows step(const Column& column, ColumnState& state, const SurfaceForcing& forcing, double dt_s) {
    CHECK(dt_s >= 1 && dt_s <= 3600);
    CHECK(forcing.supply_mm_per_h >= 0 && forcing.evaporation_demand_mm_per_h >= 0);
    CHECK(forcing.dew_mm_per_h >= 0 && forcing.transpiration_demand_mm_per_h >= 0);
    CHECK(forcing.stress_depletion >= 0 && forcing.stress_depletion < 1);
    Drive drive;
    drive.supply = (forcing.supply_mm_per_h + forcing.dew_mm_per_h) / 3600.0;
    drive.evaporation = forcing.evaporation_demand_mm_per_h / 3600.0;
    drive.transpiration = forcing.transpiration_demand_mm_per_h / 3600.0;
    drive.root_depth_mm = forcing.root_depth_mm;
    drive.stress_depletion = forcing.stress_depletion;
    const double saturated = saturation_vapour_kpa(forcing.surface_temp_c);
    drive.vapour = vapour_density_ratio(saturated, forcing.surface_temp_c) *
                   relative_vapour_diffusivity(forcing.surface_temp_c);
    drive.air_potential = column.soil[0]->vapour_potential_at(
        std::clamp(forcing.air_vapour_kpa / saturated, 0.0, 1.0));

    Flows flows;
    flows.supply_mm = forcing.supply_mm_per_h / 3600.0 * dt_s;
    flows.dew_mm = forcing.dew_mm_per_h / 3600.0 * dt_s;
    double left = dt_s;
    double part = dt_s;
    while (left > 0) {
        part = std::min(part, left);
        double change = 0;
        if (try_step(column, state, drive, part, change, flows)) {
            left -= part;
            if (left < 1e-9) break;
            part *= std::clamp(0.8 * kLargestChange / change, 1.0, 6.0);
        } else {
            part *= std::clamp(0.9 * kLargestChange / change, 0.05, 0.7);
            part = std::max(part, kShortestStepS);
        }
    }
    return flows;
}

} // namespace firstmow::soil
