"""Types of value a case file holds: quantities with units, numbers, words, switches.

Each checks what was written, gives the SI value, and knows its own JSON Schema.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from typing import Any, NamedTuple

from pydantic import GetCoreSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from evenfront import units as u
from evenfront.units import Kind

QUANTITY_PATTERN = (  # a number, then a unit, which may be 1/name
    r"^\s*[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?\s*(1\s*/)?[^\s0-9.,][^,]*$"
)


def refused(rule: str, *keys: str | int) -> PydanticCustomError:
    """Error for the value itself, or for the value at `keys` below it."""
    return PydanticCustomError("refused", "{rule}", {"rule": rule, "keys": keys})


class Amount(NamedTuple):
    """A quantity that may be of several kinds, such as a step's time or volume."""

    kind: Kind
    value: float  # in the kind's SI unit


class Marker(ABC):
    """Base of the value types below: one check, one JSON Schema."""

    @abstractmethod
    def check(self, value: Any) -> Any:
        """Value as the models keep it; raises what `refused` makes."""

    @abstractmethod
    def schema(self) -> dict[str, Any]:
        """JSON Schema of the value."""

    def _check(self, value: Any) -> Any:
        return None if value is None else self.check(value)  # a key left out

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Check by `check` alone, whatever the annotated type."""
        return core_schema.no_info_plain_validator_function(self._check)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: Any) -> dict[str, Any]:
        """Print as `schema` says."""
        return self.schema()


class Quantity(Marker):
    """Text with a unit of one of `kinds`; bounds are texts with units of the first kind.

    Gives the SI value, or an `Amount` where there are several kinds.
    """

    def __init__(
        self,
        *kinds: Kind,
        above: str | None = None,
        at_least: str | None = None,
        below: str | None = None,
        at_most: str | None = None,
        why: str = "",
    ) -> None:
        self.kinds = kinds
        self.bounds = [
            (word, text, passes)
            for word, text, passes in (
                ("above", above, float.__gt__),
                ("at least", at_least, float.__ge__),
                ("below", below, float.__lt__),
                ("at most", at_most, float.__le__),
            )
            if text is not None
        ]
        self.why = why

    def check(self, value: Any) -> float | Amount:
        """SI value of the text, or the rule it breaks."""
        if not isinstance(value, str):
            names = " or ".join(kind.name for kind in self.kinds)
            raise refused(
                f"write {names} in quotes with its unit, for example {u.examples(*self.kinds)}"
            )
        try:
            kind, number = u.parse(value, *self.kinds)
        except u.UnitError as reason:
            raise refused(str(reason)) from None
        if not all(
            passes(number, u.parse(text, *self.kinds)[1]) for _, text, passes in self.bounds
        ):
            raise refused(f"must be {self.rule()}{self.why}")
        return number if len(self.kinds) == 1 else Amount(kind, number)

    def rule(self) -> str:
        """Write the bounds in words."""
        return " and ".join(f"{word} {text}" for word, text, _ in self.bounds)

    def schema(self) -> dict[str, Any]:
        """JSON Schema of the value."""
        names = " or ".join(kind.name for kind in self.kinds)
        rule = f", {self.rule()}" if self.bounds else ""
        return {
            "type": "string",
            "pattern": QUANTITY_PATTERN,
            "description": f"Text with a unit: {names}{rule}.",
            "examples": [text for kind in self.kinds for text in kind.examples],
        }


class Points(Marker):
    """A list of at least `least` pairs, each made of what `first` and `second` check."""

    def __init__(self, first: Marker, second: Marker, *, least: int = 2) -> None:
        self.first, self.second, self.least = first, second, least

    def check(self, value: Any) -> tuple[tuple[Any, Any], ...]:
        """Both values of every pair, or what is wrong at which."""
        pairs = "one pair" if self.least == 1 else f"{self.least} pairs"
        rule = f"must be a list of at least {pairs}, for example [{self._pair()}, ...]"
        if not isinstance(value, (list, tuple)) or len(value) < self.least:
            raise refused(rule)
        found = []
        for i, pair in enumerate(value):
            if not isinstance(pair, (list, tuple)) or len(pair) != 2:
                raise refused(f"must be a pair, for example {self._pair()}", i)
            values = []
            for j, marker in enumerate((self.first, self.second)):
                try:
                    values.append(marker.check(pair[j]))
                except PydanticCustomError as reason:
                    raise refused(str(reason), i, j) from None
            found.append((values[0], values[1]))
        return tuple(found)

    def _pair(self) -> str:
        """Write a pair as an example."""
        texts = []
        for marker in (self.first, self.second):
            sample = marker.schema().get("examples", [0.5])[0]
            texts.append(f'"{sample}"' if isinstance(sample, str) else str(sample))
        return f"[{', '.join(texts)}]"

    def schema(self) -> dict[str, Any]:
        """JSON Schema of the value."""
        pair = {
            "type": "array",
            "prefixItems": [self.first.schema(), self.second.schema()],
            "minItems": 2,
            "maxItems": 2,
        }
        return {"type": "array", "items": pair, "minItems": self.least}


class OneOf(Marker):
    """A value that fits the first of several descriptions, or none."""

    def __init__(self, *markers: Marker) -> None:
        self.markers = markers

    def check(self, value: Any) -> Any:
        """Value by the first that takes it; else what the last says."""
        for marker in self.markers[:-1]:
            try:
                return marker.check(value)
            except PydanticCustomError:
                continue
        return self.markers[-1].check(value)

    def schema(self) -> dict[str, Any]:
        """JSON Schema of the value."""
        return {"anyOf": [marker.schema() for marker in self.markers]}


class Number(Marker):
    """A plain finite number (no text, no boolean) within bounds; whole if `whole`."""

    def __init__(
        self,
        *,
        above: float = -math.inf,
        at_least: float = -math.inf,
        at_most: float = math.inf,
        whole: bool = False,
    ) -> None:
        self.above, self.at_least, self.at_most, self.whole = above, at_least, at_most, whole

    def check(self, value: Any) -> float | int:
        """Return the number, or refuse with the rule it breaks."""
        fits = (
            isinstance(value, int if self.whole else (int, float))
            and not isinstance(value, bool)
            and math.isfinite(value)
            and value > self.above
            and self.at_least <= value <= self.at_most
        )
        if not fits:
            raise refused(f"must be {self.rule()}")
        return int(value) if self.whole else float(value)

    def rule(self) -> str:
        """Write the bounds in words."""
        words = "a whole number" if self.whole else "a number without quotes"
        parts = []
        if self.above > -math.inf:
            parts.append(f"above {self.above:g}")
        if self.at_least > -math.inf:
            parts.append(f"at least {self.at_least:g}")
        if self.at_most < math.inf:
            parts.append(f"at most {self.at_most:g}")
        return ", ".join([words, " and ".join(parts)]) if parts else words

    def schema(self) -> dict[str, Any]:
        """JSON Schema of the value."""
        schema: dict[str, Any] = {"type": "integer" if self.whole else "number"}
        for name, bound in (
            ("exclusiveMinimum", self.above),
            ("minimum", self.at_least),
            ("maximum", self.at_most),
        ):
            if math.isfinite(bound):
                schema[name] = bound
        return schema


class Choice(Marker):
    """One of a few words; `why` there are no others."""

    def __init__(self, *words: str, why: str = "") -> None:
        self.words, self.why = words, why

    def check(self, value: Any) -> str:
        """Return the word, or refuse with those there are."""
        if not isinstance(value, str) or value not in self.words:
            words = " or ".join(f'"{word}"' for word in self.words)
            raise refused(f"must be {words}{self.why}")
        return value

    def schema(self) -> dict[str, Any]:
        """JSON Schema of the value."""
        return {"type": "string", "enum": list(self.words)}


class Switch(Marker):
    """true or false."""

    def check(self, value: Any) -> bool:
        """Return the boolean, or refuse."""
        if not isinstance(value, bool):
            raise refused("must be true or false, without quotes")
        return value

    def schema(self) -> dict[str, Any]:
        """JSON Schema of the value."""
        return {"type": "boolean"}


class Text(Marker):
    """Free text on one line."""

    def check(self, value: Any) -> str:
        """Return the text, or refuse."""
        if not isinstance(value, str) or not value.strip() or "\n" in value:
            raise refused("must be text in quotes on one line, not empty")
        return value

    def schema(self) -> dict[str, Any]:
        """JSON Schema of the value."""
        return {"type": "string", "pattern": r"^[^\n]*\S[^\n]*$"}


class ToleranceText(Marker):
    """``"5 %"`` or ``"-3 %, +5 %"``; gives (low, high) as positive fractions."""

    RULE = 'must be a percentage above 0 % and below 100 %, for example "5 %" or "-3 %, +5 %"'

    def check(self, value: Any) -> tuple[float, float]:
        """Lower and upper tolerance, both positive [-]."""
        if not isinstance(value, str):
            raise refused(self.RULE)
        parts = [part.strip() for part in value.removeprefix("+-").removeprefix("±").split(",")]
        if len(parts) == 2 and not (parts[0].startswith("-") and parts[1].startswith("+")):
            raise refused(f"{self.RULE}; use a point, not a comma, within a number")
        try:
            low, high = (u.si(part, u.FRACTION) for part in (parts * 2)[: max(2, len(parts))])
        except ValueError:
            raise refused(self.RULE) from None
        low = -low if len(parts) == 2 else low
        if not (0 < low < 1 and 0 < high < 1):
            raise refused(self.RULE)
        return low, high

    def schema(self) -> dict[str, Any]:
        """JSON Schema of the value."""
        return {"type": "string", "pattern": "%", "examples": ["5 %", "-3 %, +5 %"]}


class StartText(Marker):
    """``"rest"``, ``"periodic"``, one pressure, or one per stream, each one or {cylinder, hose}.

    Gives None for rest, the word for periodic, else {stream: (cylinder, line)} [Pa].
    """

    pressure = Quantity(u.PRESSURE, at_least="-0.9 bar")

    def check(self, value: Any) -> dict[str, tuple[float, float]] | str | None:
        """Pressures of both streams, or what may be written."""
        if value in ("rest", "periodic"):
            return None if value == "rest" else "periodic"
        if isinstance(value, str):
            value = {"resin": value, "hardener": value}
        elif not isinstance(value, dict):
            raise refused(
                'must be "rest", "periodic", a pressure such as "7 bar", or a table of both streams'
            )
        self._keys(value, ("resin", "hardener"))
        return {stream: self._stream(stream, value[stream]) for stream in ("resin", "hardener")}

    def _stream(self, stream: str, value: Any) -> tuple[float, float]:
        if not isinstance(value, dict):
            value = {"cylinder": value, "hose": value}
            return (self._pressure(value["cylinder"], stream),) * 2
        self._keys(value, ("cylinder", "hose"), stream)
        cylinder, hose = (self._pressure(value[key], stream, key) for key in ("cylinder", "hose"))
        return cylinder, hose

    def _pressure(self, value: Any, *path: str) -> float:
        try:
            return float(self.pressure.check(value))  # type: ignore[arg-type]
        except PydanticCustomError as reason:
            raise refused(str(reason), *path) from None

    @staticmethod
    def _keys(table: dict[str, Any], names: tuple[str, str], *path: str) -> None:
        if set(table) != set(names):
            raise refused(f"must have the keys {names[0]} and {names[1]}, no others", *path)

    def schema(self) -> dict[str, Any]:
        """JSON Schema of the value."""
        pressure = self.pressure.schema()

        def table(names: tuple[str, str], value: dict[str, Any]) -> dict[str, Any]:
            return {
                "type": "object",
                "properties": dict.fromkeys(names, value),
                "required": list(names),
                "additionalProperties": False,
            }

        stream = {"anyOf": [pressure, table(("cylinder", "hose"), pressure)]}
        words = {"enum": ["rest", "periodic"]}
        return {"anyOf": [words, pressure, table(("resin", "hardener"), stream)]}
