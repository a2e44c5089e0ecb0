"""From a run to the part: what leaves the outlet, where it ends up, how far a lead goes.

`production` follows a whole run (shots, dwells, refills, purges) through mixer and tip;
`part_map` lays what left onto a bead or into a casting and marks what is off ratio; `travel` shows
how far a lead goes inside the mixer and why more elements do not mend it. All values are SI.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from evenfront import _core
from evenfront import units as u
from evenfront.run import SIDE_PECLET, Model, Run
from evenfront.schema_part import Bead, Casting

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Verdict = Literal["ok", "soft", "brittle"]

HOLD_UPS_BEFORE = 4.0
"""Mixer volumes of earlier rounds that a periodic run is started with [-]; ours."""
REFINE = 32
"""Pieces into which each time step of the run is cut [-]; ours."""
SPEED_MISMATCH = 0.05
"""Bead laid by speed may differ from the flow by so much before it is said [-]; ours."""
VOLUME_MISMATCH = 0.02
"""Shots may differ from the part's volume by so much before it is said [-]; ours."""
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


@dataclass(frozen=True)
class Piece:
    """A piece of a part, of about the smallest volume that matters.

    Parameters
    ----------
    part
        Which part, counted from 0.
    name
        Layer, or "bead", or "casting".
    start, end
        Where it lies [m]: along the bead's path, or above the cavity's floor; None for layers.
    volume_start, volume_end
        Where it lies in the part's own liquid, in the order it was dispensed [m^3].
    error
        Ratio error of its liquid taken together [-], capped to +-1.
    verdict
        Soft: more hardener than tolerated; brittle: less.
    hardness
        By the case's table; None where there is no table, or the error lies outside it.
    """

    part: int
    name: str
    start: float | None
    end: float | None
    volume_start: float
    volume_end: float
    error: float
    verdict: Verdict
    hardness: float | None

    @property
    def volume(self) -> float:
        """Volume [m^3]."""
        return self.volume_end - self.volume_start


@dataclass(frozen=True)
class Stretch:
    """Neighbouring pieces of one verdict (and, in a casting of layers, of one layer).

    Parameters
    ----------
    pieces
        In order, at least one.
    """

    pieces: tuple[Piece, ...]

    @property
    def verdict(self) -> Verdict:
        """That of all of them."""
        return self.pieces[0].verdict

    @property
    def name(self) -> str:
        """Layer, or "bead", or "casting"."""
        return self.pieces[0].name

    @property
    def volume(self) -> float:
        """Volume [m^3]."""
        return self.pieces[-1].volume_end - self.pieces[0].volume_start

    @property
    def worst(self) -> Piece:
        """Piece whose ratio error is farthest from zero."""
        return max(self.pieces, key=lambda piece: abs(piece.error))


@dataclass(frozen=True)
class PartMap:
    """Where a run's liquid ends up, part after part.

    Parameters
    ----------
    part
        What is made, as the case says.
    pieces
        Of all parts, in the order of dispensing.
    shots
        Shots of each part.
    warnings
        One sentence each.
    """

    part: Bead | Casting
    pieces: tuple[Piece, ...]
    shots: tuple[tuple[int, ...], ...]
    warnings: tuple[str, ...]

    @property
    def parts(self) -> int:
        """How many parts were made."""
        return len(self.shots)

    def of(self, part: int) -> tuple[Piece, ...]:
        """Pieces of one part, counted from 0, or from the last with -1."""
        return self._by_part[part]

    @cached_property
    def _by_part(self) -> list[tuple[Piece, ...]]:
        groups: list[list[Piece]] = [[] for _ in self.shots]
        for piece in self.pieces:
            groups[piece.part].append(piece)
        return [tuple(group) for group in groups]

    def stretches(self, part: int) -> list[Stretch]:
        """Pieces of one part, neighbours of one verdict and name together."""
        groups: list[list[Piece]] = []
        for piece in self.of(part):
            last = groups[-1][-1] if groups else None
            if last and (last.verdict, last.name) == (piece.verdict, piece.name):
                groups[-1].append(piece)
            else:
                groups.append([piece])
        return [Stretch(tuple(group)) for group in groups]

    def volume(self, part: int, verdict: Verdict) -> float:
        """Volume of one part that has a verdict [m^3]."""
        return sum(piece.volume for piece in self.of(part) if piece.verdict == verdict)

    def worst(self) -> int:
        """Part with the largest off-ratio volume, the first of several.

        Raises
        ------
        LookupError
            If no part was made.
        """
        if not self.parts:
            raise LookupError("the run made no part")
        return max(range(self.parts), key=lambda i: (-self.volume(i, "ok"), -i))


def part_map(run: Run, production: Production) -> PartMap:
    """Lay what left the outlet onto the case's bead or into its casting.

    Parameters
    ----------
    run
        What was done; its case says what is made.
    production
        What left, see `production`.

    Returns
    -------
    Pieces of every part. Liquid beyond the part's volume, and what leaves between shots, is not in
    it; a part that gets too little ends early.

    Raises
    ------
    LookupError
        If the case does not say what is made.
    """
    part = run.case.part
    if part is None:
        raise LookupError("the case has no table part, so nothing is known of what is made")
    shots = production.shots
    groups = [shots[i : i + part.shots_per_part] for i in range(0, len(shots), part.shots_per_part)]
    whole = [group for group in groups if len(group) == part.shots_per_part]
    pieces: list[Piece] = []
    for number, group in enumerate(whole):
        pieces += _pieces(number, part, production, group)
    numbers = tuple(tuple(shot.shot for shot in group) for group in whole)
    return PartMap(part, tuple(pieces), numbers, tuple(_map_warnings(run, part, whole, pieces)))


def _pieces(
    number: int, part: Bead | Casting, production: Production, group: Sequence[ShotOutlet]
) -> list[Piece]:
    """Pieces of one part; its liquid is that of its shots, without what leaves between them."""
    edges, hardener = np.zeros(1), np.zeros(1)
    for shot in group:
        inside = production.window(shot.start, shot.end)
        edges = np.concatenate([edges, edges[-1] + inside.volume[1:]])
        hardener = np.concatenate([hardener, hardener[-1] + inside.hardener[1:]])
    resolve = production.target.resolve * float(edges[-1]) / len(group)
    pieces = []
    for name, start, end in _places(part, min(part.volume, float(edges[-1]))):
        count = max(1, math.ceil((end - start) / resolve * (1.0 - 1e-9)))
        cuts = np.linspace(start, end, count + 1)
        cut = _core.Composition(
            volume=cuts, hardener=np.interp(cuts, edges, hardener), before=0.0, after=0.0
        )
        for low, high, error in zip(
            cuts, cuts[1:], _core.ratio_error(cut, production.target.ratio), strict=False
        ):
            pieces.append(_piece(number, part, name, (low, high), float(error), production.target))
    return pieces


def _places(part: Bead | Casting, available: float) -> Iterator[tuple[str, float, float]]:
    """Name and volumes between which each place lies, as far as there is liquid [m^3]."""
    if isinstance(part, Bead) or part.layers is None:
        yield part.kind, 0.0, available
        return
    start = 0.0
    for layer in part.layers:
        end = min(start + layer.volume, available)
        if end > start * (1.0 + 1e-12):
            yield layer.name, start, end
        start = end


def _piece(
    number: int,
    part: Bead | Casting,
    name: str,
    volumes: tuple[float, float],
    error: float,
    target: _core.Target,
) -> Piece:
    low, high = (float(volume) for volume in volumes)
    verdict: Verdict = "ok"
    if error > target.tolerance_high:
        verdict = "soft"
    elif error < -target.tolerance_low:
        verdict = "brittle"
    section = part.section
    return Piece(
        part=number,
        name=name,
        start=low / section if section else None,
        end=high / section if section else None,
        volume_start=low,
        volume_end=high,
        error=error,
        verdict=verdict,
        hardness=hardness(part, error),
    )


def hardness(part: Bead | Casting, error: float) -> float | None:
    """Hardness at a ratio error, by the case's own table.

    Parameters
    ----------
    part
        What is made, with its table.
    error
        Ratio error [-].

    Returns
    -------
    On the table's scale; None where there is no table, or outside it. Between its points a cubic
    that rises and falls only where they do (Fritsch and Carlson).
    """
    table = part.hardness
    if table is None or not table[0][0] <= error <= table[-1][0]:
        return None
    return float(_curve(table)(error))


@lru_cache(maxsize=8)
def _curve(table: tuple[tuple[float, float], ...]) -> Callable[[float], Any]:
    """Monotone cubic through points of a table."""
    from scipy.interpolate import PchipInterpolator

    errors, values = zip(*table, strict=True)
    curve: Callable[[float], Any] = PchipInterpolator(errors, values)
    return curve


def _map_warnings(
    run: Run, part: Bead | Casting, groups: Sequence[Sequence[ShotOutlet]], pieces: Sequence[Piece]
) -> Iterator[str]:
    if not groups:
        yield "no part was made: too few complete shots reach the outlet"
        return
    for number, group in enumerate(groups):
        given = sum(shot.end - shot.start for shot in group)
        if abs(given / part.volume - 1.0) > VOLUME_MISMATCH:
            word = "more" if given > part.volume else "less"
            yield (
                f"part {number + 1} gets {u.show(given, u.VOLUME)}, "
                f"{u.show(abs(given - part.volume), u.VOLUME)} {word} than the "
                f"{u.show(part.volume, u.VOLUME)} it holds"
            )
            break  # the others are alike
    if isinstance(part, Bead) and part.speed is not None and run.steady.flows:
        laid = part.section * part.speed
        flow = run.steady.resin.flow + run.steady.hardener.flow
        if abs(laid / flow - 1.0) > SPEED_MISMATCH:
            yield (
                f"the bead at {u.show(part.speed, u.SPEED)} needs {u.show(laid, u.FLOW)}, the "
                f"machine gives {u.show(flow, u.FLOW)}: its cross-section will not be as stated"
            )
    if part.hardness is not None:
        low, high = part.hardness[0][0], part.hardness[-1][0]
        outside = [piece.error for piece in pieces if piece.hardness is None]
        if outside:
            worst = max(outside, key=abs)
            yield (
                f"hardness is measured from {100 * low:+.3g} % to {100 * high:+.3g} % ratio error; "
                f"pieces at up to {100 * worst:+.3g} % have none"
            )


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
