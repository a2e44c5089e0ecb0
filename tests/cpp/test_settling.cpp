#include "evenfront/settling.hpp"

#include <cmath>

#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;

TEST_CASE("filler in resin sinks by Stokes' law", "[settling][reference]") {
    // 50 um, 2650 against 1150 kg/m^3, 5 Pa s: 4.086104e-7 m/s (35.304 mm/day) evaluated.
    const double v = stokes_velocity(50e-6, 1500, 5);
    CHECK_THAT(v, WithinRel(4.086104e-7, 1e-6));
    CHECK_THAT(v * 86400e3, WithinAbs(35.304, 5e-4));
    // fluids, tests of its Stokes branch: 70 um in 0.1 Pa s, 70 nm in 1 mPa s.
    CHECK_THAT(stokes_velocity(70e-6, 1600, 0.1), WithinRel(4.271341e-5, 1e-6));
    CHECK_THAT(stokes_velocity(70e-9, 1600, 1e-3), WithinRel(4.271341e-9, 1e-6));
    // Geankoplis, Ex. 14.3-1: 20 um in air, g 9.81: 0.0103 m/s, evaluated 0.0103133.
    CHECK_THAT(stokes_velocity(20e-6, 900 - 1.137, 1.9e-5, 9.81), WithinAbs(0.0103133, 5e-8));
}

TEST_CASE("hindered settling of a textbook slurry", "[settling][reference]") {
    // Geankoplis, Ex. 14.3-2: 155.4 um glass, 60 % by weight in water: liquid share 0.622351,
    // factor 10^(-1.82 phi) 0.205437, v 1.53028e-3 m/s (1.53e-3 printed), g 9.807. The factor of
    // the mixture's density is (1 - phi), that of the volume displaced another (1 - phi).
    const double phi = filler_fraction(0.60, 2467, 998);
    CHECK_THAT(1 - phi, WithinAbs(0.622351, 5e-7));
    const double stokes = stokes_velocity(155.4e-6, 2467 - 998, 1.005e-3, 9.807);
    CHECK_THAT(stokes * hindered_by_viscosity(phi), WithinRel(1.53028e-3, 1e-5));
    CHECK_THAT(stokes * hindered_settling(phi), WithinRel(2.120e-3, 5e-4));
}

TEST_CASE("hindered settling by Richardson and Zaki", "[settling][reference]") {
    // Evaluated: 0.7^4.65 and 0.9^4.65. Coulson & Richardson vol. 2, Ex. 5.3: 100 um, n 4.8,
    // largest flux of solids 6.06167e-4 m/s at 0.172414 by volume, g 9.81.
    CHECK_THAT(hindered_settling(0.3), WithinAbs(0.190417, 5e-7));
    CHECK_THAT(hindered_settling(0.1), WithinAbs(0.612671, 5e-7));
    const double u0 = stokes_velocity(100e-6, 1600, 1e-3, 9.81);
    CHECK_THAT(u0, WithinRel(8.720e-3, 1e-6));
    const auto flux = [&](double c) { return u0 * c * hindered_settling(c, 4.8); };
    CHECK_THAT(flux(1 / 5.8), WithinRel(6.06167e-4, 1e-6));
    CHECK(flux(1 / 5.8 - 0.01) < flux(1 / 5.8));
    CHECK(flux(1 / 5.8 + 0.01) < flux(1 / 5.8));
}

TEST_CASE("a steel ball past creeping flow", "[settling][reference]") {
    // Coulson & Richardson vol. 2, Ex. 3.1: 0.4 mm steel in oil of 820 kg/m^3 and 10 mPa s: 51 mm/s
    // printed; Schiller-Naumann evaluated 50.693 mm/s at Re 1.6627; Stokes 61.5.
    const double v = terminal_velocity(0.4e-3, 7870 - 820, 10e-3, 820, 9.81);
    CHECK_THAT(v, WithinAbs(50.693e-3, 5e-7));
    CHECK_THAT(820 * v * 0.4e-3 / 10e-3, WithinAbs(1.6627, 5e-5));
    CHECK_THAT(stokes_velocity(0.4e-3, 7050, 10e-3, 9.81), WithinAbs(61.5e-3, 5e-5));
}

TEST_CASE("terminal velocity carries the drag of Schiller and Naumann", "[settling][reference]") {
    // Evaluated: C_D 27.6, 4.151066, 1.091731 at Re 1, 10, 100. The force balance of the sphere,
    // C_D = 4/3 g d drho/(rho v^2), gives each back.
    struct Row {
        double reynolds, drag;
    };
    for (const Row& row : {Row{1, 27.6}, Row{10, 4.151066}, Row{100, 1.091731}}) {
        const double mu = 1e-3;
        const double rho = 1000;
        const double d = 1e-3;
        const double v = row.reynolds * mu / (rho * d);
        const double drho = 0.75 * row.drag * rho * v * v / (9.81 * d);
        CHECK_THAT(terminal_velocity(d, drho, mu, rho, 9.81), WithinRel(v, 1e-6));
    }
}

TEST_CASE("slow particles of either sign follow Stokes", "[settling][limit]") {
    CHECK_THAT(terminal_velocity(50e-6, 1500, 5, 1150),
               WithinRel(stokes_velocity(50e-6, 1500, 5), 1e-6));
    CHECK_THAT(terminal_velocity(1e-3, -1600, 10, 1600),
               WithinRel(-terminal_velocity(1e-3, 1600, 10, 1600), 1e-15));
    CHECK(terminal_velocity(1e-3, 0, 10, 1600) == 0);
}

TEST_CASE("viscosity of a filled liquid", "[settling][reference]") {
    // Evaluated from krieger1959, packing 0.64, intrinsic 2.5: 4.80341 at 0.4, 11.3784 at 0.5;
    // with the exponent 2 of Maron and Pierce (intrinsic 2/packing) 7.11111 and 20.8980.
    CHECK_THAT(filled_viscosity(0.4), WithinRel(4.80341, 1e-6));
    CHECK_THAT(filled_viscosity(0.5), WithinAbs(11.3784, 5e-5));
    CHECK_THAT(filled_viscosity(0.4, 0.64, 2 / 0.64), WithinRel(7.11111, 1e-6));
    CHECK_THAT(filled_viscosity(0.5, 0.64, 2 / 0.64), WithinRel(20.8980, 2e-6));
    // Einstein's limit, 1 + 2.5 phi.
    CHECK_THAT((filled_viscosity(1e-6) - 1) / 1e-6, WithinRel(2.5, 1e-5));
}

TEST_CASE("a yield stress holds the filler up", "[settling][reference]") {
    // 0.143 = 3 tau_y/(drho g d), Beris et al. (1985), from memory: 100 um, drho 1500 needs 0.0701
    // Pa.
    CHECK_THAT(holding_yield_stress(100e-6, 1500), WithinRel(0.143 / 3 * 1500 * 9.80665e-4, 1e-14));
}

TEST_CASE("idle until a share has cleared", "[settling][reference]") {
    // The filler above sinks 35.304 mm a day; 1 % of a 400 mm tank clears in 4/35.304 day.
    CHECK_THAT(idle_time(4.086104e-7, 0.4, 0.01), WithinRel(86400 * 4 / 35.304, 1e-5));
}

TEST_CASE("settling refuses what cannot be", "[settling][refusal]") {
    const auto refused = [](auto call) { return demo::refusal(call); };
    CHECK(demo::mentions(refused([] { (void)stokes_velocity(0, 1, 1); }), "diameter"));
    CHECK(demo::mentions(refused([] { (void)terminal_velocity(0.1, 7000, 1e-3, 1000); }),
                         "below 1000"));
    CHECK(demo::mentions(refused([] { (void)filled_viscosity(0.7); }), "below the packing"));
    CHECK(demo::mentions(refused([] { (void)hindered_settling(1.2); }), "fraction"));
    CHECK(demo::mentions(refused([] { (void)idle_time(0, 1, 0.1); }), "velocity"));
}
