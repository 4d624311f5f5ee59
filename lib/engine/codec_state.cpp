#include "engine/codec.hpp"
#include "engine/codec_guards.hpp"
#include "engine/codec_hours.hpp"
#include "engine/codec_record.hpp"
#include "engine/codec_zone.hpp"

namespace firstmow::engine {

namespace {

// The form of the state's text; raised when a field changes its meaning.
constexpr int kForm = 1;

Json notices_json(const std::vector<Notice>& notices) {
    Json list = Json::array();
    for (const Notice& n : notices)
        list.push_back({{"time", to_json_value(n.time)},
                        {"zone", n.zone},
                        {"severity", static_cast<int>(n.severity)},
                        {"code", n.code},
                        {"text", n.text}});
    return list;
}

} // namespace

std::string encode_state(const Setup& setup, const State& state) {
    Json zones = Json::array();
    for (std::size_t i = 0; i < state.zones.size(); ++i)
        zones.push_back(zone_json(setup.garden.zones[i].id, state.zones[i],
                                  setup.specs[i].column.layers.count));
    const Json j = {{"form", kForm},
                    {"begun", state.begun},
                    {"settled_until", to_json_value(state.settled_until)},
                    {"cloud_factor", state.cloud_factor},
                    {"recent", hours_json(state.recent)},
                    {"forecast", hours_json(state.forecast)},
                    {"forecast_record", forecast_record_json(state.forecast_record)},
                    {"next_cycle_id", state.next_cycle_id},
                    {"next_word", state.next_word},
                    {"next_plan", to_json_value(state.next_plan)},
                    {"zones", std::move(zones)},
                    {"notices", notices_json(state.notices)},
                    {"guards", guards_json(state.guards)}};
    return j.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Result<State> decode_state(const Setup& setup, std::string_view text) {
    const Json j = Json::parse(text, nullptr, false);
    Reader r;
    if (r.integer(j, "form") != kForm && r.ok())
        return Error{"the saved state is of another form than this firstmow writes"};
    State state;
    state.begun = r.boolean(j, "begun");
    state.settled_until = r.time(j, "settled_until");
    state.cloud_factor = r.number(j, "cloud_factor");
    state.recent = read_hours(r, j, "recent");
    state.forecast = read_hours(r, j, "forecast");
    state.forecast_record = read_forecast_record(r, j);
    state.next_cycle_id = r.integer(j, "next_cycle_id");
    if (Reader::has(j, "next_word")) state.next_word = r.integer(j, "next_word");
    state.next_plan = r.time(j, "next_plan");
    const Json& zones = r.list(j, "zones");
    if (zones.size() != setup.garden.zones.size())
        return Error{"the saved state has other zones than the garden file"};
    for (std::size_t i = 0; i < zones.size(); ++i) {
        if (r.text(zones[i], "id") != setup.garden.zones[i].id)
            r.fail("zone " + std::to_string(i + 1) + " is another than in the garden file");
        state.zones.push_back(read_zone(r, zones[i], setup.specs[i].column.layers.count));
    }
    for (const Json& n : r.list(j, "notices"))
        state.notices.push_back({r.time(n, "time"), r.text(n, "zone"),
                                 r.choice(n, "severity", Severity::alarm), r.text(n, "code"),
                                 r.text(n, "text")});
    state.guards = read_guards(r, j, initial_state(setup).guards);
    if (!r.ok()) return Error{"the saved state cannot be read: " + r.fault()};
    return state;
}

std::string encode_timezone(const TimeZone& zone) {
    Json eras = Json::array();
    for (const TimeZone::Era& era : zone.eras())
        eras.push_back({{"from", to_json_value(era.from)},
                        {"utc_offset_s", era.utc_offset.count()},
                        {"abbreviation", era.abbreviation}});
    return Json{{"name", zone.name()}, {"eras", std::move(eras)}}.dump();
}

Result<TimeZone> decode_timezone(std::string_view text) {
    const Json j = Json::parse(text, nullptr, false);
    Reader r;
    std::vector<TimeZone::Era> eras;
    for (const Json& era : r.list(j, "eras")) {
        const TimeZone::Era read{r.time(era, "from"), Seconds{r.integer(era, "utc_offset_s")},
                                 r.text(era, "abbreviation")};
        if (!eras.empty() && read.from <= eras.back().from) r.fail("'eras' are not in order");
        eras.push_back(read);
    }
    if (eras.empty()) r.fail("'eras' is empty");
    const std::string name = r.text(j, "name");
    if (!r.ok()) return Error{"the saved time zone cannot be read: " + r.fault()};
    return TimeZone(name, std::move(eras));
}

} // namespace firstmow::engine
