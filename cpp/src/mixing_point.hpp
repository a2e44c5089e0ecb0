#pragma once
#include <Eigen/Core>
#include <array>
#include <cstddef>
#include <limits>
#include <vector>

#include "evenfront/mixer_inlet.hpp"

/// Where both passages and the mixer meet; all three are piles, last in, first out.
namespace evenfront::detail {

/// Some liquid.
struct Parcel {
    double volume = 0.0;
    double hardener = 0.0;  ///< volume of it
    double born = 0.0;      ///< integral over the volume of the time it met the mixing point

    Parcel& operator+=(const Parcel& other);
    [[nodiscard]] Parcel share(double part) const;
};

/// Liquid in order; what came last is given first.
class Pile {
public:
    void push(const Parcel& parcel) { parcels_.push_back(parcel); }
    Parcel pop(double volume);  ///< at most `volume`
    [[nodiscard]] Parcel total() const;
    [[nodiscard]] bool empty() const { return parcels_.empty(); }

private:
    std::vector<Parcel> parcels_;
};

/// One stream's way from its shut-off to the mixing point.
class Passage {
public:
    Passage(double volume, bool full, double own_fraction)
        : volume_(volume), level_(full ? volume : 0.0), own_fraction_(own_fraction) {}

    /// Of a step of the stream, what moves at the mixing point.
    double past_filling(double step);
    /// Liquid that flows forward out of it: the slug first, then the stream's own.
    Parcel give(double step, double time);
    void take(const Parcel& parcel);

    [[nodiscard]] double largest() const { return largest_; }
    [[nodiscard]] double beyond() const;
    [[nodiscard]] double unfilled() const { return volume_ - level_; }
    [[nodiscard]] Parcel slug() const { return slug_.total(); }

private:
    double volume_, level_, own_fraction_;
    double slug_volume_ = 0.0;
    double largest_ = 0.0;
    Pile slug_;
};

/// The mixer seen from its inlet: edges of what has entered, cumulative.
class Entered {
public:
    /// @param before hardener fraction of what was inside before
    /// @param least pieces up to this volume are joined to their neighbour
    Entered(double before, double least) : before_(before), least_(least), edges_(1) {}

    void push(const Parcel& parcel);
    /// Gives back what came last; once that is all, what was inside before.
    Parcel pop(double volume);
    /// From here on the axis counts from 0 and edges are given from; what is there stays.
    void start();

    [[nodiscard]] double net() const { return edges_.back().volume - origin_.volume; }
    [[nodiscard]] Eigen::VectorXd column(double Parcel::*member) const;

private:
    double before_, least_;
    std::vector<Parcel> edges_;
    std::size_t first_ = 0;
    Parcel origin_;
};

class MixingPoint {
public:
    MixingPoint(const Passages& passages, double before, double least)
        : passage_{Passage(passages.volume[0], passages.full[0], 0.0),
                   Passage(passages.volume[1], passages.full[1], 1.0)},
          mixer_(before, least) {}

    /// What both streams move through their shut-offs in a short time, forward positive.
    void advance(double time, std::array<double, 2> step);

    [[nodiscard]] const Passage& passage(std::size_t stream) const { return passage_[stream]; }
    [[nodiscard]] const std::array<double, 2>& arrival() const { return arrival_; }
    [[nodiscard]] Entered& mixer() { return mixer_; }
    [[nodiscard]] const Entered& mixer() const { return mixer_; }

private:
    static constexpr double never = std::numeric_limits<double>::quiet_NaN();

    std::array<Passage, 2> passage_;
    std::array<double, 2> arrival_{never, never};
    Entered mixer_;
};

}  // namespace evenfront::detail
