#include "evenfront/transient.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <sstream>
#include <utility>

#include "evenfront/steady.hpp"
#include "stepper.hpp"

namespace evenfront {

using Eigen::Index;
using Eigen::VectorXd;

namespace {

using namespace detail;

constexpr double coarsest_periodic = 1e-4;  // coarser steps blur what a yield stress holds
constexpr double longest_wait = 3600.0;     // for a volume or pressure that is never reached [s]

// Steps of a sequence, one after the other, on a stepper.
class Runner : private Stepper {
public:
    Runner(const Machine& machine,
           const Sequence& sequence,
           const Numerics& numerics,
           const Steady& steady)
        : Stepper(machine, numerics, steady) {
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

    using Stepper::trace;

private:
    void begin(const Start& start) {
        const std::array<std::array<double, 2>, 2> pressures{
            {{start.resin_cylinder, start.resin_line},
             {start.hardener_cylinder, start.hardener_line}}};
        y_[Network::position] = machine_.shaft.position;
        double force = 0.0;
        for (int s = 0; s < 2; ++s) {
            const auto& [cylinder, line] = pressures[index(s)];
            for (Index i = 0; i < network_.chain(s).nodes(); ++i) {
                y_[network_.first_mass(s) + i] =
                    network_.chain(s).mass(i, i == 0 ? cylinder : line, machine_.shaft.position);
            }
            force += network_.chain(s).piston_area() * cylinder;
            mass_before_[index(s)] = held_mass(s);
        }
        force_ = {.target = force, .start = force};
    }

    void perform_all(const Sequence& sequence) {
        for (std::size_t i = 0; i < sequence.steps.size() && going(); ++i) {
            perform(sequence.steps[i], static_cast<int>(i));
        }
    }

    void perform(const Step& step, int number) {
        switch (step.kind) {
            case StepKind::dispense_time:
            case StepKind::dispense_volume:
            case StepKind::dispense_travel:
                dispense(step, number);
                break;
            case StepKind::dwell:
                dwell(step.amount);
                break;
            case StepKind::preload_time:
            case StepKind::preload_pressure:
                preload(step);
                break;
            case StepKind::refill:
                refill(step.amount);
                break;
        }
    }

    void drive_to(double target) {
        force_ = {.target = target,
                  .start = force_.value(t_),
                  .since = t_,
                  .rise = machine_.drive.rise_time};
    }

    void dispense(const Step& step, int number) {
        drive_to(machine_.drive.force);
        release_shaft();
        for (int s = 0; s < 2; ++s) {
            const Shutoff& shutoff = stream(s).shutoff;
            const double begin = t_ + shutoff.delay;
            valve_[index(s)] = {0.0, 1.0, begin, begin + shutoff.open_time};
        }
        mark_next_row_ = true;
        const Index open_row = last_row() + 1;
        std::function<double(double, const VectorXd&)> target;
        double until = t_ + step.amount;
        if (step.kind != StepKind::dispense_time) {
            if (trace.status == Status::nothing_flows) {
                return;
            }
            until = t_ + longest_wait;
            const Index a =
                step.kind == StepKind::dispense_travel ? Network::position : network_.volume(0);
            const Index b = step.kind == StepKind::dispense_travel ? a : network_.volume(1);
            const double goal = a == b ? y_[a] + step.amount : y_[a] + y_[b] + step.amount;
            target = [a, b, goal](double, const VectorXd& y) {
                return (a == b ? y[a] : y[a] + y[b]) - goal;
            };
        }
        const bool reached = advance(until, target);
        if (!going()) {
            return;
        }
        if (target && !reached) {
            std::ostringstream text;
            text << "the shot of step " << number + 1 << " is not complete after " << longest_wait
                 << " s";
            stop(Status::nothing_flows, text.str());
            return;
        }
        const Index close_row = last_row();
        close();
        if (going()) {
            trace.shots.push_back({number, open_row, close_row, last_row()});
        }
    }

    // Shut-offs close after the step, in their own time, against a frozen drive.
    void close() {
        const double frozen = force_.value(t_);
        force_ = {.target = frozen, .start = frozen, .since = t_};
        double shut = t_;
        for (int s = 0; s < 2; ++s) {
            const Shutoff& shutoff = stream(s).shutoff;
            Valve& valve = valve_[index(s)];
            const double open = valve.value(t_);
            const double begin = t_ + shutoff.close_delay;
            valve = {open, 0.0, begin, begin + open * shutoff.close_time};
            shut = std::max(shut, valve.end);
        }
        mark_next_row_ = true;
        advance(shut, nullptr);
        if (going()) {
            add_shut_row();
        }
    }

    // The row that ends the shot, both shut-offs shut. (Liquid between a shut-off and a throttle
    // behind it still drains through the throttle; it counts in the volumes, not as the shot's.)
    void add_shut_row() {
        set_piece(t_ + 1.0);
        method_.linearise(piece_, t_, y_);
        record(true);
    }

    void dwell(double duration) {
        const double end = t_ + duration;
        switch (machine_.drive.between_shots) {
            case BetweenShots::hold:
                drive_to(machine_.drive.force);
                release_shaft();
                break;
            case BetweenShots::vent_drive:
                drive_to(0.0);
                release_shaft();
                break;
            case BetweenShots::lock:
            case BetweenShots::vent:
                hold_shaft();
                break;
        }
        advance(end, nullptr);
        if (going() && machine_.drive.between_shots == BetweenShots::vent) {
            relieve();
        }
    }

    // Both streams to 0 bar gauge, x unchanged: liquid goes to the tanks or comes from them.
    void relieve() {
        for (int s = 0; s < 2; ++s) {
            const double before = held_mass(s);
            for (Index i = 0; i < network_.chain(s).nodes(); ++i) {
                y_[network_.first_mass(s) + i] =
                    network_.chain(s).mass(i, 0.0, y_[Network::position]);
            }
            drained_[index(s)] += (before - held_mass(s)) / network_.chain(s).rho_ref();
        }
        force_ = {};
        mark_next_row_ = true;
    }

    void preload(const Step& step) {
        drive_to(machine_.drive.force);
        release_shaft();
        if (step.kind == StepKind::preload_time) {
            advance(t_ + step.amount, nullptr);
            return;
        }
        const auto target = [this, goal = step.amount](double t, const VectorXd& y) {
            piece_.rhs(t, y, scratch());
            return network_.pressure(0, 0) - goal;
        };
        if (target(t_, y_) >= 0.0) {
            return;
        }
        const bool reached = advance(t_ + longest_wait, target);
        if (going() && !reached) {
            std::ostringstream text;
            text.precision(3);
            text << "the drive does not preload the resin cylinder to " << step.amount / 1e5
                 << " bar; it stays at " << network_.pressure(0, 0) / 1e5 << " bar";
            trace.warnings.push_back(text.str());
        }
    }

    // Back to the start position at an even speed, both cylinders open to their tanks, shut-offs
    // shut.
    void refill(double duration) {
        hold_shaft();
        turn_feed_valves(1.0);
        y_[Network::speed] = (machine_.shaft.position - y_[Network::position]) / duration;
        shaft_ = ShaftMode::led;
        mark_next_row_ = true;
        advance(t_ + duration, nullptr);
        hold_shaft();
        turn_feed_valves(0.0);
        balance_force();
    }

    void turn_feed_valves(double to) {
        double end = t_;
        for (int s = 0; s < 2; ++s) {
            const double turned = t_ + stream(s).feed->valve_time;
            feed_valve_[index(s)] = {1.0 - to, to, t_, turned};
            end = std::max(end, turned);
        }
        mark_next_row_ = true;
        advance(end, nullptr);
    }

    // The drive takes over from rest: its force starts in balance with the cylinders.
    void balance_force() {
        piece_.rhs(t_, y_, scratch());
        double force = 0.0;
        for (int s = 0; s < 2; ++s) {
            force += network_.chain(s).piston_area() * network_.pressure(s, 0);
        }
        force_ = {.target = force, .start = force, .since = t_};
    }

    // ---- periodic start ----

    // What a round of steps hands to the next, in pascal: pressures, force per area, and speed so
    // scaled that a millimetre a second counts as the closed pressure.
    [[nodiscard]] VectorXd handed_on() {
        set_piece(t_ + 1.0);
        piece_.rhs(t_, y_, scratch());
        std::vector<double> values;
        for (int s = 0; s < 2; ++s) {
            for (Index i = 0; i < network_.chain(s).nodes(); ++i) {
                values.push_back(network_.pressure(s, i));
            }
        }
        values.push_back(force_.value(t_) / areas());
        values.push_back(y_[Network::speed] * 1e3 * machine_.drive.force / areas());
        return Eigen::Map<const VectorXd>(values.data(), static_cast<Index>(values.size()));
    }

    [[nodiscard]] double areas() const {
        return network_.chain(0).piston_area() + network_.chain(1).piston_area();
    }

    // The shaft at its start position with given pressures, force and speed.
    void take_over(const VectorXd& values) {
        y_[Network::position] = machine_.shaft.position;
        Index k = 0;
        for (int s = 0; s < 2; ++s) {
            for (Index i = 0; i < network_.chain(s).nodes(); ++i) {
                const double p = std::max(values[k++], starvation_pressure);
                y_[network_.first_mass(s) + i] =
                    network_.chain(s).mass(i, p, machine_.shaft.position);
            }
        }
        const double force = std::max(values[k], 0.0) * areas();
        force_ = {.target = force, .start = force, .since = t_};
        y_[Network::speed] = values[k + 1] * areas() / (1e3 * machine_.drive.force);
    }

    // Without a refill a round ends with the shaft further on: back it goes, pressures kept, the
    // liquid that this takes booked as drawn from the tanks.
    void put_back() {
        if (y_[Network::position] == machine_.shaft.position) {
            return;
        }
        const std::array<double, 2> before{held_mass(0), held_mass(1)};
        const ForceLaw force = force_;
        take_over(handed_on());
        force_ = force;
        for (int s = 0; s < 2; ++s) {
            drained_[index(s)] += (before[index(s)] - held_mass(s)) / network_.chain(s).rho_ref();
        }
        mark_next_row_ = true;
    }

    // Rounds of steps until one ends as it began: fixed point with Anderson's acceleration.
    // The choices of the step control move the end of a round by a part of the tolerance, so once
    // near, the steps are taken as before: a round is then a smooth function of its start. Where it
    // is not (a yield stress holds what pressure it will), acceleration may lead astray: a round
    // that lost ground starts it anew from the plain next one.
    void find_periodic_state(const Sequence& sequence) {
        constexpr int most_rounds = 30;
        constexpr double goal = 1e-8;
        constexpr double near = 1e-3;
        numerics_.rtol = std::min(numerics_.rtol, coarsest_periodic);
        std::vector<VectorXd> points;
        std::vector<VectorXd> changes;
        VectorXd at = handed_on();
        const double scale = machine_.drive.force / areas();
        for (int round = 1; round <= most_rounds && going(); ++round) {
            plan_.begin(round > 1 && trace.periodic_residual < near);
            perform_all(sequence);
            const VectorXd next = handed_on();
            trace.periodic_rounds = round;
            const double last =
                std::exchange(trace.periodic_residual, (next - at).cwiseAbs().maxCoeff() / scale);
            if (round > 1 && trace.periodic_residual > last) {
                points.clear();
                changes.clear();
            }
            points.push_back(at);
            changes.emplace_back(next - at);
            if (trace.periodic_residual < goal) {
                restart(next);
                return;
            }
            if (round < most_rounds && going()) {
                at = accelerated(points, changes);
                restart(at);
            }
        }
        if (going()) {
            std::ostringstream text;
            text << "no periodic state within " << most_rounds
                 << " rounds: the last one changed by " << trace.periodic_residual
                 << " of the closed pressure";
            stop(Status::not_converged, text.str());
        }
    }

    [[nodiscard]] static VectorXd accelerated(const std::vector<VectorXd>& points,
                                              const std::vector<VectorXd>& changes) {
        constexpr std::size_t depth = 5;
        const std::size_t last = points.size() - 1;
        const std::size_t used = std::min(last, depth);
        VectorXd next = points[last] + changes[last];
        if (used == 0) {
            return next;
        }
        Eigen::MatrixXd by_change(next.size(), static_cast<Index>(used));
        Eigen::MatrixXd by_point(next.size(), static_cast<Index>(used));
        for (std::size_t k = 0; k < used; ++k) {
            const auto column = static_cast<Index>(k);
            by_change.col(column) = changes[last - k] - changes[last - k - 1];
            by_point.col(column) = points[last - k] - points[last - k - 1];
        }
        const VectorXd share = by_change.colPivHouseholderQr().solve(changes[last]);
        return next - (by_point + by_change) * share;
    }

    // Forgets what was run so far: time, rows, shots, volumes.
    void restart(const VectorXd& values) {
        t_ = 0.0;
        h_ = first_step;
        take_over(values);
        y_.tail(y_.size() - network_.volume(0)).setZero();
        drained_ = {};
        for (int s = 0; s < 2; ++s) {
            mass_before_[index(s)] = held_mass(s);
            valve_[index(s)] = {};
            feed_valve_[index(s)] = {};
        }
        trace.shots.clear();
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
                                      drained_[k] - y_[network_.drawn(s)]);
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
