"""Keys of a liquid's viscosity, its shift with temperature, and of its filler."""

from __future__ import annotations

import itertools
import math
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, model_validator

from evenfront import units as u
from evenfront.schema_base import (
    OptionalTemperature,
    PositiveNumber,
    Table,
    Viscosity,
    key,
)
from evenfront.values import (
    Number,
    Points,
    Quantity,
    refused,
)

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
