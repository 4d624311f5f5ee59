#include "engine/codec.hpp"
#include "engine/codec_hours.hpp"

#include <cmath>
#include <limits>

namespace firstmow::engine {

namespace {

struct Writer {
    Json operator()(const HourObserved& in) const {
        return {{"is", "hour"}, {"hours", hours_json({in.hour})}};
    }
    Json operator()(const ForecastArrived& in) const {
        return {{"is", "forecast"}, {"hours", hours_json(in.hours)}};
    }
    Json operator()(const WaterOrder& in) const {
        return {{"is", "water"}, {"zone", in.zone}, {"run_s", in.run_s}};
    }
    Json operator()(const StopOrder& in) const { return {{"is", "stop"}, {"zone", in.zone}}; }
    Json operator()(const HoldOrder& in) const {
        return {{"is", "hold"}, {"zone", in.zone}, {"until", to_json_value(in.until)}};
    }
    Json operator()(const HoldRelease& in) const { return {{"is", "release"}, {"zone", in.zone}}; }
    Json operator()(const Observation& in) const {
        return {{"is", "observation"}, {"zone", in.zone}, {"kind", turf::key(in.kind)}};
    }
    Json operator()(const ValveReport& in) const {
        Json j{{"is", "valve"},
               {"zone", in.zone},
               {"open", in.open},
               {"fault", in.fault},
               {"detail", in.detail}};
        if (in.since) j["since_ms"] = in.since->time_since_epoch().count();
        return j;
    }
    Json operator()(const Remark& in) const {
        return {
            {"is", "remark"}, {"severity", key(in.severity)}, {"code", in.code}, {"text", in.text}};
    }
    Json operator()(const CatchCanTest& in) const {
        return {{"is", "catch_cans"},
                {"zone", in.zone},
                {"depth_mm", in.cans.depth_mm},
                {"minutes", in.cans.minutes}};
    }
    Json operator()(const SoilProbe& in) const {
        Json j = {{"is", "soil_probe"}, {"zone", in.zone}, {"depth_mm", in.depth_mm}};
        if (in.water_fraction) j["water_fraction"] = *in.water_fraction;
        if (in.kpa) j["kpa"] = *in.kpa;
        return j;
    }
    Json operator()(const CorrectionUndo& in) const {
        return {{"is", "undo"}, {"zone", in.zone}, {"all", in.all}};
    }
    Json operator()(const WordUndo& in) const {
        return {{"is", "word_undo"}, {"zone", in.zone}, {"number", in.number}};
    }
    Json operator()(const Restarted&) const { return {{"is", "restarted"}}; }
    Json operator()(const EmergencyStop& in) const {
        return {{"is", "emergency_stop"}, {"why", in.why}};
    }
    Json operator()(const EmergencyRelease&) const { return {{"is", "emergency_release"}}; }
    Json operator()(const SensorReading& in) const {
        return {{"is", "reading"},
                {"sensor", in.sensor},
                {"value", std::isfinite(in.value) ? Json(in.value) : Json(nullptr)},
                {"at", to_json_value(in.at)}};
    }
    Json operator()(const MowPlan& in) const {
        return {{"is", "mow_planned"}, {"zone", in.zone}, {"at", optional_json(in.at)}};
    }
    Json operator()(const ClockState& in) const {
        return {{"is", "clock"}, {"trusted", in.trusted}};
    }
};

CatchCanTest read_cans(Reader& r, const Json& in) {
    CatchCanTest test;
    test.zone = r.text(in, "zone");
    test.cans.minutes = r.number(in, "minutes");
    for (const Json& depth : r.list(in, "depth_mm")) {
        if (!depth.is_number()) r.fail("'depth_mm' holds something that is no number");
        test.cans.depth_mm.push_back(depth.is_number() ? depth.get<double>() : 0);
    }
    return test;
}

SoilProbe read_probe(Reader& r, const Json& in) {
    SoilProbe probe;
    probe.zone = r.text(in, "zone");
    probe.depth_mm = r.number(in, "depth_mm");
    if (in.contains("water_fraction")) probe.water_fraction = r.number(in, "water_fraction");
    if (in.contains("kpa")) probe.kpa = r.number(in, "kpa");
    return probe;
}

Input read_input(Reader& r, const Json& in) {
    const std::string is = r.text(in, "is");
    if (is == "hour") {
        const auto hours = read_hours(r, in, "hours");
        if (hours.size() != 1) r.fail("'hours' of an observed hour is not one hour");
        return HourObserved{hours.empty() ? weather::Hour{} : hours.front()};
    }
    if (is == "forecast") return ForecastArrived{read_hours(r, in, "hours")};
    if (is == "water")
        return WaterOrder{r.text(in, "zone"), static_cast<int>(r.integer(in, "run_s"))};
    if (is == "stop") return StopOrder{r.text(in, "zone")};
    if (is == "hold") return HoldOrder{r.text(in, "zone"), r.time(in, "until")};
    if (is == "release") return HoldRelease{r.text(in, "zone")};
    if (is == "observation") {
        const auto kind = turf::observation_by_key(r.text(in, "kind"));
        if (!kind) r.fail("'kind' names no observation");
        return Observation{r.text(in, "zone"), kind.value_or(turf::ObservationKind{})};
    }
    if (is == "catch_cans") return read_cans(r, in);
    if (is == "soil_probe") return read_probe(r, in);
    if (is == "undo") return CorrectionUndo{r.text(in, "zone"), r.boolean(in, "all")};
    if (is == "word_undo") return WordUndo{r.text(in, "zone"), r.integer(in, "number")};
    if (is == "valve") {
        ValveReport report{r.text(in, "zone"), r.boolean(in, "open"), r.boolean(in, "fault"),
                           r.text(in, "detail"), std::nullopt};
        if (in.contains("since_ms")) report.since = MonoTime{Millis{r.integer(in, "since_ms")}};
        return report;
    }
    if (is == "remark") {
        const auto severity = severity_by_key(r.text(in, "severity"));
        if (!severity) r.fail("'severity' names none");
        return Remark{severity.value_or(Severity::note), r.text(in, "code"), r.text(in, "text")};
    }
    if (is == "emergency_stop") return EmergencyStop{r.text(in, "why")};
    if (is == "emergency_release") return EmergencyRelease{};
    if (is == "reading") {
        // JSON has no word for what is no number.
        const bool none = r.at(in, "value").is_null();
        return SensorReading{r.text(in, "sensor"),
                             none ? std::numeric_limits<double>::quiet_NaN()
                                  : r.number(in, "value"),
                             r.time(in, "at")};
    }
    if (is == "mow_planned") return MowPlan{r.text(in, "zone"), r.maybe_time(in, "at")};
    if (is == "clock") return ClockState{r.boolean(in, "trusted")};
    if (is != "restarted") r.fail("'is' names no input");
    return Restarted{};
}

} // namespace

std::string encode_inputs(std::span<const Input> inputs) {
    Json list = Json::array();
    for (const Input& input : inputs)
        list.push_back(std::visit(Writer{}, input));
    return list.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Result<std::vector<Input>> decode_inputs(std::string_view text) {
    const Json list = Json::parse(text, nullptr, false);
    if (!list.is_array()) return Error{"inputs are not a JSON list"};
    Reader reader;
    std::vector<Input> inputs;
    for (const Json& input : list)
        inputs.push_back(read_input(reader, input));
    if (!reader.ok()) return Error{"inputs: " + reader.fault()};
    return inputs;
}

} // namespace firstmow::engine
