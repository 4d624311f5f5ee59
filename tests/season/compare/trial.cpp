#include "compare/trial.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::compare {
namespace {

constexpr double kRefillRate_mm_per_h = 12;
constexpr double kRefillTo_kpa = -50;

// The seed zone after a run of `amount_mm` and a quarter of an hour without weather.
template <typename Bed>
double kpa_after(const Bed& start, double amount_mm) {
    Bed bed = start;
    soil::SurfaceForcing calm;
    calm.surface_temp_c = 25;
    for (double left = amount_mm; left > 1e-9;) {
        soil::SurfaceForcing wet = calm;
        wet.supply_mm_per_h = std::min(kRefillRate_mm_per_h, left * 3600 / kStep_s);
        left -= wet.supply_mm_per_h * kStep_s / 3600;
        bed.step(wet);
    }
    for (int i = 0; i < 3; ++i)
        bed.step(calm);
    return bed.seed_kpa();
}

template <typename Bed>
double refill_mm(const Bed& bed) {
    double low = 0, high = 25;
    while (high - low > 0.01) {
        const double middle = (low + high) / 2;
        (kpa_after(bed, middle) < kRefillTo_kpa ? low : high) = middle;
    }
    return (low + high) / 2;
}

// Follows one column's potential from wetting to wetting.
class Watch {
public:
    struct Found {
        double hours = 0;
        bool got_there = false;
        double surplus_mm = 0; // of the engine's seed zone over the judge's then
        double drying_mm_per_h = 0;
    };
    // At the end of a step.
    void look(double kpa, double seed_mm, double surplus_mm, double hour, bool wetting) {
        if (!wetting)
            for (std::size_t i = 0; i < kThresholds_kpa.size(); ++i) {
                if (found_[i].got_there || kpa >= kThresholds_kpa[i]) continue;
                // Between the steps by the logarithm of the suction.
                const double from = std::log(std::max(-last_kpa_, 1e-3)), to = std::log(-kpa);
                const double part =
                    to > from ? (std::log(-kThresholds_kpa[i]) - from) / (to - from) : 1;
                found_[i] = {hour - (1 - std::clamp(part, 0.0, 1.0)) * kStep_s / 3600 - start_h_,
                             true, surplus_mm, (last_mm_ - seed_mm) * 3600 / kStep_s};
            }
        last_kpa_ = kpa;
        last_mm_ = seed_mm;
    }
    void begin(double hour) {
        start_h_ = hour;
        found_ = {};
    }
    Found at(std::size_t threshold, double now_h) const {
        return found_[threshold].got_there ? found_[threshold] : Found{now_h - start_h_};
    }

private:
    std::array<Found, kThresholds_kpa.size()> found_{};
    double last_kpa_ = -1e-3;
    double last_mm_ = 0;
    double start_h_ = 0;
};

void close_spell(Trial& trial, const Watch& judge, const Watch& engine, double now_h) {
    for (std::size_t i = 0; i < kThresholds_kpa.size(); ++i) {
        const auto j = judge.at(i, now_h), e = engine.at(i, now_h);
        if (!j.got_there && !e.got_there) continue;
        const auto& first = e.got_there && (!j.got_there || e.hours < j.hours) ? e : j;
        trial.crossings.push_back({kThresholds_kpa[i], static_cast<int>(now_h / 24), j.hours,
                                   e.hours, j.got_there, e.got_there, first.surplus_mm,
                                   first.drying_mm_per_h});
    }
}

} // namespace

bool Crossing::good() const {
    return std::abs(error_min()) <= std::max(20.0, 0.1 * judge_h * 60);
}

Trial run_trial(soil::TextureClass texture, const Weather& weather, const Watering& watering,
                const TrialOptions& options) {
    Trial trial = run_trial(texture, forcing(weather, watering, options.days), options);
    trial.weather = weather.name;
    trial.watering = watering.name;
    return trial;
}

Trial run_trial(soil::TextureClass texture, std::span<const soil::SurfaceForcing> steps,
                const TrialOptions& options) {
    Trial trial;
    trial.texture = texture;
    JudgeBed judge(texture, options.start_kpa, options.thermal);
    EngineBed engine(texture, options.start_kpa, options.refine);
    Watch judge_watch, engine_watch;
    bool open = false, was_wetting = false;
    for (std::size_t i = 0; i < steps.size(); ++i) {
        const double begin_h = static_cast<double>(i) * kStep_s / 3600;
        const bool wetting = steps[i].supply_mm_per_h > 0;
        if (wetting && !was_wetting && open) close_spell(trial, judge_watch, engine_watch, begin_h);
        if (!wetting && was_wetting) {
            judge_watch.begin(begin_h);
            engine_watch.begin(begin_h);
            open = true;
        }
        was_wetting = wetting;
        const soil::Flows j = judge.step(steps[i]), e = engine.step(steps[i]);
        trial.judge_evaporation_mm += j.evaporation_mm;
        trial.engine_evaporation_mm += e.evaporation_mm;
        trial.judge_runoff_mm += j.runoff_mm;
        trial.engine_runoff_mm += e.runoff_mm;
        trial.judge_drainage_mm += j.drainage_mm;
        trial.engine_drainage_mm += e.drainage_mm;
        if (open) {
            const double end_h = begin_h + kStep_s / 3600;
            const double surplus_mm = engine.seed_mm() - judge.seed_mm();
            judge_watch.look(judge.seed_kpa(), judge.seed_mm(), surplus_mm, end_h, wetting);
            engine_watch.look(engine.seed_kpa(), engine.seed_mm(), surplus_mm, end_h, wetting);
        }
        const std::size_t day = i / 288;
        if (i % 288 == 13 * 12 && (day == 1 || day == 3 || day == 7) && judge.seed_kpa() < -100)
            trial.refills.push_back({static_cast<int>(day), refill_mm(judge), refill_mm(engine)});
    }
    close_spell(trial, judge_watch, engine_watch,
                static_cast<double>(steps.size()) * kStep_s / 3600);
    return trial;
}

void Tally::add(const Trial& trial) {
    for (const Crossing& crossing : trial.crossings) {
        ++crossings;
        good_crossings += crossing.good();
        for (std::size_t i = 0; i < kThresholds_kpa.size(); ++i) {
            if (kThresholds_kpa[i] != crossing.threshold_kpa) continue;
            ++by_threshold[i];
            good_by_threshold[i] += crossing.good();
        }
    }
    for (const Refill& refill : trial.refills) {
        ++refills;
        good_refills += refill.good();
        refill_error_sum += refill.error();
    }
    const double error = trial.evaporation_error();
    ++evaporations;
    good_evaporations += std::abs(error) <= 0.05;
    if (std::abs(error) > std::abs(worst_evaporation_error)) worst_evaporation_error = error;
}

} // namespace firstmow::compare
