#include "exact_day.hpp"

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using firstmow::trial::best_day;
using firstmow::trial::busy_day;
using firstmow::trial::Grid;
using firstmow::trial::kEver;
using firstmow::trial::kHour;
using firstmow::trial::local;
using firstmow::trial::planned_day;
using firstmow::trial::Toll;

TEST_CASE("exact day: where a search finds a day without a dry minute the plan has none") {
    using soil::TextureClass;
    struct Case {
        TextureClass second;
        double rate_mm_per_h;
        std::vector<Seconds> lengths;
        double most_mm; // of one bed, in the search
    };
    const Case cases[] = {
        {TextureClass::sandy_loam, 12, {Seconds{600}, Seconds{1200}}, 13.4},
        {TextureClass::clay_loam, 17, {Seconds{450}, Seconds{900}}, 11.4},
    };
    for (const Case& c : cases) {
        const auto day =
            busy_day({TextureClass::loam, c.second, c.rate_mm_per_h, 11 * kHour, std::nullopt});
        const Grid grid{day->now(), kHour, 11, c.lengths, local(2, 6)};
        const auto [best, certain] = best_day(*day, grid, {0, 0, c.most_mm});
        const Toll planned = planned_day(*day, grid.end);
        REQUIRE(certain);
        CAPTURE(c.rate_mm_per_h);
        CAPTURE(best.water_mm);
        CAPTURE(planned.water_mm);
        CHECK(best.dry_min == 0);
        // Five minutes are one step of the model. The plan takes 0.91 and 0.99 of the water: it may
        // start when it likes. Much less would mean that the two days are not alike.
        CHECK(planned.dry_min <= 5);
        CHECK(planned.water_mm <= 1.2 * best.water_mm); // 1.15
        CHECK(planned.water_mm >= 0.75 * best.water_mm);
    }
}

TEST_CASE("exact day: where the tap is busy all day the plan stays near the best possible") {
    using soil::TextureClass;
    // The bench (shared) does 72 such days, three pairs of soils, 2 to 8 mm/h, none or one bed
    // sprouted: dry minutes, weighted, were 0.93 of the search's in all, for it starts only every
    // 55 minutes; of 24 days on which it has none the plan had none; of the other 48 it was within
    // 1.05 on 47 of them, at most 1.50.
    struct Case {
        TextureClass first;
        TextureClass second;
        double rate_mm_per_h;
        std::optional<std::size_t> sprouted;
        bool can; // some schedule has none
        double most_of_best = 1.05;
    };
    const Case cases[] = {
        {TextureClass::loam, TextureClass::sandy_loam, 5, {}, true},
        {TextureClass::loam, TextureClass::sandy_loam, 4, 0, true},
        {TextureClass::sand, TextureClass::clay_loam, 5, 0, true},
        {TextureClass::loam, TextureClass::sandy_loam, 3, {}, false},
        {TextureClass::loam, TextureClass::sandy_loam, 2, 1, false},
        {TextureClass::silt_loam, TextureClass::silt_loam, 2.5, 0, false},
        {TextureClass::silt_loam, TextureClass::silt_loam, 3, {}, false},
        {TextureClass::sand, TextureClass::clay_loam, 3, 1, false, 1.10},
        {TextureClass::sand, TextureClass::clay_loam, 3.5, 0, false, 1.6}, // the worst of the 72
    };
    constexpr Seconds kSlot{3300};
    for (const Case& c : cases) {
        const auto day = busy_day({c.first, c.second, c.rate_mm_per_h, 11 * kSlot, c.sprouted});
        const Grid grid{day->now(), kSlot, 11, {kSlot}, local(2, 6)};
        const Toll best = best_day(*day, grid, {kEver, kEver, kEver}).toll;
        const Toll planned = planned_day(*day, grid.end);
        CAPTURE(c.rate_mm_per_h);
        CAPTURE(planned.deadly_min);
        CAPTURE(planned.dry_min);
        CAPTURE(best.deadly_min);
        CAPTURE(best.dry_min);
        CHECK((best.cost_min() == 0) == c.can);
        CHECK(planned.cost_min() <= c.most_of_best * best.cost_min());
        CHECK(planned.water_mm <= 1.2 * best.water_mm); // 1.15
    }
}
