"""The start of a proof: the lead of one shot caught in successive cups per side.

At each change of cups,

    lead = sum(m_h)/rho_h - r_s sum(m_r)/rho_r        [m^3], positive when hardener is ahead

with r_s the steady ratio by liquid volume, here that of the ratio catches. Their scale and
densities are the same, so calibration and resin density cancel in the lead, as they must. Source:
iso11843 (smallest lead).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from scipy import stats

from evenfront.catches import Floats, Pairs
from evenfront.prove_budget import (
    Contribution,
    Shared,
    budget_of,
    deviation_of,
    nominal_of,
    uncertain,
)
from evenfront.prove_inputs import Cutting, Requirement

CupState = Literal["within", "rich", "lean", "not resolved"]
StartDecision = Literal["proven", "failed", "not decided"]


@dataclass(frozen=True, eq=False)
class StartProof:
    """What one shot caught in successive cups shows.

    Parameters
    ----------
    name
        Of the shot.
    resin, hardener
        Liquid volume in each cup [m^3].
    time
        When each cup was taken away, since the open command [s]; None where not recorded.
    lead, lead_uncertainty
        At each change of cups, and its expanded uncertainty [m^3].
    cup_errors, cup_states
        Ratio error of each cup, capped to 1 [-], and what can be said of it.
    least_cup_error
        Smallest ratio error each cup can show, its expanded uncertainty [-].
    peak_lead, peak_lag
        Highest and lowest lead, 0 at the open command included [m^3].
    swing, swing_uncertainty
        Highest less lowest lead, and its expanded uncertainty [m^3].
    limit
        Swing allowed [m^3].
    smallest_lead
        Smallest lead this catch can resolve at its worst change of cups: found with the confidence
        stated, and claimed in vain as seldom [m^3].
    tail_error, tail_uncertainty
        Ratio of the later half of the cups against the steady ratio used [-]; expanded.
    budget
        Of the net lead [m^3], largest first.
    decision
        Proven, failed or not decided.
    """

    name: str
    resin: Floats
    hardener: Floats
    time: Floats | None
    lead: Floats
    lead_uncertainty: Floats
    cup_errors: Floats
    cup_states: tuple[CupState, ...]
    least_cup_error: Floats
    peak_lead: float
    peak_lag: float
    swing: float
    swing_uncertainty: float
    limit: float
    smallest_lead: float
    tail_error: float
    tail_uncertainty: float
    budget: tuple[Contribution, ...]
    decision: StartDecision

    @property
    def net_lead(self) -> float:
        """Lead at the close command [m^3]."""
        return float(self.lead[-1])

    @property
    def net_lead_uncertainty(self) -> float:
        """Its expanded uncertainty [m^3]."""
        return float(self.lead_uncertainty[-1])

    @property
    def off_ratio_volume(self) -> float:
        """Liquid of the cups shown to be beyond tolerance [m^3]."""
        off = [state in ("rich", "lean") for state in self.cup_states]
        return float(np.sum((self.resin + self.hardener)[off]))


def _cumulated(cups: Pairs, model: Shared, cutting: Cutting) -> tuple[list[Any], list[Any]]:
    """Liquid volumes of resin and hardener caught up to each change of cups [m^3].

    What a change puts into the wrong cup is missing in one and found in the next: it is uncertain
    once, at that change, and does not add up. Weighings do.
    """
    reading = model.weighing.net(cups.resin_tare is not None)
    drop, skew = cutting.drop / math.sqrt(3), cutting.skew / math.sqrt(3)  # rectangles
    resin: list[Any] = []
    hardener: list[Any] = []
    caught_resin: Any = 0.0
    caught_hardener: Any = 0.0
    for i in range(len(cups)):
        resin_tare, hardener_tare = model.tares(cups, i, scattered=False)
        m_r = uncertain(float(cups.resin[i]), reading, "weighing of the cups") - resin_tare
        m_h = uncertain(float(cups.hardener[i]), reading, "weighing of the cups") - hardener_tare
        caught_resin = caught_resin + m_r * model.resin_gain / model.resin_density
        v_h = m_h * model.hardener_gain / model.hardener_density
        caught_hardener = caught_hardener + v_h
        late = 0.0
        if cups.time is not None:
            late = nominal_of(v_h) / float(cups.time[i]) * uncertain(0.0, skew, "change of cups")
        resin.append(caught_resin + uncertain(0.0, drop, "change of cups"))
        hardener.append(caught_hardener + uncertain(0.0, drop, "change of cups") + late)
    return resin, hardener


def prove_start(
    name: str, cups: Pairs, steady_by_weight: Any, model: Shared, cutting: Cutting
) -> StartProof:
    """Lead at each change of cups, the ratio of each cup, and the decision."""
    requirement = model.requirement
    coverage = float(stats.norm.ppf((1 + requirement.confidence) / 2))
    resin, hardener = _cumulated(cups, model, cutting)
    steady = steady_by_weight * model.resin_density / model.hardener_density
    leads = [v_h - steady * v_r for v_r, v_h in zip(resin, hardener, strict=True)]
    in_cups = [
        (v_r - before_r, v_h - before_h)
        for v_r, v_h, before_r, before_h in zip(
            resin, hardener, [0.0, *resin[:-1]], [0.0, *hardener[:-1]], strict=True
        )
    ]
    with_open = [0.0 * leads[0], *leads]
    nominal = [nominal_of(lead) for lead in with_open]
    swing = with_open[int(np.argmax(nominal))] - with_open[int(np.argmin(nominal))]
    half = len(cups) // 2
    tail_resin, tail_hardener = resin[-1] - resin[half - 1], hardener[-1] - hardener[half - 1]
    tail = tail_hardener - steady * tail_resin  # linear: an empty tail is no division by zero
    tail_scale = max(nominal_of(steady * tail_resin), 1e-300)

    asked = requirement.by_volume or math.nan
    states = tuple(_cup_state(v_r, v_h, asked, requirement, coverage) for v_r, v_h in in_cups)
    volumes = np.array([[nominal_of(v_r), nominal_of(v_h)] for v_r, v_h in in_cups])
    limit = requirement.lead_limit
    if limit is None:
        limit = min(requirement.tolerance) * asked * float(volumes[:, 0].sum())
    deviations = np.array([deviation_of(lead) for lead in leads])
    # Two-sided claim, one-sided finding (iso11843, capability of detection).
    resolving = coverage + float(stats.norm.ppf(requirement.confidence))
    swing_uncertainty = coverage * deviation_of(swing)
    return StartProof(
        name=name,
        resin=volumes[:, 0],
        hardener=volumes[:, 1],
        time=None if cups.time is None else np.cumsum(cups.time),
        lead=np.array([nominal_of(lead) for lead in leads]),
        lead_uncertainty=coverage * deviations,
        cup_errors=_cup_errors(volumes, asked),
        cup_states=states,
        least_cup_error=np.array(
            [
                coverage * deviation_of(v_h - asked * v_r) / max(asked * nominal_of(v_r), 1e-300)
                for v_r, v_h in in_cups
            ]
        ),
        peak_lead=max(nominal),
        peak_lag=min(nominal),
        swing=nominal_of(swing),
        swing_uncertainty=swing_uncertainty,
        limit=limit,
        smallest_lead=resolving * float(deviations.max()),
        tail_error=nominal_of(tail) / tail_scale,
        tail_uncertainty=coverage * deviation_of(tail) / tail_scale,
        budget=budget_of(leads[-1], {}),
        decision=_start_decision(nominal_of(swing), swing_uncertainty, limit, states),
    )


def _cup_state(
    resin: Any, hardener: Any, asked: float, requirement: Requirement, coverage: float
) -> CupState:
    """Compare a cup's hardener with what tolerance allows for its resin."""
    low, high = requirement.limits
    surplus = hardener - asked * (1 + high) * resin
    missing = asked * (1 + low) * resin - hardener
    if nominal_of(surplus) > coverage * deviation_of(surplus):
        return "rich"
    if nominal_of(missing) > coverage * deviation_of(missing):
        return "lean"
    if all(nominal_of(each) < -coverage * deviation_of(each) for each in (surplus, missing)):
        return "within"
    return "not resolved"


def _cup_errors(volumes: Floats, asked: float) -> Floats:
    """Ratio error of each cup, capped to 1; a cup with neither liquid counts as on ratio."""
    resin, hardener = asked * volumes[:, 0], volumes[:, 1]
    empty = (resin == 0) & (hardener == 0)
    errors = np.divide(hardener, resin, out=np.full_like(resin, 2.0), where=resin > 0) - 1
    return np.where(empty, 0.0, np.clip(errors, -1.0, 1.0))


def _start_decision(
    swing: float, uncertainty: float, limit: float, states: Sequence[CupState]
) -> StartDecision:
    if swing - uncertainty > limit or any(state in ("rich", "lean") for state in states):
        return "failed"
    return "proven" if swing + uncertainty <= limit else "not decided"
