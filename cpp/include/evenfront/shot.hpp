#pragma once
#include "evenfront/machine.hpp"

/// Shot size: encoder counts <-> shaft travel <-> volume, and the least shot worth metering.
namespace evenfront {

/// Shaft travel [m] of a number of encoder counts, counts/encoder.
/// @param counts any sign [-]; @param encoder counts as the controller counts them [1/m], > 0
[[nodiscard]] double travel_of_counts(double counts, double encoder);

/// Encoder counts of a travel, not rounded [-]; the reverse of travel_of_counts.
[[nodiscard]] double counts_of_travel(double travel, double encoder);

/// Actual volume both pistons sweep [m^3], pi/4 (d_r^2 + d_h^2) travel.
/// @param travel [m]; @param resin_bore, hardener_bore [m], > 0
[[nodiscard]] double swept_by_travel(double travel, double resin_bore, double hardener_bore);

/// Travel [m] that sweeps a volume of both streams; the reverse of swept_by_travel.
[[nodiscard]] double travel_of_volume(double volume, double resin_bore, double hardener_bore);

/// Whole shots in what is left of a stroke, floor(left/travel) [-].
/// @param left [m], >= 0; @param travel per shot [m], > 0. A part in 1e9 is allowed for round-off.
[[nodiscard]] double shots_per_stroke(double left, double travel);

/// Least resin volume [m^3] whose hardener is within tolerance, error/(tolerance x ratio).
/// @param hardener_error all hardener volume that does not grow with the shot [m^3], >= 0:
///   swing + skew of the shut-offs x hardener flow + stem volume + one drop
/// @param tolerance of the ratio, of itself [-], > 0; @param ratio by liquid volume [-], > 0
/// Source: definition of the ratio error; a fixed volume matters the less the larger the shot.
[[nodiscard]] double least_shot(double hardener_error, double tolerance, double ratio);

/// Volume [m^3] of a drop that hangs from a wetted round tip, Tate's law, pi d sigma F/(rho g),
/// with the share that falls F = 0.6.
/// @param tip_bore outside diameter wetted [m], > 0; @param surface_tension [N/m], > 0
/// @param density [kg/m^3], > 0
/// Share from memory (0.6 to 0.75 after harkins1919): an estimate within a quarter.
[[nodiscard]] double drop_volume(double tip_bore, double surface_tension, double density);

}  // namespace evenfront
