#pragma once
#include <Eigen/Core>
#include <array>
#include <vector>

#include "evenfront/network.hpp"
#include "evenfront/transient.hpp"

namespace evenfront::detail {

/// Rows of a trace as they come, then columns. Keeps the machine by its address.
class Recorder {
public:
    explicit Recorder(const Machine& machine) : machine_(&machine) {}

    struct Row {
        struct Axis {
            double position = 0.0, speed = 0.0, force = 0.0;
        };
        struct Air {
            std::array<double, 2> pressure{};  // gauge
            std::array<double, 5> total{};
        };
        double time = 0.0, mixer_pressure = 0.0, mixer_resistance = 0.0, entered = 0.0;
        std::array<Axis, 2> axis{};
        std::array<Air, 2> air{};
        std::array<double, 2> volume{}, flow{}, leaked{}, drained{}, piston{};
    };

    /// Adds a row and the pressures that `network` evaluated last. A row that repeats the time of
    /// the last one without a jump of flow or force is left out unless `always`.
    void record(const Network& network, const Row& row, bool always);

    [[nodiscard]] Eigen::Index rows() const { return static_cast<Eigen::Index>(rows_.size()); }

    /// Columns of all rows, and where a stream was starved.
    void fill(Trace& trace, const Network& network) const;

private:
    void note_starved(const Network& network, int stream, Eigen::Index node, double time);

    const Machine* machine_;
    std::vector<Row> rows_;
    std::array<std::vector<double>, 2> pressures_;
    Starved starved_;
};

}  // namespace evenfront::detail
