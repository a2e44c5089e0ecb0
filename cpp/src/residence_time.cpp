#include "evenfront/residence_time.hpp"

#include <algorithm>
#include <boost/math/special_functions/erf.hpp>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>
#include <limits>
#include <numbers>

#include "evenfront/errors.hpp"

namespace evenfront {
namespace {

// Double throughout: 1e-14 is enough, and several times faster than through long double.
using Plain = boost::math::policies::policy<boost::math::policies::promote_double<false>>;

// Scaled complementary error function exp(x^2) erfc(x), x >= 0. For large x one factor overflows
// and the other vanishes; there the continued fraction (abramowitz1964, 7.1.14) needs few terms.
double scaled_erfc(double x) {
    constexpr double fraction_from = 4.0;  // 24 terms reach 1e-16 from here on
    constexpr int terms = 24;
    if (x < fraction_from) {
        return std::exp(x * x) * boost::math::erfc(x, Plain());
    }
    double denominator = x;
    for (int k = terms; k > 0; --k) {
        denominator = x + 0.5 * k / denominator;
    }
    return std::numbers::inv_sqrtpi / denominator;
}

// erfc(a) and exp(Pe) erfc(b) of the inverse Gaussian. b^2 - Pe = a^2, so exp(Pe) never appears.
struct FrontTerms {
    double direct;
    double mirrored;
};

FrontTerms front_terms(double peclet, double theta) {
    const double scale = 0.5 * std::sqrt(peclet / theta);
    const double a = scale * (1.0 - theta);
    const double b = scale * (1.0 + theta);
    return {boost::math::erfc(a, Plain()), std::exp(-a * a) * scaled_erfc(b)};
}

// Of the liquid that leaves a laminar tube before theta: its share of the flow, and of the section
// it flows through.
struct LaminarTerms {
    double cumulative;
    double section;
};

LaminarTerms laminar_terms(double index, double theta) {
    const double first = (index + 1.0) / (3.0 * index + 1.0);
    if (theta <= first) {
        return {0.0, 0.0};
    }
    const double y = 1.0 - first / theta;
    const double section = std::pow(y, 2.0 * index / (index + 1.0));
    return {section * (1.0 - 2.0 * index * y / (3.0 * index + 1.0)) / first, section};
}

}  // namespace

ResidenceTime::ResidenceTime(Residence kind, double parameter)
    : law_(kind == Residence::plug    ? Law::plug
           : kind == Residence::tanks ? Law::tanks
                                      : Law::dispersion),
      parameter_(parameter) {
    require(law_ == Law::plug || (parameter > 0 && std::isfinite(parameter)),
            "ResidenceTime",
            law_ == Law::tanks ? "tanks" : "peclet",
            parameter,
            "",
            "positive and finite");
}

ResidenceTime ResidenceTime::laminar(double index) {
    constexpr double least_index = 0.05;
    require(index >= least_index && index <= 1, "laminar", "index", index, "", "0.05 ... 1");
    return {Law::laminar, index};
}

double ResidenceTime::cumulative(double theta) const {
    if (theta <= 0.0) {
        return 0.0;
    }
    switch (law_) {
        case Law::tanks:
            return boost::math::gamma_p(parameter_, parameter_ * theta, Plain());
        case Law::dispersion: {
            const FrontTerms front = front_terms(parameter_, theta);
            return 0.5 * (front.direct + front.mirrored);
        }
        case Law::laminar:
            return laminar_terms(parameter_, theta).cumulative;
        case Law::plug:
            break;
    }
    return theta >= 1.0 ? 1.0 : 0.0;
}

double ResidenceTime::integral(double theta) const {
    if (theta <= 0.0) {
        return 0.0;
    }
    switch (law_) {
        case Law::tanks: {
            const double x = parameter_ * theta;
            return (theta - 1.0) * boost::math::gamma_p(parameter_, x, Plain()) +
                   boost::math::gamma_p_derivative(parameter_ + 1.0, x, Plain());
        }
        case Law::dispersion: {
            const FrontTerms front = front_terms(parameter_, theta);
            return 0.5 * ((theta - 1.0) * front.direct + (theta + 1.0) * front.mirrored);
        }
        case Law::laminar: {
            const LaminarTerms core = laminar_terms(parameter_, theta);
            return theta * core.cumulative - core.section;
        }
        case Law::plug:
            break;
    }
    return std::max(0.0, theta - 1.0);
}

double ResidenceTime::variance() const {
    switch (law_) {
        case Law::tanks:
            return 1.0 / parameter_;
        case Law::dispersion:
            return 2.0 / parameter_;
        case Law::laminar:
            return std::numeric_limits<double>::infinity();
        case Law::plug:
            break;
    }
    return 0.0;
}

bool ResidenceTime::is_plug() const {
    return law_ == Law::plug;
}

ResidenceTime ResidenceTime::at_fraction(double z) const {
    require(z > 0 && z <= 1, "at_fraction", "z", z, "", "0 < z <= 1");
    return {law_, law_ == Law::laminar ? parameter_ : parameter_ * z};
}

ResidenceTime residence_time(const Mixer& mixer) {
    return {mixer.residence, mixer.residence == Residence::tanks ? mixer.tanks : mixer.peclet};
}

double hold_up(const Mixer& mixer) {
    return mixer.void_fraction * 0.25 * std::numbers::pi * mixer.bore * mixer.bore * mixer.length;
}

double hold_up(const Tip& tip) {
    return 0.25 * std::numbers::pi * tip.bore * tip.bore * tip.length;
}

}  // namespace evenfront
