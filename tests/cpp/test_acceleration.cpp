/// Anderson's acceleration of a fixed point.
#include "evenfront/acceleration.hpp"

#include <Eigen/LU>

#include <cmath>

#include "support.hpp"

using namespace evenfront;
using Eigen::VectorXd;

TEST_CASE("a linear fixed point is met once every direction has been tried",
          "[acceleration][identity]") {
    // On x = A x + b the method is GMRES: n unknowns, n + 1 changes (walker2011, theorem 2.2). A
    // turn by 72 degrees: every change points elsewhere.
    Eigen::Matrix2d a;
    a << 0.3, -0.9, 0.9, 0.3;
    const Eigen::Vector2d b(1, -2);
    const VectorXd exact = (Eigen::Matrix2d::Identity() - a).lu().solve(b);
    Acceleration acceleration;
    VectorXd x = VectorXd::Zero(2);
    for (int round = 0; round < 3; ++round) {
        x = acceleration.next(x, a * x + b - x);
    }
    CHECK((x - exact).norm() <= 1e-12 * exact.norm());
}

TEST_CASE("slopes learnt on a rough function serve its finer neighbour", "[acceleration]") {
    // x = cos(x) + error; the fixed point 0.739085 of the cosine (Dottie's number).
    const auto rounds = [](bool rough_first) {
        Acceleration acceleration;
        VectorXd x = VectorXd::Constant(1, 0.0);
        for (int k = 0; rough_first && k < 6; ++k) {
            x = acceleration.next(x, VectorXd::Constant(1, std::cos(x[0]) + 1e-3 - x[0]));
        }
        acceleration.go_on_with_another();
        int count = 0;
        while (std::abs(std::cos(x[0]) - x[0]) > 1e-12) {
            x = acceleration.next(x, VectorXd::Constant(1, std::cos(x[0]) - x[0]));
            ++count;
        }
        CHECK_THAT(x[0], WithinAbs(0.7390851332151607, 1e-12));
        return count;
    };
    CHECK(rounds(true) <= 3);
    CHECK(rounds(true) < rounds(false));
}

TEST_CASE("what is forgotten starts anew from the plain next point", "[acceleration]") {
    Acceleration acceleration;
    const VectorXd x = VectorXd::Constant(2, 1.0);
    (void)acceleration.next(x, VectorXd::Constant(2, 0.5));
    (void)acceleration.next(x * 1.2, VectorXd::Constant(2, 0.3));
    acceleration.forget();
    CHECK(acceleration.next(x, VectorXd::Constant(2, 0.25)) == VectorXd::Constant(2, 1.25));
}
