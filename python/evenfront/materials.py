"""Typical values of material classes, and the usual range of every input.

Every figure here is common practice, from memory, without a source: good for defaults that are
printed as assumptions and for warnings, never for a check of physics.
"""

from __future__ import annotations

from dataclasses import dataclass

from evenfront import units as u
from evenfront.units import Kind


@dataclass(frozen=True)
class Typical:
    """A typical value [SI] and half the width of its range; None where only one figure is known."""

    value: float
    spread: float | None


def _span(kind: Kind, low: str, high: str | None = None) -> Typical:
    first = u.si(low, kind)
    if high is None:
        return Typical(first, None)
    last = u.si(high, kind)
    return Typical((first + last) / 2, (last - first) / 2)


def _energy(low: str, high: str) -> Typical:
    return _span(u.MOLAR_ENERGY, low, high)


def _modulus(low: str, high: str) -> Typical:
    return _span(u.STRESS, low, high)


def _expansion(low: str, high: str | None = None) -> Typical:
    return _span(u.EXPANSION, low, high)


CLASSES: dict[str, dict[str, Typical]] = {
    "light-filled epoxy": {"activation_energy": _energy("65 kJ/mol", "85 kJ/mol")},
    "filled epoxy": {
        "activation_energy": _energy("60 kJ/mol", "75 kJ/mol"),
        "bulk_modulus": _modulus("2.5 GPa", "5 GPa"),
        "thermal_expansion": _expansion("3e-4 1/K", "4.5e-4 1/K"),
    },
    "thermally conductive epoxy": {"activation_energy": _energy("60 kJ/mol", "75 kJ/mol")},
    "filled polyol": {
        "activation_energy": _energy("45 kJ/mol", "55 kJ/mol"),
        "bulk_modulus": _modulus("2.2 GPa", "3 GPa"),
        "thermal_expansion": _expansion("5e-4 1/K", "7e-4 1/K"),
    },
    "filled silicone": {
        "activation_energy": _energy("13 kJ/mol", "18 kJ/mol"),
        "bulk_modulus": _modulus("1.2 GPa", "2 GPa"),
        "thermal_expansion": _expansion("5e-4 1/K", "8e-4 1/K"),
    },
    "amine": {
        "activation_energy": _energy("25 kJ/mol", "45 kJ/mol"),
        "bulk_modulus": _modulus("1.5 GPa", "2 GPa"),
        "thermal_expansion": _expansion("8e-4 1/K", "10e-4 1/K"),
    },
    "isocyanate": {
        "activation_energy": _energy("25 kJ/mol", "45 kJ/mol"),
        "bulk_modulus": _modulus("1.8 GPa", "2.3 GPa"),
        "thermal_expansion": _expansion("7e-4 1/K"),
    },
    "anhydride": {"activation_energy": _energy("25 kJ/mol", "45 kJ/mol")},
}
"""Per class: activation energy of the viscosity at fixed shear rate, bulk modulus without gas,
thermal expansion; only where a range is in common use."""


def typical(material_class: str | None, name: str) -> Typical | None:
    """Give the class's value of `name`, if it has one."""
    return CLASSES.get(material_class or "", {}).get(name)


@dataclass(frozen=True)
class Usual:
    """Usual range of a key; "*" stands for any index, an empty bound for none."""

    path: str
    kind: Kind
    low: str
    high: str


USUAL: tuple[Usual, ...] = (
    Usual("resin.density", u.DENSITY, "0.95 g/cm^3", "3 g/cm^3"),
    Usual("resin.bulk_modulus", u.STRESS, "0.9 GPa", "5 GPa"),
    Usual("resin.free_gas", u.FRACTION, "", "10 %"),
    Usual("resin.viscosity.viscosity", u.VISCOSITY, "0.4 Pa*s", "800 Pa*s"),
    Usual("resin.viscosity.yield_stress", u.STRESS, "", "500 Pa"),
    Usual("resin.viscosity.activation_energy", u.MOLAR_ENERGY, "13 kJ/mol", "85 kJ/mol"),
    Usual("resin.metering.bore", u.LENGTH, "25 mm", "100 mm"),
    Usual("resin.line.*.bore", u.LENGTH, "10 mm", "25 mm"),
    Usual("resin.shutoff.passage_volume", u.VOLUME, "", "3 mL"),
    Usual("hardener.density", u.DENSITY, "0.93 g/cm^3", "1.25 g/cm^3"),
    Usual("hardener.bulk_modulus", u.STRESS, "1.5 GPa", "2.3 GPa"),
    Usual("hardener.free_gas", u.FRACTION, "", "0.1 %"),
    Usual("hardener.viscosity.viscosity", u.VISCOSITY, "5 cP", "500 cP"),
    Usual("hardener.viscosity.activation_energy", u.MOLAR_ENERGY, "25 kJ/mol", "45 kJ/mol"),
    Usual("hardener.metering.bore", u.LENGTH, "10 mm", "32 mm"),
    Usual("hardener.line.*.bore", u.LENGTH, "3 mm", "8 mm"),
    Usual("hardener.shutoff.passage_volume", u.VOLUME, "", "0.5 mL"),
    Usual("resin.feed.bore", u.LENGTH, "19 mm", "38 mm"),
    Usual("resin.feed.tank_pressure", u.PRESSURE, "2 bar", "7 bar"),
    Usual("hardener.feed.bore", u.LENGTH, "6 mm", "12 mm"),
    Usual("hardener.feed.tank_pressure", u.PRESSURE, "0.3 bar", "2 bar"),
    *(
        usual
        for stream in ("resin", "hardener")
        for usual in (
            Usual(f"{stream}.thermal_expansion", u.EXPANSION, "3e-4 1/K", "10e-4 1/K"),
            Usual(f"{stream}.metering.leak", u.CONDUCTANCE, "", "0.1 mL/min/bar"),
            Usual(f"{stream}.metering.pocket", u.VOLUME, "", "3 mL"),
            Usual(f"{stream}.metering.lash", u.LENGTH, "", "0.3 mm"),
            Usual(f"{stream}.metering.temperature", u.TEMPERATURE, "15 degC", "65 degC"),
            Usual(f"{stream}.line.*.temperature", u.TEMPERATURE, "15 degC", "65 degC"),
            Usual(f"{stream}.line.*.idle_temperature", u.TEMPERATURE, "5 degC", "65 degC"),
            Usual(f"{stream}.line.*.idle_time", u.LONG_TIME, "1 min", "60 min"),
            Usual(f"{stream}.line.*.length", u.LENGTH, "", "6 m"),
            Usual(f"{stream}.line.*.pocket", u.VOLUME, "", "3 mL"),
            Usual(f"{stream}.line.*.rating", u.PRESSURE, "100 bar", ""),
            Usual(f"{stream}.throttle.seat_bore", u.LENGTH, "2 mm", "5 mm"),
            Usual(f"{stream}.feed.length", u.LENGTH, "1 m", "3 m"),
            Usual(f"{stream}.feed.valve_time", u.TIME, "", "1 s"),
            Usual(f"{stream}.shutoff.open_time", u.TIME, "20 ms", "300 ms"),
            Usual(f"{stream}.shutoff.close_time", u.TIME, "20 ms", "300 ms"),
            Usual(f"{stream}.shutoff.delay", u.TIME, "", "60 ms"),
            Usual(f"{stream}.shutoff.stem_volume", u.VOLUME, "", "0.2 mL"),
            Usual(f"{stream}.shutoff.suck_back", u.VOLUME, "", "0.5 mL"),
            Usual(f"{stream}.shutoff.opening_pressure", u.PRESSURE, "0.1 bar", "0.7 bar"),
        )
    ),
    *(
        Usual(f"{shaft}.{key}", kind, low, high)
        for shaft in ("shaft", "resin.drive", "hardener.drive")
        for key, kind, low, high in (
            ("stroke", u.LENGTH, "50 mm", "300 mm"),
            ("mass", u.MASS, "3 kg", "20 kg"),
            ("encoder", u.ENCODER, "20 1/mm", "200 1/mm"),
        )
    ),
    *(
        Usual(f"{drive}.{key}", kind, low, high)
        for drive in ("drive", "resin.drive", "hardener.drive")
        for key, kind, low, high in (
            ("rise_time", u.TIME, "", "0.5 s"),
            ("ramp_time", u.TIME, "", "0.5 s"),
            ("delay", u.TIME, "", "0.1 s"),
            ("speed", u.SPEED, "0.1 mm/s", "30 mm/s"),
            ("stiffness", u.STIFFNESS, "5 N/um", "300 N/um"),
            ("bore", u.LENGTH, "32 mm", "160 mm"),
            ("pressure", u.PRESSURE, "3 bar", "7 bar"),
            ("dead_volume", u.VOLUME, "20 mL", "2000 mL"),
            ("supply.conductance", u.AIR_CONDUCTANCE, "0.2 L/(s*bar)", "15 L/(s*bar)"),
            ("exhaust.conductance", u.AIR_CONDUCTANCE, "0.2 L/(s*bar)", "15 L/(s*bar)"),
        )
    ),
    Usual("mixer.bore", u.LENGTH, "5 mm", "13 mm"),
    Usual("mixer.length", u.LENGTH, "100 mm", "300 mm"),
    Usual("mixer.rating", u.PRESSURE, "7 bar", "30 bar"),
    Usual("mixer.tip.bore", u.LENGTH, "1.5 mm", "4 mm"),
    Usual("mixer.doubling_time", u.LONG_TIME, "1 min", "60 min"),
    Usual("mixer.working_life", u.LONG_TIME, "5 min", "60 min"),
)
USUAL_NUMBERS: tuple[tuple[str, float, float], ...] = (
    ("ratio.hardener_per_resin", 0.05, 0.5),
    ("resin.viscosity.index", 0.6, 1.0),
    ("mixer.elements", 16, 40),
    ("mixer.void_fraction", 0.75, 0.85),
    ("mixer.pressure_multiplier", 5.0, 8.0),
    ("resin.line.*.hot_factor", 1.0, 1.6),
    ("hardener.line.*.hot_factor", 1.0, 1.6),
)
"""Usual ranges of plain numbers: path, lowest, highest."""
