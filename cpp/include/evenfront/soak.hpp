#pragma once
#include "evenfront/rheology.hpp"

/// Heat: how long a line soaks before its middle is warm, and what the heater needs.
namespace evenfront {

enum class Body { slab, cylinder };

/// k-th root of the characteristic equation, k = 1, 2, ...
///   slab: z tan z = Bi;  cylinder: z J1(z) = Bi J0(z)
/// @param biot Bi = h R/lambda [-], > 0, or infinite (wall held at its temperature)
/// Source: incropera2007, eqs. 5.39c and 5.47c; abramowitz1964 9.5 for the Bessel zeros.
[[nodiscard]] double soak_root(Body body, double biot, int k);

/// Temperature difference left, Y = (T - T_wall)/(T_start - T_wall) [-], in a slab heated on both
/// faces (or on one, insulated on the other) or a long cylinder.
///   Y = sum_k C_k exp(-z_k^2 Fo) f(z_k s)
///   slab: C = 4 sin z/(2z + sin 2z), f = cos;
///   cylinder: C = (2/z) J1(z)/(J0(z)^2 + J1(z)^2), f = J0
/// @param biot as for soak_root
/// @param fourier Fo = alpha t/R^2 [-], 0 or at least 1e-4; R is half the slab's thickness
/// @param position s: distance from the middle over R [-], 0 ... 1
/// Liquid at rest: conduction only, properties constant. Source: incropera2007, eqs. 5.39, 5.47.
[[nodiscard]] double soak(Body body, double biot, double fourier, double position);

/// The same averaged over the volume [-]; 1 minus it is the share of the heat taken up.
[[nodiscard]] double soak_mean(Body body, double biot, double fourier);

/// Fourier number [-] after which the middle has come within `left` of the wall, the reverse of
/// soak at position 0. @param left Y [-], > 0 and < 1
[[nodiscard]] double soak_fourier(Body body, double biot, double left);

/// Temperature [K] at which the consistency is `factor` times that at `temperature`:
///   1/T = 1/temperature + R ln(factor)/(E n); for the Vogel law with T less its pole and B for
///   E/R; for a table by root finding
/// @param factor > 0 [-]; @throws std::domain_error for a liquid that heat does not thin, or where
/// no temperature is that thick. Source: the law of Rheology, solved for T.
[[nodiscard]] double temperature_for_viscosity(const Rheology& rheology,
                                               double temperature,
                                               double factor);

/// Heat rate that warms a flow [W], rho c q (T2 - T1).
/// @param flow [m^3/s], >= 0; @param density [kg/m^3], > 0; @param specific_heat c [J/(kg K)], > 0
/// @param rise T2 - T1 [K]
[[nodiscard]] double heat_rate(double flow, double density, double specific_heat, double rise);

/// Heat rate lost through an insulated round line [W],
///   L dT/(ln(Do/Di)/(2 pi lambda) + 1/(pi Do h))
/// @param length [m], > 0; @param inside, outside diameters of the insulation [m], 0 < Di <= Do
/// @param conductivity lambda of the insulation [W/(m K)], > 0
/// @param film h to the room [W/(m^2 K)], > 0; @param difference dT [K]
/// Source: incropera2007, ch. 3, radial conduction in series with the film.
[[nodiscard]] double line_loss(double length,
                               double inside,
                               double outside,
                               double conductivity,
                               double film,
                               double difference);

}  // namespace evenfront
