"""What a calculation found: a verdict, named values with units, cautions."""

from __future__ import annotations

import html
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from evenfront import units as u
from evenfront.units import Kind


@dataclass(frozen=True)
class Value:
    """One named value.

    Parameters
    ----------
    key
        Name in `Finding.to_dict`, without unit.
    label
        Name people read.
    value
        In the SI unit of `kind` [gauge Pa, K, ...]; NaN where there is none.
    kind
        What it is; None for a plain number.
    text
        What people read in place of the number, such as ``"100:12"``.
    listed
        Whether it stands among what people read; `Finding.to_dict` has all.
    """

    key: str
    label: str
    value: float
    kind: Kind | None = None
    text: str = ""
    listed: bool = True

    @property
    def shown(self) -> str:
        """Number and units as people read them."""
        if self.text:
            return self.text
        if not math.isfinite(self.value):
            return "-" if math.isnan(self.value) else "no limit"
        if self.kind is None:
            return u.digits(self.value, 4)
        return u.show(self.value, self.kind)

    @property
    def suffixed(self) -> tuple[str, float | None]:
        """Key with its unit, and the value in it; None where it is not finite."""
        number = self.value
        unit = "" if self.kind is None else self.kind.shown[0]
        if self.kind is not None and math.isfinite(number):
            number = u.convert(number, self.kind, unit)
        return self.key + _suffix(unit), float(number) if math.isfinite(number) else None


def _suffix(unit: str) -> str:
    """Write a unit as the end of a key: ``"mL/s"`` gives ``"_mL_per_s"``."""
    if not unit:
        return ""
    words = unit.replace("%", "percent").replace("1/", "per_").replace("/", "_per_")
    return "_" + re.sub(r"[\^*]", "", words)


@dataclass(frozen=True)
class Record:
    """Values that belong to one thing of several, such as one zone."""

    name: str
    values: tuple[Value, ...]

    def to_dict(self) -> dict[str, Any]:
        """Name and values, units in the keys."""
        return {"name": self.name, **dict(value.suffixed for value in self.values)}


@dataclass(frozen=True)
class Finding:
    """Answer to one question: prints as its verdict, then values, notes and cautions.

    Parameters
    ----------
    title
        What was asked.
    good
        False where the answer is "no".
    verdict
        One sentence.
    values
        Named values; ``finding["key"]`` gives one in SI.
    records
        A table: the same values of several things.
    notes
        What was assumed, one sentence each.
    cautions
        What to mind at the machine.
    """

    title: str
    good: bool
    verdict: str
    values: tuple[Value, ...] = ()
    records: tuple[Record, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    def __getitem__(self, key: str) -> float:
        """Value in SI by its key without unit.

        Raises
        ------
        KeyError
            If there is none of that name.
        """
        for value in self.values:
            if value.key == key:
                return value.value
        raise KeyError(key)

    def to_dict(self) -> dict[str, Any]:
        """Everything as plain values, units in the keys; None is infinite or absent."""
        return {
            "title": self.title,
            "good": self.good,
            "verdict": self.verdict,
            **dict(value.suffixed for value in self.values),
            **({"table": [record.to_dict() for record in self.records]} if self.records else {}),
            "notes": list(self.notes),
            "cautions": list(self.cautions),
        }

    def __str__(self) -> str:
        """Verdict, values, table, notes and cautions as lines of text."""
        listed = [value for value in self.values if value.listed]
        width = max((len(value.label) for value in listed), default=0)
        lines = [f"{self.title}: {self.verdict}"]
        lines += [f"  {value.label:<{width}}  {value.shown}" for value in listed]
        lines += self._table_lines()
        lines += [f"  Note: {note}" for note in self.notes]
        lines += [f"  Caution: {caution}" for caution in self.cautions]
        return "\n".join(lines)

    def __repr__(self) -> str:
        """Text as printed."""
        return str(self)

    def _cells(self) -> list[list[str]]:
        head = ["", *(value.label for value in self.records[0].values)]
        return [head, *([r.name, *(value.shown for value in r.values)] for r in self.records)]

    def _table_lines(self) -> list[str]:
        if not self.records:
            return []
        cells = self._cells()
        widths = [max(len(row[i]) for row in cells) for i in range(len(cells[0]))]
        return [
            "  " + "  ".join(f"{cell:<{w}}" for cell, w in zip(row, widths, strict=True)).rstrip()
            for row in cells
        ]

    def _repr_html_(self) -> str:
        """Verdict with its tables, for notebooks."""

        def row(cells: list[str]) -> str:
            return "<tr>" + "".join(f"<td>{html.escape(cell)}</td>" for cell in cells) + "</tr>"

        parts = [f"<p><b>{html.escape(self.title)}:</b> {html.escape(self.verdict)}</p>"]
        for cells in (
            [[v.label, v.shown] for v in self.values if v.listed],
            self.records and self._cells(),
        ):
            if cells:
                parts.append("<table>" + "".join(map(row, cells)) + "</table>")
        for word, sentences in (("Note", self.notes), ("Caution", self.cautions)):
            parts += [f"<p>{word}: {html.escape(sentence)}</p>" for sentence in sentences]
        return "".join(parts)


def ratio_value(key: str, label: str, ratio: float) -> Value:
    """Ratio as people write it, ``100:x`` and ``x:1``."""
    text = f"100:{u.digits(100 * ratio, 4)} ({u.digits(1 / ratio, 4)}:1)"
    return Value(key, label, ratio, None, text)


def values_of(rows: Mapping[str, tuple[str, float, Kind | None]]) -> tuple[Value, ...]:
    """Values from ``{key: (label, value, kind)}``."""
    return tuple(Value(key, *row) for key, row in rows.items())
