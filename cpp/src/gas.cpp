#include "evenfront/gas.hpp"

#include <algorithm>
#include <cmath>

#include "evenfront/constants.hpp"
#include "evenfront/errors.hpp"

namespace evenfront {

namespace {

void require_pressure(const char* where, const char* what, double pressure) {
    require(pressure > -standard_pressure && std::isfinite(pressure),
            where,
            what,
            pressure,
            "Pa",
            "> -101325 (gauge)");
}

void require_vacuum(const char* where, double vacuum_abs) {
    require(vacuum_abs > 0 && vacuum_abs <= standard_pressure,
            where,
            "vacuum_abs",
            vacuum_abs,
            "Pa",
            "> 0 and at most 101325 (absolute)");
}

}  // namespace

double compression(const Liquid& liquid, double start, double end) {
    validate(liquid);
    require_pressure("compression", "start", start);
    require_pressure("compression", "end", end);
    return 1.0 - volume_factor(liquid, end) / volume_factor(liquid, start);
}

double refill_ratio_error(double resin_compression, double hardener_compression) {
    const auto* const where = "refill_ratio_error";
    require(resin_compression < 1, where, "resin_compression", resin_compression, "", "below 1");
    require(hardener_compression < 1,
            where,
            "hardener_compression",
            hardener_compression,
            "",
            "below 1");
    return (1.0 - hardener_compression) / (1.0 - resin_compression) - 1.0;
}

double free_gas_of_modulus(double bulk_modulus,
                           double tangent_modulus,
                           double pressure,
                           double gas_exponent) {
    const auto* const where = "free_gas_of_modulus";
    require_positive(where, "bulk_modulus", bulk_modulus, "Pa");
    require_pressure(where, "pressure", pressure);
    require(gas_exponent >= 1 && gas_exponent <= 2,
            where,
            "gas_exponent",
            gas_exponent,
            "",
            "from 1 to 2");
    require(tangent_modulus > 0 && tangent_modulus <= bulk_modulus,
            where,
            "tangent_modulus",
            tangent_modulus,
            "Pa",
            "> 0 and at most bulk_modulus");
    const double absolute = standard_pressure + pressure;
    const double gas = std::pow(standard_pressure / absolute, 1.0 / gas_exponent);
    const double liquid = std::exp(-pressure / bulk_modulus);
    // Compressibility kappa = [(1-a) l/K + a g/(n P)]/[(1-a) l + a g], solved for a.
    const double above_liquid = liquid * (1.0 / tangent_modulus - 1.0 / bulk_modulus);
    const double below_gas = gas * (1.0 / (gas_exponent * absolute) - 1.0 / tangent_modulus);
    require(below_gas > 0,
            where,
            "tangent_modulus",
            tangent_modulus,
            "Pa",
            "above that of the gas alone, n (p0 + p)");
    return above_liquid / (above_liquid + below_gas);
}

double gas_share(const Liquid& liquid, double pressure) {
    validate(liquid);
    require_pressure("gas_share", "pressure", pressure);
    return liquid.free_gas * gas_expansion(liquid, pressure) / volume_factor(liquid, pressure);
}

double gas_left(double share, double vacuum_abs) {
    require(share >= 0 && share < 1, "gas_left", "share", share, "", ">= 0 and < 1");
    require_vacuum("gas_left", vacuum_abs);
    const double gas = share * vacuum_abs;
    return gas / (gas + (1.0 - share) * standard_pressure);
}

double vacuum_for_gas(double free_gas, double share) {
    require(
        free_gas > 0 && free_gas < 1, "vacuum_for_gas", "free_gas", free_gas, "", "> 0 and < 1");
    require(share > 0 && share < 1, "vacuum_for_gas", "share", share, "", "> 0 and < 1");
    const double pressure =
        standard_pressure * (free_gas / (1.0 - free_gas)) * ((1.0 - share) / share);
    return std::min(pressure, standard_pressure);
}

double foam_fill(double free_gas, double vacuum_abs) {
    require(free_gas >= 0 && free_gas <= 1, "foam_fill", "free_gas", free_gas, "", "from 0 to 1");
    require_vacuum("foam_fill", vacuum_abs);
    return 1.0 / (1.0 - free_gas + free_gas * standard_pressure / vacuum_abs);
}

}  // namespace evenfront
