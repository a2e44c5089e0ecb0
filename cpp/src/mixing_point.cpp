#include "mixing_point.hpp"

#include <algorithm>
#include <cmath>

namespace evenfront::detail {

using Eigen::Index;
using Eigen::VectorXd;

Parcel& Parcel::operator+=(const Parcel& other) {
    volume += other.volume;
    hardener += other.hardener;
    born += other.born;
    return *this;
}

Parcel Parcel::share(double part) const {
    return {volume * part, hardener * part, born * part};
}

Parcel Pile::pop(double volume) {
    Parcel taken;
    while (!parcels_.empty() && taken.volume < volume) {
        const double wanted = volume - taken.volume;
        Parcel& last = parcels_.back();
        if (last.volume > wanted) {
            taken += last.share(wanted / last.volume);
            last = last.share(1.0 - wanted / last.volume);
            break;
        }
        taken += last;
        parcels_.pop_back();
    }
    return taken;
}

Parcel Pile::total() const {
    Parcel sum;
    for (const Parcel& parcel : parcels_) {
        sum += parcel;
    }
    return sum;
}

double Passage::past_filling(double step) {
    constexpr double least = 1e-14;  // of a passage: round-off
    if (level_ >= volume_) {
        return step;
    }
    const double used = std::min(step, volume_ - level_);
    level_ += used;
    if (level_ + least * volume_ >= volume_) {
        level_ = volume_;
    }
    return step - used;
}

Parcel Passage::give(double step, double time) {
    Parcel given = slug_.pop(step);
    slug_volume_ = slug_.empty() ? 0.0 : slug_volume_ - given.volume;
    const double own = std::max(0.0, step - given.volume);
    given += {own, own * own_fraction_, own * time};
    return given;
}

void Passage::take(const Parcel& parcel) {
    slug_.push(parcel);
    slug_volume_ += parcel.volume;
    largest_ = std::max(largest_, slug_volume_);
}

double Passage::beyond() const {
    return std::max(0.0, largest_ - volume_);
}

void Entered::push(const Parcel& parcel) {
    if (edges_.size() > first_ + 1 && parcel.volume <= least_) {
        edges_.back() += parcel;
        return;
    }
    Parcel edge = edges_.back();
    edge += parcel;
    if (edge.volume > edges_.back().volume) {
        edges_.push_back(edge);
    }
}

Parcel Entered::pop(double volume) {
    const Parcel top = edges_.back();
    const double to = top.volume - volume;
    while (edges_.size() > 1 && edges_[edges_.size() - 2].volume >= to) {
        edges_.pop_back();
    }
    Parcel& last = edges_.back();
    if (edges_.size() == 1) {
        last = {to, last.hardener - before_ * (last.volume - to), last.born};
    } else {
        const Parcel& from = edges_[edges_.size() - 2];
        const double part = (to - from.volume) / (last.volume - from.volume);
        last = {to,
                from.hardener + part * (last.hardener - from.hardener),
                from.born + part * (last.born - from.born)};
        if (to - from.volume <= least_ && edges_.size() > first_ + 2) {
            edges_.erase(edges_.end() - 2);
        }
    }
    first_ = std::min(first_, edges_.size() - 1);
    const Parcel& left = edges_.back();
    return {volume, top.hardener - left.hardener, top.born - left.born};
}

void Entered::start() {
    origin_ = edges_.back();
    first_ = edges_.size() - 1;
}

VectorXd Entered::column(double Parcel::*member) const {
    VectorXd values(static_cast<Index>(edges_.size() - first_));
    for (std::size_t i = first_; i < edges_.size(); ++i) {
        values[static_cast<Index>(i - first_)] = edges_[i].*member - origin_.*member;
    }
    return values;
}

void MixingPoint::advance(double time, std::array<double, 2> step) {
    Parcel blend;
    double back = 0.0;
    for (std::size_t s = 0; s < 2; ++s) {
        step[s] = passage_[s].past_filling(step[s]);
        if (step[s] > 0.0) {
            blend += passage_[s].give(step[s], time);
            arrival_[s] = std::fmin(arrival_[s], time);
        } else {
            back -= step[s];
        }
    }
    if (back > blend.volume) {
        blend += mixer_.pop(back - blend.volume);
    }
    for (std::size_t s = 0; s < 2; ++s) {
        if (step[s] < 0.0) {
            passage_[s].take(blend.share(-step[s] / blend.volume));
        }
    }
    if (blend.volume > back) {
        mixer_.push(blend.share(1.0 - back / blend.volume));
    }
}

}  // namespace evenfront::detail
