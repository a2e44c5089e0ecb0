"""A stream as the core takes it: cylinder, line, throttle, shut-off and feed."""

from __future__ import annotations

from evenfront import units as u
from evenfront.notes import Notes, Values, given, or_default, pick, with_rating
from evenfront.resolve_material import resolve_liquid, resolve_rheology, with_filler
from evenfront.resolve_throttle import resolve_throttle
from evenfront.schema_stream import Feed, Segment, Shutoff, Stream

CELLS_PER_LINE = 16


def resolve_stream(name: str, stream: Stream, notes: Notes) -> Values:
    """Fields of a stream."""
    metering = stream.metering
    cylinder = {
        **pick(metering, "bore leak pocket"),
        **given(metering, "lash"),
        "temperature": or_default(metering.temperature, stream.reference_temperature),
    }
    density, thicker = with_filler(name, stream, notes)
    rheology = resolve_rheology(name, stream, notes)
    rheology["consistency"] *= thicker
    return {
        "liquid": resolve_liquid(name, stream, density, notes),
        "rheology": rheology,
        "cylinder": with_rating(cylinder, metering.rating),
        "line": _line(name, stream.line, cylinder["temperature"], notes),
        "throttle": resolve_throttle(name, stream, notes),
        "shutoff": _shutoff(name, stream.shutoff, notes),
        "feed": _feed(name, stream.feed, cylinder["temperature"], notes),
    }


CHECK_VALVE_OPENS = 0.3e5
"""Pressure that opens a check valve [Pa]: common practice, 0.1 to 0.7 bar, no source."""


def _shutoff(name: str, shutoff: Shutoff, notes: Notes) -> Values:
    values = {
        **pick(shutoff, "resistance open_time delay close_delay exponent"),
        "close_time": or_default(shutoff.close_time, shutoff.open_time),
        **given(shutoff, "stem_volume suck_back"),
    }
    if shutoff.passage_volume > 0:
        values |= {"passage": shutoff.passage_volume, "passage_full": shutoff.passage_full}
    if shutoff.check_valve:
        values["check_valve"] = or_default(shutoff.opening_pressure, CHECK_VALVE_OPENS)
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
        "temperature": or_default(feed.temperature, temperature),
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
            "temperature": or_default(piece.temperature, temperature),
            "wall_expansion": expansion * piece.hot_factor,
            "cells": piece.cells or max(1, ends[1] - ends[0]),
            **given(piece, "idle_temperature idle_time"),
        }
        if piece.expansion:
            pressures, volumes = zip(*piece.expansion, strict=True)
            value["expansion_pressures"] = list(pressures)
            value["expansion_volumes"] = [volume * piece.hot_factor for volume in volumes]
        values.append(with_rating(value, piece.rating))
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
