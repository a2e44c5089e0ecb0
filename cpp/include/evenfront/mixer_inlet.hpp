#pragma once
#include <Eigen/Core>
#include <array>

#include "evenfront/transient.hpp"
#include "evenfront/transport.hpp"

/// What enters the mixer over a run, in order: crossover and empty passages followed.
///
/// From its shut-off to the mixing point each stream has a passage. One that starts empty takes the
/// stream's first liquid; until it is full nothing of that stream enters the mixer. A stream that
/// is pushed back takes what stands at the mixing point, the blend of what flows in at that moment,
/// into its passage, and gives that slug back first when it flows forward again: last in, first
/// out. Where more goes back than flows in, the mixer gives back what entered it last. Liquid is
/// neither made nor lost on any of these ways, nor hardener (round-off, 1e-12 of what passed).
/// Volumes of the trace count through the shut-offs; liquid is taken as stiff beyond them.
namespace evenfront {

/// From shut-off to mixing point; resin, hardener.
struct Passages {
    std::array<double, 2> volume{};        ///< [m^3], >= 0
    std::array<bool, 2> full{true, true};  ///< false: empty when the run begins
};
[[nodiscard]] Passages passages(const Machine& machine);

/// What entered the mixer, and how. Pairs: resin, hardener; NaN where a thing does not occur.
struct MixerInlet {
    /// On the axis of net liquid entered; what was inside before, and follows, at the ratio
    /// delivered. The first edge lies below 0 where the mixer gave back more than had entered.
    Composition composition;
    /// At the edges: integral over volume of the time at which liquid first met the mixing point
    /// [s m^3]; liquid inside at the beginning counts from time 0.
    Eigen::VectorXd born;
    Eigen::VectorXd time;           ///< instants, rising [s]
    Eigen::VectorXd entered;        ///< net liquid entered by then [m^3]
    std::array<double, 2> arrival;  ///< of the first liquid at the mixing point [s]
    std::array<double, 2> slug;     ///< most liquid that stood in the passage pushed back [m^3]
    std::array<double, 2> beyond;   ///< how far that went beyond the passage, into the line [m^3]
    std::array<double, 2> left;     ///< of it at the end [m^3]
    std::array<double, 2> left_hardener;  ///< hardener in that [m^3]
    std::array<double, 2> unfilled;       ///< of the passage at the end [m^3]
};

/// What entered from the run's beginning to its end.
/// @param steady_ratio delivered, of the liquid inside before the run [-], > 0
/// @param refine pieces per time step, >= 1; between rows volumes run as cubics
/// @throws std::domain_error for a value out of range
[[nodiscard]] MixerInlet mixer_inlet(const Trace& trace,
                                     const Passages& passages,
                                     double steady_ratio,
                                     int refine = 8);

/// What entered between two rows, on the axis of net liquid entered since the first of them; the
/// passages stand as the run has left them by then.
/// @throws std::invalid_argument if the rows are not in order and in the trace
[[nodiscard]] MixerInlet mixer_inlet(const Trace& trace,
                                     const Passages& passages,
                                     double steady_ratio,
                                     Eigen::Index first_row,
                                     Eigen::Index last_row,
                                     int refine);

/// The same as if the run had been gone through before, again and again, until at least `volume`
/// had entered: for a periodic start. What enters nothing is left as it is.
[[nodiscard]] MixerInlet after_like_rounds(const MixerInlet& inlet, double volume);

}  // namespace evenfront
