#include "targets.hpp"

#include "garden/edit.hpp"
#include "weather/csv.hpp"
#include "weather/desk.hpp"
#include "weather/desk_codec.hpp"
#include "weather/mqtt_feed.hpp"
#include "weather/service.hpp"
#include "weather/station.hpp"
#include "weather/web.hpp"

#include <cstdlib>

namespace firstmow::fuzz {
namespace {

using namespace weather_source;

const WallTime kNow = wall_from_unix(1'787'404'200);
constexpr weather::Place kPlace{41.9, -93.6, 290};

void must(bool right) {
    if (!right) std::abort();
}

// What a reader makes of any text must be bounded, and the desk must live with it.
void put_on_desk(const Result<weather::Parcel>& read) {
    if (!read) {
        must(!read.error().message.empty());
        return;
    }
    must(read->readings.size() <= weather::kMostReadings);
    weather::Desk desk(kPlace, {{"a", false}}, kNow);
    weather::Parcel parcel = *read;
    parcel.source = 1;
    desk.take(parcel, kNow);
    const weather::DeskNews news = desk.look(kNow);
    must(news.passed.size() + news.ahead.size() < 200);
    for (const weather::Hour& hour : news.ahead)
        must(hour.air_temp_c >= -60 && hour.air_temp_c <= 60 && hour.rain_mm >= 0 &&
             hour.rel_humidity_pct >= 0 && hour.rel_humidity_pct <= 100 && hour.solar_w_m2 >= 0);
}

void station(const Result<StationWord>& word, std::string_view text, bool json) {
    if (!word) return;
    must(word->samples.size() <= kMostStationWords && word->hours.size() <= kMostStationWords);
    PushFeed feed(1, 2);
    (void)feed.take(text, json, kNow);
    weather::Desk desk(kPlace, {{"a", true}}, kNow - std::chrono::hours{50});
    for (const weather::Parcel& parcel : feed.collect(kNow + std::chrono::hours{2}))
        desk.take(parcel, kNow + std::chrono::hours{2});
    (void)desk.look(kNow + std::chrono::hours{2});
}

constexpr Target kTargets[] = {
    {"open_meteo", [](std::string_view t) { put_on_desk(read_open_meteo(t, kNow)); }},
    {"met_norway", [](std::string_view t) { put_on_desk(read_met_norway(t, kNow)); }},
    {"nws_grid", [](std::string_view t) { put_on_desk(read_nws_grid(t, kNow)); }},
    {"nws_point",
     [](std::string_view t) {
         const auto path = read_nws_point(t);
         if (path) must(path->starts_with("/gridpoints/") && path->size() < 300);
     }},
    {"station_json", [](std::string_view t) { station(read_station_json(t, kNow, 3), t, true); }},
    {"station_form", [](std::string_view t) { station(read_station_form(t, kNow, 3), t, false); }},
    {"payload",
     [](std::string_view t) {
         const auto cut = t.find('\n');
         (void)read_payload(t.substr(0, cut),
                            cut == std::string_view::npos ? "" : t.substr(cut + 1));
         (void)parse_broker(t);
     }},
    {"weather_csv",
     [](std::string_view t) {
         const auto read = weather::read_csv(t);
         must(read.faults.size() <= weather::kMostFaults + 10);
     }},
    {"desk_state",
     [](std::string_view t) {
         weather::Desk desk(kPlace, {{"a", true}}, kNow);
         auto state = decode_desk(t, desk.sources());
         if (!state) return;
         desk.take_up(std::move(*state), kNow);
         (void)desk.look(kNow + std::chrono::hours{1});
     }},
    // An edit changes its key and nothing else, or refuses; edit() judges that itself, so here it
    // only has to come back: twice the same change is once.
    {"garden_edit",
     [](std::string_view t) {
         (void)garden::line_changes(t.substr(0, t.size() / 2), t);
         const auto said = garden::what_is_said(t);
         if (!said) {
             must(!said.error().message.empty());
             return;
         }
         for (const garden::Editable& key : garden::editable()) {
             const std::string zone =
                 key.of_zone && !said->zones.empty() ? said->zones.back().id : std::string();
             const garden::Change change{zone, std::string(key.key), "[ \"#\" ]"};
             const auto once = garden::edit(t, {&change, 1});
             if (!once) {
                 must(!once.error().message.empty());
                 continue;
             }
             const auto twice = garden::edit(*once, {&change, 1});
             must(twice.ok() && *twice == *once);
         }
     }},
    {"http_date",
     [](std::string_view t) {
         (void)parse_http_date(t);
         (void)parse_url(t);
         (void)parse_time_with_offset(t);
         (void)parse_hours(t);
     }},
};

} // namespace

std::span<const Target> targets() {
    return kTargets;
}

} // namespace firstmow::fuzz
