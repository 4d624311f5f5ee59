// The garden as it stands, in the three forms that are asked for: JSON, Prometheus text, and the
// course of the last day that the page draws.
#pragma once

#include "engine/records.hpp"
#include "engine/view.hpp"
#include "http/backend.hpp"

#include <span>
#include <string>

namespace firstmow::http {

// Names of the contract, and more. `null` numbers are values that are not known.
std::string status_json(const engine::GardenView& view, const Backend& backend);

// Per zone the wetness at each half hour and the water that came in it, oldest first.
std::string course_json(std::span<const engine::Moisture> rows, WallTime from, WallTime to);

struct ServerCounts {
    std::size_t connections = 0;
    std::size_t streams = 0;
    unsigned long long requests = 0;
};
// `open_metrics`: OpenMetrics 1.0 instead of the Prometheus text format 0.0.4. `view` may be null.
std::string metrics_text(const engine::GardenView* view, const Health& health,
                         const ServerCounts& counts, bool open_metrics);

} // namespace firstmow::http
