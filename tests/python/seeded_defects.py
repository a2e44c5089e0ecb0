"""Invented defects of an invented machine, and what people would see of them.

The values of a defect are drawn from its range at random, apart from the places at which the
ranking simulates it. What is seen of it is drawn here, by rules of its own: an inspector who
overlooks, misplaces and mistakes spots; gauges and a scale that scatter; a machine whose flow,
pressures and mixer volume are not quite those of the case. All of it is common practice, no source.
"""

from dataclasses import dataclass, replace

import numpy as np

from evenfront import Case, _core, load_case
from evenfront.candidates import Candidate, applicable
from evenfront.defects import Variant
from evenfront.observed import Catch, Gauge, Noise, Observed, Spot, Which
from evenfront.watched import Prediction, Setup, Watched, watch

NOISE = Noise(volume=0.7e-6, weight=2e-5, pressure=3e4, ratio_error=0.03, wrong_kind=0.05)
"""What the inspector states: 0.7 mL (2 % of a shot), 0.02 g, 0.3 bar, 5 % taken for the other."""
FLOW, GAUGES, HOLD_UP = 0.03, 0.02, 0.02
"""Standard deviations of the machine from its case: flow, pressures, mixer volume [-]."""
VISCOSITY, EXPANSION, GAS = 0.10, 0.15, 0.25
"""The same of each viscosity, of each hose and of the gas in the resin [-]."""
SEEN, FAINT = 0.95, 0.4
"""How often a plain spot, and a faint or narrow one, is noticed [-]."""
FIRST = 6e-6
"""Volume of both streams caught apart as a shot begins [m^3]."""
PLAIN = 1.5
"""Times the tolerance from which on a spot is plain [-]."""


@dataclass(frozen=True)
class Defect:
    """A defect and what was seen of it."""

    candidate: Candidate
    variant: Variant
    value: float
    observed: Observed


def machine(cases) -> Case:
    """Two hoses of 6 m; three held shots and a refill, again, then a pause and one more shot.

    A check valve keeps hardener out of the resin's passage.
    """
    feeds = {
        "resin.feed": {"tank_pressure": "4 bar", "bore": "25 mm", "length": "2 m"},
        "hardener.feed": {"tank_pressure": "1 bar", "bore": "9.5 mm", "length": "2 m"},
    }
    shot, dwell = {"dispense": "3 s"}, {"dwell": "20 s"}
    steps = [shot, dwell, shot, dwell, shot, {"refill": {"time": "3 s"}}, {"dwell": "10 s"}]
    valve = {f"{side}.feed.valve_time": "0.5 s" for side in ("resin", "hardener")}
    valve["resin.shutoff.check_valve"] = True
    case = load_case(cases / "long-boom-held-shots.toml").changed(feeds)
    return case.changed(valve | {"run.steps": steps, "run.repeat": 2})


def watched_shots(case: Case) -> Watched:
    """Six shots, half an hour, one more."""
    return watch(case, Observed(shots=6, pause=1800.0))


def defects(watched: Watched, count: int, seed: int) -> list[Defect]:
    """Draw defects over all candidates in turn, and what is seen of each."""
    rng = np.random.default_rng(seed)
    candidates = list(applicable(watched.as_written))
    found = []
    for i in range(count):
        candidate, variants = candidates[i % len(candidates)]
        variant = variants[rng.integers(len(variants))]
        value = variant.at(float(rng.uniform()))
        truth = watched.predict(off(variant.change(watched.as_written, value), rng))
        found.append(Defect(candidate, variant, value, see(watched, truth, rng)))
    return found


def off(setup: Setup, rng: np.random.Generator) -> Setup:
    """Give a machine that is not quite that of the case."""

    def times(spread):
        return float(np.exp(rng.normal(0.0, spread)))

    streams = {}
    for side in ("resin", "hardener"):
        stream = getattr(setup.machine, side)
        rheology = stream.rheology.replace(
            consistency=stream.rheology.consistency * times(VISCOSITY)
        )
        line = [
            piece.replace(wall_expansion=piece.wall_expansion * times(EXPANSION))
            for piece in stream.line
        ]
        gas = stream.liquid.free_gas * (times(GAS) if side == "resin" else 1.0)
        streams[side] = stream.replace(
            rheology=rheology, line=line, liquid=stream.liquid.replace(free_gas=gas)
        )
    return replace(setup, machine=setup.machine.replace(**streams))


def see(watched: Watched, truth: Prediction, rng: np.random.Generator) -> Observed:
    """Draw spots of all shots, closed and flowing gauges and weights of some."""
    flow, gauges = rng.normal(1.0, FLOW), rng.normal(1.0, GAUGES)
    some = [
        i for i, one in enumerate(watched.classes) if i in (0, 1, 3) or one.name == "after a pause"
    ]

    def pressure(value):
        return float(gauges * value + rng.normal(0.0, NOISE.pressure))

    def weight(value):
        return max(0.0, float(flow * value + rng.normal(0.0, NOISE.weight)))

    readings = [
        Gauge(shot(i), when, *(pressure(p) for p in pressures[i]))
        for when, pressures in (("closed", truth.closed), ("flowing", truth.flowing))
        for i in some
    ]
    catches = [Catch(shot(i), total=weight(truth.weights[i].sum())) for i in some]
    catches += [Catch(shot(i), *map(weight, truth.weights[i])) for i in (1, 2, 4)]
    catches += [
        Catch(shot(i), *map(weight, truth.part(i, 0.0, FIRST)), start=0.0, end=FIRST)
        for i in (1, 3)
    ]
    return Observed(
        shots=6,
        pause=1800.0,
        spots=tuple(spots(watched, truth, rng)),
        catches=tuple(catches),
        gauges=tuple(readings),
        noise=NOISE,
    )


def spots(watched: Watched, truth: Prediction, rng: np.random.Generator) -> list[Spot]:
    """Let the inspector look at every shot."""
    shift = _core.hold_up(watched.case.machine.mixer) * rng.normal(0.0, HOLD_UP)
    found = []
    for i in range(watched.shots):
        for (start, end), error in zip(truth.zones[i], truth.errors[i], strict=True):
            if np.isnan(error):
                continue
            tolerance = watched.case.target.tolerance_high
            plain = end - start > NOISE.volume and abs(error) > PLAIN * tolerance
            if rng.uniform() > (SEEN if plain else FAINT):
                continue
            places = np.array([start, end]) + shift + rng.normal(0.0, NOISE.volume, 2)
            low, high = np.sort(np.clip(places, 0.0, truth.volume[i]))
            rich = (error > 0.0) != (rng.uniform() < NOISE.wrong_kind)
            if high > low:
                found.append(Spot(shot(i), float(low), float(high), "soft" if rich else "brittle"))
    return found


def shot(i: int) -> Which:
    """Which shot, counted from 0."""
    return Which("seen", (i + 1,))
