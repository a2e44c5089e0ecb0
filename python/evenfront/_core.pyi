# Written by tests/make_stub.py from the built module; do not edit.
"""Compiled core: materials, machine, transient, transport, lead. SI, gauge pressures."""

from __future__ import annotations
import collections.abc
import enum
import numpy
import numpy.typing
import typing

__all__: list[str] = [
    "BetweenShots",
    "Composition",
    "Cylinder",
    "Drive",
    "Flow",
    "LeadCurve",
    "Liquid",
    "Machine",
    "Mixer",
    "Numerics",
    "OffRatio",
    "PipeFlow",
    "Residence",
    "ResidenceTime",
    "Rheology",
    "RunMeasures",
    "Segment",
    "Sequence",
    "Shaft",
    "ShearLaw",
    "ShotMeasures",
    "ShotSpan",
    "Shutoff",
    "SlitFlow",
    "Start",
    "Starved",
    "Status",
    "Steady",
    "SteadyStream",
    "Step",
    "StepKind",
    "Stream",
    "StreamTrace",
    "Target",
    "Throttle",
    "ThrottleFlow",
    "ThrottleKind",
    "Trace",
    "apparent_viscosity",
    "area",
    "at_temperature",
    "blend_viscosity",
    "compressibility",
    "density",
    "gas_constant",
    "gas_expansion",
    "hold_up",
    "inlet_composition",
    "laminar_limit",
    "lead_curve",
    "least_free_gas",
    "measure",
    "mixer_resistance",
    "needle_gap",
    "off_ratio",
    "ratio_error",
    "residence_time",
    "reynolds_number",
    "setting",
    "simulate",
    "standard_gravity",
    "standard_pressure",
    "starvation_pressure",
    "steady_state",
    "temperature_factor",
    "thermal_density",
    "through_mixer",
    "unrated",
    "validate",
    "volume_factor",
    "with_setting",
]

class Liquid:
    """A liquid that expands with temperature, gives under pressure and holds gas."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Liquid: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Liquid: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        density: float,
        bulk_modulus: float,
        reference_temperature: float = 298.15,
        thermal_expansion: float = 0.0,
        free_gas: float = 1e-06,
        gas_exponent: float = 1.0,
    ) -> None:
        """A liquid that expands with temperature, gives under pressure and holds gas.

        Parameters
        ----------
        density
            rho_ref, gas-free, at T_ref [kg/m^3], > 0
        bulk_modulus
            K of the gas-free liquid [Pa], > 0
        reference_temperature
            T_ref [K], > 0
        thermal_expansion
            beta [1/K], >= 0
        free_gas
            a0, volume fraction of gas at p0 [-], 1e-6 <= a0 < 1
        gas_exponent
            n_g, polytropic: 1 isothermal, 1.4 adiabatic [-]
        """
    def __replace__(self, **kwargs: typing.Any) -> Liquid:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Liquid:
        """The same with some fields changed, by keyword."""
    @property
    def bulk_modulus(self) -> float:
        """K of the gas-free liquid [Pa], > 0"""
    @property
    def density(self) -> float:
        """rho_ref, gas-free, at T_ref [kg/m^3], > 0"""
    @property
    def free_gas(self) -> float:
        """a0, volume fraction of gas at p0 [-], 1e-6 <= a0 < 1"""
    @property
    def gas_exponent(self) -> float:
        """n_g, polytropic: 1 isothermal, 1.4 adiabatic [-]"""
    @property
    def reference_temperature(self) -> float:
        """T_ref [K], > 0"""
    @property
    def thermal_expansion(self) -> float:
        """beta [1/K], >= 0"""

class Rheology:
    """tau = tau_y + k (a_T s)^n with a_T = exp(E/R (1/T - 1/T_ref))."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Rheology: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Rheology: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        consistency: float,
        index: float = 1.0,
        yield_stress: float = 0.0,
        reference_temperature: float = 298.15,
        activation_energy: float = 0.0,
    ) -> None:
        """tau = tau_y + k (a_T s)^n with a_T = exp(E/R (1/T - 1/T_ref)).

        Parameters
        ----------
        consistency
            k at T_ref [Pa s^n], > 0
        index
            n [-], 0.1 <= n <= 1
        yield_stress
            tau_y [Pa], >= 0
        reference_temperature
            T_ref [K], > 0
        activation_energy
            E of a_T [J/mol], >= 0 (a value at fixed shear rate is E n)
        """
    def __replace__(self, **kwargs: typing.Any) -> Rheology:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Rheology:
        """The same with some fields changed, by keyword."""
    @property
    def activation_energy(self) -> float:
        """E of a_T [J/mol], >= 0 (a value at fixed shear rate is E n)"""
    @property
    def consistency(self) -> float:
        """k at T_ref [Pa s^n], > 0"""
    @property
    def index(self) -> float:
        """n [-], 0.1 <= n <= 1"""
    @property
    def reference_temperature(self) -> float:
        """T_ref [K], > 0"""
    @property
    def yield_stress(self) -> float:
        """tau_y [Pa], >= 0"""

class ShearLaw:
    """The same law at one temperature: tau = tau_y + k s^n."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> ShearLaw: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> ShearLaw: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self, *, consistency: float, index: float = 1.0, yield_stress: float = 0.0
    ) -> None:
        """The same law at one temperature: tau = tau_y + k s^n.

        Parameters
        ----------
        consistency
            k a_T^n [Pa s^n], > 0
        index
            n [-], 0.1 <= n <= 1
        yield_stress
            tau_y [Pa], >= 0
        """
    def __replace__(self, **kwargs: typing.Any) -> ShearLaw:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> ShearLaw:
        """The same with some fields changed, by keyword."""
    @property
    def consistency(self) -> float:
        """k a_T^n [Pa s^n], > 0"""
    @property
    def index(self) -> float:
        """n [-], 0.1 <= n <= 1"""
    @property
    def yield_stress(self) -> float:
        """tau_y [Pa], >= 0"""

class Flow:
    """A flow and its slope."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Flow: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Flow: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def q(self) -> float:
        """volume flow [m^3/s], signed like dp"""
    @property
    def slope(self) -> float:
        """dq/d(dp) [m^3/(s Pa)], >= 0"""

class PipeFlow:
    """Laminar flow through a round bore."""
    def __call__(self, dp: float) -> Flow:
        """Flow for one pressure difference.

        Parameters
        ----------
        dp
            upstream minus downstream [Pa], any sign

        Returns
        -------
        flow [m^3/s] and its slope [m^3/(s Pa)]
        """
    def __init__(self, law: ShearLaw, bore: float, length: float) -> None:
        """Laminar flow through a round bore.

        Parameters
        ----------
        law
            frozen at one temperature [-]
        bore
            inside diameter [m], > 0
        length
            of the bore [m], > 0

        Raises
        ------
        ValueError
            if a value is out of range

        Examples
        --------
        >>> pipe = PipeFlow(ShearLaw(consistency=20.0), bore=0.012, length=3.0)
        >>> round(pipe.pressure(1e-5))
        1178926
        """
    @typing.overload
    def flow(self, dp: float) -> float: ...
    @typing.overload
    def flow(self, dp: numpy.typing.ArrayLike) -> numpy.typing.NDArray[numpy.float64]:
        """Volume flow alone, also over an array.

        Parameters
        ----------
        dp
            upstream minus downstream [Pa], any sign

        Returns
        -------
        flow [m^3/s], signed like dp
        """
    @typing.overload
    def pressure(self, q: float) -> float: ...
    @typing.overload
    def pressure(self, q: numpy.typing.ArrayLike) -> numpy.typing.NDArray[numpy.float64]:
        """Pressure difference of a flow.

        Parameters
        ----------
        q
            volume flow [m^3/s], any sign

        Returns
        -------
        pressure difference [Pa]; 0 for q = 0
        """
    def yield_pressure(self) -> float:
        """Largest pressure difference without flow.

        Returns
        -------
        pressure difference [Pa], >= 0
        """

class SlitFlow:
    """Laminar flow through a slit much wider than high."""
    def __call__(self, dp: float) -> Flow:
        """Flow for one pressure difference.

        Parameters
        ----------
        dp
            upstream minus downstream [Pa], any sign

        Returns
        -------
        flow [m^3/s] and its slope [m^3/(s Pa)]
        """
    def __init__(self, law: ShearLaw, width: float, gap: float, length: float) -> None:
        """Laminar flow through a slit much wider than high.

        Parameters
        ----------
        law
            frozen at one temperature [-]
        width
            of the slit [m], > 0
        gap
            height of the slit [m], > 0
        length
            along the flow [m], > 0

        Raises
        ------
        ValueError
            if a value is out of range
        """
    @typing.overload
    def flow(self, dp: float) -> float: ...
    @typing.overload
    def flow(self, dp: numpy.typing.ArrayLike) -> numpy.typing.NDArray[numpy.float64]:
        """Volume flow alone, also over an array.

        Parameters
        ----------
        dp
            upstream minus downstream [Pa], any sign

        Returns
        -------
        flow [m^3/s], signed like dp
        """
    @typing.overload
    def pressure(self, q: float) -> float: ...
    @typing.overload
    def pressure(self, q: numpy.typing.ArrayLike) -> numpy.typing.NDArray[numpy.float64]:
        """Pressure difference of a flow.

        Parameters
        ----------
        q
            volume flow [m^3/s], any sign

        Returns
        -------
        pressure difference [Pa]; 0 for q = 0
        """
    def yield_pressure(self) -> float:
        """Largest pressure difference without flow.

        Returns
        -------
        pressure difference [Pa], >= 0
        """

class ThrottleKind(enum.Enum):
    """Law of a throttle."""

    needle = 1
    resistance = 0

class BetweenShots(enum.Enum):
    """What the drive does while the shut-offs are shut."""

    hold = 0
    lock = 1
    vent = 2
    vent_drive = 3

class Residence(enum.Enum):
    """Residence model of the mixer."""

    dispersion = 2
    plug = 0
    tanks = 1

class StepKind(enum.Enum):
    """What a step does until when."""

    dispense_time = 0
    dispense_travel = 2
    dispense_volume = 1
    dwell = 3
    preload_pressure = 5
    preload_time = 4

class Segment:
    """A piece of line of one bore and one temperature: hose, block, head."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Segment: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Segment: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        name: str,
        bore: float,
        length: float,
        temperature: float,
        wall_expansion: float = 0.0,
        cells: int = 16,
        pocket: float = 0.0,
        rating: float = ...,
    ) -> None:
        """A piece of line of one bore and one temperature: hose, block, head.

        Parameters
        ----------
        name
            for messages and plots [-]
        bore
            inside diameter [m], > 0
        length
            of the piece [m], > 0
        temperature
            of the liquid in it [K], > 0
        wall_expansion
            volume per pressure and length [m^3/(Pa m)], >= 0
        cells
            number of links it is cut into [-], 1 ... 10000
        pocket
            trapped free air, volume at p0 [m^3], >= 0
        rating
            highest pressure allowed [Pa]
        """
    def __replace__(self, **kwargs: typing.Any) -> Segment:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Segment:
        """The same with some fields changed, by keyword."""
    @property
    def bore(self) -> float:
        """inside diameter [m], > 0"""
    @property
    def cells(self) -> int:
        """number of links it is cut into [-], 1 ... 10000"""
    @property
    def length(self) -> float:
        """of the piece [m], > 0"""
    @property
    def name(self) -> str:
        """for messages and plots [-]"""
    @property
    def pocket(self) -> float:
        """trapped free air, volume at p0 [m^3], >= 0"""
    @property
    def rating(self) -> float:
        """highest pressure allowed [Pa]"""
    @property
    def temperature(self) -> float:
        """of the liquid in it [K], > 0"""
    @property
    def wall_expansion(self) -> float:
        """volume per pressure and length [m^3/(Pa m)], >= 0"""

class Cylinder:
    """Metering cylinder."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Cylinder: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Cylinder: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        bore: float,
        temperature: float,
        leak: float = 0.0,
        pocket: float = 0.0,
        rating: float = ...,
    ) -> None:
        """Metering cylinder.

        Parameters
        ----------
        bore
            inside diameter [m], > 0
        temperature
            of the liquid in it [K], > 0
        leak
            seal leak g, flow g p [m^3/(s Pa)], >= 0
        pocket
            trapped free air, volume at p0 [m^3], >= 0
        rating
            highest pressure allowed [Pa]
        """
    def __replace__(self, **kwargs: typing.Any) -> Cylinder:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Cylinder:
        """The same with some fields changed, by keyword."""
    @property
    def bore(self) -> float:
        """inside diameter [m], > 0"""
    @property
    def leak(self) -> float:
        """seal leak g, flow g p [m^3/(s Pa)], >= 0"""
    @property
    def pocket(self) -> float:
        """trapped free air, volume at p0 [m^3], >= 0"""
    @property
    def rating(self) -> float:
        """highest pressure allowed [Pa]"""
    @property
    def temperature(self) -> float:
        """of the liquid in it [K], > 0"""

class Throttle:
    """Adjustable throttle: dp = r Q, or a needle in its seat."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Throttle: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Throttle: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        kind: ThrottleKind | str = ThrottleKind.resistance,
        resistance: float = 0.0,
        turns: float = 0.0,
        pitch: float = 0.0,
        half_angle: float = 0.0,
        seat_bore: float = 0.0,
        land_length: float = 0.0,
        discharge_coefficient: float = 0.7,
        before_shutoff: bool = True,
        volume_between: float = 0.0,
        lowest: float = 0.0,
        highest: float = 0.0,
    ) -> None:
        """Adjustable throttle: dp = r Q, or a needle in its seat.

        Parameters
        ----------
        kind
            law [-]
        resistance
            r [Pa s/m^3], >= 0; kind resistance
        turns
            open from closed [turns], > 0; kind needle
        pitch
            lift per turn [m], > 0
        half_angle
            of the cone [rad], 0 ... pi/2
        seat_bore
            diameter of the seat [m], > 0
        land_length
            length of the slit [m], > 0
        discharge_coefficient
            C_d of the kinetic loss [-], 0 < C_d <= 1
        before_shutoff
            false: between shut-off and mixing point [-]
        volume_between
            liquid between throttle and shut-off [m^3], >= 0
        lowest
            setting [Pa s/m^3 or turns]
        highest
            setting [Pa s/m^3 or turns]
        """
    def __replace__(self, **kwargs: typing.Any) -> Throttle:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Throttle:
        """The same with some fields changed, by keyword."""
    @property
    def before_shutoff(self) -> bool:
        """false: between shut-off and mixing point [-]"""
    @property
    def discharge_coefficient(self) -> float:
        """C_d of the kinetic loss [-], 0 < C_d <= 1"""
    @property
    def half_angle(self) -> float:
        """of the cone [rad], 0 ... pi/2"""
    @property
    def highest(self) -> float:
        """setting [Pa s/m^3 or turns]"""
    @property
    def kind(self) -> ThrottleKind:
        """law [-]"""
    @property
    def land_length(self) -> float:
        """length of the slit [m], > 0"""
    @property
    def lowest(self) -> float:
        """setting [Pa s/m^3 or turns]"""
    @property
    def pitch(self) -> float:
        """lift per turn [m], > 0"""
    @property
    def resistance(self) -> float:
        """r [Pa s/m^3], >= 0; kind resistance"""
    @property
    def seat_bore(self) -> float:
        """diameter of the seat [m], > 0"""
    @property
    def turns(self) -> float:
        """open from closed [turns], > 0; kind needle"""
    @property
    def volume_between(self) -> float:
        """liquid between throttle and shut-off [m^3], >= 0"""

class Shutoff:
    """Shut-off valve: resistance r_s/f^m, opening fraction f linear in time."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Shutoff: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Shutoff: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        resistance: float,
        open_time: float = 0.0,
        close_time: float = 0.0,
        delay: float = 0.0,
        close_delay: float = 0.0,
        exponent: float = 1.0,
    ) -> None:
        """Shut-off valve: resistance r_s/f^m, opening fraction f linear in time.

        Parameters
        ----------
        resistance
            r_s, fully open [Pa s/m^3], > 0
        open_time
            closed to open [s], >= 0
        close_time
            open to closed [s], >= 0
        delay
            open command to first movement [s], >= 0
        close_delay
            close command to first movement [s], >= 0
        exponent
            m [-], 1 ... 5
        """
    def __replace__(self, **kwargs: typing.Any) -> Shutoff:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Shutoff:
        """The same with some fields changed, by keyword."""
    @property
    def close_delay(self) -> float:
        """close command to first movement [s], >= 0"""
    @property
    def close_time(self) -> float:
        """open to closed [s], >= 0"""
    @property
    def delay(self) -> float:
        """open command to first movement [s], >= 0"""
    @property
    def exponent(self) -> float:
        """m [-], 1 ... 5"""
    @property
    def open_time(self) -> float:
        """closed to open [s], >= 0"""
    @property
    def resistance(self) -> float:
        """r_s, fully open [Pa s/m^3], > 0"""

class Stream:
    """One stream from cylinder to mixing point."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Stream: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Stream: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        liquid: Liquid,
        rheology: Rheology,
        cylinder: Cylinder,
        line: collections.abc.Sequence[Segment],
        throttle: Throttle,
        shutoff: Shutoff,
    ) -> None:
        """One stream from cylinder to mixing point.

        Parameters
        ----------
        liquid
            density law [-]
        rheology
            viscosity law [-]
        cylinder
            metering cylinder [-]
        line
            segments from cylinder to throttle, at least one [-]
        throttle
            adjustable throttle [-]
        shutoff
            shut-off valve [-]
        """
    def __replace__(self, **kwargs: typing.Any) -> Stream:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Stream:
        """The same with some fields changed, by keyword."""
    @property
    def cylinder(self) -> Cylinder:
        """metering cylinder [-]"""
    @property
    def line(self) -> tuple[Segment, ...]:
        """segments from cylinder to throttle, at least one [-]"""
    @property
    def liquid(self) -> Liquid:
        """density law [-]"""
    @property
    def rheology(self) -> Rheology:
        """viscosity law [-]"""
    @property
    def shutoff(self) -> Shutoff:
        """shut-off valve [-]"""
    @property
    def throttle(self) -> Throttle:
        """adjustable throttle [-]"""

class Shaft:
    """The shaft both pistons sit on."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Shaft: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Shaft: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        stroke: float,
        position: float,
        mass: float,
        friction: float = 0.0,
        viscous_friction: float = 0.0,
    ) -> None:
        """The shaft both pistons sit on.

        Parameters
        ----------
        stroke
            longest travel [m], > 0
        position
            travelled when the run starts [m], 0 <= position < stroke
        mass
            moving mass [kg], > 0
        friction
            Coulomb friction F_c [N], >= 0
        viscous_friction
            c [N s/m], >= 0
        """
    def __replace__(self, **kwargs: typing.Any) -> Shaft:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Shaft:
        """The same with some fields changed, by keyword."""
    @property
    def friction(self) -> float:
        """Coulomb friction F_c [N], >= 0"""
    @property
    def mass(self) -> float:
        """moving mass [kg], > 0"""
    @property
    def position(self) -> float:
        """travelled when the run starts [m], 0 <= position < stroke"""
    @property
    def stroke(self) -> float:
        """longest travel [m], > 0"""
    @property
    def viscous_friction(self) -> float:
        """c [N s/m], >= 0"""

class Drive:
    """Force drive, F(t) = F0 + (F_start - F0) exp(-t/rise_time)."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Drive: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Drive: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        force: float,
        rise_time: float = 0.0,
        between_shots: BetweenShots | str = BetweenShots.hold,
    ) -> None:
        """Force drive, F(t) = F0 + (F_start - F0) exp(-t/rise_time).

        Parameters
        ----------
        force
            F0 [N], > 0
        rise_time
            time constant [s], >= 0
        between_shots
            what it does while shut [-]
        """
    def __replace__(self, **kwargs: typing.Any) -> Drive:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Drive:
        """The same with some fields changed, by keyword."""
    @property
    def between_shots(self) -> BetweenShots:
        """what it does while shut [-]"""
    @property
    def force(self) -> float:
        """F0 [N], > 0"""
    @property
    def rise_time(self) -> float:
        """time constant [s], >= 0"""

class Mixer:
    """Static mixer: p_m = R_m (q_r + q_h), hold-up void x pi/4 D^2 L."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Mixer: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Mixer: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        bore: float,
        length: float,
        void_fraction: float = 0.8,
        pressure_multiplier: float = 7.0,
        blend_viscosity: float | None = None,
        temperature: float = 298.15,
        residence: Residence | str = Residence.plug,
        peclet: float = 100.0,
        tanks: float = 10.0,
        rating: float = ...,
    ) -> None:
        """Static mixer: p_m = R_m (q_r + q_h), hold-up void x pi/4 D^2 L.

        Parameters
        ----------
        bore
            D [m], > 0
        length
            L [m], > 0
        void_fraction
            free share [-], 0 < void <= 1
        pressure_multiplier
            pressure loss to that of the empty tube [-], >= 1
        blend_viscosity
            of the blend [Pa s], > 0; None: log rule
        temperature
            of the blend, for the log rule [K]
        residence
            residence model [-]
        peclet
            of the whole mixer, dispersion [-], 1 ... 1e6
        tanks
            number of tanks, tanks [-], 1 ... 1e4
        rating
            highest pressure allowed [Pa]
        """
    def __replace__(self, **kwargs: typing.Any) -> Mixer:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Mixer:
        """The same with some fields changed, by keyword."""
    @property
    def blend_viscosity(self) -> float | None:
        """of the blend [Pa s], > 0; None: log rule"""
    @property
    def bore(self) -> float:
        """D [m], > 0"""
    @property
    def length(self) -> float:
        """L [m], > 0"""
    @property
    def peclet(self) -> float:
        """of the whole mixer, dispersion [-], 1 ... 1e6"""
    @property
    def pressure_multiplier(self) -> float:
        """pressure loss to that of the empty tube [-], >= 1"""
    @property
    def rating(self) -> float:
        """highest pressure allowed [Pa]"""
    @property
    def residence(self) -> Residence:
        """residence model [-]"""
    @property
    def tanks(self) -> float:
        """number of tanks, tanks [-], 1 ... 1e4"""
    @property
    def temperature(self) -> float:
        """of the blend, for the log rule [K]"""
    @property
    def void_fraction(self) -> float:
        """free share [-], 0 < void <= 1"""

class Machine:
    """A two-component metering machine."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Machine: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Machine: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self, *, resin: Stream, hardener: Stream, shaft: Shaft, drive: Drive, mixer: Mixer
    ) -> None:
        """A two-component metering machine.

        Parameters
        ----------
        resin
            the thick stream [-]
        hardener
            the thin stream [-]
        shaft
            common shaft [-]
        drive
            force drive [-]
        mixer
            static mixer [-]
        """
    def __replace__(self, **kwargs: typing.Any) -> Machine:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Machine:
        """The same with some fields changed, by keyword."""
    @property
    def drive(self) -> Drive:
        """force drive [-]"""
    @property
    def hardener(self) -> Stream:
        """the thin stream [-]"""
    @property
    def mixer(self) -> Mixer:
        """static mixer [-]"""
    @property
    def resin(self) -> Stream:
        """the thick stream [-]"""
    @property
    def shaft(self) -> Shaft:
        """common shaft [-]"""

class Step:
    """One step of a sequence."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Step: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Step: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(self, *, kind: StepKind | str, amount: float) -> None:
        """One step of a sequence.

        Parameters
        ----------
        kind
            what is done [-]
        amount
            until when [s, m^3, m or Pa, by kind]
        """
    def __replace__(self, **kwargs: typing.Any) -> Step:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Step:
        """The same with some fields changed, by keyword."""
    @property
    def amount(self) -> float:
        """until when [s, m^3, m or Pa, by kind]"""
    @property
    def kind(self) -> StepKind:
        """what is done [-]"""

class Start:
    """Pressures before the first step."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Start: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Start: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        resin_cylinder: float = 0.0,
        resin_line: float = 0.0,
        hardener_cylinder: float = 0.0,
        hardener_line: float = 0.0,
    ) -> None:
        """Pressures before the first step.

        Parameters
        ----------
        resin_cylinder
            gauge [Pa]
        resin_line
            gauge [Pa]
        hardener_cylinder
            gauge [Pa]
        hardener_line
            gauge [Pa]
        """
    def __replace__(self, **kwargs: typing.Any) -> Start:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Start:
        """The same with some fields changed, by keyword."""
    @property
    def hardener_cylinder(self) -> float:
        """gauge [Pa]"""
    @property
    def hardener_line(self) -> float:
        """gauge [Pa]"""
    @property
    def resin_cylinder(self) -> float:
        """gauge [Pa]"""
    @property
    def resin_line(self) -> float:
        """gauge [Pa]"""

class Sequence:
    """What the machine is asked to do."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self: Sequence) -> Sequence: ...
    def __deepcopy__(self: Sequence, memo: dict[typing.Any, typing.Any]) -> Sequence: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self: Sequence,
        *,
        steps: collections.abc.Sequence[Step],
        repeat: int = 1,
        start: Start = ...,
    ) -> None:
        """What the machine is asked to do.

        Parameters
        ----------
        steps
            in order [-]
        repeat
            times [-], 1 ... 10000
        start
            pressures before [-]
        """
    def __replace__(self, **kwargs: typing.Any) -> Sequence:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self: Sequence, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Sequence:
        """The same with some fields changed, by keyword."""
    @property
    def repeat(self) -> int:
        """times [-], 1 ... 10000"""
    @property
    def start(self) -> Start:
        """pressures before [-]"""
    @property
    def steps(self) -> tuple[Step, ...]:
        """in order [-]"""

class Numerics:
    """Accuracy of a run."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Numerics: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Numerics: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(self, *, rtol: float = 0.0001, max_steps: int = 1000000) -> None:
        """Accuracy of a run.

        Parameters
        ----------
        rtol
            relative error per step [-], 1e-10 ... 1e-2
        max_steps
            of the whole run [-]
        """
    def __replace__(self, **kwargs: typing.Any) -> Numerics:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Numerics:
        """The same with some fields changed, by keyword."""
    @property
    def max_steps(self) -> int:
        """of the whole run [-]"""
    @property
    def rtol(self) -> float:
        """relative error per step [-], 1e-10 ... 1e-2"""

class Target:
    """What the part asks for."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Target: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Target: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self, *, ratio: float, tolerance_high: float, tolerance_low: float, resolve: float = 0.01
    ) -> None:
        """What the part asks for.

        Parameters
        ----------
        ratio
            r0, hardener per resin by liquid volume [-], > 0
        tolerance_high
            upper tolerance of the ratio error [-], > 0
        tolerance_low
            lower tolerance as a positive number [-], > 0
        resolve
            smallest piece that matters, fraction of the shot [-], > 0
        """
    def __replace__(self, **kwargs: typing.Any) -> Target:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Target:
        """The same with some fields changed, by keyword."""
    @property
    def ratio(self) -> float:
        """r0, hardener per resin by liquid volume [-], > 0"""
    @property
    def resolve(self) -> float:
        """smallest piece that matters, fraction of the shot [-], > 0"""
    @property
    def tolerance_high(self) -> float:
        """upper tolerance of the ratio error [-], > 0"""
    @property
    def tolerance_low(self) -> float:
        """lower tolerance as a positive number [-], > 0"""

class ThrottleFlow:
    """Flow through a throttle alone."""
    def __call__(self, dp: float, series: float = 0.0) -> Flow:
        """Flow for one pressure difference shared with a linear resistance.

        Parameters
        ----------
        dp
            upstream minus downstream [Pa], any sign
        series
            resistance in series [Pa s/m^3], >= 0

        Returns
        -------
        flow [m^3/s] and its slope [m^3/(s Pa)]
        """
    def __init__(self, throttle: Throttle, law: ShearLaw, density: float) -> None:
        """Flow through a throttle alone.

        Parameters
        ----------
        throttle
            at its setting [-]
        law
            of the liquid at the throttle's temperature [-]
        density
            there [kg/m^3], > 0
        """
    @typing.overload
    def pressure(self, q: float) -> float: ...
    @typing.overload
    def pressure(self, q: numpy.typing.ArrayLike) -> numpy.typing.NDArray[numpy.float64]:
        """Pressure lost at a flow.

        Parameters
        ----------
        q
            volume flow [m^3/s], any sign

        Returns
        -------
        pressure difference [Pa]
        """
    def yield_pressure(self) -> float:
        """Largest pressure difference without flow.

        Returns
        -------
        pressure difference [Pa], >= 0
        """

class Status(enum.Enum):
    """How a run ended."""

    not_converged = 3
    nothing_flows = 2
    ok = 0
    stroke_exhausted = 1

class StreamTrace:
    """What one stream did; one row per time of the trace."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> StreamTrace: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> StreamTrace: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def distance(self) -> numpy.typing.NDArray[numpy.float64]:
        """of each node from the cylinder [m]"""
    @property
    def drained(self) -> numpy.typing.NDArray[numpy.float64]:
        """liquid volume given to (+) or drawn from (-) the tank by a vent [m^3]"""
    @property
    def flow(self) -> numpy.typing.NDArray[numpy.float64]:
        """liquid volume flow through the shut-off [m^3/s], signed"""
    @property
    def leaked(self) -> numpy.typing.NDArray[numpy.float64]:
        """liquid volume lost at the seal since the run began [m^3]"""
    @property
    def pressure(self) -> numpy.typing.NDArray[numpy.float64]:
        """gauge [Pa], one column per node: 0 cylinder ... last node at the throttle"""
    @property
    def volume(self) -> numpy.typing.NDArray[numpy.float64]:
        """net liquid volume through the shut-off since the run began [m^3]"""

class ShotSpan:
    """One dispense step, as rows of the trace, all inclusive."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> ShotSpan: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> ShotSpan: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def close(self) -> int:
        """row of the close command, before it takes effect [-]"""
    @property
    def open(self) -> int:
        """row of the open command, after it was given [-]"""
    @property
    def shut(self) -> int:
        """row at which both shut-offs are shut [-]"""
    @property
    def step(self) -> int:
        """index into the sequence's steps [-]"""

class Starved:
    """A stream whose liquid was pulled below -0.9 bar."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Starved: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Starved: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def place(self) -> str:
        """name of the segment, or "cylinder" [-]"""
    @property
    def pressure(self) -> float:
        """lowest pressure of the run there [Pa]"""
    @property
    def stream(self) -> str:
        """ "resin" or "hardener"; empty: never [-]"""
    @property
    def time(self) -> float:
        """first time [s]"""

class Trace:
    """Result of a run. Times repeat where something jumps: first row before, second after."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Trace: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Trace: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def evaluations(self) -> int:
        """right-hand sides [-]"""
    @property
    def force(self) -> numpy.typing.NDArray[numpy.float64]:
        """of the drive [N]"""
    @property
    def hardener(self) -> StreamTrace:
        """the thin stream [-]"""
    @property
    def mass_balance_error(self) -> float:
        """larger stream's |mass lost| / mass dispensed [-]"""
    @property
    def message(self) -> str:
        """one sentence where status is not ok [-]"""
    @property
    def mixer_pressure(self) -> numpy.typing.NDArray[numpy.float64]:
        """p_m at the mixing point [Pa]"""
    @property
    def position(self) -> numpy.typing.NDArray[numpy.float64]:
        """x of the shaft [m]"""
    @property
    def rejected(self) -> int:
        """rejected time steps [-]"""
    @property
    def resin(self) -> StreamTrace:
        """the thick stream [-]"""
    @property
    def shots(self) -> tuple[ShotSpan, ...]:
        """completed dispense steps, in order [-]"""
    @property
    def speed(self) -> numpy.typing.NDArray[numpy.float64]:
        """v of the shaft [m/s]"""
    @property
    def starved(self) -> Starved:
        """where liquid was pulled apart [-]"""
    @property
    def status(self) -> Status:
        """how it ended [-]"""
    @property
    def steps(self) -> int:
        """accepted time steps [-]"""
    @property
    def time(self) -> numpy.typing.NDArray[numpy.float64]:
        """since the run began [s]"""

class SteadyStream:
    """One stream in steady flow."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> SteadyStream: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> SteadyStream: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def cylinder_pressure(self) -> float:
        """gauge [Pa]"""
    @property
    def flow(self) -> float:
        """liquid volume flow delivered [m^3/s]"""
    @property
    def mass_flow(self) -> float:
        """delivered [kg/s]"""
    @property
    def reynolds_number(self) -> float:
        """largest generalised Reynolds number in the line [-]"""
    @property
    def throttle_loss(self) -> float:
        """in the throttle alone [Pa]"""
    @property
    def throttle_pressure(self) -> float:
        """at the last node of the line [Pa]"""

class Steady:
    """Constant-drive steady state at one shaft position."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Steady: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Steady: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def blend_viscosity(self) -> float:
        """used for R_m [Pa s]"""
    @property
    def flows(self) -> bool:
        """false: the drive cannot move the shaft [-]"""
    @property
    def hardener(self) -> SteadyStream:
        """the thin stream [-]"""
    @property
    def mixer_pressure(self) -> float:
        """p_m [Pa]"""
    @property
    def mixer_resistance(self) -> float:
        """R_m [Pa s/m^3]"""
    @property
    def ratio(self) -> float:
        """delivered hardener per resin by liquid volume, r_s [-]"""
    @property
    def reason(self) -> str:
        """one sentence when nothing flows [-]"""
    @property
    def resin(self) -> SteadyStream:
        """the thick stream [-]"""
    @property
    def speed(self) -> float:
        """v of the shaft [m/s]"""

class ResidenceTime:
    """Residence-time distribution over theta = volume out / hold-up."""
    def __init__(self, kind: Residence | str, parameter: float) -> None:
        """Residence-time distribution of mean 1.

        Parameters
        ----------
        kind
            model, or its name [-]
        parameter
            Peclet number (dispersion) or number of tanks (tanks) [-], > 0; ignored for plug

        Raises
        ------
        ValueError
            if the parameter is not positive or not finite
        """
    def at_fraction(self, z: float) -> ResidenceTime:
        """The same mixer seen at a fraction of its length.

        Parameters
        ----------
        z
            fraction of the length [-], 0 < z <= 1

        Returns
        -------
        residence-time distribution [-]
        """
    @typing.overload
    def cumulative(self, theta: float) -> float: ...
    @typing.overload
    def cumulative(self, theta: numpy.typing.ArrayLike) -> numpy.typing.NDArray[numpy.float64]:
        """Share that has left, F(theta).

        Parameters
        ----------
        theta
            volume out / hold-up [-]

        Returns
        -------
        F [-], 0 for theta <= 0
        """
    @typing.overload
    def integral(self, theta: float) -> float: ...
    @typing.overload
    def integral(self, theta: numpy.typing.ArrayLike) -> numpy.typing.NDArray[numpy.float64]:
        """Integral of F from 0 to theta.

        Parameters
        ----------
        theta
            volume out / hold-up [-]

        Returns
        -------
        G [-]
        """
    def is_plug(self) -> bool:
        """Whether nothing spreads.

        Returns
        -------
        answer [-]
        """
    def variance(self) -> float:
        """Variance of theta.

        Returns
        -------
        variance [-]
        """

class Composition:
    """Composition of liquid along its own volume, piecewise constant."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Composition: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Composition: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        volume: numpy.typing.ArrayLike,
        hardener: numpy.typing.ArrayLike,
        before: float,
        after: float,
    ) -> None:
        """Composition of liquid along its own volume, piecewise constant.

        Parameters
        ----------
        volume
            edges, strictly increasing [m^3]
        hardener
            cumulative hardener at the edges [m^3]
        before
            hardener fraction before the first edge [-]
        after
            hardener fraction after the last edge [-]
        """
    def __replace__(self, **kwargs: typing.Any) -> Composition:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Composition:
        """The same with some fields changed, by keyword."""
    @property
    def after(self) -> float:
        """hardener fraction after the last edge [-]"""
    @property
    def before(self) -> float:
        """hardener fraction before the first edge [-]"""
    @property
    def hardener(self) -> numpy.typing.NDArray[numpy.float64]:
        """cumulative hardener at the edges [m^3]"""
    @property
    def volume(self) -> numpy.typing.NDArray[numpy.float64]:
        """edges, strictly increasing [m^3]"""

class OffRatio:
    """What a composition means for the part, from volume 0 of its axis."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> OffRatio: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> OffRatio: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def end(self) -> float:
        """last exit [m^3], NaN if none"""
    @property
    def highest_error(self) -> float:
        """largest ratio error [-]"""
    @property
    def lowest_error(self) -> float:
        """smallest ratio error [-]"""
    @property
    def missing(self) -> float:
        """hardener short of tolerance [m^3]"""
    @property
    def soft_volume(self) -> float:
        """S = integral e^2/(e^2 + tol^2) dV [m^3]"""
    @property
    def start(self) -> float:
        """first entry [m^3], NaN if none"""
    @property
    def surplus(self) -> float:
        """hardener beyond tolerance [m^3]"""
    @property
    def volume(self) -> float:
        """liquid outside the tolerance [m^3]"""

class ShotMeasures:
    """One shot, open to close command. NaN where a thing does not occur."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> ShotMeasures: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> ShotMeasures: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def duration(self) -> float:
        """open to close command [s]"""
    @property
    def hardener_after_close(self) -> float:
        """passed while the shut-offs close [m^3]"""
    @property
    def hardener_closed_head(self) -> float:
        """last node, at the open command [Pa]"""
    @property
    def hardener_closed_pressure(self) -> float:
        """cylinder, at the open command [Pa]"""
    @property
    def hardener_pushed_back(self) -> float:
        """minus the lowest hardener volume of the shot [m^3], >= 0"""
    @property
    def hardener_volume(self) -> float:
        """dispensed, open to close command [m^3]"""
    @property
    def inlet(self) -> OffRatio:
        """what enters the mixer during the shot [-]"""
    @property
    def lead_time(self) -> float:
        """net lead / steady hardener flow [s]"""
    @property
    def net_lead(self) -> float:
        """V_h - r_s V_r at the close command [m^3]; positive: hardener ahead"""
    @property
    def open_time(self) -> float:
        """of the open command [s]"""
    @property
    def outlet(self) -> OffRatio:
        """what leaves it, by the case's residence model [-]"""
    @property
    def outlet_dispersed(self) -> OffRatio:
        """the same at Pe 100 [-]"""
    @property
    def outlet_plug(self) -> OffRatio:
        """the same as plug [-]"""
    @property
    def peak_lag(self) -> float:
        """lowest lead within the shot [m^3], <= 0"""
    @property
    def peak_lead(self) -> float:
        """highest lead within the shot [m^3], >= 0"""
    @property
    def resin_after_close(self) -> float:
        """passed while the shut-offs close [m^3]"""
    @property
    def resin_closed_head(self) -> float:
        """last node, at the open command [Pa]"""
    @property
    def resin_closed_pressure(self) -> float:
        """cylinder, at the open command [Pa]"""
    @property
    def resin_pushed_back(self) -> float:
        """minus the lowest resin volume of the shot [m^3], >= 0"""
    @property
    def resin_volume(self) -> float:
        """dispensed, open to close command [m^3]"""
    @property
    def settling_distance(self) -> float:
        """at which dispersion has brought the peak within tolerance [m]; NaN: never"""
    @property
    def swing(self) -> float:
        """peak lead - peak lag [m^3]"""
    @property
    def travel_length(self) -> float:
        """mixer length the off-ratio plug occupies [m]"""

class RunMeasures:
    """Every shot of a run, each with its steady state."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> RunMeasures: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> RunMeasures: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def shots(self) -> tuple[ShotMeasures, ...]:
        """measures of each shot [-]"""
    @property
    def steady(self) -> tuple[Steady, ...]:
        """steady state of each shot [-]"""

class LeadCurve:
    """Volumes and lead since the open command."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> LeadCurve: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> LeadCurve: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def hardener(self) -> numpy.typing.NDArray[numpy.float64]:
        """V_h [m^3]"""
    @property
    def lead(self) -> numpy.typing.NDArray[numpy.float64]:
        """V_h - r_s V_r [m^3]"""
    @property
    def resin(self) -> numpy.typing.NDArray[numpy.float64]:
        """V_r [m^3]"""
    @property
    def time(self) -> numpy.typing.NDArray[numpy.float64]:
        """since the open command [s]"""

@typing.overload
def apparent_viscosity(law: ShearLaw, shear_rate: float) -> float: ...
@typing.overload
def apparent_viscosity(
    law: ShearLaw, shear_rate: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Apparent viscosity tau/s.

    Parameters
    ----------
    law
        frozen at one temperature [-]
    shear_rate
        s [1/s], > 0

    Returns
    -------
    viscosity [Pa s]

    Raises
    ------
    ValueError
        if the shear rate is not positive

    Examples
    --------
    >>> apparent_viscosity(ShearLaw(consistency=20.0, yield_stress=10.0), 2.0)
    25.0
    """

def area(cylinder: Cylinder) -> float:
    """Cross-section of a cylinder's bore.

    Parameters
    ----------
    cylinder
        the cylinder [-]

    Returns
    -------
    area [m^2]

    Examples
    --------
    >>> round(area(Cylinder(bore=0.05, temperature=298.15)) * 1e4, 4)
    19.635
    """

def at_temperature(rheology: Rheology, temperature: float) -> ShearLaw:
    """The law frozen at one temperature.

    Parameters
    ----------
    rheology
        the law [-]
    temperature
        of the liquid [K], > 0

    Returns
    -------
    law with the consistency k a_T^n [Pa s^n]

    Raises
    ------
    ValueError
        if the temperature is not positive

    Examples
    --------
    >>> at_temperature(Rheology(consistency=20.0, index=0.8), 298.15)
    ShearLaw(consistency=20.0, index=0.8, yield_stress=0.0)
    """

def blend_viscosity(
    mixer: Mixer, resin: Rheology, hardener: Rheology, resin_flow: float, hardener_flow: float
) -> float:
    """Viscosity of the blend, as given or by the log rule.

    Parameters
    ----------
    mixer
        the mixer [-]
    resin
        viscosity law of the resin [-]
    hardener
        viscosity law of the hardener [-]
    resin_flow
        liquid volume flow [m^3/s], > 0 for the log rule
    hardener_flow
        liquid volume flow [m^3/s], > 0 for the log rule

    Returns
    -------
    viscosity [Pa s]
    """

@typing.overload
def compressibility(liquid: Liquid, pressure: float) -> float: ...
@typing.overload
def compressibility(
    liquid: Liquid, pressure: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Compressibility of liquid and gas together, -v'(p)/v(p).

    Parameters
    ----------
    liquid
        the liquid [-]
    pressure
        gauge [Pa], > -p0

    Returns
    -------
    compressibility [1/Pa]; its inverse is the tangent bulk modulus

    Examples
    --------
    >>> stiff = Liquid(density=1600.0, bulk_modulus=2.5e9)
    >>> round(compressibility(stiff, 1e7) * 2.5e9, 3)
    1.0
    """

@typing.overload
def density(liquid: Liquid, pressure: float, temperature: float) -> float: ...
@typing.overload
def density(
    liquid: Liquid, pressure: numpy.typing.ArrayLike, temperature: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Liquid mass per actual volume.

    rho(p, T) = rho_T (1 - a0)/v(p)

    Parameters
    ----------
    liquid
        the liquid [-]
    pressure
        gauge [Pa], > -p0
    temperature
        of the liquid [K]

    Returns
    -------
    rho [kg/m^3]

    Raises
    ------
    ValueError
        if the pressure or the temperature cannot be

    Examples
    --------
    >>> resin = Liquid(density=1600.0, bulk_modulus=2.5e9, free_gas=0.01)
    >>> round(density(resin, 0.0, 298.15), 6)
    1584.0
    """

@typing.overload
def gas_expansion(liquid: Liquid, pressure: float) -> float: ...
@typing.overload
def gas_expansion(
    liquid: Liquid, pressure: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Volume of free gas relative to its volume at p0.

    (p0/(p0+p))^(1/n_g)

    Parameters
    ----------
    liquid
        gives the polytropic exponent [-]
    pressure
        gauge [Pa], > -p0

    Returns
    -------
    relative volume [-]

    Examples
    --------
    >>> gas_expansion(Liquid(density=1600.0, bulk_modulus=2.5e9), 101325.0)
    0.5
    """

def hold_up(mixer: Mixer) -> float:
    """Volume of liquid a mixer holds.

    Parameters
    ----------
    mixer
        the mixer [-]

    Returns
    -------
    void x pi/4 D^2 L [m^3]

    Examples
    --------
    >>> round(hold_up(Mixer(bore=0.01, length=0.2)) * 1e6, 4)
    12.5664
    """

def inlet_composition(
    trace: Trace, shot: ShotSpan, steady_ratio: float, refine: int = 8
) -> Composition:
    """What entered the mixer during a shot.

    Parameters
    ----------
    trace
        of the run [-]
    shot
        one of its shots [-]
    steady_ratio
        delivered steady ratio r_s by liquid volume [-]
    refine
        pieces per time step [-]

    Returns
    -------
    composition along the volume in [m^3]
    """

def lead_curve(trace: Trace, shot: ShotSpan, steady_ratio: float, refine: int = 8) -> LeadCurve:
    """Volumes and lead since the open command.

    Parameters
    ----------
    trace
        of the run [-]
    shot
        one of its shots [-]
    steady_ratio
        delivered steady ratio r_s by liquid volume [-]
    refine
        pieces per time step [-]

    Returns
    -------
    time [s], volumes and lead [m^3]
    """

@typing.overload
def measure(
    trace: Trace, shot: ShotSpan, steady: Steady, mixer: Mixer, target: Target
) -> ShotMeasures:
    """Measures of one shot.

    Parameters
    ----------
    trace
        of the run [-]
    shot
        one of its shots [-]
    steady
        state of the machine at the shot's start position [-]
    mixer
        the mixer [-]
    target
        what the part asks for [-]

    Returns
    -------
    measures; volumes [m^3], pressures [Pa], times [s]
    """

@typing.overload
def measure(trace: Trace, machine: Machine, target: Target) -> RunMeasures:
    """Measures of every shot of a run.

    Parameters
    ----------
    trace
        of the run [-]
    machine
        the machine that made it [-]
    target
        what the part asks for [-]

    Returns
    -------
    measures and steady state of each shot [-]
    """

@typing.overload
def mixer_resistance(mixer: Mixer, viscosity: float) -> float: ...
@typing.overload
def mixer_resistance(
    mixer: Mixer, viscosity: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Resistance of the mixer, R_m = multiplier x 128 mu L/(pi D^4).

    Parameters
    ----------
    mixer
        the mixer [-]
    viscosity
        mu of the blend [Pa s], > 0

    Returns
    -------
    R_m [Pa s/m^3]
    """

def needle_gap(throttle: Throttle) -> float:
    """Gap of a needle between cone and seat.

    h = turns x pitch x sin(half angle)

    Parameters
    ----------
    throttle
        of kind needle [-]

    Returns
    -------
    gap [m]
    """

def off_ratio(composition: Composition, target: Target, resolve_volume: float) -> OffRatio:
    """What a composition means for the part.

    Parameters
    ----------
    composition
        along the volume of liquid [-]
    target
        what the part asks for [-]
    resolve_volume
        smallest piece that matters [m^3]; 0: the pieces of the composition

    Returns
    -------
    volumes [m^3] and errors [-] outside the tolerance
    """

def ratio_error(composition: Composition, ratio: float) -> numpy.typing.NDArray[numpy.float64]:
    """Ratio error of each piece, capped to +-1.

    Parameters
    ----------
    composition
        along the volume of liquid [-]
    ratio
        r0, hardener per resin by liquid volume [-], > 0

    Returns
    -------
    e = (phi/(1-phi))/r0 - 1 [-]
    """

def residence_time(mixer: Mixer) -> ResidenceTime:
    """Residence-time distribution of a mixer.

    Parameters
    ----------
    mixer
        the mixer [-]

    Returns
    -------
    residence-time distribution [-]
    """

@typing.overload
def reynolds_number(law: ShearLaw, density: float, mean_velocity: float, bore: float) -> float: ...
@typing.overload
def reynolds_number(
    law: ShearLaw,
    density: numpy.typing.ArrayLike,
    mean_velocity: numpy.typing.ArrayLike,
    bore: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Metzner-Reed Reynolds number of a flow in a round bore.

    The yield stress is ignored, so this is an upper bound.

    Parameters
    ----------
    law
        frozen at one temperature [-]
    density
        rho [kg/m^3], > 0
    mean_velocity
        u [m/s], > 0
    bore
        inside diameter D [m], > 0

    Returns
    -------
    Re_MR [-], laminar below 2100

    Raises
    ------
    ValueError
        if an argument is not positive

    Examples
    --------
    >>> round(reynolds_number(ShearLaw(consistency=0.001), 1000.0, 0.5, 0.004), 6)
    2000.0
    """

def setting(throttle: Throttle) -> float:
    """Setting of a throttle in its own unit.

    Parameters
    ----------
    throttle
        the throttle [-]

    Returns
    -------
    resistance [Pa s/m^3] or turns [turns], by kind

    Examples
    --------
    >>> setting(Throttle(kind="resistance", resistance=2e9))
    2000000000.0
    """

def simulate(machine: Machine, sequence: Sequence, numerics: Numerics = ...) -> Trace:
    """Run a machine through a sequence of steps.

    Physics never raises: a run that cannot go on ends with a status. Other Python threads go on.

    Parameters
    ----------
    machine
        the machine [-]
    sequence
        what it is asked to do [-]
    numerics
        accuracy of the run [-]

    Returns
    -------
    trace with one row per accepted time step; times [s], volumes [m^3], pressures [Pa]

    Raises
    ------
    ValueError
        if machine, sequence or numerics cannot be
    """

def steady_state(machine: Machine, force: float = -1.0) -> Steady:
    """Constant-drive steady state of a machine.

    Other Python threads go on.

    Parameters
    ----------
    machine
        the machine [-]
    force
        F0 [N]; the machine's own drive force if negative

    Returns
    -------
    flows [m^3/s], pressures [Pa] and the delivered ratio [-]

    Raises
    ------
    ValueError
        if the machine cannot be
    """

@typing.overload
def temperature_factor(rheology: Rheology, temperature: float) -> float: ...
@typing.overload
def temperature_factor(
    rheology: Rheology, temperature: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Shift factor a_T of the Arrhenius law.

    Parameters
    ----------
    rheology
        the law [-]
    temperature
        of the liquid [K], > 0

    Returns
    -------
    a_T [-], 1 at the reference temperature

    Raises
    ------
    ValueError
        if the temperature is not positive

    Examples
    --------
    >>> temperature_factor(Rheology(consistency=20.0, activation_energy=50e3), 298.15)
    1.0
    """

@typing.overload
def thermal_density(liquid: Liquid, temperature: float) -> float: ...
@typing.overload
def thermal_density(
    liquid: Liquid, temperature: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Gas-free density at a temperature.

    rho_T = rho_ref (1 - beta (T - T_ref))

    Parameters
    ----------
    liquid
        the liquid [-]
    temperature
        of the liquid [K]

    Returns
    -------
    rho_T [kg/m^3]

    Raises
    ------
    ValueError
        if the result is not positive

    Examples
    --------
    >>> resin = Liquid(density=1600.0, bulk_modulus=2.5e9, thermal_expansion=4e-4)
    >>> round(thermal_density(resin, 323.15), 6)
    1584.0
    """

def through_mixer(
    inlet: Composition, residence: ResidenceTime, hold_up: float, z: float = 1.0, cells: int = 1000
) -> Composition:
    """What leaves the mixer for what enters.

    Parameters
    ----------
    inlet
        what enters along its own volume [-]
    residence
        residence-time distribution [-]
    hold_up
        volume of the mixer [m^3], > 0
    z
        fraction of the mixer's length to look at [-], 0 < z <= 1
    cells
        pieces of the answer, unless plug [-]

    Returns
    -------
    composition along the volume out [m^3]
    """

@typing.overload
def validate(liquid: Liquid) -> None:
    """Refuse a value outside the range its field states.

    Raises
    ------
    ValueError
        naming the field, its value and the rule
    """

@typing.overload
def validate(rheology: Rheology) -> None:
    """Refuse a value outside the range its field states.

    Raises
    ------
    ValueError
        naming the field, its value and the rule
    """

@typing.overload
def validate(machine: Machine) -> None:
    """Refuse a machine that cannot be.

    Raises
    ------
    ValueError
        naming the first field that cannot be, its value and the rule
    """

@typing.overload
def volume_factor(liquid: Liquid, pressure: float) -> float: ...
@typing.overload
def volume_factor(
    liquid: Liquid, pressure: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Volume of liquid with its gas, relative to that at p0.

    v(p) = (1 - a0) exp(-p/K) + a0 (p0/(p0+p))^(1/n_g)

    Parameters
    ----------
    liquid
        the liquid [-]
    pressure
        gauge [Pa], > -p0

    Returns
    -------
    v [-], 1 at p = 0

    Examples
    --------
    >>> volume_factor(Liquid(density=1600.0, bulk_modulus=2.5e9), 0.0)
    1.0
    """

def with_setting(throttle: Throttle, value: float) -> Throttle:
    """The same throttle at another setting.

    Parameters
    ----------
    throttle
        the throttle [-]
    value
        resistance [Pa s/m^3] or turns [turns], by kind

    Returns
    -------
    throttle [-]

    Examples
    --------
    >>> with_setting(Throttle(kind="resistance"), 2e9).resistance
    2000000000.0
    """

gas_constant: float = 8.31446261815324
laminar_limit: float = 2100.0
least_free_gas: float = 1e-06
standard_gravity: float = 9.80665
standard_pressure: float = 101325.0
starvation_pressure: float = -90000.0
unrated: float
