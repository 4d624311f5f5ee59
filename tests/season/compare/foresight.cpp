#include "compare/foresight.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <memory>

namespace firstmow::compare {
namespace {

constexpr std::size_t kSlotSteps = 6; // half an hour

// How a label came about: runs, newest first.
struct Given {
    std::shared_ptr<const Given> before;
    std::size_t step;
    int minutes;
};

struct Label {
    std::shared_ptr<judge::Profile> bed; // its own, until it is merged
    std::shared_ptr<const BedSurface> surface;
    std::shared_ptr<const Given> given;
    double water_mm = 0; // mean over the zone
    double dry_h = 0;
    int starts = 0;
    double holds_3_mm = 0, holds_10_mm = 0, holds_40_mm = 0;
};

class Search {
public:
    Search(const JudgedBed& bed, const BedDays& days, const SearchOptions& options)
        : bed_(bed),
          days_(days),
          options_(options),
          medium_(judge_soil(bed.soil)),
          ample_mm_(medium_.at(bed.threshold_kpa * judge::kMmPerKpa).theta * bed.seed_depth_mm +
                    options.ample_mm) {}

    Foresight run() {
        std::vector<Label> labels(1);
        labels[0].bed =
            std::make_shared<judge::Profile>(judged_profile(medium_, bed_, quick_grid()));
        labels[0].surface = std::make_shared<BedSurface>(days_);
        measure(labels[0]);
        for (std::size_t begin = 0; begin < days_.steps.size(); begin += kSlotSteps) {
            const std::size_t end = std::min(begin + kSlotSteps, days_.steps.size());
            std::vector<Label> next;
            for (const Label& label : labels) {
                next.push_back(pass(label, begin, end, 0));
                if (!days_.open[begin] || !days_.open[end - 1] || ample(label)) continue;
                for (const int minutes : options_.minutes)
                    next.push_back(pass(label, begin, end, minutes));
            }
            labels = choose(std::move(next));
        }
        const Label& best =
            *std::min_element(labels.begin(), labels.end(),
                              [this](const Label& a, const Label& b) { return cost(a) < cost(b); });
        found_.cost_mm = cost(best);
        found_.water_mm = best.water_mm;
        found_.dry_h = best.dry_h;
        found_.sprinkling.assign(days_.steps.size(), 0);
        for (const Given* given = best.given.get(); given; given = given->before.get())
            for (std::size_t i = given->step; i < found_.sprinkling.size(); ++i) {
                const double share = open_share(given->minutes, i - given->step);
                if (share <= 0) break;
                found_.sprinkling[i] = share;
            }
        return std::move(found_);
    }

private:
    double cost(const Label& label) const {
        return label.water_mm + options_.price_mm_per_dry_h * label.dry_h +
               options_.price_mm_per_start * label.starts;
    }

    bool ample(const Label& label) const {
        return label.bed->mean_theta(bed_.seed_depth_mm) * bed_.seed_depth_mm > ample_mm_;
    }

    static double open_share(int minutes, std::size_t step) {
        return std::clamp((minutes * 60 - static_cast<double>(step) * kStep_s) / kStep_s, 0.0, 1.0);
    }

    void measure(Label& label) const {
        label.holds_3_mm = label.bed->mean_theta(3) * 3 + label.bed->pond_mm();
        label.holds_10_mm = label.bed->mean_theta(10) * 10 + label.bed->pond_mm();
        label.holds_40_mm = label.bed->mean_theta(40) * 40 + label.bed->pond_mm();
    }

    Label pass(const Label& from, std::size_t begin, std::size_t end, int minutes) {
        ++found_.labels;
        Label to = from;
        auto bed = std::make_shared<judge::Profile>(*from.bed);
        auto surface = std::make_shared<BedSurface>(*from.surface);
        for (std::size_t i = begin; i < end; ++i) {
            const double share = open_share(minutes, i - begin);
            const double rate = surface->ground_mm_per_h(i, bed_.rate_mm_per_h);
            bed->advance(judged_surface(surface->next(i, share), share * rate * bed_.low_quarter),
                         kStep_s);
            to.water_mm += share * bed_.rate_mm_per_h * kStep_s / 3600;
            if (days_.counts[i] && bed->mean_kpa(bed_.seed_depth_mm) < bed_.threshold_kpa)
                to.dry_h += kStep_s / 3600;
        }
        to.bed = std::move(bed);
        to.surface = std::move(surface);
        to.starts += minutes > 0;
        if (minutes > 0)
            to.given = std::make_shared<const Given>(Given{std::move(to.given), begin, minutes});
        measure(to);
        return to;
    }

    // Whether `a` is at least as wet at every node.
    static bool wetter(const Label& a, const Label& b) {
        if (a.holds_40_mm < b.holds_40_mm || a.holds_10_mm < b.holds_10_mm)
            return false; // soon said
        const auto &x = a.bed->heads_mm(), &y = b.bed->heads_mm();
        for (std::size_t i = 0; i < x.size(); ++i)
            if (x[i] < y[i]) return false;
        return true;
    }

    using Cell = std::array<long, 3>;
    Cell cell_of(const Label& label) const {
        return {std::lround(label.holds_3_mm / options_.cell_10_mm),
                std::lround(label.holds_10_mm / options_.cell_10_mm),
                std::lround(label.holds_40_mm / options_.cell_40_mm)};
    }

    // What is merged is as cheap as the cheaper and as wet as the wetter.
    void merge(Label& into, const Label& other) const {
        into.bed->raise_to(*other.bed);
        measure(into);
    }

    // For a bound; `labels` from cheap to dear.
    std::vector<Label> gather(std::vector<Label> labels) {
        std::vector<Label> kept;
        std::map<Cell, std::size_t> cells;
        for (Label& label : labels) {
            if (std::any_of(kept.begin(), kept.end(),
                            [&](const Label& other) { return wetter(other, label); }))
                continue;
            const auto [cell, fresh] = cells.emplace(cell_of(label), kept.size());
            if (fresh)
                kept.push_back(std::move(label));
            else
                merge(kept[cell->second], label);
        }
        while (kept.size() > options_.width) {
            // The two neighbours in cost that are the nearest to each other.
            std::size_t nearest = 0;
            double least = 1e300;
            for (std::size_t i = 0; i + 1 < kept.size(); ++i) {
                const double loss = cost(kept[i + 1]) - cost(kept[i]) +
                                    std::abs(kept[i + 1].holds_40_mm - kept[i].holds_40_mm);
                if (loss < least) {
                    least = loss;
                    nearest = i;
                }
            }
            merge(kept[nearest], kept[nearest + 1]);
            kept.erase(kept.begin() + static_cast<std::ptrdiff_t>(nearest) + 1);
            ++found_.dropped;
        }
        return kept;
    }

    std::vector<Label> choose(std::vector<Label> labels) {
        std::stable_sort(labels.begin(), labels.end(),
                         [this](const Label& a, const Label& b) { return cost(a) < cost(b); });
        if (options_.bound) return gather(std::move(labels));
        std::vector<Label> kept;
        std::map<Cell, bool> taken;
        for (Label& label : labels) {
            const double tolerance_10 = options_.cell_10_mm / 4;
            const double tolerance_40 = options_.cell_40_mm / 4;
            // Those kept before it cost no more.
            const bool beaten = std::any_of(kept.begin(), kept.end(), [&](const Label& other) {
                // A dry crust over as much water loses less: it is worth keeping.
                return other.holds_3_mm <= label.holds_3_mm + 2 * tolerance_10 &&
                       other.holds_10_mm >= label.holds_10_mm - tolerance_10 &&
                       other.holds_40_mm >= label.holds_40_mm - tolerance_40;
            });
            if (beaten) continue;
            if (!taken.emplace(cell_of(label), true).second) continue;
            kept.push_back(std::move(label));
        }
        if (kept.size() <= options_.width) return kept;
        found_.dropped += static_cast<long>(kept.size() - options_.width);
        // The cheapest, and others evenly through the costs: dear ones hold more.
        std::vector<Label> spread;
        for (std::size_t i = 0; i < options_.width; ++i)
            spread.push_back(kept[i * (kept.size() - 1) / (options_.width - 1)]);
        return spread;
    }

    const JudgedBed& bed_;
    const BedDays& days_;
    const SearchOptions& options_;
    judge::SaxtonRawls medium_;
    double ample_mm_;
    Foresight found_;
};

} // namespace

Foresight foresee(const JudgedBed& bed, const BedDays& days, const SearchOptions& options) {
    return Search(bed, days, options).run();
}

} // namespace firstmow::compare
