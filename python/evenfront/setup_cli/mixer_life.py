"""`setup mixer`: age of the blend, purge plan, mixers per shift."""

from __future__ import annotations

from evenfront import _core as core
from evenfront import setup
from evenfront import units as u
from evenfront.finding import Finding
from evenfront.setup_cli.command import Command, Inputs, Option
from evenfront.setup_cli.readers import FLOW, SHARE, TIME, VOLUME, number, quantity, say


def _both_flow(i: Inputs) -> float:
    steady = i.steady
    return steady.resin.flow + steady.hardener.flow


def _do_mixer(i: Inputs) -> Finding:
    return setup.mixer(
        hold_up=i["hold-up"],
        flow=i["flow"],
        working_life=i["working-life"],
        shot=i["shot"],
        dwell=i["dwell"],
        share=i["share"],
        shift=i["shift"],
        change_interval=i["change-interval"],
        purge_volumes=i["purge-volumes"],
        mixer_price=i["mixer-price"],
        material_price=i["material-price"],
    )


COMMANDS = (
    Command(
        "mixer",
        "age at exit against working life, purge plan, mixers and waste per shift",
        _do_mixer,
        (
            Option(
                "hold-up",
                VOLUME,
                say(u.VOLUME, "liquid the mixer holds"),
                case=lambda i: core.hold_up(i.machine.mixer),
                needed=True,
            ),
            Option("flow", FLOW, say(u.FLOW, "of both"), case=_both_flow, needed=True),
            Option("working-life", TIME, "of the blend, such as 20 min", needed=True),
            Option("shot", VOLUME, "of both streams; without it flow never stops"),
            Option("dwell", quantity(u.TIME, at_least="0 s"), "between shots", "0 s"),
            Option("share", SHARE, "of the working life that may pass", "33.3 %"),
            Option("shift", TIME, "length of a shift", "8 h"),
            Option("change-interval", TIME, "between mixer changes; default the working life"),
            Option("purge-volumes", number(at_least=0), "hold-ups purged each time", "1.5"),
            Option("mixer-price", number(at_least=0), "of one mixer", "0"),
            Option("material-price", number(at_least=0), "of a litre of blend", "0"),
        ),
    ),
)
