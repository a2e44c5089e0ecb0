"""Residence model of a mixer from a measured tracer: what to write into the case.

A pulse of dye put in at the mixer's inlet leaves it spread. From its moments follow the Peclet
number and the number of tanks; the abscissa may be time or volume.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

Boundary = Literal["through", "closed", "closed-open", "open"]
Rule = Literal["trapezoid", "simpson"]


@dataclass(frozen=True)
class Moments:
    """Moments of a pulse's response.

    Parameters
    ----------
    area
        Integral of the signal [signal x abscissa].
    mean
        Mean residence [of the abscissa].
    variance
        About the mean [of the abscissa squared].
    """

    area: float
    mean: float
    variance: float

    @property
    def relative_variance(self) -> float:
        """Variance over the square of the mean [-]."""
        return self.variance / self.mean**2

    @property
    def tanks(self) -> float:
        """Stirred tanks in series of this variance [-]."""
        return 1.0 / self.relative_variance


def pulse_moments(
    abscissa: Sequence[float], signal: Sequence[float], rule: Rule = "trapezoid"
) -> Moments:
    """Moments of the response to a pulse.

    Parameters
    ----------
    abscissa
        Times, or volumes that have left, rising; as far as the signal lasts.
    signal
        Tracer at the outlet above its background, in any unit.
    rule
        Of integration; simpson for smooth signals at few points.

    Returns
    -------
    Area, mean and variance.

    Raises
    ------
    ValueError
        For fewer than three points, an abscissa that does not rise, or no area.
    """
    x, y = np.asarray(abscissa, dtype=float), np.asarray(signal, dtype=float)
    if x.ndim != 1 or x.shape != y.shape or len(x) < 3:
        raise ValueError("pulse_moments: abscissa and signal need as many points, three or more")
    if not (np.all(np.isfinite(x)) and np.all(np.isfinite(y)) and np.all(np.diff(x) > 0.0)):
        raise ValueError("pulse_moments: abscissa must rise, and all values be finite")
    area = _integral(x, y, rule)
    if not area > 0.0:
        raise ValueError("pulse_moments: the signal's area must be above zero")
    mean = _integral(x, x * y, rule) / area
    return Moments(area, mean, _integral(x, (x - mean) ** 2 * y, rule) / area)


def _integral(x: np.ndarray, y: np.ndarray, rule: Rule) -> float:
    """Integral by one rule; simpson piece by piece where the spacing changes."""
    from scipy.integrate import simpson, trapezoid

    if rule == "trapezoid":
        return float(trapezoid(y, x))
    steps = np.diff(x)
    changes = np.flatnonzero(~np.isclose(steps[1:], steps[:-1])) + 1
    cuts = [0, *changes, len(x) - 1]
    pairs = itertools.pairwise(cuts)
    return float(sum(simpson(y[a : b + 1], x=x[a : b + 1]) for a, b in pairs))


def relative_variance(peclet: float, boundary: Boundary = "through") -> float:
    """Relative variance of residence by axial dispersion.

    Parameters
    ----------
    peclet
        Peclet number of the whole mixer [-], > 0.
    boundary
        ``through``: flux in and out of a mixer that goes on, as everywhere else here, 2/Pe;
        ``closed``: no dispersion across either end, 2/Pe - 2 (1 - exp(-Pe))/Pe^2;
        ``closed-open``: 2/Pe + 3/Pe^2; ``open``: tracer seen by concentration at both ends,
        2/Pe + 8/Pe^2, about a mean of 1 + 2/Pe.

    Returns
    -------
    Variance over the square of the hold-up [-] (Levenspiel and Smith, van der Laan).
    """
    if not (peclet > 0.0 and math.isfinite(peclet)):
        raise ValueError(f"relative_variance: peclet = {peclet}, must be above 0 and finite")
    first, second = 2.0 / peclet, 1.0 / peclet**2
    more = {
        "through": 0.0,
        "closed": 2.0 * math.expm1(-peclet),
        "closed-open": 3.0,
        "open": 8.0,
    }
    return first + more[boundary] * second


def peclet_of(variance: float, boundary: Boundary = "through") -> float:
    """Peclet number of a relative variance, the reverse of `relative_variance`.

    Parameters
    ----------
    variance
        Variance over the square of the mean [-], > 0; below 1 for closed ends.
    boundary
        As there.

    Returns
    -------
    Peclet number of the whole mixer [-].
    """
    from scipy.optimize import brentq

    lowest, highest = 1e-6, 1e9
    fits = relative_variance(highest, boundary) < variance < relative_variance(lowest, boundary)
    if not fits:
        raise ValueError(
            f"peclet_of: variance = {variance}, must be above 0"
            + (" and below 1" if boundary == "closed" else "")
        )
    return float(
        math.exp(
            brentq(
                lambda log: relative_variance(math.exp(log), boundary) - variance,
                math.log(lowest),
                math.log(highest),
                xtol=1e-13,
            )
        )
    )
