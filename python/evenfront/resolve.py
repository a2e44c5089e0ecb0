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
from evenfront.notes import Notes, Values, given, pick
from evenfront.resolve_drive import (
    AxisKeys,
    axes,
    check_drives,
    check_strokes,
    resolve_axes,
)
from evenfront.schema import (
    CaseFile,
    CrossLaw,
    Feed,
    FlowCoefficientThrottle,
    HerschelBulkley,
    NeedleThrottle,
    Newtonian,
    PowerLaw,
    ResistanceThrottle,
    Segment,
    Shutoff,
    Stream,
)
from evenfront.schema_part import Bead, Casting
from evenfront.values import Amount

CELLS_PER_LINE = 16
RANGE_SPAN = 2000.0
"""Highest over lowest resistance a trim may choose where the case gives no range."""
LEAST_FREE_GAS = 1e-6


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
    streams = {name: _stream(name, getattr(file, name), notes) for name in ("resin", "hardener")}
    ratio = _ratio(file, streams, notes)
    machine = {
        **streams,
        **resolve_axes(file, notes),
        "mixer": _mixer(file, streams, ratio, notes),
    }
    sequence = _sequence(file, notes)
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
            backlash=_backlash(file),
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


def _with_rating(values: Values, rating: float | None) -> Values:
    return values if rating is None else {**values, "rating": rating}


def _or(value: float | None, default: float) -> float:
    return default if value is None else value


# --- streams ---------------------------------------------------------------------------------


def _stream(name: str, stream: Stream, notes: Notes) -> Values:
    metering = stream.metering
    cylinder = {
        **pick(metering, "bore leak pocket"),
        **given(metering, "lash"),
        "temperature": _or(metering.temperature, stream.reference_temperature),
    }
    density, thicker = _filled(name, stream, notes)
    rheology = _rheology(name, stream, notes)
    rheology["consistency"] *= thicker
    return {
        "liquid": _liquid(name, stream, density, notes),
        "rheology": rheology,
        "cylinder": _with_rating(cylinder, metering.rating),
        "line": _line(name, stream.line, cylinder["temperature"], notes),
        "throttle": _throttle(name, stream, notes),
        "shutoff": _shutoff(name, stream.shutoff, notes),
        "feed": _feed(name, stream.feed, cylinder["temperature"], notes),
    }


CHECK_VALVE_OPENS = 0.3e5
"""Pressure that opens a check valve [Pa]: common practice, 0.1 to 0.7 bar, no source."""


def _shutoff(name: str, shutoff: Shutoff, notes: Notes) -> Values:
    values = {
        **pick(shutoff, "resistance open_time delay close_delay exponent"),
        "close_time": _or(shutoff.close_time, shutoff.open_time),
        **given(shutoff, "stem_volume suck_back"),
    }
    if shutoff.passage_volume > 0:
        values |= {"passage": shutoff.passage_volume, "passage_full": shutoff.passage_full}
    if shutoff.check_valve:
        values["check_valve"] = _or(shutoff.opening_pressure, CHECK_VALVE_OPENS)
        if shutoff.opening_pressure is None:
            notes.assumptions.append(
                f"{name}.shutoff.opening_pressure = {u.show(CHECK_VALVE_OPENS, u.PRESSURE)}: "
                "assumed; check valves open at 0.1 to 0.7 bar."
            )
        if shutoff.suck_back > 0:
            notes.warnings.append(
                f"{name}.shutoff.suck_back has no effect: the check valve lets nothing be drawn "
                "back."
            )
    elif shutoff.suck_back > shutoff.passage_volume:
        notes.warnings.append(
            f"{name}.shutoff.suck_back, {u.show(shutoff.suck_back, u.VOLUME)}, is more than the "
            f"passage holds, {u.show(shutoff.passage_volume, u.VOLUME)}: it draws blend back past "
            "the mixing point, where it gels."
        )
    return values


def _feed(name: str, feed: Feed | None, temperature: float, notes: Notes) -> Values | None:
    if feed is None:
        return None
    values = {
        **pick(feed, "tank_pressure bore length valve_time"),
        "temperature": _or(feed.temperature, temperature),
    }
    if feed.vapour_pressure is not None:
        values["vapour_pressure"] = feed.vapour_pressure - u.STANDARD_PRESSURE
        if not values["vapour_pressure"] < feed.tank_pressure:
            notes.problems.append(
                (
                    f"{name}.feed.vapour_pressure",
                    "must be below the tank's pressure, or the liquid boils there",
                )
            )
    return values


def _class_value(path: str, stream: Stream, name: str, notes: Notes, per: float = 1.0) -> float:
    """Typical value of the stream's class divided by `per`, noted; 0 where the class has none."""
    typical = materials.typical(stream.material_class, name)
    if typical is None:
        return 0.0
    kind = {
        "activation_energy": u.MOLAR_ENERGY,
        "bulk_modulus": u.STRESS,
        "thermal_expansion": u.EXPANSION,
    }[name]
    unit = "GPa" if kind is u.STRESS else kind.shown[0]

    def text(value: float) -> str:
        return u.digits(u.convert(value / per, kind, unit))

    spread = "spread not known" if typical.spread is None else f"+-{text(typical.spread)} {unit}"
    divided = f" (at fixed shear rate, divided by the index {u.digits(per)})" if per != 1 else ""
    notes.assumptions.append(
        f'{path} = {text(typical.value)} {unit}: assumed for class "{stream.material_class}", '
        f"{spread}{divided}."
    )
    return typical.value / per


def _temperatures(stream: Stream) -> set[float]:
    """Temperatures of the stream's cylinder and line, flowing and idle [K]."""
    metering = _or(stream.metering.temperature, stream.reference_temperature)
    idle = {p.idle_temperature for p in stream.line if p.idle_temperature is not None}
    return {metering, *(_or(piece.temperature, metering) for piece in stream.line), *idle}


def _filled(name: str, stream: Stream, notes: Notes) -> tuple[float, float]:
    """Density [kg/m^3], and viscosity over that without filler [-] (Krieger and Dougherty)."""
    filler = stream.filler
    if filler is None:
        return stream.density, 1.0
    from evenfront import _core

    fraction = filler.volume_fraction
    if fraction is None:
        weight = float(filler.weight_fraction or 0.0)
        fraction = _core.filler_fraction(weight, filler.density, stream.density)
    if not fraction < filler.max_packing:
        key = "weight_fraction" if filler.volume_fraction is None else "volume_fraction"
        notes.problems.append(
            (
                f"{name}.filler.{key}",
                f"is {u.digits(100 * fraction)} % by volume, must be below max_packing, "
                f"{u.digits(100 * filler.max_packing)} %",
            )
        )
        return stream.density, 1.0
    density = (1.0 - fraction) * stream.density + fraction * filler.density
    thicker = _core.filled_viscosity(fraction, filler.max_packing, filler.intrinsic_viscosity)
    notes.assumptions.append(
        f"{name}.filler: {u.digits(100 * fraction)} % by volume makes "
        f"{u.show(density, u.DENSITY)} and {u.digits(thicker)} times the viscosity at every shear "
        "rate; yield_stress, bulk_modulus and thermal_expansion are taken as those of the filled "
        "liquid."
    )
    return density, thicker


def _liquid(name: str, stream: Stream, density: float, notes: Notes) -> Values:
    bulk_modulus = stream.bulk_modulus
    if bulk_modulus is None:
        bulk_modulus = _class_value(f"{name}.bulk_modulus", stream, "bulk_modulus", notes)
    expansion = stream.thermal_expansion
    if expansion is None:
        expansion = _class_value(f"{name}.thermal_expansion", stream, "thermal_expansion", notes)
        if expansion == 0 and _temperatures(stream) != {stream.reference_temperature}:
            notes.assumptions.append(
                f"{name}.thermal_expansion = 0: assumed, so heating does not change the density; "
                "3e-4 to 10e-4 1/K is usual, 1 to 4 % over 40 K."
            )
    if stream.free_gas < LEAST_FREE_GAS:
        notes.assumptions.append(
            f"{name}.free_gas = 1 ppm: the least that is computed; real liquids hold more."
        )
    return {
        "density": density,
        **pick(stream, "reference_temperature gas_exponent"),
        "bulk_modulus": bulk_modulus,
        "thermal_expansion": expansion,
        "free_gas": max(stream.free_gas, LEAST_FREE_GAS),
    }


def _rheology(name: str, stream: Stream, notes: Notes) -> Values:
    """Consistency k = (viscosity - yield_stress/shear_rate) shear_rate^(1-n), n, yield stress."""
    law = stream.viscosity
    index, consistency = 1.0, law.viscosity
    yield_stress = getattr(law, "yield_stress", 0.0)
    if isinstance(law, PowerLaw):  # Herschel-Bulkley too
        index = law.index
        plastic = law.viscosity - yield_stress / law.shear_rate
        consistency = plastic * law.shear_rate ** (1.0 - index)
    reference = _or(law.reference_temperature, stream.reference_temperature)
    cross: Values = {}
    if isinstance(law, CrossLaw):
        ratio = law.high_shear_viscosity / law.viscosity
        cross = {"cross": {**pick(law, "time_constant exponent"), "plateau_ratio": ratio}}
    return {
        "consistency": consistency,
        "index": index,
        "yield_stress": yield_stress,
        "reference_temperature": reference,
        **cross,
        **_temperature_law(name, stream, index, reference, notes),
    }


POLE_DISTANCE = 10.0
"""Least distance of any temperature from that of infinite viscosity [K]: common practice."""


def _temperature_law(
    name: str, stream: Stream, index: float, reference: float, notes: Notes
) -> Values:
    """Give the law of the temperature shift a_T in the core's fields."""
    law = stream.viscosity
    path = f"{name}.viscosity"
    used = {reference, *_temperatures(stream)}
    if law.vogel or law.wlf:
        if law.vogel:
            key, slope, pole = "vogel.T0", law.vogel.B, law.vogel.T0
        else:
            assert law.wlf is not None
            # The same law: B = ln(10) C1 C2, T0 = T_r - C2.
            slope = math.log(10.0) * law.wlf.C1 * law.wlf.C2
            key, pole = "wlf.C2", _or(law.wlf.reference_temperature, reference) - law.wlf.C2
        if pole < 0 or min(used) < pole + POLE_DISTANCE:
            notes.problems.append(
                (
                    f"{path}.{key}",
                    f"puts infinite viscosity at {pole:.5g} K, must be {POLE_DISTANCE:g} K or more "
                    f"below every temperature of this stream, {min(used):.5g} K and above",
                )
            )
        return {"vogel": {"slope": slope, "pole": pole}}
    if law.table:
        temperatures, viscosities = zip(*law.table, strict=True)
        outside = [t for t in sorted(used) if not temperatures[0] <= t <= temperatures[-1]]
        if outside:
            notes.warnings.append(
                f"{path}.table covers {u.show(temperatures[0], u.TEMPERATURE)} to "
                f"{u.show(temperatures[-1], u.TEMPERATURE)}; at "
                f"{', '.join(u.show(t, u.TEMPERATURE) for t in outside)} the viscosity is drawn on "
                "with the slope of the table's end."
            )
        return {"table": {"temperature": list(temperatures), "viscosity": list(viscosities)}}
    energy = law.activation_energy
    if energy is None:
        path += ".activation_energy"
        energy = _class_value(path, stream, "activation_energy", notes, per=index)
        if energy == 0 and _temperatures(stream) != {reference}:
            notes.assumptions.append(
                f"{path} = 0: assumed, so the viscosity is the same at every temperature."
            )
    return {"activation_energy": energy}


def _line(name: str, pieces: list[Segment], temperature: float, notes: Notes) -> list[Values]:
    total = sum(piece.length for piece in pieces)
    values, start = [], 0.0
    for piece in pieces:
        # Rounding the ends instead of each share keeps the sum at 16.
        ends = [round(CELLS_PER_LINE * x / total) for x in (start, start + piece.length)]
        start += piece.length
        expansion = piece.wall_expansion.value
        if piece.expansion_pressure is not None:
            expansion /= piece.expansion_pressure
        value = {
            **pick(piece, "name bore length pocket"),
            "temperature": _or(piece.temperature, temperature),
            "wall_expansion": expansion * piece.hot_factor,
            "cells": piece.cells or max(1, ends[1] - ends[0]),
            **given(piece, "idle_temperature idle_time"),
        }
        if piece.expansion:
            pressures, volumes = zip(*piece.expansion, strict=True)
            value["expansion_pressures"] = list(pressures)
            value["expansion_volumes"] = [volume * piece.hot_factor for volume in volumes]
        values.append(_with_rating(value, piece.rating))
    _hot_walls(name, pieces, values, notes)
    if not any(value["wall_expansion"] or "expansion_volumes" in value for value in values):
        notes.assumptions.append(
            f"{name}.line: walls taken as rigid (wall_expansion 0); braided hose gives "
            "0.003 to 0.09 mL/bar/m."
        )
    return values


WARM = 313.15
"""Temperature from which hoses give noticeably more than stated [K]: common practice, no source."""


def _hot_walls(name: str, pieces: list[Segment], values: list[Values], notes: Notes) -> None:
    """Say where a hose's expansion was taken as stated though it is hot."""
    hot = [
        piece.name
        for piece, value in zip(pieces, values, strict=True)
        if (value["wall_expansion"] or piece.expansion)
        and value["temperature"] > WARM
        and "hot_factor" not in piece.model_fields_set
    ]
    if hot:
        notes.assumptions.append(
            f"{name}.line, {', '.join(hot)}: hot_factor 1 assumed; where the maker states the "
            "expansion at 23 degC, 1.3 to 1.6 times it is usual at 60 degC."
        )


GAP_OVER_FILLER = 5.0
"""Least gap of a needle over the filler's top size [-]: common practice, no source."""


def _backlash(file: CaseFile) -> dict[str, float]:
    """Lost motion of each throttle's stem, in the unit of its setting; only where given."""
    found = {}
    for name in ("resin", "hardener"):
        lost = getattr(getattr(file, name).throttle, "backlash", None)
        if lost is not None:
            found[name] = lost.value if isinstance(lost, Amount) else lost
    return found


def _throttle(name: str, stream: Stream, notes: Notes) -> Values:
    throttle = stream.throttle
    values: Values = {
        "kind": throttle.kind,
        "before_shutoff": throttle.position == "before",
        "volume_between": throttle.volume_between,
    }
    if isinstance(throttle, ResistanceThrottle):
        kind, setting = u.RESISTANCE, throttle.resistance
        default = (setting, setting * RANGE_SPAN)
        values["resistance"] = setting
        if throttle.seat_bore is not None:
            values["seat_bore"] = throttle.seat_bore
        elif isinstance(stream.viscosity, Newtonian):
            notes.assumptions.append(
                f"{name}.throttle: a loss in proportion to flow, which holds below a Reynolds "
                "number of about 20 in the gap; not checked, that needs throttle.seat_bore."
            )
    elif isinstance(throttle, FlowCoefficientThrottle):
        return {**values, **_valve(name, throttle, notes)}
    else:
        kind, setting = u.TURNS, throttle.turns
        # A slit's resistance goes with the gap to the power -3: the same span of resistance.
        default = (setting / math.cbrt(RANGE_SPAN), setting)
        values |= pick(
            throttle, "turns pitch half_angle seat_bore land_length discharge_coefficient"
        )
        _check_gap(name, stream, throttle, notes)
    lowest, highest = throttle.range or default
    if throttle.range is None:
        low, high = (u.show(end, kind).split(" (")[0] for end in default)
        notes.assumptions.append(
            f"{name}.throttle.range = {low} to {high}: assumed, from the case's setting to "
            "2,000 times its resistance."
        )
    return {**values, "lowest": lowest, "highest": highest}


def _check_gap(name: str, stream: Stream, needle: NeedleThrottle, notes: Notes) -> None:
    """Warn of a gap that filler particles would block, at the case's setting and in its range."""
    if stream.filler_top_size is None:
        return
    least = GAP_OVER_FILLER * stream.filler_top_size
    per_turn = needle.pitch * math.sin(needle.half_angle)
    lowest = min(needle.range or (needle.turns,))
    if lowest * per_turn < least:
        notes.warnings.append(
            f"{name}.throttle: at {u.show(lowest, u.TURNS)} the needle's gap is "
            f"{u.show(lowest * per_turn, u.LENGTH)}, below five times the filler's top size, "
            f"{u.show(least, u.LENGTH)}: it may block; stay above "
            f"{u.show(least / per_turn, u.TURNS)}."
        )


def _valve(name: str, throttle: FlowCoefficientThrottle, notes: Notes) -> Values:
    """Give the core's fields of a throttle known by its flow coefficient."""
    unit = u.CV if throttle.kv is None else u.KV
    kind = throttle.opening.kind
    valve: Values = {"recovery": throttle.FL, "style_modifier": throttle.Fd}
    given = throttle.kv if throttle.kv is not None else throttle.cv
    if isinstance(given, tuple):
        openings = [opening.value for opening, _ in given]
        valve |= {"openings": openings, "coefficients": [unit * number for _, number in given]}
        ends = (openings[0], openings[-1])
        full_turns = ends[1] if kind is u.TURNS else 0.0
    else:
        assert given is not None
        full_turns = throttle.full_turns or 0.0
        valve |= {
            "characteristic": throttle.characteristic,
            "rated": unit * given,
            "rangeability": throttle.rangeability,
        }
        ends = (0.0, full_turns or 1.0)
    for key in ("FL", "Fd"):
        if key not in throttle.model_fields_set:
            notes.assumptions.append(
                f"{name}.throttle.{key} = {getattr(throttle, key):g}: assumed, of a globe valve; "
                "the maker states it."
            )
    if throttle.range is None:
        lowest, highest = ends[0], throttle.opening.value
        low, high = (u.show(end, kind) for end in (lowest, highest))
        notes.assumptions.append(
            f"{name}.throttle.range = {low} to {high}: assumed, from the least opening whose "
            "coefficient is known to the case's setting."
        )
    else:
        lowest, highest = (min(max(end.value, ends[0]), ends[1]) for end in throttle.range)
    return {
        "seat_bore": throttle.seat_bore,
        "opening": min(max(throttle.opening.value, ends[0]), ends[1]),
        "valve": {**valve, "full_turns": full_turns},
        "lowest": lowest,
        "highest": highest,
    }


# --- mixer, ratio, sequence ------------------------------------------------------------------


def _mixer(file: CaseFile, streams: Values, ratio: float, notes: Notes) -> Values:
    mixer = file.mixer
    last = [streams[name]["line"][-1]["temperature"] for name in ("resin", "hardener")]
    values = pick(mixer, "bore length void_fraction pressure_multiplier blend_viscosity residence")
    values["temperature"] = _or(mixer.temperature, (last[0] + ratio * last[1]) / (1.0 + ratio))
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
    return _with_rating(values, mixer.rating)


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


def _sequence(file: CaseFile, notes: Notes) -> Values:
    steps: list[Values] = []
    for i, step in enumerate(file.run.steps):
        if step.dwell is not None:
            steps.append({"kind": "dwell", "amount": step.dwell})
        elif step.dispense is not None:
            shot = _dispense(i, step.dispense, axes(file)[0], notes)
            if step.through_refill is not None:
                shot["refill_time"] = step.through_refill
            steps.append(shot)
        elif step.preload is not None:
            what = "time" if step.preload.kind is u.TIME else "pressure"
            steps.append({"kind": f"preload_{what}", "amount": step.preload.value})
        elif step.refill is not None:
            steps.append({"kind": "refill", "amount": step.refill.time})
        elif step.purge is not None:
            steps.append({"kind": "purge", "amount": step.purge})
    for name in ("resin", "hardener"):
        if _refills(file) and getattr(file, name).feed is None:
            notes.problems.append(
                (
                    f"{name}.feed",
                    "is missing: a refill step needs it, for example "
                    '{ tank_pressure = "4 bar", bore = "25 mm", length = "2 m" }',
                )
            )
    if not any(step["kind"].startswith("dispense") for step in steps):
        notes.problems.append(("run.steps", "needs at least one dispense step"))
    _filled_once(file, notes)
    start = _start(file)
    return {
        "steps": steps,
        "repeat": file.run.repeat,
        "start": {
            f"{stream}_{place}": start[stream][i]
            for stream in ("resin", "hardener")
            for i, place in enumerate(("cylinder", "line"))
        }
        | {"periodic": file.run.start == "periodic"},
    }


def _filled_once(file: CaseFile, notes: Notes) -> None:
    """Refuse what starts empty in a run that starts as it ends."""
    if file.run.start != "periodic":
        return
    empty = [
        f"{name}.shutoff.passage_full"
        for name in ("resin", "hardener")
        if not getattr(file, name).shutoff.passage_full
    ]
    empty += ["mixer.starts"] if file.mixer.starts == "empty" else []
    notes.problems += [
        (path, 'does not go with run.start = "periodic": what was filled once stays full')
        for path in empty
    ]


def _start(file: CaseFile) -> dict[str, tuple[float, float]]:
    """Pressures before the first step; those from which a periodic start is searched."""
    if isinstance(file.run.start, dict):
        return file.run.start
    streams = {"resin": file.resin, "hardener": file.hardener}
    filled = file.run.start == "periodic" and _refills(file)
    tanks = {
        name: stream.feed.tank_pressure if filled and stream.feed else 0.0
        for name, stream in streams.items()
    }
    return {name: (tank, tank) for name, tank in tanks.items()}


def _refills(file: CaseFile) -> bool:
    return any(step.refill or step.through_refill for step in file.run.steps)


def _dispense(i: int, amount: Amount, axis: AxisKeys, notes: Notes) -> Values:
    if amount.kind is u.TIME:
        return {"kind": "dispense_time", "amount": amount.value}
    if amount.kind is u.VOLUME:
        return {"kind": "dispense_volume", "amount": amount.value}
    if axis.shaft.encoder is None:
        notes.problems.append(
            (
                f"run.steps[{i}].dispense",
                f'counts need {axis.shaft_path}.encoder as well, for example encoder = "1200 1/in"',
            )
        )
    return {"kind": "dispense_travel", "amount": amount.value / (axis.shaft.encoder or 1.0)}


# --- sentences -------------------------------------------------------------------------------


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
    if not _refills(file):
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
