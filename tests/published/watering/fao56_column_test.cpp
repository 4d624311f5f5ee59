// The engine's column beside the bookkeeping of FAO-56 (Allen, Pereira, Raes and Smith 1998),
// written apart from it.
#include "fao56_balance.hpp"

#include "watering/outlook.hpp"
#include "watering/zone_model.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using doctest::Approx;

namespace {

constexpr WallTime kStart{Seconds{1'780'000'000 / 3600 * 3600}};

// A clear day's course of a demand that sums to `eto_mm`: a half sine over twelve hours.
watering::HourDemand hour_of(int hour, double eto_mm) {
    const auto cumulative = [](double h) {
        return (1 - std::cos(std::numbers::pi * std::clamp(h - 6, 0.0, 12.0) / 12)) / 2;
    };
    watering::HourDemand d;
    d.start = kStart + Seconds{hour * 3600};
    d.et_short_mm_per_h = eto_mm * (cumulative(hour % 24 + 1) - cumulative(hour % 24));
    d.air_temp_c = 24 + 7 * std::cos(2 * std::numbers::pi * (hour % 24 - 15) / 24);
    d.vapour_kpa = 1.3;
    d.wind_2m_m_s = 2;
    d.net_radiation_w_m2 = d.et_short_mm_per_h > 0 ? 700 * d.et_short_mm_per_h / 0.65 : -50;
    return d;
}

// Storage of the layers down to `depth_mm`, a boundary of the grid.
double water_to_mm(const soil::Column& column, const soil::ColumnState& state, double depth_mm) {
    double sum = 0;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        if (column.layers.bottom_mm[k] <= depth_mm + 1e-9)
            sum += state.theta[k] * column.layers.thickness_mm[k];
    }
    return sum;
}

} // namespace

TEST_CASE("a bare bed dries in two stages, as in FAO-56 chapter 7, and then by the root of time") {
    // Example 31's weather (ETo 4.5 mm) on soils of Table 19, from field capacity, 14 days.
    //
    // The two part by design. The book lets a layer of 100 mm give REW at the full rate and TEW at
    // most. The column's REW comes out of its conductivity: a silt loam, which leads water well at
    // field capacity, gives twice the book's, a sandy loam at -33 kPa next to nothing. And the
    // column has no bottom at 100 mm: it goes on giving by the root of time when TEW is spent.
    struct Row {
        soil::TextureClass texture;
        double rew_mm, tew_mm;          // Table 19, middle of the range
        double least_ratio, most_ratio; // of the column's 14 days to the book's, as found
    };
    using enum soil::TextureClass;
    for (const Row& row :
         {Row{sandy_loam, 8, 17.5, 0.50, 0.65}, Row{loam, 9, 19, 1.25, 1.50},
          Row{silt_loam, 9.5, 21.5, 1.80, 2.10}, Row{clay, 10, 25.5, 0.85, 1.10}}) {
        CAPTURE(soil::key(row.texture));
        garden::Zone zone;
        zone.soil = row.texture;
        zone.soil_below_kpa = -33;
        zone.precipitation_rate_mm_per_h = 12;
        zone.establishment.method = turf::Method::seed;
        zone.establishment.mix = {{turf::Species::tall_fescue, 1}};
        const watering::ZoneSpec spec = watering::zone_spec(zone);
        watering::ZoneState state =
            watering::initial_state(zone, spec, 22, kStart + Seconds{86400 * 400});
        fao56::Surface book{row.tew_mm, row.rew_mm, 0};
        std::array<double, 15> column_mm{};
        double book_mm = 0;
        for (std::size_t day = 0; day < 14; ++day) {
            column_mm[day + 1] = column_mm[day];
            for (int h = 0; h < 24; ++h) {
                const auto hour = hour_of(static_cast<int>(day) * 24 + h, 4.5);
                for (Seconds at = watering::kGrid; at <= Seconds{3600}; at += watering::kGrid)
                    column_mm[day + 1] +=
                        watering::advance(spec, state, hour, 0, watering::kGrid, hour.start + at)
                            .mean.evaporation_mm;
            }
            book_mm += book.pass(4.5, 1.15, 0, 1).evaporated_mm;
            // Never more than the demand of a wet surface, nor (but for the warming of the
            // soil) more than the day before.
            CHECK(column_mm[day + 1] - column_mm[day] <= 1.15 * 4.5 + 1e-6);
            if (day > 0)
                CHECK(column_mm[day + 1] - column_mm[day] <=
                      column_mm[day] - column_mm[day - 1] + 0.02);
        }
        // The first stage: finer soils give the full rate for a day at least.
        if (row.texture != sandy_loam) CHECK(column_mm[1] > 0.94 * 1.15 * 4.5);
        CHECK(column_mm[14] / book_mm > row.least_ratio);
        CHECK(column_mm[14] / book_mm < row.most_ratio);
        // The second: between the seventh and the fourteenth day the sum goes with about t^0.5.
        const double power = std::log(column_mm[14] / column_mm[7]) / std::log(2.0);
        CHECK(power > 0.37);
        CHECK(power < 0.60);
    }
}

TEST_CASE("mature turf: the column amounts to the root zone balance of FAO-56 chapter 8") {
    // Thirty days of ETo between 2 and 6.5 mm; watered before dawn when six tenths of TAW are
    // used, so that stress has its part in it. Kcb 0.90, p 0.40, no soil to be seen.
    using enum soil::TextureClass;
    for (const soil::TextureClass texture : {sandy_loam, loam, silt_loam, clay}) {
        CAPTURE(soil::key(texture));
        garden::Zone zone;
        zone.soil = texture;
        zone.soil_below_kpa = -33;
        zone.precipitation_rate_mm_per_h = 12;
        const watering::ZoneSpec spec = watering::zone_spec(zone);
        watering::ZoneState state = watering::initial_state(zone, spec, 22, kStart);
        const soil::Hydraulics& h = spec.column.soil[0]->hydraulics();
        const double roots_mm = state.progress.root_depth_mm;
        // With what comes up from below the roots as the column has it (CR of Eq. 85), and without.
        fao56::RootZone fed;
        fed.taw_mm = fao56::total_available_mm(h.field_capacity, h.wilting_point, roots_mm / 1000);
        fed.p = 0.4;
        fao56::RootZone alone = fed;
        const auto below_mm = [&] {
            return soil::storage_mm(spec.column, state.mean) -
                   water_to_mm(spec.column, state.mean, roots_mm);
        };
        double column_etc = 0, fed_etc = 0, alone_etc = 0, worst_mm = 0, given_mm = 0;
        for (int day = 0; day < 30; ++day) {
            constexpr std::array kEto{5.5, 4.0, 6.5, 2.0, 5.0, 3.0};
            const double eto = kEto[static_cast<std::size_t>(day) % kEto.size()];
            const double water = fed.depleted_mm >= 0.6 * fed.taw_mm ? 0.8 * fed.depleted_mm : 0;
            given_mm += water;
            const double before = below_mm();
            double lost = 0;
            for (int hh = 0; hh < 24; ++hh) {
                const auto hour = hour_of(day * 24 + hh, eto);
                for (Seconds at = watering::kGrid; at <= Seconds{3600}; at += watering::kGrid) {
                    const soil::Flows f =
                        watering::advance(spec, state, hour, hh < 4 ? water / 4 : 0,
                                          watering::kGrid, hour.start + at)
                            .mean;
                    column_etc += f.evaporation_mm + f.transpiration_mm;
                    lost += f.drainage_mm + f.runoff_mm;
                }
            }
            const double rise = before - below_mm() - lost;
            fed_etc += fed.pass(eto, 0.9, 0, water + std::min(rise, 0.0), std::max(rise, 0.0));
            alone_etc += alone.pass(eto, 0.9, 0, water);
            const double depleted = h.field_capacity * roots_mm - state.mean_held.sum_mm() -
                                    water_to_mm(spec.column, state.mean, roots_mm);
            worst_mm = std::max(worst_mm, std::abs(depleted - fed.depleted_mm));
        }
        CHECK(given_mm > 20);
        // The same water used, and the same depletion at every day's end. What is left over comes
        // of dry layers on top of damp ones, which drink less than their mean would.
        CHECK(column_etc == Approx(fed_etc).epsilon(0.025));
        CHECK(worst_mm < 3);
        // Roots of 150 mm over damp soil live in part from below; the book alone does not know.
        CHECK(column_etc >= alone_etc);
        CHECK(column_etc == Approx(alone_etc).epsilon(0.06));
    }
}

TEST_CASE("net irrigation of a root zone is its depletion") {
    // FAO-56 chapter 8: never more than Dr.
    const soil::Column column = soil::make_column(soil::TextureClass::loam, 6, 0);
    const soil::Hydraulics& h = column.soil[0]->hydraulics();
    watering::ZoneSpec spec;
    spec.column = column;
    for (const double used : {0.1, 0.4, 0.7}) {
        const double theta = h.field_capacity - used * (h.field_capacity - h.wilting_point);
        const auto state = soil::uniform_state(column, h.potential_kpa(theta));
        const double taw = fao56::total_available_mm(h.field_capacity, h.wilting_point, 0.150);
        CHECK(watering::deficit_mm(spec, state, 150) == Approx(used * taw).epsilon(1e-6));
        CHECK(soil::depletion_fraction(column, state, 150) == Approx(used).epsilon(1e-6));
    }
}
