"""What a run or a trim means, in words: the terminal's screens, notebook cells, the report page.

Everything is composed once, as sections of sentences and tables (`run_sections`, `trim_sections`);
`as_text` and `as_html` only lay them out. Pure functions of results. People read bar and psi, mL
and cc, degC and degF, two or three digits.
"""

from __future__ import annotations

import datetime
import io
import math
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from markupsafe import Markup

from evenfront import _core, behaviour, inertance, pages
from evenfront import units as u
from evenfront import words as w
from evenfront.layout import Block, Items, Section, Table
from evenfront.run import BAR, ML, Run
from evenfront.shot_class import IN_STROKE, START_UP, shots_in, softest, travels
from evenfront.trimming import ENOUGH, Answer, Side, TrimResult, setting_unit
from evenfront.words import LEAST

if TYPE_CHECKING:
    from evenfront.case import Case

VALVE_REPEATS = 0.01
"""How well shut-offs repeat their delay [s]; common practice, no source."""
SCALE_STEP = 0.01
"""Resolution of a usual catch scale [g]; common practice, no source."""
WORTH = 0.2
"""Share of the soft volume a remedy must remove to be listed [-]; ours."""
CATCH_TIME = 0.2
"""Shortest time in which a cup is moved under a running stream [s]; common practice, no source."""

CAUTIONS = (
    "Pressurised hot reactive liquids: relieve pressure before opening anything; closed valves "
    "trap it, and heating blocked-in liquid raises it, 1 to 2 bar per degC (8 to 16 psi per degF) "
    "in braided hose, more in steel. Hoses, fittings and plastic mixers have ratings. Hot "
    "surfaces; skin and respiratory sensitisers; heat of reaction in bulk. Follow the safety data "
    "sheets, the equipment maker's manual, local codes and licensed practice. A computed setting "
    "is a starting point, to be proved by catch weights."
)


# --- what a shot is like ---------------------------------------------------------------------


def shot_volume(m: _core.ShotMeasures) -> float:
    """Liquid of both streams, open to close command [m^3]."""
    return m.resin_volume + m.hardener_volume


def is_off(zone: _core.OffRatio, shot_volume: float, target: _core.Target) -> bool:
    """Whether more leaves off ratio than the smallest piece of the part that matters."""
    return zone.volume > target.resolve * shot_volume


def models_disagree(run: Run) -> str:
    """Sentence for a verdict that the residence model decides; empty where it does not."""
    m = run.shot
    plug, dispersed = (
        is_off(zone, shot_volume(m), run.target) for zone in (m.outlet_plug, m.outlet_dispersed)
    )
    if plug == dispersed:
        return ""
    return (
        f"The residence model decides: as plug {w.left(m.outlet_plug.volume)} leaves off ratio, "
        f"at Peclet number 100 {w.left(m.outlet_dispersed.volume)}."
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
    followed = shot_volume(run.shot) + 2.0 * _core.hold_up(run.machine.mixer)
    return e * e / (e * e + tol * tol) * followed


def _offset_sentence(run: Run) -> str:
    share, soft = offset_share(run), run.shot.outlet.soft_volume
    if share < 0.05 * soft or share < 0.01 * ML:
        return ""
    first = "mend that first" if _mostly_offset(run) else "no trim mends it"
    return (
        f"Of the soft volume about {w.volume(min(share, soft))} is the steady offset of "
        f"{w.percent(run.ratio / run.target.ratio - 1.0, sign=True)}, not lead; {first} "
        "(bores, temperature, gas, leak)."
    )


def _mostly_offset(run: Run) -> bool:
    return offset_share(run) >= 0.5 * run.shot.outlet.soft_volume > 0.0


def _shot_name(run: Run) -> str:
    m, n = run.shot, len(run.measures.shots)
    closed = (m.resin_closed_pressure, m.hardener_closed_pressure)
    bar, psi = (
        " and ".join(u.digits(u.convert(p, u.PRESSURE, unit)) for p in closed)
        for unit in ("bar", "psi")
    )
    return (
        f"Shot {n} of {n}, {u.digits(m.duration)} s, {w.volume(shot_volume(m))}, opened at "
        f"{bar} bar ({psi} psi)"
    )


def delivers(run: Run) -> bool:
    """Whether the run went to its end and its last shot holds liquid worth the name.

    A shot below a thousandth of the mixer's hold-up is none, nor is one that only relaxes: the
    drive hardly moves the shaft, or a throttle is as good as closed.
    """
    if run.status != "ok" or not run.measures.shots:
        return False
    least = 1e-3 * _core.hold_up(run.machine.mixer)
    return shot_volume(run.shot) > least and _steady_flow(run) * run.shot.duration > least


def _steady_flow(run: Run) -> float:
    return run.steady.resin.flow + run.steady.hardener.flow


def _stopped(run: Run) -> str:
    """Why a run has no answer, with how far it came."""
    if run.status == "ok" and run.measures.shots:
        return (
            f"Nothing to speak of flows: {u.show(_steady_flow(run), u.FLOW)} steadily at a drive "
            f"of {u.show(_core.full_force(run.machine.drive), u.FORCE)}; a throttle is as good as "
            "closed, or the drive too weak."
        )
    reason = w.sentence(w.plain(run.message or run.status.replace("_", " ")))
    if run.status == "nothing_flows":
        return reason
    return f"{reason[:-1]}; shots completed: {len(run.measures.shots)}."


def verdict(run: Run) -> str:
    """Say what the last shot is like and which class is worst, or why there is no answer."""
    if not delivers(run):
        return _stopped(run)
    last = f"Shot {len(run.measures.shots)}: {outcome(run)}; {_ahead(run)}."
    return f"{last} {_worst_class(run)}".rstrip()


def _worst_class(run: Run) -> str:
    """Class of shots that is softest among those that reach a part; empty where all are alike."""
    if len({one.name for one in run.classes}) < 2:
        return ""
    i = softest(run.classes, run.measures.shots)
    zone = run.measures.shots[i].outlet
    text = (
        f"Worst class that reaches a part: {_class_name(run, run.classes[i].name)} (shot {i + 1}), "
        f"off ratio {w.left(zone.volume)}, soft volume {w.left(zone.soft_volume)}"
    )
    discarded = START_UP in [one.name for one in run.classes]
    return text + (f"; the {START_UP} goes to the cup." if discarded else ".")


def _class_name(run: Run, name: str) -> str:
    """Name of a class, with the numbers of its shots in the stroke where those tell."""
    numbers = [one.in_stroke for one in run.classes if one.name == name]
    if name != IN_STROKE:
        return name
    first, last = (w.ordinal(n) for n in (min(numbers), max(numbers)))
    return f"{first if first == last else f'{first} to {last}'} in the stroke"


def outcome(run: Run) -> str:
    """How much of the last shot leaves off ratio, from where to where, and how far off."""
    m, zone = run.shot, run.shot.outlet
    total = w.volume(shot_volume(m))
    if not is_off(zone, shot_volume(m), run.target):
        small = f" but {w.volume(zone.volume)}" if zone.volume >= LEAST * ML else ""
        return f"all{small} of {total} leaves the mixer on ratio"
    return (
        f"{w.ml(zone.volume)} of {total} leaves the mixer off ratio, from {w.ml(zone.start)} to "
        f"{w.ml(zone.end)} mL (cc) after the open command, hardener {_worst(run)}"
    )


def _worst(run: Run) -> str:
    """Extremes of the ratio error that are outside the tolerance."""
    zone, target = run.shot.outlet, run.target
    found = []
    if zone.highest_error > target.tolerance_high:
        # Errors are capped at 1.
        more = " or more" if zone.highest_error > 0.999 else ""
        found.append(w.percent(zone.highest_error, sign=True) + more)
    if zone.lowest_error < -target.tolerance_low:
        found.append(w.percent(zone.lowest_error, sign=True))
    return " and ".join(found)


def _ahead(run: Run) -> str:
    m, labels = run.shot, run.case.labels
    if m.swing < 1e-3 * ML:
        return "neither stream leads"
    first = labels[1] if m.peak_lead >= -m.peak_lag else labels[0]
    most = max(m.peak_lead, -m.peak_lag)
    return f"{w.plain(first)} up to {w.volume(most)} ahead, net lead {w.volume(m.net_lead)}"


# --- run -------------------------------------------------------------------------------------


def run_sections(run: Run) -> tuple[Section, ...]:
    """Screen of a run."""
    return tuple(_run_sections(run))


def _run_sections(run: Run) -> Iterator[Section]:
    title = w.plain(run.case.title)
    if not delivers(run):
        yield Section(title, (verdict(run),))
    else:
        yield Section(
            title,
            tuple(
                filter(
                    None,
                    (
                        models_disagree(run),
                        f"{_shot_name(run)}; {_class_name(run, run.classes[-1].name)}.",
                        w.sentence(f"{outcome(run)}; {_ahead(run)}"),
                        _offset_sentence(run),
                        _worst_class(run),
                    ),
                )
            ),
        )
        yield Section("Measures of the shot", (_measures_table(run),))
        if len(run.measures.shots) > 1:
            yield Section("Every shot", (_shots_table(run),))
            yield Section("Classes of shots, the softest of each", (_class_table(run),))
        yield Section("Ratio", (_ratio_sentence(run, None),))
        yield Section("Pressures", (_pressure_table(run),))
        yield from behaviour.sections(run)
        yield Section("Proof by catch weights", _catch(run, None))
    yield from _closing(run.case, run.to_dict()["warnings"])


def _measures_table(run: Run) -> Table:
    m = run.shot
    zones = (m.inlet, m.outlet, m.outlet_plug, m.outlet_dispersed)

    def row(name: str, values: Sequence[float]) -> tuple[str, ...]:
        return (name, *(w.ml(value) for value in values))

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
                    w.ml(v)
                    for v in (
                        shot_volume(m),
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


def _class_table(run: Run) -> Table:
    """One row per class, with the measures of its softest shot."""
    numbered = list(enumerate(zip(run.classes, run.measures.shots, strict=True)))
    rows = []
    for name in dict.fromkeys(one.name for one in run.classes):
        i, (_, m) = max(
            (entry for entry in numbered if entry[1][0].name == name),
            key=lambda entry: (entry[1][1].outlet.soft_volume, -entry[0]),
        )
        volumes = (m.swing, m.net_lead, m.outlet.volume, m.outlet.soft_volume)
        rows.append(
            (
                _class_name(run, name),
                str(i + 1),
                *map(w.ml, volumes),
                u.digits(run.weight(i) * 1e3),
                w.ml(m.resin_after_close + m.hardener_after_close),
            )
        )
    header = (
        "mL (cc)",
        "shot",
        "swing",
        "net lead",
        "off ratio",
        "soft S",
        "weight, g",
        "after close",
    )
    return Table(header, tuple(rows))


def _ratio_sentence(run: Run, after: Run | None) -> str:
    """Ratio asked and delivered, and the offset that a trim does not mend."""
    densities = (run.machine.resin.liquid.density, run.machine.hardener.liquid.density)
    text = f"Asked {w.ratio(run.target.ratio, densities)}"
    if not run.steady.flows:
        return f"{text}."
    asked = run.target.ratio
    text += f"; delivered {w.ratio(run.ratio, densities)}. "
    text += f"Offset {w.percent(run.ratio / asked - 1.0, sign=True)}"
    if after is None:
        return f"{text}: bores, temperature, gas, leak; no throttle mends it."
    return (
        f"{text}, trimmed {w.percent(after.ratio / asked - 1.0, sign=True)}: back pressure moves "
        "it through density alone, trim never mends it."
    )


def readings(run: Run) -> list[tuple[str, float, float, float, float]]:
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
    return Table(
        ("bar (psi)", "closed", "flowing", "highest", "rating"),
        tuple(
            (w.plain(place), *(w.bar_psi(value) for value in values))
            for place, *values in readings(run)
        ),
    )


def over_rating(run: Run) -> list[str]:
    """Sentences for pressures above their rating."""
    return [
        f"{w.plain(place)}: {w.pressure(highest)} is above the rating of {w.pressure(rating)}."
        for place, _, _, highest, rating in readings(run)
        if highest > rating
    ]


def _catch(run: Run, after: Run | None) -> tuple[Block, ...]:
    """Catch that would show the lead, and the scale it needs.

    In held shots whole-shot weights come out on ratio whatever the lead within them, cut shots
    too: only liquid caught from a running stream shows it.
    """
    m = run.shot
    resin, hardener = (w.plain(label) for label in run.case.labels)
    density = run.machine.hardener.liquid.density
    curve = run.lead()
    peak = float(curve.time[int(abs(curve.lead).argmax())])
    time = min(max(peak, CATCH_TIME), m.duration)
    lead, whole = _lead_at(run, time), _whole_lead(run)
    if abs(whole) >= 0.5 * abs(lead):
        time, lead = math.inf, whole
        how = "Weigh both streams of the whole shot apart"
    else:
        how = (
            f"Whole shots hide it ({_excess(whole * density)}). Weigh both streams apart, "
            f"cups moved under them while they run, the first {u.digits(time, 2)} s"
        )
    back = f"at the mixer's pressure, {w.pressure(run.steady.mixer_pressure)}"
    first, second = weights(run, time)
    text = (
        f"{how}, {back}: {w.gram(first)} {resin} with {w.gram(second)} {hardener}, "
        f"{_excess(lead * density)}"
    )
    if after is not None and after.measures.shots:
        first, second = weights(after, time)
        later = _whole_lead(after) if math.isinf(time) else _lead_at(after, time)
        text += f"; trimmed {w.gram(first)} with {w.gram(second)}, {_excess(later * density)}"
    return (f"{text}. {_scale(abs(lead) * density)}{_bead(run)}",)


def _whole_lead(run: Run) -> float:
    """Lead of a whole shot as a cup catches it, with what passes after the close command."""
    m = run.shot
    return m.net_lead + m.hardener_after_close - run.ratio * m.resin_after_close


def _excess(mass: float) -> str:
    if abs(mass) < 5e-7:  # half a milligram
        return "on ratio"
    return f"{w.gram(abs(mass))} {'over' if mass > 0 else 'under'} ratio"


def _scale(mass: float) -> str:
    """Scale that tells the lead, to a fifth of it [kg]."""
    needed = mass * 1e3 / 5.0
    if needed >= SCALE_STEP:
        return f"A scale of {SCALE_STEP:g} g tells."
    if needed * 20 < SCALE_STEP:
        return f"No usual scale tells: {u.digits(needed, 1)} g would be needed."
    return f"With a scale of {SCALE_STEP:g} g weigh {math.ceil(SCALE_STEP / needed)} together."


def _bead(run: Run) -> str:
    zone = run.shot.outlet
    if not is_off(zone, shot_volume(run.shot), run.target):
        return ""
    return f" Or cure a bead: it is off from {w.ml(zone.start)} to {w.ml(zone.end)} mL (cc)."


def _lead_at(run: Run, time: float) -> float:
    curve = run.lead()
    return _interpolate(time, curve.time, curve.lead)


def _interpolate(x: float, xs: Any, ys: Any) -> float:
    import numpy as np

    return float(np.interp(x, xs, ys))


def weights(run: Run, time: float) -> tuple[float, float]:
    """Mass of resin and hardener a time after the open command; infinite: whole shot [kg]."""
    m, curve = run.shot, run.lead()
    if math.isinf(time):
        volumes = (
            m.resin_volume + m.resin_after_close,
            m.hardener_volume + m.hardener_after_close,
        )
    else:
        volumes = (
            _interpolate(time, curve.time, curve.resin),
            _interpolate(time, curve.time, curve.hardener),
        )
    return (
        volumes[0] * run.machine.resin.liquid.density,
        volumes[1] * run.machine.hardener.liquid.density,
    )


def _closing(case: Case, warnings: Sequence[str]) -> Iterator[Section]:
    """Cautions, then what was assumed and what is unusual."""
    yield Section("Cautions", (CAUTIONS,))
    said = [w.plain(text).rstrip(".") + "." for text in (*case.warnings, *warnings)]
    if said:
        yield Section("Warnings", (Items(tuple(said)),))
    if case.assumptions:
        yield Section("Assumed", (Items(tuple(w.plain(text) for text in case.assumptions)),))


# --- check -----------------------------------------------------------------------------------


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
    share
        What is paid: shares of flow, shot volume and shot time lost, added [-].
    cost
        The same in words.
    answer
        The trim behind it, None for a remedy.
    remedy
        The remedy's kind, empty for a trim.
    too_fine
        Whether valves do not repeat well enough for it.
    """

    name: str
    effort: Literal[0, 1, 2]
    soft: float
    off: float
    removed: float
    share: float
    cost: str
    answer: Answer | None = None
    remedy: str = ""
    too_fine: bool = False


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
_OBJECTIVE_NAMES = {
    "null": "net lead zero",
    "least_soft": "least soft volume",
    "least_excess": "least surplus and missing",
}


_UNCHANGED = "throttles as they are"


def trim_name(answer: Answer) -> str:
    """Which throttles to close, by how much back pressure."""
    closing = [
        (w.plain(label), pressure)
        for label, pressure in zip(answer.before.case.labels, answer.back_pressure, strict=True)
        if abs(pressure) > 0.005 * BAR
    ]
    if not closing:
        return _UNCHANGED
    text = ", ".join(
        f"{label} {'+' if p > 0 else ''}{u.digits(p / BAR, 2)}" for label, p in closing
    )
    psi = ", ".join(
        f"{'+' if p > 0 else ''}{u.digits(u.convert(p, u.PRESSURE, 'psi'), 2)}" for _, p in closing
    )
    return f"throttle {text} bar ({psi} psi)"


def remedy_name(remedy: _core.Remedy, labels: tuple[str, str]) -> str:
    """Say what to do, by how much."""
    resin, hardener = (w.plain(label) for label in labels)
    amount = remedy.amount
    place = w.plain(remedy.place)
    return {
        "preload": f"preload for {u.digits(amount, 2)} s",
        "hold": "hold the drive on between shots",
        "delay_resin": f"open {resin} {u.digits(amount * 1e3, 2)} ms later",
        "delay_hardener": f"open {hardener} {u.digits(amount * 1e3, 2)} ms later",
        "degas_resin": f"degas {resin} to {w.percent(amount)}",
        "degas_hardener": f"degas {hardener} to {w.percent(amount)}",
        "bleed_pocket": f"bleed {w.volume(amount)} of air at {place}",
        "heat_resin": f"warm the {resin} {place} {w.kelvin_shift(amount)}",
        "purge": f"purge the first {w.ml(amount)} mL (cc) to the cup",
        "shorter_hose": f"shorten the {resin} {place} to {w.metres(amount)}",
        "stiffer_hose": f"{resin} {place} of {u.show(amount, u.WALL_EXPANSION, 2)}",
    }[remedy.kind.name]


def _flow_cost(change: float) -> str:
    if abs(change) < 0.005:
        return ""
    return f"{w.percent(abs(change))} {'more' if change > 0 else 'less'} flow"


EFFORTS = {
    "degas_resin": "vacuum",
    "degas_hardener": "vacuum",
    "heat_resin": "heat",
    "bleed_pocket": "minutes",
    "shorter_hose": "new hose",
    "stiffer_hose": "new hose",
}
"""What a kind of remedy takes, in a word."""


def _remedy_cost(remedy: _core.Remedy) -> str:
    costs = [_flow_cost(remedy.flow_change)]
    if remedy.waste > 0.0:
        costs.append("waste")
    if remedy.wait > 0.0:
        costs.append(f"{u.digits(remedy.wait, 2)} s")
    costs.append(EFFORTS.get(remedy.kind.name, ""))
    return ", ".join(filter(None, costs)) or "none"


def actions(result: TrimResult) -> tuple[Action, ...]:
    """Trims and remedies together, cheapest first: by effort, then by what is paid."""
    before = result.before.shot.outlet
    found: list[Action] = []
    for answer in result.answers.values():
        outlet = answer.core.trial.outlet
        if not answer.feasible:
            continue
        action = Action(
            trim_name(answer),
            0,
            outlet.soft_volume,
            outlet.volume,
            before.soft_volume - outlet.soft_volume,
            max(0.0, answer.flow_lost),
            _flow_cost(-answer.flow_lost) or "none",
            answer,
        )
        new = not any(known.name == action.name for known in found)
        if new and action.name != _UNCHANGED:
            found.append(action)
    for remedy in result.remedies:
        outlet, kind = remedy.trial.outlet, remedy.kind.name
        found.append(
            Action(
                remedy_name(remedy, result.case.labels),
                _EFFORT[kind],
                outlet.soft_volume,
                outlet.volume,
                remedy.soft_removed,
                max(0.0, -remedy.flow_change)
                + remedy.waste / shot_volume(result.before.shot)
                + remedy.wait / result.before.shot.duration,
                _remedy_cost(remedy),
                remedy=kind,
                too_fine=kind.startswith("delay") and remedy.amount < VALVE_REPEATS,
            )
        )
    return tuple(sorted(found, key=lambda action: (action.effort, action.share, -action.removed)))


def worthwhile(result: TrimResult) -> tuple[Action, ...]:
    """Actions that remove enough of the soft volume to be listed, and can be set."""
    least = max(WORTH * result.before.shot.outlet.soft_volume, 0.005 * ML)
    return tuple(
        action for action in actions(result) if action.removed >= least and not action.too_fine
    )


def acts(result: TrimResult) -> bool:
    """Whether the throttles are to be turned: asked for alone, or worth listing."""
    answer = result.answer
    if len(result.answers) == 1:
        return answer.feasible
    return any(action.answer is not None for action in worthwhile(result))


def needs_mending(run: Run) -> bool:
    """Whether enough leaves off ratio to matter, by any residence model."""
    return any(
        is_off(zone, shot_volume(run.shot), run.target)
        for zone in (run.shot.outlet, run.shot.outlet_plug, run.shot.outlet_dispersed)
    )


def helps(result: TrimResult) -> bool:
    """Whether the answer is "yes": the asked objective, or with several any way to mend it."""
    if not delivers(result.before):
        return False
    if len(result.answers) == 1:
        return result.answer.feasible
    return bool(worthwhile(result)) or not needs_mending(result.before)


def first_to_do(result: TrimResult) -> Action | None:
    """Give the cheapest action that does nearly as much as the best; None: nothing helps.

    Trapped air is a fault, so bleeding comes before all else. New parts are not where to start.
    To purge every shot is no remedy; a single first shot goes to the cup where nothing else helps.
    For such a shot no shut-off is delayed: the delay would spoil the shots after it.
    """
    single = result.before.classes[-1].name == START_UP
    listed = [action for action in worthwhile(result) if action.effort < 2]
    usual = [
        action
        for action in listed
        if action.remedy != "purge" and not (single and action.remedy.startswith("delay"))
    ]
    bleed = next((action for action in usual if action.remedy == "bleed_pocket"), None)
    best = max((action.removed for action in usual), default=0.0)
    first = bleed or next((a for a in usual if a.removed >= ENOUGH * best), None)
    if first is None and single:
        return next((action for action in listed if action.remedy == "purge"), None)
    return first


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
        yield from _closing(result.case, before.to_dict()["warnings"])
        return
    after = answer.after if acts(result) else None
    yield Section(title, ())
    yield Section(f"1 {_shot_name(before)}", tuple(_verdict_blocks(result)))
    yield Section("2 What to do, cheapest first", tuple(_todo_blocks(result)))
    yield Section("3 Ratio", (_ratio_sentence(before, after),))
    yield Section(
        "4 Pressures" + (" after the trim" if after else ""),
        (_pressure_table(after or before), *over_rating(after or before)),
    )
    at_best = "" if after else ", throttles at their best"
    yield Section(f"5 What moves the answer most{at_best}", tuple(_moves(result)))
    yield Section("6 Proof by catch weights", _catch(before, after))
    warnings = before.to_dict()["warnings"]
    if after:
        warnings += [
            f"trimmed: {text}" for text in after.to_dict()["warnings"] if text not in warnings
        ]
    cautions, *rest = _closing(result.case, warnings)
    yield Section("7 Cautions", cautions.blocks)
    yield from rest


def _verdict_blocks(result: TrimResult) -> Iterator[str]:
    before = result.before
    first = first_to_do(result)
    text = outcome(before)
    if not needs_mending(before):
        text += ": nothing needs mending"
    elif _mostly_offset(before):
        text += "; most of it is not lead"
    elif first is None:
        text += "; no setting and no remedy tried here mends it"
    else:
        text += f"; start with: {first.name}, which leaves {w.left(first.off)} off ratio"
    for sentence in (
        models_disagree(before),
        _worse_by_nulling(result),
        w.sentence(text),
        _offset_sentence(before),
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


def as_html(sections: Sequence[Section], level: int = 4) -> str:
    """Sections as a piece of HTML, everything in them escaped."""
    template = pages.environment().get_template("sections.html.j2")
    return template.render(sections=sections, level=level)


def run_html(run: Run) -> str:
    """Show a run in a notebook's cell."""
    return as_html([s for s in run_sections(run) if s.title not in _NOT_IN_NOTEBOOKS])


def answer_html(answer: Answer) -> str:
    """Show one answer of a trim in a notebook's cell."""
    blocks: tuple[Block, ...] = (answer_verdict(answer),)
    if answer.feasible:
        blocks = (*blocks, gauge_table(answer))
    return as_html([Section(w.plain(answer.before.case.title), blocks)])


def trim_html(result: TrimResult) -> str:
    """Show a trim in a notebook's cell."""
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
        pages.environment()
        .get_template("page.html.j2")
        .render(
            title=w.plain(case.title),
            kind="Trim" if trimmed else "Run",
            source=w.plain(case.source),
            version=w.version(),
            date=datetime.date.today().isoformat(),
            sections=[*([first] if first.blocks else []), *sections[1:]],
            level=2,
            pictures=_pictures(result),
            inputs=[(key, w.plain(str(value))) for key, value in leaves(case.to_dict())],
        )
    )


def write_html(result: Run | TrimResult, path: str | Path) -> None:
    """Write the report page of a run or a trim."""
    Path(path).write_text(page(result), encoding="utf-8")


def picture(result: Run | TrimResult, suffix: str) -> bytes:
    """Overview of a run or a trim as an image: ``png``, ``svg`` or ``pdf``."""
    import matplotlib as mpl

    from evenfront import plot

    data = io.BytesIO()
    with mpl.rc_context({"text.parse_math": False}):  # a label may hold a dollar sign
        figure, _ = plot.overview(result)
        figure.savefig(data, format=suffix, metadata=_NO_DATE.get(suffix, {}))
    return data.getvalue()


_NO_DATE = {"svg": {"Date": None}, "pdf": {"CreationDate": None}}  # same input, same file


def _pictures(result: Run | TrimResult) -> list[Markup]:
    """Overview of a run or a trim as inline SVG; none where nothing is delivered."""
    if not delivers(result.before if isinstance(result, TrimResult) else result):
        return []
    svg = picture(result, "svg").decode()
    return [Markup(svg[svg.index("<svg") :])]  # matplotlib escapes the text it draws


def leaves(node: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Key paths of nested tables with their values, in the order of the file."""
    if isinstance(node, Mapping):
        for key, value in node.items():
            yield from leaves(value, f"{path}.{key}" if path else str(key))
    elif isinstance(node, list) and any(isinstance(item, Mapping) for item in node):
        for i, item in enumerate(node):
            yield from leaves(item, f"{path}[{i}]")
    else:
        yield path, node
