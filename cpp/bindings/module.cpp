#include <pybind11/pybind11.h>

namespace py = pybind11;

namespace evenfront::python {
void bind_material(py::module_& m);
void bind_rheology(py::module_& m);
void bind_machine(py::module_& m);
void bind_throttle(py::module_& m);
void bind_mixer(py::module_& m);
void bind_transient(py::module_& m);
void bind_steady(py::module_& m);
void bind_residence_time(py::module_& m);
void bind_transport(py::module_& m);
void bind_mixer_inlet(py::module_& m);
void bind_outlet(py::module_& m);
void bind_lead(py::module_& m);
void bind_trim(py::module_& m);
void bind_remedies(py::module_& m);
void bind_ratio(py::module_& m);
void bind_drive(py::module_& m);
void bind_shot(py::module_& m);
void bind_gas(py::module_& m);
void bind_stiffness(py::module_& m);
void bind_soak(py::module_& m);
void bind_settling(py::module_& m);
void bind_prime(py::module_& m);
void bind_fill(py::module_& m);
void bind_mixer_life(py::module_& m);
}  // namespace evenfront::python

PYBIND11_MODULE(_core, m) {
    using namespace evenfront::python;
    m.doc() = "Compiled core: materials, machine, transient, transport, lead. SI, gauge pressures.";
    // a type before those that name it
    bind_material(m);
    bind_rheology(m);
    bind_machine(m);
    bind_throttle(m);
    bind_mixer(m);
    bind_steady(m);
    bind_transient(m);
    bind_residence_time(m);
    bind_transport(m);
    bind_mixer_inlet(m);
    bind_outlet(m);
    bind_lead(m);
    bind_trim(m);
    bind_remedies(m);
    bind_ratio(m);
    bind_drive(m);
    bind_shot(m);
    bind_gas(m);
    bind_stiffness(m);
    bind_soak(m);
    bind_settling(m);
    bind_prime(m);
    bind_fill(m);
    bind_mixer_life(m);
}
