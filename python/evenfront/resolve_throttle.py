"""A stream's throttle as the core takes it: its range, its gap, its flow coefficient."""

from __future__ import annotations

import math

from evenfront import units as u
from evenfront.notes import Notes, Values, pick
from evenfront.schema import CaseFile
from evenfront.schema_material import Newtonian
from evenfront.schema_stream import Stream
from evenfront.schema_throttle import FlowCoefficientThrottle, NeedleThrottle, ResistanceThrottle
from evenfront.values import Amount

RANGE_SPAN = 2000.0
"""Highest over lowest resistance a trim may choose where the case gives no range."""
GAP_OVER_FILLER = 5.0
"""Least gap of a needle over the filler's top size [-]: common practice, no source."""


def backlash_of(file: CaseFile) -> dict[str, float]:
    """Lost motion of each throttle's stem, in the unit of its setting; only where given."""
    found = {}
    for name in ("resin", "hardener"):
        lost = getattr(getattr(file, name).throttle, "backlash", None)
        if lost is not None:
            found[name] = lost.value if isinstance(lost, Amount) else lost
    return found


def resolve_throttle(name: str, stream: Stream, notes: Notes) -> Values:
    """Fields of a throttle, before or after the shut-off."""
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
