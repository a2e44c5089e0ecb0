#pragma once
#include <Eigen/Core>
#include <array>
#include <vector>

#include "evenfront/chain.hpp"
#include "evenfront/machine.hpp"

/// The machine as a system of ordinary differential equations, y' = f(t, y), with its Jacobian.
///
/// Unknowns y, in this order:
///   of each shaft its position x [m] and speed v [m/s], and with an air drive the energies p V of
///   the air on both sides, G_b (driving) and G_e (exhausting) [J], absolute pressures;
///   of each stream the unknowns of its chain, see chain.hpp;
///   running totals: liquid volume [m^3] delivered V_r, V_h, leaked L_r, L_h, drawn from the tanks
///   T_r, T_h, entered into the mixer E, and shrunk by cooling at rest; of each air drive the air
///   supplied and exhausted [kg], the work of the air on the shaft, of the shaft on the liquid, and
///   that lost to friction [J].
/// Equations:
///   dx/dt = v,  m dv/dt = F - sum of A p - c v - friction,  F = F(t) - k x, or the air's
///   dG_b/dt = n R T w_b - (n-1) p_b A_b v,  dG_e/dt = -n R T w_e + (n-1) p_e A_e v   (see air.hpp)
///     (polytropic: a closed side keeps p V^n, an isothermal one, n = 1, gains R T w)
///   p_m = R_m (q_r + q_h), R_m straight in time and in the volume entered
///   q = q(p_N - p_m) + V_stem df/dt: throttle, shut-off and check valve, and what its stem pushes
/// A stream whose passage is still filling sees 0 bar and does not reach the mixing point.
/// Source: air side richer2000, with one exponent for charge, discharge and compression.
namespace evenfront {

/// What the control does to one shaft at one instant.
struct AxisControls {
    double force = 0.0;         ///< of the drive at x = 0 [N]
    double force_rate = 0.0;    ///< [N/s]
    double stiffness = 0.0;     ///< k, the force falls by as x grows [N/m]
    bool free = true;           ///< false: held or led, dv/dt as given
    double acceleration = 0.0;  ///< of a led shaft [m/s^2]
    double friction = 0.0;      ///< Coulomb force against +x [N], sign by direction
    bool supplied = false;      ///< air drive: the driving side is open to the regulator, else out
};

/// What the control does at one instant, and how fast it changes.
struct Controls {
    std::array<AxisControls, 2> axis{};
    std::array<double, 2> fraction{};         ///< opening of the shut-offs, resin, hardener [-]
    std::array<double, 2> fraction_rate{};    ///< [1/s]
    std::array<double, 2> pushed{};           ///< flow that the shut-offs' stems push [m^3/s]
    std::array<double, 2> feed{};             ///< opening of the valves to the tanks [-]
    std::array<double, 2> feed_rate{};        ///< [1/s]
    std::array<bool, 2> joined{true, true};   ///< the stream reaches the mixing point
    std::array<bool, 2> engaged{true, true};  ///< the piston goes with its shaft
    /// Travel of the shaft less that of an engaged piston; where an idle piston stands [m].
    std::array<double, 2> piston{};
    double mixer_resistance = 0.0;  ///< R_m now, at `entered` [Pa s/m^3]
    double mixer_rate = 0.0;        ///< its change with time [Pa/m^3]
    double mixer_by_volume = 0.0;   ///< with the volume entered [Pa s/m^6]
    double entered = 0.0;           ///< E at which R_m is as given [m^3]
    double elapsed = 0.0;  ///< since temperatures and what stands in the mixer were looked at [s]
};

/// Both chains on their shafts, joined at the mixing point.
class Network {
public:
    explicit Network(const Machine& machine, bool inertia = false);

    [[nodiscard]] int axes() const { return axes_; }
    [[nodiscard]] int axis_of(int stream) const { return axes_ == 1 ? 0 : stream; }
    [[nodiscard]] Eigen::Index position(int axis = 0) const { return axis == 0 ? 0 : head_[1]; }
    [[nodiscard]] Eigen::Index speed(int axis = 0) const { return position(axis) + 1; }
    /// Energy p V of the air on the driving side; that of the exhausting one follows it.
    [[nodiscard]] Eigen::Index air(int axis) const { return position(axis) + 2; }
    [[nodiscard]] const std::optional<AirCylinder>& air_cylinder(int axis) const {
        return axis_[u(axis)].air;
    }
    [[nodiscard]] Eigen::Index size() const { return size_; }
    [[nodiscard]] Eigen::Index first(int stream) const {  ///< of the stream's chain
        return stream == 0 ? heads_ : heads_ + chain_[0].rows();
    }
    [[nodiscard]] Eigen::Index first_total() const { return total_; }
    [[nodiscard]] Eigen::Index volume(int stream) const { return total_ + stream; }
    [[nodiscard]] Eigen::Index leaked(int stream) const { return total_ + 2 + stream; }
    [[nodiscard]] Eigen::Index drawn(int stream) const { return total_ + 4 + stream; }
    [[nodiscard]] Eigen::Index entered() const { return total_ + 6; }
    [[nodiscard]] Eigen::Index shrunk(int stream) const { return total_ + 7 + stream; }
    /// Totals of an air drive.
    enum class AirTotal { supplied, exhausted, work, liquid_work, friction_work };
    [[nodiscard]] Eigen::Index air_total(int axis, AirTotal which) const {
        return air_total_[u(axis)] + static_cast<Eigen::Index>(which);
    }
    [[nodiscard]] const Chain& chain(int stream) const { return chain_[u(stream)]; }
    [[nodiscard]] Chain& chain(int stream) { return chain_[u(stream)]; }

    void rhs(const Controls& controls, const Eigen::VectorXd& y, Eigen::VectorXd& f);
    /// f, the Jacobian (kept inside) and g = df/dt through the controls.
    void linearise(const Controls& controls,
                   const Eigen::VectorXd& y,
                   Eigen::VectorXd& f,
                   Eigen::VectorXd& g);
    void factor(double shift);             ///< of (shift I - J), linear in the cells
    void solve(Eigen::VectorXd& b) const;  ///< in place
    [[nodiscard]] Eigen::MatrixXd dense_jacobian() const;  ///< for tests

    // Of the last evaluation:
    [[nodiscard]] double pressure(int stream, Eigen::Index node) const {
        return chain_[u(stream)].p_[static_cast<std::size_t>(node)];
    }
    [[nodiscard]] double flow(int stream) const { return q_[u(stream)]; }  ///< delivered [m^3/s]
    [[nodiscard]] double mixer_pressure() const { return p_m_; }
    [[nodiscard]] double mixer_resistance() const { return resistance_; }
    /// Sum of all forces on a shaft but Coulomb friction, v = 0 [N].
    [[nodiscard]] double net_force(int axis) const { return axis_[u(axis)].net; }
    [[nodiscard]] double drive_force(int axis) const { return axis_[u(axis)].drive; }  ///< [N]
    /// Absolute pressures of the air, driving and exhausting side [Pa].
    [[nodiscard]] const std::array<double, 2>& air_pressure(int axis) const {
        return axis_[u(axis)].air_pressure;
    }

    /// Root mean square of the error over the pressures, speeds, positions, air and volumes, each
    /// against its scale: pressures |p| + a tenth of the closed pressure F0/(sum of A). Infinite
    /// where y has a node hold less than no liquid.
    [[nodiscard]] double error_norm(const Eigen::VectorXd& error, const Eigen::VectorXd& y) const;

private:
    static constexpr std::size_t u(Eigen::Index i) { return static_cast<std::size_t>(i); }
    static constexpr std::size_t most_heads = 8;              // two shafts with air
    static constexpr std::size_t most_ties = most_heads + 3;  // both tails, volume entered

    struct AxisState {
        double mass = 1.0, viscous = 0.0, full_force = 0.0, stroke = 0.0;
        std::optional<AirCylinder> air = std::nullopt;
        // Of the last evaluation.
        double drive = 0.0, net = 0.0;
        std::array<double, 2> air_pressure{};
    };
    // dTotal/dt by the heads, by m_0 and m_N of both chains, and by the volume entered.
    struct TotalRow {
        std::array<double, most_heads> head{};
        std::array<double, 2> first{}, last{};
        double entered = 0.0;
    };

    template <bool WithJacobian>
    void evaluate(const Controls& controls,
                  const Eigen::VectorXd& y,
                  Eigen::VectorXd& f,
                  Eigen::VectorXd* g);
    template <bool WithJacobian>
    void mix(const Controls& controls, double entered);
    template <bool WithJacobian>
    void move(const Controls& controls, int axis, const Eigen::VectorXd& y, Eigen::VectorXd& f);
    template <bool WithJacobian>
    void drive_by_air(const AxisControls& c,
                      int axis,
                      const Eigen::VectorXd& y,
                      Eigen::VectorXd& f);
    void tie(const Controls& controls, Eigen::VectorXd& g);
    [[nodiscard]] TotalRow& total_row(Eigen::Index total) { return rows_[u(total - total_)]; }

    int axes_;
    std::array<AxisState, 2> axis_{};
    std::array<Chain, 2> chain_;
    std::array<Eigen::Index, 2> head_{};  // where each shaft's unknowns begin
    Eigen::Index heads_, total_, size_;
    std::array<Eigen::Index, 2> air_total_{};
    static constexpr double speed_scale = 1e-3;  // [m/s]
    double pressure_scale_;
    std::array<double, 2> volume_scale_{};

    // Of the last evaluation.
    double p_m_ = 0.0;
    double resistance_ = 0.0;
    std::array<bool, 2> joined_{true, true};
    std::array<double, 2> q_{};
    std::array<std::array<double, 2>, 2> dq_{};  // dq_s/dp_N,t
    std::array<double, 2> q_by_entered_{};       // dq_s/dE through R_m
    std::array<double, 2> q_rate_{};             // dq_s/dt through what the control does
    std::array<double, 2> leak_by_p_{};
    std::array<double, 2> draw_by_p_{};
    std::array<double, 2> draw_rate_{};  // d(mass drawn per time)/dt through the valve [kg/s^2]

    // Jacobian of the last linearise, beside the chains' own; right-hand sides leave it alone.
    std::array<std::array<double, most_heads>, most_heads> head_jac_{};
    std::array<std::array<double, 2>, most_heads> head_by_first_{};  // by m_0 of each chain
    std::vector<TotalRow> rows_;
    std::array<std::array<double, most_ties>, most_ties> ties_{};  // factored
    double shift_ = 1.0;
};

}  // namespace evenfront
