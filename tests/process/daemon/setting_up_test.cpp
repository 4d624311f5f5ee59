// Setting up on the running daemon: the garden file is changed and comes into force, a valve is
// tried, a slip is undone; and what is refused disturbs no valve.
#include "../running.hpp"

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include <filesystem>
#include <sys/stat.h>

namespace firstmow::process {

namespace {

using Json = nlohmann::json;

GardenSpec quiet() {
    GardenSpec spec;
    spec.timezone = "Etc/UTC";
    spec.hours = hours_far_from_now();
    spec.start = today();
    return spec;
}

struct Owner {
    House& house;
    std::string tag() const {
        return Json::parse(house.get_with(headers(), "/api/v1/garden").body).value("etag", "");
    }
    Headers headers(const std::string& match = {}) const {
        Headers all{{"Authorization", "Bearer " + house.key()}};
        if (!match.empty()) all.push_back({"If-Match", match});
        return all;
    }
    Reply change(const std::string& zone, const std::string& key, const Json& value,
                 const std::string& match) const {
        const Json body = {{"changes", {{{"zone", zone}, {"key", key}, {"value", value}}}}};
        return house.send(headers(match), "/api/v1/garden", body.dump());
    }
};

bool open(const House& house, const std::string& zone) {
    return eventually([&] { return house.zone(zone, "valve") == "open"; });
}

} // namespace

TEST_CASE("the garden file is changed from the page, and the season goes on with it") {
    House house(quiet());
    const std::string old = "# mine\n" + content_of(house.garden());
    write(house.garden(), old);
    REQUIRE_MESSAGE(house.start(), house.log());
    const Owner owner{house};
    const std::string tag = owner.tag();
    CHECK(house.post("/api/v1/zones/bed/water", "{\"minutes\": 60}").status == 200);
    REQUIRE(open(house, "bed"));

    // Refused: nothing moves.
    CHECK(owner.change("bed", "name", "x", "\"other\"").status == 412);
    CHECK(owner.change("bed", "area", "9e9 m2", tag).status == 422);
    CHECK(owner.change("bed", "valve", "x", tag).status == 422);
    CHECK(owner.change("../etc/passwd", "name", "x", tag).status == 422);
    CHECK(owner.change("bed", "name", "a\n[[zone]]\nid = \"b\"", tag).status == 422);
    CHECK(owner.change("bed", "name", std::string(64 * 1024, 'x'), tag).status == 413);
    CHECK(house.post_with("", "/api/v1/garden", "{}").status == 401);
    CHECK(content_of(house.garden()) == old);
    CHECK(house.zone("bed", "valve") == "open");

    const Reply done = owner.change("bed", "name", "Bed \"one\" #1", tag);
    REQUIRE_MESSAGE(done.status == 200, done.body);
    CHECK(Json::parse(done.body).at("etag") == owner.tag());
    const std::string now = content_of(house.garden());
    CHECK(now != old);
    CHECK(has(now, "# mine\n"));
    CHECK(content_of(house.garden() + ".before") == old);
    CHECK(house.zone("bed", "name") == "Bed \"one\" #1");
    CHECK(eventually([&] { return house.zone("bed", "valve") == "closed"; }));
    CHECK(has(house.get("/api/v1/status").body,
              "A person changed the garden file on the page: name"));
    // Written by hand meanwhile: what was looked at is old.
    write(house.garden(), now + "# by hand\n");
    CHECK(owner.change("bed", "name", "y", Json::parse(done.body).at("etag")).status == 412);
    CHECK(content_of(house.garden()) == now + "# by hand\n");
    CHECK_FALSE(Json::parse(house.get_with(owner.headers(), "/api/v1/garden").body)
                    .at("in_force")
                    .get<bool>());
    CHECK(house.end() == 0);
    CHECK(run({kCompanion, "replay", "--db", house.database(), "--verify"}).code == 0);
}

TEST_CASE("a valve is tried for seconds, and a slip is undone, over a restart too") {
    House house(quiet());
    REQUIRE_MESSAGE(house.start(), house.log());
    CHECK(house.post("/api/v1/zones/bed/valve-test", "{\"seconds\": 3}").status == 200);
    REQUIRE(open(house, "bed"));
    CHECK(eventually([&] { return house.zone("bed", "valve") == "closed"; }));
    CHECK(house.post("/api/v1/zones/bed/valve-test/result", "{\"came\": \"nothing\"}").status ==
          200);
    CHECK(has(house.get("/api/v1/status").body, "opened for a moment, and nothing came."));

    const std::vector<std::string> undo = {kCompanion,
                                           "undo",
                                           "front",
                                           "--url",
                                           "http://127.0.0.1:" + std::to_string(house.port()),
                                           "--key-file",
                                           house.state() + "/token"};
    const Ended none = run(undo);
    CHECK(none.code == 1);
    CHECK(has(none.err, "nothing to take back"));
    CHECK(house.post("/api/v1/zones/front/observations", "{\"kind\": \"first_mow\"}").status ==
          200);
    CHECK(house.zone("front", "phase") == "post_first_mow");
    CHECK(house.end() == 0);
    REQUIRE(house.start());
    CHECK(eventually([&] { return house.zone("front", "phase") == "post_first_mow"; }));
    std::vector<std::string> again = undo;
    again[4] = "http://127.0.0.1:" + std::to_string(house.port());
    const Ended taken = run(again);
    CHECK_MESSAGE(taken.code == 0, taken.err);
    CHECK(has(taken.out, "was mown for the first time"));
    CHECK(house.zone("front", "phase") == "pre_germination");
    CHECK(run(again).code == 1);
    CHECK(house.post("/api/v1/zones/front/undo", "{\"number\": 1}").status == 409);
    CHECK(house.end() == 0);
    CHECK(run({kCompanion, "replay", "--db", house.database(), "--verify"}).code == 0);
}

} // namespace firstmow::process
