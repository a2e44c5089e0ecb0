#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <limits>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "evenfront/transport.hpp"
#include "residences.hpp"
#include "support.hpp"

using namespace evenfront;
using Eigen::Index;
using Eigen::VectorXd;
using residences::family;
using residences::integrate;

namespace {

const double not_a_number = std::numeric_limits<double>::quiet_NaN();

double last_of(const Composition& composition) {
    return composition.volume[composition.volume.size() - 1];
}

double total(const Composition& composition) {
    return composition.hardener[composition.hardener.size() - 1] - composition.hardener[0];
}

// Random pieces of random fractions, some of them pushed back.
Composition random_composition(std::mt19937& random, int pieces) {
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    Composition result{.volume = VectorXd(pieces + 1),
                       .hardener = VectorXd(pieces + 1),
                       .before = 0.2 * uniform(random),
                       .after = 0.2 * uniform(random)};
    result.volume[0] = uniform(random);
    result.hardener[0] = 0.0;
    for (int i = 0; i < pieces; ++i) {
        const double width = 1e-3 + uniform(random);
        result.volume[i + 1] = result.volume[i] + width;
        result.hardener[i + 1] = result.hardener[i] + width * (1.4 * uniform(random) - 0.2);
    }
    return result;
}

// Pieces between given edges of liquid whose cumulative hardener is a known function.
Composition sampled(const VectorXd& edges,
                    const std::function<double(double)>& cumulative,
                    double outside) {
    return {.volume = edges,
            .hardener = edges.unaryExpr(cumulative),
            .before = outside,
            .after = outside};
}

Target target_of(double ratio, double tolerance) {
    return {.ratio = ratio, .tolerance_high = tolerance, .tolerance_low = tolerance};
}

}  // namespace

TEST_CASE("a plug carries a step to the outlet unchanged, one mixer volume later", "[transport]") {
    // common practice, no source
    const Composition inlet{.volume = VectorXd{{0.0, 2.0, 5.0}},
                            .hardener = VectorXd{{0.0, 1.0, 1.3}},
                            .before = 0.1,
                            .after = 0.1};
    const double held = 7.0;
    const Composition outlet = through_mixer(inlet, {Residence::plug, 0.0}, held);
    const VectorXd edges{{0.0, 7.0, 9.0, 12.0, 19.0}};
    CHECK((outlet.volume - edges).cwiseAbs().maxCoeff() < 1e-14);
    const VectorXd error = ratio_error(outlet, 1.0 / 9.0);
    CHECK_THAT(error[0], WithinAbs(0.0, 1e-14));
    CHECK_THAT(error[1], WithinAbs(1.0, 0.0));
    CHECK_THAT(error[2], WithinAbs(0.0, 1e-14));
    CHECK_THAT(error[3], WithinAbs(0.0, 1e-14));
    const OffRatio entering = off_ratio(inlet, target_of(1.0 / 9.0, 0.05), 0.0);
    const OffRatio leaving = off_ratio(outlet, target_of(1.0 / 9.0, 0.05), 0.0);
    CHECK_THAT(leaving.soft_volume, WithinRel(entering.soft_volume, 1e-14));
    CHECK_THAT(leaving.surplus, WithinRel(entering.surplus, 1e-14));
    CHECK_THAT(leaving.end, WithinRel(entering.end + held, 1e-14));
    const Composition halfway = through_mixer(inlet, {Residence::plug, 0.0}, held, 0.5);
    CHECK_THAT(halfway.volume[1], WithinRel(3.5, 1e-14));
}

TEST_CASE("hardener is conserved to round-off on its way through every mixer",
          "[transport][conservation]") {
    std::mt19937 random(20240501);
    for (int trial = 0; trial < 20; ++trial) {
        Composition inlet = random_composition(random, 40);
        const double held = std::uniform_real_distribution<double>(0.5, 20.0)(random);
        for (const ResidenceTime& residence : family()) {
            CAPTURE(trial, held, residence.variance());
            // follow the liquid until everything has left: at the end the mixer holds `after` alone
            Composition followed = inlet;
            const Index last = inlet.volume.size() - 1;
            const double tail = 60.0 * held * std::max(0.1, residence.variance());
            followed.volume.conservativeResize(last + 2);
            followed.hardener.conservativeResize(last + 2);
            followed.volume[last + 1] = inlet.volume[last] + tail;
            followed.hardener[last + 1] = inlet.hardener[last] + tail * inlet.after;
            const Composition outlet = through_mixer(followed, residence, held, 1.0, 400);
            const double range = outlet.volume[outlet.volume.size() - 1] - outlet.volume[0];
            const double entered =
                total(followed) +
                inlet.after * (range - (followed.volume[last + 1] - followed.volume[0]));
            const double was_inside = inlet.before * held;
            const double is_inside = inlet.after * held;
            CHECK_THAT(total(outlet) + is_inside - entered - was_inside,
                       WithinAbs(0.0, 1e-12 * range));
            CHECK((outlet.volume.tail(outlet.volume.size() - 1) -
                   outlet.volume.head(outlet.volume.size() - 1))
                      .minCoeff() > 0.0);
        }
    }
}

TEST_CASE("a change of composition without pieces leaves as the step response", "[transport]") {
    const Composition inlet{
        .volume = VectorXd{{3.0}}, .hardener = VectorXd{{0.0}}, .before = 0.1, .after = 0.3};
    const double held = 5.0;
    for (const ResidenceTime& residence : family()) {
        const Composition outlet = through_mixer(inlet, residence, held, 1.0, 50);
        for (Index i = 0; i < outlet.volume.size(); ++i) {
            const double out = outlet.volume[i] - 3.0;
            const double expected = 0.1 * out + 0.2 * held * residence.integral(out / held);
            CHECK_THAT(outlet.hardener[i] - outlet.hardener[0], WithinAbs(expected, 1e-13));
        }
    }
}

TEST_CASE("the outlet converges at order two with the number of cells", "[transport][order]") {
    // smooth lead at the inlet, phi = before + rise sin^2(pi V/V_s); outlet against quadrature of
    // phi with F, which uses neither G nor the pieces
    const double shot = 3.0;
    const double held = 2.0;
    const double before = 0.1;
    const double rise = 0.2;
    const double pi = std::numbers::pi;
    const auto deviation = [&](double v) { return rise * std::pow(std::sin(pi * v / shot), 2); };
    const auto cumulative = [&](double v) {
        return before * v + rise * (0.5 * v - shot / (4.0 * pi) * std::sin(2.0 * pi * v / shot));
    };
    const Composition inlet = sampled(VectorXd::LinSpaced(20001, 0.0, shot), cumulative, before);
    for (const ResidenceTime& residence :
         {ResidenceTime(Residence::dispersion, 100.0), ResidenceTime(Residence::tanks, 8.0)}) {
        std::vector<double> worst;
        for (const int cells : {70, 140, 280, 560}) {
            const Composition outlet = through_mixer(inlet, residence, held, 1.0, cells);
            double error = 0.0;
            for (int i = 0; i <= 70; ++i) {
                const double v = outlet.volume[i * (cells / 70)];
                const auto left = [&](double u) {
                    return deviation(u) * residence.cumulative((v - u) / held);
                };
                const double expected = before * v + integrate(left, 0.0, std::min(v, shot));
                error = std::max(error, std::abs(outlet.hardener[i * (cells / 70)] - expected));
            }
            worst.push_back(error);
        }
        for (std::size_t i = 0; i + 1 < worst.size(); ++i) {
            CAPTURE(i, worst[i], worst[i + 1]);
            CHECK_THAT(std::log2(worst[i] / worst[i + 1]), WithinAbs(2.0, 0.2));
        }
        CHECK(worst.back() < 1e-5 * shot);
    }
}

TEST_CASE("the profile along the mixer is what passes each place", "[transport]") {
    std::mt19937 random(11);
    Composition inlet = random_composition(random, 9);
    const double held = 4.0;
    const VectorXd places{{0.03, 0.2, 0.5, 0.77, 1.0}};
    const std::array<double, 4> instants{1.3, 3.1, 6.4, 30.0};
    for (const ResidenceTime& residence : family()) {
        CAPTURE(residence.variance());
        for (Index k = 0; k < places.size(); ++k) {
            // the piece that leaves a mixer of that length just then
            const Composition passed = through_mixer(inlet, residence, held, places[k], 4000);
            for (const double entered : instants) {
                if (entered >= last_of(passed)) {
                    continue;
                }
                const double profile = profile_along(inlet, residence, held, entered, places)[k];
                double expected = inlet.after;
                for (Index i = 0; i + 1 < passed.volume.size(); ++i) {
                    if (passed.volume[i] <= entered && entered < passed.volume[i + 1]) {
                        expected = (passed.hardener[i + 1] - passed.hardener[i]) /
                                   (passed.volume[i + 1] - passed.volume[i]);
                    }
                }
                // a cell of the pieces beside an edge: order 1 there
                const double slack = residence.is_plug() ? 1e-9 : 2e-2;
                CHECK_THAT(profile, WithinAbs(expected, slack));
            }
        }
    }
    CHECK_THROWS_AS(profile_along(inlet, family()[0], held, 1.0, VectorXd{{0.0}}),
                    std::domain_error);
    CHECK_THROWS_AS(profile_along(inlet, family()[0], 0.0, 1.0, places), std::domain_error);
}

TEST_CASE("two lengths in series are the whole mixer", "[transport]") {
    std::mt19937 random(7);
    Composition inlet = random_composition(random, 12);
    const double held = 6.0;
    // followed until all has left, so that the first length cuts nothing off
    inlet.volume.conservativeResize(14);
    inlet.hardener.conservativeResize(14);
    inlet.volume[13] = inlet.volume[12] + 40.0 * held;
    inlet.hardener[13] = inlet.hardener[12] + 40.0 * held * inlet.after;
    const double z = 0.35;
    for (const ResidenceTime& residence : family()) {
        CAPTURE(residence.variance());
        const Composition halfway = through_mixer(inlet, residence, held, z, 4000);
        const Composition twice =
            through_mixer(halfway, residence.at_fraction(1.0 - z), (1.0 - z) * held, 1.0, 4000);
        const Composition once = through_mixer(inlet, residence, held, 1.0, 4000);
        const auto at = [](const Composition& c, double v) {
            Index i = 0;
            while (i + 2 < c.volume.size() && c.volume[i + 1] < v) {
                ++i;
            }
            const double share = (v - c.volume[i]) / (c.volume[i + 1] - c.volume[i]);
            return c.hardener[i] - c.hardener[0] + share * (c.hardener[i + 1] - c.hardener[i]);
        };
        const double first = inlet.volume[0];
        const double range = once.volume[once.volume.size() - 1] - first;
        for (double share = 0.002; share < 0.3; share += 0.0137) {
            const double v = first + share * range;
            CHECK_THAT(at(twice, v), WithinAbs(at(once, v), 2e-5 * range));  // order 2: 1/4000^2
        }
    }
}

TEST_CASE("the ratio error is capped and takes pure streams", "[transport]") {
    const Composition composition{.volume = VectorXd{{0, 1, 2, 3, 4, 5}},
                                  .hardener = VectorXd{{0, 0.2, 1.2, 1.2, 1.1, 2.3}},
                                  .before = 0.1,
                                  .after = 0.1};
    const VectorXd error = ratio_error(composition, 0.2);
    CHECK_THAT(error[0], WithinRel(0.25, 1e-14));  // 0.2/0.8 against 0.2
    CHECK(error[1] == 1.0);                        // hardener alone
    CHECK(error[2] == -1.0);                       // resin alone
    CHECK(error[3] == -1.0);                       // hardener pushed back
    CHECK(error[4] == 1.0);                        // resin pushed back
}

TEST_CASE("off-ratio volume, S and surplus of a fading lead have their closed forms",
          "[transport][order]") {
    // e = e1 exp(-V/V1) from V = 0 on, tol crossed at V* = V1 ln(e1/tol); with A = 1 + r0, B = r0
    // e1 the resin passed by V is rho(V) = V1/A [ln(A exp(V/V1) + B) - ln(A + B)], and
    //   volume = V*, S = V1/2 ln((e1^2 + tol^2)/(e_end^2 + tol^2)),
    //   surplus = integral of (r - k)/(1 + r) = V* - (1 + k) rho(V*), k = r0 (1 + tol)
    const double ratio = 0.14;
    const double tolerance = 0.05;
    const double e1 = 0.6;
    const double v1 = 1.3;
    const double end = 5.0;
    const double a = 1.0 + ratio;
    const double b = ratio * e1;
    const double k = ratio * (1.0 + tolerance);
    const auto resin = [&](double v) {
        return v1 / a * (std::log(a * std::exp(v / v1) + b) - std::log(a + b));
    };
    const auto hardener = [&](double v) { return v - resin(v); };
    const double volume = v1 * std::log(e1 / tolerance);
    const double e_end = e1 * std::exp(-end / v1);
    const double soft =
        0.5 * v1 *
        std::log((e1 * e1 + tolerance * tolerance) / (e_end * e_end + tolerance * tolerance));
    const double surplus = volume - (1.0 + k) * resin(volume);
    const double kink = ratio * tolerance / v1 / (1.0 + k);  // slope of (r - k)/(1 + r) at V*
    // even edges, and edges that widen as time steps do
    for (const double grading : {1e-6, 2.5}) {
        std::vector<double> soft_error;
        for (const int pieces : {75, 150, 300, 600}) {
            const auto graded = [&](double x) {
                return end * std::expm1(grading * x) / std::expm1(grading);
            };
            const VectorXd edges = VectorXd::LinSpaced(pieces + 1, 0.0, 1.0).unaryExpr(graded);
            const OffRatio measured =
                off_ratio(sampled(edges, hardener, ratio / a), target_of(ratio, tolerance), 0.0);
            CAPTURE(grading, pieces);
            CHECK(measured.start == 0.0);
            CHECK_THAT(measured.end, WithinAbs(measured.volume, 1e-14));
            CHECK(measured.missing == 0.0);
            CHECK_THAT(measured.lowest_error, WithinRel(e_end, 0.1));
            soft_error.push_back(std::abs(measured.soft_volume - soft));
            // at the crossing: line between middles h^2/8, averaging h^2/24, times e''/e' = 1/V1
            // surplus: only the piece across V* is averaged before the zero is cut: at most h^2
            // slope/8
            const double widest = edges[pieces] - edges[pieces - 1];
            CHECK_THAT(measured.volume, WithinAbs(volume, widest * widest / (6.0 * v1)));
            CHECK_THAT(measured.surplus, WithinAbs(surplus, widest * widest * kink / 8.0));
        }
        CAPTURE(grading, soft_error);
        for (std::size_t i = 0; i + 1 < soft_error.size(); ++i) {
            CHECK_THAT(std::log2(soft_error[i] / soft_error[i + 1]), WithinAbs(2.0, 0.2));
        }
    }
}

TEST_CASE("the resolve window averages a spike with its neighbours", "[transport]") {
    // pure spike of width w in on-ratio liquid; a moving piece of width R > w holds a share of it
    // that climbs over w, stays over R - w, and falls over w
    const double ratio = 0.25;
    const double on_ratio = 0.2;
    const double w = 0.01;
    const Composition rich{.volume = VectorXd{{0.0, 1.0, 1.0 + w, 2.0}},
                           .hardener = VectorXd{{0.0, 0.2, 0.2 + w, 0.4 + 0.8 * w}},
                           .before = on_ratio,
                           .after = on_ratio};
    const Target target{.ratio = ratio, .tolerance_high = 0.08, .tolerance_low = 0.04};
    const double k = ratio * 1.08;
    const double level = on_ratio - k * (1.0 - on_ratio);  // beyond tolerance, per volume: negative
    for (const double window : {0.03, 0.1}) {
        const double top = (w + level * (window - w)) / window;  // spike fully inside
        const double climb = 0.5 * top * top / (top - level) * w;
        const double expected = 2.0 * climb + top * (window - w);
        const OffRatio measured = off_ratio(rich, target, window);
        CHECK_THAT(measured.surplus, WithinRel(expected, 1e-12));
        CHECK(measured.missing == 0.0);
    }
    // spread over a whole litre in a hundred the spike is within tolerance
    CHECK(off_ratio(rich, target, 0.9).surplus == 0.0);
    // a window of no width, and one far smaller than the pieces, see the pieces
    const double pieces = off_ratio(rich, target, 0.0).surplus;
    CHECK_THAT(pieces, WithinRel(w, 1e-12));
    CHECK_THAT(off_ratio(rich, target, 1e-9).surplus, WithinRel(pieces, 1e-6));
    // two-sided: a lean stretch counts against the lower tolerance
    const Composition lean{.volume = VectorXd{{0.0, 1.0}},
                           .hardener = VectorXd{{0.0, 0.19}},
                           .before = 0.19,
                           .after = 0.19};
    const OffRatio measured = off_ratio(lean, target, 0.1);
    CHECK_THAT(measured.missing, WithinRel(0.24 * 0.81 - 0.19, 1e-10));
    CHECK_THAT(measured.lowest_error, WithinRel(0.19 / 0.81 / 0.25 - 1.0, 1e-12));
    CHECK(measured.surplus == 0.0);
    CHECK_THAT(measured.volume, WithinRel(1.0, 1e-14));
    const double e = measured.lowest_error;
    CHECK_THAT(measured.soft_volume, WithinRel(e * e / (e * e + 0.04 * 0.04), 1e-12));
}

TEST_CASE("zones are counted, rich and lean apart", "[transport]") {
    // on, rich, rich, lean, on, lean, on, rich
    const Composition composition{.volume = VectorXd{{0, 1, 2, 3, 4, 5, 6, 7, 8}},
                                  .hardener = VectorXd{{0, 0.2, 0.5, 0.9, 1.0, 1.2, 1.3, 1.5, 1.9}},
                                  .before = 0.2,
                                  .after = 0.2};
    CHECK(off_ratio(composition, target_of(0.25, 0.05), 0.0).zones == 4);
    CHECK(off_ratio(composition, target_of(0.25, 1.5), 0.0).zones == 0);
}

TEST_CASE("measures scale with the unit of volume", "[transport][symmetry]") {
    std::mt19937 random(99);
    for (int trial = 0; trial < 10; ++trial) {
        const double factor = std::pow(10.0, std::uniform_real_distribution<double>(-9, 3)(random));
        const Composition inlet = random_composition(random, 30);
        const Composition scaled{.volume = factor * inlet.volume,
                                 .hardener = factor * inlet.hardener,
                                 .before = inlet.before,
                                 .after = inlet.after};
        CAPTURE(trial, factor);
        for (const ResidenceTime& residence : family()) {
            const Target target = target_of(0.3, 0.07);
            const OffRatio one = off_ratio(through_mixer(inlet, residence, 4.0), target, 0.2);
            const OffRatio other =
                off_ratio(through_mixer(scaled, residence, 4.0 * factor), target, 0.2 * factor);
            CHECK_THAT(other.volume, WithinRel(one.volume * factor, 1e-9));
            CHECK_THAT(other.start, WithinRel(one.start * factor, 1e-9));
            CHECK_THAT(other.end, WithinRel(one.end * factor, 1e-9));
            CHECK_THAT(other.soft_volume, WithinRel(one.soft_volume * factor, 1e-9));
            CHECK_THAT(other.surplus, WithinRel(one.surplus * factor, 1e-9));
            CHECK_THAT(other.missing, WithinRel(one.missing * factor, 1e-9));
            CHECK_THAT(other.highest_error, WithinRel(one.highest_error, 1e-9));
        }
    }
}

TEST_CASE("liquid on ratio has nothing off ratio, nor has a composition without pieces",
          "[transport]") {
    const Composition on{.volume = VectorXd{{0.0, 1.0, 4.0}},
                         .hardener = VectorXd{{0.0, 0.2, 0.8}},
                         .before = 0.2,
                         .after = 0.2};
    const Composition nothing{
        .volume = VectorXd{{0.0}}, .hardener = VectorXd{{0.0}}, .before = 0.5, .after = 0.5};
    for (const Composition& composition : {on, nothing}) {
        const OffRatio measured = off_ratio(composition, target_of(0.25, 0.02), 0.1);
        CHECK(measured.volume == 0.0);
        CHECK(std::isnan(measured.start));
        CHECK(std::isnan(measured.end));
        CHECK_THAT(measured.soft_volume, WithinAbs(0.0, 1e-25));
        CHECK(measured.surplus == 0.0);
        CHECK(measured.missing == 0.0);
    }
}

TEST_CASE("values out of range are refused by name", "[transport][errors]") {
    const ResidenceTime plug(Residence::plug, 0.0);
    const Composition inlet{.volume = VectorXd{{0.0, 1.0}},
                            .hardener = VectorXd{{0.0, 0.2}},
                            .before = 0.2,
                            .after = 0.2};
    CHECK_THROWS_AS(through_mixer(inlet, plug, 0.0), std::domain_error);
    CHECK_THROWS_AS(through_mixer(inlet, plug, 1.0, not_a_number), std::domain_error);
    CHECK_THROWS_AS(through_mixer(inlet, plug, 1.0, 1.0, 0), std::domain_error);
    CHECK_THROWS_AS(through_mixer({}, plug, 1.0), std::invalid_argument);
    CHECK_THROWS_AS(ratio_error(inlet, 0.0), std::domain_error);
    CHECK_THROWS_AS(off_ratio(inlet, target_of(0.2, 0.0), 0.0), std::domain_error);
    CHECK_THROWS_AS(off_ratio(inlet, target_of(0.2, 0.1), -1.0), std::domain_error);
    CHECK_THROWS_AS(off_ratio({}, target_of(0.2, 0.1), 0.0), std::invalid_argument);
}
