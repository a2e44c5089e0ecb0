#include "evenfront/steady.hpp"

#include <numbers>
#include <vector>

#include "evenfront/mixer.hpp"
#include "evenfront/transient.hpp"
#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::bar;
using demo::mL;

namespace {

// Hagen-Poiseuille holds in every line of this one.
Machine newtonian() {
    Machine machine = demo::long_boom();
    machine.resin.rheology = {.consistency = 20.0};
    return machine;
}

double delivered_ratio(const Machine& machine, const Steady& steady) {
    const auto liquid_per_travel = [](const Stream& stream, double pressure) {
        return area(stream.cylinder) *
               density(stream.liquid, pressure, stream.cylinder.temperature) /
               stream.liquid.density;
    };
    return liquid_per_travel(machine.hardener, steady.hardener.cylinder_pressure) /
           liquid_per_travel(machine.resin, steady.resin.cylinder_pressure);
}

}  // namespace

TEST_CASE("the delivered ratio is that of the bores times the density factor",
          "[steady][identity]") {
    // What one travel pushes out is all that leaves, without leak. Closed form, 1e-8 asked for.
    for (const bool needle : {false, true}) {
        Machine machine = demo::long_boom();
        if (needle) {
            machine.hardener.throttle = demo::needle();
        }
        const Steady steady = steady_state(machine);
        REQUIRE(steady.flows);
        CHECK_THAT(steady.ratio, WithinRel(delivered_ratio(machine, steady), 1e-12));
        CHECK_THAT(steady.hardener.flow / steady.resin.flow, WithinRel(steady.ratio, 1e-15));
    }
    // Without gas, warmth or give only the bores count: (26.19/70)^2.
    Machine stiff = newtonian();
    for (Stream* stream : {&stiff.resin, &stiff.hardener}) {
        stream->liquid = {.density = 1000, .bulk_modulus = 1e15};
    }
    CHECK_THAT(steady_state(stiff).ratio, WithinRel(0.02619 * 0.02619 / (0.07 * 0.07), 2e-6));
}

TEST_CASE("steady pressures add up along each stream by Hagen-Poiseuille",
          "[steady][closed form]") {
    Machine machine = newtonian();
    for (Stream* stream : {&machine.resin, &machine.hardener}) {
        stream->liquid = {.density = 1000, .bulk_modulus = 1e15};
    }
    const Steady steady = steady_state(machine);
    const double pi = std::numbers::pi;
    const auto check = [&](const Stream& stream, const SteadyStream& flow) {
        const Segment& hose = stream.line[0];
        const double q = area(stream.cylinder) * steady.speed;
        const double line =
            128 * stream.rheology.consistency * hose.length / (pi * std::pow(hose.bore, 4)) * q;
        const double loss = stream.throttle.resistance * q;
        // The least gas, 1e-6, is all that separates actual from liquid flow.
        CHECK_THAT(flow.flow, WithinRel(q, 2e-6));
        CHECK_THAT(flow.cylinder_pressure - flow.throttle_pressure, WithinRel(line, 1e-5));
        CHECK_THAT(flow.throttle_loss, WithinRel(loss, 1e-5));
        CHECK_THAT(flow.throttle_pressure - steady.mixer_pressure,
                   WithinRel(loss + stream.shutoff.resistance * q, 1e-5));
        const double u = q / (pi / 4 * hose.bore * hose.bore);
        CHECK_THAT(flow.reynolds_number,
                   WithinRel(1000 * u * hose.bore / stream.rheology.consistency, 1e-5));
    };
    check(machine.resin, steady.resin);
    check(machine.hardener, steady.hardener);
    CHECK_THAT(steady.mixer_pressure,
               WithinRel(7 * 128 * 9.0 * 0.25 / (pi * std::pow(0.013, 4)) *
                             (steady.resin.flow + steady.hardener.flow),
                         1e-12));
}

TEST_CASE("the drive's force is spent on both pistons and on friction", "[steady][identity]") {
    Machine machine = demo::long_boom();
    machine.shaft.friction = 300;
    machine.shaft.viscous_friction = 2e4;
    for (const double force : {1000.0, 4600.0, 12000.0}) {
        const Steady steady = steady_state(machine, force);
        REQUIRE(steady.flows);
        CHECK_THAT(area(machine.resin.cylinder) * steady.resin.cylinder_pressure +
                       area(machine.hardener.cylinder) * steady.hardener.cylinder_pressure +
                       2e4 * steady.speed + 300,
                   WithinRel(force, 1e-10));
    }
}

TEST_CASE("more force means more speed, more resistance less", "[steady][monotone]") {
    Machine machine = demo::long_boom();
    double last = 0.0;
    for (const double force : {100.0, 500.0, 2000.0, 8000.0}) {
        const double speed = steady_state(machine, force).speed;
        CHECK(speed > last);
        last = speed;
    }
    for (const double resistance : {0.5, 2.0, 8.0}) {
        machine.hardener.throttle.resistance = resistance * bar / mL;
        const double speed = steady_state(machine, 8000.0).speed;
        CHECK(speed < last);
        last = speed;
    }
}

TEST_CASE("a throttle moves nothing steady but pressures and, through density, the ratio",
          "[steady][identity]") {
    Machine open = demo::long_boom();
    Machine throttled = open;
    throttled.hardener.throttle.resistance = 2.0 * bar / mL;
    const Steady before = steady_state(open);
    const Steady after = steady_state(throttled);
    CHECK(after.hardener.cylinder_pressure > before.hardener.cylinder_pressure + bar);
    const auto factor = [](const Machine& machine, const Steady& steady) {
        return steady.ratio / delivered_ratio(machine, steady);
    };
    CHECK_THAT(factor(open, before), WithinRel(1.0, 1e-12));
    CHECK_THAT(factor(throttled, after), WithinRel(1.0, 1e-12));
    // The ratio itself moves by no more than the compressibility of both over the change.
    const double largest =
        compressibility(open.hardener.liquid, before.hardener.cylinder_pressure) *
            (after.hardener.cylinder_pressure - before.hardener.cylinder_pressure) +
        compressibility(open.resin.liquid, after.resin.cylinder_pressure) *
            (before.resin.cylinder_pressure - after.resin.cylinder_pressure);
    CHECK(after.ratio > before.ratio);
    CHECK(after.ratio / before.ratio - 1 < largest);
    // Incompressible, it stays where it is but for the least gas, 1e-6 a tenth of which is moved.
    for (Machine* machine : {&open, &throttled}) {
        for (Stream* stream : {&machine->resin, &machine->hardener}) {
            stream->liquid = {.density = 1000, .bulk_modulus = 1e16};
        }
    }
    CHECK_THAT(steady_state(throttled).ratio, WithinRel(steady_state(open).ratio, 1e-7));
}

TEST_CASE("the steady state is where a run under constant drive ends", "[steady][transient]") {
    Machine machine = demo::long_boom();
    machine.drive.rise_time = 0.05;
    std::vector<Machine> machines(4, machine);
    machines[1].hardener.throttle = demo::needle();
    machines[1].resin.rheology.yield_stress = 30;
    machines[2].hardener.cylinder.leak = 0.02 * mL / (60 * bar);
    machines[2].resin.cylinder.leak = 0.1 * mL / (60 * bar);
    machines[3].shaft.friction = 200;
    machines[3].shaft.viscous_friction = 1e4;
    machines[3].resin.throttle.volume_between = 2 * mL;
    machines[3].hardener.throttle.before_shutoff = false;
    machines[3].hardener.throttle.volume_between = 0.3 * mL;
    machines[3].resin.line.push_back({.name = "head",
                                      .bore = 0.01,
                                      .length = 0.3,
                                      .temperature = demo::celsius(35),
                                      .cells = 4});
    for (const Machine& one : machines) {
        const Steady steady = steady_state(one);
        const Trace trace =
            simulate(one,
                     {.steps = {{StepKind::dispense_time, 8.0}}, .repeat = 1, .start = {}},
                     {.rtol = 1e-8});
        REQUIRE(trace.status == Status::ok);
        const Eigen::Index end = trace.shots.front().close;
        // exp(-8 s/0.4 s) of the start is left; rtol 1e-8 beside it.
        CHECK_THAT(trace.speed[end], WithinRel(steady.speed, 1e-6));
        CHECK_THAT(trace.resin.flow[end], WithinRel(steady.resin.flow, 1e-6));
        CHECK_THAT(trace.hardener.flow[end], WithinRel(steady.hardener.flow, 1e-6));
        CHECK_THAT(trace.resin.pressure(end, 0), WithinRel(steady.resin.cylinder_pressure, 1e-6));
        CHECK_THAT(trace.hardener.pressure(end, 0),
                   WithinRel(steady.hardener.cylinder_pressure, 1e-6));
        CHECK_THAT(trace.mixer_pressure[end], WithinRel(steady.mixer_pressure, 1e-6));
    }
}

TEST_CASE("the steady state does not depend on how finely a line is cut", "[steady][cells]") {
    Machine coarse = demo::long_boom();
    Machine fine = coarse;
    demo::set_cells(coarse, 1);
    demo::set_cells(fine, 64);
    // The links add up to the whole line; only where along it the density falls by the gas, 1.5 %
    // towards the head, is placed finer.
    CHECK_THAT(steady_state(coarse).speed, WithinRel(steady_state(fine).speed, 3e-3));
    for (Machine* machine : {&coarse, &fine}) {
        for (Stream* stream : {&machine->resin, &machine->hardener}) {
            stream->liquid = {.density = 1000, .bulk_modulus = 1e16};
        }
    }
    CHECK_THAT(steady_state(coarse).speed, WithinRel(steady_state(fine).speed, 1e-6));
}

TEST_CASE("a drive weaker than friction moves nothing and says why", "[steady][limit]") {
    Machine machine = demo::long_boom();
    machine.shaft.friction = 5000;
    const Steady steady = steady_state(machine);
    CHECK_FALSE(steady.flows);
    CHECK(steady.speed == 0.0);
    CHECK(demo::mentions(steady.reason, "nothing flows, because"));
    CHECK(demo::mentions(steady.reason, "friction"));
    CHECK(demo::mentions(steady.reason, "4.6 kN"));
}

TEST_CASE("a yield stress that is never exceeded moves nothing and says why", "[steady][limit]") {
    // 2 L tau_y/R per hose: resin 4 x 6 m/16 mm x tau_y against the drive's 11 bar or so.
    Machine machine = demo::long_boom();
    const double areas = area(machine.resin.cylinder) + area(machine.hardener.cylinder);
    const double threshold = machine.drive.force / area(machine.resin.cylinder) / (4 * 6 / 0.016);
    CHECK(machine.drive.force / areas > 5 * bar);
    machine.resin.rheology.yield_stress = 1.001 * threshold;
    const Steady held = steady_state(machine);
    CHECK_FALSE(held.flows);
    CHECK(demo::mentions(held.reason, "yield stress"));
    machine.resin.rheology.yield_stress = 0.9 * threshold;
    const Steady moves = steady_state(machine);
    CHECK(moves.flows);
    CHECK(moves.speed > 0.0);
}

TEST_CASE("by the log rule the blend's viscosity is that of the steady flow itself",
          "[steady][fixed point]") {
    Machine machine = demo::long_boom();
    machine.mixer.blend_viscosity.reset();
    machine.mixer.temperature = demo::celsius(40);
    const Steady steady = steady_state(machine);
    REQUIRE(steady.flows);
    CHECK_THAT(steady.blend_viscosity,
               WithinRel(blend_viscosity(machine.mixer,
                                         machine.resin.rheology,
                                         machine.hardener.rheology,
                                         steady.resin.flow,
                                         steady.hardener.flow),
                         1e-9));
    CHECK_THAT(steady.mixer_resistance,
               WithinRel(mixer_resistance(machine.mixer, steady.blend_viscosity), 1e-14));
    // The same viscosity given by hand leads to the same flow.
    machine.mixer.blend_viscosity = steady.blend_viscosity;
    CHECK_THAT(steady_state(machine).speed, WithinRel(steady.speed, 1e-9));
}

TEST_CASE("a seal leak is missing from what is delivered", "[steady][leak]") {
    Machine machine = demo::long_boom();
    const double leak = 0.5 * mL / (60 * bar);
    machine.hardener.cylinder.leak = leak;
    const Steady steady = steady_state(machine);
    const double p = steady.hardener.cylinder_pressure;
    const double per_volume = density(machine.hardener.liquid, p, demo::celsius(25)) / 1050;
    // Liquid pushed less liquid leaked, g p.
    CHECK_THAT(
        steady.hardener.flow,
        WithinRel((area(machine.hardener.cylinder) * steady.speed - leak * p) * per_volume, 1e-10));
    CHECK(steady.ratio < delivered_ratio(machine, steady));
}

TEST_CASE("a leak as large as the flow is still met, one that takes all is said",
          "[steady][leak]") {
    // The late time of a constant drive is the other way to the same state; no source.
    Machine machine = demo::long_boom();
    machine.resin.cylinder.leak = 1e-10;
    const Steady steady = steady_state(machine);
    const Trace trace = simulate(machine, {.steps = {{StepKind::dispense_time, 5.0}}});
    const Eigen::Index last = trace.shots.back().close;
    CHECK_THAT(trace.speed[last], WithinRel(steady.speed, 1e-6));
    CHECK_THAT(trace.resin.flow[last], WithinRel(steady.resin.flow, 1e-6));
    machine.resin.cylinder.leak = 0.0;
    machine.hardener.cylinder.leak = 1e-10;
    const Steady drained = steady_state(machine);
    CHECK_FALSE(drained.flows);
    CHECK(drained.reason.find("seal leak") != std::string::npos);
}

TEST_CASE("a weak drive flows in proportion, a strong one by the power law", "[steady][limit]") {
    // Newtonian throughout and stiff: speed is proportional to force.
    Machine machine = newtonian();
    for (Stream* stream : {&machine.resin, &machine.hardener}) {
        stream->liquid = {.density = 1000, .bulk_modulus = 1e15};
    }
    CHECK_THAT(steady_state(machine, 4600).speed / steady_state(machine, 46).speed,
               WithinRel(100.0, 1e-5));
    CHECK_THAT(steady_state(machine, 46).speed / steady_state(machine, 0.46).speed,
               WithinRel(100.0, 1e-5));
}

TEST_CASE("behind a throttle shut ever tighter one stream carries the whole drive",
          "[steady][limit]") {
    // As r grows the flow goes to zero as 1/r and with it every loss but the throttle's: the
    // hardener's cylinder holds the drive alone, p = F/A_h, and q = p/r. Statics, no source.
    Machine machine = demo::long_boom();
    const double held = machine.drive.force / area(machine.hardener.cylinder);
    double last = 1.0;
    for (const double r : {1e4, 1e5, 1e6, 1e8, 1e10, 1e12}) {
        machine.hardener.throttle.resistance = r * bar / mL;
        const Steady steady = steady_state(machine);
        CAPTURE(r);
        REQUIRE(steady.flows);
        // What the resin still takes falls as its flow to its index, from about 1 % at 1e4.
        const double taken = 0.02 * std::pow(1e4 / r, 0.85);
        CHECK_THAT(steady.hardener.cylinder_pressure, WithinRel(held, taken + 1e-12));
        CHECK(steady.hardener.flow < last);
        last = steady.hardener.flow;
    }
}
