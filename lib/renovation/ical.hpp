// The calendar as a file that calendar programs read (iCalendar, RFC 5545).
//
// All-day events, CRLF, lines folded at 75 octets between UTF-8 characters. Deterministic: the
// time stamp is given, and a UID is made of zone, key and garden, so that a calendar read again
// moves its events instead of doubling them.
#pragma once

#include "renovation/calendar.hpp"

#include <span>
#include <string>
#include <string_view>

namespace firstmow::renovation {

enum class Reading { once, again_soon }; // the latter asks for a look every six hours (RFC 7986)
std::string ical(std::string_view calendar_name, std::span<const Event> events, WallTime stamp,
                 Reading reading = Reading::once);

// The pieces, for tests.
std::string ical_escaped(std::string_view text);
std::string ical_folded(std::string_view line); // with its CRLF

} // namespace firstmow::renovation
