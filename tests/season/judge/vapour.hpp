// Water vapour in the soil air, as far as the judge needs it.
//
// Saturation pressure: FAO-56 Eq. 11. Humidity of the pore air: Kelvin's equation (Philip 1957).
// Diffusivity in free air 2.12e-5 (T/273.15)^2 m2/s, tortuosity of Millington and Quirk 1961
// (theta_air^(7/3) / porosity^2), both as in Saito, Simunek and Mohanty 2006, Vadose Zone J.
// 5:784-800. Densities are ratios to liquid water, so that fluxes are mm of water.
#pragma once

namespace firstmow::judge {

double saturation_kpa(double temp_c);
// Of saturated air, over the density of water.
double saturated_density_ratio(double temp_c);
// Relative humidity = exp(factor * head).
double kelvin_factor_per_mm(double temp_c);
// Head at which the pore air is as humid as air of this vapour pressure.
double air_dry_head_mm(double air_vapour_kpa, double surface_temp_c);
double free_air_diffusivity_mm2_s(double temp_c);

} // namespace firstmow::judge
