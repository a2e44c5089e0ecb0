#pragma once
/// Constants shared by every layer. SI; pressures are gauge unless the name says `_abs`.
namespace evenfront {

inline constexpr double standard_pressure = 101325.0;     ///< p0, absolute [Pa], ISO 2533
inline constexpr double gas_constant = 8.31446261815324;  ///< R [J/(mol K)], CODATA 2018 (exact)
inline constexpr double standard_gravity = 9.80665;       ///< [m/s^2], ISO 80000-3
inline constexpr double least_free_gas = 1e-6;  ///< floor of the gas fraction a0 [-], keeps p > -p0
inline constexpr double laminar_limit = 2100.0;  ///< generalised Reynolds number [-], Metzner-Reed
inline constexpr double starvation_pressure = -0.9e5;  ///< gauge [Pa]; below it a stream is starved

}  // namespace evenfront
