"""The ratio of a data sheet in every form, and the bores that meter it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from evenfront import _core as core
from evenfront import units as u
from evenfront.finding import Finding, Record, Value, ratio_value
from evenfront.setup.common import FOLLOW, percent


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
        verdict += f"; the bores are off by {percent(error)}"
    if len(resin_stock) and len(hardener_stock):
        pairs = best_bores(by_volume, resin_stock, hardener_stock, *liquids)[:3]
        records = tuple(_pair(*pair) for pair in pairs)
        values.append(Value("best_error", "error of the best pair", pairs[0][2], u.FRACTION))
        good = good and abs(pairs[0][2]) <= tolerance
        verdict += f"; the best stock pair is off by {percent(pairs[0][2])}"
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
