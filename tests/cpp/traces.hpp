#pragma once
/// Traces made of straight stretches, for tests of what enters and leaves the mixer.
#include <Eigen/Core>
#include <random>

#include "evenfront/transient.hpp"

namespace traces {

// Liquid volumes at the rows of a trace; straight in between.
struct Rows {
    Eigen::VectorXd time, resin, hardener;
};

inline evenfront::Trace trace_of(const Rows& rows) {
    evenfront::Trace trace{};
    const Eigen::Index count = rows.time.size();
    trace.time = rows.time;
    const auto fill = [&](evenfront::StreamTrace& stream, const Eigen::VectorXd& volume) {
        stream.volume = volume;
        stream.flow = Eigen::VectorXd::Zero(count);
        stream.pressure = evenfront::RowMatrix::Zero(count, 2);
    };
    fill(trace.resin, rows.resin);
    fill(trace.hardener, rows.hardener);
    return trace;
}

// Rows at whose times flows jump: each corner stands twice, with the flow before and after it.
inline evenfront::Trace straight_trace(const Eigen::VectorXd& time,
                                       const Eigen::VectorXd& resin,
                                       const Eigen::VectorXd& hardener) {
    const Eigen::Index corners = time.size();
    Rows rows{
        Eigen::VectorXd(2 * corners), Eigen::VectorXd(2 * corners), Eigen::VectorXd(2 * corners)};
    for (Eigen::Index i = 0; i < 2 * corners; ++i) {
        rows.time[i] = time[i / 2];
        rows.resin[i] = resin[i / 2];
        rows.hardener[i] = hardener[i / 2];
    }
    evenfront::Trace trace = trace_of(rows);
    for (Eigen::Index i = 0; i + 1 < corners; ++i) {
        const double step = time[i + 1] - time[i];
        for (evenfront::StreamTrace* stream : {&trace.resin, &trace.hardener}) {
            const double flow = (stream->volume[2 * i + 2] - stream->volume[2 * i]) / step;
            stream->flow[2 * i + 1] = flow;
            stream->flow[2 * i + 2] = flow;
        }
    }
    return trace;
}

inline double last(const Eigen::VectorXd& values) {
    return values[values.size() - 1];
}

// Random forward and backward stretches of both streams, forward on the whole.
inline evenfront::Trace random_trace(std::mt19937& random, Eigen::Index corners) {
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    Eigen::VectorXd time(corners);
    Eigen::VectorXd resin(corners);
    Eigen::VectorXd hardener(corners);
    time[0] = resin[0] = hardener[0] = 0.0;
    for (Eigen::Index i = 1; i < corners; ++i) {
        time[i] = time[i - 1] + 0.01 + uniform(random);
        resin[i] = resin[i - 1] + 2.0 * uniform(random) - 0.7;
        hardener[i] = hardener[i - 1] + 0.5 * uniform(random) - 0.2;
    }
    return straight_trace(time, resin, hardener);
}

}  // namespace traces
