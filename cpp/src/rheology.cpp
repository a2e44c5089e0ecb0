#include "evenfront/rheology.hpp"

#include <cmath>
#include <numbers>

#include "cross_curve.hpp"
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

void validate(const Cross& cross) {
    const auto* const where = "Cross";
    require_positive(where, "time_constant", cross.time_constant, "s");
    require(cross.exponent >= 0.1 && cross.exponent <= 1,
            where,
            "exponent",
            cross.exponent,
            "",
            "from 0.1 to 1");
    require(cross.plateau_ratio >= 0 && cross.plateau_ratio < 1,
            where,
            "plateau_ratio",
            cross.plateau_ratio,
            "",
            ">= 0 and < 1");
    const double least = least_local_index(cross);
    require(least >= 0.1 - 1e-12, where, "least local index", least, "", ">= 0.1");
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

double least_local_index(const Cross& cross) {
    const double root = std::sqrt(cross.plateau_ratio);
    return 1.0 - cross.exponent * (1.0 - root) / (1.0 + root);
}

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
    if (rheology.cross) {
        validate(*rheology.cross);
        require(rheology.index == 1, where, "index", rheology.index, "", "1 with cross");
        require(rheology.yield_stress == 0,
                where,
                "yield_stress",
                rheology.yield_stress,
                "Pa",
                "0 with cross");
    }
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
    const double shift = temperature_factor(rheology, temperature);
    std::optional<Cross> cross = rheology.cross;
    if (cross) {
        cross->time_constant *= shift;
    }
    return {.consistency = rheology.consistency * std::pow(shift, rheology.index),
            .index = rheology.index,
            .yield_stress = rheology.yield_stress,
            .cross = cross};
}

bool is_newtonian(const ShearLaw& law) {
    return law.index == 1.0 && law.yield_stress == 0.0 && !law.cross;
}

double apparent_viscosity(const ShearLaw& law, double shear_rate) {
    require(shear_rate > 0, "apparent_viscosity", "shear_rate", shear_rate, "1/s", "> 0");
    if (law.cross) {
        const auto [time_constant, exponent, ratio] = *law.cross;
        const double z = std::pow(time_constant * shear_rate, exponent);
        return law.consistency * (ratio + (1.0 - ratio) / (1.0 + z));
    }
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

// A Cross liquid: the Newtonian flow c t/(p+1) at eta_0 times exp(ln F).
template <class Shape>
Flow cross_flow(const detail::CrossCurve& curve,
                const ShearLaw& law,
                double coefficient,
                double stress_per_pressure,
                double dp) {
    const double t = std::abs(dp) * stress_per_pressure;
    const double newtonian = coefficient / (Shape::power + 1.0);
    if (t == 0.0) {
        return {0.0, newtonian * stress_per_pressure};
    }
    const auto at = curve(std::log(t * law.cross->time_constant / law.consistency));
    const double over_stress = newtonian * std::exp(at.log_factor);
    return {std::copysign(over_stress * t, dp),
            over_stress * (1.0 + at.slope) * stress_per_pressure};
}

// Its inverse: Newton in logarithms, kept within a bracket. ln Q rises with ln t at least as fast,
// and Q is never below the Newtonian flow.
template <class Shape>
double cross_pressure(const detail::CrossCurve& curve,
                      const ShearLaw& law,
                      double coefficient,
                      double stress_per_pressure,
                      double q) {
    if (q == 0.0) {
        return 0.0;
    }
    const double unit = std::log(law.cross->time_constant / law.consistency);
    const double target = std::log(std::abs(q) * (Shape::power + 1.0) / coefficient) + unit;
    double high = target;
    double low = target - curve(target).log_factor;
    double x = high;
    for (int i = 0; i < 200; ++i) {
        const auto at = curve(x);
        const double excess = x + at.log_factor - target;
        (excess > 0.0 ? high : low) = x;
        const double newton = x - excess / (1.0 + at.slope);
        const double next = newton > low && newton < high ? newton : 0.5 * (low + high);
        const bool done = !(std::abs(next - x) > 2e-16 * (1.0 + std::abs(x)));
        x = next;
        if (done) {
            break;
        }
    }
    return std::copysign(std::exp(x - unit) / stress_per_pressure, q);
}

template <class Shape>
std::shared_ptr<const detail::CrossCurve> curve_of(const ShearLaw& law) {
    return law.cross ? std::make_shared<const detail::CrossCurve>(*law.cross,
                                                                  static_cast<int>(Shape::power))
                     : nullptr;
}

}  // namespace

PipeFlow::PipeFlow(const ShearLaw& law, double bore, double length)
    : law_(law),
      stress_per_pressure_(bore / (4.0 * length)),
      coefficient_(pi * bore * bore * bore / 8.0 / std::pow(law.consistency, 1.0 / law.index)),
      curve_(curve_of<PipeShape>(law)) {
    require_positive("PipeFlow", "bore", bore, "m");
    require_positive("PipeFlow", "length", length, "m");
}

Flow PipeFlow::operator()(double dp) const {
    if (curve_) {
        return cross_flow<PipeShape>(*curve_, law_, coefficient_, stress_per_pressure_, dp);
    }
    return duct_flow<PipeShape>(law_, coefficient_, stress_per_pressure_, dp);
}

double PipeFlow::pressure(double q) const {
    if (curve_) {
        return cross_pressure<PipeShape>(*curve_, law_, coefficient_, stress_per_pressure_, q);
    }
    return duct_pressure<PipeShape>(law_, coefficient_, stress_per_pressure_, q);
}

double PipeFlow::yield_pressure() const {
    return law_.yield_stress / stress_per_pressure_;
}

SlitFlow::SlitFlow(const ShearLaw& law, double width, double gap, double length)
    : law_(law),
      stress_per_pressure_(gap / (2.0 * length)),
      coefficient_(width * gap * gap / 2.0 / std::pow(law.consistency, 1.0 / law.index)),
      curve_(curve_of<SlitShape>(law)) {
    require_positive("SlitFlow", "width", width, "m");
    require_positive("SlitFlow", "gap", gap, "m");
    require_positive("SlitFlow", "length", length, "m");
}

Flow SlitFlow::operator()(double dp) const {
    if (curve_) {
        return cross_flow<SlitShape>(*curve_, law_, coefficient_, stress_per_pressure_, dp);
    }
    return duct_flow<SlitShape>(law_, coefficient_, stress_per_pressure_, dp);
}

double SlitFlow::pressure(double q) const {
    if (curve_) {
        return cross_pressure<SlitShape>(*curve_, law_, coefficient_, stress_per_pressure_, q);
    }
    return duct_pressure<SlitShape>(law_, coefficient_, stress_per_pressure_, q);
}

double SlitFlow::yield_pressure() const {
    return law_.yield_stress / stress_per_pressure_;
}

double reynolds_number(const ShearLaw& law, double density, double mean_velocity, double bore) {
    if (law.cross) {
        const double flow = mean_velocity * pi / 4.0 * bore * bore;
        const double wall_stress = PipeFlow(law, bore, 1.0).pressure(flow) * bore / 4.0;
        return 8.0 * density * mean_velocity * mean_velocity / wall_stress;
    }
    const double n = law.index;
    return density * std::pow(mean_velocity, 2.0 - n) * std::pow(bore, n) /
           (std::pow(8.0, n - 1.0) * law.consistency * std::pow((3.0 * n + 1.0) / (4.0 * n), n));
}

}  // namespace evenfront
