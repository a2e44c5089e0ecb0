"""Classes of a run's shots, by what comes before and after each of them.

Shots of one class are alike; which of them reach a part and which go to the cup is the answer.
"""

from __future__ import annotations

import statistics
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from evenfront import _core

START_UP = "first after start-up"
THROUGH = "through a refill"
REFILLED = "first after refill"
PAUSED = "after a pause"
LAST = "last before refill"
IN_STROKE = "n-th in the stroke"

LONG_PAUSE = 2.0
"""A dwell at least so many times the usual one makes a class of its own [-]; ours."""


@dataclass(frozen=True)
class ShotClass:
    """Class of one shot.

    Parameters
    ----------
    name
        The first that fits of "first after start-up", "through a refill", "first after refill",
        "after a pause" (a dwell at least twice the usual one), "last before refill" and "n-th in
        the stroke". A purge stands for the shot before: only what comes after it counts.
    in_stroke
        Which shot it is since the start or the last refill, counted from 1.
    """

    name: str
    in_stroke: int


def shot_classes(
    sequence: _core.Sequence, shots: int, through: Collection[int] = ()
) -> list[ShotClass]:
    """Class of each shot of a run.

    Parameters
    ----------
    sequence
        What the run was asked to do.
    shots
        How many shots it completed.
    through
        Numbers, from 0, of those that went on after a refill within them.

    Returns
    -------
    One per shot, in order.
    """
    whole = _gaps(sequence, shots)
    per_round = sum(map(_dispenses, sequence.steps))
    periodic = sequence.start.periodic
    # A periodic run is preceded by its own last shot.
    before = [per_round - 1 if periodic else -1, *range(shots)]
    restarts = [_fills(gap) or last in through for gap, last in zip(whole, before, strict=True)]
    gaps = [_after_purge(gap) for gap in whole]
    refilled = [_fills(gap) for gap in gaps]
    pauses = [sum(step.amount for step in gap if step.kind.name == "dwell") for gap in gaps]
    put_back = periodic and not _fills(sequence.steps)
    # Between shots of one stroke; where every shot has its refill, between any.
    first = 0 if periodic else 1
    between = pauses[first:shots]
    usual = statistics.median_low(
        [pauses[i] for i in range(first, shots) if not refilled[i] and gaps[i] == whole[i]]
        or between
        or [0.0]
    )
    classes, in_stroke = [], 0
    for i in range(shots):
        again = restarts[i] or (put_back and i % per_round == 0)
        in_stroke = 1 if again else in_stroke + 1
        if i == 0 and not periodic and gaps[0] == whole[0]:
            name = START_UP
        elif i in through:
            name = THROUGH
        elif refilled[i]:
            name = REFILLED
        elif pauses[i] > 0.0 and pauses[i] >= LONG_PAUSE * usual:
            name = PAUSED
        elif restarts[i + 1]:
            name = LAST
        else:
            name = IN_STROKE
        classes.append(ShotClass(name, in_stroke))
    return classes


def travels(sequence: _core.Sequence, steady: _core.Steady) -> list[tuple[float, bool]]:
    """Travel of each step of a round that moves the shaft on, and whether it is a shot.

    Parameters
    ----------
    sequence
        What the run is asked to do.
    steady
        Its steady state, in which something flows.

    Returns
    -------
    In order, at the speed of steady flow [m]; an encoder's counts are met exactly.
    """
    per_volume = steady.speed / (steady.resin.flow + steady.hardener.flow)
    scale = {
        "dispense_time": steady.speed,
        "dispense_volume": per_volume,
        "dispense_travel": 1.0,
        "purge": per_volume,
    }
    return [
        (step.amount * scale[step.kind.name], _dispenses(step))
        for step in sequence.steps
        if step.kind.name in scale
    ]


def shots_in(travel_left: float, moves: Sequence[tuple[float, bool]]) -> int:
    """How many shots fit into a travel [m], taken in the order of `travels`, round after round."""
    rounds = int(_core.shots_per_stroke(travel_left, sum(travel for travel, _ in moves)))
    shots = rounds * sum(shot for _, shot in moves)
    left = travel_left - rounds * sum(travel for travel, _ in moves)
    for travel, shot in moves:
        if _core.shots_per_stroke(left, travel) < 1:
            break
        shots, left = shots + shot, left - travel
    return shots


def _dispenses(step: _core.Step) -> bool:
    return step.kind.name.startswith("dispense")


def _fills(steps: Iterable[_core.Step]) -> bool:
    return any(step.kind.name == "refill" for step in steps)


def _after_purge(gap: list[_core.Step]) -> list[_core.Step]:
    """Take the steps of a gap after its last purge, all where there is none."""
    purges = [k for k, step in enumerate(gap) if step.kind.name == "purge"]
    return gap[purges[-1] + 1 :] if purges else gap


def _gaps(sequence: _core.Sequence, shots: int) -> list[list[_core.Step]]:
    """List the steps before each shot, and after the last; a periodic round follows itself."""
    gaps: list[list[_core.Step]] = [[]]
    rounds = sequence.repeat
    for step in [step for _ in range(rounds) for step in sequence.steps]:
        if _dispenses(step):
            gaps.append([])
        else:
            gaps[-1].append(step)
    if sequence.start.periodic:
        around = gaps[-1] + gaps[0]
        gaps[0], gaps[-1] = around, around
    # A run that ended early did not see what would have followed.
    return gaps[: shots + 1]


def softest(classes: Sequence[ShotClass], measures: Sequence[_core.ShotMeasures]) -> int:
    """Which shot is the softest of those that reach a part.

    The first after start-up goes to the cup where others follow it.

    Parameters
    ----------
    classes, measures
        Of a run's shots, at least one.

    Returns
    -------
    Its number, counted from 0.
    """
    kept = [i for i, one in enumerate(classes) if one.name != START_UP or len(classes) == 1]
    return max(kept, key=lambda i: (measures[i].outlet.soft_volume, -i))
