// The engine's zone beside what was measured: nothing is tuned, the soil is a class of its texture.
#include "bench.hpp"

#include "compare/observed.hpp"
#include "compare/trial.hpp"
#include "season_files.hpp"
#include "watering/zone_model.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace firstmow::bench {
namespace {

using compare::Observed;
using compare::Quantity;

constexpr int kSpinUpDays = 14; // the soil's state at the beginning is not known

// What the engine has for an hour.
struct ModelHour {
    WallTime start;
    soil::ColumnState water; // at the middle of the hour
    soil::HeatState heat;
    double et_mm = 0, dew_mm = 0, drained_mm = 0, runoff_mm = 0, reference_mm = 0, rain_mm = 0;
};

struct Run {
    soil::Column column;
    std::vector<ModelHour> hours;
};

Run run(const MeasuredSeason& season, soil::TextureClass texture, bool grass) {
    garden::Zone zone;
    zone.soil = texture;
    zone.precipitation_rate_mm_per_h = 12;
    zone.distribution_uniformity = 1;
    // Bare: sown long after the season has ended.
    zone.establishment.method = grass ? turf::Method::none : turf::Method::seed;
    zone.establishment.mix = {{turf::Species::tall_fescue, 1.0}};
    const watering::ZoneSpec spec = watering::zone_spec(zone);
    auto state = watering::initial_state(zone, spec, season.hours.front().air_temp_c,
                                         season.hours.back().start + Seconds{86400 * 365});
    weather::CloudMemory clouds;
    Run out{spec.column, {}};
    for (const weather::Hour& hour : season.hours) {
        const auto demand = watering::hour_demand(season.place, hour, clouds);
        ModelHour model;
        model.start = hour.start;
        model.reference_mm = demand.et_short_mm_per_h;
        model.rain_mm = hour.rain_mm;
        for (WallTime t = hour.start; t < hour.start + Seconds{3600}; t += watering::kGrid) {
            const auto step =
                watering::advance(spec, state, demand, 0, watering::kGrid, t + watering::kGrid);
            model.et_mm += step.mean.evaporation_mm + step.mean.transpiration_mm;
            model.dew_mm += step.mean.dew_mm;
            model.drained_mm += step.mean.drainage_mm;
            model.runoff_mm += step.mean.runoff_mm;
            if (t + watering::kGrid == hour.start + Seconds{1800}) {
                model.water = state.mean;
                model.heat = state.heat;
            }
        }
        out.hours.push_back(model);
    }
    return out;
}

// Between the middles of the layers.
template <typename Values>
double at_depth(const soil::Column& column, const Values& values, double depth_mm) {
    double before_mm = 0, before = values[0];
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const double middle = column.layers.bottom_mm[k] - column.layers.thickness_mm[k] / 2;
        if (middle >= depth_mm)
            return i == 0 ? values[0]
                          : before + (values[k] - before) * (depth_mm - before_mm) /
                                         (middle - before_mm);
        before_mm = middle;
        before = values[k];
    }
    return before;
}

double value_of(const Run& run, const ModelHour& hour, const Observed& observed) {
    switch (observed.quantity) {
    case Quantity::moisture:
        return at_depth(run.column, hour.water.theta, observed.depth_mm);
    case Quantity::soil_temp:
        return at_depth(run.column, hour.heat.layer_c, observed.depth_mm);
    case Quantity::evapotranspiration:
        return hour.et_mm;
    case Quantity::reference_et:
        return hour.reference_mm;
    case Quantity::drained:
        return hour.drained_mm;
    }
    return 0;
}

bool is_sum(Quantity quantity) {
    return quantity != Quantity::moisture && quantity != Quantity::soil_temp;
}

struct Pair {
    WallTime at;
    double observed, modelled;
};

std::vector<Pair> pairs_of(const Run& run, const Observed& observed) {
    std::vector<Pair> pairs;
    const WallTime first = run.hours.front().start;
    const auto hours = static_cast<std::size_t>(observed.span.count() / 3600);
    for (const auto& [at, value] : observed.values) {
        if (at < first + Seconds{86400 * kSpinUpDays}) continue;
        const auto begin = static_cast<std::size_t>((at - first).count() / 3600);
        if (begin + hours > run.hours.size()) break;
        double sum = 0;
        for (std::size_t i = begin; i < begin + hours; ++i)
            sum += value_of(run, run.hours[i], observed);
        if (!is_sum(observed.quantity)) sum /= static_cast<double>(hours);
        pairs.push_back({at, value, sum});
    }
    return pairs;
}

compare::Agreement of(const std::vector<Pair>& pairs) {
    std::vector<std::pair<double, double>> values;
    for (const Pair& pair : pairs)
        values.emplace_back(pair.observed, pair.modelled);
    return compare::agreement(values);
}

// From one day to the next: what is left of the agreement when the season's course is taken away.
double correlation_of_changes(const std::vector<Pair>& pairs, Seconds span) {
    const auto day = static_cast<std::size_t>(86400 / span.count());
    std::vector<std::pair<double, double>> changes;
    for (std::size_t i = day; i < pairs.size(); i += day)
        if (pairs[i].at - pairs[i - day].at == Seconds{86400})
            changes.emplace_back(pairs[i].observed - pairs[i - day].observed,
                                 pairs[i].modelled - pairs[i - day].modelled);
    return compare::agreement(changes).correlation;
}

// How far the day swings, modelled over observed: of hourly values less the mean of their day.
std::optional<double> swing(const std::vector<Pair>& pairs) {
    double observed = 0, modelled = 0;
    for (std::size_t i = 0; i + 24 <= pairs.size(); i += 24) {
        double o = 0, m = 0;
        for (std::size_t k = i; k < i + 24; ++k) {
            o += pairs[k].observed / 24;
            m += pairs[k].modelled / 24;
        }
        for (std::size_t k = i; k < i + 24; ++k) {
            observed += (pairs[k].observed - o) * (pairs[k].observed - o);
            modelled += (pairs[k].modelled - m) * (pairs[k].modelled - m);
        }
    }
    return observed > 0 ? std::optional(std::sqrt(modelled / observed)) : std::nullopt;
}

void print_agreement(const char* soil, const char* cover, const Observed& observed,
                     const std::vector<Pair>& pairs) {
    const compare::Agreement a = of(pairs);
    if (a.count == 0) return;
    if (is_sum(observed.quantity)) {
        double seen = 0, modelled = 0;
        for (const Pair& pair : pairs) {
            seen += pair.observed;
            modelled += pair.modelled;
        }
        std::printf("  %-11s %-6s %-30s %5zu  r %5.2f  sums %6.1f observed %6.1f engine  rmse "
                    "%6.3f\n",
                    soil, cover, observed.column.c_str(), a.count, a.correlation, seen, modelled,
                    a.rmse);
        return;
    }
    std::printf("  %-11s %-6s %-30s %5zu  r %5.2f  of changes %5.2f  bias %+7.3f  rmse %6.3f  "
                "unbiased %6.3f",
                soil, cover, observed.column.c_str(), a.count, a.correlation,
                correlation_of_changes(pairs, observed.span), a.bias, a.rmse, a.unbiased_rmse);
    if (observed.quantity == Quantity::soil_temp && observed.span == Seconds{3600})
        if (const auto ratio = swing(pairs)) std::printf("  swing x %4.2f", *ratio);
    std::printf("\n");
}

void print_weeks(const Run& run, const Observed& observed, const std::vector<Pair>& pairs) {
    std::printf("    by week, %s: rain mm / observed / engine\n   ", observed.column.c_str());
    const WallTime first = run.hours.front().start;
    for (WallTime week = first + Seconds{86400 * kSpinUpDays}; week < run.hours.back().start;
         week += Seconds{86400 * 7}) {
        double rain = 0, seen = 0, modelled = 0;
        int count = 0;
        for (const ModelHour& hour : run.hours)
            if (hour.start >= week && hour.start < week + Seconds{86400 * 7}) rain += hour.rain_mm;
        for (const Pair& pair : pairs)
            if (pair.at >= week && pair.at < week + Seconds{86400 * 7}) {
                seen += pair.observed;
                modelled += pair.modelled;
                ++count;
            }
        if (count > 0) std::printf(" %.0f/%.2f/%.2f", rain, seen / count, modelled / count);
    }
    std::printf("\n");
}

// Of the whole season, the first days too.
void print_account(const Run& run) {
    double et = 0, dew = 0, drained = 0, runoff = 0, reference = 0, rain = 0;
    for (const ModelHour& hour : run.hours) {
        et += hour.et_mm;
        dew += hour.dew_mm;
        drained += hour.drained_mm;
        runoff += hour.runoff_mm;
        reference += hour.reference_mm;
        rain += hour.rain_mm;
    }
    std::printf("    account, mm: rain %.0f, dew %.1f, evapotranspiration %.0f (reference %.0f), "
                "drained %.0f, run off %.1f\n",
                rain, dew, et, reference, drained, runoff);
}

// The first of the moisture columns nearest to the surface.
const Observed* shallowest(const std::vector<Observed>& all) {
    const Observed* best = nullptr;
    for (const Observed& o : all)
        if (o.quantity == Quantity::moisture && (!best || o.depth_mm < best->depth_mm)) best = &o;
    return best;
}

void season_beside(const MeasuredSeason& season, const std::vector<Observed>& observed) {
    const Observed* top = shallowest(observed);
    std::printf("%s (soil %s, cover %s)\n", season.name.c_str(),
                season.soil.value_or("not said: a class of each kind").c_str(),
                season.cover.value_or("not said").c_str());
    std::vector<soil::TextureClass> soils(compare::kSoils.begin(), compare::kSoils.end());
    if (const auto known = soil::texture_by_key(season.soil.value_or(""))) soils = {*known};
    for (const bool grass : {true, false}) {
        if (season.cover && *season.cover != (grass ? "grass" : "bare")) continue;
        for (const soil::TextureClass soil : soils) {
            const Run model = run(season, soil, grass);
            const char* cover = grass ? "grass" : "bare";
            const bool middle = soils.size() == 1 || soil == soil::TextureClass::loam;
            for (const Observed& o : observed) {
                const auto pairs = pairs_of(model, o);
                if (o.quantity == Quantity::reference_et) {
                    // A thing of the weather alone: once.
                    if (grass && soil == soils.front()) print_agreement("-", "-", o, pairs);
                    continue;
                }
                const bool in_column =
                    o.depth_mm <=
                    model.column.layers
                        .bottom_mm[static_cast<std::size_t>(model.column.layers.count - 1)];
                // Of every soil what is nearest to the surface; of one in the middle all.
                const bool near_top = &o == top;
                if (in_column && (near_top || middle || o.quantity == Quantity::evapotranspiration))
                    print_agreement(soil::key(soil).data(), cover, o, pairs);
            }
            if (middle && !observed.empty()) print_account(model);
            if (top && middle) print_weeks(model, *top, pairs_of(model, *top));
        }
    }
    std::printf("\n");
}

} // namespace

bool moisture(const Options& options) {
    if (!options.folder) {
        std::printf(
            "Beside measurements: give --folder DIR with seasons that have NAME_obs.csv\n\n");
        return true;
    }
    const auto seasons = read_seasons(*options.folder);
    if (!seasons) return false;
    std::printf("The engine's zone beside what was measured, untuned; the first %d days are left "
                "out.\nMoisture m3/m3, temperature deg C, sums mm. `of changes`: correlation of "
                "the changes from day to day.\n\n",
                kSpinUpDays);
    for (const MeasuredSeason& season : *seasons) {
        if (!season.observed_file) continue;
        const auto text = read_whole(*season.observed_file);
        const auto observed = compare::read_observed(text.value_or(""), season.local);
        if (observed.empty()) {
            std::fprintf(stderr,
                         "bench: %s: no column that is known, or no time or date_local "
                         "before it\n",
                         season.observed_file->c_str());
            return false;
        }
        season_beside(season, observed);
    }
    return true;
}

} // namespace firstmow::bench
