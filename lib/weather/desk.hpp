// The desk: parcels from any number of sources come in, complete hours go out.
//
// What a station measured is judged first (quality.hpp). Then each value of an hour is taken from
// the best that is known of it: measured before forecast, the source that stands earlier in the
// garden's list before a later one, fresh before stale, hourly before coarse. A forecast is put
// right by what the station has shown of its errors lately (Bias), within bounds. What nobody gave
// is estimated or assumed (fill.hpp). Every value says whence it is.
//
// Pure: same parcels at the same times, same hours out. The state is a value that the shell keeps
// over a restart. Bounded: readings of three days back and ten ahead for each source.
#pragma once

#include "weather/parcel.hpp"
#include "weather/quality.hpp"

#include <deque>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace firstmow::weather {

// A source as the garden names it; its number is its place in the list, from 1 on.
struct DeskSource {
    std::string id;
    bool measures = false; // an instrument at the place: its hours are waited for
};

// By how much a forecast was wrong lately, as it is put right: a shift of temperature and humidity,
// a factor on wind and sun. Means of the last kBiasBack hours of which both are known, the newer
// ones heavier, drawn towards "no error" while they are few, and bounded. Rain is left as it is:
// its errors are of time and place, and a gauge's one shower says nothing about the next.
// (Running-mean bias removal is common in post-processing of forecasts, for instance Stensrud and
// Yussouf 2003; span, weights and bounds are ours.)
struct Bias {
    double temp_c = 0;       // -kMostTempBias_c..
    double humidity_pct = 0; // -kMostHumidityBias_pct..
    double wind_factor = 1;  // 1/kMostWindFactor..
    double solar_factor = 1; // 1/kMostSolarFactor..
    int hours = 0;           // that it is made from
    bool operator==(const Bias&) const = default;
};
inline constexpr int kBiasBack = 72; // hours
inline constexpr double kMostTempBias_c = 3;
inline constexpr double kMostHumidityBias_pct = 15;
inline constexpr double kMostWindFactor = 2.5;
inline constexpr double kMostSolarFactor = 1.25;

// All that the desk remembers.
struct DeskState {
    struct Measured {
        Reading told;
        Reading used; // without what was flagged
        bool operator==(const Measured&) const = default;
    };
    struct Said {
        Reading reading;
        WallTime retrieved;
        bool coarse = false;
        bool operator==(const Said&) const = default;
    };
    struct Source {
        std::map<WallTime, Measured> measured; // the last kKeepBack
        std::map<WallTime, Said> forecast;     // the same, and to kKeepAhead
        std::optional<WallTime> last_measured; // when the last parcel of that kind came
        std::optional<WallTime> last_forecast;
        std::deque<Flag> flags; // newest last, at most kMostFlags
        std::array<std::int64_t, kFlaws> flag_counts{};
        std::optional<WallTime> fahrenheit_said; // when people were told
        std::optional<WallTime> trouble_said;
        bool operator==(const Source&) const = default;
    };
    WallTime next;                // the first hour not yet given
    std::vector<Source> sources;  // of the list, and last the garden's own sensors
    std::vector<Reading> blended; // what hours were made from, the last kKeepBack, in order
    std::vector<Hour> ahead;      // the forecast given last
    std::optional<WallTime> ahead_given;
    bool operator==(const DeskState&) const = default;
};
inline constexpr std::chrono::hours kKeepBack{72};
inline constexpr std::chrono::hours kKeepAhead{240};
inline constexpr std::size_t kMostFlags = 40;

// What a look at the desk brings.
struct DeskNews {
    std::vector<Hour> passed;      // complete hours that have passed, in order, each given once
    std::vector<Hour> ahead;       // the forecast, when it changed enough to matter; else empty
    std::vector<std::string> said; // sentences: what a person should look at
};

class Desk {
public:
    // `first`: the first hour that is wanted.
    Desk(Place place, std::vector<DeskSource> sources, WallTime first);
    // Takes up again what was kept, if it fits the list (as many sources); else begins anew. Hours
    // are given from `first` on, whatever was given before.
    void take_up(DeskState state, WallTime first);

    void take(const Parcel& parcel, WallTime now);
    DeskNews look(WallTime now);

    // Of a source's forecast, against what was measured up to `now`.
    Bias bias(std::size_t source, WallTime now) const;
    const DeskState& state() const { return state_; }
    const std::vector<DeskSource>& sources() const { return sources_; }

private:
    void take_measured(DeskState::Source& source, const Parcel& parcel, WallTime now);
    void take_forecast(DeskState::Source& source, const Parcel& parcel, WallTime now);
    void flag(DeskState::Source& source, const Flag& flag);
    std::optional<double> expected_temp_c(const DeskState::Source& but, WallTime hour) const;
    bool worth_waiting(WallTime hour, WallTime now) const;
    struct Blend;
    Blend blend(WallTime hour, WallTime now, const std::vector<Bias>& biases) const;
    Hour made_of(const Blend& blend, std::span<const Reading> recent) const;
    void give_passed(DeskNews& news, WallTime now);
    void give_ahead(DeskNews& news, WallTime now);
    void drop_old(WallTime now);

    Place place_;
    std::vector<DeskSource> sources_; // with the garden's own sensors as the last
    DeskState state_;
    std::vector<std::string> said_;
};

} // namespace firstmow::weather
