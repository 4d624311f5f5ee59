// The bench: how far the engine is from the judge, and what it costs. See tools/bench/run.
#include "bench.hpp"

#include <CLI/CLI.hpp>

int main(int argc, char** argv) {
    using namespace firstmow::bench;
    Options options;
    std::string only;
    CLI::App app("Measures of the engine: its column against the judge of tests/season, seasons "
                 "judged, and what they cost");
    app.add_option(
           "--only", only,
           "one part: columns, moisture, planner, shared, landscapes, fill, ahead, cost or season")
        ->check(CLI::IsMember({"columns", "moisture", "planner", "shared", "landscapes", "fill",
                               "ahead", "cost", "season"}));
    app.add_option("--days", options.days, "length of a trial or season")->check(CLI::Range(2, 90));
    app.add_option("--refine", options.refine, "cut every layer of the engine's in so many")
        ->check(CLI::Range(1, 4));
    app.add_flag("--thermal", options.thermal, "the judge conducts heat down into the soil");
    app.add_option("--worst", options.worst, "rows of the list of worst")
        ->check(CLI::Range(0, 999));
    app.add_option("--jobs", options.threads, "threads for what takes long")
        ->check(CLI::Range(1, 64));
    app.add_option("--folder", options.folder,
                   "folder of measured seasons: NAME.csv, NAME_meta.json, NAME_obs.csv")
        ->check(CLI::ExistingDirectory);
    app.add_option("--width", options.width, "planner: how widely foresight searches")
        ->check(CLI::Range(2, 5000));
    app.add_option("--start-price", options.start_price_mm,
                   "planner: what a start costs foresight, mm of water (else what the planner "
                   "reckons it at; 0: starts are free)")
        ->check(CLI::Range(0.0, 10.0));
    app.add_flag("--fine", options.fine, "planner: judged on the fine grid");
    app.add_flag("--alone", options.alone,
                 "planner: by itself, without timer and foresight; shared: without the search");
    app.add_flag("--runs", options.runs, "planner: lists every run of every schedule");
    app.add_option("--pick", options.pick, "planner: only cases whose \"WEATHER,SOIL\" holds this");
    app.add_option("--weather", options.weather, "weather CSV of a measured season");
    app.add_option("--latitude", options.latitude_deg)->check(CLI::Range(-66.0, 66.0));
    app.add_option("--longitude", options.longitude_deg)->check(CLI::Range(-180.0, 180.0));
    app.add_option("--elevation", options.elevation_m, "metres")->check(CLI::Range(-430.0, 6000.0));
    app.add_option("--sown", options.sown, "date of sowing, YYYY-MM-DD");
    CLI11_PARSE(app, argc, argv);
    if ((only.empty() || only == "columns") && !columns(options)) return 1;
    if ((only.empty() || only == "moisture") && !moisture(options)) return 1;
    if ((only.empty() || only == "planner") && !planner(options)) return 1;
    if (only.empty() || only == "shared") shared_tap(options);
    if ((only.empty() || only == "landscapes") && !landscapes(options)) return 1;
    if ((only.empty() || only == "fill") && !fill(options)) return 1;
    if ((only.empty() || only == "ahead") && !ahead(options)) return 1;
    if (only.empty() || only == "cost") cost(options);
    if (only.empty() || only == "season") return seasons(options) ? 0 : 1;
    return 0;
}
