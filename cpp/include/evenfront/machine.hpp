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
    /// Volume the wall gives against pressure, in place of wall_expansion: [Pa], > 0 and rising,
    /// and [m^3/m], > 0 and rising; (0, 0) goes before, monotone cubic between, straight beyond.
    std::vector<double> expansion_pressures = {};
    std::vector<double> expansion_volumes = {};
    /// At rest the liquid goes to this temperature [K] with the time constant below; none: it keeps
    /// its own. What has changed moves on with the flow, see network.hpp.
    std::optional<double> idle_temperature = std::nullopt;
    double idle_time = 0.0;  ///< time constant of that [s], > 0 where idle_temperature is given
};

/// Metering cylinder; its volume A (stroke - x) is part of the first node of the line.
struct Cylinder {
    double bore;          ///< [m], > 0
    double temperature;   ///< of the liquid in it [K], > 0
    double leak = 0.0;    ///< seal leak g: flow g p out of the machine for p > 0 [m^3/(s Pa)], >= 0
    double pocket = 0.0;  ///< trapped free air, volume at p0 [m^3], >= 0
    double rating = unrated;  ///< highest pressure allowed [Pa]
    /// Travel lost between shaft and piston whenever the shaft turns round [m], >= 0: the piston
    /// stays where it is, held by its seals.
    double lash = 0.0;
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
    double stem_volume = 0.0;  ///< liquid pushed forward while it opens [m^3], >= 0
    double suck_back = 0.0;    ///< liquid drawn back while it closes [m^3], >= 0
    double passage = 0.0;      ///< volume from here to the mixing point [m^3], >= 0
    bool passage_full = true;  ///< false: it starts empty, see network.hpp
    /// Check valve at the mixing point: lets pass forwards only, once this pressure is on it [Pa],
    /// >= 0; none: both ways.
    std::optional<double> check_valve = std::nullopt;
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

/// A shaft and its piston or pistons: m dv/dt = F - A_r p_r - A_h p_h - c v - friction.
struct Shaft {
    double stroke;                  ///< [m], > 0
    double position;                ///< travelled when the run starts [m], 0 <= position < stroke
    double mass;                    ///< [kg], > 0
    double friction = 0.0;          ///< Coulomb friction F_c, running [N], >= 0
    double breakaway = 0.0;         ///< friction to overcome from rest [N], >= F_c; 0: F_c
    double viscous_friction = 0.0;  ///< c [N s/m], >= 0
};

enum class BetweenShots { hold, lock, vent, vent_drive };

enum class DriveKind { force, air, speed };

/// Way of air in or out, by its flow characteristics (ISO 6358-1); see air.hpp.
struct AirPath {
    double conductance;           ///< sonic conductance C [m^3/(s Pa)], > 0
    double critical_ratio = 0.3;  ///< b [-], 0 ... 0.95
};

/// Air cylinder with its regulator; see air.hpp.
struct AirCylinder {
    double bore;                  ///< [m], > 0
    double rod_bore = 0.0;        ///< of the rod on the exhausting side [m], 0 ... bore
    double pressure;              ///< regulator set to, at no flow [Pa], > 0
    double droop = 0.0;           ///< what the regulator loses at droop_flow [Pa], >= 0, < pressure
    double droop_flow = 0.0;      ///< free air [m^3/s], > 0 where there is droop
    double dead_volume;           ///< at each end, with its tubing [m^3], > 0
    AirPath supply;               ///< from the regulator to the driving side
    AirPath exhaust;              ///< from the exhausting side to the open
    double exponent = 1.2;        ///< polytropic exponent n of the air [-], 1 ... 1.4
    double temperature = 293.15;  ///< of the air [K], > 0
};

/// What moves a shaft. `force`: F(t) = F0 + (F_start - F0) exp(-t/rise_time) from the open command.
/// `air`: an air cylinder, its driving side supplied from the open command on. `speed`: a screw of
/// the given stiffness whose far end goes at `speed`, reached evenly over `ramp_time`; it pushes
/// and pulls with `force` at most, and lags behind meanwhile.
struct Drive {
    DriveKind kind = DriveKind::force;
    double force = 0.0;      ///< F0 [N], > 0; kind speed: limit; kind air: not used
    double rise_time = 0.0;  ///< kind force [s], >= 0
    BetweenShots between_shots = BetweenShots::hold;  ///< kind speed: lock or vent
    double delay = 0.0;                               ///< from the open command to its start [s]
    double speed = 0.0;                               ///< kind speed [m/s], > 0
    double ramp_time = 0.0;                           ///< kind speed [s], >= 0
    double stiffness = 1e8;                           ///< kind speed, of the screw [N/m], > 0
    std::optional<AirCylinder> air = std::nullopt;    ///< kind air
};

/// Force with which a drive pushes at rest [N]: F0, the limit, or the regulator's pressure on the
/// air cylinder's bore.
[[nodiscard]] double full_force(const Drive& drive);

/// A shaft and what moves it.
struct Axis {
    Shaft shaft;
    Drive drive;
};

enum class Residence { plug, tanks, dispersion };

inline constexpr double unlimited = std::numeric_limits<double>::infinity();  ///< no time given

/// Round nozzle behind the mixer.
struct Tip {
    double bore;    ///< [m], > 0
    double length;  ///< [m], > 0
};

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
    bool starts_full = true;  ///< of blend at the ratio delivered; else empty
    /// The blend's local viscosity follows its composition and age, see blend.hpp.
    bool follow_blend = false;
    double doubling_time = unlimited;  ///< of the blend's viscosity with age [s], > 0
    double working_life = unlimited;   ///< of the blend [s], > 0
    std::optional<Tip> tip = std::nullopt;
};

struct Machine {
    Stream resin;
    Stream hardener;
    Shaft shaft;  ///< with both pistons on it; with `hardener_axis`: with the resin's alone
    Drive drive;
    Mixer mixer;
    std::optional<Axis> hardener_axis = std::nullopt;  ///< a shaft and drive of the hardener's own
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
    purge,             ///< as dispense_volume, but to the cup: no shot
};

struct Step {
    StepKind kind;
    double amount;
    /// A dispense step that uses up the stroke: 0: the run ends there; > 0: shut-offs close, the
    /// shaft goes back in this time [s] as in a refill, and the same shot goes on.
    double refill_time = 0.0;
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
    bool inertia = false;     ///< of the liquid in the lines of Newtonian streams
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
