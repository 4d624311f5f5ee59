// A run of the engine that is written down as the daemon does it, on a journal in a fresh folder.
#pragma once

#include "garden/read.hpp"
#include "journal/replay.hpp"

#include <cstdlib>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#undef CHECK
#include <doctest/doctest.h>

namespace firstmow::journal {

inline TimeZone utc() {
    return TimeZone("Etc/UTC", {{WallTime{}, Seconds{0}, "UTC"}});
}

inline std::string garden_toml(const std::string& name = "Trial", bool with_bed = true) {
    return "[site]\nname = \"" + name +
           "\"\nlatitude = 41.0\nlongitude = -90.0\nelevation = \"210 m\"\n"
           "timezone = \"Etc/UTC\"\n"
           "[supply]\nflow = \"30 L/min\"\nhours = [\"00:00-24:00\"]\n"
           "[[zone]]\nid = \"front\"\narea = \"90 m2\"\nsoil = \"loam\"\n"
           "precipitation_rate = \"12 mm/h\"\nvalve = { driver = \"simulated\", channel = 1 }\n"
           "[zone.establishment]\nmethod = \"seed\"\nstart = 2026-08-10\n"
           "mix = [ { species = \"perennial_ryegrass\", share = 1.0 } ]\n" +
           (with_bed ? "[[zone]]\nid = \"bed\"\narea = \"20 m2\"\nsoil = \"silt_loam\"\n"
                       "precipitation_rate = \"10 mm/h\"\n"
                       "valve = { driver = \"simulated\", channel = 2 }\n"
                       "[zone.establishment]\nmethod = \"none\"\n"
                     : "");
}

inline engine::Setup setup_from(const std::string& toml) {
    auto read = garden::read(toml);
    REQUIRE(std::holds_alternative<garden::Garden>(read));
    return engine::make_setup(std::get<garden::Garden>(std::move(read)), utc());
}

class WrittenRun {
public:
    WrittenRun() {
        std::string name =
            (std::filesystem::temp_directory_path() / "firstmow-journal-XXXXXX").string();
        if (mkdtemp(name.data()) == nullptr) std::abort();
        folder_ = name;
        auto opened = store::Store::open(folder_ + "/j.sqlite");
        REQUIRE(opened.ok());
        store = std::make_unique<store::Store>(std::move(*opened));
    }
    ~WrittenRun() {
        store.reset();
        std::error_code ignored;
        std::filesystem::remove_all(folder_, ignored);
    }
    WrittenRun(const WrittenRun&) = delete;
    WrittenRun& operator=(const WrittenRun&) = delete;

    engine::Moment now() const { return {wall, mono}; }
    void pass(Seconds span) {
        wall += span;
        mono += span;
    }

    void begin(const std::string& toml = garden_toml()) {
        text = {toml, utc()};
        setup = setup_from(toml);
        state = engine::initial_state(*setup);
        write(recorder.garden(now(), text, *setup, state));
    }
    void change_garden(const std::string& toml) {
        engine::Setup after = setup_from(toml);
        state = engine::adopt(*setup, state, after);
        setup = std::move(after);
        text.toml = toml;
        write(recorder.garden(now(), text, *setup, state));
    }
    // One step; the commands are not carried out.
    engine::StepResult tell(const std::vector<engine::Input>& inputs, bool with_snapshot = false) {
        engine::StepResult result = engine::step(*setup, state, now(), inputs);
        store::Step step = recorder.step(now(), inputs, result, *setup, state);
        if (with_snapshot) step.snapshot = recorder.snapshot(wall, text, *setup, state);
        write(step);
        return result;
    }
    // Steps until valves, which obey at once, have nothing more to answer.
    void say(std::vector<engine::Input> inputs) {
        do {
            const engine::StepResult result = tell(inputs);
            inputs.clear();
            for (const engine::Command& command : result.commands) {
                engine::ValveReport report;
                const auto* const open = std::get_if<engine::OpenValve>(&command);
                report.open = open != nullptr;
                report.zone =
                    open != nullptr ? open->zone : std::get<engine::CloseValve>(command).zone;
                inputs.emplace_back(report);
            }
        } while (!inputs.empty());
    }
    // An hour of mild weather, and the engine looked at every quarter.
    void hour() {
        weather::Hour h;
        h.start = std::chrono::floor<std::chrono::hours>(wall);
        h.air_temp_c = 24;
        h.rel_humidity_pct = 50;
        h.wind_2m_m_s = 2;
        h.solar_w_m2 = 400;
        for (int quarter = 0; quarter < 4; ++quarter) {
            pass(Seconds{900});
            if (quarter == 3)
                say({engine::HourObserved{h}});
            else
                say({});
        }
    }
    void write(const store::Step& step) {
        const Status done = store->write(step);
        REQUIRE_MESSAGE(done.ok(), (done.ok() ? "" : done.error().message));
    }

    std::unique_ptr<store::Store> store;
    WallTime wall = parse_iso8601("2026-08-12T06:00:00Z").value();
    MonoTime mono{Millis{5'000'000}};
    GardenText text;
    std::optional<engine::Setup> setup;
    engine::State state;
    Recorder recorder{0};

private:
    std::string folder_;
};

} // namespace firstmow::journal
