#include "weather/csv.hpp"

#include "base/text.hpp"

#include <algorithm>

namespace firstmow::weather {

std::string write_csv(std::span<const Reading> readings) {
    const bool with_soil =
        std::any_of(readings.begin(), readings.end(),
                    [](const Reading& reading) { return reading.soil_temp_c.has_value(); });
    std::string out(with_soil ? kCsvHeaderWithSoil : kCsvHeader);
    out += '\n';
    const auto field = [&out](const std::optional<double>& value, int decimals) {
        out += ',';
        if (value) out += fixed(*value, decimals);
    };
    for (const Reading& reading : readings) {
        out += to_iso8601(reading.start);
        field(reading.air_temp_c, 2);
        field(reading.rel_humidity_pct, 1);
        field(reading.wind_2m_m_s, 2);
        field(reading.solar_w_m2, 1);
        field(reading.rain_mm, 3);
        if (with_soil) field(reading.soil_temp_c, 1);
        out += '\n';
    }
    return out;
}

} // namespace firstmow::weather
