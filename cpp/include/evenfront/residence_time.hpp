#pragma once
#include "evenfront/machine.hpp"

/// How long liquid stays in a mixer or a tip, counted by the volume that leaves meanwhile.
namespace evenfront {

/// Residence-time distribution over theta = volume out / hold-up, mean 1.
///   plug:        F = 1 for theta >= 1, else 0
///   tanks:       F = P(N, N theta), regularised gamma function, N > 0 real       (macmullin1935)
///                variance 1/N
///   laminar:     round tube without diffusion, power law of index n, theta0 = (n + 1)/(3 n + 1),
///                y = 1 - theta0/theta, F = y^(2n/(n+1)) [1 - 2n y/(3n + 1)]/theta0 for theta >=
///                theta0, else 0; n = 1: E = 1/(2 theta^3), theta >= 1/2; infinite variance
///                                (levenspiel1999, ch. 15; for n != 1 derived from the profile)
///   dispersion:  flux concentration in a semi-infinite tube, an inverse Gaussian of mean 1 and
///                variance 2/Pe:
///                F = 1/2 [erfc(a) + exp(Pe) erfc(b)], a, b = sqrt(Pe) (1 -+ theta)/(2 sqrt(theta))
///                                                                       (kreft1978, ogata1961)
/// Not the open-open curve (minus sign, mean 1 + 2/Pe), nor the closed-closed one.
/// The Peclet number is that of the whole mixer, u L/D_ax.
class ResidenceTime {
public:
    /// @param parameter Peclet number (dispersion) or number of tanks (tanks); ignored for plug
    /// @throws std::domain_error if it is not positive or not finite
    ResidenceTime(Residence kind, double parameter);
    /// Laminar tube, such as a tip behind the mixer.
    /// @param index n of the power law [-], 0.05 ... 1
    /// @throws std::domain_error if it is out of range
    [[nodiscard]] static ResidenceTime laminar(double index = 1.0);

    /// F(theta) [-]: share of a step at the inlet that has reached the outlet; 0 for theta <= 0.
    [[nodiscard]] double cumulative(double theta) const;

    /// G(theta), the integral of F from 0 [-]; theta - 1 once the whole step has come through.
    ///   tanks:       G = (theta - 1) F + (N theta)^N exp(-N theta)/Gamma(N + 1)
    ///   laminar:     G = theta F - y^(2n/(n+1))
    ///   dispersion:  G = 1/2 [(theta - 1) erfc(a) + (theta + 1) exp(Pe) erfc(b)]
    /// Source: theta F less the partial mean (chhikara1989 for the inverse Gaussian).
    [[nodiscard]] double integral(double theta) const;

    [[nodiscard]] double variance() const;  ///< of theta [-], infinite for laminar
    [[nodiscard]] bool is_plug() const;

    /// The same mixer seen at a fraction z of its length, over that length's own hold-up:
    /// dispersion keeps Pe z, tanks N z, so that lengths in series add their variances; laminar
    /// stays as it is.
    /// @param z [-], 0 < z <= 1
    [[nodiscard]] ResidenceTime at_fraction(double z) const;

private:
    enum class Law { plug, tanks, dispersion, laminar };
    ResidenceTime(Law law, double parameter) : law_(law), parameter_(parameter) {}

    Law law_;
    double parameter_;
};

/// The case's model, or plug.
[[nodiscard]] ResidenceTime residence_time(const Mixer& mixer);

/// Volume of liquid the mixer holds, void x pi/4 D^2 L [m^3].
[[nodiscard]] double hold_up(const Mixer& mixer);
/// Volume of liquid a tip holds, pi/4 d^2 L [m^3].
[[nodiscard]] double hold_up(const Tip& tip);

}  // namespace evenfront
