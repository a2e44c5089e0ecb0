#include "evenfront/mixer_life.hpp"

#include "evenfront/transport.hpp"
#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::mL;

TEST_CASE("residence time is hold-up over flow", "[mixer_life][reference]") {
    // 13 x 250 mm, void 0.82: 27.21 mL by hand; 10 mL/s: 2.721 s.
    const double volume = hold_up(demo::long_boom().mixer);
    CHECK_THAT(residence_in_flow(volume, 10 * mL), WithinRel(2.7210, 1e-4));
}

TEST_CASE("age at exit against shots followed one by one", "[mixer_life][identity]") {
    // Liquid marked with its time of entry, plug flow: the oldest that leaves once running.
    demo::Random random(7);
    for (int round = 0; round < 50; ++round) {
        const double volume = random.uniform(2, 30) * mL;
        const double shot = random.decades(0.5, 100) * mL;
        const double flow = random.uniform(1, 40) * mL;
        const double dwell = random.uniform(0, 60);
        const auto clock = [&](double passed) {  // time at which that much has passed, and before a
            const double shots = std::ceil(passed / shot - 1e-9) - 1;  // dwell where one ends
            return passed / flow + std::max(shots, 0.0) * dwell;
        };
        double oldest = 0.0;
        const int pieces = 4000;
        for (int i = 1; i <= pieces; ++i) {
            const double entered = 3 * shot * i / pieces + 10 * shot;
            oldest = std::max(oldest, clock(entered + volume) - clock(entered));
        }
        CHECK_THAT(age_at_exit(volume, shot, flow, dwell), WithinRel(oldest, 1e-9));
    }
}

TEST_CASE("working life pays for age and pause", "[mixer_life][reference]") {
    // A third of 20 min less 100 s: 300 s, by hand.
    CHECK_THAT(longest_pause(1200, 1.0 / 3.0, 100), WithinRel(300, 1e-14));
    CHECK(longest_pause(60, 0.5, 100) == 0);
    CHECK_THAT(aged_viscosity(600, 300), WithinRel(4, 1e-14));
    CHECK(aged_viscosity(0, 300) == 1);
}

TEST_CASE("mixer life refuses what cannot be", "[mixer_life][refusal]") {
    const auto refused = [](auto call) { return demo::refusal(call); };
    CHECK(demo::mentions(refused([] { (void)residence_in_flow(1, 0); }), "flow"));
    CHECK(demo::mentions(refused([] { (void)age_at_exit(1, 0, 1, 1); }), "shot"));
    CHECK(demo::mentions(refused([] { (void)longest_pause(1, 2, 1); }), "share"));
    CHECK(demo::mentions(refused([] { (void)aged_viscosity(1, 0); }), "doubling_time"));
}
