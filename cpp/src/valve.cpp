#include "evenfront/valve.hpp"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <numbers>

#include "evenfront/errors.hpp"
#include "evenfront/monotone_cubic.hpp"

namespace evenfront {

namespace {

// The standard's numerical constants, for C as Kv in m^3/h, flow in m^3/h, d in mm, nu in m^2/s.
constexpr double n2 = 0.0016;
constexpr double n4 = 0.0707;
constexpr double n18 = 0.865;
constexpr double n32 = 140.0;
constexpr double small_trim = 0.016;       // of C/(N18 d^2); the sense from memory
constexpr double turbulent_at = 1e4;       // Re_v from which F_R is 1
constexpr double water_density = 999.103;  // [kg/m^3], of the definition of Kv

// The throttle in the standard's units.
struct Sized {
    double c;  // Kv [m^3/h]
    double d;  // [mm]
    double recovery;
};

Sized sized(const Throttle& throttle) {
    const double unit = std::sqrt(water_density / 1e5) / 3600.0;  // A_v of one Kv
    return {.c = flow_coefficient(throttle) / unit,
            .d = throttle.seat_bore * 1e3,
            .recovery = throttle.valve->recovery};
}

// Re_v is proportional to the flow; this is Re_v for 1 m^3/s.
double reynolds_per_flow(const Throttle& throttle, double kinematic_viscosity) {
    const auto [c, d, recovery] = sized(throttle);
    const double approach = recovery * recovery * c * c / (n2 * std::pow(d, 4)) + 1.0;
    const double unit = 3600.0 / kinematic_viscosity;
    return n4 * throttle.valve->style_modifier * unit / std::sqrt(c * recovery) *
           std::pow(approach, 0.25);
}

// Both branches of F_R: `laminar` times sqrt(Re_v), and 1 + steepness ln(Re_v/10000).
struct Factor {
    double laminar;
    double steepness;
    double meeting;  // Re_v at which they meet, the upper one
    double full;     // Re_v from which F_R is 1
};

Factor factor(const Throttle& throttle) {
    const auto [c, d, recovery] = sized(throttle);
    const double trim = c / (d * d);
    const double n =
        trim / n18 < small_trim ? 1.0 + n32 * std::cbrt(trim * trim) : n2 / (trim * trim);
    Factor f{.laminar = 0.026 / recovery * std::sqrt(n),
             .steepness = 0.33 * std::sqrt(recovery) / std::pow(n, 0.25) / std::numbers::ln10,
             .meeting = 0.0,
             .full = turbulent_at};
    const double capped = 1.0 / (f.laminar * f.laminar);  // where the laminar line reaches 1
    const auto above = [&](double x) {
        return 1.0 + f.steepness * (x - std::log(turbulent_at)) - f.laminar * std::exp(0.5 * x);
    };
    // The transitional line stands highest over the laminar one where their slopes agree.
    const double best = 2.0 * std::log(2.0 * f.steepness / f.laminar);
    if (capped >= turbulent_at || !(above(best) > 0.0)) {
        // Trims so open that the laminar line alone leads to 1.
        f.meeting = f.full = capped;
        return f;
    }
    std::uintmax_t turns = 200;
    const auto [a, b] = boost::math::tools::toms748_solve(
        above, best, std::log(turbulent_at), boost::math::tools::eps_tolerance<double>(50), turns);
    f.meeting = std::exp(0.5 * (a + b));
    return f;
}

}  // namespace

OpeningEnds opening_ends(const ControlValve& valve) {
    if (valve.characteristic == Characteristic::table) {
        return {valve.openings.front(), valve.openings.back()};
    }
    return {0.0, valve.full_turns > 0.0 ? valve.full_turns : 1.0};
}

double flow_coefficient(const Throttle& throttle) {
    const ControlValve& valve = throttle.valve.value();
    const auto [low, high] = opening_ends(valve);
    require(throttle.opening >= low && throttle.opening <= high,
            "flow_coefficient",
            "opening",
            throttle.opening,
            "",
            "within the valve's table or travel");
    const double share = throttle.opening / high;
    switch (valve.characteristic) {
        case Characteristic::equal_percentage:
            return valve.rated * std::pow(valve.rangeability, share - 1.0);
        case Characteristic::linear:
            return valve.rated * (1.0 + (valve.rangeability - 1.0) * share) / valve.rangeability;
        case Characteristic::table:
            break;
    }
    std::vector<double> logarithms(valve.coefficients.size());
    std::transform(
        valve.coefficients.begin(), valve.coefficients.end(), logarithms.begin(), [](double a) {
            return std::log(a);
        });
    return std::exp(MonotoneCubic(valve.openings, std::move(logarithms))(throttle.opening));
}

double valve_reynolds_number(const Throttle& throttle, double flow, double kinematic_viscosity) {
    const auto* const where = "valve_reynolds_number";
    require_not_negative(where, "flow", flow, "m^3/s");
    require_positive(where, "kinematic_viscosity", kinematic_viscosity, "m^2/s");
    return flow * reynolds_per_flow(throttle, kinematic_viscosity);
}

double reynolds_factor(const Throttle& throttle, double reynolds_number) {
    require(
        reynolds_number >= 0, "reynolds_factor", "reynolds_number", reynolds_number, "", ">= 0");
    const Factor f = factor(throttle);
    if (reynolds_number >= f.full) {
        return 1.0;
    }
    return reynolds_number <= f.meeting
               ? f.laminar * std::sqrt(reynolds_number)
               : 1.0 + f.steepness * std::log(reynolds_number / turbulent_at);
}

double choking_drop(const ControlValve& valve, double inlet, double vapour, double critical) {
    const auto* const where = "choking_drop";
    require_positive(where, "inlet", inlet, "Pa");
    require_positive(where, "critical", critical, "Pa");
    require(vapour >= 0 && vapour <= critical, where, "vapour", vapour, "Pa", "from 0 to critical");
    const double ratio = 0.96 - 0.28 * std::sqrt(vapour / critical);
    return valve.recovery * valve.recovery * (inlet - ratio * vapour);
}

ValveFlow::ValveFlow(const Throttle& throttle, double viscosity, double density) {
    require_positive("ValveFlow", "viscosity", viscosity, "Pa s");
    require_positive("ValveFlow", "density", density, "kg/m^3");
    const double area = flow_coefficient(throttle);
    const double per_flow = reynolds_per_flow(throttle, viscosity / density);
    const Factor f = factor(throttle);
    turbulent_ = density / (area * area);
    laminar_ = turbulent_ / (f.laminar * f.laminar * per_flow);
    steepness_ = f.steepness;
    meeting_ = f.meeting / per_flow;
    full_ = f.full / per_flow;
}

ValveFlow::Loss ValveFlow::loss(double q) const {
    if (q <= meeting_) {
        return {laminar_ * q, laminar_};
    }
    if (q >= full_) {
        return {turbulent_ * q * q, 2.0 * turbulent_ * q};
    }
    const double left = 1.0 + steepness_ * std::log(q / full_);
    const double pressure = turbulent_ * q * q / (left * left);
    return {pressure, 2.0 * pressure / q * (1.0 - steepness_ / left)};
}

double ValveFlow::pressure(double q) const {
    return std::copysign(loss(std::abs(q)).pressure, q);
}

Flow ValveFlow::operator()(double dp, double series) const {
    const double drop = std::abs(dp);
    const auto conductance = [&](double q) { return 1.0 / (loss(q).slope + series); };
    double q = drop / (laminar_ + series);
    if (q > meeting_) {
        // Turbulent throughout, q is the root of a quadratic.
        const double root = std::sqrt(series * series + 4.0 * turbulent_ * drop);
        q = 2.0 * drop / (series + root);
        if (q < full_) {
            // The loss rises with q to a power of 1 ... 2: Newton between both ends.
            double low = meeting_;
            double high = full_;
            q = std::clamp(q, low, high);
            for (int i = 0; i < 200; ++i) {
                const Loss at = loss(q);
                const double excess = at.pressure + series * q - drop;
                (excess > 0.0 ? high : low) = q;
                const double newton = q - excess / (at.slope + series);
                const double next = newton >= low && newton <= high ? newton : 0.5 * (low + high);
                const bool done = !(std::abs(next - q) > 1e-15 * q);
                q = next;
                if (done) {
                    break;
                }
            }
        }
    }
    return {std::copysign(q, dp), conductance(q)};
}

}  // namespace evenfront
