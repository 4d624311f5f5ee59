#include "watering/outlook.hpp"

#include "base/check.hpp"

#include <algorithm>

namespace firstmow::watering {

namespace {

constexpr double kSodThicknessMm = 20;
// A film of this part of what the surface holds does not move seed (engineering default).
constexpr double kStillFilm = 0.6;

const HourDemand* hour_at(Hours hours, WallTime t) {
    if (hours.empty() || t < hours.front().start) return nullptr;
    const auto index = static_cast<std::size_t>((t - hours.front().start).count() / 3600);
    return index < hours.size() ? &hours[index] : nullptr;
}

// The hour with its ET as high as caution has it.
HourDemand taken(const Outlook& o, const HourDemand& hour) {
    HourDemand h = hour;
    const double factor = 1 + o.caution * hour.et_doubt;
    if (h.et_short_mm_per_h > 0) h.et_short_mm_per_h *= factor;
    h.direct_et_mm_per_h *= factor;
    return h;
}

void step(Outlook& o, const HourDemand& said, double applied_mm_per_h, Seconds dt) {
    const auto dt_s = static_cast<double>(dt.count());
    const HourDemand hour = taken(o, said);
    const double supply = counted_rain_mm_per_h(hour, o.rain_from) + applied_mm_per_h * o.share;
    const double depth_mm = o.roots_deep_mm;
    const double before_mm = o.book ? kept_mm(o.spec->column, o.column, o.held, depth_mm) : 0;
    const BedFlows flows =
        step_bed(o.spec->column, o.column, o.held, hour, o.cover, supply, o.heat.skin_c, dt_s);
    o.cooling = flows.cooling;
    if (o.book) {
        const double after_mm = kept_mm(o.spec->column, o.column, o.held, depth_mm);
        enter(*o.book, said, o.at, flows.all, o.roots_hold_mm);
        lend(*o.book, rise_mm(o.spec->column, o.column, depth_mm, flows.all, before_mm, after_mm),
             o.most_lent_mm);
    }
    soil::heat_step(o.spec->column, o.column, o.heat, skin_forcing(hour, o.cover, o.cooling), dt_s);
    o.at += dt;
}

// The next step boundary: the grid, the hour, `until`, whichever comes first.
Seconds next_step(const Outlook& o, const HourDemand& hour, WallTime until, Seconds most) {
    const WallTime hour_end = hour.start + Seconds{3600};
    return std::min({most, hour_end - o.at, until - o.at});
}

} // namespace

DryTest dry_test(const ZoneSpec& spec, const turf::Progress& progress, const turf::Needs& needs) {
    DryTest test;
    test.threshold_kpa = needs.threshold_kpa;
    test.driest_quarter = progress.phase != turf::Phase::mature;
    if (needs.judge_root_zone) {
        test.layer = DryTest::Layer::root_zone;
        test.allowed_depletion = needs.allowed_depletion;
        test.depth_mm = roots_mm(spec, progress);
    } else {
        const auto seed_layer = static_cast<std::size_t>(spec.column.layers.seed_layers - 1);
        const double seed_bottom_mm = spec.column.layers.bottom_mm[seed_layer];
        test.depth_mm = progress.method == turf::Method::sod ? kSodThicknessMm : seed_bottom_mm;
    }
    return test;
}

Outlook look(const ZoneSpec& spec, const ZoneState& state, const DryTest& test, WallTime now) {
    Outlook o;
    o.spec = &spec;
    o.column = test.driest_quarter ? state.low : state.mean;
    o.held = test.driest_quarter ? state.low_held : state.mean_held;
    o.share = test.driest_quarter ? spec.low_quarter : 1.0;
    o.heat = state.heat;
    o.cooling = state.cooling;
    o.cover = cover_of(spec, state.progress);
    if (!test.driest_quarter && state.progress.phase == turf::Phase::mature) {
        const double depth_mm = roots_mm(spec, state.progress);
        o.book = state.book ? *state.book : begin_book(spec.column, state.mean, depth_mm);
        o.roots_deep_mm = depth_mm;
        o.roots_hold_mm = soil::available_mm(spec.column, depth_mm);
        o.most_lent_mm = most_lent_mm(o.roots_hold_mm);
    }
    o.rain_from = test.rain_from;
    o.caution = test.caution;
    o.at = now;
    return o;
}

double judged_kpa(const Outlook& o, const DryTest& test) {
    return soil::mean_kpa(o.spec->column, o.column, test.depth_mm);
}

double used_share(const Outlook& o, const DryTest& test) {
    const double column = soil::depletion_fraction(o.spec->column, o.column, test.depth_mm);
    return o.book ? std::max(column, o.book->used_mm / o.roots_hold_mm) : column;
}

std::optional<BookShare> book_share(const Outlook& o, const DryTest& test) {
    const double column = soil::depletion_fraction(o.spec->column, o.column, test.depth_mm);
    if (!o.book || o.book->used_mm <= column * o.roots_hold_mm) return std::nullopt;
    return BookShare{o.book->used_mm, o.roots_hold_mm};
}

bool is_dry(const Outlook& o, const DryTest& test) {
    if (judged_kpa(o, test) < test.threshold_kpa) return true;
    return test.layer == DryTest::Layer::root_zone && used_share(o, test) >= test.allowed_depletion;
}

void pass(Outlook& o, Hours hours, WallTime until, bool valve_open, Seconds coarse) {
    while (o.at < until) {
        const HourDemand* hour = hour_at(hours, o.at);
        if (hour == nullptr) return;
        const Seconds dt = next_step(o, *hour, until, valve_open ? kGrid : coarse);
        step(o, *hour, valve_open ? ground_rate_mm_per_h(*o.spec, *hour) : 0.0, dt);
    }
}

std::optional<WallTime> first_dry(Outlook& o, Hours hours, WallTime until, const DryTest& test) {
    if (is_dry(o, test)) return o.at;
    while (o.at < until) {
        const HourDemand* hour = hour_at(hours, o.at);
        if (hour == nullptr) return std::nullopt;
        const Outlook damp = o;
        step(o, *hour, 0.0, next_step(o, *hour, until, kCoarseStep));
        if (!is_dry(o, test)) continue;
        // Somewhere within that step: once more in small ones. A quarter of an hour too early is
        // much water where a crust dries slowly and every run makes it lose at the full rate again.
        const Outlook dry = o;
        WallTime before = damp.at;
        for (o = damp; o.at < dry.at;) {
            before = o.at;
            step(o, *hour, 0.0, next_step(o, *hour, dry.at, kGrid));
            if (is_dry(o, test)) return before; // the cautious answer is the beginning of the step
        }
        o = dry;
        return before;
    }
    return std::nullopt;
}

double counted_rain_mm_per_h(const HourDemand& hour, double from_probability) {
    if (hour.rain_probability < from_probability) return 0;
    return hour.rain_mm_per_h * hour.rain_probability * hour.rain_share;
}

namespace {

// `least`: what a layer may count with, as water content; below 0 it makes up for others.
double lacks_mm(const ZoneSpec& spec, const soil::ColumnState& column, double depth_mm,
                double least) {
    double sum = -column.pond_mm;
    double top = 0;
    for (int i = 0; i < spec.column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const double within = std::min(spec.column.layers.bottom_mm[k], depth_mm) - top;
        if (within <= 0) break;
        const double full = spec.column.soil[k]->hydraulics().field_capacity;
        sum += std::max(full - column.theta[k], least) * within;
        top = spec.column.layers.bottom_mm[k];
    }
    return std::max(sum, 0.0);
}

double with_leaves_mm(const Outlook& o, double soil_mm) {
    if (soil_mm <= 0) return 0;
    return soil_mm + std::max(most_held(o.cover).sum_mm() - o.held.sum_mm(), 0.0);
}

} // namespace

double deficit_mm(const ZoneSpec& spec, const soil::ColumnState& column, double depth_mm) {
    return lacks_mm(spec, column, depth_mm, -1);
}

double deficit_mm(const Outlook& o, double depth_mm) {
    return with_leaves_mm(o, deficit_mm(*o.spec, o.column, depth_mm));
}

double roots_deficit_mm(const Outlook& o, double depth_mm) {
    return with_leaves_mm(o, lacks_mm(*o.spec, o.column, depth_mm, 0));
}

int longest_intake_s(const ZoneSpec& spec, const ZoneState& state, const HourDemand& hour,
                     int longest_s) {
    CHECK(longest_s > 0);
    constexpr int kLookS = 60;
    soil::ColumnState mean = state.mean;
    soil::SurfaceForcing forcing;
    forcing.supply_mm_per_h = hour.rain_mm_per_h + ground_rate_mm_per_h(spec, hour);
    forcing.surface_temp_c = hour.air_temp_c;
    forcing.air_vapour_kpa = hour.vapour_kpa;
    for (int s = 0; s < longest_s; s += kLookS) {
        soil::step(spec.column, mean, forcing, kLookS);
        if (mean.pond_mm > kStillFilm * spec.column.pond_capacity_mm) return std::max(s, kLookS);
    }
    return longest_s;
}

} // namespace firstmow::watering
