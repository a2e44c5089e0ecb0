#include "evenfront/remedies.hpp"

#include <algorithm>
#include <boost/math/tools/minima.hpp>
#include <cmath>
#include <functional>
#include <limits>
#include <optional>

#include "evenfront/throttle.hpp"
#include "parallel.hpp"

namespace evenfront {

namespace {

constexpr double longest_delay = 0.3;       // [s]
constexpr double degassed_resin = 0.002;    // [-]
constexpr double degassed_hardener = 1e-4;  // [-]
constexpr double warmer = 10.0;             // [K]

bool dispenses(const Step& step) {
    return step.kind == StepKind::dispense_time || step.kind == StepKind::dispense_volume ||
           step.kind == StepKind::dispense_travel;
}

bool preloads(const Step& step) {
    return step.kind == StepKind::preload_time || step.kind == StepKind::preload_pressure;
}

class Shop {
public:
    Shop(const Machine& machine,
         const Sequence& sequence,
         const Target& target,
         int threads,
         const Numerics& numerics)
        : machine_(machine),
          sequence_(sequence),
          target_(target),
          threads_(threads),
          numerics_(numerics),
          before_(measure_trial(simulate(machine, sequence, numerics), machine, target)) {}

    [[nodiscard]] std::vector<Remedy> all() {
        std::vector<std::function<std::optional<Remedy>()>> jobs{
            [&] { return preload(); },
            [&] { return hold(); },
            [&] { return delay(RemedyKind::delay_resin); },
            [&] { return delay(RemedyKind::delay_hardener); },
            [&] { return degas(RemedyKind::degas_resin, degassed_resin); },
            [&] { return degas(RemedyKind::degas_hardener, degassed_hardener); },
            [&] { return bleed(); },
            [&] { return heat(); },
            [&] { return shorter_hose(); },
            [&] { return stiffer_hose(); },
            [&] { return purge(); }};
        std::vector<std::optional<Remedy>> found(jobs.size());
        detail::parallel_for(jobs.size(), threads_, [&](std::size_t i) { found[i] = jobs[i](); });
        std::vector<Remedy> remedies;
        for (auto& remedy : found) {
            if (remedy && remedy->trial.status == Status::ok) {
                remedies.push_back(std::move(*remedy));
            }
        }
        std::stable_sort(remedies.begin(), remedies.end(), [](const Remedy& a, const Remedy& b) {
            return a.soft_removed > b.soft_removed;
        });
        return remedies;
    }

private:
    [[nodiscard]] Remedy as_written(RemedyKind kind, double amount, std::string place = {}) const {
        return {.kind = kind,
                .amount = amount,
                .place = std::move(place),
                .machine = machine_,
                .sequence = sequence_,
                .trial = before_,
                .soft_removed = 0.0,
                .waste = 0.0,
                .wait = 0.0,
                .flow_change = 0.0};
    }

    [[nodiscard]] Remedy tried(Remedy remedy) const {
        remedy.trial = measure_trial(
            simulate(remedy.machine, remedy.sequence, numerics_), remedy.machine, target_);
        remedy.soft_removed = before_.outlet.soft_volume - remedy.trial.outlet.soft_volume;
        remedy.flow_change = before_.flow > 0.0 ? remedy.trial.flow / before_.flow - 1.0 : 0.0;
        return remedy;
    }

    [[nodiscard]] std::optional<Remedy> preload() const {
        if (std::any_of(sequence_.steps.begin(), sequence_.steps.end(), preloads)) {
            return std::nullopt;
        }
        // Nothing to gain where the shot already starts from the pressures of the held drive.
        const double held = area(machine_.resin.cylinder) * before_.resin_cylinder_closed +
                            area(machine_.hardener.cylinder) * before_.hardener_cylinder_closed;
        double full = full_force(machine_.drive) - machine_.shaft.friction;
        if (const auto& own = machine_.hardener_axis) {
            full += full_force(own->drive) - own->shaft.friction;
        }
        if (held > 0.98 * full) {
            return std::nullopt;
        }
        std::optional<Remedy> best;
        for (const double time : {4.0, 2.0, 1.0, 0.5}) {
            Remedy remedy = as_written(RemedyKind::preload, time);
            remedy.sequence.steps.clear();
            for (const Step& step : sequence_.steps) {
                if (dispenses(step)) {
                    remedy.sequence.steps.push_back({StepKind::preload_time, time});
                }
                remedy.sequence.steps.push_back(step);
            }
            remedy.wait = time;
            remedy = tried(std::move(remedy));
            if (!best || remedy.trial.outlet.soft_volume <= 1.01 * best->trial.outlet.soft_volume) {
                best = std::move(remedy);
            }
        }
        return best;
    }

    [[nodiscard]] std::optional<Remedy> hold() const {
        const bool dwells =
            std::any_of(sequence_.steps.begin(), sequence_.steps.end(), [](const Step& step) {
                return step.kind == StepKind::dwell;
            });
        Remedy remedy = as_written(RemedyKind::hold, 0.0);
        bool changes = false;
        const auto held = [&](Drive& drive) {  // a screw holds its place in any case
            changes = changes ||
                      (drive.kind != DriveKind::speed && drive.between_shots != BetweenShots::hold);
            drive.between_shots =
                drive.kind == DriveKind::speed ? drive.between_shots : BetweenShots::hold;
        };
        held(remedy.machine.drive);
        if (remedy.machine.hardener_axis) {
            held(remedy.machine.hardener_axis->drive);
        }
        return dwells && changes ? std::optional(tried(std::move(remedy))) : std::nullopt;
    }

    [[nodiscard]] std::optional<Remedy> delay(RemedyKind kind) const {
        const auto at = [&](double time) {
            Remedy remedy = as_written(kind, time);
            Stream& stream =
                kind == RemedyKind::delay_resin ? remedy.machine.resin : remedy.machine.hardener;
            stream.shutoff.delay += time;
            return tried(std::move(remedy));
        };
        std::uintmax_t turns = 12;
        const auto [time, least] = boost::math::tools::brent_find_minima(
            [&](double t) { return at(t).trial.outlet.soft_volume; },
            0.0,
            longest_delay,
            10,
            turns);
        if (!(least < before_.outlet.soft_volume)) {
            return std::nullopt;
        }
        return at(time);
    }

    [[nodiscard]] std::optional<Remedy> degas(RemedyKind kind, double left) const {
        Remedy remedy = as_written(kind, left);
        Liquid& liquid = kind == RemedyKind::degas_resin ? remedy.machine.resin.liquid
                                                         : remedy.machine.hardener.liquid;
        if (liquid.free_gas <= left) {
            return std::nullopt;
        }
        liquid.free_gas = left;
        return tried(std::move(remedy));
    }

    [[nodiscard]] std::optional<Remedy> bleed() const {
        Remedy remedy = as_written(RemedyKind::bleed_pocket, 0.0);
        const auto take = [&](double& pocket, const std::string& place) {
            if (pocket > 0.0) {
                remedy.amount += pocket;
                remedy.place += (remedy.place.empty() ? "" : ", ") + place;
                pocket = 0.0;
            }
        };
        for (Stream* stream : {&remedy.machine.resin, &remedy.machine.hardener}) {
            const std::string side = stream == &remedy.machine.resin ? "resin " : "hardener ";
            take(stream->cylinder.pocket, side + "cylinder");
            for (Segment& segment : stream->line) {
                take(segment.pocket, side + segment.name);
            }
        }
        return remedy.amount > 0.0 ? std::optional(tried(std::move(remedy))) : std::nullopt;
    }

    [[nodiscard]] std::optional<Remedy> heat() const {
        Remedy cylinder = as_written(RemedyKind::heat_resin, warmer, "cylinder");
        cylinder.machine.resin.cylinder.temperature += warmer;
        Remedy best = tried(std::move(cylinder));
        for (std::size_t i = 0; i < machine_.resin.line.size(); ++i) {
            Remedy remedy = as_written(RemedyKind::heat_resin, warmer, machine_.resin.line[i].name);
            remedy.machine.resin.line[i].temperature += warmer;
            remedy = tried(std::move(remedy));
            if (remedy.soft_removed > best.soft_removed) {
                best = std::move(remedy);
            }
        }
        return best;
    }

    [[nodiscard]] std::size_t longest_resin_segment() const {
        const auto& line = machine_.resin.line;
        const auto longest =
            std::max_element(line.begin(), line.end(), [](const Segment& a, const Segment& b) {
                return a.length < b.length;
            });
        return static_cast<std::size_t>(longest - line.begin());
    }

    [[nodiscard]] std::optional<Remedy> shorter_hose() const {
        const std::size_t i = longest_resin_segment();
        const Segment& segment = machine_.resin.line[i];
        Remedy remedy = as_written(RemedyKind::shorter_hose, segment.length / 2.0, segment.name);
        remedy.machine.resin.line[i].length /= 2.0;
        remedy.machine.resin.line[i].pocket =
            std::min(segment.pocket,
                     0.49 * area({.bore = segment.bore, .temperature = segment.temperature}) *
                         segment.length);
        return tried(std::move(remedy));
    }

    [[nodiscard]] std::optional<Remedy> stiffer_hose() const {
        const std::size_t i = longest_resin_segment();
        const Segment& segment = machine_.resin.line[i];
        if (!(segment.wall_expansion > 0.0)) {
            return std::nullopt;
        }
        Remedy remedy =
            as_written(RemedyKind::stiffer_hose, segment.wall_expansion / 5.0, segment.name);
        remedy.machine.resin.line[i].wall_expansion /= 5.0;
        return tried(std::move(remedy));
    }

    // What leaves the mixer until it is on ratio for good goes to the cup; the part gets the rest.
    [[nodiscard]] std::optional<Remedy> purge() const {
        if (!(before_.outlet.volume > 0.0)) {
            return std::nullopt;
        }
        const Trace trace = simulate(machine_, sequence_, numerics_);
        const double ratio = trace.steady.flows ? trace.steady.ratio : target_.ratio;
        const Composition inlet =
            inlet_composition(trace, trace.shots.back(), ratio, 8, passages(machine_));
        Composition rest =
            outlet_composition(inlet, residence_time(machine_.mixer), machine_.mixer);
        const auto* const begin = rest.volume.data();
        const auto* const end = begin + rest.volume.size();
        const auto cut = std::lower_bound(begin, end, before_.outlet.end) - begin;
        const Eigen::Index left = rest.volume.size() - cut;
        if (left < 2) {
            return std::nullopt;
        }
        rest.volume = rest.volume.tail(left).eval();
        rest.hardener = rest.hardener.tail(left).eval();
        Remedy remedy = as_written(RemedyKind::purge, before_.outlet.end);
        const double shot = inlet.volume[inlet.volume.size() - 1];
        remedy.trial.outlet = off_ratio(rest, target_, target_.resolve * shot);
        remedy.soft_removed = before_.outlet.soft_volume - remedy.trial.outlet.soft_volume;
        remedy.waste = before_.outlet.end;
        remedy.wait = before_.flow > 0.0 ? before_.outlet.end / before_.flow : 0.0;
        return remedy;
    }

    const Machine& machine_;
    const Sequence& sequence_;
    const Target& target_;
    int threads_;
    const Numerics& numerics_;
    Trial before_;
};

// The machine with one assumption changed.
struct Variant {
    Assumption assumption;
    double value;
    double changed;
    Machine machine;
};

void warm(Stream& stream, double shift) {
    stream.cylinder.temperature += shift;
    for (Segment& segment : stream.line) {
        segment.temperature += shift;
    }
}

// The drive set higher or lower: its force, its regulator or its speed.
void push_by(Drive& drive, double factor) {
    switch (drive.kind) {
        case DriveKind::force:
            drive.force *= factor;
            break;
        case DriveKind::air:
            drive.air->pressure *= factor;
            break;
        case DriveKind::speed:
            drive.speed *= factor;
            break;
    }
}

double travel(const Machine& machine, const Sequence& sequence, const Numerics& numerics) {
    const Trace trace = simulate(machine, sequence, numerics);
    return trace.position.maxCoeff() - machine.shaft.position;
}

std::vector<Variant> variants(const Machine& machine,
                              const Sequence& sequence,
                              const Numerics& numerics) {
    std::vector<Variant> list;
    const auto add = [&](Assumption assumption, double value, double changed, auto&& change) {
        list.push_back({assumption, value, changed, machine});
        change(list.back().machine);
    };
    const double gas = machine.resin.liquid.free_gas;
    for (const double factor : {0.5, 2.0}) {
        add(Assumption::resin_gas, gas, gas * factor, [&](Machine& m) {
            m.resin.liquid.free_gas = std::clamp(gas * factor, least_free_gas, 0.5);
        });
    }
    for (const double shift : {-5.0, 5.0}) {
        add(Assumption::resin_temperature, 0.0, shift, [&](Machine& m) { warm(m.resin, shift); });
        add(Assumption::hardener_temperature, 0.0, shift, [&](Machine& m) {
            warm(m.hardener, shift);
        });
    }
    for (const double factor : {0.9, 1.1}) {
        const double full = full_force(machine.drive);
        add(Assumption::drive_force, full, full * factor, [&](Machine& m) {
            push_by(m.drive, factor);
            if (m.hardener_axis) {
                push_by(m.hardener_axis->drive, factor);
            }
        });
    }
    add(Assumption::wall_expansion, 1.0, 1.5, [](Machine& m) {
        for (Stream* stream : {&m.resin, &m.hardener}) {
            for (Segment& segment : stream->line) {
                segment.wall_expansion *= 1.5;
                for (double& volume : segment.expansion_volumes) {
                    volume *= 1.5;
                }
            }
        }
    });
    add(Assumption::resin_viscosity, 1.0, 1.2, [](Machine& m) {
        m.resin.rheology.consistency *= 1.2;
    });
    const double last = machine.shaft.stroke - 1.02 * travel(machine, sequence, numerics);
    for (const double position : {0.0, last}) {
        if (position >= 0.0 && position < machine.shaft.stroke) {
            add(Assumption::position, machine.shaft.position, position, [&](Machine& m) {
                m.shaft.position = position;
            });
        }
    }
    return list;
}

}  // namespace

std::vector<Remedy> remedies(const Machine& machine,
                             const Sequence& sequence,
                             const Target& target,
                             int threads,
                             const Numerics& numerics) {
    return Shop(machine, sequence, target, threads, numerics).all();
}

std::vector<Sensitivity> sensitivities(const Machine& machine,
                                       const Sequence& sequence,
                                       const Target& target,
                                       Objective objective,
                                       bool sweep_resin,
                                       int threads,
                                       const Numerics& numerics) {
    const std::vector<Variant> list = variants(machine, sequence, numerics);
    std::vector<Sensitivity> found(list.size());
    detail::parallel_for(list.size(), threads, [&](std::size_t i) {
        Machine changed = list[i].machine;
        Throttle& throttle = sweep_resin ? changed.resin.throttle : changed.hardener.throttle;
        const auto run = [&] {
            return measure_trial(simulate(changed, sequence, numerics), changed, target);
        };
        Sensitivity& result = found[i];
        result = {.assumption = list[i].assumption,
                  .value = list[i].value,
                  .changed = list[i].changed,
                  .trial = run(),
                  .best_setting = std::numeric_limits<double>::quiet_NaN(),
                  .best = {}};
        const Throttle written = throttle;
        const double here = log_resistance(written);
        const auto along = [&](double u) {  // e-folds of resistance
            throttle = with_log_resistance(written, here + u);
            const double value = objective_value(run(), objective);
            return std::isfinite(value) ? value : 1.0;
        };
        std::uintmax_t turns = 12;
        const auto [u, least] = boost::math::tools::brent_find_minima(along, -1.5, 1.5, 12, turns);
        const bool better = least < objective_value(result.trial, objective);
        throttle = better ? with_log_resistance(written, here + u) : written;
        result.best_setting = setting(throttle);
        result.best = better ? run() : result.trial;
    });
    return found;
}

}  // namespace evenfront
