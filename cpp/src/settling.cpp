#include "evenfront/settling.hpp"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>

#include "evenfront/constants.hpp"
#include "evenfront/errors.hpp"

namespace evenfront {

namespace {

constexpr double highest_reynolds = 1000.0;  // of the drag law of schiller1933

void check_particle(
    const char* where, double diameter, double excess_density, double viscosity, double gravity) {
    require_positive(where, "diameter", diameter, "m");
    require(
        std::isfinite(excess_density), where, "excess_density", excess_density, "kg/m^3", "finite");
    require_positive(where, "viscosity", viscosity, "Pa s");
    require_positive(where, "gravity", gravity, "m/s^2");
}

void check_fraction(const char* where, double fraction) {
    require(fraction >= 0 && fraction <= 1, where, "fraction", fraction, "", "from 0 to 1");
}

}  // namespace

double stokes_velocity(double diameter, double excess_density, double viscosity, double gravity) {
    check_particle("stokes_velocity", diameter, excess_density, viscosity, gravity);
    return gravity * excess_density * diameter * diameter / (18.0 * viscosity);
}

double terminal_velocity(double diameter,
                         double excess_density,
                         double viscosity,
                         double liquid_density,
                         double gravity) {
    const auto* const where = "terminal_velocity";
    check_particle(where, diameter, excess_density, viscosity, gravity);
    require_positive(where, "liquid_density", liquid_density, "kg/m^3");
    const double creeping = stokes_velocity(diameter, excess_density, viscosity, gravity);
    const double creeping_reynolds = liquid_density * std::abs(creeping) * diameter / viscosity;
    if (creeping_reynolds == 0.0) {
        return creeping;
    }
    // In Reynolds numbers: Re (1 + 0.15 Re^0.687) = Re of creeping flow, rising in Re.
    const auto above = [&](double re) {
        return re * (1.0 + 0.15 * std::pow(re, 0.687)) - creeping_reynolds;
    };
    require(above(highest_reynolds) > 0,
            where,
            "Reynolds number of creeping flow",
            creeping_reynolds,
            "",
            "small enough for a Reynolds number below 1000");
    std::uintmax_t turns = 200;
    const auto close = [](double a, double b) { return b - a <= 1e-15 * b; };
    const auto [a, b] = boost::math::tools::toms748_solve(
        above, 0.0, std::min(creeping_reynolds, highest_reynolds), close, turns);
    return creeping * 0.5 * (a + b) / creeping_reynolds;
}

double filler_fraction(double weight_fraction, double filler_density, double liquid_density) {
    const auto* const where = "filler_fraction";
    require(weight_fraction >= 0 && weight_fraction <= 1,
            where,
            "weight_fraction",
            weight_fraction,
            "",
            "from 0 to 1");
    require_positive(where, "filler_density", filler_density, "kg/m^3");
    require_positive(where, "liquid_density", liquid_density, "kg/m^3");
    const double filler = weight_fraction / filler_density;
    return filler / (filler + (1.0 - weight_fraction) / liquid_density);
}

double hindered_settling(double fraction, double exponent) {
    check_fraction("hindered_settling", fraction);
    require_positive("hindered_settling", "exponent", exponent, "");
    return std::pow(1.0 - fraction, exponent);
}

double hindered_by_viscosity(double fraction) {
    check_fraction("hindered_by_viscosity", fraction);
    const double liquid = 1.0 - fraction;
    return liquid * liquid * std::pow(10.0, -1.82 * fraction);
}

double filled_viscosity(double fraction, double packing, double intrinsic) {
    require(packing > 0 && packing <= 1,
            "filled_viscosity",
            "packing",
            packing,
            "",
            "> 0 and at most 1");
    require(fraction >= 0 && fraction < packing,
            "filled_viscosity",
            "fraction",
            fraction,
            "",
            ">= 0 and below the packing");
    require_positive("filled_viscosity", "intrinsic", intrinsic, "");
    return std::pow(1.0 - fraction / packing, -intrinsic * packing);
}

double holding_yield_stress(double diameter, double excess_density) {
    require_positive("holding_yield_stress", "diameter", diameter, "m");
    require(std::isfinite(excess_density),
            "holding_yield_stress",
            "excess_density",
            excess_density,
            "kg/m^3",
            "finite");
    return 0.143 / 3.0 * std::abs(excess_density) * standard_gravity * diameter;
}

double idle_time(double velocity, double height, double share) {
    require_positive("idle_time", "velocity", velocity, "m/s");
    require_positive("idle_time", "height", height, "m");
    require(share > 0 && share <= 1, "idle_time", "share", share, "", "> 0 and at most 1");
    return share * height / velocity;
}

}  // namespace evenfront
