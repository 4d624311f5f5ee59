// The usual warmth of a place at a time of the year, where nothing better is known.
#pragma once

#include "weather/hour.hpp"

namespace firstmow::weather {

// Mean air temperature of a usual day (deg C) by latitude, elevation and day of the year (1..366).
// A rule of thumb with no source: the yearly mean falls with the square of the latitude, the swing
// grows with it and lags the sun by a month, 6.5 K less for each km. Off by several degrees in many
// places: use what was measured to say how far, and this only for how the year goes on.
double usual_mean_c(const Place& place, int day_of_year);

} // namespace firstmow::weather
