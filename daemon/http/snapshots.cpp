#include "http/snapshots.hpp"

#include "base/text.hpp"
#include "http/growth_json.hpp"
#include "tables/json_text.hpp"

#include <cmath>
#include <functional>
#include <map>

namespace firstmow::http {
namespace {

void write_layers(tables::JsonWriter& w, const engine::ZoneView& zone) {
    w.open('[', "layers");
    for (const engine::LayerView& layer : zone.layers) {
        w.open('{');
        w.number("top_mm", layer.top_mm, 1).number("bottom_mm", layer.bottom_mm, 1);
        w.number("water_fraction", layer.water_fraction, 4).number("kpa", layer.kpa, 1);
        w.close();
    }
    w.close();
}

// The outlook has even steps, so it travels as two rows of numbers.
void write_outlook(tables::JsonWriter& w, const engine::ZoneView& zone) {
    const auto& points = zone.outlook;
    if (points.size() < 2) {
        w.null("outlook");
        return;
    }
    w.open('{', "outlook");
    w.time("start", points.front().time);
    w.integer("step_s", (points[1].time - points[0].time).count());
    w.open('[', "seed_zone_kpa");
    for (const auto& point : points)
        w.raw_item(tables::json_number(point.seed_zone_kpa, 1));
    w.close();
    w.open('[', "low_quarter_kpa");
    for (const auto& point : points)
        w.raw_item(tables::json_number(point.low_quarter_kpa, 1));
    w.close();
    w.close();
}

void write_latch(tables::JsonWriter& w, std::string_view name,
                 const std::optional<engine::Latch>& latch) {
    if (!latch) {
        w.null(name);
        return;
    }
    w.open('{', name).time("since", latch->since).text("why", latch->why).close();
}

void write_zone(tables::JsonWriter& w, const engine::ZoneView& zone, WallTime now,
                const Backend& backend) {
    w.open('{');
    w.text("id", zone.id).text("name", zone.name).text("phase", turf::key(zone.phase));
    w.text("valve", zone.valve_open ? "open" : "closed");
    w.number("seed_zone_kpa", zone.seed_zone_kpa, 1);
    w.number("low_quarter_kpa", zone.low_quarter_kpa, 1);
    if (zone.next) {
        w.open('{', "next");
        w.time("start", zone.next->start).integer("run_s", zone.next->run_s);
        w.text("explanation", zone.next->explanation);
        w.close();
    } else {
        w.null("next");
    }
    w.time("hold_until", zone.hold_until);
    if (zone.mow_at) {
        w.open('{', "mow_planned");
        w.time("at", zone.mow_at).time("firm_from", zone.firm_from).close();
    } else {
        w.null("mow_planned");
    }
    // Beyond the contract.
    w.text("phase_name", turf::name(zone.phase));
    w.number("progress_pct", zone.progress_pct, 0);
    w.time("closes_at", zone.closes_at);
    write_latch(w, "locked", zone.lock);
    w.number("usual_l_per_min", zone.usual_l_per_min, 1);
    w.number("threshold_kpa", zone.threshold_kpa, 1);
    w.number("seed_depth_mm", zone.seed_depth_mm, 1);
    w.number("cover_fraction", zone.cover_fraction, 3);
    w.number("root_depth_mm", zone.root_depth_mm, 0);
    w.number("soil_temp_c", zone.soil_temp_c, 1);
    w.number("today_mm", zone.today_mm, 2).number("today_l", zone.today_l, 1);
    w.number("rate_mm_per_h", zone.rate_mm_per_h, 2);
    const auto facts = backend.zone(zone.id);
    w.raw("area_m2", facts ? tables::json_number(facts->area_m2, 1) : "null");
    if (facts && facts->start)
        w.text("start", to_string(*facts->start));
    else
        w.null("start");
    // Later phases judge the root zone instead of the seed zone.
    w.text("judged_by", zone.judge_root_zone ? "root_zone" : "seed_zone");
    w.number("depletion", zone.depletion, 3);
    w.number("allowed_depletion", zone.allowed_depletion, 3);
    w.time("sinks_until", zone.sinks_until);
    w.text("explanation", zone.explanation);
    w.open('[', "planned");
    for (const engine::PlannedRun& run : zone.planned) {
        w.open('{').time("start", run.start).integer("run_s", run.run_s);
        w.text("reason", run.reason).close();
    }
    w.close();
    // What was learned of the zone: over the model and the garden file.
    w.open('{', "factors");
    w.number("evaporation", zone.factors.evaporation, 3).number("rate", zone.factors.rate, 3);
    w.number("uniformity", zone.factors.uniformity, 3).number("intake", zone.factors.intake, 3);
    w.close();
    w.number("low_quarter_uniformity", zone.low_quarter, 3);
    if (zone.correction) {
        w.open('{', "correction");
        w.time("time", zone.correction->time).text("cause", zone.correction->cause);
        w.text("why", zone.correction->why).close();
    } else {
        w.null("correction");
    }
    // What can be taken back: POST .../undo with its number.
    if (zone.word) {
        w.open('{', "undo").integer("number", zone.word->number);
        w.text("what", zone.word->what).time("at", zone.word->at);
        w.time("until", zone.word->until).text("text", zone.word->text).close();
    } else {
        w.null("undo");
    }
    write_growth(w, zone, now, false);
    write_layers(w, zone);
    write_outlook(w, zone);
    w.close();
}

// A value of a label: backslash, quote and line feed are escaped.
std::string label(std::string_view text) {
    std::string out;
    for (const char c : text) {
        if (c == '\\' || c == '"') out += '\\';
        if (c == '\n')
            out += "\\n";
        else
            out += c;
    }
    return out;
}

class MetricsWriter {
public:
    void head(std::string_view name, std::string_view type, std::string_view help) {
        out_ += "# HELP " + std::string(name) + ' ' + std::string(help) + '\n';
        out_ += "# TYPE " + std::string(name) + ' ' + std::string(type) + '\n';
    }
    void sample(std::string_view name, double value, int decimals) {
        out_ += std::string(name) + ' ' + number(value, decimals) + '\n';
    }
    void sample(std::string_view name, std::string_view zone, double value, int decimals) {
        out_ +=
            std::string(name) + "{zone=\"" + label(zone) + "\"} " + number(value, decimals) + '\n';
    }
    void sample(std::string_view name, std::string_view zone, std::string_view species,
                double value, int decimals) {
        out_ += std::string(name) + "{zone=\"" + label(zone) + "\",species=\"" + label(species) +
                "\"} " + number(value, decimals) + '\n';
    }
    std::string take() { return std::move(out_); }
    void line(std::string_view text) { (out_ += text) += '\n'; }

private:
    static std::string number(double value, int decimals) {
        return std::isfinite(value) ? fixed(value, decimals) : "NaN";
    }
    std::string out_;
};

struct ZoneGauge {
    std::string_view name;
    std::string_view help;
    int decimals;
    double (*value)(const engine::ZoneView&);
};

constexpr ZoneGauge kZoneGauges[] = {
    {"firstmow_valve_open", "1 while the zone's valve is open.", 0,
     [](const engine::ZoneView& z) { return z.valve_open ? 1.0 : 0.0; }},
    {"firstmow_seed_zone_kpa", "Matric potential of the seed zone, mean of the zone.", 1,
     [](const engine::ZoneView& z) { return z.seed_zone_kpa; }},
    {"firstmow_low_quarter_kpa", "Matric potential of the seed zone in the driest quarter.", 1,
     [](const engine::ZoneView& z) { return z.low_quarter_kpa; }},
    {"firstmow_threshold_kpa", "The driest quarter shall stay wetter than this.", 1,
     [](const engine::ZoneView& z) { return z.threshold_kpa; }},
    {"firstmow_depletion_ratio", "Used share of the root zone's available water, 0 to 1.", 3,
     [](const engine::ZoneView& z) { return z.depletion; }},
    {"firstmow_soil_temp_celsius", "Soil temperature at seed depth.", 1,
     [](const engine::ZoneView& z) { return z.soil_temp_c; }},
    {"firstmow_cover_ratio", "Green ground cover, 0 to 1.", 3,
     [](const engine::ZoneView& z) { return z.cover_fraction; }},
    {"firstmow_applied_today_mm", "Depth of water applied since local midnight.", 2,
     [](const engine::ZoneView& z) { return z.today_mm; }},
    {"firstmow_applied_today_litres", "Water applied since local midnight.", 1,
     [](const engine::ZoneView& z) { return z.today_l; }},
    {"firstmow_held", "1 while the zone is on hold.", 0,
     [](const engine::ZoneView& z) { return z.hold_until ? 1.0 : 0.0; }},
};

// What is being established: how much of the seed lives, how much of each species is up.
void write_stands(MetricsWriter& m, const engine::GardenView& view) {
    struct StandGauge {
        std::string_view name;
        std::string_view help;
        double (*value)(const turf::Stand&);
    };
    constexpr StandGauge kGauges[] = {
        {"firstmow_stand_ratio", "Share of the seed that is alive, mean of the zone, 0 to 1.",
         [](const turf::Stand& s) { return s.alive; }},
        {"firstmow_stand_driest_quarter_ratio", "The same in the driest quarter of the zone.",
         [](const turf::Stand& s) { return s.alive_driest_quarter; }},
    };
    const auto sown = [](const engine::ZoneView& zone) { return !zone.prospect.species.empty(); };
    for (const StandGauge& gauge : kGauges) {
        m.head(gauge.name, "gauge", gauge.help);
        for (const engine::ZoneView& zone : view.zones)
            if (sown(zone)) m.sample(gauge.name, zone.id, gauge.value(zone.stand), 3);
    }
    constexpr std::string_view kUp = "firstmow_emergence_ratio";
    m.head(kUp, "gauge",
           "Share of the seedlings that could have come, up and alive, by species, 0 to 1.");
    for (const engine::ZoneView& zone : view.zones)
        for (const turf::SpeciesProspect& species : zone.prospect.species)
            m.sample(kUp, zone.id, turf::traits(species.species).key, species.up, 3);
}

} // namespace

namespace {

void write_shortfalls(tables::JsonWriter& w, std::span<const engine::ShortfallView> shortfalls) {
    w.open('[', "shortfalls");
    for (const engine::ShortfallView& s : shortfalls) {
        w.open('{').text("zone", s.zone).text("at_stake", s.at_stake).time("until", s.until);
        w.number("dry_hours", s.dry_hours, 1).number("lowest_kpa", s.lowest_kpa, 0);
        w.open('[', "spells");
        for (const engine::DryStretch& spell : s.spells) {
            w.open('{').time("from", spell.from).time("until", spell.until);
            w.number("lowest_kpa", spell.lowest_kpa, 0).close();
        }
        w.close();
        w.open('[', "helps");
        for (const engine::Help& help : s.helps)
            w.open('{').text("what", help.what).number("dry_hours", help.dry_hours, 1).close();
        w.close();
        w.text("text", s.text).close();
    }
    w.close();
}

} // namespace

std::string status_json(const engine::GardenView& view, const Backend& backend) {
    tables::JsonWriter w;
    w.open('{');
    w.time("time", view.time);
    w.text("site", view.site_name).text("timezone", view.timezone).text("units", view.units);
    w.open('[', "clock_offsets");
    for (const engine::ClockOffset& offset : view.clock_offsets)
        w.open('{')
            .time("from", offset.from)
            .integer("utc_offset_s", offset.utc_offset.count())
            .close();
    w.close();
    w.time("weather_until", view.weather_until);
    w.text("weather_note", view.weather_note);
    w.number("air_temp_c", view.air_temp_c, 1);
    w.number("et_short_mm_per_h", view.et_short_mm_per_h, 3);
    w.open('[', "rain_ahead");
    for (const engine::RainAhead& rain : view.rain_ahead) {
        w.open('{').time("start", rain.start).number("rain_mm", rain.rain_mm, 1);
        w.number("probability", rain.probability, 2).close();
    }
    w.close();
    write_latch(w, "stopped", view.stop);
    w.boolean("clock_trusted", view.clock_trusted);
    w.open('[', "sensors");
    for (const engine::SensorView& sensor : view.sensors) {
        w.open('{').text("id", sensor.id).text("kind", sensor.kind);
        w.number("value", sensor.value, 3).time("heard", sensor.heard);
        w.boolean("silent", sensor.silent);
        if (const auto place = backend.sensor_place(sensor.id)) {
            w.text("zone", place->zone).number("depth_mm", place->depth_mm, 0);
            w.text("unit", place->tension ? "kPa" : "");
        }
        w.close();
    }
    w.close();
    w.open('[', "zones");
    for (const engine::ZoneView& zone : view.zones)
        write_zone(w, zone, view.time, backend);
    w.close();
    write_shortfalls(w, view.shortfalls);
    w.open('[', "notices");
    for (const engine::NoticeView& notice : view.notices) {
        w.open('{');
        w.time("time", notice.time).text("zone", notice.zone);
        w.text("severity", notice.severity).text("text", notice.text);
        w.text("code", notice.code);
        w.close();
    }
    w.close();
    w.close();
    return w.take();
}

std::string course_json(std::span<const engine::Moisture> rows, WallTime from, WallTime to) {
    constexpr Seconds kStep{1800};
    // Half hour -> the last wetness in it and the sums of its flows.
    struct Slot {
        double seed_zone_kpa = 0;
        double low_quarter_kpa = 0;
        double rain_mm = 0;
        double applied_mm = 0;
    };
    std::map<std::string, std::map<std::int64_t, Slot>, std::less<>> zones;
    for (const engine::Moisture& row : rows) {
        if (row.time < from || row.time >= to) continue;
        Slot& slot = zones[row.zone][(row.time - from) / kStep];
        slot.seed_zone_kpa = row.seed_zone_kpa;
        slot.low_quarter_kpa = row.low_quarter_kpa;
        slot.rain_mm += row.rain_mm;
        slot.applied_mm += row.applied_mm;
    }
    tables::JsonWriter w;
    w.open('{').time("from", from).time("to", to).integer("step_s", kStep.count());
    w.open('{', "zones");
    for (const auto& [zone, slots] : zones) {
        w.open('[', zone);
        for (const auto& [index, slot] : slots) {
            w.open('{').time("time", from + index * kStep);
            w.number("seed_zone_kpa", slot.seed_zone_kpa, 1);
            w.number("low_quarter_kpa", slot.low_quarter_kpa, 1);
            w.number("rain_mm", slot.rain_mm, 2).number("applied_mm", slot.applied_mm, 2);
            w.close();
        }
        w.close();
    }
    w.close().close();
    return w.take();
}

std::string metrics_text(const engine::GardenView* view, const Health& health,
                         const ServerCounts& counts, bool open_metrics) {
    MetricsWriter m;
    m.head("firstmow_up", "gauge", "1 while the control loop steps as it should.");
    m.sample("firstmow_up", health.ok ? 1 : 0, 0);
    m.head("firstmow_step_age_seconds", "gauge", "Time since the engine's last step.");
    m.sample("firstmow_step_age_seconds", static_cast<double>(health.step_age.count()), 0);
    m.head("firstmow_http_connections", "gauge", "Open connections.");
    m.sample("firstmow_http_connections", static_cast<double>(counts.connections), 0);
    m.head("firstmow_http_streams", "gauge", "Open event streams.");
    m.sample("firstmow_http_streams", static_cast<double>(counts.streams), 0);
    m.head(open_metrics ? "firstmow_http_requests" : "firstmow_http_requests_total", "counter",
           "Requests answered since the start.");
    m.sample("firstmow_http_requests_total", static_cast<double>(counts.requests), 0);
    if (view != nullptr) {
        m.head("firstmow_air_temp_celsius", "gauge", "Air temperature of the hour in force.");
        m.sample("firstmow_air_temp_celsius", view->air_temp_c, 1);
        m.head("firstmow_et_short_mm_per_hour", "gauge",
               "Short reference evapotranspiration of the hour in force.");
        m.sample("firstmow_et_short_mm_per_hour", view->et_short_mm_per_h, 3);
        for (const ZoneGauge& gauge : kZoneGauges) {
            m.head(gauge.name, "gauge", gauge.help);
            for (const engine::ZoneView& zone : view->zones)
                m.sample(gauge.name, zone.id, gauge.value(zone), gauge.decimals);
        }
        write_stands(m, *view);
    }
    if (open_metrics) m.line("# EOF");
    return m.take();
}

} // namespace firstmow::http
