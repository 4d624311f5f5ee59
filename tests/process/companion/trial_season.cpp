#include "trial_season.hpp"

#include <algorithm>

namespace firstmow::process {

std::string invented_weather(int hours) {
    return run({kInventWeather, "--latitude", "41.9", "--longitude", "-93.6", "--elevation", "290",
                "--from", "2026-08-20T00:00:00Z", "--hours", std::to_string(hours), "--seed", "7"})
        .out;
}

Bench::Bench() {
    static const std::string weather = invented_weather(150);
    write(place.file("garden.toml"), garden_text());
    write(place.file("weather.csv"), weather);
}

Ended Bench::firstmow(const std::vector<std::string>& arguments) const {
    std::vector<std::string> all = {kCompanion};
    all.insert(all.end(), arguments.begin(), arguments.end());
    return run(all, place.path());
}

Ended Bench::simulate(const std::string& out, const std::vector<std::string>& more) const {
    std::vector<std::string> all = {
        "simulate", "--garden",   "garden.toml", "--weather", "weather.csv", "--from", "2026-08-22",
        "--to",     "2026-08-24", "--out",       out};
    all.insert(all.end(), more.begin(), more.end());
    return firstmow(all);
}

bool is_refusal(const Ended& ended, int faults) {
    const auto said = lines(ended.err);
    return ended.code == 2 && ended.out.empty() && static_cast<int>(said.size()) == faults &&
           std::all_of(said.begin(), said.end(), [](const std::string& line) {
               return line.size() > 20 && line.size() < 400 && has(line, ": ");
           });
}

} // namespace firstmow::process
