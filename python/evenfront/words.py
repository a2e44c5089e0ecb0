"""Numbers and sentences as people read them: bar and psi, mL and cc, two or three digits."""

from __future__ import annotations

import importlib.metadata
import math

from evenfront import units as u
from evenfront.run import BAR, ML

LEAST_CHANCE = 0.001
"""Probabilities below are not told apart [-]."""
LEAST_DOUBT = 0.01
"""Nothing is told as more certain than this short of 1 [-]."""
LEAST = 5e-4
"""Volumes below are printed as none [mL]."""


def pressure(value: float) -> str:
    """Gauge pressure [Pa] in bar and psi."""
    return u.show(value, u.PRESSURE) if abs(value) > 1e-3 * BAR else "0 bar (psi)"


def volume(value: float) -> str:
    """Volume [m^3] in mL and cc."""
    return u.show(value, u.VOLUME) if abs(value) >= LEAST * ML else "0 mL (cc)"


def left(value: float) -> str:
    """Volume that is left [m^3], or none."""
    return volume(value) if value >= LEAST * ML else "none"


def ml(value: float) -> str:
    """Volume [m^3] as a bare number of mL, where the unit stands beside it."""
    if abs(value) < LEAST * ML:
        return "0"
    return u.digits(value / ML, 3 if abs(value) >= ML else 2)


def percent(share: float, *, sign: bool = False) -> str:
    """Share [-] in percent."""
    text = u.digits(abs(100.0 * share), 2 if abs(share) < 0.995 else 3)
    if text == "0" or abs(share) < 5e-7:
        return "0 %"
    return f"{'-' if share < 0 else '+' if sign else ''}{text} %"


def chance(share: float) -> str:
    """Probability for people: none is so small or so great as to be told apart from 0 or 1."""
    if share > 1.0 - LEAST_DOUBT:
        return f"more than {percent(1.0 - LEAST_DOUBT)}"
    return percent(share) if share >= LEAST_CHANCE else f"below {percent(LEAST_CHANCE)}"


def metres(length: float) -> str:
    """Length [m] in m and ft."""
    return f"{u.digits(length, 2)} m ({u.digits(u.convert(length, u.LENGTH, 'ft'), 2)} ft)"


def gram(mass: float) -> str:
    """Mass [kg] in g."""
    return f"{u.digits(mass * 1e3, 3)} g"


def kelvin_shift(shift: float) -> str:
    """Temperature difference [K] in degC and degF."""
    return f"{shift:+.3g} degC ({1.8 * shift:+.3g} degF)"


def plain(text: str) -> str:
    """Text of a user without characters that would steer a terminal."""
    return "".join(c if c.isprintable() else " " for c in text)


def sentence(text: str) -> str:
    """First letter large, full stop at the end."""
    text = text.strip()
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".!?" else ".")


def ratio(ratio: float, densities: tuple[float, float]) -> str:
    """Ratio, hardener per resin by volume [-], by volume and weight, both ways round."""
    weight = ratio * densities[1] / densities[0]
    volumes, weights = (
        f"100:{u.digits(100 * r, 4)} ({u.digits(1 / r, 4)}:1)" for r in (ratio, weight)
    )
    return f"{volumes} by volume, {weights} by weight"


def bar_psi(value: float) -> str:
    """Gauge pressure for a column of bar (psi)."""
    if math.isnan(value):
        return "-"
    if math.isinf(value):
        return "not given"
    return f"{u.digits(value / BAR)} ({u.digits(u.convert(value, u.PRESSURE, 'psi'))})"


def ordinal(n: int) -> str:
    """Write 1st, 2nd, 3rd ..."""
    ending = {1: "st", 2: "nd", 3: "rd"}.get(n % 10, "th") if n % 100 not in (11, 12, 13) else "th"
    return f"{n}{ending}"


def version() -> str:
    """Version of the installed package."""
    try:
        return importlib.metadata.version("evenfront")
    except importlib.metadata.PackageNotFoundError:  # run from the source tree
        return "not installed"
