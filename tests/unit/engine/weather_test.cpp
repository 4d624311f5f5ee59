#include "engine/codec.hpp"
#include "rig.hpp"

using namespace firstmow;
using namespace firstmow::engine;
using trial::garden_of;
using trial::kHour;
using trial::local;
using trial::only;
using trial::Rig;
using trial::seed_zone;

namespace {

std::vector<garden::Zone> all_kinds() {
    auto clay = seed_zone("z2", soil::TextureClass::clay);
    clay.precipitation_rate_mm_per_h = 40;
    clay.area_m2 = 30;
    clay.slope_pct = 8;
    auto sod = seed_zone("z4", soil::TextureClass::sandy_loam);
    sod.establishment.method = turf::Method::sod;
    sod.establishment.mix.clear();
    return {seed_zone("z1"), clay, trial::grown_zone("z3"), sod};
}

weather::Hour wet(weather::Hour hour, double rain_mm) {
    hour.rain_mm = rain_mm;
    hour.rel_humidity_pct = 98;
    hour.solar_w_m2 *= 0.2;
    return hour;
}

} // namespace

TEST_CASE("engine: the same inputs give the same states and records") {
    const auto season = [] {
        Rig rig(garden_of(all_kinds(), 30), local(0, 5), trial::kHot);
        rig.run_to(local(1, 12));
        rig.say({Observation{"z1", turf::ObservationKind::surface_dry}});
        rig.run_to(local(2, 0));
        return rig;
    };
    const Rig a = season();
    const Rig b = season();
    CHECK(a.state == b.state);
    CHECK(a.records == b.records);
    CHECK(a.records.size() > 500);
}

TEST_CASE("weather: hours that nobody measured are taken for what was thought of them") {
    Rig rig(garden_of({seed_zone("z1")}));
    rig.measured = false;
    rig.say({HourObserved{rig.hour_at(local(0, 4))}});
    auto ahead = trial::clear_hours(local(0, 5), 3);
    ahead[1] = wet(ahead[1], 1.5);
    rig.say({ForecastArrived{ahead}});
    rig.pass(6 * kHour);
    rig.records.clear();
    rig.say({HourObserved{rig.hour_at(local(0, 10))}});
    const auto used = only<WeatherUsed>(rig.records);
    REQUIRE(used.size() == 6);
    for (std::size_t i = 0; i < used.size(); ++i)
        CHECK(used[i].hour.start == local(0, 5) + static_cast<int>(i) * kHour);
    CHECK(used[1].hour == ahead[1]);                             // from the forecast
    CHECK(used[3].hour.rain_origin == weather::Origin::assumed); // nothing spoke of it
    CHECK(used[5].hour.temp_origin == weather::Origin::measured);
    CHECK(rig.state.settled_until == local(0, 11));
}

TEST_CASE("weather: hours told twice or too late change nothing") {
    Rig rig(garden_of({seed_zone("z1")}));
    rig.run_to(local(0, 12, 1));
    const State before = rig.state;
    rig.records.clear();
    for (const int hour : {11, 8, 3})
        rig.say({HourObserved{wet(rig.hour_at(local(0, hour)), 20)}});
    CHECK(only<WeatherUsed>(rig.records).empty());
    CHECK(only<Moisture>(rig.records).empty());
    CHECK(rig.state.settled_until == before.settled_until);
    CHECK(rig.state.zones[0].settled == before.zones[0].settled);
    CHECK(rig.state.recent == before.recent);
}

TEST_CASE("weather: a forecast is used up to its first gap") {
    Rig rig(garden_of({seed_zone("z1")}));
    rig.forecast = false;
    auto hours = trial::clear_hours(local(0, 5), 30);
    hours.erase(hours.begin() + 7);
    rig.say({ForecastArrived{hours}});
    CHECK(rig.state.forecast.size() == 7);
    hours = trial::clear_hours(local(0, 5), 30);
    std::swap(hours[2], hours[3]);
    rig.say({ForecastArrived{hours}});
    CHECK(rig.state.forecast.size() == 2);
    rig.say({ForecastArrived{trial::clear_hours(local(0, 5), 1000)}});
    CHECK(rig.state.forecast.size() <= 500);
    rig.say({ForecastArrived{}});
    CHECK(rig.state.forecast.empty());
    CHECK_FALSE(rig.commands.size() > 4);
}

TEST_CASE("weather: a forecast of long ago or of the far future does no harm") {
    Rig rig(garden_of({seed_zone("z1")}));
    rig.forecast = false;
    rig.say({ForecastArrived{trial::clear_hours(local(-400, 5), 60)}});
    rig.run_to(local(0, 8));
    rig.say({ForecastArrived{trial::clear_hours(local(400, 5), 60)}});
    rig.run_to(local(0, 14));
    CHECK_FALSE(rig.cycles().empty());
}

TEST_CASE("weather: with no weather at all a new bed is watered all the same") {
    Rig rig(garden_of({seed_zone("z1")}));
    rig.measured = rig.forecast = false;
    rig.run_to(local(3, 0));
    std::array<int, 3> by_day{};
    for (const Cycle& c : rig.cycles())
        ++by_day.at(static_cast<std::size_t>(
            days_between(trial::kSown, trial::local_zone().local_date(c.start))));
    for (const int runs : by_day)
        CHECK(runs >= 1);
    CHECK(rig.cycles()[0].reason == "first_soak");
    CHECK(rig.cycles().size() < 60);
}

TEST_CASE("moisture: a line for every ten minutes and every zone, and the water adds up") {
    Rig rig(garden_of(all_kinds(), 30), local(-1, 5), trial::kHot);
    rig.forecast = false;
    rig.run_to(local(1, 3));
    // A night of rain, a cloudburst, dew in the morning.
    rig.measured = false;
    for (int h = 0; h < 10; ++h) {
        const double mm = h == 4 ? 25 : h % 3;
        rig.pass(kHour);
        rig.say({HourObserved{wet(rig.hour_at(local(1, 3 + h)), mm)}});
    }
    rig.run_to(local(1, 20));
    rig.say({WaterOrder{"z2", 3600}}); // more than the clay takes
    rig.measured = true;
    rig.run_to(local(3, 0));

    std::map<std::string, Moisture> last;
    double runoff = 0;
    double drainage = 0;
    double dew = 0;
    double applied = 0;
    for (const Moisture& m : only<Moisture>(rig.records)) {
        const auto before = last.find(m.zone);
        if (before != last.end()) {
            CHECK(m.time - before->second.time == Seconds{600});
            const double in = m.rain_mm + m.applied_mm;
            const double out = m.evaporation_mm + m.transpiration_mm + m.runoff_mm + m.drainage_mm;
            CHECK(std::abs(m.root_zone_mm - before->second.root_zone_mm - in + out) < 1e-6);
        }
        CHECK(m.seed_zone_kpa <= 0);
        // To a thousandth: on ground that is full the roots of the two draw from other layers.
        CHECK(m.low_quarter_kpa <= 0.999 * m.seed_zone_kpa + 1e-9);
        runoff += m.runoff_mm;
        drainage += m.drainage_mm;
        dew += std::max(-m.evaporation_mm, 0.0);
        applied += m.applied_mm;
        last[m.zone] = m;
    }
    CHECK(last.size() == 4);
    // Every term had something to balance.
    CHECK(runoff > 1);
    CHECK(drainage > 0.1);
    CHECK(dew > 0.01);
    // What the valves gave is what the budget got, less what this hot and windy air takes beyond
    // the fair day of a catch-can test.
    double given = 0;
    for (const Cycle& c : rig.cycles())
        given += c.depth_mm;
    CHECK(applied > 10);
    CHECK(applied < given);
    CHECK(applied > given * 0.9);
}

TEST_CASE("moisture: nothing is watered before the day of sowing") {
    Rig rig(garden_of({seed_zone("z1")}), local(-2, 5), trial::kHot);
    rig.run_to(local(0, 0));
    CHECK(rig.commands.empty());
    rig.run_to(local(0, 12));
    REQUIRE_FALSE(rig.cycles().empty());
    CHECK(rig.cycles()[0].start == local(0, 6));
    CHECK(rig.cycles()[0].reason == "first_soak");
}

TEST_CASE("view: what people are shown is what is so") {
    Rig rig(garden_of(all_kinds(), 30), local(0, 5), trial::kHot);
    CHECK(rig.view().zones.empty()); // nothing is known yet
    int with_next = 0;
    int open = 0;
    for (int step = 0; step < 90; ++step) {
        rig.run_for(Seconds{1500 + 7 * step});
        const GardenView v = rig.view();
        CHECK(v.time == rig.now);
        REQUIRE(v.zones.size() == 4);
        // None until the first hour has passed.
        if (rig.now >= local(0, 6))
            CHECK(v.weather_until == std::chrono::floor<std::chrono::hours>(rig.now));
        else
            CHECK_FALSE(v.weather_until);
        CHECK(v.notices.size() <= 20);
        for (std::size_t i = 0; i < 4; ++i) {
            const ZoneView& z = v.zones[i];
            CHECK(z.id == rig.setup.garden.zones[i].id);
            CHECK(z.valve_open == rig.open[z.id]);
            CHECK(z.closes_at.has_value() == z.valve_open);
            if (z.closes_at) CHECK(*z.closes_at >= rig.now);
            open += z.valve_open;
            REQUIRE(z.outlook.size() == 49);
            CHECK(z.outlook.front().time == rig.now);
            CHECK(z.outlook.back().time == rig.now + 24 * kHour);
            CHECK(z.outlook.front().seed_zone_kpa == doctest::Approx(z.seed_zone_kpa));
            for (const CoursePoint& p : z.outlook) {
                CHECK(p.seed_zone_kpa <= 0);
                // Oven-dry the two change places: the wetter bed has had the longer way down.
                if (p.seed_zone_kpa > -10000) CHECK(p.low_quarter_kpa <= p.seed_zone_kpa + 1e-6);
            }
            CHECK(z.progress_pct >= 0);
            CHECK(z.progress_pct <= 100);
            CHECK_FALSE(z.explanation.empty());
            CHECK(z.layers.back().bottom_mm >= 299);
            for (std::size_t k = 1; k < z.layers.size(); ++k)
                CHECK(z.layers[k].top_mm == z.layers[k - 1].bottom_mm);
            if (!z.next) continue;
            ++with_next;
            CHECK(z.next->start >= rig.now);
            CHECK(z.next->run_s > 0);
            CHECK(z.next->start == std::max(*rig.zone(i).next_start, rig.now));
        }
    }
    CHECK(with_next > 20);
    CHECK(open > 0);
}

TEST_CASE("view: the day's sums are those of the day's openings") {
    Rig rig(garden_of({seed_zone("z1")}), local(0, 5), trial::kHot);
    rig.run_to(local(0, 23));
    double mm = 0;
    for (const Cycle& c : rig.cycles())
        mm += c.depth_mm;
    CHECK(mm > 1);
    CHECK(rig.view().zones[0].today_mm == doctest::Approx(mm));
    CHECK(rig.view().zones[0].today_l == doctest::Approx(mm * 100));
    rig.run_to(local(1, 0));
    CHECK(rig.view().zones[0].today_mm == 0);
}

TEST_CASE("adopt: a season goes on under a changed garden") {
    Rig rig(garden_of(all_kinds(), 30), local(0, 5), trial::kHot);
    rig.run_to(local(2, 23));
    const ZoneRuntime z1 = rig.zone(0);
    const ZoneRuntime z3 = rig.zone(2);
    for (const ZoneRuntime& z : rig.state.zones)
        REQUIRE_FALSE(z.open);

    auto zones = all_kinds();
    std::swap(zones[0], zones[2]);            // another order
    zones[1].soil = soil::TextureClass::loam; // another soil
    zones[3] = seed_zone("z9");               // z4 gone, z9 new
    zones[3].establishment.start = add_days(trial::kSown, 3);
    const Setup after = make_setup(garden_of(zones, 30), trial::local_zone());
    const State adopted = adopt(rig.setup, rig.state, after);
    REQUIRE(adopted.zones.size() == 4);
    CHECK(adopted.zones[0] == z3);
    CHECK(adopted.zones[2] == z1);
    CHECK(adopted.settled_until == rig.state.settled_until);
    CHECK(adopted.next_cycle_id == rig.state.next_cycle_id);
    CHECK_FALSE(adopted.zones[3].soaked);

    Rig next(garden_of(zones, 30), rig.now, trial::kHot);
    next.state = adopted;
    next.run_to(local(4, 0));
    bool watered_new = false;
    for (const Cycle& c : next.cycles()) {
        CHECK(c.id >= rig.state.next_cycle_id);
        CHECK(c.zone != "z4");
        watered_new = watered_new || c.zone == "z9";
    }
    CHECK(watered_new);
    // Nothing changed: nothing lost.
    const State same = adopt(rig.setup, rig.state, rig.setup);
    CHECK(same.zones == rig.state.zones);
    CHECK(same.recent == rig.state.recent);
}

TEST_CASE("adopt: before anything has begun") {
    const Setup before = make_setup(garden_of({seed_zone("z1")}), trial::local_zone());
    const Setup after =
        make_setup(garden_of({seed_zone("z2"), seed_zone("z1")}), trial::local_zone());
    State state = adopt(before, initial_state(before), after);
    CHECK_FALSE(state.begun);
    CHECK(state.zones.size() == 2);
    const StepResult result = step(after, state, {local(0, 12), MonoTime{}}, {});
    CHECK(result.commands.size() == 1); // one tap: the first soak of one of them
}

TEST_CASE("moisture: the water of a run is seen the moment it ends") {
    Rig rig(garden_of({seed_zone("z1")}), local(0, 5), trial::kHot);
    rig.say({HoldOrder{"z1", local(0, 12)}});
    rig.run_to(local(0, 10));
    const double dry_kpa = rig.view().zones[0].low_quarter_kpa;
    rig.say({WaterOrder{"z1", 240}}); // shorter than a step of the budget
    rig.run_for(Seconds{240});
    REQUIRE_FALSE(rig.open["z1"]);
    CHECK(rig.view().zones[0].low_quarter_kpa > dry_kpa + 10);
}

TEST_CASE("weather: every hour names its sources, every forecast is on the record as it was") {
    garden::Garden garden = garden_of({seed_zone("z1")});
    garden.weather.csv_file = "weather.csv";
    garden.weather.feeds.resize(1);
    garden.weather.feeds[0].id = "yard";
    Rig rig(garden, local(0, 5));
    rig.measured = rig.forecast = false;
    weather::Hour hour = rig.hour_at(local(0, 4));
    hour.sources = {2, 2, 0, 1, weather::kGardenSensors};
    auto ahead = trial::clear_hours(local(0, 5), 60);
    ahead[3].sources = {1, 1, 1, 1, 1};
    rig.say({HourObserved{hour}, ForecastArrived{ahead}});
    CHECK(only<WeatherUsed>(rig.records).at(0).sources == "yard yard - csv sensors");
    auto said = only<ForecastSaid>(rig.records);
    REQUIRE(said.size() == 60);
    CHECK(said[3].hour == ahead[3]);
    CHECK(said[3].known == rig.now);
    CHECK(said[3].sources == "csv csv csv csv csv");
    // The same again is nothing new; one hour that changed is one line.
    rig.records.clear();
    rig.pass(kHour);
    ahead[7].air_temp_c += 2;
    rig.say({ForecastArrived{ahead}});
    said = only<ForecastSaid>(rig.records);
    REQUIRE(said.size() == 1);
    CHECK(said[0].hour == ahead[7]);
    CHECK(said[0].known == rig.now);
    // Sources survive the journal.
    const auto back = decode_inputs(encode_inputs(std::vector<Input>{HourObserved{hour}}));
    REQUIRE(back.ok());
    CHECK(std::get<HourObserved>(back->at(0)).hour == hour);
}

TEST_CASE("weather: one sentence says what is missing, and goes when it comes") {
    Rig blind(garden_of({seed_zone("z1")}), local(0, 5));
    blind.say();
    CHECK(blind.view().weather_note == "Weather unknown; assuming a warm clear day of the season.");
    Rig rig(garden_of({seed_zone("z1")}), local(0, 5));
    rig.say({HourObserved{rig.hour_at(local(0, 4))}});
    CHECK(rig.view().weather_note.empty());
    rig.pass(9 * kHour);
    rig.say();
    CHECK(rig.view().weather_note == "Weather unknown for 9 h; assuming a warm clear day.");
    auto ahead = trial::clear_hours(local(0, 14), 30);
    for (auto& hour : ahead)
        hour.temp_origin = weather::Origin::forecast;
    rig.say({ForecastArrived{ahead}});
    CHECK(rig.view().weather_note == "Nothing was measured for 9 h; going by the forecast.");
    rig.say({HourObserved{rig.hour_at(local(0, 13))}});
    CHECK(rig.view().weather_note.empty());
}
