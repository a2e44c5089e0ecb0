#pragma once
#include <vector>

/// Smooth curve through the few points of a data sheet that never overshoots them.
namespace evenfront {

/// Piecewise cubic with a continuous slope, rising or falling wherever the points do.
/// Slopes: weighted harmonic mean of the neighbouring secants, three-point formula at the ends,
/// limited; two points give their straight line. Beyond the ends: straight on with the end slopes.
/// Source: fritsch1984 (inside), moler2004, ch. 3 (ends).
class MonotoneCubic {
public:
    /// @param x strictly rising, at least 2; @param y one value each
    /// @throws std::invalid_argument if the sizes differ or are below 2
    /// @throws std::domain_error if x does not rise or a value is not finite
    MonotoneCubic(std::vector<double> x, std::vector<double> y);

    [[nodiscard]] double operator()(double x) const;
    [[nodiscard]] double slope(double x) const;  ///< dy/dx

private:
    [[nodiscard]] std::size_t interval(double x) const;

    std::vector<double> x_;
    std::vector<double> y_;
    std::vector<double> slope_;
};

}  // namespace evenfront
