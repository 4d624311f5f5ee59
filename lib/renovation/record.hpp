// A record of past years, day by day: what frost dates and the usual course of the year are made
// from.
//
// CSV with the header `date,min_temp_c`, `date,min_temp_c,max_temp_c` or
// `date,min_temp_c,max_temp_c,rain_mm`: local days in order, gaps allowed, an empty field is
// missing. Temperatures -70..60 deg C, rain 0..2000 mm. At most 200 years.
#pragma once

#include "base/result.hpp"
#include "base/time.hpp"

#include <optional>
#include <string_view>
#include <vector>

namespace firstmow::renovation {

struct DailyAir {
    Date date;
    std::optional<double> min_c;
    std::optional<double> max_c;
    std::optional<double> rain_mm = std::nullopt;
};

// The error begins with "line N: ".
Result<std::vector<DailyAir>> read_record(std::string_view csv);

} // namespace firstmow::renovation
