"""Screen of a check: what was understood of a case, its steady flow, pressures and stroke."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from evenfront import _core, inertance
from evenfront import units as u
from evenfront import words as w
from evenfront.layout import Items, Section, Table
from evenfront.run import BAR, ML
from evenfront.shot_class import shots_in, travels

if TYPE_CHECKING:
    from evenfront.case import Case


def steady_state(case: Case) -> _core.Steady:
    """Constant-drive steady state of a case as written."""
    return _core.steady_state(case.machine)


def check_dict(case: Case, steady: _core.Steady) -> dict[str, Any]:
    """Say what was understood of a case, units in the keys."""
    return {
        "source": case.source,
        "title": case.title,
        "hardener_per_resin": case.target.ratio,
        "tolerance_high": case.target.tolerance_high,
        "tolerance_low": case.target.tolerance_low,
        "flows": steady.flows,
        "reason": steady.reason,
        "steady_resin_flow_mL_per_s": steady.resin.flow / ML,
        "steady_hardener_flow_mL_per_s": steady.hardener.flow / ML,
        "steady_ratio_error": steady.ratio / case.target.ratio - 1.0 if steady.flows else None,
        "steady_resin_cylinder_pressure_bar": steady.resin.cylinder_pressure / BAR,
        "steady_hardener_cylinder_pressure_bar": steady.hardener.cylinder_pressure / BAR,
        "steady_resin_head_pressure_bar": steady.resin.throttle_pressure / BAR,
        "steady_hardener_head_pressure_bar": steady.hardener.throttle_pressure / BAR,
        "steady_mixer_pressure_bar": steady.mixer_pressure / BAR,
        **inertance.to_dict(case, steady),
        "stroke_left_mm": (case.machine.shaft.stroke - case.machine.shaft.position) * 1e3,
        "shots_per_stroke": shots_per_stroke(case, steady) if steady.flows else None,
        "warnings": list(case.warnings),
        "assumptions": list(case.assumptions),
    }


def check_sections(case: Case, steady: _core.Steady) -> tuple[Section, ...]:
    """Screen of a check: what was read, steady flow and pressures, warnings, assumptions."""
    machine, target = case.machine, case.target
    densities = (machine.resin.liquid.density, machine.hardener.liquid.density)
    ratio = f"Asked {w.ratio(target.ratio, densities)}"
    if steady.flows:
        ratio += f"; delivered {w.ratio(steady.ratio, densities)}"
    sections = [
        Section(w.plain(case.title), (_check_verdict(case, steady),)),
        Section("Ratio", (f"{ratio}.",)),
    ]
    if steady.flows:
        sections.append(Section("Steady flow and pressures", (_steady_table(case, steady),)))
        sections.append(Section("Stroke", tuple(_stroke_sentences(case, steady))))
        said = tuple(inertance.sentences(case, steady))
        sections += [Section("Inertia of the liquid", said)] if said else []
    if case.warnings:
        sections.append(Section("Warnings", (Items(tuple(map(w.plain, case.warnings))),)))
    if case.assumptions:
        sections.append(Section("Assumed", (Items(tuple(map(w.plain, case.assumptions))),)))
    return tuple(sections)


def _strokes(case: Case, steady: _core.Steady) -> list[tuple[str, float, float]]:
    """Whose shaft, the travel left on it [m], and its speed over the first one's [-]."""
    own = case.machine.hardener_axis
    shafts = [("", case.machine.shaft, 1.0)]
    if own:
        resin, hardener = (f"{w.plain(label)}: " for label in case.labels)
        ratio = steady.hardener_speed / steady.speed if steady.speed else 1.0
        shafts = [(resin, case.machine.shaft, 1.0), (hardener, own.shaft, ratio)]
    return [(whose, shaft.stroke - shaft.position, ratio) for whose, shaft, ratio in shafts]


def shots_per_stroke(case: Case, steady: _core.Steady) -> int:
    """How many of the case's shots, in their order, fit into the stroke left at the start.

    A shot by time or volume is taken at the steady speed: start-up and closing move it a little.
    """
    moves = travels(case.sequence, steady)
    return min(shots_in(left / ratio, moves) for _, left, ratio in _strokes(case, steady))


def _stroke_sentences(case: Case, steady: _core.Steady) -> Iterator[str]:
    moves = travels(case.sequence, steady)
    for whose, left, ratio in _strokes(case, steady):
        shots = shots_in(left / ratio, moves)
        taken = [travel * ratio for travel, shot in moves if shot]
        shortest, longest = (u.show(pick(taken), u.LENGTH) for pick in (min, max))
        each = shortest if shortest == longest else f"{shortest} to {longest}"
        fit = f"about {shots} shot{'' if shots == 1 else 's'} fit" if shots else "no shot fits"
        yield (
            f"{whose}{u.show(left, u.LENGTH)} are left of the stroke; a shot takes {each} at "
            f"steady speed, so {fit} before a refill."
        )


def _steady_table(case: Case, steady: _core.Steady) -> Table:
    def row(name: str, flow: float, pressures: Sequence[float], rating: float) -> tuple[str, ...]:
        cells = ["" if math.isnan(p) else w.bar_psi(p) for p in pressures]
        return (w.plain(name), *_flow(flow), *cells, w.bar_psi(rating))

    machine = case.machine
    rows = [
        row(
            label,
            stream.flow,
            (stream.cylinder_pressure, stream.throttle_pressure),
            min(part.cylinder.rating, *(piece.rating for piece in part.line)),
        )
        for label, stream, part in zip(
            case.labels,
            (steady.resin, steady.hardener),
            (machine.resin, machine.hardener),
            strict=True,
        )
    ]
    total = steady.resin.flow + steady.hardener.flow
    rows.append(
        row("mixer", total, (math.nan, steady.mixer_pressure), machine.mixer.rating),
    )
    return Table(
        ("", "mL/s", "cc/min", "cylinder, bar (psi)", "head, bar (psi)", "rating"), tuple(rows)
    )


def _flow(flow: float) -> tuple[str, str]:
    mls, ccm = (u.digits(u.convert(flow, u.FLOW, unit)) for unit in ("mL/s", "cc/min"))
    return mls, ccm


def _check_verdict(case: Case, steady: _core.Steady) -> str:
    if not steady.flows:
        return w.sentence(w.plain(steady.reason))
    flow = u.show(steady.resin.flow + steady.hardener.flow, u.FLOW)
    offset = w.percent(steady.ratio / case.target.ratio - 1.0, sign=True)
    return f"Read without problems. Steady flow {flow}, ratio {offset} off the one asked."
