#include "evenfront/integrator.hpp"

#include <Eigen/LU>

#include <functional>
#include <utility>
#include <vector>

#include "support.hpp"

using Eigen::MatrixXd;
using Eigen::VectorXd;
using evenfront::Rosenbrock;

namespace {

// A small dense system: f, df/dy and df/dt written out.
struct Dense {
    std::function<VectorXd(double, const VectorXd&)> f;
    std::function<MatrixXd(double, const VectorXd&)> df_dy;
    std::function<VectorXd(double, const VectorXd&)> df_dt;
    MatrixXd jacobian{};
    Eigen::PartialPivLU<MatrixXd> lu{};

    void linearise(double t, const VectorXd& y, VectorXd& value, VectorXd& rate) {
        value = f(t, y);
        rate = df_dt(t, y);
        jacobian = df_dy(t, y);
    }
    void rhs(double t, const VectorXd& y, VectorXd& value) const { value = f(t, y); }
    void factor(double shift) {
        lu.compute(shift * MatrixXd::Identity(jacobian.rows(), jacobian.cols()) - jacobian);
    }
    void solve(VectorXd& b) const { b = lu.solve(b).eval(); }
};

// y'' + mu (1 + y^2) y' + y = mu (1 + sin^2 t) cos t, a forced, stiff, nonlinear oscillator whose
// solution is y = sin t (put it in).
Dense oscillator(double mu) {
    return {
        .f =
            [mu](double t, const VectorXd& y) {
                const double force = mu * (1 + std::pow(std::sin(t), 2)) * std::cos(t);
                return VectorXd{{y[1], force - mu * (1 + y[0] * y[0]) * y[1] - y[0]}};
            },
        .df_dy =
            [mu](double, const VectorXd& y) {
                return MatrixXd{{0.0, 1.0}, {-2 * mu * y[0] * y[1] - 1, -mu * (1 + y[0] * y[0])}};
            },
        .df_dt =
            [mu](double t, const VectorXd&) {
                const double s = std::sin(t);
                const double c = std::cos(t);
                return VectorXd{{0.0, mu * (2 * s * c * c - (1 + s * s) * s)}};
            }};
}

Dense linear(const MatrixXd& matrix) {
    return {.f = [matrix](double, const VectorXd& y) { return VectorXd(matrix * y); },
            .df_dy = [matrix](double, const VectorXd&) { return matrix; },
            .df_dt = [](double, const VectorXd& y) { return VectorXd(VectorXd::Zero(y.size())); }};
}

struct Result {
    VectorXd y;
    double largest_estimate;
};

Result march(Dense system, VectorXd y, const std::vector<double>& times) {
    Rosenbrock<Dense> method(y.size());
    VectorXd next(y.size());
    VectorXd error(y.size());
    double largest = 0.0;
    for (std::size_t i = 1; i < times.size(); ++i) {
        method.linearise(system, times[i - 1], y);
        method.step(system, times[i - 1], y, times[i] - times[i - 1], next, error);
        largest = std::max(largest, error.norm());
        y.swap(next);
    }
    return {y, largest};
}

Result march(Dense system, VectorXd y, double end, int steps) {
    std::vector<double> times;
    for (int i = 0; i <= steps; ++i) {
        times.push_back(end * i / steps);
    }
    return march(std::move(system), std::move(y), times);
}

// Growth of a linear mode z = h lambda over one step, lambda = re + i im.
double growth(double re, double im) {
    return march(linear(MatrixXd{{re, -im}, {im, re}}), VectorXd{{1.0, 0.0}}, 1.0, 1).y.norm();
}

}  // namespace

TEST_CASE("the method is of order four on a forced, stiff, nonlinear problem",
          "[integrator][order]") {
    // Eigenvalues to -20 over one unit of time; slope of the error over three halvings of the step,
    // small enough that h times the stiffest rate is below one (above it the order dips).
    const VectorXd exact{{std::sin(1.0), std::cos(1.0)}};
    const auto error = [&](int steps) {
        return (march(oscillator(10), VectorXd{{0.0, 1.0}}, 1.0, steps).y - exact).norm();
    };
    double last = error(80);
    CHECK(last < 1e-8);
    for (const int steps : {160, 320, 640}) {
        const double now = error(steps);
        CAPTURE(steps, last, now);
        CHECK_THAT(std::log2(last / now), WithinAbs(4.0, 0.2));
        last = now;
    }
}

TEST_CASE("the error estimate is of order three", "[integrator][order]") {
    // Local error of the embedded method: h^4.
    const auto estimate = [&](int steps) {
        return march(oscillator(10), VectorXd{{0.0, 1.0}}, 1.0, steps).largest_estimate;
    };
    double last = estimate(160);
    for (const int steps : {320, 640, 1280}) {
        const double now = estimate(steps);
        CAPTURE(steps, last, now);
        CHECK_THAT(std::log2(last / now), WithinAbs(4.0, 0.3));
        last = now;
    }
}

TEST_CASE("a linear mode follows the exponential to fourth order", "[integrator][closed form]") {
    // R(z) = exp(z) + O(z^5), so halving z divides the error by 32.
    const double coarse = std::abs(growth(-0.2, 0.0) - std::exp(-0.2));
    const double fine = std::abs(growth(-0.1, 0.0) - std::exp(-0.1));
    CHECK_THAT(std::log2(coarse / fine), WithinAbs(5.0, 0.2));
}

TEST_CASE("infinitely stiff modes die in one step, none grows", "[integrator][stability]") {
    // L-stable: R(-inf) = 0 (Hairer & Wanner, Solving Ordinary Differential Equations II, IV.7).
    for (const double z : {1e3, 1e5, 1e7, 1e9}) {
        CAPTURE(z);
        CHECK(growth(-z, 0.0) < 10.0 / z);
        CHECK(growth(0.0, z) < 10.0 / z);
    }
    // A-stable: |R| <= 1 on the imaginary axis, and so in the left half plane.
    for (double y = 1e-3; y < 1e6; y *= 1.3) {
        CAPTURE(y);
        CHECK(growth(0.0, y) <= 1.0 + 1e-13);
        CHECK(growth(-0.05 * y, y) <= 1.0);
    }
}

TEST_CASE("linear invariants are kept to round-off at any step", "[integrator][conservation]") {
    // Robertson's kinetics (1966), rates 0.04, 3e7, 1e4: the three shares add up to one.
    const Dense robertson{
        .f =
            [](double, const VectorXd& y) {
                const double a = 0.04 * y[0];
                const double b = 1e4 * y[1] * y[2];
                const double c = 3e7 * y[1] * y[1];
                return VectorXd{{b - a, a - b - c, c}};
            },
        .df_dy =
            [](double, const VectorXd& y) {
                const double b1 = 1e4 * y[2];
                const double b2 = 1e4 * y[1];
                const double c = 6e7 * y[1];
                return MatrixXd{{-0.04, b1, b2}, {0.04, -b1 - c, -b2}, {0.0, c, 0.0}};
            },
        .df_dt = [](double, const VectorXd&) { return VectorXd(VectorXd::Zero(3)); }};
    // Steps that grow from 1e-5 to the end: the second share must first find its small balance.
    const auto grown = [](double factor) {
        std::vector<double> times{0.0};
        for (double t = 1e-5; t < 40.0; t *= factor) {
            times.push_back(t);
        }
        times.push_back(40.0);
        return times;
    };
    for (const double factor : {2.0, 1.3, 1.05}) {
        const VectorXd y = march(robertson, VectorXd{{1.0, 0.0, 0.0}}, grown(factor)).y;
        CAPTURE(factor);
        CHECK_THAT(y.sum(), WithinAbs(1.0, 1e-13));
    }
    // At t = 40: 0.7158, 9.185e-6, 0.2842 (printed widely, from memory; one unit of the last
    // digit).
    const VectorXd y = march(robertson, VectorXd{{1.0, 0.0, 0.0}}, grown(1.05)).y;
    CHECK_THAT(y[0], WithinAbs(0.7158, 5e-5));
    CHECK_THAT(y[1], WithinAbs(9.185e-6, 1e-9));
    CHECK_THAT(y[2], WithinAbs(0.2842, 5e-5));
}
