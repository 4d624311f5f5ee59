// A zone at a moment, ready for the planner, with everything that the planner's task points into.
#pragma once

#include "trial_garden.hpp"
#include "watering/planner.hpp"

#include <deque>

namespace firstmow::trial {

// Lets the zone live through `hours` from `from` to `to`, the valve open or not.
inline void live(const watering::ZoneSpec& spec, watering::ZoneState& state,
                 const std::vector<watering::HourDemand>& hours, WallTime from, WallTime to,
                 bool valve_open) {
    for (WallTime at = from; at < to; at += watering::kGrid) {
        const auto index = static_cast<std::size_t>((at - hours.front().start).count() / 3600);
        watering::advance(spec, state, hours.at(index), valve_open ? spec.rate_mm_per_h : 0.0,
                          watering::kGrid, at + watering::kGrid);
    }
}

// The zones of one garden at `now`, soaked two hours before.
class Planning {
public:
    Planning(garden::Garden garden, WallTime now, const Air& air = {}, int hours = 60)
        : garden_(std::move(garden)),
          timezone_(local_zone()),
          now_(now),
          weather_(clear_hours(std::chrono::floor<std::chrono::hours>(now), hours, air)) {
        const WallTime soaked = now - 2 * kHour;
        const auto before =
            demands(clear_hours(std::chrono::floor<std::chrono::hours>(soaked), 3, air));
        for (const garden::Zone& zone : garden_.zones) {
            specs_.push_back(watering::zone_spec(zone));
            const WallTime start =
                zone.establishment.start ? timezone_.to_wall(*zone.establishment.start, 0) : now;
            watering::ZoneTask task;
            task.zone = &zone;
            task.spec = &specs_.back();
            task.state = watering::initial_state(zone, specs_.back(), air.mean_c, start);
            live(specs_.back(), task.state, before, soaked, soaked + kHour, true);
            live(specs_.back(), task.state, before, soaked + kHour, now, false);
            task.needs = turf::needs(task.state.progress, now);
            task.under_way = turf::under_way(task.state.progress, now);
            task.last_wetted = soaked + kHour;
            tasks_.push_back(std::move(task));
        }
    }
    Planning(const Planning&) = delete;
    Planning& operator=(const Planning&) = delete;

    std::vector<weather::Hour>& weather() { return weather_; }
    watering::ZoneTask& task(std::size_t zone = 0) { return tasks_.at(zone); }
    const garden::Garden& garden() const { return garden_; }
    WallTime now() const { return now_; }

    // Leaves the zone without water, under the same weather, for so long. The clock stands still.
    void dry_out(std::size_t zone, int hours, const Air& air = {}) {
        const auto weather = demands(clear_hours(local(0, 10), hours, air));
        live(specs_.at(zone), tasks_.at(zone).state, weather, local(0, 10),
             local(0, 10) + hours * kHour, false);
    }

    std::vector<watering::ZonePlan> plan() {
        hours_ = demands(weather_);
        return watering::plan({now_, hours_, &garden_, &timezone_}, tasks_);
    }
    // Sets the zone's need so that the planner, cautious as it is, takes it for dry below `kpa`.
    void plan_dry_below(std::size_t zone, double kpa) {
        turf::Needs& needs = tasks_.at(zone).needs;
        const soil::Hydraulics& soil = specs_.at(zone).column.soil[0]->hydraulics();
        const double caution = soil.water_content(plan().at(zone).threshold_kpa) -
                               soil.water_content(needs.threshold_kpa);
        needs.threshold_kpa = soil.potential_kpa(soil.water_content(kpa) - caution);
    }
    const std::vector<watering::HourDemand>& hours() {
        hours_ = demands(weather_);
        return hours_;
    }
    const TimeZone& timezone() const { return timezone_; }

private:
    garden::Garden garden_;
    TimeZone timezone_;
    WallTime now_;
    std::vector<weather::Hour> weather_;
    std::deque<watering::ZoneSpec> specs_; // tasks point into it
    std::vector<watering::ZoneTask> tasks_;
    std::vector<watering::HourDemand> hours_;
};

} // namespace firstmow::trial
