#include "renovation/course.hpp"

#include "base/check.hpp"
#include "turf/prospect.hpp"
#include "watering/demand.hpp"

#include <algorithm>

namespace firstmow::renovation {

namespace {

constexpr int kLongestLook = 330;
constexpr double kDampKpa = -30; // what a bed kept damp has between runs
// An ordinary lawn's soil surface is dry half of the time (default).
constexpr double kSparedByHardening = 0.5;
// Grass that rests is not watered: no growth below 5 deg C (default).
constexpr double kGrowsFrom_c = 5;

bool shows_green(const turf::Progress& progress) {
    return std::ranges::any_of(progress.species, [](const turf::SpeciesProgress& species) {
        return species.share >= turf::kImportantShare && species.first_green.has_value();
    });
}

double daily_net_mm(const turf::Progress& progress, turf::Cover mulch, double eto_mm) {
    watering::HourDemand hour;
    hour.et_short_mm_per_h = eto_mm / 24;
    watering::SurfaceCover cover;
    cover.mulch = mulch;
    cover.canopy_fraction = progress.cover_fraction;
    cover.warm_season = turf::warm_season(progress);
    const watering::CoverDemand demand = watering::cover_demand(hour, cover);
    const double hardening = std::clamp(progress.hardening, 0.0, 1.0);
    return 24 * (demand.transpiration_mm_per_h +
                 demand.evaporation_mm_per_h * (1 - kSparedByHardening * hardening));
}

void note_milestones(turf::Progress& progress, Date date, WallTime now, Course& course) {
    const auto note = [&](std::optional<Date>& milestone) {
        if (!milestone) milestone = date;
    };
    if (shows_green(progress)) note(course.first_green);
    if (progress.all_up) note(course.all_up);
    if (turf::ready_for_first_mow(progress)) {
        const bool sod = progress.method == turf::Method::sod;
        if (sod) note(course.rooted);
        note(course.first_mow);
        turf::observe(progress,
                      sod ? turf::ObservationKind::rooted : turf::ObservationKind::first_mow, now);
    }
    // What is due is done: the standing turf is kept short until the new grass is mown with it.
    if (turf::standing_turf_wants_cut(progress))
        turf::observe(progress, turf::ObservationKind::mown, now);
    if (progress.phase == turf::Phase::mature) note(course.grown_in);
}

turf::Progress begun(const garden::Establishment& establishment) {
    std::vector<turf::MixShare> mix;
    for (const garden::MixPart& part : establishment.mix)
        mix.push_back({part.species, part.share});
    return turf::begin(establishment.method, mix, std::chrono::sys_days{*establishment.start});
}

// The usual date in the range that the futures give it.
Milestone milestone(const std::optional<Date>& usual, const turf::When& when) {
    Milestone found;
    found.usual = usual;
    const auto day = [](const std::optional<WallTime>& moment) -> std::optional<Date> {
        if (!moment) return std::nullopt;
        return Date{std::chrono::floor<std::chrono::days>(*moment)};
    };
    found.early = day(when.early);
    found.late = day(when.late);
    if (usual && (!found.early || *found.early > *usual)) found.early = usual;
    if (usual && found.late && *found.late < *usual) found.late = usual;
    return found;
}

} // namespace

Course course(const garden::Establishment& establishment, const Climate& climate, double warmer_c) {
    CHECK(establishment.method != turf::Method::none && establishment.start.has_value());
    const Date start = *establishment.start;
    WallTime now = std::chrono::sys_days{start};
    turf::Progress progress = begun(establishment);

    Course course;
    for (int day = 0; day <= kLongestLook && progress.phase != turf::Phase::mature; ++day) {
        const Date date = add_days(start, day);
        const double soil_c = std::max(soil_temp_c(climate, date) + warmer_c, 0.0);
        if (!course.first_mow && soil_c >= kGrowsFrom_c) {
            const double net_mm =
                daily_net_mm(progress, establishment.cover, usual_eto_mm(climate, date));
            course.net_mm += net_mm;
            course.rain_mm += std::min(net_mm, climate.usable_rain_on(date));
        }
        for (int hour = 0; hour < 24; ++hour) {
            now += std::chrono::hours{1};
            turf::advance(progress, soil_c, kDampKpa, std::chrono::hours{1}, now);
            note_milestones(progress, date, now, course);
        }
    }
    return course;
}

Milestones milestones(const garden::Establishment& establishment, const Climate& climate) {
    const Course usual = course(establishment, climate);
    std::vector<turf::SoilDay> days;
    for (int day = 0; day <= kLongestLook; ++day)
        days.push_back(
            {soil_temp_c(climate, add_days(*establishment.start, day)), 0, climate.spread_c});
    const turf::Progress progress = begun(establishment);
    const turf::Prospect ahead = turf::prospect(progress, *progress.sown, days);
    Milestones found;
    found.first_green = milestone(usual.first_green, ahead.first_green);
    found.all_up = milestone(usual.all_up, ahead.all_up);
    found.rooted = milestone(usual.rooted, ahead.rooted);
    found.first_mow = milestone(usual.first_mow, ahead.first_mow);
    found.grown_in = milestone(usual.grown_in, ahead.grown_in);
    found.net_mm = usual.net_mm;
    found.rain_mm = usual.rain_mm;
    return found;
}

} // namespace firstmow::renovation
