"""The command `sheet`: what to set on the machine and what to read there."""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING, Any

from evenfront import outputs
from evenfront.case import load_case

if TYPE_CHECKING:
    from evenfront.case import Case

FINE, NO = 0, 1
"""Exit codes; what cannot be read is raised."""


def register(subparsers: argparse._SubParsersAction[Any]) -> None:
    """Add `sheet` to the commands; its handler gives the exit code."""
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


def _sheet(args: argparse.Namespace) -> int:
    """Trim, make the sheet, print and write it."""
    from evenfront import report, sheet_page
    from evenfront.sheet import make_sheet
    from evenfront.trimming import trim

    files = outputs.checked({"-o": args.output}, [("the case file itself", args.case)])
    result = trim(load_case(args.case))
    if not report.delivers(result.before):
        return _no_shot(result.case, report.verdict(result.before), args)
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
