"""Keys of the part that is made: a bead along a path, or a casting filled in order."""

from __future__ import annotations

import itertools
import math
from typing import Annotated, Any, Literal, Union

from pydantic import Field, model_validator

from evenfront import units as u
from evenfront.schema_base import Table, key
from evenfront.values import Number, OneOf, Points, Quantity, Text, refused

_Length = Annotated[float | None, Quantity(u.LENGTH, above="0 mm")]
_Area = Annotated[float | None, Quantity(u.AREA, above="0 mm^2")]


class _Path(OneOf):
    """A length, or points [x, y]."""

    def __init__(self) -> None:
        super().__init__(
            Quantity(u.LENGTH, above="0 mm"), Points(Quantity(u.LENGTH), Quantity(u.LENGTH))
        )

    def check(self, value: Any) -> Any:
        """Length [m], or points [m]."""
        if isinstance(value, (list, tuple)):
            return self.markers[1].check(value)
        return self.markers[0].check(value)


class _Part(Table):
    shots_per_part: Annotated[int, Number(at_least=1, at_most=10000, whole=True)] = key(
        "How many shots make a part.", 1
    )
    hardness: Annotated[
        tuple[tuple[float, float], ...] | None, Points(Quantity(u.FRACTION), Number())
    ] = key(
        "Your own measurements, cured pieces of known ratio error: [ratio error, hardness], error "
        "rising.",
        None,
        examples=[[["-20 %", 62], ["0 %", 85], ["20 %", 48]]],
    )
    hardness_scale: Annotated[str | None, Text()] = key(
        "Scale and reading time of these, as they shall be printed.",
        None,
        examples=["hardness D, 15 s"],
    )

    @model_validator(mode="after")
    def _hardness(self) -> _Part:
        errors = [error for error, _ in self.hardness or ()]
        for i, (low, high) in enumerate(itertools.pairwise(errors)):
            if not high > low:
                raise refused("must be above the ratio error before it", "hardness", i + 1, 0)
        if self.hardness_scale is not None and self.hardness is None:
            raise refused("applies only beside hardness", "hardness_scale")
        return self


class Bead(_Part):
    """A bead laid along a path."""

    kind: Literal["bead"] = key("What is made.")
    area: _Area = key(
        "Cross-section of the bead. Give this, or width and height.", None, examples=["20 mm^2"]
    )
    width: _Length = key("Width of a rectangular cross-section.", None, examples=["8 mm"])
    height: _Length = key("Height of it.", None, examples=["3 mm"])
    path: Annotated[float | tuple[tuple[float, float], ...], _Path()] = key(
        "Length of the path, or its points [x, y] from start to end.",
        examples=["1.2 m", [["0 mm", "0 mm"], ["300 mm", "0 mm"], ["300 mm", "150 mm"]]],
    )
    speed: Annotated[float | None, Quantity(u.SPEED, above="0 mm/s")] = key(
        "Speed of the nozzle along it, checked against the flow.", None, examples=["120 mm/s"]
    )

    @model_validator(mode="after")
    def _section(self) -> Bead:
        sides = (self.width is not None) + (self.height is not None)
        if self.area is not None and sides:
            raise refused("give either area, or width and height", "area")
        if self.area is None and sides < 2:
            missing = "height" if self.width is not None else "width" if sides else "area"
            raise refused("is missing: the bead's cross-section, area or width and height", missing)
        if not self.path_length > 0:
            raise refused("must be longer than nothing", "path")
        return self

    @property
    def section(self) -> float:
        """Cross-section [m^2]."""
        return (self.width or 0.0) * (self.height or 0.0) if self.area is None else self.area

    @property
    def path_length(self) -> float:
        """Length of the path [m]."""
        if isinstance(self.path, float):
            return self.path
        return sum(math.dist(a, b) for a, b in itertools.pairwise(self.path))

    @property
    def volume(self) -> float:
        """Liquid of a whole bead [m^3]."""
        return self.section * self.path_length


class Layer(Table):
    """A piece of a casting that is filled after the one before."""

    name: Annotated[str, Text()] = key("Name, for messages and pictures.", examples=["around coil"])
    volume: Annotated[float, Quantity(u.VOLUME, above="0 mL")] = key(
        "Volume of it.", examples=["15 mL"]
    )


class Casting(_Part):
    """A cavity filled in order, the first liquid lowest."""

    kind: Literal["casting"] = key("What is made.")
    layers: list[Layer] | None = key(
        "Pieces in the order in which they are filled. Give these, or a cavity.",
        None,
        examples=[[{"name": "below the coil", "volume": "12 mL"}]],
    )
    cavity: Annotated[float | None, Quantity(u.VOLUME, above="0 mL")] = key(
        "Volume of the whole cavity.", None, examples=["36 mL"]
    )
    height: _Length = key("Height of the cavity, filled evenly.", None, examples=["40 mm"])
    cross_section: _Area = key(
        "Cross-section of the cavity, in place of its height.", None, examples=["900 mm^2"]
    )

    @model_validator(mode="after")
    def _shape(self) -> Casting:
        if self.layers is not None and self.cavity is not None:
            raise refused("give either layers or cavity, not both", "cavity")
        if self.layers is None and self.cavity is None:
            raise refused("is missing: the volume of the cavity (or layers)", "cavity")
        if self.layers is not None:
            if not self.layers:
                raise refused("needs at least one layer", "layers")
            for name in ("height", "cross_section"):
                if getattr(self, name) is not None:
                    raise refused("applies only beside cavity", name)
        elif (self.height is None) == (self.cross_section is None):
            raise refused("give either height or cross_section beside cavity", "height")
        return self

    @property
    def volume(self) -> float:
        """Liquid of a whole casting [m^3]."""
        if self.layers is not None:
            return sum(layer.volume for layer in self.layers)
        return float(self.cavity or 0.0)

    @property
    def section(self) -> float | None:
        """Cross-section [m^2]; None for layers."""
        if self.height is not None:
            return self.volume / self.height
        return self.cross_section


Part = Annotated[Union[Bead, Casting, None], Field(discriminator="kind")]  # noqa: UP007 (holds a Field)
