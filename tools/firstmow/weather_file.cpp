#include "weather_file.hpp"

#include "commands.hpp"
#include "host/files.hpp"
#include "weather/csv.hpp"

#include <cstdio>

namespace firstmow::companion {

std::optional<std::vector<weather::Reading>> read_weather(const std::string& path) {
    const Result<std::string> text = host::read_file(path);
    if (!text) {
        complain(text.error().message);
        return std::nullopt;
    }
    weather::CsvReadings csv = weather::read_csv(*text);
    for (const weather::CsvFault& fault : csv.faults)
        std::fprintf(stderr, "%s\n", weather::located(path, fault).c_str());
    if (!csv.faults.empty()) return std::nullopt;
    if (csv.readings.empty()) {
        complain(path + ": holds no hour of weather; give at least one line below the header");
        return std::nullopt;
    }
    return std::move(csv.readings);
}

} // namespace firstmow::companion
