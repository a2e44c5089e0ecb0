#pragma once
#include <Eigen/Core>
#include <limits>

#include "evenfront/machine.hpp"
#include "evenfront/residence_time.hpp"

/// What leaves the mixer for what entered, and what that means for the part. In volume coordinates
/// the mixer is linear: outlet hardener fraction = inlet fraction convolved with E(V).
namespace evenfront {

/// Composition of a stream of liquid along its own volume: piecewise constant between edges.
/// Cumulative volumes, so hardener is conserved whatever happens to the edges.
struct Composition {
    Eigen::VectorXd volume;    ///< edges, strictly increasing [m^3]; at least one
    Eigen::VectorXd hardener;  ///< cumulative hardener at the edges [m^3]; falls where pushed back
    double before;             ///< hardener fraction phi before the first edge [-]
    double after;              ///< and after the last [-]
};

/// What leaves at fraction z of the mixer's length for what enters, on the volume axis of the inlet
/// (liquid out = liquid in), from the first inlet edge to the last plus 2 z x hold-up.
/// Plug: the inlet's pieces, z x hold-up later, between liquid of `before` and of `after`.
/// Otherwise on `cells` equal pieces: the inlet is averaged over the same pieces and convolved with
/// the second difference of G, exact for piecewise constant liquid, so the error is of order
/// 1/cells^2 and hardener is conserved to round-off.
/// @param residence of the whole mixer
/// @param hold_up of the whole mixer [m^3], > 0
/// @param z [-], 0 < z <= 1
/// @param cells >= 1
/// @throws std::domain_error for a value out of range, std::invalid_argument for a composition
/// without edges, or with unequal numbers of volumes and hardener values
[[nodiscard]] Composition through_mixer(const Composition& inlet,
                                        const ResidenceTime& residence,
                                        double hold_up,
                                        double z = 1.0,
                                        int cells = 1000);

/// Hardener fraction that passes each of several places when `entered` has come in: the liquid
/// inside the mixer as it flows by (flux concentration), exact for piecewise constant liquid.
///   phi(z) = before + sum of (phi_i - before) [F((V - a_i)/(z V_mix)) - F((V - b_i)/(z V_mix))]
/// with F that of the length z, and what follows the last edge at `after`.
/// @param entered V, on the volume axis of the inlet [m^3]
/// @param places fractions z of the mixer's length [-], 0 < z <= 1
/// @throws as through_mixer
[[nodiscard]] Eigen::VectorXd profile_along(const Composition& inlet,
                                            const ResidenceTime& residence,
                                            double hold_up,
                                            double entered,
                                            const Eigen::VectorXd& places);

/// Ratio error of each piece, e = (phi/(1-phi))/r0 - 1, capped to |e| <= 1; phi >= 1 counts as 1.
/// @param ratio r0, hardener per resin by liquid volume [-], > 0
[[nodiscard]] Eigen::VectorXd ratio_error(const Composition& composition, double ratio);

/// What a composition means for the part. Volumes [m^3]; positions on the composition's axis.
struct OffRatio {
    double volume = 0.0;  ///< total liquid with e outside the tolerance
    double start = std::numeric_limits<double>::quiet_NaN();  ///< first entry, NaN if none
    double end = std::numeric_limits<double>::quiet_NaN();    ///< last exit, NaN if none
    double soft_volume = 0.0;    ///< S = integral e^2/(e^2 + tol^2) dV, tol of e's sign
    double surplus = 0.0;        ///< hardener beyond tolerance, uncapped, at `resolve_volume`
    double missing = 0.0;        ///< hardener short of tolerance, likewise
    double highest_error = 0.0;  ///< largest e of a piece [-]
    double lowest_error = 0.0;   ///< smallest e of a piece [-]
    int zones = 0;  ///< stretches outside the tolerance; rich and lean ones count apart
};

/// Integrates over the pieces of the composition, nothing outside its edges.
/// `volume`, `start`, `end`: e runs straight between the middles of neighbouring pieces (order 2);
/// beside a piece much smaller than itself a wide piece stays level, so that a step stays a step.
/// surplus = integral max(0, h - r0 (1+tol_high) r), missing = integral max(0, r0 (1-tol_low) r -
/// h) with h, r the hardener and resin of a moving piece of `resolve_volume`, exact for piecewise
/// constant liquid; past the edges the moving piece meets `before` and `after`.
/// @param resolve_volume [m^3], >= 0; 0: the pieces themselves
/// @throws std::domain_error for a ratio, tolerance or resolve_volume out of range
[[nodiscard]] OffRatio off_ratio(const Composition& composition,
                                 const Target& target,
                                 double resolve_volume);

}  // namespace evenfront
