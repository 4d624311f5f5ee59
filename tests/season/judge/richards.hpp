// The judge: one-dimensional Richards flow with vapour on a fine grid.
//
// Mixed form, so that mass is conserved whatever the step (Celia, Bouloutas and Zarba 1990, Water
// Resour. Res. 26:1483-1496), solved by Newton's method with the update taken in a logarithm of the
// suction. Nodes from the surface down, each with the soil between the midpoints to its
// neighbours; the surface node also carries the pond. Liquid: Darcy-Buckingham, by the integral of
// conductivity over head where the soil has it in closed form, by the arithmetic mean otherwise.
// Vapour: Fick, driven by the difference of vapour density, so with a temperature profile the
// thermal part is in it. Vapour storage is neglected, and so are hysteresis, swelling and the
// enhancement of thermal vapour flow in wet soil.
//
// At the surface either the flux is given (supply less demand), or the head: the pond's capacity
// when it runs over, the humidity of the air when the soil cannot give what is demanded.
// Evaporation is demand until then.
//
// Units: mm, s, deg C, kPa; fluxes mm/s, positive down.
#pragma once

#include "judge/medium.hpp"

#include <optional>
#include <vector>

namespace firstmow::judge {

struct Grid {
    std::vector<double> depth_mm; // of the nodes, from 0
    std::vector<double> share_mm; // soil that belongs to the node
};
// Equal spacing `finest_mm` down to `fine_to_mm`, then growing by `growth` up to `coarsest_mm`.
Grid make_grid(double depth_mm, double finest_mm, double fine_to_mm, double coarsest_mm,
               double growth);
// Every interval cut in two.
Grid halved(const Grid& grid);

enum class Bottom { free_drainage, closed, fixed_head };

struct Settings {
    bool vapour = true;
    // The soil's temperature: as at the surface throughout, or conducted down from it.
    bool thermal = false;
    double heat_diffusivity_mm2_s = 0.5; // moist mineral soil; from memory
    Bottom bottom = Bottom::free_drainage;
    double bottom_head_mm = 0;
    double pond_capacity_mm = 2;
    double longest_step_s = 300;
    double largest_change = 0.01; // of a water content in one step
};

struct Surface {
    double supply_mm_s = 0;
    double demand_mm_s = 0;
    double temp_c = 20;
    double air_vapour_kpa = 1;
    std::optional<double> fixed_head_mm; // instead of weather: the head at the surface
};

// Sums, mm.
struct Sums {
    double supply = 0;
    double evaporation = 0;
    double runoff = 0;
    double drainage = 0;
    double intake = 0; // into the soil through the surface, less what evaporated from the soil
    Sums& operator+=(const Sums& other);
};

class Profile {
public:
    // `medium` outlives the profile.
    Profile(const Medium& medium, Grid grid, const Settings& settings);

    void fill(double head_mm, double temp_c = 20);
    Sums advance(const Surface& surface, double seconds);
    // Makes every node at least as wet as that of `other`, which has the same grid and soil. A
    // wetter bed stays the wetter one whatever comes, so this is for bounds.
    void raise_to(const Profile& other);

    const Grid& grid() const { return grid_; }
    const std::vector<double>& heads_mm() const { return head_; }
    double theta(std::size_t node) const { return medium_.at(head_[node]).theta; }
    double storage_mm() const; // soil and pond
    double pond_mm() const;
    // Mean water content from the surface to a depth, and its potential.
    double mean_theta(double depth_mm) const;
    double mean_kpa(double depth_mm) const;
    long steps() const { return steps_; }
    long iterations() const { return iterations_; }

private:
    enum class Top { flux, head };
    struct Solution {
        bool found = false;
        int iterations = 0;
        double top_flux = 0;    // into the surface node, mm/s
        double bottom_flux = 0; // out of the last
    };
    struct Node {
        Medium::Point soil;
        double vapour = 0, d_vapour = 0;           // density ratio and slope over head
        double diffusivity = 0, d_diffusivity = 0; // of vapour
    };
    struct Accepted {
        Solution solution;
        double evaporation = 0; // mm/s
        double runoff = 0;
    };

    // What holds at the surface: demand met, or soil too dry to meet it.
    enum class Stage { wet, limited };

    void warm(double surface_temp_c, double dt);
    void look_at_nodes();
    double assemble(Top top, double value, double dt);
    void find_change();
    Solution solve(Top top, double value, double dt);
    std::optional<Accepted> try_wet(const Surface& surface, double dry_head, double dt);
    std::optional<Accepted> try_limited(const Surface& surface, double dry_head, double dt);
    std::optional<Accepted> try_step(const Surface& surface, double dt);
    double largest_change() const;

    const Medium& medium_;
    bool potential_known_;
    Grid grid_;
    Settings settings_;
    std::vector<double> head_, temp_, water_; // water_: mm per node at the start of the step
    std::vector<double> old_head_, old_theta_;
    std::vector<Node> nodes_;
    std::vector<double> saturated_density_, kelvin_, diffusivity_; // by temperature
    std::vector<double> lower_, diagonal_, upper_, residual_, change_;
    std::vector<double> trial_, sweep_;
    double top_flux_ = 0, bottom_flux_ = 0;
    Stage stage_ = Stage::wet;
    double step_s_ = 1;
    long steps_ = 0, iterations_ = 0;
};

} // namespace firstmow::judge
