#include "sim/season.hpp"

#include "base/check.hpp"
#include "weather/fill.hpp"

#include <algorithm>

namespace firstmow::sim {

namespace {

using engine::Input;
using engine::Moment;

constexpr Seconds kHour{3600};
constexpr Seconds kIssueEvery{6 * 3600};

class Season {
public:
    Season(const engine::Setup& setup, const SeasonPlan& plan, const SeasonListener& listener)
        : setup_(setup),
          plan_(plan),
          listener_(listener),
          state_(engine::initial_state(setup)),
          now_(plan.from) {
        const auto offset = (plan.from - plan.truth.front().start).count() / 3600;
        next_hour_ = static_cast<std::size_t>(offset);
    }

    engine::State run() {
        std::vector<Input> inputs;
        give_forecast(inputs, next_hour_);
        give_events(inputs);
        while (now_ < plan_.to) {
            const engine::StepResult result = call(inputs);
            inputs.clear();
            obey(result, inputs);
            if (!inputs.empty()) continue; // the valves have answered, at the same moment
            advance_clock(result.next_wake);
            if (now_ >= plan_.to) break;
            give_hours(inputs);
            give_events(inputs);
        }
        finish();
        return std::move(state_);
    }

private:
    Moment moment() const { return {now_, MonoTime{now_ - plan_.from}}; }

    engine::StepResult call(const std::vector<Input>& inputs) {
        engine::StepResult result = engine::step(setup_, state_, moment(), inputs);
        if (listener_.on_step) listener_.on_step(moment(), inputs, result, state_);
        return result;
    }

    WallTime hour_end(std::size_t i) const { return plan_.truth[i].start + kHour; }

    void give_forecast(std::vector<Input>& inputs, std::size_t hour) const {
        auto hours = forecast(plan_.truth, hour, plan_.forecast, plan_.seed);
        if (!hours.empty()) inputs.emplace_back(engine::ForecastArrived{std::move(hours)});
    }

    void give_hours(std::vector<Input>& inputs) {
        if (plan_.silence && now_ >= plan_.silence->from && now_ < plan_.silence->to) {
            while (next_hour_ < plan_.truth.size() && hour_end(next_hour_) <= now_)
                ++next_hour_;
            return;
        }
        const std::size_t before = next_hour_;
        while (next_hour_ < plan_.truth.size() && hour_end(next_hour_) <= now_)
            inputs.emplace_back(engine::HourObserved{plan_.truth[next_hour_++]});
        // Forecasts are issued every six hours; in between the last one holds.
        if (next_hour_ != before &&
            hour_end(next_hour_ - 1).time_since_epoch() % kIssueEvery == Seconds{0})
            give_forecast(inputs, next_hour_);
    }

    void give_events(std::vector<Input>& inputs) {
        while (next_event_ < plan_.events.size() && plan_.events[next_event_].time <= now_)
            inputs.push_back(plan_.events[next_event_++].input);
    }

    // Carries the commands out; simulated valves answer at once.
    void obey(const engine::StepResult& result, std::vector<Input>& answers) {
        for (const engine::Command& command : result.commands) {
            const bool open = std::holds_alternative<engine::OpenValve>(command);
            const std::string& zone = open ? std::get<engine::OpenValve>(command).zone
                                           : std::get<engine::CloseValve>(command).zone;
            bool& is_open = open_[zone];
            if (is_open != open && listener_.on_valve)
                listener_.on_valve({zone, channel_of(zone), open, moment().mono});
            is_open = open;
            engine::ValveReport report;
            report.zone = zone;
            report.open = open;
            answers.emplace_back(std::move(report));
        }
    }

    int channel_of(const std::string& id) const {
        for (const garden::Output& output : garden::outputs(setup_.garden))
            if (output.name == id) return output.valve.channel;
        return 0;
    }

    void advance_clock(const Moment& wake) {
        // The virtual clocks run together, so the earlier of both wakes decides.
        WallTime next = std::min(
            wake.wall, plan_.from + std::chrono::ceil<Seconds>(wake.mono.time_since_epoch()));
        if (next_hour_ < plan_.truth.size()) next = std::min(next, hour_end(next_hour_));
        if (next_event_ < plan_.events.size())
            next = std::min(next, plan_.events[next_event_].time);
        now_ = std::min(std::max(next, now_ + Seconds{1}), plan_.to);
    }

    void finish() {
        const bool open =
            std::any_of(state_.zones.begin(), state_.zones.end(),
                        [](const engine::ZoneRuntime& z) { return z.open.has_value(); });
        std::vector<Input> inputs;
        give_hours(inputs);
        if (open) inputs.emplace_back(engine::StopOrder{});
        while (!inputs.empty()) {
            const engine::StepResult result = call(inputs);
            inputs.clear();
            if (open) obey(result, inputs);
        }
        // Master valve and pump close a little after the last zone.
        using Stage = engine::SupplyLine::Stage;
        const auto closed = [&] {
            return state_.guards.master.stage == Stage::closed &&
                   state_.guards.pump.stage == Stage::closed;
        };
        for (int seconds = 0; seconds < 300 && !closed(); ++seconds) {
            now_ += Seconds{1};
            do {
                const engine::StepResult result = call(inputs);
                inputs.clear();
                obey(result, inputs);
            } while (!inputs.empty());
        }
    }

    const engine::Setup& setup_;
    const SeasonPlan& plan_;
    const SeasonListener& listener_;
    engine::State state_;
    WallTime now_;
    std::size_t next_hour_ = 0;
    std::size_t next_event_ = 0;
    std::map<std::string, bool> open_;
};

} // namespace

engine::State run_season(const engine::Setup& setup, const SeasonPlan& plan,
                         const SeasonListener& listener) {
    CHECK(!plan.truth.empty() && plan.from < plan.to);
    CHECK(plan.from >= plan.truth.front().start && plan.to <= plan.truth.back().start + kHour);
    return Season(setup, plan, listener).run();
}

std::vector<weather::Hour> complete_all(const weather::Place& place,
                                        const std::vector<weather::Reading>& readings) {
    constexpr std::size_t kBack = 72;
    std::vector<weather::Hour> hours;
    hours.reserve(readings.size());
    for (std::size_t i = 0; i < readings.size(); ++i) {
        const std::size_t first = i + 1 > kBack ? i + 1 - kBack : 0;
        hours.push_back(
            weather::complete(place, std::span(readings).subspan(first, i + 1 - first)));
    }
    return hours;
}

} // namespace firstmow::sim
