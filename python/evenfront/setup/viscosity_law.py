"""The unknowns of a viscosity law: how each is searched, and where the search starts.

The laws are those of the core, so a fitted law is the one a case is computed with.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, get_args

import numpy as np

from evenfront import _core as core
from evenfront import units as u
from evenfront.setup.viscosity_points import Points

Model = Literal["newtonian", "bingham", "power_law", "herschel_bulkley", "cross"]
TemperatureLaw = Literal["none", "arrhenius", "vogel", "wlf"]
MODELS: tuple[str, ...] = get_args(Model)
TEMPERATURE_LAWS: tuple[str, ...] = get_args(TemperatureLaw)
LEAST_POLE_DISTANCE = 10.0
"""Of a Vogel law's T0 from the coldest point [K], as a case asks."""


@dataclass(frozen=True)
class Parameter:
    """One unknown: how it is searched and shown."""

    key: str
    label: str
    kind: u.Kind | None
    low: float
    high: float
    logarithm: bool = False  # searched as ln, between exp(low) and exp(high)

    def value(self, x: float) -> float:
        """Give the parameter [SI] from the number that is searched."""
        return math.exp(x) if self.logarithm else x


_SHEAR: dict[str, tuple[Parameter, ...]] = {
    "newtonian": (),
    "bingham": (Parameter("yield_stress", "yield stress", u.STRESS, 0.0, math.inf),),
    "power_law": (Parameter("index", "index n", None, 0.1, 1.0),),
    "herschel_bulkley": (
        Parameter("index", "index n", None, 0.1, 1.0),
        Parameter("yield_stress", "yield stress", u.STRESS, 0.0, math.inf),
    ),
    "cross": (
        Parameter("time_constant", "time constant", u.TIME, -30.0, 30.0, True),
        Parameter("exponent", "exponent m", None, 0.1, 1.0),
        Parameter("plateau_ratio", "lower over upper plateau", None, 0.0, 0.9),
    ),
}
_CONSISTENCY = Parameter("consistency", "viscosity at 1 1/s", u.VISCOSITY, -30.0, 30.0, True)
_PLATEAU = Parameter("consistency", "viscosity at rest", u.VISCOSITY, -30.0, 30.0, True)
_PLASTIC = Parameter("consistency", "plastic viscosity", u.VISCOSITY, -30.0, 30.0, True)
_ENERGY = Parameter("activation_energy", "activation energy", u.MOLAR_ENERGY, 0.0, 5e5)


def parameters_of(model: str, law: str, points: Points, reference: float) -> tuple[Parameter, ...]:
    """Give the unknowns of a law, in the order in which they are searched."""
    first = {"cross": _PLATEAU, "bingham": _PLASTIC}.get(model, _CONSISTENCY)
    if model == "newtonian":
        first = Parameter("consistency", "viscosity", u.VISCOSITY, -30.0, 30.0, True)
    found = (first, *_SHEAR[model])
    coldest = reference if points.temperature is None else float(points.temperature.min())
    warm = coldest - LEAST_POLE_DISTANCE
    kelvin = u.TEMPERATURE_DIFFERENCE
    if law == "arrhenius":
        return (*found, _ENERGY)
    if law == "vogel":
        slope = Parameter("slope", "B", kelvin, 0.0, 1e5)
        return (*found, slope, Parameter("pole", "T0", u.TEMPERATURE, 0.0, warm))
    if law == "wlf":
        near = reference - warm
        return (
            *found,
            Parameter("c1", "C1", None, 1e-6, 1e3),
            Parameter("c2", "C2", kelvin, near, reference),
        )
    return found


def rheology_of(
    model: str, law: str, reference: float, values: Mapping[str, float]
) -> core.Rheology:
    """Give the core's law of parameter values by name."""
    more: dict[str, Any] = {}
    if law == "arrhenius":
        more["activation_energy"] = values["activation_energy"]
    elif law == "vogel":
        more["vogel"] = core.Vogel(slope=values["slope"], pole=values["pole"])
    elif law == "wlf":
        more["vogel"] = core.vogel_from_wlf(values["c1"], values["c2"], reference)
    if model == "cross":
        names = ("time_constant", "exponent", "plateau_ratio")
        more["cross"] = core.Cross(**{name: values[name] for name in names})
    return core.Rheology(
        consistency=values["consistency"],
        index=values.get("index", 1.0),
        yield_stress=values.get("yield_stress", 0.0),
        reference_temperature=reference,
        **more,
    )


def starting_values(
    model: str, law: str, points: Points, reference: float
) -> list[dict[str, float]]:
    """Parameter values to start from, by a straight line through the logarithms."""
    eta = np.log(points.viscosity)
    columns = [np.ones_like(eta)]
    rates = points.shear_rate
    thins = rates is not None and model != "newtonian" and np.ptp(np.log(rates)) > 0
    if rates is not None and thins:
        columns.append(np.log(rates))
    if points.temperature is not None and law != "none":
        columns.append(1.0 / points.temperature - 1.0 / reference)
    best = np.linalg.lstsq(np.column_stack(columns), eta, rcond=None)[0]
    index = min(max(1.0 + float(best[1]), 0.2), 0.95) if thins else 1.0
    energy = max(float(best[-1]) * core.gas_constant / index, 1e3) if len(columns) > 1 else 5e4
    start = {"consistency": math.exp(float(best[0])), "index": index}
    if rates is not None:
        stress = points.viscosity * rates
        start["yield_stress"] = 0.1 * float(stress.min())
    middle = 1.0 if rates is None else math.exp(float(np.mean(np.log(rates))))
    shears: list[dict[str, float]] = [{}]
    if model == "cross":
        top = 1.5 * float(points.viscosity.max())
        shears = [
            {
                "consistency": top,
                "time_constant": factor / middle,
                "exponent": m,
                "plateau_ratio": r,
            }
            for factor in (0.1, 1.0, 10.0)
            for m, r in ((0.5, 0.01), (0.85, 0.1))
        ]
    temperatures: list[dict[str, float]] = [{"activation_energy": energy}]
    if law in ("vogel", "wlf"):
        temperatures = []
        coldest = reference if points.temperature is None else float(points.temperature.min())
        for below in (20.0, 60.0, 150.0):
            pole = coldest - below
            slope = energy / core.gas_constant * ((reference - pole) / reference) ** 2
            c2 = reference - pole
            c1 = slope / (math.log(10.0) * c2)
            temperatures.append({"slope": slope, "pole": pole, "c1": c1, "c2": c2})
    return [{**start, **shear, **warm} for shear in shears for warm in temperatures]
