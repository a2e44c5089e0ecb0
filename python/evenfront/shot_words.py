"""What a shot is like, in words: how much leaves off ratio, who is ahead, which class is worst.

Pure functions of a run. People read mL and cc, two or three digits.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from evenfront import _core
from evenfront import units as u
from evenfront import words as w
from evenfront.run import ML, Run
from evenfront.shot_class import IN_STROKE, START_UP, softest
from evenfront.words import LEAST

if TYPE_CHECKING:
    pass


def shot_volume(m: _core.ShotMeasures) -> float:
    """Liquid of both streams, open to close command [m^3]."""
    return m.resin_volume + m.hardener_volume


def is_off(zone: _core.OffRatio, shot_volume: float, target: _core.Target) -> bool:
    """Whether more leaves off ratio than the smallest piece of the part that matters."""
    return zone.volume > target.resolve * shot_volume


def models_disagree(run: Run) -> str:
    """Sentence for a verdict that the residence model decides; empty where it does not."""
    m = run.shot
    plug, dispersed = (
        is_off(zone, shot_volume(m), run.target) for zone in (m.outlet_plug, m.outlet_dispersed)
    )
    if plug == dispersed:
        return ""
    return (
        f"The residence model decides: as plug {w.left(m.outlet_plug.volume)} leaves off ratio, "
        f"at Peclet number 100 {w.left(m.outlet_dispersed.volume)}."
    )


def offset_share(run: Run) -> float:
    """Part of the soft volume that the steady offset alone gives [m^3].

    e^2/(e^2 + tol^2) of the steady ratio error over all liquid the outlet measures follow, shot
    and two hold-ups.
    """
    if not run.steady.flows:
        return 0.0
    e = run.ratio / run.target.ratio - 1.0
    tol = run.target.tolerance_high if e >= 0.0 else run.target.tolerance_low
    followed = shot_volume(run.shot) + 2.0 * _core.hold_up(run.machine.mixer)
    return e * e / (e * e + tol * tol) * followed


def offset_sentence(run: Run) -> str:
    """Say how much of the soft volume is the steady offset; empty where it is little."""
    share, soft = offset_share(run), run.shot.outlet.soft_volume
    if share < 0.05 * soft or share < 0.01 * ML:
        return ""
    first = "mend that first" if mostly_offset(run) else "no trim mends it"
    return (
        f"Of the soft volume about {w.volume(min(share, soft))} is the steady offset of "
        f"{w.percent(run.ratio / run.target.ratio - 1.0, sign=True)}, not lead; {first} "
        "(bores, temperature, gas, leak)."
    )


def mostly_offset(run: Run) -> bool:
    """Whether at least half of the soft volume is the steady offset."""
    return offset_share(run) >= 0.5 * run.shot.outlet.soft_volume > 0.0


def shot_name(run: Run) -> str:
    """Name the last shot: its number, duration, volume and the pressures it opened at."""
    m, n = run.shot, len(run.measures.shots)
    closed = (m.resin_closed_pressure, m.hardener_closed_pressure)
    bar, psi = (
        " and ".join(u.digits(u.convert(p, u.PRESSURE, unit)) for p in closed)
        for unit in ("bar", "psi")
    )
    return (
        f"Shot {n} of {n}, {u.digits(m.duration)} s, {w.volume(shot_volume(m))}, opened at "
        f"{bar} bar ({psi} psi)"
    )


def delivers(run: Run) -> bool:
    """Whether the run went to its end and its last shot holds liquid worth the name.

    A shot below a thousandth of the mixer's hold-up is none, nor is one that only relaxes: the
    drive hardly moves the shaft, or a throttle is as good as closed.
    """
    if run.status != "ok" or not run.measures.shots:
        return False
    least = 1e-3 * _core.hold_up(run.machine.mixer)
    return shot_volume(run.shot) > least and _steady_flow(run) * run.shot.duration > least


def _steady_flow(run: Run) -> float:
    return run.steady.resin.flow + run.steady.hardener.flow


def _stopped(run: Run) -> str:
    """Why a run has no answer, with how far it came."""
    if run.status == "ok" and run.measures.shots:
        return (
            f"Nothing to speak of flows: {u.show(_steady_flow(run), u.FLOW)} steadily at a drive "
            f"of {u.show(_core.full_force(run.machine.drive), u.FORCE)}; a throttle is as good as "
            "closed, or the drive too weak."
        )
    reason = w.sentence(w.plain(run.message or run.status.replace("_", " ")))
    if run.status == "nothing_flows":
        return reason
    return f"{reason[:-1]}; shots completed: {len(run.measures.shots)}."


def verdict(run: Run) -> str:
    """Say what the last shot is like and which class is worst, or why there is no answer."""
    if not delivers(run):
        return _stopped(run)
    last = f"Shot {len(run.measures.shots)}: {outcome(run)}; {ahead(run)}."
    return f"{last} {worst_class(run)}".rstrip()


def worst_class(run: Run) -> str:
    """Class of shots that is softest among those that reach a part; empty where all are alike."""
    if len({one.name for one in run.classes}) < 2:
        return ""
    i = softest(run.classes, run.measures.shots)
    zone = run.measures.shots[i].outlet
    text = (
        f"Worst class that reaches a part: {class_name(run, run.classes[i].name)} (shot {i + 1}), "
        f"off ratio {w.left(zone.volume)}, soft volume {w.left(zone.soft_volume)}"
    )
    discarded = START_UP in [one.name for one in run.classes]
    return text + (f"; the {START_UP} goes to the cup." if discarded else ".")


def worse_than_last(run: Run) -> str:
    """Say which class that reaches a part is softer than the last shot's; empty where none is.

    Trims and remedies are tried on the last shot. Differences below the smallest piece of the part
    that matters do not count.
    """
    i, last = softest(run.classes, run.measures.shots), len(run.classes)
    name, worst = run.classes[i].name, run.measures.shots[i]
    more = worst.outlet.soft_volume - run.shot.outlet.soft_volume
    if name == run.classes[-1].name or more <= run.target.resolve * shot_volume(worst):
        return ""
    return (
        f"The worst shot that reaches a part is another: {class_name(run, name)} (shot {i + 1}), "
        f"{w.left(worst.outlet.volume)} off ratio, soft volume {w.left(worst.outlet.soft_volume)}; "
        f"what follows is for shot {last}, and to trim the other, let run.steps end with it."
    )


def class_name(run: Run, name: str) -> str:
    """Name of a class, with the numbers of its shots in the stroke where those tell."""
    numbers = [one.in_stroke for one in run.classes if one.name == name]
    if name != IN_STROKE:
        return name
    first, last = (w.ordinal(n) for n in (min(numbers), max(numbers)))
    return f"{first if first == last else f'{first} to {last}'} in the stroke"


def outcome(run: Run) -> str:
    """How much of the last shot leaves off ratio, from where to where, and how far off."""
    m, zone = run.shot, run.shot.outlet
    total = w.volume(shot_volume(m))
    if not is_off(zone, shot_volume(m), run.target):
        small = f" but {w.volume(zone.volume)}" if zone.volume >= LEAST * ML else ""
        return f"all{small} of {total} leaves the mixer on ratio"
    return (
        f"{w.ml(zone.volume)} of {total} leaves the mixer off ratio, from {w.ml(zone.start)} to "
        f"{w.ml(zone.end)} mL (cc) after the open command, hardener {_worst(run)}"
    )


def _worst(run: Run) -> str:
    """Extremes of the ratio error that are outside the tolerance."""
    zone, target = run.shot.outlet, run.target
    found = []
    if zone.highest_error > target.tolerance_high:
        # Errors are capped at 1.
        more = " or more" if zone.highest_error > 0.999 else ""
        found.append(w.percent(zone.highest_error, sign=True) + more)
    if zone.lowest_error < -target.tolerance_low:
        found.append(w.percent(zone.lowest_error, sign=True))
    return " and ".join(found)


def ahead(run: Run) -> str:
    """Say which stream leads, by how much."""
    m, labels = run.shot, run.case.labels
    if m.swing < 1e-3 * ML:
        return "neither stream leads"
    first = labels[1] if m.peak_lead >= -m.peak_lag else labels[0]
    most = max(m.peak_lead, -m.peak_lag)
    return f"{w.plain(first)} up to {w.volume(most)} ahead, net lead {w.volume(m.net_lead)}"


def needs_mending(run: Run) -> bool:
    """Whether enough leaves off ratio to matter, by any residence model."""
    return any(
        is_off(zone, shot_volume(run.shot), run.target)
        for zone in (run.shot.outlet, run.shot.outlet_plug, run.shot.outlet_dispersed)
    )
