#include "garden/sections.hpp"

#include "base/check.hpp"
#include "base/text.hpp"
#include "garden/wording.hpp"

#include <algorithm>
#include <cmath>
#include <string_view>

namespace firstmow::garden {

namespace {

constexpr Field kFields[] = {
    {"method", true, "method = \"seed\""},
    {"start", false, "start = 2026-08-22"},
    {"seed_depth", false, "seed_depth = \"6 mm\""},
    {"cover", false, "cover = \"straw\""},
    {"mix", false, "mix = [ { species = \"tall_fescue\", share = 1 } ]"},
};
constexpr Field kPartFields[] = {
    {"species", true, "species = \"tall_fescue\""},
    {"share", true, "share = 1"},
};
// In the order of the enums.
constexpr std::string_view kMethods[] = {"seed", "overseed", "sod", "none"};
constexpr std::string_view kCovers[] = {"none", "straw", "blanket"};

std::vector<std::string_view> species_keys() {
    std::vector<std::string_view> keys;
    for (const turf::SpeciesTraits& traits : turf::all_species())
        keys.push_back(traits.key);
    return keys;
}

// Makes the shares sum to 1 exactly enough, or says that they do not.
void settle_shares(const Fields& fields, std::vector<MixPart>& mix) {
    constexpr double kTolerance = 0.01;
    double sum = 0;
    for (const MixPart& part : mix)
        sum += part.share;
    // The slack lets 0.99 written in decimals pass.
    if (std::abs(sum - 1) > kTolerance + 1e-9) {
        fields.refuse("mix",
                      "has shares that sum to " + fixed(sum, 3) + "; a sum of 1 would be right");
        return;
    }
    for (MixPart& part : mix)
        part.share /= sum;
}

std::vector<MixPart> read_mix(const Fields& fields, const std::string& called, Errors& errors) {
    const Node* const list = fields.list("mix");
    if (list == nullptr) return {};
    const std::vector<std::string_view> keys = species_keys();
    std::vector<MixPart> mix;
    bool whole = true;
    for (const Node& item : list->items) {
        if (item.kind != Kind::table) {
            fields.refuse_type(item, "mix", "a species with its share in braces");
            whole = false;
            continue;
        }
        const Fields part(item, "mix of " + called, kPartFields, errors);
        const auto index = part.word("species", keys);
        // A thousandth: less is no part of a mix, and zero would be none at all.
        const auto share = part.number("share", {0.001, 1});
        if (!index || !share) {
            whole = false;
            continue;
        }
        const auto species = turf::species_by_key(keys[*index]);
        CHECK(species.has_value());
        const bool seen = std::any_of(mix.begin(), mix.end(), [&](const MixPart& other) {
            return other.species == *species;
        });
        if (seen) {
            part.refuse("species", in_quotes(keys[*index]) +
                                       " stands twice in the mix; each species once, with its "
                                       "whole share, would be right");
            whole = false;
            continue;
        }
        mix.push_back({*species, *share});
    }
    if (whole) settle_shares(fields, mix);
    return mix;
}

} // namespace

Establishment read_establishment(const Node& table, const std::string& called, Errors& errors) {
    const Fields fields(table, called, kFields, errors);
    Establishment read;
    const auto method = fields.word("method", kMethods);
    if (method) read.method = static_cast<turf::Method>(*method);
    read.start = fields.date("start");
    if (const auto depth = fields.quantity("seed_depth", Dimension::depth_mm, {1, 25}))
        read.seed_depth_mm = *depth;
    if (const auto cover = fields.word("cover", kCovers))
        read.cover = static_cast<turf::Cover>(*cover);
    read.mix = read_mix(fields, called, errors);

    if (!method) return read;
    const auto lacks = [&](std::string_view key, std::string_view example) {
        if (fields.find(key) != nullptr) return;
        errors.add(table.spot, called + " lacks \"" + std::string(key) + "\", which method " +
                                   in_quotes(kMethods[*method]) + " needs; write, for example, " +
                                   std::string(example));
    };
    switch (read.method) {
    case turf::Method::seed:
    case turf::Method::overseed:
        lacks("start", "start = 2026-08-22");
        lacks("mix", "mix = [ { species = \"tall_fescue\", share = 1 } ]");
        break;
    case turf::Method::sod:
        lacks("start", "start = 2026-08-22");
        break;
    case turf::Method::none:
        // Nothing was sown: whatever else the table says (checked above) has no bearing.
        return Establishment{};
    }
    return read;
}

} // namespace firstmow::garden
