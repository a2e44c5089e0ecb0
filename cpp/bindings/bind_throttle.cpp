#include "evenfront/throttle.hpp"

#include "fields.hpp"

namespace evenfront::python {

using py::literals::operator""_a;

void bind_throttle(py::module_& m) {
    m.def("needle_gap", &needle_gap, "throttle"_a, R"(Gap of a needle between cone and seat.

h = turns x pitch x sin(half angle)

Parameters
----------
throttle
    of kind needle [-]

Returns
-------
gap [m]
)");
    m.def("flow_coefficient", &flow_coefficient, "throttle"_a, R"(Flow coefficient at the setting.

Parameters
----------
throttle
    of kind flow_coefficient [-]

Returns
-------
A_v [m^2], Q = A_v sqrt(dp/rho)

Raises
------
ValueError
    for an opening outside the valve's table or travel
)");
    m.def("valve_reynolds_number",
          over_arrays(&valve_reynolds_number),
          "throttle"_a,
          "flow"_a,
          "kinematic_viscosity"_a,
          R"(Reynolds number of a valve by its flow coefficient.

Parameters
----------
throttle
    of kind flow_coefficient [-]
flow
    [m^3/s], >= 0
kinematic_viscosity
    [m^2/s], > 0

Returns
-------
Re_v [-]
)");
    m.def("reynolds_factor",
          over_arrays(&reynolds_factor),
          "throttle"_a,
          "reynolds_number"_a,
          R"(Share of the turbulent flow coefficient left at a Reynolds number.

Parameters
----------
throttle
    of kind flow_coefficient [-]
reynolds_number
    Re_v [-], >= 0

Returns
-------
F_R [-], 0 to 1
)");
    m.def("choking_drop",
          over_arrays(&choking_drop),
          "valve"_a,
          "inlet"_a,
          "vapour"_a,
          "critical"_a,
          R"(Largest pressure drop that still drives more turbulent flow.

Parameters
----------
valve
    its recovery factor is used [-]
inlet
    absolute [Pa], > 0
vapour
    pressure of the liquid, absolute [Pa]
critical
    pressure of the liquid, absolute [Pa], > 0

Returns
-------
pressure drop [Pa]
)");
    m.def("gap_reynolds_number",
          &gap_reynolds_number,
          "throttle"_a,
          "law"_a,
          "density"_a,
          "flow"_a,
          R"(Reynolds number of a throttle's slit.

Parameters
----------
throttle
    at its setting [-]
law
    of the liquid there [-]
density
    there [kg/m^3], > 0
flow
    [m^3/s]

Returns
-------
rho Q/(pi d eta) [-]; NaN where it is not known
)");
    m.def("log_resistance", &log_resistance, "throttle"_a, R"(Setting as a logarithm of resistance.

Parameters
----------
throttle
    at its setting [-]

Returns
-------
ln r, -3 ln turns or -2 ln A_v [-], rising as it closes
)");
    m.def("with_log_resistance",
          &with_log_resistance,
          "throttle"_a,
          "value"_a,
          R"(The same throttle at another logarithm of resistance.

Parameters
----------
throttle
    the throttle [-]
value
    as `log_resistance` counts it [-]

Returns
-------
throttle; a valve stops at the ends of its table or travel [-]
)");
    py::class_<ThrottleFlow>(m, "ThrottleFlow", "Flow through a throttle alone.")
        .def(py::init<const Throttle&, const ShearLaw&, double>(),
             "throttle"_a,
             "law"_a,
             "density"_a,
             R"(Flow through a throttle alone.

Parameters
----------
throttle
    at its setting [-]
law
    of the liquid at the throttle's temperature [-]
density
    there [kg/m^3], > 0
)")
        .def("__call__",
             &ThrottleFlow::operator(),
             "dp"_a,
             "series"_a = 0.0,
             R"(Flow for one pressure difference shared with a linear resistance.

Parameters
----------
dp
    upstream minus downstream [Pa], any sign
series
    resistance in series [Pa s/m^3], >= 0

Returns
-------
flow [m^3/s] and its slope [m^3/(s Pa)]
)")
        .def("pressure",
             over_arrays(&ThrottleFlow::pressure),
             "q"_a,
             R"(Pressure lost at a flow.

Parameters
----------
q
    volume flow [m^3/s], any sign

Returns
-------
pressure difference [Pa]
)")
        .def("yield_pressure",
             &ThrottleFlow::yield_pressure,
             R"(Largest pressure difference without flow.

Returns
-------
pressure difference [Pa], >= 0
)");
}

}  // namespace evenfront::python
