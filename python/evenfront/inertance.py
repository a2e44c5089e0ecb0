"""Whether the inertia of the liquid in a line matters to a start.

A line of pieces of length L and area a has the inertance I = sum rho L/a, the laminar resistance
R = sum 128 mu L/(pi D^4) and the compliance C of its liquid and walls. Pushed by a step of
pressure the flow takes I/R to come up; the whole line rings where (R/2) sqrt(C/I), its damping
ratio as one lump, is below 1. Newtonian liquids; source: merritt1967, ch. 2 and 3.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evenfront import _core
from evenfront import units as u
from evenfront.words import plain

if TYPE_CHECKING:
    from evenfront.case import Case

SLOW = 0.2
"""Share of a shut-off's opening time from which I/R matters [-]; ours."""


@dataclass(frozen=True)
class LineInertia:
    """Inertia of the liquid in one line.

    Parameters
    ----------
    time
        I/R, in which flow comes up after a step of pressure [s].
    damping_ratio
        (R/2) sqrt(C/I) [-]; below 1 the line rings.
    """

    time: float
    damping_ratio: float

    def matters(self, open_time: float) -> bool:
        """Whether a shut-off that opens in `open_time` [s] is too quick for the liquid."""
        return self.time > SLOW * open_time


def line_inertia(stream: _core.Stream, pressure: float) -> LineInertia | None:
    """Inertia of a stream's line; None for a liquid that is not Newtonian.

    Parameters
    ----------
    stream
        The stream.
    pressure
        At which liquid and walls give [Pa].

    Returns
    -------
    Time and damping ratio.
    """
    law = stream.rheology
    if law.index != 1.0 or law.yield_stress != 0.0 or law.cross is not None:
        return None
    inertance = resistance = compliance = 0.0
    for piece in stream.line:
        area = math.pi / 4.0 * piece.bore**2
        viscosity = _core.at_temperature(law, piece.temperature).consistency
        density = _core.density(stream.liquid, pressure, piece.temperature)
        inertance += density * piece.length / area
        resistance += 128.0 * viscosity * piece.length / (math.pi * piece.bore**4)
        give = area * _core.compressibility(stream.liquid, pressure) + _wall(piece, pressure)
        compliance += give * piece.length
    return LineInertia(inertance / resistance, 0.5 * resistance * math.sqrt(compliance / inertance))


def _wall(piece: _core.Segment, pressure: float) -> float:
    """Volume the wall gives per pressure and length there [m^3/(Pa m)]."""
    if not piece.expansion_pressures:
        return piece.wall_expansion
    at = np.array([0.0, *piece.expansion_pressures])
    volume = np.array([0.0, *piece.expansion_volumes])
    i = min(max(int(np.searchsorted(at, pressure)), 1), len(at) - 1)
    return float((volume[i] - volume[i - 1]) / (at[i] - at[i - 1]))


def line_inertias(case: Case, steady: _core.Steady) -> dict[str, LineInertia | None]:
    """Inertia of both lines of a case, at the mean of their steady pressures."""
    return {
        name: line_inertia(
            getattr(case.machine, name),
            0.5 * (flow.cylinder_pressure + flow.throttle_pressure),
        )
        for name, flow in (("resin", steady.resin), ("hardener", steady.hardener))
    }


def to_dict(case: Case, steady: _core.Steady) -> dict[str, float | None]:
    """Inertia of both lines, units in the keys; None for a liquid that is not Newtonian."""
    found: dict[str, float | None] = {}
    for name, line in line_inertias(case, steady).items():
        found[f"{name}_inertance_time_ms"] = line.time * 1e3 if line else None
        found[f"{name}_line_damping_ratio"] = line.damping_ratio if line else None
    return found


def sentences(case: Case, steady: _core.Steady) -> Iterator[str]:
    """Say of each Newtonian stream whether its inertia matters to a start."""
    computed = case.resolved.numerics.get("inertia", False)
    for label, (name, line) in zip(case.labels, line_inertias(case, steady).items(), strict=True):
        if line is None:
            continue
        open_time = getattr(case.machine, name).shutoff.open_time
        matters = line.matters(open_time)
        advice = "set numerics.inertia = true" if matters else "numerics.inertia may stay out"
        rings = "" if line.damping_ratio >= 1.0 else " and it rings"
        yield (
            f"{plain(label)}: after a step of pressure the flow takes "
            f"{u.digits(line.time * 1e3, 2)} ms (I/R) to come up, the shut-off opens in "
            f"{u.digits(open_time * 1e3, 2)} ms, the line's damping ratio is "
            f"{u.digits(line.damping_ratio, 2)}{rings}: inertia "
            f"{'matters' if matters else 'does not matter'}, "
            f"{'and is computed' if computed else advice}."
        )
