#include "evenfront/trim.hpp"

#include "fields.hpp"

namespace evenfront::python {

using py::literals::operator""_a;

namespace {

constexpr const char* trim_doc = R"(Search both throttles for the settings that remove the lead.

Parameters
----------
machine
    the machine as written [-]
sequence
    what it is asked to do; the last shot counts [-]
target
    ratio and tolerance of the part [-]
objectives
    what to look for [-]
options
    constraints [-]
numerics
    accuracy of each run [-]

Returns
-------
the case as written, an answer per objective, and a curve through the answer [-]

Raises
------
ValueError
    if machine, sequence or options cannot be
)";

constexpr const char* try_settings_doc = R"(Simulate pairs of throttle settings side by side.

Parameters
----------
machine
    the machine as written [-]
sequence
    what it is asked to do; the last shot counts [-]
target
    ratio and tolerance of the part [-]
settings
    pairs to try, in the throttles' own units [-]
options
    constraints [-]
numerics
    accuracy of each run [-]

Returns
-------
one trial a pair, in order [-]
)";

constexpr const char* measure_trial_doc = R"(Measures of the last shot of a run.

Parameters
----------
trace
    the run [-]
machine
    the machine it was made with [-]
target
    ratio and tolerance of the part [-]

Returns
-------
a trial without added back pressure [-]
)";

constexpr const char* objective_value_doc = R"(Value an objective minimises.

Parameters
----------
trial
    settings tried [-]
objective
    what to look for [-]

Returns
-------
|net lead|, soft volume, or surplus + missing [m^3]
)";

void bind_trial(py::module_& m) {
    bind_struct<Settings>(m,
                          "Settings",
                          "Settings of both throttles, resistance [Pa s/m^3] or turns.",
                          required("resin", &Settings::resin, "in the throttle's own unit [-]"),
                          required("hardener", &Settings::hardener, "likewise [-]"));
    bind_result<Trial>(
        m,
        "Trial",
        "One pair of settings, simulated; measures of the last shot.",
        required("settings", &Trial::settings, "of both throttles [-]"),
        required("resin_back_pressure", &Trial::resin_back_pressure, "added [Pa]"),
        required("hardener_back_pressure", &Trial::hardener_back_pressure, "added [Pa]"),
        required("net_lead", &Trial::net_lead, "at the close command [m^3]"),
        required("after_close_lead", &Trial::after_close_lead, "while the shut-offs close [m^3]"),
        required("swing", &Trial::swing, "highest minus lowest lead [m^3]"),
        required("shot_resin", &Trial::shot_resin, "resin of the shot [m^3]"),
        required("outlet", &Trial::outlet, "by the case's residence model [-]"),
        required("resin_cylinder", &Trial::resin_cylinder, "steady gauge, flowing [Pa]"),
        required("hardener_cylinder", &Trial::hardener_cylinder, "steady gauge, flowing [Pa]"),
        required("resin_head", &Trial::resin_head, "steady, before the throttle [Pa]"),
        required("hardener_head", &Trial::hardener_head, "steady, before the throttle [Pa]"),
        required(
            "resin_cylinder_closed", &Trial::resin_cylinder_closed, "at the open command [Pa]"),
        required("hardener_cylinder_closed",
                 &Trial::hardener_cylinder_closed,
                 "at the open command [Pa]"),
        required("flow", &Trial::flow, "steady liquid flow of both streams [m^3/s]"),
        required("status", &Trial::status, "how the run ended [-]"),
        required("refused", &Trial::refused, "constraint it breaks, empty: allowed [-]"));
}

}  // namespace

void bind_trim(py::module_& m) {
    py::native_enum<Objective>(m, "Objective", "enum.Enum", "What a trim looks for.")
        .value("null_lead", Objective::null_lead, "net lead zero, least back pressure")
        .value("least_soft", Objective::least_soft, "least soft volume at the outlet")
        .value("least_excess", Objective::least_excess, "least surplus + missing hardener")
        .finalize();
    bind_trial(m);
    bind_struct<TrimOptions>(
        m,
        "TrimOptions",
        "Constraints of a trim.",
        defaulted("fix_resin", &TrimOptions::fix_resin, "leave the resin throttle [-]"),
        defaulted("fix_hardener", &TrimOptions::fix_hardener, "leave the hardener throttle [-]"),
        defaulted("max_back_pressure", &TrimOptions::max_back_pressure, "added, each side [Pa]"),
        defaulted("least_flow", &TrimOptions::least_flow, "of the steady flow before [-], 0 ... 1"),
        defaulted("threads", &TrimOptions::threads, "0: one a core [-]"));
    bind_result<Answer>(
        m,
        "Answer",
        "Best settings for one objective.",
        required("objective", &Answer::objective, "what was looked for [-]"),
        required("feasible", &Answer::feasible, "whether there is an answer [-]"),
        required("reason", &Answer::reason, "why not, or what to know first [-]"),
        required("trial", &Answer::trial, "at the answer [-]"),
        required("band_open", &Answer::band_open, "more open end of the band that holds [-]"),
        required("band_closed", &Answer::band_closed, "more closed end of the band [-]"),
        required("fold", &Answer::fold, "nearest setting with other off-ratio zones, or NaN [-]"),
        required("lowest_net_lead", &Answer::lowest_net_lead, "over all settings tried [m^3]"),
        required("highest_net_lead", &Answer::highest_net_lead, "over all settings tried [m^3]"));
    bind_result<Trim>(
        m,
        "Trim",
        "The case as written, the answers, and the curve through them.",
        required("before", &Trim::before, "the case as written [-]"),
        required("answers", &Trim::answers, "one per objective [-]"),
        required("curve", &Trim::curve, "settings of the swept side, open to closed [-]"),
        required("curve_sweeps_resin", &Trim::curve_sweeps_resin, "side of the curve [-]"),
        required("simulations", &Trim::simulations, "transients it took [-]"));

    m.def("trim",
          &trim,
          "machine"_a,
          "sequence"_a,
          "target"_a,
          "objectives"_a,
          "options"_a = TrimOptions{},
          "numerics"_a = Numerics{},
          py::call_guard<py::gil_scoped_release>(),
          trim_doc);
    m.def("try_settings",
          &try_settings,
          "machine"_a,
          "sequence"_a,
          "target"_a,
          "settings"_a,
          "options"_a = TrimOptions{},
          "numerics"_a = Numerics{},
          py::call_guard<py::gil_scoped_release>(),
          try_settings_doc);
    m.def("measure_trial", &measure_trial, "trace"_a, "machine"_a, "target"_a, measure_trial_doc);
    m.def("objective_value", &objective_value, "trial"_a, "objective"_a, objective_value_doc);
}

}  // namespace evenfront::python
