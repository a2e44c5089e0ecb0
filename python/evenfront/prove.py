"""Prove a machine by catch weights: its ratio, and the start of its shots.

*Ratio*: pairs caught over a full stroke give the ratio error of each catch, e = ratio/asked - 1.
Its mean, interval, tolerance interval, capability, drift and outlier are those of `sampling`; what
all catches share (scale calibration, a tare weighed once, densities) is carried by `uncertainties`
with its correlations and becomes the guard band of the decision.

*Start*: one shot caught in successive cups per side gives, at each change of cups,

    lead = sum(m_h)/rho_h - r_s sum(m_r)/rho_r        [m^3], positive when hardener is ahead

with r_s the steady ratio by liquid volume, here that of the ratio catches. Their scale and
densities are the same, so calibration and resin density cancel in the lead, as they must.

Sources: jcgm100 (budget, 5.1, 5.2, annexes G.4, H.2), jcgm106 (guard band, 8.3.2; conformance, 7),
iso11843 (smallest lead), and those of `sampling`. Liquid volume is mass over reference density.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from evenfront.catches import CatchError, Catches
from evenfront.prove_budget import Shared
from evenfront.prove_inputs import Cutting, Requirement, Weighing
from evenfront.prove_numbers import plain_numbers
from evenfront.prove_ratio import RatioProof, prove_ratio
from evenfront.prove_start import StartDecision, StartProof, prove_start

__all__ = ["Cutting", "Proof", "Requirement", "Weighing", "prove"]


@dataclass(frozen=True, eq=False)
class Proof:
    """Ratio and start of a machine, proved by catch weights; prints as a verdict."""

    catches: Catches
    requirement: Requirement
    weighing: Weighing
    cutting: Cutting
    ratio: RatioProof
    starts: tuple[StartProof, ...]

    @property
    def accepted(self) -> bool:
        """Whether everything that was tested is proven."""
        return self.ratio.decision == "accepted" and self.start in ("not tested", "proven")

    @property
    def start(self) -> StartDecision | Literal["not tested"]:
        """The worst of the shots caught in increments."""
        found = [shot.decision for shot in self.starts]
        order: tuple[StartDecision, ...] = ("failed", "not decided", "proven")
        return next((decision for decision in order if decision in found), "not tested")

    @property
    def verdict(self) -> str:
        """The answer in a few words."""
        words = {"accepted": "proven"}.get(self.ratio.decision, self.ratio.decision)
        return f"ratio {words}, start {self.start}"

    def to_dict(self) -> dict[str, Any]:
        """Everything, as plain numbers in the unit of the key's suffix; infinite is None."""
        return plain_numbers(self)

    def __repr__(self) -> str:
        """Verdict and mean."""
        n, mean = len(self.catches.ratio), 100 * self.ratio.mean
        return f"Proof({self.verdict}; {n} catches, mean error {mean:+.3g} %)"

    def __str__(self) -> str:
        """Everything a person reads, several lines."""
        from evenfront import prove_words, report

        return report.as_text(prove_words.sections(self))

    def _repr_html_(self) -> str:
        from evenfront import prove_words, report

        shown = [each for each in prove_words.sections(self) if each.title != "Cautions"]
        return report.as_html(shown)


def prove(
    catches: Catches,
    requirement: Requirement,
    weighing: Weighing | None = None,
    cutting: Cutting | None = None,
) -> Proof:
    """Prove ratio, and start where it was caught.

    Parameters
    ----------
    catches
        The weights.
    requirement
        Ratio, tolerance, densities, content and confidence.
    weighing, cutting
        Scale and change of cups; None: common practice.

    Returns
    -------
    Proof
        Verdict, statistics and budgets.

    Raises
    ------
    CatchError
        Where the start was caught but densities are missing.
    """
    weighing, cutting = weighing or Weighing(), cutting or Cutting()
    if catches.shots and not requirement.has_densities:
        raise CatchError(
            [f"{catches.source}: catches of the start need both densities; give them, or a case"]
        )
    model = Shared(requirement, weighing)
    ratio, steady = prove_ratio(catches.ratio, model)
    starts = tuple(
        prove_start(name, cups, steady, model, cutting) for name, cups in catches.shots.items()
    )
    return Proof(catches, requirement, weighing, cutting, ratio, starts)
