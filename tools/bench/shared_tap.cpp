#include "bench.hpp"

#include "exact_day.hpp"
#include "side_by_side.hpp"

#include <array>
#include <cstdio>
#include <vector>

namespace firstmow::bench {
namespace {

using soil::TextureClass;
using namespace trial;

constexpr Seconds kSlot{3300};
constexpr int kSlots = 11;
constexpr double kMoreAtMost = 1.05;

struct Case {
    BusyDay day;
    Toll planned;
    Toll best;
};

std::vector<Case> all_cases() {
    constexpr std::array<std::pair<TextureClass, TextureClass>, 3> kPairs{
        {{TextureClass::loam, TextureClass::sandy_loam},
         {TextureClass::sand, TextureClass::clay_loam},
         {TextureClass::silt_loam, TextureClass::silt_loam}}};
    std::vector<Case> cases;
    for (const auto& [first, second] : kPairs)
        for (int sprouted = -1; sprouted < 2; ++sprouted)
            for (const double rate : {2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 8.0}) {
                Case& c = cases.emplace_back();
                c.day = {first, second, rate, kSlots * kSlot, std::nullopt};
                if (sprouted >= 0) c.day.sprouted = static_cast<std::size_t>(sprouted);
            }
    return cases;
}

void run_case(Case& c, bool alone) {
    const auto day = busy_day(c.day);
    const Grid grid{day->now(), kSlot, kSlots, {kSlot}, local(2, 6)};
    c.planned = planned_day(*day, grid.end);
    if (!alone) c.best = best_day(*day, grid, {kEver, kEver, kEver}).toll;
}

void print_case(const Case& c, bool alone) {
    std::printf("  %-10s %-10s %-8s %3.1f  %5.0f %5.0f %6.1f", soil::key(c.day.first).data(),
                soil::key(c.day.second).data(),
                c.day.sprouted ? *c.day.sprouted == 0 ? "first" : "second" : "none",
                c.day.rate_mm_per_h, c.planned.deadly_min, c.planned.dry_min, c.planned.water_mm);
    if (!alone)
        std::printf("   %5.0f %5.0f %6.1f", c.best.deadly_min, c.best.dry_min, c.best.water_mm);
    std::printf("\n");
}

} // namespace

void shared_tap(const Options& options) {
    auto cases = all_cases();
    side_by_side(cases.size(), options.threads,
                 [&](std::size_t i) { run_case(cases[i], options.alone); });
    std::printf(
        "Two bare beds at 35 deg C on a tap that feeds one at a time: the plan's day beside "
        "the best that an\nexhaustive search finds (starts every %d min); minutes dry by "
        "day where drying kills, elsewhere, mm\n  %-10s %-10s %-8s mm/h  %-18s   %s\n",
        static_cast<int>(kSlot.count() / 60), "first", "second", "sprouted", "plan", "search");
    for (const Case& c : cases)
        print_case(c, options.alone);
    if (options.alone) return;
    double planned = 0, best = 0, worst = 0;
    int can = 0, none = 0, within = 0, cannot = 0;
    for (const Case& c : cases) {
        planned += c.planned.cost_min();
        best += c.best.cost_min();
        if (c.best.cost_min() <= 0) {
            ++can;
            none += c.planned.cost_min() <= 0;
            continue;
        }
        ++cannot;
        const double ratio = c.planned.cost_min() / c.best.cost_min();
        within += ratio <= kMoreAtMost;
        worst = std::max(worst, ratio);
    }
    std::printf("Dry minutes, each times what drying costs: %.3f of the search's in all, at most "
                "%.2f; of %d days on\nwhich it has none the plan has none on %d; within %.2f on %d "
                "of the other %d\n\n",
                planned / best, worst, can, none, kMoreAtMost, within, cannot);
}

} // namespace firstmow::bench
