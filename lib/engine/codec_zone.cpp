#include "engine/codec_zone.hpp"

#include "engine/codec_budget.hpp"
#include "engine/codec_guards.hpp"
#include "engine/codec_learned.hpp"
#include "engine/codec_word.hpp"

namespace firstmow::engine {

namespace {

Json open_json(const OpenCycle& c) {
    return {{"stage", static_cast<int>(c.stage)},
            {"id", c.id},
            {"planned_s", c.planned_s},
            {"reason", c.reason},
            {"wall_start", to_json_value(c.wall_start)},
            {"mono_start_ms", c.mono_start.time_since_epoch().count()},
            {"asked_ms", c.asked.time_since_epoch().count()},
            {"outcome", static_cast<int>(c.outcome)}};
}

std::optional<OpenCycle> read_open(Reader& r, const Json& j) {
    if (j.is_null()) return std::nullopt;
    OpenCycle c;
    c.stage = r.choice(j, "stage", OpenCycle::Stage::priming);
    c.id = r.integer(j, "id");
    c.planned_s = static_cast<int>(r.integer(j, "planned_s"));
    c.reason = r.text(j, "reason");
    c.wall_start = r.time(j, "wall_start");
    c.mono_start = MonoTime{Millis{r.integer(j, "mono_start_ms")}};
    c.asked = MonoTime{Millis{r.integer(j, "asked_ms")}};
    c.outcome = r.choice(j, "outcome", Outcome::failed);
    return c;
}
} // namespace

Json zone_json(const std::string& id, const ZoneRuntime& z, int layers) {
    Json applied = Json::array();
    for (const Applied& a : z.applied)
        applied.push_back({{"from", to_json_value(a.from)}, {"to", optional_json(a.to)}});
    return {{"id", id},
            {"settled", budget_json(z.settled, layers)},
            {"estimate", estimate_json(z.estimate)},
            {"heard", heard_json(z.heard)},
            {"corrections", corrections_json(z.corrections)},
            {"past", past_json(z.past, layers)},
            {"newer", past_json(z.newer, layers)},
            {"applied_later_mm", z.applied_later_mm},
            {"since_line", flows_json(z.since_line)},
            {"applied", std::move(applied)},
            {"open", z.open ? open_json(*z.open) : Json(nullptr)},
            {"ordered_s", z.ordered_s},
            {"ordered_until", to_json_value(z.ordered_until)},
            {"hold_until", optional_json(z.hold_until)},
            {"mow_at", optional_json(z.mow_at)},
            {"last_wetted", optional_json(z.last_wetted)},
            {"dried_mm", z.dried_mm},
            {"soaked", z.soaked},
            {"reported_dry", z.reported_dry},
            {"owed_s", z.owed_s},
            {"not_before", to_json_value(z.not_before)},
            {"advised", z.advised},
            {"faults", z.faults},
            {"warned_dry", optional_json(z.warned_dry)},
            {"warned_until", to_json_value(z.warned_until)},
            {"warned_dry_s", z.warned_dry_s},
            {"warned_stake", z.warned_stake},
            {"next_start", optional_json(z.next_start)},
            {"next_run_s", z.next_run_s},
            {"next_reason", z.next_reason},
            {"explanation", z.explanation},
            {"verdict", static_cast<int>(z.verdict)},
            {"day", z.day.ok() ? to_unix(WallTime{std::chrono::sys_days{z.day}}) : 0},
            {"day_mm", z.day_mm},
            {"day_l", z.day_l},
            {"guard", guard_json(z.guard)},
            {"word", word_json(z.word, layers)}};
}

ZoneRuntime read_zone(Reader& r, const Json& j, int layers) {
    ZoneRuntime z;
    z.settled = read_budget(r, r.at(j, "settled"), layers);
    z.estimate = read_estimate(r, r.at(j, "estimate"));
    z.heard = read_heard(r, j, "heard");
    z.corrections = read_corrections(r, j);
    z.past = read_past(r, r.at(j, "past"), layers);
    z.newer = read_past(r, r.at(j, "newer"), layers);
    z.applied_later_mm = r.number(j, "applied_later_mm");
    z.since_line = read_flows(r, j, "since_line");
    for (const Json& a : r.list(j, "applied"))
        z.applied.push_back({r.time(a, "from"), r.maybe_time(a, "to")});
    z.open = read_open(r, r.at(j, "open"));
    z.ordered_s = static_cast<int>(r.integer(j, "ordered_s"));
    z.ordered_until = r.time(j, "ordered_until");
    z.hold_until = r.maybe_time(j, "hold_until");
    if (Reader::has(j, "mow_at")) z.mow_at = r.maybe_time(j, "mow_at");
    z.last_wetted = r.maybe_time(j, "last_wetted");
    z.dried_mm = r.number(j, "dried_mm");
    z.soaked = r.boolean(j, "soaked");
    z.reported_dry = r.boolean(j, "reported_dry");
    z.owed_s = static_cast<int>(r.integer(j, "owed_s"));
    z.not_before = r.time(j, "not_before");
    z.advised = static_cast<unsigned>(r.integer(j, "advised"));
    z.faults = static_cast<int>(r.integer(j, "faults"));
    z.warned_dry = r.maybe_time(j, "warned_dry");
    // Older snapshots lack what the notice spoke of: it is then told once more at the most.
    if (j.is_object() && j.contains("warned_until")) {
        z.warned_until = r.time(j, "warned_until");
        z.warned_dry_s = static_cast<int>(r.integer(j, "warned_dry_s"));
        z.warned_stake = static_cast<int>(r.integer(j, "warned_stake"));
    }
    z.next_start = r.maybe_time(j, "next_start");
    z.next_run_s = static_cast<int>(r.integer(j, "next_run_s"));
    z.next_reason = r.text(j, "next_reason");
    z.explanation = r.text(j, "explanation");
    z.verdict = r.choice(j, "verdict", Verdict::withhold);
    const std::int64_t day = r.integer(j, "day");
    if (day != 0) z.day = Date{std::chrono::floor<std::chrono::days>(wall_from_unix(day))};
    z.day_mm = r.number(j, "day_mm");
    z.day_l = r.number(j, "day_l");
    z.guard = read_guard(r, j);
    z.word = read_word(r, j, layers);
    return z;
}

} // namespace firstmow::engine
