#include "stepper.hpp"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <sstream>
#include <utility>

#include "evenfront/mixer.hpp"
#include "evenfront/steady.hpp"

namespace evenfront::detail {

using Eigen::Index;
using Eigen::VectorXd;

namespace {

// Of the mixer, at the steady flow.
double resistance(const Machine& machine, const Steady& steady) {
    if (steady.flows) {
        return steady.mixer_resistance;
    }
    const double flow = 1e-6;  // any: nothing will pass
    return mixer_resistance(
        machine.mixer,
        blend_viscosity(machine.mixer,
                        machine.resin.rheology,
                        machine.hardener.rheology,
                        flow,
                        flow * area(machine.hardener.cylinder) / area(machine.resin.cylinder)));
}

}  // namespace

Stepper::Stepper(const Machine& machine, const Numerics& numerics, const Steady& steady)
    : machine_(machine),
      numerics_(numerics),
      network_(machine, resistance(machine, steady)),
      piece_(network_),
      method_(network_.size()),
      y_(VectorXd::Zero(network_.size())),
      recorder_(machine),
      next_(y_.size()),
      error_(y_.size()),
      scratch_(y_.size()) {
    trace.steady = steady;
}

bool Stepper::going() const {
    return trace.status == Status::ok || trace.status == Status::nothing_flows;
}

void Stepper::stop(Status status, std::string message) {
    trace.status = status;
    trace.message = std::move(message);
}

double Stepper::held_mass(int s) const {
    return y_.segment(network_.first_mass(s), network_.chain(s).nodes()).sum();
}

const Stream& Stepper::stream(int s) const {
    return s == 0 ? machine_.resin : machine_.hardener;
}

VectorXd& Stepper::scratch() {
    return scratch_;
}

void Stepper::hold_shaft() {
    shaft_ = ShaftMode::held;
    y_[Network::speed] = 0.0;
}

void Stepper::release_shaft() {
    const double friction = machine_.shaft.friction;
    if (friction == 0.0) {
        shaft_ = ShaftMode::forward;
        return;
    }
    if (y_[Network::speed] != 0.0) {
        shaft_ = y_[Network::speed] > 0.0 ? ShaftMode::forward : ShaftMode::backward;
        return;
    }
    piece_.shaft_free = true;
    piece_.force = force_;
    piece_.rhs(t_, y_, scratch());
    const double net = network_.net_force(piece_.controls(t_));
    shaft_ = std::abs(net) <= friction ? ShaftMode::stuck
                                       : (net > 0.0 ? ShaftMode::forward : ShaftMode::backward);
}

double Stepper::net_force(double t, const VectorXd& y) {
    piece_.rhs(t, y, scratch());
    return network_.net_force(piece_.controls(t));
}

std::vector<Event> Stepper::shaft_events() {
    std::vector<Event> events;
    const double friction = machine_.shaft.friction;
    const double stroke = machine_.shaft.stroke;
    const auto add = [&](EventKind kind, auto&& g) { events.push_back({kind, g}); };
    const bool slips = shaft_ == ShaftMode::forward || shaft_ == ShaftMode::backward;
    if (slips) {
        add(EventKind::stroke_end,
            [stroke](double, const VectorXd& y) { return y[Network::position] - stroke; });
        add(EventKind::back_stop, [](double, const VectorXd& y) { return -y[Network::position]; });
    }
    if (slips && friction > 0.0) {
        const double sign = shaft_ == ShaftMode::forward ? -1.0 : 1.0;
        add(EventKind::reversal,
            [sign](double, const VectorXd& y) { return sign * y[Network::speed]; });
    }
    if (shaft_ == ShaftMode::stuck || shaft_ == ShaftMode::at_stop) {
        add(EventKind::break_forward,
            [this, friction](double t, const VectorXd& y) { return net_force(t, y) - friction; });
    }
    if (shaft_ == ShaftMode::stuck) {
        add(EventKind::break_backward,
            [this, friction](double t, const VectorXd& y) { return -net_force(t, y) - friction; });
    }
    return events;
}

void Stepper::change_shaft(EventKind kind) {
    switch (kind) {
        case EventKind::back_stop:
            shaft_ = ShaftMode::at_stop;
            y_[Network::position] = 0.0;
            y_[Network::speed] = 0.0;
            break;
        case EventKind::reversal:
            y_[Network::speed] = 0.0;
            release_shaft();
            break;
        case EventKind::break_forward:
            shaft_ = ShaftMode::forward;
            break;
        case EventKind::break_backward:
            shaft_ = ShaftMode::backward;
            break;
        case EventKind::stroke_end:
        case EventKind::target:
            break;
    }
}

double Stepper::next_breakpoint(double until) const {
    double next = until;
    for (const auto& valves : {valve_, feed_valve_}) {
        for (const Valve& valve : valves) {
            for (const double t : {valve.begin, valve.end}) {
                if (t > t_) {
                    next = std::min(next, t);
                }
            }
        }
    }
    return next;
}

void Stepper::set_piece(double end) {
    piece_.force = force_;
    piece_.since = t_;
    const double middle = 0.5 * (t_ + end);
    const auto opening = [&](const Valve& valve, double& fraction, double& rate) {
        const bool moving = middle > valve.begin && middle < valve.end;
        fraction = moving ? valve.value(t_) : valve.value(middle);
        rate = moving ? (valve.to - valve.from) / (valve.end - valve.begin) : 0.0;
    };
    for (std::size_t s = 0; s < 2; ++s) {
        opening(valve_[s], piece_.fraction[s], piece_.rate[s]);
        opening(feed_valve_[s], piece_.feed[s], piece_.feed_rate[s]);
    }
    piece_.shaft_free = shaft_ == ShaftMode::forward || shaft_ == ShaftMode::backward;
    piece_.friction = shaft_ == ShaftMode::backward  ? -machine_.shaft.friction
                      : shaft_ == ShaftMode::forward ? machine_.shaft.friction
                                                     : 0.0;
}

// Runs to `until`, or to the root of `target`; true if the target ended it.
bool Stepper::advance(double until, const std::function<double(double, const VectorXd&)>& target) {
    if (!(t_ < until)) {
        set_piece(t_ + 1.0);
        method_.linearise(piece_, t_, y_);
        record(mark_next_row_);
        mark_next_row_ = false;
    }
    while (t_ < until && going()) {
        const double end = next_breakpoint(until);
        set_piece(end);
        std::vector<Event> events = shaft_events();
        if (target) {
            events.push_back({EventKind::target, target});
        }
        method_.linearise(piece_, t_, y_);
        record(mark_next_row_);
        mark_next_row_ = false;
        start_step(end);
        const std::optional<EventKind> event = run_piece(end, events);
        if (!event) {
            continue;
        }
        if (*event == EventKind::target) {
            return true;
        }
        if (*event == EventKind::stroke_end) {
            std::ostringstream text;
            text.precision(4);
            text << "the stroke of " << machine_.shaft.stroke * 1e3 << " mm is used up at " << t_
                 << " s";
            stop(Status::stroke_exhausted, text.str());
            return false;
        }
        change_shaft(*event);
    }
    return false;
}

// A first step that a jump of the controls does not waste: a fiftieth of the fastest time in
// which something now moving would change by its own scale.
void Stepper::start_step(double end) {
    const double rate = network_.error_norm(method_.slope(), y_);
    h_ = std::min(h_, rate > 0.0 ? 0.02 / rate : h_);
    h_ = std::clamp(h_, 1e-9, end - t_ > 1e-9 ? end - t_ : 1e-9);
}

std::optional<EventKind> Stepper::run_piece(double end, const std::vector<Event>& events) {
    int rejected_in_a_row = 0;
    while (t_ < end) {
        if (trace.steps >= numerics_.max_steps || rejected_in_a_row > 60) {
            fail_to_converge(rejected_in_a_row);
            return std::nullopt;
        }
        const std::optional<Plan::Step> planned = plan_.step();
        const bool last = planned ? planned->last : h_ >= (end - t_) * (1.0 - 1e-12);
        double h = last      ? end - t_
                   : planned ? std::min(planned->h, end - t_)
                             : std::min(h_, 0.5 * (end - t_));
        const double tried = h;
        try_step(h);
        const double error = network_.error_norm(error_, next_) / numerics_.rtol;
        const double factor =
            std::isfinite(error)
                ? std::clamp(0.9 * std::pow(std::max(error, 1e-10), -0.25), 0.2, 5.0)
                : 0.1;
        if (!(error <= (planned ? 2.0 : 1.0))) {
            plan_.drop();
            ++rejected_in_a_row;
            ++trace.rejected;
            residual_ = error;
            h_ = h * std::min(factor, 0.9);
            continue;
        }
        rejected_in_a_row = 0;
        const std::optional<EventKind> event = locate(events, h);
        plan_.took({tried, last, event});
        t_ = !event && last ? end : t_ + h;
        std::swap(y_, next_);
        ++trace.steps;
        // A step cut short by the piece's end says nothing against the longer one.
        h_ = event ? h_ : std::max(last ? h_ : 0.0, h * factor);
        method_.linearise(piece_, t_, y_);
        record(false, true);
        if (event) {
            return event;
        }
    }
    return std::nullopt;
}

void Stepper::try_step(double h) {
    method_.step(piece_, t_, y_, h, next_, error_);
    trace.evaluations += 6;
}

// The earliest event within the step just tried; h is shortened to it and the step retaken, so
// that the event is met to round-off by the method itself.
std::optional<EventKind> Stepper::locate(const std::vector<Event>& events, double& h) {
    std::optional<EventKind> first;
    const double whole = h;
    for (const Event& event : events) {
        const auto g = [&](double step) {
            try_step(step);
            return event.g(t_ + step, next_);
        };
        if (!(event.g(t_ + h, next_) > 0.0)) {
            continue;
        }
        // g may start at zero (a shaft that has just broken away): look for where it is below.
        double low = 0.0;
        double g_low = event.g(t_, y_);
        for (double trial = h; !(g_low < 0.0) && trial > 1e-12;) {
            trial *= 0.25;
            low = trial;
            g_low = g(trial);
        }
        if (g_low < 0.0) {
            std::uintmax_t turns = 60;
            const double g_high = g(h);
            const auto close = [&](double a, double b) { return b - a <= 1e-14 * whole; };
            if (g_high > 0.0) {
                h = boost::math::tools::toms748_solve(g, low, h, g_low, g_high, close, turns)
                        .second;
            }
        } else {
            h = low;
        }
        first = event.kind;
        try_step(h);
    }
    return first;
}

void Stepper::fail_to_converge(int rejections) {
    std::ostringstream text;
    text << "the step at " << t_ << " s does not converge: " << trace.steps << " steps, "
         << rejections << " rejected in a row, error " << residual_ << " of the tolerance";
    stop(Status::not_converged, text.str());
}

// A row of the trace; one that repeats the last, nothing having jumped, is left out unless
// something refers to it.
void Stepper::record(bool always, bool after_step) {
    std::array<double, 2> given = drained_;
    for (int s = 0; s < 2; ++s) {
        given[index(s)] -= y_[network_.drawn(s)];
    }
    recorder_.record(network_, y_, t_, piece_.force.value(t_), given, always || after_step);
}

}  // namespace evenfront::detail
