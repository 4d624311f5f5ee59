// A garden file that holds every key, for tests to spoil line by line.
#pragma once

#include "garden/read.hpp"

#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace firstmow::garden {

inline const std::vector<std::string>& sample_lines() {
    static const std::vector<std::string> lines = {
        /*  1 */ R"([site])",
        /*  2 */ R"(name = "Test garden")",
        /*  3 */ R"(latitude = 41.9)",
        /*  4 */ R"(longitude = -93.6)",
        /*  5 */ R"(elevation = "290 m")",
        /*  6 */ R"(timezone = "America/Chicago")",
        /*  7 */ R"(units = "us")",
        /*  8 */ R"(first_frost = "10-07")",
        /*  9 */ R"([supply])",
        /* 10 */ R"(flow = "35 L/min")",
        /* 11 */ R"(hours = ["06:00-19:00"])",
        /* 12 */ R"(days = ["mon", "wed", "sat"])",
        /* 13 */ R"([weather])",
        /* 14 */ R"(csv = "weather.csv")",
        /* 15 */ R"([[zone]])",
        /* 16 */ R"(id = "front")",
        /* 17 */ R"(name = "Front lawn")",
        /* 18 */ R"(area = "90 m2")",
        /* 19 */ R"(soil = "loam")",
        /* 20 */ R"(slope = "2 %")",
        /* 21 */ R"(precipitation_rate = "12 mm/h")",
        /* 22 */ R"(distribution_uniformity = 0.65)",
        /* 23 */ R"(soil_below = "-150 kPa")",
        /* 24 */ R"(shortest_run = "3 min")",
        /* 25 */ R"(longest_run = "45 min")",
        /* 26 */ R"(valve = { driver = "simulated", channel = 1, file = "valves.log" })",
        /* 27 */ R"([zone.establishment])",
        /* 28 */ R"(method = "seed")",
        /* 29 */ R"(start = 2026-08-22)",
        /* 30 */ R"(seed_depth = "6 mm")",
        /* 31 */ R"(cover = "straw")",
        /* 32 */
        R"(mix = [ { species = "kentucky_bluegrass", share = 0.6 }, { species = )"
        R"("perennial_ryegrass", share = 0.4 } ])",
        /* 33 */ R"([[zone]])",
        /* 34 */ R"(id = "bed")",
        /* 35 */ R"(area = "20 m2")",
        /* 36 */ R"(soil = "silt_loam")",
        /* 37 */ R"(precipitation_rate = "10 mm/h")",
        /* 38 */ R"(valve = { driver = "simulated", channel = 2 })",
    };
    return lines;
}

// The sample with some lines (counted from 1) replaced; an empty text leaves an empty line.
inline std::string
sample(const std::vector<std::pair<std::size_t, std::string>>& replacements = {}) {
    std::vector<std::string> lines = sample_lines();
    for (const auto& [line, text] : replacements)
        lines.at(line - 1) = text;
    std::string text;
    for (const std::string& line : lines)
        text += line + "\n";
    return text;
}

inline std::vector<FileError> errors_of(std::string_view text, const ReadOptions& options = {}) {
    const auto read_back = read(text, options);
    const auto* const errors = std::get_if<std::vector<FileError>>(&read_back);
    return errors == nullptr ? std::vector<FileError>{} : *errors;
}

// Every error as "LINE:COLUMN: MESSAGE", a line each.
inline std::string report(const std::vector<FileError>& errors) {
    std::string text;
    for (const FileError& error : errors)
        text += located("garden.toml", error) + "\n";
    return text;
}

} // namespace firstmow::garden
