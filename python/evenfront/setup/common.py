"""Cautions and percent, which several answers share."""

from __future__ import annotations

from evenfront import units as u

RELIEVE = (
    "Relieve pressure on both sides before opening anything; pressure stays trapped behind closed "
    "valves. Hoses, fittings and plastic mixers have ratings."
)
FOLLOW = (
    "Follow the safety data sheets, the equipment maker's manual, local codes and licensed "
    "practice; a computed setting is a starting point, to be proved by catch weights."
)
HEATED = (
    "Heating blocked-in liquid raises its pressure: leave one end open to a relieved tank while "
    "heating up. Hot surfaces; hot resin and its vapour irritate and sensitise."
)
ONE_SIDE = (
    "On one shaft relieve the other side to its tank first: with both closed the stiff side takes "
    "nearly all of the force, and the soft side is not tested. The small piston alone may pass a "
    "rating: hold less force."
)


def percent(value: float, figures: int = 3) -> str:
    """Share [-] in percent."""
    return f"{u.digits(100 * value, figures)} %"
