// A span of the journal summed up by the database itself: a row of days must not read every line.
#include "store/impl.hpp"

namespace firstmow::store {

Result<SpanTotals> Store::totals(WallTime from, WallTime to) {
    SpanTotals sum;
    Statement air = impl_->database.use(
        "SELECT count(*), max(air_temp_c), min(air_temp_c), sum(max(et_short_mm, 0)), sum(rain_mm)"
        " FROM weather_used WHERE hour_s >= ? AND hour_s < ?");
    const Result<bool> weather = air.put(to_unix(from)).put(to_unix(to)).step();
    if (!weather.ok()) return weather.error();
    sum.hours = air.small(0);
    if (sum.hours > 0) {
        sum.high_c = air.real(1);
        sum.low_c = air.real(2);
        sum.et_short_mm = air.real(3);
        sum.rain_mm = air.real(4);
    }
    Statement runs = impl_->database.use("SELECT count(*), coalesce(sum(volume_l), 0) FROM cycles"
                                         " WHERE start_s >= ? AND start_s < ?");
    const Result<bool> cycles = runs.put(to_unix(from)).put(to_unix(to)).step();
    if (!cycles.ok()) return cycles.error();
    sum.runs = runs.small(0);
    sum.volume_l = runs.real(1);
    Statement lines =
        impl_->database.use("SELECT zone, count(*) FROM moisture WHERE time_s > ? AND time_s <= ?"
                            " AND threshold_kpa < 0 AND low_quarter_kpa < threshold_kpa"
                            " GROUP BY zone ORDER BY zone");
    lines.put(to_unix(from)).put(to_unix(to));
    for (;;) {
        const Result<bool> row = lines.step();
        if (!row.ok()) return row.error();
        if (!*row) return sum;
        sum.dry.push_back({lines.text(0), lines.small(1)});
    }
}

Result<int> Store::dry_lines_after_water(std::string_view zone, WallTime from, WallTime to) {
    Statement lines = impl_->database.use(
        "SELECT count(*) FROM moisture WHERE zone = ?1 AND time_s <= ?3 AND threshold_kpa < 0"
        " AND low_quarter_kpa < threshold_kpa AND time_s > (SELECT min(time_s) FROM moisture"
        " WHERE zone = ?1 AND time_s > ?2 AND time_s <= ?3 AND rain_mm + applied_mm > 0)");
    const Result<bool> row = lines.put(zone).put(to_unix(from)).put(to_unix(to)).step();
    if (!row.ok()) return row.error();
    return lines.small(0);
}

} // namespace firstmow::store
