#include "steps.hpp"

#include <algorithm>
#include <cmath>
#include <sstream>

#include "evenfront/air.hpp"
#include "evenfront/constants.hpp"
#include "evenfront/steady.hpp"

namespace evenfront::detail {

using Eigen::Index;
using Eigen::VectorXd;

namespace {

constexpr double longest_wait = 3600.0;  // for a volume or pressure that is never reached [s]

}  // namespace

void Steps::fill_line(int s, const std::function<double(Index)>& pressure) {
    const Chain& chain = network_.chain(s);
    const Piston& piston = piston_[index(s)];
    const double x =
        piston.engaged ? y_[network_.position(network_.axis_of(s))] - piston.value : piston.value;
    auto block = y_.segment(network_.first(s), chain.rows());
    block.setZero();
    for (Index i = 0; i < chain.nodes(); ++i) {
        block[chain.row(i)] = chain.mass(i, pressure(i), x);
    }
}

void Steps::perform_all(const Sequence& sequence) {
    for (std::size_t i = 0; i < sequence.steps.size() && going(); ++i) {
        perform(sequence.steps[i], static_cast<int>(i));
    }
}

void Steps::perform(const Step& step, int number) {
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
void Steps::drives_on() {
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
void Steps::tell(AxisLaw& law, double speed, double begin, double ramp) {
    MotionLaw& motion = law.motion;
    const double now = motion.speed(t_);
    const double place = motion.value(t_) + now * (begin - t_);
    motion = {place, now, speed, begin, begin + ramp};
}

void Steps::screw_stops(int axis) {
    AxisLaw& law = law_[index(axis)];
    tell(law, 0.0, t_, drive(axis).ramp_time);
}

void Steps::balance_drives() {
    look();
    for (int a = 0; a < axes(); ++a) {
        set_force(a, pressure_load(a));
    }
}

void Steps::set_force(int axis, double force) {
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

void Steps::set_air(int axis, double driving, double exhausting) {
    const AirCylinder& air = *network_.air_cylinder(axis);
    const double x = y_[network_.position(axis)];
    const Index energy = network_.air(axis);
    y_[energy] = driving * (air.dead_volume + driving_area(air) * x);
    y_[energy + 1] =
        exhausting * (air.dead_volume + exhausting_area(air) * (shaft(axis).stroke - x));
}

// ---- steps ----

void Steps::open_shutoffs() {
    for (int s = 0; s < 2; ++s) {
        const Shutoff& shutoff = stream(s).shutoff;
        const double begin = t_ + shutoff.delay;
        valve_[index(s)] = {0.0, 1.0, begin, begin + shutoff.open_time};
    }
    mark_next_row_ = true;
}

// What a shot is told by: what has to grow by its amount, if not time.
double Steps::told_by(StepKind kind, const VectorXd& y) const {
    return kind == StepKind::dispense_travel ? y[network_.position()]
                                             : y[network_.volume(0)] + y[network_.volume(1)];
}

void Steps::dispense(const Step& step, int number) {
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
            text << "the shot of step " << number + 1 << " is not complete after " << longest_wait
                 << " s";
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

void Steps::note(const Step& step, int number, Index open_row, Index close_row) {
    auto& spans = step.kind == StepKind::purge ? trace.purges : trace.shots;
    spans.push_back({number, open_row, close_row, last_row()});
}

// Shut-offs close after the step, in their own time, against a frozen force; screws stop.
void Steps::close() {
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
void Steps::go(double until) {
    if (advance(until) == Ended::stroke) {
        stop_at_stroke_end();
    }
}

// The row that ends the shot, both shut-offs shut. (Liquid between a shut-off and a throttle
// behind it still drains through the throttle; it counts in the volumes, not as the shot's.)
void Steps::add_shut_row() {
    set_piece(t_ + 1.0);
    method_.linearise(piece_, t_, y_);
    record(true);
}

// A pause, noted with its first and last row.
void Steps::rest(int number, const std::function<void()>& pause) {
    mark_next_row_ = true;
    const Index begin = last_row() + 1;
    pause();
    if (going()) {
        trace.rests.push_back({number, begin, last_row()});
    }
}

void Steps::dwell(double duration) {
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
void Steps::vent() {
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

void Steps::preload(const Step& step) {
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

void Steps::preload_to(double pressure) {
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
void Steps::refill(double duration) {
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

void Steps::turn_feed_valves(double to) {
    double end = t_;
    for (int s = 0; s < 2; ++s) {
        const double turned = t_ + stream(s).feed->valve_time;
        feed_valve_[index(s)] = {1.0 - to, to, t_, turned};
        end = std::max(end, turned);
    }
    mark_next_row_ = true;
    advance(end);
}

}  // namespace evenfront::detail
