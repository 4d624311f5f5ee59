#include "garden/read.hpp"

#include "base/text.hpp"
#include "garden/document.hpp"
#include "garden/fields.hpp"
#include "garden/outputs.hpp"
#include "garden/reach.hpp"
#include "garden/sections.hpp"
#include "garden/wording.hpp"

#include <algorithm>
#include <map>
#include <string_view>
#include <utility>

namespace firstmow::garden {

namespace {

constexpr Field kFields[] = {
    {"site", true, "[site] with name, latitude, longitude, elevation and timezone"},
    {"supply", true, "[supply] with flow and hours"},
    {"weather", false, "[weather]"},
    {"renovation", false, "[renovation]"},
    {"access", false, "[access]"},
    {"tell", false, "[[tell]] with url"},
    {"interlocks", false, "[interlocks]"},
    {"master_valve", false, "[master_valve] with valve"},
    {"pump", false, "[pump] with relay"},
    {"sensor", false, "[[sensor]] with id, kind and source"},
    {"zone", true, "[[zone]] with id, area, soil, precipitation_rate and valve"},
};
constexpr std::size_t kMostZones = 64;

std::vector<ReadZone> read_zones(const Fields& fields, Errors& errors) {
    const Node* const node = fields.find("zone");
    if (node == nullptr) return {};
    if (node->kind == Kind::table) {
        fields.refuse("zone", "is a single table; [[zone]] in double brackets, once for each "
                              "zone, would be right");
        return {};
    }
    const Node* const list = fields.list("zone");
    if (list == nullptr) return {};
    if (list->items.size() > kMostZones) {
        errors.add(list->items[kMostZones].spot, "the garden has more than " +
                                                     std::to_string(kMostZones) +
                                                     " zones; up to that many would be right");
        return {};
    }
    std::vector<ReadZone> zones;
    for (const Node& item : list->items) {
        if (item.kind == Kind::table)
            zones.push_back(read_zone(item, errors));
        else
            fields.refuse_type(item, "zone", "a table");
    }
    return zones;
}

constexpr std::size_t kMostSensors = 32;

std::vector<ReadSensor> read_sensors(const Fields& fields, Errors& errors) {
    const Node* const node = fields.find("sensor");
    if (node == nullptr) return {};
    if (node->kind == Kind::table) {
        fields.refuse("sensor", "is a single table; [[sensor]] in double brackets, once for each "
                                "sensor, would be right");
        return {};
    }
    const Node* const list = fields.list("sensor");
    if (list == nullptr) return {};
    if (list->items.size() > kMostSensors) {
        errors.add(list->items[kMostSensors].spot, "the garden has more than " +
                                                       std::to_string(kMostSensors) +
                                                       " sensors; up to that many would be right");
        return {};
    }
    std::vector<ReadSensor> sensors;
    for (const Node& item : list->items) {
        if (item.kind == Kind::table)
            sensors.push_back(read_sensor(item, errors));
        else
            fields.refuse_type(item, "sensor", "a table");
    }
    return sensors;
}

// What a sensor says must be told apart, and be about something that is there.
void refuse_odd_sensors(const std::vector<ReadSensor>& sensors, const std::vector<ReadZone>& zones,
                        Errors& errors) {
    std::map<std::string, int> line_of_id;
    std::map<SensorKind, std::string> only;
    for (const ReadSensor& read : sensors) {
        const Sensor& sensor = read.sensor;
        if (read.id_at) {
            const auto [seen, fresh] = line_of_id.emplace(sensor.id, read.id_at->line);
            if (!fresh)
                errors.add(*read.id_at, "id " + in_quotes(sensor.id) + " is taken by line " +
                                            std::to_string(seen->second) +
                                            "; an id of its own would be right");
        }
        if (read.kind_at &&
            (sensor.kind == SensorKind::flow_meter || sensor.kind == SensorKind::rain_gauge)) {
            const auto [seen, fresh] = only.emplace(sensor.kind, sensor.id);
            if (!fresh)
                errors.add(*read.kind_at, "kind is that of sensor " + in_quotes(seen->second) +
                                              " too; one of its kind in a garden would be right");
        }
        const bool known = std::any_of(zones.begin(), zones.end(), [&](const ReadZone& zone) {
            return zone.zone.id == sensor.zone;
        });
        if (read.zone_at && !known)
            errors.add(*read.zone_at, "zone " + in_quotes(sensor.zone) +
                                          " is none of this garden; the id of a [[zone]] would be "
                                          "right");
    }
}

// Ids are each used once, and so are outputs.
void refuse_twins(const std::vector<ReadZone>& zones, Outputs& outputs, Errors& errors) {
    std::map<std::string, int> line_of_id;
    for (const ReadZone& read : zones) {
        if (read.id_at) {
            const auto [seen, fresh] = line_of_id.emplace(read.zone.id, read.id_at->line);
            if (!fresh)
                errors.add(*read.id_at, "id " + in_quotes(read.zone.id) + " is taken by line " +
                                            std::to_string(seen->second) +
                                            "; an id of its own would be right");
        }
        outputs.refuse_twin(read.zone.valve, read.valve_at, "zone " + in_quotes(read.zone.id));
    }
}

// A zone that asks for more than the tap gives would never get its rate.
void refuse_thirsty(const std::vector<ReadZone>& zones, const Supply& supply, Errors& errors) {
    if (supply.flow_l_per_min <= 0) return; // reported already
    for (const ReadZone& read : zones) {
        const double flow_l_per_min = read.zone.flow_l_per_min();
        if (!read.rate_at || flow_l_per_min <= supply.flow_l_per_min * (1 + 1e-9)) continue;
        errors.add(*read.rate_at,
                   read.rate_key + " asks for " + fixed(flow_l_per_min, 2) + " L/min (" +
                       fixed(read.zone.area_m2, 1) + " m2 at " +
                       fixed(read.zone.precipitation_rate_mm_per_h, 1) +
                       " mm/h), more than the flow of " + fixed(supply.flow_l_per_min, 2) +
                       " L/min in [supply]; a smaller zone, or nozzles that give less, would be "
                       "right");
    }
}

} // namespace

std::vector<Output> outputs(const Garden& garden) {
    std::vector<Output> all;
    for (const Zone& zone : garden.zones)
        all.push_back({zone.id, zone.valve});
    if (garden.master) all.push_back({kMasterValve, garden.master->valve});
    if (garden.pump) all.push_back({kPump, garden.pump->relay});
    return all;
}

std::string located(std::string_view file, const FileError& error) {
    return std::string(file) + ":" + std::to_string(error.line) + ":" +
           std::to_string(error.column) + ": " + error.message;
}

std::variant<Garden, std::vector<FileError>> read(std::string_view toml_text,
                                                  const ReadOptions& options) {
    const auto document = parse_document(toml_text);
    if (const auto* const syntax = std::get_if<FileError>(&document))
        return std::vector<FileError>{*syntax};
    const Node& root = *std::get_if<Node>(&document);

    Errors errors;
    const Fields fields(root, "the garden file", kFields, errors);
    Garden garden;
    if (const Node* const site = fields.table("site"))
        garden.site = read_site(*site, options, errors);
    if (const Node* const supply = fields.table("supply"))
        garden.supply = read_supply(*supply, errors);
    if (const Node* const weather = fields.table("weather"))
        garden.weather = read_weather(*weather, errors);
    if (const Node* const renovation = fields.table("renovation"))
        garden.renovation = read_renovation(*renovation, errors);
    Reach reach; // looked at for its errors; whoever needs it calls read_reach()
    if (const Node* const access = fields.table("access")) read_access(*access, reach, errors);
    if (const Node* const tell = fields.find("tell")) read_tell(*tell, reach, errors);
    const std::vector<ReadZone> zones = read_zones(fields, errors);
    Outputs outputs(errors);
    refuse_twins(zones, outputs, errors);
    if (const Node* const table = fields.table("interlocks"))
        garden.interlocks = read_interlocks(*table, errors);
    // `outputs` looks at them until the end.
    ReadMaster master;
    if (const Node* const table = fields.table("master_valve")) {
        master = read_master(*table, errors);
        outputs.refuse_twin(master.master.valve, master.valve_at, "the master valve");
        garden.master = master.master;
    }
    const std::vector<ReadSensor> sensors = read_sensors(fields, errors);
    refuse_odd_sensors(sensors, zones, errors);
    ReadPump pump;
    if (const Node* const table = fields.table("pump")) {
        pump = read_pump(*table, errors);
        outputs.refuse_twin(pump.pump.relay, pump.relay_at, "the pump");
        garden.pump = pump.pump;
        const bool metered = std::any_of(sensors.begin(), sensors.end(), [](const ReadSensor& s) {
            return s.sensor.kind == SensorKind::flow_meter;
        });
        if (pump.dry_after_at && !metered)
            errors.add(*pump.dry_after_at, "dry_after needs a flow meter to see it; a [[sensor]] "
                                           "of kind \"flow_meter\", or leaving the key out, would "
                                           "be right");
    }
    for (const ReadSensor& read : sensors) {
        ValveSpots spots;
        if (read.line_at)
            spots.outlets.push_back({"line " + std::to_string(read.sensor.line) + " of chip " +
                                         in_quotes(read.sensor.chip),
                                     "line", *read.line_at});
        outputs.refuse_twin({}, spots, "sensor " + in_quotes(read.sensor.id));
        garden.sensors.push_back(read.sensor);
    }
    refuse_thirsty(zones, garden.supply, errors);
    if (!errors.empty()) return errors.sorted();

    const OldLawn& everywhere = garden.renovation.lawn;
    for (const ReadZone& read : zones) {
        Zone& zone = garden.zones.emplace_back(read.zone);
        if (read.caution) garden.cautions.push_back(*read.caution);
        OldLawn& here = zone.old_lawn;
        if (!here.desirable_grass_pct) here.desirable_grass_pct = everywhere.desirable_grass_pct;
        if (!here.traffic) here.traffic = everywhere.traffic;
        if (!here.instant) here.instant = everywhere.instant;
    }
    return garden;
}

} // namespace firstmow::garden
