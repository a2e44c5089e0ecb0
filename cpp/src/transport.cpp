#include "evenfront/transport.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <string>
#include <vector>

#include "evenfront/errors.hpp"

namespace evenfront {
namespace {

using Eigen::Index;
using Eigen::VectorXd;

// Cumulative hardener of a composition at ascending volumes.
class CumulativeHardener {
public:
    explicit CumulativeHardener(const Composition& composition) : composition_(composition) {}

    double operator()(double volume) {
        const VectorXd& edge = composition_.volume;
        const VectorXd& hardener = composition_.hardener;
        const Index last = edge.size() - 1;
        if (volume <= edge[0]) {
            return hardener[0] - composition_.before * (edge[0] - volume);
        }
        if (volume >= edge[last]) {
            return hardener[last] + composition_.after * (volume - edge[last]);
        }
        while (edge[piece_ + 1] < volume) {
            ++piece_;
        }
        const double share = (volume - edge[piece_]) / (edge[piece_ + 1] - edge[piece_]);
        return hardener[piece_] + share * (hardener[piece_ + 1] - hardener[piece_]);
    }

private:
    const Composition& composition_;
    Index piece_ = 0;
};

void check(const Composition& composition, const char* where) {
    if (composition.volume.size() < 1 || composition.volume.size() != composition.hardener.size()) {
        throw std::invalid_argument(std::string(where) +
                                    ": composition needs at least one edge, and as many hardener "
                                    "values as edges");
    }
}

Composition through_plug(const Composition& inlet, double shift) {
    const Index edges = inlet.volume.size();
    Composition outlet{.volume = VectorXd(edges + 2),
                       .hardener = VectorXd(edges + 2),
                       .before = inlet.before,
                       .after = inlet.after};
    outlet.volume << inlet.volume[0], inlet.volume.array() + shift,
        inlet.volume[edges - 1] + 2.0 * shift;
    outlet.hardener << inlet.hardener[0] - inlet.before * shift, inlet.hardener,
        inlet.hardener[edges - 1] + inlet.after * shift;
    return outlet;
}

// Deviation of each of `cells` equal pieces from the fraction before the first edge.
VectorXd inlet_deviation(const Composition& inlet, double width, Index cells) {
    const double first = inlet.volume[0];
    const double last = inlet.volume[inlet.volume.size() - 1];
    CumulativeHardener cumulative(inlet);
    VectorXd deviation(cells);
    double entered = cumulative(first);
    for (Index i = 0; i < cells; ++i) {
        if (first + static_cast<double>(i) * width >= last) {  // exact, so that zero stays zero
            deviation.tail(cells - i).setConstant(inlet.after - inlet.before);
            break;
        }
        const double next = cumulative(first + static_cast<double>(i + 1) * width);
        deviation[i] = (next - entered) / width - inlet.before;
        entered = next;
    }
    return deviation;
}

// Second difference of G: hardener volume found k pieces downstream of one at unit fraction; as
// long as something of a step is still to come.
VectorXd pulse_response(const ResidenceTime& residence, double hold_up, double width, Index cells) {
    constexpr double negligible = 1e-16;  // of a hold-up
    VectorXd response(cells);
    double earlier = 0.0;
    double here = 0.0;
    for (Index k = 0; k < cells; ++k) {
        const double theta = static_cast<double>(k + 1) * width / hold_up;
        const double later = residence.integral(theta);
        response[k] = hold_up * ((later - here) - (here - earlier));
        if (here - (theta - width / hold_up - 1.0) <= negligible) {
            return response.head(k + 1);
        }
        earlier = here;
        here = later;
    }
    return response;
}

VectorXd convolve(const VectorXd& deviation, const VectorXd& response) {
    constexpr double negligible = 1e-17;  // of the response's sum: nothing has come through yet
    const Index cells = deviation.size();
    const double floor = negligible * response.cwiseAbs().sum();
    Index lag = 0;
    while (lag < response.size() && std::abs(response[lag]) <= floor) {
        ++lag;
    }
    VectorXd result = VectorXd::Zero(cells);
    for (Index i = 0; i + lag < cells; ++i) {
        if (deviation[i] != 0.0) {
            const Index count = std::min(cells - i, response.size()) - lag;
            result.segment(i + lag, count) += deviation[i] * response.segment(lag, count);
        }
    }
    return result;
}

void check(const Target& target, const char* where) {
    require(target.ratio > 0 && std::isfinite(target.ratio),
            where,
            "ratio",
            target.ratio,
            "",
            "positive and finite");
    require(target.tolerance_high > 0, where, "tolerance_high", target.tolerance_high, "", "> 0");
    require(target.tolerance_low > 0, where, "tolerance_low", target.tolerance_low, "", "> 0");
}

// A straight piece of a curve over volume.
struct Line {
    double from, to;              // volume
    double from_value, to_value;  // of e
};

// Adds the part of a line that lies above a level.
void add_above(const Line& line, double level, OffRatio& result) {
    const bool starts = line.from_value > level;
    const bool ends = line.to_value > level;
    if ((!starts && !ends) || !(line.to > line.from)) {
        return;
    }
    double enter = line.from;
    double leave = line.to;
    if (starts != ends) {
        const double crossing = line.from + (line.to - line.from) * (level - line.from_value) /
                                                (line.to_value - line.from_value);
        (starts ? leave : enter) = crossing;
    }
    result.volume += leave - enter;
    result.start = std::fmin(result.start, enter);  // fmin and fmax pass over NaN
    result.end = std::fmax(result.end, leave);
}

void add_outside(const Line& line, const Target& target, OffRatio& result) {
    add_above(line, target.tolerance_high, result);
    add_above({line.from, line.to, -line.from_value, -line.to_value}, target.tolerance_low, result);
}

// Volume, start and end of what lies outside the tolerance.
void locate_outside(const VectorXd& edge,
                    const VectorXd& error,
                    const Target& target,
                    OffRatio& result) {
    // How far a slope may reach into a piece, in widths of its neighbour: more than the growth of
    // one time step to the next, so that smooth curves keep order 2; less than a mixer volume.
    constexpr double reach = 8.0;
    const Index pieces = error.size();
    double level_from = edge[0];
    for (Index i = 0; i + 1 < pieces; ++i) {
        const double left = edge[i + 1] - edge[i];
        const double right = edge[i + 2] - edge[i + 1];
        const double slope_from = edge[i + 1] - 0.5 * std::min(left, reach * right);
        const double slope_to = edge[i + 1] + 0.5 * std::min(right, reach * left);
        add_outside({level_from, slope_from, error[i], error[i]}, target, result);
        add_outside({slope_from, slope_to, error[i], error[i + 1]}, target, result);
        level_from = slope_to;
    }
    const double last = error[pieces - 1];
    add_outside({level_from, edge[pieces], last, last}, target, result);
}

// Integral of max(0, f) for f straight from `from` to `to` over `width`.
double positive_part(double from, double to, double width) {
    if (from <= 0.0 && to <= 0.0) {
        return 0.0;
    }
    if (from >= 0.0 && to >= 0.0) {
        return 0.5 * (from + to) * width;
    }
    const double top = std::max(from, to);
    return 0.5 * top * width * top / std::abs(to - from);
}

// Volumes at which a moving piece meets an edge with either of its ends, from first to last edge.
std::vector<double> moving_breaks(const VectorXd& edge, double width) {
    const double first = edge[0];
    const double last = edge[edge.size() - 1];
    std::vector<double> breaks{first};
    std::vector<double> tail_meets;
    for (const double volume : edge) {
        if (const double middle = volume - 0.5 * width; middle > first && middle < last) {
            breaks.push_back(middle);
        }
        if (const double middle = volume + 0.5 * width; middle > first && middle < last) {
            tail_meets.push_back(middle);
        }
    }
    tail_meets.push_back(last);
    const auto head = static_cast<std::ptrdiff_t>(breaks.size());
    breaks.insert(breaks.end(), tail_meets.begin(), tail_meets.end());
    std::inplace_merge(breaks.begin(), breaks.begin() + head, breaks.end());
    return breaks;
}

void add_excess(const Composition& composition,
                const Target& target,
                double resolve_volume,
                OffRatio& result) {
    const double most = target.ratio * (1.0 + target.tolerance_high);
    const double least = target.ratio * (1.0 - target.tolerance_low);
    // hardener beyond `ratio` in a piece of `width` that holds `hardener`: h - ratio r
    const auto beyond = [](double ratio, double hardener, double width) {
        return hardener - ratio * (width - hardener);
    };
    if (resolve_volume == 0.0) {
        for (Index i = 0; i + 1 < composition.volume.size(); ++i) {
            const double width = composition.volume[i + 1] - composition.volume[i];
            const double hardener = composition.hardener[i + 1] - composition.hardener[i];
            result.surplus += std::max(0.0, beyond(most, hardener, width));
            result.missing += std::max(0.0, -beyond(least, hardener, width));
        }
        return;
    }
    CumulativeHardener head(composition);
    CumulativeHardener tail(composition);
    const std::vector<double> breaks = moving_breaks(composition.volume, resolve_volume);
    double before = 0.0;
    for (std::size_t i = 0; i < breaks.size(); ++i) {
        const double hardener =
            head(breaks[i] + 0.5 * resolve_volume) - tail(breaks[i] - 0.5 * resolve_volume);
        if (i > 0) {
            const double share = (breaks[i] - breaks[i - 1]) / resolve_volume;
            result.surplus += positive_part(beyond(most, before, resolve_volume),
                                            beyond(most, hardener, resolve_volume),
                                            share);
            result.missing += positive_part(-beyond(least, before, resolve_volume),
                                            -beyond(least, hardener, resolve_volume),
                                            share);
        }
        before = hardener;
    }
}

}  // namespace

Composition through_mixer(
    const Composition& inlet, const ResidenceTime& residence, double hold_up, double z, int cells) {
    check(inlet, "through_mixer");
    require(hold_up > 0 && std::isfinite(hold_up),
            "through_mixer",
            "hold_up",
            hold_up,
            "m^3",
            "positive and finite");
    require(z > 0 && z <= 1, "through_mixer", "z", z, "", "0 < z <= 1");
    require(cells >= 1, "through_mixer", "cells", cells, "", ">= 1");
    const double held = z * hold_up;
    if (residence.is_plug()) {
        return through_plug(inlet, held);
    }
    const double first = inlet.volume[0];
    const double range = inlet.volume[inlet.volume.size() - 1] - first + 2.0 * held;
    const double width = range / cells;
    const VectorXd pieces = convolve(inlet_deviation(inlet, width, cells),
                                     pulse_response(residence.at_fraction(z), held, width, cells));
    Composition outlet{.volume = VectorXd::LinSpaced(cells + 1, first, first + range),
                       .hardener = VectorXd(cells + 1),
                       .before = inlet.before,
                       .after = inlet.after};
    outlet.hardener[0] = 0.0;
    for (Index i = 0; i < cells; ++i) {
        outlet.hardener[i + 1] = outlet.hardener[i] + (pieces[i] + inlet.before * width);
    }
    return outlet;
}

VectorXd profile_along(const Composition& inlet,
                       const ResidenceTime& residence,
                       double hold_up,
                       double entered,
                       const VectorXd& places) {
    check(inlet, "profile_along");
    require_positive("profile_along", "hold_up", hold_up, "m^3");
    require(std::isfinite(entered), "profile_along", "entered", entered, "m^3", "finite");
    const VectorXd& edge = inlet.volume;
    const Index last = edge.size() - 1;
    VectorXd fraction(places.size());
    for (Index k = 0; k < places.size(); ++k) {
        const double z = places[k];
        require(z > 0 && z <= 1, "profile_along", "places", z, "", "0 < z <= 1");
        const ResidenceTime here = residence.at_fraction(z);
        const auto passed = [&](Index i) {
            return here.cumulative((entered - edge[i]) / (z * hold_up));
        };
        double left = passed(0);
        double sum = inlet.before;
        for (Index i = 0; i < last && left > 0.0; ++i) {
            const double right = passed(i + 1);
            const double phi =
                (inlet.hardener[i + 1] - inlet.hardener[i]) / (edge[i + 1] - edge[i]);
            sum += (phi - inlet.before) * (left - right);
            left = right;
        }
        fraction[k] = sum + (inlet.after - inlet.before) * left;
    }
    return fraction;
}

VectorXd ratio_error(const Composition& composition, double ratio) {
    check(composition, "ratio_error");
    require(ratio > 0 && std::isfinite(ratio),
            "ratio_error",
            "ratio",
            ratio,
            "",
            "positive and finite");
    const Index pieces = composition.volume.size() - 1;
    VectorXd error(pieces);
    for (Index i = 0; i < pieces; ++i) {
        const double hardener = composition.hardener[i + 1] - composition.hardener[i];
        const double resin = composition.volume[i + 1] - composition.volume[i] - hardener;
        error[i] = resin > 0.0 ? std::clamp(hardener / resin / ratio - 1.0, -1.0, 1.0) : 1.0;
    }
    return error;
}

OffRatio off_ratio(const Composition& composition, const Target& target, double resolve_volume) {
    check(composition, "off_ratio");
    check(target, "off_ratio");
    require(resolve_volume >= 0 && std::isfinite(resolve_volume),
            "off_ratio",
            "resolve_volume",
            resolve_volume,
            "m^3",
            ">= 0 and finite");
    OffRatio result;
    if (composition.volume.size() < 2) {
        return result;
    }
    const VectorXd error = ratio_error(composition, target.ratio);
    result.highest_error = error.maxCoeff();
    result.lowest_error = error.minCoeff();
    int outside_before = 0;
    for (Index i = 0; i < error.size(); ++i) {
        const double share =
            error[i] / (error[i] > 0.0 ? target.tolerance_high : target.tolerance_low);
        const int outside = share > 1.0 ? 1 : (share < -1.0 ? -1 : 0);
        result.zones += outside != 0 && outside != outside_before ? 1 : 0;
        outside_before = outside;
        result.soft_volume += share * share / (share * share + 1.0) *
                              (composition.volume[i + 1] - composition.volume[i]);
    }
    locate_outside(composition.volume, error, target, result);
    add_excess(composition, target, resolve_volume, result);
    return result;
}

}  // namespace evenfront
