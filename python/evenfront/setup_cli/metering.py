"""`setup ratio`: the ratio in every form, its bores, and its budget."""

from __future__ import annotations

from evenfront import _core as core
from evenfront import setup
from evenfront import units as u
from evenfront.finding import Finding
from evenfront.setup_cli.command import Command, Inputs, Option
from evenfront.setup_cli.readers import (
    COUNT,
    DENSITY,
    GAUGE,
    LENGTH,
    SOME_VOLUME,
    TEMPERATURE,
    VOLUME,
    quantity,
    ratio_text,
    say,
)
from evenfront.setup_cli.shared import TOLERANCE


def _liquid_options(side: str) -> tuple[Option, ...]:
    def of(i: Inputs) -> core.Stream:
        return i.machine.hardener if side == "hardener" else i.machine.resin

    return (
        Option(
            f"{side}-density",
            DENSITY,
            say(u.DENSITY, f"of the {side} at its reference temperature"),
            case=lambda i: of(i).liquid.density,
            needed=True,
        ),
        Option(
            f"{side}-expansion",
            quantity(u.EXPANSION, at_least="0 1/K"),
            say(u.EXPANSION, f"of the {side}"),
            "0 1/K",
            case=lambda i: of(i).liquid.thermal_expansion,
        ),
        Option(
            f"{side}-reference",
            TEMPERATURE,
            say(u.TEMPERATURE, "at which the density was read"),
            "25 degC",
            case=lambda i: of(i).liquid.reference_temperature,
        ),
        Option(
            f"{side}-temperature",
            TEMPERATURE,
            say(u.TEMPERATURE, "at which it is metered"),
            "25 degC",
            case=lambda i: of(i).cylinder.temperature,
        ),
    )


def _metered(i: Inputs, side: str) -> setup.Metered:
    """Liquid of one side: of the options; with a case its gas, stiffness and pressure as well."""
    written = {
        "density": i[f"{side}-density"],
        "thermal_expansion": i[f"{side}-expansion"],
        "reference_temperature": i[f"{side}-reference"],
    }
    if i.case is None:
        # Gas-free and at rest: the bulk modulus does not matter.
        return setup.Metered(
            core.Liquid(bulk_modulus=2e9, **written), i[f"{side}-temperature"], 0.0
        )
    steady = core.steady_state(i.machine)
    stream = i.machine.hardener if side == "hardener" else i.machine.resin
    flow = steady.hardener if side == "hardener" else steady.resin
    return setup.Metered(
        stream.liquid.replace(**written),
        i[f"{side}-temperature"],
        flow.cylinder_pressure if steady.flows else 0.0,
    )


def _do_ratio(i: Inputs) -> Finding:
    given = [i["by-volume"], i["by-weight"], i["equivalents"]]
    if i.case is not None and all(form is None for form in given):
        i.values["by-volume"] = i.case.target.ratio
    if i["equivalents"] is not None and len(i["equivalents"]) != 2:
        raise ValueError("--equivalents: two are needed, resin then hardener")
    if i["bores"] is not None and len(i["bores"]) != 2:
        raise ValueError("--bores: two are needed, resin then hardener")
    if sum(form is not None for form in (i["by-volume"], i["by-weight"], i["equivalents"])) != 1:
        raise ValueError("give one of --by-volume, --by-weight, --equivalents (or --case)")
    if i["budget-shot"] is not None:
        if i.case is None:
            raise ValueError("--budget-shot: the ratio budget needs --case")
        inputs = setup.BudgetInputs(
            shot=i["budget-shot"],
            bore_deviation=i["bore-deviation"],
            temperature_change=i["temperature-change"],
            tank_pressures=(i["resin-tank"], i["hardener-tank"]),
            stem_volumes=(i["resin-stem"], i["hardener-stem"]),
            weight_resolution=i["scale"],
        )
        return setup.machine_budget(i.machine, i.case.target, inputs)
    return setup.ratio(
        _metered(i, "resin"),
        _metered(i, "hardener"),
        by_volume=i["by-volume"],
        by_weight=i["by-weight"],
        equivalents=tuple(i["equivalents"]) if i["equivalents"] else None,
        stoichiometry=i["stoichiometry"],
        bores=tuple(i["bores"]) if i["bores"] else None,
        resin_bore=i["resin-bore"],
        resin_stock=i["resin-stock"] or (),
        hardener_stock=i["hardener-stock"] or (),
        tolerance=i["tolerance"],
    )


COMMANDS = (
    Command(
        "ratio",
        "ratio by weight, volume and stoichiometry; bores; with --budget-shot the ratio budget",
        _do_ratio,
        (
            Option("by-volume", ratio_text, "resin:hardener by volume, such as 100:12"),
            Option("by-weight", ratio_text, "resin:hardener by weight, such as 100:8"),
            Option(
                "equivalents",
                quantity(u.EQUIVALENT, above="0 g/mol"),
                say(u.EQUIVALENT, "of resin and hardener"),
                many=True,
            ),
            Option("stoichiometry", COUNT, "hardener groups per resin group", "1"),
            *_liquid_options("resin"),
            *_liquid_options("hardener"),
            Option(
                "bores",
                LENGTH,
                "bores of resin and hardener to judge",
                many=True,
                case=lambda i: [i.machine.resin.cylinder.bore, i.machine.hardener.cylinder.bore],
            ),
            Option("resin-bore", LENGTH, "bore for which the hardener's is wanted"),
            Option("resin-stock", LENGTH, "resin bores to choose from", many=True),
            Option("hardener-stock", LENGTH, "hardener bores to choose from", many=True),
            TOLERANCE,
            Option("budget-shot", VOLUME, "shot of both streams: gives the ratio budget"),
            Option("bore-deviation", LENGTH, "of each bore, for the budget", "0.01 mm"),
            Option(
                "temperature-change",
                quantity(u.TEMPERATURE_DIFFERENCE, at_least="0 K"),
                "of one stream, for the budget",
                "5 K",
            ),
            Option("resin-tank", GAUGE, "pressure at refill, for the budget", "4 bar"),
            Option("hardener-tank", GAUGE, "pressure at refill, for the budget", "1 bar"),
            Option("resin-stem", SOME_VOLUME, "stem volume, for the budget", "0 mL"),
            Option("hardener-stem", SOME_VOLUME, "stem volume, for the budget", "0 mL"),
            Option(
                "scale", quantity(u.MASS, at_least="0 g"), "resolution, for the budget", "0.01 g"
            ),
        ),
    ),
)
