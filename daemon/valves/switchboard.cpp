#include "valves/switchboard.hpp"

#include "valves/driver.hpp"

#include <utility> // before asio: Boost 1.74 uses std::exchange without it

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>

#include <map>

namespace firstmow::valves {

namespace {

struct Line {
    std::unique_ptr<Driver> driver;
    std::unique_ptr<boost::asio::steady_timer> lease;
    bool open = false;
};

} // namespace

struct Switchboard::Impl {
    boost::asio::io_context& io;
    Report report;
    std::map<std::string, Line> lines;
    // Answers that are still on their way must not outlive the switchboard.
    std::shared_ptr<bool> alive = std::make_shared<bool>(true);

    Impl(boost::asio::io_context& loop, Report to) : io(loop), report(std::move(to)) {}

    void answer(const std::string& zone, bool open, const Status& done) {
        engine::ValveReport r;
        r.zone = zone;
        r.open = open;
        if (!done) {
            r.fault = true;
            r.detail = done.error().message;
        }
        boost::asio::post(io, [this, still = std::weak_ptr<bool>(alive), r = std::move(r)] {
            if (!still.expired()) report(r);
        });
    }

    void shut(const std::string& zone, Line& line) {
        line.lease->cancel();
        const Status done = line.driver->set(false);
        if (done) line.open = false;
        answer(zone, line.open, done);
    }

    void start_lease(const std::string& zone, Line& line, Seconds lease) {
        line.lease->expires_after(lease);
        line.lease->async_wait([this, still = std::weak_ptr<bool>(alive),
                                zone](const boost::system::error_code& fault) {
            if (fault || still.expired()) return;
            shut(zone, lines.at(zone));
        });
    }
};

Switchboard::Switchboard(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}

Switchboard::~Switchboard() {
    impl_->alive.reset();
    (void)close_all();
}

Result<std::unique_ptr<Switchboard>> Switchboard::start(boost::asio::io_context& io,
                                                        const std::vector<garden::Zone>& zones,
                                                        const std::string& garden_path,
                                                        Report report) {
    auto impl = std::make_unique<Impl>(io, std::move(report));
    for (const garden::Zone& zone : zones) {
        Result<std::unique_ptr<Driver>> driver = make_driver(zone.valve, garden_path);
        if (!driver) return Error{"zone " + zone.id + ": " + driver.error().message};
        impl->lines[zone.id] =
            Line{std::move(*driver), std::make_unique<boost::asio::steady_timer>(io), true};
    }
    std::unique_ptr<Switchboard> board(new Switchboard(std::move(impl)));
    if (const Status closed = board->close_all(); !closed) return closed.error();
    return board;
}

void Switchboard::open(const std::string& zone, Seconds lease) {
    const auto found = impl_->lines.find(zone);
    if (found == impl_->lines.end()) return;
    Line& line = found->second;
    if (line.open) {
        impl_->start_lease(zone, line, lease);
        return;
    }
    // The lease stands before the water runs.
    impl_->start_lease(zone, line, lease);
    const Status done = line.driver->set(true);
    line.open = true;
    if (!done) {
        // Whether it opened is not known: it is closed, and the engine hears of the fault.
        line.lease->cancel();
        if (line.driver->set(false)) line.open = false;
    }
    impl_->answer(zone, line.open, done);
}

void Switchboard::close(const std::string& zone) {
    const auto found = impl_->lines.find(zone);
    if (found != impl_->lines.end()) impl_->shut(zone, found->second);
}

Status Switchboard::close_all() {
    Status first = Done{};
    for (auto& [zone, line] : impl_->lines) {
        line.lease->cancel();
        const Status done = line.driver->set(false);
        if (done)
            line.open = false;
        else if (first.ok())
            first = Error{"zone " + zone + ": " + done.error().message};
    }
    return first;
}

} // namespace firstmow::valves
