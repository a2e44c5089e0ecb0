#include "evenfront/throttle.hpp"

#include <boost/math/tools/toms748_solve.hpp>
#include <limits>
#include <numbers>
#include <vector>

#include "evenfront/transient.hpp"
#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::bar;
using demo::mL;
using std::numbers::pi;

namespace {

const ShearLaw hardener{.consistency = 0.18};
const ShearLaw paste{.consistency = 8.0, .index = 0.6, .yield_stress = 20.0};
constexpr double rho = 1050;

double area_of_gap(const Throttle& throttle) {
    return throttle.discharge_coefficient * pi * throttle.seat_bore * needle_gap(throttle);
}

// Every restriction of the family: needle and resistance, thin and pasty, with and without valve.
struct Family {
    const char* name;
    ThrottleFlow throttle;
};

std::vector<Family> family() {
    const Throttle linear{.resistance = 0.2 * bar / mL};
    return {
        {"resistance", ThrottleFlow(linear, hardener, rho)},
        {"needle, Newtonian", ThrottleFlow(demo::needle(), hardener, rho)},
        {"needle, thin", ThrottleFlow(demo::needle(), {.consistency = 1e-3}, rho)},
        {"flow coefficient, laminar", ThrottleFlow(demo::valve(), {.consistency = 20}, rho)},
        {"flow coefficient, transitional", ThrottleFlow(demo::valve(), {.consistency = 0.02}, rho)},
        {"flow coefficient, turbulent", ThrottleFlow(demo::valve(), {.consistency = 1e-4}, rho)},
        {"needle, power law",
         ThrottleFlow(demo::needle(3), {.consistency = 8.0, .index = 0.6}, rho)},
        {"needle, Herschel-Bulkley", ThrottleFlow(demo::needle(3), paste, rho)}};
}

}  // namespace

TEST_CASE("the gap of a needle is the lift seen square to the cone", "[throttle]") {
    // A cone lifted by s leaves s sin(half angle): 2 turns of 0.5 mm at 30 degrees make 0.5 mm.
    const Throttle throttle{
        .kind = ThrottleKind::needle, .turns = 2, .pitch = 0.5e-3, .half_angle = pi / 6};
    CHECK_THAT(needle_gap(throttle), WithinRel(0.5e-3, 1e-14));
}

TEST_CASE("setting and with_setting speak of the same number", "[throttle][round trip]") {
    const Throttle needle = with_setting(demo::needle(), 1.25);
    CHECK(needle.turns == 1.25);
    CHECK(setting(needle) == 1.25);
    const Throttle linear = with_setting({.resistance = 1e9}, 3e9);
    CHECK(linear.resistance == 3e9);
    CHECK(setting(linear) == 3e9);
    const Throttle valve = with_setting(demo::valve(), 0.3);
    CHECK(valve.opening == 0.3);
    CHECK(setting(valve) == 0.3);
}

TEST_CASE("a needle without kinetic loss is a slit", "[throttle][limit]") {
    // w h^3 dp/(12 eta L) with w = pi d; a density near zero takes the kinetic loss away.
    const Throttle throttle = demo::needle();
    const ThrottleFlow flow(throttle, hardener, 1e-12);
    const double h = needle_gap(throttle);
    const double slit = pi * 3e-3 * h * h * h / (12 * 0.18 * 1.5e-3);
    CHECK_THAT(flow(2 * bar).q, WithinRel(slit * 2 * bar, 1e-12));
    // Cubic in the turns.
    const ThrottleFlow half(demo::needle(0.5), hardener, 1e-12);
    CHECK_THAT(half(2 * bar).q, WithinRel(flow(2 * bar).q / 8, 1e-12));
}

TEST_CASE("a needle without viscosity is an orifice", "[throttle][limit]") {
    // Q = C_d A sqrt(2 dp/rho) (Merritt 1967, ch. 3, from memory); 1 nPa s leaves 1e-6 of slit.
    const Throttle throttle = demo::needle();
    const ThrottleFlow flow(throttle, {.consistency = 1e-9}, rho);
    CHECK_THAT(flow(bar).q, WithinRel(area_of_gap(throttle) * std::sqrt(2 * bar / rho), 1e-5));
    CHECK_THAT(flow(bar).slope, WithinRel(flow(bar).q / (2 * bar), 1e-5));
}

TEST_CASE("Newtonian needle in series with a resistance against an independent root",
          "[throttle][root]") {
    const Throttle throttle = demo::needle();
    const double h = needle_gap(throttle);
    const double area = area_of_gap(throttle);
    for (const double eta : {1e-3, 0.18, 20.0}) {
        const ThrottleFlow flow(throttle, {.consistency = eta}, rho);
        for (const double series : {0.0, 1e10, 1e12}) {
            for (const double dp : {10.0, bar, 50 * bar}) {
                const auto excess = [&](double q) {
                    return q * (12 * eta * 1.5e-3 / (pi * 3e-3 * h * h * h) + series) +
                           rho / 2 * (q / area) * (q / area) - dp;
                };
                std::uintmax_t turns = 200;
                const auto [a, b] =
                    boost::math::tools::toms748_solve(excess,
                                                      0.0,
                                                      area * std::sqrt(2 * dp / rho),
                                                      boost::math::tools::eps_tolerance<double>(52),
                                                      turns);
                CAPTURE(eta, series, dp);
                CHECK_THAT(flow(dp, series).q, WithinRel(0.5 * (a + b), 1e-12));
            }
        }
    }
}

TEST_CASE("pressure is the inverse of flow, with yield stress and kinetic loss",
          "[throttle][round trip]") {
    for (const auto& [name, throttle] : family()) {
        for (const double q : {1e-9, 1e-7, 1e-6, 1e-5}) {
            CAPTURE(name, q);
            const double dp = throttle.pressure(q);
            const Flow flow = throttle(dp);
            const double eps = std::numeric_limits<double>::epsilon();
            // Just above yield one rounding of dp is many of q.
            CHECK_THAT(flow.q, WithinRel(q, 1e-12 + 8 * eps * dp * flow.slope / q));
            CHECK(throttle.pressure(-q) == -dp);
            CHECK(throttle(-dp).q == -flow.q);
        }
        const double yield = throttle.yield_pressure();
        CHECK(throttle(yield).q == 0.0);
        CHECK(throttle(yield * 1.01 + 1e-3).q > 0.0);
    }
}

TEST_CASE("a series resistance takes its share of the pressure", "[throttle][identity]") {
    // dp = dp_throttle(Q) + series Q for every member; Q to 1e-14 of dp leaves rounding.
    for (const auto& [name, throttle] : family()) {
        for (const double series : {1e8, 1e10, 1e13}) {
            for (const double dp : {2e4, 1e6, 1e7}) {
                const double q = throttle(dp, series).q;
                CAPTURE(name, series, dp, q);
                CHECK_THAT(throttle.pressure(q) + series * q, WithinRel(dp, 1e-11));
            }
        }
    }
}

TEST_CASE("slopes of a restriction are its derivatives with pressure and opening",
          "[throttle][derivative]") {
    for (const double exponent : {1.0, 2.5}) {
        const Shutoff valve{.resistance = 0.1 * bar / mL, .exponent = exponent};
        std::vector<std::pair<std::string, Restriction>> all{
            {"shut-off alone", Restriction(std::nullopt, valve)}};
        for (const auto& [name, throttle] : family()) {
            all.emplace_back(name, Restriction(throttle, valve));
        }
        for (const auto& [name, restriction] : all) {
            for (const double dp : {-3e6, -2e5, 5e4, 1e6}) {
                for (const double f : {1e-3, 0.1, 0.5, 1.0}) {
                    CAPTURE(name, exponent, dp, f);
                    const auto at = [&](double p, double x) { return restriction(p, x); };
                    const Restriction::Result r = at(dp, f);
                    const double h = 1e-4 * std::abs(dp);
                    const double k = 1e-4 * f;
                    // Central differences: 1e-8 of curvature, 1e-12 of rounding over 1e-4.
                    CHECK_THAT(r.slope,
                               WithinRel((at(dp + h, f).q - at(dp - h, f).q) / (2 * h), 1e-6));
                    CHECK_THAT(r.by_fraction,
                               WithinRel((at(dp, f + k).q - at(dp, f - k).q) / (2 * k), 1e-6));
                    CHECK(at(-dp, f).q == -r.q);
                }
            }
        }
    }
}

TEST_CASE("a shut-off that only just opens passes dp f/r_s, less the yield pressure",
          "[throttle][limit]") {
    const double r_s = 0.1 * bar / mL;
    const double dp = 5 * bar;
    for (const auto& [name, throttle] : family()) {
        const Restriction linear(throttle, Shutoff{.resistance = r_s});
        CAPTURE(name);
        const Restriction::Result shut = linear(dp, 0.0);
        CHECK(shut.q == 0.0);
        CHECK(shut.slope == 0.0);
        const double first = (dp - throttle.yield_pressure()) / r_s;
        CHECK_THAT(shut.by_fraction, WithinRel(first, 1e-12));
        // At f = 1e-12 all but the yield pressure is lost in the shut-off; a power law still
        // takes its Q^n, 1e-12^0.6 of dp or so.
        CHECK_THAT(linear(dp, 1e-12).q, WithinRel(1e-12 * first, 1e-5));
        // No movement from below yield.
        CHECK(linear(0.5 * throttle.yield_pressure(), 0.0).by_fraction *
                  throttle.yield_pressure() ==
              0.0);
        // A steeper valve starts with no slope at all.
        const Restriction steep(throttle, Shutoff{.resistance = r_s, .exponent = 2.0});
        CHECK(steep(dp, 0.0).by_fraction == 0.0);
    }
}

TEST_CASE("wide open, a throttle leaves the shut-off; nearly shut, it decides alone",
          "[throttle][limit]") {
    const Shutoff valve{.resistance = 0.1 * bar / mL};
    const double dp = 5 * bar;
    const auto flow = [&](const Throttle& throttle) {
        return Restriction(ThrottleFlow(throttle, hardener, rho), valve)(dp, 1.0).q;
    };
    CHECK_THAT(flow({.resistance = 0.0}), WithinRel(dp / valve.resistance, 1e-14));
    // A gap far beyond any real one: the kinetic loss is 2 Pa of 5 bar.
    CHECK_THAT(flow(demo::needle(1000)), WithinRel(dp / valve.resistance, 1e-5));
    const double shut = 1e-6 * valve.resistance;
    CHECK_THAT(flow({.resistance = valve.resistance / 1e-6}),
               WithinRel(dp * shut / (valve.resistance * valve.resistance), 2e-6));
    // Gap of 0.1 um: the slit's own flow, the shut-off takes 1e-7 of the pressure.
    const Throttle nearly = demo::needle(1e-3);
    const double h = needle_gap(nearly);
    CHECK_THAT(flow(nearly), WithinRel(pi * 3e-3 * h * h * h * dp / (12 * 0.18 * 1.5e-3), 1e-5));
}

TEST_CASE("pressure over a restriction adds throttle and open shut-off", "[throttle][identity]") {
    const Shutoff valve{.resistance = 0.1 * bar / mL};
    for (const auto& [name, throttle] : family()) {
        const Restriction both(throttle, valve);
        CAPTURE(name);
        CHECK_THAT(both.pressure(2 * mL),
                   WithinRel(throttle.pressure(2 * mL) + 2 * mL * valve.resistance, 1e-14));
        CHECK(both.yield_pressure() == throttle.yield_pressure());
        CHECK_THAT(both(both.pressure(2 * mL), 1.0).q, WithinRel(2 * mL, 1e-11));
    }
    CHECK_THAT(Restriction(std::nullopt, valve).pressure(mL), WithinRel(0.1 * bar, 1e-14));
}

TEST_CASE("a vanishing volume between throttle and shut-off changes nothing", "[throttle][limit]") {
    // What stands between has a density of its own, 1e-5 less after a few bar lost; a stiff
    // hardener (the wall gives all the packing) takes that to 1e-8. rtol 1e-7 bounds the rest.
    const Sequence shot{.steps = {{StepKind::dispense_time, 0.5}}, .repeat = 1, .start = {}};
    Machine machine = demo::long_boom();
    machine.hardener.throttle = demo::needle();
    machine.hardener.liquid.bulk_modulus = 1e13;
    machine.hardener.liquid.free_gas = least_free_gas;
    const auto volumes = [&](bool before, double between) {
        machine.hardener.throttle.before_shutoff = before;
        machine.hardener.throttle.volume_between = between;
        const Trace trace = simulate(machine, shot, {.rtol = 1e-7});
        REQUIRE(trace.status == Status::ok);
        const Eigen::Index end = trace.shots.front().close;
        return std::pair(trace.resin.volume[end], trace.hardener.volume[end]);
    };
    const auto [resin, hardener_volume] = volumes(true, 0.0);
    for (const bool before : {true, false}) {
        const auto [r, h] = volumes(before, 1e-6 * mL);
        CAPTURE(before);
        CHECK_THAT(r, WithinRel(resin, 1e-6));
        CHECK_THAT(h, WithinRel(hardener_volume, 1e-6));
    }
}
