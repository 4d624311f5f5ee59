#include "soil/contact.hpp"

#include <cstddef>

namespace firstmow::soil {

namespace {

// One side of the contact: half a layer of one soil.
struct Side {
    std::span<const SoilTable::AtHead> soil;
    double potential; // of the middle of the layer
    double per_mm;
    double vapour;

    // What the gradient brings from the middle of the layer to the contact.
    double to_contact(std::size_t row) const {
        return per_mm *
               (potential - soil[row].flux_potential - vapour * soil[row].vapour_potential);
    }
};

} // namespace

Passing across(const Drawn& upper, const Drawn& lower, double upper_per_half, double lower_per_half,
               double vapour) {
    const Side from{upper.soil.over_head(), upper.potential, upper_per_half, vapour};
    const Side into{lower.soil.over_head(), lower.potential, lower_per_half, vapour};
    // Gravity by the conductivity of each layer: then what arrives falls and what leaves rises with
    // the head at the contact, and there is one head at which they meet.
    const auto arrives = [&](std::size_t row) { return from.to_contact(row) + upper.conductivity; };
    const auto leaves = [&](std::size_t row) { return lower.conductivity - into.to_contact(row); };
    std::size_t dry = 0;
    std::size_t wet = from.soil.size() - 1;
    while (wet - dry > 1) {
        const std::size_t middle = (dry + wet) / 2;
        (arrives(middle) > leaves(middle) ? dry : wet) = middle;
    }
    const double arrives_dry = arrives(dry);
    const double leaves_dry = leaves(dry);
    const double fall = arrives_dry - arrives(wet); // over the cell, both positive
    const double rise = leaves(wet) - leaves_dry;
    const double part = (arrives_dry - leaves_dry) / (fall + rise);

    Passing passing;
    passing.down = arrives_dry - fall * part;
    // The head gives way to either layer: each has the other's share of the say.
    const double d_arrives = from.per_mm * upper.d_potential + upper.d_conductivity;
    const double d_leaves = lower.d_conductivity - into.per_mm * lower.d_potential;
    passing.d_upper = d_arrives * rise / (fall + rise);
    passing.d_lower = d_leaves * fall / (fall + rise);
    return passing;
}

} // namespace firstmow::soil
