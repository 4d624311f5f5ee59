#include "http/body.hpp"

#include "http/problem.hpp"
#include "tables/json_text.hpp"

#include <cmath>
#include <utility>

namespace firstmow::http {

Reply wrong_value(const std::string& detail) {
    return problem(422, "wrong-value", detail);
}

std::variant<nlohmann::json, Reply> read_object(const Request& request,
                                                const std::string& example) {
    if (request.body.empty())
        return problem(400, "no-body", "the body is missing; send JSON such as " + example);
    auto body = nlohmann::json::parse(request.body, nullptr, /*allow_exceptions=*/false);
    if (body.is_discarded())
        return problem(400, "bad-json", "the body is not JSON; send for example " + example);
    return body;
}

std::variant<nlohmann::json, Reply> read_member(const Request& request, const std::string& name,
                                                const std::string& example) {
    auto read = read_object(request, example);
    if (auto* refusal = std::get_if<Reply>(&read)) return std::move(*refusal);
    auto& body = std::get<nlohmann::json>(read);
    if (!body.is_object() || !body.contains(name))
        return wrong_value("the body has no \"" + name + "\"; send for example " + example);
    if (body.size() != 1)
        return wrong_value("the body has members beside \"" + name + "\"; send for example " +
                           example);
    return std::move(body[name]);
}

std::variant<double, Reply> read_number(const Request& request, const std::string& name, double low,
                                        double high, const std::string& example) {
    auto member = read_member(request, name, example);
    if (auto* refusal = std::get_if<Reply>(&member)) return std::move(*refusal);
    const auto& value = std::get<nlohmann::json>(member);
    const std::string range = "\"" + name + "\" must be a number from " +
                              tables::json_number(low, 1) + " to " + tables::json_number(high, 1);
    if (!value.is_number()) return wrong_value(range + ", not " + value.type_name());
    const double number = value.get<double>();
    if (!std::isfinite(number) || number < low || number > high)
        return wrong_value(range + "; " + value.dump() + " is not");
    return number;
}

std::variant<std::string, Reply> read_zone(const Call& call, const Backend& backend) {
    if (backend.zone(call.segment)) return std::string(call.segment);
    return problem(404, "unknown-zone",
                   "the garden has no zone '" + std::string(call.segment.substr(0, 64)) +
                       "'; /api/v1/status lists its zones");
}

} // namespace firstmow::http
