#pragma once
/// Machines the tests share, and small helpers. All figures are invented, typical of the trade.
#include <cmath>
#include <random>
#include <string>

#include "evenfront/machine.hpp"
#include "evenfront/material.hpp"
#include "evenfront/rheology.hpp"
#include "evenfront/transient.hpp"

namespace demo {

inline constexpr double bar = 1e5;  ///< [Pa]
inline constexpr double mL = 1e-6;  ///< [m^3]

inline double celsius(double degrees) {
    return degrees + 273.15;
}

/// A filled resin and a thin hardener, 100:14 by volume, in held shots through a long boom.
inline evenfront::Machine long_boom() {
    const double warm = celsius(50);
    const double room = celsius(25);
    return {.resin = {.liquid = {.density = 1750,
                                 .bulk_modulus = 2.5e9,
                                 .thermal_expansion = 4e-4,
                                 .free_gas = 0.015},
                      // 26 Pa s at 10 1/s
                      .rheology = {.consistency = 26 * std::pow(10.0, 0.15),
                                   .index = 0.85,
                                   .reference_temperature = warm,
                                   .activation_energy = 50e3},
                      .cylinder = {.bore = 0.070, .temperature = warm},
                      .line = {{.name = "hose",
                                .bore = 0.016,
                                .length = 6,
                                .temperature = warm,
                                .wall_expansion = 0.035 * mL / bar}},
                      .throttle = {.resistance = 0.02 * bar / mL},
                      .shutoff = {.resistance = 0.02 * bar / mL,
                                  .open_time = 0.05,
                                  .close_time = 0.05}},
            .hardener = {.liquid = {.density = 1050,
                                    .bulk_modulus = 1.7e9,
                                    .thermal_expansion = 8e-4,
                                    .free_gas = 2e-4},
                         .rheology = {.consistency = 0.18},
                         .cylinder = {.bore = 0.02619, .temperature = room},
                         .line = {{.name = "hose",
                                   .bore = 0.0048,
                                   .length = 6,
                                   .temperature = room,
                                   .wall_expansion = 0.002 * mL / bar}},
                         .throttle = {.resistance = 0.2 * bar / mL},
                         .shutoff = {.resistance = 0.1 * bar / mL,
                                     .open_time = 0.05,
                                     .close_time = 0.05}},
            .shaft = {.stroke = 0.2, .position = 0.06, .mass = 12},
            .drive = {.force = 4600, .rise_time = 0.25},
            .mixer = {.bore = 0.013,
                      .length = 0.25,
                      .void_fraction = 0.82,
                      .pressure_multiplier = 7,
                      .blend_viscosity = 9.0}};
}

/// The same machine with a needle on the hardener that loses a few bar.
inline evenfront::Throttle needle(double turns = 1.0) {
    return {.kind = evenfront::ThrottleKind::needle,
            .turns = turns,
            .pitch = 0.5e-3,
            .half_angle = 0.17,
            .seat_bore = 3e-3,
            .land_length = 1.5e-3};
}

/// A small valve known by its flow coefficient, Kv 0.02 m^3/h fully open, equal percentage.
inline evenfront::Throttle valve(double opening = 0.6) {
    return {.kind = evenfront::ThrottleKind::flow_coefficient,
            .seat_bore = 3e-3,
            .opening = opening,
            .valve = evenfront::ControlValve{
                .characteristic = evenfront::Characteristic::equal_percentage,
                .rated = 0.02 * 2.7765e-5}};
}

/// Both streams Newtonian and alike in everything.
inline evenfront::Machine equal_streams() {
    evenfront::Machine machine = long_boom();
    machine.resin.rheology = {.consistency = 2.0};
    machine.hardener = machine.resin;
    return machine;
}

inline void set_cells(evenfront::Machine& machine, int cells) {
    for (evenfront::Stream* stream : {&machine.resin, &machine.hardener}) {
        for (evenfront::Segment& segment : stream->line) {
            segment.cells = cells;
        }
    }
}

/// Shots of 3 s with 20 s between them.
inline evenfront::Sequence held_shots(int shots) {
    using evenfront::StepKind;
    return {.steps = {{StepKind::dispense_time, 3.0}, {StepKind::dwell, 20.0}},
            .repeat = shots,
            .start = {}};
}

/// What a call says when it refuses; empty if it does not.
template <class Call>
std::string refusal(Call&& call) {
    try {
        call();
    } catch (const std::domain_error& error) {
        return error.what();
    }
    return "";
}

inline bool mentions(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}

/// Random numbers with a fixed seed, the same on every machine.
class Random {
public:
    explicit Random(unsigned seed) : engine_(seed) {}
    double uniform(double low, double high) {
        const double u = static_cast<double>(engine_()) / 4294967296.0;
        return low + (high - low) * u;
    }
    double decades(double low, double high) {
        return std::exp(uniform(std::log(low), std::log(high)));
    }
    bool chance(double p) { return uniform(0.0, 1.0) < p; }

private:
    std::mt19937 engine_;
};

}  // namespace demo
