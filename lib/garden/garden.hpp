// The description of a site and its zones: what the garden file says, checked and in SI units.
//
// Values in here are in range; whoever builds one by hand (tests) keeps that.
#pragma once

#include "base/time.hpp"
#include "garden/sprinklers.hpp"
#include "soil/ground.hpp"
#include "turf/phase.hpp"
#include "turf/species.hpp"
#include "weather/hour.hpp"

#include <array>
#include <optional>
#include <string>
#include <vector>

namespace firstmow::garden {

enum class Units : std::uint8_t { metric, us };

// When the machine's clock is believed. Planned runs wait for that.
enum class Clock : std::uint8_t {
    automatic,    // when it is set by a time service or a clock chip, or there is no such service
    synchronised, // only when the kernel says that it is
    free,         // always
};

struct Site {
    std::string name;
    weather::Place place;
    std::string timezone; // IANA name
    Clock clock = Clock::automatic;
    Units units = Units::metric; // what people are shown; files stay metric
    std::optional<std::chrono::month_day> first_frost;
};

// Local clock time, [from, to), 0 <= from < to <= 86400.
struct HoursOfDay {
    int from_s = 0;
    int to_s = 0;
};

struct Supply {
    double flow_l_per_min = 0;
    std::vector<HoursOfDay> hours; // sorted, not overlapping, at least one
    std::array<bool, 7> days{true, true, true, true, true, true, true}; // Monday first
};

// A source of weather beside the file: a service on the network, or the owner's own station.
struct WeatherFeed {
    enum class Kind : std::uint8_t {
        open_meteo, // forecast and recent past, hourly
        met_norway, // MET Norway, Locationforecast 2.0
        nws,        // the US National Weather Service, gridpoint forecast
        push,       // a station that sends its readings to the daemon's own port
        mqtt,       // a station whose readings a broker hands on
    };
    // What a topic of a broker carries. `rain` counts up from whenever; its rises are the rain.
    struct Topics {
        std::string temperature; // "TOPIC", or "TOPIC#MEMBER" where the payload is a JSON object
        std::string humidity;
        std::string dew_point;
        std::string wind;
        std::string solar;
        std::string soil_temperature;
        std::string rain;
    };

    std::string id; // letters, digits, '-'; unique
    Kind kind = Kind::open_meteo;
    std::string url;                            // of services their base; mqtt(s)://HOST:PORT
    std::string contact;                        // by which a service's people reach the owner
    std::optional<std::string> certificates;    // PEM to trust beside the system's; as csv_file
    int every_s = 3600;                         // services: how often they are asked
    double wind_height_m = 2;                   // stations: of the wind sensor above the ground
    Units units = Units::metric;                // mqtt: of the payloads (us: deg F, mph, in)
    Topics topics;                              // mqtt
    std::string user;                           // mqtt; empty: nobody
    std::optional<std::string> password_file{}; // mqtt; as csv_file
};

// Where weather comes from, for the daemon. (`simulate` is given its file.)
struct WeatherSource {
    std::optional<std::string> csv_file; // relative to the garden file
    std::vector<WeatherFeed> feeds;      // the better the earlier

    // What stands behind weather::Hour::sources: number 1 is the first. The file goes before all.
    std::vector<std::string> ids() const {
        std::vector<std::string> all;
        if (csv_file) all.emplace_back("csv");
        for (const WeatherFeed& feed : feeds)
            all.push_back(feed.id);
        return all;
    }
};

// What the pin itself does to a GPIO line, beside the driver of the output.
enum class Bias : std::uint8_t { as_is, disabled, pull_up, pull_down };

enum class Parity : std::uint8_t { none, even, odd };

// Where an HTTP relay is asked: http only, by IPv4 address, so that closing needs no name server.
struct HttpTarget {
    std::array<std::uint8_t, 4> address{};
    int port = 80;
    std::string path; // with its query; begins with '/'
};

struct HttpOrder {
    std::string method;
    HttpTarget target;
    std::string body; // may be empty
};

// What an HTTP relay answers of its state: the one or the other stands in the answer's body
// (white space does not count).
struct HttpReadBack {
    HttpTarget target;
    std::string when_open;
    std::string when_closed;
};

struct Valve {
    std::string driver; // "simulated", "gpio", "mcp23017", "pcf8574", "modbus" or "http"
    int channel = 0;    // 1..999, unique within a driver
    // simulated: where changes are written; relative to the garden file
    std::optional<std::string> file;
    // gpio, mcp23017, pcf8574:
    std::string chip;        // gpio: label, name or path of the chip
    std::string bus;         // expanders: path of the I2C bus
    int address = 0;         // expanders: on the bus
    int line = 0;            // offset on the chip, unique there
    bool active_low = false; // the valve opens when the line is low
    Bias bias = Bias::as_is; // gpio
    // Latching, of the same drivers: a pulse opens, another closes. 0: it is held by its line.
    int pulse_ms = 0;
    int close_pulse_ms = 0;
    std::optional<int> close_line; // where the closing pulse goes; `line` itself when absent
    // modbus (RTU on a serial port):
    std::string port;
    int baud = 9600;
    Parity parity = Parity::none;
    int stop_bits = 1;
    int unit = 1; // the board's address, 1..247
    int coil = 0; // counted from 0, as on the wire
    // http:
    HttpOrder open;
    HttpOrder close;
    std::optional<HttpReadBack> read;
    std::optional<std::string> header; // one more line of each request

    bool latches() const { return pulse_ms > 0; }
};

// What neither a plan nor an order may break: checked before every opening, whoever asks.
struct Interlocks {
    int zones_at_once = 16;         // 1..16
    int rest_between_runs_s = 0;    // of a zone, from the end of an opening to the next; 0..86400
    double most_per_day_mm = 60;    // of a zone in any 24 h, gross; 1..500
    double frost_c = 1;             // no water while the air or the soil is as cold; -10..10
    std::optional<double> wind_m_s; // at 2 m; no planned run in more, 1..30
};

// Opens `lead_s` before the first zone, closes `lag_s` after the last.
struct MasterValve {
    Valve valve;
    int lead_s = 2; // 0..60
    int lag_s = 2;  // 0..60
};

// Runs while a zone's valve is open; it stops a moment before the last of them closes.
struct Pump {
    Valve relay;
    int rest_s = 300;      // from one start to the next, at least; 0..3600
    int longest_s = 14400; // of running without a stop; 60..14400
    int stop_before_s = 2; // the zone's valve closes; 0..30
    int dry_after_s = 30;  // running so long without flow is running dry; 5..600; needs a meter
};

enum class SensorKind : std::uint8_t {
    flow_meter,  // litres that have passed, ever growing
    rain_gauge,  // mm that have fallen, ever growing
    rain_switch, // 1 while it is wet
    soil_probe,  // of a zone: percent of volume, or kPa
    thermometer, // C, of the air or of a zone's soil
    stop_button, // 1 while it is pressed
};

struct Sensor {
    enum class Source : std::uint8_t { gpio, file, push };
    std::string id; // letters, digits, '-'
    SensorKind kind{};
    Source source{};
    // gpio:
    std::string chip;
    int line = 0;
    bool active_low = false;
    Bias bias = Bias::as_is;
    int debounce_ms = 5; // a contact that bounces less long is one contact; 0..1000
    // file: its first number, by some other program; relative to the garden file
    std::string file;
    // What a raw number means: value = raw * scale + offset. Litres or mm a pulse for counters.
    double scale = 1;
    double offset = 0;
    std::string zone;     // soil_probe and a thermometer in soil; empty: the air, the whole garden
    bool tension = false; // soil_probe: kPa, and not percent of volume
    double depth_mm = 0;  // soil_probe: of its middle; 0: the seed zone
    int silent_after_s = 7200; // nothing heard for so long: it is no longer believed; 60..604800
    // flow_meter:
    double too_much = 1.3;     // of a zone's usual flow; 1.05..5
    double too_little = 0.6;   // 0.05..0.95
    int no_flow_after_s = 60;  // a zone is open and nothing flows; 10..600
    double leak_l_per_min = 1; // while everything is closed; 0.05..100
};

struct MixPart {
    turf::Species species{};
    double share = 0; // 0..1 of the seed by weight; the shares of a mix sum to 1
};

struct Establishment {
    turf::Method method = turf::Method::none;
    std::optional<Date> start; // sown or laid; present unless method is none
    double seed_depth_mm = 6;  // 1..25
    turf::Cover cover = turf::Cover::none;
    std::vector<MixPart> mix; // not empty for seed and overseed
};

enum class Traffic : std::uint8_t { low, medium, high };

// What decides between overseeding, sowing anew and sod. Nothing where the file does not say.
struct OldLawn {
    std::optional<double> desirable_grass_pct; // of the ground, grass worth keeping, 0..100
    std::optional<Traffic> traffic;            // in the weeks after
    std::optional<bool> instant;               // a lawn at once is wished for
};

// What stands on a bag of fertilizer: percent by weight of N, P2O5 and K2O.
struct Analysis {
    double n_pct = 0;
    double p2o5_pct = 0;
    double k2o_pct = 0;
};

// What the calendar and the shopping list of a renovation are made from. Nothing of it bears on
// the watering.
struct Renovation {
    OldLawn lawn;
    double herbicide_wait_days = 14;       // from spraying to tilling; the label decides
    bool herbicide_wait_given = false;     // by the file, that is by somebody's label
    double settle_days = 7;                // from tilling to sowing
    std::optional<double> seed_purity_pct; // from the seed tag
    std::optional<double> seed_germination_pct;
    std::optional<double> seed_rate_g_per_m2; // pure live seed; by species when absent
    Analysis starter{16, 16, 16};
    double starter_nitrogen_g_per_m2 = 4.88; // 1 lb/1000 ft2
    double topsoil_mm = 0;                   // brought in before sowing
    std::optional<double> topdressing_mm;    // spread over the seed; by method when absent
    double sod_roll_m2 = 1;
    double sod_waste_pct = 5;
    std::optional<double> water_price_per_m3; // of no particular currency
    std::optional<double> design_heat_c;      // hottest afternoon that the tap must cope with
    std::optional<std::string> daily_record;  // CSV of past years; relative to the garden file
};

struct Zone {
    std::string id; // letters, digits, '-'
    std::string name;
    double area_m2 = 0;
    soil::Composition soil;
    std::optional<soil::Loosened> loosened;       // the top of it, tilled and raked
    std::optional<soil::Topdressing> topdressing; // spread over it
    double slope_pct = 0;                         // 0..100
    // Zone mean while the valve is open. By its source it is what reaches the ground, or what
    // leaves the nozzles (see RateSource).
    double precipitation_rate_mm_per_h = 0;
    RateSource rate_source = RateSource::given;
    Heads heads = Heads::unknown;
    double distribution_uniformity = 0.6; // lower quarter, 0.1..1
    // Matric potential of the soil below the seedbed when the season starts (default: summer-dry).
    double soil_below_kpa = -200;
    // Direct sun: all day; so many hours around solar noon; or these hours of the clock.
    std::optional<double> direct_sun_h; // 0..24
    std::vector<HoursOfDay> sun_hours;  // sorted, not overlapping; they decide when there are any
    // Bounds of one opening of the valve.
    int shortest_run_s = 120;
    int longest_run_s = 3600;
    std::optional<double> most_per_day_mm; // the garden's, where the zone says nothing
    Valve valve;
    Establishment establishment;
    OldLawn old_lawn; // the garden's, where the zone says nothing of its own

    soil::Ground ground() const { return {soil, loosened, topdressing}; }
    double flow_l_per_min() const { return area_m2 * precipitation_rate_mm_per_h / 60.0; }
};

// A default that was taken where a figure of the garden's own would matter.
struct Caution {
    int line = 1;
    int column = 1;
    std::string message; // one sentence
};

struct Garden {
    Site site;
    Supply supply;
    WeatherSource weather;
    Renovation renovation;
    Interlocks interlocks;
    std::optional<MasterValve> master;
    std::optional<Pump> pump;
    std::vector<Zone> zones;       // at least one; ids unique
    std::vector<Sensor> sensors;   // ids unique; at most one flow meter and one rain gauge
    std::vector<Caution> cautions; // by place in the file

    double most_per_day_mm(const Zone& zone) const {
        return zone.most_per_day_mm.value_or(interlocks.most_per_day_mm);
    }
};

// The names of outputs that are no zones; no zone's id can hold a '_'.
inline constexpr const char* kMasterValve = "master_valve";
inline constexpr const char* kPump = "pump_relay";

// An output that is switched, by the name that orders and reports call it.
struct Output {
    std::string name; // a zone's id, or one of the two above
    Valve valve;
};
// All of them: zones in the garden's order, then master valve and pump.
std::vector<Output> outputs(const Garden& garden);

} // namespace firstmow::garden
