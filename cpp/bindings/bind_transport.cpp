#include "evenfront/transport.hpp"

#include "fields.hpp"

namespace evenfront::python {

using py::literals::operator""_a;

namespace {

constexpr const char* through_mixer_doc = R"(What leaves the mixer for what enters.

Parameters
----------
inlet
    what enters along its own volume [-]
residence
    residence-time distribution [-]
hold_up
    volume of the mixer [m^3], > 0
z
    fraction of the mixer's length to look at [-], 0 < z <= 1
cells
    pieces of the answer, unless plug [-]

Returns
-------
composition along the volume out [m^3]
)";

constexpr const char* off_ratio_doc = R"(What a composition means for the part.

Parameters
----------
composition
    along the volume of liquid [-]
target
    what the part asks for [-]
resolve_volume
    smallest piece that matters [m^3]; 0: the pieces of the composition

Returns
-------
volumes [m^3] and errors [-] outside the tolerance
)";

}  // namespace

void bind_transport(py::module_& m) {
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

    bind_struct<Composition>(
        m,
        "Composition",
        "Composition of liquid along its own volume, piecewise constant.",
        required("volume", &Composition::volume, "edges, strictly increasing [m^3]"),
        required("hardener", &Composition::hardener, "cumulative hardener at the edges [m^3]"),
        required("before", &Composition::before, "hardener fraction before the first edge [-]"),
        required("after", &Composition::after, "hardener fraction after the last edge [-]"));
    bind_result<OffRatio>(
        m,
        "OffRatio",
        "What a composition means for the part, from volume 0 of its axis.",
        required("volume", &OffRatio::volume, "liquid outside the tolerance [m^3]"),
        required("start", &OffRatio::start, "first entry [m^3], NaN if none"),
        required("end", &OffRatio::end, "last exit [m^3], NaN if none"),
        required("soft_volume", &OffRatio::soft_volume, "S = integral e^2/(e^2 + tol^2) dV [m^3]"),
        required("surplus", &OffRatio::surplus, "hardener beyond tolerance [m^3]"),
        required("missing", &OffRatio::missing, "hardener short of tolerance [m^3]"),
        required("highest_error", &OffRatio::highest_error, "largest ratio error [-]"),
        required("lowest_error", &OffRatio::lowest_error, "smallest ratio error [-]"),
        required("zones", &OffRatio::zones, "stretches outside the tolerance [-]"));

    m.def("residence_time", &residence_time, "mixer"_a, R"(Residence-time distribution of a mixer.

Parameters
----------
mixer
    the mixer [-]

Returns
-------
residence-time distribution [-]
)");
    m.def("hold_up", &hold_up, "mixer"_a, R"(Volume of liquid a mixer holds.

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
    m.def("through_mixer",
          &through_mixer,
          "inlet"_a,
          "residence"_a,
          "hold_up"_a,
          "z"_a = 1.0,
          "cells"_a = 1000,
          py::call_guard<py::gil_scoped_release>(),
          through_mixer_doc);
    m.def("ratio_error",
          &ratio_error,
          "composition"_a,
          "ratio"_a,
          R"(Ratio error of each piece, capped to +-1.

Parameters
----------
composition
    along the volume of liquid [-]
ratio
    r0, hardener per resin by liquid volume [-], > 0

Returns
-------
e = (phi/(1-phi))/r0 - 1 [-]
)");
    m.def("off_ratio",
          &off_ratio,
          "composition"_a,
          "target"_a,
          "resolve_volume"_a,
          py::call_guard<py::gil_scoped_release>(),
          off_ratio_doc);
}

}  // namespace evenfront::python
