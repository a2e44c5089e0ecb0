"""Catch weights: what was caught from both streams, read from a CSV file.

One row is one pair of cups, filled at the same time. Columns:

===================================== ============================================================
``resin_g``, ``hardener_g``           weights; net, or gross where a tare column is given
``tare_g``                            one empty cup, weighed once for both streams
``resin_tare_g``, ``hardener_tare_g`` each cup weighed empty; instead of ``tare_g``
``time_s``                            how long the pair ran into the cups
``position``                          shaft travel when the pair was caught, in any one unit
``shot``, ``increment``               for the start: cups 1, 2, 3 ... of one shot, one row each
``note``                              free text, not used
===================================== ============================================================

Rows without ``increment`` are the ratio catches. Lines that begin with # are remarks; they are kept
and printed. Every problem of a file is reported at once, each as one sentence.
"""

from __future__ import annotations

import csv
import difflib
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenfront.case import CaseError, read_text

Floats = NDArray[np.float64]

LEAST_PAIRS = 3
MOST_ROWS = 10_000
GRAM = 1e-3
NEEDED = ("resin_g", "hardener_g")
TARES = ("tare_g", "resin_tare_g", "hardener_tare_g")
KNOWN = (*NEEDED, *TARES, "time_s", "position", "shot", "increment", "note")
_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,2})?", re.ASCII)


_Row = tuple[int, list[str]]  # number of the line in the file, its cells


@dataclass(frozen=True)
class _Bounds:
    """What a column may hold, and the factor to SI."""

    words: str
    least: float
    most: float
    above: bool = False
    factor: float = 1.0

    def hold(self, value: float) -> bool:
        return self.least <= value <= self.most and not (self.above and value == self.least)


_WEIGHT = _Bounds("a weight from 0 to 100000 g", 0.0, 1e5, factor=GRAM)
_WEIGHT_ABOVE_ZERO = _Bounds("a weight above 0, to 100000 g", 0.0, 1e5, True, GRAM)
_TIME = _Bounds("a time above 0, to 86400 s", 0.0, 86400.0, True)
_POSITION = _Bounds("a number from -1e9 to 1e9", -1e9, 1e9)


class CatchError(CaseError):
    """Catch weights that cannot be used: ``file.csv: row 7, resin_g = "x": what is allowed``."""


@dataclass(frozen=True, eq=False)
class Pairs:
    """Cups filled from both streams at the same time, one entry a pair.

    Parameters
    ----------
    resin, hardener
        Weights as the scale showed them, cup included where there is a tare [kg].
    resin_tare, hardener_tare
        Empty cups [kg]; None: the weights are net.
    one_tare
        True where one weighing of an empty cup serves both streams.
    time
        How long each pair ran [s], or None.
    position
        Shaft travel at each pair [any one unit], or None.
    """

    resin: Floats
    hardener: Floats
    resin_tare: Floats | None = None
    hardener_tare: Floats | None = None
    one_tare: bool = False
    time: Floats | None = None
    position: Floats | None = None

    def __len__(self) -> int:
        """Give the number of pairs."""
        return int(self.resin.size)

    @property
    def net_resin(self) -> Floats:
        """Resin without its cup [kg]."""
        return self.resin if self.resin_tare is None else self.resin - self.resin_tare

    @property
    def net_hardener(self) -> Floats:
        """Hardener without its cup [kg]."""
        return self.hardener if self.hardener_tare is None else self.hardener - self.hardener_tare


@dataclass(frozen=True, eq=False)
class Catches:
    """Ratio catches, and shots caught in increments.

    Parameters
    ----------
    ratio
        Pairs for the ratio, at least three.
    shots
        By name, the successive pairs of one shot each, from its open command on.
    source
        Name used in messages: the file's name.
    remarks
        Lines of the file that begin with #, without it.
    """

    ratio: Pairs
    shots: dict[str, Pairs]
    source: str = "catches"
    remarks: tuple[str, ...] = ()

    @classmethod
    def from_weights(
        cls,
        resin: ArrayLike,
        hardener: ArrayLike,
        *,
        time: ArrayLike | None = None,
        position: ArrayLike | None = None,
    ) -> Catches:
        """Take net weights [kg], times [s] and positions of ratio catches from arrays."""
        columns = [np.atleast_1d(np.asarray(each, dtype=float)) for each in (resin, hardener)]
        extra = [
            None if each is None else np.atleast_1d(np.asarray(each, dtype=float))
            for each in (time, position)
        ]
        sizes = {each.shape for each in (*columns, *extra) if each is not None}
        if len(sizes) != 1 or columns[0].ndim != 1 or columns[0].size < LEAST_PAIRS:
            raise CatchError([f"catches: arrays must be equally long, at least {LEAST_PAIRS}"])
        for name, each in zip(("resin", "hardener", "time"), (*columns, extra[0]), strict=True):
            if each is not None and not (np.all(np.isfinite(each)) and np.all(each > 0)):
                raise CatchError([f"catches: {name} must be finite and above 0 everywhere"])
        return cls(Pairs(columns[0], columns[1], time=extra[0], position=extra[1]), {})


def load_catches(path: str | Path) -> Catches:
    """Read a file of catch weights.

    Raises
    ------
    CatchError
        With every problem of the file, each as one sentence.
    """
    path = Path(path)
    name = path.name or str(path)
    lines = _lines(path, name)
    remarks = tuple(line.lstrip()[1:].strip() for _, line in lines if _is_remark(line))
    rows = _rows([each for each in lines if not _is_remark(each[1])], name)
    return _Reader(name, rows).catches(remarks)


def _is_remark(line: str) -> bool:
    return line.lstrip().startswith("#")


def _lines(path: Path, name: str) -> list[tuple[int, str]]:
    """Lines that are not empty, with their numbers, or one sentence why there are none."""
    try:
        text = read_text(path, name, "CSV")
    except CaseError as error:
        raise CatchError(error.problems) from None
    if not text.strip():
        raise CatchError([f"{name}: is empty; it needs the columns {', '.join(NEEDED)}"])
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    return [(number, line) for number, line in enumerate(lines, start=1) if line.strip()]


def _rows(lines: Sequence[tuple[int, str]], name: str) -> list[_Row]:
    """Cells of each row; comma, semicolon or tab, whichever the header has."""
    if not lines:
        raise CatchError([f"{name}: has remarks only; it needs the columns {', '.join(NEEDED)}"])
    header = lines[0][1]
    separator = next((each for each in ("\t", ";") if each in header), ",")
    rows = []
    for number, line in lines:
        try:  # each line by itself: a cell never spans lines here
            cells = next(csv.reader(io.StringIO(line), delimiter=separator, strict=True))
        except csv.Error:
            raise CatchError(
                [f"{name}: row {number} is not CSV: check its quotation marks"]
            ) from None
        cells = [cell.strip() for cell in cells]
        if any(cells):
            rows.append((number, cells))
    if len(rows) > MOST_ROWS:
        raise CatchError([f"{name}: has {len(rows)} rows, at most {MOST_ROWS} are allowed"])
    return rows


class _Reader:
    """Checks the cells of one file and collects what is wrong."""

    def __init__(self, name: str, rows: Sequence[_Row]) -> None:
        self.name = name
        self.problems: list[str] = []
        (self.header_row, header), *self.rows = rows
        self.columns = self._columns(header)

    def catches(self, remarks: tuple[str, ...]) -> Catches:
        """Everything in the file, or every problem of it."""
        self._check_widths()
        self._stop()
        increments = [self._increment(number, cells) for number, cells in self.rows]
        ratio = [row for row, step in zip(self.rows, increments, strict=True) if step is None]
        shots: dict[str, list[tuple[int, int, list[str]]]] = {}
        for (number, cells), step in zip(self.rows, increments, strict=True):
            if step is not None:
                name = self._cell(cells, "shot") or "1"
                shots.setdefault(name, []).append((step, number, cells))
            elif self._cell(cells, "shot"):
                self._wrong(
                    number, "increment", "", "is missing: the number of the cup in its shot"
                )
        if len(ratio) < LEAST_PAIRS:
            self.problems.append(
                f"{self.name}: has {len(ratio)} ratio catches (rows without increment), at least "
                f"{LEAST_PAIRS} pairs are needed, 5 to 10 are usual"
            )
        pairs = self._pairs(ratio, "ratio catches", above=True)
        caught = {}
        for name, cups in shots.items():
            self._check_order(name, cups)
            rows = [(number, cells) for _, number, cells in sorted(cups, key=lambda cup: cup[0])]
            caught[name] = self._pairs(rows, f"shot {_short(name)}", above=False)
        self._stop()
        return Catches(pairs, caught, self.name, remarks)

    def _stop(self) -> None:
        if self.problems:
            raise CatchError(self.problems)

    def _wrong(self, row: int, column: str, value: str, rule: str) -> None:
        shown = f'{column} = "{_short(value)}"' if value else column
        self.problems.append(f"{self.name}: row {row}, {shown}: {rule}")

    def _columns(self, header: list[str]) -> dict[str, int]:
        """Place of each column, by its name; names are not case sensitive."""
        columns: dict[str, int] = {}
        for place, title in enumerate(header):
            column = title.casefold()
            if column in columns:
                self._wrong(self.header_row, "column", title, "stands there twice")
            elif column not in KNOWN:
                near = difflib.get_close_matches(column, KNOWN, n=1)
                hint = f'; did you mean "{near[0]}"?' if near else ""
                rule = f"is no column here; known are {', '.join(KNOWN)}{hint}"
                self._wrong(self.header_row, "column", title or f"number {place + 1}", rule)
            columns[column] = place
        for column in NEEDED:
            if column not in columns:
                self._wrong(
                    self.header_row, "column", column, "is missing: a weight in g for every row"
                )
        separate = [column for column in TARES[1:] if column in columns]
        if "tare_g" in columns and separate:
            self._wrong(self.header_row, "column", separate[0], "give it or tare_g, not both")
        elif len(separate) == 1:
            other = next(column for column in TARES[1:] if column not in columns)
            self._wrong(self.header_row, "column", other, "is missing beside the other tare")
        if "shot" in columns and "increment" not in columns:
            self._wrong(self.header_row, "column", "increment", "is missing beside shot")
        return columns

    def _check_widths(self) -> None:
        if not self.rows:
            self.problems.append(
                f"{self.name}: has no rows below its header (row {self.header_row})"
            )
        wanted = max(self.columns.values()) + 1
        for number, cells in self.rows:
            if len(cells) > wanted and any(cells[wanted:]):
                self.problems.append(
                    f"{self.name}: row {number} has {len(cells)} cells, the header has {wanted} "
                    "columns; write decimals with a point"
                )

    def _cell(self, cells: list[str], column: str) -> str:
        place = self.columns.get(column)
        return cells[place] if place is not None and place < len(cells) else ""

    def _increment(self, row: int, cells: list[str]) -> int | None:
        """Read the number of a cup in its shot; None for a ratio catch."""
        text = self._cell(cells, "increment")
        if not text:
            return None
        if re.fullmatch(r"[1-9][0-9]{0,3}", text, re.ASCII):
            return int(text)
        rule = "must be a whole number from 1 to 9999, or empty for a ratio catch"
        self._wrong(row, "increment", text, rule)
        return 0

    def _check_order(self, name: str, cups: list[tuple[int, int, list[str]]]) -> None:
        """Refuse a shot whose cups are not 1, 2, 3 ..., each once."""
        steps = sorted(step for step, _, _ in cups)
        if 0 not in steps and steps != list(range(1, len(steps) + 1)):
            self.problems.append(
                f"{self.name}: shot {_short(name)} has increments {_short(str(steps)[1:-1])}; they "
                "must be 1, 2, 3 ... without a gap, each once"
            )

    def _pairs(self, rows: list[_Row], group: str, above: bool) -> Pairs:
        """Read one group of rows; net weights must be `above` zero, or may be zero."""
        bare = not any(name in self.columns for name in TARES)
        bounds = _WEIGHT_ABOVE_ZERO if bare and above else _WEIGHT
        resin, hardener = (self._numbers(rows, name, group, bounds) for name in NEEDED)
        tares = [self._numbers(rows, name, group, _WEIGHT) for name in TARES]
        one_tare = tares[0] is not None
        pairs = Pairs(
            resin=np.empty(0) if resin is None else resin,
            hardener=np.empty(0) if hardener is None else hardener,
            resin_tare=tares[0] if one_tare else tares[1],
            hardener_tare=tares[0] if one_tare else tares[2],
            one_tare=one_tare,
            time=self._numbers(rows, "time_s", group, _TIME),
            position=self._numbers(rows, "position", group, _POSITION),
        )
        if not bare and not self.problems:
            self._check_tares(rows, pairs, above)
        return pairs

    def _check_tares(self, rows: list[_Row], pairs: Pairs, above: bool) -> None:
        for name, net in zip(NEEDED, (pairs.net_resin, pairs.net_hardener), strict=True):
            for (number, cells), weight in zip(rows, net, strict=True):
                if weight < 0 or (above and weight == 0):
                    rule = "must be above the cup's tare" if above else "is below the cup's tare"
                    self._wrong(number, name, self._cell(cells, name), rule)

    def _numbers(self, rows: list[_Row], column: str, group: str, bounds: _Bounds) -> Floats | None:
        """One column of a group [SI], or None where the group leaves it out."""
        texts = [self._cell(cells, column) for _, cells in rows]
        optional = column not in (*NEEDED, *TARES)
        if column not in self.columns or (optional and not any(texts)):
            return None
        values = []
        for (number, _), text in zip(rows, texts, strict=True):
            value, rule = _number(text)
            if not text and optional:
                rule = f"is missing; give it in every row of the {group} or in none"
            elif not rule and not bounds.hold(value):
                rule = "is out of range"
            if rule:
                self._wrong(number, column, text, f"{rule}; allowed is {bounds.words}")
            values.append(value * bounds.factor)
        return np.array(values, dtype=float)


def _number(text: str) -> tuple[float, str]:
    """Value of a cell, and the rule it breaks."""
    if not text:
        return 0.0, "is missing"
    if "," in text:
        return 0.0, f'use a point, not a comma, such as "{_short(text.replace(",", "."))}"'
    if not _NUMBER.fullmatch(text):
        return 0.0, "is no finite number"
    return float(text), ""


def _array(values: Floats | None) -> Floats:
    return np.empty(0) if values is None else values


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."
