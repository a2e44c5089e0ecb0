"""`setup prime` and `setup fill`: hoses and cylinders filled."""

from __future__ import annotations

from evenfront import _core as core
from evenfront import setup
from evenfront import units as u
from evenfront.finding import Finding
from evenfront.setup_cli.command import Command, Inputs, Option
from evenfront.setup_cli.readers import FLOW, GAUGE, LENGTH, PRESSURE, TIME, quantity, say
from evenfront.setup_cli.shared import (
    STROKE,
    VISCOSITY,
    cylinder_temperature,
    hose,
    line_temperature,
    shear_law,
)


def _do_prime(i: Inputs) -> Finding:
    return setup.prime(
        shear_law(i, line_temperature),
        bore=i["bore"],
        length=i["length"],
        pressure=i["pressure"],
        surface_tension=i["surface-tension"],
        new_share=i["new-share"],
    )


def _feed(i: Inputs) -> core.Feed:
    if i.stream.feed is None:
        raise ValueError("the case has no feed for this stream; give it here")
    return i.stream.feed


def _do_fill(i: Inputs) -> Finding:
    return setup.fill(
        shear_law(i, cylinder_temperature),
        cylinder_bore=i["cylinder-bore"],
        stroke=i["stroke"],
        tank_pressure=i["tank-pressure"],
        feed_bore=i["feed-bore"],
        feed_length=i["feed-length"],
        lowest=i["lowest"],
        time=i["time"],
        consumption=i["consumption"],
        heel=i["heel"],
    )


COMMANDS = (
    Command(
        "prime",
        "time and volume to fill an empty hose; residual film; purge volumes",
        _do_prime,
        (
            *VISCOSITY,
            Option("bore", LENGTH, "of the hose", case=lambda i: hose(i).bore, needed=True),
            Option("length", LENGTH, "of the hose", case=lambda i: hose(i).length, needed=True),
            Option("pressure", PRESSURE, say(u.PRESSURE, "at the inlet"), "100 psi"),
            Option(
                "surface-tension",
                quantity(u.SURFACE_TENSION, above="0 mN/m"),
                say(u.SURFACE_TENSION, "of the liquid"),
                "35 mN/m",
            ),
            Option(
                "new-share",
                quantity(u.FRACTION, above="0 %", at_most="99.99 %"),
                "new after a purge",
                "99 %",
            ),
        ),
        side="resin",
    ),
    Command(
        "fill",
        "refill time, fastest retract, feed-line size, time to change-over",
        _do_fill,
        (
            *VISCOSITY,
            Option(
                "cylinder-bore",
                LENGTH,
                "of the metering cylinder",
                case=lambda i: i.stream.cylinder.bore,
                needed=True,
            ),
            STROKE,
            Option(
                "tank-pressure",
                GAUGE,
                say(u.PRESSURE, "of the tank"),
                "4 bar",
                case=lambda i: i.stream.feed.tank_pressure if i.stream.feed else 4e5,
            ),
            Option(
                "feed-bore",
                LENGTH,
                "of the feed line",
                case=lambda i: _feed(i).bore,
                needed=True,
            ),
            Option(
                "feed-length",
                LENGTH,
                "of the feed line",
                case=lambda i: _feed(i).length,
                needed=True,
            ),
            Option("lowest", GAUGE, "pressure allowed in the cylinder", "-0.9 bar"),
            Option("time", TIME, "wanted for a refill"),
            Option("consumption", FLOW, "mean flow over work and pauses"),
            Option(
                "heel",
                quantity(u.FRACTION, at_least="0 %", below="100 %"),
                "of a container that cannot be drawn",
                "3 %",
            ),
        ),
        side="resin",
    ),
)
