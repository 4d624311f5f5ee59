#include "written_run.hpp"

namespace firstmow::journal {

namespace {

// What restore() gives, which must be there.
Restored restored(WrittenRun& run) {
    auto found = restore(*run.store);
    REQUIRE_MESSAGE(found.ok(), (found.ok() ? "" : found.error().message));
    REQUIRE(found->has_value());
    return std::move(**found);
}

Verdict verdict(WrittenRun& run) {
    const auto found = verify(*run.store);
    REQUIRE_MESSAGE(found.ok(), (found.ok() ? "" : found.error().message));
    return *found;
}

void is_as_left(WrittenRun& run) {
    const Restored found = restored(run);
    CHECK(found.state == run.state);
    CHECK(found.garden.toml == run.text.toml);
    CHECK(found.garden.timezone.eras() == run.text.timezone.eras());
    CHECK(found.setup.garden.zones.size() == run.setup->garden.zones.size());
    CHECK(found.last_seq == run.recorder.last_seq());
    CHECK(found.last_wall == run.wall);
    CHECK_FALSE(found.followed);
    const Verdict seen = verdict(run);
    CHECK_MESSAGE(seen.same(), (seen.same() ? "" : seen.differences.front()));
}

engine::ValveReport report(const std::string& zone, bool open) {
    engine::ValveReport made;
    made.zone = zone;
    made.open = open;
    return made;
}

// The message of what must be an Error.
template <class T>
std::string refusal(const Result<T>& result) {
    REQUIRE_FALSE(result.ok());
    return result.error().message;
}

} // namespace

TEST_CASE("what was learned of a zone, and taken back, is replayed to the same state") {
    WrittenRun run;
    run.begin();
    for (int h = 0; h < 30; ++h) {
        run.hour();
        if (h == 20) run.say({engine::CatchCanTest{"front", {{1.4, 1.7, 1.5, 1.9}, 10}}});
        if (h == 22) run.say({engine::SoilProbe{"front", 20, 0.12, std::nullopt}});
        if (h == 24) run.say({engine::Observation{"bed", turf::ObservationKind::surface_dry}});
        if (h == 26) run.say({engine::CorrectionUndo{"front", false}});
    }
    const auto corrections = run.store->corrections();
    REQUIRE(corrections.ok());
    REQUIRE(corrections->size() >= 2);
    CHECK(corrections->front().cause == engine::Cause::catch_cans);
    CHECK(corrections->back().cause == engine::Cause::undone);
    is_as_left(run);
}

TEST_CASE("an empty journal leaves nothing to take up") {
    WrittenRun run;
    const auto found = restore(*run.store);
    REQUIRE(found.ok());
    CHECK_FALSE(found->has_value());
    CHECK(verdict(run).same());
    CHECK(verdict(run).steps == 0);
}

TEST_CASE("a garden without a step yet is taken up") {
    WrittenRun run;
    run.begin();
    is_as_left(run);
}

TEST_CASE("a day is taken up as it was left, from its first row or from a snapshot") {
    WrittenRun run;
    run.begin();
    for (int i = 0; i < 10; ++i)
        run.hour();
    is_as_left(run);
    run.pass(Seconds{60});
    run.tell({engine::HoldOrder{"front", run.wall + Seconds{3600}}}, true);
    is_as_left(run);
    for (int i = 0; i < 10; ++i)
        run.hour();
    is_as_left(run);
    const Verdict seen = verdict(run);
    CHECK(seen.steps > 80);
    CHECK(seen.decisions > 0);
    CHECK(seen.cycles > 0);
}

TEST_CASE("a valve that was open is known, and ends as interrupted") {
    WrittenRun run;
    run.begin();
    run.hour();
    run.say({engine::StopOrder{"bed"}});
    run.say({engine::WaterOrder{"bed", 1800}});
    run.pass(Seconds{120});
    run.tell({}, true); // the snapshot holds it as well
    is_as_left(run);
    const Restored found = restored(run);
    REQUIRE(found.state.zones[1].open.has_value());
    auto marks = run.store->open_cycles();
    REQUIRE(marks.ok());
    bool marked = false;
    for (const store::OpenCycle& mark : *marks)
        marked = marked || (mark.zone == "bed" && mark.reason == "person");
    CHECK(marked);

    // Dark for five minutes; then another program takes the run up.
    run.pass(Seconds{300});
    run.recorder = Recorder(found.last_seq);
    run.state = found.state;
    run.tell({engine::Restarted{}});
    const auto cycles = run.store->cycles();
    REQUIRE(cycles.ok());
    int interrupted = 0;
    for (const engine::Cycle& c : *cycles)
        if (c.zone == "bed" && c.outcome == engine::Outcome::interrupted) {
            ++interrupted;
            CHECK(c.run_s == 420);
        }
    CHECK(interrupted == 1);
    marks = run.store->open_cycles();
    REQUIRE(marks.ok());
    for (const store::OpenCycle& mark : *marks)
        CHECK(mark.reason != "person");
    is_as_left(run);
}

TEST_CASE("a garden that changed on the way is changed there in the replay, too") {
    WrittenRun run;
    run.begin();
    for (int i = 0; i < 8; ++i)
        run.hour();
    run.say({engine::StopOrder{}});
    run.change_garden(garden_toml("Smaller", false));
    is_as_left(run);
    for (int i = 0; i < 8; ++i)
        run.hour();
    is_as_left(run);
    CHECK(restored(run).setup.garden.site.name == "Smaller");
    run.say({engine::StopOrder{}});
    run.change_garden(garden_toml("Larger"));
    run.hour();
    is_as_left(run);
    CHECK(restored(run).state.zones.size() == 2);
}

TEST_CASE("a plan that was left and taken again within a second is no difference") {
    WrittenRun run;
    run.begin();
    for (int i = 0; i < 3; ++i)
        run.hour();
    run.say({engine::StopOrder{}, engine::HoldOrder{"front", run.wall + Seconds{7200}}});
    run.pass(Seconds{3700});
    run.say({});
    for (int i = 0; i < 3; ++i) {
        run.say({engine::HoldOrder{"bed", run.wall + Seconds{7200}}});
        run.say({engine::HoldRelease{"bed"}});
    }
    is_as_left(run);
}

TEST_CASE("what was altered afterwards is named") {
    WrittenRun run;
    run.begin();
    for (int i = 0; i < 6; ++i)
        run.hour();
    run.say({engine::WaterOrder{"bed", 60}});
    run.pass(Seconds{61});
    run.say({});
    REQUIRE(verdict(run).same());
    engine::Decision invented;
    invented.time = run.wall;
    invented.zone = "front";
    invented.reason = "none";
    invented.explanation = "Never decided.";
    const engine::Record records[] = {invented};
    REQUIRE(run.store->append(records).ok());
    const Verdict seen = verdict(run);
    CHECK_FALSE(seen.same());
    CHECK(seen.differences.front().find("decisions, the replay made") != std::string::npos);
}

TEST_CASE("rows that cannot be read are told of, never run") {
    const auto spoiled = [](std::string_view kind, std::string_view body) {
        WrittenRun run;
        run.begin();
        run.hour();
        REQUIRE(run.store->append_input(run.recorder.last_seq() + 1, run.now(), kind, body).ok());
        const std::string said = refusal(restore(*run.store));
        CHECK(refusal(verify(*run.store)) == said);
        CHECK_FALSE(said.empty());
        CHECK(said.find('\n') == std::string::npos);
        return said;
    };
    CHECK(spoiled("song", "{}").find(" is of a kind") != std::string::npos);
    spoiled(kStepRow, "[");
    spoiled(kStepRow, "{}");
    spoiled(kStepRow, R"([{"is":"sprinkle"}])");
    CHECK(spoiled(kGardenRow, "null").find("damaged") != std::string::npos);
    spoiled(kGardenRow, R"({"toml":"[site","timezone":"x"})");

    WrittenRun run;
    REQUIRE(run.store->append_input(1, run.now(), kStepRow, "[]").ok());
    CHECK(refusal(restore(*run.store)).find("row 1 ") != std::string::npos);
}

TEST_CASE("a snapshot that cannot be read is passed over: the whole journal is run again") {
    for (const char* body : {"", "null", "{}", R"({"toml":"","timezone":"","state":""})"}) {
        CAPTURE(body);
        WrittenRun run;
        run.begin();
        run.hour();
        REQUIRE(run.store->put_snapshot(run.recorder.last_seq(), run.wall, body).ok());
        is_as_left(run);
        CHECK(verdict(run).same());
    }
}

TEST_CASE("runs that this engine would not have given are taken as they were") {
    for (const bool with_snapshot : {false, true}) {
        CAPTURE(with_snapshot);
        WrittenRun run;
        run.begin();
        for (int i = 0; i < 4; ++i)
            run.hour();
        if (with_snapshot) run.tell({}, true);
        const WallTime before = run.wall;
        for (int i = 0; i < 4; ++i)
            run.hour();
        REQUIRE_FALSE(restored(run).followed);
        const double without =
            soil::storage_mm(run.setup->specs[0].column, run.state.zones[0].settled.mean);
        // As if another engine had watered in the meantime.
        engine::Cycle other;
        other.id = 4711;
        other.zone = "front";
        other.start = before + Seconds{1800};
        other.end = other.start + Seconds{900};
        other.planned_s = other.run_s = 900;
        other.depth_mm = 3;
        other.volume_l = 270;
        other.reason = "deadline";
        const engine::Record records[] = {other};
        REQUIRE(run.store->append(records).ok());

        const Restored found = restored(run);
        CHECK(found.followed);
        CHECK(found.last_seq == run.recorder.last_seq());
        CHECK(found.last_wall == run.wall);
        CHECK(found.state.next_cycle_id == 4712);
        const double with =
            soil::storage_mm(found.setup.specs[0].column, found.state.zones[0].settled.mean);
        CHECK(with > without + 1.5);
        CHECK(with < without + 3.5);
        for (const engine::Notice& notice : found.state.notices)
            CHECK(notice.severity != engine::Severity::alarm);
    }
}

TEST_CASE("rows are numbered on, and an opening is marked once") {
    WrittenRun run;
    run.begin();
    CHECK(run.recorder.last_seq() == 1);
    const std::vector<engine::Input> order = {engine::WaterOrder{"bed", 600}};
    run.tell(order);
    CHECK(run.recorder.last_seq() == 2);
    // The opening was marked with that step; it stays so when the valve answers.
    const std::vector<engine::Input> answer = {report("bed", true)};
    engine::StepResult result = engine::step(*run.setup, run.state, run.now(), answer);
    const store::Step step = run.recorder.step(run.now(), answer, result, *run.setup, run.state);
    for (const store::OpenCycle& mark : step.opened)
        CHECK(mark.zone != "bed");
    REQUIRE(step.inputs.size() == 1);
    CHECK(step.inputs[0].seq == 3);
    CHECK(step.inputs[0].kind == kStepRow);
}

} // namespace firstmow::journal
