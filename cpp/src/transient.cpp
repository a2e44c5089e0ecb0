#include "evenfront/transient.hpp"

#include <algorithm>
#include <cmath>
#include <sstream>
#include <utility>

#include "evenfront/acceleration.hpp"
#include "evenfront/air.hpp"
#include "evenfront/constants.hpp"
#include "evenfront/steady.hpp"
#include "steps.hpp"

namespace evenfront {

using Eigen::Index;
using Eigen::VectorXd;

namespace {

using namespace detail;

constexpr double coarsest_periodic = 1e-4;  // coarser steps blur what a yield stress holds
constexpr double rough_periodic = 1e-3;     // good enough to come near

// A sequence from its start to its end, or repeated until it ends as it began.
class Runner : private Steps {
public:
    Runner(const Machine& machine,
           const Sequence& sequence,
           const Numerics& numerics,
           const Steady& steady)
        : Steps(machine, numerics, steady) {
        begin(sequence.start);
        if (!steady.flows) {
            stop(Status::nothing_flows, steady.reason);
        }
        if (sequence.start.periodic) {
            find_periodic_state(sequence);
        }
        for (int turn = 0; turn < sequence.repeat && going(); ++turn) {
            if (sequence.start.periodic) {
                put_back();
                plan_.begin(true);
            }
            perform_all(sequence);
        }
        finish();
    }

    using Steps::trace;

private:
    void begin(const Start& start) {
        const std::array<std::array<double, 2>, 2> pressures{
            {{start.resin_cylinder, start.resin_line},
             {start.hardener_cylinder, start.hardener_line}}};
        for (int a = 0; a < axes(); ++a) {
            y_[network_.position(a)] = shaft(a).position;
        }
        for (int s = 0; s < 2; ++s) {
            const std::array<double, 2>& given = pressures[index(s)];
            fill_line(s, [&](Index node) { return given[node == 0 ? 0 : 1]; });
            mass_before_[index(s)] = held_mass(s);
        }
        balance_drives();
    }

    // What a round of steps hands to the next, in pascal: pressures, force per area, speed so
    // scaled that a millimetre a second counts as the closed pressure, the air's pressures, and
    // temperatures so that a kelvin counts as a hundredth of it.
    [[nodiscard]] VectorXd handed_on() {
        look();
        std::vector<double> values;
        for (int s = 0; s < 2; ++s) {
            for (Index i = 0; i < network_.chain(s).nodes(); ++i) {
                values.push_back(network_.pressure(s, i));
            }
        }
        for (int a = 0; a < axes(); ++a) {
            values.push_back(network_.drive_force(a) / areas());
            values.push_back(y_[network_.speed(a)] * 1e3 * closed_pressure());
            if (network_.air_cylinder(a)) {
                const auto& p = network_.air_pressure(a);
                values.insert(values.end(), p.begin(), p.end());
            }
        }
        for (int s = 0; s < 2; ++s) {
            if (network_.chain(s).idles()) {
                for (const double theta : network_.chain(s).deviation()) {
                    values.push_back(theta * 0.01 * closed_pressure());
                }
            }
        }
        return Eigen::Map<const VectorXd>(values.data(), static_cast<Index>(values.size()));
    }

    [[nodiscard]] double areas() const {
        return network_.chain(0).piston_area() + network_.chain(1).piston_area();
    }

    [[nodiscard]] double closed_pressure() const {
        double force = 0.0;
        for (int a = 0; a < axes(); ++a) {
            force += full_force(drive(a));
        }
        return force / areas();
    }

    // What is handed on, with masses for pressures, shafts at their start positions: where a
    // cylinder is nearly empty a round is a far straighter function of these. They are so scaled
    // that what fills a node to the closed pressure counts as that pressure.
    [[nodiscard]] VectorXd weighed(VectorXd values) const {
        Index k = 0;
        for (int s = 0; s < 2; ++s) {
            const Chain& chain = network_.chain(s);
            const double x = piston_at_start(s);
            for (Index i = 0; i < chain.nodes(); ++i, ++k) {
                values[k] = chain.mass(i, values[k], x) * per_mass(s, i);
            }
        }
        return values;
    }

    [[nodiscard]] double per_mass(int s, Index node) const {
        const Chain& chain = network_.chain(s);
        const double x = piston_at_start(s);
        const double p = closed_pressure();
        return p / (chain.mass(node, p, x) - chain.mass(node, 0.0, x));
    }

    // A piston that stands goes with its shaft here.
    [[nodiscard]] double piston_at_start(int s) const {
        const int a = network_.axis_of(s);
        const Piston& piston = piston_[index(s)];
        const double start = shaft(a).position;
        return piston.engaged ? start - piston.value
                              : piston.value + start - y_[network_.position(a)];
    }

    // The shafts at their start positions with given masses, forces, speeds and temperatures.
    void take_over(const VectorXd& values) {
        Index k = 0;
        for (int s = 0; s < 2; ++s) {
            const Chain& chain = network_.chain(s);
            auto block = y_.segment(network_.first(s), chain.rows());
            block.setZero();
            for (Index i = 0; i < chain.nodes(); ++i, ++k) {
                block[chain.row(i)] = std::max(values[k], 0.0) / per_mass(s, i);
            }
        }
        for (int a = 0; a < axes(); ++a) {
            const double before = y_[network_.position(a)];
            y_[network_.position(a)] = shaft(a).position;
            for (int s = 0; s < 2; ++s) {
                if (network_.axis_of(s) == a && !piston_[index(s)].engaged) {
                    piston_[index(s)].value += shaft(a).position - before;
                }
            }
            set_force(a, values[k++] * areas());
            y_[network_.speed(a)] = values[k++] / (1e3 * closed_pressure());
            if (network_.air_cylinder(a)) {
                set_air(a, std::max(values[k], 1.0), std::max(values[k + 1], 1.0));
                k += 2;
            }
        }
        for (int s = 0; s < 2; ++s) {
            Chain& chain = network_.chain(s);
            if (chain.idles()) {
                const VectorXd theta =
                    values.segment(k, static_cast<Index>(chain.deviation().size())) /
                    (0.01 * closed_pressure());
                chain.set_deviation(theta.data());
                k += theta.size();
            }
        }
    }

    // Without a refill a round ends with the shafts further on: back they go, pressures kept, the
    // liquid that this takes booked as drawn from the tanks.
    void put_back() {
        bool moved = false;
        for (int a = 0; a < axes(); ++a) {
            moved = moved || y_[network_.position(a)] != shaft(a).position;
        }
        if (!moved) {
            return;
        }
        const std::array<double, 2> before{held_mass(0), held_mass(1)};
        const std::array<ForceLaw, 2> force{law_[0].force, law_[1].force};
        take_over(weighed(handed_on()));
        for (int s = 0; s < 2; ++s) {
            law_[index(s)].force = force[index(s)];
            drained_[index(s)] += (before[index(s)] - held_mass(s)) / network_.chain(s).rho_ref();
        }
        mark_next_row_ = true;
    }

    // Rounds of steps until one ends as it began: a fixed point, accelerated. Rounds with coarse
    // steps come near it first and tell its slopes. The choices of the step control move the end
    // of a round by a part of the tolerance, so at last the steps are taken as before: a round is
    // then a smooth function of its start. Where it is not (a yield stress holds what pressure it
    // will), acceleration may lead astray: a round that lost ground starts it anew.
    void find_periodic_state(const Sequence& sequence) {
        constexpr int most_rounds = 30;
        constexpr int most_rough_rounds = 15;
        constexpr double goal = 1e-8;
        constexpr double near = 1e-3;
        const double asked = std::min(numerics_.rtol, coarsest_periodic);
        numerics_.rtol = rough_periodic;
        Acceleration acceleration;
        double& residual = trace.periodic_residual;
        while (trace.periodic_rounds < most_rounds && going()) {
            const bool rough = numerics_.rtol > asked;
            int& rounds = rough ? trace.periodic_rough_rounds : trace.periodic_rounds;
            const VectorXd start = handed_on();
            const VectorXd at = weighed(start);
            plan_.begin(rounds > 0 && residual < near);
            perform_all(sequence);
            const VectorXd end = handed_on();
            const VectorXd change = weighed(end) - at;
            const double last =
                std::exchange(residual, (end - start).cwiseAbs().maxCoeff() / closed_pressure());
            if (++rounds > 1 && residual > 2.0 * last) {
                acceleration.forget();
            }
            if (!rough && residual < goal) {
                if (!starves(end)) {
                    restart(at + change);
                }
                return;
            }
            if (going()) {
                restart(acceleration.next(at, change));
            }
            if (rough && (residual < near || rounds == most_rough_rounds)) {
                numerics_.rtol = asked;
                acceleration.go_on_with_another();
            }
        }
        if (going()) {
            std::ostringstream text;
            text << "no periodic state within " << most_rounds
                 << " rounds: the last one changed by " << residual << " of the closed pressure";
            stop(Status::not_converged, text.str());
        }
    }

    // A start is given by pressures, which cannot hold a void.
    bool starves(const VectorXd& values) {
        Index k = 0;
        for (int s = 0; s < 2; ++s) {
            const Index nodes = network_.chain(s).nodes();
            if (values.segment(k, nodes).minCoeff() < starvation_pressure) {
                stop(Status::not_converged,
                     std::string("no periodic state: the ") + (s == 0 ? "resin" : "hardener") +
                         " is starved when a round ends, and what is missing adds up");
                return true;
            }
            k += nodes;
        }
        return false;
    }

    // Forgets what was run so far: time, rows, shots, volumes.
    void restart(const VectorXd& values) {
        for (AxisLaw& law : law_) {
            law.supply = law.supply <= t_ ? -never : never;
        }
        t_ = 0.0;
        h_ = first_step;
        take_over(values);
        y_.tail(y_.size() - network_.first_total()).setZero();
        see_mixer();
        drained_ = {};
        for (int s = 0; s < 2; ++s) {
            mass_before_[index(s)] = held_mass(s);
            valve_[index(s)] = {};
            feed_valve_[index(s)] = {};
        }
        trace.shots.clear();
        trace.purges.clear();
        trace.rests.clear();
        trace.warnings.clear();
        recorder_ = Recorder(machine_);
        mark_next_row_ = true;
    }

    void finish() {
        recorder_.fill(trace, network_);
        for (int s = 0; s < 2; ++s) {
            const std::size_t k = index(s);
            const double rho = network_.chain(s).rho_ref();
            const double out = rho * (y_[network_.volume(s)] + y_[network_.leaked(s)] +
                                      y_[network_.shrunk(s)] + drained_[k] - y_[network_.drawn(s)]);
            const double lost = std::abs(mass_before_[k] - held_mass(s) - out);
            // Where nothing is dispensed the loss is held against a tenth of a millilitre.
            const double dispensed = rho * std::max(std::abs(y_[network_.volume(s)]), 1e-7);
            trace.mass_balance_error = std::max(trace.mass_balance_error, lost / dispensed);
        }
    }

    std::array<double, 2> mass_before_{};
};

}  // namespace

Trace simulate(const Machine& machine, const Sequence& sequence, const Numerics& numerics) {
    validate(machine);
    validate(sequence, machine);
    validate(numerics);
    return std::move(Runner(machine, sequence, numerics, steady_state(machine)).trace);
}

}  // namespace evenfront
