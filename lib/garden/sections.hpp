// The tables of a garden file, each read by a file of its own. Internal to the room.
//
// What a reader returns is only meant to be used when `errors` stays empty; until then a value
// that could not be read keeps its default.
#pragma once

#include "garden/fields.hpp"
#include "garden/garden.hpp"
#include "garden/read.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::garden {

// Where the values of an output stand that no other output may have; no spot where the value itself
// is wrong.
struct ValveSpots {
    std::optional<Spot> channel;
    struct Outlet {
        std::string words; // "line 5 of chip "relays"": the same for the same outlet
        std::string kind;  // "line"
        Spot spot;
    };
    std::vector<Outlet> outlets;
};

// A zone, and where its values stand that must agree with the rest of the file; no spot where
// the value itself is wrong.
struct ReadZone {
    Zone zone;
    std::optional<Spot> id_at;
    ValveSpots valve_at;
    std::optional<Spot> rate_at; // area and rate are both good
    std::string rate_key;        // that gave the rate
    std::optional<Caution> caution;
};

Site read_site(const Node& table, const ReadOptions& options, Errors& errors);
// A list of stretches of local clock time under `key`; nothing when it is wrong.
std::vector<HoursOfDay> read_hours(const Fields& fields, std::string_view key, Errors& errors);
Supply read_supply(const Node& table, Errors& errors);
WeatherSource read_weather(const Node& table, Errors& errors);
ReadZone read_zone(const Node& table, Errors& errors);
// The keys soil, loosened and topdressing of a zone, which `called` names in messages.
void read_soil(const Fields& fields, const std::string& called, Zone& zone, Errors& errors);
// How the zone's rate and uniformity are known; its area has been read.
void read_sprinklers(const Fields& fields, const Node& table, const std::string& called,
                     ReadZone& read, Errors& errors);
// `called` names the table in messages: "valve of [[zone]] "front"".
ValveSpots read_valve(const Node& table, const std::string& called, Valve& valve, Errors& errors);
// `called` names the table in messages: "[zone.establishment] of "front"".
Establishment read_establishment(const Node& table, const std::string& called, Errors& errors);

Interlocks read_interlocks(const Node& table, Errors& errors);
struct ReadMaster {
    MasterValve master;
    ValveSpots valve_at;
};
ReadMaster read_master(const Node& table, Errors& errors);
struct ReadPump {
    Pump pump;
    ValveSpots relay_at;
    std::optional<Spot> dry_after_at; // needs a flow meter
};
ReadPump read_pump(const Node& table, Errors& errors);

struct ReadSensor {
    Sensor sensor;
    std::optional<Spot> id_at;
    std::optional<Spot> kind_at;
    std::optional<Spot> line_at; // chip and line are both good
    std::optional<Spot> zone_at;
};
ReadSensor read_sensor(const Node& table, Errors& errors);

// An id of a zone or a sensor: letters, digits and '-'.
std::optional<std::string> read_id(const Fields& fields);
int whole_seconds(double seconds);

Renovation read_renovation(const Node& table, Errors& errors);
OldLawn read_old_lawn(const Node& table, const std::string& called, Errors& errors);

} // namespace firstmow::garden
