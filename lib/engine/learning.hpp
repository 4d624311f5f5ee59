// How a zone's own factors are learned from what somebody saw. For the engine's own .cpp files
// only.
//
// The observation is compared with what the model has at this moment. How that hangs on each factor
// is found by running the last one or two days again (rerun.cpp) with the factor a little higher
// and a little lower, so the slopes are the model's own. The mathematics of the update stands in
// watering/estimate.hpp.
#pragma once

#include "engine/parts.hpp"

#include <algorithm>
#include <functional>
#include <string>
#include <vector>

namespace firstmow::engine {

// "it is now taken that it dries 8 % faster, gets 3 % less water a minute".
std::string changes(const watering::Factors& before, const watering::Factors& after);

// One observation of one zone. To begin is to have heard it: its cause counts as heard at this
// moment, and less so the sooner it came after the last (watering::report_weight).
class Learning {
public:
    Learning(Work& work, std::size_t zone, Cause cause);

    const std::string& name() const { return work_.setup.garden.zones[zone_].name; }
    double weight() const { return weight_; }
    ZoneRuntime& zone() { return z_; }
    // Later than the clock where the wall clock was set back.
    WallTime now() const { return std::max(work_.now.wall, work_.state.settled_until); }
    // Since the day that is remembered; empty when it is not.
    const std::vector<watering::HourDemand>& hours() const { return hours_; }
    // Whether the last days are remembered, so that the model can be asked.
    bool knows() const { return !hours_.empty() && now() > z_.past.at; }

    watering::ZoneSpec spec_of(const watering::Estimate& estimate) const;
    // The zone at `time`, not before the day that is remembered, had `spec` held since.
    watering::ZoneState state_at(const watering::ZoneSpec& spec, WallTime time) const;

    // What an observer sees in the zone now, and its slopes by three of the factors.
    using Look = std::function<double(const soil::Column&, const watering::ZoneState&)>;
    watering::Prediction predict(const Look& look) const;

    // Takes what was learned into the zone; `why` begins the sentence.
    void believe(const watering::Estimate& after, const std::string& why);

private:
    Work& work_;
    std::size_t zone_;
    Cause cause_;
    ZoneRuntime& z_;
    Heard heard_before_;
    double weight_ = 1;
    std::vector<watering::HourDemand> hours_;
};

} // namespace firstmow::engine
