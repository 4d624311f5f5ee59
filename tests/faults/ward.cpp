#include "ward.hpp"

#include <chrono>
#include <csignal>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <random>
#include <sys/resource.h>
#include <thread>

namespace firstmow::process {

namespace {

GardenSpec quiet() {
    GardenSpec spec;
    spec.timezone = "Etc/UTC";
    spec.hours = hours_far_from_now();
    spec.start = today();
    return spec;
}

struct Stat {
    std::string name;
    char state = '?';
    int parent = 0;
};

Stat stat_of(const std::string& pid) {
    const std::string text = content_of("/proc/" + pid + "/stat");
    const auto open = text.find('(');
    const auto close = text.rfind(')');
    Stat stat;
    if (open == std::string::npos || close == std::string::npos) return stat;
    stat.name = text.substr(open + 1, close - open - 1);
    stat.state = text.at(close + 2);
    stat.parent = std::atoi(text.c_str() + close + 4);
    return stat;
}

} // namespace

int rounds(int usual) {
    const char* const wish = std::getenv("FIRSTMOW_FAULT_ROUNDS");
    return wish == nullptr ? usual : std::max(std::atoi(wish), 1);
}

void wait_a_moment(int most_ms) {
    static std::mt19937 random{std::random_device{}()};
    const int ms = std::uniform_int_distribution<int>(0, most_ms)(random);
    std::this_thread::sleep_for(std::chrono::milliseconds(ms));
}

double boot_s() {
    timespec t{};
    ::clock_gettime(CLOCK_BOOTTIME, &t);
    return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

std::vector<int> processes(const std::string& name, int parent) {
    std::vector<int> found;
    for (const std::string& pid : names_in("/proc")) {
        if (pid.find_first_not_of("0123456789") != std::string::npos) continue;
        const Stat stat = stat_of(pid);
        if (stat.name != name.substr(0, 15) || stat.state == 'Z') continue;
        if (parent == 0 || stat.parent == parent) found.push_back(std::atoi(pid.c_str()));
    }
    return found;
}

bool lives(int pid) {
    const Stat stat = stat_of(std::to_string(pid));
    return !stat.name.empty() && stat.state != 'Z';
}

Ward::Ward() : house(quiet()) {
    const rlimit none{0, 0};
    ::setrlimit(RLIMIT_CORE, &none); // for those that are aborted
}

Ward::~Ward() {
    const int daemon = daemon_pid();
    const int keeper = keeper_pid();
    if (daemon > 0) ::kill(daemon, SIGKILL);
    if (keeper > 0 && !eventually([&] { return !lives(keeper); }, 3)) ::kill(keeper, SIGKILL);
}

int Ward::daemon_pid() const {
    for (const int pid : processes("firstmowd"))
        if (has(content_of("/proc/" + std::to_string(pid) + "/cmdline"), house.garden()))
            return pid;
    return 0;
}

int Ward::keeper_pid() const {
    const int daemon = daemon_pid();
    const std::vector<int> found =
        daemon == 0 ? std::vector<int>{} : processes("firstmow-keeper", daemon);
    return found.empty() ? 0 : found.front();
}

bool Ward::open() {
    return house.post("/api/v1/zones/bed/water", "{\"minutes\": 60}").status == 200 &&
           eventually([&] { return last().state == "open"; });
}

Ward::Entry Ward::last(const std::string& channel) const {
    Entry entry;
    for (const std::string& line : lines(house.valves())) {
        const auto blank = line.find(' ');
        if (line.compare(blank + 1, channel.size() + 1, channel + " ") != 0) continue;
        entry = {std::atof(line.c_str()), line.substr(blank + 2 + channel.size())};
    }
    return entry;
}

double Ward::closed_after(double since_s, int most_s) const {
    constexpr double kNever = 1e9;
    if (!eventually([&] { return last().state == "closed"; }, most_s)) return kNever;
    // Closed by the first "closed" that no "open" came after.
    double closed_s = kNever;
    for (const std::string& line : lines(house.valves())) {
        if (has(line, " 2 open")) closed_s = kNever;
        if (has(line, " 2 closed") && closed_s == kNever) closed_s = std::atof(line.c_str());
    }
    return closed_s - since_s;
}

} // namespace firstmow::process
