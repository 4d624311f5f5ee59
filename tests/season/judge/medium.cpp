#include "judge/medium.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::judge {
namespace {

// Full soil gives a little with pressure (sand to stiff clay 1e-8 to 1e-6 per mm; from memory).
// Without it a short step would not make the equations easier.
constexpr double kElastic_per_mm = 1e-7;

} // namespace

SaxtonRawls::SaxtonRawls(const SaxtonRawlsValues& values)
    : values_(values),
      saturated_mm_s_(values.saturated_mm_per_h / 3600),
      log_a_mm_(std::log(values.a_kpa * kMmPerKpa)),
      log_saturation_(std::log(values.saturation)),
      air_entry_mm_(values.air_entry_kpa * kMmPerKpa),
      power_law_mm_(33 * kMmPerKpa),
      power_law_theta_(std::pow(33 / values.a_kpa, -1 / values.b)),
      linear_slope_((values.saturation - power_law_theta_) / (power_law_mm_ - air_entry_mm_)),
      power_(3 + 2 * values.b) {
    // Just wetter than 33 kPa and just short of saturation: the parts must meet.
    const Point dry = at(-power_law_mm_ * (1 + 1e-12));
    potential_before_linear_ =
        dry.flux_potential - dry.conductivity * power_law_theta_ / ((power_ + 1) * linear_slope_);
    potential_before_full_ = potential_before_linear_ +
                             saturated_mm_s_ * values.saturation / ((power_ + 1) * linear_slope_);
}

Medium::Point SaxtonRawls::at(double head_mm) const {
    const double suction = -head_mm;
    if (suction <= air_entry_mm_)
        return {values_.saturation + kElastic_per_mm * (air_entry_mm_ - suction), kElastic_per_mm,
                saturated_mm_s_, 0,
                potential_before_full_ + saturated_mm_s_ * (air_entry_mm_ - suction)};
    Point point;
    double log_theta;
    if (suction <= power_law_mm_) {
        point.theta = power_law_theta_ + (power_law_mm_ - suction) * linear_slope_;
        point.capacity = linear_slope_;
        log_theta = std::log(point.theta);
    } else {
        log_theta = (log_a_mm_ - std::log(suction)) / values_.b;
        point.theta = std::exp(log_theta);
        point.capacity = point.theta / (values_.b * suction);
    }
    point.conductivity = saturated_mm_s_ * std::exp(power_ * (log_theta - log_saturation_));
    point.d_conductivity = power_ * point.conductivity / point.theta * point.capacity;
    // In the power law K goes with suction^-(power / b).
    point.flux_potential = suction <= power_law_mm_
                               ? potential_before_linear_ + point.conductivity * point.theta /
                                                                ((power_ + 1) * linear_slope_)
                               : point.conductivity * suction / (power_ / values_.b - 1);
    return point;
}

double SaxtonRawls::head_mm(double theta) const {
    if (theta >= values_.saturation) return 0;
    if (theta >= power_law_theta_)
        return -(power_law_mm_ - (theta - power_law_theta_) / linear_slope_);
    return -std::exp(log_a_mm_ - values_.b * std::log(theta));
}

VanGenuchten::VanGenuchten(const VanGenuchtenValues& values)
    : values_(values), m_(1 - 1 / values.n) {}

Medium::Point VanGenuchten::at(double head_mm) const {
    if (head_mm >= 0) return {values_.saturation, 0, values_.saturated_mm_per_s, 0, 0};
    const double x = std::pow(-values_.alpha_per_mm * head_mm, values_.n); // (alpha h)^n
    const double range = values_.saturation - values_.residual;
    const double effective = std::pow(1 + x, -m_);
    const double d_effective = m_ * values_.n * x / (1 + x) * effective / -head_mm; // d Se / d h
    Point point;
    point.theta = values_.residual + range * effective;
    point.capacity = range * d_effective;
    // Se^(1/m) = 1/(1+x), so 1 - Se^(1/m) = x/(1+x) without cancellation at either end.
    const double part = x / (1 + x);
    const double bracket = -std::expm1(m_ * std::log(part)); // 1 - (1 - Se^(1/m))^m
    const double root = std::sqrt(effective);
    point.conductivity = values_.saturated_mm_per_s * root * bracket * bracket;
    // d bracket / d h = -m part^(m-1) d part / d h, d part / d h = n x / ((1+x)^2 h).
    const double d_bracket =
        m_ * std::pow(part, m_ - 1) * values_.n * x / ((1 + x) * (1 + x)) / -head_mm;
    point.d_conductivity =
        values_.saturated_mm_per_s *
        (0.5 / root * d_effective * bracket * bracket + 2 * root * bracket * d_bracket);
    return point;
}

double VanGenuchten::head_mm(double theta) const {
    const double effective = (theta - values_.residual) / (values_.saturation - values_.residual);
    if (effective >= 1) return 0;
    return -std::pow(std::pow(effective, -1 / m_) - 1, 1 / values_.n) / values_.alpha_per_mm;
}

} // namespace firstmow::judge
