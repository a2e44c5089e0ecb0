"""Shafts and drives of a case as the core takes them, with what was assumed and what is unusual."""

from __future__ import annotations

import math
from dataclasses import dataclass

from evenfront import units as u
from evenfront.notes import Notes, Values, given, pick
from evenfront.schema import CaseFile
from evenfront.schema_drive import (
    AirDrive,
    ForceDrive,
    OwnAirDrive,
    OwnForceDrive,
    OwnSpeedDrive,
    Shaft,
    SpeedDrive,
)

AnyShaft = Shaft | OwnForceDrive | OwnAirDrive | OwnSpeedDrive
AnyDrive = ForceDrive | AirDrive | SpeedDrive


@dataclass(frozen=True)
class AxisKeys:
    """Keys of a shaft and its drive, and where in the file they stand.

    Parameters
    ----------
    shaft_path, drive_path
        Key paths of both tables.
    streams
        Streams whose pistons sit on the shaft.
    """

    shaft_path: str
    drive_path: str
    shaft: AnyShaft
    drive: AnyDrive
    streams: tuple[str, ...]


def axes(file: CaseFile) -> list[AxisKeys]:
    """Shafts of a case with their drives: one for both streams, or resin's and hardener's."""
    if isinstance(file.shaft, Shaft):
        assert file.drive is not None  # problems.drives
        return [AxisKeys("shaft", "drive", file.shaft, file.drive, ("resin", "hardener"))]
    found = []
    for name in ("resin", "hardener"):
        own, path = getattr(file, name).drive, f"{name}.drive"
        found.append(AxisKeys(path, path, own, own, (name,)))
    return found


def resolve_axes(file: CaseFile, notes: Notes) -> Values:
    """Fields `shaft` and `drive` of the machine, and `hardener_axis` where there are two."""
    values = [{"shaft": _shaft(axis, notes), "drive": _drive(axis, notes)} for axis in axes(file)]
    return values[0] | ({"hardener_axis": values[1]} if len(values) > 1 else {})


def _shaft(axis: AxisKeys, notes: Notes) -> Values:
    shaft = axis.shaft
    if shaft.friction > 0 and shaft.breakaway is None:
        notes.assumptions.append(
            f"{axis.shaft_path}.breakaway = friction: assumed; 1.5 to 2.5 times it is usual, and "
            "makes a drive start late and jump."
        )
    if (shaft.breakaway or 0.0) > shaft.friction and shaft.viscous_friction == 0:
        notes.assumptions.append(
            f"{axis.shaft_path}.viscous_friction = 0 N*s/m: nothing damps what sticks and slips, "
            "and many short slips take long to compute; seals and guides damp a little."
        )
    return {
        **pick(shaft, "stroke position mass friction viscous_friction"),
        **given(shaft, "breakaway"),
    }


def _drive(axis: AxisKeys, notes: Notes) -> Values:
    drive = axis.drive
    common = {"between_shots": drive.between_shots, **given(drive, "delay")}
    if isinstance(drive, ForceDrive):
        return {**pick(drive, "force rise_time"), **common}
    if isinstance(drive, SpeedDrive):
        if "stiffness" not in drive.model_fields_set:
            notes.assumptions.append(
                f"{axis.drive_path}.stiffness = {u.show(drive.stiffness, u.STIFFNESS)}: assumed, "
                "of screw, nut, bearings and frame together."
            )
        return {"kind": "speed", **pick(drive, "force speed ramp_time stiffness"), **common}
    return {"kind": "air", "air": _air(axis.drive_path, drive, notes), **common}


def _air(path: str, drive: AirDrive, notes: Notes) -> Values:
    say = notes.assumptions.append
    if drive.droop == 0:
        say(
            f"{path}.droop = 0 bar: the regulator holds its pressure at every flow; 5 to 15 % is "
            "usually lost while moving."
        )
    if "exponent" not in drive.model_fields_set:
        say(f"{path}.exponent = 1.2: assumed, between isothermal (slow) and adiabatic (fast).")
    for name in ("supply", "exhaust"):
        if "critical_ratio" not in getattr(drive, name).model_fields_set:
            say(f"{path}.{name}.critical_ratio = 0.3: assumed; the maker states it by ISO 6358.")
    return {
        **pick(drive, "bore rod_bore pressure droop dead_volume exponent temperature"),
        **given(drive, "droop_flow"),
        "supply": pick(drive.supply, "conductance critical_ratio"),
        "exhaust": pick(drive.exhaust, "conductance critical_ratio"),
    }


def push(drive: AnyDrive) -> float | None:
    """Force with which a drive pushes at rest [N]; None for one that goes at a speed."""
    if isinstance(drive, AirDrive):
        return drive.pressure * math.pi / 4.0 * drive.bore**2
    return drive.force if isinstance(drive, ForceDrive) else None


def check_drives(file: CaseFile, areas: dict[str, float], ratio: float, notes: Notes) -> None:
    """Warn of drives that are weak, strong, sticky or off ratio; `areas` of the pistons [m^2]."""
    for axis in axes(file):
        force = push(axis.drive)
        if force is None:
            continue
        key = "pressure" if isinstance(axis.drive, AirDrive) else "force"
        pistons = "both pistons" if len(axis.streams) > 1 else "its piston"
        pressure = force / sum(areas[name] for name in axis.streams)
        if not 10e5 <= pressure <= 70e5:
            shown = u.show(pressure, u.PRESSURE)
            notes.outside(f"{axis.drive_path}.{key} over {pistons}", shown, "10 bar", "70 bar")
        if axis.shaft.friction > 0.1 * force:
            notes.outside(
                f"{axis.shaft_path}.friction over the drive's force",
                f"{u.digits(100 * axis.shaft.friction / force)} %",
                "3 %",
                "10 %",
            )
        if isinstance(axis.drive, AirDrive) and axis.drive.droop > 0.15 * axis.drive.pressure:
            share = f"{u.digits(100 * axis.drive.droop / axis.drive.pressure)} %"
            notes.outside(f"{axis.drive_path}.droop over pressure", share, "5 %", "15 %")
    for axis in axes(file):
        friction, breakaway = axis.shaft.friction, axis.shaft.breakaway
        if breakaway and friction and breakaway > 2.5 * friction:
            notes.outside(
                f"{axis.shaft_path}.breakaway over friction",
                u.digits(breakaway / friction),
                "1.5",
                "2.5",
            )
    check_ratio(file, areas, ratio, notes)


def check_ratio(file: CaseFile, areas: dict[str, float], ratio: float, notes: Notes) -> None:
    """Warn where bores, or bores and speeds, do not meter anything like the asked ratio."""
    metered, what = areas["hardener"] / areas["resin"], "The metering bores give"
    resin, hardener = axes(file)[0].drive, axes(file)[-1].drive
    if resin is not hardener:
        if not (isinstance(resin, SpeedDrive) and isinstance(hardener, SpeedDrive)):
            notes.assumptions.append(
                "Each stream has a drive of its own, and not both go at a given speed: the ratio "
                "is what their forces and the lines' resistances make it."
            )
            return
        metered *= hardener.speed / resin.speed
        what = "The metering bores and the speeds of their drives give"
    if abs(metered / ratio - 1.0) > 0.2:
        notes.warnings.append(
            f"{what} 100:{u.digits(100 * metered)} by volume, "
            f"{u.digits(100 * (metered / ratio - 1))} % off the asked 100:{u.digits(100 * ratio)}."
        )


def check_strokes(
    file: CaseFile, areas: dict[str, float], ratio: float, sequence: Values, notes: Notes
) -> None:
    """Warn where steps need more than the stroke left; refuse air that is more than that holds."""
    for axis in axes(file):
        if len(axis.streams) > 1:
            per_volume, per_resin_travel = 1.0 / sum(areas.values()), 1.0
        elif axis.streams == ("resin",):
            per_volume, per_resin_travel = 1.0 / (1.0 + ratio) / areas["resin"], 1.0
        else:
            per_volume = ratio / (1.0 + ratio) / areas["hardener"]
            per_resin_travel = ratio * areas["resin"] / areas["hardener"]
        left = axis.shaft.stroke - axis.shaft.position
        for name in axis.streams:
            room = left * areas[name]
            if not getattr(file, name).metering.pocket < room:
                held = u.show(room, u.VOLUME)
                rule = f"must be below what the cylinder holds at the start, {held}"
                notes.problems.append((f"{name}.metering.pocket", rule))
        travel = {
            "dispense_volume": per_volume,
            "purge": per_volume,
            "dispense_travel": per_resin_travel,
        }
        needed = _most_travel(file, sequence, travel, left)
        if needed > left:
            whose = "" if len(axis.streams) > 1 else f" of the {axis.streams[0]}"
            notes.warnings.append(
                f"The shots need {u.show(needed, u.LENGTH)} of travel{whose}, "
                f"{u.show(left, u.LENGTH)} are left: the stroke will be exhausted."
            )


def _most_travel(file: CaseFile, sequence: Values, travel: dict[str, float], left: float) -> float:
    """Longest travel between refills, by travel per amount of each kind of step [m]."""
    # Two rounds hold every stretch between refills; put back each round, one is like another.
    rounds = file.run.repeat
    if any(step["kind"] == "refill" for step in sequence["steps"]):
        rounds = min(rounds, 2)
    elif file.run.start == "periodic":
        rounds = 1
    needed = travelled = 0.0
    for step in sequence["steps"] * rounds:
        travelled += step["amount"] * travel.get(step["kind"], 0.0)
        if "refill_time" in step and travelled > left:
            travelled = math.fmod(travelled, left)
        needed = max(needed, travelled)
        if step["kind"] == "refill":
            travelled = 0.0
    return needed
