"""Command line of the set-up: ``evenfront setup ratio|pressure|heat|...`` with units.

A case file gives the numbers it has; options go before it. Every problem is one line on stderr.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.axes import Axes

from evenfront import _core as core
from evenfront import setup
from evenfront import units as u
from evenfront.case import Case, CaseError, load_case
from evenfront.finding import Finding
from evenfront.setup.tables import read_columns
from evenfront.units import Kind
from evenfront.values import Number, Quantity, ToleranceText

FINE, NO, BAD_INPUT = 0, 1, 2
"""Exit codes."""
PLOT_SUFFIXES = (".png", ".svg", ".pdf")


@dataclass(frozen=True)
class Option:
    """One option of a command.

    Parameters
    ----------
    name
        Without dashes in front.
    read
        Text to value; raises ValueError.
    help
        Meaning, with an example.
    default
        As it would be written; None: left out.
    case
        Takes the value from a case; the option is then needed only without one.
    needed
        Whether it may not be left out.
    many
        Whether several values follow.
    positional
        Whether it stands without its name.
    """

    name: str
    read: Callable[[str], Any]
    help: str
    default: str | None = None
    case: Callable[[Inputs], Any] | None = None
    needed: bool = False
    many: bool = False
    positional: bool = False

    @property
    def shown(self) -> str:
        """As it is written and named in messages."""
        return self.name.upper() if self.positional else f"--{self.name}"

    @property
    def attribute(self) -> str:
        """Name in the parsed arguments."""
        return self.name.replace("-", "_")


@dataclass
class Inputs:
    """Values of a command's options, with the case behind them."""

    case: Case | None
    side: str
    values: dict[str, Any] = field(default_factory=dict)

    def __getitem__(self, name: str) -> Any:
        """Value of an option; None where it was left out."""
        return self.values[name]

    @property
    def machine(self) -> core.Machine:
        """Machine of the case."""
        assert self.case is not None
        machine: core.Machine = self.case.machine
        return machine

    @property
    def stream(self) -> core.Stream:
        """Stream of the case that ``--side`` names."""
        return self.machine.hardener if self.side == "hardener" else self.machine.resin

    @property
    def steady_stream(self) -> core.SteadyStream:
        """Steady flow of that stream."""
        steady = core.steady_state(self.machine)
        if not steady.flows:
            raise ValueError(steady.reason)
        return steady.hardener if self.side == "hardener" else steady.resin


@dataclass(frozen=True)
class Command:
    """A command: its options and what it does with them."""

    name: str
    help: str
    work: Callable[[Inputs], Finding]
    options: tuple[Option, ...]
    case: str = "optional"  # or "needed", "none"
    side: str | None = None  # default of --side, if the command takes one
    draw: Callable[[Any, Axes], object] | None = None  # its finding, for --plot


# --- reading ---------------------------------------------------------------------------------


def _quantity(kind: Kind, **bounds: str) -> Callable[[str], float]:
    check = Quantity(kind, **bounds).check

    def read(text: str) -> float:
        value = check(text)
        assert isinstance(value, float)
        return value

    return read


def _number(**bounds: Any) -> Callable[[str], float]:
    marker = Number(**bounds)

    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            raise ValueError(f"must be {marker.rule()}") from None
        return float(marker.check(value))

    return read


def _ratio_text(text: str) -> float:
    """``100:12`` or ``0.12``, hardener per resin."""
    parts = text.split(":")
    try:
        numbers = [float(part) for part in parts]
    except ValueError:
        numbers = []
    if len(numbers) not in (1, 2) or not all(0 < n < math.inf for n in numbers):
        raise ValueError('must be a ratio above zero, resin first, for example "100:12"')
    return numbers[0] if len(numbers) == 1 else numbers[1] / numbers[0]


def _tolerance(text: str) -> float:
    return min(ToleranceText().check(text))


_LENGTH = _quantity(u.LENGTH, above="0 mm")
_DENSITY = _quantity(u.DENSITY, above="0 g/cm^3")
_TEMPERATURE = _quantity(u.TEMPERATURE, at_least="-100 degC", at_most="400 degC")
_PRESSURE = _quantity(u.PRESSURE, above="0 bar")
_GAUGE = _quantity(u.PRESSURE, above="-1 bar")
_TIME = _quantity(u.TIME, above="0 s")
_FLOW = _quantity(u.FLOW, above="0 mL/s")
_VOLUME = _quantity(u.VOLUME, above="0 mL")
_SOME_VOLUME = _quantity(u.VOLUME, at_least="0 mL")
_SHARE = _quantity(u.FRACTION, above="0 %", below="100 %")
_COUNT = _number(above=0)


def _say(kind: Kind, meaning: str) -> str:
    """Help text with an example; argparse takes a percent sign doubled."""
    return f"{meaning}, such as {u.examples(kind)}".replace("%", "%%")


def _missing(option: Option) -> str:
    """Say that a needed option was left out."""
    where = " (or give --case)" if option.case else ""
    return f"{option.shown}: is missing{where}; {option.help}".replace("%%", "%")


def _read_inputs(command: Command, args: argparse.Namespace) -> Inputs:
    """Read every option, or all problems at once."""
    problems: list[str] = []
    case = None
    if command.case != "none" and args.case is not None:
        case = load_case(args.case)
    elif command.case == "needed":
        problems.append("--case: is missing; a case file, for example --case machine.toml")
    inputs = Inputs(case, getattr(args, "side", None) or "resin")
    for option in command.options:
        text = getattr(args, option.attribute)
        try:
            if text is not None:
                value: Any = (
                    [option.read(each) for each in text] if option.many else option.read(text)
                )
            elif option.case is not None and case is not None:
                value = option.case(inputs)
            elif option.default is not None:
                value = option.read(option.default)
            else:
                value = None
                if option.needed:
                    problems.append(_missing(option))
        except CaseError:
            raise
        except ValueError as reason:
            value = None
            given = f' "{text}"' if isinstance(text, str) else f" {text}" if text else ""
            problems += [f"{option.shown}{given}: {line}" for line in str(reason).splitlines()]
        inputs.values[option.name] = value
    if problems:
        raise CaseError(problems)
    return inputs


# --- options shared by several commands ------------------------------------------------------

_VISCOSITY = (
    Option(
        "viscosity",
        _quantity(u.VISCOSITY, above="0 Pa*s"),
        _say(u.VISCOSITY, "of the liquid at the temperature of the task"),
        case=lambda i: None,
        needed=True,
    ),
    Option(
        "shear-rate",
        _quantity(u.SHEAR_RATE, above="0 1/s"),
        _say(u.SHEAR_RATE, "at which the viscosity was read"),
        "1 1/s",
    ),
    Option("index", _number(at_least=0.1, at_most=1), "power-law index, 1 is Newtonian", "1"),
    Option(
        "yield-stress",
        _quantity(u.STRESS, at_least="0 Pa"),
        _say(u.STRESS, "yield stress"),
        "0 Pa",
    ),
)


def _shear_law(i: Inputs, temperature: Callable[[Inputs], float]) -> core.ShearLaw:
    """Law from the options, or that of the case's stream at a temperature [K]."""
    if i["viscosity"] is None:
        return core.at_temperature(i.stream.rheology, temperature(i))
    return _apparent_law(i["viscosity"], i["shear-rate"], i["index"], i["yield-stress"])


def _apparent_law(
    viscosity: float, rate: float, index: float, yield_stress: float
) -> core.ShearLaw:
    plastic = viscosity - yield_stress / rate
    if not plastic > 0:
        raise ValueError("the yield stress alone is more than the viscosity at that shear rate")
    return core.ShearLaw(
        consistency=plastic * rate ** (1.0 - index), index=index, yield_stress=yield_stress
    )


def _line_temperature(i: Inputs) -> float:
    return i.stream.line[-1].temperature


def _cylinder_temperature(i: Inputs) -> float:
    return i.stream.cylinder.temperature


def _hose(i: Inputs) -> core.Segment:
    """Longest piece of the line."""
    return max(i.stream.line, key=lambda segment: segment.length)


def _area(bore: float) -> float:
    return math.pi / 4 * bore**2


def _closed_volume(i: Inputs) -> float:
    """Liquid of the case's stream from piston to shut-off [m^3]."""
    shaft = i.machine.shaft
    line = sum(_area(s.bore) * s.length for s in i.stream.line)
    return float(core.area(i.stream.cylinder) * (shaft.stroke - shaft.position) + line)


def _liquid_options(side: str) -> tuple[Option, ...]:
    def of(i: Inputs) -> core.Stream:
        return i.machine.hardener if side == "hardener" else i.machine.resin

    return (
        Option(
            f"{side}-density",
            _DENSITY,
            _say(u.DENSITY, f"of the {side} at its reference temperature"),
            case=lambda i: of(i).liquid.density,
            needed=True,
        ),
        Option(
            f"{side}-expansion",
            _quantity(u.EXPANSION, at_least="0 1/K"),
            _say(u.EXPANSION, f"of the {side}"),
            "0 1/K",
            case=lambda i: of(i).liquid.thermal_expansion,
        ),
        Option(
            f"{side}-reference",
            _TEMPERATURE,
            _say(u.TEMPERATURE, "at which the density was read"),
            "25 degC",
            case=lambda i: of(i).liquid.reference_temperature,
        ),
        Option(
            f"{side}-temperature",
            _TEMPERATURE,
            _say(u.TEMPERATURE, "at which it is metered"),
            "25 degC",
            case=lambda i: of(i).cylinder.temperature,
        ),
    )


def _metered(i: Inputs, side: str) -> setup.Metered:
    """Liquid of one side: of the options; with a case its gas, stiffness and pressure as well."""
    written = {
        "density": i[f"{side}-density"],
        "thermal_expansion": i[f"{side}-expansion"],
        "reference_temperature": i[f"{side}-reference"],
    }
    if i.case is None:
        # Gas-free and at rest: the bulk modulus does not matter.
        return setup.Metered(
            core.Liquid(bulk_modulus=2e9, **written), i[f"{side}-temperature"], 0.0
        )
    steady = core.steady_state(i.machine)
    stream = i.machine.hardener if side == "hardener" else i.machine.resin
    flow = steady.hardener if side == "hardener" else steady.resin
    return setup.Metered(
        stream.liquid.replace(**written),
        i[f"{side}-temperature"],
        flow.cylinder_pressure if steady.flows else 0.0,
    )


# --- commands --------------------------------------------------------------------------------


def _do_ratio(i: Inputs) -> Finding:
    given = [i["by-volume"], i["by-weight"], i["equivalents"]]
    if i.case is not None and all(form is None for form in given):
        i.values["by-volume"] = i.case.target.ratio
    if i["equivalents"] is not None and len(i["equivalents"]) != 2:
        raise ValueError("--equivalents: two are needed, resin then hardener")
    if i["bores"] is not None and len(i["bores"]) != 2:
        raise ValueError("--bores: two are needed, resin then hardener")
    if sum(form is not None for form in (i["by-volume"], i["by-weight"], i["equivalents"])) != 1:
        raise ValueError("give one of --by-volume, --by-weight, --equivalents (or --case)")
    if i["budget-shot"] is not None:
        if i.case is None:
            raise ValueError("--budget-shot: the ratio budget needs --case")
        inputs = setup.BudgetInputs(
            shot=i["budget-shot"],
            bore_deviation=i["bore-deviation"],
            temperature_change=i["temperature-change"],
            tank_pressures=(i["resin-tank"], i["hardener-tank"]),
            stem_volumes=(i["resin-stem"], i["hardener-stem"]),
            weight_resolution=i["scale"],
        )
        return setup.machine_budget(i.machine, i.case.target, inputs)
    return setup.ratio(
        _metered(i, "resin"),
        _metered(i, "hardener"),
        by_volume=i["by-volume"],
        by_weight=i["by-weight"],
        equivalents=tuple(i["equivalents"]) if i["equivalents"] else None,
        stoichiometry=i["stoichiometry"],
        bores=tuple(i["bores"]) if i["bores"] else None,
        resin_bore=i["resin-bore"],
        resin_stock=i["resin-stock"] or (),
        hardener_stock=i["hardener-stock"] or (),
        tolerance=i["tolerance"],
    )


def _do_pressure(i: Inputs) -> Finding:
    if i["flow"] is not None and i["force"] is not None:
        raise ValueError("give --flow or --force, not both")
    return setup.pressure(i.machine, flow=i["flow"], force=i["force"])


def _do_heat(i: Inputs) -> Finding:
    if i["zones"] is not None:
        if i.case is None:
            raise ValueError("--zones: needs --case")
        return setup.zones(i.case, i["zones"])
    if i["viscosity"] is None:
        rheology, liquid = i.stream.rheology, i.stream.liquid
    else:
        if i["activation-energy"] is None:
            raise ValueError("--activation-energy: is missing; such as 50 kJ/mol")
        law = _apparent_law(i["viscosity"], i["shear-rate"], i["index"], i["yield-stress"])
        rheology = core.Rheology(
            consistency=law.consistency,
            index=law.index,
            yield_stress=law.yield_stress,
            reference_temperature=i["wall"],
            activation_energy=i["activation-energy"],
        )
        liquid = core.Liquid(
            density=i["density"], bulk_modulus=i["bulk-modulus"], thermal_expansion=i["expansion"]
        )
    line = setup.Soak(
        bore=i["bore"],
        start=i["start"],
        wall=i["wall"],
        conductivity=i["conductivity"],
        density=i["density"],
        specific_heat=i["specific-heat"],
        film=math.inf if i["film"] is None else i["film"],
    )
    return setup.heat(
        line,
        rheology,
        liquid,
        length=i["length"],
        flow=i["flow"],
        time=i["time"],
        within=i["within"],
        wall_expansion=i["wall-expansion"],
    )


def _do_viscosity(i: Inputs) -> Finding:
    return setup.viscosity(
        i["points"], i["model"], i["law"], reference_temperature=i["reference-temperature"]
    )


def _points(path: str) -> setup.Points:
    return setup.Points.read(_read_text(path))


def _draw_stations(finding: Finding, ax: Axes) -> None:
    if not finding.records:
        raise ValueError("--plot: nothing flows, so there is nothing to draw")
    setup.plot_stations(finding, ax=ax)


def _draw_viscosity(finding: setup.ViscosityFinding, ax: Axes) -> None:
    assert finding.fit is not None
    setup.plot_viscosity(finding.fit, ax=ax)


def _one_of(words: tuple[str, ...]) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text not in words:
            raise ValueError(f"must be one of {', '.join(words)}")
        return text

    return read


def _do_filler(i: Inputs) -> Finding:
    heights = {
        name: i[option]
        for name, option in (
            ("tank", "tank-depth"),
            ("hose", "hose-bore"),
            ("cylinder", "cylinder"),
        )
        if i[option] is not None
    }
    if not heights:
        raise ValueError("give at least one of --tank-depth, --hose-bore, --cylinder (or --case)")
    return setup.filler(
        setup.Filler(i["diameter"], i["filler-density"], i["weight-fraction"]),
        filled_density=i["density"],
        filled_viscosity=i["viscosity"],
        heights=heights,
        drift=i["drift"],
        yield_stress=i["yield-stress"],
        packing=i["packing"],
        idle=i["idle"],
    )


def _do_gas(i: Inputs) -> Finding:
    liquid = core.Liquid(
        density=1000.0,
        bulk_modulus=i["bulk-modulus"],
        free_gas=max(i["free-gas"], core.least_free_gas),
        gas_exponent=i["gas-exponent"],
    )
    return setup.gas(
        liquid,
        tank_pressure=i["tank-pressure"],
        working_pressure=i["pressure"],
        cylinder_volume=_area(i["bore"]) * i["stroke"],
        cylinder_bore=i["bore"],
        side=i.side,
        wanted=i["wanted"],
        share_under_vacuum=i["under-vacuum"],
        tolerance=i["tolerance"],
    )


def _do_stall(i: Inputs) -> Finding:
    def test(columns: dict[str, Any], volume: float) -> setup.Stall:
        return setup.fit_stall(
            columns["motion"],
            columns["pressure"],
            _area(i["bore"]),
            volume,
            gas_exponent=i["gas-exponent"],
            pressure_noise=i["pressure-noise"],
            motion_noise=i["motion-noise"],
        )

    if (i["second"] is None) != (i["second-volume"] is None):
        raise ValueError("--second and --second-volume belong together")
    if i["second"] is not None:
        return setup.separate_gas(
            test(i["log"], i["volume"]), test(i["second"], i["second-volume"])
        )
    return setup.stall_test(
        i["log"]["motion"],
        i["log"]["pressure"],
        area=_area(i["bore"]),
        volume=i["volume"],
        bulk_modulus=i["bulk-modulus"],
        gas_exponent=i["gas-exponent"],
        pressure_noise=i["pressure-noise"],
        motion_noise=i["motion-noise"],
    )


def _do_leak(i: Inputs) -> Finding:
    return setup.leak_test(
        i["log"]["time"],
        i["log"]["motion"],
        area=_area(i["bore"]),
        pressure=i["pressure"],
        flow=i["flow"],
        side=i.side,
        share=i["share"],
    )


def _do_prime(i: Inputs) -> Finding:
    return setup.prime(
        _shear_law(i, _line_temperature),
        bore=i["bore"],
        length=i["length"],
        pressure=i["pressure"],
        surface_tension=i["surface-tension"],
        new_share=i["new-share"],
    )


def _feed(i: Inputs) -> core.Feed:
    if i.stream.feed is None:
        raise ValueError("the case has no feed for this stream; give it here")
    return i.stream.feed


def _do_fill(i: Inputs) -> Finding:
    return setup.fill(
        _shear_law(i, _cylinder_temperature),
        cylinder_bore=i["cylinder-bore"],
        stroke=i["stroke"],
        tank_pressure=i["tank-pressure"],
        feed_bore=i["feed-bore"],
        feed_length=i["feed-length"],
        lowest=i["lowest"],
        time=i["time"],
        consumption=i["consumption"],
        heel=i["heel"],
    )


def _do_shot(i: Inputs) -> Finding:
    if i["counts"] is not None and i["volume"] is not None:
        raise ValueError("give --counts or --volume, not both")
    if i["counts"] is None and i["volume"] is None:
        raise ValueError("give the shot by --counts or --volume")
    jump = None
    if i.case is not None and i["jump"]:
        jump = setup.start_up_jump(i.case)
    densities = (i["resin-density"], i["hardener-density"])
    return setup.shot(
        bores=(i["resin-bore"], i["hardener-bore"]),
        encoder=i["encoder"],
        counts=i["counts"],
        volume=i["volume"],
        densities=None if None in densities else densities,
        stroke_left=i["stroke-left"],
        ratio=i["ratio"],
        tolerance=i["tolerance"],
        swing=i["swing"],
        skew=i["skew"],
        hardener_flow=i["hardener-flow"],
        stem=i["stem"],
        drop=i["drop"],
        jump=jump,
    )


def _do_mixer(i: Inputs) -> Finding:
    return setup.mixer(
        hold_up=i["hold-up"],
        flow=i["flow"],
        working_life=i["working-life"],
        shot=i["shot"],
        dwell=i["dwell"],
        share=i["share"],
        shift=i["shift"],
        change_interval=i["change-interval"],
        purge_volumes=i["purge-volumes"],
        mixer_price=i["mixer-price"],
        material_price=i["material-price"],
    )


def _read_text(path: str) -> str:
    try:
        return Path(path).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as reason:
        why = getattr(reason, "strerror", None) or "is not UTF-8 text"
        raise ValueError(f"cannot be read: {why}") from None


def _columns(**columns: Kind) -> Callable[[str], dict[str, Any]]:
    def read(path: str) -> dict[str, Any]:
        return read_columns(_read_text(path), dict(columns))

    return read


def _encoder(i: Inputs) -> float | None:
    written = i.case.data["shaft"].get("encoder") if i.case is not None else None
    return None if written is None else u.si(written, u.ENCODER)


def _both_flow(i: Inputs) -> float:
    steady = core.steady_state(i.machine)
    if not steady.flows:
        raise ValueError(steady.reason)
    return steady.resin.flow + steady.hardener.flow


COMMANDS = (
    Command(
        "ratio",
        "ratio by weight, volume and stoichiometry; bores; with --budget-shot the ratio budget",
        _do_ratio,
        (
            Option("by-volume", _ratio_text, "resin:hardener by volume, such as 100:12"),
            Option("by-weight", _ratio_text, "resin:hardener by weight, such as 100:8"),
            Option(
                "equivalents",
                _quantity(u.EQUIVALENT, above="0 g/mol"),
                _say(u.EQUIVALENT, "of resin and hardener"),
                many=True,
            ),
            Option("stoichiometry", _COUNT, "hardener groups per resin group", "1"),
            *_liquid_options("resin"),
            *_liquid_options("hardener"),
            Option(
                "bores",
                _LENGTH,
                "bores of resin and hardener to judge",
                many=True,
                case=lambda i: [i.machine.resin.cylinder.bore, i.machine.hardener.cylinder.bore],
            ),
            Option("resin-bore", _LENGTH, "bore for which the hardener's is wanted"),
            Option("resin-stock", _LENGTH, "resin bores to choose from", many=True),
            Option("hardener-stock", _LENGTH, "hardener bores to choose from", many=True),
            Option(
                "tolerance",
                _tolerance,
                "ratio error the material tolerates, such as 5 %%",
                "5 %",
                case=lambda i: (
                    min(i.case.target.tolerance_low, i.case.target.tolerance_high)
                    if i.case
                    else None
                ),
            ),
            Option("budget-shot", _VOLUME, "shot of both streams: gives the ratio budget"),
            Option("bore-deviation", _LENGTH, "of each bore, for the budget", "0.01 mm"),
            Option(
                "temperature-change",
                _quantity(u.TEMPERATURE_DIFFERENCE, at_least="0 K"),
                "of one stream, for the budget",
                "5 K",
            ),
            Option("resin-tank", _GAUGE, "pressure at refill, for the budget", "4 bar"),
            Option("hardener-tank", _GAUGE, "pressure at refill, for the budget", "1 bar"),
            Option("resin-stem", _SOME_VOLUME, "stem volume, for the budget", "0 mL"),
            Option("hardener-stem", _SOME_VOLUME, "stem volume, for the budget", "0 mL"),
            Option(
                "scale", _quantity(u.MASS, at_least="0 g"), "resolution, for the budget", "0.01 g"
            ),
        ),
    ),
    Command(
        "pressure",
        "drive force and flow, both ways; every pressure against its rating",
        _do_pressure,
        (
            Option("flow", _FLOW, _say(u.FLOW, "of both streams wanted")),
            Option("force", _quantity(u.FORCE, above="0 N"), _say(u.FORCE, "of the drive")),
        ),
        case="needed",
        draw=_draw_stations,
    ),
    Command(
        "heat",
        "soak time, heater power, pressure rise of blocked-in liquid; with --zones each zone off",
        _do_heat,
        (
            Option("zones", _TEMPERATURE, _say(u.TEMPERATURE, "of a zone that is off")),
            Option("start", _TEMPERATURE, _say(u.TEMPERATURE, "of the cold liquid"), "20 degC"),
            Option(
                "wall",
                _TEMPERATURE,
                _say(u.TEMPERATURE, "of what heats it"),
                case=lambda i: _hose(i).temperature,
                needed=True,
            ),
            Option("bore", _LENGTH, "of the line", case=lambda i: _hose(i).bore, needed=True),
            Option("length", _LENGTH, "of the line", case=lambda i: _hose(i).length, needed=True),
            Option(
                "wall-expansion",
                _quantity(u.WALL_EXPANSION, at_least="0 mL/bar/m"),
                _say(u.WALL_EXPANSION, "of the line"),
                "0 mL/bar/m",
                case=lambda i: _hose(i).wall_expansion,
            ),
            Option(
                "conductivity",
                _quantity(u.CONDUCTIVITY, above="0 W/m/K"),
                _say(u.CONDUCTIVITY, "of the liquid"),
                "0.3 W/m/K",
            ),
            Option(
                "specific-heat",
                _quantity(u.SPECIFIC_HEAT, above="0 J/kg/K"),
                _say(u.SPECIFIC_HEAT, "of the liquid"),
                "1200 J/kg/K",
            ),
            Option(
                "density",
                _DENSITY,
                _say(u.DENSITY, "of the liquid"),
                case=lambda i: i.stream.liquid.density,
                needed=True,
            ),
            Option(
                "film",
                _quantity(u.HEAT_TRANSFER, above="0 W/m^2/K"),
                _say(u.HEAT_TRANSFER, "to the liquid's edge; without it the wall is held"),
            ),
            *_VISCOSITY,
            Option(
                "activation-energy",
                _quantity(u.MOLAR_ENERGY, above="0 kJ/mol"),
                _say(u.MOLAR_ENERGY, "of the viscosity"),
            ),
            Option(
                "expansion",
                _quantity(u.EXPANSION, at_least="0 1/K"),
                _say(u.EXPANSION, "of the liquid"),
                "4e-4 1/K",
            ),
            Option(
                "bulk-modulus",
                _quantity(u.STRESS, above="0 GPa"),
                _say(u.STRESS, "of the liquid"),
                "2.5 GPa",
            ),
            Option("flow", _quantity(u.FLOW, at_least="0 mL/s"), "to warm in use", "0 mL/s"),
            Option("time", _TIME, "allowed for the soak"),
            Option("within", _SHARE, "of the warm viscosity", "10 %"),
        ),
        side="resin",
    ),
    Command(
        "viscosity",
        "fit a law of viscosity to a file of points; with --plot the curve over them",
        _do_viscosity,
        (
            Option(
                "points",
                _points,
                'CSV file, first line "temperature [degC],shear rate [1/s],viscosity [Pa*s]"; the '
                "first two columns may be left out",
                needed=True,
                positional=True,
            ),
            Option(
                "model",
                _one_of(setup.MODELS),
                f"law of shear: {', '.join(setup.MODELS)}",
                "newtonian",
            ),
            Option(
                "law",
                _one_of(setup.TEMPERATURE_LAWS),
                f"law of temperature: {', '.join(setup.TEMPERATURE_LAWS)}",
                "arrhenius",
            ),
            Option(
                "reference-temperature",
                _TEMPERATURE,
                "at which the viscosity is stated; default the middle one of the points",
            ),
        ),
        case="none",
        draw=_draw_viscosity,
    ),
    Command(
        "filler",
        "settling in tank, hose and cylinder; longest idle",
        _do_filler,
        (
            Option("diameter", _LENGTH, "of the coarse particles, such as 100 um", needed=True),
            Option("filler-density", _DENSITY, _say(u.DENSITY, "of the filler"), needed=True),
            Option("weight-fraction", _SHARE, "of filler, such as 50 %%", needed=True),
            Option(
                "density",
                _DENSITY,
                _say(u.DENSITY, "of the filled resin"),
                case=lambda i: i.stream.liquid.density,
                needed=True,
            ),
            Option(
                "viscosity",
                _quantity(u.VISCOSITY, above="0 Pa*s"),
                _say(u.VISCOSITY, "of the filled resin where it stands, at a low shear rate"),
                case=lambda i: core.apparent_viscosity(
                    core.at_temperature(i.stream.rheology, _cylinder_temperature(i)), 1.0
                ),
                needed=True,
            ),
            Option(
                "yield-stress",
                _quantity(u.STRESS, at_least="0 Pa"),
                _say(u.STRESS, "of the filled resin"),
                "0 Pa",
                case=lambda i: i.stream.rheology.yield_stress,
            ),
            Option("tank-depth", _LENGTH, "of liquid in the tank"),
            Option("hose-bore", _LENGTH, "of a hose that lies", case=lambda i: _hose(i).bore),
            Option(
                "cylinder",
                _LENGTH,
                "length of an upright cylinder",
                case=lambda i: i.machine.shaft.stroke,
            ),
            Option("drift", _SHARE, "of filler content allowed", "1 %"),
            Option("packing", _number(above=0, at_most=1), "densest fraction by volume", "0.64"),
            Option("idle", _TIME, "it is meant to stand, such as 8 h"),
        ),
        side="resin",
    ),
    Command(
        "gas",
        "free gas, stiffness, lost motion, ratio error per refill; vacuum needed",
        _do_gas,
        (
            Option(
                "free-gas",
                _quantity(u.FRACTION, at_least="0 %", below="100 %"),
                _say(u.FRACTION, "at atmosphere"),
                case=lambda i: i.stream.liquid.free_gas,
                needed=True,
            ),
            Option(
                "bulk-modulus",
                _quantity(u.STRESS, above="0 GPa"),
                _say(u.STRESS, "of the gas-free liquid"),
                case=lambda i: i.stream.liquid.bulk_modulus,
                needed=True,
            ),
            Option(
                "gas-exponent",
                _number(at_least=1, at_most=2),
                "1 slow, up to 1.4 fast",
                "1",
                case=lambda i: i.stream.liquid.gas_exponent,
            ),
            Option("tank-pressure", _GAUGE, _say(u.PRESSURE, "at which it refills"), "4 bar"),
            Option(
                "pressure",
                _GAUGE,
                _say(u.PRESSURE, "in the cylinder at work"),
                case=lambda i: i.steady_stream.cylinder_pressure,
                needed=True,
            ),
            Option(
                "bore",
                _LENGTH,
                "of the cylinder",
                case=lambda i: i.stream.cylinder.bore,
                needed=True,
            ),
            Option(
                "stroke",
                _LENGTH,
                "of the shaft",
                case=lambda i: i.machine.shaft.stroke,
                needed=True,
            ),
            Option("wanted", _SHARE, "free gas that may stay, for the vacuum"),
            Option("under-vacuum", _SHARE, "of the volume still gas when vacuum is broken", "10 %"),
            Option(
                "tolerance",
                _tolerance,
                "ratio error the material tolerates",
                "5 %",
                case=lambda i: (
                    min(i.case.target.tolerance_low, i.case.target.tolerance_high)
                    if i.case
                    else None
                ),
            ),
        ),
        side="resin",
    ),
    Command(
        "stall",
        "stall test: gas, softness and lash from motion against pressure, shut-offs closed",
        _do_stall,
        (
            Option(
                "log",
                _columns(motion=u.LENGTH, pressure=u.PRESSURE),
                "file of comma-separated values: motion [mm],pressure [bar]",
                needed=True,
            ),
            Option(
                "bore",
                _LENGTH,
                "of the cylinder",
                case=lambda i: i.stream.cylinder.bore,
                needed=True,
            ),
            Option("volume", _VOLUME, "liquid closed in", case=_closed_volume, needed=True),
            Option(
                "second",
                _columns(motion=u.LENGTH, pressure=u.PRESSURE),
                "file of a test at another shaft position",
            ),
            Option("second-volume", _VOLUME, "liquid closed in there"),
            Option(
                "bulk-modulus",
                _quantity(u.STRESS, above="0 GPa"),
                _say(u.STRESS, "of the gas-free liquid"),
                case=lambda i: i.stream.liquid.bulk_modulus,
            ),
            Option("gas-exponent", _number(at_least=1, at_most=2), "1 for a slow test", "1"),
            Option(
                "pressure-noise", _quantity(u.PRESSURE, at_least="0 bar"), "of the gauge", "0 bar"
            ),
            Option("motion-noise", _quantity(u.LENGTH, at_least="0 mm"), "of the encoder", "0 mm"),
        ),
        side="resin",
    ),
    Command(
        "leak",
        "leak test: creep of the shaft held against closed shut-offs",
        _do_leak,
        (
            Option(
                "log",
                _columns(time=u.TIME, motion=u.LENGTH),
                "file of comma-separated values: time [s],motion [mm]",
                needed=True,
            ),
            Option(
                "bore",
                _LENGTH,
                "of the cylinder",
                case=lambda i: i.stream.cylinder.bore,
                needed=True,
            ),
            Option("pressure", _PRESSURE, _say(u.PRESSURE, "that was held"), needed=True),
            Option(
                "flow",
                _FLOW,
                _say(u.FLOW, "this side meters at work"),
                case=lambda i: i.steady_stream.flow,
                needed=True,
            ),
            Option("share", _SHARE, "ratio error a leak may cost", "1 %"),
        ),
        side="hardener",
    ),
    Command(
        "prime",
        "time and volume to fill an empty hose; residual film; purge volumes",
        _do_prime,
        (
            *_VISCOSITY,
            Option("bore", _LENGTH, "of the hose", case=lambda i: _hose(i).bore, needed=True),
            Option("length", _LENGTH, "of the hose", case=lambda i: _hose(i).length, needed=True),
            Option("pressure", _PRESSURE, _say(u.PRESSURE, "at the inlet"), "100 psi"),
            Option(
                "surface-tension",
                _quantity(u.SURFACE_TENSION, above="0 mN/m"),
                _say(u.SURFACE_TENSION, "of the liquid"),
                "35 mN/m",
            ),
            Option(
                "new-share",
                _quantity(u.FRACTION, above="0 %", at_most="99.99 %"),
                "new after a purge",
                "99 %",
            ),
        ),
        side="resin",
    ),
    Command(
        "fill",
        "refill time, fastest retract, feed-line size, time to change-over",
        _do_fill,
        (
            *_VISCOSITY,
            Option(
                "cylinder-bore",
                _LENGTH,
                "of the metering cylinder",
                case=lambda i: i.stream.cylinder.bore,
                needed=True,
            ),
            Option(
                "stroke",
                _LENGTH,
                "of the shaft",
                case=lambda i: i.machine.shaft.stroke,
                needed=True,
            ),
            Option(
                "tank-pressure",
                _GAUGE,
                _say(u.PRESSURE, "of the tank"),
                "4 bar",
                case=lambda i: i.stream.feed.tank_pressure if i.stream.feed else 4e5,
            ),
            Option(
                "feed-bore",
                _LENGTH,
                "of the feed line",
                case=lambda i: _feed(i).bore,
                needed=True,
            ),
            Option(
                "feed-length",
                _LENGTH,
                "of the feed line",
                case=lambda i: _feed(i).length,
                needed=True,
            ),
            Option("lowest", _GAUGE, "pressure allowed in the cylinder", "-0.9 bar"),
            Option("time", _TIME, "wanted for a refill"),
            Option("consumption", _FLOW, "mean flow over work and pauses"),
            Option(
                "heel",
                _quantity(u.FRACTION, at_least="0 %", below="100 %"),
                "of a container that cannot be drawn",
                "3 %",
            ),
        ),
        side="resin",
    ),
    Command(
        "shot",
        "encoder counts, volume and weight of a shot; least shot; shots per stroke",
        _do_shot,
        (
            Option("counts", _quantity(u.COUNTS, above="0 counts"), _say(u.COUNTS, "of the shot")),
            Option("volume", _VOLUME, _say(u.VOLUME, "of both streams")),
            Option(
                "resin-bore",
                _LENGTH,
                "of the cylinder",
                case=lambda i: i.machine.resin.cylinder.bore,
                needed=True,
            ),
            Option(
                "hardener-bore",
                _LENGTH,
                "of the cylinder",
                case=lambda i: i.machine.hardener.cylinder.bore,
                needed=True,
            ),
            Option(
                "encoder",
                _quantity(u.ENCODER, above="0 1/mm"),
                _say(u.ENCODER, "counts as the controller counts them"),
                "1200 1/in",
                case=lambda i: _encoder(i) or u.si("1200 1/in", u.ENCODER),
            ),
            Option(
                "resin-density",
                _DENSITY,
                "for the weight",
                case=lambda i: i.machine.resin.liquid.density,
            ),
            Option(
                "hardener-density",
                _DENSITY,
                "for the weight",
                case=lambda i: i.machine.hardener.liquid.density,
            ),
            Option(
                "stroke-left",
                _LENGTH,
                "travel left",
                case=lambda i: i.machine.shaft.stroke - i.machine.shaft.position,
            ),
            Option(
                "ratio",
                _ratio_text,
                "resin:hardener by volume",
                case=lambda i: i.case.target.ratio if i.case else None,
            ),
            Option(
                "tolerance",
                _tolerance,
                "ratio error the material tolerates",
                "5 %",
                case=lambda i: (
                    min(i.case.target.tolerance_low, i.case.target.tolerance_high)
                    if i.case
                    else None
                ),
            ),
            Option("swing", _SOME_VOLUME, "highest less lowest lead in a shot", "0 mL"),
            Option("skew", _quantity(u.TIME, at_least="0 s"), "between the shut-offs", "0 s"),
            Option("hardener-flow", _quantity(u.FLOW, at_least="0 mL/s"), "for the skew", "0 mL/s"),
            Option("stem", _SOME_VOLUME, "stem volume of the hardener's shut-off", "0 mL"),
            Option("drop", _SOME_VOLUME, "one drop of hardener", "0 mL"),
            Option(
                "jump",
                lambda text: text == "yes",
                "yes: with --case, counts of the start-up jump",
                "no",
            ),
        ),
    ),
    Command(
        "mixer",
        "age at exit against working life, purge plan, mixers and waste per shift",
        _do_mixer,
        (
            Option(
                "hold-up",
                _VOLUME,
                _say(u.VOLUME, "liquid the mixer holds"),
                case=lambda i: core.hold_up(i.machine.mixer),
                needed=True,
            ),
            Option("flow", _FLOW, _say(u.FLOW, "of both"), case=_both_flow, needed=True),
            Option("working-life", _TIME, "of the blend, such as 20 min", needed=True),
            Option("shot", _VOLUME, "of both streams; without it flow never stops"),
            Option("dwell", _quantity(u.TIME, at_least="0 s"), "between shots", "0 s"),
            Option("share", _SHARE, "of the working life that may pass", "33.3 %"),
            Option("shift", _TIME, "length of a shift", "8 h"),
            Option("change-interval", _TIME, "between mixer changes; default the working life"),
            Option("purge-volumes", _number(at_least=0), "hold-ups purged each time", "1.5"),
            Option("mixer-price", _number(at_least=0), "of one mixer", "0"),
            Option("material-price", _number(at_least=0), "of a litre of blend", "0"),
        ),
    ),
)
"""Every set-up command."""


# --- the parser ------------------------------------------------------------------------------


def register(subparsers: argparse._SubParsersAction[Any]) -> None:
    """Add ``setup`` and its commands; each sets ``run`` and ``handler`` to its handler."""
    summary = "set a machine up: the job around the throttles"
    top = subparsers.add_parser("setup", help=summary, description=summary)
    commands = top.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for command in COMMANDS:
        made = commands.add_parser(command.name, help=command.help, description=command.help)
        if command.case != "none":
            made.add_argument("--case", metavar="CASE", help="case file that has the numbers")
        if command.side is not None:
            made.add_argument(
                "--side",
                choices=["resin", "hardener"],
                default=command.side,
                help=f"which stream; default {command.side}",
            )
        for option in command.options:
            default = f" (default {option.default})" if option.default else ""
            made.add_argument(
                option.name if option.positional else f"--{option.name}",
                metavar=option.shown if option.positional else "VALUE",
                nargs="?" if option.positional else "+" if option.many else None,
                help=option.help + default.replace("%", "%%"),
            )
        made.add_argument("--json", action="store_true", help="one JSON object on stdout")
        if command.draw is not None:
            made.add_argument("--plot", metavar="FILE", help="write the picture: png, svg or pdf")
        handler = _handler(command)
        made.set_defaults(run=handler, handler=handler)


def _handler(command: Command) -> Callable[[argparse.Namespace], int]:
    def run(args: argparse.Namespace) -> int:
        try:
            plot = _plot_path(getattr(args, "plot", None))
            finding = command.work(_read_inputs(command, args))
            if plot is not None and command.draw is not None:
                _save(finding, command.draw, plot)
        except CaseError as error:
            return _refuse(error.problems)
        except ValueError as error:
            return _refuse(str(error).splitlines())
        if args.json:
            print(json.dumps(finding.to_dict(), indent=2, allow_nan=False))
        else:
            print(finding)
        return FINE if finding.good else NO

    return run


def _refuse(problems: list[str]) -> int:
    for problem in problems:
        print(problem, file=sys.stderr)
    return BAD_INPUT


def _plot_path(text: str | None) -> Path | None:
    if text is None:
        return None
    path = Path(text)
    if path.suffix.lower() not in PLOT_SUFFIXES:
        raise CaseError([f"--plot {text}: must end in {', '.join(PLOT_SUFFIXES)}"])
    if not path.parent.is_dir():
        raise CaseError([f"--plot {text}: there is no folder {path.parent}"])
    return path


def _save(finding: Finding, draw: Callable[[Any, Axes], object], path: Path) -> None:
    from matplotlib.figure import Figure

    figure = Figure(layout="constrained", figsize=(8, 4.5))
    draw(finding, figure.subplots())
    try:
        figure.savefig(path)
    except OSError as reason:
        raise CaseError(
            [f"--plot {path}: cannot be written: {reason.strerror or reason}"]
        ) from None
