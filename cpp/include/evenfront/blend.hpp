#pragma once
#include <array>
#include <deque>

#include "evenfront/machine.hpp"
#include "evenfront/steady.hpp"

/// What stands in the mixer and its tip, and the back pressure that makes.
namespace evenfront {

/// Liquid in mixer and tip as a train of plugs, each of one composition and age. Plug flow.
///   R_m = sum over the plugs of w mu v,  w = R(mu)/(mu V) of mixer or tip
///   ln mu = ln mu_s + (phi - phi_s) ln(mu_h/mu_r) + age ln 2/doubling_time
/// mu_s the blend's viscosity in steady flow at its hardener fraction phi_s; mu_r, mu_h those of
/// the streams at the wall rate there (log rule). Without `follow_blend` mu = mu_s everywhere. An
/// empty mixer resists by its filled share. Source: arrhenius1887 (mixture rule); doubling of
/// viscosity with age: common practice, no source.
class MixerContent {
public:
    /// `steady` of the machine; where nothing flows, the log rule at the bores' ratio stands in.
    MixerContent(const Machine& machine, const Steady& steady);

    struct Resistance {
        double value;      ///< R_m [Pa s/m^3]
        double by_time;    ///< dR_m/dt of what stands there [Pa/m^3]
        double by_volume;  ///< dR_m/dE as liquid comes in [Pa s/m^6]
    };
    /// @param flow of resin and hardener that come in, >= 0, for their share alone; none: as last
    [[nodiscard]] Resistance resistance(const std::array<double, 2>& flow = {}) const;

    /// A time in which resin and hardener enter [m^3]; what is pushed back leaves at the inlet.
    void advance(double duration, const std::array<double, 2>& entering);

    /// Whether anything changes while liquid passes.
    [[nodiscard]] bool changes() const { return follows_ || !full(); }
    [[nodiscard]] bool follows() const { return follows_; }
    [[nodiscard]] double capacity() const { return capacity_; }  ///< of mixer and tip [m^3]
    [[nodiscard]] bool full() const { return filled_ >= (1.0 - as_good_as) * capacity_; }
    /// Volume until the front of an empty mixer meets the end of the mixer, then of the tip [m^3].
    [[nodiscard]] double to_next_end() const;
    [[nodiscard]] double filled() const { return filled_; }  ///< [m^3]
    /// Highest age that liquid in mixer or tip has reached so far [s].
    [[nodiscard]] double highest_age() const { return highest_age_; }

private:
    struct Plug {
        double volume, fraction, age;
    };
    [[nodiscard]] double viscosity(const Plug& plug) const;
    void push(double volume, double fraction);
    void take_back(double volume);

    static constexpr double as_good_as = 1e-9;  // full, of the capacity

    bool follows_;
    double mixer_volume_, capacity_, filled_ = 0.0;
    double mixer_weight_, tip_weight_;  // R_m per viscosity and volume
    double viscosity_, fraction_, log_ratio_ = 0.0, ageing_ = 0.0;
    double highest_age_ = 0.0;
    std::deque<Plug> plugs_;  // front: next to the inlet
};

}  // namespace evenfront
