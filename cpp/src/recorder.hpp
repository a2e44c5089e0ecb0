#pragma once
#include <Eigen/Dense>
#include <array>
#include <vector>

#include "evenfront/network.hpp"
#include "evenfront/transient.hpp"

namespace evenfront::detail {

/// Rows of a trace as they come, then columns. Keeps the machine by its address.
class Recorder {
public:
    explicit Recorder(const Machine& machine) : machine_(&machine) {}

    /// Adds the state that `network` evaluated last. A row that repeats the time of the last one
    /// without a jump of flow or force is left out unless `always`.
    void record(const Network& network,
                const Eigen::VectorXd& y,
                double time,
                double force,
                const std::array<double, 2>& drained,
                bool always);

    [[nodiscard]] Eigen::Index rows() const { return static_cast<Eigen::Index>(rows_.size()); }

    /// Columns of all rows, and where a stream was starved.
    void fill(Trace& trace, const Network& network) const;

private:
    struct Row {
        double time, position, speed, force, mixer_pressure;
        std::array<double, 2> volume, flow, leaked, drained;
    };
    void note_starved(const Network& network, int stream, Eigen::Index node, double time);

    const Machine* machine_;
    std::vector<Row> rows_;
    std::array<std::vector<double>, 2> pressures_;
    Starved starved_;
};

}  // namespace evenfront::detail
