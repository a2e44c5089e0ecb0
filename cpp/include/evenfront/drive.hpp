#pragma once
#include <string>
#include <vector>

#include "evenfront/machine.hpp"

/// Drive force <-> flow in steady state, and where the pressure goes.
namespace evenfront {

/// One piece of a stream in steady flow.
struct Station {
    std::string stream;  ///< "resin", "hardener", or "both" for the mixer
    std::string name;    ///< "cylinder", a segment's name, "throttle", "shut-off", "mixer"
    double pressure;     ///< highest gauge pressure in it, at its upstream end [Pa]
    double loss;         ///< pressure lost in it [Pa]
    double rating;       ///< highest pressure allowed [Pa]; infinite where none is given
};

/// Every piece of both streams from cylinder to mixing point, then the mixer. The losses of a
/// stream and of the mixer add up to its cylinder pressure.
/// @param force of the drive [N], > 0
/// @return empty if nothing flows. Source: steady_state of the same machine.
[[nodiscard]] std::vector<Station> pressure_stations(const Machine& machine, double force);

/// Drive force [N] for a liquid flow of both streams together [m^3/s], > 0: the reverse of
/// steady_state, by TOMS 748 (alefeld1995) on ln(force).
[[nodiscard]] double force_for_flow(const Machine& machine, double flow);

/// Drive force [N] at which the first rating is reached in steady flow; infinite without ratings.
[[nodiscard]] double force_for_rating(const Machine& machine);

/// Gauge pressure [Pa] in one cylinder alone when its outlet is blocked and the other side is open,
/// F/A: on one shaft the small cylinder then takes the whole force. Friction, which would lower it,
/// is left out. @param force [N], >= 0. Source: force balance of the shaft at rest.
[[nodiscard]] double blocked_pressure(const Cylinder& cylinder, double force);

}  // namespace evenfront
