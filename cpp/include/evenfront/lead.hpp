#pragma once
#include <vector>

#include "evenfront/steady.hpp"
#include "evenfront/transient.hpp"
#include "evenfront/transport.hpp"

/// Measures of a shot: how far one stream leads the other, and what that does to the part.
namespace evenfront {

/// One shot, from the open command to the close command. SI; NaN where a thing does not occur.
struct ShotMeasures {
    double net_lead;      ///< V_h - r_s V_r at the close command [m^3]; positive: hardener ahead
    double peak_lead;     ///< highest lead within the shot, >= 0 [m^3]
    double peak_lag;      ///< lowest, <= 0 [m^3]
    double swing;         ///< peak_lead - peak_lag [m^3]
    double lead_time;     ///< net lead / steady hardener flow [s]
    OffRatio inlet;       ///< what enters the mixer during the shot
    OffRatio outlet;      ///< what leaves it, by the case's residence model
    OffRatio outlet_plug;      ///< the same as plug
    OffRatio outlet_dispersed; ///< the same at Pe 100
    double travel_length;      ///< mixer length the off-ratio plug occupies, at most the mixer's [m]
    double settling_distance;  ///< distance at which dispersion (case's, or Pe 100 when the case is
                               ///< plug) has brought the peak within tolerance [m]; NaN: leaves first
    double resin_pushed_back;     ///< minus the lowest V_r of the shot, >= 0 [m^3]
    double hardener_pushed_back;  ///< likewise
    double resin_volume;          ///< dispensed, open to close command [m^3]
    double hardener_volume;
    double resin_after_close;     ///< passed while the shut-offs close [m^3]
    double hardener_after_close;
    double resin_closed_pressure;     ///< cylinder, at the open command [Pa]
    double hardener_closed_pressure;
    double resin_closed_head;         ///< last node, at the open command [Pa]
    double hardener_closed_head;
    double open_time;             ///< of the open command [s]
    double duration;              ///< open to close command [s]
};

/// Lead curve of a shot: volumes since the open command, on the trace's rows refined by `refine`
/// pieces a step (cubic between rows).
struct LeadCurve {
    Eigen::VectorXd time;      ///< since the open command [s]
    Eigen::VectorXd resin;     ///< V_r [m^3]
    Eigen::VectorXd hardener;  ///< V_h [m^3]
    Eigen::VectorXd lead;      ///< V_h - r_s V_r [m^3]
};
[[nodiscard]] LeadCurve lead_curve(const Trace& trace, const ShotSpan& shot, double steady_ratio,
                                   int refine = 8);

/// What entered the mixer during the shot; before and after it: the steady ratio.
[[nodiscard]] Composition inlet_composition(const Trace& trace, const ShotSpan& shot,
                                            double steady_ratio, int refine = 8);

/// Measures of one shot. `steady` is that of the machine at the shot's start position.
[[nodiscard]] ShotMeasures measure(const Trace& trace, const ShotSpan& shot, const Steady& steady,
                                   const Mixer& mixer, const Target& target);

/// Every shot of a run, each with the steady state at its own start position.
struct RunMeasures {
    std::vector<ShotMeasures> shots;
    std::vector<Steady> steady;  ///< one per shot
};
[[nodiscard]] RunMeasures measure(const Trace& trace, const Machine& machine, const Target& target);

}  // namespace evenfront
