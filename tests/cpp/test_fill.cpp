#include "evenfront/fill.hpp"

#include <numbers>

#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::bar;
using std::numbers::pi;

TEST_CASE("feed flow and retract speed by hand", "[fill][reference]") {
    // Hagen-Poiseuille: 20 Pa s, 12 mm x 3 m, 10 mL/s: 1.1789255 MPa (evaluated). A tank at that
    // pressure less the 0.9 bar of suction feeds 10 mL/s.
    const ShearLaw law{.consistency = 20};
    const double tank = 1.1789255e6 - 0.9 * bar;
    CHECK_THAT(feed_flow(law, tank, 0.012, 3), WithinRel(10e-6, 1e-7));
    CHECK_THAT(feed_bore(law, 10e-6, 1.1789255e6, 3), WithinRel(0.012, 1e-7));
    CHECK_THAT(retract_speed(10e-6, 0.05), WithinRel(10e-6 / (pi / 4 * 0.0025), 1e-14));
    // A liquid that boils at 0.3 bar abs may be drawn on less.
    CHECK_THAT(feed_flow(law, tank, 0.012, 3, 0.3 * bar - 101325),
               WithinRel(10e-6 * (tank + 101325 - 0.3 * bar) / 1.1789255e6, 1e-6));
}

TEST_CASE("feed bore carries the flow asked", "[fill][identity]") {
    const ShearLaw law{.consistency = 60, .index = 0.6, .yield_stress = 30};
    const double bore = feed_bore(law, 40e-6, 5 * bar, 2.5);
    CHECK_THAT(PipeFlow(law, bore, 2.5)(5 * bar).q, WithinRel(40e-6, 1e-9));
}

TEST_CASE("containers last by their volume", "[fill][reference]") {
    // A drum of 55 US gal (208.198 L by the definition of the gallon) less 4 % at 10 mL/s: 5.552 h.
    CHECK_THAT(change_over_time(55 * 231 * 0.0254 * 0.0254 * 0.0254, 0.04, 10e-6),
               WithinRel(5.55194 * 3600, 1e-5));
}

TEST_CASE("filling refuses what cannot be", "[fill][refusal]") {
    const auto refused = [](auto call) { return demo::refusal(call); };
    const ShearLaw law{.consistency = 20};
    CHECK(demo::mentions(refused([&] { (void)feed_flow(law, -1e5, 0.01, 1); }), "tank_pressure"));
    CHECK(demo::mentions(refused([&] { (void)feed_flow(law, 0, 0.01, 1, -2e5); }), "lowest"));
    CHECK(demo::mentions(refused([&] { (void)feed_bore(law, 1e6, 1, 1); }), "flow"));
    CHECK(demo::mentions(refused([] { (void)change_over_time(1, 1, 1); }), "heel"));
    CHECK(demo::mentions(refused([] { (void)retract_speed(1, 0); }), "cylinder_bore"));
}
