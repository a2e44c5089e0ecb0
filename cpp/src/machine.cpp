#include "evenfront/machine.hpp"

#include <cmath>
#include <numbers>
#include <string_view>

#include "evenfront/errors.hpp"
#include "evenfront/valve.hpp"

namespace evenfront {

using std::numbers::pi;

double area(const Cylinder& cylinder) {
    return pi / 4.0 * cylinder.bore * cylinder.bore;
}

double full_force(const Drive& drive) {
    return drive.kind == DriveKind::air && drive.air
               ? pi / 4.0 * drive.air->bore * drive.air->bore * drive.air->pressure
               : drive.force;
}

namespace {

double Throttle::*setting_field(ThrottleKind kind) {
    switch (kind) {
        case ThrottleKind::needle:
            return &Throttle::turns;
        case ThrottleKind::flow_coefficient:
            return &Throttle::opening;
        case ThrottleKind::resistance:
            break;
    }
    return &Throttle::resistance;
}

}  // namespace

double setting(const Throttle& throttle) {
    return throttle.*setting_field(throttle.kind);
}

Throttle with_setting(Throttle throttle, double value) {
    throttle.*setting_field(throttle.kind) = value;
    return throttle;
}

namespace {

void positive(const std::string& where,
              std::string_view what,
              double value,
              std::string_view unit) {
    require(value > 0 && std::isfinite(value), where, what, value, unit, "> 0");
}

void not_negative(const std::string& where,
                  std::string_view what,
                  double value,
                  std::string_view unit) {
    require(value >= 0 && std::isfinite(value), where, what, value, unit, ">= 0");
}

void validate(const std::string& where, const Segment& segment) {
    positive(where, "bore", segment.bore, "m");
    positive(where, "length", segment.length, "m");
    positive(where, "temperature", segment.temperature, "K");
    not_negative(where, "wall_expansion", segment.wall_expansion, "m^3/(Pa m)");
    not_negative(where, "pocket", segment.pocket, "m^3");
    require(segment.cells >= 1 && segment.cells <= 10000,
            where,
            "cells",
            segment.cells,
            "",
            "from 1 to 10000");
    const double volume = pi / 4.0 * segment.bore * segment.bore * segment.length;
    require(segment.pocket < volume,
            where,
            "pocket",
            segment.pocket,
            "m^3",
            "less than the segment's volume");
    const std::vector<double>& p = segment.expansion_pressures;
    const std::vector<double>& v = segment.expansion_volumes;
    require(p.size() == v.size(),
            where,
            "expansion_volumes",
            static_cast<double>(v.size()),
            "",
            "as many as expansion_pressures");
    for (std::size_t i = 0; i < p.size(); ++i) {
        require(p[i] > (i > 0 ? p[i - 1] : 0.0) && std::isfinite(p[i]),
                where,
                "expansion_pressures",
                p[i],
                "Pa",
                "> 0 and above the one before");
        require(v[i] > (i > 0 ? v[i - 1] : 0.0) && std::isfinite(v[i]),
                where,
                "expansion_volumes",
                v[i],
                "m^3/m",
                "> 0 and above the one before");
    }
    if (segment.idle_temperature) {
        positive(where, "idle_temperature", *segment.idle_temperature, "K");
        positive(where, "idle_time", segment.idle_time, "s");
    }
}

void validate(const std::string& where, const ControlValve& valve) {
    const auto share = [&](std::string_view what, double value) {
        require(value > 0 && value <= 1, where, what, value, "", "> 0 and <= 1");
    };
    share("recovery", valve.recovery);
    share("style_modifier", valve.style_modifier);
    not_negative(where, "full_turns", valve.full_turns, "turns");
    if (valve.characteristic != Characteristic::table) {
        positive(where, "rated", valve.rated, "m^2");
        require(valve.rangeability > 1 && std::isfinite(valve.rangeability),
                where,
                "rangeability",
                valve.rangeability,
                "",
                "> 1");
        return;
    }
    const std::size_t n = valve.openings.size();
    require(n >= 2 && valve.coefficients.size() == n,
            where,
            "points",
            static_cast<double>(n),
            "",
            "at least 2, with as many coefficients");
    for (std::size_t i = 0; i < n; ++i) {
        not_negative(where, "openings", valve.openings[i], "");
        positive(where, "coefficients", valve.coefficients[i], "m^2");
        require(i == 0 || valve.openings[i] > valve.openings[i - 1],
                where,
                "openings",
                valve.openings[i],
                "",
                "above the one before");
        require(i == 0 || valve.coefficients[i] > valve.coefficients[i - 1],
                where,
                "coefficients",
                valve.coefficients[i],
                "m^2",
                "above the one before");
    }
}

void validate(const std::string& where, const Throttle& throttle) {
    not_negative(where, "volume_between", throttle.volume_between, "m^3");
    if (throttle.kind == ThrottleKind::resistance) {
        not_negative(where, "resistance", throttle.resistance, "Pa s/m^3");
        require(throttle.volume_between == 0 || throttle.resistance > 0,
                where,
                "resistance",
                throttle.resistance,
                "Pa s/m^3",
                "> 0 where volume_between is > 0");
        not_negative(where, "seat_bore", throttle.seat_bore, "m");
        return;
    }
    if (throttle.kind == ThrottleKind::flow_coefficient) {
        if (!throttle.valve) {
            throw std::domain_error(where + ": valve, must be given for kind flow_coefficient");
        }
        validate(where + ".valve", *throttle.valve);
        positive(where, "seat_bore", throttle.seat_bore, "m");
        const auto [low, high] = opening_ends(*throttle.valve);
        require(throttle.opening >= low && throttle.opening <= high,
                where,
                "opening",
                throttle.opening,
                "",
                "within the valve's table or travel");
        return;
    }
    positive(where, "turns", throttle.turns, "turns");
    positive(where, "pitch", throttle.pitch, "m");
    positive(where, "seat_bore", throttle.seat_bore, "m");
    positive(where, "land_length", throttle.land_length, "m");
    require(throttle.half_angle > 0 && throttle.half_angle < pi / 2,
            where,
            "half_angle",
            throttle.half_angle,
            "rad",
            "> 0 and < pi/2");
    require(throttle.discharge_coefficient > 0 && throttle.discharge_coefficient <= 1,
            where,
            "discharge_coefficient",
            throttle.discharge_coefficient,
            "",
            "> 0 and <= 1");
}

void validate(const std::string& where, const Shutoff& shutoff) {
    positive(where, "resistance", shutoff.resistance, "Pa s/m^3");
    not_negative(where, "open_time", shutoff.open_time, "s");
    not_negative(where, "close_time", shutoff.close_time, "s");
    not_negative(where, "delay", shutoff.delay, "s");
    not_negative(where, "close_delay", shutoff.close_delay, "s");
    require(shutoff.exponent >= 1 && shutoff.exponent <= 5,
            where,
            "exponent",
            shutoff.exponent,
            "",
            "from 1 to 5");
    not_negative(where, "stem_volume", shutoff.stem_volume, "m^3");
    not_negative(where, "suck_back", shutoff.suck_back, "m^3");
    not_negative(where, "passage", shutoff.passage, "m^3");
    if (shutoff.check_valve) {
        not_negative(where, "check_valve", *shutoff.check_valve, "Pa");
    }
}

void validate(const std::string& where, const Feed& feed) {
    positive(where, "bore", feed.bore, "m");
    positive(where, "length", feed.length, "m");
    positive(where, "temperature", feed.temperature, "K");
    not_negative(where, "valve_time", feed.valve_time, "s");
    require(feed.tank_pressure > starvation_pressure && std::isfinite(feed.tank_pressure),
            where,
            "tank_pressure",
            feed.tank_pressure,
            "Pa",
            "> -0.9 bar");
    require(feed.vapour_pressure < feed.tank_pressure,
            where,
            "vapour_pressure",
            feed.vapour_pressure,
            "Pa",
            "below the tank's pressure");
}

void validate(const std::string& name, const Stream& stream) {
    validate(stream.liquid);
    validate(stream.rheology);
    positive(name + ".cylinder", "bore", stream.cylinder.bore, "m");
    positive(name + ".cylinder", "temperature", stream.cylinder.temperature, "K");
    not_negative(name + ".cylinder", "leak", stream.cylinder.leak, "m^3/(s Pa)");
    not_negative(name + ".cylinder", "pocket", stream.cylinder.pocket, "m^3");
    not_negative(name + ".cylinder", "lash", stream.cylinder.lash, "m");
    require(!stream.line.empty(), name, "line segments", 0, "", "at least 1");
    for (const Segment& segment : stream.line) {
        validate(name + ".line '" + segment.name + "'", segment);
    }
    validate(name + ".throttle", stream.throttle);
    if (stream.throttle.kind == ThrottleKind::flow_coefficient &&
        !is_newtonian(at_temperature(stream.rheology, stream.rheology.reference_temperature))) {
        throw std::domain_error(name +
                                ".throttle: kind flow_coefficient, must be on a Newtonian liquid");
    }
    validate(name + ".shutoff", stream.shutoff);
    if (stream.feed) {
        validate(name + ".feed", *stream.feed);
    }
}

void validate(const Mixer& mixer) {
    positive("mixer", "bore", mixer.bore, "m");
    positive("mixer", "length", mixer.length, "m");
    positive("mixer", "temperature", mixer.temperature, "K");
    require(mixer.void_fraction > 0 && mixer.void_fraction <= 1,
            "mixer",
            "void_fraction",
            mixer.void_fraction,
            "",
            "> 0 and <= 1");
    require(mixer.pressure_multiplier >= 1 && std::isfinite(mixer.pressure_multiplier),
            "mixer",
            "pressure_multiplier",
            mixer.pressure_multiplier,
            "",
            ">= 1");
    if (mixer.blend_viscosity) {
        positive("mixer", "blend_viscosity", *mixer.blend_viscosity, "Pa s");
    }
    require(mixer.peclet >= 1 && mixer.peclet <= 1e6,
            "mixer",
            "peclet",
            mixer.peclet,
            "",
            "from 1 to 1e6");
    require(
        mixer.tanks >= 1 && mixer.tanks <= 1e4, "mixer", "tanks", mixer.tanks, "", "from 1 to 1e4");
    require(mixer.doubling_time > 0, "mixer", "doubling_time", mixer.doubling_time, "s", "> 0");
    require(mixer.working_life > 0, "mixer", "working_life", mixer.working_life, "s", "> 0");
    if (mixer.tip) {
        positive("mixer.tip", "bore", mixer.tip->bore, "m");
        positive("mixer.tip", "length", mixer.tip->length, "m");
    }
}

void validate(const std::string& where, const AirPath& path) {
    positive(where, "conductance", path.conductance, "m^3/(s Pa)");
    require(path.critical_ratio >= 0 && path.critical_ratio <= 0.95,
            where,
            "critical_ratio",
            path.critical_ratio,
            "",
            "from 0 to 0.95");
}

void validate(const std::string& where, const AirCylinder& air) {
    positive(where, "bore", air.bore, "m");
    require(air.rod_bore >= 0 && air.rod_bore < air.bore,
            where,
            "rod_bore",
            air.rod_bore,
            "m",
            ">= 0 and less than the bore");
    positive(where, "pressure", air.pressure, "Pa");
    positive(where, "dead_volume", air.dead_volume, "m^3");
    positive(where, "temperature", air.temperature, "K");
    require(air.droop >= 0 && air.droop < air.pressure,
            where,
            "droop",
            air.droop,
            "Pa",
            ">= 0 and less than the pressure");
    if (air.droop > 0) {
        positive(where, "droop_flow", air.droop_flow, "m^3/s");
    }
    require(air.exponent >= 1 && air.exponent <= 1.4,
            where,
            "exponent",
            air.exponent,
            "",
            "from 1 to 1.4");
    validate(where + ".supply", air.supply);
    validate(where + ".exhaust", air.exhaust);
}

void validate(const std::string& where, const Drive& drive) {
    not_negative(where, "delay", drive.delay, "s");
    not_negative(where, "rise_time", drive.rise_time, "s");
    if (drive.kind == DriveKind::air) {
        if (!drive.air) {
            throw std::domain_error(where + ": air, must be given for kind air");
        }
        validate(where + ".air", *drive.air);
        return;
    }
    positive(where, "force", drive.force, "N");
    if (drive.kind == DriveKind::speed) {
        positive(where, "speed", drive.speed, "m/s");
        positive(where, "stiffness", drive.stiffness, "N/m");
        not_negative(where, "ramp_time", drive.ramp_time, "s");
        if (drive.between_shots != BetweenShots::lock &&
            drive.between_shots != BetweenShots::vent) {
            throw std::domain_error(where + ": between_shots, must be lock or vent for kind speed");
        }
    }
}

void validate(const std::string& where, const Shaft& shaft) {
    positive(where, "stroke", shaft.stroke, "m");
    positive(where, "mass", shaft.mass, "kg");
    not_negative(where, "friction", shaft.friction, "N");
    require(shaft.breakaway == 0 ||
                (shaft.breakaway >= shaft.friction && std::isfinite(shaft.breakaway)),
            where,
            "breakaway",
            shaft.breakaway,
            "N",
            "0 or at least the friction");
    not_negative(where, "viscous_friction", shaft.viscous_friction, "N s/m");
    require(shaft.position >= 0 && shaft.position < shaft.stroke,
            where,
            "position",
            shaft.position,
            "m",
            ">= 0 and less than the stroke");
}

}  // namespace

void validate(const Machine& machine) {
    validate("resin", machine.resin);
    validate("hardener", machine.hardener);
    validate("shaft", machine.shaft);
    validate("drive", machine.drive);
    if (machine.hardener_axis) {
        validate("hardener_axis.shaft", machine.hardener_axis->shaft);
        validate("hardener_axis.drive", machine.hardener_axis->drive);
    }
    for (const Stream* stream : {&machine.resin, &machine.hardener}) {
        const bool own = stream == &machine.hardener && machine.hardener_axis;
        const Shaft& shaft = own ? machine.hardener_axis->shaft : machine.shaft;
        const double free_volume = area(stream->cylinder) * (shaft.stroke - shaft.position);
        require(stream->cylinder.pocket < free_volume,
                "cylinder",
                "pocket",
                stream->cylinder.pocket,
                "m^3",
                "less than the cylinder's volume at the start");
    }
    validate(machine.mixer);
}

void validate(const Sequence& sequence, const Machine& machine) {
    const auto* const where = "sequence";
    require(sequence.repeat >= 1 && sequence.repeat <= 10000,
            where,
            "repeat",
            sequence.repeat,
            "",
            "from 1 to 10000");
    require(!sequence.steps.empty(), where, "steps", 0, "", "at least 1");
    for (const Step& step : sequence.steps) {
        require(
            step.amount > 0 && std::isfinite(step.amount), where, "amount", step.amount, "", "> 0");
        not_negative(where, "refill_time", step.refill_time, "s");
        const bool fills = step.kind == StepKind::refill || step.refill_time > 0;
        if (fills && !(machine.resin.feed && machine.hardener.feed)) {
            throw std::domain_error("sequence: refill, must have a feed for both streams");
        }
    }
    const Start& start = sequence.start;
    for (const double p :
         {start.resin_cylinder, start.resin_line, start.hardener_cylinder, start.hardener_line}) {
        require(p > starvation_pressure && std::isfinite(p),
                where,
                "start pressure",
                p,
                "Pa",
                "> -0.9 bar");
    }
}

void validate(const Numerics& numerics) {
    require(numerics.rtol >= 1e-10 && numerics.rtol <= 1e-2,
            "numerics",
            "rtol",
            numerics.rtol,
            "",
            "from 1e-10 to 1e-2");
    require(numerics.max_steps >= 1, "numerics", "max_steps", numerics.max_steps, "", ">= 1");
}

}  // namespace evenfront
