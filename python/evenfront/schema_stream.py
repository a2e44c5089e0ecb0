"""Keys of one stream: its liquid, metering cylinder, line, throttle, shut-off and feed."""

from __future__ import annotations

import itertools
import math
from typing import Annotated, Union

from pydantic import Field, model_validator

from evenfront import materials
from evenfront import units as u
from evenfront.schema_base import (
    FlowResistance,
    Length,
    OptionalTemperature,
    PositiveNumber,
    Rating,
    Table,
    Temperature,
    Time,
    Volume,
    key,
)
from evenfront.schema_drive import OwnDrive
from evenfront.schema_material import (
    Bingham,
    CrossLaw,
    Filler,
    HerschelBulkley,
    Newtonian,
    PowerLaw,
)
from evenfront.schema_throttle import FlowCoefficientThrottle, NeedleThrottle, ResistanceThrottle
from evenfront.values import (
    Amount,
    Choice,
    Number,
    Points,
    Quantity,
    Switch,
    Text,
    refused,
)


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
