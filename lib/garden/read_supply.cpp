#include "garden/sections.hpp"

#include "garden/wording.hpp"

#include <algorithm>
#include <string_view>

namespace firstmow::garden {

namespace {

constexpr Field kFields[] = {
    {"flow", true, "flow = \"35 L/min\""},
    {"hours", true, "hours = [\"06:00-19:00\"]"},
    {"days", false, "days = [\"mon\", \"wed\", \"sat\"]"},
};
constexpr std::string_view kDays[] = {"mon", "tue", "wed", "thu", "fri", "sat", "sun"};
constexpr std::size_t kMostWindows = 24;

// "06:00" to 21600; "24:00" is the end of the day.
std::optional<int> parse_clock(std::string_view text) {
    if (text.size() != 5 || text[2] != ':') return std::nullopt;
    const auto digit = [&](std::size_t i) { return text[i] - '0'; };
    for (const std::size_t i : {0U, 1U, 3U, 4U})
        if (digit(i) < 0 || digit(i) > 9) return std::nullopt;
    const int hour = digit(0) * 10 + digit(1);
    const int minute = digit(3) * 10 + digit(4);
    if (minute > 59 || hour * 60 + minute > 24 * 60) return std::nullopt;
    return hour * 3600 + minute * 60;
}

std::optional<HoursOfDay> read_window(const Fields& fields, std::string_view key, const Node& item,
                                      Errors& errors) {
    constexpr std::string_view kRight = "text in quotes, from-to in local time,";
    if (item.kind != Kind::text) {
        fields.refuse_type(item, key, kRight);
        return std::nullopt;
    }
    const std::string_view text = item.text;
    const std::size_t dash = text.find('-');
    const auto from = parse_clock(text.substr(0, dash));
    const auto to =
        dash == std::string_view::npos ? std::nullopt : parse_clock(text.substr(dash + 1));
    if (!from || !to) {
        errors.add(item.spot, std::string(key) + " " + in_quotes(text) +
                                  " are not two clock times; HH:MM-HH:MM such as \"06:00-19:00\" "
                                  "would be right");
        return std::nullopt;
    }
    if (*from >= *to) {
        errors.add(item.spot, std::string(key) + " " + in_quotes(text) +
                                  " do not end after they begin; a later end would be right, and "
                                  "a night as two entries: \"22:00-24:00\", \"00:00-05:00\"");
        return std::nullopt;
    }
    return HoursOfDay{*from, *to};
}

void read_days(const Fields& fields, Supply& supply, Errors& errors) {
    const Node* const list = fields.list("days");
    if (list == nullptr) return;
    supply.days.fill(false);
    for (const Node& item : list->items) {
        if (item.kind != Kind::text) {
            fields.refuse_type(item, "days", "a day in quotes");
            continue;
        }
        const auto* const day = std::find(std::begin(kDays), std::end(kDays), item.text);
        if (day == std::end(kDays)) {
            errors.add(item.spot, "days has the unknown day " + in_quotes(item.text) + "; one of " +
                                      choice_of(kDays) + " would be right");
            continue;
        }
        bool& allowed = supply.days[static_cast<std::size_t>(day - std::begin(kDays))];
        if (allowed)
            errors.add(item.spot,
                       "days has " + in_quotes(item.text) + " twice; each day once would be right");
        allowed = true;
    }
}

} // namespace

std::vector<HoursOfDay> read_hours(const Fields& fields, std::string_view key, Errors& errors) {
    const Node* const list = fields.list(key);
    if (list == nullptr) return {};
    if (list->items.size() > kMostWindows) {
        fields.refuse(key, "has more than " + std::to_string(kMostWindows) +
                               " entries; fewer and longer ones would be right");
        return {};
    }
    std::vector<HoursOfDay> hours;
    for (const Node& item : list->items) {
        const auto window = read_window(fields, key, item, errors);
        if (!window) continue;
        const bool overlaps = std::any_of(hours.begin(), hours.end(), [&](const HoursOfDay& seen) {
            return window->from_s < seen.to_s && seen.from_s < window->to_s;
        });
        if (overlaps)
            errors.add(item.spot, std::string(key) + " " + in_quotes(item.text) +
                                      " overlap hours before them; entries that do not overlap "
                                      "would be right");
        hours.push_back(*window);
    }
    std::sort(hours.begin(), hours.end(),
              [](const HoursOfDay& a, const HoursOfDay& b) { return a.from_s < b.from_s; });
    return hours;
}

Supply read_supply(const Node& table, Errors& errors) {
    const Fields fields(table, "[supply]", kFields, errors);
    Supply supply;
    supply.flow_l_per_min =
        fields.quantity("flow", Dimension::flow_l_per_min, {0.1, 10000}).value_or(0);
    supply.hours = read_hours(fields, "hours", errors);
    read_days(fields, supply, errors);
    return supply;
}

} // namespace firstmow::garden
