#include "watering/carry.hpp"

#include "base/check.hpp"

#include <algorithm>

namespace firstmow::watering {

namespace {

// Calls `part(k, share)` for every old layer that lies in a stretch of the new ground, in shares
// that sum to 1; what lies above the old surface is its first layer, below the last its last.
template <class Part>
void old_layers(const soil::Layering& old, double from_mm, double to_mm, const Part& part) {
    const double thickness = to_mm - from_mm;
    CHECK(thickness > 0);
    double top = 0;
    for (int i = 0; i < old.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const double begin = i == 0 ? std::min(from_mm, 0.0) : top;
        const double end =
            i + 1 == old.count ? std::max(to_mm, old.bottom_mm[k]) : old.bottom_mm[k];
        const double within = std::min(end, to_mm) - std::max(begin, from_mm);
        if (within > 0) part(k, within / thickness);
        top = old.bottom_mm[k];
    }
}

soil::ColumnState carried(const soil::Column& was, const soil::ColumnState& state,
                          const soil::Column& is, double lifted_mm) {
    soil::ColumnState now;
    now.pond_mm = state.pond_mm;
    double top = 0;
    for (int i = 0; i < is.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const soil::Hydraulics& soil = is.soil[k]->hydraulics();
        const double bottom = is.layers.bottom_mm[k];
        double theta = 0;
        old_layers(
            was.layers, top - lifted_mm, bottom - lifted_mm, [&](std::size_t old, double share) {
                const soil::Hydraulics& before = was.soil[old]->hydraulics();
                theta += share * (before == soil
                                      ? state.theta[old]
                                      : soil.water_content(before.potential_kpa(state.theta[old])));
            });
        now.theta[k] = theta;
        top = bottom;
    }
    return now;
}

soil::HeatState carried(const soil::Layering& was, const soil::HeatState& state,
                        const soil::Layering& is, double lifted_mm) {
    soil::HeatState now;
    now.skin_c = state.skin_c;
    double top = 0;
    for (int i = 0; i < is.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        double temp_c = 0;
        old_layers(was, top - lifted_mm, is.bottom_mm[k] - lifted_mm,
                   [&](std::size_t old, double share) { temp_c += share * state.layer_c[old]; });
        now.layer_c[k] = temp_c;
        top = is.bottom_mm[k];
    }
    now.layer_c[static_cast<std::size_t>(is.count)] =
        state.layer_c[static_cast<std::size_t>(was.count)];
    return now;
}

} // namespace

ZoneState carried(const ZoneSpec& was, const ZoneState& state, const ZoneSpec& is,
                  double lifted_mm) {
    ZoneState now = state;
    now.mean = carried(was.column, state.mean, is.column, lifted_mm);
    now.low = carried(was.column, state.low, is.column, lifted_mm);
    now.heat = carried(was.column.layers, state.heat, is.column.layers, lifted_mm);
    // The roots have used the same part of what the soil has to give.
    if (now.book) {
        const double ratio = soil::available_mm(is.column, roots_mm(is, state.progress)) /
                             soil::available_mm(was.column, roots_mm(was, state.progress));
        now.book->used_mm *= ratio;
        now.book->lent_mm *= ratio;
    }
    return now;
}

} // namespace firstmow::watering
