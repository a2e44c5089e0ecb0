#include "evenfront/monotone_cubic.hpp"

#include <cmath>
#include <stdexcept>

#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;

TEST_CASE("a monotone cubic against a general library", "[monotone_cubic][reference]") {
    // Points and values by SciPy 1.17.1, interpolate.PchipInterpolator, the same slopes: digits as
    // printed by it.
    const MonotoneCubic curve({0, 1, 3, 4, 6}, {0, 2, 2.5, 6, 5});
    CHECK_THAT(curve(0.25), WithinRel(0.652977195945946, 1e-13));
    CHECK_THAT(curve.slope(0.25), WithinRel(2.58234797297297, 1e-12));
    CHECK_THAT(curve(0.5), WithinRel(1.26210585585586, 1e-13));
    CHECK_THAT(curve.slope(0.5), WithinRel(2.23254504504505, 1e-12));
    CHECK_THAT(curve(1.5), WithinRel(2.16653743907842, 1e-13));
    CHECK_THAT(curve.slope(1.5), WithinRel(0.211093265396544, 1e-12));
    CHECK_THAT(curve(2.75), WithinRel(2.39297705748782, 1e-13));
    CHECK_THAT(curve.slope(2.75), WithinRel(0.347647596366859, 1e-12));
    CHECK_THAT(curve(3.5), WithinRel(4.31454918032787, 1e-13));
    CHECK_THAT(curve.slope(3.5), WithinRel(5.12090163934426, 1e-12));
    CHECK_THAT(curve(5.0), WithinRel(5.875, 1e-13));
    CHECK_THAT(curve.slope(5.0), WithinRel(-0.375, 1e-12));
}

TEST_CASE("a monotone cubic meets its points and never leaves their range", "[monotone_cubic]") {
    const std::vector<double> x{0, 1, 1.1, 4, 6};
    const std::vector<double> y{9, 8.9, 3, 2.9, 0};
    const MonotoneCubic curve(x, y);
    for (std::size_t i = 0; i < x.size(); ++i) {
        CHECK_THAT(curve(x[i]), WithinAbs(y[i], 1e-14));
    }
    double last = 9.0;
    for (double u = 0.01; u <= 6.0; u += 0.01) {
        CAPTURE(u);
        CHECK(curve(u) <= last);
        last = curve(u);
    }
    CHECK(last >= 0.0);
}

TEST_CASE("two points give a straight line, and beyond its ends a curve goes straight on",
          "[monotone_cubic][limit]") {
    const MonotoneCubic line({1, 3}, {5, 1});
    CHECK_THAT(line(2.5), WithinRel(2.0, 1e-14));
    CHECK_THAT(line(4), WithinAbs(-1.0, 1e-14));
    const MonotoneCubic curve({0, 1, 3}, {0, 2, 3});
    CHECK_THAT(curve(-2), WithinAbs(-2 * curve.slope(0), 1e-14));
    CHECK_THAT(curve(5), WithinRel(3 + 2 * curve.slope(3), 1e-14));
}

TEST_CASE("the slope of a monotone cubic is its derivative", "[monotone_cubic][derivative]") {
    const MonotoneCubic curve({0, 1, 3, 4, 6}, {0, 2, 2.5, 6, 5});
    for (double x = -0.9; x < 7; x += 0.37) {
        const double h = 1e-5;
        CAPTURE(x);
        // Central differences: h^2 of a third derivative of about 10, and rounding over h.
        CHECK_THAT(curve.slope(x), WithinAbs((curve(x + h) - curve(x - h)) / (2 * h), 1e-8));
    }
}

TEST_CASE("points that are none are refused", "[monotone_cubic][refusal]") {
    CHECK_THROWS_AS(MonotoneCubic({1}, {1}), std::invalid_argument);
    CHECK_THROWS_AS(MonotoneCubic({1, 2}, {1}), std::invalid_argument);
    CHECK(demo::mentions(demo::refusal([] { MonotoneCubic({1, 1}, {1, 2}); }), "x = 1"));
    CHECK(demo::mentions(demo::refusal([] { MonotoneCubic({1, 2}, {1, std::nan("")}); }), "y"));
}
