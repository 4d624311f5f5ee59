// How exactly a valve is open for as long as was ordered, while the page is hammered and the
// journal is written to without rest, so that SQLite checkpoints in between.
//
//   build/opentime [ROUNDS]     two valves a round, a minute each (the shortest that can be
//   ordered);
//                               5 rounds when left out
//
// Measured on the valve file, which the keeper writes: the time from "open" to "closed", less what
// was ordered. Prints the distribution; asserts nothing.
#include "running.hpp"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <map>
#include <string>
#include <thread>
#include <vector>

namespace {

using namespace firstmow::process;

constexpr int kRun_s = 60;
constexpr int kReaders = 6;

std::vector<double> errors_ms(const std::string& valve_file) {
    std::vector<double> errors;
    std::map<int, double> opened_s;
    for (std::size_t at = 0; at < valve_file.size();) {
        const std::size_t end = valve_file.find('\n', at);
        const std::string line = valve_file.substr(at, end - at);
        at = end == std::string::npos ? valve_file.size() : end + 1;
        double time_s = 0;
        int channel = 0;
        char state[16] = {};
        if (std::sscanf(line.c_str(), "%lf %d %15s", &time_s, &channel, state) != 3) continue;
        if (std::string(state) == "open") {
            opened_s[channel] = time_s;
        } else if (const auto open = opened_s.find(channel); open != opened_s.end()) {
            errors.push_back(1000 * (time_s - open->second - kRun_s));
            opened_s.erase(open);
        }
    }
    return errors;
}

double percentile(const std::vector<double>& sorted, double share) {
    const auto last = static_cast<double>(sorted.size() - 1);
    return sorted[static_cast<std::size_t>(std::ceil(share * last))];
}

} // namespace

int main(int argc, char** argv) {
    const int rounds = argc > 1 ? std::max(std::atoi(argv[1]), 1) : 5;
    GardenSpec spec;
    spec.timezone = "Etc/UTC";
    spec.hours = hours_far_from_now();
    spec.start = today();
    spec.flow = "50 L/min";
    House house(spec);
    if (!house.start()) {
        std::fputs(house.log().c_str(), stderr);
        return 1;
    }
    std::atomic<bool> ends{false};
    std::atomic<long> reads{0};
    std::atomic<long> writes{0};
    std::vector<std::thread> crowd;
    const std::vector<std::string> paths = {"/", "/api/v1/status", "/api/v1/cycles",
                                            "/api/v1/moisture"};
    for (std::size_t i = 0; i < kReaders; ++i)
        crowd.emplace_back([&, i] {
            while (!ends)
                if (house.get(paths[i % paths.size()]).status == 200) ++reads;
        });
    crowd.emplace_back([&] {
        while (!ends)
            if (house.post("/api/v1/zones/front/hold", "{\"hours\": 1}").status == 200) ++writes;
    });
    int refused = 0;
    for (int i = 0; i < rounds; ++i) {
        for (const char* const zone : {"front", "bed"}) {
            const std::string path = "/api/v1/zones/" + std::string(zone) + "/water";
            if (house.post(path, "{\"minutes\": 1}").status != 200) ++refused;
        }
        std::this_thread::sleep_for(std::chrono::milliseconds(1000 * kRun_s + 700));
    }
    std::error_code fault;
    const auto wal_bytes = std::filesystem::file_size(house.database() + "-wal", fault);
    ends = true;
    for (std::thread& one : crowd)
        one.join();
    house.end();
    std::vector<double> errors = errors_ms(house.valves());
    if (errors.empty()) {
        std::fprintf(stderr, "no valve has opened; %d orders were refused\n", refused);
        return 1;
    }
    for (double& error : errors)
        error = std::fabs(error);
    std::sort(errors.begin(), errors.end());
    std::printf(
        "%zu openings of %d s, %ld pages read and %ld orders written meanwhile, %d refused; "
        "log of the journal %.1f MB at the end\n",
        errors.size(), kRun_s, reads.load(), writes.load(), refused,
        fault ? 0.0 : static_cast<double>(wal_bytes) / 1e6);
    std::printf("error of the open time, ms: median %.1f, 90 %% %.1f, 99 %% %.1f, worst %.1f\n",
                percentile(errors, 0.5), percentile(errors, 0.9), percentile(errors, 0.99),
                errors.back());
    return 0;
}
