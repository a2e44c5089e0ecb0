"""First screen of a trim, as sections of sentences and tables, in its fixed order."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from evenfront import _core
from evenfront import units as u
from evenfront import words as w
from evenfront.layout import Block, Section, Table
from evenfront.run import ML
from evenfront.trimming import Answer, Side, TrimResult, setting_unit
from evenfront.words import LEAST

if TYPE_CHECKING:
    pass
from evenfront.catch_words import catch_proof
from evenfront.mending import actions, acts, first_to_do, trim_name, worthwhile
from evenfront.run_report import closing, over_rating, pressure_table, ratio_sentence
from evenfront.shot_words import (
    delivers,
    models_disagree,
    mostly_offset,
    needs_mending,
    offset_sentence,
    outcome,
    shot_name,
    verdict,
    worse_than_last,
)

_OBJECTIVE_NAMES = {
    "null": "net lead zero",
    "least_soft": "least soft volume",
    "least_excess": "least surplus and missing",
}


def answer_verdict(answer: Answer) -> str:
    """One sentence: the settings and what they do, or why there are none."""
    name = _OBJECTIVE_NAMES[answer.objective]
    if not answer.feasible:
        return w.sentence(f"{name}: no answer, {w.plain(answer.reason)}")
    before, after = answer.before.shot.outlet, answer.core.trial.outlet
    first = f"{w.sentence(w.plain(answer.reason))} " if answer.reason else ""
    return (
        f"{first}{w.sentence(name)[:-1]}: {trim_name(answer)}; soft volume "
        f"{w.ml(before.soft_volume)} to {w.ml(after.soft_volume)} mL (cc), off ratio "
        f"{w.ml(before.volume)} to {w.ml(after.volume)} mL (cc), {w.percent(answer.flow_lost)} of "
        "the flow lost."
    )


def trim_sections(result: TrimResult) -> tuple[Section, ...]:
    """First screen of a trim, in its fixed order, then warnings and assumptions."""
    return tuple(_trim_sections(result))


def _trim_sections(result: TrimResult) -> Iterator[Section]:
    before, answer = result.before, result.answer
    title = w.plain(result.case.title)
    if not delivers(before):
        yield Section(title, ())
        yield Section("1 Verdict", (verdict(before),))
        yield from closing(result.case, before.to_dict()["warnings"])
        return
    after = answer.after if acts(result) else None
    yield Section(title, ())
    yield Section(f"1 {shot_name(before)}", tuple(_verdict_blocks(result)))
    yield Section("2 What to do, cheapest first", tuple(_todo_blocks(result)))
    yield Section("3 Ratio", (ratio_sentence(before, after),))
    yield Section(
        "4 Pressures" + (" after the trim" if after else ""),
        (pressure_table(after or before), *over_rating(after or before)),
    )
    at_best = "" if after else ", throttles at their best"
    yield Section(f"5 What moves the answer most{at_best}", tuple(_moves(result)))
    yield Section("6 Proof by catch weights", catch_proof(before, after))
    warnings = before.to_dict()["warnings"]
    if after:
        warnings += [
            f"trimmed: {text}" for text in after.to_dict()["warnings"] if text not in warnings
        ]
    cautions, *rest = closing(result.case, warnings)
    yield Section("7 Cautions", cautions.blocks)
    yield from rest


def _verdict_blocks(result: TrimResult) -> Iterator[str]:
    before = result.before
    first = first_to_do(result)
    text = outcome(before)
    if not needs_mending(before):
        text += ": nothing needs mending"
    elif mostly_offset(before):
        text += "; most of it is not lead"
    elif first is None:
        text += "; no setting and no remedy tried here mends it"
    else:
        text += f"; start with: {first.name}, which leaves {w.left(first.off)} off ratio"
    for sentence in (
        worse_than_last(before),
        models_disagree(before),
        _worse_by_nulling(result),
        w.sentence(text),
        offset_sentence(before),
    ):
        if sentence:
            yield sentence


def _worse_by_nulling(result: TrimResult) -> str:
    null, now = result.answers.get("null"), result.before.shot.outlet.volume
    if null is None or not null.feasible or null.core.trial.outlet.volume <= now + LEAST * ML:
        return ""
    then = null.core.trial.outlet.volume
    return f"Nulling the net lead makes it worse: off ratio {w.ml(now)} to {w.ml(then)} mL (cc)."


def _todo_blocks(result: TrimResult) -> Iterator[Block]:
    before, answer = result.before.shot.outlet, result.answer
    listed = worthwhile(result)
    rows = [(a.name, w.ml(a.soft), w.ml(a.off), a.cost) for a in listed]
    rows.insert(0, ("as written", w.ml(before.soft_volume), w.ml(before.volume), ""))
    yield Table(("mL (cc)", "soft", "off", "costs"), tuple(rows))
    little = [a.name for a in actions(result) if a not in listed]
    if little:
        yield f"Little or nothing, or too fine to set: {'; '.join(little)}."
    for one in result.answers.values():
        if not one.feasible:
            why = w.plain(one.reason)
            known = why.startswith("nothing to null")
            yield w.sentence(why if known else f"{_OBJECTIVE_NAMES[one.objective]}: {why}")
    if acts(result):
        yield f"Gauges (band) for {trim_name(answer)}, closed, then flowing at cylinder and head:"
        yield gauge_table(answer)
        notes = turning_point(result), backlash(result), restoring_drive(answer), RETRIM
        yield " ".join(filter(None, notes))
    elif answer.feasible:
        yield f"No throttle setting is worth what it costs. {RETRIM}"


RETRIM = "Trim again after degassing, always, and when material, hose, mixer or seal changes."


def gauge_table(answer: Answer) -> Table:
    """Tabulate the readings to trim by: closed, cylinder and head alike, then flowing."""
    core, labels = answer.core, answer.before.case.labels
    trials = (core.trial, core.band_open, core.band_closed)
    header = [""]
    for label in labels:
        header += [f"{w.plain(label)} bar", "psi"]
    rows = [
        (
            name,
            *(
                _reading([getattr(trial, f"{side}_{field}") for trial in trials], unit)
                for side in ("resin", "hardener")
                for unit in ("bar", "psi")
            ),
        )
        for name, field in (
            ("closed", "cylinder_closed"),
            ("cylinder", "cylinder"),
            ("head", "head"),
        )
    ]
    return Table(tuple(header), tuple(rows))


def _reading(values: Sequence[float], unit: str) -> str:
    value, low, high = (
        u.digits(u.convert(v, u.PRESSURE, unit)) for v in (values[0], min(values), max(values))
    )
    return value if low == high else f"{value} ({low}-{high})"


def swept(result: TrimResult) -> tuple[Side, str]:
    """Name and label of the stream whose throttle the curve sweeps."""
    name: Side = "resin" if result.core.curve_sweeps_resin else "hardener"
    return name, w.plain(result.case.labels[name == "hardener"])


def turning_point(result: TrimResult) -> str:
    """Say beyond which gauge reading closing the swept throttle does harm.

    One more setting is simulated, 15 % more resistance than where the band ends.
    """
    answer, before = result.answer, result.before
    name, label = swept(result)
    edge = answer.core.band_closed
    throttle = getattr(answer.machine, name).throttle
    setting = getattr(edge.settings, name)
    here = _core.log_resistance(_core.with_setting(throttle, setting))
    further = _core.setting(_core.with_log_resistance(throttle, here + math.log(1.15)))
    gauge = f"{w.pressure(getattr(edge, f'{name}_head'))} at the {label} head, flowing"
    if not throttle.lowest <= further <= throttle.highest or further == setting:
        return f"Up to the end of the throttle's range, {gauge}, it does no harm."
    (beyond,) = _core.try_settings(
        before.machine,
        before.sequence,
        before.target,
        [edge.settings.replace(**{name: further})],
        result.options,
        before.case.numerics,
    )
    if beyond.refused:
        return f"Not beyond {gauge}: {w.plain(beyond.refused)}."
    lean = beyond.outlet.missing - edge.outlet.missing > beyond.outlet.surplus - edge.outlet.surplus
    return f"Beyond {gauge}, it turns: {'hardener lags' if lean else 'hardener runs ahead'}."


def backlash(result: TrimResult) -> str:
    """Say how far the swept throttle's setting is uncertain, and whether the answer bears it."""
    answer = result.answer
    name, label = swept(result)
    band = answer.backlash_band(name)
    if band is None:
        return ""
    unit, scale = setting_unit(getattr(answer.machine, name).throttle)
    low, high = (u.digits(value / scale) for value in band)
    text = f"With its backlash the {label} throttle stands anywhere from {low} to {high} {unit}"
    edges = [
        getattr(trial.settings, name) for trial in (answer.core.band_open, answer.core.band_closed)
    ]
    if band[0] < min(edges) or band[1] > max(edges):
        return f"{text}, wider than the answer bears: set it by the gauge, always closing."
    return f"{text}: the answer bears that."


def restoring_drive(answer: Answer) -> str:
    """Flow that the answer costs, and the drive that restores it; empty where none is lost."""
    if answer.flow_lost < 0.005:
        return ""
    if answer.restoring_force is None:
        return f"{w.percent(answer.flow_lost)} of the flow is lost."
    restored = answer.restored
    text = (
        f"{w.percent(answer.flow_lost)} of the flow is lost; a drive of "
        f"{u.show(answer.restoring_force, u.FORCE)} for "
        f"{u.show(answer.before.machine.drive.force, u.FORCE)} restores it"
    )
    if restored is not None and restored.status == "ok" and restored.measures.shots:
        text += f" (soft volume then {w.volume(restored.shot.outlet.soft_volume)})"
        over = over_rating(restored)
        text += "; but " + " ".join(over).rstrip(".") if over else ""
    return text + "."


def _moves(result: TrimResult) -> Iterator[Block]:
    answer = result.answer
    if not answer.feasible:
        yield "There is no answer to move."
        return
    here = answer.core.trial.outlet.soft_volume
    name, label = swept(result)
    worst: dict[str, _core.Sensitivity] = {}
    for s in result.sensitivities:
        known = worst.get(s.assumption.name)
        if known is None or _move(s, here) > _move(known, here):
            worst[s.assumption.name] = s
    ranked = sorted(worst.values(), key=lambda s: _move(s, here), reverse=True)
    head = f"{name}_head"
    rows = [("as assumed", w.ml(here), "", w.pressure(getattr(answer.core.trial, head)))]
    rows += [
        (
            _assumption(s, result.case.labels),
            w.ml(s.trial.outlet.soft_volume),
            w.ml(s.best.outlet.soft_volume),
            w.pressure(getattr(s.best, head)),
        )
        for s in ranked[:3]
    ]
    yield Table(
        ("soft volume, mL (cc)", "as trimmed", "trimmed again", f"{label} head"), tuple(rows)
    )


def _move(s: _core.Sensitivity, here: float) -> float:
    return float(abs(s.trial.outlet.soft_volume - here))


def _assumption(s: _core.Sensitivity, labels: tuple[str, str]) -> str:
    resin, hardener = (w.plain(label) for label in labels)
    kind = s.assumption.name
    if kind == "resin_gas":
        return f"{resin} free gas {w.percent(s.value)} -> {w.percent(s.changed)}"
    if kind in ("resin_temperature", "hardener_temperature"):
        who = resin if kind == "resin_temperature" else hardener
        return f"{who} {w.kelvin_shift(s.changed)}"
    if kind == "drive_force":
        return f"drive force {w.percent(s.changed / s.value - 1.0, sign=True)}"
    if kind == "position":
        return f"shaft {u.digits(s.value * 1e3)} -> {u.show(s.changed, u.LENGTH)}"
    name = "hose expansion" if kind == "wall_expansion" else f"{resin} viscosity"
    return f"{name} {w.percent(s.changed / s.value - 1.0, sign=True)}"
