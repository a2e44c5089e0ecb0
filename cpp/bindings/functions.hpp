#pragma once
#include <string>
#include <type_traits>
#include <utility>

#include "fields.hpp"

/// Binds a function from one list of its arguments: signature, defaults and docstring. Scalars also
/// take arrays, after at most one struct.
namespace evenfront::python {

/// An argument without default.
struct Given {
    const char* name;
    const char* doc;  ///< meaning [unit], range

    [[nodiscard]] py::arg argument() const { return py::arg(name); }
};

/// An argument with the default its header gives it.
template <class Value>
struct Preset {
    const char* name;
    Value value;
    const char* doc;

    [[nodiscard]] py::arg_v argument() const { return py::arg(name) = value; }
};

struct Doc {
    const char* summary;  ///< one sentence
    const char* returns;  ///< meaning [unit]
    const char* example = "";
};

template <class... Argument>
std::string docstring(const Doc& doc, const Argument&... argument) {
    std::string text = std::string(doc.summary) + "\n\n" + parameters_doc(argument...) +
                       "\nReturns\n-------\n" + doc.returns + "\n";
    if (*doc.example != '\0') {
        text += std::string("\nExamples\n--------\n") + doc.example + "\n";
    }
    return text;
}

/// Function of scalars, or of one struct and scalars.
template <class... Scalar, class... Argument>
void define(py::module_& m,
            const char* name,
            double (*function)(Scalar...),
            const Doc& doc,
            const Argument&... argument) {
    const std::string text = docstring(doc, argument...);
    if constexpr ((std::is_arithmetic_v<Scalar> && ...)) {
        m.def(name, py::vectorize(function), argument.argument()..., text.c_str());
    } else {
        m.def(name, over_arrays(function), argument.argument()..., text.c_str());
    }
}

/// Any other function, as it is; the GIL is released while it runs.
template <class Function, class... Argument>
void define_plain(py::module_& m,
                  const char* name,
                  Function function,
                  const Doc& doc,
                  const Argument&... argument) {
    const std::string text = docstring(doc, argument...);
    m.def(name,
          function,
          argument.argument()...,
          text.c_str(),
          py::call_guard<py::gil_scoped_release>());
}

}  // namespace evenfront::python
