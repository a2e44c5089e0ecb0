#include "evenfront/lead.hpp"

#include "fields.hpp"

namespace evenfront::python {

using py::literals::operator""_a;

namespace {

constexpr const char* lead_curve_doc = R"(Volumes and lead since the open command.

Parameters
----------
trace
    of the run [-]
shot
    one of its shots [-]
steady_ratio
    delivered steady ratio r_s by liquid volume [-]
refine
    pieces per time step [-]

Returns
-------
time [s], volumes and lead [m^3]
)";

constexpr const char* inlet_composition_doc = R"(What entered the mixer during a shot.

Parameters
----------
trace
    of the run [-]
shot
    one of its shots [-]
steady_ratio
    delivered steady ratio r_s by liquid volume [-]
refine
    pieces per time step [-]
passages
    from shut-offs to mixing point [-]

Returns
-------
composition along the volume in [m^3]
)";

constexpr const char* outlet_composition_doc = R"(What leaves the mixer for what entered it.

Parameters
----------
inlet
    composition that entered during a shot [m^3]
residence
    residence-time distribution [-]
mixer
    the mixer [-]

Returns
-------
composition from the open command to inlet volume plus two hold-ups [m^3]
)";

constexpr const char* measure_shot_doc = R"(Measures of one shot.

Parameters
----------
trace
    of the run [-]
shot
    one of its shots [-]
steady
    state of the machine at the shot's start position [-]
mixer
    the mixer [-]
target
    what the part asks for [-]
passages
    from shut-offs to mixing point [-]

Returns
-------
measures; volumes [m^3], pressures [Pa], times [s]
)";

constexpr const char* measure_run_doc = R"(Measures of every shot of a run.

Parameters
----------
trace
    of the run [-]
machine
    the machine that made it [-]
target
    what the part asks for [-]

Returns
-------
measures of each shot, and the steady state they share [-]
)";

void bind_shot_measures(py::module_& m) {
    using Shot = ShotMeasures;
    bind_result<Shot>(
        m,
        "ShotMeasures",
        "One shot, open to close command. NaN where a thing does not occur.",
        required("net_lead",
                 &Shot::net_lead,
                 "V_h - r_s V_r at the close command [m^3]; positive: hardener ahead"),
        required("peak_lead", &Shot::peak_lead, "highest lead within the shot [m^3], >= 0"),
        required("peak_lag", &Shot::peak_lag, "lowest lead within the shot [m^3], <= 0"),
        required("swing", &Shot::swing, "peak lead - peak lag [m^3]"),
        required("lead_time", &Shot::lead_time, "net lead / steady hardener flow [s]"),
        required("inlet", &Shot::inlet, "what enters the mixer during the shot [-]"),
        required("outlet", &Shot::outlet, "what leaves it, by the case's residence model [-]"),
        required("outlet_plug", &Shot::outlet_plug, "the same as plug [-]"),
        required("outlet_dispersed", &Shot::outlet_dispersed, "the same at Pe 100 [-]"),
        required(
            "travel_length", &Shot::travel_length, "mixer length the off-ratio plug occupies [m]"),
        required("settling_distance",
                 &Shot::settling_distance,
                 "at which dispersion has brought the peak within tolerance [m]; NaN: never"),
        required("resin_pushed_back",
                 &Shot::resin_pushed_back,
                 "minus the lowest resin volume of the shot [m^3], >= 0"),
        required("hardener_pushed_back",
                 &Shot::hardener_pushed_back,
                 "minus the lowest hardener volume of the shot [m^3], >= 0"),
        required("resin_volume", &Shot::resin_volume, "dispensed, open to close command [m^3]"),
        required(
            "hardener_volume", &Shot::hardener_volume, "dispensed, open to close command [m^3]"),
        required("resin_after_close",
                 &Shot::resin_after_close,
                 "passed while the shut-offs close [m^3]"),
        required("hardener_after_close",
                 &Shot::hardener_after_close,
                 "passed while the shut-offs close [m^3]"),
        required("resin_closed_pressure",
                 &Shot::resin_closed_pressure,
                 "cylinder, at the open command [Pa]"),
        required("hardener_closed_pressure",
                 &Shot::hardener_closed_pressure,
                 "cylinder, at the open command [Pa]"),
        required(
            "resin_closed_head", &Shot::resin_closed_head, "last node, at the open command [Pa]"),
        required("hardener_closed_head",
                 &Shot::hardener_closed_head,
                 "last node, at the open command [Pa]"),
        required("open_time", &Shot::open_time, "of the open command [s]"),
        required("duration", &Shot::duration, "open to close command [s]"));
}

}  // namespace

void bind_lead(py::module_& m) {
    bind_shot_measures(m);
    bind_result<RunMeasures>(
        m,
        "RunMeasures",
        "Every shot of a run, and the steady state they share.",
        required("shots", &RunMeasures::shots, "measures of each shot [-]"),
        required("steady", &RunMeasures::steady, "steady state of the settings [-]"));
    bind_result<LeadCurve>(m,
                           "LeadCurve",
                           "Volumes and lead since the open command.",
                           required("time", &LeadCurve::time, "since the open command [s]"),
                           required("resin", &LeadCurve::resin, "V_r [m^3]"),
                           required("hardener", &LeadCurve::hardener, "V_h [m^3]"),
                           required("lead", &LeadCurve::lead, "V_h - r_s V_r [m^3]"));

    m.def("lead_curve",
          &lead_curve,
          "trace"_a,
          "shot"_a,
          "steady_ratio"_a,
          "refine"_a = 8,
          lead_curve_doc);
    m.def("inlet_composition",
          &inlet_composition,
          "trace"_a,
          "shot"_a,
          "steady_ratio"_a,
          "refine"_a = 8,
          "passages"_a = Passages{},
          inlet_composition_doc);
    m.def("outlet_composition",
          &outlet_composition,
          "inlet"_a,
          "residence"_a,
          "mixer"_a,
          outlet_composition_doc);
    m.def("measure",
          py::overload_cast<const Trace&,
                            const ShotSpan&,
                            const Steady&,
                            const Mixer&,
                            const Target&,
                            const Passages&>(&measure),
          "trace"_a,
          "shot"_a,
          "steady"_a,
          "mixer"_a,
          "target"_a,
          "passages"_a = Passages{},
          py::call_guard<py::gil_scoped_release>(),
          measure_shot_doc);
    m.def("measure",
          py::overload_cast<const Trace&, const Machine&, const Target&>(&measure),
          "trace"_a,
          "machine"_a,
          "target"_a,
          py::call_guard<py::gil_scoped_release>(),
          measure_run_doc);
}

}  // namespace evenfront::python
