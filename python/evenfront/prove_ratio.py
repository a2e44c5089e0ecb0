"""The ratio of a proof: its statistics, its budget and the decision.

Pairs caught over a full stroke give the ratio error of each catch, e = ratio/asked - 1. Its mean,
interval, tolerance interval, capability, drift and outlier are those of `sampling`; what all
catches share becomes the guard band of the decision. Sources: jcgm100 (budget), jcgm106 (guard
band, 8.3.2; conformance, 7).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np
from scipy import stats

from evenfront import sampling
from evenfront.catches import Floats, Pairs
from evenfront.prove_budget import (
    Contribution,
    Shared,
    budget_of,
    correlated_means,
    uncertain,
    weight_ratio,
)
from evenfront.sampling import Decision, Outlier, Plan

SCATTER = "scatter of the catches"


@dataclass(frozen=True)
class Drift:
    """Straight line of the ratio error over the stroke.

    Parameters
    ----------
    over
        "position", or "order" of the catches where no position was recorded.
    change
        From the first to the last position caught [-].
    half_width
        Half its confidence interval, by Student's t with n - 2 degrees of freedom [-].
    p_value
        Probability of as much without any drift [-].
    line
        Ratio error on the line at each catch [-].
    significance
        Of the test [-].
    """

    over: Literal["position", "order"]
    change: float
    half_width: float
    p_value: float
    line: Floats
    significance: float

    @property
    def found(self) -> bool:
        """Whether the drift is significant."""
        return self.p_value < self.significance


@dataclass(frozen=True, eq=False)
class RatioProof:
    """What the ratio catches show; ratio errors e = ratio/asked - 1 [-].

    Parameters
    ----------
    by_weight, errors
        Ratio by weight and ratio error of each catch [-].
    mean, sd
        Of the errors [-].
    scatter
        Standard deviation the decision uses: `sd`, or what the scale alone makes if more [-].
    mean_interval, tolerance_interval
        Of the errors, without what all catches share [-].
    total_by_weight, total_uncertainty
        Ratio of the summed weights and its standard uncertainty from the catches [-].
    cp, cpk, least_cp
        Capability against the tolerance [-].
    drift, outlier
        Tests on the errors.
    normal_p
        P value of the Shapiro-Wilk test; None beyond its 5000 values [-].
    budget
        Of the mean error [-], largest first.
    plan, decision
        The rule and what it says.
    resin_flow, hardener_flow
        Mean liquid flows [m^3/s]; None without times or densities.
    """

    by_weight: Floats
    errors: Floats
    mean: float
    sd: float
    scatter: float
    mean_interval: tuple[float, float]
    tolerance_interval: tuple[float, float]
    total_by_weight: float
    total_uncertainty: float
    cp: float
    cpk: float
    least_cp: float
    drift: Drift
    outlier: Outlier
    normal_p: float | None
    budget: tuple[Contribution, ...]
    plan: Plan
    decision: Decision
    resin_flow: float | None
    hardener_flow: float | None

    @property
    def uncertainty(self) -> float:
        """Combined standard uncertainty of the mean error [-]."""
        return math.hypot(*(line.standard for line in self.budget))

    @property
    def freedom(self) -> float:
        """Effective degrees of freedom, Welch-Satterthwaite [-]."""
        parts = sum(line.standard**4 / line.freedom for line in self.budget)
        return self.uncertainty**4 / parts if parts > 0 else math.inf

    @property
    def expanded(self) -> float:
        """Expanded uncertainty of the mean error, t_{(1+C)/2} u [-]."""
        quantile = stats.t.ppf((1 + self.plan.confidence) / 2, self.freedom)
        return float(quantile) * self.uncertainty

    @property
    def conformance(self) -> float:
        """Probability that the true mean is within tolerance (jcgm106, clause 7) [-]."""
        ends = ((limit - self.mean) / self.uncertainty for limit in (self.plan.low, self.plan.high))
        low, high = (float(stats.t.cdf(end, self.freedom)) for end in ends)
        return high - low

    @cached_property
    def repeat_risk(self) -> float:
        """Probability that a machine exactly as measured is not accepted by as many catches [-]."""
        return 1 - self.plan.accept_probability(self.mean, self.scatter)

    @cached_property
    def catches_needed(self) -> int | None:
        """Catches that would decide if mean and scatter stay; None where no number would."""
        if self.decision != "not decided":
            return self.plan.n
        return self.plan.deciding_number(self.mean, self.scatter)


def prove_ratio(pairs: Pairs, model: Shared) -> tuple[RatioProof, Any]:
    """Statistics and decision, and the steady ratio by weight as a number with uncertainty."""
    requirement, weighing = model.requirement, model.weighing
    resin, hardener = pairs.net_resin, pairs.net_hardener
    by_weight = hardener / resin
    errors = by_weight / requirement.by_weight - 1
    n, mean, sd = len(pairs), float(errors.mean()), float(errors.std(ddof=1))
    sd = sd if sd > 1e-12 else 0.0  # round-off of equal ratios
    # Scatter below what the scale can show is the scale's, not the machine's.
    reading = weighing.net(pairs.resin_tare is not None)
    own = float(np.mean((1 + errors) * reading * np.hypot(1 / resin, 1 / hardener)))
    scatter = max(sd, own)

    mean_ratio = sum(
        weight_ratio(float(m_r), float(m_h), *model.tares(pairs, i, scattered=True))
        for i, (m_r, m_h) in enumerate(zip(pairs.resin, pairs.hardener, strict=True))
    ) / n + uncertain(0.0, scatter * requirement.by_weight / math.sqrt(n), SCATTER)
    steady = mean_ratio * (model.hardener_gain / model.resin_gain)
    asked = requirement.ratio
    if requirement.by == "volume":
        asked = asked * (model.hardener_density / model.resin_density)
    budget = budget_of(steady * model.buoyancy / asked - 1, {SCATTER: n - 1.0})
    shared = math.hypot(0.0, *(line.standard for line in budget if line.name != SCATTER))

    low, high = requirement.limits
    plan = Plan(
        n=n,
        low=low,
        high=high,
        shared=shared,
        content=requirement.content,
        confidence=requirement.confidence,
    )
    cp, cpk = sampling.capability(mean, scatter, low, high)
    half = float(sampling.mean_half_width(n, scatter, requirement.confidence))
    reach = plan.accept_factor * scatter
    total_resin, total_hardener = correlated_means(resin, hardener)
    total = total_hardener / total_resin
    proof = RatioProof(
        by_weight=by_weight,
        errors=errors,
        mean=mean,
        sd=sd,
        scatter=scatter,
        mean_interval=(mean - half, mean + half),
        tolerance_interval=(mean - reach, mean + reach),
        total_by_weight=total.nominal_value,
        total_uncertainty=total.std_dev,
        cp=float(cp),
        cpk=float(cpk),
        least_cp=float(sampling.least_cp(cp, n, requirement.confidence)),
        drift=_drift(errors, pairs.position, sd, requirement.confidence),
        outlier=sampling.grubbs(errors, 1 - requirement.confidence),
        normal_p=float(stats.shapiro(errors).pvalue) if sd > 0 and n <= 5000 else None,
        budget=budget,
        plan=plan,
        decision=plan.decide(mean, scatter),
        resin_flow=_flow(resin, requirement.resin_density, pairs.time),
        hardener_flow=_flow(hardener, requirement.hardener_density, pairs.time),
    )
    return proof, steady


def _flow(weights: Floats, density: float | None, time: Floats | None) -> float | None:
    if density is None or time is None:
        return None
    return float(np.mean(weights / density / time))


def _drift(errors: Floats, position: Floats | None, sd: float, confidence: float) -> Drift:
    """Regress the errors on position, or on order where no position or only one was recorded."""
    has_position = position is not None and float(np.ptp(position)) > 0
    x = position if position is not None and has_position else np.arange(1.0, errors.size + 1)
    over: Literal["position", "order"] = "position" if has_position else "order"
    if sd == 0:
        return Drift(over, 0.0, 0.0, 1.0, np.full_like(errors, errors.mean()), 1 - confidence)
    fit = stats.linregress(x, errors)
    span = float(np.ptp(x))
    half = float(stats.t.ppf((1 + confidence) / 2, errors.size - 2)) * float(fit.stderr) * span
    line = fit.intercept + fit.slope * x
    return Drift(over, float(fit.slope) * span, half, float(fit.pvalue), line, 1 - confidence)
