"""Pictures of everything that left the outlet in a run: its ratio error and its age.

Every function draws through the axes it is given, makes a new figure only where it is given none,
and leaves matplotlib's settings, the screen and the figure's life to the caller. What goes to the
cup between shots is dotted.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from evenfront import units as u
from evenfront.part import Production
from evenfront.plot_base import (
    LEAN,
    axes_for,
    draw_legend,
    draw_steps,
    draw_tolerance,
    draw_zones,
    label_axes,
    line_width,
    neutral,
    title_axes,
)
from evenfront.run import ML, Outlet, Run

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_MOST_NAMED = 12  # shots, with the word before their number


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
    ax = axes_for(ax)
    left = Outlet(production.volume, production.error)
    draw_tolerance(ax, run)
    if len(left.error):
        draw_steps(ax, left, color=neutral(), linewidth=line_width(0.9), zorder=3, label="outlet")
        draw_zones(ax, run, left)
        ax.set_xlim(left.volume[0] / ML, left.volume[-1] / ML)
    else:
        title_axes(ax, "nothing leaves the outlet")
    _mark_shots(ax, production)
    _mark_cup(ax, production)
    ax.set_ylim(*_limits(run, left.error))
    label_axes(ax, "liquid out of the mixer since the run began [mL]", "ratio error [%]")
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
    ax = axes_for(ax)
    if len(production.age):
        ax.stairs(production.age, production.volume / ML, baseline=None, color=neutral())
        ax.set_xlim(0.0, production.volume[-1] / ML)
    life = run.machine.mixer.working_life
    if math.isfinite(life):
        ax.axhline(life, color=LEAN, linestyle="--", label=f"working life {u.digits(life)} s")
        ax.set_ylim(top=1.15 * max(life, float(production.age.max(initial=0.0))))
    _mark_shots(ax, production)
    _mark_cup(ax, production)
    ax.set_ylim(bottom=0.0)
    label_axes(ax, "liquid out of the mixer since the run began [mL]", "mean age at the outlet [s]")
    _below(ax, 2)
    return ax


def _below(ax: Axes, columns: int) -> None:
    """Legend under the axes and their label, whatever their height."""
    from matplotlib.transforms import offset_copy

    figure = ax.get_figure(root=True)
    under = offset_copy(ax.transAxes, figure, 0.0, -36.0, units="points")
    place = {"loc": "upper center", "bbox_to_anchor": (0.5, 0.0), "bbox_transform": under}
    draw_legend(ax, ncols=columns, frameon=False, borderaxespad=0.0, **place)


def _limits(run: Run, error: Floats) -> tuple[float, float]:
    """Limits for the whole curve, and never less than twice the tolerance, with room above [%]."""
    low = max(2.0 * run.target.tolerance_low, -float(error.min(initial=0.0)))
    high = max(2.0 * run.target.tolerance_high, float(error.max(initial=0.0)))
    return -100.0 * (low + 0.1 * (low + high)), 100.0 * (high + 0.25 * (low + high))


def _mark_shots(ax: Axes, production: Production) -> None:
    """Thin upright line where each shot begins, and its number."""
    shots = production.shots
    every = max(1, math.ceil(len(shots) / (2 * _MOST_NAMED)))
    for shot in shots[::every]:
        ax.axvline(shot.start / ML, color=neutral(), linewidth=line_width(0.5), linestyle=":")
        ax.annotate(
            f"shot {shot.shot + 1}" if len(shots) <= _MOST_NAMED else f"{shot.shot + 1}",
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
            edgecolor=neutral(),
            alpha=0.35,
            hatch="..",
            linewidth=0.0,
            label="to the cup",
        )
