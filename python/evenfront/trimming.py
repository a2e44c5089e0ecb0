"""Trim of a case: throttle settings that remove the lead, remedies beside them, what moves them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from scipy.optimize import brentq

from evenfront import _core, units
from evenfront.run import BAR, ML, Run

if TYPE_CHECKING:
    from evenfront.case import Case

ObjectiveName = Literal["null", "least_soft", "least_excess"]
Side = Literal["resin", "hardener"]

_OBJECTIVES = {
    "null": _core.Objective.null_lead,
    "least_soft": _core.Objective.least_soft,
    "least_excess": _core.Objective.least_excess,
}
OBJECTIVES: tuple[ObjectiveName, ...] = ("null", "least_soft", "least_excess")
"""All objectives, in the order they are reported."""

ENOUGH = 0.8
"""Share of the best gain from which on a cheaper way is enough [-]; ours."""
RESISTANCE = 1e11
"""One bar*s/mL [Pa s/m^3]."""


@dataclass(frozen=True)
class Answer:
    """Best settings for one objective.

    Parameters
    ----------
    objective
        What was looked for.
    core
        Settings, band and measures as the core found them [SI].
    before
        The case as written.
    """

    objective: ObjectiveName
    core: _core.Answer
    before: Run = field(repr=False)

    @property
    def feasible(self) -> bool:
        """Whether there is an answer."""
        return self.core.feasible

    @property
    def reason(self) -> str:
        """Why there is none, or what to know first."""
        return self.core.reason

    @property
    def settings(self) -> _core.Settings:
        """Settings of both throttles, resistance [Pa s/m^3] or turns."""
        return self.core.trial.settings

    @cached_property
    def machine(self) -> _core.Machine:
        """The machine at the answer."""
        return with_settings(self.before.machine, self.settings)

    @cached_property
    def after(self) -> Run:
        """The case at the answer's settings."""
        return Run(self.before.case, self.machine, self.before.sequence)

    @property
    def back_pressure(self) -> tuple[float, float]:
        """Back pressure added to resin and hardener [Pa]."""
        return self.core.trial.resin_back_pressure, self.core.trial.hardener_back_pressure

    @property
    def flow_lost(self) -> float:
        """Share of the steady flow that the settings cost [-]."""
        before, after = (_total_flow(run.steady) for run in (self.before, self.after))
        return 1.0 - after / before if before > 0.0 else 0.0

    @cached_property
    def restoring_force(self) -> float | None:
        """Drive force that brings the steady flow back [N].

        None where nothing flowed, and for drives that are not one force on one shaft.
        """
        goal = _total_flow(self.before.steady)
        one_force = self.machine.drive.kind == _core.DriveKind.force
        if not goal > 0.0 or not one_force or self.machine.hardener_axis is not None:
            return None
        written = self.machine.drive.force
        if abs(self.flow_lost) < 1e-9:
            return written

        def short(force: float) -> float:
            return _total_flow(_core.steady_state(self.machine, force)) - goal

        high = written
        while short(high) < 0.0 and high < 1e3 * written:
            high *= 1.5
        return float(brentq(short, 0.5 * written, high, rtol=1e-9))

    @cached_property
    def restored(self) -> Run | None:
        """The case at the answer with the drive that restores the flow, simulated again."""
        if self.restoring_force is None:
            return None
        drive = self.machine.drive.replace(force=self.restoring_force)
        return Run(self.before.case, self.machine.replace(drive=drive), self.before.sequence)

    def to_dict(self) -> dict[str, Any]:
        """Answer with units in the keys; ``before`` and ``after`` as of a run."""
        resin, hardener = self.back_pressure
        return {
            "objective": self.objective,
            "feasible": self.feasible,
            "reason": self.reason,
            "before": self.before.to_dict(),
            "after": self.after.to_dict() if self.feasible else None,
            "resin_setting": self._setting("resin"),
            "hardener_setting": self._setting("hardener"),
            "resin_back_pressure_bar": resin / BAR,
            "hardener_back_pressure_bar": hardener / BAR,
            "flow_lost_fraction": self.flow_lost if self.feasible else None,
            "restoring_force_N": self.restoring_force if self.feasible else None,
            "target_gauges": self._gauges() if self.feasible else None,
            "lowest_net_lead_mL": self.core.lowest_net_lead / ML,
            "highest_net_lead_mL": self.core.highest_net_lead / ML,
            "next_fold_setting": _in_unit(self.core.fold, self._swept_throttle()),
        }

    def backlash_band(self, name: Side) -> tuple[float, float] | None:
        """Give the settings a stem with backlash may stand at [own unit]; None where it is unknown.

        A mark met from the other side is off by all of the lost motion.
        """
        lost = self.before.case.resolved.backlash.get(name)
        if lost is None:
            return None
        throttle = getattr(self.machine, name).throttle
        here = _core.setting(throttle)
        most = here + lost
        if throttle.valve is not None:
            most = min(most, throttle.valve.openings[-1] if throttle.valve.openings else most)
        return max(here - lost, 0.0), most

    def _setting(self, name: Side) -> dict[str, Any] | None:
        """Give a setting with, where the backlash is known, the band it stands for."""
        throttle = getattr(self.machine, name).throttle
        setting = _in_unit(_core.setting(throttle), throttle)
        band = self.backlash_band(name)
        if setting is not None and band is not None:
            scale = setting_unit(throttle)[1]
            setting |= {"low": band[0] / scale, "high": band[1] / scale}
        return setting

    def _swept_throttle(self) -> _core.Throttle:
        band = (self.core.band_open.settings, self.core.band_closed.settings)
        swept = self.machine.hardener if band[0].resin == band[1].resin else self.machine.resin
        return swept.throttle

    def _gauges(self) -> dict[str, Any]:
        """Give readings to trim by, closed and flowing, with the band in which the answer holds."""
        trials = (self.core.trial, self.core.band_open, self.core.band_closed)

        def reading(name: str) -> dict[str, float]:
            value, *band = (getattr(trial, name) / BAR for trial in trials)
            return {"value": value, "low": min(value, *band), "high": max(value, *band)}

        return {
            "resin_cylinder_closed_bar": reading("resin_cylinder_closed"),
            "hardener_cylinder_closed_bar": reading("hardener_cylinder_closed"),
            "resin_cylinder_flowing_bar": reading("resin_cylinder"),
            "hardener_cylinder_flowing_bar": reading("hardener_cylinder"),
            "resin_head_flowing_bar": reading("resin_head"),
            "hardener_head_flowing_bar": reading("hardener_head"),
        }

    def _repr_html_(self) -> str:
        from evenfront import report

        return report.answer_html(self)

    def __repr__(self) -> str:
        """Verdict in one sentence."""
        from evenfront import trim_report

        return trim_report.answer_verdict(self)


class TrimResult:
    """The case as written, one answer per objective, remedies and what moves the answer.

    Remedies and sensitivities are simulated when first asked for.
    """

    def __init__(
        self, case: Case, objectives: tuple[ObjectiveName, ...], options: _core.TrimOptions
    ) -> None:
        self.case = case
        self.options = options
        self.before = Run(case)
        self.core = _core.trim(
            self.before.machine,
            self.before.sequence,
            self.before.target,
            [_OBJECTIVES[name] for name in objectives],
            options,
            case.numerics,
        )
        self.answers: dict[ObjectiveName, Answer] = {
            name: Answer(name, answer, self.before)
            for name, answer in zip(objectives, self.core.answers, strict=True)
        }

    @property
    def answer(self) -> Answer:
        """The answer to act on.

        Of those that remove at least `ENOUGH` of the soft volume the best one removes, the one
        that leaves most flow; the only one, or that of least soft volume, where none removes any.
        """
        before = self.core.before.outlet.soft_volume
        gains = {
            name: before - answer.core.trial.outlet.soft_volume
            for name, answer in self.answers.items()
            if answer.feasible
        }
        best = max(gains.values(), default=0.0)
        if len(self.answers) == 1 or not best > 0.0:
            return self.answers.get("least_soft") or next(iter(self.answers.values()))
        enough = [self.answers[name] for name, gain in gains.items() if gain >= ENOUGH * best]
        return max(enough, key=lambda answer: answer.core.trial.flow)

    @cached_property
    def curve(self) -> tuple[_core.Trial, ...]:
        """Settings of the swept throttle through the answer to act on, open to closed."""
        here, swept = self.answer.settings, "resin" if self.core.curve_sweeps_resin else "hardener"
        settings = [here.replace(**{swept: getattr(t.settings, swept)}) for t in self.core.curve]
        if settings == [trial.settings for trial in self.core.curve]:
            return tuple(self.core.curve)
        return tuple(
            _core.try_settings(
                self.before.machine,
                self.before.sequence,
                self.before.target,
                settings,
                self.options,
                self.case.numerics,
            )
        )

    @cached_property
    def remedies(self) -> tuple[_core.Remedy, ...]:
        """What else mends the shot, each simulated, most soft volume removed first."""
        return tuple(
            _core.remedies(
                self.before.machine,
                self.before.sequence,
                self.before.target,
                self.options.threads,
                self.case.numerics,
            )
        )

    @cached_property
    def sensitivities(self) -> tuple[_core.Sensitivity, ...]:
        """What moves the answer, each simulated."""
        answer = self.answer
        return tuple(
            _core.sensitivities(
                answer.machine,
                self.before.sequence,
                self.before.target,
                _OBJECTIVES[answer.objective],
                self.core.curve_sweeps_resin,
                self.options.threads,
                self.case.numerics,
            )
        )

    def to_dict(self) -> dict[str, Any]:
        """One objective: that answer. Several: ``before``, each answer by name, ``remedies``."""
        if len(self.answers) == 1:
            return self.answer.to_dict()
        return {
            "before": self.before.to_dict(),
            **{name: answer.to_dict() for name, answer in self.answers.items()},
            "remedies": [self._remedy(remedy) for remedy in self.remedies],
            "sensitivities": [self._sensitivity(s) for s in self.sensitivities],
        }

    def _remedy(self, remedy: _core.Remedy) -> dict[str, Any]:
        outlet = remedy.trial.outlet
        return {
            "remedy": remedy.kind.name,
            "amount": _amount(remedy),
            "place": remedy.place,
            "soft_removed_mL": remedy.soft_removed / ML,
            "soft_volume_mL": outlet.soft_volume / ML,
            "off_ratio_volume_outlet_mL": outlet.volume / ML,
            "waste_mL": remedy.waste / ML,
            "wait_s": remedy.wait,
            "flow_change_fraction": remedy.flow_change,
        }

    def _sensitivity(self, s: _core.Sensitivity) -> dict[str, Any]:
        side = (
            self.answer.machine.resin
            if self.core.curve_sweeps_resin
            else (self.answer.machine.hardener)
        )
        return {
            "assumption": s.assumption.name,
            "value": s.value,
            "changed": s.changed,
            "soft_volume_mL": s.trial.outlet.soft_volume / ML,
            "net_lead_mL": s.trial.net_lead / ML,
            "best_setting": _in_unit(s.best_setting, side.throttle),
            "best_soft_volume_mL": s.best.outlet.soft_volume / ML,
        }

    def __repr__(self) -> str:
        """Verdict of the answer to act on."""
        return repr(self.answer)

    def _repr_html_(self) -> str:
        from evenfront import report

        return report.trim_html(self)


def trim(
    case: Case,
    objective: ObjectiveName | Iterable[ObjectiveName] = OBJECTIVES,
    *,
    fix: Side | None = None,
    max_back_pressure: str | None = None,
    least_flow: float | None = None,
    threads: int = 0,
) -> TrimResult:
    """Search both throttles for the settings that remove the lead of the last shot.

    Parameters
    ----------
    case
        The case as written; its ``[trim]`` table gives what is left out here.
    objective
        One or more of ``null``, ``least_soft``, ``least_excess``; all by default.
    fix
        The throttle to leave as it is.
    max_back_pressure
        Largest pressure a throttle may add, with its unit, such as ``"60 bar"``.
    least_flow
        Share of the steady flow that must be left [-].
    threads
        Threads to use; 0 is one a core. The answer does not depend on it.

    Raises
    ------
    ValueError
        For an objective, side or limit that cannot be.
    """
    names = (objective,) if isinstance(objective, str) else tuple(objective)
    for name in names:
        if name not in _OBJECTIVES:
            raise ValueError(f"objective = {name!r}: must be one of {', '.join(OBJECTIVES)}")
    if fix not in (None, "resin", "hardener"):
        raise ValueError(f"fix = {fix!r}: must be resin or hardener")
    limits = case.trim
    most = limits.max_back_pressure
    if max_back_pressure is not None:
        most = units.si(max_back_pressure, units.PRESSURE)
    options = _core.TrimOptions(
        fix_resin=fix == "resin",
        fix_hardener=fix == "hardener",
        max_back_pressure=math.inf if most is None else most,
        least_flow=limits.least_flow if least_flow is None else least_flow,
        threads=threads,
    )
    return TrimResult(case, names, options)


def with_settings(machine: _core.Machine, settings: _core.Settings) -> _core.Machine:
    """Set both throttles of a machine, in their own units [SI]."""
    changed = {}
    for name in ("resin", "hardener"):
        stream = getattr(machine, name)
        throttle = _core.with_setting(stream.throttle, getattr(settings, name))
        changed[name] = stream.replace(throttle=throttle)
    return machine.replace(**changed)


def _total_flow(steady: _core.Steady) -> float:
    return steady.resin.flow + steady.hardener.flow


def setting_unit(throttle: _core.Throttle) -> tuple[str, float]:
    """Give the unit in which people set a throttle, and its size in the core's unit."""
    kinds = _core.ThrottleKind
    if throttle.kind == kinds.resistance:
        return "bar*s/mL", RESISTANCE
    turns = throttle.kind == kinds.needle or (throttle.valve and throttle.valve.full_turns > 0.0)
    return ("turns", 1.0) if turns else ("%", 0.01)


def _in_unit(value: float, throttle: _core.Throttle) -> dict[str, Any] | None:
    if not math.isfinite(value):
        return None
    unit, scale = setting_unit(throttle)
    return {"value": value / scale, "unit": unit}


def _amount(remedy: _core.Remedy) -> dict[str, Any] | None:
    """Amount of a remedy in the unit people use for it; None where it has none."""
    kinds = _core.RemedyKind
    factor, unit = {
        kinds.preload: (1.0, "s"),
        kinds.delay_resin: (1e-3, "ms"),
        kinds.delay_hardener: (1e-3, "ms"),
        kinds.degas_resin: (1e-2, "%"),
        kinds.degas_hardener: (1e-2, "%"),
        kinds.bleed_pocket: (ML, "mL"),
        kinds.heat_resin: (1.0, "K"),
        kinds.shorter_hose: (1.0, "m"),
        kinds.stiffer_hose: (ML / BAR, "mL/bar/m"),
        kinds.purge: (ML, "mL"),
    }.get(remedy.kind, (1.0, ""))
    return {"value": remedy.amount / factor, "unit": unit} if unit else None
