"""What all weighings of a proof share, carried as numbers with uncertainty, and the budget.

Scale calibration, a tare weighed once and densities are one variable each, so that correlations
follow. Sources: jcgm100 (budget, 5.1, 5.2, annexes G.4, H.2).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from uncertainties import correlated_values, ufloat

from evenfront.catches import Floats, Pairs
from evenfront.prove_inputs import Requirement, Weighing

AIR_DENSITY = 1.2
"""Of the air around a scale [kg/m^3]; common practice."""


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


def uncertain(value: float, standard: float, name: str) -> Any:
    """Make a number with uncertainty, or a plain one where it has none."""
    return ufloat(value, standard, name) if standard > 0 else value


def nominal_of(value: Any) -> float:
    """Give the nominal value, of a plain number as well."""
    return float(getattr(value, "nominal_value", value))


def deviation_of(value: Any) -> float:
    """Give the standard uncertainty, none of a plain number."""
    return float(getattr(value, "std_dev", 0.0))


class Shared:
    """The quantities all weighings share, each one variable, so that correlations follow."""

    def __init__(self, requirement: Requirement, weighing: Weighing) -> None:
        self.requirement, self.weighing = requirement, weighing
        self.resin_gain = uncertain(1.0, weighing.gain, "scale calibration")
        self.hardener_gain = (
            self.resin_gain
            if weighing.one_scale
            else uncertain(1.0, weighing.gain, "scale calibration")
        )
        relative = requirement.density_uncertainty
        resin, hardener = requirement.resin_density, requirement.hardener_density
        self.resin_density: Any = resin and uncertain(
            resin, relative * resin, "density of the resin"
        )
        self.hardener_density: Any = hardener and uncertain(
            hardener, relative * hardener, "density of the hardener"
        )
        # Not corrected, so its whole effect is the half width of a rectangle (jcgm100, 4.3.7).
        lift = AIR_DENSITY * abs(1 / hardener - 1 / resin) if resin and hardener else 0.0
        self.buoyancy = uncertain(1.0, lift / math.sqrt(3), "air buoyancy")
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
            self._tares[key] = uncertain(value, self.weighing.reading, "tare")
        return self._tares[key]


def budget_of(result: Any, freedom: Mapping[str, float]) -> tuple[Contribution, ...]:
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
