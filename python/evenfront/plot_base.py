"""What every picture shares: colours and hatches, axes and their words, tolerance, zones, marks.

Everything draws through the axes it is given. Resin is a solid line, hardener a dashed one; too
much hardener is hatched one way, too little the other, so that nothing depends on colour.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from evenfront import _core, units
from evenfront.run import BAR, ML, SIDE_PECLET, Model, Outlet, Run

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
RICH_HATCH, LEAN_HATCH = "////", "\\\\\\\\"
RICH_LABEL, LEAN_LABEL = "too much hardener (soft)", "too little hardener (brittle)"


# Data


def volume_of_shot(run: Run, shot: int) -> float:
    """Liquid of both streams, open to close command [mL]."""
    measures = run.measures.shots[shot]
    return (measures.resin_volume + measures.hardener_volume) / ML


def moving_part(run: Run, curve: Outlet) -> tuple[float, float]:
    """Where the ratio error is away from the steady one by a tenth of the tolerance [mL]."""
    away = np.abs(curve.error - (run.ratio / run.target.ratio - 1.0))
    pieces = np.flatnonzero(away > 0.1 * widest_tolerance(run))
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


def shot_number(run: Run, shot: int) -> str:
    """Tell the number of a shot, and of how many."""
    count = len(run.measures.shots)
    return f"{range(count)[shot] + 1} of {count}"


def shot_rows(run: Run, shot: int | None) -> tuple[Floats, slice]:
    """Time since the open command [s] and its rows, until both shut-offs are shut; None: all."""
    time = run.trace.time
    if shot is None:
        return time, slice(0, len(time))
    span = run.trace.shots[shot]
    rows = slice(span.open, span.shut + 1)
    return time[rows] - time[span.open], rows


def widest_tolerance(run: Run) -> float:
    """Larger of both tolerances [-]."""
    return max(run.target.tolerance_high, run.target.tolerance_low)


def error_limits(run: Run, *curves: Outlet) -> tuple[float, float]:
    """Limits for all of the curves, and never less than twice the tolerance [%]."""
    low, high = 2.0 * run.target.tolerance_low, 2.0 * run.target.tolerance_high
    for curve in curves:
        low = max(low, -float(curve.error.min(initial=0.0)))
        high = max(high, float(curve.error.max(initial=0.0)))
    return -100.0 * (low + 0.15 * (low + high)), 100.0 * (high + 0.2 * (low + high))


# Drawing


def axes_for(ax: Axes | None) -> Axes:
    """Axes given, or those of a new figure."""
    if ax is not None:
        return ax
    import matplotlib.pyplot as plt

    return plt.subplots(layout="constrained")[1]


def panels_for(
    axes: Sequence[Axes] | None, rows: int, columns: int
) -> tuple[Figure, tuple[Axes, ...]]:
    """Axes given and their figure, or a new figure with a grid of them."""
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


def neutral() -> Any:
    """Colour of the style's own text, so that a dark style stays readable."""
    from matplotlib import rcParams

    return rcParams["text.color"]


def line_width(share: float) -> float:
    """Line width, as a share of the caller's own."""
    from matplotlib import rcParams

    return share * float(rcParams["lines.linewidth"])


def draw_steps(ax: Axes, curve: Outlet, **style: Any) -> None:
    """Ratio error of each piece that left [%], over volume [mL]."""
    ax.stairs(100.0 * curve.error, curve.volume / ML, baseline=None, **style)


def draw_zones(ax: Axes, run: Run, curve: Outlet) -> None:
    """Hatch what is outside the tolerance, up to it."""
    error, edges = 100.0 * curve.error, curve.volume / ML
    high, low = 100.0 * run.target.tolerance_high, -100.0 * run.target.tolerance_low
    for outside, limit, colour, hatch, label in (
        (np.maximum(error, high), high, RICH, RICH_HATCH, RICH_LABEL),
        (np.minimum(error, low), low, LEAN, LEAN_HATCH, LEAN_LABEL),
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


def draw_tolerance(ax: Axes, run: Run) -> None:
    """Shade the tolerance band [%]."""
    low, high = -100.0 * run.target.tolerance_low, 100.0 * run.target.tolerance_high
    ax.axhspan(low, high, color=neutral(), alpha=0.08, linewidth=0.0, label="tolerance")
    for limit in (low, high):
        ax.axhline(limit, color=neutral(), linewidth=line_width(0.4), linestyle="--")


def mark_x(ax: Axes, x: float, before: str, after: str = "") -> None:
    """Thin upright line with a word before its top, and one after."""
    ax.axvline(x, color=neutral(), linewidth=line_width(0.5), linestyle=":")
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


def mark_hold_up(ax: Axes, run: Run) -> None:
    """Arrow as long as what the mixer holds: how much later a thing leaves than it enters."""
    held = _core.hold_up(run.machine.mixer)
    across = ax.get_xaxis_transform()
    arrow = {"arrowstyle": "->", "color": neutral(), "shrinkA": 0.0, "shrinkB": 0.0}
    ax.annotate(
        "", (held / ML, 0.05), (0.0, 0.05), xycoords=across, textcoords=across, arrowprops=arrow
    )
    ax.annotate(
        f"the mixer holds {show_volume(held)}",
        (0.0, 0.05),
        xycoords=across,
        xytext=(4, 3),
        textcoords="offset points",
        fontsize="small",
    )


def draw_lead(ax: Axes, curve: _core.LeadCurve, **style: Any) -> None:
    """Lead [mL] over time since the open command [s]."""
    ax.plot(curve.time, curve.lead / ML, **{"label": "lead"} | style)


def frame_lead(ax: Axes, run: Run, shot: int) -> None:
    """Zero line, close command, limits and labels of a lead."""
    ax.axhline(0.0, color=neutral(), linewidth=line_width(0.4))
    mark_x(ax, run.measures.shots[shot].duration, "close")
    time_limits(ax, run, shot)
    ax.margins(y=0.1)
    headroom(ax, 0.1)
    label_axes(ax, "time since the open command [s]", "lead of the hardener [mL]")


def psi_axis(ax: Axes, which: Literal["x", "y"] = "y") -> None:
    """Second axis in psi beside one in bar."""
    psi = units.convert(BAR, units.PRESSURE, "psi")  # in one bar
    axis = second_axis(ax, which, psi)
    if which == "y":
        axis.set_label_text("gauge pressure [psi]")
    else:
        axis.set_label_text("[psi]")


def second_axis(ax: Axes, which: Literal["x", "y"], factor: float) -> Any:
    """Axis opposite one of `ax`, its values times `factor`."""

    def there(value: Any) -> Any:
        return value * factor

    def back(value: Any) -> Any:
        return value / factor

    if which == "x":
        return ax.secondary_xaxis("top", functions=(there, back)).xaxis
    return ax.secondary_yaxis("right", functions=(there, back)).yaxis


def headroom(ax: Axes, share: float) -> None:
    """Room above the curves, as a share of their height, for words."""
    bottom, top = ax.get_ylim()
    ax.set_ylim(bottom, top + share * (top - bottom))


def time_limits(ax: Axes, run: Run, shot: int) -> None:
    """From the open command until well after the lead has settled, at most until both are shut."""
    span = run.trace.shots[shot]
    whole = float(run.trace.time[span.shut] - run.trace.time[span.open])
    window = min(3.0 * _settled(run, shot) or whole, 1.02 * whole)
    ax.set_xlim(-0.02 * window, window)


def model_name(run: Run, model: Model) -> str:
    """Name a residence model."""
    mixer, kinds = run.machine.mixer, _core.Residence
    if model == "plug" or (model == "case" and mixer.residence == kinds.plug):
        return "plug"
    if model == "case" and mixer.residence == kinds.tanks:
        return f"{units.digits(mixer.tanks)} tanks"
    return f"Pe {units.digits(SIDE_PECLET if model == 'dispersed' else mixer.peclet)}"


def show_volume(value: float) -> str:
    """Volume [m^3] in mL."""
    return f"{units.digits(value / ML, 2 if value < 10.0 * ML else 3)} mL"


def show_signed(value: float) -> str:
    """Two figures with their sign; thousandths of a millilitre are the end of what matters."""
    if abs(value) < 0.0005:
        return "0"
    places = max(0, 1 - math.floor(math.log10(abs(value))))
    return f"{value:+.{min(places, 3)}f}".replace("-", "\N{MINUS SIGN}")


def label_axes(ax: Axes, x: str, y: str) -> None:
    """Label axes where the caller has not."""
    if x and not ax.get_xlabel():
        ax.set_xlabel(x)
    if y and not ax.get_ylabel():
        ax.set_ylabel(y)


def title_axes(ax: Axes, text: str, **place: Any) -> None:
    """Title of the axes where the caller has given none."""
    if not ax.get_title():
        ax.set_title(text, fontsize="medium", **place)


def draw_legend(ax: Axes, **place: Any) -> None:
    """Legend of what is drawn, each name once."""
    named: dict[str, Any] = {}
    for handle, name in legend_handles(ax):
        named.setdefault(name, handle)
    ax.legend(list(named.values()), list(named), **{"fontsize": "small"} | place)


def legend_handles(ax: Axes) -> Iterator[tuple[Any, str]]:
    """Give what is drawn with a name, and the name."""
    handles, names = ax.get_legend_handles_labels()
    yield from zip(handles, names, strict=True)
