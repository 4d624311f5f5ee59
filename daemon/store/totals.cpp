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
        impl_->database.use("SELECT coalesce(max(dry), 0) FROM (SELECT sum(threshold_kpa < 0 AND"
                            " low_quarter_kpa < threshold_kpa) AS dry FROM moisture"
                            " WHERE time_s > ? AND time_s <= ? GROUP BY zone)");
    const Result<bool> moisture = lines.put(to_unix(from)).put(to_unix(to)).step();
    if (!moisture.ok()) return moisture.error();
    sum.dry_lines = lines.small(0);
    return sum;
}

} // namespace firstmow::store
