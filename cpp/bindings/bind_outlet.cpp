#include "evenfront/outlet.hpp"

#include "fields.hpp"

namespace evenfront::python {

using py::literals::operator""_a;

namespace {

constexpr const char* outlet_sequence_doc = R"(What left the outlet of a run, in order.

Parameters
----------
inlet
    what entered during the run [-]
trace
    of the run [-]
mixer
    with its tip, if any [-]
residence
    residence-time distribution of the mixer [-]
tip_index
    power-law index of the blend in the tip [-], 0.05 ... 1

Returns
-------
pieces along the liquid out [m^3], with the shot they leave in and their age [s]
)";

}  // namespace

void bind_outlet(py::module_& m) {
    bind_result<OutletSequence>(
        m,
        "OutletSequence",
        "What left the outlet in order, cut wherever a shot begins or ends.",
        required("volume", &OutletSequence::volume, "edges, liquid out since the run began [m^3]"),
        required("hardener", &OutletSequence::hardener, "cumulative, at the edges [m^3]"),
        required("shot",
                 &OutletSequence::shot,
                 "in which a piece leaves, index into Trace.shots; -1: between shots [-]"),
        required("time", &OutletSequence::time, "mean time at which a piece leaves [s]"),
        required("age", &OutletSequence::age, "mean time since it met the mixing point [s]"));

    m.def("outlet_sequence",
          &outlet_sequence,
          "inlet"_a,
          "trace"_a,
          "mixer"_a,
          "residence"_a,
          "tip_index"_a = 1.0,
          py::call_guard<py::gil_scoped_release>(),
          outlet_sequence_doc);
}

}  // namespace evenfront::python
