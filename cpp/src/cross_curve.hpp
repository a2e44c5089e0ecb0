#pragma once
#include <array>
#include <vector>

#include "evenfront/rheology.hpp"

namespace evenfront::detail {

/// Flow of a Cross liquid through a duct over that of a Newtonian one of viscosity eta_0,
///   F(t) = (p+1)/t^(p+1) int_0^t u^(p-1) g(u) du, p = 3 round bore, p = 2 slit,
/// t = tau_w lambda/eta_0 and g = lambda s the stress and rate without units. ln F is tabulated
/// against v = m ln t, in which both plateaus are approached as exp(-|v|), and joined by quintics
/// through value, slope and curvature, all three exact; relative error of F below 1e-7.
/// Depends on exponent and plateau ratio alone: temperature and size only shift t.
/// Source: Rabinowitsch integral (chhabra2008); cross1965.
class CrossCurve {
public:
    CrossCurve(const Cross& cross, int power);

    struct Value {
        double log_factor;  ///< ln F
        double slope;       ///< d ln F/d ln t, >= 0
    };
    [[nodiscard]] Value operator()(double log_stress) const;  ///< at ln t

private:
    double exponent_;
    double log_limit_;  // of F at the upper plateau; infinite without one
    double first_;      // v of the first and last knot
    double last_;
    double first_value_ = 0.0;  // ln F there
    double last_value_ = 0.0;
    double spacing_;
    double last_slope_ = 0.0;                     // d ln F/d ln t
    std::vector<std::array<double, 6>> quintic_;  // one per interval, in its share 0 ... 1
};

}  // namespace evenfront::detail
