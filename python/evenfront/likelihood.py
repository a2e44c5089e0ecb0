"""Likelihood of what was seen, given what a machine would show.

- Where spots begin and end: Gaussian, with the noise stated, `HOLD_UP_ERROR` of the mixer's volume
  and what the case may be off by; soft or brittle: Bernoulli with the error rate stated. Spots and
  predicted zones are paired in order, best first; a zone may be overlooked, the more so the smaller
  and the weaker it is, and a spot may have another reason (`STRAY` a shot).
- Weights and gauge readings: jointly Gaussian, with the noise stated and with what they share: one
  factor on all weights (`FLOW_ERROR`), one on all readings (`GAUGE_ERROR`), and the effect of each
  value the case may be off by.
- Drift: as the cause usually has it, `DRIFT_TOLD` of the time.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evenfront import _core
from evenfront.observed import Drift, Observed
from evenfront.watched import Prediction, Watched

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

HOLD_UP_ERROR = 0.02
"""Of the mixer's volume, common practice, no source [-]."""
VOLUME_NOISE = 0.02
"""Of where a spot begins and ends, as a share of the shot, where none is stated [-]."""
FLOW_ERROR = 0.03
"""Of the flow the case gives, common to all weights; common practice, no source [-]."""
GAUGE_ERROR = 0.02
"""Of the pressures, common to all readings; common practice, no source [-]."""
FULL_NOTICE = 0.97
"""Share of large and strong zones that are noticed; common practice, no source [-]."""
STRAY = 0.02
"""Spots per shot that have another reason; common practice, no source [-]."""
DRIFT_TOLD = 0.7
"""How often a cause drifts as it usually does; common practice, no source [-]."""
CLEAR = 10.0
"""A value this many times its noise is large enough for its relative change to mean something."""


_Seen = tuple[float, float, int, float]
"""A spot: begin, end [m^3], +1 rich or -1 lean, ratio error [-] or NaN."""


@dataclass(frozen=True)
class Doubt:
    """What would be seen of the machine as written, and with each of its values off by its error.

    Parameters
    ----------
    nominal
        As written; every field with one more axis in front, of length 1.
    off
        The same with each value off.
    """

    nominal: Prediction
    off: tuple[Prediction, ...]


@dataclass(frozen=True)
class Measured:
    """Weights [kg] and gauge readings [Pa], what was predicted for them, and their noise.

    Parameters
    ----------
    seen, noise
        Shape (k,).
    predicted
        Shape (m, k).
    gauge
        Which of them are gauge readings, shape (k,).
    """

    seen: Floats
    noise: Floats
    predicted: Floats
    gauge: NDArray[np.bool_]


class Likelihood:
    """Likelihood of what was seen, ready for any number of machines.

    Parameters
    ----------
    watched
        The shots that were watched.
    observed
        What was seen.
    doubt
        What the case may be off by.
    """

    def __init__(self, watched: Watched, observed: Observed, doubt: Doubt) -> None:
        self.watched, self.observed = watched, observed
        self._levers = _levers(watched, observed, doubt)
        self._volumes = doubt.nominal.volume[0]
        # What the case is off by is the same in every shot, so all shots together bring it down no
        # further than one: as independent errors of n shots its variance counts n times.
        held = HOLD_UP_ERROR * _core.hold_up(watched.case.machine.mixer)
        self._shared = math.sqrt(watched.shots) * math.hypot(held, _places_off(doubt))
        self._in_shot: list[list[_Seen]] = [[] for _ in range(watched.shots)]
        for spot in observed.spots:
            rich = (spot.kind == "soft") == observed.rich_is_soft
            error = math.nan if spot.ratio_error is None else spot.ratio_error
            for shot in spot.which.find(watched.classes):
                self._in_shot[shot].append((spot.start, spot.end, 1 if rich else -1, error))

    def log(self, seen: Prediction, drift: Drift) -> Floats:
        """Log-likelihood of all that was seen.

        Parameters
        ----------
        seen
            What would be seen; every field with one more axis in front, of length m.
        drift
            What the cause usually does over time.

        Returns
        -------
        Natural logarithms, shape (m,).
        """
        log = self._spots(seen) + self._measurements(seen)
        for spot in self.observed.spots:
            if spot.drifts:
                told = spot.drifts == drift
                log += math.log(DRIFT_TOLD if told else (1.0 - DRIFT_TOLD) / 2.0)
        return log

    def _measurements(self, seen: Prediction) -> Floats:
        """Log density of weights and readings, covariance noise^2 I + A A' by its small inverse."""
        values = measured(self.watched, self.observed, seen)
        if values.seen.size == 0:
            return np.zeros(len(seen.volume))
        residual = (values.seen - values.predicted) / values.noise
        shared = (values.predicted / values.noise)[:, :, None] * self._levers
        inner = np.eye(shared.shape[2]) + shared.transpose(0, 2, 1) @ shared
        along = np.einsum("mkq,mk->mq", shared, residual)
        solved = np.linalg.solve(inner, along[:, :, None])[:, :, 0]
        square = (residual**2).sum(axis=1) - (along * solved).sum(axis=1)
        constant = float(np.log(2.0 * math.pi * values.noise**2).sum())
        log: Floats = -0.5 * (square + np.linalg.slogdet(inner)[1] + constant)
        return log

    def _spots(self, seen: Prediction) -> Floats:
        """Log-likelihood of the spots, shot by shot."""
        log = np.zeros(len(seen.volume))
        for shot, listed in enumerate(self._in_shot):
            volume = float(self._volumes[shot])
            noise = self.observed.noise.volume or VOLUME_NOISE * volume
            spread = math.hypot(noise, self._shared)
            zones, errors = seen.zones[:, shot], seen.errors[:, shot]
            noticed = _noticed(zones, errors, noise, self.watched.case.target)
            pairs = [
                _pair(spot, zones, errors, noticed, spread, self.observed)
                for spot in sorted(listed)
            ]
            overlooked = np.nan_to_num(np.log1p(-noticed))
            log += best_pairing(pairs, overlooked, math.log(STRAY / volume**2))
        return log


def _levers(watched: Watched, observed: Observed, doubt: Doubt) -> Floats:
    """Relative change of every measured value with what they share, shape (k, causes)."""
    values = measured(watched, observed, doubt.nominal)
    if values.seen.size == 0:
        return np.zeros((0, 0))
    nominal = values.predicted[0]
    clear = np.abs(nominal) > CLEAR * values.noise
    levers = [FLOW_ERROR * ~values.gauge, GAUGE_ERROR * values.gauge]
    for off in doubt.off:
        changed = measured(watched, observed, off).predicted[0]
        levers.append(np.where(clear, changed / np.where(clear, nominal, 1.0) - 1.0, 0.0))
    return np.stack(levers, axis=1)


def measured(watched: Watched, observed: Observed, seen: Prediction) -> Measured:
    """Set weights and readings beside what was predicted for them."""
    values: list[tuple[float, float, Floats, bool]] = []
    for catch in observed.catches:
        shots = catch.which.find(watched.classes)
        parts = np.mean([seen.part(i, catch.start or 0.0, catch.end) for i in shots], axis=0)
        columns = (parts[:, 0], parts[:, 1], parts.sum(axis=1))
        caught = (catch.resin, catch.hardener, catch.total)
        values += _given(caught, columns, observed.noise.weight, gauge=False)
    for gauge in observed.gauges:
        shots = gauge.which.find(watched.classes)
        pressures = (seen.closed if gauge.when == "closed" else seen.flowing)[:, shots].mean(axis=1)
        read = (gauge.resin, gauge.hardener)
        values += _given(read, tuple(pressures.T), observed.noise.pressure, gauge=True)
    return Measured(
        np.array([value for value, *_ in values]),
        np.array([noise for _, noise, *_ in values]),
        np.array([column for _, _, column, _ in values]).reshape(len(values), len(seen.volume)).T,
        np.array([gauge for *_, gauge in values], dtype=bool),
    )


def _given(
    values: Sequence[float | None], columns: Sequence[Floats], noise: float, *, gauge: bool
) -> list[tuple[float, float, Floats, bool]]:
    """Keep the values that were measured."""
    return [
        (value, noise, column, gauge)
        for value, column in zip(values, columns, strict=True)
        if value is not None
    ]


def _places_off(doubt: Doubt) -> float:
    """Root mean square shift of where zones begin and end, over all that may be off [m^3]."""
    shifts = [(off.zones - doubt.nominal.zones)[0].ravel() for off in doubt.off]
    square = sum(float(np.nanmean(s**2)) for s in shifts if np.isfinite(s).any())
    return math.sqrt(square)


def best_pairing(pairs: list[Floats], overlooked: Floats, stray: float) -> Floats:
    """Log-likelihood of the best pairing, in order, of spots with zones.

    Parameters
    ----------
    pairs
        For each spot the log-likelihood that it is each of the zones, shape (m, zones).
    overlooked
        Log-likelihood that each zone is overlooked, shape (m, zones).
    stray
        Log-likelihood of a spot with another reason.

    Returns
    -------
    Shape (m,).
    """
    # best[:, j]: of the spots so far against the first j zones.
    best = np.concatenate([np.zeros((len(overlooked), 1)), overlooked.cumsum(axis=1)], axis=1)
    for pair in pairs:
        following = best + stray
        following[:, 1:] = np.maximum(following[:, 1:], best[:, :-1] + pair)
        for j in range(1, best.shape[1]):
            skipped = following[:, j - 1] + overlooked[:, j - 1]
            following[:, j] = np.maximum(following[:, j], skipped)
        best = following
    last: Floats = best[:, -1]
    return last


def _noticed(zones: Floats, errors: Floats, noise: float, target: _core.Target) -> Floats:
    """Probability that a zone is noticed; NaN where there is none."""
    width = (zones[..., 1] - zones[..., 0]) / noise
    allowed = np.where(errors > 0.0, target.tolerance_high, target.tolerance_low)
    strength = np.abs(errors) / allowed
    return np.asarray(FULL_NOTICE * -np.expm1(-(width**2)) * -np.expm1(-(strength**2)))


def _pair(
    spot: _Seen,
    zones: Floats,
    errors: Floats,
    noticed: Floats,
    spread: float,
    observed: Observed,
) -> Floats:
    """Log-likelihood that a spot is each of the zones; minus infinity where there is none."""
    start, end, sign, error = spot
    square = ((zones[..., 0] - start) ** 2 + (zones[..., 1] - end) ** 2) / spread**2
    wrong = observed.noise.wrong_kind
    kind = np.where(np.sign(errors) == sign, math.log1p(-wrong), math.log(wrong))
    log = np.log(noticed) - 0.5 * square - math.log(2.0 * math.pi * spread**2) + kind
    if not math.isnan(error):
        noise = observed.noise.ratio_error
        log -= 0.5 * ((errors - error) / noise) ** 2 + 0.5 * math.log(2.0 * math.pi * noise**2)
    return np.nan_to_num(log, nan=-math.inf, neginf=-math.inf)
