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
