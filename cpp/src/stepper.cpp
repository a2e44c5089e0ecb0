#include "stepper.hpp"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <sstream>
#include <utility>

#include "evenfront/constants.hpp"
#include "evenfront/steady.hpp"

namespace evenfront::detail {

using Eigen::Index;
using Eigen::VectorXd;

Stepper::Stepper(const Machine& machine, const Numerics& numerics, const Steady& steady)
    : machine_(machine),
      numerics_(numerics),
      network_(machine, numerics.inertia),
      piece_(network_),
      method_(network_.size()),
      y_(VectorXd::Zero(network_.size())),
      content_(machine, steady),
      recorder_(machine),
      next_(y_.size()),
      error_(y_.size()),
      scratch_(y_.size()) {
    trace.steady = steady;
    for (int a = 0; a < axes(); ++a) {
        law_[index(a)].kind = drive(a).kind;
        law_[index(a)].stiffness = drive(a).stiffness;
        law_[index(a)].limit = drive(a).force;
    }
    for (int s = 0; s < 2; ++s) {
        joined_[index(s)] = stream(s).shutoff.passage_full || stream(s).shutoff.passage == 0.0;
    }
    see_mixer();
}

bool Stepper::going() const {
    return trace.status == Status::ok || trace.status == Status::nothing_flows;
}

void Stepper::stop(Status status, std::string message) {
    trace.status = status;
    trace.message = std::move(message);
}

void Stepper::stop_at_stroke_end() {
    std::ostringstream text;
    text.precision(4);
    text << "the stroke of " << shaft(spent_).stroke * 1e3 << " mm is used up at " << t_ << " s";
    stop(Status::stroke_exhausted, text.str());
}

const Shaft& Stepper::shaft(int axis) const {
    return axis == 0 ? machine_.shaft : machine_.hardener_axis->shaft;
}

const Drive& Stepper::drive(int axis) const {
    return axis == 0 ? machine_.drive : machine_.hardener_axis->drive;
}

double Stepper::held_mass(int s) const {
    return network_.chain(s).held_mass(y_.data() + network_.first(s));
}

const Stream& Stepper::stream(int s) const {
    return s == 0 ? machine_.resin : machine_.hardener;
}

VectorXd& Stepper::scratch() {
    return scratch_;
}

void Stepper::look() {
    set_piece(t_ + 1.0);
    piece_.rhs(t_, y_, scratch());
}

double Stepper::pressure_load(int axis) const {
    double load = 0.0;
    for (int s = 0; s < 2; ++s) {
        const Piston& piston = piston_[index(s)];
        if (network_.axis_of(s) == axis && piston.engaged && piston.value >= 0.0) {
            load += network_.chain(s).piston_area() * network_.pressure(s, 0);
        }
    }
    return load;
}

void Stepper::hold_shaft(int axis) {
    shaft_[index(axis)] = ShaftMode::held;
    y_[network_.speed(axis)] = 0.0;
}

void Stepper::lead_shaft(int axis, double speed) {
    shaft_[index(axis)] = ShaftMode::led;
    y_[network_.speed(axis)] = speed;
    for (int s = 0; s < 2; ++s) {
        Piston& piston = piston_[index(s)];
        if (network_.axis_of(s) == axis && stream(s).cylinder.lash > 0.0 && piston.engaged) {
            piston = {false, y_[network_.position(axis)] - piston.value};
        }
    }
}

void Stepper::release_shaft(int axis) {
    ShaftMode& mode = shaft_[index(axis)];
    for (int s = 0; s < 2; ++s) {  // what was pulled back is pushed only past the lash
        Piston& piston = piston_[index(s)];
        if (network_.axis_of(s) == axis && piston.engaged && piston.value < 0.0) {
            piston = {false, y_[network_.position(axis)] - piston.value};
        }
    }
    const double friction = std::max(shaft(axis).friction, shaft(axis).breakaway);
    if (friction == 0.0) {
        mode = ShaftMode::forward;
        return;
    }
    constexpr double creep = 1e-8;  // as good as at rest [m/s]: what is left of coming to it
    if (const double v = y_[network_.speed(axis)]; std::abs(v) > creep) {
        mode = v > 0.0 ? ShaftMode::forward : ShaftMode::backward;
        return;
    }
    y_[network_.speed(axis)] = 0.0;
    look();
    const double net = network_.net_force(axis);
    mode = std::abs(net) <= friction ? ShaftMode::stuck
                                     : (net > 0.0 ? ShaftMode::forward : ShaftMode::backward);
}

double Stepper::net_force(int axis, double t, const VectorXd& y) {
    piece_.rhs(t, y, scratch());
    return network_.net_force(axis);
}

void Stepper::add_shaft_events(int axis, std::vector<Event>& events) {
    const ShaftMode mode = shaft_[index(axis)];
    const Index x = network_.position(axis);
    const Index v = network_.speed(axis);
    const double stroke = shaft(axis).stroke;
    const double friction = std::max(shaft(axis).friction, shaft(axis).breakaway);
    const auto add = [&](EventKind kind, auto&& g) { events.push_back({{kind, axis}, g}); };
    const bool slips = mode == ShaftMode::forward || mode == ShaftMode::backward;
    if (slips) {
        add(EventKind::stroke_end, [=](double, const VectorXd& y) { return y[x] - stroke; });
        add(EventKind::back_stop, [=](double, const VectorXd& y) { return -y[x]; });
    }
    if (slips && friction > 0.0) {
        const double sign = mode == ShaftMode::forward ? -1.0 : 1.0;
        add(EventKind::reversal, [=](double, const VectorXd& y) { return sign * y[v]; });
    }
    if (mode == ShaftMode::stuck || mode == ShaftMode::at_stop) {
        add(EventKind::break_forward, [this, axis, friction](double t, const VectorXd& y) {
            return net_force(axis, t, y) - friction;
        });
    }
    if (mode == ShaftMode::stuck) {
        add(EventKind::break_backward, [this, axis, friction](double t, const VectorXd& y) {
            return -net_force(axis, t, y) - friction;
        });
    }
}

void Stepper::add_screw_events(int axis, std::vector<Event>& events) {
    const AxisLaw& law = law_[index(axis)];
    const ShaftMode mode = shaft_[index(axis)];
    if (law.kind != DriveKind::speed || mode == ShaftMode::held || mode == ShaftMode::led) {
        return;
    }
    if (law.at_limit != 0) {
        const Index v = network_.speed(axis);
        events.push_back({{EventKind::screw_follows, axis}, [v, law](double t, const VectorXd& y) {
                              return law.at_limit * (y[v] - law.motion.speed(t));
                          }});
        return;
    }
    const Index x = network_.position(axis);
    for (const int side : {1, -1}) {
        events.push_back(
            {{EventKind::force_limit, axis}, [x, law, side](double t, const VectorXd& y) {
                 return side * law.stiffness * (law.motion.value(t) - y[x]) - law.limit;
             }});
    }
}

std::vector<Event> Stepper::events_now() {
    std::vector<Event> events;
    for (int a = 0; a < axes(); ++a) {
        add_shaft_events(a, events);
        add_screw_events(a, events);
    }
    for (int s = 0; s < 2; ++s) {
        const Piston piston = piston_[index(s)];
        const Index x = network_.position(network_.axis_of(s));
        if (!piston.engaged) {
            const double lash = stream(s).cylinder.lash;
            const bool back = shaft_[index(network_.axis_of(s))] == ShaftMode::led;
            events.push_back({{EventKind::engage, s}, [=](double, const VectorXd& y) {
                                  return back ? piston.value - lash - y[x] : y[x] - piston.value;
                              }});
        }
        if (!joined_[index(s)]) {
            const Index volume = network_.volume(s);
            const double passage = stream(s).shutoff.passage;
            events.push_back({{EventKind::passage_full, s},
                              [=](double, const VectorXd& y) { return y[volume] - passage; }});
        }
    }
    if (!content_.full()) {
        const Index entered = network_.entered();
        const double end = y_[entered] + content_.to_next_end();
        events.push_back({{EventKind::mixer_front, 0},
                          [=](double, const VectorXd& y) { return y[entered] - end; }});
    }
    return events;
}

// What an event changes; the ends of strokes and targets are for the caller.
void Stepper::happen(const EventId& event) {
    const std::size_t k = index(event.index);
    switch (event.kind) {
        case EventKind::back_stop:
            shaft_[k] = ShaftMode::at_stop;
            y_[network_.position(event.index)] = 0.0;
            y_[network_.speed(event.index)] = 0.0;
            break;
        case EventKind::reversal:
            y_[network_.speed(event.index)] = 0.0;
            release_shaft(event.index);
            break;
        case EventKind::break_forward:
            shaft_[k] = ShaftMode::forward;
            break;
        case EventKind::break_backward:
            shaft_[k] = ShaftMode::backward;
            break;
        case EventKind::force_limit: {
            const double lead = law_[k].motion.value(t_) - y_[network_.position(event.index)];
            law_[k].at_limit = lead > 0.0 ? 1 : -1;
            break;
        }
        case EventKind::screw_follows: {
            MotionLaw& motion = law_[k].motion;
            const double place = y_[network_.position(event.index)] +
                                 law_[k].at_limit * law_[k].limit / law_[k].stiffness;
            motion = {place, motion.speed(t_), motion.v1, t_, std::max(motion.end, t_)};
            law_[k].at_limit = 0;
            break;
        }
        case EventKind::engage:
            piston_[k] = {true,
                          y_[network_.position(network_.axis_of(event.index))] - piston_[k].value};
            break;
        case EventKind::passage_full:
            joined_[k] = true;
            (event.index == 0 ? trace.resin : trace.hardener).arrival = t_;
            break;
        case EventKind::mixer_front:
        case EventKind::stroke_end:
        case EventKind::target:
            break;
    }
}

double Stepper::next_breakpoint(double until) const {
    double next = until;
    const auto meet = [&](double t) { next = t > t_ ? std::min(next, t) : next; };
    for (const auto& valves : {valve_, feed_valve_}) {
        for (const Valve& valve : valves) {
            meet(valve.begin);
            meet(valve.end);
        }
    }
    for (const AxisLaw& law : law_) {
        meet(law.force.since);
        meet(law.motion.since);
        meet(law.motion.end);
        meet(law.supply);
    }
    return next;
}

// Temperatures and the blend in the mixer are brought on between steps, so that a step is short
// against their change.
double Stepper::longest_step() const {
    double most = never;
    if (const double flow = std::abs(network_.flow(0)) + std::abs(network_.flow(1));
        content_.follows() && flow > 0.0) {
        most = 0.02 * content_.capacity() / flow;
    }
    for (int s = 0; s < 2; ++s) {
        if (network_.chain(s).idles()) {
            most = std::min(most, network_.chain(s).longest_even_time());
        }
    }
    return most;
}

void Stepper::set_piece(double end) {
    Controls& c = piece_.steady;
    piece_.since = t_;
    piece_.middle = 0.5 * (t_ + end);
    const auto opening = [&](const Valve& valve, double& fraction, double& rate) {
        const bool moving = piece_.middle > valve.begin && piece_.middle < valve.end;
        fraction = moving ? valve.value(t_) : valve.value(piece_.middle);
        rate = moving ? (valve.to - valve.from) / (valve.end - valve.begin) : 0.0;
    };
    for (int s = 0; s < 2; ++s) {
        const std::size_t k = index(s);
        const Shutoff& shutoff = stream(s).shutoff;
        opening(valve_[k], c.fraction[k], c.fraction_rate[k]);
        opening(feed_valve_[k], c.feed[k], c.feed_rate[k]);
        // A check valve lets nothing be drawn back.
        const double back = shutoff.check_valve ? 0.0 : shutoff.suck_back;
        c.pushed[k] = c.fraction_rate[k] * (c.fraction_rate[k] > 0.0 ? shutoff.stem_volume : back);
        c.joined[k] = joined_[k];
        c.engaged[k] = piston_[k].engaged;
        c.piston[k] = piston_[k].value;
    }
    for (int a = 0; a < axes(); ++a) {
        const ShaftMode mode = shaft_[index(a)];
        AxisLaw& law = law_[index(a)];
        law.free = mode == ShaftMode::forward || mode == ShaftMode::backward;
        law.friction = mode == ShaftMode::backward  ? -shaft(a).friction
                       : mode == ShaftMode::forward ? shaft(a).friction
                                                    : 0.0;
    }
    piece_.axis = law_;
    piece_.begin();
    for (int s = 0; s < 2; ++s) {
        if (network_.chain(s).idles()) {
            see_mixer();
            see_rest(s);
        }
    }
}

// The mixer's resistance from here on.
void Stepper::see_mixer() {
    const std::array<double, 2> flow{joined_[0] ? std::max(network_.flow(0), 0.0) : 0.0,
                                     joined_[1] ? std::max(network_.flow(1), 0.0) : 0.0};
    const MixerContent::Resistance r = content_.resistance(flow);
    piece_.settled = t_;
    piece_.steady.mixer_resistance = r.value;
    piece_.steady.mixer_rate = r.by_time;
    piece_.steady.mixer_by_volume = content_.changes() ? r.by_volume : 0.0;
    piece_.steady.entered = y_[network_.entered()];
}

// What is brought on between steps: what stands in the mixer, and temperatures.
void Stepper::settle(double h, const VectorXd& before) {
    if (content_.changes()) {
        std::array<double, 2> entering{};
        for (int s = 0; s < 2; ++s) {
            if (joined_[index(s)]) {
                entering[index(s)] = y_[network_.volume(s)] - before[network_.volume(s)];
            }
        }
        content_.advance(h, entering);
        see_mixer();
    }
    for (int s = 0; s < 2; ++s) {
        Chain& chain = network_.chain(s);
        if (!chain.idles()) {
            continue;
        }
        const double* block = y_.data() + network_.first(s);
        const Index volume = network_.volume(s);
        if (rests(s)) {
            chain.rest(h);
        } else {
            chain.carry(h,
                        before.data() + network_.first(s),
                        block,
                        chain.rho_ref() * (y_[volume] - before[volume]));
        }
        see_rest(s);
    }
}

bool Stepper::rests(int s) const {
    return piece_.steady.fraction[index(s)] == 0.0 && piece_.steady.fraction_rate[index(s)] == 0.0;
}

// What shrinks at rest, from here on.
void Stepper::see_rest(int s) {
    Chain& chain = network_.chain(s);
    piece_.settled = t_;
    if (rests(s)) {
        chain.begin_rest(y_.data() + network_.first(s));
    } else {
        chain.end_rest();
    }
}

Stepper::Ended Stepper::advance(double until,
                                const std::function<double(double, const VectorXd&)>& target) {
    if (!(t_ < until)) {
        set_piece(t_ + 1.0);
        method_.linearise(piece_, t_, y_);
        record(mark_next_row_);
        mark_next_row_ = false;
    }
    while (t_ < until && going()) {
        const double end = next_breakpoint(until);
        set_piece(end);
        std::vector<Event> events = events_now();
        if (target) {
            events.push_back({{EventKind::target, 0}, target});
        }
        method_.linearise(piece_, t_, y_);
        record(mark_next_row_);
        mark_next_row_ = false;
        start_step(end);
        const std::optional<EventId> event = run_piece(end, events);
        if (!event) {
            continue;
        }
        if (event->kind == EventKind::target) {
            return Ended::target;
        }
        if (event->kind == EventKind::stroke_end) {
            spent_ = event->index;
            return Ended::stroke;
        }
        happen(*event);
    }
    return Ended::time;
}

// A first step that a jump of the controls does not waste: a fiftieth of the fastest time in
// which something now moving would change by its own scale.
void Stepper::start_step(double end) {
    const double rate = network_.error_norm(method_.slope(), y_);
    h_ = std::min(h_, rate > 0.0 ? 0.02 / rate : h_);
    h_ = std::clamp(h_, 1e-9, end - t_ > 1e-9 ? end - t_ : 1e-9);
}

std::optional<EventId> Stepper::run_piece(double end, const std::vector<Event>& events) {
    int rejected_in_a_row = 0;
    while (t_ < end) {
        if (trace.steps >= numerics_.max_steps || rejected_in_a_row > 60) {
            fail_to_converge(rejected_in_a_row);
            return std::nullopt;
        }
        const std::optional<Plan::Step> planned = plan_.step();
        h_ = std::min(h_, longest_step());
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
        const std::optional<EventId> event = locate(events, h);
        plan_.took({tried, last, event});
        t_ = !event && last ? end : t_ + h;
        std::swap(y_, next_);
        settle(h, next_);
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
std::optional<EventId> Stepper::locate(const std::vector<Event>& events, double& h) {
    std::optional<EventId> first;
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
        first = event.id;
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
    Recorder::Row row{.time = t_,
                      .mixer_pressure = network_.mixer_pressure(),
                      .mixer_resistance = network_.mixer_resistance(),
                      .entered = y_[network_.entered()]};
    for (int a = 0; a < axes(); ++a) {
        row.axis[index(a)] = {
            y_[network_.position(a)], y_[network_.speed(a)], network_.drive_force(a)};
        if (network_.air_cylinder(a)) {
            for (std::size_t k = 0; k < 2; ++k) {
                row.air[index(a)].pressure[k] = network_.air_pressure(a)[k] - standard_pressure;
            }
            for (Index k = 0; k < 5; ++k) {
                row.air[index(a)].total[static_cast<std::size_t>(k)] =
                    y_[network_.air_total(a, Network::AirTotal::supplied) + k];
            }
        }
    }
    for (int s = 0; s < 2; ++s) {
        const std::size_t k = index(s);
        const Piston& piston = piston_[k];
        row.volume[k] = y_[network_.volume(s)];
        row.flow[k] = network_.flow(s);
        row.leaked[k] = y_[network_.leaked(s)];
        row.drained[k] = drained_[k] - y_[network_.drawn(s)];
        row.piston[k] = piston.engaged ? y_[network_.position(network_.axis_of(s))] - piston.value
                                       : piston.value;
    }
    recorder_.record(network_, row, always || after_step);
}

}  // namespace evenfront::detail
