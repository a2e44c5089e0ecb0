"""Leak test with closed shut-offs: what gets away, from the creep of a shaft that is held.

On one shaft the stiff side takes nearly all of the force while both shut-offs are closed: test one
side with the other relieved to its tank, and mind that side's ratings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize, stats

from evenfront import _core as core
from evenfront import units as u
from evenfront.finding import Finding, Value
from evenfront.plot_base import axes_for
from evenfront.setup.common import FOLLOW, ONE_SIDE, RELIEVE
from evenfront.setup.estimate import Estimate, checked_record, intervals, least_squares

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@dataclass(frozen=True)
class Creep:
    """What a leak test found.

    Parameters
    ----------
    speed
        Of the shaft once packing has died out [m/s].
    packing_time
        Time constant of the packing [s]; NaN where none shows.
    """

    speed: Estimate
    packing_time: float


def fit_creep(time: ArrayLike, motion: ArrayLike) -> Creep:
    """Steady creep of a shaft held against closed shut-offs.

    ``motion = start + speed t - packing exp(-t/packing_time)``, or without the last term where an
    F test does not see it at one in a thousand.

    Parameters
    ----------
    time
        Since the hold began [s], at least 8 points, rising.
    motion
        Of the shaft [m].

    Returns
    -------
    Speed with its interval, and the packing's time constant.

    Raises
    ------
    ValueError
        For too few points, or times that do not rise.
    """
    t, x = checked_record(time, motion, "time", "motion", least=8)
    if not np.all(np.diff(t) > 0):
        raise ValueError("time must rise from point to point")
    t = t - t[0]
    span = float(t[-1])
    straight = np.column_stack([t / span, np.ones_like(t)])
    line, left = least_squares(straight, x)

    def decaying(tau: float) -> NDArray[np.float64]:
        return np.column_stack([straight, np.exp(-t / tau)])

    def cost(log_tau: float) -> float:
        return float(np.sum(least_squares(decaying(math.exp(log_tau)), x)[1] ** 2))

    shortest = max(float(np.diff(t).min()), span / 1000)
    grid = np.linspace(math.log(shortest), math.log(span), 40)
    start = int(np.argmin([cost(each) for each in grid]))
    bounds = grid[max(start - 1, 0)], grid[min(start + 1, grid.size - 1)]
    log_tau = float(optimize.minimize_scalar(cost, bounds=bounds, method="bounded").x)
    tau = math.exp(log_tau)
    best, remaining = least_squares(decaying(tau), x)
    # Two more unknowns must explain more than noise would in one record of a thousand.
    freedom = t.size - 4
    gain = (left @ left - remaining @ remaining) / 2
    noise = remaining @ remaining / freedom
    if noise == 0.0 or gain / noise > stats.f.isf(1e-3, 2, freedom):
        by_tau = best[2] * np.exp(-t / tau) * t / tau
        design = np.column_stack([decaying(tau), by_tau])
        speed = intervals(design, remaining, np.array([*best, log_tau]))[0]
        return Creep(speed.scaled(1 / span), tau)
    speed = intervals(straight, left, line)[0]
    return Creep(speed.scaled(1 / span), math.nan)


def leak_test(
    time: ArrayLike,
    motion: ArrayLike,
    *,
    area: float,
    pressure: float,
    flow: float,
    side: str = "hardener",
    share: float = 0.01,
) -> Finding:
    """Judge a leak test of one side: held at a pressure with closed shut-offs.

    Parameters
    ----------
    time, motion
        As for `fit_creep`.
    area
        Of that side's piston [m^2].
    pressure
        Of that side during the test and in work, gauge [Pa].
    flow
        Metered by that side in work [m^3/s].
    side
        ``"hardener"`` or ``"resin"``.
    share
        Ratio error a leak may cost [-].

    Returns
    -------
    Finding; no good if the leak may cost more than `share`, or packing had not died out.
    """
    if not (area > 0 and pressure > 0 and flow > 0):
        raise ValueError("area, pressure and flow must be above zero")
    if side not in ("hardener", "resin"):
        raise ValueError(f'side = "{side}", must be "hardener" or "resin"')
    t = np.asarray(time, dtype=float)
    creep = fit_creep(time, motion)
    leak = creep.speed.scaled(area / pressure)
    error = core.hardener_leak_error if side == "hardener" else core.resin_leak_error

    def ratio_error(each: float) -> float:
        return error(max(each, 0.0), pressure, flow) if each * pressure < flow else math.inf

    most = max(leak.high, 0.0)
    died_out = not creep.packing_time > (t[-1] - t[0]) / 3
    values = (
        *leak.values("leak", "leak", u.CONDUCTANCE),
        *creep.speed.values("creep", "creep", u.SPEED),
        Value("packing_time", "packing dies out in", creep.packing_time, u.TIME),
        Value("ratio_error", "ratio error in work", ratio_error(leak.value), u.FRACTION),
        Value("ratio_error_most", "at most", ratio_error(leak.high), u.FRACTION),
        Value(
            "greatest_pressure",
            f"greatest pressure for {u.show(share, u.FRACTION)}",
            core.pressure_for_leak(leak.value, flow, share) if leak.value > 0 else math.inf,
            u.PRESSURE,
        ),
    )
    good = died_out and most * pressure <= share * flow
    if not died_out:
        verdict = "packing had not died out: hold longer; what creeps is not all leak."
    else:
        verdict = (
            f"the leak costs {u.show(ratio_error(leak.value), u.FRACTION)} of ratio, "
            f"{'at most' if good else 'perhaps'} {u.show(ratio_error(leak.high), u.FRACTION)}."
        )
    notes = [] if leak.told_from_zero else ["The leak is not told from zero by this record."]
    return Finding(
        "Leak test", good, verdict, values, (), tuple(notes), (ONE_SIDE, RELIEVE, FOLLOW)
    )


def plot_creep(
    time: ArrayLike, motion: ArrayLike, found: Creep, *, ax: Axes | None = None, **style: Any
) -> Axes:
    """Draw a leak test and the line of its steady creep.

    Parameters
    ----------
    time, motion
        The record [s, m].
    found
        Of `fit_creep`.
    ax
        To draw on; default a new figure.
    style
        Handed to the line.

    Returns
    -------
    The axes.
    """
    ax = axes_for(ax)
    t, x = np.asarray(time, dtype=float), np.asarray(motion, dtype=float)
    # The last third carries the line: packing has died out there if it has at all.
    late = t > t[-1] - (t[-1] - t[0]) / 3
    offset = float(np.mean(x[late] - found.speed.value * t[late]))
    mm = u.convert(1.0, u.LENGTH, "mm")
    ax.plot(t, x * mm, "o", markersize=3, markerfacecolor="none", color="0.4", label="record")
    line = (offset + found.speed.value * t) * mm
    ax.plot(t, line, **{"color": "black", "label": "steady creep", **style})
    ax.set_xlabel("time since the hold began [s]")
    ax.set_ylabel("shaft motion [mm]")
    ax.legend()
    return ax
