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
        if (const auto observation = turf::observation_by_key(kind))
            return sim::Event{*time, engine::Observation{zone, *observation}};
        return fault(2,
                     "'" + std::string(kind) +
                         "' is no kind of event; seedlings_seen, first_mow, rooted, "
                         "surface_dry, puddling, nothing_yet, mown, water, hold or stop would be "
                         "right");
    }

private:
    bool has_zone(const std::string& id) const {
        return std::any_of(garden_.zones.begin(), garden_.zones.end(),
                           [&](const garden::Zone& z) { return z.id == id; });
    }

    std::optional<double> amount(double most, const char* what) {
        const auto value = parse_number(fields_[3]);
        if (value && *value > 0 && *value <= most) return value;
        fault(3, "'" + std::string(fields_[3]) + "' is no value here; write " + what);
        return std::nullopt;
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
