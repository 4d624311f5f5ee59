// A folder with a garden, some days of invented weather and the companion.
#pragma once

#include "../child.hpp"
#include "../files.hpp"
#include "../trial.hpp"

#include <string>
#include <vector>

namespace firstmow::process {

// Hours of invented weather from 2026-08-20T00:00:00Z on, as the weather CSV.
std::string invented_weather(int hours);

class Bench {
public:
    Bench();

    // The companion with these arguments, in the folder.
    Ended firstmow(const std::vector<std::string>& arguments) const;
    // A season of three days into the folder `out`, with more arguments behind.
    Ended simulate(const std::string& out, const std::vector<std::string>& more = {}) const;

    TempDir place; // garden.toml, weather.csv
};

// What a refusal must look like: exit code 2, words on stderr only, every line one that says where.
bool is_refusal(const Ended& ended, int faults = 1);

} // namespace firstmow::process
