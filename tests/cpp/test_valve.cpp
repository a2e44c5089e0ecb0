#include "evenfront/valve.hpp"

#include <cmath>
#include <limits>
#include <vector>

#include "evenfront/throttle.hpp"
#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::bar;
using demo::mL;

namespace {

// A_v of one Kv from its definition: 1 m^3/h at 1 bar of water of 999.103 kg/m^3; evaluated
// 2.77653e-5 m^2 (IEC 60534-1).
const double per_kv = std::sqrt(999.103 / 1e5) / 3600;
constexpr double per_hour = 1.0 / 3600;

// A throttle of one known coefficient Kv [m^3/h], seat bore [mm].
Throttle valve(double kv, double seat_bore, double recovery, double style_modifier) {
    return {.kind = ThrottleKind::flow_coefficient,
            .seat_bore = seat_bore * 1e-3,
            .opening = 1.0,
            .valve = ControlValve{.characteristic = Characteristic::linear,
                                  .rated = kv * per_kv,
                                  .recovery = recovery,
                                  .style_modifier = style_modifier}};
}

// Viscous example: Kv 0.30 m^3/h, d 15 mm, FL 0.9, Fd 0.3.
const Throttle viscous = valve(0.30, 15, 0.9, 0.3);

}  // namespace

TEST_CASE("unit of the flow coefficient", "[valve][reference]") {
    CHECK_THAT(per_kv, WithinAbs(2.77653e-5, 5e-11));
}

TEST_CASE("turbulent liquid, not choked: Example 1 of the sizing standard", "[valve][reference]") {
    // IEC 60534-2-1 (ISA-75.01.01-2007), read in a public library's tests: 360 m^3/h, 965.4 kg/m^3,
    // 680 to 220 kPa, 3.26e-7 m^2/s, d 150 mm, FL 0.9, Fd 0.46: Kv 164.995 (printed 165), Re_v
    // 2.967e6.
    const Throttle throttle = valve(164.995, 150, 0.9, 0.46);
    const ThrottleFlow flow(throttle, {.consistency = 3.26e-7 * 965.4}, 965.4);
    CHECK_THAT(flow.pressure(360 * per_hour), WithinRel(460e3, 2e-5));
    CHECK_THAT(flow(460e3).q, WithinRel(360 * per_hour, 1e-5));
    CHECK_THAT(valve_reynolds_number(throttle, 360 * per_hour, 3.26e-7), WithinRel(2.967e6, 2e-4));
    // Choking only beyond 497.19 kPa.
    CHECK_THAT(choking_drop(*throttle.valve, 680e3, 70.1e3, 22120e3), WithinAbs(497.19e3, 5));
}

TEST_CASE("choked liquid: Example 2 of the sizing standard", "[valve][reference]") {
    // As Example 1 with d 100 mm, FL 0.6, Fd 0.98: choked at 220.97 kPa of the 460, Kv 238.058
    // (printed 238), Re_v 6.597e6; F_F 0.944238.
    const Throttle throttle = valve(238.058, 100, 0.6, 0.98);
    const double choked = choking_drop(*throttle.valve, 680e3, 70.1e3, 22120e3);
    CHECK_THAT(choked, WithinAbs(220.97e3, 5));
    CHECK_THAT((680e3 - choked / 0.36) / 70.1e3, WithinAbs(0.944238, 5e-7));
    const ThrottleFlow flow(throttle, {.consistency = 3.26e-7 * 965.4}, 965.4);
    CHECK_THAT(flow(choked).q, WithinRel(360 * per_hour, 1e-5));
    CHECK_THAT(valve_reynolds_number(throttle, 360 * per_hour, 3.26e-7), WithinRel(6.597e6, 2e-4));
}

TEST_CASE("Reynolds factor of a small trim: Example 4 of the sizing standard",
          "[valve][reference]") {
    // Read in the same tests: FL 0.98, C 0.015483 m^3/h, d 15 mm; F_R 0.714875 at Re_v 1202
    // (printed 0.715) and 0.0833955 at 8.
    const Throttle throttle = valve(0.015483, 15, 0.98, 0.42);
    CHECK_THAT(reynolds_factor(throttle, 1202), WithinAbs(0.714875, 1e-6));
    CHECK_THAT(reynolds_factor(throttle, 8), WithinAbs(0.0833955, 1e-7));
}

TEST_CASE("viscous throttle solved for its flow", "[valve][reference]") {
    // Evaluated from the standard's formulas with n2 2.695979; own root finding elsewhere.
    const ThrottleFlow hardener(viscous, {.consistency = 0.1}, 1020);
    const double q = hardener(1000e3).q;
    CHECK_THAT(q, WithinRel(0.565450 * per_hour, 1e-5));
    const double reynolds = valve_reynolds_number(viscous, q, 0.1 / 1020);
    CHECK_THAT(reynolds, WithinRel(235.48, 3e-5));
    CHECK_THAT(reynolds_factor(viscous, reynolds), WithinAbs(0.602238, 5e-6));
    const ThrottleFlow resin(viscous, {.consistency = 10}, 1500);
    CHECK_THAT(resin(500e3).q, WithinRel(0.00413007 * per_hour, 1e-5));
    CHECK_THAT(resin(1000e3).q, WithinRel(0.00826014 * per_hour, 1e-5));
    CHECK_THAT(resin(2000e3).q, WithinRel(0.01652029 * per_hour, 1e-5));
    // Re_v below 10: in proportion to dp over mu.
    CHECK_THAT(resin(2000e3).q, WithinRel(4 * resin(500e3).q, 1e-14));
    const ThrottleFlow thicker(viscous, {.consistency = 20}, 1500);
    CHECK_THAT(thicker(1000e3).q, WithinRel(resin(500e3).q, 1e-14));
}

TEST_CASE("pressure drop of a turbulent throttle", "[valve][reference]") {
    // Kv 0.5, 0.3 m^3/h, 1500 kg/m^3: 0.540485 bar, evaluated; a thin liquid makes it turbulent.
    const ThrottleFlow flow(valve(0.5, 15, 0.9, 0.46), {.consistency = 1e-4}, 1500);
    CHECK_THAT(flow.pressure(0.3 * per_hour), WithinRel(0.540485 * bar, 1e-6));
}

TEST_CASE("inherent characteristics", "[valve][reference]") {
    // IEC 60534-2-4 (from memory), evaluated: R 50 equal percentage at 0, 1/4, 1/2, 3/4, 1, and R
    // 30 at 1/2; linear 1/R + (1 - 1/R) h.
    Throttle throttle = valve(0.3, 15, 0.9, 0.46);
    throttle.valve->characteristic = Characteristic::equal_percentage;
    const auto share = [&](double opening) {
        return flow_coefficient(with_setting(throttle, opening)) / (0.3 * per_kv);
    };
    const std::vector<double> expected{0.02, 0.053183, 0.141421, 0.376060, 1.0};
    for (std::size_t i = 0; i < 5; ++i) {
        CHECK_THAT(share(0.25 * static_cast<double>(i)), WithinAbs(expected[i], 5e-7));
    }
    throttle.valve->rangeability = 30;
    CHECK_THAT(share(0.5), WithinAbs(0.182574, 5e-7));
    throttle.valve->characteristic = Characteristic::linear;
    CHECK_THAT(share(0.5), WithinRel(1.0 / 30 + (1 - 1.0 / 30) / 2, 1e-14));
    // The same travel counted in turns.
    throttle.valve->full_turns = 8;
    CHECK_THAT(share(4), WithinRel(1.0 / 30 + (1 - 1.0 / 30) / 2, 1e-14));
}

TEST_CASE("a table of an equal percentage valve gives its formula back", "[valve][identity]") {
    Throttle formula = valve(0.3, 15, 0.9, 0.46);
    formula.valve->characteristic = Characteristic::equal_percentage;
    Throttle table = formula;
    table.valve->characteristic = Characteristic::table;
    for (const double opening : {0.1, 0.3, 0.6, 1.0}) {
        table.valve->openings.push_back(opening);
        table.valve->coefficients.push_back(flow_coefficient(with_setting(formula, opening)));
    }
    // ln A_v is a straight line, which a monotone cubic keeps.
    for (double opening = 0.1; opening <= 1.0; opening += 0.07) {
        CHECK_THAT(flow_coefficient(with_setting(table, opening)),
                   WithinRel(flow_coefficient(with_setting(formula, opening)), 1e-12));
    }
    CHECK(demo::mentions(demo::refusal([&] { (void)flow_coefficient(with_setting(table, 0.05)); }),
                         "opening"));
}

TEST_CASE("the Reynolds factor rises without a jump for every trim", "[valve][identity]") {
    // From the smallest trims to a full bore; where the standard would step down at Re_v = 10 the
    // laminar line is kept.
    for (const double kv : {1e-3, 0.015483, 0.3, 2.0, 3.2, 6.0, 20.0}) {
        for (const double recovery : {0.5, 0.9, 1.0}) {
            const Throttle throttle = valve(kv, 15, recovery, 0.46);
            double last = reynolds_factor(throttle, 1e-3);
            for (double re = 1.02e-3; re < 1e6; re *= 1.02) {
                const double factor = reynolds_factor(throttle, re);
                CAPTURE(kv, recovery, re);
                CHECK(factor >= last);
                // d ln F_R/d ln Re_v is at most a half.
                CHECK(factor <= last * std::sqrt(1.02) * (1 + 1e-12));
                CHECK(factor <= 1.0);
                last = factor;
            }
            CHECK(last == 1.0);
        }
    }
}

TEST_CASE("a setting is found again from its resistance", "[valve][throttle][round trip]") {
    Throttle percent = viscous;
    percent.valve->characteristic = Characteristic::equal_percentage;
    Throttle table = viscous;
    table.valve->characteristic = Characteristic::table;
    table.valve->full_turns = 3;
    table.valve->openings = {0.5, 1, 2, 3};
    table.valve->coefficients = {1e-8, 5e-8, 3e-7, 9e-7};
    for (const Throttle& throttle : {with_setting(percent, 0.37),
                                     with_setting(viscous, 0.37),
                                     with_setting(table, 1.7),
                                     demo::needle(1.3),
                                     Throttle{.resistance = 3e9}}) {
        const double u = log_resistance(throttle);
        CHECK_THAT(setting(with_log_resistance(throttle, u)), WithinRel(setting(throttle), 1e-12));
        // An e-fold more resistance is more closed, and turbulent or not it loses more.
        const Throttle closed = with_log_resistance(throttle, u + 1.0);
        CHECK_THAT(log_resistance(closed), WithinAbs(u + 1.0, 1e-10));
        const ShearLaw law{.consistency = 0.1};
        CHECK(ThrottleFlow(closed, law, 1050).pressure(mL) >
              1.5 * ThrottleFlow(throttle, law, 1050).pressure(mL));
    }
    // Beyond its table a valve stands at the end.
    CHECK(setting(with_log_resistance(table, 1e3)) == 0.5);
    CHECK(setting(with_log_resistance(table, -1e3)) == 3.0);
}

TEST_CASE("the slit's Reynolds number", "[throttle][reference]") {
    // rho Q/(pi d eta) by hand: 1000 kg/m^3, 2 mL/s, 3 mm, 20 mPa s: 1000 x 2e-6/(pi 3e-3 0.02).
    const Throttle known{.resistance = 1e9, .seat_bore = 3e-3};
    const ShearLaw thin{.consistency = 0.02};
    CHECK_THAT(gap_reynolds_number(known, thin, 1000, 2 * mL), WithinRel(10.6103, 1e-5));
    CHECK_THAT(gap_reynolds_number(demo::needle(), thin, 1000, 2 * mL), WithinRel(10.6103, 1e-5));
    CHECK(std::isnan(gap_reynolds_number({.resistance = 1e9}, thin, 1000, 2 * mL)));
    // A power law by its viscosity at the wall of the gap, if that is known.
    const ShearLaw paste{.consistency = 8, .index = 0.6};
    CHECK(std::isnan(gap_reynolds_number(known, paste, 1500, 2 * mL)));
    const double gap = needle_gap(demo::needle());
    const double width = 3e-3 * 3.14159265358979;
    const double eta = 8 * std::pow(6 * 2 * mL / (width * gap * gap), -0.4);
    CHECK_THAT(gap_reynolds_number(demo::needle(), paste, 1500, 2 * mL),
               WithinRel(1500 * 2 * mL / (width * eta), 1e-12));
}

TEST_CASE("a valve that cannot be is refused by the name of its field", "[valve][refusal]") {
    Machine machine = demo::long_boom();
    machine.hardener.throttle = viscous;
    CHECK(demo::refusal([&] { validate(machine); }).empty());
    const auto refused = [&](auto change, const char* words) {
        Machine bad = machine;
        change(bad.hardener.throttle);
        const std::string text = demo::refusal([&] { validate(bad); });
        CAPTURE(text, words);
        CHECK(demo::mentions(text, words));
    };
    refused([](Throttle& t) { t.valve.reset(); }, "valve");
    refused([](Throttle& t) { t.seat_bore = 0; }, "seat_bore");
    refused([](Throttle& t) { t.opening = 1.1; }, "opening");
    refused([](Throttle& t) { t.valve->recovery = 0; }, "recovery");
    refused([](Throttle& t) { t.valve->style_modifier = 2; }, "style_modifier");
    refused([](Throttle& t) { t.valve->rated = 0; }, "rated");
    refused([](Throttle& t) { t.valve->rangeability = 1; }, "rangeability");
    refused([](Throttle& t) { t.valve->characteristic = Characteristic::table; }, "points");
    const auto table = [](std::vector<double> openings, std::vector<double> coefficients) {
        return [=](Throttle& t) {
            t.valve->characteristic = Characteristic::table;
            t.valve->openings = openings;
            t.valve->coefficients = coefficients;
        };
    };
    refused(table({1, 0.5}, {1e-8, 2e-8}), "openings");
    refused(table({0.5, 1}, {2e-8, 1e-8}), "coefficients");
    refused(table({0.5, 1}, {0, 1e-8}), "coefficients");
    // The standard is for Newtonian liquids only.
    machine.resin.throttle = viscous;
    CHECK(demo::mentions(demo::refusal([&] { validate(machine); }), "Newtonian"));
    CHECK(demo::mentions(
        demo::refusal([] { ThrottleFlow(viscous, {.consistency = 1, .index = 0.9}, 1000); }),
        "Newtonian"));
}
