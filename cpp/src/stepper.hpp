#pragma once
#include <Eigen/Dense>
#include <array>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "evenfront/integrator.hpp"
#include "evenfront/network.hpp"
#include "evenfront/transient.hpp"
#include "piece.hpp"
#include "recorder.hpp"

namespace evenfront::detail {

/// Something that ends a step early: g rises through zero.
enum class EventKind { stroke_end, back_stop, target, reversal, break_forward, break_backward };
struct Event {
    EventKind kind;
    std::function<double(double, const Eigen::VectorXd&)> g;
};

/// Slips one way, sticks, is held, is led at a given speed, or rests on its back stop.
enum class ShaftMode { forward, backward, stuck, held, led, at_stop };

/// Steps in time as they were chosen, to be taken again from nearly the same state.
class Plan {
public:
    struct Step {
        double h;   ///< as tried, before an event shortened it [s]
        bool last;  ///< it went to the end of its piece
        std::optional<EventKind> event;
    };

    /// From the first step on: taking those of the plan, or choosing anew.
    void begin(bool follow) {
        next_ = 0;
        if (!follow) {
            steps_.clear();
        }
    }
    /// The next step to take; none where they are to be chosen.
    [[nodiscard]] std::optional<Step> step() const {
        return next_ < steps_.size() ? std::optional(steps_[next_]) : std::nullopt;
    }
    /// Notes a step taken; one that went otherwise than planned ends the plan.
    void took(const Step& step) {
        if (next_ < steps_.size() && steps_[next_].event != step.event) {
            drop();
        }
        if (next_ == steps_.size()) {
            steps_.push_back(step);
        }
        ++next_;
    }
    void drop() { steps_.resize(next_); }

private:
    std::vector<Step> steps_;
    std::size_t next_ = 0;
};

/// A machine in time: its state, what the control does to it now, and the way forward to the next
/// breakpoint or event, every accepted step recorded. What is done when is for the class on top.
class Stepper {
public:
    Trace trace;

protected:
    Stepper(const Machine& machine, const Numerics& numerics, const Steady& steady);

    /// Runs to `until`, or to the root of `target`; true if the target ended it.
    bool advance(double until,
                 const std::function<double(double, const Eigen::VectorXd&)>& target = nullptr);

    void hold_shaft();
    void release_shaft();

    [[nodiscard]] bool going() const;
    void stop(Status status, std::string message);

    /// Controls from now to `end`, smooth in between.
    void set_piece(double end);
    /// A row of the trace; one that repeats the last, nothing having jumped, is left out unless
    /// something refers to it.
    void record(bool always, bool after_step = false);
    [[nodiscard]] Eigen::Index last_row() const { return recorder_.rows() - 1; }

    [[nodiscard]] double held_mass(int s) const;
    [[nodiscard]] const Stream& stream(int s) const;
    [[nodiscard]] Eigen::VectorXd& scratch();
    static std::size_t index(int s) { return static_cast<std::size_t>(s); }

    const Machine& machine_;
    Numerics numerics_;
    Network network_;
    Piece piece_;
    Rosenbrock<Piece> method_;
    Eigen::VectorXd y_;
    double t_ = 0.0;
    static constexpr double first_step = 1e-3;  ///< tried where nothing says better [s]
    double h_ = first_step;                     ///< to try next [s]
    Plan plan_;
    ForceLaw force_;
    std::array<Valve, 2> valve_{};       ///< shut-offs
    std::array<Valve, 2> feed_valve_{};  ///< between tank and cylinder
    ShaftMode shaft_ = ShaftMode::held;
    std::array<double, 2> drained_{};  ///< liquid volume given to the tanks by hand [m^3]
    bool mark_next_row_ = true;        ///< something refers to the next row
    Recorder recorder_;

private:
    [[nodiscard]] double net_force(double t, const Eigen::VectorXd& y);
    [[nodiscard]] std::vector<Event> shaft_events();
    void change_shaft(EventKind kind);
    [[nodiscard]] double next_breakpoint(double until) const;
    void start_step(double end);
    std::optional<EventKind> run_piece(double end, const std::vector<Event>& events);
    void try_step(double h);
    std::optional<EventKind> locate(const std::vector<Event>& events, double& h);
    void fail_to_converge(int rejections);

    Eigen::VectorXd next_, error_, scratch_;
    double residual_ = 0.0;
};

}  // namespace evenfront::detail
