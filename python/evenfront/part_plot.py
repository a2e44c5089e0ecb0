"""Pictures of what leaves the outlet, of a lead as it travels, and of the part with its soft place.

Every function draws through the axes it is given, makes a new figure only where it is given none,
and leaves matplotlib's settings, the screen and the figure's life to the caller. What is soft is
hatched one way, what is brittle the other, and both are numbered, so that nothing depends on
colour.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from evenfront import units as u
from evenfront.part import PartMap, Piece, Production, Stretch, Verdict
from evenfront.plot import (
    _LEAN_HATCH,
    _RICH_HATCH,
    LEAN,
    RICH,
    _axes,
    _label,
    _legend,
    _line_width,
    _neutral,
    _steps,
    _title,
    _tolerance_band,
    _volume,
    _zones,
)
from evenfront.run import ML, Outlet, Run
from evenfront.schema_part import Bead, Casting

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_MOST_NAMED = 6  # stretches of a part, shots of a sequence times two
_FILLS: dict[Verdict, tuple[Any, float, str, str]] = {
    "soft": (RICH, 0.45, _RICH_HATCH, "too much hardener (soft)"),
    "brittle": (LEAN, 0.45, _LEAN_HATCH, "too little hardener (brittle)"),
}


def outlet_sequence(run: Run, production: Production, *, ax: Axes | None = None) -> Axes:
    """Ratio error of everything that left the outlet, shot after shot.

    Parameters
    ----------
    run
        What was done.
    production
        What left.
    ax
        Where to draw; a new figure if None.

    Returns
    -------
    Axes
        Liquid out since the run began [mL], ratio errors [%].
    """
    ax = _axes(ax)
    left = Outlet(production.volume, production.error)
    _tolerance_band(ax, run)
    if len(left.error):
        _steps(ax, left, color=_neutral(), linewidth=_line_width(0.9), zorder=3, label="outlet")
        _zones(ax, run, left)
        ax.set_xlim(left.volume[0] / ML, left.volume[-1] / ML)
    else:
        _title(ax, "nothing leaves the outlet")
    _mark_shots(ax, production)
    _mark_cup(ax, production)
    ax.set_ylim(*_limits(run, left.error))
    _label(ax, "liquid out of the mixer since the run began [mL]", "ratio error [%]")
    _below(ax, 5)
    return ax


def age(run: Run, production: Production, *, ax: Axes | None = None) -> Axes:
    """Mean age of what leaves, since it met the mixing point, against the working life.

    Parameters
    ----------
    run, production, ax
        As for `outlet_sequence`.

    Returns
    -------
    Axes
        Liquid out since the run began [mL], ages [s].
    """
    ax = _axes(ax)
    if len(production.age):
        ax.stairs(production.age, production.volume / ML, baseline=None, color=_neutral())
        ax.set_xlim(0.0, production.volume[-1] / ML)
    life = run.machine.mixer.working_life
    if math.isfinite(life):
        ax.axhline(life, color=LEAN, linestyle="--", label=f"working life {u.digits(life)} s")
        ax.set_ylim(top=1.15 * max(life, float(production.age.max(initial=0.0))))
    _mark_shots(ax, production)
    _mark_cup(ax, production)
    ax.set_ylim(bottom=0.0)
    _label(ax, "liquid out of the mixer since the run began [mL]", "mean age at the outlet [s]")
    _below(ax, 2)
    return ax


def _below(ax: Axes, columns: int) -> None:
    """Legend under the axes and their label, whatever their height."""
    from matplotlib.transforms import offset_copy

    figure = ax.get_figure(root=True)
    under = offset_copy(ax.transAxes, figure, 0.0, -36.0, units="points")
    place = {"loc": "upper center", "bbox_to_anchor": (0.5, 0.0), "bbox_transform": under}
    _legend(ax, ncols=columns, frameon=False, borderaxespad=0.0, **place)


def _limits(run: Run, error: Floats) -> tuple[float, float]:
    """Limits for the whole curve, and never less than twice the tolerance, with room above [%]."""
    low = max(2.0 * run.target.tolerance_low, -float(error.min(initial=0.0)))
    high = max(2.0 * run.target.tolerance_high, float(error.max(initial=0.0)))
    return -100.0 * (low + 0.1 * (low + high)), 100.0 * (high + 0.25 * (low + high))


def _mark_shots(ax: Axes, production: Production) -> None:
    """Thin upright line where each shot begins, and its number."""
    shots = production.shots
    every = max(1, math.ceil(len(shots) / (4 * _MOST_NAMED)))
    for shot in shots[::every]:
        ax.axvline(shot.start / ML, color=_neutral(), linewidth=_line_width(0.5), linestyle=":")
        ax.annotate(
            f"shot {shot.shot + 1}" if len(shots) <= 2 * _MOST_NAMED else f"{shot.shot + 1}",
            (shot.start / ML, 1.0),
            xycoords=ax.get_xaxis_transform(),
            xytext=(3, -4),
            textcoords="offset points",
            va="top",
            fontsize="small",
            clip_on=True,
        )


def _mark_cup(ax: Axes, production: Production) -> None:
    """Shade what leaves between shots."""
    outside = np.flatnonzero(production.shot < 0)
    if not outside.size:
        return
    for run_of in np.split(outside, np.flatnonzero(np.diff(outside) > 1) + 1):
        start, end = production.volume[run_of[0]], production.volume[run_of[-1] + 1]
        ax.axvspan(
            start / ML,
            end / ML,
            facecolor="none",
            edgecolor=_neutral(),
            alpha=0.35,
            hatch="..",
            linewidth=0.0,
            label="to the cup",
        )


def part(part_map: PartMap, number: int | None = None, *, ax: Axes | None = None) -> Axes:
    """One part with its soft and brittle places.

    Parameters
    ----------
    part_map
        Where the liquid ended up.
    number
        Which part, counted from 0, or from the last with -1; None: the worst.
    ax
        Where to draw; a new figure if None.

    Returns
    -------
    Axes
        A bead seen from above, along its path [mm]; a casting from the side, over height [mm] or
        the volume filled [mL].
    """
    if ax is None and isinstance(part_map.part, Bead) and isinstance(part_map.part.path, float):
        import matplotlib.pyplot as plt

        ax = plt.subplots(figsize=(7.0, 2.6), layout="constrained")[1]
    ax = _axes(ax)
    which = part_map.worst() if number is None else range(part_map.parts)[number]
    stretches = part_map.stretches(which)
    if isinstance(part_map.part, Bead):
        draw = _draw_bead(ax, part_map.part)
    else:
        draw = _draw_casting(ax, part_map.part)
    off = [stretch for stretch in stretches if stretch.verdict != "ok"]
    named = sorted(off, key=lambda stretch: -stretch.volume)[:_MOST_NAMED]
    for stretch in stretches:
        draw(stretch, None)
    for i, stretch in enumerate(s for s in off if s in named):
        draw(stretch, i + 1)
    _title(ax, f"part {which + 1} of {part_map.parts}: {_state(part_map, which)}")
    _below(ax, 1)
    return ax


def _state(part_map: PartMap, number: int) -> str:
    words = [
        f"{_volume(volume)} {verdict}"
        for verdict in ("soft", "brittle")
        if (volume := part_map.volume(number, verdict)) > 0.0
    ]
    return " and ".join(words) if words else "all within tolerance"


def _describe(stretch: Stretch) -> str:
    first, last = stretch.pieces[0], stretch.pieces[-1]
    error = f"up to {100 * stretch.worst.error:+.0f} %".replace("-", "\N{MINUS SIGN}")
    if first.start is None or last.end is None:
        start, end = first.volume_start / ML, last.volume_end / ML
        where = f"{stretch.name}, {u.digits(start, 2)} to {u.digits(end, 2)} mL filled"
    else:
        where = f"{1e3 * first.start:.0f} to {1e3 * last.end:.0f} mm"
    hard = [piece.hardness for piece in stretch.pieces if piece.hardness is not None]
    hardness = f", hardness down to {u.digits(min(hard), 2)}" if hard else ""
    return f"{stretch.verdict}, {where}, {error}{hardness}"


def _number(ax: Axes, x: float, y: float, number: int, stretch: Stretch) -> None:
    """Put a number in a ring on the part, and its meaning in the legend."""
    ax.text(
        x,
        y,
        str(number),
        ha="center",
        va="center",
        fontsize="small",
        zorder=6,
        bbox={"boxstyle": "circle,pad=0.25", "facecolor": "white", "edgecolor": "black"},
        color="black",
    )
    ax.plot(
        [],
        [],
        linestyle="none",
        marker=f"${number}$",
        color=_neutral(),
        markersize=7,
        label=_describe(stretch),
    )


def _fill(ax: Axes, corners: Floats, verdict: Verdict) -> None:
    from matplotlib.patches import Polygon

    if verdict == "ok":
        ax.add_patch(Polygon(corners, facecolor=(_neutral(), 0.1), linewidth=0.0))
        return
    colour, strength, hatch, name = _FILLS[verdict]
    ax.add_patch(
        Polygon(
            corners,
            facecolor=(colour, strength),
            edgecolor=colour,
            hatch=hatch,
            linewidth=0.0,
            label=name,
            zorder=2,
        )
    )


def _draw_bead(ax: Axes, bead: Bead) -> Any:
    """Outline of the bead; what draws a stretch on it."""
    points = np.array([(0.0, 0.0), (bead.path_length, 0.0)])
    straight = isinstance(bead.path, float)
    if not isinstance(bead.path, float):
        points = np.array(bead.path)
    points = points[np.append(True, np.any(np.diff(points, axis=0) != 0.0, axis=1))] * 1e3
    extent = float(np.ptp(points, axis=0).max())
    true_width = (bead.width or math.sqrt(bead.section)) * 1e3
    width = max(true_width, 0.04 * extent)
    ribbon = _Ribbon(points, width)
    outline = ribbon.between(0.0, ribbon.length)
    ax.plot(*np.vstack([outline, outline[:1]]).T, color=_neutral(), linewidth=_line_width(0.6))
    ax.margins(0.08)
    if straight:
        ax.set_yticks([])
        ax.spines[["left", "right", "top"]].set_visible(False)
        ax.set_ylim(-0.7 * width, 1.4 * width)
        _label(ax, "distance along the bead [mm]", "")
    else:
        ax.set_aspect("equal")
        _label(ax, "x [mm]", "y [mm]")
    _mark_start(ax, ribbon)

    def draw(stretch: Stretch, number: int | None) -> None:
        low, high = _ends(stretch.pieces)
        if number is None:
            _fill(ax, ribbon.between(1e3 * low, 1e3 * high), stretch.verdict)
        else:
            x, y = ribbon.middle(500.0 * (low + high))
            _number(ax, x, y, number, stretch)

    return draw


def _mark_start(ax: Axes, ribbon: _Ribbon) -> None:
    """Arrow beside the beginning of the bead, the way it is laid."""
    tail, head = (ribbon.beside(share * ribbon.length, 1.6) for share in (0.0, 0.06))
    ax.annotate("", tuple(head), tuple(tail), arrowprops={"arrowstyle": "->", "color": _neutral()})
    ax.annotate(
        "start",
        tuple(tail),
        xytext=(0, 3),
        textcoords="offset points",
        fontsize="small",
        va="bottom",
    )


def _ends(pieces: Sequence[Piece]) -> tuple[float, float]:
    first, last = pieces[0].start, pieces[-1].end
    assert first is not None
    assert last is not None
    return first, last


class _Ribbon:
    """A path of some width: its outline between two distances along it."""

    def __init__(self, points: Floats, width: float) -> None:
        self.points, self.half = points, 0.5 * width
        steps = np.diff(points, axis=0)
        lengths = np.hypot(*steps.T)
        self.at = np.concatenate([[0.0], np.cumsum(lengths)])
        self.length = float(self.at[-1])
        self.normal = np.column_stack([-steps[:, 1], steps[:, 0]]) / lengths[:, None]

    def beside(self, distance: float, side: float) -> Floats:
        """Point so many half widths left of the path, mitred at its corners."""
        i = int(np.clip(np.searchsorted(self.at, distance, side="right") - 1, 0, len(self.at) - 2))
        normal = self.normal[i]
        if i > 0 and distance == self.at[i]:
            both = normal + self.normal[i - 1]
            normal = 2.0 * both / max(float(both @ both), 0.5)
        return np.asarray(self.middle(distance) + side * self.half * normal)

    def middle(self, distance: float) -> Floats:
        """Point on the path."""
        return np.array([np.interp(distance, self.at, column) for column in self.points.T])

    def between(self, start: float, end: float) -> Floats:
        """Corners of a piece of it."""
        end = min(end, self.length)
        inside = self.at[(self.at > start) & (self.at < end)]
        places = [start, *inside, end]
        there = [self.beside(float(place), 1.0) for place in places]
        back = [self.beside(float(place), -1.0) for place in reversed(places)]
        return np.array(there + back)


def _draw_casting(ax: Axes, casting: Casting) -> Any:
    """Outline of the casting from the side; what draws a stretch of it."""
    section = casting.section
    scale = ML if section is None else section * 1e-3
    top = casting.volume / scale
    ax.plot(
        [0.0, 1.0, 1.0, 0.0, 0.0],
        [0.0, 0.0, top, top, 0.0],
        color=_neutral(),
        linewidth=_line_width(0.6),
    )
    bounds = [0.0]
    for layer in casting.layers or ():
        bounds.append(bounds[-1] + layer.volume / scale)
    for layer, (low, high) in zip(casting.layers or (), pairwise(bounds), strict=True):
        ax.axhline(high, color=_neutral(), linewidth=_line_width(0.4), linestyle=":")
        ax.annotate(
            layer.name,
            (1.0, 0.5 * (low + high)),
            xytext=(5, 0),
            textcoords="offset points",
            va="center",
            annotation_clip=False,
        )
    ax.set_xlim(-0.02, 1.02)
    ax.set_ylim(0.0, 1.02 * top)
    ax.set_xticks([])
    ax.spines[["right", "top", "bottom"]].set_visible(False)
    _label(ax, "", "volume filled [mL]" if section is None else "height above the floor [mm]")

    def draw(stretch: Stretch, number: int | None) -> None:
        low, high = stretch.pieces[0].volume_start / scale, stretch.pieces[-1].volume_end / scale
        if number is None:
            corners = np.array([(0.0, low), (1.0, low), (1.0, high), (0.0, high)])
            _fill(ax, corners, stretch.verdict)
        else:
            _number(ax, 0.12 + 0.1 * (number - 1), 0.5 * (low + high), number, stretch)

    return draw
