#pragma once
#include "evenfront/material.hpp"

/// What gives way when a closed stream is pressed: liquid, its gas, pockets and the walls.
namespace evenfront {

/// Volume per pressure and length an elastic tube gives [m^3/(Pa m)], area over wall modulus, with
///   1/beta_c = (2/E) [(Do^2 + Di^2)/(Do^2 - Di^2) + nu]
/// A thin wall gives D/(E e). Steel and plain plastics; a braided hose needs its maker's figure.
/// @param young E [Pa], > 0; @param poisson nu [-], 0 ... 0.5
/// @param bore, outside Di, Do [m], 0 < Di < Do
/// Source: Lame's thick wall, ends free of axial load (merritt1967, ch. 2).
[[nodiscard]] double elastic_wall_expansion(double young,
                                            double poisson,
                                            double bore,
                                            double outside);

/// Modulus of a wall beta_c [Pa], bore area over wall expansion.
/// @param bore [m], > 0; @param wall_expansion [m^3/(Pa m)], > 0
[[nodiscard]] double wall_modulus(double bore, double wall_expansion);

/// Volume the piston sweeps against closed shut-offs [m^3], from p = 0:
///   V (1 - v(p)) + C p + pocket (1 - (p0/(p0+p))^(1/n_g))
/// Gas bends the curve at its start, walls and liquid give its straight end.
/// @param pressure gauge [Pa], >= 0; @param volume V in cylinder and line at p = 0 [m^3], >= 0
/// @param capacity C of all walls, wall expansion x length [m^3/Pa], >= 0
/// @param pocket free air at p0 [m^3], >= 0
[[nodiscard]] double stall_volume(
    const Liquid& liquid, double pressure, double volume, double capacity, double pocket);

/// Pressure rise [Pa] of liquid shut in between closed valves when it is warmed from T1 to T2, from
/// p = 0: rho(p, T2)(1 + s p) = rho(0, T1), by TOMS 748 (alefeld1995).
/// @param start, end temperatures T1, T2 [K], > 0, T2 >= T1
/// @param wall_softness s: wall expansion over bore area [1/Pa], >= 0; expansion by heat left out
/// Source: mass balance of the shut-in volume.
[[nodiscard]] double blocked_in_pressure(const Liquid& liquid,
                                         double start,
                                         double end,
                                         double wall_softness);

/// Ratio error of a leak past one side's seal [-], of the ratio itself.
///   hardener: -g p/Q;  resin: 1/(1 - g p/Q) - 1
/// @param leak g [m^3/(s Pa)], >= 0; @param pressure p [Pa], >= 0
/// @param flow Q metered by that side's piston [m^3/s], > 0, and above the leak
[[nodiscard]] double hardener_leak_error(double leak, double pressure, double flow);
[[nodiscard]] double resin_leak_error(double leak, double pressure, double flow);

/// Greatest pressure [Pa] at which a leak stays below a share of the flow, share Q/g.
/// @param leak g [m^3/(s Pa)], > 0; @param flow Q [m^3/s], > 0; @param share [-], > 0 and < 1
[[nodiscard]] double pressure_for_leak(double leak, double flow, double share);

}  // namespace evenfront
