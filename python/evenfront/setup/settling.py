"""How fast a filler settles while a machine stands."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from evenfront import _core as core
from evenfront import units as u
from evenfront.finding import Finding, Record, Value, values_of
from evenfront.setup.common import FOLLOW, percent

AGITATOR = 30 / 60
"""Speed of a slow tank agitator [1/s]; common practice, no source."""


@dataclass(frozen=True)
class Filler:
    """Particles in a resin.

    Parameters
    ----------
    diameter
        Of the coarse end that decides [m].
    density
        [kg/m^3].
    weight_fraction
        Of the filled resin [-].
    """

    diameter: float
    density: float
    weight_fraction: float


def filler(
    particles: Filler,
    *,
    filled_density: float,
    filled_viscosity: float,
    heights: Mapping[str, float],
    drift: float = 0.01,
    yield_stress: float = 0.0,
    packing: float = 0.64,
    idle: float | None = None,
) -> Finding:
    """How fast filler settles while a machine stands, and how long it may.

    Parameters
    ----------
    particles
        The filler.
    filled_density, filled_viscosity
        Of the filled resin at the temperature it stands at [kg/m^3, Pa s].
    heights
        Over which it settles by place: depth of the tank, bore of a hose that lies, length of an
        upright cylinder [m].
    drift
        Change of filler content allowed, as a share of the height that clears [-].
    yield_stress
        Of the resin [Pa].
    packing
        Densest filler fraction by volume [-].
    idle
        Time it is meant to stand [s].

    Returns
    -------
    Finding; no good if it is meant to stand longer than it may.
    """
    # Density of the liquid alone from that of the filled resin: volumes add.
    liquid_volume = 1.0 / filled_density - particles.weight_fraction / particles.density
    if not 0 <= particles.weight_fraction < 1 or not liquid_volume > 0:
        raise ValueError(
            f"weight_fraction = {particles.weight_fraction:g}, must be below what the density of "
            "the filled resin allows"
        )
    liquid_density = (1.0 - particles.weight_fraction) / liquid_volume
    fraction = core.filler_fraction(particles.weight_fraction, particles.density, liquid_density)
    viscosity = filled_viscosity / core.filled_viscosity(fraction, packing)
    excess = particles.density - liquid_density
    lone = core.terminal_velocity(particles.diameter, excess, viscosity, liquid_density)
    hindered = max(core.hindered_settling(fraction), core.hindered_by_viscosity(fraction))
    speed = abs(lone) * hindered
    holding = core.holding_yield_stress(particles.diameter, excess)
    held = yield_stress >= holding or speed == 0.0
    times = {
        name: math.inf if held else core.idle_time(speed, height, drift)
        for name, height in heights.items()
    }
    shortest = min(times, key=lambda name: times[name])
    good = idle is None or idle <= times[shortest]
    verdict = (
        "the yield stress holds the filler"
        if held
        else f"the {shortest} allows {u.show(times[shortest], u.LONG_TIME)} of idle for "
        f"{percent(drift)} of drift"
    )
    return Finding(
        "Filler",
        good,
        verdict + ".",
        values_of(
            {
                "filler_fraction": ("filler by volume", fraction, u.FRACTION),
                "liquid_density": ("density without filler", liquid_density, u.DENSITY),
                "liquid_viscosity": ("viscosity without filler", viscosity, u.VISCOSITY),
                "lone_speed": ("lone particle sinks", lone, u.SETTLING),
                "settling_speed": ("hindered", 0.0 if held else speed, u.SETTLING),
                "holding_yield_stress": ("yield stress that holds it", holding, u.STRESS),
                "agitator_speed": (
                    "slow agitator (common practice, no source)",
                    AGITATOR,
                    u.ROTATION,
                ),
            }
        ),
        tuple(
            Record(
                name,
                (
                    Value("height", "height", heights[name], u.LENGTH),
                    Value("idle", "longest idle", time, u.LONG_TIME),
                ),
            )
            for name, time in times.items()
        ),
        notes=(
            "Viscosity without filler from that of the filled resin by Krieger and Dougherty; the "
            "faster of two hindered-settling laws is taken.",
        ),
        cautions=(FOLLOW,),
    )
