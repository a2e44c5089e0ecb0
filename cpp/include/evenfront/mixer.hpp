#pragma once
#include "evenfront/machine.hpp"

/// Back pressure of the static mixer.
namespace evenfront {

/// R_m = multiplier x 128 mu L/(pi D^4), and 128 mu l/(pi d^4) for a tip [Pa s/m^3];
/// p_m = R_m (q_r + q_h), liquid flows.
/// @param viscosity mu of the blend [Pa s], > 0
/// Laminar. Source: Hagen-Poiseuille with the element's multiplier.
[[nodiscard]] double mixer_resistance(const Mixer& mixer, double viscosity);

/// The tip's share of it [Pa s/m^3], and the volume the tip holds [m^3]; 0 without one.
[[nodiscard]] double tip_resistance(const Mixer& mixer, double viscosity);
[[nodiscard]] double tip_volume(const Mixer& mixer);

/// Viscosity of the blend [Pa s]: as given, or the log rule by volume fraction,
///   ln mu = phi ln mu_h + (1 - phi) ln mu_r,
/// each stream's apparent viscosity at the rate 8u/D of the empty tube and the mixer's temperature.
/// @param resin_flow, hardener_flow liquid volume flows [m^3/s], both > 0 for the log rule
/// Source: arrhenius1887, mixture rule.
[[nodiscard]] double blend_viscosity(const Mixer& mixer,
                                     const Rheology& resin,
                                     const Rheology& hardener,
                                     double resin_flow,
                                     double hardener_flow);

}  // namespace evenfront
