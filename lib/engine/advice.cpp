// What a person should do next for the grass, said once when its time comes.
#include "engine/growth.hpp"
#include "engine/parts.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::engine {

namespace {

// Bits of ZoneRuntime::advised. New ones go at the end: snapshots hold them as a number.
enum Advice : unsigned {
    mow_standing = 1U << 0U,
    mow_first = 1U << 1U,
    tug = 1U << 2U,
    look_for_green = 1U << 3U,
    too_cold = 1U << 4U,
    lost_a_tenth = 1U << 5U,
    lost_a_third = 1U << 6U,
    lost_half = 1U << 7U,
    may_walk = 1U << 8U,
};

// Sod knits in 14 days of good growth; the first tug is worth a try after ten (extension services:
// tug test at 10-14 d).
constexpr double kFirstTugPct = 70;

class Adviser {
public:
    Adviser(Work& work, std::size_t zone)
        : work_(work),
          zone_(work.setup.garden.zones[zone]),
          runtime_(work.state.zones[zone]),
          progress_(runtime_.settled.progress) {}

    void advise() {
        if (progress_.method == turf::Method::none || !turf::under_way(progress_, work_.now.wall))
            return;
        warmth();
        green();
        losses();
        mowing();
        rooting();
        walking();
    }

private:
    // Says it the first time that `is` holds; it may be said again once it has not held.
    template <class Text>
    void say(Advice what, bool is, Severity severity, const char* code, const Text& text) {
        if (!is) runtime_.advised &= ~static_cast<unsigned>(what);
        say_once(what, is, severity, code, text);
    }
    template <class Text>
    void say_once(Advice what, bool is, Severity severity, const char* code, const Text& text) {
        if (!is || (runtime_.advised & what) != 0) return;
        runtime_.advised |= what;
        work_.notify(zone_.id, severity, code, text());
    }

    void warmth() {
        if (progress_.phase != turf::Phase::pre_germination || !progress_.soil_mean_c) return;
        if (work_.now.wall - *progress_.sown < std::chrono::days{3}) return;
        std::string names;
        double base_c = 0;
        for (const turf::SpeciesProgress& species : progress_.species) {
            const turf::SpeciesTraits& kind = turf::traits(species.species);
            if (*progress_.soil_mean_c > kind.base_temp_c + 1) continue;
            names += (names.empty() ? "" : " and ") + std::string(kind.name);
            base_c = std::max(base_c, kind.base_temp_c);
        }
        say(too_cold, !names.empty(), Severity::warning, "too_cold_to_germinate", [&] {
            return "The seedbed of " + zone_.name + " has " + fixed(*progress_.soil_mean_c, 0) +
                   " C: " + names + " does not germinate below " + fixed(base_c, 0) +
                   " C and lies until it is warmer; seed that cannot sprout is not kept damp.";
        });
    }

    void green() {
        const bool due = !progress_.seedlings_seen && !progress_.all_up &&
                         std::ranges::any_of(progress_.species, [](const auto& species) {
                             return species.first_green.has_value();
                         });
        say_once(look_for_green, due, Severity::note, "look_for_green", [&] {
            return "The first seedlings of " + zone_.name +
                   " should show now: look closely and report what you see, also when it is "
                   "nothing yet; the dates are learned from it.";
        });
    }

    void losses() {
        const turf::Stand stand = turf::stand_of(progress_);
        const double lost = 1 - stand.alive_driest_quarter;
        const auto say_lost = [&](Advice what, const char* then) {
            say_once(what, true, Severity::warning, "stand_lost", [&] {
                return "In the driest quarter of " + zone_.name + " about " + fixed(100 * lost, 0) +
                       " % of the seed has died of drought after it had sprouted, or was washed "
                       "away (" +
                       fixed(100 * (1 - stand.alive), 0) + " % over the whole zone): " + then;
            });
        };
        if (lost >= 0.5)
            say_lost(lost_half, "sow again there.");
        else if (lost >= 0.33)
            say_lost(lost_a_third, "it will be thin, sow a little again there.");
        else if (lost >= 0.1)
            say_lost(lost_a_tenth, "a stand closes over that.");
    }

    void mowing() {
        const turf::MowAdvice advice = turf::mow_advice(progress_);
        const char* const firm =
            " Say when you will mow, and the water keeps clear of it so that the soil is firm; "
            "sharp blade, light mower, few and wide turns.";
        say(mow_standing, advice.due == turf::Mow::standing_turf, Severity::note,
            "mow_standing_turf", [&] {
                return "The standing turf of " + zone_.name +
                       " shades the seedlings: mow it lightly, not below " +
                       height_words(advice.cut_to_mm) + ", clippings off." + firm +
                       " Then report it as mown.";
            });
        say_once(mow_first, advice.due == turf::Mow::first, Severity::note, "first_mow_due", [&] {
            return "The grass of " + zone_.name +
                   " is ready for its first mow: when most of it stands at " +
                   height_words(advice.when_tall_mm) + ", cut it to " +
                   height_words(advice.cut_to_mm) + ", never more than a third." + firm +
                   " Then report the first mow, and the water is drawn back.";
        });
    }

    void rooting() {
        const bool due = progress_.phase == turf::Phase::rooting &&
                         turf::progress_pct(progress_) >= kFirstTugPct;
        say_once(tug, due, Severity::note, "tug_test", [&] {
            return "Pull at a corner of the sod of " + zone_.name +
                   ": when it resists, report it as rooted, and the water is drawn back.";
        });
    }

    void walking() {
        const bool sod = progress_.method == turf::Method::sod;
        const int days = sod ? turf::kKeepOffSodDays : turf::kLightUseAfterDays;
        const bool due = work_.now.wall >= *progress_.sown + std::chrono::days{days} &&
                         (sod ? progress_.rooted.has_value() : progress_.first_mow.has_value());
        say_once(may_walk, due, Severity::note, "light_use", [&] {
            return zone_.name + (sod ? " has lain for three weeks and may be walked on."
                                     : " is nine weeks old and bears light use; play and parties "
                                       "next year.");
        });
    }

    Work& work_;
    const garden::Zone& zone_;
    ZoneRuntime& runtime_;
    const turf::Progress& progress_;
};

std::string speed_words(double slowness) {
    const double off = slowness - 1;
    if (std::abs(off) < 0.01) return "as quick as the book";
    return fixed(100 * std::abs(off), 0) + " % " + (off > 0 ? "slower" : "quicker") +
           " than the book";
}

} // namespace

void advise(Work& work) {
    for (std::size_t i = 0; i < work.zone_count(); ++i)
        Adviser(work, i).advise();
}

void note_lesson(Work& work, std::size_t zone, turf::ObservationKind kind,
                 const turf::Progress& before, const turf::Prospect& expected) {
    const garden::Zone& is = work.setup.garden.zones[zone];
    const turf::Progress& after = work.state.zones[zone].settled.progress;
    if (before.method == turf::Method::none || !turf::under_way(before, work.now.wall)) return;
    if (kind == turf::ObservationKind::seedlings_seen && !after.seedlings_seen &&
        before.method != turf::Method::sod) {
        work.notify(
            is.id, Severity::note, "green_too_soon",
            "Green was reported on " + is.name +
                ", where by the model no seed can be up yet: the dates do not learn from it, but "
                "the seed counts as sprouted and is guarded against drying.");
        return;
    }
    if (kind == turf::ObservationKind::first_mow && before.method == turf::Method::overseed &&
        !after.first_mow) {
        work.notify(is.id, Severity::note, "standing_turf_mown",
                    "The mow of " + is.name +
                        " is taken for one of the standing turf, because the new grass is not all "
                        "up; report the first mow again when the new grass is cut.");
        return;
    }
    std::string changes;
    for (std::size_t k = 0; k < after.species.size(); ++k) {
        const double was = before.species[k].slowness;
        const double now = after.species[k].slowness;
        if (before.species[k].belief == after.species[k].belief) continue;
        changes += (changes.empty() ? "" : "; ") +
                   std::string(turf::traits(after.species[k].species).name) + " counts as " +
                   speed_words(now) + " (before: " + speed_words(was) + ")";
    }
    if (changes.empty()) return;
    const turf::Prospect prospect = prospect_of(work.setup, work.state, zone, work.now.wall);
    const TimeZone& local = work.setup.timezone;
    work.notify(is.id, Severity::note, "lot_learned",
                (kind == turf::ObservationKind::nothing_yet ? "Nothing shows yet on "
                                                            : "Seedlings were seen on ") +
                    is.name + ": " + changes + ". All up " + when_words(prospect.all_up, local) +
                    " (before: " + when_words(expected.all_up, local) + ").");
}

} // namespace firstmow::engine
