"""`setup pressure`: drive force, flow, and every pressure against its rating."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evenfront import setup
from evenfront import units as u
from evenfront.finding import Finding
from evenfront.setup_cli.command import Command, Inputs, Option
from evenfront.setup_cli.readers import FLOW, quantity, say

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def _do_pressure(i: Inputs) -> Finding:
    if i["flow"] is not None and i["force"] is not None:
        raise ValueError("give --flow or --force, not both")
    return setup.pressure(i.machine, flow=i["flow"], force=i["force"])


def _draw_stations(finding: Finding, ax: Axes) -> None:
    if not finding.records:
        raise ValueError("--plot: nothing flows, so there is nothing to draw")
    setup.plot_stations(finding, ax=ax)


COMMANDS = (
    Command(
        "pressure",
        "drive force and flow, both ways; every pressure against its rating",
        _do_pressure,
        (
            Option("flow", FLOW, say(u.FLOW, "of both streams wanted")),
            Option("force", quantity(u.FORCE, above="0 N"), say(u.FORCE, "of the drive")),
        ),
        case="needed",
        draw=_draw_stations,
    ),
)
