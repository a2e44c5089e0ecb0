#pragma once

/// Laminar flow of time-independent liquids through round bores and slits.
namespace evenfront {

/// tau = tau_y + k (a_T s)^n with a_T = exp(E/R (1/T - 1/T_ref)) [Arrhenius].
/// Newtonian: tau_y = 0, n = 1. Bingham: n = 1. Power law: tau_y = 0.
struct Rheology {
    double consistency;                     ///< k at reference_temperature [Pa s^n], > 0
    double index = 1.0;                     ///< n [-], 0.1 <= n <= 1
    double yield_stress = 0.0;              ///< tau_y [Pa], >= 0
    double reference_temperature = 298.15;  ///< T_ref [K], > 0
    double activation_energy = 0.0;  ///< E of a_T [J/mol], >= 0 (a value at fixed rate is E n)
};

/// Throws std::domain_error for a value outside the ranges given in Rheology.
void validate(const Rheology& rheology);

/// The same law frozen at one temperature: tau = tau_y + k s^n.
struct ShearLaw {
    double consistency;         ///< k' = k a_T^n [Pa s^n], > 0
    double index = 1.0;         ///< n [-]
    double yield_stress = 0.0;  ///< tau_y [Pa]
};

/// Shift factor a_T [-] at `temperature` [K]; 1 at the reference temperature.
/// Source: Arrhenius (Andrade) form.
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
    double stress_per_pressure_;  // R/(2 L)
    double coefficient_;          // pi R^3/k^(1/n)
};

/// Flow through a slit, width much greater than gap.
///   H = h/2, tau_w = |dp| H/L, x = tau_w - tau_y > 0:
///   Q = 2 w H^2 x^(1+1/n)/(tau_w^2 k^(1/n)) [x/(2+1/n) + tau_y/(1+1/n)], else Q = 0
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
    double stress_per_pressure_;  // H/L
    double coefficient_;          // 2 w H^2/k^(1/n)
};

/// Metzner-Reed Reynolds number of a flow in a round bore [-],
///   Re_MR = rho u^(2-n) D^n/(8^(n-1) k ((3n+1)/(4n))^n); yield stress ignored, so an upper bound.
/// @param mean_velocity u [m/s], > 0
/// Source: metzner1955.
[[nodiscard]] double reynolds_number(const ShearLaw& law,
                                     double density,
                                     double mean_velocity,
                                     double bore);

}  // namespace evenfront
