#include "evenfront/transient.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <sstream>
#include <utility>

#include "evenfront/air.hpp"
#include "evenfront/constants.hpp"
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

    // Masses of a stream at pressures given by node, nothing flowing in the line.
    template <class Pressure>
    void fill_line(int s, Pressure&& pressure) {
        const Chain& chain = network_.chain(s);
        const Piston& piston = piston_[index(s)];
        const double x = piston.engaged ? y_[network_.position(network_.axis_of(s))] - piston.value
                                        : piston.value;
        auto block = y_.segment(network_.first(s), chain.rows());
        block.setZero();
        for (Index i = 0; i < chain.nodes(); ++i) {
            block[chain.row(i)] = chain.mass(i, pressure(i), x);
        }
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
            case StepKind::purge:
                dispense(step, number);
                break;
            case StepKind::dwell:
                rest(number, [&] { dwell(step.amount); });
                if (going()) {
                    vent();
                }
                break;
            case StepKind::preload_time:
            case StepKind::preload_pressure:
                rest(number, [&] { preload(step); });
                break;
            case StepKind::refill:
                refill(step.amount);
                break;
        }
    }

    // ---- drives ----

    // From now on, or after their delay, the drives push as in a shot.
    void drives_on() {
        for (int a = 0; a < axes(); ++a) {
            AxisLaw& law = law_[index(a)];
            const double begin = t_ + drive(a).delay;
            switch (law.kind) {
                case DriveKind::force:
                    law.force = {.target = drive(a).force,
                                 .start = law.force.value(t_),
                                 .since = begin,
                                 .rise = drive(a).rise_time};
                    break;
                case DriveKind::speed:
                    tell(law, drive(a).speed, begin, drive(a).ramp_time);
                    break;
                case DriveKind::air:
                    law.supply = std::min(law.supply, begin);
                    break;
            }
            release_shaft(a);
        }
    }

    // A screw goes on from where it is told to be now.
    void tell(AxisLaw& law, double speed, double begin, double ramp) {
        MotionLaw& motion = law.motion;
        const double now = motion.speed(t_);
        const double place = motion.value(t_) + now * (begin - t_);
        motion = {place, now, speed, begin, begin + ramp};
    }

    void screw_stops(int axis) {
        AxisLaw& law = law_[index(axis)];
        tell(law, 0.0, t_, drive(axis).ramp_time);
    }

    // The drives take over with the shafts as they are: they start in balance with the cylinders.
    void balance_drives() {
        look();
        for (int a = 0; a < axes(); ++a) {
            set_force(a, pressure_load(a));
        }
    }

    // A drive whose force is as given at the shaft's place, nothing told to it.
    void set_force(int axis, double force) {
        AxisLaw& law = law_[index(axis)];
        law.force = {.target = force, .start = force, .since = t_};
        law.at_limit = 0;
        const double held = std::clamp(force, -law.limit, law.limit);
        law.motion = {y_[network_.position(axis)] + held / law.stiffness, 0.0, 0.0, t_, t_};
        if (const auto& air = network_.air_cylinder(axis)) {
            const double driving = standard_pressure + std::max(force, 0.0) / driving_area(*air);
            set_air(axis, driving, standard_pressure);
        }
    }

    void set_air(int axis, double driving, double exhausting) {
        const AirCylinder& air = *network_.air_cylinder(axis);
        const double x = y_[network_.position(axis)];
        const Index energy = network_.air(axis);
        y_[energy] = driving * (air.dead_volume + driving_area(air) * x);
        y_[energy + 1] =
            exhausting * (air.dead_volume + exhausting_area(air) * (shaft(axis).stroke - x));
    }

    // ---- steps ----

    void open_shutoffs() {
        for (int s = 0; s < 2; ++s) {
            const Shutoff& shutoff = stream(s).shutoff;
            const double begin = t_ + shutoff.delay;
            valve_[index(s)] = {0.0, 1.0, begin, begin + shutoff.open_time};
        }
        mark_next_row_ = true;
    }

    // What a shot is told by: what has to grow by its amount, if not time.
    [[nodiscard]] double told_by(StepKind kind, const VectorXd& y) const {
        return kind == StepKind::dispense_travel ? y[network_.position()]
                                                 : y[network_.volume(0)] + y[network_.volume(1)];
    }

    void dispense(const Step& step, int number) {
        const bool by_time = step.kind == StepKind::dispense_time;
        if (!by_time && trace.status == Status::nothing_flows) {
            drives_on();
            open_shutoffs();
            return;
        }
        double left = step.amount;
        Index open_row = -1;
        Index close_row = 0;
        while (true) {
            drives_on();
            open_shutoffs();
            open_row = open_row < 0 ? last_row() + 1 : open_row;
            const double from = by_time ? t_ : told_by(step.kind, y_);
            std::function<double(double, const VectorXd&)> target;
            if (!by_time) {
                target = [this, kind = step.kind, goal = from + left](double, const VectorXd& y) {
                    return told_by(kind, y) - goal;
                };
            }
            const Ended ended = advance(t_ + (by_time ? left : longest_wait), target);
            if (!going()) {
                return;
            }
            if (ended == Ended::stroke && step.refill_time > 0.0) {
                left -= (by_time ? t_ : told_by(step.kind, y_)) - from;
                close_row = last_row();
                const double at_stop = told_by(step.kind, y_);
                hold_shaft(spent_);  // on its front stop
                close();
                left -= by_time ? 0.0 : told_by(step.kind, y_) - at_stop;
                if (going()) {
                    refill(step.refill_time);
                }
                if (going() && left > 0.0) {
                    continue;
                }
                if (going()) {
                    note(step, number, open_row, close_row);
                }
                return;
            }
            if (ended == Ended::stroke) {
                stop_at_stroke_end();
                return;
            }
            if (!by_time && ended != Ended::target) {
                std::ostringstream text;
                text << "the shot of step " << number + 1 << " is not complete after "
                     << longest_wait << " s";
                stop(Status::nothing_flows, text.str());
                return;
            }
            break;
        }
        close_row = last_row();
        close();
        if (going()) {
            note(step, number, open_row, close_row);
        }
    }

    void note(const Step& step, int number, Index open_row, Index close_row) {
        auto& spans = step.kind == StepKind::purge ? trace.purges : trace.shots;
        spans.push_back({number, open_row, close_row, last_row()});
    }

    // Shut-offs close after the step, in their own time, against a frozen force; screws stop.
    void close() {
        for (int a = 0; a < axes(); ++a) {
            const double frozen = law_[index(a)].force.value(t_);
            law_[index(a)].force = {.target = frozen, .start = frozen, .since = t_};
            screw_stops(a);
        }
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
        go(shut);
        if (going()) {
            add_shut_row();
        }
    }

    // Time passes; a stroke used up ends the run.
    void go(double until) {
        if (advance(until) == Ended::stroke) {
            stop_at_stroke_end();
        }
    }

    // The row that ends the shot, both shut-offs shut. (Liquid between a shut-off and a throttle
    // behind it still drains through the throttle; it counts in the volumes, not as the shot's.)
    void add_shut_row() {
        set_piece(t_ + 1.0);
        method_.linearise(piece_, t_, y_);
        record(true);
    }

    // A pause, noted with its first and last row.
    template <class Pause>
    void rest(int number, Pause&& pause) {
        mark_next_row_ = true;
        const Index begin = last_row() + 1;
        pause();
        if (going()) {
            trace.rests.push_back({number, begin, last_row()});
        }
    }

    void dwell(double duration) {
        for (int a = 0; a < axes(); ++a) {
            AxisLaw& law = law_[index(a)];
            if (law.kind == DriveKind::speed) {
                release_shaft(a);  // the screw holds it, with its stiffness
                continue;
            }
            switch (drive(a).between_shots) {
                case BetweenShots::hold:
                    law.force = {.target = drive(a).force,
                                 .start = law.force.value(t_),
                                 .since = t_,
                                 .rise = drive(a).rise_time};
                    law.supply = std::min(law.supply, t_);
                    release_shaft(a);
                    break;
                case BetweenShots::vent_drive:
                    law.force = {.target = 0.0,
                                 .start = law.force.value(t_),
                                 .since = t_,
                                 .rise = drive(a).rise_time};
                    law.supply = never;
                    release_shaft(a);
                    break;
                case BetweenShots::lock:
                case BetweenShots::vent:
                    hold_shaft(a);
                    break;
            }
        }
        go(t_ + duration);
    }

    // Streams whose drive asks for it to 0 bar gauge, x unchanged: liquid goes to the tanks or
    // comes from them.
    void vent() {
        for (int s = 0; s < 2; ++s) {
            const int axis = network_.axis_of(s);
            if (drive(axis).between_shots != BetweenShots::vent) {
                continue;
            }
            const double before = held_mass(s);
            fill_line(s, [](Index) { return 0.0; });
            drained_[index(s)] += (before - held_mass(s)) / network_.chain(s).rho_ref();
            set_force(axis, 0.0);
            law_[index(axis)].supply = never;
            mark_next_row_ = true;
        }
    }

    void preload(const Step& step) {
        drives_on();
        if (step.kind == StepKind::preload_time) {
            go(t_ + step.amount);
        } else {
            preload_to(step.amount);
        }
        for (int a = 0; a < axes(); ++a) {
            screw_stops(a);
        }
    }

    void preload_to(double pressure) {
        const auto target = [this, pressure](double t, const VectorXd& y) {
            piece_.rhs(t, y, scratch());
            return network_.pressure(0, 0) - pressure;
        };
        if (target(t_, y_) >= 0.0) {
            return;
        }
        const Ended ended = advance(t_ + longest_wait, target);
        if (ended == Ended::stroke) {
            stop_at_stroke_end();
        }
        if (going() && ended != Ended::target) {
            std::ostringstream text;
            text.precision(3);
            text << "the drive does not preload the resin cylinder to " << pressure / 1e5
                 << " bar; it stays at " << network_.pressure(0, 0) / 1e5 << " bar";
            trace.warnings.push_back(text.str());
        }
    }

    // Back to the start position at an even speed, both cylinders open to their tanks, shut-offs
    // shut; every shaft in the same time.
    void refill(double duration) {
        for (int a = 0; a < axes(); ++a) {
            hold_shaft(a);
            law_[index(a)].supply = never;
        }
        turn_feed_valves(1.0);
        for (int a = 0; a < axes(); ++a) {
            lead_shaft(a, (shaft(a).position - y_[network_.position(a)]) / duration);
        }
        mark_next_row_ = true;
        advance(t_ + duration);
        for (int a = 0; a < axes(); ++a) {
            hold_shaft(a);
        }
        turn_feed_valves(0.0);
        balance_drives();
    }

    void turn_feed_valves(double to) {
        double end = t_;
        for (int s = 0; s < 2; ++s) {
            const double turned = t_ + stream(s).feed->valve_time;
            feed_valve_[index(s)] = {1.0 - to, to, t_, turned};
            end = std::max(end, turned);
        }
        mark_next_row_ = true;
        advance(end);
    }

    // ---- periodic start ----

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

    // The shafts at their start positions with given pressures, forces, speeds and temperatures.
    void take_over(const VectorXd& values) {
        Index k = 0;
        for (int s = 0; s < 2; ++s) {
            k += network_.chain(s).nodes();
        }
        for (int a = 0; a < axes(); ++a) {
            const double before = y_[network_.position(a)];
            y_[network_.position(a)] = shaft(a).position;
            for (int s = 0; s < 2; ++s) {  // a piston that stands goes with its shaft here
                if (network_.axis_of(s) == a && !piston_[index(s)].engaged) {
                    piston_[index(s)].value += shaft(a).position - before;
                }
            }
            const double force = values[k++] * areas();
            set_force(a, drive(a).kind == DriveKind::force ? std::max(force, 0.0) : force);
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
        k = 0;
        for (int s = 0; s < 2; ++s) {
            const Index from = k;
            fill_line(s, [&](Index i) { return std::max(values[from + i], starvation_pressure); });
            k += network_.chain(s).nodes();
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
        take_over(handed_on());
        for (int s = 0; s < 2; ++s) {
            law_[index(s)].force = force[index(s)];
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
        const double scale = closed_pressure();
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
                if (starves(next)) {
                    return;
                }
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
