#include "events.hpp"

#include "base/text.hpp"
#include "commands.hpp"
#include "host/files.hpp"

#include <algorithm>
#include <array>
#include <cstdio>

namespace firstmow::companion {

namespace {

constexpr std::string_view kHeader = "time,zone,kind,value";
constexpr double kMostMinutes = 240;
constexpr double kMostHours = 336;

class EventLine {
public:
    EventLine(const std::string& path, int line, std::string_view text,
              const garden::Garden& garden)
        : path_(path), line_(line), fields_(split_commas(text)), garden_(garden) {}

    std::optional<sim::Event> read() {
        if (fields_.size() != 4)
            return fault(0, "has " + std::to_string(fields_.size()) +
                                " fields; four would be right: " + std::string(kHeader));
        const Result<WallTime> time = parse_iso8601(fields_[0]);
        if (!time) return fault(0, time.error().message);
        const std::string zone(fields_[1]);
        const std::string_view kind = fields_[2];
        const bool everything = kind == "stop" && zone.empty();
        if (!everything && !has_zone(zone)) {
            std::vector<std::string_view> ids;
            for (const garden::Zone& z : garden_.zones)
                ids.push_back(z.id);
            const auto near = nearest(zone, ids);
            return fault(1, "the garden has no zone '" + zone + "'" +
                                (near ? "; did you mean '" + *near + "'?" : ""));
        }
        if (kind == "stop") return sim::Event{*time, engine::StopOrder{zone}};
        if (kind == "water") {
            const auto minutes = amount(kMostMinutes, "minutes, 1 to 240");
            if (!minutes) return std::nullopt;
            return sim::Event{
                *time, engine::WaterOrder{zone, static_cast<int>(std::max(1.0, *minutes * 60))}};
        }
        if (kind == "hold") {
            const auto hours = amount(kMostHours, "hours, up to 336");
            if (!hours) return std::nullopt;
            return sim::Event{
                *time,
                engine::HoldOrder{zone, *time + Seconds{static_cast<std::int64_t>(*hours * 3600)}}};
        }
        if (kind == "mow_planned") {
            if (fields_[3] == "never")
                return sim::Event{*time, engine::MowPlan{zone, std::nullopt}};
            const auto hours = amount(kMostHours, "hours until then, up to 336, or never");
            if (!hours) return std::nullopt;
            return sim::Event{
                *time,
                engine::MowPlan{zone, *time + Seconds{static_cast<std::int64_t>(*hours * 3600)}}};
        }
        if (const auto observation = turf::observation_by_key(kind))
            return sim::Event{*time, engine::Observation{zone, *observation}};
        if (kind == "catch_cans") return cans(*time, zone);
        if (kind == "soil_probe") return probe(*time, zone);
        if (kind == "forget") {
            if (fields_[3] == "last" || fields_[3] == "all")
                return sim::Event{*time, engine::CorrectionUndo{zone, fields_[3] == "all"}};
            return no_value("last or all");
        }
        return fault(2, "'" + std::string(kind) +
                            "' is no kind of event; seedlings_seen, first_mow, rooted, "
                            "surface_dry, puddling, nothing_yet, mown, catch_cans, soil_probe, "
                            "forget, water, hold, mow_planned or "
                            "stop would be right");
    }

private:
    bool has_zone(const std::string& id) const {
        return std::any_of(garden_.zones.begin(), garden_.zones.end(),
                           [&](const garden::Zone& z) { return z.id == id; });
    }

    std::optional<double> amount(double most, const char* what) {
        const auto value = parse_number(fields_[3]);
        if (value && *value > 0 && *value <= most) return value;
        return no_value(what);
    }

    // "10 min 2.1 1.8 2.4 mm".
    std::optional<sim::Event> cans(WallTime time, const std::string& zone) {
        constexpr const char* kRight = "minutes and readings, such as 10 min 2.1 1.8 2.4 mm";
        const std::vector<std::string_view> words = words_of(fields_[3]);
        if (words.size() < 4 || words[1] != "min" || words.back() != "mm") return no_value(kRight);
        engine::CatchCanTest test;
        test.zone = zone;
        test.cans.minutes = parse_number(words[0]).value_or(0);
        for (std::size_t i = 2; i + 1 < words.size(); ++i) {
            const auto depth = parse_number(words[i]);
            if (!depth) return no_value(kRight);
            test.cans.depth_mm.push_back(*depth);
        }
        if (const auto evaluated = garden::evaluate(test.cans); !evaluated)
            return fault(3, "the cans are no test: " + evaluated.error().message);
        return sim::Event{time, std::move(test)};
    }

    // "50 mm 21 %" or "50 mm -35 kPa".
    std::optional<sim::Event> probe(WallTime time, const std::string& zone) {
        constexpr const char* kRight = "a depth and a reading, such as 50 mm 21 % or 50 mm -35 kPa";
        constexpr double kNone = -1e9; // in no range
        const std::vector<std::string_view> words = words_of(fields_[3]);
        if (words.size() != 4 || words[1] != "mm") return no_value(kRight);
        engine::SoilProbe probe;
        probe.zone = zone;
        probe.depth_mm = parse_number(words[0]).value_or(kNone);
        const double value = parse_number(words[2]).value_or(kNone);
        if (words[3] == "%" && value >= 0 && value <= 70)
            probe.water_fraction = value / 100;
        else if (words[3] == "kPa" && value <= 0 && value >= -1e5)
            probe.kpa = value;
        else
            return no_value(kRight);
        if (probe.depth_mm < 5 || probe.depth_mm > 300) return no_value(kRight);
        return sim::Event{time, std::move(probe)};
    }

    static std::vector<std::string_view> words_of(std::string_view text) {
        std::vector<std::string_view> words;
        while (!text.empty()) {
            const std::string_view word = text.substr(0, text.find(' '));
            if (!word.empty()) words.push_back(word);
            text.remove_prefix(std::min(word.size() + 1, text.size()));
        }
        return words;
    }

    std::nullopt_t no_value(const char* right) {
        return fault(3, "'" + std::string(fields_[3]) + "' is no value here; write " + right);
    }

    std::nullopt_t fault(std::size_t field, const std::string& what) {
        std::size_t column = 1;
        for (std::size_t i = 0; i < field && i < fields_.size(); ++i)
            column += fields_[i].size() + 1;
        std::fprintf(stderr, "%s:%d:%zu: %s\n", path_.c_str(), line_, column, what.c_str());
        return std::nullopt;
    }

    const std::string& path_;
    int line_;
    std::vector<std::string_view> fields_;
    const garden::Garden& garden_;
};

} // namespace

std::optional<std::vector<sim::Event>> read_events(const std::string& path,
                                                   const garden::Garden& garden) {
    const Result<std::string> text = host::read_file(path);
    if (!text) {
        complain(text.error().message);
        return std::nullopt;
    }
    if (text->empty()) {
        std::fprintf(stderr, "%s:1:1: the file is empty; its first line is %s\n", path.c_str(),
                     std::string(kHeader).c_str());
        return std::nullopt;
    }
    std::vector<sim::Event> events;
    bool good = true;
    int line = 0;
    for (std::string_view rest = *text; !rest.empty();) {
        const auto end = rest.find('\n');
        std::string_view one = rest.substr(0, end);
        rest.remove_prefix(end == std::string_view::npos ? rest.size() : end + 1);
        if (!one.empty() && one.back() == '\r') one.remove_suffix(1);
        if (++line == 1) {
            if (one == kHeader) continue;
            std::fprintf(stderr, "%s:1:1: the header is '%s'; '%s' would be right\n", path.c_str(),
                         std::string(one.substr(0, 80)).c_str(), std::string(kHeader).c_str());
            return std::nullopt;
        }
        if (one.empty()) continue;
        if (auto event = EventLine(path, line, one, garden).read())
            events.push_back(std::move(*event));
        else
            good = false;
    }
    if (!good) return std::nullopt;
    std::stable_sort(events.begin(), events.end(),
                     [](const sim::Event& a, const sim::Event& b) { return a.time < b.time; });
    return events;
}

} // namespace firstmow::companion
