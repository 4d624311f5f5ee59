// Reading what a request brings: its JSON body and the zone of its path. Internal to the room.
//
// Each answers with the value, or with the Reply that refuses the request.
#pragma once

#include "garden/cans.hpp"
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
// A finite number of a range.
std::variant<double, Reply> read_number(const Request& request, const std::string& name, double low,
                                        double high, const std::string& example);
// The body as an object with exactly one member, `name`, which is returned.
std::variant<nlohmann::json, Reply> read_member(const Request& request, const std::string& name,
                                                const std::string& example);
// Notes of a catch-can test: {"minutes", "unit": mm, in or ml, "diameter_mm" with ml, "readings"};
// or what is wrong with them.
std::variant<garden::CanNotes, std::string> read_can_notes(const nlohmann::json& body);
// The id of the path, if the garden has it.
std::variant<std::string, Reply> read_zone(const Call& call, const Backend& backend);

} // namespace firstmow::http
