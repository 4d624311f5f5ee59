// The system's time-zone database, read into a value.
#pragma once

#include "base/result.hpp"
#include "base/timezone.hpp"

#include <string_view>

namespace firstmow::host {

// An IANA name, for example "America/Chicago".
Result<TimeZone> load_timezone(std::string_view name);

} // namespace firstmow::host
