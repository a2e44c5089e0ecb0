#include "evenfront/material.hpp"

#include "fields.hpp"

namespace evenfront::python {

using py::literals::operator""_a;

namespace {

constexpr const char* validate_doc = R"(Refuse a value outside the range its field states.

Parameters
----------
liquid
    the liquid [-]

Raises
------
ValueError
    naming the field, its value and the rule
)";

constexpr const char* thermal_density_doc = R"(Gas-free density at a temperature.

rho_T = rho_ref (1 - beta (T - T_ref))

Parameters
----------
liquid
    the liquid [-]
temperature
    of the liquid [K]

Returns
-------
rho_T [kg/m^3]

Raises
------
ValueError
    if the result is not positive

Examples
--------
>>> resin = Liquid(density=1600.0, bulk_modulus=2.5e9, thermal_expansion=4e-4)
>>> round(thermal_density(resin, 323.15), 6)
1584.0
)";

constexpr const char* gas_expansion_doc = R"(Volume of free gas relative to its volume at p0.

(p0/(p0+p))^(1/n_g)

Parameters
----------
liquid
    gives the polytropic exponent [-]
pressure
    gauge [Pa], > -p0

Returns
-------
relative volume [-]

Examples
--------
>>> gas_expansion(Liquid(density=1600.0, bulk_modulus=2.5e9), 101325.0)
0.5
)";

constexpr const char* volume_factor_doc = R"(Volume of liquid with its gas, relative to that at p0.

v(p) = (1 - a0) exp(-p/K) + a0 (p0/(p0+p))^(1/n_g)

Parameters
----------
liquid
    the liquid [-]
pressure
    gauge [Pa], > -p0

Returns
-------
v [-], 1 at p = 0

Examples
--------
>>> volume_factor(Liquid(density=1600.0, bulk_modulus=2.5e9), 0.0)
1.0
)";

constexpr const char* density_doc = R"(Liquid mass per actual volume.

rho(p, T) = rho_T (1 - a0)/v(p)

Parameters
----------
liquid
    the liquid [-]
pressure
    gauge [Pa], > -p0
temperature
    of the liquid [K]

Returns
-------
rho [kg/m^3]

Raises
------
ValueError
    if the pressure or the temperature cannot be

Examples
--------
>>> resin = Liquid(density=1600.0, bulk_modulus=2.5e9, free_gas=0.01)
>>> round(density(resin, 0.0, 298.15), 6)
1584.0
)";

constexpr const char* compressibility_doc =
    R"(Compressibility of liquid and gas together, -v'(p)/v(p).

Parameters
----------
liquid
    the liquid [-]
pressure
    gauge [Pa], > -p0

Returns
-------
compressibility [1/Pa]; its inverse is the tangent bulk modulus

Examples
--------
>>> stiff = Liquid(density=1600.0, bulk_modulus=2.5e9)
>>> round(compressibility(stiff, 1e7) * 2.5e9, 3)
1.0
)";

}  // namespace

void bind_material(py::module_& m) {
    m.attr("standard_pressure") = standard_pressure;
    m.attr("gas_constant") = gas_constant;
    m.attr("standard_gravity") = standard_gravity;
    m.attr("least_free_gas") = least_free_gas;
    m.attr("laminar_limit") = laminar_limit;
    m.attr("starvation_pressure") = starvation_pressure;

    bind_struct<Liquid>(
        m,
        "Liquid",
        "A liquid that expands with temperature, gives under pressure and holds gas.",
        required("density", &Liquid::density, "rho_ref, gas-free, at T_ref [kg/m^3], > 0"),
        required("bulk_modulus", &Liquid::bulk_modulus, "K of the gas-free liquid [Pa], > 0"),
        defaulted("reference_temperature", &Liquid::reference_temperature, "T_ref [K], > 0"),
        defaulted("thermal_expansion", &Liquid::thermal_expansion, "beta [1/K], >= 0"),
        defaulted(
            "free_gas", &Liquid::free_gas, "a0, volume fraction of gas at p0 [-], 1e-6 <= a0 < 1"),
        defaulted("gas_exponent",
                  &Liquid::gas_exponent,
                  "n_g, polytropic: 1 isothermal, 1.4 adiabatic [-]"));

    m.def("validate", py::overload_cast<const Liquid&>(&validate), "liquid"_a, validate_doc);
    m.def("thermal_density",
          over_arrays(&thermal_density),
          "liquid"_a,
          "temperature"_a,
          thermal_density_doc);
    m.def(
        "gas_expansion", over_arrays(&gas_expansion), "liquid"_a, "pressure"_a, gas_expansion_doc);
    m.def(
        "volume_factor", over_arrays(&volume_factor), "liquid"_a, "pressure"_a, volume_factor_doc);
    m.def("density", over_arrays(&density), "liquid"_a, "pressure"_a, "temperature"_a, density_doc);
    m.def("compressibility",
          over_arrays(&compressibility),
          "liquid"_a,
          "pressure"_a,
          compressibility_doc);
}

}  // namespace evenfront::python
