#include "evenfront/network.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <type_traits>

namespace evenfront {

using std::numbers::pi;
using Index = Eigen::Index;

namespace {

constexpr std::size_t u(Index i) {
    return static_cast<std::size_t>(i);
}

std::optional<ThrottleFlow> throttle_of(const Stream& stream) {
    const double temperature = stream.line.back().temperature;
    return ThrottleFlow(stream.throttle,
                        at_temperature(stream.rheology, temperature),
                        thermal_density(stream.liquid, temperature));
}

}  // namespace

Chain::Chain(const Stream& stream, double stroke)
    : liquid_(stream.liquid),
      rho_ref_(stream.liquid.density),
      area_(area(stream.cylinder)),
      stroke_(stroke),
      leak_(stream.cylinder.leak) {
    const double liquid_share = 1.0 - liquid_.free_gas;
    cylinder_rho_ = liquid_share * thermal_density(liquid_, stream.cylinder.temperature);
    w0_.assign(1, 0.0);
    w1_.assign(1, 0.0);
    wp_.assign(1, cylinder_rho_ * stream.cylinder.pocket);
    std::vector<double> distance{0.0};
    segment_.assign(1, 0);
    for (std::size_t s = 0; s < stream.line.size(); ++s) {
        const Segment& segment = stream.line[s];
        const double rho = liquid_share * thermal_density(liquid_, segment.temperature);
        const double cell = segment.length / segment.cells;
        const double half_volume = pi / 8.0 * segment.bore * segment.bore * cell;
        const double half_wall = segment.wall_expansion * cell / 2.0;
        const double half_pocket = segment.pocket / (2.0 * segment.cells);
        const PipeFlow pipe(
            at_temperature(stream.rheology, segment.temperature), segment.bore, cell);
        for (int i = 0; i < segment.cells; ++i) {
            w0_.push_back(0.0);
            w1_.push_back(0.0);
            wp_.push_back(0.0);
            for (const std::size_t node : {w0_.size() - 2, w0_.size() - 1}) {
                w0_[node] += rho * half_volume;
                w1_[node] += rho * half_wall;
                wp_[node] += rho * half_pocket;
            }
            pipes_.push_back(pipe);
            link_rho_.push_back(rho);
            distance.push_back(distance.back() + cell);
            segment_.push_back(s);
        }
    }
    first_w0_ = w0_[0];
    outlet_rho_ = link_rho_.back();
    auto throttle = throttle_of(stream);
    if (stream.throttle.volume_between > 0.0) {
        w0_.push_back(outlet_rho_ * stream.throttle.volume_between);
        w1_.push_back(0.0);
        wp_.push_back(0.0);
        link_rho_.push_back(outlet_rho_);
        distance.push_back(distance.back());
        segment_.push_back(stream.line.size() - 1);
        if (stream.throttle.before_shutoff) {
            inner_.emplace(throttle, std::nullopt);
            outlet_.emplace(std::nullopt, stream.shutoff);
        } else {
            inner_.emplace(std::nullopt, stream.shutoff);
            outlet_.emplace(throttle, std::nullopt);
        }
    } else {
        outlet_.emplace(throttle, stream.shutoff);
    }
    if (stream.feed) {
        const Feed& feed = *stream.feed;
        feed_.emplace(at_temperature(stream.rheology, feed.temperature), feed.bore, feed.length);
        tank_pressure_ = feed.tank_pressure;
        feed_rho_ = density(liquid_, feed.tank_pressure, feed.temperature);
    }
    distance_ = Eigen::Map<Eigen::VectorXd>(distance.data(), static_cast<Index>(distance.size()));

    const std::size_t n = w0_.size();
    for (auto* work : {&mass_, &p_, &inv_v_, &dv_, &slope_, &dp_dm_, &w_, &dw_up_, &dw_down_}) {
        work->assign(n, 0.0);
    }
    for (auto* matrix : {&jac_, &lu_}) {
        for (auto* band : {&matrix->lower, &matrix->diag, &matrix->upper}) {
            band->setZero(static_cast<Index>(n));
        }
    }
    x_solution_.setZero(static_cast<Index>(n));
    tail_solution_.setZero(static_cast<Index>(n));
}

double Chain::specific(double pressure) const {
    return 1.0 / volume_factor(liquid_, pressure);
}

double Chain::cylinder_density(double pressure) const {
    return cylinder_rho_ * specific(pressure);
}

double Chain::mass(Index node, double pressure, double x) const {
    const double w0 = node == 0 ? first_w0_ + cylinder_rho_ * area_ * (stroke_ - x) : w0_[u(node)];
    return (w0 + w1_[u(node)] * pressure - wp_[u(node)] * gas_expansion(liquid_, pressure)) *
           specific(pressure);
}

namespace {

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
    const T inv_dh = 1.0 / dh;
    const T newton = -h * inv_dh;
    T step = newton / (1.0 + 0.5 * newton * ddh * inv_dh);
    if constexpr (!Plain) {
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
void Chain::find_pressures(const double* mass, double x) {
    const std::size_t n = p_.size();
    const double cylinder = cylinder_rho_ * area_ * (stroke_ - x);
    w0_[0] = first_w0_ + cylinder;
    double strain = 0.0;
    for (std::size_t i = 0; i < n; ++i) {
        const double guess = p_[i] + dp_dm_[i] * (mass[i] - mass_[i]);
        p_[i] = guess > 0.5 * (p_[i] - standard_pressure) ? guess : p_[i];
        p_[i] = p_[i] > -standard_pressure ? p_[i] : 0.0;  // also where the last trial was NaN
        mass_[i] = mass[i];
        strain = std::max(strain, std::abs(p_[i]));
    }
    bool plain = liquid_.gas_exponent == 1.0 && strain < 0.03 * liquid_.bulk_modulus;
    for (int pass = 0; pass < 100; ++pass) {
        const double step = plain ? improve_plainly() : improve_carefully();
        if (step < 5e-5) {
            break;  // the error left is about the cube of the relative step
        }
        plain = plain && step < 1.0 && pass < 3;
    }
    for (std::size_t i = 0; i < n; ++i) {
        dp_dm_[i] = -1.0 / (slope_[i] * inv_v_[i]);
    }
    dp0_dx_ = -cylinder_rho_ * area_ / slope_[0];
}

// Largest relative step; a node that would leave the range of pressures stays where it was and
// counts as one, so that the careful pass takes over.
double Chain::improve_plainly() {
    using Pack = Eigen::Array4d;
    const Swelling swelling(liquid_);
    const std::size_t n = p_.size();
    double largest = 0.0;
    const auto pass = [&]<class T>(const T&, std::size_t i) {
        const auto load = [i](const std::vector<double>& from) -> T {
            if constexpr (std::is_same_v<T, double>) {
                return from[i];
            } else {
                return Eigen::Map<const T>(from.data() + i);
            }
        };
        const auto store = [i](std::vector<double>& to, const T& value) {
            if constexpr (std::is_same_v<T, double>) {
                to[i] = value;
            } else {
                Eigen::Map<T>(to.data() + i) = value;
            }
        };
        const NodeState<T> state =
            halley<true, T>(swelling, load(p_), load(mass_), load(w0_), load(w1_), load(wp_));
        store(inv_v_, state.inv_v);
        store(dv_, state.dv);
        store(slope_, state.slope);
        double step = 0.0;
        if constexpr (std::is_same_v<T, double>) {
            step = std::abs(state.relative_step);
        } else {
            step = state.relative_step.abs().maxCoeff();
        }
        if (step < 0.5) {
            store(p_, state.p);
            largest = std::max(largest, step);
        } else {
            largest = 1.0;
        }
    };
    std::size_t i = 0;
    for (; i + 4 <= n; i += 4) {
        pass(Pack{}, i);
    }
    for (; i < n; ++i) {
        pass(0.0, i);
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

// Mass flows of the links between nodes, and their slopes with the pressures at both ends.
template <bool WithJacobian>
void Chain::flow(double fraction, double* inner_rate) {
    const std::size_t links = p_.size() - 1;
    for (std::size_t j = 0; j < links; ++j) {
        const double dp = p_[j] - p_[j + 1];
        const std::size_t up = dp >= 0.0 ? j : j + 1;
        const double rho = link_rho_[j] * inv_v_[up];
        Flow link{};
        double by_fraction = 0.0;
        if (inner_ && j + 1 == links) {
            const Restriction::Result r = (*inner_)(dp, fraction);
            link = {r.q, r.slope};
            by_fraction = r.by_fraction;
        } else {
            link = pipes_[j](dp);
        }
        w_[j] = rho * link.q;
        if constexpr (WithJacobian) {
            const double by_density = -w_[j] * dv_[up] * inv_v_[up];
            dw_up_[j] = rho * link.slope + (up == j ? by_density : 0.0);
            dw_down_[j] = -rho * link.slope + (up == j ? 0.0 : by_density);
            *inner_rate = rho * by_fraction;
        }
    }
}

Chain::Draw Chain::draw() const {
    const Flow feed = (*feed_)(tank_pressure_ - p_[0]);
    if (feed.q >= 0.0) {
        return {feed_rho_ * feed.q, -feed_rho_ * feed.slope};
    }
    const double rho = cylinder_rho_ * inv_v_[0];
    return {rho * feed.q, -rho * feed.slope - rho * feed.q * dv_[0] * inv_v_[0]};
}

double Chain::yield_pressure() const {
    double sum = outlet_->yield_pressure() + (inner_ ? inner_->yield_pressure() : 0.0);
    for (const PipeFlow& pipe : pipes_) {
        sum += pipe.yield_pressure();
    }
    return sum;
}

// Far above any drive, where exp(-p/K) still holds [Pa]; speeds tried on the way can ask for more.
constexpr double highest_pressure = 1e13;

void Chain::march(double mass_flow, double mixing_pressure, Eigen::VectorXd& pressures) const {
    pressures.resize(nodes());
    // Upstream pressure p = p_down + dp(w v(p)/rho): the density depends weakly on p, so the
    // fixed point gains two digits or more a turn. Beyond a nearly closed throttle it does not;
    // the right-hand side falls with p, so p and the next one bracket the root.
    const auto upstream = [&](auto&& loss, double rho, double down, double guess) {
        double p = guess;
        double low = -std::numeric_limits<double>::infinity();
        double high = std::numeric_limits<double>::infinity();
        for (int i = 0; i < 200; ++i) {
            const double next =
                std::min(down + loss(mass_flow / (rho * specific(p))), highest_pressure);
            if (std::abs(next - p) <= 1e-14 * (standard_pressure + std::abs(next))) {
                return next;
            }
            (next > p ? low : high) = p;
            p = next > low && next < high ? next : 0.5 * (low + high);
        }
        return p;
    };
    double p = upstream([&](double q) { return outlet_->pressure(q); },
                        outlet_rho_,
                        mixing_pressure,
                        mixing_pressure);
    pressures[nodes() - 1] = p;
    double guess = 0.0;
    for (Index j = nodes() - 2; j >= 0; --j) {
        const bool restriction = inner_ && j == nodes() - 2;
        const double down = p;
        p = upstream(
            [&](double q) { return restriction ? inner_->pressure(q) : pipes_[u(j)].pressure(q); },
            link_rho_[u(j)],
            down,
            down + guess);
        guess = restriction ? 0.0 : p - down;
        pressures[j] = p;
    }
}

Network::Network(const Machine& machine, double mixer_resistance)
    : chain_{Chain(machine.resin, machine.shaft.stroke),
             Chain(machine.hardener, machine.shaft.stroke)},
      total_(masses + chain_[0].nodes() + chain_[1].nodes()),
      mass_(machine.shaft.mass),
      viscous_(machine.shaft.viscous_friction),
      resistance_(mixer_resistance),
      stroke_(machine.shaft.stroke) {
    const double areas = chain_[0].area_ + chain_[1].area_;
    pressure_scale_ = machine.drive.force / areas;
    speed_scale_ = 1e-3;
    for (std::size_t s = 0; s < 2; ++s) {
        volume_scale_[s] = 0.01 * chain_[s].area_ * stroke_;
    }
}

// Mixing point: p_m = R_m (q_r + q_h) with q_s = delta_s Q_s(p_s - p_m, f_s), liquid flows. The
// balance p_m - R_m sum q_s rises with p_m, so its root is unique; Newton kept in a bracket.
template <bool WithJacobian>
void Network::mix(const Controls& controls) {
    std::array<double, 2> p{};
    std::array<double, 2> delta{};
    std::array<Restriction::Result, 2> r{};
    for (std::size_t s = 0; s < 2; ++s) {
        const Chain& chain = chain_[s];
        p[s] = chain.p_.back();
        delta[s] = chain.outlet_rho_ * chain.inv_v_.back() / chain.rho_ref_;
    }
    double low = std::min({0.0, p[0], p[1]});
    double high = std::max({0.0, p[0], p[1]});
    double p_m = std::clamp(p_m_, low, high);
    const double size = std::abs(p[0]) + std::abs(p[1]);
    double slope = 1.0;
    for (int trial = 0; trial < 200; ++trial) {
        double balance = p_m;
        slope = 1.0;
        for (std::size_t s = 0; s < 2; ++s) {
            r[s] = (*chain_[s].outlet_)(p[s] - p_m, controls.fraction[s]);
            balance -= resistance_ * delta[s] * r[s].q;
            slope += resistance_ * delta[s] * r[s].slope;
        }
        (balance > 0.0 ? high : low) = p_m;
        double next = p_m - balance / slope;
        if (!(next >= low && next <= high)) {
            next = 0.5 * (low + high);
        }
        const double step = next - p_m;
        if (!(std::abs(step) > 1e-14 * (size + 1.0))) {
            break;
        }
        p_m = next;
    }
    p_m_ = p_m;
    for (std::size_t s = 0; s < 2; ++s) {
        q_[s] = delta[s] * r[s].q;
    }
    if constexpr (WithJacobian) {
        std::array<double, 2> dpm{};  // dp_m/dp_N,s by the implicit function theorem
        double dpm_dt = 0.0;
        std::array<double, 2> own{};  // dq_s/dp_s at fixed p_m
        for (std::size_t s = 0; s < 2; ++s) {
            const Chain& chain = chain_[s];
            own[s] = delta[s] * r[s].slope - q_[s] * chain.dv_.back() * chain.inv_v_.back();
            dpm[s] = resistance_ * own[s] / slope;
            dpm_dt += resistance_ * delta[s] * r[s].by_fraction * controls.fraction_rate[s] / slope;
        }
        for (std::size_t s = 0; s < 2; ++s) {
            const double g = delta[s] * r[s].slope;
            dq_[s][s] = own[s] - g * dpm[s];
            dq_[s][1 - s] = -g * dpm[1 - s];
            q_rate_[s] = delta[s] * r[s].by_fraction * controls.fraction_rate[s] - g * dpm_dt;
        }
    }
}

template <bool WithJacobian>
void Network::evaluate(const Controls& controls, const Eigen::VectorXd& y, Eigen::VectorXd& f) {
    const double x = y[position];
    free_ = controls.shaft_free;
    std::array<double, 2> inner{};
    for (int s = 0; s < 2; ++s) {
        chain_[u(s)].find_pressures(y.data() + first_mass(s), x);
        chain_[u(s)].flow<WithJacobian>(controls.fraction[u(s)], &inner[u(s)]);
        chain_[u(s)].inner_rate_ = inner[u(s)];
    }
    mix<WithJacobian>(controls);
    f[position] = y[speed];
    f[speed] = free_ ? (net_force(controls) - viscous_ * y[speed] - controls.friction) / mass_
                     : controls.acceleration;
    for (int s = 0; s < 2; ++s) {
        const Chain& chain = chain_[u(s)];
        double* dm = f.data() + first_mass(s);
        const std::size_t last = chain.p_.size() - 1;
        const double leak = chain.leak_ * std::max(chain.p_[0], 0.0);  // actual flow
        const double leak_mass = leak * chain.cylinder_rho_ * chain.inv_v_[0];
        const Chain::Draw draw = controls.feed[u(s)] > 0.0 || controls.feed_rate[u(s)] > 0.0
                                     ? chain.draw()
                                     : Chain::Draw{};
        const double drawn_mass = controls.feed[u(s)] * draw.mass_flow;
        dm[0] = -chain.w_[0] - leak_mass + drawn_mass;
        for (std::size_t i = 1; i < last; ++i) {
            dm[i] = chain.w_[i - 1] - chain.w_[i];
        }
        dm[last] = chain.w_[last - 1] - chain.rho_ref_ * q_[u(s)];
        f[volume(s)] = q_[u(s)];
        f[leaked(s)] = leak_mass / chain.rho_ref_;
        f[drawn(s)] = drawn_mass / chain.rho_ref_;
        if constexpr (WithJacobian) {
            draw_by_p_[u(s)] = controls.feed[u(s)] * draw.by_pressure;
            draw_rate_[u(s)] = controls.feed_rate[u(s)] * draw.mass_flow;
            const double by_density = -leak_mass * chain.dv_[0] * chain.inv_v_[0];
            leak_by_p_[u(s)] =
                chain.p_[0] > 0.0 ? chain.leak_ * chain.cylinder_rho_ * chain.inv_v_[0] + by_density
                                  : 0.0;
        }
    }
}

double Network::net_force(const Controls& controls) const {
    return controls.force - chain_[0].area_ * chain_[0].p_[0] - chain_[1].area_ * chain_[1].p_[0];
}

void Network::rhs(const Controls& controls, const Eigen::VectorXd& y, Eigen::VectorXd& f) {
    evaluate<false>(controls, y, f);
}

void Network::linearise(const Controls& controls,
                        const Eigen::VectorXd& y,
                        Eigen::VectorXd& f,
                        Eigen::VectorXd& g) {
    evaluate<true>(controls, y, f);
    g.setZero(size());
    v_x_ = 0.0;
    v_v_ = free_ ? -viscous_ / mass_ : 0.0;
    g[speed] = free_ ? controls.force_rate / mass_ : 0.0;
    for (int s = 0; s < 2; ++s) {
        Chain& chain = chain_[u(s)];
        const Index last = chain.nodes() - 1;
        auto& [lower, diag, upper] = chain.jac_;
        // Row i, by the pressures of nodes i-1, i, i+1; dp/dm turns each into a mass column.
        for (Index i = 0; i <= last; ++i) {
            double own = 0.0;
            if (i > 0) {
                lower[i] = chain.dw_up_[u(i - 1)] * chain.dp_dm_[u(i - 1)];
                own += chain.dw_down_[u(i - 1)];
            }
            if (i < last) {
                upper[i] = -chain.dw_down_[u(i)] * chain.dp_dm_[u(i + 1)];
                own -= chain.dw_up_[u(i)];
            } else {
                own -= chain.rho_ref_ * dq_[u(s)][u(s)];
            }
            if (i == 0) {
                own += draw_by_p_[u(s)] - leak_by_p_[u(s)];
            }
            diag[i] = own * chain.dp_dm_[u(i)];
        }
        // x moves p_0 and with it rows 0 and 1 and the shaft.
        chain.x_column_ = {(draw_by_p_[u(s)] - chain.dw_up_[0] - leak_by_p_[u(s)]) * chain.dp0_dx_,
                           chain.dw_up_[0] * chain.dp0_dx_};
        const double other_dp_dm = chain_[u(1 - s)].dp_dm_.back();
        chain.tail_coupling_ = -chain.rho_ref_ * dq_[u(s)][u(1 - s)] * other_dp_dm;
        chain.v_row_ = free_ ? -chain.area_ / mass_ * chain.dp_dm_[0] : 0.0;
        v_x_ += free_ ? -chain.area_ / mass_ * chain.dp0_dx_ : 0.0;
        const double inner = chain.inner_rate_ * controls.fraction_rate[u(s)];
        g[first_mass(s) + last - 1] -= inner;
        g[first_mass(s) + last] += inner - chain.rho_ref_ * q_rate_[u(s)];
        g[volume(s)] = q_rate_[u(s)];
        for (int t = 0; t < 2; ++t) {
            volume_row_[u(s)][u(t)] = dq_[u(s)][u(t)] * chain_[u(t)].dp_dm_.back();
        }
        const double leak = leak_by_p_[u(s)] / chain.rho_ref_;
        leak_row_[u(s)] = {leak * chain.dp_dm_[0], leak * chain.dp0_dx_};
        const double draw = draw_by_p_[u(s)] / chain.rho_ref_;
        draw_row_[u(s)] = {draw * chain.dp_dm_[0], draw * chain.dp0_dx_};
        g[first_mass(s)] += draw_rate_[u(s)];
        g[drawn(s)] = draw_rate_[u(s)] / chain.rho_ref_;
    }
}

namespace {

void solve_tridiagonal(const Eigen::VectorXd& lower,
                       const Eigen::VectorXd& diag,
                       const Eigen::VectorXd& upper,
                       double* b,
                       Index n) {
    for (Index i = 1; i < n; ++i) {
        b[i] -= lower[i] * b[i - 1];
    }
    b[n - 1] *= diag[n - 1];
    for (Index i = n - 2; i >= 0; --i) {
        b[i] = (b[i] - upper[i] * b[i + 1]) * diag[i];
    }
}

}  // namespace

// (shift I - J) is two tridiagonal blocks, one a stream, tied together by x at the cylinders and
// by the mixing point at the last nodes. The ties are eliminated by hand: T^-1 of their columns
// is kept, and a two by two system for the tails and one equation for x remain.
void Network::factor(double shift) {
    shift_ = shift;
    for (Chain& chain : chain_) {
        const Index n = chain.nodes();
        auto& [lower, diag, upper] = chain.lu_;
        for (Index i = 0; i < n; ++i) {
            const double pivot = shift - chain.jac_.diag[i];
            lower[i] = i == 0 ? 0.0 : -chain.jac_.lower[i] * diag[i - 1];
            upper[i] = -chain.jac_.upper[i];
            diag[i] = 1.0 / (i == 0 ? pivot : pivot - lower[i] * upper[i - 1]);
        }
        chain.x_solution_.setZero();
        chain.x_solution_[0] = -chain.x_column_[0];
        chain.x_solution_[1] = -chain.x_column_[1];
        chain.tail_solution_.setZero();
        chain.tail_solution_[n - 1] = -chain.tail_coupling_;
        solve_tridiagonal(lower, diag, upper, chain.x_solution_.data(), n);
        solve_tridiagonal(lower, diag, upper, chain.tail_solution_.data(), n);
    }
}

void Network::solve(Eigen::VectorXd& b) const {
    std::array<double, 2> tail{};  // of the uncoupled solution
    std::array<double, 2> e{};     // tail entry of T^-1 (tail column)
    std::array<double, 2> tail_by_x{};
    for (int s = 0; s < 2; ++s) {
        const Chain& chain = chain_[u(s)];
        double* mass = b.data() + first_mass(s);
        solve_tridiagonal(chain.lu_.lower, chain.lu_.diag, chain.lu_.upper, mass, chain.nodes());
        tail[u(s)] = mass[chain.nodes() - 1];
        e[u(s)] = chain.tail_solution_[chain.nodes() - 1];
        tail_by_x[u(s)] = chain.x_solution_[chain.nodes() - 1];
    }
    // Tail of s: tail_s - by_x_s x - e_s (tail of the other) = alpha_s - beta_s x.
    const double det = 1.0 - e[0] * e[1];
    std::array<double, 2> alpha{};
    std::array<double, 2> beta{};
    for (std::size_t s = 0; s < 2; ++s) {
        alpha[s] = (tail[s] - e[s] * tail[1 - s]) / det;
        beta[s] = (tail_by_x[s] - e[s] * tail_by_x[1 - s]) / det;
    }
    double x = 0.0;
    double v = 0.0;
    if (free_) {
        // v = shift x - b_x in the row of v.
        double left = (shift_ - v_v_) * shift_ - v_x_;
        double right = b[speed] + (shift_ - v_v_) * b[position];
        for (int s = 0; s < 2; ++s) {
            const Chain& chain = chain_[u(s)];
            const double y0 = b[first_mass(s)] - chain.tail_solution_[0] * alpha[u(1 - s)];
            const double x0 = chain.x_solution_[0] - chain.tail_solution_[0] * beta[u(1 - s)];
            left += chain.v_row_ * x0;
            right += chain.v_row_ * y0;
        }
        x = right / left;
        v = shift_ * x - b[position];
    } else {
        v = b[speed] / shift_;
        x = (b[position] + v) / shift_;
    }
    for (int s = 0; s < 2; ++s) {
        const Chain& chain = chain_[u(s)];
        const double other = alpha[u(1 - s)] - beta[u(1 - s)] * x;
        double* mass = b.data() + first_mass(s);
        for (Index i = 0; i < chain.nodes(); ++i) {
            mass[i] -= chain.x_solution_[i] * x + chain.tail_solution_[i] * other;
        }
    }
    b[position] = x;
    b[speed] = v;
    for (int s = 0; s < 2; ++s) {
        double rate = 0.0;
        for (int t = 0; t < 2; ++t) {
            rate += volume_row_[u(s)][u(t)] * b[first_mass(t) + chain_[u(t)].nodes() - 1];
        }
        const auto at_cylinder = [&](const std::array<double, 2>& row) {
            return row[0] * b[first_mass(s)] + row[1] * x;
        };
        b[volume(s)] = (b[volume(s)] + rate) / shift_;
        b[leaked(s)] = (b[leaked(s)] + at_cylinder(leak_row_[u(s)])) / shift_;
        b[drawn(s)] = (b[drawn(s)] + at_cylinder(draw_row_[u(s)])) / shift_;
    }
}

Eigen::MatrixXd Network::dense_jacobian() const {
    Eigen::MatrixXd j = Eigen::MatrixXd::Zero(size(), size());
    j(position, speed) = 1.0;
    j(speed, position) = v_x_;
    j(speed, speed) = v_v_;
    for (int s = 0; s < 2; ++s) {
        const Chain& chain = chain_[u(s)];
        const Index first = first_mass(s);
        const Index last = chain.nodes() - 1;
        for (Index i = 0; i <= last; ++i) {
            j(first + i, first + i) = chain.jac_.diag[i];
            if (i > 0) {
                j(first + i, first + i - 1) = chain.jac_.lower[i];
            }
            if (i < last) {
                j(first + i, first + i + 1) = chain.jac_.upper[i];
            }
        }
        j(first, position) = chain.x_column_[0];
        j(first + 1, position) = chain.x_column_[1];
        j(speed, first) = chain.v_row_;
        j(first + last, first_mass(1 - s) + chain_[u(1 - s)].nodes() - 1) = chain.tail_coupling_;
        for (int t = 0; t < 2; ++t) {
            j(volume(s), first_mass(t) + chain_[u(t)].nodes() - 1) = volume_row_[u(s)][u(t)];
        }
        j(leaked(s), first) = leak_row_[u(s)][0];
        j(leaked(s), position) = leak_row_[u(s)][1];
        j(drawn(s), first) = draw_row_[u(s)][0];
        j(drawn(s), position) = draw_row_[u(s)][1];
    }
    return j;
}

double Network::error_norm(const Eigen::VectorXd& error, const Eigen::VectorXd& y) const {
    const double floor = 0.1 * pressure_scale_;
    const auto square = [](double e) { return e * e; };
    double sum =
        square(error[position] / 1e-3) + square(error[speed] / (speed_scale_ + std::abs(y[speed])));
    for (int s = 0; s < 2; ++s) {
        const Chain& chain = chain_[u(s)];
        const double* mass = error.data() + first_mass(s);
        for (Index i = 0; i < chain.nodes(); ++i) {
            // An error of mass and position that leaves the pressure alone is no error of pressure.
            const double dp =
                chain.dp_dm_[u(i)] * mass[i] + (i == 0 ? chain.dp0_dx_ * error[position] : 0.0);
            sum += square(dp / (floor + std::abs(chain.p_[u(i)])));
        }
        sum += square(error[volume(s)] / volume_scale_[u(s)]);
        sum += square(error[leaked(s)] / volume_scale_[u(s)]);
        sum += square(error[drawn(s)] / volume_scale_[u(s)]);
    }
    return std::sqrt(sum / static_cast<double>(size()));
}

}  // namespace evenfront
