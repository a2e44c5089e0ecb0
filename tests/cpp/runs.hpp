#pragma once
#include <array>

#include "evenfront/chain.hpp"
#include "evenfront/steady.hpp"
#include "evenfront/transient.hpp"
#include "machines.hpp"

/// Short sequences, and what the rows of a trace say.
namespace demo {

using Eigen::Index;
using Eigen::VectorXd;
using evenfront::Chain;
using evenfront::Machine;
using evenfront::RowMatrix;
using evenfront::Sequence;
using evenfront::ShotSpan;
using evenfront::Start;
using evenfront::Steady;
using evenfront::StepKind;
using evenfront::Trace;

inline Sequence once(StepKind kind, double amount) {
    return {.steps = {{kind, amount}}, .repeat = 1, .start = {}};
}

inline Start uniform(double pressure) {
    return {pressure, pressure, pressure, pressure};
}

inline double change(const VectorXd& column, Index from, Index to) {
    return column[to] - column[from];
}

inline double net_lead(const Trace& trace, const ShotSpan& shot, double ratio) {
    return change(trace.hardener.volume, shot.open, shot.close) -
           ratio * change(trace.resin.volume, shot.open, shot.close);
}

inline double after_close_lead(const Trace& trace, const ShotSpan& shot, double ratio) {
    return change(trace.hardener.volume, shot.close, shot.shut) -
           ratio * change(trace.resin.volume, shot.close, shot.shut);
}

inline double force_at(const Machine& machine, double pressure) {
    return pressure * (area(machine.resin.cylinder) + area(machine.hardener.cylinder));
}

// Liquid a stream holds in cylinder and line less A (stroke - x) rho(steady)/rho_ref [m^3].
class Packing {
public:
    Packing(const Machine& machine, const Steady& steady)
        : machine_(machine),
          chain_{Chain(machine.resin, machine.shaft.stroke),
                 Chain(machine.hardener, machine.shaft.stroke)},
          steady_pressure_{steady.resin.cylinder_pressure, steady.hardener.cylinder_pressure} {}

    [[nodiscard]] double operator()(const Trace& trace, int stream, Index row) const {
        const auto s = static_cast<std::size_t>(stream);
        const double x = trace.position[row];
        return (held(trace, stream, row) - chain_[s].piston_area() * (machine_.shaft.stroke - x) *
                                               chain_[s].cylinder_density(steady_pressure_[s])) /
               chain_[s].rho_ref();
    }

    // Mass held [kg].
    [[nodiscard]] double held(const Trace& trace, int stream, Index row) const {
        const Chain& chain = chain_[static_cast<std::size_t>(stream)];
        const RowMatrix& pressure = (stream == 0 ? trace.resin : trace.hardener).pressure;
        double mass = 0.0;
        for (Index i = 0; i < chain.nodes(); ++i) {
            mass += chain.mass(i, pressure(row, i), trace.position[row]);
        }
        return mass;
    }

private:
    const Machine& machine_;
    std::array<Chain, 2> chain_;
    std::array<double, 2> steady_pressure_;
};

}  // namespace demo
