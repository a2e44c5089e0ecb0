"""What a proof by catch weights takes: the requirement, the scale, the change of cups."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

GRAM = 1e-3
MILLILITRE = 1e-6


@dataclass(frozen=True, kw_only=True)
class Requirement:
    """What the machine is to be held to.

    Parameters
    ----------
    ratio
        Hardener per resin [-], > 0.
    by
        Whether that is by liquid "volume" or by "weight".
    tolerance
        Ratio error allowed below and above, both positive [-].
    resin_density, hardener_density
        Gas-free, at the reference temperature [kg/m^3]; None where not known. Needed for a ratio
        by volume and for the start.
    density_uncertainty
        Relative standard uncertainty of each density [-].
    content, confidence
        Share of catches to be within tolerance, and confidence of every statement [-].
    lead_limit
        Swing of the lead allowed in a shot [m^3]; None: what makes the whole shot off ratio by the
        narrower tolerance.
    title
        What is proved, for the certificate.
    """

    ratio: float
    tolerance: tuple[float, float]
    by: Literal["volume", "weight"] = "volume"
    resin_density: float | None = None
    hardener_density: float | None = None
    density_uncertainty: float = 2e-3
    content: float = 0.95
    confidence: float = 0.95
    lead_limit: float | None = None
    title: str = ""

    def __post_init__(self) -> None:
        """Refuse what no machine can be held to."""
        if not 0 < self.ratio < math.inf:
            raise ValueError(f"Requirement: ratio = {self.ratio}, must be above 0")
        if not all(0 < each < 1 for each in self.tolerance):
            raise ValueError(f"Requirement: tolerance = {self.tolerance}, must be within 0 and 1")
        for name in ("resin_density", "hardener_density", "lead_limit"):
            value = getattr(self, name)
            if value is not None and not 0 < value < math.inf:
                raise ValueError(f"Requirement: {name} = {value}, must be above 0")
        if not 0 <= self.density_uncertainty < 0.5:
            raise ValueError(
                f"Requirement: density_uncertainty = {self.density_uncertainty}, must be 0 to 0.5"
            )
        for name in ("content", "confidence"):
            if not 0.5 <= getattr(self, name) <= 0.9999:
                raise ValueError(
                    f"Requirement: {name} = {getattr(self, name)}, must be 0.5 to 0.9999"
                )
        if self.by == "volume" and not self.has_densities:
            raise ValueError("Requirement: a ratio by volume needs both densities")

    @property
    def has_densities(self) -> bool:
        """Whether weights can be turned into volumes."""
        return self.resin_density is not None and self.hardener_density is not None

    @property
    def density_ratio(self) -> float | None:
        """Hardener over resin [-], or None."""
        if self.resin_density is None or self.hardener_density is None:
            return None
        return self.hardener_density / self.resin_density

    @property
    def by_weight(self) -> float:
        """Ratio asked, by weight [-]."""
        return self.ratio * (self.density_ratio or 1.0) if self.by == "volume" else self.ratio

    @property
    def by_volume(self) -> float | None:
        """Ratio asked, by liquid volume [-]; None without densities."""
        return None if self.density_ratio is None else self.by_weight / self.density_ratio

    @property
    def limits(self) -> tuple[float, float]:
        """Lowest and highest ratio error allowed [-]."""
        return -self.tolerance[0], self.tolerance[1]


@dataclass(frozen=True, kw_only=True)
class Weighing:
    """The scale. The defaults are common practice, no source.

    Parameters
    ----------
    step
        Smallest step it shows [kg].
    repeatability
        Standard deviation of repeated weighings [kg].
    gain
        Standard uncertainty of its calibration, relative [-].
    one_scale
        True where both streams are weighed on the same scale: its calibration then cancels.
    """

    step: float = 1e-5
    repeatability: float = 1e-5
    gain: float = 5e-4
    one_scale: bool = True

    def __post_init__(self) -> None:
        """Refuse negative values, and a scale that shows everything."""
        for name in ("step", "repeatability", "gain"):
            if not 0 <= getattr(self, name) < 1:
                raise ValueError(f"Weighing: {name} = {getattr(self, name)}, must be 0 to 1")
        if self.step == 0 and self.repeatability == 0:
            raise ValueError("Weighing: step and repeatability cannot both be 0")

    @property
    def reading(self) -> float:
        """Standard uncertainty of one reading [kg]: step/sqrt(12) and repeatability."""
        return math.hypot(self.step / math.sqrt(12), self.repeatability)

    def net(self, has_tare: bool) -> float:
        """Give the standard uncertainty of a net weight [kg]; a zero set is a reading too."""
        return self.reading * (1 if has_tare else math.sqrt(2))


@dataclass(frozen=True, kw_only=True)
class Cutting:
    """How exactly the streams are parted into cups. The defaults are common practice, no source.

    Parameters
    ----------
    drop
        Liquid of one side that may fall into the wrong cup at a change of cups [m^3].
    skew
        Time between changing the cups of the two sides, at most [s].
    """

    drop: float = 3e-8
    skew: float = 5e-3

    def __post_init__(self) -> None:
        """Refuse negative values."""
        for name in ("drop", "skew"):
            if not 0 <= getattr(self, name) < 1:
                raise ValueError(f"Cutting: {name} = {getattr(self, name)}, must be 0 to 1")
