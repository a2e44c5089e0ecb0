"""Drive force, flow and every pressure of the steady state, against the ratings."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from evenfront import _core as core
from evenfront import units as u
from evenfront.finding import Finding, Record, Value, ratio_value
from evenfront.plot_base import axes_for
from evenfront.setup.common import FOLLOW, RELIEVE

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def pressure(
    machine: core.Machine, *, flow: float | None = None, force: float | None = None
) -> Finding:
    """Drive force, flow and every pressure of the steady state, against the ratings.

    Parameters
    ----------
    machine
        The machine.
    flow
        Liquid flow of both streams wanted [m^3/s]; without it the flow of `force` is found.
    force
        Of the drive [N]; default the machine's own.

    Returns
    -------
    Finding with a table of all pieces; no good if nothing flows or a rating is passed.
    """
    if flow is not None:
        force = core.force_for_flow(machine, flow)
    elif force is None:
        force = core.full_force(machine.drive)
    steady = core.steady_state(machine, force)
    if not steady.flows:
        return Finding("Drive and flow", False, steady.reason + ".", cautions=(RELIEVE, FOLLOW))
    stations = core.pressure_stations(machine, force)
    limit = core.force_for_rating(machine)
    total = steady.resin.flow + steady.hardener.flow
    over = [s for s in stations if s.pressure > s.rating]
    costliest = max(stations, key=lambda s: s.loss)
    verdict = (
        f"{u.show(force, u.FORCE)} drive {u.show(total, u.FLOW)}; most pressure goes into the "
        f"{_station_name(costliest)}"
    )
    if over:
        verdict += "; past its rating: " + ", ".join(_station_name(s) for s in over)
    values = [
        Value("force", "drive force", force, u.FORCE),
        Value("flow", "flow of both", total, u.FLOW),
        ratio_value("ratio", "ratio delivered by volume", steady.ratio),
        Value("limit_force", "force at the first rating", limit, u.FORCE),
    ]
    if math.isfinite(limit):
        first = max(core.pressure_stations(machine, limit), key=lambda s: s.pressure / s.rating)
        at_limit = core.steady_state(machine, limit)
        values[-1] = Value(
            "limit_force",
            f"force at the first rating ({_station_name(first)})",
            limit,
            u.FORCE,
        )
        values.append(
            Value("limit_flow", "flow there", at_limit.resin.flow + at_limit.hardener.flow, u.FLOW)
        )
    blocked = {
        name: core.blocked_pressure(stream.cylinder, force)
        for name, stream in (("resin", machine.resin), ("hardener", machine.hardener))
    }
    values += [
        Value(f"blocked_{name}", f"{name} alone blocked", value, u.PRESSURE)
        for name, value in blocked.items()
    ]
    cautions = [RELIEVE, FOLLOW]
    if blocked["hardener"] > machine.hardener.cylinder.rating or any(
        blocked["hardener"] > segment.rating for segment in machine.hardener.line
    ):
        cautions.insert(
            0,
            "A blocked hardener outlet with the resin open puts the whole drive force on the small "
            f"piston, {u.show(blocked['hardener'], u.PRESSURE)}: above a rating. Fit relief.",
        )
    return Finding(
        "Drive and flow",
        not over,
        verdict + ".",
        tuple(values),
        tuple(_station_record(s) for s in stations),
        cautions=tuple(cautions),
    )


def _station_name(station: core.Station) -> str:
    return station.name if station.stream == "both" else f"{station.stream} {station.name}"


def _station_record(station: core.Station) -> Record:
    return Record(
        _station_name(station),
        (
            Value("pressure", "pressure", station.pressure, u.PRESSURE),
            Value("loss", "lost in it", station.loss, u.PRESSURE),
            Value("rating", "rating", station.rating, u.PRESSURE),
        ),
    )


def plot_stations(finding: Finding, *, ax: Axes | None = None, **style: Any) -> Axes:
    """Bar chart of where the pressure goes.

    Parameters
    ----------
    finding
        Of `pressure`.
    ax
        To draw on; default a new figure.
    style
        Handed to the bars.

    Returns
    -------
    The axes.
    """
    ax = axes_for(ax)
    names, losses, colours = [], [], []
    for record in finding.records:
        loss = next(value.value for value in record.values if value.key == "loss")
        if record.name.endswith("cylinder"):
            continue
        names.append(record.name)
        losses.append(u.convert(loss, u.PRESSURE, "bar"))
        colours.append({"resin": "#555555", "harde": "#c8c8c8"}.get(record.name[:5], "white"))
    bars: dict[str, Any] = {"color": colours, "edgecolor": "black", **style}
    ax.barh(names, losses, **bars)
    ax.invert_yaxis()
    ax.set_xlabel("pressure lost [bar]")
    for i, loss in enumerate(losses):
        ax.annotate(f" {u.digits(loss, 2)}", (loss, i), va="center")
    ax.margins(x=0.1)
    return ax
