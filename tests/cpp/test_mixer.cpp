#include "evenfront/mixer.hpp"

#include <numbers>

#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::mL;

namespace {

Mixer tube(double multiplier) {
    return {.bore = 0.013, .length = 0.3, .pressure_multiplier = multiplier, .blend_viscosity = {}};
}

// Viscosities at the mixer's own temperature are the ones given.
Rheology newtonian(double viscosity) {
    return {.consistency = viscosity};
}

}  // namespace

TEST_CASE("back pressure of mixer elements against the handbook's multipliers",
          "[mixer][reference]") {
    // Paul, Atiemo-Obeng & Kresta, Handbook of Industrial Mixing (2004), ch. 7: K_L 6.9 for helical
    // elements, 37.5 for bars crossed at 45 degrees. 13 mm x 0.3 m, 10 Pa s, 10 mL/s, evaluated
    // from K_L 128 mu L Q/(pi D^4): 0.295296 and 1.604868 MPa; tolerance half the last digit.
    CHECK_THAT(mixer_resistance(tube(6.9), 10.0) * 10 * mL, WithinAbs(0.295296e6, 0.5));
    CHECK_THAT(mixer_resistance(tube(37.5), 10.0) * 10 * mL, WithinAbs(1.604868e6, 0.5));
}

TEST_CASE("an empty tube is the multiplier's unit", "[mixer][limit]") {
    // Hagen-Poiseuille: 12 mm x 3 m, 20 Pa s, 10 mL/s: 1.1789255 MPa.
    const Mixer mixer{
        .bore = 0.012, .length = 3.0, .pressure_multiplier = 1.0, .blend_viscosity = {}};
    CHECK_THAT(mixer_resistance(mixer, 20.0) * 10 * mL, WithinAbs(1.1789255e6, 0.05));
}

TEST_CASE("blend viscosity by the logarithmic rule", "[mixer][reference]") {
    // Arrhenius (1887) by volume fractions, evaluated: 100 volumes of 20 Pa s with 12 of 0.05 Pa s
    // give 10.52538 Pa s; equal volumes 1.0 Pa s (geometric mean).
    const Mixer mixer = tube(7.0);
    CHECK_THAT(blend_viscosity(mixer, newtonian(20), newtonian(0.05), 10 * mL, 1.2 * mL),
               WithinAbs(10.52538, 5e-6));
    CHECK_THAT(blend_viscosity(mixer, newtonian(20), newtonian(0.05), 3 * mL, 3 * mL),
               WithinRel(1.0, 1e-14));
}

TEST_CASE("a blend of one liquid with itself keeps its viscosity at the mixer's wall rate",
          "[mixer][identity]") {
    Mixer mixer = tube(7.0);
    mixer.temperature = 313.15;
    const Rheology resin{.consistency = 60,
                         .index = 0.6,
                         .yield_stress = 20,
                         .reference_temperature = 298.15,
                         .activation_energy = 60e3};
    // 8u/D = 32 Q/(pi D^3) by hand; the shift factor of 60 kJ/mol from 25 to 40 degC is 0.3136845.
    const double rate = 32 * 10 * mL / (std::numbers::pi * 0.013 * 0.013 * 0.013);
    const double expected = 20 / rate + 60 * std::pow(0.3136845 * rate, 0.6) / rate;
    CHECK_THAT(blend_viscosity(mixer, resin, resin, 8 * mL, 2 * mL), WithinRel(expected, 2e-7));
}

TEST_CASE("a given blend viscosity is used as it is", "[mixer]") {
    Mixer mixer = tube(7.0);
    mixer.blend_viscosity = 9.0;
    CHECK(blend_viscosity(mixer, newtonian(20), newtonian(0.05), 10 * mL, mL) == 9.0);
}

TEST_CASE("the blend refuses what it cannot mix", "[mixer][refusal]") {
    const Mixer mixer = tube(7.0);
    const auto blend = [&](double resin, double hardener) {
        return demo::refusal(
            [&] { (void)blend_viscosity(mixer, newtonian(20), newtonian(0.05), resin, hardener); });
    };
    CHECK(demo::mentions(blend(0.0, mL), "resin_flow"));
    CHECK(demo::mentions(blend(mL, -mL), "hardener_flow"));
    CHECK(demo::mentions(demo::refusal([&] { (void)mixer_resistance(mixer, 0.0); }), "viscosity"));
}
