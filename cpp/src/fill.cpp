#include "evenfront/fill.hpp"

#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <numbers>

#include "evenfront/constants.hpp"
#include "evenfront/errors.hpp"

namespace evenfront {

double feed_flow(
    const ShearLaw& law, double tank_pressure, double bore, double length, double lowest) {
    require(lowest > -standard_pressure, "feed_flow", "lowest", lowest, "Pa", "> -101325 (gauge)");
    require(tank_pressure > lowest && std::isfinite(tank_pressure),
            "feed_flow",
            "tank_pressure",
            tank_pressure,
            "Pa",
            "above the lowest pressure allowed");
    return PipeFlow(law, bore, length)(tank_pressure - lowest).q;
}

double retract_speed(double feed_flow, double cylinder_bore) {
    require_not_negative("retract_speed", "feed_flow", feed_flow, "m^3/s");
    require_positive("retract_speed", "cylinder_bore", cylinder_bore, "m");
    return feed_flow / (std::numbers::pi / 4.0 * cylinder_bore * cylinder_bore);
}

double feed_bore(const ShearLaw& law, double flow, double pressure, double length) {
    require_positive("feed_bore", "flow", flow, "m^3/s");
    require_positive("feed_bore", "pressure", pressure, "Pa");
    require_positive("feed_bore", "length", length, "m");
    const double low = std::log(1e-4);
    const double high = std::log(1.0);
    const auto missing = [&](double x) {
        const double lost = PipeFlow(law, std::exp(x), length).pressure(flow);
        return std::log(lost / pressure);
    };
    require(missing(low) > 0 && missing(high) < 0,
            "feed_bore",
            "flow",
            flow,
            "m^3/s",
            "one that a bore of 0.1 mm to 1 m carries");
    std::uintmax_t turns = 200;
    const auto close = [](double a, double b) { return b - a <= 1e-14; };
    const auto [a, b] = boost::math::tools::toms748_solve(missing, low, high, close, turns);
    return std::exp(0.5 * (a + b));
}

double change_over_time(double volume, double heel, double flow) {
    require_positive("change_over_time", "volume", volume, "m^3");
    require(heel >= 0 && heel < 1, "change_over_time", "heel", heel, "", ">= 0 and < 1");
    require_positive("change_over_time", "flow", flow, "m^3/s");
    return volume * (1.0 - heel) / flow;
}

}  // namespace evenfront
