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

constexpr const char* profile_along_doc = R"(Hardener fraction along the mixer at one instant.

Parameters
----------
inlet
    what enters along its own volume [-]
residence
    residence-time distribution of the whole mixer [-]
hold_up
    volume of the mixer [m^3], > 0
entered
    liquid that has entered by then, on the inlet's axis [m^3]
places
    fractions of the mixer's length [-], 0 < z <= 1

Returns
-------
fraction in the liquid that flows by [-]
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

    m.def("profile_along",
          &profile_along,
          "inlet"_a,
          "residence"_a,
          "hold_up"_a,
          "entered"_a,
          "places"_a,
          py::call_guard<py::gil_scoped_release>(),
          profile_along_doc);
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
