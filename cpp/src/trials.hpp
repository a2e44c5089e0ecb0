#pragma once
#include <atomic>
#include <string>

#include "evenfront/trim.hpp"

namespace evenfront::detail {

/// Settings of one machine put to trial: simulated, measured, and held against the constraints.
class Trials {
public:
    /// Keeps references to all arguments. @throws std::domain_error if options cannot be
    Trials(const Machine& machine,
           const Sequence& sequence,
           const Target& target,
           const TrimOptions& options,
           const Numerics& numerics);

    /// May be called from several threads.
    [[nodiscard]] Trial run(const Settings& settings);

    /// Throttle loss at the steady liquid flow of the case as written, new minus old [Pa].
    /// @param side 0 resin, 1 hardener; @param now the stream with its new throttle
    [[nodiscard]] double added(int side, const Stream& now) const;

    /// Steady liquid flow of both streams of the case as written [m^3/s].
    [[nodiscard]] double flow_before() const;

    [[nodiscard]] int simulations() const { return simulations_; }

private:
    [[nodiscard]] std::string refusal(const Trial& trial,
                                      const Machine& machine,
                                      const Trace& trace) const;

    const Machine& machine_;
    const Sequence& sequence_;
    const Target& target_;
    const TrimOptions& options_;
    const Numerics& numerics_;
    Steady steady_before_;
    std::atomic<int> simulations_{0};
};

}  // namespace evenfront::detail
