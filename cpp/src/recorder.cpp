#include "recorder.hpp"

#include <algorithm>

#include "evenfront/constants.hpp"

namespace evenfront::detail {

using Eigen::Index;

void Recorder::record(const Network& network, const Row& row, bool always) {
    if (!always && !rows_.empty()) {
        const Row& last = rows_.back();
        if (last.time == row.time && last.flow == row.flow &&
            last.axis[0].force == row.axis[0].force && last.axis[1].force == row.axis[1].force) {
            return;
        }
    }
    rows_.push_back(row);
    for (int s = 0; s < 2; ++s) {
        const auto& feed = (s == 0 ? machine_->resin : machine_->hardener).feed;
        const double least =
            feed ? std::max(starvation_pressure, feed->vapour_pressure) : starvation_pressure;
        auto& store = pressures_[static_cast<std::size_t>(s)];
        for (Index i = 0; i < network.chain(s).nodes(); ++i) {
            const double p = network.pressure(s, i);
            store.push_back(p);
            if (p < least && p < starved_.pressure) {
                note_starved(network, s, i, row.time);
            }
        }
    }
}

void Recorder::note_starved(const Network& network, int stream, Index node, double time) {
    if (starved_.stream.empty()) {
        const Stream& side = stream == 0 ? machine_->resin : machine_->hardener;
        const std::size_t segment =
            network.chain(stream).segment_of()[static_cast<std::size_t>(node)];
        starved_.time = time;
        starved_.stream = stream == 0 ? "resin" : "hardener";
        starved_.place = node == 0 ? "cylinder" : side.line[segment].name;
    }
    starved_.pressure = network.pressure(stream, node);
}

void Recorder::fill(Trace& trace, const Network& network) const {
    const auto column = [&](auto&& get) {
        Eigen::VectorXd values(rows());
        for (Index i = 0; i < rows(); ++i) {
            values[i] = get(rows_[static_cast<std::size_t>(i)]);
        }
        return values;
    };
    trace.time = column([](const Row& r) { return r.time; });
    const auto fill_axis = [&](std::size_t k, auto& position, auto& speed, auto& force) {
        position = column([k](const Row& r) { return r.axis[k].position; });
        speed = column([k](const Row& r) { return r.axis[k].speed; });
        force = column([k](const Row& r) { return r.axis[k].force; });
    };
    const auto fill_air = [&](int axis, AirTrace& air) {
        if (!network.air_cylinder(axis)) {
            return;
        }
        const auto k = static_cast<std::size_t>(axis);
        air.driving_pressure = column([k](const Row& r) { return r.air[k].pressure[0]; });
        air.exhausting_pressure = column([k](const Row& r) { return r.air[k].pressure[1]; });
        const std::array<Eigen::VectorXd*, 5> totals{
            &air.supplied, &air.exhausted, &air.work, &air.liquid_work, &air.friction_work};
        for (std::size_t i = 0; i < totals.size(); ++i) {
            *totals[i] = column([k, i](const Row& r) { return r.air[k].total[i]; });
        }
    };
    fill_axis(0, trace.position, trace.speed, trace.force);
    fill_air(0, trace.air);
    if (network.axes() == 2) {
        AxisTrace& own = trace.hardener_axis;
        fill_axis(1, own.position, own.speed, own.force);
        fill_air(1, own.air);
    }
    trace.mixer_pressure = column([](const Row& r) { return r.mixer_pressure; });
    trace.mixer_resistance = column([](const Row& r) { return r.mixer_resistance; });
    trace.entered = column([](const Row& r) { return r.entered; });
    for (const int s : {0, 1}) {
        const auto k = static_cast<std::size_t>(s);
        StreamTrace& out = s == 0 ? trace.resin : trace.hardener;
        out.volume = column([k](const Row& r) { return r.volume[k]; });
        out.flow = column([k](const Row& r) { return r.flow[k]; });
        out.leaked = column([k](const Row& r) { return r.leaked[k]; });
        out.drained = column([k](const Row& r) { return r.drained[k]; });
        out.piston = column([k](const Row& r) { return r.piston[k]; });
        out.distance = network.chain(s).distance();
        out.pressure =
            Eigen::Map<const RowMatrix>(pressures_[k].data(), rows(), network.chain(s).nodes());
    }
    trace.starved = starved_;
}

}  // namespace evenfront::detail
