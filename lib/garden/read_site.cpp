#include "garden/sections.hpp"

#include "base/text.hpp"
#include "garden/wording.hpp"

#include <string_view>

namespace firstmow::garden {

namespace {

constexpr Field kFields[] = {
    {"name", true, "name = \"Our garden\""},
    {"latitude", true, "latitude = 41.9"},
    {"longitude", true, "longitude = -93.6"},
    {"elevation", true, "elevation = \"290 m\""},
    {"timezone", true, "timezone = \"America/Chicago\""},
    {"units", false, "units = \"metric\""},
    {"first_frost", false, "first_frost = \"10-07\""},
    {"clock", false, "clock = \"automatic\""},
};
constexpr std::string_view kClocks[] = {"automatic", "synchronised", "free"};
constexpr std::string_view kUnits[] = {"metric", "us"};

// Whether it can be the name of a zone at all; it becomes part of a file name elsewhere.
bool looks_like_timezone(std::string_view name) {
    constexpr std::string_view kAllowed = "abcdefghijklmnopqrstuvwxyz"
                                          "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789/_+-";
    return !name.empty() && name.front() != '/' && name.back() != '/' &&
           name.find_first_not_of(kAllowed) == std::string_view::npos;
}

// "10-07". 29 February is refused: it is missing from most years.
std::optional<std::chrono::month_day> parse_month_day(std::string_view text) {
    if (text.size() != 5 || text[2] != '-') return std::nullopt;
    const auto digit = [&](std::size_t i) { return static_cast<unsigned>(text[i] - '0'); };
    for (const std::size_t i : {0U, 1U, 3U, 4U})
        if (digit(i) > 9) return std::nullopt;
    const std::chrono::month month{digit(0) * 10 + digit(1)};
    const std::chrono::day day{digit(3) * 10 + digit(4)};
    if (!(std::chrono::year{2001} / month / day).ok()) return std::nullopt;
    return month / day;
}

} // namespace

Site read_site(const Node& table, const ReadOptions& options, Errors& errors) {
    const Fields fields(table, "[site]", kFields, errors);
    Site site;
    site.name = fields.text("name").value_or("");
    site.place.latitude_deg = fields.number("latitude", {-90, 90}).value_or(0);
    site.place.longitude_deg = fields.number("longitude", {-180, 180}).value_or(0);
    site.place.elevation_m =
        fields.quantity("elevation", Dimension::length_m, {-430, 6000}).value_or(0);
    if (const auto timezone = fields.text("timezone")) {
        const bool known = looks_like_timezone(*timezone) &&
                           (!options.is_timezone || options.is_timezone(*timezone));
        if (!known)
            fields.refuse("timezone", in_quotes(*timezone) +
                                          " is not a time zone that this system knows; a name of "
                                          "the IANA list such as \"America/Chicago\" would be "
                                          "right");
        site.timezone = *timezone;
    }
    if (const auto units = fields.word("units", kUnits))
        site.units = *units == 0 ? Units::metric : Units::us;
    if (const auto clock = fields.word("clock", kClocks)) site.clock = static_cast<Clock>(*clock);
    if (const auto frost = fields.text("first_frost")) {
        site.first_frost = parse_month_day(*frost);
        if (!site.first_frost)
            fields.refuse("first_frost", in_quotes(*frost) +
                                             " is not a day of every year; month and day such as "
                                             "\"10-07\" would be right");
    }
    return site;
}

} // namespace firstmow::garden
