#include "evenfront/soak.hpp"

#include <cmath>
#include <limits>
#include <numbers>

#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::celsius;

namespace {
const double infinite = std::numeric_limits<double>::infinity();
}

TEST_CASE("first roots of slab and long cylinder", "[soak][reference]") {
    // One-term table of Cengel (4-2) and Incropera (5.1), read in a public copy to 4 decimals;
    // evaluated to 6 with another root finder.
    CHECK_THAT(soak_root(Body::slab, 0.1, 1), WithinAbs(0.311053, 5e-7));
    CHECK_THAT(soak_root(Body::slab, 1, 1), WithinAbs(0.860334, 5e-7));
    CHECK_THAT(soak_root(Body::slab, 10, 1), WithinAbs(1.428870, 5e-7));
    CHECK_THAT(soak_root(Body::cylinder, 0.1, 1), WithinAbs(0.441682, 5e-7));
    CHECK_THAT(soak_root(Body::cylinder, 1, 1), WithinAbs(1.255784, 5e-7));
    CHECK_THAT(soak_root(Body::cylinder, 10, 1), WithinAbs(2.179497, 5e-7));
    // Wall held at its temperature: pi/2 and the zeros of J0
    // (abramowitz1964, 9.5: 2.40483, 5.52008).
    CHECK_THAT(soak_root(Body::slab, infinite, 1), WithinRel(std::numbers::pi / 2, 1e-15));
    CHECK_THAT(soak_root(Body::cylinder, infinite, 1), WithinAbs(2.40482556, 5e-9));
    CHECK_THAT(soak_root(Body::cylinder, infinite, 2), WithinAbs(5.52007811, 5e-9));
    CHECK_THAT(soak_root(Body::cylinder, 1e9, 2), WithinAbs(5.52007811, 1e-7));
}

TEST_CASE("centre temperatures by the full series", "[soak][reference]") {
    // Evaluated with another root finder: Bi 5, Fo 0.3.
    CHECK_THAT(soak(Body::cylinder, 5, 0.3, 0), WithinAbs(0.457190, 5e-7));
    CHECK_THAT(soak(Body::slab, 5, 0.3, 0), WithinAbs(0.736328, 5e-7));
}

TEST_CASE("textbook slabs and cylinders", "[soak][reference]") {
    // Incropera, Ex. 5.4 (open transcription): insulated face 43.017 degC evaluated, 42.9 printed;
    // energy per area and length of pipe -2.72546e7 J/m, rho c L (T_i - T_inf) pi D (1 - mean).
    const double bi = 500 * 0.040 / 63.9;
    const double fo = 18.8e-6 * 480 / (0.04 * 0.04);
    CHECK_THAT(60 - 80 * soak(Body::slab, bi, fo, 0), WithinAbs(43.017, 1e-3));
    const double energy =
        7832 * 434 * 0.040 * -80 * std::numbers::pi * (1 - soak_mean(Body::slab, bi, fo));
    CHECK_THAT(energy, WithinRel(-2.72546e7, 1e-5));
    // Holman, Ex. 4-6, 4-7: 215 W/m K, h 525, alpha 8.4e-5, 60 s, 200 to 70 degC; slab and cylinder
    // of 25 mm at 12.5 mm: 150.441 and 119.666 degC evaluated (charts 147.7 and 118.4).
    const double bi_h = 525 * 0.025 / 215;
    const double fo_h = 8.4e-5 * 60 / (0.025 * 0.025);
    CHECK_THAT(70 + 130 * soak(Body::slab, bi_h, fo_h, 0.5), WithinAbs(150.441, 1e-3));
    CHECK_THAT(70 + 130 * soak(Body::cylinder, bi_h, fo_h, 0.5), WithinAbs(119.666, 1e-3));
    // Geankoplis, Ex. 5.3-2: 46.2 mm warmed on one face, 5 h: surface 292.389, x/L 0.45: 288.312,
    // insulated face 287.169 K evaluated (charts 292.2, 288.3, 287.4).
    const double bi_g = 8.52 * 0.0462 / 0.197;
    const double fo_g = 0.197 / (998 * 2300) * 5 * 3600 / (0.0462 * 0.0462);
    const auto at = [&](double s) {
        return 297.1 - (297.1 - 277.6) * soak(Body::slab, bi_g, fo_g, s);
    };
    CHECK_THAT(at(1), WithinAbs(292.389, 1e-3));
    CHECK_THAT(at(0.45), WithinAbs(288.312, 1e-3));
    CHECK_THAT(at(0), WithinAbs(287.169, 1e-3));
    // Geankoplis, Ex. 5.3-3: can of 68.1 mm, almost fixed wall: centre 106.077 degC (chart 104.4).
    const double r = 0.0681 / 2;
    const double y = soak(Body::cylinder, 4540 * r / 0.83, 2.007e-7 * 2700 / (r * r), 0);
    CHECK_THAT(y, WithinAbs(0.110474, 1e-6));
    CHECK_THAT(115.6 - (115.6 - 29.4) * y, WithinAbs(106.077, 1e-3));
}

TEST_CASE("early soak of a slab is that of a half space", "[soak][limit]") {
    // Wall held: 1 - erfc terms; at Fo 0.01 the middle has felt nothing, 0.2 of R under the wall
    // Y = erf(0.2/(2 sqrt(Fo))) (incropera2007, 5.57).
    CHECK_THAT(soak(Body::slab, infinite, 0.01, 0.8), WithinRel(std::erf(0.2 / 0.2), 1e-6));
    CHECK_THAT(soak(Body::slab, infinite, 0.01, 0), WithinAbs(1, 1e-10));
    CHECK_THAT(soak(Body::cylinder, infinite, 1e-4, 0), WithinAbs(1, 1e-10));
    CHECK(soak(Body::cylinder, 3, 0, 0.3) == 1.0);
}

TEST_CASE("soaking goes on and the mean lies between middle and wall", "[soak][identity]") {
    for (const Body body : {Body::slab, Body::cylinder}) {
        for (const double bi : {0.05, 2.0, 300.0, infinite}) {
            double last = 1.0;
            for (const double fo : {1e-3, 0.02, 0.2, 1.0}) {
                const double middle = soak(body, bi, fo, 0);
                const double mean = soak_mean(body, bi, fo);
                CHECK(middle <= last + 1e-12);
                CHECK(mean <= middle + 1e-12);
                CHECK(soak(body, bi, fo, 1) <= mean + 1e-12);
                last = middle;
            }
            const double fo = soak_fourier(body, bi, 0.1);
            CHECK_THAT(soak(body, bi, fo, 0), WithinRel(0.1, 1e-10));
        }
    }
}

TEST_CASE("a well stirred body is left when the wall resists", "[soak][limit]") {
    // Bi -> 0: Y = exp(-Bi Fo (surface/volume R)), 1 for the slab, 2 for the cylinder.
    CHECK_THAT(soak(Body::slab, 1e-4, 1e4, 0), WithinRel(std::exp(-1.0), 1e-3));
    CHECK_THAT(soak(Body::cylinder, 1e-4, 5e3, 0), WithinRel(std::exp(-1.0), 1e-3));
}

TEST_CASE("temperature at which a liquid is a tenth thicker", "[soak][reference]") {
    // Arrhenius, evaluated: 10 Pa s at 25 degC, 60 kJ/mol: 3.136845 at 40 degC, 36.045735 at 10.
    const Rheology liquid{.consistency = 10, .activation_energy = 60e3};
    CHECK_THAT(temperature_for_viscosity(liquid, celsius(25), 0.3136845),
               WithinAbs(celsius(40), 1e-5));
    CHECK_THAT(temperature_for_viscosity(liquid, celsius(25), 3.6045735),
               WithinAbs(celsius(10), 1e-5));
    // A power law's consistency goes with a_T^n.
    Rheology thinning = liquid;
    thinning.index = 0.6;
    const double t = temperature_for_viscosity(thinning, celsius(60), 1.1);
    CHECK_THAT(at_temperature(thinning, t).consistency,
               WithinRel(1.1 * at_temperature(thinning, celsius(60)).consistency, 1e-12));
}

TEST_CASE("every law of temperature is solved for the temperature", "[soak][round trip]") {
    const ViscosityTable table{.temperature = {celsius(25), celsius(40), celsius(60)},
                               .viscosity = {90, 25, 6}};
    for (const Rheology& liquid :
         {Rheology{.consistency = 90, .index = 0.8, .activation_energy = 60e3},
          Rheology{.consistency = 90, .index = 0.8, .vogel = Vogel{.slope = 900, .pole = 200}},
          Rheology{.consistency = 90, .index = 0.8, .table = table}}) {
        for (const double factor : {0.05, 0.5, 1.0, 3.0}) {
            const double t = temperature_for_viscosity(liquid, celsius(30), factor);
            CAPTURE(factor, t);
            // Bracketed to 1e-14 of 1/T; ln k moves 25 times as fast.
            CHECK_THAT(at_temperature(liquid, t).consistency,
                       WithinRel(factor * at_temperature(liquid, celsius(30)).consistency, 1e-12));
        }
    }
}

TEST_CASE("heat rates by hand", "[soak][reference]") {
    // 10 mL/s of 1600 kg/m^3 and 1200 J/(kg K) by 35 K: 672 W.
    CHECK_THAT(heat_rate(10e-6, 1600, 1200, 35), WithinRel(672, 1e-12));
    // 1 m of 20 x 40 mm insulation of 0.04 W/(m K), film 10 W/(m^2 K), 40 K:
    // ln(2)/(2 pi 0.04) + 1/(pi 0.04 10) = 2.757946 + 0.795775 m K/W, 11.256 W.
    CHECK_THAT(line_loss(1, 0.02, 0.04, 0.04, 10, 40), WithinRel(40 / (2.757946 + 0.795775), 1e-6));
}

TEST_CASE("heat refuses what cannot be", "[soak][refusal]") {
    const auto refused = [](auto call) { return demo::refusal(call); };
    CHECK(demo::mentions(refused([] { (void)soak_root(Body::slab, 0, 1); }), "biot"));
    CHECK(demo::mentions(refused([] { (void)soak(Body::slab, 1, 1e-6, 0); }), "fourier"));
    CHECK(demo::mentions(refused([] { (void)soak(Body::slab, 1, 1, 2); }), "position"));
    CHECK(demo::mentions(refused([] { (void)soak_fourier(Body::cylinder, 1, 1); }), "left"));
    CHECK(demo::mentions(
        refused([] { (void)temperature_for_viscosity({.consistency = 1}, 300, 1.1); }),
        "activation_energy"));
}
