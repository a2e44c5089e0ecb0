#pragma once
#include <Eigen/Dense>
#include <array>
#include <cmath>

#include "evenfront/network.hpp"

/// What the control does over time, cut into pieces over which it is smooth.
namespace evenfront::detail {

/// F(t) = target + (start - target) exp(-(t - since)/rise); rise 0: target at once.
struct ForceLaw {
    double target = 0.0;
    double start = 0.0;
    double since = 0.0;
    double rise = 0.0;

    [[nodiscard]] double value(double t) const {
        return rise > 0.0 ? target + (start - target) * std::exp(-(t - since) / rise) : target;
    }
    [[nodiscard]] double rate(double t) const {
        return rise > 0.0 ? (target - value(t)) / rise : 0.0;
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
    ForceLaw force;
    std::array<double, 2> fraction{};  // at `since`
    std::array<double, 2> rate{};
    std::array<double, 2> feed{};  // opening of the valves to the tanks, at `since`
    std::array<double, 2> feed_rate{};
    double since = 0.0;
    bool shaft_free = true;
    double friction = 0.0;

    [[nodiscard]] Controls controls(double t) const {
        Controls c;
        c.force = force.value(t);
        c.force_rate = force.rate(t);
        for (std::size_t s = 0; s < 2; ++s) {
            c.fraction[s] = fraction[s] + rate[s] * (t - since);
            c.feed[s] = feed[s] + feed_rate[s] * (t - since);
        }
        c.fraction_rate = rate;
        c.feed_rate = feed_rate;
        c.shaft_free = shaft_free;
        c.friction = friction;
        return c;
    }
    void linearise(double t,
                   const Eigen::VectorXd& y,
                   Eigen::VectorXd& f,
                   Eigen::VectorXd& g) const {
        network.linearise(controls(t), y, f, g);
    }
    void rhs(double t, const Eigen::VectorXd& y, Eigen::VectorXd& f) const {
        network.rhs(controls(t), y, f);
    }
    void factor(double shift) const { network.factor(shift); }
    void solve(Eigen::VectorXd& b) const { network.solve(b); }
};

}  // namespace evenfront::detail
