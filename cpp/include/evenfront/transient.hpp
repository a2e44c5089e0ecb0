#pragma once
#include <Eigen/Core>
#include <limits>
#include <string>
#include <vector>

#include "evenfront/machine.hpp"
#include "evenfront/steady.hpp"

/// A run of a machine through a sequence of steps, as a Trace of every accepted time step.
namespace evenfront {

enum class Status { ok, stroke_exhausted, nothing_flows, not_converged };

using RowMatrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

/// What one stream did; one row per time of the Trace.
struct StreamTrace {
    Eigen::VectorXd volume;   ///< net liquid volume through the shut-off since the run began [m^3]
    Eigen::VectorXd flow;     ///< liquid volume flow through the shut-off [m^3/s], signed
    Eigen::VectorXd leaked;   ///< liquid volume lost at the seal since the run began [m^3]
    Eigen::VectorXd drained;  ///< liquid volume given to the tank since the run began, by a vent or
                              ///< a refill; negative: drawn from it [m^3]
    RowMatrix pressure;  ///< [Pa], one column per node: 0 cylinder ... last node at the throttle
    Eigen::VectorXd distance;  ///< of each node from the cylinder [m]
    Eigen::VectorXd piston;    ///< travel of the piston, behind its shaft by the lash [m]
    /// When its passage was full and it reached the mixing point [s]; NaN: full from the start, or
    /// not yet.
    double arrival = std::numeric_limits<double>::quiet_NaN();
};

/// What the air of a drive did; empty without air. Totals since the run began.
struct AirTrace {
    Eigen::VectorXd driving_pressure;     ///< [Pa]
    Eigen::VectorXd exhausting_pressure;  ///< [Pa]
    Eigen::VectorXd supplied;             ///< air into the driving side, net [kg]
    Eigen::VectorXd exhausted;            ///< air out of the other, net [kg]
    Eigen::VectorXd work;                 ///< of the air on the shaft, the outside's included [J]
    Eigen::VectorXd liquid_work;          ///< of the shaft on the liquid [J]
    Eigen::VectorXd friction_work;        ///< lost to friction [J]
};

/// A second shaft; empty where both pistons sit on one.
struct AxisTrace {
    Eigen::VectorXd position;  ///< [m]
    Eigen::VectorXd speed;     ///< [m/s]
    Eigen::VectorXd force;     ///< of the drive [N]
    AirTrace air;
};

/// One dispense step: rows of the Trace, all inclusive.
struct ShotSpan {
    int step;            ///< index into the sequence's steps
    Eigen::Index open;   ///< row of the open command, after it was given
    Eigen::Index close;  ///< row of the close command, before it takes effect
    Eigen::Index shut;   ///< row at which both shut-offs are shut
};

/// One pause with both shut-offs closed, a dwell or preload: rows of the Trace, inclusive.
struct RestSpan {
    int step;            ///< index into the sequence's steps
    Eigen::Index begin;  ///< row after the drive was told
    Eigen::Index end;    ///< row before the next step, and before a vent
};

/// A stream whose liquid was pulled below -0.9 bar, or its vapour pressure.
struct Starved {
    std::string stream;     ///< "resin" or "hardener"; empty: never
    std::string place;      ///< name of the segment, or "cylinder"
    double time = 0.0;      ///< first time [s]
    double pressure = 0.0;  ///< lowest pressure of the run there [Pa]
};

/// Result of a run. Times repeat where something jumps: the first row before, the second after.
/// Between rows volume is the cubic that fits volume and flow at both ends (error O(h^4)).
struct Trace {
    Status status = Status::ok;
    std::string message;               ///< one sentence where status is not ok
    Eigen::VectorXd time;              ///< [s]
    Eigen::VectorXd position;          ///< x of the shaft; the resin's own where there are two [m]
    Eigen::VectorXd speed;             ///< v of the shaft [m/s]
    Eigen::VectorXd force;             ///< of the drive [N]
    AirTrace air;                      ///< of the drive above
    AxisTrace hardener_axis;           ///< the hardener's own shaft
    Eigen::VectorXd mixer_pressure;    ///< p_m at the mixing point [Pa]
    Eigen::VectorXd mixer_resistance;  ///< R_m [Pa s/m^3]
    Eigen::VectorXd entered;  ///< net liquid that entered the mixer since the run began [m^3]
    StreamTrace resin;
    StreamTrace hardener;
    std::vector<ShotSpan> shots;   ///< completed dispense steps, in order
    std::vector<ShotSpan> purges;  ///< completed purge steps, in order
    std::vector<RestSpan> rests;   ///< completed dwells and preloads, in order
    Steady steady;                 ///< constant-drive steady state of the same settings
    Starved starved;
    std::vector<std::string> warnings;  ///< one sentence each: limits passed, targets not reached
    double mass_balance_error = 0.0;    ///< largest stream's |mass lost| / mass dispensed [-]
    double periodic_residual = 0.0;  ///< change over a round / closed pressure; periodic start [-]
    int periodic_rounds = 0;         ///< rounds it took to find it, 0 where none was sought,
    int periodic_rough_rounds = 0;   ///< after these with coarser steps, to come near it
    int steps = 0;                   ///< accepted time steps
    int rejected = 0;                ///< rejected ones
    int evaluations = 0;             ///< right-hand sides
};

/// Runs the sequence. Never throws for physics: a run that cannot go on ends with a status.
/// @throws std::domain_error if the machine, sequence or numerics cannot be (see validate)
/// Method: L-stable Rosenbrock of order 4(3) (hairer1996, RODAS), masses as state, so that the
/// mass of each stream is kept to round-off at any tolerance.
[[nodiscard]] Trace simulate(const Machine& machine,
                             const Sequence& sequence,
                             const Numerics& numerics = {});

}  // namespace evenfront
