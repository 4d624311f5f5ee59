#include "garden/sections.hpp"

#include "garden/wording.hpp"

#include <algorithm>
#include <string_view>

namespace firstmow::garden {

namespace {

constexpr Field kFields[] = {
    {"csv", false, "csv = \"weather.csv\""},
    {"source", false, "[[weather.source]] with kind"},
};
constexpr Field kFeedFields[] = {
    {"id", false, "id = \"forecast\""},
    {"kind", true, "kind = \"open_meteo\""},
    {"url", false, "url = \"https://example.org\""},
    {"contact", false, "contact = \"me@example.org\""},
    {"certificates", false, "certificates = \"own-ca.pem\""},
    {"every", false, "every = \"60 min\""},
    {"wind_height", false, "wind_height = \"2 m\""},
    {"units", false, "units = \"metric\""},
    {"topics", false, "topics = { temperature = \"yard/air_temp\" }"},
    {"user", false, "user = \"firstmow\""},
    {"password_file", false, "password_file = \"broker-password\""},
};
constexpr Field kTopicFields[] = {
    {"temperature", true, "temperature = \"yard/air_temp\""},
    {"humidity", false, "humidity = \"yard/humidity\""},
    {"dew_point", false, "dew_point = \"yard/dew_point\""},
    {"wind", false, "wind = \"yard/wind\""},
    {"solar", false, "solar = \"yard/solar\""},
    {"soil_temperature", false, "soil_temperature = \"yard/soil_temp\""},
    {"rain", false, "rain = \"yard/rain_total\""},
};
constexpr std::string_view kKinds[] = {"open_meteo", "met_norway", "nws", "push", "mqtt"};
constexpr std::string_view kUnits[] = {"metric", "us"};
constexpr std::size_t kMostFeeds = 8;
constexpr std::size_t kLongestId = 32;

using Sort = WeatherFeed::Kind; // `Kind` is a node's

bool is_service(Sort kind) {
    return kind == Sort::open_meteo || kind == Sort::met_norway || kind == Sort::nws;
}

bool good_id(std::string_view id) {
    constexpr std::string_view kAllowed = "abcdefghijklmnopqrstuvwxyz"
                                          "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_";
    return !id.empty() && id.size() <= kLongestId &&
           id.find_first_not_of(kAllowed) == std::string_view::npos;
}

// The host of "SCHEME://HOST[:PORT][/...]"; empty when that is not what it is.
std::string_view host_of(std::string_view url, std::string_view scheme) {
    if (!url.starts_with(scheme)) return {};
    url.remove_prefix(scheme.size());
    if (url.starts_with('[')) return url.substr(0, url.find(']') + 1);
    return url.substr(0, url.find_first_of(":/"));
}

// Whether the host is this machine or stands in the same house, as far as its address tells.
bool at_home(std::string_view host) {
    if (host == "localhost" || host == "[::1]" || host.ends_with(".local")) return true;
    if (host.find_first_not_of("0123456789.") != std::string_view::npos) return false;
    if (host.starts_with("127.") || host.starts_with("10.") || host.starts_with("192.168."))
        return true;
    for (int second = 16; second <= 31; ++second)
        if (host.starts_with("172." + std::to_string(second) + ".")) return true;
    return false;
}

void read_url(const Fields& fields, WeatherFeed& feed) {
    const auto url = fields.text("url", kLongestPath);
    if (!url) return;
    feed.url = *url;
    const bool broker = feed.kind == Sort::mqtt;
    const std::string secure = broker ? "mqtts://" : "https://";
    const std::string plain = broker ? "mqtt://" : "http://";
    if (!host_of(*url, secure).empty()) return;
    const std::string_view host = host_of(*url, plain);
    if (host.empty())
        fields.refuse("url", in_quotes(*url) + " is no address of that kind; " + secure +
                                 "HOST or " + secure + "HOST:PORT would be right");
    else if (!at_home(host))
        fields.refuse("url", in_quotes(*url) + " would be asked without encryption; " + secure +
                                 " would be right outside of the house");
}

void refuse_strangers(const Fields& fields, Sort kind) {
    struct Own {
        std::string_view key;
        bool service;
        bool push;
        bool mqtt;
    };
    constexpr Own kOwn[] = {{"url", true, false, true},           {"contact", true, false, false},
                            {"certificates", true, false, true},  {"every", true, false, false},
                            {"wind_height", false, true, true},   {"units", false, false, true},
                            {"topics", false, false, true},       {"user", false, false, true},
                            {"password_file", false, false, true}};
    for (const Own& own : kOwn) {
        const bool right = is_service(kind)     ? own.service
                           : kind == Sort::push ? own.push
                                                : own.mqtt;
        if (!right && fields.find(own.key) != nullptr)
            fields.refuse(own.key, "says nothing about a source of kind " +
                                       in_quotes(kKinds[static_cast<std::size_t>(kind)]) +
                                       "; leaving it out would be right");
    }
}

WeatherFeed::Topics read_topics(const Node& table, Errors& errors) {
    const Fields fields(table, "topics", kTopicFields, errors);
    WeatherFeed::Topics topics;
    const auto topic = [&](const char* key) {
        std::string text = fields.text(key, kLongestPath).value_or("");
        // The signs of a pattern: a topic of a reading is one topic.
        if (text.starts_with('#') || text.find('+') != std::string::npos)
            fields.refuse(key, in_quotes(text) + " is a pattern; one topic, and perhaps '#' and "
                                                 "the member of its JSON, would be right");
        return text;
    };
    topics.temperature = topic("temperature");
    topics.humidity = topic("humidity");
    topics.dew_point = topic("dew_point");
    topics.wind = topic("wind");
    topics.solar = topic("solar");
    topics.soil_temperature = topic("soil_temperature");
    topics.rain = topic("rain");
    return topics;
}

WeatherFeed read_feed(const Node& table, Errors& errors) {
    const Fields fields(table, "[[weather.source]]", kFeedFields, errors);
    WeatherFeed feed;
    const auto kind = fields.word("kind", kKinds);
    if (!kind) return feed;
    feed.kind = static_cast<Sort>(*kind);
    refuse_strangers(fields, feed.kind);
    feed.id = fields.text("id").value_or(std::string(kKinds[*kind]));
    if (!good_id(feed.id) || feed.id == "csv" || feed.id == "sensors")
        fields.refuse("id", in_quotes(feed.id) + " is no id; up to 32 letters, digits, '-' and "
                                                 "'_' would be right, and not \"csv\" or "
                                                 "\"sensors\"");
    read_url(fields, feed);
    feed.contact = fields.text("contact").value_or("");
    feed.certificates = fields.text("certificates", kLongestPath);
    if (const auto every = fields.quantity("every", Dimension::duration_s, {600, 6 * 3600}))
        feed.every_s = static_cast<int>(*every);
    feed.wind_height_m = fields.quantity("wind_height", Dimension::length_m, {0.5, 30}).value_or(2);
    if (const auto units = fields.word("units", kUnits))
        feed.units = *units == 0 ? Units::metric : Units::us;
    if (const Node* const topics = fields.table("topics"))
        feed.topics = read_topics(*topics, errors);
    feed.user = fields.text("user").value_or("");
    feed.password_file = fields.text("password_file", kLongestPath);

    if ((feed.kind == Sort::met_norway || feed.kind == Sort::nws) && feed.contact.empty() &&
        fields.find("contact") == nullptr)
        errors.add(table.spot, "[[weather.source]] of kind " + in_quotes(kKinds[*kind]) +
                                   " has no contact; that service asks for an address by which "
                                   "it can reach you: contact = \"me@example.org\" would be right");
    if (feed.kind == Sort::mqtt && fields.find("url") == nullptr)
        errors.add(table.spot, "[[weather.source]] of kind \"mqtt\" has no url; the broker's "
                               "address such as url = \"mqtt://192.168.1.5\" would be right");
    if (feed.kind == Sort::mqtt && fields.find("topics") == nullptr)
        errors.add(table.spot, "[[weather.source]] of kind \"mqtt\" has no topics; topics = { "
                               "temperature = \"yard/air_temp\" } would be right");
    return feed;
}

} // namespace

WeatherSource read_weather(const Node& table, Errors& errors) {
    const Fields fields(table, "[weather]", kFields, errors);
    WeatherSource weather;
    weather.csv_file = fields.text("csv", kLongestPath);
    const Node* const node = fields.find("source");
    if (node == nullptr) return weather;
    if (node->kind == Kind::table) {
        fields.refuse("source", "is a single table; [[weather.source]] in double brackets, once "
                                "for each source, would be right");
        return weather;
    }
    const Node* const list = fields.list("source");
    if (list == nullptr) return weather;
    if (list->items.size() > kMostFeeds) {
        errors.add(list->items[kMostFeeds].spot, "the garden has more than " +
                                                     std::to_string(kMostFeeds) +
                                                     " sources of weather; up to that many would "
                                                     "be right");
        return weather;
    }
    for (const Node& item : list->items) {
        if (item.kind != Kind::table) {
            fields.refuse_type(item, "source", "a table");
            continue;
        }
        WeatherFeed feed = read_feed(item, errors);
        const bool taken = std::any_of(weather.feeds.begin(), weather.feeds.end(),
                                       [&](const WeatherFeed& f) { return f.id == feed.id; });
        if (taken && !feed.id.empty())
            errors.add(item.spot, "a source of weather with the id " + in_quotes(feed.id) +
                                      " stands above; an id of its own would be right");
        weather.feeds.push_back(std::move(feed));
    }
    return weather;
}

} // namespace firstmow::garden
