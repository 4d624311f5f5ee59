// How fast the daemon answers, and how soon a valve moves after a thumb: on the real daemon, on
// loopback, with a demo garden and its season. tools/bench/http makes the folder and runs this:
//
//   build/pocket FOLDER [ORDERS]     FOLDER holds garden.toml and state/; 200 orders when left out
//
// Prints; asserts nothing.
#include "child.hpp"
#include "files.hpp"
#include "load.hpp"
#include "running.hpp"
#include "trial.hpp"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <memory>
#include <thread>
#include <vector>

namespace {

using namespace firstmow;
using namespace firstmow::bench;

constexpr int kRounds = 7;
constexpr double kRound_s = 0.7;
constexpr int kPollers = 50;
const std::string kBrowser = "Accept-Encoding: gzip, deflate\r\n";

double median(std::vector<double> values) {
    std::sort(values.begin(), values.end());
    return values[values.size() / 2];
}
double percentile(std::vector<double> values, double share) {
    std::sort(values.begin(), values.end());
    return values[static_cast<std::size_t>(
        std::ceil(share * static_cast<double>(values.size() - 1)))];
}

// The clock that the keeper writes into the valve file.
double boottime_ms() {
    timespec t{};
    ::clock_gettime(CLOCK_BOOTTIME, &t);
    return static_cast<double>(t.tv_sec) * 1e3 + static_cast<double>(t.tv_nsec) / 1e6;
}

class Daemon {
public:
    explicit Daemon(const std::string& folder) : folder_(folder) {
        child_ = std::make_unique<process::Child>(
            process::Start{{process::kDaemon, "--garden", folder + "/garden.toml", "--state-dir",
                            folder + "/state", "--listen", "127.0.0.1:0"},
                           "",
                           "",
                           folder + "/daemon.log",
                           false});
    }
    ~Daemon() {
        child_->signal(SIGTERM);
        (void)child_->wait();
    }
    Daemon(const Daemon&) = delete;
    Daemon& operator=(const Daemon&) = delete;

    // The port; 0 when it did not come up.
    int port() {
        const std::string sign = "serving http://127.0.0.1:";
        int port = 0;
        (void)process::eventually(
            [&] {
                const std::string words = process::content_of(folder_ + "/daemon.log");
                const auto at = words.rfind(sign);
                if (at != std::string::npos) port = std::atoi(words.c_str() + at + sign.size());
                return port != 0 || !child_->running();
            },
            60);
        return port;
    }
    std::string key() const {
        return process::lines(process::content_of(folder_ + "/state/token")).front();
    }
    // What its loop has used of the processor, ns: unlike the rate, whatever else runs here does
    // not change it.
    double used_ns() const {
        const std::string pid = std::to_string(child_->pid());
        return std::atof(
            process::content_of("/proc/" + pid + "/task/" + pid + "/schedstat").c_str());
    }
    std::string valves() const { return process::content_of(folder_ + "/valves.log"); }

private:
    std::string folder_;
    std::unique_ptr<process::Child> child_;
};

// Rounds of each question in turn, so that whatever else runs here hits all of them alike.
void rates(const Daemon& daemon, int port) {
    struct Question {
        const char* name;
        std::string request;
        std::vector<double> per_s{};
        std::vector<double> used_us{}; // for one answer
        Rate last{};
    };
    std::vector<Question> all{
        {"nothing to do (/healthz)", get("/healthz", kBrowser)},
        {"status", get("/api/v1/status", kBrowser)},
        {"status, not packed", get("/api/v1/status", "Accept-Encoding: identity\r\n")},
        {"the page's largest script", get("/strip.js", kBrowser)},
    };
    for (int round = 0; round < kRounds; ++round)
        for (Question& one : all) {
            const double before = daemon.used_ns();
            one.last = ask_on(port, one.request, 8, kRound_s);
            one.per_s.push_back(one.last.per_s);
            one.used_us.push_back((daemon.used_ns() - before) / 1e3 / one.last.answers);
        }
    std::printf("8 connections, median of %d rounds of %.1f s\n", kRounds, kRound_s);
    std::printf("  %-28s %10s %7s %11s %7s %9s\n", "", "answers/s", "", "us of CPU", "", "bytes");
    const auto ratio = [](const std::vector<double>& part, const std::vector<double>& whole) {
        std::vector<double> ratios;
        for (std::size_t i = 0; i < part.size(); ++i)
            ratios.push_back(part[i] / whole[i]);
        return 100 * median(ratios);
    };
    for (const Question& one : all)
        std::printf("  %-28s %10.0f %5.0f %% %11.1f %5.0f %% %9zu  status %d%s\n", one.name,
                    median(one.per_s), ratio(one.per_s, all[0].per_s), median(one.used_us),
                    ratio(all[0].used_us, one.used_us), one.last.bytes, one.last.status,
                    one.last.failed ? ", connections failed" : "");
}

// From the moment an order is sent until the keeper has written that the valve is open.
void thumb(const Daemon& daemon, int port, int orders, double pause_s) {
    std::atomic<bool> ends{false};
    Rate polled;
    std::thread crowd([&] {
        polled = ask_on(port, get("/api/v1/status", kBrowser), kPollers, 600, pause_s, &ends);
    });
    Thumb thumb(port, daemon.key());
    std::vector<double> valve_ms;
    std::vector<double> answer_ms;
    int refused = 0;
    for (int i = 0; i < orders; ++i) {
        const std::size_t before = daemon.valves().size();
        const double sent = boottime_ms();
        const int status = thumb.order("/api/v1/zones/front/water", "{\"minutes\": 8}");
        const double answered = boottime_ms();
        double opened = 0;
        const auto moved = [&](const char* how) {
            return [&, how] {
                for (const std::string& line : process::lines(daemon.valves().substr(before))) {
                    if (!process::has(line, how)) continue;
                    opened = 1e3 * std::atof(line.c_str());
                    return true;
                }
                return false;
            };
        };
        if (status == 200 && process::eventually(moved(" 1 open"), 5)) {
            valve_ms.push_back(opened - sent);
            answer_ms.push_back(answered - sent);
        } else {
            ++refused;
        }
        (void)thumb.order("/api/v1/zones/front/stop", "");
        (void)process::eventually(moved(" 1 closed"), 5);
    }
    ends = true;
    crowd.join();
    if (valve_ms.empty()) {
        std::printf("no order has opened a valve\n");
        return;
    }
    std::printf("%zu orders (%d not carried out), %d clients that ask for the status ",
                valve_ms.size(), refused, kPollers);
    if (pause_s > 0)
        std::printf("every %.1f s", pause_s);
    else
        std::printf("without a pause");
    std::printf(" (%.0f /s)\n  until answered, ms: median %.1f, 99 %% %.1f, worst %.1f\n",
                polled.per_s, percentile(answer_ms, 0.5), percentile(answer_ms, 0.99),
                percentile(answer_ms, 1));
    std::printf("  until the valve is open, ms: median %.1f, 99 %% %.1f, worst %.1f\n",
                percentile(valve_ms, 0.5), percentile(valve_ms, 0.99), percentile(valve_ms, 1));
}

} // namespace

int main(int argc, char** argv) {
    if (argc < 2) {
        std::fputs("pocket FOLDER [ORDERS]; tools/bench/http makes the folder\n", stderr);
        return 2;
    }
    const int orders = argc > 2 ? std::clamp(std::atoi(argv[2]), 1, 5000) : 200;
    std::setvbuf(stdout, nullptr, _IOLBF, 0);
    Daemon daemon(argv[1]);
    const int port = daemon.port();
    if (port == 0) {
        std::fputs("the daemon did not come up; see daemon.log in the folder\n", stderr);
        return 1;
    }
    // The first look into the coming week is done with.
    std::this_thread::sleep_for(std::chrono::seconds(15));
    rates(daemon, port);
    thumb(daemon, port, orders, 1.0);
    thumb(daemon, port, orders, 0);
    return 0;
}
