#include "engine/codec_hours.hpp"

namespace firstmow::engine {

namespace {

// One hour is a list, because there are many: start, five values, probability, five origins, and,
// where a source of the garden's list gave any of it, five numbers of sources. A soil temperature,
// where a source gave one, stands after all that.
constexpr std::size_t kFields = 12;
constexpr std::size_t kFieldsWithSources = 17;

Json hour_json(const weather::Hour& h) {
    Json list =
        Json::array({to_unix(h.start), h.air_temp_c, h.rel_humidity_pct, h.wind_2m_m_s,
                     h.solar_w_m2, h.rain_mm, h.rain_probability, static_cast<int>(h.temp_origin),
                     static_cast<int>(h.humidity_origin), static_cast<int>(h.wind_origin),
                     static_cast<int>(h.solar_origin), static_cast<int>(h.rain_origin)});
    if (h.sources != decltype(h.sources){})
        for (const std::uint8_t source : h.sources)
            list.push_back(source);
    if (h.soil_temp_c) list.push_back(*h.soil_temp_c);
    return list;
}

weather::Hour read_hour(Reader& reader, const Json& list) {
    weather::Hour h;
    const std::size_t size = list.is_array() ? list.size() : 0;
    const bool with_soil = size == kFields + 1 || size == kFieldsWithSources + 1;
    const std::size_t fields = size - (with_soil ? 1 : 0);
    if ((fields != kFields && fields != kFieldsWithSources) || !list[0].is_number_integer()) {
        reader.fail("an hour of weather has not its twelve or seventeen fields");
        return h;
    }
    for (const Json& field : list)
        if (!field.is_number() || !std::isfinite(field.get<double>())) {
            reader.fail("an hour of weather holds something that is no number");
            return h;
        }
    const auto origin = [&](std::size_t i) {
        const auto value = list[i].is_number_integer() ? list[i].get<std::int64_t>() : -1;
        if (value < 0 || value > static_cast<std::int64_t>(weather::Origin::assumed))
            reader.fail("an hour of weather names an origin that is not known");
        return static_cast<weather::Origin>(value & 3);
    };
    h.start = wall_from_unix(list[0].get<std::int64_t>());
    h.air_temp_c = list[1].get<double>();
    h.rel_humidity_pct = list[2].get<double>();
    h.wind_2m_m_s = list[3].get<double>();
    h.solar_w_m2 = list[4].get<double>();
    h.rain_mm = list[5].get<double>();
    h.rain_probability = list[6].get<double>();
    h.temp_origin = origin(7);
    h.humidity_origin = origin(8);
    h.wind_origin = origin(9);
    h.solar_origin = origin(10);
    h.rain_origin = origin(11);
    for (std::size_t i = kFields; i < fields; ++i) {
        const double source = list[i].get<double>();
        if (source < 0 || source > weather::kGardenSensors || source != std::floor(source))
            reader.fail("an hour of weather names a source that cannot be");
        else
            h.sources[i - kFields] = static_cast<std::uint8_t>(source);
    }
    if (with_soil) h.soil_temp_c = list[fields].get<double>();
    return h;
}

} // namespace

Json hours_json(const std::vector<weather::Hour>& hours) {
    Json list = Json::array();
    for (const weather::Hour& hour : hours)
        list.push_back(hour_json(hour));
    return list;
}

std::vector<weather::Hour> read_hours(Reader& reader, const Json& object, const char* key) {
    std::vector<weather::Hour> hours;
    for (const Json& hour : reader.list(object, key))
        hours.push_back(read_hour(reader, hour));
    return hours;
}

} // namespace firstmow::engine
