"""What the machine around the shots did in a run: shafts, air, first fill, pauses, purges, mixer.

Numbers for the dictionary and the table of a run, and the sections its report adds where there is
something to say.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from evenfront import _core
from evenfront import units as u
from evenfront import words as w
from evenfront.layout import Section, Table

if TYPE_CHECKING:
    from evenfront.run import Run

ML, BAR, LITRE = 1e-6, 1e5, 1e-3
FREE_AIR = 1.185
"""Density of free air, at 20 degC and 1 bar [kg/m^3] (ISO 6358-1)."""
MOST_ROWS = 6
"""Pauses that are printed."""


def _airs(run: Run) -> dict[str, _core.AirTrace]:
    """Air of every drive that has some, by the key's prefix."""
    found = {"": run.trace.air, "hardener_": run.trace.hardener_axis.air}
    return {prefix: air for prefix, air in found.items() if len(air.supplied)}


def air_used(run: Run, first: int, last: int) -> float | None:
    """Free air that the drives took between two rows of the trace [m^3]; None without air."""
    airs = _airs(run).values()
    if not airs:
        return None
    return float(sum(air.supplied[last] - air.supplied[first] for air in airs)) / FREE_AIR


def shot_dict(run: Run, span: _core.ShotSpan) -> dict[str, float | None]:
    """Shafts, air and mixer of one shot, units in the keys; None where there is no such thing."""
    trace, second = run.trace, run.trace.hardener_axis
    used = air_used(run, span.open, span.shut)
    found: dict[str, float | None] = {
        "position_mm": float(trace.position[span.close]) * 1e3,
        "hardener_position_mm": (
            float(second.position[span.close]) * 1e3 if len(second.position) else None
        ),
        "air_used_L": None if used is None else used / LITRE,
        "driving_pressure_bar": None,
        "hardener_driving_pressure_bar": None,
        "mixer_resistance_open_bar_s_per_mL": _resistance(run, span.open),
        "mixer_resistance_close_bar_s_per_mL": _resistance(run, span.close),
        "highest_mixer_pressure_bar": float(
            trace.mixer_pressure[span.open : span.close + 1].max() / BAR
        ),
    }
    for prefix, air in _airs(run).items():
        found[f"{prefix}driving_pressure_bar"] = float(air.driving_pressure[span.close]) / BAR
    return found


def _resistance(run: Run, row: int) -> float:
    return float(run.trace.mixer_resistance[row]) / (BAR / ML)


def arrivals(run: Run) -> dict[str, float] | None:
    """When each stream reached the mixing point, after the first open command [s].

    0 where its passage was full, infinite where it is not full yet; None where none starts empty.
    """
    spans = sorted([*run.trace.shots, *run.trace.purges], key=lambda span: span.open)
    streams = {name: getattr(run.machine, name) for name in ("resin", "hardener")}
    empty = [s for s in streams.values() if s.shutoff.passage > 0 and not s.shutoff.passage_full]
    if not empty or not spans:
        return None
    begin = float(run.trace.time[spans[0].open])
    found = {}
    for name, stream in streams.items():
        time = getattr(run.trace, name).arrival - begin
        found[name] = 0.0 if stream not in empty else math.inf if math.isnan(time) else time
    return found


def oldest_blend(run: Run) -> float | None:
    """Highest age at which blend leaves mixer and tip in a shot or purge [s].

    Liquid that was inside when the run began counts from then. None where the case gives the blend
    no ageing and no working life, and where nothing leaves.
    """
    mixer, trace = run.machine.mixer, run.trace
    if math.isinf(mixer.working_life) and math.isinf(mixer.doubling_time):
        return None
    inlet = _core.mixer_inlet(trace, _core.passages(run.machine), run.ratio)
    left = _core.outlet_sequence(inlet, trace, mixer, run.residence("plug"))
    return float(left.age.max()) if len(left.age) else None


def to_dict(run: Run) -> dict[str, Any]:
    """First fill, pauses, purges and air of a whole run, units in the keys."""
    reached = arrivals(run) or {"resin": math.nan, "hardener": math.nan}
    ahead = reached["resin"] - reached["hardener"]
    used = air_used(run, 0, -1)
    return {
        "resin_arrival_s": _finite(reached["resin"]),
        "hardener_arrival_s": _finite(reached["hardener"]),
        "hardener_arrives_ahead_s": _finite(ahead),
        "oldest_blend_s": oldest_blend(run),
        "air_used_whole_run_L": None if used is None else used / LITRE,
        "rests": [_rest_dict(run, rest) for rest in run.trace.rests],
        "purges": [_purge_dict(run, purge) for purge in run.trace.purges],
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _rest_dict(run: Run, rest: _core.RestSpan) -> dict[str, Any]:
    """One pause: what stays trapped at its end."""
    trace = run.trace
    found: dict[str, Any] = {
        "step": rest.step + 1,
        "duration_s": float(trace.time[rest.end] - trace.time[rest.begin]),
    }
    for name in ("resin", "hardener"):
        pressure = getattr(trace, name).pressure[rest.end]
        found[f"{name}_cylinder_pressure_bar"] = float(pressure[0]) / BAR
        found[f"{name}_head_pressure_bar"] = float(pressure[-1]) / BAR
    return found


def _purge_dict(run: Run, purge: _core.ShotSpan) -> dict[str, Any]:
    trace = run.trace
    resin, hardener = (
        float(stream.volume[purge.shut] - stream.volume[purge.open]) / ML
        for stream in (trace.resin, trace.hardener)
    )
    return {
        "step": purge.step + 1,
        "time_s": float(trace.time[purge.open]),
        "resin_mL": resin,
        "hardener_mL": hardener,
    }


def columns(run: Run) -> dict[str, Any]:
    """Further columns of the trace's table, units in the keys; only what the machine has."""
    trace = run.trace
    found: dict[str, Any] = {
        "mixer_resistance_bar_s_per_mL": trace.mixer_resistance / (BAR / ML),
        "mixer_entered_mL": trace.entered / ML,
    }
    second = trace.hardener_axis
    if len(second.position):
        found |= {
            "hardener_position_mm": second.position * 1e3,
            "hardener_drive_force_N": second.force,
        }
    for prefix, air in _airs(run).items():
        found |= {
            f"{prefix}driving_pressure_bar": air.driving_pressure / BAR,
            f"{prefix}exhausting_pressure_bar": air.exhausting_pressure / BAR,
            f"{prefix}air_used_L": air.supplied / FREE_AIR / LITRE,
        }
    return found


def _minutes(time: float) -> str:
    return f"{u.digits(time / 60.0, 2)} min"


def warnings(run: Run) -> Iterator[str]:
    """Sentences about blend that stays too long."""
    age, life = oldest_blend(run), run.machine.mixer.working_life
    if age is not None and age > life:
        yield (
            f"blend {_minutes(age)} old leaves the mixer, its working life is "
            f"{_minutes(life)}: purge within it, or change the mixer"
        )


# --- report ----------------------------------------------------------------------------------


def sections(run: Run) -> Iterator[Section]:
    """Sections a run's report adds, each only where the machine has such a thing."""
    for title, blocks in (
        ("First fill", tuple(_first_fill(run))),
        ("Air", tuple(_air_sentence(run))),
        ("Back pressure of the mixer", tuple(_mixer_sentence(run))),
        ("Purges", tuple(_purge_sentence(run))),
    ):
        if blocks:
            yield Section(title, blocks)
    if run.trace.rests and _traps(run):
        yield Section("Pressure trapped at the end of a pause", (_rest_table(run),))


def _traps(run: Run) -> bool:
    """Whether some drive does not hold its force between shots."""
    axis = run.machine.hardener_axis
    drives = [run.machine.drive, *([axis.drive] if axis else [])]
    return any(drive.between_shots != _core.BetweenShots.hold for drive in drives)


def _first_fill(run: Run) -> Iterator[str]:
    reached = arrivals(run)
    if reached is None:
        return
    labels = dict(zip(("resin", "hardener"), map(w.plain, run.case.labels), strict=True))
    for name, time in reached.items():
        if math.isinf(time):
            yield f"{labels[name]} has not reached the mixing point: its passage is not full yet."
    if all(map(math.isfinite, reached.values())):
        first, last = sorted(reached, key=reached.__getitem__)
        ahead = reached[last] - reached[first]
        yield (
            f"{labels[first]} reaches the mixing point {u.digits(reached[first], 2)} s after the "
            f"first open command, {labels[last]} {u.digits(ahead, 2)} s later; what leaves before "
            "that is one stream alone."
        )


def _air_sentence(run: Run) -> Iterator[str]:
    used = air_used(run, run.trace.shots[-1].open, run.trace.shots[-1].shut)
    if used is None:
        return
    shot = run.shots[-1]
    for prefix, cylinder in _air_cylinders(run).items():
        at, pressure = shot[f"{prefix}driving_pressure_bar"], cylinder.pressure
        who = "The hardener's driving side" if prefix else "The driving side"
        yield (
            f"{who} stands at {w.pressure(at * BAR)} at the close command, the regulator at "
            f"{w.pressure(pressure)}."
        )
    yield (
        f"The last shot takes {u.show(used, u.FREE_VOLUME, 2)} of free air; what the way back "
        "takes is not counted."
    )


def _air_cylinders(run: Run) -> dict[str, _core.AirCylinder]:
    axis = run.machine.hardener_axis
    drives = {"": run.machine.drive, **({"hardener_": axis.drive} if axis else {})}
    return {prefix: drive.air for prefix, drive in drives.items() if drive.air is not None}


def _mixer_sentence(run: Run) -> Iterator[str]:
    mixer = run.machine.mixer
    if mixer.starts_full and not mixer.follow_blend:
        return
    shot, whole = run.shots[-1], run.trace.mixer_resistance / (BAR / ML)
    yield (
        f"The resistance of the mixer goes from {u.digits(float(whole.min()))} to "
        f"{u.digits(float(whole.max()))} bar*s/mL over the run, in the last shot from "
        f"{u.digits(shot['mixer_resistance_open_bar_s_per_mL'])} to "
        f"{u.digits(shot['mixer_resistance_close_bar_s_per_mL'])}; the highest pressure before it "
        f"is then {w.pressure(shot['highest_mixer_pressure_bar'] * BAR)}."
    )
    age = oldest_blend(run)
    if age is not None:
        yield f"The oldest blend that leaves it is {_minutes(age)} old."


def _purge_sentence(run: Run) -> Iterator[str]:
    purges = [_purge_dict(run, purge) for purge in run.trace.purges]
    if purges:
        total = sum(purge["resin_mL"] + purge["hardener_mL"] for purge in purges) * ML
        times = "once" if len(purges) == 1 else f"{len(purges)} times"
        yield f"Purged to the cup {times}, {w.volume(total)} in all; no shot."


def _rest_table(run: Run) -> Table:
    rests = [_rest_dict(run, rest) for rest in run.trace.rests][-MOST_ROWS:]
    keys = [f"{s}_{p}_pressure_bar" for s in ("resin", "hardener") for p in ("cylinder", "head")]
    labels = [w.plain(label) for label in run.case.labels]
    header = [f"{label} {place}" for label in labels for place in ("cylinder", "head")]
    return Table(
        ("bar (psi), after", *header),
        tuple(
            (
                f"{u.digits(rest['duration_s'])} s, step {rest['step']}",
                *(w.bar_psi(rest[key] * BAR) for key in keys),
            )
            for rest in rests
        ),
    )
