#include "evenfront/rheology.hpp"

#include <cmath>
#include <numbers>

#include "evenfront/constants.hpp"
#include "evenfront/errors.hpp"
#include "evenfront/monotone_cubic.hpp"

namespace evenfront {

using std::numbers::pi;

namespace {

void validate(const Vogel& vogel, double reference_temperature) {
    require_not_negative("Vogel", "slope", vogel.slope, "K");
    require(vogel.pole >= 0 && vogel.pole < reference_temperature,
            "Vogel",
            "pole",
            vogel.pole,
            "K",
            ">= 0 and below the reference temperature");
}

void validate(const ViscosityTable& table) {
    const auto* const where = "ViscosityTable";
    const std::size_t n = table.temperature.size();
    require(n >= 2 && table.viscosity.size() == n,
            where,
            "points",
            static_cast<double>(n),
            "",
            "at least 2, with as many viscosities");
    for (std::size_t i = 0; i < n; ++i) {
        require_positive(where, "temperature", table.temperature[i], "K");
        require_positive(where, "viscosity", table.viscosity[i], "Pa s");
        require(i == 0 || table.temperature[i] > table.temperature[i - 1],
                where,
                "temperature",
                table.temperature[i],
                "K",
                "above the one before");
        require(i == 0 || table.viscosity[i] < table.viscosity[i - 1],
                where,
                "viscosity",
                table.viscosity[i],
                "Pa s",
                "below the one at the temperature before");
    }
}

// ln eta as a function of 1/T.
MonotoneCubic log_viscosity(const ViscosityTable& table) {
    std::vector<double> inverse;
    std::vector<double> logarithm;
    for (std::size_t i = table.temperature.size(); i-- > 0;) {
        inverse.push_back(1.0 / table.temperature[i]);
        logarithm.push_back(std::log(table.viscosity[i]));
    }
    return {std::move(inverse), std::move(logarithm)};
}

}  // namespace

Vogel vogel_from_wlf(double c1, double c2, double reference) {
    const auto* const where = "vogel_from_wlf";
    require_positive(where, "c1", c1, "");
    require_positive(where, "c2", c2, "K");
    require(
        reference >= c2 && std::isfinite(reference), where, "reference", reference, "K", ">= C2");
    return {.slope = std::numbers::ln10 * c1 * c2, .pole = reference - c2};
}

void validate(const Rheology& rheology) {
    const auto* const where = "Rheology";
    require(rheology.consistency > 0 && std::isfinite(rheology.consistency),
            where,
            "consistency",
            rheology.consistency,
            "Pa s^n",
            "> 0");
    require(rheology.index >= 0.1 && rheology.index <= 1,
            where,
            "index",
            rheology.index,
            "",
            "from 0.1 to 1");
    require(rheology.yield_stress >= 0 && std::isfinite(rheology.yield_stress),
            where,
            "yield_stress",
            rheology.yield_stress,
            "Pa",
            ">= 0");
    require(rheology.reference_temperature > 0,
            where,
            "reference_temperature",
            rheology.reference_temperature,
            "K",
            "> 0");
    require(rheology.activation_energy >= 0 && std::isfinite(rheology.activation_energy),
            where,
            "activation_energy",
            rheology.activation_energy,
            "J/mol",
            ">= 0");
    const int laws = (rheology.activation_energy > 0 ? 1 : 0) + (rheology.vogel ? 1 : 0) +
                     (rheology.table ? 1 : 0);
    require(
        laws <= 1, where, "temperature laws", laws, "", "one of activation_energy, vogel, table");
    if (rheology.vogel) {
        validate(*rheology.vogel, rheology.reference_temperature);
    }
    if (rheology.table) {
        validate(*rheology.table);
    }
}

double temperature_factor(const Rheology& rheology, double temperature) {
    const auto* const where = "temperature_factor";
    require(temperature > 0, where, "temperature", temperature, "K", "> 0");
    if (rheology.vogel) {
        const auto [slope, pole] = *rheology.vogel;
        require(temperature > pole, where, "temperature", temperature, "K", "above the law's pole");
        return std::exp(
            slope * (1.0 / (temperature - pole) - 1.0 / (rheology.reference_temperature - pole)));
    }
    if (rheology.table) {
        const MonotoneCubic curve = log_viscosity(*rheology.table);
        return std::exp((curve(1.0 / temperature) - curve(1.0 / rheology.reference_temperature)) /
                        rheology.index);
    }
    return std::exp(rheology.activation_energy / gas_constant *
                    (1.0 / temperature - 1.0 / rheology.reference_temperature));
}

ShearLaw at_temperature(const Rheology& rheology, double temperature) {
    return {.consistency = rheology.consistency *
                           std::pow(temperature_factor(rheology, temperature), rheology.index),
            .index = rheology.index,
            .yield_stress = rheology.yield_stress};
}

double apparent_viscosity(const ShearLaw& law, double shear_rate) {
    require(shear_rate > 0, "apparent_viscosity", "shear_rate", shear_rate, "1/s", "> 0");
    return law.yield_stress / shear_rate + law.consistency * std::pow(shear_rate, law.index - 1.0);
}

namespace {

// Both ducts share one shape: Q = c x^(1+1/n)/t^k B(x, t) with t the wall stress, x = t - tau_y,
// and B a polynomial; `Shape` gives B and its slope with t.
struct Bracket {
    double value;
    double slope;
};

struct PipeShape {
    static constexpr double power = 3.0;
    static Bracket bracket(const ShearLaw& law, double x) {
        const double m = 1.0 / law.index;
        const double y = law.yield_stress;
        return {x * x / (3.0 + m) + 2.0 * y * x / (2.0 + m) + y * y / (1.0 + m),
                2.0 * x / (3.0 + m) + 2.0 * y / (2.0 + m)};
    }
};

struct SlitShape {
    static constexpr double power = 2.0;
    static Bracket bracket(const ShearLaw& law, double x) {
        const double m = 1.0 / law.index;
        return {x / (2.0 + m) + law.yield_stress / (1.0 + m), 1.0 / (2.0 + m)};
    }
};

template <class Shape>
Flow duct_flow(const ShearLaw& law, double coefficient, double stress_per_pressure, double dp) {
    const double t = std::abs(dp) * stress_per_pressure;
    const double x = t - law.yield_stress;
    const double m = 1.0 / law.index;
    if (law.yield_stress == 0.0) {
        // Power law: x = t cancels against the denominator, also at t = 0.
        const double flow =
            coefficient * (law.index == 1.0 ? t : std::pow(t, m)) / (Shape::power + m);
        const double slope =
            t > 0.0 ? m * flow / t : (law.index == 1.0 ? coefficient / (Shape::power + m) : 0.0);
        return {std::copysign(flow, dp), slope * stress_per_pressure};
    }
    if (!(x > 0.0)) {
        return {0.0, 0.0};
    }
    const Bracket b = Shape::bracket(law, x);
    const double x_power = law.index == 1.0 ? x : std::pow(x, m);  // x^(1/n)
    const double scale = coefficient * x_power / (Shape::power == 3.0 ? t * t * t : t * t);
    const double flow = scale * x * b.value;
    const double slope =
        scale * ((1.0 + m) * b.value + x * b.slope - Shape::power * x * b.value / t);
    return {std::copysign(flow, dp), slope * stress_per_pressure};
}

// Inverse of duct_flow. ln Q is nearly linear in ln x, so Newton in logarithms takes a few steps
// from anywhere.
template <class Shape>
double duct_pressure(const ShearLaw& law,
                     double coefficient,
                     double stress_per_pressure,
                     double q) {
    if (q == 0.0) {
        return 0.0;
    }
    const double power_law_stress =
        std::pow(std::abs(q) * (Shape::power + 1.0 / law.index) / coefficient, law.index);
    if (law.yield_stress == 0.0) {
        return std::copysign(power_law_stress / stress_per_pressure, q);
    }
    const double target = std::log(std::abs(q));
    double x = power_law_stress + law.yield_stress / 3.0;
    for (int i = 0; i < 100; ++i) {
        const Flow flow = duct_flow<Shape>(
            law, coefficient, stress_per_pressure, (x + law.yield_stress) / stress_per_pressure);
        const double slope = x * flow.slope / (stress_per_pressure * std::abs(flow.q));
        const double step = (target - std::log(std::abs(flow.q))) / slope;
        x *= std::exp(step);
        if (std::abs(step) < 1e-15) {
            break;
        }
    }
    return std::copysign((x + law.yield_stress) / stress_per_pressure, q);
}

void require_positive(const char* where, const char* what, double value) {
    require(value > 0 && std::isfinite(value), where, what, value, "m", "> 0");
}

}  // namespace

PipeFlow::PipeFlow(const ShearLaw& law, double bore, double length)
    : law_(law),
      stress_per_pressure_(bore / (4.0 * length)),
      coefficient_(pi * bore * bore * bore / 8.0 / std::pow(law.consistency, 1.0 / law.index)) {
    require_positive("PipeFlow", "bore", bore);
    require_positive("PipeFlow", "length", length);
}

Flow PipeFlow::operator()(double dp) const {
    return duct_flow<PipeShape>(law_, coefficient_, stress_per_pressure_, dp);
}

double PipeFlow::pressure(double q) const {
    return duct_pressure<PipeShape>(law_, coefficient_, stress_per_pressure_, q);
}

double PipeFlow::yield_pressure() const {
    return law_.yield_stress / stress_per_pressure_;
}

SlitFlow::SlitFlow(const ShearLaw& law, double width, double gap, double length)
    : law_(law),
      stress_per_pressure_(gap / (2.0 * length)),
      coefficient_(width * gap * gap / 2.0 / std::pow(law.consistency, 1.0 / law.index)) {
    require_positive("SlitFlow", "width", width);
    require_positive("SlitFlow", "gap", gap);
    require_positive("SlitFlow", "length", length);
}

Flow SlitFlow::operator()(double dp) const {
    return duct_flow<SlitShape>(law_, coefficient_, stress_per_pressure_, dp);
}

double SlitFlow::pressure(double q) const {
    return duct_pressure<SlitShape>(law_, coefficient_, stress_per_pressure_, q);
}

double SlitFlow::yield_pressure() const {
    return law_.yield_stress / stress_per_pressure_;
}

double reynolds_number(const ShearLaw& law, double density, double mean_velocity, double bore) {
    const double n = law.index;
    return density * std::pow(mean_velocity, 2.0 - n) * std::pow(bore, n) /
           (std::pow(8.0, n - 1.0) * law.consistency * std::pow((3.0 * n + 1.0) / (4.0 * n), n));
}

}  // namespace evenfront
