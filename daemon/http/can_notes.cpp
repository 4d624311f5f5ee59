#include "http/body.hpp"

#include <algorithm>

namespace firstmow::http {

std::variant<garden::CanNotes, std::string> read_can_notes(const nlohmann::json& body) {
    using Unit = garden::CanNotes::Unit;
    constexpr std::string_view kMembers[] = {"readings", "unit", "minutes", "diameter_mm"};
    for (const auto& [name, value] : body.items())
        if (std::find(std::begin(kMembers), std::end(kMembers), name) == std::end(kMembers))
            return "\"" + name.substr(0, 40) + "\" does not belong to catch cans";
    garden::CanNotes notes;
    const auto number = [&](const char* name, double& into) {
        const auto found = body.find(name);
        if (found == body.end() || !found->is_number()) return false;
        into = found->get<double>();
        return true;
    };
    if (!number("minutes", notes.minutes)) return "\"minutes\" must be a number";
    const auto unit = body.find("unit");
    const std::string word =
        unit != body.end() && unit->is_string() ? unit->get<std::string>() : "";
    if (word != "mm" && word != "in" && word != "ml") return "\"unit\" must be mm, in or ml";
    notes.unit = word == "ml" ? Unit::ml : word == "in" ? Unit::in : Unit::mm;
    const bool wide = number("diameter_mm", notes.diameter_mm);
    if (wide != (notes.unit == Unit::ml))
        return "\"diameter_mm\", the width of a can's mouth, belongs to readings in ml, and to "
               "no others";
    const auto list = body.find("readings");
    if (list == body.end() || !list->is_array() || list->empty() ||
        list->size() > garden::kMostCans ||
        !std::all_of(list->begin(), list->end(), [](const auto& one) { return one.is_number(); }))
        return "\"readings\" must be a list of 1 to " + std::to_string(garden::kMostCans) +
               " numbers";
    for (const auto& reading : *list)
        notes.readings.push_back(reading.template get<double>());
    return notes;
}

} // namespace firstmow::http
