// [[sensor]]: what measures in the garden, and where its readings come from.
#include "garden/sections.hpp"

#include "garden/sensor_words.hpp"
#include "garden/wording.hpp"

#include <cmath>
#include <span>
#include <string_view>

namespace firstmow::garden {

namespace {

constexpr Field kFields[] = {
    {"id", true, "id = \"meter\""},
    {"kind", true, "kind = \"flow_meter\""},
    {"source", true, "source = \"gpio\""},
    {"chip", false, "chip = \"pinctrl-bcm2711\""},
    {"line", false, "line = 22"},
    {"active_low", false, "active_low = true"},
    {"bias", false, "bias = \"pull_up\""},
    {"debounce", false, "debounce = \"0.02 s\""},
    {"file", false, "file = \"meter.txt\""},
    {"litres_per_pulse", false, "litres_per_pulse = \"0.5 L\""},
    {"rain_per_tip", false, "rain_per_tip = \"0.2 mm\""},
    {"scale", false, "scale = 0.1"},
    {"offset", false, "offset = -40.0"},
    {"zone", false, "zone = \"front\""},
    {"measures", false, "measures = \"water\""},
    {"depth", false, "depth = \"30 mm\""},
    {"silent_after", false, "silent_after = \"2 h\""},
    {"too_much", false, "too_much = \"130 %\""},
    {"too_little", false, "too_little = \"60 %\""},
    {"no_flow_after", false, "no_flow_after = \"60 s\""},
    {"leak", false, "leak = \"1 L/min\""},
};
// In the order of the enumerations.
constexpr std::string_view kKinds[] = {"flow_meter", "rain_gauge",  "rain_switch",
                                       "soil_probe", "thermometer", "stop_button"};
constexpr std::string_view kSources[] = {"gpio", "file", "push"};
constexpr std::string_view kBiases[] = {"as_is", "disabled", "pull_up", "pull_down"};
constexpr std::string_view kMeasures[] = {"water", "tension"};
constexpr int kLastLine = 1023;

bool counts(SensorKind kind) {
    return kind == SensorKind::flow_meter || kind == SensorKind::rain_gauge;
}

// A key that says nothing about this sensor would be passed over in silence otherwise.
void refuse_keys(const Fields& fields, std::string_view why,
                 std::span<const std::string_view> keys) {
    for (const std::string_view key : keys)
        if (fields.find(key) != nullptr)
            fields.refuse(key, "is for " + std::string(why) + "; leaving it out would be right");
}

void require(const Node& table, const Fields& fields, const std::string& called,
             std::string_view key, std::string_view why, Errors& errors) {
    if (fields.find(key) != nullptr) return;
    for (const Field& field : kFields)
        if (field.key == key)
            errors.add(table.spot, called + " lacks \"" + std::string(key) + "\", which " +
                                       std::string(why) + " needs; write, for example, " +
                                       std::string(field.example));
}

void read_source(const Node& table, const Fields& fields, const std::string& called,
                 ReadSensor& read, Errors& errors) {
    constexpr std::string_view kOfGpio[] = {"chip", "line", "active_low", "bias", "debounce"};
    constexpr std::string_view kOfFile[] = {"file"};
    Sensor& sensor = read.sensor;
    if (sensor.source != Sensor::Source::file)
        refuse_keys(fields, "source \"file\"", kOfFile);
    else
        require(table, fields, called, "file", "source \"file\"", errors);
    sensor.file = fields.text("file", kLongestPath).value_or("");
    if (sensor.source != Sensor::Source::gpio) {
        refuse_keys(fields, "source \"gpio\"", kOfGpio);
        return;
    }
    if (sensor.kind == SensorKind::soil_probe || sensor.kind == SensorKind::thermometer)
        fields.refuse("source", "\"gpio\" is for what switches or counts; \"file\" (such as a file "
                                "of the kernel's IIO) or \"push\" would be right");
    require(table, fields, called, "chip", "source \"gpio\"", errors);
    require(table, fields, called, "line", "source \"gpio\"", errors);
    const auto chip = fields.text("chip");
    const auto line = fields.integer("line", 0, kLastLine);
    sensor.chip = chip.value_or("");
    sensor.line = line.value_or(0);
    if (chip && line) read.line_at = fields.find("line")->spot;
    sensor.active_low = fields.truth("active_low").value_or(false);
    if (const auto bias = fields.word("bias", kBiases)) sensor.bias = static_cast<Bias>(*bias);
    // Reed contacts of tipping buckets and buttons bounce for milliseconds; a meter may be quick.
    sensor.debounce_ms = sensor.kind == SensorKind::flow_meter ? 5 : 50;
    if (const auto debounce = fields.quantity("debounce", Dimension::duration_s, {0, 1}))
        sensor.debounce_ms = static_cast<int>(std::lround(*debounce * 1000));
}

void read_scale(const Node& table, const Fields& fields, const std::string& called,
                ReadSensor& read, Errors& errors) {
    constexpr std::string_view kOfMeter[] = {"litres_per_pulse", "too_much", "too_little",
                                             "no_flow_after", "leak"};
    constexpr std::string_view kOfGauge[] = {"rain_per_tip"};
    constexpr std::string_view kOfNumbers[] = {"scale", "offset"};
    Sensor& sensor = read.sensor;
    if (sensor.kind != SensorKind::flow_meter) refuse_keys(fields, "flow meters", kOfMeter);
    if (sensor.kind != SensorKind::rain_gauge) refuse_keys(fields, "rain gauges", kOfGauge);
    if (counts(sensor.kind)) {
        const bool meter = sensor.kind == SensorKind::flow_meter;
        const std::string_view key = meter ? "litres_per_pulse" : "rain_per_tip";
        refuse_keys(fields, "soil probes and thermometers", kOfNumbers);
        require(table, fields, called, key, kKinds[static_cast<std::size_t>(sensor.kind)], errors);
        const auto one = meter ? fields.quantity(key, Dimension::volume_l, {0.0001, 1000})
                               : fields.quantity(key, Dimension::depth_mm, {0.01, 10});
        sensor.scale = one.value_or(1);
        return;
    }
    if (sensor.kind == SensorKind::rain_switch || sensor.kind == SensorKind::stop_button)
        refuse_keys(fields, "soil probes and thermometers", kOfNumbers);
    if (const auto scale = fields.number("scale", {-1e6, 1e6})) sensor.scale = *scale;
    if (const auto offset = fields.number("offset", {-1e6, 1e6})) sensor.offset = *offset;
}

} // namespace

std::string_view key(SensorKind kind) {
    return kKinds[static_cast<std::size_t>(kind)];
}

ReadSensor read_sensor(const Node& table, Errors& errors) {
    std::string called = "[[sensor]]";
    for (const Entry& entry : table.entries)
        if (entry.key == "id" && entry.value.kind == Kind::text)
            called += " " + in_quotes(entry.value.text);
    const Fields fields(table, called, kFields, errors);

    ReadSensor read;
    Sensor& sensor = read.sensor;
    if (const auto id = read_id(fields)) {
        sensor.id = *id;
        read.id_at = fields.find("id")->spot;
    }
    const auto kind = fields.word("kind", kKinds);
    const auto source = fields.word("source", kSources);
    if (!kind || !source) return read;
    sensor.kind = static_cast<SensorKind>(*kind);
    sensor.source = static_cast<Sensor::Source>(*source);
    read.kind_at = fields.find("kind")->spot;
    read_source(table, fields, called, read, errors);
    read_scale(table, fields, called, read, errors);

    constexpr std::string_view kOfProbe[] = {"measures", "depth"};
    constexpr std::string_view kOfSoil[] = {"zone"};
    const bool probe = sensor.kind == SensorKind::soil_probe;
    if (!probe) refuse_keys(fields, "soil probes", kOfProbe);
    if (!probe && sensor.kind != SensorKind::thermometer)
        refuse_keys(fields, "soil probes and thermometers", kOfSoil);
    if (probe) require(table, fields, called, "zone", "a soil probe", errors);
    if (const auto zone = fields.text("zone")) {
        sensor.zone = *zone;
        read.zone_at = fields.find("zone")->spot;
    }
    if (const auto what = fields.word("measures", kMeasures)) sensor.tension = *what == 1;
    sensor.depth_mm = fields.quantity("depth", Dimension::depth_mm, {1, 600}).value_or(0);
    const auto seconds = [&](std::string_view key, Range range, int& to) {
        if (const auto span = fields.quantity(key, Dimension::duration_s, range))
            to = whole_seconds(*span);
    };
    seconds("silent_after", {60, 604800}, sensor.silent_after_s);
    seconds("no_flow_after", {10, 600}, sensor.no_flow_after_s);
    if (const auto most = fields.quantity("too_much", Dimension::percent, {105, 500}))
        sensor.too_much = *most / 100;
    if (const auto least = fields.quantity("too_little", Dimension::percent, {5, 95}))
        sensor.too_little = *least / 100;
    sensor.leak_l_per_min =
        fields.quantity("leak", Dimension::flow_l_per_min, {0.05, 100}).value_or(1);
    return read;
}

} // namespace firstmow::garden
