// The description of a site and its zones: what the garden file says, checked and in SI units.
//
// Values in here are in range; whoever builds one by hand (tests) keeps that.
#pragma once

#include "base/time.hpp"
#include "soil/texture.hpp"
#include "turf/phase.hpp"
#include "turf/species.hpp"
#include "weather/hour.hpp"

#include <array>
#include <optional>
#include <string>
#include <vector>

namespace firstmow::garden {

enum class Units : std::uint8_t { metric, us };

struct Site {
    std::string name;
    weather::Place place;
    std::string timezone;        // IANA name
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

// Where weather comes from, for the daemon. (`simulate` is given its file.)
struct WeatherSource {
    std::optional<std::string> csv_file; // relative to the garden file
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
    soil::TextureClass soil{};
    double slope_pct = 0; // 0..100
    double precipitation_rate_mm_per_h =
        0;                                // what reaches the ground, zone mean, catch-can measured
    double distribution_uniformity = 0.6; // lower quarter, 0.1..1
    // Matric potential of the soil below the seedbed when the season starts (default: summer-dry).
    double soil_below_kpa = -200;
    // Bounds of one opening of the valve.
    int shortest_run_s = 120;
    int longest_run_s = 3600;
    Valve valve;
    Establishment establishment;
    OldLawn old_lawn; // the garden's, where the zone says nothing of its own

    double flow_l_per_min() const { return area_m2 * precipitation_rate_mm_per_h / 60.0; }
};

struct Garden {
    Site site;
    Supply supply;
    WeatherSource weather;
    Renovation renovation;
    std::vector<Zone> zones; // at least one; ids unique
};

} // namespace firstmow::garden
