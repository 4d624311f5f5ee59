// Setting up over HTTP: cans that are reckoned, valves that are tried, a garden file that is
// changed, and what a stranger or a slip could do with any of it.
#include "serving.hpp"

#include "http/gate.hpp"

#include <httplib.h>
#include <nlohmann/json.hpp>

#undef CHECK
#include <doctest/doctest.h>

#include <fstream>
#include <sstream>

using namespace firstmow;
using namespace firstmow::http;
using nlohmann::json;

namespace {

const httplib::Headers kWithKey{{"Authorization", std::string("Bearer ") + kKey}};

std::string example_garden() {
    std::ifstream file(std::string(FIRSTMOW_SOURCE_DIR) + "/config/garden.toml", std::ios::binary);
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

struct Desk {
    Serving serving;
    httplib::Client client{"127.0.0.1", serving.port()};
    Desk() {
        serving.on_loop(
            [](FakeBackend& backend, HttpServer&) { backend.garden_.text = example_garden(); });
    }
    std::string file() {
        std::string text;
        serving.on_loop([&](FakeBackend& backend, HttpServer&) { text = backend.garden_.text; });
        return text;
    }
    httplib::Result post(const std::string& path, const std::string& body,
                         httplib::Headers headers = kWithKey) {
        return client.Post(path, headers, body, "application/json");
    }
    int status(const std::string& path, const std::string& body,
               const httplib::Headers& headers = kWithKey) {
        const auto reply = post(path, body, headers);
        REQUIRE(reply);
        if (reply->status >= 400) {
            CHECK_EQ(reply->get_header_value("Content-Type"), "application/problem+json");
            CHECK_FALSE(json::parse(reply->body)["detail"].get<std::string>().empty());
        }
        return reply->status;
    }
    std::string tag() {
        const auto reply = client.Get("/api/v1/garden", kWithKey);
        REQUIRE(reply);
        REQUIRE_EQ(reply->status, 200);
        return reply->get_header_value("ETag");
    }
    httplib::Result change(const json& changes, const std::string& tag) {
        httplib::Headers headers = kWithKey;
        if (!tag.empty()) headers.emplace("If-Match", tag);
        return post("/api/v1/garden", json{{"changes", changes}}.dump(), headers);
    }
};

json area(const std::string& to) {
    return json::array({{{"zone", "front"}, {"key", "area"}, {"value", to}}});
}

} // namespace

TEST_CASE("cans are reckoned for whoever may read, and nothing is taken") {
    Desk desk;
    const auto reply = desk.post("/api/v1/catch-cans",
                                 R"({"minutes": 20, "unit": "mm", "readings": [5, 1, 4, 2]})", {});
    REQUIRE(reply);
    REQUIRE_EQ(reply->status, 200);
    const json told = json::parse(reply->body);
    CHECK_EQ(told["rate_mm_per_h"], 9.0);
    CHECK_EQ(told["driest"], json::array({1}));
    CHECK_EQ(told["depths_mm"].size(), 4);
    CHECK_EQ(told["toml"], R"({ readings = "5 1 4 2 mm", time = "20 min" })");
    CHECK(desk.serving.backend().orders().empty());
    for (const char* body :
         {"[]", "{}", R"({"minutes": 20, "unit": "mm"})",
          R"({"minutes": 20, "unit": "cups", "readings": [1]})",
          R"({"minutes": 20, "unit": "ml", "readings": [1]})",
          R"({"minutes": 20, "unit": "mm", "diameter_mm": 100, "readings": [1]})",
          R"({"minutes": 20, "unit": "mm", "readings": ["1"]})",
          R"({"minutes": 20, "unit": "mm", "readings": []})",
          R"({"minutes": 20, "unit": "mm", "readings": [0, 0]})",
          R"({"minutes": 1e999, "unit": "mm", "readings": [1]})",
          R"({"minutes": 20, "unit": "mm", "readings": [1], "zone": "front"})"})
        CHECK_MESSAGE(desk.status("/api/v1/catch-cans", body, {}) >= 400, body);
    // A form of another site cannot have it reckoned either.
    CHECK_EQ(desk.client.Post("/api/v1/catch-cans", "x=1", "text/plain")->status, 415);
}

TEST_CASE("a valve is tried for seconds, and what came is a note in fixed words") {
    Desk desk;
    CHECK_EQ(desk.status("/api/v1/zones/front/valve-test", R"({"seconds": 10})"), 200);
    CHECK_EQ(desk.status("/api/v1/zones/front/valve-test/result", R"({"came": "right"})"), 200);
    CHECK_EQ(desk.status("/api/v1/zones/front/valve-test/result", R"({"came": "nothing"})"), 200);
    CHECK_EQ(desk.status("/api/v1/zones/front/valve-test/result",
                         R"({"came": "other", "other": "side"})"),
             200);
    const auto orders = desk.serving.backend().orders();
    REQUIRE_EQ(orders.size(), 4);
    CHECK_EQ(std::get<engine::WaterOrder>(orders[0]).run_s, 10);
    CHECK_EQ(std::get<engine::Remark>(orders[1]).text,
             "Wiring: the valve of Front lawn was opened for a moment, and it was the right one.");
    CHECK(std::get<engine::Remark>(orders[2]).severity == engine::Severity::warning);
    CHECK(std::get<engine::Remark>(orders[3]).text.ends_with(" got the water."));

    const std::string water = "/api/v1/zones/front/valve-test";
    for (const char* body : {R"({"seconds": 0})", R"({"seconds": 3600})", R"({"seconds": "10"})",
                             R"({"minutes": 1})", R"({"seconds": -5})", "{}"})
        CHECK_EQ(desk.status(water, body), 422);
    CHECK_EQ(desk.status("/api/v1/zones/nobody/valve-test", R"({"seconds": 10})"), 404);
    CHECK_EQ(desk.status(water, R"({"seconds": 10})", {}), 401);
    for (const char* body :
         {R"({"came": "<b>"})", R"({"came": "right", "other": "side"})", R"({"came": 1})",
          R"({"came": "other", "other": "nobody"})", R"({"came": "other", "other": "front"})",
          R"({"came": "right", "text": "x"})", "[]"})
        CHECK_MESSAGE(desk.status(water + "/result", body) == 422, body);
    CHECK_EQ(desk.status(water + "/result", R"({"came": "right"})", {}), 401);
    CHECK_EQ(desk.serving.backend().orders().size(), 4);
}

TEST_CASE("an undo names what it takes back") {
    Desk desk;
    CHECK_EQ(desk.status("/api/v1/zones/front/undo", R"({"number": 12})"), 200);
    const auto orders = desk.serving.backend().orders();
    REQUIRE_EQ(orders.size(), 1);
    CHECK_EQ(std::get<engine::WordUndo>(orders[0]).number, 12);
    CHECK_EQ(std::get<engine::WordUndo>(orders[0]).zone, "front");
    CHECK_EQ(desk.status("/api/v1/zones/front/undo", R"({"number": 0})"), 422);
    CHECK_EQ(desk.status("/api/v1/zones/front/undo", "{}"), 422);
    CHECK_EQ(desk.status("/api/v1/zones/front/undo", R"({"number": 12})", {}), 401);
    desk.serving.on_loop([](FakeBackend& backend, HttpServer&) {
        backend.change([](engine::GardenView& view) {
            view.zones[0].word = engine::WordView{7, "hold", view.time, view.time + Seconds{900},
                                                  "Front lawn is held until 18:00."};
        });
    });
    const json status = json::parse(desk.client.Get("/api/v1/status")->body);
    CHECK_EQ(status["zones"][0]["undo"]["number"], 7);
    CHECK_EQ(status["zones"][0]["undo"]["what"], "hold");
    CHECK_EQ(status["zones"][0]["undo"]["text"], "Front lawn is held until 18:00.");
    CHECK(status["zones"][1]["undo"].is_null());
}

TEST_CASE("the garden file is shown, previewed and changed; everything else in it stays") {
    Desk desk;
    const auto shown = desk.client.Get("/api/v1/garden", kWithKey);
    REQUIRE(shown);
    REQUIRE_EQ(shown->status, 200);
    const json garden = json::parse(shown->body);
    CHECK_EQ(garden["etag"], shown->get_header_value("ETag"));
    CHECK_EQ(garden["zones"][0]["keys"]["area"]["value"], "110 m2");
    CHECK_EQ(garden["zones"][0]["keys"]["establishment.mix"]["value"][0]["share"], 0.6);
    CHECK_EQ(garden["garden"]["supply.hours"]["value"].size(), 1);
    // What is for its owner only does not go out.
    CHECK_EQ(shown->body.find("valve"), std::string::npos);
    CHECK_EQ(shown->body.find("latitude"), std::string::npos);

    const std::string before = desk.file();
    const json changes = {
        {{"zone", "front"}, {"key", "area"}, {"value", "95 m2"}},
        {{"zone", "front"}, {"key", "name"}, {"value", "Front \"lawn\" # 1"}},
        {{"zone", "side"}, {"key", "slope"}, {"value", nullptr}},
        {{"zone", "strip"}, {"key", "distribution_uniformity"}, {"value", 0.6}},
        {{"zone", "bed"}, {"key", "shortest_run"}, {"value", "3 min"}},
        {{"zone", nullptr}, {"key", "supply.hours"}, {"value", {"05:00-09:00", "18:00-19:00"}}},
        {{"zone", "front"},
         {"key", "establishment.mix"},
         {"value", {{{"species", "tall_fescue"}, {"share", 1}}}}},
    };
    const auto seen = desk.post("/api/v1/garden/preview", json{{"changes", changes}}.dump());
    REQUIRE(seen);
    REQUIRE_MESSAGE(seen->status == 200, seen->body);
    const json preview = json::parse(seen->body);
    CHECK_EQ(desk.file(), before);
    CHECK_GE(preview["lines"].size(), 12);
    CHECK_EQ(preview["effects"].size(), 1);
    const auto done = desk.change(changes, garden["etag"]);
    REQUIRE(done);
    REQUIRE_MESSAGE(done->status == 200, done->body);
    CHECK_EQ(desk.file(), preview["text"].get<std::string>());
    CHECK_EQ(done->get_header_value("ETag"), desk.tag());
    CHECK_NE(desk.file().find("name = \"Front \\\"lawn\\\" # 1\""), std::string::npos);
    CHECK_NE(desk.file().find("hours = [\"05:00-09:00\", \"18:00-19:00\"]"), std::string::npos);
    std::vector<std::string> said;
    desk.serving.on_loop([&](FakeBackend& backend, HttpServer&) { said = backend.garden_said_; });
    REQUIRE_EQ(said.size(), 1);
    CHECK(said[0].starts_with("A person changed the garden file on the page: area of front from "
                              "\"110 m2\" to \"95 m2\""));
}

TEST_CASE("the garden file: who, when, and what may not be") {
    Desk desk;
    const std::string before = desk.file();
    const std::string tag = desk.tag();
    const std::string body = json{{"changes", area("95 m2")}}.dump();
    // Only who is signed in, and not from another site.
    CHECK_EQ(desk.client.Get("/api/v1/garden")->status, 401);
    CHECK_EQ(desk.status("/api/v1/garden", body, {{"If-Match", tag}}), 401);
    CHECK_EQ(desk.status("/api/v1/garden/preview", body, {}), 401);
    httplib::Headers foreign = kWithKey;
    foreign.emplace("Origin", "http://evil.example");
    foreign.emplace("If-Match", tag);
    CHECK_EQ(desk.status("/api/v1/garden", body, foreign), 403);
    // Only what was looked at.
    CHECK_EQ(desk.change(area("95 m2"), "")->status, 428);
    CHECK_EQ(desk.change(area("95 m2"), "\"another\"")->status, 412);
    // Only what may be changed here, as what it is.
    for (const char* key : {"valve", "id", "most_per_day", "valve.driver", "", ".", "area.x",
                            "establishment", "establishment.start", "soil_below"})
        CHECK_EQ(desk.change({{{"zone", "front"}, {"key", key}, {"value", "1"}}}, tag)->status,
                 422);
    for (const char* key :
         {"interlocks.frost", "site.name", "access.reads", "weather.csv", "supply.flow", "area"})
        CHECK_EQ(desk.change({{{"zone", nullptr}, {"key", key}, {"value", "1"}}}, tag)->status,
                 422);
    for (const json& value : std::vector<json>{1, true, nullptr, json::array(), json::object(),
                                               "95", "95 acres", "-1 m2", "1e9 m2", "95 m2\nx = 1"})
        CHECK_EQ(desk.change({{{"zone", "front"}, {"key", "area"}, {"value", value}}}, tag)->status,
                 422);
    for (const std::string& zone : {std::string("nobody"), std::string("../front"),
                                    std::string("front\"]\n[x"), std::string(200, 'a')})
        CHECK_EQ(desk.change({{{"zone", zone}, {"key", "area"}, {"value", "95 m2"}}}, tag)->status,
                 422);
    // A name is a line of text, whatever it tries.
    for (const std::string& name :
         {std::string("a\n[zone.valve]\ndriver = \"x\""), std::string("\x01"),
          std::string("a\r\nb"), std::string(81, 'x'), std::string("\0a", 2), std::string("   ")})
        CHECK_EQ(desk.change({{{"zone", "front"}, {"key", "name"}, {"value", name}}}, tag)->status,
                 422);
    CHECK_EQ(desk.post("/api/v1/garden", std::string(64 * 1024, 'x'))->status, 413);
    CHECK_EQ(desk.change(json::array(), tag)->status, 422);
    json many = json::array();
    for (int i = 0; i < 65; ++i)
        many.push_back(area("95 m2")[0]);
    CHECK_EQ(desk.change(many, tag)->status, 422);
    CHECK_EQ(desk.status("/api/v1/garden", "{\"changes\": [1]}",
                         {{"Authorization", std::string("Bearer ") + kKey}, {"If-Match", tag}}),
             422);
    for (const char* path : {"/api/v1/garden/", "/api/v1/garden/../status", "/api/v1/garden/etc",
                             "/api/v1/zones/%2e%2e/undo", "/api/v1/zones/..%2fgarden/valve-test"})
        CHECK_EQ(desk.post(path, "{\"seconds\": 5}")->status, 404);
    CHECK_EQ(desk.file(), before);
    // What names itself garden and is none.
    CHECK_EQ(desk.change({{{"zone", "front"}, {"key", "soil"}, {"value", "lom"}}}, tag)->status,
             422);
    const json told = json::parse(
        desk.change({{{"zone", "front"}, {"key", "soil"}, {"value", "lom"}}}, tag)->body);
    CHECK_NE(told["detail"].get<std::string>().find("did you mean \"loam\"?"), std::string::npos);
    CHECK_EQ(desk.file(), before);

    // Somebody else was quicker; the daemon may not write; the file is gone.
    desk.serving.on_loop(
        [](FakeBackend& backend, HttpServer&) { backend.garden_.text += "# by hand\n"; });
    CHECK_EQ(desk.change(area("95 m2"), tag)->status, 412);
    desk.serving.on_loop([](FakeBackend& backend, HttpServer&) {
        backend.garden_.why_not = "firstmow may not write there.";
    });
    const auto refused = desk.change(area("95 m2"), desk.tag());
    CHECK_EQ(refused->status, 409);
    CHECK_EQ(json::parse(refused->body)["detail"], "firstmow may not write there.");
    CHECK_EQ(desk.post("/api/v1/garden/preview", body)->status, 200);
    desk.serving.on_loop([](FakeBackend& backend, HttpServer&) { backend.garden_.text.clear(); });
    CHECK_EQ(desk.client.Get("/api/v1/garden", kWithKey)->status, 409);
}
