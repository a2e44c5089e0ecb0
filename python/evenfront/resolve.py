"""From a checked case file to the numbers the core takes, with what was assumed on the way.

`resolve` fills defaults that depend on other keys and writes down every assumption and every value
outside its usual range as a sentence. All numbers are SI, pressures gauge, temperatures kelvin;
the dictionaries carry the field names of the core's own structs.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from evenfront import materials
from evenfront import units as u
from evenfront.notes import Notes, Values, given, or_default, pick, with_rating
from evenfront.resolve_drive import (
    axes,
    check_drives,
    check_strokes,
    resolve_axes,
)
from evenfront.resolve_steps import has_refills, resolve_steps
from evenfront.resolve_stream import resolve_stream
from evenfront.resolve_throttle import backlash_of
from evenfront.schema import CaseFile
from evenfront.schema_material import HerschelBulkley, Newtonian
from evenfront.schema_part import Bead, Casting


@dataclass(frozen=True)
class TrimLimits:
    """Limits a trim has to keep.

    Parameters
    ----------
    least_flow
        Least steady flow relative to the case as written [-].
    max_back_pressure
        Most back pressure one throttle may add [Pa]; None: no limit but the ratings.
    """

    least_flow: float
    max_back_pressure: float | None


@dataclass(frozen=True)
class Resolved:
    """Numbers of a case, and the sentences that belong to them."""

    machine: Values
    sequence: Values
    target: Values
    numerics: Values
    part: Bead | Casting | None
    trim: TrimLimits
    backlash: dict[str, float]
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]


def resolve(file: CaseFile) -> tuple[Resolved | None, list[tuple[str, str]]]:
    """Numbers of a case, or None and its problems as pairs of key path and rule."""
    notes = Notes()
    streams = {
        name: resolve_stream(name, getattr(file, name), notes) for name in ("resin", "hardener")
    }
    ratio = _ratio(file, streams, notes)
    machine = {
        **streams,
        **resolve_axes(file, notes),
        "mixer": _mixer(file, streams, ratio, notes),
    }
    sequence = resolve_steps(file, notes)
    _shared_assumptions(file, notes)
    _refill_assumptions(file, notes)
    _check_usual(file, ratio, notes)
    areas = {name: _area(streams[name]) for name in streams}
    check_drives(file, areas, ratio, notes)
    check_strokes(file, areas, ratio, sequence, notes)
    low, high = file.ratio.tolerance
    target = {
        "ratio": ratio,
        "tolerance_high": high,
        "tolerance_low": low,
        "resolve": file.ratio.resolve,
    }
    numerics = _numerics(file, notes)
    if notes.problems:
        return None, notes.problems
    trim = TrimLimits(file.trim.least_flow, file.trim.max_back_pressure)
    return (
        Resolved(
            machine=machine,
            sequence=sequence,
            target=target,
            numerics=numerics,
            part=file.part,
            trim=trim,
            backlash=backlash_of(file),
            assumptions=tuple(notes.assumptions),
            warnings=tuple(notes.warnings),
        ),
        [],
    )


def _numerics(file: CaseFile, notes: Notes) -> Values:
    streams = (file.resin, file.hardener)
    if file.numerics.inertia and not any(isinstance(s.viscosity, Newtonian) for s in streams):
        notes.problems.append(
            (
                "numerics.inertia",
                "is computed for Newtonian liquids only, and neither stream is one: leave it out, "
                "a thick liquid's inertia does not matter",
            )
        )
    return {"rtol": file.numerics.rtol, **given(file.numerics, "inertia")}


def _mixer(file: CaseFile, streams: Values, ratio: float, notes: Notes) -> Values:
    mixer = file.mixer
    last = [streams[name]["line"][-1]["temperature"] for name in ("resin", "hardener")]
    values = pick(mixer, "bore length void_fraction pressure_multiplier blend_viscosity residence")
    values["temperature"] = or_default(
        mixer.temperature, (last[0] + ratio * last[1]) / (1.0 + ratio)
    )
    for name in ("peclet", "tanks"):
        if getattr(mixer, name) is not None:
            values[name] = getattr(mixer, name)
    written = mixer.model_fields_set
    for name, sentence in (
        ("void_fraction", "mixer.void_fraction = 0.8: assumed, +-0.05."),
        ("pressure_multiplier", "mixer.pressure_multiplier = 7: assumed, 5 to 8 is usual."),
    ):
        if name not in written:
            notes.assumptions.append(sentence)
    values |= given(mixer, "doubling_time working_life")
    if mixer.follow_blend or mixer.doubling_time is not None:
        values["follow_blend"] = True
    if mixer.starts == "empty":
        values["starts_full"] = False
    if mixer.tip:
        values["tip"] = pick(mixer.tip, "bore length")
    if mixer.blend_viscosity is None:
        notes.assumptions.append(
            "mixer.blend_viscosity: from both streams by the log rule at "
            f"{u.show(values['temperature'], u.TEMPERATURE)}; a real blend can be off by half."
        )
    if mixer.residence == "plug":
        notes.assumptions.append(
            "mixer.residence = plug: nothing is spread along the mixer; "
            "answers are given for a Peclet number of 100 beside it."
        )
    return with_rating(values, mixer.rating)


def _ratio(file: CaseFile, streams: Values, notes: Notes) -> float:
    """Hardener per resin by liquid volume: by weight times rho_resin/rho_hardener."""
    if file.ratio.hardener_per_resin is not None:
        return file.ratio.hardener_per_resin
    resin, hardener = (streams[name]["liquid"]["density"] for name in ("resin", "hardener"))
    ratio = float(file.ratio.by_weight or 0.0) * resin / hardener
    if file.resin.reference_temperature != file.hardener.reference_temperature:
        notes.warnings.append(
            "ratio.by_weight was turned into volume with densities at two reference temperatures, "
            f"{u.show(file.resin.reference_temperature, u.TEMPERATURE)} and "
            f"{u.show(file.hardener.reference_temperature, u.TEMPERATURE)}."
        )
    return float(ratio)


def _shared_assumptions(file: CaseFile, notes: Notes) -> None:
    say = notes.assumptions.append
    exponents = {file.resin.gas_exponent, file.hardener.gas_exponent}
    if exponents == {1.0}:
        say("Free gas is compressed isothermally (gas_exponent 1; up to 1.4 when fast).")
    say("Gas does not dissolve or come out of solution.")
    zero = [
        path
        for path, value in (
            *((f"{axis.shaft_path}.friction", axis.shaft.friction) for axis in axes(file)),
            ("resin.metering.leak", file.resin.metering.leak),
            ("hardener.metering.leak", file.hardener.metering.leak),
        )
        if value == 0
    ]
    if zero:
        say(f"{', '.join(zero)} = 0: not taken into account.")
    if file.run.start is None:
        say("The run starts from rest: no pressure anywhere, no drive force.")
    elif file.run.start == "periodic":
        say("The run starts as its round of steps ends when repeated for long.")
        if not any(step.refill for step in file.run.steps):
            places = [u.written(axis.shaft.position, u.LENGTH) for axis in axes(file)]
            what = "the shaft is" if len(places) == 1 else "the shafts are"
            say(
                f"run.start = periodic without a refill step: {what} put back to "
                f"{' and '.join(places)} before every round, pressures kept."
            )
    else:
        say("The drive force starts in balance with the pressures given in run.start.")
    if file.mixer.starts == "full":
        say("The mixer starts full of blend at the asked ratio.")
    else:
        say("The mixer starts empty and resists by the share of it that is filled.")
    silicone = file.resin.material_class == "filled silicone"
    if silicone:
        notes.warnings.append("Heating hardly thins a filled silicone: look for other remedies.")


def _refill_assumptions(file: CaseFile, notes: Notes) -> None:
    """Say how a refill goes, and what was assumed of it."""
    refills = [step.refill for step in file.run.steps if step.refill is not None]
    if not has_refills(file):
        return
    taken = {r.time for r in refills}
    taken |= {s.through_refill for s in file.run.steps if s.through_refill is not None}
    times = " or ".join(u.written(time, u.TIME) for time in sorted(taken))
    notes.assumptions.append(
        f"A refill draws the shaft back to its start at an even speed, in {times}, shut-offs "
        "shut; the fill valves open before and shut after it, the shaft at rest. A stream below "
        "-0.9 bar (-13.1 psi), or its vapour pressure, is reported as starved."
    )
    if any("time" not in refill.model_fields_set for refill in refills):
        notes.assumptions.append("run.steps: a refill takes 3 s where no time is given: assumed.")
    for name in ("resin", "hardener"):
        feed = getattr(file, name).feed
        if feed and "valve_time" not in feed.model_fields_set:
            notes.assumptions.append(
                f"{name}.feed.valve_time = 0 s: assumed; fill valves turn in 0.3 to 1 s."
            )


def _walk(node: Any, parts: list[str], path: str = "") -> Iterator[tuple[str, Any]]:
    """Values at a path whose "*" stands for every index, with their full paths."""
    if not parts:
        if node is not None:
            yield path, node
    elif parts[0] == "*":
        for i, item in enumerate(node):
            yield from _walk(item, parts[1:], f"{path}[{i}]")
    elif hasattr(node, parts[0]):
        dotted = f"{path}.{parts[0]}" if path else parts[0]
        yield from _walk(getattr(node, parts[0]), parts[1:], dotted)


def _check_usual(file: CaseFile, ratio: float, notes: Notes) -> None:
    """Warn of values outside their usual range."""
    # A hair of room, so that "12 mm" against a bound of "12 mm" is not a question of round-off.
    room = 1e-9
    for usual in materials.USUAL:
        lowest = u.si(usual.low, usual.kind) if usual.low else -math.inf
        highest = u.si(usual.high, usual.kind) if usual.high else math.inf
        for path, value in _walk(file, usual.path.split(".")):
            if value < lowest * (1 - room) or value > highest * (1 + room):
                notes.outside(path, u.show(value, usual.kind), usual.low, usual.high)
    for number in materials.USUAL_NUMBERS:
        for path, value in _walk(file, number[0].split(".")):
            if not number[1] <= value <= number[2]:
                notes.outside(path, f"{value:g}", f"{number[1]:g}", f"{number[2]:g}")
    if file.ratio.by_weight is not None and not 0.05 <= ratio <= 0.5:
        notes.outside("ratio by volume", f"{u.digits(ratio)}", "0.05", "0.5")
    if isinstance(file.resin.viscosity, HerschelBulkley) and file.resin.viscosity.index < 0.3:
        notes.warnings.append(
            "resin.viscosity.index is below 0.3: check that the yield stress is not counted twice."
        )


def _area(stream: Values) -> float:
    return math.pi / 4.0 * float(stream["cylinder"]["bore"]) ** 2
