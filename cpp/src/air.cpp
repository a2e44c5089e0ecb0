#include "evenfront/air.hpp"

#include <algorithm>
#include <boost/math/tools/roots.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <numbers>
#include <tuple>

#include "evenfront/constants.hpp"

namespace evenfront {

using std::numbers::pi;

namespace {

constexpr double straight_from = 0.999;  // pressure ratio from which psi is a straight line

struct Factor {
    double value, slope;  // psi and d psi/dr
};

Factor flow_factor(double critical_ratio, double ratio) {
    if (ratio <= critical_ratio) {
        return {1.0, 0.0};
    }
    const auto curve = [&](double r) {
        const double beyond = (r - critical_ratio) / (1.0 - critical_ratio);
        return std::sqrt((1.0 - beyond) * (1.0 + beyond));
    };
    if (ratio >= straight_from) {
        const double end = curve(straight_from) / (1.0 - straight_from);
        return {end * (1.0 - ratio), -end};
    }
    const double value = curve(ratio);
    const double width = 1.0 - critical_ratio;
    return {value, -(ratio - critical_ratio) / (width * width * value)};
}

// What passes from the higher pressure `up` to the lower one `down`.
AirFlow forward(const AirPath& path, double up, double down, double temperature) {
    const double scale = path.conductance * reference_air_density *
                         std::sqrt(reference_air_temperature / temperature);
    const double ratio = down / up;
    const auto [value, slope] = flow_factor(path.critical_ratio, ratio);
    return {scale * up * value, scale * (value - ratio * slope), scale * slope};
}

}  // namespace

AirFlow air_flow(const AirPath& path, double first, double second, double temperature) {
    if (first >= second) {
        return forward(path, first, second, temperature);
    }
    const AirFlow back = forward(path, second, first, temperature);
    return {-back.mass_flow, -back.by_second, -back.by_first};
}

AirFlow supply_flow(const AirCylinder& air, double chamber) {
    const double set = air.pressure + standard_pressure;
    const auto fed_at = [&](double pressure) {
        return air_flow(air.supply, pressure, chamber, air.temperature);
    };
    if (air.droop == 0.0 || chamber >= set) {
        const AirFlow flow = fed_at(set);
        return {flow.mass_flow, 0.0, flow.by_second};
    }
    // Rising in w: w less what passes at the pressure that w leaves.
    const double loss = air.droop / (reference_air_density * air.droop_flow);
    const double most = std::min(fed_at(set).mass_flow, (set - chamber) / loss);
    std::uintmax_t turns = 60;
    const double flow = boost::math::tools::newton_raphson_iterate(
        [&](double w) {
            const AirFlow passed = fed_at(set - loss * w);
            return std::make_tuple(w - passed.mass_flow, 1.0 + loss * passed.by_first);
        },
        0.5 * most,
        0.0,
        most,
        50,
        turns);
    const AirFlow passed = fed_at(set - loss * flow);
    return {flow, 0.0, passed.by_second / (1.0 + loss * passed.by_first)};
}

double driving_area(const AirCylinder& air) {
    return pi / 4.0 * air.bore * air.bore;
}

double exhausting_area(const AirCylinder& air) {
    return pi / 4.0 * (air.bore * air.bore - air.rod_bore * air.rod_bore);
}

double air_force(const AirCylinder& air, double driving, double exhausting) {
    return driving_area(air) * (driving - standard_pressure) -
           exhausting_area(air) * (exhausting - standard_pressure);
}

double steady_air_force(const AirCylinder& air, double speed) {
    const double set = air.pressure + standard_pressure;
    const double heat = gas_constant_air * air.temperature;
    const auto root = [](auto&& g, double low, double high) {
        std::uintmax_t turns = 200;
        const auto [a, b] = boost::math::tools::toms748_solve(
            g, low, high, boost::math::tools::eps_tolerance<double>(52), turns);
        return 0.5 * (a + b);
    };
    if (!(speed > 0.0)) {
        return air_force(air, set, standard_pressure);
    }
    const double driving = root(
        [&](double p) {
            return p * driving_area(air) * speed - heat * supply_flow(air, p).mass_flow;
        },
        1e-9 * set,
        set);
    const auto too_full = [&](double p) {
        return heat * air_flow(air.exhaust, p, standard_pressure, air.temperature).mass_flow -
               p * exhausting_area(air) * speed;
    };
    // Choked, the way out carries in proportion to the pressure and there is no balance at all.
    double high = 2.0 * standard_pressure;
    while (too_full(high) < 0.0 && high < 1e9) {
        high *= 2.0;
    }
    if (too_full(high) < 0.0) {
        return -exhausting_area(air) * high;
    }
    return air_force(air, driving, root(too_full, standard_pressure, high));
}

}  // namespace evenfront
