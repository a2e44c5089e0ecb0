#include "evenfront/throttle.hpp"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include "evenfront/errors.hpp"

namespace evenfront {

using std::numbers::pi;

double needle_gap(const Throttle& throttle) {
    return throttle.turns * throttle.pitch * std::sin(throttle.half_angle);
}

double gap_reynolds_number(const Throttle& throttle,
                           const ShearLaw& law,
                           double density,
                           double flow) {
    const bool needle = throttle.kind == ThrottleKind::needle;
    if (throttle.kind == ThrottleKind::flow_coefficient || !(throttle.seat_bore > 0.0) ||
        !(needle || is_newtonian(law))) {
        return std::numeric_limits<double>::quiet_NaN();
    }
    const double per_width = std::abs(flow) / (pi * throttle.seat_bore);
    if (is_newtonian(law)) {
        return density * per_width / law.consistency;
    }
    if (per_width == 0.0) {
        return 0.0;
    }
    const double gap = needle_gap(throttle);
    return density * per_width / apparent_viscosity(law, 6.0 * per_width / (gap * gap));
}

double log_resistance(const Throttle& throttle) {
    switch (throttle.kind) {
        case ThrottleKind::needle:
            return -3.0 * std::log(throttle.turns);
        case ThrottleKind::flow_coefficient:
            return -2.0 * std::log(flow_coefficient(throttle));
        case ThrottleKind::resistance:
            break;
    }
    return std::log(throttle.resistance);
}

Throttle with_log_resistance(Throttle throttle, double value) {
    if (throttle.kind != ThrottleKind::flow_coefficient) {
        const bool needle = throttle.kind == ThrottleKind::needle;
        return with_setting(throttle, std::exp(needle ? value / -3.0 : value));
    }
    const auto [low, high] = opening_ends(throttle.valve.value());
    const auto excess = [&](double opening) {
        return value - log_resistance(with_setting(throttle, opening));
    };
    if (!(excess(low) < 0.0)) {
        return with_setting(throttle, low);
    }
    if (!(excess(high) > 0.0)) {
        return with_setting(throttle, high);
    }
    std::uintmax_t turns = 200;
    const auto [a, b] = boost::math::tools::toms748_solve(
        excess, low, high, boost::math::tools::eps_tolerance<double>(50), turns);
    return with_setting(throttle, 0.5 * (a + b));
}

ThrottleFlow::ThrottleFlow(const Throttle& throttle, const ShearLaw& law, double density)
    : resistance_(throttle.resistance) {
    if (throttle.kind == ThrottleKind::flow_coefficient) {
        if (!is_newtonian(law)) {
            throw std::domain_error("ThrottleFlow: a flow coefficient needs a Newtonian liquid");
        }
        valve_.emplace(throttle, law.consistency, density);
        return;
    }
    if (throttle.kind != ThrottleKind::needle) {
        return;
    }
    const double gap = needle_gap(throttle);
    const double width = pi * throttle.seat_bore;
    const double area = throttle.discharge_coefficient * width * gap;
    slit_.emplace(law, width, gap, throttle.land_length);
    kinetic_ = density / (2.0 * area * area);
    if (is_newtonian(law)) {
        newtonian_ = (*slit_)(1.0).slope;
    }
}

Flow ThrottleFlow::operator()(double dp, double series) const {
    if (valve_) {
        return (*valve_)(dp, series);
    }
    if (!slit_) {
        const double conductance = 1.0 / (resistance_ + series);
        return {dp * conductance, conductance};
    }
    const double drop = std::abs(dp);
    if (newtonian_ > 0.0) {
        const double linear = 1.0 / newtonian_ + series;
        const double root = std::sqrt(linear * linear + 4.0 * kinetic_ * drop);
        return {std::copysign(2.0 * drop / (linear + root), dp), 1.0 / root};
    }
    // s = pressure over the slit: s + kinetic Q^2 + series Q = dp is convex and rising in s, so
    // Newton from s = dp falls to the root without overshoot.
    double s = drop;
    for (int i = 0; i < 200; ++i) {
        const Flow slit = (*slit_)(s);
        const double excess = s + (kinetic_ * slit.q + series) * slit.q - drop;
        const double step = excess / (1.0 + (2.0 * kinetic_ * slit.q + series) * slit.slope);
        s -= step;
        if (!(std::abs(step) > 1e-15 * drop)) {
            break;
        }
    }
    const Flow slit = (*slit_)(s);
    const double slope = slit.slope / (1.0 + (2.0 * kinetic_ * slit.q + series) * slit.slope);
    return {std::copysign(slit.q, dp), slope};
}

double ThrottleFlow::pressure(double q) const {
    if (valve_) {
        return valve_->pressure(q);
    }
    return slit_ ? slit_->pressure(q) + kinetic_ * q * std::abs(q) : resistance_ * q;
}

double ThrottleFlow::yield_pressure() const {
    return slit_ ? slit_->yield_pressure() : 0.0;
}

Restriction::Restriction(std::optional<ThrottleFlow> throttle,
                         std::optional<Shutoff> shutoff,
                         std::optional<double> opening_pressure)
    : throttle_(std::move(throttle)),
      shutoff_resistance_(shutoff ? shutoff->resistance : 0.0),
      exponent_(shutoff ? shutoff->exponent : 1.0),
      opening_pressure_(opening_pressure) {}

Restriction::Result Restriction::operator()(double dp, double fraction) const {
    if (opening_pressure_) {
        dp -= *opening_pressure_;
        if (!(dp > 0.0)) {
            return {};
        }
    }
    if (shutoff_resistance_ == 0.0) {
        const Flow flow = (*throttle_)(dp);
        return {flow.q, flow.slope, 0.0};
    }
    if (!(fraction > 0.0)) {
        // The first movement from closed: q = dp f^m/r_s to leading order, less what the throttle's
        // yield stress holds back.
        const double held = throttle_ ? throttle_->yield_pressure() : 0.0;
        const double beyond = std::max(std::abs(dp) - held, 0.0);
        const double by_fraction =
            exponent_ == 1.0 ? std::copysign(beyond, dp) / shutoff_resistance_ : 0.0;
        return {0.0, 0.0, by_fraction};
    }
    const double series =
        shutoff_resistance_ / (exponent_ == 1.0 ? fraction : std::pow(fraction, exponent_));
    const Flow flow = throttle_ ? (*throttle_)(dp, series) : Flow{dp / series, 1.0 / series};
    // d(series)/df = -m series/f, and dq/d(series) = -q dq/d(dp).
    return {flow.q, flow.slope, flow.q * flow.slope * exponent_ * series / fraction};
}

double Restriction::pressure(double q) const {
    return (throttle_ ? throttle_->pressure(q) : 0.0) + shutoff_resistance_ * q +
           opening_pressure_.value_or(0.0);
}

double Restriction::yield_pressure() const {
    return (throttle_ ? throttle_->yield_pressure() : 0.0) + opening_pressure_.value_or(0.0);
}

}  // namespace evenfront
