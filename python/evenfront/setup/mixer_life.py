"""Age of the blend in the mixer, purge plan, mixers and waste per shift."""

from __future__ import annotations

import math

from evenfront import _core as core
from evenfront import units as u
from evenfront.finding import Finding, values_of
from evenfront.setup.common import FOLLOW, percent


def mixer(
    *,
    hold_up: float,
    flow: float,
    working_life: float,
    shot: float | None = None,
    dwell: float = 0.0,
    share: float = 1.0 / 3.0,
    shift: float = 8 * 3600.0,
    change_interval: float | None = None,
    purge_volumes: float = 1.5,
    mixer_price: float = 0.0,
    material_price: float = 0.0,
) -> Finding:
    """Age of the blend against its working life, purge plan, mixers and waste per shift.

    Parameters
    ----------
    hold_up
        Liquid the mixer holds [m^3].
    flow
        Of both streams while dispensing [m^3/s].
    working_life
        Of the blend at the mixer's temperature [s].
    shot
        Of both streams [m^3]; default: flow never stops.
    dwell
        Between shots [s].
    share
        Of the working life that may pass [-]; a third to a half is common practice, no source.
    shift
        Length of a shift [s].
    change_interval
        Between mixer changes [s]; default the working life over the share that may pass, doubled.
    purge_volumes
        Hold-ups purged each time [-].
    mixer_price, material_price
        Of one mixer, and of a litre of blend [any currency].

    Returns
    -------
    Finding; no good if the blend is too old when it leaves.
    """
    if shot is None:
        age = core.residence_in_flow(hold_up, flow)
    else:
        age = core.age_at_exit(hold_up, shot, flow, dwell)
    pause = core.longest_pause(working_life, share, age)
    interval = working_life if change_interval is None else change_interval
    if not (interval > 0 and shift > 0 and purge_volumes >= 0):
        raise ValueError("shift, change_interval and purge_volumes must be above zero")
    changes = math.ceil(shift / interval)
    waste = changes * (1.0 + purge_volumes) * hold_up
    good = pause > 0
    values = values_of(
        {
            "residence_time": ("residence in flow", core.residence_in_flow(hold_up, flow), u.TIME),
            "age_at_exit": ("oldest when it leaves", age, u.TIME),
            "longest_pause": ("longest pause without purge", pause, u.LONG_TIME),
            "ageing": (
                "viscosity then, if it doubles in the working life",
                core.aged_viscosity(age + pause, working_life),
                None,
            ),
            "purge_volume": ("purge", purge_volumes * hold_up, u.VOLUME),
            "mixers": ("mixers per shift", float(changes), None),
            "waste": ("waste per shift", waste, u.VOLUME),
            "cost": ("cost per shift", changes * mixer_price + waste * 1e3 * material_price, None),
        }
    )
    return Finding(
        "Mixer life",
        good,
        (
            f"purge after {u.show(pause, u.LONG_TIME)} of pause at the latest"
            if good
            else f"the blend is {u.show(age, u.LONG_TIME)} old when it leaves, past "
            f"{percent(share)} of its working life"
        )
        + ".",
        values,
        notes=(
            f"{percent(share)} of the working life may pass and a mixer is changed every "
            f"{u.show(interval, u.LONG_TIME)} (common practice, no source). Plug flow: blend near "
            "the wall is older.",
        ),
        cautions=(
            "Blend that gels in a closed mixer heats up and can burst it: purge or take it off "
            "first.",
            FOLLOW,
        ),
    )
