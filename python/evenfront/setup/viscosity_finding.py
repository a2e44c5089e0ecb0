"""What a fitted viscosity law tells: its values, a table for a case file, its curve."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from evenfront import _core as core
from evenfront import units as u
from evenfront.finding import Finding, Value
from evenfront.plot_base import axes_for
from evenfront.setup.common import FOLLOW
from evenfront.setup.estimate import Estimate
from evenfront.setup.viscosity_fit import ViscosityFit, fit_viscosity
from evenfront.setup.viscosity_law import Model, Parameter, TemperatureLaw, parameters_of
from evenfront.setup.viscosity_points import Points

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@dataclass(frozen=True)
class ViscosityFinding(Finding):
    """What a fit found, with the fit for its picture.

    Parameters
    ----------
    fit
        The fit itself.
    """

    fit: ViscosityFit | None = field(default=None, compare=False)


def viscosity(
    points: Points,
    model: Model = "newtonian",
    law: TemperatureLaw = "arrhenius",
    *,
    reference_temperature: float | None = None,
) -> ViscosityFinding:
    """Judge a fit of a law of viscosity to points.

    Parameters
    ----------
    points, model, law, reference_temperature
        As for `fit_viscosity`.

    Returns
    -------
    Finding; no good where the points do not tell a parameter.
    """
    fit = fit_viscosity(points, model, law, reference_temperature=reference_temperature)
    reference = fit.rheology.reference_temperature
    labels = {p.key: p for p in parameters_of(model, law, points, reference)}
    values: list[Value] = []
    for name, each in fit.estimates.items():
        p = labels[name]
        values += _shown(name, p, each)
    values.append(Value("reference_temperature", "reference temperature", reference, u.TEMPERATURE))
    values.append(Value("scatter", "scatter of the points", fit.scatter, u.FRACTION))
    named = ", ".join(labels[name].label for name in fit.untold)
    verdict = f"the points lie within {u.digits(100 * fit.scatter, 2)} % of the curve (sd)"
    verdict += f", but do not tell {named}." if fit.untold else "."
    notes = ["In a case file: " + _written(fit.case_table())]
    if fit.at_bound:
        held = ", ".join(labels[name].label for name in fit.at_bound)
        notes.append(f"At the end of its range, so without an interval: {held}.")
    if fit.rheology.cross is not None and core.least_local_index(fit.rheology.cross) < 0.1:
        notes.append("A case refuses this law: its stress hardly rises with the shear rate.")
    if points.temperature is not None:
        ends = (float(points.temperature.min()), float(points.temperature.max()))
        low, high = (u.show(end, u.TEMPERATURE) for end in ends)
        notes.append(f"Fitted from {low} to {high}; beyond, it is a guess.")
    name = model.replace("_", " ")
    return ViscosityFinding(
        f"Viscosity, {name}" + ("" if law == "none" else f" with {law}"),
        not fit.untold,
        verdict,
        tuple(values),
        (),
        tuple(notes),
        (FOLLOW,),
        fit=fit,
    )


def _shown(key: str, parameter: Parameter, each: Estimate) -> tuple[Value, ...]:
    if parameter.kind is not None:
        return each.values(key, parameter.label, parameter.kind)
    text = f"{u.digits(each.value)}, 95 %: {u.digits(each.low)} to {u.digits(each.high)}"
    return (
        Value(key, parameter.label, each.value, None, text),
        Value(f"{key}_low", f"{parameter.label}, low", each.low, listed=False),
        Value(f"{key}_high", f"{parameter.label}, high", each.high, listed=False),
    )


def _written(table: Mapping[str, Any]) -> str:
    """Write a table as TOML on one line."""

    def text(value: Any) -> str:
        if isinstance(value, dict):
            return "{ " + ", ".join(f"{k} = {text(v)}" for k, v in value.items()) + " }"
        return f'"{value}"' if isinstance(value, str) else f"{value:g}"

    return f"viscosity = {text(dict(table))}"


def plot_viscosity(fit: ViscosityFit, *, ax: Axes | None = None, **style: Any) -> Axes:
    """Draw the fitted curve over the points: against shear rate, or against temperature.

    Parameters
    ----------
    fit
        As `fit_viscosity` gives it.
    ax
        To draw on; default a new figure.
    style
        Handed to the curves.

    Returns
    -------
    The axes.
    """
    ax = axes_for(ax)
    points = fit.points
    rates = points.shear_rate
    reference = fit.rheology.reference_temperature
    if rates is None or not np.ptp(np.log(rates)) > 0:
        _draw_against_temperature(fit, ax, 1.0 if rates is None else float(rates[0]), style)
    else:
        span = np.geomspace(rates.min() / 2, rates.max() * 2, 200)
        temperatures = [reference]
        if points.temperature is not None:
            temperatures = [float(t) for t in np.unique(points.temperature)]
        for i, temperature in enumerate(temperatures):
            rows = slice(None) if points.temperature is None else points.temperature == temperature
            share = i / max(len(temperatures) - 1, 1)
            look: dict[str, Any] = {"color": str(0.6 * share), "marker": "os^Dv<>"[i % 7]}
            ax.plot(rates[rows], points.viscosity[rows], linestyle="", **look)
            celsius = u.convert(temperature, u.TEMPERATURE, "degC")
            curve = [fit.viscosity(float(rate), temperature) for rate in span]
            ax.plot(
                span,
                curve,
                **{"color": look["color"], "label": f"{u.digits(celsius)} degC", **style},
            )
        ax.set_xscale("log")
        ax.set_xlabel("shear rate [1/s]")
        if points.temperature is not None:
            ax.legend()
    ax.set_yscale("log")
    ax.set_ylabel("viscosity [Pa s]")
    ax.grid(visible=True, which="both", linewidth=0.3)
    return ax


def _draw_against_temperature(
    fit: ViscosityFit, ax: Axes, rate: float, style: Mapping[str, Any]
) -> None:
    reference = np.array([fit.rheology.reference_temperature])
    given = fit.points.temperature
    temperatures = (
        np.broadcast_to(reference, fit.points.viscosity.shape) if given is None else given
    )
    to_celsius: Callable[[Any], Any] = np.vectorize(
        lambda t: u.convert(float(t), u.TEMPERATURE, "degC")
    )
    look: dict[str, Any] = {"linestyle": "", "marker": "o", "color": "black"}
    ax.plot(to_celsius(temperatures), fit.points.viscosity, **look, label="points")
    span = np.linspace(temperatures.min() - 2.0, temperatures.max() + 2.0, 200)
    curve = [fit.viscosity(rate, float(t)) for t in span]
    ax.plot(to_celsius(span), curve, **{"color": "0.4", "label": "fit", **style})
    ax.set_xlabel("temperature [degC]")
    ax.legend()
