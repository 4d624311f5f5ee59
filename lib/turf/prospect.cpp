#include "turf/prospect.hpp"

#include "turf/mix.hpp"
#include "turf/thermal_time.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numbers>

namespace firstmow::turf {

namespace {

constexpr std::size_t kFutures = 16;
constexpr std::size_t kMostDays = 366;
constexpr Seconds kStep{6 * 3600};
constexpr std::size_t kStepsPerDay = 4;
constexpr double kDampKpa = -30;  // what a bed kept damp has between runs
constexpr double kNoMore = 0.002; // a curve that grows less in a day is over

// Standard normal deviations of the middles of sixteen equal parts.
constexpr std::array<double, kFutures> kDeviations{
    -1.8627, -1.3180, -1.0100, -0.7764, -0.5791, -0.4023, -0.2372, -0.0784,
    0.0784,  0.2372,  0.4023,  0.5791,  0.7764,  1.0100,  1.3180,  1.8627};

// Where in its belief future `i` finds the lot of species `k`: an even spread for each species,
// in another order for each and for the weather, so that they go apart.
double lot_probability(std::size_t i, std::size_t k) {
    constexpr std::array<std::size_t, 4> kOrders{7, 3, 11, 5}; // odd: prime to sixteen
    const std::size_t rank =
        (i * kOrders[k % kOrders.size()] + 5 * (k / kOrders.size()) + 4) % kFutures;
    return (static_cast<double>(rank) + 0.5) / static_cast<double>(kFutures);
}

// The moments of one future.
struct Seen {
    struct OfSpecies {
        std::optional<WallTime> first_green;
        std::optional<WallTime> half_up;
        std::optional<WallTime> all_up;
        std::vector<double> up; // at the end of each day
    };
    std::vector<OfSpecies> species;
    std::optional<WallTime> half_up;
    std::optional<WallTime> rooted;
    std::optional<WallTime> first_mow;
    std::optional<WallTime> grown_in;
};

void note(std::optional<WallTime>& moment, bool reached, WallTime at) {
    if (reached && !moment) moment = at;
}

class Future {
public:
    Future(const Progress& progress, WallTime now, std::size_t index)
        : progress_(progress), now_(now), deviation_(kDeviations[index]) {
        seen_.species.resize(progress.species.size());
        const bool open = !progress.all_up && !progress.first_mow;
        for (std::size_t k = 0; k < progress_.species.size(); ++k) {
            SpeciesProgress& species = progress_.species[k];
            if (!open) break;
            species.slowness = slowness_quantile(species.belief, lot_probability(index, k));
        }
        look();
    }

    void live(std::span<const SoilDay> days) {
        for (const SoilDay& day : days) {
            for (std::size_t part = 0; part < kStepsPerDay; ++part)
                step(day, part);
            for (std::size_t k = 0; k < seen_.species.size(); ++k)
                seen_.species[k].up.push_back(up_share(progress_.species[k]));
            if (progress_.phase == Phase::mature) return;
        }
    }
    const Seen& seen() const { return seen_; }

private:
    void step(const SoilDay& day, std::size_t part) {
        // A sine at the middle of each of its quarters: two warm ones, then two cold ones.
        const double swing_c =
            (part < kStepsPerDay / 2 ? 1 : -1) * day.swing_c / std::numbers::sqrt2;
        const double temp_c = day.mean_c + deviation_ * day.doubt_c + swing_c;
        now_ += kStep;
        advance(progress_, Bed{temp_c, kDampKpa, kDampKpa, 0}, kStep, now_);
        look();
    }

    void look() {
        double up = 0;
        double shares = 0;
        for (std::size_t k = 0; k < seen_.species.size(); ++k) {
            const SpeciesProgress& species = progress_.species[k];
            const double median = traits(species.species).emergence_factor;
            Seen::OfSpecies& seen = seen_.species[k];
            note(seen.first_green, own_tau(species) >= first_green_tau(traits(species.species)),
                 now_);
            note(seen.half_up, own_tau(species) >= median, now_);
            note(seen.all_up, emergence_fraction(species) >= 1, now_);
            up += species.share * lot_share(own_tau(species), median);
            shares += species.share;
        }
        note(seen_.half_up, shares > 0 && up >= shares / 2, now_);
        const bool due = ready_for_first_mow(progress_);
        note(seen_.rooted, progress_.method == Method::sod && (progress_.rooted || due), now_);
        if (due || progress_.first_mow) {
            note(seen_.first_mow, true, now_);
            // What is due is done, so that the time after it can be told.
            if (!progress_.first_mow) observe(progress_, ObservationKind::first_mow, now_);
        }
        if (standing_turf_wants_cut(progress_)) observe(progress_, ObservationKind::mown, now_);
        note(seen_.grown_in, progress_.phase == Phase::mature, now_);
    }

    Progress progress_;
    WallTime now_;
    double deviation_;
    Seen seen_;
};

// The value below which `part` of the futures lie; those that never see it come last.
template <class Get>
std::optional<WallTime> percentile(const std::vector<Seen>& futures, double part, const Get& get) {
    std::vector<std::optional<WallTime>> moments;
    for (const Seen& seen : futures)
        moments.push_back(get(seen));
    std::ranges::sort(moments, [](const auto& a, const auto& b) {
        return a.has_value() && (!b.has_value() || *a < *b);
    });
    const double rank = std::clamp(part * static_cast<double>(kFutures) - 0.5, 0.0,
                                   static_cast<double>(kFutures - 1));
    const auto below = static_cast<std::size_t>(rank);
    const std::size_t above = std::min(below + 1, kFutures - 1);
    if (!moments[below] || !moments[above]) return std::nullopt;
    const auto apart = static_cast<double>((*moments[above] - *moments[below]).count());
    return *moments[below] + Seconds{std::llround((rank - std::floor(rank)) * apart)};
}

template <class Get>
When when(const std::vector<Seen>& futures, const Get& get) {
    return {percentile(futures, 0.1, get), percentile(futures, 0.5, get),
            percentile(futures, 0.9, get)};
}

double percentile_up(const std::vector<Seen>& futures, std::size_t k, std::size_t day,
                     double part) {
    std::vector<double> shares;
    for (const Seen& seen : futures) {
        const std::vector<double>& up = seen.species[k].up;
        shares.push_back(up.empty() ? 0 : up[std::min(day, up.size() - 1)]);
    }
    std::ranges::sort(shares);
    const double rank = part * static_cast<double>(kFutures) - 0.5;
    const auto below = static_cast<std::size_t>(rank);
    return std::lerp(shares[below], shares[below + 1], rank - std::floor(rank));
}

void draw_curve(const std::vector<Seen>& futures, std::size_t k, std::size_t days,
                SpeciesProspect& species) {
    double before = species.up;
    for (std::size_t day = 0; day < days; ++day) {
        const double likely = percentile_up(futures, k, day, 0.5);
        species.curve_low.push_back(percentile_up(futures, k, day, 0.1));
        species.curve.push_back(likely);
        species.curve_high.push_back(percentile_up(futures, k, day, 0.9));
        const bool over = likely > species.stand / 2 && likely - before < kNoMore;
        if (over && species.curve_low.back() > 0.9 * likely) break;
        before = likely;
    }
}

When at(WallTime moment) {
    return {moment, moment, moment};
}
When past_or(const std::optional<WallTime>& past, const When& ahead) {
    return past ? at(*past) : ahead;
}

std::vector<SpeciesProspect> species_prospects(const Progress& progress,
                                               const std::vector<Seen>& futures, std::size_t days) {
    std::vector<SpeciesProspect> found;
    for (std::size_t k = 0; k < progress.species.size(); ++k) {
        const SpeciesProgress& is = progress.species[k];
        SpeciesProspect species;
        species.species = is.species;
        species.share = is.share;
        species.danger = danger_of(is);
        species.up = up_share(is);
        species.stand = stand_of(is);
        species.slowness_low = slowness_quantile(is.belief, 0.1);
        species.slowness = slowness_quantile(is.belief, 0.5);
        species.slowness_high = slowness_quantile(is.belief, 0.9);
        const auto of = [&](std::optional<WallTime> Seen::OfSpecies::*moment) {
            return when(futures, [&](const Seen& seen) { return seen.species[k].*moment; });
        };
        species.curve_past = up_by_day(is);
        species.first_green = past_or(is.first_green, of(&Seen::OfSpecies::first_green));
        species.half_up = past_or(is.half_up, of(&Seen::OfSpecies::half_up));
        species.all_up = past_or(is.all_up, of(&Seen::OfSpecies::all_up));
        if (!progress.all_up) draw_curve(futures, k, days, species);
        found.push_back(std::move(species));
    }
    return found;
}

// The first or the last of the important species in each future.
template <class Better>
std::optional<WallTime> among(const Progress& progress, const Seen& seen,
                              std::optional<WallTime> Seen::OfSpecies::*moment,
                              const Better& better, bool all) {
    std::optional<WallTime> best;
    for (std::size_t k = 0; k < seen.species.size(); ++k) {
        if (!important(progress, progress.species[k])) continue;
        const auto& at = seen.species[k].*moment;
        if (!at && all) return std::nullopt;
        if (at && (!best || better(*at, *best))) best = at;
    }
    return best;
}

} // namespace

Prospect prospect(const Progress& progress, WallTime now, std::span<const SoilDay> days) {
    Prospect found;
    if (progress.method == Method::none) return found;
    days = days.first(std::min(days.size(), kMostDays));
    // Seed that waits for its day begins then.
    const WallTime from = std::max(now, *progress.sown);
    const auto wait = static_cast<std::size_t>((from - now).count() / 86400);
    days = days.subspan(std::min(wait, days.size()));
    std::vector<Seen> futures;
    for (std::size_t i = 0; i < kFutures; ++i) {
        Future future(progress, from, i);
        future.live(days);
        futures.push_back(future.seen());
    }
    if (progress.method == Method::sod) {
        found.rooted =
            past_or(progress.rooted, when(futures, [](const Seen& seen) { return seen.rooted; }));
    } else {
        found.sown = progress.sown;
        found.species = species_prospects(progress, futures, days.size());
        found.first_green = when(futures, [&](const Seen& seen) {
            return among(progress, seen, &Seen::OfSpecies::first_green, std::less<>{}, false);
        });
        found.first_green = past_or(progress.seedlings_seen, found.first_green);
        found.half_up =
            past_or(progress.half_up, when(futures, [](const Seen& seen) { return seen.half_up; }));
        found.all_up = past_or(progress.all_up, when(futures, [&](const Seen& seen) {
                                   return among(progress, seen, &Seen::OfSpecies::all_up,
                                                std::greater<>{}, true);
                               }));
    }
    found.first_mow =
        past_or(progress.first_mow, when(futures, [](const Seen& seen) { return seen.first_mow; }));
    found.grown_in = when(futures, [](const Seen& seen) { return seen.grown_in; });
    if (progress.phase == Phase::mature) found.grown_in = at(progress.phase_since);
    return found;
}

} // namespace firstmow::turf
