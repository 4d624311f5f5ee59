// The engine's parts, seen by each other only; engine.hpp is the door.
#pragma once

#include "engine/engine.hpp"
#include "turf/prospect.hpp"
#include "watering/outlook.hpp"

namespace firstmow::engine {

inline constexpr Seconds kPlanEvery{900};
inline constexpr Seconds kHour{3600};
// A valve that has not answered by then is asked again.
inline constexpr Seconds kAnswerWithin{5};
// The driver closes by itself so long after the planned end, should the engine fall silent.
inline constexpr Seconds kLeaseGrace{5};

// What one step gathers.
struct Work {
    const Setup& setup;
    State& state;
    Moment now;
    StepResult result;
    bool replan = false;

    void record(Record r) { result.records.push_back(std::move(r)); }
    void notify(std::string zone, Severity severity, std::string code, std::string text);
    std::size_t zone_count() const { return state.zones.size(); }
    // By id; nothing when the garden has no such zone.
    std::optional<std::size_t> zone_index(const std::string& id) const;
};

// --- orders.cpp: what came in ----------------------------------------------------------------
void take(Work& work, const Input& input);

// --- budget.cpp: weather into soil -----------------------------------------------------------
// Begins the season with this hour when it has not begun.
void begin_season(Work& work, const weather::Hour& first);
// Takes an hour that has passed into the budget of every zone, with any hours missing before it.
void settle(Work& work, const weather::Hour& hour);
// Hours that nobody has told of for long are taken for what they were thought to be, so that the
// budget does not stand still when the weather source is silent.
void settle_overdue(Work& work);
// The ids behind the numbers in Hour::sources; empty when there are none.
std::string source_names(const garden::Garden& garden, const weather::Hour& hour);
// What the model reckons with for a zone: the garden file's figures and what was learned.
watering::ZoneSpec own_spec(const Setup& setup, const State& state, std::size_t zone);
// The share of [from, to) in which the valve was open.
double open_share(const std::vector<Applied>& applied, WallTime from, WallTime to);

// --- thought.cpp: hours that nobody has measured ----------------------------------------------
// What is thought of the hour that starts at `start`: forecast, else assumed.
weather::Hour think_of(const Setup& setup, const State& state, WallTime start);
// The same as it goes into the budget: of its rain only what one counts on.
weather::Hour guessed(const Setup& setup, const State& state, WallTime start);
// The hours from the budget's end on, or from the hour of `now` on when the wall clock was set back
// behind that, as they are thought to be.
std::vector<watering::HourDemand> hours_ahead(const Setup& setup, const State& state, WallTime now,
                                              Seconds ahead);
// A zone at `now`: the budget, carried on over the hours not yet known.
// Rain less likely than `rain_from` is taken not to have fallen in them.
watering::ZoneState zone_now(const Setup& setup, const State& state, std::size_t zone,
                             watering::Hours hours, WallTime now,
                             double rain_from = watering::kLikelyRain);
// Sets what was thought of the hour beside what it became, and notes what is thought now of the
// hours that lie as far ahead as the record asks for. Hours that nobody measured teach nothing.
void keep_record(const Setup& setup, State& state, const weather::Hour& hour,
                 const watering::HourDemand& demand);
// The clouds as they were at the end of the budget.
weather::CloudMemory clouds_at(const State& state);

// --- corrections.cpp: what people and instruments see ----------------------------------------
void learn_dry(Work& work, std::size_t zone);
void learn_puddles(Work& work, std::size_t zone);
void learn_cans(Work& work, std::size_t zone, const CatchCanTest& test);
void learn_probe(Work& work, std::size_t zone, const SoilProbe& probe);
void take_back(Work& work, std::size_t zone, bool all);

// --- last_word.cpp: what a person said last, and taking it back -------------------------------
// What is so now, before a person's word is taken; `keep_word` when it has been.
LastWord word_on(const Work& work, std::size_t zone, LastWord::What what);
void keep_word(Work& work, std::size_t zone, LastWord word);
std::string key(LastWord::What what);
// A clause: "Front lawn is held until 18:00".
std::string words_of(const Setup& setup, std::size_t zone, const LastWord& word,
                     const std::optional<WallTime>& held_until, WallTime now);
// Until when it can be taken back; nothing when it cannot any more.
std::optional<WallTime> undo_until(const ZoneRuntime& zone, WallTime now);
void take_back_word(Work& work, const WordUndo& undo);
// Why it would not be taken back, a sentence.
std::optional<std::string> undo_refusal(const Setup& setup, const State& state, WallTime now,
                                        const WordUndo& undo);
// Words that are too old go.
void forget_words(Work& work);

// --- rerun.cpp: the last days once more ------------------------------------------------------
// The hours from `past` to `now`, those not yet settled as they are thought to be. Nothing when
// they are not all remembered.
std::optional<std::vector<watering::HourDemand>> hours_since(const Setup& setup, const State& state,
                                                             const Past& past, WallTime now);
// Lets a zone run from `from` to `to` with the openings that it had; `hours` begin at or before
// `from`. `flows`, and `also` when there is one, gather those of the mean.
void run_again(const watering::ZoneSpec& spec, watering::ZoneState& zone, watering::Hours hours,
               const std::vector<Applied>& applied, WallTime from, WallTime to, soil::Flows& flows,
               soil::Flows* also = nullptr);
// The zone's water and warmth as they would be had its present factors held since `past`. What
// that changes in the account goes into the next line of moisture.
void settle_again(Work& work, std::size_t zone);

// --- cycles.cpp: valves ----------------------------------------------------------------------
// Nothing is done when an interlock forbids it: then the rule.
std::optional<watering::Bar> open_valve(Work& work, std::size_t zone, int run_s,
                                        std::string reason);
void close_valve(Work& work, std::size_t zone, Outcome outcome);
void take_report(Work& work, std::size_t zone, const ValveReport& report);
// After a restart: what was open has ended, at the latest when its lease did.
void end_after_restart(Work& work, std::size_t zone);
// Closes what has run its time, asks again where a valve did not answer.
void tend_valves(Work& work);
// Of a run that has ended: what the zone, the day and the interlocks keep of it.
void account(Work& work, std::size_t zone, const Cycle& cycle);
double open_flow_l_per_min(const Setup& setup, const State& state);
// An alarm that is not told again within ten minutes.
void alarm(Work& work, const std::string& zone_id, const std::string& code, std::string text);

// --- supply.cpp: master valve and pump -------------------------------------------------------
void take_supply_report(Work& work, SupplyLine& line, const ValveReport& report);
// Opens what a zone waits for, closes what none needs any more. After everything else of a step.
void tend_supply(Work& work);
// When it must be called again, at the latest.
MonoTime supply_wake(const Work& work);
// Everything is closed; until a person releases it.
void latch_stop(Work& work, std::string why);
// Closes every zone that is open.
void close_zones(Work& work, Outcome outcome);

// --- sensors.cpp: what is measured -----------------------------------------------------------
void take_reading(Work& work, const SensorReading& reading);
// Says which have fallen silent.
void tend_sensors(Work& work);
// --- flow.cpp: what the meter says about valves, pipe and pump.
void flow_counted(Work& work, const garden::Sensor& meter, double litres);
// At the end of a run that went as it should.
void learn_flow(Work& work, std::size_t zone);
// What the gauge says goes before the source's rain.
void correct_rain(const Setup& setup, const State& state, weather::Hour& hour, WallTime now);

// --- advice.cpp: what a person should do for the grass ----------------------------------------
// Says what is due and has not been said.
void advise(Work& work);
// After a report: what it taught, before and after, on the record. `expected`: before it.
void note_lesson(Work& work, std::size_t zone, turf::ObservationKind kind,
                 const turf::Progress& before, const turf::Prospect& expected);

// --- replan.cpp: what next -------------------------------------------------------------------
void replan(Work& work);
// The first grid moment after `t` at which plans are made.
WallTime next_plan_after(WallTime t);

WallTime floor_hour(WallTime t);

} // namespace firstmow::engine
