#include "sample.hpp"

#include <doctest/doctest.h>

#include <fstream>
#include <sstream>

using namespace firstmow;
using namespace firstmow::garden;
using namespace std::chrono;

namespace {

Garden garden_of(std::string_view text) {
    const auto read_back = read(text);
    const auto* const garden = std::get_if<Garden>(&read_back);
    REQUIRE_MESSAGE(garden != nullptr, report(errors_of(text)));
    return *garden;
}

std::string file_text(const std::string& name) {
    std::ifstream file(std::string(FIRSTMOW_SOURCE_DIR) + "/config/" + name, std::ios::binary);
    REQUIRE(file.good());
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

} // namespace

TEST_CASE("every key arrives in the garden, in SI units") {
    const Garden garden = garden_of(sample());
    CHECK_EQ(garden.site.name, "Test garden");
    CHECK_EQ(garden.site.place.latitude_deg, 41.9);
    CHECK_EQ(garden.site.place.longitude_deg, -93.6);
    CHECK_EQ(garden.site.place.elevation_m, 290);
    CHECK_EQ(garden.site.timezone, "America/Chicago");
    CHECK(garden.site.units == Units::us);
    CHECK(garden.site.first_frost == October / 7);
    CHECK_EQ(garden.supply.flow_l_per_min, 35);
    REQUIRE_EQ(garden.supply.hours.size(), 1);
    CHECK_EQ(garden.supply.hours[0].from_s, 6 * 3600);
    CHECK_EQ(garden.supply.hours[0].to_s, 19 * 3600);
    CHECK(garden.supply.days == std::array{true, false, true, false, false, true, false});
    CHECK_EQ(garden.weather.csv_file.value(), "weather.csv");

    REQUIRE_EQ(garden.zones.size(), 2);
    const Zone& front = garden.zones[0];
    CHECK_EQ(front.id, "front");
    CHECK_EQ(front.name, "Front lawn");
    CHECK_EQ(front.area_m2, 90);
    CHECK(front.soil == soil::TextureClass::loam);
    CHECK_EQ(front.slope_pct, 2);
    CHECK_EQ(front.precipitation_rate_mm_per_h, 12);
    CHECK_EQ(front.distribution_uniformity, 0.65);
    CHECK_EQ(front.soil_below_kpa, -150);
    CHECK_EQ(front.shortest_run_s, 180);
    CHECK_EQ(front.longest_run_s, 2700);
    CHECK_EQ(front.flow_l_per_min(), doctest::Approx(18));
    CHECK_EQ(front.valve.driver, "simulated");
    CHECK_EQ(front.valve.channel, 1);
    CHECK_EQ(front.valve.file.value(), "valves.log");
    CHECK(front.establishment.method == turf::Method::seed);
    CHECK(front.establishment.start == 2026y / August / 22);
    CHECK_EQ(front.establishment.seed_depth_mm, 6);
    CHECK(front.establishment.cover == turf::Cover::straw);
    REQUIRE_EQ(front.establishment.mix.size(), 2);
    CHECK(front.establishment.mix[0].species == turf::Species::kentucky_bluegrass);
    CHECK_EQ(front.establishment.mix[0].share, doctest::Approx(0.6));
    CHECK(front.establishment.mix[1].species == turf::Species::perennial_ryegrass);
}

TEST_CASE("what is left out has the default that the example file names") {
    const Garden garden = garden_of(sample({{7, ""}, {8, ""}, {12, ""}, {13, ""}, {14, ""}}));
    CHECK(garden.site.units == Units::metric);
    CHECK_FALSE(garden.site.first_frost.has_value());
    CHECK(garden.supply.days == std::array{true, true, true, true, true, true, true});
    CHECK_FALSE(garden.weather.csv_file.has_value());
    const Zone& bed = garden.zones[1];
    CHECK_EQ(bed.name, "bed");
    CHECK_EQ(bed.slope_pct, 0);
    CHECK_EQ(bed.distribution_uniformity, 0.6);
    CHECK_EQ(bed.soil_below_kpa, -200);
    CHECK_EQ(bed.shortest_run_s, 120);
    CHECK_EQ(bed.longest_run_s, 3600);
    CHECK_FALSE(bed.valve.file.has_value());
    CHECK(bed.establishment.method == turf::Method::none);
    CHECK_FALSE(bed.establishment.start.has_value());
}

TEST_CASE("a file in feet, inches and gallons is the same garden") {
    const Garden garden = garden_of(sample({{5, R"(elevation = "1000 ft")"},
                                            {10, R"(flow = "10 gal/min")"},
                                            {18, R"(area = "1000 ft2")"},
                                            {21, R"(precipitation_rate = "0.5 in/h")"},
                                            {30, R"(seed_depth = "0.25 in")"}}));
    CHECK_EQ(garden.site.place.elevation_m, doctest::Approx(304.8));
    CHECK_EQ(garden.supply.flow_l_per_min, doctest::Approx(37.85411784));
    CHECK_EQ(garden.zones[0].area_m2, doctest::Approx(92.90304));
    CHECK_EQ(garden.zones[0].precipitation_rate_mm_per_h, doctest::Approx(12.7));
    CHECK_EQ(garden.zones[0].establishment.seed_depth_mm, doctest::Approx(6.35));
}

TEST_CASE("the ends of every range are inside it") {
    const Garden garden = garden_of(sample({{3, "latitude = -90"},
                                            {4, "longitude = 180"},
                                            {5, R"(elevation = "-430 m")"},
                                            {8, R"(first_frost = "12-31")"},
                                            {11, R"(hours = ["12:00-24:00", "00:00-12:00"])"},
                                            {20, R"(slope = "100 %")"},
                                            {22, "distribution_uniformity = 1"},
                                            {23, R"(soil_below = "-1500 kPa")"},
                                            {24, R"(shortest_run = "10 s")"},
                                            {25, R"(longest_run = "4 h")"},
                                            {29, "start = 2099-12-31"},
                                            {30, R"(seed_depth = "25 mm")"}}));
    CHECK_EQ(garden.site.place.latitude_deg, -90);
    REQUIRE_EQ(garden.supply.hours.size(), 2);
    CHECK_EQ(garden.supply.hours[0].from_s, 0); // sorted
    CHECK_EQ(garden.supply.hours[1].to_s, 86400);
    CHECK_EQ(garden.zones[0].shortest_run_s, 10);
}

TEST_CASE("shares are made to sum to one when they nearly do") {
    const Garden garden = garden_of(
        sample({{32, "mix = [ { species = 'tall_fescue', share = 0.333 }, { species = "
                     "'fine_fescue', share = 0.333 }, { species = 'bermudagrass', share = 0.333 "
                     "} ]"}}));
    double sum = 0;
    for (const MixPart& part : garden.zones[0].establishment.mix)
        sum += part.share;
    CHECK_EQ(sum, doctest::Approx(1).epsilon(1e-12));
}

TEST_CASE("every species and every soil of the catalogues can be written") {
    for (const turf::SpeciesTraits& traits : turf::all_species()) {
        const Garden garden = garden_of(
            sample({{32, "mix = [ { species = '" + std::string(traits.key) + "', share = 1 } ]"}}));
        CHECK(garden.zones[0].establishment.mix[0].species == traits.species);
    }
    for (const std::string_view key : soil::texture_keys()) {
        const Garden garden = garden_of(sample({{19, "soil = '" + std::string(key) + "'"}}));
        CHECK(garden.zones[0].soil == *soil::texture_by_key(key));
    }
}

TEST_CASE("every method, cover and day means what it says") {
    const std::pair<const char*, turf::Method> methods[] = {{"seed", turf::Method::seed},
                                                            {"overseed", turf::Method::overseed},
                                                            {"sod", turf::Method::sod},
                                                            {"none", turf::Method::none}};
    for (const auto& [word, method] : methods) {
        const Garden garden = garden_of(sample({{28, "method = \"" + std::string(word) + "\""}}));
        CHECK(garden.zones[0].establishment.method == method);
        CHECK_EQ(garden.zones[0].establishment.start.has_value(), method != turf::Method::none);
        CHECK_EQ(garden.zones[0].establishment.mix.empty(), method == turf::Method::none);
    }
    const std::pair<const char*, turf::Cover> covers[] = {{"none", turf::Cover::none},
                                                          {"straw", turf::Cover::straw},
                                                          {"blanket", turf::Cover::blanket}};
    for (const auto& [word, cover] : covers) {
        const Garden garden = garden_of(sample({{31, "cover = \"" + std::string(word) + "\""}}));
        CHECK(garden.zones[0].establishment.cover == cover);
    }
    const char* const days[] = {"mon", "tue", "wed", "thu", "fri", "sat", "sun"};
    for (std::size_t i = 0; i < 7; ++i) {
        const Garden garden =
            garden_of(sample({{12, "days = [\"" + std::string(days[i]) + "\"]"}}));
        for (std::size_t j = 0; j < 7; ++j)
            CHECK_EQ(garden.supply.days[j], i == j);
    }
    // Sod may say what it is made of, or not.
    const Garden sod = garden_of(sample({{28, "method = 'sod'"}, {32, ""}}));
    CHECK(sod.zones[0].establishment.mix.empty());
}

TEST_CASE("a name is any printable text, markup included") {
    const Garden garden = garden_of(sample({{2, "name = '<b>Gärten & \"Höfe\"</b> 花园'"},
                                            {17, "name = '" + std::string(80, 'x') + "'"}}));
    CHECK_EQ(garden.site.name, "<b>Gärten & \"Höfe\"</b> 花园");
    CHECK_EQ(garden.zones[0].name.size(), 80);
}

TEST_CASE("the garden files of the project are without error") {
    const Garden example = garden_of(file_text("garden.toml"));
    CHECK_EQ(example.zones.size(), 4);
    const Garden demo = garden_of(file_text("demo-garden.toml"));
    REQUIRE_EQ(demo.zones.size(), 4);
    CHECK(demo.zones[0].establishment.method == turf::Method::seed);
    CHECK(demo.zones[1].establishment.method == turf::Method::overseed);
    CHECK(demo.zones[2].establishment.method == turf::Method::sod);
    CHECK(demo.zones[3].establishment.method == turf::Method::none);
    // What tools/demo relies on: each start is one line, right below how long ago it was.
    const std::string text = file_text("demo-garden.toml");
    for (const char* const lines :
         {"# demo: 32 days ago\nstart = 20", "# demo: 26 days ago\nstart = 20",
          "# demo: 20 days ago\nstart = 20"})
        CHECK_NE(text.find(lines), std::string::npos);
}

TEST_CASE("direct sun is a word, a length, or hours of the clock") {
    const auto zone_with = [](const char* line) {
        return garden_of(sample({{20, "slope = \"2 %\"\n" + std::string(line)}})).zones[0];
    };
    CHECK_FALSE(zone_with("").direct_sun_h.has_value());
    CHECK_FALSE(zone_with("sun = 'full'").direct_sun_h.has_value());
    CHECK_EQ(zone_with("sun = 'part_shade'").direct_sun_h, 4.5);
    CHECK_EQ(zone_with("sun = 'shade'").direct_sun_h, 1.5);
    CHECK_EQ(zone_with("direct_sun = '90 min'").direct_sun_h, 1.5);
    CHECK_EQ(zone_with("direct_sun = '0 h'").direct_sun_h, 0.0);
    const Zone hours = zone_with("direct_sun = ['15:00-17:30', '07:00-10:00']");
    CHECK_FALSE(hours.direct_sun_h.has_value());
    REQUIRE_EQ(hours.sun_hours.size(), 2);
    CHECK_EQ(hours.sun_hours[0].from_s, 7 * 3600);
    CHECK_EQ(hours.sun_hours[1].to_s, 17 * 3600 + 1800);
}

TEST_CASE("direct sun: nonsense is refused with its place") {
    const auto refused = [](const char* line, const char* part) {
        const auto errors = errors_of(sample({{20, line}}));
        REQUIRE_EQ(errors.size(), 1);
        CHECK_EQ(errors.front().line, 20);
        CHECK_MESSAGE(errors.front().message.find(part) != std::string::npos,
                      errors.front().message);
    };
    refused("sun = 'sunny'", "part_shade");
    refused("direct_sun = '30 h'", "direct_sun");
    refused("direct_sun = 5", "direct_sun");
    refused("direct_sun = '-1 h'", "direct_sun");
    refused("direct_sun = ['10:00-09:00']", "do not end after they begin");
    refused("direct_sun = []", "direct_sun");
    refused("sun = 'full'\ndirect_sun = '5 h'", "one of the two");
}
