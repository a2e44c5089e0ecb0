"""The settings sheet: what to set on the machine, what to read there, what to weigh, when to check.

`make_sheet` computes everything once. It holds the trim's answer where a trim is the first thing to
do, else the machine as written. `sheet_page` has its forms for the terminal and for paper.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evenfront import _core, catch_words, mending, report, run_report, shot_words, trim_report
from evenfront import units as u
from evenfront import words as w
from evenfront.run import BAR, ML, Run
from evenfront.trimming import Side, TrimResult, setting_unit

if TYPE_CHECKING:
    from evenfront.case import Case

SIDES: tuple[Side, Side] = ("resin", "hardener")
REPEATS = 0.01
"""What a sound machine's shot weight repeats within [-]; common practice, no source."""
AIR_BORES = (0.032, 0.04, 0.05, 0.063, 0.08, 0.1, 0.125, 0.16, 0.2, 0.25, 0.32)
"""Bores of air cylinders in the ISO 15552 series [m]."""
SHOP_AIR = (3e5, 7e5)
"""What a regulator is usually set to [Pa]; common practice, no source."""


@dataclass(frozen=True)
class Band:
    """A value with the band in which it may lie [SI]; ``low <= value <= high``."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class ThrottleSetting:
    """Where a throttle is to stand.

    Parameters
    ----------
    label
        Of the stream.
    value, unit
        In the throttle's own unit.
    added
        Back pressure it adds to the case as written [Pa].
    low, high
        Where a stem with backlash may stand, in the same unit; None: not known.
    position
        ``before`` or ``after`` the shut-off.
    """

    label: str
    value: float
    unit: str
    added: float
    low: float | None
    high: float | None
    position: str


@dataclass(frozen=True)
class Gauge:
    """Readings [Pa], none closed at the mixer; a rating that is not known is infinite."""

    place: str
    closed: Band | None
    flowing: Band
    highest: float
    rating: float


@dataclass(frozen=True)
class Catch:
    """What two cups weigh.

    Parameters
    ----------
    what
        ``whole shot`` or the time from the open command.
    time
        [s]; infinite: whole shot, with what passes after the close command.
    resin, hardener
        Expected [kg]; the hardener's band is the tolerance at the resin expected.
    """

    what: str
    time: float
    resin: Band
    hardener: Band


@dataclass(frozen=True)
class Regulator:
    """Gauge pressure [Pa] at which an air cylinder of a bore [m] gives the drive's force."""

    bore: float
    pressure: float


@dataclass(frozen=True)
class Blocked:
    """Pressure in a cylinder that alone is blocked, the whole drive on it [Pa]."""

    label: str
    pressure: float
    rating: float


@dataclass(frozen=True)
class Sheet:
    """Everything the sheet says [SI]."""

    title: str
    source: str
    trimmed: bool
    verdict: str
    throttles: tuple[ThrottleSetting, ...]
    force: float | None
    regulators: tuple[Regulator, ...]
    restoring: str
    drive: str
    steps: tuple[str, ...]
    repeat: int
    shot_time: float
    shot_volume: float
    shot_weight: float
    travel: float
    counts: float | None
    flow: float
    ratio: float
    ratio_by_weight: float
    ratio_low: float
    ratio_high: float
    temperatures: tuple[tuple[str, float], ...]
    gauges: tuple[Gauge, ...]
    gauge_band: str
    turning_point: str
    catches: tuple[Catch, ...]
    blocked: tuple[Blocked, ...]
    warnings: tuple[str, ...]
    assumptions: tuple[str, ...]
    run: Run = field(repr=False, compare=False)

    def to_dict(self) -> dict[str, Any]:
        """Everything the sheet says, units in the keys."""
        return {
            "source": self.source,
            "title": self.title,
            "trimmed": self.trimmed,
            "verdict": self.verdict,
            "throttles": [
                {
                    "stream": t.label,
                    "setting": t.value,
                    "unit": t.unit,
                    "low": t.low,
                    "high": t.high,
                    "back_pressure_bar": t.added / BAR,
                    "position": t.position,
                }
                for t in self.throttles
            ],
            "drive": self.drive,
            "drive_force_N": self.force,
            "regulators": [
                {"air_cylinder_bore_mm": r.bore * 1e3, "pressure_bar": r.pressure / BAR}
                for r in self.regulators
            ],
            "steps": list(self.steps),
            "repeat": self.repeat,
            "shot_time_s": self.shot_time,
            "shot_volume_mL": self.shot_volume / ML,
            "shot_weight_g": self.shot_weight * 1e3,
            "shot_travel_mm": self.travel * 1e3,
            "encoder_target_counts": self.counts,
            "flow_mL_per_s": self.flow / ML,
            "hardener_per_resin": self.ratio,
            "hardener_per_resin_by_weight": self.ratio_by_weight,
            "lowest_ratio_by_weight": self.ratio_low,
            "highest_ratio_by_weight": self.ratio_high,
            "temperatures": [
                {"place": place, "temperature_degC": kelvin - 273.15}
                for place, kelvin in self.temperatures
            ],
            "gauges": [_gauge_dict(g) for g in self.gauges],
            "gauge_band": self.gauge_band,
            "catches": [
                {
                    "what": c.what,
                    "time_s": c.time if math.isfinite(c.time) else None,
                    "resin_g": _scaled(c.resin, 1e3),
                    "hardener_g": _scaled(c.hardener, 1e3),
                }
                for c in self.catches
            ],
            "blocked": [
                {
                    "stream": b.label,
                    "pressure_bar": b.pressure / BAR,
                    "rating_bar": _finite(b.rating / BAR),
                }
                for b in self.blocked
            ],
            "warnings": list(self.warnings),
            "assumptions": list(self.assumptions),
        }


def first_needed(result: TrimResult) -> mending.Action | None:
    """Give what to do first; None: nothing needs it, or nothing helps."""
    return mending.first_to_do(result) if shot_words.needs_mending(result.before) else None


def make_sheet(result: TrimResult) -> Sheet:
    """Make the settings sheet of a trim.

    Parameters
    ----------
    result
        Of all objectives.

    Raises
    ------
    LookupError
        Where the case delivers no shot; the message says why.
    """
    before = result.before
    if not shot_words.delivers(before):
        raise LookupError(shot_words.verdict(before))
    first = first_needed(result)
    trimmed = first is not None and first.answer is not None
    run = result.answer.after if trimmed else before
    case, m, machine = result.case, run.shot, run.machine
    densities = [getattr(machine, side).liquid.density for side in SIDES]
    by_weight = run.target.ratio * densities[1] / densities[0]
    span = run.trace.shots[-1]
    travel = float(run.trace.position[span.close] - run.trace.position[span.open])
    encoder = _encoder(case.data)
    moved = result.sensitivities if trimmed else _moved(run, result)
    pushed = case.data.get("drive", {}).get("kind") == "force"
    force = machine.drive.force if pushed else None
    return Sheet(
        title=case.title,
        source=case.source,
        trimmed=trimmed,
        verdict=_verdict(result, first),
        throttles=tuple(_throttle(result, trimmed, i) for i in range(2)),
        force=force,
        regulators=_regulators(force),
        restoring=trim_report.restoring_drive(result.answer) if trimmed else "",
        drive=_drive_words(case),
        steps=tuple(map(_step_words, case.data["run"]["steps"])),
        repeat=run.sequence.repeat,
        shot_time=m.duration,
        shot_volume=shot_words.shot_volume(m),
        shot_weight=run.weight(),
        travel=travel,
        counts=None if encoder is None else travel * encoder,
        flow=run.steady.resin.flow + run.steady.hardener.flow,
        ratio=run.target.ratio,
        ratio_by_weight=by_weight,
        ratio_low=by_weight * (1.0 - run.target.tolerance_low),
        ratio_high=by_weight * (1.0 + run.target.tolerance_high),
        temperatures=_temperatures(run),
        gauges=_gauges(result, run, trimmed, moved),
        gauge_band=_TRIM_BAND if trimmed else _DRIFT_BAND,
        turning_point=trim_report.turning_point(result) if trimmed else "",
        catches=_catches(run, by_weight, moved),
        blocked=_blocked(run) if force is not None else (),
        warnings=(*case.warnings, *run.to_dict()["warnings"], *run_report.over_rating(run)),
        assumptions=case.assumptions,
        run=run,
    )


_TRIM_BAND = "The bands are where the trim keeps nine tenths of its gain."
_DRIFT_BAND = (
    "The bands are for temperatures within 5 degC (9 degF) and a drive within 10 % of what is set."
)


def _verdict(result: TrimResult, first: mending.Action | None) -> str:
    return (
        f"{shot_words.worse_than_last(result.before)} {_throttle_verdict(result, first)}".lstrip()
    )


def _throttle_verdict(result: TrimResult, first: mending.Action | None) -> str:
    if first is not None and first.answer is not None:
        return w.sentence(f"set {mending.trim_name(result.answer)}")
    if not shot_words.needs_mending(result.before):
        return "Throttles stay as they are: nothing needs mending."
    if first is None:
        return "Throttles stay as they are: no setting is worth what it costs."
    return f"Throttles stay as they are. First: {first.name}; then make a new sheet."


def _throttle(result: TrimResult, trimmed: bool, side: int) -> ThrottleSetting:
    answer, name = result.answer, SIDES[side]
    machine = answer.machine if trimmed else result.before.machine
    throttle = getattr(machine, name).throttle
    unit, scale = setting_unit(throttle)
    band = answer.backlash_band(name) if trimmed else None
    table = result.case.data[name].get("throttle", {})
    return ThrottleSetting(
        label=result.case.labels[side],
        value=_core.setting(throttle) / scale,
        unit=unit,
        added=answer.back_pressure[side] if trimmed else 0.0,
        low=band[0] / scale if band else None,
        high=band[1] / scale if band else None,
        position=str(table.get("position", "before")),
    )


def _regulators(force: float | None) -> tuple[Regulator, ...]:
    """Usual air cylinders that give the force at a usual pressure."""
    if force is None:
        return ()
    found = [Regulator(bore, force / (0.25 * math.pi * bore**2)) for bore in AIR_BORES]
    return tuple(r for r in found if SHOP_AIR[0] <= r.pressure <= SHOP_AIR[1])


def _encoder(data: Any) -> float | None:
    """Give counts per length [1/m]; None where the case has none."""
    own = data["resin"].get("drive", {})
    text = data.get("shaft", {}).get("encoder") or own.get("encoder")
    return None if text is None else u.si(text, u.ENCODER)


_SET = {
    "pressure": ("regulator", u.PRESSURE),
    "speed": ("speed", u.SPEED),
    "delay": ("delay", None),
    "rise_time": ("rise time", None),
    "ramp_time": ("ramp", None),
    "between_shots": ("between shots", None),
}
"""What is set on a drive, but the force, which is told apart."""


def _drive_words(case: Case) -> str:
    """Say what the drive is set to, or each stream's own."""
    drives = [("", case.data.get("drive", {}))]
    for side, label in zip(SIDES, case.labels, strict=True):
        drives.append((f"{label}: ", case.data[side].get("drive", {})))
    told = []
    for owner, drive in drives:
        keys = [
            f"{name} {drive[key] if kind is None else u.show(u.si(drive[key], kind), kind)}"
            for key, (name, kind) in _SET.items()
            if key in drive
        ]
        if owner and drive.get("kind") == "force":
            keys.insert(0, f"force {u.show(u.si(drive['force'], u.FORCE), u.FORCE)}")
        told += [owner + ", ".join(keys)] if keys else []
    return "; ".join(told)


def _step_words(step: Any) -> str:
    """One step as written."""
    (key, value), *_ = step.items()
    if not isinstance(value, dict):
        return f"{key} {value}"
    inside = ", ".join(f"{name.replace('_', ' ')} {v}" for name, v in report.leaves(value))
    return f"{key} ({inside})" if inside else str(key)


def _temperatures(run: Run) -> tuple[tuple[str, float], ...]:
    """Every heated or measured zone, streams in order; zones alike next to each other are one."""
    rows: list[tuple[str, float]] = []
    for side, label in zip(SIDES, run.case.labels, strict=True):
        stream = getattr(run.machine, side)
        zones = [("cylinder", stream.cylinder.temperature)]
        zones += [(piece.name, piece.temperature) for piece in stream.line]
        while zones:
            kelvin = zones[0][1]
            alike = [name for name, other in zones if other == kelvin]
            rows.append((f"{label} {', '.join(alike)}", kelvin))
            zones = [zone for zone in zones if zone[1] != kelvin]
    return tuple(rows)


def _moved(run: Run, result: TrimResult) -> Sequence[_core.Sensitivity]:
    """Try what temperatures, drive and viscosity do to the machine as written."""
    return _core.sensitivities(
        run.machine,
        run.sequence,
        run.target,
        _core.Objective.least_soft,
        result.core.curve_sweeps_resin,
        result.options.threads,
        run.case.numerics,
    )


_DRIFTS = ("resin_temperature", "hardener_temperature", "drive_force")


def _gauges(
    result: TrimResult, run: Run, trimmed: bool, moved: Sequence[_core.Sensitivity]
) -> tuple[Gauge, ...]:
    """Give the run's readings, with the band of the trim, or with what drifts do."""
    core = result.answer.core
    trials = (
        [core.trial, core.band_open, core.band_closed]
        if trimmed
        else [s.trial for s in moved if s.assumption.name in _DRIFTS]
    )

    def band(value: float, name: str) -> Band:
        values = [value, *(getattr(trial, name) for trial in trials)]
        return Band(value, min(values), max(values))

    *rows, mixer = run_report.readings(run)
    gauges = []
    for (side, where), (label, shut, flowing, highest, rating) in zip(
        ((side, where) for side in SIDES for where in ("cylinder", "head")), rows, strict=True
    ):
        # At rest cylinder and head are alike: the trials know the cylinder.
        own = getattr(run.shot, f"{side}_closed_pressure")
        alike = band(own, f"{side}_cylinder_closed")
        closed = Band(shut, alike.low + shut - own, alike.high + shut - own)
        gauges.append(Gauge(label, closed, band(flowing, f"{side}_{where}"), highest, rating))
    label, _, flowing, highest, rating = mixer
    spread = [trial.flow * run.steady.mixer_resistance for trial in trials]
    reading = Band(flowing, min(flowing, *spread), max(flowing, *spread))
    return (*gauges, Gauge(label, None, reading, highest, rating))


def _catches(run: Run, by_weight: float, moved: Sequence[_core.Sensitivity]) -> tuple[Catch, ...]:
    """Whole shot, and the first cup of the start, both streams apart.

    The whole shot's resin weight moves with temperatures and drive where the shot goes by time.
    """
    target = run.target
    here = run.shot.resin_volume
    drifts = [s.trial.shot_resin / here for s in moved if s.assumption.name in _DRIFTS]
    low, high = min(1.0 - REPEATS, *drifts), max(1.0 + REPEATS, *drifts)
    resin, hardener = catch_words.weights(run, math.inf)
    wanted = resin * by_weight
    start = min(catch_words.CATCH_TIME, run.shot.duration)
    first = catch_words.weights(run, start)
    return (
        Catch(
            "whole shot",
            math.inf,
            Band(resin, low * resin, high * resin),
            Band(
                hardener,
                min(hardener, wanted * (1.0 - target.tolerance_low)),
                max(hardener, wanted * (1.0 + target.tolerance_high)),
            ),
        ),
        Catch(
            f"first {u.digits(start, 2)} s",
            start,
            Band(first[0], low * first[0], high * first[0]),
            Band(
                first[1],
                first[1] - target.tolerance_low * first[0] * by_weight,
                first[1] + target.tolerance_high * first[0] * by_weight,
            ),
        ),
    )


def _blocked(run: Run) -> tuple[Blocked, ...]:
    """Each side alone blocked: the other lets the whole drive onto its cylinder."""
    rows = []
    for side, label in zip(SIDES, run.case.labels, strict=True):
        stream = getattr(run.machine, side)
        rating = min(stream.cylinder.rating, *(piece.rating for piece in stream.line))
        pressure = _core.blocked_pressure(stream.cylinder, run.machine.drive.force)
        rows.append(Blocked(label, pressure, rating))
    return tuple(rows)


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _scaled(band: Band | None, scale: float) -> dict[str, float] | None:
    if band is None:
        return None
    return {"value": band.value * scale, "low": band.low * scale, "high": band.high * scale}


def _gauge_dict(gauge: Gauge) -> dict[str, Any]:
    return {
        "place": gauge.place,
        "closed_bar": _scaled(gauge.closed, 1.0 / BAR),
        "flowing_bar": _scaled(gauge.flowing, 1.0 / BAR),
        "highest_bar": gauge.highest / BAR,
        "rating_bar": _finite(gauge.rating / BAR),
    }
