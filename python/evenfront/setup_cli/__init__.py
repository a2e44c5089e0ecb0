"""Command line of the set-up: ``evenfront setup ratio|pressure|heat|...`` with units.

A case file gives the numbers it has; options go before it. What is wrong is raised, all at once.
"""

from __future__ import annotations

import argparse
import io
import json
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from evenfront import outputs
from evenfront.finding import Finding
from evenfront.setup_cli import (
    drive,
    filling,
    free_gas,
    leak,
    metering,
    mixer_life,
    settling,
    shot_size,
    soak,
    stall,
    viscosity,
)
from evenfront.setup_cli.command import Command, read_inputs

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FINE, NO = 0, 1
"""Exit codes; what cannot be read is raised."""
COMMANDS: tuple[Command, ...] = (
    *metering.COMMANDS,
    *drive.COMMANDS,
    *soak.COMMANDS,
    *viscosity.COMMANDS,
    *settling.COMMANDS,
    *free_gas.COMMANDS,
    *stall.COMMANDS,
    *leak.COMMANDS,
    *filling.COMMANDS,
    *shot_size.COMMANDS,
    *mixer_life.COMMANDS,
)
"""Every set-up command."""


def register(subparsers: argparse._SubParsersAction[Any]) -> None:
    """Add ``setup`` and its commands; their handlers give the exit code."""
    summary = "set a machine up: the job around the throttles"
    top = subparsers.add_parser("setup", help=summary, description=summary)
    commands = top.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for command in COMMANDS:
        made = commands.add_parser(command.name, help=command.help, description=command.help)
        if command.case != "none":
            made.add_argument("--case", metavar="CASE", help="case file that has the numbers")
        if command.side is not None:
            made.add_argument(
                "--side",
                choices=["resin", "hardener"],
                default=command.side,
                help=f"which stream; default {command.side}",
            )
        for option in command.options:
            default = f" (default {option.default})" if option.default else ""
            made.add_argument(
                option.name if option.positional else f"--{option.name}",
                metavar=option.shown if option.positional else "VALUE",
                nargs="?" if option.positional else "+" if option.many else None,
                help=option.help + default.replace("%", "%%"),
            )
        made.add_argument("--json", action="store_true", help="one JSON object on stdout")
        if command.draw is not None:
            made.add_argument("--plot", metavar="FILE", help="write the picture: png, svg or pdf")
        made.set_defaults(handler=_handler(command))


def _handler(command: Command) -> Callable[[argparse.Namespace], int]:
    def handler(args: argparse.Namespace) -> int:
        files = outputs.checked({"--plot": getattr(args, "plot", None)}, ())
        finding = command.work(read_inputs(command, args))
        if command.draw is not None:
            draw = command.draw
            outputs.write({path: _picture(finding, draw, path.suffix) for path in files.values()})
        print(json.dumps(finding.to_dict(), indent=2, allow_nan=False) if args.json else finding)
        return FINE if finding.good else NO

    return handler


def _picture(finding: Finding, draw: Callable[[Any, Axes], object], suffix: str) -> bytes:
    from matplotlib.figure import Figure

    figure = Figure(layout="constrained", figsize=(8, 4.5))
    draw(finding, figure.subplots())
    data = io.BytesIO()
    figure.savefig(data, format=suffix.lower()[1:])
    return data.getvalue()
