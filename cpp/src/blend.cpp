#include "evenfront/blend.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "evenfront/mixer.hpp"
#include "evenfront/transport.hpp"

namespace evenfront {

using std::numbers::pi;

MixerContent::MixerContent(const Machine& machine, const Steady& steady)
    : follows_(machine.mixer.follow_blend),
      mixer_volume_(hold_up(machine.mixer)),
      capacity_(mixer_volume_ + tip_volume(machine.mixer)) {
    const Mixer& mixer = machine.mixer;
    const double ratio = steady.flows
                             ? steady.ratio
                             : area(machine.hardener.cylinder) / area(machine.resin.cylinder);
    const double flow = steady.flows ? steady.resin.flow : 1e-6;  // any: nothing will pass
    viscosity_ = blend_viscosity(
        mixer, machine.resin.rheology, machine.hardener.rheology, flow, ratio * flow);
    fraction_ = ratio / (1.0 + ratio);
    tip_weight_ = mixer.tip ? tip_resistance(mixer, 1.0) / tip_volume(mixer) : 0.0;
    mixer_weight_ = (mixer_resistance(mixer, 1.0) - tip_resistance(mixer, 1.0)) / mixer_volume_;
    if (follows_) {
        const double rate = 32.0 * flow * (1.0 + ratio) / (pi * std::pow(mixer.bore, 3));
        const auto at_rate = [&](const Rheology& rheology) {
            return apparent_viscosity(at_temperature(rheology, mixer.temperature), rate);
        };
        log_ratio_ = std::log(at_rate(machine.hardener.rheology) / at_rate(machine.resin.rheology));
        ageing_ = std::numbers::ln2 / mixer.doubling_time;
    }
    if (mixer.starts_full) {
        push(capacity_, fraction_);
    }
}

double MixerContent::viscosity(const Plug& plug) const {
    if (!follows_) {
        return viscosity_;
    }
    return viscosity_ * std::exp((plug.fraction - fraction_) * log_ratio_ + plug.age * ageing_);
}

double MixerContent::to_next_end() const {
    const bool in_mixer = filled_ < mixer_volume_ - as_good_as * capacity_;
    return (in_mixer ? mixer_volume_ : capacity_) - filled_;
}

MixerContent::Resistance MixerContent::resistance(const std::array<double, 2>& flow) const {
    Resistance sum{};
    double from = 0.0;
    double at_end = 0.0;   // viscosity where the mixer meets the tip
    double leaving = 0.0;  // of what stands at the very end
    for (const Plug& plug : plugs_) {
        const double mu = viscosity(plug);
        const double to = from + plug.volume;
        const double in_mixer = std::clamp(mixer_volume_ - from, 0.0, plug.volume);
        sum.value += mu * (mixer_weight_ * in_mixer + tip_weight_ * (plug.volume - in_mixer));
        if (from < mixer_volume_ && filled_ >= mixer_volume_) {
            at_end = mu;
        }
        leaving = mu;
        from = to;
    }
    const double coming = flow[0] + flow[1];
    const double share = coming > 0.0     ? flow[1] / coming
                         : plugs_.empty() ? fraction_
                                          : plugs_.front().fraction;
    const double entering = viscosity({0.0, share, 0.0});
    sum.by_time = ageing_ * sum.value;
    sum.by_volume = mixer_weight_ * entering + (tip_weight_ - mixer_weight_) * at_end;
    if (full()) {
        sum.by_volume -= tip_weight_ * leaving;
    }
    return sum;
}

void MixerContent::advance(double duration, const std::array<double, 2>& entering) {
    for (Plug& plug : plugs_) {
        plug.age += duration;
    }
    if (!plugs_.empty()) {
        highest_age_ = std::max(highest_age_, plugs_.back().age);
    }
    const double volume = entering[0] + entering[1];
    if (volume > 0.0) {
        push(volume, std::clamp(entering[1] / volume, 0.0, 1.0));
    } else if (volume < 0.0) {
        take_back(-volume);
    }
}

// What comes in joins the last that came if it is much the same and small.
void MixerContent::push(double volume, double fraction) {
    constexpr double least_share = 1e-3;  // of the capacity
    Plug* last = plugs_.empty() ? nullptr : &plugs_.front();
    if (last != nullptr &&
        (!follows_ || (last->volume < least_share * capacity_ && volume < last->volume))) {
        const double sum = last->volume + volume;
        last->fraction += (fraction - last->fraction) * volume / sum;
        last->age *= last->volume / sum;
        last->volume = sum;
    } else {
        plugs_.push_front({volume, fraction, 0.0});
    }
    filled_ += volume;
    for (const double end : {mixer_volume_, capacity_}) {  // met but for round-off
        filled_ = std::abs(filled_ - end) < 1e-12 * capacity_ ? end : filled_;
    }
    while (filled_ > capacity_) {
        Plug& out = plugs_.back();
        const double beyond = filled_ - capacity_;
        if (out.volume > beyond) {
            out.volume -= beyond;
            filled_ = capacity_;
        } else {
            filled_ -= out.volume;
            plugs_.pop_back();
        }
    }
}

void MixerContent::take_back(double volume) {
    while (volume > 0.0 && !plugs_.empty()) {
        Plug& next = plugs_.front();
        const double part = std::min(volume, next.volume);
        next.volume -= part;
        filled_ -= part;
        volume -= part;
        if (!(next.volume > 0.0)) {
            plugs_.pop_front();
        }
    }
}

}  // namespace evenfront
