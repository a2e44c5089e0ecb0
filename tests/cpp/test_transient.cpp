/// A whole run: conservation, symmetry, units, order, limits, and what practice knows.
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
using demo::after_close_lead;
using demo::bar;
using demo::change;
using demo::force_at;
using demo::mL;
using demo::net_lead;
using demo::once;
using demo::Packing;
using demo::uniform;
using Eigen::Index;

// ---- conservation ----

TEST_CASE("the lead is what both streams' packing gives back", "[transient][conservation]") {
    // Mass conservation on one shaft without leak: lead(t) = [S_h(0) - S_h(t)] - r_s [S_r(0) -
    // S_r(t)], from rest and in held cycles, at any tolerance and any instant.
    for (const double rtol : {1e-2, 1e-4, 1e-7}) {
        for (const bool needle : {false, true}) {
            Machine machine = demo::long_boom();
            if (needle) {
                machine.hardener.throttle = demo::needle();
                machine.hardener.throttle.volume_between = 0.5 * mL;
            }
            const Steady steady = steady_state(machine);
            const Trace trace = simulate(machine, demo::held_shots(3), {.rtol = rtol});
            REQUIRE(trace.status == Status::ok);
            const Packing packing(machine, steady);
            for (Index row = 0; row < trace.time.size(); row += 7) {
                const double lead =
                    trace.hardener.volume[row] - steady.ratio * trace.resin.volume[row];
                const double given = packing(trace, 1, 0) - packing(trace, 1, row) -
                                     steady.ratio * (packing(trace, 0, 0) - packing(trace, 0, row));
                // Rounding: 1e-14 of the liquid held, 0.6 L of resin and 0.2 L of hardener.
                CAPTURE(rtol, needle, trace.time[row]);
                CHECK_THAT(lead, WithinAbs(given, 1e-14 * (steady.ratio * 2e-3 + 2e-4) * 10));
            }
        }
    }
}

TEST_CASE("no stream loses mass at any tolerance, whatever is done between shots",
          "[transient][conservation]") {
    for (const BetweenShots between :
         {BetweenShots::hold, BetweenShots::lock, BetweenShots::vent, BetweenShots::vent_drive}) {
        for (const double rtol : {1e-2, 1e-4, 1e-8}) {
            Machine machine = demo::long_boom();
            demo::set_cells(machine, 6);
            machine.drive.between_shots = between;
            machine.resin.cylinder.leak = 0.1 * mL / (60 * bar);
            machine.hardener.cylinder.leak = 0.02 * mL / (60 * bar);
            machine.hardener.line[0].pocket = 0.3 * mL;
            machine.resin.cylinder.pocket = mL;
            machine.hardener.throttle.volume_between = 0.2 * mL;
            machine.resin.line.push_back({.name = "head",
                                          .bore = 0.01,
                                          .length = 0.2,
                                          .temperature = demo::celsius(40),
                                          .cells = 3});
            const Trace trace = simulate(machine, demo::held_shots(2), {.rtol = rtol});
            REQUIRE(trace.status == Status::ok);
            CAPTURE(static_cast<int>(between), rtol, trace.mass_balance_error);
            CHECK(trace.mass_balance_error <= 1e-9);
            // The books by hand: what is held, delivered, leaked and drained stays together.
            const Packing packing(machine, steady_state(machine));
            const Index end = trace.time.size() - 1;
            for (int s = 0; s < 2; ++s) {
                const StreamTrace& stream = s == 0 ? trace.resin : trace.hardener;
                const double rho = (s == 0 ? machine.resin : machine.hardener).liquid.density;
                const double out =
                    rho * (stream.volume[end] + stream.leaked[end] + stream.drained[end]);
                // The last vent comes after the last row of the trace.
                if (between != BetweenShots::vent) {
                    CHECK_THAT(packing.held(trace, s, 0) - packing.held(trace, s, end),
                               WithinAbs(out, 1e-9 * rho * stream.volume[end]));
                }
                CHECK(stream.leaked[end] > 0.0);
            }
        }
    }
}

TEST_CASE("nothing moves in a dwell from balanced closed pressures", "[transient][limit]") {
    // Newtonian: a rounding of pressure, K eps, and the travel that makes it. A power law conducts
    // nothing at rest, so that roundings may grow, but only to the tolerance, 1e-4 of 12 bar.
    Machine newtonian = demo::long_boom();
    newtonian.resin.rheology = {.consistency = 30};
    for (const auto& [model, tolerance] :
         {std::pair(newtonian, 1e-4), std::pair(demo::long_boom(), 1e-4 * 12 * bar)}) {
        Machine machine = model;
        machine.drive.force = force_at(machine, 12 * bar);
        Sequence wait = once(StepKind::dwell, 60.0);
        wait.start = uniform(12 * bar);
        const Trace trace = simulate(machine, wait);
        REQUIRE(trace.status == Status::ok);
        const double stiffness = machine.resin.liquid.bulk_modulus / 0.14;  // [Pa/m]
        CHECK((trace.position.array() - 0.06).abs().maxCoeff() <= 10 * tolerance / stiffness);
        CHECK((trace.resin.pressure.array() - 12 * bar).abs().maxCoeff() <= tolerance);
        CHECK((trace.hardener.pressure.array() - 12 * bar).abs().maxCoeff() <= tolerance);
        CHECK(trace.resin.volume.cwiseAbs().maxCoeff() == 0.0);
        CHECK(trace.hardener.volume.cwiseAbs().maxCoeff() == 0.0);
    }
}

TEST_CASE("held shots are on ratio from open to open at every throttle setting",
          "[transient][cycle]") {
    // When a shot lasts long enough to become steady, mass conservation between two closings makes
    // the lead of a whole cycle (after-close liquid included) the difference of two after-close
    // leads: what the shut-offs of this cycle let pass less what those of the last one did. After
    // closing the drive is frozen, so these volumes depend on the position only through the
    // compliance of the cylinder, which falls in proportion to what is left of the stroke: the
    // difference is at most (after_h + r_s after_r) travel/(stroke - x). Beside it: what is not yet
    // steady at closing, exp(-3 s/tau) of the swing, below 1e-3 of it here.
    for (const double resistance : {0.0, 0.2, 0.5, 1.0, 2.0, 5.0}) {
        Machine machine = demo::long_boom();
        machine.hardener.throttle.resistance = resistance * bar / mL;
        const Trace trace = simulate(machine, demo::held_shots(4), {.rtol = 1e-7});
        REQUIRE(trace.status == Status::ok);
        const double ratio = trace.steady.ratio;
        for (std::size_t i = 1; i < trace.shots.size(); ++i) {
            const ShotSpan& shot = trace.shots[i];
            const double cycle =
                net_lead(trace, shot, ratio) + after_close_lead(trace, shot, ratio);
            const double after =
                std::abs(change(trace.hardener.volume, shot.close, shot.shut)) +
                ratio * std::abs(change(trace.resin.volume, shot.close, shot.shut));
            const double travel = change(trace.position, trace.shots[i - 1].close, shot.close);
            const double left = machine.shaft.stroke - trace.position[shot.close];
            const double drift = after * travel / left;
            double highest = 0.0;
            double lowest = 0.0;
            for (Index row = shot.open; row <= shot.close; ++row) {
                const double lead = change(trace.hardener.volume, shot.open, row) -
                                    ratio * change(trace.resin.volume, shot.open, row);
                highest = std::max(highest, lead);
                lowest = std::min(lowest, lead);
            }
            CAPTURE(resistance, i, cycle / mL, drift / mL, (highest - lowest) / mL);
            CHECK(std::abs(cycle) <= drift + 1e-3 * (highest - lowest));
            // And the cycle's lead is that difference of after-close leads.
            CHECK_THAT(cycle,
                       WithinAbs(after_close_lead(trace, shot, ratio) -
                                     after_close_lead(trace, trace.shots[i - 1], ratio),
                                 1e-3 * (highest - lowest)));
        }
    }
}

TEST_CASE("shut-offs that close at once leave a held cycle on ratio whatever the stroke",
          "[transient][cycle]") {
    Machine machine = demo::long_boom();
    machine.resin.shutoff.close_time = 0.0;
    machine.hardener.shutoff.close_time = 0.0;
    const Trace trace = simulate(machine, demo::held_shots(4), {.rtol = 1e-8});
    REQUIRE(trace.status == Status::ok);
    for (std::size_t i = 1; i < trace.shots.size(); ++i) {
        const ShotSpan& shot = trace.shots[i];
        CAPTURE(i, net_lead(trace, shot, trace.steady.ratio) / mL);
        CHECK(after_close_lead(trace, shot, trace.steady.ratio) == 0.0);
        CHECK_THAT(net_lead(trace, shot, trace.steady.ratio), WithinAbs(0.0, 1e-4 * mL));
    }
}

// ---- symmetry and units ----

TEST_CASE("equal streams give no lead", "[transient][symmetry]") {
    Machine machine = demo::equal_streams();
    machine.shaft.friction = 50;
    const Trace trace = simulate(machine, demo::held_shots(2));
    REQUIRE(trace.status == Status::ok);
    CHECK_THAT(trace.steady.ratio, WithinRel(1.0, 1e-14));
    // The mixing point takes them one after the other: rounding.
    CHECK((trace.resin.volume - trace.hardener.volume).cwiseAbs().maxCoeff() <=
          1e-11 * trace.resin.volume.maxCoeff());
    CHECK((trace.resin.pressure - trace.hardener.pressure).cwiseAbs().maxCoeff() <= 1e-2);
}

TEST_CASE("to swap the streams is to swap the results", "[transient][symmetry]") {
    Machine machine = demo::long_boom();
    machine.hardener.throttle = demo::needle();
    machine.hardener.throttle.volume_between = 0.5 * mL;
    machine.resin.cylinder.leak = 1e-15;
    machine.hardener.shutoff.delay = 0.02;
    machine.shaft.friction = 100;
    Machine swapped = machine;
    std::swap(swapped.resin, swapped.hardener);
    const Trace a = simulate(machine, demo::held_shots(2), {.rtol = 1e-8});
    const Trace b = simulate(swapped, demo::held_shots(2), {.rtol = 1e-8});
    REQUIRE(a.status == Status::ok);
    REQUIRE(b.status == Status::ok);
    for (std::size_t i = 0; i < a.shots.size(); ++i) {
        const Index open_a = a.shots[i].open;
        const Index close_a = a.shots[i].close;
        const Index open_b = b.shots[i].open;
        const Index close_b = b.shots[i].close;
        CHECK_THAT(change(a.resin.volume, open_a, close_a),
                   WithinRel(change(b.hardener.volume, open_b, close_b), 1e-6));
        CHECK_THAT(change(a.hardener.volume, open_a, close_a),
                   WithinRel(change(b.resin.volume, open_b, close_b), 1e-6));
        CHECK_THAT(a.resin.pressure(open_a, 0), WithinRel(b.hardener.pressure(open_b, 0), 1e-6));
        CHECK_THAT(a.position[close_a], WithinRel(b.position[close_b], 1e-6));
    }
}

namespace {

// The same machine in units of length and time of which the metre makes `m`, the second `s`; the
// unit of mass follows, since atmospheric pressure fixes the unit of pressure: m s^2 per kilogram.
Machine in_units(Machine machine, double m, double s) {
    const double volume = m * m * m;
    for (Stream* stream : {&machine.resin, &machine.hardener}) {
        stream->liquid.density *= m * s * s / volume;
        stream->rheology.consistency *= std::pow(s, stream->rheology.index);
        stream->cylinder.bore *= m;
        stream->cylinder.leak *= volume / s;
        stream->cylinder.pocket *= volume;
        for (Segment& segment : stream->line) {
            segment.bore *= m;
            segment.length *= m;
            segment.wall_expansion *= m * m;
            segment.pocket *= volume;
        }
        Throttle& throttle = stream->throttle;
        throttle.resistance *= s / volume;
        throttle.pitch *= m;
        throttle.seat_bore *= m;
        throttle.land_length *= m;
        throttle.volume_between *= volume;
        Shutoff& shutoff = stream->shutoff;
        shutoff.resistance *= s / volume;
        for (double* time :
             {&shutoff.open_time, &shutoff.close_time, &shutoff.delay, &shutoff.close_delay}) {
            *time *= s;
        }
    }
    machine.shaft.stroke *= m;
    machine.shaft.position *= m;
    machine.shaft.mass *= m * s * s;
    machine.shaft.friction *= m * m;
    machine.shaft.viscous_friction *= m * s;
    machine.drive.force *= m * m;
    machine.drive.rise_time *= s;
    machine.mixer.bore *= m;
    machine.mixer.length *= m;
    machine.mixer.blend_viscosity = *machine.mixer.blend_viscosity * s;
    return machine;
}

}  // namespace

TEST_CASE("a change of base units changes no ratio of a run", "[transient][units]") {
    // Length and time by random factors, mass so that pressure keeps its unit (p0 and the gas
    // constant are built in, so the three cannot be chosen freely). Error control has scales of its
    // own in metres, so runs agree to the tolerance, not to rounding.
    demo::Random random(8);
    Machine machine = demo::long_boom();
    machine.hardener.throttle = demo::needle();
    machine.hardener.line[0].pocket = 0.2 * mL;
    machine.resin.rheology.yield_stress = 10;
    machine.resin.cylinder.leak = 1e-14;
    machine.shaft.friction = 100;
    machine.shaft.viscous_friction = 1000;
    demo::set_cells(machine, 4);
    const auto run = [&](double m, double s) {
        Sequence shots = demo::held_shots(2);
        shots.steps[0].amount *= s;
        shots.steps[1].amount *= s;
        const Trace trace = simulate(in_units(machine, m, s), shots, {.rtol = 1e-9});
        REQUIRE(trace.status == Status::ok);
        const ShotSpan& shot = trace.shots.back();
        const double volume = m * m * m;
        return std::array{change(trace.resin.volume, shot.open, shot.close) / volume,
                          change(trace.hardener.volume, shot.open, shot.close) / volume,
                          trace.hardener.pressure(shot.open, 0),
                          trace.position[shot.close] / m,
                          trace.speed[shot.close] * s / m};
    };
    const auto reference = run(1.0, 1.0);
    for (int i = 0; i < 3; ++i) {
        const double m = random.decades(0.2, 5.0);
        const double s = random.decades(0.2, 5.0);
        const auto scaled = run(m, s);
        for (std::size_t k = 0; k < reference.size(); ++k) {
            CAPTURE(m, s, k);
            CHECK_THAT(scaled[k], WithinRel(reference[k], 1e-6));
        }
    }
}

// ---- order ----

TEST_CASE("a tighter tolerance gives smaller errors", "[transient][order]") {
    Machine machine = demo::long_boom();
    demo::set_cells(machine, 6);
    const auto volumes = [&](double rtol) {
        const Trace trace = simulate(machine, demo::held_shots(2), {.rtol = rtol});
        const ShotSpan& shot = trace.shots.back();
        return Eigen::Vector2d(change(trace.resin.volume, shot.open, shot.close),
                               change(trace.hardener.volume, shot.open, shot.close));
    };
    const Eigen::Vector2d exact = volumes(1e-10);
    for (const double rtol : {1e-3, 1e-4, 1e-5, 1e-6, 1e-7}) {
        const Eigen::Vector2d error = (volumes(rtol) - exact).cwiseQuotient(exact).cwiseAbs();
        CAPTURE(rtol, error[0], error[1]);
        // The local error is held to rtol, and some hundred steps add up less than ten of them.
        CHECK(error.maxCoeff() < 10 * rtol);
    }
}

TEST_CASE("the net lead converges with the square of the cell", "[transient][order]") {
    const auto lead = [&](int cells) {
        Machine machine = demo::long_boom();
        demo::set_cells(machine, cells);
        const Trace trace = simulate(machine, once(StepKind::dispense_time, 3.0), {.rtol = 1e-9});
        return net_lead(trace, trace.shots.front(), trace.steady.ratio);
    };
    // Differences of successive halvings fall by four.
    const std::array leads{lead(2), lead(4), lead(8), lead(16), lead(32)};
    for (std::size_t i = 0; i + 2 < leads.size(); ++i) {
        const double coarse = leads[i] - leads[i + 1];
        const double fine = leads[i + 1] - leads[i + 2];
        CAPTURE(i, leads[i] / mL, leads[i + 1] / mL, leads[i + 2] / mL);
        CHECK_THAT(std::log2(coarse / fine), WithinAbs(2.0, 0.2));
    }
}

// ---- what practice knows; common practice, no source ----

namespace {

Trace first_shot(const Machine& machine) {
    Trace trace = simulate(machine, once(StepKind::dispense_time, 3.0), {.rtol = 1e-6});
    REQUIRE(trace.status == Status::ok);
    return trace;
}

}  // namespace

TEST_CASE("a resin that holds gas lags from a relaxed start, and more gas lags more",
          "[transient][practice]") {
    double last = 0.0;
    for (const double gas : {1e-6, 0.005, 0.015, 0.03}) {
        Machine machine = demo::long_boom();
        machine.resin.liquid.free_gas = gas;
        const Trace trace = first_shot(machine);
        const double lead = net_lead(trace, trace.shots[0], trace.steady.ratio);
        CAPTURE(gas, lead / mL);
        CHECK(lead > last);
        last = lead;
    }
}

TEST_CASE("back pressure on the leading side slows its early flow and lowers its peak",
          "[transient][practice]") {
    double last_early = std::numeric_limits<double>::infinity();
    double last_peak = std::numeric_limits<double>::infinity();
    for (const double resistance : {0.2, 1.0, 3.0, 6.0}) {
        Machine machine = demo::long_boom();
        machine.hardener.throttle.resistance = resistance * bar / mL;
        const Trace trace = simulate(machine,
                                     {.steps = {{StepKind::dispense_time, 3.0},
                                                {StepKind::dwell, 20.0},
                                                {StepKind::dispense_time, 0.1}},
                                      .repeat = 1,
                                      .start = {}},
                                     {.rtol = 1e-6});
        REQUIRE(trace.status == Status::ok);
        const ShotSpan& shot = trace.shots[1];
        const double early = change(trace.hardener.volume, shot.open, shot.close);
        double peak = 0.0;
        for (Index row = shot.open; row <= shot.close; ++row) {
            peak = std::max(peak,
                            change(trace.hardener.volume, shot.open, row) -
                                trace.steady.ratio * change(trace.resin.volume, shot.open, row));
        }
        CAPTURE(resistance, early / mL, peak / mL);
        CHECK(early < last_early);
        CHECK(peak < last_peak);
        last_early = early;
        last_peak = peak;
    }
}

TEST_CASE("streams charged before the first shot lead less than relaxed ones",
          "[transient][practice]") {
    // Each stream at the pressure its cylinder will have when flowing, as after a fill under
    // pressure: what is left to pack is only the fall along the lines.
    const Machine machine = demo::long_boom();
    const Trace relaxed = first_shot(machine);
    const double resin = relaxed.steady.resin.cylinder_pressure;
    const double hardener = relaxed.steady.hardener.cylinder_pressure;
    Sequence shot = once(StepKind::dispense_time, 3.0);
    shot.start = {resin, resin, hardener, hardener};
    const Trace charged = simulate(machine, shot, {.rtol = 1e-6});
    REQUIRE(charged.status == Status::ok);
    const double ratio = relaxed.steady.ratio;
    CHECK(std::abs(net_lead(charged, charged.shots[0], ratio)) <
          0.1 * net_lead(relaxed, relaxed.shots[0], ratio));
}

TEST_CASE("on one shaft a preload against closed shut-offs leaves the first lead as it was",
          "[transient][conservation]") {
    // It stores A_r and A_h times the same travel, which is on ratio, and gives it back. So by mass
    // conservation the lead from relaxed to steady does not depend on the way there. What is left
    // after 6 s of flow, exp(-6 s/tau), is far below 1e-6.
    const Machine machine = demo::long_boom();
    const auto lead = [&](double preload) {
        Sequence shot = once(StepKind::dispense_time, 6.0);
        if (preload > 0.0) {
            shot.steps.insert(shot.steps.begin(), {StepKind::preload_time, preload});
        }
        const Trace trace = simulate(machine, shot, {.rtol = 1e-7});
        REQUIRE(trace.status == Status::ok);
        return net_lead(trace, trace.shots[0], trace.steady.ratio);
    };
    const double without = lead(0.0);
    CHECK(without > mL);
    CHECK_THAT(lead(1.0), WithinRel(without, 1e-6));
    CHECK_THAT(lead(20.0), WithinRel(without, 1e-6));
}

// ---- limits of a whole run ----

namespace {

std::array<double, 2> shot_volumes(const Machine& machine) {
    const Trace trace = simulate(machine, demo::held_shots(2), {.rtol = 1e-8});
    REQUIRE(trace.status == Status::ok);
    const ShotSpan& shot = trace.shots.back();
    return {change(trace.resin.volume, shot.open, shot.close),
            change(trace.hardener.volume, shot.open, shot.close)};
}

void check_same(const Machine& a, const Machine& b, double tolerance) {
    const auto first = shot_volumes(a);
    const auto second = shot_volumes(b);
    CHECK_THAT(first[0], WithinRel(second[0], tolerance));
    CHECK_THAT(first[1], WithinRel(second[1], tolerance));
}

}  // namespace

TEST_CASE("a run goes over smoothly to no yield stress, to n = 1 and to no gas",
          "[transient][limit]") {
    Machine plain = demo::long_boom();
    demo::set_cells(plain, 4);
    plain.resin.rheology = {.consistency = 30};
    plain.resin.liquid.free_gas = least_free_gas;
    Machine other = plain;
    other.resin.rheology.yield_stress = 1e-6;  // against wall stresses of 100 Pa and more
    check_same(other, plain, 1e-6);
    other = plain;
    other.resin.rheology.index = 1 - 1e-7;  // (1 - n) ln(rate) of the viscosity
    check_same(other, plain, 1e-6);
    other = plain;
    other.resin.liquid.free_gas = 2 * least_free_gas;
    // One millionth more gas than none: 1e-6 of the liquid held, 1 L against 30 mL of shot.
    check_same(other, plain, 1e-4);
}

TEST_CASE("a throttle wide open is no throttle, one nearly shut stops its stream",
          "[transient][limit]") {
    Machine open = demo::long_boom();
    open.hardener.throttle = {};
    Machine wide = open;
    wide.hardener.throttle = demo::needle(1000);
    check_same(wide, open, 1e-5);
    Machine shut = open;
    shut.hardener.throttle = {.resistance = 1e6 * bar / mL};
    const Trace trace = simulate(shut, once(StepKind::dispense_time, 3.0));
    REQUIRE(trace.status == Status::ok);
    const Index end = trace.shots[0].close;
    // 100 bar at most over 1e6 bar s/mL for 3 s.
    CHECK(std::abs(trace.hardener.volume[end]) < 1e-3 * mL);
    // One shaft: the hardener's cylinder then carries the drive, and the resin stands too.
    CHECK(trace.speed[end] < 1e-4);
}

TEST_CASE("a sequence that cannot be is refused by name", "[transient][refusal]") {
    const Machine machine = demo::long_boom();
    const auto text = [&](const Sequence& sequence, const Numerics& numerics = {}) {
        return demo::refusal([&] { (void)simulate(machine, sequence, numerics); });
    };
    const Sequence good = demo::held_shots(1);
    CHECK(demo::mentions(text(once(StepKind::dwell, -1.0)), "amount"));
    CHECK(demo::mentions(text(once(StepKind::dwell, std::nan(""))), "amount"));
    CHECK(demo::mentions(text({.steps = {}, .repeat = 1, .start = {}}), "steps"));
    CHECK(demo::mentions(text({.steps = good.steps, .repeat = 0, .start = {}}), "repeat"));
    CHECK(demo::mentions(text({.steps = good.steps, .repeat = 1, .start = uniform(-bar)}),
                         "start pressure"));
    CHECK(demo::mentions(text(good, {.rtol = 0.5}), "rtol"));
    CHECK(demo::mentions(text(good, {.max_steps = 0}), "max_steps"));
    Machine late = machine;
    late.shaft.position = 0.25;
    CHECK(demo::mentions(demo::refusal([&] { (void)simulate(late, good); }), "position"));
    Machine uncut = machine;
    uncut.resin.line[0].cells = 0;
    CHECK(demo::mentions(demo::refusal([&] { (void)simulate(uncut, good); }), "cells"));
}
