// What helps on the day of setting up: reckoning catch cans, and one valve after the other opened
// for a moment while somebody looks.
#include "base/text.hpp"
#include "garden/cans.hpp"
#include "http/body.hpp"
#include "http/problem.hpp"
#include "tables/json_text.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace firstmow::http {
namespace {

using Json = nlohmann::json;

constexpr const char* kCansExample =
    R"({"minutes": 10, "unit": "ml", "diameter_mm": 116, "readings": [14, 16, 17, 19]})";
constexpr const char* kResultExample = R"({"came": "right"})";
// As of `firstmow valve test`, but for what is too short to see anything.
constexpr double kShortestTestS = 3;
constexpr double kLongestTestS = 120;

std::string name_of(const Backend& backend, std::string_view id) {
    if (const auto view = backend.view())
        for (const engine::ZoneView& zone : view->zones)
            if (zone.id == id) return zone.name;
    return std::string(id);
}

std::variant<garden::CanNotes, Reply> read_notes(const Request& request) {
    auto read = read_object(request, kCansExample);
    if (auto* refusal = std::get_if<Reply>(&read)) return std::move(*refusal);
    const Json& body = std::get<Json>(read);
    if (!body.is_object())
        return wrong_value(std::string("the body is no object; send for example ") + kCansExample);
    auto notes = read_can_notes(body);
    if (const auto* error = std::get_if<std::string>(&notes))
        return wrong_value(*error + "; send for example " + kCansExample);
    return std::get<garden::CanNotes>(std::move(notes));
}

} // namespace

void Routes::reckon_cans(App&, Call call) {
    auto read = read_notes(call.request);
    if (auto* refusal = std::get_if<Reply>(&read)) return call.respond(std::move(*refusal));
    const auto& notes = std::get<garden::CanNotes>(read);
    const auto told = garden::report(notes);
    if (!told) return call.respond(wrong_value(told.error().message));
    tables::JsonWriter w;
    w.open('{').integer("cans", static_cast<long long>(told->test.cans));
    w.number("mean_mm", told->mean_mm, 3);
    w.number("rate_mm_per_h", told->test.rate_mm_per_h, 2);
    w.raw("uniformity",
          told->driest.empty() ? "null" : tables::json_number(told->test.uniformity, 3));
    w.number("spread", told->test.spread, 3);
    w.open('[', "depths_mm");
    for (const double depth : told->cans.depth_mm)
        w.raw_item(tables::json_number(depth, 4));
    w.close();
    w.open('[', "driest");
    for (const std::size_t can : told->driest)
        w.raw_item(std::to_string(can));
    w.close();
    w.text("worth", told->worth).text("meaning", told->meaning);
    w.text("toml", garden::toml(notes)).close();
    Reply reply;
    reply.content_type = "application/json";
    reply.body = w.take() + '\n';
    call.respond(std::move(reply));
}

void Routes::try_valve(App& app, Call call) {
    auto zone = read_zone(call, app.backend_);
    if (auto* refusal = std::get_if<Reply>(&zone)) return call.respond(std::move(*refusal));
    auto seconds =
        read_number(call.request, "seconds", kShortestTestS, kLongestTestS, R"({"seconds": 10})");
    if (auto* refusal = std::get_if<Reply>(&seconds)) return call.respond(std::move(*refusal));
    const int run_s = static_cast<int>(std::lround(std::get<double>(seconds)));
    tables::JsonWriter w;
    w.open('{').text("accepted", "valve_test").text("zone", std::get<std::string>(zone));
    w.integer("run_s", run_s).close();
    // A person's order like any other: every interlock holds.
    order(app, call, engine::WaterOrder{std::get<std::string>(zone), run_s}, w.take());
}

void Routes::tried_valve(App& app, Call call) {
    auto zone = read_zone(call, app.backend_);
    if (auto* refusal = std::get_if<Reply>(&zone)) return call.respond(std::move(*refusal));
    const std::string& id = std::get<std::string>(zone);
    auto read = read_object(call.request, kResultExample);
    if (auto* refusal = std::get_if<Reply>(&read)) return call.respond(std::move(*refusal));
    const Json& body = std::get<Json>(read);
    const auto word = [&](const char* name) {
        return body.is_object() && body.contains(name) && body[name].is_string()
                   ? body[name].get<std::string>()
                   : std::string();
    };
    const std::string came = word("came");
    const std::string other = word("other");
    const bool another = came == "other";
    if ((came != "right" && came != "nothing" && !another) ||
        body.size() != (other.empty() ? 1U : 2U) || (!another && !other.empty()))
        return call.respond(wrong_value(std::string("\"came\" must be right, nothing or other, and "
                                                    "only other may name a zone in \"other\"; send "
                                                    "for example ") +
                                        kResultExample));
    if (!other.empty() && (other == id || !app.backend_.zone(other)))
        return call.respond(wrong_value("\"other\" must be the id of another zone of the garden"));
    const std::string name = name_of(app.backend_, id);
    std::string said = "Wiring: the valve of " + name + " was opened for a moment, and ";
    if (came == "right")
        said += "it was the right one.";
    else if (came == "nothing")
        said += "nothing came.";
    else
        said += (other.empty() ? std::string("another zone") : name_of(app.backend_, other)) +
                " got the water.";
    tables::JsonWriter w;
    w.open('{').text("accepted", "valve_test_result").text("zone", id).text("text", said).close();
    order(app, call,
          engine::Remark{came == "right" ? engine::Severity::note : engine::Severity::warning,
                         "wiring", said},
          w.take());
}

} // namespace firstmow::http
