"""The command `prove`: catch weights in, verdict, picture and certificate out."""

from __future__ import annotations

import argparse
import csv
import dataclasses
import io
import json
import math
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evenfront import outputs
from evenfront import units as u
from evenfront.case import Case, CaseError, load_case
from evenfront.units import Kind, UnitError

if TYPE_CHECKING:
    from evenfront.catches import Catches
    from evenfront.prove import Cutting, Proof, Requirement, Weighing

ACCEPTED, NOT_ACCEPTED = 0, 1
"""Exit codes; what cannot be read is raised."""

_RATIO = re.compile(r"\s*([0-9]*\.?[0-9]+)\s*:\s*([0-9]*\.?[0-9]+)\s*", re.ASCII)


def register(subparsers: argparse._SubParsersAction[Any]) -> None:
    """Add `prove` to the commands; its handler gives the exit code."""
    parser = subparsers.add_parser(
        "prove",
        help="prove a machine's ratio and start by catch weights",
        description="Prove a machine's ratio, and the start of its shots, by catch weights. Exit "
        "code 0: what was tested is proven; 1: it is not; 2: bad input.",
        epilog="Columns of FILE (CSV): resin_g, hardener_g; optional tare_g or resin_tare_g and "
        "hardener_tare_g, time_s, position, note; for the start, one row a cup: shot, increment "
        "(1, 2, 3 ... from the open command).",
    )
    parser.add_argument("file", metavar="FILE", help="catch weights (CSV)")
    asked = parser.add_argument_group("what the machine is held to; a case or options, which win")
    asked.add_argument("--case", metavar="CASE", help="case file: ratio, tolerance, densities")
    ratio = asked.add_mutually_exclusive_group()
    ratio.add_argument("--volume-ratio", metavar="100:X", help="resin to hardener by liquid volume")
    ratio.add_argument("--weight-ratio", metavar="100:X", help="resin to hardener by weight")
    asked.add_argument("--tolerance", metavar="T", help='"5 %%" or "-3 %%, +5 %%" of the ratio')
    asked.add_argument("--content", metavar="P", help="share to be in tolerance (95 %%)")
    asked.add_argument("--confidence", metavar="C", help="of every statement (95 %%)")
    asked.add_argument("--lead-limit", metavar="V", help='swing of the lead allowed, "0.1 mL"')
    asked.add_argument("--resin-density", metavar="D", help='"1.62 g/cm^3"')
    asked.add_argument("--hardener-density", metavar="D", help='"1.02 g/cm^3"')
    asked.add_argument(
        "--density-uncertainty", metavar="U", help="standard, of each density (0.2 %%)"
    )
    scale = parser.add_argument_group("scale and change of cups; defaults are common practice")
    scale.add_argument("--scale-step", metavar="M", help='smallest step shown ("0.01 g")')
    scale.add_argument(
        "--scale-repeatability", metavar="M", help='standard deviation of a weighing ("0.01 g")'
    )
    scale.add_argument("--scale-gain", metavar="U", help="standard, of the calibration (0.05 %%)")
    scale.add_argument("--two-scales", action="store_true", help="one scale for each stream")
    scale.add_argument("--cut-drop", metavar="V", help='most in the wrong cup ("0.03 mL")')
    scale.add_argument("--cut-skew", metavar="T", help='between the two cups ("5 ms")')
    out = parser.add_argument_group("output")
    form = out.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="one JSON object on stdout")
    form.add_argument("--csv", action="store_true", help="the ratio catches as a table on stdout")
    out.add_argument("--plot", metavar="FILE", help="picture: png, svg or pdf")
    out.add_argument("--certificate", metavar="FILE", help="one page to print (HTML)")
    parser.set_defaults(handler=_handler)


def _handler(args: argparse.Namespace) -> int:
    """Prove, print, write what was asked for; give the exit code."""
    proof, files = _prove(args)
    printed = _printed(proof, args)
    outputs.write(_contents(proof, files))
    print(printed)
    return ACCEPTED if proof.accepted else NOT_ACCEPTED


def _prove(args: argparse.Namespace) -> tuple[Proof, dict[str, Path]]:
    """Read everything, with the problems of all inputs together."""
    from evenfront.catches import load_catches
    from evenfront.prove import prove

    problems: list[str] = []
    files: dict[str, Path] = {}
    catches: Catches | None = None
    case: Case | None = None
    try:
        files = _asked(args)
    except CaseError as error:
        problems += error.problems
    try:
        catches = load_catches(args.file)
    except CaseError as error:
        problems += error.problems
    try:
        case = load_case(args.case) if args.case else None
    except CaseError as error:
        problems += error.problems
    options = _Options(args, problems)
    requirement = options.requirement(case) if case or not args.case else None
    weighing, cutting = options.weighing(), options.cutting()
    if problems or catches is None or requirement is None:
        raise CaseError(problems)
    return prove(catches, requirement, weighing, cutting), files


class _Options:
    """Reads options as quantities and collects what is wrong with them."""

    def __init__(self, args: argparse.Namespace, problems: list[str]) -> None:
        self.args = args
        self.problems = problems

    def requirement(self, case: Case | None) -> Requirement | None:
        """Give what the machine is held to: the case's, changed by the options."""
        from evenfront.prove import Requirement

        values = {} if case is None else _of_case(case)
        fraction = {"least": 0.5, "most": 0.9999}
        given = {
            "tolerance": self._tolerance(),
            "content": self._number("content", u.FRACTION, **fraction),
            "confidence": self._number("confidence", u.FRACTION, **fraction),
            "lead_limit": self._number("lead_limit", u.VOLUME, above=0.0),
            "resin_density": self._number("resin_density", u.DENSITY, above=0.0),
            "hardener_density": self._number("hardener_density", u.DENSITY, above=0.0),
            "density_uncertainty": self._number("density_uncertainty", u.FRACTION, most=0.2),
        }
        for by in ("volume", "weight"):
            ratio = self._ratio(f"{by}_ratio")
            if ratio is not None:
                values |= {"ratio": ratio, "by": by}
        values |= {name: value for name, value in given.items() if value is not None}
        if self.problems:
            return None
        if "ratio" not in values:
            self._wrong("ratio", "is missing: give --volume-ratio, --weight-ratio or --case")
        if "tolerance" not in values:
            self._wrong("tolerance", 'is missing: give --tolerance "5 %" or --case')
        if values.get("by") == "volume":
            for name in ("resin_density", "hardener_density"):
                if name not in values:
                    self._wrong(name, "is missing: a ratio by volume needs both densities")
        return None if self.problems else Requirement(**values)

    def weighing(self) -> Weighing:
        """Describe the scale."""
        from evenfront.prove import Weighing

        least_mass, most_mass = 1e-9, 1.0
        given = {
            "step": self._number("scale_step", u.MASS, least=least_mass, most=most_mass),
            "repeatability": self._number("scale_repeatability", u.MASS, most=most_mass),
            "gain": self._number("scale_gain", u.FRACTION, most=0.2),
        }
        changes: Any = {name: value for name, value in given.items() if value is not None}
        return dataclasses.replace(Weighing(one_scale=not self.args.two_scales), **changes)

    def cutting(self) -> Cutting:
        """Describe how the streams are parted into cups."""
        from evenfront.prove import Cutting

        given = {
            "drop": self._number("cut_drop", u.VOLUME, most=1e-4),
            "skew": self._number("cut_skew", u.TIME, most=1.0 - 1e-9),
        }
        changes = {name: value for name, value in given.items() if value is not None}
        return dataclasses.replace(Cutting(), **changes)

    def _wrong(self, name: str, rule: str, text: str | None = None) -> None:
        option = "--" + name.replace("_", "-") if name != "ratio" else "ratio"
        value = "" if text is None else f' = "{text[:60]}"'
        self.problems.append(f"evenfront prove: {option}{value}: {rule}")

    def _number(
        self,
        name: str,
        kind: Kind,
        *,
        least: float = 0.0,
        above: float = -math.inf,
        most: float = math.inf,
    ) -> float | None:
        """Read one quantity [SI], or None where it is not given or wrong."""
        text = getattr(self.args, name)
        if text is None:
            return None
        try:
            value = u.si(text, kind)
        except UnitError as reason:
            self._wrong(name, str(reason), text)
            return None
        if above < value and least <= value <= most:
            return value
        low = max(least, above)
        shown = [f"above {_shown(low, kind)}" if above >= least else f"from {_shown(low, kind)}"]
        shown += [f"at most {_shown(most, kind)}"] if most < math.inf else []
        self._wrong(name, f"must be {', '.join(shown)}", text)
        return None

    def _ratio(self, name: str) -> float | None:
        text = getattr(self.args, name)
        if text is None:
            return None
        found = _RATIO.fullmatch(text)
        parts = [float(part) for part in found.groups()] if found else [0.0, 0.0]
        if not (0 < parts[0] < 1e6 and 0 < parts[1] < 1e6):
            self._wrong(name, 'must be resin:hardener, both above 0, such as "100:14"', text)
            return None
        return parts[1] / parts[0]

    def _tolerance(self) -> tuple[float, float] | None:
        from evenfront.values import ToleranceText

        if self.args.tolerance is None:
            return None
        try:
            return ToleranceText().check(self.args.tolerance)
        except ValueError:
            self._wrong("tolerance", ToleranceText.RULE, self.args.tolerance)
            return None


def _shown(value: float, kind: Kind) -> str:
    return f"{1e3 * value:g} g" if kind is u.MASS else u.show(value, kind, 4)


def _of_case(case: Case) -> dict[str, Any]:
    """Ratio, tolerance and densities of a case; a ratio by weight stays one."""
    target, machine = case.resolved.target, case.resolved.machine
    by_weight = case.data["ratio"].get("by_weight")
    return {
        "ratio": float(target["ratio"] if by_weight is None else by_weight),
        "by": "volume" if by_weight is None else "weight",
        "tolerance": (target["tolerance_low"], target["tolerance_high"]),
        "resin_density": machine["resin"]["liquid"]["density"],
        "hardener_density": machine["hardener"]["liquid"]["density"],
        "title": case.title,
    }


# --- outputs ---------------------------------------------------------------------------------


def _asked(args: argparse.Namespace) -> dict[str, Path]:
    """Files asked for, checked before anything is computed."""
    inputs = [("the file of catch weights itself", args.file)]
    if args.case:
        inputs.append(("the case file itself", args.case))
    return outputs.checked({"--plot": args.plot, "--certificate": args.certificate}, inputs)


def _contents(proof: Proof, files: dict[str, Path]) -> dict[Path, outputs.Content]:
    """Compose what goes into each file asked for."""
    contents: dict[Path, outputs.Content] = {}
    if "--plot" in files:
        from matplotlib.figure import Figure

        from evenfront.prove_plot import plot_proof

        count = 1 + len(proof.starts)
        figure = Figure(figsize=(8.0, 3.6 * count), layout="constrained")
        plot_proof(proof, axes=list(figure.subplots(count, 1, squeeze=False)[:, 0]))
        data = io.BytesIO()
        figure.savefig(data, format=files["--plot"].suffix.lower()[1:], dpi=150)
        contents[files["--plot"]] = data.getvalue()
    if "--certificate" in files:
        from evenfront.prove_certificate import certificate

        contents[files["--certificate"]] = certificate(proof)
    return contents


def _printed(proof: Proof, args: argparse.Namespace) -> str:
    if args.json:
        return json.dumps(proof.to_dict(), indent=2, allow_nan=False)
    return _table(proof) if args.csv else str(proof)


def _table(proof: Proof) -> str:
    """Ratio catches as CSV: net weights, ratios, errors."""
    pairs, ratio = proof.catches.ratio, proof.ratio
    density_ratio = proof.requirement.density_ratio
    columns: dict[str, Any] = {
        "catch": range(1, len(pairs) + 1),
        "resin_g": 1e3 * pairs.net_resin,
        "hardener_g": 1e3 * pairs.net_hardener,
        "ratio_by_weight": ratio.by_weight,
    }
    if density_ratio is not None:
        columns["ratio_by_volume"] = ratio.by_weight / density_ratio
    columns["ratio_error"] = ratio.errors
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    for row in zip(*columns.values(), strict=True):
        writer.writerow([f"{cell:.9g}" for cell in row])
    return text.getvalue().rstrip("\n")
