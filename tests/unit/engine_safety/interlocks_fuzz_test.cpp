// Whatever comes in, no command breaks an interlock: thousands of random steps, each command judged
// by a monitor that keeps its own books from the valves' side and asks the engine nothing.
#include "rig.hpp"

#include "base/random.hpp"
#include "engine/codec.hpp"
#include "engine/interlocks.hpp"

using namespace firstmow;
using namespace firstmow::engine;
using namespace firstmow::trial;

namespace {

constexpr const char* kMaster = garden::kMasterValve;
constexpr const char* kPump = garden::kPump;

garden::Garden random_garden(Random& random) {
    std::vector<garden::Zone> zones;
    for (const char* id : {"a", "b", "c"}) {
        garden::Zone zone = id[0] == 'c' ? grown_zone(id) : seed_zone(id);
        zone.longest_run_s = 600 + 300 * static_cast<int>(random.uniform(0, 6));
        zones.push_back(zone);
    }
    garden::Garden garden = garden_of(std::move(zones), random.uniform(21, 65));
    garden.supply.hours = {{0, 86400}};
    garden::Interlocks& locks = garden.interlocks;
    locks.zones_at_once = 1 + static_cast<int>(random.uniform(0, 3));
    locks.rest_between_runs_s = 600 * static_cast<int>(random.uniform(0, 4));
    locks.most_per_day_mm = random.uniform(3, 20);
    locks.frost_c = 1;
    if (random.uniform() < 0.7) {
        garden.master.emplace();
        garden.master->lead_s = static_cast<int>(random.uniform(0, 10));
        garden.master->lag_s = static_cast<int>(random.uniform(0, 10));
    }
    if (random.uniform() < 0.7) {
        garden.pump.emplace();
        garden.pump->rest_s = static_cast<int>(random.uniform(0, 1200));
        garden.pump->longest_s = 1200 + static_cast<int>(random.uniform(0, 2400));
        garden.pump->stop_before_s = static_cast<int>(random.uniform(0, 5));
    }
    using garden::SensorKind;
    for (const auto& [id, kind] :
         {std::pair{"meter", SensorKind::flow_meter}, std::pair{"air", SensorKind::thermometer},
          std::pair{"wet", SensorKind::rain_switch}, std::pair{"stop", SensorKind::stop_button}}) {
        garden::Sensor& sensor = garden.sensors.emplace_back();
        sensor.id = id;
        sensor.kind = kind;
        sensor.source = garden::Sensor::Source::push;
    }
    return garden;
}

// What an output has done, as its driver knows.
struct Book {
    bool open = false;
    MonoTime opened;
    MonoTime deadline; // by its lease
    std::optional<MonoTime> closed;
    std::optional<MonoTime> started;                   // last order to open that found it closed
    std::vector<std::pair<MonoTime, MonoTime>> spells; // open from, to
};

class Monitor {
public:
    Monitor(const Setup& setup, const State& state) : setup_(setup), state_(state) {
        for (const auto& output : garden::outputs(setup.garden))
            books_[output.name];
    }

    std::optional<double> air_c; // that the thermometer says
    bool latched = false;

    void judge(const Command& command, MonoTime now) {
        if (const auto* shut = std::get_if<CloseValve>(&command)) {
            REQUIRE(books_.count(shut->zone) == 1);
            return;
        }
        const auto& order = std::get<OpenValve>(command);
        REQUIRE(books_.count(order.zone) == 1);
        CHECK(order.lease > Seconds{0});
        CHECK(order.lease <= Seconds{15000}); // the keeper would refuse it
        CHECK_FALSE(latched);
        const Book& book = books_[order.zone];
        if (order.zone == kPump) {
            judge_pump(order, book, now);
        } else if (order.zone != kMaster) {
            judge_zone(order, book, now);
        }
    }

    void obey(const Command& command, MonoTime now) {
        const auto* open = std::get_if<OpenValve>(&command);
        Book& book = books_[open != nullptr ? open->zone : std::get<CloseValve>(command).zone];
        if (open == nullptr) {
            shut(book, now);
            return;
        }
        book.deadline = now + open->lease;
        if (!book.open) book.opened = now;
        book.open = true;
    }
    // An order to open was given, whether it is obeyed or not.
    void note_start(const Command& command, MonoTime now) {
        if (const auto* open = std::get_if<OpenValve>(&command))
            if (Book& book = books_[open->zone]; !book.open) book.started = now;
    }
    // What the keeper does by itself.
    std::vector<std::string> end_leases(MonoTime now) {
        std::vector<std::string> ended;
        for (auto& [name, book] : books_)
            if (book.open && book.deadline <= now) {
                shut(book, now);
                ended.push_back(name);
            }
        return ended;
    }
    void close_all(MonoTime now) {
        for (auto& [name, book] : books_)
            shut(book, now);
    }
    // The clock that never jumps began anew, `by` later than it would have been.
    void shift(Millis by) {
        for (auto& [name, book] : books_) {
            for (auto* mark : {&book.closed, &book.started})
                if (*mark) **mark += by;
            for (auto& [from, to] : book.spells) {
                from += by;
                to += by;
            }
        }
    }
    bool is_open(const std::string& name) { return books_[name].open; }
    int starts = 0;
    int pump_starts = 0;

private:
    static void shut(Book& book, MonoTime now) {
        if (!book.open) return;
        book.open = false;
        book.closed = now;
        book.spells.emplace_back(book.opened, now);
    }

    const garden::Zone& zone(const std::string& id) const {
        for (const garden::Zone& z : setup_.garden.zones)
            if (z.id == id) return z;
        FAIL("no such zone");
        return setup_.garden.zones.front();
    }

    void judge_zone(const OpenValve& order, const Book& book, MonoTime now) {
        const garden::Zone& z = zone(order.zone);
        const garden::Interlocks& locks = setup_.garden.interlocks;
        const bool longer = book.open;
        const Millis so_far = longer ? now - book.opened : Millis{0};
        ++starts;
        // SAFE-32, with the grace of the lease and of what a lengthening rounds up.
        CHECK(so_far + order.lease <= Seconds{z.longest_run_s + 5 + 2});
        // SAFE-33: whatever it gave in the last 24 h, and this.
        double open_s = 0;
        for (const auto& [from, to] : book.spells)
            if (to > now - Seconds{86400})
                open_s += std::chrono::duration<double>(to - from).count();
        open_s += std::chrono::duration<double>(so_far + order.lease).count();
        // What could not be foreseen: seconds for the lease's grace and the answer of each spell.
        const double slack_s = 8.0 * static_cast<double>(book.spells.size() + 1);
        CHECK(open_s - slack_s <=
              setup_.garden.most_per_day_mm(z) * 3600 / z.precipitation_rate_mm_per_h);
        // SAFE-35
        if (air_c) CHECK(*air_c > locks.frost_c);
        // SAFE-38
        for (std::size_t i = 0; i < setup_.garden.zones.size(); ++i)
            if (setup_.garden.zones[i].id == order.zone) CHECK_FALSE(state_.zones[i].guard.lock);
        // SAFE-30, SAFE-31: with what is open already, and what is being opened.
        int open = longer ? 0 : 1;
        double flow = longer ? 0 : z.flow_l_per_min();
        for (const garden::Zone& other : setup_.garden.zones)
            if (books_[other.id].open) {
                ++open;
                flow += other.flow_l_per_min();
            }
        CHECK(open <= locks.zones_at_once);
        CHECK(flow <= setup_.garden.supply.flow_l_per_min + 1e-6);
        // SAFE-34
        if (!longer && book.closed) CHECK(now - *book.closed >= Seconds{locks.rest_between_runs_s});
        // SAFE-39
        if (setup_.garden.master) {
            CHECK(books_[kMaster].open);
            CHECK(now - books_[kMaster].opened >= Seconds{setup_.garden.master->lead_s});
        }
    }

    void judge_pump(const OpenValve& order, const Book& book, MonoTime now) {
        const garden::Pump& pump = *setup_.garden.pump;
        if (!book.open) {
            ++pump_starts;
            if (book.started) CHECK(now - *book.started >= Seconds{pump.rest_s});
        }
        // Never started against closed valves; it may run on through a change of zones, of which
        // the next valve may be silent, and then for no longer than a change may last.
        bool any = false;
        std::optional<MonoTime> closed;
        for (const garden::Zone& z : setup_.garden.zones) {
            const Book& of_zone = books_[z.id];
            any = any || of_zone.open;
            if (of_zone.closed)
                closed = std::max(closed.value_or(*of_zone.closed), *of_zone.closed);
        }
        if (!book.open) CHECK(any);
        if (!any) CHECK((closed && now - *closed <= Seconds{15}));
        const Millis so_far = book.open ? now - book.opened : Millis{0};
        CHECK(so_far + order.lease <= Seconds{pump.longest_s + 20 + 2});
    }

    const Setup& setup_;
    const State& state_;
    std::map<std::string, Book> books_;
};

class Fuzz {
public:
    explicit Fuzz(std::uint64_t seed)
        : random_(seed),
          setup_(make_setup(random_garden(random_), local_zone())),
          state_(initial_state(setup_)),
          monitor_(setup_, state_) {}

    void run(int steps) {
        for (int i = 0; i < steps; ++i) {
            std::vector<Input> inputs = something();
            for (int turns = 0; turns < 30; ++turns) {
                const StepResult result = step(setup_, state_, {now_, mono_}, inputs);
                inputs.clear();
                monitor_.latched = state_.guards.stop.has_value();
                for (const Command& command : result.commands)
                    carry_out(command, inputs);
                wake_ = result.next_wake;
                CHECK((wake_.wall > now_ || wake_.mono > mono_));
                if (inputs.empty()) break;
            }
            pass();
        }
    }
    const Monitor& monitor() const { return monitor_; }

private:
    double chance() { return random_.uniform(); }
    int whole(int low, int high) {
        return low + static_cast<int>(random_.uniform(0, high - low + 1));
    }
    std::string some_zone() { return std::string(1, static_cast<char>('a' + whole(0, 2))); }

    void carry_out(const Command& command, std::vector<Input>& answers) {
        monitor_.judge(command, mono_);
        monitor_.note_start(command, mono_);
        const bool open = std::holds_alternative<OpenValve>(command);
        ValveReport report;
        report.zone = open ? std::get<OpenValve>(command).zone : std::get<CloseValve>(command).zone;
        if (troubled_ && chance() < 0.02) return; // silent, and nothing moved
        if (troubled_ && chance() < 0.02) {
            report.open = monitor_.is_open(report.zone);
            report.fault = true;
            report.detail = "no answer from the device";
        } else {
            monitor_.obey(command, mono_);
            report.open = open;
        }
        answers.emplace_back(report);
    }

    void reading(std::vector<Input>& inputs, const char* sensor, double value) {
        inputs.emplace_back(SensorReading{sensor, value, now_});
    }

    std::vector<Input> something() {
        std::vector<Input> inputs;
        const WallTime hour = std::chrono::floor<std::chrono::hours>(now_);
        while (told_ < hour) {
            inputs.emplace_back(HourObserved{clear_hour(told_, kHot)});
            told_ += kHour;
            if (told_ == hour) inputs.emplace_back(ForecastArrived{clear_hours(hour, 50, kHot)});
        }
        for (const std::string& name : monitor_.end_leases(mono_)) {
            ValveReport report;
            report.zone = name;
            inputs.emplace_back(report);
        }
        if (chance() < 0.2) inputs.emplace_back(WaterOrder{some_zone(), whole(1, 2400)});
        if (chance() < 0.03) inputs.emplace_back(StopOrder{chance() < 0.5 ? "" : some_zone()});
        if (chance() < 0.02) inputs.emplace_back(HoldOrder{some_zone(), now_ + Seconds{3600}});
        if (chance() < 0.1) inputs.emplace_back(HoldRelease{some_zone()});
        if (chance() < 0.005) inputs.emplace_back(EmergencyStop{"a test says so"});
        if (chance() < 0.05) inputs.emplace_back(EmergencyRelease{});
        if (chance() < 0.01) inputs.emplace_back(ClockState{chance() < 0.7});
        if (chance() < 0.02) reading(inputs, "wet", whole(0, 1));
        if (chance() < 0.01) reading(inputs, "stop", whole(0, 1));
        if (chance() < 0.03)
            inputs.emplace_back(Observation{some_zone(), turf::ObservationKind::surface_dry});
        if (chance() < 0.1 || air_ != 10) {
            // Falls below the limit now and then, in steps that can be.
            air_ = chance() < 0.1 ? (air_ == 10 ? 0.5 : 10) : air_;
            reading(inputs, "air", air_);
            if (const auto& s = state_.guards.sensors[1]; s.heard) monitor_.air_c = std::nullopt;
        }
        if (chance() < 0.3) {
            litres_ += chance() < 0.8 ? 0 : random_.uniform(0, 10);
            reading(inputs, "meter", litres_);
        }
        if (chance() < 0.02) reading(inputs, "meter", -1);
        if (restarts_ && chance() < 0.01) restart(inputs);
        return inputs;
    }

    // A power cut: everything closed, the clocks go on apart.
    void restart(std::vector<Input>& inputs) {
        monitor_.close_all(mono_);
        const auto read_back = decode_state(setup_, encode_state(setup_, state_));
        REQUIRE(read_back.ok());
        CHECK(*read_back == state_);
        state_ = *read_back;
        const Seconds dark{whole(1, 3000)};
        now_ += dark;
        const MonoTime booted{Millis{whole(1'000, 90'000)}};
        monitor_.shift(booted - mono_ - dark);
        mono_ = booted;
        inputs.clear();
        inputs.emplace_back(Restarted{});
    }

    void pass() {
        Millis span = chance() < 0.7 ? std::max<Millis>(wake_.mono - mono_, Millis{1000})
                                     : Millis{whole(1, 600) * 1000};
        span = std::min<Millis>(span, Seconds{900});
        span = std::chrono::ceil<Seconds>(span);
        mono_ += span;
        now_ += std::chrono::duration_cast<Seconds>(span);
        if (jumps_ && chance() < 0.01) now_ += Seconds{whole(-7200, 7200)};
    }

    Random random_;
    Setup setup_;
    State state_;
    Monitor monitor_;
    WallTime now_ = local(1, 9);
    MonoTime mono_{Millis{500'000}};
    WallTime told_ = std::chrono::floor<std::chrono::hours>(local(0, 20));
    Moment wake_{};
    double air_ = 10;
    double litres_ = 100;

public:
    bool troubled_ = false; // drivers fail now and then
    bool restarts_ = false;
    bool jumps_ = false; // of the wall clock
};

void fuzz(std::uint64_t first, int seeds, int steps, bool troubled, bool restarts, bool jumps) {
    int starts = 0;
    int pump_starts = 0;
    for (std::uint64_t seed = first; seed < first + static_cast<std::uint64_t>(seeds); ++seed) {
        CAPTURE(seed);
        Fuzz one(seed);
        one.troubled_ = troubled;
        one.restarts_ = restarts;
        one.jumps_ = jumps;
        one.run(steps);
        starts += one.monitor().starts;
        pump_starts += one.monitor().pump_starts;
    }
    // It was not quiet.
    CHECK(starts > seeds * 5);
    CHECK(pump_starts > seeds);
}

} // namespace

TEST_CASE("interlocks: no sequence of inputs breaks one") {
    fuzz(1, 8, 350, false, false, false);
}
TEST_CASE("interlocks: none is broken when drivers fail") {
    fuzz(101, 8, 350, true, false, false);
}
TEST_CASE("interlocks: none is broken over power cuts") {
    fuzz(201, 8, 350, false, true, false);
}
TEST_CASE("interlocks: none is broken when the wall clock jumps") {
    fuzz(301, 8, 350, true, false, true);
}
