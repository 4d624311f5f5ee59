// One step of the column: the implicit solution and its cutting into shorter steps.
#include "base/check.hpp"
#include "soil/column.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::soil {

namespace {

using Layers = std::array<double, kMaxLayers>;

// A layer may change by this much (volume fraction) in one solution; more is cut in halves.
constexpr double kLargestChange = 0.02;
constexpr double kShortestStepS = 1.0;

// Constants of one call of step().
struct Drive {
    double supply = 0;        // mm/s, dew included
    double evaporation = 0;   // demand, mm/s
    double transpiration = 0; // demand, mm/s
    double root_depth_mm = 0;
    double vapour = 0;       // vapour density ratio at the surface temperature
    double air_humidity = 0; // of the air, at the temperature of the surface, 0..1
};

// How water crosses the surface in one solution.
enum class Top {
    flux,   // all that is supplied goes in
    ponded, // the soil takes what it can, the rest stands on it
};

struct Solution {
    Layers change;             // of water content
    double intake_mm = 0;      // through the surface
    double evaporation_mm = 0; // out of the soil
    double drainage_mm = 0;
    double transpiration_mm = 0;
    double largest_change = 0;
};

// What roots take from each layer (mm/s): by their share of the rooted depth, less where the
// soil is dry: full down to half of the available water, none at the wilting point (the shape of
// FAO-56 Eq. 84 with p = 0.5).
double root_uptake(const Column& column, const ColumnState& state, const Drive& drive,
                   Layers& uptake) {
    double sum = 0;
    const Hydraulics& soil = column.soil->hydraulics();
    const double available = soil.field_capacity - soil.wilting_point;
    double top = 0;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const double bottom = column.layers.bottom_mm[k];
        const double rooted =
            std::max(std::min(bottom, drive.root_depth_mm) - top, 0.0) / drive.root_depth_mm;
        const double left = (state.theta[k] - soil.wilting_point) / available;
        uptake[k] = drive.transpiration * rooted * std::clamp(left / 0.5, 0.0, 1.0);
        sum += uptake[k];
        top = bottom;
    }
    return sum;
}

// What crosses the surface in one solution, mm/s, with the slopes over the water of the first
// layer. Positive `in` is down, positive `out` is up.
struct Surface {
    double in = 0, d_in = 0;
    double out = 0, d_out = 0;
};

Surface surface_of(const Column& column, const ColumnState& state, const Drive& drive,
                   const SoilTable::Point& first, Top top, bool at_demand, double dt) {
    const double half = column.layers.thickness_mm[0] / 2;
    Surface s;
    s.in = drive.supply + state.pond_mm / dt; // on offer
    if (top == Top::ponded) {
        s.in = (column.soil->saturated_flux_potential() - first.flux_potential) / half +
               column.soil->hydraulics().saturated_mm_per_h / 3600.0;
        s.d_in = -first.d_flux_potential / half;
    }
    // Evaporation: the demand, or what liquid and vapour can bring to a surface that is as dry as
    // the air, whichever is less.
    s.out = drive.evaporation;
    const double vapour = first.vapour_diffusivity * drive.vapour / half;
    const bool damper = first.humidity > drive.air_humidity;
    const double brings = first.flux_potential / half +
                          (damper ? vapour * (first.humidity - drive.air_humidity) : 0.0);
    if (brings < s.out && !at_demand) {
        s.out = brings;
        s.d_out = first.d_flux_potential / half + (damper ? vapour * first.d_humidity : 0.0);
    }
    return s;
}

// Solves one implicit step of `dt` seconds; changes nothing. `at_demand`: the surface is taken to
// be wet enough for the whole demand.
Solution solve(const Column& column, const ColumnState& state, const Drive& drive, Top top,
               bool at_demand, double dt) {
    const int n = column.layers.count;
    const Layers& dz = column.layers.thickness_mm;
    // Only the first n of each are set and used: clearing the rest would cost more than solving.
    std::array<SoilTable::Point, kMaxLayers> p;
    // Equations a[i] x[i-1] + b[i] x[i] + c[i] x[i+1] = d[i] for the changes x of water content.
    Layers a;
    Layers b;
    Layers c;
    Layers d;
    for (int i = 0; i < n; ++i) {
        const auto k = static_cast<std::size_t>(i);
        p[k] = column.soil->at(state.theta[k]);
        a[k] = 0;
        b[k] = dz[k] / dt;
        c[k] = 0;
        d[k] = 0;
    }
    const Surface surface = surface_of(column, state, drive, p[0], top, at_demand, dt);
    d[0] += surface.in - surface.out;
    b[0] += surface.d_out - surface.d_in;

    // Between the layers.
    for (int i = 0; i + 1 < n; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const auto l = k + 1;
        const double between = (dz[k] + dz[l]) / 2;
        const double vapour =
            (p[k].vapour_diffusivity + p[l].vapour_diffusivity) / 2 * drive.vapour / between;
        const double down = (p[k].flux_potential - p[l].flux_potential) / between +
                            (p[k].conductivity + p[l].conductivity) / 2 +
                            vapour * (p[k].humidity - p[l].humidity);
        const double d_upper =
            p[k].d_flux_potential / between + p[k].d_conductivity / 2 + vapour * p[k].d_humidity;
        const double d_lower =
            -p[l].d_flux_potential / between + p[l].d_conductivity / 2 - vapour * p[l].d_humidity;
        d[k] -= down;
        b[k] += d_upper;
        c[k] += d_lower;
        d[l] += down;
        a[l] -= d_upper;
        b[l] -= d_lower;
    }

    // Out at the bottom: gravity alone.
    const auto last = static_cast<std::size_t>(n - 1);
    d[last] -= p[last].conductivity;
    b[last] += p[last].d_conductivity;

    Solution s;
    if (drive.transpiration > 0 && drive.root_depth_mm > 0) {
        Layers uptake;
        s.transpiration_mm = root_uptake(column, state, drive, uptake) * dt;
        for (int i = 0; i < n; ++i)
            d[static_cast<std::size_t>(i)] -= uptake[static_cast<std::size_t>(i)];
    }

    // Thomas's elimination.
    for (std::size_t i = 1; i <= last; ++i) {
        const double f = a[i] / b[i - 1];
        b[i] -= f * c[i - 1];
        d[i] -= f * d[i - 1];
    }
    s.change[last] = d[last] / b[last];
    for (std::size_t i = last; i-- > 0;)
        s.change[i] = (d[i] - c[i] * s.change[i + 1]) / b[i];
    for (std::size_t i = 0; i <= last; ++i)
        s.largest_change = std::max(s.largest_change, std::abs(s.change[i]));

    s.intake_mm = (surface.in + surface.d_in * s.change[0]) * dt;
    s.evaporation_mm = (surface.out + surface.d_out * s.change[0]) * dt;
    s.drainage_mm = (p[last].conductivity + p[last].d_conductivity * s.change[last]) * dt;
    return s;
}

// The same; a dry crust that is wetted on the way would, by the slope it had when dry, let more go
// than is asked for, so it is then solved with the demand.
Solution solve(const Column& column, const ColumnState& state, const Drive& drive, Top top,
               double dt) {
    const Solution s = solve(column, state, drive, top, false, dt);
    if (s.evaporation_mm <= drive.evaporation * dt + 1e-12) return s;
    return solve(column, state, drive, top, true, dt);
}

bool in_range(const Column& column, const ColumnState& state, const Solution& s) {
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const double theta = state.theta[k] + s.change[k];
        if (theta < column.soil->driest() || theta > column.soil->fullest()) return false;
    }
    return true;
}

// A stretch of time that is solved at once. Returns false when it must be cut.
bool try_step(const Column& column, ColumnState& state, const Drive& drive, double dt, bool must,
              Flows& flows) {
    const double offered = drive.supply * dt + state.pond_mm;
    Drive dry_part = drive;
    double from_pond = 0;
    if (state.pond_mm > 0) {
        // Standing water evaporates first, at the full demand.
        from_pond = std::min(drive.evaporation * dt, state.pond_mm);
        dry_part.evaporation = drive.evaporation - from_pond / dt;
    }
    ColumnState without = state;
    without.pond_mm -= from_pond;
    Solution s = solve(column, without, dry_part, Top::flux, dt);
    const double top_after = without.theta[0] + s.change[0];
    if (offered > 0 && top_after > column.soil->hydraulics().saturation) {
        const Solution ponded = solve(column, without, dry_part, Top::ponded, dt);
        if (ponded.intake_mm < s.intake_mm) s = ponded;
    }
    if ((s.largest_change > kLargestChange || !in_range(column, without, s)) && !must) return false;

    // The intake that the linear solution asked for can exceed what is there only by rounding.
    const double left = offered - from_pond - s.intake_mm;
    state = without;
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
    Drive drive;
    drive.supply = (forcing.supply_mm_per_h + forcing.dew_mm_per_h) / 3600.0;
    drive.evaporation = forcing.evaporation_demand_mm_per_h / 3600.0;
    drive.transpiration = forcing.transpiration_demand_mm_per_h / 3600.0;
    drive.root_depth_mm = forcing.root_depth_mm;
    drive.vapour = vapour_density_ratio(forcing.surface_temp_c) *
                   relative_vapour_diffusivity(forcing.surface_temp_c);
    drive.air_humidity = std::clamp(
        forcing.air_vapour_kpa / saturation_vapour_kpa(forcing.surface_temp_c), 0.0, 1.0);

    Flows flows;
    flows.supply_mm = forcing.supply_mm_per_h / 3600.0 * dt_s;
    flows.dew_mm = forcing.dew_mm_per_h / 3600.0 * dt_s;
    double left = dt_s;
    double part = dt_s;
    while (left > 0) {
        part = std::min(part, left);
        const bool must = part <= kShortestStepS;
        if (try_step(column, state, drive, part, must, flows)) {
            left -= part;
            if (left < 1e-9) break;
            part *= 2;
        } else {
            part = std::max(part / 2, kShortestStepS);
        }
    }
    return flows;
}

} // namespace firstmow::soil
