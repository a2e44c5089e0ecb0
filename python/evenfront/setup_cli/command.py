"""A command of the set-up: its options, what a case gives, and reading both."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evenfront import _core as core
from evenfront.case import Case, CaseError, load_case
from evenfront.finding import Finding

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@dataclass(frozen=True)
class Option:
    """One option of a command.

    Parameters
    ----------
    name
        Without dashes in front.
    read
        Text to value; raises ValueError.
    help
        Meaning, with an example.
    default
        As it would be written; None: left out.
    case
        Takes the value from a case; the option is then needed only without one.
    needed
        Whether it may not be left out.
    many
        Whether several values follow.
    positional
        Whether it stands without its name.
    """

    name: str
    read: Callable[[str], Any]
    help: str
    default: str | None = None
    case: Callable[[Inputs], Any] | None = None
    needed: bool = False
    many: bool = False
    positional: bool = False

    @property
    def shown(self) -> str:
        """As it is written and named in messages."""
        return self.name.upper() if self.positional else f"--{self.name}"

    @property
    def attribute(self) -> str:
        """Name in the parsed arguments."""
        return self.name.replace("-", "_")


@dataclass
class Inputs:
    """Values of a command's options, with the case behind them."""

    case: Case | None
    side: str
    values: dict[str, Any] = field(default_factory=dict)

    def __getitem__(self, name: str) -> Any:
        """Value of an option; None where it was left out."""
        return self.values[name]

    @property
    def machine(self) -> core.Machine:
        """Machine of the case."""
        assert self.case is not None
        machine: core.Machine = self.case.machine
        return machine

    @property
    def stream(self) -> core.Stream:
        """Stream of the case that ``--side`` names."""
        return self.machine.hardener if self.side == "hardener" else self.machine.resin

    @property
    def steady(self) -> core.Steady:
        """Steady state of the case's machine; ValueError where nothing flows."""
        steady = core.steady_state(self.machine)
        if not steady.flows:
            raise ValueError(steady.reason)
        return steady

    @property
    def steady_stream(self) -> core.SteadyStream:
        """Steady flow of that stream."""
        return self.steady.hardener if self.side == "hardener" else self.steady.resin


@dataclass(frozen=True)
class Command:
    """A command: its options and what it does with them."""

    name: str
    help: str
    work: Callable[[Inputs], Finding]
    options: tuple[Option, ...]
    case: str = "optional"  # or "needed", "none"
    side: str | None = None  # default of --side, if the command takes one
    draw: Callable[[Any, Axes], object] | None = None  # its finding, for --plot


def _missing(option: Option) -> str:
    """Say that a needed option was left out."""
    where = " (or give --case)" if option.case else ""
    return f"{option.shown}: is missing{where}; {option.help}".replace("%%", "%")


def read_inputs(command: Command, args: argparse.Namespace) -> Inputs:
    """Read every option, or all problems at once."""
    problems: list[str] = []
    case = None
    if command.case != "none" and args.case is not None:
        case = load_case(args.case)
    elif command.case == "needed":
        problems.append("--case: is missing; a case file, for example --case machine.toml")
    inputs = Inputs(case, getattr(args, "side", None) or "resin")
    for option in command.options:
        text = getattr(args, option.attribute)
        try:
            if text is not None:
                value: Any = (
                    [option.read(each) for each in text] if option.many else option.read(text)
                )
            elif option.case is not None and case is not None:
                value = option.case(inputs)
            elif option.default is not None:
                value = option.read(option.default)
            else:
                value = None
                if option.needed:
                    problems.append(_missing(option))
        except CaseError as error:
            value = None
            problems += [f"{option.shown} {problem}" for problem in error.problems]
        except ValueError as reason:
            value = None
            given = f' "{text}"' if isinstance(text, str) else f" {text}" if text else ""
            problems += [f"{option.shown}{given}: {line}" for line in str(reason).splitlines()]
        inputs.values[option.name] = value
    if problems:
        raise CaseError(problems)
    return inputs
