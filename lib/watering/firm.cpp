#include "watering/firm.hpp"

#include "watering/explain.hpp"
#include "watering/sizer.hpp"

#include <algorithm>

namespace firstmow::watering {

namespace {

constexpr Seconds kLookAround{48 * 3600};
constexpr Seconds kSoak{1800}; // between the parts of a run that is split
// The tap may be taken by another zone for a while: begun this much sooner than need be.
constexpr Seconds kSlack{1800};

class Firm {
public:
    Firm(const PlanContext& context, const ZoneTask& task, WallTime mow_at)
        : context_(context),
          task_(task),
          span_(firm_for(task.needs, mow_at)),
          test_(dry_test(*task.spec, task.state.progress, task.needs)),
          // The hours without those of the mow: a run before them is sized to last over them.
          open_(before_and_after()),
          sizer_(context, task, test_, open_),
          earliest_(std::max(context.now, task.not_before)) {
        if (task.open_until) earliest_ = std::max(earliest_, *task.open_until);
        if (task.hold_until) earliest_ = std::max(earliest_, *task.hold_until);
        if (task.bar && task.bar->until) earliest_ = std::max(earliest_, *task.bar->until);
    }

    bool touches(const ZonePlan& plan) const {
        return plan.start && *plan.start<span_.to&& * plan.start + length(plan)> span_.from;
    }
    bool sooner(ZonePlan& plan) const {
        for (auto span = open_.rbegin(); span != open_.rend(); ++span) {
            if (span->from >= span_.from) continue;
            // Sized where it would be at the latest, then again where there is room for all of it.
            const Size guess = size(std::max(span->to - kSlack, earliest_));
            const WallTime start = span->to - kSlack - whole(guess);
            if (start < std::max(span->from, earliest_)) continue;
            put(plan, start, size(start));
            return true;
        }
        // Not all of it fits any more: what does, at once.
        const Span* here = span_at(open_, earliest_);
        if (here == nullptr || here->from >= span_.from) return false;
        Size some = size(earliest_);
        some.first_s = std::min(some.first_s, static_cast<int>((here->to - earliest_).count()));
        if (some.first_s < task_.zone->shortest_run_s) return false;
        some.total_s = some.first_s;
        put(plan, earliest_, some);
        return true;
    }
    // Where the top must stay damp nothing waits.
    bool later(ZonePlan& plan) const {
        if (!task_.needs.judge_root_zone && (!plan.dry_at || *plan.dry_at < span_.to)) return false;
        for (const Span& span : open_) {
            const WallTime start = std::max(span.from, earliest_);
            if (start < span_.to || start >= span.to) continue;
            put(plan, start, size(start));
            return true;
        }
        return false;
    }

private:
    std::vector<Span> before_and_after() const {
        std::vector<Span> kept;
        for (const Span& span :
             open_spans(context_.garden->supply, *context_.timezone, context_.garden->site.place,
                        task_.needs.before_sunset, context_.now, span_.to + kLookAround)) {
            const Span before{span.from, std::min(span.to, span_.from)};
            const Span after{std::max(span.from, span_.to), span.to};
            if (before.from < before.to) kept.push_back(before);
            if (after.from < after.to) kept.push_back(after);
        }
        return kept;
    }
    static Seconds length(const ZonePlan& plan) {
        return Seconds{plan.run_s + plan.owed_s} + (plan.owed_s > 0 ? kSoak : Seconds{0});
    }
    Size size(WallTime start) const {
        Size size =
            test_.layer == DryTest::Layer::root_zone ? sizer_.deep(start) : sizer_.damp(start);
        size.first_s = std::max(size.first_s, task_.zone->shortest_run_s);
        size.total_s = std::max(size.total_s, size.first_s);
        return size;
    }
    static Seconds whole(const Size& size) {
        const int parts = (size.total_s + size.first_s - 1) / size.first_s;
        return Seconds{size.total_s} + (parts - 1) * kSoak;
    }
    void put(ZonePlan& plan, WallTime start, const Size& size) const {
        plan.verdict = ZonePlan::Verdict::run;
        plan.start = start;
        plan.run_s = size.first_s;
        plan.owed_s = size.total_s - size.first_s;
        if (plan.owed_s < task_.zone->shortest_run_s) plan.owed_s = 0;
        plan.late = plan.dry_at && start > *plan.dry_at;
    }

    const PlanContext& context_;
    const ZoneTask& task_;
    Span span_;
    DryTest test_;
    std::vector<Span> open_;
    Sizer sizer_;
    WallTime earliest_;
};

} // namespace

Span firm_for(const turf::Needs& needs, WallTime mow_at) {
    return {mow_at - (needs.judge_root_zone ? kFirmBefore : kFirmBeforeDamp), mow_at + kMowTakes};
}

FirmPlan keep_firm(const PlanContext& context, const ZoneTask& task, WallTime mow_at,
                   ZonePlan plan) {
    FirmPlan firm{std::move(plan), ForMow::nothing};
    const bool asked_for = firm.plan.reason == Reason::reported_dry;
    if (!task.under_way || asked_for || firm.plan.verdict != ZonePlan::Verdict::run) return firm;
    const Firm way(context, task, mow_at);
    if (!way.touches(firm.plan)) return firm;
    if (way.sooner(firm.plan))
        firm.did = ForMow::sooner;
    else if (way.later(firm.plan))
        firm.did = ForMow::later;
    else
        firm.did = ForMow::damp;
    return firm;
}

std::string explain_mow(const FirmPlan& firm, const ZoneTask& task, WallTime mow_at,
                        const TimeZone& local, WallTime now) {
    const auto clock = [&](WallTime t) { return clock_words(t, local, now); };
    const Span span = firm_for(task.needs, mow_at);
    const std::string mow = "it is to be mown at " + clock(mow_at);
    const std::string firm_until =
        mow + " on firm ground, so no water from " + clock(span.from) + " until that is done";
    const std::string run = "Runs " + duration_words(firm.plan.run_s) + " at " +
                            (firm.plan.start ? clock(*firm.plan.start) : std::string()) + ": ";
    switch (firm.did) {
    case ForMow::sooner:
        return run + firm_until + "; what would be due in those hours comes before." +
               (firm.plan.owed_s > 0
                    ? " " + duration_words(firm.plan.owed_s) + " more follow after a soak."
                    : "");
    case ForMow::later:
        return run + firm_until + ".";
    case ForMow::damp:
        return explain(firm.plan, task, local, now) + " For that " + mow +
               " would be better on firm ground, but the seedbed must not dry.";
    case ForMow::nothing:
        break;
    }
    return explain(firm.plan, task, local, now);
}

} // namespace firstmow::watering
