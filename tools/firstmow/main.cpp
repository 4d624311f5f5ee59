// firstmow, the companion: the engine and the running daemon from a shell.
#include "commands.hpp"

#include "base/text.hpp"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <cstdio>
#include <optional>

namespace {

using namespace firstmow::companion;

void add_daemon_options(CLI::App* command, Daemon& daemon) {
    command->add_option("--url", daemon.url, "Where the daemon listens")->capture_default_str();
    command->add_option("--key", daemon.key, "The daemon's key")->envname("FIRSTMOW_KEY");
    command->add_option("--key-file", daemon.key_file, "A file that holds it (STATE_DIR/token)")
        ->envname("FIRSTMOW_KEY_FILE");
}

// A sentence about a word that is no command; nothing when it is one.
std::optional<std::string> wrong_command(const CLI::App& app, const std::string& word) {
    std::vector<std::string> names;
    for (const CLI::App* command : app.get_subcommands([](const CLI::App*) { return true; }))
        names.push_back(command->get_name());
    if (std::find(names.begin(), names.end(), word) != names.end()) return std::nullopt;
    const std::vector<std::string_view> known(names.begin(), names.end());
    if (const auto near = firstmow::nearest(word, known))
        return "there is no command '" + word + "'; did you mean '" + *near + "'?";
    std::string all;
    for (const std::string& name : names)
        all += (all.empty() ? "" : ", ") + name;
    return "there is no command '" + word + "'; there are " + all;
}

} // namespace

int main(int argc, char** argv) {
    CLI::App app{"Keeps a newly seeded lawn damp, from seed to first mow and beyond.", "firstmow"};
    app.require_subcommand(1);
    int code = kDone;

    std::string garden;
    auto* check_command = app.add_subcommand("check", "Check a garden file");
    check_command->add_option("--garden", garden, "Garden file (TOML)")->required();
    check_command->callback([&] { code = check(garden); });

    EtOptions et_options;
    auto* et_command =
        app.add_subcommand("et", "Hourly reference evapotranspiration of a weather file, as CSV");
    et_command->add_option("--weather", et_options.weather, "Weather CSV")->required();
    et_command->add_option("--latitude", et_options.latitude_deg, "Degrees north")
        ->required()
        ->check(CLI::Range(-90.0, 90.0));
    et_command->add_option("--longitude", et_options.longitude_deg, "Degrees east")
        ->required()
        ->check(CLI::Range(-180.0, 180.0));
    et_command->add_option("--elevation", et_options.elevation_m, "Metres")
        ->required()
        ->check(CLI::Range(-430.0, 6000.0));
    et_command->callback([&] { code = et(et_options); });

    SimulateOptions sim;
    auto* simulate_command =
        app.add_subcommand("simulate", "Run a season: the daemon's engine on simulated valves");
    simulate_command->add_option("--garden", sim.garden, "Garden file (TOML)")->required();
    simulate_command->add_option("--weather", sim.weather, "Weather CSV")->required();
    simulate_command->add_option("--from", sim.from, "First local day, YYYY-MM-DD")->required();
    simulate_command->add_option("--to", sim.to, "Last local day, YYYY-MM-DD")->required();
    simulate_command->add_option("--out", sim.out, "Folder for the results")->required();
    simulate_command
        ->add_option("--forecast", sim.forecast, "What the planner may see of the future")
        ->check(CLI::IsMember({"perfect", "none", "noisy"}))
        ->capture_default_str();
    simulate_command->add_option("--seed", sim.seed, "Of the forecast's errors")
        ->check([](const std::string& text) {
            return !text.empty() && text.front() == '-' ? std::string("must not be negative")
                                                        : std::string();
        })
        ->capture_default_str();
    simulate_command->add_option("--events", sim.events,
                                 "What people do: CSV time,zone,kind,value");
    simulate_command->callback([&] { code = simulate(sim); });

    PlanOptions plan_options;
    auto* plan_command =
        app.add_subcommand("plan", "The renovation calendar, and what to buy for it");
    plan_command->add_option("--garden", plan_options.garden, "Garden file (TOML)")->required();
    plan_command->add_option("--out", plan_options.out, "Calendar file to write (.ics)");
    plan_command->add_flag("--json", plan_options.json, "Print JSON instead of text");
    plan_command->callback([&] { code = plan(plan_options); });

    ReplayOptions replay_options;
    auto* replay_command = app.add_subcommand("replay", "Re-run the engine from its journal");
    replay_command->add_option("--db", replay_options.db, "The journal (SQLite)")->required();
    replay_command->add_flag("--verify", replay_options.verify,
                             "Succeed only when every decision comes out the same");
    replay_command->callback([&] { code = replay(replay_options); });

    auto* off_command = app.add_subcommand("off", "Close every valve, without the daemon");
    off_command->add_option("--garden", garden, "Garden file (TOML)")->required();
    off_command->callback([&] { code = off(garden); });

    auto* valve_command = app.add_subcommand("valve", "For the day of the wiring");
    valve_command->require_subcommand(1);
    ValveTestOptions valve_options;
    auto* valve_test_command = valve_command->add_subcommand(
        "test", "Open one valve after the other, naming each; any key closes everything");
    valve_test_command->add_option("--garden", valve_options.garden, "Garden file (TOML)")
        ->required();
    valve_test_command->add_option("--seconds", valve_options.seconds, "How long each is open")
        ->check(CLI::Range(1, 120))
        ->capture_default_str();
    valve_test_command->add_option("--only", valve_options.only,
                                   "One of them: a zone's id, master_valve or pump_relay");
    valve_test_command->callback([&] { code = valve_test(valve_options); });

    Daemon daemon;
    std::string zone;
    auto* status_command = app.add_subcommand("status", "How the garden is");
    add_daemon_options(status_command, daemon);
    status_command->callback([&] { code = status(daemon); });

    bool weather_json = false;
    auto* weather_command = app.add_subcommand(
        "weather", "What is known of the weather, from where, how old, and what is thought of it");
    add_daemon_options(weather_command, daemon);
    weather_command->add_flag("--json", weather_json, "Print JSON instead of text");
    weather_command->callback([&] { code = weather(daemon, weather_json); });

    double minutes = 0;
    auto* water_command = app.add_subcommand("water", "Water a zone now");
    add_daemon_options(water_command, daemon);
    water_command->add_option("zone", zone, "Zone")->required();
    water_command->add_option("minutes", minutes, "Minutes")->required();
    water_command->callback([&] { code = water(daemon, zone, minutes); });

    auto* stop_command = app.add_subcommand("stop", "Close a zone, or everything");
    add_daemon_options(stop_command, daemon);
    stop_command->add_option("zone", zone, "Zone; without one everything is closed");
    stop_command->callback([&] { code = stop(daemon, zone); });

    bool release = false;
    auto* emergency_command = app.add_subcommand(
        "emergency-stop", "Close everything and keep it closed until it is released");
    add_daemon_options(emergency_command, daemon);
    emergency_command->add_flag("--release", release, "Let water run again");
    emergency_command->callback([&] { code = emergency_stop(daemon, release); });

    double hours = 0;
    auto* hold_command = app.add_subcommand("hold", "Let no planned run start for some hours");
    add_daemon_options(hold_command, daemon);
    hold_command->add_option("zone", zone, "Zone")->required();
    hold_command->add_option("hours", hours, "Hours; 0 ends the hold")->required();
    hold_command->callback([&] { code = hold(daemon, zone, hours); });

    std::string when;
    auto* mow_command = app.add_subcommand("mow", "Say when you will mow; water keeps clear of it");
    add_daemon_options(mow_command, daemon);
    mow_command->add_option("zone", zone, "Zone")->required();
    mow_command->add_option("when", when, "UTC, such as 2026-09-21T15:00:00Z; never takes it back")
        ->required();
    mow_command->callback([&] { code = mow(daemon, zone, when); });

    Seen seen;
    auto* observe_command = app.add_subcommand("observe", "Say what you see on a zone");
    add_daemon_options(observe_command, daemon);
    observe_command->add_option("zone", zone, "Zone")->required();
    observe_command
        ->add_option("kind", seen.kind,
                     "seedlings_seen, nothing_yet, first_mow, mown, rooted, surface_dry, puddling, "
                     "catch_cans or "
                     "soil_probe")
        ->required();
    observe_command
        ->add_option("--mm", seen.readings_mm, "catch_cans: readings, depths, with commas between")
        ->delimiter(',');
    observe_command
        ->add_option("--ml", seen.readings_ml, "catch_cans: readings, volumes, with commas between")
        ->delimiter(',');
    observe_command->add_option("--opening-cm2", seen.opening_cm2,
                                "catch_cans: opening of a can, with --ml");
    observe_command->add_option("--minutes", seen.minutes,
                                "catch_cans: how long the valve was open");
    observe_command->add_option("--depth-mm", seen.depth_mm, "soil_probe: below the surface");
    observe_command->add_option("--water-fraction", seen.water_fraction,
                                "soil_probe: volume of water in the soil, 0 to 0.7");
    observe_command->add_option("--kpa", seen.kpa, "soil_probe: matric potential, 0 or negative");
    observe_command->callback([&] { code = observe(daemon, zone, seen); });

    bool everything = false;
    auto* forget_command =
        app.add_subcommand("forget", "Take back the last correction of a zone's own factors");
    add_daemon_options(forget_command, daemon);
    forget_command->add_option("zone", zone, "Zone")->required();
    forget_command->add_flag("--all", everything, "All that was ever learned of the zone");
    forget_command->callback([&] { code = forget(daemon, zone, everything); });

    auto* undo_command = app.add_subcommand(
        "undo", "Take back the last order or report on a zone, for a quarter of an hour");
    add_daemon_options(undo_command, daemon);
    undo_command->add_option("zone", zone, "Zone")->required();
    undo_command->callback([&] { code = undo(daemon, zone); });

    std::string state_dir;
    std::string key_name;
    const auto add_state_dir = [&](CLI::App* command) {
        command->add_option("--state-dir", state_dir, "The daemon's folder")
            ->envname("FIRSTMOW_STATE_DIR")
            ->required();
    };
    auto* pair_command =
        app.add_subcommand("pair", "Print a code by which one browser signs in, once");
    add_state_dir(pair_command);
    pair_command->callback([&] { code = pair(state_dir); });

    auto* key_command = app.add_subcommand("key", "Further keys for programs, each with a name");
    key_command->require_subcommand(1);
    auto* key_add_command = key_command->add_subcommand("add", "Make a key; it is shown this once");
    key_add_command->add_option("name", key_name, "Whose it is")->required();
    add_state_dir(key_add_command);
    key_add_command->callback([&] { code = key_add(state_dir, key_name); });
    auto* key_list_command = key_command->add_subcommand("list", "The names of all keys");
    add_state_dir(key_list_command);
    key_list_command->callback([&] { code = key_list(state_dir); });
    auto* key_revoke_command =
        key_command->add_subcommand("revoke", "Let a key, and what signed in with it, in no more");
    key_revoke_command->add_option("name", key_name, "Whose it is")->required();
    add_state_dir(key_revoke_command);
    key_revoke_command->callback([&] { code = key_revoke(state_dir, key_name); });

    auto* browsers_command = app.add_subcommand("browsers", "Browsers that are signed in");
    browsers_command->require_subcommand(1);
    auto* browsers_list_command =
        browsers_command->add_subcommand("list", "Since when, until when");
    add_state_dir(browsers_list_command);
    browsers_list_command->callback([&] { code = browsers_list(state_dir); });
    auto* browsers_out_command =
        browsers_command->add_subcommand("sign-out", "Sign all of them out: a phone is lost");
    add_state_dir(browsers_out_command);
    browsers_out_command->callback([&] { code = browsers_sign_out(state_dir); });

    if (argc > 1 && argv[1][0] != '-')
        if (const auto wrong = wrong_command(app, argv[1])) return complain(*wrong);
    try {
        app.parse(argc, argv);
    } catch (const CLI::CallForHelp& help) {
        return app.exit(help);
    } catch (const CLI::ParseError& fault) {
        std::fprintf(stderr, "firstmow: %s (firstmow --help says what there is)\n", fault.what());
        return kWrongInput;
    }
    return code;
}
