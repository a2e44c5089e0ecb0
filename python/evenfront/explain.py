"""Why a part is soft, and what mends it: everything the page and ``--json`` say, computed once.

The true sequence is followed to the part.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from evenfront import _core, mending, pages, run_report, shot_words
from evenfront import words as w
from evenfront.made import Made, first_kept, make
from evenfront.part import Travel, travel
from evenfront.remedy_ranking import RankedRemedy, rank_remedies
from evenfront.run import ML, Model, Run
from evenfront.sheet import Sheet, first_needed, make_sheet
from evenfront.shot_class import IN_STROKE, ShotClass
from evenfront.trimming import Answer, TrimResult, trim

if TYPE_CHECKING:
    from evenfront.case import Case
    from evenfront.causes import Ranking

SIDE_MODELS: tuple[Model, Model] = ("plug", "dispersed")
"""What stands beside the case's own residence model."""
MOST_FRAMES = 28
"""Instants of the moving picture of the mixer."""
LAST_FRAME = 1.1
"""Liquid entered at the last of them, over the mixer's hold-up [-]."""
COLUMNS = 90
"""Places along the mixer at which it is drawn."""


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
    action: mending.Action | None
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
        said = [*self.trim.case.warnings, *run.to_dict()["warnings"], *run_report.over_rating(run)]
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
        if self.before.off < w.LEAST * ML and not shot_words.needs_mending(run):
            return "What one liquid runs ahead as the valves open stays within tolerance."
        first, second = labels[::-1] if m.peak_lead >= -m.peak_lag else labels
        text = (
            f"When the valves open, {first} runs ahead of {second}. What enters the mixer off "
            "ratio leaves it off ratio, one mixer volume later."
        )
        if self.before.off < w.LEAST * ML and shot_words.needs_mending(run):
            text += " Here it is still in the mixer when the run ends."
        return text

    @property
    def cup(self) -> str:
        """Which parts are not kept; empty where all are."""
        first = first_kept(self.before)
        if not first:
            return ""
        parts = "Part 1 holds" if first == 1 else f"Parts 1 to {first} hold"
        return f"{parts} what the first shot after start-up left: to the cup."

    @property
    def remedy(self) -> str:
        """What to do first, and what that leaves."""
        if self.action is None or self.after is None:
            worse = shot_words.worse_than_last(self.before.run)
            if worse and not shot_words.needs_mending(self.before.run):
                return worse
            if self.before.off >= w.LEAST * ML:
                return "No setting and no remedy tried here mends it."
            return "" if self.doubt else "Nothing to do."
        if self.after.off >= self.before.off > 0.0:
            shots = [made.run.shot.outlet.volume for made in (self.before, self.after)]
            piece = self.before.run.target.resolve * self.before.total
            return (
                f"First for the shot as a whole: {self.action.name}, off ratio {w.ml(shots[0])} to "
                f"{w.volume(shots[1])}. Not so in this part, counted by pieces of "
                f"{w.volume(piece)}: {w.ml(self.before.off)} to {w.volume(self.after.off)}."
            )
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
        return f"{text} ({w.chance(first.probability)})."

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
    if not shot_words.delivers(result.before):
        raise LookupError(shot_words.verdict(result.before))
    assumed, before = make(result.before)
    remedies = rank_remedies(case)
    action = first_needed(result)
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
    remedies: list[RankedRemedy], action: mending.Action, answer: Answer
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
