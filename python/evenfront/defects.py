"""What each cause of a soft or brittle part does to the machine.

Every way of a cause has one parameter with a plausible range, on which all values (their
logarithms where `log`) are equally likely; the ranges are common practice, no source. Where the
core has no lever for a cause, its function says what stands for it. A function gives no way where
the cause cannot show on the machine.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from evenfront import _core
from evenfront import units as u
from evenfront.trimming import Side
from evenfront.units import Kind
from evenfront.watched import Setup

Change = Callable[[Setup, float], Setup]

FACTOR = Kind("a factor", "", (), ("times",))
"""Kind of a parameter that multiplies what the case says."""
PECLET = Kind("a Peclet number of the whole mixer", "", (), ("",))
"""Kind of a parameter that says how residence times spread."""
_SIDES: tuple[Side, Side] = ("resin", "hardener")
MOST_POCKET = 0.9
"""Share of a piece of line that free air may fill [-]."""
ROOM = 293.15
"""[K]."""
PAUSE = 300.0
"""Shortest dwell that counts as a pause for a cold line [s]; ours."""
IDLE_TIME = 900.0
"""Time constant with which a hose cools in still air [s]; common practice, no source."""
FAR = 50.0
"""Change of the logarithm of a resistance that goes past both ends of any valve's travel."""
LEAST_CROSSOVER = 2e-8
"""Least volume pushed back by which a check valve that stays open shows [m^3]; ours."""
FILLER = 0.40
"""Volume share of filler in the resin where it is as it should be [-]; common practice."""
DENSEST = 0.64
"""Volume share at which filler jams [-], spheres of one size at random; common practice."""
FILLER_DENSITY = 2650.0
"""[kg/m^3], quartz; common practice."""


@dataclass(frozen=True)
class Variant:
    """One way in which a cause shows.

    Parameters
    ----------
    name
        Where it sits, as it ends a sentence; empty where there is but one way.
    change
        The changed setup, from the setup and the parameter.
    low, high
        Range of the parameter [SI unit of `kind`].
    kind
        What the parameter is.
    log
        Whether its logarithm is equally likely all over the range.
    """

    name: str
    change: Change
    low: float
    high: float
    kind: Kind
    log: bool = True

    def at(self, share: float) -> float:
        """Parameter at a share of the range, 0 ... 1."""
        if self.log:
            return self.low * math.exp(share * math.log(self.high / self.low))
        return self.low + share * (self.high - self.low)

    def shown(self, value: float) -> str:
        """Parameter as people read it; empty where there is nothing to vary."""
        if self.low == self.high:
            return ""
        if self.kind in (FACTOR, PECLET):
            return f"{u.digits(value)} {self.kind.shown[0]}".strip()
        return u.show(value, self.kind)


def _stream(setup: Setup, side: Side, **changes: Any) -> Setup:
    stream = getattr(setup.machine, side).replace(**changes)
    return replace(setup, machine=setup.machine.replace(**{side: stream}))


def _part(setup: Setup, side: Side, part: str, **changes: Any) -> Setup:
    """Change fields of the liquid, cylinder, throttle, shut-off or feed of a stream."""
    struct = getattr(getattr(setup.machine, side), part)
    return _stream(setup, side, **{part: struct.replace(**changes)})


def _piece(setup: Setup, side: Side, index: int, **changes: Any) -> Setup:
    line = list(getattr(setup.machine, side).line)
    line[index] = line[index].replace(**changes)
    return _stream(setup, side, line=line)


def _steps(setup: Setup) -> set[str]:
    return {step.kind.name for step in setup.sequence.steps}


def start_up(setup: Setup) -> list[Variant]:
    """Take the machine as it is; hoses give up to a quarter more or less than stated."""

    def softer(setup: Setup, factor: float) -> Setup:
        return _softer(_softer(setup, "resin", factor), "hardener", factor)

    return [Variant("", softer, 0.8, 1.25, FACTOR)]


def _softer(setup: Setup, side: Side, factor: float) -> Setup:
    """Let the hoses of a stream give more."""
    line = [
        piece.replace(wall_expansion=factor * piece.wall_expansion)
        for piece in getattr(setup.machine, side).line
    ]
    return _stream(setup, side, line=line)


def gas_in_resin(setup: Setup) -> list[Variant]:
    """Stir 1 ... 10 % of free gas into the resin, half as much again as in the case at least."""
    low = max(0.01, 1.5 * setup.machine.resin.liquid.free_gas)

    def stirred(setup: Setup, share: float) -> Setup:
        return _part(setup, "resin", "liquid", free_gas=share)

    return [Variant("", stirred, low, max(0.1, 2.0 * low), u.FRACTION)]


def pocket_in_hardener(setup: Setup) -> list[Variant]:
    """Free air in the last piece of the hardener's line that holds it, or in its cylinder."""
    line = setup.machine.hardener.line
    room = [MOST_POCKET * math.pi / 4.0 * piece.bore**2 * piece.length for piece in line]
    most = min(3e-6, max(room))
    last = max(i for i, volume in enumerate(room) if volume >= most)

    def in_line(setup: Setup, volume: float) -> Setup:
        return _piece(setup, "hardener", last, pocket=volume)

    def in_cylinder(setup: Setup, volume: float) -> Setup:
        return _part(setup, "hardener", "cylinder", pocket=volume)

    return [
        Variant(f"in the {line[last].name}", in_line, 0.2e-6, most, u.VOLUME),
        Variant("in the cylinder", in_cylinder, 0.2e-6, 3e-6, u.VOLUME),
    ]


def throttle(setup: Setup) -> list[Variant]:
    """Close a throttle until it takes 2 ... 40 bar of the steady flow more than it should.

    Or, where it takes more than 2 bar as it should be, open it until it takes a tenth to a half. A
    rated valve goes to the ends of its table or travel at most.
    """
    steady = _core.steady_state(setup.machine)
    variants: list[Variant] = []
    for side, flow in zip(_SIDES, (steady.resin, steady.hardener), strict=True):
        throttle = getattr(setup.machine, side).throttle
        loss = flow.throttle_loss
        if not loss > 0.0:
            continue

        def times(setup: Setup, factor: float, side: Side = side) -> Setup:
            throttle = getattr(setup.machine, side).throttle
            value = _core.log_resistance(throttle) + math.log(factor)
            return _stream(setup, side, throttle=_core.with_log_resistance(throttle, value))

        least, most = 1.0 + 2e5 / loss, 1.0 + 4e6 / loss
        opens = True
        if throttle.valve is not None:
            here = _core.log_resistance(throttle)
            wide, tight = (
                _core.log_resistance(_core.with_log_resistance(throttle, here + step)) - here
                for step in (-FAR, FAR)
            )
            most = min(most, math.exp(tight))
            opens = math.exp(wide) < 0.5
        if most > least:
            variants.append(Variant(f"{side} closed too far", times, least, most, FACTOR))
        if loss > 2e5 and opens:
            variants.append(Variant(f"{side} too far open", times, 0.1, 0.5, FACTOR))
    return variants


def skew(setup: Setup) -> list[Variant]:
    """Let one shut-off open 40 ... 400 ms later."""

    def late(side: Side) -> Change:
        def change(setup: Setup, delay: float) -> Setup:
            written = getattr(setup.machine, side).shutoff.delay
            return _part(setup, side, "shutoff", delay=written + delay)

        return change

    return [Variant(f"{side} opens late", late(side), 0.04, 0.4, u.TIME) for side in _SIDES]


def seal_leak(setup: Setup) -> list[Variant]:
    """Worn seal of the hardener's piston: 0.05 ... 2 mL/min/bar."""

    def worn(setup: Setup, leak: float) -> Setup:
        return _part(setup, "hardener", "cylinder", leak=leak)

    unit = 1e-6 / 60.0 / 1e5
    return [Variant("at the hardener's piston", worn, 0.05 * unit, 2.0 * unit, u.CONDUCTANCE)]


def starved(setup: Setup) -> list[Variant]:
    """Feed line narrowed (strainer, skin, kink): its bore falls to a quarter ... two thirds."""
    if "refill" not in _steps(setup):
        return []

    def narrowed(side: Side) -> Change:
        def change(setup: Setup, factor: float) -> Setup:
            feed = getattr(setup.machine, side).feed
            return _part(setup, side, "feed", bore=factor * feed.bore)

        return change

    return [
        Variant(f"bore of the {side}'s feed", narrowed(side), 0.25, 0.67, FACTOR) for side in _SIDES
    ]


def settled(setup: Setup) -> list[Variant]:
    """Filler settled in the tank: resin drawn from below holds more of it, from above less.

    No lever of the core: filler 40 % by volume of the good resin, 2 ... 15 points more or less in
    what is drawn. Viscosity by Krieger and Dougherty, (1 - phi/0.64)^-1.6; density by the rule of
    mixtures; what reacts per volume goes with 1 - phi, which shifts the ratio that matters.
    """

    def drawn(sign: float) -> Change:
        def change(setup: Setup, points: float) -> Setup:
            share = FILLER + sign * points
            resin = setup.machine.resin
            thicker = ((1.0 - share / DENSEST) / (1.0 - FILLER / DENSEST)) ** (-2.5 * DENSEST)
            rheology = _thicker(resin.rheology, thicker)
            density = resin.liquid.density
            binder = (density - FILLER * FILLER_DENSITY) / (1.0 - FILLER)
            mixed = share * FILLER_DENSITY + (1.0 - share) * max(binder, 900.0)
            usual = FILLER * FILLER_DENSITY + (1.0 - FILLER) * max(binder, 900.0)
            changed = _stream(setup, "resin", rheology=rheology)
            return replace(
                changed,
                resin_density=mixed / usual,
                reactive=(1.0 - share) / (1.0 - FILLER),
            )

        return change

    return [
        Variant("more filler than it should have", drawn(1.0), 0.02, 0.15, u.FRACTION),
        Variant("less filler than it should have", drawn(-1.0), 0.02, 0.15, u.FRACTION),
    ]


def _thicker(rheology: _core.Rheology, factor: float) -> _core.Rheology:
    changed: dict[str, Any] = {
        "consistency": factor * rheology.consistency,
        "yield_stress": factor * rheology.yield_stress,
    }
    return rheology.replace(**changed)


def bore(setup: Setup) -> list[Variant]:
    """Hardener cylinder 1 ... 8 % too wide or too narrow."""

    def other(sign: float) -> Change:
        def change(setup: Setup, share: float) -> Setup:
            bore = setup.machine.hardener.cylinder.bore
            return _part(setup, "hardener", "cylinder", bore=bore * (1.0 + sign * share))

        return change

    return [
        Variant("hardener too wide", other(1.0), 0.01, 0.08, u.FRACTION),
        Variant("hardener too narrow", other(-1.0), 0.01, 0.08, u.FRACTION),
    ]


def elements(setup: Setup) -> list[Variant]:
    """Residence times spread as by dispersion at Pe 3 ... 30 of the whole mixer."""

    def spread(setup: Setup, peclet: float) -> Setup:
        mixer = setup.machine.mixer.replace(residence="dispersion", peclet=peclet)
        return replace(setup, machine=setup.machine.replace(mixer=mixer))

    return [Variant("", spread, 3.0, 30.0, PECLET)]


def gelled(setup: Setup) -> list[Variant]:
    """Skin of gel on the walls: resistance 2 ... 10 times, free area its inverse square root."""

    def narrowed(setup: Setup, factor: float) -> Setup:
        mixer = setup.machine.mixer
        changed = mixer.replace(
            pressure_multiplier=mixer.pressure_multiplier * factor,
            void_fraction=mixer.void_fraction / math.sqrt(factor),
        )
        return replace(setup, machine=setup.machine.replace(mixer=changed))

    return [Variant("resistance", narrowed, 2.0, 10.0, FACTOR)]


def drool(setup: Setup) -> list[Variant]:
    """One shut-off that does not close tight: 0.05 ... 1 mL of its stream between two shots.

    No lever of the core: what dribbles enters the mixer between the shots and pushes as much blend
    out of it, which does not reach the part. Under a held drive the cylinder makes up for it.
    """

    def dribbles(side: int) -> Change:
        def change(setup: Setup, volume: float) -> Setup:
            return replace(setup, drool=(volume, 0.0) if side == 0 else (0.0, volume))

        return change

    return [
        Variant("hardener between two shots", dribbles(1), 0.05e-6, 1e-6, u.VOLUME),
        Variant("resin between two shots", dribbles(0), 0.5e-6, 10e-6, u.VOLUME),
    ]


def cold(setup: Setup) -> list[Variant]:
    """Let a piece of the resin's line that is warmer than 30 degC cool by 5 ... 30 K in a pause.

    As in `IDLE_TIME`; a dwell of at least five minutes counts as a pause.
    """
    paused = any(s.kind.name == "dwell" and s.amount >= PAUSE for s in setup.sequence.steps)
    line = setup.machine.resin.line
    warm = [i for i, piece in enumerate(line) if piece.temperature > ROOM + 10.0]
    if not paused or not warm:
        return []
    longest = max(warm, key=lambda i: line[i].length)

    def cools(index: int) -> Change:
        def change(setup: Setup, drop: float) -> Setup:
            to = setup.machine.resin.line[index].temperature - drop
            return _piece(setup, "resin", index, idle_temperature=to, idle_time=IDLE_TIME)

        return change

    return [
        Variant(
            f"the resin's {line[i].name} cools by",
            cools(i),
            5.0,
            min(30.0, line[i].temperature - ROOM),
            u.TEMPERATURE_DIFFERENCE,
            log=False,
        )
        for i in sorted({longest, warm[-1]})
    ]


def suck_back(setup: Setup) -> list[Variant]:
    """Shut-off that draws 0.02 ... 0.5 mL back as it closes; a check valve lets it draw nothing."""

    def draws(side: Side) -> Change:
        def change(setup: Setup, volume: float) -> Setup:
            return _part(setup, side, "shutoff", suck_back=volume)

        return change

    return [
        Variant(f"the {side}'s shut-off draws back", draws(side), 0.02e-6, 0.5e-6, u.VOLUME)
        for side in _SIDES
        if getattr(setup.machine, side).shutoff.check_valve is None
    ]


def check_valve(setup: Setup) -> list[Variant]:
    """Let a check valve open at 2 ... 20 bar only, or never shut where liquid would come back.

    At half the cylinder's pressure at most: beyond it next to nothing comes.
    """
    steady = _core.steady_state(setup.machine)

    def sticks(side: Side) -> Change:
        def change(setup: Setup, pressure: float) -> Setup:
            return _part(setup, side, "shutoff", check_valve=pressure)

        return change

    def gapes(side: Side) -> Change:
        def change(setup: Setup, pressure: float) -> Setup:
            return _part(setup, side, "shutoff", check_valve=None)

        return change

    variants = []
    for side in _SIDES:
        if getattr(setup.machine, side).shutoff.check_valve is None:
            continue
        name = f"the {side}'s opens only at"
        most = min(2e6, 0.5 * getattr(steady, side).cylinder_pressure)
        variants.append(Variant(name, sticks(side), min(2e5, 0.2 * most), most, u.PRESSURE))
        open_one = gapes(side)(setup, 0.0)
        volume = getattr(_core.simulate(open_one.machine, open_one.sequence), side).volume
        if float((np.maximum.accumulate(volume) - volume).max()) > LEAST_CROSSOVER:
            variants.append(Variant(f"the {side}'s stays open", gapes(side), 1.0, 1.0, FACTOR))
    return variants


VISCOSITY_ERROR, EXPANSION_ERROR, GAS_ERROR = 0.1, 0.15, 0.25
"""Of viscosities, of the expansion of hoses and of free gas in a case, one standard deviation;
common practice, no source [-]."""


DOUBTS = 5
"""How many values a case is often off by, see `off_case`."""


def off_case(setup: Setup, deviations: Sequence[float]) -> Setup:
    """Let the machine differ from its case.

    Parameters
    ----------
    setup
        The machine as written.
    deviations
        Of resin viscosity, hardener viscosity, expansion of the resin's and of the hardener's hoses
        and gas in the resin, in standard deviations of their logarithms [-].
    """
    resin, hardener = setup.machine.resin, setup.machine.hardener
    errors = (VISCOSITY_ERROR, VISCOSITY_ERROR, EXPANSION_ERROR, EXPANSION_ERROR, GAS_ERROR)
    factors = [math.exp(z * error) for z, error in zip(deviations, errors, strict=True)]
    changed = _stream(setup, "resin", rheology=_thicker(resin.rheology, factors[0]))
    changed = _stream(changed, "hardener", rheology=_thicker(hardener.rheology, factors[1]))
    changed = _softer(_softer(changed, "resin", factors[2]), "hardener", factors[3])
    return _part(changed, "resin", "liquid", free_gas=resin.liquid.free_gas * factors[4])
