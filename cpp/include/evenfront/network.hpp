#pragma once
#include <Eigen/Dense>
#include <array>
#include <optional>
#include <vector>

#include "evenfront/machine.hpp"
#include "evenfront/rheology.hpp"
#include "evenfront/throttle.hpp"

/// The machine as a system of ordinary differential equations, y' = f(t, y), with its Jacobian.
///
/// Unknowns y: shaft position x [m] and speed v [m/s]; liquid mass of every node [kg], resin from
/// cylinder to throttle, then hardener; then four running totals of liquid volume [m^3]: delivered
/// V_r, V_h, leaked L_r, L_h, and drawn from the tanks T_r, T_h.
///   dx/dt = v,  m dv/dt = F - A_r p_r - A_h p_h - c v - friction
///   dm_i/dt = w_(i-1) - w_i,  w = q(p_i - p_(i+1)) rho(upwind)    (links: PipeFlow)
///   pressure of a node from its mass: m = rho(p) (V_0 + C p - pocket (p0/(p0+p))^(1/n_g))
/// The cylinder, volume A (stroke - x), is part of node 0. A segment of N cells has N links and
/// its volume in N+1 nodes, half cells at its ends, so segments join in shared nodes.
namespace evenfront {

/// What the control does at one instant, and how fast it changes.
struct Controls {
    double force = 0.0;                     ///< of the drive [N]
    double force_rate = 0.0;                ///< [N/s]
    std::array<double, 2> fraction{};       ///< opening of the shut-offs, resin, hardener [-]
    std::array<double, 2> fraction_rate{};  ///< [1/s]
    bool shaft_free = true;                 ///< false: held or led, dv/dt as given
    double acceleration = 0.0;              ///< of a led shaft [m/s^2]
    std::array<double, 2> feed{};           ///< opening of the valves to the tanks [-]
    std::array<double, 2> feed_rate{};      ///< [1/s]
    double friction = 0.0;                  ///< Coulomb force against +x [N], sign by direction
};

/// One stream from cylinder to mixing point: nodes, links and the final restriction.
class Chain {
public:
    Chain(const Stream& stream, double stroke);

    [[nodiscard]] Eigen::Index nodes() const { return static_cast<Eigen::Index>(w0_.size()); }
    [[nodiscard]] double rho_ref() const { return rho_ref_; }
    [[nodiscard]] double piston_area() const { return area_; }

    /// Mass of a node at a pressure [kg]; position x matters for node 0 only.
    [[nodiscard]] double mass(Eigen::Index node, double pressure, double x) const;
    /// Distance of each node from the cylinder [m], and the segment it lies in.
    [[nodiscard]] const Eigen::VectorXd& distance() const { return distance_; }
    [[nodiscard]] const std::vector<std::size_t>& segment_of() const { return segment_; }

    /// Pressure [Pa] upstream of the mixing pressure for a steady mass flow [kg/s], shut-off open:
    /// marches from the mixing point to the cylinder; `pressures` gets every node.
    void march(double mass_flow, double mixing_pressure, Eigen::VectorXd& pressures) const;
    /// Pressures of the nodes at which nothing flows yet though the yield stress is reached [Pa].
    [[nodiscard]] double yield_pressure() const;
    /// Liquid mass per volume delivered at a cylinder pressure [kg/m^3].
    [[nodiscard]] double cylinder_density(double pressure) const;
    [[nodiscard]] double leak() const { return leak_; }

private:
    friend class Network;
    struct Tridiagonal {
        Eigen::VectorXd lower, diag, upper;
    };

    void find_pressures(const double* mass, double x);
    double improve_plainly();
    double improve_carefully();
    template <bool WithJacobian>
    void flow(double fraction, double* inner_rate);
    struct Draw {
        double mass_flow, by_pressure;  // from the tank, valve open [kg/s], [kg/(s Pa)]
    };
    [[nodiscard]] Draw draw() const;

    [[nodiscard]] double specific(double pressure) const;  // 1/v(p)

    Liquid liquid_;
    double rho_ref_, area_, stroke_, leak_;
    double cylinder_rho_;               // rho_T (1-a0) at the cylinder
    std::vector<double> w0_, w1_, wp_;  // node weights: (1-a0) rho_T times V0, C, pocket
    std::vector<PipeFlow> pipes_;
    std::vector<double> link_rho_;      // rho_T (1-a0) of each link
    std::optional<Restriction> inner_;  // throttle or shut-off before volume_between
    std::optional<Restriction> outlet_;
    std::optional<PipeFlow> feed_;
    double tank_pressure_ = 0.0;
    double feed_rho_ = 0.0;  // of the liquid coming from the tank
    double outlet_rho_;
    double first_w0_;  // w0 of node 0 without the cylinder
    Eigen::VectorXd distance_;
    std::vector<std::size_t> segment_;

    // Workspace of the last evaluation.
    std::vector<double> mass_, p_, inv_v_, dv_, slope_, dp_dm_, w_, dw_up_, dw_down_;
    double dp0_dx_ = 0.0;
    double inner_rate_ = 0.0;  // dw/df of the inner restriction
    Tridiagonal jac_, lu_;
    std::array<double, 2> x_column_{};
    Eigen::VectorXd x_solution_, tail_solution_;  // T^-1 of the x column and of the tail coupling
    double tail_coupling_ = 0.0;                  // d(dm_N/dt)/d(m_N of the other stream)
    double v_row_ = 0.0;                          // d(dv/dt)/dm_0
};

/// Both chains on one shaft, joined at the mixing point p_m = R_m (q_r + q_h).
class Network {
public:
    Network(const Machine& machine, double mixer_resistance);

    static constexpr Eigen::Index position = 0, speed = 1, masses = 2;
    [[nodiscard]] Eigen::Index size() const { return total_ + 6; }
    [[nodiscard]] Eigen::Index first_mass(int stream) const {
        return stream == 0 ? masses : masses + chain_[0].nodes();
    }
    [[nodiscard]] Eigen::Index volume(int stream) const { return total_ + stream; }
    [[nodiscard]] Eigen::Index leaked(int stream) const { return total_ + 2 + stream; }
    [[nodiscard]] Eigen::Index drawn(int stream) const { return total_ + 4 + stream; }
    [[nodiscard]] const Chain& chain(int stream) const {
        return chain_[static_cast<std::size_t>(stream)];
    }

    void rhs(const Controls& controls, const Eigen::VectorXd& y, Eigen::VectorXd& f);
    /// f, Jacobian (kept inside) and g = df/dt.
    void linearise(const Controls& controls,
                   const Eigen::VectorXd& y,
                   Eigen::VectorXd& f,
                   Eigen::VectorXd& g);
    void factor(double shift);             ///< of (shift I - J), linear in the cells
    void solve(Eigen::VectorXd& b) const;  ///< in place
    [[nodiscard]] Eigen::MatrixXd dense_jacobian() const;  ///< for tests

    // Of the last evaluation:
    [[nodiscard]] double pressure(int stream, Eigen::Index node) const {
        return chain_[static_cast<std::size_t>(stream)].p_[static_cast<std::size_t>(node)];
    }
    [[nodiscard]] double flow(int stream) const {  ///< liquid volume flow delivered [m^3/s]
        return q_[static_cast<std::size_t>(stream)];
    }
    [[nodiscard]] double mixer_pressure() const { return p_m_; }
    /// Sum of all forces on the shaft but Coulomb friction, v = 0 [N].
    [[nodiscard]] double net_force(const Controls& controls) const;

    /// Root mean square of the error over the pressures, speed, position and volumes, each against
    /// its scale: pressures |p| + a tenth of the closed pressure F0/(A_r + A_h).
    [[nodiscard]] double error_norm(const Eigen::VectorXd& error, const Eigen::VectorXd& y) const;

private:
    template <bool WithJacobian>
    void evaluate(const Controls& controls, const Eigen::VectorXd& y, Eigen::VectorXd& f);
    template <bool WithJacobian>
    void mix(const Controls& controls);

    std::array<Chain, 2> chain_;
    Eigen::Index total_;
    double mass_, viscous_, resistance_, stroke_;
    double pressure_scale_, speed_scale_;
    std::array<double, 2> volume_scale_;

    // Of the last evaluation.
    double p_m_ = 0.0;
    bool free_ = true;
    std::array<double, 2> q_{};
    std::array<std::array<double, 2>, 2> dq_{};  // dq_s/dp_N,t
    std::array<double, 2> q_rate_{};             // dq_s/dt through the opening fractions
    std::array<double, 2> leak_by_p_{};
    std::array<double, 2> draw_by_p_{};
    std::array<double, 2> draw_rate_{};  // d(mass drawn per time)/dt through the valve [kg/s^2]

    // Jacobian of the last linearise, beside the chains' own; right-hand sides leave it alone.
    double v_x_ = 0.0, v_v_ = 0.0;                       // d(dv/dt)/dx, /dv
    std::array<std::array<double, 2>, 2> volume_row_{};  // dV_s/dt by the last mass of stream t
    std::array<std::array<double, 2>, 2> leak_row_{};    // dL_s/dt by m_0 and x
    std::array<std::array<double, 2>, 2> draw_row_{};    // dT_s/dt by m_0 and x
    double shift_ = 1.0;
};

}  // namespace evenfront
