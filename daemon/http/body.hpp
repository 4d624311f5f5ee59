// Reading what a request brings: its JSON body and the zone of its path. Internal to the room.
//
// Each answers with the value, or with the Reply that refuses the request.
#pragma once

#include "http/backend.hpp"
#include "http/routes.hpp"

#include <nlohmann/json.hpp>

#include <string>
#include <variant>

namespace firstmow::http {

// 422: what is wrong with a value, and what would be right.
Reply wrong_value(const std::string& detail);

// The body as a JSON object.
std::variant<nlohmann::json, Reply> read_object(const Request& request, const std::string& example);
// The body as an object with exactly one member, `name`, which is returned.
std::variant<nlohmann::json, Reply> read_member(const Request& request, const std::string& name,
                                                const std::string& example);
// The id of the path, if the garden has it.
std::variant<std::string, Reply> read_zone(const Call& call, const Backend& backend);

} // namespace firstmow::http
