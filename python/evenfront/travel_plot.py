"""Pictures of a lead on its way through the mixer: a series of strips, one frame, an animation.

Every function draws through the axes it is given, makes a new figure only where it is given none,
and leaves matplotlib's settings, the screen and the figure's life to the caller.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from evenfront.plot import _axes, _label, _model_name, _panels, _strip, _title, _volume
from evenfront.run import Model, Run
from evenfront.travel import Travel

if TYPE_CHECKING:
    from matplotlib.animation import FuncAnimation
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_TOLERANCES_SHOWN = 6.0  # from the middle of a strip to its edge, at least


def travel_series(
    run: Run, travel: Travel, *, axes: Sequence[Axes] | None = None
) -> tuple[Figure, tuple[Axes, ...]]:
    """Ratio error inside the mixer at chosen instants, for plug flow and Pe 100 side by side.

    Each strip is the mixer from inlet to outlet, its middle line is the ratio asked for, and the
    curve within is the ratio error, up for too much hardener, cut off at the strip's edge.

    Parameters
    ----------
    run
        What was done.
    travel
        The lead as it travels.
    axes
        Two axes to draw in; a new figure if None.

    Returns
    -------
    tuple
        Figure and both axes.
    """
    figure, panels = _panels(axes, 1, 2, sharey=True)
    models: tuple[Model, Model] = ("plug", "dispersed")
    scale = _scale(run, travel)
    for ax, model in zip(panels, models, strict=True):
        for row, profile in enumerate(travel.profiles[model]):
            _mixer(ax, run, travel, profile, scale, -float(row), label=row == 0)
        ax.set_ylim(-len(travel.entered) + 0.45, 0.55)
        _frame(ax, run)
        _title(ax, f"{_model_name(run, model)}: {_settles(run, travel, model)}")
    names = [f"{_volume(float(volume))} in" for volume in travel.entered]
    panels[0].set_yticks(-np.arange(len(names)), names)
    handles, labels = panels[0].get_legend_handles_labels()
    figure.legend(handles, labels, loc="outside lower center", ncols=3, frameon=False)
    height = f"ratio error, cut off at \N{PLUS-MINUS SIGN}{100 * scale:.0f} %"
    _label(panels[0], "", height)
    return figure, panels


def travel_frame(
    run: Run, travel: Travel, instant: int, *, model: Model = "plug", ax: Axes | None = None
) -> Axes:
    """One instant of the lead's travel: a frame of the animation.

    Parameters
    ----------
    run, travel
        As for `travel_series`.
    instant
        Which of the instants, counted from 0.
    model
        Residence model.
    ax
        Where to draw; a new figure if None.

    Returns
    -------
    Axes
        Distance from the mixer's inlet [mm].
    """
    ax = _axes(ax)
    profile = travel.profiles[model][instant]
    _mixer(ax, run, travel, profile, _scale(run, travel), 0.0, label=True)
    ax.set_ylim(-0.5, 0.5)
    ax.set_yticks([])
    _frame(ax, run)
    _title(ax, f"{_model_name(run, model)}, {_volume(float(travel.entered[instant]))} have entered")
    return ax


def travel_animation(
    run: Run, travel: Travel, *, model: Model = "plug", ax: Axes | None = None, interval: int = 80
) -> FuncAnimation:
    """Lead on its way through the mixer, one frame per instant.

    Parameters
    ----------
    run, travel, model, ax
        As for `travel_frame`.
    interval
        Time between frames [ms].

    Returns
    -------
    FuncAnimation
        For a notebook, or to be saved.
    """
    from matplotlib.animation import FuncAnimation

    where = _axes(ax)

    def draw(instant: int) -> list[Any]:
        where.clear()
        travel_frame(run, travel, instant, model=model, ax=where)
        return []

    figure = where.get_figure(root=True)
    assert figure is not None, "the axes given have no figure"
    return FuncAnimation(figure, draw, frames=len(travel.entered), interval=interval)


def _scale(run: Run, travel: Travel) -> float:
    """Ratio error at the edge of a strip [-]: high enough for what spreads, and ten tolerances."""
    tolerance = max(run.target.tolerance_high, run.target.tolerance_low)
    highest = [float(np.abs(profile).max(initial=0.0)) for profile in travel.profiles.values()]
    spread = float(np.abs(travel.profiles["dispersed"]).max(initial=0.0))
    return min(max(highest), max(1.2 * spread, _TOLERANCES_SHOWN * tolerance)) or tolerance


def _mixer(
    ax: Axes,
    run: Run,
    travel: Travel,
    profile: Floats,
    scale: float,
    middle: float,
    *,
    label: bool,
) -> None:
    places = travel.places * run.machine.mixer.length * 1e3
    edges = np.concatenate(
        [[0.0], 0.5 * (places[1:] + places[:-1]), [run.machine.mixer.length * 1e3]]
    )
    _strip(ax, run, edges, np.clip(profile, -scale, scale), scale, middle, label=label)


def _frame(ax: Axes, run: Run) -> None:
    ax.set_xlim(0.0, run.machine.mixer.length * 1e3)
    ax.tick_params(axis="y", length=0)
    ax.spines[:].set_visible(False)
    _label(ax, "distance from the mixer's inlet [mm]", "")


def _settles(run: Run, travel: Travel, model: Model) -> str:
    """How far the lead goes, in a few words."""
    distance = travel.settling[model]
    if distance is None:
        return "stays off ratio in any mixer"
    if distance == 0.0:
        return "enters within tolerance"
    elements = travel.elements[model]
    count = f", {elements} elements" if elements else ""
    if distance > run.machine.mixer.length:
        return f"would take {1e3 * distance:.0f} mm{count}"
    return f"within tolerance after {1e3 * distance:.0f} mm{count}"
