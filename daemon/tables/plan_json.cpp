#include "tables/plan_json.hpp"

#include <nlohmann/json.hpp>

#include <cmath>

namespace firstmow::tables {

namespace {

using Json = nlohmann::ordered_json;
using namespace renovation;

// Three decimals: more would only be noise of the arithmetic.
double rounded(double value) {
    return std::round(value * 1000) / 1000;
}

Json date_json(const std::optional<Date>& date) {
    return date ? Json(to_string(*date)) : Json(nullptr);
}

Json number_json(const std::optional<double>& value) {
    return value ? Json(rounded(*value)) : Json(nullptr);
}

Json milestone_json(const Milestone& m) {
    return {
        {"usual", date_json(m.usual)}, {"early", date_json(m.early)}, {"late", date_json(m.late)}};
}

std::string_view method_word(turf::Method method) {
    switch (method) {
    case turf::Method::seed:
        return "seed";
    case turf::Method::overseed:
        return "overseed";
    case turf::Method::sod:
        return "sod";
    case turf::Method::none:
        break;
    }
    return "none";
}

std::string_view verdict_word(Verdict verdict) {
    switch (verdict) {
    case Verdict::in_time:
        return "in_time";
    case Verdict::too_late:
        return "too_late";
    case Verdict::dormant:
        return "dormant";
    case Verdict::spring:
        return "spring";
    case Verdict::too_cold:
        return "too_cold";
    case Verdict::too_short:
        return "too_short";
    case Verdict::frost_unknown:
        break;
    }
    return "frost_unknown";
}

Json timing_json(const Timing& timing) {
    return {{"verdict", verdict_word(timing.verdict)},
            {"latest", date_json(timing.latest)},
            {"frost",
             {{"in_10_pct", date_json(timing.frost.in_10_pct)},
              {"in_50_pct", date_json(timing.frost.in_50_pct)},
              {"in_90_pct", date_json(timing.frost.in_90_pct)},
              {"years", timing.frost.years},
              {"years_without", timing.frost.years_without}}},
            {"sentences", timing.sentences}};
}

Json advice_json(const Plan& plan, const Advice& advice) {
    Json ways = Json::array();
    for (const Way& way : advice.ways)
        ways.push_back({{"method", method_word(way.method)},
                        {"water_mm", rounded(way.water_mm)},
                        {"water_l", rounded(way.water_l)},
                        {"water_cost", number_json(way.water_cost)},
                        {"weeks_to_first_mow", number_json(way.weeks_to_first_mow)},
                        {"words", way_words(plan, way)}});
    return {{"method", method_word(advice.method)}, {"reasons", advice.reasons}, {"ways", ways}};
}

Json quantities_json(const Quantities& q) {
    Json seed = Json::array();
    for (const SeedPart& part : q.seed)
        seed.push_back({{"species", turf::traits(part.species).key},
                        {"pure_live_kg", rounded(part.pure_live_kg)},
                        {"bulk_kg", rounded(part.bulk_kg)}});
    return {{"seed", seed},
            {"seed_rate_g_per_m2", rounded(q.rate_g_per_m2)},
            {"seed_bulk_g_per_m2", rounded(q.bulk_g_per_m2)},
            {"seed_tag_assumed", q.seed_tag_assumed},
            {"starter_kg", rounded(q.starter_kg)},
            {"starter_g_per_m2", rounded(q.starter_g_per_m2)},
            {"topsoil_m3", rounded(q.topsoil_m3)},
            {"topdressing_m3", rounded(q.topdressing_m3)},
            {"straw_low_kg", rounded(q.straw_low_kg)},
            {"straw_high_kg", rounded(q.straw_high_kg)},
            {"blanket_m2", rounded(q.blanket_m2)},
            {"sod_m2", rounded(q.sod_m2)},
            {"sod_rolls", q.sod_rolls},
            {"water_mm", rounded(q.water_mm)},
            {"water_l", rounded(q.water_l)},
            {"water_cost", number_json(q.water_cost)},
            {"water_with_rain_mm", number_json(q.water_with_rain_mm)},
            {"water_with_rain_l", number_json(q.water_with_rain_l)},
            {"water_with_rain_cost", number_json(q.water_with_rain_cost)}};
}

Json events_json(const std::vector<Event>& events) {
    Json list = Json::array();
    for (const Event& event : events)
        list.push_back({{"day", to_string(event.day)},
                        {"days", event.days},
                        {"zone", event.zone.empty() ? Json(nullptr) : Json(event.zone)},
                        {"key", event.key},
                        {"title", event.title},
                        {"text", event.text}});
    return list;
}

Json trial_json(const Trial& trial) {
    Json zones = Json::array();
    for (const ZoneStrain& zone : trial.zones)
        zones.push_back({{"zone", zone.zone},
                         {"runs_per_day", rounded(zone.runs_per_day)},
                         {"minutes_per_day", rounded(zone.minutes_per_day)},
                         {"gross_mm_per_day", rounded(zone.gross_mm_per_day)},
                         {"litres_per_day", rounded(zone.litres_per_day)},
                         {"dry_minutes_per_day", rounded(zone.dry_minutes_per_day)},
                         {"driest_kpa", rounded(zone.driest_kpa)}});
    return {{"holds", trial.holds()}, {"zones", zones}};
}

Json feasibility_json(const Feasibility& f) {
    Json remedies = Json::array();
    for (const Remedy& remedy : f.remedies)
        remedies.push_back({{"what", remedy.what}, {"trial", trial_json(remedy.trial)}});
    return {{"design_heat_c", rounded(f.design_heat_c)},
            {"eto_mm_per_day", rounded(f.eto_mm_per_day)},
            {"eto_peak_mm_per_h", rounded(f.eto_peak_mm_per_h)},
            {"open_minutes_per_day", rounded(f.open_minutes_per_day)},
            {"tap_use", rounded(f.tap_use)},
            {"as_is", trial_json(f.as_is)},
            {"remedies", remedies}};
}

std::string month_day(std::chrono::month_day day) {
    return to_string(Date{std::chrono::year{2000} / day.month() / day.day()}).substr(5);
}

Json tap_json(const Plan& plan) {
    const auto words = tap_words(plan);
    if (!words) return nullptr;
    return {{"demand", words->demand},
            {"zones", words->zones},
            {"verdict", words->verdict},
            {"remedies", words->remedies}};
}

std::string_view traffic_word(garden::Traffic traffic) {
    switch (traffic) {
    case garden::Traffic::low:
        return "low";
    case garden::Traffic::medium:
        return "medium";
    case garden::Traffic::high:
        break;
    }
    return "high";
}

Json species_json() {
    Json list = Json::array();
    for (const turf::SpeciesTraits& one : turf::all_species())
        list.push_back({{"key", one.key}, {"name", one.name}});
    return list;
}

Json mix_json(const garden::Establishment& sown) {
    Json mix = Json::array();
    for (const garden::MixPart& part : sown.mix)
        mix.push_back({{"species", turf::traits(part.species).key},
                       {"share_pct", rounded(100 * part.share)}});
    return mix;
}

// What is answered of a zone, by the garden file or in its place.
Json answers_json(const garden::Zone& zone) {
    const garden::OldLawn& lawn = zone.old_lawn;
    return {{"id", zone.id},
            {"name", zone.name},
            {"method", method_word(zone.establishment.method)},
            {"start", date_json(zone.establishment.start)},
            {"mix", mix_json(zone.establishment)},
            {"area_m2", rounded(zone.area_m2)},
            {"slope_pct", rounded(zone.slope_pct)},
            {"grass_left_pct", number_json(lawn.desirable_grass_pct)},
            {"traffic", lawn.traffic ? Json(traffic_word(*lawn.traffic)) : Json(nullptr)},
            {"instant", lawn.instant ? Json(*lawn.instant) : Json(nullptr)}};
}

Json zone_json(const Plan& plan, const ZonePlan& zone) {
    const Milestones& m = zone.milestones;
    return {{"id", zone.zone->id},
            {"name", zone.zone->name},
            {"method", method_word(zone.zone->establishment.method)},
            {"start", date_json(zone.zone->establishment.start)},
            {"under_way", m.live},
            {"timing", timing_json(zone.timing)},
            {"first_green", milestone_json(m.first_green)},
            {"all_up", milestone_json(m.all_up)},
            {"rooted", milestone_json(m.rooted)},
            {"first_mow", milestone_json(m.first_mow)},
            {"grown_in", milestone_json(m.grown_in)},
            {"advice", zone.advice ? advice_json(plan, *zone.advice) : Json(nullptr)},
            {"quantities", quantities_json(zone.quantities)},
            {"to_buy", shopping_words(plan, zone)}};
}

} // namespace

std::string plan_json(const renovation::Plan& plan) {
    Json zones = Json::array();
    for (const ZonePlan& zone : plan.zones)
        zones.push_back(zone_json(plan, zone));
    Json answers = Json::array();
    for (const garden::Zone& zone : plan.garden->zones)
        answers.push_back(answers_json(zone));
    const garden::Site& site = plan.garden->site;
    const Json json = {
        {"garden", site.name},
        {"units", site.units == garden::Units::us ? "us" : "metric"},
        {"first_frost", site.first_frost ? Json(month_day(*site.first_frost)) : Json(nullptr)},
        {"water_price_per_m3", number_json(plan.garden->renovation.water_price_per_m3)},
        {"species", species_json()},
        {"frost", frost_words(plan)},
        {"climate_from_record", plan.climate.from_record},
        {"answers", answers},
        {"zones", zones},
        {"tap", tap_json(plan)},
        {"feasibility", plan.feasibility ? feasibility_json(*plan.feasibility) : Json(nullptr)},
        {"events", events_json(plan.events)},
        {"cautions", plan.cautions}};
    return json.dump(1) + "\n";
}

} // namespace firstmow::tables
