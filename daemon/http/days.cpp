// Looking back: the review of one day, and a row of days in a line each.
#include "base/text.hpp"
#include "http/problem.hpp"
#include "http/query.hpp"
#include "http/routes.hpp"
#include "http/snapshots.hpp"
#include "tables/json_text.hpp"
#include "tables/tables.hpp"

#include <array>
#include <utility>

namespace firstmow::http {
namespace {

constexpr int kMostDays = 400;

Reply json_reply(std::string body) {
    Reply reply;
    reply.content_type = "application/json";
    reply.body = std::move(body);
    reply.body += '\n';
    return reply;
}

void write_summary(tables::JsonWriter& w, const review::DaySummary& day) {
    w.text("date", to_string(day.date)).integer("hours", day.hours);
    if (day.hours > 0) {
        w.number("high_c", day.high_c, 1).number("low_c", day.low_c, 1);
        w.number("et_short_mm", day.et_short_mm, 2).number("rain_mm", day.rain_mm, 1);
    } else {
        w.null("high_c").null("low_c").null("et_short_mm").null("rain_mm");
    }
    w.boolean("hot", day.hot()).integer("runs", day.runs);
    w.number("volume_l", day.volume_l, 1).integer("dry_s", day.dry_s);
    w.raw("cost", day.cost ? tables::json_number(*day.cost, 2) : "null");
}

void write_run(tables::JsonWriter& w, const review::Run& run) {
    const engine::Cycle& cycle = run.cycle;
    w.open('{').time("start", cycle.start).time("end", cycle.end);
    w.integer("planned_s", cycle.planned_s).integer("run_s", cycle.run_s);
    w.number("depth_mm", cycle.depth_mm, 2).number("volume_l", cycle.volume_l, 1);
    w.text("reason", cycle.reason).text("outcome", engine::key(cycle.outcome));
    w.text("explanation", run.explanation).close();
}

void write_zone(tables::JsonWriter& w, const review::ZoneDay& zone) {
    w.open('{').text("zone", zone.zone).text("name", zone.name);
    w.integer("runs", static_cast<long long>(zone.runs.size()));
    w.number("volume_l", zone.volume_l, 1);
    w.number("applied_mm", zone.applied_mm, 2).number("rain_mm", zone.rain_mm, 2);
    w.number("evaporation_mm", zone.evaporation_mm, 2);
    w.number("transpiration_mm", zone.transpiration_mm, 2);
    w.number("runoff_mm", zone.runoff_mm, 2).number("drainage_mm", zone.drainage_mm, 2);
    w.number("lowest_low_quarter_kpa", zone.lowest_kpa, 1).time("lowest_at", zone.lowest_at);
    if (zone.judged)
        w.number("threshold_kpa", zone.threshold_kpa, 1).integer("dry_s", zone.dry_s);
    else
        w.null("threshold_kpa").null("dry_s");
    w.time("judged_from", zone.judged ? std::optional(zone.judged_from) : std::nullopt);
    w.number("warmest_soil_c", zone.warmest_c, 1);
    w.open('[', "given");
    for (const review::Run& run : zone.runs)
        write_run(w, run);
    w.close();
    w.raw("withheld", tables::decisions_json(zone.withheld));
    w.close();
}

std::string day_json(const Day& day) {
    const review::DayRecords& records = day.records;
    const review::DayReview& review = day.review;
    tables::JsonWriter w;
    w.open('{').text("date", to_string(records.date));
    w.time("from", records.from).time("to", records.to).text("text", review.text);
    w.open('{', "summary");
    write_summary(w, review.summary);
    if (review.air.hours > 0) w.time("high_at", review.air.high_at);
    w.integer("measured_hours", review.air.measured_hours).close();
    if (review.usual) {
        w.open('{', "usual");
        write_summary(w, *review.usual);
        w.close();
    } else {
        w.null("usual");
    }
    w.open('[', "zones");
    for (const review::ZoneDay& zone : review.zones)
        write_zone(w, zone);
    w.close();
    w.raw("course", course_json(records.moisture, records.from, records.to));
    w.raw("weather", tables::weather_json(records.weather));
    w.raw("cycles", tables::cycles_json(records.cycles));
    w.raw("decisions", tables::decisions_json(records.decisions));
    w.raw("phases", tables::phases_json(records.phases));
    w.raw("notices", tables::notices_json(records.notices));
    w.close();
    return w.take();
}

std::string days_json(std::span<const review::DaySummary> days) {
    tables::JsonWriter w;
    w.open('[');
    for (const review::DaySummary& day : days) {
        w.open('{');
        write_summary(w, day);
        w.close();
    }
    w.close();
    return w.take();
}

} // namespace

void Routes::day(App& app, Call call) {
    const auto date = parse_date(call.segment);
    if (!date) {
        call.respond(problem(400, "bad-date", "the day is not a date; write it as 2026-08-22"));
        return;
    }
    app.backend_.day(*date, [respond = call.respond](Result<Day> day) {
        respond(day ? json_reply(day_json(*day))
                    : problem(503, "store-failed", day.error().message));
    });
}

void Routes::days(App& app, Call call) {
    constexpr std::array<std::string_view, 2> known{"from", "to"};
    const auto query = parse_query(call.request.query, known);
    if (!query) return call.respond(problem(400, "bad-query", query.error().message));
    Date from = app.backend_.season_start();
    Date to = app.backend_.today();
    for (const auto& [name, value] : *query) {
        const auto date = parse_date(value);
        if (!date)
            return call.respond(
                problem(400, "bad-query", "'" + name + "' is not a date; write it as 2026-08-22"));
        (name == "from" ? from : to) = *date;
    }
    if (from > to || add_days(from, kMostDays) < to)
        return call.respond(problem(400, "bad-query",
                                    "'from' must not lie behind 'to', and not more than " +
                                        std::to_string(kMostDays) + " days before it"));
    app.backend_.days(from, to,
                      [respond = call.respond](Result<std::vector<review::DaySummary>> days) {
                          respond(days ? json_reply(days_json(*days))
                                       : problem(503, "store-failed", days.error().message));
                      });
}

} // namespace firstmow::http
