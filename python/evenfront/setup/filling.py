"""Filling a hose and a cylinder: priming, purge, refill, feed line, change-over."""

from __future__ import annotations

import math

from evenfront import _core as core
from evenfront import units as u
from evenfront.finding import Finding, Record, Value, values_of
from evenfront.setup.common import FOLLOW, RELIEVE, percent

TANK_PRIME = u.si("100 psi", u.PRESSURE)
"""Tank pressure for priming [Pa]; common practice, no source."""
LINE_SIZES = tuple(
    u.si(text, u.LENGTH)
    for text in ("0.25 in", "0.375 in", "0.5 in", "0.75 in", "1 in", "1.25 in", "1.5 in", "2 in")
)
"""Bores of hoses that are stocked [m]; common practice, no source."""
CONTAINERS = {
    "pail, 5 US gal": 5 * 231 * 0.0254**3,
    "drum, 55 US gal": 55 * 231 * 0.0254**3,
    "tote, 275 US gal": 275 * 231 * 0.0254**3,
    "pail, 20 L": 20e-3,
    "drum, 200 L": 200e-3,
    "tote, 1000 L": 1.0,
}
"""Nominal volumes by the name of the container [m^3]: steel drums of 55 US gal after ISO 15750 hold
at least that much, totes are intermediate bulk containers; from memory."""


def prime(
    law: core.ShearLaw,
    *,
    bore: float,
    length: float,
    pressure: float = TANK_PRIME,
    surface_tension: float = 35e-3,
    new_share: float = 0.99,
) -> Finding:
    """Time and volume to fill an empty hose, what stays when it is emptied, what purges it.

    Parameters
    ----------
    law
        Of the liquid at the hose's temperature.
    bore, length
        Of the hose [m].
    pressure
        At its inlet, gauge [Pa].
    surface_tension
        [N/m].
    new_share
        Of what comes out, new after a purge [-].

    Returns
    -------
    Finding; no good if the yield stress stops the front before the end.
    """
    volume = math.pi / 4 * bore**2 * length
    reach = core.prime_reach(law, pressure, bore)
    cautions = (RELIEVE, FOLLOW)
    if length >= reach:
        return Finding(
            "Prime",
            False,
            f"the yield stress stops the liquid after {u.show(reach, u.LENGTH)}: more pressure, a "
            "wider hose or heat is needed.",
            (Value("reach", "longest hose", reach, u.LENGTH),),
            cautions=cautions,
        )
    time = core.prime_time(law, pressure, bore, length)
    # Gas that empties it again at the same mean speed leaves a film.
    mean = length / time
    viscosity = core.apparent_viscosity(law, 8 * mean / bore)
    film = core.film_left(viscosity * mean / surface_tension)
    volumes = core.purge_volumes(new_share, law.index)
    return Finding(
        "Prime",
        True,
        f"{u.show(length, u.LENGTH)} of hose fill in {u.show(time, u.TIME)} at "
        f"{u.show(pressure, u.PRESSURE)}.",
        values_of(
            {
                "prime_time": ("time to fill", time, u.TIME),
                "prime_volume": ("volume of the hose", volume, u.VOLUME),
                "film_volume": ("left on the wall if blown out", film * volume, u.VOLUME),
                "film_share": ("of the hose", film, u.FRACTION),
                "purge_volumes": (f"hose volumes to {percent(new_share)} new", volumes, None),
                "purge_volume": ("the same", volumes * volume, u.VOLUME),
                "reach": ("longest hose at this pressure", reach, u.LENGTH),
            }
        ),
        notes=(
            "Laminar, level, air let out freely; the film for a Newtonian liquid of the apparent "
            f"viscosity at the mean speed and {u.show(surface_tension, u.SURFACE_TENSION)}.",
        ),
        cautions=cautions,
    )


def fill(
    law: core.ShearLaw,
    *,
    cylinder_bore: float,
    stroke: float,
    tank_pressure: float,
    feed_bore: float,
    feed_length: float,
    lowest: float = core.starvation_pressure,
    time: float | None = None,
    consumption: float | None = None,
    heel: float = 0.03,
) -> Finding:
    """Refill time, fastest retract without starvation, feed-line size, time to change-over.

    Parameters
    ----------
    law
        Of the liquid at the tank's temperature.
    cylinder_bore, stroke
        [m].
    tank_pressure
        Gauge [Pa].
    feed_bore, feed_length
        Of the feed line [m].
    lowest
        Pressure allowed in the cylinder, gauge [Pa].
    time
        Wanted for a refill [s]; gives the bore needed.
    consumption
        Mean flow of this side over work and pauses [m^3/s]; gives the times to change-over.
    heel
        Share of a container that cannot be drawn [-].

    Returns
    -------
    Finding; no good if the refill takes longer than wanted, or nothing flows.
    """
    flow = core.feed_flow(law, tank_pressure, feed_bore, feed_length, lowest)
    volume = math.pi / 4 * cylinder_bore**2 * stroke
    cautions = (RELIEVE, FOLLOW)
    if not flow > 0:
        return Finding(
            "Fill",
            False,
            "the yield stress keeps the feed line closed: more tank pressure, a wider or a warmer "
            "line is needed.",
            cautions=cautions,
        )
    fastest = volume / flow
    values = {
        "feed_flow": ("largest feed flow", flow, u.FLOW),
        "retract_speed": (
            "fastest retract",
            core.retract_speed(flow, cylinder_bore),
            u.SPEED,
        ),
        "fill_time": ("shortest refill", fastest, u.TIME),
        "stroke_volume": ("full cylinder", volume, u.VOLUME),
    }
    verdict = f"a refill takes at least {u.show(fastest, u.TIME)}"
    good = True
    if time is not None:
        good = fastest <= time
        bore = core.feed_bore(law, volume / time, tank_pressure - lowest, feed_length)
        larger = [size for size in LINE_SIZES if size >= bore]
        values["feed_bore_needed"] = ("feed bore needed", bore, u.LENGTH)
        if larger:
            values["line_size"] = ("next stocked size", larger[0], u.LENGTH)
        verdict += f" against {u.show(time, u.TIME)} wanted"
    records: tuple[Record, ...] = ()
    if consumption is not None:
        records = tuple(
            Record(
                name,
                (
                    Value("volume", "volume", content, u.BULK_VOLUME),
                    Value(
                        "change_over",
                        "time to change-over",
                        core.change_over_time(content, heel, consumption),
                        u.LONG_TIME,
                    ),
                ),
            )
            for name, content in CONTAINERS.items()
        )
    return Finding(
        "Fill",
        good,
        verdict + ".",
        values_of(values),
        records,
        notes=(
            "Faster than this the cylinder falls below "
            f"{u.show(lowest, u.PRESSURE)} and starves; containers by their nominal volume less "
            f"{percent(heel)} (from memory).",
        ),
        cautions=cautions,
    )
