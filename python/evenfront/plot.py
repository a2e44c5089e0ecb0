"""Pictures of a run: outlet, flows, pressures, lead, and the mixer as a strip.

Every function draws through the axes it is given, makes a new figure only where it is given none,
and leaves matplotlib's settings, the screen and the figure's life to the caller. Resin is a solid
line, hardener a dashed one; too much hardener is hatched one way, too little the other, so that
nothing depends on colour. Pressures read in bar and psi.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from evenfront import _core, units
from evenfront.run import BAR, ML, Model, Run

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
from evenfront.plot_base import (
    HARDENER,
    LEAN,
    LEAN_HATCH,
    LEAN_LABEL,
    RESIN,
    RICH,
    RICH_HATCH,
    RICH_LABEL,
    axes_for,
    draw_lead,
    draw_legend,
    draw_steps,
    draw_tolerance,
    draw_zones,
    error_limits,
    frame_lead,
    headroom,
    label_axes,
    legend_handles,
    line_width,
    mark_hold_up,
    mark_x,
    model_name,
    moving_part,
    neutral,
    panels_for,
    psi_axis,
    second_axis,
    shot_rows,
    show_signed,
    show_volume,
    time_limits,
    title_axes,
    volume_of_shot,
    widest_tolerance,
)

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
    ax = axes_for(ax)
    leaving, entering = run.outlet(shot, model), run.outlet(shot, place=0.0)
    name = f"outlet, {model_name(run, model)}"
    draw_steps(ax, leaving, color=neutral(), linewidth=line_width(1.2), zorder=3, label=name)
    draw_steps(ax, entering, color=neutral(), alpha=0.4, linewidth=line_width(0.6), label="inlet")
    draw_tolerance(ax, run)
    draw_zones(ax, run, leaving)
    closed = volume_of_shot(run, shot)
    mark_x(ax, closed, "close", "next shot")
    last = moving_part(run, leaving)[1]
    ax.set_xlim(0.0, 1.04 * max(last, closed, _core.hold_up(run.machine.mixer) / ML))
    ax.set_ylim(*error_limits(run, leaving))
    mark_hold_up(ax, run)
    label_axes(ax, "liquid dispensed since the open command [mL]", "ratio error [%]")
    draw_legend(ax)
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
    figure, panels = panels_for(axes, 1, 2)
    models: tuple[Model, Model] = ("plug", "dispersed")
    for ax, model in zip(panels, models, strict=True):
        outlet(run, shot=shot, model=model, ax=ax)
        measures = run.measures.shots[shot]
        found = measures.outlet_plug if model == "plug" else measures.outlet_dispersed
        off = show_volume(found.volume) if found.volume else "none"
        title_axes(ax, f"{model_name(run, model)}: {off} off ratio")
    ends = np.array([ax.get_ylim() for ax in panels])
    for ax in panels:
        ax.set_ylim(ends.min(), ends.max())
    first, second = (
        {name for _, name in legend_handles(ax) if "outlet" not in name} for ax in panels
    )
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
    ax = axes_for(ax)
    time, rows = shot_rows(run, shot)
    resin, hardener = (stream.flow[rows] / ML for stream in (run.trace.resin, run.trace.hardener))
    ratio = run.ratio
    ax.plot(time, resin, **_stream_style(run, 0))
    ax.plot(time, hardener / ratio, **_stream_style(run, 1))
    ax.lines[-1].set_label(f"{run.case.labels[1]} (right axis)")
    mark_x(ax, run.measures.shots[shot].duration, "close")
    right = second_axis(ax, "y", ratio)
    labels = run.case.labels
    right.set_label_text(f"{labels[1]} flow [mL/s]")
    time_limits(ax, run, shot)
    headroom(ax, 0.12)
    label_axes(ax, "time since the open command [s]", f"{labels[0]} flow [mL/s]")
    draw_legend(ax)
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
    ax = axes_for(ax)
    time, rows = shot_rows(run, shot)
    for side, stream in enumerate((run.trace.resin, run.trace.hardener)):
        style = _stream_style(run, side)
        name, thin = style.pop("label"), line_width(0.7)
        ax.plot(time, stream.pressure[rows, 0] / BAR, **style, label=f"{name}, cylinder")
        ax.plot(
            time,
            stream.pressure[rows, -1] / BAR,
            **style | {"linewidth": thin, "marker": "ov"[side], "markevery": 0.08, "markersize": 3},
            label=f"{name}, head",
        )
    mixer = run.trace.mixer_pressure[rows] / BAR
    ax.plot(time, mixer, color=neutral(), linestyle=":", label="mixing point")
    if shot is not None:
        mark_x(ax, run.measures.shots[shot].duration, "close")
        time_limits(ax, run, shot)
    ax.set_ylim(bottom=min(0.0, ax.get_ylim()[0]))
    headroom(ax, 0.3)  # for the legend
    psi_axis(ax)
    start = "the run began" if shot is None else "the open command"
    label_axes(ax, f"time since {start} [s]", "gauge pressure [bar]")
    draw_legend(ax, loc="upper center", ncols=2)
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
    ax = axes_for(ax)
    curve, measures = run.lead(shot), run.measures.shots[shot]
    draw_lead(ax, curve, color=neutral())
    _peaks(ax, curve, measures)
    net = measures.net_lead / ML
    ax.axhline(
        net,
        color=neutral(),
        linewidth=line_width(0.6),
        linestyle="-.",
        label=f"net lead at close {show_signed(net)} mL",
    )
    frame_lead(ax, run, shot)
    _swing(ax, measures)
    draw_legend(ax)
    return ax


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
    ax = axes_for(ax)
    held = _core.hold_up(run.machine.mixer)
    volumes = np.asarray(_instants(held) if instants is None else instants, dtype=float)
    places = (np.arange(_PLACES) + 0.5) / _PLACES
    profiles = _profiles(run, shot, model, places, volumes)
    length = run.machine.mixer.length * 1e3
    distance = np.linspace(0.0, length, _PLACES + 1)
    scale = max(float(np.abs(profiles).max()), 1.5 * widest_tolerance(run))
    for row, profile in enumerate(profiles):
        _strip(ax, run, distance, profile, scale, -float(row), label=row == 0)
    ax.set_yticks(-np.arange(len(volumes)), _instant_names(run, shot, volumes))
    ax.set_ylim(-len(volumes) + 0.5, 0.5)
    ax.set_xlim(0.0, length)
    ax.tick_params(axis="y", length=0)
    ax.spines[:].set_visible(False)
    label_axes(ax, "distance from the mixer's inlet [mm]", "since the open command")
    height = f"\N{PLUS-MINUS SIGN}{units.digits(100.0 * scale, 2)} %"
    title_axes(
        ax, f"ratio error within the mixer, {model_name(run, model)}; strip: {height}", pad=20
    )
    draw_legend(ax, loc="lower center", bbox_to_anchor=(0.5, 0.98), ncols=3, frameon=False)
    return ax


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
        names.append(f"{show_volume(volume)}\n{when}")
    return names


def _stream_style(run: Run, side: int) -> dict[str, Any]:
    colour, line = ((RESIN, "-"), (HARDENER, "--"))[side]
    return {"color": colour, "linestyle": line, "label": run.case.labels[side]}


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
            label=f"{name} {show_signed(value)} mL",
            zorder=3,
        )


def _swing(ax: Axes, measures: _core.ShotMeasures) -> None:
    """Distance between the peaks as an arrow at the right edge."""
    ends = [(0.93, value / ML) for value in (measures.peak_lag, measures.peak_lead)]
    side = ax.get_yaxis_transform()
    arrow = {"arrowstyle": "<->", "color": neutral(), "shrinkA": 0.0, "shrinkB": 0.0}
    ax.annotate("", ends[1], ends[0], xycoords=side, textcoords=side, arrowprops=arrow)
    ax.annotate(
        f"swing {show_volume(measures.swing)}",
        (0.93, (ends[0][1] + ends[1][1]) / 2.0),
        xycoords=side,
        xytext=(-3, 0),
        textcoords="offset points",
        ha="right",
        va="center",
        rotation=90,
        fontsize="small",
    )


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

    edge = neutral()
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
        (np.maximum(profile, high), high, RICH, RICH_HATCH, RICH_LABEL),
        (np.minimum(profile, low), low, LEAN, LEAN_HATCH, LEAN_LABEL),
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
    ax.stairs(level(profile), distance, baseline=None, color=edge, linewidth=line_width(0.7))
    ends = distance[[0, -1, -1, 0, 0]]
    ax.plot(
        ends,
        middle + half * np.array([-1.0, -1.0, 1.0, 1.0, -1.0]),
        color=edge,
        linewidth=line_width(0.5),
        clip_on=False,
    )
