#include "engine/codec_guards.hpp"

namespace firstmow::engine {

namespace {

Json mono_json(MonoTime t) {
    return t.time_since_epoch().count();
}
Json moment_json(const Moment& m) {
    return Json::array({to_json_value(m.wall), mono_json(m.mono)});
}
Json maybe_moment_json(const std::optional<Moment>& m) {
    return m ? moment_json(*m) : Json(nullptr);
}
Json latch_json(const std::optional<Latch>& latch) {
    if (!latch) return nullptr;
    return {{"since", to_json_value(latch->since)}, {"why", latch->why}};
}
Json line_json(const SupplyLine& line) {
    return {{"stage", static_cast<int>(line.stage)},
            {"since", moment_json(line.since)},
            {"asked_ms", mono_json(line.asked)},
            {"lease_end_ms", mono_json(line.lease_end)}};
}

MonoTime read_mono(Reader& r, const Json& object, const char* key) {
    return MonoTime{Millis{r.integer(object, key)}};
}
Moment read_pair(Reader& r, const Json& pair) {
    if (!pair.is_array() || pair.size() != 2 || !pair[0].is_number_integer() ||
        !pair[1].is_number_integer()) {
        r.fail("a moment is not two whole numbers");
        return {};
    }
    return {wall_from_unix(pair[0].get<std::int64_t>()),
            MonoTime{Millis{pair[1].get<std::int64_t>()}}};
}
Moment read_moment(Reader& r, const Json& object, const char* key) {
    return read_pair(r, r.at(object, key));
}
std::optional<Moment> maybe_moment(Reader& r, const Json& object, const char* key) {
    const Json& pair = r.at(object, key);
    if (pair.is_null()) return std::nullopt;
    return read_pair(r, pair);
}
std::optional<Latch> read_latch(Reader& r, const Json& object, const char* key) {
    const Json& latch = r.at(object, key);
    if (latch.is_null()) return std::nullopt;
    return Latch{r.time(latch, "since"), r.text(latch, "why")};
}
SupplyLine read_line(Reader& r, const Json& object, const char* key) {
    const Json& j = r.at(object, key);
    SupplyLine line;
    line.stage = r.choice(j, "stage", SupplyLine::Stage::closing);
    line.since = read_moment(r, j, "since");
    line.asked = read_mono(r, j, "asked_ms");
    line.lease_end = read_mono(r, j, "lease_end_ms");
    return line;
}

} // namespace

Json guard_json(const ZoneGuard& guard) {
    Json poured = Json::array();
    for (const Poured& p : guard.poured)
        poured.push_back({{"end", moment_json(p.end)}, {"mm", p.mm}});
    return {{"ended", maybe_moment_json(guard.ended)},
            {"poured", std::move(poured)},
            {"lock", latch_json(guard.lock)},
            {"usual_l_per_min", guard.usual_l_per_min},
            {"flow_runs", guard.flow_runs},
            {"run_l", guard.run_l},
            {"run_min", guard.run_min},
            {"told_little", guard.told_little}};
}

ZoneGuard read_guard(Reader& r, const Json& zone) {
    ZoneGuard guard;
    if (!Reader::has(zone, "guard")) return guard;
    const Json& j = zone["guard"];
    guard.ended = maybe_moment(r, j, "ended");
    for (const Json& p : r.list(j, "poured"))
        guard.poured.push_back({read_moment(r, p, "end"), r.number(p, "mm")});
    guard.lock = read_latch(r, j, "lock");
    guard.usual_l_per_min = r.number(j, "usual_l_per_min");
    guard.flow_runs = static_cast<int>(r.integer(j, "flow_runs"));
    guard.run_l = r.number(j, "run_l");
    guard.run_min = r.number(j, "run_min");
    guard.told_little = r.boolean(j, "told_little");
    return guard;
}

Json guards_json(const Guards& g) {
    Json sensors = Json::array();
    for (const SensorState& s : g.sensors)
        sensors.push_back({{"id", s.id},
                           {"heard", maybe_moment_json(s.heard)},
                           {"changed", maybe_moment_json(s.changed)},
                           {"value", s.value},
                           {"refused", s.refused},
                           {"jumps", s.jumps},
                           {"jumped_to", s.jumped_to},
                           {"silent", s.silent}});
    Json counts = Json::array();
    for (const Count& c : g.counts)
        counts.push_back({{"at_ms", mono_json(c.at)}, {"litres", c.litres}});
    Json gauge = Json::array();
    for (const GaugeHour& hour : g.gauge)
        gauge.push_back({{"start", to_json_value(hour.start)},
                         {"mm", hour.mm},
                         {"watched_s", hour.watched.count()}});
    return {{"stop", latch_json(g.stop)},
            {"button", g.button},
            {"clock_trusted", g.clock_trusted},
            {"master", line_json(g.master)},
            {"pump", line_json(g.pump)},
            {"pump_started", maybe_moment_json(g.pump_started)},
            {"last_closed", maybe_moment_json(g.last_closed)},
            {"supply_failed", maybe_moment_json(g.supply_failed)},
            {"supply_faults", g.supply_faults},
            {"sensors", std::move(sensors)},
            {"counts", std::move(counts)},
            {"dry_since_ms", g.dry_since ? mono_json(*g.dry_since) : Json(nullptr)},
            {"last_zone", g.last_zone},
            {"gauge", std::move(gauge)}};
}

Guards read_guards(Reader& r, const Json& state, Guards fresh) {
    if (!Reader::has(state, "guards")) return fresh;
    const Json& j = state["guards"];
    Guards g = std::move(fresh);
    g.stop = read_latch(r, j, "stop");
    g.button = r.boolean(j, "button");
    g.clock_trusted = r.boolean(j, "clock_trusted");
    g.master = read_line(r, j, "master");
    g.pump = read_line(r, j, "pump");
    g.pump_started = maybe_moment(r, j, "pump_started");
    g.last_closed = maybe_moment(r, j, "last_closed");
    g.supply_failed = maybe_moment(r, j, "supply_failed");
    g.supply_faults = static_cast<int>(r.integer(j, "supply_faults"));
    for (const Json& s : r.list(j, "sensors"))
        for (SensorState& sensor : g.sensors) {
            if (sensor.id != r.text(s, "id")) continue;
            sensor.heard = maybe_moment(r, s, "heard");
            sensor.changed = maybe_moment(r, s, "changed");
            sensor.value = r.number(s, "value");
            sensor.refused = static_cast<int>(r.integer(s, "refused"));
            sensor.jumps = static_cast<int>(r.integer(s, "jumps"));
            sensor.jumped_to = r.number(s, "jumped_to");
            sensor.silent = r.boolean(s, "silent");
        }
    for (const Json& c : r.list(j, "counts"))
        g.counts.push_back({read_mono(r, c, "at_ms"), r.number(c, "litres")});
    if (!r.at(j, "dry_since_ms").is_null()) g.dry_since = read_mono(r, j, "dry_since_ms");
    g.last_zone = r.text(j, "last_zone");
    for (const Json& hour : r.list(j, "gauge"))
        g.gauge.push_back(
            {r.time(hour, "start"), r.number(hour, "mm"), Seconds{r.integer(hour, "watched_s")}});
    return g;
}

} // namespace firstmow::engine
