// A slip of the thumb is taken back: what was said last of a zone goes, and it alone.
#include "engine/codec.hpp"
#include "rig.hpp"

#include <algorithm>

using namespace firstmow;
using namespace firstmow::engine;
using namespace firstmow::trial;

namespace {

std::int64_t word_of(const Rig& rig, std::size_t zone = 0) {
    const auto view = rig.view();
    const auto& word = view.zones.at(zone).word;
    return word ? word->number : 0;
}
std::string text_of(const Rig& rig, std::size_t zone = 0) {
    const auto view = rig.view();
    const auto& word = view.zones.at(zone).word;
    return word ? word->text : "";
}
bool refused(const Rig& rig, std::int64_t number) {
    return refusal(rig.setup, rig.state, {rig.now, rig.mono}, WordUndo{"front", number})
        .has_value();
}

// A little after noon, as soon as no valve is open.
Rig noon(const garden::Garden& garden) {
    Rig rig(garden, local(0, 5));
    rig.run_to(local(3, 12, 10));
    const auto closed = [&] {
        return std::none_of(rig.state.zones.begin(), rig.state.zones.end(),
                            [](const ZoneRuntime& zone) { return zone.open.has_value(); });
    };
    for (int minutes = 0; minutes < 60 && !closed(); ++minutes)
        rig.run_for(Seconds{60});
    REQUIRE(closed());
    return rig;
}

} // namespace

TEST_CASE("undo: a hold goes back to what was before it") {
    Rig rig = noon(garden_of({seed_zone("front")}));
    CHECK(word_of(rig) == 0);
    rig.say({HoldOrder{"front", local(4, 12)}});
    const auto first = word_of(rig);
    CHECK(first > 0);
    CHECK(text_of(rig) == "Lawn front is held until Fri 12:00.");
    rig.say({HoldOrder{"front", local(3, 16)}});
    CHECK(refused(rig, first)); // overtaken
    const auto second = word_of(rig);
    CHECK_FALSE(refused(rig, second));
    rig.say({WordUndo{"front", second}});
    CHECK(rig.zone().hold_until == local(4, 12));
    CHECK(word_of(rig) == 0);
    CHECK(refused(rig, second)); // once
    rig.say({WordUndo{"front", second}});
    CHECK(rig.zone().hold_until == local(4, 12));
    REQUIRE(rig.notices("taken_back").size() == 1);
    CHECK(rig.notices("taken_back")[0].text ==
          "A person took back: Lawn front is held until 16:00.");
    // An end of a hold is taken back too, and is no word where there was none.
    rig.say({HoldRelease{"front"}});
    CHECK_FALSE(rig.zone().hold_until);
    CHECK(text_of(rig) == "the hold of Lawn front was ended.");
    rig.say({WordUndo{"front", word_of(rig)}});
    CHECK(rig.zone().hold_until == local(4, 12));
    rig.say({HoldRelease{"front"}});
    const auto last = word_of(rig);
    rig.say({HoldRelease{"front"}});
    CHECK(word_of(rig) == last);
}

TEST_CASE("undo: a lock that was ended comes back, and closes what ran meanwhile") {
    Rig rig = noon(garden_of({seed_zone("front")}));
    rig.zone().guard.lock = Latch{rig.now, "the pipe broke"};
    rig.say({HoldRelease{"front"}});
    rig.say({WaterOrder{"front", 300}});
    // The order is the last word now, and it runs: nothing to take back.
    CHECK(word_of(rig) == 0);
    rig.say({StopOrder{"front"}});
    rig.zone().guard.lock = Latch{rig.now, "the pipe broke"};
    rig.say({HoldRelease{"front"}});
    CHECK(text_of(rig) == "the lock of Lawn front was ended.");
    rig.say({WordUndo{"front", word_of(rig)}});
    REQUIRE(rig.zone().guard.lock);
    CHECK(rig.zone().guard.lock->why == "the pipe broke");
}

TEST_CASE("undo: water that waits for the tap is called off, water that runs is not") {
    garden::Zone side = seed_zone("side");
    side.valve.channel = 2;
    Rig rig = noon(garden_of({seed_zone("front"), side}, 20));
    rig.say({WaterOrder{"side", 600}});
    CHECK(word_of(rig, 1) == 0);
    rig.say({WaterOrder{"front", 480}});
    CHECK(rig.zone().ordered_s == 480);
    CHECK(text_of(rig) == "8 min of water for Lawn front wait for the tap.");
    REQUIRE(rig.view().zones[0].word);
    CHECK(rig.view().zones[0].word->what == "water");
    rig.say({WordUndo{"front", word_of(rig)}});
    CHECK(rig.zone().ordered_s == 0);
    rig.run_for(Seconds{900});
    for (const Cycle& cycle : rig.cycles())
        CHECK((cycle.zone != "front" || cycle.reason != "person"));
    // One that waited and then ran cannot be called off.
    rig.say({WaterOrder{"side", 120}});
    rig.say({WaterOrder{"front", 480}});
    const auto number = word_of(rig);
    rig.run_for(Seconds{200});
    CHECK(rig.zone().open);
    CHECK(refused(rig, number));
}

TEST_CASE("undo: a mow that was none, also when hours have passed into the budget since") {
    for (const int minutes : {2, 12}) {
        // 12 minutes later the hour of 12:00 to 13:00 has been settled.
        Rig said(garden_of({seed_zone("front")}), local(0, 5));
        Rig silent = said;
        for (Rig* rig : {&said, &silent})
            rig->run_to(local(3, 12, 55));
        said.say({Observation{"front", turf::ObservationKind::first_mow}});
        CHECK(said.zone().settled.progress.phase == turf::Phase::post_first_mow);
        CHECK(text_of(said) == "Lawn front was mown for the first time.");
        for (Rig* rig : {&said, &silent})
            rig->run_for(Seconds{minutes * 60});
        said.say({WordUndo{"front", word_of(said)}});
        silent.say();
        CHECK(said.zone().settled.progress == silent.zone().settled.progress);
        const auto phases = only<PhaseRecord>(said.records);
        REQUIRE(phases.size() >= 2);
        CHECK(phases.back().why == "A report was taken back.");
        CHECK(phases.back().to == silent.zone().settled.progress.phase);
    }
}

TEST_CASE("undo: what a report taught goes with it, once, and on the record") {
    Rig rig = noon(garden_of({seed_zone("front")}));
    const ZoneRuntime before = rig.zone();
    rig.say({Observation{"front", turf::ObservationKind::puddling}});
    rig.say({WordUndo{"front", word_of(rig)}});
    CHECK(rig.zone().estimate == before.estimate);
    CHECK(rig.zone().heard == before.heard);
    CHECK(rig.zone().not_before == before.not_before);
    rig.say({Observation{"front", turf::ObservationKind::surface_dry}});
    const bool learned = !(rig.zone().estimate == before.estimate);
    CHECK(learned);
    CHECK((rig.zone().reported_dry || rig.zone().open));
    const std::size_t entries = rig.zone().corrections.size();
    rig.say({WordUndo{"front", word_of(rig)}});
    CHECK(rig.zone().estimate == before.estimate);
    CHECK(rig.zone().corrections.size() == before.corrections.size());
    CHECK_FALSE(rig.zone().reported_dry);
    if (entries > before.corrections.size())
        CHECK(only<Correction>(rig.records).back().cause == Cause::undone);
    // Taken back by the other door first: the word then only takes back the rest.
    rig.say({Observation{"front", turf::ObservationKind::surface_dry}});
    const auto number = word_of(rig);
    rig.say({CorrectionUndo{"front", false}});
    rig.say({WordUndo{"front", number}});
    CHECK(rig.zone().estimate.mean == before.estimate.mean);
}

TEST_CASE("undo: for a quarter of an hour, and over a snapshot") {
    Rig rig = noon(garden_of({seed_zone("front")}));
    rig.say({HoldOrder{"front", local(4, 12)}});
    rig.say({Observation{"front", turf::ObservationKind::seedlings_seen}});
    const auto number = word_of(rig);
    const auto back = decode_state(rig.setup, encode_state(rig.setup, rig.state));
    REQUIRE(back.ok());
    CHECK(back.value() == rig.state);
    CHECK(back.value().zones[0].word.has_value());
    rig.run_for(Seconds{14 * 60});
    CHECK_FALSE(refused(rig, number));
    rig.run_for(Seconds{60});
    CHECK(refused(rig, number));
    CHECK(word_of(rig) == 0);
    rig.say({WordUndo{"front", number}});
    CHECK(rig.notices("taken_back").empty());
    CHECK_FALSE(rig.zone().word);
    // A snapshot of before there were words.
    std::string old = encode_state(rig.setup, rig.state);
    const std::string member = ",\"word\":null";
    for (auto at = old.find(member); at != std::string::npos; at = old.find(member))
        old.erase(at, member.size());
    const auto next = old.find("\"next_word\"");
    old.erase(next, old.find(',', next) + 1 - next);
    const auto read = decode_state(rig.setup, old);
    REQUIRE(read.ok());
    CHECK(read.value().next_word == 1);
    CHECK(refusal(rig.setup, rig.state, {rig.now, rig.mono}, WordUndo{"nobody", 1}) ==
          std::nullopt);
    rig.say({WordUndo{"nobody", 1}});
}
