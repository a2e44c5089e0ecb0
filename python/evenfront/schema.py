"""The case file's keys, written once: names, meaning, units, bounds, defaults.

The models check a parsed file and give SI values (pressures gauge, temperatures kelvin);
`json_schema` prints the same for editors.
"""

from __future__ import annotations

import itertools
import math
from typing import Annotated, Any, Literal, Union

from pydantic import ConfigDict, Field, model_validator

from evenfront import materials
from evenfront import units as u
from evenfront.schema_base import (
    FlowResistance,
    Length,
    OptionalDuration,
    OptionalTemperature,
    PositiveNumber,
    Rating,
    Table,
    Temperature,
    Time,
    Viscosity,
    Volume,
    key,
)
from evenfront.schema_drive import Drive, OwnDrive, Shafts
from evenfront.schema_part import Part
from evenfront.units import Kind
from evenfront.values import (
    Amount,
    Choice,
    Number,
    OneOf,
    Points,
    Quantity,
    StartText,
    Switch,
    Text,
    ToleranceText,
    refused,
)


class Ratio(Table):
    """Ratio asked of the machine, and what the material tolerates."""

    hardener_per_resin: Annotated[float | None, Number(above=0)] = key(
        "Hardener per resin by liquid volume: 0.14 means 100:14. Give this or by_weight.",
        None,
        examples=[0.14],
    )
    by_weight: Annotated[float | None, Number(above=0)] = key(
        "Hardener per resin by weight; turned into volume with both data-sheet densities.",
        None,
        examples=[0.084],
    )
    tolerance: Annotated[tuple[float, float], ToleranceText()] = key(
        "Ratio error the material tolerates, of the ratio itself.", examples=["5 %", "-3 %, +5 %"]
    )
    resolve: Annotated[float, Quantity(u.FRACTION, above="0 %", at_most="100 %")] = key(
        "Smallest piece of the part that matters, as a share of the shot's volume.", "1 %"
    )

    @model_validator(mode="after")
    def _one_ratio(self) -> Ratio:
        if self.hardener_per_resin is not None and self.by_weight is not None:
            raise refused("give either hardener_per_resin or by_weight, not both", "by_weight")
        if self.hardener_per_resin is None and self.by_weight is None:
            raise refused(
                "is missing: the ratio by liquid volume, for example 0.14 for 100:14 "
                "(or by_weight)",
                "hardener_per_resin",
            )
        return self


_TEMPERATURE = Quantity(u.TEMPERATURE, at_least="-100 degC", at_most="400 degC")
_DIFFERENCE = Quantity(u.TEMPERATURE_DIFFERENCE, above="0 K")


class Vogel(Table):
    """Vogel law of the temperature shift, exp(B (1/(T - T0) - 1/(T_ref - T0)))."""

    B: Annotated[float, _DIFFERENCE] = key("B.", examples=["1600 K"])
    T0: Annotated[float, Quantity(u.TEMPERATURE, at_least="0 K")] = key(
        "Temperature T0 at which the viscosity would be infinite.", examples=["165 K"]
    )


class Wlf(Table):
    """Temperature shift by two constants, log10 a_T = -C1 (T - T_r)/(C2 + T - T_r)."""

    C1: PositiveNumber = key("C1.", examples=[17.44])
    C2: Annotated[float, _DIFFERENCE] = key("C2.", examples=["51.6 K"])
    reference_temperature: OptionalTemperature = key(
        "Temperature T_r of the constants; default that of the viscosity.",
        None,
        examples=["10 degC"],
    )


def _viscosity_from_table(schema: dict[str, Any]) -> None:
    """Let the printed schema leave out a viscosity that the table gives."""
    schema["required"].remove("viscosity")


class _ViscosityTable(Table):
    model_config = ConfigDict(json_schema_extra=_viscosity_from_table)
    reference_temperature: OptionalTemperature = key(
        "Temperature of the viscosity given; default the material's.", None, examples=["60 degC"]
    )
    vogel: Vogel | None = key(
        "Vogel law of the temperature shift, in place of activation_energy.",
        None,
        examples=[{"B": "1600 K", "T0": "165 K"}],
    )
    wlf: Wlf | None = key(
        "Temperature shift by C1 and C2, in place of activation_energy.",
        None,
        examples=[{"C1": 17.44, "C2": "51.6 K", "reference_temperature": "10 degC"}],
    )
    table: Annotated[
        tuple[tuple[float, float], ...] | None,
        Points(_TEMPERATURE, Quantity(u.VISCOSITY, above="0 Pa*s")),
    ] = key(
        "Viscosities at one shear rate against temperature, in place of activation_energy. Where "
        "viscosity and reference_temperature are left out, they are the first point.",
        None,
        examples=[[["25 degC", "90 Pa*s"], ["40 degC", "25 Pa*s"], ["60 degC", "6 Pa*s"]]],
    )
    activation_energy: Annotated[float | None, Quantity(u.MOLAR_ENERGY, at_least="0 kJ/mol")] = key(
        "Activation energy of the temperature shift; a data-sheet value taken at fixed shear rate "
        "is divided by the index first. Default that of the class, or 0.",
        None,
        examples=["50 kJ/mol"],
    )

    @model_validator(mode="before")
    @classmethod
    def _first_point(cls, data: Any) -> Any:
        """Take the viscosity from the table where only that is given."""
        if isinstance(data, dict) and not {"viscosity", "reference_temperature"} & data.keys():
            match data.get("table"):
                case [[temperature, viscosity], *_]:
                    return {
                        **data,
                        "viscosity": viscosity,
                        "reference_temperature": temperature,
                    }
        return data

    @model_validator(mode="after")
    def _one_law(self) -> _ViscosityTable:
        names = ("activation_energy", "vogel", "wlf", "table")
        given = [name for name in names if getattr(self, name) is not None]
        if len(given) > 1:
            raise refused(f"give only one of {', '.join(given)}", given[-1])
        for i, (cold, warm) in enumerate(itertools.pairwise(self.table or ()), 1):
            if not warm[0] > cold[0]:
                raise refused("temperatures must rise from point to point", "table", i, 0)
            if not warm[1] < cold[1]:
                raise refused("must be below the viscosity of the point before", "table", i, 1)
        return self


_SHEAR_RATE = Annotated[float, Quantity(u.SHEAR_RATE, above="0 1/s")]
_INDEX = Annotated[float, Number(at_least=0.1, at_most=1.0)]
_YIELD_STRESS = Annotated[float, Quantity(u.STRESS, at_least="0 Pa")]
_APPARENT = "Whole apparent viscosity, shear stress over shear rate, at `shear_rate`."


class Newtonian(_ViscosityTable):
    """Viscosity that does not depend on shear rate."""

    model: Literal["newtonian"] = key("Flow law.")
    viscosity: Viscosity = key("Viscosity at the reference temperature.")


class Bingham(_ViscosityTable):
    """Yield stress, then a constant plastic viscosity."""

    model: Literal["bingham"] = key("Flow law.")
    viscosity: Viscosity = key("Plastic viscosity at the reference temperature.")
    yield_stress: _YIELD_STRESS = key("Yield stress.")


class PowerLaw(_ViscosityTable):
    """Shear-thinning without yield stress."""

    model: Literal["power_law"] = key("Flow law.")
    viscosity: Viscosity = key(_APPARENT)
    shear_rate: _SHEAR_RATE = key("Shear rate at which the viscosity is given.")
    index: _INDEX = key("Index n: 1 Newtonian, less is shear-thinning.", examples=[0.85])


class HerschelBulkley(PowerLaw):
    """Yield stress, then shear-thinning."""

    model: Literal["herschel_bulkley"] = key("Flow law.")  # type: ignore[assignment]
    yield_stress: _YIELD_STRESS = key("Yield stress.")

    @model_validator(mode="after")
    def _flows(self) -> HerschelBulkley:
        if not self.viscosity * self.shear_rate > self.yield_stress:
            least = u.written(self.yield_stress / self.shear_rate, u.VISCOSITY, "Pa*s")
            raise refused(f"must be above yield_stress/shear_rate, {least}", "viscosity")
        return self


class CrossLaw(_ViscosityTable):
    """Shear-thinning between a plateau at rest and one at high shear rate."""

    model: Literal["cross"] = key("Flow law.")
    viscosity: Viscosity = key("Viscosity at rest, the upper plateau.")
    high_shear_viscosity: Annotated[float, Quantity(u.VISCOSITY, at_least="0 Pa*s")] = key(
        "Viscosity at high shear rate, the lower plateau; 0: none.", "0 Pa*s", examples=["2 Pa*s"]
    )
    time_constant: Annotated[float, Quantity(u.TIME, above="0 s")] = key(
        "One over the shear rate at which it is halfway between the plateaus.", examples=["0.5 s"]
    )
    exponent: Annotated[float, Number(at_least=0.1, at_most=1.0)] = key(
        "m: between the plateaus the viscosity falls with the shear rate to the power -m.",
        examples=[0.7],
    )

    @model_validator(mode="after")
    def _thins(self) -> CrossLaw:
        if not self.high_shear_viscosity < self.viscosity:
            raise refused("must be below viscosity", "high_shear_viscosity")
        # Least slope of ln stress with ln rate, as the core asks.
        root = math.sqrt(self.high_shear_viscosity / self.viscosity)
        most = 0.9 * (1.0 + root) / (1.0 - root)
        if not self.exponent <= most * (1 + 1e-9):
            raise refused(
                f"must be at most {u.digits(most)} with these viscosities, so that the stress "
                "rises with the shear rate to a power of 0.1 or more",
                "exponent",
            )
        return self


class Metering(Table):
    """Metering cylinder."""

    bore: Length = key("Bore of the metering cylinder.", examples=["63.5 mm"])
    temperature: OptionalTemperature = key(
        "Temperature of the liquid in it; default the material's.", None, examples=["60 degC"]
    )
    leak: Annotated[float, Quantity(u.CONDUCTANCE, at_least="0 mL/min/bar")] = key(
        "Seal leak out of the machine per gauge pressure.", "0 mL/min/bar"
    )
    lash: Annotated[float, Quantity(u.LENGTH, at_least="0 mm")] = key(
        "Travel lost between shaft and piston when the shaft turns round.",
        "0 mm",
        examples=["0.1 mm"],
    )
    pocket: Volume = key("Trapped free air, its volume at atmospheric pressure.", "0 mL")
    rating: Rating = key("Highest pressure allowed.", None, examples=["210 bar"])


class Segment(Table):
    """A piece of line of one bore and one temperature: hose, block, head."""

    name: Annotated[str, Text()] = key("Name, for messages and pictures.", examples=["hose"])
    bore: Length = key("Inside diameter.")
    length: Length = key("Length.", examples=["3 m"])
    temperature: OptionalTemperature = key(
        "Temperature of the liquid in it; default the metering cylinder's.",
        None,
        examples=["60 degC"],
    )
    wall_expansion: Annotated[
        Amount,
        Quantity(u.WALL_EXPANSION, u.VOLUME_PER_LENGTH, at_least="0 mL/bar/m"),
    ] = key(
        "Volume the wall gives per pressure and length, or the maker's volume per length at "
        "expansion_pressure.",
        "0 mL/bar/m",
        examples=["0.025 mL/bar/m", "2.5 mL/m"],
    )
    expansion_pressure: Rating = key(
        "Pressure at which wall_expansion was given as a volume per length.",
        None,
        examples=["100 bar"],
    )
    expansion: Annotated[
        tuple[tuple[float, float], ...] | None,
        Points(
            Quantity(u.PRESSURE, above="0 bar"),
            Quantity(u.VOLUME_PER_LENGTH, above="0 mL/m"),
            least=1,
        ),
    ] = key(
        "Volume per length the wall gives against pressure, in place of wall_expansion; nothing "
        "at 0 bar goes before.",
        None,
        examples=[[["50 bar", "1.2 mL/m"], ["100 bar", "1.9 mL/m"]]],
    )
    hot_factor: PositiveNumber = key(
        "How many times more the wall gives at the liquid's temperature than as stated.",
        1.0,
        examples=[1.4],
    )
    cells: Annotated[int | None, Number(at_least=1, at_most=10000, whole=True)] = key(
        "Pieces it is cut into; default 16 over the whole line, shared out by length.", None
    )
    pocket: Volume = key("Trapped free air, its volume at atmospheric pressure.", "0 mL")
    rating: Rating = key("Highest pressure allowed.", None, examples=["210 bar"])
    idle_temperature: OptionalTemperature = key(
        "Temperature the liquid in it goes to while nothing flows; left out: it keeps its own.",
        None,
        examples=["22 degC"],
    )
    idle_time: Annotated[float | None, Quantity(u.LONG_TIME, above="0 min")] = key(
        "Time constant of that: after it 63 % of the way is gone.", None, examples=["10 min"]
    )

    @model_validator(mode="after")
    def _idle(self) -> Segment:
        if self.idle_temperature is not None and self.idle_time is None:
            raise refused("is missing: idle_temperature needs it", "idle_time")
        if self.idle_time is not None and self.idle_temperature is None:
            raise refused("applies only with idle_temperature", "idle_time")
        return self

    @model_validator(mode="after")
    def _room(self) -> Segment:
        room = math.pi / 4.0 * self.bore**2 * self.length
        if not self.pocket < room:
            held = u.show(room, u.VOLUME)
            raise refused(f"must be below what this piece of line holds, {held}", "pocket")
        return self

    @model_validator(mode="after")
    def _table(self) -> Segment:
        if self.expansion and {"wall_expansion", "expansion_pressure"} & self.model_fields_set:
            raise refused("give either wall_expansion or expansion", "expansion")
        for i, (first, second) in enumerate(itertools.pairwise(self.expansion or ()), 1):
            if not second[0] > first[0]:
                raise refused("pressures must rise from pair to pair", "expansion", i, 0)
            if not second[1] > first[1]:
                raise refused("must be above the volume of the pair before", "expansion", i, 1)
        return self

    @model_validator(mode="after")
    def _expansion(self) -> Segment:
        per_length = self.wall_expansion.kind is u.VOLUME_PER_LENGTH
        if per_length and self.expansion_pressure is None:
            raise refused(
                "a volume per length needs expansion_pressure as well, "
                'for example expansion_pressure = "100 bar"',
                "wall_expansion",
            )
        if not per_length and self.expansion_pressure is not None:
            raise refused(
                'applies only to a wall_expansion such as "2.5 mL/m"', "expansion_pressure"
            )
        return self


class _ThrottleTable(Table):
    position: Annotated[str, Choice("before", "after")] = key(
        "Before or after the shut-off.", "before"
    )
    volume_between: Annotated[float, Quantity(u.VOLUME, at_least="0 mL")] = key(
        "Liquid held between throttle and shut-off.", "0 mL"
    )


def _check_range(lowest: float, highest: float, value: float, kind: Kind, name: str) -> None:
    """Refuse a range that is empty or does not hold the case's own setting."""
    if not lowest < highest:
        raise refused("the first value must be below the second", "range")
    # A hair of room: both ends went through a unit conversion.
    if not lowest * (1 - 1e-9) <= value <= highest * (1 + 1e-9):
        raise refused(f"must contain {name}, {u.written(value, kind)}", "range")


class ResistanceThrottle(_ThrottleTable):
    """Throttle with a pressure loss proportional to flow."""

    kind: Literal["resistance"] = key("Kind of throttle.")
    resistance: Annotated[
        float,
        Quantity(
            u.RESISTANCE,
            above="0 bar*s/mL",
            why='; for a line without a throttle write a small one, "0.001 bar*s/mL"',
        ),
    ] = key("Pressure loss per flow.")
    seat_bore: Annotated[float | None, Quantity(u.LENGTH, above="0 mm")] = key(
        "Diameter of the seat, to check that the loss stays proportional to flow.",
        None,
        examples=["3 mm"],
    )
    range: tuple[FlowResistance, FlowResistance] | None = key(
        "Lowest and highest setting a trim may choose; default from the case's setting to 2,000 "
        "times it.",
        None,
        examples=[["0.02 bar*s/mL", "60 bar*s/mL"]],
    )

    @model_validator(mode="after")
    def _range(self) -> ResistanceThrottle:
        if self.range:
            _check_range(*self.range, self.resistance, u.RESISTANCE, "resistance")
        return self


_Turns = Annotated[
    float, Quantity(u.TURNS, above="0 turns", why=": a closed throttle passes nothing")
]


class NeedleThrottle(_ThrottleTable):
    """Throttle with a cone in a seat."""

    kind: Literal["needle"] = key("Kind of throttle.")
    turns: _Turns = key("Turns open from closed.")
    pitch: Annotated[float, Quantity(u.PITCH, above="0 mm")] = key("Lift per turn.")
    half_angle: Annotated[float, Quantity(u.ANGLE, above="0 deg", below="90 deg")] = key(
        "Half angle of the cone."
    )
    seat_bore: Length = key("Diameter of the seat.", examples=["3 mm"])
    land_length: Length = key("Length of the slit between cone and seat.", examples=["2 mm"])
    discharge_coefficient: Annotated[float, Number(above=0, at_most=1)] = key(
        "Discharge coefficient of the kinetic loss.", 0.7
    )
    backlash: Annotated[float | None, Quantity(u.TURNS, above="0 turns")] = key(
        "Lost motion of the stem: how far a setting is uncertain.", None, examples=["0.125 turns"]
    )
    range: tuple[_Turns, _Turns] | None = key(
        "Lowest and highest setting a trim may choose; default from the case's turns down to "
        "1/2000^(1/3) of them, which is 2,000 times the slit's resistance.",
        None,
        examples=[["0.2 turns", "4 turns"]],
    )

    @model_validator(mode="after")
    def _range(self) -> NeedleThrottle:
        if self.range:
            _check_range(*self.range, self.turns, u.TURNS, "turns")
        widest = self.range[1] if self.range else self.turns
        # Past a gap of a quarter of the bore the seat itself is narrower than the slit.
        if widest * self.pitch * math.sin(self.half_angle) > self.seat_bore / 4:
            most = self.seat_bore / 4 / (self.pitch * math.sin(self.half_angle))
            raise refused(
                f"must be at most {u.digits(most)} turns: beyond it the gap is above a quarter "
                "of seat_bore and no slit",
                *(("range", 1) if self.range else ("turns",)),
            )
        return self


_OPENING = Quantity(u.FRACTION, u.TURNS, at_least="0 %")
_Opening = Annotated[Amount, _OPENING]
_COEFFICIENT = OneOf(Number(above=0), Points(_OPENING, Number(above=0)))
_Coefficient = Annotated[float | tuple[tuple[Amount, float], ...] | None, _COEFFICIENT]


class FlowCoefficientThrottle(_ThrottleTable):
    """Throttle known by its maker's flow coefficient, for Newtonian liquids."""

    kind: Literal["flow_coefficient"] = key("Kind of throttle.")
    opening: _Opening = key(
        "Setting, as a share of the full travel or in turns.", examples=["40 %", "2 turns"]
    )
    kv: _Coefficient = key(
        "Kv (m3/h of water at 1 bar): pairs of opening and Kv, or that of the valve fully open "
        "with a characteristic. Give this or cv.",
        None,
        examples=[[["20 %", 0.004], ["60 %", 0.012], ["100 %", 0.04]]],
    )
    cv: _Coefficient = key("The same as Cv (US gallons a minute at 1 psi).", None, examples=[0.05])
    characteristic: Annotated[str | None, Choice("equal_percentage", "linear")] = key(
        "How the coefficient goes with the opening, where kv or cv is one number.",
        None,
        examples=["equal_percentage"],
    )
    rangeability: Annotated[float, Number(above=1)] = key(
        "Largest over smallest coefficient of the characteristic.", 50.0
    )
    full_turns: Annotated[float | None, Quantity(u.TURNS, above="0 turns")] = key(
        "Turns of the full travel, where a characteristic has an opening in turns.",
        None,
        examples=["8 turns"],
    )
    FL: Annotated[float, Number(above=0, at_most=1)] = key("Pressure recovery factor.", 0.9)
    Fd: Annotated[float, Number(above=0, at_most=1)] = key("Valve style modifier.", 0.46)
    seat_bore: Length = key("Nominal bore of the valve.", examples=["15 mm"])
    backlash: Annotated[Amount | None, Quantity(u.FRACTION, u.TURNS, above="0 %")] = key(
        "Lost motion of the stem: how far a setting is uncertain.", None, examples=["2 %"]
    )
    range: tuple[_Opening, _Opening] | None = key(
        "Lowest and highest opening a trim may choose; default from the least known to the case's.",
        None,
        examples=[["20 %", "100 %"]],
    )

    @property
    def points(self) -> tuple[tuple[Amount, float], ...] | None:
        """Pairs of opening and coefficient, None for a characteristic."""
        given = self.kv if self.kv is not None else self.cv
        return given if isinstance(given, tuple) else None

    @model_validator(mode="after")
    def _coefficient(self) -> FlowCoefficientThrottle:
        if (self.kv is None) == (self.cv is None):
            raise refused("give either kv or cv", "kv")
        name = "cv" if self.kv is None else "kv"
        if self.points is None:
            if self.characteristic is None:
                raise refused(f"is missing: one {name} needs it", "characteristic")
            if self.opening.kind is u.TURNS and self.full_turns is None:
                raise refused("is missing: an opening in turns needs it", "full_turns")
            if self.opening.kind is not u.TURNS and self.full_turns is not None:
                raise refused("applies only to an opening in turns", "full_turns")
            return self
        if self.characteristic is not None:
            raise refused(f"applies only to one {name}, not to pairs", "characteristic")
        if self.full_turns is not None:
            raise refused(f"applies only to one {name}, not to pairs", "full_turns")
        for i, (first, second) in enumerate(itertools.pairwise(self.points), 1):
            if not second[0].value > first[0].value:
                raise refused("openings must rise from pair to pair", name, i, 0)
            if not second[1] > first[1]:
                raise refused("must be above the coefficient of the pair before", name, i, 1)
        return self

    @model_validator(mode="after")
    def _settings(self) -> FlowCoefficientThrottle:
        kind = self.opening.kind
        ends = (0.0, self.full_turns if self.full_turns is not None else 1.0)
        if self.points is not None:
            for i, (at, _) in enumerate(self.points):
                if at.kind is not kind:
                    name = "cv" if self.kv is None else "kv"
                    raise refused(f"must be {kind.name}, as opening is", name, i, 0)
            ends = (self.points[0][0].value, self.points[-1][0].value)
        settings: list[tuple[Amount, tuple[str | int, ...]]] = [(self.opening, ("opening",))]
        settings += [(end, ("range", i)) for i, end in enumerate(self.range or ())]
        if self.backlash is not None and self.backlash.kind is not kind:
            raise refused(f"must be {kind.name}, as opening is", "backlash")
        for value, keys in settings:
            if value.kind is not kind:
                raise refused(f"must be {kind.name}, as opening is", *keys)
            if not ends[0] * (1 - 1e-9) <= value.value <= ends[1] * (1 + 1e-9):
                low, high = (u.written(end, kind) for end in ends)
                raise refused(
                    f"must be from {low} to {high}, where the coefficient is known", *keys
                )
        if self.range:
            lowest, highest = (end.value for end in self.range)
            _check_range(lowest, highest, self.opening.value, kind, "opening")
        return self


class Shutoff(Table):
    """Shut-off valve of one stream."""

    resistance: FlowResistance = key("Pressure loss per flow, fully open.")
    open_time: Time = key("Time from closed to open.", examples=["40 ms"])
    close_time: Annotated[float | None, Quantity(u.TIME, at_least="0 s")] = key(
        "Time from open to closed; default open_time.", None, examples=["40 ms"]
    )
    delay: Time = key("From the open command to the first movement.", "0 s")
    close_delay: Time = key("From the close command to the first movement.", "0 s")
    exponent: Annotated[float, Number(at_least=1, at_most=5)] = key(
        "m in resistance/opening^m while the valve moves.", 1.0
    )
    stem_volume: Volume = key(
        "Liquid the stem pushes forward while it opens.", "0 mL", examples=["0.05 mL"]
    )
    suck_back: Volume = key("Liquid drawn back while it closes.", "0 mL", examples=["0.1 mL"])
    passage_volume: Volume = key(
        "Volume from the shut-off to the mixing point.", "0 mL", examples=["1 mL"]
    )
    passage_full: Annotated[bool, Switch()] = key(
        "Passage starts full of liquid; false: empty, at atmospheric pressure.", True
    )
    check_valve: Annotated[bool, Switch()] = key(
        "Check valve at the mixing point: nothing is pushed back past it.", False
    )
    opening_pressure: Annotated[float | None, Quantity(u.PRESSURE, at_least="0 bar")] = key(
        "Pressure that opens the check valve; default 0.3 bar.", None, examples=["0.3 bar"]
    )

    @model_validator(mode="after")
    def _passage(self) -> Shutoff:
        if not self.passage_full and self.passage_volume == 0:
            raise refused("must be above 0 mL where passage_full = false", "passage_volume")
        if self.opening_pressure is not None and not self.check_valve:
            raise refused("applies only to check_valve = true", "opening_pressure")
        return self


class Feed(Table):
    """Feed line from the tank, for refill steps."""

    tank_pressure: Annotated[float, Quantity(u.PRESSURE, above="-0.9 bar")] = key(
        "Pressure in the tank.", examples=["4 bar"]
    )
    bore: Length = key("Bore of the feed line.")
    length: Length = key("Length of the feed line.")
    temperature: OptionalTemperature = key("Default the metering cylinder's.", None)
    valve_time: Time = key("Time the fill valve takes to turn.", "0 s")
    vapour_pressure: Annotated[float | None, Quantity(u.STRESS, at_least="0 Pa")] = key(
        "Vapour pressure of the liquid, absolute; below it the stream counts as starved.",
        None,
        examples=["2 kPa"],
    )


class Filler(Table):
    """Filler that is stirred into the liquid; density and viscosity are then those without it."""

    volume_fraction: Annotated[
        float | None, Quantity(u.FRACTION, at_least="0 %", below="100 %")
    ] = key("Filler by volume. Give this or weight_fraction.", None, examples=["35 %"])
    weight_fraction: Annotated[
        float | None, Quantity(u.FRACTION, at_least="0 %", below="100 %")
    ] = key("Filler by weight.", None, examples=["55 %"])
    density: Annotated[float, Quantity(u.DENSITY, above="0 g/cm^3")] = key(
        "Density of the filler itself.", examples=["2.65 g/cm^3"]
    )
    max_packing: Annotated[float, Quantity(u.FRACTION, above="0 %", at_most="100 %")] = key(
        "Volume fraction at which it no longer flows.", "64 %"
    )
    intrinsic_viscosity: PositiveNumber = key("Intrinsic viscosity; 2.5 for spheres.", 2.5)

    @model_validator(mode="after")
    def _one_fraction(self) -> Filler:
        if (self.volume_fraction is None) == (self.weight_fraction is None):
            raise refused("give either volume_fraction or weight_fraction", "volume_fraction")
        return self


class Stream(Table):
    """One stream, resin or hardener, from cylinder to mixing point."""

    name: Annotated[str, Text()] = key("Name of the material.", examples=["filled epoxy resin"])
    label: Annotated[str | None, Text()] = key(
        "Label shown instead of resin or hardener.", None, examples=["Part A"]
    )
    material_class: Annotated[str | None, Choice(*materials.CLASSES)] = key(
        "Class whose typical values fill what the data sheet leaves out.", None, alias="class"
    )
    density: Annotated[float, Quantity(u.DENSITY, above="0 g/cm^3")] = key(
        "Density without gas at the reference temperature."
    )
    reference_temperature: Temperature = key("Temperature of the density.", "25 degC")
    thermal_expansion: Annotated[
        float | None, Quantity(u.EXPANSION, at_least="0 1/K", at_most="0.01 1/K")
    ] = key(
        "Volume expansion with temperature; default that of the class, or 0.",
        None,
        examples=["4e-4 1/K"],
    )
    bulk_modulus: Annotated[float | None, Quantity(u.STRESS, above="0 GPa")] = key(
        "Bulk modulus of the liquid without gas; may be left to the class.",
        None,
        examples=["2.5 GPa"],
    )
    free_gas: Annotated[float, Quantity(u.FRACTION, at_least="0 %", at_most="50 %")] = key(
        "Volume fraction of free gas at atmospheric pressure.", "0 %"
    )
    gas_exponent: Annotated[float, Number(at_least=1, at_most=1.67)] = key(
        "Polytropic exponent of the gas: 1 isothermal, 1.4 adiabatic.", 1.0
    )
    filler: Filler | None = key(
        "Filler whose effect on density and viscosity is computed; left out: the data sheet's "
        "values are those of the filled liquid.",
        None,
        examples=[{"weight_fraction": "55 %", "density": "2.65 g/cm^3"}],
    )
    filler_top_size: Annotated[float | None, Quantity(u.LENGTH, above="0 mm")] = key(
        "Size of the largest filler particles, to check the gap of a needle.",
        None,
        examples=["0.1 mm"],
    )
    viscosity: Annotated[
        Union[Newtonian, Bingham, PowerLaw, HerschelBulkley, CrossLaw],  # noqa: UP007 (holds a Field)
        Field(discriminator="model"),
    ] = key("Viscosity; `model` names the flow law.")
    metering: Metering = key("Metering cylinder.", examples=[{"bore": "63.5 mm"}])
    line: Annotated[list[Segment], Field(min_length=1)] = key(
        "Pieces of the line in order from cylinder to throttle.",
        examples=[[{"name": "hose", "bore": "16 mm", "length": "6 m"}]],
    )
    throttle: Annotated[
        Union[ResistanceThrottle, NeedleThrottle, FlowCoefficientThrottle],  # noqa: UP007 (holds a Field)
        Field(discriminator="kind"),
    ] = key("Throttle; `kind` names it.")
    shutoff: Shutoff = key("Shut-off valve.")
    feed: Feed | None = key("Feed line from the tank; a refill step needs it.", None)
    drive: OwnDrive = key(
        'Shaft and drive of this stream; shaft.arrangement = "independent".', None
    )

    @model_validator(mode="after")
    def _bulk_modulus(self) -> Stream:
        if self.bulk_modulus is None and not materials.typical(self.material_class, "bulk_modulus"):
            raise refused(
                'is missing: bulk modulus of the liquid without gas, for example "2.5 GPa"',
                "bulk_modulus",
            )
        return self

    @model_validator(mode="after")
    def _newtonian_valve(self) -> Stream:
        valve = isinstance(self.throttle, FlowCoefficientThrottle)
        if valve and not isinstance(self.viscosity, Newtonian):
            raise refused(
                "flow_coefficient holds for Newtonian liquids only, as its standard says: use "
                "resistance or needle",
                "throttle",
                "kind",
            )
        return self


class Tip(Table):
    """Round nozzle behind the mixer."""

    bore: Length = key("Inside diameter.", examples=["3 mm"])
    length: Length = key("Length.", examples=["30 mm"])


_LongTime = Annotated[float | None, Quantity(u.LONG_TIME, above="0 min")]


class Mixer(Table):
    """Static mixer."""

    bore: Length = key("Inside diameter.", examples=["10 mm"])
    length: Length = key("Length.", examples=["200 mm"])
    elements: Annotated[int | None, Number(at_least=1, at_most=1000, whole=True)] = key(
        "Number of mixing elements, for the record.", None, examples=[24]
    )
    void_fraction: Annotated[float, Number(above=0, at_most=1)] = key(
        "Share of the tube that liquid fills.", 0.8
    )
    pressure_multiplier: Annotated[float, Number(at_least=1)] = key(
        "Pressure loss relative to the empty tube.", 7.0
    )
    blend_viscosity: Annotated[float | None, Quantity(u.VISCOSITY, above="0 Pa*s")] = key(
        "Viscosity of the blend; left out: from both streams by the log rule.",
        None,
        examples=["10 Pa*s"],
    )
    temperature: OptionalTemperature = key(
        "Temperature of the blend, for the log rule; default the mean of both streams' last piece "
        "of line, by volume.",
        None,
        examples=["50 degC"],
    )
    residence: Annotated[str, Choice("plug", "tanks", "dispersion")] = key(
        "Spread of residence times.", "plug"
    )
    peclet: Annotated[float | None, Number(at_least=1, at_most=1e6)] = key(
        "Peclet number of the whole mixer; residence dispersion.", None, examples=[100]
    )
    tanks: Annotated[float | None, Number(at_least=1, at_most=1e4)] = key(
        "Number of stirred tanks in series; residence tanks.", None, examples=[20]
    )
    starts: Annotated[str, Choice("full", "empty")] = key(
        "Full of blend at the asked ratio, or empty.", "full"
    )
    tip: Tip | None = key(
        "Nozzle behind the mixer.", None, examples=[{"bore": "3 mm", "length": "30 mm"}]
    )
    follow_blend: Annotated[bool | None, Switch()] = key(
        "The blend's viscosity follows composition and age along the mixer; default true with "
        "doubling_time, else false.",
        None,
        examples=[True],
    )
    doubling_time: _LongTime = key(
        "Age at which the blend's viscosity has doubled, and doubles again.",
        None,
        examples=["4 min"],
    )
    working_life: _LongTime = key(
        "Age up to which the blend may stay in the mixer.", None, examples=["15 min"]
    )
    rating: Rating = key("Highest pressure allowed.", None, examples=["20 bar"])

    @model_validator(mode="after")
    def _residence(self) -> Mixer:
        for name, value, needs in (
            ("peclet", self.peclet, "dispersion"),
            ("tanks", self.tanks, "tanks"),
        ):
            if value is None and self.residence == needs:
                raise refused(f'is missing: residence = "{needs}" needs it', name)
            if value is not None and self.residence != needs:
                raise refused(f'applies only to residence = "{needs}"', name)
        return self

    @model_validator(mode="after")
    def _ages(self) -> Mixer:
        if self.doubling_time is not None and self.follow_blend is False:
            raise refused("applies only to follow_blend = true", "doubling_time")
        return self


class Refill(Table):
    """Shaft drawn back to its start position, cylinders open to their tanks."""

    time: Annotated[float, Quantity(u.TIME, above="0 s")] = key(
        "Time the shaft takes back, at an even speed; the fill valves turn before and after.",
        "3 s",
    )


class Step(Table):
    """One step; one key, and through_refill beside a dispense."""

    dispense: Annotated[Amount | None, Quantity(u.TIME, u.VOLUME, u.COUNTS)] = key(
        "Shot, open to close command: a time, a liquid volume of both streams, or counts.",
        None,
    )
    dwell: Annotated[float | None, Quantity(u.TIME, above="0 s")] = key(
        "Pause with both shut-offs closed.", None
    )
    preload: Annotated[Amount | None, Quantity(u.TIME, u.PRESSURE)] = key(
        "Drive against closed shut-offs for a time, or until the resin cylinder reads a pressure.",
        None,
    )
    refill: Refill | None = key(
        "Shaft back to its start position, both cylinders filled from their tanks; needs "
        "resin.feed and hardener.feed.",
        None,
    )
    purge: Annotated[float | None, Quantity(u.VOLUME, above="0 mL")] = key(
        "Liquid volume of both streams dispensed to the cup; no shot.", None, examples=["30 mL"]
    )
    through_refill: OptionalDuration = key(
        "Beside a dispense: where the stroke is used up, shut, draw the shaft back in this time "
        "as in a refill, and go on with the same shot.",
        None,
        examples=["3 s"],
    )

    @model_validator(mode="after")
    def _one(self) -> Step:
        given = {name: value for name, value in self if value is not None}
        through = given.pop("through_refill", None)
        if len(given) != 1:
            raise refused('a step has exactly one key, for example { dispense = "4 s" }')
        if through is not None and self.dispense is None:
            raise refused("applies only beside a dispense", "through_refill")
        for name, value in given.items():
            if isinstance(value, Amount) and not value.value > 0:
                raise refused("must be above zero", name)
        return self


class Run(Table):
    """What the machine is asked to do."""

    steps: Annotated[list[Step], Field(min_length=1)] = key(
        "Steps of a cycle.", examples=[[{"dispense": "4 s"}, {"dwell": "20 s"}]]
    )
    repeat: Annotated[int, Number(at_least=1, at_most=10000, whole=True)] = key(
        "How often the steps are run through.", 1
    )
    start: Annotated[dict[str, tuple[float, float]] | Literal["periodic"] | None, StartText()] = (
        key("Pressures before the first step; periodic: as the repeated steps end.", "rest")
    )


class Trim(Table):
    """Limits a trim has to keep."""

    least_flow: Annotated[float, Number(above=0, at_most=1)] = key(
        "Least steady flow, relative to that of the case as written.", 0.7
    )
    max_back_pressure: Rating = key(
        "Most back pressure a throttle may add.", None, examples=["60 bar"]
    )


class Numerics(Table):
    """Accuracy of the computation."""

    rtol: Annotated[float, Number(at_least=1e-10, at_most=1e-2)] = key(
        "Relative error of a time step.", 1e-4
    )
    inertia: Annotated[bool, Switch()] = key(
        "Inertia of the liquid in the lines of Newtonian streams.", False
    )


class CaseFile(Table):
    """A case: a machine, its two liquids, and what it is asked to do."""

    title: Annotated[str | None, Text()] = key("What the case is about, in one line.", None)
    ratio: Ratio = key("Ratio and tolerance.")
    resin: Stream = key("The thick stream.")
    hardener: Stream = key("The thin stream.")
    shaft: Shafts = key("Shaft; `arrangement` says whether both pistons sit on one.")
    drive: Drive = key("What pushes the shaft.", None)
    mixer: Mixer = key("Static mixer.")
    run: Run = key("Steps.")
    part: Part = key("What is made of the shots; `kind` names it.", None)
    trim: Trim = key("Limits of a trim.", {})
    numerics: Numerics = key("Accuracy.", {})

    @model_validator(mode="before")
    @classmethod
    def _common(cls, data: Any) -> Any:
        """Take one shaft for both where the case does not say."""
        match data:
            case {"shaft": {"arrangement": _}}:
                return data
            case {"shaft": {**shaft}}:
                return {**data, "shaft": {"arrangement": "common", **shaft}}
        return data


def json_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a case file, for editors that complete TOML."""
    schema = CaseFile.model_json_schema(mode="validation")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **_without_null_defaults(schema),
    }


def _without_null_defaults(node: Any) -> Any:
    """Drop `default: null`: TOML has no null, a key left out is simply not there."""
    if isinstance(node, dict):
        return {
            name: _without_null_defaults(value)
            for name, value in node.items()
            if not (name == "default" and value is None)
        }
    return [_without_null_defaults(item) for item in node] if isinstance(node, list) else node
