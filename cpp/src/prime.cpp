#include "evenfront/prime.hpp"

#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <limits>
#include <numbers>

#include "evenfront/errors.hpp"

namespace evenfront {

using std::numbers::pi;

namespace {

void check_hose(const char* where, double pressure, double bore) {
    require_positive(where, "pressure", pressure, "Pa");
    require_positive(where, "bore", bore, "m");
}

}  // namespace

double prime_reach(const ShearLaw& law, double pressure, double bore) {
    check_hose("prime_reach", pressure, bore);
    return law.yield_stress > 0.0 ? pressure * bore / (4.0 * law.yield_stress)
                                  : std::numeric_limits<double>::infinity();
}

double prime_time(const ShearLaw& law, double pressure, double bore, double length) {
    check_hose("prime_time", pressure, bore);
    require_positive("prime_time", "length", length, "m");
    const double n = law.index;
    if (law.yield_stress == 0.0 && !law.cross) {
        const double radius = bore / 2.0;
        return (3.0 * n + 1.0) / ((n + 1.0) * radius) *
               std::pow(2.0 * law.consistency / (pressure * radius), 1.0 / n) *
               std::pow(length, (n + 1.0) / n);
    }
    require(length < prime_reach(law, pressure, bore),
            "prime_time",
            "length",
            length,
            "m",
            "short enough that the yield stress does not stop the front");
    const double bore_area = pi / 4.0 * bore * bore;
    const auto slowness = [&](double x) { return bore_area / PipeFlow(law, bore, x)(pressure).q; };
    return boost::math::quadrature::gauss_kronrod<double, 31>::integrate(
        slowness, 0.0, length, 15, 1e-10);
}

double film_left(double capillary) {
    require(capillary >= 0, "film_left", "capillary", capillary, "", ">= 0");
    const double scaled = std::cbrt(capillary * capillary);
    const double film = std::isinf(scaled) ? 1.34 / 3.35 : 1.34 * scaled / (1.0 + 3.35 * scaled);
    return 1.0 - (1.0 - film) * (1.0 - film);
}

double laminar_washout(double volumes, double index) {
    require(volumes >= 0, "laminar_washout", "volumes", volumes, "", ">= 0");
    require(index >= 0.1 && index <= 1, "laminar_washout", "index", index, "", "from 0.1 to 1");
    const double fastest = (3.0 * index + 1.0) / (index + 1.0);  // centre over mean velocity
    if (volumes * fastest <= 1.0) {
        return 0.0;
    }
    const double m = (index + 1.0) / index;
    const double y = std::pow(1.0 - 1.0 / (fastest * volumes), 1.0 / m);
    return fastest * (y * y - 2.0 * std::pow(y, m + 2.0) / (m + 2.0));
}

double purge_volumes(double share, double index) {
    require(share >= 0 && share <= 0.9999, "purge_volumes", "share", share, "", "from 0 to 0.9999");
    const double first = (index + 1.0) / (3.0 * index + 1.0);
    const auto missing = [&](double volumes) { return laminar_washout(volumes, index) - share; };
    if (!(missing(first) < 0.0)) {
        return first;
    }
    double high = 2.0 * first;
    while (missing(high) < 0.0) {
        high *= 2.0;
    }
    std::uintmax_t turns = 200;
    const auto close = [](double a, double b) { return b - a <= 1e-14 * b; };
    const auto [a, b] = boost::math::tools::toms748_solve(missing, first, high, close, turns);
    return 0.5 * (a + b);
}

}  // namespace evenfront
