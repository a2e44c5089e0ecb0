#pragma once
#include <Eigen/Core>

#include "evenfront/mixer_inlet.hpp"

/// A run followed through mixer and tip: what leaves, shot after shot, and how old it is.
namespace evenfront {

/// What left the outlet in order, cut wherever a shot begins or ends.
struct OutletSequence {
    Eigen::VectorXd volume;    ///< edges, liquid out since the run began [m^3], from 0
    Eigen::VectorXd hardener;  ///< cumulative, at the edges [m^3]
    Eigen::VectorXi shot;      ///< in which a piece leaves, index into Trace.shots: from its open
                           ///< command until both shut-offs are shut; -1: between shots (purge, to
                           ///< the cup) or after the last complete one
    Eigen::VectorXd time;  ///< mean time at which a piece leaves [s]
    Eigen::VectorXd age;   ///< mean time since its liquid met the mixing point [s]
};

/// Through the mixer by `residence`, then through its tip, if any, by the laminar law. Liquid out
/// is liquid in while both are full. Where they start empty nothing leaves until they are full;
/// liquid that runs ahead of the front then collects behind it: the n-th drop to leave is the n-th
/// drop of new liquid to leave a mixer that was full of something else.
/// @param tip_index power-law index of the blend in the tip [-], 0.05 ... 1
/// @throws std::domain_error for a value out of range
[[nodiscard]] OutletSequence outlet_sequence(const MixerInlet& inlet,
                                             const Trace& trace,
                                             const Mixer& mixer,
                                             const ResidenceTime& residence,
                                             double tip_index = 1.0);

}  // namespace evenfront
