"""Keys of a throttle: its resistance, its needle, or its flow coefficient."""

from __future__ import annotations

import itertools
import math
from typing import Annotated, Literal

from pydantic import model_validator

from evenfront import units as u
from evenfront.schema_base import (
    FlowResistance,
    Length,
    Table,
    key,
)
from evenfront.units import Kind
from evenfront.values import (
    Amount,
    Choice,
    Number,
    OneOf,
    Points,
    Quantity,
    refused,
)


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
