"""Viscosity law of a liquid fitted to the points of its data sheet or of a rheometer.

Bounded least squares on ln viscosity: every point counts by its relative distance from the curve.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import optimize, stats

from evenfront import _core as core
from evenfront import units as u
from evenfront.setup.estimate import CONFIDENCE, Estimate
from evenfront.setup.viscosity_law import (
    MODELS,
    TEMPERATURE_LAWS,
    Model,
    Parameter,
    TemperatureLaw,
    parameters_of,
    rheology_of,
    starting_values,
)
from evenfront.setup.viscosity_points import Floats, Points

TOLD = 0.5
"""Half width of an interval over its value beyond which the points do not tell the parameter [-]:
common practice, no source."""


@dataclass(frozen=True, eq=False)
class ViscosityFit:
    """A law fitted to points.

    Parameters
    ----------
    points
        What it was fitted to.
    model, law
        Law of shear and of temperature.
    rheology
        The fitted law, as the core takes it.
    estimates
        Parameters by name, with 95 % intervals [SI].
    covariance
        Of the parameters as searched, `searched` in order; ln where a scale is searched.
    searched
        Names of the parameters.
    at_bound
        Those that stand at the end of their range.
    scatter
        Standard deviation of ln viscosity about the curve [-].
    """

    points: Points
    model: str
    law: str
    rheology: core.Rheology
    estimates: Mapping[str, Estimate]
    covariance: Floats
    searched: tuple[str, ...]
    at_bound: tuple[str, ...]
    scatter: float

    def viscosity(self, shear_rate: float, temperature: float) -> float:
        """Fitted apparent viscosity [Pa s] at a shear rate [1/s] and temperature [K]."""
        return float(
            core.apparent_viscosity(core.at_temperature(self.rheology, temperature), shear_rate)
        )

    @property
    def untold(self) -> tuple[str, ...]:
        """Parameters these points do not tell."""
        return tuple(
            name
            for name, each in self.estimates.items()
            if name not in self.at_bound and not each.half_width < TOLD * abs(each.value)
        )

    def case_table(self) -> dict[str, Any]:
        """Keys of a case file's ``viscosity`` table for this law."""
        law = self.rheology
        table: dict[str, Any] = {"model": self.model}
        shear_rate = 1.0
        viscosity = law.consistency
        if self.model == "herschel_bulkley":
            viscosity += law.yield_stress / shear_rate
        table["viscosity"] = f"{viscosity:.6g} Pa*s"
        if self.model in ("power_law", "herschel_bulkley"):
            table |= {"shear_rate": f"{shear_rate:g} 1/s", "index": float(f"{law.index:.6g}")}
        if self.model in ("bingham", "herschel_bulkley"):
            table["yield_stress"] = f"{law.yield_stress:.6g} Pa"
        if law.cross is not None:
            table |= {
                "high_shear_viscosity": f"{law.consistency * law.cross.plateau_ratio:.6g} Pa*s",
                "time_constant": f"{law.cross.time_constant:.6g} s",
                "exponent": float(f"{law.cross.exponent:.6g}"),
            }
        if self.points.temperature is not None:
            celsius = u.convert(law.reference_temperature, u.TEMPERATURE, "degC")
            table["reference_temperature"] = f"{celsius:.6g} degC"
        if self.law == "arrhenius":
            table["activation_energy"] = f"{law.activation_energy / 1e3:.6g} kJ/mol"
        elif law.vogel is not None:
            pole = u.convert(law.vogel.pole, u.TEMPERATURE, "degC")
            table["vogel"] = {"B": f"{law.vogel.slope:.6g} K", "T0": f"{pole:.6g} degC"}
        return table


def fit_viscosity(
    points: Points,
    model: Model = "newtonian",
    law: TemperatureLaw = "arrhenius",
    *,
    reference_temperature: float | None = None,
) -> ViscosityFit:
    """Fit a law of viscosity to points.

    Parameters
    ----------
    points
        At least one more than the law has parameters.
    model, law
        Of shear and of temperature.
    reference_temperature
        At which the viscosity is stated [K]; default the middle one of the points, 298.15 K where
        they state none.

    Returns
    -------
    The fit, with covariance and 95 % intervals (of the law linear about the best values).

    Raises
    ------
    ValueError
        For too few points, or points that do not vary in what the law needs.
    """
    if model not in MODELS:
        raise ValueError(f'model = "{model}", must be one of {", ".join(MODELS)}')
    if law not in TEMPERATURE_LAWS:
        raise ValueError(f'law = "{law}", must be one of {", ".join(TEMPERATURE_LAWS)}')
    reference = _check_points(points, model, law, reference_temperature)
    parameters = parameters_of(model, law, points, reference)
    if points.viscosity.size <= len(parameters):
        raise ValueError(
            f"{model} with {law} has {len(parameters)} parameters: at least "
            f"{len(parameters) + 1} points are needed, {points.viscosity.size} are given"
        )
    rates = np.ones_like(points.viscosity) if points.shear_rate is None else points.shear_rate
    groups = _by_temperature(points, reference)
    measured = np.log(points.viscosity)

    def residual(x: Floats) -> Floats:
        values = {p.key: p.value(float(v)) for p, v in zip(parameters, x, strict=True)}
        rheology = rheology_of(model, law, reference, values)
        fitted = np.empty_like(measured)
        for temperature, rows in groups:
            frozen = core.at_temperature(rheology, temperature)
            fitted[rows] = core.apparent_viscosity(frozen, rates[rows])
        return np.log(fitted) - measured

    low = np.array([p.low for p in parameters])
    high = np.array([p.high for p in parameters])
    best: Any = None
    for start in starting_values(model, law, points, reference):
        x = np.array([math.log(start[p.key]) if p.logarithm else start[p.key] for p in parameters])
        inside = np.where(np.isfinite(high), high, np.maximum(np.abs(x), 1.0) * 1e3)
        x = np.clip(x, low + 1e-6 * (inside - low), high - 1e-6 * (inside - low))
        tried = optimize.least_squares(
            residual,
            x,
            bounds=(low, high),
            x_scale=np.maximum(np.abs(x), 1e-2),
            xtol=1e-14,
            ftol=1e-14,
            gtol=1e-14,
            max_nfev=2000,
        )
        if best is None or tried.cost < best.cost:
            best = tried
    return _finish(points, model, law, reference, parameters, best)


def _check_points(points: Points, model: str, law: str, reference: float | None) -> float:
    """Refuse points that cannot tell the law; give the reference temperature."""
    if model != "newtonian":
        if points.shear_rate is None:
            raise ValueError(f"{model} needs the shear rate of every point")
        if not np.ptp(np.log(points.shear_rate)) > math.log(1.5):
            raise ValueError(f"{model} needs points at different shear rates")
    temperatures = points.temperature
    if temperatures is None:
        if law != "none":
            raise ValueError(f'{law} needs the temperature of every point, or law = "none"')
        return 298.15 if reference is None else reference
    different = np.unique(temperatures)
    least = {"none": 1, "arrhenius": 2}.get(law, 3)
    if different.size < least:
        raise ValueError(f"{law} needs points at {least} temperatures at least")
    if law == "none" and different.size > 1:
        raise ValueError('points at several temperatures need a law of temperature, not "none"')
    return float(different[different.size // 2]) if reference is None else reference


def _by_temperature(points: Points, reference: float) -> list[tuple[float, Any]]:
    if points.temperature is None:
        return [(reference, slice(None))]
    return [(float(t), points.temperature == t) for t in np.unique(points.temperature)]


def _finish(
    points: Points,
    model: str,
    law: str,
    reference: float,
    parameters: tuple[Parameter, ...],
    best: Any,
) -> ViscosityFit:
    """Intervals from the Jacobian; parameters at a bound have none and take no part."""
    held = np.array(
        [
            (math.isfinite(p.low) and v - p.low < 1e-6 * max(abs(p.low), 1e-2))
            or (math.isfinite(p.high) and p.high - v < 1e-6 * max(abs(p.high), 1e-2))
            for p, v in zip(parameters, best.x, strict=True)
        ]
    )
    free = ~held
    freedom = points.viscosity.size - int(free.sum())
    variance = float(best.fun @ best.fun) / freedom
    covariance = np.zeros((free.size, free.size))
    scale = np.maximum(np.abs(best.x), 1e-2)[free]
    jacobian = best.jac[:, free] * scale
    inverse = np.linalg.pinv(jacobian.T @ jacobian, hermitian=True)
    covariance[np.ix_(free, free)] = variance * inverse * np.outer(scale, scale)
    # Directions the points do not see at all have no finite interval.
    blind = np.linalg.matrix_rank(jacobian) < int(free.sum())
    t = float(stats.t.ppf(0.5 + CONFIDENCE / 2, freedom))
    estimates: dict[str, Estimate] = {}
    for i, p in enumerate(parameters):
        width = math.inf if blind and free[i] else t * math.sqrt(float(covariance[i, i]))
        ends = (float(best.x[i]) - width, float(best.x[i]) + width)
        if p.logarithm:
            ends = (math.exp(ends[0]), math.exp(min(ends[1], 700.0)))
        value = p.value(float(best.x[i]))
        estimates[p.key] = Estimate(value, *ends)
    values = {name: each.value for name, each in estimates.items()}
    return ViscosityFit(
        points,
        model,
        law,
        rheology_of(model, law, reference, values),
        estimates,
        covariance,
        tuple(p.key for p in parameters),
        tuple(p.key for p, h in zip(parameters, held, strict=True) if h),
        math.sqrt(variance),
    )
