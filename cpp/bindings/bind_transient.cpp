#include "evenfront/transient.hpp"

#include "fields.hpp"

namespace evenfront::python {

using py::literals::operator""_a;

namespace {

constexpr const char* simulate_doc = R"(Run a machine through a sequence of steps.

Physics never raises: a run that cannot go on ends with a status. Other Python threads go on.

Parameters
----------
machine
    the machine [-]
sequence
    what it is asked to do [-]
numerics
    accuracy of the run [-]

Returns
-------
trace with one row per accepted time step; times [s], volumes [m^3], pressures [Pa]

Raises
------
ValueError
    if machine, sequence or numerics cannot be
)";

}  // namespace

void bind_transient(py::module_& m) {
    py::native_enum<Status>(m, "Status", "enum.Enum", "How a run ended.")
        .value("ok", Status::ok)
        .value("stroke_exhausted", Status::stroke_exhausted)
        .value("nothing_flows", Status::nothing_flows)
        .value("not_converged", Status::not_converged)
        .finalize();

    bind_result<StreamTrace>(
        m,
        "StreamTrace",
        "What one stream did; one row per time of the trace.",
        required("volume",
                 &StreamTrace::volume,
                 "net liquid volume through the shut-off since the run began [m^3]"),
        required(
            "flow", &StreamTrace::flow, "liquid volume flow through the shut-off [m^3/s], signed"),
        required("leaked",
                 &StreamTrace::leaked,
                 "liquid volume lost at the seal since the run began [m^3]"),
        required(
            "drained",
            &StreamTrace::drained,
            "liquid volume given to the tank by a vent or a refill, negative where drawn [m^3]"),
        required("pressure",
                 &StreamTrace::pressure,
                 "gauge [Pa], one column per node: 0 cylinder ... last node at the throttle"),
        required("distance", &StreamTrace::distance, "of each node from the cylinder [m]"),
        required("piston", &StreamTrace::piston, "travel, behind its shaft by the lash [m]"),
        required("arrival",
                 &StreamTrace::arrival,
                 "when its passage was full [s]; NaN: from the start, or not yet"));
    bind_result<AirTrace>(
        m,
        "AirTrace",
        "What the air of a drive did; empty without air. Totals since the run began.",
        required("driving_pressure", &AirTrace::driving_pressure, "gauge [Pa]"),
        required("exhausting_pressure", &AirTrace::exhausting_pressure, "gauge [Pa]"),
        required("supplied", &AirTrace::supplied, "air into the driving side, net [kg]"),
        required("exhausted", &AirTrace::exhausted, "air out of the other, net [kg]"),
        required("work", &AirTrace::work, "of the air on the shaft [J]"),
        required("liquid_work", &AirTrace::liquid_work, "of the shaft on the liquid [J]"),
        required("friction_work", &AirTrace::friction_work, "lost to friction [J]"));
    bind_result<AxisTrace>(m,
                           "AxisTrace",
                           "A second shaft; empty where both pistons sit on one.",
                           required("position", &AxisTrace::position, "x [m]"),
                           required("speed", &AxisTrace::speed, "v [m/s]"),
                           required("force", &AxisTrace::force, "of the drive [N]"),
                           required("air", &AxisTrace::air, "of its drive [-]"));
    bind_result<ShotSpan>(
        m,
        "ShotSpan",
        "One dispense step, as rows of the trace, all inclusive.",
        required("step", &ShotSpan::step, "index into the sequence's steps [-]"),
        required("open", &ShotSpan::open, "row of the open command, after it was given [-]"),
        required("close", &ShotSpan::close, "row of the close command, before it takes effect [-]"),
        required("shut", &ShotSpan::shut, "row at which both shut-offs are shut [-]"));
    bind_result<RestSpan>(
        m,
        "RestSpan",
        "One pause with both shut-offs closed, as rows of the trace, inclusive.",
        required("step", &RestSpan::step, "index into the sequence's steps [-]"),
        required("begin", &RestSpan::begin, "row after the drive was told [-]"),
        required("end", &RestSpan::end, "row before the next step, and before a vent [-]"));
    bind_result<Starved>(
        m,
        "Starved",
        "A stream whose liquid was pulled below -0.9 bar.",
        required("stream", &Starved::stream, "\"resin\" or \"hardener\"; empty: never [-]"),
        required("place", &Starved::place, "name of the segment, or \"cylinder\" [-]"),
        required("time", &Starved::time, "first time [s]"),
        required("pressure", &Starved::pressure, "lowest pressure of the run there [Pa]"));
    bind_result<Trace>(
        m,
        "Trace",
        "Result of a run. Times repeat where something jumps: first row before, second after.",
        required("status", &Trace::status, "how it ended [-]"),
        required("message", &Trace::message, "one sentence where status is not ok [-]"),
        required("time", &Trace::time, "since the run began [s]"),
        required("position", &Trace::position, "x of the shaft [m]"),
        required("speed", &Trace::speed, "v of the shaft [m/s]"),
        required("force", &Trace::force, "of the drive [N]"),
        required("air", &Trace::air, "of that drive [-]"),
        required("hardener_axis", &Trace::hardener_axis, "the hardener's own shaft [-]"),
        required("mixer_pressure", &Trace::mixer_pressure, "p_m at the mixing point [Pa]"),
        required("mixer_resistance", &Trace::mixer_resistance, "R_m [Pa s/m^3]"),
        required("entered", &Trace::entered, "net liquid into the mixer since the run began [m^3]"),
        required("resin", &Trace::resin, "the thick stream [-]"),
        required("hardener", &Trace::hardener, "the thin stream [-]"),
        required("shots", &Trace::shots, "completed dispense steps, in order [-]"),
        required("purges", &Trace::purges, "completed purge steps, in order [-]"),
        required("rests", &Trace::rests, "completed dwells and preloads, in order [-]"),
        required("steady", &Trace::steady, "constant-drive steady state of the same settings [-]"),
        required("warnings",
                 &Trace::warnings,
                 "limits passed and targets not reached, one sentence each [-]"),
        required("starved", &Trace::starved, "where liquid was pulled apart [-]"),
        required("mass_balance_error",
                 &Trace::mass_balance_error,
                 "larger stream's |mass lost| / mass dispensed [-]"),
        required("periodic_residual",
                 &Trace::periodic_residual,
                 "change over a round / closed pressure, periodic start [-]"),
        required("periodic_rounds", &Trace::periodic_rounds, "rounds it took to find it [-]"),
        required("periodic_rough_rounds",
                 &Trace::periodic_rough_rounds,
                 "rounds with coarser steps before those, to come near it [-]"),
        required("steps", &Trace::steps, "accepted time steps [-]"),
        required("rejected", &Trace::rejected, "rejected time steps [-]"),
        required("evaluations", &Trace::evaluations, "right-hand sides [-]"));

    m.def("simulate",
          &simulate,
          "machine"_a,
          "sequence"_a,
          "numerics"_a = Numerics{},
          py::call_guard<py::gil_scoped_release>(),
          simulate_doc);
}

}  // namespace evenfront::python
