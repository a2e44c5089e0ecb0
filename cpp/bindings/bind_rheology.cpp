#include "evenfront/rheology.hpp"

#include "fields.hpp"

namespace evenfront::python {

using py::literals::operator""_a;

namespace {

constexpr const char* validate_doc = R"(Refuse a value outside the range its field states.

Parameters
----------
rheology
    the viscosity law [-]

Raises
------
ValueError
    naming the field, its value and the rule
)";

constexpr const char* temperature_factor_doc = R"(Shift factor a_T of the law of temperature.

Parameters
----------
rheology
    the law [-]
temperature
    of the liquid [K], > 0

Returns
-------
a_T [-], 1 at the reference temperature

Raises
------
ValueError
    if the temperature is not positive, or not above the pole of a Vogel law

Examples
--------
>>> temperature_factor(Rheology(consistency=20.0, activation_energy=50e3), 298.15)
1.0
)";

constexpr const char* vogel_from_wlf_doc =
    R"(Vogel law that equals log10 a_T = -C1 (T - T_r)/(C2 + T - T_r).

Parameters
----------
c1
    C1 [-], > 0
c2
    C2 [K], > 0
reference
    temperature T_r of the constants [K], >= C2

Returns
-------
law with B = ln(10) C1 C2 [K] and T_0 = T_r - C2 [K]

Raises
------
ValueError
    if a value is out of range

Examples
--------
>>> vogel_from_wlf(17.44, 51.6, 300.0).pole
248.4
)";

constexpr const char* at_temperature_doc = R"(The law frozen at one temperature.

Parameters
----------
rheology
    the law [-]
temperature
    of the liquid [K], > 0

Returns
-------
law with the consistency k a_T^n [Pa s^n]

Raises
------
ValueError
    if the temperature is not positive

Examples
--------
>>> at_temperature(Rheology(consistency=20.0, index=0.8), 298.15)
ShearLaw(consistency=20.0, index=0.8, yield_stress=0.0, cross=None)
)";

constexpr const char* apparent_viscosity_doc = R"(Apparent viscosity tau/s.

Parameters
----------
law
    frozen at one temperature [-]
shear_rate
    s [1/s], > 0

Returns
-------
viscosity [Pa s]

Raises
------
ValueError
    if the shear rate is not positive

Examples
--------
>>> apparent_viscosity(ShearLaw(consistency=20.0, yield_stress=10.0), 2.0)
25.0
)";

constexpr const char* reynolds_number_doc =
    R"(Metzner-Reed Reynolds number of a flow in a round bore.

The yield stress is ignored, so this is an upper bound.

Parameters
----------
law
    frozen at one temperature [-]
density
    rho [kg/m^3], > 0
mean_velocity
    u [m/s], > 0
bore
    inside diameter D [m], > 0

Returns
-------
Re_MR [-], laminar below 2100

Raises
------
ValueError
    if an argument is not positive

Examples
--------
>>> round(reynolds_number(ShearLaw(consistency=0.001), 1000.0, 0.5, 0.004), 6)
2000.0
)";

/// What both passages offer; `shape` are the parameters of their constructor after the law.
template <class Passage>
void bind_passage(py::class_<Passage>& cls) {
    cls.def("__call__", &Passage::operator(), "dp"_a, R"(Flow for one pressure difference.

Parameters
----------
dp
    upstream minus downstream [Pa], any sign

Returns
-------
flow [m^3/s] and its slope [m^3/(s Pa)]
)");
    cls.def("flow",
            py::vectorize([](Passage& self, double dp) { return self(dp).q; }),
            "dp"_a,
            R"(Volume flow alone, also over an array.

Parameters
----------
dp
    upstream minus downstream [Pa], any sign

Returns
-------
flow [m^3/s], signed like dp
)");
    cls.def("pressure", over_arrays(&Passage::pressure), "q"_a, R"(Pressure difference of a flow.

Parameters
----------
q
    volume flow [m^3/s], any sign

Returns
-------
pressure difference [Pa]; 0 for q = 0
)");
    cls.def("yield_pressure", &Passage::yield_pressure, R"(Largest pressure difference without flow.

Returns
-------
pressure difference [Pa], >= 0
)");
}

}  // namespace

void bind_rheology(py::module_& m) {
    bind_struct<Cross>(
        m,
        "Cross",
        "Thinning between two plateaus, eta = eta_0 [r + (1 - r)/(1 + (lambda s)^m)].",
        required("time_constant", &Cross::time_constant, "lambda at T_ref [s], > 0"),
        required("exponent", &Cross::exponent, "m [-], 0.1 <= m <= 1"),
        defaulted("plateau_ratio", &Cross::plateau_ratio, "r = eta_inf/eta_0 [-], 0 <= r < 1"));
    bind_struct<Vogel>(m,
                       "Vogel",
                       "Law of temperature a_T = exp(B (1/(T - T_0) - 1/(T_ref - T_0))).",
                       required("slope", &Vogel::slope, "B [K], >= 0"),
                       required("pole", &Vogel::pole, "T_0 [K], >= 0 and below T_ref"));
    bind_struct<ViscosityTable>(
        m,
        "ViscosityTable",
        "Law of temperature by points: ln eta a monotone cubic of 1/T.",
        required("temperature", &ViscosityTable::temperature, "rising [K], > 0"),
        required("viscosity", &ViscosityTable::viscosity, "falling [Pa s], > 0"));
    bind_struct<Rheology>(
        m,
        "Rheology",
        "tau = tau_y + k (a_T s)^n with a_T = exp(E/R (1/T - 1/T_ref)), or by `vogel` or `table`.",
        required("consistency", &Rheology::consistency, "k at T_ref [Pa s^n], > 0"),
        defaulted("index", &Rheology::index, "n [-], 0.1 <= n <= 1"),
        defaulted("yield_stress", &Rheology::yield_stress, "tau_y [Pa], >= 0"),
        defaulted("reference_temperature", &Rheology::reference_temperature, "T_ref [K], > 0"),
        defaulted("activation_energy",
                  &Rheology::activation_energy,
                  "E of a_T [J/mol], >= 0 (a value at fixed shear rate is E n)"),
        defaulted("vogel", &Rheology::vogel, "law of a_T in place of E [-]"),
        defaulted("table", &Rheology::table, "law of a_T in place of E [-]"),
        defaulted(
            "cross", &Rheology::cross, "law of shear in place of n and tau_y; k is its eta_0 [-]"));
    bind_struct<ShearLaw>(m,
                          "ShearLaw",
                          "The same law at one temperature: tau = tau_y + k s^n.",
                          required("consistency", &ShearLaw::consistency, "k a_T^n [Pa s^n], > 0"),
                          defaulted("index", &ShearLaw::index, "n [-], 0.1 <= n <= 1"),
                          defaulted("yield_stress", &ShearLaw::yield_stress, "tau_y [Pa], >= 0"),
                          defaulted("cross", &ShearLaw::cross, "lambda at this temperature [-]"));
    bind_result<Flow>(m,
                      "Flow",
                      "A flow and its slope.",
                      required("q", &Flow::q, "volume flow [m^3/s], signed like dp"),
                      required("slope", &Flow::slope, "dq/d(dp) [m^3/(s Pa)], >= 0"));

    m.def("validate", py::overload_cast<const Rheology&>(&validate), "rheology"_a, validate_doc);
    m.def("temperature_factor",
          over_arrays(&temperature_factor),
          "rheology"_a,
          "temperature"_a,
          temperature_factor_doc);
    m.def("least_local_index", &least_local_index, "cross"_a, R"(Least slope of ln tau with ln s.

Parameters
----------
cross
    the law [-]

Returns
-------
1 - m (1 - sqrt r)/(1 + sqrt r) [-]; a law below 0.1 is refused

Examples
--------
>>> round(least_local_index(Cross(time_constant=1.0, exponent=0.7)), 12)
0.3
)");
    m.def("vogel_from_wlf", &vogel_from_wlf, "c1"_a, "c2"_a, "reference"_a, vogel_from_wlf_doc);
    m.def("at_temperature", &at_temperature, "rheology"_a, "temperature"_a, at_temperature_doc);
    m.def("apparent_viscosity",
          over_arrays(&apparent_viscosity),
          "law"_a,
          "shear_rate"_a,
          apparent_viscosity_doc);
    m.def("reynolds_number",
          over_arrays(&reynolds_number),
          "law"_a,
          "density"_a,
          "mean_velocity"_a,
          "bore"_a,
          reynolds_number_doc);

    py::class_<PipeFlow> pipe(m, "PipeFlow", "Laminar flow through a round bore.");
    pipe.def(py::init<const ShearLaw&, double, double>(),
             "law"_a,
             "bore"_a,
             "length"_a,
             R"(Laminar flow through a round bore.

Parameters
----------
law
    frozen at one temperature [-]
bore
    inside diameter [m], > 0
length
    of the bore [m], > 0

Raises
------
ValueError
    if a value is out of range

Examples
--------
>>> pipe = PipeFlow(ShearLaw(consistency=20.0), bore=0.012, length=3.0)
>>> round(pipe.pressure(1e-5))
1178926
)");
    bind_passage(pipe);

    py::class_<SlitFlow> slit(m, "SlitFlow", "Laminar flow through a slit much wider than high.");
    slit.def(py::init<const ShearLaw&, double, double, double>(),
             "law"_a,
             "width"_a,
             "gap"_a,
             "length"_a,
             R"(Laminar flow through a slit much wider than high.

Parameters
----------
law
    frozen at one temperature [-]
width
    of the slit [m], > 0
gap
    height of the slit [m], > 0
length
    along the flow [m], > 0

Raises
------
ValueError
    if a value is out of range
)");
    bind_passage(slit);
}

}  // namespace evenfront::python
