// What a person said last of a zone: kept for a while, so that a slip of the thumb can be undone.
//
// Orders go back to what was so before. A report goes back by letting the zone live again without
// it from where it stood; what it taught of the zone's factors goes the way of every correction
// that is taken back. Water that has run has run, and a stop is not undone: water never comes back
// by itself.
#include "engine/parts.hpp"

#include "base/check.hpp"
#include "watering/explain.hpp"

#include <algorithm>
#include <utility>

namespace firstmow::engine {

namespace {

constexpr Seconds kUndoWithin{15 * 60};

// What the report taught, without its entry among the corrections when there is one.
void unlearn(Work& work, std::size_t zone, const LastWord& word) {
    ZoneRuntime& z = work.state.zones[zone];
    if (z.estimate == word.estimate) {
        z.heard = word.heard;
        return;
    }
    // Something else was learned since, or taken back: that stays.
    if (!(z.estimate == word.estimate_after)) return;
    if (!z.corrections.empty() && z.corrections.back().correction.time == word.at &&
        z.corrections.back().before == word.estimate) {
        take_back(work, zone, false);
        return;
    }
    z.estimate = word.estimate;
    z.heard = word.heard;
    settle_again(work, zone);
}

// The grass as it would be without the report.
void live_again(Work& work, std::size_t zone, const LastWord& word) {
    ZoneRuntime& z = work.state.zones[zone];
    CHECK(word.past.has_value());
    const WallTime until = work.state.settled_until;
    watering::ZoneState lived = word.past->zone;
    if (until > word.past->at) {
        const auto hours = hours_since(work.setup, work.state, *word.past, until);
        if (!hours) return; // not all remembered, as after a leap of the clock
        soil::Flows flows;
        run_again(own_spec(work.setup, work.state, zone), lived, *hours, z.applied, word.past->at,
                  until, flows);
    }
    const turf::Phase from = z.settled.progress.phase;
    z.settled.progress = std::move(lived.progress);
    if (z.settled.progress.phase != from)
        work.record(PhaseRecord{work.now.wall, work.setup.garden.zones[zone].id, from,
                                z.settled.progress.phase, "A report was taken back."});
}

std::string report_words(turf::ObservationKind kind, const std::string& name) {
    switch (kind) {
    case turf::ObservationKind::seedlings_seen:
        return "seedlings were seen on " + name;
    case turf::ObservationKind::first_mow:
        return name + " was mown for the first time";
    case turf::ObservationKind::rooted:
        return "the sod of " + name + " resists a tug";
    case turf::ObservationKind::surface_dry:
        return name + " looks dry on top";
    case turf::ObservationKind::puddling:
        return "water stands on " + name;
    case turf::ObservationKind::nothing_yet:
        return "nothing is to be seen on " + name + " yet";
    case turf::ObservationKind::mown:
        return name + " was mown";
    }
    CHECK(false);
    return {};
}

} // namespace

LastWord word_on(const Work& work, std::size_t zone, LastWord::What what) {
    const ZoneRuntime& z = work.state.zones[zone];
    LastWord word;
    word.what = what;
    word.at = work.now.wall;
    word.hold_until = z.hold_until;
    word.mow_at = z.mow_at;
    word.lock = z.guard.lock;
    word.ordered_s = z.ordered_s;
    word.ordered_until = z.ordered_until;
    word.not_before = z.not_before;
    word.owed_s = z.owed_s;
    word.reported_dry = z.reported_dry;
    word.advised = z.advised;
    word.estimate = z.estimate;
    word.heard = z.heard;
    if (what == LastWord::What::report && work.state.begun)
        word.past = Past{work.state.settled_until, z.settled, work.state.cloud_factor, {}};
    return word;
}

void keep_word(Work& work, std::size_t zone, LastWord word) {
    ZoneRuntime& z = work.state.zones[zone];
    if (word.what == LastWord::What::report && !word.past) return; // before the first hour
    // Of the time it was said, so that a season that is followed without its orders has the same.
    word.number = std::max<std::int64_t>(work.state.next_word, to_unix(work.now.wall));
    work.state.next_word = word.number + 1;
    word.estimate_after = z.estimate;
    word.not_before_after = z.not_before;
    z.word = std::move(word);
}

std::string key(LastWord::What what) {
    switch (what) {
    case LastWord::What::water:
        return "water";
    case LastWord::What::hold:
        return "hold";
    case LastWord::What::release:
        return "release";
    case LastWord::What::report:
        return "report";
    case LastWord::What::mow:
        return "mow";
    }
    CHECK(false);
    return {};
}

std::string words_of(const Setup& setup, std::size_t zone, const LastWord& word,
                     const std::optional<WallTime>& held_until, WallTime now) {
    const std::string& name = setup.garden.zones[zone].name;
    switch (word.what) {
    case LastWord::What::water:
        return watering::duration_words(word.run_s) + " of water for " + name + " wait for the tap";
    case LastWord::What::hold:
        return name + " is held" +
               (held_until ? " until " + watering::clock_words(*held_until, setup.timezone, now)
                           : std::string());
    case LastWord::What::release:
        return (word.lock ? "the lock of " : "the hold of ") + name + " was ended";
    case LastWord::What::report:
        return report_words(word.seen, name);
    case LastWord::What::mow:
        return word.mow_said ? name + " is to be mown at " +
                                   watering::clock_words(*word.mow_said, setup.timezone, now)
                             : "no mow of " + name + " is planned any more";
    }
    CHECK(false);
    return {};
}

std::optional<WallTime> undo_until(const ZoneRuntime& zone, WallTime now) {
    if (!zone.word || now < zone.word->at || now - zone.word->at >= kUndoWithin)
        return std::nullopt;
    // It runs, was dropped, or was stopped.
    if (zone.word->what == LastWord::What::water && zone.ordered_s == 0) return std::nullopt;
    return zone.word->at + kUndoWithin;
}

void forget_words(Work& work) {
    for (ZoneRuntime& zone : work.state.zones)
        if (zone.word && !undo_until(zone, work.now.wall)) zone.word.reset();
}

std::optional<std::string> undo_refusal(const Setup& setup, const State& state, WallTime now,
                                        const WordUndo& undo) {
    for (std::size_t i = 0; i < state.zones.size(); ++i) {
        if (setup.garden.zones[i].id != undo.zone) continue;
        const ZoneRuntime& z = state.zones[i];
        if (undo_until(z, now) && z.word->number == undo.number) return std::nullopt;
        return "That was the last word on " + setup.garden.zones[i].name +
               " no more: it was taken back, overtaken, or is too long ago.";
    }
    return std::nullopt;
}

void take_back_word(Work& work, const WordUndo& undo) {
    const auto zone = work.zone_index(undo.zone);
    if (!zone || undo_refusal(work.setup, work.state, work.now.wall, undo)) return;
    ZoneRuntime& z = work.state.zones[*zone];
    const LastWord word = *std::exchange(z.word, std::nullopt);
    std::string said = words_of(work.setup, *zone, word, z.hold_until, work.now.wall);
    switch (word.what) {
    case LastWord::What::water:
        z.ordered_s = word.ordered_s;
        z.ordered_until = word.ordered_until;
        z.not_before = std::max(z.not_before, word.not_before);
        break;
    case LastWord::What::hold:
        z.hold_until = word.hold_until;
        if (!z.open && z.owed_s == 0) z.owed_s = word.owed_s;
        break;
    case LastWord::What::release:
        z.hold_until = word.hold_until;
        if (!z.guard.lock) z.guard.lock = word.lock;
        if (word.lock && z.open) close_valve(work, *zone, Outcome::stopped);
        break;
    case LastWord::What::report:
        // What has run meanwhile keeps its rest.
        if (z.not_before == word.not_before_after) z.not_before = word.not_before;
        if (!word.reported_dry) z.reported_dry = false;
        z.advised = word.advised;
        z.mow_at = word.mow_at;
        unlearn(work, *zone, word);
        live_again(work, *zone, word);
        break;
    case LastWord::What::mow:
        z.mow_at = word.mow_at;
        break;
    }
    work.notify(undo.zone, Severity::note, "taken_back", "A person took back: " + said + ".");
    work.replan = true;
}

} // namespace firstmow::engine
