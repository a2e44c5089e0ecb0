#include "recorder.hpp"

#include <algorithm>

#include "evenfront/constants.hpp"

namespace evenfront::detail {

using Eigen::Index;

void Recorder::record(const Network& network,
                      const Eigen::VectorXd& y,
                      double time,
                      double force,
                      const std::array<double, 2>& drained,
                      bool always) {
    const Row row{.time = time,
                  .position = y[Network::position],
                  .speed = y[Network::speed],
                  .force = force,
                  .mixer_pressure = network.mixer_pressure(),
                  .volume = {y[network.volume(0)], y[network.volume(1)]},
                  .flow = {network.flow(0), network.flow(1)},
                  .leaked = {y[network.leaked(0)], y[network.leaked(1)]},
                  .drained = drained};
    if (!always && !rows_.empty()) {
        const Row& last = rows_.back();
        if (last.time == row.time && last.flow == row.flow && last.force == row.force) {
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
                note_starved(network, s, i, time);
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
    trace.position = column([](const Row& r) { return r.position; });
    trace.speed = column([](const Row& r) { return r.speed; });
    trace.force = column([](const Row& r) { return r.force; });
    trace.mixer_pressure = column([](const Row& r) { return r.mixer_pressure; });
    for (const int s : {0, 1}) {
        const auto k = static_cast<std::size_t>(s);
        StreamTrace& out = s == 0 ? trace.resin : trace.hardener;
        out.volume = column([k](const Row& r) { return r.volume[k]; });
        out.flow = column([k](const Row& r) { return r.flow[k]; });
        out.leaked = column([k](const Row& r) { return r.leaked[k]; });
        out.drained = column([k](const Row& r) { return r.drained[k]; });
        out.distance = network.chain(s).distance();
        out.pressure =
            Eigen::Map<const RowMatrix>(pressures_[k].data(), rows(), network.chain(s).nodes());
    }
    trace.starved = starved_;
}

}  // namespace evenfront::detail
