#include "trials.hpp"

#include <cmath>
#include <limits>
#include <sstream>

#include "evenfront/errors.hpp"
#include "evenfront/throttle.hpp"
#include "parallel.hpp"

namespace evenfront {

namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();

void validate(const TrimOptions& options) {
    require(options.least_flow > 0 && options.least_flow <= 1,
            "trim",
            "least_flow",
            options.least_flow,
            "",
            "> 0 and <= 1");
    require(options.max_back_pressure > 0,
            "trim",
            "max_back_pressure",
            options.max_back_pressure,
            "Pa",
            "> 0");
}

// The first rating that a run passes, empty if none.
std::string rating_passed(const Machine& machine, const Trace& trace) {
    std::ostringstream text;
    text.precision(3);
    const auto passed = [&](const std::string& what, double pressure, double rating) {
        if (pressure <= rating) {
            return false;
        }
        text << what << " sees " << pressure / 1e5 << " bar, rated " << rating / 1e5 << " bar";
        return true;
    };
    for (const int side : {0, 1}) {
        const Stream& stream = side == 0 ? machine.resin : machine.hardener;
        const RowMatrix& p = (side == 0 ? trace.resin : trace.hardener).pressure;
        const std::string name = side == 0 ? "the resin " : "the hardener ";
        if (passed(name + "cylinder", p.col(0).maxCoeff(), stream.cylinder.rating)) {
            return text.str();
        }
        Eigen::Index node = 0;
        for (const Segment& segment : stream.line) {
            const double most = p.middleCols(node, segment.cells + 1).maxCoeff();
            if (passed(name + segment.name, most, segment.rating)) {
                return text.str();
            }
            node += segment.cells;
        }
    }
    passed("the mixer", trace.mixer_pressure.maxCoeff(), machine.mixer.rating);
    return text.str();
}

}  // namespace

namespace detail {

Trials::Trials(const Machine& machine,
               const Sequence& sequence,
               const Target& target,
               const TrimOptions& options,
               const Numerics& numerics)
    : machine_(machine),
      sequence_(sequence),
      target_(target),
      options_(options),
      numerics_(numerics),
      steady_before_(steady_state(machine)) {
    validate(options);
}

Trial Trials::run(const Settings& settings) {
    ++simulations_;
    Machine machine = machine_;
    machine.resin.throttle = with_setting(machine.resin.throttle, settings.resin);
    machine.hardener.throttle = with_setting(machine.hardener.throttle, settings.hardener);
    const Trace trace = simulate(machine, sequence_, numerics_);
    Trial trial = measure_trial(trace, machine, target_);
    trial.resin_back_pressure = added(0, machine.resin);
    trial.hardener_back_pressure = added(1, machine.hardener);
    trial.refused = trace.shots.empty() ? trace.message : refusal(trial, machine, trace);
    return trial;
}

double Trials::added(int side, const Stream& now) const {
    const Stream& old = side == 0 ? machine_.resin : machine_.hardener;
    const double q = (side == 0 ? steady_before_.resin : steady_before_.hardener).flow;
    const double temperature = old.line.back().temperature;
    const ShearLaw law = at_temperature(old.rheology, temperature);
    const double rho = thermal_density(old.liquid, temperature);
    return ThrottleFlow(now.throttle, law, rho).pressure(q) -
           ThrottleFlow(old.throttle, law, rho).pressure(q);
}

double Trials::flow_before() const {
    return steady_before_.resin.flow + steady_before_.hardener.flow;
}

std::string Trials::refusal(const Trial& trial, const Machine& machine, const Trace& trace) const {
    std::ostringstream text;
    text.precision(3);
    const double slack = 1e-9;  // of a setting that stands right on a limit
    if (trace.status != Status::ok) {
        return trace.message;
    }
    for (const int side : {0, 1}) {
        const double back = side == 0 ? trial.resin_back_pressure : trial.hardener_back_pressure;
        if (back > options_.max_back_pressure * (1.0 + slack)) {
            text << "the " << (side == 0 ? "resin" : "hardener") << " throttle adds " << back / 1e5
                 << " bar, more than the " << options_.max_back_pressure / 1e5 << " bar allowed";
            return text.str();
        }
    }
    if (trial.flow < options_.least_flow * flow_before() * (1.0 - slack)) {
        text << "the flow falls to " << trial.flow / flow_before() * 100.0 << " %, below the "
             << options_.least_flow * 100.0 << " % allowed";
        return text.str();
    }
    return rating_passed(machine, trace);
}

}  // namespace detail

Trial measure_trial(const Trace& trace, const Machine& machine, const Target& target) {
    Trial trial{};
    trial.settings = {setting(machine.resin.throttle), setting(machine.hardener.throttle)};
    trial.status = trace.status;
    const Steady& steady = trace.steady;
    trial.resin_cylinder = steady.resin.cylinder_pressure;
    trial.hardener_cylinder = steady.hardener.cylinder_pressure;
    trial.resin_head = steady.resin.throttle_pressure;
    trial.hardener_head = steady.hardener.throttle_pressure;
    trial.flow = steady.resin.flow + steady.hardener.flow;
    if (trace.shots.empty()) {
        trial.net_lead = trial.after_close_lead = trial.swing = trial.shot_resin = nothing;
        trial.outlet.soft_volume = trial.outlet.surplus = trial.outlet.missing = nothing;
        return trial;
    }
    const ShotSpan& shot = trace.shots.back();
    const double ratio = steady.flows ? steady.ratio : target.ratio;
    const auto passed = [](const StreamTrace& s, Eigen::Index a, Eigen::Index b) {
        return s.volume[b] - s.volume[a];
    };
    trial.net_lead = net_lead(trace, shot, ratio);
    trial.after_close_lead = passed(trace.hardener, shot.close, shot.shut) -
                             ratio * passed(trace.resin, shot.close, shot.shut);
    trial.shot_resin = passed(trace.resin, shot.open, shot.close);
    trial.swing = lead_swing(trace, shot, ratio);
    trial.outlet = outlet_measures(trace, shot, steady, machine.mixer, target, passages(machine));
    trial.resin_cylinder_closed = trace.resin.pressure(shot.open, 0);
    trial.hardener_cylinder_closed = trace.hardener.pressure(shot.open, 0);
    return trial;
}

double objective_value(const Trial& trial, Objective objective) {
    switch (objective) {
        case Objective::null_lead:
            return std::abs(trial.net_lead);
        case Objective::least_soft:
            return trial.outlet.soft_volume;
        case Objective::least_excess:
            return trial.outlet.surplus + trial.outlet.missing;
    }
    return nothing;
}

std::vector<Trial> try_settings(const Machine& machine,
                                const Sequence& sequence,
                                const Target& target,
                                const std::vector<Settings>& settings,
                                const TrimOptions& options,
                                const Numerics& numerics) {
    detail::Trials bench(machine, sequence, target, options, numerics);
    std::vector<Trial> trials(settings.size());
    detail::parallel_for(settings.size(), options.threads, [&](std::size_t i) {
        trials[i] = bench.run(settings[i]);
    });
    return trials;
}

}  // namespace evenfront
