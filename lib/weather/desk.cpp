#include "weather/desk.hpp"

#include "base/check.hpp"
#include "base/text.hpp"
#include "weather/fill.hpp"
#include "weather/reference_et.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace firstmow::weather {

namespace {

using std::chrono::hours;
using std::chrono::minutes;

constexpr hours kHour{1};
// The planner looks 40 h ahead; a little more, so that a service may be silent for a while.
constexpr hours kGiveAhead{72};
constexpr hours kMatters{42};
// A station that has spoken lately is waited for so long after the end of an hour.
constexpr minutes kWaitFor{25};
constexpr hours kSpeaksWithin{3};
// A model's view of an hour that has passed is used when no instrument spoke by then.
constexpr minutes kModelWaits{5};
// The engine stands in for hours of which it has heard nothing for 6 h; what comes after is late.
constexpr hours kTooLate{6};
constexpr minutes kClocksDiffer{10};
constexpr hours kStale{12};
constexpr hours kTooStale{5 * 24};
constexpr hours kSayAgain{24};
constexpr double kUnknownRainProbability = 0.7;
constexpr double kLikelyRain = 0.6; // as the planner counts it: less likely rain is none

WallTime hour_of(WallTime t) {
    return std::chrono::floor<hours>(t);
}

double rounded(double value, double per_unit) {
    return std::round(value * per_unit) / per_unit + 0.0;
}

// As the journal keeps it: no finer than anybody knows it.
void round_off(Hour& hour, bool forecast) {
    hour.air_temp_c = rounded(hour.air_temp_c, forecast ? 10 : 100);
    hour.rel_humidity_pct = rounded(hour.rel_humidity_pct, forecast ? 1 : 10);
    hour.wind_2m_m_s = rounded(hour.wind_2m_m_s, forecast ? 10 : 100);
    hour.solar_w_m2 = rounded(hour.solar_w_m2, forecast ? 1 : 10);
    hour.rain_mm = rounded(hour.rain_mm, forecast ? 100 : 1000);
    hour.rain_probability = rounded(hour.rain_probability, 100);
    if (hour.soil_temp_c) hour.soil_temp_c = rounded(*hour.soil_temp_c, 10);
}

bool differs(const Hour& a, const Hour& b) {
    return std::abs(a.air_temp_c - b.air_temp_c) >= 0.3 ||
           std::abs(a.rel_humidity_pct - b.rel_humidity_pct) >= 3 ||
           std::abs(a.wind_2m_m_s - b.wind_2m_m_s) >= 0.3 ||
           std::abs(a.solar_w_m2 - b.solar_w_m2) >= 20 || std::abs(a.rain_mm - b.rain_mm) >= 0.1 ||
           std::abs(a.rain_probability - b.rain_probability) >= 0.1;
}

bool in_range(const Reading& reading) {
    const auto within = [](const std::optional<double>& value, double low, double high) {
        return !value || (std::isfinite(*value) && *value >= low && *value <= high);
    };
    return within(reading.air_temp_c, -60, 60) && within(reading.rel_humidity_pct, 0, 100) &&
           within(reading.wind_2m_m_s, 0, 60) && within(reading.solar_w_m2, 0, 1500) &&
           within(reading.rain_mm, 0, 200) && within(reading.dew_point_c, -60, 40) &&
           within(reading.cloud_fraction, 0, 1) && within(reading.rain_probability, 0, 1) &&
           within(reading.soil_temp_c, -40, 60);
}

std::vector<Reading> in_order(const std::vector<Reading>& readings) {
    std::vector<Reading> sorted;
    for (const Reading& reading : readings) {
        if (sorted.size() == kMostReadings) break;
        if (reading.start == hour_of(reading.start)) sorted.push_back(reading);
    }
    std::stable_sort(sorted.begin(), sorted.end(),
                     [](const Reading& a, const Reading& b) { return a.start < b.start; });
    return sorted;
}

// Weighted mean of errors, newer ones heavier.
class ErrorMean {
public:
    void add(double error, double weight) {
        sum_ += error * weight;
        weight_ += weight;
        ++count_;
    }
    int count() const { return count_; }
    // Drawn towards 0 as if half a day without any error had been seen beside it.
    double drawn() const { return count_ == 0 ? 0 : sum_ / (weight_ + 6); }

private:
    double sum_ = 0;
    double weight_ = 0;
    int count_ = 0;
};

} // namespace

// The values of an hour, each from the best that is known of it.
struct Desk::Blend {
    Reading reading;
    std::array<bool, kVariables> measured{};
    std::array<std::uint8_t, kVariables> source{}; // its number
    bool empty() const {
        return std::all_of(kReadingValues.begin(), kReadingValues.end(),
                           [this](auto value) { return !(reading.*value); });
    }
};

Desk::Desk(Place place, std::vector<DeskSource> sources, WallTime first)
    : place_(place), sources_(std::move(sources)) {
    CHECK(sources_.size() < kGardenSensors - 1U);
    sources_.push_back({"sensors", true});
    state_.next = hour_of(first);
    state_.sources.resize(sources_.size());
}

void Desk::take_up(DeskState state, WallTime first) {
    if (state.sources.size() != sources_.size()) return;
    state_ = std::move(state);
    state_.next = hour_of(first);
    // Whoever takes up again does not know what the engine has heard last.
    state_.ahead.clear();
}

void Desk::flag(DeskState::Source& source, const Flag& flag) {
    ++source.flag_counts[static_cast<std::size_t>(flag.flaw)];
    source.flags.push_back(flag);
    if (source.flags.size() > kMostFlags) source.flags.pop_front();
}

std::optional<double> Desk::expected_temp_c(const DeskState::Source& but, WallTime hour) const {
    for (const DeskState::Source& source : state_.sources) {
        const auto said = source.forecast.find(hour);
        if (&source != &but && said != source.forecast.end() && said->second.reading.air_temp_c)
            return said->second.reading.air_temp_c;
    }
    return std::nullopt;
}

void Desk::take(const Parcel& parcel, WallTime now) {
    const std::size_t index =
        parcel.source == kGardenSensors ? sources_.size() - 1 : parcel.source - std::size_t{1};
    if (parcel.source == 0 || index >= sources_.size()) return;
    DeskState::Source& source = state_.sources[index];
    const auto flags_before = source.flag_counts;
    if (parcel.kind == ParcelKind::measured)
        take_measured(source, parcel, now);
    else
        take_forecast(source, parcel, now);
    const auto more = [&](Flaw flaw) {
        return source.flag_counts[static_cast<std::size_t>(flaw)] >
               flags_before[static_cast<std::size_t>(flaw)];
    };
    const auto say = [&](std::optional<WallTime>& said, const std::string& what) {
        if (said && now - *said < kSayAgain && *said <= now) return;
        said = now;
        said_.push_back(what);
    };
    const std::string& id = sources_[index].id;
    if (more(Flaw::fahrenheit))
        say(source.fahrenheit_said, "The temperatures of the weather source " + id +
                                        " look like deg F where deg C is due; they are not used.");
    if (more(Flaw::stuck) || more(Flaw::range) || more(Flaw::burst) || more(Flaw::rate))
        say(source.trouble_said, "The weather source " + id + " told something doubtful (" +
                                     words(source.flags.back()) + "); it is not used.");
}

void Desk::take_measured(DeskState::Source& source, const Parcel& parcel, WallTime now) {
    for (const Reading& reading : in_order(parcel.readings)) {
        if (reading.start < now - kKeepBack) continue;
        if (reading.start + kHour > now + kClocksDiffer) {
            flag(source, {reading.start, Variable::temperature, Flaw::future, 0});
            continue;
        }
        source.last_measured = parcel.retrieved;
        const auto known = source.measured.find(reading.start);
        if (known != source.measured.end()) {
            if (known->second.told == reading) continue;
            flag(source, {reading.start, Variable::temperature, Flaw::duplicate,
                          reading.air_temp_c.value_or(0)});
            if (reading.start < state_.next) continue; // used already, as it was told first
        } else if (reading.start < state_.next && !source.measured.empty()) {
            flag(source, {reading.start, Variable::temperature, Flaw::late, 0});
        }
        if (!source.measured.empty() && known == source.measured.end()) {
            const auto lacking = (reading.start - source.measured.rbegin()->first) / kHour - 1;
            if (lacking > 0)
                flag(source, {reading.start, Variable::temperature, Flaw::gap,
                              static_cast<double>(lacking)});
        }
        std::vector<Reading> told;
        std::vector<Reading> used;
        for (const auto& [start, measured] : source.measured) {
            if (start >= reading.start) break;
            told.push_back(measured.told);
            used.push_back(measured.used);
        }
        if (!told.empty())
            for (const Variable v : {Variable::temperature, Variable::rain})
                if (told.back().*kReadingValues[static_cast<std::size_t>(v)] &&
                    !(reading.*kReadingValues[static_cast<std::size_t>(v)]))
                    flag(source, {reading.start, v, Flaw::missing, 0});
        told.push_back(reading);
        const std::vector<Flag> doubts =
            judge(place_, told, used, expected_temp_c(source, reading.start));
        for (const Flag& doubt : doubts)
            flag(source, doubt);
        source.measured.insert_or_assign(reading.start,
                                         DeskState::Measured{reading, without(reading, doubts)});
    }
    drop_old(now);
}

void Desk::take_forecast(DeskState::Source& source, const Parcel& parcel, WallTime now) {
    bool any = false;
    for (const Reading& reading : in_order(parcel.readings)) {
        if (reading.start < now - kKeepBack || reading.start > now + kKeepAhead) continue;
        if (!in_range(reading)) {
            flag(source,
                 {reading.start, Variable::temperature, Flaw::range,
                  reading.air_temp_c && std::isfinite(*reading.air_temp_c) ? *reading.air_temp_c
                                                                           : 0});
            continue;
        }
        any = true;
        source.forecast.insert_or_assign(
            reading.start,
            DeskState::Said{reading, parcel.retrieved,
                            parcel.coarse_from && reading.start >= *parcel.coarse_from});
    }
    if (any) source.last_forecast = parcel.retrieved;
    drop_old(now);
}

void Desk::drop_old(WallTime now) {
    for (DeskState::Source& source : state_.sources) {
        source.measured.erase(source.measured.begin(),
                              source.measured.lower_bound(now - kKeepBack));
        source.forecast.erase(source.forecast.begin(),
                              source.forecast.lower_bound(now - kKeepBack));
        source.forecast.erase(source.forecast.upper_bound(now + kKeepAhead), source.forecast.end());
    }
}

Bias Desk::bias(std::size_t source, WallTime now) const {
    ErrorMean temp;
    ErrorMean humidity;
    ErrorMean wind; // of logarithms, so that a half and a double weigh the same
    ErrorMean solar;
    for (const auto& entry : state_.sources[source].forecast) {
        // Not a structured binding: clang 14 lets no lambda capture one.
        const WallTime start = entry.first;
        const auto& said = entry.second;
        if (start + kHour > now || now - start > hours{kBiasBack}) continue;
        const Reading& forecast = said.reading;
        const double age_h = static_cast<double>((now - start) / kHour);
        const double weight = std::exp2(-age_h / 24);
        const auto measured = [&](Variable v) -> std::optional<double> {
            const auto value = kReadingValues[static_cast<std::size_t>(v)];
            for (std::size_t i = 0; i < state_.sources.size(); ++i) {
                if (i == source) continue;
                const auto m = state_.sources[i].measured.find(start);
                if (m != state_.sources[i].measured.end() && m->second.used.*value)
                    return m->second.used.*value;
            }
            return std::nullopt;
        };
        if (const auto m = measured(Variable::temperature); m && forecast.air_temp_c)
            temp.add(*m - *forecast.air_temp_c, weight);
        if (const auto m = measured(Variable::humidity); m && forecast.rel_humidity_pct)
            humidity.add(*m - *forecast.rel_humidity_pct, weight);
        if (const auto m = measured(Variable::wind); m && forecast.wind_2m_m_s)
            wind.add(std::log(std::max(*m, 0.2) / std::max(*forecast.wind_2m_m_s, 0.2)), weight);
        if (const auto m = measured(Variable::solar);
            m && forecast.solar_w_m2 && *forecast.solar_w_m2 > 100)
            solar.add(std::log(std::max(*m, 10.0) / *forecast.solar_w_m2), weight);
    }
    Bias bias;
    bias.hours = std::max({temp.count(), humidity.count(), wind.count(), solar.count()});
    bias.temp_c = std::clamp(temp.drawn(), -kMostTempBias_c, kMostTempBias_c);
    bias.humidity_pct = std::clamp(humidity.drawn(), -kMostHumidityBias_pct, kMostHumidityBias_pct);
    bias.wind_factor = std::clamp(std::exp(wind.drawn()), 1 / kMostWindFactor, kMostWindFactor);
    bias.solar_factor = std::clamp(std::exp(solar.drawn()), 1 / kMostSolarFactor, kMostSolarFactor);
    return bias;
}

namespace {

void put_right(Reading& forecast, const Bias& bias) {
    if (forecast.air_temp_c)
        forecast.air_temp_c = std::clamp(*forecast.air_temp_c + bias.temp_c, -60.0, 60.0);
    if (forecast.rel_humidity_pct)
        forecast.rel_humidity_pct =
            std::clamp(*forecast.rel_humidity_pct + bias.humidity_pct, 1.0, 100.0);
    if (forecast.wind_2m_m_s)
        forecast.wind_2m_m_s = std::min(*forecast.wind_2m_m_s * bias.wind_factor, 60.0);
    if (forecast.solar_w_m2)
        forecast.solar_w_m2 = std::min(*forecast.solar_w_m2 * bias.solar_factor, 1500.0);
}

} // namespace

Desk::Blend Desk::blend(WallTime hour, WallTime now, const std::vector<Bias>& biases) const {
    Blend blend;
    blend.reading.start = hour;
    const auto number = [this](std::size_t i) {
        return i + 1 == sources_.size() ? kGardenSensors : static_cast<std::uint8_t>(i + 1);
    };
    const auto offer = [&](const Reading& reading, std::size_t source, bool measured) {
        for (std::size_t v = 0; v < kVariables; ++v) {
            auto& value = blend.reading.*kReadingValues[v];
            if (value || !(reading.*kReadingValues[v])) continue;
            value = reading.*kReadingValues[v];
            blend.measured[v] = measured;
            blend.source[v] = number(source);
            if (v == static_cast<std::size_t>(Variable::rain) && !measured)
                blend.reading.rain_probability =
                    reading.rain_probability.value_or(kUnknownRainProbability);
        }
    };
    // The garden's own sensors stand nearest, though last in the list.
    for (std::size_t k = 0; k < sources_.size(); ++k) {
        const std::size_t i = (k + sources_.size() - 1) % sources_.size();
        const auto m = state_.sources[i].measured.find(hour);
        if (m != state_.sources[i].measured.end()) offer(m->second.used, i, true);
    }
    struct Candidate {
        std::size_t source;
        const DeskState::Said* said;
        int worse; // stale or coarse
    };
    std::vector<Candidate> candidates;
    for (std::size_t i = 0; i < sources_.size(); ++i) {
        const auto said = state_.sources[i].forecast.find(hour);
        if (said == state_.sources[i].forecast.end()) continue;
        const auto age = now - said->second.retrieved;
        if (age > kTooStale) continue;
        candidates.push_back({i, &said->second, (age > kStale ? 2 : 0) + said->second.coarse});
    }
    std::stable_sort(candidates.begin(), candidates.end(),
                     [](const Candidate& a, const Candidate& b) { return a.worse < b.worse; });
    for (const Candidate& candidate : candidates) {
        Reading reading = candidate.said->reading;
        put_right(reading, biases[candidate.source]);
        offer(reading, candidate.source, false);
    }
    return blend;
}

Hour Desk::made_of(const Blend& blend, std::span<const Reading> recent) const {
    Hour hour = complete(place_, recent);
    struct Part {
        Variable variable;
        std::optional<Variable> else_from; // an estimate's source
        Origin Hour::*origin;
    };
    constexpr std::array<Part, 5> kParts = {{
        {Variable::temperature, std::nullopt, &Hour::temp_origin},
        {Variable::humidity, Variable::dew_point, &Hour::humidity_origin},
        {Variable::wind, std::nullopt, &Hour::wind_origin},
        {Variable::solar, Variable::cloud, &Hour::solar_origin},
        {Variable::rain, std::nullopt, &Hour::rain_origin},
    }};
    for (std::size_t i = 0; i < kParts.size(); ++i) {
        const auto v = static_cast<std::size_t>(kParts[i].variable);
        if (hour.*kParts[i].origin == Origin::measured) {
            // From the reading itself, or, for humidity, from its dew point.
            const bool own = (blend.reading.*kReadingValues[v]).has_value();
            const auto from =
                own || !kParts[i].else_from ? v : static_cast<std::size_t>(*kParts[i].else_from);
            if (!blend.measured[from]) hour.*kParts[i].origin = Origin::forecast;
            hour.sources[i] = blend.source[from];
        } else if (kParts[i].else_from && hour.*kParts[i].origin == Origin::estimated) {
            hour.sources[i] = blend.source[static_cast<std::size_t>(*kParts[i].else_from)];
        }
    }
    hour.rain_probability = hour.rain_origin == Origin::forecast
                                ? blend.reading.rain_probability.value_or(kUnknownRainProbability)
                                : 1;
    return hour;
}

bool Desk::worth_waiting(WallTime hour, WallTime now) const {
    if (now >= hour + kHour + kWaitFor) return false;
    for (std::size_t i = 0; i + 1 < sources_.size(); ++i) {
        const DeskState::Source& source = state_.sources[i];
        if (!sources_[i].measures || source.measured.contains(hour)) continue;
        const bool speaks = source.last_measured && now - *source.last_measured <= kSpeaksWithin;
        if (speaks) return true;
    }
    return false;
}

DeskNews Desk::look(WallTime now) {
    DeskNews news;
    news.said = std::exchange(said_, {});
    drop_old(now);
    give_passed(news, now);
    give_ahead(news, now);
    return news;
}

void Desk::give_passed(DeskNews& news, WallTime now) {
    std::vector<Bias> biases;
    for (std::size_t i = 0; i < sources_.size(); ++i)
        biases.push_back(bias(i, now));
    // What the engine has stood in for by itself is past.
    state_.next = std::max(state_.next, hour_of(now - kTooLate - kKeepBack));
    if (state_.blended.empty()) // a start: what is known of the days before helps to estimate
        for (WallTime hour = state_.next - kKeepBack + kHour; hour < state_.next; hour += kHour)
            if (Blend found = blend(hour, now, biases); !found.empty())
                state_.blended.push_back(found.reading);
    while (state_.next + kHour <= now) {
        const WallTime hour = state_.next;
        if (worth_waiting(hour, now)) break;
        Blend found = blend(hour, now, biases);
        const bool measured =
            std::find(found.measured.begin(), found.measured.end(), true) != found.measured.end();
        if (!measured && !found.empty() && now < hour + kHour + kModelWaits) break;
        // An hour of which nothing but a forecast of rain is known is no hour.
        if (found.empty() || (!found.reading.air_temp_c && !measured)) {
            // Is a later hour known? Then this one is left to the engine; else it is waited for.
            bool later = false;
            for (const DeskState::Source& source : state_.sources) {
                const auto m = source.measured.upper_bound(hour);
                const auto f = source.forecast.upper_bound(hour);
                later = later || (m != source.measured.end() && m->first + kHour <= now) ||
                        (f != source.forecast.end() && f->first + kHour <= now);
            }
            if (!later && now - hour < kTooLate + kHour) break;
            state_.next += kHour;
            continue;
        }
        state_.blended.push_back(found.reading);
        std::erase_if(state_.blended,
                      [&](const Reading& r) { return hour - r.start >= kKeepBack; });
        Hour given = made_of(found, state_.blended);
        if (given.rain_origin == Origin::forecast) {
            // Nobody measured it: of a model's rain only what one counts on.
            if (given.rain_probability < kLikelyRain) given.rain_mm = 0;
            given.rain_mm *= 0.7 * given.rain_probability;
            given.rain_probability = 1;
        }
        round_off(given, false);
        news.passed.push_back(given);
        state_.next += kHour;
    }
}

void Desk::give_ahead(DeskNews& news, WallTime now) {
    std::vector<Bias> biases;
    for (std::size_t i = 0; i < sources_.size(); ++i)
        biases.push_back(bias(i, now));
    const WallTime first = hour_of(now);
    std::vector<Hour> ahead;
    std::vector<Reading> recent = state_.blended;
    for (WallTime hour = first; hour < first + kGiveAhead; hour += kHour) {
        const Blend found = blend(hour, now, biases);
        if (!found.reading.air_temp_c) break;
        while (!recent.empty() && recent.back().start >= hour)
            recent.pop_back();
        recent.push_back(found.reading);
        const std::size_t back = std::min<std::size_t>(recent.size(), kKeepBack / kHour);
        Hour given = made_of(found, std::span(recent).last(back));
        for (Origin Hour::*origin : {&Hour::temp_origin, &Hour::humidity_origin, &Hour::wind_origin,
                                     &Hour::solar_origin, &Hour::rain_origin})
            if (given.*origin == Origin::measured) given.*origin = Origin::forecast;
        round_off(given, true);
        ahead.push_back(given);
    }
    // Said anew when it differs, reaches further where it matters, or has gone altogether.
    bool changed = false;
    const auto& before = state_.ahead;
    const auto skip = before.empty() ? 0 : (first - before.front().start) / kHour;
    const auto held = static_cast<std::int64_t>(before.size()) - skip;
    const auto now_reach = static_cast<std::int64_t>(ahead.size());
    const auto matters = static_cast<std::int64_t>(kMatters / kHour);
    if (now_reach > 0 && held < std::min(now_reach, matters)) changed = true;
    if (skip < 0) changed = now_reach > 0;
    for (std::int64_t i = 0; !changed && skip >= 0 && i < std::min({now_reach, held, matters}); ++i)
        changed =
            differs(ahead[static_cast<std::size_t>(i)], before[static_cast<std::size_t>(i + skip)]);
    if (!changed) return;
    state_.ahead = ahead;
    state_.ahead_given = now;
    news.ahead = std::move(ahead);
}

} // namespace firstmow::weather
