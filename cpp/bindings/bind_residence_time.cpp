#include "evenfront/residence_time.hpp"

#include "fields.hpp"

namespace evenfront::python {

using py::literals::operator""_a;

void bind_residence_time(py::module_& m) {
    py::class_<ResidenceTime>(
        m, "ResidenceTime", "Residence-time distribution over theta = volume out / hold-up.")
        .def(py::init([](Argument<Residence> kind, double parameter) {
                 return ResidenceTime(from_argument<Residence>(std::move(kind)), parameter);
             }),
             "kind"_a,
             "parameter"_a,
             R"(Residence-time distribution of mean 1.

Parameters
----------
kind
    model, or its name [-]
parameter
    Peclet number (dispersion) or number of tanks (tanks) [-], > 0; ignored for plug

Raises
------
ValueError
    if the parameter is not positive or not finite
)")
        .def("cumulative",
             over_arrays(&ResidenceTime::cumulative),
             "theta"_a,
             R"(Share that has left, F(theta).

Parameters
----------
theta
    volume out / hold-up [-]

Returns
-------
F [-], 0 for theta <= 0
)")
        .def("integral",
             over_arrays(&ResidenceTime::integral),
             "theta"_a,
             R"(Integral of F from 0 to theta.

Parameters
----------
theta
    volume out / hold-up [-]

Returns
-------
G [-]
)")
        .def("variance", &ResidenceTime::variance, R"(Variance of theta.

Returns
-------
variance [-]
)")
        .def("is_plug", &ResidenceTime::is_plug, R"(Whether nothing spreads.

Returns
-------
answer [-]
)")
        .def("at_fraction",
             &ResidenceTime::at_fraction,
             "z"_a,
             R"(The same mixer seen at a fraction of its length.

Parameters
----------
z
    fraction of the length [-], 0 < z <= 1

Returns
-------
residence-time distribution [-]
)");

    m.def("laminar_residence",
          &ResidenceTime::laminar,
          "index"_a = 1.0,
          R"(Residence-time distribution of a round tube without diffusion, such as a tip.

Parameters
----------
index
    n of the power law [-], 0.05 ... 1

Returns
-------
residence-time distribution [-]
)");
    m.def("residence_time", &residence_time, "mixer"_a, R"(Residence-time distribution of a mixer.

Parameters
----------
mixer
    the mixer [-]

Returns
-------
residence-time distribution [-]
)");
    m.def("hold_up",
          py::overload_cast<const Mixer&>(&hold_up),
          "mixer"_a,
          R"(Volume of liquid a mixer holds.

Parameters
----------
mixer
    the mixer [-]

Returns
-------
void x pi/4 D^2 L [m^3]

Examples
--------
>>> round(hold_up(Mixer(bore=0.01, length=0.2)) * 1e6, 4)
12.5664
)");
}

}  // namespace evenfront::python
