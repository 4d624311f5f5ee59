// The record of past forecasts in JSON. For the codec's own .cpp files only.
#pragma once

#include "engine/codec_json.hpp"
#include "watering/forecast_record.hpp"

namespace firstmow::engine {

Json forecast_record_json(const watering::ForecastRecord& record);
// Text from before there was a record lacks it: then nothing is known yet.
watering::ForecastRecord read_forecast_record(Reader& reader, const Json& state);

} // namespace firstmow::engine
