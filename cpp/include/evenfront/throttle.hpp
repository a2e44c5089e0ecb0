#pragma once
#include <optional>

#include "evenfront/machine.hpp"
#include "evenfront/valve.hpp"

/// Pressure-flow laws of throttle and shut-off, alone and in series.
namespace evenfront {

/// Gap of a needle between cone and seat, h = turns x pitch x sin(half angle) [m].
/// Source: geometry of a cone lifted along its axis.
[[nodiscard]] double needle_gap(const Throttle& throttle);

/// Reynolds number of the slit, rho Q/(pi d eta) [-], whatever its gap; eta at the wall shear rate
/// of a Newtonian slit where the gap is known (a needle). NaN where it is not known: kind
/// flow_coefficient (see valve_reynolds_number), no seat bore, or a thinning liquid without a gap.
/// @param flow [m^3/s]
[[nodiscard]] double gap_reynolds_number(const Throttle& throttle,
                                         const ShearLaw& law,
                                         double density,
                                         double flow);

/// A coordinate of the setting that rises as the throttle closes, ln of its resistance but for a
/// constant: ln r, -3 ln turns (slit), -2 ln A_v.
[[nodiscard]] double log_resistance(const Throttle& throttle);

/// The same throttle at that coordinate; a valve stops at the ends of its table or travel.
[[nodiscard]] Throttle with_log_resistance(Throttle throttle, double value);

/// Throttle alone.
///   resistance: dp = r Q
///   needle:     dp = dp_slit(Q) + rho/2 (Q/(C_d A))^2 sign(Q), slit of width pi d, gap h and the
///               land's length, A = pi d h; see SlitFlow
///   flow_coefficient: see ValveFlow
/// Range: Reynolds number of the gap rho Q/(pi d eta) below about 20 for the laminar part.
/// Source: chhabra2008 (slit); merritt1967, ch. 3 (orifice loss). Limits: see test_throttle.
class ThrottleFlow {
public:
    /// @param law of the liquid at the throttle's temperature; @param density there [kg/m^3]
    ThrottleFlow(const Throttle& throttle, const ShearLaw& law, double density);

    /// Flow for a pressure difference [Pa] shared with a linear resistance `series` [Pa s/m^3] >=
    /// 0: solves dp = dp_throttle(Q) + series Q.
    [[nodiscard]] Flow operator()(double dp, double series = 0.0) const;

    /// Pressure lost [Pa] at the flow q [m^3/s].
    [[nodiscard]] double pressure(double q) const;

    /// Largest |dp| without flow [Pa].
    [[nodiscard]] double yield_pressure() const;

private:
    double resistance_;       // of the linear law; unused with a slit
    double kinetic_ = 0.0;    // rho/(2 (C_d A)^2)
    double newtonian_ = 0.0;  // conductance of the slit if the liquid is Newtonian, else 0
    std::optional<SlitFlow> slit_;
    std::optional<ValveFlow> valve_;
};

/// Throttle, shut-off and check valve in series, or one of the first two where liquid stands
/// between them.
class Restriction {
public:
    /// @param opening_pressure of a check valve in series [Pa], >= 0: passes forwards only, with so
    /// much less; none: both ways
    Restriction(std::optional<ThrottleFlow> throttle,
                std::optional<Shutoff> shutoff,
                std::optional<double> opening_pressure = std::nullopt);

    /// Flow, slope with dp, and slope with the opening fraction f of the shut-off.
    struct Result {
        double q;            ///< [m^3/s]
        double slope;        ///< dq/d(dp) [m^3/(s Pa)]
        double by_fraction;  ///< dq/df [m^3/s]
    };
    /// @param fraction f of the shut-off, 0 closed ... 1 open; shut-off resistance r_s/f^m
    [[nodiscard]] Result operator()(double dp, double fraction) const;

    /// Pressure lost at the flow q with the shut-off open [Pa].
    [[nodiscard]] double pressure(double q) const;
    [[nodiscard]] double yield_pressure() const;

private:
    std::optional<ThrottleFlow> throttle_;
    double shutoff_resistance_;  // 0: no shut-off here
    double exponent_;
    std::optional<double> opening_pressure_;
};

}  // namespace evenfront
