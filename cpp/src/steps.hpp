#pragma once
#include <functional>

#include "stepper.hpp"

namespace evenfront::detail {

/// The steps of a sequence, one after the other, on a machine in time.
class Steps : protected Stepper {
public:
    using Stepper::trace;

protected:
    using Stepper::Stepper;

    void perform_all(const Sequence& sequence);

    /// Masses of a stream at pressures given by node, nothing flowing in the line.
    void fill_line(int s, const std::function<double(Eigen::Index)>& pressure);
    /// The drives take over with the shafts as they are: they start in balance with the cylinders.
    void balance_drives();
    /// A drive whose force is as given at the shaft's place, nothing told to it.
    void set_force(int axis, double force);
    /// Absolute pressures on both sides of an air cylinder, at the shaft's place.
    void set_air(int axis, double driving, double exhausting);

private:
    void perform(const Step& step, int number);

    void drives_on();
    void tell(AxisLaw& law, double speed, double begin, double ramp);
    void screw_stops(int axis);

    void dispense(const Step& step, int number);
    void open_shutoffs();
    [[nodiscard]] double told_by(StepKind kind, const Eigen::VectorXd& y) const;
    void note(const Step& step, int number, Eigen::Index open_row, Eigen::Index close_row);
    void close();
    void go(double until);
    void add_shut_row();
    void rest(int number, const std::function<void()>& pause);
    void dwell(double duration);
    void vent();
    void preload(const Step& step);
    void preload_to(double pressure);
    void refill(double duration);
    void turn_feed_valves(double to);
};

}  // namespace evenfront::detail
