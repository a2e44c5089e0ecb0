"""How far a lead goes inside the mixer, and why more elements do not mend it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evenfront import _core
from evenfront.run import SIDE_PECLET, Model, Run

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

LENGTHS = (0.5, 1.0, 1.5, 2.0, 3.0)
"""Mixer lengths tried, as multiples of the case's."""
FARTHEST = 100.0
"""Longest mixer searched for one that settles a lead, as a multiple of the case's [-]; ours."""
INSTANTS = (0.1, 0.3, 0.5, 0.7, 0.9, 1.06)
"""When to look, as liquid entered over the mixer's hold-up [-]."""
_PLACES = 250


@dataclass(frozen=True)
class TravelRow:
    """What a mixer of one length makes of a lead.

    Parameters
    ----------
    model
        Residence model; a longer mixer of it spreads more, by its length.
    length
        Of the mixer [m].
    elements
        Of the same pitch; None where the case does not give any.
    outlet
        What leaves it.
    """

    model: Model
    length: float
    elements: int | None
    outlet: _core.OffRatio


@dataclass(frozen=True)
class Travel:
    """How far a shot's lead goes inside the mixer.

    Parameters
    ----------
    shot
        Which shot, counted from 0.
    places
        Shares of the mixer's length [-].
    entered
        Liquid that has entered since the open command, at each instant [m^3].
    profiles
        By model: ratio error at each instant (rows) and place (columns) [-].
    settling
        By model: distance from the inlet at which the lead is within tolerance [m], whether the
        mixer is that long or not; None: never, as in plug flow, or not within `FARTHEST` mixers.
    elements
        By model: elements of the same pitch that would be; None where not known or never.
    table
        Outlet for several lengths of the mixer, the same liquid entering.
    """

    shot: int
    places: Floats
    entered: Floats
    profiles: dict[Model, Floats]
    settling: dict[Model, float | None]
    elements: dict[Model, int | None]
    table: tuple[TravelRow, ...]


def travel(
    run: Run,
    *,
    shot: int = -1,
    instants: Sequence[float] | None = None,
    places: Sequence[float] | None = None,
    lengths: Sequence[float] = LENGTHS,
) -> Travel:
    """Follow one shot's lead along the mixer, for plug flow, Pe 100 and the case's own model.

    Parameters
    ----------
    run
        What was done.
    shot
        Which shot, counted from 0, or from the last with -1.
    instants
        Liquid that has entered since the open command [m^3]; None: until its beginning has left.
    places
        Shares of the mixer's length [-], above 0; None: evenly along it.
    lengths
        Mixer lengths to compare, as multiples of the case's [-].

    Returns
    -------
    Profiles, distances and a table over lengths. Longer mixers keep pitch and bore, so their
    hold-up and Peclet number grow with their length; what enters is that of the case's.
    """
    mixer = run.machine.mixer
    held = _core.hold_up(mixer)
    number = range(len(run.trace.shots))[shot]
    inlet = _core.inlet_composition(
        run.trace, run.trace.shots[number], run.ratio, passages=_core.passages(run.machine)
    )
    entered = np.array(INSTANTS) * held if instants is None else np.asarray(instants, float)
    where = (np.arange(_PLACES) + 0.5) / _PLACES if places is None else np.asarray(places, float)
    models: list[Model] = ["plug", "dispersed"]
    if not run.residence().is_plug():
        models.insert(0, "case")
    profiles, settling, elements = {}, {}, {}
    for model in models:
        law = run.residence(model)
        fractions = [_core.profile_along(inlet, law, held, volume, where) for volume in entered]
        profiles[model] = _error(np.array(fractions), run.target.ratio)
        settling[model] = _settling(run, inlet, model)
        elements[model] = _elements(run, settling[model])
    table = tuple(
        TravelRow(
            model,
            factor * mixer.length,
            _elements(run, factor * mixer.length),
            _outlet_of_length(run, inlet, model, factor),
        )
        for model in models
        for factor in lengths
    )
    return Travel(number, where, entered, profiles, settling, elements, table)


def _error(fraction: Floats, ratio: float) -> Floats:
    """Ratio error of a hardener fraction, capped to +-1."""
    resin = np.maximum(1.0 - fraction, 1e-12)  # far beyond the cap, and no overflow
    return np.asarray(np.clip(fraction / resin / ratio - 1.0, -1.0, 1.0))


def _longer(run: Run, model: Model, factor: float) -> _core.ResidenceTime:
    """Residence-time distribution of a mixer so many times as long."""
    mixer = run.machine.mixer
    if model == "dispersed":
        return _core.ResidenceTime("dispersion", SIDE_PECLET * factor)
    if model == "plug" or mixer.residence == _core.Residence.plug:
        return _core.ResidenceTime("plug", 0.0)
    tanks = mixer.residence == _core.Residence.tanks
    parameter = mixer.tanks if tanks else mixer.peclet
    return _core.ResidenceTime(mixer.residence, parameter * factor)


def _through(run: Run, inlet: _core.Composition, model: Model, factor: float) -> _core.Composition:
    held = factor * _core.hold_up(run.machine.mixer)
    return _core.through_mixer(inlet, _longer(run, model, factor), held)


def _outlet_of_length(
    run: Run, inlet: _core.Composition, model: Model, factor: float
) -> _core.OffRatio:
    shot = float(inlet.volume[-1] - inlet.volume[0])
    return _core.off_ratio(
        _through(run, inlet, model, factor), run.target, run.target.resolve * shot
    )


def _settling(run: Run, inlet: _core.Composition, model: Model) -> float | None:
    """Distance at which the worst piece is within tolerance; the peaks fall all along the way."""
    target = run.target

    def excess(composition: _core.Composition) -> float:
        error = _core.ratio_error(composition, target.ratio)
        if not error.size:
            return -1.0
        return float(max(error.max() / target.tolerance_high, -error.min() / target.tolerance_low))

    def beyond(factor: float) -> float:
        return math.log(max(excess(_through(run, inlet, model, factor)), 1e-9))

    if excess(inlet) <= 1.0:
        return 0.0
    offset = abs(run.ratio / target.ratio - 1.0)
    within = offset < min(target.tolerance_high, target.tolerance_low)
    if _longer(run, model, 1.0).is_plug() or not within or beyond(FARTHEST) > 0.0:
        return None
    from scipy.optimize import brentq

    least = 1e-3
    if beyond(least) <= 0.0:
        return least * float(run.machine.mixer.length)
    return float(run.machine.mixer.length * brentq(beyond, least, FARTHEST, rtol=1e-4))


def _elements(run: Run, length: float | None) -> int | None:
    """Elements of the case's pitch in a length, rounded up."""
    given = run.case.data["mixer"].get("elements")
    if given is None or length is None:
        return None
    return math.ceil(float(given) * length / run.machine.mixer.length - 1e-9)
