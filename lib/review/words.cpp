// A day as one would tell it in the evening.
#include "base/text.hpp"
#include "review/day.hpp"
#include "watering/explain.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace firstmow::review {

namespace {

constexpr double kSomeRainMm = 0.2;
constexpr double kMoreByPct = 15; // from here on a difference is worth a word

class Teller {
public:
    Teller(const DayRecords& day, const DayReview& review, const garden::Garden& garden,
           const TimeZone& local)
        : day_(day),
          review_(review),
          garden_(garden),
          local_(local),
          us_(garden.site.units == garden::Units::us) {}

    std::string tell() {
        if (review_.air.hours == 0 && review_.summary.runs == 0 && day_.notices.empty())
            return "Nothing is on record for this day.";
        weather();
        watering();
        dryness();
        withheld();
        troubles();
        return text_;
    }

private:
    void say(const std::string& sentence) {
        if (!text_.empty()) text_ += ' ';
        text_ += sentence;
    }
    std::string celsius(double c) const {
        return us_ ? fixed(c * 9 / 5 + 32, 0) + " F" : fixed(c, 0) + " C";
    }
    std::string depth(double mm) const {
        return us_ ? fixed(mm / 25.4, 2) + " in" : fixed(mm, 1) + " mm";
    }
    std::string volume(double litres) const {
        return us_ ? fixed(litres / 3.785411784, 0) + " gal" : fixed(litres, 0) + " L";
    }
    std::string clock(WallTime t) const { return local_.clock_text(t); }

    void weather() {
        const AirDay& air = review_.air;
        if (air.hours == 0) {
            say("No weather is on record.");
            return;
        }
        std::string s = review_.summary.hot() ? "A hot day: up to " : "Up to ";
        s += celsius(air.high_c) + " at " + clock(air.high_at);
        s += "; the air could take " + depth(air.et_short_mm) + " of water";
        if (review_.usual && review_.usual->et_short_mm > 0) {
            const double more = (air.et_short_mm / review_.usual->et_short_mm - 1) * 100;
            if (std::abs(more) >= kMoreByPct)
                s += std::string(", ") + (more > 0 ? "more" : "less") + " than the " +
                     depth(review_.usual->et_short_mm) + " usual in the days before";
        }
        s += air.rain_mm >= kSomeRainMm ? ", and " + depth(air.rain_mm) + " of rain fell."
                                        : "; no rain.";
        say(s);
        if (air.measured_hours < air.hours)
            say(std::to_string(air.hours - air.measured_hours) + " of " +
                std::to_string(air.hours) + " hours of weather were not measured but assumed.");
    }

    void watering() {
        const int runs = review_.summary.runs;
        if (runs == 0) {
            say("No water was given.");
            return;
        }
        std::string s = runs == 1 ? "One run" : std::to_string(runs) + " runs";
        s += " brought " + volume(review_.summary.volume_l);
        if (review_.summary.cost) s += " (cost " + fixed(*review_.summary.cost, 2) + ")";
        std::string list;
        for (const ZoneDay& zone : review_.zones) {
            if (zone.runs.empty()) continue;
            list += (list.empty() ? ": " : ", ") + zone.name + " " +
                    std::to_string(zone.runs.size()) + " x, " + depth(zone.applied_mm);
        }
        say(s + list + ".");
        double lost = 0;
        for (const ZoneDay& zone : review_.zones)
            lost = std::max(lost, zone.runoff_mm);
        if (lost >= 0.5) say("Up to " + depth(lost) + " ran off.");
    }

    void dryness() {
        const ZoneDay* driest = nullptr;
        int judged = 0;
        for (const ZoneDay& zone : review_.zones) {
            if (!zone.judged) continue;
            ++judged;
            if (driest == nullptr || zone.dry_s > driest->dry_s ||
                (zone.dry_s == driest->dry_s &&
                 zone.lowest_kpa / zone.threshold_kpa > driest->lowest_kpa / driest->threshold_kpa))
                driest = &zone;
        }
        if (driest == nullptr) return;
        const std::string lowest = fixed(driest->lowest_kpa, 0) + " kPa at " +
                                   clock(driest->lowest_at) + ", limit " +
                                   fixed(driest->threshold_kpa, 0) + " kPa";
        if (driest->dry_s == 0) {
            say((judged == 1 ? driest->name : std::string("Every seedbed")) +
                " stayed above its limit " + for_how_long(judged) + "; " +
                (judged == 1 ? "driest " : "driest was " + driest->name + ", ") + lowest + ".");
            return;
        }
        std::string s;
        for (const ZoneDay& zone : review_.zones) {
            if (zone.dry_s == 0) continue;
            s += (s.empty() ? "" : ", ") + zone.name + " for " +
                 watering::duration_words(zone.dry_s);
        }
        say("Too dry was " + s + " (" + driest->name + ": " + lowest + ").");
    }

    // Dry seed in dry ground takes no harm: on the day of sowing its first water begins the day.
    std::string for_how_long(int judged) const {
        std::vector<const ZoneDay*> sown;
        for (const ZoneDay& zone : review_.zones)
            if (zone.judged && sown_today(zone.zone)) sown.push_back(&zone);
        if (sown.empty()) return "all day";
        if (judged == 1) return "from its first water at " + clock(sown[0]->judged_from) + " on";
        std::string each;
        for (const ZoneDay* zone : sown)
            each += (each.empty() ? "" : ", ") + zone->name + " at " + clock(zone->judged_from);
        const bool all = static_cast<int>(sown.size()) == judged;
        return (all ? "" : "all day, or ") + ("from its first water on (" + each + ")");
    }
    bool sown_today(const std::string& id) const {
        for (const garden::Zone& zone : garden_.zones)
            if (zone.id == id) return zone.establishment.start == day_.date;
        return false;
    }

    void withheld() {
        int count = 0;
        const engine::Decision* last = nullptr;
        for (const ZoneDay& zone : review_.zones)
            for (const engine::Decision& d : zone.withheld) {
                ++count;
                last = &d;
            }
        if (last == nullptr) return;
        say((count == 1 ? "Once a run was due and not given: "
                        : std::to_string(count) + " times a run was due and not given, last: ") +
            last->explanation);
    }

    void troubles() {
        const engine::Notice* last = nullptr;
        int alarms = 0;
        for (const engine::Notice& notice : day_.notices)
            if (notice.severity == engine::Severity::alarm) {
                last = &notice;
                ++alarms;
            }
        if (last == nullptr) return;
        say((alarms == 1 ? "An alarm at " : std::to_string(alarms) + " alarms, the last at ") +
            clock(last->time) + ": " + last->text);
    }

    const DayRecords& day_;
    const DayReview& review_;
    const garden::Garden& garden_;
    const TimeZone& local_;
    bool us_;
    std::string text_;
};

} // namespace

std::string in_words(const DayRecords& day, const DayReview& review, const garden::Garden& garden,
                     const TimeZone& local) {
    return Teller(day, review, garden, local).tell();
}

} // namespace firstmow::review
