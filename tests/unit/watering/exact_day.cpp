#include "exact_day.hpp"

#include <algorithm>
#include <array>
#include <cstdint>

namespace firstmow::trial {

using namespace watering;

namespace {

const Air kThirtyFive{27, 8, 11, 3};

double minutes(Seconds time) {
    return static_cast<double>(time.count()) / 60;
}

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

} // namespace

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

namespace {

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

} // namespace

BestDay best_day(Planning& planning, const Grid& grid, const Toll& most) {
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
    const double enough_mm = most.water_mm + least_mm - most_saved_mm;
    const bool certain = best.toll.water_mm < kEver && best.toll.water_mm <= enough_mm;
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
    return {toll, certain};
}

std::unique_ptr<Planning> busy_day(const BusyDay& day) {
    std::vector<garden::Zone> zones;
    for (const soil::TextureClass soil : {day.first, day.second}) {
        zones.push_back(seed_zone("z" + std::to_string(zones.size() + 1), soil));
        zones.back().precipitation_rate_mm_per_h = day.rate_mm_per_h;
    }
    auto garden = garden_of(zones, 1.2 * zones[0].flow_l_per_min());
    garden.supply.hours = {{6 * 3600, 6 * 3600 + static_cast<int>(day.open.count())}};
    auto planning = std::make_unique<Planning>(std::move(garden), local(1, 6), kThirtyFive);
    if (day.sprouted)
        for (turf::SpeciesProgress& species : planning->task(*day.sprouted).state.progress.species)
            species.tau = 1.3 * species.slowness;
    return planning;
}

} // namespace firstmow::trial
