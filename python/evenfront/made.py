"""What a run makes, followed to the part, and which part of several is looked at.

It is the worst of those that are kept: what holds liquid of the first shot after start-up goes to
the cup where there are others.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from evenfront import _core
from evenfront.part import PartMap, Production, Stretch, part_map, production
from evenfront.run import ML, Model, Run
from evenfront.shot_class import START_UP

if TYPE_CHECKING:
    from evenfront.case import Case

BEAD_SECTION = 20e-6
"""Cross-section of the bead a shot is drawn as where the case does not say what is made [m^2]."""


@dataclass(frozen=True)
class Made:
    """What a run makes.

    Parameters
    ----------
    run
        The run.
    production
        What left, in order.
    map
        Where it ends up.
    part
        Which part is looked at, counted from 0.
    """

    run: Run
    production: Production
    map: PartMap
    part: int

    @property
    def stretches(self) -> list[Stretch]:
        """Stretches of the part, in order."""
        return self.map.stretches(self.part)

    @property
    def span(self) -> tuple[float, float]:
        """Between which volumes of all that left its shots lie [m^3]."""
        shots = [s for s in self.production.shots if s.shot in self.map.shots[self.part]]
        return shots[0].start, shots[-1].end

    @property
    def total(self) -> float:
        """Liquid in the part [m^3]."""
        return sum(piece.volume for piece in self.map.of(self.part))

    @property
    def soft(self) -> float:
        """Part of it with too much hardener [m^3]."""
        return self.map.volume(self.part, "soft")

    @property
    def brittle(self) -> float:
        """Part of it with too little hardener [m^3]."""
        return self.map.volume(self.part, "brittle")

    @property
    def off(self) -> float:
        """Part of it off ratio [m^3]."""
        return self.soft + self.brittle

    def to_dict(self) -> dict[str, Any]:
        """Plain values, units in the keys."""
        return {
            "part": self.part + 1,
            "of_parts": self.map.parts,
            "shots": [shot + 1 for shot in self.map.shots[self.part]],
            "total_mL": self.total / ML,
            "off_ratio_mL": self.off / ML,
            "soft_mL": self.soft / ML,
            "brittle_mL": self.brittle / ML,
            "stretches": [_stretch_dict(s) for s in self.stretches if s.verdict != "ok"],
        }


def _stretch_dict(stretch: Stretch) -> dict[str, Any]:
    first, last, worst = stretch.pieces[0], stretch.pieces[-1], stretch.worst
    return {
        "verdict": stretch.verdict,
        "place": stretch.name,
        "from_mL": first.volume_start / ML,
        "to_mL": last.volume_end / ML,
        "from_mm": None if first.start is None else first.start * 1e3,
        "to_mm": None if last.end is None else last.end * 1e3,
        "volume_mL": stretch.volume / ML,
        "worst_ratio_error": worst.error,
        "hardness_there": worst.hardness,
    }


def make(
    run: Run, model: Model = "case", *, assumed: bool | None = None, part: int | None = None
) -> tuple[bool, Made]:
    """Find what a run makes.

    Parameters
    ----------
    run
        What was done.
    model
        Residence model: the case's, plug, or dispersion at Pe 100.
    assumed
        Whether to draw each shot as a straight bead, whatever the case says; None: where it says
        nothing.
    part
        Which part to look at; None: the worst of those that are kept.

    Returns
    -------
    tuple
        Whether shots are drawn as straight beads, and what is made.

    Raises
    ------
    LookupError
        If nothing leaves the outlet.
    """
    left = production(run, model)
    if not assumed and run.case.part is not None:
        found = part_map(run, left)
        if found.parts:
            return False, _looked_at(Made(run, left, found, 0), part)
    run = Run(_as_beads(run, left), run.machine, run.sequence)
    found = part_map(run, left)
    if not found.parts:
        raise LookupError("nothing leaves the outlet: the mixer is not yet full when the run ends")
    return True, _looked_at(Made(run, left, found, 0), part)


def _as_beads(run: Run, left: Production) -> Case:
    """Make the case lay each shot as a straight bead, as long as the longest shot gives."""
    longest = max((shot.end - shot.start for shot in left.shots), default=ML)
    length = f"{longest / BEAD_SECTION * 1e3:.9g} mm"
    return run.case.changed(
        {"part": {"kind": "bead", "area": f"{BEAD_SECTION * 1e6:g} mm^2", "path": length}}
    )


def _looked_at(made: Made, part: int | None) -> Made:
    """Look at one part; None: at the worst of those that are kept, the last of several alike."""
    found = made.map
    if part is None:
        kept = range(first_kept(made), found.parts)
        part = max(kept, key=lambda i: (round(-found.volume(i, "ok") / ML, 2), i))
    return replace(made, part=min(part, found.parts - 1))


def first_kept(made: Made) -> int:
    """Give the first part that holds nothing of the first shot after start-up; 0 if there is none.

    What enters in that shot leaves until a mixer volume after its end.
    """
    run, left = made.run, made.production
    ends = [shot.end for shot in left.shots if run.classes[shot.shot].name == START_UP]
    clear = max(ends) + _core.hold_up(run.machine.mixer) if ends else 0.0
    starts = {shot.shot: shot.start for shot in left.shots}
    fresh = (i for i, shots in enumerate(made.map.shots) if starts[shots[0]] >= clear)
    return next(fresh, 0)
