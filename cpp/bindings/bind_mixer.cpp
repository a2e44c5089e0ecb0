#include "evenfront/mixer.hpp"

#include "fields.hpp"

namespace evenfront::python {

using py::literals::operator""_a;

void bind_mixer(py::module_& m) {
    m.def("mixer_resistance",
          over_arrays(&mixer_resistance),
          "mixer"_a,
          "viscosity"_a,
          R"(Resistance of the mixer, R_m = multiplier x 128 mu L/(pi D^4).

Parameters
----------
mixer
    the mixer [-]
viscosity
    mu of the blend [Pa s], > 0

Returns
-------
R_m [Pa s/m^3]
)");
    m.def("blend_viscosity",
          &blend_viscosity,
          "mixer"_a,
          "resin"_a,
          "hardener"_a,
          "resin_flow"_a,
          "hardener_flow"_a,
          R"(Viscosity of the blend, as given or by the log rule.

Parameters
----------
mixer
    the mixer [-]
resin
    viscosity law of the resin [-]
hardener
    viscosity law of the hardener [-]
resin_flow
    liquid volume flow [m^3/s], > 0 for the log rule
hardener_flow
    liquid volume flow [m^3/s], > 0 for the log rule

Returns
-------
viscosity [Pa s]
)");
}

}  // namespace evenfront::python
