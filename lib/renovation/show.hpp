// Quantities as people read them, metric or US.
#pragma once

#include "garden/garden.hpp"

#include <string>

namespace firstmow::renovation {

class Show {
public:
    explicit Show(garden::Units units) : us_(units == garden::Units::us) {}

    std::string temperature(double celsius) const; // "21 C", "70 F"
    std::string depth(double mm) const;            // "6 mm", "0.24 in"
    std::string area(double m2) const;
    std::string mass(double kg) const;         // "2.40 kg", "5.29 lb"
    std::string spread(double g_per_m2) const; // "20 g/m2", "4.1 lb/1000 ft2"
    std::string volume(double m3) const;       // "0.6 m3", "0.78 yd3"
    std::string water(double litres) const;    // "12300 L", "3250 gal"
    std::string flow(double l_per_min) const;  // "35 L/min"

private:
    bool us_;
};

} // namespace firstmow::renovation
