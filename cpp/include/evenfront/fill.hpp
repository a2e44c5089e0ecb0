#pragma once
#include "evenfront/rheology.hpp"

/// Refilling the metering cylinder from the tank.
namespace evenfront {

/// Largest flow through a feed line before the cylinder starves [m^3/s]: the pipe flow from the
/// tank's pressure to the lowest pressure the liquid may see in the cylinder.
/// @param tank_pressure gauge [Pa], above `lowest`
/// @param bore, length of the feed line [m], > 0
/// @param lowest gauge [Pa]; default 0.9 bar of vacuum, where streams are called starved; the
/// vapour pressure less p0 where that is higher
/// Laminar, level. Source: PipeFlow.
[[nodiscard]] double feed_flow(
    const ShearLaw& law, double tank_pressure, double bore, double length, double lowest = -0.9e5);

/// Fastest the piston may be drawn back [m/s], feed flow over the area of its bore.
/// @param cylinder_bore [m], > 0
[[nodiscard]] double retract_speed(double feed_flow, double cylinder_bore);

/// Bore of a feed line [m] that carries a flow at a pressure difference; reverse of PipeFlow.
/// @param flow [m^3/s], > 0; @param pressure [Pa], > 0; @param length [m], > 0
/// Found by TOMS 748 (alefeld1995) on ln(bore) between 0.1 mm and 1 m.
[[nodiscard]] double feed_bore(const ShearLaw& law, double flow, double pressure, double length);

/// Time [s] until a container has to be changed, volume (1 - heel)/flow.
/// @param volume [m^3], > 0; @param heel share that cannot be drawn [-], 0 <= heel < 1
/// @param flow averaged over work and pauses [m^3/s], > 0
[[nodiscard]] double change_over_time(double volume, double heel, double flow);

}  // namespace evenfront
