#include "commands.hpp"

#include "base/text.hpp"
#include "sim/season.hpp"
#include "weather/reference_et.hpp"
#include "weather_file.hpp"

#include <cstdio>

namespace firstmow::companion {

int et(const EtOptions& options) {
    const auto readings = read_weather(options.weather);
    if (!readings) return kWrongInput;
    const weather::Place place{options.latitude_deg, options.longitude_deg, options.elevation_m};
    weather::CloudMemory short_clouds;
    weather::CloudMemory tall_clouds;
    std::string out = "time,eto_mm,etr_mm\n";
    for (const weather::Hour& hour : sim::complete_all(place, *readings)) {
        const weather::HourlyWeather in{hour.air_temp_c,
                                        weather::saturation_vapour_kpa(hour.air_temp_c) *
                                            hour.rel_humidity_pct / 100.0,
                                        hour.wind_2m_m_s, hour.solar_w_m2 * 0.0036};
        const auto grass =
            weather::hourly_et(weather::Reference::asce_short, place, hour.start, in, short_clouds);
        const auto tall =
            weather::hourly_et(weather::Reference::asce_tall, place, hour.start, in, tall_clouds);
        out += to_iso8601(hour.start) + "," + fixed(grass.et_mm, 4) + "," + fixed(tall.et_mm, 4) +
               "\n";
    }
    std::fwrite(out.data(), 1, out.size(), stdout);
    return kDone;
}

} // namespace firstmow::companion
