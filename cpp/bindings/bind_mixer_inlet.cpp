#include "evenfront/mixer_inlet.hpp"

#include "fields.hpp"

namespace evenfront::python {

using py::literals::operator""_a;

namespace {

constexpr const char* mixer_inlet_doc = R"(What entered the mixer over a run, in order.

Parameters
----------
trace
    of the run [-]
passages
    from shut-offs to mixing point [-]
steady_ratio
    delivered, of the liquid inside before the run, by liquid volume [-], > 0
refine
    pieces per time step [-], >= 1

Returns
-------
composition along net liquid entered [m^3], and how it came
)";

constexpr const char* after_like_rounds_doc = R"(The same run after itself, for a periodic start.

Parameters
----------
inlet
    what entered during the run [-]
volume
    that entered before, at least, by the same run again and again [m^3]

Returns
-------
what entered, its axis beginning below 0 [m^3]
)";

}  // namespace

void bind_mixer_inlet(py::module_& m) {
    bind_struct<Passages>(
        m,
        "Passages",
        "From shut-off to mixing point; resin, hardener.",
        defaulted("volume", &Passages::volume, "of each [m^3], >= 0"),
        defaulted("full", &Passages::full, "whether it is full when the run begins [-]"));
    bind_result<MixerInlet>(
        m,
        "MixerInlet",
        "What entered the mixer, and how. Pairs: resin, hardener; NaN where it does not occur.",
        required("composition", &MixerInlet::composition, "along net liquid entered [m^3]"),
        required("born",
                 &MixerInlet::born,
                 "at the edges: integral over volume of the time at which liquid first met the "
                 "mixing point [s m^3]"),
        required("time", &MixerInlet::time, "instants, rising [s]"),
        required("entered", &MixerInlet::entered, "net liquid entered by then [m^3]"),
        required("arrival", &MixerInlet::arrival, "of the first liquid at the mixing point [s]"),
        required(
            "slug", &MixerInlet::slug, "most liquid that stood in the passage pushed back [m^3]"),
        required("beyond", &MixerInlet::beyond, "how far that went beyond the passage [m^3]"),
        required("left", &MixerInlet::left, "of it at the end [m^3]"),
        required("left_hardener", &MixerInlet::left_hardener, "hardener in that [m^3]"),
        required("unfilled", &MixerInlet::unfilled, "of the passage at the end [m^3]"));

    m.def("passages", &passages, "machine"_a, R"(From shut-offs to mixing point of a machine.

Parameters
----------
machine
    the machine [-]

Returns
-------
volumes [m^3], and whether they start full
)");
    m.def("mixer_inlet",
          py::overload_cast<const Trace&, const Passages&, double, int>(&mixer_inlet),
          "trace"_a,
          "passages"_a,
          "steady_ratio"_a,
          "refine"_a = 8,
          py::call_guard<py::gil_scoped_release>(),
          mixer_inlet_doc);
    m.def("after_like_rounds", &after_like_rounds, "inlet"_a, "volume"_a, after_like_rounds_doc);
}

}  // namespace evenfront::python
