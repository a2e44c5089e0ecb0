"""A run followed through mixing point, mixer and tip: what leaves, in which shot, how old it is."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from evenfront import _core
from evenfront import units as u
from evenfront.run import Model, Run

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

HOLD_UPS_BEFORE = 4.0
"""Mixer volumes of earlier rounds that a periodic run is started with [-]; ours."""
REFINE = 32
"""Pieces into which each time step of the run is cut [-]; ours."""
_LEAST_SLUG = 1e-9  # [m^3]: a thousandth of a millilitre


@dataclass(frozen=True)
class ShotOutlet:
    """What leaves the outlet during one shot, whenever it entered.

    Parameters
    ----------
    shot
        Which one, counted from 0.
    start, end
        Liquid out since the run began at its open command, and when both shut-offs are shut [m^3].
    measures
        Off-ratio volumes and errors of it, at the resolution of the part.
    oldest
        Greatest mean age of a piece at exit [s].
    """

    shot: int
    start: float
    end: float
    measures: _core.OffRatio
    oldest: float


@dataclass(frozen=True)
class Production:
    """Liquid that left the outlet over a run, in order.

    Parameters
    ----------
    volume
        Edges of the pieces, liquid out since the run began [m^3], shape (n + 1,).
    hardener
        Cumulative hardener at the edges [m^3], shape (n + 1,).
    error
        Ratio error of each piece [-], capped to +-1, shape (n,).
    shot
        Shot in which each piece leaves, counted from 0; -1: between shots (purge, to the cup) or
        after the last complete one.
    age
        Mean time since each piece's liquid met the mixing point [s], at its exit; what was inside
        when the run began counts from then.
    time
        Mean time at which each piece leaves, since the run began [s].
    target
        What the part asks for.
    inlet
        What entered the mixer.
    fraction
        Hardener fraction of what was inside the mixer before [-].
    warnings
        One sentence each.
    """

    volume: Floats
    hardener: Floats
    error: Floats
    shot: NDArray[np.int32]
    age: Floats
    time: Floats
    target: _core.Target
    inlet: _core.MixerInlet = field(repr=False)
    fraction: float
    warnings: tuple[str, ...]

    def window(self, start: float, end: float) -> _core.Composition:
        """Liquid between two volumes of the sequence, on an axis from 0.

        Parameters
        ----------
        start, end
            Liquid out since the run began [m^3].

        Returns
        -------
        Composition with what lies before and after it.
        """
        first, last = np.searchsorted(self.volume, [start, end], side="right")
        inside = self.volume[first:last]
        inside = inside[inside < end]
        edges = np.concatenate([[start], inside, [end]]) if end > start else np.array([start])
        hardener = np.interp(edges, self.volume, self.hardener)
        return _core.Composition(
            volume=edges - start,
            hardener=hardener - hardener[0],
            before=self._fraction_of(int(np.searchsorted(self.volume, start)) - 1),
            after=self._fraction_of(int(np.searchsorted(self.volume, end))),
        )

    def _fraction_of(self, piece: int) -> float:
        """Hardener fraction of a piece; beyond the ends that of what was inside before."""
        if not 0 <= piece < len(self.error):
            return self.fraction
        hardener, volume = (
            values[piece + 1] - values[piece] for values in (self.hardener, self.volume)
        )
        return float(hardener / volume)

    @cached_property
    def shots(self) -> list[ShotOutlet]:
        """What leaves in each shot, in order; a shot in which nothing left is not listed."""
        found = []
        changes = np.flatnonzero(np.diff(self.shot)) + 1
        for first, last in itertools.pairwise([0, *changes, len(self.shot)]):
            if first == last or self.shot[first] < 0:
                continue
            start, end = float(self.volume[first]), float(self.volume[last])
            measures = _core.off_ratio(
                self.window(start, end), self.target, self.target.resolve * (end - start)
            )
            oldest = float(self.age[first:last].max())
            found.append(ShotOutlet(int(self.shot[first]), start, end, measures, oldest))
        return found


def production(run: Run, model: Model = "case", *, tip_index: float = 1.0) -> Production:
    """Follow a run through mixing point, mixer and tip.

    Parameters
    ----------
    run
        What was done.
    model
        Residence model of the mixer: the case's, plug, or dispersion at Pe 100.
    tip_index
        Power-law index of the blend in the tip [-].

    Returns
    -------
    Everything that left, in order.
    """
    mixer = run.machine.mixer
    passages = _core.passages(run.machine)
    inlet = _core.mixer_inlet(run.trace, passages, run.ratio, refine=REFINE)
    if run.sequence.start.periodic:
        inlet = _core.after_like_rounds(inlet, HOLD_UPS_BEFORE * _core.hold_up(mixer))
    left = _core.outlet_sequence(inlet, run.trace, mixer, run.residence(model), tip_index)
    fraction = run.ratio / (1.0 + run.ratio)
    composition = _core.Composition(
        volume=left.volume, hardener=left.hardener, before=fraction, after=fraction
    )
    return Production(
        volume=left.volume,
        hardener=left.hardener,
        error=_core.ratio_error(composition, run.target.ratio),
        shot=left.shot,
        age=left.age,
        time=left.time,
        target=run.target,
        inlet=inlet,
        fraction=fraction,
        warnings=tuple(_production_warnings(run, inlet, left)),
    )


def _production_warnings(
    run: Run, inlet: _core.MixerInlet, left: _core.OutletSequence
) -> Iterator[str]:
    volumes = _core.passages(run.machine).volume
    for label, beyond, volume in zip(run.case.labels, inlet.beyond, volumes, strict=True):
        if beyond > _LEAST_SLUG:
            passage = f"its passage of {u.show(volume, u.VOLUME)}" if volume else "the shut-off"
            yield (
                f"{label}: {u.show(beyond, u.VOLUME)} of blend is pushed back beyond {passage}; "
                "it gels where nothing flushes it out"
            )
    life = run.machine.mixer.working_life
    old = left.age > life
    if math.isfinite(life) and old.any():
        volume = float(np.diff(left.volume)[old].sum())
        yield (
            f"{u.show(volume, u.VOLUME)} leaves older than the blend's working life of "
            f"{u.show(life, u.LONG_TIME)}: purge or change the mixer sooner"
        )
    if not len(left.shot):
        yield "nothing leaves the outlet: the mixer is not yet full when the run ends"
