// A catch-can test as a person notes it down, can by can: what it comes to, which cans are the
// worst, and how the garden file would write it. The mathematics is in sprinklers.hpp.
#pragma once

#include "garden/sprinklers.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace firstmow::garden {

struct CanNotes {
    enum class Unit : std::uint8_t { mm, in, ml };
    std::vector<double> readings; // in the order of the cans
    Unit unit = Unit::mm;
    double minutes = 0;     // that the valve was open
    double diameter_mm = 0; // of a can's mouth, 10..800; with ml only
};

struct CanReport {
    CanTest test;
    CatchCans cans; // in mm, as an observation takes them
    double mean_mm = 0;
    std::vector<std::size_t> driest; // the lower quarter, rounded up, the driest first; by place
    std::string worth;               // what the test is worth, a sentence
    std::string meaning;             // what the uniformity means for a run, a sentence
};
// The error is a sentence, as of evaluate().
Result<CanReport> report(const CanNotes& notes);

// For the key catch_cans: { readings = "14 16 17 mL", diameter = "116 mm", time = "10 min" }.
std::string toml(const CanNotes& notes);

} // namespace firstmow::garden
