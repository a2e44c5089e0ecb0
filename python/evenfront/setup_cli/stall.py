"""`setup stall`: the stall test with closed shut-offs."""

from __future__ import annotations

from typing import Any

from evenfront import _core as core
from evenfront import setup
from evenfront import units as u
from evenfront.finding import Finding
from evenfront.setup_cli.command import Command, Inputs, Option
from evenfront.setup_cli.readers import VOLUME, number, quantity, record_columns, say
from evenfront.setup_cli.shared import CYLINDER_BORE, area


def _closed_volume(i: Inputs) -> float:
    """Liquid of the case's stream from piston to shut-off [m^3]."""
    shaft = i.machine.shaft
    line = sum(area(s.bore) * s.length for s in i.stream.line)
    return float(core.area(i.stream.cylinder) * (shaft.stroke - shaft.position) + line)


def _do_stall(i: Inputs) -> Finding:
    reading = {
        name.replace("-", "_"): i[name]
        for name in ("gas-exponent", "pressure-noise", "motion-noise")
    }

    def test(columns: dict[str, Any], volume: float) -> setup.Stall:
        return setup.fit_stall(
            columns["motion"],
            columns["pressure"],
            area(i["bore"]),
            volume,
            **reading,
        )

    if (i["second"] is None) != (i["second-volume"] is None):
        raise ValueError("--second and --second-volume belong together")
    if i["second"] is not None:
        return setup.separate_gas(
            test(i["log"], i["volume"]), test(i["second"], i["second-volume"])
        )
    return setup.stall_test(
        i["log"]["motion"],
        i["log"]["pressure"],
        area=area(i["bore"]),
        volume=i["volume"],
        bulk_modulus=i["bulk-modulus"],
        **reading,
    )


COMMANDS = (
    Command(
        "stall",
        "stall test: gas, softness and lash from motion against pressure, shut-offs closed",
        _do_stall,
        (
            Option(
                "log",
                record_columns(motion=u.LENGTH, pressure=u.PRESSURE),
                "file of comma-separated values: motion [mm],pressure [bar]",
                needed=True,
            ),
            CYLINDER_BORE,
            Option("volume", VOLUME, "liquid closed in", case=_closed_volume, needed=True),
            Option(
                "second",
                record_columns(motion=u.LENGTH, pressure=u.PRESSURE),
                "file of a test at another shaft position",
            ),
            Option("second-volume", VOLUME, "liquid closed in there"),
            Option(
                "bulk-modulus",
                quantity(u.STRESS, above="0 GPa"),
                say(u.STRESS, "of the gas-free liquid"),
                case=lambda i: i.stream.liquid.bulk_modulus,
            ),
            Option("gas-exponent", number(at_least=1, at_most=2), "1 for a slow test", "1"),
            Option(
                "pressure-noise", quantity(u.PRESSURE, at_least="0 bar"), "of the gauge", "0 bar"
            ),
            Option("motion-noise", quantity(u.LENGTH, at_least="0 mm"), "of the encoder", "0 mm"),
        ),
        side="resin",
    ),
)
