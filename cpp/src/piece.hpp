#pragma once
#include <Eigen/Core>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "evenfront/network.hpp"

/// What the control does over time, cut into pieces over which it is smooth.
namespace evenfront::detail {

inline constexpr double never = std::numeric_limits<double>::infinity();

/// F(t) = target + (start - target) exp(-(t - since)/rise); rise 0: target at once.
struct ForceLaw {
    double target = 0.0;
    double start = 0.0;
    double since = 0.0;
    double rise = 0.0;

    [[nodiscard]] double value(double t) const {
        if (t < since) {
            return start;
        }
        return rise > 0.0 ? target + (start - target) * std::exp(-(t - since) / rise) : target;
    }
    [[nodiscard]] double rate(double t, double value_there) const {
        return rise > 0.0 && t >= since ? (target - value_there) / rise : 0.0;
    }
};

/// Where a screw's far end is told to be: at rest until `since`, then its speed goes evenly from
/// v0 to v1 until `end`, and on at v1.
struct MotionLaw {
    double place = 0.0;  ///< at `since` [m]
    double v0 = 0.0;
    double v1 = 0.0;
    double since = 0.0;
    double end = 0.0;

    [[nodiscard]] double speed(double t) const {
        if (t < since) {
            return v0;
        }
        return t < end ? v0 + (v1 - v0) * (t - since) / (end - since) : v1;
    }
    [[nodiscard]] double value(double t) const {
        const double ramp = std::clamp(t, since, end) - since;
        return place + 0.5 * (v0 + speed(since + ramp)) * ramp + v0 * std::min(t - since, 0.0) +
               v1 * std::max(t - end, 0.0);
    }
};

/// What moves one shaft.
struct AxisLaw {
    DriveKind kind = DriveKind::force;
    ForceLaw force;
    MotionLaw motion;
    double stiffness = 0.0;
    double limit = 0.0;     ///< of the force of a screw [N]
    int at_limit = 0;       ///< 1: pushes, -1: pulls with its limit
    double supply = never;  ///< the regulator's air comes in from then on [s]
    bool free = true;
    double friction = 0.0;

    [[nodiscard]] AxisControls controls(double t, double middle) const {
        AxisControls c{.free = free, .friction = friction, .supplied = middle >= supply};
        if (kind == DriveKind::force) {
            c.force = force.value(t);
            c.force_rate = force.rate(t, c.force);
        } else if (kind == DriveKind::speed && at_limit != 0) {
            c.force = at_limit * limit;
        } else if (kind == DriveKind::speed) {
            c.force = stiffness * motion.value(t);
            c.force_rate = stiffness * motion.speed(t);
            c.stiffness = stiffness;
        }
        return c;
    }
};

/// Opening fraction of a shut-off: `from` until begin, linear to `to` at end.
struct Valve {
    double from = 0.0;
    double to = 0.0;
    double begin = 0.0;
    double end = 0.0;

    [[nodiscard]] double value(double t) const {
        if (t >= end) {
            return to;
        }
        return t <= begin ? from : from + (to - from) * (t - begin) / (end - begin);
    }
};

/// Between two breakpoints everything the control does is smooth; this is the system of one piece.
struct Piece {
    explicit Piece(Network& of) : network(of) {}

    Network& network;
    std::array<AxisLaw, 2> axis;
    /// What the piece does all along, but for what moves: openings as at `since`.
    Controls steady{};
    double since = 0.0;
    double middle = 0.0;
    double settled = 0.0;  ///< when R_m and temperatures were as given

    /// To be called once `steady` is set.
    void begin() { now_ = steady; }

    /// What the control does at t; only what moves within the piece is looked at again.
    const Controls& controls(double t) {
        for (std::size_t a = 0; a < static_cast<std::size_t>(network.axes()); ++a) {
            now_.axis[a] = axis[a].controls(t, middle);
        }
        for (std::size_t s = 0; s < 2; ++s) {
            now_.fraction[s] = steady.fraction[s] + steady.fraction_rate[s] * (t - since);
            now_.feed[s] = steady.feed[s] + steady.feed_rate[s] * (t - since);
        }
        now_.elapsed = t - settled;
        now_.mixer_resistance = steady.mixer_resistance + steady.mixer_rate * now_.elapsed;
        now_.mixer_rate = steady.mixer_rate;
        now_.mixer_by_volume = steady.mixer_by_volume;
        now_.entered = steady.entered;
        return now_;
    }
    void linearise(double t, const Eigen::VectorXd& y, Eigen::VectorXd& f, Eigen::VectorXd& g) {
        network.linearise(controls(t), y, f, g);
    }
    void rhs(double t, const Eigen::VectorXd& y, Eigen::VectorXd& f) {
        network.rhs(controls(t), y, f);
    }
    void factor(double shift) const { network.factor(shift); }
    void solve(Eigen::VectorXd& b) const { network.solve(b); }

private:
    Controls now_{};
};

}  // namespace evenfront::detail
