"""Setting a machine up from a material data sheet: the job around the throttles.

Ratio and its budget, drive pressure and flow, heat, filler, gas, priming, filling, shot size and
the life of the mixer. The formulas are the core's; here they are put together into answers. All
numbers are SI, pressures gauge, temperatures kelvin; streams come in the order resin, hardener.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from evenfront import _core as core
from evenfront import units as u
from evenfront.finding import Finding, Record, Value, ratio_value, values_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from evenfront.case import Case

RELIEVE = (
    "Relieve pressure on both sides before opening anything; pressure stays trapped behind closed "
    "valves. Hoses, fittings and plastic mixers have ratings."
)
FOLLOW = (
    "Follow the safety data sheets, the equipment maker's manual, local codes and licensed "
    "practice; a computed setting is a starting point, to be proved by catch weights."
)
HEATED = (
    "Heating blocked-in liquid raises its pressure: leave one end open to a relieved tank while "
    "heating up. Hot surfaces; hot resin and its vapour irritate and sensitise."
)
TANK_PRIME = u.si("100 psi", u.PRESSURE)
"""Tank pressure for priming [Pa]; common practice, no source."""
AGITATOR = 30 / 60
"""Speed of a slow tank agitator [1/s]; common practice, no source."""
LINE_SIZES = tuple(
    u.si(text, u.LENGTH)
    for text in ("0.25 in", "0.375 in", "0.5 in", "0.75 in", "1 in", "1.25 in", "1.5 in", "2 in")
)
"""Bores of hoses that are stocked [m]; common practice, no source."""
CONTAINERS = {
    "pail, 5 US gal": 5 * 231 * 0.0254**3,
    "drum, 55 US gal": 55 * 231 * 0.0254**3,
    "tote, 275 US gal": 275 * 231 * 0.0254**3,
    "pail, 20 L": 20e-3,
    "drum, 200 L": 200e-3,
    "tote, 1000 L": 1.0,
}
"""Nominal volumes by the name of the container [m^3]: steel drums of 55 US gal after ISO 15750 hold
at least that much, totes are intermediate bulk containers; from memory."""


def _percent(value: float, figures: int = 3) -> str:
    return f"{u.digits(100 * value, figures)} %"


# --- ratio -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Metered:
    """A liquid as it is metered.

    Parameters
    ----------
    liquid
        As the data sheet gives it.
    temperature
        In the cylinder [K].
    pressure
        In the cylinder, gauge [Pa].
    """

    liquid: core.Liquid
    temperature: float
    pressure: float = 0.0

    @property
    def liquid_per_volume(self) -> float:
        """Liquid volume per actual volume [-]."""
        return core.liquid_per_volume(self.liquid, self.pressure, self.temperature)

    @property
    def density(self) -> float:
        """Gas-free density at the metering temperature [kg/m^3]."""
        return core.thermal_density(self.liquid, self.temperature)


def best_bores(
    ratio: float,
    resin_stock: Sequence[float],
    hardener_stock: Sequence[float],
    resin_liquid: float = 1.0,
    hardener_liquid: float = 1.0,
) -> list[tuple[float, float, float]]:
    """Pairs of stock bores, the closest to a ratio first.

    Parameters
    ----------
    ratio
        Hardener per resin by liquid volume [-].
    resin_stock, hardener_stock
        Bores to choose from [m].
    resin_liquid, hardener_liquid
        Liquid volume per actual volume in the cylinders [-].

    Returns
    -------
    Resin bore [m], hardener bore [m] and error of the ratio [-] of every pair.
    """
    resin, hardener = (
        grid.ravel() for grid in np.meshgrid(resin_stock, hardener_stock, indexing="ij")
    )
    error = core.metered_ratio(resin, hardener, resin_liquid, hardener_liquid) / ratio - 1.0
    order = np.argsort(np.abs(error), kind="stable")
    return [(float(resin[i]), float(hardener[i]), float(error[i])) for i in order]


def ratio(
    resin: Metered,
    hardener: Metered,
    *,
    by_volume: float | None = None,
    by_weight: float | None = None,
    equivalents: tuple[float, float] | None = None,
    stoichiometry: float = 1.0,
    bores: tuple[float, float] | None = None,
    resin_bore: float | None = None,
    resin_stock: Sequence[float] = (),
    hardener_stock: Sequence[float] = (),
    tolerance: float = 0.05,
) -> Finding:
    """Ratio of a data sheet in every form, and the bores that meter it.

    Parameters
    ----------
    resin, hardener
        Both liquids as they are metered.
    by_volume, by_weight, equivalents
        The ratio, in one of three forms: hardener per resin [-], or the equivalent weights of
        resin and hardener in one unit [g/mol].
    stoichiometry
        Hardener groups per resin group, with `equivalents` [-].
    bores
        Resin and hardener bore to judge [m].
    resin_bore
        Bore for which the hardener's is wanted [m].
    resin_stock, hardener_stock
        Bores to choose a pair from [m].
    tolerance
        Ratio error the material tolerates [-].

    Returns
    -------
    Finding; no good if the bores, or the best stock pair, are out of tolerance.

    Raises
    ------
    ValueError
        If not exactly one form of the ratio is given, or a value is out of its range.
    """
    given = [form is not None for form in (by_volume, by_weight, equivalents)]
    if sum(given) != 1:
        raise ValueError("give the ratio in one form: by volume, by weight or by equivalents")
    densities = resin.liquid.density, hardener.liquid.density
    if equivalents is not None:
        by_weight = core.stoichiometric_ratio(equivalents[1], equivalents[0], stoichiometry)
    if by_weight is not None:
        by_volume = core.volume_ratio(by_weight, *densities)
    assert by_volume is not None
    by_weight = core.weight_ratio(by_volume, *densities)
    liquids = resin.liquid_per_volume, hardener.liquid_per_volume
    values = [
        ratio_value("ratio_by_volume", "by liquid volume (data sheet)", by_volume),
        ratio_value("ratio_by_weight", "by weight", by_weight),
        ratio_value(
            "ratio_at_metering",
            "by volume at metering temperature",
            core.volume_ratio(by_weight, resin.density, hardener.density),
        ),
        Value("temperature_shift", "shift by temperature", 0.0, u.FRACTION),
    ]
    shift = values[2].value / by_volume - 1.0
    values[3] = Value("temperature_shift", "shift by temperature", shift, u.FRACTION)
    verdict = f"100:{u.digits(100 * by_volume, 4)} by volume is 100:{u.digits(100 * by_weight, 4)} "
    verdict += "by weight"
    good = True
    records: tuple[Record, ...] = ()
    if resin_bore is not None:
        exact = core.hardener_bore(by_volume, resin_bore, *liquids)
        values.append(Value("hardener_bore", "hardener bore for it", exact, u.LENGTH))
    if bores is not None:
        error = core.metered_ratio(*bores, *liquids) / by_volume - 1.0
        values.append(Value("bore_error", "ratio error of the bores", error, u.FRACTION))
        good = abs(error) <= tolerance
        verdict += f"; the bores are off by {_percent(error)}"
    if len(resin_stock) and len(hardener_stock):
        pairs = best_bores(by_volume, resin_stock, hardener_stock, *liquids)[:3]
        records = tuple(_pair(*pair) for pair in pairs)
        values.append(Value("best_error", "error of the best pair", pairs[0][2], u.FRACTION))
        good = good and abs(pairs[0][2]) <= tolerance
        verdict += f"; the best stock pair is off by {_percent(pairs[0][2])}"
    return Finding(
        "Ratio",
        good,
        verdict + ".",
        tuple(values),
        records,
        notes=(
            "A ratio error of some percent is the same error of reactive groups, hardener to "
            "resin.",
        ),
        cautions=(FOLLOW,),
    )


def _pair(resin: float, hardener: float, error: float) -> Record:
    name = f"{u.show(resin, u.LENGTH)} with {u.show(hardener, u.LENGTH)}"
    return Record(
        name,
        (
            Value("resin_bore", "resin bore", resin, u.LENGTH),
            Value("hardener_bore", "hardener bore", hardener, u.LENGTH),
            Value("error", "ratio error", error, u.FRACTION),
        ),
    )


def ratio_budget(contributions: Mapping[str, float], tolerance: float) -> Finding:
    """Add up in two ways what may move the ratio.

    Parameters
    ----------
    contributions
        Ratio error of each cause [-], any sign.
    tolerance
        Ratio error the material tolerates [-].

    Returns
    -------
    Finding; good if the root of the sum of squares is within tolerance.
    """
    if not contributions:
        raise ValueError("a ratio budget needs at least one contribution")
    sizes = np.abs(np.array(list(contributions.values()), dtype=float))
    if not np.all(np.isfinite(sizes)) or not tolerance > 0:
        raise ValueError("contributions must be finite and the tolerance above zero")
    worst, likely = float(sizes.sum()), float(np.sqrt((sizes**2).sum()))
    largest = max(contributions, key=lambda name: abs(contributions[name]))
    if worst <= tolerance:
        verdict = "within tolerance even if all causes add up"
    elif likely <= tolerance:
        verdict = "within tolerance if the causes are independent, not if they add up"
    else:
        verdict = "out of tolerance"
    return Finding(
        "Ratio budget",
        likely <= tolerance,
        f"{verdict}; most comes from {largest}.",
        (
            Value("sum", "sum of all", worst, u.FRACTION),
            Value("root_sum_square", "root-sum-square", likely, u.FRACTION),
            Value("tolerance", "tolerance", tolerance, u.FRACTION),
        ),
        tuple(
            Record(name, (Value("error", "ratio error", value, u.FRACTION),))
            for name, value in contributions.items()
        ),
        cautions=(FOLLOW,),
    )


@dataclass(frozen=True)
class BudgetInputs:
    """What a ratio budget of a machine takes beyond the machine itself.

    Parameters
    ----------
    shot
        Liquid volume of both streams per shot [m^3].
    bore_deviation
        Of each diameter [m].
    temperature_change
        Of one stream against the other [K].
    tank_pressures
        At which resin and hardener refill [Pa].
    stem_volumes
        Pushed forward on opening, resin and hardener [m^3].
    weight_resolution
        Of the scale [kg].
    """

    shot: float
    bore_deviation: float = 10e-6
    temperature_change: float = 5.0
    tank_pressures: tuple[float, float] = (4e5, 1e5)
    stem_volumes: tuple[float, float] = (0.0, 0.0)
    weight_resolution: float = 1e-5


def machine_budget(machine: core.Machine, target: core.Target, inputs: BudgetInputs) -> Finding:
    """Ratio budget of a machine: bores, temperature, gas per refill, leak, stems, scale.

    Parameters
    ----------
    machine
        The machine; its steady state gives pressures and flows.
    target
        Ratio and tolerance.
    inputs
        What may vary.

    Returns
    -------
    Finding as of `ratio_budget`.
    """
    steady = _steady(machine)
    streams = machine.resin, machine.hardener
    flows = steady.resin, steady.hardener
    squeezed = [
        core.compression(stream.liquid, tank, flow.cylinder_pressure)
        for stream, flow, tank in zip(streams, flows, inputs.tank_pressures, strict=True)
    ]
    metered = [
        flow.flow + s.cylinder.leak * flow.cylinder_pressure
        for s, flow in zip(streams, flows, strict=True)
    ]
    bores = [
        2 * inputs.bore_deviation / machine.resin.cylinder.bore,
        2 * inputs.bore_deviation / machine.hardener.cylinder.bore,
    ]
    hotter = [s.liquid.thermal_expansion * inputs.temperature_change for s in streams]
    shot_resin = inputs.shot / (1.0 + target.ratio)
    shot_hardener = inputs.shot - shot_resin
    contributions = {
        "resin bore": -bores[0],
        "hardener bore": bores[1],
        "temperature, resin warmer": hotter[0],
        "temperature, hardener warmer": -hotter[1],
        "gas and compression per refill": core.refill_ratio_error(*squeezed),
        "leak, resin": core.resin_leak_error(
            machine.resin.cylinder.leak, flows[0].cylinder_pressure, metered[0]
        ),
        "leak, hardener": core.hardener_leak_error(
            machine.hardener.cylinder.leak, flows[1].cylinder_pressure, metered[1]
        ),
        "stem volumes": (1 + inputs.stem_volumes[1] / shot_hardener)
        / (1 + inputs.stem_volumes[0] / shot_resin)
        - 1,
        "scale": inputs.weight_resolution / (shot_hardener * machine.hardener.liquid.density),
    }
    return ratio_budget(contributions, min(target.tolerance_low, target.tolerance_high))


def _steady(machine: core.Machine, force: float = -1.0) -> core.Steady:
    steady = core.steady_state(machine, force)
    if not steady.flows:
        raise ValueError(steady.reason)
    return steady


# --- drive pressure and flow -----------------------------------------------------------------


def pressure(
    machine: core.Machine, *, flow: float | None = None, force: float | None = None
) -> Finding:
    """Drive force, flow and every pressure of the steady state, against the ratings.

    Parameters
    ----------
    machine
        The machine.
    flow
        Liquid flow of both streams wanted [m^3/s]; without it the flow of `force` is found.
    force
        Of the drive [N]; default the machine's own.

    Returns
    -------
    Finding with a table of all pieces; no good if nothing flows or a rating is passed.
    """
    if flow is not None:
        force = core.force_for_flow(machine, flow)
    elif force is None:
        force = core.full_force(machine.drive)
    steady = core.steady_state(machine, force)
    if not steady.flows:
        return Finding("Drive and flow", False, steady.reason + ".", cautions=(RELIEVE, FOLLOW))
    stations = core.pressure_stations(machine, force)
    limit = core.force_for_rating(machine)
    total = steady.resin.flow + steady.hardener.flow
    over = [s for s in stations if s.pressure > s.rating]
    costliest = max(stations, key=lambda s: s.loss)
    verdict = (
        f"{u.show(force, u.FORCE)} drive {u.show(total, u.FLOW)}; most pressure goes into the "
        f"{_station_name(costliest)}"
    )
    if over:
        verdict += "; past its rating: " + ", ".join(_station_name(s) for s in over)
    values = [
        Value("force", "drive force", force, u.FORCE),
        Value("flow", "flow of both", total, u.FLOW),
        ratio_value("ratio", "ratio delivered by volume", steady.ratio),
        Value("limit_force", "force at the first rating", limit, u.FORCE),
    ]
    if math.isfinite(limit):
        first = max(core.pressure_stations(machine, limit), key=lambda s: s.pressure / s.rating)
        at_limit = core.steady_state(machine, limit)
        values[-1] = Value(
            "limit_force",
            f"force at the first rating ({_station_name(first)})",
            limit,
            u.FORCE,
        )
        values.append(
            Value("limit_flow", "flow there", at_limit.resin.flow + at_limit.hardener.flow, u.FLOW)
        )
    blocked = {
        name: core.blocked_pressure(stream.cylinder, force)
        for name, stream in (("resin", machine.resin), ("hardener", machine.hardener))
    }
    values += [
        Value(f"blocked_{name}", f"{name} alone blocked", value, u.PRESSURE)
        for name, value in blocked.items()
    ]
    cautions = [RELIEVE, FOLLOW]
    if blocked["hardener"] > machine.hardener.cylinder.rating or any(
        blocked["hardener"] > segment.rating for segment in machine.hardener.line
    ):
        cautions.insert(
            0,
            "A blocked hardener outlet with the resin open puts the whole drive force on the small "
            f"piston, {u.show(blocked['hardener'], u.PRESSURE)}: above a rating. Fit relief.",
        )
    return Finding(
        "Drive and flow",
        not over,
        verdict + ".",
        tuple(values),
        tuple(_station_record(s) for s in stations),
        cautions=tuple(cautions),
    )


def _station_name(station: core.Station) -> str:
    return station.name if station.stream == "both" else f"{station.stream} {station.name}"


def _station_record(station: core.Station) -> Record:
    return Record(
        _station_name(station),
        (
            Value("pressure", "pressure", station.pressure, u.PRESSURE),
            Value("loss", "lost in it", station.loss, u.PRESSURE),
            Value("rating", "rating", station.rating, u.PRESSURE),
        ),
    )


def plot_stations(finding: Finding, *, ax: Axes | None = None, **style: Any) -> Axes:
    """Bar chart of where the pressure goes.

    Parameters
    ----------
    finding
        Of `pressure`.
    ax
        To draw on; default a new figure.
    style
        Handed to the bars.

    Returns
    -------
    The axes.
    """
    if ax is None:
        import matplotlib.pyplot as plt

        ax = plt.subplots(layout="constrained")[1]
    names, losses, colours = [], [], []
    for record in finding.records:
        loss = next(value.value for value in record.values if value.key == "loss")
        if record.name.endswith("cylinder"):
            continue
        names.append(record.name)
        losses.append(u.convert(loss, u.PRESSURE, "bar"))
        colours.append({"resin": "#555555", "harde": "#c8c8c8"}.get(record.name[:5], "white"))
    bars: dict[str, Any] = {"color": colours, "edgecolor": "black", **style}
    ax.barh(names, losses, **bars)
    ax.invert_yaxis()
    ax.set_xlabel("pressure lost [bar]")
    for i, loss in enumerate(losses):
        ax.annotate(f" {u.digits(loss, 2)}", (loss, i), va="center")
    ax.margins(x=0.1)
    return ax


# --- shot size -------------------------------------------------------------------------------


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


# --- gas -------------------------------------------------------------------------------------


def gas(
    liquid: core.Liquid,
    *,
    tank_pressure: float,
    working_pressure: float,
    cylinder_volume: float,
    cylinder_bore: float,
    side: str = "resin",
    wanted: float | None = None,
    share_under_vacuum: float = 0.1,
    tolerance: float = 0.05,
) -> Finding:
    """Say what a liquid's free gas does, and the vacuum that takes it out.

    Parameters
    ----------
    liquid
        The liquid, with its free gas.
    tank_pressure, working_pressure
        At which the cylinder fills and delivers, gauge [Pa].
    cylinder_volume
        Of the full cylinder [m^3]; it counts after a refill, not the shot.
    cylinder_bore
        [m].
    side
        ``"resin"`` or ``"hardener"``; the other is taken to give nothing.
    wanted
        Free gas that may stay [-], for the vacuum needed.
    share_under_vacuum
        Of the volume that is still gas when vacuum is broken [-].
    tolerance
        Ratio error the material tolerates [-].

    Returns
    -------
    Finding; no good if the refill error is above the tolerance.
    """
    squeezed = core.compression(liquid, tank_pressure, working_pressure)
    if side not in ("resin", "hardener"):
        raise ValueError(f'side = "{side}", must be "resin" or "hardener"')
    error = core.refill_ratio_error(*((squeezed, 0.0) if side == "resin" else (0.0, squeezed)))
    motion = squeezed * cylinder_volume / (math.pi / 4 * cylinder_bore**2)
    values = {
        "free_gas": ("free gas at atmosphere", liquid.free_gas, u.FRACTION),
        "gas_under_pressure": (
            "of the volume at work",
            core.gas_share(liquid, working_pressure),
            u.FRACTION,
        ),
        "tangent_modulus": (
            "stiffness at work",
            1.0 / core.compressibility(liquid, working_pressure),
            u.MODULUS,
        ),
        "lost_volume": ("given way per refill", squeezed * cylinder_volume, u.VOLUME),
        "lost_motion": ("lost motion", motion, u.LENGTH),
        "refill_error": ("ratio error of a refill", error, u.FRACTION),
    }
    if wanted is not None:
        vacuum = core.vacuum_for_gas(wanted, share_under_vacuum)
        values["vacuum"] = ("vacuum needed, gauge", vacuum - core.standard_pressure, u.PRESSURE)
        values["vacuum_absolute"] = ("the same, absolute", vacuum, u.VACUUM)
        values["tank_fill"] = (
            "tank filled at most",
            core.foam_fill(liquid.free_gas, vacuum),
            u.FRACTION,
        )
    good = abs(error) <= tolerance
    return Finding(
        "Gas",
        good,
        f"{_percent(liquid.free_gas)} of gas costs {u.show(motion, u.LENGTH)} of motion and "
        f"{_percent(error)} of ratio per refill, {'within' if good else 'above'} "
        f"{_percent(tolerance)}.",
        values_of(values),
        notes=(
            f"Gas is compressed with exponent {u.digits(liquid.gas_exponent)}; none dissolves.",
            f"{_percent(share_under_vacuum)} of the volume is taken to be gas still when the "
            "vacuum is broken (common practice, no source).",
        ),
        cautions=(RELIEVE, FOLLOW),
    )


# --- heat ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Soak:
    """A line of liquid at rest that warms from its wall.

    Parameters
    ----------
    bore
        Inside diameter [m].
    start, wall
        Temperatures of the liquid and of what heats it [K].
    conductivity
        Of the liquid [W/(m K)].
    density
        [kg/m^3].
    specific_heat
        [J/(kg K)].
    film
        Heat transfer between heater and liquid's edge [W/(m^2 K)]; infinite: wall held.
    """

    bore: float
    start: float
    wall: float
    conductivity: float
    density: float
    specific_heat: float
    film: float = math.inf

    @property
    def biot(self) -> float:
        """Biot number on the radius [-]."""
        return self.film * self.bore / 2 / self.conductivity

    @property
    def unit_time(self) -> float:
        """Time of a Fourier number of one [s]."""
        diffusivity = self.conductivity / (self.density * self.specific_heat)
        return (self.bore / 2) ** 2 / diffusivity


def soak_time(line: Soak, rheology: core.Rheology, within: float = 0.1) -> float:
    """Time until the middle is within a share of the viscosity at the wall's temperature.

    Parameters
    ----------
    line
        The line.
    rheology
        Viscosity law of the liquid.
    within
        Share of the viscosity [-].

    Returns
    -------
    Time [s]; 0 if it is within already.
    """
    factor = 1.0 + within if line.start < line.wall else 1.0 / (1.0 + within)
    near = core.temperature_for_viscosity(rheology, line.wall, factor)
    left = (near - line.wall) / (line.start - line.wall) if line.start != line.wall else 1.0
    if left >= 1.0:
        return 0.0
    return line.unit_time * core.cylinder_fourier(line.biot, left)


def plot_soak(
    line: Soak, rheology: core.Rheology, time: float, *, ax: Axes | None = None, **style: Any
) -> Axes:
    """Draw the viscosity in the middle of a soaking line, over that at the wall's temperature.

    Parameters
    ----------
    line, rheology
        As for `soak_time`.
    time
        To draw to [s].
    ax
        To draw on; default a new figure.
    style
        Handed to the line.

    Returns
    -------
    The axes.
    """
    if ax is None:
        import matplotlib.pyplot as plt

        ax = plt.subplots(layout="constrained")[1]
    # The series needs a Fourier number that is not too small; before it the middle is as it was.
    times = np.linspace(2e-4 * line.unit_time, time, 300)
    left = np.asarray(core.cylinder_soak(line.biot, times / line.unit_time, 0.0))
    middle = line.wall + left * (line.start - line.wall)
    warm = core.at_temperature(rheology, line.wall).consistency
    thick = [core.at_temperature(rheology, t).consistency / warm for t in middle]
    ax.plot(u.convert(1.0, u.LONG_TIME, "min") * times, thick, **{"color": "black", **style})
    from matplotlib.ticker import FormatStrFormatter

    ax.set_yscale("log")
    ax.yaxis.set_major_formatter(FormatStrFormatter("%g"))
    ax.yaxis.set_minor_formatter(FormatStrFormatter("%g"))
    ax.set_xlabel("time of soak [min]")
    ax.set_ylabel("viscosity in the middle over warm [-]")
    ax.grid(visible=True, which="both", linewidth=0.3)
    return ax


def heat(
    line: Soak,
    rheology: core.Rheology,
    liquid: core.Liquid,
    *,
    length: float,
    flow: float = 0.0,
    time: float | None = None,
    within: float = 0.1,
    wall_expansion: float = 0.0,
) -> Finding:
    """Soak time, heater power and the pressure rise of blocked-in liquid.

    Parameters
    ----------
    line
        The line to warm.
    rheology, liquid
        Of the liquid in it.
    length
        [m].
    flow
        To warm while dispensing [m^3/s].
    time
        Allowed for the soak [s].
    within
        Share of the viscosity that counts as warm [-].
    wall_expansion
        Of the line [m^3/(Pa m)].

    Returns
    -------
    Finding; no good if the soak takes longer than allowed.
    """
    needed = soak_time(line, rheology, within)
    area = math.pi / 4 * line.bore**2
    cold, warm = (core.at_temperature(rheology, t).consistency for t in (line.start, line.wall))
    content = line.density * line.specific_heat * area * length * (line.wall - line.start)
    mean = core.heat_rate(flow, line.density, line.specific_heat, line.wall - line.start)
    values = {
        "soak_time": (f"until the middle is within {_percent(within)}", needed, u.LONG_TIME),
        "thinning": ("viscosity cold over warm", cold / warm, None),
        "soak_power": (
            "mean power while soaking",
            content / needed if needed > 0 else 0.0,
            u.POWER,
        ),
        "flow_power": ("power while dispensing", mean, u.POWER),
    }
    cautions = [FOLLOW]
    if line.wall > line.start:
        # Gas would cushion the rise; once degassed there is none, and that is the one to mind.
        degassed = liquid.replace(free_gas=core.least_free_gas)
        rise = core.blocked_in_pressure(degassed, line.start, line.wall, wall_expansion / area)
        values["blocked_in"] = ("pressure rise if blocked in, degassed", rise, u.PRESSURE)
        values["blocked_in_per_kelvin"] = (
            "the same per kelvin",
            rise / (line.wall - line.start),
            u.PRESSURE_PER_KELVIN,
        )
        cautions.insert(0, HEATED)
    good = time is None or needed <= time
    verdict = f"{u.show(needed, u.LONG_TIME)} of soak"
    if time is not None:
        verdict += f" against {u.show(time, u.LONG_TIME)} allowed"
    return Finding(
        "Heat",
        good,
        verdict + f"; the viscosity falls {u.digits(cold / warm)} times.",
        values_of(values),
        notes=(
            "Liquid at rest, conduction only; a power that heats all of it through the mean "
            "temperature, losses to the room not counted.",
        ),
        cautions=tuple(cautions),
    )


def zones(case: Case, room: float) -> Finding:
    """Viscosity, pressure and lead of every heat zone of the resin, and each zone off.

    Parameters
    ----------
    case
        The case as written, all zones on.
    room
        Temperature of a zone that is off [K].

    Returns
    -------
    Finding with a table; no good if the machine stops when a zone is off.
    """
    from evenfront.run import Run

    records, stopped = [], []
    names = ["all on", "cylinder", *(segment.name for segment in case.machine.resin.line)]
    for i, name in enumerate(names):
        machine = _zone_off(case.machine, i - 1, room)
        steady = core.steady_state(machine)
        label = name if i == 0 else f"{name} off"
        if not steady.flows:
            stopped.append(name)
        run = Run(case, machine)
        done = bool(run.measures.shots) and steady.flows
        place = machine.resin.line[max(i - 2, 0)].temperature
        if i <= 1:
            place = machine.resin.cylinder.temperature
        # The rate at the wall of the zone's own bore while dispensing, 8u/D.
        bore = machine.resin.line[max(i - 2, 0)].bore if i > 1 else machine.resin.cylinder.bore
        rate = 32 * steady.resin.flow / (math.pi * bore**3) if steady.flows else math.nan
        law = core.at_temperature(machine.resin.rheology, place)
        records.append(
            Record(
                label,
                (
                    Value("temperature", "temperature", place, u.TEMPERATURE),
                    Value(
                        "viscosity",
                        "viscosity",
                        core.apparent_viscosity(law, rate) if rate > 0 else math.nan,
                        u.VISCOSITY,
                    ),
                    Value("flow", "flow", steady.resin.flow + steady.hardener.flow, u.FLOW),
                    Value(
                        "resin_pressure",
                        "resin cylinder",
                        steady.resin.cylinder_pressure if steady.flows else math.nan,
                        u.PRESSURE,
                    ),
                    Value(
                        "net_lead", "net lead", run.shot.net_lead if done else math.nan, u.VOLUME
                    ),
                    Value("swing", "swing", run.shot.swing if done else math.nan, u.VOLUME),
                ),
            )
        )
    flows = [record.values[2].value for record in records]
    worst = int(np.argmin(flows))
    verdict = (
        f"nothing flows with {', '.join(stopped)} off"
        if stopped
        else f"the {names[worst]} matters most: off, {_percent(flows[worst] / flows[0])} of the "
        "flow are left"
        if worst
        else "no zone that is off lowers the flow"
    )
    return Finding(
        "Heat zones", not stopped, verdict + ".", (), tuple(records), (), (HEATED, FOLLOW)
    )


def _zone_off(machine: core.Machine, zone: int, room: float) -> core.Machine:
    """Machine with one resin zone at room temperature: -1 none, 0 cylinder, then the segments."""
    resin = machine.resin
    if zone < 0:
        return machine
    if zone == 0:
        resin = resin.replace(cylinder=resin.cylinder.replace(temperature=room))
    else:
        line = list(resin.line)
        line[zone - 1] = line[zone - 1].replace(temperature=room)
        resin = resin.replace(line=line)
    return machine.replace(resin=resin)


# --- filler ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Filler:
    """Particles in a resin.

    Parameters
    ----------
    diameter
        Of the coarse end that decides [m].
    density
        [kg/m^3].
    weight_fraction
        Of the filled resin [-].
    """

    diameter: float
    density: float
    weight_fraction: float


def filler(
    particles: Filler,
    *,
    filled_density: float,
    filled_viscosity: float,
    heights: Mapping[str, float],
    drift: float = 0.01,
    yield_stress: float = 0.0,
    packing: float = 0.64,
    idle: float | None = None,
) -> Finding:
    """How fast filler settles while a machine stands, and how long it may.

    Parameters
    ----------
    particles
        The filler.
    filled_density, filled_viscosity
        Of the filled resin at the temperature it stands at [kg/m^3, Pa s].
    heights
        Over which it settles by place: depth of the tank, bore of a hose that lies, length of an
        upright cylinder [m].
    drift
        Change of filler content allowed, as a share of the height that clears [-].
    yield_stress
        Of the resin [Pa].
    packing
        Densest filler fraction by volume [-].
    idle
        Time it is meant to stand [s].

    Returns
    -------
    Finding; no good if it is meant to stand longer than it may.
    """
    # Density of the liquid alone from that of the filled resin: volumes add.
    liquid_volume = 1.0 / filled_density - particles.weight_fraction / particles.density
    if not 0 <= particles.weight_fraction < 1 or not liquid_volume > 0:
        raise ValueError(
            f"weight_fraction = {particles.weight_fraction:g}, must be below what the density of "
            "the filled resin allows"
        )
    liquid_density = (1.0 - particles.weight_fraction) / liquid_volume
    fraction = core.filler_fraction(particles.weight_fraction, particles.density, liquid_density)
    viscosity = filled_viscosity / core.filled_viscosity(fraction, packing)
    excess = particles.density - liquid_density
    lone = core.terminal_velocity(particles.diameter, excess, viscosity, liquid_density)
    hindered = max(core.hindered_settling(fraction), core.hindered_by_viscosity(fraction))
    speed = abs(lone) * hindered
    holding = core.holding_yield_stress(particles.diameter, excess)
    held = yield_stress >= holding or speed == 0.0
    times = {
        name: math.inf if held else core.idle_time(speed, height, drift)
        for name, height in heights.items()
    }
    shortest = min(times, key=lambda name: times[name])
    good = idle is None or idle <= times[shortest]
    verdict = (
        "the yield stress holds the filler"
        if held
        else f"the {shortest} allows {u.show(times[shortest], u.LONG_TIME)} of idle for "
        f"{_percent(drift)} of drift"
    )
    return Finding(
        "Filler",
        good,
        verdict + ".",
        values_of(
            {
                "filler_fraction": ("filler by volume", fraction, u.FRACTION),
                "liquid_density": ("density without filler", liquid_density, u.DENSITY),
                "liquid_viscosity": ("viscosity without filler", viscosity, u.VISCOSITY),
                "lone_speed": ("lone particle sinks", lone, u.SETTLING),
                "settling_speed": ("hindered", 0.0 if held else speed, u.SETTLING),
                "holding_yield_stress": ("yield stress that holds it", holding, u.STRESS),
                "agitator_speed": (
                    "slow agitator (common practice, no source)",
                    AGITATOR,
                    u.ROTATION,
                ),
            }
        ),
        tuple(
            Record(
                name,
                (
                    Value("height", "height", heights[name], u.LENGTH),
                    Value("idle", "longest idle", time, u.LONG_TIME),
                ),
            )
            for name, time in times.items()
        ),
        notes=(
            "Viscosity without filler from that of the filled resin by Krieger and Dougherty; the "
            "faster of two hindered-settling laws is taken.",
        ),
        cautions=(FOLLOW,),
    )


# --- priming ---------------------------------------------------------------------------------


def prime(
    law: core.ShearLaw,
    *,
    bore: float,
    length: float,
    pressure: float = TANK_PRIME,
    surface_tension: float = 35e-3,
    new_share: float = 0.99,
) -> Finding:
    """Time and volume to fill an empty hose, what stays when it is emptied, what purges it.

    Parameters
    ----------
    law
        Of the liquid at the hose's temperature.
    bore, length
        Of the hose [m].
    pressure
        At its inlet, gauge [Pa].
    surface_tension
        [N/m].
    new_share
        Of what comes out, new after a purge [-].

    Returns
    -------
    Finding; no good if the yield stress stops the front before the end.
    """
    volume = math.pi / 4 * bore**2 * length
    reach = core.prime_reach(law, pressure, bore)
    cautions = (RELIEVE, FOLLOW)
    if length >= reach:
        return Finding(
            "Prime",
            False,
            f"the yield stress stops the liquid after {u.show(reach, u.LENGTH)}: more pressure, a "
            "wider hose or heat is needed.",
            (Value("reach", "longest hose", reach, u.LENGTH),),
            cautions=cautions,
        )
    time = core.prime_time(law, pressure, bore, length)
    # Gas that empties it again at the same mean speed leaves a film.
    mean = length / time
    viscosity = core.apparent_viscosity(law, 8 * mean / bore)
    film = core.film_left(viscosity * mean / surface_tension)
    volumes = core.purge_volumes(new_share, law.index)
    return Finding(
        "Prime",
        True,
        f"{u.show(length, u.LENGTH)} of hose fill in {u.show(time, u.TIME)} at "
        f"{u.show(pressure, u.PRESSURE)}.",
        values_of(
            {
                "prime_time": ("time to fill", time, u.TIME),
                "prime_volume": ("volume of the hose", volume, u.VOLUME),
                "film_volume": ("left on the wall if blown out", film * volume, u.VOLUME),
                "film_share": ("of the hose", film, u.FRACTION),
                "purge_volumes": (f"hose volumes to {_percent(new_share)} new", volumes, None),
                "purge_volume": ("the same", volumes * volume, u.VOLUME),
                "reach": ("longest hose at this pressure", reach, u.LENGTH),
            }
        ),
        notes=(
            "Laminar, level, air let out freely; the film for a Newtonian liquid of the apparent "
            f"viscosity at the mean speed and {u.show(surface_tension, u.SURFACE_TENSION)}.",
        ),
        cautions=cautions,
    )


# --- filling ---------------------------------------------------------------------------------


def fill(
    law: core.ShearLaw,
    *,
    cylinder_bore: float,
    stroke: float,
    tank_pressure: float,
    feed_bore: float,
    feed_length: float,
    lowest: float = core.starvation_pressure,
    time: float | None = None,
    consumption: float | None = None,
    heel: float = 0.03,
) -> Finding:
    """Refill time, fastest retract without starvation, feed-line size, time to change-over.

    Parameters
    ----------
    law
        Of the liquid at the tank's temperature.
    cylinder_bore, stroke
        [m].
    tank_pressure
        Gauge [Pa].
    feed_bore, feed_length
        Of the feed line [m].
    lowest
        Pressure allowed in the cylinder, gauge [Pa].
    time
        Wanted for a refill [s]; gives the bore needed.
    consumption
        Mean flow of this side over work and pauses [m^3/s]; gives the times to change-over.
    heel
        Share of a container that cannot be drawn [-].

    Returns
    -------
    Finding; no good if the refill takes longer than wanted, or nothing flows.
    """
    flow = core.feed_flow(law, tank_pressure, feed_bore, feed_length, lowest)
    volume = math.pi / 4 * cylinder_bore**2 * stroke
    cautions = (RELIEVE, FOLLOW)
    if not flow > 0:
        return Finding(
            "Fill",
            False,
            "the yield stress keeps the feed line closed: more tank pressure, a wider or a warmer "
            "line is needed.",
            cautions=cautions,
        )
    fastest = volume / flow
    values = {
        "feed_flow": ("largest feed flow", flow, u.FLOW),
        "retract_speed": (
            "fastest retract",
            core.retract_speed(flow, cylinder_bore),
            u.SPEED,
        ),
        "fill_time": ("shortest refill", fastest, u.TIME),
        "stroke_volume": ("full cylinder", volume, u.VOLUME),
    }
    verdict = f"a refill takes at least {u.show(fastest, u.TIME)}"
    good = True
    if time is not None:
        good = fastest <= time
        bore = core.feed_bore(law, volume / time, tank_pressure - lowest, feed_length)
        larger = [size for size in LINE_SIZES if size >= bore]
        values["feed_bore_needed"] = ("feed bore needed", bore, u.LENGTH)
        if larger:
            values["line_size"] = ("next stocked size", larger[0], u.LENGTH)
        verdict += f" against {u.show(time, u.TIME)} wanted"
    records: tuple[Record, ...] = ()
    if consumption is not None:
        records = tuple(
            Record(
                name,
                (
                    Value("volume", "volume", content, u.BULK_VOLUME),
                    Value(
                        "change_over",
                        "time to change-over",
                        core.change_over_time(content, heel, consumption),
                        u.LONG_TIME,
                    ),
                ),
            )
            for name, content in CONTAINERS.items()
        )
    return Finding(
        "Fill",
        good,
        verdict + ".",
        values_of(values),
        records,
        notes=(
            "Faster than this the cylinder falls below "
            f"{u.show(lowest, u.PRESSURE)} and starves; containers by their nominal volume less "
            f"{_percent(heel)} (from memory).",
        ),
        cautions=cautions,
    )


# --- mixer life ------------------------------------------------------------------------------


def mixer(
    *,
    hold_up: float,
    flow: float,
    working_life: float,
    shot: float | None = None,
    dwell: float = 0.0,
    share: float = 1.0 / 3.0,
    shift: float = 8 * 3600.0,
    change_interval: float | None = None,
    purge_volumes: float = 1.5,
    mixer_price: float = 0.0,
    material_price: float = 0.0,
) -> Finding:
    """Age of the blend against its working life, purge plan, mixers and waste per shift.

    Parameters
    ----------
    hold_up
        Liquid the mixer holds [m^3].
    flow
        Of both streams while dispensing [m^3/s].
    working_life
        Of the blend at the mixer's temperature [s].
    shot
        Of both streams [m^3]; default: flow never stops.
    dwell
        Between shots [s].
    share
        Of the working life that may pass [-]; a third to a half is common practice, no source.
    shift
        Length of a shift [s].
    change_interval
        Between mixer changes [s]; default the working life over the share that may pass, doubled.
    purge_volumes
        Hold-ups purged each time [-].
    mixer_price, material_price
        Of one mixer, and of a litre of blend [any currency].

    Returns
    -------
    Finding; no good if the blend is too old when it leaves.
    """
    if shot is None:
        age = core.residence_in_flow(hold_up, flow)
    else:
        age = core.age_at_exit(hold_up, shot, flow, dwell)
    pause = core.longest_pause(working_life, share, age)
    interval = working_life if change_interval is None else change_interval
    if not (interval > 0 and shift > 0 and purge_volumes >= 0):
        raise ValueError("shift, change_interval and purge_volumes must be above zero")
    changes = math.ceil(shift / interval)
    waste = changes * (1.0 + purge_volumes) * hold_up
    good = pause > 0
    values = values_of(
        {
            "residence_time": ("residence in flow", core.residence_in_flow(hold_up, flow), u.TIME),
            "age_at_exit": ("oldest when it leaves", age, u.TIME),
            "longest_pause": ("longest pause without purge", pause, u.LONG_TIME),
            "ageing": (
                "viscosity then, if it doubles in the working life",
                core.aged_viscosity(age + pause, working_life),
                None,
            ),
            "purge_volume": ("purge", purge_volumes * hold_up, u.VOLUME),
            "mixers": ("mixers per shift", float(changes), None),
            "waste": ("waste per shift", waste, u.VOLUME),
            "cost": ("cost per shift", changes * mixer_price + waste * 1e3 * material_price, None),
        }
    )
    return Finding(
        "Mixer life",
        good,
        (
            f"purge after {u.show(pause, u.LONG_TIME)} of pause at the latest"
            if good
            else f"the blend is {u.show(age, u.LONG_TIME)} old when it leaves, past "
            f"{_percent(share)} of its working life"
        )
        + ".",
        values,
        notes=(
            f"{_percent(share)} of the working life may pass and a mixer is changed every "
            f"{u.show(interval, u.LONG_TIME)} (common practice, no source). Plug flow: blend near "
            "the wall is older.",
        ),
        cautions=(
            "Blend that gels in a closed mixer heats up and can burst it: purge or take it off "
            "first.",
            FOLLOW,
        ),
    )
