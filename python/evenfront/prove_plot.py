"""Pictures of a proof: catches against the tolerance, and the lead of a shot caught in cups.

Every function draws through the axes it is given, makes a new figure only where it is given none,
and leaves matplotlib's settings, the screen and the figure's life to the caller. What matters is
told by shape, line and place as well as by colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from evenfront.plot_base import HARDENER, RESIN, axes_for, label_axes
from evenfront.prove import Proof
from evenfront.prove_inputs import MILLILITRE
from evenfront.prove_start import StartProof
from evenfront.prove_words import percent

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def plot_ratio(proof: Proof, *, ax: Axes | None = None, **marker: Any) -> Axes:
    """Ratio error of each catch, the tolerance, mean and tolerance interval, drift and outlier.

    Parameters
    ----------
    proof
        What to draw.
    ax
        Where to draw; a new figure if None.
    marker
        Style of the catches, as for `Axes.plot`.

    Returns
    -------
    Axes
        Catch number or shaft position, ratio errors [%].
    """
    from matplotlib.colors import to_rgba

    ax = axes_for(ax)
    ratio, plan = proof.ratio, proof.ratio.plan
    position = proof.catches.ratio.position
    by_position = ratio.drift.over == "position" and position is not None
    x = position if by_position and position is not None else np.arange(1.0, plan.n + 1)
    span = float(np.ptp(x))
    left, right = float(x.min()) - 0.06 * span, float(x.max()) + 0.06 * span

    for limit, name in ((plan.low, "tolerance"), (plan.high, "")):
        ax.axhline(100 * limit, color=RESIN, linewidth=1.5, label=name or None)
    if plan.guard > 0:
        for limit, toward in ((plan.low, plan.guard), (plan.high, -plan.guard)):
            ax.axhspan(
                100 * limit,
                100 * (limit + toward),
                facecolor="none",
                edgecolor=RESIN,
                hatch="////",
                linewidth=0,
                alpha=0.6,
                label="guard band" if toward > 0 else None,
            )
    ax.axhspan(
        *(100 * each for each in ratio.tolerance_interval),
        facecolor=to_rgba(HARDENER, 0.2),
        edgecolor=HARDENER,
        linewidth=1.0,
        label=f"{100 * plan.content:g} % of catches, {100 * plan.confidence:g} % confidence",
    )
    ax.errorbar(
        [right + 0.04 * span],
        [100 * ratio.mean],
        yerr=[100 * ratio.expanded],
        fmt="D",
        color=HARDENER,
        capsize=5,
        label="mean, expanded uncertainty",
    )
    order = np.argsort(x, kind="stable")
    if ratio.drift.found:
        ax.plot(
            x[order],
            100 * ratio.drift.line[order],
            color=HARDENER,
            linestyle="--",
            label=f"drift {percent(ratio.drift.change)}",
        )
    style = {"marker": "o", "linestyle": "none", "color": _ink(), "label": "catch"} | marker
    ax.plot(x, 100 * ratio.errors, **style)
    if ratio.outlier.found:
        i = ratio.outlier.index
        ax.plot(
            [x[i]],
            [100 * ratio.errors[i]],
            marker="o",
            markersize=14,
            markerfacecolor="none",
            linestyle="none",
            color=RESIN,
            label="outlier (Grubbs)",
        )
    ax.set_xlim(left, right + 0.1 * span)
    label_axes(
        ax,
        "shaft position [unit of the file]" if by_position else "catch [number]",
        "ratio error, hardener rich is up [%]",
    )
    _legend(ax)
    return ax


def plot_start(shot: StartProof, *, ax: Axes | None = None, **line: Any) -> Axes:
    """Lead at each change of cups with its uncertainty, the swing allowed, what can be resolved.

    Parameters
    ----------
    shot
        What to draw.
    ax
        Where to draw; a new figure if None.
    line
        Style of the lead, as for `Axes.errorbar`.

    Returns
    -------
    Axes
        Time [s], or resin caught [mL] where no times were recorded; lead [mL].
    """
    ax = axes_for(ax)
    resin = np.cumsum(shot.resin) / MILLILITRE
    x = np.concatenate(([0.0], resin if shot.time is None else shot.time))
    lead = np.concatenate(([0.0], shot.lead)) / MILLILITRE
    error = np.concatenate(([0.0], shot.lead_uncertainty)) / MILLILITRE
    resolved = shot.smallest_lead / MILLILITRE
    ax.axhspan(
        -resolved,
        resolved,
        facecolor="none",
        edgecolor=HARDENER,
        hatch="....",
        alpha=0.5,
        linewidth=0,
        label="cannot be resolved",
    )
    low = shot.peak_lag / MILLILITRE
    for height, name in ((low, "swing allowed"), (low + shot.limit / MILLILITRE, None)):
        ax.axhline(height, color=RESIN, linestyle="-.", linewidth=1.5, label=name)
    style = {"fmt": "o-", "color": _ink(), "capsize": 4, "label": "lead"} | line
    ax.errorbar(x, lead, yerr=error, **style)
    top = float(np.max(lead + error))
    for i, state in enumerate(shot.cup_states):
        if state in ("rich", "lean"):
            ax.axvspan(x[i], x[i + 1], color=RESIN, alpha=0.12, linewidth=0)
            ax.annotate(
                f"cup {i + 1}\n{state}",
                ((x[i] + x[i + 1]) / 2, top),
                ha="center",
                va="top",
                fontsize="small",
            )
    ax.set_xlim(0.0, 1.03 * float(x[-1]))
    start = "since the open command"
    label_axes(
        ax,
        f"resin caught {start} [mL]" if shot.time is None else f"time {start} [s]",
        "lead, hardener ahead is up [mL]",
    )
    _legend(ax)
    return ax


def plot_proof(
    proof: Proof, *, axes: Sequence[Axes] | None = None
) -> tuple[Figure, tuple[Axes, ...]]:
    """Draw `plot_ratio`, and `plot_start` for each shot, below each other.

    Parameters
    ----------
    proof
        What to draw.
    axes
        One for the ratio and one for each shot; a new figure if None.

    Returns
    -------
    tuple
        Figure and its axes.
    """
    count = 1 + len(proof.starts)
    if axes is None:
        import matplotlib.pyplot as plt

        figure, grid = plt.subplots(
            count, 1, figsize=(7.0, 3.6 * count), layout="constrained", squeeze=False
        )
        axes = list(grid[:, 0])
    else:
        found = axes[0].get_figure(root=True)
        assert found is not None, "the axes given have no figure"
        figure = found
    plot_ratio(proof, ax=axes[0])
    for shot, ax in zip(proof.starts, axes[1:], strict=True):
        plot_start(shot, ax=ax)
        if count > 2 and not ax.get_title():
            ax.set_title(f"shot {shot.name}".replace("$", r"\$"), fontsize="medium")
    return figure, tuple(axes)


def _ink() -> Any:
    """Colour of the style's own text, so that a dark style stays readable."""
    from matplotlib import rcParams

    return rcParams["text.color"]


def _legend(ax: Axes) -> None:
    ax.legend(
        fontsize="x-small", loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=3, frameon=False
    )
