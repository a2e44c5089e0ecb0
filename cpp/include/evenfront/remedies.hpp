#pragma once
#include <string>
#include <vector>

#include "evenfront/trim.hpp"

/// What else mends a shot, and what a trim depends on: the same machine changed in one respect,
/// simulated again.
namespace evenfront {

enum class RemedyKind {
    preload,         ///< drive against closed shut-offs before each shot; amount [s]
    hold,            ///< hold the drive on between shots
    delay_resin,     ///< open the resin shut-off later; amount [s]
    delay_hardener,  ///< open the hardener shut-off later; amount [s]
    degas_resin,     ///< amount: free gas left [-]
    degas_hardener,  ///< amount: free gas left [-]
    bleed_pocket,    ///< remove trapped air; amount: volume bled, at p0 [m^3]
    heat_resin,      ///< warm the resin's worst zone; amount [K]
    shorter_hose,    ///< amount: new length of the longest resin segment [m]
    stiffer_hose,    ///< amount: new wall expansion of that segment [m^3/(Pa m)]
    purge,           ///< first part of the shot to the cup; amount: liquid volume [m^3]
};

struct Remedy {
    RemedyKind kind;
    double amount;        ///< SI, see RemedyKind
    std::string place;    ///< name of the segment, "cylinder", or empty
    Machine machine;      ///< changed
    Sequence sequence;    ///< changed
    Trial trial;          ///< measures of its last shot; a purge: what is left for the part
    double soft_removed;  ///< S before minus S after [m^3]
    double waste;         ///< liquid lost to the cup, per shot [m^3]
    double wait;          ///< time lost, per shot [s]
    double flow_change;   ///< steady flow after / before - 1 [-]
};

/// Every remedy that applies to the machine as written, most soft volume removed first.
///   preload: the shortest of 0.5, 1, 2, 4 s within 1 % of the best; delay: the best 0 ... 0.3 s;
///   degas to 0.2 % (resin), 0.01 % (hardener); heat: the zone, cylinder or segment, whose 10 K
///   remove most; shorter: half of the longest segment; stiffer: a fifth of its wall expansion;
///   purge: until the outlet has been on ratio for good.
/// Amounts: common practice, no source.
[[nodiscard]] std::vector<Remedy> remedies(const Machine& machine,
                                           const Sequence& sequence,
                                           const Target& target,
                                           int threads = 0,
                                           const Numerics& numerics = {});

enum class Assumption {
    resin_gas,             ///< free gas of the resin
    resin_temperature,     ///< all resin zones
    hardener_temperature,  ///< all hardener zones
    drive_force,
    wall_expansion,  ///< of all hoses
    resin_viscosity,
    position,  ///< of the shaft when the run starts
};

/// One assumption changed at a given setting.
struct Sensitivity {
    Assumption assumption;
    double value;    ///< the assumed value, SI; temperatures as a shift [K]; a factor for walls
                     ///<   and viscosity
    double changed;  ///< the value tried
    Trial trial;     ///< at the unchanged settings
    double best_setting;  ///< of the swept throttle, trimmed again; NaN if not asked for
    Trial best;           ///< at that setting
};

/// What moves a trim. `machine` is at its answer. Gas halved and doubled, temperatures +-5 K, force
/// +-10 %, wall expansion x1.5, viscosity +20 %, first and last shot of the stroke. Each is
/// trimmed again along one throttle (bounded line search, an e-fold and a half either way).
[[nodiscard]] std::vector<Sensitivity> sensitivities(const Machine& machine,
                                                     const Sequence& sequence,
                                                     const Target& target,
                                                     Objective objective,
                                                     bool sweep_resin = false,
                                                     int threads = 0,
                                                     const Numerics& numerics = {});

}  // namespace evenfront
