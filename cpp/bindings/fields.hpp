#pragma once
#include <pybind11/eigen.h>
#include <pybind11/native_enum.h>
#include <pybind11/numpy.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <array>
#include <stdexcept>
#include <string>
#include <type_traits>
#include <utility>
#include <variant>
#include <vector>

/// Binds a plain struct from one list of its fields: keyword constructor, read-only attributes,
/// `replace`, repr, equality, copy and pickle. A field added to the list appears in all of them.
namespace evenfront::python {

namespace py = pybind11;

/// A field that has no safe default.
template <class Struct, class Value>
struct Required {
    using Type = Value;
    const char* name;
    Value Struct::*member;
    const char* doc;  ///< meaning [unit], range

    [[nodiscard]] py::arg argument() const { return py::arg(name); }
};

/// A field that takes the default its header gives it.
template <class Struct, class Value>
struct Defaulted {
    using Type = Value;
    const char* name;
    Value Struct::*member;
    const char* doc;

    [[nodiscard]] py::arg_v argument() const { return py::arg(name) = Struct{}.*member; }
};

template <class Struct, class Value>
Required<Struct, Value> required(const char* name, Value Struct::*member, const char* doc) {
    return {name, member, doc};
}

template <class Struct, class Value>
Defaulted<Struct, Value> defaulted(const char* name, Value Struct::*member, const char* doc) {
    return {name, member, doc};
}

/// A function of a struct and scalars that takes arrays for the scalars too. (py::vectorize alone
/// does not accept a reference to const.)
template <class Result, class Struct, class... Scalar>
auto over_arrays(Result (*function)(const Struct&, Scalar...)) {
    return py::vectorize(
        [function](Struct& self, Scalar... scalar) { return function(self, scalar...); });
}
template <class Result, class Struct, class... Scalar>
auto over_arrays(Result (Struct::*function)(Scalar...) const) {
    return py::vectorize(
        [function](Struct& self, Scalar... scalar) { return (self.*function)(scalar...); });
}

/// What a constructor accepts for a field: an enum's value also by its name.
template <class Value>
using Argument = std::conditional_t<std::is_enum_v<Value>, std::variant<Value, std::string>, Value>;

template <class Value>
Value from_argument(Argument<Value> argument) {
    if constexpr (std::is_enum_v<Value>) {
        if (const auto* value = std::get_if<Value>(&argument)) {
            return *value;
        }
        const auto& name = std::get<std::string>(argument);
        const py::object type = py::type::of(py::cast(Value{}));
        const py::object members = type.attr("__members__");
        if (!members.contains(name)) {
            const py::str text =
                py::str("{} = '{}', must be one of {}")
                    .format(type.attr("__name__"), name, py::str(", ").attr("join")(members));
            throw std::invalid_argument(std::string(text));
        }
        return members[py::str(name)].template cast<Value>();
    } else {
        return argument;
    }
}

template <class Type>
struct is_vector : std::false_type {};
template <class Element>
struct is_vector<std::vector<Element>> : std::true_type {};

/// Attribute: numbers and structs as they are, arrays as read-only views, lists as tuples (a list
/// would suggest that changing it changes the struct).
template <class Struct, class Field>
void bind_attribute(py::class_<Struct>& cls, const Field& field) {
    using Value = typename Field::Type;
    if constexpr (is_vector<Value>::value) {
        using Tuple = py::typing::Tuple<typename Value::value_type, py::ellipsis>;
        cls.def_property_readonly(
            field.name,
            [member = field.member](const Struct& self) {
                return Tuple(py::tuple(py::cast(self.*member)));
            },
            field.doc);
    } else {
        cls.def_readonly(field.name, field.member, field.doc);
    }
}

/// One value inside a repr; arrays by their shape.
std::string brief(const py::handle& value);
/// Same value; unlike ==, NaN is the same as NaN, and arrays are compared as a whole.
bool same(const py::handle& a, const py::handle& b);

/// "Parameters" part of a docstring from names and meanings.
template <class... Field>
std::string parameters_doc(const Field&... field) {
    std::string text = "Parameters\n----------\n";
    (text.append(field.name).append("\n    ").append(field.doc).append("\n"), ...);
    return text;
}

/// A struct that only the core makes.
template <class Struct, class... Field>
py::class_<Struct> bind_result(py::module_& m,
                               const char* name,
                               const char* doc,
                               const Field&... field) {
    py::class_<Struct> cls(m, name, doc);
    (bind_attribute(cls, field), ...);
    const std::array<const char*, sizeof...(Field)> names{field.name...};
    cls.def("__repr__", [names, name](const py::object& self) {
        std::string text = name;
        const char* separator = "(";
        for (const char* each : names) {
            text.append(separator).append(each).append("=").append(brief(self.attr(each)));
            separator = ", ";
        }
        return text + ")";
    });
    cls.def(
        "__eq__",
        [names](const py::object& self, const py::object& other) {
            if (!py::isinstance<Struct>(other)) {
                return false;
            }
            for (const char* each : names) {
                if (!same(self.attr(each), other.attr(each))) {
                    return false;
                }
            }
            return true;
        },
        py::arg("other"),
        py::is_operator());
    cls.def("__copy__", [](const Struct& self) { return Struct(self); });
    cls.def(
        "__deepcopy__",
        [](const Struct& self, const py::typing::Dict<py::object, py::object>&) {
            return Struct(self);
        },
        py::arg("memo"));
    cls.def(py::pickle(
        [names](const py::object& self) {
            py::typing::Tuple<py::object, py::ellipsis> state{py::tuple(names.size())};
            for (std::size_t i = 0; i < names.size(); ++i) {
                state[i] = self.attr(names[i]);
            }
            return state;
        },
        [field...](const py::typing::Tuple<py::object, py::ellipsis>& state) {
            if (state.size() != sizeof...(Field)) {
                throw std::invalid_argument("pickled by another version");
            }
            Struct made{};
            std::size_t i = 0;
            ((made.*field.member = state[i++].template cast<typename Field::Type>()), ...);
            return made;
        }));
    return cls;
}

/// A struct the caller makes, by keywords.
template <class Struct, class... Field>
py::class_<Struct> bind_struct(py::module_& m,
                               const char* name,
                               const char* doc,
                               const Field&... field) {
    py::class_<Struct> cls = bind_result<Struct>(m, name, doc, field...);
    const std::string init_doc = std::string(doc) + "\n\n" + parameters_doc(field...);
    cls.def(py::init([field...](Argument<typename Field::Type>... argument) {
                Struct made{};
                ((made.*field.member = from_argument<typename Field::Type>(std::move(argument))),
                 ...);
                return made;
            }),
            py::kw_only(),
            field.argument()...,
            init_doc.c_str());
    const std::array<const char*, sizeof...(Field)> names{field.name...};
    const auto replace = [names](const py::object& self, const py::KWArgs<py::object>& changes) {
        py::dict arguments;
        for (const char* each : names) {
            arguments[each] = self.attr(each);
        }
        arguments.attr("update")(changes);
        return py::type::of(self)(**arguments).template cast<Struct>();
    };
    cls.def("replace", replace, "The same with some fields changed, by keyword.");
    cls.def("__replace__", replace, "For copy.replace.");
    return cls;
}

}  // namespace evenfront::python
