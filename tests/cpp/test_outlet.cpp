#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <limits>
#include <numbers>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

#include "evenfront/outlet.hpp"
#include "support.hpp"
#include "traces.hpp"

using namespace evenfront;
using Eigen::Index;
using Eigen::VectorXd;
using traces::last;
using traces::random_trace;
using traces::straight_trace;

namespace {

constexpr double pi = std::numbers::pi;

Mixer mixer_of(double held, bool full = true) {
    const double bore = 0.01;
    return {.bore = bore,
            .length = held / (0.25 * pi * bore * bore),
            .void_fraction = 1.0,
            .blend_viscosity = 9.0,
            .starts_full = full};
}

Tip tip_of(double held) {
    const double bore = 0.002;
    return {.bore = bore, .length = held / (0.25 * pi * bore * bore)};
}

// Cumulative hardener of an outlet sequence at a volume.
double hardener_at(const OutletSequence& outlet, double volume) {
    Index i = 0;
    while (i + 2 < outlet.volume.size() && outlet.volume[i + 1] < volume) {
        ++i;
    }
    const double part = (volume - outlet.volume[i]) / (outlet.volume[i + 1] - outlet.volume[i]);
    return outlet.hardener[i] + part * (outlet.hardener[i + 1] - outlet.hardener[i]);
}

}  // namespace

TEST_CASE("shots are told apart at the outlet, and liquid ages through dwells", "[outlet]") {
    // two shots of 2 mL in 1 s, 10 s apart, then a purge of 1 mL after 5 s; plug, 1.5 mL held
    const Trace straight = straight_trace(VectorXd{{0.0, 1.0, 11.0, 12.0, 17.0, 18.0}},
                                          VectorXd{{0.0, 1.6, 1.6, 3.2, 3.2, 4.0}},
                                          VectorXd{{0.0, 0.4, 0.4, 0.8, 0.8, 1.0}});
    Trace trace = straight;
    trace.shots = {{.step = 0, .open = 0, .close = 2, .shut = 3},
                   {.step = 2, .open = 5, .close = 6, .shut = 7}};
    const MixerInlet inlet = mixer_inlet(trace, {}, 0.25, 400);
    const ResidenceTime plug(Residence::plug, 0.0);
    const OutletSequence outlet = outlet_sequence(inlet, trace, mixer_of(1.5), plug);
    CHECK_THAT(last(outlet.volume), WithinAbs(5.0, 1e-12));
    CHECK_THAT(last(outlet.hardener), WithinAbs(1.0, 1e-12));
    const auto piece = [&](double volume) {
        Index i = 0;
        while (outlet.volume[i + 1] < volume) {
            ++i;
        }
        return i;
    };
    for (const auto& [volume, shot] :
         std::vector<std::pair<double, int>>{{0.5, 0}, {1.99, 0}, {2.01, 1}, {3.9, 1}, {4.1, -1}}) {
        CHECK(outlet.shot[piece(volume)] == shot);
    }
    // liquid that entered at v leaves when v + 1.5 has come: age straight through 0.75 s; with the
    // dwell 10.75 s; in the purge, half as fast, at volume v it is 17 + (v - 4) - 11 - (v - 3.5)/2
    for (const auto& [volume, age, rise] : std::vector<std::array<double, 3>>{
             {1.8, 0.75, 0.0}, {2.5, 10.75, 0.0}, {3.8, 0.75, 0.0}, {4.3, 3.75, 0.5}}) {
        CAPTURE(volume);
        const Index i = piece(volume);
        const double middle = 0.5 * (outlet.volume[i] + outlet.volume[i + 1]);
        CHECK_THAT(outlet.age[i], WithinAbs(age + rise * middle, 1e-9));
        CHECK(outlet.volume[i + 1] - outlet.volume[i] <= 0.02 * (1.0 + 1e-9));
    }
    // what was inside counts from the beginning
    CHECK_THAT(outlet.age[piece(0.7)], WithinAbs(outlet.time[piece(0.7)], 1e-12));
    // a mixer that spreads next to nothing ages the liquid as the plug does, away from its edges
    const OutletSequence spread = outlet_sequence(
        mixer_inlet(trace, {}, 0.25, 64), trace, mixer_of(1.5), {Residence::dispersion, 1e5});
    Index i = 0;
    while (spread.volume[i + 1] < 2.7) {
        ++i;
    }
    CHECK_THAT(spread.age[i], WithinAbs(10.75, 0.01));
}

TEST_CASE("nothing leaves an empty mixer until it is full", "[outlet]") {
    const Trace trace =
        straight_trace(VectorXd{{0.0, 10.0}}, VectorXd{{0.0, 8.0}}, VectorXd{{0.0, 2.0}});
    const MixerInlet inlet = mixer_inlet(trace, {}, 0.1, 400);
    Mixer mixer = mixer_of(3.0, false);
    mixer.tip = tip_of(0.5);
    for (const ResidenceTime& residence : {ResidenceTime(Residence::plug, 0.0),
                                           ResidenceTime(Residence::dispersion, 100.0),
                                           ResidenceTime(Residence::tanks, 10.0)}) {
        const OutletSequence outlet = outlet_sequence(inlet, trace, mixer, residence);
        CHECK_THAT(last(outlet.volume), WithinAbs(6.5, 1e-9));
        // only new liquid leaves, at the ratio it came with and not at that inside before
        CHECK_THAT(last(outlet.hardener), WithinAbs(0.2 * 6.5, 1e-9));
        CHECK(outlet.time[0] > 3.5);
        CHECK(outlet.age.minCoeff() > 0.0);
    }
    const OutletSequence plug =
        outlet_sequence(inlet, trace, mixer_of(3.0, false), {Residence::plug, 0.0});
    CHECK_THAT(plug.age[plug.age.size() / 2], WithinAbs(3.0, 1e-9));
    const OutletSequence none =
        outlet_sequence(inlet, trace, mixer_of(11.0, false), {Residence::plug, 0.0});
    CHECK(none.volume.size() == 1);
    CHECK(none.shot.size() == 0);
}

TEST_CASE("hardener is conserved from the shut-offs to the outlet", "[outlet][conservation]") {
    // followed by as much liquid on ratio as it takes, all that came off ratio has left: what the
    // mixer holds then is known
    std::mt19937 random(577);
    for (const bool full : {true, false}) {
        for (const double tip : {0.0, 0.4}) {
            const double held = 2.0;
            Trace trace = random_trace(random, 40);
            const Index rows = trace.time.size();
            const double ratio = 0.25;
            const double follow = 400.0 * held;
            for (auto* values : {&trace.time,
                                 &trace.resin.volume,
                                 &trace.hardener.volume,
                                 &trace.resin.flow,
                                 &trace.hardener.flow}) {
                values->conservativeResize(rows + 2);
            }
            const double rise = 6.0;  // first so far forward that every slug has returned
            for (const auto& [row, resin] : {std::pair{rows, rise}, {rows + 1, rise + follow}}) {
                trace.time[row] = trace.time[row - 1] + 1.0;
                trace.resin.volume[row] = trace.resin.volume[rows - 1] + resin;
                trace.hardener.volume[row] = trace.hardener.volume[rows - 1] + ratio * resin;
                trace.resin.flow[row] = trace.hardener.flow[row] = 0.0;
            }
            const MixerInlet inlet = mixer_inlet(trace, {}, ratio);
            Mixer mixer = mixer_of(held, full);
            if (tip > 0.0) {
                mixer.tip = tip_of(tip);
            }
            const OutletSequence outlet =
                outlet_sequence(inlet, trace, mixer, {Residence::dispersion, 60.0});
            CAPTURE(full, tip, inlet.left[0], inlet.left[1]);
            const double kept = full ? 0.0 : held + tip;
            const double total = last(inlet.composition.volume);
            CHECK_THAT(last(outlet.volume), WithinAbs(total - kept, 1e-12 * total));
            // the laminar tip lets go of its last drops as 1/(4 theta): 1e-4 of the tip is left
            const double tail = tip > 0.0 ? 2e-3 * tip : 1e-12 * total;
            CHECK_THAT(last(outlet.hardener) + 0.2 * kept,
                       WithinAbs(last(inlet.composition.hardener), tail));
        }
    }
}

TEST_CASE("a periodic run begins as it ends", "[outlet]") {
    // rounds of 2 mL, rich then lean; after as many rounds before, the first shot's outlet is that
    // of the last
    VectorXd time(10);
    VectorXd resin(10);
    VectorXd hardener(10);
    time << 0, 0.5, 1, 5, 5.5, 6, 10, 10.5, 11, 15;
    resin << 0, 0.7, 1.6, 1.6, 2.3, 3.2, 3.2, 3.9, 4.8, 4.8;
    hardener << 0, 0.3, 0.4, 0.4, 0.7, 0.8, 0.8, 1.1, 1.2, 1.2;
    const Trace trace = straight_trace(time, resin, hardener);
    const MixerInlet alone = mixer_inlet(trace, {}, 0.25);
    const MixerInlet settled = after_like_rounds(alone, 12.0);
    CHECK(settled.composition.volume[0] <= -12.0);
    CHECK_THAT(last(settled.composition.hardener), WithinAbs(1.2, 1e-13));
    const ResidenceTime spread(Residence::dispersion, 50.0);
    const OutletSequence outlet = outlet_sequence(settled, trace, mixer_of(1.5), spread);
    // per round of 2 mL as much hardener leaves, 4e-4: cells of both ends differ
    const double first = hardener_at(outlet, 2.0);
    const double third = hardener_at(outlet, 6.0) - hardener_at(outlet, 4.0);
    CHECK_THAT(first, WithinAbs(third, 4e-4));
    const double early = hardener_at(outlet, 0.8);
    CHECK_THAT(early, WithinAbs(hardener_at(outlet, 4.8) - hardener_at(outlet, 4.0), 1e-3));
    // and it is as old: what leaves first stood through the dwell before the run
    const OutletSequence plug =
        outlet_sequence(settled, trace, mixer_of(1.5), {Residence::plug, 0.0});
    const auto age_at = [&](double volume) {
        Index i = 0;
        while (plug.volume[i + 1] < volume) {
            ++i;
        }
        return plug.age[i];
    };
    for (const double volume : {0.33, 0.8, 1.4, 1.7}) {
        CAPTURE(volume);
        CHECK_THAT(age_at(volume), WithinAbs(age_at(4.0 + volume), 0.07));  // pieces of 1/16 s
    }
    CHECK(age_at(0.33) > 4.0);
    // without them the first round is that of liquid on ratio
    const OutletSequence fresh = outlet_sequence(alone, trace, mixer_of(1.5), spread);
    CHECK(std::abs(hardener_at(fresh, 0.8) - early) > 5e-3);
}

namespace {

// Particles of one small volume, each of one stream alone: what goes forward is put on the mixer's
// pile, what goes back is taken from its top, and every passage is a pile of its own.
struct Particle {
    bool hardener;
    double met;  // time at which it met the mixing point
};

class ParticleTracker {
public:
    ParticleTracker(double grain, std::array<double, 2> empty) : grain_(grain), empty_(empty) {}

    void move(double time, std::array<double, 2> step) {
        for (const std::size_t s : {std::size_t{0}, std::size_t{1}}) {
            if (empty_[s] > 0.0) {
                const double used = std::min(step[s], empty_[s]);
                empty_[s] -= used;
                step[s] -= used;
            }
            waiting_[s] += step[s];
        }
        bool moved = true;
        while (moved) {
            moved = false;
            for (const std::size_t s : {std::size_t{0}, std::size_t{1}}) {
                if (waiting_[s] >= grain_) {
                    waiting_[s] -= grain_;
                    Particle next{s == 1, time};
                    if (!slug_[s].empty()) {
                        next = slug_[s].back();
                        slug_[s].pop_back();
                    }
                    mixer.push_back(next);
                    moved = true;
                } else if (waiting_[s] <= -grain_ && !mixer.empty()) {
                    waiting_[s] += grain_;
                    slug_[s].push_back(mixer.back());
                    mixer.pop_back();
                    moved = true;
                }
            }
        }
    }
    std::vector<Particle> mixer;  // in the order of entering

private:
    double grain_;
    std::array<double, 2> empty_, waiting_{};
    std::array<std::vector<Particle>, 2> slug_;
};

// A train of shots: the hardener surges, then pushes the resin back for a while, then both settle.
struct Train {
    VectorXd time, resin, hardener;
};
Train train_of_shots(int shots) {
    Train train{VectorXd(5 * shots), VectorXd(5 * shots), VectorXd(5 * shots)};
    const VectorXd time{{0.0, 0.1, 0.3, 2.0, 2.2}};
    const VectorXd resin{{0.0, 0.3, 0.1, 8.1, 8.0}};  // back for 0.2 s, and at the end
    const VectorXd hardener{{0.0, 0.4, 0.6, 1.3, 1.31}};
    for (int k = 0; k < shots; ++k) {
        train.time.segment(5 * k, 5) = time.array() + 12.0 * k;
        train.resin.segment(5 * k, 5) = resin.array() + 8.0 * k;
        train.hardener.segment(5 * k, 5) = hardener.array() + 1.31 * k;
    }
    return train;
}

using Law = std::function<double(std::mt19937&)>;

// First passage of a particle that drifts and diffuses: the inverse Gaussian, drawn by the method
// of Michael, Schucany and Haas (from memory).
Law drifting(double peclet) {
    return [=](std::mt19937& random) {
        const double shape = 0.5 * peclet;
        const double normal = std::normal_distribution<double>()(random);
        const double y = normal * normal;
        const double x = 1.0 + 0.5 * y / shape - 0.5 / shape * std::sqrt(4.0 * shape * y + y * y);
        return std::uniform_real_distribution<double>(0.0, 1.0)(random) <= 1.0 / (1.0 + x)
                   ? x
                   : 1.0 / x;
    };
}

// A place in the section of a tube, taken as often as liquid flows there: u/U = 2 (1 - (r/R)^2).
Law parabolic() {
    return [](std::mt19937& random) {
        std::uniform_real_distribution<double> uniform(0.0, 1.0);
        while (true) {
            const double section = uniform(random);  // (r/R)^2
            if (uniform(random) < 1.0 - section) {
                return 0.5 / (1.0 - section);
            }
        }
    };
}

}  // namespace

TEST_CASE("the outlet of a train of shots is that of particles followed one by one",
          "[outlet][reference]") {
    // brute force: 4e5 particles, seeded; each leaves its own residence time after it entered
    std::mt19937 random(20251125);
    const double held = 3.0;
    const double grain = 9.31 * 4.0 / 4e5;
    const Train train = train_of_shots(4);
    const Passages passages{.volume = {0.3, 0.05}, .full = {false, true}};
    Trace trace = straight_trace(train.time, train.resin, train.hardener);
    const MixerInlet inlet = mixer_inlet(trace, passages, 0.14, 64);
    ParticleTracker tracker(grain, {passages.volume[0], 0.0});
    for (Index i = 0; i + 1 < train.time.size(); ++i) {
        constexpr int pieces = 2000;
        for (int k = 0; k < pieces; ++k) {
            const double part = (k + 0.5) / pieces;
            tracker.move(train.time[i] + part * (train.time[i + 1] - train.time[i]),
                         {(train.resin[i + 1] - train.resin[i]) / pieces,
                          (train.hardener[i + 1] - train.hardener[i]) / pieces});
        }
    }
    const auto count = static_cast<double>(tracker.mixer.size());
    REQUIRE_THAT(count * grain, WithinAbs(last(inlet.composition.volume), 3.0 * grain));

    struct Way {
        std::string name;
        ResidenceTime residence;
        Law law;
        double tip;
    };
    const Law at_once = [](std::mt19937&) { return 1.0; };
    const Law tanks = [](std::mt19937& r) {
        return std::gamma_distribution<double>(6.0, 1.0 / 6.0)(r);
    };
    const std::vector<Way> ways{{"plug", {Residence::plug, 0.0}, at_once, 0.0},
                                {"dispersion", {Residence::dispersion, 60.0}, drifting(60.0), 0.0},
                                {"tanks", {Residence::tanks, 6.0}, tanks, 0.0},
                                {"tip", {Residence::dispersion, 60.0}, drifting(60.0), 0.8}};
    for (const Way& way : ways) {
        for (const bool full : {true, false}) {
            Mixer mixer = mixer_of(held, full);
            if (way.tip > 0.0) {
                mixer.tip = tip_of(way.tip);
            }
            const OutletSequence outlet = outlet_sequence(inlet, trace, mixer, way.residence);
            // where each particle leaves, on the axis of liquid out; ahead of it what was inside
            struct Leaving {
                double at;
                Particle particle;
            };
            std::vector<Leaving> leaving;
            const Law parabola = parabolic();
            for (std::size_t i = 0; i < tracker.mixer.size(); ++i) {
                double at = (static_cast<double>(i) + 0.5) * grain + held * way.law(random);
                if (way.tip > 0.0) {
                    at += way.tip * parabola(random);
                }
                leaving.push_back({at, tracker.mixer[i]});
            }
            std::sort(leaving.begin(), leaving.end(), [](const Leaving& a, const Leaving& b) {
                return a.at < b.at;
            });
            CAPTURE(way.name, full);
            // hardener out up to a volume: particles, and for a full mixer what they displace
            const double inside = 0.14 / 1.14;
            double deviation = 0.0;
            double ages = 0.0;
            int compared = 0;
            double hardener = 0.0;
            double born = 0.0;
            std::size_t gone = 0;
            for (Index i = 1; i < outlet.volume.size(); ++i) {
                const double volume = outlet.volume[i];
                while (gone < leaving.size() &&
                       (full ? leaving[gone].at < volume
                             : static_cast<double>(gone) * grain < volume)) {
                    hardener += leaving[gone].particle.hardener ? grain : 0.0;
                    born += leaving[gone].particle.met * grain;
                    ++gone;
                }
                const double displaced =
                    full ? inside * (volume - static_cast<double>(gone) * grain) : 0.0;
                deviation =
                    std::max(deviation, std::abs(hardener + displaced - outlet.hardener[i]));
                ++compared;
            }
            // integral of age over what left, against that of the particles
            double age_integral = 0.0;
            double time_integral = 0.0;
            for (Index i = 0; i < outlet.age.size(); ++i) {
                const double width = outlet.volume[i + 1] - outlet.volume[i];
                age_integral += outlet.age[i] * width;
                time_integral += outlet.time[i] * width;
            }
            ages = age_integral - (time_integral - born);
            CHECK(compared > 100);
            // Five standard deviations: of the particles that straddle a place at most all of a
            // hold-up, each in or out (1/4), each with hardener or without (0.11 about its mean);
            // and a few grains, as particles are whole.
            const double straddle = std::sqrt(0.25 * (held + way.tip) / grain) * grain;
            const bool at_rest = way.residence.is_plug() && way.tip == 0.0;
            const double noise = (at_rest ? 0.0 : 5.0 * std::sqrt(0.11) * straddle) + 6.0 * grain;
            CHECK(deviation < noise);
            // over 40 s
            CHECK(std::abs(ages) < 40.0 * 3.0 * noise);
        }
    }
}

TEST_CASE("an index of the tip out of range is refused", "[outlet][errors]") {
    const Trace trace =
        straight_trace(VectorXd{{0.0, 1.0}}, VectorXd{{0.0, 1.0}}, VectorXd{{0.0, 0.2}});
    const MixerInlet inlet = mixer_inlet(trace, {}, 0.2);
    CHECK_THROWS_AS(outlet_sequence(inlet, trace, mixer_of(1.0), {Residence::plug, 0.0}, 0.0),
                    std::domain_error);
}
