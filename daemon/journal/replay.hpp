// Taking a run up again from its journal, and re-running it to see that it comes out the same.
#pragma once

#include "journal/recorder.hpp"

#include <functional>
#include <optional>

namespace firstmow::journal {

// The engine as the journal left it.
struct Restored {
    GardenText garden;
    engine::Setup setup;
    engine::State state;
    std::int64_t last_seq = 0;
    WallTime last_wall;    // of the last entry
    bool followed = false; // see restore()
};

// From the latest snapshot and the steps after it; from the first row when that snapshot cannot be
// read. Where the runs do not come out again as they were (another firstmow wrote the journal) they
// are taken as they were instead, see engine/follow.hpp: `followed`. Nothing when the journal is
// empty.
Result<std::optional<Restored>> restore(store::Store& store);

// What a verified replay found.
struct Verdict {
    std::int64_t steps = 0;
    std::int64_t decisions = 0;
    std::int64_t cycles = 0;
    std::vector<std::string> differences; // the first few, one sentence each
    bool same() const { return differences.empty(); }
};

// Re-runs the whole journal from its first row and compares every decision and cycle with those
// that were written.
Result<Verdict> verify(store::Store& store);

// Re-runs the journal; `on_step` hears of every step.
Status rerun(store::Store& store,
             const std::function<void(const engine::Moment&, const engine::StepResult&)>& on_step);

} // namespace firstmow::journal
