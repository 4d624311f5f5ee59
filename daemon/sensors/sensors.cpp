#include "sensors/sensors.hpp"

#include "base/text.hpp"
#include "host/clocks.hpp"
#include "host/files.hpp"

#include <utility> // before asio: Boost 1.74 uses std::exchange without it

#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/steady_timer.hpp>
#include <spdlog/spdlog.h>

#include <cmath>
#include <optional>
#include <vector>

namespace firstmow::sensors {

namespace {

using garden::Sensor;
using garden::SensorKind;

constexpr Seconds kLookEvery{1};
constexpr Seconds kMeterEvery{5};
constexpr Seconds kRunningEvery{10};
constexpr Seconds kAliveEvery{600};
constexpr Seconds kTryLineEvery{60};
constexpr std::size_t kLargestFile = 4096;

bool counts(SensorKind kind) {
    return kind == SensorKind::flow_meter || kind == SensorKind::rain_gauge;
}

} // namespace

std::optional<double> first_number(std::string_view text) {
    constexpr std::string_view kOfNumbers = "+-.0123456789eE";
    const std::size_t from = text.find_first_not_of(" \t\r\n");
    if (from == std::string_view::npos) return std::nullopt;
    text.remove_prefix(from);
    const std::size_t end = std::min(text.find_first_of(" \t\r\n,;"), text.size());
    text = text.substr(0, end);
    if (text.find_first_not_of(kOfNumbers) != std::string_view::npos) return std::nullopt;
    return parse_number(text);
}

struct Sensors::Impl {
    struct One {
        Sensor sensor;
        std::string path;
        std::unique_ptr<Line> line;
        std::unique_ptr<boost::asio::posix::stream_descriptor> ears;
        Pulses pulses{0};
        std::optional<MonoTime> tried; // to open the line
        std::optional<double> pending; // a level that has to stay for its debounce time
        std::optional<double> said;
        std::optional<MonoTime> said_at;
        bool told = false; // that it cannot be read
    };

    boost::asio::io_context& io;
    Push push;
    OpenLine open;
    std::vector<std::unique_ptr<One>> all;
    boost::asio::steady_timer timer;
    bool water = false;
    std::shared_ptr<bool> alive = std::make_shared<bool>(true);

    Impl(boost::asio::io_context& loop, Push to, OpenLine how)
        : io(loop), push(std::move(to)), open(std::move(how)), timer(loop) {}

    void look_on() {
        timer.expires_after(kLookEvery);
        timer.async_wait(
            [this, still = std::weak_ptr<bool>(alive)](const boost::system::error_code& fault) {
                if (fault || still.expired()) return;
                for (const auto& one : all)
                    look(*one);
                look_on();
            });
    }

    void look(One& one) {
        switch (one.sensor.source) {
        case Sensor::Source::push:
            return;
        case Sensor::Source::file:
            look_at_file(one);
            return;
        case Sensor::Source::gpio:
            if (!one.line) take_line(one);
            if (one.line) look_at_line(one);
            return;
        }
    }

    void complain(One& one, const std::string& what) {
        if (std::exchange(one.told, true)) return;
        push(engine::Remark{engine::Severity::warning, "sensor_unread",
                            "The sensor " + one.sensor.id + " cannot be read (" + what +
                                "); it is tried again."});
    }

    void look_at_file(One& one) {
        const Result<std::string> text = host::read_file(one.path, kLargestFile);
        if (!text) return complain(one, text.error().message);
        const auto number = first_number(*text);
        if (!number) return complain(one, one.path + ": does not begin with a number");
        one.told = false;
        say(one, *number * one.sensor.scale + one.sensor.offset);
    }

    void take_line(One& one) {
        const MonoTime now = host::mono_now();
        if (one.tried && now - *one.tried < kTryLineEvery) return;
        one.tried = now;
        Result<std::unique_ptr<Line>> line = open(one.sensor);
        if (!line) return complain(one, line.error().message);
        one.told = false;
        one.line = std::move(*line);
        one.ears =
            std::make_unique<boost::asio::posix::stream_descriptor>(io, one.line->descriptor());
        wait_for_edge(one);
    }

    void wait_for_edge(One& one) {
        one.ears->async_wait(boost::asio::posix::stream_descriptor::wait_read,
                             [this, &one, still = std::weak_ptr<bool>(alive),
                              of = one.ears.get()](const boost::system::error_code& fault) {
                                 if (fault || still.expired() || of != one.ears.get()) return;
                                 if (hear(one)) wait_for_edge(one);
                             });
    }

    // False: the line was lost.
    bool hear(One& one) {
        const Result<std::vector<Edge>> edges = one.line->edges();
        if (!edges) {
            lose(one, edges.error().message);
            return false;
        }
        for (const Edge& edge : *edges)
            one.pulses.take(edge);
        if (counts(one.sensor.kind))
            say(one, static_cast<double>(one.pulses.count()) * one.sensor.scale);
        else
            look_at_line(one); // a button must not wait for the next look
        return true;
    }

    void look_at_line(One& one) {
        if (counts(one.sensor.kind)) {
            say(one, static_cast<double>(one.pulses.count()) * one.sensor.scale);
            return;
        }
        const Result<bool> active = one.line->active();
        if (!active) return lose(one, active.error().message);
        const double value = *active ? 1 : 0;
        // An emergency stop is believed at the first touch; else a level has to be seen twice.
        const bool at_once = one.sensor.kind == SensorKind::stop_button && value == 1;
        if (at_once || (one.pending && *one.pending == value)) say(one, value);
        one.pending = value;
    }

    void lose(One& one, const std::string& why) {
        if (one.ears) (void)one.ears->release(); // the descriptor is the line's
        one.ears.reset();
        one.line.reset();
        complain(one, why);
    }

    void say(One& one, double value) {
        if (!std::isfinite(value)) return complain(one, "it gives no number");
        const MonoTime now = host::mono_now();
        const bool meter = one.sensor.kind == SensorKind::flow_meter;
        const bool changed = !one.said || *one.said != value;
        const Seconds quiet = meter && water ? kRunningEvery : kAliveEvery;
        const Millis since = one.said_at ? now - *one.said_at : Millis{kAliveEvery};
        const bool due = changed ? !meter || since >= kMeterEvery : since >= quiet;
        if (!due) return;
        one.said = value;
        one.said_at = now;
        push(engine::SensorReading{one.sensor.id, value, host::wall_now()});
    }
};

Sensors::Sensors(boost::asio::io_context& io, const garden::Garden& garden,
                 const std::string& garden_path, Push push, OpenLine open)
    : impl_(std::make_unique<Impl>(io, std::move(push), std::move(open))) {
    for (const Sensor& sensor : garden.sensors) {
        auto one = std::make_unique<Impl::One>();
        one->sensor = sensor;
        one->path = host::beside(garden_path, sensor.file);
        one->pulses = Pulses(sensor.debounce_ms);
        impl_->all.push_back(std::move(one));
    }
    if (!impl_->all.empty()) impl_->look_on();
}

Sensors::~Sensors() {
    impl_->alive.reset();
    for (const auto& one : impl_->all)
        if (one->ears) (void)one->ears->release();
}

void Sensors::water_runs(bool runs) {
    impl_->water = runs;
}

} // namespace firstmow::sensors
