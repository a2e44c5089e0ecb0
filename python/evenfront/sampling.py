"""Statistics of a sample from a normal population: intervals, capability, outlier, decision, risks.

Plain functions over numpy arrays; units are those of the values. `Plan` is a rule that accepts or
rejects by such a sample, with the risks of doing so.

Sources: Student's t interval, capability: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2
and 6.1.6. Exact two-sided tolerance factor: ISO 16269-6:2014; Krishnamoorthy & Mathew, Statistical
Tolerance Regions, 2009, eq. (2.3.4). One-sided factor by the noncentral t: the same, eq. (2.2.3).
Outlier: Grubbs 1969. Guard band: JCGM 106:2012, clause 8.3. All but the last by `scipy.stats`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize, special, stats

Decision = Literal["accepted", "rejected", "not decided"]

MOST_CATCHES = 1000
"""Where the search for a sufficient number of catches gives up."""
_NODES = 128  # Gauss-Hermite: factors to 1e-8 from n = 2, to 1e-13 from n = 5
_LEGENDRE = np.polynomial.legendre.leggauss(200)


def mean_half_width(n: ArrayLike, sd: ArrayLike, confidence: float = 0.95) -> Any:
    """Half the width of Student's t interval of a mean, t_{(1+C)/2, n-1} s/sqrt(n).

    Parameters
    ----------
    n
        Number of values, >= 2 [-].
    sd
        Their standard deviation, n - 1 in the denominator [unit of the values].
    confidence
        0 to 1 [-].

    Returns
    -------
    array
        Half width [unit of the values].
    """
    n = np.asarray(n, dtype=float)
    return stats.t.ppf((1 + confidence) / 2, n - 1) * np.asarray(sd) / np.sqrt(n)


@lru_cache(maxsize=4096)
def _exact_factor(n: int, content: float, confidence: float) -> float:
    """Solve E over the mean of P(chi^2 > nu r^2/k^2) = C for k; r spans `content` about the mean.

    With X the mean of n standard normals, r(X) solves Phi(X + r) - Phi(X - r) = p; its square is
    the p quantile of the noncentral chi-square with one degree of freedom and noncentrality X^2.
    """
    if not n >= 2:
        raise ValueError(f"tolerance_factor: n = {n}, must be at least 2")
    points, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    weights = weights / weights.sum()
    spans = stats.ncx2.ppf(content, 1, points**2 / n)

    def shortfall(log_k: float) -> float:
        reached = stats.chi2.sf((n - 1) * spans * math.exp(-2 * log_k), n - 1)
        return float(weights @ reached) - confidence

    return math.exp(float(optimize.brentq(shortfall, -5.0, 25.0, xtol=1e-14)))


def tolerance_factor(n: ArrayLike, content: float = 0.95, confidence: float = 0.95) -> Any:
    """Exact factor k of a two-sided normal tolerance interval, mean +- k s.

    The interval holds at least `content` of the population in `confidence` of samples. Exact, not
    Howe's approximation.

    Parameters
    ----------
    n
        Number of values, >= 2 [-].
    content, confidence
        0 to 1, both excluded [-].

    Returns
    -------
    array
        Factor k [-].
    """
    _check_share("tolerance_factor", content=content, confidence=confidence)
    return np.vectorize(lambda each: _exact_factor(int(each), content, confidence), otypes=[float])(
        n
    )[()]


def one_sided_factor(n: ArrayLike, content: float = 0.95, confidence: float = 0.95) -> Any:
    """Exact factor k of a one-sided normal tolerance limit, mean + k s.

    k = t'_{C, n-1}(z_p sqrt(n))/sqrt(n), by the noncentral t.

    Parameters
    ----------
    n
        Number of values, >= 2 [-].
    content, confidence
        0 to 1, both excluded [-].

    Returns
    -------
    array
        Factor k [-]; negative where the confidence is low.
    """
    _check_share("one_sided_factor", content=content, confidence=confidence)
    n = np.asarray(n, dtype=float)
    return stats.nct.ppf(confidence, n - 1, stats.norm.ppf(content) * np.sqrt(n)) / np.sqrt(n)


def _check_share(function: str, **shares: float) -> None:
    for name, share in shares.items():
        if not 0 < share < 1:
            raise ValueError(f"{function}: {name} = {share}, must be between 0 and 1")


def capability(mean: ArrayLike, sd: ArrayLike, low: float, high: float) -> tuple[Any, Any]:
    """Capability indices Cp = (high - low)/(6 s) and Cpk = min(high - mean, mean - low)/(3 s).

    Parameters
    ----------
    mean, sd
        Of the values; sd > 0 [unit of the values].
    low, high
        Tolerance limits [unit of the values].

    Returns
    -------
    tuple
        Cp and Cpk [-].
    """
    mean, sd = np.asarray(mean), np.asarray(sd)
    nearest = np.minimum(high - mean, mean - low)
    return ((high - low) / (6 * sd))[()], (nearest / (3 * sd))[()]


def least_cp(cp: ArrayLike, n: ArrayLike, confidence: float = 0.95) -> Any:
    """Lower confidence limit of Cp, Cp sqrt(chi^2_{1-C, n-1}/(n-1)).

    Parameters
    ----------
    cp
        Capability from the sample [-].
    n
        Number of values, >= 2 [-].
    confidence
        0 to 1 [-].

    Returns
    -------
    array
        Lower limit [-].
    """
    nu = np.asarray(n, dtype=float) - 1
    return np.asarray(cp) * np.sqrt(stats.chi2.ppf(1 - confidence, nu) / nu)


@dataclass(frozen=True)
class Outlier:
    """Two-sided Grubbs test for one outlier in a normal sample.

    Parameters
    ----------
    index
        Of the value furthest from the mean [-].
    statistic
        Its distance from the mean over the standard deviation, G [-].
    critical
        What G exceeds in `significance` of samples without an outlier [-].
    significance
        Of the test [-].
    """

    index: int
    statistic: float
    critical: float
    significance: float

    @property
    def found(self) -> bool:
        """Whether the furthest value is an outlier."""
        return self.statistic > self.critical


def grubbs(values: ArrayLike, significance: float = 0.05) -> Outlier:
    """Test the value furthest from the mean; n >= 3.

    Critical value (n-1)/sqrt(n) sqrt(t^2/(n-2+t^2)), t the upper quantile of Student's t at
    significance/(2 n) with n - 2 degrees of freedom. Source: Grubbs 1969; NIST/SEMATECH
    e-Handbook, 1.3.5.17.1.

    Parameters
    ----------
    values
        Sample [any unit].
    significance
        0 to 1 [-].

    Returns
    -------
    Outlier
        Statistic and critical value.
    """
    x = np.asarray(values, dtype=float)
    n = x.size
    if not n >= 3:
        raise ValueError(f"grubbs: {n} values, must be at least 3")
    away, sd = np.abs(x - x.mean()), float(x.std(ddof=1))
    index = int(away.argmax())
    square = float(stats.t.isf(significance / (2 * n), n - 2)) ** 2
    return Outlier(
        index=index,
        statistic=float(away[index]) / sd if sd > 0 else 0.0,
        critical=(n - 1) / math.sqrt(n) * math.sqrt(square / (n - 2 + square)),
        significance=significance,
    )


@dataclass(frozen=True, kw_only=True)
class Plan:
    """Rule that accepts or rejects a machine by the mean and standard deviation of n catches.

    A machine is good when at least `content` of its catches lie within low .. high. It is accepted
    when the two-sided tolerance interval at `confidence` lies within the limits drawn in by the
    guard band. It is rejected when it is shown at `confidence`, with the limits moved out by the
    guard band, that more than 1 - `content` lie beyond one of them. Else it is not decided.

    The guard band is the expanded uncertainty of what all catches share (scale, density):
    z_{(1+C)/2} `shared` (JCGM 106:2012, 8.3.2: guard band equal to the expanded uncertainty).

    Parameters
    ----------
    n
        Number of catches, >= 2 [-].
    low, high
        Tolerance limits [unit of the values].
    shared
        Standard uncertainty common to all catches [unit of the values].
    content, confidence
        0 to 1, both excluded [-].
    """

    n: int
    low: float
    high: float
    shared: float = 0.0
    content: float = 0.95
    confidence: float = 0.95

    @cached_property
    def guard(self) -> float:
        """Guard band [unit of the values]."""
        return float(stats.norm.ppf((1 + self.confidence) / 2)) * self.shared

    @cached_property
    def accept_factor(self) -> float:
        """Factor of the two-sided tolerance interval [-]."""
        return float(tolerance_factor(self.n, self.content, self.confidence))

    @cached_property
    def reject_factor(self) -> float:
        """Standard deviations from mean to limit below which too many lie beyond it [-]."""
        return float(one_sided_factor(self.n, self.content, 1 - self.confidence))

    def decide(self, mean: float, sd: float) -> Decision:
        """Apply the rule to mean and standard deviation of n catches [unit of the values]."""
        if _inside(mean, self.accept_factor * sd, self.low + self.guard, self.high - self.guard):
            return "accepted"
        if _inside(mean, self.reject_factor * sd, self.low - self.guard, self.high + self.guard):
            return "not decided"
        return "rejected"

    def accept_probability(self, mean: float, sd: float) -> float:
        """Probability that n catches of a machine of true mean and sd > 0 are accepted [-]."""
        return self._inside_probability(mean, sd, self.accept_factor, self.guard)

    def reject_probability(self, mean: float, sd: float) -> float:
        """Probability that n catches of a machine of true mean and sd > 0 are rejected [-]."""
        return 1 - self._inside_probability(mean, sd, self.reject_factor, -self.guard)

    @cached_property
    def consumer_risk(self) -> float:
        """Greatest probability of accepting a machine that is not good [-]."""
        return self._worst(self.accept_probability)

    @cached_property
    def producer_risk(self) -> float:
        """Greatest probability of rejecting a machine that is good [-]."""
        return self._worst(self.reject_probability)

    def deciding_number(self, mean: float, sd: float) -> int | None:
        """Find the number of catches that would decide if mean and sd stayed as they are.

        None where `MOST_CATCHES` would not.
        """
        return _fewest(lambda n: replace(self, n=n).decide(mean, sd) != "not decided", start=self.n)

    def _inside_probability(self, mean: float, sd: float, factor: float, inset: float) -> float:
        """P(low + inset + k s <= x <= high - inset - k s), x and s those of n catches.

        x is normal with variance sd^2/n + shared^2, s is sd chi_{n-1}/sqrt(n-1): one integral over
        s, up to where the two limits meet.
        """
        low, high, nu = self.low + inset, self.high - inset, self.n - 1
        if not high > low:
            return 0.0
        scale = sd / math.sqrt(nu)
        first, last = (scale * end for end in _chi_ends(nu))
        if factor > 0:
            last = min(last, (high - low) / (2 * factor))
        if not last > first:
            return 0.0
        s = first + (last - first) * (_LEGENDRE[0] + 1) / 2
        of_mean = math.hypot(sd / math.sqrt(self.n), self.shared)
        within = special.ndtr((high - factor * s - mean) / of_mean) - special.ndtr(
            (low + factor * s - mean) / of_mean
        )
        density = stats.chi.pdf(s / scale, nu) / scale
        return float(_LEGENDRE[1] @ (density * within) * (last - first) / 2)

    def _worst(self, probability: Callable[[float, float], float]) -> float:
        """Greatest probability over all machines with exactly `content` within the limits.

        By symmetry about the middle one side suffices. The search runs over sd, from nearly none
        (all at one limit) to the widest centred machine.
        """
        middle, half = (self.low + self.high) / 2, (self.high - self.low) / 2
        widest = half / float(stats.norm.ppf((1 + self.content) / 2))

        def at(share: float) -> float:
            sd = share * widest
            return probability(middle + half * self._border(sd / half), sd)

        # Close to 1 the mean moves quickly from the limit to the middle: quadratic spacing there.
        shares = 1 - np.linspace(0.999, 0.0, 40) ** 2
        found = [at(float(share)) for share in shares]
        top = int(np.argmax(found))
        bounds = (float(shares[max(top - 1, 0)]), float(shares[min(top + 1, shares.size - 1)]))
        polished = optimize.minimize_scalar(
            lambda share: -at(share), bounds=bounds, method="bounded", options={"xatol": 1e-4}
        )
        return float(max(found[top], -polished.fun))

    def _border(self, sd: float) -> float:
        """Mean >= 0 at which -1 .. 1 holds exactly `content` of a normal population of this sd."""

        def excess(mean: float) -> float:
            held = special.ndtr((1 - mean) / sd) - special.ndtr((-1 - mean) / sd)
            return float(held) - self.content

        return float(optimize.brentq(excess, 0.0, 1.0)) if excess(0.0) > 0 else 0.0


@lru_cache(maxsize=1024)
def _chi_ends(nu: int) -> tuple[float, float]:
    """Where nearly all of the chi distribution lies."""
    return float(stats.chi.ppf(1e-15, nu)), float(stats.chi.isf(1e-15, nu))


def _inside(mean: float, reach: float, low: float, high: float) -> bool:
    return low + reach <= mean <= high - reach


def catches_without_failure(content: float, confidence: float) -> int:
    """Fewest catches, all good, that show a share `content` good: ln(1 - C)/ln p, rounded up.

    Free of any distribution. Source: Meeker, Hahn & Escobar, Statistical Intervals, 2017, ch. 5.
    """
    _check_share("catches_without_failure", content=content, confidence=confidence)
    return math.ceil(math.log1p(-confidence) / math.log(content))


def catches_for_extremes(content: float, confidence: float) -> int:
    """Fewest catches whose smallest and largest enclose a share `content` (Wilks 1941).

    Free of any distribution: 1 - n p^(n-1) + (n-1) p^n >= C, the largest order statistics being
    beta distributed.
    """
    _check_share("catches_for_extremes", content=content, confidence=confidence)
    n = 2
    while stats.beta.cdf(content, n - 1, 2) > 1 - confidence:
        n += 1
    return n


def catches_for_mean(relative_half_width: float, confidence: float = 0.95) -> int | None:
    """Fewest catches whose t interval of the mean is within +- this many standard deviations.

    None where `MOST_CATCHES` would not do.
    """
    return _fewest(lambda n: bool(mean_half_width(n, 1.0, confidence) <= relative_half_width))


def catches_for_interval(
    relative_half_width: float, content: float = 0.95, confidence: float = 0.95
) -> int | None:
    """Fewest catches whose exact tolerance factor is at most this many standard deviations.

    None where `MOST_CATCHES` would not do.
    """
    return _fewest(lambda n: bool(tolerance_factor(n, content, confidence) <= relative_half_width))


def _fewest(enough: Callable[[int], bool], start: int = 2) -> int | None:
    """Smallest n from `start` that is enough, by bisection: all factors here are monotone in n."""
    few, many = start - 1, MOST_CATCHES
    if not enough(many):
        return None
    while many - few > 1:
        half = (few + many) // 2
        few, many = (few, half) if enough(half) else (half, many)
    return many
