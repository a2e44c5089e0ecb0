#include "fields.hpp"

namespace evenfront::python {

std::string brief(const py::handle& value) {
    if (!py::isinstance<py::array>(value)) {
        return py::repr(value);
    }
    return py::str("<array {}>").format(value.attr("shape"));
}

bool same(const py::handle& a, const py::handle& b) {
    if (py::isinstance<py::array>(a)) {
        return py::module_::import("numpy")
            .attr("array_equal")(a, b, py::arg("equal_nan") = true)
            .cast<bool>();
    }
    if (py::isinstance<py::float_>(a) && a.not_equal(a)) {
        return b.not_equal(b);
    }
    return a.equal(b);
}

}  // namespace evenfront::python
