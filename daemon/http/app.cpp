#include "http/app.hpp"

#include "http/assets.hpp"
#include "http/gzip.hpp"
#include "http/problem.hpp"
#include "http/routes.hpp"
#include "tables/json_text.hpp"

#include <utility>

namespace firstmow::http {
namespace {

constexpr std::size_t kPathMax = 256;

// Nothing from elsewhere, nothing inline, in no frame.
constexpr std::string_view kContentPolicy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'";

constexpr Route kRoutes[] = {
    {Method::get, "/healthz", Routes::healthz, Door::open},
    {Method::get, "/metrics", Routes::metrics},
    {Method::get, "/calendar.ics", Routes::calendar},
    // A calendar program cannot sign in: its address is its key, which opens nothing else.
    {Method::get, "/calendar/{id}", Routes::feed, Door::open},
    {Method::get, "/api/v1/calendar-address", Routes::feed_address, Door::write},
    {Method::post, "/api/v1/calendar-address", Routes::make_feed, Door::write},
    {Method::del, "/api/v1/calendar-address", Routes::end_feed, Door::write},
    {Method::get, "/api/v1/status", Routes::status},
    {Method::get, "/api/v1/course", Routes::course},
    {Method::get, "/api/v1/earth", Routes::earth},
    {Method::get, "/api/v1/growth", Routes::growth},
    {Method::get, "/api/v1/plan", Routes::plan},
    {Method::get, "/api/v1/plan.ics", Routes::plan_calendar},
    {Method::get, "/api/v1/cycles", Routes::cycles},
    {Method::get, "/api/v1/decisions", Routes::decisions},
    {Method::get, "/api/v1/moisture", Routes::moisture},
    {Method::get, "/api/v1/corrections", Routes::corrections},
    {Method::get, "/api/v1/days", Routes::days},
    {Method::get, "/api/v1/days/{date}", Routes::day},
    {Method::get, "/api/v1/zones/{id}/foresight", Routes::foresight},
    {Method::get, "/api/v1/weather", Routes::weather},
    {Method::get, "/api/v1/stream", Routes::stream},
    {Method::get, "/api/v1/session", Routes::session, Door::open},
    {Method::post, "/api/v1/session", Routes::sign_in, Door::open},
    {Method::del, "/api/v1/session", Routes::sign_out, Door::open},
    {Method::post, "/api/v1/zones/{id}/water", Routes::water, Door::write},
    {Method::post, "/api/v1/zones/{id}/stop", Routes::stop, Door::write},
    {Method::post, "/api/v1/zones/{id}/hold", Routes::hold, Door::write},
    {Method::del, "/api/v1/zones/{id}/hold", Routes::release, Door::write},
    {Method::post, "/api/v1/zones/{id}/mow", Routes::plan_mow, Door::write},
    {Method::del, "/api/v1/zones/{id}/mow", Routes::drop_mow, Door::write},
    {Method::post, "/api/v1/zones/{id}/observations", Routes::observe, Door::write},
    {Method::del, "/api/v1/zones/{id}/corrections", Routes::set_back, Door::write},
    {Method::del, "/api/v1/zones/{id}/corrections/last", Routes::take_back, Door::write},
    {Method::post, "/api/v1/zones/{id}/undo", Routes::undo, Door::write},
    {Method::post, "/api/v1/zones/{id}/valve-test", Routes::try_valve, Door::write},
    {Method::post, "/api/v1/zones/{id}/valve-test/result", Routes::tried_valve, Door::write},
    {Method::post, "/api/v1/catch-cans", Routes::reckon_cans},
    // The file may hold what is for its owner only.
    {Method::get, "/api/v1/garden", Routes::garden, Door::write},
    {Method::post, "/api/v1/garden", Routes::change_garden, Door::write},
    {Method::post, "/api/v1/garden/preview", Routes::preview_garden, Door::write},
    {Method::post, "/api/v1/stop", Routes::stop_all, Door::write},
    {Method::post, "/api/v1/emergency-stop", Routes::emergency_stop, Door::write},
    {Method::del, "/api/v1/emergency-stop", Routes::emergency_release, Door::write},
    {Method::post, "/api/v1/sensors/{id}", Routes::reading, Door::write},
    // A station has a key of its own, which opens nothing else.
    {Method::post, "/api/v1/weather/stations/{id}", Routes::station, Door::open, true},
    {Method::get, "/api/v1/weather/stations/{id}", Routes::station, Door::open},
    // Where consumer stations send their query when no other path can be set in them.
    {Method::get, "/weatherstation/updateweatherstation.php", Routes::station, Door::open},
};

void serve_asset(const Asset& asset, const Request& request, const Responder& respond) {
    Reply reply;
    reply.headers.emplace_back("ETag", asset.etag);
    if (request.header("if-none-match").find(asset.etag) != std::string_view::npos) {
        reply.status = 304;
    } else {
        const bool packed = accepts_gzip(request);
        reply.content_type = asset.content_type;
        reply.body = packed ? asset.packed : asset.body;
        reply.headers.emplace_back("Vary", "Accept-Encoding");
        if (packed) reply.headers.emplace_back("Content-Encoding", "gzip");
    }
    respond(std::move(reply));
}

Reply wrong_method(std::string_view method, const std::string& allowed) {
    Reply reply =
        problem(405, "wrong-method",
                "this path does not take " + std::string(method) + "; it takes " + allowed);
    reply.headers.emplace_back("Allow", allowed);
    return reply;
}

void allow(std::string& allowed, Method method) {
    if (!allowed.empty()) allowed += ", ";
    allowed += key(method);
    if (method == Method::get) allowed += ", HEAD";
}

// A body is JSON or it is not there: a form of another site cannot send that type by itself.
std::optional<Reply> check_body_type(const Request& request, bool form) {
    if (request.body.empty()) return std::nullopt;
    const std::string type = media_type(request.header("content-type"));
    if (type == "application/json") return std::nullopt;
    if (form && type == "application/x-www-form-urlencoded") return std::nullopt;
    return problem(415, "wrong-content-type", "send the body as Content-Type: application/json");
}

} // namespace

bool matches(std::string_view pattern, std::string_view path, std::string_view& segment) {
    while (!pattern.empty() && !path.empty()) {
        const auto pattern_end = pattern.find('/', 1);
        const auto path_end = path.find('/', 1);
        const std::string_view want = pattern.substr(0, pattern_end);
        const std::string_view have = path.substr(0, path_end);
        if (want.starts_with("/{")) {
            if (have.size() < 2) return false;
            segment = have.substr(1);
        } else if (want != have) {
            return false;
        }
        pattern = pattern_end == std::string_view::npos ? "" : pattern.substr(pattern_end);
        path = path_end == std::string_view::npos ? "" : path.substr(path_end);
    }
    return pattern.empty() && path.empty();
}

std::span<const Route> routes() {
    return kRoutes;
}

App::App(Backend& backend, AccessSettings access, std::function<ServerCounts()> counts)
    : backend_(backend), gate_(std::move(access)), counts_(std::move(counts)) {}

void App::handle(const Request& request, Responder respond) {
    Responder reply_with = [respond = std::move(respond), path = request.path,
                            packed = accepts_gzip(request)](Reply reply) {
        pack(reply, packed);
        add_common_headers(reply, path);
        respond(std::move(reply));
    };
    if (auto refusal = gate_.check_host(request)) return reply_with(std::move(*refusal));
    if (request.path.size() > kPathMax || !request.path.starts_with('/'))
        return reply_with(problem(404, "no-such-path", "there is nothing at this path"));

    const Method method = request.method == Method::head ? Method::get : request.method;
    std::string allowed;
    for (const Route& route : kRoutes) {
        std::string_view segment;
        if (!matches(route.pattern, request.path, segment)) continue;
        if (route.method != method) {
            allow(allowed, route.method);
            continue;
        }
        if (method != Method::get)
            if (auto refusal = gate_.check_origin(request)) return reply_with(std::move(*refusal));
        if (route.door != Door::open) {
            const Gate::Now now{backend_.mono(), backend_.now()};
            auto refusal = route.door == Door::write ? gate_.check_write(request, now)
                                                     : gate_.check_read(request, now);
            if (refusal) return reply_with(std::move(*refusal));
        }
        if (method != Method::get) {
            if (auto refusal = check_body_type(request, route.form))
                return reply_with(std::move(*refusal));
        }
        return route.handler(*this, Call{request, segment, std::move(reply_with)});
    }
    if (const Asset* asset = find_asset(request.path)) {
        if (method == Method::get) return serve_asset(*asset, request, reply_with);
        allow(allowed, Method::get);
    }
    if (!allowed.empty()) return reply_with(wrong_method(key(request.method), allowed));
    reply_with(problem(404, "no-such-path",
                       "there is nothing at this path; /api/v1/openapi.json lists what there is"));
}

std::string App::status_event() {
    // JSON ends with a line break, and has no other.
    return status_.look(backend_) ? "event: status\ndata: " + status_.json() + '\n' : "";
}

std::string App::heartbeat_event() const {
    const Health health = backend_.health();
    tables::JsonWriter w;
    w.open('{').time("time", backend_.now()).boolean("ok", health.ok);
    w.integer("step_age_s", health.step_age.count()).close();
    return ": still here\nevent: tick\ndata: " + w.take() + "\n\n";
}

std::vector<std::string> App::route_list() {
    std::vector<std::string> list;
    for (const Route& route : kRoutes)
        list.push_back(std::string(key(route.method)) + ' ' + std::string(route.pattern));
    return list;
}

void add_common_headers(Reply& reply, std::string_view path) {
    const auto add = [&](const char* name, std::string_view value) {
        reply.headers.emplace_back(name, std::string(value));
    };
    add("Content-Security-Policy", kContentPolicy);
    add("X-Content-Type-Options", "nosniff");
    add("Referrer-Policy", "no-referrer");
    add("Cross-Origin-Resource-Policy", "same-origin");
    const bool asset = (reply.status == 200 || reply.status == 304) &&
                       find_asset(path) != nullptr && !path.starts_with("/api/");
    // A copy of the page must be asked about each time: the program may have been renewed.
    add("Cache-Control", asset ? "no-cache" : "no-store");
}

} // namespace firstmow::http
