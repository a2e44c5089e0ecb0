"""Pictures of a run and of a trim.

Every function draws through the axes it is given, makes a new figure only where it is given none,
and leaves matplotlib's settings, the screen and the figure's life to the caller. Resin is a solid
line, hardener a dashed one; too much hardener is hatched one way, too little the other, so that
nothing depends on colour. Pressures read in bar and psi.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from evenfront import _core, units
from evenfront.run import BAR, ML, SIDE_PECLET, Model, Outlet, Run
from evenfront.trimming import Answer, ObjectiveName, TrimResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

RESIN = "#9b4018"
"""Colour of the resin: dark in greyscale too (CIE lightness 39)."""
HARDENER = "#459ac9"
"""Colour of the hardener: light in greyscale too (CIE lightness 60)."""
RICH = HARDENER
"""Colour of liquid with too much hardener."""
LEAN = RESIN
"""Colour of liquid with too little hardener."""

_RICH_HATCH, _LEAN_HATCH = "////", "\\\\\\\\"
_RICH_LABEL, _LEAN_LABEL = "too much hardener (soft)", "too little hardener (brittle)"
_OBJECTIVE_MARKERS: dict[ObjectiveName, tuple[str, str]] = {
    "null": ("s", "net lead nulled"),
    "least_soft": ("o", "least soft"),
    "least_excess": ("^", "least surplus and missing"),
}
_PLACES = 250  # along the mixer in a strip


def outlet(run: Run, *, shot: int = -1, model: Model = "case", ax: Axes | None = None) -> Axes:
    """Ratio error at the mixer's outlet against the liquid dispensed since the open command.

    Parameters
    ----------
    run
        What to draw.
    shot
        Which shot, counted from 0, or from the last with -1.
    model
        Residence model: the case's, plug, or dispersion at Pe 100.
    ax
        Where to draw; a new figure if None.

    Returns
    -------
    Axes
        Volumes [mL], ratio errors [%].
    """
    ax = _axes(ax)
    leaving, entering = run.outlet(shot, model), run.outlet(shot, place=0.0)
    name = f"outlet, {_model_name(run, model)}"
    _steps(ax, leaving, color=_neutral(), linewidth=_line_width(1.2), zorder=3, label=name)
    _steps(ax, entering, color=_neutral(), alpha=0.4, linewidth=_line_width(0.6), label="inlet")
    _tolerance_band(ax, run)
    _zones(ax, run, leaving)
    closed = _shot_volume(run, shot)
    _mark_x(ax, closed, "close", "next shot")
    last = _moving(run, leaving)[1]
    ax.set_xlim(0.0, 1.04 * max(last, closed, _core.hold_up(run.machine.mixer) / ML))
    ax.set_ylim(*_error_limits(run, leaving))
    _mark_hold_up(ax, run)
    _label(ax, "liquid dispensed since the open command [mL]", "ratio error [%]")
    _legend(ax)
    return ax


def outlet_models(
    run: Run, *, shot: int = -1, axes: Sequence[Axes] | None = None
) -> tuple[Figure, tuple[Axes, ...]]:
    """`outlet` for plug flow and for dispersion at Pe 100, side by side.

    Parameters
    ----------
    run, shot
        As for `outlet`.
    axes
        Two axes to draw in; a new figure if None.

    Returns
    -------
    tuple
        Figure and both axes.
    """
    figure, panels = _panels(axes, 1, 2)
    models: tuple[Model, Model] = ("plug", "dispersed")
    for ax, model in zip(panels, models, strict=True):
        outlet(run, shot=shot, model=model, ax=ax)
        measures = run.measures.shots[shot]
        found = measures.outlet_plug if model == "plug" else measures.outlet_dispersed
        off = _volume(found.volume) if found.volume else "none"
        _title(ax, f"{_model_name(run, model)}: {off} off ratio")
    ends = np.array([ax.get_ylim() for ax in panels])
    for ax in panels:
        ax.set_ylim(ends.min(), ends.max())
    first, second = ({name for _, name in _handles(ax) if "outlet" not in name} for ax in panels)
    legend = panels[1].get_legend()
    if legend is not None and second <= first:
        legend.remove()
    return figure, panels


def flows(run: Run, *, shot: int = -1, ax: Axes | None = None) -> Axes:
    """Liquid flow of both streams through the shut-offs, from open until both are shut.

    The hardener is drawn over the delivered steady ratio and read on the right axis, so that the
    two curves lie on each other where the machine delivers at its ratio.

    Parameters
    ----------
    run, shot, ax
        As for `outlet`.

    Returns
    -------
    Axes
        Times [s], resin flow [mL/s].
    """
    ax = _axes(ax)
    time, rows = _shot_rows(run, shot)
    resin, hardener = (stream.flow[rows] / ML for stream in (run.trace.resin, run.trace.hardener))
    ratio = run.ratio
    ax.plot(time, resin, **_stream_style(run, 0))
    ax.plot(time, hardener / ratio, **_stream_style(run, 1))
    ax.lines[-1].set_label(f"{run.case.labels[1]} (right axis)")
    _mark_x(ax, run.measures.shots[shot].duration, "close")
    right = _second_axis(ax, "y", ratio)
    labels = run.case.labels
    right.set_label_text(f"{labels[1]} flow [mL/s]")
    _time_limits(ax, run, shot)
    _headroom(ax, 0.12)
    _label(ax, "time since the open command [s]", f"{labels[0]} flow [mL/s]")
    _legend(ax)
    return ax


def pressures(run: Run, *, shot: int | None = -1, ax: Axes | None = None) -> Axes:
    """Gauge pressures of both streams at cylinder and head, and at the mixing point.

    Parameters
    ----------
    run, ax
        As for `outlet`.
    shot
        As for `outlet`; None draws the whole run, from its start.

    Returns
    -------
    Axes
        Times [s], pressures [bar], on the right [psi].
    """
    ax = _axes(ax)
    time, rows = _shot_rows(run, shot)
    for side, stream in enumerate((run.trace.resin, run.trace.hardener)):
        style = _stream_style(run, side)
        name, thin = style.pop("label"), _line_width(0.7)
        ax.plot(time, stream.pressure[rows, 0] / BAR, **style, label=f"{name}, cylinder")
        ax.plot(
            time,
            stream.pressure[rows, -1] / BAR,
            **style | {"linewidth": thin, "marker": "ov"[side], "markevery": 0.08, "markersize": 3},
            label=f"{name}, head",
        )
    mixer = run.trace.mixer_pressure[rows] / BAR
    ax.plot(time, mixer, color=_neutral(), linestyle=":", label="mixing point")
    if shot is not None:
        _mark_x(ax, run.measures.shots[shot].duration, "close")
        _time_limits(ax, run, shot)
    ax.set_ylim(bottom=min(0.0, ax.get_ylim()[0]))
    _headroom(ax, 0.3)  # for the legend
    _psi_axis(ax)
    start = "the run began" if shot is None else "the open command"
    _label(ax, f"time since {start} [s]", "gauge pressure [bar]")
    _legend(ax, loc="upper center", ncols=2)
    return ax


def lead(run: Run, *, shot: int = -1, ax: Axes | None = None) -> Axes:
    """Lead of the hardener within a shot, with its peaks, its swing and what is left at close.

    Parameters
    ----------
    run, shot, ax
        As for `outlet`.

    Returns
    -------
    Axes
        Times [s], lead [mL].
    """
    ax = _axes(ax)
    curve, measures = run.lead(shot), run.measures.shots[shot]
    _lead_line(ax, curve, color=_neutral())
    _peaks(ax, curve, measures)
    net = measures.net_lead / ML
    ax.axhline(
        net,
        color=_neutral(),
        linewidth=_line_width(0.6),
        linestyle="-.",
        label=f"net lead at close {_signed(net)} mL",
    )
    _lead_frame(ax, run, shot)
    _swing(ax, measures)
    _legend(ax)
    return ax


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
    figure, (left, right) = _panels(axes, 1, 2)
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
    figure, (upper, lower) = _panels(axes, 2, 1)
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

    colour = _neutral()
    draw(upper, lambda t: t.outlet.soft_volume, color=colour, label="soft volume S")
    draw(upper, lambda t: t.outlet.volume, color=RESIN, linestyle="--", label="off ratio")
    _points(upper, result)
    draw(lower, lambda t: t.outlet.surplus, color=RICH, label="surplus hardener")
    draw(lower, lambda t: t.outlet.missing, color=LEAN, linestyle="--", label="missing hardener")
    draw(lower, lambda t: t.swing, color=colour, linestyle="-.", label="swing")
    draw(lower, lambda t: t.net_lead, color=colour, linestyle=":", label="net lead")
    lower.axhline(0.0, color=colour, linewidth=_line_width(0.4))
    limits = _curve_limits(result, added)
    for ax in (upper, lower):
        _mark_answers(ax, result)
        _mark_limits(ax, result, curve, limits[1])
        _fit(ax, *limits)
    upper.set_ylim(bottom=0.0)
    side = result.case.labels[0 if result.core.curve_sweeps_resin else 1]
    pressure = f"back pressure added by the {side} throttle [bar]"
    _label(upper, pressure, "volume at the outlet [mL]")
    _label(lower, pressure, "volume of hardener [mL]")
    _psi_axis(upper, "x")
    _psi_axis(lower, "x")
    for ax in (upper, lower):
        _headroom(ax, 0.45)
        _legend(ax, loc="upper center", ncols=2)
    return figure, (upper, lower)


def strip(
    run: Run,
    *,
    shot: int = -1,
    instants: Sequence[float] | None = None,
    model: Model = "case",
    ax: Axes | None = None,
) -> Axes:
    """Ratio error inside the mixer at chosen instants: the lead as it travels.

    Each strip is the mixer from inlet to outlet, its middle line is the ratio asked for, and the
    curve within is the ratio error, up for too much hardener. What follows the shot is drawn at the
    delivered steady ratio.

    Parameters
    ----------
    run, shot, model, ax
        As for `outlet`.
    instants
        Liquid that has entered since the open command [m^3]; None: evenly from early in the shot
        until its beginning has left.

    Returns
    -------
    Axes
        Distance from the mixer's inlet [mm]; one strip per instant, the first on top.
    """
    ax = _axes(ax)
    held = _core.hold_up(run.machine.mixer)
    volumes = np.asarray(_instants(held) if instants is None else instants, dtype=float)
    places = (np.arange(_PLACES) + 0.5) / _PLACES
    profiles = _profiles(run, shot, model, places, volumes)
    length = run.machine.mixer.length * 1e3
    distance = np.linspace(0.0, length, _PLACES + 1)
    scale = max(float(np.abs(profiles).max()), 1.5 * _widest_tolerance(run))
    for row, profile in enumerate(profiles):
        _strip(ax, run, distance, profile, scale, -float(row), label=row == 0)
    ax.set_yticks(-np.arange(len(volumes)), _instant_names(run, shot, volumes))
    ax.set_ylim(-len(volumes) + 0.5, 0.5)
    ax.set_xlim(0.0, length)
    ax.tick_params(axis="y", length=0)
    ax.spines[:].set_visible(False)
    _label(ax, "distance from the mixer's inlet [mm]", "since the open command")
    height = f"\N{PLUS-MINUS SIGN}{units.digits(100.0 * scale, 2)} %"
    _title(ax, f"ratio error within the mixer, {_model_name(run, model)}; strip: {height}", pad=20)
    _legend(ax, loc="lower center", bbox_to_anchor=(0.5, 0.98), ncols=3, frameon=False)
    return ax


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
        _title(panels["pressures"], textwrap.fill(run.message, 80))
        return figure, panels
    rows = [["outlet", "lead"], ["strip", "strip"], ["flows", "pressures"]]
    figure, panels = _page(rows, (11.0, 11.0), f"{run.case.title}, shot {_number(run, shot)}")
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
    number = _number(result.before, shot)
    figure, panels = _page(rows, (11.0, 11.0), f"{result.case.title}, shot {number}")
    answer = result.answer
    before_after(answer, shot=shot, axes=(panels["outlet"], panels["lead"]))
    trim_curve(result, axes=(panels["volumes"], panels["hardener"]))
    after = answer.after if answer.feasible else result.before
    pressures(after, shot=shot, ax=panels["pressures"])
    flows(after, shot=shot, ax=panels["flows"])
    for name in ("pressures", "flows"):
        _title(panels[name], "at the answer" if answer.feasible else "as written: no answer")
    return figure, panels


# Data


def _shot_volume(run: Run, shot: int) -> float:
    measures = run.measures.shots[shot]
    return (measures.resin_volume + measures.hardener_volume) / ML


def _moving(run: Run, curve: Outlet) -> tuple[float, float]:
    """Where the ratio error is away from the steady one by a tenth of the tolerance [mL]."""
    away = np.abs(curve.error - (run.ratio / run.target.ratio - 1.0))
    pieces = np.flatnonzero(away > 0.1 * _widest_tolerance(run))
    if not pieces.size:
        return 0.0, float(curve.volume[-1]) / ML
    return float(curve.volume[pieces[0]]) / ML, float(curve.volume[pieces[-1] + 1]) / ML


def _settled(run: Run, shot: int) -> float:
    """Time from which lead and flows stay near what they are at the close command.

    Near: within a fiftieth of the lead's swing, within two hundredths of the flow.
    """
    curve, measures = run.lead(shot), run.measures.shots[shot]
    moving = np.abs(curve.lead - measures.net_lead) > 0.02 * max(
        measures.swing, 0.05 * measures.hardener_volume
    )
    ends = [float(curve.time[moving].max(initial=0.0))]
    span = run.trace.shots[shot]
    rows = slice(span.open, span.close + 1)
    since = run.trace.time[rows] - run.trace.time[span.open]
    for stream in (run.trace.resin, run.trace.hardener):
        flow = stream.flow[rows]
        ends.append(float(since[np.abs(flow - flow[-1]) > 0.02 * abs(flow[-1])].max(initial=0.0)))
    return max(ends)


def _number(run: Run, shot: int) -> str:
    count = len(run.measures.shots)
    return f"{range(count)[shot] + 1} of {count}"


def _shot_rows(run: Run, shot: int | None) -> tuple[Floats, slice]:
    """Time since the open command [s] and its rows, until both shut-offs are shut; None: all."""
    time = run.trace.time
    if shot is None:
        return time, slice(0, len(time))
    span = run.trace.shots[shot]
    rows = slice(span.open, span.shut + 1)
    return time[rows] - time[span.open], rows


def _profiles(run: Run, shot: int, model: Model, places: Floats, volumes: Floats) -> Floats:
    """Ratio error at each place (columns) once each volume (rows) has entered [-]."""
    profiles = np.full((len(volumes), len(places)), run.ratio / run.target.ratio - 1.0)
    for column, place in enumerate(places):
        passing = run.outlet(shot, model, float(place))
        if len(passing.error) == 0:
            continue
        piece = np.searchsorted(passing.volume, volumes, side="right") - 1
        inside = (piece >= 0) & (piece < len(passing.error))
        profiles[inside, column] = passing.error[piece[inside]]
    return profiles


def _instants(held: float) -> Floats:
    return held * np.array([0.1, 0.3, 0.5, 0.7, 0.9, 1.06])


def _instant_names(run: Run, shot: int, volumes: Floats) -> list[str]:
    """Volume, and the time at which it has entered, if within the shot."""
    curve = run.lead(shot)
    entered = np.maximum.accumulate(curve.resin + curve.hardener)
    names = []
    for volume in volumes:
        at = units.digits(float(np.interp(volume, entered, curve.time)), 2)
        when = f"{at} s" if volume <= entered[-1] else "next shot"
        names.append(f"{_volume(volume)}\n{when}")
    return names


def _widest_tolerance(run: Run) -> float:
    return max(run.target.tolerance_high, run.target.tolerance_low)


def _error_limits(run: Run, *curves: Outlet) -> tuple[float, float]:
    """Limits for all of the curves, and never less than twice the tolerance [%]."""
    low, high = 2.0 * run.target.tolerance_low, 2.0 * run.target.tolerance_high
    for curve in curves:
        low = max(low, -float(curve.error.min(initial=0.0)))
        high = max(high, float(curve.error.max(initial=0.0)))
    return -100.0 * (low + 0.15 * (low + high)), 100.0 * (high + 0.2 * (low + high))


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


# Drawing


def _axes(ax: Axes | None) -> Axes:
    if ax is not None:
        return ax
    import matplotlib.pyplot as plt

    return plt.subplots(layout="constrained")[1]


def _panels(
    axes: Sequence[Axes] | None, rows: int, columns: int
) -> tuple[Figure, tuple[Axes, ...]]:
    if axes is not None:
        figure = axes[0].get_figure(root=True)
        assert figure is not None, "the axes given have no figure"
        return figure, tuple(axes)
    import matplotlib.pyplot as plt
    from matplotlib import rcParams

    width, height = rcParams["figure.figsize"]
    size = (width * (1.0 + 0.7 * (columns - 1)), height * (1.0 + 0.5 * (rows - 1)))
    figure, grid = plt.subplots(rows, columns, figsize=size, layout="constrained")
    return figure, tuple(np.ravel(grid))


def _page(rows: list[Any], size: tuple[float, float], title: str) -> tuple[Figure, dict[str, Axes]]:
    import matplotlib.pyplot as plt

    figure, panels = plt.subplot_mosaic(rows, figsize=size, layout="constrained")
    figure.suptitle(title)
    return figure, panels


def _neutral() -> Any:
    """Colour of the style's own text, so that a dark style stays readable."""
    from matplotlib import rcParams

    return rcParams["text.color"]


def _line_width(share: float) -> float:
    from matplotlib import rcParams

    return share * float(rcParams["lines.linewidth"])


def _stream_style(run: Run, side: int) -> dict[str, Any]:
    colour, line = ((RESIN, "-"), (HARDENER, "--"))[side]
    return {"color": colour, "linestyle": line, "label": run.case.labels[side]}


def _steps(ax: Axes, curve: Outlet, **style: Any) -> None:
    ax.stairs(100.0 * curve.error, curve.volume / ML, baseline=None, **style)


def _zones(ax: Axes, run: Run, curve: Outlet) -> None:
    error, edges = 100.0 * curve.error, curve.volume / ML
    high, low = 100.0 * run.target.tolerance_high, -100.0 * run.target.tolerance_low
    for outside, limit, colour, hatch, label in (
        (np.maximum(error, high), high, RICH, _RICH_HATCH, _RICH_LABEL),
        (np.minimum(error, low), low, LEAN, _LEAN_HATCH, _LEAN_LABEL),
    ):
        if np.any(outside != limit):
            ax.stairs(
                outside,
                edges,
                baseline=limit,
                fill=True,
                facecolor=(colour, 0.3),
                edgecolor=colour,
                hatch=hatch,
                linewidth=0.0,
                label=label,
            )


def _tolerance_band(ax: Axes, run: Run) -> None:
    low, high = -100.0 * run.target.tolerance_low, 100.0 * run.target.tolerance_high
    ax.axhspan(low, high, color=_neutral(), alpha=0.08, linewidth=0.0, label="tolerance")
    for limit in (low, high):
        ax.axhline(limit, color=_neutral(), linewidth=_line_width(0.4), linestyle="--")


def _mark_x(ax: Axes, x: float, before: str, after: str = "") -> None:
    """Thin upright line with a word before its top, and one after."""
    ax.axvline(x, color=_neutral(), linewidth=_line_width(0.5), linestyle=":")
    for text, side, offset in ((before, "right", -2), (after, "left", 2)):
        ax.annotate(
            text,
            (x, 1.0),
            xycoords=ax.get_xaxis_transform(),
            xytext=(offset, -4),
            textcoords="offset points",
            ha=side,
            va="top",
            rotation=90,
            fontsize="small",
            annotation_clip=True,
            clip_on=True,
        )


def _mark_hold_up(ax: Axes, run: Run) -> None:
    """Arrow as long as what the mixer holds: how much later a thing leaves than it enters."""
    held = _core.hold_up(run.machine.mixer)
    across = ax.get_xaxis_transform()
    arrow = {"arrowstyle": "->", "color": _neutral(), "shrinkA": 0.0, "shrinkB": 0.0}
    ax.annotate(
        "", (held / ML, 0.05), (0.0, 0.05), xycoords=across, textcoords=across, arrowprops=arrow
    )
    ax.annotate(
        f"the mixer holds {_volume(held)}",
        (0.0, 0.05),
        xycoords=across,
        xytext=(4, 3),
        textcoords="offset points",
        fontsize="small",
    )


def _lead_line(ax: Axes, curve: _core.LeadCurve, **style: Any) -> None:
    ax.plot(curve.time, curve.lead / ML, **{"label": "lead"} | style)


def _lead_frame(ax: Axes, run: Run, shot: int) -> None:
    ax.axhline(0.0, color=_neutral(), linewidth=_line_width(0.4))
    _mark_x(ax, run.measures.shots[shot].duration, "close")
    _time_limits(ax, run, shot)
    ax.margins(y=0.1)
    _headroom(ax, 0.1)
    _label(ax, "time since the open command [s]", "lead of the hardener [mL]")


def _peaks(ax: Axes, curve: _core.LeadCurve, measures: _core.ShotMeasures) -> None:
    """Peaks as triangles, up for hardener ahead."""
    for value, at, marker, colour, name in (
        (measures.peak_lead / ML, curve.lead.argmax(), "^", RICH, "peak lead"),
        (measures.peak_lag / ML, curve.lead.argmin(), "v", LEAN, "peak lag"),
    ):
        ax.plot(
            [curve.time[at]],
            [value],
            marker=marker,
            linestyle="none",
            color=colour,
            label=f"{name} {_signed(value)} mL",
            zorder=3,
        )


def _swing(ax: Axes, measures: _core.ShotMeasures) -> None:
    """Distance between the peaks as an arrow at the right edge."""
    ends = [(0.93, value / ML) for value in (measures.peak_lag, measures.peak_lead)]
    side = ax.get_yaxis_transform()
    arrow = {"arrowstyle": "<->", "color": _neutral(), "shrinkA": 0.0, "shrinkB": 0.0}
    ax.annotate("", ends[1], ends[0], xycoords=side, textcoords=side, arrowprops=arrow)
    ax.annotate(
        f"swing {_volume(measures.swing)}",
        (0.93, (ends[0][1] + ends[1][1]) / 2.0),
        xycoords=side,
        xytext=(-3, 0),
        textcoords="offset points",
        ha="right",
        va="center",
        rotation=90,
        fontsize="small",
    )


def _outlet_before_after(ax: Axes, answer: Answer, shot: int) -> None:
    before = answer.before.outlet(shot)
    shown = [before]
    width = _line_width(1.0)
    _steps(ax, before, color=RESIN, linestyle="--", linewidth=width, label="before")
    if answer.feasible:
        after = answer.after.outlet(shot)
        shown.append(after)
        _steps(ax, after, color=_neutral(), linewidth=width, zorder=3, label="after")
        _zones(ax, answer.after, after)
    _tolerance_band(ax, answer.before)
    spans = [_moving(answer.before, curve) for curve in shown]
    first, last = min(span[0] for span in spans), max(span[1] for span in spans)
    ax.set_xlim(max(first - 0.15 * (last - first), 0.0), last + 0.15 * (last - first))
    ax.set_ylim(*_error_limits(answer.before, *shown))
    _mark_x(ax, _shot_volume(answer.before, shot), "close before", "next shot")
    _label(ax, "liquid dispensed since the open command [mL]", "ratio error [%]")
    _title(ax, f"outlet, {_model_name(answer.before, 'case')}")
    _legend(ax)


def _lead_before_after(ax: Axes, answer: Answer, shot: int) -> None:
    runs = [("before", answer.before, RESIN, "--")]
    if answer.feasible:
        runs.append(("after", answer.after, _neutral(), "-"))
    for name, run, colour, line in runs:
        label = f"{name}: swing {_volume(run.measures.shots[shot].swing)}"
        _lead_line(ax, run.lead(shot), color=colour, linestyle=line, label=label)
    _lead_frame(ax, answer.before, shot)
    _title(ax, "lead")
    _legend(ax)


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
            color=_neutral(),
            alpha=0.12,
            linewidth=0.0,
            label="keeps nine tenths of the gain",
        )
    at = _swept(result, best.core.trial) / BAR
    ax.axvline(at, color=_neutral(), linewidth=_line_width(0.5), linestyle="--")


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
            color=_neutral(),
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
            edgecolor=_neutral(),
            alpha=0.25,
            hatch="xx",
            linewidth=0.0,
            label="not allowed on this curve",
        )
    limit = result.options.max_back_pressure / BAR
    if limit < last:
        _mark_x(ax, limit, "limit")


def _strip(
    ax: Axes,
    run: Run,
    distance: Floats,
    profile: Floats,
    scale: float,
    middle: float,
    *,
    label: bool,
) -> None:
    """One mixer, 0.8 high about `middle`, with its ratio error drawn to +-scale."""
    half = 0.4
    height = half / scale

    def level(error: Any) -> Any:
        return middle + height * error

    edge = _neutral()
    high, low = run.target.tolerance_high, -run.target.tolerance_low
    ax.fill_between(
        distance[[0, -1]],
        level(low),
        level(high),
        color=edge,
        alpha=0.08,
        linewidth=0.0,
        label="tolerance" if label else None,
    )
    for outside, limit, colour, hatch, name in (
        (np.maximum(profile, high), high, RICH, _RICH_HATCH, _RICH_LABEL),
        (np.minimum(profile, low), low, LEAN, _LEAN_HATCH, _LEAN_LABEL),
    ):
        ax.stairs(
            level(outside),
            distance,
            baseline=level(limit),
            fill=True,
            facecolor=(colour, 0.35),
            edgecolor=colour,
            hatch=hatch,
            linewidth=0.0,
            label=name if label else None,
        )
    ax.stairs(level(profile), distance, baseline=None, color=edge, linewidth=_line_width(0.7))
    ends = distance[[0, -1, -1, 0, 0]]
    ax.plot(
        ends,
        middle + half * np.array([-1.0, -1.0, 1.0, 1.0, -1.0]),
        color=edge,
        linewidth=_line_width(0.5),
        clip_on=False,
    )


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


def _psi_axis(ax: Axes, which: Literal["x", "y"] = "y") -> None:
    """Second axis in psi beside one in bar."""
    psi = units.convert(BAR, units.PRESSURE, "psi")  # in one bar
    axis = _second_axis(ax, which, psi)
    if which == "y":
        axis.set_label_text("gauge pressure [psi]")
    else:
        axis.set_label_text("[psi]")


def _second_axis(ax: Axes, which: Literal["x", "y"], factor: float) -> Any:
    """Axis opposite one of `ax`, its values times `factor`."""

    def there(value: Any) -> Any:
        return value * factor

    def back(value: Any) -> Any:
        return value / factor

    if which == "x":
        return ax.secondary_xaxis("top", functions=(there, back)).xaxis
    return ax.secondary_yaxis("right", functions=(there, back)).yaxis


def _headroom(ax: Axes, share: float) -> None:
    """Room above the curves, as a share of their height, for words."""
    bottom, top = ax.get_ylim()
    ax.set_ylim(bottom, top + share * (top - bottom))


def _time_limits(ax: Axes, run: Run, shot: int) -> None:
    """From the open command until well after the lead has settled, at most until both are shut."""
    span = run.trace.shots[shot]
    whole = float(run.trace.time[span.shut] - run.trace.time[span.open])
    window = min(3.0 * _settled(run, shot) or whole, 1.02 * whole)
    ax.set_xlim(-0.02 * window, window)


def _model_name(run: Run, model: Model) -> str:
    """Name a residence model."""
    mixer, kinds = run.machine.mixer, _core.Residence
    if model == "plug" or (model == "case" and mixer.residence == kinds.plug):
        return "plug"
    if model == "case" and mixer.residence == kinds.tanks:
        return f"{units.digits(mixer.tanks)} tanks"
    return f"Pe {units.digits(SIDE_PECLET if model == 'dispersed' else mixer.peclet)}"


def _volume(value: float) -> str:
    return f"{units.digits(value / ML, 2 if value < 10.0 * ML else 3)} mL"


def _signed(value: float) -> str:
    """Two figures with their sign; thousandths of a millilitre are the end of what matters."""
    if abs(value) < 0.0005:
        return "0"
    places = max(0, 1 - math.floor(math.log10(abs(value))))
    return f"{value:+.{min(places, 3)}f}".replace("-", "\N{MINUS SIGN}")


def _label(ax: Axes, x: str, y: str) -> None:
    if x and not ax.get_xlabel():
        ax.set_xlabel(x)
    if y and not ax.get_ylabel():
        ax.set_ylabel(y)


def _title(ax: Axes, text: str, **place: Any) -> None:
    if not ax.get_title():
        ax.set_title(text, fontsize="medium", **place)


def _legend(ax: Axes, **place: Any) -> None:
    """Legend of what is drawn, each name once."""
    named: dict[str, Any] = {}
    for handle, name in _handles(ax):
        named.setdefault(name, handle)
    ax.legend(list(named.values()), list(named), **{"fontsize": "small"} | place)


def _handles(ax: Axes) -> Iterator[tuple[Any, str]]:
    handles, names = ax.get_legend_handles_labels()
    yield from zip(handles, names, strict=True)
