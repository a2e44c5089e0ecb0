"""`setup leak`: the leak test with closed shut-offs."""

from __future__ import annotations

from evenfront import setup
from evenfront import units as u
from evenfront.finding import Finding
from evenfront.setup_cli.command import Command, Inputs, Option
from evenfront.setup_cli.readers import FLOW, PRESSURE, SHARE, record_columns, say
from evenfront.setup_cli.shared import CYLINDER_BORE, area


def _do_leak(i: Inputs) -> Finding:
    return setup.leak_test(
        i["log"]["time"],
        i["log"]["motion"],
        area=area(i["bore"]),
        pressure=i["pressure"],
        flow=i["flow"],
        side=i.side,
        share=i["share"],
    )


COMMANDS = (
    Command(
        "leak",
        "leak test: creep of the shaft held against closed shut-offs",
        _do_leak,
        (
            Option(
                "log",
                record_columns(time=u.TIME, motion=u.LENGTH),
                "file of comma-separated values: time [s],motion [mm]",
                needed=True,
            ),
            CYLINDER_BORE,
            Option("pressure", PRESSURE, say(u.PRESSURE, "that was held"), needed=True),
            Option(
                "flow",
                FLOW,
                say(u.FLOW, "this side meters at work"),
                case=lambda i: i.steady_stream.flow,
                needed=True,
            ),
            Option("share", SHARE, "ratio error a leak may cost", "1 %"),
        ),
        side="hardener",
    ),
)
