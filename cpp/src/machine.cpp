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
}

}  // namespace

void validate(const Machine& machine) {
    validate("resin", machine.resin);
    validate("hardener", machine.hardener);
    const Shaft& shaft = machine.shaft;
    positive("shaft", "stroke", shaft.stroke, "m");
    positive("shaft", "mass", shaft.mass, "kg");
    not_negative("shaft", "friction", shaft.friction, "N");
    not_negative("shaft", "viscous_friction", shaft.viscous_friction, "N s/m");
    require(shaft.position >= 0 && shaft.position < shaft.stroke,
            "shaft",
            "position",
            shaft.position,
            "m",
            ">= 0 and less than the stroke");
    for (const Stream* stream : {&machine.resin, &machine.hardener}) {
        const double free_volume = area(stream->cylinder) * (shaft.stroke - shaft.position);
        require(stream->cylinder.pocket < free_volume,
                "cylinder",
                "pocket",
                stream->cylinder.pocket,
                "m^3",
                "less than the cylinder's volume at the start");
    }
    positive("drive", "force", machine.drive.force, "N");
    not_negative("drive", "rise_time", machine.drive.rise_time, "s");
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
        if (step.kind == StepKind::refill && !(machine.resin.feed && machine.hardener.feed)) {
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
