#include "cross_curve.hpp"

#include <algorithm>
#include <boost/math/quadrature/gauss.hpp>
#include <cmath>
#include <limits>

namespace evenfront::detail {

namespace {

constexpr double negligible =
    4e-9;  // share of a plateau's first correction; its square is round-off

// The flow curve without units at q = ln g.
struct Rate {
    double log_stress;  // ln t
    double local;       // d ln t/d ln g, the local index
};

Rate rate(const Cross& cross, double q) {
    const double r = cross.plateau_ratio;
    const double z = std::exp(cross.exponent * q);
    const double thinned = (1.0 - r) / (1.0 + z);
    const double viscosity = r + thinned;
    return {q + std::log(viscosity), 1.0 - cross.exponent * thinned * z / ((1.0 + z) * viscosity)};
}

// ln g at ln t; ln t is a smooth rising function of it, of slope 0.1 ... 1.
double log_rate(const Cross& cross, double log_stress, double guess) {
    double q = guess;
    for (int i = 0; i < 50; ++i) {
        const Rate at = rate(cross, q);
        const double step = (log_stress - at.log_stress) / at.local;
        q += step;
        if (!(std::abs(step) > 1e-15 * (1.0 + std::abs(q)))) {
            break;
        }
    }
    return q;
}

// Knots closer together where the flow curve bends sharply; 1e-7 of F at the worst.
double knot_spacing(const Cross& cross) {
    return std::min(0.25, 0.4 * least_local_index(cross));
}

struct Knot {
    double value;      // ln F
    double slope;      // by v
    double curvature;  // by v, twice
};

// Quintic in the share 0 ... 1 of an interval from both ends.
std::array<double, 6> quintic(const Knot& a, const Knot& b, double h) {
    const double c2 = 0.5 * h * h * a.curvature;
    const double rise = b.value - a.value - h * a.slope - c2;
    const double turn = h * (b.slope - a.slope) - 2.0 * c2;
    const double bend = h * h * b.curvature - 2.0 * c2;
    return {a.value,
            h * a.slope,
            c2,
            10.0 * rise - 4.0 * turn + 0.5 * bend,
            -15.0 * rise + 7.0 * turn - bend,
            6.0 * rise - 3.0 * turn + 0.5 * bend};
}

}  // namespace

CrossCurve::CrossCurve(const Cross& cross, int power)
    : exponent_(cross.exponent),
      log_limit_(cross.plateau_ratio > 0.0 ? -std::log(cross.plateau_ratio)
                                           : std::numeric_limits<double>::infinity()),
      spacing_(knot_spacing(cross)) {
    const double m = cross.exponent;
    const double r = cross.plateau_ratio;
    const double p1 = power + 1.0;
    first_ = std::log(negligible);
    const double high = (r > 0.0 ? (1.0 - r) / r : 1.0) / negligible;  // (lambda s)^m at the top
    const auto intervals = static_cast<std::size_t>(
        std::ceil((m * rate(cross, std::log(high) / m).log_stress - first_) / spacing_));
    last_ = first_ + spacing_ * static_cast<double>(intervals);

    // First terms at low stress: g = t (1 + (1 - r) t^m).
    double factor = 1.0 + p1 * (1.0 - r) / (p1 + m) * negligible;
    double log_stress = first_ / m;
    double q = log_rate(cross, log_stress, log_stress);
    const auto knot = [&] {
        const Rate at = rate(cross, q);
        const double a = p1 * std::exp(q - log_stress) / factor;  // d ln (F t^(p+1))/d ln t
        return Knot{.value = std::log(factor),
                    .slope = (a - p1) / m,
                    .curvature = a * (power + 1.0 / at.local - a) / (m * m)};
    };
    Knot before = knot();
    first_value_ = before.value;
    quintic_.reserve(intervals);
    // Steps of at most 0.5 in ln t: seven points then integrate t^4 to round-off.
    const int steps = static_cast<int>(std::ceil(spacing_ / (0.5 * m)));
    for (std::size_t i = 1; i <= intervals; ++i) {
        const double end = (first_ + spacing_ * static_cast<double>(i)) / m;
        const double width = (end - log_stress) / steps;
        for (int j = 0; j < steps; ++j) {
            const double next = j + 1 == steps ? end : log_stress + width;
            const double q_next =
                log_rate(cross, next, q + (next - log_stress) / rate(cross, q).local);
            // u^p g d ln u over t^(p+1), all relative to the new end.
            const double added = boost::math::quadrature::gauss<double, 7>::integrate(
                [&](double x) {
                    const Rate at = rate(cross, x);
                    return std::exp(power * (at.log_stress - next) + x - next) * at.local;
                },
                q,
                q_next);
            factor = factor * std::exp(p1 * (log_stress - next)) + p1 * added;
            log_stress = next;
            q = q_next;
        }
        const Knot after = knot();
        quintic_.push_back(quintic(before, after, spacing_));
        before = after;
    }
    last_value_ = before.value;
    last_slope_ = m * before.slope;
}

CrossCurve::Value CrossCurve::operator()(double log_stress) const {
    const double v = exponent_ * log_stress;
    if (!(v > first_)) {
        const double value = first_value_ * std::exp(v - first_);
        return {value, exponent_ * value};
    }
    if (v >= last_) {
        if (std::isinf(log_limit_)) {
            // A power law of index n = 1 - m, approached as (lambda s)^-m = exp(-v/n).
            const double n = 1.0 - exponent_;
            const double limit = 1.0 / n - 1.0;
            const double left = limit - last_slope_;
            const double decayed = std::exp((last_ - v) / n);
            return {last_value_ + limit * (v - last_) / exponent_ -
                        left * n / exponent_ * (1.0 - decayed),
                    limit - left * decayed};
        }
        const double left = (log_limit_ - last_value_) * std::exp(last_ - v);
        return {log_limit_ - left, exponent_ * left};
    }
    const double place = (v - first_) / spacing_;
    const auto i = std::min(static_cast<std::size_t>(place), quintic_.size() - 1);
    const double x = place - static_cast<double>(i);
    const auto& c = quintic_[i];
    const double value = c[0] + x * (c[1] + x * (c[2] + x * (c[3] + x * (c[4] + x * c[5]))));
    const double slope =
        c[1] + x * (2.0 * c[2] + x * (3.0 * c[3] + x * (4.0 * c[4] + x * 5.0 * c[5])));
    return {value, slope * exponent_ / spacing_};
}

}  // namespace evenfront::detail
