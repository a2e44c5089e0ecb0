#pragma once
#include <Eigen/Core>
#include <array>
#include <cmath>
#include <cstddef>
#include <utility>

/// One step of an L-stable Rosenbrock method of order 4 with an embedded order 3.
namespace evenfront {

/// RODAS, stiffly accurate, six stages, for y' = f(t, y) with Jacobian J = df/dy and g = df/dt:
///   (I/(h gamma) - J) u_i = f(t + c_i h, y + sum a_ij u_j) + sum (c_ij/h) u_j + h d_i g
///   y_1 = y + sum a_6j u_j + u_6,  error estimate u_6
/// d_i are the row sums of the method's gamma matrix (d_4 = -0.0362; with the sign wrong the order
/// falls to one on a forced system). Source: hairer1996, IV.7; order tested on a forced stiff
/// nonlinear problem. Linear invariants of f are kept to round-off, since J shares them.
///
/// `System` offers, without arguments that own memory:
///   void linearise(double t, const VectorXd& y, VectorXd& f, VectorXd& g)   sets its Jacobian too
///   void rhs(double t, const VectorXd& y, VectorXd& f)
///   void factor(double shift)              of (shift I - J)
///   void solve(VectorXd& b)                in place, with the last factor
template <class System>
class Rosenbrock {
public:
    explicit Rosenbrock(Eigen::Index size) : f_(size), g_(size), stage_(size) {
        for (auto& u : u_) {
            u.resize(size);
        }
    }

    /// Evaluates f, J and g at the start of a step; several step sizes may then be tried.
    void linearise(System& system, double t, const Eigen::VectorXd& y) {
        system.linearise(t, y, f_, g_);
    }

    [[nodiscard]] const Eigen::VectorXd& slope() const { return f_; }

    /// Tries a step of size h from (t, y), which `linearise` saw last.
    /// @param y_next state at t + h; @param error its estimated error
    void step(System& system,
              double t,
              const Eigen::VectorXd& y,
              double h,
              Eigen::VectorXd& y_next,
              Eigen::VectorXd& error) {
        system.factor(1.0 / (h * gamma));
        u_[0] = f_ + (h * d[0]) * g_;
        system.solve(u_[0]);
        stage<1>(system, t, y, h);
        stage<2>(system, t, y, h);
        stage<3>(system, t, y, h);
        stage<4>(system, t, y, h);
        // a_6j = a_5j and a_65 = 1: the last stage starts from the fifth's result.
        stage_ += u_[4];
        system.rhs(t + h, stage_, u_[5]);
        u_[5] += sum(k[5], 1.0 / h, std::make_index_sequence<5>{});
        system.solve(u_[5]);
        y_next = stage_ + u_[5];
        error = u_[5];
    }

    static constexpr double gamma = 0.25;
    static constexpr int order = 4;

private:
    template <std::size_t I>
    void stage(System& system, double t, const Eigen::VectorXd& y, double h) {
        constexpr auto before = std::make_index_sequence<I>{};
        stage_ = y + sum(a[I], 1.0, before);
        system.rhs(t + c[I] * h, stage_, u_[I]);
        if constexpr (d[I] == 0.0) {
            u_[I] += sum(k[I], 1.0 / h, before);
        } else {
            u_[I] += sum(k[I], 1.0 / h, before) + (h * d[I]) * g_;
        }
        system.solve(u_[I]);
    }

    // Of the stages so far, as one expression: one pass over the unknowns instead of one a stage.
    template <std::size_t... J>
    [[nodiscard]] auto sum(const auto& weight,
                           double scale,
                           std::index_sequence<J...> /*stages*/) const {
        return (... + ((scale * weight[J]) * u_[J]));
    }

    static constexpr std::array<double, 5> c{0.0, 0.386, 0.21, 0.63, 1.0};
    static constexpr std::array<double, 5> d{0.25, -0.1043, 0.1035, -0.0362, 0.0};
    static constexpr std::array<std::array<double, 4>, 5> a{
        {{},
         {1.544},
         {0.9466785280815826, 0.2557011698983284},
         {3.314825187068521, 2.896124015972201, 0.9986419139977817},
         {1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950}}};
    static constexpr std::array<std::array<double, 5>, 6> k{
        {{},
         {-5.6688},
         {-2.430093356833875, -0.2063599157091915},
         {-0.1073529058151375, -9.594562251023355, -20.47028614809616},
         {7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160},
         {8.083246795921522,
          -7.981132988064893,
          -31.52159432874371,
          16.31930543123136,
          -6.058818238834054}}};

    Eigen::VectorXd f_, g_, stage_;
    std::array<Eigen::VectorXd, 6> u_;
};

}  // namespace evenfront
