"""Causes of what was seen, ranked: each simulated over its range, weighed by likelihood.

For every way a cause can show, the run is simulated at `POINTS` even places of its range and what
would be seen is interpolated between them. Likelihood of what was seen, given a parameter:

- where spots begin and end: Gaussian, with the noise stated and `HOLD_UP_ERROR` of the mixer's
  volume; soft or brittle: Bernoulli with the error rate stated. Spots and predicted zones are
  paired in order, best first; a zone may be overlooked, the more so the smaller and the weaker it
  is, and a spot may have another reason (`STRAY` a shot);
- weights and gauge readings: Gaussian, with the noise stated and one factor common to all weights
  (`FLOW_ERROR`) and to all readings (`GAUGE_ERROR`) that the case may be off by;
- drift: as the cause usually has it, `DRIFT_TOLD` of the time.

The likelihood of a cause is the mean over its range and its ways; its probability is likelihood
times how common it is, over the sum. Only among ties, causes whose log-likelihoods differ by less
than `TIE`, does it matter how common they are.
"""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.special import logsumexp

from evenfront import _core
from evenfront.candidates import CANDIDATES, Candidate, Variant, applicable
from evenfront.observed import Observed
from evenfront.telling import tell_apart
from evenfront.watched import Prediction, Setup, Watched, watch

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evenfront.case import Case

    Floats = NDArray[np.float64]

POINTS = 13
"""Simulations over the range of each way of a cause."""
BETWEEN = 8
"""Parts into which a step between two of them is divided."""
TIE = 2.0
"""Gap of log-likelihood below which two causes are tied [-]."""
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


@dataclass(frozen=True)
class Cause:
    """One cause and what speaks for it.

    Parameters
    ----------
    name
        Short, as in a list.
    explanation
        One sentence for a customer.
    probability
        Of this cause among those considered [-].
    log_likelihood
        Natural logarithm of the mean likelihood over its range.
    place
        Which of its ways fits best; empty where there is but one.
    value
        Parameter that fits best [SI unit].
    shown
        The same as people read it, with its unit.
    setup
        The machine with it.
    prediction
        What would be seen with it.
    """

    name: str
    explanation: str
    probability: float
    log_likelihood: float
    place: str
    value: float
    shown: str
    setup: Setup
    prediction: Prediction

    def to_dict(self) -> dict[str, Any]:
        """Plain values for people and programs."""
        return {
            "cause": self.name,
            "explanation": self.explanation,
            "probability": self.probability,
            "log_likelihood": self.log_likelihood,
            "place": self.place,
            "best_fit": self.shown,
        }


@dataclass(frozen=True)
class Ranking:
    """Causes, likeliest first.

    Parameters
    ----------
    observed
        What was seen.
    watched
        The shots that were watched.
    causes
        All that can show on this machine.
    left_out
        Names of those that cannot.
    """

    observed: Observed
    watched: Watched
    causes: tuple[Cause, ...]
    left_out: tuple[str, ...]

    @property
    def tie(self) -> bool:
        """Whether the first two cannot be told apart by what was seen."""
        if len(self.causes) < 2:
            return False
        first, second = (cause.log_likelihood for cause in self.causes[:2])
        return first - second < TIE

    @cached_property
    def tell_apart(self) -> str:
        """Which measurement tells the first two apart, and what each would give."""
        if len(self.causes) < 2:
            return "There is but one cause to consider."
        return tell_apart(self.watched, self.observed, *self.causes[:2])

    def to_dict(self) -> dict[str, Any]:
        """Plain values for people and programs."""
        return {
            "title": self.observed.title,
            "causes": [cause.to_dict() for cause in self.causes],
            "tie": self.tie,
            "tell_apart": self.tell_apart,
            "not_considered": list(self.left_out),
        }

    def __repr__(self) -> str:
        """One line per cause."""
        lines = [
            f"{cause.probability:6.1%}  {cause.name}, {cause.place or 'best fit'}: {cause.shown}"
            for cause in self.causes
        ]
        return "\n".join([self.observed.title, *lines, self.tell_apart])


@dataclass(frozen=True)
class Design:
    """What would be seen with one way of a cause, all over its range.

    Parameters
    ----------
    candidate, variant
        The cause and the way.
    shares
        Places within the range, 0 ... 1, shape (m,).
    seen
        Every field of `Prediction` with one more axis in front, of length m.
    """

    candidate: Candidate
    variant: Variant
    shares: Floats
    seen: Prediction


def rank(case: Case, observed: Observed, designs: Sequence[Design] | None = None) -> Ranking:
    """Rank the causes of what was seen.

    Parameters
    ----------
    case
        The machine, and what it was asked to do.
    observed
        What was seen.
    designs
        Simulations of the same watched shots made before by `simulate_causes`.

    Raises
    ------
    CaseError
        If something belongs to a shot that was not watched, or the run ends before the last.
    """
    watched = watch(case, observed)
    designs = simulate_causes(watched) if designs is None else designs
    logs = [_log_likelihood(watched, observed, design) for design in designs]
    found = []
    for candidate in {id(d.candidate): d.candidate for d in designs}.values():
        ways = [i for i, d in enumerate(designs) if d.candidate is candidate]
        mean = float(logsumexp(np.concatenate([logs[i] for i in ways])))
        mean -= math.log(sum(len(logs[i]) for i in ways))
        best = max(ways, key=lambda i: float(logs[i].max()))
        found.append((candidate, designs[best], int(logs[best].argmax()), mean))
    weights = np.array([mean + math.log(candidate.weight) for candidate, _, _, mean in found])
    probabilities = np.exp(weights - logsumexp(weights))
    order = sorted(range(len(found)), key=lambda i: -weights[i])
    considered = {candidate.name for candidate, *_ in found}
    causes = tuple(_cause(watched, *found[i], float(probabilities[i])) for i in order)
    left_out = tuple(c.name for c in CANDIDATES if c.name not in considered)
    return Ranking(observed, watched, causes, left_out)


def _cause(
    watched: Watched,
    candidate: Candidate,
    design: Design,
    best: int,
    log_likelihood: float,
    probability: float,
) -> Cause:
    variant = design.variant
    value = variant.at(float(design.shares[best]))
    setup = variant.change(watched.as_written, value)
    return Cause(
        candidate.name,
        candidate.explanation,
        probability,
        log_likelihood,
        variant.name,
        value,
        variant.shown(value),
        setup,
        watched.predict(setup),
    )


def simulate_causes(watched: Watched, points: int = POINTS, threads: int = 0) -> list[Design]:
    """Simulate every way of every cause over its range.

    Parameters
    ----------
    watched
        The shots that were watched.
    points
        Simulations per way, at least 2.
    threads
        Threads to use; 0 is one a core. The answer does not depend on it.
    """
    ways = [
        (candidate, variant)
        for candidate, variants in applicable(watched.as_written)
        for variant in variants
    ]
    shares = np.linspace(0.0, 1.0, points)
    setups = [
        variant.change(watched.as_written, variant.at(share))
        for _, variant in ways
        for share in shares
    ]
    with ThreadPoolExecutor(threads or os.cpu_count()) as pool:
        seen = list(pool.map(watched.predict, setups))
    return [
        _between(candidate, variant, shares, seen[i * points : (i + 1) * points])
        for i, (candidate, variant) in enumerate(ways)
    ]


def _between(
    candidate: Candidate, variant: Variant, shares: Floats, seen: list[Prediction]
) -> Design:
    """Interpolate what would be seen between the simulated places.

    Linearly; zones only where both neighbours have the same ones, else those of the nearer.
    """
    fine = np.linspace(0.0, 1.0, (len(shares) - 1) * BETWEEN + 1)
    place = fine * (len(shares) - 1)
    low = np.minimum(place.astype(int), len(shares) - 2)
    part = place - low
    fields = {}
    for name in Prediction.__dataclass_fields__:
        stacked = np.stack([getattr(p, name) for p in seen])
        weight = part.reshape(-1, *[1] * (stacked.ndim - 1))
        fields[name] = (1.0 - weight) * stacked[low] + weight * stacked[low + 1]
    errors = np.stack([p.errors for p in seen])
    signs = np.nan_to_num(np.sign(errors))
    alike = (signs[low] == signs[low + 1]).all(axis=2)
    nearer = np.where(part < 0.5, low, low + 1)
    zones = np.stack([p.zones for p in seen])
    fields["errors"] = np.where(alike[:, :, None], fields["errors"], errors[nearer])
    fields["zones"] = np.where(alike[:, :, None, None], fields["zones"], zones[nearer])
    return Design(candidate, variant, fine, Prediction(**fields))


def _log_likelihood(watched: Watched, observed: Observed, design: Design) -> Floats:
    """Log-likelihood of all that was seen at every place of a design."""
    log = _spots(watched, observed, design.seen)
    log += _scaled_normal(*_weights(watched, observed, design.seen), FLOW_ERROR)
    log += _scaled_normal(*_gauges(watched, observed, design.seen), GAUGE_ERROR)
    for spot in observed.spots:
        if spot.drifts:
            told = spot.drifts == design.candidate.drift
            log += math.log(DRIFT_TOLD if told else (1.0 - DRIFT_TOLD) / 2.0)
    return log


def _scaled_normal(seen: Floats, predicted: Floats, noise: float, scale: float) -> Floats:
    """Log density of values seen [k] around predictions [m, k] with a common factor 1 +- scale.

    Covariance noise^2 I + scale^2 p p', by the rank-one inverse and determinant.
    """
    if seen.size == 0:
        return np.zeros(1)
    residual = (seen - predicted) / noise
    lever = scale * predicted / noise
    grown = 1.0 + (lever**2).sum(axis=1)
    square = (residual**2).sum(axis=1) - (residual * lever).sum(axis=1) ** 2 / grown
    constant = seen.size * math.log(2.0 * math.pi * noise**2)
    log: Floats = -0.5 * (square + np.log(grown) + constant)
    return log


def _weights(
    watched: Watched, observed: Observed, seen: Prediction
) -> tuple[Floats, Floats, float]:
    """List weights that were caught, the same as predicted, and their noise [kg]."""
    values: list[float] = []
    predicted: list[Floats] = []
    for catch in observed.catches:
        shots = catch.which.find(watched.classes)
        parts = np.mean([_parts(seen, i, catch.start, catch.end) for i in shots], axis=0)
        for value, column in (
            (catch.resin, parts[:, 0]),
            (catch.hardener, parts[:, 1]),
            (catch.total, parts.sum(axis=1)),
        ):
            if value is not None:
                values.append(value)
                predicted.append(column)
    return np.array(values), np.array(predicted).T, observed.noise.weight


def _parts(seen: Prediction, shot: int, start: float | None, end: float | None) -> Floats:
    """Weights of both streams in a part of a shot at every place of a design, shape (m, 2)."""
    if start is None and end is None:
        whole = seen.dispensed[:, shot, -1] + seen.after_close[:, shot]
        return np.asarray(whole * seen.densities)
    return np.stack([_one(seen, i).part(shot, start or 0.0, end) for i in range(len(seen.volume))])


def _one(seen: Prediction, place: int) -> Prediction:
    """Take what would be seen at one place of a design."""
    fields = {name: getattr(seen, name)[place] for name in Prediction.__dataclass_fields__}
    return Prediction(**fields)


def _gauges(watched: Watched, observed: Observed, seen: Prediction) -> tuple[Floats, Floats, float]:
    """List readings that were taken, the same as predicted, and their noise [Pa]."""
    values: list[float] = []
    predicted: list[Floats] = []
    for gauge in observed.gauges:
        shots = gauge.which.find(watched.classes)
        pressures = (seen.closed if gauge.when == "closed" else seen.flowing)[:, shots].mean(axis=1)
        for value, column in zip((gauge.resin, gauge.hardener), pressures.T, strict=True):
            if value is not None:
                values.append(value)
                predicted.append(column)
    return np.array(values), np.array(predicted).T, observed.noise.pressure


def _spots(watched: Watched, observed: Observed, seen: Prediction) -> Floats:
    """Log-likelihood of the spots: the best pairing in order of spots and zones, shot by shot."""
    target: _core.Target = watched.case.target
    in_shot: list[list[tuple[float, float, int, float]]] = [[] for _ in range(watched.shots)]
    for spot in observed.spots:
        rich = (spot.kind == "soft") == observed.rich_is_soft
        error = math.nan if spot.ratio_error is None else spot.ratio_error
        for shot in spot.which.find(watched.classes):
            in_shot[shot].append((spot.start, spot.end, 1 if rich else -1, error))
    held = _core.hold_up(watched.case.machine.mixer)
    places = len(seen.volume)
    log = np.zeros(places)
    for shot, listed in enumerate(in_shot):
        noise = observed.noise.volume or VOLUME_NOISE * float(seen.volume[:, shot].mean())
        spread = math.hypot(noise, HOLD_UP_ERROR * held)
        zones, errors = seen.zones[:, shot], seen.errors[:, shot]
        noticed = _noticed(zones, errors, noise, target)
        overlooked = np.nan_to_num(np.log1p(-noticed))
        stray = math.log(STRAY / float(max(seen.volume[:, shot].mean(), 1e-12)) ** 2)
        # best[j]: of the spots so far against the first j zones.
        best = np.concatenate([np.zeros((places, 1)), overlooked.cumsum(axis=1)], axis=1)
        for one in sorted(listed):
            pair = _pair(one, zones, errors, noticed, spread, observed)
            following = np.empty_like(best)
            following[:, 0] = best[:, 0] + stray
            for j in range(1, best.shape[1]):
                following[:, j] = np.maximum(
                    best[:, j] + stray,
                    np.maximum(
                        best[:, j - 1] + pair[:, j - 1],
                        following[:, j - 1] + overlooked[:, j - 1],
                    ),
                )
            best = following
        log += best[:, -1]
    return log


def _noticed(zones: Floats, errors: Floats, noise: float, target: _core.Target) -> Floats:
    """Probability that a zone is noticed; NaN where there is none."""
    width = (zones[..., 1] - zones[..., 0]) / noise
    allowed = np.where(errors > 0.0, target.tolerance_high, target.tolerance_low)
    strength = np.abs(errors) / allowed
    return np.asarray(FULL_NOTICE * -np.expm1(-(width**2)) * -np.expm1(-(strength**2)))


def _pair(
    spot: tuple[float, float, int, float],
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
