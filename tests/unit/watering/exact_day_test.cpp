// A whole day of the planner, planned again as it goes, beside the best that an exhaustive search
// finds for the same beds on the same tap. The search tries every choice of starts on a coarse grid
// and of a few lengths; each slot serves one bed. Dry minutes by day count first, each times what
// drying costs the bed (watering/shortfall.hpp: weight), then water. Both days are lived by the
// same steps, to the opening of the tap on the next morning.
#include "trial_task.hpp"
#include "watering/shortfall.hpp"

#include <array>
#include <cstdint>
#include <limits>
#include <utility>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::watering;
using firstmow::trial::garden_of;
using firstmow::trial::kHour;
using firstmow::trial::local;
using firstmow::trial::Planning;
using firstmow::trial::seed_zone;

namespace {

const trial::Air kThirtyFive{27, 8, 11, 3}; // 35 C in the afternoon

double minutes(Seconds time) {
    return static_cast<double>(time.count()) / 60;
}

// What a day costs, one bed or all of them together.
struct Toll {
    double deadly_min = 0; // dry while the sun is up, where drying kills
    double dry_min = 0;    // the same elsewhere
    double water_mm = 0;
    Toll operator+(const Toll& more) const {
        return {deadly_min + more.deadly_min, dry_min + more.dry_min, water_mm + more.water_mm};
    }
    double cost_min() const {
        return weight(AtStake::stand) * deadly_min + weight(AtStake::time) * dry_min;
    }
    bool operator<(const Toll& other) const {
        return std::pair(cost_min(), water_mm) < std::pair(other.cost_min(), other.water_mm);
    }
};
constexpr double kEver = std::numeric_limits<double>::infinity();

const HourDemand& hour_at(Hours hours, WallTime t) {
    return hours[static_cast<std::size_t>((t - hours.front().start).count() / 3600)];
}

// Time in steps that stay within an hour; each adds to the toll what it found at its end.
template <class Step>
void walk(Hours hours, WallTime from, WallTime to, Seconds most, bool open, const ZoneSpec& spec,
          Toll& toll, bool deadly, Step step) {
    double& dry_min = deadly ? toll.deadly_min : toll.dry_min;
    while (from < to) {
        const HourDemand& hour = hour_at(hours, from);
        const WallTime end = std::min({to, from + most, hour.start + kHour});
        const double rate = open ? ground_rate_mm_per_h(spec, hour) : 0.0;
        toll.water_mm += rate * minutes(end - from) / 60;
        if (step(hour, rate, end - from, end) && hour.daylight) dry_min += minutes(end - from);
        from = end;
    }
}

// The bed itself, by its need and without the planner's caution.
void live(ZoneTask& task, Hours hours, WallTime from, WallTime to, bool open, Toll& toll) {
    const bool deadly = at_stake(task.state.progress) == AtStake::stand;
    walk(hours, from, to, kGrid, open, *task.spec, toll, deadly,
         [&](const HourDemand& hour, double rate, Seconds dt, WallTime end) {
             advance(*task.spec, task.state, hour, rate, dt, end);
             const DryTest test = dry_test(*task.spec, task.state.progress, task.needs);
             return is_dry(look(*task.spec, task.state, test, end), test);
         });
}

std::vector<ZoneTask> tasks_of(Planning& planning) {
    std::vector<ZoneTask> tasks;
    for (std::size_t i = 0; i < planning.garden().zones.size(); ++i)
        tasks.push_back(planning.task(i));
    return tasks;
}

// Plans every quarter of an hour, when a run is due and when one has ended, and carries it out.
Toll planned_day(Planning& planning, WallTime end) {
    constexpr Seconds kPlanEvery{900};
    constexpr Seconds kSoak{1800};
    const Hours hours = planning.hours();
    auto tasks = tasks_of(planning);
    Toll toll;
    WallTime next_plan = planning.now();
    for (WallTime at = planning.now(); at < end;) {
        for (ZoneTask& task : tasks) {
            if (!task.open_until || *task.open_until > at) continue;
            task.last_wetted = std::exchange(task.open_until, std::nullopt);
            next_plan = at;
        }
        if (at >= next_plan) {
            const auto skip = static_cast<std::size_t>((at - hours.front().start).count() / 3600);
            for (ZoneTask& task : tasks)
                task.needs = turf::needs(task.state.progress, at);
            const auto plans =
                plan({at, hours.subspan(skip), &planning.garden(), &planning.timezone()}, tasks);
            next_plan = at + kPlanEvery;
            for (std::size_t i = 0; i < tasks.size(); ++i) {
                ZoneTask& task = tasks[i];
                if (task.open_until) continue;
                if (plans[i].reason != Reason::rest_of_run) task.owed_s = 0;
                if (!plans[i].start) continue;
                if (*plans[i].start > at) {
                    next_plan = std::min(next_plan, *plans[i].start);
                    continue;
                }
                task.open_until = at + Seconds{plans[i].run_s};
                task.owed_s = plans[i].owed_s;
                task.not_before = *task.open_until + (task.owed_s > 0  ? kSoak
                                                      : plans[i].ahead ? Seconds{0}
                                                                       : kPlanEvery);
            }
        }
        WallTime to = std::min({end, next_plan, at + kGrid});
        for (const ZoneTask& task : tasks)
            if (task.open_until) to = std::min(to, *task.open_until);
        for (ZoneTask& task : tasks)
            live(task, hours, at, to, task.open_until.has_value(), toll);
        at = to;
    }
    return toll;
}

// Where the search may put runs: one bed in each slot, from its beginning on.
struct Grid {
    WallTime from;
    Seconds slot{0};
    int slots = 0;
    std::vector<Seconds> lengths;
    WallTime end; // of the day that is judged

    WallTime at(int slot_index) const { return from + slot_index * slot; }
};

// A choice for each slot, two bits: 0 is none, k the length k - 1.
using Choices = std::uint64_t;
struct Schedule {
    Toll toll{kEver, kEver, kEver};
    std::array<Choices, 3> beds{};
};
// The best schedule that takes just these slots, by the set of them.
using BySlots = std::vector<Schedule>;

// All schedules of one bed, but for those that cost more than `most`: a toll only grows.
class Search {
public:
    Search(const ZoneTask& task, std::size_t bed, Hours hours, const Grid& grid, Toll most)
        : task_(task),
          test_(dry_test(*task.spec, task.state.progress, task.needs)),
          bed_(bed),
          hours_(hours),
          grid_(grid),
          most_(most),
          best_(std::size_t{1} << grid.slots) {
        grow(look(*task.spec, task.state, test_, grid.from), 0, 0, 0, {});
    }
    BySlots take() { return std::move(best_); }

private:
    void pass_by(Outlook& o, WallTime to, bool open, Toll& toll) const {
        constexpr Seconds kClosedStep{900}; // the outlook's own
        walk(hours_, o.at, to, open ? kGrid : kClosedStep, open, *task_.spec, toll,
             at_stake(task_.state.progress) == AtStake::stand,
             [&](const HourDemand&, double, Seconds, WallTime end) {
                 pass(o, hours_, end, open);
                 return is_dry(o, test_);
             });
    }
    void grow(Outlook o, int slot, std::size_t taken, Choices choices, Toll toll) {
        if (slot == grid_.slots) pass_by(o, grid_.end, false, toll);
        if (toll.deadly_min > most_.deadly_min || toll.dry_min > most_.dry_min ||
            toll.water_mm > most_.water_mm)
            return;
        if (slot == grid_.slots) {
            Schedule& best = best_[taken];
            if (!(toll < best.toll)) return;
            best.toll = toll;
            best.beds[bed_] = choices;
            return;
        }
        for (std::size_t k = 0; k <= grid_.lengths.size(); ++k) {
            Outlook next = o;
            Toll so_far = toll;
            if (k > 0) pass_by(next, o.at + grid_.lengths[k - 1], true, so_far);
            pass_by(next, grid_.at(slot + 1), false, so_far);
            grow(next, slot + 1, taken | std::size_t{k > 0} << slot,
                 choices | Choices{k} << (2 * slot), so_far);
        }
    }

    const ZoneTask& task_;
    DryTest test_;
    std::size_t bed_;
    Hours hours_;
    const Grid& grid_;
    Toll most_;
    BySlots best_;
};

// Every way to share the slots between them.
BySlots together(const BySlots& some, const BySlots& more) {
    BySlots best(some.size());
    for (std::size_t taken = 0; taken < best.size(); ++taken)
        for (std::size_t part = taken;; part = (part - 1) & taken) {
            const Schedule& a = some[part];
            const Schedule& b = more[taken ^ part];
            if (a.toll + b.toll < best[taken].toll) {
                best[taken].toll = a.toll + b.toll;
                for (std::size_t bed = 0; bed < a.beds.size(); ++bed)
                    best[taken].beds[bed] = a.beds[bed] | b.beds[bed];
            }
            if (part == 0) break;
        }
    return best;
}

// The best day on the grid, lived by the beds themselves. `most` is of each bed alone.
Toll best_day(Planning& planning, const Grid& grid, Toll most) {
    const auto cheapest = [](const BySlots& of) {
        return *std::min_element(of.begin(), of.end(),
                                 [](const auto& a, const auto& b) { return a.toll < b.toll; });
    };
    const Hours hours = planning.hours();
    auto tasks = tasks_of(planning);
    BySlots all;
    double least_mm = 0; // of all, had each the tap alone
    double most_saved_mm = 0;
    for (std::size_t i = 0; i < tasks.size(); ++i) {
        BySlots one = Search(tasks[i], i, hours, grid, most).take();
        const double alone_mm = cheapest(one).toll.water_mm;
        least_mm += alone_mm;
        most_saved_mm = std::max(most_saved_mm, alone_mm);
        all = i == 0 ? std::move(one) : together(all, one);
    }
    const Schedule best = cheapest(all);
    REQUIRE(best.toll.water_mm < kEver);
    // What was left out costs more water with one bed than all this does.
    REQUIRE(best.toll.water_mm <= most.water_mm + least_mm - most_saved_mm);
    Toll toll;
    for (std::size_t i = 0; i < tasks.size(); ++i) {
        for (int slot = 0; slot < grid.slots; ++slot) {
            const auto k = static_cast<std::size_t>(best.beds[i] >> (2 * slot) & 3U);
            const Seconds run = k == 0 ? Seconds{0} : grid.lengths[k - 1];
            live(tasks[i], hours, grid.at(slot), grid.at(slot) + run, true, toll);
            live(tasks[i], hours, grid.at(slot) + run, grid.at(slot + 1), false, toll);
        }
        live(tasks[i], hours, grid.at(grid.slots), grid.end, false, toll);
    }
    return toll;
}

// A seedbed of each soil on a tap that feeds one at a time, watered through the night before.
garden::Garden one_at_a_time(const std::vector<soil::TextureClass>& soils, double rate_mm_per_h,
                             Seconds open) {
    std::vector<garden::Zone> zones;
    for (const soil::TextureClass soil : soils) {
        zones.push_back(seed_zone("z" + std::to_string(zones.size() + 1), soil));
        zones.back().precipitation_rate_mm_per_h = rate_mm_per_h;
    }
    auto garden = garden_of(zones, 1.2 * zones[0].flow_l_per_min());
    garden.supply.hours = {{6 * 3600, 6 * 3600 + static_cast<int>(open.count())}};
    return garden;
}

} // namespace

TEST_CASE("exact day: where a search finds a day without a dry minute the plan has none") {
    using soil::TextureClass;
    struct Case {
        TextureClass second;
        double rate_mm_per_h;
        std::vector<Seconds> lengths;
        double most_mm; // of one bed, in the search
    };
    const Case cases[] = {
        {TextureClass::sandy_loam, 12, {Seconds{600}, Seconds{1200}}, 13.4},
        {TextureClass::clay_loam, 16, {Seconds{450}, Seconds{900}}, 11.4},
    };
    for (const Case& c : cases) {
        Planning planning(
            one_at_a_time({TextureClass::loam, c.second}, c.rate_mm_per_h, 11 * kHour), local(1, 6),
            kThirtyFive);
        const Grid grid{planning.now(), kHour, 11, c.lengths, local(2, 6)};
        const Toll best = best_day(planning, grid, {0, 0, c.most_mm});
        const Toll planned = planned_day(planning, grid.end);
        CAPTURE(c.rate_mm_per_h);
        CAPTURE(best.water_mm);
        CAPTURE(planned.water_mm);
        CHECK(best.dry_min == 0);
        // Five minutes are one step of the model. The plan takes 0.91 and 0.92 of the water: it may
        // start when it likes. Much less would mean that the two days are not alike.
        CHECK(planned.dry_min <= 5);
        CHECK(planned.water_mm <= 1.2 * best.water_mm); // 1.15
        CHECK(planned.water_mm >= 0.75 * best.water_mm);
    }
}

TEST_CASE("exact day: where the tap is busy all day the plan stays near the best possible") {
    using soil::TextureClass;
    // A plan is found by trying ways to share the tap, not by a search. Over 72 such days (three
    // pairs of soils, 2 to 8 mm/h, none or one bed sprouted) its dry minutes, weighted, were 1.10
    // of the search's, single days up to 5.4 and down to 0.8; of 24 days on which some schedule has
    // none it had none on 22, an hour on two.
    struct Case {
        TextureClass first;
        TextureClass second;
        double rate_mm_per_h;
        std::optional<std::size_t> sprouted;
        double most_of_best;
    };
    const Case cases[] = {
        {TextureClass::loam, TextureClass::sandy_loam, 8, {}, 0}, // 0: some schedule has none
        {TextureClass::loam, TextureClass::sandy_loam, 4, 0, 0},
        {TextureClass::sand, TextureClass::clay_loam, 5, 0, 0},
        {TextureClass::loam, TextureClass::sandy_loam, 3, {}, 1.25},      // 1.21
        {TextureClass::loam, TextureClass::sandy_loam, 2, 1, 1.05},       // 0.97
        {TextureClass::silt_loam, TextureClass::silt_loam, 2.5, 0, 1.05}, // 1.00
        {TextureClass::silt_loam, TextureClass::silt_loam, 3, {}, 1.05},  // 1.03
    };
    constexpr Seconds kSlot{3300};
    for (const Case& c : cases) {
        Planning planning(one_at_a_time({c.first, c.second}, c.rate_mm_per_h, 11 * kSlot),
                          local(1, 6), kThirtyFive);
        if (c.sprouted)
            for (turf::SpeciesProgress& species : planning.task(*c.sprouted).state.progress.species)
                species.tau = 1.3 * species.slowness; // radicles are out, nothing is up
        const Grid grid{planning.now(), kSlot, 11, {kSlot}, local(2, 6)};
        const Toll best = best_day(planning, grid, {kEver, kEver, kEver});
        const Toll planned = planned_day(planning, grid.end);
        CAPTURE(c.rate_mm_per_h);
        CAPTURE(planned.deadly_min);
        CAPTURE(planned.dry_min);
        CAPTURE(best.deadly_min);
        CAPTURE(best.dry_min);
        CHECK((best.cost_min() == 0) == (c.most_of_best == 0));
        CHECK(planned.cost_min() <= c.most_of_best * best.cost_min());
        CHECK(planned.water_mm <= 1.2 * best.water_mm); // 1.15
    }
}
