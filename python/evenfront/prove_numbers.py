"""A proof as plain numbers, in the unit of the key's suffix."""

from __future__ import annotations

import math
from importlib.metadata import version
from typing import TYPE_CHECKING, Any

from evenfront.prove_inputs import GRAM, MILLILITRE

if TYPE_CHECKING:
    from evenfront.prove import Proof
    from evenfront.prove_start import StartProof


SOURCES = (
    "grubbs1969",
    "iso11843",
    "iso16269",
    "jcgm100",
    "jcgm106",
    "krishnamoorthy2009",
    "nist2012",
)
"""Keys of the sources in the project's list of references."""


def plain_numbers(proof: Proof) -> dict[str, Any]:
    """Everything, as plain numbers; infinite is None."""
    numbers: dict[str, Any] = _finite(_dictionary(proof))
    return numbers


def _dictionary(proof: Proof) -> dict[str, Any]:
    requirement, weighing, cutting = proof.requirement, proof.weighing, proof.cutting
    return {
        "verdict": proof.verdict,
        "accepted": proof.accepted,
        "source": proof.catches.source,
        "title": requirement.title,
        "remarks": list(proof.catches.remarks),
        "version": version("evenfront"),
        "sources": list(SOURCES),
        "requirement": {
            "ratio_by_weight": requirement.by_weight,
            "ratio_by_volume": requirement.by_volume,
            "lowest_error": requirement.limits[0],
            "highest_error": requirement.limits[1],
            "content": requirement.content,
            "confidence": requirement.confidence,
            "resin_density_g_per_cm3": _scaled(requirement.resin_density, 1e-3),
            "hardener_density_g_per_cm3": _scaled(requirement.hardener_density, 1e-3),
            "density_uncertainty": requirement.density_uncertainty,
        },
        "weighing": {
            "step_g": weighing.step / GRAM,
            "repeatability_g": weighing.repeatability / GRAM,
            "gain": weighing.gain,
            "one_scale": weighing.one_scale,
        },
        "cutting": {"drop_mL": cutting.drop / MILLILITRE, "skew_s": cutting.skew},
        "ratio": _ratio_dictionary(proof),
        "starts": [_start_dictionary(shot) for shot in proof.starts],
    }


def _ratio_dictionary(proof: Proof) -> dict[str, Any]:
    ratio, requirement = proof.ratio, proof.requirement
    plan, pairs = ratio.plan, proof.catches.ratio
    mean = requirement.by_weight * (1 + ratio.mean)
    density_ratio = requirement.density_ratio
    by_volume = None if density_ratio is None else mean / density_ratio
    total = ratio.total_by_weight
    return {
        "decision": ratio.decision,
        "catches": plan.n,
        "catches_needed": ratio.catches_needed,
        "by_weight": mean,
        "by_volume": by_volume,
        "total_by_weight": total,
        "total_by_weight_uncertainty": ratio.total_uncertainty,
        "mean_error": ratio.mean,
        "standard_deviation": ratio.sd,
        "scatter": ratio.scatter,
        "mean_error_low": ratio.mean_interval[0],
        "mean_error_high": ratio.mean_interval[1],
        "tolerance_factor": plan.accept_factor,
        "tolerance_low": ratio.tolerance_interval[0],
        "tolerance_high": ratio.tolerance_interval[1],
        "cp": ratio.cp,
        "cpk": ratio.cpk,
        "least_cp": ratio.least_cp,
        "drift_over": ratio.drift.over,
        "drift": ratio.drift.change,
        "drift_half_width": ratio.drift.half_width,
        "drift_p_value": ratio.drift.p_value,
        "grubbs_statistic": ratio.outlier.statistic,
        "grubbs_critical": ratio.outlier.critical,
        "outlier_catch": ratio.outlier.index + 1 if ratio.outlier.found else None,
        "shapiro_wilk_p_value": ratio.normal_p,
        "standard_uncertainty": ratio.uncertainty,
        "effective_degrees_of_freedom": ratio.freedom,
        "expanded_uncertainty": ratio.expanded,
        "guard_band": plan.guard,
        "conformance_probability": ratio.conformance,
        "consumer_risk": plan.consumer_risk,
        "producer_risk": plan.producer_risk,
        "repeat_risk": ratio.repeat_risk,
        "budget": [
            {
                "name": line.name,
                "standard_uncertainty": line.standard,
                "degrees_of_freedom": line.freedom,
            }
            for line in ratio.budget
        ],
        "resin_flow_mL_per_s": _scaled(ratio.resin_flow, 1 / MILLILITRE),
        "hardener_flow_mL_per_s": _scaled(ratio.hardener_flow, 1 / MILLILITRE),
        "mean_resin_g": float(pairs.net_resin.mean()) / GRAM,
        "mean_hardener_g": float(pairs.net_hardener.mean()) / GRAM,
        "resin_g": (pairs.net_resin / GRAM).tolist(),
        "hardener_g": (pairs.net_hardener / GRAM).tolist(),
        "errors": ratio.errors.tolist(),
    }


def _start_dictionary(shot: StartProof) -> dict[str, Any]:
    return {
        "shot": shot.name,
        "decision": shot.decision,
        "net_lead_mL": shot.net_lead / MILLILITRE,
        "net_lead_uncertainty_mL": shot.net_lead_uncertainty / MILLILITRE,
        "peak_lead_mL": shot.peak_lead / MILLILITRE,
        "peak_lag_mL": shot.peak_lag / MILLILITRE,
        "swing_mL": shot.swing / MILLILITRE,
        "swing_uncertainty_mL": shot.swing_uncertainty / MILLILITRE,
        "limit_mL": shot.limit / MILLILITRE,
        "smallest_lead_mL": shot.smallest_lead / MILLILITRE,
        "off_ratio_volume_mL": shot.off_ratio_volume / MILLILITRE,
        "tail_error": shot.tail_error,
        "tail_uncertainty": shot.tail_uncertainty,
        "time_s": None if shot.time is None else shot.time.tolist(),
        "resin_mL": (shot.resin / MILLILITRE).tolist(),
        "hardener_mL": (shot.hardener / MILLILITRE).tolist(),
        "lead_mL": (shot.lead / MILLILITRE).tolist(),
        "lead_uncertainty_mL": (shot.lead_uncertainty / MILLILITRE).tolist(),
        "cup_errors": shot.cup_errors.tolist(),
        "cup_states": list(shot.cup_states),
        "least_cup_errors": shot.least_cup_error.tolist(),
        "budget": [
            {"name": line.name, "standard_uncertainty_mL": line.standard / MILLILITRE}
            for line in shot.budget
        ],
    }


def _scaled(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


def _finite(node: Any) -> Any:
    """Replace numbers that JSON cannot hold by None."""
    if isinstance(node, dict):
        return {key: _finite(value) for key, value in node.items()}
    if isinstance(node, list):
        return [_finite(value) for value in node]
    return None if isinstance(node, float) and not math.isfinite(node) else node
