"""Command line: ``evenfront check | run | trim CASE`` and ``evenfront schema``.

Exit codes: 0 fine; 1 the answer is "no" (nothing flows, stroke exhausted, no setting does it);
2 bad input, one line per problem on stderr and nothing on stdout.
"""

from __future__ import annotations

import argparse
import contextlib
import csv
import io
import json
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from rich.console import Console
from rich.text import Text

from evenfront import behaviour, explain_cli, outputs, prove_cli, setup_cli
from evenfront.case import CaseError, load_case
from evenfront.run import BAR, ML
from evenfront.schema import json_schema
from evenfront.trimming import setting_unit
from evenfront.units import UnitError

if TYPE_CHECKING:
    from evenfront.run import Run
    from evenfront.trimming import TrimResult

FINE, NO, BAD_INPUT = 0, 1, 2
"""Exit codes."""


class _Parser(argparse.ArgumentParser):
    """Parser whose problems are lines like all others: no usage text, exit 2."""

    def error(self, message: str) -> NoReturn:
        raise CaseError([f"{self.prog}: {message}; --help shows what is allowed"])


class _Version(argparse.Action):
    """Print the version and leave; the module that knows it is imported only then."""

    def __init__(self, option_strings: Sequence[str], dest: str, help: str) -> None:
        super().__init__(option_strings, dest, nargs=0, help=help)

    def __call__(self, parser: argparse.ArgumentParser, *_: Any) -> None:
        from evenfront.words import version

        print(f"evenfront {version()}")
        parser.exit()


# --- commands --------------------------------------------------------------------------------


def _check(args: argparse.Namespace) -> int:
    """Read a case and say what was understood."""
    from evenfront import check_report

    case = load_case(args.case)
    steady = check_report.steady_state(case)
    if args.json:
        _print_json(check_report.check_dict(case, steady))
    else:
        _print_report(check_report.check_sections(case, steady))
    return FINE if steady.flows else NO


def _run(args: argparse.Namespace) -> int:
    """Simulate a case and measure every shot."""
    from evenfront import run_report, shot_words

    files = _outputs(args)
    case = load_case(args.case)
    with progress("simulating"):
        run = case.simulate()
    contents = _contents(files, run, lambda: run_csv(run))
    # Everything is composed before anything is written or printed.
    screen = _json(run.to_dict()) if args.json else run_report.run_sections(run)
    outputs.write(contents)
    _show(screen)
    return FINE if shot_words.delivers(run) else NO


def _trim(args: argparse.Namespace) -> int:
    """Find the settings that remove the lead, and what else does."""
    from evenfront import mending, trim_report
    from evenfront.trimming import OBJECTIVES, trim

    files = _outputs(args)
    case = load_case(args.case)
    with progress("trying settings"):
        result = trim(
            case,
            args.objective or OBJECTIVES,
            fix=args.fix,
            max_back_pressure=args.max_back_pressure,
            least_flow=args.least_flow,
        )
        contents = _contents(files, result, lambda: curve_csv(result))
        screen = _json(result.to_dict()) if args.json else trim_report.trim_sections(result)
        helps = mending.helps(result)
    outputs.write(contents)
    _show(screen)
    return FINE if helps else NO


def _schema(args: argparse.Namespace) -> int:
    """Print the JSON Schema of case files."""
    _print_json(json_schema())
    return FINE


# --- tables ----------------------------------------------------------------------------------


def run_csv(run: Run) -> str:
    """Trace of a run, one row per time step, units in the header; empty outside shots: lead."""
    trace = run.trace
    shot = [0] * len(trace.time)
    lead: list[float | None] = [None] * len(trace.time)
    for number, span in enumerate(trace.shots, start=1):
        for i in range(span.open, span.close + 1):
            resin = trace.resin.volume[i] - trace.resin.volume[span.open]
            hardener = trace.hardener.volume[i] - trace.hardener.volume[span.open]
            shot[i], lead[i] = number, float(hardener - run.ratio * resin) / ML
    columns: dict[str, Any] = {
        "time_s": trace.time,
        "shot": shot,
        "position_mm": trace.position * 1e3,
        "drive_force_N": trace.force,
        "resin_flow_mL_per_s": trace.resin.flow / ML,
        "hardener_flow_mL_per_s": trace.hardener.flow / ML,
        "resin_volume_mL": trace.resin.volume / ML,
        "hardener_volume_mL": trace.hardener.volume / ML,
        "lead_mL": lead,
        "resin_cylinder_pressure_bar": trace.resin.pressure[:, 0] / BAR,
        "resin_head_pressure_bar": trace.resin.pressure[:, -1] / BAR,
        "hardener_cylinder_pressure_bar": trace.hardener.pressure[:, 0] / BAR,
        "hardener_head_pressure_bar": trace.hardener.pressure[:, -1] / BAR,
        "mixer_pressure_bar": trace.mixer_pressure / BAR,
        **behaviour.columns(run),
    }
    return _csv(list(columns), zip(*columns.values(), strict=True))


def curve_csv(result: TrimResult) -> str:
    """Curve of a trim, open to closed, one row per setting of the swept throttle."""
    rows = [trial_dict(result, trial) for trial in result.curve]
    header = list(rows[0]) if rows else []
    return _csv(header, (list(row.values()) for row in rows))


def trial_dict(result: TrimResult, trial: Any) -> dict[str, Any]:
    """One pair of settings with its measures, units in the keys."""
    machine, settings = result.before.machine, trial.settings
    row: dict[str, Any] = {}
    for name in ("resin", "hardener"):
        unit, scale = setting_unit(getattr(machine, name).throttle)
        key = {"bar*s/mL": "bar_s_per_mL", "%": "percent"}.get(unit, unit)
        row[f"{name}_setting_{key}"] = getattr(settings, name) / scale
    return row | {
        "resin_back_pressure_bar": trial.resin_back_pressure / BAR,
        "hardener_back_pressure_bar": trial.hardener_back_pressure / BAR,
        "net_lead_mL": trial.net_lead / ML,
        "swing_mL": trial.swing / ML,
        "soft_volume_mL": trial.outlet.soft_volume / ML,
        "off_ratio_volume_outlet_mL": trial.outlet.volume / ML,
        "surplus_mL": trial.outlet.surplus / ML,
        "missing_mL": trial.outlet.missing / ML,
        "resin_cylinder_closed_bar": trial.resin_cylinder_closed / BAR,
        "hardener_cylinder_closed_bar": trial.hardener_cylinder_closed / BAR,
        "resin_cylinder_flowing_bar": trial.resin_cylinder / BAR,
        "hardener_cylinder_flowing_bar": trial.hardener_cylinder / BAR,
        "resin_head_flowing_bar": trial.resin_head / BAR,
        "hardener_head_flowing_bar": trial.hardener_head / BAR,
        "flow_mL_per_s": trial.flow / ML,
        "status": trial.status.name,
        "refused": trial.refused,
    }


def _csv(header: Sequence[str], rows: Any) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    for row in rows:
        writer.writerow(["" if cell is None else _cell(cell) for cell in row])
    return text.getvalue()


def _cell(value: Any) -> Any:
    return value if isinstance(value, str | int) else f"{float(value):.9g}"


# --- outputs ---------------------------------------------------------------------------------


def _outputs(args: argparse.Namespace) -> dict[str, Path]:
    """Files asked for, checked before anything is computed."""
    options = {f"--{name}": getattr(args, name) for name in ("csv", "plot", "report")}
    found = outputs.checked(options, [("the case file itself", args.case)])
    return {option.removeprefix("--"): path for option, path in found.items()}


def _contents(
    files: dict[str, Path], result: Run | TrimResult, table: Callable[[], str]
) -> dict[Path, outputs.Content]:
    """Compose what goes into each file asked for."""
    from evenfront import report

    contents: dict[Path, outputs.Content] = {}
    if "csv" in files:
        contents[files["csv"]] = table()
    if "plot" in files:
        contents[files["plot"]] = report.picture(result, files["plot"].suffix.lower()[1:])
    if "report" in files:
        contents[files["report"]] = report.page(result)
    return contents


def _json(value: Any) -> str:
    return json.dumps(value, indent=2, allow_nan=False)


def _print_json(value: Any) -> None:
    print(_json(value))


def _show(screen: Any) -> None:
    if isinstance(screen, str):
        print(screen)
    else:
        _print_report(screen)


def _print_report(sections: Any) -> None:
    """Print sections as plain text, headings bold on a terminal."""
    from evenfront import report

    console = Console()
    if not console.is_terminal:
        print(report.as_text(sections))
        return
    for line in report.as_text(sections, width=min(console.width, 100)).splitlines():
        style = "bold" if line and not line.startswith(" ") else ""
        console.print(Text(line, style=style), soft_wrap=True)


@contextlib.contextmanager
def progress(what: str) -> Iterator[None]:
    """Say on a terminal's stderr that work is under way."""
    console = Console(stderr=True)
    if not console.is_terminal:
        yield
        return
    with console.status(f"{what} ..."):
        yield


# --- options ---------------------------------------------------------------------------------


def _share(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 < value <= 1.0:
        raise argparse.ArgumentTypeError(f"{text}: must be a number above 0, at most 1")
    return value


def _pressure(text: str) -> str:
    from evenfront import units

    try:
        value = units.si(text, units.PRESSURE)
    except UnitError as reason:
        raise argparse.ArgumentTypeError(f"{text}: {reason}") from None
    if not value > 0.0:
        raise argparse.ArgumentTypeError(f"{text}: must be above 0")
    return text


def parser() -> argparse.ArgumentParser:
    """Build the parser of the command line."""
    top = _Parser(
        prog="evenfront",
        description="Start-up transient and throttle trim of two-component metering machines.",
    )
    top.add_argument("--version", action=_Version, help="print the version")
    commands = top.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def command(name: str, handler: Callable[[argparse.Namespace], int]) -> argparse.ArgumentParser:
        summary = (handler.__doc__ or "").strip()
        made = commands.add_parser(name, help=summary, description=summary)
        made.set_defaults(handler=handler)
        return made

    check = command("check", _check)
    run = command("run", _run)
    trim = command("trim", _trim)
    command("schema", _schema)
    for one in (check, run, trim):
        one.add_argument("case", metavar="CASE", help="case file (TOML)")
        one.add_argument("--json", action="store_true", help="one JSON object on stdout")
    for one, table in ((run, "the trace"), (trim, "the curve of settings")):
        one.add_argument("--csv", metavar="FILE", help=f"write {table} as a table")
        one.add_argument("--plot", metavar="FILE", help="write the pictures: png, svg or pdf")
        one.add_argument("--report", metavar="FILE", help="write a report page (HTML)")
    trim.add_argument(
        "--objective",
        choices=["null", "least_soft", "least_excess"],
        help="one objective; all three by default",
    )
    trim.add_argument(
        "--fix", choices=["resin", "hardener"], help="leave this side's throttle as it is"
    )
    trim.add_argument(
        "--max-back-pressure",
        type=_pressure,
        metavar="PRESSURE",
        help='most a throttle may add, such as "60 bar"',
    )
    trim.add_argument(
        "--least-flow",
        type=_share,
        metavar="SHARE",
        help="share of the steady flow that must be left, such as 0.7",
    )
    explain_cli.register(commands)
    setup_cli.register(commands)
    prove_cli.register(commands)
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and give its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a label may hold what the terminal cannot show
    code = FINE
    try:
        args = parser().parse_args(argv)
        code = args.handler(args)
        sys.stdout.flush()
    except BrokenPipeError:  # the reader has seen enough, as head does
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return 130
    except CaseError as error:
        return _refuse(error.problems)
    except ValueError as error:  # a value the core or a limit refuses, in its own words
        return _refuse([str(error)])
    return code


def _refuse(problems: Sequence[str]) -> int:
    for problem in problems:
        print(" ".join(str(problem).split()), file=sys.stderr)
    return BAD_INPUT


if __name__ == "__main__":
    sys.exit(main())
