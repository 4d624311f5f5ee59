// The companion's commands. Each is given its parsed options and returns the exit code: 0 done, 1
// not done (the daemon refused, a replay differs), 2 wrong input.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace firstmow::companion {

inline constexpr int kDone = 0;
inline constexpr int kNotDone = 1;
inline constexpr int kWrongInput = 2;

int check(const std::string& garden);

struct EtOptions {
    std::string weather;
    double latitude_deg = 0;
    double longitude_deg = 0;
    double elevation_m = 0;
};
int et(const EtOptions& options);

struct SimulateOptions {
    std::string garden;
    std::string weather;
    std::string from;
    std::string to;
    std::string out;
    std::string forecast = "noisy";
    std::uint64_t seed = 1;
    std::string events; // empty: none
};
int simulate(const SimulateOptions& options);

struct PlanOptions {
    std::string garden;
    std::string out; // an .ics file; empty: none
    bool json = false;
};
int plan(const PlanOptions& options);

struct ReplayOptions {
    std::string db;
    bool verify = false;
};
int replay(const ReplayOptions& options);

int off(const std::string& garden);

struct ValveTestOptions {
    std::string garden;
    std::string only; // a zone, master_valve or pump_relay; empty: all
    int seconds = 8;  // each
};
int valve_test(const ValveTestOptions& options);

// Where the daemon listens and the key to it.
struct Daemon {
    std::string url = "http://127.0.0.1:8080";
    std::string key;      // the token; empty: from key_file
    std::string key_file; // STATE_DIR/token
};
int status(const Daemon& daemon);
int weather(const Daemon& daemon, bool json);
int water(const Daemon& daemon, const std::string& zone, double minutes);
int stop(const Daemon& daemon, const std::string& zone); // empty zone: everything
int emergency_stop(const Daemon& daemon, bool release);
int hold(const Daemon& daemon, const std::string& zone, double hours); // 0: release
int mow(const Daemon& daemon, const std::string& zone, const std::string& when);
// What is seen or measured; the kind says which of the rest must be there.
struct Seen {
    std::string kind;
    std::vector<double> readings_mm; // catch cans
    std::vector<double> readings_ml;
    std::optional<double> opening_cm2;
    std::optional<double> minutes;
    std::optional<double> depth_mm; // soil probe
    std::optional<double> water_fraction;
    std::optional<double> kpa;
};
int observe(const Daemon& daemon, const std::string& zone, const Seen& seen);
// Takes back the last correction of a zone, or all.
int forget(const Daemon& daemon, const std::string& zone, bool all);
// Takes back what was said last of the zone, if that can be done.
int undo(const Daemon& daemon, const std::string& zone);

// These work on the daemon's state folder, whether it runs or not.
// Prints a code by which one browser signs in.
int pair(const std::string& state_dir);
int key_add(const std::string& state_dir, const std::string& name);
int key_list(const std::string& state_dir);
int key_revoke(const std::string& state_dir, const std::string& name);
int browsers_list(const std::string& state_dir);
int browsers_sign_out(const std::string& state_dir);

// "firstmow: message" on stderr.
int complain(const std::string& message, int code = kWrongInput);

} // namespace firstmow::companion
