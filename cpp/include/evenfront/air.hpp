#pragma once
#include "evenfront/machine.hpp"

/// Air cylinder with its regulator. Pressures here are absolute.
namespace evenfront {

inline constexpr double gas_constant_air = 287.05;      ///< R [J/(kg K)], dry air
inline constexpr double reference_air_density = 1.185;  ///< rho_0 at T_0, 1 bar [kg/m^3], iso6358
inline constexpr double reference_air_temperature = 293.15;  ///< T_0 [K], iso6358

/// Mass flow and its slopes with the pressures on both sides.
struct AirFlow {
    double mass_flow;  ///< [kg/s], positive from first to second
    double by_first;   ///< d/dp_1 [kg/(s Pa)]
    double by_second;  ///< d/dp_2 [kg/(s Pa)]
};

/// Mass flow through a way of air of conductance C and critical ratio b,
///   w = C rho_0 p_1 sqrt(T_0/T) psi(p_2/p_1),  psi(r) = 1 for r <= b,
///   psi = sqrt(1 - ((r - b)/(1 - b))^2) above, signed: the higher pressure feeds.
/// From r = 0.999 on psi falls straight to zero, so that its slope stays finite (ours; the standard
/// leaves that range to laminar leakage).
/// @param first, second absolute pressures on both sides [Pa], > 0
/// @param temperature T of the air upstream [K], > 0
/// Source: iso6358, eqs. (1) and (2).
[[nodiscard]] AirFlow air_flow(const AirPath& path,
                               double first,
                               double second,
                               double temperature);

/// The same from a regulator, whose pressure falls in proportion to its flow of free air:
///   p_1 = p_set - droop w/(rho_0 droop_flow), w > 0. Backwards it is fed at p_set.
/// @param chamber absolute pressure of the driving side [Pa], > 0
/// @return first: nothing (p_set does not change), second: the chamber
[[nodiscard]] AirFlow supply_flow(const AirCylinder& air, double chamber);

/// Area of the driving side, and of the exhausting one without its rod [m^2].
[[nodiscard]] double driving_area(const AirCylinder& air);
[[nodiscard]] double exhausting_area(const AirCylinder& air);

/// Force of the air on the shaft [N] by the absolute pressures on both sides; the rod sees p0.
[[nodiscard]] double air_force(const AirCylinder& air, double driving, double exhausting);

/// The force that remains at a steady speed [N]: each side at the pressure at which its way of air
/// carries what the piston sweeps, p A v = R T w. Falls with speed; below zero where the ways of
/// air are too narrow for it.
/// @param speed [m/s], >= 0
[[nodiscard]] double steady_air_force(const AirCylinder& air, double speed);

}  // namespace evenfront
