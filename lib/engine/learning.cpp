#include "engine/learning.hpp"

#include "base/check.hpp"
#include "base/text.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace firstmow::engine {

namespace {

using watering::Estimate;
using watering::Factors;
using watering::Prediction;
using watering::Unknown;

constexpr std::size_t kMostUndoable = 8;
// Smaller changes are believed without a word.
constexpr double kNotable = 0.01;
// Half the distance between the two runs that give a slope, in logarithms.
constexpr double kNudge = 0.1;

std::string percent(double ratio) {
    return fixed(std::abs(ratio - 1) * 100, 0) + " %";
}

double largest_change(const Factors& a, const Factors& b) {
    return std::max(
        {std::abs(std::log(a.evaporation / b.evaporation)), std::abs(std::log(a.rate / b.rate)),
         std::abs(std::log(a.uniformity / b.uniformity)), std::abs(std::log(a.intake / b.intake))});
}

} // namespace

std::string changes(const Factors& before, const Factors& after) {
    struct Change {
        double ratio;
        const char* verb;
        const char* more;
        const char* less;
    };
    const Change all[] = {
        {after.evaporation / before.evaporation, "dries ", " faster", " more slowly"},
        {after.rate / before.rate, "gets ", " more water a minute", " less water a minute"},
        {after.uniformity / before.uniformity, "is watered ", " more evenly", " less evenly"},
        {after.intake / before.intake, "takes in ", " more at a time", " less at a time"}};
    std::string text;
    for (const Change& c : all) {
        if (std::abs(c.ratio - 1) < 0.005) continue;
        text += text.empty() ? "" : ", ";
        text += c.verb + percent(c.ratio) + (c.ratio > 1 ? c.more : c.less);
    }
    return text.empty() ? "nothing changes" : "it is now taken that it " + text;
}

Learning::Learning(Work& work, std::size_t zone, Cause cause)
    : work_(work), zone_(zone), cause_(cause), z_(work.state.zones[zone]) {
    CHECK(static_cast<std::size_t>(cause) < kCausesHeard);
    heard_before_ = z_.heard;
    auto& last = z_.heard[static_cast<std::size_t>(cause)];
    std::optional<Seconds> since;
    if (last) since = work.now.wall - *last;
    weight_ = watering::report_weight(since);
    last = work.now.wall;
    if (work.state.begun)
        if (auto hours = hours_since(work.setup, work.state, z_.past, work.now.wall))
            hours_ = std::move(*hours);
}

watering::ZoneSpec Learning::spec_of(const Estimate& estimate) const {
    return watering::corrected(work_.setup.specs[zone_], watering::factors(estimate));
}

watering::ZoneState Learning::state_at(const watering::ZoneSpec& spec, WallTime time) const {
    watering::ZoneState at = z_.past.zone;
    soil::Flows flows;
    run_again(spec, at, hours_, z_.applied, z_.past.at, time, flows);
    return at;
}

Prediction Learning::predict(const Look& look) const {
    const auto seen = [&](const Estimate& e) {
        const watering::ZoneSpec spec = spec_of(e);
        return look(spec.column, state_at(spec, now()));
    };
    Prediction p;
    p.value = seen(z_.estimate);
    for (const Unknown unknown : {Unknown::evaporation, Unknown::rate, Unknown::uniformity}) {
        Estimate more = z_.estimate;
        Estimate less = z_.estimate;
        more.mean[watering::at(unknown)] += kNudge;
        less.mean[watering::at(unknown)] -= kNudge;
        p.slope[watering::at(unknown)] = (seen(more) - seen(less)) / (2 * kNudge);
    }
    return p;
}

void Learning::believe(const Estimate& after, const std::string& why) {
    const Factors before = watering::factors(z_.estimate);
    const Factors now_factors = watering::factors(after);
    const double change = largest_change(before, now_factors);
    if (change >= kNotable) {
        Correction c;
        c.time = work_.now.wall;
        c.zone = work_.setup.garden.zones[zone_].id;
        c.cause = cause_;
        c.before = before;
        c.after = now_factors;
        c.why = why + ": " + changes(before, now_factors) + ".";
        z_.corrections.push_back({c, z_.estimate, heard_before_});
        if (z_.corrections.size() > kMostUndoable) z_.corrections.erase(z_.corrections.begin());
        work_.notify(c.zone, Severity::note, "correction", c.why);
        work_.record(std::move(c));
    }
    z_.estimate = after;
    if (change > 0) settle_again(work_, zone_);
    work_.replan = true;
}

} // namespace firstmow::engine
