#include "trial.hpp"

#include "base/text.hpp"

#include <chrono>
#include <cstdio>

namespace firstmow::process {

const std::string kCompanion = FIRSTMOW_COMPANION;
const std::string kDaemon = FIRSTMOW_DAEMON;
const std::string kInventWeather = FIRSTMOW_INVENT_WEATHER;
const std::string kWeatherHeader =
    "time,air_temp_c,rel_humidity_pct,wind_2m_m_s,solar_w_m2,rain_mm\n";

double noon_longitude_deg() {
    const WallTime at = now();
    const auto of_day = at - std::chrono::floor<std::chrono::days>(at);
    return 15 * (12 - static_cast<double>(of_day.count()) / 3600);
}

std::string garden_text(const GardenSpec& spec) {
    const std::string file = spec.valve_file.empty() ? "" : ", file = \"" + spec.valve_file + "\"";
    std::string text = "[site]\n"
                       "name = \"" +
                       spec.name +
                       "\"\n"
                       "latitude = 41.9\n"
                       "longitude = " +
                       fixed(spec.longitude_deg, 1) +
                       "\n"
                       "elevation = \"290 m\"\n"
                       "timezone = \"" +
                       spec.timezone +
                       "\"\n"
                       "[supply]\n"
                       "flow = \"" +
                       spec.flow +
                       "\"\n"
                       "hours = [\"" +
                       spec.hours + "\"]\n";
    if (!spec.weather.empty()) text += "[weather]\ncsv = \"" + spec.weather + "\"\n";
    text += "[[zone]]\n"
            "id = \"front\"\n"
            "name = \"Front lawn\"\n"
            "area = \"90 m2\"\n"
            "soil = \"loam\"\n"
            "precipitation_rate = \"12 mm/h\"\n"
            "distribution_uniformity = 0.65\n"
            "valve = { driver = \"simulated\", channel = 1" +
            file +
            " }\n"
            "[zone.establishment]\n"
            "method = \"seed\"\n"
            "start = " +
            spec.start +
            "\n"
            "seed_depth = \"6 mm\"\n"
            "mix = [ { species = \"perennial_ryegrass\", share = 1.0 } ]\n";
    if (spec.with_bed)
        text += "[[zone]]\n"
                "id = \"bed\"\n"
                "name = \"Old bed\"\n"
                "area = \"20 m2\"\n"
                "soil = \"silt_loam\"\n"
                "precipitation_rate = \"10 mm/h\"\n"
                "valve = { driver = \"simulated\", channel = 2" +
                file +
                " }\n"
                "[zone.establishment]\n"
                "method = \"none\"\n";
    return text;
}

WallTime now() {
    return std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now());
}

std::string today() {
    return to_string(Date{std::chrono::floor<std::chrono::days>(now())});
}

std::string hours_far_from_now() {
    const auto hour = to_unix(now()) / 3600 % 24;
    char text[32];
    std::snprintf(text, sizeof text, "%02d:00-%02d:59", static_cast<int>((hour + 8) % 24),
                  static_cast<int>((hour + 8) % 24));
    return text;
}

std::string hour_line(WallTime start, double air_temp_c) {
    const auto hour = to_unix(start) / 3600 % 24;
    char text[96];
    std::snprintf(text, sizeof text, "%s,%.1f,55.0,2.0,%s,0.0\n", to_iso8601(start).c_str(),
                  air_temp_c, hour >= 13 && hour <= 23 ? "500.0" : "0.0");
    return text;
}

} // namespace firstmow::process
