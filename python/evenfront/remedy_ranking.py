"""Remedies of a case, ranked: each simulated on this machine, alone and two together.

Alone stand the trim of least soft volume and everything the core can change in one respect. Two
together are simulated as such: the second is found anew on the machine that has the first. What
counts is the soft volume the last shot leaves in the part, by the case's residence model.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from evenfront import _core, mending, run_report
from evenfront.run import BAR, ML, Run
from evenfront.shot_class import START_UP
from evenfront.trimming import Answer

if TYPE_CHECKING:
    from evenfront.case import Case

FIRSTS = 4
"""Remedies on which a second one is tried, the best ones first."""
WORTH_A_SECOND = 0.05
"""Share of the soft volume a second remedy must still remove to be named [-]; ours."""
LEAST_BACK_PRESSURE = 0.005 * BAR
"""A trim that adds less to both sides leaves the throttles as they are [Pa]."""
ALONE = frozenset({"purge", "delay_resin", "delay_hardener"})
"""Kinds that no other is built on: a purged shot is no longer the shot that is to be mended, and a
delay is found for one machine to the millisecond."""


@dataclass(frozen=True)
class RankedRemedy:
    """One remedy, or two together.

    Parameters
    ----------
    name
        What to do, by how much.
    kinds
        Kind of each, "throttle" for a trim.
    run
        The case with it.
    soft_before, soft_after
        Soft volume of the last shot in the part [m^3].
    off_after
        Off-ratio volume that is left [m^3].
    flow_change
        Steady flow after over before, less 1 [-].
    pressure_added
        Highest pressure in the run, less that before [Pa].
    waste
        Liquid to the cup, per shot [m^3].
    wait
        Time lost, per shot [s].
    delay
        By how much later a shut-off opens [s]; 0: as before.
    """

    name: str
    kinds: tuple[str, ...]
    run: Run
    soft_before: float
    soft_after: float
    off_after: float
    flow_change: float
    pressure_added: float
    waste: float
    wait: float
    delay: float = 0.0

    @property
    def soft_removed(self) -> float:
        """Soft volume removed from the part [m^3]."""
        return self.soft_before - self.soft_after

    @cached_property
    def over_rating(self) -> tuple[str, ...]:
        """Sentences for pressures above their rating."""
        return tuple(run_report.over_rating(self.run))

    @property
    def too_fine(self) -> bool:
        """Whether it asks for less time than valves repeat."""
        return 0.0 < self.delay < mending.VALVE_REPEATS

    @property
    def within_ratings(self) -> bool:
        """Whether every pressure of the run stays within the ratings that are known."""
        return not self.over_rating

    @property
    def lasting(self) -> bool:
        """Whether it can be set, keeps the ratings and does not throw away part of every shot.

        A single first shot from rest may go to the cup.
        """
        single = len(self.run.classes) == 1 and self.run.classes[0].name == START_UP
        purged = "purge" in self.kinds and not single
        return self.within_ratings and not self.too_fine and not purged

    def to_dict(self) -> dict[str, Any]:
        """Plain values, units in the keys."""
        return {
            "remedy": self.name,
            "kinds": list(self.kinds),
            "soft_removed_mL": self.soft_removed / ML,
            "soft_volume_mL": self.soft_after / ML,
            "off_ratio_volume_outlet_mL": self.off_after / ML,
            "flow_change_fraction": self.flow_change,
            "pressure_added_bar": self.pressure_added / BAR,
            "waste_mL": self.waste / ML,
            "wait_s": self.wait,
            "too_fine": self.too_fine,
            "lasting": self.lasting,
            "within_ratings": self.within_ratings,
            "over_rating": list(self.over_rating),
        }


def rank_remedies(case: Case, *, pairs: bool = True, threads: int = 0) -> list[RankedRemedy]:
    """Simulate the remedies of a case, alone and two together, most soft volume removed first.

    Parameters
    ----------
    case
        The case as written.
    pairs
        Whether to add the best combination of two.
    threads
        Threads to use; 0 is one a core. The answer does not depend on it.

    Returns
    -------
    Those that last first; of the combinations only the best, if it removes at least
    `WORTH_A_SECOND` of the soft volume more than any one remedy that lasts.
    """
    shop = _Shop(Run(case), threads)
    alone = sorted(shop.alone(), key=_order)
    if not pairs or not shop.soft > 0.0:
        return alone
    together = sorted(shop.together(alone), key=_order)
    best = together[0] if together else None
    most = max((r.soft_removed for r in alone if r.lasting), default=0.0)
    if best and best.lasting and best.soft_removed >= most + WORTH_A_SECOND * shop.soft:
        alone.append(best)
    return sorted(alone, key=_order)


def _order(remedy: RankedRemedy) -> tuple[bool, float]:
    return not remedy.lasting, -remedy.soft_removed


class _Shop:
    """The case as written and what is tried on it."""

    def __init__(self, before: Run, threads: int) -> None:
        self.before, self.threads = before, threads
        self.case = before.case
        self.soft = before.shot.outlet.soft_volume if before.measures.shots else 0.0
        self.highest = _highest(before)

    def alone(self) -> Iterator[RankedRemedy]:
        """Every remedy by itself."""
        yield from self._trimmed(self.before)
        for remedy in self._others(self.before.machine, self.before.sequence):
            yield self._single(remedy)

    def together(self, alone: list[RankedRemedy]) -> Iterator[RankedRemedy]:
        """Pair different remedies: others on the best of those alone, a trim on the best."""
        firsts = [r for r in alone if r.soft_removed > 0.0 and r.kinds[0] not in ALONE]
        untrimmed = [r for r in firsts if r.kinds[0] != "throttle"]
        tried: set[frozenset[str]] = set()
        for first in firsts[:FIRSTS]:
            seconds = [self._single(r) for r in self._others(first.run.machine, first.run.sequence)]
            if untrimmed and first is untrimmed[0]:
                seconds = [*self._trimmed(first.run), *seconds]
            for second in seconds:
                pair = frozenset(first.kinds + second.kinds)
                if second.kinds[0] in ALONE or len(pair) == 1 or pair in tried:
                    continue
                tried.add(pair)
                yield _pair(first, second)

    def _others(self, machine: _core.Machine, sequence: _core.Sequence) -> list[_core.Remedy]:
        case = self.case
        return _core.remedies(machine, sequence, case.target, self.threads, case.numerics)

    def _single(self, remedy: _core.Remedy) -> RankedRemedy:
        run = Run(self.case, remedy.machine, remedy.sequence)
        name = mending.remedy_name(remedy, self.case.labels)
        outlet = remedy.trial.outlet
        kind = remedy.kind.name
        ranked = self._ranked(name, kind, run, outlet)
        delay = remedy.amount if kind.startswith("delay") else 0.0
        return replace(ranked, waste=remedy.waste, wait=remedy.wait, delay=delay)

    def _trimmed(self, before: Run) -> Iterator[RankedRemedy]:
        """Trim of least soft volume of a run, if there is one."""
        case, limits = self.case, self.case.trim
        most = limits.max_back_pressure
        found = _core.trim(
            before.machine,
            before.sequence,
            case.target,
            [_core.Objective.least_soft],
            _core.TrimOptions(
                max_back_pressure=math.inf if most is None else most,
                least_flow=limits.least_flow,
                threads=self.threads,
            ),
            case.numerics,
        ).answers[0]
        answer = Answer("least_soft", found, before)
        if answer.feasible and max(map(abs, answer.back_pressure)) > LEAST_BACK_PRESSURE:
            name = mending.trim_name(answer)
            yield self._ranked(name, "throttle", answer.after, found.trial.outlet)

    def _ranked(self, name: str, kind: str, run: Run, outlet: _core.OffRatio) -> RankedRemedy:
        flows = [r.steady.resin.flow + r.steady.hardener.flow for r in (run, self.before)]
        return RankedRemedy(
            name=name,
            kinds=(kind,),
            run=run,
            soft_before=self.soft,
            soft_after=outlet.soft_volume,
            off_after=outlet.volume,
            flow_change=flows[0] / flows[1] - 1.0 if flows[1] > 0.0 else 0.0,
            pressure_added=_highest(run) - self.highest,
            waste=0.0,
            wait=0.0,
        )


def _pair(first: RankedRemedy, second: RankedRemedy) -> RankedRemedy:
    """Name and cost of a remedy that was found on a machine with another one."""
    return replace(
        second,
        name=f"{first.name}; {second.name}",
        kinds=first.kinds + second.kinds,
        waste=first.waste + second.waste,
        wait=first.wait + second.wait,
    )


def _highest(run: Run) -> float:
    """Highest pressure anywhere in a run [Pa]."""
    return float(max(run.trace.resin.pressure.max(), run.trace.hardener.pressure.max()))
