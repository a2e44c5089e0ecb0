"""What would be seen in a run of watched shots: spots at the outlet, weights, gauge readings.

The true sequence is followed: what entered in one shot leaves a mixer volume later, often in the
next. Within a shot, places count as volume of both streams since its open command; what passes
while the shut-offs close belongs to it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from evenfront import _core
from evenfront.shot_class import ShotClass, shot_classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evenfront.case import Case
    from evenfront.observed import Observed

    Floats = NDArray[np.float64]

PIECES = 200
"""Pieces a shot is cut into at the outlet."""
CURVE = 40
"""Pieces of the curves of dispensed volume, for catches of parts of a shot."""
MOST_ZONES = 6
"""Zones kept of a shot, the widest first."""


@dataclass(frozen=True)
class Setup:
    """A machine, what it is asked to do, and what the core has no lever for.

    Parameters
    ----------
    machine, sequence
        As the core takes them.
    drool
        Liquid of resin and hardener that dribbles into the mixer, and so out of it, between two
        shots [m^3].
    resin_density
        Density of the resin that is dispensed over that of the material [-].
    reactive
        What reacts per volume of the resin that is dispensed, over that of the material [-].
    """

    machine: _core.Machine
    sequence: _core.Sequence
    drool: tuple[float, float] = (0.0, 0.0)
    resin_density: float = 1.0
    reactive: float = 1.0


@dataclass(frozen=True)
class Prediction:
    """What would be seen; one row per shot, places in the shot as volumes.

    Parameters
    ----------
    zones
        Begin and end of each zone off ratio [m^3], shape (shots, MOST_ZONES, 2); NaN: none.
    errors
        Mean ratio error of each zone [-], shape (shots, MOST_ZONES); NaN: none.
    volume
        Of both streams [m^3], shape (shots,).
    dispensed
        Resin and hardener since the open command [m^3] at even steps of the shot's volume, shape
        (shots, CURVE + 1, 2).
    after_close
        Resin and hardener that pass while the shut-offs close [m^3], shape (shots, 2).
    closed, flowing
        Gauge pressure at both cylinders before the shot and as it ends [Pa], shape (shots, 2).
    densities
        Of what is caught of each stream [kg/m^3], shape (2,).
    """

    zones: Floats
    errors: Floats
    volume: Floats
    dispensed: Floats
    after_close: Floats
    closed: Floats
    flowing: Floats
    densities: Floats

    @cached_property
    def weights(self) -> Floats:
        """Resin and hardener of each shot with what follows the close command [kg]."""
        weights: Floats = (self.dispensed[:, -1] + self.after_close) * self.densities
        return weights

    def part(self, shot: int, start: float, end: float | None) -> Floats:
        """Weights of resin and hardener between two volumes of a shot [kg]."""
        curve = self.dispensed[shot]
        total = curve.sum(axis=1)
        after = self.after_close[shot] if end is None else np.zeros(2)
        top = total[-1] if end is None else end
        caught = [np.interp(top, total, side) - np.interp(start, total, side) for side in curve.T]
        weights: Floats = (np.array(caught) + after) * self.densities
        return weights


def stack(predictions: Sequence[Prediction]) -> Prediction:
    """Put several predictions side by side: every field with one more axis in front."""
    return Prediction(
        *(np.stack([getattr(p, field.name) for p in predictions]) for field in fields(Prediction))
    )


def join(stacks: Sequence[Prediction]) -> Prediction:
    """Put several stacks into one."""
    return Prediction(
        *(
            np.concatenate([getattr(one, field.name) for one in stacks])
            for field in fields(Prediction)
        )
    )


@dataclass(frozen=True)
class Watched:
    """The shots that were watched.

    Parameters
    ----------
    case
        The machine and what it was asked to do.
    sequence
        Its steps up to the last shot watched.
    shots
        How many.
    """

    case: Case
    sequence: _core.Sequence
    shots: int

    @cached_property
    def classes(self) -> list[ShotClass]:
        """Class of each shot."""
        return shot_classes(self.sequence, self.shots)

    @cached_property
    def as_written(self) -> Setup:
        """The machine as the case describes it."""
        return Setup(self.case.machine, self.sequence)

    def predict(self, setup: Setup) -> Prediction:
        """Simulate the run with a machine, changed or not."""
        case = self.case
        trace = _core.simulate(setup.machine, setup.sequence, case.numerics)
        target: _core.Target = case.target
        steady = trace.steady.ratio if trace.steady.flows else target.ratio
        spans = trace.shots[: self.shots]
        windows, outlet = _outlet(trace, spans, steady, setup, target)
        n = self.shots
        zones, errors = np.full((n, MOST_ZONES, 2), np.nan), np.full((n, MOST_ZONES), np.nan)
        volume, closed, flowing = np.zeros(n), np.zeros((n, 2)), np.zeros((n, 2))
        dispensed, after = np.zeros((n, CURVE + 1, 2)), np.zeros((n, 2))
        streams = (trace.resin, trace.hardener)
        for i, span in enumerate(spans):
            start, end = windows[i]
            volume[i] = end - start
            for j, (low, high, error) in enumerate(
                _zones(outlet, start, end, target, setup.reactive)
            ):
                zones[i, j], errors[i, j] = (low, high), error
            dispensed[i] = _dispensed(trace, span)
            after[i] = [s.volume[span.shut] - s.volume[span.close] for s in streams]
            closed[i] = [s.pressure[span.open, 0] for s in streams]
            flowing[i] = [s.pressure[span.close, 0] for s in streams]
        densities = np.array(
            [
                setup.machine.resin.liquid.density * setup.resin_density,
                setup.machine.hardener.liquid.density,
            ]
        )
        return Prediction(zones, errors, volume, dispensed, after, closed, flowing, densities)


def watch(case: Case, observed: Observed) -> Watched:
    """Which shots of a case were watched: from its start, then one after a pause."""
    from evenfront.case import CaseError

    sequence: _core.Sequence = case.sequence
    shots = observed.shots or sequence.repeat * sum(map(_dispenses, sequence.steps))
    steps = list(_until(sequence.steps, shots))
    if observed.pause is not None:
        steps.append(_core.Step(kind="dwell", amount=observed.pause))
        steps += [s for s in _until(sequence.steps, 1) if s.kind.name != "dwell"]
        shots += 1
    whole = sequence.replace(steps=steps, repeat=1)
    trace = _core.simulate(case.machine, whole, case.numerics)
    if len(trace.shots) < shots:
        why = trace.message or "the run ends early"
        raise CaseError(
            [f"{case.source}: only {len(trace.shots)} of {shots} watched shots are possible: {why}"]
        )
    return Watched(case, whole, shots)


def _dispenses(step: _core.Step) -> bool:
    return step.kind.name.startswith("dispense")


def _until(steps: Sequence[_core.Step], shots: int) -> Iterator[_core.Step]:
    """Repeat steps until so many shots are done."""
    done = 0
    while done < shots:
        for step in steps:
            yield step
            done += _dispenses(step)
            if done == shots:
                return


def _outlet(
    trace: _core.Trace,
    spans: Sequence[_core.ShotSpan],
    steady: float,
    setup: Setup,
    target: _core.Target,
) -> tuple[list[tuple[float, float]], _core.Composition]:
    """Follow all liquid of a run through the mixer.

    Returns
    -------
    Where each shot begins and ends on the axis of liquid that has left [m^3], and what left.
    """
    volumes, hardeners = [np.zeros(1)], [np.zeros(1)]
    windows = []
    for i, span in enumerate(spans):
        if i and any(setup.drool):
            volumes.append(volumes[-1][-1:] + sum(setup.drool))
            hardeners.append(hardeners[-1][-1:] + setup.drool[1])
        inlet = _core.inlet_composition(trace, span, steady, 4)
        resin, hardener = (
            stream.volume[span.shut] - stream.volume[span.close]
            for stream in (trace.resin, trace.hardener)
        )
        last = inlet.volume[-1], inlet.hardener[-1]
        start = float(volumes[-1][-1])
        volumes.append(start + np.append(inlet.volume, last[0] + resin + hardener))
        hardeners.append(hardeners[-1][-1] + np.append(inlet.hardener, last[1] + hardener))
        windows.append((start, float(volumes[-1][-1])))
    volume, hardener = np.concatenate(volumes), np.concatenate(hardeners)
    # What is drawn back goes in again with the next liquid: keep where new ground is reached.
    top = np.maximum.accumulate(volume)
    new = np.append(True, top[1:] > top[:-1] + 1e-15)
    composition = _core.Composition(
        volume=volume[new],
        hardener=hardener[new],
        before=target.ratio / (1.0 + target.ratio),
        after=steady / (1.0 + steady),
    )
    mixer = setup.machine.mixer
    held = _core.hold_up(mixer)
    cells = PIECES * max(1, len(spans))
    left = _core.through_mixer(composition, _core.residence_time(mixer), held, 1.0, cells)
    return windows, left


def _zones(
    outlet: _core.Composition, start: float, end: float, target: _core.Target, reactive: float
) -> list[tuple[float, float, float]]:
    """Begin, end [m^3 since the shot's start] and mean error of the zones off ratio of one shot."""
    if not end > start:
        return []
    edges = np.linspace(start, end, PIECES + 1)
    hardener = np.interp(edges, outlet.volume, outlet.hardener)
    share = np.clip(np.diff(hardener) / np.diff(edges), 0.0, 1.0 - 1e-9)
    width = max(1, round(target.resolve * PIECES))
    if width > 1:
        padded = np.pad(share, (width // 2, width - 1 - width // 2), mode="edge")
        share = np.convolve(padded, np.full(width, 1.0 / width), mode="valid")
    error = np.minimum(share / (1.0 - share) / target.ratio / reactive - 1.0, 1.0)
    state = (error > target.tolerance_high).astype(int) - (error < -target.tolerance_low)
    changes = np.flatnonzero(np.diff(state)) + 1
    bounds = [0, *changes.tolist(), PIECES]
    found = [
        (edges[a] - start, edges[b] - start, float(error[a:b].mean()))
        for a, b in pairwise(bounds)
        if state[a]
    ]
    widest = sorted(found, key=lambda zone: zone[0] - zone[1])[:MOST_ZONES]
    return sorted(widest)


def _dispensed(trace: _core.Trace, span: _core.ShotSpan) -> Floats:
    """Resin and hardener of a shot [m^3] at even steps of its volume."""
    rows = slice(span.open, span.close + 1)
    both = np.stack([trace.resin.volume[rows], trace.hardener.volume[rows]], axis=1)
    both = both - both[0]
    total = np.maximum.accumulate(both.sum(axis=1))
    even = np.linspace(0.0, total[-1], CURVE + 1)
    curve: Floats = np.stack([np.interp(even, total, side) for side in both.T], axis=1)
    return curve
