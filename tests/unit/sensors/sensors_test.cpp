// Contacts, files and played lines, as readings.
#include "sensors/sensors.hpp"

#include "host/files.hpp"

#include <utility>

#include <boost/asio/io_context.hpp>

#include <chrono>
#include <cstdlib>
#include <unistd.h>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::sensors;

namespace {

struct TempFile {
    TempFile() {
        char name[] = "/tmp/firstmow-sensor-XXXXXX";
        const int fd = ::mkstemp(name);
        REQUIRE(fd >= 0);
        ::close(fd);
        path = name;
    }
    ~TempFile() { ::unlink(path.c_str()); }
    std::string path;
};

// A line that the test plays, over a pipe that wakes the loop.
class PlayedLine : public Line {
public:
    explicit PlayedLine(std::shared_ptr<std::vector<Edge>> edges, bool level)
        : edges_(std::move(edges)), level_(level) {
        REQUIRE(::pipe(pipe_) == 0);
        if (!edges_->empty()) REQUIRE(::write(pipe_[1], "x", 1) == 1);
    }
    ~PlayedLine() override {
        ::close(pipe_[0]);
        ::close(pipe_[1]);
    }
    int descriptor() const override { return pipe_[0]; }
    Result<std::vector<Edge>> edges() override {
        char byte = 0;
        if (::read(pipe_[0], &byte, 1) != 1) return Error{"gone"};
        return std::exchange(*edges_, {});
    }
    Result<bool> active() override { return level_; }

private:
    std::shared_ptr<std::vector<Edge>> edges_;
    bool level_;
    int pipe_[2] = {-1, -1};
};

garden::Sensor sensor(garden::SensorKind kind, garden::Sensor::Source source) {
    garden::Sensor s;
    s.id = "s";
    s.kind = kind;
    s.source = source;
    return s;
}

// What a garden with this sensor says within so long.
std::vector<engine::Input> heard(const garden::Sensor& one, Millis span,
                                 Sensors::OpenLine open = open_line) {
    boost::asio::io_context io(1);
    garden::Garden garden;
    garden.sensors = {one};
    std::vector<engine::Input> inputs;
    Sensors sensors(
        io, garden, "/nowhere/garden.toml",
        [&](engine::Input input) { inputs.push_back(std::move(input)); }, std::move(open));
    io.run_for(span);
    return inputs;
}

constexpr std::uint64_t kMs = 1'000'000;

} // namespace

TEST_CASE("contact: bounces are one pulse, quick pulses are many") {
    Pulses tips(50);
    CHECK(tips.take({1000 * kMs, true}));
    for (std::uint64_t ms : {1002U, 1004U, 1007U}) {
        CHECK_FALSE(tips.take({ms * kMs, false}));
        CHECK_FALSE(tips.take({(ms + 1) * kMs, true}));
    }
    CHECK_FALSE(tips.take({1200 * kMs, false}));
    CHECK_FALSE(tips.take({1210 * kMs, true})); // bounces of opening
    CHECK(tips.take({5000 * kMs, true}));
    CHECK(tips.count() == 2);
    Pulses meter(5);
    for (std::uint64_t i = 0; i < 100; ++i) {
        CHECK(meter.take({(20 * i + 10) * kMs, true}));
        CHECK_FALSE(meter.take({(20 * i + 20) * kMs, false}));
    }
    CHECK(meter.count() == 100);
}

TEST_CASE("file: the first number, and nothing that only looks like one") {
    CHECK(first_number("12.5\n") == 12.5);
    CHECK(first_number("  -3 kPa") == -3);
    CHECK(first_number("2048") == 2048);
    CHECK_FALSE(first_number(""));
    CHECK_FALSE(first_number("nan"));
    CHECK_FALSE(first_number("0x10"));
    CHECK_FALSE(first_number("wet"));
}

TEST_CASE("file: what stands in it is a reading, scaled; what cannot be read is told once") {
    TempFile file;
    garden::Sensor probe = sensor(garden::SensorKind::soil_probe, garden::Sensor::Source::file);
    probe.file = file.path;
    probe.scale = 0.5;
    probe.offset = -1;
    REQUIRE(host::write_file(file.path, "64 raw\n").ok());
    auto inputs = heard(probe, Millis{2500});
    REQUIRE(inputs.size() == 1); // it has not changed since
    CHECK(std::get<engine::SensorReading>(inputs[0]).value == 31);
    REQUIRE(host::write_file(file.path, "error\n").ok());
    inputs = heard(probe, Millis{2500});
    REQUIRE(inputs.size() == 1);
    CHECK(std::get<engine::Remark>(inputs[0]).code == "sensor_unread");
}

TEST_CASE("line: tips are counted in mm, a button is believed at once, a lost line is told") {
    garden::Sensor gauge = sensor(garden::SensorKind::rain_gauge, garden::Sensor::Source::gpio);
    gauge.scale = 0.2;
    gauge.debounce_ms = 50;
    const auto edges = std::make_shared<std::vector<Edge>>(std::vector<Edge>{
        {100 * kMs, true}, {102 * kMs, false}, {103 * kMs, true}, {900 * kMs, true}});
    auto inputs = heard(gauge, Millis{1500}, [&](const garden::Sensor&) {
        return Result<std::unique_ptr<Line>>(std::make_unique<PlayedLine>(edges, false));
    });
    REQUIRE(inputs.size() >= 2);
    CHECK(std::get<engine::SensorReading>(inputs[0]).value == 0);
    CHECK(std::get<engine::SensorReading>(inputs[1]).value == doctest::Approx(0.4));

    const garden::Sensor button =
        sensor(garden::SensorKind::stop_button, garden::Sensor::Source::gpio);
    inputs = heard(button, Millis{1500}, [&](const garden::Sensor&) {
        return Result<std::unique_ptr<Line>>(
            std::make_unique<PlayedLine>(std::make_shared<std::vector<Edge>>(), true));
    });
    REQUIRE(inputs.size() == 1);
    CHECK(std::get<engine::SensorReading>(inputs[0]).value == 1);

    garden::Sensor lost = button;
    lost.chip = "no such chip";
    inputs = heard(lost, Millis{1500});
    REQUIRE(inputs.size() == 1);
    CHECK(std::get<engine::Remark>(inputs[0]).code == "sensor_unread");
}
