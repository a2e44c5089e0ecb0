"""Where a run's liquid ends up: on a bead or in a casting, with its soft and brittle places.

`production` follows the run to the outlet, `travel` a lead inside the mixer; `part_map` lays what
left onto what is made. All values are SI.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any, Literal

import numpy as np

from evenfront import _core
from evenfront import units as u
from evenfront.production import Production, ShotOutlet, production
from evenfront.run import Run
from evenfront.schema_part import Bead, Casting
from evenfront.travel import INSTANTS, LENGTHS, Travel, TravelRow, travel

__all__ = [
    "INSTANTS",
    "LENGTHS",
    "PartMap",
    "Piece",
    "Production",
    "ShotOutlet",
    "Stretch",
    "Travel",
    "TravelRow",
    "Verdict",
    "hardness",
    "part_map",
    "production",
    "travel",
]

Verdict = Literal["ok", "soft", "brittle"]

SPEED_MISMATCH = 0.05
"""Bead laid by speed may differ from the flow by so much before it is said [-]; ours."""
VOLUME_MISMATCH = 0.02
"""Shots may differ from the part's volume by so much before it is said [-]; ours."""


@dataclass(frozen=True)
class Piece:
    """A piece of a part, of about the smallest volume that matters.

    Parameters
    ----------
    part
        Which part, counted from 0.
    name
        Layer, or "bead", or "casting".
    start, end
        Where it lies [m]: along the bead's path, or above the cavity's floor; None for layers.
    volume_start, volume_end
        Where it lies in the part's own liquid, in the order it was dispensed [m^3].
    error
        Ratio error of its liquid taken together [-], capped to +-1.
    verdict
        Soft: more hardener than tolerated; brittle: less.
    hardness
        By the case's table; None where there is no table, or the error lies outside it.
    """

    part: int
    name: str
    start: float | None
    end: float | None
    volume_start: float
    volume_end: float
    error: float
    verdict: Verdict
    hardness: float | None

    @property
    def volume(self) -> float:
        """Volume [m^3]."""
        return self.volume_end - self.volume_start


@dataclass(frozen=True)
class Stretch:
    """Neighbouring pieces of one verdict (and, in a casting of layers, of one layer).

    Parameters
    ----------
    pieces
        In order, at least one.
    """

    pieces: tuple[Piece, ...]

    @property
    def verdict(self) -> Verdict:
        """That of all of them."""
        return self.pieces[0].verdict

    @property
    def name(self) -> str:
        """Layer, or "bead", or "casting"."""
        return self.pieces[0].name

    @property
    def volume(self) -> float:
        """Volume [m^3]."""
        return self.pieces[-1].volume_end - self.pieces[0].volume_start

    @property
    def worst(self) -> Piece:
        """Piece whose ratio error is farthest from zero."""
        return max(self.pieces, key=lambda piece: abs(piece.error))


@dataclass(frozen=True)
class PartMap:
    """Where a run's liquid ends up, part after part.

    Parameters
    ----------
    part
        What is made, as the case says.
    pieces
        Of all parts, in the order of dispensing.
    shots
        Shots of each part.
    warnings
        One sentence each.
    """

    part: Bead | Casting
    pieces: tuple[Piece, ...]
    shots: tuple[tuple[int, ...], ...]
    warnings: tuple[str, ...]

    @property
    def parts(self) -> int:
        """How many parts were made."""
        return len(self.shots)

    def of(self, part: int) -> tuple[Piece, ...]:
        """Pieces of one part, counted from 0, or from the last with -1."""
        return self._by_part[part]

    @cached_property
    def _by_part(self) -> list[tuple[Piece, ...]]:
        groups: list[list[Piece]] = [[] for _ in self.shots]
        for piece in self.pieces:
            groups[piece.part].append(piece)
        return [tuple(group) for group in groups]

    def stretches(self, part: int) -> list[Stretch]:
        """Pieces of one part, neighbours of one verdict and name together."""
        groups: list[list[Piece]] = []
        for piece in self.of(part):
            last = groups[-1][-1] if groups else None
            if last and (last.verdict, last.name) == (piece.verdict, piece.name):
                groups[-1].append(piece)
            else:
                groups.append([piece])
        return [Stretch(tuple(group)) for group in groups]

    def volume(self, part: int, verdict: Verdict) -> float:
        """Volume of one part that has a verdict [m^3]."""
        return sum(piece.volume for piece in self.of(part) if piece.verdict == verdict)

    def worst(self) -> int:
        """Part with the largest off-ratio volume, the first of several.

        Raises
        ------
        LookupError
            If no part was made.
        """
        if not self.parts:
            raise LookupError("the run made no part")
        return max(range(self.parts), key=lambda i: (-self.volume(i, "ok"), -i))


def part_map(run: Run, production: Production) -> PartMap:
    """Lay what left the outlet onto the case's bead or into its casting.

    Parameters
    ----------
    run
        What was done; its case says what is made.
    production
        What left, see `production`.

    Returns
    -------
    Pieces of every part. Liquid beyond the part's volume, and what leaves between shots, is not in
    it; a part that gets too little ends early.

    Raises
    ------
    LookupError
        If the case does not say what is made.
    """
    part = run.case.part
    if part is None:
        raise LookupError("the case has no table part, so nothing is known of what is made")
    shots = production.shots
    groups = [shots[i : i + part.shots_per_part] for i in range(0, len(shots), part.shots_per_part)]
    whole = [group for group in groups if len(group) == part.shots_per_part]
    pieces: list[Piece] = []
    for number, group in enumerate(whole):
        pieces += _pieces(number, part, production, group)
    numbers = tuple(tuple(shot.shot for shot in group) for group in whole)
    return PartMap(part, tuple(pieces), numbers, tuple(_map_warnings(run, part, whole, pieces)))


def _pieces(
    number: int, part: Bead | Casting, production: Production, group: Sequence[ShotOutlet]
) -> list[Piece]:
    """Pieces of one part; its liquid is that of its shots, without what leaves between them."""
    edges, hardener = np.zeros(1), np.zeros(1)
    for shot in group:
        inside = production.window(shot.start, shot.end)
        edges = np.concatenate([edges, edges[-1] + inside.volume[1:]])
        hardener = np.concatenate([hardener, hardener[-1] + inside.hardener[1:]])
    resolve = production.target.resolve * float(edges[-1]) / len(group)
    pieces = []
    for name, start, end in _places(part, min(part.volume, float(edges[-1]))):
        count = max(1, math.ceil((end - start) / resolve * (1.0 - 1e-9)))
        cuts = np.linspace(start, end, count + 1)
        cut = _core.Composition(
            volume=cuts, hardener=np.interp(cuts, edges, hardener), before=0.0, after=0.0
        )
        for low, high, error in zip(
            cuts, cuts[1:], _core.ratio_error(cut, production.target.ratio), strict=False
        ):
            pieces.append(_piece(number, part, name, (low, high), float(error), production.target))
    return pieces


def _places(part: Bead | Casting, available: float) -> Iterator[tuple[str, float, float]]:
    """Name and volumes between which each place lies, as far as there is liquid [m^3]."""
    if isinstance(part, Bead) or part.layers is None:
        yield part.kind, 0.0, available
        return
    start = 0.0
    for layer in part.layers:
        end = min(start + layer.volume, available)
        if end > start * (1.0 + 1e-12):
            yield layer.name, start, end
        start = end


def _piece(
    number: int,
    part: Bead | Casting,
    name: str,
    volumes: tuple[float, float],
    error: float,
    target: _core.Target,
) -> Piece:
    low, high = (float(volume) for volume in volumes)
    verdict: Verdict = "ok"
    if error > target.tolerance_high:
        verdict = "soft"
    elif error < -target.tolerance_low:
        verdict = "brittle"
    section = part.section
    return Piece(
        part=number,
        name=name,
        start=low / section if section else None,
        end=high / section if section else None,
        volume_start=low,
        volume_end=high,
        error=error,
        verdict=verdict,
        hardness=hardness(part, error),
    )


def hardness(part: Bead | Casting, error: float) -> float | None:
    """Hardness at a ratio error, by the case's own table.

    Parameters
    ----------
    part
        What is made, with its table.
    error
        Ratio error [-].

    Returns
    -------
    On the table's scale; None where there is no table, or outside it. Between its points a cubic
    that rises and falls only where they do (Fritsch and Butland).
    """
    table = part.hardness
    if table is None or not table[0][0] <= error <= table[-1][0]:
        return None
    return float(_curve(table)(error))


@lru_cache(maxsize=8)
def _curve(table: tuple[tuple[float, float], ...]) -> Callable[[float], Any]:
    """Monotone cubic through points of a table."""
    from scipy.interpolate import PchipInterpolator

    errors, values = zip(*table, strict=True)
    curve: Callable[[float], Any] = PchipInterpolator(errors, values)
    return curve


def _map_warnings(
    run: Run, part: Bead | Casting, groups: Sequence[Sequence[ShotOutlet]], pieces: Sequence[Piece]
) -> Iterator[str]:
    if not groups:
        yield "no part was made: too few complete shots reach the outlet"
        return
    for number, group in enumerate(groups):
        given = sum(shot.end - shot.start for shot in group)
        if abs(given / part.volume - 1.0) > VOLUME_MISMATCH:
            word = "more" if given > part.volume else "less"
            yield (
                f"part {number + 1} gets {u.show(given, u.VOLUME)}, "
                f"{u.show(abs(given - part.volume), u.VOLUME)} {word} than the "
                f"{u.show(part.volume, u.VOLUME)} it holds"
            )
            break  # the others are alike
    if isinstance(part, Bead) and part.speed is not None and run.steady.flows:
        laid = part.section * part.speed
        flow = run.steady.resin.flow + run.steady.hardener.flow
        if abs(laid / flow - 1.0) > SPEED_MISMATCH:
            yield (
                f"the bead at {u.show(part.speed, u.SPEED)} needs {u.show(laid, u.FLOW)}, the "
                f"machine gives {u.show(flow, u.FLOW)}: its cross-section will not be as stated"
            )
    if part.hardness is not None:
        low, high = part.hardness[0][0], part.hardness[-1][0]
        outside = [piece.error for piece in pieces if piece.hardness is None]
        if outside:
            worst = max(outside, key=abs)
            yield (
                f"hardness is measured from {100 * low:+.3g} % to {100 * high:+.3g} % ratio error; "
                f"pieces at up to {100 * worst:+.3g} % have none"
            )
