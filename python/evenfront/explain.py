"""Why a part is soft, and what mends it: everything the page and ``--json`` say, computed once.

The true sequence is followed to the part. The part shown is the worst of those that are kept: what
holds liquid of the first shot after start-up goes to the cup where there are others.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from evenfront import _core, pages, report
from evenfront import words as w
from evenfront.part import PartMap, Production, Stretch, Travel, part_map, production, travel
from evenfront.remedy_ranking import RankedRemedy, rank_remedies
from evenfront.run import ML, Model, Run
from evenfront.sheet import Sheet, make_sheet
from evenfront.shot_class import IN_STROKE, START_UP, ShotClass
from evenfront.trimming import Answer, TrimResult, trim

if TYPE_CHECKING:
    from evenfront.case import Case
    from evenfront.causes import Ranking

SIDE_MODELS: tuple[Model, Model] = ("plug", "dispersed")
"""What stands beside the case's own residence model."""
BEAD_SECTION = 20e-6
"""Cross-section of the bead a shot is drawn as where the case does not say what is made [m^2]."""
MOST_FRAMES = 28
"""Instants of the moving picture of the mixer."""
LAST_FRAME = 1.1
"""Liquid entered at the last of them, over the mixer's hold-up [-]."""
COLUMNS = 90
"""Places along the mixer at which it is drawn."""

Condition = Literal["as it is", "mended"]


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


@dataclass(frozen=True, repr=False)
class Explanation:
    """Everything the page says.

    Parameters
    ----------
    trim
        Of all objectives.
    assumed_part
        Whether the case does not say what is made, and each shot is drawn as a straight bead.
    before
        What is made as the case is written.
    others
        The same by the residence models that stand beside the case's.
    action
        What to do first; None: nothing needs it, or nothing helps.
    after
        What is made with it.
    travel, travel_after
        How the last shot's lead goes through the mixer, without and with it.
    remedies
        Ranked.
    causes
        Ranked, where something was observed.
    sheet
        Settings of the machine.
    """

    trim: TrimResult
    assumed_part: bool
    before: Made
    others: dict[Model, Made]
    action: report.Action | None
    after: Made | None
    travel: Travel
    travel_after: Travel | None
    remedies: tuple[RankedRemedy, ...]
    causes: Ranking | None
    sheet: Sheet

    @property
    def case(self) -> Case:
        """The case as written."""
        return self.trim.case

    @cached_property
    def warnings(self) -> tuple[str, ...]:
        """What is unusual, one sentence each, none twice."""
        run = self.before.run
        said = [*self.trim.case.warnings, *run.to_dict()["warnings"], *report.over_rating(run)]
        said += self.before.production.warnings
        said += () if self.assumed_part else self.before.map.warnings
        if self.causes and not self.causes.observed.rich_is_soft:
            said.append(
                "what was seen calls soft what has too little hardener; this page calls it brittle"
            )
        return tuple(dict.fromkeys(w.plain(text).rstrip(".") + "." for text in said))

    @property
    def verdict(self) -> str:
        """How much of the part is off ratio."""
        made = self.before
        if made.off < w.LEAST * ML:
            return f"All of this part is on ratio: {w.volume(made.total)}."
        kinds = [
            f"{w.ml(volume)} {name}"
            for name, volume in (("soft", made.soft), ("brittle", made.brittle))
            if volume >= w.LEAST * ML
        ]
        return (
            f"{w.ml(made.off)} of {w.volume(made.total)} in this part is off ratio: "
            f"{', '.join(kinds)}."
        )

    @property
    def doubt(self) -> str:
        """Say where the residence model decides the verdict; empty where it does not."""
        least = self.before.run.target.resolve * self.before.total
        found = [self.others[model].off for model in SIDE_MODELS]
        if len({off > least for off in (self.before.off, *found)}) == 1:
            return ""
        plug, spread = (w.left(off) for off in found)
        return f"It depends on the mixer: nothing spread along it, {plug}; well spread, {spread}."

    @property
    def reason(self) -> str:
        """Why, for a reader who is no engineer."""
        run, target = self.before.run, self.before.run.target
        offset = run.ratio / target.ratio - 1.0
        if not -target.tolerance_low <= offset <= target.tolerance_high:
            return (
                f"The machine's own ratio is {w.percent(offset, sign=True)} off, all through the "
                "shot; no throttle mends that."
            )
        m, labels = run.shot, [w.plain(label) for label in run.case.labels]
        if m.swing < 1e-3 * ML:
            return "Both liquids start together."
        first, second = labels[::-1] if m.peak_lead >= -m.peak_lag else labels
        text = (
            f"When the valves open, {first} runs ahead of {second}. What enters the mixer off "
            "ratio leaves it off ratio, one mixer volume later."
        )
        if self.before.off < w.LEAST * ML and report.needs_mending(run):
            text += " Here it is still in the mixer when the run ends."
        return text

    @property
    def cup(self) -> str:
        """Which parts are not kept; empty where all are."""
        first = _first_kept(self.before)
        if not first:
            return ""
        parts = "Part 1 holds" if first == 1 else f"Parts 1 to {first} hold"
        return f"{parts} what the first shot after start-up left: to the cup."

    @property
    def remedy(self) -> str:
        """What to do first, and what that leaves."""
        if self.action is None or self.after is None:
            if self.before.off >= w.LEAST * ML:
                return "No setting and no remedy tried here mends it."
            return "" if self.doubt else "Nothing to do."
        return f"Do first: {self.action.name}. It leaves {w.left(self.after.off)} off ratio."

    @property
    def suspicion(self) -> str:
        """Likeliest cause of what was observed; empty where nothing was."""
        if self.causes is None or not self.causes.causes:
            return ""
        first, *rest = self.causes.causes
        text = f"Likeliest cause of what was seen: {w.plain(first.name)}"
        if self.causes.tie and rest:
            return f"{text}, not told apart from {w.plain(rest[0].name)}."
        return f"{text} ({w.percent(first.probability)})."

    @property
    def words(self) -> list[str]:
        """What the first screen says, in order."""
        said = (self.verdict, self.doubt, self.reason, self.cup, self.remedy, self.suspicion)
        return [text for text in said if text]

    def _repr_html_(self) -> str:
        from evenfront import explain_page

        return pages.cell(self.words, list(explain_page.pictures(self).values())[:1])

    def __repr__(self) -> str:
        """Words of the first screen."""
        return "\n".join(self.words)

    def to_dict(self) -> dict[str, Any]:
        """Everything the page says, units in the keys; None is what does not occur."""
        before = self.before
        return {
            "source": self.case.source,
            "title": self.case.title,
            "verdict": self.verdict,
            "doubt": self.doubt,
            "reason": self.reason,
            "remedy": self.remedy,
            "suspicion": self.suspicion,
            "cup": self.cup,
            "part": {
                "kind": "shot" if self.assumed_part else before.map.part.kind,
                "as_it_is": before.to_dict(),
                "mended": self.after.to_dict() if self.after else None,
                **{name: self.others[name].to_dict() for name in SIDE_MODELS},
            },
            "first_to_do": self.action.name if self.action else None,
            "compared": [
                {"measure": name, "as_it_is": one, "mended": other}
                for name, one, other in self._compared()
            ],
            "shots": list(self._shots()),
            "travel": self._travel(),
            "causes": self.causes.to_dict() if self.causes else None,
            "remedies": [remedy.to_dict() for remedy in self.remedies],
            "resolve_mL": self.before.run.target.resolve * self.before.total / ML,
            "sheet": self.sheet.to_dict(),
            "warnings": list(self.warnings),
            "assumptions": list(self.case.assumptions),
        }

    def _compared(self) -> Iterator[tuple[str, float | None, float | None]]:
        """Measures of the last shot, as it is and mended."""
        runs = [self.before.run, self.after.run if self.after else None]
        told = [run.to_dict() if run else {} for run in runs]
        for name in COMPARED:
            one, other = (each.get(name) for each in told)
            yield name, one, other

    def _shots(self) -> Iterator[dict[str, Any]]:
        made = self.before
        for out in made.production.shots:
            m = out.measures
            yield {
                "shot": out.shot + 1,
                "class": _class_words(made.run.classes[out.shot]),
                "volume_mL": (out.end - out.start) / ML,
                "off_ratio_mL": m.volume / ML,
                "highest_ratio_error": m.highest_error,
                "lowest_ratio_error": m.lowest_error,
                "oldest_s": out.oldest,
            }

    def _travel(self) -> dict[str, Any]:
        t = self.travel
        return {
            "shot": t.shot + 1,
            "settling_mm": {
                model: None if (s := t.settling[model]) is None else s * 1e3
                for model in SIDE_MODELS
            },
            "settling_elements": {model: t.elements[model] for model in SIDE_MODELS},
            "lengths": list(self._lengths()),
        }

    def _lengths(self) -> Iterator[dict[str, Any]]:
        """One row per length of the mixer, plug and Pe 100 side by side."""
        rows: dict[float, dict[str, Any]] = {}
        for row in self.travel.table:
            if row.model in SIDE_MODELS:
                told = rows.setdefault(
                    row.length, {"length_mm": row.length * 1e3, "elements": row.elements}
                )
                told[f"off_ratio_{row.model}_mL"] = row.outlet.volume / ML
        yield from rows.values()


def _class_words(one: ShotClass) -> str:
    """Name of a shot's class, with its number in the stroke where that tells."""
    return one.name if one.name != IN_STROKE else f"{w.ordinal(one.in_stroke)} in the stroke"


COMPARED = (
    "off_ratio_volume_outlet_mL",
    "soft_volume_mL",
    "surplus_mL",
    "missing_mL",
    "swing_mL",
    "net_lead_mL",
    "steady_resin_flow_mL_per_s",
    "steady_hardener_flow_mL_per_s",
    "steady_resin_cylinder_pressure_bar",
    "steady_hardener_cylinder_pressure_bar",
    "steady_mixer_pressure_bar",
)
"""Measures of the last shot that are told as it is and mended, as a run names them."""


def explain(case: Case, ranking: Ranking | None = None) -> Explanation:
    """Follow a case to its part, find the causes' and remedies' order and the settings.

    Parameters
    ----------
    case
        The machine, what it is asked to do and, in its table `part`, what is made.
    ranking
        Causes of what was observed.

    Raises
    ------
    LookupError
        Where the case delivers no shot; the message says why.
    """
    result = trim(case)
    if not report.delivers(result.before):
        raise LookupError(report.verdict(result.before))
    assumed, before = make(result.before)
    remedies = rank_remedies(case)
    action = report.first_to_do(result) if report.needs_mending(result.before) else None
    if action is not None and action.answer is not None:
        remedies = _with_answer(remedies, action, action.answer)
    run = next((r.run for r in remedies if action and r.name == action.name), None)
    after = None if run is None else make(run, assumed=assumed, part=before.part)[1]
    return Explanation(
        trim=result,
        assumed_part=assumed,
        before=before,
        others={
            model: make(result.before, model, assumed=assumed, part=before.part)[1]
            for model in SIDE_MODELS
        },
        action=action if after else None,
        after=after,
        travel=_travelled(before.run),
        travel_after=_travelled(after.run) if after else None,
        remedies=tuple(remedies),
        causes=ranking,
        sheet=make_sheet(result),
    )


def _travelled(run: Run) -> Travel:
    held = _core.hold_up(run.machine.mixer)
    instants = [LAST_FRAME * held * (i + 1) / MOST_FRAMES for i in range(MOST_FRAMES)]
    return travel(run, instants=instants, places=[(i + 0.5) / COLUMNS for i in range(COLUMNS)])


def _with_answer(
    remedies: list[RankedRemedy], action: report.Action, answer: Answer
) -> list[RankedRemedy]:
    """Put a trim among the remedies where it is not there: of another objective, it costs less."""
    if any(remedy.name == action.name for remedy in remedies):
        return remedies
    before = answer.before
    highest = [
        max(stream.pressure.max() for stream in (run.trace.resin, run.trace.hardener))
        for run in (answer.after, before)
    ]
    trimmed = RankedRemedy(
        name=action.name,
        kinds=("throttle",),
        run=answer.after,
        soft_before=before.shot.outlet.soft_volume,
        soft_after=action.soft,
        off_after=action.off,
        flow_change=-answer.flow_lost,
        pressure_added=float(highest[0] - highest[1]),
        waste=0.0,
        wait=0.0,
    )
    place = sum(r.soft_removed > trimmed.soft_removed and not r.too_fine for r in remedies)
    return [*remedies[:place], trimmed, *remedies[place:]]


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
        kept = range(_first_kept(made), found.parts)
        part = max(kept, key=lambda i: (round(-found.volume(i, "ok") / ML, 2), i))
    return replace(made, part=min(part, found.parts - 1))


def _first_kept(made: Made) -> int:
    """Give the first part that holds nothing of the first shot after start-up; 0 if there is none.

    What enters in that shot leaves until a mixer volume after its end.
    """
    run, left = made.run, made.production
    ends = [shot.end for shot in left.shots if run.classes[shot.shot].name == START_UP]
    clear = max(ends) + _core.hold_up(run.machine.mixer) if ends else 0.0
    starts = {shot.shot: shot.start for shot in left.shots}
    fresh = (i for i, shots in enumerate(made.map.shots) if starts[shots[0]] >= clear)
    return next(fresh, 0)
