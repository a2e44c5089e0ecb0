/// Passages and mixer that start empty, stems, suck-back and check valves; the blend in the mixer.
#include <cmath>

#include "evenfront/blend.hpp"
#include "evenfront/lead.hpp"
#include "evenfront/mixer.hpp"
#include "evenfront/transient.hpp"
#include "evenfront/transport.hpp"
#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::bar;
using demo::mL;
using Eigen::Index;

namespace {

Sequence shots(int count) {
    return demo::held_shots(count);
}

double at_close(const Trace& trace, const Eigen::VectorXd& column, std::size_t shot = 0) {
    return column[trace.shots[shot].close];
}

// Lines without loss or give, pushed with one pressure: the mixer alone resists.
Machine all_mixer(double pressure) {
    Machine machine = demo::equal_streams();
    machine.mixer = {.bore = 0.010,
                     .length = 2.0,
                     .void_fraction = 1.0,
                     .pressure_multiplier = 1.0,
                     .blend_viscosity = 10.0,
                     .starts_full = false};
    for (Stream* stream : {&machine.resin, &machine.hardener}) {
        stream->liquid = {.density = 1000, .bulk_modulus = 2e10};
        stream->rheology = {.consistency = 1e-3};
        stream->line = {
            {.name = "bore", .bore = 0.03, .length = 0.1, .temperature = 298.15, .cells = 1}};
        stream->throttle = {};
        stream->shutoff = {.resistance = 1e3};
    }
    machine.shaft.mass = 0.1;
    machine.drive = {.force = pressure *
                              (area(machine.resin.cylinder) + area(machine.hardener.cylinder))};
    return machine;
}

}  // namespace

TEST_CASE("an empty mixer fills in the time of its front", "[first fill][reference]") {
    // t = 16 mu L^2/(D^2 dp) = 3.2 s, front as the root of time (Washburn 1921 without capillarity,
    // evaluated): 10 Pa s, 10 mm, 2 m, 2 MPa.
    const Machine machine = all_mixer(20 * bar);
    const double held = hold_up(machine.mixer);
    const Trace trace = simulate(machine, {.steps = {{StepKind::dispense_time, 4.0}}});
    REQUIRE(trace.status == Status::ok);
    double full = NAN;
    for (Index i = 1; i < trace.time.size(); ++i) {
        if (trace.entered[i] >= held * (1 - 1e-9) && !(full < 1e9)) {
            full = trace.time[i];
        }
        const double front = trace.entered[i] / held;
        if (front > 0.05 && front < 0.999) {
            CHECK_THAT(trace.time[i], WithinRel(3.2 * front * front, 2e-3));
            CHECK_THAT(trace.mixer_resistance[i],
                       WithinRel(front * mixer_resistance(machine.mixer, 10.0), 1e-9));
        }
    }
    CHECK_THAT(full, WithinRel(3.2, 1e-3));
    CHECK_THAT(trace.mixer_resistance[trace.time.size() - 1],
               WithinRel(mixer_resistance(machine.mixer, 10.0), 1e-12));
    CHECK(trace.mass_balance_error < 1e-9);
}

TEST_CASE("a stream reaches the mixing point once its passage is full", "[first fill][identity]") {
    Machine machine = demo::long_boom();
    machine.resin.shutoff.passage = 2 * mL;
    machine.resin.shutoff.passage_full = false;
    machine.hardener.shutoff.passage = 0.1 * mL;
    machine.hardener.shutoff.passage_full = false;
    const Trace trace = simulate(machine, shots(2));
    REQUIRE(trace.status == Status::ok);
    CHECK(trace.hardener.arrival < trace.resin.arrival);
    const auto volume_at = [&](const StreamTrace& stream, double time) {
        Index i = 0;
        while (trace.time[i] < time) {
            ++i;
        }
        return stream.volume[i];
    };
    CHECK_THAT(volume_at(trace.resin, trace.resin.arrival), WithinAbs(2 * mL, 1e-12));
    CHECK_THAT(volume_at(trace.hardener, trace.hardener.arrival), WithinAbs(0.1 * mL, 1e-12));
    const Index end = trace.time.size() - 1;
    CHECK_THAT(trace.entered[end],
               WithinRel(trace.resin.volume[end] + trace.hardener.volume[end] - 2.1 * mL, 1e-9));
    for (Index i = 0; i < end; ++i) {
        if (trace.time[i + 1] <= trace.hardener.arrival) {
            CHECK(trace.mixer_pressure[i] == 0.0);  // open to the air
        }
    }
    CHECK(trace.mass_balance_error < 1e-12);
    machine.resin.shutoff.passage_full = machine.hardener.shutoff.passage_full = true;
    const Trace full = simulate(machine, shots(1));
    const Trace plain = simulate(demo::long_boom(), shots(1));
    CHECK(at_close(full, full.resin.volume) == at_close(plain, plain.resin.volume));
}

TEST_CASE("a stem pushes its volume forward and draws its suck-back", "[first fill][identity]") {
    Machine machine = demo::long_boom();
    machine.mixer.blend_viscosity = 0.01;  // so that nothing answers at the mixing point
    const Trace plain = simulate(machine, shots(1));
    machine.hardener.shutoff.stem_volume = 0.1 * mL;
    const Trace pushed = simulate(machine, shots(1));
    // As the shut-off begins to move nothing else flows from rest; 0.02 % of it is gas.
    const Index open = pushed.shots[0].open;
    CHECK_THAT(pushed.hardener.flow[open], WithinRel((1 - 2e-4) * 0.1 * mL / 0.05, 1e-6));
    CHECK(plain.hardener.flow[open] == 0.0);
    machine.hardener.shutoff.stem_volume = 0.0;
    machine.hardener.shutoff.suck_back = 0.1 * mL;
    const Trace drawn = simulate(machine, shots(1));
    const auto jump = [](const Trace& trace) {
        const Index close = trace.shots[0].close;
        return trace.hardener.flow[close + 1] - trace.hardener.flow[close];
    };
    CHECK_THAT(jump(drawn), WithinRel(-0.1 * mL / 0.05, 0.01));
    CHECK(std::abs(jump(plain)) < 1e-3 * std::abs(jump(drawn)));
    CHECK(drawn.mass_balance_error < 1e-12);
    CHECK(pushed.mass_balance_error < 1e-12);
}

TEST_CASE("a check valve lets nothing back and takes its opening pressure", "[first fill][limit]") {
    Machine machine = demo::long_boom();
    machine.resin.shutoff.delay = 0.3;  // the hardener's pressure meets an open resin line
    machine.resin.shutoff.open_time = 0.3;
    const Trace plain = simulate(machine, shots(1));
    machine.resin.shutoff.check_valve = 0.0;
    const Trace checked = simulate(machine, shots(1));
    CHECK(plain.resin.flow.minCoeff() < 0.0);
    CHECK(checked.resin.flow.minCoeff() >= 0.0);
    machine.hardener.shutoff.check_valve = 0.5 * bar;
    const Steady steady = steady_state(machine);
    Machine lighter = demo::long_boom();
    lighter.drive.force -= 0.5 * bar * area(lighter.hardener.cylinder);
    CHECK_THAT(steady.resin.flow, WithinRel(steady_state(lighter).resin.flow, 1e-5));
}

TEST_CASE("a tip adds its own resistance and volume", "[first fill][identity]") {
    Machine machine = demo::long_boom();
    machine.mixer.tip = Tip{.bore = 0.003, .length = 0.02};
    Mixer bare = machine.mixer;
    bare.tip.reset();
    const double pi = 3.14159265358979;
    // Hagen-Poiseuille.
    CHECK_THAT(mixer_resistance(machine.mixer, 9.0) - mixer_resistance(bare, 9.0),
               WithinRel(128 * 9.0 * 0.02 / (pi * std::pow(0.003, 4)), 1e-9));
    CHECK(steady_state(machine).resin.flow < steady_state(demo::long_boom()).resin.flow);
}

TEST_CASE("the blend that stands in the mixer is kept by volume", "[blend][conservation]") {
    Machine machine = demo::long_boom();
    machine.mixer.follow_blend = true;
    machine.mixer.tip = Tip{.bore = 0.003, .length = 0.02};
    const Steady steady = steady_state(machine);
    MixerContent content(machine, steady);
    const double capacity = hold_up(machine.mixer) + tip_volume(machine.mixer);
    CHECK_THAT(content.resistance().value,
               WithinRel(mixer_resistance(machine.mixer, *machine.mixer.blend_viscosity), 1e-12));
    demo::Random random(9);
    double last = content.resistance().value;
    for (int i = 0; i < 500; ++i) {
        const std::array<double, 2> entering{random.uniform(-0.01, 0.2) * mL,
                                             random.uniform(-0.01, 0.04) * mL};
        const MixerContent::Resistance before = content.resistance();
        content.advance(0.01, entering);
        CHECK(content.filled() <= capacity);
        last = content.resistance().value;
        CHECK(last > 0.0);
        CHECK(before.by_time == 0.0);  // ageing not asked for
    }
    // Pure hardener all through: its own viscosity at the rate of steady flow.
    for (int i = 0; i < 200; ++i) {
        content.advance(0.01, {0.0, 0.5 * mL});
    }
    const double phi = steady.ratio / (1 + steady.ratio);
    const double pi = 3.14159265358979;
    const double rate =
        32 * (steady.resin.flow + steady.hardener.flow) / (pi * std::pow(machine.mixer.bore, 3));
    const auto mu = [&](const Rheology& rheology) {
        return apparent_viscosity(at_temperature(rheology, machine.mixer.temperature), rate);
    };
    const double thin =
        9.0 * std::pow(mu(machine.hardener.rheology) / mu(machine.resin.rheology), 1 - phi);
    CHECK_THAT(content.resistance().value, WithinRel(mixer_resistance(machine.mixer, thin), 1e-9));
}

TEST_CASE("blend that stands doubles its resistance in its doubling time", "[blend][limit]") {
    Machine machine = demo::long_boom();
    machine.mixer.follow_blend = true;
    machine.mixer.doubling_time = 600;
    const Trace fresh = simulate(machine,
                                 {.steps = {{StepKind::dispense_time, 3.0},
                                            {StepKind::dwell, 20.0},
                                            {StepKind::dispense_time, 9.0}}});
    const Trace aged = simulate(machine,
                                {.steps = {{StepKind::dispense_time, 3.0},
                                           {StepKind::dwell, 1200.0},
                                           {StepKind::dispense_time, 9.0}}});
    REQUIRE(aged.status == Status::ok);
    const auto opening = [](const Trace& trace) {
        return trace.mixer_resistance[trace.shots[1].open];
    };
    CHECK_THAT(opening(aged) / opening(fresh), WithinRel(std::pow(2.0, 1180.0 / 600), 1e-3));
    // The plug that stood leaves with the shot, and the resistance comes back.
    CHECK_THAT(aged.mixer_resistance[aged.shots[1].close],
               WithinRel(fresh.mixer_resistance[fresh.shots[1].close], 0.02));
    CHECK(at_close(aged, aged.resin.volume, 1) - at_close(aged, aged.resin.volume, 0) <
          at_close(fresh, fresh.resin.volume, 1) - at_close(fresh, fresh.resin.volume, 0));
    CHECK(aged.mass_balance_error < 1e-12);
}

TEST_CASE("the answer with a blend that is followed does not depend on the steps",
          "[blend][convergence]") {
    Machine machine = demo::long_boom();
    machine.mixer.follow_blend = true;
    machine.mixer.doubling_time = 60;
    const auto dispensed = [&](double rtol) {
        const Trace trace = simulate(machine, shots(2), {.rtol = rtol});
        return at_close(trace, trace.resin.volume, 1);
    };
    const double exact = dispensed(1e-9);
    const double coarse = std::abs(dispensed(1e-4) - exact);
    const double fine = std::abs(dispensed(1e-7) - exact);
    CHECK(coarse < 1e-3 * exact);
    CHECK(fine < 0.5 * coarse);  // what is left is that of plugs, a thousandth of the mixer each
}

TEST_CASE("a purge is no shot, and a shot may go on through a refill", "[first fill][sequence]") {
    Machine machine = demo::long_boom();
    machine.shaft.position = 0.18;
    for (Stream* stream : {&machine.resin, &machine.hardener}) {
        stream->feed = Feed{.tank_pressure = 4 * bar,
                            .bore = 0.03,
                            .length = 1,
                            .temperature = stream->cylinder.temperature,
                            .valve_time = 0.3};
    }
    const double per_length = area(machine.resin.cylinder) + area(machine.hardener.cylinder);
    const double amount = 1.6 * 0.02 * per_length;  // more than the 20 mm that are left
    Sequence sequence{.steps = {{StepKind::dispense_volume, amount}}};
    CHECK(simulate(machine, sequence).status == Status::stroke_exhausted);
    sequence.steps[0].refill_time = 3.0;
    const Trace trace = simulate(machine, sequence);
    REQUIRE(trace.status == Status::ok);
    REQUIRE(trace.shots.size() == 1);
    const Index close = trace.shots[0].close;
    CHECK_THAT(trace.resin.volume[close] + trace.hardener.volume[close], WithinRel(amount, 1e-9));
    CHECK(trace.mass_balance_error < 1e-9);
    sequence.steps = {{StepKind::purge, 10 * mL}, {StepKind::dispense_volume, 10 * mL}};
    const Trace purged = simulate(machine, sequence);
    CHECK(purged.purges.size() == 1);
    CHECK(purged.shots.size() == 1);
    CHECK(purged.shots[0].open > purged.purges[0].shut);
}
