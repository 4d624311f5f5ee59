#include "engine/foresight.hpp"

#include "base/check.hpp"
#include "engine/parts.hpp"

#include <algorithm>

namespace firstmow::engine {

namespace {

constexpr Seconds kCourseEvery{1800};
constexpr Seconds kLineEvery{600}; // of moisture
constexpr std::chrono::days kFarthest{7};

class Traveller {
public:
    Traveller(const Setup& setup, const State& state, const Moment& now, Seconds ahead,
              bool with_earth)
        : setup_(setup), state_(state), now_(now), until_(now.wall + ahead), earth_(with_earth) {
        seen_.from = now.wall;
        seen_.until = until_;
        for (const garden::Zone& zone : setup.garden.zones)
            seen_.zones.push_back({zone.id, {}, {}, {}, 0, {}, 0, {}});
        for (std::size_t i = 0; earth_ && i < seen_.zones.size(); ++i)
            seen_.zones[i].earth = earth_behind(setup, state, i, now.wall);
    }

    Foresight travel(std::span<const Input> first) {
        std::vector<Input> inputs(first.begin(), first.end());
        while (now_.wall < until_) {
            give_hours(inputs);
            const StepResult result = step(setup_, state_, now_, inputs);
            inputs.clear();
            take(result);
            obey(result, inputs);
            if (!inputs.empty()) continue;
            look_at_earth();
            go_on(result.next_wake);
        }
        return std::move(seen_);
    }

private:
    // Hours that have ended on the way, as they are expected now.
    void give_hours(std::vector<Input>& inputs) const {
        if (!state_.begun) return;
        for (WallTime start = state_.settled_until; start + kHour <= now_.wall; start += kHour)
            inputs.emplace_back(HourObserved{guessed(setup_, state_, start)});
    }

    void take(const StepResult& result) {
        for (const Record& record : result.records) {
            if (const auto* line = std::get_if<Moisture>(&record)) take_line(*line);
            const auto* decision = std::get_if<Decision>(&record);
            if (decision == nullptr || decision->verdict != Verdict::run) continue;
            for (ZoneForesight& zone : seen_.zones)
                if (zone.zone == decision->zone)
                    zone.runs.push_back({now_.wall, decision->run_s, decision->reason});
        }
    }

    void take_line(const Moisture& line) {
        if (line.time <= seen_.from) return;
        for (std::size_t i = 0; i < seen_.zones.size(); ++i) {
            ZoneForesight& zone = seen_.zones[i];
            if (zone.zone != line.zone) continue;
            zone.lowest_kpa = std::min(zone.lowest_kpa, line.low_quarter_kpa);
            // 0: the roots are judged then, not the seed's layer, and no such moment is too dry.
            if (line.threshold_kpa < 0 && line.low_quarter_kpa < line.threshold_kpa)
                take_dry(zone, line);
            if (line.time.time_since_epoch() % kCourseEvery == Seconds{0})
                zone.course.push_back({line.time, line.seed_zone_kpa, line.low_quarter_kpa});
        }
    }

    // The engine wakes each quarter of an hour, so no half hour is missed.
    void look_at_earth() {
        if (!earth_ || !state_.begun || now_.wall.time_since_epoch() % kEarthEvery != Seconds{0})
            return;
        for (std::size_t i = 0; i < seen_.zones.size(); ++i) {
            ZoneEarth& earth = seen_.zones[i].earth;
            if (earth.points.empty() || earth.points.back().time < now_.wall)
                add_earth(earth, setup_, state_, i, now_.wall);
        }
    }

    static void take_dry(ZoneForesight& zone, const Moisture& line) {
        constexpr std::size_t kMostSpells = 20;
        if (!zone.dry_from) zone.dry_from = line.time;
        zone.dry_hours += static_cast<double>(kLineEvery.count()) / 3600.0;
        const WallTime from = line.time - kLineEvery;
        const bool goes_on = !zone.spells.empty() && zone.spells.back().until == from;
        if (!goes_on && zone.spells.size() == kMostSpells) return;
        if (!goes_on) zone.spells.push_back({from, from, 0});
        zone.spells.back().until = line.time;
        zone.spells.back().lowest_kpa =
            std::min(zone.spells.back().lowest_kpa, line.low_quarter_kpa);
    }

    static void obey(const StepResult& result, std::vector<Input>& answers) {
        for (const Command& command : result.commands) {
            ValveReport report;
            report.open = std::holds_alternative<OpenValve>(command);
            report.zone = report.open ? std::get<OpenValve>(command).zone
                                      : std::get<CloseValve>(command).zone;
            answers.emplace_back(std::move(report));
        }
    }

    void go_on(const Moment& wake) {
        // Both clocks run together here, so the earlier of both wakes decides.
        WallTime next =
            std::min(wake.wall, now_.wall + std::chrono::ceil<Seconds>(wake.mono - now_.mono));
        if (state_.begun) next = std::min(next, state_.settled_until + kHour);
        next = std::max(next, now_.wall + Seconds{1});
        now_.mono += next - now_.wall;
        now_.wall = next;
    }

    const Setup& setup_;
    State state_;
    Moment now_;
    WallTime until_;
    bool earth_;
    Foresight seen_;
};

} // namespace

Foresight foresee(const Setup& setup, const State& state, const Moment& now, Seconds ahead,
                  std::span<const Input> first, bool with_earth) {
    CHECK(ahead >= kHour && ahead <= Seconds{kFarthest});
    return Traveller(setup, state, now, ahead, with_earth).travel(first);
}

void put_into(GardenView& view, const Foresight& foresight) {
    if (view.time >= foresight.until || view.time < foresight.from) return;
    for (const ShortfallView& shortfall : foresight.shortfalls)
        if (shortfall.until > view.time && !shortfall.spells.empty() &&
            shortfall.spells.back().until > view.time)
            view.shortfalls.push_back(shortfall);
    for (ZoneView& zone : view.zones) {
        const auto seen =
            std::find_if(foresight.zones.begin(), foresight.zones.end(),
                         [&](const ZoneForesight& other) { return other.zone == zone.id; });
        if (seen == foresight.zones.end()) continue;
        zone.planned.clear();
        for (const PlannedRun& run : seen->runs)
            if (run.start >= view.time) zone.planned.push_back(run);
        std::vector<CoursePoint> course;
        for (const CoursePoint& point : seen->course)
            if (point.time > view.time) course.push_back(point);
        if (course.size() > 1) zone.outlook = std::move(course);
    }
}

} // namespace firstmow::engine
