#include "evenfront/network.hpp"

#include <Eigen/LU>
#include <limits>
#include <sstream>

#include "evenfront/air.hpp"
#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::bar;
using demo::mL;
using demo::Random;
using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

namespace {

constexpr double mixer_resistance = 4e9;  // 0.04 bar s/mL

Rheology random_rheology(Random& random, double viscosity) {
    const int kind = static_cast<int>(random.uniform(0, 4));
    return {.consistency = viscosity,
            .index = kind == 1 || kind == 3 ? random.uniform(0.4, 0.95) : 1.0,
            .yield_stress = kind >= 2 ? random.decades(0.1, 30) : 0.0,
            .activation_energy = random.uniform(0, 6e4)};
}

Throttle random_throttle(Random& random, double resistance) {
    Throttle throttle = demo::needle(random.uniform(0.5, 5));
    if (random.chance(0.5)) {
        throttle = {.resistance = resistance * random.decades(0.1, 10)};
    }
    throttle.before_shutoff = random.chance(0.5);
    if (random.chance(0.5)) {
        throttle.volume_between = random.decades(0.05, 5) * mL;
    }
    return throttle;
}

std::optional<Feed> random_feed(Random& random, double cylinder_bore) {
    if (random.chance(0.3)) {
        return std::nullopt;
    }
    return Feed{.tank_pressure = random.uniform(-0.5, 7) * bar,
                .bore = cylinder_bore / 3 * random.uniform(0.7, 1.4),
                .length = random.uniform(0.5, 3),
                .temperature = random.uniform(285, 330)};
}

Stream random_stream(Random& random, double bore, double viscosity, double resistance) {
    const auto segment = [&](const char* name, int cells) {
        return Segment{.name = name,
                       .bore = bore / 5 * random.uniform(0.7, 1.4),
                       .length = random.uniform(0.5, 4),
                       .temperature = random.uniform(285, 330),
                       .wall_expansion = random.decades(0.001, 0.05) * mL / bar,
                       .cells = cells,
                       .pocket = random.chance(0.3) ? random.decades(0.01, 0.5) * mL : 0.0};
    };
    const auto head = [&] {  // a wall that a table describes
        Segment piece = segment("head", 3);
        if (random.chance(0.4)) {
            piece.expansion_pressures = {10 * bar, 40 * bar, 100 * bar};
            piece.expansion_volumes = {0.4 * mL, 1.1 * mL, 1.9 * mL};
        }
        return piece;
    };
    return {
        .liquid = {.density = random.uniform(900, 2000),
                   .bulk_modulus = random.uniform(1e9, 3e9),
                   .thermal_expansion = random.uniform(0, 8e-4),
                   .free_gas = random.decades(1e-6, 0.04),
                   .gas_exponent = random.chance(0.5) ? 1.0 : random.uniform(1.0, 1.4)},
        .rheology = random_rheology(random, viscosity),
        .cylinder = {.bore = bore,
                     .temperature = random.uniform(285, 330),
                     .leak = random.chance(0.5) ? random.decades(1e-16, 1e-13) : 0.0,
                     .pocket = random.chance(0.3) ? mL : 0.0},
        .line = {segment("hose", 4), head()},
        .throttle = random_throttle(random, resistance),
        .shutoff = {.resistance = resistance,
                    .exponent = random.chance(0.5) ? 1.0 : random.uniform(1.0, 3.0),
                    .check_valve = random.chance(0.2) ? std::optional(0.3 * bar) : std::nullopt},
        .feed = random_feed(random, bore)};
}

AirCylinder random_air(Random& random) {
    return {.bore = 0.1,
            .rod_bore = random.chance(0.5) ? 0.025 : 0.0,
            .pressure = random.uniform(3, 7) * bar,
            .droop = random.chance(0.5) ? random.uniform(0.1, 0.8) * bar : 0.0,
            .droop_flow = 5e-3,
            .dead_volume = 2e-4,
            .supply = {.conductance = random.decades(1e-9, 3e-8)},
            .exhaust = {.conductance = random.decades(1e-9, 3e-8), .critical_ratio = 0.4},
            .exponent = random.uniform(1.0, 1.4)};
}

Drive random_drive(Random& random) {
    if (random.chance(0.4)) {
        return {.kind = DriveKind::air, .air = random_air(random)};
    }
    return {.force = 4600};
}

Machine random_machine(Random& random) {
    Machine machine{
        .resin = random_stream(random, 0.06, random.decades(1, 100), 0.02 * bar / mL),
        .hardener = random_stream(random, 0.025, random.decades(0.05, 1), 0.1 * bar / mL),
        .shaft = {.stroke = 0.2,
                  .position = 0.06,
                  .mass = random.uniform(3, 20),
                  .viscous_friction = random.chance(0.5) ? random.uniform(0, 1e4) : 0.0},
        .drive = random_drive(random),
        .mixer = {.bore = 0.013, .length = 0.25, .blend_viscosity = random.decades(1, 20)}};
    if (random.chance(0.4)) {
        machine.hardener_axis = Axis{.shaft = {.stroke = 0.25, .position = 0.03, .mass = 4},
                                     .drive = random_drive(random)};
    }
    return machine;
}

// A machine, one state of it and what the control does then.
struct Case {
    Machine machine;
    bool inertia;
    Controls controls;
    std::array<VectorXd, 2> pressure;
    std::array<double, 2> piston;  // where each piston stands [m]
    VectorXd y;
};

double stroke_of(const Machine& machine, int axis) {
    return axis == 0 ? machine.shaft.stroke : machine.hardener_axis->shaft.stroke;
}

AxisControls random_axis(Random& random) {
    return {.force = random.uniform(0, 6000),
            .force_rate = random.uniform(-1e4, 1e4),
            .stiffness = random.chance(0.3) ? random.decades(1e5, 1e8) : 0.0,
            .free = random.chance(0.8),
            .acceleration = random.uniform(-1, 1),
            .friction = random.uniform(-200, 200),
            .supplied = random.chance(0.5)};
}

// Shafts, with pistons that go with them or stand.
void set_heads(Random& random, const Network& network, Case& c) {
    for (int a = 0; a < network.axes(); ++a) {
        const double x = random.uniform(0.0, 0.19);
        c.y[network.position(a)] = x;
        c.y[network.speed(a)] = random.uniform(-0.01, 0.02);
        if (const auto& air = network.air_cylinder(a)) {
            const double stroke = stroke_of(c.machine, a);
            c.y[network.air(a)] =
                random.decades(0.5, 7) * bar * (air->dead_volume + driving_area(*air) * x);
            c.y[network.air(a) + 1] = random.decades(0.5, 7) * bar *
                                      (air->dead_volume + exhausting_area(*air) * (stroke - x));
        }
    }
    for (int s = 0; s < 2; ++s) {
        const auto k = static_cast<std::size_t>(s);
        const double x = c.y[network.position(network.axis_of(s))];
        c.controls.engaged[k] = random.chance(0.8);
        c.controls.piston[k] = c.controls.engaged[k] ? random.uniform(-1e-3, 0.0) : 0.05;
        c.piston[k] = c.controls.engaged[k] ? x - c.controls.piston[k] : 0.05;
    }
}

Case random_case(Random& random) {
    Case c{.machine = random_machine(random),
           .inertia = random.chance(0.4),
           .controls = {},
           .pressure = {},
           .piston = {},
           .y = {}};
    c.controls = {.axis = {random_axis(random), random_axis(random)},
                  .fraction = {random.uniform(0.01, 1), random.uniform(0.01, 1)},
                  .fraction_rate = {random.uniform(-20, 20), random.uniform(-20, 20)},
                  .joined = {random.chance(0.8), random.chance(0.8)},
                  .mixer_resistance = mixer_resistance,
                  .mixer_rate = random.uniform(-1, 1) * mixer_resistance,
                  .mixer_by_volume =
                      random.chance(0.5) ? random.uniform(-1, 1) * mixer_resistance / (20 * mL) : 0,
                  .entered = 3 * mL};
    for (const std::size_t s : {0U, 1U}) {
        // The valve to the tank: shut, turning, open.
        if ((s == 0 ? c.machine.resin : c.machine.hardener).feed && random.chance(0.7)) {
            c.controls.feed[s] = random.uniform(0.01, 1);
            c.controls.feed_rate[s] = random.chance(0.5) ? random.uniform(-3, 3) : 0.0;
        }
        if (random.chance(0.3)) {
            c.controls.pushed[s] = random.uniform(-2, 2) * mL;
        }
    }
    const Network network(c.machine, c.inertia);
    c.y = VectorXd::Zero(network.size());
    set_heads(random, network, c);
    c.y[network.entered()] = random.uniform(0, 6) * mL;
    for (int s = 0; s < 2; ++s) {
        const Chain& chain = network.chain(s);
        const double x = c.piston[static_cast<std::size_t>(s)];
        VectorXd& p = c.pressure[static_cast<std::size_t>(s)];
        p.resize(chain.nodes());
        const double level = random.chance(0.1) ? -0.3 * bar : random.decades(0.5, 50) * bar;
        for (Index i = 0; i < chain.nodes(); ++i) {
            // A power law bends sharply where hardly anything flows: 20 Pa between neighbours is
            // what differences of a few pascal resolve.
            do {
                p[i] = level + random.uniform(-1, 1) * std::min(bar, 0.5 * std::abs(level));
            } while (i > 0 && std::abs(p[i] - p[i - 1]) < 20.0);
            c.y[network.first(s) + chain.row(i)] = chain.mass(i, p[i], x);
            if (chain.has_inertia() && i > 0 && chain.row(i) == chain.row(i - 1) + 2) {
                c.y[network.first(s) + chain.row(i) - 1] = random.uniform(-0.01, 0.02);
            }
        }
    }
    return c;
}

VectorXd rhs(Network& network, const Controls& controls, const VectorXd& y) {
    VectorXd f(y.size());
    network.rhs(controls, y, f);
    return f;
}

// Step of unknown k that moves a pressure by about `dp`.
double small_step(const Network& network, const Case& c, Index k, double dp) {
    for (int a = 0; a < network.axes(); ++a) {
        if (k == network.position(a)) {
            return 1e-10;  // 2 Pa in 0.1 m of liquid
        }
        if (k == network.speed(a)) {
            return 1e-3;  // linear, or the square of friction's work
        }
        if (network.air_cylinder(a) && (k == network.air(a) || k == network.air(a) + 1)) {
            return 1e-5 * c.y[k];
        }
    }
    if (k == network.entered()) {
        return 1e-4 * mL;
    }
    for (int s = 0; s < 2; ++s) {
        const Chain& chain = network.chain(s);
        for (Index node = 0; node < chain.nodes(); ++node) {
            if (k == network.first(s) + chain.row(node)) {
                const double x = c.piston[static_cast<std::size_t>(s)];
                const double p = c.pressure[static_cast<std::size_t>(s)][node];
                return chain.mass(node, p + dp, x) - chain.mass(node, p, x);
            }
        }
    }
    return 1e-6;  // running totals: nothing depends on them; links' flows: linear
}

std::string describe(int number, const Case& c) {
    std::ostringstream text;
    text << "case " << number << ", fractions " << c.controls.fraction[0] << ' '
         << c.controls.fraction[1] << ", inertia " << c.inertia << ", x " << c.y[0] << ", resin n "
         << c.machine.resin.rheology.index << " tau_y " << c.machine.resin.rheology.yield_stress
         << ", hardener n " << c.machine.hardener.rheology.index << " tau_y "
         << c.machine.hardener.rheology.yield_stress << ", pressures " << c.pressure[0].transpose()
         << " | " << c.pressure[1].transpose();
    return text.str();
}

}  // namespace

TEST_CASE("the Jacobian and df/dt are the derivatives of the right-hand side over random states",
          "[network][derivative]") {
    Random random(3);
    int reversed = 0;
    for (int number = 0; number < 240; ++number) {
        const Case c = random_case(random);
        INFO(describe(number, c));
        Network network(c.machine, c.inertia);
        VectorXd f(c.y.size());
        VectorXd g(c.y.size());
        network.linearise(c.controls, c.y, f, g);
        reversed += network.flow(0) < 0.0 || network.flow(1) < 0.0 ? 1 : 0;
        const MatrixXd exact = network.dense_jacobian();
        CHECK((rhs(network, c.controls, c.y) - f).norm() <= 1e-9 * f.norm());
        // One rounding of every unknown, as each row feels it, and of the row itself.
        const VectorXd rounding = 2.2e-16 * (exact.cwiseAbs() * c.y.cwiseAbs() + f.cwiseAbs());
        for (Index k = 0; k < c.y.size(); ++k) {
            // Steps of 2 and 4 Pa, extrapolated: curvature (2 Pa/20 Pa)^4 where a line has only
            // just passed yield.
            const double h = small_step(network, c, k, 2.0);
            const auto slope = [&](double step) {
                VectorXd up = c.y;
                VectorXd down = c.y;
                up[k] += step;
                down[k] -= step;
                return VectorXd((rhs(network, c.controls, up) - rhs(network, c.controls, down)) /
                                (up[k] - down[k]));
            };
            const VectorXd numeric = (4 * slope(h) - slope(2 * h)) / 3;
            for (Index i = 0; i < c.y.size(); ++i) {
                const double floor = 4 * rounding[i] / h + 1e-12;
                CAPTURE(i, k, exact(i, k), numeric[i], floor);
                REQUIRE(std::abs(exact(i, k) - numeric[i]) <= 1e-4 * std::abs(exact(i, k)) + floor);
            }
        }
        const double dt = 1e-5;
        const auto shifted = [&](double step) {
            Controls controls = c.controls;
            controls.mixer_resistance += step * c.controls.mixer_rate;
            for (std::size_t s = 0; s < 2; ++s) {
                controls.axis[s].force += step * c.controls.axis[s].force_rate;
                controls.fraction[s] += step * c.controls.fraction_rate[s];
                controls.feed[s] += step * c.controls.feed_rate[s];
            }
            return rhs(network, controls, c.y);
        };
        const VectorXd numeric = (shifted(dt) - shifted(-dt)) / (2 * dt);
        for (Index i = 0; i < c.y.size(); ++i) {
            const double floor = 4 * rounding[i] / dt + 1e-12;
            CAPTURE(i, g[i], numeric[i], floor);
            REQUIRE(std::abs(g[i] - numeric[i]) <= 1e-3 * std::abs(g[i]) + floor);
        }
    }
    CHECK(reversed > 20);  // crossover is among the states
}

TEST_CASE("the structured solve agrees with a dense LU", "[network][solve]") {
    Random random(4);
    for (int number = 0; number < 200; ++number) {
        const Case c = random_case(random);
        INFO(describe(number, c));
        Network network(c.machine, c.inertia);
        VectorXd f(c.y.size());
        VectorXd g(c.y.size());
        network.linearise(c.controls, c.y, f, g);
        const double shift = random.decades(1e-2, 1e8);
        const MatrixXd matrix =
            shift * MatrixXd::Identity(c.y.size(), c.y.size()) - network.dense_jacobian();
        network.factor(shift);
        VectorXd b = f;
        for (Index i = 0; i < b.size(); ++i) {
            b[i] *= random.uniform(-1, 1);
        }
        VectorXd x = b;
        network.solve(x);
        const VectorXd dense = matrix.partialPivLu().solve(b);
        // Backward error, row by row: the residual against the terms that make it up.
        const VectorXd residual = (matrix * x - b).cwiseAbs();
        VectorXd terms = matrix.cwiseAbs() * x.cwiseAbs() + b.cwiseAbs();
        // Rounding of a position is felt by its speed, and both by all they move.
        for (int a = 0; a < network.axes(); ++a) {
            terms[network.speed(a)] += shift * std::abs(b[network.position(a)]);
        }
        // What is delivered makes up for the rounding of all rows of its stream.
        for (int s = 0; s < 2; ++s) {
            const Chain& chain = network.chain(s);
            const double liquid = chain.held_mass(&terms[network.first(s)]) / chain.rho_ref();
            terms[network.volume(s)] += liquid;
            terms += matrix.col(network.entered()).cwiseAbs() * (liquid / shift);
            const auto sum = [&](const VectorXd& v) {
                return chain.held_mass(&v[network.first(s)]) / chain.rho_ref() +
                       v[network.volume(s)] + v[network.leaked(s)] - v[network.drawn(s)] +
                       v[network.shrunk(s)];
            };
            const VectorXd sizes = x.cwiseAbs() + b.cwiseAbs() / shift;
            const bool open = c.controls.fraction[static_cast<std::size_t>(s)] > 0.0;
            CHECK((!open || std::abs(sum(x) - sum(b) / shift) <=
                                1e-14 * (sum(sizes) + 2.0 * sizes[network.drawn(s)])));
        }
        for (Index i = 0; i < b.size(); ++i) {
            CAPTURE(i, shift, x[i], dense[i], residual[i], terms[i]);
            REQUIRE(residual[i] <= 1e-12 * terms[i]);
        }
        CHECK((x.tail(x.size() - network.first(0)) - dense.tail(x.size() - network.first(0)))
                  .norm() <= 1e-6 * dense.tail(x.size() - network.first(0)).norm());
    }
}

TEST_CASE("every stream changes only by what is delivered, leaks or comes from its tank",
          "[network][conservation]") {
    Random random(5);
    int drawing = 0;
    int giving = 0;
    for (int number = 0; number < 200; ++number) {
        const Case c = random_case(random);
        INFO(describe(number, c));
        Network network(c.machine, c.inertia);
        VectorXd f(c.y.size());
        VectorXd g(c.y.size());
        network.linearise(c.controls, c.y, f, g);
        const MatrixXd j = network.dense_jacobian();
        for (int s = 0; s < 2; ++s) {
            const Index first = network.first(s);
            const Chain& chain = network.chain(s);
            const double rho = chain.rho_ref();
            const auto masses = [&](const VectorXd& v) {
                VectorXd of_nodes(chain.nodes());
                for (Index i = 0; i < chain.nodes(); ++i) {
                    of_nodes[i] = v[first + chain.row(i)];
                }
                return of_nodes;
            };
            const auto left = [&](const VectorXd& v) {
                return masses(v).sum() +
                       rho * (v[network.volume(s)] + v[network.leaked(s)] - v[network.drawn(s)]);
            };
            drawing += f[network.drawn(s)] > 0.0 ? 1 : 0;
            giving += f[network.drawn(s)] < 0.0 ? 1 : 0;
            // The tank gives just where its pressure is above the cylinder's.
            const auto& feed = (s == 0 ? c.machine.resin : c.machine.hardener).feed;
            if (feed) {
                const double head =
                    feed->tank_pressure - c.pressure[static_cast<std::size_t>(s)][0];
                CHECK(f[network.drawn(s)] * head >= 0.0);
            }
            // Rounding of a sum: its terms times 1e-14.
            CHECK(std::abs(left(f)) <= 1e-14 * masses(f).cwiseAbs().sum());
            CHECK(std::abs(left(g)) <= 1e-14 * masses(g).cwiseAbs().sum());
            for (Index k = 0; k < c.y.size(); ++k) {
                const VectorXd column = j.col(k);
                CHECK(std::abs(left(column)) <=
                      1e-13 * (masses(column).cwiseAbs().sum() +
                               rho * (std::abs(column[network.leaked(s)]) +
                                      std::abs(column[network.drawn(s)]))));
            }
        }
    }
    CHECK(drawing > 20);
    CHECK(giving > 20);
}

TEST_CASE("pressures come back from the masses they make", "[network][round trip]") {
    Random random(6);
    for (int number = 0; number < 200; ++number) {
        const Case c = random_case(random);
        INFO(describe(number, c));
        Network network(c.machine, c.inertia);
        (void)rhs(network, c.controls, c.y);
        for (int s = 0; s < 2; ++s) {
            for (Index i = 0; i < network.chain(s).nodes(); ++i) {
                // One rounding of the mass is K eps, 1e-6 Pa; a few of them.
                CHECK_THAT(network.pressure(s, i),
                           WithinAbs(c.pressure[static_cast<std::size_t>(s)][i], 1e-5));
            }
        }
    }
}

TEST_CASE("pressures are found from any masses, whatever was looked at before",
          "[network][round trip]") {
    Random random(8);
    for (int number = 0; number < 200; ++number) {
        const Case c = random_case(random);
        INFO(describe(number, c));
        Network network(c.machine, c.inertia);
        (void)rhs(network, c.controls, c.y);
        // Trials of a step that goes wrong: a node overdrawn, and no number at all.
        VectorXd y = c.y;
        y[network.first(number % 2)] *= -1.0;
        (void)rhs(network, c.controls, y);
        CHECK(network.error_norm(VectorXd::Zero(y.size()), y) ==
              std::numeric_limits<double>::infinity());
        y[network.first(number % 2)] = std::numeric_limits<double>::quiet_NaN();
        (void)rhs(network, c.controls, y);
        // Nearly a void beside 300 bar.
        y = c.y;
        std::array<VectorXd, 2> pressure;
        for (int s = 0; s < 2; ++s) {
            const Chain& chain = network.chain(s);
            const auto k = static_cast<std::size_t>(s);
            pressure[k] = VectorXd::Zero(chain.nodes());
            for (Index i = 0; i < chain.nodes(); ++i) {
                pressure[k][i] = random.chance(0.3) ? random.uniform(-0.95, 0) * bar
                                                    : random.decades(0.1, 300) * bar;
                y[network.first(s) + chain.row(i)] = chain.mass(i, pressure[k][i], c.piston[k]);
            }
        }
        (void)rhs(network, c.controls, y);
        for (int s = 0; s < 2; ++s) {
            const auto k = static_cast<std::size_t>(s);
            for (Index i = 0; i < network.chain(s).nodes(); ++i) {
                CAPTURE(s, i);
                CHECK_THAT(network.pressure(s, i), WithinAbs(pressure[k][i], 1e-5));
            }
        }
    }
}

TEST_CASE("a held or uniform line at the mixing pressure is at rest", "[network][limit]") {
    Machine machine = demo::long_boom();
    Network network(machine);
    const double x = 0.06;
    const auto at = [&](double resin, double hardener) {
        VectorXd y = VectorXd::Zero(network.size());
        y[network.position()] = x;
        for (int s = 0; s < 2; ++s) {
            for (Index i = 0; i < network.chain(s).nodes(); ++i) {
                y[network.first(s) + i] = network.chain(s).mass(i, s == 0 ? resin : hardener, x);
            }
        }
        return y;
    };
    const double force =
        network.chain(0).piston_area() * 10 * bar + network.chain(1).piston_area() * 25 * bar;
    Controls controls{.mixer_resistance = mixer_resistance};
    controls.axis[0].force = force;
    const VectorXd f = rhs(network, controls, at(10 * bar, 25 * bar));
    // Closed shut-offs, shaft in balance; 1e-6 Pa of rounding drives what is left.
    CHECK(f.tail(f.size() - 2).cwiseAbs().maxCoeff() < 1e-12);
    CHECK(std::abs(f[network.speed()]) < 1e-8);
    CHECK(network.mixer_pressure() == 0.0);
}

TEST_CASE("the mixing pressure balances both flows", "[network][identity]") {
    Random random(7);
    int reversed = 0;
    for (int number = 0; number < 100; ++number) {
        const Case c = random_case(random);
        INFO(describe(number, c));
        Network network(c.machine, c.inertia);
        (void)rhs(network, c.controls, c.y);
        const double p_m = network.mixer_pressure();
        const double scale =
            std::abs(c.pressure[0].tail(1)[0]) + std::abs(c.pressure[1].tail(1)[0]);
        double reaching = 0.0;
        for (const int s : {0, 1}) {
            reaching += c.controls.joined[static_cast<std::size_t>(s)] ? network.flow(s) : 0.0;
        }
        CHECK(std::abs(p_m - network.mixer_resistance() * reaching) <= 1e-12 * scale);
        CHECK(network.mixer_resistance() ==
              c.controls.mixer_resistance +
                  c.controls.mixer_by_volume * (c.y[network.entered()] - c.controls.entered));
        for (int s = 0; s < 2; ++s) {
            const auto k = static_cast<std::size_t>(s);
            const Shutoff& shutoff = (s == 0 ? c.machine.resin : c.machine.hardener).shutoff;
            if (shutoff.check_valve) {
                CHECK((network.flow(s) >= 0.0 || c.controls.pushed[k] < 0.0));
            }
            if (c.controls.pushed[k] != 0.0 || !c.controls.joined[k] || shutoff.check_valve) {
                continue;
            }
            // A stream runs backwards just when its last node lies below the mixing point.
            const double above = c.pressure[static_cast<std::size_t>(s)].tail(1)[0] - p_m;
            CHECK(network.flow(s) * above >= 0.0);
            reversed += network.flow(s) < 0.0 ? 1 : 0;
        }
    }
    CHECK(reversed > 10);
}

TEST_CASE("the Jacobian grows linearly with the cells", "[network][structure]") {
    const auto entries = [](int cells) {
        Machine machine = demo::long_boom();
        demo::set_cells(machine, cells);
        Network network(machine);
        VectorXd y = VectorXd::Zero(network.size());
        y[network.position()] = 0.06;
        for (int s = 0; s < 2; ++s) {
            for (Index i = 0; i < network.chain(s).nodes(); ++i) {
                y[network.first(s) + i] =
                    network.chain(s).mass(i, (20.0 - static_cast<double>(i)) * 0.1 * bar, 0.06);
            }
        }
        VectorXd f(y.size());
        VectorXd g(y.size());
        Controls controls{.fraction = {1, 1}, .mixer_resistance = mixer_resistance};
        controls.axis[0].force = 4600;
        network.linearise(controls, y, f, g);
        return (network.dense_jacobian().array() != 0.0).count();
    };
    // Three entries a node of each stream, whatever else there is.
    CHECK(entries(16) - entries(8) == 3 * 2 * 8);
    CHECK(entries(64) - entries(32) == 3 * 2 * 32);
}

TEST_CASE("volume and compliance of a segment do not depend on its cells", "[network][identity]") {
    // Geometry: pi/4 D^2 L rho(p) plus the wall's C p, the cylinder on top.
    const Machine machine = demo::long_boom();
    const double p = 30 * bar;
    for (const int cells : {1, 7, 32}) {
        Machine cut = machine;
        demo::set_cells(cut, cells);
        const Chain chain(cut.resin, cut.shaft.stroke);
        double mass = 0.0;
        for (Index i = 0; i < chain.nodes(); ++i) {
            mass += chain.mass(i, p, 0.06);
        }
        const double pi = 3.14159265358979;
        const double volume =
            pi / 4 * 0.07 * 0.07 * 0.14 + pi / 4 * 0.016 * 0.016 * 6 + 6 * 0.035 * mL / bar * p;
        CAPTURE(cells);
        CHECK_THAT(mass,
                   WithinRel(volume * density(machine.resin.liquid, p, demo::celsius(50)), 1e-13));
        CHECK_THAT(chain.distance()[chain.nodes() - 1], WithinRel(6.0, 1e-13));
    }
}
