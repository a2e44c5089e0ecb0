/// Pressures of a chain's nodes from their masses.
#include <algorithm>
#include <cmath>
#include <numeric>
#include <type_traits>

#include "evenfront/chain.hpp"
#include "evenfront/constants.hpp"

namespace evenfront {

using Index = Eigen::Index;

namespace {

constexpr double far = 1e3;  // more than any step that is taken

// Constants of a liquid's v(p).
struct Swelling {
    explicit Swelling(const Liquid& liquid)
        : gas(liquid.free_gas),
          inv_k(1.0 / liquid.bulk_modulus),
          inv_n(1.0 / liquid.gas_exponent) {}
    double gas, inv_k, inv_n;
};

// One node, or several side by side (T an Eigen array), on the way from mass to pressure.
template <class T>
struct NodeState {
    T p, inv_v, dv, slope, relative_step;
};

// What a node's pressure would be on its tangent, but at most half the way down to a void.
template <class T>
T predicted(const T& p, const T& by_mass, const T& mass, const T& before) {
    return (p + by_mass * (mass - before)).max(0.5 * (p - standard_pressure));
}

// A trial may ask for less than no liquid: it counts as next to none.
template <class T>
T possible(const T& mass, const T& w0) {
    return mass.max(1e-3 * w0).min(10.0 * w0);
}

// Where to begin for isothermal gas: with the exponential as its tangent at a guess, h(p) = 0 is a
// quadratic, here in the way d to go, A d^2 + D d - P h = 0, P absolute; off by about d^2/(2 K).
template <class T>
T start(const Swelling& s, const T& guess, const T& mass, const T& w0, const T& w1, const T& wp) {
    const T x = -s.inv_k * guess;
    const T e = (1.0 - s.gas) * (1.0 + x * (1.0 + x * (0.5 + 1.0 / 6.0 * x)));
    const T absolute = guess + standard_pressure;
    const T g = standard_pressure / absolute;
    const T h = mass * (e + s.gas * g) - (w0 + w1 * guess - wp * g);
    const T a = (mass * e * s.inv_k + w1) * absolute;
    const T d = a + (mass * s.gas + wp) * g - h;
    return guess + 2.0 * absolute * h / (d + sqrt(d * d + 4.0 * a * h));
}

// Halley's third-order step for h(p) = m v(p) - (W0 + W1 p - Wp g(p)) = 0. `Plain`: isothermal gas
// and small strain, where the power is a quotient and seven terms of the exponential series are
// exact to round-off, so that there is no branch and no call.
template <bool Plain, class T>
NodeState<T> halley(
    const Swelling& s, const T& p, const T& mass, const T& w0, const T& w1, const T& wp) {
    const T inv_abs = 1.0 / (standard_pressure + p);
    const T ratio = standard_pressure * inv_abs;
    const T x = -s.inv_k * p;
    T g = ratio;  // NOLINT(performance-unnecessary-copy-initialization): kept only if Plain
    T e;
    if constexpr (Plain) {
        e = 1.0 / 5040.0 * x + 1.0 / 720.0;
        e = e * x + 1.0 / 120.0;
        e = e * x + 1.0 / 24.0;
        e = e * x + 1.0 / 6.0;
        e = (e * x + 0.5) * x + 1.0;
        e = e * x + 1.0;
    } else {
        g = std::pow(ratio, s.inv_n);
        e = std::exp(x);
    }
    e = e * (1.0 - s.gas);
    const T dg = s.inv_n * g * inv_abs;            // -g'
    const T ddg = (s.inv_n + 1.0) * dg * inv_abs;  // g''
    const T v = e + s.gas * g;
    const T dv = -s.inv_k * e - s.gas * dg;
    const T ddv = s.inv_k * s.inv_k * e + s.gas * ddg;
    const T h = mass * v - (w0 + w1 * p - wp * g);
    const T dh = mass * dv - w1 - wp * dg;
    const T ddh = mass * ddv + wp * ddg;
    T step = h * dh / (0.5 * h * ddh - dh * dh);
    if constexpr (!Plain) {
        const double newton = -h / dh;
        if (!(std::abs(step - newton) < 0.25 * std::abs(newton))) {
            step = newton;  // too far away for the curvature to help
        }
        if (!(p + step > -standard_pressure)) {
            step = -0.5 * (p + standard_pressure);
        }
    }
    return {p + step,
            1.0 / (v + (dv + 0.5 * ddv * step) * step),
            dv + ddv * step,
            dh + ddh * step,
            step * inv_abs};
}

}  // namespace

// Pressures from masses, all nodes in one pass from a linear prediction; one or two passes meet
// round-off. The gas keeps the root above -p0, and a step past it is cut to half the way there.
// A stage may go past the end of the stroke, or ask for more liquid than is there: it counts as
// close to the end, or as next to no liquid; where it is no number at all nothing is done.
void Chain::find_pressures(const double* block, double x, bool piston_moves) {
    const Index n = nodes();
    if (has_inertia()) {
        for (Index i = 0; i < n; ++i) {
            asked_[static_cast<std::size_t>(i)] = block[row(i)];
        }
    } else {
        std::copy(block, block + n, asked_.begin());
    }
    if (!std::isfinite(std::accumulate(asked_.begin(), asked_.end(), x))) {
        return;
    }
    const double cylinder = std::max(cylinder_rho_ * area_ * (stroke_ - x), -0.9 * own_w0_[0]);
    w0_[0] = own_w0_[0] + cylinder;
    bool plain = liquid_.gas_exponent == 1.0;
    if (!plain || !walls_.empty()) {
        using Column = Eigen::Map<Eigen::ArrayXd>;
        const Eigen::ArrayXd asked = Column(asked_.data(), n);
        const Eigen::ArrayXd before = Column(mass_.data(), n);
        const Eigen::ArrayXd w0 = Column(w0_.data(), n);
        const Eigen::ArrayXd by_mass = Column(dp_dm_.data(), n);
        const Eigen::ArrayXd p = Column(p_.data(), n);
        Column(p_.data(), n) = predicted(p, by_mass, asked, before);
        Column(mass_.data(), n) = possible(asked, w0);
    }
    // The error left is about the cube of the relative step, or its square with a table in it.
    const double close = walls_.empty() ? 5e-5 : 1e-8;
    for (int pass = 0; pass < 100; ++pass) {
        follow_walls(cylinder);
        const double step = plain ? improve_plainly(pass == 0) : improve_carefully();
        if (step < close) {
            break;
        }
        plain = plain && step < far && pass < 6;
    }
    for (std::size_t i = 0; i < p_.size(); ++i) {
        dp_dm_[i] = -1.0 / (slope_[i] * inv_v_[i]);
    }
    dp0_dx_ = piston_moves ? -cylinder_rho_ * area_ / slope_[0] : 0.0;
}

// Puts the tangents of the walls' tables at the present pressures into the nodes' weights.
void Chain::follow_walls(double cylinder) {
    if (walls_.empty()) {
        return;
    }
    w0_ = own_w0_;
    w1_ = own_w1_;
    w0_[0] += cylinder;
    for (const Wall& wall : walls_) {
        const double p = p_[wall.node];
        const double slope = wall.weight * curves_[wall.curve].slope(p);
        w1_[wall.node] += slope;
        w0_[wall.node] += wall_volume(wall, p) - slope * p;
    }
}

// Largest relative step; a node that would go too far at once stays where it was and counts as
// far, so that the careful pass takes over.
// @param first the nodes come from their prediction, at the masses asked for
double Chain::improve_plainly(bool first) {
    const Swelling swelling(liquid_);
    const double most = 0.03 * liquid_.bulk_modulus;  // up to which it is exact to round-off
    double largest = 0.0;
    const auto pass = [&]<int Size>(std::integral_constant<int, Size>, std::size_t i) {
        using Pack = Eigen::Array<double, Size, 1>;
        const auto at = [i](std::vector<double>& from) { return Eigen::Map<Pack>(&from[i]); };
        const Pack w0 = at(w0_);
        const Pack w1 = at(w1_);
        const Pack wp = at(wp_);
        Pack p = at(p_);
        Pack mass = at(mass_);
        if (first) {
            const Pack asked = at(asked_);
            p = predicted<Pack>(p, at(dp_dm_), asked, mass);
            mass = possible(asked, w0);
            at(mass_) = mass;
            p = start<Pack>(swelling, p.min(most), mass, w0, w1, wp);
        }
        const NodeState<Pack> state = halley<true, Pack>(swelling, p, mass, w0, w1, wp);
        at(inv_v_) = state.inv_v;
        at(dv_) = state.dv;
        at(slope_) = state.slope;
        const double down = state.relative_step.minCoeff();
        const double up = state.relative_step.maxCoeff();
        if (down > -0.9 && up < 3.0 && state.p.maxCoeff() < most) {
            at(p_) = state.p;
            largest = std::max({largest, -down, up});
        } else {
            largest = far;
        }
    };
    const std::size_t n = p_.size();
    std::size_t i = 0;
    for (; i + 4 <= n; i += 4) {
        pass(std::integral_constant<int, 4>{}, i);
    }
    for (; i < n; ++i) {
        pass(std::integral_constant<int, 1>{}, i);
    }
    return largest;
}

double Chain::improve_carefully() {
    const Swelling swelling(liquid_);
    double largest = 0.0;
    for (std::size_t i = 0; i < p_.size(); ++i) {
        const NodeState<double> state =
            halley<false, double>(swelling, p_[i], mass_[i], w0_[i], w1_[i], wp_[i]);
        p_[i] = state.p;
        inv_v_[i] = state.inv_v;
        dv_[i] = state.dv;
        slope_[i] = state.slope;
        largest = std::max(largest, std::abs(state.relative_step));
    }
    return largest;
}

}  // namespace evenfront
