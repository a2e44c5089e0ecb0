"""Pictures that lay several runs over each other: one machine, changed in one respect at a time.

Runs come by name, in the order in which they are drawn; the first is drawn strongest, and every
one has a line of its own, so that nothing depends on colour. As in `plot`, every function draws
through the axes it is given and makes a new figure only where it is given none.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal, TypeVar

import numpy as np

from evenfront import _core, mending
from evenfront import units as u
from evenfront.plot_base import (
    HARDENER,
    RESIN,
    axes_for,
    draw_lead,
    draw_legend,
    draw_steps,
    draw_tolerance,
    label_axes,
    line_width,
    neutral,
    psi_axis,
    shot_rows,
)
from evenfront.run import BAR, ML, Model, Run
from evenfront.trimming import TrimResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Quantity = Literal[
    "resin flow",
    "hardener flow",
    "resin cylinder",
    "hardener cylinder",
    "mixing point",
    "shaft speed",
    "shaft position",
    "drive force",
]
"""What `over_time` can draw."""

_QUANTITIES: dict[Quantity, tuple[str, Callable[[_core.Trace], Floats]]] = {
    "resin flow": ("flow of resin [mL/s]", lambda t: t.resin.flow / ML),
    "hardener flow": ("flow of hardener [mL/s]", lambda t: t.hardener.flow / ML),
    "resin cylinder": (
        "gauge pressure, resin cylinder [bar]",
        lambda t: t.resin.pressure[:, 0] / BAR,
    ),
    "hardener cylinder": (
        "gauge pressure, hardener cylinder [bar]",
        lambda t: t.hardener.pressure[:, 0] / BAR,
    ),
    "mixing point": ("gauge pressure before the mixer [bar]", lambda t: t.mixer_pressure / BAR),
    "shaft speed": ("speed of the shaft [mm/s]", lambda t: t.speed * 1e3),
    "shaft position": ("travel of the shaft [mm]", lambda t: t.position * 1e3),
    "drive force": ("force of the drive [kN]", lambda t: t.force / 1e3),
}
_Shot = TypeVar("_Shot", int, int | None)
_NAME = 30  # characters of a name beside a bar, in a line
_HATCHES = ("", "////", "....")


def lead(
    runs: Mapping[str, Run], *, shot: int | Sequence[int] = -1, ax: Axes | None = None
) -> Axes:
    """Lead of the hardener within a shot, of several runs.

    Parameters
    ----------
    runs
        Runs by name.
    shot
        Which shot, counted from 0, or from the last with -1; or one for each run.
    ax
        Where to draw; a new figure if None.

    Returns
    -------
    Axes
        Times since the open command [s], lead [mL].
    """
    ax = axes_for(ax)
    for i, (name, run, one) in enumerate(_each(runs, shot)):
        draw_lead(ax, run.lead(one), **_style(i), label=name)
    ax.axhline(0.0, color=neutral(), linewidth=line_width(0.4))
    ax.margins(x=0.0)
    label_axes(ax, "time since the open command [s]", "lead of the hardener [mL]")
    _legend_below(ax)
    return ax


def outlet(
    runs: Mapping[str, Run],
    *,
    shot: int | Sequence[int] = -1,
    model: Model = "case",
    ax: Axes | None = None,
) -> Axes:
    """Ratio error at the mixer's outlet against the liquid dispensed, of several runs.

    Parameters
    ----------
    runs, shot, ax
        As for `lead`.
    model
        Residence model: the case's, plug, or dispersion at Pe 100.

    Returns
    -------
    Axes
        Volumes since the open command [mL], ratio errors [%].
    """
    ax = axes_for(ax)
    for i, (name, run, one) in enumerate(_each(runs, shot)):
        draw_steps(ax, run.outlet(one, model), **_style(i), label=name)
    draw_tolerance(ax, next(iter(runs.values())))
    label_axes(ax, "liquid dispensed since the open command [mL]", "ratio error [%]")
    _legend_below(ax)
    return ax


def over_time(
    runs: Mapping[str, Run],
    quantity: Quantity,
    *,
    shot: int | Sequence[int] | None = -1,
    ax: Axes | None = None,
) -> Axes:
    """One quantity of several runs against time.

    Parameters
    ----------
    runs, ax
        As for `lead`.
    quantity
        What to draw.
    shot
        As for `lead`, from the open command until both shut-offs are shut; None draws whole runs,
        from their start.

    Returns
    -------
    Axes
        Times [s], the quantity in the unit of its label; pressures read in psi on the right.
    """
    ax = axes_for(ax)
    label, of = _QUANTITIES[quantity]
    for i, (name, run, one) in enumerate(_each(runs, shot)):
        time, rows = shot_rows(run, one)
        ax.plot(time, of(run.trace)[rows], **_style(i), label=name)
    ax.margins(x=0.0)
    if "pressure" in label:
        psi_axis(ax)
    start = "the run began" if shot is None else "the open command"
    label_axes(ax, f"time since {start} [s]", label)
    _legend_below(ax)
    return ax


def entering(runs: Mapping[str, Run], *, ax: Axes | None = None) -> Axes:
    """Hardener share of what enters the mixer, against the liquid entered since the run began.

    Passages that start empty and slugs that were pushed back are followed.

    Parameters
    ----------
    runs, ax
        As for `lead`.

    Returns
    -------
    Axes
        Volumes [mL], share of hardener [%].
    """
    ax = axes_for(ax)
    for i, (name, run) in enumerate(runs.items()):
        inlet = _core.mixer_inlet(run.trace, _core.passages(run.machine), run.ratio).composition
        share = np.diff(inlet.hardener) / np.diff(inlet.volume)
        ax.stairs(100.0 * share, inlet.volume / ML, baseline=None, **_style(i), label=name)
    asked = next(iter(runs.values())).target.ratio
    ax.axhline(
        100.0 * asked / (1.0 + asked),
        color=neutral(),
        linewidth=line_width(0.5),
        linestyle="-.",
        label="asked",
    )
    label_axes(ax, "liquid entered since the run began [mL]", "hardener in it [%]")
    _legend_below(ax)
    return ax


def trapped(runs: Mapping[str, Run], *, rest: int = 0, ax: Axes | None = None) -> Axes:
    """Pressure that stands in both cylinders at the end of a pause, of several runs.

    Parameters
    ----------
    runs, ax
        As for `lead`.
    rest
        Which pause, counted from 0, or from the last with -1.

    Returns
    -------
    Axes
        Pressures [bar], psi on top; one row per run.
    """
    values = {}
    for name, run in runs.items():
        row = run.trace.rests[rest].end
        streams = (run.trace.resin, run.trace.hardener)
        values[name] = [float(stream.pressure[row, 0]) / BAR for stream in streams]
    ax = bars(values, "gauge pressure in the cylinder [bar]", series=("resin", "hardener"), ax=ax)
    psi_axis(ax, "x")
    return ax


def remaining(result: TrimResult, *, ax: Axes | None = None) -> Axes:
    """Soft volume that each action worth listing leaves, cheapest first, by two residence models.

    To purge every shot is no remedy: a purge is left out.

    Parameters
    ----------
    result
        Result of a trim.
    ax
        As for `lead`.

    Returns
    -------
    Axes
        Soft volumes S at the outlet [mL]; where to start is marked.
    """
    first = mending.first_to_do(result)
    values = {"as written": _soft(result.before)}
    for action in mending.worthwhile(result):
        if action.remedy != "purge":
            mark = "start here: " if action == first else ""
            values[mark + action.name] = _soft(_carried_out(result, action))
    return bars(values, "soft volume S of a shot [mL]", series=("plug", "Pe 100"), ax=ax)


def bars(
    values: Mapping[str, float | Sequence[float]],
    label: str,
    *,
    series: Sequence[str] = (),
    ax: Axes | None = None,
) -> Axes:
    """Named values as level bars, the first on top, each with its figure.

    Parameters
    ----------
    values
        One value by name, or as many as there are series.
    label
        What they are, with the unit.
    series
        Names of the bars in each row; none: one bar a row.
    ax
        As for `lead`.

    Returns
    -------
    Axes
        The values, in the unit of the label.
    """
    ax = axes_for(ax)
    table = np.array([np.atleast_1d(row) for row in values.values()], dtype=float)
    rows, count = np.arange(len(table)), table.shape[1]
    height = 0.8 / count
    for i, column in enumerate(table.T):
        style = {"facecolor": _fill(i), "edgecolor": neutral(), "hatch": _HATCHES[i]}
        drawn = ax.barh(
            rows + (i - (count - 1) / 2.0) * height,
            column,
            height,
            linewidth=line_width(0.4),
            label=series[i] if series else None,
            **style,
        )
        figures = [u.digits(value).replace("-", "\N{MINUS SIGN}") for value in column]
        ax.bar_label(drawn, figures, padding=3, fontsize="small")
    ax.axvline(0.0, color=neutral(), linewidth=line_width(0.5))
    ax.set_yticks(rows, [textwrap.fill(name, _NAME) for name in values])
    ax.invert_yaxis()
    ax.margins(x=0.2)
    ax.locator_params(axis="x", nbins=6)
    label_axes(ax, label, "")
    if series:
        _legend_below(ax)
    return ax


# Data


def _each(runs: Mapping[str, Run], shot: _Shot | Sequence[int]) -> Iterator[tuple[str, Run, _Shot]]:
    """Name, run and shot to draw of each run."""
    shots = shot if isinstance(shot, Sequence) else [shot] * len(runs)
    for (name, run), one in zip(runs.items(), shots, strict=True):
        yield name, run, one


def _soft(run: Run) -> tuple[float, float]:
    """Soft volume of the last shot as plug and at Pe 100 [mL]."""
    shot = run.shot
    return shot.outlet_plug.soft_volume / ML, shot.outlet_dispersed.soft_volume / ML


def _carried_out(result: TrimResult, action: mending.Action) -> Run:
    """Simulate the case with one action done."""
    if action.answer is not None:
        return action.answer.after
    labels = result.case.labels
    done = next(r for r in result.remedies if mending.remedy_name(r, labels) == action.name)
    return Run(result.case, done.machine, done.sequence)


# Drawing


def _style(i: int) -> dict[str, Any]:
    """Line of the i-th run: no two alike in dashes, the first strongest."""
    colour, dashes, width = (
        (neutral(), "-", 1.1),
        (RESIN, "--", 1.0),
        (HARDENER, "-", 1.0),
        (neutral(), ":", 1.1),
        (RESIN, "-.", 0.9),
        (HARDENER, (0, (6, 1.5, 1, 1.5, 1, 1.5)), 0.9),
    )[i % 6]
    return {"color": colour, "linestyle": dashes, "linewidth": line_width(width)}


def _legend_below(ax: Axes) -> None:
    """Legend under the picture, where it hides no curve."""
    columns = 2 if len(ax.get_legend_handles_labels()[1]) > 1 else 1
    place = {"loc": "upper center", "bbox_to_anchor": (0.5, -0.16), "frameon": False}
    draw_legend(ax, ncols=columns, **place)


def _fill(i: int) -> Any:
    return (RESIN, HARDENER, "white")[i % 3]
