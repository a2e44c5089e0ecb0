#include "evenfront/stiffness.hpp"

#include <numbers>

#include "evenfront/network.hpp"
#include "evenfront/transient.hpp"
#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::bar;
using demo::mL;
using std::numbers::pi;

TEST_CASE("thick elastic wall", "[stiffness][reference]") {
    // Lame, 1/beta_c = (2/E)[(Do^2+Di^2)/(Do^2-Di^2) + nu], evaluated: 50 MPa, 0.48, 12 x 18 mm:
    // 8.11688 MPa; steel 200 GPa, 0.3, 10 x 12 mm: 17.1073 GPa (thin-wall form: 20.0).
    CHECK_THAT(wall_modulus(0.012, elastic_wall_expansion(50e6, 0.48, 0.012, 0.018)),
               WithinRel(8.11688e6, 1e-6));
    CHECK_THAT(wall_modulus(0.010, elastic_wall_expansion(200e9, 0.3, 0.010, 0.012)),
               WithinRel(17.1073e9, 3e-6));
}

TEST_CASE("thin elastic wall and water hammer", "[stiffness][reference]") {
    // Subramanya, 1000 Solved Problems in Fluid Mechanics, Ex. 14.12 and 14.14 (open
    // transcription): 1/K_e = 1/K + D/(E e); celerities 980.37 and 906.26 m/s (evaluated). With x =
    // e/D the thick wall is softer than the thin one by exactly (1 + 2x + 2x^2)/(1 + x), Poisson's
    // ratio 0.
    struct Row {
        double K, rho, D, e, E, celerity;
    };
    for (const Row& row : {Row{1.43e9, 798.4, 2.5, 0.020, 207e9, 980.37},
                           Row{2.0e9, 998, 0.9, 0.0125, 100e9, 906.26}}) {
        const double x = row.e / row.D;
        const double thick =
            wall_modulus(row.D, elastic_wall_expansion(row.E, 0.0, row.D, row.D + 2 * row.e));
        const double thin = thick * (1 + 2 * x + 2 * x * x) / (1 + x);
        CHECK_THAT(std::sqrt(1 / (1 / row.K + 1 / thin) / row.rho), WithinAbs(row.celerity, 5e-3));
    }
}

TEST_CASE("hose expansion figure to modulus", "[stiffness][reference]") {
    // 49 CFR 571.106 Table I: 0.66 and 0.33 cm^3/ft at 1000 psi, 1/8 in bore (limits, from memory);
    // evaluated: 3.1406e-13 m^3/(Pa m), modulus 25.21 and 50.42 MPa.
    const double per_pressure = 0.66e-6 / 0.3048 / 6894.757e3;
    CHECK_THAT(per_pressure, WithinRel(3.1406e-13, 1e-4));
    CHECK_THAT(wall_modulus(0.125 * 0.0254, per_pressure), WithinRel(25.21e6, 3e-4));
    CHECK_THAT(wall_modulus(0.125 * 0.0254, per_pressure / 2), WithinRel(50.42e6, 3e-4));
}

TEST_CASE("a stall by hand: straight walls, curved gas", "[stiffness][identity]") {
    const Liquid stiff{.density = 1000, .bulk_modulus = 1e18};
    // 0.02 mL/bar of walls and a pocket of 1 mL halved at one atmosphere.
    CHECK_THAT(stall_volume(stiff, standard_pressure, 1e-3, 0.02 * mL / bar, 1 * mL),
               WithinRel(0.02 * mL * 1.01325 + 0.5 * mL, 1e-3));
    CHECK(stall_volume(stiff, 0, 1e-3, 1e-12, 1e-6) == 0);
}

TEST_CASE("a stall equals the mass the compressed network holds", "[stiffness][identity]") {
    // The network books mass node by node; the piston's sweep must account for all of it.
    Machine machine = demo::long_boom();
    Stream& stream = machine.resin;
    stream.liquid.thermal_expansion = 0.0;
    stream.cylinder.pocket = 0.5 * mL;
    const Chain chain(stream, machine.shaft.stroke);
    const double line = pi / 4 * 0.016 * 0.016 * 6;
    const double x0 = 0.06;
    const double volume = area(stream.cylinder) * (machine.shaft.stroke - x0) + line;
    const double p = 37 * bar;
    const auto held = [&](double pressure, double x) {
        double mass = 0;
        for (Eigen::Index i = 0; i < chain.nodes(); ++i) {
            mass += chain.mass(i, pressure, x);
        }
        return mass;
    };
    // At p = 0 the pocket takes the place of liquid.
    const double swept =
        stall_volume(stream.liquid, p, volume - 0.5 * mL, 0.035 * mL / bar * 6, 0.5 * mL);
    CHECK_THAT(held(p, x0 + swept / area(stream.cylinder)), WithinRel(held(0, x0), 1e-12));
}

TEST_CASE("liquid shut in and warmed", "[stiffness][reference]") {
    // Water at constant volume, IAPWS-95: dp/dT = alpha_v K_T = 2.5694e-4 x 2.21013 GPa = 5.6787
    // bar/K at 298.15 K and 1 atm (alpha_v evaluated with iapws, from memory 2.57e-4).
    const Liquid water{
        .density = 997.05, .bulk_modulus = 2.21013e9, .thermal_expansion = 2.5694e-4};
    // Over 10 K with constant properties: half of alpha dT more, the least free gas of 1e-6 less.
    CHECK_THAT(blocked_in_pressure(water, 298.15, 308.15, 0.0), WithinRel(56.787 * bar, 2e-3));
    // Common practice, no source: 1 to 2 bar/K in braided hose, more in steel.
    const Liquid resin{.density = 1620, .bulk_modulus = 2.5e9, .thermal_expansion = 4e-4};
    const double bore = pi / 4 * 0.0127 * 0.0127;
    const double hose = blocked_in_pressure(resin, 298.15, 308.15, 0.025e-11 / bore) / 10;
    const double steel = blocked_in_pressure(resin, 298.15, 308.15, 0.0) / 10;
    CHECK(hose > 1 * bar);
    CHECK(hose < 2 * bar);
    CHECK_THAT(steel, WithinRel(4e-4 * 2.5e9, 0.01));
    CHECK(blocked_in_pressure(resin, 298.15, 298.15, 0.0) == 0);
}

TEST_CASE("the liquid shut in keeps its mass", "[stiffness][identity]") {
    const Liquid resin{
        .density = 1620, .bulk_modulus = 2.5e9, .thermal_expansion = 4e-4, .free_gas = 0.005};
    const double p = blocked_in_pressure(resin, 290, 330, 2e-9);
    CHECK_THAT(density(resin, p, 330) * (1 + 2e-9 * p), WithinRel(density(resin, 0, 290), 1e-12));
}

TEST_CASE("ratio error of a leak", "[stiffness][reference]") {
    // Definition: 0.06 mL/min/bar at 50 bar out of 1.2 mL/s: 0.05/1.2 = 4.1667 %.
    const double g = 0.06 * mL / 60 / bar;
    CHECK_THAT(hardener_leak_error(g, 50 * bar, 1.2 * mL), WithinRel(-0.05 / 1.2, 1e-12));
    CHECK_THAT(resin_leak_error(g, 50 * bar, 1.2 * mL), WithinRel(1.2 / 1.15 - 1, 1e-12));
    const double p = pressure_for_leak(g, 1.2 * mL, 0.01);
    CHECK_THAT(hardener_leak_error(g, p, 1.2 * mL), WithinRel(-0.01, 1e-12));
}

TEST_CASE("stiffness refuses what cannot be", "[stiffness][refusal]") {
    const auto refused = [](auto call) { return demo::refusal(call); };
    CHECK(demo::mentions(refused([] { (void)elastic_wall_expansion(1e9, 0.3, 0.01, 0.01); }),
                         "outside"));
    CHECK(demo::mentions(refused([] { (void)hardener_leak_error(1, 1, 1); }), "below 1"));
    CHECK(demo::mentions(refused([] {
                             (void)blocked_in_pressure(
                                 {.density = 1, .bulk_modulus = 1e9}, 300, 290, 0);
                         }),
                         "end = 290 K"));
}
