"""Causes of what was seen, ranked: each simulated over its range, weighed by likelihood.

For every way a cause can show, the run is simulated at `POINTS` even places of its range, on the
machine as written and on `SCENARIOS` machines that differ from it as machines differ from their
cases; what would be seen is interpolated between the places. The likelihood of a cause is the mean
over its range, its ways and these machines. Beforehand all causes count as equally likely, so that
the probability of one is its likelihood over the sum, but for a share `HELD_BACK`. Causes whose
log-likelihoods differ by less than `TIE` are tied.
"""

from __future__ import annotations

import math
import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from itertools import islice
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.special import logsumexp
from scipy.stats import qmc

from evenfront import units as u
from evenfront.candidates import CANDIDATES, Candidate, applicable
from evenfront.defects import DOUBTS, Variant, off_case
from evenfront.likelihood import Doubt, Likelihood
from evenfront.observed import Observed
from evenfront.telling import tell_apart
from evenfront.watched import Prediction, Setup, Watched, join, stack, watch

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evenfront.case import Case

    Floats = NDArray[np.float64]

POINTS = 9
"""Simulations over the range of each way of a cause."""
BETWEEN = 8
"""Parts into which a step between two of them is divided."""
SCENARIOS = 4
"""Machines off their case on which every cause is simulated, beside the one as written."""
HELD_BACK = 0.05
"""Share of the probability spread evenly, as rankings without a tie were wrong in about one of
twenty seeded defects: no likelihood knows how far the model itself is from the machine [-]."""
UNLIKELY = 0.01
"""Causes below this, the first two apart, are told in one line [-]."""
TIE = 2.0
"""Gap of log-likelihood below which two causes are tied [-]."""


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
    watched
        The shots that were watched.
    """

    name: str
    explanation: str
    probability: float
    log_likelihood: float
    place: str
    value: float
    shown: str
    setup: Setup = field(repr=False)
    watched: Watched = field(repr=False)

    @cached_property
    def prediction(self) -> Prediction:
        """What would be seen with it."""
        return self.watched.predict(self.setup)

    @cached_property
    def expected(self) -> str:
        """Where the last shot watched would be soft or brittle with it, in one sentence."""
        shot = self.watched.shots - 1
        seen = self.prediction
        zones = [
            f"{'rich' if error > 0.0 else 'lean'} in hardener from {u.show(start, u.VOLUME)} to "
            f"{u.show(end, u.VOLUME)}"
            for (start, end), error in zip(seen.zones[shot], seen.errors[shot], strict=True)
            if not math.isnan(error)
        ]
        name = f"shot {shot + 1} ({self.watched.classes[shot].name})"
        return f"With it, {name} would be {', then '.join(zones) or 'within the tolerance'}."

    def to_dict(self) -> dict[str, Any]:
        """Plain values for people and programs."""
        return {
            "cause": self.name,
            "explanation": self.explanation,
            "probability": self.probability,
            "log_likelihood": self.log_likelihood,
            "place": self.place,
            "best_fit": self.shown,
            "expected": self.expected,
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

    @property
    def told(self) -> tuple[Cause, ...]:
        """Those to be told one by one: the first two, and what is not unlikely."""
        likely = sum(cause.probability >= UNLIKELY for cause in self.causes)
        return self.causes[: max(2, likely)]

    @property
    def others(self) -> tuple[Cause, ...]:
        """Those to be told in one line."""
        return self.causes[len(self.told) :]

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
            "others": {
                "causes": [cause.name for cause in self.others],
                "probability": sum(cause.probability for cause in self.others),
            },
            "tie": self.tie,
            "tell_apart": self.tell_apart,
            "not_considered": list(self.left_out),
        }

    def __repr__(self) -> str:
        """One line per cause."""
        lines = [
            f"{cause.probability:6.1%}  {cause.name}, {cause.place or 'best fit'}: {cause.shown}"
            for cause in self.told
        ]
        if self.others:
            share = sum(cause.probability for cause in self.others)
            names = ", ".join(cause.name for cause in self.others)
            lines.append(f"{share:6.1%}  all others: {names}")
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
        Every field of `Prediction` with one more axis in front, of length m times the number of
        machines: all places of the first machine, then of the next.
    """

    candidate: Candidate
    variant: Variant
    shares: Floats
    seen: Prediction


@dataclass(frozen=True)
class Study:
    """Simulations of a watched run, to rank whatever was seen in it.

    Parameters
    ----------
    watched
        The shots that were watched.
    designs
        Every way of every cause.
    doubt
        What the case may be off by.
    """

    watched: Watched
    designs: tuple[Design, ...]
    doubt: Doubt


def rank(case: Case, observed: Observed, study: Study | None = None) -> Ranking:
    """Rank the causes of what was seen.

    Parameters
    ----------
    case
        The machine, and what it was asked to do.
    observed
        What was seen.
    study
        Simulations of the same watched shots made before by `simulate_causes`.

    Raises
    ------
    CaseError
        If something belongs to a shot that was not watched, or the run ends before the last.
    """
    watched = watch(case, observed)
    study = study or simulate_causes(watched)
    designs = study.designs
    likelihood = Likelihood(watched, observed, study.doubt)
    logs = [likelihood.log(design.seen, design.candidate.drift) for design in designs]
    of_cause: dict[str, list[int]] = {}
    for i, design in enumerate(designs):
        of_cause.setdefault(design.candidate.name, []).append(i)
    means = {
        name: float(logsumexp(np.concatenate([logs[i] for i in ways])))
        - math.log(sum(len(logs[i]) for i in ways))
        for name, ways in of_cause.items()
    }
    whole = float(logsumexp(list(means.values())))
    causes = []
    for name, ways in of_cause.items():
        profiles = [_profile(logs[i], designs[i]) for i in ways]
        best = int(np.argmax([profile.max() for profile in profiles]))
        place = int(profiles[best].argmax())
        share = (1.0 - HELD_BACK) * math.exp(means[name] - whole) + HELD_BACK / len(means)
        causes.append(_cause(watched, designs[ways[best]], place, means[name], share))
    causes.sort(key=lambda cause: -cause.log_likelihood)
    left_out = tuple(c.name for c in CANDIDATES if c.name not in of_cause)
    return Ranking(observed, watched, tuple(causes), left_out)


def _profile(logs: Floats, design: Design) -> Floats:
    """Log-likelihood at every place of the range, up to a constant: mean over the machines."""
    profile: Floats = logsumexp(logs.reshape(-1, len(design.shares)), axis=0)
    return profile


def _cause(
    watched: Watched, design: Design, best: int, log_likelihood: float, probability: float
) -> Cause:
    candidate, variant = design.candidate, design.variant
    value = variant.at(float(design.shares[best]))
    return Cause(
        candidate.name,
        candidate.explanation,
        probability,
        log_likelihood,
        variant.name,
        value,
        variant.shown(value),
        variant.change(watched.as_written, value),
        watched,
    )


def simulate_causes(watched: Watched, points: int = POINTS, threads: int = 0) -> Study:
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
    written = watched.as_written
    doubtful = [written, *(off_case(written, row) for row in np.eye(DOUBTS).tolist())]
    machines = [off_case(written, row) for row in scenarios().tolist()]
    setups = doubtful + [
        variant.change(machine, variant.at(share))
        for _, variant in ways
        for machine in machines
        for share in shares
    ]
    with ThreadPoolExecutor(threads or os.cpu_count()) as pool:
        seen = list(pool.map(watched.predict, setups))
    nominal, *off = (stack([one]) for one in seen[: len(doubtful)])
    seen = seen[len(doubtful) :]
    runs = iter(seen)
    designs = tuple(
        _between(candidate, variant, shares, [list(islice(runs, points)) for _ in machines])
        for candidate, variant in ways
    )
    return Study(watched, designs, Doubt(nominal, tuple(off)))


def _between(
    candidate: Candidate, variant: Variant, shares: Floats, seen: list[list[Prediction]]
) -> Design:
    """Interpolate what would be seen between the simulated places, for each machine apart.

    Linearly; zones only where both neighbours have the same ones, else those of the nearer.
    """
    fine = np.linspace(0.0, 1.0, (len(shares) - 1) * BETWEEN + 1)
    place = fine * (len(shares) - 1)
    low = np.minimum(place.astype(int), len(shares) - 2)
    part = place - low
    columns = [_finer(stack(one), low, part) for one in seen]
    return Design(candidate, variant, fine, join(columns))


def scenarios() -> Floats:
    """Deviations of machines from their case, a quasi-random sample of normal ones."""
    engine = qmc.Halton(DOUBTS, seed=1)
    sample = qmc.MultivariateNormalQMC(np.zeros(DOUBTS), engine=engine).random(SCENARIOS)
    return np.vstack([np.zeros(DOUBTS), sample])


def _finer(whole: Prediction, low: NDArray[np.int_], part: Floats) -> Prediction:
    """Interpolate between rows `low` and the next, `part` of the way."""

    def between(values: Floats) -> Floats:
        weight = part.reshape(-1, *[1] * (values.ndim - 1))
        mean: Floats = (1.0 - weight) * values[low] + weight * values[low + 1]
        return mean

    mean = Prediction(*(between(getattr(whole, each.name)) for each in fields(Prediction)))
    signs = np.nan_to_num(np.sign(whole.errors))
    alike = (signs[low] == signs[low + 1]).all(axis=2)[:, :, None]
    nearer = np.where(part < 0.5, low, low + 1)
    errors = np.where(alike, mean.errors, whole.errors[nearer])
    zones = np.where(alike[..., None], mean.zones, whole.zones[nearer])
    return replace(mean, zones=zones, errors=errors)
