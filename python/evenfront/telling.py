"""Which measurement tells two causes apart: the one whose predicted values differ most.

Both causes at their best fit are simulated in the run that was watched, with one more shot after an
hour's pause where none was watched, and every usual measurement is predicted. They are compared in
units of their noise and of what the case may be off by; what was measured already is left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from evenfront import units as u
from evenfront.case import CaseError
from evenfront.observed import Observed
from evenfront.watched import Prediction, Watched, watch

if TYPE_CHECKING:
    from evenfront.causes import Cause

LONG_PAUSE = 3600.0
"""Pause before the further shot [s]."""
ENOUGH = 3.0
"""Difference over its noise from which on a measurement decides [-]; ours."""
FIRST_PART = 0.2
"""Share of a shot that is caught as its first part [-]."""
GAUGE_SHARE = 0.03
"""Of a pressure the case may be off by; common practice, no source [-]."""
WEIGHT_SHARE = 0.04
"""Of a weight the case may be off by; common practice, no source [-]."""
RATIO_SHARE = 0.005
"""Of a ratio of weights the case may be off by; common practice, no source [-]."""
PLACE_SHARE = 0.02
"""Of a shot, by which a place within it may be off; common practice, no source [-]."""


@dataclass(frozen=True)
class Measurement:
    """One value that could be measured.

    Parameters
    ----------
    what
        As it stands in "Measure ...".
    value
        Predicted [SI].
    noise
        One standard deviation of it [SI].
    shown
        Value as people read it.
    """

    what: str
    value: float
    noise: float
    shown: str


def tell_apart(watched: Watched, observed: Observed, first: Cause, second: Cause) -> str:
    """Say which measurement tells two causes apart, and what each would give."""
    seen, further = [first.prediction, second.prediction], -1
    longer = _with_pause(watched, observed)
    if longer is not None:
        watched, further = longer, watched.shots
        seen = [
            watched.predict(replace(cause.setup, sequence=watched.sequence))
            for cause in (first, second)
        ]
    pairs = list(
        zip(
            *(_measurements(watched, observed, prediction, further) for prediction in seen),
            strict=True,
        )
    )
    if not pairs:
        return "All usual measurements have been taken already."
    gaps = [abs(a.value - b.value) / math.hypot(a.noise, b.noise) for a, b in pairs]
    best = int(np.argmax(gaps))
    a, b = pairs[best]
    if gaps[best] < ENOUGH:
        return (
            f"No usual measurement tells {first.name} from {second.name} beyond its noise; the "
            f"best is {a.what}: {a.shown} with {first.name}, {b.shown} with {second.name}."
        )
    return (
        f"To tell them apart, measure {a.what}: {a.shown} speaks for {first.name}, {b.shown} for "
        f"{second.name}."
    )


def _with_pause(watched: Watched, observed: Observed) -> Watched | None:
    """Add a pause and one more shot; None where there was one, or the stroke does not hold it."""
    if observed.pause is not None:
        return None
    try:
        return watch(watched.case, replace(observed, shots=watched.shots, pause=LONG_PAUSE))
    except CaseError:
        return None


def _measurements(
    watched: Watched, observed: Observed, seen: Prediction, further: int
) -> Iterator[Measurement]:
    """Everything that could still be measured at a shot of every class, and at the further one."""
    firsts = {one.name: i for i, one in reversed(list(enumerate(watched.classes)))}
    taken = _taken(watched, observed)
    for name, shot in sorted(firsts.items(), key=lambda item: item[1]):
        label = f"shot {shot + 1} ({name})"
        if shot == further:
            label = "one more shot after an hour's pause"
        for when, pressures in (("closed", seen.closed), ("flowing", seen.flowing)):
            moment = "before" if when == "closed" else "at the end of"
            for side, stream in enumerate(("resin", "hardener")):
                if (when, stream, shot) not in taken:
                    what = f"the {when} gauge pressure at the {stream} cylinder {moment} {label}"
                    yield _pressure(what, float(pressures[shot, side]), observed)
        if ("total", "", shot) not in taken:
            weight = float(seen.weights[shot].sum())
            noise = math.hypot(observed.noise.weight, WEIGHT_SHARE * weight)
            what = f"the weight of {label}"
            yield Measurement(what, weight, noise, f"{u.digits(weight * 1e3)} g")
        cut = FIRST_PART * float(seen.dispensed[shot, -1].sum())
        share = f"{FIRST_PART:.0%}"
        if ("apart", "", shot) not in taken:
            whole = f"the ratio by catch weights of {label}"
            yield _ratio(whole, seen.weights[shot], observed)
        first = f"the ratio by catch weights of the first {share} of {label}"
        yield _ratio(first, seen.part(shot, 0.0, cut), observed)
        yield _place(f"where the first spot of {label} begins", shot, seen, observed)


def _taken(watched: Watched, observed: Observed) -> set[tuple[str, str, int]]:
    """List what was measured already, at which shot."""
    taken: set[tuple[str, str, int]] = set()
    for gauge in observed.gauges:
        for stream, value in (("resin", gauge.resin), ("hardener", gauge.hardener)):
            if value is not None:
                taken |= {(gauge.when, stream, i) for i in gauge.which.find(watched.classes)}
    for catch in observed.catches:
        if catch.start is None and catch.end is None:
            apart = catch.resin is not None and catch.hardener is not None
            words = ["apart", "total"] if apart else ["total"] if catch.total is not None else []
            taken |= {(word, "", i) for word in words for i in catch.which.find(watched.classes)}
    return taken


def _pressure(what: str, value: float, observed: Observed) -> Measurement:
    noise = math.hypot(observed.noise.pressure, GAUGE_SHARE * value)
    shown = 0.0 if abs(value) < 0.01 * observed.noise.pressure else value
    return Measurement(what, value, noise, u.show(shown, u.PRESSURE))


def _ratio(what: str, weights: np.ndarray, observed: Observed) -> Measurement:
    """Give the ratio of two weights, its noise carried from theirs."""
    resin, hardener = (max(float(w), 1e-9) for w in weights)
    ratio = hardener / resin
    noise = observed.noise.weight
    spread = ratio * math.sqrt((noise / resin) ** 2 + (noise / hardener) ** 2 + RATIO_SHARE**2)
    return Measurement(what, ratio, spread, f"100:{u.digits(100.0 * ratio)} by weight")


def _place(what: str, shot: int, seen: Prediction, observed: Observed) -> Measurement:
    """Give where the first zone begins; the end of the shot where there is none."""
    volume = float(seen.volume[shot])
    begins = seen.zones[shot, 0, 0]
    noise = math.hypot(observed.noise.volume or PLACE_SHARE * volume, PLACE_SHARE * volume)
    if math.isnan(begins):
        return Measurement(what, volume, max(noise, 1e-9), "no spot")
    return Measurement(what, float(begins), max(noise, 1e-9), u.show(float(begins), u.VOLUME))
