#include "evenfront/shot.hpp"

#include <numbers>

#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::mL;

TEST_CASE("counts of an encoder", "[shot][reference]") {
    // 1,200 marks per inch (common practice, no source): one mark is 25.4 mm/1200 = 21.1667 um.
    const double encoder = 1200 / 0.0254;
    CHECK_THAT(travel_of_counts(1, encoder), WithinRel(21.16667e-6, 1e-6));
    CHECK_THAT(counts_of_travel(0.0254, encoder), WithinRel(1200, 1e-14));
    CHECK_THAT(counts_of_travel(travel_of_counts(777, encoder), encoder), WithinRel(777, 1e-14));
}

TEST_CASE("volume of both pistons", "[shot][reference]") {
    // pi/4 (70^2 + 26.19^2) mm^2 = 4387.165 mm^2 by hand: 4.387165 mL per mm.
    CHECK_THAT(swept_by_travel(1e-3, 0.070, 0.02619), WithinRel(4.387165 * mL, 1e-6));
    CHECK_THAT(travel_of_volume(swept_by_travel(0.0123, 0.07, 0.02), 0.07, 0.02),
               WithinRel(0.0123, 1e-14));
}

TEST_CASE("a shot that just fits counts as whole", "[shot]") {
    CHECK(shots_per_stroke(0.1, 0.025) == 4);
    CHECK(shots_per_stroke(0.3, 0.1) == 3);  // 0.3/0.1 is below 3 in double precision
    CHECK(shots_per_stroke(0.0999, 0.025) == 3);
}

TEST_CASE("a least shot is just within tolerance", "[shot][identity]") {
    // A fixed hardener error of 0.3 mL on 100:12 and 5 %: 0.3/(0.05 x 0.12) = 50 mL of resin.
    CHECK_THAT(least_shot(0.3 * mL, 0.05, 0.12), WithinRel(50 * mL, 1e-14));
    const double resin = least_shot(0.3 * mL, 0.05, 0.12);
    CHECK_THAT((0.12 * resin + 0.3 * mL) / resin / 0.12 - 1, WithinRel(0.05, 1e-12));
}

TEST_CASE("drops of water are about twenty to the millilitre", "[shot][reference]") {
    // Common practice, no source: 20 drops per mL from a 3 mm tip; Tate's law within a quarter.
    const double drop = drop_volume(3e-3, 0.0728, 998.2);
    CHECK_THAT(drop, WithinRel(0.05 * mL, 0.25));
}

TEST_CASE("a shot refuses what cannot be", "[shot][refusal]") {
    CHECK(demo::mentions(demo::refusal([] { (void)travel_of_counts(1, 0); }), "encoder"));
    CHECK(demo::mentions(demo::refusal([] { (void)least_shot(1, 0, 0.1); }), "tolerance"));
    CHECK(demo::mentions(demo::refusal([] { (void)shots_per_stroke(-1, 1); }), "left"));
    CHECK(demo::mentions(demo::refusal([] { (void)swept_by_travel(1, 0, 1); }), "resin_bore"));
}
