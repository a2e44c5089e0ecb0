"""`setup gas`: what free gas costs, and the vacuum against it."""

from __future__ import annotations

from evenfront import _core as core
from evenfront import setup
from evenfront import units as u
from evenfront.finding import Finding
from evenfront.setup_cli.command import Command, Inputs, Option
from evenfront.setup_cli.readers import GAUGE, SHARE, number, quantity, say
from evenfront.setup_cli.shared import CYLINDER_BORE, STROKE, TOLERANCE, area


def _do_gas(i: Inputs) -> Finding:
    liquid = core.Liquid(
        density=1000.0,
        bulk_modulus=i["bulk-modulus"],
        free_gas=max(i["free-gas"], core.least_free_gas),
        gas_exponent=i["gas-exponent"],
    )
    return setup.gas(
        liquid,
        tank_pressure=i["tank-pressure"],
        working_pressure=i["pressure"],
        cylinder_volume=area(i["bore"]) * i["stroke"],
        cylinder_bore=i["bore"],
        side=i.side,
        wanted=i["wanted"],
        share_under_vacuum=i["under-vacuum"],
        tolerance=i["tolerance"],
    )


COMMANDS = (
    Command(
        "gas",
        "free gas, stiffness, lost motion, ratio error per refill; vacuum needed",
        _do_gas,
        (
            Option(
                "free-gas",
                quantity(u.FRACTION, at_least="0 %", below="100 %"),
                say(u.FRACTION, "at atmosphere"),
                case=lambda i: i.stream.liquid.free_gas,
                needed=True,
            ),
            Option(
                "bulk-modulus",
                quantity(u.STRESS, above="0 GPa"),
                say(u.STRESS, "of the gas-free liquid"),
                case=lambda i: i.stream.liquid.bulk_modulus,
                needed=True,
            ),
            Option(
                "gas-exponent",
                number(at_least=1, at_most=2),
                "1 slow, up to 1.4 fast",
                "1",
                case=lambda i: i.stream.liquid.gas_exponent,
            ),
            Option("tank-pressure", GAUGE, say(u.PRESSURE, "at which it refills"), "4 bar"),
            Option(
                "pressure",
                GAUGE,
                say(u.PRESSURE, "in the cylinder at work"),
                case=lambda i: i.steady_stream.cylinder_pressure,
                needed=True,
            ),
            CYLINDER_BORE,
            STROKE,
            Option("wanted", SHARE, "free gas that may stay, for the vacuum"),
            Option("under-vacuum", SHARE, "of the volume still gas when vacuum is broken", "10 %"),
            TOLERANCE,
        ),
        side="resin",
    ),
)
