"""Least squares with Student's t: fitted values with their intervals.

Every number carries a 95 % interval, so that what the data cannot tell apart can be named.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from evenfront import units as u
from evenfront.finding import Value

CONFIDENCE = 0.95
"""Of every interval stated [-]."""


@dataclass(frozen=True)
class Estimate:
    """A fitted value with its interval.

    Parameters
    ----------
    value
        Best estimate [SI].
    low, high
        Ends of the 95 % interval [SI].
    """

    value: float
    low: float
    high: float

    @property
    def half_width(self) -> float:
        """Half the interval's width [SI]."""
        return (self.high - self.low) / 2

    @property
    def told_from_zero(self) -> bool:
        """Whether the interval excludes zero."""
        return self.low > 0 or self.high < 0

    def scaled(self, factor: float) -> Estimate:
        """Give the same times a positive number."""
        return Estimate(self.value * factor, self.low * factor, self.high * factor)

    def shown(self, kind: u.Kind) -> str:
        """Value and interval as people read them."""
        low, high = (u.show(end, kind).split(" (")[0] for end in (self.low, self.high))
        return f"{u.show(self.value, kind)}, 95 %: {low} to {high}"

    def values(self, key: str, label: str, kind: u.Kind) -> tuple[Value, ...]:
        """As three values of a finding, the first telling all."""
        return (
            Value(key, label, self.value, kind, self.shown(kind)),
            Value(f"{key}_low", f"{label}, low", self.low, kind, listed=False),
            Value(f"{key}_high", f"{label}, high", self.high, kind, listed=False),
        )


def intervals(
    design: NDArray[np.float64], residual: NDArray[np.float64], best: NDArray[np.float64]
) -> list[Estimate]:
    """Intervals of a least-squares fit from its (weighted) design matrix and residuals."""
    freedom = residual.size - best.size
    variance = float(residual @ residual) / freedom
    inverse = np.linalg.inv(design.T @ design)
    width = stats.t.ppf(0.5 + CONFIDENCE / 2, freedom) * np.sqrt(variance * np.diag(inverse))
    return [
        Estimate(float(b), float(b - w), float(b + w)) for b, w in zip(best, width, strict=True)
    ]


def least_squares(
    design: NDArray[np.float64], data: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Best values and residuals of a linear fit."""
    best = np.asarray(np.linalg.lstsq(design, data, rcond=None)[0], dtype=np.float64)
    return best, data - design @ best


def checked_record(
    first: ArrayLike, second: ArrayLike, name: str, other: str, least: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Two columns as arrays, refused where they are no record of enough points."""
    a, b = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    if a.ndim != 1 or a.shape != b.shape:
        raise ValueError(f"{name} and {other} must be lists of the same length")
    if a.size < least:
        raise ValueError(f"at least {least} points are needed, {a.size} are given")
    if not (np.all(np.isfinite(a)) and np.all(np.isfinite(b))):
        raise ValueError(f"{name} and {other} must be finite numbers")
    return a, b
