#include "compare/schedule.hpp"

#include <algorithm>

namespace firstmow::compare {
namespace {

constexpr double kDeep_mm = 50;
constexpr double kStep_h = kStep_s / 3600;
constexpr int kLongestTimer_min = 60;

struct Dryness {
    double counted_h = 0, dry_h = 0, dry_500_h = 0, longest_500_h = 0;
};

Dryness dryness(const JudgedBed& bed, const BedDays& days, const Sprinkling& sprinkling,
                const judge::Grid& grid) {
    const judge::SaxtonRawls medium = judge_soil(bed.soil);
    judge::Profile low = judged_profile(medium, bed, grid);
    Dryness d;
    BedSurface surface(days);
    double spell_h = 0;
    for (std::size_t i = 0; i < days.steps.size(); ++i) {
        const double rate = surface.ground_mm_per_h(i, bed.rate_mm_per_h);
        low.advance(
            judged_surface(surface.next(i, sprinkling[i]), sprinkling[i] * rate * bed.low_quarter),
            kStep_s);
        const double kpa = low.mean_kpa(bed.seed_depth_mm);
        if (days.counts[i]) {
            d.counted_h += kStep_h;
            d.dry_h += kpa < bed.threshold_kpa ? kStep_h : 0;
            d.dry_500_h += kpa < -500 ? kStep_h : 0;
        }
        spell_h = kpa < -500 && d.counted_h > 0 ? spell_h + kStep_h : 0;
        d.longest_500_h = std::max(d.longest_500_h, spell_h);
    }
    return d;
}

Sprinkling timer(const BedDays& days, const std::vector<std::size_t>& starts, int minutes) {
    Sprinkling sprinkling(days.steps.size(), 0);
    for (const std::size_t start : starts)
        for (std::size_t i = start; i < sprinkling.size(); ++i) {
            const double left = minutes * 60 - static_cast<double>(i - start) * kStep_s;
            if (left <= 0) break;
            sprinkling[i] = std::min(left / kStep_s, 1.0);
        }
    return sprinkling;
}

} // namespace

BedSurface::BedSurface(const BedDays& days) : days_(&days) {
    if (days.own) state_ = days.own->start;
}

soil::SurfaceForcing BedSurface::next(std::size_t step, double share) {
    if (!state_) return days_->steps[step];
    const ZoneWeather& own = *days_->own;
    const watering::HourDemand& hour = own.hours[step];
    const auto forcing =
        watering::surface_forcing(hour, watering::cover_of(own.spec, state_->progress),
                                  hour.rain_mm_per_h, state_->heat.skin_c);
    const Seconds dt{static_cast<int>(kStep_s)};
    watering::advance(own.spec, *state_, hour,
                      watering::ground_rate_mm_per_h(own.spec, hour) * share, dt,
                      own.from + dt * static_cast<int>(step + 1));
    return forcing;
}

double BedSurface::ground_mm_per_h(std::size_t step, double rate_mm_per_h) const {
    if (!days_->own) return rate_mm_per_h;
    const watering::ZoneSpec& spec = days_->own->spec;
    return rate_mm_per_h * watering::ground_rate_mm_per_h(spec, days_->own->hours[step]) /
           spec.rate_mm_per_h;
}

const judge::Grid& quick_grid() {
    static const judge::Grid grid = judge::make_grid(300, 0.125, 1, 40, 1.2);
    return grid;
}

judge::Profile judged_profile(const judge::Medium& medium, const JudgedBed& bed,
                              const judge::Grid& grid) {
    judge::Settings settings;
    settings.pond_capacity_mm = bed.pond_capacity_mm;
    settings.largest_change = 0.04;
    judge::Profile profile(medium, grid, settings);
    profile.fill(bed.start_kpa * judge::kMmPerKpa, bed.start_temp_c);
    return profile;
}

judge::Surface judged_surface(const soil::SurfaceForcing& f, double sprinkling_mm_per_h) {
    judge::Surface surface;
    surface.supply_mm_s = (f.supply_mm_per_h + sprinkling_mm_per_h + f.dew_mm_per_h) / 3600;
    // Seedlings drink little before all are up; they drink from the same bed.
    surface.demand_mm_s = (f.evaporation_demand_mm_per_h + f.transpiration_demand_mm_per_h) / 3600;
    surface.temp_c = f.surface_temp_c;
    surface.air_vapour_kpa = f.air_vapour_kpa;
    return surface;
}

Outcome judge_schedule(const JudgedBed& bed, const BedDays& days, const Sprinkling& sprinkling,
                       const judge::Grid& grid) {
    const Dryness d = dryness(bed, days, sprinkling, grid);
    Outcome out{d.counted_h, d.dry_h, d.dry_500_h, d.longest_500_h};
    const judge::SaxtonRawls medium = judge_soil(bed.soil);
    judge::Profile mean = judged_profile(medium, bed, grid);
    const double below_before = mean.storage_mm() - mean.mean_theta(kDeep_mm) * kDeep_mm;
    double drained = 0;
    BedSurface surface(days);
    for (std::size_t i = 0; i < days.steps.size(); ++i) {
        const double rate = surface.ground_mm_per_h(i, bed.rate_mm_per_h);
        const auto sums = mean.advance(
            judged_surface(surface.next(i, sprinkling[i]), sprinkling[i] * rate), kStep_s);
        out.water_mm += sprinkling[i] * bed.rate_mm_per_h * kStep_h;
        out.starts += sprinkling[i] > 0 && (i == 0 || sprinkling[i - 1] <= 0);
        out.evaporation_mm += sums.evaporation;
        out.runoff_mm += sums.runoff;
        drained += sums.drainage;
    }
    const double below = mean.storage_mm() - mean.pond_mm() - mean.mean_theta(kDeep_mm) * kDeep_mm;
    out.deeper_mm = below - below_before + drained;
    return out;
}

FixedTimer best_fixed_timer(const JudgedBed& bed, const BedDays& days,
                            const std::vector<std::size_t>& starts, double dry_share) {
    // The longer, the damper: the shortest that is damp enough, found by halving.
    const auto dry = [&](int minutes) {
        const Dryness d = dryness(bed, days, timer(days, starts, minutes), quick_grid());
        return d.counted_h > 0 ? d.dry_h / d.counted_h : 0;
    };
    // Where none is damp enough: what the longest reaches, and a little.
    const double goal = std::max(dry_share, dry(kLongestTimer_min) + 1e-3);
    int low = 0, high = kLongestTimer_min;
    while (high - low > 1) {
        const int middle = (low + high) / 2;
        (dry(middle) <= goal ? high : low) = middle;
    }
    return {high, timer(days, starts, high)};
}

} // namespace firstmow::compare
