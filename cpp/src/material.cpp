#include "evenfront/material.hpp"

#include "evenfront/errors.hpp"

namespace evenfront {

void validate(const Liquid& liquid) {
    const auto* const where = "Liquid";
    require(liquid.density > 0 && std::isfinite(liquid.density),
            where,
            "density",
            liquid.density,
            "kg/m^3",
            "> 0");
    require(liquid.bulk_modulus > 0 && std::isfinite(liquid.bulk_modulus),
            where,
            "bulk_modulus",
            liquid.bulk_modulus,
            "Pa",
            "> 0");
    require(liquid.reference_temperature > 0,
            where,
            "reference_temperature",
            liquid.reference_temperature,
            "K",
            "> 0");
    require(liquid.thermal_expansion >= 0 && liquid.thermal_expansion < 0.01,
            where,
            "thermal_expansion",
            liquid.thermal_expansion,
            "1/K",
            ">= 0 and < 0.01");
    require(liquid.free_gas >= least_free_gas && liquid.free_gas < 1,
            where,
            "free_gas",
            liquid.free_gas,
            "",
            ">= 1e-6 and < 1");
    require(liquid.gas_exponent >= 1 && liquid.gas_exponent <= 2,
            where,
            "gas_exponent",
            liquid.gas_exponent,
            "",
            "from 1 to 2");
}

double thermal_density(const Liquid& liquid, double temperature) {
    const double expansion =
        liquid.thermal_expansion * (temperature - liquid.reference_temperature);
    require(expansion < 1,
            "thermal_density",
            "temperature",
            temperature,
            "K",
            "low enough that the density stays positive");
    return liquid.density * (1.0 - expansion);
}

double density(const Liquid& liquid, double pressure, double temperature) {
    require(
        pressure > -standard_pressure, "density", "pressure", pressure, "Pa", "> -101325 (gauge)");
    return thermal_density(liquid, temperature) * (1.0 - liquid.free_gas) /
           volume_factor(liquid, pressure);
}

double compressibility(const Liquid& liquid, double pressure) {
    require(pressure > -standard_pressure,
            "compressibility",
            "pressure",
            pressure,
            "Pa",
            "> -101325 (gauge)");
    const double liquid_part =
        (1.0 - liquid.free_gas) * std::exp(-pressure / liquid.bulk_modulus) / liquid.bulk_modulus;
    const double gas_part = liquid.free_gas * gas_expansion(liquid, pressure) /
                            (liquid.gas_exponent * (standard_pressure + pressure));
    return (liquid_part + gas_part) / volume_factor(liquid, pressure);
}

}  // namespace evenfront
