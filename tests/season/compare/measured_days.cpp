#include "compare/measured_days.hpp"

#include "compare/beds.hpp"
#include "watering/demand.hpp"

#include <algorithm>

namespace firstmow::compare {

std::vector<soil::SurfaceForcing>
measured_forcing(const weather::Place& place, const TimeZone& local,
                 std::span<const weather::Hour> hours, const Watering& watering,
                 soil::TextureClass texture, int first, int days) {
    std::vector<soil::SurfaceForcing> steps;
    if (hours.empty()) return steps;
    const Date day = add_days(local.local_date(hours.front().start), 1 + first);
    const WallTime from = local.to_wall(day, 0), to = local.to_wall(add_days(day, days), 0);
    const soil::Column column = soil::make_column(texture, kSeedDepth_mm, 0);
    soil::ColumnState bed = soil::uniform_state(column, -100);
    soil::HeatState heat = soil::uniform_heat(column, hours.front().air_temp_c);
    weather::CloudMemory clouds;
    const watering::SurfaceCover bare;
    for (const weather::Hour& hour : hours) {
        if (hour.start >= to) break;
        // The days before warm the soil and remember the clouds.
        const auto demand = watering::hour_demand(place, hour, clouds);
        for (int i = 0; i < 12; ++i) {
            const WallTime at = hour.start + Seconds{i * 300};
            double supply = demand.rain_mm_per_h;
            if (at >= from) {
                const LocalTime clock = local.to_local(at);
                supply += sprinkling_mm_per_h(watering, days_between(day, clock.date),
                                              (clock.second_of_day + kStep_s / 2) / 3600);
            }
            const auto f = watering::surface_forcing(demand, bare, supply, heat.skin_c);
            const double lost = soil::step(column, bed, f, kStep_s).evaporation_mm;
            soil::heat_step(column, bed, heat,
                            watering::skin_forcing(demand, bare, {lost * 3600 / kStep_s, 0}),
                            kStep_s);
            if (at >= from) steps.push_back(f);
        }
    }
    return steps;
}

} // namespace firstmow::compare
