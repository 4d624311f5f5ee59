#include "turf/learning.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace firstmow::turf {

namespace {

constexpr double kSeenShare = 0.03;
constexpr double kSeenByMistake = 1e-6; // weeds, old grass: a report is believed where it can be
constexpr double kOverlooked = 0.02;
constexpr double kReportedLate = 1.0 / 7;
constexpr double kCouldBeIt = 0.25; // as likely to show as the likeliest
struct Look {
    double days_ago;
    double weight;
};
constexpr std::array<Look, 3> kLooksBefore{{{1, 0.5}, {2, 0.3}, {3, 0.2}}};
constexpr std::size_t kLooks = 1 + kLooksBefore.size(); // now, and those before

// exp(-up / 3 %) of one species: what it leaves of the chance to see nothing. Seen from several
// species at once the factors multiply, and so do their means over independent beliefs.
struct Hidden {
    // By slowness, now and at the looks before.
    std::array<LotBelief, kLooks> at{};

    static Hidden of(const SpeciesProgress& species) {
        const double ground = species.share * stand_of(species);
        const double median = traits(species.species).emergence_factor;
        Hidden hidden;
        for (std::size_t look = 0; look < kLooks; ++look) {
            const double ago = look == 0 ? 0 : kLooksBefore[look - 1].days_ago;
            const double tau = std::max(species.tau - ago * species.tau_per_day, 0.0);
            for (std::size_t i = 0; i < kSpeeds; ++i)
                hidden.at[look][i] =
                    std::exp(-ground * lot_share(tau / slowness_at(i), median) / kSeenShare);
        }
        return hidden;
    }
};

// Means over a belief: hidden at a look, and hidden both then and now.
struct Means {
    std::array<double, kLooks> then{};
    std::array<double, kLooks> then_and_now{};

    static Means of(const Hidden& hidden, const LotBelief& belief) {
        Means means;
        for (std::size_t look = 0; look < kLooks; ++look)
            for (std::size_t i = 0; i < kSpeeds; ++i) {
                means.then[look] += belief[i] * hidden.at[look][i];
                means.then_and_now[look] += belief[i] * hidden.at[look][i] * hidden.at[0][i];
            }
        return means;
    }
    void times(const Means& other) {
        for (std::size_t look = 0; look < kLooks; ++look) {
            then[look] *= other.then[look];
            then_and_now[look] *= other.then_and_now[look];
        }
    }
};

class Lots {
public:
    explicit Lots(Progress& progress) : progress_(progress) {
        for (const SpeciesProgress& species : progress.species) {
            hidden_.push_back(Hidden::of(species));
            means_.push_back(Means::of(hidden_.back(), species.belief));
        }
    }
    // The chance that a look now shows this species, or any.
    double chance_to_show(std::size_t one) const { return 1 - means_[one].then[0]; }
    double best_chance_to_show() const {
        double best = 0;
        for (std::size_t i = 0; i < means_.size(); ++i)
            best = std::max(best, chance_to_show(i));
        return best;
    }

    LotBelief likelihood_of_seedlings(std::size_t one) const {
        const Means others = besides(one);
        LotBelief likelihood{};
        for (std::size_t i = 0; i < kSpeeds; ++i) {
            const double now = hidden_[one].at[0][i];
            double came = kReportedLate * (1 - (1 - kSeenByMistake) * now * others.then[0]);
            for (std::size_t look = 1; look < kLooks; ++look) {
                const double then = hidden_[one].at[look][i];
                came += (1 - kReportedLate) * kLooksBefore[look - 1].weight *
                        (then * others.then[look] -
                         (1 - kSeenByMistake) * then * now * others.then_and_now[look]);
            }
            likelihood[i] = std::max(came, 0.0);
        }
        return likelihood;
    }

    LotBelief likelihood_of_nothing(std::size_t one) const {
        const Means others = besides(one);
        LotBelief likelihood{};
        for (std::size_t i = 0; i < kSpeeds; ++i)
            likelihood[i] =
                kOverlooked + (1 - kOverlooked) * hidden_[one].at[0][i] * others.then[0];
        return likelihood;
    }

    bool take(std::size_t one, const LotBelief& likelihood) {
        SpeciesProgress& species = progress_.species[one];
        if (!update_belief(species.belief, likelihood)) return false;
        species.slowness = mean_slowness(species.belief);
        return true;
    }

private:
    Means besides(std::size_t one) const {
        Means others;
        others.then.fill(1);
        others.then_and_now.fill(1);
        for (std::size_t i = 0; i < means_.size(); ++i)
            if (i != one) others.times(means_[i]);
        return others;
    }

    Progress& progress_;
    std::vector<Hidden> hidden_;
    std::vector<Means> means_;
};

} // namespace

bool learn_from_seedlings(Progress& progress) {
    Lots lots(progress);
    bool believed = false;
    for (std::size_t i = 0; i < progress.species.size(); ++i)
        if (lots.chance_to_show(i) >= kCouldBeIt * lots.best_chance_to_show())
            believed = lots.take(i, lots.likelihood_of_seedlings(i)) || believed;
    return believed;
}

void learn_from_nothing(Progress& progress) {
    Lots lots(progress);
    for (std::size_t i = 0; i < progress.species.size(); ++i)
        lots.take(i, lots.likelihood_of_nothing(i));
}

} // namespace firstmow::turf
