#include <cmath>
#include <limits>
#include <random>
#include <stdexcept>

#include "evenfront/lead.hpp"
#include "evenfront/mixer_inlet.hpp"
#include "support.hpp"
#include "traces.hpp"

using namespace evenfront;
using Eigen::Index;
using Eigen::VectorXd;
using traces::last;
using traces::random_trace;
using traces::straight_trace;

namespace {

const double not_a_number = std::numeric_limits<double>::quiet_NaN();

// Piece of a composition that holds a volume: its hardener fraction.
double fraction_at(const Composition& composition, double volume) {
    Index i = 0;
    while (composition.volume[i + 1] < volume) {
        ++i;
    }
    return (composition.hardener[i + 1] - composition.hardener[i]) /
           (composition.volume[i + 1] - composition.volume[i]);
}

// Cumulative hardener of a composition at a volume between its edges.
double hardener_at(const Composition& composition, double volume) {
    Index i = 0;
    while (i + 2 < composition.volume.size() && composition.volume[i + 1] < volume) {
        ++i;
    }
    return composition.hardener[i] +
           fraction_at(composition, volume) * (volume - composition.volume[i]);
}

}  // namespace

TEST_CASE("hardener and liquid are conserved through crossover and empty passages",
          "[mixer_inlet][conservation]") {
    std::mt19937 random(31415);
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    int drawn_back = 0;
    for (int trial = 0; trial < 40; ++trial) {
        const Trace trace = random_trace(random, 60);
        const Passages passages{.volume = {2.0 * uniform(random), 0.5 * uniform(random)},
                                .full = {uniform(random) < 0.5, uniform(random) < 0.5}};
        const MixerInlet inlet = mixer_inlet(trace, passages, 0.2);
        CAPTURE(trial, inlet.slug[0], inlet.slug[1]);
        // What a stream has moved at the mixing point is its volume less what fills its passage;
        // own liquid beyond that came for each slug that stands in its place.
        const auto filled = [&](std::size_t s) {
            return passages.full[s] ? 0.0 : passages.volume[s] - inlet.unfilled[s];
        };
        const double net =
            last(trace.resin.volume) - filled(0) + last(trace.hardener.volume) - filled(1);
        const double own_hardener = last(trace.hardener.volume) - filled(1) + inlet.left[1];
        const double scale = 60.0;
        CHECK_THAT(last(inlet.composition.volume), WithinAbs(net, 1e-12 * scale));
        CHECK_THAT(
            last(inlet.composition.hardener) + inlet.left_hardener[0] + inlet.left_hardener[1],
            WithinAbs(own_hardener, 1e-12 * scale));
        const Index pieces = inlet.composition.volume.size() - 1;
        const VectorXd width =
            inlet.composition.volume.tail(pieces) - inlet.composition.volume.head(pieces);
        const VectorXd hardener =
            inlet.composition.hardener.tail(pieces) - inlet.composition.hardener.head(pieces);
        CHECK(width.minCoeff() > 0.0);
        // blends of what there is: no piece holds more than hardener, nor less than none
        CHECK((hardener.array() / width.array()).minCoeff() >= -1e-9);
        CHECK((hardener.array() / width.array()).maxCoeff() <= 1.0 + 1e-9);
        // cut anywhere, both parts add up: the second begins with the passages as they stand
        const Index cut = trace.time.size() / 2;
        const MixerInlet first = mixer_inlet(trace, passages, 0.2, 0, cut, 8);
        const MixerInlet second = mixer_inlet(trace, passages, 0.2, cut, trace.time.size() - 1, 8);
        CHECK_THAT(last(first.composition.volume) + last(second.composition.volume),
                   WithinAbs(net, 1e-12 * scale));
        // where it drew back what had entered before, its axis begins below 0, at what was there
        const double below = second.composition.volume[0];
        CHECK(below <= 0.0);
        const double there = last(first.composition.volume) + below;
        if (there > first.composition.volume[0]) {
            CHECK_THAT(
                second.composition.hardener[0],
                WithinAbs(hardener_at(first.composition, there) - last(first.composition.hardener),
                          1e-9 * scale));
        }
        drawn_back += below < 0.0 ? 1 : 0;
        CHECK_THAT(second.left_hardener[0] + second.left_hardener[1],
                   WithinAbs(inlet.left_hardener[0] + inlet.left_hardener[1], 1e-9 * scale));
    }
    CHECK(drawn_back > 5);
}

TEST_CASE("a slug pushed back returns first, as what stood at the mixing point", "[mixer_inlet]") {
    // hardener is pushed back by 0.3 while 1 of resin flows, then both give 1: the first 0.3 of the
    // hardener's line is resin; common practice, no source
    const Trace trace = straight_trace(
        VectorXd{{0.0, 1.0, 2.0}}, VectorXd{{0.0, 1.0, 2.0}}, VectorXd{{0.0, -0.3, 0.7}});
    const MixerInlet inlet = mixer_inlet(trace, {.volume = {0.0, 0.2}, .full = {true, true}}, 0.2);
    CHECK_THAT(fraction_at(inlet.composition, 0.35), WithinAbs(0.0, 1e-14));
    CHECK_THAT(fraction_at(inlet.composition, 0.7 + 0.3), WithinAbs(0.0, 1e-14));
    CHECK_THAT(fraction_at(inlet.composition, 0.7 + 0.9), WithinAbs(0.5, 1e-12));
    CHECK_THAT(last(inlet.composition.hardener), WithinAbs(0.7, 1e-14));
    CHECK_THAT(inlet.slug[1], WithinAbs(0.3, 1e-14));
    CHECK_THAT(inlet.beyond[1], WithinAbs(0.1, 1e-14));
    CHECK(inlet.slug[0] == 0.0);
    CHECK_THAT(inlet.left[1], WithinAbs(0.0, 1e-14));
    // the other way round resin takes hardener; and what is counted as hardener is its complement
    const Trace swapped = straight_trace(
        VectorXd{{0.0, 1.0, 2.0}}, VectorXd{{0.0, -0.3, 0.7}}, VectorXd{{0.0, 1.0, 2.0}});
    const MixerInlet other = mixer_inlet(swapped, {}, 0.2);
    CHECK_THAT(fraction_at(other.composition, 0.35), WithinAbs(1.0, 1e-14));
    CHECK_THAT(fraction_at(other.composition, 1.0), WithinAbs(1.0, 1e-14));
    CHECK_THAT(last(other.composition.hardener), WithinAbs(2.0, 1e-14));
    CHECK_THAT(other.beyond[0], WithinAbs(0.3, 1e-14));
}

TEST_CASE("what goes back from both comes out of the mixer's inlet, and returns", "[mixer_inlet]") {
    // 2 at 20 % hardener, then both are drawn back by half of it, 3:1 by volume, then forward again
    const Trace trace = straight_trace(VectorXd{{0.0, 1.0, 2.0, 3.0}},
                                       VectorXd{{0.0, 1.6, 0.85, 1.6}},
                                       VectorXd{{0.0, 0.4, 0.15, 0.4}});
    const MixerInlet inlet = mixer_inlet(trace, {}, 0.25);
    CHECK_THAT(last(inlet.composition.volume), WithinAbs(2.0, 1e-14));
    // the same blend everywhere, and all of it back in the mixer
    for (const double volume : {0.3, 0.95, 1.05, 1.5, 1.95}) {
        CHECK_THAT(fraction_at(inlet.composition, volume), WithinAbs(0.2, 1e-12));
    }
    CHECK_THAT(inlet.slug[0], WithinAbs(0.75, 1e-14));
    CHECK_THAT(inlet.slug[1], WithinAbs(0.25, 1e-14));
    // drawn back below where the run began: what was inside before comes out, at its own ratio
    const Trace deep =
        straight_trace(VectorXd{{0.0, 1.0}}, VectorXd{{0.0, -0.8}}, VectorXd{{0.0, -0.2}});
    const MixerInlet before = mixer_inlet(deep, {}, 1.0);
    CHECK_THAT(before.composition.volume[0], WithinAbs(-1.0, 1e-14));
    CHECK_THAT(before.composition.hardener[0], WithinAbs(-0.5, 1e-14));
    CHECK_THAT(before.left_hardener[0], WithinAbs(0.4, 1e-14));
    CHECK_THAT(before.left_hardener[1], WithinAbs(0.1, 1e-14));
}

TEST_CASE("a passage that starts empty holds its stream back until it is full", "[mixer_inlet]") {
    // resin 1 mL/s into 0.5 mL, hardener 0.2 mL/s into 0.3 mL: they arrive at 0.5 s and 1.5 s
    const Trace trace =
        straight_trace(VectorXd{{0.0, 4.0}}, VectorXd{{0.0, 4.0}}, VectorXd{{0.0, 0.8}});
    const MixerInlet inlet =
        mixer_inlet(trace, {.volume = {0.5, 0.3}, .full = {false, false}}, 0.2, 400);
    CHECK_THAT(inlet.arrival[0], WithinAbs(0.5, 0.011));  // a piece is 0.01 s
    CHECK_THAT(inlet.arrival[1], WithinAbs(1.5, 0.011));
    CHECK_THAT(last(inlet.composition.volume), WithinAbs(3.5 + 0.5, 1e-13));
    CHECK_THAT(last(inlet.composition.hardener), WithinAbs(0.5, 1e-13));
    CHECK_THAT(fraction_at(inlet.composition, 0.9), WithinAbs(0.0, 1e-14));
    CHECK_THAT(fraction_at(inlet.composition, 2.0), WithinAbs(1.0 / 6.0, 1e-12));
    CHECK(inlet.unfilled[0] == 0.0);
    // a passage larger than what comes: the stream never arrives
    const MixerInlet never =
        mixer_inlet(trace, {.volume = {0.5, 1.0}, .full = {false, false}}, 0.2);
    CHECK(std::isnan(never.arrival[1]));
    CHECK_THAT(never.unfilled[1], WithinAbs(0.2, 1e-14));
    CHECK_THAT(last(never.composition.hardener), WithinAbs(0.0, 1e-15));
}

TEST_CASE("a shot's own inlet is its stretch of the whole run", "[mixer_inlet][lead]") {
    std::mt19937 random(2718);
    for (int trial = 0; trial < 10; ++trial) {
        Trace trace = random_trace(random, 30);
        const Index rows = trace.time.size();
        const Passages passages{.volume = {0.4, 0.1}, .full = {false, trial % 2 == 0}};
        const Index open = 20;
        const MixerInlet whole = mixer_inlet(trace, passages, 0.2, 0, rows - 1, 16);
        const MixerInlet earlier = mixer_inlet(trace, passages, 0.2, 0, open, 16);
        const ShotSpan shot{.step = 0, .open = open, .close = rows - 1, .shut = rows - 1};
        const Composition own = inlet_composition(trace, shot, 0.2, 16, passages);
        if (!(last(own.volume) > 0.0) || own.volume[0] < 0.0) {
            continue;  // drawn back into what an earlier shot had put in
        }
        CAPTURE(trial);
        const double base = last(earlier.composition.volume);
        for (const double share : {0.1, 0.35, 0.6, 0.97}) {
            const double volume = share * last(own.volume);
            CHECK_THAT(fraction_at(own, volume),
                       WithinAbs(fraction_at(whole.composition, base + volume), 1e-6));
        }
    }
}

TEST_CASE("what cannot be followed is refused by name", "[mixer_inlet][errors]") {
    const Trace trace =
        straight_trace(VectorXd{{0.0, 1.0}}, VectorXd{{0.0, 1.0}}, VectorXd{{0.0, 0.2}});
    CHECK_THROWS_AS(mixer_inlet(trace, {}, 0.0), std::domain_error);
    CHECK_THROWS_AS(mixer_inlet(trace, {}, not_a_number), std::domain_error);
    CHECK_THROWS_AS(mixer_inlet(trace, {}, 0.2, 0), std::domain_error);
    CHECK_THROWS_AS(mixer_inlet(trace, {.volume = {-1.0, 0.0}, .full = {true, true}}, 0.2),
                    std::domain_error);
    CHECK_THROWS_AS(mixer_inlet(trace, {}, 0.2, 3, 2, 8), std::invalid_argument);
    CHECK_THROWS_AS(mixer_inlet(trace, {}, 0.2, 0, 4, 8), std::invalid_argument);
}
