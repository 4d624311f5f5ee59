// The routes that only read.
#include "base/text.hpp"
#include "http/growth_json.hpp"
#include "http/problem.hpp"
#include "http/query.hpp"
#include "http/routes.hpp"
#include "tables/json_text.hpp"
#include "tables/tables.hpp"

#include <array>
#include <cmath>
#include <memory>
#include <utility>

namespace firstmow::http {
namespace {

constexpr std::size_t kRowsMax = 5000;
constexpr std::chrono::hours kHalfDay{12};

Reply json_reply(std::string body) {
    Reply reply;
    reply.content_type = "application/json";
    reply.body = std::move(body);
    reply.body += '\n';
    return reply;
}

Reply bad_query(const std::string& detail) {
    return problem(400, "bad-query", detail);
}

Reply not_ready() {
    Reply reply = problem(503, "not-ready", "the garden is still starting; ask again in a moment");
    reply.headers.emplace_back("Retry-After", "2");
    return reply;
}

Reply store_failed(const Error& error) {
    return problem(503, "store-failed", error.message);
}

Reply unknown_zone(std::string_view id) {
    return problem(404, "unknown-zone",
                   "the garden has no zone '" + std::string(id.substr(0, 64)) +
                       "'; /api/v1/status lists its zones");
}

// zone, from, to and limit of a query. `span_default` applies when `from` is not given.
std::variant<Span, Reply> read_span(const Request& request, const Backend& backend,
                                    std::chrono::hours span_default) {
    constexpr std::array<std::string_view, 4> known{"zone", "from", "to", "limit"};
    const auto query = parse_query(request.query, known);
    if (!query) return bad_query(query.error().message);
    Span span;
    span.limit = kRowsMax;
    span.to = backend.now() + Seconds(1);
    if (const auto it = query->find("zone"); it != query->end() && !it->second.empty()) {
        if (!backend.zone(it->second)) return unknown_zone(it->second);
        span.zone = it->second;
    }
    std::optional<WallTime> from;
    for (const auto& [name, value] : *query) {
        if ((name != "from" && name != "to") || value.empty()) continue;
        const auto time = parse_iso8601(value);
        if (!time)
            return bad_query("'" + name + "' is not a time; write it as 2026-08-22T12:40:00Z");
        if (name == "to")
            span.to = *time;
        else
            from = *time;
    }
    span.from = from ? *from : span.to - span_default;
    if (span.from >= span.to) return bad_query("'from' must lie before 'to'");
    if (const auto it = query->find("limit"); it != query->end() && !it->second.empty()) {
        const auto limit = parse_number(it->second);
        if (!limit || *limit < 1 || *limit > static_cast<double>(kRowsMax) ||
            *limit != std::floor(*limit))
            return bad_query("'limit' must be a whole number from 1 to " +
                             std::to_string(kRowsMax));
        span.limit = static_cast<std::size_t>(*limit);
    }
    return span;
}

// Cuts to the limit so that the next page can begin at a time: rows of one time stay together.
// Returns that time when there is more.
template <class Row>
std::optional<WallTime> cut_page(std::vector<Row>& rows, std::size_t limit,
                                 WallTime (*time)(const Row&)) {
    if (rows.size() <= limit) return std::nullopt;
    const WallTime next = time(rows[limit]);
    std::size_t keep = limit;
    while (keep > 0 && time(rows[keep - 1]) == next)
        --keep;
    if (keep == 0) { // more rows of one time than the limit: give what fits and go on behind them
        rows.resize(limit);
        return next + Seconds(1);
    }
    rows.resize(keep);
    return next;
}

std::string next_page(std::string_view path, const Span& span, WallTime next) {
    std::string link = "<" + std::string(path) + "?from=" + to_iso8601(next) +
                       "&to=" + to_iso8601(span.to) + "&limit=" + std::to_string(span.limit);
    if (!span.zone.empty()) link += "&zone=" + span.zone;
    return link + ">; rel=\"next\"";
}

} // namespace

void Routes::healthz(App& app, Call call) {
    const Health health = app.backend_.health();
    tables::JsonWriter w;
    w.open('{').text("status", health.ok ? "ok" : "stalled");
    w.integer("step_age_s", health.step_age.count());
    if (!health.ok) w.text("detail", health.detail);
    w.close();
    Reply reply = json_reply(w.take());
    if (!health.ok) reply.status = 503;
    call.respond(std::move(reply));
}

void Routes::metrics(App& app, Call call) {
    const bool open_metrics =
        accepts(call.request.header("accept"), "application/openmetrics-text");
    const auto view = app.backend_.view();
    Reply reply;
    reply.content_type = open_metrics ? "application/openmetrics-text; version=1.0.0; charset=utf-8"
                                      : "text/plain; version=0.0.4; charset=utf-8";
    reply.headers.emplace_back("Vary", "Accept");
    reply.body = metrics_text(view.get(), app.backend_.health(), app.counts_(), open_metrics);
    call.respond(std::move(reply));
}

void Routes::status(App& app, Call call) {
    call.respond(app.status_.look(app.backend_) ? app.status_.reply(call.request) : not_ready());
}

void Routes::growth(App& app, Call call) {
    const auto view = app.backend_.view();
    call.respond(view ? json_reply(growth_json(*view)) : not_ready());
}

void Routes::session(App& app, Call call) {
    call.respond(app.gate_.session(call.request, {app.backend_.mono(), app.backend_.now()}));
}

void Routes::stream(App& app, Call call) {
    Reply reply;
    const auto now = [&app] { return Gate::Now{app.backend_.mono(), app.backend_.now()}; };
    reply.welcome = [&app, now, pass = app.gate_.pass(call.request, now())] {
        return app.gate_.still_good(pass, now());
    };
    reply.content_type = "text/event-stream";
    reply.event_stream = true;
    call.respond(std::move(reply));
}

void Routes::course(App& app, Call call) {
    Span span;
    const auto half_hours = app.backend_.now().time_since_epoch() / Seconds(1800);
    span.to = WallTime{(half_hours + 1) * Seconds(1800)};
    span.from = span.to - 2 * kHalfDay;
    span.limit = kRowsMax;
    app.backend_.moisture(
        span, [respond = call.respond, span](Result<std::vector<engine::Moisture>> rows) {
            respond(rows ? json_reply(course_json(*rows, span.from, span.to))
                         : store_failed(rows.error()));
        });
}

template <class Row>
void Routes::rows(App& app, Call& call, std::chrono::hours span_default,
                  void (Backend::*ask)(const Span&, Answer<std::vector<Row>>),
                  std::string (*csv)(std::span<const Row>),
                  std::string (*json)(std::span<const Row>), WallTime (*time)(const Row&)) {
    auto wanted = read_span(call.request, app.backend_, span_default);
    if (auto* refusal = std::get_if<Reply>(&wanted)) return call.respond(std::move(*refusal));
    const Span span = std::get<Span>(wanted);
    const bool as_csv = accepts(call.request.header("accept"), "text/csv");
    Span one_more = span; // to see whether there are more
    ++one_more.limit;
    (app.backend_.*ask)(one_more, [=, respond = call.respond,
                                   path = call.request.path](Result<std::vector<Row>> rows) {
        if (!rows) return respond(store_failed(rows.error()));
        const auto next = cut_page(*rows, span.limit, time);
        Reply reply = as_csv ? Reply{} : json_reply(json(*rows));
        if (as_csv) {
            reply.content_type = "text/csv; charset=utf-8; header=present";
            reply.body = csv(*rows);
        }
        reply.headers.emplace_back("Vary", "Accept");
        if (next) reply.headers.emplace_back("Link", next_page(path, span, *next));
        respond(std::move(reply));
    });
}

void Routes::cycles(App& app, Call call) {
    rows<engine::Cycle>(app, call, 14 * kHalfDay, &Backend::cycles, tables::cycles_csv,
                        tables::cycles_json, [](const engine::Cycle& row) { return row.start; });
}

void Routes::decisions(App& app, Call call) {
    rows<engine::Decision>(app, call, 14 * kHalfDay, &Backend::decisions, tables::decisions_csv,
                           tables::decisions_json,
                           [](const engine::Decision& row) { return row.time; });
}

void Routes::moisture(App& app, Call call) {
    rows<engine::Moisture>(app, call, 2 * kHalfDay, &Backend::moisture, tables::moisture_csv,
                           tables::moisture_json,
                           [](const engine::Moisture& row) { return row.time; });
}

void Routes::corrections(App& app, Call call) {
    rows<engine::Correction>(app, call, 60 * kHalfDay, &Backend::corrections,
                             tables::corrections_csv, tables::corrections_json,
                             [](const engine::Correction& row) { return row.time; });
}

void Routes::weather(App& app, Call call) {
    const auto view = app.backend_.view();
    app.backend_.weather([respond = call.respond, now = app.backend_.now(),
                          note = view ? view->weather_note : ""](Result<Weather> weather) {
        if (!weather) return respond(store_failed(weather.error()));
        tables::JsonWriter w;
        w.open('{').time("time", now).text("note", note);
        w.raw("desk", weather->desk.empty() ? "null" : weather->desk);
        w.raw("used", tables::weather_json(weather->used));
        w.close();
        respond(json_reply(w.take()));
    });
}

} // namespace firstmow::http
