// `firstmow valve test`: for the day of the wiring. One output after the other is opened for some
// seconds and named, with a thumb on stop: any key closes everything. The valves are driven by the
// switchboard and its keeper, as the daemon does, so whatever becomes of this program they close.
#include "commands.hpp"

#include "host/garden_file.hpp"
#include "valves/driver.hpp"
#include "valves/running.hpp"
#include "valves/switchboard.hpp"

#include <utility> // before asio: Boost 1.74 uses std::exchange without it

#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>

#include <array>
#include <cstdio>
#include <fcntl.h>
#include <memory>
#include <termios.h>
#include <unistd.h>

namespace firstmow::companion {

namespace {

// A key counts at once, without Enter, and is not shown.
class Keys {
public:
    Keys() : is_terminal_(::tcgetattr(STDIN_FILENO, &before_) == 0) {
        if (!is_terminal_) return;
        termios now = before_;
        now.c_lflag &= ~static_cast<tcflag_t>(ICANON | ECHO);
        ::tcsetattr(STDIN_FILENO, TCSANOW, &now);
    }
    ~Keys() {
        if (is_terminal_) ::tcsetattr(STDIN_FILENO, TCSANOW, &before_);
    }
    Keys(const Keys&) = delete;
    Keys& operator=(const Keys&) = delete;

private:
    termios before_{};
    bool is_terminal_;
};

class Walk {
public:
    Walk(const host::GardenFile& file, std::vector<garden::Output> outputs, int seconds)
        : file_(file), outputs_(std::move(outputs)), seconds_(seconds) {}

    int run() {
        auto board = valves::Switchboard::start(
            io_, garden::outputs(file_.setup.garden), file_.path,
            [this](engine::ValveReport report) { hear(report); }, 1);
        if (!board) return complain(board.error().message, kNotDone);
        board_ = std::move(*board);
        signals_.async_wait([this](const boost::system::error_code& fault, int) {
            if (!fault) stop();
        });
        listen_for_keys();
        std::printf("%zu to open, %d s each, one at a time. Any key closes everything and ends.\n",
                    outputs_.size(), seconds_);
        begin();
        try {
            io_.run();
        } catch (const valves::KeeperLost& lost) {
            code_ = complain(lost.what(), kNotDone);
        }
        const Status closed = board_->close_all();
        board_.reset();
        if (!closed) return complain(closed.error().message, kNotDone);
        if (stopped_) std::printf("stopped; everything is closed\n");
        return code_;
    }

private:
    const garden::Output& now() const { return outputs_[at_]; }

    std::string name_of(const garden::Output& output) const {
        if (output.name == garden::kMasterValve) return "Master valve";
        if (output.name == garden::kPump) return "Pump relay";
        for (const garden::Zone& zone : file_.setup.garden.zones)
            if (zone.id == output.name) return zone.name + " (" + zone.id + ")";
        return output.name;
    }

    void begin() {
        if (at_ == outputs_.size()) return end();
        std::printf("%zu of %zu: %s, %s: ", at_ + 1, outputs_.size(), name_of(now()).c_str(),
                    valves::place_of(now().valve, file_.path).c_str());
        std::fflush(stdout);
        waiting_ = true;
        board_->open(now().name, Seconds{seconds_});
    }

    void hear(const engine::ValveReport& report) {
        if (stopped_) return;
        if (report.zone != (at_ < outputs_.size() ? now().name : "")) {
            if (report.fault) code_ = complain(report.zone + ": " + report.detail, kNotDone);
            return;
        }
        if (report.fault) {
            std::printf("FAULT\n");
            std::fflush(stdout);
            code_ = complain(report.zone + ": " + report.detail, kNotDone);
            if (report.open) return stop(); // one that may be open ends the walk
            return next();
        }
        if (report.open) {
            std::printf("open ... ");
            std::fflush(stdout);
            waiting_ = false;
        } else if (!waiting_) {
            std::printf("closed\n");
            next();
        }
    }

    // A breath between two, so that the pipe's pressure comes back.
    void next() {
        ++at_;
        waiting_ = true;
        pause_.expires_after(std::chrono::seconds{at_ == outputs_.size() ? 0 : 2});
        pause_.async_wait([this](const boost::system::error_code& fault) {
            if (!fault && !stopped_) begin();
        });
    }

    void listen_for_keys() {
        keys_.async_read_some(boost::asio::buffer(key_),
                              [this](const boost::system::error_code& fault, std::size_t) {
                                  // Without a keyboard (a pipe that ended) Ctrl-C is left.
                                  if (!fault) stop();
                              });
    }

    void stop() {
        std::printf("\n");
        stopped_ = true;
        code_ = kNotDone;
        end();
    }

    void end() { io_.stop(); }

    const host::GardenFile& file_;
    std::vector<garden::Output> outputs_;
    int seconds_;
    const Keys terminal_;
    boost::asio::io_context io_{1};
    boost::asio::posix::stream_descriptor keys_{io_, ::fcntl(STDIN_FILENO, F_DUPFD_CLOEXEC, 3)};
    boost::asio::signal_set signals_{io_, SIGINT, SIGTERM, SIGHUP};
    boost::asio::steady_timer pause_{io_};
    std::unique_ptr<valves::Switchboard> board_;
    std::array<char, 64> key_{};
    std::size_t at_ = 0;
    bool waiting_ = false; // for "open" of the present one
    bool stopped_ = false;
    int code_ = kDone;
};

} // namespace

int valve_test(const ValveTestOptions& options) {
    const auto loaded = host::load_garden(options.garden);
    if (const auto* errors = std::get_if<std::vector<std::string>>(&loaded)) {
        for (const std::string& error : *errors)
            std::fprintf(stderr, "%s\n", error.c_str());
        return kWrongInput;
    }
    const host::GardenFile& file = std::get<host::GardenFile>(loaded);
    std::vector<garden::Output> outputs;
    // A pump would press against closed valves: only where it is asked for by its name.
    for (garden::Output& output : garden::outputs(file.setup.garden))
        if (options.only.empty() ? output.name != garden::kPump : output.name == options.only)
            outputs.push_back(std::move(output));
    if (outputs.empty()) return complain("the garden has no valve '" + options.only + "'");
    if (const int daemon = valves::daemon_of(file.path); daemon != 0)
        return complain("the daemon of this garden runs (process " + std::to_string(daemon) +
                            "); stop it first, for example with systemctl stop firstmowd",
                        kNotDone);
    return Walk(file, std::move(outputs), options.seconds).run();
}

} // namespace firstmow::companion
