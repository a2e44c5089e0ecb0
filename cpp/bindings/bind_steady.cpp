#include "evenfront/steady.hpp"

#include "fields.hpp"

namespace evenfront::python {

using py::literals::operator""_a;

void bind_steady(py::module_& m) {
    bind_result<SteadyStream>(
        m,
        "SteadyStream",
        "One stream in steady flow.",
        required("mass_flow", &SteadyStream::mass_flow, "delivered [kg/s]"),
        required("flow", &SteadyStream::flow, "liquid volume flow delivered [m^3/s]"),
        required("cylinder_pressure", &SteadyStream::cylinder_pressure, "gauge [Pa]"),
        required("throttle_pressure",
                 &SteadyStream::throttle_pressure,
                 "at the last node of the line [Pa]"),
        required("throttle_loss", &SteadyStream::throttle_loss, "in the throttle alone [Pa]"),
        required("reynolds_number",
                 &SteadyStream::reynolds_number,
                 "largest generalised Reynolds number in the line [-]"),
        required("gap_reynolds_number",
                 &SteadyStream::gap_reynolds_number,
                 "in the throttle's slit, NaN where not known [-]"));
    bind_result<Steady>(
        m,
        "Steady",
        "Constant-drive steady state at one shaft position.",
        required("flows", &Steady::flows, "false: the drive cannot move the shaft [-]"),
        required("reason", &Steady::reason, "one sentence when nothing flows [-]"),
        required("speed", &Steady::speed, "v of the shaft [m/s]"),
        required("hardener_speed", &Steady::hardener_speed, "of the hardener's piston [m/s]"),
        required("force", &Steady::force, "the drive can push with at that speed [N]"),
        required("mixer_pressure", &Steady::mixer_pressure, "p_m [Pa]"),
        required("mixer_resistance", &Steady::mixer_resistance, "R_m [Pa s/m^3]"),
        required("blend_viscosity", &Steady::blend_viscosity, "used for R_m [Pa s]"),
        required("ratio", &Steady::ratio, "delivered hardener per resin by liquid volume, r_s [-]"),
        required("resin", &Steady::resin, "the thick stream [-]"),
        required("hardener", &Steady::hardener, "the thin stream [-]"));

    m.def("steady_state",
          &steady_state,
          "machine"_a,
          "force"_a = -1.0,
          py::call_guard<py::gil_scoped_release>(),
          R"(Constant-drive steady state of a machine.

Other Python threads go on.

Parameters
----------
machine
    the machine [-]
force
    F0 in place of the drive's own [N]; two drives are scaled alike; none if negative

Returns
-------
flows [m^3/s], pressures [Pa] and the delivered ratio [-]

Raises
------
ValueError
    if the machine cannot be
)");
}

}  // namespace evenfront::python
