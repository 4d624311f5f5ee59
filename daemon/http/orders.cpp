// The routes that change something: sign in and out, water, stop, hold, readings that are pushed.
// What people and instruments see is taken in observations.cpp.
#include "base/text.hpp"
#include "http/body.hpp"
#include "http/problem.hpp"
#include "http/routes.hpp"
#include "tables/json_text.hpp"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <utility>

namespace firstmow::http {
namespace {

constexpr double kMinutesMin = 1;
constexpr double kMinutesMax = 240;
constexpr double kHoursMin = 0.5;
constexpr double kHoursMax = 336;

} // namespace

void Routes::order(App& app, const Call& call, engine::Input input, std::string accepted) {
    app.backend_.submit(std::move(input),
                        [respond = call.respond, accepted = std::move(accepted)](Status taken) {
                            if (!taken)
                                return respond(problem(409, "refused", taken.error().message));
                            Reply reply;
                            reply.content_type = "application/json";
                            reply.body = accepted + '\n';
                            respond(std::move(reply));
                        });
}

void Routes::sign_in(App& app, Call call) {
    auto member = read_member(call.request, "token", R"({"token": "KEY"})");
    if (auto* refusal = std::get_if<Reply>(&member)) return call.respond(std::move(*refusal));
    const auto& token = std::get<nlohmann::json>(member);
    if (!token.is_string()) return call.respond(wrong_value("\"token\" must be a string"));
    call.respond(app.gate_.sign_in(call.request, token.get<std::string>(),
                                   {app.backend_.mono(), app.backend_.now()}));
}

void Routes::sign_out(App& app, Call call) {
    Reply reply = app.gate_.sign_out(call.request);
    if (app.signed_out_) app.signed_out_();
    call.respond(std::move(reply));
}

void Routes::water(App& app, Call call) {
    auto zone = read_zone(call, app.backend_);
    if (auto* refusal = std::get_if<Reply>(&zone)) return call.respond(std::move(*refusal));
    auto minutes =
        read_number(call.request, "minutes", kMinutesMin, kMinutesMax, R"({"minutes": 8})");
    if (auto* refusal = std::get_if<Reply>(&minutes)) return call.respond(std::move(*refusal));
    const int run_s = static_cast<int>(std::lround(std::get<double>(minutes) * 60));
    tables::JsonWriter w;
    w.open('{').text("accepted", "water").text("zone", std::get<std::string>(zone));
    w.integer("run_s", run_s).close();
    order(app, call, engine::WaterOrder{std::get<std::string>(zone), run_s}, w.take());
}

void Routes::stop(App& app, Call call) {
    auto zone = read_zone(call, app.backend_);
    if (auto* refusal = std::get_if<Reply>(&zone)) return call.respond(std::move(*refusal));
    tables::JsonWriter w;
    w.open('{').text("accepted", "stop").text("zone", std::get<std::string>(zone)).close();
    order(app, call, engine::StopOrder{std::get<std::string>(zone)}, w.take());
}

void Routes::hold(App& app, Call call) {
    auto zone = read_zone(call, app.backend_);
    if (auto* refusal = std::get_if<Reply>(&zone)) return call.respond(std::move(*refusal));
    auto hours = read_number(call.request, "hours", kHoursMin, kHoursMax, R"({"hours": 24})");
    if (auto* refusal = std::get_if<Reply>(&hours)) return call.respond(std::move(*refusal));
    const WallTime until =
        app.backend_.now() + Seconds(std::llround(std::get<double>(hours) * 3600));
    tables::JsonWriter w;
    w.open('{').text("accepted", "hold").text("zone", std::get<std::string>(zone));
    w.time("until", until).close();
    order(app, call, engine::HoldOrder{std::get<std::string>(zone), until}, w.take());
}

void Routes::release(App& app, Call call) {
    auto zone = read_zone(call, app.backend_);
    if (auto* refusal = std::get_if<Reply>(&zone)) return call.respond(std::move(*refusal));
    tables::JsonWriter w;
    w.open('{').text("accepted", "release").text("zone", std::get<std::string>(zone)).close();
    order(app, call, engine::HoldRelease{std::get<std::string>(zone)}, w.take());
}

void Routes::plan_mow(App& app, Call call) {
    auto zone = read_zone(call, app.backend_);
    if (auto* refusal = std::get_if<Reply>(&zone)) return call.respond(std::move(*refusal));
    auto member = read_member(call.request, "at", R"({"at": "2026-09-21T15:00:00Z"})");
    if (auto* refusal = std::get_if<Reply>(&member)) return call.respond(std::move(*refusal));
    const auto& text = std::get<nlohmann::json>(member);
    const auto at = text.is_string() ? parse_iso8601(text.get<std::string>())
                                     : Result<WallTime>(Error{"not a string"});
    if (!at)
        return call.respond(wrong_value("\"at\" must be a time; write it as 2026-09-21T15:00:00Z"));
    tables::JsonWriter w;
    w.open('{').text("accepted", "mow_planned").text("zone", std::get<std::string>(zone));
    w.time("at", *at).close();
    order(app, call, engine::MowPlan{std::get<std::string>(zone), *at}, w.take());
}

void Routes::drop_mow(App& app, Call call) {
    auto zone = read_zone(call, app.backend_);
    if (auto* refusal = std::get_if<Reply>(&zone)) return call.respond(std::move(*refusal));
    tables::JsonWriter w;
    w.open('{').text("accepted", "mow_not_planned").text("zone", std::get<std::string>(zone));
    w.close();
    order(app, call, engine::MowPlan{std::get<std::string>(zone), std::nullopt}, w.take());
}

namespace {

// The value of the first of these names in a query or form, decoded.
std::string_view value_of(std::string_view fields, std::string_view name) {
    while (!fields.empty()) {
        const auto end = std::min(fields.find('&'), fields.size());
        const std::string_view pair = fields.substr(0, end);
        if (pair.size() > name.size() && pair.starts_with(name) && pair[name.size()] == '=')
            return pair.substr(name.size() + 1);
        fields.remove_prefix(std::min(end + 1, fields.size()));
    }
    return {};
}

} // namespace

void Routes::station(App& app, Call call) {
    const Request& request = call.request;
    const bool json = media_type(request.header("content-type")) == "application/json";
    const std::string_view fields = !request.body.empty() && !json ? request.body : request.query;
    constexpr std::string_view kBearer = "Bearer ";
    std::string_view key = request.header("authorization");
    key = key.starts_with(kBearer) ? key.substr(kBearer.size()) : std::string_view();
    for (const std::string_view name : {"PASSWORD", "PASSKEY", "key"})
        for (const std::string_view from : {fields, std::string_view(request.query)})
            if (key.empty()) key = value_of(from, name);
    if (auto refusal = app.gate_.check_station(request, key, app.backend_.mono()))
        return call.respond(std::move(*refusal));
    const std::string_view text = json ? std::string_view(request.body) : fields;
    if (const Status taken = app.backend_.station(call.segment, text, json); !taken)
        return call.respond(wrong_value(taken.error().message));
    Reply reply;
    // What such stations look for before they believe that they were heard.
    reply.content_type = json ? "application/json" : "text/plain";
    reply.body = json ? "{\"accepted\":\"weather\"}\n" : "success\n";
    call.respond(std::move(reply));
}

void Routes::stop_all(App& app, Call call) {
    order(app, call, engine::StopOrder{}, R"({"accepted":"stop","zone":null})");
}

void Routes::emergency_stop(App& app, Call call) {
    order(app, call, engine::EmergencyStop{"a person pressed it on the page or from a shell"},
          R"({"accepted":"emergency_stop","zone":null})");
}

void Routes::emergency_release(App& app, Call call) {
    order(app, call, engine::EmergencyRelease{}, R"({"accepted":"emergency_release","zone":null})");
}

void Routes::reading(App& app, Call call) {
    const auto facts = app.backend_.pushed_sensor(call.segment);
    if (!facts)
        return call.respond(problem(404, "unknown-sensor",
                                    "the garden has no sensor '" +
                                        std::string(call.segment.substr(0, 64)) +
                                        "' whose source is \"push\""));
    auto value = read_number(call.request, "value", -1e9, 1e9, R"({"value": 12.5})");
    if (auto* refusal = std::get_if<Reply>(&value)) return call.respond(std::move(*refusal));
    const double number = std::get<double>(value) * facts->scale + facts->offset;
    tables::JsonWriter w;
    w.open('{').text("accepted", "reading").null("zone").text("sensor", call.segment);
    w.number("value", number, 4).close();
    order(app, call, engine::SensorReading{std::string(call.segment), number, app.backend_.now()},
          w.take());
}

} // namespace firstmow::http
