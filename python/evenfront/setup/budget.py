"""What may move the ratio, added up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from evenfront import _core as core
from evenfront import units as u
from evenfront.finding import Finding, Record, Value
from evenfront.setup.common import FOLLOW


def ratio_budget(contributions: Mapping[str, float], tolerance: float) -> Finding:
    """Add up in two ways what may move the ratio.

    Parameters
    ----------
    contributions
        Ratio error of each cause [-], any sign.
    tolerance
        Ratio error the material tolerates [-].

    Returns
    -------
    Finding; good if the root of the sum of squares is within tolerance.
    """
    if not contributions:
        raise ValueError("a ratio budget needs at least one contribution")
    sizes = np.abs(np.array(list(contributions.values()), dtype=float))
    if not np.all(np.isfinite(sizes)) or not tolerance > 0:
        raise ValueError("contributions must be finite and the tolerance above zero")
    worst, likely = float(sizes.sum()), float(np.sqrt((sizes**2).sum()))
    largest = max(contributions, key=lambda name: abs(contributions[name]))
    if worst <= tolerance:
        verdict = "within tolerance even if all causes add up"
    elif likely <= tolerance:
        verdict = "within tolerance if the causes are independent, not if they add up"
    else:
        verdict = "out of tolerance"
    return Finding(
        "Ratio budget",
        likely <= tolerance,
        f"{verdict}; most comes from {largest}.",
        (
            Value("sum", "sum of all", worst, u.FRACTION),
            Value("root_sum_square", "root-sum-square", likely, u.FRACTION),
            Value("tolerance", "tolerance", tolerance, u.FRACTION),
        ),
        tuple(
            Record(name, (Value("error", "ratio error", value, u.FRACTION),))
            for name, value in contributions.items()
        ),
        cautions=(FOLLOW,),
    )


@dataclass(frozen=True)
class BudgetInputs:
    """What a ratio budget of a machine takes beyond the machine itself.

    Parameters
    ----------
    shot
        Liquid volume of both streams per shot [m^3].
    bore_deviation
        Of each diameter [m].
    temperature_change
        Of one stream against the other [K].
    tank_pressures
        At which resin and hardener refill [Pa].
    stem_volumes
        Pushed forward on opening, resin and hardener [m^3].
    weight_resolution
        Of the scale [kg].
    """

    shot: float
    bore_deviation: float = 10e-6
    temperature_change: float = 5.0
    tank_pressures: tuple[float, float] = (4e5, 1e5)
    stem_volumes: tuple[float, float] = (0.0, 0.0)
    weight_resolution: float = 1e-5


def machine_budget(machine: core.Machine, target: core.Target, inputs: BudgetInputs) -> Finding:
    """Ratio budget of a machine: bores, temperature, gas per refill, leak, stems, scale.

    Parameters
    ----------
    machine
        The machine; its steady state gives pressures and flows.
    target
        Ratio and tolerance.
    inputs
        What may vary.

    Returns
    -------
    Finding as of `ratio_budget`.
    """
    steady = core.steady_state(machine)
    if not steady.flows:
        raise ValueError(steady.reason)
    streams = machine.resin, machine.hardener
    flows = steady.resin, steady.hardener
    squeezed = [
        core.compression(stream.liquid, tank, flow.cylinder_pressure)
        for stream, flow, tank in zip(streams, flows, inputs.tank_pressures, strict=True)
    ]
    metered = [
        flow.flow + s.cylinder.leak * flow.cylinder_pressure
        for s, flow in zip(streams, flows, strict=True)
    ]
    bores = [
        2 * inputs.bore_deviation / machine.resin.cylinder.bore,
        2 * inputs.bore_deviation / machine.hardener.cylinder.bore,
    ]
    hotter = [s.liquid.thermal_expansion * inputs.temperature_change for s in streams]
    shot_resin = inputs.shot / (1.0 + target.ratio)
    shot_hardener = inputs.shot - shot_resin
    contributions = {
        "resin bore": -bores[0],
        "hardener bore": bores[1],
        "temperature, resin warmer": hotter[0],
        "temperature, hardener warmer": -hotter[1],
        "gas and compression per refill": core.refill_ratio_error(*squeezed),
        "leak, resin": core.resin_leak_error(
            machine.resin.cylinder.leak, flows[0].cylinder_pressure, metered[0]
        ),
        "leak, hardener": core.hardener_leak_error(
            machine.hardener.cylinder.leak, flows[1].cylinder_pressure, metered[1]
        ),
        "stem volumes": (1 + inputs.stem_volumes[1] / shot_hardener)
        / (1 + inputs.stem_volumes[0] / shot_resin)
        - 1,
        "scale": inputs.weight_resolution / (shot_hardener * machine.hardener.liquid.density),
    }
    return ratio_budget(contributions, min(target.tolerance_low, target.tolerance_high))
