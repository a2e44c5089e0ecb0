#pragma once
#include <limits>
#include <string>
#include <vector>

#include "evenfront/lead.hpp"

/// Throttle settings that remove the lead, searched over both streams with every setting simulated.
namespace evenfront {

enum class Objective {
    null_lead,     ///< net lead of the last shot zero within 1e-3 mL, least summed back pressure
    least_soft,    ///< least soft volume S at the outlet
    least_excess,  ///< least surplus + missing hardener at the outlet
};

struct TrimOptions {
    bool fix_resin = false;     ///< leave the resin throttle as it is
    bool fix_hardener = false;  ///< leave the hardener throttle as it is
    double max_back_pressure = std::numeric_limits<double>::infinity();  ///< added, each side [Pa]
    double least_flow = 0.7;  ///< of the steady flow before [-], 0 < least_flow <= 1
    int threads = 0;          ///< 0: as many as there are cores; the answer does not depend on it
};

/// Settings of both throttles in their own unit, resistance [Pa s/m^3] or turns.
struct Settings {
    double resin;
    double hardener;
};

/// One pair of settings, simulated; measures of the last shot.
struct Trial {
    Settings settings;
    double resin_back_pressure;     ///< added: throttle loss at the steady flow of the case as
    double hardener_back_pressure;  ///< written, new minus old [Pa]
    double net_lead;                ///< [m^3]
    double after_close_lead;  ///< V_h - r_s V_r of what passes while the shut-offs close [m^3]
    double swing;             ///< [m^3]
    double shot_resin;        ///< V_r of the shot [m^3]
    OffRatio outlet;          ///< by the case's residence model
    double resin_cylinder;    ///< steady gauge readings, flowing [Pa]
    double hardener_cylinder;
    double resin_head;  ///< last node of the line, before the throttle
    double hardener_head;
    double resin_cylinder_closed;  ///< at the open command [Pa]
    double hardener_cylinder_closed;
    double flow;  ///< steady liquid flow of both streams [m^3/s]
    Status status;
    std::string refused;  ///< the constraint it breaks, empty: allowed
};

/// Measures of the last shot of a run, without comparison to another: no back pressure is added.
[[nodiscard]] Trial measure_trial(const Trace& trace, const Machine& machine, const Target& target);

/// The value an objective minimises [m^3]: |net lead|, S, or surplus + missing.
[[nodiscard]] double objective_value(const Trial& trial, Objective objective);

struct Answer {
    Objective objective;
    bool feasible;
    std::string reason;  ///< why not, or what to know first; empty if all is well
    Trial trial;         ///< at the answer; the case as written if infeasible
    Trial band_open;     ///< more open and more closed throttle at which nine tenths of the gain
    Trial band_closed;   ///<   are left: the band in which the answer holds
    double fold;         ///< nearest setting of the swept side at which the number of off-ratio
                         ///<   zones changes, NaN if none in the curve
    double lowest_net_lead;  ///< over all settings tried [m^3]
    double highest_net_lead;
};

struct Trim {
    Trial before;                 ///< the case as written
    std::vector<Answer> answers;  ///< one per objective asked for
    std::vector<Trial> curve;     ///< 21 settings of the swept side, open to closed
    bool curve_sweeps_resin;      ///< the side swept: hardener unless it is fixed
    int simulations;              ///< how many transients this took
};

/// Searches a grid, even in the logarithm of the throttles' resistance (in turns^-3 for a needle),
/// within the throttles' ranges and the constraints; polishes the best three by bounded line
/// searches (Brent, 1973) along each side in turn; takes the lower back pressure among answers
/// within 1 %. `null_lead`: sign changes along both sides of the grid, each bracketed and solved
/// (TOMS 748), then the pair of least summed back pressure.
/// @throws std::domain_error if machine, sequence or options cannot be
[[nodiscard]] Trim trim(const Machine& machine,
                        const Sequence& sequence,
                        const Target& target,
                        const std::vector<Objective>& objectives,
                        const TrimOptions& options = {},
                        const Numerics& numerics = {});

/// Simulates pairs of settings side by side; for maps, sliders and curves.
[[nodiscard]] std::vector<Trial> try_settings(const Machine& machine,
                                              const Sequence& sequence,
                                              const Target& target,
                                              const std::vector<Settings>& settings,
                                              const TrimOptions& options = {},
                                              const Numerics& numerics = {});

}  // namespace evenfront
