#pragma once
#include <memory>
#include <optional>
#include <vector>

/// Laminar flow of time-independent liquids through round bores and slits.
namespace evenfront {

namespace detail {
class CrossCurve;
}

/// Thinning between two plateaus, eta(s) = eta_0 [r + (1 - r)/(1 + (lambda s)^m)].
/// Range: the local index d ln tau/d ln s is nowhere below 0.1.
/// Source: cross1965.
struct Cross {
    double time_constant;        ///< lambda at T_ref [s], > 0
    double exponent;             ///< m [-], 0.1 <= m <= 1
    double plateau_ratio = 0.0;  ///< r = eta_inf/eta_0 [-], 0 <= r < 1
};

/// Least d ln tau/d ln s [-], 1 - m (1 - sqrt r)/(1 + sqrt r), where (lambda s)^m = 1/sqrt r.
[[nodiscard]] double least_local_index(const Cross& cross);

/// Vogel (Fulcher, Tammann) law, a_T = exp(B (1/(T - T_0) - 1/(T_ref - T_0))); T_0 = 0 is Arrhenius
/// with E = R B. Source: viswanath1989.
struct Vogel {
    double slope;  ///< B [K], >= 0
    double pole;   ///< T_0 [K], >= 0 and below every temperature of use
};

/// The Vogel law that equals log10 a_T = -C1 (T - T_r)/(C2 + T - T_r): B = ln(10) C1 C2,
/// T_0 = T_r - C2. The reference T_r is that of the constants; T_ref may be another.
/// @param c1 C1 [-], > 0; @param c2 C2 [K], > 0; @param reference T_r [K], > C2
/// Source: williams1955.
[[nodiscard]] Vogel vogel_from_wlf(double c1, double c2, double reference);

/// Viscosities of a data sheet at one shear rate: ln eta is a monotone cubic of 1/T (two points:
/// Arrhenius), a_T = (eta(T)/eta(T_ref))^(1/n); beyond the ends Arrhenius with the end's slope.
/// Source: fritsch1984 (monotone_cubic.hpp).
struct ViscosityTable {
    std::vector<double> temperature;  ///< rising [K], > 0, at least 2
    std::vector<double> viscosity;    ///< falling [Pa s], > 0
};

/// tau = tau_y + k (a_T s)^n with a_T = exp(E/R (1/T - 1/T_ref)) [Arrhenius], or by `vogel` or
/// `table` in its place. Newtonian: tau_y = 0, n = 1. Bingham: n = 1. Power law: tau_y = 0.
/// With `cross`: eta(s, T) = a_T eta(a_T s) with k for eta_0, n = 1 and tau_y = 0.
struct Rheology {
    double consistency;                     ///< k at reference_temperature [Pa s^n], > 0
    double index = 1.0;                     ///< n [-], 0.1 <= n <= 1
    double yield_stress = 0.0;              ///< tau_y [Pa], >= 0
    double reference_temperature = 298.15;  ///< T_ref [K], > 0
    double activation_energy = 0.0;  ///< E of a_T [J/mol], >= 0 (a value at fixed rate is E n)
    std::optional<Vogel> vogel = std::nullopt;           ///< law of a_T in place of E
    std::optional<ViscosityTable> table = std::nullopt;  ///< law of a_T in place of E
    std::optional<Cross> cross = std::nullopt;           ///< law of shear in place of n and tau_y
};

/// Throws std::domain_error for a value outside the ranges given in Rheology.
void validate(const Rheology& rheology);

/// The same law frozen at one temperature: tau = tau_y + k s^n, or Cross with eta_0 = k.
struct ShearLaw {
    double consistency;                         ///< k' = k a_T^n [Pa s^n], > 0
    double index = 1.0;                         ///< n [-]
    double yield_stress = 0.0;                  ///< tau_y [Pa]
    std::optional<Cross> cross = std::nullopt;  ///< with lambda at this temperature
};

/// True where stress is proportional to shear rate.
[[nodiscard]] bool is_newtonian(const ShearLaw& law);

/// Shift factor a_T [-] at `temperature` [K]; 1 at the reference temperature.
/// Source: Arrhenius (Andrade) form; see Vogel and ViscosityTable for the others.
/// @throws std::domain_error if the temperature is not positive or not above the pole of `vogel`
[[nodiscard]] double temperature_factor(const Rheology& rheology, double temperature);

/// The law at `temperature` [K]. @throws std::domain_error if temperature is not positive
[[nodiscard]] ShearLaw at_temperature(const Rheology& rheology, double temperature);

/// Apparent viscosity tau/s [Pa s] at shear rate s [1/s], s > 0.
[[nodiscard]] double apparent_viscosity(const ShearLaw& law, double shear_rate);

/// A flow and its slope.
struct Flow {
    double q;      ///< volume flow [m^3/s], signed like the pressure difference
    double slope;  ///< dq/d(dp) [m^3/(s Pa)], >= 0
};

/// Flow through a round bore, built once and called often.
///   tau_w = |dp| R/(2 L), x = tau_w - tau_y > 0:
///   Q = pi R^3 x^(1+1/n)/(k^(1/n) tau_w^3)
///       [x^2/(3+1/n) + 2 tau_y x/(2+1/n) + tau_y^2/(1+1/n)], else Q = 0
/// Cross: pi R^3/tau_w^3 int_0^tau_w tau^2 s d tau, tabulated once, to 1e-7.
/// Newtonian limit: pi R^4 dp/(8 eta L). Laminar: generalised Reynolds number below 2100.
/// Source: chhabra2008, Herschel-Bulkley in a tube (Rabinowitsch integral).
class PipeFlow {
public:
    /// @param bore, length [m], > 0. @throws std::domain_error otherwise
    PipeFlow(const ShearLaw& law, double bore, double length);

    /// @param dp pressure difference upstream minus downstream [Pa], any sign
    [[nodiscard]] Flow operator()(double dp) const;

    /// Pressure difference [Pa] that drives the flow q [m^3/s]; for q = 0 it is 0.
    [[nodiscard]] double pressure(double q) const;

    /// Largest |dp| [Pa] without flow, 2 L tau_y/R.
    [[nodiscard]] double yield_pressure() const;

private:
    ShearLaw law_;
    double stress_per_pressure_;                       // R/(2 L)
    double coefficient_;                               // pi R^3/k^(1/n)
    std::shared_ptr<const detail::CrossCurve> curve_;  // of a Cross liquid
};

/// Flow through a slit, width much greater than gap.
///   H = h/2, tau_w = |dp| H/L, x = tau_w - tau_y > 0:
///   Q = 2 w H^2 x^(1+1/n)/(tau_w^2 k^(1/n)) [x/(2+1/n) + tau_y/(1+1/n)], else Q = 0
/// Cross: 2 w H^2/tau_w^2 int_0^tau_w tau s d tau, as PipeFlow.
/// Newtonian limit: w h^3 dp/(12 eta L). Source: chhabra2008, parallel plates.
class SlitFlow {
public:
    /// @param width, gap, length [m], > 0. @throws std::domain_error otherwise
    SlitFlow(const ShearLaw& law, double width, double gap, double length);

    [[nodiscard]] Flow operator()(double dp) const;  ///< as PipeFlow
    [[nodiscard]] double pressure(double q) const;   ///< as PipeFlow
    [[nodiscard]] double yield_pressure() const;     ///< 2 L tau_y/h

private:
    ShearLaw law_;
    double stress_per_pressure_;                       // H/L
    double coefficient_;                               // 2 w H^2/k^(1/n)
    std::shared_ptr<const detail::CrossCurve> curve_;  // of a Cross liquid
};

/// Metzner-Reed Reynolds number of a flow in a round bore [-],
///   Re_MR = rho u^(2-n) D^n/(8^(n-1) k ((3n+1)/(4n))^n); yield stress ignored, so an upper bound.
/// Cross: 8 rho u^2/tau_w, of which the above is the power law's form.
/// @param mean_velocity u [m/s], > 0
/// Source: metzner1955.
[[nodiscard]] double reynolds_number(const ShearLaw& law,
                                     double density,
                                     double mean_velocity,
                                     double bore);

}  // namespace evenfront
