#include "renovation/course.hpp"

#include "base/check.hpp"
#include "turf/establishment.hpp"
#include "watering/demand.hpp"

#include <algorithm>

namespace firstmow::renovation {

namespace {

constexpr int kLongestLook = 330;
constexpr double kDampKpa = -30; // what a bed kept damp has between runs
// First visible at 1.7 where half are visible at 2.1 and all at 2.5: as far before the half as the
// last come after it (default, the turf room's scale).
constexpr double kFirstVisible = 1.7 / 2.1;
constexpr double kImportantShare = 0.1;
// An ordinary lawn's soil surface is dry half of the time (default).
constexpr double kSparedByHardening = 0.5;

bool shows_green(const turf::Progress& progress) {
    return std::ranges::any_of(progress.species, [](const turf::SpeciesProgress& species) {
        return species.share >= kImportantShare &&
               species.tau >= kFirstVisible * turf::traits(species.species).emergence_factor;
    });
}

double daily_net_mm(const turf::Progress& progress, turf::Cover mulch, double eto_mm) {
    watering::HourDemand hour;
    hour.et_short_mm_per_h = eto_mm / 24;
    const watering::SurfaceCover cover{mulch, progress.cover_fraction, progress.root_depth_mm};
    const watering::CoverDemand demand = watering::cover_demand(hour, cover);
    const double hardening = std::clamp(progress.hardening, 0.0, 1.0);
    return 24 * (demand.transpiration_mm_per_h +
                 demand.evaporation_mm_per_h * (1 - kSparedByHardening * hardening));
}

// Growth that each species had gathered when all of it was up: its way to the first mow begins
// there. All up: 2.5 where half are up at 2.1 (the turf room's scale).
class MowClock {
public:
    explicit MowClock(const turf::Progress& progress) : at_all_up_(progress.species.size()) {}

    bool due(const turf::Progress& progress) {
        bool due = false;
        for (std::size_t i = 0; i < progress.species.size(); ++i) {
            const turf::SpeciesProgress& species = progress.species[i];
            const turf::SpeciesTraits& traits = turf::traits(species.species);
            if (species.tau < kAllUp * traits.emergence_factor) continue;
            if (!at_all_up_[i]) at_all_up_[i] = species.growth_cd;
            const double good_day_cd = traits.warm_season ? kWarmGoodDayCd : kCoolGoodDayCd;
            due =
                due || (species.share >= kImportantShare &&
                        species.growth_cd - *at_all_up_[i] >= traits.first_mow_days * good_day_cd);
        }
        return due && progress.all_up;
    }

private:
    static constexpr double kAllUp = 2.5 / 2.1;
    // Degree-days of growth in a day of good growing weather, 20 and 27 deg C (turf room).
    static constexpr double kCoolGoodDayCd = 15;
    static constexpr double kWarmGoodDayCd = 14.5;
    std::vector<std::optional<double>> at_all_up_;
};

void note_milestones(turf::Progress& progress, MowClock& mow, Date date, WallTime now,
                     Course& course) {
    const auto note = [&](std::optional<Date>& milestone) {
        if (!milestone) milestone = date;
    };
    if (shows_green(progress)) note(course.first_green);
    if (progress.all_up) note(course.all_up);
    const bool mow_due = mow.due(progress);
    if (progress.phase == turf::Phase::seedling && mow_due) {
        note(course.first_mow);
        turf::observe(progress, turf::ObservationKind::first_mow, now);
    }
    if (progress.phase == turf::Phase::rooting && progress.hardening >= 1) {
        note(course.rooted);
        note(course.first_mow);
        turf::observe(progress, turf::ObservationKind::rooted, now);
    }
    if (progress.phase == turf::Phase::mature) note(course.grown_in);
}

Milestone milestone(const Course (&courses)[3], std::optional<Date> Course::*which) {
    Milestone found;
    found.usual = courses[1].*which;
    bool never = false;
    for (const Course& each : courses) {
        const std::optional<Date>& date = each.*which;
        if (!date) {
            never = true;
            continue;
        }
        if (!found.early || *date < *found.early) found.early = date;
        if (!found.late || *date > *found.late) found.late = date;
    }
    if (never) found.late.reset();
    return found;
}

} // namespace

Course course(const garden::Establishment& establishment, const Climate& climate, double warmer_c) {
    CHECK(establishment.method != turf::Method::none && establishment.start.has_value());
    std::vector<turf::MixShare> mix;
    for (const garden::MixPart& part : establishment.mix)
        mix.push_back({part.species, part.share});
    const Date start = *establishment.start;
    WallTime now = std::chrono::sys_days{start};
    turf::Progress progress = turf::begin(establishment.method, mix, now);

    Course course;
    MowClock mow(progress);
    for (int day = 0; day <= kLongestLook && progress.phase != turf::Phase::mature; ++day) {
        const Date date = add_days(start, day);
        const double soil_c = std::max(soil_temp_c(climate, date) + warmer_c, 0.0);
        if (!course.first_mow)
            course.net_mm +=
                daily_net_mm(progress, establishment.cover, usual_eto_mm(climate, date));
        for (int hour = 0; hour < 24; ++hour) {
            now += std::chrono::hours{1};
            turf::advance(progress, soil_c, kDampKpa, std::chrono::hours{1}, now);
            note_milestones(progress, mow, date, now, course);
        }
    }
    return course;
}

Milestones milestones(const garden::Establishment& establishment, const Climate& climate) {
    const Course courses[3] = {course(establishment, climate, -climate.spread_c),
                               course(establishment, climate),
                               course(establishment, climate, climate.spread_c)};
    Milestones found;
    found.first_green = milestone(courses, &Course::first_green);
    found.all_up = milestone(courses, &Course::all_up);
    found.rooted = milestone(courses, &Course::rooted);
    found.first_mow = milestone(courses, &Course::first_mow);
    found.grown_in = milestone(courses, &Course::grown_in);
    found.net_mm = courses[1].net_mm;
    return found;
}

} // namespace firstmow::renovation
