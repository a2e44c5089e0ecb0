"""Options and values that several commands of the set-up share."""

from __future__ import annotations

import math
from collections.abc import Callable

from evenfront import _core as core
from evenfront import units as u
from evenfront.setup_cli.command import Inputs, Option
from evenfront.setup_cli.readers import LENGTH, number, quantity, say, tolerance

VISCOSITY = (
    Option(
        "viscosity",
        quantity(u.VISCOSITY, above="0 Pa*s"),
        say(u.VISCOSITY, "of the liquid at the temperature of the task"),
        case=lambda i: None,
        needed=True,
    ),
    Option(
        "shear-rate",
        quantity(u.SHEAR_RATE, above="0 1/s"),
        say(u.SHEAR_RATE, "at which the viscosity was read"),
        "1 1/s",
    ),
    Option("index", number(at_least=0.1, at_most=1), "power-law index, 1 is Newtonian", "1"),
    Option(
        "yield-stress",
        quantity(u.STRESS, at_least="0 Pa"),
        say(u.STRESS, "yield stress"),
        "0 Pa",
    ),
)
CYLINDER_BORE = Option(
    "bore",
    LENGTH,
    "of the cylinder",
    case=lambda i: i.stream.cylinder.bore,
    needed=True,
)
STROKE = Option(
    "stroke",
    LENGTH,
    "of the shaft",
    case=lambda i: i.machine.shaft.stroke,
    needed=True,
)
TOLERANCE = Option(
    "tolerance",
    tolerance,
    "ratio error the material tolerates, such as 5 %%",
    "5 %",
    case=lambda i: (
        min(i.case.target.tolerance_low, i.case.target.tolerance_high) if i.case else None
    ),
)


def shear_law(i: Inputs, temperature: Callable[[Inputs], float]) -> core.ShearLaw:
    """Law from the options, or that of the case's stream at a temperature [K]."""
    if i["viscosity"] is None:
        return core.at_temperature(i.stream.rheology, temperature(i))
    return apparent_law(i["viscosity"], i["shear-rate"], i["index"], i["yield-stress"])


def apparent_law(viscosity: float, rate: float, index: float, yield_stress: float) -> core.ShearLaw:
    """Law that has a viscosity at a shear rate, with index and yield stress."""
    plastic = viscosity - yield_stress / rate
    if not plastic > 0:
        raise ValueError("the yield stress alone is more than the viscosity at that shear rate")
    return core.ShearLaw(
        consistency=plastic * rate ** (1.0 - index), index=index, yield_stress=yield_stress
    )


def line_temperature(i: Inputs) -> float:
    """Temperature of the line's last piece [K]."""
    return i.stream.line[-1].temperature


def cylinder_temperature(i: Inputs) -> float:
    """Temperature of the cylinder [K]."""
    return i.stream.cylinder.temperature


def hose(i: Inputs) -> core.Segment:
    """Longest piece of the line."""
    return max(i.stream.line, key=lambda segment: segment.length)


def area(bore: float) -> float:
    """Cross-section of a bore [m^2]."""
    return math.pi / 4 * bore**2
