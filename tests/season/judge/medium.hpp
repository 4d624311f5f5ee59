// What the judge knows of a soil: how much water it holds at a head, and how well it conducts it.
//
// Heads in mm of water (negative: suction), conductivities in mm/s, water contents as volume
// fractions. Written from the publications alone; it shares no code with lib/soil.
#pragma once

namespace firstmow::judge {

inline constexpr double kMmPerKpa = 101.972; // 1 kPa of water at 4 deg C, g = 9.80665 m/s2

class Medium {
public:
    struct Point {
        double theta = 0;
        double capacity = 0;       // d theta / d head, 1/mm
        double conductivity = 0;   // mm/s
        double d_conductivity = 0; // d conductivity / d head, 1/s
        double flux_potential = 0; // integral of conductivity over head, mm2/s; see below
    };
    virtual ~Medium() = default;
    virtual Point at(double head_mm) const = 0;
    // Inverse of theta; 0 at saturation and above.
    virtual double head_mm(double theta) const = 0;
    virtual double saturation() const = 0;
    // Whether the flux potential is known in closed form. Without it fluxes use the mean of the
    // conductivities, which wants a finer grid where a dry crust grows on a sand.
    virtual bool has_flux_potential() const { return false; }
};

// Saxton and Rawls 2006, Soil Sci. Soc. Am. J. 70:1569-1578: full up to air entry, water content
// linear in suction from there to 33 kPa, a power law beyond; K = Ks (theta/thetaS)^(3+2B).
struct SaxtonRawlsValues {
    double saturation = 0;
    double saturated_mm_per_h = 0;
    double air_entry_kpa = 0;
    double a_kpa = 0; // suction = a theta^-b; theta at 33 kPa follows from it, so that no
    double b = 0;     // rounding of published values makes a jump there
};
class SaxtonRawls final : public Medium {
public:
    explicit SaxtonRawls(const SaxtonRawlsValues& values);
    Point at(double head_mm) const override;
    double head_mm(double theta) const override;
    double saturation() const override { return values_.saturation; }
    bool has_flux_potential() const override { return true; }

private:
    SaxtonRawlsValues values_;
    double saturated_mm_s_;
    double log_a_mm_;       // of the power law with suction in mm
    double log_saturation_; // ln thetaS
    double air_entry_mm_;   // suctions, positive
    double power_law_mm_;   // 33 kPa
    double power_law_theta_;
    double linear_slope_; // d theta / d head between the two
    double power_;        // 3 + 2B
    // What the flux potentials of the linear part and of saturation begin from.
    double potential_before_linear_ = 0;
    double potential_before_full_ = 0;
};

// van Genuchten 1980, Soil Sci. Soc. Am. J. 44:892-898, with Mualem's conductivity.
struct VanGenuchtenValues {
    double residual = 0;
    double saturation = 0;
    double alpha_per_mm = 0;
    double n = 0;
    double saturated_mm_per_s = 0;
};
class VanGenuchten final : public Medium {
public:
    explicit VanGenuchten(const VanGenuchtenValues& values);
    Point at(double head_mm) const override;
    double head_mm(double theta) const override;
    double saturation() const override { return values_.saturation; }

private:
    VanGenuchtenValues values_;
    double m_;
};

} // namespace firstmow::judge
