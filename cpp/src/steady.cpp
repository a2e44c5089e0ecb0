#include "evenfront/steady.hpp"

#include <algorithm>
#include <array>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <functional>
#include <limits>
#include <numbers>
#include <sstream>

#include "evenfront/air.hpp"
#include "evenfront/chain.hpp"
#include "evenfront/mixer.hpp"

namespace evenfront {

using std::numbers::pi;

namespace {

// Both streams at one shaft speed: mass flows, mixing pressure and every node's pressure.
struct Streams {
    std::array<double, 2> mass_flow{};
    std::array<Eigen::VectorXd, 2> pressure;
    double resistance = 0.0;
    double viscosity = 0.0;
    double mixer_pressure = 0.0;
};

class Balance {
public:
    /// @param force of every drive in place of its own, scaled as the resin's; none if negative
    Balance(const Machine& machine, double force)
        : machine_(machine),
          axes_(machine.hardener_axis ? 2 : 1),
          chain_{Chain(machine.resin, machine.shaft.stroke),
                 Chain(machine.hardener, machine.shaft.stroke)},
          drive_{machine.drive, machine.hardener_axis ? machine.hardener_axis->drive : Drive{}} {
        const double scale = force / full_force(machine.drive);
        for (Drive& drive : drive_) {
            if (force >= 0.0) {
                drive = {.force = full_force(drive) * scale};
            }
        }
    }

    [[nodiscard]] std::size_t axes() const { return axes_; }

    /// Force left over on each shaft at their speeds, falling with them; `streams` is brought
    /// there.
    std::array<double, 2> operator()(const std::array<double, 2>& v) {
        solve_streams(axes_ == 1 ? std::array<double, 2>{v[0], v[0]} : v);
        std::array<double, 2> left{};
        for (std::size_t a = 0; a < axes_; ++a) {
            left[a] = pushing(a, v[a]) - shaft(a).friction - shaft(a).viscous_friction * v[a];
        }
        for (std::size_t s = 0; s < 2; ++s) {
            left[axis_of(s)] -= chain_[s].piston_area() * streams_.pressure[s][0];
        }
        return left;
    }

    /// Force that is left to push liquid, at rest.
    [[nodiscard]] double available(std::size_t axis) const {
        return pushing(axis, 0.0) - shaft(axis).friction;
    }

    /// Force left over before anything moves: friction and yield stresses alone.
    [[nodiscard]] double at_rest(std::size_t axis) const {
        double left = available(axis);
        for (std::size_t s = 0; s < 2; ++s) {
            left -= axis_of(s) == axis ? chain_[s].piston_area() * chain_[s].yield_pressure() : 0.0;
        }
        return left;
    }

    /// Speed beyond which a drive does not go, whatever it may push with.
    [[nodiscard]] double top_speed(std::size_t axis) const {
        return drive_[axis].kind == DriveKind::speed ? drive_[axis].speed
                                                     : std::numeric_limits<double>::infinity();
    }

    [[nodiscard]] double pushing(std::size_t axis, double v) const {
        return drive_[axis].kind == DriveKind::air ? steady_air_force(*drive_[axis].air, v)
                                                   : drive_[axis].force;
    }

    [[nodiscard]] const Streams& streams() const { return streams_; }

private:
    // Delivered mass flow A v rho(p_0) - leak: p_0 follows from the flow, weakly back on it.
    void solve_streams(const std::array<double, 2>& v) {
        std::array<double, 2> p0{};
        for (std::size_t s = 0; s < 2; ++s) {
            p0[s] = streams_.pressure[s].size() > 0 ? streams_.pressure[s][0] : 0.0;
        }
        for (int turn = 0; turn < 200; ++turn) {
            std::array<double, 2> flow{};
            for (std::size_t s = 0; s < 2; ++s) {
                const double leak = chain_[s].leak() * std::max(p0[s], 0.0);
                streams_.mass_flow[s] =
                    (chain_[s].piston_area() * v[s] - leak) * chain_[s].cylinder_density(p0[s]);
                flow[s] = streams_.mass_flow[s] / chain_[s].rho_ref();
            }
            // A stream that only leaks has no viscosity in the log rule: the least flow stands in.
            const auto some = [](double q) { return std::max(q, 1e-15); };
            streams_.viscosity = blend_viscosity(machine_.mixer,
                                                 machine_.resin.rheology,
                                                 machine_.hardener.rheology,
                                                 some(flow[0]),
                                                 some(flow[1]));
            streams_.resistance = mixer_resistance(machine_.mixer, streams_.viscosity);
            streams_.mixer_pressure = streams_.resistance * (flow[0] + flow[1]);
            double change = 0.0;
            for (std::size_t s = 0; s < 2; ++s) {
                chain_[s].march(
                    streams_.mass_flow[s], streams_.mixer_pressure, streams_.pressure[s]);
                const double p = streams_.pressure[s][0];
                change = std::max(change, std::abs(p - p0[s]) / (standard_pressure + std::abs(p)));
                p0[s] += (p - p0[s]) * relaxation(s, v[s], p, p0[s]);
            }
            if (change < 1e-14) {
                return;
            }
        }
    }

    // A leak takes the more flow the higher the pressure it would leave: Newton's step for
    // p = march(A v - g p), the line's resistance taken as p/q. Without a leak the whole step.
    [[nodiscard]] double relaxation(std::size_t s, double v, double p, double p_before) const {
        const double leak = chain_[s].leak();
        if (leak == 0.0) {
            return 1.0;
        }
        const double q = chain_[s].piston_area() * v - leak * std::max(p_before, 0.0);
        const double resistance = std::abs((p - streams_.mixer_pressure) / q);
        return std::isfinite(resistance) ? 1.0 / (1.0 + leak * resistance) : 0.5;
    }

    [[nodiscard]] std::size_t axis_of(std::size_t s) const { return axes_ == 1 ? 0 : s; }
    [[nodiscard]] const Shaft& shaft(std::size_t axis) const {
        return axis == 0 ? machine_.shaft : machine_.hardener_axis->shaft;
    }

    const Machine& machine_;
    std::size_t axes_;
    std::array<Chain, 2> chain_;
    std::array<Drive, 2> drive_;
    Streams streams_;
};

// Speed at which no force is left over; `balance` is called there last. The load grows nearly as a
// power of the speed (a power law exactly so), so a secant in logarithms takes a few steps; where a
// yield stress or a leak bends that, a bracket does. NaN where no speed balances.
double balanced_speed(double available, const std::function<double(double)>& balance) {
    double v = 1e-3;
    double load = available - balance(v);
    double last_v = 0.0;
    double last_load = 0.0;
    for (int turn = 0; turn < 30 && load > 0.0; ++turn) {
        const double power = last_load > 0.0 && load != last_load
                                 ? std::log(load / last_load) / std::log(v / last_v)
                                 : 1.0;
        const double step = std::log(available / load) / std::clamp(power, 0.05, 2.0);
        last_v = v;
        last_load = load;
        v *= std::exp(std::clamp(step, -7.0, 7.0));
        load = available - balance(v);
        if (std::abs(load - available) <= 4e-15 * available) {
            return v;
        }
    }
    double low = 1e-12;
    double high = 1e-6;
    while (balance(low) < 0.0 && low > 1e-30) {  // behind a throttle all but closed
        high = low;
        low *= 1e-3;
    }
    while (balance(high) > 0.0 && high < 1e6) {
        low = high;
        high *= 4.0;
    }
    if (!(balance(low) > 0.0) || !(balance(high) < 0.0)) {
        return std::numeric_limits<double>::quiet_NaN();
    }
    std::uintmax_t turns = 200;
    const auto close = [](double a, double b) { return b - a <= 4e-16 * std::abs(b); };
    const auto [a, b] = boost::math::tools::toms748_solve(balance, low, high, close, turns);
    balance(0.5 * (a + b));
    return 0.5 * (a + b);
}

// The same for a drive that may have a speed it does not pass.
double axis_speed(const Balance& balance,
                  std::size_t axis,
                  const std::function<double(double)>& left) {
    const double top = balance.top_speed(axis);
    if (std::isfinite(top) && left(top) >= 0.0) {
        return top;
    }
    return balanced_speed(balance.available(axis), left);
}

// Speeds of the shafts. Two of them meet at the mixing point alone: the faster one goes, the more
// the other is held back, so for each speed of the second there is one of the first.
std::array<double, 2> balanced_speeds(Balance& balance) {
    if (balance.axes() == 1) {
        const double v = axis_speed(balance, 0, [&](double x) { return balance({x, x})[0]; });
        return {v, v};
    }
    std::array<double, 2> v{};
    const auto second_left = [&](double x) {
        v[1] = x;
        v[0] = axis_speed(balance, 0, [&](double first) { return balance({first, x})[0]; });
        return balance(v)[1];
    };
    v[1] = axis_speed(balance, 1, second_left);
    second_left(v[1]);
    return v;
}

SteadyStream describe(const Stream& stream, double mass_flow, const Eigen::VectorXd& pressure) {
    const double temperature = stream.line.back().temperature;
    const ThrottleFlow throttle(stream.throttle,
                                at_temperature(stream.rheology, temperature),
                                thermal_density(stream.liquid, temperature));
    const bool between = stream.throttle.volume_between > 0.0;
    const Eigen::Index head = pressure.size() - (between ? 2 : 1);
    const double q = mass_flow / density(stream.liquid, pressure[head], temperature);
    double reynolds = 0.0;
    for (const Segment& segment : stream.line) {
        const double u = 4.0 * std::abs(q) / (pi * segment.bore * segment.bore);
        if (u > 0.0) {
            reynolds =
                std::max(reynolds,
                         reynolds_number(at_temperature(stream.rheology, segment.temperature),
                                         thermal_density(stream.liquid, segment.temperature),
                                         u,
                                         segment.bore));
        }
    }
    return {.mass_flow = mass_flow,
            .flow = mass_flow / stream.liquid.density,
            .cylinder_pressure = pressure[0],
            .throttle_pressure = pressure[head],
            .throttle_loss = throttle.pressure(q),
            .reynolds_number = reynolds,
            .gap_reynolds_number = gap_reynolds_number(stream.throttle,
                                                       at_temperature(stream.rheology, temperature),
                                                       thermal_density(stream.liquid, temperature),
                                                       q)};
}

std::string why_nothing_flows(const Machine& machine, double force, double left) {
    std::ostringstream text;
    text.precision(3);
    text << "nothing flows, because the drive force of " << force / 1e3 << " kN is " << -left / 1e3
         << " kN short of ";
    text << (machine.resin.rheology.yield_stress > 0.0 ||
                     machine.hardener.rheology.yield_stress > 0.0
                 ? "what friction and the yield stress of the liquids hold back"
                 : "the friction of the shaft");
    return text.str();
}

}  // namespace

Steady steady_state(const Machine& machine, double force) {
    validate(machine);
    Balance balance(machine, force);
    Steady steady{};
    for (std::size_t a = 0; a < balance.axes(); ++a) {
        if (const double left = balance.at_rest(a); !(left > 0.0)) {
            steady.flows = false;
            steady.reason = why_nothing_flows(machine, balance.pushing(a, 0.0), left);
            return steady;
        }
    }
    const std::array<double, 2> speed = balanced_speeds(balance);
    const std::array<double, 2>& delivered = balance.streams().mass_flow;
    if (!(speed[0] > 0.0 && speed[1] > 0.0 && delivered[0] > 0.0 && delivered[1] > 0.0)) {
        steady.flows = false;
        steady.reason =
            "nothing flows steadily, because the seal leak takes all that a piston delivers";
        return steady;
    }
    steady.speed = speed[0];
    steady.hardener_speed = speed[1];
    steady.force = balance.pushing(0, speed[0]);
    steady.flows = true;
    const Streams& streams = balance.streams();
    steady.mixer_pressure = streams.mixer_pressure;
    steady.mixer_resistance = streams.resistance;
    steady.blend_viscosity = streams.viscosity;
    steady.resin = describe(machine.resin, streams.mass_flow[0], streams.pressure[0]);
    steady.hardener = describe(machine.hardener, streams.mass_flow[1], streams.pressure[1]);
    steady.ratio = steady.hardener.flow / steady.resin.flow;
    return steady;
}

}  // namespace evenfront
