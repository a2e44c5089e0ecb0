#pragma once
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "evenfront/material.hpp"
#include "evenfront/rheology.hpp"

/// Plain description of a machine and of what it is asked to do. SI, gauge pressures, kelvin.
/// `validate(machine)` refuses what cannot be built; nothing here computes a flow.
namespace evenfront {

inline constexpr double unrated = std::numeric_limits<double>::infinity();  ///< no rating given

/// A piece of line of one bore and one temperature: hose, block, head.
struct Segment {
    std::string name;             ///< for messages and plots
    double bore;                  ///< inside diameter [m], > 0
    double length;                ///< [m], > 0
    double temperature;           ///< of the liquid in it [K], > 0
    double wall_expansion = 0.0;  ///< volume per pressure and length [m^3/(Pa m)], >= 0
    int cells = 16;               ///< number of links it is cut into, 1 ... 10000
    double pocket = 0.0;          ///< trapped free air, volume at p0 [m^3], >= 0, spread by volume
    double rating = unrated;      ///< highest pressure allowed [Pa]
};

/// Metering cylinder; its volume A (stroke - x) is part of the first node of the line.
struct Cylinder {
    double bore;          ///< [m], > 0
    double temperature;   ///< of the liquid in it [K], > 0
    double leak = 0.0;    ///< seal leak g: flow g p out of the machine for p > 0 [m^3/(s Pa)], >= 0
    double pocket = 0.0;  ///< trapped free air, volume at p0 [m^3], >= 0
    double rating = unrated;  ///< highest pressure allowed [Pa]
};

enum class ThrottleKind { resistance, needle, flow_coefficient };

enum class Characteristic { table, equal_percentage, linear };

/// What a maker states of a valve: flow coefficient against opening, and its two factors. Openings
/// count in turns where `full_turns` is given, else as a share of the full travel. See valve.hpp.
struct ControlValve {
    Characteristic characteristic = Characteristic::table;
    std::vector<double> openings = {};      ///< rising, at least 2; table
    std::vector<double> coefficients = {};  ///< A_v there [m^2], > 0 and rising; table
    double rated = 0.0;                     ///< A_v fully open [m^2], > 0; other characteristics
    double rangeability = 50.0;             ///< R, largest over smallest coefficient [-], > 1
    double full_turns = 0.0;                ///< turns of the full travel; 0: openings are shares
    double recovery = 0.9;                  ///< FL, pressure recovery [-], 0 < FL <= 1
    double style_modifier = 0.46;           ///< Fd [-], 0 < Fd <= 1
};

/// Adjustable throttle. `resistance`: dp = r Q. `needle`: a slit between cone and seat, see
/// throttle.hpp. `flow_coefficient`: by the maker's Kv or Cv, see valve.hpp.
struct Throttle {
    ThrottleKind kind = ThrottleKind::resistance;
    double resistance = 0.0;             ///< r [Pa s/m^3], >= 0; kind resistance
    double turns = 0.0;                  ///< open from closed [turns], > 0; kind needle
    double pitch = 0.0;                  ///< lift per turn [m], > 0
    double half_angle = 0.0;             ///< of the cone [rad], 0 ... pi/2
    double seat_bore = 0.0;              ///< [m], > 0; kind resistance: 0 where not known
    double land_length = 0.0;            ///< length of the slit [m], > 0
    double discharge_coefficient = 0.7;  ///< of the kinetic loss [-], 0 < C_d <= 1
    bool before_shutoff = true;          ///< false: between shut-off and mixing point
    double volume_between = 0.0;         ///< liquid between throttle and shut-off [m^3], >= 0
    double opening = 0.0;                ///< as `valve` counts it; kind flow_coefficient
    std::optional<ControlValve> valve = std::nullopt;  ///< kind flow_coefficient
    double lowest = 0.0;                               ///< range of the setting, in its own unit
    double highest = 0.0;                              ///< range of the setting, in its own unit
};

/// The throttle's setting in its own unit: resistance [Pa s/m^3], turns or opening.
[[nodiscard]] double setting(const Throttle& throttle);
/// The same throttle at another setting.
[[nodiscard]] Throttle with_setting(Throttle throttle, double value);

/// Shut-off valve: resistance r_s/f^m, opening fraction f linear in time.
struct Shutoff {
    double resistance;         ///< r_s, fully open [Pa s/m^3], > 0
    double open_time = 0.0;    ///< closed to open [s], >= 0
    double close_time = 0.0;   ///< open to closed [s], >= 0
    double delay = 0.0;        ///< open command to first movement [s], >= 0
    double close_delay = 0.0;  ///< close command to first movement [s], >= 0
    double exponent = 1.0;     ///< m [-], 1 ... 5
};

/// Way from the tank into the cylinder, open during a refill.
struct Feed {
    double tank_pressure;     ///< kept in the tank [Pa], > -0.9 bar
    double bore;              ///< of the feed line [m], > 0
    double length;            ///< [m], > 0
    double temperature;       ///< of the liquid in it [K], > 0
    double valve_time = 0.0;  ///< closed to open and back [s], >= 0
    /// The liquid boils below [Pa], gauge; where it is above -0.9 bar the stream is starved sooner.
    double vapour_pressure = -standard_pressure;
};

/// One stream from cylinder to mixing point.
struct Stream {
    Liquid liquid;
    Rheology rheology;
    Cylinder cylinder;
    std::vector<Segment> line;  ///< in order from cylinder to throttle, at least one
    Throttle throttle;
    Shutoff shutoff;
    std::optional<Feed> feed = std::nullopt;  ///< needed by a refill
};

/// The shaft both pistons sit on: m dv/dt = F - A_r p_r - A_h p_h - c v - friction.
struct Shaft {
    double stroke;                  ///< [m], > 0
    double position;                ///< travelled when the run starts [m], 0 <= position < stroke
    double mass;                    ///< [kg], > 0
    double friction = 0.0;          ///< Coulomb friction F_c [N], >= 0
    double viscous_friction = 0.0;  ///< c [N s/m], >= 0
};

enum class BetweenShots { hold, lock, vent, vent_drive };

/// Force drive, F(t) = F0 + (F_start - F0) exp(-t/rise_time) from the open command.
struct Drive {
    double force;            ///< F0 [N], > 0
    double rise_time = 0.0;  ///< [s], >= 0
    BetweenShots between_shots = BetweenShots::hold;
};

enum class Residence { plug, tanks, dispersion };

/// Static mixer: p_m = R_m (q_r + q_h), hold-up void x pi/4 D^2 L.
struct Mixer {
    double bore;                       ///< D [m], > 0
    double length;                     ///< L [m], > 0
    double void_fraction = 0.8;        ///< [-], 0 < void <= 1
    double pressure_multiplier = 7.0;  ///< to the empty tube [-], >= 1
    std::optional<double> blend_viscosity =
        std::nullopt;             ///< [Pa s], > 0; none: log rule, see mixer.hpp
    double temperature = 298.15;  ///< of the blend, for the log rule [K]
    Residence residence = Residence::plug;
    double peclet = 100.0;    ///< of the whole mixer, kind dispersion [-], 1 ... 1e6
    double tanks = 10.0;      ///< kind tanks [-], 1 ... 1e4
    double rating = unrated;  ///< highest pressure allowed [Pa]
};

struct Machine {
    Stream resin;
    Stream hardener;
    Shaft shaft;
    Drive drive;
    Mixer mixer;
};

/// Throws std::domain_error naming field, value and rule for the first value that cannot be.
void validate(const Machine& machine);

/// Cross-section of the cylinder's bore [m^2].
[[nodiscard]] double area(const Cylinder& cylinder);

enum class StepKind {
    dispense_time,     ///< amount [s]
    dispense_volume,   ///< amount: liquid volume of both streams [m^3]
    dispense_travel,   ///< amount: shaft travel [m] (encoder counts)
    dwell,             ///< amount [s]
    preload_time,      ///< drive against closed shut-offs, amount [s]
    preload_pressure,  ///< the same until the resin cylinder reads amount [Pa]
    refill,            ///< shaft back to its start position in amount [s], cylinders open to tanks
};

struct Step {
    StepKind kind;
    double amount;
};

/// Pressures [Pa] before the first step; the drive force starts in balance with the cylinders.
/// `periodic`: those at which the repeated steps begin as they end, found from the given ones; the
/// shaft then starts every round at its start position, and a step's relative error is 1e-4 at
/// most.
struct Start {
    double resin_cylinder = 0.0;
    double resin_line = 0.0;
    double hardener_cylinder = 0.0;
    double hardener_line = 0.0;
    bool periodic = false;
};

struct Sequence {
    std::vector<Step> steps;
    int repeat = 1;  ///< 1 ... 10000
    Start start = {};
};

struct Numerics {
    double rtol = 1e-4;       ///< relative error per step, 1e-10 ... 1e-2
    int max_steps = 1000000;  ///< of the whole run, then status not_converged
};

/// Throws std::domain_error for a step, start or count that cannot be, or a refill without feeds.
void validate(const Sequence& sequence, const Machine& machine);
void validate(const Numerics& numerics);

/// What the part asks for.
struct Target {
    double ratio;           ///< r0, hardener per resin by liquid volume [-], > 0
    double tolerance_high;  ///< upper tolerance of e, > 0 [-]
    double tolerance_low;   ///< lower tolerance of e as a positive number [-], > 0
    double resolve = 0.01;  ///< smallest piece that matters, fraction of the shot's volume [-], > 0
};

}  // namespace evenfront
