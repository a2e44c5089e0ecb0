"""A shot in counts, volume and weight, and the least shot worth metering."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evenfront import _core as core
from evenfront import units as u
from evenfront.finding import Finding, Value
from evenfront.setup.common import FOLLOW

if TYPE_CHECKING:
    from evenfront.case import Case


def shot(
    *,
    bores: tuple[float, float],
    encoder: float,
    counts: float | None = None,
    volume: float | None = None,
    densities: tuple[float, float] | None = None,
    stroke_left: float | None = None,
    ratio: float | None = None,
    tolerance: float = 0.05,
    swing: float = 0.0,
    skew: float = 0.0,
    hardener_flow: float = 0.0,
    stem: float = 0.0,
    drop: float = 0.0,
    jump: float | None = None,
) -> Finding:
    """Give counts, volume and weight of a shot, and the least shot worth metering.

    Parameters
    ----------
    bores
        Of resin and hardener [m].
    encoder
        Counts as the controller counts them [1/m].
    counts, volume
        The shot, as counts [-] or as volume of both streams [m^3].
    densities
        Of resin and hardener [kg/m^3], for the weight.
    stroke_left
        Travel left [m].
    ratio
        Hardener per resin by liquid volume [-]; default that of the bores.
    tolerance
        Ratio error the material tolerates [-].
    swing, stem, drop
        Hardener volume that does not grow with the shot: highest less lowest lead, stem volume,
        one drop [m^3].
    skew
        Time by which one shut-off opens before the other [s].
    hardener_flow
        For the skew [m^3/s].
    jump
        Travel of the shaft at start-up that packs the liquids, to compare on the machine [m].

    Returns
    -------
    Finding; no good if the shot is below the least, or the stroke holds none.
    """
    if (counts is None) == (volume is None):
        raise ValueError("give the shot either in counts or as a volume")
    if counts is None:
        assert volume is not None
        travel = core.travel_of_volume(volume, *bores)
        counts = core.counts_of_travel(travel, encoder)
    else:
        travel = core.travel_of_counts(counts, encoder)
    if not travel > 0:
        raise ValueError(f"shot = {counts:g} counts, must be > 0")
    volume = core.swept_by_travel(travel, *bores)
    metered = core.bore_ratio(*bores)
    ratio = metered if ratio is None else ratio
    one = core.swept_by_travel(core.travel_of_counts(1.0, encoder), *bores)
    error = swing + skew * hardener_flow + stem + drop
    least = core.least_shot(error, tolerance, ratio) * (1.0 + ratio)
    values = [
        Value("counts", "encoder counts", counts),
        Value("volume", "volume of both", volume, u.VOLUME),
        Value("travel", "shaft travel", travel, u.LENGTH),
        Value("one_count", "one count", one, u.VOLUME),
        Value("resolution", "one count of the shot", one / volume, u.FRACTION),
    ]
    if densities is not None:
        resin = volume / (1.0 + metered)
        weights = resin * densities[0], (volume - resin) * densities[1]
        values += [
            Value("resin_weight", "resin weight", weights[0], None, f"{weights[0] * 1e3:.2f} g"),
            Value(
                "hardener_weight", "hardener weight", weights[1], None, f"{weights[1] * 1e3:.2f} g"
            ),
        ]
    good, verdict = True, f"{u.show(volume, u.VOLUME)} are {u.digits(counts, 4)} counts"
    if error > 0:
        values.append(Value("least_shot", "least shot within tolerance", least, u.VOLUME))
        good = volume >= least
        verdict += f", {'above' if good else 'below'} the least shot of {u.show(least, u.VOLUME)}"
    if stroke_left is not None:
        shots = core.shots_per_stroke(stroke_left, travel)
        values.append(Value("shots_per_stroke", "shots in the stroke left", shots))
        good = good and shots >= 1
        verdict += f"; the stroke left holds {shots:.0f}"
    if jump is not None:
        values.append(
            Value("start_up_jump", "start-up jump, counts", core.counts_of_travel(jump, encoder))
        )
    return Finding(
        "Shot size",
        good,
        verdict + ".",
        tuple(values),
        notes=(
            "Least shot: (swing + skew x hardener flow + stem + one drop)/(tolerance x ratio), and "
            "the hardener that goes with it.",
        ),
        cautions=(FOLLOW,),
    )


def start_up_jump(case: Case) -> float:
    """Shaft travel of the last shot beyond its steady line [m]: what packs both liquids.

    The line of steady speed that ends at the close command is followed back to the open command;
    the rise of the drive is part of it.
    """
    run = case.simulate()
    span = run.trace.shots[-1]
    moved = run.trace.position[span.close] - run.trace.position[span.open]
    lasted = run.trace.time[span.close] - run.trace.time[span.open]
    return float(moved - run.steady.speed * lasted)
