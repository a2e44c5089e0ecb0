/// Air drive: ways of air, gas spring, charging, and where its energy goes.
#include "evenfront/air.hpp"

#include <cmath>

#include "evenfront/integrator.hpp"
#include "evenfront/lead.hpp"
#include "evenfront/network.hpp"
#include "evenfront/transient.hpp"
#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::bar;
using demo::mL;
using Eigen::Index;
using Eigen::VectorXd;

namespace {

constexpr double p0 = 101325.0;

AirCylinder cylinder() {
    return {.bore = 0.100,
            .rod_bore = 0.025,
            .pressure = 6 * bar,
            .dead_volume = 0.2e-3,
            .supply = {.conductance = 2e-8},
            .exhaust = {.conductance = 2e-8}};
}

Machine blown(const AirCylinder& air) {
    Machine machine = demo::long_boom();
    machine.drive = {.kind = DriveKind::air, .air = air};
    machine.shaft.friction = 100;
    return machine;
}

}  // namespace

TEST_CASE("ways of air pass what the standard says", "[air][reference]") {
    // iso6358, eqs. (1) and (2), evaluated: C 1e-8 m^3/(s Pa), b 0.3, 7 bar absolute, 293.15 K.
    const AirPath path{.conductance = 1e-8, .critical_ratio = 0.3};
    const auto flow = [&](double ratio) {
        return air_flow(path, 7 * bar, ratio * 7 * bar, 293.15).mass_flow;
    };
    CHECK_THAT(flow(0.2), WithinRel(8.295e-3, 1e-6));
    CHECK_THAT(flow(0.3), WithinRel(8.295e-3, 1e-6));
    CHECK_THAT(flow(0.5) / flow(0.2), WithinRel(0.958315, 1e-6));
    CHECK_THAT(flow(0.8) / flow(0.2), WithinRel(0.699854, 1e-6));
    // 420 L/min of free air at the standard's reference density.
    CHECK_THAT(flow(0.2) / reference_air_density * 60e3, WithinRel(420.0, 1e-6));
    CHECK(flow(1.0) == 0.0);
    CHECK_THAT(air_flow(path, 2 * bar, 7 * bar, 293.15).mass_flow,
               WithinRel(-flow(2.0 / 7), 1e-14));
}

TEST_CASE("slopes of the flow of air are its derivatives", "[air][derivative]") {
    AirCylinder air = cylinder();
    air.droop = 0.8 * bar;
    air.droop_flow = 8e-3;
    const double h = 1.0;
    for (const double p : {1.0 * bar, 2.5 * bar, 5.0 * bar, 6.5 * bar, 7.012 * bar, 7.5 * bar}) {
        const auto slope = [&](auto&& f) { return (f(p + h) - f(p - h)) / (2 * h); };
        CAPTURE(p);
        const AirFlow out = air_flow(air.exhaust, p, p0, 293.15);
        CHECK_THAT(out.by_first,
                   WithinRel(slope([&](double x) {
                                 return air_flow(air.exhaust, x, p0, 293.15).mass_flow;
                             }),
                             1e-5));
        CHECK_THAT(supply_flow(air, p).by_second,
                   WithinAbs(slope([&](double x) { return supply_flow(air, x).mass_flow; }),
                             1e-6 * std::abs(supply_flow(air, p).by_second) + 1e-15));
    }
}

TEST_CASE("a drooping regulator gives what passes at the pressure its flow leaves",
          "[air][identity]") {
    AirCylinder air = cylinder();
    air.droop = 0.8 * bar;
    air.droop_flow = 8e-3;
    for (const double p : {1.0 * bar, 3.0 * bar, 6.0 * bar, 7.0 * bar}) {
        const double w = supply_flow(air, p).mass_flow;
        const double left = 6 * bar + p0 - air.droop * w / (reference_air_density * 8e-3);
        CHECK_THAT(air_flow(air.supply, left, p, 293.15).mass_flow, WithinRel(w, 1e-10));
    }
    air.droop_flow = 1e6;  // hardly any: the limit of none
    AirCylinder plain = cylinder();
    CHECK_THAT(supply_flow(air, 4 * bar).mass_flow,
               WithinRel(supply_flow(plain, 4 * bar).mass_flow, 1e-6));
}

TEST_CASE("closed air is a polytropic spring", "[air][reference]") {
    // k = n p A^2/V: 5 bar absolute, bore 50 mm, 0.1 L (polytropic law, evaluated).
    for (const auto& [n, stiffness] : {std::pair{1.0, 19276.6}, std::pair{1.4, 26987.2}}) {
        AirCylinder air = cylinder();
        air.bore = 0.05;
        air.exponent = n;
        air.exhaust.conductance = 1e-30;
        air.dead_volume = 0.1e-3;
        Machine machine = blown(air);
        machine.shaft.position = 0.0;
        Network network(machine);
        VectorXd y = VectorXd::Zero(network.size());
        for (int s = 0; s < 2; ++s) {
            for (Index i = 0; i < network.chain(s).nodes(); ++i) {
                y[network.first(s) + i] = network.chain(s).mass(i, bar, 0.0);
            }
        }
        const double v = 1e-3;
        const double area = driving_area(air);
        y[network.speed()] = v;
        y[network.air(0)] = 5 * bar * 0.1e-3;
        y[network.air(0) + 1] = p0 * 1e-3;
        VectorXd f(y.size());
        network.rhs({}, y, f);
        const double dp_dx = (f[network.air(0)] / v - 5 * bar * area) / 0.1e-3;
        CHECK_THAT(-area * dp_dx, WithinRel(stiffness, 1e-5));  // printed to six digits
    }
}

TEST_CASE("a held cylinder charges through its way of air", "[air][reference]") {
    // 1 L from 1 to 7 bar absolute, isothermal at 293.15 K: first straight, choked until 0.157590
    // s, then an arc of a sine; 90 % at 0.880429 s (iso6358, integrated in closed form, evaluated).
    AirCylinder air = cylinder();
    air.pressure = 7 * bar - p0;
    air.supply = {.conductance = 1e-8, .critical_ratio = 0.3};
    air.exponent = 1.0;
    air.dead_volume = 1e-3;
    Machine machine = blown(air);
    machine.shaft.position = 0.0;
    Network network(machine);
    VectorXd y = VectorXd::Zero(network.size());
    for (int s = 0; s < 2; ++s) {
        for (Index i = 0; i < network.chain(s).nodes(); ++i) {
            y[network.first(s) + i] = network.chain(s).mass(i, 0.0, 0.0);
        }
    }
    y[network.air(0)] = 1 * bar * 1e-3;
    y[network.air(0) + 1] = p0 * 1e-3;
    Controls controls;
    controls.axis[0] = {.free = false, .supplied = true};
    VectorXd f(y.size());
    network.rhs(controls, y, f);
    CHECK_THAT(f[network.air(0)] / 1e-3, WithinRel(698013.5, 1e-6));
    struct System {
        Network& network;
        Controls controls;
        void linearise(double, const VectorXd& y, VectorXd& f, VectorXd& g) const {
            network.linearise(controls, y, f, g);
        }
        void rhs(double, const VectorXd& y, VectorXd& f) const { network.rhs(controls, y, f); }
        void factor(double shift) const { network.factor(shift); }
        void solve(VectorXd& b) const { network.solve(b); }
    } system{network, controls};
    Rosenbrock<System> method(y.size());
    VectorXd next(y.size());
    VectorXd error(y.size());
    double t = 0.0;
    const auto charge = [&](double end, int steps) {
        const double h = (end - t) / steps;
        for (int i = 0; i < steps; ++i) {
            method.linearise(system, 0.0, y);
            method.step(system, 0.0, y, h, next, error);
            y = next;
        }
        t = end;
        return y[network.air(0)] / 1e-3;
    };
    CHECK_THAT(charge(0.157590, 20), WithinRel(2.1 * bar, 1e-5));  // b times the supply
    CHECK_THAT(charge(0.880429, 400), WithinRel(0.9 * 7 * bar, 1e-6));
    // Full at 1.260277 s, but for the last thousandth, where the flow goes straight to zero.
    CHECK(charge(1.260277, 400) > 0.999 * 7 * bar);
}

TEST_CASE("the energy of an air drive is all accounted for", "[air][conservation]") {
    AirCylinder air = cylinder();
    air.droop = 0.6 * bar;
    air.droop_flow = 8e-3;
    Machine machine = blown(air);
    machine.shaft.viscous_friction = 2e3;
    for (const double n : {1.0, 1.2, 1.4}) {
        machine.drive.air->exponent = n;
        const Trace trace = simulate(machine, demo::held_shots(2), {.rtol = 1e-6});
        REQUIRE(trace.status == Status::ok);
        const Index end = trace.time.size() - 1;
        const AirTrace& out = trace.air;
        const double b = driving_area(air);
        const double e = exhausting_area(air);
        const auto energy = [&](Index i) {
            const double x = trace.position[i];
            return (out.driving_pressure[i] + p0) * (air.dead_volume + b * x) +
                   (out.exhausting_pressure[i] + p0) * (air.dead_volume + e * (0.2 - x));
        };
        const double moved = trace.position[end] - trace.position[0];
        // Gas: what is stored, what flowed in and out, and the work on both faces of the piston.
        const double flow_work =
            n * gas_constant_air * 293.15 * (out.supplied[end] - out.exhausted[end]);
        const double gas_work = out.work[end] + p0 * (b - e) * moved;
        CAPTURE(n, out.work[end]);
        CHECK(std::abs(energy(end) - energy(0) - flow_work + (n - 1) * gas_work) <
              1e-6 * out.work[end]);
        // Shaft: work on the liquid, friction, and motion.
        const double motion = 0.5 * machine.shaft.mass * std::pow(trace.speed[end], 2);
        CHECK(std::abs(out.work[end] - out.liquid_work[end] - out.friction_work[end] - motion) <
              1e-6 * out.work[end]);
        CHECK(out.friction_work[end] > 0.0);
        // The work on the liquid is that of both pistons' pressures over their travel.
        double by_hand = 0.0;
        for (Index i = 0; i < end; ++i) {
            const auto load = [&](Index k) {
                return area(machine.resin.cylinder) * trace.resin.pressure(k, 0) +
                       area(machine.hardener.cylinder) * trace.hardener.pressure(k, 0);
            };
            by_hand += 0.5 * (load(i) + load(i + 1)) * (trace.position[i + 1] - trace.position[i]);
        }
        CHECK_THAT(out.liquid_work[end], WithinRel(by_hand, 1e-3));  // trapezia over the steps
        CHECK(trace.mass_balance_error < 1e-9);
    }
}

TEST_CASE("an air drive with wide ways is a force drive", "[air][limit]") {
    AirCylinder air = cylinder();
    air.supply.conductance = air.exhaust.conductance = 1e-5;
    air.dead_volume = 1e-6;
    Machine machine = blown(air);
    Machine forced = machine;
    forced.drive = {.force = full_force(machine.drive)};
    const Steady steady = steady_state(machine);
    const Steady reference = steady_state(forced);
    CHECK_THAT(steady.resin.flow, WithinRel(reference.resin.flow, 1e-4));
    CHECK_THAT(steady.force, WithinRel(full_force(machine.drive), 1e-4));
    const Sequence shots = demo::held_shots(1);
    const Trace trace = simulate(machine, shots);
    const Trace other = simulate(forced, shots);
    const Index a = trace.shots[0].close;
    const Index b = other.shots[0].close;
    CHECK_THAT(trace.resin.volume[a], WithinRel(other.resin.volume[b], 1e-3));
    CHECK_THAT(trace.hardener.volume[a], WithinRel(other.hardener.volume[b], 1e-3));
}

TEST_CASE("a steady air drive is where its transient ends", "[air][limit]") {
    AirCylinder air = cylinder();
    air.supply.conductance = 6e-10;
    air.droop = 0.5 * bar;
    air.droop_flow = 5e-4;
    air.dead_volume = 2e-5;
    Machine machine = blown(air);
    machine.shaft.position = 0.0;
    const Trace trace = simulate(machine, {.steps = {{StepKind::dispense_time, 9.0}}});
    REQUIRE(trace.status == Status::ok);
    const Index end = trace.shots[0].close;
    CHECK_THAT(trace.speed[end], WithinRel(trace.steady.speed, 1e-3));
    CHECK_THAT(trace.force[end], WithinRel(trace.steady.force, 1e-3));
    CHECK(trace.steady.force < 0.97 * full_force(machine.drive));
}
