// What stands between an order and water: [interlocks], [master_valve] and [pump].
#include "garden/sections.hpp"

#include "garden/wording.hpp"

#include <string_view>

namespace firstmow::garden {

namespace {

constexpr Field kFields[] = {
    {"zones_at_once", false, "zones_at_once = 2"},
    {"rest_between_runs", false, "rest_between_runs = \"30 min\""},
    {"most_per_day", false, "most_per_day = \"20 mm\""},
    {"frost", false, "frost = \"1 C\""},
    {"wind", false, "wind = \"6 m/s\""},
};
constexpr Field kMasterFields[] = {
    {"valve", true, "valve = { driver = \"simulated\", channel = 9 }"},
    {"lead", false, "lead = \"2 s\""},
    {"lag", false, "lag = \"2 s\""},
};
constexpr Field kPumpFields[] = {
    {"relay", true, "relay = { driver = \"simulated\", channel = 10 }"},
    {"rest", false, "rest = \"5 min\""},
    {"longest", false, "longest = \"2 h\""},
    {"stop_before", false, "stop_before = \"2 s\""},
    {"dry_after", false, "dry_after = \"30 s\""},
};

void read_span(const Fields& fields, std::string_view key, Range range, int& seconds) {
    if (const auto span = fields.quantity(key, Dimension::duration_s, range))
        seconds = whole_seconds(*span);
}

} // namespace

Interlocks read_interlocks(const Node& table, Errors& errors) {
    const Fields fields(table, "[interlocks]", kFields, errors);
    Interlocks interlocks;
    // The keeper opens 16 outputs at most; two may be master valve and pump.
    if (const auto most = fields.integer("zones_at_once", 1, 14)) interlocks.zones_at_once = *most;
    read_span(fields, "rest_between_runs", {0, 86400}, interlocks.rest_between_runs_s);
    if (const auto most = fields.quantity("most_per_day", Dimension::depth_mm, {1, 500}))
        interlocks.most_per_day_mm = *most;
    if (const auto frost = fields.quantity("frost", Dimension::temperature_c, {-10, 10}))
        interlocks.frost_c = *frost;
    interlocks.wind_m_s = fields.quantity("wind", Dimension::speed_m_s, {1, 30});
    return interlocks;
}

ReadMaster read_master(const Node& table, Errors& errors) {
    const Fields fields(table, "[master_valve]", kMasterFields, errors);
    ReadMaster read;
    if (const Node* const valve = fields.table("valve"))
        read.valve_at = read_valve(*valve, "valve of [master_valve]", read.master.valve, errors);
    read_span(fields, "lead", {0, 60}, read.master.lead_s);
    read_span(fields, "lag", {0, 60}, read.master.lag_s);
    return read;
}

ReadPump read_pump(const Node& table, Errors& errors) {
    const Fields fields(table, "[pump]", kPumpFields, errors);
    ReadPump read;
    if (const Node* const relay = fields.table("relay"))
        read.relay_at = read_valve(*relay, "relay of [pump]", read.pump.relay, errors);
    read_span(fields, "rest", {0, 3600}, read.pump.rest_s);
    read_span(fields, "longest", {60, 14400}, read.pump.longest_s);
    read_span(fields, "stop_before", {0, 30}, read.pump.stop_before_s);
    read_span(fields, "dry_after", {5, 600}, read.pump.dry_after_s);
    if (const Node* const dry = fields.find("dry_after")) read.dry_after_at = dry->spot;
    return read;
}

} // namespace firstmow::garden
