// Pairing, keys and closed reads, with the real daemon and the companion beside it.
#include "../running.hpp"

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include <csignal>

namespace firstmow::process {

namespace {

GardenSpec quiet() {
    GardenSpec spec;
    spec.timezone = "Etc/UTC";
    spec.hours = hours_far_from_now();
    spec.start = today();
    return spec;
}

std::string code_in(const std::string& text) {
    const std::string before = "the page takes the code ";
    const auto at = text.rfind(before);
    return at == std::string::npos ? "" : text.substr(at + before.size(), 9);
}

std::string sign_in_with(const std::string& secret) {
    return nlohmann::json{{"token", secret}}.dump();
}

Ended companion(const House& house, std::vector<std::string> words) {
    words.insert(words.begin(), kCompanion);
    words.insert(words.end(), {"--state-dir", house.state()});
    return run(words);
}

std::string first_line(const std::string& text) {
    return text.substr(0, text.find('\n'));
}

} // namespace

TEST_CASE("a phone is paired with the code of the log and stays so when the daemon starts anew") {
    House house(quiet());
    REQUIRE(house.start());
    // The page may answer a moment before the log has the code.
    REQUIRE_MESSAGE(eventually([&] { return !code_in(house.log()).empty(); }), house.log());
    const std::string code = code_in(house.log());
    REQUIRE_EQ(code.size(), 9);
    const Reply paired = house.send({}, "/api/v1/session", sign_in_with(code));
    REQUIRE_MESSAGE(paired.status == 200, paired.body);
    const Headers phone{{"Cookie", paired.cookie}};
    CHECK_EQ(house.send(phone, "/api/v1/stop", "").status, 200);
    CHECK_EQ(house.send({}, "/api/v1/session", sign_in_with(code)).status, 401);

    SUBCASE("in order") {
        CHECK_EQ(house.end(), 0);
    }
    SUBCASE("after a power cut") {
        house.crash();
    }
    const std::size_t before = house.log().size();
    REQUIRE(house.start());
    CHECK_EQ(house.send(phone, "/api/v1/stop", "").status, 200);
    // Nobody needs the log for it any more.
    CHECK_EQ(code_in(house.log().substr(before)), "");

    const Ended listed = companion(house, {"browsers", "list"});
    CHECK_EQ(listed.code, 0);
    CHECK_EQ(lines(listed.out).size(), 1);
    CHECK_EQ(companion(house, {"browsers", "sign-out"}).out, "1 signed out\n");
    CHECK_EQ(house.send(phone, "/api/v1/stop", "").status, 401);
    CHECK_EQ(house.end(), 0);
}

TEST_CASE("the companion makes codes and keys beside the running daemon") {
    House house(quiet());
    const Ended early = companion(house, {"pair"});
    CHECK_EQ(early.code, 2);
    CHECK_MESSAGE(has(early.err, "--state-dir"), early.err);

    REQUIRE(house.start());
    const Ended pair = companion(house, {"pair"});
    REQUIRE_EQ(pair.code, 0);
    const Reply paired = house.send({}, "/api/v1/session", sign_in_with(first_line(pair.out)));
    CHECK_EQ(paired.status, 200);

    const Ended made = companion(house, {"key", "add", "shed"});
    REQUIRE_EQ(made.code, 0);
    const std::string key = first_line(made.out);
    CHECK_EQ(house.post_with(key, "/api/v1/stop", "").status, 200);
    const Ended twice = companion(house, {"key", "add", "shed"});
    CHECK_EQ(twice.code, 1);
    CHECK_MESSAGE(has(twice.err, "already"), twice.err);
    const Ended listed = companion(house, {"key", "list"});
    CHECK_MESSAGE(listed.out.starts_with("shed  made "), listed.out);
    CHECK_EQ(listed.out.find(key), std::string::npos);
    CHECK_EQ(companion(house, {"key", "revoke", "shed"}).code, 0);
    CHECK_EQ(companion(house, {"key", "revoke", "shed"}).code, 1);
    CHECK_EQ(house.post_with(key, "/api/v1/stop", "").status, 401);
    CHECK_EQ(house.post("/api/v1/stop", "").status, 200); // the first key goes on
    CHECK_EQ(house.end(), 0);
}

TEST_CASE("a garden file closes the reads, and opens them again while the daemon runs") {
    House house(quiet());
    const std::string open = content_of(house.garden());
    write(house.garden(), "[access]\nreads = \"signed_in\"\nnames = [\"lawn.example\"]\n" + open);
    REQUIRE(house.start());
    CHECK_EQ(house.get("/api/v1/status").status, 401);
    CHECK_EQ(house.get("/metrics").status, 401);
    CHECK_EQ(house.get("/").status, 200);
    CHECK_EQ(house.get_with({{"Host", "lawn.example"}}, "/healthz").status, 200);
    CHECK_EQ(house.get_with({{"Authorization", "Bearer " + house.key()}}, "/api/v1/status").status,
             200);
    write(house.garden(), open);
    house.daemon().signal(SIGHUP);
    CHECK(eventually([&] { return house.get("/api/v1/status").status == 200; }));
    CHECK_EQ(house.get_with({{"Host", "lawn.example"}}, "/healthz").status, 421);
    CHECK_EQ(house.end(), 0);
}

} // namespace firstmow::process
