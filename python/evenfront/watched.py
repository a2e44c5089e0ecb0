"""What would be seen in a run of watched shots: spots at the outlet, weights, gauge readings.

The true sequence is followed: what entered in one shot leaves a mixer volume later, often in the
next; a mixer that starts empty counts as full of good blend, a tip as nothing. Within a shot,
places count as volume of both streams since its open command; what passes while the shut-offs close
belongs to it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from itertools import cycle, pairwise
from typing import TYPE_CHECKING

import numpy as np

from evenfront import _core
from evenfront import units as u
from evenfront.shot_class import PAUSED, ShotClass, shot_classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evenfront.case import Case
    from evenfront.observed import Catch, Observed, Spot

    Floats = NDArray[np.float64]

PIECES = 200
"""Pieces a shot is cut into at the outlet."""
MOST_SHOT = 1.5
"""A shot with a defect over that of its case, at most [-]; ours."""
RTOL = 1e-3
"""Relative error of a time step, far below what anybody sees [-]."""
LEAST_PIECE = 1e-15
"""Pieces smaller than this are joined to the one before [m^3]."""
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

    @property
    def weights(self) -> Floats:
        """Resin and hardener of each shot with what follows the close command [kg]."""
        caught = self.dispensed[..., -1, :] + self.after_close
        weights: Floats = caught * self.densities[..., None, :]
        return weights

    def part(self, shot: int, start: float, end: float | None) -> Floats:
        """Weights of resin and hardener between two volumes of a shot [kg].

        Parameters
        ----------
        shot
            Which one, counted from 0.
        start, end
            Volumes of both streams since its open command [m^3]; None: to its end, with what
            follows the close command.
        """
        curve = self.dispensed[..., shot, :, :]
        total = np.maximum(curve[..., -1, :].sum(axis=-1), LEAST_PIECE)

        def until(volume: float) -> Floats:
            place = np.clip(volume / total * CURVE, 0.0, CURVE)
            low = np.minimum(place.astype(int), CURVE - 1)[..., None, None]
            below, above = (np.take_along_axis(curve, low + i, axis=-2)[..., 0, :] for i in (0, 1))
            between: Floats = below + (place[..., None] - low[..., 0]) * (above - below)
            return between

        first = until(start) if start > 0.0 else 0.0
        last = curve[..., -1, :] + self.after_close[..., shot, :] if end is None else until(end)
        weights: Floats = (last - first) * self.densities
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
        Its steps, those between the last shot watched and the next one too.
    classes
        Class of each shot watched; the one after a pause is of that class whatever else went
        before it.
    """

    case: Case
    sequence: _core.Sequence
    classes: tuple[ShotClass, ...]

    @property
    def shots(self) -> int:
        """How many shots were watched."""
        return len(self.classes)

    @cached_property
    def as_written(self) -> Setup:
        """The machine as the case describes it."""
        return Setup(self.case.machine, self.sequence)

    def predict(self, setup: Setup) -> Prediction:
        """Simulate the run with a machine, changed or not."""
        case = self.case
        numerics: _core.Numerics = case.numerics
        numerics = numerics.replace(rtol=max(numerics.rtol, RTOL))
        trace = _core.simulate(setup.machine, setup.sequence, numerics)
        target: _core.Target = case.target
        spans = trace.shots[: self.shots]
        windows, outlet = _outlet(trace, spans, setup, target)
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
    whole = sequence.replace(steps=list(_until(sequence.steps, shots)), repeat=1)
    classes = shot_classes(whole, shots)
    if observed.pause is not None:
        more = [s for s in _until(sequence.steps, 1) if s.kind.name != "dwell"]
        pause = _core.Step(kind="dwell", amount=observed.pause)
        start = _settled(case, sequence) if sequence.start.periodic else sequence.start
        whole = whole.replace(steps=[*whole.steps, pause, *more], start=start)
        following = shot_classes(whole, shots + 1)[-1]
        classes.append(ShotClass(PAUSED, following.in_stroke))
    trace = _core.simulate(case.machine, whole, case.numerics)
    if len(trace.shots) < len(classes):
        why = trace.message or "the run ends early"
        found = f"only {len(trace.shots)} of {len(classes)} watched shots are possible"
        raise CaseError([f"{case.source}: {found}: {why}"])
    problems = list(_beyond(observed, trace, classes))
    if problems:
        raise CaseError(problems)
    return Watched(case, whole, tuple(classes))


def _beyond(observed: Observed, trace: _core.Trace, classes: list[ShotClass]) -> Iterator[str]:
    """Say which spots and catches lie where no shot of the case comes to, defects allowed for."""
    total = trace.resin.volume + trace.hardener.volume
    shots = [float(total[span.close] - total[span.open]) for span in trace.shots]
    found: list[Spot | Catch] = [*observed.spots, *observed.catches]
    for seen in found:
        most = max((shots[i] for i in seen.which.find(classes)), default=0.0)
        for key, place in (("from", seen.start), ("to", seen.end)):
            if place is not None and place > MOST_SHOT * most > 0.0:
                yield (
                    f"{seen.which.where}.{key} = {u.show(place, u.VOLUME)}: must be within the "
                    f"shot, which is {u.show(most, u.VOLUME)} by the case"
                )


def _settled(case: Case, sequence: _core.Sequence) -> _core.Start:
    """Start from the pressures of the periodic state, where a pause makes the round another one."""
    trace = _core.simulate(case.machine, sequence, case.numerics)
    resin, hardener = trace.resin.pressure[0], trace.hardener.pressure[0]
    return _core.Start(
        resin_cylinder=float(resin[0]),
        resin_line=float(resin[-1]),
        hardener_cylinder=float(hardener[0]),
        hardener_line=float(hardener[-1]),
    )


def _dispenses(step: _core.Step) -> bool:
    return step.kind.name.startswith("dispense")


def _until(steps: Sequence[_core.Step], shots: int) -> Iterator[_core.Step]:
    """Repeat steps until so many shots are done and the next one would follow."""
    done = 0
    for step in cycle(steps):
        if done == shots and (_dispenses(step) or step is steps[0]):
            return
        done += _dispenses(step)
        yield step


def _outlet(
    trace: _core.Trace,
    spans: Sequence[_core.ShotSpan],
    setup: Setup,
    target: _core.Target,
) -> tuple[list[tuple[float, float]], tuple[Floats, Floats]]:
    """Follow all liquid of a run through the mixer; what dribbles goes in before the next shot.

    Returns
    -------
    Where each shot begins and ends on the axis of liquid that has left [m^3], and that axis with
    the hardener that has left [m^3].
    """
    steady = trace.steady.ratio if trace.steady.flows else target.ratio
    inlet = _core.mixer_inlet(trace, _core.passages(setup.machine), steady, 4)
    volume, hardener = inlet.composition.volume, inlet.composition.hardener
    opens, shuts = (
        np.interp(trace.time[[getattr(span, row) for span in spans]], inlet.time, inlet.entered)
        for row in ("open", "shut")
    )
    drool, count = sum(setup.drool), np.arange(len(spans))
    windows = zip((opens + drool * count).tolist(), (shuts + drool * count).tolist(), strict=True)
    # Everything from a shot's open command on comes so much later; both edges of each piece in
    # between are put in.
    later = np.searchsorted(opens[1:], volume, side="right")
    here = np.interp(opens[1:], volume, hardener)
    edges = np.concatenate(
        [volume + drool * later, *(opens[1:] + drool * (count[:-1] + i) for i in (0, 1))]
    )
    held = np.concatenate(
        [
            hardener + setup.drool[1] * later,
            *(here + setup.drool[1] * (count[:-1] + i) for i in (0, 1)),
        ]
    )
    order = np.argsort(edges, kind="stable")
    edges, held = edges[order], held[order]
    new = np.append(True, np.diff(edges) > LEAST_PIECE)
    composition = inlet.composition.replace(volume=edges[new], hardener=held[new])
    mixer = setup.machine.mixer
    cells = PIECES * max(1, len(spans))
    residence, hold_up = _core.residence_time(mixer), _core.hold_up(mixer)
    left = _core.through_mixer(composition, residence, hold_up, 1.0, cells)
    return list(windows), (left.volume, left.hardener)


def _zones(
    outlet: tuple[Floats, Floats], start: float, end: float, target: _core.Target, reactive: float
) -> list[tuple[float, float, float]]:
    """Begin, end [m^3 since the shot's start] and mean error of the zones off ratio of one shot."""
    if not end > start:
        return []
    edges = np.linspace(start, end, PIECES + 1)
    hardener = np.interp(edges, *outlet)
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
