#pragma once

/// Filler in a resin at rest: how fast it sinks and how long a machine may stand.
namespace evenfront {

/// Terminal velocity of a lone sphere in creeping flow [m/s], g (rho_s - rho_l) d^2/(18 mu);
/// negative rises (gas bubbles, hollow filler).
/// @param diameter d [m], > 0; @param excess_density rho_s - rho_l [kg/m^3]
/// @param viscosity mu of the liquid without filler [Pa s], > 0; @param gravity g [m/s^2], > 0
/// Range: Reynolds number below about 0.1, see terminal_velocity. Source: stokes1851.
[[nodiscard]] double stokes_velocity(double diameter,
                                     double excess_density,
                                     double viscosity,
                                     double gravity = 9.80665);

/// The same past creeping flow [m/s], with the drag of schiller1933,
///   C_D = 24/Re (1 + 0.15 Re^0.687), Re < 1000
/// @param liquid_density [kg/m^3], > 0
/// @throws std::domain_error where the particle is faster than that
[[nodiscard]] double terminal_velocity(double diameter,
                                       double excess_density,
                                       double viscosity,
                                       double liquid_density,
                                       double gravity = 9.80665);

/// Volume fraction of filler phi [-] of a weight fraction w, (w/rho_s)/(w/rho_s + (1-w)/rho_l).
/// @param weight_fraction [-], 0 ... 1; @param filler_density, liquid_density [kg/m^3], > 0, that
/// of the liquid without filler
[[nodiscard]] double filler_fraction(double weight_fraction,
                                     double filler_density,
                                     double liquid_density);

/// Velocity of a suspension over that of a lone particle, (1 - phi)^n [-].
/// @param fraction phi [-], 0 ... 1; @param exponent n [-], 4.65 in creeping flow
/// Source: richardson1954.
[[nodiscard]] double hindered_settling(double fraction, double exponent = 4.65);

/// The same from density and viscosity of the mixture, (1 - phi)^2 10^(-1.82 phi) [-]; slower than
/// richardson1954 above a few percent, so the shorter idle time of the two is the safe one.
/// Source: steinour1944 (as in geankoplis2003, 14.3).
[[nodiscard]] double hindered_by_viscosity(double fraction);

/// Viscosity of a filled liquid over that of the liquid, (1 - phi/phi_m)^(-[eta] phi_m) [-].
/// @param fraction phi [-], 0 <= phi < phi_m; @param packing phi_m [-], 0 < phi_m <= 1
/// @param intrinsic [eta] [-], > 0. Source: krieger1959.
[[nodiscard]] double filled_viscosity(double fraction,
                                      double packing = 0.64,
                                      double intrinsic = 2.5);

/// Smallest yield stress that holds a sphere at rest [Pa], 0.048 |rho_s - rho_l| g d.
/// Source: beris1985 (3 tau_y/(d g drho) = 0.143), from memory; measured values 0.04 to 0.2.
[[nodiscard]] double holding_yield_stress(double diameter, double excess_density);

/// Longest idle [s] until a share of the height has cleared, share x height/velocity.
/// The cleared share is the change of filler content of what is drawn off first.
/// @param velocity of the suspension [m/s], > 0; @param height [m], > 0: depth of a tank, bore of a
/// hose that lies, length of an upright cylinder; @param share [-], > 0 and <= 1
/// Source: kynch1952, clear layer of a uniform suspension.
[[nodiscard]] double idle_time(double velocity, double height, double share);

}  // namespace evenfront
