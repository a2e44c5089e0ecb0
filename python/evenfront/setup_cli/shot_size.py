"""`setup shot`: the shot in counts, volume and weight."""

from __future__ import annotations

from evenfront import setup
from evenfront import units as u
from evenfront.finding import Finding
from evenfront.setup_cli.command import Command, Inputs, Option
from evenfront.setup_cli.readers import (
    DENSITY,
    LENGTH,
    SOME_VOLUME,
    VOLUME,
    quantity,
    ratio_text,
    say,
)
from evenfront.setup_cli.shared import TOLERANCE


def _encoder(i: Inputs) -> float | None:
    written = i.case.data["shaft"].get("encoder") if i.case is not None else None
    return None if written is None else u.si(written, u.ENCODER)


def _do_shot(i: Inputs) -> Finding:
    if i["counts"] is not None and i["volume"] is not None:
        raise ValueError("give --counts or --volume, not both")
    if i["counts"] is None and i["volume"] is None:
        raise ValueError("give the shot by --counts or --volume")
    jump = None
    if i.case is not None and i["jump"]:
        jump = setup.start_up_jump(i.case)
    densities = (i["resin-density"], i["hardener-density"])
    return setup.shot(
        bores=(i["resin-bore"], i["hardener-bore"]),
        encoder=i["encoder"],
        counts=i["counts"],
        volume=i["volume"],
        densities=None if None in densities else densities,
        stroke_left=i["stroke-left"],
        ratio=i["ratio"],
        tolerance=i["tolerance"],
        swing=i["swing"],
        skew=i["skew"],
        hardener_flow=i["hardener-flow"],
        stem=i["stem"],
        drop=i["drop"],
        jump=jump,
    )


COMMANDS = (
    Command(
        "shot",
        "encoder counts, volume and weight of a shot; least shot; shots per stroke",
        _do_shot,
        (
            Option("counts", quantity(u.COUNTS, above="0 counts"), say(u.COUNTS, "of the shot")),
            Option("volume", VOLUME, say(u.VOLUME, "of both streams")),
            Option(
                "resin-bore",
                LENGTH,
                "of the cylinder",
                case=lambda i: i.machine.resin.cylinder.bore,
                needed=True,
            ),
            Option(
                "hardener-bore",
                LENGTH,
                "of the cylinder",
                case=lambda i: i.machine.hardener.cylinder.bore,
                needed=True,
            ),
            Option(
                "encoder",
                quantity(u.ENCODER, above="0 1/mm"),
                say(u.ENCODER, "counts as the controller counts them"),
                "1200 1/in",
                case=lambda i: _encoder(i) or u.si("1200 1/in", u.ENCODER),
            ),
            Option(
                "resin-density",
                DENSITY,
                "for the weight",
                case=lambda i: i.machine.resin.liquid.density,
            ),
            Option(
                "hardener-density",
                DENSITY,
                "for the weight",
                case=lambda i: i.machine.hardener.liquid.density,
            ),
            Option(
                "stroke-left",
                LENGTH,
                "travel left",
                case=lambda i: i.machine.shaft.stroke - i.machine.shaft.position,
            ),
            Option(
                "ratio",
                ratio_text,
                "resin:hardener by volume",
                case=lambda i: i.case.target.ratio if i.case else None,
            ),
            TOLERANCE,
            Option("swing", SOME_VOLUME, "highest less lowest lead in a shot", "0 mL"),
            Option("skew", quantity(u.TIME, at_least="0 s"), "between the shut-offs", "0 s"),
            Option("hardener-flow", quantity(u.FLOW, at_least="0 mL/s"), "for the skew", "0 mL/s"),
            Option("stem", SOME_VOLUME, "stem volume of the hardener's shut-off", "0 mL"),
            Option("drop", SOME_VOLUME, "one drop of hardener", "0 mL"),
            Option(
                "jump",
                lambda text: text == "yes",
                "yes: with --case, counts of the start-up jump",
                "no",
            ),
        ),
    ),
)
