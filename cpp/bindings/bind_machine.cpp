#include "evenfront/machine.hpp"

#include "fields.hpp"

namespace evenfront::python {

using py::literals::operator""_a;

namespace {

constexpr const char* validate_doc = R"(Refuse a machine that cannot be.

Parameters
----------
machine
    the machine [-]

Raises
------
ValueError
    naming the first field that cannot be, its value and the rule
)";

constexpr const char* setting_doc = R"(Setting of a throttle in its own unit.

Parameters
----------
throttle
    the throttle [-]

Returns
-------
resistance [Pa s/m^3] or turns [turns], by kind

Examples
--------
>>> setting(Throttle(kind="resistance", resistance=2e9))
2000000000.0
)";

constexpr const char* with_setting_doc = R"(The same throttle at another setting.

Parameters
----------
throttle
    the throttle [-]
value
    resistance [Pa s/m^3] or turns [turns], by kind

Returns
-------
throttle [-]

Examples
--------
>>> with_setting(Throttle(kind="resistance"), 2e9).resistance
2000000000.0
)";

constexpr const char* area_doc = R"(Cross-section of a cylinder's bore.

Parameters
----------
cylinder
    the cylinder [-]

Returns
-------
area [m^2]

Examples
--------
>>> round(area(Cylinder(bore=0.05, temperature=298.15)) * 1e4, 4)
19.635
)";

constexpr const char* full_force_doc = R"(Force with which a drive pushes at rest.

Parameters
----------
drive
    the drive [-]

Returns
-------
F0, the limit, or the regulator's pressure on the air cylinder's bore [N]

Examples
--------
>>> full_force(Drive(force=4600.0))
4600.0
)";

void bind_enums(py::module_& m) {
    py::native_enum<ThrottleKind>(m, "ThrottleKind", "enum.Enum", "Law of a throttle.")
        .value("resistance", ThrottleKind::resistance)
        .value("needle", ThrottleKind::needle)
        .value("flow_coefficient", ThrottleKind::flow_coefficient)
        .finalize();
    py::native_enum<Characteristic>(
        m, "Characteristic", "enum.Enum", "How a valve's flow coefficient goes with its opening.")
        .value("table", Characteristic::table)
        .value("equal_percentage", Characteristic::equal_percentage)
        .value("linear", Characteristic::linear)
        .finalize();
    py::native_enum<BetweenShots>(
        m, "BetweenShots", "enum.Enum", "What the drive does while the shut-offs are shut.")
        .value("hold", BetweenShots::hold)
        .value("lock", BetweenShots::lock)
        .value("vent", BetweenShots::vent)
        .value("vent_drive", BetweenShots::vent_drive)
        .finalize();
    py::native_enum<DriveKind>(m, "DriveKind", "enum.Enum", "What moves a shaft.")
        .value("force", DriveKind::force)
        .value("air", DriveKind::air)
        .value("speed", DriveKind::speed)
        .finalize();
    py::native_enum<Residence>(m, "Residence", "enum.Enum", "Residence model of the mixer.")
        .value("plug", Residence::plug)
        .value("tanks", Residence::tanks)
        .value("dispersion", Residence::dispersion)
        .finalize();
    py::native_enum<StepKind>(m, "StepKind", "enum.Enum", "What a step does until when.")
        .value("dispense_time", StepKind::dispense_time)
        .value("dispense_volume", StepKind::dispense_volume)
        .value("dispense_travel", StepKind::dispense_travel)
        .value("dwell", StepKind::dwell)
        .value("preload_time", StepKind::preload_time)
        .value("preload_pressure", StepKind::preload_pressure)
        .value("refill", StepKind::refill)
        .value("purge", StepKind::purge)
        .finalize();
}

void bind_stream(py::module_& m) {
    bind_struct<Segment>(
        m,
        "Segment",
        "A piece of line of one bore and one temperature: hose, block, head.",
        required("name", &Segment::name, "for messages and plots [-]"),
        required("bore", &Segment::bore, "inside diameter [m], > 0"),
        required("length", &Segment::length, "of the piece [m], > 0"),
        required("temperature", &Segment::temperature, "of the liquid in it [K], > 0"),
        defaulted("wall_expansion",
                  &Segment::wall_expansion,
                  "volume per pressure and length [m^3/(Pa m)], >= 0"),
        defaulted("cells", &Segment::cells, "number of links it is cut into [-], 1 ... 10000"),
        defaulted("pocket", &Segment::pocket, "trapped free air, volume at p0 [m^3], >= 0"),
        defaulted("rating", &Segment::rating, "highest pressure allowed [Pa]"),
        defaulted("expansion_pressures",
                  &Segment::expansion_pressures,
                  "of a table in place of wall_expansion [Pa], rising"),
        defaulted("expansion_volumes",
                  &Segment::expansion_volumes,
                  "volume the wall gives there [m^3/m], rising"),
        defaulted("idle_temperature",
                  &Segment::idle_temperature,
                  "of the liquid after a long rest [K]; None: keeps its own"),
        defaulted("idle_time", &Segment::idle_time, "time constant of that [s]"));
    bind_struct<Cylinder>(
        m,
        "Cylinder",
        "Metering cylinder.",
        required("bore", &Cylinder::bore, "inside diameter [m], > 0"),
        required("temperature", &Cylinder::temperature, "of the liquid in it [K], > 0"),
        defaulted("leak", &Cylinder::leak, "seal leak g, flow g p [m^3/(s Pa)], >= 0"),
        defaulted("pocket", &Cylinder::pocket, "trapped free air, volume at p0 [m^3], >= 0"),
        defaulted("rating", &Cylinder::rating, "highest pressure allowed [Pa]"),
        defaulted("lash",
                  &Cylinder::lash,
                  "travel lost between shaft and piston as the shaft turns round [m], >= 0"));
    bind_struct<ControlValve>(
        m,
        "ControlValve",
        "A maker's flow coefficient against opening, and two factors.",
        defaulted("characteristic", &ControlValve::characteristic, "by table or formula [-]"),
        defaulted("openings", &ControlValve::openings, "rising; table [turns or share of travel]"),
        defaulted("coefficients", &ControlValve::coefficients, "A_v there, rising; table [m^2]"),
        defaulted("rated", &ControlValve::rated, "A_v fully open; by formula [m^2], > 0"),
        defaulted(
            "rangeability", &ControlValve::rangeability, "largest over smallest A_v [-], > 1"),
        defaulted("full_turns", &ControlValve::full_turns, "of the travel [turns]; 0: shares"),
        defaulted("recovery", &ControlValve::recovery, "FL [-], 0 < FL <= 1"),
        defaulted("style_modifier", &ControlValve::style_modifier, "Fd [-], 0 < Fd <= 1"));
    bind_struct<Throttle>(
        m,
        "Throttle",
        "Adjustable throttle: dp = r Q, a needle in its seat, or a flow coefficient.",
        defaulted("kind", &Throttle::kind, "law [-]"),
        defaulted("resistance", &Throttle::resistance, "r [Pa s/m^3], >= 0; kind resistance"),
        defaulted("turns", &Throttle::turns, "open from closed [turns], > 0; kind needle"),
        defaulted("pitch", &Throttle::pitch, "lift per turn [m], > 0"),
        defaulted("half_angle", &Throttle::half_angle, "of the cone [rad], 0 ... pi/2"),
        defaulted("seat_bore", &Throttle::seat_bore, "diameter of the seat [m], > 0"),
        defaulted("land_length", &Throttle::land_length, "length of the slit [m], > 0"),
        defaulted("discharge_coefficient",
                  &Throttle::discharge_coefficient,
                  "C_d of the kinetic loss [-], 0 < C_d <= 1"),
        defaulted("before_shutoff",
                  &Throttle::before_shutoff,
                  "false: between shut-off and mixing point [-]"),
        defaulted("volume_between",
                  &Throttle::volume_between,
                  "liquid between throttle and shut-off [m^3], >= 0"),
        defaulted("opening", &Throttle::opening, "as `valve` counts it [turns or share of travel]"),
        defaulted("valve", &Throttle::valve, "of kind flow_coefficient [-]"),
        defaulted("lowest", &Throttle::lowest, "setting [Pa s/m^3, turns or opening]"),
        defaulted("highest", &Throttle::highest, "setting [Pa s/m^3, turns or opening]"));
    bind_struct<Shutoff>(
        m,
        "Shutoff",
        "Shut-off valve: resistance r_s/f^m, opening fraction f linear in time.",
        required("resistance", &Shutoff::resistance, "r_s, fully open [Pa s/m^3], > 0"),
        defaulted("open_time", &Shutoff::open_time, "closed to open [s], >= 0"),
        defaulted("close_time", &Shutoff::close_time, "open to closed [s], >= 0"),
        defaulted("delay", &Shutoff::delay, "open command to first movement [s], >= 0"),
        defaulted(
            "close_delay", &Shutoff::close_delay, "close command to first movement [s], >= 0"),
        defaulted("exponent", &Shutoff::exponent, "m [-], 1 ... 5"),
        defaulted(
            "stem_volume", &Shutoff::stem_volume, "pushed forward while it opens [m^3], >= 0"),
        defaulted("suck_back", &Shutoff::suck_back, "drawn back while it closes [m^3], >= 0"),
        defaulted("passage", &Shutoff::passage, "from here to the mixing point [m^3], >= 0"),
        defaulted("passage_full", &Shutoff::passage_full, "false: it starts empty [-]"),
        defaulted("check_valve",
                  &Shutoff::check_valve,
                  "opening pressure of a check valve [Pa], >= 0; None: flows both ways"));
    bind_struct<Feed>(
        m,
        "Feed",
        "Way from the tank into the cylinder, open during a refill.",
        required("tank_pressure", &Feed::tank_pressure, "kept in the tank [Pa]"),
        required("bore", &Feed::bore, "of the feed line [m], > 0"),
        required("length", &Feed::length, "[m], > 0"),
        required("temperature", &Feed::temperature, "of the liquid in it [K], > 0"),
        defaulted("valve_time", &Feed::valve_time, "closed to open and back [s], >= 0"),
        defaulted("vapour_pressure", &Feed::vapour_pressure, "gauge; it boils below [Pa]"));
    bind_struct<Stream>(
        m,
        "Stream",
        "One stream from cylinder to mixing point.",
        required("liquid", &Stream::liquid, "density law [-]"),
        required("rheology", &Stream::rheology, "viscosity law [-]"),
        required("cylinder", &Stream::cylinder, "metering cylinder [-]"),
        required("line", &Stream::line, "segments from cylinder to throttle, at least one [-]"),
        required("throttle", &Stream::throttle, "adjustable throttle [-]"),
        required("shutoff", &Stream::shutoff, "shut-off valve [-]"),
        defaulted("feed", &Stream::feed, "from the tank; needed by a refill [-]"));
}

void bind_drive_and_mixer(py::module_& m) {
    bind_struct<Shaft>(
        m,
        "Shaft",
        "A shaft and its piston or pistons.",
        required("stroke", &Shaft::stroke, "longest travel [m], > 0"),
        required("position",
                 &Shaft::position,
                 "travelled when the run starts [m], 0 <= position < stroke"),
        required("mass", &Shaft::mass, "moving mass [kg], > 0"),
        defaulted("friction", &Shaft::friction, "Coulomb friction F_c [N], >= 0"),
        defaulted(
            "breakaway", &Shaft::breakaway, "friction to overcome from rest [N], >= F_c; 0: F_c"),
        defaulted("viscous_friction", &Shaft::viscous_friction, "c [N s/m], >= 0"));
    bind_struct<AirPath>(
        m,
        "AirPath",
        "Way of air in or out, by its flow characteristics.",
        required("conductance", &AirPath::conductance, "sonic conductance C [m^3/(s Pa)], > 0"),
        defaulted("critical_ratio", &AirPath::critical_ratio, "b [-], 0 ... 0.95"));
    bind_struct<AirCylinder>(
        m,
        "AirCylinder",
        "Air cylinder with its regulator.",
        required("bore", &AirCylinder::bore, "inside diameter [m], > 0"),
        defaulted(
            "rod_bore", &AirCylinder::rod_bore, "of the rod, exhausting side [m], 0 ... bore"),
        required("pressure", &AirCylinder::pressure, "regulator set to [Pa], > 0"),
        defaulted("droop", &AirCylinder::droop, "lost at droop_flow [Pa], 0 ... pressure"),
        defaulted("droop_flow", &AirCylinder::droop_flow, "of free air [m^3/s]"),
        required("dead_volume", &AirCylinder::dead_volume, "at each end [m^3], > 0"),
        required("supply", &AirCylinder::supply, "way to the driving side [-]"),
        required("exhaust", &AirCylinder::exhaust, "way out of the other [-]"),
        defaulted("exponent", &AirCylinder::exponent, "polytropic exponent n [-], 1 ... 1.4"),
        defaulted("temperature", &AirCylinder::temperature, "of the air [K], > 0"));
    bind_struct<Drive>(
        m,
        "Drive",
        "What moves a shaft: a force, an air cylinder, or a screw at a given speed.",
        defaulted("kind", &Drive::kind, "force, air or speed [-]"),
        defaulted("force", &Drive::force, "F0; kind speed: its limit [N], > 0"),
        defaulted("rise_time", &Drive::rise_time, "time constant [s], >= 0"),
        defaulted("between_shots", &Drive::between_shots, "what it does while shut [-]"),
        defaulted("delay", &Drive::delay, "open command to its start [s], >= 0"),
        defaulted("speed", &Drive::speed, "kind speed [m/s], > 0"),
        defaulted("ramp_time", &Drive::ramp_time, "to that speed [s], >= 0"),
        defaulted("stiffness", &Drive::stiffness, "of the screw [N/m], > 0"),
        defaulted("air", &Drive::air, "kind air [-]"));
    bind_struct<Axis>(m,
                      "Axis",
                      "A shaft and what moves it.",
                      required("shaft", &Axis::shaft, "with one piston [-]"),
                      required("drive", &Axis::drive, "of its own [-]"));
    bind_struct<Tip>(m,
                     "Tip",
                     "Round nozzle behind the mixer.",
                     required("bore", &Tip::bore, "inside diameter [m], > 0"),
                     required("length", &Tip::length, "of the bore [m], > 0"));
    bind_struct<Mixer>(
        m,
        "Mixer",
        "Static mixer: p_m = R_m (q_r + q_h), hold-up void x pi/4 D^2 L.",
        required("bore", &Mixer::bore, "D [m], > 0"),
        required("length", &Mixer::length, "L [m], > 0"),
        defaulted("void_fraction", &Mixer::void_fraction, "free share [-], 0 < void <= 1"),
        defaulted("pressure_multiplier",
                  &Mixer::pressure_multiplier,
                  "pressure loss to that of the empty tube [-], >= 1"),
        defaulted(
            "blend_viscosity", &Mixer::blend_viscosity, "of the blend [Pa s], > 0; None: log rule"),
        defaulted("temperature", &Mixer::temperature, "of the blend, for the log rule [K]"),
        defaulted("residence", &Mixer::residence, "residence model [-]"),
        defaulted("peclet", &Mixer::peclet, "of the whole mixer, dispersion [-], 1 ... 1e6"),
        defaulted("tanks", &Mixer::tanks, "number of tanks, tanks [-], 1 ... 1e4"),
        defaulted("rating", &Mixer::rating, "highest pressure allowed [Pa]"),
        defaulted("starts_full", &Mixer::starts_full, "of blend at the ratio; else empty [-]"),
        defaulted("follow_blend",
                  &Mixer::follow_blend,
                  "local viscosity follows composition and age [-]"),
        defaulted(
            "doubling_time", &Mixer::doubling_time, "of the blend's viscosity with age [s], > 0"),
        defaulted("working_life", &Mixer::working_life, "of the blend [s], > 0"),
        defaulted("tip", &Mixer::tip, "behind the mixer; None: none [-]"));
    bind_struct<Machine>(m,
                         "Machine",
                         "A two-component metering machine.",
                         required("resin", &Machine::resin, "the thick stream [-]"),
                         required("hardener", &Machine::hardener, "the thin stream [-]"),
                         required("shaft", &Machine::shaft, "common, or the resin's own [-]"),
                         required("drive", &Machine::drive, "of that shaft [-]"),
                         required("mixer", &Machine::mixer, "static mixer [-]"),
                         defaulted("hardener_axis",
                                   &Machine::hardener_axis,
                                   "of the hardener's own; None: common shaft [-]"));
}

void bind_run(py::module_& m) {
    bind_struct<Step>(m,
                      "Step",
                      "One step of a sequence.",
                      required("kind", &Step::kind, "what is done [-]"),
                      required("amount", &Step::amount, "until when [s, m^3, m or Pa, by kind]"),
                      defaulted("refill_time",
                                &Step::refill_time,
                                "of a shot that goes on after its stroke [s]; 0: it ends there"));
    bind_struct<Start>(
        m,
        "Start",
        "Pressures before the first step.",
        defaulted("resin_cylinder", &Start::resin_cylinder, "gauge [Pa]"),
        defaulted("resin_line", &Start::resin_line, "gauge [Pa]"),
        defaulted("hardener_cylinder", &Start::hardener_cylinder, "gauge [Pa]"),
        defaulted("hardener_line", &Start::hardener_line, "gauge [Pa]"),
        defaulted("periodic", &Start::periodic, "start as the repeated steps end [-]"));
    bind_struct<Sequence>(m,
                          "Sequence",
                          "What the machine is asked to do.",
                          required("steps", &Sequence::steps, "in order [-]"),
                          defaulted("repeat", &Sequence::repeat, "times [-], 1 ... 10000"),
                          defaulted("start", &Sequence::start, "pressures before [-]"));
    bind_struct<Numerics>(
        m,
        "Numerics",
        "Accuracy of a run.",
        defaulted("rtol", &Numerics::rtol, "relative error per step [-], 1e-10 ... 1e-2"),
        defaulted("max_steps", &Numerics::max_steps, "of the whole run [-]"),
        defaulted("inertia", &Numerics::inertia, "of liquid in lines of Newtonian streams [-]"));
    bind_struct<Target>(
        m,
        "Target",
        "What the part asks for.",
        required("ratio", &Target::ratio, "r0, hardener per resin by liquid volume [-], > 0"),
        required("tolerance_high",
                 &Target::tolerance_high,
                 "upper tolerance of the ratio error [-], > 0"),
        required("tolerance_low",
                 &Target::tolerance_low,
                 "lower tolerance as a positive number [-], > 0"),
        defaulted("resolve",
                  &Target::resolve,
                  "smallest piece that matters, fraction of the shot [-], > 0"));
}

}  // namespace

void bind_machine(py::module_& m) {
    bind_enums(m);
    bind_stream(m);
    bind_drive_and_mixer(m);
    bind_run(m);
    m.attr("unrated") = unrated;
    m.attr("unlimited") = unlimited;
    m.def("validate", py::overload_cast<const Machine&>(&validate), "machine"_a, validate_doc);
    m.def("setting", &setting, "throttle"_a, setting_doc);
    m.def("with_setting", &with_setting, "throttle"_a, "value"_a, with_setting_doc);
    m.def("full_force", &full_force, "drive"_a, full_force_doc);
    m.def("area", &area, "cylinder"_a, area_doc);
}

}  // namespace evenfront::python
