#include "weather/desk_codec.hpp"

#include "weather/json_in.hpp"

namespace firstmow::weather_source {

namespace {

using weather::DeskState;
using weather::Flag;
using weather::Reading;

constexpr int kVersion = 1;
constexpr std::size_t kMostEntries = 2000;

Json maybe(const std::optional<double>& value) {
    return value ? Json(*value) : Json(nullptr);
}
Json maybe(const std::optional<WallTime>& time) {
    return time ? Json(to_unix(*time)) : Json(nullptr);
}

// Start, the values in the order of Variable, the probability. Before there were soil temperatures
// a list was shorter by one.
constexpr std::size_t kFirstVariables = 7;

Json reading_json(const Reading& r) {
    Json list = Json::array({to_unix(r.start)});
    for (const auto value : weather::kReadingValues)
        list.push_back(maybe(r.*value));
    list.push_back(maybe(r.rain_probability));
    return list;
}

class Taker {
public:
    bool ok() const { return ok_; }
    WallTime time(const Json& value) {
        if (!value.is_number_integer()) return fail(WallTime{});
        return wall_from_unix(value.get<std::int64_t>());
    }
    std::optional<WallTime> maybe_time(const Json& value) {
        if (value.is_null()) return std::nullopt;
        return time(value);
    }
    std::int64_t whole(const Json& value) {
        return value.is_number_integer() ? value.get<std::int64_t>() : fail(std::int64_t{0});
    }
    Reading reading(const Json& list) {
        Reading r;
        if (!list.is_array() || list.size() < kFirstVariables + 2 ||
            list.size() > weather::kVariables + 2)
            return fail(r);
        const std::size_t values = list.size() - 2;
        r.start = time(list[0]);
        for (std::size_t i = 0; i < values; ++i)
            r.*weather::kReadingValues[i] = number(list[i + 1]);
        r.rain_probability = number(list[values + 1]);
        return r;
    }
    const Json& list(const Json& object, const char* key) {
        static const Json kEmpty = Json::array();
        const Json& value = member(object, key);
        if (value.is_array() && value.size() <= kMostEntries) return value;
        ok_ = false;
        return kEmpty;
    }

    DeskState::Source source(const Json& object) {
        DeskState::Source s;
        for (const Json& pair : list(object, "measured")) {
            if (!pair.is_array() || pair.size() != 2) return fail(s);
            const DeskState::Measured m{reading(pair[0]), reading(pair[1])};
            s.measured[m.told.start] = m;
        }
        for (const Json& triple : list(object, "forecast")) {
            if (!triple.is_array() || triple.size() != 3 || !triple[2].is_boolean()) return fail(s);
            const DeskState::Said said{reading(triple[0]), time(triple[1]), triple[2].get<bool>()};
            s.forecast[said.reading.start] = said;
        }
        s.last_measured = maybe_time(member(object, "last_measured"));
        s.last_forecast = maybe_time(member(object, "last_forecast"));
        for (const Json& one : list(object, "flags")) {
            if (!one.is_array() || one.size() != 4) return fail(s);
            const std::int64_t variable = whole(one[1]);
            const std::int64_t flaw = whole(one[2]);
            if (variable < 0 || variable >= static_cast<std::int64_t>(weather::kVariables) ||
                flaw < 0 || flaw >= static_cast<std::int64_t>(weather::kFlaws))
                return fail(s);
            s.flags.push_back({time(one[0]), static_cast<weather::Variable>(variable),
                               static_cast<weather::Flaw>(flaw), number(one[3]).value_or(0)});
            if (s.flags.size() > weather::kMostFlags) s.flags.pop_front();
        }
        const Json& counts = list(object, "flag_counts");
        for (std::size_t i = 0; i < std::min(counts.size(), s.flag_counts.size()); ++i)
            s.flag_counts[i] = whole(counts[i]);
        s.fahrenheit_said = maybe_time(member(object, "fahrenheit_said"));
        s.trouble_said = maybe_time(member(object, "trouble_said"));
        return s;
    }

private:
    template <class T>
    T fail(T instead) {
        ok_ = false;
        return instead;
    }
    bool ok_ = true;
};

Json ids_of(const std::vector<weather::DeskSource>& sources) {
    Json ids = Json::array();
    for (const weather::DeskSource& source : sources)
        ids.push_back(source.id);
    return ids;
}

} // namespace

std::string encode_desk(const DeskState& state, const std::vector<weather::DeskSource>& sources) {
    Json all = {{"version", kVersion}, {"ids", ids_of(sources)}, {"next", to_unix(state.next)}};
    Json list = Json::array();
    for (const DeskState::Source& s : state.sources) {
        Json measured = Json::array();
        for (const auto& [start, m] : s.measured)
            measured.push_back(Json::array({reading_json(m.told), reading_json(m.used)}));
        Json forecast = Json::array();
        for (const auto& [start, said] : s.forecast)
            forecast.push_back(
                Json::array({reading_json(said.reading), to_unix(said.retrieved), said.coarse}));
        Json flags = Json::array();
        for (const Flag& f : s.flags)
            flags.push_back(Json::array({to_unix(f.hour), static_cast<int>(f.variable),
                                         static_cast<int>(f.flaw), f.value}));
        list.push_back({{"measured", measured},
                        {"forecast", forecast},
                        {"last_measured", maybe(s.last_measured)},
                        {"last_forecast", maybe(s.last_forecast)},
                        {"flags", flags},
                        {"flag_counts", s.flag_counts},
                        {"fahrenheit_said", maybe(s.fahrenheit_said)},
                        {"trouble_said", maybe(s.trouble_said)}});
    }
    all["sources"] = std::move(list);
    Json blended = Json::array();
    for (const Reading& r : state.blended)
        blended.push_back(reading_json(r));
    all["blended"] = std::move(blended);
    return all.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Result<DeskState> decode_desk(std::string_view text,
                              const std::vector<weather::DeskSource>& sources) {
    const Json all = parse_bounded(text);
    if (number(member(all, "version")) != kVersion)
        return Error{"what was kept of the weather cannot be read"};
    if (member(all, "ids") != ids_of(sources))
        return Error{"the sources of weather are others than before"};
    Taker take;
    DeskState state;
    state.next = take.time(member(all, "next"));
    for (const Json& source : take.list(all, "sources"))
        state.sources.push_back(take.source(source));
    for (const Json& reading : take.list(all, "blended"))
        state.blended.push_back(take.reading(reading));
    if (!take.ok() || state.sources.size() != sources.size())
        return Error{"what was kept of the weather cannot be read"};
    return state;
}

} // namespace firstmow::weather_source
