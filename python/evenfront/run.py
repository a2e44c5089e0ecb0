"""A run of a case: the trace of the core, its measures, and what to hand on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from evenfront import _core
from evenfront import units as u
from evenfront.shot_class import ShotClass, shot_classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evenfront.case import Case

ML = 1e-6
"""One millilitre [m^3]."""
BAR = 1e5
"""One bar [Pa]."""
SIDE_PECLET = 100.0
"""Peclet number of the dispersed answer that stands beside the plug's [-]."""

Model = Literal["case", "plug", "dispersed"]


@dataclass(frozen=True)
class Outlet:
    """What leaves the mixer (or passes a place in it) after a shot's open command.

    Parameters
    ----------
    volume
        Edges of the pieces, liquid since the open command [m^3], shape (n + 1,).
    error
        Ratio error e of each piece [-], shape (n,), capped to +-1.
    """

    volume: NDArray[np.float64]
    error: NDArray[np.float64]


class Run:
    """What a case does: every shot measured.

    Parameters
    ----------
    case
        The case.
    machine, sequence
        In place of the case's own, for settings that are not in the file.
    """

    def __init__(
        self,
        case: Case,
        machine: _core.Machine | None = None,
        sequence: _core.Sequence | None = None,
    ) -> None:
        self.case = case
        self.machine: _core.Machine = case.machine if machine is None else machine
        self.sequence: _core.Sequence = case.sequence if sequence is None else sequence
        self.target: _core.Target = case.target
        self.trace = _core.simulate(self.machine, self.sequence, case.numerics)
        self.measures = _core.measure(self.trace, self.machine, self.target)

    @property
    def status(self) -> str:
        """``ok``, or why the run ended early."""
        return self.trace.status.name

    @property
    def message(self) -> str:
        """One sentence where the status is not ok."""
        return self.trace.message

    @property
    def steady(self) -> _core.Steady:
        """Constant-drive steady state of the settings."""
        return self.trace.steady

    @property
    def ratio(self) -> float:
        """Delivered steady ratio r_s, hardener per resin by liquid volume [-]."""
        return self.steady.ratio if self.steady.flows else self.target.ratio

    @property
    def shot(self) -> _core.ShotMeasures:
        """Measures of the last shot.

        Raises
        ------
        LookupError
            If no shot was completed.
        """
        if not self.measures.shots:
            raise LookupError(self.message or "the run has no complete shot")
        return self.measures.shots[-1]

    def lead(self, shot: int = -1) -> _core.LeadCurve:
        """Lead of one shot against time.

        Parameters
        ----------
        shot
            Which one, counted from 0, or from the last with -1.

        Returns
        -------
        Times [s], volumes and lead [m^3] since the open command.
        """
        return _core.lead_curve(self.trace, self.trace.shots[shot], self.ratio)

    def outlet(self, shot: int = -1, model: Model = "case", place: float = 1.0) -> Outlet:
        """Ratio error leaving the mixer after a shot's open command.

        Parameters
        ----------
        shot
            Which one, counted from 0, or from the last with -1.
        model
            Residence model: the case's, plug, or dispersion at Pe 100.
        place
            Where along the mixer, as a share of its length; 0 is the inlet.

        Returns
        -------
        Volume edges [m^3] and ratio errors [-].
        """
        passages = _core.passages(self.machine)
        inlet = _core.inlet_composition(
            self.trace, self.trace.shots[shot], self.ratio, passages=passages
        )
        mixer, residence = self.machine.mixer, self.residence(model)
        if place == 1.0:
            inlet = _core.outlet_composition(inlet, residence, mixer)
        elif place > 0.0:
            inlet = _core.through_mixer(inlet, residence, _core.hold_up(mixer), place)
        return Outlet(inlet.volume, _core.ratio_error(inlet, self.target.ratio))

    def residence(self, model: Model = "case") -> _core.ResidenceTime:
        """Residence-time distribution of a model."""
        if model == "plug":
            return _core.ResidenceTime("plug", 0.0)
        if model == "dispersed":
            return _core.ResidenceTime("dispersion", SIDE_PECLET)
        return _core.residence_time(self.machine.mixer)

    @cached_property
    def classes(self) -> list[ShotClass]:
        """Class of every shot in order, by what comes before and after it."""
        return shot_classes(self.sequence, len(self.measures.shots), self._through_refill())

    def _through_refill(self) -> set[int]:
        """Numbers of the shots during which the shaft went back from the stroke's end."""
        shaft, found = self.machine.shaft, set()
        for i, span in enumerate(self.trace.shots):
            x = self.trace.position[span.open : span.close + 1]
            if np.max(np.maximum.accumulate(x) - x) > 0.5 * (shaft.stroke - shaft.position):
                found.add(i)
        return found

    def weight(self, shot: int = -1) -> float:
        """Mass of a shot as a cup catches it, with what passes after the close command [kg]."""
        m = self.measures.shots[shot]
        return float(
            (m.resin_volume + m.resin_after_close) * self.machine.resin.liquid.density
            + (m.hardener_volume + m.hardener_after_close) * self.machine.hardener.liquid.density
        )

    @cached_property
    def shots(self) -> list[dict[str, Any]]:
        """Measures of every shot in order, units in the keys."""
        from evenfront import behaviour

        return [
            {"class": one.name, "number_in_stroke": one.in_stroke}
            | self._shot_dict(m)
            | {"weight_g": self.weight(i) * 1e3}
            | behaviour.shot_dict(self, span)
            for i, (one, m, span) in enumerate(
                zip(self.classes, self.measures.shots, self.trace.shots, strict=True)
            )
        ]

    def to_dict(self) -> dict[str, Any]:
        """Measures of the last shot and, under ``shots``, of each; units in the keys.

        None stands for what does not occur. ``status`` is ``"ok"`` when the run went to its end.
        """
        from evenfront import behaviour

        last = self.shots[-1] if self.shots else dict.fromkeys(_SHOT_KEYS)
        periodic = self.sequence.start.periodic
        return last | {
            **self._steady_dict(),
            **behaviour.to_dict(self),
            "status": self.status,
            "message": self.message,
            "warnings": [
                *self.trace.warnings,
                *_validity(self),
                *behaviour.warnings(self),
            ],
            "starved": self._starved(),
            "periodic_rounds": self.trace.periodic_rounds if periodic else None,
            "periodic_rough_rounds": self.trace.periodic_rough_rounds if periodic else None,
            "periodic_residual": self.trace.periodic_residual if periodic else None,
            "shots": [shot | self._steady_dict() | {"status": self.status} for shot in self.shots],
        }

    def _shot_dict(self, m: _core.ShotMeasures) -> dict[str, Any]:
        plug, dispersed = m.outlet_plug, m.outlet_dispersed
        values = {
            "net_lead_mL": m.net_lead / ML,
            "peak_lead_mL": m.peak_lead / ML,
            "peak_lag_mL": m.peak_lag / ML,
            "swing_mL": m.swing / ML,
            "lead_time_s": m.lead_time,
            "off_ratio_volume_inlet_mL": m.inlet.volume / ML,
            "off_ratio_volume_outlet_mL": m.outlet.volume / ML,
            "off_ratio_start_outlet_mL": m.outlet.start / ML,
            "off_ratio_end_outlet_mL": m.outlet.end / ML,
            "soft_volume_mL": m.outlet.soft_volume / ML,
            "surplus_mL": m.outlet.surplus / ML,
            "missing_mL": m.outlet.missing / ML,
            "pushed_back_resin_mL": m.resin_pushed_back / ML,
            "pushed_back_hardener_mL": m.hardener_pushed_back / ML,
            "resin_dispensed_mL": m.resin_volume / ML,
            "hardener_dispensed_mL": m.hardener_volume / ML,
            "after_close_resin_mL": m.resin_after_close / ML,
            "after_close_hardener_mL": m.hardener_after_close / ML,
            "highest_error_outlet": m.outlet.highest_error,
            "lowest_error_outlet": m.outlet.lowest_error,
            "off_ratio_volume_outlet_plug_mL": plug.volume / ML,
            "soft_volume_plug_mL": plug.soft_volume / ML,
            "off_ratio_volume_outlet_pe100_mL": dispersed.volume / ML,
            "soft_volume_pe100_mL": dispersed.soft_volume / ML,
            "travel_length_mm": m.travel_length * 1e3,
            "settling_distance_mm": m.settling_distance * 1e3,
            "closed_resin_cylinder_pressure_bar": m.resin_closed_pressure / BAR,
            "closed_hardener_cylinder_pressure_bar": m.hardener_closed_pressure / BAR,
            "closed_resin_head_pressure_bar": m.resin_closed_head / BAR,
            "closed_hardener_head_pressure_bar": m.hardener_closed_head / BAR,
            "open_time_s": m.open_time,
            "duration_s": m.duration,
        }
        return {key: _finite(value) for key, value in values.items()}

    def _steady_dict(self) -> dict[str, Any]:
        s = self.steady
        values = {
            "steady_resin_flow_mL_per_s": s.resin.flow / ML,
            "steady_hardener_flow_mL_per_s": s.hardener.flow / ML,
            "steady_ratio_error": self.ratio / self.target.ratio - 1.0 if s.flows else math.nan,
            "steady_resin_cylinder_pressure_bar": s.resin.cylinder_pressure / BAR,
            "steady_hardener_cylinder_pressure_bar": s.hardener.cylinder_pressure / BAR,
            "steady_resin_head_pressure_bar": s.resin.throttle_pressure / BAR,
            "steady_hardener_head_pressure_bar": s.hardener.throttle_pressure / BAR,
            "steady_mixer_pressure_bar": s.mixer_pressure / BAR,
            "mass_balance_error": self.trace.mass_balance_error,
        }
        return {key: _finite(value) for key, value in values.items()}

    def _starved(self) -> dict[str, Any] | None:
        starved = self.trace.starved
        if not starved.stream:
            return None
        return {
            "stream": starved.stream,
            "place": starved.place,
            "time_s": starved.time,
            "pressure_bar": starved.pressure / BAR,
        }

    def __repr__(self) -> str:
        """Verdict in one sentence."""
        from evenfront import shot_words

        return shot_words.verdict(self)

    def _repr_html_(self) -> str:
        from evenfront import report

        return report.run_html(self)


_SHOT_KEYS = (
    "class",
    "number_in_stroke",
    "weight_g",
    "net_lead_mL",
    "peak_lead_mL",
    "peak_lag_mL",
    "swing_mL",
    "lead_time_s",
    "off_ratio_volume_inlet_mL",
    "off_ratio_volume_outlet_mL",
    "off_ratio_start_outlet_mL",
    "off_ratio_end_outlet_mL",
    "soft_volume_mL",
    "surplus_mL",
    "missing_mL",
    "pushed_back_resin_mL",
    "pushed_back_hardener_mL",
    "resin_dispensed_mL",
    "hardener_dispensed_mL",
    "after_close_resin_mL",
    "after_close_hardener_mL",
)


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


GAP_LIMIT = 20.0
"""Reynolds number of a throttle's gap up to which its loss is proportional to flow [-]."""


def _validity(run: Run) -> list[str]:
    """Sentences for flows outside the laws they were computed with."""
    warnings = []
    starved = run.trace.starved
    if starved.stream:
        label = run.case.labels[starved.stream == "hardener"]
        warnings.append(
            f"{label}: starved in the {starved.place} from {starved.time:.3g} s on, down to "
            f"{u.show(starved.pressure, u.PRESSURE)}; gas comes out and the next shots are off"
        )
    for label, side, stream in zip(
        run.case.labels,
        (run.machine.resin, run.machine.hardener),
        (run.steady.resin, run.steady.hardener),
        strict=True,
    ):
        resistance = side.throttle.kind == _core.ThrottleKind.resistance
        if resistance and stream.gap_reynolds_number > GAP_LIMIT:
            warnings.append(
                f"{label}: the Reynolds number in the throttle's gap reaches "
                f"{stream.gap_reynolds_number:.0f}, above the {GAP_LIMIT:.0f} up to which its loss "
                "is proportional to flow: describe it as a needle or by its flow coefficient"
            )
        if stream.reynolds_number > _core.laminar_limit:
            warnings.append(
                f"{label}: the generalised Reynolds number reaches {stream.reynolds_number:.0f} in "
                f"the line, above the {_core.laminar_limit:.0f} up to which the laminar law holds"
            )
    pushed = [
        (label, volume)
        for label, volume in zip(
            run.case.labels,
            (
                max((m.resin_pushed_back for m in run.measures.shots), default=0.0),
                max((m.hardener_pushed_back for m in run.measures.shots), default=0.0),
            ),
            strict=True,
        )
        if volume > 1e-3 * ML
    ]
    warnings += [
        f"{label}: {volume / ML:.2g} mL is pushed back past the mixing point; blend gels there"
        for label, volume in pushed
    ]
    return warnings
