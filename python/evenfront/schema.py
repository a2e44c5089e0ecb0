"""The case file's keys, written once: names, meaning, units, bounds, defaults.

The models check a parsed file and give SI values (pressures gauge, temperatures kelvin);
`json_schema` prints the same for editors. Keys of streams, drives and the part stand in files of
their own, `schema_stream` and so on.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from evenfront import units as u
from evenfront.schema_base import (
    Length,
    OptionalDuration,
    OptionalTemperature,
    Rating,
    Table,
    key,
)
from evenfront.schema_drive import Drive, Shafts
from evenfront.schema_part import Part
from evenfront.schema_stream import Stream
from evenfront.values import (
    Amount,
    Choice,
    Number,
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
