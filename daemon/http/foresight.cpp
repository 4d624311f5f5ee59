// What would come of an order: asked by the page before a thumb gives it.
#include "base/text.hpp"
#include "http/problem.hpp"
#include "http/query.hpp"
#include "http/routes.hpp"
#include "tables/json_text.hpp"

#include <array>
#include <cmath>
#include <optional>
#include <utility>
#include <variant>

namespace firstmow::http {
namespace {

constexpr double kMinutesMax = 240;
constexpr double kHoursMax = 336;

std::string foresight_json(const engine::ZoneForesight& zone, WallTime from, WallTime until,
                           bool ordered) {
    tables::JsonWriter w;
    w.open('{').text("zone", zone.zone).time("from", from).time("until", until);
    w.open('[', "runs");
    for (const engine::PlannedRun& run : zone.runs) {
        w.open('{').time("start", run.start).integer("run_s", run.run_s);
        w.text("reason", run.reason).close();
    }
    w.close();
    // How long an order's water would last: until the next run that is not the order itself.
    std::optional<WallTime> lasts_until;
    bool order_seen = !ordered;
    for (const engine::PlannedRun& run : zone.runs) {
        if (!order_seen && run.reason == "person") {
            order_seen = true;
            continue;
        }
        if (order_seen && !lasts_until) lasts_until = run.start;
    }
    w.time("lasts_until", lasts_until);
    w.time("dry_from", zone.dry_from).number("lowest_kpa", zone.lowest_kpa, 1);
    w.open('[', "course");
    for (const engine::CoursePoint& point : zone.course) {
        w.open('{').time("time", point.time).number("seed_zone_kpa", point.seed_zone_kpa, 1);
        w.number("low_quarter_kpa", point.low_quarter_kpa, 1).close();
    }
    w.close().close();
    return w.take();
}

// Whole kilopascal are finer than any colour.
std::string earth_json(const std::vector<engine::ZoneEarth>& zones) {
    tables::JsonWriter w;
    w.open('{').open('{', "zones");
    for (const engine::ZoneEarth& zone : zones) {
        w.open('{', zone.zone).open('[', "bottom_mm");
        for (const double bottom : zone.bottom_mm)
            w.raw_item(tables::json_number(bottom, 1));
        w.close().open('[', "points");
        for (const engine::EarthPoint& point : zone.points) {
            w.open('{').time("time", point.time).open('[', "kpa");
            for (const double kpa : point.kpa)
                w.raw_item(tables::json_number(kpa, 0));
            w.close().close();
        }
        w.close().close();
    }
    w.close().close();
    return w.take();
}

// The order that the query speaks of, or why it speaks of none.
std::variant<engine::Input, Reply> read_order(const Request& request, const std::string& zone,
                                              WallTime now) {
    constexpr std::array<std::string_view, 2> known{"minutes", "hold_hours"};
    const auto query = parse_query(request.query, known);
    if (!query) return problem(400, "bad-query", query.error().message);
    if (query->size() != 1)
        return problem(400, "bad-query",
                       "ask with either minutes=8 (water now) or hold_hours=24 (no planned water)");
    const auto& [name, text] = *query->begin();
    const double most = name == "minutes" ? kMinutesMax : kHoursMax;
    const double least = name == "minutes" ? 1 : 0.5;
    const auto value = parse_number(text);
    if (!value || !(*value >= least && *value <= most))
        return problem(400, "bad-query",
                       "'" + name + "' must be a number from " + tables::json_number(least, 1) +
                           " to " + tables::json_number(most, 1));
    if (name == "minutes")
        return engine::WaterOrder{zone, static_cast<int>(std::lround(*value * 60))};
    return engine::HoldOrder{zone, now + Seconds(std::llround(*value * 3600))};
}

} // namespace

void Routes::earth(App& app, Call call) {
    const auto earth = app.backend_.earth();
    Reply reply;
    if (earth) {
        reply.content_type = "application/json";
        reply.body = earth_json(*earth) + '\n';
    } else {
        reply = problem(503, "not-ready", "the earth is still being looked at; ask again soon");
        reply.headers.emplace_back("Retry-After", "2");
    }
    call.respond(std::move(reply));
}

void Routes::foresight(App& app, Call call) {
    const std::string id(call.segment);
    if (!app.backend_.zone(id))
        return call.respond(problem(404, "unknown-zone",
                                    "the garden has no zone '" + id.substr(0, 64) +
                                        "'; /api/v1/status lists its zones"));
    auto order = read_order(call.request, id, app.backend_.now());
    if (auto* refusal = std::get_if<Reply>(&order)) return call.respond(std::move(*refusal));
    auto& input = std::get<engine::Input>(order);
    const bool ordered = std::holds_alternative<engine::WaterOrder>(input);
    app.backend_.foresee(
        std::move(input), [respond = call.respond, id, ordered](Result<engine::Foresight> seen) {
            if (!seen) {
                Reply busy = problem(503, "busy", seen.error().message);
                busy.headers.emplace_back("Retry-After", "2");
                return respond(std::move(busy));
            }
            for (const engine::ZoneForesight& zone : seen->zones) {
                if (zone.zone != id) continue;
                Reply reply;
                reply.content_type = "application/json";
                reply.body = foresight_json(zone, seen->from, seen->until, ordered) + '\n';
                return respond(std::move(reply));
            }
            respond(problem(404, "unknown-zone", "the garden has changed; ask again"));
        });
}

} // namespace firstmow::http
