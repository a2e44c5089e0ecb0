"""What was assumed of a case, what is unusual in it, and what cannot be."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

Values = dict[str, Any]
"""Numbers under the field names of the core's own structs [SI]."""


@dataclass
class Notes:
    """Sentences about a case as they are found; problems as pairs of key path and rule."""

    assumptions: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    problems: list[tuple[str, str]] = field(default_factory=list)

    def outside(self, path: str, shown: str, low: str, high: str) -> None:
        """Warn of a value outside its usual range; an empty bound is none."""
        usual = f"{low} to {high}" if low and high else f"up to {high}" if high else f"from {low}"
        self.warnings.append(f"{path} = {shown} is outside the usual range, {usual}.")


def pick(table: Any, names: str) -> Values:
    """Attributes of a table by the names they share with the core's fields."""
    return {name: getattr(table, name) for name in names.split()}


def given(table: Any, names: str) -> Values:
    """Pick those that are not left out, zero or false; elsewhere the core's default stands."""
    return {name: value for name, value in pick(table, names).items() if value}


def with_rating(values: Values, rating: float | None) -> Values:
    """Add a rating where there is one."""
    return values if rating is None else {**values, "rating": rating}


def or_default(value: float | None, default: float) -> float:
    """Value, or the default where it is left out."""
    return default if value is None else value
