"""Pictures of the page that explains, as SVG that takes the page's inks.

Drawn for a phone: 360 units wide, text of 12. Too much hardener is hatched one way and labelled
soft, too little the other way and labelled brittle, so that nothing depends on colour. Every
picture has a title and a description.
"""

from __future__ import annotations

import itertools
import math
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from markupsafe import Markup

from evenfront import _core, svg
from evenfront import units as u
from evenfront import words as w
from evenfront.run import ML
from evenfront.schema_part import Bead

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evenfront.made import Made
    from evenfront.part import Production, Stretch

    Floats = NDArray[np.float64]

_LABELLED = 4  # stretches with a label, the largest
_ROWS = 4  # runs a straight bead is folded into
_NAME = 13  # characters of a layer's name in a line


# --- the part --------------------------------------------------------------------------------


def part_picture(made: Made, name: str = "part", *, in_length: bool = True) -> Markup:
    """Bead or casting with what is soft or brittle marked.

    Parameters
    ----------
    made
        What is made; its part is drawn.
    name
        Unique on the page.
    in_length
        Whether places along a bead read in length; else in dispensed volume.
    """
    part = made.map.part
    if isinstance(part, Bead):
        body, height = _bead(made, part, name, in_length)
        what = "The bead from its start to its end"
    else:
        body, height = _casting(made, name)
        what = "The casting from its floor to its top"
    marked = [s for s in made.stretches if s.verdict != "ok"]
    told = "; ".join(f"{s.verdict}, {w.volume(s.volume)}, {_where(s, in_length)}" for s in marked)
    return svg.picture(name, height, what, told or "All of it is on ratio.", body)


def _where(stretch: Stretch, in_length: bool) -> str:
    first, last = stretch.pieces[0], stretch.pieces[-1]
    if in_length and first.start is not None and last.end is not None:
        return f"{u.digits(first.start * 1e3)} to {u.digits(last.end * 1e3)} mm"
    if in_length and first.start is None:
        return f"in {w.plain(stretch.name)}"
    return f"{w.ml(first.volume_start)} to {w.ml(last.volume_end)} mL"


def _largest(made: Made) -> list[Stretch]:
    """Stretches off ratio that get a label, in order along the part."""
    off = [s for s in made.stretches if s.verdict != "ok"]
    picked = sorted(off, key=lambda s: -s.volume)[:_LABELLED]
    return [s for s in off if s in picked]


def _bead(made: Made, part: Bead, name: str, in_length: bool) -> tuple[list[Markup], float]:
    """Path to scale, or a straight bead folded like lines of text."""
    given = None if isinstance(part.path, float) else part.path
    points, height = _folded() if given is None else _scaled(given)
    track = _Track(points)
    total = part.volume
    whole = svg.route(points)
    width = 16.0 if given is None else 11.0
    body = [
        svg.path(whole, "bead-edge", f"stroke-width:{width + 2.5:g}"),
        svg.path(whole, "bead", f"stroke-width:{width:g}"),
    ]
    for s in made.stretches:
        if s.verdict != "ok":
            ends = (s.pieces[0].volume_start / total, s.pieces[-1].volume_end / total)
            style = f"stroke-width:{width:g};stroke:{svg.hatch(name, s.verdict)}"
            body.append(svg.path(svg.route(track.between(*ends)), "laid", style))
    place = _Places(track, width, height)
    for stretch in _largest(made):
        middle = (stretch.pieces[0].volume_start + stretch.pieces[-1].volume_end) / 2.0 / total
        words = f"{stretch.verdict} {w.ml(stretch.volume)} mL"
        body.append(svg.text(*place.beside(middle, words), words, "middle", "label"))
    reach = u.show(part.path_length, u.LENGTH) if in_length else w.volume(made.total)
    for share, words in ((0.0, "start"), (1.0, f"end, {reach}")):
        body.append(svg.text(*place.beside(share, words), words, "middle", "note halo"))
    return body, height


class _Places:
    """Finds room for words beside a track, clear of it, of other words and of the edges."""

    def __init__(self, track: _Track, width: float, height: float) -> None:
        self.spots = [track.at(i / 200.0) for i in range(201)]
        self.track, self.width, self.height = track, width, height
        self.taken: list[tuple[float, float, float]] = []

    def beside(self, share: float, words: str) -> tuple[float, float]:
        """Middle and foot of words that belong to a place along the track."""
        x, y = self.track.at(share)
        half = 3.5 * len(words)  # a letter is some 7 wide
        gap = self.width / 2.0 + 5.0
        tries = [
            (min(max(x + across, half + 2.0), svg.WIDTH - half - 2.0), y + down)
            for down in (-gap, gap + 9.0, 4.0, -gap - 13.0, gap + 22.0)
            for across in ((0.0,) if abs(down) > gap / 2.0 else (gap + half, -gap - half))
        ]
        best = min(tries, key=lambda at: self._crowded(at[0], at[1], half))
        self.taken.append((*best, half))
        return best

    def _crowded(self, x: float, y: float, half: float) -> float:
        """How much words with their foot at y would hide."""
        on_track = sum(
            abs(a - x) < half + self.width / 2.0 and abs(b - y + 4.0) < 5.0 + self.width / 2.0
            for a, b in self.spots
        )
        on_words = sum(abs(a - x) < half + h + 4.0 and abs(b - y) < 13.0 for a, b, h in self.taken)
        outside = y < 10.0 or y > self.height - 2.0
        return on_track + 100.0 * on_words + 50.0 * outside


def _folded() -> tuple[list[tuple[float, float]], float]:
    """Fold a straight bead into rows, each begun where the one before ended."""
    left, right, pitch = 18.0, svg.WIDTH - 18.0, 46.0
    points = []
    for row in range(_ROWS):
        y = 34.0 + pitch * row
        points += [(left, y), (right, y)] if row % 2 == 0 else [(right, y), (left, y)]
    return points, 34.0 + pitch * (_ROWS - 1) + 32.0


def _scaled(path: Sequence[tuple[float, float]]) -> tuple[list[tuple[float, float]], float]:
    """Path in the picture, y upwards as on a drawing."""
    xs, ys = zip(*path, strict=True)
    across, up = max(xs) - min(xs), max(ys) - min(ys)
    scale = min((svg.WIDTH - 60.0) / across if across else math.inf, 190.0 / up if up else math.inf)
    left = (svg.WIDTH - across * scale) / 2.0
    points = [(left + (x - min(xs)) * scale, 36.0 + (max(ys) - y) * scale) for x, y in path]
    return points, 36.0 + up * scale + 36.0


class _Track:
    """Places along a line by their share of its length."""

    def __init__(self, points: Sequence[tuple[float, float]]) -> None:
        self.points = list(points)
        steps = [math.dist(a, b) for a, b in itertools.pairwise(points)]
        self.at_point = np.concatenate([[0.0], np.cumsum(steps)]) / sum(steps)

    def at(self, share: float) -> tuple[float, float]:
        """Point at a share of the length."""
        xs, ys = zip(*self.points, strict=True)
        return (
            float(np.interp(share, self.at_point, xs)),
            float(np.interp(share, self.at_point, ys)),
        )

    def between(self, start: float, end: float) -> list[tuple[float, float]]:
        """Points of the line from one share to another, corners kept."""
        inside = [
            point
            for point, share in zip(self.points, self.at_point, strict=True)
            if start < share < end
        ]
        return [self.at(start), *inside, self.at(end)]


def _casting(made: Made, name: str) -> tuple[list[Markup], float]:
    """Cavity in section, filled from its floor; layers as high as their volume."""
    left, right, floor, tall = 104.0, 238.0, 226.0, 200.0
    total = made.map.part.volume

    def y(volume: float) -> float:
        return floor - tall * volume / total

    body = []
    for s in made.stretches:
        top, bottom = y(s.pieces[-1].volume_end), y(s.pieces[0].volume_start)
        style = f"fill:{svg.hatch(name, s.verdict)}" if s.verdict != "ok" else ""
        body.append(svg.rect(left, top, right - left, bottom - top, "fill", style))
    body.append(svg.line([(left, 16.0), (left, floor), (right, floor), (right, 16.0)], "wall"))
    for layer, (low, high) in _layers(made).items():
        if high < total * (1.0 - 1e-9):
            body.append(svg.line([(left, y(high)), (right, y(high))], "thin"))
        lines = textwrap.wrap(w.plain(layer), _NAME)[:2]
        for i, words in enumerate(lines):
            at = (y(low) + y(high)) / 2.0 + 4.0 + 13.0 * (i - (len(lines) - 1) / 2.0)
            body.append(svg.text(left - 8.0, at, words, "end", "note"))
    below = floor + 6.0
    for s in _largest(made):
        at = (y(s.pieces[0].volume_start) + y(s.pieces[-1].volume_end)) / 2.0
        place = min(at + 4.0, below - 14.0)
        below = place
        body.append(svg.line([(right, at), (right + 8.0, place - 4.0)], "thin"))
        body.append(
            svg.text(right + 11.0, place, f"{s.verdict} {w.ml(s.volume)} mL", "start", "label")
        )
    return body, floor + 14.0


def _layers(made: Made) -> dict[str, tuple[float, float]]:
    """Volumes between which each named layer lies [m^3]; none for a plain cavity."""
    layers = getattr(made.map.part, "layers", None) or []
    ends = itertools.accumulate((layer.volume for layer in layers), initial=0.0)
    bounds = itertools.pairwise(ends)
    return {layer.name: between for layer, between in zip(layers, bounds, strict=True)}


# --- curves ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Plane:
    """Axes of a curve: data to picture."""

    left: float
    right: float
    top: float
    bottom: float
    x: tuple[float, float]
    y: tuple[float, float]

    def at(self, x: float, y: float) -> tuple[float, float]:
        low, high = self.y
        y = min(max(y, low), high)
        return (
            self.left + (self.right - self.left) * (x - self.x[0]) / (self.x[1] - self.x[0]),
            self.bottom - (self.bottom - self.top) * (y - low) / (high - low),
        )


def outlet_picture(
    curves: Sequence[tuple[str, Production, float, float]],
    name: str,
    title: str,
    marks: Sequence[tuple[float, str]] = (),
) -> Markup:
    """Ratio error at the outlet against liquid dispensed, tolerance band and soft zones marked.

    Parameters
    ----------
    curves
        Name, what left, and between which volumes of it to draw [m^3]; zones of the first.
    name
        Unique on the page.
    title
        What it shows.
    marks
        Upright lines [m^3 from the start] with a word each.
    """
    target = curves[0][1].target
    drawn = [(label, *_curve(made, start, end)) for label, made, start, end in curves]
    span = max(float(edges[-1]) for _, edges, _ in drawn)
    low = min(-2.0 * target.tolerance_low, *(float(e.min(initial=0.0)) for *_, e in drawn))
    high = max(2.0 * target.tolerance_high, *(float(e.max(initial=0.0)) for *_, e in drawn))
    margin = 0.08 * (high - low)
    head = 18.0 if len(drawn) > 1 else 0.0
    plane = _Plane(
        40.0,
        svg.WIDTH - 10.0,
        26.0 + head,
        186.0 + head,
        (0.0, span),
        (low - margin, high + margin),
    )
    body = [*_frame(plane, target)]
    for x, word in marks:
        at = plane.at(x / ML, 0.0)[0]
        body.append(svg.line([(at, plane.top), (at, plane.bottom)], "thin dashed"))
        body.append(svg.text(at + 3.0, plane.top + 11.0, word, "start", "note"))
    _, edges, errors = drawn[0]
    body += _zones(plane, edges, errors, target, name)
    for i, (label, edges, errors) in reversed(list(enumerate(drawn))):
        kind = ("curve", "curve dashed strong")[i]
        body.append(svg.line(_stairs(plane, edges, errors), kind))
        x = plane.left + 130.0 * i
        if len(drawn) > 1:
            body.append(svg.line([(x, 10.0), (x + 22.0, 10.0)], kind))
            body.append(svg.text(x + 27.0, 14.0, label, "start", "note"))
    worst = max(drawn[0][2], key=abs, default=0.0)
    told = f"Farthest off: {w.percent(float(worst), sign=True)}."
    return svg.picture(name, plane.bottom + 36.0, title, told, body)


def _curve(made: Production, start: float, end: float) -> tuple[Floats, Floats]:
    """Volume from the start [mL] and ratio error of each piece."""
    inside = made.volume[(made.volume > start) & (made.volume < end)]
    edges = np.concatenate([[start], inside, [end]])
    middle = (edges[:-1] + edges[1:]) / 2.0
    piece = np.clip(np.searchsorted(made.volume, middle) - 1, 0, len(made.error) - 1)
    return (edges - start) / ML, made.error[piece]


def _stairs(plane: _Plane, edges: Floats, errors: Floats) -> list[tuple[float, float]]:
    points: list[tuple[float, float]] = []
    for low, high, error in zip(edges, edges[1:], errors, strict=False):
        points += [plane.at(float(low), float(error)), plane.at(float(high), float(error))]
    # Steps too small to see are left out.
    kept = points[:1]
    for point in points[1:-1]:
        if math.dist(point, kept[-1]) > 0.4:
            kept.append(point)
    return [*kept, *points[-1:]]


def _zones(
    plane: _Plane, edges: Floats, errors: Floats, target: _core.Target, name: str
) -> Iterator[Markup]:
    high, low = target.tolerance_high, -target.tolerance_low
    for verdict, limit, off in (("soft", high, errors > high), ("brittle", low, errors < low)):
        start = 0
        for inside, group in itertools.groupby(off):
            end = start + len(list(group))
            if inside:
                stairs = _stairs(plane, edges[start : end + 1], errors[start:end])
                x0, x1 = stairs[0][0], stairs[-1][0]
                y = plane.at(0.0, limit)[1]
                closed = svg.route([(x0, y), *stairs, (x1, y)]) + "Z"
                yield svg.path(closed, "zone", f"fill:{svg.hatch(name, verdict)}")
            start = end


def _frame(plane: _Plane, target: _core.Target) -> Iterator[Markup]:
    from matplotlib.ticker import MaxNLocator

    high, low = target.tolerance_high, -target.tolerance_low
    (left, top), (right, bottom) = plane.at(plane.x[0], high), plane.at(plane.x[1], low)
    yield svg.rect(left, top, right - left, bottom - top, "band")
    yield svg.text(plane.left + 4.0, bottom + 13.0, "tolerance", "start", "note halo")
    for value in MaxNLocator(5, steps=[1, 2, 5, 10]).tick_values(*plane.y):
        if plane.y[0] <= value <= plane.y[1]:
            y = plane.at(0.0, value)[1]
            yield svg.line([(plane.left - 4.0, y), (plane.left, y)], "thin")
            yield svg.text(
                plane.left - 6.0, y + 4.0, f"{100.0 * value:+.3g}" if value else "0", "end", "tick"
            )
    for value in MaxNLocator(6, steps=[1, 2, 5, 10]).tick_values(*plane.x):
        if plane.x[0] <= value <= plane.x[1]:
            x = plane.at(value, 0.0)[0]
            yield svg.line([(x, plane.bottom), (x, plane.bottom + 4.0)], "thin")
            yield svg.text(x, plane.bottom + 16.0, f"{value:g}", "middle", "tick")
    corner = [(plane.left, plane.top), (plane.left, plane.bottom), (plane.right, plane.bottom)]
    yield svg.line(corner, "axis")
    zero = plane.at(0.0, 0.0)[1]
    yield svg.line([(plane.left, zero), (plane.right, zero)], "thin")
    yield svg.text(4.0, plane.top - 6.0, "ratio error, %", "start", "note")
    yield svg.text(plane.right, plane.bottom + 30.0, "liquid dispensed, mL (cc)", "end", "note")
