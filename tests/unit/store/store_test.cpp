#include "fixtures.hpp"
#include "store/store.hpp"

#include <cmath>
#include <limits>
#include <set>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::store;
using namespace firstmow::store::test;

namespace {

Store open_new(const TempDir& dir) {
    Result<Store> store = Store::open(dir.file("j.sqlite"));
    REQUIRE_MESSAGE(store.ok(), (store.ok() ? "" : store.error().message));
    return std::move(store).value();
}

} // namespace

TEST_CASE("every kind of record comes back as it was written, in the order of time") {
    const TempDir dir;
    Store store = open_new(dir);
    const engine::Record records[] = {
        cycle(2),         cycle(1, "back"),  decision(1),          decision(2),
        moisture(3),      moisture(4),       moisture(3, "back"),  phase_change(5),
        notice(7),        notice(6, "back"), weather_used(20),     phase_change(4, "back"),
        weather_used(10), correction(9),     correction(8, "back")};
    REQUIRE(store.append(records).ok());

    const auto expect = [](const auto& rows, const auto& expected) {
        REQUIRE(rows.ok());
        CHECK(*rows == expected);
    };
    using namespace engine;
    expect(store.cycles(), std::vector<Cycle>{cycle(1, "back"), cycle(2)});
    expect(store.decisions(), std::vector<Decision>{decision(1), decision(2)});
    expect(store.moisture(), std::vector<Moisture>{moisture(3, "back"), moisture(3), moisture(4)});
    expect(store.phases(), std::vector<PhaseRecord>{phase_change(4, "back"), phase_change(5)});
    expect(store.notices(), std::vector<Notice>{notice(6, "back"), notice(7)});
    expect(store.weather(), std::vector<WeatherUsed>{weather_used(10), weather_used(20)});
    expect(store.corrections(), std::vector<Correction>{correction(8, "back"), correction(9)});
}

TEST_CASE("every outcome, verdict, severity, phase and origin survives") {
    const TempDir dir;
    Store store = open_new(dir);
    std::vector<engine::Record> records;
    std::vector<engine::WeatherUsed> hours;
    for (int i = 0; i < 12; ++i) {
        records.insert(records.end(),
                       {cycle(i), decision(i), moisture(i), notice(i), correction(i)});
        engine::WeatherUsed used = weather_used(i);
        used.hour.temp_origin = static_cast<weather::Origin>(i % 4);
        used.hour.solar_origin = static_cast<weather::Origin>(3 - i % 4);
        hours.push_back(used);
        records.emplace_back(used);
    }
    REQUIRE(store.append(records).ok());
    CHECK(*store.weather() == hours);
    for (int i = 0; i < 12; ++i) {
        const auto n = static_cast<std::size_t>(i);
        CHECK(store.cycles()->at(n) == cycle(i));
        CHECK(store.decisions()->at(n) == decision(i));
        CHECK(store.moisture()->at(n) == moisture(i));
        CHECK(store.notices()->at(n) == notice(i));
        CHECK(store.corrections()->at(n) == correction(i));
    }
}

TEST_CASE("queries choose by zone, time and number") {
    const TempDir dir;
    Store store = open_new(dir);
    std::vector<engine::Record> records;
    for (int i = 0; i < 10; ++i)
        records.emplace_back(decision(i, i % 2 == 0 ? "front" : "back"));
    records.insert(records.end(), {notice(1), notice(2, "front"), notice(3, "back")});
    REQUIRE(store.append(records).ok());

    const auto times = [&](const Filter& filter) {
        std::string text;
        const auto found = store.decisions(filter);
        for (const engine::Decision& d : found.value())
            text += std::to_string((d.time - at(0)).count()) + " ";
        return text;
    };
    Filter filter;
    filter.zone = "back";
    CHECK_EQ(times(filter), "1 3 5 7 9 ");
    filter.from = at(3);
    filter.to = at(9); // not included
    CHECK_EQ(times(filter), "3 5 7 ");
    filter.limit = 2;
    CHECK_EQ(times(filter), "5 7 ");
    filter.keep = Filter::Keep::oldest;
    CHECK_EQ(times(filter), "3 5 ");
    filter.limit = 0;
    CHECK_EQ(times(filter), "");
    filter = {};
    filter.zone = "nowhere'; DROP TABLE decisions; --";
    CHECK_EQ(times(filter), "");

    filter = {};
    filter.zone = "front"; // what concerns the whole garden concerns the zone
    CHECK(*store.notices(filter) == std::vector<engine::Notice>{notice(1), notice(2, "front")});
}

TEST_CASE("writing an entry twice changes nothing; of telemetry the last word holds") {
    const TempDir dir;
    Store store = open_new(dir);
    const engine::Record records[] = {cycle(1),        decision(1), moisture(1),
                                      phase_change(1), notice(1),   weather_used(1)};
    REQUIRE(store.append(records).ok());
    REQUIRE(store.append(records).ok());
    CHECK_EQ(store.cycles()->size(), 1);
    CHECK_EQ(store.decisions()->size(), 1);
    CHECK_EQ(store.phases()->size(), 1);
    CHECK_EQ(store.notices()->size(), 1);

    engine::Moisture corrected = moisture(1);
    corrected.rain_mm = 9;
    const engine::Record again[] = {corrected};
    REQUIRE(store.append(again).ok());
    CHECK(*store.moisture() == std::vector<engine::Moisture>{corrected});

    // Two decisions of one second that differ are two, in the order in which they were made.
    engine::Decision other = decision(1);
    other.reason = "a_different_one";
    const engine::Record differs[] = {other};
    REQUIRE(store.append(differs).ok());
    CHECK(*store.decisions() == std::vector<engine::Decision>{decision(1), other});
}

TEST_CASE("inputs keep their order and both clocks; a number cannot be given twice") {
    const TempDir dir;
    Store store = open_new(dir);
    for (std::int64_t seq = 1; seq <= 7; ++seq) {
        const InputRow row = input(seq);
        REQUIRE(store.append_input(seq, row.at, row.kind, row.body).ok());
    }
    CHECK(*store.inputs_after(5) == std::vector<InputRow>{input(6), input(7)});
    CHECK(*store.inputs_after(0, 2) == std::vector<InputRow>{input(1), input(2)});
    CHECK(store.inputs_after(7)->empty());

    CHECK(store.append_input(7, input(7).at, "hour", input(7).body).ok()); // a retry
    const Status clash = store.append_input(7, input(7).at, "hour", "{}");
    REQUIRE_FALSE(clash.ok());
    CHECK(clash.error().message.ends_with(
        "refused an entry: input 7 is already there with another content"));
    CHECK(store.fault() == Fault::refused);
    CHECK(store.inputs_after(6)->at(0) == input(7));
}

TEST_CASE("marks of open cycles, snapshots, meta and the tail") {
    const TempDir dir;
    Store store = open_new(dir);
    CHECK_EQ(store.tail()->last_seq, 0);
    CHECK_EQ(store.tail()->last_cycle_id, 0);
    CHECK_FALSE(store.tail()->last_wall.has_value());
    CHECK_FALSE(store.latest_snapshot()->has_value());
    CHECK_FALSE(store.meta("garden")->has_value());

    REQUIRE(store.mark_open(open_cycle(7, "front")).ok());
    REQUIRE(store.mark_open(open_cycle(8, "back")).ok());
    CHECK(*store.open_cycles() ==
          std::vector<OpenCycle>{open_cycle(8, "back"), open_cycle(7, "front")});
    CHECK_EQ(store.tail()->last_cycle_id, 8);
    // The cycle of another opening leaves the mark, its own takes it.
    const engine::Record other[] = {cycle(6, "front")};
    REQUIRE(store.append(other).ok());
    CHECK_EQ(store.open_cycles()->size(), 2);
    const engine::Record own[] = {cycle(7, "front")};
    REQUIRE(store.append(own).ok());
    CHECK(*store.open_cycles() == std::vector<OpenCycle>{open_cycle(8, "back")});
    REQUIRE(store.clear_open("back").ok());
    CHECK(store.open_cycles()->empty());

    REQUIRE(store.put_snapshot(3, at(3), "three").ok());
    REQUIRE(store.put_snapshot(9, at(9), "nine").ok());
    REQUIRE(store.put_snapshot(9, at(10), "nine, later").ok());
    CHECK(**store.latest_snapshot() == Snapshot{9, at(10), "nine, later"});

    REQUIRE(store.put_meta("garden", "a").ok());
    REQUIRE(store.put_meta("garden", "").ok());
    CHECK_EQ(**store.meta("garden"), "");

    const engine::Record late[] = {moisture(5000)};
    REQUIRE(store.append(late).ok());
    CHECK(*store.tail()->last_wall == at(5000));
}

TEST_CASE("a number that is not finite is refused and nothing of its step is kept") {
    const TempDir dir;
    Store store = open_new(dir);
    for (const double bad : {std::nan(""), std::numeric_limits<double>::infinity()}) {
        Step s = step(1);
        engine::Moisture m = moisture(9);
        m.rain_mm = bad;
        s.records.emplace_back(m);
        const Status done = store.write(s);
        REQUIRE_FALSE(done.ok());
        CHECK(done.error().message.ends_with("a number in it is not finite"));
        CHECK(store.fault() == Fault::refused);
        CHECK_FALSE(writable(m).ok());
        std::int64_t n = -1;
        CHECK_EQ(whole_steps(store, n), "");
        CHECK_EQ(n, 0);
    }
    CHECK(store.write(step(1)).ok());
}

TEST_CASE("after a failed write a larger transaction keeps nothing") {
    const TempDir dir;
    Store store = open_new(dir);
    engine::Cycle bad = cycle(2);
    bad.depth_mm = std::nan("");
    const engine::Record good_records[] = {cycle(1)};
    const engine::Record bad_records[] = {bad};

    REQUIRE(store.begin().ok());
    CHECK(store.append(good_records).ok());
    CHECK_FALSE(store.append(bad_records).ok());
    CHECK_FALSE(store.append(good_records).ok());
    CHECK_FALSE(store.commit().ok());
    CHECK(store.cycles()->empty());

    REQUIRE(store.begin().ok());
    CHECK(store.append(good_records).ok());
    store.rollback();
    CHECK(store.cycles()->empty());

    REQUIRE(store.begin().ok());
    CHECK(store.append(good_records).ok());
    CHECK(store.commit().ok());
    CHECK_EQ(store.cycles()->size(), 1);
}

TEST_CASE("text of any kind is kept byte for byte") {
    const TempDir dir;
    Store store = open_new(dir);
    const std::string odd = std::string("a\0b'\"; --\n", 10) + "\xc3\xa9\xf0\x9f\x8c\xb1";
    engine::Notice n = notice(1);
    n.text = odd;
    const engine::Record records[] = {n};
    REQUIRE(store.append(records).ok());
    CHECK(store.notices()->at(0).text == odd);
}

TEST_CASE("the same entries make the same file, byte for byte") {
    const TempDir dir;
    for (const char* name : {"a.sqlite", "b.sqlite"}) {
        OpenOptions options;
        options.durable = false;
        Result<Store> store = Store::open(dir.file(name), options);
        REQUIRE(store.ok());
        for (int n = 1; n <= 200; ++n)
            REQUIRE(store->write(step(n)).ok());
    }
    const std::string a = read_file(dir.file("a.sqlite"));
    CHECK_GT(a.size(), 50'000);
    CHECK(a == read_file(dir.file("b.sqlite")));
}

TEST_CASE("the forecast comes back as it was at any moment") {
    const TempDir dir;
    Result<Store> opened = Store::open(dir.file("j.sqlite"));
    REQUIRE(opened.ok());
    Store& store = *opened;
    const auto said = [](int hour, int known_h, double temp_c) {
        engine::ForecastSaid f;
        f.known = at(0) + std::chrono::hours{known_h};
        f.hour = weather_used(0).hour;
        f.hour.start = at(0) + std::chrono::hours{hour};
        f.hour.air_temp_c = temp_c;
        f.sources = "near - - - -";
        return f;
    };
    std::vector<engine::Record> records;
    for (int h = 0; h < 40; ++h)
        records.emplace_back(said(h, 0, 20));
    records.emplace_back(said(12, 3, 23)); // thought otherwise after three hours
    REQUIRE(store.append(records).ok());
    REQUIRE(store.append(records).ok()); // a retry does no harm
    const auto before = store.forecast_at(at(0) + std::chrono::hours{2});
    REQUIRE(before.ok());
    REQUIRE_EQ(before->size(), 38);
    CHECK_EQ(before->at(0), said(2, 0, 20));
    CHECK_EQ(before->at(10), said(12, 0, 20));
    const auto after = store.forecast_at(at(0) + std::chrono::hours{3});
    REQUIRE(after.ok());
    CHECK_EQ(after->at(9), said(12, 3, 23));
    // What was thought of hours long past goes with the nightly care.
    REQUIRE(store.upkeep(at(0) + std::chrono::days{60}).ok());
    CHECK_EQ(store.forecast_at(at(0))->size(), 40);
    REQUIRE(store.upkeep(at(0) + std::chrono::days{130}).ok());
    CHECK(store.forecast_at(at(0))->empty());
}

TEST_CASE(
    "lines below their threshold are counted by zone, of one zone also from its first water on") {
    const TempDir dir;
    Store store = open_new(dir);
    const auto line = [](std::int64_t n, const char* zone, double low_kpa, double water_mm) {
        engine::Moisture m = moisture(n, zone);
        m.low_quarter_kpa = low_kpa;
        m.rain_mm = 0;
        m.applied_mm = water_mm;
        return m;
    };
    engine::Moisture unjudged = line(4, "back", -900, 0);
    unjudged.threshold_kpa = 0;
    const engine::Record records[] = {
        line(1, "front", -300, 0), line(2, "front", -300, 0), line(3, "front", -300, 1),
        line(4, "front", -20, 1),  line(5, "front", -150, 0), line(6, "front", -100, 0),
        line(2, "back", -101, 0),  line(3, "back", -50, 0),   unjudged,
        line(2, "side", -10, 1)};
    REQUIRE(store.append(records).ok());
    const auto dry = store.totals(at(1), at(6))->dry; // the first line tells of the time before
    REQUIRE_EQ(dry.size(), 2);
    CHECK_EQ(dry[0].zone, "back");
    CHECK_EQ(dry[0].lines, 1);
    CHECK_EQ(dry[1].zone, "front");
    CHECK_EQ(dry[1].lines, 3);
    CHECK_EQ(*store.dry_lines_after_water("front", at(1), at(6)), 1);
    CHECK_EQ(*store.dry_lines_after_water("front", at(1), at(4)), 0);
    CHECK_EQ(*store.dry_lines_after_water("back", at(1), at(6)), 0); // none came
    CHECK_EQ(*store.dry_lines_after_water("nowhere", at(1), at(6)), 0);
}

TEST_CASE("upkeep drops all but the newest snapshots, and nothing that was measured or done") {
    const TempDir dir;
    {
        Store store = open_new(dir);
        const engine::Record records[] = {cycle(1), decision(2), moisture(3), notice(4)};
        REQUIRE(store.append(records).ok());
        for (int day = 1; day <= 30; ++day)
            REQUIRE(store.put_snapshot(day, at(0) + std::chrono::days{day}, "{}").ok());
        REQUIRE(store.upkeep(at(0) + std::chrono::days{3 * 365}).ok());
        CHECK_EQ(store.latest_snapshot().value()->seq, 30);
        CHECK_EQ(store.cycles()->size(), 1);
        CHECK_EQ(store.decisions()->size(), 1);
        CHECK_EQ(store.moisture()->size(), 1);
        CHECK_EQ(store.notices()->size(), 1);
    }
    CHECK_EQ(raw(dir.file("j.sqlite"), "SELECT count(*) || ' from ' || min(seq) FROM snapshots"),
             "8 from 23");
}

TEST_CASE("a word in the file that no firstmow has written is an error, not a guess") {
    const TempDir dir;
    {
        Store store = open_new(dir);
        const engine::Record records[] = {cycle(1)};
        REQUIRE(store.append(records).ok());
    }
    REQUIRE_EQ(raw(dir.file("j.sqlite"), "UPDATE cycles SET outcome = 'vanished'"), "");
    Store store = open_new(dir);
    const auto cycles = store.cycles();
    REQUIRE_FALSE(cycles.ok());
    CHECK(cycles.error().message.ends_with("the table cycles holds the unknown word 'vanished'"));
}
