#include "renovation/feasibility.hpp"

#include "base/check.hpp"
#include "watering/open_hours.hpp"
#include "watering/outlook.hpp"
#include "weather/reference_et.hpp"
#include "weather/sun.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace firstmow::renovation {

namespace {

using watering::HourDemand;
using watering::Outlook;
using watering::Span;

constexpr double kPi = std::numbers::pi;
constexpr double kSolarConstant = 0.0820;
constexpr double kUsualDesignHeatC = 34;
constexpr double kDayRangeC = 14; // a clear dry day (default)
constexpr Seconds kTick{300};
constexpr int kDays = 8; // the first is for settling
constexpr double kToleratedMinutes = 30;
// The waterman does not wait until it is dry: this part of the threshold calls him.
constexpr double kCalledAt = 0.5;
constexpr Seconds kEndOfDay{45 * 60}; // in the last such stretch every bed is filled up
constexpr double kWorthARunMm = 1;
constexpr double kBeyondMm = 1.5; // given on top of what lacks, so that a run lasts

// The design day, over and over, from local midnight of the day before `day` on.
struct Heat {
    WallTime from;
    std::vector<HourDemand> hours;
    double eto_mm_per_day = 0;
    double eto_peak_mm_per_h = 0;
};

weather::Hour design_hour(const weather::Place& place, WallTime start, double peak_c) {
    const weather::HourSun sun = weather::hour_sun(place, start, kSolarConstant);
    const double solar_hour = 12 + sun.hour_angle_rad * 12 / kPi;
    weather::Hour hour;
    hour.start = start;
    hour.air_temp_c =
        peak_c - kDayRangeC / 2 + kDayRangeC / 2 * std::cos(2 * kPi * (solar_hour - 15) / 24);
    // Dew point 3 K below the night's lowest: dry country (FAO-56 p. 58).
    const double vapour = weather::vapour_from_night_minimum_kpa(peak_c - kDayRangeC - 3);
    hour.rel_humidity_pct =
        std::min(100.0, 100 * vapour / weather::saturation_vapour_kpa(hour.air_temp_c));
    hour.wind_2m_m_s = 2;
    hour.solar_w_m2 = weather::clear_sky_mj(sun.extraterrestrial_mj, place.elevation_m) / 0.0036;
    return hour;
}

Heat design_heat(const weather::Place& place, const TimeZone& local, Date day, double peak_c) {
    Heat heat;
    heat.from = std::chrono::floor<std::chrono::hours>(local.to_wall(day, 0));
    weather::CloudMemory clouds;
    for (int i = 0; i <= 24 * kDays; ++i) {
        const WallTime start = heat.from + std::chrono::hours{i};
        heat.hours.push_back(
            watering::hour_demand(place, design_hour(place, start, peak_c), clouds));
        if (i < 24 || i >= 48) continue;
        heat.eto_mm_per_day += std::max(0.0, heat.hours.back().et_short_mm_per_h);
        heat.eto_peak_mm_per_h =
            std::max(heat.eto_peak_mm_per_h, heat.hours.back().et_short_mm_per_h);
    }
    return heat;
}

struct Bed {
    const garden::Zone* zone = nullptr;
    watering::ZoneSpec spec;
    watering::ZoneState state;
    watering::DryTest test;
    Outlook outlook;
    double wet_depth_mm = 0;
    Seconds left{0}; // of the run
    ZoneStrain strain;
};

// At its most thirsty: sown or laid a week before, the ground below soaked.
Bed make_bed(const garden::Zone& zone, WallTime from) {
    Bed bed;
    bed.zone = &zone;
    garden::Zone soaked = zone;
    soaked.soil_below_kpa = std::max(zone.soil_below_kpa, -33.0);
    bed.spec = watering::zone_spec(soaked);
    const WallTime sown = from - std::chrono::hours{24 * 7};
    bed.state = watering::initial_state(soaked, bed.spec, 22, sown);
    const turf::Needs needs = turf::needs(bed.state.progress, from);
    bed.test = watering::dry_test(bed.spec, bed.state.progress, needs);
    bed.outlook = watering::look(bed.spec, bed.state, bed.test, from);
    bed.wet_depth_mm = needs.wet_depth_mm;
    bed.strain.zone = zone.id;
    return bed;
}

Seconds run_length(const Bed& bed, const HourDemand& hour) {
    const double lacking =
        kBeyondMm + watering::deficit_mm(bed.spec, bed.outlook.column, bed.wet_depth_mm);
    const double rate = watering::ground_rate_mm_per_h(bed.spec, hour) * bed.outlook.share;
    watering::ZoneState now = bed.state;
    now.mean = bed.outlook.column;
    const int most = watering::longest_intake_s(bed.spec, now, hour, bed.zone->longest_run_s);
    const int wanted = static_cast<int>(lacking / rate * 3600);
    const int run = std::clamp(wanted, std::min(bed.zone->shortest_run_s, most), most);
    // In whole ticks, rounded up: a tick is the shortest that is reckoned with.
    return (Seconds{run} + kTick - Seconds{1}) / kTick * kTick;
}

const Span* span_at(const std::vector<Span>& spans, WallTime t) {
    for (const Span& span : spans)
        if (t >= span.from && t + kTick <= span.to) return &span;
    return nullptr;
}

bool ends_the_day(const std::vector<Span>& spans, const Span& span, WallTime t) {
    if (span.to - t > kEndOfDay) return false;
    for (const Span& later : spans)
        if (later.from >= span.to) return later.from - span.to > std::chrono::hours{4};
    return true;
}

void open_what_is_due(std::vector<Bed>& beds, const garden::Supply& supply,
                      const std::vector<Span>& spans, WallTime t, const HourDemand& hour) {
    const Span* const span = span_at(spans, t);
    if (span == nullptr) {
        for (Bed& bed : beds)
            bed.left = Seconds{0};
        return;
    }
    double flow = 0;
    for (const Bed& bed : beds)
        if (bed.left > Seconds{0}) flow += bed.zone->flow_l_per_min();
    std::vector<std::pair<double, Bed*>> waiting; // how near to dry
    for (Bed& bed : beds) {
        if (bed.left > Seconds{0}) continue;
        const double near = watering::judged_kpa(bed.outlook, bed.test) / bed.test.threshold_kpa;
        const bool fill_up =
            ends_the_day(spans, *span, t) &&
            watering::deficit_mm(bed.spec, bed.outlook.column, bed.wet_depth_mm) > kWorthARunMm;
        if (near >= kCalledAt || fill_up) waiting.emplace_back(near, &bed);
    }
    std::stable_sort(waiting.begin(), waiting.end(),
                     [](const auto& a, const auto& b) { return a.first > b.first; });
    for (const auto& [near, bed] : waiting) {
        const double more = bed->zone->flow_l_per_min();
        if (flow + more > supply.flow_l_per_min * (1 + 1e-9)) continue;
        flow += more;
        bed->left = run_length(*bed, hour);
        bed->strain.runs_per_day += 1;
    }
}

Trial run_trial(const garden::Garden& garden, const TimeZone& local, const Heat& heat,
                const std::string& only = {}) {
    std::vector<Bed> beds;
    for (const garden::Zone& zone : garden.zones)
        if (zone.establishment.method != turf::Method::none && (only.empty() || zone.id == only))
            beds.push_back(make_bed(zone, heat.from));
    // The outlook points into its bed, which has moved.
    for (Bed& bed : beds) {
        bed.outlook.spec = &bed.spec;
        bed.outlook.cover.exposure = &bed.spec.exposure;
    }
    const WallTime until = heat.from + std::chrono::hours{24 * kDays};
    const std::vector<Span> spans = watering::open_spans(garden.supply, local, garden.site.place,
                                                         std::chrono::hours{2}, heat.from, until);
    const WallTime counted_from = heat.from + std::chrono::hours{24};
    for (WallTime t = heat.from; t < until; t += kTick) {
        if (t == counted_from)
            for (Bed& bed : beds)
                bed.strain = ZoneStrain{.zone = bed.zone->id};
        const auto hour = static_cast<std::size_t>((t - heat.from) / std::chrono::hours{1});
        open_what_is_due(beds, garden.supply, spans, t, heat.hours[hour]);
        for (Bed& bed : beds) {
            const bool open = bed.left > Seconds{0};
            watering::pass(bed.outlook, heat.hours, t + kTick, open);
            if (open) {
                bed.left -= kTick;
                bed.strain.minutes_per_day += 5;
            }
            bed.strain.driest_kpa =
                std::min(bed.strain.driest_kpa, watering::judged_kpa(bed.outlook, bed.test));
            if (watering::is_dry(bed.outlook, bed.test)) bed.strain.dry_minutes_per_day += 5;
        }
    }
    Trial trial;
    constexpr double kCounted = kDays - 1;
    for (Bed& bed : beds) {
        ZoneStrain strain = bed.strain;
        strain.runs_per_day /= kCounted;
        strain.minutes_per_day /= kCounted;
        strain.dry_minutes_per_day /= kCounted;
        strain.gross_mm_per_day =
            strain.minutes_per_day / 60 * bed.zone->precipitation_rate_mm_per_h;
        strain.litres_per_day = strain.gross_mm_per_day * bed.zone->area_m2;
        trial.zones.push_back(strain);
    }
    return trial;
}

void try_remedies(const garden::Garden& garden, const TimeZone& local, const Heat& heat,
                  Feasibility& found) {
    garden::Garden straw = garden;
    bool bare = false;
    for (garden::Zone& zone : straw.zones) {
        garden::Establishment& sown = zone.establishment;
        if (sown.cover != turf::Cover::none || sown.method != turf::Method::seed) continue;
        sown.cover = turf::Cover::straw;
        bare = true;
    }
    if (bare) found.remedies.push_back({"straw over the seed", run_trial(straw, local, heat)});
    garden::Garden longer = garden;
    longer.supply.hours = {{5 * 3600, 21 * 3600}};
    longer.supply.days.fill(true);
    found.remedies.push_back(
        {"hours from 05:00 to two hours before sunset, every day", run_trial(longer, local, heat)});
    if (found.as_is.zones.size() > 1) {
        Trial alone;
        for (const ZoneStrain& zone : found.as_is.zones)
            alone.zones.push_back(run_trial(garden, local, heat, zone.zone).zones.front());
        found.remedies.push_back({"one zone sown at a time, the others weeks later", alone});
    }
    for (garden::Zone& zone : longer.zones)
        if (zone.establishment.method == turf::Method::seed &&
            zone.establishment.cover == turf::Cover::none)
            zone.establishment.cover = turf::Cover::straw;
    if (bare)
        found.remedies.push_back(
            {"straw and the longer hours together", run_trial(longer, local, heat)});
}

} // namespace

double Trial::worst_dry_minutes() const {
    double worst = 0;
    for (const ZoneStrain& zone : zones)
        worst = std::max(worst, zone.dry_minutes_per_day);
    return worst;
}

bool Trial::holds() const {
    return worst_dry_minutes() <= kToleratedMinutes;
}

std::optional<Feasibility> feasibility(const garden::Garden& garden, const TimeZone& local,
                                       const Climate& climate) {
    std::optional<Date> first;
    for (const garden::Zone& zone : garden.zones) {
        const auto& start = zone.establishment.start;
        if (zone.establishment.method != turf::Method::none && start && (!first || *start < *first))
            first = start;
    }
    if (!first) return std::nullopt;
    Feasibility found;
    found.day = *first;
    // Without a wish: the usual summer heat that taps are measured by, or, where a record speaks,
    // seven degrees above the usual afternoon (about one day in twenty; default).
    found.design_heat_c = garden.renovation.design_heat_c.value_or(
        climate.from_record ? climate.max_on(*first) + 7 : kUsualDesignHeatC);
    const Heat heat =
        design_heat(garden.site.place, local, add_days(*first, -1), found.design_heat_c);
    found.eto_mm_per_day = heat.eto_mm_per_day;
    found.eto_peak_mm_per_h = heat.eto_peak_mm_per_h;
    found.as_is = run_trial(garden, local, heat);
    double litres = 0;
    for (const ZoneStrain& zone : found.as_is.zones)
        litres += zone.litres_per_day;
    const WallTime until = heat.from + std::chrono::hours{24 * kDays};
    for (const Span& span :
         watering::open_spans(garden.supply, local, garden.site.place, std::chrono::hours{2},
                              heat.from + std::chrono::hours{24}, until))
        found.open_minutes_per_day +=
            static_cast<double>((span.to - span.from).count()) / 60 / (kDays - 1);
    found.tap_use = found.open_minutes_per_day > 0
                        ? litres / (garden.supply.flow_l_per_min * found.open_minutes_per_day)
                        : 0;
    if (!found.as_is.holds()) try_remedies(garden, local, heat, found);
    return found;
}

} // namespace firstmow::renovation
