#include "evenfront/stiffness.hpp"

#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <numbers>

#include "evenfront/constants.hpp"
#include "evenfront/errors.hpp"

namespace evenfront {

using std::numbers::pi;

namespace {

double leaked_share(const char* where, double leak, double pressure, double flow) {
    require_not_negative(where, "leak", leak, "m^3/(s Pa)");
    require_not_negative(where, "pressure", pressure, "Pa");
    require_positive(where, "flow", flow, "m^3/s");
    const double share = leak * pressure / flow;
    require(share < 1, where, "leak times pressure over flow", share, "", "below 1");
    return share;
}

}  // namespace

double elastic_wall_expansion(double young, double poisson, double bore, double outside) {
    const auto* const where = "elastic_wall_expansion";
    require_positive(where, "young", young, "Pa");
    require(poisson >= 0 && poisson <= 0.5, where, "poisson", poisson, "", "from 0 to 0.5");
    require_positive(where, "bore", bore, "m");
    require(outside > bore && std::isfinite(outside),
            where,
            "outside",
            outside,
            "m",
            "more than the bore");
    const double inner = bore * bore;
    const double outer = outside * outside;
    const double softness = 2.0 / young * ((outer + inner) / (outer - inner) + poisson);
    return pi / 4.0 * inner * softness;
}

double wall_modulus(double bore, double wall_expansion) {
    require_positive("wall_modulus", "bore", bore, "m");
    require_positive("wall_modulus", "wall_expansion", wall_expansion, "m^3/(Pa m)");
    return pi / 4.0 * bore * bore / wall_expansion;
}

double stall_volume(
    const Liquid& liquid, double pressure, double volume, double capacity, double pocket) {
    validate(liquid);
    require_not_negative("stall_volume", "pressure", pressure, "Pa");
    require_not_negative("stall_volume", "volume", volume, "m^3");
    require_not_negative("stall_volume", "capacity", capacity, "m^3/Pa");
    require_not_negative("stall_volume", "pocket", pocket, "m^3");
    return volume * (1.0 - volume_factor(liquid, pressure)) + capacity * pressure +
           pocket * (1.0 - gas_expansion(liquid, pressure));
}

double blocked_in_pressure(const Liquid& liquid, double start, double end, double wall_softness) {
    validate(liquid);
    require_positive("blocked_in_pressure", "start", start, "K");
    require(end >= start && std::isfinite(end),
            "blocked_in_pressure",
            "end",
            end,
            "K",
            "at least `start`");
    require_not_negative("blocked_in_pressure", "wall_softness", wall_softness, "1/Pa");
    const double shut_in = density(liquid, 0.0, start);
    const auto spare_room = [&](double p) {
        return density(liquid, p, end) * (1.0 + wall_softness * p) / shut_in - 1.0;
    };
    if (!(spare_room(0.0) < 0.0)) {
        return 0.0;
    }
    double high = 1e5;
    while (spare_room(high) < 0.0) {
        high *= 2.0;
    }
    std::uintmax_t turns = 100;
    const auto close = [](double a, double b) { return b - a <= 1e-14 * std::abs(b); };
    const auto [a, b] = boost::math::tools::toms748_solve(spare_room, 0.0, high, close, turns);
    return 0.5 * (a + b);
}

double hardener_leak_error(double leak, double pressure, double flow) {
    return -leaked_share("hardener_leak_error", leak, pressure, flow);
}

double resin_leak_error(double leak, double pressure, double flow) {
    const double share = leaked_share("resin_leak_error", leak, pressure, flow);
    return share / (1.0 - share);
}

double pressure_for_leak(double leak, double flow, double share) {
    require_positive("pressure_for_leak", "leak", leak, "m^3/(s Pa)");
    require_positive("pressure_for_leak", "flow", flow, "m^3/s");
    require(share > 0 && share < 1, "pressure_for_leak", "share", share, "", "> 0 and < 1");
    return share * flow / leak;
}

}  // namespace evenfront
