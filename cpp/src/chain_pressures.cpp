/// Pressures of a chain's nodes from their masses.
#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

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

// One node on the way from mass to pressure.
struct NodeState {
    double p, inv_v, dv, slope, relative_step;
};

// What a node's pressure would be on its tangent, but at most half the way down to a void.
double predicted(double p, double by_mass, double mass, double before) {
    return std::max(p + by_mass * (mass - before), 0.5 * (p - standard_pressure));
}

// A trial may ask for less than no liquid: it counts as next to none.
double possible(double mass, double w0) {
    return std::min(std::max(mass, 1e-3 * w0), 10.0 * w0);
}

// Where to begin for isothermal gas: with the exponential as its tangent at a guess, h(p) = 0 is a
// quadratic, here in the way d to go, A d^2 + D d - P h = 0, P absolute; off by about d^2/(2 K).
double start(const Swelling& s, double guess, double mass, double w0, double w1, double wp) {
    const double x = -s.inv_k * guess;
    const double e = (1.0 - s.gas) * (1.0 + x * (1.0 + x * (0.5 + 1.0 / 6.0 * x)));
    const double absolute = guess + standard_pressure;
    const double g = standard_pressure / absolute;
    const double h = mass * (e + s.gas * g) - (w0 + w1 * guess - wp * g);
    const double a = (mass * e * s.inv_k + w1) * absolute;
    const double d = a + (mass * s.gas + wp) * g - h;
    return guess + 2.0 * absolute * h / (d + std::sqrt(d * d + 4.0 * a * h));
}

// Halley's third-order step for h(p) = m v(p) - (W0 + W1 p - Wp g(p)) = 0. `Plain`: isothermal gas
// and small strain, where the power is a quotient and seven terms of the exponential series are
// exact to round-off, so that there is no branch and no call.
template <bool Plain>
NodeState halley(const Swelling& s, double p, double mass, double w0, double w1, double wp) {
    const double inv_abs = 1.0 / (standard_pressure + p);
    const double ratio = standard_pressure * inv_abs;
    const double x = -s.inv_k * p;
    double g = ratio;
    double e = 0.0;
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
    const double dg = s.inv_n * g * inv_abs;            // -g'
    const double ddg = (s.inv_n + 1.0) * dg * inv_abs;  // g''
    const double v = e + s.gas * g;
    const double dv = -s.inv_k * e - s.gas * dg;
    const double ddv = s.inv_k * s.inv_k * e + s.gas * ddg;
    const double h = mass * v - (w0 + w1 * p - wp * g);
    const double dh = mass * dv - w1 - wp * dg;
    const double ddh = mass * ddv + wp * ddg;
    double step = h * dh / (0.5 * h * ddh - dh * dh);
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
        for (std::size_t i = 0; i < p_.size(); ++i) {
            p_[i] = predicted(p_[i], dp_dm_[i], asked_[i], mass_[i]);
            mass_[i] = possible(asked_[i], w0_[i]);
        }
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
    const std::size_t n = p_.size();
    double largest = 0.0;
    // In blocks of plain arrays, which the compiler turns into vectors.
    constexpr std::size_t most_lanes = 4;
    using Lanes = std::array<double, most_lanes>;
    for (std::size_t begin = 0; begin < n; begin += most_lanes) {
        const std::size_t lanes = std::min(most_lanes, n - begin);
        const auto load = [&](const std::vector<double>& from) {
            Lanes to{};
            for (std::size_t j = 0; j < most_lanes; ++j) {
                to[j] = from[begin + std::min(j, lanes - 1)];
            }
            return to;
        };
        const Lanes w0 = load(w0_);
        const Lanes w1 = load(w1_);
        const Lanes wp = load(wp_);
        Lanes p = load(p_);
        Lanes mass = load(mass_);
        if (first) {
            const Lanes asked = load(asked_);
            const Lanes by_mass = load(dp_dm_);
            for (std::size_t j = 0; j < most_lanes; ++j) {
                const double guess = std::min(predicted(p[j], by_mass[j], asked[j], mass[j]), most);
                mass[j] = possible(asked[j], w0[j]);
                p[j] = start(swelling, guess, mass[j], w0[j], w1[j], wp[j]);
            }
        }
        Lanes next{};
        Lanes inv_v{};
        Lanes dv{};
        Lanes slope{};
        Lanes step{};
        for (std::size_t j = 0; j < most_lanes; ++j) {
            const NodeState node = halley<true>(swelling, p[j], mass[j], w0[j], w1[j], wp[j]);
            next[j] = node.p;
            inv_v[j] = node.inv_v;
            dv[j] = node.dv;
            slope[j] = node.slope;
            step[j] = node.relative_step;
        }
        for (std::size_t j = 0; j < lanes; ++j) {
            const std::size_t i = begin + j;
            mass_[i] = mass[j];
            inv_v_[i] = inv_v[j];
            dv_[i] = dv[j];
            slope_[i] = slope[j];
            const bool near = step[j] > -0.9 && step[j] < 3.0 && next[j] < most;
            p_[i] = near ? next[j] : p_[i];
            largest = std::max(largest, near ? std::abs(step[j]) : far);
        }
    }
    return largest;
}

double Chain::improve_carefully() {
    const Swelling swelling(liquid_);
    double largest = 0.0;
    for (std::size_t i = 0; i < p_.size(); ++i) {
        const NodeState state = halley<false>(swelling, p_[i], mass_[i], w0_[i], w1_[i], wp_[i]);
        p_[i] = state.p;
        inv_v_[i] = state.inv_v;
        dv_[i] = state.dv;
        slope_[i] = state.slope;
        largest = std::max(largest, std::abs(state.relative_step));
    }
    return largest;
}

}  // namespace evenfront
