#include "garden/sections.hpp"

#include "base/text.hpp"
#include "garden/wording.hpp"

#include <array>
#include <string_view>

namespace firstmow::garden {

namespace {

constexpr Field kFields[] = {
    {"desirable_grass", false, "desirable_grass = \"20 %\""},
    {"traffic", false, "traffic = \"medium\""},
    {"instant", false, "instant = false"},
    {"herbicide_wait", false, "herbicide_wait = \"14 days\""},
    {"settle", false, "settle = \"7 days\""},
    {"seed_purity", false, "seed_purity = \"98 %\""},
    {"seed_germination", false, "seed_germination = \"85 %\""},
    {"seed_rate", false, "seed_rate = \"20 g/m2\""},
    {"starter", false, "starter = \"16-16-16\""},
    {"starter_nitrogen", false, "starter_nitrogen = \"4.9 g/m2\""},
    {"topsoil", false, "topsoil = \"25 mm\""},
    {"topdressing", false, "topdressing = \"6 mm\""},
    {"sod_roll", false, "sod_roll = \"1 m2\""},
    {"sod_waste", false, "sod_waste = \"5 %\""},
    {"water_price", false, "water_price = \"2.5 per m3\""},
    {"design_heat", false, "design_heat = \"34 C\""},
    {"daily_record", false, "daily_record = \"daily.csv\""},
};
constexpr Field kLawnFields[] = {
    {"desirable_grass", false, "desirable_grass = \"20 %\""},
    {"traffic", false, "traffic = \"medium\""},
    {"instant", false, "instant = false"},
};
// In the order of the enum.
constexpr std::string_view kTraffic[] = {"low", "medium", "high"};

OldLawn lawn_of(const Fields& fields) {
    OldLawn lawn;
    lawn.desirable_grass_pct = fields.quantity("desirable_grass", Dimension::percent, {0, 100});
    if (const auto traffic = fields.word("traffic", kTraffic))
        lawn.traffic = static_cast<Traffic>(*traffic);
    lawn.instant = fields.truth("instant");
    return lawn;
}

// "16-20-0": three shares by weight that fit into one bag.
std::optional<Analysis> parse_analysis(std::string_view text) {
    std::array<double, 3> shares{};
    for (std::size_t i = 0; i < shares.size(); ++i) {
        const std::size_t dash = text.find('-');
        if ((dash == std::string_view::npos) != (i == 2)) return std::nullopt;
        const auto share = parse_number(text.substr(0, dash));
        if (!share || *share < 0) return std::nullopt;
        shares[i] = *share;
        if (i < 2) text.remove_prefix(dash + 1);
    }
    if (shares[0] + shares[1] + shares[2] > 100) return std::nullopt;
    return Analysis{shares[0], shares[1], shares[2]};
}

void read_fertilizer(const Fields& fields, Renovation& read) {
    if (const auto text = fields.text("starter")) {
        const auto analysis = parse_analysis(*text);
        if (!analysis)
            fields.refuse("starter", in_quotes(*text) +
                                         " is not an analysis; percent of N-P-K from the bag such "
                                         "as \"16-16-16\" would be right");
        else if (analysis->n_pct < 1)
            fields.refuse("starter", in_quotes(*text) +
                                         " holds no nitrogen to measure it by; an analysis with at "
                                         "least 1 % of N such as \"16-16-16\" would be right");
        else
            read.starter = *analysis;
    }
    // A tenth of a pound to two pounds per 1000 ft2.
    if (const auto n = fields.quantity("starter_nitrogen", Dimension::cover_g_per_m2, {0.4, 10}))
        read.starter_nitrogen_g_per_m2 = *n;
}

void read_seed(const Fields& fields, Renovation& read) {
    // Below these a lot is not worth sowing, and quantities would explode.
    read.seed_purity_pct = fields.quantity("seed_purity", Dimension::percent, {20, 100});
    read.seed_germination_pct = fields.quantity("seed_germination", Dimension::percent, {20, 100});
    read.seed_rate_g_per_m2 = fields.quantity("seed_rate", Dimension::cover_g_per_m2, {0.5, 150});
}

void read_ground_work(const Fields& fields, Renovation& read) {
    if (const auto days = fields.quantity("herbicide_wait", Dimension::duration_days, {0, 180})) {
        read.herbicide_wait_days = *days;
        read.herbicide_wait_given = true;
    }
    if (const auto days = fields.quantity("settle", Dimension::duration_days, {0, 60}))
        read.settle_days = *days;
    if (const auto depth = fields.quantity("topsoil", Dimension::depth_mm, {0, 300}))
        read.topsoil_mm = *depth;
    read.topdressing_mm = fields.quantity("topdressing", Dimension::depth_mm, {0, 25});
}

} // namespace

OldLawn read_old_lawn(const Node& table, const std::string& called, Errors& errors) {
    return lawn_of(Fields(table, called, kLawnFields, errors));
}

Renovation read_renovation(const Node& table, Errors& errors) {
    const Fields fields(table, "[renovation]", kFields, errors);
    Renovation read;
    read.lawn = lawn_of(fields);
    read_ground_work(fields, read);
    read_seed(fields, read);
    read_fertilizer(fields, read);
    if (const auto area = fields.quantity("sod_roll", Dimension::area_m2, {0.1, 100}))
        read.sod_roll_m2 = *area;
    if (const auto waste = fields.quantity("sod_waste", Dimension::percent, {0, 50}))
        read.sod_waste_pct = *waste;
    read.water_price_per_m3 = fields.quantity("water_price", Dimension::price_per_m3, {0, 1000});
    read.design_heat_c = fields.quantity("design_heat", Dimension::temperature_c, {10, 50});
    read.daily_record = fields.text("daily_record", kLongestPath);
    return read;
}

} // namespace firstmow::garden
