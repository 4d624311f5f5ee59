#include "app/control.hpp"

#include "app/notify.hpp"
#include "host/clocks.hpp"
#include "valves/most_at_once.hpp"
#include "watering/explain.hpp"

#include <utility> // before asio: Boost 1.74 uses std::exchange without it

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <spdlog/spdlog.h>

#include <algorithm>

namespace firstmow::app {

namespace {

// The longest sleep: a wall clock that was set meanwhile is noticed by then, and the service
// manager's watchdog is fed.
constexpr Seconds kLongestSleep{10};
// What is expected of the grass is reckoned anew at least so often.
constexpr Seconds kExpectEvery{15 * 60};
// The view is made anew at least so often.
constexpr Seconds kShowEvery{60};

journal::GardenText text_of(const host::GardenFile& garden) {
    return {garden.text, garden.setup.timezone};
}

void log(const engine::Record& record) {
    if (const auto* n = std::get_if<engine::Notice>(&record)) {
        if (n->severity == engine::Severity::note)
            spdlog::info("{}", n->text);
        else
            spdlog::warn("{}", n->text);
    } else if (const auto* c = std::get_if<engine::Cycle>(&record)) {
        spdlog::info("{}: {} s of {} s, {:.2f} mm, {} ({})", c->zone, c->run_s, c->planned_s,
                     c->depth_mm, c->reason, engine::key(c->outcome));
    } else if (const auto* p = std::get_if<engine::PhaseRecord>(&record)) {
        spdlog::info("{}: now {}: {}", p->zone, turf::name(p->to), p->why);
    }
}

bool changes_the_day(const engine::Input& input) {
    return !std::holds_alternative<engine::HourObserved>(input) &&
           !std::holds_alternative<engine::ForecastArrived>(input) &&
           !std::holds_alternative<engine::ValveReport>(input) &&
           !std::holds_alternative<engine::Remark>(input);
}

// Orders and valves change nothing of how the grass will come on before the next hour is settled.
bool changes_the_grass(const engine::Input& input) {
    return !std::holds_alternative<engine::WaterOrder>(input) &&
           !std::holds_alternative<engine::StopOrder>(input) &&
           !std::holds_alternative<engine::HoldOrder>(input) &&
           !std::holds_alternative<engine::HoldRelease>(input) &&
           !std::holds_alternative<engine::ValveReport>(input) &&
           !std::holds_alternative<engine::SensorReading>(input) &&
           !std::holds_alternative<engine::Remark>(input);
}

} // namespace

struct Control::Timer {
    explicit Timer(boost::asio::io_context& io) : wake(io) {}
    boost::asio::steady_timer wake;
};

Control::Control(boost::asio::io_context& io, host::GardenFile garden,
                 std::optional<journal::Restored> restored, store::StoreWorker& journal)
    : io_(io),
      garden_(std::move(garden)),
      state_(engine::initial_state(garden_.setup)),
      journal_(journal),
      recorder_(restored ? restored->last_seq : 0),
      timer_(std::make_unique<Timer>(io)),
      foreseer_(io) {
    const engine::Moment now = host::moment_now();
    last_turn_ = now.mono;
    if (restored) last_known_ = restored->last_wall;
    if (!restored) {
        write_down(recorder_.garden(now, text_of(garden_), garden_.setup, state_));
        return;
    }
    state_ = std::move(restored->state);
    inbox_.emplace_back(engine::Restarted{});
    if (restored->garden.toml != garden_.text ||
        restored->garden.timezone.eras() != garden_.setup.timezone.eras()) {
        // The cycles that were open belong to the garden of before: they are ended under it.
        (void)leave(restored->setup, now, std::exchange(inbox_, {}));
        state_ = engine::adopt(restored->setup, state_, garden_.setup);
        write_down(recorder_.garden(now, text_of(garden_), garden_.setup, state_));
        spdlog::info("the garden file has changed since the last run; the season goes on with it");
    }
}

Control::~Control() {
    stop();
}

Status Control::take_valves() {
    const garden::Garden& garden = garden_.setup.garden;
    auto board = valves::Switchboard::start(
        io_, garden::outputs(garden), garden_.path,
        [this](engine::ValveReport report) { push(std::move(report)); },
        valves::most_at_once(garden));
    if (!board) return board.error();
    valves_ = std::move(*board);
    valves_->on_alarm([this](std::string text) {
        push(engine::Remark{engine::Severity::alarm, "valve_keeper", std::move(text)});
    });
    return Done{};
}

void Control::push(engine::Input input, std::function<void()> done) {
    if (stopped_) return;
    inbox_.push_back(std::move(input));
    if (done) waiting_.push_back(std::move(done));
    schedule_turn();
}

void Control::schedule_turn() {
    if (turn_scheduled_ || stopped_) return;
    turn_scheduled_ = true;
    boost::asio::post(io_, [this] {
        turn_scheduled_ = false;
        if (!stopped_) turn();
    });
}

void Control::tell(const engine::Record& record) const {
    log(record);
    if (hear_record_) hear_record_(record);
}

void Control::turn() {
    const engine::Moment now = host::moment_now();
    notify_service_manager("WATCHDOG=1");
    if (!clock_known_ && !know_clock(now)) return;
    std::vector<engine::Input> inputs = std::exchange(inbox_, {});
    judge_clock(inputs);
    const auto waiting = std::exchange(waiting_, {});
    if (inputs.empty() && now.wall < wake_.wall && now.mono < wake_.mono) {
        // Nothing to say to the engine yet: sleep on. What people see moves with the minutes.
        last_turn_ = now.mono;
        if (now.wall - view_->time >= kShowEvery || now.wall < view_->time) show(now);
        arm(wake_);
        return;
    }
    engine::StepResult result = engine::step(garden_.setup, state_, now, inputs);
    last_turn_ = now.mono;
    wake_ = result.next_wake;
    for (const engine::Record& record : result.records)
        tell(record);
    const engine::StepResult orders{result.commands, {}, result.next_wake};
    store::Step step = recorder_.step(now, inputs, std::move(result), garden_.setup, state_);
    const Date today = garden_.setup.timezone.local_date(now.wall);
    if (today != snapshot_day_) {
        // Once a day, and at the first step: bounds what a restart must re-run.
        snapshot_day_ = today;
        step.snapshot = recorder_.snapshot(now.wall, text_of(garden_), garden_.setup, state_);
        journal_.post_upkeep(now.wall);
    }
    carry_out(orders, write_down(std::move(step)));
    // What a person has just changed makes another day of it.
    if (std::any_of(inputs.begin(), inputs.end(), changes_the_day)) foresight_.reset();
    if (std::any_of(inputs.begin(), inputs.end(), changes_the_grass)) prospects_.clear();
    show(now);
    look_ahead(now);
    for (const auto& done : waiting)
        done();
    arm(wake_);
}

bool Control::know_clock(const engine::Moment& now) {
    if (host::clock_is_plausible(now.wall, last_known_)) {
        clock_known_ = true;
        return true;
    }
    // Every valve is closed; what comes in waits until there is a time to write beside it.
    if (!clock_said_)
        spdlog::warn("the clock says {}, which cannot be; waiting for the time",
                     to_iso8601(now.wall));
    clock_said_ = true;
    last_turn_ = now.mono;
    arm({now.wall + kLongestSleep, now.mono + kLongestSleep});
    return false;
}

void Control::judge_clock(std::vector<engine::Input>& inputs) {
    // Once set it stays so for this run: what it then drifts is no matter to a lawn.
    if (!clock_set_) clock_set_ = host::clock_is_set(garden_.setup.garden.site.clock);
    if (clock_set_ == state_.guards.clock_trusted) return;
    inputs.insert(inputs.begin(), engine::ClockState{clock_set_});
}

std::optional<std::string> Control::refusal(const engine::Input& input) const {
    return engine::refusal(garden_.setup, state_, host::moment_now(), input);
}

bool Control::water_runs() const {
    return std::any_of(state_.zones.begin(), state_.zones.end(),
                       [](const engine::ZoneRuntime& z) { return z.open.has_value(); });
}

bool Control::write_down(store::Step step) {
    const Status taken = journal_.post_step(std::move(step));
    if (!taken) spdlog::error("the journal does not take the step: {}", taken.error().message);
    return taken.ok();
}

void Control::carry_out(const engine::StepResult& result, bool may_open) {
    for (const engine::Command& command : result.commands) {
        if (const auto* shut = std::get_if<engine::CloseValve>(&command)) {
            if (valves_) valves_->close(shut->zone);
            continue;
        }
        const auto& order = std::get<engine::OpenValve>(command);
        if (valves_ && may_open) {
            valves_->open(order.zone, order.lease);
            continue;
        }
        engine::ValveReport refused;
        refused.zone = order.zone;
        refused.fault = true;
        refused.detail = may_open ? "no valves" : "the journal cannot be written";
        push(std::move(refused));
    }
}

void Control::show(const engine::Moment& now) {
    if (now.wall - prospects_of_ >= kExpectEvery || now.wall < prospects_of_) prospects_.clear();
    if (prospects_.empty()) {
        prospects_ = engine::prospects(garden_.setup, state_, now.wall);
        prospects_of_ = now.wall;
    }
    engine::GardenView view = engine::view(garden_.setup, state_, now, prospects_);
    if (foresight_) engine::put_into(view, *foresight_);
    view_ = std::make_shared<const engine::GardenView>(std::move(view));
    if (hear_) hear_();
}

void Control::look_ahead(const engine::Moment& now) {
    foreseer_.look(
        garden_.setup, state_, now, [this, garden = garden_number_](engine::Foresight seen) {
            if (stopped_ || garden != garden_number_) return;
            std::vector<engine::ZoneEarth> earth;
            for (engine::ZoneForesight& zone : seen.zones)
                earth.push_back(std::move(zone.earth));
            earth_ = std::make_shared<const std::vector<engine::ZoneEarth>>(std::move(earth));
            foresight_ = std::move(seen);
            show(host::moment_now());
        });
}

bool Control::foresee(std::vector<engine::Input> inputs, Foreseer::Answer answer) {
    if (stopped_ || !view_) return false;
    return foreseer_.ask(garden_.setup, state_, host::moment_now(), std::move(inputs),
                         std::move(answer));
}

void Control::arm(const engine::Moment& wake) {
    const engine::Moment now = host::moment_now();
    Millis sleep = std::min<Millis>(wake.mono - now.mono, wake.wall - now.wall);
    sleep = std::clamp<Millis>(sleep, Millis{0}, kLongestSleep);
    timer_->wake.expires_after(sleep);
    timer_->wake.async_wait([this](const boost::system::error_code& fault) {
        if (!fault) schedule_turn();
    });
}

std::vector<engine::Input> Control::closed_reports(const engine::Setup& setup) const {
    std::vector<engine::Input> reports;
    for (std::size_t i = 0; i < state_.zones.size(); ++i) {
        if (!state_.zones[i].open) continue;
        engine::ValveReport report;
        report.zone = setup.garden.zones[i].id;
        // One that was only asked to open is not ended by a "closed": that could be old news.
        const auto stage = state_.zones[i].open->stage;
        if (stage == engine::OpenCycle::Stage::opening ||
            stage == engine::OpenCycle::Stage::priming) {
            report.open = true;
            reports.emplace_back(report);
            report.open = false;
        }
        reports.emplace_back(std::move(report));
    }
    return reports;
}

std::vector<engine::Input> Control::leave(const engine::Setup& setup, const engine::Moment& now,
                                          std::vector<engine::Input> inputs) {
    std::vector<engine::Input> orders;
    // A zone that was ended rests, so this comes to an end; should it not, a fault ends it.
    const std::size_t enough = 2 * state_.zones.size() + 2;
    for (std::size_t turn = 0; !inputs.empty(); ++turn) {
        engine::StepResult result = engine::step(setup, state_, now, inputs);
        for (const engine::Record& record : result.records)
            tell(record);
        for (const engine::Command& command : result.commands) {
            const auto* const open = std::get_if<engine::OpenValve>(&command);
            for (std::size_t i = 0; open != nullptr && i < state_.zones.size(); ++i) {
                const auto& cycle = state_.zones[i].open;
                if (setup.garden.zones[i].id == open->zone && cycle &&
                    cycle->reason == watering::key(watering::Reason::person))
                    orders.emplace_back(engine::WaterOrder{open->zone, cycle->planned_s});
            }
        }
        write_down(recorder_.step(now, inputs, std::move(result), setup, state_));
        inputs = closed_reports(setup);
        if (turn < enough) continue;
        for (engine::Input& input : inputs) {
            std::get<engine::ValveReport>(input).open = false;
            std::get<engine::ValveReport>(input).fault = true;
        }
    }
    return orders;
}

Status Control::change_garden(host::GardenFile garden) {
    // SAFE: water off first, by the drivers of the garden that opened it.
    if (valves_) {
        if (const Status closed = valves_->close_all(); !closed) return closed;
    }
    valves_.reset();
    // What those drivers have still to say is settled with that.
    std::erase_if(inbox_, [](const engine::Input& input) {
        return std::holds_alternative<engine::ValveReport>(input);
    });
    const engine::Moment now = host::moment_now();
    const std::vector<engine::Input> orders =
        leave(garden_.setup, now, closed_reports(garden_.setup));
    state_ = engine::adopt(garden_.setup, state_, garden.setup);
    garden_ = std::move(garden);
    foresight_.reset();
    prospects_.clear();
    earth_.reset();
    foreseer_.forget();
    ++garden_number_;
    write_down(recorder_.garden(now, text_of(garden_), garden_.setup, state_));
    wake_ = {}; // plan at once
    if (const Status taken = take_valves(); !taken) return taken;
    // What a person ordered and was about to begin is asked for again.
    for (const engine::Input& order : orders)
        push(order);
    schedule_turn();
    return Done{};
}

void Control::abandon() {
    stopped_ = true;
    timer_->wake.cancel();
    if (!valves_) return;
    if (const Status closed = valves_->close_all(); !closed)
        spdlog::error("closing all valves: {}", closed.error().message);
}

void Control::stop() {
    if (stopped_) return;
    abandon();
    std::vector<engine::Input> inputs = std::exchange(inbox_, {});
    for (engine::Input& report : closed_reports(garden_.setup))
        inputs.push_back(std::move(report));
    (void)leave(garden_.setup, host::moment_now(), std::move(inputs));
}

WallTime Control::wants_weather_from() const {
    if (state_.begun) return state_.settled_until;
    // A new season: from a little before the first zone was sown.
    WallTime from = host::wall_now() - std::chrono::days{5};
    for (const garden::Zone& zone : garden_.setup.garden.zones)
        if (zone.establishment.start)
            from = std::min(from, garden_.setup.timezone.to_wall(*zone.establishment.start, 0) -
                                      std::chrono::days{3});
    return std::max(from, host::wall_now() - std::chrono::days{400});
}

Seconds Control::since_last_turn() const {
    return std::chrono::floor<Seconds>(host::mono_now() - last_turn_);
}

} // namespace firstmow::app
