#include "renovation/show.hpp"

#include "base/text.hpp"

#include <cmath>

namespace firstmow::renovation {

namespace {

// Three figures that mean something, no more.
std::string figures(double value) {
    const double size = std::abs(value);
    if (size >= 1000) return fixed(std::round(value / 10) * 10, 0);
    return fixed(value, size >= 100 ? 0 : size >= 10 ? 1 : 2);
}

} // namespace

std::string Show::temperature(double celsius) const {
    return us_ ? fixed(celsius * 9 / 5 + 32, 0) + " F" : fixed(celsius, 0) + " C";
}
std::string Show::depth(double mm) const {
    if (us_) return fixed(mm / 25.4, mm < 254 ? 2 : 1) + " in";
    const bool whole = std::abs(mm - std::round(mm)) < 0.05;
    return fixed(mm, mm < 10 && !whole ? 1 : 0) + " mm";
}
std::string Show::area(double m2) const {
    return us_ ? fixed(m2 / 0.09290304, 0) + " ft2" : fixed(m2, m2 < 10 ? 1 : 0) + " m2";
}
std::string Show::mass(double kg) const {
    return us_ ? figures(kg / 0.45359237) + " lb" : figures(kg) + " kg";
}
std::string Show::spread(double g_per_m2) const {
    return us_ ? fixed(g_per_m2 * 92.90304 / 453.59237, 1) + " lb/1000 ft2"
               : fixed(g_per_m2, 1) + " g/m2";
}
std::string Show::volume(double m3) const {
    return us_ ? figures(m3 / 0.764554857984) + " yd3" : figures(m3) + " m3";
}
std::string Show::water(double litres) const {
    return us_ ? figures(litres / 3.785411784) + " gal" : figures(litres) + " L";
}
std::string Show::flow(double l_per_min) const {
    return us_ ? fixed(l_per_min / 3.785411784, 1) + " gal/min" : fixed(l_per_min, 1) + " L/min";
}

} // namespace firstmow::renovation
