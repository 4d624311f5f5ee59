#include "judge/richards.hpp"

#include "judge/vapour.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <string>

namespace firstmow::judge {
namespace {

constexpr double kTolerance_mm = 1e-10; // of any node's water balance in a step
constexpr int kMostIterations = 25;
constexpr double kShortestStep_s = 1e-7;
constexpr double kLogHead_mm = 100; // suctions well above it count by their logarithm
constexpr double kLargestMove = 2;  // of the logarithm in one iteration
constexpr double kDryest_mm = -5e8;

// Newton's update is taken in u, in which a dry soil is not endlessly far from a wet one.
double moved(double head, double change) {
    const double slope = head < 0 ? kLogHead_mm - head : kLogHead_mm;
    const double u = (head < 0 ? -std::log1p(-head / kLogHead_mm) : head / kLogHead_mm) +
                     std::clamp(change / slope, -kLargestMove, kLargestMove);
    return std::max(u < 0 ? -kLogHead_mm * std::expm1(-u) : kLogHead_mm * u, kDryest_mm);
}

// Standing water at a head of the surface: the head itself above 0, begun smoothly over a hundredth
// of a millimetre, for Newton's method cannot pass the corner over full soil.
constexpr double kFilm_mm = 0.01;
double pond_at(double head) {
    if (head <= -kFilm_mm) return 0;
    return head >= kFilm_mm ? head : (head + kFilm_mm) * (head + kFilm_mm) / (4 * kFilm_mm);
}
double pond_slope(double head) {
    return std::clamp((head + kFilm_mm) / (2 * kFilm_mm), 0.0, 1.0);
}

} // namespace

Sums& Sums::operator+=(const Sums& other) {
    supply += other.supply;
    evaporation += other.evaporation;
    runoff += other.runoff;
    drainage += other.drainage;
    intake += other.intake;
    return *this;
}

Profile::Profile(const Medium& medium, Grid grid, const Settings& settings)
    : medium_(medium),
      potential_known_(medium.has_flux_potential()),
      grid_(std::move(grid)),
      settings_(settings) {
    const std::size_t count = grid_.depth_mm.size();
    for (auto* values :
         {&head_, &temp_, &water_, &old_head_, &old_theta_, &saturated_density_, &kelvin_,
          &diffusivity_, &lower_, &diagonal_, &upper_, &residual_, &change_, &trial_, &sweep_})
        values->resize(count);
    nodes_.resize(count);
    fill(-1000);
}

void Profile::fill(double head_mm, double temp_c) {
    std::fill(head_.begin(), head_.end(), head_mm);
    std::fill(temp_.begin(), temp_.end(), temp_c);
    stage_ = Stage::wet;
    step_s_ = 1;
}

// Temperatures for this step: uniform, or conducted down (implicit, closed at the bottom).
void Profile::warm(double surface_temp_c, double dt) {
    const std::size_t count = temp_.size();
    temp_[0] = surface_temp_c;
    if (!settings_.thermal) {
        std::fill(temp_.begin(), temp_.end(), surface_temp_c);
    } else {
        const auto& z = grid_.depth_mm;
        sweep_[0] = 0;
        trial_[0] = surface_temp_c;
        for (std::size_t i = 1; i < count; ++i) {
            const double scale = settings_.heat_diffusivity_mm2_s * dt / grid_.share_mm[i];
            const double above = scale / (z[i] - z[i - 1]);
            const double below = i + 1 < count ? scale / (z[i + 1] - z[i]) : 0;
            const double pivot = 1 + above + below - above * sweep_[i - 1];
            sweep_[i] = below / pivot;
            trial_[i] = (temp_[i] + above * trial_[i - 1]) / pivot;
        }
        temp_[count - 1] = trial_[count - 1];
        for (std::size_t i = count - 1; i-- > 1;)
            temp_[i] = trial_[i] + sweep_[i] * temp_[i + 1];
    }
    for (std::size_t i = 0; i < count; ++i) {
        saturated_density_[i] = saturated_density_ratio(temp_[i]);
        kelvin_[i] = kelvin_factor_per_mm(temp_[i]);
        diffusivity_[i] = free_air_diffusivity_mm2_s(temp_[i]);
    }
}

void Profile::look_at_nodes() {
    const double porosity = medium_.saturation();
    for (std::size_t i = 0; i < nodes_.size(); ++i) {
        Node& node = nodes_[i];
        node.soil = medium_.at(head_[i]);
        if (!settings_.vapour) continue;
        node.vapour = saturated_density_[i] * std::exp(kelvin_[i] * std::min(head_[i], 0.0));
        node.d_vapour = head_[i] < 0 ? node.vapour * kelvin_[i] : 0;
        const double air = porosity - node.soil.theta;
        if (air > 1e-9) {
            node.diffusivity = diffusivity_[i] * std::pow(air, 10.0 / 3) / (porosity * porosity);
            node.d_diffusivity = -10.0 / 3 * node.diffusivity / air * node.soil.capacity;
        } else {
            node.diffusivity = node.d_diffusivity = 0;
        }
    }
}

// Residuals of all balances (mm/s) and their slopes at the present heads; the largest residual
// over the step in mm.
double Profile::assemble(Top top, double value, double dt) {
    look_at_nodes();
    const std::size_t count = nodes_.size();
    for (std::size_t i = 0; i < count; ++i) {
        const double share = grid_.share_mm[i];
        const double water = share * nodes_[i].soil.theta + (i == 0 ? pond_at(head_[0]) : 0);
        residual_[i] = (water - water_[i]) / dt;
        diagonal_[i] = (share * nodes_[i].soil.capacity + (i == 0 ? pond_slope(head_[0]) : 0)) / dt;
        lower_[i] = upper_[i] = 0;
    }
    for (std::size_t i = 0; i + 1 < count; ++i) {
        const Node &a = nodes_[i], &b = nodes_[i + 1];
        const double distance = grid_.depth_mm[i + 1] - grid_.depth_mm[i];
        const double fall_of_head = head_[i] - head_[i + 1];
        const double mean = (a.soil.conductivity + b.soil.conductivity) / 2;
        // Gravity, then suction: by the integral of the conductivity over the head between the
        // nodes where it is known, by the mean of the two otherwise.
        double flux = mean;
        double d_above = a.soil.d_conductivity / 2;
        double d_below = b.soil.d_conductivity / 2;
        if (potential_known_) {
            flux += (a.soil.flux_potential - b.soil.flux_potential) / distance;
            d_above += a.soil.conductivity / distance;
            d_below -= b.soil.conductivity / distance;
        } else {
            flux += mean * fall_of_head / distance;
            d_above += (mean + a.soil.d_conductivity / 2 * fall_of_head) / distance;
            d_below -= (mean - b.soil.d_conductivity / 2 * fall_of_head) / distance;
        }
        if (settings_.vapour) {
            const double d = (a.diffusivity + b.diffusivity) / 2;
            const double fall = (b.vapour - a.vapour) / distance;
            flux -= d * fall;
            d_above += d * a.d_vapour / distance - a.d_diffusivity / 2 * fall;
            d_below -= d * b.d_vapour / distance + b.d_diffusivity / 2 * fall;
        }
        residual_[i] += flux;
        diagonal_[i] += d_above;
        upper_[i] += d_below;
        residual_[i + 1] -= flux;
        diagonal_[i + 1] -= d_below;
        lower_[i + 1] -= d_above;
    }
    const std::size_t last = count - 1;
    bottom_flux_ = 0;
    if (settings_.bottom == Bottom::free_drainage) {
        bottom_flux_ = nodes_[last].soil.conductivity;
        residual_[last] += bottom_flux_;
        diagonal_[last] += nodes_[last].soil.d_conductivity;
    } else if (settings_.bottom == Bottom::fixed_head) {
        bottom_flux_ = -residual_[last];
        residual_[last] = lower_[last] = 0;
        diagonal_[last] = 1;
    }
    if (top == Top::flux) {
        top_flux_ = value;
        residual_[0] -= value;
    } else {
        top_flux_ = residual_[0];
        residual_[0] = upper_[0] = 0;
        diagonal_[0] = 1;
    }
    double largest = 0;
    for (const double r : residual_)
        largest = std::max(largest, std::abs(r) * dt);
    return std::isfinite(largest) ? largest : 1e300;
}

// Thomas' elimination.
void Profile::find_change() {
    const std::size_t count = residual_.size();
    sweep_[0] = upper_[0] / diagonal_[0];
    change_[0] = -residual_[0] / diagonal_[0];
    for (std::size_t i = 1; i < count; ++i) {
        const double pivot = diagonal_[i] - lower_[i] * sweep_[i - 1];
        sweep_[i] = upper_[i] / pivot;
        change_[i] = (-residual_[i] - lower_[i] * change_[i - 1]) / pivot;
    }
    for (std::size_t i = count - 1; i-- > 0;)
        change_[i] -= sweep_[i] * change_[i + 1];
}

// Newton from the heads at the start of the step; heads are the solution if it is found.
Profile::Solution Profile::solve(Top top, double value, double dt) {
    head_ = old_head_;
    if (top == Top::head) head_[0] = value;
    if (settings_.bottom == Bottom::fixed_head) head_.back() = settings_.bottom_head_mm;
    Solution solution;
    double error = assemble(top, value, dt);
    while (error > kTolerance_mm) {
        if (++solution.iterations > kMostIterations) return solution;
        ++iterations_;
        find_change();
        trial_ = head_;
        double share = 1;
        double next = 0;
        for (int cut = 0; cut < 6; ++cut, share /= 3) {
            for (std::size_t i = 0; i < head_.size(); ++i)
                head_[i] = moved(trial_[i], share * change_[i]);
            next = assemble(top, value, dt);
            if (next < error) break;
        }
        error = next;
    }
    solution.found = true;
    solution.top_flux = top_flux_;
    solution.bottom_flux = bottom_flux_;
    return solution;
}

// Demand met in full; above the pond's capacity the rest runs off.
std::optional<Profile::Accepted> Profile::try_wet(const Surface& surface, double dry_head,
                                                  double dt) {
    const double net = surface.supply_mm_s - surface.demand_mm_s;
    Accepted accepted;
    accepted.evaporation = surface.demand_mm_s;
    accepted.solution = solve(Top::flux, net, dt);
    if (accepted.solution.found && head_[0] <= settings_.pond_capacity_mm) {
        if (head_[0] < dry_head) return std::nullopt;
        return accepted;
    }
    if (net <= 0) return std::nullopt;
    accepted.solution = solve(Top::head, settings_.pond_capacity_mm, dt);
    accepted.runoff = net - accepted.solution.top_flux;
    if (!accepted.solution.found || accepted.runoff < 0) return std::nullopt;
    return accepted;
}

// The surface as dry as the air; or drier, then it gives nothing.
std::optional<Profile::Accepted> Profile::try_limited(const Surface& surface, double dry_head,
                                                      double dt) {
    Accepted accepted;
    accepted.solution = solve(Top::head, dry_head, dt);
    if (!accepted.solution.found) return std::nullopt;
    accepted.evaporation = surface.supply_mm_s - accepted.solution.top_flux;
    if (accepted.evaporation > surface.demand_mm_s) return std::nullopt;
    if (accepted.evaporation >= 0) return accepted;
    accepted.evaporation = 0;
    accepted.solution = solve(Top::flux, surface.supply_mm_s, dt);
    if (!accepted.solution.found) return std::nullopt;
    return accepted;
}

std::optional<Profile::Accepted> Profile::try_step(const Surface& surface, double dt) {
    if (surface.fixed_head_mm) {
        Accepted accepted;
        accepted.solution = solve(Top::head, *surface.fixed_head_mm, dt);
        if (!accepted.solution.found) return std::nullopt;
        return accepted;
    }
    const double dry_head = air_dry_head_mm(surface.air_vapour_kpa, surface.temp_c);
    // Either state of the surface excludes the other, so the order is one of speed only.
    if (stage_ == Stage::wet || surface.demand_mm_s <= 0) {
        // Without demand the surface has no dry limit.
        const double limit = surface.demand_mm_s > 0 ? dry_head : kDryest_mm;
        if (auto accepted = try_wet(surface, limit, dt)) return accepted;
        if (surface.demand_mm_s <= 0) return std::nullopt;
        auto accepted = try_limited(surface, dry_head, dt);
        if (accepted) stage_ = Stage::limited;
        return accepted;
    }
    if (auto accepted = try_limited(surface, dry_head, dt)) return accepted;
    auto accepted = try_wet(surface, dry_head, dt);
    if (accepted) stage_ = Stage::wet;
    return accepted;
}

double Profile::largest_change() const {
    double largest = 0;
    // The nodes at the ends may be told their heads; they are not asked how far they went.
    for (std::size_t i = 1; i + 1 < nodes_.size(); ++i)
        largest = std::max(largest, std::abs(nodes_[i].soil.theta - old_theta_[i]));
    return largest;
}

Sums Profile::advance(const Surface& surface, double seconds) {
    Sums sums;
    double left = seconds;
    while (left > 0) {
        const double dt = std::min({step_s_, left, settings_.longest_step_s});
        if (dt < kShortestStep_s && left > kShortestStep_s)
            throw std::runtime_error("judge: no solution however short the step; surface at " +
                                     std::to_string(head_[0]) + " mm, supply " +
                                     std::to_string(surface.supply_mm_s * 3600) + " and demand " +
                                     std::to_string(surface.demand_mm_s * 3600) + " mm/h, air " +
                                     std::to_string(surface.air_vapour_kpa) + " kPa at " +
                                     std::to_string(surface.temp_c) + " deg C");
        const std::vector<double> old_temp = temp_;
        warm(surface.temp_c, dt);
        old_head_ = head_;
        for (std::size_t i = 0; i < head_.size(); ++i) {
            old_theta_[i] = medium_.at(head_[i]).theta;
            water_[i] = grid_.share_mm[i] * old_theta_[i];
        }
        const double old_pond = pond_mm();
        water_[0] += old_pond;
        const auto accepted = try_step(surface, dt);
        const double change = accepted ? largest_change() : 1;
        if (!accepted || change > 3 * settings_.largest_change) {
            head_ = old_head_;
            temp_ = old_temp;
            step_s_ = dt * (accepted ? 0.5 : 0.3);
            continue;
        }
        ++steps_;
        left -= dt;
        sums += Sums{surface.supply_mm_s * dt, accepted->evaporation * dt, accepted->runoff * dt,
                     accepted->solution.bottom_flux * dt,
                     accepted->solution.top_flux * dt - (pond_mm() - old_pond)};
        const double want = settings_.largest_change / std::max(change, 1e-12);
        const double ease = accepted->solution.iterations <= 6    ? 1.5
                            : accepted->solution.iterations <= 12 ? 1.0
                                                                  : 0.6;
        const double next = dt * std::min(ease, std::max(want, 0.3));
        // A step cut short by the end of the span says nothing against longer ones.
        step_s_ = dt < step_s_ && left <= 0 ? std::max(step_s_, next) : next;
    }
    return sums;
}

void Profile::raise_to(const Profile& other) {
    for (std::size_t i = 0; i < head_.size(); ++i)
        head_[i] = std::max(head_[i], other.head_[i]);
}

double Profile::pond_mm() const {
    return pond_at(head_[0]);
}

double Profile::storage_mm() const {
    double sum = pond_mm();
    for (std::size_t i = 0; i < head_.size(); ++i)
        sum += grid_.share_mm[i] * theta(i);
    return sum;
}

double Profile::mean_theta(double depth_mm) const {
    double sum = 0;
    double top = 0;
    for (std::size_t i = 0; i < head_.size() && top < depth_mm; ++i) {
        const double bottom = std::min(top + grid_.share_mm[i], depth_mm);
        sum += (bottom - top) * theta(i);
        top += grid_.share_mm[i];
    }
    return sum / depth_mm;
}

double Profile::mean_kpa(double depth_mm) const {
    return medium_.head_mm(mean_theta(depth_mm)) / kMmPerKpa;
}

} // namespace firstmow::judge
