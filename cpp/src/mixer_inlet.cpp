#include "evenfront/mixer_inlet.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <vector>

#include "evenfront/errors.hpp"
#include "mixing_point.hpp"

namespace evenfront {
namespace {

using detail::MixingPoint;
using detail::Parcel;
using detail::Passage;
using Eigen::Index;
using Eigen::VectorXd;
using Pair = std::array<double, 2>;

// Volume of a stream between two rows, s from 0 to 1: the cubic by volumes and flows.
struct StreamStep {
    StreamStep(const StreamTrace& stream, Index row, double step)
        : change(stream.volume[row + 1] - stream.volume[row]),
          first_slope(step * stream.flow[row]),
          last_slope(step * stream.flow[row + 1]) {}

    [[nodiscard]] double operator()(double s) const {  // since the first row
        const double curvature = 3.0 * change - 2.0 * first_slope - last_slope;
        const double cubic = first_slope + last_slope - 2.0 * change;
        return s < 1.0 ? s * (first_slope + s * (curvature + s * cubic)) : change;
    }

    double change, first_slope, last_slope;
};

// Takes a mixing point along the rows of a trace. Steps below `least` wait for the next one.
class Walk {
public:
    Walk(const Trace& trace, MixingPoint& point, double least, int refine)
        : trace_(trace), point_(point), least_(least), refine_(refine) {}

    void rows(Index first, Index last) {
        log(trace_.time[first]);
        for (Index row = first; row < last; ++row) {
            const double step = trace_.time[row + 1] - trace_.time[row];
            if (step > 0.0) {
                between(row, step);
            }
        }
        if (waiting_[0] != 0.0 || waiting_[1] != 0.0) {
            advance(trace_.time[last]);
        }
        log(trace_.time[last]);
    }
    void start() {
        time_.clear();
        entered_.clear();
    }
    [[nodiscard]] VectorXd time() const { return column(time_); }
    [[nodiscard]] VectorXd entered() const { return column(entered_); }

private:
    void between(Index row, double step) {
        const StreamStep resin(trace_.resin, row, step);
        const StreamStep hardener(trace_.hardener, row, step);
        if (resin.change == 0.0 && hardener.change == 0.0 && resin.first_slope == 0.0 &&
            hardener.first_slope == 0.0) {
            log(trace_.time[row]);  // what leaves before a dwell and after it is set apart
            log(trace_.time[row + 1]);
            return;
        }
        Pair before{};
        for (int piece = 1; piece <= refine_; ++piece) {
            const double s = static_cast<double>(piece) / refine_;
            const Pair now{resin(s), hardener(s)};
            waiting_[0] += now[0] - before[0];
            waiting_[1] += now[1] - before[1];
            before = now;
            if (std::abs(waiting_[0]) + std::abs(waiting_[1]) > least_) {
                advance(trace_.time[row] + (s - 0.5 / refine_) * step);
                log(trace_.time[row] + s * step);
            }
        }
    }
    void advance(double time) {
        point_.advance(time, waiting_);
        waiting_ = {};
    }
    void log(double time) {
        time_.push_back(time);
        entered_.push_back(point_.mixer().net());
    }
    static VectorXd column(const std::vector<double>& values) {
        return Eigen::Map<const VectorXd>(values.data(), static_cast<Index>(values.size()));
    }

    const Trace& trace_;
    MixingPoint& point_;
    double least_;
    int refine_;
    Pair waiting_{};
    std::vector<double> time_, entered_;
};

// Whether the passages stand at a row as they do when full of nothing but their own liquid.
bool plain(const Trace& trace, const Passages& passages, Index row) {
    const auto own = [&](const StreamTrace& stream, std::size_t s) {
        const double here = stream.volume[row];
        return stream.volume.head(row + 1).maxCoeff() <= here &&
               (passages.full[s] || here >= passages.volume[s]);
    };
    return own(trace.resin, 0) && own(trace.hardener, 1);
}

// Least step that is followed by itself: far below anything that matters, far above round-off.
double least_step(const Trace& trace, Index first, Index last) {
    constexpr double share = 1e-10;
    const auto moved = [&](const StreamTrace& stream) {
        return std::abs(stream.volume[last] - stream.volume[first]);
    };
    return share * (moved(trace.resin) + moved(trace.hardener));
}

}  // namespace

Passages passages(const Machine& machine) {
    return {.volume = {machine.resin.shutoff.passage, machine.hardener.shutoff.passage},
            .full = {machine.resin.shutoff.passage_full, machine.hardener.shutoff.passage_full}};
}

MixerInlet mixer_inlet(const Trace& trace,
                       const Passages& passages,
                       double steady_ratio,
                       int refine) {
    return mixer_inlet(trace, passages, steady_ratio, 0, trace.time.size() - 1, refine);
}

namespace {

// Takes the run from row `from` to `first`, then counts from there to `last`.
MixerInlet followed(const Trace& trace,
                    const Passages& standing,
                    double fraction,
                    std::array<Index, 3> from_first_last,
                    int refine) {
    const auto [from, first, last] = from_first_last;
    const double least = least_step(trace, first, last);
    MixingPoint point(standing, fraction, least);
    Walk walk(trace, point, least, refine);
    walk.rows(from, first);
    walk.start();
    point.mixer().start();
    walk.rows(first, last);
    const Passage& resin = point.passage(0);
    const Passage& hardener = point.passage(1);
    return {.composition = {.volume = point.mixer().column(&Parcel::volume),
                            .hardener = point.mixer().column(&Parcel::hardener),
                            .before = fraction,
                            .after = fraction},
            .born = point.mixer().column(&Parcel::born),
            .time = walk.time(),
            .entered = walk.entered(),
            .arrival = point.arrival(),
            .slug = {resin.largest(), hardener.largest()},
            .beyond = {resin.beyond(), hardener.beyond()},
            .left = {resin.slug().volume, hardener.slug().volume},
            .left_hardener = {resin.slug().hardener, hardener.slug().hardener},
            .unfilled = {resin.unfilled(), hardener.unfilled()}};
}

}  // namespace

MixerInlet mixer_inlet(const Trace& trace,
                       const Passages& passages,
                       double steady_ratio,
                       Index first_row,
                       Index last_row,
                       int refine) {
    if (first_row < 0 || first_row > last_row || last_row >= trace.time.size()) {
        throw std::invalid_argument("mixer_inlet: rows must be in order and within the trace");
    }
    require_positive("mixer_inlet", "steady_ratio", steady_ratio, "");
    require(refine >= 1, "mixer_inlet", "refine", refine, "", ">= 1");
    for (const double volume : passages.volume) {
        require_not_negative("mixer_inlet", "passage", volume, "m^3");
    }
    const double fraction = steady_ratio / (1.0 + steady_ratio);
    if (first_row == 0 || plain(trace, passages, first_row)) {
        Passages standing = passages;
        if (first_row > 0) {
            standing.full = {true, true};
        }
        MixerInlet inlet =
            followed(trace, standing, fraction, {first_row, first_row, last_row}, refine);
        if (first_row == 0 || inlet.composition.volume[0] >= 0.0) {
            return inlet;
        }
    }
    // the passages, or what the mixer gives back, depend on what came before
    return followed(trace, passages, fraction, {0, first_row, last_row}, refine);
}

MixerInlet after_like_rounds(const MixerInlet& inlet, double volume) {
    const VectorXd& edge = inlet.composition.volume;
    const Index last = edge.size() - 1;
    const double round = edge[last];
    if (!(round > 0.0) || edge[0] < 0.0) {
        return inlet;
    }
    const auto rounds = static_cast<Index>(std::ceil(std::max(0.0, volume) / round));
    const double hardener = inlet.composition.hardener[last];
    const double lasted = inlet.time[inlet.time.size() - 1] - inlet.time[0];
    MixerInlet result = inlet;
    for (VectorXd* values :
         {&result.composition.volume, &result.composition.hardener, &result.born}) {
        values->resize((rounds + 1) * last + 1);
    }
    // Each earlier round was born `lasted` earlier; cumulative values are 0 where the run begins.
    double born = 0.0;
    for (Index k = 0; k <= rounds; ++k) {
        const auto back = static_cast<double>(k);
        const Index at = (rounds - k) * last;
        const VectorXd earlier = inlet.born.array() - back * lasted * edge.array();
        if (k > 0) {
            born -= earlier[last];
        }
        result.composition.volume.segment(at, last + 1) = edge.array() - back * round;
        result.composition.hardener.segment(at, last + 1) =
            inlet.composition.hardener.array() - back * hardener;
        result.born.segment(at, last + 1) = earlier.array() + born;
    }
    return result;
}

}  // namespace evenfront
