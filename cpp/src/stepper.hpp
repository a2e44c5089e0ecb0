#pragma once
#include <Eigen/Core>
#include <array>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "evenfront/blend.hpp"
#include "evenfront/integrator.hpp"
#include "evenfront/network.hpp"
#include "evenfront/transient.hpp"
#include "piece.hpp"
#include "recorder.hpp"

namespace evenfront::detail {

/// Something that ends a step early: g rises through zero.
enum class EventKind {
    stroke_end,
    back_stop,
    target,
    reversal,
    break_forward,
    break_backward,
    force_limit,    ///< a screw comes to its limit
    screw_follows,  ///< and its shaft goes as fast as told again
    engage,         ///< a shaft has taken up the lash of a piston
    passage_full,
    mixer_front,  ///< of an empty mixer, at the end of mixer or tip
};
struct EventId {
    EventKind kind;
    int index = 0;  ///< of the shaft or stream
    bool operator==(const EventId&) const = default;
};
struct Event {
    EventId id;
    std::function<double(double, const Eigen::VectorXd&)> g;
};

/// Slips one way, sticks, is held, is led at a given speed, or rests on its back stop.
enum class ShaftMode { forward, backward, stuck, held, led, at_stop };

/// A piston that goes with its shaft, or stands while the shaft crosses the lash.
struct Piston {
    bool engaged = true;
    double value = 0.0;  ///< travel of the shaft less its own; idle: where it stands [m]
};

/// Steps in time as they were chosen, to be taken again from nearly the same state.
class Plan {
public:
    struct Step {
        double h;   ///< as tried, before an event shortened it [s]
        bool last;  ///< it went to the end of its piece
        std::optional<EventId> event;
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

    enum class Ended { time, target, stroke };
    /// Runs to `until`, to the root of `target`, or to the end of a stroke.
    Ended advance(double until,
                  const std::function<double(double, const Eigen::VectorXd&)>& target = nullptr);

    void hold_shaft(int axis);
    void release_shaft(int axis);
    /// Leads a shaft at a speed [m/s]; backwards the pistons follow once their lash is taken up.
    void lead_shaft(int axis, double speed);

    [[nodiscard]] bool going() const;
    void stop(Status status, std::string message);
    void stop_at_stroke_end();

    /// Controls from now to `end`, smooth in between.
    void set_piece(double end);
    /// The mixer's resistance from here on.
    void see_mixer();
    /// The state is looked at as it is, for what refers to pressures.
    void look();
    /// A row of the trace; one that repeats the last, nothing having jumped, is left out unless
    /// something refers to it.
    void record(bool always, bool after_step = false);
    [[nodiscard]] Eigen::Index last_row() const { return recorder_.rows() - 1; }

    [[nodiscard]] int axes() const { return network_.axes(); }
    [[nodiscard]] const Shaft& shaft(int axis) const;
    [[nodiscard]] const Drive& drive(int axis) const;
    [[nodiscard]] double held_mass(int s) const;
    [[nodiscard]] const Stream& stream(int s) const;
    [[nodiscard]] Eigen::VectorXd& scratch();
    [[nodiscard]] double pressure_load(int axis) const;  ///< sum of A p at the last look [N]
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
    std::array<AxisLaw, 2> law_{};
    std::array<Valve, 2> valve_{};       ///< shut-offs
    std::array<Valve, 2> feed_valve_{};  ///< between tank and cylinder
    std::array<ShaftMode, 2> shaft_{ShaftMode::held, ShaftMode::held};
    std::array<Piston, 2> piston_{};
    std::array<bool, 2> joined_{true, true};
    MixerContent content_;
    int spent_ = 0;                    ///< the shaft whose stroke was used up last
    std::array<double, 2> drained_{};  ///< liquid volume given to the tanks by hand [m^3]
    bool mark_next_row_ = true;        ///< something refers to the next row
    Recorder recorder_;

private:
    [[nodiscard]] double net_force(int axis, double t, const Eigen::VectorXd& y);
    void add_shaft_events(int axis, std::vector<Event>& events);
    void add_screw_events(int axis, std::vector<Event>& events);
    [[nodiscard]] std::vector<Event> events_now();
    void happen(const EventId& event);
    [[nodiscard]] double next_breakpoint(double until) const;
    [[nodiscard]] double longest_step() const;
    void start_step(double end);
    std::optional<EventId> run_piece(double end, const std::vector<Event>& events);
    void try_step(double h);
    void settle(double h, const Eigen::VectorXd& before);
    [[nodiscard]] bool rests(int s) const;
    void see_rest(int s);
    std::optional<EventId> locate(const std::vector<Event>& events, double& h);
    void fail_to_converge(int rejections);

    Eigen::VectorXd next_, error_, scratch_;
    double residual_ = 0.0;
};

}  // namespace evenfront::detail
