// Records as tables: the CSV files of `firstmow simulate` and the same columns as JSON objects.
#pragma once

#include "engine/records.hpp"

#include <span>
#include <string>

namespace firstmow::tables {

std::string cycles_csv(std::span<const engine::Cycle> rows);
std::string decisions_csv(std::span<const engine::Decision> rows);
std::string moisture_csv(std::span<const engine::Moisture> rows);

// JSON arrays of objects whose members are named as the columns.
std::string cycles_json(std::span<const engine::Cycle> rows);
std::string decisions_json(std::span<const engine::Decision> rows);
std::string moisture_json(std::span<const engine::Moisture> rows);
std::string phases_json(std::span<const engine::PhaseRecord> rows);
std::string corrections_csv(std::span<const engine::Correction> rows);
std::string corrections_json(std::span<const engine::Correction> rows);
std::string notices_json(std::span<const engine::Notice> rows);
std::string weather_json(std::span<const engine::WeatherUsed> rows);

} // namespace firstmow::tables
