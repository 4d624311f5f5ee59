#include "engine/codec_budget.hpp"

#include "engine/codec_turf.hpp"
#include "engine/codec_values.hpp"

namespace firstmow::engine {

Json flows_json(const soil::Flows& f) {
    return Json::array({f.supply_mm, f.dew_mm, f.evaporation_mm, f.transpiration_mm, f.runoff_mm,
                        f.drainage_mm, f.intake_mm});
}

soil::Flows read_flows(Reader& r, const Json& object, const char* key) {
    const auto v = read_values<7>(r, object, key, 7);
    return {v[0], v[1], v[2], v[3], v[4], v[5], v[6]};
}

Json budget_json(const watering::ZoneState& z, int layers) {
    return {{"mean", values_json(z.mean.theta, layers)},
            {"mean_pond_mm", z.mean.pond_mm},
            {"low", values_json(z.low.theta, layers)},
            {"low_pond_mm", z.low.pond_mm},
            {"heat", values_json(z.heat.layer_c, layers + 1)},
            {"skin_c", z.heat.skin_c},
            {"soil_evaporation_mm_per_h", z.cooling.soil_mm_per_h},
            {"cover_evaporation_mm_per_h", z.cooling.cover_mm_per_h},
            {"warmer_c", z.warmer_c},
            {"progress", progress_json(z.progress)},
            {"mean_leaves_mm", z.mean_held.leaves_mm},
            {"mean_straw_mm", z.mean_held.straw_mm},
            {"low_leaves_mm", z.low_held.leaves_mm},
            {"low_straw_mm", z.low_held.straw_mm},
            {"roots_used_mm", z.book ? Json(z.book->used_mm) : Json(nullptr)},
            {"roots_lent_mm", z.book ? Json(z.book->lent_mm) : Json(nullptr)}};
}

watering::ZoneState read_budget(Reader& r, const Json& j, int layers) {
    watering::ZoneState z;
    z.mean.theta = read_values<soil::kMaxLayers>(r, j, "mean", layers);
    z.mean.pond_mm = r.number(j, "mean_pond_mm");
    z.low.theta = read_values<soil::kMaxLayers>(r, j, "low", layers);
    z.low.pond_mm = r.number(j, "low_pond_mm");
    z.heat.layer_c = read_values<soil::kMaxLayers + 1>(r, j, "heat", layers + 1);
    z.heat.skin_c = r.number(j, "skin_c");
    z.cooling = {r.number(j, "soil_evaporation_mm_per_h"),
                 r.number(j, "cover_evaporation_mm_per_h")};
    if (r.has(j, "warmer_c")) z.warmer_c = r.number(j, "warmer_c");
    z.progress = read_progress(r, r.at(j, "progress"));
    z.mean_held = {r.number(j, "mean_leaves_mm"), r.number(j, "mean_straw_mm")};
    z.low_held = {r.number(j, "low_leaves_mm"), r.number(j, "low_straw_mm")};
    // Text from before there was a book lacks it: it then begins where the column stands.
    if (Reader::has(j, "roots_used_mm") && !r.at(j, "roots_used_mm").is_null())
        z.book = watering::RootBook{r.number(j, "roots_used_mm"), 0};
    // And text from before the subsoil lent to it: then it has not.
    if (z.book && Reader::has(j, "roots_lent_mm")) z.book->lent_mm = r.number(j, "roots_lent_mm");
    return z;
}

Json past_json(const Past& p, int layers) {
    return {{"at", to_json_value(p.at)},
            {"zone", budget_json(p.zone, layers)},
            {"cloud_factor", p.cloud_factor},
            {"flows", flows_json(p.flows)}};
}

Past read_past(Reader& r, const Json& j, int layers) {
    return {r.time(j, "at"), read_budget(r, r.at(j, "zone"), layers), r.number(j, "cloud_factor"),
            read_flows(r, j, "flows")};
}

} // namespace firstmow::engine
