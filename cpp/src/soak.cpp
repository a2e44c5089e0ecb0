#include "evenfront/soak.hpp"

#include <boost/math/special_functions/bessel.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <numbers>

#include "evenfront/constants.hpp"
#include "evenfront/errors.hpp"

namespace evenfront {

using boost::math::cyl_bessel_j;
using boost::math::cyl_bessel_j_zero;
using std::numbers::pi;

namespace {

constexpr double least_fourier = 1e-4;  // below it the series needs hundreds of terms

struct Term {
    double root;
    double coefficient;
};

void require_biot(const char* where, double biot) {
    require(biot > 0, where, "biot", biot, "", "> 0 (infinite for a wall held at temperature)");
}

double slab_root(double biot, int k) {
    const double low = (k - 1) * pi;
    const double high = low + pi / 2.0;
    if (std::isinf(biot)) {
        return high;
    }
    // z sin z - Bi cos z has one root between these, and none of the poles of the tangent.
    const auto f = [biot](double z) { return z * std::sin(z) - biot * std::cos(z); };
    std::uintmax_t turns = 100;
    const auto close = [](double a, double b) { return b - a <= 1e-15 * b; };
    const auto [a, b] = boost::math::tools::toms748_solve(f, low, high, close, turns);
    return 0.5 * (a + b);
}

double cylinder_root(double biot, int k) {
    const double high = cyl_bessel_j_zero(0.0, k);
    if (std::isinf(biot)) {
        return high;
    }
    const double low = k == 1 ? 0.0 : cyl_bessel_j_zero(1.0, k - 1);
    const auto f = [biot](double z) { return z * cyl_bessel_j(1, z) - biot * cyl_bessel_j(0, z); };
    // At either end one of the two terms is zero but for round-off, the other is not.
    std::uintmax_t turns = 100;
    const auto close = [](double a, double b) { return b - a <= 1e-15 * b; };
    const auto [a, b] = boost::math::tools::toms748_solve(f, low, high, close, turns);
    return 0.5 * (a + b);
}

Term term(Body body, double biot, int k) {
    const double z = soak_root(body, biot, k);
    if (body == Body::slab) {
        return {z, 4.0 * std::sin(z) / (2.0 * z + std::sin(2.0 * z))};
    }
    const double j0 = cyl_bessel_j(0, z);
    const double j1 = cyl_bessel_j(1, z);
    return {z, 2.0 / z * j1 / (j0 * j0 + j1 * j1)};
}

// Sum of C_k exp(-z_k^2 Fo) shape(z_k) until what is left is below round-off.
template <class Shape>
double series(Body body, double biot, double fourier, Shape shape) {
    double sum = 0.0;
    for (int k = 1;; ++k) {
        const Term t = term(body, biot, k);
        const double decay = std::exp(-t.root * t.root * fourier);
        sum += t.coefficient * decay * shape(t.root);
        if (decay < 1e-17) {
            return sum;
        }
    }
}

void check(const char* where, double biot, double fourier) {
    require_biot(where, biot);
    require(fourier == 0.0 || fourier >= least_fourier,
            where,
            "fourier",
            fourier,
            "",
            "0 or at least 1e-4");
}

}  // namespace

double soak_root(Body body, double biot, int k) {
    require_biot("soak_root", biot);
    require(k >= 1, "soak_root", "k", k, "", "at least 1");
    return body == Body::slab ? slab_root(biot, k) : cylinder_root(biot, k);
}

double soak(Body body, double biot, double fourier, double position) {
    check("soak", biot, fourier);
    require(position >= 0 && position <= 1, "soak", "position", position, "", "from 0 to 1");
    if (fourier == 0.0) {
        return 1.0;
    }
    return series(body, biot, fourier, [&](double z) {
        return body == Body::slab ? std::cos(z * position) : cyl_bessel_j(0, z * position);
    });
}

double soak_mean(Body body, double biot, double fourier) {
    check("soak_mean", biot, fourier);
    if (fourier == 0.0) {
        return 1.0;
    }
    return series(body, biot, fourier, [&](double z) {
        return body == Body::slab ? std::sin(z) / z : 2.0 * cyl_bessel_j(1, z) / z;
    });
}

double soak_fourier(Body body, double biot, double left) {
    require_biot("soak_fourier", biot);
    require(left > 0 && left < 1, "soak_fourier", "left", left, "", "> 0 and < 1");
    const auto above = [&](double fourier) {
        return fourier == 0.0 ? 1.0 - left : soak(body, biot, fourier, 0.0) - left;
    };
    double low = 0.0;
    double high = least_fourier;
    while (above(high) > 0.0) {
        low = high;
        high *= 2.0;
    }
    require(low > 0.0, "soak_fourier", "left", left, "", "small enough for a measurable time");
    std::uintmax_t turns = 100;
    const auto close = [](double a, double b) { return b - a <= 1e-14 * b; };
    const auto [a, b] = boost::math::tools::toms748_solve(above, low, high, close, turns);
    return 0.5 * (a + b);
}

double temperature_for_viscosity(const Rheology& rheology, double temperature, double factor) {
    validate(rheology);
    const auto* const where = "temperature_for_viscosity";
    require_positive(where, "temperature", temperature, "K");
    require_positive(where, "factor", factor, "");
    const double wanted = std::log(factor) / rheology.index;  // of ln a_T
    if (rheology.vogel) {
        // As Arrhenius, with temperatures counted from the pole.
        const auto [slope, pole] = *rheology.vogel;
        require_positive(where, "vogel.slope", slope, "K");
        require(temperature > pole, where, "temperature", temperature, "K", "above the law's pole");
        const double inverse = 1.0 / (temperature - pole) + wanted / slope;
        require(inverse > 0, where, "factor", factor, "", "one that some temperature gives");
        return pole + 1.0 / inverse;
    }
    if (rheology.table) {
        const double here = std::log(temperature_factor(rheology, temperature));
        const auto excess = [&](double inverse) {
            return std::log(temperature_factor(rheology, 1.0 / inverse)) - here - wanted;
        };
        // ln a_T rises with 1/T, and beyond the table as a straight line.
        double low = 1.0 / temperature;
        double high = low;
        for (int i = 0; i < 60 && excess(low) > 0.0; ++i) {
            low *= 0.9;
        }
        for (int i = 0; i < 60 && excess(high) < 0.0; ++i) {
            high *= 1.1;
        }
        require(excess(low) <= 0.0 && excess(high) >= 0.0,
                where,
                "factor",
                factor,
                "",
                "one that some temperature gives");
        if (low == high) {
            return temperature;
        }
        std::uintmax_t turns = 100;
        const auto close = [](double a, double b) { return b - a <= 1e-14 * b; };
        const auto [a, b] = boost::math::tools::toms748_solve(excess, low, high, close, turns);
        return 2.0 / (a + b);
    }
    require_positive(where, "activation_energy", rheology.activation_energy, "J/mol");
    const double inverse = 1.0 / temperature + gas_constant * wanted / rheology.activation_energy;
    require(inverse > 0, where, "factor", factor, "", "one that some temperature gives");
    return 1.0 / inverse;
}

double heat_rate(double flow, double density, double specific_heat, double rise) {
    require_not_negative("heat_rate", "flow", flow, "m^3/s");
    require_positive("heat_rate", "density", density, "kg/m^3");
    require_positive("heat_rate", "specific_heat", specific_heat, "J/(kg K)");
    return density * specific_heat * flow * rise;
}

double line_loss(double length,
                 double inside,
                 double outside,
                 double conductivity,
                 double film,
                 double difference) {
    require_positive("line_loss", "length", length, "m");
    require_positive("line_loss", "inside", inside, "m");
    require(outside >= inside && std::isfinite(outside),
            "line_loss",
            "outside",
            outside,
            "m",
            "at least `inside`");
    require_positive("line_loss", "conductivity", conductivity, "W/(m K)");
    require_positive("line_loss", "film", film, "W/(m^2 K)");
    return length * difference /
           (std::log(outside / inside) / (2.0 * pi * conductivity) + 1.0 / (pi * outside * film));
}

}  // namespace evenfront
