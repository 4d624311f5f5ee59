// The soil of a zone: a texture class or what a soil report says, its loosened top, and what was
// spread over it.
#include "garden/sections.hpp"

#include "base/check.hpp"
#include "garden/wording.hpp"

#include <cmath>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::garden {

namespace {

constexpr Field kSoilFields[] = {
    {"texture", false, "texture = \"loam\""},
    {"sand", false, "sand = \"40 %\""},
    {"clay", false, "clay = \"20 %\""},
    {"organic_matter", false, "organic_matter = \"2.5 %\""},
    {"gravel", false, "gravel = \"10 %\""},
    {"density", false, "density = \"110 %\""},
};
constexpr Field kLoosenedFields[] = {
    {"depth", true, "depth = \"50 mm\""},
    {"density", false, "density = \"90 %\""},
};
constexpr Field kTopdressingFields[] = {
    {"depth", true, "depth = \"5 mm\""},
    {"material", true, "material = \"compost\""},
};
constexpr std::string_view kCompost = "compost";

// Where the published formulas hold (soil/texture.hpp).
constexpr Range kDensityPct{90, 130};

std::string percent(double share) {
    return std::to_string(std::lround(share * 100)) + " %";
}

soil::Composition class_of(std::size_t word) {
    const auto texture = soil::texture_by_key(soil::texture_keys()[word]);
    CHECK(texture.has_value());
    return *texture;
}

// Sand and clay, or the texture that stands for them. False when something is wrong.
bool read_grains(const Node& table, const std::string& called, const Fields& fields,
                 soil::Composition& soil, Errors& errors) {
    const bool by_grains = fields.find("sand") != nullptr || fields.find("clay") != nullptr;
    if (fields.find("texture") != nullptr) {
        if (by_grains) {
            fields.refuse("texture", "stands beside sand or clay; either a texture or sand and "
                                     "clay would be right");
            return false;
        }
        const auto word = fields.word("texture", soil::texture_keys());
        if (word) soil = class_of(*word);
        return word.has_value();
    }
    if (!by_grains) {
        errors.add(table.spot, called + " says neither texture nor sand and clay; for example " +
                                   "{ sand = \"40 %\", clay = \"20 %\" } would be right");
        return false;
    }
    for (const std::string_view key : {std::string_view("sand"), std::string_view("clay")})
        if (fields.find(key) == nullptr) {
            errors.add(table.spot, called + " lacks \"" + std::string(key) +
                                       "\"; sand and clay, each in percent by weight without "
                                       "the stones, would be right");
            return false;
        }
    const auto sand = fields.quantity("sand", Dimension::percent, {0, 100});
    const auto clay = fields.quantity("clay", Dimension::percent, {0, 60});
    if (!sand || !clay) return false;
    if (*sand + *clay > 100 + 1e-9) {
        fields.refuse("clay", "and sand make " + plain(*sand + *clay) +
                                  " %; 100 % at most would be right (the rest is silt)");
        return false;
    }
    soil.sand = *sand / 100;
    soil.clay = *clay / 100;
    return true;
}

// The densest that the formulas describe, in whole percent; nothing when not even as usual.
std::optional<double> densest(soil::Composition soil) {
    soil.density_factor = 1;
    if (!soil::described(soil)) return std::nullopt;
    double best = 1;
    for (int pct = 101; pct <= 130; ++pct) {
        soil.density_factor = pct / 100.0;
        if (!soil::described(soil)) break;
        best = soil.density_factor;
    }
    return best;
}

// Refuses what the formulas do not describe.
bool accept(const Spot& spot, const std::string& called, const soil::Composition& soil,
            Errors& errors) {
    if (soil::described(soil)) return true;
    if (const auto most = densest(soil))
        errors.add(spot, called + " is so dense (" + percent(soil.density_factor) +
                             ") that no air is left in it once it has drained; up to " +
                             percent(*most) + " would be right for this soil");
    else
        errors.add(spot, called + " is beyond the formulas for soil water (Saxton and Rawls 2006): "
                                  "it would keep too little water, or drain none; more organic "
                                  "matter, or a texture class, would be right");
    return false;
}

void read_composition(const Node& table, const std::string& called, Zone& zone, Errors& errors) {
    const Fields fields(table, called, kSoilFields, errors);
    soil::Composition soil;
    bool good = read_grains(table, called, fields, soil, errors);
    const auto part = [&](std::string_view key, Range range, double& into, double per) {
        if (fields.find(key) == nullptr) return;
        const auto value = fields.quantity(key, Dimension::percent, range);
        if (value)
            into = *value * per;
        else
            good = false;
    };
    part("organic_matter", {0, 8}, soil.organic_matter_pct, 1);
    part("gravel", {0, 60}, soil.gravel_pct, 1);
    part("density", kDensityPct, soil.density_factor, 0.01);
    if (good && accept(table.spot, called, soil, errors)) zone.soil = soil;
}

void read_loosened(const Node& table, const std::string& called, Zone& zone, Errors& errors) {
    const Fields fields(table, called, kLoosenedFields, errors);
    soil::Loosened loosened;
    const auto depth = fields.quantity("depth", Dimension::depth_mm, {5, 300});
    const auto density = fields.quantity("density", Dimension::percent, kDensityPct);
    if (!depth || (fields.find("density") != nullptr && !density)) return;
    loosened.depth_mm = *depth;
    if (density) loosened.density_factor = *density / 100;
    if (loosened.density_factor >= zone.soil.density_factor) {
        errors.add(table.spot, called + " is no looser (" + percent(loosened.density_factor) +
                                   ") than the soil below it (" +
                                   percent(zone.soil.density_factor) +
                                   "); a lower density, or leaving the key out, would be right");
        return;
    }
    zone.loosened = loosened;
}

void read_topdressing(const Node& table, const std::string& called, Zone& zone, Errors& errors) {
    const Fields fields(table, called, kTopdressingFields, errors);
    std::vector<std::string_view> materials{kCompost};
    materials.insert(materials.end(), soil::texture_keys().begin(), soil::texture_keys().end());
    const auto depth = fields.quantity("depth", Dimension::depth_mm, {1, 100});
    const auto material = fields.word("material", materials);
    if (!depth || !material) return;
    soil::Topdressing topdressing;
    topdressing.depth_mm = *depth;
    if (*material > 0) topdressing.soil = class_of(*material - 1);
    zone.topdressing = topdressing;
}

} // namespace

void read_soil(const Fields& fields, const std::string& called, Zone& zone, Errors& errors) {
    if (const Node* const soil = fields.find("soil"); soil != nullptr && soil->kind == Kind::table)
        read_composition(*soil, "soil of " + called, zone, errors);
    else if (const auto word = fields.word("soil", soil::texture_keys()))
        zone.soil = class_of(*word);
    if (const Node* const loosened = fields.table("loosened"))
        read_loosened(*loosened, "loosened of " + called, zone, errors);
    if (const Node* const topdressing = fields.table("topdressing"))
        read_topdressing(*topdressing, "topdressing of " + called, zone, errors);
}

} // namespace firstmow::garden
