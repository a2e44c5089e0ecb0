"""What the free gas of a liquid does, and the vacuum that takes it out."""

from __future__ import annotations

import math

from evenfront import _core as core
from evenfront import units as u
from evenfront.finding import Finding, values_of
from evenfront.setup.common import FOLLOW, RELIEVE, percent


def gas(
    liquid: core.Liquid,
    *,
    tank_pressure: float,
    working_pressure: float,
    cylinder_volume: float,
    cylinder_bore: float,
    side: str = "resin",
    wanted: float | None = None,
    share_under_vacuum: float = 0.1,
    tolerance: float = 0.05,
) -> Finding:
    """Say what a liquid's free gas does, and the vacuum that takes it out.

    Parameters
    ----------
    liquid
        The liquid, with its free gas.
    tank_pressure, working_pressure
        At which the cylinder fills and delivers, gauge [Pa].
    cylinder_volume
        Of the full cylinder [m^3]; it counts after a refill, not the shot.
    cylinder_bore
        [m].
    side
        ``"resin"`` or ``"hardener"``; the other is taken to give nothing.
    wanted
        Free gas that may stay [-], for the vacuum needed.
    share_under_vacuum
        Of the volume that is still gas when vacuum is broken [-].
    tolerance
        Ratio error the material tolerates [-].

    Returns
    -------
    Finding; no good if the refill error is above the tolerance.
    """
    squeezed = core.compression(liquid, tank_pressure, working_pressure)
    if side not in ("resin", "hardener"):
        raise ValueError(f'side = "{side}", must be "resin" or "hardener"')
    error = core.refill_ratio_error(*((squeezed, 0.0) if side == "resin" else (0.0, squeezed)))
    motion = squeezed * cylinder_volume / (math.pi / 4 * cylinder_bore**2)
    values = {
        "free_gas": ("free gas at atmosphere", liquid.free_gas, u.FRACTION),
        "gas_under_pressure": (
            "of the volume at work",
            core.gas_share(liquid, working_pressure),
            u.FRACTION,
        ),
        "tangent_modulus": (
            "stiffness at work",
            1.0 / core.compressibility(liquid, working_pressure),
            u.MODULUS,
        ),
        "lost_volume": ("given way per refill", squeezed * cylinder_volume, u.VOLUME),
        "lost_motion": ("lost motion", motion, u.LENGTH),
        "refill_error": ("ratio error of a refill", error, u.FRACTION),
    }
    if wanted is not None:
        vacuum = core.vacuum_for_gas(wanted, share_under_vacuum)
        values["vacuum"] = ("vacuum needed, gauge", vacuum - core.standard_pressure, u.PRESSURE)
        values["vacuum_absolute"] = ("the same, absolute", vacuum, u.VACUUM)
        values["tank_fill"] = (
            "tank filled at most",
            core.foam_fill(liquid.free_gas, vacuum),
            u.FRACTION,
        )
    good = abs(error) <= tolerance
    return Finding(
        "Gas",
        good,
        f"{percent(liquid.free_gas)} of gas costs {u.show(motion, u.LENGTH)} of motion and "
        f"{percent(error)} of ratio per refill, {'within' if good else 'above'} "
        f"{percent(tolerance)}.",
        values_of(values),
        notes=(
            f"Gas is compressed with exponent {u.digits(liquid.gas_exponent)}; none dissolves.",
            f"{percent(share_under_vacuum)} of the volume is taken to be gas still when the "
            "vacuum is broken (common practice, no source).",
        ),
        cautions=(RELIEVE, FOLLOW),
    )
