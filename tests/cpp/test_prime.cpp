#include "evenfront/prime.hpp"

#include <cmath>
#include <limits>

#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;

TEST_CASE("filling an empty tube at constant pressure", "[prime][reference]") {
    // Washburn (1921) without capillarity and gravity, evaluated: 10 Pa s, 10 mm x 2 m, 2 MPa:
    // 3.2 s; power law 200 Pa s^0.5: 4.266667 s.
    CHECK_THAT(prime_time({.consistency = 10}, 2e6, 0.010, 2), WithinRel(3.2, 1e-14));
    CHECK_THAT(prime_time({.consistency = 200, .index = 0.5}, 2e6, 0.010, 2),
               WithinRel(64.0 / 15.0, 1e-13));
    // The front goes with the root of time: its speed at the end is L/(2 t), 0.3125 m/s.
    const double dx = 1e-6;
    const double t = prime_time({.consistency = 10}, 2e6, 0.010, 2);
    CHECK_THAT(dx / (prime_time({.consistency = 10}, 2e6, 0.010, 2 + dx) - t),
               WithinRel(0.3125, 1e-5));
}

TEST_CASE("a small yield stress changes little, a large one stops the front", "[prime][limit]") {
    const ShearLaw plain{.consistency = 60, .index = 0.6};
    ShearLaw held = plain;
    held.yield_stress = 1e-6;
    CHECK_THAT(prime_time(held, 2e6, 0.012, 2), WithinRel(prime_time(plain, 2e6, 0.012, 2), 1e-6));
    // dp D/(4 tau_y) = 2e6 x 0.012/(4 x 1000) = 6 m, by hand.
    held.yield_stress = 1000;
    CHECK_THAT(prime_reach(held, 2e6, 0.012), WithinRel(6.0, 1e-14));
    CHECK(prime_time(held, 2e6, 0.012, 5.9) > 3 * prime_time(plain, 2e6, 0.012, 5.9));
    CHECK(demo::mentions(demo::refusal([&] { (void)prime_time(held, 2e6, 0.012, 6.1); }),
                         "yield stress"));
    CHECK(std::isinf(prime_reach(plain, 2e6, 0.012)));
}

TEST_CASE("a Cross liquid fills a tube as its plateau or its power law", "[prime][limit]") {
    // Barely thinning, and thinning everywhere but at rates below 1e-9 1/s.
    CHECK_THAT(prime_time({.consistency = 10, .cross = Cross{1e-9, 0.8}}, 2e6, 0.010, 2),
               WithinRel(prime_time({.consistency = 10}, 2e6, 0.010, 2), 1e-5));
    const ShearLaw power{.consistency = 200, .index = 0.5};
    const ShearLaw thinning{.consistency = 200 * std::sqrt(1e9), .cross = Cross{1e9, 0.5}};
    CHECK_THAT(prime_time(thinning, 2e6, 0.010, 2),
               WithinRel(prime_time(power, 2e6, 0.010, 2), 1e-3));
}

TEST_CASE("front with a yield stress against a sum of small steps", "[prime][identity]") {
    const ShearLaw law{.consistency = 60, .index = 0.6, .yield_stress = 500};
    const double bore = 0.012;
    const double area = 3.14159265358979 / 4 * bore * bore;
    double time = 0.0;
    const int steps = 20000;
    for (int i = 0; i < steps; ++i) {  // midpoint rule, error of order 1/steps^2 but at x = 0
        const double dx = 4.0 / steps;
        time += dx * area / PipeFlow(law, bore, (i + 0.5) * dx)(1e6).q;
    }
    CHECK_THAT(prime_time(law, 1e6, bore, 4.0), WithinRel(time, 1e-6));
}

TEST_CASE("film a gas finger leaves on the wall", "[prime][reference]") {
    // Bretherton (1961), small Ca: h/R = 1.34 Ca^(2/3) = 2.8869e-3 at 1e-4; Aussillous & Quere
    // (2000) for all Ca, fraction left 0.104758, 0.307237, 0.521200, 0.560016, 0.64 at 0.01, 0.1,
    // 1, 2, inf.
    CHECK_THAT(film_left(0.01), WithinAbs(0.104758, 5e-7));
    CHECK_THAT(film_left(0.1), WithinAbs(0.307237, 5e-7));
    CHECK_THAT(film_left(1), WithinAbs(0.521200, 5e-7));
    CHECK_THAT(film_left(2), WithinAbs(0.560016, 5e-7));
    CHECK_THAT(film_left(std::numeric_limits<double>::infinity()), WithinRel(0.64, 1e-14));
    CHECK_THAT(film_left(1e-4), WithinRel(2 * 2.8869e-3, 0.01));  // less 3.35 Ca^(2/3), 0.7 %
    CHECK(film_left(0) == 0);
}

TEST_CASE("laminar wash-out of a hose", "[prime][reference]") {
    // Levenspiel ch. 15: Newtonian F = 1 - 1/(4 theta^2): 0.555556, 0.75, 0.9375 at 0.75, 1, 2.
    // Power law of 0.5, evaluated: first at 0.6, then 0.524393, 0.760037, 0.946048.
    CHECK_THAT(laminar_washout(0.75), WithinAbs(0.555556, 5e-7));
    CHECK_THAT(laminar_washout(1), WithinAbs(0.75, 1e-14));
    CHECK_THAT(laminar_washout(2), WithinAbs(0.9375, 1e-14));
    CHECK(laminar_washout(0.5) == 0);
    CHECK(laminar_washout(0.5999, 0.5) == 0);
    CHECK_THAT(laminar_washout(0.75, 0.5), WithinAbs(0.524393, 5e-7));
    CHECK_THAT(laminar_washout(1, 0.5), WithinAbs(0.760037, 5e-7));
    CHECK_THAT(laminar_washout(2, 0.5), WithinAbs(0.946048, 5e-7));
    // 99 % new takes 1/(2 sqrt(0.01)) = 5 volumes, 95 % sqrt(5).
    CHECK_THAT(purge_volumes(0.99), WithinRel(5.0, 1e-10));
    CHECK_THAT(purge_volumes(0.95), WithinRel(std::sqrt(5.0), 1e-10));
    for (const double n : {0.1, 0.4, 0.85}) {
        CHECK_THAT(laminar_washout(purge_volumes(0.98, n), n), WithinRel(0.98, 1e-10));
    }
    CHECK(purge_volumes(0) == 0.5);
}

TEST_CASE("priming refuses what cannot be", "[prime][refusal]") {
    const auto refused = [](auto call) { return demo::refusal(call); };
    CHECK(demo::mentions(refused([] { (void)prime_time({.consistency = 1}, 0, 0.01, 1); }),
                         "pressure"));
    CHECK(demo::mentions(refused([] { (void)prime_time({.consistency = 1}, 1, 0.01, -1); }),
                         "length"));
    CHECK(demo::mentions(refused([] { (void)film_left(-1); }), "capillary"));
    CHECK(demo::mentions(refused([] { (void)purge_volumes(1); }), "share"));
    CHECK(demo::mentions(refused([] { (void)laminar_washout(1, 2); }), "index"));
}
