#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <stdexcept>
#include <string>
#include <vector>

#include "evenfront/residence_time.hpp"
#include "residences.hpp"
#include "support.hpp"

using namespace evenfront;
using residences::family;
using residences::integrate;

namespace {

const double not_a_number = std::numeric_limits<double>::quiet_NaN();

}  // namespace

TEST_CASE("tanks in series follow the incomplete gamma function", "[residence_time][reference]") {
    // macmullin1935; levenspiel1999, ch. 14; digits evaluated with an independent gamma function
    struct Row {
        double tanks, theta, cumulative;
    };
    const std::vector<Row> rows{{5, 0.5, 0.108822},
                                {5, 1.0, 0.559507},
                                {5, 1.5, 0.867938},
                                {10, 0.5, 0.0318281},
                                {10, 1.0, 0.542070},
                                {10, 1.5, 0.930146},
                                {20, 0.5, 0.00345434},
                                {20, 1.0, 0.529743},
                                {20, 1.5, 0.978127}};
    for (const Row& row : rows) {
        CAPTURE(row.tanks, row.theta);
        const ResidenceTime residence(Residence::tanks, row.tanks);
        // absolute 1e-6: half a unit of the last printed digit
        CHECK_THAT(residence.cumulative(row.theta), WithinAbs(row.cumulative, 1e-6));
    }
    // Levenspiel, example 13.1: variance 0.211111 is 4.7368 tanks
    CHECK_THAT(ResidenceTime(Residence::tanks, 4.7368).variance(), WithinRel(0.211111, 1e-5));
}

TEST_CASE("a first-order reaction converts what the tanks and the plug allow",
          "[residence_time][reference]") {
    // fogler2006, RTD chapter: k tau = 1.2875; printed answers from memory (0.677, 0.725, 0.563),
    // digits evaluated: X = 1 - Laplace transform of E = 1 - s integral of exp(-s theta) F
    const double s = 1.2875;
    const auto conversion = [&](const ResidenceTime& residence) {
        const auto weighted = [&](double theta) {
            return s * std::exp(-s * theta) * residence.cumulative(theta);
        };
        return 1.0 - integrate(weighted, 0.0, 1.0) - integrate(weighted, 1.0, 40.0);
    };
    CHECK_THAT(conversion({Residence::tanks, 4.3480}), WithinAbs(0.67624, 1e-5));
    CHECK_THAT(conversion({Residence::plug, 0.0}), WithinAbs(0.72404, 1e-5));
    CHECK_THAT(conversion({Residence::tanks, 1.0}), WithinAbs(0.56284, 1e-5));
    // inverse Gaussian: transform exp(Pe/2 (1 - sqrt(1 + 4 s/Pe))), from memory
    for (const double peclet : {1.0, 10.0, 100.0}) {
        const double transform = std::exp(0.5 * peclet * (1.0 - std::sqrt(1.0 + 4.0 * s / peclet)));
        CHECK_THAT(conversion({Residence::dispersion, peclet}), WithinAbs(1.0 - transform, 1e-12));
    }
}

TEST_CASE("dispersion follows the flux concentration in a semi-infinite tube",
          "[residence_time][reference]") {
    // ogata1961, plus sign; digits evaluated from the closed form with independent quadrature
    const ResidenceTime residence(Residence::dispersion, 10.0);
    CHECK_THAT(residence.cumulative(0.5), WithinAbs(0.0800668, 1e-6));
    CHECK_THAT(residence.cumulative(1.0), WithinAbs(0.585289, 1e-6));
    CHECK_THAT(residence.cumulative(1.5), WithinAbs(0.874525, 1e-6));
    // levenspiel1999, example 14.1 (spread 8 at 32 lengths is 10 at 50): spread grows as sqrt(z)
    const double z = 32.0 / 50.0;
    const double spread = z * std::sqrt(residence.at_fraction(z).variance());
    CHECK_THAT(spread / std::sqrt(residence.variance()), WithinRel(8.0 / 10.0, 1e-14));
}

TEST_CASE("a laminar tube lets its middle out first", "[residence_time][reference]") {
    // levenspiel1999, ch. 15: E = 1/(2 theta^3); digits of both indices evaluated from the profile
    const ResidenceTime newtonian = ResidenceTime::laminar();
    CHECK(newtonian.cumulative(0.4999) == 0.0);
    CHECK_THAT(newtonian.cumulative(0.75), WithinAbs(0.555556, 1e-6));
    CHECK_THAT(newtonian.cumulative(1.0), WithinAbs(0.75, 1e-14));
    CHECK_THAT(newtonian.cumulative(2.0), WithinAbs(0.9375, 1e-14));
    const ResidenceTime thinning = ResidenceTime::laminar(0.5);
    CHECK(thinning.cumulative(0.5999) == 0.0);
    CHECK(thinning.cumulative(0.6001) > 0.0);
    CHECK_THAT(thinning.cumulative(0.75), WithinAbs(0.524393, 1e-6));
    CHECK_THAT(thinning.cumulative(1.0), WithinAbs(0.760037, 1e-6));
    CHECK_THAT(thinning.cumulative(2.0), WithinAbs(0.946048, 1e-6));
    CHECK(std::isinf(newtonian.variance()));
}

TEST_CASE("the laminar tube keeps the rules of a residence time", "[residence_time]") {
    for (const double index : {0.1, 0.3, 0.5, 0.8, 1.0}) {
        const ResidenceTime tube = ResidenceTime::laminar(index);
        const double first = (index + 1.0) / (3.0 * index + 1.0);
        CAPTURE(index);
        CHECK(tube.integral(first) == 0.0);
        double before = 0.0;
        for (double theta = first; theta < 50.0; theta *= 1.03) {
            // flow and section by quadrature of the velocity profile u/U over s = (r/R)^2:
            // F = integral of u/U over what leaves before theta, u/U > 1/theta
            const auto speed = [&](double s) {
                return (1.0 - std::pow(s, 0.5 * (index + 1.0) / index)) / first;
            };
            const double edge = std::pow(1.0 - first / theta, 2.0 * index / (index + 1.0));
            CHECK_THAT(tube.cumulative(theta), WithinAbs(integrate(speed, 0.0, edge), 1e-9));
            const double h = 1e-5 * theta;
            if (theta > first + 2.0 * h) {
                const double slope =
                    (tube.integral(theta + h) - tube.integral(theta - h)) / (2.0 * h);
                CHECK_THAT(slope, WithinAbs(tube.cumulative(theta), 1e-6));
            }
            CHECK(tube.cumulative(theta) >= before);
            before = tube.cumulative(theta);
        }
        // mean 1: what is still inside falls as the tail of 1/theta^2
        CHECK_THAT(1e6 - tube.integral(1e6), WithinAbs(1.0, 1e-5));
        CHECK(tube.at_fraction(0.3).cumulative(1.3) == tube.cumulative(1.3));
    }
}

TEST_CASE("the open-open curve is another one, and follows from ours",
          "[residence_time][reference]") {
    // levenspiel1957, minus sign: digits evaluated from the closed form. Ours is flux in and flux
    // out of a tube that goes on; both differ by exp(Pe) erfc(b), from the exact relation
    // F_ours - F_open = exp(Pe) erfc(a+), here by G: G = 1/2 [(theta - 1) erfc a + (theta + 1) m]
    struct Row {
        double peclet, theta, open;
    };
    for (const Row& row : {Row{10, 0.5, 0.0337795},
                           Row{10, 1.0, 0.414711},
                           Row{10, 1.5, 0.764165},
                           Row{50, 0.5, 1.31495e-4},
                           Row{50, 1.0, 0.460493},
                           Row{50, 1.5, 0.974565}}) {
        const ResidenceTime ours(Residence::dispersion, row.peclet);
        const double mirrored =
            ours.integral(row.theta) - (row.theta - 1.0) * ours.cumulative(row.theta);
        CHECK_THAT(ours.cumulative(row.theta) - mirrored, WithinAbs(row.open, 1e-6));
    }
}

TEST_CASE("F and G agree with quadrature in sixty digits", "[residence_time][reference]") {
    // E of the inverse Gaussian and of the gamma distribution integrated with mpmath 1.2 (dps 60)
    struct Row {
        Residence kind;
        double parameter, theta, cumulative, integral;
    };
    constexpr auto dispersion = Residence::dispersion;
    constexpr auto tanks = Residence::tanks;
    const std::vector<Row> rows{
        {dispersion, 1, 0.25, 0.24921177334173873, 0.022670350330688548},
        {dispersion, 1, 1.0, 0.7137917880779035, 0.427583576155807},
        {dispersion, 1, 3.828427, 0.95673197252010953, 2.9262146540633315},
        {dispersion, 10, 0.105573, 6.8005325136048235e-10, 2.7779952218861388e-12},
        {dispersion, 10, 0.5, 0.080066752605871518, 0.0062538309021492273},
        {dispersion, 10, 1.5, 0.8745247384659412, 0.54762227469103182},
        {dispersion, 100, 0.5, 3.8533144355319625e-7, 4.69402157140655e-9},
        {dispersion, 100, 0.717157, 0.010798716505073163, 0.00035135797072017065},
        {dispersion, 100, 1.0, 0.52807049637191129, 0.056140992743822586},
        {dispersion, 100, 1.282843, 0.96714526815891825, 0.28526873298392583},
        {dispersion, 3000, 0.94836, 0.020625244696860332, 0.00018444148848711575},
        {dispersion, 3000, 1.0, 0.50514946473536323, 0.010298929470726468},
        {dispersion, 3000, 1.05164, 0.97519754663006332, 0.051896328708057794},
        {dispersion, 1e6, 0.997172, 0.022651780462584134, 1.1909547855388885e-5},
        {dispersion, 1e6, 1.0, 0.50028209465072669, 0.00056418930145338765},
        {dispersion, 1e6, 1.002828, 0.97711910996288178, 0.0028401256086701207},
        {dispersion, 1e6, 1.5, 1.0, 0.5},
        {tanks, 1, 0.5, 0.39346934028736658, 0.10653065971263342},
        {tanks, 2.5, 0.95, 0.55285409836049895, 0.21565243413329298},
        {tanks, 10, 0.5, 0.031828057306204812, 0.0022187600547194676},
        {tanks, 10, 1.5, 0.93014633930059023, 0.51368392047990044},
        {tanks, 400, 0.95, 0.15855070978429479, 0.0039608080306584648},
        {tanks, 400, 1.1, 0.97462003756798566, 0.10051751847001569},
        {tanks, 400, 1.5, 1.0, 0.5}};
    for (const Row& row : rows) {
        CAPTURE(row.parameter, row.theta);
        const ResidenceTime residence(row.kind, row.parameter);
        CHECK_THAT(residence.cumulative(row.theta), WithinAbs(row.cumulative, 1e-12));
        CHECK_THAT(residence.integral(row.theta), WithinAbs(row.integral, 1e-12));
    }
}

TEST_CASE("the whole family keeps the rules of a residence time", "[residence_time]") {
    for (const ResidenceTime& residence : family()) {
        CAPTURE(residence.variance());
        const double spread = std::max(0.1, std::sqrt(residence.variance()));
        const double far = 1.0 + 200.0 * spread;
        SECTION("mean 1 and the stated variance, variance " +
                std::to_string(residence.variance())) {
            CHECK_THAT(far - residence.integral(far), WithinAbs(1.0, 1e-12));
            // variance = 2 integral of theta (1 - F) - 1, independent of G
            const auto moment = [&](double theta) {
                return 2.0 * theta * (1.0 - residence.cumulative(theta));
            };
            double second = integrate(moment, 0.0, 1.0);
            for (int piece = 0; piece < 60; ++piece) {
                second += integrate(moment, 1.0 + piece * spread, 1.0 + (piece + 1) * spread);
            }
            CHECK_THAT(second - 1.0, WithinAbs(residence.variance(), 1e-9));
        }
        SECTION("G is the integral of F, variance " + std::to_string(residence.variance())) {
            const double h = 1e-4 * std::sqrt(residence.variance() + 1e-6);
            for (double theta = 0.03; theta < 4.0; theta += 0.0721) {
                const double slope =
                    (residence.integral(theta + h) - residence.integral(theta - h)) / (2.0 * h);
                CHECK_THAT(slope, WithinAbs(residence.cumulative(theta), 1e-7));
            }
        }
        SECTION("F rises from 0 to 1, G lies above theta - 1, variance " +
                std::to_string(residence.variance())) {
            CHECK(residence.cumulative(-1.0) == 0.0);
            CHECK(residence.integral(0.0) == 0.0);
            double before = 0.0;
            for (double theta = 1e-3; theta < far; theta *= 1.02) {
                const double cumulative = residence.cumulative(theta);
                CHECK(cumulative >= before - 1e-15);
                CHECK(cumulative <= 1.0 + 1e-15);
                CHECK(residence.integral(theta) >= std::max(0.0, theta - 1.0) - 1e-13 * far);
                before = cumulative;
            }
            CHECK_THAT(before, WithinAbs(1.0, 1e-9));
        }
    }
}

TEST_CASE("little dispersion and many tanks come to plug flow", "[residence_time][limit]") {
    // central limit: G(1) of a normal curve is its standard deviation/sqrt(2 pi)
    for (const ResidenceTime& residence :
         {ResidenceTime(Residence::dispersion, 1e6), ResidenceTime(Residence::tanks, 1e4)}) {
        const double deviation = std::sqrt(residence.variance());
        const double normal = deviation / std::sqrt(2.0 * std::numbers::pi);
        CHECK_THAT(residence.integral(1.0), WithinRel(normal, 1e-4));
        CHECK_THAT(residence.cumulative(1.0 - 10.0 * deviation), WithinAbs(0.0, 1e-12));
        CHECK_THAT(residence.cumulative(1.0 + 10.0 * deviation), WithinAbs(1.0, 1e-12));
    }
    CHECK(ResidenceTime(Residence::plug, not_a_number).is_plug());
}

TEST_CASE("hold-up is the void share of the tube", "[residence_time]") {
    const Mixer mixer{.bore = 0.013, .length = 0.25, .void_fraction = 0.82, .blend_viscosity = 9.0};
    CHECK_THAT(hold_up(mixer), WithinRel(2.72101194e-05, 1e-8));  // pi/4 0.013^2 0.25 0.82
    // pi/4 0.003^2 0.05
    CHECK_THAT(hold_up(Tip{.bore = 0.003, .length = 0.05}), WithinRel(3.53429174e-07, 1e-8));
    CHECK(residence_time(mixer).is_plug());
    CHECK_THAT(residence_time({.bore = 0.01,
                               .length = 0.2,
                               .blend_viscosity = 9.0,
                               .residence = Residence::dispersion,
                               .peclet = 50.0})
                   .variance(),
               WithinRel(0.04, 1e-14));
    CHECK_THAT(residence_time({.bore = 0.01,
                               .length = 0.2,
                               .blend_viscosity = 9.0,
                               .residence = Residence::tanks,
                               .tanks = 5.0})
                   .variance(),
               WithinRel(0.2, 1e-14));
}

TEST_CASE("a residence time out of range is refused by name", "[residence_time][errors]") {
    const double infinite = std::numeric_limits<double>::infinity();
    for (const double bad : {0.0, -1.0, infinite, not_a_number}) {
        CHECK_THROWS_AS(ResidenceTime(Residence::dispersion, bad), std::domain_error);
        CHECK_THROWS_AS(ResidenceTime(Residence::tanks, bad), std::domain_error);
    }
    for (const double bad : {0.0, 0.01, 1.1, not_a_number}) {
        CHECK_THROWS_AS(ResidenceTime::laminar(bad), std::domain_error);
    }
    const ResidenceTime plug(Residence::plug, 0.0);
    CHECK_THROWS_AS(plug.at_fraction(0.0), std::domain_error);
    CHECK_THROWS_AS(plug.at_fraction(1.1), std::domain_error);
}
