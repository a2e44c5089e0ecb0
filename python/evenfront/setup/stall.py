"""Stall test with closed shut-offs: what is soft, gas, liquid and walls, lash.

On one shaft the stiff side takes nearly all of the force while both shut-offs are closed: test one
side with the other relieved to its tank, and mind that side's ratings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from evenfront import _core as core
from evenfront import units as u
from evenfront.finding import Finding
from evenfront.plot_base import axes_for
from evenfront.setup.common import FOLLOW, ONE_SIDE, RELIEVE
from evenfront.setup.estimate import Estimate, checked_record, intervals, least_squares

if TYPE_CHECKING:
    from matplotlib.axes import Axes


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
    x, p = checked_record(motion, pressure, "motion", "pressure", least=6)
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
    best, residual = least_squares(design, swept)
    if pressure_noise > 0 and motion_noise > 0:
        for _ in range(5):
            # Noise of pressure moves the swept volume by the local slope of the curve.
            ratio = core.gas_expansion(liquid, p)
            slope = best[0] * ratio / (gas_exponent * (core.standard_pressure + p)) + best[
                1
            ] / np.ptp(p)
            weight = 1.0 / np.hypot(area * motion_noise, slope * pressure_noise)
            best, residual = least_squares(design * weight[:, None], swept * weight)
    weighted = design * weight[:, None]
    gas, softness, lash = intervals(weighted, residual, best)
    separable = gas.half_width < max(0.25 * abs(gas.value), 1e-3 * volume)
    return Stall(gas, softness.scaled(1.0 / float(np.ptp(p))), lash, volume, separable)


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
    ax = axes_for(ax)
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
