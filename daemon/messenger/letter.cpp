#include "messenger/letter.hpp"

#include "tables/json_text.hpp"
#include "turf/phase.hpp"

#include <variant>

namespace firstmow::messenger {
namespace {

constexpr std::string_view kWillBeDry = "will_be_dry"; // the engine's code for it

tables::JsonWriter begin(garden::Topic topic, std::string_view garden, WallTime time,
                         std::string_view zone, std::string_view what, std::string_view text) {
    const std::string_view word = garden::key(topic);
    tables::JsonWriter w;
    w.open('{');
    w.text("id", to_iso8601(time) + '/' + std::string(word) + '/' + std::string(zone) + '/' +
                     std::string(what));
    w.text("topic", word).text("garden", garden).time("time", time);
    if (zone.empty())
        w.null("zone");
    else
        w.text("zone", zone);
    w.text("text", text);
    return w;
}

} // namespace

std::optional<Letter> letter_about(const engine::Record& record, std::string_view garden) {
    if (const auto* const notice = std::get_if<engine::Notice>(&record)) {
        garden::Topic topic = garden::Topic::alarm;
        if (notice->code == kWillBeDry)
            topic = garden::Topic::dry_risk;
        else if (notice->severity != engine::Severity::alarm)
            return std::nullopt;
        auto w = begin(topic, garden, notice->time, notice->zone, notice->code, notice->text);
        w.text("code", notice->code).close();
        return Letter{topic, notice->time, w.take()};
    }
    if (const auto* const phase = std::get_if<engine::PhaseRecord>(&record)) {
        const std::string text =
            "Reached: " + std::string(turf::name(phase->to)) + ". " + phase->why;
        auto w = begin(garden::Topic::phase, garden, phase->time, phase->zone, turf::key(phase->to),
                       text);
        w.text("from", turf::key(phase->from)).text("to", turf::key(phase->to)).close();
        return Letter{garden::Topic::phase, phase->time, w.take()};
    }
    return std::nullopt;
}

Letter letter_about(const review::DayReview& review, Date date, WallTime now,
                    std::string_view garden) {
    const std::string day = to_string(date);
    auto w = begin(garden::Topic::daily_review, garden, now, {}, day, review.text);
    w.text("date", day).close();
    return {garden::Topic::daily_review, now, w.take()};
}

} // namespace firstmow::messenger
