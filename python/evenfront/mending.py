"""Ways to mend a shot, trims and remedies alike: their names, costs, order, the first to do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from evenfront import _core
from evenfront import units as u
from evenfront import words as w
from evenfront.run import BAR, ML
from evenfront.shot_class import START_UP
from evenfront.trimming import ENOUGH, Answer, TrimResult

if TYPE_CHECKING:
    pass
from evenfront.shot_words import delivers, needs_mending, shot_volume

VALVE_REPEATS = 0.01
"""How well shut-offs repeat their delay [s]; common practice, no source."""
WORTH = 0.2
"""Share of the soft volume a remedy must remove to be listed [-]; ours."""


@dataclass(frozen=True)
class Action:
    """One way to mend the shot, a trim or a remedy.

    Parameters
    ----------
    name
        What to do.
    effort
        0: a setting, a valve or a vent screw; 1: the liquids, heat or waste; 2: new parts.
    soft, off
        Soft and off-ratio volume left [m^3].
    removed
        Soft volume removed [m^3].
    share
        What is paid: shares of flow, shot volume and shot time lost, added [-].
    cost
        The same in words.
    answer
        The trim behind it, None for a remedy.
    remedy
        The remedy's kind, empty for a trim.
    too_fine
        Whether valves do not repeat well enough for it.
    """

    name: str
    effort: Literal[0, 1, 2]
    soft: float
    off: float
    removed: float
    share: float
    cost: str
    answer: Answer | None = None
    remedy: str = ""
    too_fine: bool = False


_EFFORT: Mapping[str, Literal[0, 1, 2]] = {
    "preload": 0,
    "hold": 0,
    "delay_resin": 0,
    "delay_hardener": 0,
    "bleed_pocket": 0,
    "degas_resin": 1,
    "degas_hardener": 1,
    "heat_resin": 1,
    "purge": 1,
    "shorter_hose": 2,
    "stiffer_hose": 2,
}
_UNCHANGED = "throttles as they are"


def trim_name(answer: Answer) -> str:
    """Which throttles to close, by how much back pressure."""
    closing = [
        (w.plain(label), pressure)
        for label, pressure in zip(answer.before.case.labels, answer.back_pressure, strict=True)
        if abs(pressure) > 0.005 * BAR
    ]
    if not closing:
        return _UNCHANGED
    text = ", ".join(
        f"{label} {'+' if p > 0 else ''}{u.digits(p / BAR, 2)}" for label, p in closing
    )
    psi = ", ".join(
        f"{'+' if p > 0 else ''}{u.digits(u.convert(p, u.PRESSURE, 'psi'), 2)}" for _, p in closing
    )
    return f"throttle {text} bar ({psi} psi)"


def remedy_name(remedy: _core.Remedy, labels: tuple[str, str]) -> str:
    """Say what to do, by how much."""
    resin, hardener = (w.plain(label) for label in labels)
    amount = remedy.amount
    place = w.plain(remedy.place)
    return {
        "preload": f"preload for {u.digits(amount, 2)} s",
        "hold": "hold the drive on between shots",
        "delay_resin": f"open {resin} {u.digits(amount * 1e3, 2)} ms later",
        "delay_hardener": f"open {hardener} {u.digits(amount * 1e3, 2)} ms later",
        "degas_resin": f"degas {resin} to {w.percent(amount)}",
        "degas_hardener": f"degas {hardener} to {w.percent(amount)}",
        "bleed_pocket": f"bleed {w.volume(amount)} of air at {place}",
        "heat_resin": f"warm the {resin} {place} {w.kelvin_shift(amount)}",
        "purge": f"purge the first {w.ml(amount)} mL (cc) to the cup",
        "shorter_hose": f"shorten the {resin} {place} to {w.metres(amount)}",
        "stiffer_hose": f"{resin} {place} of {u.show(amount, u.WALL_EXPANSION, 2)}",
    }[remedy.kind.name]


def _flow_cost(change: float) -> str:
    if abs(change) < 0.005:
        return ""
    return f"{w.percent(abs(change))} {'more' if change > 0 else 'less'} flow"


EFFORTS = {
    "degas_resin": "vacuum",
    "degas_hardener": "vacuum",
    "heat_resin": "heat",
    "bleed_pocket": "minutes",
    "shorter_hose": "new hose",
    "stiffer_hose": "new hose",
}
"""What a kind of remedy takes, in a word."""


def _remedy_cost(remedy: _core.Remedy) -> str:
    costs = [_flow_cost(remedy.flow_change)]
    if remedy.waste > 0.0:
        costs.append("waste")
    if remedy.wait > 0.0:
        costs.append(f"{u.digits(remedy.wait, 2)} s")
    costs.append(EFFORTS.get(remedy.kind.name, ""))
    return ", ".join(filter(None, costs)) or "none"


def actions(result: TrimResult) -> tuple[Action, ...]:
    """Trims and remedies together, cheapest first: by effort, then by what is paid."""
    before = result.before.shot.outlet
    found: list[Action] = []
    for answer in result.answers.values():
        outlet = answer.core.trial.outlet
        if not answer.feasible:
            continue
        action = Action(
            trim_name(answer),
            0,
            outlet.soft_volume,
            outlet.volume,
            before.soft_volume - outlet.soft_volume,
            max(0.0, answer.flow_lost),
            _flow_cost(-answer.flow_lost) or "none",
            answer,
        )
        new = not any(known.name == action.name for known in found)
        if new and action.name != _UNCHANGED:
            found.append(action)
    for remedy in result.remedies:
        outlet, kind = remedy.trial.outlet, remedy.kind.name
        found.append(
            Action(
                remedy_name(remedy, result.case.labels),
                _EFFORT[kind],
                outlet.soft_volume,
                outlet.volume,
                remedy.soft_removed,
                max(0.0, -remedy.flow_change)
                + remedy.waste / shot_volume(result.before.shot)
                + remedy.wait / result.before.shot.duration,
                _remedy_cost(remedy),
                remedy=kind,
                too_fine=kind.startswith("delay") and remedy.amount < VALVE_REPEATS,
            )
        )
    return tuple(sorted(found, key=lambda action: (action.effort, action.share, -action.removed)))


def worthwhile(result: TrimResult) -> tuple[Action, ...]:
    """Actions that remove enough of the soft volume to be listed, and can be set."""
    least = max(WORTH * result.before.shot.outlet.soft_volume, 0.005 * ML)
    return tuple(
        action for action in actions(result) if action.removed >= least and not action.too_fine
    )


def acts(result: TrimResult) -> bool:
    """Whether the throttles are to be turned: asked for alone, or worth listing."""
    answer = result.answer
    if len(result.answers) == 1:
        return answer.feasible
    return any(action.answer is not None for action in worthwhile(result))


def helps(result: TrimResult) -> bool:
    """Whether the answer is "yes": the asked objective, or with several any way to mend it."""
    if not delivers(result.before):
        return False
    if len(result.answers) == 1:
        return result.answer.feasible
    return bool(worthwhile(result)) or not needs_mending(result.before)


def first_to_do(result: TrimResult) -> Action | None:
    """Give the cheapest action that does nearly as much as the best; None: nothing helps.

    Trapped air is a fault, so bleeding comes before all else. New parts are not where to start.
    To purge every shot is no remedy; a single first shot goes to the cup where nothing else helps.
    For such a shot no shut-off is delayed: the delay would spoil the shots after it.
    """
    single = result.before.classes[-1].name == START_UP
    listed = [action for action in worthwhile(result) if action.effort < 2]
    usual = [
        action
        for action in listed
        if action.remedy != "purge" and not (single and action.remedy.startswith("delay"))
    ]
    bleed = next((action for action in usual if action.remedy == "bleed_pocket"), None)
    best = max((action.removed for action in usual), default=0.0)
    first = bleed or next((a for a in usual if a.removed >= ENOUGH * best), None)
    if first is None and single:
        return next((action for action in listed if action.remedy == "purge"), None)
    return first
