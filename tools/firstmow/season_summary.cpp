#include "season_summary.hpp"

#include "base/text.hpp"
#include "weather/sun.hpp"

#include <nlohmann/json.hpp>

#include <cmath>

namespace firstmow::companion {

namespace {

// Daylight is when the sun's middle stands above the horizon in the middle of the hour.
bool in_daylight(const weather::Place& place, WallTime hour_start) {
    return weather::hour_sun(place, hour_start, 4.92 / 60).elevation_rad > 0;
}

bool seed_at_stake(turf::Phase phase) {
    return phase == turf::Phase::pre_germination || phase == turf::Phase::emergence ||
           phase == turf::Phase::rooting;
}

double round_to(double value, int decimals) {
    const double scale = std::pow(10.0, decimals);
    return std::round(value * scale) / scale;
}

} // namespace

bool SeasonSummary::sown(const std::string& id, WallTime t) const {
    for (const garden::Zone& zone : setup_.garden.zones) {
        if (zone.id != id || !zone.establishment.start) continue;
        // The first soak is given when the tap may first run; until then the bed is as it was.
        return t > setup_.timezone.to_wall(*zone.establishment.start,
                                           setup_.garden.supply.hours.front().from_s) +
                       std::chrono::hours{1};
    }
    return false;
}

void SeasonSummary::add(const engine::Record& record) {
    if (const auto* c = std::get_if<engine::Cycle>(&record)) {
        ZoneSummary& z = zones_[c->zone];
        ++z.cycles;
        z.volume_l += c->volume_l;
        ++z.reasons[c->reason];
    } else if (const auto* m = std::get_if<engine::Moisture>(&record)) {
        ZoneSummary& z = zones_[m->zone];
        z.phase = m->phase;
        z.applied_mm += m->applied_mm;
        z.rain_mm += m->rain_mm;
        z.evaporation_mm += m->evaporation_mm;
        z.transpiration_mm += m->transpiration_mm;
        z.runoff_mm += m->runoff_mm;
        z.drainage_mm += m->drainage_mm;
        if (!seed_at_stake(m->phase) || !sown(m->zone, m->time)) return;
        const WallTime hour = std::chrono::floor<std::chrono::hours>(m->time - Seconds{1});
        const auto known = daylight_.find(to_unix(hour));
        const bool light =
            known != daylight_.end()
                ? known->second
                : (daylight_[to_unix(hour)] = in_daylight(setup_.garden.site.place, hour));
        if (!light) return;
        ++z.daylight_lines;
        if (m->low_quarter_kpa < -100) ++z.dry_lines;
        if (m->low_quarter_kpa < -500) ++z.very_dry_lines;
        if (m->low_quarter_kpa < z.driest_kpa) {
            z.driest_kpa = m->low_quarter_kpa;
            z.driest_at = m->time;
        }
    } else if (const auto* p = std::get_if<engine::PhaseRecord>(&record)) {
        zones_[p->zone].phases.push_back(*p);
    } else if (const auto* w = std::get_if<engine::WeatherUsed>(&record)) {
        et_mm_ += w->et_short_mm;
        if (w->hour.air_temp_c > hottest_c_) {
            hottest_c_ = w->hour.air_temp_c;
            hottest_at_ = w->hour.start;
        }
    } else if (std::holds_alternative<engine::Notice>(record)) {
        ++notices_;
    }
}

std::string SeasonSummary::json(WallTime from, WallTime to, const std::string& forecast,
                                std::uint64_t seed) const {
    using Json = nlohmann::ordered_json;
    Json zones = Json::array();
    for (const garden::Zone& zone : setup_.garden.zones) {
        const auto found = zones_.find(zone.id);
        const ZoneSummary z = found == zones_.end() ? ZoneSummary{} : found->second;
        Json phases = Json::array();
        for (const engine::PhaseRecord& p : z.phases)
            phases.push_back({{"time", to_iso8601(p.time)},
                              {"from", turf::key(p.from)},
                              {"to", turf::key(p.to)},
                              {"why", p.why}});
        zones.push_back({{"zone", zone.id},
                         {"phase", turf::key(z.phase)},
                         {"cycles", z.cycles},
                         {"volume_l", round_to(z.volume_l, 1)},
                         {"applied_mm", round_to(z.applied_mm, 2)},
                         {"rain_mm", round_to(z.rain_mm, 2)},
                         {"evaporation_mm", round_to(z.evaporation_mm, 2)},
                         {"transpiration_mm", round_to(z.transpiration_mm, 2)},
                         {"runoff_mm", round_to(z.runoff_mm, 2)},
                         {"drainage_mm", round_to(z.drainage_mm, 2)},
                         {"daylight_hours_before_up", round_to(z.daylight_lines / 6.0, 1)},
                         {"dry_hours", round_to(z.dry_lines / 6.0, 1)},
                         {"very_dry_hours", round_to(z.very_dry_lines / 6.0, 1)},
                         {"driest_kpa", round_to(z.driest_kpa, 1)},
                         {"reasons", z.reasons},
                         {"phases", std::move(phases)}});
    }
    const Json all = {{"from", to_iso8601(from)},
                      {"to", to_iso8601(to)},
                      {"forecast", forecast},
                      {"seed", seed},
                      {"reference_et_mm", round_to(et_mm_, 2)},
                      {"notices", notices_},
                      {"zones", std::move(zones)}};
    return all.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::string SeasonSummary::text(WallTime from, WallTime to) const {
    const TimeZone& local = setup_.timezone;
    std::string out = setup_.garden.site.name + ", " + local.date_clock_text(from) + " to " +
                      local.date_clock_text(to) + " (" + local.name() + ")\n";
    out += "Weather: reference ET " + fixed(et_mm_, 0) + " mm; hottest hour " +
           fixed(hottest_c_, 1) + " C on " + local.date_clock_text(hottest_at_) + ".\n";
    for (const garden::Zone& zone : setup_.garden.zones) {
        const auto found = zones_.find(zone.id);
        const ZoneSummary z = found == zones_.end() ? ZoneSummary{} : found->second;
        out += "\n" + zone.name + " (" + zone.id + "), now: " + std::string(turf::name(z.phase)) +
               "\n";
        out += "  water    " + std::to_string(z.cycles) + " cycles, " + fixed(z.volume_l, 0) +
               " L = " + fixed(z.applied_mm, 1) + " mm; rain " + fixed(z.rain_mm, 1) + " mm\n";
        out += "  went to  evaporation less dew " + fixed(z.evaporation_mm, 1) + ", plants " +
               fixed(z.transpiration_mm, 1) + ", below the roots " + fixed(z.drainage_mm, 1) +
               ", run-off " + fixed(z.runoff_mm, 1) + " mm\n";
        std::string why;
        for (const auto& [reason, count] : z.reasons)
            why += (why.empty() ? "" : ", ") + reason + " " + std::to_string(count);
        if (!why.empty()) out += "  because  " + why + "\n";
        if (z.daylight_lines > 0)
            out += "  dry      " + fixed(z.dry_lines / 6.0, 1) + " of " +
                   fixed(z.daylight_lines / 6.0, 0) +
                   " daylight hours with the driest quarter below -100 kPa while seed was at "
                   "stake; driest " +
                   fixed(z.driest_kpa, 0) + " kPa on " + local.date_clock_text(z.driest_at) + "\n";
        for (const engine::PhaseRecord& p : z.phases)
            out += "  phase    " + local.date_clock_text(p.time) + "  " +
                   std::string(turf::name(p.to)) + ": " + p.why + "\n";
    }
    return out;
}

} // namespace firstmow::companion
