#include "rig.hpp"

#include <algorithm>
#include <chrono>
#include <utility>

namespace firstmow::trial {

Rig::Rig(garden::Garden garden, WallTime from, const Air& air)
    : setup(engine::make_setup(std::move(garden), local_zone())),
      state(engine::initial_state(setup)),
      now(from),
      air_(air),
      weather_from_(std::chrono::floor<std::chrono::hours>(from)) {}
Rig::Rig(const Rig&) = default;
Rig::Rig(Rig&&) noexcept = default;
Rig& Rig::operator=(const Rig&) = default;
Rig& Rig::operator=(Rig&&) noexcept = default;
Rig::~Rig() = default;

std::vector<engine::Command> Rig::tell(const std::vector<Input>& inputs) {
    const engine::StepResult result = engine::step(setup, state, {now, mono}, inputs);
    records.insert(records.end(), result.records.begin(), result.records.end());
    commands.insert(commands.end(), result.commands.begin(), result.commands.end());
    for (const auto& command : result.commands)
        check(command);
    wake_ = result.next_wake;
    CHECK((wake_.wall > now || wake_.mono > mono));
    return result.commands;
}

void Rig::say(std::vector<Input> inputs) {
    for (int turns = 0; turns < 20; ++turns) {
        const auto given = tell(inputs);
        inputs = answers(given);
        if (inputs.empty()) return;
    }
    FAIL("engine and valves never come to rest");
}

void Rig::run_to(WallTime until) {
    if (!wake_.wall.time_since_epoch().count()) say(weather());
    while (now < until) {
        const Seconds to_mono = std::chrono::ceil<Seconds>(wake_.mono - mono);
        Seconds step = std::min({wake_.wall - now, to_mono, until - now});
        step = std::min(step, std::chrono::floor<std::chrono::hours>(now) + kHour - now);
        pass(std::max(step, Seconds{1}));
        say(weather());
    }
}

engine::GardenView Rig::view() const {
    return engine::view(setup, state, {now, mono});
}

std::vector<engine::Notice> Rig::notices(const std::string& code) const {
    std::vector<engine::Notice> found;
    for (const auto& notice : only<engine::Notice>(records))
        if (notice.code == code) found.push_back(notice);
    return found;
}

std::size_t Rig::openings() const {
    std::size_t count = 0;
    for (const auto& command : commands)
        count += std::holds_alternative<engine::OpenValve>(command);
    return count;
}

std::vector<Input> Rig::weather() {
    std::vector<Input> inputs;
    const WallTime hour = std::chrono::floor<std::chrono::hours>(now);
    if (hour <= told_until_) return inputs;
    if (measured)
        for (WallTime h = std::max(told_until_, weather_from_); h < hour; h += kHour)
            inputs.emplace_back(engine::HourObserved{hour_at(h)});
    if (forecast) inputs.emplace_back(engine::ForecastArrived{clear_hours(hour, 60, air_)});
    told_until_ = hour;
    return inputs;
}

void Rig::check(const engine::Command& command) {
    const auto* const opening = std::get_if<engine::OpenValve>(&command);
    const std::string& id =
        opening != nullptr ? opening->zone : std::get<engine::CloseValve>(command).zone;
    double flow = 0;
    std::optional<std::size_t> index;
    for (std::size_t i = 0; i < setup.garden.zones.size(); ++i) {
        if (setup.garden.zones[i].id == id) index = i;
        if (state.zones[i].open) flow += setup.garden.zones[i].flow_l_per_min();
    }
    if (id == garden::kMasterValve || id == garden::kPump) return;
    REQUIRE(index);
    CHECK(flow <= setup.garden.supply.flow_l_per_min + 1e-6);
    if (opening == nullptr) return;
    CHECK(opening->lease > Seconds{0});
    REQUIRE(state.zones[*index].open);
    // Opened while it is open: only to let a person's order run on.
    if (open[id]) CHECK(state.zones[*index].open->reason == "person");
}

std::vector<Input> Rig::answers(const std::vector<engine::Command>& given) {
    std::vector<Input> inputs;
    for (const auto& command : given) {
        const auto* const opening = std::get_if<engine::OpenValve>(&command);
        engine::ValveReport report;
        report.open = opening != nullptr;
        report.zone = report.open ? opening->zone : std::get<engine::CloseValve>(command).zone;
        if (valve) {
            const auto said = valve(report.zone, report.open);
            if (!said) continue;
            report = *said;
        }
        open[report.zone] = report.open;
        inputs.emplace_back(report);
    }
    return inputs;
}

} // namespace firstmow::trial
