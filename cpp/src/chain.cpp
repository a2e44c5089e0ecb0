#include "evenfront/chain.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <type_traits>

namespace evenfront {

using std::numbers::pi;
using Index = Eigen::Index;

namespace {

constexpr std::size_t u(Index i) {
    return static_cast<std::size_t>(i);
}

}  // namespace

Chain::Chain(const Stream& stream, double stroke, bool inertia)
    : stream_(stream),
      liquid_(stream.liquid),
      rho_ref_(stream.liquid.density),
      area_(area(stream.cylinder)),
      stroke_(stroke),
      leak_(stream.cylinder.leak),
      stride_(inertia && is_newtonian(at_temperature(stream.rheology, stream.cylinder.temperature))
                  ? 2
                  : 1),
      cylinder_rho_((1.0 - liquid_.free_gas) *
                    thermal_density(liquid_, stream.cylinder.temperature)) {
    lay_out(stream);
    weigh();
    if (stream.feed) {
        const Feed& feed = *stream.feed;
        feed_.emplace(at_temperature(stream.rheology, feed.temperature), feed.bore, feed.length);
        tank_pressure_ = feed.tank_pressure;
        feed_rho_ = density(liquid_, feed.tank_pressure, feed.temperature);
    }
    const std::size_t n = w0_.size();
    for (auto* work : {&mass_,
                       &asked_,
                       &p_,
                       &inv_v_,
                       &dv_,
                       &slope_,
                       &dp_dm_,
                       &w_,
                       &dw_up_,
                       &dw_down_,
                       &dw_own_}) {
        work->assign(n, 0.0);
    }
    rows_ = row(nodes() - 1) + 1;
    for (auto* matrix : {&jac_, &lu_}) {
        for (auto* band : {&matrix->lower, &matrix->diag, &matrix->upper}) {
            band->setZero(rows_);
        }
    }
    x_solution_.setZero(rows_);
    tail_solution_.setZero(rows_);
}

// Nodes and links in place.
void Chain::lay_out(const Stream& stream) {
    std::vector<double> distance{0.0};
    segment_.assign(1, 0);
    for (std::size_t s = 0; s < stream.line.size(); ++s) {
        const Segment& segment = stream.line[s];
        idles_ = idles_ || segment.idle_temperature;
        if (!segment.expansion_pressures.empty()) {
            std::vector<double> p{0.0};
            std::vector<double> v{0.0};
            p.insert(
                p.end(), segment.expansion_pressures.begin(), segment.expansion_pressures.end());
            v.insert(v.end(), segment.expansion_volumes.begin(), segment.expansion_volumes.end());
            curves_.emplace_back(std::move(p), std::move(v));
        }
        for (int i = 0; i < segment.cells; ++i) {
            link_segment_.push_back(s);
            distance.push_back(distance.back() + segment.length / segment.cells);
            segment_.push_back(s);
        }
    }
    if (stream.throttle.volume_between > 0.0) {
        distance.push_back(distance.back());
        segment_.push_back(stream.line.size() - 1);
    }
    distance_ = Eigen::Map<Eigen::VectorXd>(distance.data(), static_cast<Index>(distance.size()));
    const auto n = distance.size();
    theta_.assign(n, 0.0);
    moved_.assign(n, 0.0);
    thin_.assign(link_segment_.size(), 1.0);
    thin_rate_.assign(link_segment_.size(), 0.0);
    dw_dt_.assign(n, 0.0);
    shrink_.assign(n, 0.0);
    shrink_decay_.assign(n, 0.0);
    for (auto* weights : {&w0_, &w1_, &wp_, &own_w0_, &own_w1_}) {
        weights->assign(n, 0.0);
    }
}

// Weights of the nodes and laws of the links, at the temperatures stated.
void Chain::weigh() {
    const double liquid_share = 1.0 - liquid_.free_gas;
    wp_[0] = cylinder_rho_ * stream_.cylinder.pocket;
    std::size_t curve = 0;
    for (std::size_t j = 0; j < link_segment_.size(); ++j) {
        const Segment& segment = stream_.line[link_segment_[j]];
        const bool tabled = !segment.expansion_pressures.empty();
        if (j > 0 && link_segment_[j] != link_segment_[j - 1] &&
            !stream_.line[link_segment_[j - 1]].expansion_pressures.empty()) {
            ++curve;
        }
        const double rho = liquid_share * thermal_density(liquid_, segment.temperature);
        const double cell = segment.length / segment.cells;
        const double section = pi / 4.0 * segment.bore * segment.bore;
        for (const std::size_t node : {j, j + 1}) {
            own_w0_[node] += rho * section * cell / 2.0;
            wp_[node] += rho * segment.pocket / (2.0 * segment.cells);
            if (tabled) {
                walls_.push_back({node, rho * cell / 2.0, curve});
            } else {
                own_w1_[node] += rho * segment.wall_expansion * cell / 2.0;
            }
        }
        pipes_.emplace_back(
            at_temperature(stream_.rheology, segment.temperature), segment.bore, cell);
        link_rho_.push_back(rho);
        if (has_inertia()) {
            conductance_.push_back(pipes_.back()(1.0).slope);
            slimness_.push_back(section / cell);
        }
    }
    outlet_rho_ = link_rho_.back();
    if (stream_.throttle.volume_between > 0.0) {
        own_w0_.back() = outlet_rho_ * stream_.throttle.volume_between;
        link_rho_.push_back(outlet_rho_);
    }
    set_restrictions();
    w0_ = own_w0_;
    w1_ = own_w1_;
}

// Throttle and shut-off, at the temperature of the last node.
void Chain::set_restrictions() {
    const double warmth = stream_.line.back().temperature + theta_.back();
    const std::optional<ThrottleFlow> throttle =
        ThrottleFlow(stream_.throttle,
                     at_temperature(stream_.rheology, warmth),
                     thermal_density(liquid_, warmth));
    const std::optional<double> check = stream_.shutoff.check_valve;
    if (!(stream_.throttle.volume_between > 0.0)) {
        outlet_.emplace(throttle, stream_.shutoff, check);
    } else if (stream_.throttle.before_shutoff) {
        inner_.emplace(throttle, std::nullopt);
        outlet_.emplace(std::nullopt, stream_.shutoff, check);
    } else {
        inner_.emplace(std::nullopt, stream_.shutoff);
        outlet_.emplace(throttle, std::nullopt, check);
    }
}

double Chain::longest_even_time() const {
    double most = std::numeric_limits<double>::infinity();
    for (const Segment& segment : stream_.line) {
        if (segment.idle_temperature) {
            most = std::min(most, 0.05 * segment.idle_time);
        }
    }
    for (std::size_t j = 0; j < thin_.size(); ++j) {
        if (thin_rate_[j] != 0.0) {
            most = std::min(most, 0.2 * thin_[j] / std::abs(thin_rate_[j]));
        }
    }
    return most;
}

void Chain::set_deviation(const double* theta) {
    std::copy(theta, theta + theta_.size(), theta_.begin());
    thin(0.0);
}

// How much more flows in each link than at the temperature stated, and how that goes on: every law
// flows as one over its temperature factor.
void Chain::thin(double duration) {
    for (std::size_t j = 0; j < thin_.size(); ++j) {
        const double stated = stream_.line[link_segment_[j]].temperature;
        const double now =
            temperature_factor(stream_.rheology, stated) /
            temperature_factor(stream_.rheology, stated + 0.5 * (theta_[j] + theta_[j + 1]));
        thin_rate_[j] = duration > 0.0 ? (now - thin_[j]) / duration : 0.0;
        thin_[j] = now;
    }
    if (stream_.throttle.kind != ThrottleKind::resistance) {
        set_restrictions();
    }
}

void Chain::begin_rest(const double* block) {
    for (std::size_t i = 0; i < theta_.size(); ++i) {
        const Segment& segment = stream_.line[segment_[i]];
        if (!segment.idle_temperature) {
            continue;
        }
        const double now = segment.temperature + theta_[i];
        const double to_go = *segment.idle_temperature - now;
        // d ln(rho_T)/dt; in node 0 only of what stands beside the cylinder.
        const double denser = -liquid_.thermal_expansion * liquid_.density * to_go /
                              (segment.idle_time * thermal_density(liquid_, now));
        const double mass = i > 0 ? block[row(static_cast<Index>(i))] : own_w0_[0] * inv_v_[0];
        shrink_[i] = denser * mass;
        shrink_decay_[i] = 1.0 / segment.idle_time;
    }
}

void Chain::end_rest() {
    std::fill(shrink_.begin(), shrink_.end(), 0.0);
}

void Chain::rest(double duration) {
    for (std::size_t i = 0; i < theta_.size(); ++i) {
        const Segment& segment = stream_.line[segment_[i]];
        if (segment.idle_temperature) {
            const double end = *segment.idle_temperature - segment.temperature;
            theta_[i] = end + (theta_[i] - end) * std::exp(-duration / segment.idle_time);
        }
    }
    thin(duration);
}

// Rates of what shrinks, straight from masses and total, and their change with time.
Chain::Shrinking Chain::shrink(double elapsed, double* rate, double* g) const {
    Shrinking sum{};
    for (std::size_t i = 0; idles_ && i < shrink_.size(); ++i) {
        const double lost = shrink_[i] * std::exp(-elapsed * shrink_decay_[i]);
        const Index r = row(static_cast<Index>(i));
        rate[r] -= lost;
        sum.rate += lost;
        if (g != nullptr) {
            g[r] += lost * shrink_decay_[i];
            sum.change -= lost * shrink_decay_[i];
        }
    }
    return sum;
}

// m' theta' = m theta + what came - what went.
void Chain::carry(double duration, const double* before, const double* after, double delivered) {
    const std::size_t n = theta_.size();
    const double first_half = own_w0_[0] * inv_v_[0];  // what stands beside the cylinder in node 0
    double share = 0.0;                                // of a node's mass, the largest that passes
    double out = delivered;
    for (std::size_t i = n; i-- > 0;) {  // what passed node i downstream, from the end
        moved_[i] = out;
        const Index r = row(static_cast<Index>(i));
        out += after[r] - before[r];
        share = std::max(share, std::abs(moved_[i]) / (i > 0 ? after[r] : first_half));
    }
    const int parts = std::max(1, static_cast<int>(std::ceil(2.0 * share)));
    for (int part = 0; part < parts; ++part) {
        double upstream = 0.0;
        for (std::size_t i = 0; i < n; ++i) {
            const Index r = row(static_cast<Index>(i));
            const double whole =
                i > 0 ? before[r] + (after[r] - before[r]) * part / parts : first_half;
            const double in = moved_[i > 0 ? i - 1 : 0] / parts;
            const double gone = moved_[i] / parts;
            const double here = theta_[i];
            const double came = in >= 0.0 ? upstream : here;
            const double went = gone >= 0.0 || i + 1 == n ? here : theta_[i + 1];
            theta_[i] = (whole * here + in * came - gone * went) / (whole + in - gone);
            upstream = here;
        }
    }
    thin(duration);
}

double Chain::specific(double pressure) const {
    return 1.0 / volume_factor(liquid_, pressure);
}

double Chain::cylinder_density(double pressure) const {
    return cylinder_rho_ * specific(pressure);
}

double Chain::wall_volume(const Wall& wall, double pressure) const {
    return wall.weight * curves_[wall.curve](pressure);
}

double Chain::mass(Index node, double pressure, double x) const {
    double held = own_w0_[u(node)] + own_w1_[u(node)] * pressure -
                  wp_[u(node)] * gas_expansion(liquid_, pressure);
    if (node == 0) {
        held += cylinder_rho_ * area_ * (stroke_ - x);
    }
    for (const Wall& wall : walls_) {
        held += wall.node == u(node) ? wall_volume(wall, pressure) : 0.0;
    }
    return held * specific(pressure);
}

double Chain::held_mass(const double* block) const {
    if (!has_inertia()) {
        return Eigen::Map<const Eigen::VectorXd>(block, nodes()).sum();
    }
    double sum = 0.0;
    for (Index i = 0; i < nodes(); ++i) {
        sum += block[row(i)];
    }
    return sum;
}

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
// A stage may go past the end of the stroke, or ask for more liquid than is there: it counts as
// close to the end, or as next to no liquid; where it is no number at all nothing is done.
void Chain::find_pressures(const double* block, double x, bool piston_moves) {
    const Index n = nodes();
    if (has_inertia()) {
        for (Index i = 0; i < n; ++i) {
            asked_[u(i)] = block[row(i)];
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

// Mass flows of the links between nodes, and their slopes with the pressures at both ends.
template <bool WithJacobian>
void Chain::flow(const double* block, double fraction, double elapsed) {
    const std::size_t links = p_.size() - 1;
    const std::size_t first = has_inertia() ? pipes_.size() : 0;
    for (std::size_t j = 0; j < first; ++j) {
        w_[j] = block[2 * j + 1];
    }
    for (std::size_t j = first; j < links; ++j) {
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
            if (idles_) {
                dw_dt_[j] = rho * link.q * thin_rate_[j];
                const double thinner = thin_[j] + thin_rate_[j] * elapsed;
                link = {link.q * thinner, link.slope * thinner};
            }
        }
        w_[j] = rho * link.q;
        if constexpr (WithJacobian) {
            const double by_density = -w_[j] * dv_[up] * inv_v_[up];
            dw_up_[j] = rho * link.slope + (up == j ? by_density : 0.0);
            dw_down_[j] = -rho * link.slope + (up == j ? 0.0 : by_density);
            inner_rate_ = rho * by_fraction;
        }
    }
}

// Rates of the links' mass flows, and their slopes with both pressures and the flow itself.
template <bool WithJacobian>
void Chain::momentum(const double* block, double elapsed, double* rate) {
    for (std::size_t j = 0; has_inertia() && j < pipes_.size(); ++j) {
        const double w = block[2 * j + 1];
        const std::size_t up = w >= 0.0 ? j : j + 1;
        const double thinner = thin_[j] + thin_rate_[j] * elapsed;
        const double ease = link_rho_[j] * conductance_[j] * thinner;
        const double drag = 1.0 / (inv_v_[up] * ease);
        rate[2 * j + 1] = slimness_[j] * (p_[j] - p_[j + 1] - drag * w);
        if constexpr (WithJacobian) {
            const double by_density = -slimness_[j] * w * dv_[up] / ease;
            dw_up_[j] = slimness_[j] + (up == j ? by_density : 0.0);
            dw_down_[j] = -slimness_[j] + (up == j ? 0.0 : by_density);
            dw_own_[j] = -slimness_[j] * drag;
            dw_dt_[j] = slimness_[j] * drag * w * thin_rate_[j] / thinner;
        }
    }
}

// Rows of the masses and flows; dp/dm turns slopes with pressures into mass columns.
// @param first_by_p, last_by_p what else flows into the first and last node, by its pressure
void Chain::set_jacobian(double first_by_p, double last_by_p) {
    auto& [lower, diag, upper] = jac_;
    const Index last = nodes() - 1;
    const Index pipes = has_inertia() ? static_cast<Index>(pipes_.size()) : 0;
    // What flows between nodes by their pressures alone: all links, or that after the pipes.
    for (Index i = pipes; i <= last; ++i) {
        const Index r = pipes + i;
        double own = 0.0;
        if (i > pipes) {
            lower[r] = dw_up_[u(i - 1)] * dp_dm_[u(i - 1)];
            own += dw_down_[u(i - 1)];
        }
        if (i < last) {
            upper[r] = -dw_down_[u(i)] * dp_dm_[u(i + 1)];
            own -= dw_up_[u(i)];
        } else {
            own += last_by_p;
        }
        diag[r] = own * dp_dm_[u(i)];
    }
    for (Index j = 0; j < pipes; ++j) {
        const Index r = 2 * j;  // of the node before the link
        diag[r] = 0.0;
        upper[r] = -1.0;
        lower[r + 1] = dw_up_[u(j)] * dp_dm_[u(j)];
        diag[r + 1] = dw_own_[u(j)];
        upper[r + 1] = dw_down_[u(j)] * dp_dm_[u(j + 1)];
        lower[r + 2] = 1.0;
    }
    diag[0] += first_by_p * dp_dm_[0];
    // x moves p_0 and with it the first two rows.
    x_column_ = {(first_by_p - (pipes > 0 ? 0.0 : dw_up_[0])) * dp0_dx_, dw_up_[0] * dp0_dx_};
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

// What a link's change with time adds to df/dt.
void Chain::add_drift(double* g) const {
    for (Index j = 0; idles_ && j < static_cast<Index>(pipes_.size()); ++j) {
        if (has_inertia()) {
            g[2 * j + 1] += dw_dt_[u(j)];
        } else {
            g[j] -= dw_dt_[u(j)];
            g[j + 1] += dw_dt_[u(j)];
        }
    }
}

template void Chain::flow<false>(const double*, double, double);
template void Chain::flow<true>(const double*, double, double);
template void Chain::momentum<false>(const double*, double, double*);
template void Chain::momentum<true>(const double*, double, double*);

}  // namespace evenfront
