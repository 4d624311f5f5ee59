// The calendar, and its secret address: a calendar program on a phone cannot sign in, so where
// reads are closed it is let in by an address that only it knows and that opens the calendar only.
#include "http/problem.hpp"
#include "http/routes.hpp"
#include "tables/json_text.hpp"

#include <utility>

namespace firstmow::http {
namespace {

constexpr std::string_view kEnding = ".ics";

Reply json(std::string body) {
    Reply reply;
    reply.content_type = "application/json";
    reply.body = std::move(body) + '\n';
    return reply;
}

} // namespace

void Routes::calendar(App& app, Call call) {
    Result<std::string> calendar = app.backend_.calendar();
    if (!calendar) return call.respond(problem(404, "no-calendar", calendar.error().message));
    Reply reply;
    reply.content_type = "text/calendar; charset=utf-8";
    reply.headers.emplace_back("Content-Disposition", "inline; filename=\"firstmow.ics\"");
    reply.body = std::move(*calendar);
    call.respond(std::move(reply));
}

void Routes::feed(App& app, Call call) {
    std::string_view address = call.segment;
    if (address.ends_with(kEnding)) address.remove_suffix(kEnding.size());
    const Gate::Now now{app.backend_.mono(), app.backend_.now()};
    if (auto refusal = app.gate_.check_feed(call.request, address, now))
        return call.respond(std::move(*refusal));
    calendar(app, std::move(call));
}

// Since when there is one. The address itself is told once only: no secret can be read out of us.
void Routes::feed_address(App& app, Call call) {
    const auto made = app.gate_.feed_made();
    tables::JsonWriter w;
    w.open('{').time("made", made).close();
    call.respond(json(w.take()));
}

void Routes::make_feed(App& app, Call call) {
    const Result<std::string> address = app.gate_.make_feed(app.backend_.now());
    if (!address)
        return call.respond(
            problem(503, "not-kept", "the address cannot be kept: " + address.error().message));
    tables::JsonWriter w;
    w.open('{').text("path", "/calendar/" + *address + std::string(kEnding));
    w.time("made", app.backend_.now()).close();
    call.respond(json(w.take()));
}

void Routes::end_feed(App& app, Call call) {
    app.gate_.end_feed();
    call.respond(json(R"({"made":null})"));
}

} // namespace firstmow::http
