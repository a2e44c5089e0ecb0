/// Lines of Newtonian, stiff liquid against the matrix exponential and the distributed line.
#include "evenfront/transient.hpp"

#include <array>
#include <limits>
#include <numbers>
#include <unsupported/Eigen/MatrixFunctions>
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
using demo::force_at;
using demo::once;
using demo::uniform;
using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;
using std::numbers::pi;

namespace {

// ---- linear lines: Newtonian, stiff liquid on a compliant wall, both streams alike ----

// 12 mm x 3 m, 20 Pa s, wall of 50 MPa: R 1.178926e11 Pa s/m^3, C 6.785840e-12 m^3/Pa, RC 0.800 s
// (R = 128 mu L/(pi D^4), C = pi D^2 L/(4 beta), evaluated).
constexpr double line_resistance = 1.178926e11;
constexpr double line_capacity = 6.785840e-12;

Stream linear_stream(int cells) {
    return {.liquid = {.density = 1500, .bulk_modulus = 1e10},
            .rheology = {.consistency = 20},
            .cylinder = {.bore = 0.05, .temperature = 298.15},
            .line = {{.name = "hose",
                      .bore = 0.012,
                      .length = 3,
                      .temperature = 298.15,
                      .wall_expansion = line_capacity / 3,
                      .cells = cells}},
            .throttle = {},
            .shutoff = {.resistance = 1e-5 * line_resistance}};
}

Machine linear_machine(int cells) {
    return {
        .resin = linear_stream(cells),
        .hardener = linear_stream(cells),
        .shaft = {.stroke = 0.1, .position = 0.05, .mass = 1e-6, .viscous_friction = 1.0},
        .drive = {.force = 1.0},
        .mixer = {.bore = 0.1, .length = 0.01, .pressure_multiplier = 1, .blend_viscosity = 1e-3}};
}

// State of the network at time t after the controls jump, by the exponential of its Jacobian at the
// start: y = y0 + integral exp(J s) ds f0, the last column of an augmented exponential. Unknowns
// are scaled to what a pressure of 1 Pa (a travel, a speed) makes of them.
struct Linear {
    std::array<VectorXd, 2> pressure;
    double travel;
    std::array<double, 2> volume;
};

Linear by_exponential(const Machine& machine, Controls controls, double pressure, double t) {
    Network network(machine);
    controls.axis[0].force = machine.drive.force;
    controls.mixer_resistance = mixer_resistance(machine.mixer, *machine.mixer.blend_viscosity);
    const Index n = network.size();
    VectorXd y = VectorXd::Zero(n);
    VectorXd unit = VectorXd::Ones(n);
    y[network.position()] = machine.shaft.position;
    unit[network.position()] = 1e-9;
    unit[network.speed()] = 1e-9;
    unit[network.entered()] = 1e-12;
    for (int s = 0; s < 2; ++s) {
        const Chain& chain = network.chain(s);
        for (Index i = 0; i < chain.nodes(); ++i) {
            const Index k = network.first(s) + i;
            y[k] = chain.mass(i, pressure, machine.shaft.position);
            unit[k] = chain.mass(i, pressure + 1.0, machine.shaft.position) - y[k];
        }
        unit[network.volume(s)] = 1e-12;
        unit[network.leaked(s)] = 1e-12;
        unit[network.drawn(s)] = 1e-12;
    }
    VectorXd f(n);
    VectorXd g(n);
    network.linearise(controls, y, f, g);
    MatrixXd augmented = MatrixXd::Zero(n + 1, n + 1);
    augmented.topLeftCorner(n, n) =
        unit.cwiseInverse().asDiagonal() * network.dense_jacobian() * unit.asDiagonal();
    augmented.topRightCorner(n, 1) = f.cwiseQuotient(unit);
    const MatrixXd exponential = (augmented * t).exp();
    const VectorXd end = y + exponential.topRightCorner(n, 1).cwiseProduct(unit);
    network.rhs(controls, end, f);
    Linear result{};
    for (int s = 0; s < 2; ++s) {
        VectorXd& p = result.pressure[static_cast<std::size_t>(s)];
        p.resize(network.chain(s).nodes());
        for (Index i = 0; i < p.size(); ++i) {
            p[i] = network.pressure(s, i) - pressure;
        }
        result.volume[static_cast<std::size_t>(s)] = end[network.volume(s)];
    }
    result.travel = end[network.position()] - machine.shaft.position;
    return result;
}

// Capacity of the line at a pressure: the wall's and the liquid's.
double capacity(const Machine& machine, double pressure) {
    const double volume = pi / 4 * 0.012 * 0.012 * 3 + line_capacity * pressure;
    return line_capacity + volume * compressibility(machine.resin.liquid, pressure);
}

// ---- distributed line, total resistance R and capacity C, time in units of RC ----

// Far end after a pressure step, far end closed: 1 - 4/pi sum (-1)^k/(2k+1) exp(-(2k+1)^2 pi^2
// t/4).
double closed_end(double t) {
    double sum = 0.0;
    for (int k = 60; k >= 0; --k) {
        const double odd = 2 * k + 1;
        sum += (k % 2 == 0 ? 1.0 : -1.0) / odd * std::exp(-odd * odd * pi * pi * t / 4);
    }
    return 1 - 4 / pi * sum;
}

// Inlet pressure over QR after a flow step, outlet at zero.
double flow_step_inlet(double t) {
    double sum = 0.0;
    for (int k = 60; k >= 0; --k) {
        const double odd = 2 * k + 1;
        sum += std::exp(-odd * odd * pi * pi * t / 4) / (odd * odd);
    }
    return 1 - 8 / (pi * pi) * sum;
}

}  // namespace

TEST_CASE("a small step into closed lines follows the matrix exponential", "[transient][linear]") {
    // A real shaft on compressed liquid and walls, from 10 bar (where the least gas is gone) up by
    // 0.1 kPa: what is not linear is the travel against the cylinder's length, 1e-6 at 1 kPa.
    const double step = 100.0;
    Machine machine = demo::long_boom();
    machine.resin.rheology = {.consistency = 20};
    machine.resin.liquid.free_gas = least_free_gas;
    machine.hardener.liquid.free_gas = least_free_gas;
    machine.drive = {.force = force_at(machine, 10 * bar + step)};
    for (const double t : {2e-3, 0.05, 0.5}) {
        Sequence push = once(StepKind::preload_time, t);
        push.start = uniform(10 * bar);
        const Trace trace = simulate(machine, push, {.rtol = 1e-10});
        REQUIRE(trace.status == Status::ok);
        const Linear linear = by_exponential(machine, {}, 10 * bar, t);
        const Index end = trace.time.size() - 1;
        CAPTURE(t);
        CHECK_THAT(trace.position[end] - machine.shaft.position, WithinRel(linear.travel, 1e-5));
        for (Index i = 0; i < linear.pressure[0].size(); ++i) {
            CHECK_THAT(trace.resin.pressure(end, i) - 10 * bar,
                       WithinAbs(linear.pressure[0][i], 1e-6 * step));
            CHECK_THAT(trace.hardener.pressure(end, i) - 10 * bar,
                       WithinAbs(linear.pressure[1][i], 1e-6 * step));
        }
    }
}

TEST_CASE("a small step through open shut-offs follows the matrix exponential",
          "[transient][linear]") {
    // From rest the least gas, 1 % of what gives in the cylinder, bends by 2 p/p0 of itself, and
    // one rounding of a mass is K eps, 2e-7 Pa: at 10 Pa both stay near 1e-6 of the step.
    Machine machine = linear_machine(8);
    machine.resin.liquid.bulk_modulus = 1e9;
    machine.hardener.liquid.bulk_modulus = 1e9;
    machine.hardener.rheology.consistency = 5;
    machine.hardener.cylinder.bore = 0.03;
    machine.hardener.throttle.resistance = 3e9;
    machine.resin.throttle.resistance = 1e10;
    machine.mixer.blend_viscosity = 3e5;
    machine.shaft.mass = 5;
    const double step = 10.0;
    const double rounding = 2.2e-16 * 1e9 * line_capacity;  // of one node's mass, as a volume
    machine.drive = {.force = force_at(machine, step)};
    for (const double t : {0.02, 0.2, 2.0}) {
        const Trace trace = simulate(machine, once(StepKind::dispense_time, t), {.rtol = 1e-9});
        REQUIRE(trace.status == Status::ok);
        const Index end = trace.shots.front().close;
        const Linear linear = by_exponential(machine, {.fraction = {1.0, 1.0}}, 0.0, t);
        CAPTURE(t);
        CHECK_THAT(trace.position[end] - machine.shaft.position, WithinRel(linear.travel, 1e-5));
        CHECK_THAT(trace.resin.volume[end],
                   WithinRel(linear.volume[0], 1e-5) || WithinAbs(linear.volume[0], rounding));
        CHECK_THAT(trace.hardener.volume[end], WithinRel(linear.volume[1], 1e-5));
        for (Index i = 0; i < linear.pressure[0].size(); ++i) {
            CHECK_THAT(trace.resin.pressure(end, i), WithinAbs(linear.pressure[0][i], 1e-6 * step));
            CHECK_THAT(trace.hardener.pressure(end, i),
                       WithinAbs(linear.pressure[1][i], 1e-6 * step));
        }
    }
}

TEST_CASE("with finer cells a pressure step reaches the closed end as in a distributed line",
          "[transient][linear][order]") {
    // The series at t/RC 0.1, 0.2, 0.5: 0.0506946, 0.227688, 0.629223 (evaluated; six digits).
    CHECK_THAT(closed_end(0.1), WithinAbs(0.0506946, 5e-8));
    CHECK_THAT(closed_end(0.2), WithinAbs(0.227688, 5e-7));
    CHECK_THAT(closed_end(0.5), WithinAbs(0.629223, 5e-7));
    // A shaft of next to no mass, its ringing damped by 1e-6 of the step, hands the drive's
    // pressure to the inlet at once.
    const double time = line_resistance * capacity(linear_machine(1), 10 * bar);
    for (const double t : {0.1, 0.2, 0.5}) {
        const auto error = [&](int cells) {
            Machine machine = linear_machine(cells);
            machine.drive.force = force_at(machine, 10 * bar + 1e3);
            Sequence push = once(StepKind::preload_time, t * time);
            push.start = uniform(10 * bar);
            const Trace trace = simulate(machine, push, {.rtol = 1e-8});
            REQUIRE(trace.status == Status::ok);
            const Index end = trace.time.size() - 1;
            return (trace.resin.pressure(end, cells) - 10 * bar) / 1e3 - closed_end(t);
        };
        double last = error(4);
        for (const int cells : {8, 16, 32}) {
            const double now = error(cells);
            CAPTURE(t, cells, last, now);
            CHECK_THAT(std::log2(last / now), WithinAbs(2.0, 0.2));
            last = now;
        }
        CHECK(std::abs(last) < 1e-3);
    }
}

TEST_CASE("with finer cells a flow step builds up as in a distributed line",
          "[transient][linear][order]") {
    // Series at t/RC 0.1, 0.5: inlet 0.356823, 0.763950 (evaluated); the outlet's flow is the
    // closed end's pressure above.
    CHECK_THAT(flow_step_inlet(0.1), WithinAbs(0.356823, 5e-7));
    CHECK_THAT(flow_step_inlet(0.5), WithinAbs(0.763950, 5e-7));
    // A dashpot of 1e5 times the lines' resistance makes the drive a constant speed.
    const double time = line_resistance * capacity(linear_machine(1), 0.0);
    for (const double t : {0.1, 0.2}) {
        const auto error = [&](int cells) {
            Machine machine = linear_machine(cells);
            machine.shaft.position = 0.0999;
            const double piston = area(machine.resin.cylinder);
            const double q = 200.0 / line_resistance;  // 200 Pa at the inlet
            machine.shaft.viscous_friction = 2e5 * piston * piston * line_resistance;
            machine.drive.force = machine.shaft.viscous_friction * q / piston;
            const Trace trace =
                simulate(machine, once(StepKind::dispense_time, t * time), {.rtol = 1e-10});
            REQUIRE(trace.status == Status::ok);
            const Index end = trace.shots.front().close;
            return std::pair(
                trace.resin.pressure(end, 0) / (q * line_resistance) - flow_step_inlet(t),
                trace.resin.flow[end] / q - closed_end(t));
        };
        auto last = error(4);
        for (const int cells : {8, 16, 32}) {
            const auto now = error(cells);
            CAPTURE(t, cells, last.first, now.first, last.second, now.second);
            CHECK_THAT(std::log2(last.first / now.first), WithinAbs(2.0, 0.2));
            CHECK_THAT(std::log2(last.second / now.second), WithinAbs(2.0, 0.2));
            last = now;
        }
    }
}
