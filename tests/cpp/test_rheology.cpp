#include "evenfront/rheology.hpp"

#include <boost/math/quadrature/tanh_sinh.hpp>
#include <functional>
#include <limits>
#include <numbers>
#include <vector>

#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::mL;
using demo::Random;
using std::numbers::pi;

namespace {

double round_area(double bore) {
    return pi / 4 * bore * bore;
}

ShearLaw cross(double plateau, double time_constant, double exponent, double ratio = 0.0) {
    return {.consistency = plateau, .cross = Cross{time_constant, exponent, ratio}};
}

// The family every identity below is held to.
std::vector<ShearLaw> laws() {
    return {{.consistency = 0.18},
            {.consistency = 20.0},
            {.consistency = 15.0, .yield_stress = 40.0},
            {.consistency = 200.0, .index = 0.5},
            {.consistency = 30.0, .index = 0.1},
            {.consistency = 60.0, .index = 0.6, .yield_stress = 100.0},
            {.consistency = 36.7, .index = 0.85, .yield_stress = 1e-3},
            {.consistency = 5.0, .index = 0.95, .yield_stress = 500.0},
            cross(40.0, 0.5, 0.7),
            cross(900.0, 2.0, 0.85, 1e-3),
            cross(0.5, 1e-3, 1.0, 0.3),
            cross(20.0, 0.1, 0.15, 0.05)};
}

// Integral of stress^power x shear rate from the yield stress to the wall, over the stress beyond
// yield.
double stress_integral(const ShearLaw& law, double wall, int power) {
    boost::math::quadrature::tanh_sinh<double> quadrature;
    if (law.cross) {
        // By parts, over the shear rate that bisection finds at the wall.
        const auto stress = [&](double s) { return s > 0 ? s * apparent_viscosity(law, s) : 0.0; };
        double low = 0.0;
        double high = 1.0;
        while (stress(high) < wall) {
            high *= 2.0;
        }
        for (int i = 0; i < 200; ++i) {
            const double middle = 0.5 * (low + high);
            (stress(middle) < wall ? low : high) = middle;
        }
        const int p = power + 1;
        const double below =
            quadrature.integrate([&](double s) { return std::pow(stress(s), p); }, 0.0, high);
        return (std::pow(wall, p) * high - below) / p;
    }
    return quadrature.integrate(
        [&](double beyond) {
            const double shear_rate = std::pow(beyond / law.consistency, 1.0 / law.index);
            return std::pow(law.yield_stress + beyond, power) * shear_rate;
        },
        0.0,
        wall - law.yield_stress);
}

// A duct by either name, so that identities are written once.
struct Duct {
    const char* name;
    std::function<Flow(double)> flow;
    std::function<double(double)> pressure;
    double yield_pressure;
};

constexpr double bore = 0.012;
constexpr double width = 0.01;
constexpr double gap = 2e-4;
constexpr double length = 2.0;

std::vector<Duct> ducts(const ShearLaw& law) {
    const PipeFlow pipe(law, bore, length);
    const SlitFlow slit(law, width, gap, length);
    return {{"pipe",
             [pipe](double dp) { return pipe(dp); },
             [pipe](double q) { return pipe.pressure(q); },
             pipe.yield_pressure()},
            {"slit",
             [slit](double dp) { return slit(dp); },
             [slit](double q) { return slit.pressure(q); },
             slit.yield_pressure()}};
}

}  // namespace

TEST_CASE("Newtonian pipe against Geankoplis, Examples 2.10-1 and 2.10-2",
          "[rheology][reference]") {
    // D 2.22 mm, L 0.317 m, 875 kg/m^3, 1.13 mPa s; evaluated digits, tolerance half the last.
    const ShearLaw law{.consistency = 1.13e-3};
    const PipeFlow pipe(law, 2.22e-3, 0.317);
    const double dp = 0.0655 * 996 * 9.80665;
    CHECK_THAT(dp, WithinAbs(639.77, 0.005));
    const double q = pipe(dp).q;
    CHECK_THAT(q, WithinAbs(1.06472e-6, 5e-12));
    const double u = q / round_area(2.22e-3);
    CHECK_THAT(u, WithinAbs(0.27507, 5e-6));
    CHECK_THAT(reynolds_number(law, 875, u, 2.22e-3), WithinAbs(472.85, 0.005));
    // Back from u = 0.275 m/s: f = 16/Re = 0.033846, dp 639.61 Pa; book 640 Pa and 0.0338.
    CHECK_THAT(16 / reynolds_number(law, 875, 0.275, 2.22e-3), WithinAbs(0.033846, 5e-7));
    CHECK_THAT(pipe.pressure(0.275 * round_area(2.22e-3)), WithinAbs(639.61, 0.005));
}

TEST_CASE("Newtonian pipe at resin scale", "[rheology][reference]") {
    // Hagen-Poiseuille evaluated: D 12 mm, L 3 m, 20 Pa s, 10 mL/s: 1.1789255 MPa.
    const PipeFlow pipe({.consistency = 20}, 0.012, 3.0);
    CHECK_THAT(pipe.pressure(10 * mL), WithinAbs(1.1789255e6, 0.05));
}

TEST_CASE("power law in generalised form against Geankoplis, Example 3.5-1",
          "[rheology][reference]") {
    // K' 15.23 Pa s^n, n 0.4: K = K'/((3n+1)/4n)^n. Evaluated 45 391 Pa (book 45.39 kPa),
    // Re_MR 1.1060, Fanning f 14.467.
    const double n = 0.4;
    const double d = 0.0524;
    const double u = 0.0728;
    const ShearLaw law{.consistency = 15.23 / std::pow((3 * n + 1) / (4 * n), n), .index = n};
    const double dp = PipeFlow(law, d, 14.9).pressure(u * round_area(d));
    CHECK_THAT(dp, WithinAbs(45391, 0.5));
    CHECK_THAT(reynolds_number(law, 1041, u, d), WithinAbs(1.1060, 5e-5));
    CHECK_THAT(dp * d / (2 * 14.9 * 1041 * u * u), WithinAbs(14.467, 5e-4));
}

TEST_CASE("power law gradient against de Nevers, Examples 13.1 and 13.3", "[rheology][reference]") {
    const ShearLaw law{.consistency = 0.66, .index = 0.41};
    const double foot = 1 / 3.281;
    const double d = 0.5 * foot;
    // Evaluated 61.242 Pa/m for one metre of pipe at 1 ft/s.
    CHECK_THAT(PipeFlow(law, d, 1.0).pressure(foot * round_area(d)), WithinAbs(61.242, 5e-4));
    // D 0.152 m, u 0.305 m/s, 1000 kg/m^3: Re_MR 318.53, 16/Re 0.050230.
    CHECK_THAT(reynolds_number(law, 1000, 0.305, 0.152), WithinAbs(318.53, 0.005));
    CHECK_THAT(16 / reynolds_number(law, 1000, 0.305, 0.152), WithinAbs(0.050230, 5e-7));
    // f of the book's gradient, 61.3 Pa/m, is 0.050081: within 0.4 %.
    CHECK_THAT(16 / reynolds_number(law, 1000, 0.305, 0.152), WithinRel(0.050081, 4e-3));
}

TEST_CASE("power law from the centre-line velocity against Coulson & Richardson, Example 3.10",
          "[rheology][reference]") {
    // k 10, n 0.2, u_cl 1 m/s, L 200 m, r 20 mm; u_mean/u_cl = (n+1)/(3n+1). Evaluated 625 827 Pa
    // (book 6.26e5).
    const ShearLaw law{.consistency = 10, .index = 0.2};
    const double q = (0.2 + 1) / (3 * 0.2 + 1) * round_area(0.04);
    CHECK_THAT(PipeFlow(law, 0.04, 200).pressure(q), WithinAbs(625827, 0.5));
    // Bingham line through the stresses at 10 and 50 1/s: 14.344 Pa, 0.15046 Pa s.
    const double at_10 = 10 * apparent_viscosity(law, 10);
    const double at_50 = 50 * apparent_viscosity(law, 50);
    CHECK_THAT((at_50 - at_10) / 40, WithinAbs(0.15046, 5e-6));
    CHECK_THAT(at_10 - 10 * (at_50 - at_10) / 40, WithinAbs(14.344, 5e-4));
}

TEST_CASE("power law against Newtonian at one pressure: Coulson & Richardson, Example 3.11",
          "[rheology][reference]") {
    // d 25 mm, L 20 m, 1e5 Pa, both 0.1 Pa s at 1000 1/s, n = 1/3: flow ratio 0.065104.
    const ShearLaw newtonian{.consistency = 0.1};
    const ShearLaw thinning{.consistency = 0.1 * std::pow(1000, 2.0 / 3), .index = 1.0 / 3};
    CHECK_THAT(apparent_viscosity(thinning, 1000), WithinRel(0.1, 1e-13));
    const double q = PipeFlow(thinning, 0.025, 20)(1e5).q;
    CHECK_THAT(q / PipeFlow(newtonian, 0.025, 20)(1e5).q, WithinAbs(0.065104, 5e-7));
    CHECK_THAT(q / round_area(0.025), WithinAbs(0.06358, 5e-6));
}

TEST_CASE("Bingham pipe against Buckingham-Reiner", "[rheology][reference]") {
    // R 6 mm, L 2 m, 15 Pa s, 2 MPa; evaluated and confirmed by the Rabinowitsch integral.
    const auto flow = [](double yield) {
        return PipeFlow({.consistency = 15, .yield_stress = yield}, 0.012, 2.0)(2e6).q;
    };
    CHECK_THAT(flow(40), WithinAbs(3.332602e-5, 5e-12));
    CHECK_THAT(flow(1500), WithinAbs(1.201659e-5, 5e-12));
    const double phi = 0.5;  // 1500 of 3000 Pa at the wall
    const double newton = pi * std::pow(0.006, 4) * 2e6 / (8 * 15 * 2.0);
    CHECK_THAT(flow(1500), WithinRel(newton * (1 - 4 * phi / 3 + std::pow(phi, 4) / 3), 1e-13));
}

TEST_CASE("Herschel-Bulkley pipe and its inverse at resin scale", "[rheology][reference]") {
    // R 6 mm, K 60, n 0.6, yield 100 Pa; evaluated and confirmed by quadrature.
    const ShearLaw law{.consistency = 60, .index = 0.6, .yield_stress = 100};
    CHECK_THAT(PipeFlow(law, 0.012, 2.0)(2e6).q, WithinAbs(9.180657e-5, 5e-12));
    CHECK_THAT(PipeFlow(law, 0.012, 3.0).pressure(10 * mL), WithinAbs(886299, 0.5));
}

TEST_CASE("power law at resin scale", "[rheology][reference]") {
    // K 200, n 0.5, D 12 mm, L 3 m, 10 mL/s, 1500 kg/m^3: 1.716774 MPa, Re_MR 0.054647.
    const ShearLaw law{.consistency = 200, .index = 0.5};
    const double u = 10 * mL / round_area(0.012);
    CHECK_THAT(PipeFlow(law, 0.012, 3.0).pressure(10 * mL), WithinAbs(1.716774e6, 0.5));
    CHECK_THAT(reynolds_number(law, 1500, u, 0.012), WithinAbs(0.054647, 5e-7));
}

TEST_CASE("slit without yield stress is the parallel-plate formula", "[rheology][limit]") {
    // Newtonian: w h^3 dp/(12 eta L); closed form, rounding only.
    const SlitFlow slit({.consistency = 0.18}, width, gap, length);
    CHECK_THAT(slit(1e6).q, WithinRel(width * gap * gap * gap * 1e6 / (12 * 0.18 * length), 1e-14));
    // Power law: w h^2/2 (n/(2n+1)) (tau_w/k)^(1/n) (Chhabra & Richardson, from memory).
    const double n = 0.5;
    const double wall = 1e6 * gap / (2 * length);
    CHECK_THAT(
        SlitFlow({.consistency = 3, .index = n}, width, gap, length)(1e6).q,
        WithinRel(width * gap * gap / 2 * n / (2 * n + 1) * std::pow(wall / 3, 1 / n), 1e-13));
}

TEST_CASE("both ducts equal the integral of the shear rate over the stress",
          "[rheology][quadrature]") {
    // Rabinowitsch: tube pi R^3/tau_w^3 int tau^2 s dtau; slit w h^2/(2 tau_w^2) int tau s dtau.
    // Double-exponential quadrature is good to about 1e-13; just above yield the difference of
    // stresses loses digits. The table of a Cross liquid is good to 1e-7.
    for (const ShearLaw& law : laws()) {
        const PipeFlow pipe(law, bore, length);
        const SlitFlow slit(law, width, gap, length);
        for (const double over : {1.01, 1.5, 10.0, 300.0}) {
            const double wall = over * (law.yield_stress > 0 ? law.yield_stress : 50.0);
            CAPTURE(law.consistency, law.index, law.yield_stress, wall);
            const double near = law.cross ? 1e-7 : 1e-10;
            CHECK_THAT(
                pipe(wall * 4 * length / bore).q,
                WithinRel(pi * std::pow(bore / (2 * wall), 3) * stress_integral(law, wall, 2),
                          near));
            CHECK_THAT(
                slit(wall * 2 * length / gap).q,
                WithinRel(width * gap * gap / (2 * wall * wall) * stress_integral(law, wall, 1),
                          near));
        }
    }
}

TEST_CASE("flow is odd, rising, and its slope is the derivative", "[rheology][identity]") {
    for (const ShearLaw& law : laws()) {
        for (const Duct& duct : ducts(law)) {
            double last = 0.0;
            for (double dp = 1.0; dp < 1e8; dp *= 1.7) {
                CAPTURE(duct.name, law.consistency, law.index, law.yield_stress, dp);
                const Flow flow = duct.flow(dp);
                CHECK(duct.flow(-dp).q == -flow.q);
                CHECK(duct.flow(-dp).slope == flow.slope);
                if (dp <= duct.yield_pressure) {
                    CHECK(flow.q == 0.0);
                    CHECK(flow.slope == 0.0);
                    continue;
                }
                CHECK(flow.q > last);
                last = flow.q;
                // Step against the distance to yield; the error is (1/n)^2 1e-8 and rounding.
                const double h = 1e-4 * (dp - duct.yield_pressure);
                const double slope = (duct.flow(dp + h).q - duct.flow(dp - h).q) / (2 * h);
                const double rounding = 1e-16 * dp / h;
                CHECK_THAT(flow.slope, WithinRel(slope, 1e-6 + 10 * rounding));
            }
            CHECK(duct.flow(0.0).q == 0.0);
        }
    }
}

TEST_CASE("slope at rest is that of the limit dp -> 0", "[rheology][limit]") {
    for (const Duct& duct : ducts({.consistency = 2.0})) {
        CHECK_THAT(duct.flow(0.0).slope, WithinRel(duct.flow(1.0).q, 1e-14));
    }
    for (const Duct& duct : ducts({.consistency = 2.0, .index = 0.5})) {
        CHECK(duct.flow(0.0).slope == 0.0);
    }
}

TEST_CASE("pressure is the inverse of flow over many decades", "[rheology][round trip]") {
    const double eps = std::numeric_limits<double>::epsilon();
    for (const ShearLaw& law : laws()) {
        for (const Duct& duct : ducts(law)) {
            CHECK(duct.pressure(0.0) == 0.0);
            for (double q = 1e-15; q < 1e-1; q *= 10) {
                const double dp = duct.pressure(q);
                const Flow flow = duct.flow(dp);
                CAPTURE(duct.name, law.consistency, law.index, law.yield_stress, q, dp);
                // 1e-12, and what one rounding of dp does to a flow just above yield.
                CHECK_THAT(flow.q, WithinRel(q, 1e-12 + 4 * eps * dp * flow.slope / q));
                CHECK_THAT(duct.pressure(flow.q), WithinRel(dp, 1e-12));
                CHECK(duct.pressure(-q) == -dp);
            }
        }
    }
}

TEST_CASE("a Cross liquid is Newtonian on both plateaus and a power law between",
          "[rheology][limit]") {
    const double r = 1e-4;
    const ShearLaw law = cross(50.0, 0.5, 0.8, r);
    const auto low = ducts({.consistency = 50.0});
    const auto high = ducts({.consistency = 50.0 * r});
    const auto both = ducts(law);
    for (std::size_t i = 0; i < 2; ++i) {
        // Wall stresses of 1e-13 and 1e17 Pa: (lambda s)^m is 1e-12, and 1e12 over r.
        const double slow = both[i].pressure(1e-30);
        CHECK_THAT(both[i].flow(slow).q, WithinRel(low[i].flow(slow).q, 1e-12));
        CHECK_THAT(both[i].flow(slow).slope, WithinRel(low[i].flow(0.0).slope, 1e-12));
        CHECK_THAT(both[i].flow(0.0).slope, WithinRel(low[i].flow(0.0).slope, 1e-15));
        const double fast = 1e23;
        CHECK_THAT(both[i].flow(fast).q, WithinRel(high[i].flow(fast).q, 1e-9));
        CHECK_THAT(both[i].flow(fast).slope, WithinRel(high[i].flow(0.0).slope, 1e-9));
        // Without a lower plateau: tau -> eta_0 lambda^-m s^(1-m), at (lambda s)^m of 1e10.
        const ShearLaw open = cross(50.0, 0.5, 0.7);
        const ShearLaw power{.consistency = 50.0 * std::pow(0.5, -0.7), .index = 0.3};
        const double dp = ducts(power)[i].pressure(1e12);
        CHECK_THAT(ducts(open)[i].flow(dp).q, WithinRel(ducts(power)[i].flow(dp).q, 1e-6));
    }
}

TEST_CASE("temperature shifts the shear rate of a Cross liquid and its viscosity",
          "[rheology][identity]") {
    const Rheology liquid{
        .consistency = 50, .activation_energy = 50e3, .cross = Cross{0.5, 0.8, 0.01}};
    const double t = demo::celsius(60);
    const double a = temperature_factor(liquid, t);
    // eta(s, T) = a_T eta(a_T s) at the reference.
    for (const double s : {0.01, 1.0, 100.0}) {
        CHECK_THAT(apparent_viscosity(at_temperature(liquid, t), s),
                   WithinRel(a * apparent_viscosity(at_temperature(liquid, 298.15), a * s), 1e-13));
    }
}

TEST_CASE("the Reynolds number of a Cross liquid is that of its plateaus and power law",
          "[rheology][limit]") {
    CHECK_THAT(reynolds_number(cross(50.0, 1e-12, 0.8), 1500, 0.1, bore),
               WithinRel(reynolds_number({.consistency = 50.0}, 1500, 0.1, bore), 1e-6));
    const ShearLaw power{.consistency = 50.0 * std::pow(1e9, -0.7), .index = 0.3};
    CHECK_THAT(reynolds_number(cross(50.0, 1e9, 0.7), 1500, 0.1, bore),
               WithinRel(reynolds_number(power, 1500, 0.1, bore), 1e-6));
}

TEST_CASE("yield stress -> 0 and index -> 1 are reached smoothly", "[rheology][limit]") {
    const double dp = 2e5;
    const auto flows = [&](double n, double yield) {
        const auto both = ducts({.consistency = 20, .index = n, .yield_stress = yield});
        return std::array<double, 2>{both[0].flow(dp).q, both[1].flow(dp).q};
    };
    for (std::size_t duct = 0; duct < 2; ++duct) {
        // dQ/Q = O(tau_y/tau_w) (wall stress 300 Pa in the tube, 10 Pa in the slit), and
        // O((1 - n) ln(tau_w/k)).
        CHECK_THAT(flows(0.6, 1e-9)[duct], WithinRel(flows(0.6, 0.0)[duct], 1e-9));
        CHECK_THAT(flows(1.0, 1e-9)[duct], WithinRel(flows(1.0, 0.0)[duct], 1e-9));
        CHECK_THAT(flows(1.0 - 1e-9, 0.0)[duct], WithinRel(flows(1.0, 0.0)[duct], 1e-8));
        CHECK_THAT(flows(1.0 - 1e-9, 3.0)[duct], WithinRel(flows(1.0, 3.0)[duct], 1e-8));
    }
}

TEST_CASE("Arrhenius shift of viscosity with temperature", "[rheology][reference]") {
    // 10 Pa s at 25 degC, 60 kJ/mol: 3.136845 at 40 degC, 36.045735 Pa s at 10 degC (evaluated).
    const Rheology liquid{.consistency = 10, .activation_energy = 60e3};
    CHECK_THAT(at_temperature(liquid, demo::celsius(40)).consistency, WithinAbs(3.136845, 5e-7));
    CHECK_THAT(at_temperature(liquid, demo::celsius(10)).consistency, WithinAbs(36.045735, 5e-7));
    CHECK(temperature_factor(liquid, 298.15) == 1.0);
}

TEST_CASE("the law with two constants and a reference is the Vogel law", "[rheology][reference]") {
    // Universal constants of Williams, Landel and Ferry (1955), 17.44 and 51.6 K (from memory):
    // log10 a_T at 10, 20 and 50 K above the reference, evaluated from their own formula.
    const double t_g = 320.0;
    const Rheology liquid{
        .consistency = 1, .reference_temperature = t_g, .vogel = vogel_from_wlf(17.44, 51.6, t_g)};
    CHECK_THAT(std::log10(temperature_factor(liquid, t_g + 10)), WithinAbs(-2.831169, 5e-7));
    CHECK_THAT(std::log10(temperature_factor(liquid, t_g + 20)), WithinAbs(-4.871508, 5e-7));
    CHECK_THAT(std::log10(temperature_factor(liquid, t_g + 50)), WithinAbs(-8.582677, 5e-7));
    // Another reference of the viscosity changes the scale alone.
    Rheology warm = liquid;
    warm.reference_temperature = t_g + 20;
    CHECK_THAT(temperature_factor(liquid, t_g + 50) / temperature_factor(warm, t_g + 50),
               WithinRel(temperature_factor(liquid, t_g + 20), 1e-12));
}

TEST_CASE("Vogel law of water and olive oil", "[rheology][reference]") {
    // Viswanath and Natarajan (1989), log10 mu = A + B/(C - T): slope -ln(10) B, pole C. Water
    // -1.5318, -220.57, 149.39 K gives 1.00576 mPa s at 293.15 K and 0.89315 at 298.15 K; against
    // IAPWS (1.00160 and 0.89002) within 0.5 %.
    const double ln10 = std::numbers::ln10;
    const Rheology water{.consistency = 1.00576e-3,
                         .reference_temperature = 293.15,
                         .vogel = Vogel{.slope = 220.57 * ln10, .pole = 149.39}};
    // The reference itself is printed to 5e-6.
    CHECK_THAT(at_temperature(water, 298.15).consistency, WithinRel(0.89315e-3, 1e-5));
    CHECK_THAT(at_temperature(water, 298.15).consistency, WithinRel(0.89002e-3, 5e-3));
    // Olive oil -1.9110, -699.70, 110.3 K: 65.130 mPa s at 298.15 K.
    const Rheology oil{.consistency = std::pow(10, -1.9110 + 699.70 / (320 - 110.3)) * 1e-3,
                       .reference_temperature = 320,
                       .vogel = Vogel{.slope = 699.70 * ln10, .pole = 110.3}};
    CHECK_THAT(at_temperature(oil, 298.15).consistency, WithinRel(65.130e-3, 1e-5));
}

TEST_CASE("a Vogel law with its pole at zero is Arrhenius, and so is a table of two points",
          "[rheology][limit]") {
    const double e = 60e3;
    const double r = 8.31446261815324;
    const Rheology arrhenius{.consistency = 10, .index = 0.7, .activation_energy = e};
    const Rheology vogel{
        .consistency = 10, .index = 0.7, .vogel = Vogel{.slope = e / r, .pole = 0}};
    const auto at = [&](double t) { return at_temperature(arrhenius, t).consistency; };
    const Rheology table{.consistency = 10,
                         .index = 0.7,
                         .table = ViscosityTable{.temperature = {298.15, 333.15},
                                                 .viscosity = {at(298.15), at(333.15)}}};
    for (const double t : {260.0, 298.15, 310.0, 333.15, 350.0}) {
        CAPTURE(t);
        CHECK_THAT(at_temperature(vogel, t).consistency, WithinRel(at(t), 1e-13));
        // Beyond the ends too, where the table goes on as Arrhenius.
        CHECK_THAT(at_temperature(table, t).consistency, WithinRel(at(t), 1e-12));
    }
}

TEST_CASE("a table gives back its own viscosities at fixed shear rate", "[rheology][identity]") {
    const ViscosityTable points{.temperature = {298.15, 303.15, 313.15, 333.15},
                                .viscosity = {90, 55, 22, 5}};
    for (const double index : {1.0, 0.6}) {
        const Rheology liquid{.consistency = 90, .index = index, .table = points};
        double last = std::numeric_limits<double>::infinity();
        for (std::size_t i = 0; i < 4; ++i) {
            const ShearLaw law = at_temperature(liquid, points.temperature[i]);
            // k at the rate 1/s is the viscosity there, whatever the index.
            CHECK_THAT(apparent_viscosity(law, 1.0), WithinRel(points.viscosity[i], 1e-13));
        }
        for (double t = 270; t < 360; t += 0.5) {
            const double eta = apparent_viscosity(at_temperature(liquid, t), 1.0);
            CAPTURE(index, t);
            CHECK(eta < last);
            last = eta;
        }
    }
}

TEST_CASE("temperature shifts the shear rate, not the yield stress", "[rheology][identity]") {
    const Rheology liquid{
        .consistency = 60, .index = 0.5, .yield_stress = 20, .activation_energy = 50e3};
    const double t = demo::celsius(50);
    const ShearLaw hot = at_temperature(liquid, t);
    const ShearLaw cold = at_temperature(liquid, 298.15);
    // tau(s, T) = tau(a_T s, T_ref); a_T by hand.
    const double a = std::exp(50e3 / 8.31446261815324 * (1 / t - 1 / 298.15));
    CHECK(hot.yield_stress == 20);
    CHECK_THAT(7 * apparent_viscosity(hot, 7),
               WithinRel(7 * a * apparent_viscosity(cold, 7 * a), 1e-13));
}

TEST_CASE("a change of base units scales flow and pressure", "[rheology][units]") {
    Random random(2);
    for (int i = 0; i < 100; ++i) {
        const double m = random.decades(1e-3, 1e3);   // units of length in a metre
        const double kg = random.decades(1e-3, 1e3);  // of mass
        const double s = random.decades(1e-3, 1e3);   // of time
        const double pa = kg / (m * s * s);
        const double n = random.uniform(0.3, 1.0);
        const ShearLaw law{.consistency = random.decades(0.1, 100),
                           .index = n,
                           .yield_stress = random.chance(0.5) ? random.decades(1, 100) : 0.0};
        const ShearLaw scaled{.consistency = law.consistency * pa * std::pow(s, n),
                              .index = n,
                              .yield_stress = law.yield_stress * pa};
        const double flow_unit = m * m * m / s;
        const double dp = random.decades(2e5, 1e7);
        CAPTURE(m, kg, s, n, law.consistency, law.yield_stress, dp);
        const PipeFlow pipe(law, bore, length);
        const PipeFlow pipe2(scaled, bore * m, length * m);
        CHECK_THAT(pipe2(dp * pa).q, WithinRel(pipe(dp).q * flow_unit, 1e-11));
        CHECK_THAT(pipe2(dp * pa).slope, WithinRel(pipe(dp).slope * flow_unit / pa, 1e-11));
        CHECK_THAT(pipe2.pressure(mL * flow_unit), WithinRel(pipe.pressure(mL) * pa, 1e-11));
        const SlitFlow slit(law, width, gap * 10, length);
        const SlitFlow slit2(scaled, width * m, gap * 10 * m, length * m);
        CHECK_THAT(slit2(dp * pa).q, WithinRel(slit(dp).q * flow_unit, 1e-11));
        CHECK_THAT(slit2.pressure(mL * flow_unit), WithinRel(slit.pressure(mL) * pa, 1e-11));
        // The Reynolds number has no unit.
        CHECK_THAT(reynolds_number(scaled, 1500 * kg / (m * m * m), 0.1 * m / s, bore * m),
                   WithinRel(reynolds_number(law, 1500, 0.1, bore), 1e-11));
    }
}

TEST_CASE("a rheology that cannot be is refused by the name of its field", "[rheology][refusal]") {
    const Rheology good{.consistency = 10};
    struct Row {
        const char* name;
        double Rheology::*field;
        double value;
    };
    CHECK(demo::refusal([&] { validate(good); }).empty());
    for (const Row& row : {Row{"consistency", &Rheology::consistency, 0.0},
                           Row{"consistency", &Rheology::consistency, std::nan("")},
                           Row{"index", &Rheology::index, 0.05},
                           Row{"index", &Rheology::index, 1.2},
                           Row{"yield_stress", &Rheology::yield_stress, -1.0},
                           Row{"reference_temperature", &Rheology::reference_temperature, 0.0},
                           Row{"activation_energy", &Rheology::activation_energy, -1.0}}) {
        Rheology bad = good;
        bad.*row.field = row.value;
        const std::string text = demo::refusal([&] { validate(bad); });
        CAPTURE(text, row.name, row.value);
        CHECK(demo::mentions(text, row.name));
    }
    Rheology two = good;
    two.activation_energy = 50e3;
    two.vogel = Vogel{.slope = 900, .pole = 200};
    CHECK(demo::mentions(demo::refusal([&] { validate(two); }), "one of activation_energy"));
    Rheology pole = good;
    pole.vogel = Vogel{.slope = 900, .pole = 300};
    CHECK(demo::mentions(demo::refusal([&] { validate(pole); }), "pole"));
    pole.vogel = Vogel{.slope = 900, .pole = 200};
    CHECK(demo::mentions(demo::refusal([&] { (void)at_temperature(pole, 200); }), "pole"));
    for (const ViscosityTable& table : {ViscosityTable{{300}, {1}},
                                        ViscosityTable{{300, 310}, {1, 1}},
                                        ViscosityTable{{310, 300}, {2, 1}},
                                        ViscosityTable{{300, 310}, {2, -1}},
                                        ViscosityTable{{300, 310}, {2, 1, 0.5}}}) {
        Rheology bad = good;
        bad.table = table;
        CHECK(demo::mentions(demo::refusal([&] { validate(bad); }), "ViscosityTable"));
    }
    for (const Cross& thinning : {Cross{0.0, 0.5}, Cross{1.0, 0.05}, Cross{1.0, 0.5, 1.0}}) {
        Rheology bad = good;
        bad.cross = thinning;
        CHECK(demo::mentions(demo::refusal([&] { validate(bad); }), "Cross"));
    }
    Rheology steep = good;
    steep.cross = Cross{1.0, 0.95};  // n would be 0.05 at high rates
    CHECK(demo::mentions(demo::refusal([&] { validate(steep); }), "local index"));
    steep.cross = Cross{1.0, 0.5};
    steep.index = 0.5;
    CHECK(demo::mentions(demo::refusal([&] { validate(steep); }), "1 with cross"));
    CHECK(demo::mentions(demo::refusal([] { (void)vogel_from_wlf(17, -1, 300); }), "c2"));
    CHECK(demo::mentions(demo::refusal([] { (void)vogel_from_wlf(17, 51, 30); }), "reference"));
    const ShearLaw law{.consistency = 1};
    CHECK(demo::mentions(demo::refusal([&] { PipeFlow(law, 0.0, 1.0); }), "bore"));
    CHECK(demo::mentions(demo::refusal([&] { PipeFlow(law, 0.01, -1.0); }), "length"));
    CHECK(demo::mentions(demo::refusal([&] { SlitFlow(law, 0.0, 1e-4, 1.0); }), "width"));
    CHECK(demo::mentions(demo::refusal([&] { SlitFlow(law, 0.01, 0.0, 1.0); }), "gap"));
    CHECK(demo::mentions(demo::refusal([&] { (void)at_temperature(good, 0.0); }), "temperature"));
    CHECK(demo::mentions(demo::refusal([&] { (void)apparent_viscosity(law, 0.0); }), "shear_rate"));
}
