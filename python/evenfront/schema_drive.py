"""Keys of shafts and of what drives them: by force, by air, by speed; one for both or one each."""

from __future__ import annotations

from typing import Annotated, Literal, Union

from pydantic import Field, model_validator

from evenfront import units as u
from evenfront.schema_base import Force, Length, Table, Temperature, Time, key
from evenfront.values import Choice, Number, Quantity, refused

BETWEEN_SHOTS = (
    "hold: force stays on; lock: shaft held; vent: both streams relieved to 0 bar; "
    "vent_drive: only the force taken away."
)


class _Shaft(Table):
    stroke: Length = key("Stroke.", examples=["150 mm"])
    position: Annotated[float, Quantity(u.LENGTH, at_least="0 mm")] = key(
        "Travelled when the run starts.", examples=["55 mm"]
    )
    mass: Annotated[float, Quantity(u.MASS, above="0 kg")] = key("Moving mass.")
    friction: Annotated[float, Quantity(u.FORCE, at_least="0 N")] = key(
        "Friction force of all seals, running.", "0 N"
    )
    breakaway: Annotated[float | None, Quantity(u.FORCE, at_least="0 N")] = key(
        "Friction force to overcome from rest; default friction.", None, examples=["400 N"]
    )
    viscous_friction: Annotated[float, Quantity(u.DAMPING, at_least="0 N*s/m")] = key(
        "Friction force per speed.", "0 N*s/m"
    )
    encoder: Annotated[float | None, Quantity(u.ENCODER, above="0 1/mm")] = key(
        "Counts per length, as the controller counts them. Of two shafts a dispense step goes by "
        "the resin's.",
        None,
        examples=["1200 1/in", "47 counts/mm"],
    )

    @model_validator(mode="after")
    def _position(self) -> _Shaft:
        if not self.position < self.stroke:
            raise refused(
                f"must be below the stroke, {u.written(self.stroke, u.LENGTH)}", "position"
            )
        if self.breakaway is not None and self.breakaway < self.friction:
            raise refused(
                f"must be at least friction, {u.written(self.friction, u.FORCE, 'N')}: resting "
                "seals hold no less than moving ones",
                "breakaway",
            )
        return self


class Shaft(_Shaft):
    """The shaft both pistons sit on."""

    arrangement: Literal["common"] = key(
        "Both pistons on one shaft; independent: a drive each.", "common"
    )


class IndependentShafts(Table):
    """Two shafts; resin.drive and hardener.drive hold the keys of each."""

    arrangement: Literal["independent"] = key("A drive for each stream.")


class _Drive(Table):
    delay: Time = key("From the open command until the drive starts.", "0 s")


class ForceDrive(_Drive):
    """A force that rises to its end value and stays."""

    kind: Literal["force"] = key("Kind of drive.")
    force: Force = key("Force while dispensing.", examples=["5.1 kN"])
    rise_time: Time = key("Time constant with which the force rises.", "0 s")
    between_shots: Annotated[str, Choice("hold", "lock", "vent", "vent_drive")] = key(
        BETWEEN_SHOTS, "hold"
    )


class AirPath(Table):
    """Way of air in or out: tube, valve and fittings together."""

    conductance: Annotated[float, Quantity(u.AIR_CONDUCTANCE, above="0 L/(s*bar)")] = key(
        "Sonic conductance C: free air per absolute pressure before it, when choked (ISO 6358-1)."
    )
    critical_ratio: Annotated[float, Number(at_least=0, at_most=0.95)] = key(
        "Critical pressure ratio b: choked below it (ISO 6358-1).", 0.3
    )


class AirDrive(_Drive):
    """Air cylinder with its regulator."""

    kind: Literal["air"] = key("Kind of drive.")
    bore: Length = key("Bore of the air cylinder.", examples=["100 mm"])
    rod_bore: Annotated[float, Quantity(u.LENGTH, at_least="0 mm")] = key(
        "Diameter of the rod on its exhausting side.", "0 mm", examples=["25 mm"]
    )
    pressure: Annotated[float, Quantity(u.PRESSURE, above="0 bar")] = key(
        "What the regulator is set to, at no flow.", examples=["6 bar"]
    )
    droop: Annotated[float, Quantity(u.PRESSURE, at_least="0 bar")] = key(
        "Pressure the regulator loses at droop_flow.", "0 bar", examples=["0.6 bar"]
    )
    droop_flow: Annotated[float | None, Quantity(u.FREE_AIR, above="0 L/min")] = key(
        "Flow of free air at which it loses droop.", None, examples=["500 L/min"]
    )
    dead_volume: Annotated[float, Quantity(u.VOLUME, above="0 mL")] = key(
        "Air at each end beyond the stroke, with its tubing.", examples=["150 mL"]
    )
    supply: AirPath = key(
        "From the regulator to the driving side.", examples=[{"conductance": "2.5 L/(s*bar)"}]
    )
    exhaust: AirPath = key(
        "From the exhausting side to the open.", examples=[{"conductance": "2.5 L/(s*bar)"}]
    )
    exponent: Annotated[float, Number(at_least=1, at_most=1.4)] = key(
        "Polytropic exponent of the air: 1 isothermal, 1.4 adiabatic.", 1.2
    )
    temperature: Temperature = key("Temperature of the air.", "20 degC")
    between_shots: Annotated[str, Choice("hold", "lock", "vent", "vent_drive")] = key(
        BETWEEN_SHOTS, "hold"
    )

    @model_validator(mode="after")
    def _air(self) -> AirDrive:
        if not self.rod_bore < self.bore:
            raise refused(f"must be below bore, {u.written(self.bore, u.LENGTH)}", "rod_bore")
        if not self.droop < self.pressure:
            raise refused(
                f"must be below pressure, {u.written(self.pressure, u.PRESSURE)}", "droop"
            )
        if self.droop > 0 and self.droop_flow is None:
            raise refused("is missing: the flow of free air at which droop is lost", "droop_flow")
        if self.droop == 0 and self.droop_flow is not None:
            raise refused("applies only with a droop above 0 bar", "droop_flow")
        return self


_SCREW = ": a screw at rest keeps its place, not its force"


class SpeedDrive(_Drive):
    """Motor and screw that go at a speed, with a most force."""

    kind: Literal["speed"] = key("Kind of drive.")
    speed: Annotated[float, Quantity(u.SPEED, above="0 mm/s")] = key(
        "Speed while dispensing.", examples=["2 mm/s"]
    )
    ramp_time: Time = key("Time in which it is reached, evenly.", "0 s")
    stiffness: Annotated[float, Quantity(u.STIFFNESS, above="0 N/um")] = key(
        "Stiffness of screw, nut, bearings and frame together.", "100 N/um"
    )
    force: Force = key(
        "Most force it pushes or pulls with; it lags behind meanwhile.", examples=["12 kN"]
    )
    between_shots: Annotated[str, Choice("lock", "vent", why=_SCREW)] = key(
        "lock: the screw stands still; vent: both streams relieved to 0 bar.", "lock"
    )


class OwnForceDrive(ForceDrive, _Shaft):
    """A shaft of the stream's own, driven by a force."""


class OwnAirDrive(AirDrive, _Shaft):
    """A shaft of the stream's own, driven by air."""


class OwnSpeedDrive(SpeedDrive, _Shaft):
    """A shaft of the stream's own, driven at a speed."""


Drive = Annotated[
    Union[ForceDrive, AirDrive, SpeedDrive, None],  # noqa: UP007 (holds a Field)
    Field(discriminator="kind"),
]
OwnDrive = Annotated[
    Union[OwnForceDrive, OwnAirDrive, OwnSpeedDrive, None],  # noqa: UP007
    Field(discriminator="kind"),
]
Shafts = Annotated[
    Union[Shaft, IndependentShafts],  # noqa: UP007
    Field(discriminator="arrangement"),
]
