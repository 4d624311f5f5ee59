#include "garden/cans.hpp"

#include "base/check.hpp"
#include "base/text.hpp"
#include "garden/wording.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

namespace firstmow::garden {

namespace {

// As many as an audit asks for at least (common practice, no source).
constexpr std::size_t kGoodTest = 16;
constexpr std::size_t kTellsUniformity = 4;
// What good practice asks of a home lawn, and what audits find (see HeadTraits).
constexpr double kEven = 0.65;
constexpr double kPoor = 0.45;

std::string worth_of(std::size_t cans) {
    if (cans >= kGoodTest) return std::to_string(cans) + " cans make a good test.";
    if (cans >= kTellsUniformity)
        return std::to_string(cans) + " cans give a first idea; " + std::to_string(kGoodTest) +
               " or more, all over the zone, make a good test.";
    return "So few cans tell a rate at best; four or more tell how even it is.";
}

std::string meaning_of(const CanTest& test) {
    if (test.cans < kTellsUniformity) return {};
    if (test.uniformity < 0.1)
        return "A quarter of the zone stays dry: look for a blocked or turned nozzle first.";
    const std::string longer = "to give the driest quarter what the mean gets, a run is " +
                               fixed(1 / test.uniformity, 1) + " times as long";
    if (test.uniformity >= kEven) return "Even enough for a lawn; " + longer + ".";
    if (test.uniformity >= kPoor)
        return "Less even than good practice asks (0.65); " + longer + ".";
    return "Poor: " + longer +
           ". Level heads, clean nozzles and the right pressure save that water.";
}

} // namespace

Result<CanReport> report(const CanNotes& notes) {
    CanReport report;
    double to_mm = notes.unit == CanNotes::Unit::in ? 25.4 : 1;
    if (notes.unit == CanNotes::Unit::ml) {
        if (!(notes.diameter_mm >= 10 && notes.diameter_mm <= 800))
            return Error{"the mouth of a can is said to be " +
                         (std::isfinite(notes.diameter_mm) ? fixed(notes.diameter_mm, 0)
                                                           : std::string("no number of")) +
                         " mm wide; 10 to 800 mm would be right"};
        const double radius_cm = notes.diameter_mm / 20;
        to_mm = can_depth_mm(1, std::numbers::pi * radius_cm * radius_cm);
    }
    report.cans.minutes = notes.minutes;
    for (const double reading : notes.readings)
        report.cans.depth_mm.push_back(reading * to_mm);
    const Result<CanTest> test = evaluate(report.cans);
    if (!test) return test.error();
    report.test = *test;
    const std::vector<double>& depth_mm = report.cans.depth_mm;
    report.mean_mm =
        std::accumulate(depth_mm.begin(), depth_mm.end(), 0.0) / static_cast<double>(test->cans);
    std::vector<std::size_t> by_depth(depth_mm.size());
    std::iota(by_depth.begin(), by_depth.end(), std::size_t{0});
    std::stable_sort(by_depth.begin(), by_depth.end(),
                     [&](std::size_t a, std::size_t b) { return depth_mm[a] < depth_mm[b]; });
    if (test->cans >= kTellsUniformity) {
        by_depth.resize((by_depth.size() + 3) / 4);
        report.driest = std::move(by_depth);
    }
    report.worth = worth_of(test->cans);
    report.meaning = meaning_of(*test);
    return report;
}

std::string toml(const CanNotes& notes) {
    const bool ml = notes.unit == CanNotes::Unit::ml;
    std::string text = "{ readings = \"";
    for (const double reading : notes.readings)
        text += plain(reading) + " ";
    text += ml ? "mL\"" : notes.unit == CanNotes::Unit::in ? "in\"" : "mm\"";
    if (ml) text += ", diameter = \"" + plain(notes.diameter_mm) + " mm\"";
    return text + ", time = \"" + plain(notes.minutes) + " min\" }";
}

} // namespace firstmow::garden
