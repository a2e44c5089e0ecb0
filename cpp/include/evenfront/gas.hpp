#pragma once
#include "evenfront/material.hpp"

/// Free gas: how much there is, what stiffness, ratio error and foam come of it, what vacuum
/// leaves. Dissolution is ignored.
namespace evenfront {

/// Share of a volume that is given way under pressure, 1 - v(end)/v(start) [-].
/// Times a cylinder's length it is the lost motion of the piston; the full cylinder counts after a
/// refill, not the shot.
/// @param start, end gauge [Pa], > -p0. Source: volume_factor.
[[nodiscard]] double compression(const Liquid& liquid, double start, double end);

/// Ratio error of a whole refill against the steady ratio, (1 - c_h)/(1 - c_r) - 1 [-]: both
/// cylinders fill at tank pressure and deliver at working pressure, with c the compression of each.
/// @param resin_compression, hardener_compression [-], below 1
/// Source: mass delivered from a full cylinder, A S rho(p_tank), over that metered, A S rho(p).
[[nodiscard]] double refill_ratio_error(double resin_compression, double hardener_compression);

/// Free gas fraction at p0 [-] of a liquid whose tangent bulk modulus has been measured; the
/// reverse of compressibility.
/// @param bulk_modulus K of the gas-free liquid [Pa], > 0
/// @param tangent_modulus measured [Pa], > 0 and at most K; the wall's share taken off first
/// @param pressure gauge [Pa], > -p0; @param gas_exponent 1 ... 2
/// @throws std::domain_error also where not even pure gas is that soft
/// Source: merritt1967, ch. 2, solved for the gas.
[[nodiscard]] double free_gas_of_modulus(double bulk_modulus,
                                         double tangent_modulus,
                                         double pressure,
                                         double gas_exponent = 1.0);

/// Fraction of the volume that is gas at a pressure [-], free_gas being that at p0.
/// @param pressure gauge [Pa], > -p0
[[nodiscard]] double gas_share(const Liquid& liquid, double pressure);

/// Free gas at p0 [-] that vacuum leaves, from the fraction still in the liquid under vacuum:
///   a0 = s p/(s p + (1 - s) p0)
/// @param share s of the volume that is gas under vacuum [-], 0 <= s < 1
/// @param vacuum_abs absolute pressure [Pa], > 0 and at most p0
/// Source: Boyle's law; a bubble that has not risen comes back small.
[[nodiscard]] double gas_left(double share, double vacuum_abs);

/// Absolute pressure [Pa] that leaves a wanted free gas; the reverse of gas_left, at most p0.
/// @param free_gas at p0 [-], > 0 and < 1; @param share still gas under vacuum [-], > 0 and < 1
[[nodiscard]] double vacuum_for_gas(double free_gas, double share);

/// Largest share of a tank [-] that may be filled before vacuum, so that the foam stays inside even
/// if no bubble bursts: 1/(1 - a0 + a0 p0/p).
/// @param free_gas at p0 [-], 0 ... 1; @param vacuum_abs [Pa], > 0 and at most p0
[[nodiscard]] double foam_fill(double free_gas, double vacuum_abs);

}  // namespace evenfront
