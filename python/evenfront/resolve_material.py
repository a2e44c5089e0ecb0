"""A stream's liquid as the core takes it, with what was assumed of its class and its filler."""

from __future__ import annotations

import math

from evenfront import materials
from evenfront import units as u
from evenfront.notes import Notes, Values, or_default, pick
from evenfront.schema_material import CrossLaw, PowerLaw
from evenfront.schema_stream import Stream

LEAST_FREE_GAS = 1e-6


def _class_value(path: str, stream: Stream, name: str, notes: Notes, per: float = 1.0) -> float:
    """Typical value of the stream's class divided by `per`, noted; 0 where the class has none."""
    typical = materials.typical(stream.material_class, name)
    if typical is None:
        return 0.0
    kind = {
        "activation_energy": u.MOLAR_ENERGY,
        "bulk_modulus": u.STRESS,
        "thermal_expansion": u.EXPANSION,
    }[name]
    unit = "GPa" if kind is u.STRESS else kind.shown[0]

    def text(value: float) -> str:
        return u.digits(u.convert(value / per, kind, unit))

    spread = "spread not known" if typical.spread is None else f"+-{text(typical.spread)} {unit}"
    divided = f" (at fixed shear rate, divided by the index {u.digits(per)})" if per != 1 else ""
    notes.assumptions.append(
        f'{path} = {text(typical.value)} {unit}: assumed for class "{stream.material_class}", '
        f"{spread}{divided}."
    )
    return typical.value / per


def _temperatures(stream: Stream) -> set[float]:
    """Temperatures of the stream's cylinder and line, flowing and idle [K]."""
    metering = or_default(stream.metering.temperature, stream.reference_temperature)
    idle = {p.idle_temperature for p in stream.line if p.idle_temperature is not None}
    return {metering, *(or_default(piece.temperature, metering) for piece in stream.line), *idle}


def with_filler(name: str, stream: Stream, notes: Notes) -> tuple[float, float]:
    """Density [kg/m^3], and viscosity over that without filler [-] (Krieger and Dougherty)."""
    filler = stream.filler
    if filler is None:
        return stream.density, 1.0
    from evenfront import _core

    fraction = filler.volume_fraction
    if fraction is None:
        weight = float(filler.weight_fraction or 0.0)
        fraction = _core.filler_fraction(weight, filler.density, stream.density)
    if not fraction < filler.max_packing:
        key = "weight_fraction" if filler.volume_fraction is None else "volume_fraction"
        notes.problems.append(
            (
                f"{name}.filler.{key}",
                f"is {u.digits(100 * fraction)} % by volume, must be below max_packing, "
                f"{u.digits(100 * filler.max_packing)} %",
            )
        )
        return stream.density, 1.0
    density = (1.0 - fraction) * stream.density + fraction * filler.density
    thicker = _core.filled_viscosity(fraction, filler.max_packing, filler.intrinsic_viscosity)
    notes.assumptions.append(
        f"{name}.filler: {u.digits(100 * fraction)} % by volume makes "
        f"{u.show(density, u.DENSITY)} and {u.digits(thicker)} times the viscosity at every shear "
        "rate; yield_stress, bulk_modulus and thermal_expansion are taken as those of the filled "
        "liquid."
    )
    return density, thicker


def resolve_liquid(name: str, stream: Stream, density: float, notes: Notes) -> Values:
    """Fields of a liquid."""
    bulk_modulus = stream.bulk_modulus
    if bulk_modulus is None:
        bulk_modulus = _class_value(f"{name}.bulk_modulus", stream, "bulk_modulus", notes)
    expansion = stream.thermal_expansion
    if expansion is None:
        expansion = _class_value(f"{name}.thermal_expansion", stream, "thermal_expansion", notes)
        if expansion == 0 and _temperatures(stream) != {stream.reference_temperature}:
            notes.assumptions.append(
                f"{name}.thermal_expansion = 0: assumed, so heating does not change the density; "
                "3e-4 to 10e-4 1/K is usual, 1 to 4 % over 40 K."
            )
    if stream.free_gas < LEAST_FREE_GAS:
        notes.assumptions.append(
            f"{name}.free_gas = 1 ppm: the least that is computed; real liquids hold more."
        )
    return {
        "density": density,
        **pick(stream, "reference_temperature gas_exponent"),
        "bulk_modulus": bulk_modulus,
        "thermal_expansion": expansion,
        "free_gas": max(stream.free_gas, LEAST_FREE_GAS),
    }


def resolve_rheology(name: str, stream: Stream, notes: Notes) -> Values:
    """Consistency k = (viscosity - yield_stress/shear_rate) shear_rate^(1-n), n, yield stress."""
    law = stream.viscosity
    index, consistency = 1.0, law.viscosity
    yield_stress = getattr(law, "yield_stress", 0.0)
    if isinstance(law, PowerLaw):  # Herschel-Bulkley too
        index = law.index
        plastic = law.viscosity - yield_stress / law.shear_rate
        consistency = plastic * law.shear_rate ** (1.0 - index)
    reference = or_default(law.reference_temperature, stream.reference_temperature)
    cross: Values = {}
    if isinstance(law, CrossLaw):
        ratio = law.high_shear_viscosity / law.viscosity
        cross = {"cross": {**pick(law, "time_constant exponent"), "plateau_ratio": ratio}}
    return {
        "consistency": consistency,
        "index": index,
        "yield_stress": yield_stress,
        "reference_temperature": reference,
        **cross,
        **_temperature_law(name, stream, index, reference, notes),
    }


POLE_DISTANCE = 10.0
"""Least distance of any temperature from that of infinite viscosity [K]: common practice."""


def _temperature_law(
    name: str, stream: Stream, index: float, reference: float, notes: Notes
) -> Values:
    """Give the law of the temperature shift a_T in the core's fields."""
    law = stream.viscosity
    path = f"{name}.viscosity"
    used = {reference, *_temperatures(stream)}
    if law.vogel or law.wlf:
        if law.vogel:
            key, slope, pole = "vogel.T0", law.vogel.B, law.vogel.T0
        else:
            assert law.wlf is not None
            # The same law: B = ln(10) C1 C2, T0 = T_r - C2.
            slope = math.log(10.0) * law.wlf.C1 * law.wlf.C2
            key, pole = "wlf.C2", or_default(law.wlf.reference_temperature, reference) - law.wlf.C2
        if pole < 0 or min(used) < pole + POLE_DISTANCE:
            notes.problems.append(
                (
                    f"{path}.{key}",
                    f"puts infinite viscosity at {pole:.5g} K, must be {POLE_DISTANCE:g} K or more "
                    f"below every temperature of this stream, {min(used):.5g} K and above",
                )
            )
        return {"vogel": {"slope": slope, "pole": pole}}
    if law.table:
        temperatures, viscosities = zip(*law.table, strict=True)
        outside = [t for t in sorted(used) if not temperatures[0] <= t <= temperatures[-1]]
        if outside:
            notes.warnings.append(
                f"{path}.table covers {u.show(temperatures[0], u.TEMPERATURE)} to "
                f"{u.show(temperatures[-1], u.TEMPERATURE)}; at "
                f"{', '.join(u.show(t, u.TEMPERATURE) for t in outside)} the viscosity is drawn on "
                "with the slope of the table's end."
            )
        return {"table": {"temperature": list(temperatures), "viscosity": list(viscosities)}}
    energy = law.activation_energy
    if energy is None:
        path += ".activation_energy"
        energy = _class_value(path, stream, "activation_energy", notes, per=index)
        if energy == 0 and _temperatures(stream) != {reference}:
            notes.assumptions.append(
                f"{path} = 0: assumed, so the viscosity is the same at every temperature."
            )
    return {"activation_energy": energy}
