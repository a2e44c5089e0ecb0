"""`setup heat`: soak, heater power, blocked-in liquid, zones that are off."""

from __future__ import annotations

import math

from evenfront import _core as core
from evenfront import setup
from evenfront import units as u
from evenfront.finding import Finding
from evenfront.setup_cli.command import Command, Inputs, Option
from evenfront.setup_cli.readers import DENSITY, LENGTH, SHARE, TEMPERATURE, TIME, quantity, say
from evenfront.setup_cli.shared import VISCOSITY, apparent_law, hose


def _do_heat(i: Inputs) -> Finding:
    if i["zones"] is not None:
        if i.case is None:
            raise ValueError("--zones: needs --case")
        return setup.zones(i.case, i["zones"])
    if i["viscosity"] is None:
        rheology, liquid = i.stream.rheology, i.stream.liquid
    else:
        if i["activation-energy"] is None:
            raise ValueError("--activation-energy: is missing; such as 50 kJ/mol")
        law = apparent_law(i["viscosity"], i["shear-rate"], i["index"], i["yield-stress"])
        rheology = core.Rheology(
            consistency=law.consistency,
            index=law.index,
            yield_stress=law.yield_stress,
            reference_temperature=i["wall"],
            activation_energy=i["activation-energy"],
        )
        liquid = core.Liquid(
            density=i["density"], bulk_modulus=i["bulk-modulus"], thermal_expansion=i["expansion"]
        )
    line = setup.Soak(
        bore=i["bore"],
        start=i["start"],
        wall=i["wall"],
        conductivity=i["conductivity"],
        density=i["density"],
        specific_heat=i["specific-heat"],
        film=math.inf if i["film"] is None else i["film"],
    )
    return setup.heat(
        line,
        rheology,
        liquid,
        length=i["length"],
        flow=i["flow"],
        time=i["time"],
        within=i["within"],
        wall_expansion=i["wall-expansion"],
    )


COMMANDS = (
    Command(
        "heat",
        "soak time, heater power, pressure rise of blocked-in liquid; with --zones each zone off",
        _do_heat,
        (
            Option("zones", TEMPERATURE, say(u.TEMPERATURE, "of a zone that is off")),
            Option("start", TEMPERATURE, say(u.TEMPERATURE, "of the cold liquid"), "20 degC"),
            Option(
                "wall",
                TEMPERATURE,
                say(u.TEMPERATURE, "of what heats it"),
                case=lambda i: hose(i).temperature,
                needed=True,
            ),
            Option("bore", LENGTH, "of the line", case=lambda i: hose(i).bore, needed=True),
            Option("length", LENGTH, "of the line", case=lambda i: hose(i).length, needed=True),
            Option(
                "wall-expansion",
                quantity(u.WALL_EXPANSION, at_least="0 mL/bar/m"),
                say(u.WALL_EXPANSION, "of the line"),
                "0 mL/bar/m",
                case=lambda i: hose(i).wall_expansion,
            ),
            Option(
                "conductivity",
                quantity(u.CONDUCTIVITY, above="0 W/m/K"),
                say(u.CONDUCTIVITY, "of the liquid"),
                "0.3 W/m/K",
            ),
            Option(
                "specific-heat",
                quantity(u.SPECIFIC_HEAT, above="0 J/kg/K"),
                say(u.SPECIFIC_HEAT, "of the liquid"),
                "1200 J/kg/K",
            ),
            Option(
                "density",
                DENSITY,
                say(u.DENSITY, "of the liquid"),
                case=lambda i: i.stream.liquid.density,
                needed=True,
            ),
            Option(
                "film",
                quantity(u.HEAT_TRANSFER, above="0 W/m^2/K"),
                say(u.HEAT_TRANSFER, "to the liquid's edge; without it the wall is held"),
            ),
            *VISCOSITY,
            Option(
                "activation-energy",
                quantity(u.MOLAR_ENERGY, above="0 kJ/mol"),
                say(u.MOLAR_ENERGY, "of the viscosity"),
            ),
            Option(
                "expansion",
                quantity(u.EXPANSION, at_least="0 1/K"),
                say(u.EXPANSION, "of the liquid"),
                "4e-4 1/K",
            ),
            Option(
                "bulk-modulus",
                quantity(u.STRESS, above="0 GPa"),
                say(u.STRESS, "of the liquid"),
                "2.5 GPa",
            ),
            Option("flow", quantity(u.FLOW, at_least="0 mL/s"), "to warm in use", "0 mL/s"),
            Option("time", TIME, "allowed for the soak"),
            Option("within", SHARE, "of the warm viscosity", "10 %"),
        ),
        side="resin",
    ),
)
