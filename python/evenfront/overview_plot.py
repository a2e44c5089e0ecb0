"""One picture of a run or of a trim: everything on one page."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np

from evenfront.run import Run
from evenfront.trimming import TrimResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
from evenfront.plot import flows, lead, outlet, pressures, strip
from evenfront.plot_base import shot_number, title_axes
from evenfront.trim_plot import before_after, trim_curve


def overview(subject: Run | TrimResult, *, shot: int = -1) -> tuple[Figure, dict[str, Axes]]:
    """One page: of a run what it did, of a trim what it changes.

    Parameters
    ----------
    subject
        Run, or result of a trim.
    shot
        Which shot, counted from 0, or from the last with -1.

    Returns
    -------
    tuple
        Figure and its axes by name.
    """
    if isinstance(subject, TrimResult):
        return _trim_page(subject, shot)
    return _run_page(subject, shot)


def _run_page(run: Run, shot: int) -> tuple[Figure, dict[str, Axes]]:
    if not (run.measures.shots and run.steady.flows):
        figure, panels = _page([["pressures"]], (7.0, 4.5), run.case.title)
        pressures(run, shot=None, ax=panels["pressures"])
        title_axes(panels["pressures"], textwrap.fill(run.message, 80))
        return figure, panels
    rows = [["outlet", "lead"], ["strip", "strip"], ["flows", "pressures"]]
    figure, panels = _page(rows, (11.0, 11.0), f"{run.case.title}, shot {shot_number(run, shot)}")
    outlet(run, shot=shot, ax=panels["outlet"])
    lead(run, shot=shot, ax=panels["lead"])
    strip(run, shot=shot, ax=panels["strip"])
    flows(run, shot=shot, ax=panels["flows"])
    pressures(run, shot=shot, ax=panels["pressures"])
    return figure, panels


def _trim_page(result: TrimResult, shot: int) -> tuple[Figure, dict[str, Axes]]:
    if not (result.before.measures.shots and result.before.steady.flows):
        return _run_page(result.before, shot)
    rows = [["outlet", "volumes"], ["lead", "hardener"], ["pressures", "flows"]]
    number = shot_number(result.before, shot)
    figure, panels = _page(rows, (11.0, 11.0), f"{result.case.title}, shot {number}")
    answer = result.answer
    before_after(answer, shot=shot, axes=(panels["outlet"], panels["lead"]))
    trim_curve(result, axes=(panels["volumes"], panels["hardener"]))
    after = answer.after if answer.feasible else result.before
    pressures(after, shot=shot, ax=panels["pressures"])
    flows(after, shot=shot, ax=panels["flows"])
    for name in ("pressures", "flows"):
        title_axes(panels[name], "at the answer" if answer.feasible else "as written: no answer")
    return figure, panels


def _page(rows: list[Any], size: tuple[float, float], title: str) -> tuple[Figure, dict[str, Axes]]:
    import matplotlib.pyplot as plt

    figure, panels = plt.subplot_mosaic(rows, figsize=size, layout="constrained")
    figure.suptitle(title)
    return figure, panels
