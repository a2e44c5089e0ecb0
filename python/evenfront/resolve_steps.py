"""Steps of a case as the core takes them, how they begin, and whether they fit what is filled."""

from __future__ import annotations

from evenfront import units as u
from evenfront.notes import Notes, Values
from evenfront.resolve_drive import (
    AxisKeys,
    axes,
)
from evenfront.schema import CaseFile
from evenfront.values import Amount


def resolve_steps(file: CaseFile, notes: Notes) -> Values:
    """Fields of a sequence."""
    steps: list[Values] = []
    for i, step in enumerate(file.run.steps):
        if step.dwell is not None:
            steps.append({"kind": "dwell", "amount": step.dwell})
        elif step.dispense is not None:
            shot = _dispense(i, step.dispense, axes(file)[0], notes)
            if step.through_refill is not None:
                shot["refill_time"] = step.through_refill
            steps.append(shot)
        elif step.preload is not None:
            what = "time" if step.preload.kind is u.TIME else "pressure"
            steps.append({"kind": f"preload_{what}", "amount": step.preload.value})
        elif step.refill is not None:
            steps.append({"kind": "refill", "amount": step.refill.time})
        elif step.purge is not None:
            steps.append({"kind": "purge", "amount": step.purge})
    for name in ("resin", "hardener"):
        if has_refills(file) and getattr(file, name).feed is None:
            notes.problems.append(
                (
                    f"{name}.feed",
                    "is missing: a refill step needs it, for example "
                    '{ tank_pressure = "4 bar", bore = "25 mm", length = "2 m" }',
                )
            )
    if not any(step["kind"].startswith("dispense") for step in steps):
        notes.problems.append(("run.steps", "needs at least one dispense step"))
    _filled_once(file, notes)
    start = _start(file)
    return {
        "steps": steps,
        "repeat": file.run.repeat,
        "start": {
            f"{stream}_{place}": start[stream][i]
            for stream in ("resin", "hardener")
            for i, place in enumerate(("cylinder", "line"))
        }
        | {"periodic": file.run.start == "periodic"},
    }


def _filled_once(file: CaseFile, notes: Notes) -> None:
    """Refuse what starts empty in a run that starts as it ends."""
    if file.run.start != "periodic":
        return
    empty = [
        f"{name}.shutoff.passage_full"
        for name in ("resin", "hardener")
        if not getattr(file, name).shutoff.passage_full
    ]
    empty += ["mixer.starts"] if file.mixer.starts == "empty" else []
    notes.problems += [
        (path, 'does not go with run.start = "periodic": what was filled once stays full')
        for path in empty
    ]


def _start(file: CaseFile) -> dict[str, tuple[float, float]]:
    """Pressures before the first step; those from which a periodic start is searched."""
    if isinstance(file.run.start, dict):
        return file.run.start
    streams = {"resin": file.resin, "hardener": file.hardener}
    filled = file.run.start == "periodic" and has_refills(file)
    tanks = {
        name: stream.feed.tank_pressure if filled and stream.feed else 0.0
        for name, stream in streams.items()
    }
    return {name: (tank, tank) for name, tank in tanks.items()}


def has_refills(file: CaseFile) -> bool:
    """Whether the shaft is drawn back in the run."""
    return any(step.refill or step.through_refill for step in file.run.steps)


def _dispense(i: int, amount: Amount, axis: AxisKeys, notes: Notes) -> Values:
    if amount.kind is u.TIME:
        return {"kind": "dispense_time", "amount": amount.value}
    if amount.kind is u.VOLUME:
        return {"kind": "dispense_volume", "amount": amount.value}
    if axis.shaft.encoder is None:
        notes.problems.append(
            (
                f"run.steps[{i}].dispense",
                f'counts need {axis.shaft_path}.encoder as well, for example encoder = "1200 1/in"',
            )
        )
    return {"kind": "dispense_travel", "amount": amount.value / (axis.shaft.encoder or 1.0)}
