#include "evenfront/chain.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

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
