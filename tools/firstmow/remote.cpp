// The commands that speak to the running daemon, over its own API.
#include "commands.hpp"

#include "base/text.hpp"
#include "host/files.hpp"
#include "host/zoneinfo.hpp"

#include <httplib.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <cctype>
#include <cstdio>
#include <optional>
#include <utility>

namespace firstmow::companion {

namespace {

using Json = nlohmann::json;

std::string trimmed(std::string text) {
    while (!text.empty() && (text.back() == '\n' || text.back() == '\r' || text.back() == ' '))
        text.pop_back();
    return text;
}

// One request; the reply's JSON, or the exit code after saying what went wrong.
class Call {
public:
    explicit Call(const Daemon& daemon) : daemon_(daemon), client_(daemon.url) {
        client_.set_connection_timeout(5);
        client_.set_read_timeout(20);
    }

    int get(const std::string& path, Json& reply) {
        httplib::Headers headers; // a garden may close its reads
        if (!daemon_.key.empty() || !daemon_.key_file.empty())
            if (const int code = authorize(headers); code != kDone) return code;
        return settle(client_.Get(path, headers), reply);
    }

    int post(const std::string& path, const Json& body, Json& reply) {
        httplib::Headers headers;
        if (const int code = authorize(headers); code != kDone) return code;
        return settle(client_.Post(path, headers, body.dump(), "application/json"), reply);
    }

    int remove(const std::string& path, Json& reply) {
        httplib::Headers headers;
        if (const int code = authorize(headers); code != kDone) return code;
        return settle(client_.Delete(path, headers), reply);
    }

private:
    int authorize(httplib::Headers& headers) const {
        std::string key = daemon_.key;
        if (key.empty() && !daemon_.key_file.empty()) {
            const Result<std::string> file = host::read_file(daemon_.key_file, 4096);
            if (!file) return complain(file.error().message);
            key = trimmed(*file);
        }
        if (key.empty())
            return complain("this needs the daemon's key: give --key, --key-file "
                            "STATE_DIR/token, or set FIRSTMOW_KEY");
        headers.emplace("Authorization", "Bearer " + key);
        return kDone;
    }

    int settle(const httplib::Result& result, Json& reply) const {
        if (!result)
            return complain("no firstmow daemon answers at " + daemon_.url +
                                " (--url says where it listens)",
                            kNotDone);
        reply = Json::parse(result->body, nullptr, false);
        if (result->status >= 200 && result->status < 300) return kDone;
        std::string what = "the daemon answered " + std::to_string(result->status);
        if (reply.is_object() && reply.contains("detail") && reply["detail"].is_string())
            what += ": " + reply["detail"].get<std::string>();
        return complain(what, kNotDone);
    }

    const Daemon& daemon_;
    httplib::Client client_;
};

std::string zone_path(const std::string& zone, const char* what) {
    // An id is letters, digits and '-'; whatever else was typed must not become another path.
    std::string id;
    for (const char c : zone)
        id += std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '-' ? c : '_';
    return "/api/v1/zones/" + id + "/" + what;
}

int order(const Daemon& daemon, const std::string& path, const Json& body, const char* done) {
    Json reply;
    const int code = Call(daemon).post(path, body, reply);
    if (code == kDone) std::printf("%s\n", done);
    return code;
}

std::string text_or(const Json& object, const char* key, const char* instead) {
    const auto found = object.find(key);
    return found != object.end() && found->is_string() ? found->get<std::string>() : instead;
}

double number_or_zero(const Json& object, const char* key) {
    const auto found = object.find(key);
    return found != object.end() && found->is_number() ? found->get<double>() : 0.0;
}

// The garden's own time of a status; UTC when this machine does not know the zone.
std::string local_words(const Json& reply) {
    const std::string time = text_or(reply, "time", "");
    const std::string name = text_or(reply, "timezone", "");
    const Result<WallTime> wall = parse_iso8601(time);
    const Result<TimeZone> zone = host::load_timezone(name);
    return wall && zone ? zone->date_clock_text(*wall) + " (" + name + ")" : time;
}

} // namespace

int status(const Daemon& daemon) {
    Json reply;
    const int code = Call(daemon).get("/api/v1/status", reply);
    if (code != kDone) return code;
    if (!reply.is_object() || !reply.contains("zones") || !reply["zones"].is_array())
        return complain("the answer is not a garden's status", kNotDone);
    std::printf("%s\n", local_words(reply).c_str());
    for (const Json& zone : reply["zones"]) {
        std::printf("%-12s %-16s valve %-6s driest quarter %s kPa (mean %s)\n",
                    text_or(zone, "id", "?").c_str(), text_or(zone, "phase", "?").c_str(),
                    text_or(zone, "valve", "?").c_str(),
                    fixed(number_or_zero(zone, "low_quarter_kpa"), 0).c_str(),
                    fixed(number_or_zero(zone, "seed_zone_kpa"), 0).c_str());
        if (zone.contains("next") && zone["next"].is_object())
            std::printf("             next: %s\n",
                        text_or(zone["next"], "explanation", "").c_str());
        else
            std::printf("             %s\n",
                        text_or(zone, "explanation", "nothing planned").c_str());
        if (zone.contains("correction") && zone["correction"].is_object())
            std::printf("             learned: %s\n",
                        text_or(zone["correction"], "why", "").c_str());
        if (zone.contains("growth") && zone["growth"].is_object())
            std::printf("             %s\n", text_or(zone["growth"], "text", "").c_str());
    }
    if (reply.contains("shortfalls") && reply["shortfalls"].is_array())
        for (const Json& shortfall : reply["shortfalls"])
            std::printf("Too little water: %s\n", text_or(shortfall, "text", "").c_str());
    return kDone;
}

namespace {

// "3 h ago", "4 min ago"; empty when there is no such time.
std::string ago(const Json& object, const char* key, const Result<WallTime>& now) {
    const Result<WallTime> then = parse_iso8601(text_or(object, key, ""));
    if (!then || !now) return {};
    const auto minutes = std::chrono::duration_cast<std::chrono::minutes>(*now - *then).count();
    if (minutes < 0) return "in " + std::to_string(-minutes) + " min";
    if (minutes < 120) return std::to_string(minutes) + " min ago";
    return std::to_string(minutes / 60) + " h ago";
}

void print_source(const Json& source, const Result<WallTime>& now) {
    const std::string good = ago(source, "last_good", now);
    std::printf(
        "%-14s %-12s %-9s %s%s\n", text_or(source, "id", "?").c_str(),
        text_or(source, "gives", "").c_str(), text_or(source, "state", "").c_str(),
        good.empty() ? "never heard" : ("heard " + good).c_str(),
        number_or_zero(source, "forecast_hours_ahead") > 0
            ? (", knows " + fixed(number_or_zero(source, "forecast_hours_ahead"), 0) + " h ahead")
                  .c_str()
            : "");
    const std::string detail = text_or(source, "detail", "");
    if (!detail.empty()) std::printf("    %s\n", detail.c_str());
    if (const std::string next = ago(source, "next_try", now); !next.empty())
        std::printf("    asked again %s\n", next.c_str());
    if (source.contains("corrected_by") && source["corrected_by"].is_object()) {
        const Json& by = source["corrected_by"];
        std::printf("    put right by %s C, %s %% humidity, wind x %s, sun x %s (from %s h)\n",
                    fixed(number_or_zero(by, "temp_c"), 1).c_str(),
                    fixed(number_or_zero(by, "humidity_pct"), 0).c_str(),
                    fixed(number_or_zero(by, "wind_factor"), 2).c_str(),
                    fixed(number_or_zero(by, "solar_factor"), 2).c_str(),
                    fixed(number_or_zero(by, "from_hours"), 0).c_str());
    }
    constexpr std::size_t kShown = 5;
    if (source.contains("doubts") && source["doubts"].is_array())
        for (std::size_t i = 0; i < std::min(source["doubts"].size(), kShown); ++i)
            if (source["doubts"][i].is_string())
                std::printf("    doubted: %s\n", source["doubts"][i].get<std::string>().c_str());
}

} // namespace

int weather(const Daemon& daemon, bool json) {
    Json reply;
    const int code = Call(daemon).get("/api/v1/weather", reply);
    if (code != kDone) return code;
    if (json) {
        std::printf("%s\n", reply.dump(1, ' ', false, Json::error_handler_t::replace).c_str());
        return kDone;
    }
    if (!reply.is_object() || !reply.contains("desk"))
        return complain("the answer says nothing of the weather", kNotDone);
    const Result<WallTime> now = parse_iso8601(text_or(reply, "time", ""));
    const std::string note = text_or(reply, "note", "");
    std::printf("%s\n", note.empty() ? "The weather is known." : note.c_str());
    const Json& desk = reply["desk"];
    if (!desk.is_object() || !desk.contains("sources") || desk["sources"].empty())
        std::printf("There is no source of weather in the garden file.\n");
    else
        for (const Json& source : desk["sources"])
            print_source(source, now);
    if (reply.contains("used") && reply["used"].is_array() && !reply["used"].empty()) {
        const Json& last = reply["used"].back();
        std::printf("last hour used: %s  %s C, %s %%, %s m/s, %s W/m2, rain %s mm; from: %s\n",
                    text_or(last, "time", "?").c_str(),
                    fixed(number_or_zero(last, "air_temp_c"), 1).c_str(),
                    fixed(number_or_zero(last, "rel_humidity_pct"), 0).c_str(),
                    fixed(number_or_zero(last, "wind_2m_m_s"), 1).c_str(),
                    fixed(number_or_zero(last, "solar_w_m2"), 0).c_str(),
                    fixed(number_or_zero(last, "rain_mm"), 2).c_str(),
                    text_or(last, "sources", "").empty() ? "no source: assumed"
                                                         : text_or(last, "sources", "").c_str());
    }
    return kDone;
}

int water(const Daemon& daemon, const std::string& zone, double minutes) {
    return order(daemon, zone_path(zone, "water"), {{"minutes", minutes}}, "ordered");
}

int stop(const Daemon& daemon, const std::string& zone) {
    return order(daemon, zone.empty() ? "/api/v1/stop" : zone_path(zone, "stop"), Json::object(),
                 zone.empty() ? "everything is told to close" : "told to close");
}

int emergency_stop(const Daemon& daemon, bool release) {
    if (!release)
        return order(daemon, "/api/v1/emergency-stop", Json::object(),
                     "everything is closed and stays so until it is released");
    Json reply;
    const int code = Call(daemon).remove("/api/v1/emergency-stop", reply);
    if (code == kDone) std::printf("released\n");
    return code;
}

int hold(const Daemon& daemon, const std::string& zone, double hours) {
    if (hours != 0) return order(daemon, zone_path(zone, "hold"), {{"hours", hours}}, "held");
    Json reply;
    const int code = Call(daemon).remove(zone_path(zone, "hold"), reply);
    if (code == kDone) std::printf("released\n");
    return code;
}

int mow(const Daemon& daemon, const std::string& zone, const std::string& when) {
    if (when != "never") return order(daemon, zone_path(zone, "mow"), {{"at", when}}, "noted");
    Json reply;
    const int code = Call(daemon).remove(zone_path(zone, "mow"), reply);
    if (code == kDone) std::printf("no mow is planned\n");
    return code;
}

int observe(const Daemon& daemon, const std::string& zone, const Seen& seen) {
    Json body = {{"kind", seen.kind}};
    if (!seen.readings_mm.empty()) body["readings_mm"] = seen.readings_mm;
    if (!seen.readings_ml.empty()) body["readings_ml"] = seen.readings_ml;
    const std::pair<const char*, std::optional<double>> numbers[] = {
        {"opening_cm2", seen.opening_cm2},
        {"minutes", seen.minutes},
        {"depth_mm", seen.depth_mm},
        {"water_fraction", seen.water_fraction},
        {"kpa", seen.kpa}};
    for (const auto& [name, value] : numbers)
        if (value) body[name] = *value;
    return order(daemon, zone_path(zone, "observations"), body, "noted");
}

int forget(const Daemon& daemon, const std::string& zone, bool all) {
    Json reply;
    const int code =
        Call(daemon).remove(zone_path(zone, all ? "corrections" : "corrections/last"), reply);
    if (code == kDone) std::printf("taken back\n");
    return code;
}

int undo(const Daemon& daemon, const std::string& zone) {
    Json reply;
    if (const int code = Call(daemon).get("/api/v1/status", reply); code != kDone) return code;
    if (reply.is_object() && reply.contains("zones") && reply["zones"].is_array())
        for (const Json& one : reply["zones"]) {
            if (text_or(one, "id", "") != zone) continue;
            if (!one.contains("undo") || !one["undo"].is_object() ||
                !one["undo"].contains("number"))
                return complain("there is nothing to take back on zone '" + zone +
                                    "': no hold, report or waiting order of the last quarter of "
                                    "an hour",
                                kNotDone);
            return order(daemon, zone_path(zone, "undo"), {{"number", one["undo"]["number"]}},
                         ("taken back: " + text_or(one["undo"], "text", "")).c_str());
        }
    return complain("the garden has no zone '" + zone + "'", kNotDone);
}

} // namespace firstmow::companion
