#include "evenfront/ratio.hpp"

#include <limits>

#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;

TEST_CASE("amine equivalent and parts per hundred of resin", "[ratio][reference]") {
    // Public note on hardener stoichiometry: diethylenetriamine, molar mass 103, 5 active
    // hydrogens, equivalent 20.6; on resin of 200 it is 10.3 phr. Evaluated: 190 and 20.63, 10.858.
    CHECK_THAT(equivalent_weight(103, 5), WithinRel(20.6, 1e-14));
    CHECK_THAT(100 * stoichiometric_ratio(20.6, 200), WithinRel(10.3, 1e-14));
    CHECK_THAT(100 * stoichiometric_ratio(20.63, 190), WithinAbs(10.858, 5e-4));
}

TEST_CASE("equivalent of a filled blend", "[ratio][reference]") {
    // Public coatings-chemistry note (2022): 80 parts of 189, 10 of 183, 10 of filler give 209, and
    // 20.6 phr of a hardener of 43; evaluated 209.238 and 20.5508.
    const Eigen::Vector3d mass(80, 10, 10);
    const Eigen::Vector3d equivalent(189, 183, std::numeric_limits<double>::infinity());
    const double blend = blend_equivalent(mass, equivalent);
    CHECK_THAT(blend, WithinAbs(209.238, 5e-4));
    CHECK_THAT(100 * stoichiometric_ratio(43, blend), WithinAbs(20.5508, 5e-5));
}

TEST_CASE("weight and volume ratio", "[ratio][reference]") {
    // Evaluated from the definition: 1.55 and 1.02 g/cm^3, volume 100:12 is weight 100:7.896774,
    // weight 100:10 is volume 100:15.196078.
    CHECK_THAT(100 * weight_ratio(0.12, 1550, 1020), WithinAbs(7.896774, 5e-7));
    CHECK_THAT(100 * volume_ratio(0.10, 1550, 1020), WithinAbs(15.196078, 5e-7));
    CHECK_THAT(volume_ratio(weight_ratio(0.07, 1700, 980), 1700, 980), WithinRel(0.07, 1e-15));
}

TEST_CASE("bores meter the square of their diameters", "[ratio][identity]") {
    CHECK_THAT(bore_ratio(0.05, 0.02), WithinRel(0.16, 1e-14));
    CHECK_THAT(hardener_bore(0.16, 0.05), WithinRel(0.02, 1e-14));
    // What is metered is what the bore was made for, whatever heat and pressure do to the liquids.
    const double bore = hardener_bore(0.12, 0.0635, 0.985, 1.003);
    CHECK_THAT(metered_ratio(0.0635, bore, 0.985, 1.003), WithinRel(0.12, 1e-14));
}

TEST_CASE("liquid per volume is the density over that of the data sheet", "[ratio][identity]") {
    const Liquid water{.density = 997.0476, .bulk_modulus = 2.2e9};
    // IAPWS-95 at 298.15 K: 1001.4670 kg/m^3 at 10 MPa abs, 997.0476 at 0.101325 MPa; the secant
    // modulus of the two is 2.238 GPa, so a constant 2.2 GPa is off by 8e-5.
    CHECK_THAT(liquid_per_volume(water, 10e6 - 101325, 298.15),
               WithinRel(1001.4670 / 997.0476, 1e-4));
    // Less the least free gas that is computed, 1e-6.
    CHECK_THAT(liquid_per_volume(water, 0.0, 298.15), WithinRel(1.0 - 1e-6, 1e-12));
}

TEST_CASE("a ratio refuses what cannot be", "[ratio][refusal]") {
    const auto refused = [](auto call) { return demo::refusal(call); };
    CHECK(demo::mentions(refused([] { (void)bore_ratio(0, 0.02); }), "resin_bore = 0 m"));
    CHECK(demo::mentions(refused([] { (void)volume_ratio(-0.1, 1, 1); }), "weight_ratio"));
    CHECK(demo::mentions(refused([] { (void)equivalent_weight(103, 0); }), "groups"));
    CHECK(demo::mentions(refused([] { (void)hardener_bore(0.1, std::nan("")); }), "resin_bore"));
    const Eigen::Vector2d two(1, 1);
    const Eigen::Vector3d three(1, 1, 1);
    CHECK_THROWS_AS(blend_equivalent(two, three), std::invalid_argument);
    const Eigen::Vector2d inert(std::numeric_limits<double>::infinity(),
                                std::numeric_limits<double>::infinity());
    CHECK_THROWS_AS(blend_equivalent(two, inert), std::domain_error);
}
