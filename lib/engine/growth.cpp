#include "engine/growth.hpp"

#include "base/day_words.hpp"
#include "base/text.hpp"
#include "engine/parts.hpp"
#include "weather/usual.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::engine {

namespace {

constexpr int kDaysAhead = 240;
constexpr Seconds kDay{86400};
// How far the mean of the days up to one may lie from what is thought: half a degree at first, and
// no more than two or three weeks differ between years (defaults).
constexpr double kDoubtAtOnce_c = 0.5;
constexpr double kDoubtPerDay_c = 0.12;
constexpr double kDoubtMost_c = 2.5;
// Soil cannot be much colder or warmer than the air for days.
constexpr double kMostBelowAir_c = -5;
constexpr double kMostAboveAir_c = 8;
constexpr double kUsualSwing_c = 5; // bare moist soil, until it is known (default)
constexpr double kWarmthHours = 48; // as the turf room remembers the soil

double usual_c(const Setup& setup, WallTime t) {
    const Date day{std::chrono::floor<std::chrono::days>(t)};
    return weather::usual_mean_c(setup.garden.site.place, day_of_year(day));
}

// Measured and forecast hours, in order.
std::vector<const weather::Hour*> told_hours(const State& state) {
    std::vector<const weather::Hour*> hours;
    for (const weather::Hour& hour : state.recent)
        hours.push_back(&hour);
    for (const weather::Hour& hour : state.forecast)
        if (hour.start >= state.settled_until) hours.push_back(&hour);
    return hours;
}

// How much warmer than usual it has been and is said to become.
double anomaly_c(const Setup& setup, const std::vector<const weather::Hour*>& hours) {
    double sum = 0;
    for (const weather::Hour* hour : hours)
        sum += hour->air_temp_c - usual_c(setup, hour->start);
    return hours.empty() ? 0 : sum / static_cast<double>(hours.size());
}

// The mean of the air over a day, if all of it was told.
std::optional<double> told_mean_c(const std::vector<const weather::Hour*>& hours, WallTime from) {
    double sum = 0;
    int count = 0;
    for (const weather::Hour* hour : hours) {
        if (hour->start < from || hour->start >= from + kDay) continue;
        sum += hour->air_temp_c;
        ++count;
    }
    if (count < 24) return std::nullopt;
    return sum / count;
}

// The air as the soil remembers it, to compare like with like.
std::optional<double> remembered_air_c(const State& state) {
    if (state.recent.size() < 24) return std::nullopt;
    double sum = 0;
    double weights = 0;
    double weight = 1;
    for (auto hour = state.recent.rbegin(); hour != state.recent.rend(); ++hour) {
        sum += weight * hour->air_temp_c;
        weights += weight;
        weight *= std::exp(-1 / kWarmthHours);
    }
    return sum / weights;
}

std::string name_of(turf::Species species) {
    return std::string(turf::traits(species).name);
}

// The species that is behind the others on its way up.
const turf::SpeciesProspect* last_up(const turf::Prospect& prospect) {
    const turf::SpeciesProspect* last = nullptr;
    for (const turf::SpeciesProspect& species : prospect.species)
        if (species.all_up.likely &&
            (last == nullptr || *species.all_up.likely > *last->all_up.likely))
            last = &species;
    return last;
}

std::string coming_words(const turf::Progress& progress, const turf::Prospect& prospect,
                         const TimeZone& local) {
    switch (progress.phase) {
    case turf::Phase::pre_germination:
    case turf::Phase::emergence: {
        const turf::SpeciesProspect* last = last_up(prospect);
        std::string text = progress.seedlings_seen
                               ? std::string()
                               : "First green " + when_words(prospect.first_green, local) + "; ";
        text += "all up " + when_words(prospect.all_up, local) +
                (last != nullptr && prospect.species.size() > 1
                     ? " (" + name_of(last->species) + " comes last)."
                     : ".");
        text[0] = text[0] == 'a' ? 'A' : text[0];
        return text;
    }
    case turf::Phase::seedling:
        return "First mow due " + when_words(prospect.first_mow, local) + ".";
    case turf::Phase::rooting:
        return "Resists a tug " + when_words(prospect.rooted, local) + ".";
    case turf::Phase::post_first_mow:
        return "Waters like an ordinary lawn " + when_words(prospect.grown_in, local) + ".";
    case turf::Phase::mature:
        break;
    }
    return "";
}

} // namespace

std::vector<turf::SoilDay> soil_ahead(const Setup& setup, const State& state,
                                      const turf::Progress& progress, WallTime now) {
    const auto hours = told_hours(state);
    const double anomaly = anomaly_c(setup, hours);
    const auto air_c = remembered_air_c(state);
    double excess = 0;
    double swing = kUsualSwing_c;
    if (progress.soil_mean_c && air_c) {
        excess = std::clamp(*progress.soil_mean_c - *air_c, kMostBelowAir_c, kMostAboveAir_c);
        swing = progress.soil_swing_c;
    }
    std::vector<turf::SoilDay> days;
    double known_days = 0;
    for (int day = 0; day < kDaysAhead; ++day) {
        const WallTime from = now + day * kDay;
        const auto told = told_mean_c(hours, floor_hour(from));
        if (told) known_days = day + 1;
        const double air = told.value_or(usual_c(setup, from + kDay / 2) + anomaly);
        const double doubt =
            told ? kDoubtAtOnce_c : kDoubtAtOnce_c + kDoubtPerDay_c * (day - known_days);
        days.push_back({std::max(air + excess, 0.0), swing, std::min(doubt, kDoubtMost_c)});
    }
    return days;
}

turf::Prospect prospect_of(const Setup& setup, const State& state, std::size_t zone, WallTime now) {
    const turf::Progress& progress = state.zones[zone].settled.progress;
    if (progress.method == turf::Method::none || progress.phase == turf::Phase::mature) return {};
    return turf::prospect(progress, now, soil_ahead(setup, state, progress, now));
}

std::string when_words(const turf::When& when, const TimeZone& local) {
    if (!when.early) return "not within the months ahead";
    const std::string from = day_words(local.local_date(*when.early));
    if (!when.late) return "not before " + from;
    const std::string to = day_words(local.local_date(*when.late));
    return from == to ? from : from + " to " + to;
}

std::string growth_words(const turf::Progress& progress, const turf::Prospect& prospect,
                         const TimeZone& local) {
    std::string text = coming_words(progress, prospect, local);
    const turf::Stand stand = turf::stand_of(progress);
    const auto percent = [](double share) { return fixed(100 * share, 0) + " %"; };
    if (!text.empty() && stand.alive_driest_quarter < 0.97)
        text += " Of the seed " + percent(stand.alive) + " is alive, " +
                percent(stand.alive_driest_quarter) +
                " in the driest quarter: the rest dried after "
                "it had sprouted, or was washed away.";
    return text;
}

std::string height_words(double height_mm) {
    return fixed(height_mm, 0) + " mm (" + fixed(height_mm / 25.4, 1) + " in)";
}

} // namespace firstmow::engine
