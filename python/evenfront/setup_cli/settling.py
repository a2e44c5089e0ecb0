"""`setup filler`: how long a filled resin may stand."""

from __future__ import annotations

from evenfront import _core as core
from evenfront import setup
from evenfront import units as u
from evenfront.finding import Finding
from evenfront.setup_cli.command import Command, Inputs, Option
from evenfront.setup_cli.readers import DENSITY, LENGTH, SHARE, TIME, number, quantity, say
from evenfront.setup_cli.shared import cylinder_temperature, hose


def _do_filler(i: Inputs) -> Finding:
    heights = {
        name: i[option]
        for name, option in (
            ("tank", "tank-depth"),
            ("hose", "hose-bore"),
            ("cylinder", "cylinder"),
        )
        if i[option] is not None
    }
    if not heights:
        raise ValueError("give at least one of --tank-depth, --hose-bore, --cylinder (or --case)")
    return setup.filler(
        setup.Filler(i["diameter"], i["filler-density"], i["weight-fraction"]),
        filled_density=i["density"],
        filled_viscosity=i["viscosity"],
        heights=heights,
        drift=i["drift"],
        yield_stress=i["yield-stress"],
        packing=i["packing"],
        idle=i["idle"],
    )


COMMANDS = (
    Command(
        "filler",
        "settling in tank, hose and cylinder; longest idle",
        _do_filler,
        (
            Option("diameter", LENGTH, "of the coarse particles, such as 100 um", needed=True),
            Option("filler-density", DENSITY, say(u.DENSITY, "of the filler"), needed=True),
            Option("weight-fraction", SHARE, "of filler, such as 50 %%", needed=True),
            Option(
                "density",
                DENSITY,
                say(u.DENSITY, "of the filled resin"),
                case=lambda i: i.stream.liquid.density,
                needed=True,
            ),
            Option(
                "viscosity",
                quantity(u.VISCOSITY, above="0 Pa*s"),
                say(u.VISCOSITY, "of the filled resin where it stands, at a low shear rate"),
                case=lambda i: core.apparent_viscosity(
                    core.at_temperature(i.stream.rheology, cylinder_temperature(i)), 1.0
                ),
                needed=True,
            ),
            Option(
                "yield-stress",
                quantity(u.STRESS, at_least="0 Pa"),
                say(u.STRESS, "of the filled resin"),
                "0 Pa",
                case=lambda i: i.stream.rheology.yield_stress,
            ),
            Option("tank-depth", LENGTH, "of liquid in the tank"),
            Option("hose-bore", LENGTH, "of a hose that lies", case=lambda i: hose(i).bore),
            Option(
                "cylinder",
                LENGTH,
                "length of an upright cylinder",
                case=lambda i: i.machine.shaft.stroke,
            ),
            Option("drift", SHARE, "of filler content allowed", "1 %"),
            Option("packing", number(above=0, at_most=1), "densest fraction by volume", "0.64"),
            Option("idle", TIME, "it is meant to stand, such as 8 h"),
        ),
        side="resin",
    ),
)
