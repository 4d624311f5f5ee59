// A server with an invented garden, and one who asks it as he should. For the tests of this room.
#pragma once

#include "serving.hpp"

#include <httplib.h>
#include <nlohmann/json.hpp>

#include <string>

#undef CHECK
#include <doctest/doctest.h>

namespace firstmow::http {

inline const httplib::Headers kWithKey{{"Authorization", std::string("Bearer ") + kKey}};

struct Asked {
    using json = nlohmann::json;
    Serving serving;
    httplib::Client client{"127.0.0.1", serving.port()};

    json get(const std::string& path) {
        const auto reply = client.Get(path);
        REQUIRE(reply);
        REQUIRE_EQ(reply->status, 200);
        REQUIRE_EQ(reply->get_header_value("Content-Type"), "application/json");
        return json::parse(reply->body);
    }
    std::string csv(const std::string& path) {
        const auto reply = client.Get(path, {{"Accept", "text/csv"}});
        REQUIRE(reply);
        REQUIRE_EQ(reply->status, 200);
        CHECK(reply->get_header_value("Content-Type").starts_with("text/csv"));
        return reply->body;
    }
    json post(const std::string& path, const std::string& body) {
        const auto reply = client.Post(path, kWithKey, body, "application/json");
        REQUIRE(reply);
        REQUIRE_MESSAGE(reply->status == 200, reply->body);
        return json::parse(reply->body);
    }
};

} // namespace firstmow::http
