"""Prove a machine by catch weights: its ratio, and the start of its shots.

*Ratio*: pairs caught over a full stroke give the ratio error of each catch, e = ratio/asked - 1.
Its mean, interval, tolerance interval, capability, drift and outlier are those of `sampling`; what
all catches share (scale calibration, a tare weighed once, densities) is carried by `uncertainties`
with its correlations and becomes the guard band of the decision.

*Start*: one shot caught in successive cups per side gives, at each change of cups,

    lead = sum(m_h)/rho_h - r_s sum(m_r)/rho_r        [m^3], positive when hardener is ahead

with r_s the steady ratio by liquid volume, here that of the ratio catches. Their scale and
densities are the same, so calibration and resin density cancel in the lead, as they must.

Sources: jcgm100 (budget, 5.1, 5.2, annexes G.4, H.2), jcgm106 (guard band, 8.3.2; conformance, 7),
iso11843 (smallest lead), and those of `sampling`. Liquid volume is mass over reference density.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from importlib.metadata import version
from typing import Any, Literal

import numpy as np
from scipy import stats
from uncertainties import correlated_values, ufloat

from evenfront import sampling
from evenfront.catches import CatchError, Catches, Floats, Pairs
from evenfront.sampling import Decision, Outlier, Plan

GRAM = 1e-3
MILLILITRE = 1e-6
FEW_PAIRS = 5
SMALL_HARDENER = 20e-3
"""Catches of less hardener than this [kg] are said to be small; common practice, no source."""
AIR_DENSITY = 1.2
"""Of the air around a scale [kg/m^3]; common practice."""
SOURCES = (
    "grubbs1969",
    "iso11843",
    "iso16269",
    "jcgm100",
    "jcgm106",
    "krishnamoorthy2009",
    "nist2012",
)
"""Keys of the sources in the project's list of references."""

CupState = Literal["within", "rich", "lean", "not resolved"]
StartDecision = Literal["proven", "failed", "not decided"]


@dataclass(frozen=True, kw_only=True)
class Requirement:
    """What the machine is to be held to.

    Parameters
    ----------
    ratio
        Hardener per resin [-], > 0.
    by
        Whether that is by liquid "volume" or by "weight".
    tolerance
        Ratio error allowed below and above, both positive [-].
    resin_density, hardener_density
        Gas-free, at the reference temperature [kg/m^3]; None where not known. Needed for a ratio
        by volume and for the start.
    density_uncertainty
        Relative standard uncertainty of each density [-].
    content, confidence
        Share of catches to be within tolerance, and confidence of every statement [-].
    lead_limit
        Swing of the lead allowed in a shot [m^3]; None: what makes the whole shot off ratio by the
        narrower tolerance.
    title
        What is proved, for the certificate.
    """

    ratio: float
    tolerance: tuple[float, float]
    by: Literal["volume", "weight"] = "volume"
    resin_density: float | None = None
    hardener_density: float | None = None
    density_uncertainty: float = 2e-3
    content: float = 0.95
    confidence: float = 0.95
    lead_limit: float | None = None
    title: str = ""

    def __post_init__(self) -> None:
        """Refuse what no machine can be held to."""
        if not 0 < self.ratio < math.inf:
            raise ValueError(f"Requirement: ratio = {self.ratio}, must be above 0")
        if not all(0 < each < 1 for each in self.tolerance):
            raise ValueError(f"Requirement: tolerance = {self.tolerance}, must be within 0 and 1")
        for name in ("resin_density", "hardener_density", "lead_limit"):
            value = getattr(self, name)
            if value is not None and not 0 < value < math.inf:
                raise ValueError(f"Requirement: {name} = {value}, must be above 0")
        if not 0 <= self.density_uncertainty < 0.5:
            raise ValueError(
                f"Requirement: density_uncertainty = {self.density_uncertainty}, must be 0 to 0.5"
            )
        for name in ("content", "confidence"):
            if not 0.5 <= getattr(self, name) <= 0.9999:
                raise ValueError(
                    f"Requirement: {name} = {getattr(self, name)}, must be 0.5 to 0.9999"
                )
        if self.by == "volume" and not self.has_densities:
            raise ValueError("Requirement: a ratio by volume needs both densities")

    @property
    def has_densities(self) -> bool:
        """Whether weights can be turned into volumes."""
        return self.resin_density is not None and self.hardener_density is not None

    @property
    def density_ratio(self) -> float | None:
        """Hardener over resin [-], or None."""
        if self.resin_density is None or self.hardener_density is None:
            return None
        return self.hardener_density / self.resin_density

    @property
    def by_weight(self) -> float:
        """Ratio asked, by weight [-]."""
        return self.ratio * (self.density_ratio or 1.0) if self.by == "volume" else self.ratio

    @property
    def by_volume(self) -> float | None:
        """Ratio asked, by liquid volume [-]; None without densities."""
        return None if self.density_ratio is None else self.by_weight / self.density_ratio

    @property
    def limits(self) -> tuple[float, float]:
        """Lowest and highest ratio error allowed [-]."""
        return -self.tolerance[0], self.tolerance[1]


@dataclass(frozen=True, kw_only=True)
class Weighing:
    """The scale. The defaults are common practice, no source.

    Parameters
    ----------
    step
        Smallest step it shows [kg].
    repeatability
        Standard deviation of repeated weighings [kg].
    gain
        Standard uncertainty of its calibration, relative [-].
    one_scale
        True where both streams are weighed on the same scale: its calibration then cancels.
    """

    step: float = 1e-5
    repeatability: float = 1e-5
    gain: float = 5e-4
    one_scale: bool = True

    def __post_init__(self) -> None:
        """Refuse negative values, and a scale that shows everything."""
        for name in ("step", "repeatability", "gain"):
            if not 0 <= getattr(self, name) < 1:
                raise ValueError(f"Weighing: {name} = {getattr(self, name)}, must be 0 to 1")
        if self.step == 0 and self.repeatability == 0:
            raise ValueError("Weighing: step and repeatability cannot both be 0")

    @property
    def reading(self) -> float:
        """Standard uncertainty of one reading [kg]: step/sqrt(12) and repeatability."""
        return math.hypot(self.step / math.sqrt(12), self.repeatability)

    def net(self, has_tare: bool) -> float:
        """Give the standard uncertainty of a net weight [kg]; a zero set is a reading too."""
        return self.reading * (1 if has_tare else math.sqrt(2))


@dataclass(frozen=True, kw_only=True)
class Cutting:
    """How exactly the streams are parted into cups. The defaults are common practice, no source.

    Parameters
    ----------
    drop
        Liquid of one side that may fall into the wrong cup at a change of cups [m^3].
    skew
        Time between changing the cups of the two sides, at most [s].
    """

    drop: float = 3e-8
    skew: float = 5e-3

    def __post_init__(self) -> None:
        """Refuse negative values."""
        for name in ("drop", "skew"):
            if not 0 <= getattr(self, name) < 1:
                raise ValueError(f"Cutting: {name} = {getattr(self, name)}, must be 0 to 1")


@dataclass(frozen=True)
class Contribution:
    """One line of an uncertainty budget.

    Parameters
    ----------
    name
        What is uncertain.
    standard
        Standard uncertainty it gives the result [unit of the result].
    freedom
        Degrees of freedom [-]; infinite where it was not found from the catches.
    """

    name: str
    standard: float
    freedom: float = math.inf


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


@dataclass(frozen=True, eq=False)
class Proof:
    """Ratio and start of a machine, proved by catch weights; prints as a verdict."""

    catches: Catches
    requirement: Requirement
    weighing: Weighing
    cutting: Cutting
    ratio: RatioProof
    starts: tuple[StartProof, ...]

    @property
    def accepted(self) -> bool:
        """Whether everything that was tested is proven."""
        return self.ratio.decision == "accepted" and self.start in ("not tested", "proven")

    @property
    def start(self) -> StartDecision | Literal["not tested"]:
        """The worst of the shots caught in increments."""
        found = [shot.decision for shot in self.starts]
        order: tuple[StartDecision, ...] = ("failed", "not decided", "proven")
        return next((decision for decision in order if decision in found), "not tested")

    @property
    def verdict(self) -> str:
        """The answer in a few words."""
        words = {"accepted": "proven"}.get(self.ratio.decision, self.ratio.decision)
        return f"ratio {words}, start {self.start}"

    def to_dict(self) -> dict[str, Any]:
        """Everything, as plain numbers in the unit of the key's suffix; infinite is None."""
        numbers: dict[str, Any] = _finite(_dictionary(self))
        return numbers

    def __repr__(self) -> str:
        """Verdict and mean."""
        n, mean = len(self.catches.ratio), 100 * self.ratio.mean
        return f"Proof({self.verdict}; {n} catches, mean error {mean:+.3g} %)"

    def __str__(self) -> str:
        """Everything a person reads, several lines."""
        from evenfront import prove_words, report

        return report.as_text(prove_words.sections(self))

    def _repr_html_(self) -> str:
        from evenfront import prove_words, report

        shown = [each for each in prove_words.sections(self) if each.title != "Cautions"]
        return report.as_html(shown)


def prove(
    catches: Catches,
    requirement: Requirement,
    weighing: Weighing | None = None,
    cutting: Cutting | None = None,
) -> Proof:
    """Prove ratio, and start where it was caught.

    Parameters
    ----------
    catches
        The weights.
    requirement
        Ratio, tolerance, densities, content and confidence.
    weighing, cutting
        Scale and change of cups; None: common practice.

    Returns
    -------
    Proof
        Verdict, statistics and budgets.

    Raises
    ------
    CatchError
        Where the start was caught but densities are missing.
    """
    weighing, cutting = weighing or Weighing(), cutting or Cutting()
    if catches.shots and not requirement.has_densities:
        raise CatchError(
            [f"{catches.source}: catches of the start need both densities; give them, or a case"]
        )
    model = _Model(requirement, weighing)
    ratio, steady = _prove_ratio(catches.ratio, model)
    starts = tuple(
        _prove_start(name, cups, steady, model, cutting) for name, cups in catches.shots.items()
    )
    return Proof(catches, requirement, weighing, cutting, ratio, starts)


def weight_ratio(resin: Any, hardener: Any, resin_tare: Any = 0.0, hardener_tare: Any = 0.0) -> Any:
    """Hardener per resin of one pair of cups, (m_h - t_h)/(m_r - t_r) [-].

    Takes numbers with uncertainty; a tare given twice is one quantity and correlates the two.
    """
    return (hardener - hardener_tare) / (resin - resin_tare)


def correlated_means(*series: Sequence[float] | Floats) -> tuple[Any, ...]:
    """Means of quantities observed together, with their covariance over n (jcgm100, 5.2.3, H.2).

    Parameters
    ----------
    series
        Equally long observations, one sequence a quantity [any units].

    Returns
    -------
    tuple
        Correlated numbers with uncertainty.
    """
    data = np.asarray(series, dtype=float)
    covariance = np.cov(data) / data.shape[1]
    return tuple(correlated_values(data.mean(axis=1), covariance))


def _uncertain(value: float, standard: float, name: str) -> Any:
    """Make a number with uncertainty, or a plain one where it has none."""
    return ufloat(value, standard, name) if standard > 0 else value


class _Model:
    """The quantities all weighings share, each one variable, so that correlations follow."""

    def __init__(self, requirement: Requirement, weighing: Weighing) -> None:
        self.requirement, self.weighing = requirement, weighing
        self.resin_gain = _uncertain(1.0, weighing.gain, "scale calibration")
        self.hardener_gain = (
            self.resin_gain
            if weighing.one_scale
            else _uncertain(1.0, weighing.gain, "scale calibration")
        )
        relative = requirement.density_uncertainty
        resin, hardener = requirement.resin_density, requirement.hardener_density
        self.resin_density: Any = resin and _uncertain(
            resin, relative * resin, "density of the resin"
        )
        self.hardener_density: Any = hardener and _uncertain(
            hardener, relative * hardener, "density of the hardener"
        )
        # Not corrected, so its whole effect is the half width of a rectangle (jcgm100, 4.3.7).
        lift = AIR_DENSITY * abs(1 / hardener - 1 / resin) if resin and hardener else 0.0
        self.buoyancy = _uncertain(1.0, lift / math.sqrt(3), "air buoyancy")
        self._tares: dict[tuple[str, float], Any] = {}

    def tares(self, pairs: Pairs, index: int, *, scattered: bool) -> tuple[Any, Any]:
        """Empty cups of both sides at one pair; the same variable where one serves both.

        Equal values of one column stand for one weighing. Where the result has its scatter from
        the catches themselves (`scattered`), a tare weighed for one pair alone is in it already.
        """
        if pairs.resin_tare is None or pairs.hardener_tare is None:
            return 0.0, 0.0
        sides = ("both", "both") if pairs.one_tare else ("resin", "hardener")
        columns = (pairs.resin_tare, pairs.hardener_tare)
        resin, hardener = (
            float(column[index])
            if scattered and np.count_nonzero(column == column[index]) == 1
            else self._tare(side, float(column[index]))
            for side, column in zip(sides, columns, strict=True)
        )
        return resin, hardener

    def _tare(self, side: str, value: float) -> Any:
        key = (side, value)
        if key not in self._tares:
            self._tares[key] = _uncertain(value, self.weighing.reading, "tare")
        return self._tares[key]


def _budget(result: Any, freedom: Mapping[str, float]) -> tuple[Contribution, ...]:
    """Contributions of a number with uncertainty, those of one name together, largest first."""
    squares: dict[str, float] = {}
    for variable, part in result.error_components().items():
        squares[variable.tag] = squares.get(variable.tag, 0.0) + part**2
    lines = [
        Contribution(name, math.sqrt(square), freedom.get(name, math.inf))
        for name, square in squares.items()
        if square > 0
    ]
    return tuple(sorted(lines, key=lambda line: -line.standard))


SCATTER = "scatter of the catches"


def _prove_ratio(pairs: Pairs, model: _Model) -> tuple[RatioProof, Any]:
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
    ) / n + _uncertain(0.0, scatter * requirement.by_weight / math.sqrt(n), SCATTER)
    steady = mean_ratio * (model.hardener_gain / model.resin_gain)
    asked = requirement.ratio
    if requirement.by == "volume":
        asked = asked * (model.hardener_density / model.resin_density)
    budget = _budget(steady * model.buoyancy / asked - 1, {SCATTER: n - 1.0})
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


def _cumulated(cups: Pairs, model: _Model, cutting: Cutting) -> tuple[list[Any], list[Any]]:
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
        m_r = _uncertain(float(cups.resin[i]), reading, "weighing of the cups") - resin_tare
        m_h = _uncertain(float(cups.hardener[i]), reading, "weighing of the cups") - hardener_tare
        caught_resin = caught_resin + m_r * model.resin_gain / model.resin_density
        v_h = m_h * model.hardener_gain / model.hardener_density
        caught_hardener = caught_hardener + v_h
        late = 0.0
        if cups.time is not None:
            late = _nominal(v_h) / float(cups.time[i]) * _uncertain(0.0, skew, "change of cups")
        resin.append(caught_resin + _uncertain(0.0, drop, "change of cups"))
        hardener.append(caught_hardener + _uncertain(0.0, drop, "change of cups") + late)
    return resin, hardener


def _nominal(value: Any) -> float:
    return float(getattr(value, "nominal_value", value))


def _deviation(value: Any) -> float:
    return float(getattr(value, "std_dev", 0.0))


def _prove_start(
    name: str, cups: Pairs, steady_by_weight: Any, model: _Model, cutting: Cutting
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
    nominal = [_nominal(lead) for lead in with_open]
    swing = with_open[int(np.argmax(nominal))] - with_open[int(np.argmin(nominal))]
    half = len(cups) // 2
    tail_resin, tail_hardener = resin[-1] - resin[half - 1], hardener[-1] - hardener[half - 1]
    tail = tail_hardener - steady * tail_resin  # linear: an empty tail is no division by zero
    tail_scale = max(_nominal(steady * tail_resin), 1e-300)

    asked = requirement.by_volume or math.nan
    states = tuple(_cup_state(v_r, v_h, asked, requirement, coverage) for v_r, v_h in in_cups)
    volumes = np.array([[_nominal(v_r), _nominal(v_h)] for v_r, v_h in in_cups])
    limit = requirement.lead_limit
    if limit is None:
        limit = min(requirement.tolerance) * asked * float(volumes[:, 0].sum())
    deviations = np.array([_deviation(lead) for lead in leads])
    # Two-sided claim, one-sided finding (iso11843, capability of detection).
    resolving = coverage + float(stats.norm.ppf(requirement.confidence))
    swing_uncertainty = coverage * _deviation(swing)
    return StartProof(
        name=name,
        resin=volumes[:, 0],
        hardener=volumes[:, 1],
        time=None if cups.time is None else np.cumsum(cups.time),
        lead=np.array([_nominal(lead) for lead in leads]),
        lead_uncertainty=coverage * deviations,
        cup_errors=_cup_errors(volumes, asked),
        cup_states=states,
        least_cup_error=np.array(
            [
                coverage * _deviation(v_h - asked * v_r) / max(asked * _nominal(v_r), 1e-300)
                for v_r, v_h in in_cups
            ]
        ),
        peak_lead=max(nominal),
        peak_lag=min(nominal),
        swing=_nominal(swing),
        swing_uncertainty=swing_uncertainty,
        limit=limit,
        smallest_lead=resolving * float(deviations.max()),
        tail_error=_nominal(tail) / tail_scale,
        tail_uncertainty=coverage * _deviation(tail) / tail_scale,
        budget=_budget(leads[-1], {}),
        decision=_start_decision(_nominal(swing), swing_uncertainty, limit, states),
    )


def _cup_state(
    resin: Any, hardener: Any, asked: float, requirement: Requirement, coverage: float
) -> CupState:
    """Compare a cup's hardener with what tolerance allows for its resin."""
    low, high = requirement.limits
    surplus = hardener - asked * (1 + high) * resin
    missing = asked * (1 + low) * resin - hardener
    if _nominal(surplus) > coverage * _deviation(surplus):
        return "rich"
    if _nominal(missing) > coverage * _deviation(missing):
        return "lean"
    if all(_nominal(each) < -coverage * _deviation(each) for each in (surplus, missing)):
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


# --- as plain numbers ------------------------------------------------------------------------


def _dictionary(proof: Proof) -> dict[str, Any]:
    requirement, weighing, cutting = proof.requirement, proof.weighing, proof.cutting
    return {
        "verdict": proof.verdict,
        "accepted": proof.accepted,
        "source": proof.catches.source,
        "title": requirement.title,
        "remarks": list(proof.catches.remarks),
        "version": version("evenfront"),
        "sources": list(SOURCES),
        "requirement": {
            "ratio_by_weight": requirement.by_weight,
            "ratio_by_volume": requirement.by_volume,
            "lowest_error": requirement.limits[0],
            "highest_error": requirement.limits[1],
            "content": requirement.content,
            "confidence": requirement.confidence,
            "resin_density_g_per_cm3": _scaled(requirement.resin_density, 1e-3),
            "hardener_density_g_per_cm3": _scaled(requirement.hardener_density, 1e-3),
            "density_uncertainty": requirement.density_uncertainty,
        },
        "weighing": {
            "step_g": weighing.step / GRAM,
            "repeatability_g": weighing.repeatability / GRAM,
            "gain": weighing.gain,
            "one_scale": weighing.one_scale,
        },
        "cutting": {"drop_mL": cutting.drop / MILLILITRE, "skew_s": cutting.skew},
        "ratio": _ratio_dictionary(proof),
        "starts": [_start_dictionary(shot) for shot in proof.starts],
    }


def _ratio_dictionary(proof: Proof) -> dict[str, Any]:
    ratio, requirement = proof.ratio, proof.requirement
    plan, pairs = ratio.plan, proof.catches.ratio
    mean = requirement.by_weight * (1 + ratio.mean)
    density_ratio = requirement.density_ratio
    by_volume = None if density_ratio is None else mean / density_ratio
    total = ratio.total_by_weight
    return {
        "decision": ratio.decision,
        "catches": plan.n,
        "catches_needed": ratio.catches_needed,
        "by_weight": mean,
        "by_volume": by_volume,
        "total_by_weight": total,
        "total_by_weight_uncertainty": ratio.total_uncertainty,
        "mean_error": ratio.mean,
        "standard_deviation": ratio.sd,
        "scatter": ratio.scatter,
        "mean_error_low": ratio.mean_interval[0],
        "mean_error_high": ratio.mean_interval[1],
        "tolerance_factor": plan.accept_factor,
        "tolerance_low": ratio.tolerance_interval[0],
        "tolerance_high": ratio.tolerance_interval[1],
        "cp": ratio.cp,
        "cpk": ratio.cpk,
        "least_cp": ratio.least_cp,
        "drift_over": ratio.drift.over,
        "drift": ratio.drift.change,
        "drift_half_width": ratio.drift.half_width,
        "drift_p_value": ratio.drift.p_value,
        "grubbs_statistic": ratio.outlier.statistic,
        "grubbs_critical": ratio.outlier.critical,
        "outlier_catch": ratio.outlier.index + 1 if ratio.outlier.found else None,
        "shapiro_wilk_p_value": ratio.normal_p,
        "standard_uncertainty": ratio.uncertainty,
        "effective_degrees_of_freedom": ratio.freedom,
        "expanded_uncertainty": ratio.expanded,
        "guard_band": plan.guard,
        "conformance_probability": ratio.conformance,
        "consumer_risk": plan.consumer_risk,
        "producer_risk": plan.producer_risk,
        "repeat_risk": ratio.repeat_risk,
        "budget": [
            {
                "name": line.name,
                "standard_uncertainty": line.standard,
                "degrees_of_freedom": line.freedom,
            }
            for line in ratio.budget
        ],
        "resin_flow_mL_per_s": _scaled(ratio.resin_flow, 1 / MILLILITRE),
        "hardener_flow_mL_per_s": _scaled(ratio.hardener_flow, 1 / MILLILITRE),
        "mean_resin_g": float(pairs.net_resin.mean()) / GRAM,
        "mean_hardener_g": float(pairs.net_hardener.mean()) / GRAM,
        "resin_g": (pairs.net_resin / GRAM).tolist(),
        "hardener_g": (pairs.net_hardener / GRAM).tolist(),
        "errors": ratio.errors.tolist(),
    }


def _start_dictionary(shot: StartProof) -> dict[str, Any]:
    return {
        "shot": shot.name,
        "decision": shot.decision,
        "net_lead_mL": shot.net_lead / MILLILITRE,
        "net_lead_uncertainty_mL": shot.net_lead_uncertainty / MILLILITRE,
        "peak_lead_mL": shot.peak_lead / MILLILITRE,
        "peak_lag_mL": shot.peak_lag / MILLILITRE,
        "swing_mL": shot.swing / MILLILITRE,
        "swing_uncertainty_mL": shot.swing_uncertainty / MILLILITRE,
        "limit_mL": shot.limit / MILLILITRE,
        "smallest_lead_mL": shot.smallest_lead / MILLILITRE,
        "off_ratio_volume_mL": shot.off_ratio_volume / MILLILITRE,
        "tail_error": shot.tail_error,
        "tail_uncertainty": shot.tail_uncertainty,
        "time_s": None if shot.time is None else shot.time.tolist(),
        "resin_mL": (shot.resin / MILLILITRE).tolist(),
        "hardener_mL": (shot.hardener / MILLILITRE).tolist(),
        "lead_mL": (shot.lead / MILLILITRE).tolist(),
        "lead_uncertainty_mL": (shot.lead_uncertainty / MILLILITRE).tolist(),
        "cup_errors": shot.cup_errors.tolist(),
        "cup_states": list(shot.cup_states),
        "least_cup_errors": shot.least_cup_error.tolist(),
        "budget": [
            {"name": line.name, "standard_uncertainty_mL": line.standard / MILLILITRE}
            for line in shot.budget
        ],
    }


def _scaled(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


def _finite(node: Any) -> Any:
    """Replace numbers that JSON cannot hold by None."""
    if isinstance(node, dict):
        return {key: _finite(value) for key, value in node.items()}
    if isinstance(node, list):
        return [_finite(value) for value in node]
    return None if isinstance(node, float) and not math.isfinite(node) else node
