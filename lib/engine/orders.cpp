// What came in: weather, people's words, valves' answers.
#include "engine/interlocks.hpp"
#include "engine/parts.hpp"

#include "base/check.hpp"
#include "engine/growth.hpp"
#include "watering/explain.hpp"
#include "watering/firm.hpp"

#include <algorithm>
#include <utility>

namespace firstmow::engine {

namespace {

// After a person closes a valve, the plan leaves the zone alone for so long.
constexpr Seconds kRestAfterStop{3600};
// Standing water needs time to sink in before more comes.
constexpr Seconds kRestAfterPuddles{4 * 3600};
// An order that the tap could not serve by then is dropped: its person has gone indoors.
constexpr Seconds kOrderWaits{2 * 3600};
constexpr std::size_t kMostForecastHours = 400;
constexpr Seconds kMowAhead{14 * 86400};

std::string now_words(const Work& work, WallTime t) {
    return watering::clock_words(t, work.setup.timezone, work.now.wall);
}

// What is said otherwise than `before`.
void record_changes(Work& work, const std::vector<weather::Hour>& before) {
    for (const weather::Hour& hour : work.state.forecast) {
        const auto index =
            before.empty() ? -1 : (hour.start - before.front().start).count() / kHour.count();
        if (index >= 0 && index < static_cast<std::int64_t>(before.size()) &&
            before[static_cast<std::size_t>(index)] == hour)
            continue;
        work.record(ForecastSaid{work.now.wall, hour, source_names(work.setup.garden, hour)});
    }
}

void take_forecast(Work& work, const ForecastArrived& forecast) {
    std::vector<weather::Hour> hours = forecast.hours;
    if (hours.size() > kMostForecastHours) hours.resize(kMostForecastHours);
    // Hours must follow each other; what comes after a gap is not used.
    for (std::size_t i = 1; i < hours.size(); ++i) {
        if (hours[i].start == hours[i - 1].start + kHour) continue;
        hours.resize(i);
        break;
    }
    std::swap(work.state.forecast, hours);
    record_changes(work, hours);
    work.replan = true;
}

void stop_zone(Work& work, std::size_t zone) {
    ZoneRuntime& z = work.state.zones[zone];
    z.ordered_s = 0;
    z.owed_s = 0;
    z.not_before = std::max(z.not_before, work.now.wall + kRestAfterStop);
    if (z.open) close_valve(work, zone, Outcome::stopped);
    work.replan = true;
}

int whole_length(const Moment& now, const OpenCycle& cycle, int more_s);

class Taker {
public:
    explicit Taker(Work& work) : work_(work) {}

    void operator()(const HourObserved& in) {
        settle(work_, in.hour);
        work_.replan = true;
    }
    void operator()(const ForecastArrived& in) { take_forecast(work_, in); }

    void operator()(const WaterOrder& in) {
        const auto zone = known(in.zone);
        if (!zone) return;
        if (auto why = refusal(work_.setup, work_.state, work_.now, in)) {
            work_.notify(in.zone, Severity::warning, "order_refused", std::move(*why));
            return;
        }
        ZoneRuntime& z = work_.state.zones[*zone];
        LastWord word = word_on(work_, *zone, LastWord::What::water);
        word.run_s = in.run_s;
        if (z.open && z.open->stage == OpenCycle::Stage::running) {
            // Already running: it goes on for so long from now.
            z.open->planned_s = whole_length(work_.now, *z.open, in.run_s);
            z.open->reason = watering::key(watering::Reason::person);
            work_.result.commands.push_back(OpenValve{in.zone, Seconds{in.run_s} + kLeaseGrace});
            z.word.reset(); // what was said before is overtaken
        } else {
            z.ordered_s = in.run_s;
            z.ordered_until = work_.now.wall + kOrderWaits;
            keep_word(work_, *zone, std::move(word));
        }
        z.not_before = work_.now.wall;
        work_.replan = true;
    }

    void operator()(const StopOrder& in) {
        if (!in.zone.empty()) {
            if (const auto zone = known(in.zone)) stop_zone(work_, *zone);
            return;
        }
        for (std::size_t i = 0; i < work_.zone_count(); ++i)
            stop_zone(work_, i);
        work_.notify("", Severity::note, "all_stopped",
                     "A person closed everything; planned runs go on after " +
                         now_words(work_, work_.now.wall + kRestAfterStop) + ".");
    }

    void operator()(const HoldOrder& in) {
        const auto zone = known(in.zone);
        if (!zone) return;
        ZoneRuntime& z = work_.state.zones[*zone];
        keep_word(work_, *zone, word_on(work_, *zone, LastWord::What::hold));
        z.hold_until = in.until;
        z.owed_s = 0;
        if (z.open && z.open->reason != watering::key(watering::Reason::person))
            close_valve(work_, *zone, Outcome::stopped);
        work_.replan = true;
    }

    void operator()(const HoldRelease& in) {
        const auto zone = known(in.zone);
        if (!zone) return;
        ZoneRuntime& z = work_.state.zones[*zone];
        if ((z.hold_until && *z.hold_until > work_.now.wall) || z.guard.lock)
            keep_word(work_, *zone, word_on(work_, *zone, LastWord::What::release));
        z.hold_until.reset();
        if (std::exchange(z.guard.lock, std::nullopt))
            work_.notify(in.zone, Severity::note, "lock_released",
                         "A person unlocked " + work_.setup.garden.zones[*zone].name + ".");
        work_.replan = true;
    }

    void operator()(const MowPlan& in) {
        const auto zone = known(in.zone);
        if (!zone) return;
        ZoneRuntime& z = work_.state.zones[*zone];
        const std::string& name = work_.setup.garden.zones[*zone].name;
        if (!in.at && !z.mow_at) return; // there is nothing to take back
        LastWord word = word_on(work_, *zone, LastWord::What::mow);
        word.mow_said = in.at;
        keep_word(work_, *zone, std::move(word));
        z.mow_at = in.at;
        work_.replan = true;
        if (!in.at) {
            work_.notify(in.zone, Severity::note, "mow_not_planned",
                         "No mow is planned on " + name + " any more; water goes by plan.");
            return;
        }
        const turf::Needs needs = turf::needs(z.settled.progress, work_.now.wall);
        work_.notify(
            in.zone, Severity::note, "mow_planned",
            name + " is to be mown at " + now_words(work_, *in.at) + ": no planned water from " +
                now_words(work_, watering::firm_for(needs, *in.at).from) + " until it is done" +
                (needs.judge_root_zone ? "." : ", unless the seedbed would dry."));
    }

    void operator()(const Observation& in) {
        const auto zone = known(in.zone);
        if (!zone) return;
        ZoneRuntime& z = work_.state.zones[*zone];
        const std::string& name = work_.setup.garden.zones[*zone].name;
        LastWord word = word_on(work_, *zone, LastWord::What::report);
        word.seen = in.kind;
        if (in.kind == turf::ObservationKind::surface_dry) {
            learn_dry(work_, *zone);
            z.reported_dry = true;
            z.not_before = work_.now.wall;
            work_.notify(in.zone, Severity::note, "reported_dry",
                         name + " was reported dry on top; it is watered as soon as it may be.");
        } else if (in.kind == turf::ObservationKind::puddling) {
            learn_puddles(work_, *zone);
            z.owed_s = 0;
            z.not_before = std::max(z.not_before, work_.now.wall + kRestAfterPuddles);
            if (z.open) close_valve(work_, *zone, Outcome::stopped);
            work_.notify(in.zone, Severity::note, "reported_puddles",
                         "Water stands on " + name + "; it rests until " +
                             now_words(work_, z.not_before) + ".");
        }
        if (in.kind == turf::ObservationKind::first_mow || in.kind == turf::ObservationKind::mown)
            z.mow_at.reset();
        const turf::Progress before = z.settled.progress;
        const turf::Prospect expected =
            prospect_of(work_.setup, work_.state, *zone, work_.now.wall);
        const auto change = turf::observe(z.settled.progress, in.kind, work_.now.wall);
        if (change)
            work_.record(
                PhaseRecord{work_.now.wall, in.zone, change->from, change->to, change->why});
        note_lesson(work_, *zone, in.kind, before, expected);
        keep_word(work_, *zone, std::move(word));
        work_.replan = true;
    }

    void operator()(const CatchCanTest& in) {
        if (const auto zone = known(in.zone)) learn_cans(work_, *zone, in);
    }
    void operator()(const SoilProbe& in) {
        if (const auto zone = known(in.zone)) learn_probe(work_, *zone, in);
    }
    void operator()(const CorrectionUndo& in) {
        if (const auto zone = known(in.zone)) take_back(work_, *zone, in.all);
    }

    void operator()(const WordUndo& in) { take_back_word(work_, in); }

    void operator()(const EmergencyStop& in) { latch_stop(work_, in.why); }

    void operator()(const EmergencyRelease&) {
        Guards& g = work_.state.guards;
        if (!g.stop) return;
        if (g.button) {
            work_.notify("", Severity::warning, "release_refused",
                         "The emergency stop is not released: its button is still pressed.");
            return;
        }
        g.stop.reset();
        work_.notify("", Severity::note, "stop_released",
                     "A person released the emergency stop; planned runs go on.");
        work_.replan = true;
    }

    void operator()(const SensorReading& in) { take_reading(work_, in); }

    void operator()(const ClockState& in) {
        Guards& g = work_.state.guards;
        if (g.clock_trusted == in.trusted) return;
        g.clock_trusted = in.trusted;
        if (in.trusted)
            work_.notify("", Severity::note, "clock_trusted",
                         "The time is known now; planned runs begin.");
        else
            work_.notify("", Severity::warning, "clock_untrusted",
                         "The time of this machine has not been set since it started; planned runs "
                         "wait for that, orders do not.");
        work_.replan = true;
    }

    void operator()(const ValveReport& in) {
        if (in.zone == garden::kMasterValve || in.zone == garden::kPump) {
            Guards& g = work_.state.guards;
            take_supply_report(work_, in.zone == garden::kPump ? g.pump : g.master, in);
            return;
        }
        if (const auto zone = known(in.zone)) take_report(work_, *zone, in);
    }

    void operator()(const Restarted&) {
        carry_over(work_.state, work_.now);
        for (std::size_t i = 0; i < work_.zone_count(); ++i) {
            end_after_restart(work_, i);
        }
        for (const garden::Output& output : garden::outputs(work_.setup.garden))
            work_.result.commands.push_back(CloseValve{output.name});
        work_.replan = true;
    }

    void operator()(const Remark& in) { work_.notify("", in.severity, in.code, in.text); }

private:
    // Whoever sends an order has checked the zone; a zone that a reload removed is no fault.
    std::optional<std::size_t> known(const std::string& id) {
        const auto zone = work_.zone_index(id);
        if (!zone)
            work_.notify("", Severity::warning, "unknown_zone",
                         "An order named the zone '" + id + "', which this garden does not have.");
        return zone;
    }

    Work& work_;
};

// The whole length of a run that shall go on for `more_s` from now.
int whole_length(const Moment& now, const OpenCycle& cycle, int more_s) {
    const Millis ran = now.mono - cycle.mono_start;
    return static_cast<int>(std::chrono::ceil<Seconds>(ran).count()) + more_s;
}

} // namespace

std::optional<std::string> refusal(const Setup& setup, const State& state, const Moment& now,
                                   const Input& input) {
    if (std::holds_alternative<EmergencyRelease>(input) && state.guards.button)
        return "the button of the emergency stop is still pressed";
    if (const auto* const undo = std::get_if<WordUndo>(&input))
        return undo_refusal(setup, state, now.wall, *undo);
    if (const auto* const mow = std::get_if<MowPlan>(&input); mow != nullptr && mow->at) {
        if (*mow->at <= now.wall) return "the mow lies in the past; report it as mown instead";
        if (*mow->at > now.wall + kMowAhead)
            return "a mow can be planned for the coming fortnight, not for later";
    }
    const auto* const order = std::get_if<WaterOrder>(&input);
    if (order == nullptr) return std::nullopt;
    for (std::size_t i = 0; i < state.zones.size(); ++i) {
        if (setup.garden.zones[i].id != order->zone) continue;
        if (order->run_s < 1)
            return "an order of no water is none; a minute or more would be right";
        const auto& open = state.zones[i].open;
        const bool running = open && open->stage == OpenCycle::Stage::running;
        const auto bar =
            rule_on(setup, state, now, i,
                    running ? whole_length(now, *open, order->run_s) : order->run_s, Asker::person);
        if (!bar || (!running && passes_soon(bar->reason))) return std::nullopt;
        return "No water for " + setup.garden.zones[i].name +
               " now: " + watering::bar_words(*bar, setup.timezone, now.wall) + ".";
    }
    return std::nullopt;
}

void take(Work& work, const Input& input) {
    std::visit(Taker(work), input);
}

} // namespace firstmow::engine
