"""The commands `explain`, the page for a customer, and `sheet`, the one for the machine."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

from evenfront import outputs
from evenfront.case import CaseError, load_case

if TYPE_CHECKING:
    from evenfront.case import Case

Read = TypeVar("Read")

FINE, NO = 0, 1
"""Exit codes; what cannot be read is raised."""


def register(subparsers: argparse._SubParsersAction[Any]) -> None:
    """Add both commands; their handlers give the exit code."""
    explain = subparsers.add_parser(
        "explain",
        help="why a part is soft, where, and what mends it: a page to show",
        description="Follow a run to its part: where it is soft or brittle, why, what mends it, "
        "what to set. With what was seen, its causes ranked. Exit code 0: fine; 1: the case "
        "delivers no shot, and nothing is written; 2: bad input.",
    )
    explain.add_argument("case", metavar="CASE", help="case file (TOML)")
    explain.add_argument("--observed", metavar="FILE", help="what was seen on parts (TOML)")
    explain.add_argument("-o", "--output", metavar="FILE", help="write the page (HTML)")
    explain.add_argument("--json", action="store_true", help="one JSON object on stdout")
    explain.set_defaults(handler=_explain)
    sheet = subparsers.add_parser(
        "sheet",
        help="settings sheet for the machine: set points, gauges, weights",
        description="Settings sheet for the machine: throttles, drive, temperatures, gauges closed "
        "and flowing, encoder target, catch weights, when to check again. Exit code 0: fine; 1: "
        "the case delivers no shot, and nothing is written; 2: bad input.",
    )
    sheet.add_argument("case", metavar="CASE", help="case file (TOML)")
    sheet.add_argument("-o", "--output", metavar="FILE", help="write the sheet to print (HTML)")
    sheet.add_argument("--json", action="store_true", help="one JSON object on stdout")
    sheet.set_defaults(handler=_sheet)


def _explain(args: argparse.Namespace) -> int:
    """Follow the case to its part, print what was found, write the page."""
    from evenfront import explain_page, report, shot_words
    from evenfront.causes import rank
    from evenfront.cli import progress
    from evenfront.explain import explain
    from evenfront.observed import load_observed

    inputs = [("the case file itself", args.case)]
    if args.observed:
        inputs.append(("what was seen", args.observed))
    files = outputs.checked({"-o": args.output}, inputs)
    problems: list[str] = []
    case = _read(load_case, args.case, problems)
    observed = _read(load_observed, args.observed, problems) if args.observed else None
    if problems or case is None:
        raise CaseError(problems)
    run = case.simulate()
    if not shot_words.delivers(run):
        return _no_shot(case, shot_words.verdict(run), args)
    with progress("following the case to its part"):
        found = explain(case, rank(case, observed) if observed else None)
    page = explain_page.page(found) if files else ""
    printed = (
        json.dumps(found.to_dict(), indent=2, allow_nan=False)
        if args.json
        else report.as_text(explain_page.sections(found))
    )
    outputs.write(dict.fromkeys(files.values(), page))
    print(printed)
    return FINE


def _read(load: Callable[[str], Read], path: str, problems: list[str]) -> Read | None:
    """Read a file, or collect what is wrong with it."""
    try:
        return load(path)
    except CaseError as error:
        problems += error.problems
        return None


def _sheet(args: argparse.Namespace) -> int:
    """Trim, make the sheet, print and write it."""
    from evenfront import report, sheet_page, shot_words
    from evenfront.cli import progress
    from evenfront.sheet import make_sheet
    from evenfront.trimming import trim

    files = outputs.checked({"-o": args.output}, [("the case file itself", args.case)])
    case = load_case(args.case)
    with progress("trying settings"):
        result = trim(case)
    if not shot_words.delivers(result.before):
        return _no_shot(result.case, shot_words.verdict(result.before), args)
    sheet = make_sheet(result)
    printed = (
        json.dumps(sheet.to_dict(), indent=2, allow_nan=False)
        if args.json
        else report.as_text(sheet_page.sections(sheet))
    )
    outputs.write({path: sheet_page.page(sheet) for path in files.values()})
    print(printed)
    return FINE


def _no_shot(case: Case, verdict: str, args: argparse.Namespace) -> int:
    """Say why there is nothing to tell; no file is written."""
    if args.json:
        told = {"source": case.source, "title": case.title, "verdict": verdict}
        print(json.dumps(told, indent=2, allow_nan=False))
    else:
        print(verdict)
    return NO
