#include "renovation/ical.hpp"

#include <cstdint>

namespace firstmow::renovation {

namespace {

constexpr std::size_t kLongestLine = 75;

bool continues_character(char c) {
    return (static_cast<unsigned char>(c) & 0xC0U) == 0x80U;
}

std::string basic_date(Date date) {
    std::string text;
    for (const char c : to_string(date))
        if (c != '-') text += c;
    return text;
}

std::string basic_time(WallTime time) {
    std::string text;
    for (const char c : to_iso8601(time))
        if (c != '-' && c != ':') text += c;
    return text;
}

// FNV-1a: tells gardens apart that name their zones alike; no secret.
std::string mark_of(std::string_view text) {
    std::uint64_t hash = 14695981039346656037U;
    for (const char c : text) {
        hash ^= static_cast<unsigned char>(c);
        hash *= 1099511628211U;
    }
    constexpr std::string_view kDigits = "0123456789abcdef";
    std::string mark;
    for (int shift = 60; shift >= 16; shift -= 4)
        mark += kDigits[(hash >> static_cast<unsigned>(shift)) & 15U];
    return mark;
}

} // namespace

std::string ical_escaped(std::string_view text) {
    std::string escaped;
    for (const char c : text) {
        if (c == '\n') {
            escaped += "\\n";
            continue;
        }
        // Other control characters may not stand in a value.
        if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) continue;
        if (c == '\\' || c == ';' || c == ',') escaped += '\\';
        escaped += c;
    }
    return escaped;
}

std::string ical_folded(std::string_view line) {
    std::string folded;
    std::size_t room = kLongestLine;
    while (line.size() > room) {
        std::size_t cut = room;
        while (cut > 0 && continues_character(line[cut]))
            --cut;
        // No UTF-8 character is so long; whatever it is, it is cut.
        if (cut == 0) cut = room;
        folded.append(line.substr(0, cut)).append("\r\n ");
        line.remove_prefix(cut);
        room = kLongestLine - 1; // the blank counts
    }
    return folded.append(line).append("\r\n");
}

std::string ical(std::string_view calendar_name, std::span<const Event> events, WallTime stamp,
                 Reading reading) {
    std::string text;
    const auto line = [&](std::string_view content) { text += ical_folded(content); };
    const std::string mark = mark_of(calendar_name);
    line("BEGIN:VCALENDAR");
    line("VERSION:2.0");
    line("PRODID:-//firstmow//renovation calendar//EN");
    line("CALSCALE:GREGORIAN");
    line("X-WR-CALNAME:" + ical_escaped(calendar_name));
    if (reading == Reading::again_soon) line("REFRESH-INTERVAL;VALUE=DURATION:PT6H");
    for (const Event& event : events) {
        line("BEGIN:VEVENT");
        line("UID:" + (event.zone.empty() ? std::string("garden") : "zone-" + event.zone) + "-" +
             event.key + "-" + std::to_string(static_cast<int>(event.day.year())) + "-" + mark +
             "@firstmow.invalid");
        line("DTSTAMP:" + basic_time(stamp));
        line("DTSTART;VALUE=DATE:" + basic_date(event.day));
        line("DTEND;VALUE=DATE:" + basic_date(add_days(event.day, event.days)));
        line("SUMMARY:" + ical_escaped(event.title));
        if (!event.text.empty()) line("DESCRIPTION:" + ical_escaped(event.text));
        line("TRANSP:TRANSPARENT");
        line("END:VEVENT");
    }
    line("END:VCALENDAR");
    return text;
}

} // namespace firstmow::renovation
