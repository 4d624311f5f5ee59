// invent_weather: hours of invented weather as the weather CSV, on standard output.
#include "sim/world.hpp"
#include "weather/csv.hpp"

#include <CLI/CLI.hpp>

#include <cstdio>
#include <string>
#include <vector>

namespace {

using firstmow::parse_date;
using firstmow::parse_iso8601;
using firstmow::Result;
using firstmow::sim::DaySpan;

struct Arguments {
    firstmow::sim::WorldSpec spec;
    std::uint64_t seed = 1;
    std::string from;
    std::string hot_spell;
    std::string storm;
    std::string dewy;
};

Result<DaySpan> parse_span(const std::string& text) {
    const auto dots = text.find("..");
    if (dots != std::string::npos) {
        const auto first = parse_date(text.substr(0, dots));
        const auto last = parse_date(text.substr(dots + 2));
        if (first && last && firstmow::days_between(*first, *last) >= 0)
            return DaySpan{*first, *last};
    }
    return firstmow::Error{"'" + text +
                           "' is no run of days; write FIRST..LAST, such as "
                           "2026-09-20..2026-09-23"};
}

// The texts among the arguments, read.
firstmow::Status read_texts(Arguments& arguments) {
    const auto from = parse_iso8601(arguments.from);
    if (!from) return from.error();
    arguments.spec.from = *from;
    if (std::chrono::floor<std::chrono::hours>(*from) != *from)
        return firstmow::Error{arguments.from + " is not a full hour; write it without minutes"};
    if (!arguments.hot_spell.empty()) {
        const auto span = parse_span(arguments.hot_spell);
        if (!span) return span.error();
        arguments.spec.hot_spell = *span;
    }
    if (!arguments.dewy.empty()) {
        const auto span = parse_span(arguments.dewy);
        if (!span) return span.error();
        arguments.spec.dewy = *span;
    }
    if (!arguments.storm.empty()) {
        const auto day = parse_date(arguments.storm);
        if (!day) return day.error();
        arguments.spec.storm = *day;
    }
    return firstmow::Done{};
}

} // namespace

int main(int argc, char** argv) {
    Arguments arguments;
    CLI::App app{"Invents hourly weather for a place and writes it as the weather CSV."};
    app.add_option("--latitude", arguments.spec.place.latitude_deg, "degrees north")
        ->required()
        ->check(CLI::Range(-90.0, 90.0));
    app.add_option("--longitude", arguments.spec.place.longitude_deg, "degrees east")
        ->required()
        ->check(CLI::Range(-180.0, 180.0));
    app.add_option("--elevation", arguments.spec.place.elevation_m, "metres above the sea")
        ->check(CLI::Range(-430.0, 6000.0));
    app.add_option("--from", arguments.from, "first hour, UTC: 2026-08-22T00:00:00Z")->required();
    app.add_option("--hours", arguments.spec.hours, "how many")
        ->required()
        ->check(CLI::Range(1, firstmow::sim::kMostWorldHours));
    app.add_option("--seed", arguments.seed, "another number, other weather");
    app.add_option("--hot-spell", arguments.hot_spell, "days of heat, FIRST..LAST");
    app.add_option("--storm", arguments.storm, "the day of an evening thunderstorm");
    app.add_option("--dewy", arguments.dewy, "days with calm, dewy nights, FIRST..LAST");
    CLI11_PARSE(app, argc, argv);

    if (const auto read = read_texts(arguments); !read) {
        std::fprintf(stderr, "invent_weather: %s\n", read.error().message.c_str());
        return 2;
    }
    const std::string csv =
        firstmow::weather::write_csv(firstmow::sim::invent(arguments.spec, arguments.seed));
    if (std::fwrite(csv.data(), 1, csv.size(), stdout) != csv.size() || std::fflush(stdout) != 0) {
        std::fprintf(stderr, "invent_weather: standard output cannot be written\n");
        return 1;
    }
    return 0;
}
