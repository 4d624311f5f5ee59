// What people and instruments see, each as a prediction of the model and its slopes (learning.hpp).
#include "base/check.hpp"
#include "base/text.hpp"
#include "engine/learning.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::engine {

namespace {

using watering::Estimate;
using watering::Prediction;
using watering::Unknown;

// "Dry on top": drier than about -300 kPa (pF 3.5) in the top 2.5 mm, where the soil turns pale
// and no longer clings to a finger; give or take a factor of two (engineering defaults).
constexpr double kSurfaceMm = 2.5;
constexpr double kDryPf = 3.5;
constexpr double kDryPfSd = 0.3;
constexpr double kCmPerKpa = 10.2;

// Standing water: what came in these hours against what the soil could have taken in that time;
// puddles are a matter of spots, which take in half or twice the mean (engineering default).
constexpr Seconds kPuddleHours{3 * 3600};
constexpr double kPuddleSd = 0.5;
constexpr double kLeastWaterMm = 0.2;
// More than any soil takes for long, so that the surface stays under water.
constexpr double kFloodMmPerH = 400;

// Cans: measuring, pressure and the wind of the day beside the scatter between the cans.
constexpr double kCanSd = 0.05;
// The relative error of a lower-quarter mean of n values is this times their spread over the root
// of n (the asymptotic variance of a trimmed mean, for a normal distribution).
constexpr double kQuarterScatter = 1.43;
constexpr std::size_t kCansForUniformity = 4;

// A probe's noise from day to day; that its spot is not the zone, and its maker's error, are in
// Unknown::probe_offset. It feels so far up and down (engineering defaults).
constexpr double kProbeSd = 0.015;
constexpr double kProbeReachMm = 15;
constexpr Seconds kProbeEvery{3600};

double pf_of(double kpa) {
    return std::log10(std::max(-kpa, 1.0) * kCmPerKpa);
}

// Of the mean of the zone, around a depth; volume fraction.
double water_at(const soil::Column& column, const soil::ColumnState& state, double depth_mm) {
    const double from = std::max(depth_mm - kProbeReachMm, 0.0);
    const double to = depth_mm + kProbeReachMm;
    double water = 0;
    double thickness = 0;
    double top = 0;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const double bottom = column.layers.bottom_mm[k];
        const double within = std::min(bottom, to) - std::max(top, from);
        if (within > 0) {
            water += state.theta[k] * within;
            thickness += within;
        }
        top = bottom;
    }
    CHECK(thickness > 0);
    return water / thickness;
}

// The soil of the layer that holds this depth.
const soil::Hydraulics& soil_at(const soil::Column& column, double depth_mm) {
    std::size_t k = 0;
    while (k + 1 < static_cast<std::size_t>(column.layers.count) &&
           column.layers.bottom_mm[k] < depth_mm)
        ++k;
    return column.soil[k]->hydraulics();
}

// What fell and was sprinkled in the last hours where it is most, and what the soil there could
// have taken in while it came.
struct Intake {
    double offered_mm = 0;
    double sprinkled_mm = 0; // of it
    double possible_mm = 0;
};
Intake intake_of(Learning& learning, const watering::ZoneSpec& spec) {
    const WallTime to = learning.now();
    WallTime from = std::max(to - kPuddleHours, learning.zone().past.at);
    from = std::chrono::floor<std::chrono::minutes>(from);
    const watering::ZoneState before = learning.state_at(spec, from);
    const watering::SurfaceCover cover = watering::cover_of(spec, before.progress);
    soil::ColumnState flooded = before.mean;
    soil::Column column = spec.column;
    column.pond_capacity_mm = std::min(column.pond_capacity_mm, 1.0);
    const auto& hours = learning.hours();
    Intake intake;
    for (WallTime at = from; at < to;) {
        const auto index = static_cast<std::size_t>((at - hours.front().start).count() / 3600);
        const watering::HourDemand& hour = hours[std::min(index, hours.size() - 1)];
        const WallTime end = std::min({at + watering::kGrid, to, hour.start + kHour});
        const double share = open_share(learning.zone().applied, at, end);
        const double high = 2.0 - spec.low_quarter; // as far above the mean as the driest below
        const double sprinkled = watering::ground_rate_mm_per_h(spec, hour) * share * high;
        const double offered = sprinkled + hour.rain_mm_per_h;
        const auto dt_s = static_cast<double>((end - at).count());
        const soil::SurfaceForcing forcing = watering::surface_forcing(
            hour, cover, offered > 0 ? kFloodMmPerH : 0.0, before.heat.skin_c);
        const soil::Flows flows = soil::step(column, flooded, forcing, dt_s);
        if (offered > 0) intake.possible_mm += flows.intake_mm;
        intake.offered_mm += offered * dt_s / 3600;
        intake.sprinkled_mm += sprinkled * dt_s / 3600;
        at = end;
    }
    return intake;
}

} // namespace

void learn_dry(Work& work, std::size_t zone) {
    Learning learning(work, zone, Cause::surface_dry);
    if (!learning.knows()) return;
    const Estimate& before = learning.zone().estimate;
    Prediction p = learning.predict([](const soil::Column& column, const watering::ZoneState& s) {
        return pf_of(soil::mean_kpa(column, s.low, kSurfaceMm));
    });
    const double kpa = -std::pow(10.0, p.value) / kCmPerKpa;
    p.value -= before.mean[watering::at(Unknown::eye_offset)];
    p.slope[watering::at(Unknown::eye_offset)] = -1;
    learning.believe(watering::with_report_above(before, p, kDryPf, kDryPfSd, learning.weight()),
                     learning.name() + " was reported dry on top where the model had " +
                         fixed(kpa, 0) + " kPa");
}

void learn_puddles(Work& work, std::size_t zone) {
    Learning learning(work, zone, Cause::puddling);
    if (!learning.knows()) return;
    const Estimate& before = learning.zone().estimate;
    const watering::ZoneSpec spec = learning.spec_of(before);
    const Intake intake = intake_of(learning, spec);
    // Water that nobody gave and no rain brought (a hose, a neighbour) says nothing of the soil.
    if (intake.offered_mm < kLeastWaterMm || intake.possible_mm <= 0) return;
    Prediction p;
    p.value = std::log(intake.offered_mm / intake.possible_mm);
    const double sprinkled = intake.sprinkled_mm / intake.offered_mm;
    p.slope[watering::at(Unknown::intake)] = -1;
    p.slope[watering::at(Unknown::rate)] = sprinkled;
    p.slope[watering::at(Unknown::uniformity)] =
        -sprinkled * spec.low_quarter / (2.0 - spec.low_quarter);
    learning.believe(watering::with_report_above(before, p, 0, kPuddleSd, learning.weight()),
                     "Water was reported standing on " + learning.name() +
                         " after wetter spots got " + fixed(intake.offered_mm, 1) + " mm of " +
                         fixed(intake.possible_mm, 1) + " mm that the soil should take");
}

void learn_cans(Work& work, std::size_t zone, const CatchCanTest& test) {
    const Result<garden::CanTest> cans = garden::evaluate(test.cans);
    const garden::Zone& garden_zone = work.setup.garden.zones[zone];
    if (!cans) { // whoever sends it has checked it
        work.notify(garden_zone.id, Severity::warning, "observation",
                    "A catch-can test of " + garden_zone.name +
                        " is not used: " + cans.error().message + ".");
        return;
    }
    Learning learning(work, zone, Cause::catch_cans);
    const watering::ZoneSpec& spec = work.setup.specs[zone];
    // What the cans caught has lost what the air took at this hour; the rate of the garden file has
    // lost spec.loss_in_rate.
    double loss = spec.loss_in_rate;
    if (!learning.hours().empty()) {
        const watering::HourDemand& hour = learning.hours().back();
        loss = watering::air_loss(spec.nozzle, hour.wind_2m_m_s, hour.vapour_deficit_kpa);
    }
    const double rate = cans->rate_mm_per_h / (1 - loss) * (1 - spec.loss_in_rate);
    const auto n = static_cast<double>(cans->cans);
    // Few cans may agree by chance: their spread is at least what the uniformity lets expect, which
    // of a normal distribution is 1 - 1.27 times the spread (Hart 1961).
    const double spread =
        std::max(cans->spread, cans->cans < 8 ? (1 - spec.low_quarter) / 1.27 : 0);
    Estimate after = learning.zone().estimate;
    Prediction p;
    p.value = after.mean[watering::at(Unknown::rate)];
    p.slope[watering::at(Unknown::rate)] = 1;
    after =
        watering::with_reading(after, p, std::log(rate / spec.rate_mm_per_h),
                               std::sqrt(kCanSd * kCanSd + spread * spread / n), learning.weight());
    if (cans->cans >= kCansForUniformity) {
        const double uniformity = std::clamp(cans->uniformity, 0.1, 1.0);
        Prediction du;
        du.value = after.mean[watering::at(Unknown::uniformity)];
        du.slope[watering::at(Unknown::uniformity)] = 1;
        const double scatter = kQuarterScatter * spread / std::sqrt(n) / uniformity;
        after = watering::with_reading(after, du, std::log(uniformity / spec.low_quarter),
                                       std::sqrt(kCanSd * kCanSd + scatter * scatter),
                                       learning.weight());
    }
    learning.believe(after, "Catch cans on " + learning.name() + " gave " +
                                fixed(cans->rate_mm_per_h, 1) + " mm/h and a uniformity of " +
                                fixed(cans->uniformity, 2));
}

void learn_probe(Work& work, std::size_t zone, const SoilProbe& probe) {
    const garden::Zone& garden_zone = work.setup.garden.zones[zone];
    const bool sound =
        probe.depth_mm >= 5 && probe.depth_mm <= 300 &&
        probe.water_fraction.has_value() != probe.kpa.has_value() &&
        (!probe.water_fraction || (*probe.water_fraction >= 0 && *probe.water_fraction <= 0.7)) &&
        (!probe.kpa || (*probe.kpa <= 0 && *probe.kpa >= -1e5));
    if (!sound) { // whoever sends it has checked it
        work.notify(garden_zone.id, Severity::warning, "observation",
                    "A probe's reading of " + garden_zone.name +
                        " is not used: it is out of range.");
        return;
    }
    const auto& last = work.state.zones[zone].heard[static_cast<std::size_t>(Cause::soil_probe)];
    if (last && work.now.wall - *last < kProbeEvery) return;
    Learning learning(work, zone, Cause::soil_probe);
    if (!learning.knows()) return;
    const Estimate& before = learning.zone().estimate;
    const soil::Column& column = work.setup.specs[zone].column;
    const double seen = probe.kpa ? soil_at(column, probe.depth_mm).water_content(*probe.kpa)
                                  : *probe.water_fraction;
    Prediction p = learning.predict([&](const soil::Column& c, const watering::ZoneState& s) {
        return water_at(c, s.mean, probe.depth_mm);
    });
    const double model = p.value;
    p.value += before.mean[watering::at(Unknown::probe_offset)];
    p.slope[watering::at(Unknown::probe_offset)] = 1;
    const std::string read = probe.kpa ? fixed(*probe.kpa, 0) + " kPa"
                                       : fixed(*probe.water_fraction * 100, 0) + " % of water";
    learning.believe(watering::with_reading(before, p, seen, kProbeSd, learning.weight()),
                     "A probe in " + learning.name() + " read " + read + " at " +
                         fixed(probe.depth_mm, 0) + " mm where the model had " +
                         fixed(model * 100, 0) + " %");
}

void take_back(Work& work, std::size_t zone, bool all) {
    ZoneRuntime& z = work.state.zones[zone];
    const garden::Zone& garden_zone = work.setup.garden.zones[zone];
    const Estimate untaught = watering::prior(garden_zone.rate_source);
    if (all ? z.estimate == untaught && z.corrections.empty() : z.corrections.empty()) {
        work.notify(garden_zone.id, Severity::note, "observation",
                    "There is no correction of " + garden_zone.name + " to take back.");
        return;
    }
    Correction c;
    c.time = work.now.wall;
    c.zone = garden_zone.id;
    c.cause = all ? Cause::set_back : Cause::undone;
    c.before = watering::factors(z.estimate);
    if (all) {
        z.estimate = untaught;
        z.heard = {};
        z.corrections.clear();
    } else {
        const Undoable last = z.corrections.back();
        z.corrections.pop_back();
        z.estimate = last.before;
        z.heard = last.heard_before;
    }
    c.after = watering::factors(z.estimate);
    c.why = (all ? "All corrections of " : "The last correction of ") + garden_zone.name +
            (all ? " were taken back: " : " was taken back: ") + changes(c.before, c.after) + ".";
    settle_again(work, zone);
    work.notify(garden_zone.id, Severity::note, "correction", c.why);
    work.record(std::move(c));
    work.replan = true;
}

} // namespace firstmow::engine
