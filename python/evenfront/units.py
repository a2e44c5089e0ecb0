"""Units at the edge: text with a unit to SI and back to what people read.

Inside, everything is SI, kelvin and gauge pressure in pascal. Text such as ``"2.5 mL/s"`` is split
into number and unit by one regular expression; only then does `pint` convert it, so nothing is ever
evaluated as an expression.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache

import pint

STANDARD_PRESSURE = 101325.0
"""p0, absolute [Pa] (ISO 2533); what an absolute gauge reads at 0 gauge."""

_REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()
# Own dimensions, so that a number of turns is never taken for radians or a plain number.
_REGISTRY.define("screw_turn = [screw_turn]")
_REGISTRY.define("encoder_count = [encoder_count]")

_SPLIT = re.compile(
    r"\s*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)(?![0-9.])\s*(.*?)\s*", re.DOTALL
)
# A unit: names with one-digit powers joined by * or /, with or without brackets, or 1/name.
_UNIT = re.compile(r"(?:1\s*/\s*)?[^\W\d_][^\W_]*(?:[\s*/()^-]|[^\W_])*")
_LOOSE_DIGIT = re.compile(r"(?<![^\W_])(?<![\^*-])\d|\d\d")
_NAME = re.compile(r"[^\W\d_]+")
_POWER = re.compile(r"([^\W\d_])(-?\d)")
_GAUGE = re.compile(r"(m?bar|psi|[kM]Pa)\(?([ag])\)?")

_TRADE_NAMES = {
    "cps": "centipoise",
    "turn": "screw_turn",
    "turns": "screw_turn",
    "count": "encoder_count",
    "counts": "encoder_count",
}
_HINTS = {
    "mPas": "mPa*s",
    "mPaS": "mPa*s",
    "mpas": "mPa*s",
    "Pas": "Pa*s",
    "cp": "cP",
    "CP": "cP",
    "Nm": "N*m",
    "C": "degC",
    "F": "degF",
    "Bar": "bar",
    "BAR": "bar",
    "PSI": "psi",
    "Psi": "psi",
    "MM": "mm",
    "ML": "mL",
    "CC": "cc",
    "KN": "kN",
    "kn": "kN",
    "Sec": "s",
    "gcc": "g/cc",
    "gpcc": "g/cc",
}


class UnitError(ValueError):
    """A quantity that cannot be read; the message says what is allowed."""


@dataclass(frozen=True)
class Kind:
    """A kind of quantity: how it is stored, written and shown.

    Parameters
    ----------
    name
        With its article, as it stands in messages: ``"a length"``.
    si
        Unit inside [pint text]; empty for a fraction.
    examples
        Text a person would write, for messages and the schema.
    shown
        Units people read, the second in brackets.
    gauge
        True where ``bara`` and ``psia`` may be written and mean less `STANDARD_PRESSURE`.
    same
        Further units, each taken as one `si` of the same size (``"count/m"`` beside ``"1/m"``).
    names
        The only unit names allowed, where the dimension alone would let too much through.
    """

    name: str
    si: str
    examples: tuple[str, ...]
    shown: tuple[str, ...]
    gauge: bool = False
    same: tuple[str, ...] = ()
    names: frozenset[str] = frozenset()


LENGTH = Kind("a length", "m", ("12.7 mm", "0.5 in"), ("mm", "in"))
AREA = Kind("an area", "m^2", ("20 mm^2", "0.03 in^2"), ("mm^2", "in^2"))
VOLUME = Kind("a volume", "m^3", ("40 mL", "40 cc"), ("mL", "cc"))
TIME = Kind("a time", "s", ("20 ms", "4 s"), ("s",))
MASS = Kind("a mass", "kg", ("5 kg", "11 lb"), ("kg", "lb"))
FORCE = Kind("a force", "N", ("5.1 kN", "1150 lbf"), ("kN", "lbf"))
PRESSURE = Kind("a gauge pressure", "Pa", ("60 bar", "870 psi"), ("bar", "psi"), gauge=True)
STRESS = Kind("a stress or modulus", "Pa", ("5 Pa", "2.5 GPa"), ("Pa",))
TEMPERATURE = Kind("a temperature", "K", ("60 degC", "140 degF"), ("degC", "degF"))
DENSITY = Kind("a density", "kg/m^3", ("1.62 g/cm^3",), ("g/cm^3", "lb/gal"))
VISCOSITY = Kind("a viscosity", "Pa*s", ("20 Pa*s", "180 cP"), ("mPa*s", "cP"))
SHEAR_RATE = Kind("a shear rate", "1/s", ("10 1/s",), ("1/s",))
EXPANSION = Kind("a thermal expansion", "1/K", ("4e-4 1/K",), ("1/K",))
MOLAR_ENERGY = Kind("an activation energy", "J/mol", ("50 kJ/mol",), ("kJ/mol",))
RESISTANCE = Kind("a flow resistance", "Pa*s/m^3", ("0.2 bar*s/mL",), ("bar*s/mL", "psi*min/cc"))
CONDUCTANCE = Kind("a leak", "m^3/s/Pa", ("0.01 mL/min/bar",), ("mL/min/bar",))
WALL_EXPANSION = Kind(
    "a wall expansion per pressure and length", "m^2/Pa", ("0.025 mL/bar/m",), ("mL/bar/m",)
)
VOLUME_PER_LENGTH = Kind("a volume per length", "m^2", ("2.5 mL/m",), ("mL/m", "cc/ft"))
FLOW = Kind("a flow", "m^3/s", ("10 mL/s", "600 cc/min"), ("mL/s", "cc/min"))
DAMPING = Kind("a viscous friction", "N*s/m", ("200 N*s/m",), ("N*s/m",))
TURNS = Kind("a number of turns", "screw_turn", ("1.5 turns",), ("turns",))
PITCH = Kind("a lift per turn", "m", ("0.8 mm", "0.8 mm/turn"), ("mm",), same=("m/screw_turn",))
ANGLE = Kind(
    "an angle", "rad", ("15 deg",), ("deg",), names=frozenset({"deg", "degree", "degrees", "rad"})
)
WATER_DENSITY = 999.103
"""Of the water by which Kv and Cv are defined, at 15 degC [kg/m^3] (IEC 60534-1)."""
KV = math.sqrt(WATER_DENSITY / float(_REGISTRY.Quantity(1, "bar").to("Pa").magnitude)) * float(
    _REGISTRY.Quantity(1, "m^3/hour").to("m^3/s").magnitude
)
"""Flow coefficient A_v, Q = A_v sqrt(dp/rho), of one Kv, m^3/h of water at 1 bar [m^2]."""
CV = math.sqrt(WATER_DENSITY / float(_REGISTRY.Quantity(1, "psi").to("Pa").magnitude)) * float(
    _REGISTRY.Quantity(1, "gallon/minute").to("m^3/s").magnitude
)
"""The same of one Cv, US gallons a minute at 1 psi [m^2]."""
AIR_CONDUCTANCE = Kind(
    "a sonic conductance", "m^3/s/Pa", ("2.5 L/(s*bar)", "2.5 dm^3/(s*bar)"), ("L/(s*bar)",)
)
"""Of pneumatic parts, free air per absolute pressure (ISO 6358-1)."""
FREE_AIR = Kind("a flow of free air", "m^3/s", ("500 L/min", "18 ft^3/min"), ("L/min", "ft^3/min"))
FREE_VOLUME = Kind("a volume of free air", "m^3", ("2 L", "0.07 ft^3"), ("L", "ft^3"))
STIFFNESS = Kind("a stiffness", "N/m", ("100 N/um", "50 kN/mm"), ("N/um", "lbf/in"))
COUNTS = Kind("a number of counts", "encoder_count", ("1500 counts",), ("counts",))
ENCODER = Kind(
    "a number of counts per length",
    "1/m",
    ("1200 1/in", "47 counts/mm"),
    ("1/mm", "1/in"),
    same=("encoder_count/m",),
)
TEMPERATURE_DIFFERENCE = Kind(
    "a temperature difference", "K", ("5 K",), ("K",), names=frozenset({"K"})
)
LONG_TIME = Kind("a time", "s", ("30 min", "8 h"), ("min", "h"))
SPEED = Kind("a speed", "m/s", ("20 mm/s",), ("mm/s", "in/s"))
POWER = Kind("a power", "W", ("400 W",), ("W",))
CONDUCTIVITY = Kind("a thermal conductivity", "W/m/K", ("0.3 W/m/K",), ("W/m/K",))
HEAT_TRANSFER = Kind("a heat transfer coefficient", "W/m^2/K", ("10 W/m^2/K",), ("W/m^2/K",))
SPECIFIC_HEAT = Kind("a specific heat", "J/kg/K", ("1200 J/kg/K",), ("J/kg/K",))
SURFACE_TENSION = Kind("a surface tension", "N/m", ("35 mN/m",), ("mN/m",))
EQUIVALENT = Kind("an equivalent weight", "kg/mol", ("190 g/mol",), ("g/mol",))
SOFTNESS = Kind("a volume per pressure", "m^3/Pa", ("0.05 mL/bar",), ("mL/bar",))
PRESSURE_PER_KELVIN = Kind("a pressure per kelvin", "Pa/K", ("1.5 bar/K",), ("bar/K", "psi/K"))
MODULUS = Kind("a modulus", "Pa", ("2.5 GPa",), ("GPa",))
VACUUM = Kind("an absolute pressure", "Pa", ("20 mbar",), ("mbar",))
BULK_VOLUME = Kind("a volume", "m^3", ("200 L", "55 gal"), ("L", "gal"))
SETTLING = Kind("a settling speed", "m/s", ("2 mm/day",), ("mm/day",))
ROTATION = Kind("a speed of rotation", "1/s", ("30 1/min",), ("1/min",))
FRACTION = Kind("a percentage", "", ("0.5 %", "200 ppm"), ("%",))


def examples(*kinds: Kind) -> str:
    """Text a person could write for any of `kinds`, in quotes, joined by "or"."""
    texts = kinds[0].examples if len(kinds) == 1 else [kind.examples[0] for kind in kinds]
    return " or ".join(f'"{text}"' for text in texts)


@lru_cache(maxsize=256)
def _unit(text: str) -> pint.Unit:
    """Parse a unit's text, or raise `UnitError` with a hint at what is meant."""
    tidy = text.replace("·", "*").replace("⋅", "*").replace("²", "^2").replace("³", "^3")
    tidy = tidy.replace("°C", "degC").replace("°F", "degF").replace("°", "deg")
    for name in _NAME.findall(tidy):
        if name in _HINTS:  # before pint, which reads "mPas" as several millipascals
            raise UnitError(f'"{name}" is not clear: write {_HINTS[name]}')
    if tidy not in ("degC", "degF"):  # within a product a degree is a difference
        tidy = tidy.replace("degC", "kelvin").replace("degF", "degR")
    if "." in tidy:
        raise UnitError(f'"{text}" is no unit: write products with *, such as mPa*s')
    if not _UNIT.fullmatch(tidy) or _LOOSE_DIGIT.search(tidy.removeprefix("1")):
        raise UnitError(f'"{text}" is no unit: write one number and one unit, no sums')
    tidy = _NAME.sub(lambda found: _TRADE_NAMES.get(found[0], found[0]), tidy)
    tidy = _POWER.sub(r"\1^\2", tidy)
    try:
        return _REGISTRY.parse_units(tidy)
    except Exception as reason:  # pint raises many kinds of error for text it cannot read
        raise UnitError(f'"{text}" is not a unit known here') from reason


@lru_cache(maxsize=64)
def _si_units(kind: Kind) -> tuple[pint.Unit, ...]:
    return tuple(_REGISTRY.parse_units(text) for text in (kind.si, *kind.same))


def split(text: str) -> tuple[float, str]:
    """Split ``"2.5 mm"`` into its number and the text of its unit.

    Raises
    ------
    UnitError
        For a comma, an expression, or a number that is missing or not finite.
    """
    if "," in text:
        raise UnitError(f'use a point, not a comma, such as "{text.replace(",", ".").strip()}"')
    found = _SPLIT.fullmatch(text)
    if not found:
        raise UnitError("one finite number and its unit are needed, no expression")
    number = float(found[1])
    if not math.isfinite(number):
        raise UnitError("the number is not finite")
    return number, found[2]


def parse(text: str, *kinds: Kind) -> tuple[Kind, float]:
    """Read a quantity of one of `kinds`.

    Returns
    -------
    tuple
        The kind that fits and the value [its SI unit; pressures gauge, temperatures kelvin].

    Raises
    ------
    UnitError
        With the rule and an example, if the text fits none of them.
    """
    needed = " or ".join(kind.name for kind in kinds)
    try:
        number, unit = split(text)
        if not unit:
            raise UnitError("the unit is missing")
        for kind in kinds:
            value = _convert(number, unit, kind)
            if value is not None:
                if not math.isfinite(value):
                    raise UnitError("the number is not finite")
                return kind, value
        raise UnitError(f'"{unit}" is the unit of something else')
    except UnitError as reason:
        raise UnitError(f"{reason}; {needed} is needed, for example {examples(*kinds)}") from None


def _convert(number: float, unit: str, kind: Kind) -> float | None:
    """Value in the SI unit of `kind`, or None where the dimension differs."""
    if unit in ("%", "ppm"):
        return number * (1e-2 if unit == "%" else 1e-6) if kind is FRACTION else None
    if kind is FRACTION:
        return None
    absolute = _GAUGE.fullmatch(unit)
    if absolute:
        if not kind.gauge:
            return None
        value = float(_REGISTRY.Quantity(number, _unit(absolute[1])).to("Pa").magnitude)
        return value - STANDARD_PRESSURE if absolute[2] == "a" else value
    parsed = _unit(unit)
    if kind.names and not set(_NAME.findall(unit.replace("°", "deg"))) <= kind.names:
        return None
    for si in _si_units(kind):
        if parsed.dimensionality == si.dimensionality:
            return float(_REGISTRY.Quantity(number, parsed).to(si).magnitude)
    return None


def si(text: str, kind: Kind) -> float:
    """Value of a quantity in the SI unit of its kind [gauge Pa, K, ...]."""
    return parse(text, kind)[1]


def convert(value: float, kind: Kind, unit: str) -> float:
    """Value [SI unit of kind] expressed in `unit`, the reverse of `parse`."""
    if kind is FRACTION:
        return value / (1e-2 if unit == "%" else 1e-6)
    target = _unit(unit)
    for source in _si_units(kind):
        if source.dimensionality == target.dimensionality:
            return float(_REGISTRY.Quantity(value, source).to(target).magnitude)
    raise UnitError(f'"{unit}" is not a unit of {kind.name}')


def written(value: float, kind: Kind, unit: str | None = None) -> str:
    """Text that `parse` reads back, all digits kept: ``"0.2 bar*s/mL"``."""
    unit = unit or kind.shown[0]
    return f"{convert(value, kind, unit):.15g} {unit}"


def digits(value: float, figures: int = 3) -> str:
    """Round to significant figures, plain decimals where a person would write them."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else str(value)
    rounded = float(f"{value:.{figures - 1}e}")
    exponent = math.floor(math.log10(abs(rounded)))
    if not -4 <= exponent < 7:
        mantissa, power = f"{rounded:.{figures - 1}e}".split("e")
        if "." in mantissa:
            mantissa = mantissa.rstrip("0").rstrip(".")
        return f"{mantissa}e{int(power)}"
    text = f"{rounded:.{max(0, figures - 1 - exponent)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def show(value: float, kind: Kind, figures: int = 3) -> str:
    """Value [SI] as people read it: ``"14.2 bar (206 psi)"``, ``"3.2 mL (cc)"``."""
    first, *others = [(digits(convert(value, kind, unit), figures), unit) for unit in kind.shown]
    text = f"{first[0]} {first[1]}"
    for number, unit in others:
        text += f" ({unit})" if number == first[0] and value != 0 else f" ({number} {unit})"
    return text
