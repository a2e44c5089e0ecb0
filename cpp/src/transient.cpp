#include "evenfront/transient.hpp"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <functional>
#include <limits>
#include <sstream>
#include <utility>

#include "evenfront/errors.hpp"
#include "evenfront/integrator.hpp"
#include "evenfront/mixer.hpp"
#include "evenfront/network.hpp"
#include "evenfront/steady.hpp"
#include "piece.hpp"
#include "recorder.hpp"

namespace evenfront {

using Eigen::Index;
using Eigen::VectorXd;

namespace {

using namespace detail;

constexpr double longest_wait = 3600.0;  // for a volume or pressure that is never reached [s]

// Something that ends a step early: g rises through zero.
enum class EventKind { stroke_end, back_stop, target, reversal, break_forward, break_backward };
struct Event {
    EventKind kind;
    std::function<double(double, const VectorXd&)> g;
};

enum class Shaft { forward, backward, stuck, held, at_stop };

class Runner {
public:
    Runner(const Machine& machine,
           const Sequence& sequence,
           const Numerics& numerics,
           const Steady& steady)
        : machine_(machine),
          numerics_(numerics),
          network_(machine, resistance(machine, steady)),
          piece_(network_),
          method_(network_.size()),
          y_(VectorXd::Zero(network_.size())),
          next_(y_.size()),
          error_(y_.size()),
          recorder_(machine) {
        trace.steady = steady;
        begin(sequence.start);
        if (!steady.flows) {
            stop(Status::nothing_flows, steady.reason);
        }
        for (int turn = 0; turn < sequence.repeat && going(); ++turn) {
            for (std::size_t i = 0; i < sequence.steps.size() && going(); ++i) {
                perform(sequence.steps[i], static_cast<int>(i));
            }
        }
        finish();
    }

    Trace trace;

private:
    static double resistance(const Machine& machine, const Steady& steady) {
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

    [[nodiscard]] bool going() const {
        return trace.status == Status::ok || trace.status == Status::nothing_flows;
    }

    void stop(Status status, std::string message) {
        trace.status = status;
        trace.message = std::move(message);
    }

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

    [[nodiscard]] double held_mass(int s) const {
        return y_.segment(network_.first_mass(s), network_.chain(s).nodes()).sum();
    }

    static std::size_t index(int s) { return static_cast<std::size_t>(s); }

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
        open_row_ = last_row() + 1;
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
            trace.shots.push_back({number, open_row_, close_row, last_row()});
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

    // With both shut-offs shut nothing passes: the row that ends the shot says so.
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

    [[nodiscard]] const Stream& stream(int s) const {
        return s == 0 ? machine_.resin : machine_.hardener;
    }

    VectorXd& scratch() {
        scratch_.resize(y_.size());
        return scratch_;
    }

    // ---- shaft: slips one way, sticks, is held, or rests on its back stop ----

    void hold_shaft() {
        shaft_ = Shaft::held;
        y_[Network::speed] = 0.0;
    }

    void release_shaft() {
        const double friction = machine_.shaft.friction;
        if (friction == 0.0) {
            shaft_ = Shaft::forward;
            return;
        }
        if (y_[Network::speed] != 0.0) {
            shaft_ = y_[Network::speed] > 0.0 ? Shaft::forward : Shaft::backward;
            return;
        }
        piece_.shaft_free = true;
        piece_.force = force_;
        piece_.rhs(t_, y_, scratch());
        const double net = network_.net_force(piece_.controls(t_));
        shaft_ = std::abs(net) <= friction ? Shaft::stuck
                                           : (net > 0.0 ? Shaft::forward : Shaft::backward);
    }

    [[nodiscard]] double net_force(double t, const VectorXd& y) {
        piece_.rhs(t, y, scratch());
        return network_.net_force(piece_.controls(t));
    }

    [[nodiscard]] std::vector<Event> shaft_events() {
        std::vector<Event> events;
        const double friction = machine_.shaft.friction;
        const double stroke = machine_.shaft.stroke;
        const auto add = [&](EventKind kind, auto&& g) { events.push_back({kind, g}); };
        const bool slips = shaft_ == Shaft::forward || shaft_ == Shaft::backward;
        if (slips) {
            add(EventKind::stroke_end,
                [stroke](double, const VectorXd& y) { return y[Network::position] - stroke; });
            add(EventKind::back_stop,
                [](double, const VectorXd& y) { return -y[Network::position]; });
        }
        if (slips && friction > 0.0) {
            const double sign = shaft_ == Shaft::forward ? -1.0 : 1.0;
            add(EventKind::reversal,
                [sign](double, const VectorXd& y) { return sign * y[Network::speed]; });
        }
        if (shaft_ == Shaft::stuck || shaft_ == Shaft::at_stop) {
            add(EventKind::break_forward, [this, friction](double t, const VectorXd& y) {
                return net_force(t, y) - friction;
            });
        }
        if (shaft_ == Shaft::stuck) {
            add(EventKind::break_backward, [this, friction](double t, const VectorXd& y) {
                return -net_force(t, y) - friction;
            });
        }
        return events;
    }

    void change_shaft(EventKind kind) {
        switch (kind) {
            case EventKind::back_stop:
                shaft_ = Shaft::at_stop;
                y_[Network::position] = 0.0;
                y_[Network::speed] = 0.0;
                break;
            case EventKind::reversal:
                y_[Network::speed] = 0.0;
                release_shaft();
                break;
            case EventKind::break_forward:
                shaft_ = Shaft::forward;
                break;
            case EventKind::break_backward:
                shaft_ = Shaft::backward;
                break;
            case EventKind::stroke_end:
            case EventKind::target:
                break;
        }
    }

    // ---- time ----

    [[nodiscard]] double next_breakpoint(double until) const {
        double next = until;
        for (const Valve& valve : valve_) {
            for (const double t : {valve.begin, valve.end}) {
                if (t > t_) {
                    next = std::min(next, t);
                }
            }
        }
        return next;
    }

    void set_piece(double end) {
        piece_.force = force_;
        piece_.since = t_;
        const double middle = 0.5 * (t_ + end);
        for (std::size_t s = 0; s < 2; ++s) {
            const Valve& valve = valve_[s];
            const bool moving = middle > valve.begin && middle < valve.end;
            piece_.fraction[s] = moving ? valve.value(t_) : valve.value(middle);
            piece_.rate[s] = moving ? (valve.to - valve.from) / (valve.end - valve.begin) : 0.0;
        }
        piece_.shaft_free = shaft_ == Shaft::forward || shaft_ == Shaft::backward;
        piece_.friction = shaft_ == Shaft::backward  ? -machine_.shaft.friction
                          : shaft_ == Shaft::forward ? machine_.shaft.friction
                                                     : 0.0;
    }

    // Runs to `until`, or to the root of `target`; true if the target ended it.
    bool advance(double until, const std::function<double(double, const VectorXd&)>& target) {
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
                text << "the stroke of " << machine_.shaft.stroke * 1e3 << " mm is used up at "
                     << t_ << " s";
                stop(Status::stroke_exhausted, text.str());
                return false;
            }
            change_shaft(*event);
        }
        return false;
    }

    // A first step that a jump of the controls does not waste: a fiftieth of the fastest time in
    // which something now moving would change by its own scale.
    void start_step(double end) {
        const double rate = network_.error_norm(method_.slope(), y_);
        h_ = std::min(h_, rate > 0.0 ? 0.02 / rate : h_);
        h_ = std::clamp(h_, 1e-9, end - t_ > 1e-9 ? end - t_ : 1e-9);
    }

    std::optional<EventKind> run_piece(double end, const std::vector<Event>& events) {
        int rejected_in_a_row = 0;
        while (t_ < end) {
            if (trace.steps >= numerics_.max_steps || rejected_in_a_row > 60) {
                fail_to_converge(rejected_in_a_row);
                return std::nullopt;
            }
            const bool last = h_ >= (end - t_) * (1.0 - 1e-12);
            double h = last ? end - t_ : std::min(h_, 0.5 * (end - t_));
            try_step(h);
            const double error = network_.error_norm(error_, next_) / numerics_.rtol;
            const double factor =
                std::isfinite(error)
                    ? std::clamp(0.9 * std::pow(std::max(error, 1e-10), -0.25), 0.2, 5.0)
                    : 0.1;
            if (!(error <= 1.0)) {
                ++rejected_in_a_row;
                ++trace.rejected;
                residual_ = error;
                h_ = h * std::min(factor, 0.9);
                continue;
            }
            rejected_in_a_row = 0;
            const std::optional<EventKind> event = locate(events, h);
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

    void try_step(double h) {
        method_.step(piece_, t_, y_, h, next_, error_);
        trace.evaluations += 6;
    }

    // The earliest event within the step just tried; h is shortened to it and the step retaken, so
    // that the event is met to round-off by the method itself.
    std::optional<EventKind> locate(const std::vector<Event>& events, double& h) {
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

    void fail_to_converge(int rejections) {
        std::ostringstream text;
        text << "the step at " << t_ << " s does not converge: " << trace.steps << " steps, "
             << rejections << " rejected in a row, error " << residual_ << " of the tolerance";
        stop(Status::not_converged, text.str());
    }

    // A row of the trace; one that repeats the last, nothing having jumped, is left out unless
    // something refers to it.
    void record(bool always, bool after_step = false) {
        recorder_.record(network_, y_, t_, piece_.force.value(t_), drained_, always || after_step);
    }

    [[nodiscard]] Index last_row() const { return recorder_.rows() - 1; }

    void finish() {
        recorder_.fill(trace, network_);
        for (int s = 0; s < 2; ++s) {
            const std::size_t k = index(s);
            const double rho = network_.chain(s).rho_ref();
            const double out =
                rho * (y_[network_.volume(s)] + y_[network_.leaked(s)] + drained_[k]);
            const double lost = std::abs(mass_before_[k] - held_mass(s) - out);
            // Where nothing is dispensed the loss is held against a tenth of a millilitre.
            const double dispensed = rho * std::max(std::abs(y_[network_.volume(s)]), 1e-7);
            trace.mass_balance_error = std::max(trace.mass_balance_error, lost / dispensed);
        }
    }

    const Machine& machine_;
    Numerics numerics_;
    Network network_;
    Piece piece_;
    Rosenbrock<Piece> method_;
    VectorXd y_, next_, error_, scratch_;
    double t_ = 0.0;
    double h_ = 1e-3;
    double residual_ = 0.0;
    ForceLaw force_;
    std::array<Valve, 2> valve_{};
    Shaft shaft_ = Shaft::held;
    std::array<double, 2> drained_{};
    std::array<double, 2> mass_before_{};
    bool mark_next_row_ = true;
    Index open_row_ = 0;
    Recorder recorder_;
};

void validate(const Sequence& sequence, const Numerics& numerics) {
    require(sequence.repeat >= 1 && sequence.repeat <= 10000,
            "sequence",
            "repeat",
            sequence.repeat,
            "",
            "from 1 to 10000");
    require(!sequence.steps.empty(), "sequence", "steps", 0, "", "at least 1");
    for (const Step& step : sequence.steps) {
        require(step.amount > 0 && std::isfinite(step.amount),
                "sequence",
                "amount",
                step.amount,
                "",
                "> 0");
    }
    const Start& start = sequence.start;
    for (const double p :
         {start.resin_cylinder, start.resin_line, start.hardener_cylinder, start.hardener_line}) {
        require(p > starvation_pressure && std::isfinite(p),
                "sequence",
                "start pressure",
                p,
                "Pa",
                "> -0.9 bar");
    }
    require(numerics.rtol >= 1e-10 && numerics.rtol <= 1e-2,
            "numerics",
            "rtol",
            numerics.rtol,
            "",
            "from 1e-10 to 1e-2");
    require(numerics.max_steps >= 1, "numerics", "max_steps", numerics.max_steps, "", ">= 1");
}

}  // namespace

Trace simulate(const Machine& machine, const Sequence& sequence, const Numerics& numerics) {
    validate(machine);
    validate(sequence, numerics);
    return std::move(Runner(machine, sequence, numerics, steady_state(machine)).trace);
}

}  // namespace evenfront
