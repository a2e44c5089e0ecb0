#pragma once
#include <vector>

#include "evenfront/mixer_inlet.hpp"
#include "evenfront/steady.hpp"
#include "evenfront/transient.hpp"
#include "evenfront/transport.hpp"

/// Measures of a shot: how far one stream leads the other, and what that does to the part.
/// lead(t) = V_h(t) - r_s V_r(t), net liquid volumes through the shut-offs since the open command,
/// r_s the delivered steady ratio (the ratio asked for where the drive moves nothing).
/// Between the rows of a trace volumes run as the cubic through volume and flow at both ends;
/// extremes are those of the cubics, not of sampled points.
namespace evenfront {

/// One shot, from the open command to the close command. SI; NaN where a thing does not occur.
struct ShotMeasures {
    double net_lead;       ///< at the close command [m^3]; positive: hardener ahead
    double peak_lead;      ///< highest lead within the shot, >= 0 (the open command counts) [m^3]
    double peak_lag;       ///< lowest, <= 0 [m^3]
    double swing;          ///< peak_lead - peak_lag [m^3]
    double lead_time;      ///< net lead / steady hardener flow [s]; NaN if nothing flows
    OffRatio inlet;        ///< what enters the mixer during the shot
    OffRatio outlet;       ///< what leaves it, by the case's residence model
    OffRatio outlet_plug;  ///< the same as plug
    OffRatio outlet_dispersed;    ///< the same at Pe 100
    double travel_length;         ///< mixer length filled by the off-ratio liquid of the inlet,
                                  ///< at most the mixer's [m]
    double settling_distance;     ///< distance at which dispersion (the case's dispersion or tanks,
                                  ///< else Pe 100) has brought the peak of e within tolerance [m];
                                  ///< 0: it enters within, NaN: it leaves first
    double resin_pushed_back;     ///< minus the lowest V_r of the shot, >= 0 [m^3]
    double hardener_pushed_back;  ///< likewise
    double resin_volume;          ///< dispensed, open to close command [m^3]
    double hardener_volume;       ///< likewise
    double resin_after_close;     ///< passed while the shut-offs close [m^3]
    double hardener_after_close;  ///< likewise
    double resin_closed_pressure;     ///< cylinder, at the open command [Pa]
    double hardener_closed_pressure;  ///< likewise
    double resin_closed_head;         ///< last node, at the open command [Pa]
    double hardener_closed_head;      ///< likewise
    double open_time;                 ///< of the open command [s]
    double duration;                  ///< open to close command [s]
};

/// Lead curve of a shot on the trace's rows, each time step cut into `refine` equal pieces.
struct LeadCurve {
    Eigen::VectorXd time;      ///< since the open command [s]
    Eigen::VectorXd resin;     ///< V_r [m^3]
    Eigen::VectorXd hardener;  ///< V_h [m^3]
    Eigen::VectorXd lead;      ///< V_h - r_s V_r [m^3]
};

/// @param refine >= 1
/// @throws std::domain_error if refine < 1, std::invalid_argument if the shot is not in the trace
[[nodiscard]] LeadCurve lead_curve(const Trace& trace,
                                   const ShotSpan& shot,
                                   double steady_ratio,
                                   int refine = 8);

/// What entered the mixer during the shot, on the axis of net liquid entered since the open
/// command; before and after it: the steady ratio. Liquid pushed back and given again: see
/// outlet.hpp. A shot without net volume has one edge and no pieces.
[[nodiscard]] Composition inlet_composition(const Trace& trace,
                                            const ShotSpan& shot,
                                            double steady_ratio,
                                            int refine = 8,
                                            const Passages& passages = {});

/// Lead at the close command [m^3], the `net_lead` of ShotMeasures: two rows, for searches.
[[nodiscard]] double net_lead(const Trace& trace, const ShotSpan& shot, double steady_ratio);

/// Highest minus lowest lead within the shot [m^3], the `swing` of ShotMeasures.
[[nodiscard]] double lead_swing(const Trace& trace, const ShotSpan& shot, double steady_ratio);

/// What leaves the mixer from the open command on, to inlet volume + 2 hold-ups: the liquid that
/// entered during the shot, with liquid at the steady ratio before and after, whatever the model.
/// Through the mixer's tip as well, if it has one, Newtonian and laminar.
/// A mixer that starts empty is taken as full; what leaves it in truth, and when: see outlet.hpp.
[[nodiscard]] Composition outlet_composition(const Composition& inlet,
                                             const ResidenceTime& residence,
                                             const Mixer& mixer);

/// Measures of `outlet_composition` by the case's residence model: the `outlet` of ShotMeasures,
/// without the cost of the rest, for searches.
[[nodiscard]] OffRatio outlet_measures(const Trace& trace,
                                       const ShotSpan& shot,
                                       const Steady& steady,
                                       const Mixer& mixer,
                                       const Target& target,
                                       const Passages& passages = {});

/// Measures of one shot. `steady` is that of the machine at the shot's start position.
/// Surplus and missing are taken at target.resolve x shot volume, all else piece by piece.
/// A shot without net volume has no off-ratio liquid.
[[nodiscard]] ShotMeasures measure(const Trace& trace,
                                   const ShotSpan& shot,
                                   const Steady& steady,
                                   const Mixer& mixer,
                                   const Target& target,
                                   const Passages& passages = {});

/// Every shot of a run. The steady state depends on the drive and the settings alone, not on the
/// shaft's position, so one serves all shots.
struct RunMeasures {
    std::vector<ShotMeasures> shots;
    Steady steady;
};
[[nodiscard]] RunMeasures measure(const Trace& trace, const Machine& machine, const Target& target);

}  // namespace evenfront
