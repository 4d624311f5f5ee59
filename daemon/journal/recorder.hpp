// Writing a run of the engine down.
//
// The journal's inputs are rows of two kinds: "garden" (a garden file came into force: its text and
// its time zone) and "step" (one call of engine::step: when, and with what). Re-running them in
// order gives every decision again, bit for bit; snapshots let a start skip what lies before them.
#pragma once

#include "engine/engine.hpp"
#include "store/store.hpp"

#include <cstdint>
#include <map>
#include <string>

namespace firstmow::journal {

inline constexpr std::string_view kGardenRow = "garden";
inline constexpr std::string_view kStepRow = "step";

// A garden as the journal keeps it.
struct GardenText {
    std::string toml;
    TimeZone timezone;
};

class Recorder {
public:
    // Rows are numbered from `last_seq` + 1 on.
    explicit Recorder(std::int64_t last_seq) : seq_(last_seq) {}

    // A garden came into force; `state` is the state under it.
    store::Step garden(const engine::Moment& now, const GardenText& text,
                       const engine::Setup& setup, const engine::State& state);
    // A step was taken; `state` is the state after it.
    store::Step step(const engine::Moment& now, std::span<const engine::Input> inputs,
                     engine::StepResult result, const engine::Setup& setup,
                     const engine::State& state);
    store::Snapshot snapshot(WallTime now, const GardenText& text, const engine::Setup& setup,
                             const engine::State& state) const;

    std::int64_t last_seq() const { return seq_; }

private:
    std::int64_t seq_;
    struct Mark {
        std::int64_t id = 0;
        int planned_s = 0;
        bool operator==(const Mark&) const = default;
    };
    std::map<std::string, Mark> marked_; // open cycles that the journal knows, by zone
};

} // namespace firstmow::journal
