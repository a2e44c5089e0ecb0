#include "evenfront/drive.hpp"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <functional>
#include <limits>

#include "evenfront/errors.hpp"
#include "evenfront/network.hpp"
#include "evenfront/steady.hpp"

namespace evenfront {

namespace {

void add_stations(const std::string& name,
                  const Stream& stream,
                  double stroke,
                  const SteadyStream& steady,
                  double mixer_pressure,
                  std::vector<Station>& found) {
    const Chain chain(stream, stroke);
    Eigen::VectorXd pressure;
    chain.march(steady.mass_flow, mixer_pressure, pressure);
    found.push_back({name, "cylinder", pressure[0], 0.0, stream.cylinder.rating});
    Eigen::Index node = 0;
    for (const Segment& segment : stream.line) {
        const double upstream = pressure[node];
        node += segment.cells;
        found.push_back({name, segment.name, upstream, upstream - pressure[node], segment.rating});
    }
    // Throttle and shut-off in the order the liquid meets them.
    const double head = pressure[node];
    const double shutoff_loss = head - steady.throttle_loss - mixer_pressure;
    if (stream.throttle.before_shutoff) {
        found.push_back({name, "throttle", head, steady.throttle_loss, unrated});
        found.push_back({name, "shut-off", head - steady.throttle_loss, shutoff_loss, unrated});
    } else {
        found.push_back({name, "shut-off", head, shutoff_loss, unrated});
        found.push_back({name, "throttle", head - shutoff_loss, steady.throttle_loss, unrated});
    }
}

// Root of a function that rises with ln(force), from the machine's own force outwards.
double find_force(const std::function<double(double)>& rising, double start) {
    double low = std::log(start);
    double high = low;
    for (int i = 0; i < 60 && rising(std::exp(low)) > 0.0; ++i) {
        high = low;
        low -= 1.0;
    }
    for (int i = 0; i < 60 && rising(std::exp(high)) < 0.0; ++i) {
        low = high;
        high += 1.0;
    }
    std::uintmax_t turns = 100;
    const auto close = [](double a, double b) { return b - a <= 1e-14; };
    const auto [a, b] = boost::math::tools::toms748_solve(
        [&](double x) { return rising(std::exp(x)); }, low, high, close, turns);
    return std::exp(0.5 * (a + b));
}

}  // namespace

std::vector<Station> pressure_stations(const Machine& machine, double force) {
    require_positive("pressure_stations", "force", force, "N");
    const Steady steady = steady_state(machine, force);
    std::vector<Station> found;
    if (!steady.flows) {
        return found;
    }
    const double stroke = machine.shaft.stroke;
    add_stations("resin", machine.resin, stroke, steady.resin, steady.mixer_pressure, found);
    add_stations(
        "hardener", machine.hardener, stroke, steady.hardener, steady.mixer_pressure, found);
    found.push_back(
        {"both", "mixer", steady.mixer_pressure, steady.mixer_pressure, machine.mixer.rating});
    return found;
}

double force_for_flow(const Machine& machine, double flow) {
    require_positive("force_for_flow", "flow", flow, "m^3/s");
    const auto above = [&](double force) {
        const Steady steady = steady_state(machine, force);
        return steady.flows ? std::log((steady.resin.flow + steady.hardener.flow) / flow) : -1e3;
    };
    return find_force(above, full_force(machine.drive));
}

double force_for_rating(const Machine& machine) {
    bool rated = machine.mixer.rating < unrated;
    for (const Stream* stream : {&machine.resin, &machine.hardener}) {
        rated = rated || stream->cylinder.rating < unrated;
        for (const Segment& segment : stream->line) {
            rated = rated || segment.rating < unrated;
        }
    }
    if (!rated) {
        return unrated;
    }
    const auto above = [&](double force) {
        double highest = -1e3;
        for (const Station& station : pressure_stations(machine, force)) {
            if (station.pressure > 0.0) {
                highest = std::max(highest, std::log(station.pressure / station.rating));
            }
        }
        return highest;
    };
    return find_force(above, full_force(machine.drive));
}

double blocked_pressure(const Cylinder& cylinder, double force) {
    require_positive("blocked_pressure", "bore", cylinder.bore, "m");
    require_not_negative("blocked_pressure", "force", force, "N");
    return force / area(cylinder);
}

}  // namespace evenfront
