#include "fields.hpp"

#include <cmath>

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
    if (py::isinstance<py::float_>(a) && std::isnan(a.cast<double>())) {
        return py::isinstance<py::float_>(b) && std::isnan(b.cast<double>());
    }
    return a.equal(b);
}

}  // namespace evenfront::python
