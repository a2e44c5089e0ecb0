#pragma once
#include <Eigen/Dense>

#include "evenfront/machine.hpp"

/// Residence time of the mixer, and what leaves it for what entered. In volume coordinates the
/// mixer is linear: outlet hardener fraction = inlet fraction convolved with E(V).
namespace evenfront {

/// Residence-time distribution over theta = volume out / hold-up, mean 1.
///   plug:        F = 1 for theta >= 1
///   tanks:       F = P(N, N theta), N > 0 real                 (macmullin1935; check R7)
///   dispersion:  flux concentration in a semi-infinite tube, an inverse Gaussian of mean 1 and
///                variance 2/Pe:
///                F = 1/2 [erfc(a) + exp(Pe) erfc(b)], a, b = sqrt(Pe) (1 -+ theta)/(2 sqrt(theta))
///                                                              (kreft1978, ogata1961; check R9)
class ResidenceTime {
public:
    /// @param parameter Peclet number (dispersion) or number of tanks (tanks); ignored for plug
    /// @throws std::domain_error if it is not positive or not finite
    ResidenceTime(Residence kind, double parameter);

    [[nodiscard]] double cumulative(double theta) const;  ///< F(theta) [-], 0 for theta <= 0
    [[nodiscard]] double integral(double theta) const;    ///< G = integral of F from 0 [-]
    [[nodiscard]] double variance() const;                ///< of theta [-]
    [[nodiscard]] bool is_plug() const;
    /// The same mixer seen at a fraction z of its length, 0 < z <= 1: dispersion keeps Pe z, tanks N z.
    [[nodiscard]] ResidenceTime at_fraction(double z) const;

private:
    Residence kind_;
    double parameter_;
};

/// The case's model, or plug.
[[nodiscard]] ResidenceTime residence_time(const Mixer& mixer);

/// Volume of liquid the mixer holds, void x pi/4 D^2 L [m^3].
[[nodiscard]] double hold_up(const Mixer& mixer);

/// Composition of a stream of liquid along its own volume: piecewise constant between edges.
/// Cumulative volumes, so hardener is conserved whatever happens to the edges.
struct Composition {
    Eigen::VectorXd volume;    ///< edges, strictly increasing [m^3]
    Eigen::VectorXd hardener;  ///< cumulative hardener at the edges [m^3]; may fall where it is pushed back
    double before;             ///< hardener fraction phi before the first edge [-]
    double after;              ///< and after the last [-]
};

/// What leaves at fraction z of the mixer's length for what enters; volume axis: liquid out since
/// the first inlet edge passed the inlet. Plug: the inlet edges shifted by z x hold-up, exactly.
/// Otherwise the cumulative curve on `cells` equal pieces from the first inlet edge to the last
/// plus 2 z x hold-up, hardener conserved to round-off (cumulative convolution with G).
[[nodiscard]] Composition through_mixer(const Composition& inlet, const ResidenceTime& residence,
                                        double hold_up, double z = 1.0, int cells = 1000);

/// Ratio error of each piece, e = (phi/(1-phi))/r0 - 1, capped to |e| <= 1; phi >= 1 counts as 1.
[[nodiscard]] Eigen::VectorXd ratio_error(const Composition& composition, double ratio);

/// What a composition means for the part. Volumes [m^3], measured from volume = 0 of the axis.
struct OffRatio {
    double volume = 0.0;        ///< total liquid with e outside the tolerance
    double start;               ///< first entry, NaN if none
    double end;                 ///< last exit, NaN if none
    double soft_volume = 0.0;   ///< S = integral e^2/(e^2 + tol^2) dV, tol of e's sign
    double surplus = 0.0;       ///< hardener beyond tolerance, uncapped, pieces averaged over resolve
    double missing = 0.0;       ///< hardener short of tolerance, likewise
    double highest_error = 0.0; ///< largest e [-]
    double lowest_error = 0.0;  ///< smallest e [-]
};

/// Integrates over the pieces of the composition (nothing outside its edges).
/// Crossings of the tolerance are located by linear interpolation of e between the middles of
/// neighbouring pieces, so `volume`, `start`, `end` converge at order 2.
/// surplus = integral max(0, h - r0 (1+tol_high) r), missing = integral max(0, r0 (1-tol_low) r - h)
/// with h, r the hardener and resin of a moving piece of `resolve_volume` [m^3] (0: of the pieces).
[[nodiscard]] OffRatio off_ratio(const Composition& composition, const Target& target,
                                 double resolve_volume);

}  // namespace evenfront
