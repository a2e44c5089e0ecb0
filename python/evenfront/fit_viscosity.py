"""Viscosity law of a liquid from the points of its data sheet or of a rheometer.

Bounded least squares on ln viscosity: every point counts by its relative distance from the curve.
The laws are those of the core, so a fitted law is the one a case is computed with.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize, stats

from evenfront import _core as core
from evenfront import units as u
from evenfront.closed_tests import CONFIDENCE, Estimate, read_columns
from evenfront.finding import Finding, Value
from evenfront.setup.common import FOLLOW

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Model = Literal["newtonian", "bingham", "power_law", "herschel_bulkley", "cross"]
TemperatureLaw = Literal["none", "arrhenius", "vogel", "wlf"]
Floats = NDArray[np.float64]

MODELS: tuple[str, ...] = get_args(Model)
TEMPERATURE_LAWS: tuple[str, ...] = get_args(TemperatureLaw)
LEAST_POLE_DISTANCE = 10.0
"""Of a Vogel law's T0 from the coldest point [K], as a case asks."""
TOLD = 0.5
"""Half width of an interval over its value beyond which the points do not tell the parameter [-]:
common practice, no source."""


@dataclass(frozen=True)
class _Parameter:
    """One unknown: how it is searched and shown."""

    key: str
    label: str
    kind: u.Kind | None
    low: float
    high: float
    logarithm: bool = False  # searched as ln, between exp(low) and exp(high)

    def value(self, x: float) -> float:
        return math.exp(x) if self.logarithm else x


_SHEAR: dict[str, tuple[_Parameter, ...]] = {
    "newtonian": (),
    "bingham": (_Parameter("yield_stress", "yield stress", u.STRESS, 0.0, math.inf),),
    "power_law": (_Parameter("index", "index n", None, 0.1, 1.0),),
    "herschel_bulkley": (
        _Parameter("index", "index n", None, 0.1, 1.0),
        _Parameter("yield_stress", "yield stress", u.STRESS, 0.0, math.inf),
    ),
    "cross": (
        _Parameter("time_constant", "time constant", u.TIME, -30.0, 30.0, True),
        _Parameter("exponent", "exponent m", None, 0.1, 1.0),
        _Parameter("plateau_ratio", "lower over upper plateau", None, 0.0, 0.9),
    ),
}
_CONSISTENCY = _Parameter("consistency", "viscosity at 1 1/s", u.VISCOSITY, -30.0, 30.0, True)
_PLATEAU = _Parameter("consistency", "viscosity at rest", u.VISCOSITY, -30.0, 30.0, True)
_PLASTIC = _Parameter("consistency", "plastic viscosity", u.VISCOSITY, -30.0, 30.0, True)
_ENERGY = _Parameter("activation_energy", "activation energy", u.MOLAR_ENERGY, 0.0, 5e5)


@dataclass(frozen=True, eq=False)
class Points:
    """Measured viscosities.

    Parameters
    ----------
    viscosity
        Whole apparent viscosity, shear stress over shear rate [Pa s].
    shear_rate
        [1/s]; None: not stated, for a Newtonian liquid.
    temperature
        [K]; None: all at one temperature.
    """

    viscosity: Floats
    shear_rate: Floats | None = None
    temperature: Floats | None = None

    @classmethod
    def of(
        cls,
        viscosity: ArrayLike,
        shear_rate: ArrayLike | None = None,
        temperature: ArrayLike | None = None,
    ) -> Points:
        """Check lists of the same length.

        Raises
        ------
        ValueError
            For lists that differ in length or values that are not above zero.
        """
        columns = {"viscosity": viscosity, "shear rate": shear_rate, "temperature": temperature}
        arrays = {
            name: None if given is None else np.asarray(given, dtype=float)
            for name, given in columns.items()
        }
        size = np.shape(viscosity)
        for name, values in arrays.items():
            if values is None:
                continue
            if values.ndim != 1 or values.shape != size:
                raise ValueError(f"{name} must be a list as long as that of the viscosities")
            if not np.all(np.isfinite(values) & (values > 0)):
                raise ValueError(f"{name} must be above zero at every point")
        first = arrays["viscosity"]
        assert first is not None
        return cls(first, arrays["shear rate"], arrays["temperature"])

    @classmethod
    def read(cls, text: str) -> Points:
        """Points from comma-separated values.

        Parameters
        ----------
        text
            First line ``temperature [degC],shear rate [1/s],viscosity [Pa*s]``; the first two
            columns may be left out.

        Raises
        ------
        ValueError
            With one line for each problem.
        """
        head = text.splitlines()[0] if text.strip() else ""
        kinds = {"viscosity": u.VISCOSITY}
        for name, kind in (("shear rate", u.SHEAR_RATE), ("temperature", u.TEMPERATURE)):
            if name in head:
                kinds[name] = kind
        columns = read_columns(text, kinds)
        return cls.of(columns["viscosity"], columns.get("shear rate"), columns.get("temperature"))


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


def _parameters(model: str, law: str, points: Points, reference: float) -> tuple[_Parameter, ...]:
    first = {"cross": _PLATEAU, "bingham": _PLASTIC}.get(model, _CONSISTENCY)
    if model == "newtonian":
        first = _Parameter("consistency", "viscosity", u.VISCOSITY, -30.0, 30.0, True)
    found = (first, *_SHEAR[model])
    coldest = reference if points.temperature is None else float(points.temperature.min())
    warm = coldest - LEAST_POLE_DISTANCE
    kelvin = u.TEMPERATURE_DIFFERENCE
    if law == "arrhenius":
        return (*found, _ENERGY)
    if law == "vogel":
        slope = _Parameter("slope", "B", kelvin, 0.0, 1e5)
        return (*found, slope, _Parameter("pole", "T0", u.TEMPERATURE, 0.0, warm))
    if law == "wlf":
        near = reference - warm
        return (
            *found,
            _Parameter("c1", "C1", None, 1e-6, 1e3),
            _Parameter("c2", "C2", kelvin, near, reference),
        )
    return found


def _rheology(model: str, law: str, reference: float, values: Mapping[str, float]) -> core.Rheology:
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


def _starts(model: str, law: str, points: Points, reference: float) -> list[dict[str, float]]:
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
    parameters = _parameters(model, law, points, reference)
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
        rheology = _rheology(model, law, reference, values)
        fitted = np.empty_like(measured)
        for temperature, rows in groups:
            frozen = core.at_temperature(rheology, temperature)
            fitted[rows] = core.apparent_viscosity(frozen, rates[rows])
        return np.log(fitted) - measured

    low = np.array([p.low for p in parameters])
    high = np.array([p.high for p in parameters])
    best: Any = None
    for start in _starts(model, law, points, reference):
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
    parameters: tuple[_Parameter, ...],
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
        _rheology(model, law, reference, values),
        estimates,
        covariance,
        tuple(p.key for p in parameters),
        tuple(p.key for p, h in zip(parameters, held, strict=True) if h),
        math.sqrt(variance),
    )


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
    labels = {p.key: p for p in _parameters(model, law, points, reference)}
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


def _shown(key: str, parameter: _Parameter, each: Estimate) -> tuple[Value, ...]:
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
    if ax is None:
        import matplotlib.pyplot as plt

        ax = plt.subplots(layout="constrained")[1]
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
