"""What was seen at the machine: soft spots, catch weights and gauge readings, from a TOML file.

The file stands beside a case, which says what machine it was and what it was asked to do. Watched
are the first shots of the case's run and, if a pause is given, one more shot after it. A watched
shot for which no spot is listed was looked at and found right. Every problem of a file is reported
at once, each as one sentence.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError, model_validator

from evenfront import units as u
from evenfront.case import CaseError, read_toml
from evenfront.problems import sentences
from evenfront.schema_base import Table, key
from evenfront.shot_class import PAUSED, REFILLED, START_UP, ShotClass
from evenfront.values import Choice, Marker, Number, Quantity, Text, refused

Drift = Literal["no", "along the stroke", "over the day"]
SpotKind = Literal["soft", "brittle"]

AFTER = {"start": START_UP, "refill": REFILLED, "pause": PAUSED}
"""What a shot may be counted from, and the class of the first one after it."""


class Shots(Marker):
    """Number of a watched shot, a list of them, or "every"; gives a tuple, empty for every."""

    RULE = 'must be a shot\'s number from 1 on, a list of them such as [2, 3], or "every"'

    def check(self, value: Any) -> tuple[int, ...]:
        """Numbers in order, or what may be written."""
        if value == "every":
            return ()
        numbers = value if isinstance(value, list) else [value]
        if not numbers or not all(type(n) is int and 1 <= n <= 10000 for n in numbers):
            raise refused(self.RULE)
        if len(set(numbers)) < len(numbers):
            raise refused("names a shot twice")
        return tuple(sorted(numbers))

    def schema(self) -> dict[str, Any]:
        """JSON Schema of the value."""
        number = {"type": "integer", "minimum": 1}
        listed = {"type": "array", "items": number, "minItems": 1}
        return {"anyOf": [number, listed, {"const": "every"}], "examples": ["every", 2]}


Volume = Annotated[float | None, Quantity(u.VOLUME, at_least="0 mL")]
Weight = Annotated[float | None, Quantity(u.MASS, at_least="0 g")]
Pressure = Annotated[float | None, Quantity(u.PRESSURE, at_least="-1 bar")]
ShareOfError = Annotated[float | None, Quantity(u.FRACTION, at_least="-100 %")]


class _Placed(Table):
    """What belongs to a shot: by its number, or counted from a start, refill or pause."""

    shot: Annotated[tuple[int, ...] | None, Shots()] = key(
        'Number of the shot, counted from 1, several, or "every". Give this or after.',
        None,
        examples=["every"],
    )
    after: Annotated[str | None, Choice(*AFTER)] = key(
        "What the shot is counted from.", None, examples=["refill"]
    )
    number: Annotated[int | None, Number(at_least=1, whole=True)] = key(
        "Which shot after that, counted from 1; default 1.", None, examples=[1]
    )

    @model_validator(mode="after")
    def _one_place(self) -> _Placed:
        if self.shot is None and self.after is None:
            raise refused('is missing: which shot, for example "every" or 2 (or after)', "shot")
        if self.shot is not None and self.after is not None:
            raise refused("give either shot or after, not both", "after")
        if self.number is not None and self.after is None:
            raise refused("counts shots after something: it needs after", "number")
        return self


class SpotTable(_Placed):
    """A spot of the part that is not right."""

    begin: Annotated[float, Quantity(u.VOLUME, at_least="0 mL")] = key(
        "Volume from the shot's start to where the spot begins.", examples=["26 mL"], alias="from"
    )
    to: Annotated[float, Quantity(u.VOLUME, above="0 mL")] = key(
        "Volume from the shot's start to where it ends.", examples=["31 mL"]
    )
    kind: Annotated[SpotKind, Choice("soft", "brittle")] = key(
        "What it is like.", examples=["soft"]
    )
    drifts: Annotated[Drift | None, Choice("no", "along the stroke", "over the day")] = key(
        "Whether it moves or grows; leave out where that is not known.", None, examples=["no"]
    )
    ratio_error: ShareOfError = key(
        "Ratio error measured in it, of the ratio itself.", None, examples=["12 %"]
    )

    @model_validator(mode="after")
    def _in_order(self) -> SpotTable:
        if self.to <= self.begin:
            raise refused("must be beyond from", "to")
        return self


class CatchTable(_Placed):
    """Weights of a shot, or of a part of it."""

    resin: Weight = key(
        "Resin, caught apart through nozzles that keep the back pressure.", None, examples=["40 g"]
    )
    hardener: Weight = key("Hardener, caught apart.", None, examples=["3.4 g"])
    total: Weight = key("Both together, as they leave the mixer.", None, examples=["43.4 g"])
    begin: Volume = key(
        "Where the part caught begins, by volume of both streams since the shot's start.",
        None,
        alias="from",
        examples=["0 mL"],
    )
    to: Volume = key("Where it ends; default the end of the shot.", None, examples=["5 mL"])

    @model_validator(mode="after")
    def _something(self) -> CatchTable:
        apart = self.resin is not None or self.hardener is not None
        if not apart and self.total is None:
            raise refused("is missing: a weight (resin, hardener or total)", "total")
        if self.to is not None and self.to <= (self.begin or 0.0):
            raise refused("must be beyond from", "to")
        return self


class GaugeTable(_Placed):
    """Readings of the gauges at the two cylinders."""

    when: Annotated[Literal["closed", "flowing"], Choice("closed", "flowing")] = key(
        "Before the shot with both shut-offs closed, or as the shot ends.", "closed"
    )
    resin: Pressure = key("At the resin cylinder.", None, examples=["6.1 bar"])
    hardener: Pressure = key("At the hardener cylinder.", None, examples=["6 bar"])

    @model_validator(mode="after")
    def _something(self) -> GaugeTable:
        if self.resin is None and self.hardener is None:
            raise refused("is missing: a reading (resin or hardener)", "resin")
        return self


class NoiseTable(Table):
    """How far off what was seen may be, each as one standard deviation."""

    volume: Annotated[float | None, Quantity(u.VOLUME, above="0 mL")] = key(
        "Of where a spot begins and ends; default 2 % of the shot.", None, examples=["1 mL"]
    )
    weight: Annotated[float, Quantity(u.MASS, above="0 g")] = key("Of a weight.", "0.1 g")
    pressure: Annotated[float, Quantity(u.PRESSURE, above="0 bar")] = key(
        "Of a gauge reading.", "0.3 bar"
    )
    ratio_error: Annotated[float, Quantity(u.FRACTION, above="0 %")] = key(
        "Of a measured ratio error.", "3 %"
    )
    wrong_kind: Annotated[float, Quantity(u.FRACTION, above="0 %", below="50 %")] = key(
        "How often soft is taken for brittle, or the reverse.", "5 %"
    )


class WatchedTable(Table):
    """Which shots were looked at."""

    shots: Annotated[int | None, Number(at_least=1, at_most=200, whole=True)] = key(
        "How many from the start of the case's run; default all of it.", None, examples=[6]
    )
    pause: Annotated[float | None, Quantity(u.TIME, above="0 s")] = key(
        "A pause after them, and one more shot.", None, examples=["45 min"]
    )
    soft_means: Annotated[str, Choice("too much hardener", "too little hardener")] = key(
        "Which of the two makes this material soft; ask its maker.", "too much hardener"
    )


class ObservedFile(Table):
    """What was seen."""

    title: Annotated[str | None, Text()] = key("What it is about, in one line.", None)
    watched: WatchedTable = key("Which shots were looked at.", {})
    noise: NoiseTable = key("How far off it may be.", {})
    spot: Annotated[list[SpotTable], Field(max_length=500)] = key(
        "Spots.", [], examples=[[{"shot": "every", "from": "26 mL", "to": "31 mL"}]]
    )
    catch: Annotated[list[CatchTable], Field(max_length=500)] = key(
        "Weights.", [], examples=[[{"shot": 1, "total": "43.4 g"}]]
    )
    gauge: Annotated[list[GaugeTable], Field(max_length=500)] = key(
        "Gauge readings.", [], examples=[[{"shot": 1, "resin": "6.1 bar"}]]
    )

    @model_validator(mode="after")
    def _not_empty(self) -> ObservedFile:
        if not (self.spot or self.catch or self.gauge):
            raise refused("is missing: one spot, catch or gauge at least", "spot")
        return self


@dataclass(frozen=True)
class Which:
    """Shots an observation belongs to.

    Parameters
    ----------
    where
        Where it stands, for messages: ``"lunch.toml: spot[0]"``.
    shots
        Numbers from 1; empty for every shot.
    after
        "start", "refill" or "pause" in place of numbers, else "".
    number
        Which shot after that, counted from 1.
    """

    where: str
    shots: tuple[int, ...] = ()
    after: str = ""
    number: int = 1

    def find(self, classes: Sequence[ShotClass]) -> list[int]:
        """Which of the watched shots these are, counted from 0.

        Raises
        ------
        CaseError
            If there are none.
        """
        if not self.after:
            beyond = [n for n in self.shots if n > len(classes)]
            if beyond:
                watched = "1 shot was" if len(classes) == 1 else f"{len(classes)} shots were"
                raise CaseError([f"{self.where}.shot = {beyond[0]}: only {watched} watched"])
            return [n - 1 for n in self.shots] or list(range(len(classes)))
        first = AFTER[self.after]
        found = [
            i + self.number - 1
            for i, one in enumerate(classes)
            if one.name == first
            and i + self.number <= len(classes)
            and all(c.name not in AFTER.values() for c in classes[i + 1 : i + self.number])
        ]
        if not found:
            raise CaseError(
                [
                    f'{self.where}.after = "{self.after}": none of the shots watched is number '
                    f"{self.number} after a {self.after}"
                ]
            )
        return found


@dataclass(frozen=True)
class Spot:
    """A soft or brittle spot; volumes from the shot's start [m^3]."""

    which: Which
    start: float
    end: float
    kind: SpotKind
    drifts: Drift | None = None
    ratio_error: float | None = None


@dataclass(frozen=True)
class Catch:
    """Weights [kg] of a shot, or of what passed between two volumes of it [m^3]."""

    which: Which
    resin: float | None = None
    hardener: float | None = None
    total: float | None = None
    start: float | None = None
    end: float | None = None


@dataclass(frozen=True)
class Gauge:
    """Readings at both cylinders [Pa], closed before the shot or flowing as it ends."""

    which: Which
    when: Literal["closed", "flowing"] = "closed"
    resin: float | None = None
    hardener: float | None = None


@dataclass(frozen=True)
class Noise:
    """One standard deviation each [m^3, kg, Pa, -]; `volume` None: 2 % of the shot."""

    volume: float | None = None
    weight: float = 1e-4
    pressure: float = 3e4
    ratio_error: float = 0.03
    wrong_kind: float = 0.05


@dataclass(frozen=True)
class Observed:
    """What was seen in a run of a case.

    Parameters
    ----------
    title
        One line; the file's name where it has none.
    shots
        How many shots were watched from the start; None: those of the case's run.
    pause
        Length of the pause after them [s], before one more shot; None: no pause.
    rich_is_soft
        Whether too much hardener makes the material soft, too little brittle.
    spots, catches, gauges
        What was seen and read.
    noise
        How far off it may be.
    """

    title: str = "observed"
    shots: int | None = None
    pause: float | None = None
    rich_is_soft: bool = True
    spots: tuple[Spot, ...] = ()
    catches: tuple[Catch, ...] = ()
    gauges: tuple[Gauge, ...] = ()
    noise: Noise = Noise()

    @classmethod
    def from_dict(cls, tables: Mapping[str, Any], source: str = "observed") -> Observed:
        """Check what was seen, given as nested tables as a TOML file would hold them.

        Raises
        ------
        CaseError
            With every problem found.
        """
        data = dict(tables)
        try:
            checked = ObservedFile.model_validate(data)
        except ValidationError as error:
            raise CaseError(sentences(source, data, error, ObservedFile)) from None
        watched = checked.watched
        return cls(
            title=checked.title or source,
            shots=watched.shots,
            pause=watched.pause,
            rich_is_soft=watched.soft_means == "too much hardener",
            spots=tuple(
                Spot(
                    _which(t, source, f"spot[{i}]"), t.begin, t.to, t.kind, t.drifts, t.ratio_error
                )
                for i, t in enumerate(checked.spot)
            ),
            catches=tuple(
                Catch(_which(t, source, f"catch[{i}]"), t.resin, t.hardener, t.total, t.begin, t.to)
                for i, t in enumerate(checked.catch)
            ),
            gauges=tuple(
                Gauge(_which(t, source, f"gauge[{i}]"), t.when, t.resin, t.hardener)
                for i, t in enumerate(checked.gauge)
            ),
            noise=Noise(**dict(checked.noise)),
        )


def load_observed(path: str | Path) -> Observed:
    """Read what was seen.

    Raises
    ------
    CaseError
        With every problem of the file, each as one sentence.
    """
    path = Path(path)
    name = path.name or str(path)
    return Observed.from_dict(read_toml(path, name), name)


def _which(table: _Placed, source: str, place: str) -> Which:
    return Which(f"{source}: {place}", table.shot or (), table.after or "", table.number or 1)
