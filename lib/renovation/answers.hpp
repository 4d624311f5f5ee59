// What an owner would try before he writes it into the garden file: answers in place of the file's,
// for one plan. Nothing is kept.
#pragma once

#include "base/result.hpp"
#include "garden/garden.hpp"

#include <optional>
#include <string>

namespace firstmow::renovation {

// What is empty stays as the garden file has it.
struct Answers {
    std::string zone; // id: whose the answers in the second group are; may be left out where the
                      // garden has one zone only
    std::optional<garden::Units> units;
    std::optional<std::chrono::month_day> first_frost; // typical; goes before any record

    std::optional<double> grass_left_pct; // 0..100
    std::optional<garden::Traffic> traffic;
    std::optional<double> slope_pct; // 0..100
    std::optional<bool> instant;
    std::optional<turf::Method> method; // not none
    std::optional<Date> start;
    bool of_zone() const {
        return grass_left_pct || traffic || slope_pct || instant || method || start;
    }
    bool operator==(const Answers&) const = default;
};

// The garden with these answers. A grown-in zone is planned once a day is given for it: by method
// seed unless another is named, of Kentucky bluegrass where no mix is. The error says which answer
// does not fit and what would.
Result<garden::Garden> with_answers(garden::Garden garden, const Answers& answers);

} // namespace firstmow::renovation
