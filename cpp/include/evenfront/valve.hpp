#pragma once
#include "evenfront/machine.hpp"
#include "evenfront/rheology.hpp"

/// A throttle known by its flow coefficient, with the viscous correction of the sizing standard.
/// Newtonian liquids only: the standard excludes others. Inside, coefficients are A_v [m^2],
/// Q = A_v sqrt(dp/rho): 2.776532e-5 m^2 for each unit of Kv (m^3/h at 1 bar of water of
/// 999.103 kg/m^3), 2.401645e-5 m^2 for each of Cv.
/// Source: iec60534 (formulas read in a public reference library, not in the standard itself).
namespace evenfront {

/// A_v [m^2] at the throttle's setting:
///   table            ln A_v a monotone cubic of the opening
///   equal percentage rated R^(h-1)
///   linear           rated (1/R + (1 - 1/R) h), h the share of the full travel
/// @throws std::domain_error for an opening outside the table or the travel
/// Source: iec60534, part 2-4 (characteristics; from memory).
[[nodiscard]] double flow_coefficient(const Throttle& throttle);

/// Openings [own unit] between which the coefficient is known.
struct OpeningEnds {
    double low;
    double high;
};
[[nodiscard]] OpeningEnds opening_ends(const ControlValve& valve);

/// Reynolds number of the valve [-],
///   Re_v = N4 Fd Q/(nu sqrt(C FL)) (FL^2 C^2/(N2 d^4) + 1)^(1/4).
/// @param flow Q [m^3/s], >= 0; @param kinematic_viscosity nu [m^2/s], > 0
[[nodiscard]] double valve_reynolds_number(const Throttle& throttle,
                                           double flow,
                                           double kinematic_viscosity);

/// Share F_R of the turbulent coefficient that is left at a Reynolds number [-], 0 ... 1.
///   laminar      0.026/FL sqrt(n Re_v)
///   transitional 1 + 0.33 FL^(1/2)/n^(1/4) log10(Re_v/10000), above where the two meet; then 1
///   small trim, C/(N18 d^2) < 0.016: n = 1 + N32 (C/d^2)^(2/3); full trim: n = N2/(C/d^2)^2
/// The standard changes over at Re_v = 10 to the lesser of the two, which jumps where the laminar
/// line is the higher one there; here the upper meeting point is taken: continuous, the same above
/// it, and the same below 10.
[[nodiscard]] double reynolds_factor(const Throttle& throttle, double reynolds_number);

/// Largest pressure drop [Pa] that still drives more flow, FL^2 (p_1 - F_F p_v) with
/// F_F = 0.96 - 0.28 sqrt(p_v/p_c); beyond it the liquid boils in the seat. Turbulent flow only.
/// @param inlet p_1, vapour p_v and critical pressure p_c [Pa], absolute
[[nodiscard]] double choking_drop(const ControlValve& valve,
                                  double inlet,
                                  double vapour,
                                  double critical);

/// Flow through such a throttle at one setting: dp = rho (Q/(F_R A_v))^2, which is linear in Q
/// while laminar.
class ValveFlow {
public:
    /// @param viscosity mu [Pa s]; @param density [kg/m^3], both > 0
    ValveFlow(const Throttle& throttle, double viscosity, double density);

    [[nodiscard]] double pressure(double q) const;  ///< lost at the flow q [m^3/s], odd in it

    /// Flow where dp [Pa] is shared with a linear resistance `series` [Pa s/m^3].
    [[nodiscard]] Flow operator()(double dp, double series) const;

private:
    struct Loss {
        double pressure;
        double slope;  // d pressure/d q
    };
    [[nodiscard]] Loss loss(double q) const;  // for q >= 0

    double turbulent_;  // rho/A_v^2
    double laminar_;    // dp/Q while laminar
    double steepness_;  // d F_R/d ln Re_v in transition
    double meeting_;    // flows at which transition begins
    double full_;       // ... and F_R reaches 1
};

}  // namespace evenfront
