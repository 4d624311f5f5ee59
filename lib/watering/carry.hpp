// A zone's water when its ground is described anew in the middle of a season: another texture, a
// topdressing that was spread, another seed depth.
//
// What people correct is the description, not the weather that was: how hard the soil holds its
// water at a depth stays as it is, and what a soil holds at that pull follows. Where the soil
// itself is the same, its water stays to the millimetre. What is spread on top is as damp as what
// it covers was on top (an assumption: nobody measures it, and a day's weather decides).
#pragma once

#include "watering/zone_model.hpp"

namespace firstmow::watering {

// `lifted_mm`: how much higher the surface lies now (a topdressing), negative when lower.
ZoneState carried(const ZoneSpec& was, const ZoneState& state, const ZoneSpec& is,
                  double lifted_mm);

} // namespace firstmow::watering
