#include "commands.hpp"

#include "base/text.hpp"
#include "events.hpp"
#include "host/files.hpp"
#include "host/garden_file.hpp"
#include "journal/recorder.hpp"
#include "season_summary.hpp"
#include "tables/tables.hpp"
#include "weather_file.hpp"

#include <cstdio>
#include <unistd.h>

namespace firstmow::companion {

namespace {

// Steps that go into the season's journal in one transaction.
constexpr std::size_t kStepsAtOnce = 500;

// Everything that a season leaves behind, gathered while it runs.
class SeasonFiles {
public:
    SeasonFiles(const SimulateOptions& options, const host::GardenFile& garden,
                store::Store journal)
        : options_(options),
          garden_(garden),
          text_{garden.text, garden.setup.timezone},
          journal_(std::move(journal)),
          recorder_(0),
          summary_(garden.setup) {}

    void begin(WallTime from) {
        pending_.push_back(recorder_.garden({from, MonoTime{}}, text_, garden_.setup,
                                            engine::initial_state(garden_.setup)));
    }

    void on_step(const engine::Moment& now, const std::vector<engine::Input>& inputs,
                 const engine::StepResult& result, const engine::State& state) {
        for (const engine::Record& record : result.records)
            keep(record);
        pending_.push_back(recorder_.step(now, inputs, result, garden_.setup, state));
        if (pending_.size() >= kStepsAtOnce) write_pending();
    }

    void on_valve(const sim::ValveChange& change) {
        for (const garden::Output& output : garden::outputs(garden_.setup.garden)) {
            if (output.name != change.zone || !output.valve.file) continue;
            const auto ms = change.at.time_since_epoch().count();
            valve_logs_[host::beside(garden_.path, *output.valve.file)] +=
                fixed(static_cast<double>(ms) / 1000.0, 3) + " " + std::to_string(change.channel) +
                (change.open ? " open\n" : " closed\n");
        }
    }

    Status finish(WallTime from, WallTime to, const engine::State& state) {
        if (!pending_.empty())
            pending_.back().snapshot = recorder_.snapshot(to, text_, garden_.setup, state);
        write_pending();
        if (!trouble_.ok()) return trouble_;
        if (const Status done = journal_.checkpoint(); !done) return done;
        const std::string folder = options_.out + "/";
        const std::pair<std::string, std::string> files[] = {
            {"cycles.csv", tables::cycles_csv(cycles_)},
            {"moisture.csv", tables::moisture_csv(moisture_)},
            {"decisions.csv", tables::decisions_csv(decisions_)},
            {"summary.json", summary_.json(from, to, options_.forecast, options_.seed)},
        };
        for (const auto& [name, content] : files)
            if (const Status done = host::write_file(folder + name, content); !done) return done;
        for (const auto& [path, log] : valve_logs_)
            if (const Status done = host::write_file(path, log); !done) return done;
        std::fputs(summary_.text(from, to).c_str(), stdout);
        return Done{};
    }

private:
    void keep(const engine::Record& record) {
        summary_.add(record);
        if (const auto* c = std::get_if<engine::Cycle>(&record)) cycles_.push_back(*c);
        if (const auto* m = std::get_if<engine::Moisture>(&record)) moisture_.push_back(*m);
        if (const auto* d = std::get_if<engine::Decision>(&record)) decisions_.push_back(*d);
    }

    void write_pending() {
        if (trouble_.ok()) trouble_ = journal_.write(pending_);
        pending_.clear();
    }

    const SimulateOptions& options_;
    const host::GardenFile& garden_;
    journal::GardenText text_;
    store::Store journal_;
    journal::Recorder recorder_;
    SeasonSummary summary_;
    std::vector<store::Step> pending_;
    std::vector<engine::Cycle> cycles_;
    std::vector<engine::Moisture> moisture_;
    std::vector<engine::Decision> decisions_;
    std::map<std::string, std::string> valve_logs_;
    Status trouble_ = Done{};
};

sim::ForecastMode mode_of(const std::string& word) {
    if (word == "perfect") return sim::ForecastMode::perfect;
    return word == "none" ? sim::ForecastMode::none : sim::ForecastMode::noisy;
}

// The days of the season, as far as the weather goes. Nothing, with a word on stderr, if it does
// not.
bool set_days(const SimulateOptions& options, const TimeZone& local, sim::SeasonPlan& plan) {
    const Result<Date> from = parse_date(options.from);
    const Result<Date> to = parse_date(options.to);
    if (!from || !to) {
        complain((from ? std::string("--to: ") + to.error().message
                       : std::string("--from: ") + from.error().message));
        return false;
    }
    if (*to < *from) {
        complain("--to " + options.to + " lies before --from " + options.from);
        return false;
    }
    const WallTime first = plan.truth.front().start;
    const WallTime end = plan.truth.back().start + std::chrono::hours{1};
    // Local midnight need not be a full UTC hour.
    const WallTime wanted_from = std::chrono::floor<std::chrono::hours>(local.to_wall(*from, 0));
    const WallTime wanted_to = local.to_wall(add_days(*to, 1), 0);
    plan.from = std::max(wanted_from, first);
    plan.to = std::min(wanted_to, end);
    if (wanted_from + std::chrono::days{1} <= first || wanted_to - std::chrono::days{1} >= end ||
        plan.from >= plan.to) {
        complain(options.weather + ": holds the weather from " + to_iso8601(first) + " to " +
                 to_iso8601(end) + "; the days " + options.from + " to " + options.to +
                 " are not in it");
        return false;
    }
    if (plan.from != wanted_from || plan.to != wanted_to)
        std::fprintf(
            stderr,
            "firstmow: note: the weather goes from %s to %s; the season runs from %s to %s\n",
            to_iso8601(first).c_str(), to_iso8601(end).c_str(), to_iso8601(plan.from).c_str(),
            to_iso8601(plan.to).c_str());
    return true;
}

// Whether the valve files can be written at the season's end: known before it begins.
bool valve_files_have_room(const host::GardenFile& garden) {
    bool good = true;
    for (const garden::Output& output : garden::outputs(garden.setup.garden)) {
        if (!output.valve.file) continue;
        const std::string path = host::beside(garden.path, *output.valve.file);
        const auto slash = path.rfind('/');
        const std::string folder = slash == std::string::npos ? "." : path.substr(0, slash + 1);
        if (::access(folder.c_str(), W_OK | X_OK) == 0) continue;
        complain("zone " + output.name + ": its valve file " + path +
                 " cannot be written; make its folder, or name another file");
        good = false;
    }
    return good;
}

} // namespace

int simulate(const SimulateOptions& options) {
    auto loaded = host::load_garden(options.garden);
    if (const auto* errors = std::get_if<std::vector<std::string>>(&loaded)) {
        for (const std::string& error : *errors)
            std::fprintf(stderr, "%s\n", error.c_str());
        return kWrongInput;
    }
    const host::GardenFile& garden = std::get<host::GardenFile>(loaded);
    const auto readings = read_weather(options.weather);
    if (!readings) return kWrongInput;

    sim::SeasonPlan plan;
    plan.truth = sim::complete_all(garden.setup.garden.site.place, *readings);
    if (!set_days(options, garden.setup.timezone, plan)) return kWrongInput;
    plan.forecast = mode_of(options.forecast);
    plan.seed = options.seed;
    if (!options.events.empty()) {
        auto events = read_events(options.events, garden.setup.garden);
        if (!events) return kWrongInput;
        plan.events = std::move(*events);
    }

    if (!valve_files_have_room(garden)) return kWrongInput;
    if (const Status made = host::make_directory(options.out); !made)
        return complain("--out: " + made.error().message);
    // A season is made anew each time; what an earlier one left is replaced.
    const std::string db = options.out + "/season.sqlite";
    for (const char* part : {"", "-wal", "-shm", "-journal"})
        ::unlink((db + part).c_str());
    store::OpenOptions open;
    open.durable = false;
    Result<store::Store> journal = store::Store::open(db, open);
    if (!journal) return complain(journal.error().message);

    SeasonFiles files(options, garden, std::move(*journal));
    files.begin(plan.from);
    sim::SeasonListener listener;
    listener.on_step = [&](const engine::Moment& now, const std::vector<engine::Input>& inputs,
                           const engine::StepResult& result, const engine::State& state) {
        files.on_step(now, inputs, result, state);
    };
    listener.on_valve = [&](const sim::ValveChange& change) { files.on_valve(change); };
    const engine::State state = sim::run_season(garden.setup, plan, listener);
    if (const Status done = files.finish(plan.from, plan.to, state); !done)
        return complain(done.error().message);
    return kDone;
}

} // namespace firstmow::companion
