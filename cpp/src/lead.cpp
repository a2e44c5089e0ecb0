#include "evenfront/lead.hpp"

#include <algorithm>
#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <limits>

#include "evenfront/errors.hpp"

namespace evenfront {
namespace {

using Eigen::Index;
using Eigen::VectorXd;

constexpr double missing_value = std::numeric_limits<double>::quiet_NaN();
constexpr double beside_peclet = 100.0;  // of the answer given beside the case's own
constexpr int default_refine = 8;

// Cubic over one time step, s from 0 to 1, by its values and slopes (times the step) at both ends.
struct Cubic {
    double first, last, first_slope, last_slope;

    [[nodiscard]] double curvature() const {  // coefficient of s^2
        return 3.0 * (last - first) - 2.0 * first_slope - last_slope;
    }
    [[nodiscard]] double cubic() const {  // coefficient of s^3
        return first_slope + last_slope - 2.0 * (last - first);
    }
    [[nodiscard]] double operator()(double s) const {
        return first + s * (first_slope + s * (curvature() + s * cubic()));
    }
};

struct Range {
    double lowest = 0.0;
    double highest = 0.0;

    void include(double value) {
        lowest = std::min(lowest, value);
        highest = std::max(highest, value);
    }
    void include(const Cubic& curve) {
        include(curve.last);
        const auto [early, late] = boost::math::tools::quadratic_roots(
            3.0 * curve.cubic(), 2.0 * curve.curvature(), curve.first_slope);
        for (const double s : {early, late}) {
            if (s > 0.0 && s < 1.0) {  // NaN where the curve has no extreme
                include(curve(s));
            }
        }
    }
};

void check(const Trace& trace, const ShotSpan& shot) {
    const Index rows = trace.time.size();
    if (shot.open < 0 || shot.open > shot.close || shot.close > shot.shut || shot.shut >= rows) {
        throw std::invalid_argument("shot: rows must be in order and within the trace");
    }
}

// Volume of a stream since the open command, over the step from `row` to the next.
Cubic volume_cubic(const StreamTrace& stream, const ShotSpan& shot, Index row, double step) {
    const double origin = stream.volume[shot.open];
    return {stream.volume[row] - origin,
            stream.volume[row + 1] - origin,
            step * stream.flow[row],
            step * stream.flow[row + 1]};
}

Cubic lead_cubic(const Cubic& resin, const Cubic& hardener, double ratio) {
    return {hardener.first - ratio * resin.first,
            hardener.last - ratio * resin.last,
            hardener.first_slope - ratio * resin.first_slope,
            hardener.last_slope - ratio * resin.last_slope};
}

struct Ranges {
    Range lead, resin, hardener;
};

// Extremes within the shot of the lead and of both volumes, those between rows included.
Ranges ranges(const Trace& trace, const ShotSpan& shot, double ratio) {
    Ranges found;
    for (Index row = shot.open; row < shot.close; ++row) {
        const double step = trace.time[row + 1] - trace.time[row];
        if (step > 0.0) {
            const Cubic resin = volume_cubic(trace.resin, shot, row, step);
            const Cubic hardener = volume_cubic(trace.hardener, shot, row, step);
            found.lead.include(lead_cubic(resin, hardener, ratio));
            found.resin.include(resin);
            found.hardener.include(hardener);
        }
    }
    return found;
}

double dispensed(const StreamTrace& stream, const ShotSpan& shot) {
    return stream.volume[shot.close] - stream.volume[shot.open];
}

double after_close(const StreamTrace& stream, const ShotSpan& shot) {
    return stream.volume[shot.shut] - stream.volume[shot.close];
}

double delivered_ratio(const Steady& steady, const Target& target) {
    return steady.flows ? steady.ratio : target.ratio;
}

double shot_volume(const Composition& inlet) {
    return inlet.volume[inlet.volume.size() - 1] - inlet.volume[0];
}

OffRatio inlet_measures(const Composition& inlet, const Target& target) {
    return off_ratio(inlet, target, target.resolve * shot_volume(inlet));
}

OffRatio outlet_of(const Composition& inlet,
                   const ResidenceTime& residence,
                   const Mixer& mixer,
                   const Target& target) {
    return shot_volume(inlet) > 0.0 ? off_ratio(outlet_composition(inlet, residence, mixer),
                                                target,
                                                target.resolve * shot_volume(inlet))
                                    : OffRatio{};
}

ResidenceTime dispersing(const Mixer& mixer) {
    const ResidenceTime own = residence_time(mixer);
    return own.is_plug() ? ResidenceTime(Residence::dispersion, beside_peclet) : own;
}

// How far the worst piece lies outside the tolerance, in tolerances; negative within.
double worst_excess(double highest, double lowest, const Target& target) {
    return std::max(highest / target.tolerance_high, -lowest / target.tolerance_low) - 1.0;
}

// The models form a family under lengths in series, so the extremes of the hardener fraction fall
// with every further piece of mixer: one crossing at most.
double settling_fraction(const Composition& inlet,
                         const OffRatio& entering,
                         const Mixer& mixer,
                         const Target& target) {
    const double at_inlet = worst_excess(entering.highest_error, entering.lowest_error, target);
    if (at_inlet <= 0.0) {
        return 0.0;
    }
    const ResidenceTime residence = dispersing(mixer);
    const double held = hold_up(mixer);
    const auto excess = [&](double z) {
        constexpr int cells = 400;
        const VectorXd error =
            ratio_error(through_mixer(inlet, residence, held, z, cells), target.ratio);
        return worst_excess(error.maxCoeff(), error.minCoeff(), target);
    };
    const double at_outlet = excess(1.0);
    if (at_outlet > 0.0) {
        return missing_value;
    }
    const auto close_enough = [](double low, double high) { return high - low < 1e-4; };
    std::uintmax_t iterations = 60;
    const auto [low, high] = boost::math::tools::toms748_solve(
        excess, 0.0, 1.0, at_inlet, at_outlet, close_enough, iterations);
    return 0.5 * (low + high);
}

}  // namespace

LeadCurve lead_curve(const Trace& trace, const ShotSpan& shot, double steady_ratio, int refine) {
    check(trace, shot);
    require(refine >= 1, "lead_curve", "refine", refine, "", ">= 1");
    const Index most = 1 + refine * (shot.close - shot.open);
    LeadCurve curve{VectorXd(most), VectorXd(most), VectorXd(most), VectorXd(most)};
    Index count = 0;
    const auto append = [&](double time, double resin, double hardener) {
        curve.time[count] = time - trace.time[shot.open];
        curve.resin[count] = resin;
        curve.hardener[count] = hardener;
        curve.lead[count] = hardener - steady_ratio * resin;
        ++count;
    };
    append(trace.time[shot.open], 0.0, 0.0);
    for (Index row = shot.open; row < shot.close; ++row) {
        const double step = trace.time[row + 1] - trace.time[row];
        if (!(step > 0.0)) {
            continue;  // the second row of a jump in flow
        }
        const Cubic resin = volume_cubic(trace.resin, shot, row, step);
        const Cubic hardener = volume_cubic(trace.hardener, shot, row, step);
        for (int piece = 1; piece < refine; ++piece) {
            const double s = static_cast<double>(piece) / refine;
            append(trace.time[row] + s * step, resin(s), hardener(s));
        }
        append(trace.time[row + 1], resin.last, hardener.last);
    }
    for (VectorXd* values : {&curve.time, &curve.resin, &curve.hardener, &curve.lead}) {
        values->conservativeResize(count);
    }
    return curve;
}

Composition inlet_composition(const Trace& trace,
                              const ShotSpan& shot,
                              double steady_ratio,
                              int refine,
                              const Passages& passages) {
    check(trace, shot);
    Composition inlet =
        mixer_inlet(trace, passages, steady_ratio, shot.open, shot.close, refine).composition;
    if (!(inlet.volume[inlet.volume.size() - 1] > 0.0)) {
        inlet.volume = inlet.hardener = VectorXd::Zero(1);
    }
    return inlet;
}

Composition outlet_composition(const Composition& inlet,
                               const ResidenceTime& residence,
                               const Mixer& mixer) {
    Composition mixed = through_mixer(inlet, residence, hold_up(mixer));
    if (!mixer.tip) {
        return mixed;
    }
    constexpr int cells = 2000;  // a tip holds little of what a mixer does
    return through_mixer(mixed, ResidenceTime::laminar(), hold_up(*mixer.tip), 1.0, cells);
}

double net_lead(const Trace& trace, const ShotSpan& shot, double steady_ratio) {
    check(trace, shot);
    return dispensed(trace.hardener, shot) - steady_ratio * dispensed(trace.resin, shot);
}

double lead_swing(const Trace& trace, const ShotSpan& shot, double steady_ratio) {
    check(trace, shot);
    const Range lead = ranges(trace, shot, steady_ratio).lead;
    return lead.highest - lead.lowest;
}

OffRatio outlet_measures(const Trace& trace,
                         const ShotSpan& shot,
                         const Steady& steady,
                         const Mixer& mixer,
                         const Target& target,
                         const Passages& passages) {
    const double ratio = delivered_ratio(steady, target);
    return outlet_of(inlet_composition(trace, shot, ratio, default_refine, passages),
                     residence_time(mixer),
                     mixer,
                     target);
}

ShotMeasures measure(const Trace& trace,
                     const ShotSpan& shot,
                     const Steady& steady,
                     const Mixer& mixer,
                     const Target& target,
                     const Passages& passages) {
    check(trace, shot);
    const double ratio = delivered_ratio(steady, target);
    const auto [lead, resin_range, hardener_range] = ranges(trace, shot, ratio);
    const Composition inlet = inlet_composition(trace, shot, ratio, default_refine, passages);
    const OffRatio entering = inlet_measures(inlet, target);
    const double lead_at_close = net_lead(trace, shot, ratio);
    return {
        .net_lead = lead_at_close,
        .peak_lead = lead.highest,
        .peak_lag = lead.lowest,
        .swing = lead.highest - lead.lowest,
        .lead_time = steady.flows ? lead_at_close / steady.hardener.flow : missing_value,
        .inlet = entering,
        .outlet = outlet_of(inlet, residence_time(mixer), mixer, target),
        .outlet_plug = outlet_of(inlet, {Residence::plug, 0.0}, mixer, target),
        .outlet_dispersed = outlet_of(inlet, {Residence::dispersion, beside_peclet}, mixer, target),
        .travel_length = mixer.length * std::min(1.0, entering.volume / hold_up(mixer)),
        .settling_distance = mixer.length * settling_fraction(inlet, entering, mixer, target),
        .resin_pushed_back = -resin_range.lowest,
        .hardener_pushed_back = -hardener_range.lowest,
        .resin_volume = dispensed(trace.resin, shot),
        .hardener_volume = dispensed(trace.hardener, shot),
        .resin_after_close = after_close(trace.resin, shot),
        .hardener_after_close = after_close(trace.hardener, shot),
        .resin_closed_pressure = trace.resin.pressure(shot.open, 0),
        .hardener_closed_pressure = trace.hardener.pressure(shot.open, 0),
        .resin_closed_head = trace.resin.pressure(shot.open, trace.resin.pressure.cols() - 1),
        .hardener_closed_head =
            trace.hardener.pressure(shot.open, trace.hardener.pressure.cols() - 1),
        .open_time = trace.time[shot.open],
        .duration = trace.time[shot.close] - trace.time[shot.open],
    };
}

RunMeasures measure(const Trace& trace, const Machine& machine, const Target& target) {
    RunMeasures result{{}, trace.steady};
    for (const ShotSpan& shot : trace.shots) {
        result.shots.push_back(
            measure(trace, shot, trace.steady, machine.mixer, target, passages(machine)));
    }
    return result;
}

}  // namespace evenfront
