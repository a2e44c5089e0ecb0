"""What a proof by catch weights means, in words: the terminal's screen, a notebook's cell.

Sections of sentences and tables that `report` lays out, in the order a person asks: what is the
verdict, what next, which ratio, how sure, the start, what was assumed, cautions.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from evenfront import run_report, sampling
from evenfront import units as u
from evenfront.layout import Items, Section, Table
from evenfront.prove import Proof
from evenfront.prove_inputs import GRAM, MILLILITRE
from evenfront.prove_ratio import Drift
from evenfront.prove_start import StartProof

FEW_PAIRS = 5
"""Below this number of pairs a caution stands; common practice, no source."""
SMALL_HARDENER = 20e-3
"""Catches of less hardener [kg] are said to be small; common practice, no source."""
SCOPE = (
    "A proof holds for the machine, the material, the temperatures and the settings it was caught "
    "at, and for no others."
)


def sections(proof: Proof) -> tuple[Section, ...]:
    """Everything a person reads about a proof."""
    return tuple(section for section in _sections(proof) if section.blocks)


def _sections(proof: Proof) -> Iterator[Section]:
    yield Section(verdict(proof), reasons(proof))
    yield Section("Next", _items(next_steps(proof)))
    yield Section("Ratio, resin to hardener", (ratio_table(proof), spread_table(proof)))
    yield Section("Risks of this decision", (risk_table(proof),))
    for shot in proof.starts:
        yield Section(f"Start, shot {plain(shot.name)}", (start_table(shot), cup_table(shot)))
    yield Section("Uncertainty of the mean ratio, largest part first", (budget_table(proof),))
    yield Section("Assumed", _items(assumptions(proof)))
    yield Section("Cautions", _items(cautions(proof)))


def _items(sentences: Sequence[str]) -> tuple[Items, ...]:
    return (Items(tuple(sentences)),) if sentences else ()


# --- numbers as people read them -------------------------------------------------------------


def plain(text: str) -> str:
    """Text of a user without characters that would steer a terminal."""
    return "".join(c if c.isprintable() else " " for c in text)


def percent(value: float, figures: int = 3) -> str:
    """Write a fraction with its sign, three figures: ``"+1.23 %"``."""
    value = 0.0 if abs(value) < 5e-7 else value
    return f"{'+' if value > 0 else ''}{u.digits(100 * value, figures)} %"


def size(value: float, figures: int = 2) -> str:
    """Write a fraction without a sign, as uncertainties are: ``"1.2 %"``."""
    return f"{u.digits(100 * abs(value), figures)} %"


def volume(value: float, figures: int = 3) -> str:
    """Write a volume [m^3] in mL (cc)."""
    return f"{millilitres(value, figures)} mL (cc)"


def millilitres(value: float, figures: int = 3) -> str:
    """Write a volume [m^3] in mL, without the unit."""
    return "0" if abs(value) < 5e-4 * MILLILITRE else u.digits(value / MILLILITRE, figures)


def with_uncertainty(value: float, uncertainty: float) -> str:
    """Write a volume [m^3] with its expanded uncertainty."""
    return f"{millilitres(value)} +- {millilitres(uncertainty, 2)} mL (cc)"


def chance(risk: float) -> str:
    """Write a probability as a percentage, no finer than it is known."""
    if risk < 5e-4:
        return "below 0.1 %"
    return "above 99.9 %" if risk > 0.9995 else size(risk)


def share(value: float) -> str:
    """Write a share such as 0.95 as ``"95 %"``."""
    return f"{100 * value:.6g} %"


def both_ways(ratio: float) -> tuple[str, str]:
    """Write hardener per resin as ``"100:14"`` and ``"7.143:1"``."""
    return f"100:{u.digits(100 * ratio, 4)}", f"{u.digits(1 / ratio, 4)}:1"


# --- verdict and what next -------------------------------------------------------------------


def verdict(proof: Proof) -> str:
    """Say it in a few words: ``"Ratio proven, start not tested"``."""
    return proof.verdict[:1].upper() + proof.verdict[1:]


def reasons(proof: Proof) -> tuple[str, ...]:
    """Say why, one sentence each."""
    return (_ratio_reason(proof), *(_start_reason(shot) for shot in proof.starts))


def _ratio_reason(proof: Proof) -> str:
    ratio, plan = proof.ratio, proof.ratio.plan
    low, high = (percent(each) for each in ratio.tolerance_interval)
    held, sure = share(plan.content), share(plan.confidence)
    limits = f"{percent(plan.low)} to {percent(plan.high)}"
    guard = f"with a guard band of {size(plan.guard)}"
    if ratio.decision == "accepted":
        return (
            f"At least {held} of catches lie between {low} and {high} of the ratio asked ({sure} "
            f"confidence), inside the tolerance of {limits}, {guard}."
        )
    if ratio.decision == "rejected":
        return (
            f"More than {share(1 - plan.content)} of catches lie beyond one limit of the tolerance "
            f"of {limits} ({sure} confidence), {guard}."
        )
    return (
        f"The catches neither prove nor disprove the tolerance of {limits}: {held} of them lie "
        f"between {low} and {high} ({sure} confidence), {guard}."
    )


def _start_reason(shot: StartProof) -> str:
    text = (
        f"Shot {plain(shot.name)}: the lead swings by "
        f"{with_uncertainty(shot.swing, shot.swing_uncertainty)}, allowed is {volume(shot.limit)}"
    )
    off = [f"{i} ({state})" for i, state in enumerate(shot.cup_states, 1) if state in _OFF]
    if off:
        word = "cup" if len(off) == 1 else "cups"
        text += (
            f"; {word} {', '.join(off)} beyond tolerance, {volume(shot.off_ratio_volume)} of liquid"
        )
    if shot.decision == "not decided":
        text += "; scale and change of cups cannot tell them apart"
    return text + "."


_OFF = ("rich", "lean")


def next_steps(proof: Proof) -> tuple[str, ...]:
    """Say what to do next, one sentence each."""
    return (*_ratio_steps(proof), *_start_steps(proof))


def _ratio_steps(proof: Proof) -> Iterator[str]:
    ratio, plan = proof.ratio, proof.ratio.plan
    if ratio.decision == "accepted":
        return
    if ratio.drift.found:
        yield "Find the cause of the drift first: it widens the scatter."
    if ratio.decision == "not decided":
        if ratio.catches_needed is not None:
            more = ratio.catches_needed - plan.n
            yield (
                f"Weigh {more} more {'pair' if more == 1 else 'pairs'}, {ratio.catches_needed} in "
                "all: they decide if mean and scatter stay as they are."
            )
            return
        yield (
            "More catches of this kind will not decide: bring the mean nearer to the middle of the "
            f"tolerance, or lower the largest uncertainty, {ratio.budget[0].name}."
        )
    middle, room = (plan.high + plan.low) / 2, (plan.high - plan.low) / 2
    if plan.accept_factor * ratio.scatter + plan.guard > room:
        yield (
            "The scatter alone is too wide for the tolerance: look for gas, air drawn in at the "
            "refill, leaking seals, cups changed too early."
        )
    if abs(ratio.mean - middle) > ratio.expanded:
        side = "rich" if ratio.mean > middle else "lean"
        yield (
            f"The mean is hardener-{side} by {size(ratio.mean - middle)} of the ratio: check "
            "bores, temperatures and densities, gas, leaks. A throttle does not change the steady "
            "ratio."
        )


def _start_steps(proof: Proof) -> Iterator[str]:
    if not proof.starts:
        yield (
            "Test the start: catch one shot in successive cups from each side and add it to the "
            "file with its increments."
        )
    failed = [shot for shot in proof.starts if shot.decision == "failed"]
    if failed:
        ahead = "Hardener" if failed[0].peak_lead >= -failed[0].peak_lag else "Resin"
        yield (
            f"{ahead} is ahead at the start: set the throttles, preload, degas or bleed; then "
            "catch the start again."
        )
    unclear = [shot for shot in proof.starts if shot.decision == "not decided"]
    if unclear:
        yield (
            "Catch the start more finely: its largest uncertainty is the "
            f"{unclear[0].budget[0].name}; leads below {volume(unclear[0].smallest_lead, 2)} "
            "cannot be resolved."
        )


# --- tables ----------------------------------------------------------------------------------


def ratio_table(proof: Proof) -> Table:
    """Ratio asked and caught, by volume and by weight, both ways round."""
    requirement = proof.requirement
    caught = requirement.by_weight * (1 + proof.ratio.mean)
    rows = []
    if requirement.by_volume is not None and requirement.density_ratio is not None:
        rows.append(("asked, by volume", *both_ways(requirement.by_volume)))
        rows.append(("caught, by volume", *both_ways(caught / requirement.density_ratio)))
    rows.append(("asked, by weight", *both_ways(requirement.by_weight)))
    rows.append(("caught, by weight", *both_ways(caught)))
    return Table(("", "resin:hardener", ""), tuple(rows))


def spread_table(proof: Proof) -> Table:
    """Mean, scatter, capability, drift, flow and shot."""
    ratio, pairs = proof.ratio, proof.catches.ratio
    sure, held = share(ratio.plan.confidence), share(ratio.plan.content)
    rows = [
        (f"mean error of {ratio.plan.n} catches", percent(ratio.mean)),
        (f"{sure} interval of the mean, catches alone", _span(ratio.mean_interval)),
        ("expanded uncertainty of the mean, all sources", f"+- {size(ratio.expanded)}"),
        ("standard deviation of the catches", size(ratio.sd, 3)),
        (f"{held} of catches, {sure} confidence", _span(ratio.tolerance_interval)),
        ("capability Cp, Cpk", f"{ratio.cp:.3g}, {ratio.cpk:.3g}"),
        (f"Cp at least, {sure} confidence", f"{ratio.least_cp:.3g}"),
        (f"drift over the {_stretch(ratio.drift)}", _plus_minus(ratio.drift)),
        (
            "mean catch of resin, of hardener",
            f"{pairs.net_resin.mean() / GRAM:.4g} g, {pairs.net_hardener.mean() / GRAM:.4g} g",
        ),
    ]
    if ratio.resin_flow is not None and ratio.hardener_flow is not None:
        rows.append(("flow of resin", u.show(ratio.resin_flow, u.FLOW)))
        rows.append(("flow of hardener", u.show(ratio.hardener_flow, u.FLOW)))
    return Table(("", ""), tuple(rows))


def _span(interval: tuple[float, float]) -> str:
    return f"{percent(interval[0])} to {percent(interval[1])}"


def _plus_minus(drift: Drift) -> str:
    return f"{percent(drift.change)} +- {size(drift.half_width)}"


def _stretch(drift: Drift) -> str:
    return "positions caught" if drift.over == "position" else "catches in their order"


def risk_table(proof: Proof) -> Table:
    """Give the risks of a wrong decision."""
    ratio, plan = proof.ratio, proof.ratio.plan
    rows = (
        (
            f"accepting a machine with less than {share(plan.content)} in tolerance (consumer's)",
            f"at most {chance(plan.consumer_risk)}",
        ),
        (
            f"rejecting a machine with {share(plan.content)} in tolerance (producer's)",
            f"at most {chance(plan.producer_risk)}",
        ),
        ("a machine exactly as measured is not accepted", chance(ratio.repeat_risk)),
        ("the true mean ratio is out of tolerance", chance(1 - ratio.conformance)),
    )
    return Table(("", "probability"), rows)


def start_table(shot: StartProof) -> Table:
    """Leads of one shot."""
    rows = (
        ("net lead", with_uncertainty(shot.net_lead, shot.net_lead_uncertainty)),
        ("peak lead", volume(shot.peak_lead)),
        ("peak lag", volume(shot.peak_lag)),
        ("swing", with_uncertainty(shot.swing, shot.swing_uncertainty)),
        ("swing allowed", volume(shot.limit)),
        ("smallest lead that can be resolved", volume(shot.smallest_lead, 2)),
        ("liquid shown to be off ratio", volume(shot.off_ratio_volume)),
        ("largest uncertainty", shot.budget[0].name),
    )
    return Table(("", ""), rows)


def cup_table(shot: StartProof) -> Table:
    """Each cup of one shot."""
    rows = tuple(
        (
            str(i + 1),
            "" if shot.time is None else f"{shot.time[i]:.3g}",
            millilitres(shot.resin[i]),
            millilitres(shot.hardener[i]),
            percent(shot.cup_errors[i]),
            f"+-{size(shot.least_cup_error[i])}",
            millilitres(shot.lead[i]),
            f"+-{millilitres(shot.lead_uncertainty[i], 2)}",
            state,
        )
        for i, state in enumerate(shot.cup_states)
    )
    header = ("cup", "to [s]", "resin [mL]", "hardener", "error", "", "lead [mL]", "", "cup is")
    return Table(header, rows)


def budget_table(proof: Proof) -> Table:
    """Contributions to the uncertainty of the mean ratio."""
    total = proof.ratio.uncertainty
    rows = [
        (line.name, size(line.standard), size((line.standard / total) ** 2))
        for line in proof.ratio.budget
    ]
    rows.append(("combined", size(total), "100 %"))
    return Table(("", "standard uncertainty", "share of variance"), tuple(rows))


def picture(proof: Proof) -> str:
    """Say what the picture shows, for who cannot see it."""
    ratio, plan = proof.ratio, proof.ratio.plan
    low, high = (percent(float(each)) for each in (ratio.errors.min(), ratio.errors.max()))
    text = (
        f"Ratio error of {plan.n} catches, from {low} to {high}, mean {percent(ratio.mean)}; "
        f"tolerance {percent(plan.low)} to {percent(plan.high)}; tolerance interval "
        f"{percent(ratio.tolerance_interval[0])} to {percent(ratio.tolerance_interval[1])}."
    )
    for shot in proof.starts:
        text += (
            f" Lead of shot {plain(shot.name)}: between {volume(shot.peak_lag)} and "
            f"{volume(shot.peak_lead)}, at the end {volume(shot.net_lead)}."
        )
    return text


# --- what is unusual, what was assumed -------------------------------------------------------


def cautions(proof: Proof) -> tuple[str, ...]:
    """Say what is unusual, how far the proof reaches, and what holds for every such machine."""
    return (*findings(proof), SCOPE, run_report.CAUTIONS)


def findings(proof: Proof) -> tuple[str, ...]:
    """Say what is unusual about the catches, one sentence each."""
    return (*_marks(proof), *_weak_catches(proof), *_odd_catches(proof), *_odd_shots(proof))


def _marks(proof: Proof) -> Iterator[str]:
    for remark in proof.catches.remarks:
        if remark.casefold().startswith("invented"):
            yield f"The file says: {plain(remark)}"


def _weak_catches(proof: Proof) -> Iterator[str]:
    ratio, pairs = proof.ratio, proof.catches.ratio
    smallest = float(pairs.net_hardener.min())
    if len(pairs) < FEW_PAIRS:
        yield f"Fewer than {FEW_PAIRS} pairs: intervals are wide; 5 to 10 are usual."
    if smallest < SMALL_HARDENER:
        yield (
            f"The smallest catch of hardener is {smallest / GRAM:.3g} g; more than "
            f"{SMALL_HARDENER / GRAM:g} g is better."
        )
    if ratio.scatter > ratio.sd:
        yield "The catches scatter less than the scale can show: the scale's own scatter is used."
    if ratio.drift.over == "order":
        yield "No shaft position was recorded: that a full stroke was caught is not shown."


def _odd_catches(proof: Proof) -> Iterator[str]:
    ratio, plan = proof.ratio, proof.ratio.plan
    if ratio.outlier.found:
        yield (
            f"Catch {ratio.outlier.index + 1} is an outlier by the two-sided Grubbs test (G "
            f"{ratio.outlier.statistic:.3g}, critical {ratio.outlier.critical:.3g}); it is kept: "
            "find out why before it is left out."
        )
    if ratio.normal_p is not None and ratio.normal_p < 1 - plan.confidence:
        free = sampling.catches_for_extremes(plan.content, plan.confidence)
        yield (
            f"The catches do not look normal (Shapiro-Wilk, p {ratio.normal_p:.2g}), which the "
            f"tolerance interval assumes; without that, {free} catches are needed, all of them "
            "within tolerance."
        )
    if ratio.drift.found:
        yield (
            f"The ratio drifts by {_plus_minus(ratio.drift)} over the {_stretch(ratio.drift)}: "
            "the catches are not one population; look for gas, a leak, a bore out of true."
        )


def _odd_shots(proof: Proof) -> Iterator[str]:
    for shot in proof.starts:
        if abs(shot.tail_error) > shot.tail_uncertainty:
            yield (
                f"Shot {plain(shot.name)}: the later half of its cups is off the steady ratio of "
                f"the catches by {percent(shot.tail_error)} +- {size(shot.tail_uncertainty)}: the "
                "shot had not settled, or the catches are not of the same steady flow."
            )
        if shot.time is None:
            yield (
                f"Shot {plain(shot.name)}: no times, so the skew between changing the two cups is "
                "left out."
            )


def assumptions(proof: Proof) -> tuple[str, ...]:
    """Say what the answer rests on besides the weights, one sentence each."""
    return tuple(_assumptions(proof))


def _assumptions(proof: Proof) -> Iterator[str]:
    weighing, requirement = proof.weighing, proof.requirement
    scale = "one scale for both streams" if weighing.one_scale else "a scale for each stream"
    yield (
        f"Scale: steps of {weighing.step / GRAM:.3g} g, repeatability "
        f"{weighing.repeatability / GRAM:.3g} g, calibration {100 * weighing.gain:.3g} % (standard "
        f"uncertainties); {scale}."
    )
    if requirement.resin_density is not None and requirement.hardener_density is not None:
        yield (
            f"Densities: resin {u.show(requirement.resin_density, u.DENSITY)}, hardener "
            f"{u.show(requirement.hardener_density, u.DENSITY)}, each to "
            f"{100 * requirement.density_uncertainty:.3g} % (standard uncertainty), independent."
        )
    if proof.starts:
        yield (
            f"Change of cups: up to {volume(proof.cutting.drop)} of each side in the wrong cup, up "
            f"to {1e3 * proof.cutting.skew:.3g} ms between the sides."
        )
        yield "Steady ratio of the start: the mean of the ratio catches."
    yield "Catches are independent and normal; those over one stroke stand for all."
