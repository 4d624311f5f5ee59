#include "watering/explain.hpp"

#include "base/day_words.hpp"
#include "base/text.hpp"

#include <cmath>

namespace firstmow::watering {

std::string clock_words(WallTime t, const TimeZone& local, WallTime now) {
    const LocalTime shown = local.to_local(t);
    const std::string clock = local.clock_text(t);
    if (shown.date == local.local_date(now)) return clock;
    return weekday_words(shown.weekday()) + " " + clock;
}

std::string duration_words(int seconds) {
    if (seconds < 60) return std::to_string(seconds) + " s";
    const int minutes = (seconds + 30) / 60;
    if (minutes < 60) return std::to_string(minutes) + " min";
    if (minutes % 60 == 0) return std::to_string(minutes / 60) + " h";
    return std::to_string(minutes / 60) + " h " + std::to_string(minutes % 60) + " min";
}

std::string bar_words(const Bar& bar, const TimeZone& local, WallTime now) {
    const std::string until = bar.until ? " until " + clock_words(*bar.until, local, now) : "";
    switch (bar.reason) {
    case Reason::emergency_stop:
        return "everything is stopped until a person releases it (" + bar.detail + ")";
    case Reason::clock_untrusted:
        return "the time is not known yet";
    case Reason::locked:
        return "it is locked until a person ends its hold (" + bar.detail + ")";
    case Reason::supply_fault:
        return "the supply rests" + until + " after a fault";
    case Reason::frost:
        return "it is too cold to water";
    case Reason::wind:
        return "the wind is too strong" + until;
    case Reason::rain_switch:
        return "the rain switch is wet and is waited for" + until;
    case Reason::longest_run:
        return "a run may last " + bar.detail + " at most";
    case Reason::day_full:
        return "it has had its most water of a day" + until;
    case Reason::zone_rest:
        return "it rests" + until + " after its last run";
    case Reason::zones_at_once:
        return "as many zones run as may run at once";
    case Reason::pump_rest:
        return "the pump rests" + until;
    case Reason::tap_busy:
        return "the tap is taken by other zones";
    // Reasons for runs, and what the planner says by itself.
    case Reason::seed_zone_drying:
    case Reason::root_zone_used:
    case Reason::longest_gap:
    case Reason::reported_dry:
    case Reason::first_soak:
    case Reason::rest_of_run:
    case Reason::person:
    case Reason::damp_enough:
    case Reason::rain_expected:
    case Reason::not_started:
    case Reason::on_hold:
    case Reason::outside_hours:
        break;
    }
    return "another rule forbids it";
}

namespace {

// Such a limit is no more exact than that: below a day in half hours, else in whole ones.
std::string rough_hours(Seconds time) {
    const double hours = static_cast<double>(time.count()) / 3600;
    const double rough = hours < 24 ? std::round(hours * 2) / 2 : std::round(hours);
    return fixed(rough, rough == std::floor(rough) ? 0 : 1) + " h";
}

constexpr double kWorthSayingMm = 0.5;

class Words {
public:
    Words(const ZonePlan& plan, const ZoneTask& task, const TimeZone& local, WallTime now)
        : plan_(plan), task_(task), local_(local), now_(now) {}

    std::string sentence() const {
        switch (plan_.verdict) {
        case ZonePlan::Verdict::run:
            return run();
        case ZonePlan::Verdict::wait:
            return wait();
        case ZonePlan::Verdict::withhold:
            return withhold();
        }
        return "";
    }

private:
    std::string clock(WallTime t) const { return clock_words(t, local_, now_); }

    std::string sinking() const {
        return "water is sinking to the roots until " + clock(*plan_.sinks_until);
    }

    // What gets too dry, and when.
    std::string what_dries() const {
        const bool now = !plan_.dry_at || *plan_.dry_at <= now_;
        const std::string when = now ? " now" : " at " + clock(*plan_.dry_at);
        if (task_.needs.judge_root_zone && plan_.book)
            return std::string("the grass ") + (now ? "has" : "would have") + " used " +
                   fixed(plan_.book->used_mm, 1) + " of the " + fixed(plan_.book->holds_mm, 1) +
                   " mm that the soil keeps for its roots by" +
                   (now ? when : " " + clock(*plan_.dry_at));
        if (task_.needs.judge_root_zone)
            return std::string("the roots ") + (now ? "have" : "would have") + " used " +
                   fixed(plan_.depletion * 100, 0) + " % of their water" + when;
        return std::string("the driest quarter ") + (now ? "reaches " : "would reach ") +
               fixed(plan_.threshold_kpa, 0) + " kPa" + when;
    }

    std::string rain() const {
        if (!plan_.rain_at) return "no rain to count on before " + clock(plan_.looked_until);
        return "likely rain (" + fixed(plan_.rain_mm, 1) + " mm) only from " +
               clock(*plan_.rain_at);
    }

    std::string run() const {
        std::string text =
            "Runs " + duration_words(plan_.run_s) + " at " + clock(*plan_.start) + ": ";
        if (plan_.reason == Reason::first_soak)
            text += "the new bed is wetted through once, " + fixed(task_.needs.wet_depth_mm, 0) +
                    " mm deep";
        else if (plan_.reason == Reason::reported_dry)
            text += "a person says that it is dry on top";
        else if (plan_.reason == Reason::rest_of_run)
            text += "the rest of a run that the soil could not take in one go";
        else if (plan_.reason == Reason::longest_gap)
            text += "this young grass should not be longer than " +
                    rough_hours(task_.needs.longest_gap) + " without water";
        else
            text += (plan_.sinks_until ? sinking() + "; " : "") + what_dries() + "; " + rain();
        if (plan_.left_to_rain_mm >= kWorthSayingMm)
            text += "; " + fixed(plan_.left_to_rain_mm, 1) +
                    " mm of room are left for rain that may come";
        if (plan_.ahead && !plan_.late)
            text += "; ahead of its need, for the tap could not give all beds enough later";
        if (plan_.else_at)
            text +=
                "; in the evening, for it could else be watered only at " + clock(*plan_.else_at);
        if (plan_.owed_s > 0)
            text += "; " + duration_words(plan_.owed_s) + " more follow after a soak";
        if (plan_.late) {
            text += "; sooner was not possible";
            if (plan_.bar) text += ": " + bar_words(*plan_.bar, local_, now_);
        }
        return text + ".";
    }

    std::string wait() const {
        if (plan_.reason == Reason::not_started)
            return "No water yet: this zone is not sown or laid.";
        std::string text = "No run is needed before " + clock(plan_.looked_until) + ": " +
                           (plan_.sinks_until ? sinking() + ", then " : "") +
                           "it stays damp enough";
        if (plan_.rain_at)
            text += ", with likely rain (" + fixed(plan_.rain_mm, 1) + " mm) from " +
                    clock(*plan_.rain_at);
        return text + ".";
    }

    std::string withhold() const {
        std::string text = "No run although " + what_dries() + ": ";
        if (plan_.reason == Reason::on_hold)
            return text + "held by a person until " +
                   (task_.hold_until ? clock(*task_.hold_until) : "further notice") + ".";
        if (plan_.bar) return text + bar_words(*plan_.bar, local_, now_) + ".";
        if (plan_.reason == Reason::frost) return text + "it is too cold to water.";
        if (plan_.reason == Reason::wind) return text + "the wind is too strong.";
        if (plan_.reason == Reason::tap_busy)
            return text + "the tap is taken by other zones until the hours end.";
        return text + "the tap may not run in the next days (see the supply's hours and days).";
    }

    const ZonePlan& plan_;
    const ZoneTask& task_;
    const TimeZone& local_;
    WallTime now_;
};

} // namespace

std::string explain(const ZonePlan& plan, const ZoneTask& task, const TimeZone& local,
                    WallTime now) {
    return Words(plan, task, local, now).sentence();
}

} // namespace firstmow::watering
