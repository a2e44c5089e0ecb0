#include "evenfront/material.hpp"

#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::Random;

namespace {

// Gas fraction at p0 of a liquid that holds the fraction `alpha` at `pressure` (gauge).
double free_gas_at_p0(Liquid liquid, double alpha, double pressure) {
    const double liquid_volume = std::exp(-pressure / liquid.bulk_modulus);
    return alpha * liquid_volume /
           (gas_expansion(liquid, pressure) * (1.0 - alpha) + alpha * liquid_volume);
}

// Share of the volume that gas takes at a pressure.
double void_fraction(const Liquid& liquid, double pressure) {
    return liquid.free_gas * gas_expansion(liquid, pressure) / volume_factor(liquid, pressure);
}

}  // namespace

TEST_CASE("density at zero pressure is the gas-free density less the gas", "[material]") {
    const Liquid resin{
        .density = 1750, .bulk_modulus = 2.5e9, .thermal_expansion = 4e-4, .free_gas = 0.015};
    // Closed form: rho_ref (1 - beta dT)(1 - a0). Rounding only.
    CHECK_THAT(thermal_density(resin, 323.15), WithinRel(1750 * (1 - 4e-4 * 25), 1e-14));
    CHECK_THAT(density(resin, 0.0, 323.15), WithinRel(1750 * 0.99 * 0.985, 1e-14));
    CHECK(volume_factor(resin, 0.0) == 1.0);
}

TEST_CASE("a stiff liquid without gas keeps its density", "[material][limit]") {
    const Liquid liquid{.density = 1000, .bulk_modulus = 1e18};
    for (const double p : {-5e4, 1e5, 1e7, 1e8}) {
        // What is left is the volume of the least gas, a0 p0/(p0 + p) (Boyle).
        const double gas = least_free_gas * standard_pressure / (standard_pressure + p);
        CHECK_THAT(density(liquid, p, 298.15), WithinRel(1000.0, 1.01 * gas));
    }
    // Gas -> 0 leaves the exponential liquid: rho = rho_ref exp(p/K).
    const Liquid soft{.density = 1000, .bulk_modulus = 1.5e9};
    CHECK_THAT(density(soft, 1e8, 298.15), WithinRel(1000 * std::exp(1.0 / 15.0), 1e-6));
}

TEST_CASE("K -> infinity leaves the gas alone to give way", "[material][limit]") {
    const Liquid liquid{.density = 1000, .bulk_modulus = 1e18, .free_gas = 0.02};
    const double p = 4 * standard_pressure;  // five times p0 absolute: gas at a fifth (Boyle)
    CHECK_THAT(volume_factor(liquid, p), WithinRel(0.98 + 0.02 / 5, 1e-12));
    CHECK_THAT(compressibility(liquid, p),
               WithinRel(0.02 / 5 / (5 * standard_pressure) / 0.984, 1e-8));
}

TEST_CASE("compressibility is the slope of the logarithm of density", "[material][derivative]") {
    Random random(1);
    for (int i = 0; i < 200; ++i) {
        const Liquid liquid{.density = 1200,
                            .bulk_modulus = random.decades(5e8, 5e9),
                            .free_gas = random.decades(1e-6, 0.1),
                            .gas_exponent = random.uniform(1.0, 1.4)};
        const double p = random.uniform(-0.8e5, 2e7);
        // Step against the curvature of the gas, 1/(p0 + p); error h^2/3 and rounding eps/(h c).
        const double h = 1e-3 * (standard_pressure + p);
        const double slope =
            std::log(density(liquid, p + h, 298.15) / density(liquid, p - h, 298.15)) / (2 * h);
        CAPTURE(liquid.bulk_modulus, liquid.free_gas, liquid.gas_exponent, p);
        CHECK_THAT(compressibility(liquid, p), WithinRel(slope, 1e-5));
    }
}

TEST_CASE("tangent modulus of liquid with gas taken at one atmosphere", "[material][reference]") {
    // Definition K = (V_l + V_g)/(V_l/K_l + V_g/(n p)), 1 % gas at 101325 Pa abs, K_l 1.5 GPa;
    // evaluated from it independently, printed to six digits: tolerance half the last one.
    struct Row {
        double p_abs, n, modulus_MPa, half_digit;
    };
    for (const Row& row : {Row{1e6, 1.0, 592.054, 5e-4},
                           Row{1e6, 1.4, 483.187, 5e-4},
                           Row{5e6, 1.0, 1413.24, 5e-3},
                           Row{5e6, 1.4, 1323.51, 5e-3},
                           Row{10e6, 1.0, 1477.32, 5e-3},
                           Row{10e6, 1.4, 1441.48, 5e-3}}) {
        const Liquid liquid{
            .density = 1000, .bulk_modulus = 1.5e9, .free_gas = 0.01, .gas_exponent = row.n};
        CAPTURE(row.p_abs, row.n);
        CHECK_THAT(1e-6 / compressibility(liquid, row.p_abs - standard_pressure),
                   WithinAbs(row.modulus_MPa, row.half_digit));
    }
}

TEST_CASE("modulus of liquid and gas in series with the gas taken at pressure",
          "[material][reference]") {
    // Merritt, Hydraulic Control Systems (1967), ch. 2 (from memory): 1/K_e = 1/K_l + alpha/(n p),
    // with all the volume counted as liquid, so that ours is less compressible by alpha/K_l.
    struct Row {
        double p_abs, alpha, n, modulus_MPa, tolerance;
    };
    for (const Row& row : {Row{1e6, 0.01, 1.0, 93.75, 1e-7},
                           Row{1e6, 0.01, 1.4, 128.049, 5e-4},
                           Row{5e6, 0.002, 1.0, 937.5, 1e-6},
                           Row{5e6, 0.002, 1.4, 1050, 1e-6}}) {
        Liquid liquid{.density = 1000, .bulk_modulus = 1.5e9, .gas_exponent = row.n};
        const double p = row.p_abs - standard_pressure;
        liquid.free_gas = free_gas_at_p0(liquid, row.alpha, p);
        CAPTURE(row.p_abs, row.alpha, row.n);
        CHECK_THAT(void_fraction(liquid, p), WithinRel(row.alpha, 1e-12));
        const double merritt = compressibility(liquid, p) + row.alpha / liquid.bulk_modulus;
        CHECK_THAT(1e-6 / merritt, WithinAbs(row.modulus_MPa, row.tolerance));
    }
}

TEST_CASE("sound speed in a bubbly liquid follows from density and compressibility",
          "[material][reference]") {
    // Wood, A Textbook of Sound (1930) (from memory), evaluated: water 998.2 kg/m^3, 1482 m/s; air
    // 1.204 kg/m^3, 343.2 m/s adiabatic, or isothermal; at 101325 Pa. The mass of the gas, which
    // density() leaves out, is added here.
    struct Row {
        double alpha, adiabatic, isothermal;
    };
    const double rho_l = 998.2;
    const double rho_g = 1.204;
    const double n = rho_g * 343.2 * 343.2 / standard_pressure;  // 1.3996
    for (const Row& row :
         {Row{0.01, 119.411, 101.027}, Row{0.1, 39.717, 33.574}, Row{0.5, 23.824, 20.138}}) {
        const auto speed = [&](double exponent) {
            const Liquid liquid{.density = rho_l,
                                .bulk_modulus = rho_l * 1482 * 1482,
                                .free_gas = row.alpha,
                                .gas_exponent = exponent};
            const double rho = density(liquid, 0.0, 298.15) + row.alpha * rho_g;
            return 1.0 / std::sqrt(rho * compressibility(liquid, 0.0));
        };
        CAPTURE(row.alpha);
        CHECK_THAT(speed(n), WithinAbs(row.adiabatic, 5e-4));     // last printed digit
        CHECK_THAT(speed(1.0), WithinAbs(row.isothermal, 5e-4));  // last printed digit
    }
}

TEST_CASE("density rises with pressure from near vacuum on", "[material][monotone]") {
    const Liquid liquid{.density = 1000, .bulk_modulus = 2e9, .free_gas = 0.02};
    double last = 0.0;
    for (double p_abs = 10.0; p_abs < 1e8; p_abs *= 1.3) {
        const double rho = density(liquid, p_abs - standard_pressure, 298.15);
        CHECK(rho > last);
        last = rho;
    }
}

TEST_CASE("a liquid that cannot be is refused by the name of its field", "[material][refusal]") {
    const Liquid good{.density = 1000, .bulk_modulus = 2e9};
    const double nan = std::nan("");
    struct Row {
        const char* name;
        double Liquid::*field;
        double value;
    };
    CHECK(demo::refusal([&] { validate(good); }).empty());
    for (const Row& row : {Row{"density", &Liquid::density, 0.0},
                           Row{"density", &Liquid::density, nan},
                           Row{"bulk_modulus", &Liquid::bulk_modulus, -1.0},
                           Row{"reference_temperature", &Liquid::reference_temperature, 0.0},
                           Row{"thermal_expansion", &Liquid::thermal_expansion, -1e-4},
                           Row{"free_gas", &Liquid::free_gas, 0.0},
                           Row{"free_gas", &Liquid::free_gas, 1.0},
                           Row{"gas_exponent", &Liquid::gas_exponent, 0.5}}) {
        Liquid bad = good;
        bad.*row.field = row.value;
        const std::string text = demo::refusal([&] { validate(bad); });
        CAPTURE(text, row.name, row.value);
        CHECK(demo::mentions(text, row.name));
        CHECK(demo::mentions(text, "must be"));
    }
    CHECK(demo::mentions(demo::refusal([&] { (void)density(good, -1.1e5, 298.15); }), "pressure"));
    CHECK(demo::mentions(demo::refusal([&] { (void)compressibility(good, nan); }), "pressure"));
    const Liquid swells{.density = 1000, .bulk_modulus = 2e9, .thermal_expansion = 5e-3};
    CHECK(demo::mentions(demo::refusal([&] { (void)thermal_density(swells, 600.0); }),
                         "temperature"));
}
