// How the grass of a zone comes on, as JSON: dates with their ranges, the stand, what to mow.
#pragma once

#include "engine/view.hpp"
#include "tables/json_text.hpp"

#include <string>

namespace firstmow::http {

// As the member `growth` of a zone; null for a grown-in lawn. The curves of emergence are long and
// left out unless asked for.
void write_growth(tables::JsonWriter& w, const engine::ZoneView& zone, WallTime now, bool curves);

// The zones that are being established, with curves.
std::string growth_json(const engine::GardenView& view);

} // namespace firstmow::http
