/// Screws, two shafts, stick-slip, lash.
#include <array>
#include <cmath>

#include "evenfront/lead.hpp"
#include "evenfront/transient.hpp"
#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::bar;
using demo::celsius;
using demo::mL;
using Eigen::Index;

namespace {

Machine screwed(double speed, double limit = 1e6) {
    Machine machine = demo::long_boom();
    machine.drive = {.kind = DriveKind::speed,
                     .force = limit,
                     .between_shots = BetweenShots::lock,
                     .speed = speed,
                     .ramp_time = 0.1};
    return machine;
}

Sequence shots(int count, double time = 3.0, double pause = 20.0) {
    return {.steps = {{StepKind::dispense_time, time}, {StepKind::dwell, pause}}, .repeat = count};
}

// Two force drives that each carry what their piston takes of the common one.
Machine parted(double force) {
    Machine machine = demo::long_boom();
    machine.drive.force = force;
    const Steady steady = steady_state(machine);
    machine.hardener_axis = Axis{machine.shaft, machine.drive};
    machine.drive.force = area(machine.resin.cylinder) * steady.resin.cylinder_pressure;
    machine.hardener_axis->drive.force =
        area(machine.hardener.cylinder) * steady.hardener.cylinder_pressure;
    return machine;
}

}  // namespace

TEST_CASE("a screw delivers its speed times the bores", "[drives][limit]") {
    const Machine machine = screwed(4e-3);
    const Trace trace = simulate(machine, shots(1, 6.0));
    REQUIRE(trace.status == Status::ok);
    CHECK(trace.steady.speed == 4e-3);
    const Index close = trace.shots[0].close;
    CHECK_THAT(trace.speed[close], WithinRel(4e-3, 1e-4));
    // Told 6 s less half the ramp; the screw gives by F/k, and its shaft stops after the shot.
    const double told = 4e-3 * (6.0 - 0.05);
    const double given = trace.force[close] / machine.drive.stiffness;
    CHECK_THAT(trace.position[close] - 0.06, WithinAbs(told - given, 1e-8));
    const Index end = trace.time.size() - 1;
    CHECK_THAT(trace.position[end] + trace.force[end] / machine.drive.stiffness - 0.06,
               WithinAbs(told + 4e-3 * 0.05, 1e-8));
    CHECK(trace.mass_balance_error < 1e-12);
}

TEST_CASE("a screw at its limit is a force drive, and catches up", "[drives][limit]") {
    Machine machine = screwed(1e-2, 4600);  // faster than 4.6 kN can push
    machine.drive.ramp_time = 0.0;
    Machine forced = machine;
    forced.drive = {.force = 4600};
    CHECK_THAT(steady_state(machine).speed, WithinRel(steady_state(forced).speed, 1e-12));
    Sequence sequence = shots(1, 4.0);
    const double closed = 4600 / (area(machine.resin.cylinder) + area(machine.hardener.cylinder));
    sequence.start = {closed, closed, closed, closed};  // packed: both begin at 4.6 kN
    const Trace trace = simulate(machine, sequence);
    const Trace other = simulate(forced, sequence);
    const Index a = trace.shots[0].close;
    const Index b = other.shots[0].close;
    CHECK_THAT(trace.force.maxCoeff(), WithinRel(4600.0, 1e-9));
    CHECK_THAT(trace.resin.volume[a], WithinRel(other.resin.volume[b], 2e-3));
    CHECK_THAT(trace.hardener.volume[a], WithinRel(other.hardener.volume[b], 2e-3));
    // Slower: once the lines are packed it goes as told.
    machine.drive.speed = 2e-3;
    const Trace slow = simulate(machine, shots(1, 6.0));
    CHECK_THAT(slow.speed[slow.shots[0].close], WithinRel(2e-3, 1e-3));
}

TEST_CASE("a stiffer screw leads to one limit", "[drives][limit]") {
    std::array<double, 3> lead{};
    for (std::size_t i = 0; i < 3; ++i) {
        Machine machine = screwed(4e-3);
        machine.drive.stiffness = std::array{1e8, 1e9, 1e10}[i];
        const Trace trace = simulate(machine, shots(1));
        lead[i] = net_lead(trace, trace.shots[0], trace.steady.ratio);
    }
    CHECK(std::abs(lead[1] - lead[2]) < 0.2 * std::abs(lead[0] - lead[1]));
    CHECK(std::abs(lead[1] - lead[2]) < 1e-4 * std::abs(lead[2]));
}

TEST_CASE("two drives that share one load flow as one shaft does", "[drives][limit]") {
    const Machine two = parted(4600);
    Machine one = demo::long_boom();
    const Steady a = steady_state(two);
    const Steady b = steady_state(one);
    CHECK_THAT(a.speed, WithinRel(b.speed, 1e-9));
    CHECK_THAT(a.hardener_speed, WithinRel(b.speed, 1e-9));
    CHECK_THAT(a.ratio, WithinRel(b.ratio, 1e-9));
    CHECK_THAT(a.mixer_pressure, WithinRel(b.mixer_pressure, 1e-9));
    const Trace trace = simulate(two, shots(2));
    REQUIRE(trace.status == Status::ok);
    CHECK(trace.mass_balance_error < 1e-12);
    CHECK(trace.hardener_axis.position.size() == trace.time.size());
    const Index close = trace.shots[0].close;
    CHECK_THAT(trace.speed[close], WithinRel(a.speed, 2e-2));
}

TEST_CASE("the later of two drives lags by its delay times its flow", "[drives][identity]") {
    // Screws on stiff lines: each stream is told what it delivers. 0.2 s of hardener is missing.
    Machine machine = screwed(4e-3);
    for (Stream* stream : {&machine.resin, &machine.hardener}) {
        stream->liquid.free_gas = least_free_gas;
        stream->line[0].wall_expansion = 0.0;
        stream->line[0].length = 0.5;
    }
    machine.resin.rheology = {.consistency = 2.0};
    machine.drive.ramp_time = 0.0;
    machine.shaft.viscous_friction = 2e4;  // else the screws ring on their stiff lines
    machine.hardener_axis = Axis{machine.shaft, machine.drive};
    const auto lead = [&](double delay) {
        machine.hardener_axis->drive.delay = delay;
        const Trace trace = simulate(machine, shots(1));
        return net_lead(trace, trace.shots[0], trace.steady.ratio);
    };
    const double late = lead(0.2) - lead(0.0);
    CHECK_THAT(late, WithinRel(-0.2 * 4e-3 * area(machine.hardener.cylinder), 1e-2));
}

TEST_CASE("slots may be swapped, drives and all", "[drives][identity]") {
    Machine machine = parted(4600);
    machine.drive.delay = 0.1;
    machine.hardener.shutoff.stem_volume = 0.05 * mL;
    Machine swapped = machine;
    std::swap(swapped.resin, swapped.hardener);
    std::swap(swapped.shaft, swapped.hardener_axis->shaft);
    std::swap(swapped.drive, swapped.hardener_axis->drive);
    const Trace a = simulate(machine, shots(1), {.rtol = 1e-6});
    const Trace b = simulate(swapped, shots(1), {.rtol = 1e-6});
    CHECK_THAT(a.resin.volume[a.shots[0].close],
               WithinRel(b.hardener.volume[b.shots[0].close], 1e-6));
    CHECK_THAT(a.hardener.volume[a.shots[0].close],
               WithinRel(b.resin.volume[b.shots[0].close], 1e-6));
}

TEST_CASE("friction holds trapped pressure for hours", "[drives][limit]") {
    // Drive off, shut-offs shut: the liquid pushes the shaft back until friction holds what is
    // left, sum of A p = breakaway friction at most, and there it stays.
    Machine machine = demo::long_boom();
    machine.shaft.friction = 300;
    machine.shaft.breakaway = 600;
    machine.drive.between_shots = BetweenShots::vent_drive;
    const auto after = [&](double pause) {
        const Trace trace = simulate(machine, shots(1, 3.0, pause));
        REQUIRE(trace.status == Status::ok);
        REQUIRE(trace.rests.size() == 1);
        const Index end = trace.rests[0].end;
        return std::array{trace.resin.pressure(end, 0), trace.hardener.pressure(end, 0)};
    };
    const auto minutes = after(600);
    const auto hours = after(4 * 3600);
    const double load =
        area(machine.resin.cylinder) * hours[0] + area(machine.hardener.cylinder) * hours[1];
    CHECK(load > 0.0);
    CHECK(load <= 600 * (1 + 1e-9));
    for (const std::size_t s : {0U, 1U}) {
        CHECK_THAT(hours[s], WithinRel(minutes[s], 1e-2));
    }
    // More to overcome from rest than running: a first shot starts later than without.
    machine.drive.between_shots = BetweenShots::hold;
    machine.drive.rise_time = 0.5;
    const auto travelled = [&](double breakaway) {
        machine.shaft.breakaway = breakaway;
        const Trace trace = simulate(machine, shots(1, 0.5, 1.0));
        return trace.position[trace.shots[0].close];
    };
    CHECK(travelled(2000) < travelled(300));
    CHECK(travelled(0) == travelled(300));
}

TEST_CASE("lash is lost from the first shot after a refill alone", "[drives][identity]") {
    Machine machine = screwed(4e-3);
    machine.drive.ramp_time = 0.0;
    machine.shaft.position = 0.02;
    for (Stream* stream : {&machine.resin, &machine.hardener}) {
        stream->liquid.free_gas = least_free_gas;
        stream->line[0].wall_expansion = 0.0;
        stream->feed =
            Feed{.tank_pressure = 0.2 * bar, .bore = 0.03, .length = 1, .temperature = celsius(50)};
    }
    machine.resin.rheology = {.consistency = 2.0};
    const Sequence sequence{.steps = {{StepKind::dispense_travel, 0.01},
                                      {StepKind::refill, 2.0},
                                      {StepKind::dispense_travel, 0.01},
                                      {StepKind::dispense_travel, 0.01}}};
    const auto volumes = [&](double lash) {
        machine.hardener.cylinder.lash = lash;
        const Trace trace = simulate(machine, sequence);
        REQUIRE(trace.status == Status::ok);
        CHECK(trace.mass_balance_error < 1e-9);
        std::array<double, 3> out{};
        for (std::size_t i = 0; i < 3; ++i) {
            const ShotSpan& shot = trace.shots[i];
            out[i] = trace.hardener.volume[shot.close] - trace.hardener.volume[shot.open];
        }
        return out;
    };
    const auto without = volumes(0.0);
    const auto with = volumes(0.2e-3);
    const double lost = 0.2e-3 * area(machine.hardener.cylinder);
    CHECK_THAT(with[0], WithinRel(without[0], 1e-12));  // pushed until here: nothing to take up
    CHECK_THAT(without[1] - with[1], WithinRel(lost, 0.03));
    CHECK_THAT(with[2], WithinRel(without[2], 1e-3));
}
