/// Inertia, idle temperatures and walls whose expansion is a table.
#include <cmath>

#include "evenfront/chain.hpp"
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

constexpr double pi = 3.14159265358979;

}  // namespace

TEST_CASE("a pressure wave carries the flow of Joukowsky", "[lines][reference]") {
    // Elastic pipe: c = 906.26 m/s, and 240.19 m of head to a change of 2.6 m/s (Subramanya, 1000
    // Solved Problems in Fluid Mechanics, Ex. 14.14): K 2.0 GPa, 998 kg/m^3, D 0.9 m, e 12.5 mm, E
    // 100 GPa. Opened to the air from that head, the liquid leaves at 2.6 m/s until the wave is
    // back.
    const double bore = 0.9;
    const double length = 400.0;
    const double c = 906.26;
    const double head = 998 * 9.81 * 240.19;
    Machine machine = demo::equal_streams();
    machine.hardener.liquid = {.density = 998, .bulk_modulus = 2.0e9};
    machine.hardener.rheology = {.consistency = 1e-3};
    machine.hardener.cylinder.temperature = 298.15;
    machine.hardener.line = {{.name = "pipe",
                              .bore = bore,
                              .length = length,
                              .temperature = 298.15,
                              .wall_expansion = pi / 4 * bore * bore * bore / (100e9 * 12.5e-3),
                              .cells = 400}};
    machine.hardener.throttle = {};
    machine.hardener.shutoff = {.resistance = 1.0};
    machine.resin.shutoff.delay = 100.0;  // the resin stays out of it
    machine.mixer = {.bore = 1.0, .length = 0.01, .blend_viscosity = 1e-3};
    machine.shaft.mass = 1e9;
    const Trace trace = simulate(machine,
                                 {.steps = {{StepKind::dispense_time, 1.5 * length / c}},
                                  .start = {.hardener_cylinder = head, .hardener_line = head}},
                                 {.rtol = 1e-5, .inertia = true});
    REQUIRE(trace.status == Status::ok);
    const Index end = trace.shots[0].close;
    const double area = pi / 4 * bore * bore;
    CHECK_THAT(trace.hardener.volume[end] / (area * trace.time[end]), WithinRel(2.6, 0.005));
    // The wave's place: half the line after half its time. Nodes before it have not moved.
    Index half = 0;
    while (trace.time[half] < 0.5 * length / c) {
        ++half;
    }
    CHECK_THAT(trace.hardener.pressure(half, 150), WithinRel(head, 0.01));
    CHECK(std::abs(trace.hardener.pressure(half, 260)) < 0.1 * head);
    CHECK(trace.mass_balance_error < 1e-9);
}

TEST_CASE("inertia of a short thin line changes little, and nothing where it flows steadily",
          "[lines][limit]") {
    const Machine machine = demo::long_boom();
    const Trace with = simulate(machine, demo::held_shots(2), {.inertia = true});
    const Trace without = simulate(machine, demo::held_shots(2));
    REQUIRE(with.status == Status::ok);
    const Index a = with.shots[0].close;
    const Index b = without.shots[0].close;
    CHECK_THAT(with.hardener.volume[a], WithinRel(without.hardener.volume[b], 1e-3));
    CHECK_THAT(with.hardener.flow[a], WithinRel(without.hardener.flow[b], 1e-3));
    CHECK(with.mass_balance_error < 1e-9);
    // The power-law resin keeps its chain.
    const Chain resin(machine.resin, 0.2, true);
    CHECK_FALSE(resin.has_inertia());
}

TEST_CASE("halving the cells of a line with inertia shows order two", "[lines][convergence]") {
    Machine machine = demo::long_boom();
    machine.hardener.rheology.consistency = 0.02;
    const auto pressure = [&](int cells) {
        demo::set_cells(machine, cells);
        const Trace trace = simulate(
            machine, {.steps = {{StepKind::dispense_time, 0.4}}}, {.rtol = 1e-9, .inertia = true});
        return trace.hardener.volume[trace.shots[0].close];
    };
    const double coarse = pressure(8);
    const double middle = pressure(16);
    const double fine = pressure(32);
    CHECK_THAT(std::log2(std::abs((coarse - middle) / (middle - fine))), WithinAbs(2.0, 0.3));
}

TEST_CASE("a table of the wall's expansion that is straight is a compliance", "[lines][limit]") {
    Machine machine = demo::long_boom();
    const Trace plain = simulate(machine, demo::held_shots(2), {.rtol = 1e-7});
    for (Stream* stream : {&machine.resin, &machine.hardener}) {
        Segment& hose = stream->line[0];
        hose.expansion_pressures = {20 * bar, 50 * bar, 100 * bar};
        for (const double p : hose.expansion_pressures) {
            hose.expansion_volumes.push_back(hose.wall_expansion * p);
        }
        hose.wall_expansion = 0.0;
    }
    const Trace tabled = simulate(machine, demo::held_shots(2), {.rtol = 1e-7});
    const auto volume = [](const Trace& trace) { return trace.resin.volume[trace.shots[1].close]; };
    CHECK_THAT(volume(tabled), WithinRel(volume(plain), 1e-7));
    // A hose that stiffens as it swells packs less.
    machine.resin.line[0].expansion_volumes = {0.7 * mL, 1.0 * mL, 1.2 * mL};
    const Trace stiffening = simulate(machine, demo::held_shots(1));
    CHECK(stiffening.mass_balance_error < 1e-12);
    const Chain chain(machine.resin, 0.2);
    double held = 0.0;
    for (Index i = 0; i < chain.nodes(); ++i) {
        held += chain.mass(i, 50 * bar, 0.06) - chain.mass(i, 0.0, 0.06);
    }
    Machine rigid = machine;
    rigid.resin.line[0].expansion_pressures.clear();
    rigid.resin.line[0].expansion_volumes.clear();
    const Chain stiff(rigid.resin, 0.2);
    for (Index i = 0; i < stiff.nodes(); ++i) {
        held -= stiff.mass(i, 50 * bar, 0.06) - stiff.mass(i, 0.0, 0.06);
    }
    // 1.0 mL/m at 50 bar over 6 m, at the density there.
    CHECK_THAT(
        held, WithinRel(6 * 1.0 * mL * density(machine.resin.liquid, 50 * bar, celsius(50)), 1e-9));
}

TEST_CASE("liquid at rest goes to its idle temperature and moves on with the flow",
          "[lines][identity]") {
    Machine machine = demo::long_boom();
    Segment& hose = machine.hardener.line[0];
    hose.idle_temperature = hose.temperature - 10;
    hose.idle_time = 300;
    Chain chain(machine.hardener, 0.2);
    REQUIRE(chain.idles());
    chain.rest(300);
    chain.rest(300);
    for (const double theta : chain.deviation()) {
        CHECK_THAT(theta, WithinRel(-10 * (1 - std::exp(-2.0)), 1e-12));
    }
    // Blocked in a rigid line without gas a cooling liquid loses beta K per kelvin (definition of
    // both): hardener 8e-4 1/K, 1.7 GPa, 1 K.
    hose.idle_temperature = hose.temperature - 1;
    hose.idle_time = 10;
    hose.wall_expansion = 0.0;
    machine.hardener.liquid.free_gas = least_free_gas;
    machine.hardener.cylinder.bore = 1e-4;  // holds nothing
    machine.drive.between_shots = BetweenShots::lock;
    const double start = 40 * bar;
    const Trace trace = simulate(machine,
                                 {.steps = {{StepKind::dwell, 200.0}},
                                  .start = {.hardener_cylinder = start, .hardener_line = start}});
    const Index end = trace.time.size() - 1;
    CHECK_THAT(start - trace.hardener.pressure(end, 8), WithinRel(8e-4 * 1.7e9, 5e-3));
    CHECK(trace.mass_balance_error < 1e-9);
}

TEST_CASE("a cold head makes the first shot after a pause another one", "[lines][sequence]") {
    Machine machine = demo::long_boom();
    machine.resin.line.push_back(
        {.name = "head", .bore = 0.016, .length = 0.3, .temperature = celsius(50), .cells = 4});
    const Sequence sequence{.steps = {{StepKind::dispense_time, 3.0},
                                      {StepKind::dwell, 20.0},
                                      {StepKind::dispense_time, 3.0},
                                      {StepKind::dwell, 3600.0},
                                      {StepKind::dispense_time, 3.0},
                                      {StepKind::dwell, 20.0},
                                      {StepKind::dispense_time, 3.0}}};
    const auto dispensed = [&](const Trace& trace, std::size_t i) {
        const ShotSpan& shot = trace.shots[i];
        return trace.resin.volume[shot.close] - trace.resin.volume[shot.open];
    };
    const Trace warm = simulate(machine, sequence);
    machine.resin.line[1].idle_temperature = celsius(25);
    machine.resin.line[1].idle_time = 600;
    const Trace cold = simulate(machine, sequence);
    REQUIRE(cold.status == Status::ok);
    CHECK(cold.mass_balance_error < 1e-9);
    CHECK(dispensed(cold, 2) < 0.97 * dispensed(warm, 2));
    // Of 60 mL in the head 27 leave with the shot: the next is between.
    CHECK(dispensed(cold, 3) > dispensed(cold, 2));
    CHECK(dispensed(cold, 3) < dispensed(warm, 3));
    // Finer steps carry the cold plug alike.
    const Trace fine = simulate(machine, sequence, {.rtol = 1e-6});
    CHECK_THAT(dispensed(cold, 2), WithinRel(dispensed(fine, 2), 2e-3));
}
