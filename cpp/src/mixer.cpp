#include "evenfront/mixer.hpp"

#include <cmath>
#include <numbers>

#include "evenfront/errors.hpp"

namespace evenfront {

using std::numbers::pi;

namespace {

double tube_resistance(double bore, double length, double viscosity) {
    return 128.0 * viscosity * length / (pi * std::pow(bore, 4));
}

}  // namespace

double mixer_resistance(const Mixer& mixer, double viscosity) {
    require(viscosity > 0, "mixer_resistance", "viscosity", viscosity, "Pa s", "> 0");
    return mixer.pressure_multiplier * tube_resistance(mixer.bore, mixer.length, viscosity) +
           tip_resistance(mixer, viscosity);
}

double tip_resistance(const Mixer& mixer, double viscosity) {
    return mixer.tip ? tube_resistance(mixer.tip->bore, mixer.tip->length, viscosity) : 0.0;
}

double tip_volume(const Mixer& mixer) {
    return mixer.tip ? pi / 4.0 * mixer.tip->bore * mixer.tip->bore * mixer.tip->length : 0.0;
}

double blend_viscosity(const Mixer& mixer,
                       const Rheology& resin,
                       const Rheology& hardener,
                       double resin_flow,
                       double hardener_flow) {
    if (mixer.blend_viscosity) {
        return *mixer.blend_viscosity;
    }
    require(resin_flow > 0, "blend_viscosity", "resin_flow", resin_flow, "m^3/s", "> 0");
    require(hardener_flow > 0, "blend_viscosity", "hardener_flow", hardener_flow, "m^3/s", "> 0");
    const double total = resin_flow + hardener_flow;
    const double rate = 32.0 * total / (pi * std::pow(mixer.bore, 3));  // 8u/D
    const double mu_r = apparent_viscosity(at_temperature(resin, mixer.temperature), rate);
    const double mu_h = apparent_viscosity(at_temperature(hardener, mixer.temperature), rate);
    const double phi = hardener_flow / total;
    return std::exp(phi * std::log(mu_h) + (1.0 - phi) * std::log(mu_r));
}

}  // namespace evenfront
