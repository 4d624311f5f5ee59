// Water let into dry soil under a film, against the theory of infiltration.
#include "soil/column.hpp"

#include <doctest/doctest.h>

#include <cmath>

using namespace firstmow::soil;

namespace {

// Sorptivity, mm/s^0.5, by Parlange 1975 (Soil Sci. Soc. Am. Proc. 39:415-418; from memory):
// S^2 = integral over theta of (theta_s + theta - 2 theta_i) D, D d(theta) = K dh. To about 1 %.
double sorptivity(const Hydraulics& soil, double from_kpa) {
    const double dry = soil.water_content(from_kpa);
    double sum = 0;
    constexpr int kParts = 200000;
    double head = from_kpa;
    double theta = dry;
    for (int i = 1; i <= kParts; ++i) {
        const double next = dry + (soil.saturation - dry) * i / kParts;
        const double next_head = i == kParts ? -soil.air_entry_kpa : soil.potential_kpa(next);
        const double k = soil.conductivity_mm_per_h((theta + next) / 2) / 3600;
        sum += (soil.saturation + (theta + next) / 2 - 2 * dry) * k * (next_head - head) *
               kMmHeadPerKpa;
        theta = next;
        head = next_head;
    }
    // Full soil from air entry to a surface without suction.
    sum += 2 * (soil.saturation - dry) * soil.saturated_mm_per_h / 3600 * soil.air_entry_kpa *
           kMmHeadPerKpa;
    return std::sqrt(sum);
}

} // namespace

TEST_CASE("ponded infiltration follows Philip's two terms") {
    // Philip 1957, Soil Sci. 84:257-264: I = S t^0.5 + A t, A between a third and two thirds of the
    // saturated conductivity while the time is short.
    for (const TextureClass texture : {TextureClass::sandy_loam, TextureClass::loam,
                                       TextureClass::silt_loam, TextureClass::clay_loam}) {
        CAPTURE(key(texture));
        Column column = make_column(texture, 6, 0);
        const Hydraulics& soil = column.materials[0]->hydraulics();
        const double s = sorptivity(soil, -200);
        for (const bool fine : {false, true}) {
            CAPTURE(fine);
            if (fine) column = refined(column, 4);
            ColumnState state = uniform_state(column, -200);
            SurfaceForcing flood;
            flood.supply_mm_per_h = 2000;
            // A coarse layer takes in as one, so the first minutes are the fine grid's.
            const double allowed = fine ? 0.04 : 0.12;
            double taken = 0;
            for (int t = 0; t < 1800; t += 10) {
                taken += step(column, state, flood, 10).intake_mm;
                if (t + 10 != 300 && t + 10 != 900 && t + 10 != 1800) continue;
                const double philip = s * std::sqrt(t + 10.0);
                const double k = soil.saturated_mm_per_h / 3600 * (t + 10);
                CAPTURE(t);
                CHECK(taken > (1 - allowed) * (philip + k / 3));
                CHECK(taken < (1 + allowed) * (philip + 2 * k / 3));
            }
        }
    }
}

TEST_CASE("what dry air draws from a bed goes with the square root of time") {
    // Gardner 1959, Soil Sci. Soc. Am. Proc. 23:183-187: with a surface kept dry from the beginning
    // the sum goes with sqrt(t), so it doubles from
    // hour 2 to hour 8. The bottom at 300 mm and gravity take a little away; with days it is more.
    for (const TextureClass texture :
         {TextureClass::sandy_loam, TextureClass::loam, TextureClass::silt_loam,
          TextureClass::clay_loam, TextureClass::clay}) {
        CAPTURE(key(texture));
        const Column column = make_column(texture, 6, 0);
        ColumnState state = uniform_state(column, -33);
        SurfaceForcing f;
        f.evaporation_demand_mm_per_h = 5;
        f.surface_temp_c = 25;
        f.air_vapour_kpa = 1;
        double sum = 0;
        double after_2h = 0;
        for (int i = 0; i < 8 * 12; ++i) {
            sum += step(column, state, f, 300).evaporation_mm;
            if (i + 1 == 2 * 12) after_2h = sum;
        }
        CAPTURE(after_2h);
        CAPTURE(sum);
        CHECK(sum / after_2h > 1.8);
        CHECK(sum / after_2h < 2.1);
    }
}
