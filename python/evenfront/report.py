"""What a run or a trim means, in words: the terminal's screens, notebook cells, the report page.

Everything is composed once, as sections of sentences and tables (`run_sections`, `trim_sections`);
`as_text` and `as_html` only lay them out. Pure functions of results. People read bar and psi, mL
and cc, degC and degF, two or three digits.
"""

from __future__ import annotations

import datetime
import importlib.metadata
import io
import math
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from evenfront import _core
from evenfront import units as u
from evenfront.run import BAR, ML, Run
from evenfront.trimming import Answer, TrimResult

if TYPE_CHECKING:
    from evenfront.case import Case

SCALE_STEP = 0.01
"""Resolution of a usual catch scale [g]; common practice, no source."""
WORTH = 0.05
"""Share of the soft volume a remedy must remove to be listed [-]; ours."""
ENOUGH = 0.8
"""Share of the best gain from which on a cheaper way is enough [-]; ours."""

CAUTIONS = (
    "Pressurised hot reactive liquids: relieve pressure before opening anything. Trapped pressure "
    "stays behind closed valves, and heating blocked-in liquid raises it (1 to 2 bar, 15 to 30 "
    "psi, per degC in braided hose, more in steel).",
    "Hoses, fittings and plastic mixers have ratings. Hot surfaces; skin and respiratory "
    "sensitisers; heat of reaction in bulk.",
    "Follow the safety data sheets, the equipment maker's manual, local codes and licensed "
    "practice. A computed setting is a starting point, to be proved by catch weights.",
)


@dataclass(frozen=True)
class Table:
    """Rows under a header; the first column is text, the others are numbers or text."""

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Items:
    """Sentences that belong together, one a line."""

    sentences: tuple[str, ...]


Block = str | Table | Items


@dataclass(frozen=True)
class Section:
    """A heading and what stands under it."""

    title: str
    blocks: tuple[Block, ...]


# --- numbers as people read them -------------------------------------------------------------


def _pressure(value: float) -> str:
    return u.show(value, u.PRESSURE) if abs(value) > 1e-3 * BAR else "0 bar (psi)"


def _volume(value: float) -> str:
    return u.show(value, u.VOLUME) if abs(value) >= 0.0005 * ML else "0 mL (cc)"


def _ml(value: float) -> str:
    """Volume without unit [mL], for a column whose header names it."""
    return (
        u.digits(value / ML, 3 if abs(value) >= 10 * ML else 2)
        if abs(value) >= 5e-4 * ML
        else ("0")
    )


def _percent(share: float, *, sign: bool = False) -> str:
    text = u.digits(abs(100.0 * share), 2 if abs(share) < 0.995 else 3)
    if text == "0" or abs(share) < 5e-7:
        return "0 %"
    return f"{'-' if share < 0 else '+' if sign else ''}{text} %"


def _gram(mass: float) -> str:
    return f"{u.digits(mass * 1e3, 3)} g"


def _kelvin_shift(shift: float) -> str:
    return f"{shift:+.3g} degC ({1.8 * shift:+.3g} degF)"


def _plain(text: str) -> str:
    """Text of a user without characters that would steer a terminal."""
    return "".join(c if c.isprintable() else " " for c in text)


def _sentence(text: str) -> str:
    """First letter large, full stop at the end."""
    text = text.strip()
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".!?" else ".")


def version() -> str:
    """Version of the installed package."""
    try:
        return importlib.metadata.version("evenfront")
    except importlib.metadata.PackageNotFoundError:  # run from the source tree
        return "not installed"


# --- what a shot is like ---------------------------------------------------------------------


def _shot_volume(m: _core.ShotMeasures) -> float:
    return m.resin_volume + m.hardener_volume


def _is_off(zone: _core.OffRatio, shot_volume: float, target: _core.Target) -> bool:
    """Whether more leaves off ratio than the smallest piece of the part that matters."""
    return zone.volume > target.resolve * shot_volume


def _models_disagree(run: Run) -> str:
    """Sentence for a verdict that the residence model decides; empty where it does not."""
    m = run.shot
    plug, dispersed = (
        _is_off(zone, _shot_volume(m), run.target) for zone in (m.outlet_plug, m.outlet_dispersed)
    )
    if plug == dispersed:
        return ""
    return (
        f"The residence model decides the verdict: as plug {_volume(m.outlet_plug.volume)} leaves "
        f"off ratio, with dispersion at Peclet number 100 {_volume(m.outlet_dispersed.volume)}."
    )


def offset_share(run: Run) -> float:
    """Part of the soft volume that the steady offset alone gives [m^3].

    e^2/(e^2 + tol^2) of the steady ratio error over all liquid the outlet measures follow, shot
    and two hold-ups.
    """
    if not run.steady.flows:
        return 0.0
    e = run.ratio / run.target.ratio - 1.0
    tol = run.target.tolerance_high if e >= 0.0 else run.target.tolerance_low
    followed = _shot_volume(run.shot) + 2.0 * _core.hold_up(run.machine.mixer)
    return e * e / (e * e + tol * tol) * followed


def _offset_sentence(run: Run) -> str:
    share, soft = offset_share(run), run.shot.outlet.soft_volume
    if share < 0.05 * soft or share < 0.01 * ML:
        return ""
    return (
        f"Of the soft volume about {_volume(min(share, soft))} is the steady offset of "
        f"{_percent(run.ratio / run.target.ratio - 1.0, sign=True)}, not lead; no trim mends it."
    )


def _shot_name(run: Run) -> str:
    m, n = run.shot, len(run.measures.shots)
    name = f"Shot {n} of {n}" if n > 1 else "The one shot"
    return (
        f"{name}: {u.digits(m.duration)} s, {_volume(_shot_volume(m))}, opened at "
        f"{_pressure(m.resin_closed_pressure)} {run.case.labels[0]}, "
        f"{_pressure(m.hardener_closed_pressure)} {run.case.labels[1]}."
    )


def _stopped(run: Run) -> str:
    """Why a run has no answer, with how far it came."""
    done = len(run.measures.shots)
    reason = run.message or run.status.replace("_", " ")
    return f"{_sentence(reason)[:-1]}; shots completed: {done}."


def verdict(run: Run) -> str:
    """One sentence: what the last shot is like, or why there is none."""
    if run.status != "ok" or not run.measures.shots:
        return _plain(_stopped(run))
    return f"Shot {len(run.measures.shots)}: {_outcome(run)}."


def _outcome(run: Run) -> str:
    m, target = run.shot, run.target
    zone = m.outlet
    ahead = _ahead(run)
    if not _is_off(zone, _shot_volume(m), target):
        small = f" but {_volume(zone.volume)}" if zone.volume > 5e-4 * ML else ""
        return f"all{small} leaves the mixer on ratio; {ahead}"
    where = f"between {_ml(zone.start)} and {_ml(zone.end)} mL (cc) after the open command"
    worst = " and ".join(
        _percent(e, sign=True)
        for e, limit in (
            (zone.highest_error, target.tolerance_high),
            (zone.lowest_error, -target.tolerance_low),
        )
        if abs(e) > abs(limit) and e * limit > 0
    )
    return (
        f"{_volume(zone.volume)} of {_ml(_shot_volume(m))} mL leaves the mixer off ratio, {where}, "
        f"hardener error up to {worst or _percent(zone.highest_error, sign=True)}; {ahead}"
    )


def _ahead(run: Run) -> str:
    m, labels = run.shot, run.case.labels
    net = m.net_lead
    if m.swing < 1e-3 * ML:
        return "neither stream leads"
    first = labels[1] if m.peak_lead >= -m.peak_lag else labels[0]
    most = max(m.peak_lead, -m.peak_lag)
    return f"{_plain(first)} is ahead by up to {_volume(most)}, by {_volume(net)} net at the close"


# --- run -------------------------------------------------------------------------------------


def run_sections(run: Run) -> tuple[Section, ...]:
    """Screen of a run."""
    return tuple(_run_sections(run))


def _run_sections(run: Run) -> Iterator[Section]:
    title = _plain(run.case.title)
    if run.status != "ok" or not run.measures.shots:
        yield Section(title, (verdict(run),))
    else:
        yield Section(
            title,
            tuple(
                filter(
                    None,
                    (
                        _models_disagree(run),
                        _shot_name(run),
                        _sentence(_outcome(run)),
                        _offset_sentence(run),
                    ),
                )
            ),
        )
        yield Section("Measures of the shot", (_measures_table(run),))
        if len(run.measures.shots) > 1:
            yield Section("Every shot", (_shots_table(run),))
        yield Section("Ratio", (_ratio_table(run),))
        yield Section("Pressures", (_pressure_table(run),))
        yield Section("Proof by catch weights", _catch(run, None))
    yield from _closing(run.case, run.to_dict()["warnings"])


def _measures_table(run: Run) -> Table:
    m = run.shot
    zones = (m.inlet, m.outlet, m.outlet_plug, m.outlet_dispersed)

    def row(name: str, values: Sequence[float]) -> tuple[str, ...]:
        return (name, *(_ml(value) for value in values))

    return Table(
        ("mL (cc)", "inlet", "outlet", "as plug", "Pe 100"),
        (
            row("off-ratio volume", [z.volume for z in zones]),
            row("soft volume S", [z.soft_volume for z in zones]),
            row("hardener surplus", [z.surplus for z in zones]),
            row("hardener missing", [z.missing for z in zones]),
        ),
    )


def _shots_table(run: Run) -> Table:
    shown = run.measures.shots
    numbers = range(1, len(shown) + 1)
    picked = list(zip(numbers, shown, strict=True))
    if len(picked) > 8:
        picked = picked[:3] + picked[-5:]
    return Table(
        ("shot", "dispensed", "net lead", "swing", "off ratio", "soft S"),
        tuple(
            (
                str(n),
                *(
                    _ml(v)
                    for v in (
                        _shot_volume(m),
                        m.net_lead,
                        m.swing,
                        m.outlet.volume,
                        m.outlet.soft_volume,
                    )
                ),
            )
            for n, m in picked
        ),
    )


def _ratio_table(run: Run) -> Table:
    """By volume and by weight, both ways round, asked and delivered in steady flow."""
    densities = (run.machine.resin.liquid.density, run.machine.hardener.liquid.density)
    rows = [_ratio_row("asked", run.target.ratio, densities)]
    if run.steady.flows:
        rows.append(_ratio_row("delivered, steady", run.ratio, densities))
    return Table(("resin : hardener", "by volume", "", "by weight", ""), tuple(rows))


def _ratio_row(name: str, ratio: float, densities: tuple[float, float]) -> tuple[str, ...]:
    weight = ratio * densities[1] / densities[0]
    return (
        name,
        f"100:{u.digits(100 * ratio, 4)}",
        f"{u.digits(1 / ratio, 4)}:1",
        f"100:{u.digits(100 * weight, 4)}",
        f"{u.digits(1 / weight, 4)}:1",
    )


def _readings(run: Run) -> list[tuple[str, float, float, float, float]]:
    """Place, closed, flowing, highest of the run, rating [Pa]; NaN where there is none."""
    rows = []
    closed = run.shot if run.measures.shots else None
    for name, label in zip(("resin", "hardener"), run.case.labels, strict=True):
        stream, steady = getattr(run.machine, name), getattr(run.steady, name)
        trace = getattr(run.trace, name).pressure
        line = min(piece.rating for piece in stream.line)
        rows += [
            (
                f"{label} cylinder",
                getattr(closed, f"{name}_closed_pressure") if closed else math.nan,
                steady.cylinder_pressure,
                float(trace[:, 0].max()),
                stream.cylinder.rating,
            ),
            (
                f"{label} head",
                getattr(closed, f"{name}_closed_head") if closed else math.nan,
                steady.throttle_pressure,
                float(trace[:, 1:].max()),
                line,
            ),
        ]
    rows.append(
        (
            "mixer",
            math.nan,
            run.steady.mixer_pressure,
            float(run.trace.mixer_pressure.max()),
            run.machine.mixer.rating,
        )
    )
    return rows


def _pressure_table(run: Run) -> Table:
    def cell(value: float) -> str:
        if math.isnan(value):
            return "-"
        if math.isinf(value):
            return "none given"
        return f"{u.digits(value / BAR)} ({u.digits(u.convert(value, u.PRESSURE, 'psi'))})"

    return Table(
        ("bar (psi)", "closed", "flowing", "highest", "rating"),
        tuple(
            (_plain(place), *(cell(value) for value in values)) for place, *values in _readings(run)
        ),
    )


def _over_rating(run: Run) -> list[str]:
    """Sentences for pressures above their rating."""
    return [
        f"{_plain(place)}: {_pressure(highest)} is above the rating of {_pressure(rating)}."
        for place, _, _, highest, rating in _readings(run)
        if highest > rating
    ]


def _catch(run: Run, after: Run | None) -> tuple[Block, ...]:
    """Catch that would show the lead, and the scale it needs."""
    m, labels = run.shot, tuple(_plain(label) for label in run.case.labels)
    curve = run.lead()
    peak = int(abs(curve.lead).argmax())
    time, lead = float(curve.time[peak]), float(curve.lead[peak])
    density = run.machine.hardener.liquid.density
    mass = lead * density
    if abs(lead) < 1e-3 * ML or not time > 0.0:
        return (
            f"Nothing to prove within the shot: the lead stays below {_volume(1e-3 * ML)}. Weigh "
            f"both streams of whole shots apart: {_gram(_weights(run, m.duration)[0])} {labels[0]} "
            f"to {_gram(_weights(run, m.duration)[1])} {labels[1]}.",
        )
    resin, hardener = _weights(run, time)
    expected = f"{_gram(resin)} {labels[0]} with {_gram(hardener)} {labels[1]}"
    much = "more" if lead > 0 else "less"
    first = (
        f"Catch both streams apart at the mixing point, a shot cut to {u.digits(time, 2)} s, then "
        f"whole ones. Expected as written in the first {u.digits(time, 2)} s: {expected}, "
        f"{_gram(abs(mass))} {much} hardener than on ratio; by the end of the shot "
        f"{_gram(m.net_lead * density)} net."
    )
    if after is not None:
        later = after.lead()
        at = float(_interpolate(time, later.time, later.lead)) * density
        resin, hardener = _weights(after, time)
        first += (
            f" Trimmed: {_gram(resin)} with {_gram(hardener)}, "
            f"{_gram(abs(at))} {'more' if at > 0 else 'less'}."
        )
    needed = abs(mass) * 1e3 / 5.0
    catches = math.ceil(SCALE_STEP / needed)
    scale = f"The scale must resolve {u.digits(needed, 1)} g"
    scale += (
        f": with {SCALE_STEP:g} g weigh {catches} cut shots together."
        if catches > 1
        else f", a fifth of it; {SCALE_STEP:g} g will do."
    )
    return (f"{first} {scale}",)


def _interpolate(x: float, xs: Any, ys: Any) -> float:
    import numpy as np

    return float(np.interp(x, xs, ys))


def _weights(run: Run, time: float) -> tuple[float, float]:
    """Mass of resin and hardener dispensed by a time after the open command [kg]."""
    curve = run.lead()
    return (
        _interpolate(time, curve.time, curve.resin) * run.machine.resin.liquid.density,
        _interpolate(time, curve.time, curve.hardener) * run.machine.hardener.liquid.density,
    )


def _closing(case: Case, warnings: Sequence[str]) -> Iterator[Section]:
    """Cautions, then what was assumed and what is unusual."""
    yield Section("Cautions", (Items(CAUTIONS),))
    said = [_sentence(_plain(text)) for text in (*case.warnings, *warnings)]
    if said:
        yield Section("Warnings", (Items(tuple(said)),))
    if case.assumptions:
        yield Section("Assumed", (Items(tuple(_plain(text) for text in case.assumptions)),))


# --- check -----------------------------------------------------------------------------------


def steady_state(case: Case) -> _core.Steady:
    """Constant-drive steady state of a case as written."""
    return _core.steady_state(case.machine)


def check_dict(case: Case, steady: _core.Steady) -> dict[str, Any]:
    """What was understood of a case, units in the keys."""
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
        "warnings": list(case.warnings),
        "assumptions": list(case.assumptions),
    }


def check_sections(case: Case, steady: _core.Steady) -> tuple[Section, ...]:
    """Screen of a check: what was read, steady flow and pressures, warnings, assumptions."""
    machine, target, labels = case.machine, case.target, case.labels
    densities = (machine.resin.liquid.density, machine.hardener.liquid.density)
    rows = [_ratio_row("asked", target.ratio, densities)]
    if steady.flows:
        rows.append(_ratio_row("delivered, steady", steady.ratio, densities))
    sections = [
        Section(_plain(case.title), (_check_verdict(case, steady),)),
        Section(
            "Ratio", (Table(("resin : hardener", "by volume", "", "by weight", ""), tuple(rows)),)
        ),
    ]
    if steady.flows:
        sections.append(
            Section(
                "Steady flow and pressures",
                (
                    Table(
                        ("", "flow", "cylinder", "head", "least rating"),
                        tuple(
                            (
                                _plain(label),
                                u.show(stream.flow, u.FLOW),
                                _pressure(stream.cylinder_pressure),
                                _pressure(stream.throttle_pressure),
                                _rating(part),
                            )
                            for label, stream, part in zip(
                                labels,
                                (steady.resin, steady.hardener),
                                (machine.resin, machine.hardener),
                                strict=True,
                            )
                        )
                        + (
                            (
                                "mixer",
                                u.show(steady.resin.flow + steady.hardener.flow, u.FLOW),
                                "",
                                _pressure(steady.mixer_pressure),
                                _shown_rating(machine.mixer.rating),
                            ),
                        ),
                    ),
                ),
            )
        )
    if case.warnings:
        sections.append(Section("Warnings", (Items(tuple(map(_plain, case.warnings))),)))
    if case.assumptions:
        sections.append(Section("Assumed", (Items(tuple(map(_plain, case.assumptions))),)))
    return tuple(sections)


def _rating(stream: _core.Stream) -> str:
    return _shown_rating(min(stream.cylinder.rating, *(piece.rating for piece in stream.line)))


def _shown_rating(rating: float) -> str:
    return _pressure(rating) if math.isfinite(rating) else "none given"


def _check_verdict(case: Case, steady: _core.Steady) -> str:
    if not steady.flows:
        return _sentence(f"nothing flows: {_plain(steady.reason)}")
    offset = _percent(steady.ratio / case.target.ratio - 1.0, sign=True)
    return (
        f"Read without problems. Steady flow {u.show(steady.resin.flow + steady.hardener.flow, u.FLOW)}, "
        f"ratio {offset} off the one asked."
    )


# --- trim ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Action:
    """One way to mend the shot, a trim or a remedy.

    Parameters
    ----------
    name
        What to do.
    effort
        0: a setting, a valve or a vent screw; 1: the liquids, heat or waste; 2: new parts.
    soft, off
        Soft and off-ratio volume left [m^3].
    removed
        Soft volume removed [m^3].
    cost
        What is paid for it.
    answer
        The trim behind it, None for a remedy.
    """

    name: str
    effort: Literal[0, 1, 2]
    soft: float
    off: float
    removed: float
    cost: str
    answer: Answer | None = None


_EFFORT: Mapping[str, Literal[0, 1, 2]] = {
    "preload": 0,
    "hold": 0,
    "delay_resin": 0,
    "delay_hardener": 0,
    "bleed_pocket": 0,
    "degas_resin": 1,
    "degas_hardener": 1,
    "heat_resin": 1,
    "purge": 1,
    "shorter_hose": 2,
    "stiffer_hose": 2,
}
_EFFORT_NAMES = ("setting", "liquid", "parts")
_OBJECTIVE_NAMES = {
    "null": "net lead zero",
    "least_soft": "least soft volume",
    "least_excess": "least surplus and missing",
}


def _trim_name(answer: Answer) -> str:
    """Which throttles to close, by how much."""
    closing = [
        f"{_plain(label)} +{_pressure(pressure)}"
        for label, pressure in zip(answer.before.case.labels, answer.back_pressure, strict=True)
        if pressure > 0.005 * BAR
    ]
    return "throttle " + ", ".join(closing) if closing else "throttles as they are"


def _remedy_name(remedy: _core.Remedy, labels: tuple[str, str]) -> str:
    resin, hardener = (_plain(label) for label in labels)
    amount = remedy.amount
    place = _plain(remedy.place)
    return {
        "preload": f"preload {u.digits(amount, 2)} s before each shot",
        "hold": "hold the drive on between shots",
        "delay_resin": f"open the {resin} shut-off {u.digits(amount * 1e3, 2)} ms later",
        "delay_hardener": f"open the {hardener} shut-off {u.digits(amount * 1e3, 2)} ms later",
        "degas_resin": f"degas {resin} to {_percent(amount)}",
        "degas_hardener": f"degas {hardener} to {_percent(amount)}",
        "bleed_pocket": f"bleed {_volume(amount)} of air at {place}",
        "heat_resin": f"warm the {resin} {place} {_kelvin_shift(amount)}",
        "purge": f"purge {_ml(amount)} mL (cc) of each shot to the cup",
        "shorter_hose": f"{resin} {place} of {u.digits(amount, 2)} m ({u.digits(amount / 0.3048, 2)} ft)",
        "stiffer_hose": f"{resin} {place} of {u.show(amount, u.WALL_EXPANSION, 2)}",
    }[remedy.kind.name]


def _flow_cost(change: float) -> str:
    if abs(change) < 0.005:
        return ""
    return f"{_percent(abs(change))} {'more' if change > 0 else 'less'} flow"


def _remedy_cost(remedy: _core.Remedy) -> str:
    costs = [_flow_cost(remedy.flow_change)]
    if remedy.waste > 0.0:
        costs.append(f"{_ml(remedy.waste)} mL (cc) waste")
    if remedy.wait > 0.0:
        costs.append(f"{u.digits(remedy.wait, 2)} s")
    kind = remedy.kind.name
    costs.append(
        {
            "degas_resin": "vacuum",
            "degas_hardener": "vacuum",
            "heat_resin": "heat",
            "bleed_pocket": "minutes",
            "shorter_hose": "new hose",
            "stiffer_hose": "new hose",
        }.get(kind, "")
    )
    return ", ".join(filter(None, costs)) or "none"


def actions(result: TrimResult) -> tuple[Action, ...]:
    """Trims and remedies together: least effort first, then most soft volume removed."""
    before = result.before.shot.outlet
    found = []
    for answer in result.answers.values():
        outlet = answer.core.trial.outlet
        if not answer.feasible:
            continue
        action = Action(
            _trim_name(answer),
            0,
            outlet.soft_volume,
            outlet.volume,
            before.soft_volume - outlet.soft_volume,
            _flow_cost(-answer.flow_lost) or "none",
            answer,
        )
        if not any(known.name == action.name for known in found):
            found.append(action)
    for remedy in result.remedies:
        outlet = remedy.trial.outlet
        found.append(
            Action(
                _remedy_name(remedy, result.case.labels),
                _EFFORT[remedy.kind.name],
                outlet.soft_volume,
                outlet.volume,
                remedy.soft_removed,
                _remedy_cost(remedy),
            )
        )
    return tuple(sorted(found, key=lambda action: (action.effort, -action.removed)))


def worthwhile(result: TrimResult) -> tuple[Action, ...]:
    """Actions that remove enough of the soft volume to be listed."""
    least = max(WORTH * result.before.shot.outlet.soft_volume, 0.005 * ML)
    return tuple(action for action in actions(result) if action.removed >= least)


def _needs_mending(run: Run) -> bool:
    return any(
        _is_off(zone, _shot_volume(run.shot), run.target)
        for zone in (run.shot.outlet, run.shot.outlet_plug, run.shot.outlet_dispersed)
    )


def helps(result: TrimResult) -> bool:
    """Whether the answer is "yes": the asked objective, or with several any way to mend it."""
    if result.before.status != "ok" or not result.before.measures.shots:
        return False
    if len(result.answers) == 1:
        return result.answer.feasible
    return bool(worthwhile(result)) or not _needs_mending(result.before)


def first_to_do(result: TrimResult) -> Action | None:
    """The cheapest action that does nearly as much as the best; None where nothing helps."""
    listed = worthwhile(result)
    best = max((action.removed for action in listed if action.effort < 2), default=0.0)
    return next((action for action in listed if action.removed >= ENOUGH * best), None)


def answer_verdict(answer: Answer) -> str:
    """One sentence: the settings and what they do, or why there are none."""
    name = _OBJECTIVE_NAMES[answer.objective]
    if not answer.feasible:
        return _sentence(f"{name}: no answer, {_plain(answer.reason)}")
    before, after = answer.before.shot.outlet, answer.core.trial.outlet
    first = f"{_sentence(_plain(answer.reason))} " if answer.reason else ""
    return (
        f"{first}{_sentence(name)[:-1]}: {_trim_name(answer)}; soft volume "
        f"{_ml(before.soft_volume)} to {_ml(after.soft_volume)} mL (cc), off ratio "
        f"{_ml(before.volume)} to {_ml(after.volume)} mL (cc), {_percent(answer.flow_lost)} of "
        "the flow lost."
    )


def trim_sections(result: TrimResult) -> tuple[Section, ...]:
    """First screen of a trim, in its fixed order, then warnings and assumptions."""
    return tuple(_trim_sections(result))


def _trim_sections(result: TrimResult) -> Iterator[Section]:
    before, answer = result.before, result.answer
    title = _plain(result.case.title)
    if before.status != "ok" or not before.measures.shots:
        yield Section(title, ())
        yield Section("1 Verdict", (verdict(before),))
        yield from _closing(result.case, before.to_dict()["warnings"])
        return
    after = answer.after if answer.feasible else None
    yield Section(title, ())
    yield Section("1 Verdict", tuple(_verdict_blocks(result)))
    yield Section("2 What to do, cheapest first", tuple(_todo_blocks(result)))
    yield Section("3 Ratio", tuple(_ratio_blocks(before, after)))
    yield Section(
        "4 Pressures" + (" after the trim" if after else ""),
        (_pressure_table(after or before), *_over_rating(after or before)),
    )
    yield Section("5 What moves the answer most", tuple(_moves(result)))
    yield Section("6 Proof by catch weights", _catch(before, after))
    warnings = before.to_dict()["warnings"]
    if after:
        warnings = list(dict.fromkeys(warnings + after.to_dict()["warnings"]))
    cautions, *rest = _closing(result.case, warnings)
    yield Section("7 Cautions", cautions.blocks)
    yield from rest


def _verdict_blocks(result: TrimResult) -> Iterator[str]:
    before = result.before
    sentences = [_models_disagree(before)]
    null = result.answers.get("null")
    if null and null.feasible:
        then, now = null.core.trial.outlet.volume, before.shot.outlet.volume
        if then > now + 1e-3 * ML:
            sentences.append(
                f"Nulling the net lead makes it worse: off ratio {_ml(now)} to {_ml(then)} mL (cc)."
            )
    sentences.append(_shot_name(before))
    first = first_to_do(result)
    outcome = _sentence(_outcome(before))[:-1]
    if not _needs_mending(before):
        sentences.append(f"{outcome}. Nothing needs mending.")
    elif first is None:
        sentences.append(f"{outcome}. No setting and no remedy tried here mends it.")
    else:
        sentences.append(
            f"{outcome}. Start with: {first.name}; it leaves {_volume(first.off)} off ratio."
        )
    sentences.append(_offset_sentence(before))
    if null and not null.feasible:
        sentences.append(f"Net lead zero: no answer, {_plain(null.reason)}.")
    yield " ".join(filter(None, sentences))


def _todo_blocks(result: TrimResult) -> Iterator[Block]:
    before = result.before.shot.outlet
    listed = worthwhile(result)
    rows = [
        (
            _EFFORT_NAMES[action.effort],
            action.name,
            _ml(action.soft),
            _ml(action.off),
            action.cost,
        )
        for action in listed
    ]
    rows.insert(0, ("", "as written", _ml(before.soft_volume), _ml(before.volume), ""))
    yield Table(("mL (cc)", "", "soft", "off", "costs"), tuple(rows))
    little = [a.name for a in actions(result) if a not in listed]
    if little:
        yield "Little or nothing: " + "; ".join(little) + "."
    answer = result.answer
    if answer.feasible:
        yield f"Gauges for {_trim_name(answer)} ({_OBJECTIVE_NAMES[answer.objective]}):"
        yield _gauge_table(answer)
        yield " ".join(filter(None, (_turn(result), _restore(answer), _retrim())))


def _gauge_table(answer: Answer) -> Table:
    """Readings to trim by, with the band in which the answer holds."""
    core = answer.core
    trials = (core.trial, core.band_open, core.band_closed)
    rows = []
    for name, label in zip(("resin", "hardener"), answer.before.case.labels, strict=True):
        for reading, field in (
            ("closed", f"{name}_cylinder_closed"),
            ("flowing, cylinder", f"{name}_cylinder"),
            ("flowing, head", f"{name}_head"),
        ):
            values = [getattr(trial, field) for trial in trials]
            rows.append(
                (
                    f"{_plain(label)} {reading}",
                    *(cell for unit in ("bar", "psi") for cell in _reading(values, unit)),
                )
            )
    return Table(("reading", "bar", "holds within", "psi", "holds within"), tuple(rows))


def _reading(values: Sequence[float], unit: str) -> tuple[str, str]:
    value, *_ = (u.convert(v, u.PRESSURE, unit) for v in values)
    low, high = (u.convert(v, u.PRESSURE, unit) for v in (min(values), max(values)))
    return u.digits(value), f"{u.digits(low)} to {u.digits(high)}"


def _swept(result: TrimResult) -> tuple[str, str]:
    """Name and label of the stream whose throttle the curve sweeps."""
    name = "resin" if result.core.curve_sweeps_resin else "hardener"
    return name, _plain(result.case.labels[name == "hardener"])


def _turn(result: TrimResult) -> str:
    """The point beyond which closing the swept throttle does harm, by gauge reading."""
    answer = result.answer
    name, label = _swept(result)
    edge = answer.core.band_closed
    gauge = _pressure(getattr(edge, f"{name}_head"))
    closer = [
        trial
        for trial in result.curve
        if getattr(trial, f"{name}_back_pressure") > getattr(edge, f"{name}_back_pressure")
    ]
    beyond = next((t for t in closer if t.refused), None) if closer and closer[0].refused else None
    if beyond is not None:
        return f"Not beyond {gauge} at the {label} head, flowing: {_plain(beyond.refused)}."
    worse = next((t for t in closer if t.outlet.soft_volume > edge.outlet.soft_volume), None)
    if worse is None:
        return f"Within the throttle's range closing {label} further does no harm."
    lean = worse.outlet.missing - edge.outlet.missing > worse.outlet.surplus - edge.outlet.surplus
    return f"Beyond {gauge} at the {label} head, flowing, it turns: " + (
        "hardener lags and the start goes lean." if lean else "hardener runs ahead again."
    )


def _restore(answer: Answer) -> str:
    if answer.flow_lost < 0.005 or answer.restoring_force is None:
        return ""
    restored = answer.restored
    text = (
        f"{_percent(answer.flow_lost)} of the flow is lost; a drive of "
        f"{u.show(answer.restoring_force, u.FORCE)} for "
        f"{u.show(answer.before.machine.drive.force, u.FORCE)} restores it"
    )
    if restored is not None and restored.status == "ok" and restored.measures.shots:
        text += f" (soft volume then {_volume(restored.shot.outlet.soft_volume)})"
        over = _over_rating(restored)
        text += "; but " + " ".join(over).rstrip(".") if over else ""
    return text + "."


def _retrim() -> str:
    return "Trim again after degassing, always, and when material, hose, mixer or seal changes."


def _ratio_blocks(before: Run, after: Run | None) -> Iterator[Block]:
    yield _ratio_table(before)
    asked = before.target.ratio
    text = f"Offset {_percent(before.ratio / asked - 1.0, sign=True)}"
    if after is not None:
        text += f", trimmed {_percent(after.ratio / asked - 1.0, sign=True)}"
    yield (
        text + ": bores, temperature, gas, leak. Back pressure moves it through density alone; "
        "trim never mends it."
    )


def _moves(result: TrimResult) -> Iterator[Block]:
    answer = result.answer
    if not answer.feasible:
        yield "There is no answer to move."
        return
    here = answer.core.trial.outlet.soft_volume
    name, label = _swept(result)
    worst: dict[str, _core.Sensitivity] = {}
    for s in result.sensitivities:
        known = worst.get(s.assumption.name)
        if known is None or _move(s, here) > _move(known, here):
            worst[s.assumption.name] = s
    ranked = sorted(worst.values(), key=lambda s: _move(s, here), reverse=True)
    yield Table(
        ("assumption", "S as trimmed", "S trimmed again", f"at {label} head, flowing"),
        tuple(
            (
                _assumption(s, result.case.labels),
                f"{_ml(here)} -> {_ml(s.trial.outlet.soft_volume)}",
                _ml(s.best.outlet.soft_volume),
                f"{_pressure(getattr(answer.core.trial, f'{name}_head')).split(' (')[0]} -> "
                f"{_pressure(getattr(s.best, f'{name}_head'))}",
            )
            for s in ranked[:3]
        ),
    )


def _move(s: _core.Sensitivity, here: float) -> float:
    return abs(s.trial.outlet.soft_volume - here)


def _assumption(s: _core.Sensitivity, labels: tuple[str, str]) -> str:
    resin, hardener = (_plain(label) for label in labels)
    kind = s.assumption.name
    if kind == "resin_gas":
        return f"{resin} free gas {_percent(s.value)} -> {_percent(s.changed)}"
    if kind in ("resin_temperature", "hardener_temperature"):
        who = resin if kind == "resin_temperature" else hardener
        return f"{who} {_kelvin_shift(s.changed)}"
    if kind == "drive_force":
        return f"drive force {_percent(s.changed / s.value - 1.0, sign=True)}"
    if kind == "position":
        return f"shaft at {u.digits(s.value * 1e3)} -> {u.digits(s.changed * 1e3)} mm of the stroke"
    name = "hose expansion" if kind == "wall_expansion" else f"{resin} viscosity"
    return f"{name} {_percent(s.changed / s.value - 1.0, sign=True)}"


# --- layout ----------------------------------------------------------------------------------


def as_text(sections: Sequence[Section], width: int = 80) -> str:
    """Sections as plain text."""
    lines: list[str] = []
    for section in sections:
        lines.extend(textwrap.wrap(section.title, width))
        for block in section.blocks:
            lines.extend(_block_lines(block, width))
    return "\n".join(lines)


def _block_lines(block: Block, width: int) -> list[str]:
    if isinstance(block, str):
        return textwrap.wrap(block, width, initial_indent="  ", subsequent_indent="  ")
    if isinstance(block, Items):
        return [
            line
            for sentence in block.sentences
            for line in textwrap.wrap(
                sentence, width, initial_indent="  - ", subsequent_indent="    "
            )
        ]
    return _table_lines(block, width)


def _table_lines(table: Table, width: int) -> list[str]:
    """Columns as wide as their widest cell; the widest is folded where all do not fit."""
    grid = [table.header, *table.rows]
    wide = [max(len(row[i]) for row in grid) for i in range(len(table.header))]
    room = width - 2 - 2 * (len(wide) - 1)
    while sum(wide) > room and max(wide) > 12:
        wide[wide.index(max(wide))] -= 1
    lines = []
    for row in grid:
        cells = [textwrap.wrap(cell, w) or [""] for cell, w in zip(row, wide, strict=True)]
        for k in range(max(map(len, cells))):
            parts = [
                (cell[k] if k < len(cell) else "").ljust(w)
                for cell, w in zip(cells, wide, strict=True)
            ]
            lines.append(("  " + "  ".join(parts)).rstrip())
    return lines


def run_text(run: Run, width: int = 80) -> str:
    """Screen of a run as plain text."""
    return as_text(run_sections(run), width)


def trim_text(result: TrimResult, width: int = 80) -> str:
    """First screen of a trim as plain text."""
    return as_text(trim_sections(result), width)


def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("evenfront"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def as_html(sections: Sequence[Section], level: int = 4) -> str:
    """Sections as a piece of HTML, everything in them escaped."""
    template = _environment().get_template("sections.html.j2")
    return template.render(sections=sections, level=level)


def run_html(run: Run) -> str:
    """A run as a notebook's cell."""
    return as_html([s for s in run_sections(run) if s.title not in _NOT_IN_NOTEBOOKS])


def answer_html(answer: Answer) -> str:
    """One answer of a trim as a notebook's cell."""
    blocks: tuple[Block, ...] = (answer_verdict(answer),)
    if answer.feasible:
        blocks = (*blocks, _gauge_table(answer))
    return as_html([Section(_plain(answer.before.case.title), blocks)])


def trim_html(result: TrimResult) -> str:
    """A trim as a notebook's cell."""
    return as_html([s for s in trim_sections(result) if s.title not in _NOT_IN_NOTEBOOKS])


_NOT_IN_NOTEBOOKS = ("Assumed",)


def page(result: Run | TrimResult) -> str:
    """Report page of a run or a trim: one file, pictures within it."""
    case = result.case
    trimmed = isinstance(result, TrimResult)
    sections = trim_sections(result) if isinstance(result, TrimResult) else run_sections(result)
    # The page has the title already.
    first = Section("Verdict", sections[0].blocks)
    return (
        _environment()
        .get_template("page.html.j2")
        .render(
            title=_plain(case.title),
            kind="Trim" if trimmed else "Run",
            source=_plain(case.source),
            version=version(),
            date=datetime.date.today().isoformat(),
            sections=[*([first] if first.blocks else []), *sections[1:]],
            level=2,
            pictures=_pictures(result),
            inputs=[(key, _plain(str(value))) for key, value in _leaves(case.to_dict())],
        )
    )


def write_html(result: Run | TrimResult, path: str | Path) -> None:
    """Write the report page of a run or a trim."""
    Path(path).write_text(page(result), encoding="utf-8")


def _pictures(result: Run | TrimResult) -> list[Markup]:
    """Overview of a run or a trim as inline SVG; none where no shot was completed."""
    run = result.before if isinstance(result, TrimResult) else result
    if run.status != "ok" or not run.measures.shots:
        return []
    from evenfront import plot

    figure, _ = plot.overview(result)
    text = io.StringIO()
    figure.savefig(text, format="svg", metadata={"Date": None})
    svg = text.getvalue()
    return [Markup(svg[svg.index("<svg") :])]  # matplotlib escapes the text it draws


def _leaves(node: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Key paths of nested tables with their values, in the order of the file."""
    if isinstance(node, Mapping):
        for key, value in node.items():
            yield from _leaves(value, f"{path}.{key}" if path else str(key))
    elif isinstance(node, list) and any(isinstance(item, Mapping) for item in node):
        for i, item in enumerate(node):
            yield from _leaves(item, f"{path}[{i}]")
    else:
        yield path, node
