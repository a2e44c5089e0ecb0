# Written by tests/make_stub.py from the built module; do not edit.
"""Compiled core: materials, machine, transient, transport, lead. SI, gauge pressures."""

from __future__ import annotations
import collections.abc
import enum
import numpy
import numpy.typing
import typing

__all__: list[str] = [
    "AirCylinder",
    "AirPath",
    "AirTrace",
    "Answer",
    "Assumption",
    "Axis",
    "AxisTrace",
    "BetweenShots",
    "Characteristic",
    "Composition",
    "ControlValve",
    "Cross",
    "Cylinder",
    "Drive",
    "DriveKind",
    "Feed",
    "Flow",
    "LeadCurve",
    "Liquid",
    "Machine",
    "Mixer",
    "MixerInlet",
    "Numerics",
    "Objective",
    "OffRatio",
    "OutletSequence",
    "Passages",
    "PipeFlow",
    "Remedy",
    "RemedyKind",
    "Residence",
    "ResidenceTime",
    "RestSpan",
    "Rheology",
    "RunMeasures",
    "Segment",
    "Sensitivity",
    "Sequence",
    "Settings",
    "Shaft",
    "ShearLaw",
    "ShotMeasures",
    "ShotSpan",
    "Shutoff",
    "SlitFlow",
    "Start",
    "Starved",
    "Station",
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
    "Tip",
    "Trace",
    "Trial",
    "Trim",
    "TrimOptions",
    "ViscosityTable",
    "Vogel",
    "after_like_rounds",
    "age_at_exit",
    "aged_viscosity",
    "apparent_viscosity",
    "area",
    "at_temperature",
    "blend_equivalent",
    "blend_viscosity",
    "blocked_in_pressure",
    "blocked_pressure",
    "bore_ratio",
    "change_over_time",
    "choking_drop",
    "compressibility",
    "compression",
    "counts_of_travel",
    "cylinder_fourier",
    "cylinder_root",
    "cylinder_soak",
    "cylinder_soak_mean",
    "density",
    "drop_volume",
    "elastic_wall_expansion",
    "equivalent_weight",
    "feed_bore",
    "feed_flow",
    "filled_viscosity",
    "filler_fraction",
    "film_left",
    "flow_coefficient",
    "foam_fill",
    "force_for_flow",
    "force_for_rating",
    "free_gas_of_modulus",
    "full_force",
    "gap_reynolds_number",
    "gas_constant",
    "gas_expansion",
    "gas_left",
    "gas_share",
    "hardener_bore",
    "hardener_leak_error",
    "heat_rate",
    "hindered_by_viscosity",
    "hindered_settling",
    "hold_up",
    "holding_yield_stress",
    "idle_time",
    "inlet_composition",
    "laminar_limit",
    "laminar_residence",
    "laminar_washout",
    "lead_curve",
    "least_free_gas",
    "least_local_index",
    "least_shot",
    "line_loss",
    "liquid_per_volume",
    "log_resistance",
    "longest_pause",
    "measure",
    "measure_trial",
    "metered_ratio",
    "mixer_inlet",
    "mixer_resistance",
    "needle_gap",
    "objective_value",
    "off_ratio",
    "outlet_composition",
    "outlet_sequence",
    "passages",
    "pressure_for_leak",
    "pressure_stations",
    "prime_reach",
    "prime_time",
    "profile_along",
    "purge_volumes",
    "ratio_error",
    "refill_ratio_error",
    "remedies",
    "residence_in_flow",
    "residence_time",
    "resin_leak_error",
    "retract_speed",
    "reynolds_factor",
    "reynolds_number",
    "sensitivities",
    "setting",
    "shots_per_stroke",
    "simulate",
    "slab_fourier",
    "slab_root",
    "slab_soak",
    "slab_soak_mean",
    "stall_volume",
    "standard_gravity",
    "standard_pressure",
    "starvation_pressure",
    "steady_state",
    "stoichiometric_ratio",
    "stokes_velocity",
    "swept_by_travel",
    "temperature_factor",
    "temperature_for_viscosity",
    "terminal_velocity",
    "thermal_density",
    "through_mixer",
    "travel_of_counts",
    "travel_of_volume",
    "trim",
    "try_settings",
    "unlimited",
    "unrated",
    "vacuum_for_gas",
    "validate",
    "valve_reynolds_number",
    "vogel_from_wlf",
    "volume_factor",
    "volume_ratio",
    "wall_modulus",
    "weight_ratio",
    "with_log_resistance",
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

class Cross:
    """Thinning between two plateaus, eta = eta_0 [r + (1 - r)/(1 + (lambda s)^m)]."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Cross: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Cross: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self, *, time_constant: float, exponent: float, plateau_ratio: float = 0.0
    ) -> None:
        """Thinning between two plateaus, eta = eta_0 [r + (1 - r)/(1 + (lambda s)^m)].

        Parameters
        ----------
        time_constant
            lambda at T_ref [s], > 0
        exponent
            m [-], 0.1 <= m <= 1
        plateau_ratio
            r = eta_inf/eta_0 [-], 0 <= r < 1
        """
    def __replace__(self, **kwargs: typing.Any) -> Cross:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Cross:
        """The same with some fields changed, by keyword."""
    @property
    def exponent(self) -> float:
        """m [-], 0.1 <= m <= 1"""
    @property
    def plateau_ratio(self) -> float:
        """r = eta_inf/eta_0 [-], 0 <= r < 1"""
    @property
    def time_constant(self) -> float:
        """lambda at T_ref [s], > 0"""

class Vogel:
    """Law of temperature a_T = exp(B (1/(T - T_0) - 1/(T_ref - T_0)))."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Vogel: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Vogel: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(self, *, slope: float, pole: float) -> None:
        """Law of temperature a_T = exp(B (1/(T - T_0) - 1/(T_ref - T_0))).

        Parameters
        ----------
        slope
            B [K], >= 0
        pole
            T_0 [K], >= 0 and below T_ref
        """
    def __replace__(self, **kwargs: typing.Any) -> Vogel:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Vogel:
        """The same with some fields changed, by keyword."""
    @property
    def pole(self) -> float:
        """T_0 [K], >= 0 and below T_ref"""
    @property
    def slope(self) -> float:
        """B [K], >= 0"""

class ViscosityTable:
    """Law of temperature by points: ln eta a monotone cubic of 1/T."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> ViscosityTable: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> ViscosityTable: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        temperature: collections.abc.Sequence[float],
        viscosity: collections.abc.Sequence[float],
    ) -> None:
        """Law of temperature by points: ln eta a monotone cubic of 1/T.

        Parameters
        ----------
        temperature
            rising [K], > 0
        viscosity
            falling [Pa s], > 0
        """
    def __replace__(self, **kwargs: typing.Any) -> ViscosityTable:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> ViscosityTable:
        """The same with some fields changed, by keyword."""
    @property
    def temperature(self) -> tuple[float, ...]:
        """rising [K], > 0"""
    @property
    def viscosity(self) -> tuple[float, ...]:
        """falling [Pa s], > 0"""

class Rheology:
    """tau = tau_y + k (a_T s)^n with a_T = exp(E/R (1/T - 1/T_ref)), or by `vogel` or `table`."""

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
        vogel: Vogel | None = None,
        table: ViscosityTable | None = None,
        cross: Cross | None = None,
    ) -> None:
        """tau = tau_y + k (a_T s)^n with a_T = exp(E/R (1/T - 1/T_ref)), or by `vogel` or `table`.

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
        vogel
            law of a_T in place of E [-]
        table
            law of a_T in place of E [-]
        cross
            law of shear in place of n and tau_y; k is its eta_0 [-]
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
    def cross(self) -> Cross | None:
        """law of shear in place of n and tau_y; k is its eta_0 [-]"""
    @property
    def index(self) -> float:
        """n [-], 0.1 <= n <= 1"""
    @property
    def reference_temperature(self) -> float:
        """T_ref [K], > 0"""
    @property
    def table(self) -> ViscosityTable | None:
        """law of a_T in place of E [-]"""
    @property
    def vogel(self) -> Vogel | None:
        """law of a_T in place of E [-]"""
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
        self,
        *,
        consistency: float,
        index: float = 1.0,
        yield_stress: float = 0.0,
        cross: Cross | None = None,
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
        cross
            lambda at this temperature [-]
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
    def cross(self) -> Cross | None:
        """lambda at this temperature [-]"""
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

    flow_coefficient = 2
    needle = 1
    resistance = 0

class Characteristic(enum.Enum):
    """How a valve's flow coefficient goes with its opening."""

    equal_percentage = 1
    linear = 2
    table = 0

class BetweenShots(enum.Enum):
    """What the drive does while the shut-offs are shut."""

    hold = 0
    lock = 1
    vent = 2
    vent_drive = 3

class DriveKind(enum.Enum):
    """What moves a shaft."""

    air = 1
    force = 0
    speed = 2

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
    purge = 7
    refill = 6

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
        expansion_pressures: collections.abc.Sequence[float] = [],
        expansion_volumes: collections.abc.Sequence[float] = [],
        idle_temperature: float | None = None,
        idle_time: float = 0.0,
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
        expansion_pressures
            of a table in place of wall_expansion [Pa], rising
        expansion_volumes
            volume the wall gives there [m^3/m], rising
        idle_temperature
            of the liquid after a long rest [K]; None: keeps its own
        idle_time
            time constant of that [s]
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
    def expansion_pressures(self) -> tuple[float, ...]:
        """of a table in place of wall_expansion [Pa], rising"""
    @property
    def expansion_volumes(self) -> tuple[float, ...]:
        """volume the wall gives there [m^3/m], rising"""
    @property
    def idle_temperature(self) -> float | None:
        """of the liquid after a long rest [K]; None: keeps its own"""
    @property
    def idle_time(self) -> float:
        """time constant of that [s]"""
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
        lash: float = 0.0,
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
        lash
            travel lost between shaft and piston as the shaft turns round [m], >= 0
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
    def lash(self) -> float:
        """travel lost between shaft and piston as the shaft turns round [m], >= 0"""
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

class ControlValve:
    """A maker's flow coefficient against opening, and two factors."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> ControlValve: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> ControlValve: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        characteristic: Characteristic | str = Characteristic.table,
        openings: collections.abc.Sequence[float] = [],
        coefficients: collections.abc.Sequence[float] = [],
        rated: float = 0.0,
        rangeability: float = 50.0,
        full_turns: float = 0.0,
        recovery: float = 0.9,
        style_modifier: float = 0.46,
    ) -> None:
        """A maker's flow coefficient against opening, and two factors.

        Parameters
        ----------
        characteristic
            by table or formula [-]
        openings
            rising; table [turns or share of travel]
        coefficients
            A_v there, rising; table [m^2]
        rated
            A_v fully open; by formula [m^2], > 0
        rangeability
            largest over smallest A_v [-], > 1
        full_turns
            of the travel [turns]; 0: shares
        recovery
            FL [-], 0 < FL <= 1
        style_modifier
            Fd [-], 0 < Fd <= 1
        """
    def __replace__(self, **kwargs: typing.Any) -> ControlValve:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> ControlValve:
        """The same with some fields changed, by keyword."""
    @property
    def characteristic(self) -> Characteristic:
        """by table or formula [-]"""
    @property
    def coefficients(self) -> tuple[float, ...]:
        """A_v there, rising; table [m^2]"""
    @property
    def full_turns(self) -> float:
        """of the travel [turns]; 0: shares"""
    @property
    def openings(self) -> tuple[float, ...]:
        """rising; table [turns or share of travel]"""
    @property
    def rangeability(self) -> float:
        """largest over smallest A_v [-], > 1"""
    @property
    def rated(self) -> float:
        """A_v fully open; by formula [m^2], > 0"""
    @property
    def recovery(self) -> float:
        """FL [-], 0 < FL <= 1"""
    @property
    def style_modifier(self) -> float:
        """Fd [-], 0 < Fd <= 1"""

class Throttle:
    """Adjustable throttle: dp = r Q, a needle in its seat, or a flow coefficient."""

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
        opening: float = 0.0,
        valve: ControlValve | None = None,
        lowest: float = 0.0,
        highest: float = 0.0,
    ) -> None:
        """Adjustable throttle: dp = r Q, a needle in its seat, or a flow coefficient.

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
        opening
            as `valve` counts it [turns or share of travel]
        valve
            of kind flow_coefficient [-]
        lowest
            setting [Pa s/m^3, turns or opening]
        highest
            setting [Pa s/m^3, turns or opening]
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
        """setting [Pa s/m^3, turns or opening]"""
    @property
    def kind(self) -> ThrottleKind:
        """law [-]"""
    @property
    def land_length(self) -> float:
        """length of the slit [m], > 0"""
    @property
    def lowest(self) -> float:
        """setting [Pa s/m^3, turns or opening]"""
    @property
    def opening(self) -> float:
        """as `valve` counts it [turns or share of travel]"""
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
    def valve(self) -> ControlValve | None:
        """of kind flow_coefficient [-]"""
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
        stem_volume: float = 0.0,
        suck_back: float = 0.0,
        passage: float = 0.0,
        passage_full: bool = True,
        check_valve: float | None = None,
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
        stem_volume
            pushed forward while it opens [m^3], >= 0
        suck_back
            drawn back while it closes [m^3], >= 0
        passage
            from here to the mixing point [m^3], >= 0
        passage_full
            false: it starts empty [-]
        check_valve
            opening pressure of a check valve [Pa], >= 0; None: flows both ways
        """
    def __replace__(self, **kwargs: typing.Any) -> Shutoff:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Shutoff:
        """The same with some fields changed, by keyword."""
    @property
    def check_valve(self) -> float | None:
        """opening pressure of a check valve [Pa], >= 0; None: flows both ways"""
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
    def passage(self) -> float:
        """from here to the mixing point [m^3], >= 0"""
    @property
    def passage_full(self) -> bool:
        """false: it starts empty [-]"""
    @property
    def resistance(self) -> float:
        """r_s, fully open [Pa s/m^3], > 0"""
    @property
    def stem_volume(self) -> float:
        """pushed forward while it opens [m^3], >= 0"""
    @property
    def suck_back(self) -> float:
        """drawn back while it closes [m^3], >= 0"""

class Feed:
    """Way from the tank into the cylinder, open during a refill."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Feed: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Feed: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        tank_pressure: float,
        bore: float,
        length: float,
        temperature: float,
        valve_time: float = 0.0,
        vapour_pressure: float = -101325.0,
    ) -> None:
        """Way from the tank into the cylinder, open during a refill.

        Parameters
        ----------
        tank_pressure
            kept in the tank [Pa]
        bore
            of the feed line [m], > 0
        length
            [m], > 0
        temperature
            of the liquid in it [K], > 0
        valve_time
            closed to open and back [s], >= 0
        vapour_pressure
            gauge; it boils below [Pa]
        """
    def __replace__(self, **kwargs: typing.Any) -> Feed:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Feed:
        """The same with some fields changed, by keyword."""
    @property
    def bore(self) -> float:
        """of the feed line [m], > 0"""
    @property
    def length(self) -> float:
        """[m], > 0"""
    @property
    def tank_pressure(self) -> float:
        """kept in the tank [Pa]"""
    @property
    def temperature(self) -> float:
        """of the liquid in it [K], > 0"""
    @property
    def valve_time(self) -> float:
        """closed to open and back [s], >= 0"""
    @property
    def vapour_pressure(self) -> float:
        """gauge; it boils below [Pa]"""

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
        feed: Feed | None = None,
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
        feed
            from the tank; needed by a refill [-]
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
    def feed(self) -> Feed | None:
        """from the tank; needed by a refill [-]"""
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
    """A shaft and its piston or pistons."""

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
        breakaway: float = 0.0,
        viscous_friction: float = 0.0,
    ) -> None:
        """A shaft and its piston or pistons.

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
        breakaway
            friction to overcome from rest [N], >= F_c; 0: F_c
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
    def breakaway(self) -> float:
        """friction to overcome from rest [N], >= F_c; 0: F_c"""
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

class AirPath:
    """Way of air in or out, by its flow characteristics."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> AirPath: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> AirPath: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(self, *, conductance: float, critical_ratio: float = 0.3) -> None:
        """Way of air in or out, by its flow characteristics.

        Parameters
        ----------
        conductance
            sonic conductance C [m^3/(s Pa)], > 0
        critical_ratio
            b [-], 0 ... 0.95
        """
    def __replace__(self, **kwargs: typing.Any) -> AirPath:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> AirPath:
        """The same with some fields changed, by keyword."""
    @property
    def conductance(self) -> float:
        """sonic conductance C [m^3/(s Pa)], > 0"""
    @property
    def critical_ratio(self) -> float:
        """b [-], 0 ... 0.95"""

class AirCylinder:
    """Air cylinder with its regulator."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> AirCylinder: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> AirCylinder: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        bore: float,
        rod_bore: float = 0.0,
        pressure: float,
        droop: float = 0.0,
        droop_flow: float = 0.0,
        dead_volume: float,
        supply: AirPath,
        exhaust: AirPath,
        exponent: float = 1.2,
        temperature: float = 293.15,
    ) -> None:
        """Air cylinder with its regulator.

        Parameters
        ----------
        bore
            inside diameter [m], > 0
        rod_bore
            of the rod, exhausting side [m], 0 ... bore
        pressure
            regulator set to [Pa], > 0
        droop
            lost at droop_flow [Pa], 0 ... pressure
        droop_flow
            of free air [m^3/s]
        dead_volume
            at each end [m^3], > 0
        supply
            way to the driving side [-]
        exhaust
            way out of the other [-]
        exponent
            polytropic exponent n [-], 1 ... 1.4
        temperature
            of the air [K], > 0
        """
    def __replace__(self, **kwargs: typing.Any) -> AirCylinder:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> AirCylinder:
        """The same with some fields changed, by keyword."""
    @property
    def bore(self) -> float:
        """inside diameter [m], > 0"""
    @property
    def dead_volume(self) -> float:
        """at each end [m^3], > 0"""
    @property
    def droop(self) -> float:
        """lost at droop_flow [Pa], 0 ... pressure"""
    @property
    def droop_flow(self) -> float:
        """of free air [m^3/s]"""
    @property
    def exhaust(self) -> AirPath:
        """way out of the other [-]"""
    @property
    def exponent(self) -> float:
        """polytropic exponent n [-], 1 ... 1.4"""
    @property
    def pressure(self) -> float:
        """regulator set to [Pa], > 0"""
    @property
    def rod_bore(self) -> float:
        """of the rod, exhausting side [m], 0 ... bore"""
    @property
    def supply(self) -> AirPath:
        """way to the driving side [-]"""
    @property
    def temperature(self) -> float:
        """of the air [K], > 0"""

class Drive:
    """What moves a shaft: a force, an air cylinder, or a screw at a given speed."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Drive: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Drive: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        kind: DriveKind | str = DriveKind.force,
        force: float = 0.0,
        rise_time: float = 0.0,
        between_shots: BetweenShots | str = BetweenShots.hold,
        delay: float = 0.0,
        speed: float = 0.0,
        ramp_time: float = 0.0,
        stiffness: float = 100000000.0,
        air: AirCylinder | None = None,
    ) -> None:
        """What moves a shaft: a force, an air cylinder, or a screw at a given speed.

        Parameters
        ----------
        kind
            force, air or speed [-]
        force
            F0; kind speed: its limit [N], > 0
        rise_time
            time constant [s], >= 0
        between_shots
            what it does while shut [-]
        delay
            open command to its start [s], >= 0
        speed
            kind speed [m/s], > 0
        ramp_time
            to that speed [s], >= 0
        stiffness
            of the screw [N/m], > 0
        air
            kind air [-]
        """
    def __replace__(self, **kwargs: typing.Any) -> Drive:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Drive:
        """The same with some fields changed, by keyword."""
    @property
    def air(self) -> AirCylinder | None:
        """kind air [-]"""
    @property
    def between_shots(self) -> BetweenShots:
        """what it does while shut [-]"""
    @property
    def delay(self) -> float:
        """open command to its start [s], >= 0"""
    @property
    def force(self) -> float:
        """F0; kind speed: its limit [N], > 0"""
    @property
    def kind(self) -> DriveKind:
        """force, air or speed [-]"""
    @property
    def ramp_time(self) -> float:
        """to that speed [s], >= 0"""
    @property
    def rise_time(self) -> float:
        """time constant [s], >= 0"""
    @property
    def speed(self) -> float:
        """kind speed [m/s], > 0"""
    @property
    def stiffness(self) -> float:
        """of the screw [N/m], > 0"""

class Axis:
    """A shaft and what moves it."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Axis: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Axis: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(self, *, shaft: Shaft, drive: Drive) -> None:
        """A shaft and what moves it.

        Parameters
        ----------
        shaft
            with one piston [-]
        drive
            of its own [-]
        """
    def __replace__(self, **kwargs: typing.Any) -> Axis:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Axis:
        """The same with some fields changed, by keyword."""
    @property
    def drive(self) -> Drive:
        """of its own [-]"""
    @property
    def shaft(self) -> Shaft:
        """with one piston [-]"""

class Tip:
    """Round nozzle behind the mixer."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Tip: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Tip: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(self, *, bore: float, length: float) -> None:
        """Round nozzle behind the mixer.

        Parameters
        ----------
        bore
            inside diameter [m], > 0
        length
            of the bore [m], > 0
        """
    def __replace__(self, **kwargs: typing.Any) -> Tip:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Tip:
        """The same with some fields changed, by keyword."""
    @property
    def bore(self) -> float:
        """inside diameter [m], > 0"""
    @property
    def length(self) -> float:
        """of the bore [m], > 0"""

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
        starts_full: bool = True,
        follow_blend: bool = False,
        doubling_time: float = ...,
        working_life: float = ...,
        tip: Tip | None = None,
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
        starts_full
            of blend at the ratio; else empty [-]
        follow_blend
            local viscosity follows composition and age [-]
        doubling_time
            of the blend's viscosity with age [s], > 0
        working_life
            of the blend [s], > 0
        tip
            behind the mixer; None: none [-]
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
    def doubling_time(self) -> float:
        """of the blend's viscosity with age [s], > 0"""
    @property
    def follow_blend(self) -> bool:
        """local viscosity follows composition and age [-]"""
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
    def starts_full(self) -> bool:
        """of blend at the ratio; else empty [-]"""
    @property
    def tanks(self) -> float:
        """number of tanks, tanks [-], 1 ... 1e4"""
    @property
    def temperature(self) -> float:
        """of the blend, for the log rule [K]"""
    @property
    def tip(self) -> Tip | None:
        """behind the mixer; None: none [-]"""
    @property
    def void_fraction(self) -> float:
        """free share [-], 0 < void <= 1"""
    @property
    def working_life(self) -> float:
        """of the blend [s], > 0"""

class Machine:
    """A two-component metering machine."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Machine: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Machine: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        resin: Stream,
        hardener: Stream,
        shaft: Shaft,
        drive: Drive,
        mixer: Mixer,
        hardener_axis: Axis | None = None,
    ) -> None:
        """A two-component metering machine.

        Parameters
        ----------
        resin
            the thick stream [-]
        hardener
            the thin stream [-]
        shaft
            common, or the resin's own [-]
        drive
            of that shaft [-]
        mixer
            static mixer [-]
        hardener_axis
            of the hardener's own; None: common shaft [-]
        """
    def __replace__(self, **kwargs: typing.Any) -> Machine:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Machine:
        """The same with some fields changed, by keyword."""
    @property
    def drive(self) -> Drive:
        """of that shaft [-]"""
    @property
    def hardener(self) -> Stream:
        """the thin stream [-]"""
    @property
    def hardener_axis(self) -> Axis | None:
        """of the hardener's own; None: common shaft [-]"""
    @property
    def mixer(self) -> Mixer:
        """static mixer [-]"""
    @property
    def resin(self) -> Stream:
        """the thick stream [-]"""
    @property
    def shaft(self) -> Shaft:
        """common, or the resin's own [-]"""

class Step:
    """One step of a sequence."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Step: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Step: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(self, *, kind: StepKind | str, amount: float, refill_time: float = 0.0) -> None:
        """One step of a sequence.

        Parameters
        ----------
        kind
            what is done [-]
        amount
            until when [s, m^3, m or Pa, by kind]
        refill_time
            of a shot that goes on after its stroke [s]; 0: it ends there
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
    @property
    def refill_time(self) -> float:
        """of a shot that goes on after its stroke [s]; 0: it ends there"""

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
        periodic: bool = False,
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
        periodic
            start as the repeated steps end [-]
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
    def periodic(self) -> bool:
        """start as the repeated steps end [-]"""
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
    def __init__(
        self, *, rtol: float = 0.0001, max_steps: int = 1000000, inertia: bool = False
    ) -> None:
        """Accuracy of a run.

        Parameters
        ----------
        rtol
            relative error per step [-], 1e-10 ... 1e-2
        max_steps
            of the whole run [-]
        inertia
            of liquid in lines of Newtonian streams [-]
        """
    def __replace__(self, **kwargs: typing.Any) -> Numerics:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Numerics:
        """The same with some fields changed, by keyword."""
    @property
    def inertia(self) -> bool:
        """of liquid in lines of Newtonian streams [-]"""
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
    def gap_reynolds_number(self) -> float:
        """in the throttle's slit, NaN where not known [-]"""
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
    def force(self) -> float:
        """the drive can push with at that speed [N]"""
    @property
    def hardener(self) -> SteadyStream:
        """the thin stream [-]"""
    @property
    def hardener_speed(self) -> float:
        """of the hardener's piston [m/s]"""
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
    def arrival(self) -> float:
        """when its passage was full [s]; NaN: from the start, or not yet"""
    @property
    def distance(self) -> numpy.typing.NDArray[numpy.float64]:
        """of each node from the cylinder [m]"""
    @property
    def drained(self) -> numpy.typing.NDArray[numpy.float64]:
        """liquid volume given to the tank by a vent or a refill, negative where drawn [m^3]"""
    @property
    def flow(self) -> numpy.typing.NDArray[numpy.float64]:
        """liquid volume flow through the shut-off [m^3/s], signed"""
    @property
    def leaked(self) -> numpy.typing.NDArray[numpy.float64]:
        """liquid volume lost at the seal since the run began [m^3]"""
    @property
    def piston(self) -> numpy.typing.NDArray[numpy.float64]:
        """travel, behind its shaft by the lash [m]"""
    @property
    def pressure(self) -> numpy.typing.NDArray[numpy.float64]:
        """gauge [Pa], one column per node: 0 cylinder ... last node at the throttle"""
    @property
    def volume(self) -> numpy.typing.NDArray[numpy.float64]:
        """net liquid volume through the shut-off since the run began [m^3]"""

class AirTrace:
    """What the air of a drive did; empty without air. Totals since the run began."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> AirTrace: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> AirTrace: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def driving_pressure(self) -> numpy.typing.NDArray[numpy.float64]:
        """gauge [Pa]"""
    @property
    def exhausted(self) -> numpy.typing.NDArray[numpy.float64]:
        """air out of the other, net [kg]"""
    @property
    def exhausting_pressure(self) -> numpy.typing.NDArray[numpy.float64]:
        """gauge [Pa]"""
    @property
    def friction_work(self) -> numpy.typing.NDArray[numpy.float64]:
        """lost to friction [J]"""
    @property
    def liquid_work(self) -> numpy.typing.NDArray[numpy.float64]:
        """of the shaft on the liquid [J]"""
    @property
    def supplied(self) -> numpy.typing.NDArray[numpy.float64]:
        """air into the driving side, net [kg]"""
    @property
    def work(self) -> numpy.typing.NDArray[numpy.float64]:
        """of the air on the shaft [J]"""

class AxisTrace:
    """A second shaft; empty where both pistons sit on one."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> AxisTrace: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> AxisTrace: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def air(self) -> AirTrace:
        """of its drive [-]"""
    @property
    def force(self) -> numpy.typing.NDArray[numpy.float64]:
        """of the drive [N]"""
    @property
    def position(self) -> numpy.typing.NDArray[numpy.float64]:
        """x [m]"""
    @property
    def speed(self) -> numpy.typing.NDArray[numpy.float64]:
        """v [m/s]"""

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

class RestSpan:
    """One pause with both shut-offs closed, as rows of the trace, inclusive."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> RestSpan: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> RestSpan: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def begin(self) -> int:
        """row after the drive was told [-]"""
    @property
    def end(self) -> int:
        """row before the next step, and before a vent [-]"""
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
    def air(self) -> AirTrace:
        """of that drive [-]"""
    @property
    def entered(self) -> numpy.typing.NDArray[numpy.float64]:
        """net liquid into the mixer since the run began [m^3]"""
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
    def hardener_axis(self) -> AxisTrace:
        """the hardener's own shaft [-]"""
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
    def mixer_resistance(self) -> numpy.typing.NDArray[numpy.float64]:
        """R_m [Pa s/m^3]"""
    @property
    def periodic_residual(self) -> float:
        """change over a round / closed pressure, periodic start [-]"""
    @property
    def periodic_rough_rounds(self) -> int:
        """rounds with coarser steps before those, to come near it [-]"""
    @property
    def periodic_rounds(self) -> int:
        """rounds it took to find it [-]"""
    @property
    def position(self) -> numpy.typing.NDArray[numpy.float64]:
        """x of the shaft [m]"""
    @property
    def purges(self) -> tuple[ShotSpan, ...]:
        """completed purge steps, in order [-]"""
    @property
    def rejected(self) -> int:
        """rejected time steps [-]"""
    @property
    def resin(self) -> StreamTrace:
        """the thick stream [-]"""
    @property
    def rests(self) -> tuple[RestSpan, ...]:
        """completed dwells and preloads, in order [-]"""
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
    def steady(self) -> Steady:
        """constant-drive steady state of the same settings [-]"""
    @property
    def steps(self) -> int:
        """accepted time steps [-]"""
    @property
    def time(self) -> numpy.typing.NDArray[numpy.float64]:
        """since the run began [s]"""
    @property
    def warnings(self) -> tuple[str, ...]:
        """limits passed and targets not reached, one sentence each [-]"""

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
    @property
    def zones(self) -> int:
        """stretches outside the tolerance [-]"""

class Passages:
    """From shut-off to mixing point; resin, hardener."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Passages: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Passages: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        volume: typing.Annotated[collections.abc.Sequence[float], "FixedSize(2)"] = [0.0, 0.0],
        full: typing.Annotated[collections.abc.Sequence[bool], "FixedSize(2)"] = [True, True],
    ) -> None:
        """From shut-off to mixing point; resin, hardener.

        Parameters
        ----------
        volume
            of each [m^3], >= 0
        full
            whether it is full when the run begins [-]
        """
    def __replace__(self, **kwargs: typing.Any) -> Passages:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Passages:
        """The same with some fields changed, by keyword."""
    @property
    def full(self) -> typing.Annotated[list[bool], "FixedSize(2)"]:
        """whether it is full when the run begins [-]"""
    @property
    def volume(self) -> typing.Annotated[list[float], "FixedSize(2)"]:
        """of each [m^3], >= 0"""

class MixerInlet:
    """What entered the mixer, and how. Pairs: resin, hardener; NaN where it does not occur."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> MixerInlet: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> MixerInlet: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def arrival(self) -> typing.Annotated[list[float], "FixedSize(2)"]:
        """of the first liquid at the mixing point [s]"""
    @property
    def beyond(self) -> typing.Annotated[list[float], "FixedSize(2)"]:
        """how far that went beyond the passage [m^3]"""
    @property
    def born(self) -> numpy.typing.NDArray[numpy.float64]:
        """at the edges: integral over volume of the time at which liquid first met the mixing point [s m^3]"""
    @property
    def composition(self) -> Composition:
        """along net liquid entered [m^3]"""
    @property
    def entered(self) -> numpy.typing.NDArray[numpy.float64]:
        """net liquid entered by then [m^3]"""
    @property
    def left(self) -> typing.Annotated[list[float], "FixedSize(2)"]:
        """of it at the end [m^3]"""
    @property
    def left_hardener(self) -> typing.Annotated[list[float], "FixedSize(2)"]:
        """hardener in that [m^3]"""
    @property
    def slug(self) -> typing.Annotated[list[float], "FixedSize(2)"]:
        """most liquid that stood in the passage pushed back [m^3]"""
    @property
    def time(self) -> numpy.typing.NDArray[numpy.float64]:
        """instants, rising [s]"""
    @property
    def unfilled(self) -> typing.Annotated[list[float], "FixedSize(2)"]:
        """of the passage at the end [m^3]"""

class OutletSequence:
    """What left the outlet in order, cut wherever a shot begins or ends."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> OutletSequence: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> OutletSequence: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def age(self) -> numpy.typing.NDArray[numpy.float64]:
        """mean time since it met the mixing point [s]"""
    @property
    def hardener(self) -> numpy.typing.NDArray[numpy.float64]:
        """cumulative, at the edges [m^3]"""
    @property
    def shot(self) -> typing.Annotated[numpy.typing.NDArray[numpy.int32], "[m, 1]"]:
        """in which a piece leaves, index into Trace.shots; -1: between shots [-]"""
    @property
    def time(self) -> numpy.typing.NDArray[numpy.float64]:
        """mean time at which a piece leaves [s]"""
    @property
    def volume(self) -> numpy.typing.NDArray[numpy.float64]:
        """edges, liquid out since the run began [m^3]"""

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
    """Every shot of a run, and the steady state they share."""

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
    def steady(self) -> Steady:
        """steady state of the settings [-]"""

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

class Objective(enum.Enum):
    """What a trim looks for."""

    least_excess = 2
    least_soft = 1
    null_lead = 0

class Settings:
    """Settings of both throttles, resistance [Pa s/m^3] or turns."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Settings: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Settings: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(self, *, resin: float, hardener: float) -> None:
        """Settings of both throttles, resistance [Pa s/m^3] or turns.

        Parameters
        ----------
        resin
            in the throttle's own unit [-]
        hardener
            likewise [-]
        """
    def __replace__(self, **kwargs: typing.Any) -> Settings:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> Settings:
        """The same with some fields changed, by keyword."""
    @property
    def hardener(self) -> float:
        """likewise [-]"""
    @property
    def resin(self) -> float:
        """in the throttle's own unit [-]"""

class Trial:
    """One pair of settings, simulated; measures of the last shot."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Trial: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Trial: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def after_close_lead(self) -> float:
        """while the shut-offs close [m^3]"""
    @property
    def flow(self) -> float:
        """steady liquid flow of both streams [m^3/s]"""
    @property
    def hardener_back_pressure(self) -> float:
        """added [Pa]"""
    @property
    def hardener_cylinder(self) -> float:
        """steady gauge, flowing [Pa]"""
    @property
    def hardener_cylinder_closed(self) -> float:
        """at the open command [Pa]"""
    @property
    def hardener_head(self) -> float:
        """steady, before the throttle [Pa]"""
    @property
    def net_lead(self) -> float:
        """at the close command [m^3]"""
    @property
    def outlet(self) -> OffRatio:
        """by the case's residence model [-]"""
    @property
    def refused(self) -> str:
        """constraint it breaks, empty: allowed [-]"""
    @property
    def resin_back_pressure(self) -> float:
        """added [Pa]"""
    @property
    def resin_cylinder(self) -> float:
        """steady gauge, flowing [Pa]"""
    @property
    def resin_cylinder_closed(self) -> float:
        """at the open command [Pa]"""
    @property
    def resin_head(self) -> float:
        """steady, before the throttle [Pa]"""
    @property
    def settings(self) -> Settings:
        """of both throttles [-]"""
    @property
    def shot_resin(self) -> float:
        """resin of the shot [m^3]"""
    @property
    def status(self) -> Status:
        """how the run ended [-]"""
    @property
    def swing(self) -> float:
        """highest minus lowest lead [m^3]"""

class TrimOptions:
    """Constraints of a trim."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> TrimOptions: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> TrimOptions: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __init__(
        self,
        *,
        fix_resin: bool = False,
        fix_hardener: bool = False,
        max_back_pressure: float = ...,
        least_flow: float = 0.7,
        threads: int = 0,
    ) -> None:
        """Constraints of a trim.

        Parameters
        ----------
        fix_resin
            leave the resin throttle [-]
        fix_hardener
            leave the hardener throttle [-]
        max_back_pressure
            added, each side [Pa]
        least_flow
            of the steady flow before [-], 0 ... 1
        threads
            0: one a core [-]
        """
    def __replace__(self, **kwargs: typing.Any) -> TrimOptions:
        """For copy.replace."""
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    def replace(self, **kwargs: typing.Any) -> TrimOptions:
        """The same with some fields changed, by keyword."""
    @property
    def fix_hardener(self) -> bool:
        """leave the hardener throttle [-]"""
    @property
    def fix_resin(self) -> bool:
        """leave the resin throttle [-]"""
    @property
    def least_flow(self) -> float:
        """of the steady flow before [-], 0 ... 1"""
    @property
    def max_back_pressure(self) -> float:
        """added, each side [Pa]"""
    @property
    def threads(self) -> int:
        """0: one a core [-]"""

class Answer:
    """Best settings for one objective."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Answer: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Answer: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def band_closed(self) -> Trial:
        """more closed end of the band [-]"""
    @property
    def band_open(self) -> Trial:
        """more open end of the band that holds [-]"""
    @property
    def feasible(self) -> bool:
        """whether there is an answer [-]"""
    @property
    def fold(self) -> float:
        """nearest setting with other off-ratio zones, or NaN [-]"""
    @property
    def highest_net_lead(self) -> float:
        """over all settings tried [m^3]"""
    @property
    def lowest_net_lead(self) -> float:
        """over all settings tried [m^3]"""
    @property
    def objective(self) -> Objective:
        """what was looked for [-]"""
    @property
    def reason(self) -> str:
        """why not, or what to know first [-]"""
    @property
    def trial(self) -> Trial:
        """at the answer [-]"""

class Trim:
    """The case as written, the answers, and the curve through them."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Trim: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Trim: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def answers(self) -> tuple[Answer, ...]:
        """one per objective [-]"""
    @property
    def before(self) -> Trial:
        """the case as written [-]"""
    @property
    def curve(self) -> tuple[Trial, ...]:
        """settings of the swept side, open to closed [-]"""
    @property
    def curve_sweeps_resin(self) -> bool:
        """side of the curve [-]"""
    @property
    def simulations(self) -> int:
        """transients it took [-]"""

class RemedyKind(enum.Enum):
    """What a remedy changes."""

    bleed_pocket = 6
    degas_hardener = 5
    degas_resin = 4
    delay_hardener = 3
    delay_resin = 2
    heat_resin = 7
    hold = 1
    preload = 0
    purge = 10
    shorter_hose = 8
    stiffer_hose = 9

class Assumption(enum.Enum):
    """What a trim depends on."""

    drive_force = 3
    hardener_temperature = 2
    position = 6
    resin_gas = 0
    resin_temperature = 1
    resin_viscosity = 5
    wall_expansion = 4

class Remedy:
    """The machine changed in one respect, simulated."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Remedy: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Remedy: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def amount(self) -> float:
        """by how much, SI, by kind [-]"""
    @property
    def flow_change(self) -> float:
        """steady flow after / before - 1 [-]"""
    @property
    def kind(self) -> RemedyKind:
        """what is changed [-]"""
    @property
    def machine(self) -> Machine:
        """changed [-]"""
    @property
    def place(self) -> str:
        """where, or empty [-]"""
    @property
    def sequence(self) -> Sequence:
        """changed [-]"""
    @property
    def soft_removed(self) -> float:
        """S before minus S after [m^3]"""
    @property
    def trial(self) -> Trial:
        """measures of its last shot [-]"""
    @property
    def wait(self) -> float:
        """time lost, per shot [s]"""
    @property
    def waste(self) -> float:
        """to the cup, per shot [m^3]"""

class Sensitivity:
    """One assumption changed at a given setting."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Sensitivity: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Sensitivity: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def assumption(self) -> Assumption:
        """what is changed [-]"""
    @property
    def best(self) -> Trial:
        """at that setting [-]"""
    @property
    def best_setting(self) -> float:
        """of the swept throttle [-]"""
    @property
    def changed(self) -> float:
        """as tried [-]"""
    @property
    def trial(self) -> Trial:
        """at the unchanged settings [-]"""
    @property
    def value(self) -> float:
        """as assumed, SI, a shift or a factor [-]"""

class Station:
    """One piece of a stream in steady flow."""

    __hash__: typing.ClassVar[None]  # type: ignore[assignment]
    def __copy__(self) -> Station: ...
    def __deepcopy__(self, memo: dict[typing.Any, typing.Any]) -> Station: ...
    def __eq__(self, other: typing.Any) -> bool: ...
    def __getstate__(self) -> tuple[typing.Any, ...]: ...
    def __repr__(self) -> str: ...
    def __setstate__(self, arg0: tuple[typing.Any, ...]) -> None: ...
    @property
    def loss(self) -> float:
        """pressure lost in it [Pa]"""
    @property
    def name(self) -> str:
        """cylinder, a segment, throttle, shut-off, mixer [-]"""
    @property
    def pressure(self) -> float:
        """gauge, at its upstream end [Pa]"""
    @property
    def rating(self) -> float:
        """highest pressure allowed [Pa]; infinite: none"""
    @property
    def stream(self) -> str:
        """resin, hardener, or both for the mixer [-]"""

def after_like_rounds(inlet: MixerInlet, volume: float) -> MixerInlet:
    """The same run after itself, for a periodic start.

    Parameters
    ----------
    inlet
        what entered during the run [-]
    volume
        that entered before, at least, by the same run again and again [m^3]

    Returns
    -------
    what entered, its axis beginning below 0 [m^3]
    """

@typing.overload
def age_at_exit(hold_up: float, shot: float, flow: float, dwell: float) -> float: ...
@typing.overload
def age_at_exit(
    hold_up: numpy.typing.ArrayLike,
    shot: numpy.typing.ArrayLike,
    flow: numpy.typing.ArrayLike,
    dwell: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Age of the oldest blend that leaves as shots follow one another, plug flow.

    Parameters
    ----------
    hold_up
        liquid the mixer holds [m^3], > 0
    shot
        of both streams [m^3], > 0
    flow
        while dispensing [m^3/s], > 0
    dwell
        between shots [s], >= 0

    Returns
    -------
    age [s]
    """

@typing.overload
def aged_viscosity(age: float, doubling_time: float) -> float: ...
@typing.overload
def aged_viscosity(
    age: numpy.typing.ArrayLike, doubling_time: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Viscosity over that of fresh blend, 2^(age/doubling_time).

    Parameters
    ----------
    age
        [s], >= 0
    doubling_time
        [s], > 0

    Returns
    -------
    factor [-]
    """

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
    ShearLaw(consistency=20.0, index=0.8, yield_stress=0.0, cross=None)
    """

def blend_equivalent(
    mass: numpy.typing.NDArray[numpy.float64], equivalent: numpy.typing.NDArray[numpy.float64]
) -> float:
    """Equivalent weight of a blend, sum(w)/sum(w/E).

    Parameters
    ----------
    mass
        w of each part [-], >= 0
    equivalent
        E of each part [g/mol or kg/mol], > 0; infinite: inert

    Returns
    -------
    equivalent weight [unit of E]
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
def blocked_in_pressure(
    liquid: Liquid, start: float, end: float, wall_softness: float
) -> float: ...
@typing.overload
def blocked_in_pressure(
    liquid: Liquid,
    start: numpy.typing.ArrayLike,
    end: numpy.typing.ArrayLike,
    wall_softness: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Pressure rise of liquid shut in between closed valves when warmed.

    Parameters
    ----------
    liquid
        the liquid [-]
    start
        temperature at p = 0 [K], > 0
    end
        temperature [K], at least `start`
    wall_softness
        wall expansion over bore area [1/Pa], >= 0

    Returns
    -------
    gauge pressure [Pa]
    """

@typing.overload
def blocked_pressure(cylinder: Cylinder, force: float) -> float: ...
@typing.overload
def blocked_pressure(
    cylinder: Cylinder, force: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Pressure in one cylinder alone whose outlet is blocked, the other being open.

    Parameters
    ----------
    cylinder
        the blocked one [-]
    force
        of the drive [N], >= 0

    Returns
    -------
    gauge pressure F/A [Pa]
    """

@typing.overload
def bore_ratio(resin_bore: float, hardener_bore: float) -> float: ...
@typing.overload
def bore_ratio(
    resin_bore: numpy.typing.ArrayLike, hardener_bore: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Ratio by actual volume that two bores on one shaft meter.

    Parameters
    ----------
    resin_bore
        of the resin's cylinder [m], > 0
    hardener_bore
        of the hardener's cylinder [m], > 0

    Returns
    -------
    (d_h/d_r)^2 [-]

    Examples
    --------
    >>> round(bore_ratio(0.05, 0.02), 6)
    0.16
    """

@typing.overload
def change_over_time(volume: float, heel: float, flow: float) -> float: ...
@typing.overload
def change_over_time(
    volume: numpy.typing.ArrayLike, heel: numpy.typing.ArrayLike, flow: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Time until a container has to be changed.

    Parameters
    ----------
    volume
        of the container [m^3], > 0
    heel
        share that cannot be drawn [-], >= 0 and < 1
    flow
        averaged over work and pauses [m^3/s], > 0

    Returns
    -------
    time [s]
    """

@typing.overload
def choking_drop(valve: ControlValve, inlet: float, vapour: float, critical: float) -> float: ...
@typing.overload
def choking_drop(
    valve: ControlValve,
    inlet: numpy.typing.ArrayLike,
    vapour: numpy.typing.ArrayLike,
    critical: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Largest pressure drop that still drives more turbulent flow.

    Parameters
    ----------
    valve
        its recovery factor is used [-]
    inlet
        absolute [Pa], > 0
    vapour
        pressure of the liquid, absolute [Pa]
    critical
        pressure of the liquid, absolute [Pa], > 0

    Returns
    -------
    pressure drop [Pa]
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
def compression(liquid: Liquid, start: float, end: float) -> float: ...
@typing.overload
def compression(
    liquid: Liquid, start: numpy.typing.ArrayLike, end: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Share of a volume that gives way from one pressure to another, 1 - v(end)/v(start).

    Parameters
    ----------
    liquid
        the liquid [-]
    start
        gauge [Pa], > -p0
    end
        gauge [Pa], > -p0

    Returns
    -------
    share [-]; times a cylinder's length it is the lost motion
    """

@typing.overload
def counts_of_travel(travel: float, encoder: float) -> float: ...
@typing.overload
def counts_of_travel(
    travel: numpy.typing.ArrayLike, encoder: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Encoder counts of a travel, not rounded.

    Parameters
    ----------
    travel
        [m]
    encoder
        counts as the controller counts them [1/m], > 0

    Returns
    -------
    counts [-]
    """

@typing.overload
def cylinder_fourier(biot: float, left: float) -> float: ...
@typing.overload
def cylinder_fourier(
    biot: numpy.typing.ArrayLike, left: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Fourier number at which the middle of a long cylinder has come that close.

    Parameters
    ----------
    biot
        h R/lambda [-], > 0; infinite: wall held at its temperature
    left
        of the temperature difference, in the middle [-], > 0 and < 1

    Returns
    -------
    alpha t/R^2 [-]
    """

@typing.overload
def cylinder_root(biot: float, k: typing.Annotated[float, numpy.int32]) -> float: ...
@typing.overload
def cylinder_root(
    biot: numpy.typing.ArrayLike, k: typing.Annotated[numpy.typing.ArrayLike, numpy.int32]
) -> numpy.typing.NDArray[numpy.float64]:
    """k-th root of z J1(z) = Bi J0(z).

    Parameters
    ----------
    biot
        h R/lambda [-], > 0; infinite: wall held at its temperature
    k
        1, 2, ... [-]

    Returns
    -------
    root [-]
    """

@typing.overload
def cylinder_soak(biot: float, fourier: float, position: float) -> float: ...
@typing.overload
def cylinder_soak(
    biot: numpy.typing.ArrayLike, fourier: numpy.typing.ArrayLike, position: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Temperature difference left in a long cylinder.

    Parameters
    ----------
    biot
        h R/lambda [-], > 0; infinite: wall held at its temperature
    fourier
        alpha t/R^2 [-], 0 or at least 1e-4
    position
        from the middle, over R [-], 0 ... 1

    Returns
    -------
    (T - T_wall)/(T_start - T_wall) [-]
    """

@typing.overload
def cylinder_soak_mean(biot: float, fourier: float) -> float: ...
@typing.overload
def cylinder_soak_mean(
    biot: numpy.typing.ArrayLike, fourier: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Mean temperature difference left in a long cylinder.

    Parameters
    ----------
    biot
        h R/lambda [-], > 0; infinite: wall held at its temperature
    fourier
        alpha t/R^2 [-], 0 or at least 1e-4

    Returns
    -------
    mean difference over that at start [-]
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
def drop_volume(tip_bore: float, surface_tension: float, density: float) -> float: ...
@typing.overload
def drop_volume(
    tip_bore: numpy.typing.ArrayLike,
    surface_tension: numpy.typing.ArrayLike,
    density: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Volume of a drop that falls from a round tip, within a quarter.

    Parameters
    ----------
    tip_bore
        diameter wetted [m], > 0
    surface_tension
        [N/m], > 0
    density
        [kg/m^3], > 0

    Returns
    -------
    volume [m^3]
    """

@typing.overload
def elastic_wall_expansion(young: float, poisson: float, bore: float, outside: float) -> float: ...
@typing.overload
def elastic_wall_expansion(
    young: numpy.typing.ArrayLike,
    poisson: numpy.typing.ArrayLike,
    bore: numpy.typing.ArrayLike,
    outside: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Volume per pressure and length that a thick elastic tube gives.

    Parameters
    ----------
    young
        E [Pa], > 0
    poisson
        nu [-], 0 ... 0.5
    bore
        Di [m], > 0
    outside
        Do [m], > Di

    Returns
    -------
    wall expansion [m^3/(Pa m)]
    """

@typing.overload
def equivalent_weight(molar_mass: float, groups: float) -> float: ...
@typing.overload
def equivalent_weight(
    molar_mass: numpy.typing.ArrayLike, groups: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Mass per reactive group, M/f.

    Parameters
    ----------
    molar_mass
        M [g/mol or kg/mol], > 0
    groups
        f, reactive groups per molecule [-], > 0

    Returns
    -------
    equivalent weight [unit of M]

    Examples
    --------
    >>> equivalent_weight(103.0, 5)
    20.6
    """

@typing.overload
def feed_bore(law: ShearLaw, flow: float, pressure: float, length: float) -> float: ...
@typing.overload
def feed_bore(
    law: ShearLaw,
    flow: numpy.typing.ArrayLike,
    pressure: numpy.typing.ArrayLike,
    length: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Bore of a feed line that carries a flow.

    Parameters
    ----------
    law
        of the liquid at its temperature [-]
    flow
        [m^3/s], > 0
    pressure
        difference over the line [Pa], > 0
    length
        [m], > 0

    Returns
    -------
    bore [m]
    """

@typing.overload
def feed_flow(
    law: ShearLaw, tank_pressure: float, bore: float, length: float, lowest: float = -90000.0
) -> float: ...
@typing.overload
def feed_flow(
    law: ShearLaw,
    tank_pressure: numpy.typing.ArrayLike,
    bore: numpy.typing.ArrayLike,
    length: numpy.typing.ArrayLike,
    lowest: numpy.typing.ArrayLike = -90000.0,
) -> numpy.typing.NDArray[numpy.float64]:
    """Largest flow through a feed line before the cylinder starves.

    Parameters
    ----------
    law
        of the liquid at its temperature [-]
    tank_pressure
        gauge [Pa], above `lowest`
    bore
        of the feed line [m], > 0
    length
        of the feed line [m], > 0
    lowest
        pressure allowed in the cylinder, gauge [Pa]

    Returns
    -------
    flow [m^3/s]
    """

@typing.overload
def filled_viscosity(fraction: float, packing: float = 0.64, intrinsic: float = 2.5) -> float: ...
@typing.overload
def filled_viscosity(
    fraction: numpy.typing.ArrayLike,
    packing: numpy.typing.ArrayLike = 0.64,
    intrinsic: numpy.typing.ArrayLike = 2.5,
) -> numpy.typing.NDArray[numpy.float64]:
    """Viscosity of a filled liquid over that of the liquid.

    Parameters
    ----------
    fraction
        of filler by volume [-], 0 ... 1
    packing
        densest fraction [-], > fraction and at most 1
    intrinsic
        intrinsic viscosity [-], > 0

    Returns
    -------
    factor [-]
    """

@typing.overload
def filler_fraction(
    weight_fraction: float, filler_density: float, liquid_density: float
) -> float: ...
@typing.overload
def filler_fraction(
    weight_fraction: numpy.typing.ArrayLike,
    filler_density: numpy.typing.ArrayLike,
    liquid_density: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Volume fraction of filler of a weight fraction.

    Parameters
    ----------
    weight_fraction
        of filler [-], 0 ... 1
    filler_density
        [kg/m^3], > 0
    liquid_density
        without filler [kg/m^3], > 0

    Returns
    -------
    fraction by volume [-]
    """

@typing.overload
def film_left(capillary: float) -> float: ...
@typing.overload
def film_left(capillary: numpy.typing.ArrayLike) -> numpy.typing.NDArray[numpy.float64]:
    """Share of the bore that stays on the wall when gas pushes the liquid out.

    Parameters
    ----------
    capillary
        viscosity x velocity/surface tension [-], >= 0

    Returns
    -------
    share [-], at most 0.64
    """

def flow_coefficient(throttle: Throttle) -> float:
    """Flow coefficient at the setting.

    Parameters
    ----------
    throttle
        of kind flow_coefficient [-]

    Returns
    -------
    A_v [m^2], Q = A_v sqrt(dp/rho)

    Raises
    ------
    ValueError
        for an opening outside the valve's table or travel
    """

@typing.overload
def foam_fill(free_gas: float, vacuum_abs: float) -> float: ...
@typing.overload
def foam_fill(
    free_gas: numpy.typing.ArrayLike, vacuum_abs: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Largest share of a tank to fill before vacuum so that the foam stays inside.

    Parameters
    ----------
    free_gas
        at p0 [-], 0 ... 1
    vacuum_abs
        absolute pressure [Pa], > 0 and at most 101325

    Returns
    -------
    share [-]
    """

def force_for_flow(machine: Machine, flow: float) -> float:
    """Drive force for a steady flow, the reverse of steady_state.

    Parameters
    ----------
    machine
        the machine [-]
    flow
        liquid flow of both streams [m^3/s], > 0

    Returns
    -------
    force [N]
    """

def force_for_rating(machine: Machine) -> float:
    """Drive force at which the first rating is reached in steady flow.

    Parameters
    ----------
    machine
        the machine [-]

    Returns
    -------
    force [N]; infinite without ratings
    """

@typing.overload
def free_gas_of_modulus(
    bulk_modulus: float, tangent_modulus: float, pressure: float, gas_exponent: float = 1.0
) -> float: ...
@typing.overload
def free_gas_of_modulus(
    bulk_modulus: numpy.typing.ArrayLike,
    tangent_modulus: numpy.typing.ArrayLike,
    pressure: numpy.typing.ArrayLike,
    gas_exponent: numpy.typing.ArrayLike = 1.0,
) -> numpy.typing.NDArray[numpy.float64]:
    """Free gas at p0 of a liquid whose tangent bulk modulus was measured.

    Parameters
    ----------
    bulk_modulus
        K of the gas-free liquid [Pa], > 0
    tangent_modulus
        measured, without the walls' share [Pa], > 0 and at most K
    pressure
        gauge [Pa], > -p0
    gas_exponent
        n_g, polytropic [-], 1 ... 2

    Returns
    -------
    free gas fraction [-]
    """

def full_force(drive: Drive) -> float:
    """Force with which a drive pushes at rest.

    Parameters
    ----------
    drive
        the drive [-]

    Returns
    -------
    F0, the limit, or the regulator's pressure on the air cylinder's bore [N]

    Examples
    --------
    >>> full_force(Drive(force=4600.0))
    4600.0
    """

def gap_reynolds_number(throttle: Throttle, law: ShearLaw, density: float, flow: float) -> float:
    """Reynolds number of a throttle's slit.

    Parameters
    ----------
    throttle
        at its setting [-]
    law
        of the liquid there [-]
    density
        there [kg/m^3], > 0
    flow
        [m^3/s]

    Returns
    -------
    rho Q/(pi d eta) [-]; NaN where it is not known
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

@typing.overload
def gas_left(share: float, vacuum_abs: float) -> float: ...
@typing.overload
def gas_left(
    share: numpy.typing.ArrayLike, vacuum_abs: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Free gas at p0 that vacuum leaves.

    Parameters
    ----------
    share
        of the volume that is gas under vacuum [-], >= 0 and < 1
    vacuum_abs
        absolute pressure [Pa], > 0 and at most 101325

    Returns
    -------
    free gas fraction [-]
    """

@typing.overload
def gas_share(liquid: Liquid, pressure: float) -> float: ...
@typing.overload
def gas_share(
    liquid: Liquid, pressure: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Fraction of the volume that is gas at a pressure.

    Parameters
    ----------
    liquid
        the liquid [-]
    pressure
        gauge [Pa], > -p0

    Returns
    -------
    fraction [-]
    """

@typing.overload
def hardener_bore(
    ratio: float, resin_bore: float, resin_liquid: float = 1.0, hardener_liquid: float = 1.0
) -> float: ...
@typing.overload
def hardener_bore(
    ratio: numpy.typing.ArrayLike,
    resin_bore: numpy.typing.ArrayLike,
    resin_liquid: numpy.typing.ArrayLike = 1.0,
    hardener_liquid: numpy.typing.ArrayLike = 1.0,
) -> numpy.typing.NDArray[numpy.float64]:
    """Bore of the hardener's cylinder that delivers a ratio.

    Parameters
    ----------
    ratio
        hardener per resin by liquid volume [-], > 0
    resin_bore
        of the resin's cylinder [m], > 0
    resin_liquid
        liquid per volume in its cylinder [-], > 0
    hardener_liquid
        liquid per volume in its cylinder [-], > 0

    Returns
    -------
    bore [m]
    """

@typing.overload
def hardener_leak_error(leak: float, pressure: float, flow: float) -> float: ...
@typing.overload
def hardener_leak_error(
    leak: numpy.typing.ArrayLike, pressure: numpy.typing.ArrayLike, flow: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Ratio error of a leak on the hardener's side, -g p/Q.

    Parameters
    ----------
    leak
        g past the seal [m^3/(s Pa)], >= 0
    pressure
        gauge [Pa], >= 0
    flow
        metered by that side's piston [m^3/s], > 0

    Returns
    -------
    error of the ratio [-]
    """

@typing.overload
def heat_rate(flow: float, density: float, specific_heat: float, rise: float) -> float: ...
@typing.overload
def heat_rate(
    flow: numpy.typing.ArrayLike,
    density: numpy.typing.ArrayLike,
    specific_heat: numpy.typing.ArrayLike,
    rise: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Heat rate that warms a flow, rho c q dT.

    Parameters
    ----------
    flow
        [m^3/s], >= 0
    density
        [kg/m^3], > 0
    specific_heat
        [J/(kg K)], > 0
    rise
        of temperature [K]

    Returns
    -------
    heat rate [W]
    """

@typing.overload
def hindered_by_viscosity(fraction: float) -> float: ...
@typing.overload
def hindered_by_viscosity(fraction: numpy.typing.ArrayLike) -> numpy.typing.NDArray[numpy.float64]:
    """The same from density and viscosity of the mixture.

    Parameters
    ----------
    fraction
        of filler by volume [-], 0 ... 1

    Returns
    -------
    factor (1 - phi)^2 10^(-1.82 phi) [-]
    """

@typing.overload
def hindered_settling(fraction: float, exponent: float = 4.65) -> float: ...
@typing.overload
def hindered_settling(
    fraction: numpy.typing.ArrayLike, exponent: numpy.typing.ArrayLike = 4.65
) -> numpy.typing.NDArray[numpy.float64]:
    """Velocity of a suspension over that of a lone particle, (1 - phi)^n.

    Parameters
    ----------
    fraction
        of filler by volume [-], 0 ... 1
    exponent
        n [-], > 0; 4.65 in creeping flow

    Returns
    -------
    factor [-]
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

@typing.overload
def holding_yield_stress(diameter: float, excess_density: float) -> float: ...
@typing.overload
def holding_yield_stress(
    diameter: numpy.typing.ArrayLike, excess_density: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Smallest yield stress that holds a sphere at rest.

    Parameters
    ----------
    diameter
        of the particle [m], > 0
    excess_density
        particle less liquid [kg/m^3]

    Returns
    -------
    yield stress [Pa]
    """

@typing.overload
def idle_time(velocity: float, height: float, share: float) -> float: ...
@typing.overload
def idle_time(
    velocity: numpy.typing.ArrayLike, height: numpy.typing.ArrayLike, share: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Longest idle until a share of the height has cleared.

    Parameters
    ----------
    velocity
        of the suspension [m/s], > 0
    height
        tank depth, hose bore or cylinder length [m], > 0
    share
        of the height [-], > 0 and at most 1

    Returns
    -------
    time [s]
    """

def inlet_composition(
    trace: Trace, shot: ShotSpan, steady_ratio: float, refine: int = 8, passages: Passages = ...
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
    passages
        from shut-offs to mixing point [-]

    Returns
    -------
    composition along the volume in [m^3]
    """

def laminar_residence(index: float = 1.0) -> ResidenceTime:
    """Residence-time distribution of a round tube without diffusion, such as a tip.

    Parameters
    ----------
    index
        n of the power law [-], 0.05 ... 1

    Returns
    -------
    residence-time distribution [-]
    """

@typing.overload
def laminar_washout(volumes: float, index: float = 1.0) -> float: ...
@typing.overload
def laminar_washout(
    volumes: numpy.typing.ArrayLike, index: numpy.typing.ArrayLike = 1.0
) -> numpy.typing.NDArray[numpy.float64]:
    """Share of a step that has come through a hose, laminar without diffusion.

    Parameters
    ----------
    volumes
        passed over held [-], >= 0
    index
        n of the power law [-], 0.1 ... 1

    Returns
    -------
    share [-]
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

def least_local_index(cross: Cross) -> float:
    """Least slope of ln tau with ln s.

    Parameters
    ----------
    cross
        the law [-]

    Returns
    -------
    1 - m (1 - sqrt r)/(1 + sqrt r) [-]; a law below 0.1 is refused

    Examples
    --------
    >>> round(least_local_index(Cross(time_constant=1.0, exponent=0.7)), 12)
    0.3
    """

@typing.overload
def least_shot(hardener_error: float, tolerance: float, ratio: float) -> float: ...
@typing.overload
def least_shot(
    hardener_error: numpy.typing.ArrayLike,
    tolerance: numpy.typing.ArrayLike,
    ratio: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Least resin volume whose hardener is within tolerance, error/(tolerance ratio).

    Parameters
    ----------
    hardener_error
        all that does not grow with the shot [m^3], >= 0
    tolerance
        of the ratio, of itself [-], > 0
    ratio
        hardener per resin by liquid volume [-], > 0

    Returns
    -------
    resin volume [m^3]
    """

@typing.overload
def line_loss(
    length: float,
    inside: float,
    outside: float,
    conductivity: float,
    film: float,
    difference: float,
) -> float: ...
@typing.overload
def line_loss(
    length: numpy.typing.ArrayLike,
    inside: numpy.typing.ArrayLike,
    outside: numpy.typing.ArrayLike,
    conductivity: numpy.typing.ArrayLike,
    film: numpy.typing.ArrayLike,
    difference: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Heat rate lost through an insulated round line.

    Parameters
    ----------
    length
        [m], > 0
    inside
        diameter of the insulation [m], > 0
    outside
        diameter of the insulation [m], at least `inside`
    conductivity
        of the insulation [W/(m K)], > 0
    film
        heat transfer to the room [W/(m^2 K)], > 0
    difference
        line less room [K]

    Returns
    -------
    heat rate [W]
    """

@typing.overload
def liquid_per_volume(liquid: Liquid, pressure: float, temperature: float) -> float: ...
@typing.overload
def liquid_per_volume(
    liquid: Liquid, pressure: numpy.typing.ArrayLike, temperature: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Liquid volume (mass over reference density) per actual volume.

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
    rho(p, T)/rho_ref [-]
    """

def log_resistance(throttle: Throttle) -> float:
    """Setting as a logarithm of resistance.

    Parameters
    ----------
    throttle
        at its setting [-]

    Returns
    -------
    ln r, -3 ln turns or -2 ln A_v [-], rising as it closes
    """

@typing.overload
def longest_pause(working_life: float, share: float, age: float) -> float: ...
@typing.overload
def longest_pause(
    working_life: numpy.typing.ArrayLike, share: numpy.typing.ArrayLike, age: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Longest pause after which the mixer's content may still be used.

    Parameters
    ----------
    working_life
        of the blend [s], > 0
    share
        of it that may pass [-], > 0 and at most 1
    age
        at exit in production [s], >= 0

    Returns
    -------
    time [s]
    """

@typing.overload
def measure(
    trace: Trace,
    shot: ShotSpan,
    steady: Steady,
    mixer: Mixer,
    target: Target,
    passages: Passages = ...,
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
    passages
        from shut-offs to mixing point [-]

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
    measures of each shot, and the steady state they share [-]
    """

def measure_trial(trace: Trace, machine: Machine, target: Target) -> Trial:
    """Measures of the last shot of a run.

    Parameters
    ----------
    trace
        the run [-]
    machine
        the machine it was made with [-]
    target
        ratio and tolerance of the part [-]

    Returns
    -------
    a trial without added back pressure [-]
    """

@typing.overload
def metered_ratio(
    resin_bore: float, hardener_bore: float, resin_liquid: float, hardener_liquid: float
) -> float: ...
@typing.overload
def metered_ratio(
    resin_bore: numpy.typing.ArrayLike,
    hardener_bore: numpy.typing.ArrayLike,
    resin_liquid: numpy.typing.ArrayLike,
    hardener_liquid: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Ratio by liquid volume that two bores deliver without leak.

    Parameters
    ----------
    resin_bore
        of the resin's cylinder [m], > 0
    hardener_bore
        of the hardener's cylinder [m], > 0
    resin_liquid
        liquid per volume in the resin's cylinder [-], > 0
    hardener_liquid
        liquid per volume in the hardener's cylinder [-], > 0

    Returns
    -------
    hardener per resin by liquid volume [-]
    """

def mixer_inlet(
    trace: Trace, passages: Passages, steady_ratio: float, refine: int = 8
) -> MixerInlet:
    """What entered the mixer over a run, in order.

    Parameters
    ----------
    trace
        of the run [-]
    passages
        from shut-offs to mixing point [-]
    steady_ratio
        delivered, of the liquid inside before the run, by liquid volume [-], > 0
    refine
        pieces per time step [-], >= 1

    Returns
    -------
    composition along net liquid entered [m^3], and how it came
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

def objective_value(trial: Trial, objective: Objective) -> float:
    """Value an objective minimises.

    Parameters
    ----------
    trial
        settings tried [-]
    objective
        what to look for [-]

    Returns
    -------
    |net lead|, soft volume, or surplus + missing [m^3]
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

def outlet_composition(inlet: Composition, residence: ResidenceTime, mixer: Mixer) -> Composition:
    """What leaves the mixer for what entered it.

    Parameters
    ----------
    inlet
        composition that entered during a shot [m^3]
    residence
        residence-time distribution [-]
    mixer
        the mixer [-]

    Returns
    -------
    composition from the open command to inlet volume plus two hold-ups [m^3]
    """

def outlet_sequence(
    inlet: MixerInlet, trace: Trace, mixer: Mixer, residence: ResidenceTime, tip_index: float = 1.0
) -> OutletSequence:
    """What left the outlet of a run, in order.

    Parameters
    ----------
    inlet
        what entered during the run [-]
    trace
        of the run [-]
    mixer
        with its tip, if any [-]
    residence
        residence-time distribution of the mixer [-]
    tip_index
        power-law index of the blend in the tip [-], 0.05 ... 1

    Returns
    -------
    pieces along the liquid out [m^3], with the shot they leave in and their age [s]
    """

def passages(machine: Machine) -> Passages:
    """From shut-offs to mixing point of a machine.

    Parameters
    ----------
    machine
        the machine [-]

    Returns
    -------
    volumes [m^3], and whether they start full
    """

@typing.overload
def pressure_for_leak(leak: float, flow: float, share: float) -> float: ...
@typing.overload
def pressure_for_leak(
    leak: numpy.typing.ArrayLike, flow: numpy.typing.ArrayLike, share: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Greatest pressure at which a leak stays below a share of the flow.

    Parameters
    ----------
    leak
        g past the seal [m^3/(s Pa)], > 0
    flow
        metered by that side's piston [m^3/s], > 0
    share
        of the flow [-], > 0 and < 1

    Returns
    -------
    gauge pressure [Pa]
    """

def pressure_stations(machine: Machine, force: float) -> list[Station]:
    """Pressure and loss of every piece in steady flow.

    Parameters
    ----------
    machine
        the machine [-]
    force
        of the drive [N], > 0

    Returns
    -------
    pieces of resin, hardener, then the mixer; pressures [Pa]; empty: no flow
    """

@typing.overload
def prime_reach(law: ShearLaw, pressure: float, bore: float) -> float: ...
@typing.overload
def prime_reach(
    law: ShearLaw, pressure: numpy.typing.ArrayLike, bore: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Longest hose a pressure can fill against the yield stress.

    Parameters
    ----------
    law
        of the liquid at its temperature [-]
    pressure
        at the hose's inlet, gauge [Pa], > 0
    bore
        of the hose [m], > 0

    Returns
    -------
    length [m]; infinite without yield stress
    """

@typing.overload
def prime_time(law: ShearLaw, pressure: float, bore: float, length: float) -> float: ...
@typing.overload
def prime_time(
    law: ShearLaw,
    pressure: numpy.typing.ArrayLike,
    bore: numpy.typing.ArrayLike,
    length: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Time to fill an empty hose at constant pressure.

    Parameters
    ----------
    law
        of the liquid at its temperature [-]
    pressure
        at the hose's inlet, gauge [Pa], > 0
    bore
        of the hose [m], > 0
    length
        of the hose [m], > 0

    Returns
    -------
    time [s]

    Examples
    --------
    >>> round(prime_time(ShearLaw(consistency=10.0), 2e6, 0.01, 2.0), 6)
    3.2
    """

def profile_along(
    inlet: Composition,
    residence: ResidenceTime,
    hold_up: float,
    entered: float,
    places: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Hardener fraction along the mixer at one instant.

    Parameters
    ----------
    inlet
        what enters along its own volume [-]
    residence
        residence-time distribution of the whole mixer [-]
    hold_up
        volume of the mixer [m^3], > 0
    entered
        liquid that has entered by then, on the inlet's axis [m^3]
    places
        fractions of the mixer's length [-], 0 < z <= 1

    Returns
    -------
    fraction in the liquid that flows by [-]
    """

@typing.overload
def purge_volumes(share: float, index: float = 1.0) -> float: ...
@typing.overload
def purge_volumes(
    share: numpy.typing.ArrayLike, index: numpy.typing.ArrayLike = 1.0
) -> numpy.typing.NDArray[numpy.float64]:
    """Volumes of a hose to pass until a share of what comes out is new.

    Parameters
    ----------
    share
        new [-], 0 ... 0.9999
    index
        n of the power law [-], 0.1 ... 1

    Returns
    -------
    volumes [-]
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

@typing.overload
def refill_ratio_error(resin_compression: float, hardener_compression: float) -> float: ...
@typing.overload
def refill_ratio_error(
    resin_compression: numpy.typing.ArrayLike, hardener_compression: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Ratio error of a whole refill against the steady ratio.

    Parameters
    ----------
    resin_compression
        from tank to working pressure [-], below 1
    hardener_compression
        from tank to working pressure [-], below 1

    Returns
    -------
    error of the ratio [-]
    """

def remedies(
    machine: Machine, sequence: Sequence, target: Target, threads: int = 0, numerics: Numerics = ...
) -> list[Remedy]:
    """Remedies beside the trim, each simulated on the machine.

    Parameters
    ----------
    machine
        the machine as written [-]
    sequence
        what it is asked to do; the last shot counts [-]
    target
        ratio and tolerance of the part [-]
    threads
        0: one a core [-]
    numerics
        accuracy of each run [-]

    Returns
    -------
    those that apply, most soft volume removed first [-]
    """

@typing.overload
def residence_in_flow(hold_up: float, flow: float) -> float: ...
@typing.overload
def residence_in_flow(
    hold_up: numpy.typing.ArrayLike, flow: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Mean residence time in steady flow.

    Parameters
    ----------
    hold_up
        liquid the mixer holds [m^3], > 0
    flow
        of both streams [m^3/s], > 0

    Returns
    -------
    time [s]
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
def resin_leak_error(leak: float, pressure: float, flow: float) -> float: ...
@typing.overload
def resin_leak_error(
    leak: numpy.typing.ArrayLike, pressure: numpy.typing.ArrayLike, flow: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Ratio error of a leak on the resin's side, 1/(1 - g p/Q) - 1.

    Parameters
    ----------
    leak
        g past the seal [m^3/(s Pa)], >= 0
    pressure
        gauge [Pa], >= 0
    flow
        metered by that side's piston [m^3/s], > 0

    Returns
    -------
    error of the ratio [-]
    """

@typing.overload
def retract_speed(feed_flow: float, cylinder_bore: float) -> float: ...
@typing.overload
def retract_speed(
    feed_flow: numpy.typing.ArrayLike, cylinder_bore: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Fastest the piston may be drawn back.

    Parameters
    ----------
    feed_flow
        through the feed line [m^3/s], >= 0
    cylinder_bore
        [m], > 0

    Returns
    -------
    speed [m/s]
    """

@typing.overload
def reynolds_factor(throttle: Throttle, reynolds_number: float) -> float: ...
@typing.overload
def reynolds_factor(
    throttle: Throttle, reynolds_number: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Share of the turbulent flow coefficient left at a Reynolds number.

    Parameters
    ----------
    throttle
        of kind flow_coefficient [-]
    reynolds_number
        Re_v [-], >= 0

    Returns
    -------
    F_R [-], 0 to 1
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

def sensitivities(
    machine: Machine,
    sequence: Sequence,
    target: Target,
    objective: Objective,
    sweep_resin: bool = False,
    threads: int = 0,
    numerics: Numerics = ...,
) -> list[Sensitivity]:
    """What moves a trim: one assumption changed at a time.

    Parameters
    ----------
    machine
        the machine at its answer [-]
    sequence
        what it is asked to do; the last shot counts [-]
    target
        ratio and tolerance of the part [-]
    objective
        what was looked for [-]
    sweep_resin
        trim the resin throttle again rather than the hardener's [-]
    threads
        0: one a core [-]
    numerics
        accuracy of each run [-]

    Returns
    -------
    one entry per change [-]
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

@typing.overload
def shots_per_stroke(left: float, travel: float) -> float: ...
@typing.overload
def shots_per_stroke(
    left: numpy.typing.ArrayLike, travel: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Whole shots in what is left of a stroke.

    Parameters
    ----------
    left
        of the stroke [m], >= 0
    travel
        per shot [m], > 0

    Returns
    -------
    shots [-]
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

@typing.overload
def slab_fourier(biot: float, left: float) -> float: ...
@typing.overload
def slab_fourier(
    biot: numpy.typing.ArrayLike, left: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Fourier number at which the middle of a slab has come that close to the wall.

    Parameters
    ----------
    biot
        h R/lambda [-], > 0; infinite: wall held at its temperature
    left
        of the temperature difference, in the middle [-], > 0 and < 1

    Returns
    -------
    alpha t/R^2 [-]
    """

@typing.overload
def slab_root(biot: float, k: typing.Annotated[float, numpy.int32]) -> float: ...
@typing.overload
def slab_root(
    biot: numpy.typing.ArrayLike, k: typing.Annotated[numpy.typing.ArrayLike, numpy.int32]
) -> numpy.typing.NDArray[numpy.float64]:
    """k-th root of z tan z = Bi.

    Parameters
    ----------
    biot
        h R/lambda [-], > 0; infinite: wall held at its temperature
    k
        1, 2, ... [-]

    Returns
    -------
    root [-]
    """

@typing.overload
def slab_soak(biot: float, fourier: float, position: float) -> float: ...
@typing.overload
def slab_soak(
    biot: numpy.typing.ArrayLike, fourier: numpy.typing.ArrayLike, position: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Temperature difference left in a slab; R is half its thickness.

    Parameters
    ----------
    biot
        h R/lambda [-], > 0; infinite: wall held at its temperature
    fourier
        alpha t/R^2 [-], 0 or at least 1e-4
    position
        from the middle, over R [-], 0 ... 1

    Returns
    -------
    (T - T_wall)/(T_start - T_wall) [-]
    """

@typing.overload
def slab_soak_mean(biot: float, fourier: float) -> float: ...
@typing.overload
def slab_soak_mean(
    biot: numpy.typing.ArrayLike, fourier: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Mean temperature difference left in a slab.

    Parameters
    ----------
    biot
        h R/lambda [-], > 0; infinite: wall held at its temperature
    fourier
        alpha t/R^2 [-], 0 or at least 1e-4

    Returns
    -------
    mean difference over that at start [-]
    """

@typing.overload
def stall_volume(
    liquid: Liquid, pressure: float, volume: float, capacity: float, pocket: float
) -> float: ...
@typing.overload
def stall_volume(
    liquid: Liquid,
    pressure: numpy.typing.ArrayLike,
    volume: numpy.typing.ArrayLike,
    capacity: numpy.typing.ArrayLike,
    pocket: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Volume the piston sweeps from p = 0 against closed shut-offs.

    Parameters
    ----------
    liquid
        the liquid [-]
    pressure
        gauge [Pa], >= 0
    volume
        in cylinder and line at p = 0 [m^3], >= 0
    capacity
        of all walls, wall expansion x length [m^3/Pa], >= 0
    pocket
        free air at p0 [m^3], >= 0

    Returns
    -------
    volume [m^3]
    """

def steady_state(machine: Machine, force: float = -1.0) -> Steady:
    """Constant-drive steady state of a machine.

    Other Python threads go on.

    Parameters
    ----------
    machine
        the machine [-]
    force
        F0 in place of the drive's own [N]; two drives are scaled alike; none if negative

    Returns
    -------
    flows [m^3/s], pressures [Pa] and the delivered ratio [-]

    Raises
    ------
    ValueError
        if the machine cannot be
    """

@typing.overload
def stoichiometric_ratio(
    hardener_equivalent: float, resin_equivalent: float, stoichiometry: float = 1.0
) -> float: ...
@typing.overload
def stoichiometric_ratio(
    hardener_equivalent: numpy.typing.ArrayLike,
    resin_equivalent: numpy.typing.ArrayLike,
    stoichiometry: numpy.typing.ArrayLike = 1.0,
) -> numpy.typing.NDArray[numpy.float64]:
    """Ratio by weight at which the reactive groups meet.

    Parameters
    ----------
    hardener_equivalent
        [g/mol or kg/mol], > 0
    resin_equivalent
        in the same unit [g/mol or kg/mol], > 0
    stoichiometry
        hardener groups per resin group [-], > 0

    Returns
    -------
    hardener per resin by weight [-]; 100 times it is phr

    Examples
    --------
    >>> round(stoichiometric_ratio(20.6, 200.0), 6)
    0.103
    """

@typing.overload
def stokes_velocity(
    diameter: float, excess_density: float, viscosity: float, gravity: float = 9.80665
) -> float: ...
@typing.overload
def stokes_velocity(
    diameter: numpy.typing.ArrayLike,
    excess_density: numpy.typing.ArrayLike,
    viscosity: numpy.typing.ArrayLike,
    gravity: numpy.typing.ArrayLike = 9.80665,
) -> numpy.typing.NDArray[numpy.float64]:
    """Terminal velocity of a lone sphere in creeping flow.

    Parameters
    ----------
    diameter
        of the particle [m], > 0
    excess_density
        particle less liquid [kg/m^3]
    viscosity
        of the liquid without filler [Pa s], > 0
    gravity
        [m/s^2], > 0

    Returns
    -------
    velocity [m/s], positive sinks
    """

@typing.overload
def swept_by_travel(travel: float, resin_bore: float, hardener_bore: float) -> float: ...
@typing.overload
def swept_by_travel(
    travel: numpy.typing.ArrayLike,
    resin_bore: numpy.typing.ArrayLike,
    hardener_bore: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Actual volume both pistons sweep.

    Parameters
    ----------
    travel
        [m]
    resin_bore
        of the resin's cylinder [m], > 0
    hardener_bore
        of the hardener's cylinder [m], > 0

    Returns
    -------
    volume [m^3]
    """

@typing.overload
def temperature_factor(rheology: Rheology, temperature: float) -> float: ...
@typing.overload
def temperature_factor(
    rheology: Rheology, temperature: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Shift factor a_T of the law of temperature.

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
        if the temperature is not positive, or not above the pole of a Vogel law

    Examples
    --------
    >>> temperature_factor(Rheology(consistency=20.0, activation_energy=50e3), 298.15)
    1.0
    """

@typing.overload
def temperature_for_viscosity(rheology: Rheology, temperature: float, factor: float) -> float: ...
@typing.overload
def temperature_for_viscosity(
    rheology: Rheology, temperature: numpy.typing.ArrayLike, factor: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Temperature at which the consistency is a multiple of that at another.

    Parameters
    ----------
    rheology
        the viscosity law [-]
    temperature
        [K], > 0
    factor
        consistency wanted over that at `temperature` [-], > 0

    Returns
    -------
    temperature [K]
    """

@typing.overload
def terminal_velocity(
    diameter: float,
    excess_density: float,
    viscosity: float,
    liquid_density: float,
    gravity: float = 9.80665,
) -> float: ...
@typing.overload
def terminal_velocity(
    diameter: numpy.typing.ArrayLike,
    excess_density: numpy.typing.ArrayLike,
    viscosity: numpy.typing.ArrayLike,
    liquid_density: numpy.typing.ArrayLike,
    gravity: numpy.typing.ArrayLike = 9.80665,
) -> numpy.typing.NDArray[numpy.float64]:
    """Terminal velocity of a lone sphere up to a Reynolds number of 1000.

    Parameters
    ----------
    diameter
        of the particle [m], > 0
    excess_density
        particle less liquid [kg/m^3]
    viscosity
        of the liquid without filler [Pa s], > 0
    liquid_density
        without filler [kg/m^3], > 0
    gravity
        [m/s^2], > 0

    Returns
    -------
    velocity [m/s], positive sinks
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
def travel_of_counts(counts: float, encoder: float) -> float: ...
@typing.overload
def travel_of_counts(
    counts: numpy.typing.ArrayLike, encoder: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Shaft travel of a number of encoder counts.

    Parameters
    ----------
    counts
        [-]
    encoder
        counts as the controller counts them [1/m], > 0

    Returns
    -------
    travel [m]

    Examples
    --------
    >>> round(travel_of_counts(1200, 1200/0.0254), 6)
    0.0254
    """

@typing.overload
def travel_of_volume(volume: float, resin_bore: float, hardener_bore: float) -> float: ...
@typing.overload
def travel_of_volume(
    volume: numpy.typing.ArrayLike,
    resin_bore: numpy.typing.ArrayLike,
    hardener_bore: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Travel that sweeps a volume of both streams.

    Parameters
    ----------
    volume
        of both streams [m^3]
    resin_bore
        of the resin's cylinder [m], > 0
    hardener_bore
        of the hardener's cylinder [m], > 0

    Returns
    -------
    travel [m]
    """

def trim(
    machine: Machine,
    sequence: Sequence,
    target: Target,
    objectives: collections.abc.Sequence[Objective],
    options: TrimOptions = ...,
    numerics: Numerics = ...,
) -> Trim:
    """Search both throttles for the settings that remove the lead.

    Parameters
    ----------
    machine
        the machine as written [-]
    sequence
        what it is asked to do; the last shot counts [-]
    target
        ratio and tolerance of the part [-]
    objectives
        what to look for [-]
    options
        constraints [-]
    numerics
        accuracy of each run [-]

    Returns
    -------
    the case as written, an answer per objective, and a curve through the answer [-]

    Raises
    ------
    ValueError
        if machine, sequence or options cannot be
    """

def try_settings(
    machine: Machine,
    sequence: Sequence,
    target: Target,
    settings: collections.abc.Sequence[Settings],
    options: TrimOptions = ...,
    numerics: Numerics = ...,
) -> list[Trial]:
    """Simulate pairs of throttle settings side by side.

    Parameters
    ----------
    machine
        the machine as written [-]
    sequence
        what it is asked to do; the last shot counts [-]
    target
        ratio and tolerance of the part [-]
    settings
        pairs to try, in the throttles' own units [-]
    options
        constraints [-]
    numerics
        accuracy of each run [-]

    Returns
    -------
    one trial a pair, in order [-]
    """

@typing.overload
def vacuum_for_gas(free_gas: float, share: float) -> float: ...
@typing.overload
def vacuum_for_gas(
    free_gas: numpy.typing.ArrayLike, share: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Absolute pressure that leaves a wanted free gas, at most 101325 Pa.

    Parameters
    ----------
    free_gas
        wanted, at p0 [-], > 0 and < 1
    share
        of the volume still gas under vacuum [-], > 0 and < 1

    Returns
    -------
    absolute pressure [Pa]
    """

@typing.overload
def validate(liquid: Liquid) -> None:
    """Refuse a value outside the range its field states.

    Parameters
    ----------
    liquid
        the liquid [-]

    Raises
    ------
    ValueError
        naming the field, its value and the rule
    """

@typing.overload
def validate(rheology: Rheology) -> None:
    """Refuse a value outside the range its field states.

    Parameters
    ----------
    rheology
        the viscosity law [-]

    Raises
    ------
    ValueError
        naming the field, its value and the rule
    """

@typing.overload
def validate(machine: Machine) -> None:
    """Refuse a machine that cannot be.

    Parameters
    ----------
    machine
        the machine [-]

    Raises
    ------
    ValueError
        naming the first field that cannot be, its value and the rule
    """

@typing.overload
def valve_reynolds_number(throttle: Throttle, flow: float, kinematic_viscosity: float) -> float: ...
@typing.overload
def valve_reynolds_number(
    throttle: Throttle, flow: numpy.typing.ArrayLike, kinematic_viscosity: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Reynolds number of a valve by its flow coefficient.

    Parameters
    ----------
    throttle
        of kind flow_coefficient [-]
    flow
        [m^3/s], >= 0
    kinematic_viscosity
        [m^2/s], > 0

    Returns
    -------
    Re_v [-]
    """

def vogel_from_wlf(c1: float, c2: float, reference: float) -> Vogel:
    """Vogel law that equals log10 a_T = -C1 (T - T_r)/(C2 + T - T_r).

    Parameters
    ----------
    c1
        C1 [-], > 0
    c2
        C2 [K], > 0
    reference
        temperature T_r of the constants [K], >= C2

    Returns
    -------
    law with B = ln(10) C1 C2 [K] and T_0 = T_r - C2 [K]

    Raises
    ------
    ValueError
        if a value is out of range

    Examples
    --------
    >>> vogel_from_wlf(17.44, 51.6, 300.0).pole
    248.4
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

@typing.overload
def volume_ratio(weight_ratio: float, resin_density: float, hardener_density: float) -> float: ...
@typing.overload
def volume_ratio(
    weight_ratio: numpy.typing.ArrayLike,
    resin_density: numpy.typing.ArrayLike,
    hardener_density: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Ratio by volume of a ratio by weight, w rho_r/rho_h.

    Parameters
    ----------
    weight_ratio
        hardener per resin by weight [-], > 0
    resin_density
        where the volume is read [kg/m^3], > 0
    hardener_density
        where the volume is read [kg/m^3], > 0

    Returns
    -------
    hardener per resin by volume [-]
    """

@typing.overload
def wall_modulus(bore: float, wall_expansion: float) -> float: ...
@typing.overload
def wall_modulus(
    bore: numpy.typing.ArrayLike, wall_expansion: numpy.typing.ArrayLike
) -> numpy.typing.NDArray[numpy.float64]:
    """Modulus of a wall, bore area over wall expansion.

    Parameters
    ----------
    bore
        [m], > 0
    wall_expansion
        [m^3/(Pa m)], > 0

    Returns
    -------
    modulus [Pa]
    """

@typing.overload
def weight_ratio(volume_ratio: float, resin_density: float, hardener_density: float) -> float: ...
@typing.overload
def weight_ratio(
    volume_ratio: numpy.typing.ArrayLike,
    resin_density: numpy.typing.ArrayLike,
    hardener_density: numpy.typing.ArrayLike,
) -> numpy.typing.NDArray[numpy.float64]:
    """Ratio by weight of a ratio by volume, r rho_h/rho_r.

    Parameters
    ----------
    volume_ratio
        hardener per resin by volume [-], > 0
    resin_density
        where the volume is read [kg/m^3], > 0
    hardener_density
        where the volume is read [kg/m^3], > 0

    Returns
    -------
    hardener per resin by weight [-]
    """

def with_log_resistance(throttle: Throttle, value: float) -> Throttle:
    """The same throttle at another logarithm of resistance.

    Parameters
    ----------
    throttle
        the throttle [-]
    value
        as `log_resistance` counts it [-]

    Returns
    -------
    throttle; a valve stops at the ends of its table or travel [-]
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
unlimited: float
unrated: float
