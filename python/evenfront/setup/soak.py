"""Heat: soak time, heater power, the rise of blocked-in liquid, and zones that are off."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from evenfront import _core as core
from evenfront import units as u
from evenfront.finding import Finding, Record, Value, values_of
from evenfront.plot_base import axes_for
from evenfront.setup.common import FOLLOW, HEATED, percent

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from evenfront.case import Case


@dataclass(frozen=True)
class Soak:
    """A line of liquid at rest that warms from its wall.

    Parameters
    ----------
    bore
        Inside diameter [m].
    start, wall
        Temperatures of the liquid and of what heats it [K].
    conductivity
        Of the liquid [W/(m K)].
    density
        [kg/m^3].
    specific_heat
        [J/(kg K)].
    film
        Heat transfer between heater and liquid's edge [W/(m^2 K)]; infinite: wall held.
    """

    bore: float
    start: float
    wall: float
    conductivity: float
    density: float
    specific_heat: float
    film: float = math.inf

    @property
    def biot(self) -> float:
        """Biot number on the radius [-]."""
        return self.film * self.bore / 2 / self.conductivity

    @property
    def unit_time(self) -> float:
        """Time of a Fourier number of one [s]."""
        diffusivity = self.conductivity / (self.density * self.specific_heat)
        return (self.bore / 2) ** 2 / diffusivity


def soak_time(line: Soak, rheology: core.Rheology, within: float = 0.1) -> float:
    """Time until the middle is within a share of the viscosity at the wall's temperature.

    Parameters
    ----------
    line
        The line.
    rheology
        Viscosity law of the liquid.
    within
        Share of the viscosity [-].

    Returns
    -------
    Time [s]; 0 if it is within already.
    """
    factor = 1.0 + within if line.start < line.wall else 1.0 / (1.0 + within)
    near = core.temperature_for_viscosity(rheology, line.wall, factor)
    left = (near - line.wall) / (line.start - line.wall) if line.start != line.wall else 1.0
    if left >= 1.0:
        return 0.0
    return line.unit_time * core.cylinder_fourier(line.biot, left)


def plot_soak(
    line: Soak, rheology: core.Rheology, time: float, *, ax: Axes | None = None, **style: Any
) -> Axes:
    """Draw the viscosity in the middle of a soaking line, over that at the wall's temperature.

    Parameters
    ----------
    line, rheology
        As for `soak_time`.
    time
        To draw to [s].
    ax
        To draw on; default a new figure.
    style
        Handed to the line.

    Returns
    -------
    The axes.
    """
    ax = axes_for(ax)
    # The series needs a Fourier number that is not too small; before it the middle is as it was.
    times = np.linspace(2e-4 * line.unit_time, time, 300)
    left = np.asarray(core.cylinder_soak(line.biot, times / line.unit_time, 0.0))
    middle = line.wall + left * (line.start - line.wall)
    warm = core.at_temperature(rheology, line.wall).consistency
    thick = [core.at_temperature(rheology, t).consistency / warm for t in middle]
    ax.plot(u.convert(1.0, u.LONG_TIME, "min") * times, thick, **{"color": "black", **style})
    from matplotlib.ticker import FormatStrFormatter

    ax.set_yscale("log")
    ax.yaxis.set_major_formatter(FormatStrFormatter("%g"))
    ax.yaxis.set_minor_formatter(FormatStrFormatter("%g"))
    ax.set_xlabel("time of soak [min]")
    ax.set_ylabel("viscosity in the middle over warm [-]")
    ax.grid(visible=True, which="both", linewidth=0.3)
    return ax


def heat(
    line: Soak,
    rheology: core.Rheology,
    liquid: core.Liquid,
    *,
    length: float,
    flow: float = 0.0,
    time: float | None = None,
    within: float = 0.1,
    wall_expansion: float = 0.0,
) -> Finding:
    """Soak time, heater power and the pressure rise of blocked-in liquid.

    Parameters
    ----------
    line
        The line to warm.
    rheology, liquid
        Of the liquid in it.
    length
        [m].
    flow
        To warm while dispensing [m^3/s].
    time
        Allowed for the soak [s].
    within
        Share of the viscosity that counts as warm [-].
    wall_expansion
        Of the line [m^3/(Pa m)].

    Returns
    -------
    Finding; no good if the soak takes longer than allowed.
    """
    needed = soak_time(line, rheology, within)
    area = math.pi / 4 * line.bore**2
    cold, warm = (core.at_temperature(rheology, t).consistency for t in (line.start, line.wall))
    content = line.density * line.specific_heat * area * length * (line.wall - line.start)
    mean = core.heat_rate(flow, line.density, line.specific_heat, line.wall - line.start)
    values = {
        "soak_time": (f"until the middle is within {percent(within)}", needed, u.LONG_TIME),
        "thinning": ("viscosity cold over warm", cold / warm, None),
        "soak_power": (
            "mean power while soaking",
            content / needed if needed > 0 else 0.0,
            u.POWER,
        ),
        "flow_power": ("power while dispensing", mean, u.POWER),
    }
    cautions = [FOLLOW]
    if line.wall > line.start:
        # Gas would cushion the rise; once degassed there is none, and that is the one to mind.
        degassed = liquid.replace(free_gas=core.least_free_gas)
        rise = core.blocked_in_pressure(degassed, line.start, line.wall, wall_expansion / area)
        values["blocked_in"] = ("pressure rise if blocked in, degassed", rise, u.PRESSURE)
        values["blocked_in_per_kelvin"] = (
            "the same per kelvin",
            rise / (line.wall - line.start),
            u.PRESSURE_PER_KELVIN,
        )
        cautions.insert(0, HEATED)
    good = time is None or needed <= time
    verdict = f"{u.show(needed, u.LONG_TIME)} of soak"
    if time is not None:
        verdict += f" against {u.show(time, u.LONG_TIME)} allowed"
    return Finding(
        "Heat",
        good,
        verdict + f"; the viscosity falls {u.digits(cold / warm)} times.",
        values_of(values),
        notes=(
            "Liquid at rest, conduction only; a power that heats all of it through the mean "
            "temperature, losses to the room not counted.",
        ),
        cautions=tuple(cautions),
    )


def zones(case: Case, room: float) -> Finding:
    """Viscosity, pressure and lead of every heat zone of the resin, and each zone off.

    Parameters
    ----------
    case
        The case as written, all zones on.
    room
        Temperature of a zone that is off [K].

    Returns
    -------
    Finding with a table; no good if the machine stops when a zone is off.
    """
    from evenfront.run import Run

    records, stopped = [], []
    names = ["all on", "cylinder", *(segment.name for segment in case.machine.resin.line)]
    for i, name in enumerate(names):
        machine = _zone_off(case.machine, i - 1, room)
        steady = core.steady_state(machine)
        label = name if i == 0 else f"{name} off"
        if not steady.flows:
            stopped.append(name)
        run = Run(case, machine)
        done = bool(run.measures.shots) and steady.flows
        place = machine.resin.line[max(i - 2, 0)].temperature
        if i <= 1:
            place = machine.resin.cylinder.temperature
        # The rate at the wall of the zone's own bore while dispensing, 8u/D.
        bore = machine.resin.line[max(i - 2, 0)].bore if i > 1 else machine.resin.cylinder.bore
        rate = 32 * steady.resin.flow / (math.pi * bore**3) if steady.flows else math.nan
        law = core.at_temperature(machine.resin.rheology, place)
        records.append(
            Record(
                label,
                (
                    Value("temperature", "temperature", place, u.TEMPERATURE),
                    Value(
                        "viscosity",
                        "viscosity",
                        core.apparent_viscosity(law, rate) if rate > 0 else math.nan,
                        u.VISCOSITY,
                    ),
                    Value("flow", "flow", steady.resin.flow + steady.hardener.flow, u.FLOW),
                    Value(
                        "resin_pressure",
                        "resin cylinder",
                        steady.resin.cylinder_pressure if steady.flows else math.nan,
                        u.PRESSURE,
                    ),
                    Value(
                        "net_lead", "net lead", run.shot.net_lead if done else math.nan, u.VOLUME
                    ),
                    Value("swing", "swing", run.shot.swing if done else math.nan, u.VOLUME),
                ),
            )
        )
    flows = [record.values[2].value for record in records]
    worst = int(np.argmin(flows))
    verdict = (
        f"nothing flows with {', '.join(stopped)} off"
        if stopped
        else f"the {names[worst]} matters most: off, {percent(flows[worst] / flows[0])} of the "
        "flow are left"
        if worst
        else "no zone that is off lowers the flow"
    )
    return Finding(
        "Heat zones", not stopped, verdict + ".", (), tuple(records), (), (HEATED, FOLLOW)
    )


def _zone_off(machine: core.Machine, zone: int, room: float) -> core.Machine:
    """Machine with one resin zone at room temperature: -1 none, 0 cylinder, then the segments."""
    resin = machine.resin
    if zone < 0:
        return machine
    if zone == 0:
        resin = resin.replace(cylinder=resin.cylinder.replace(temperature=room))
    else:
        line = list(resin.line)
        line[zone - 1] = line[zone - 1].replace(temperature=room)
        resin = resin.replace(line=line)
    return machine.replace(resin=resin)
