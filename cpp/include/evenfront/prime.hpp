#pragma once
#include "evenfront/rheology.hpp"

/// Priming: filling an empty hose at tank pressure, what stays on the wall, what it takes to purge.
namespace evenfront {

/// Time [s] until the front of a liquid pushed at constant pressure reaches the end of an empty
/// hose.
///   without yield stress: t = (3n+1)/((n+1) R) (2k/(dp R))^(1/n) L^((n+1)/n); Newtonian
///   16 mu L^2/(D^2 dp); with one: the integral of dx/u(x), u the mean velocity in a length x
/// @param pressure dp at the hose's inlet [Pa], > 0; @param bore D, length L [m], > 0
/// @throws std::domain_error where the yield stress stops the front first, see prime_reach
/// Laminar, quasi-steady, no capillarity, level. Source: washburn1921 with the flow of PipeFlow.
[[nodiscard]] double prime_time(const ShearLaw& law, double pressure, double bore, double length);

/// Longest hose [m] a pressure can fill against the yield stress, dp D/(4 tau_y); infinite without.
[[nodiscard]] double prime_reach(const ShearLaw& law, double pressure, double bore);

/// Share of the bore [-] that stays on the wall when gas pushes the liquid out,
///   1 - (1 - h/R)^2, h/R = 1.34 Ca^(2/3)/(1 + 3.35 Ca^(2/3))
/// @param capillary Ca = mu u/sigma [-], >= 0 (infinite: 0.64)
/// Newtonian, no inertia, +-5 %. Source: aussillous2000, fit of taylor1961; small Ca
/// bretherton1961.
[[nodiscard]] double film_left(double capillary);

/// Share of a full step [-] that has come through a hose after `volumes` of its content have
/// passed, laminar without diffusion. With m = (n+1)/n and y the radius, over the wall's, inside
/// which the liquid has come through, 1 - y^m = (n+1)/((3n+1) volumes):
///   F = (3n+1)/(n+1) (y^2 - 2 y^(m+2)/(m+2));  Newtonian 1 - 1/(4 volumes^2)
/// @param volumes passed over held [-], >= 0; @param index n [-], 0.1 ... 1
/// Source: levenspiel1999, ch. 15, with the velocity profile of a power law.
[[nodiscard]] double laminar_washout(double volumes, double index = 1.0);

/// Volumes of a hose [-] to pass until a share of what comes out is new; reverse of
/// laminar_washout.
/// @param share [-], 0 ... 0.9999
[[nodiscard]] double purge_volumes(double share, double index = 1.0);

}  // namespace evenfront
