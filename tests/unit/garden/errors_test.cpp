#include "sample.hpp"

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::garden;

namespace {

// A line of the sample replaced, and the one error that must come of it.
struct Case {
    std::size_t line;
    std::string text;
    int error_line;
    int error_column;
    std::string message; // the whole of it
};

void check(const Case& c) {
    CAPTURE(c.text);
    const auto errors = errors_of(sample({{c.line, c.text}}));
    REQUIRE_MESSAGE(errors.size() == 1, report(errors));
    CHECK_EQ(errors[0].line, c.error_line);
    CHECK_EQ(errors[0].column, c.error_column);
    CHECK_EQ(errors[0].message, c.message);
}

// The same, where a piece of the message is enough.
void check_piece(const Case& c) {
    CAPTURE(c.text);
    const auto errors = errors_of(sample({{c.line, c.text}}));
    REQUIRE_MESSAGE(errors.size() == 1, report(errors));
    CHECK_EQ(errors[0].line, c.error_line);
    CHECK_EQ(errors[0].column, c.error_column);
    CHECK_MESSAGE(errors[0].message.find(c.message) != std::string::npos, errors[0].message);
}

} // namespace

TEST_CASE("an error is written file, line, column, message") {
    CHECK_EQ(located("my garden.toml", {3, 7, "x is y; z would be right"}),
             "my garden.toml:3:7: x is y; z would be right");
}

TEST_CASE("a missing key is an error at its table, with what to write") {
    const Case cases[] = {
        {2, "", 1, 1, R"([site] lacks "name"; write, for example, name = "Our garden")"},
        {3, "", 1, 1, R"([site] lacks "latitude"; write, for example, latitude = 41.9)"},
        {4, "", 1, 1, R"([site] lacks "longitude"; write, for example, longitude = -93.6)"},
        {5, "", 1, 1, R"([site] lacks "elevation"; write, for example, elevation = "290 m")"},
        {6, "", 1, 1,
         R"([site] lacks "timezone"; write, for example, timezone = "America/Chicago")"},
        {10, "", 9, 1, R"([supply] lacks "flow"; write, for example, flow = "35 L/min")"},
        {11, "", 9, 1, R"([supply] lacks "hours"; write, for example, hours = ["06:00-19:00"])"},
        {16, "", 15, 1, R"([[zone]] lacks "id"; write, for example, id = "front")"},
        {18, "", 15, 1, R"([[zone]] "front" lacks "area"; write, for example, area = "90 m2")"},
        {19, "", 15, 1, R"([[zone]] "front" lacks "soil"; write, for example, soil = "loam")"},
        {21, "", 15, 1,
         R"([[zone]] "front" lacks "precipitation_rate"; write, for example, )"
         R"(precipitation_rate = "12 mm/h" (or catch_cans, flow or heads: how fast the )"
         R"(sprinklers bring water))"},
        {26, "", 15, 1,
         R"([[zone]] "front" lacks "valve"; write, for example, valve = { driver = )"
         R"("simulated", channel = 1 })"},
        {38, "valve = { driver = 'simulated' }", 38, 9,
         R"(valve of [[zone]] "bed" lacks "channel"; write, for example, channel = 1)"},
        {38, "valve = { channel = 2 }", 38, 9,
         R"(valve of [[zone]] "bed" lacks "driver"; write, for example, driver = "simulated")"},
        {28, "", 27, 1,
         R"(establishment of [[zone]] "front" lacks "method"; write, for example, method = )"
         R"("seed")"},
        {29, "", 27, 1,
         R"(establishment of [[zone]] "front" lacks "start", which method "seed" needs; )"
         R"(write, for example, start = 2026-08-22)"},
        {32, "", 27, 1,
         R"(establishment of [[zone]] "front" lacks "mix", which method "seed" needs; )"
         R"(write, for example, mix = [ { species = "tall_fescue", share = 1 } ])"},
        {32, "mix = [ { share = 1 } ]", 32, 9,
         R"(mix of establishment of [[zone]] "front" lacks "species"; write, for example, )"
         R"(species = "tall_fescue")"},
        {32, "mix = [ { species = 'tall_fescue' } ]", 32, 9,
         R"(mix of establishment of [[zone]] "front" lacks "share"; write, for example, )"
         R"(share = 1)"},
    };
    for (const Case& c : cases)
        check(c);
}

TEST_CASE("overseeding needs a start and a mix, sod a start") {
    const auto overseed = errors_of(sample({{28, "method = 'overseed'"}, {29, ""}, {32, ""}}));
    CHECK_EQ(overseed.size(), 2);
    const auto sod = errors_of(sample({{28, "method = 'sod'"}, {29, ""}, {32, ""}}));
    REQUIRE_EQ(sod.size(), 1);
    CHECK_EQ(sod[0].line, 27);
}

TEST_CASE("an empty file lacks all that a garden must have") {
    for (const char* const text : {"", "\n\n", "# nothing\n"}) {
        const auto errors = errors_of(text);
        REQUIRE_EQ(errors.size(), 3);
        CHECK_EQ(located("g", errors[0]),
                 "g:1:1: the garden file lacks \"site\"; write, for example, [site] with name, "
                 "latitude, longitude, elevation and timezone");
        CHECK_EQ(located("g", errors[1]),
                 "g:1:1: the garden file lacks \"supply\"; write, for example, [supply] with flow "
                 "and hours");
        CHECK_EQ(located("g", errors[2]),
                 "g:1:1: the garden file lacks \"zone\"; write, for example, [[zone]] with id, "
                 "area, soil, precipitation_rate and valve");
    }
}

TEST_CASE("an unknown key names its nearest neighbour, at every level") {
    const Case cases[] = {
        {13, "[wether]", 13, 2, R"(the garden file has no key "wether"; did you mean "weather"?)"},
        {3, "lattitude = 41.9", 3, 1, R"([site] has no key "lattitude"; did you mean "latitude"?)"},
        {10, "  flaw = '35 L/min'", 10, 3, R"([supply] has no key "flaw"; did you mean "flow"?)"},
        {14, "colour = 'green'", 14, 1,
         R"([weather] has no key "colour"; one of "csv" or "source" would be right)"},
        {22, "distribution_uniformty = 0.65", 22, 1,
         R"([[zone]] "front" has no key "distribution_uniformty"; did you mean )"
         R"("distribution_uniformity"?)"},
        {38, "valve = { driver = 'simulated', chanel = 2 }", 38, 33,
         R"(valve of [[zone]] "bed" has no key "chanel"; did you mean "channel"?)"},
        {31, "covers = 'straw'", 31, 1,
         R"(establishment of [[zone]] "front" has no key "covers"; did you mean "cover"?)"},
        {32, "mix = [ { species = 'tall_fescue', share = 1, brand = 'x' } ]", 32, 47,
         R"(mix of establishment of [[zone]] "front" has no key "brand"; one of "species" )"
         R"(or "share" would be right)"},
        {31, "manufacturer = 'x'", 31, 1,
         R"(establishment of [[zone]] "front" has no key "manufacturer"; one of "method", )"
         R"("start", "seed_depth", "cover" or "mix" would be right)"},
    };
    for (const Case& c : cases)
        check(c);
}

TEST_CASE("a bare number where a unit is due names the units") {
    const Case cases[] = {
        {5, "elevation = 290", 5, 13,
         R"(elevation is the bare number 290; a number with its unit (m or ft) in quotes )"
         R"(would be right: elevation = "290 m")"},
        {10, "flow = 35.5", 10, 8,
         R"(flow is the bare number 35.5; a number with its unit (L/min or gal/min) in )"
         R"(quotes would be right: flow = "35 L/min")"},
        {18, "area = nan", 18, 8,
         R"(area is the bare number nan; a number with its unit (m2 or ft2) in quotes would )"
         R"(be right: area = "90 m2")"},
        {21, "precipitation_rate = 12", 21, 22,
         R"(precipitation_rate is the bare number 12; a number with its unit (mm/h or in/h) )"
         R"(in quotes would be right: precipitation_rate = "12 mm/h")"},
        {21, "precipitation_rate = '12'", 21, 22,
         R"(precipitation_rate "12" has no unit; a number with mm/h or in/h would be right: )"
         R"(precipitation_rate = "12 mm/h")"},
        {21, "precipitation_rate = '12 mm'", 21, 22,
         R"(precipitation_rate "12 mm" has the wrong unit; a number with mm/h or in/h would )"
         R"(be right: precipitation_rate = "12 mm/h")"},
        {20, "slope = 2", 20, 9,
         R"(slope is the bare number 2; a number with its unit (%) in quotes would be )"
         R"(right: slope = "2 %")"},
        {23, "soil_below = -200", 23, 14,
         R"(soil_below is the bare number -200; a number with its unit (kPa) in quotes )"
         R"(would be right: soil_below = "-200 kPa")"},
        {24, "shortest_run = 120", 24, 16,
         R"(shortest_run is the bare number 120; a number with its unit (s, min or h) in )"
         R"(quotes would be right: shortest_run = "2 min")"},
        {30, "seed_depth = 6", 30, 14,
         R"(seed_depth is the bare number 6; a number with its unit (mm, cm or in) in )"
         R"(quotes would be right: seed_depth = "6 mm")"},
    };
    for (const Case& c : cases)
        check(c);
}

TEST_CASE("a value of the wrong type names the right one with an example") {
    const Case cases[] = {
        {2, "name = 3", 2, 8,
         R"(name is a whole number; text in quotes would be right: name = "Our garden")"},
        {3, "latitude = '41.9'", 3, 12,
         R"(latitude is text; a number without quotes would be right: latitude = 41.9)"},
        {8, "first_frost = 2026-10-07", 8, 15,
         R"(first_frost is a date; text in quotes would be right: first_frost = "10-07")"},
        {11, "hours = '06:00-19:00'", 11, 9,
         R"(hours is text; a list in square brackets would be right: hours = ["06:00-19:00"])"},
        {11, "hours = [ 06:00:00 ]", 11, 11,
         R"(hours is a time; text in quotes, from-to in local time, would be right: hours = )"
         R"(["06:00-19:00"])"},
        {12, "days = [ 1 ]", 12, 10,
         R"(days is a whole number; a day in quotes would be right: days = ["mon", "wed", "sat"])"},
        {18, "area = [90]", 18, 8,
         R"(area is a list; a number with its unit in quotes would be right: area = "90 m2")"},
        {38, "valve = 2", 38, 9,
         R"(valve is a whole number; a table would be right: valve = { driver = )"
         R"("simulated", channel = 1 })"},
        {38, "valve = { driver = 'simulated', channel = 2.0 }", 38, 43,
         R"(channel is a number; a whole number without quotes would be right: channel = 1)"},
        {29, "start = '2026-08-22'", 29, 9,
         R"(start is text; a date without quotes would be right: start = 2026-08-22)"},
        {29, "start = 2026-08-22T06:00:00", 29, 9,
         R"(start is a time; a date without quotes would be right: start = 2026-08-22)"},
        {31, "cover = true", 31, 9,
         R"(cover is true or false; a word in quotes would be right: cover = "straw")"},
        {32, "mix = [ 'tall_fescue' ]", 32, 9,
         R"(mix is text; a species with its share in braces would be right: mix = [ { )"
         R"(species = "tall_fescue", share = 1 } ])"},
    };
    for (const Case& c : cases)
        check(c);
}

TEST_CASE("a value out of range says the range") {
    const Case cases[] = {
        {3, "latitude = 90.1", 3, 12, "latitude is 90.1; a number from -90 to 90 would be right"},
        {3, "latitude = nan", 3, 12, "latitude is nan; a number from -90 to 90 would be right"},
        {4, "longitude = -inf", 4, 13,
         "longitude is -inf; a number from -180 to 180 would be right"},
        {5, "elevation = '9000 m'", 5, 13,
         R"(elevation is "9000 m"; from -430 to 6000 m would be right)"},
        {10, "flow = '0 L/min'", 10, 8,
         R"(flow is "0 L/min"; from 0.1 to 10000 L/min would be right)"},
        {18, "area = '0 m2'", 18, 8, R"(area is "0 m2"; from 0.1 to 100000 m2 would be right)"},
        {18, "area = '-90 m2'", 18, 8, R"(area is "-90 m2"; from 0.1 to 100000 m2 would be right)"},
        {20, "slope = '101 %'", 20, 9, R"(slope is "101 %"; from 0 to 100 % would be right)"},
        {21, "precipitation_rate = '-1 mm/h'", 21, 22,
         R"(precipitation_rate is "-1 mm/h"; from 0.1 to 200 mm/h would be right)"},
        {22, "distribution_uniformity = 65", 22, 27,
         "distribution_uniformity is 65; a number from 0.1 to 1 would be right"},
        {22, "distribution_uniformity = 0", 22, 27,
         "distribution_uniformity is 0; a number from 0.1 to 1 would be right"},
        {23, "soil_below = '200 kPa'", 23, 14,
         R"(soil_below is "200 kPa"; from -1500 to 0 kPa would be right)"},
        {24, "shortest_run = '5 s'", 24, 16,
         R"(shortest_run is "5 s"; from 10 to 14400 s would be right)"},
        {25, "longest_run = '2 min'", 24, 16,
         "shortest_run makes the shortest run (180 s) longer than the longest (120 s); "
         "shortest_run up to longest_run would be right"},
        {38, "valve = { driver = 'simulated', channel = 0 }", 38, 43,
         "channel is 0; a whole number from 1 to 999 would be right"},
        {38, "valve = { driver = 'simulated', channel = 4294967297 }", 38, 43,
         "channel is 4294967297; a whole number from 1 to 999 would be right"},
        {29, "start = 1999-12-31", 29, 9,
         "start is 1999-12-31; a date from 2000-01-01 to 2099-12-31 would be right"},
        {30, "seed_depth = '2 in'", 30, 14,
         R"(seed_depth is "2 in"; from 1 to 25 mm would be right)"},
        {32, "mix = [ { species = 'tall_fescue', share = 0 } ]", 32, 44,
         "share is 0; a number from 0.001 to 1 would be right"},
        {32, "mix = [ { species = 'tall_fescue', share = inf } ]", 32, 44,
         "share is inf; a number from 0.001 to 1 would be right"},
    };
    for (const Case& c : cases)
        check(c);
}

TEST_CASE("an unknown word names the nearest one") {
    const Case cases[] = {
        {7, "units = 'imperial'", 7, 9,
         R"(units "imperial" is unknown; one of "metric" or "us" would be right)"},
        {19, "soil = 'lome'", 19, 8, R"(soil "lome" is unknown; did you mean "loam"?)"},
        {28, "method = 'sodd'", 28, 10, R"(method "sodd" is unknown; did you mean "sod"?)"},
        {31, "cover = 'mulch'", 31, 9,
         R"(cover "mulch" is unknown; one of "none", "straw" or "blanket" would be right)"},
        {32, "mix = [ { species = 'kentucky_blugrass', share = 1 } ]", 32, 21,
         R"(species "kentucky_blugrass" is unknown; did you mean "kentucky_bluegrass"?)"},
        {38, "valve = { driver = 'relay', channel = 2 }", 38, 20,
         R"(driver "relay" is unknown; one of "simulated", "gpio", "mcp23017", )"
         R"("pcf8574", "modbus" or "http" would be right)"},
        {12, "days = ['monday']", 12, 9,
         R"(days has the unknown day "monday"; one of "mon", "tue", "wed", "thu", "fri", )"
         R"("sat" or "sun" would be right)"},
    };
    for (const Case& c : cases)
        check(c);
}

TEST_CASE("hours, days and dates that cannot be are refused") {
    const Case cases[] = {
        {11, "hours = []", 11, 9, "is an empty list"},
        {11, "hours = ['06:00-06:00']", 11, 10, "do not end after they begin"},
        {11, "hours = ['22:00-05:00']", 11, 10, "do not end after they begin"},
        {11, "hours = ['6:00-19:00']", 11, 10, "are not two clock times"},
        {11, "hours = ['06:00-24:01']", 11, 10, "are not two clock times"},
        {11, "hours = ['06:60-19:00']", 11, 10, "are not two clock times"},
        {11, "hours = ['06:00']", 11, 10, "are not two clock times"},
        {11, "hours = ['06:00-12:00', '11:59-13:00']", 11, 25, "overlap"},
        {11, "hours = ['10:00-11:00', '06:00-19:00']", 11, 25, "overlap"},
        {12, "days = []", 12, 8, "is an empty list"},
        {12, "days = ['mon', 'mon']", 12, 16, "has \"mon\" twice"},
        {8, "first_frost = '13-01'", 8, 15, "is not a day of every year"},
        {8, "first_frost = '02-29'", 8, 15, "is not a day of every year"},
        {8, "first_frost = '10/07'", 8, 15, "is not a day of every year"},
        {8, "first_frost = '7 Oct'", 8, 15, "is not a day of every year"},
    };
    for (const Case& c : cases)
        check_piece(c);
}

TEST_CASE("a mix whose shares do not sum to one, or that names a species twice, is refused") {
    check({32,
           "mix = [ { species = 'tall_fescue', share = 0.5 }, { species = 'fine_fescue', share = "
           "0.4 } ]",
           32, 7, "mix has shares that sum to 0.900; a sum of 1 would be right"});
    check_piece({32,
                 "mix = [ { species = 'tall_fescue', share = 0.5 }, { species = 'tall_fescue', "
                 "share = 0.5 } ]",
                 32, 63, "stands twice in the mix"});
    check_piece({32, "mix = []", 32, 7, "is an empty list"});
}

TEST_CASE("time zones are asked of the system, and never look like a path") {
    ReadOptions options;
    options.is_timezone = [](std::string_view name) { return name == "America/Chicago"; };
    CHECK(errors_of(sample(), options).empty());
    const auto errors = errors_of(sample({{6, "timezone = 'America/Chikago'"}}), options);
    REQUIRE_EQ(errors.size(), 1);
    CHECK_EQ(located("g", errors[0]),
             "g:6:12: timezone \"America/Chikago\" is not a time zone that this system knows; a "
             "name of the IANA list such as \"America/Chicago\" would be right");
    for (const char* const path :
         {"timezone = '../../etc/passwd'", "timezone = '/etc/localtime'", "timezone = 'Europe/'"})
        check_piece({6, path, 6, 12, "is not a time zone"});
}

TEST_CASE("names hold no control characters and are not endless") {
    const Case cases[] = {
        {2, R"(name = "")", 2, 8, "is empty"},
        {2, R"(name = "   ")", 2, 8, "is empty"},
        {2, R"(name = "a\nb")", 2, 8, "holds a control character"},
        {2, R"(name = "a\u0000b")", 2, 8, "holds a control character"},
        {2, R"(name = "a\u007Fb")", 2, 8, "holds a control character"},
        {2, R"(name = "a\u009Bb")", 2, 8, "holds a control character"},
        {2, R"(name = "a\u202Eb")", 2, 8, "holds a control character"},
        {14, R"(csv = "a\tb")", 14, 7, "holds a control character"},
        {16, "id = 'front lawn'", 16, 6, "letters, digits and '-'"},
        {16, "id = '../x'", 16, 6, "letters, digits and '-'"},
        {16, "id = ''", 16, 6, "is empty"},
        {16, "id = 'x2345678901234567890123456789012345'", 16, 6, "longer than 32 characters"},
    };
    for (const Case& c : cases)
        check_piece(c);
    check_piece({2, "name = '" + std::string(81, 'x') + "'", 2, 8, "is longer than 80 characters"});
    // The message itself stays one printable line.
    const auto errors = errors_of(sample({{19, R"(soil = "lo\nam\u0007")"}}));
    REQUIRE_EQ(errors.size(), 1);
    CHECK_EQ(errors[0].message.find_first_of("\n\a"), std::string::npos);
}

TEST_CASE("ids and channels are each used once") {
    check({34, "id = 'front'", 34, 6,
           R"(id "front" is taken by line 16; an id of its own would be right)"});
    check({38, "valve = { driver = 'simulated', channel = 1 }", 38, 43,
           R"(channel 1 of driver "simulated" is taken by zone "front"; a channel of its own )"
           R"(would be right)"});
}

TEST_CASE("a zone may not ask for more than the tap gives") {
    check(
        {18, "area = '200 m2'", 21, 22,
         "precipitation_rate asks for 40.00 L/min (200.0 m2 at 12.0 mm/h), more than the flow "
         "of 35.00 L/min in [supply]; a smaller zone, or nozzles that give less, would be right"});
    // Just what it gives is not more.
    CHECK(errors_of(sample({{18, "area = '175 m2'"}})).empty());
}

TEST_CASE("zones are written as a list of tables") {
    check_piece({15, "[zone]", 33, 1, "this is not TOML"});
    auto lines = sample_lines();
    std::string one_zone;
    for (std::size_t i = 0; i < 26; ++i)
        one_zone += (i == 14 ? "[zone]" : lines[i]) + "\n";
    const auto errors = errors_of(one_zone);
    REQUIRE_EQ(errors.size(), 1);
    CHECK_EQ(located("g", errors[0]), "g:15:1: zone is a single table; [[zone]] in double "
                                      "brackets, once for each zone, would be right");
    CHECK_EQ(errors_of("zone = []\n" + sample({}).substr(0, sample({}).find("[[zone]]"))).size(),
             1);
    std::string many = sample();
    for (int i = 0; i < 63; ++i)
        many += "[[zone]]\n";
    const auto too_many = errors_of(many);
    REQUIRE_EQ(too_many.size(), 1);
    CHECK_EQ(too_many[0].line, 38 + 63);
    CHECK_NE(too_many[0].message.find("more than 64 zones"), std::string::npos);
}

TEST_CASE("a syntax error stands alone, at its place") {
    check_piece({18, "area = = 4", 18, 8, "this is not TOML"});
    // The parser chooses the column; its releases may differ, the line is what counts.
    const std::pair<std::size_t, const char*> cases[] = {{19, "area = '90 m2'"},
                                                         {29, "start = 2026-02-30"},
                                                         {2, "name = \"torn"},
                                                         {2, "name = '\xff'"},
                                                         {5, "elevation"}};
    for (const auto& [line, text] : cases) {
        CAPTURE(text);
        const auto errors = errors_of(sample({{line, text}, {3, "latitude = 'wrong too'"}}));
        REQUIRE_EQ(errors.size(), 1);
        CHECK_EQ(errors[0].line, line);
        CHECK_EQ(errors[0].message.substr(0, 18), "this is not TOML: ");
    }
}

TEST_CASE("all errors come at once, in the order of the file") {
    const auto errors = errors_of(sample({{3, "lattitude = 41.9"},
                                          {5, "elevation = 290"},
                                          {11, "hours = ['19:00-06:00']"},
                                          {19, "soil = 'lome'"},
                                          {21, "precipitation_rate = 12"},
                                          {26, ""},
                                          {32, "mix = [ { species = 'grass', share = 2 } ]"},
                                          {38, "valve = { driver = 'x', channel = 1000 }"}}));
    std::vector<std::pair<int, int>> places;
    for (const FileError& error : errors)
        places.emplace_back(error.line, error.column);
    const std::vector<std::pair<int, int>> expected = {{3, 1},   {5, 13},  {11, 10}, {15, 1},
                                                       {19, 8},  {21, 22}, {32, 21}, {32, 38},
                                                       {38, 20}, {38, 35}};
    CHECK_MESSAGE(places == expected, report(errors));
}

TEST_CASE("columns are counted in characters, not bytes") {
    check_piece({38, "valve = { file = '\u00fc\u00fc', driver = 'simulated', channel = 0 }", 38, 56,
                 "channel is 0"});
}
