// Real weather as the surface of a bare bed sees it, for the trials.
#pragma once

#include "base/timezone.hpp"
#include "compare/invented_days.hpp"
#include "soil/texture.hpp"
#include "weather/hour.hpp"

#include <span>
#include <vector>

namespace firstmow::compare {

// Steps of kStep_s from midnight of the `first` whole local day of `hours` (0: the first whole one)
// for `days` or as long as there are hours. The surface's temperature is that of the engine's own
// bed of this soil under this watering.
std::vector<soil::SurfaceForcing> measured_forcing(const weather::Place& place,
                                                   const TimeZone& local,
                                                   std::span<const weather::Hour> hours,
                                                   const Watering& watering,
                                                   soil::TextureClass texture, int first, int days);

} // namespace firstmow::compare
