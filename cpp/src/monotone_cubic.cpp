#include "evenfront/monotone_cubic.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

#include "evenfront/errors.hpp"

namespace evenfront {

namespace {

// Slope at the first of three points from the widths and secants of the two intervals.
double end_slope(double h0, double h1, double d0, double d1) {
    const double slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
    if (!(slope * d0 > 0.0)) {
        return 0.0;
    }
    return d0 * d1 <= 0.0 && std::abs(slope) > 3.0 * std::abs(d0) ? 3.0 * d0 : slope;
}

}  // namespace

MonotoneCubic::MonotoneCubic(std::vector<double> x, std::vector<double> y)
    : x_(std::move(x)), y_(std::move(y)) {
    const auto* const where = "MonotoneCubic";
    const std::size_t n = x_.size();
    if (n < 2 || y_.size() != n) {
        throw std::invalid_argument("MonotoneCubic: x and y must have the same size, at least 2");
    }
    std::vector<double> width(n - 1);
    std::vector<double> secant(n - 1);
    for (std::size_t i = 0; i < n; ++i) {
        require(std::isfinite(y_[i]), where, "y", y_[i], "", "finite");
        require(std::isfinite(x_[i]) && (i == 0 || x_[i] > x_[i - 1]),
                where,
                "x",
                x_[i],
                "",
                "finite and above the one before");
    }
    for (std::size_t i = 0; i + 1 < n; ++i) {
        width[i] = x_[i + 1] - x_[i];
        secant[i] = (y_[i + 1] - y_[i]) / width[i];
    }
    slope_.assign(n, secant[0]);
    if (n == 2) {
        return;
    }
    slope_[0] = end_slope(width[0], width[1], secant[0], secant[1]);
    slope_[n - 1] = end_slope(width[n - 2], width[n - 3], secant[n - 2], secant[n - 3]);
    for (std::size_t i = 1; i + 1 < n; ++i) {
        const double before = 2.0 * width[i] + width[i - 1];
        const double after = width[i] + 2.0 * width[i - 1];
        slope_[i] = secant[i - 1] * secant[i] > 0.0
                        ? (before + after) / (before / secant[i - 1] + after / secant[i])
                        : 0.0;
    }
}

std::size_t MonotoneCubic::interval(double x) const {
    const auto after = std::upper_bound(x_.begin() + 1, x_.end() - 1, x);
    return static_cast<std::size_t>(after - x_.begin()) - 1;
}

double MonotoneCubic::operator()(double x) const {
    if (x <= x_.front()) {
        return y_.front() + slope_.front() * (x - x_.front());
    }
    if (x >= x_.back()) {
        return y_.back() + slope_.back() * (x - x_.back());
    }
    const std::size_t i = interval(x);
    const double h = x_[i + 1] - x_[i];
    const double s = (x - x_[i]) / h;
    const double rise = y_[i + 1] - y_[i];
    const double a = h * slope_[i] - rise;
    const double b = rise - h * slope_[i + 1];
    return y_[i] + s * (rise + (1.0 - s) * (a * (1.0 - s) + b * s));
}

double MonotoneCubic::slope(double x) const {
    if (x <= x_.front()) {
        return slope_.front();
    }
    if (x >= x_.back()) {
        return slope_.back();
    }
    const std::size_t i = interval(x);
    const double h = x_[i + 1] - x_[i];
    const double s = (x - x_[i]) / h;
    const double secant = (y_[i + 1] - y_[i]) / h;
    return secant + (1.0 - s) * (1.0 - 3.0 * s) * (slope_[i] - secant) +
           s * (3.0 * s - 2.0) * (slope_[i + 1] - secant);
}

}  // namespace evenfront
