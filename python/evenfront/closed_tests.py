"""Two tests on the machine with closed shut-offs: stall (what is soft) and leak (what gets away).

Both are least squares with Student's t, so every number carries a 95 % interval, and what the data
cannot tell apart is named.

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

if TYPE_CHECKING:
    from matplotlib.axes import Axes

from evenfront import _core as core
from evenfront import units as u
from evenfront.finding import Finding, Value
from evenfront.setup.common import FOLLOW, RELIEVE

ONE_SIDE = (
    "On one shaft relieve the other side to its tank first: with both closed the stiff side takes "
    "nearly all of the force, and the soft side is not tested. The small piston alone may pass a "
    "rating: hold less force."
)
CONFIDENCE = 0.95
"""Of every interval stated [-]."""


@dataclass(frozen=True)
class Estimate:
    """A fitted value with its interval.

    Parameters
    ----------
    value
        Best estimate [SI].
    low, high
        Ends of the 95 % interval [SI].
    """

    value: float
    low: float
    high: float

    @property
    def half_width(self) -> float:
        """Half the interval's width [SI]."""
        return (self.high - self.low) / 2

    @property
    def told_from_zero(self) -> bool:
        """Whether the interval excludes zero."""
        return self.low > 0 or self.high < 0

    def scaled(self, factor: float) -> Estimate:
        """Give the same times a positive number."""
        return Estimate(self.value * factor, self.low * factor, self.high * factor)

    def shown(self, kind: u.Kind) -> str:
        """Value and interval as people read them."""
        low, high = (u.show(end, kind).split(" (")[0] for end in (self.low, self.high))
        return f"{u.show(self.value, kind)}, 95 %: {low} to {high}"

    def values(self, key: str, label: str, kind: u.Kind) -> tuple[Value, ...]:
        """As three values of a finding, the first telling all."""
        return (
            Value(key, label, self.value, kind, self.shown(kind)),
            Value(f"{key}_low", f"{label}, low", self.low, kind, listed=False),
            Value(f"{key}_high", f"{label}, high", self.high, kind, listed=False),
        )


@dataclass(frozen=True)
class Stall:
    """What a stall test found.

    Parameters
    ----------
    gas
        Free gas on the side, dispersed or in pockets, volume at atmosphere [m^3].
    softness
        Of liquid and walls together, the straight end [m^3/Pa].
    lash
        Volume swept before anything resists [m^3].
    volume
        Liquid closed in [m^3].
    separable
        Whether gas is told apart from lash: its interval is within a quarter of it either way, or
        within 0.1 % of the volume.
    """

    gas: Estimate
    softness: Estimate
    lash: Estimate
    volume: float
    separable: bool


def _estimates(
    design: NDArray[np.float64], residual: NDArray[np.float64], best: NDArray[np.float64]
) -> list[Estimate]:
    """Intervals of a least-squares fit from its (weighted) design matrix and residuals."""
    freedom = residual.size - best.size
    variance = float(residual @ residual) / freedom
    inverse = np.linalg.inv(design.T @ design)
    width = stats.t.ppf(0.5 + CONFIDENCE / 2, freedom) * np.sqrt(variance * np.diag(inverse))
    return [
        Estimate(float(b), float(b - w), float(b + w)) for b, w in zip(best, width, strict=True)
    ]


def fit_stall(
    motion: ArrayLike,
    pressure: ArrayLike,
    area: float,
    volume: float,
    *,
    gas_exponent: float = 1.0,
    pressure_noise: float = 0.0,
    motion_noise: float = 0.0,
) -> Stall:
    """Gas, softness and lash from shaft motion against pressure with closed shut-offs.

    ``area x motion = lash + softness p + gas (1 - (p0/(p0 + p))^(1/n_g))``; linear in its unknowns.
    Where both noises are given, each point is weighted by what they make of it together.

    Parameters
    ----------
    motion
        Of the shaft from where the record starts [m].
    pressure
        Of that side, gauge [Pa], same length, at least 6 points.
    area
        Of the piston [m^2].
    volume
        Liquid closed in [m^3].
    gas_exponent
        n_g [-]; 1 for a slow test.
    pressure_noise, motion_noise
        Standard deviations [Pa, m].

    Returns
    -------
    What was found, with intervals.

    Raises
    ------
    ValueError
        For too few points, or pressures that hardly differ.
    """
    x, p = _record(motion, pressure, "motion", "pressure", least=6)
    if not (area > 0 and volume > 0):
        raise ValueError("area and volume must be above zero")
    if p.min() <= -core.standard_pressure:
        raise ValueError("pressure must stay above -1.01325 bar (gauge)")
    if np.ptp(p) < 2e5:
        raise ValueError("the pressures of a stall test must span at least 2 bar")
    liquid = core.Liquid(density=1.0, bulk_modulus=1.0, gas_exponent=gas_exponent)
    design = np.column_stack([1.0 - core.gas_expansion(liquid, p), p / np.ptp(p), np.ones_like(p)])
    swept = area * x
    weight = np.ones_like(p)
    best, residual = _solve(design, swept)
    if pressure_noise > 0 and motion_noise > 0:
        for _ in range(5):
            # Noise of pressure moves the swept volume by the local slope of the curve.
            ratio = core.gas_expansion(liquid, p)
            slope = best[0] * ratio / (gas_exponent * (core.standard_pressure + p)) + best[
                1
            ] / np.ptp(p)
            weight = 1.0 / np.hypot(area * motion_noise, slope * pressure_noise)
            best, residual = _solve(design * weight[:, None], swept * weight)
    weighted = design * weight[:, None]
    gas, softness, lash = _estimates(weighted, residual, best)
    separable = gas.half_width < max(0.25 * abs(gas.value), 1e-3 * volume)
    return Stall(gas, softness.scaled(1.0 / float(np.ptp(p))), lash, volume, separable)


def _record(
    first: ArrayLike, second: ArrayLike, name: str, other: str, least: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    a, b = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    if a.ndim != 1 or a.shape != b.shape:
        raise ValueError(f"{name} and {other} must be lists of the same length")
    if a.size < least:
        raise ValueError(f"at least {least} points are needed, {a.size} are given")
    if not (np.all(np.isfinite(a)) and np.all(np.isfinite(b))):
        raise ValueError(f"{name} and {other} must be finite numbers")
    return a, b


def stall_test(
    motion: ArrayLike,
    pressure: ArrayLike,
    *,
    area: float,
    volume: float,
    bulk_modulus: float | None = None,
    gas_exponent: float = 1.0,
    pressure_noise: float = 0.0,
    motion_noise: float = 0.0,
) -> Finding:
    """Judge a stall test of one side.

    Parameters
    ----------
    motion, pressure, area, volume, gas_exponent, pressure_noise, motion_noise
        As for `fit_stall`.
    bulk_modulus
        Of the gas-free liquid [Pa]; splits the straight end into liquid and walls.

    Returns
    -------
    Finding; no good if gas, straight end and lash cannot be told apart.
    """
    found = fit_stall(
        motion,
        pressure,
        area,
        volume,
        gas_exponent=gas_exponent,
        pressure_noise=pressure_noise,
        motion_noise=motion_noise,
    )
    # All of it dispersed: V a0 = gas; the liquid's own share of the volume is V (1 - a0).
    fraction = found.gas.scaled(1.0 / volume)
    values = [
        *fraction.values("free_gas", "free gas if all is dispersed", u.FRACTION),
        *found.gas.values("gas_volume", "the same as one pocket", u.VOLUME),
        *found.softness.values("softness", "straight end: liquid and walls", u.SOFTNESS),
        *found.lash.scaled(1.0 / area).values("lash", "jump at the start", u.LENGTH),
    ]
    notes = [
        "Gas in the liquid and gas in a pocket give one and the same curve; a second test at "
        "another shaft position tells them apart, since only the first grows with the volume."
    ]
    if bulk_modulus is not None:
        liquid = volume * (1.0 - fraction.value) / bulk_modulus
        walls = Estimate(
            *(
                end - liquid
                for end in (found.softness.value, found.softness.low, found.softness.high)
            )
        )
        values += walls.values("wall_softness", "of which walls", u.SOFTNESS)
    else:
        notes.append(
            "Liquid and walls are one straight line here: with the liquid's bulk modulus the "
            "walls' share follows."
        )
    unknown = [
        f"{label} is not told from zero (at most {u.show(estimate.high, kind)})"
        for label, estimate, kind in (
            ("gas", found.gas, u.VOLUME),
            ("the jump", found.lash.scaled(1.0 / area), u.LENGTH),
        )
        if not estimate.told_from_zero
    ]
    notes += [sentence[0].upper() + sentence[1:] + "." for sentence in unknown]
    good = found.separable and found.softness.low > 0
    if good:
        verdict = (
            f"{fraction.shown(u.FRACTION)} of free gas, or a pocket of "
            f"{u.show(found.gas.value, u.VOLUME)}."
        )
    elif not found.separable:
        verdict = (
            "gas and a jump at the start cannot be told apart: record the first 2 bar as well."
        )
    else:
        verdict = "the straight end is lost in the noise: go to a higher pressure."
    return Finding(
        "Stall test",
        good,
        verdict,
        tuple(values),
        (),
        tuple(notes),
        (ONE_SIDE, RELIEVE, FOLLOW),
    )


def separate_gas(first: Stall, second: Stall) -> Finding:
    """Gas in the liquid and gas in a pocket, from stall tests at two shaft positions.

    Parameters
    ----------
    first, second
        Of the same side with different volumes closed in.

    Returns
    -------
    Finding; no good if the volumes are too alike to tell.
    """
    change = first.volume - second.volume
    if change == 0:
        raise ValueError("the two stall tests must close in different volumes")
    fraction = (first.gas.value - second.gas.value) / change
    width = math.hypot(first.gas.half_width, second.gas.half_width) / abs(change)
    pocket = first.gas.value - fraction * first.volume
    pocket_width = math.hypot(
        first.gas.half_width * second.volume, second.gas.half_width * first.volume
    ) / abs(change)
    dispersed = Estimate(fraction, fraction - width, fraction + width)
    trapped = Estimate(pocket, pocket - pocket_width, pocket + pocket_width)
    good = dispersed.told_from_zero or trapped.told_from_zero
    return Finding(
        "Two stall tests",
        good,
        f"{dispersed.shown(u.FRACTION)} in the liquid, {trapped.shown(u.VOLUME)} in a pocket."
        if good
        else "the two positions are too alike to tell gas in the liquid from a pocket.",
        (
            *dispersed.values("free_gas", "free gas in the liquid", u.FRACTION),
            *trapped.values("pocket", "pocket", u.VOLUME),
        ),
        cautions=(RELIEVE, FOLLOW),
    )


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
    t, x = _record(time, motion, "time", "motion", least=8)
    if not np.all(np.diff(t) > 0):
        raise ValueError("time must rise from point to point")
    t = t - t[0]
    span = float(t[-1])
    straight = np.column_stack([t / span, np.ones_like(t)])
    line, left = _solve(straight, x)

    def decaying(tau: float) -> NDArray[np.float64]:
        return np.column_stack([straight, np.exp(-t / tau)])

    def cost(log_tau: float) -> float:
        return float(np.sum(_solve(decaying(math.exp(log_tau)), x)[1] ** 2))

    shortest = max(float(np.diff(t).min()), span / 1000)
    grid = np.linspace(math.log(shortest), math.log(span), 40)
    start = int(np.argmin([cost(each) for each in grid]))
    bounds = grid[max(start - 1, 0)], grid[min(start + 1, grid.size - 1)]
    log_tau = float(optimize.minimize_scalar(cost, bounds=bounds, method="bounded").x)
    tau = math.exp(log_tau)
    best, remaining = _solve(decaying(tau), x)
    # Two more unknowns must explain more than noise would in one record of a thousand.
    freedom = t.size - 4
    gain = (left @ left - remaining @ remaining) / 2
    noise = remaining @ remaining / freedom
    if noise == 0.0 or gain / noise > stats.f.isf(1e-3, 2, freedom):
        by_tau = best[2] * np.exp(-t / tau) * t / tau
        design = np.column_stack([decaying(tau), by_tau])
        speed = _estimates(design, remaining, np.array([*best, log_tau]))[0]
        return Creep(speed.scaled(1 / span), tau)
    speed = _estimates(straight, left, line)[0]
    return Creep(speed.scaled(1 / span), math.nan)


def _solve(
    design: NDArray[np.float64], data: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    best = np.asarray(np.linalg.lstsq(design, data, rcond=None)[0], dtype=np.float64)
    return best, data - design @ best


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


def plot_stall(
    motion: ArrayLike,
    pressure: ArrayLike,
    found: Stall,
    area: float,
    *,
    gas_exponent: float = 1.0,
    ax: Axes | None = None,
    **style: Any,
) -> Axes:
    """Draw a stall test, its fit, and what would be left of it without gas.

    Parameters
    ----------
    motion, pressure
        The record [m, Pa].
    found
        Of `fit_stall`.
    area
        Of the piston [m^2].
    gas_exponent
        As in the fit [-].
    ax
        To draw on; default a new figure.
    style
        Handed to the line of the fit.

    Returns
    -------
    The axes.
    """
    ax = _axes(ax)
    p = np.linspace(0.0, float(np.max(np.asarray(pressure))), 300)
    liquid = core.Liquid(density=1.0, bulk_modulus=1.0, gas_exponent=gas_exponent)
    straight = found.lash.value + found.softness.value * p
    curve = straight + found.gas.value * (1.0 - core.gas_expansion(liquid, p))
    bar = u.convert(1.0, u.PRESSURE, "bar")
    mm = u.convert(1.0, u.LENGTH, "mm")
    ax.plot(
        np.asarray(pressure) * bar,
        np.asarray(motion) * mm,
        "o",
        markersize=4,
        markerfacecolor="none",
        color="0.4",
        label="record",
    )
    ax.plot(p * bar, curve / area * mm, **{"color": "black", "label": "fit", **style})
    ax.plot(p * bar, straight / area * mm, "--", color="black", label="without gas")
    ax.set_xlabel("pressure [bar]")
    ax.set_ylabel("shaft motion [mm]")
    ax.legend()
    return ax


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
    ax = _axes(ax)
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


def _axes(ax: Axes | None) -> Axes:
    if ax is not None:
        return ax
    import matplotlib.pyplot as plt

    return plt.subplots(layout="constrained")[1]


def read_columns(text: str, columns: dict[str, u.Kind]) -> dict[str, NDArray[np.float64]]:
    """Columns of a table of comma-separated values.

    Parameters
    ----------
    text
        The first line names the columns with their units: ``time [s],motion [mm]``.
    columns
        Name and kind of each column wanted; others are passed over.

    Returns
    -------
    Values by name [SI].

    Raises
    ------
    ValueError
        With one line for each problem.
    """
    import csv

    rows = [row for row in csv.reader(text.splitlines()) if row and "".join(row).strip()]
    if not rows:
        raise ValueError("the file is empty")
    head = [cell.strip() for cell in rows[0]]
    found: dict[str, NDArray[np.float64]] = {}
    problems: list[str] = []
    for name, kind in columns.items():
        at = [i for i, cell in enumerate(head) if cell.split("[")[0].strip() == name]
        if len(at) != 1 or not head[at[0]].endswith("]"):
            wanted = f"{name} [{kind.shown[0]}]"
            problems.append(f'needs one column "{wanted}" in its first line')
            continue
        unit = head[at[0]].split("[")[1].rstrip("] ")
        numbers = []
        for line, row in enumerate(rows[1:], start=2):
            cell = row[at[0]].strip() if at[0] < len(row) else ""
            try:
                numbers.append(u.si(f"{cell} {unit}", kind))
            except u.UnitError as reason:
                problems.append(f'line {line}, {name} "{cell}": {reason}')
                break
        found[name] = np.array(numbers)
    if problems:
        raise ValueError("\n".join(problems))
    return found
