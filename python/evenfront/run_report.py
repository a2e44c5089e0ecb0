"""Screen of a run, as sections of sentences and tables, with the parts a trim's screen shares."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from evenfront import behaviour
from evenfront import units as u
from evenfront import words as w
from evenfront.layout import Items, Section, Table
from evenfront.run import Run

if TYPE_CHECKING:
    from evenfront.case import Case
from evenfront.catch_words import catch_proof
from evenfront.shot_words import (
    ahead,
    class_name,
    delivers,
    models_disagree,
    offset_sentence,
    outcome,
    shot_name,
    shot_volume,
    verdict,
    worst_class,
)

CAUTIONS = (
    "Pressurised hot reactive liquids: relieve pressure before opening anything; closed valves "
    "trap it, and heating blocked-in liquid raises it, 1 to 2 bar per degC (8 to 16 psi per degF) "
    "in braided hose, more in steel. Hoses, fittings and plastic mixers have ratings. Hot "
    "surfaces; skin and respiratory sensitisers; heat of reaction in bulk. Follow the safety data "
    "sheets, the equipment maker's manual, local codes and licensed practice. A computed setting "
    "is a starting point, to be proved by catch weights."
)


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
                        f"{shot_name(run)}; {class_name(run, run.classes[-1].name)}.",
                        w.sentence(f"{outcome(run)}; {ahead(run)}"),
                        offset_sentence(run),
                        worst_class(run),
                    ),
                )
            ),
        )
        yield Section("Measures of the shot", (_measures_table(run),))
        if len(run.measures.shots) > 1:
            yield Section("Every shot", (_shots_table(run),))
            yield Section("Classes of shots, the softest of each", (_class_table(run),))
        yield Section("Ratio", (ratio_sentence(run, None),))
        yield Section("Pressures", (pressure_table(run),))
        yield from behaviour.sections(run)
        yield Section("Proof by catch weights", catch_proof(run, None))
    yield from closing(run.case, run.to_dict()["warnings"])


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
                class_name(run, name),
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


def ratio_sentence(run: Run, after: Run | None) -> str:
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


def pressure_table(run: Run) -> Table:
    """Tabulate the pressures of a run beside their ratings."""
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


def closing(case: Case, warnings: Sequence[str]) -> Iterator[Section]:
    """Cautions, then what was assumed and what is unusual."""
    yield Section("Cautions", (CAUTIONS,))
    said = [w.plain(text).rstrip(".") + "." for text in (*case.warnings, *warnings)]
    if said:
        yield Section("Warnings", (Items(tuple(said)),))
    if case.assumptions:
        yield Section("Assumed", (Items(tuple(w.plain(text) for text in case.assumptions)),))
