#include "evenfront/outlet.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>
#include <vector>

namespace evenfront {
namespace {

using Eigen::Index;
using Eigen::VectorXd;

constexpr double pieces_per_shot = 500.0;  // of the smallest shot, for what spreads
constexpr double widest_pieces = 100.0;    // of it, at least

// Liquid on its way: cumulative hardener and time of birth along one axis of volume.
struct Carried {
    VectorXd volume, hardener, born;
    double fraction;  // hardener fraction of what was there before

    [[nodiscard]] Composition with(const VectorXd& carried, double before) const {
        return {.volume = volume, .hardener = carried, .before = before, .after = before};
    }
};

// Something the liquid flows through.
struct Way {
    const ResidenceTime& residence;
    double held;
    bool empty;
    int cells;
};

Carried through_full(const Carried& in, const Way& way) {
    const Composition hardener =
        through_mixer(in.with(in.hardener, in.fraction), way.residence, way.held, 1.0, way.cells);
    const Composition born =
        through_mixer(in.with(in.born, 0.0), way.residence, way.held, 1.0, way.cells);
    return {hardener.volume, hardener.hardener, born.hardener, in.fraction};
}

// As if the mixer had been full of something else; of what leaves, only the new liquid counts.
Carried through_empty(const Carried& in, const Way& way) {
    const VectorXd liquid = in.volume.array() - in.volume[0];
    const auto passed = [&](const VectorXd& carried) {
        return through_mixer(in.with(carried, 0.0), way.residence, way.held, 1.0, way.cells)
            .hardener.eval();
    };
    const VectorXd volume = passed(liquid);
    const VectorXd hardener = passed(in.hardener);
    const VectorXd born = passed(in.born);
    const double least = 1e-12 * liquid[liquid.size() - 1];
    Carried out{volume, hardener, born, in.fraction};
    Index last = 0;
    for (Index i = 1; i < volume.size(); ++i) {
        if (volume[i] - volume[0] > out.volume[last] + least) {
            ++last;
            out.volume[last] = volume[i] - volume[0];
            out.hardener[last] = hardener[i] - hardener[0];
            out.born[last] = born[i] - born[0];
        }
        if (last == 0) {
            out.volume[0] = out.hardener[0] = out.born[0] = 0.0;
        }
    }
    for (VectorXd* values : {&out.volume, &out.hardener, &out.born}) {
        values->conservativeResize(last + 1);
    }
    return out;
}

// Pieces fine enough for the spread of residence times and for the smallest piece of a shot.
int cells_for(const ResidenceTime& residence, double held, double range, double finest) {
    constexpr double per_hold_up = 200.0;
    constexpr double per_spread = 20.0;
    constexpr double fewest = 1000.0;
    const bool ends = std::isfinite(residence.variance());  // else every piece meets every other
    const double most = ends ? 200000.0 : 20000.0;
    double width = std::min(held / per_hold_up, finest);
    if (ends && !residence.is_plug()) {
        width = std::min(width, held * std::sqrt(residence.variance()) / per_spread);
    }
    return static_cast<int>(std::clamp(range / width, fewest, most));
}

// Value at ascending places of a cumulative curve, straight between its edges, level beyond.
double read(const VectorXd& edge, const VectorXd& value, double at) {
    const Index last = edge.size() - 1;
    if (!(at > edge[0])) {
        return value[0];
    }
    if (at >= edge[last]) {
        return value[last];
    }
    const double* const above = std::upper_bound(edge.data(), edge.data() + edge.size(), at);
    const Index i = (above - edge.data()) - 1;
    const double part = (at - edge[i]) / (edge[i + 1] - edge[i]);
    return value[i] + part * (value[i + 1] - value[i]);
}

// Volume that has left against time, and the integral of time over it.
class Departure {
public:
    Departure(const MixerInlet& inlet, double kept) : time_(inlet.time), left_(inlet.entered) {
        double most = 0.0;
        for (Index i = 0; i < left_.size(); ++i) {
            most = std::max(most, left_[i] - kept);
            left_[i] = most;
        }
        moment_ = VectorXd::Zero(left_.size());
        for (Index i = 1; i < left_.size(); ++i) {
            moment_[i] =
                moment_[i - 1] + 0.5 * (time_[i] + time_[i - 1]) * (left_[i] - left_[i - 1]);
        }
    }

    [[nodiscard]] double total() const { return left_[left_.size() - 1]; }
    [[nodiscard]] double by(double time) const { return read(time_, left_, time); }
    // Integral of the time of leaving over what has left first.
    [[nodiscard]] double moment(double volume) const {
        const double* const above =
            std::upper_bound(left_.data(), left_.data() + left_.size(), volume);
        const Index i = std::clamp<Index>((above - left_.data()) - 1, 0, left_.size() - 1);
        const double into = volume - left_[i];
        if (i + 1 >= left_.size() || !(into > 0.0)) {
            return moment_[i];
        }
        const double rate = (time_[i + 1] - time_[i]) / (left_[i + 1] - left_[i]);
        return moment_[i] + into * (time_[i] + 0.5 * into * rate);
    }

private:
    VectorXd time_, left_, moment_;
};

// Edges of the pieces within (0, total), and every place where a shot begins or ends; wide pieces
// cut evenly, since their liquid leaves one after the other.
std::vector<double> cut_edges(const VectorXd& edge,
                              const std::vector<double>& marks,
                              double total,
                              double widest) {
    std::vector<double> all(edge.data(), edge.data() + edge.size());
    all.insert(all.end(), marks.begin(), marks.end());
    all.push_back(total);
    std::sort(all.begin(), all.end());
    const double least = 1e-12 * total;
    std::vector<double> cuts{0.0};
    for (const double volume : all) {
        const double last = cuts.back();
        if (volume <= last + least || volume > total) {
            continue;
        }
        const auto pieces = static_cast<int>(std::ceil((volume - last) / widest * (1.0 - 1e-9)));
        for (int k = 1; k < pieces; ++k) {
            cuts.push_back(last + static_cast<double>(k) / pieces * (volume - last));
        }
        cuts.push_back(volume);
    }
    if (cuts.size() > 1) {
        cuts.back() = total;
    }
    return cuts;
}

// Where shots begin and end, in pairs, in the volume that has left.
std::vector<double> shot_marks(const Departure& departure, const Trace& trace) {
    std::vector<double> marks;
    for (const ShotSpan& shot : trace.shots) {
        marks.push_back(departure.by(trace.time[shot.open]));
        marks.push_back(departure.by(trace.time[shot.shut]));
    }
    return marks;
}

// A small part of the smallest shot; infinite without shots.
double finest_piece(const std::vector<double>& marks) {
    double finest = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < marks.size(); i += 2) {
        const double left = marks[i + 1] - marks[i];
        finest = left > 0.0 ? std::min(finest, left / pieces_per_shot) : finest;
    }
    return finest;
}

// One way after the other.
Carried through_all(const MixerInlet& inlet,
                    const std::array<std::pair<ResidenceTime, double>, 2>& ways,
                    bool empty,
                    double finest) {
    Carried liquid{
        inlet.composition.volume, inlet.composition.hardener, inlet.born, inlet.composition.before};
    for (const auto& [residence, held] : ways) {
        if (held > 0.0 && liquid.volume.size() > 1) {
            const double range = liquid.volume[liquid.volume.size() - 1] - liquid.volume[0];
            const int cells = cells_for(residence, held, range + 2.0 * held, finest);
            const Way way{residence, held, empty, cells};
            liquid = empty ? through_empty(liquid, way) : through_full(liquid, way);
        }
    }
    return liquid;
}

// Sets the shot of every piece that lies between a pair of marks.
void tell_shots(const std::vector<double>& marks, OutletSequence& out) {
    const VectorXd& edge = out.volume;
    const double least = 1e-12 * edge[edge.size() - 1];
    const auto at = [&](double volume) {
        const double* const end = edge.data() + edge.size();
        return std::lower_bound(edge.data(), end, volume - least) - edge.data();
    };
    for (std::size_t i = 0; i < marks.size(); i += 2) {
        const Index from = at(marks[i]);
        const Index to = std::min<Index>(at(marks[i + 1]), out.shot.size());
        if (to > from) {
            out.shot.segment(from, to - from).setConstant(static_cast<int>(i / 2));
        }
    }
}

}  // namespace

OutletSequence outlet_sequence(const MixerInlet& inlet,
                               const Trace& trace,
                               const Mixer& mixer,
                               const ResidenceTime& residence,
                               double tip_index) {
    const double mixer_held = hold_up(mixer);
    const double tip_held = mixer.tip ? hold_up(*mixer.tip) : 0.0;
    const bool empty = !mixer.starts_full;
    const Departure departure(inlet, empty ? mixer_held + tip_held : 0.0);
    const std::vector<double> marks = shot_marks(departure, trace);
    const double finest = finest_piece(marks);
    const Carried liquid =
        through_all(inlet,
                    {{{residence, mixer_held}, {ResidenceTime::laminar(tip_index), tip_held}}},
                    empty,
                    finest);
    const double widest = pieces_per_shot / widest_pieces * finest;
    const std::vector<double> cuts = cut_edges(liquid.volume, marks, departure.total(), widest);
    const auto pieces = static_cast<Index>(cuts.size()) - 1;
    OutletSequence out{.volume = Eigen::Map<const VectorXd>(cuts.data(), pieces + 1),
                       .hardener = VectorXd::Zero(pieces + 1),
                       .shot = Eigen::VectorXi::Constant(pieces, -1),
                       .time = VectorXd(pieces),
                       .age = VectorXd(pieces)};
    const auto carried = [&](const VectorXd& values, Index edge) {
        return read(liquid.volume, values, out.volume[edge]);
    };
    for (Index i = 0; i < pieces; ++i) {
        const double width = out.volume[i + 1] - out.volume[i];
        const double left = departure.moment(out.volume[i + 1]) - departure.moment(out.volume[i]);
        const double born = carried(liquid.born, i + 1) - carried(liquid.born, i);
        out.hardener[i + 1] = carried(liquid.hardener, i + 1) - carried(liquid.hardener, 0);
        out.time[i] = left / width;
        out.age[i] = (left - born) / width;
    }
    tell_shots(marks, out);
    return out;
}

}  // namespace evenfront
