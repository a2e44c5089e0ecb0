/// What ends a step early, and what is done between shots.
#include "evenfront/transient.hpp"

#include <array>
#include <limits>
#include <utility>
#include <vector>

#include "evenfront/mixer.hpp"
#include "evenfront/network.hpp"
#include "evenfront/steady.hpp"
#include "machines.hpp"
#include "runs.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::bar;
using demo::change;
using demo::force_at;
using demo::mL;
using demo::once;
using demo::Packing;
using demo::uniform;
using Eigen::Index;

// ---- events ----

TEST_CASE("a shot by volume ends at its volume", "[transient][event]") {
    const Machine machine = demo::long_boom();
    for (const double volume : {5 * mL, 50 * mL}) {
        const Trace trace = simulate(machine, once(StepKind::dispense_volume, volume));
        REQUIRE(trace.status == Status::ok);
        const ShotSpan& shot = trace.shots.front();
        CHECK_THAT(change(trace.resin.volume, shot.open, shot.close) +
                       change(trace.hardener.volume, shot.open, shot.close),
                   WithinRel(volume, 1e-12));
    }
}

TEST_CASE("a shot by travel ends at its travel", "[transient][event]") {
    const Machine machine = demo::long_boom();
    const Trace trace = simulate(machine, once(StepKind::dispense_travel, 0.01));
    REQUIRE(trace.status == Status::ok);
    CHECK_THAT(trace.position[trace.shots.front().close], WithinRel(0.07, 1e-12));
}

TEST_CASE("the end of the stroke ends the run, with the volumes so far", "[transient][event]") {
    Machine machine = demo::long_boom();
    machine.shaft.position = 0.195;
    const Trace trace = simulate(machine, once(StepKind::dispense_time, 30.0));
    CHECK(trace.status == Status::stroke_exhausted);
    CHECK(demo::mentions(trace.message, "stroke"));
    const Index end = trace.time.size() - 1;
    CHECK_THAT(trace.position[end], WithinRel(0.2, 1e-12));
    CHECK(trace.time[end] < 30.0);
    CHECK(trace.resin.volume[end] > 0.0);
    CHECK(trace.mass_balance_error <= 1e-9);
}

TEST_CASE("a shaft held by friction stays where it is until friction is overcome",
          "[transient][event]") {
    // The resin's cylinder gives liquid to its slack hose, so the drive, balanced at first, gets
    // the upper hand: by less than friction can hold, or by more.
    Machine machine = demo::long_boom();
    machine.resin.rheology = {.consistency = 30};
    machine.drive.force = force_at(machine, 12 * bar);
    Sequence wait = once(StepKind::dwell, 20.0);
    wait.start = {12 * bar, 11 * bar, 12 * bar, 12 * bar};
    const auto run = [&](double friction) {
        machine.shaft.friction = friction;
        Trace trace = simulate(machine, wait);
        REQUIRE(trace.status == Status::ok);
        return trace;
    };
    const auto net = [&](const Trace& trace, Index row) {
        return trace.force[row] - area(machine.resin.cylinder) * trace.resin.pressure(row, 0) -
               area(machine.hardener.cylinder) * trace.hardener.pressure(row, 0);
    };
    const Trace held = run(1000.0);
    const Index end = held.time.size() - 1;
    CHECK((held.position.array() == machine.shaft.position).all());
    CHECK((held.speed.array() == 0.0).all());
    // It did have something to hold.
    CHECK(net(held, end) > 50.0);
    CHECK(net(held, end) < 1000.0);
    const double enough = 0.5 * net(held, end);
    const Trace slips = run(enough);
    Index start = 0;
    while (slips.speed[start + 1] == 0.0) {
        ++start;
    }
    CHECK(start > 0);
    CHECK((slips.position.head(start + 1).array() == machine.shaft.position).all());
    // It breaks away when the force left over is what friction holds.
    CHECK_THAT(net(slips, start), WithinRel(enough, 1e-6));
    CHECK(slips.position[slips.time.size() - 1] > machine.shaft.position);
}

TEST_CASE("a shaft pushed back rests on its stop and leaves it again", "[transient][event]") {
    // Packed resin drives the shaft back when the drive is let go; the stroke begins at zero.
    Machine machine = demo::long_boom();
    machine.shaft.position = 1e-4;
    machine.drive.between_shots = BetweenShots::vent_drive;
    Sequence steps{.steps = {{StepKind::dwell, 10.0}, {StepKind::dispense_time, 3.0}},
                   .repeat = 1,
                   .start = uniform(30 * bar)};
    const Trace trace = simulate(machine, steps);
    REQUIRE(trace.status == Status::ok);
    const ShotSpan& shot = trace.shots[0];
    CHECK(trace.position.minCoeff() >= -1e-12);
    CHECK(trace.position[shot.open] == 0.0);
    CHECK(trace.speed[shot.open] == 0.0);
    CHECK(trace.position[shot.close] > 1e-3);
    CHECK(trace.mass_balance_error <= 1e-9);
}

TEST_CASE("the drive rises from its start to its force as a first-order lag",
          "[transient][drive]") {
    // F = F0 (1 - exp(-t/rise)) from rest; while the shut-offs close it stands still.
    const Machine machine = demo::long_boom();
    const Trace trace = simulate(machine, once(StepKind::dispense_time, 0.6));
    const ShotSpan& shot = trace.shots[0];
    for (Index row = shot.open; row <= shot.close; ++row) {
        CHECK_THAT(trace.force[row],
                   WithinAbs(4600 * (1 - std::exp(-trace.time[row] / 0.25)), 1e-9));
    }
    for (Index row = shot.close; row <= shot.shut; ++row) {
        CHECK(trace.force[row] == trace.force[shot.close]);
    }
}

TEST_CASE("a slipping shaft balances drive, pistons and friction at steady speed",
          "[transient][event]") {
    Machine machine = demo::long_boom();
    machine.shaft.friction = 400;
    const Trace trace = simulate(machine, once(StepKind::dispense_time, 6.0), {.rtol = 1e-7});
    const Index end = trace.shots.front().close;
    const double pistons = area(machine.resin.cylinder) * trace.resin.pressure(end, 0) +
                           area(machine.hardener.cylinder) * trace.hardener.pressure(end, 0);
    CHECK(trace.speed[end] > 0.0);
    CHECK_THAT(pistons, WithinRel(4600.0 - 400.0, 1e-5));
}

TEST_CASE("a preload to a pressure ends at that pressure", "[transient][event]") {
    // Closed, the stiff hardener carries nearly all of the drive: the resin sees a bar or two.
    const Machine machine = demo::long_boom();
    const Trace trace = simulate(machine, once(StepKind::preload_pressure, 1.5 * bar));
    REQUIRE(trace.status == Status::ok);
    const Index end = trace.time.size() - 1;
    CHECK_THAT(trace.resin.pressure(end, 0), WithinRel(1.5 * bar, 1e-9));
    CHECK(trace.warnings.empty());
    // What the drive cannot reach is said, not waited for without end.
    const Trace weak = simulate(machine, once(StepKind::preload_pressure, 60 * bar));
    CHECK(weak.status == Status::ok);
    REQUIRE(weak.warnings.size() == 1);
    CHECK(demo::mentions(weak.warnings[0], "60 bar"));
}

TEST_CASE("a run out of steps says when and how far off it was", "[transient][event]") {
    const Trace trace =
        simulate(demo::long_boom(), demo::held_shots(1), {.rtol = 1e-6, .max_steps = 20});
    CHECK(trace.status == Status::not_converged);
    CHECK(demo::mentions(trace.message, "does not converge"));
    CHECK(demo::mentions(trace.message, " s "));
    CHECK(demo::mentions(trace.message, "20 steps"));
    CHECK(demo::mentions(trace.message, "error"));
    CHECK(trace.steps == 20);
    CHECK(trace.time.size() > 1);
}

TEST_CASE("delays and ramps of the shut-offs are met", "[transient][event]") {
    Machine machine = demo::long_boom();
    machine.resin.shutoff.delay = 0.03;
    machine.hardener.shutoff.delay = 0.08;
    machine.resin.shutoff.close_delay = 0.01;
    machine.hardener.shutoff.close_time = 0.2;
    const Trace trace = simulate(machine, once(StepKind::dispense_time, 1.0));
    REQUIRE(trace.status == Status::ok);
    const ShotSpan& shot = trace.shots.front();
    CHECK(trace.time[shot.open] == 0.0);
    CHECK_THAT(trace.time[shot.close], WithinAbs(1.0, 1e-12));
    CHECK_THAT(trace.time[shot.shut], WithinAbs(1.2, 1e-12));
    for (Index row = 0; row < trace.time.size(); ++row) {
        CAPTURE(trace.time[row]);
        if (trace.time[row] <= 0.03) {
            CHECK(trace.resin.flow[row] == 0.0);
        }
        if (trace.time[row] <= 0.08) {
            CHECK(trace.hardener.flow[row] == 0.0);
        }
    }
    const double r_after = change(trace.resin.volume, shot.close, shot.shut);
    CHECK(r_after > 0.0);
    CHECK(trace.resin.flow[shot.shut] == 0.0);
    CHECK(trace.hardener.flow[shot.shut] == 0.0);
}

// ---- between shots ----

TEST_CASE("vent ends a dwell at zero pressure and books the liquid", "[transient][vent]") {
    Machine machine = demo::long_boom();
    machine.drive.between_shots = BetweenShots::vent;
    const Trace trace = simulate(machine, demo::held_shots(2), {.rtol = 1e-6});
    REQUIRE(trace.status == Status::ok);
    const ShotSpan& second = trace.shots[1];
    CHECK(trace.resin.pressure.row(second.open).cwiseAbs().maxCoeff() < 1e-3);
    CHECK(trace.hardener.pressure.row(second.open).cwiseAbs().maxCoeff() < 1e-3);
    CHECK(trace.force[second.open] == 0.0);
    CHECK(trace.position[second.open] == trace.position[second.open - 1]);
    // Liquid given back is the packing above 0 bar just before, nearly all of it resin.
    const Packing packing(machine, trace.steady);
    for (int s = 0; s < 2; ++s) {
        const StreamTrace& stream = s == 0 ? trace.resin : trace.hardener;
        const double rho = (s == 0 ? machine.resin : machine.hardener).liquid.density;
        CHECK_THAT(
            rho * stream.drained[second.open],
            WithinRel(packing.held(trace, s, second.open - 1) - packing.held(trace, s, second.open),
                      1e-6));
        CHECK(stream.drained[second.open] > 0.0);
        CHECK(stream.drained[second.open - 1] == 0.0);
    }
    CHECK(trace.resin.drained[second.open] > trace.hardener.drained[second.open]);
}

TEST_CASE("lock keeps the shaft still between shots", "[transient][lock]") {
    Machine machine = demo::long_boom();
    machine.drive.between_shots = BetweenShots::lock;
    const Trace trace = simulate(machine, demo::held_shots(2));
    REQUIRE(trace.status == Status::ok);
    for (Index row = trace.shots[0].shut + 1; row <= trace.shots[1].open; ++row) {
        CHECK(trace.speed[row] == 0.0);
        CHECK(trace.position[row] == trace.position[trace.shots[1].open]);
    }
}

TEST_CASE("the packed resin pulls the hardener towards vacuum when only the drive is vented",
          "[transient][vent]") {
    // Common practice, no source: on one shaft a resin full of gas pushes back and starves a stiff
    // hardener. Reported with stream, place and time; the gas keeps the pressure above -p0.
    Machine machine = demo::long_boom();
    machine.drive.between_shots = BetweenShots::vent_drive;
    machine.resin.liquid.free_gas = 0.04;
    const Trace trace = simulate(machine, demo::held_shots(1));
    REQUIRE(trace.status == Status::ok);
    CHECK(trace.starved.stream == "hardener");
    CHECK(trace.starved.place == "cylinder");
    CHECK(trace.starved.time > 3.0);
    CHECK(trace.starved.pressure < -0.9 * bar);
    CHECK(trace.starved.pressure > -standard_pressure);
    CHECK_THAT(trace.starved.pressure, WithinRel(trace.hardener.pressure.minCoeff(), 1e-12));
    // Held, nobody starves.
    machine.drive.between_shots = BetweenShots::hold;
    CHECK(simulate(machine, demo::held_shots(1)).starved.stream.empty());
}

TEST_CASE("a drive that cannot move leaves both streams where they are", "[transient][limit]") {
    Machine machine = demo::long_boom();
    machine.shaft.friction = 6000;
    const Trace trace = simulate(machine, once(StepKind::dispense_time, 1.0));
    CHECK(trace.status == Status::nothing_flows);
    CHECK(demo::mentions(trace.message, "nothing flows, because"));
    CHECK(trace.position[trace.time.size() - 1] == machine.shaft.position);
    CHECK(trace.resin.volume.cwiseAbs().maxCoeff() == 0.0);
}
