// What an owner would try before he writes it into the garden file: answers in place of the file's,
// for one plan. Nothing is kept.
#pragma once

#include "base/result.hpp"
#include "garden/garden.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::renovation {

// One grass of a mix that is tried, by weight: of any measure, only its share of the sum counts.
struct TriedPart {
    turf::Species species{};
    double parts = 0; // above 0
    bool operator==(const TriedPart&) const = default;
};

// What is empty stays as the garden file has it.
struct Answers {
    std::string zone; // id: whose the answers in the second group are; may be left out where the
                      // garden has one zone only
    std::optional<garden::Units> units;
    std::optional<std::chrono::month_day> first_frost; // typical; goes before any record
    std::optional<double> water_price_per_m3;          // 0..1000, of no particular currency

    std::optional<double> grass_left_pct; // 0..100
    std::optional<garden::Traffic> traffic;
    std::optional<double> slope_pct; // 0..100
    std::optional<bool> instant;
    std::optional<turf::Method> method; // not none
    std::optional<Date> start;
    std::vector<TriedPart> mix; // each species once; empty: as the file has it
    bool of_zone() const {
        return grass_left_pct || traffic || slope_pct || instant || method || start || !mix.empty();
    }
    bool operator==(const Answers&) const = default;
};

// The garden with these answers. A grown-in zone is planned once a day is given for it: by method
// seed unless another is named, of Kentucky bluegrass where no mix is. The error says which answer
// does not fit and what would.
Result<garden::Garden> with_answers(garden::Garden garden, const Answers& answers);

// A mix in words: species and parts, "tall_fescue:85,kentucky_bluegrass:15"; a species alone may do
// without parts. A part is 0.001 to 1000, and no less than a thousandth of the whole.
Result<std::vector<TriedPart>> parse_mix(std::string_view text);

} // namespace firstmow::renovation
