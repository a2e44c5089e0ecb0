#pragma once
#include <string>

#include "evenfront/machine.hpp"

/// Constant-drive steady state of a machine at one shaft position.
namespace evenfront {

struct SteadyStream {
    double mass_flow;            ///< delivered [kg/s]
    double flow;                 ///< liquid volume flow delivered [m^3/s]
    double cylinder_pressure;    ///< [Pa]
    double throttle_pressure;    ///< at the last node of the line (gauge at the head) [Pa]
    double throttle_loss;        ///< pressure lost in the throttle alone [Pa]
    double reynolds_number;      ///< largest generalised Reynolds number in the line [-]
    double gap_reynolds_number;  ///< in the throttle's slit, NaN where not known (throttle.hpp) [-]
};

struct Steady {
    bool flows;               ///< false: the drive cannot move the shaft; the rest is then zero
    std::string reason;       ///< one sentence when nothing flows
    double speed;             ///< v of the shaft, of the resin's where there are two [m/s]
    double hardener_speed;    ///< of the hardener's piston [m/s]
    double force;             ///< with which the (resin's) drive can push at that speed [N]
    double mixer_pressure;    ///< p_m [Pa]
    double mixer_resistance;  ///< R_m [Pa s/m^3]
    double blend_viscosity;   ///< used for R_m [Pa s]
    double ratio;             ///< delivered hardener per resin by liquid volume, r_s [-]
    SteadyStream resin;
    SteadyStream hardener;
};

/// Solves F0 = A_r p_r + A_h p_h + c v + F_c with both streams at their steady flow.
/// Mass flow is the same in every link of a line, density follows local pressure and temperature,
/// so ratio = (A_h rho_h(p_h)/rho_h,ref)/(A_r rho_r(p_r)/rho_r,ref) without leak.
/// R_m is that of the steady flow itself (fixed point) when the blend viscosity follows the log
/// rule.
/// An air drive pushes with what its ways of air leave at the speed (air.hpp), a screw goes at its
/// speed where its limit of force is enough for that. Two shafts balance at once.
/// @param force F0 [N] in place of the drive's own, of whatever kind; two drives are scaled alike;
/// none if negative
[[nodiscard]] Steady steady_state(const Machine& machine, double force = -1.0);

}  // namespace evenfront
