#include "garden/sprinklers.hpp"

#include "base/check.hpp"
#include "base/text.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <string>

namespace firstmow::garden {

namespace {

// More than this in a can is a slip of the unit.
constexpr double kDeepestCanMm = 300;
constexpr double kLeastRateMmPerH = 0.1;
constexpr double kMostRateMmPerH = 300;

// As text, whatever it is.
std::string figure(double value) {
    return std::isfinite(value) ? fixed(value, 2) : "no number of";
}

// Mean of the lowest quarter of `sorted`; the last value counts as far as it lies in the quarter.
double lowest_quarter(const std::vector<double>& sorted) {
    const double quarter = static_cast<double>(sorted.size()) / 4;
    double left = quarter;
    double sum = 0;
    for (const double value : sorted) {
        const double part = std::min(left, 1.0);
        sum += value * part;
        left -= part;
        if (left <= 0) break;
    }
    return sum / quarter;
}

} // namespace

HeadTraits traits(Heads heads) {
    switch (heads) {
    case Heads::spray:
        return {40, 0.55, 2.5, 200};
    case Heads::unknown: // the loss of a rotor lies in the middle
    case Heads::rotor:
        return {12, 0.65, 4.0, 300};
    case Heads::multi_stream:
        return {11, 0.70, 2.5, 275};
    case Heads::impact:
        return {10, 0.60, 4.0, 300};
    case Heads::oscillating:
        return {15, 0.50, 2.0, 200};
    }
    CHECK(false);
    return {};
}

Result<CanTest> evaluate(const CatchCans& cans) {
    if (!(cans.minutes > 0 && cans.minutes <= kLongestCanTestMin))
        return Error{"the test lasts " + figure(cans.minutes) +
                     " min; more than 0, up to 240 would be right"};
    if (cans.depth_mm.empty()) return Error{"there is no reading; one for each can would be right"};
    if (cans.depth_mm.size() > kMostCans)
        return Error{"there are more than " + std::to_string(kMostCans) +
                     " readings; fewer would be right"};
    for (const double depth : cans.depth_mm)
        if (!(depth >= 0 && depth <= kDeepestCanMm))
            return Error{"a can is said to hold " + figure(depth) + " mm; 0 to " +
                         fixed(kDeepestCanMm, 0) + " mm would be right"};
    std::vector<double> sorted = cans.depth_mm;
    std::sort(sorted.begin(), sorted.end());
    const auto n = static_cast<double>(sorted.size());
    const double mean = std::accumulate(sorted.begin(), sorted.end(), 0.0) / n;
    if (mean <= 0) return Error{"every can is empty; a test with water in the cans would be right"};
    double squares = 0;
    for (const double depth : sorted)
        squares += (depth - mean) * (depth - mean);
    CanTest test;
    test.cans = sorted.size();
    test.rate_mm_per_h = mean * 60 / cans.minutes;
    test.uniformity = lowest_quarter(sorted) / mean;
    test.spread = sorted.size() > 1 ? std::sqrt(squares / (n - 1)) / mean : 0;
    if (test.rate_mm_per_h < kLeastRateMmPerH || test.rate_mm_per_h > kMostRateMmPerH)
        return Error{"the cans make " + fixed(test.rate_mm_per_h, 3) +
                     " mm/h; 0.1 to 300 mm/h would be right: check the opening and the time"};
    return test;
}

} // namespace firstmow::garden
