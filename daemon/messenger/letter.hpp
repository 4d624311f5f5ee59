// What is told to other programs, as JSON: an alarm, a phase reached, a bed that will be dry, the
// review of a day.
#pragma once

#include "engine/records.hpp"
#include "garden/reach.hpp"
#include "review/day.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace firstmow::messenger {

struct Letter {
    garden::Topic topic{};
    WallTime time;
    // {"id", "topic", "garden", "time", "zone" or null, "text", ...}; "id" is the same each time
    // that one letter is tried, so that the receiver can tell a second copy.
    std::string body;
};

// Nothing when the record is none of the topics. `garden` is the site's name.
std::optional<Letter> letter_about(const engine::Record& record, std::string_view garden);
Letter letter_about(const review::DayReview& review, Date date, WallTime now,
                    std::string_view garden);

} // namespace firstmow::messenger
