#pragma once
#include <cmath>

#include "evenfront/constants.hpp"

/// Density of a liquid that expands with temperature, gives under pressure and holds free gas.
namespace evenfront {

/// A liquid as the data sheet gives it.
struct Liquid {
    double density;       ///< rho_ref, gas-free, at reference_temperature [kg/m^3], > 0
    double bulk_modulus;  ///< K of the gas-free liquid [Pa], > 0
    double reference_temperature = 298.15;  ///< T_ref [K], > 0
    double thermal_expansion = 0.0;         ///< beta [1/K], >= 0
    double free_gas = least_free_gas;  ///< a0, volume fraction of gas at p0 [-], 1e-6 <= a0 < 1
    double gas_exponent = 1.0;         ///< n_g, polytropic: 1 isothermal, 1.4 adiabatic [-]
};

/// Throws std::domain_error for a value outside the ranges given in Liquid.
void validate(const Liquid& liquid);

/// Gas-free density at a temperature, rho_T = rho_ref (1 - beta (T - T_ref)).
/// @param temperature [K]
/// @return [kg/m^3]
/// @throws std::domain_error if the result is not positive
/// Valid while beta |T - T_ref| << 1 (a linear data-sheet expansion). Source: definition.
[[nodiscard]] double thermal_density(const Liquid& liquid, double temperature);

/// Volume of free gas at a pressure relative to its volume at p0: (p0/(p0+p))^(1/n_g).
/// @param pressure gauge [Pa], > -p0
/// Source: polytropic law; dissolution of gas is ignored.
[[nodiscard]] inline double gas_expansion(const Liquid& liquid, double pressure) {
    const double ratio = standard_pressure / (standard_pressure + pressure);
    return liquid.gas_exponent == 1.0 ? ratio : std::pow(ratio, 1.0 / liquid.gas_exponent);
}

/// Volume of liquid with its gas relative to the volume at p0,
///   v(p) = (1 - a0) exp(-p/K) + a0 (p0/(p0+p))^(1/n_g).
/// @param pressure gauge [Pa], > -p0
/// @return [-], 1 at p = 0
/// Source: merritt1967, ch. 2, liquid and gas in series (gas fraction taken at p0).
[[nodiscard]] inline double volume_factor(const Liquid& liquid, double pressure) {
    return (1.0 - liquid.free_gas) * std::exp(-pressure / liquid.bulk_modulus) +
           liquid.free_gas * gas_expansion(liquid, pressure);
}

/// Liquid mass per actual volume, rho(p, T) = rho_T (1 - a0)/v(p).
/// @param pressure gauge [Pa], > -p0
/// @param temperature [K]
/// @return [kg/m^3]; the mass of the gas is neglected
[[nodiscard]] double density(const Liquid& liquid, double pressure, double temperature);

/// Compressibility -v'(p)/v(p) [1/Pa]; its inverse is the tangent bulk modulus.
/// @param pressure gauge [Pa], > -p0
[[nodiscard]] double compressibility(const Liquid& liquid, double pressure);

}  // namespace evenfront
