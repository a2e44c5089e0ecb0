"""Proof by catch weights: which catch shows the lead, what it weighs, and the scale it needs."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from evenfront import units as u
from evenfront import words as w
from evenfront.layout import Block
from evenfront.run import Run

if TYPE_CHECKING:
    pass
from evenfront.shot_words import is_off, shot_volume

SCALE_STEP = 0.01
"""Resolution of a usual catch scale [g]; common practice, no source."""
CATCH_TIME = 0.2
"""Shortest time in which a cup is moved under a running stream [s]; common practice, no source."""


def catch_proof(run: Run, after: Run | None) -> tuple[Block, ...]:
    """Catch that would show the lead, and the scale it needs.

    In held shots whole-shot weights come out on ratio whatever the lead within them, cut shots
    too: only liquid caught from a running stream shows it.
    """
    m = run.shot
    resin, hardener = (w.plain(label) for label in run.case.labels)
    density = run.machine.hardener.liquid.density
    curve = run.lead()
    peak = float(curve.time[int(abs(curve.lead).argmax())])
    time = min(max(peak, CATCH_TIME), m.duration)
    lead, whole = _lead_at(run, time), _whole_lead(run)
    if abs(whole) >= 0.5 * abs(lead):
        time, lead = math.inf, whole
        how = "Weigh both streams of the whole shot apart"
    else:
        how = (
            f"Whole shots hide it ({_excess(whole * density)}). Weigh both streams apart, "
            f"cups moved under them while they run, the first {u.digits(time, 2)} s"
        )
    back = f"at the mixer's pressure, {w.pressure(run.steady.mixer_pressure)}"
    first, second = weights(run, time)
    text = (
        f"{how}, {back}: {w.gram(first)} {resin} with {w.gram(second)} {hardener}, "
        f"{_excess(lead * density)}"
    )
    if after is not None and after.measures.shots:
        first, second = weights(after, time)
        later = _whole_lead(after) if math.isinf(time) else _lead_at(after, time)
        text += f"; trimmed {w.gram(first)} with {w.gram(second)}, {_excess(later * density)}"
    return (f"{text}. {_scale(abs(lead) * density)}{_bead(run)}",)


def _whole_lead(run: Run) -> float:
    """Lead of a whole shot as a cup catches it, with what passes after the close command."""
    m = run.shot
    return m.net_lead + m.hardener_after_close - run.ratio * m.resin_after_close


def _excess(mass: float) -> str:
    if abs(mass) < 5e-7:  # half a milligram
        return "on ratio"
    return f"{w.gram(abs(mass))} {'over' if mass > 0 else 'under'} ratio"


def _scale(mass: float) -> str:
    """Scale that tells the lead, to a fifth of it [kg]."""
    needed = mass * 1e3 / 5.0
    if needed >= SCALE_STEP:
        return f"A scale of {SCALE_STEP:g} g tells."
    if needed * 20 < SCALE_STEP:
        return f"No usual scale tells: {u.digits(needed, 1)} g would be needed."
    return f"With a scale of {SCALE_STEP:g} g weigh {math.ceil(SCALE_STEP / needed)} together."


def _bead(run: Run) -> str:
    zone = run.shot.outlet
    if not is_off(zone, shot_volume(run.shot), run.target):
        return ""
    return f" Or cure a bead: it is off from {w.ml(zone.start)} to {w.ml(zone.end)} mL (cc)."


def _lead_at(run: Run, time: float) -> float:
    curve = run.lead()
    return _interpolate(time, curve.time, curve.lead)


def _interpolate(x: float, xs: Any, ys: Any) -> float:
    import numpy as np

    return float(np.interp(x, xs, ys))


def weights(run: Run, time: float) -> tuple[float, float]:
    """Mass of resin and hardener a time after the open command; infinite: whole shot [kg]."""
    m, curve = run.shot, run.lead()
    if math.isinf(time):
        volumes = (
            m.resin_volume + m.resin_after_close,
            m.hardener_volume + m.hardener_after_close,
        )
    else:
        volumes = (
            _interpolate(time, curve.time, curve.resin),
            _interpolate(time, curve.time, curve.hardener),
        )
    return (
        volumes[0] * run.machine.resin.liquid.density,
        volumes[1] * run.machine.hardener.liquid.density,
    )
