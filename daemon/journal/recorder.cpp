#include "journal/recorder.hpp"

#include "engine/codec.hpp"
#include "journal/body.hpp"

namespace firstmow::journal {

store::Step Recorder::garden(const engine::Moment& now, const GardenText& text,
                             const engine::Setup& setup, const engine::State& state) {
    store::Step step;
    step.inputs.push_back({++seq_, now, std::string(kGardenRow), encode_garden(text)});
    step.snapshot = snapshot(now.wall, text, setup, state);
    return step;
}

store::Step Recorder::step(const engine::Moment& now, std::span<const engine::Input> inputs,
                           engine::StepResult result, const engine::Setup& setup,
                           const engine::State& state) {
    store::Step step;
    step.inputs.push_back({++seq_, now, std::string(kStepRow), engine::encode_inputs(inputs)});
    step.records = std::move(result.records);
    for (std::size_t i = 0; i < state.zones.size(); ++i) {
        const std::string& id = setup.garden.zones[i].id;
        const auto& open = state.zones[i].open;
        const auto marked = marked_.find(id);
        // A run that a person lengthened is marked anew.
        if (open &&
            (marked == marked_.end() || marked->second != Mark{open->id, open->planned_s})) {
            step.opened.push_back({id, open->id, open->wall_start, open->planned_s, open->reason});
            marked_[id] = {open->id, open->planned_s};
        } else if (!open && marked != marked_.end()) {
            marked_.erase(marked); // its Cycle among the records takes the mark away
        }
    }
    return step;
}

store::Snapshot Recorder::snapshot(WallTime now, const GardenText& text, const engine::Setup& setup,
                                   const engine::State& state) const {
    return {seq_, now, encode_snapshot(text, engine::encode_state(setup, state))};
}

} // namespace firstmow::journal
