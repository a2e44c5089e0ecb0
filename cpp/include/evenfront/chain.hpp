#pragma once
#include <Eigen/Core>
#include <algorithm>
#include <array>
#include <optional>
#include <vector>

#include "evenfront/machine.hpp"
#include "evenfront/monotone_cubic.hpp"
#include "evenfront/rheology.hpp"
#include "evenfront/throttle.hpp"

/// One stream from cylinder to mixing point as nodes, links and a final restriction.
///
/// Nodes hold liquid mass m_i [kg], from which follows their pressure; links carry mass w_j [kg/s]:
///   dm_i/dt = w_(i-1) - w_i,  w = q(p_i - p_(i+1)) rho(upwind)              (PipeFlow)
///   m = rho(p) (V_0 + C p - pocket (p0/(p0+p))^(1/n_g)), C p or the wall's table of expansion
/// The cylinder, volume A (stroke - x), is part of node 0. A segment of N cells has N links and
/// its volume in N+1 nodes, half cells at its ends, so segments join in shared nodes.
/// With inertia the links' mass flows are unknowns too, between those of their nodes:
///   (l/a) dw_j/dt = p_j - p_(j+1) - w_j/(rho g)      l, a length and area, g conductance of a cell
/// which keeps the matrix tridiagonal. Newtonian streams only.
namespace evenfront {

class Chain {
public:
    /// @param inertia of the liquid in the line; without effect unless the liquid is Newtonian
    Chain(const Stream& stream, double stroke, bool inertia = false);

    [[nodiscard]] Eigen::Index nodes() const { return static_cast<Eigen::Index>(w0_.size()); }
    /// Unknowns: the nodes' masses and, with inertia, the links' mass flows in between.
    [[nodiscard]] Eigen::Index rows() const { return rows_; }
    [[nodiscard]] Eigen::Index row(Eigen::Index node) const {
        const auto pipes = static_cast<Eigen::Index>(link_segment_.size());
        return stride_ == 1 ? node : node + std::min(node, pipes);
    }
    [[nodiscard]] bool has_inertia() const { return stride_ == 2; }
    [[nodiscard]] double rho_ref() const { return rho_ref_; }
    [[nodiscard]] double piston_area() const { return area_; }

    /// Mass of a node at a pressure [kg]; the piston's position x matters for node 0 only.
    [[nodiscard]] double mass(Eigen::Index node, double pressure, double x) const;
    /// Sum of the nodes' masses [kg] in a block of this chain's unknowns.
    [[nodiscard]] double held_mass(const double* block) const;
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

    /// Whether some segment has an idle temperature, so that rest and `carry` change something.
    [[nodiscard]] bool idles() const { return idles_; }
    /// Longest time a step may take while temperatures go on evenly [s]: a twentieth of the fastest
    /// time constant at rest, and until a link's flow has changed by a fifth at its present rate.
    [[nodiscard]] double longest_even_time() const;
    /// What the nodes' liquid differs from the temperatures stated [K]; that in the cylinder never.
    [[nodiscard]] const std::vector<double>& deviation() const { return theta_; }
    void set_deviation(const double* theta);
    /// From here on the liquid is at rest, the masses as given: every node goes to its segment's
    /// idle temperature, theta' = (T_idle - T - theta)/tau, and shrinks or swells with it. Masses
    /// here count at the density of the temperature stated: what shrinks goes from them, and a
    /// parcel that leaves cold weighs beta theta more than it counts for.
    void begin_rest(const double* block);
    void end_rest();
    /// Brings the temperatures on by a time at rest [s].
    void rest(double duration);
    /// Carries the deviations with the liquid that moved between two states of this chain's
    /// unknowns, upwind and mixed by mass; only the viscosity follows. Order 1 in the cells.
    /// @param duration of the step between them [s], after which changes go on evenly
    /// @param delivered liquid mass that left through the final restriction meanwhile [kg]
    void carry(double duration, const double* before, const double* after, double delivered);

private:
    friend class Network;
    struct Tridiagonal {
        Eigen::VectorXd lower, diag, upper;
    };
    struct Wall {  // a node's share of a segment whose expansion is a table
        std::size_t node;
        double weight;  // (1-a0) rho_T times half a cell's length
        std::size_t curve;
    };

    void lay_out(const Stream& stream);
    void weigh();
    void find_pressures(const double* block, double x, bool piston_moves);
    void follow_walls(double cylinder);
    double improve_plainly(bool first);
    double improve_carefully();
    template <bool WithJacobian>
    void flow(const double* block, double fraction, double elapsed);
    template <bool WithJacobian>
    void momentum(const double* block, double elapsed, double* rate);
    struct Draw {
        double mass_flow, by_pressure;  // from the tank, valve open [kg/s], [kg/(s Pa)]
    };
    [[nodiscard]] Draw draw() const;
    void set_jacobian(double first_by_p, double last_by_p);

    [[nodiscard]] double specific(double pressure) const;  // 1/v(p)
    [[nodiscard]] double wall_volume(const Wall& wall, double pressure) const;
    void set_restrictions();
    void thin(double duration);
    void add_drift(double* g) const;
    struct Shrinking {
        double rate, change;  // of all nodes [kg/s], [kg/s^2]
    };
    Shrinking shrink(double elapsed, double* rate, double* g) const;

    Stream stream_;
    Liquid liquid_;
    double rho_ref_, area_, stroke_, leak_;
    Eigen::Index stride_, rows_ = 0;
    double cylinder_rho_;  // rho_T (1-a0) at the cylinder
    // Node weights: (1-a0) rho_T times V0, C, pocket; the first two with the walls' tables in.
    std::vector<double> w0_, w1_, wp_;
    std::vector<double> own_w0_, own_w1_;  // without them, and without the cylinder
    std::vector<MonotoneCubic> curves_;
    std::vector<Wall> walls_;
    std::vector<PipeFlow> pipes_;
    std::vector<double> link_rho_, back_rho_;     // rho_T (1-a0) in each link, forwards, backwards
    std::vector<std::size_t> link_segment_;       // of each pipe
    std::vector<double> conductance_, slimness_;  // of each pipe g, a/l; with inertia
    std::optional<Restriction> inner_;            // throttle or shut-off before volume_between
    std::optional<Restriction> outlet_;
    std::optional<PipeFlow> feed_;
    double tank_pressure_ = 0.0;
    double feed_rho_ = 0.0;  // of the liquid coming from the tank
    double outlet_rho_ = 0.0;
    Eigen::VectorXd distance_;
    std::vector<std::size_t> segment_;
    bool idles_ = false;
    std::vector<double> theta_, moved_;          // of each node [K]; mass through each link [kg]
    std::vector<double> shrink_, shrink_decay_;  // of each node [kg/s], [1/s]
    std::vector<double> thin_, thin_rate_;  // flow of each pipe over that as stated, change [1/s]

    // Workspace of the last evaluation.
    std::vector<double> asked_, mass_, p_, inv_v_, dv_, slope_, dp_dm_;
    std::vector<double> w_, dw_up_, dw_down_, dw_own_, dw_dt_;
    double dp0_dx_ = 0.0;
    double inner_rate_ = 0.0;  // dw/df of the inner restriction
    Tridiagonal jac_, lu_;
    std::array<double, 2> x_column_{};
    Eigen::VectorXd x_solution_, tail_solution_;  // T^-1 of the x column, and of the last unit
    double tail_by_other_ = 0.0;                  // d(dm_N/dt)/d(m_N of the other stream)
    double tail_by_entered_ = 0.0;                // d(dm_N/dt)/d(volume entered), see Network
};

}  // namespace evenfront
