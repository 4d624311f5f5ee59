#include "journal/replay.hpp"

#include "engine/codec.hpp"
#include "engine/follow.hpp"
#include "journal/body.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

namespace firstmow::journal {

namespace {

// Applies rows, in order, to an engine that begins with the first garden row or with a snapshot.
class Runner {
public:
    std::optional<Restored> at;           // none before the first garden
    engine::Follower* follower = nullptr; // decides nothing, if there is one

    Status apply(const store::InputRow& row, engine::StepResult& result) {
        if (row.kind == kGardenRow) {
            Result<GardenText> text = decode_garden(row.body);
            if (!text) return text.error();
            Result<engine::Setup> setup = setup_of(*text);
            if (!setup) return setup.error();
            engine::State state =
                at ? engine::adopt(at->setup, at->state, *setup) : engine::initial_state(*setup);
            at = Restored{std::move(*text), std::move(*setup), std::move(state),
                          row.seq,          row.at.wall,       false};
            return Done{};
        }
        if (row.kind != kStepRow || !at)
            return Error{"the journal's row " + std::to_string(row.seq) +
                         " is of a kind that this firstmow does not know"};
        Result<std::vector<engine::Input>> inputs = engine::decode_inputs(row.body);
        if (!inputs) return inputs.error();
        if (follower != nullptr)
            follower->step(at->setup, at->state, row.at, *inputs);
        else
            result = engine::step(at->setup, at->state, row.at, *inputs);
        at->last_seq = row.seq;
        at->last_wall = row.at.wall;
        return Done{};
    }
};

// Every row after `seq`, in order.
Status each_row(store::Store& store, std::int64_t seq,
                const std::function<Status(const store::InputRow&)>& use) {
    for (;;) {
        Result<std::vector<store::InputRow>> rows = store.inputs_after(seq);
        if (!rows) return rows.error();
        if (rows->empty()) return Done{};
        for (const store::InputRow& row : *rows) {
            if (const Status used = use(row); !used) return used;
            seq = row.seq;
        }
    }
}

// The journal keeps a decision that comes twice in a second once (see store/migrations.cpp): so a
// plan that was left and taken again within it.
void keep_once(std::vector<engine::Decision>& decisions) {
    const auto key = [](const engine::Decision& d) {
        return std::tuple(d.time, d.zone, d.verdict, d.reason, d.run_s,
                          d.start.value_or(WallTime{}));
    };
    std::set<decltype(key(decisions.front()))> seen;
    std::erase_if(decisions,
                  [&](const engine::Decision& d) { return !seen.insert(key(d)).second; });
}

Result<Restored> read_snapshot(const store::Snapshot& snapshot) {
    Result<SnapshotBody> body = decode_snapshot(snapshot.body);
    if (!body) return body.error();
    Result<engine::Setup> setup = setup_of(body->garden);
    if (!setup) return setup.error();
    Result<engine::State> state = engine::decode_state(*setup, body->state);
    if (!state) return state.error();
    return Restored{std::move(body->garden), std::move(*setup),
                    std::move(*state),       snapshot.seq,
                    snapshot.wall,           false};
}

store::Filter everything() {
    store::Filter all;
    all.limit = 10'000'000;
    all.keep = store::Filter::Keep::oldest;
    return all;
}

// Whether the runs of a replay from `since` on are those that were written.
bool as_written(const std::vector<engine::Cycle>& written, const std::vector<engine::Cycle>& again,
                std::optional<WallTime> since) {
    std::map<std::int64_t, const engine::Cycle*> missing;
    for (const engine::Cycle& c : written)
        missing.emplace(c.id, &c);
    for (const engine::Cycle& c : again) {
        const auto same = missing.find(c.id);
        if (same == missing.end() || !(*same->second == c)) return false;
        missing.erase(same);
    }
    return std::none_of(missing.begin(), missing.end(),
                        [&](const auto& one) { return !since || one.second->start >= *since; });
}

// The runs as they were, on what is known of before.
Result<std::optional<Restored>> follow(store::Store& store, std::optional<Restored> from,
                                       std::vector<engine::Cycle> cycles) {
    std::set<std::int64_t> ended;
    for (const engine::Cycle& c : cycles)
        ended.insert(c.id);
    engine::Follower follower(std::move(cycles));
    Runner runner;
    runner.follower = &follower;
    if (from) follower.go_on_from(from->state, from->last_wall);
    const std::int64_t seq = from ? from->last_seq : 0;
    runner.at = std::move(from);
    engine::StepResult ignored;
    const Status done = each_row(
        store, seq, [&](const store::InputRow& row) { return runner.apply(row, ignored); });
    if (!done) return done.error();
    if (!runner.at) return std::move(runner.at);
    Result<std::vector<store::OpenCycle>> open = store.open_cycles();
    if (!open) return open.error();
    for (const store::OpenCycle& mark : *open)
        if (!ended.contains(mark.id))
            engine::found_open(runner.at->setup, runner.at->state, mark.zone, mark.id, mark.start,
                               mark.planned_s, mark.reason);
    runner.at->followed = true;
    return std::move(runner.at);
}

// Holds what the replay gives against what the journal holds, by kind and in order.
template <class Row>
void compare(const char* what, const std::vector<Row>& written, const std::vector<Row>& again,
             Verdict& verdict) {
    constexpr std::size_t kMostDifferences = 10;
    const auto differs = [&](const std::string& text) {
        if (verdict.differences.size() < kMostDifferences) verdict.differences.push_back(text);
    };
    if (written.size() != again.size())
        differs("the journal holds " + std::to_string(written.size()) + " " + what +
                "s, the replay made " + std::to_string(again.size()));
    for (std::size_t i = 0; i < std::min(written.size(), again.size()); ++i)
        if (!(written[i] == again[i]))
            differs(std::string(what) + " " + std::to_string(i + 1) + " (zone " + written[i].zone +
                    ") came out differently");
}

} // namespace

Result<std::optional<Restored>> restore(store::Store& store) {
    Result<std::optional<store::Snapshot>> snapshot = store.latest_snapshot();
    if (!snapshot) return snapshot.error();
    std::optional<Restored> from;
    // A snapshot only saves time: one that this firstmow cannot read (written by an older one, say)
    // is passed over, and the whole journal is run again instead.
    if (*snapshot)
        if (Result<Restored> read = read_snapshot(**snapshot); read.ok()) from = std::move(*read);
    Runner runner;
    runner.at = from;
    std::vector<engine::Cycle> again;
    const Status done =
        each_row(store, from ? from->last_seq : 0, [&](const store::InputRow& row) -> Status {
            engine::StepResult result;
            if (const Status applied = runner.apply(row, result); !applied) return applied;
            for (const engine::Record& record : result.records)
                if (const auto* c = std::get_if<engine::Cycle>(&record)) again.push_back(*c);
            return Done{};
        });
    if (!done) return done.error();
    Result<std::vector<engine::Cycle>> written = store.cycles(everything());
    if (!written) return written.error();
    const auto since = from ? std::optional(from->last_wall) : std::nullopt;
    if (as_written(*written, again, since)) return std::move(runner.at);
    return follow(store, std::move(from), std::move(*written));
}

Status rerun(store::Store& store,
             const std::function<void(const engine::Moment&, const engine::StepResult&)>& on_step) {
    Runner runner;
    return each_row(store, 0, [&](const store::InputRow& row) -> Status {
        engine::StepResult result;
        if (const Status applied = runner.apply(row, result); !applied) return applied;
        on_step(row.at, result);
        return Done{};
    });
}

Result<Verdict> verify(store::Store& store) {
    Verdict verdict;
    std::vector<engine::Decision> decisions;
    std::vector<engine::Cycle> cycles;
    const Status ran = rerun(store, [&](const engine::Moment&, const engine::StepResult& result) {
        ++verdict.steps;
        for (const engine::Record& record : result.records) {
            if (const auto* d = std::get_if<engine::Decision>(&record)) decisions.push_back(*d);
            if (const auto* c = std::get_if<engine::Cycle>(&record)) cycles.push_back(*c);
        }
    });
    if (!ran) return ran.error();
    Result<std::vector<engine::Decision>> written = store.decisions(everything());
    if (!written) return written.error();
    Result<std::vector<engine::Cycle>> kept = store.cycles(everything());
    if (!kept) return kept.error();
    verdict.decisions = static_cast<std::int64_t>(written->size());
    verdict.cycles = static_cast<std::int64_t>(kept->size());
    keep_once(decisions);
    // The journal answers in the order of time; the replay gives them as they came.
    const auto by_time = [](const auto& time_of) {
        return [time_of](const auto& a, const auto& b) {
            return std::pair(time_of(a), a.zone) < std::pair(time_of(b), b.zone);
        };
    };
    const auto decided = by_time([](const engine::Decision& d) { return d.time; });
    const auto started = by_time([](const engine::Cycle& c) { return c.start; });
    std::stable_sort(decisions.begin(), decisions.end(), decided);
    std::stable_sort(written->begin(), written->end(), decided);
    std::stable_sort(cycles.begin(), cycles.end(), started);
    std::stable_sort(kept->begin(), kept->end(), started);
    compare("decision", *written, decisions, verdict);
    compare("cycle", *kept, cycles, verdict);
    return verdict;
}

} // namespace firstmow::journal
