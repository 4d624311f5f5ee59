#include "watering/shortfall.hpp"

#include <algorithm>

namespace firstmow::watering {

namespace {

// A spell shorter than this is within what the model errs by.
constexpr Seconds kWorthSaying{1200};
constexpr Seconds kStep{900};

Obstacle obstacle_of(const PlanContext& context, const ZoneTask& task, const ZonePlan& plan) {
    if (plan.reason == Reason::on_hold) return Obstacle::hold;
    if (plan.reason == Reason::frost) return Obstacle::frost;
    if (plan.reason == Reason::tap_busy) return Obstacle::tap;
    if (plan.reason == Reason::outside_hours || !plan.start) return Obstacle::hours;
    // The run is late: what lies between the moment at which it is dry and its start?
    if (task.not_before >= *plan.start && task.not_before > context.now) return Obstacle::rest;
    const WallTime from = std::max({*plan.dry_at, context.now, task.not_before});
    const auto open =
        open_spans(context.garden->supply, *context.timezone, context.garden->site.place,
                   task.needs.before_sunset, from, *plan.start);
    Seconds could{0};
    for (const Span& span : open)
        could += span.to - span.from;
    if (could < Seconds{task.zone->shortest_run_s}) return Obstacle::hours;
    for (const HourDemand& hour : context.hours)
        if (hour.start >= from && hour.start < *plan.start &&
            hour.air_temp_c <= context.garden->interlocks.frost_c)
            return Obstacle::frost;
    return Obstacle::tap;
}

} // namespace

std::string_view key(AtStake stake) {
    switch (stake) {
    case AtStake::looks:
        return "looks";
    case AtStake::time:
        return "time";
    case AtStake::growth:
        return "growth";
    case AtStake::stand:
        return "stand";
    }
    return "";
}

std::string_view words(AtStake stake) {
    switch (stake) {
    case AtStake::looks:
        return "it will wilt and come again";
    case AtStake::time:
        return "the seed only waits meanwhile";
    case AtStake::growth:
        return "it sets the young grass back";
    case AtStake::stand:
        return "drying kills what has sprouted";
    }
    return "";
}

AtStake at_stake(const turf::Progress& progress) {
    switch (progress.phase) {
    case turf::Phase::mature:
        return AtStake::looks;
    case turf::Phase::rooting:
    case turf::Phase::post_first_mow:
        return AtStake::growth;
    case turf::Phase::pre_germination:
    case turf::Phase::emergence:
    case turf::Phase::seedling:
        break;
    }
    const bool exposed =
        std::any_of(progress.species.begin(), progress.species.end(), [](const auto& species) {
            return turf::danger_of(species) == turf::Danger::radicle_out;
        });
    if (exposed || turf::drying_kills(progress)) return AtStake::stand;
    return progress.phase == turf::Phase::pre_germination ? AtStake::time : AtStake::growth;
}

double weight(AtStake stake) {
    switch (stake) {
    case AtStake::looks:
        return 0.5;
    case AtStake::time:
        return 1.5;
    case AtStake::growth:
        return 2;
    case AtStake::stand:
        return 9;
    }
    return 0;
}

Prudence prudence_of(AtStake stake) {
    // w (1 - p) = p.
    const double rain_from = weight(stake) / (1 + weight(stake));
    switch (stake) {
    case AtStake::looks:
        return {rain_from, 0.5};
    case AtStake::time:
    case AtStake::growth:
        return {rain_from, 1.5};
    case AtStake::stand:
        return {rain_from, 2};
    }
    return {};
}

std::string_view key(Obstacle obstacle) {
    switch (obstacle) {
    case Obstacle::hours:
        return "hours";
    case Obstacle::tap:
        return "tap";
    case Obstacle::frost:
        return "frost";
    case Obstacle::rest:
        return "rest";
    case Obstacle::hold:
        return "hold";
    }
    return "";
}

std::optional<DrySpell> dry_spell(const PlanContext& context, const ZoneTask& task,
                                  const ZonePlan& plan) {
    const bool first = plan.reason == Reason::first_soak || plan.reason == Reason::rest_of_run;
    const bool needed = plan.late || plan.verdict == ZonePlan::Verdict::withhold;
    if (!needed || first || !task.under_way || !plan.dry_at) return std::nullopt;
    // By the need itself, without the planner's caution: what is said shall be so.
    const DryTest test = dry_test(*task.spec, task.state.progress, task.needs);
    Outlook o = look(*task.spec, task.state, test, context.now);
    if (task.open_until) pass(o, context.hours, *task.open_until, true);
    const WallTime end = std::min(plan.start.value_or(plan.looked_until), plan.looked_until);
    DrySpell spell;
    while (o.at < end) {
        const WallTime before = o.at;
        pass(o, context.hours, std::min(end, before + kStep), false);
        if (o.at == before) break; // the hours are at their end
        if (!is_dry(o, test)) continue;
        const WallTime since = std::min(std::max(before, *plan.dry_at), o.at);
        if (spell.dry == Seconds{0}) spell.from = since;
        spell.until = o.at;
        spell.dry += o.at - since;
        spell.lowest_kpa = std::min(spell.lowest_kpa, judged_kpa(o, test));
        if (test.layer == DryTest::Layer::root_zone)
            spell.most_used = std::max(spell.most_used, used_share(o, test));
    }
    if (spell.dry < kWorthSaying) return std::nullopt;
    spell.obstacle = obstacle_of(context, task, plan);
    return spell;
}

bool banned_at_midday(const garden::Supply& supply) {
    constexpr int kFrom = 10 * 3600;
    constexpr int kTo = 18 * 3600;
    int at = kFrom;
    int longest = 0;
    bool before = false;
    bool after = false;
    for (const garden::HoursOfDay& hours : supply.hours) {
        before = before || hours.from_s < kFrom;
        after = after || hours.to_s > kFrom + 3 * 3600;
        longest = std::max(longest, std::min(hours.from_s, kTo) - at);
        at = std::max(at, hours.to_s);
    }
    return before && after && longest >= 3 * 3600;
}

} // namespace firstmow::watering
