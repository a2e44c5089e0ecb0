"""Options as text: quantities, numbers, ratios, tables."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

from evenfront import units as u
from evenfront.case import read_text
from evenfront.setup.tables import read_columns
from evenfront.units import Kind
from evenfront.values import Number, Quantity, ToleranceText


def quantity(kind: Kind, **bounds: str) -> Callable[[str], float]:
    """Reader of a quantity within bounds [SI]."""
    check = Quantity(kind, **bounds).check

    def read(text: str) -> float:
        value = check(text)
        assert isinstance(value, float)
        return value

    return read


def number(**bounds: Any) -> Callable[[str], float]:
    """Reader of a plain number within bounds."""
    marker = Number(**bounds)

    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            raise ValueError(f"must be {marker.rule()}") from None
        return float(marker.check(value))

    return read


def ratio_text(text: str) -> float:
    """``100:12`` or ``0.12``, hardener per resin."""
    parts = text.split(":")
    try:
        numbers = [float(part) for part in parts]
    except ValueError:
        numbers = []
    if len(numbers) not in (1, 2) or not all(0 < n < math.inf for n in numbers):
        raise ValueError('must be a ratio above zero, resin first, for example "100:12"')
    return numbers[0] if len(numbers) == 1 else numbers[1] / numbers[0]


def tolerance(text: str) -> float:
    """Read a tolerance of the ratio, the narrower side of it [-]."""
    return min(ToleranceText().check(text))


def one_of(words: tuple[str, ...]) -> Callable[[str], str]:
    """Reader of one of some words."""

    def read(text: str) -> str:
        if text not in words:
            raise ValueError(f"must be one of {', '.join(words)}")
        return text

    return read


def sheet(path: str) -> str:
    """Text of a file of comma-separated values."""
    return read_text(Path(path), path, "CSV")


def record_columns(**columns: Kind) -> Callable[[str], dict[str, Any]]:
    """Reader of columns of a file by name [SI]."""

    def read(path: str) -> dict[str, Any]:
        return read_columns(sheet(path), dict(columns))

    return read


def say(kind: Kind, meaning: str) -> str:
    """Help text with an example; argparse takes a percent sign doubled."""
    return f"{meaning}, such as {u.examples(kind)}".replace("%", "%%")


LENGTH = quantity(u.LENGTH, above="0 mm")
DENSITY = quantity(u.DENSITY, above="0 g/cm^3")
TEMPERATURE = quantity(u.TEMPERATURE, at_least="-100 degC", at_most="400 degC")
PRESSURE = quantity(u.PRESSURE, above="0 bar")
GAUGE = quantity(u.PRESSURE, above="-1 bar")
TIME = quantity(u.TIME, above="0 s")
FLOW = quantity(u.FLOW, above="0 mL/s")
VOLUME = quantity(u.VOLUME, above="0 mL")
SOME_VOLUME = quantity(u.VOLUME, at_least="0 mL")
SHARE = quantity(u.FRACTION, above="0 %", below="100 %")
COUNT = number(above=0)
