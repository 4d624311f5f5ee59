#include "review/day.hpp"

#include <algorithm>

namespace firstmow::review {

namespace {

constexpr int kLineS = 600; // a line of moisture tells of the ten minutes before it
constexpr int kDaysBefore = 7;

AirDay air_of(const DayRecords& day) {
    AirDay air;
    for (const engine::WeatherUsed& used : day.weather) {
        const weather::Hour& hour = used.hour;
        if (air.hours == 0 || hour.air_temp_c > air.high_c) {
            air.high_c = hour.air_temp_c;
            air.high_at = hour.start;
        }
        air.low_c = air.hours == 0 ? hour.air_temp_c : std::min(air.low_c, hour.air_temp_c);
        air.et_short_mm += std::max(used.et_short_mm, 0.0);
        air.rain_mm += hour.rain_mm;
        air.measured_hours += hour.temp_origin == weather::Origin::measured ? 1 : 0;
        ++air.hours;
    }
    return air;
}

// `sown`: there is seed in the ground, and it is no longer as dry as it came.
void add_line(ZoneDay& zone, const engine::Moisture& line, bool first, bool sown) {
    zone.evaporation_mm += line.evaporation_mm;
    zone.transpiration_mm += line.transpiration_mm;
    zone.rain_mm += line.rain_mm;
    zone.applied_mm += line.applied_mm;
    zone.runoff_mm += line.runoff_mm;
    zone.drainage_mm += line.drainage_mm;
    const bool judged = sown && line.threshold_kpa < 0;
    const bool lower = line.low_quarter_kpa < zone.lowest_kpa;
    if (first || (judged == zone.judged ? lower : judged)) {
        zone.lowest_kpa = line.low_quarter_kpa;
        zone.lowest_at = line.time;
    }
    zone.warmest_c = first ? line.soil_temp_c : std::max(zone.warmest_c, line.soil_temp_c);
    if (!judged) return;
    if (!zone.judged) zone.judged_from = line.time - Seconds{kLineS};
    zone.threshold_kpa =
        zone.judged ? std::max(zone.threshold_kpa, line.threshold_kpa) : line.threshold_kpa;
    zone.judged = true;
    if (line.low_quarter_kpa < line.threshold_kpa) zone.dry_s += kLineS;
}

// The sentence with which the run that became this cycle was decided: the last one for its zone
// at or shortly before it began (the valve answers some seconds later).
std::string why(const DayRecords& day, const engine::Cycle& cycle) {
    constexpr Seconds kAnswered{60};
    std::string said;
    for (const engine::Decision& d : day.decisions)
        if (d.zone == cycle.zone && d.verdict == engine::Verdict::run && d.time <= cycle.start &&
            d.time + kAnswered >= cycle.start)
            said = d.explanation;
    return said;
}

ZoneDay zone_day(const DayRecords& day, const garden::Zone& of) {
    ZoneDay zone;
    zone.zone = of.id;
    zone.name = of.name;
    bool first = true;
    const std::optional<Date>& start = of.establishment.start;
    bool sown = !start || *start < day.date;
    for (const engine::Moisture& line : day.moisture) {
        if (line.zone != of.id) continue;
        add_line(zone, line, first, sown);
        first = false;
        if (start == day.date && line.rain_mm + line.applied_mm > 0) sown = true;
    }
    for (const engine::Cycle& cycle : day.cycles) {
        if (cycle.zone != of.id) continue;
        zone.volume_l += cycle.volume_l;
        zone.runs.push_back({cycle, why(day, cycle)});
    }
    for (const engine::Decision& d : day.decisions)
        if (d.zone == of.id && d.verdict == engine::Verdict::withhold) zone.withheld.push_back(d);
    return zone;
}

std::optional<DaySummary> usual_of(const DayRecords& day, std::span<const DaySummary> before) {
    DaySummary mean;
    int count = 0;
    for (const DaySummary& other : before) {
        if (other.hours == 0 || other.date >= day.date ||
            other.date < add_days(day.date, -kDaysBefore))
            continue;
        mean.hours += other.hours;
        mean.high_c += other.high_c;
        mean.low_c += other.low_c;
        mean.et_short_mm += other.et_short_mm;
        mean.rain_mm += other.rain_mm;
        mean.runs += other.runs;
        mean.volume_l += other.volume_l;
        mean.dry_s += other.dry_s;
        ++count;
    }
    if (count == 0) return std::nullopt;
    mean.hours /= count;
    mean.high_c /= count;
    mean.low_c /= count;
    mean.et_short_mm /= count;
    mean.rain_mm /= count;
    mean.runs = (mean.runs + count / 2) / count;
    mean.volume_l /= count;
    mean.dry_s /= count;
    mean.date = add_days(day.date, -count);
    return mean;
}

} // namespace

DayReview review_day(const DayRecords& day, std::span<const DaySummary> before,
                     const garden::Garden& garden, const TimeZone& local) {
    DayReview review;
    review.air = air_of(day);
    DaySummary& sum = review.summary;
    sum = {day.date,
           review.air.hours,
           review.air.high_c,
           review.air.low_c,
           review.air.et_short_mm,
           review.air.rain_mm,
           0,
           0,
           0,
           {}};
    for (const garden::Zone& zone : garden.zones) {
        ZoneDay& one = review.zones.emplace_back(zone_day(day, zone));
        sum.runs += static_cast<int>(one.runs.size());
        sum.volume_l += one.volume_l;
        sum.dry_s = std::max(sum.dry_s, one.dry_s);
    }
    if (garden.renovation.water_price_per_m3)
        sum.cost = sum.volume_l / 1000 * *garden.renovation.water_price_per_m3;
    review.usual = usual_of(day, before);
    review.text = in_words(day, review, garden, local);
    return review;
}

} // namespace firstmow::review
