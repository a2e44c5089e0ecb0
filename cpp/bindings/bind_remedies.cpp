#include "evenfront/remedies.hpp"

#include "fields.hpp"

namespace evenfront::python {

using py::literals::operator""_a;

namespace {

constexpr const char* remedies_doc = R"(Remedies beside the trim, each simulated on the machine.

Parameters
----------
machine
    the machine as written [-]
sequence
    what it is asked to do; the last shot counts [-]
target
    ratio and tolerance of the part [-]
threads
    0: one a core [-]
numerics
    accuracy of each run [-]

Returns
-------
those that apply, most soft volume removed first [-]
)";

constexpr const char* sensitivities_doc = R"(What moves a trim: one assumption changed at a time.

Parameters
----------
machine
    the machine at its answer [-]
sequence
    what it is asked to do; the last shot counts [-]
target
    ratio and tolerance of the part [-]
objective
    what was looked for [-]
sweep_resin
    trim the resin throttle again rather than the hardener's [-]
threads
    0: one a core [-]
numerics
    accuracy of each run [-]

Returns
-------
one entry per change [-]
)";

void bind_enums(py::module_& m) {
    py::native_enum<RemedyKind>(m, "RemedyKind", "enum.Enum", "What a remedy changes.")
        .value("preload", RemedyKind::preload)
        .value("hold", RemedyKind::hold)
        .value("delay_resin", RemedyKind::delay_resin)
        .value("delay_hardener", RemedyKind::delay_hardener)
        .value("degas_resin", RemedyKind::degas_resin)
        .value("degas_hardener", RemedyKind::degas_hardener)
        .value("bleed_pocket", RemedyKind::bleed_pocket)
        .value("heat_resin", RemedyKind::heat_resin)
        .value("shorter_hose", RemedyKind::shorter_hose)
        .value("stiffer_hose", RemedyKind::stiffer_hose)
        .value("purge", RemedyKind::purge)
        .finalize();
    py::native_enum<Assumption>(m, "Assumption", "enum.Enum", "What a trim depends on.")
        .value("resin_gas", Assumption::resin_gas)
        .value("resin_temperature", Assumption::resin_temperature)
        .value("hardener_temperature", Assumption::hardener_temperature)
        .value("drive_force", Assumption::drive_force)
        .value("wall_expansion", Assumption::wall_expansion)
        .value("resin_viscosity", Assumption::resin_viscosity)
        .value("position", Assumption::position)
        .finalize();
}

}  // namespace

void bind_remedies(py::module_& m) {
    bind_enums(m);
    bind_result<Remedy>(
        m,
        "Remedy",
        "The machine changed in one respect, simulated.",
        required("kind", &Remedy::kind, "what is changed [-]"),
        required("amount", &Remedy::amount, "by how much, SI, by kind [-]"),
        required("place", &Remedy::place, "where, or empty [-]"),
        required("machine", &Remedy::machine, "changed [-]"),
        required("sequence", &Remedy::sequence, "changed [-]"),
        required("trial", &Remedy::trial, "measures of its last shot [-]"),
        required("soft_removed", &Remedy::soft_removed, "S before minus S after [m^3]"),
        required("waste", &Remedy::waste, "to the cup, per shot [m^3]"),
        required("wait", &Remedy::wait, "time lost, per shot [s]"),
        required("flow_change", &Remedy::flow_change, "steady flow after / before - 1 [-]"));
    bind_result<Sensitivity>(
        m,
        "Sensitivity",
        "One assumption changed at a given setting.",
        required("assumption", &Sensitivity::assumption, "what is changed [-]"),
        required("value", &Sensitivity::value, "as assumed, SI, a shift or a factor [-]"),
        required("changed", &Sensitivity::changed, "as tried [-]"),
        required("trial", &Sensitivity::trial, "at the unchanged settings [-]"),
        required("best_setting", &Sensitivity::best_setting, "of the swept throttle [-]"),
        required("best", &Sensitivity::best, "at that setting [-]"));

    m.def("remedies",
          &remedies,
          "machine"_a,
          "sequence"_a,
          "target"_a,
          "threads"_a = 0,
          "numerics"_a = Numerics{},
          py::call_guard<py::gil_scoped_release>(),
          remedies_doc);
    m.def("sensitivities",
          &sensitivities,
          "machine"_a,
          "sequence"_a,
          "target"_a,
          "objective"_a,
          "sweep_resin"_a = false,
          "threads"_a = 0,
          "numerics"_a = Numerics{},
          py::call_guard<py::gil_scoped_release>(),
          sensitivities_doc);
}

}  // namespace evenfront::python
