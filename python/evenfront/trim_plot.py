"""Pictures of a trim: before and after, and what every setting on its curve would do.

Every function draws through the axes it is given, makes a new figure only where it is given none,
and leaves matplotlib's settings, the screen and the figure's life to the caller. Pressures read in
bar and psi.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from evenfront import _core
from evenfront.run import BAR, ML
from evenfront.trimming import Answer, ObjectiveName, TrimResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
from evenfront.plot_base import (
    LEAN,
    RESIN,
    RICH,
    draw_lead,
    draw_legend,
    draw_steps,
    draw_tolerance,
    draw_zones,
    error_limits,
    frame_lead,
    headroom,
    label_axes,
    line_width,
    mark_x,
    model_name,
    moving_part,
    neutral,
    panels_for,
    psi_axis,
    show_volume,
    title_axes,
    volume_of_shot,
)

_OBJECTIVE_MARKERS: dict[ObjectiveName, tuple[str, str]] = {
    "null": ("s", "net lead nulled"),
    "least_soft": ("o", "least soft"),
    "least_excess": ("^", "least surplus and missing"),
}


def before_after(
    answer: Answer, *, shot: int = -1, axes: Sequence[Axes] | None = None
) -> tuple[Figure, tuple[Axes, ...]]:
    """Outlet ratio error and lead as the case is written and at an answer's settings.

    Parameters
    ----------
    answer
        Answer of a trim.
    shot
        Which shot, counted from 0, or from the last with -1.
    axes
        Two axes to draw in, ratio error and lead; a new figure if None.

    Returns
    -------
    tuple
        Figure and both axes.
    """
    figure, (left, right) = panels_for(axes, 1, 2)
    _outlet_before_after(left, answer, shot)
    _lead_before_after(right, answer, shot)
    return figure, (left, right)


def trim_curve(
    result: TrimResult, *, axes: Sequence[Axes] | None = None
) -> tuple[Figure, tuple[Axes, ...]]:
    """Sweep of one throttle through the answer: what it does to the last shot, limits and band.

    The other throttle stays at the answer's setting along the curve; answers of other objectives
    carry their own and stand beside it.

    Parameters
    ----------
    result
        Result of a trim.
    axes
        Two axes to draw in, off-ratio volumes above, hardener amounts and lead below; a new figure
        if None.

    Returns
    -------
    tuple
        Figure and both axes.
    """
    figure, (upper, lower) = panels_for(axes, 2, 1)
    curve = _curve(result)
    added = np.array([_swept(result, trial) for trial in curve]) / BAR

    def draw(ax: Axes, of: Callable[[_core.Trial], float], **style: Any) -> None:
        ax.plot(
            added,
            np.array([of(trial) for trial in curve]) / ML,
            marker=".",
            markersize=3,
            **style,
        )

    colour = neutral()
    draw(upper, lambda t: t.outlet.soft_volume, color=colour, label="soft volume S")
    draw(upper, lambda t: t.outlet.volume, color=RESIN, linestyle="--", label="off ratio")
    _points(upper, result)
    draw(lower, lambda t: t.outlet.surplus, color=RICH, label="surplus hardener")
    draw(lower, lambda t: t.outlet.missing, color=LEAN, linestyle="--", label="missing hardener")
    draw(lower, lambda t: t.swing, color=colour, linestyle="-.", label="swing")
    draw(lower, lambda t: t.net_lead, color=colour, linestyle=":", label="net lead")
    lower.axhline(0.0, color=colour, linewidth=line_width(0.4))
    limits = _curve_limits(result, added)
    for ax in (upper, lower):
        _mark_answers(ax, result)
        _mark_limits(ax, result, curve, limits[1])
        _fit(ax, *limits)
    upper.set_ylim(bottom=0.0)
    side = result.case.labels[0 if result.core.curve_sweeps_resin else 1]
    pressure = f"back pressure added by the {side} throttle [bar]"
    label_axes(upper, pressure, "volume at the outlet [mL]")
    label_axes(lower, pressure, "volume of hardener [mL]")
    psi_axis(upper, "x")
    psi_axis(lower, "x")
    for ax in (upper, lower):
        headroom(ax, 0.45)
        draw_legend(ax, loc="upper center", ncols=2)
    return figure, (upper, lower)


def _swept(result: TrimResult, trial: _core.Trial) -> float:
    """Back pressure added by the swept throttle [Pa]."""
    return float(
        trial.resin_back_pressure
        if result.core.curve_sweeps_resin
        else trial.hardener_back_pressure
    )


def _curve(result: TrimResult) -> list[_core.Trial]:
    """Sort the curve's settings and, where they lie on it, the answer and the ends of its band."""
    trials = list(result.curve)
    if result.answer.feasible:
        core = result.answer.core
        trials += [
            trial
            for trial in (core.trial, core.band_open, core.band_closed)
            if _on_curve(result, trial)
        ]
    return sorted(trials, key=lambda trial: _swept(result, trial))


def _on_curve(result: TrimResult, trial: _core.Trial) -> bool:
    """Whether the throttle that the curve leaves alone stands where it does on the curve."""
    fixed = "hardener" if result.core.curve_sweeps_resin else "resin"
    return any(getattr(t.settings, fixed) == getattr(trial.settings, fixed) for t in result.curve)


def _curve_limits(result: TrimResult, added: Floats) -> tuple[float, float]:
    """From the case's setting to well past the answers [bar]."""
    trials = [result.core.before]
    for answer in result.answers.values():
        if answer.feasible:
            trials += [answer.core.trial, answer.core.band_closed]
    furthest = max(_swept(result, trial) for trial in trials) / BAR
    low, high = float(added.min(initial=0.0)), float(added.max(initial=0.0))
    if furthest > 0.0:
        high = min(high, 1.8 * furthest)
    margin = 0.02 * (high - low) or 1.0
    return low - margin, high + margin


def _outlet_before_after(ax: Axes, answer: Answer, shot: int) -> None:
    before = answer.before.outlet(shot)
    shown = [before]
    width = line_width(1.0)
    draw_steps(ax, before, color=RESIN, linestyle="--", linewidth=width, label="before")
    if answer.feasible:
        after = answer.after.outlet(shot)
        shown.append(after)
        draw_steps(ax, after, color=neutral(), linewidth=width, zorder=3, label="after")
        draw_zones(ax, answer.after, after)
    draw_tolerance(ax, answer.before)
    spans = [moving_part(answer.before, curve) for curve in shown]
    first, last = min(span[0] for span in spans), max(span[1] for span in spans)
    ax.set_xlim(max(first - 0.15 * (last - first), 0.0), last + 0.15 * (last - first))
    ax.set_ylim(*error_limits(answer.before, *shown))
    mark_x(ax, volume_of_shot(answer.before, shot), "close before", "next shot")
    label_axes(ax, "liquid dispensed since the open command [mL]", "ratio error [%]")
    title_axes(ax, f"outlet, {model_name(answer.before, 'case')}")
    draw_legend(ax)


def _lead_before_after(ax: Axes, answer: Answer, shot: int) -> None:
    runs = [("before", answer.before, RESIN, "--")]
    if answer.feasible:
        runs.append(("after", answer.after, neutral(), "-"))
    for name, run, colour, line in runs:
        label = f"{name}: swing {show_volume(run.measures.shots[shot].swing)}"
        draw_lead(ax, run.lead(shot), color=colour, linestyle=line, label=label)
    frame_lead(ax, answer.before, shot)
    title_axes(ax, "lead")
    draw_legend(ax)


def _mark_answers(ax: Axes, result: TrimResult) -> None:
    """Band of the answer as a shade, its setting as an upright line."""
    best = result.answer
    if not best.feasible:
        return
    ends = (best.core.band_open, best.core.band_closed)
    if all(_on_curve(result, trial) for trial in ends):
        band = [_swept(result, trial) / BAR for trial in ends]
        ax.axvspan(
            min(band),
            max(band),
            color=neutral(),
            alpha=0.12,
            linewidth=0.0,
            label="keeps nine tenths of the gain",
        )
    at = _swept(result, best.core.trial) / BAR
    ax.axvline(at, color=neutral(), linewidth=line_width(0.5), linestyle="--")


def _points(ax: Axes, result: TrimResult) -> None:
    """Soft volume of the case as written and of each answer, at its own settings."""
    points = [("x", "as written", result.core.before)] + [
        (*_OBJECTIVE_MARKERS[name], answer.core.trial)
        for name, answer in result.answers.items()
        if answer.feasible
    ]
    for marker, label, trial in points:
        ax.plot(
            [_swept(result, trial) / BAR],
            [trial.outlet.soft_volume / ML],
            marker=marker,
            markersize=8,
            linestyle="none",
            markerfacecolor="none",
            color=neutral(),
            label=f"S, {label}",
            zorder=4,
        )


def _mark_limits(ax: Axes, result: TrimResult, curve: Sequence[_core.Trial], last: float) -> None:
    """Hatch what breaks a limit, from the last allowed setting on, as far as `last` [bar]."""
    added = [_swept(result, trial) / BAR for trial in curve]
    for i, trial in enumerate(curve):
        start = added[max(i - 1, 0)]
        if not trial.refused or start >= last:
            continue
        following = i + 1 < len(curve) and not curve[i + 1].refused
        ax.axvspan(
            start,
            added[i + 1 if following else i],
            facecolor="none",
            edgecolor=neutral(),
            alpha=0.25,
            hatch="xx",
            linewidth=0.0,
            label="not allowed on this curve",
        )
    limit = result.options.max_back_pressure / BAR
    if limit < last:
        mark_x(ax, limit, "limit")


def _fit(ax: Axes, low: float, high: float) -> None:
    """Limits of x, and those of y that fit what is drawn between them."""
    shown = []
    for line in ax.lines:
        x, y = (np.asarray(data, dtype=float) for data in line.get_data())
        if x.size and line.get_transform() == ax.transData:
            shown.append(y[(x >= low) & (x <= high)])
    ax.set_xlim(low, high)
    values = np.concatenate(shown) if shown else np.zeros(1)
    if values.size and values.max() > values.min():
        margin = 0.06 * (values.max() - values.min())
        ax.set_ylim(values.min() - margin, values.max() + margin)
