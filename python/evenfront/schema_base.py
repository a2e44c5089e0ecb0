"""What all tables of the case file are made of."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from evenfront import units as u
from evenfront.values import Number, Quantity


def key(description: str, default: Any = ..., **more: Any) -> Any:
    """Declare a key of the case file: its meaning, and its default as it would be written."""
    return Field(default=default, description=description, **more)


class Table(BaseModel):
    """A table of the case file; refuses unknown keys."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, validate_default=True, allow_inf_nan=False
    )


Length = Annotated[float, Quantity(u.LENGTH, above="0 mm")]
Time = Annotated[float, Quantity(u.TIME, at_least="0 s")]
OptionalDuration = Annotated[float | None, Quantity(u.TIME, above="0 s")]
Force = Annotated[float, Quantity(u.FORCE, above="0 N")]
Volume = Annotated[float, Quantity(u.VOLUME, at_least="0 mL")]
Rating = Annotated[float | None, Quantity(u.PRESSURE, above="0 bar")]
Temperature = Annotated[float, Quantity(u.TEMPERATURE, at_least="-100 degC", at_most="400 degC")]
OptionalTemperature = Annotated[
    float | None, Quantity(u.TEMPERATURE, at_least="-100 degC", at_most="400 degC")
]
FlowResistance = Annotated[float, Quantity(u.RESISTANCE, above="0 bar*s/mL")]
Viscosity = Annotated[float, Quantity(u.VISCOSITY, above="0 Pa*s")]
PositiveNumber = Annotated[float, Number(above=0)]
