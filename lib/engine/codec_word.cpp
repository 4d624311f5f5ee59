#include "engine/codec_word.hpp"

#include "engine/codec_budget.hpp"
#include "engine/codec_learned.hpp"

namespace firstmow::engine {

Json word_json(const std::optional<LastWord>& word, int layers) {
    if (!word) return nullptr;
    const LastWord& w = *word;
    return {{"what", static_cast<int>(w.what)},
            {"number", w.number},
            {"at", to_json_value(w.at)},
            {"run_s", w.run_s},
            {"seen", turf::key(w.seen)},
            {"hold_until", optional_json(w.hold_until)},
            {"mow_at", optional_json(w.mow_at)},
            {"mow_said", optional_json(w.mow_said)},
            {"lock_since", w.lock ? to_json_value(w.lock->since) : Json(nullptr)},
            {"lock_why", w.lock ? w.lock->why : ""},
            {"ordered_s", w.ordered_s},
            {"ordered_until", to_json_value(w.ordered_until)},
            {"not_before", to_json_value(w.not_before)},
            {"not_before_after", to_json_value(w.not_before_after)},
            {"owed_s", w.owed_s},
            {"reported_dry", w.reported_dry},
            {"advised", w.advised},
            {"past", w.past ? past_json(*w.past, layers) : Json(nullptr)},
            {"estimate", estimate_json(w.estimate)},
            {"estimate_after", estimate_json(w.estimate_after)},
            {"heard", heard_json(w.heard)}};
}

std::optional<LastWord> read_word(Reader& r, const Json& zone, int layers) {
    if (!Reader::has(zone, "word") || r.at(zone, "word").is_null()) return std::nullopt;
    const Json& j = r.at(zone, "word");
    LastWord w;
    w.what = r.choice(j, "what", LastWord::What::mow);
    w.number = r.integer(j, "number");
    w.at = r.time(j, "at");
    w.run_s = static_cast<int>(r.integer(j, "run_s"));
    const auto seen = turf::observation_by_key(r.text(j, "seen"));
    if (!seen) r.fail("'seen' names no observation");
    w.seen = seen.value_or(turf::ObservationKind{});
    w.hold_until = r.maybe_time(j, "hold_until");
    if (Reader::has(j, "mow_at")) w.mow_at = r.maybe_time(j, "mow_at");
    if (Reader::has(j, "mow_said")) w.mow_said = r.maybe_time(j, "mow_said");
    if (const auto since = r.maybe_time(j, "lock_since"))
        w.lock = Latch{*since, r.text(j, "lock_why")};
    w.ordered_s = static_cast<int>(r.integer(j, "ordered_s"));
    w.ordered_until = r.time(j, "ordered_until");
    w.not_before = r.time(j, "not_before");
    w.not_before_after = r.time(j, "not_before_after");
    w.owed_s = static_cast<int>(r.integer(j, "owed_s"));
    w.reported_dry = r.boolean(j, "reported_dry");
    w.advised = static_cast<unsigned>(r.integer(j, "advised"));
    if (!r.at(j, "past").is_null()) w.past = read_past(r, r.at(j, "past"), layers);
    w.estimate = read_estimate(r, r.at(j, "estimate"));
    w.estimate_after = read_estimate(r, r.at(j, "estimate_after"));
    w.heard = read_heard(r, j, "heard");
    return w;
}

} // namespace firstmow::engine
