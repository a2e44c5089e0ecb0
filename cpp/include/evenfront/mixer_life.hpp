#pragma once

/// How old the blend is when it leaves the mixer, and what keeping it alive costs.
namespace evenfront {

/// Mean residence time in steady flow [s], hold-up over flow.
/// @param hold_up [m^3], > 0, see hold_up(mixer); @param flow of both streams [m^3/s], > 0
/// Source: levenspiel1999, ch. 11.
[[nodiscard]] double residence_in_flow(double hold_up, double flow);

/// Age [s] of the oldest blend that leaves as shots follow one another, plug flow: liquid that
/// enters at the end of a shot sees ceil(hold-up/shot) pauses on its way,
///   hold-up/flow + ceil(hold-up/shot) dwell
/// @param shot [m^3], > 0; @param flow while dispensing [m^3/s], > 0
/// @param dwell between shots [s], >= 0
/// Liquid near the wall stays longer. Source: volume balance of plug flow.
[[nodiscard]] double age_at_exit(double hold_up, double shot, double flow, double dwell);

/// Longest pause [s] after which the mixer's content may still be used,
///   share x working life - age; 0 if it is too old already.
/// @param working_life [s], > 0; @param share of it that may pass [-], > 0 and <= 1, a third to a
/// half (common practice, no source); @param age at exit in production [s], >= 0
[[nodiscard]] double longest_pause(double working_life, double share, double age);

/// Viscosity over that of fresh blend [-], 2^(age/doubling_time).
/// @param age [s], >= 0; @param doubling_time [s], > 0. Source: exponential growth, the usual
/// reading of a data sheet's working life.
[[nodiscard]] double aged_viscosity(double age, double doubling_time);

}  // namespace evenfront
