"""Proof by catch weights: statistics against printed values and simulation, files, certificate."""

import datetime
import html
import html.parser
import itertools
import json
import math
import pickle
import re
import subprocess
import sys
import warnings
from pathlib import Path

import numpy as np
import pytest
from scipy import stats
from uncertainties import covariance_matrix, ufloat, umath

from evenfront import cli, sampling
from evenfront.catches import CatchError, Catches, Pairs, load_catches
from evenfront.prove import Cutting, Requirement, Weighing, prove
from evenfront.prove_budget import correlated_means, weight_ratio
from evenfront.prove_certificate import certificate
from evenfront.prove_plot import plot_proof, plot_ratio, plot_start
from evenfront.sampling import Plan

ROOT = Path(__file__).parents[2]
CASE = ROOT / "data" / "cases" / "long-boom-held-shots.toml"
FILES = sorted((ROOT / "data" / "catches").glob("*.csv"))
BY_WEIGHT = Requirement(ratio=0.1, by="weight", tolerance=(0.05, 0.05))
BY_VOLUME = Requirement(
    ratio=0.14, tolerance=(0.05, 0.05), resin_density=1750.0, hardener_density=1050.0
)
EXACT = 1e-12  # closed forms in double precision


def close(value, expected, tolerance):
    """Relative agreement with a printed value."""
    return math.isclose(value, expected, rel_tol=tolerance, abs_tol=0)


# --- printed values --------------------------------------------------------------------------


def test_means_of_quantities_observed_together_keep_their_correlation():
    # JCGM 100:2008, example H.2, table H.2 (voltage [V], current [A], phase [rad]); printed results
    # 127.732(71), 219.847(295), 254.260(236) ohm; digits beyond by evaluation of the example.
    voltage, current, phase = correlated_means(
        [5.007, 4.994, 5.005, 4.990, 4.999],
        [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
        [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
    )
    impedance = voltage / current
    results = [
        (impedance * umath.cos(phase), 127.7322, 0.07107),
        (impedance * umath.sin(phase), 219.8465, 0.29558),
        (impedance, 254.2597, 0.23634),
    ]
    for result, value, uncertainty in results:
        assert abs(result.nominal_value - value) < 5e-5  # half the last digit
        assert abs(result.std_dev - uncertainty) < 5e-6
    covariance = np.array(covariance_matrix([voltage, current, phase]))
    deviations = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(deviations, deviations)
    for (i, j), expected in {(0, 1): -0.3553, (0, 2): 0.8576, (1, 2): -0.6451}.items():
        assert abs(correlation[i, j] - expected) < 5e-5


def test_a_shared_tare_correlates_the_two_weights_of_a_ratio():
    # JCGM 100:2008, 5.1.2 and 5.2.2, evaluated for these weights [g].
    alone = weight_ratio(ufloat(12.0, 0.02), ufloat(100.0, 0.05))
    assert close(alone.nominal_value, 100.0 / 12.0, EXACT)
    assert close(alone.std_dev, 0.0145004, 5e-6)
    weights = ufloat(17.0, 0.02), ufloat(105.0, 0.05)
    shared = ufloat(5.0, 0.03)
    one_tare = weight_ratio(*weights, shared, shared)
    two_tares = weight_ratio(*weights, ufloat(5.0, 0.03), ufloat(5.0, 0.03))
    assert close(one_tare.nominal_value, 100.0 / 12.0, EXACT)
    assert close(one_tare.std_dev, 0.0233746, 3e-6)
    assert close(two_tares.std_dev, 0.0255057, 3e-6)


def test_interval_of_a_mean():
    # Johnson, Miller & Freund's Probability and Statistics for Engineers, p. 211: n 16, mean 3.42,
    # s 0.68, 99 %: 2.92 to 3.92; t 2.946713. Also t(0.975, 9) = 2.262157.
    half = sampling.mean_half_width(16, 0.68, 0.99)
    assert close(half * 4 / 0.68, 2.946713, 2e-7)
    assert close(3.42 - half, 2.91906, 2e-6)
    assert close(3.42 + half, 3.92094, 2e-6)
    assert close(sampling.mean_half_width(10, math.sqrt(10.0)), 2.262157, 2e-7)


def test_capability():
    # The same book, p. 470 (limits 10.98, 11.01); NIST/SEMATECH e-Handbook 6.1.6, from memory.
    cp, cpk = sampling.capability(10.991, 0.0035, 10.98, 11.01)
    assert (close(cp, 1.428571, 1e-6), close(cpk, 1.047619, 1e-6)) == (True, True)
    cp, cpk = sampling.capability(np.array([16.0, 14.0]), 2.0, 8.0, 20.0)
    assert cp == 1.0
    assert cpk == pytest.approx([2 / 3, 1.0], rel=EXACT)


def test_tolerance_factor_is_exact_and_not_the_usual_approximation():
    # NIST/SEMATECH e-Handbook 7.2.6.3: n 43, content 90 %, confidence 99 %. Exact 2.222825 and
    # one-sided 1.873954 by evaluation; the handbook's Howe 2.217 and Natrella 1.8752 approximate.
    assert close(sampling.tolerance_factor(43, 0.90, 0.99), 2.222825, 1e-6)
    assert close(sampling.one_sided_factor(43, 0.90, 0.99), 1.873954, 1e-6)
    howe = math.sqrt(42 * (1 + 1 / 43)) * stats.norm.ppf(0.95) / math.sqrt(stats.chi2.ppf(0.01, 42))
    assert close(howe, 2.217316, 1e-6)  # the trap: far outside the tolerance above


def test_two_sided_factors_are_those_of_the_standard():
    # ISO 16269-6:2014, Annex F (m = 1): 5.0769, 3.3935, 2.6188, 3.2762, rounded up.
    found = [
        *sampling.tolerance_factor([5, 10, 26], 0.95, 0.95),
        sampling.tolerance_factor(35, 0.99, 0.95),
    ]
    digits = [5.076875, 3.393429, 2.618740, 3.276112]
    for value, expected, printed in zip(
        found, digits, [5.0769, 3.3935, 2.6188, 3.2762], strict=True
    ):
        assert abs(value - expected) < 1e-6
        assert printed - 1e-4 <= value <= printed


@pytest.mark.parametrize(("n", "content", "confidence"), [(2, 0.9, 0.9), (7, 0.99, 0.9)])
def test_two_sided_factor_agrees_with_another_library(n, content, confidence):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)  # it leaves a file of its own open
        from toleranceinterval import twoside
    other = twoside.normal_factor(n, content, confidence, method="exact")
    assert close(sampling.tolerance_factor(n, content, confidence), float(other), 1e-6)


def test_one_sided_factors():
    # Montgomery & Runger 2018, Table XII, 95 % / 95 %; Miller & Freund p. 483: lower limit 183.99.
    found = sampling.one_sided_factor([10, 20, 40], 0.95, 0.95)
    assert found == pytest.approx([2.910963, 2.396002, 2.125494], rel=3e-7)
    assert abs(237.325 - found[2] * 25.095 - 183.99) < 5e-3


def test_how_many_catches_are_needed():
    # Success run and Wilks 1941; Meeker, Hahn & Escobar 2017, Table J11 (possible at 25, 30, 60,
    # 300 and not at 20, 25, 50, 200).
    shares = [(0.90, 0.90), (0.90, 0.95), (0.95, 0.95), (0.95, 0.99), (0.99, 0.95)]
    found = [sampling.catches_without_failure(*each) for each in shares]
    assert found == [22, 29, 59, 90, 299]
    found = [sampling.catches_for_extremes(content, 0.95) for content in (0.90, 0.95, 0.99)]
    assert found == [46, 93, 473]
    # Scatter 1.5 %: mean within +- 1 %, and a 95/95 interval within +- 5 %; evaluated.
    assert sampling.catches_for_mean(1 / 1.5) == 12
    assert sampling.catches_for_interval(5 / 1.5) == 11
    assert sampling.catches_for_interval(1.9) is None  # below the normal quantile: never


def test_outlier_test():
    # NIST/SEMATECH e-Handbook 1.3.5.17.1 (mass spectrometer data): G 2.4687, critical 2.032 one-
    # sided at 5 %, which is two-sided at 10 %. From memory.
    data = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
    outlier = sampling.grubbs(data, 0.10)
    assert abs(outlier.statistic - 2.4687) < 1e-4
    assert abs(outlier.critical - 2.032) < 5e-4
    assert outlier.found
    assert outlier.index == 7


def test_conformance_probability():
    # JCGM 106:2012, 7.4 (breakdown voltage -5.47 V, u 0.05 V, upper limit -5.40 V): 92 %. From
    # memory. The scatter's degrees of freedom are made to vanish behind a shared uncertainty.
    catches = Catches.from_weights([1.0, 1.0, 1.0], [0.1, 0.1, 0.1])
    proof = prove(catches, BY_WEIGHT, Weighing(gain=0.05, step=1e-9, repeatability=1e-9))
    assert proof.ratio.uncertainty < 1e-8  # on one scale the calibration cancels
    proof = prove(
        catches,
        Requirement(ratio=0.1, by="weight", tolerance=(0.9, 0.07)),
        Weighing(gain=0.05 / math.sqrt(2), step=1e-9, repeatability=1e-9, one_scale=False),
    )
    assert close(proof.ratio.uncertainty, 0.05, 1e-6)
    assert abs(proof.ratio.conformance - 0.92) < 0.005
    assert close(proof.ratio.conformance, float(stats.norm.cdf(1.4)), 1e-6)


# --- intervals and risks against simulation --------------------------------------------------

TRIALS = 20_000
SIGMA = 4.0  # chance of a false alarm 6e-5 each


def within_chance(found, expected, trials=TRIALS):
    return abs(found - expected) < SIGMA * math.sqrt(max(expected * (1 - expected), 1e-4) / trials)


@pytest.mark.parametrize("n", [3, 6, 15])
def test_intervals_cover_as_often_as_they_say(n):
    rng = np.random.default_rng(20 + n)
    x = rng.normal(0.01, 0.02, (TRIALS, n))
    mean, sd = x.mean(axis=1), x.std(axis=1, ddof=1)
    half = sampling.mean_half_width(n, sd)
    assert within_chance(np.mean(np.abs(mean - 0.01) <= half), 0.95)
    reach = sampling.tolerance_factor(n) * sd
    held = stats.norm.cdf(mean + reach, 0.01, 0.02) - stats.norm.cdf(mean - reach, 0.01, 0.02)
    assert within_chance(np.mean(held >= 0.95), 0.95)
    least = sampling.least_cp(0.1 / (6 * sd), n)
    assert within_chance(np.mean(least <= 0.1 / (6 * 0.02)), 0.95)


def test_the_drift_interval_covers_and_its_test_seldom_errs():
    rng = np.random.default_rng(7)
    trials, found, covered = 2000, 0, 0
    position = np.linspace(10, 180, 8)
    for errors in rng.normal(0.0, 0.01, (trials, 8)) + 0.0 * position:
        catches = Catches.from_weights(np.ones(8), 0.1 * (1 + errors), position=position)
        drift = prove(catches, BY_WEIGHT).ratio.drift
        found += drift.found
        covered += abs(drift.change) <= drift.half_width
    assert within_chance(found / trials, 0.05, trials)
    assert found + covered == trials  # test and interval say the same


@pytest.mark.parametrize(
    ("plan", "mean", "sd"),
    [
        (Plan(n=8, low=-0.05, high=0.05, shared=0.003), 0.012, 0.010),
        (Plan(n=5, low=-0.02, high=0.05), 0.02, 0.009),
        (Plan(n=30, low=-0.05, high=0.05, shared=0.008), 0.02, 0.006),
        (Plan(n=6, low=-0.05, high=0.05, shared=0.004), 0.045, 0.015),
        (Plan(n=4, low=-0.03, high=0.03, content=0.8, confidence=0.7), 0.0, 0.03),
    ],
)
def test_probabilities_of_accepting_and_rejecting_are_those_of_the_rule(plan, mean, sd):
    rng = np.random.default_rng(5)
    x = rng.normal(mean, sd, (TRIALS, plan.n)) + rng.normal(0, plan.shared, (TRIALS, 1))
    decisions = [
        plan.decide(float(m), float(s))
        for m, s in zip(x.mean(axis=1), x.std(axis=1, ddof=1), strict=True)
    ]
    accepted, rejected = (decisions.count(each) / TRIALS for each in ("accepted", "rejected"))
    assert within_chance(accepted, plan.accept_probability(mean, sd))
    assert within_chance(rejected, plan.reject_probability(mean, sd))


@pytest.mark.parametrize("n", [3, 8, 30])
@pytest.mark.parametrize("shared", [0.0, 0.004])
def test_neither_risk_exceeds_what_the_confidence_allows(n, shared):
    plan = Plan(n=n, low=-0.05, high=0.05, shared=shared)
    assert 0 < plan.consumer_risk <= 0.05 + 1e-9
    assert 0 < plan.producer_risk <= 0.05 + 1e-9
    # No machine on the border, however wide, does worse than the risk found.
    for sd in np.linspace(0.001, 0.0255, 50):
        mean = 0.05 - sd * stats.norm.ppf(0.95)
        content = stats.norm.cdf(0.05, mean, sd) - stats.norm.cdf(-0.05, mean, sd)
        if content <= 0.95:
            assert plan.accept_probability(mean, sd) <= plan.consumer_risk + 1e-6
        if content >= 0.95 - 1e-12:
            assert plan.reject_probability(mean, sd) <= plan.producer_risk + 1e-6


def test_the_consumers_risk_is_met_by_the_worst_machine_in_simulation():
    # Without shared uncertainty and with small scatter the border machine has one tail of 5 %.
    plan = Plan(n=5, low=-0.05, high=0.05)
    sd = 1e-3
    mean = 0.05 - sd * stats.norm.ppf(0.95)
    rng = np.random.default_rng(11)
    x = rng.normal(mean, sd, (TRIALS, 5))
    accepted = np.mean(x.mean(axis=1) + plan.accept_factor * x.std(axis=1, ddof=1) <= 0.05)
    assert within_chance(accepted, plan.accept_probability(mean, sd))
    assert accepted <= plan.consumer_risk + 0.005
    assert plan.consumer_risk < 0.05


def test_more_catches_decide_and_one_less_does_not():
    plan = Plan(n=4, low=-0.05, high=0.05, shared=0.003)
    needed = plan.deciding_number(0.005, 0.011)
    assert needed is not None
    decisions = [
        Plan(n=n, low=-0.05, high=0.05, shared=0.003).decide(0.005, 0.011)
        for n in range(4, needed + 1)
    ]
    assert decisions[-1] == "accepted"
    assert set(decisions[:-1]) == {"not decided"}
    assert plan.deciding_number(0.03, 0.001) == 4  # decided already
    assert plan.deciding_number(0.05, 0.001) is None  # within the guard band


def test_the_guard_band_moves_the_decision():
    free, guarded = Plan(n=10, low=-0.05, high=0.05), Plan(n=10, low=-0.05, high=0.05, shared=0.005)
    mean = 0.05 - free.accept_factor * 0.01 - 0.001
    assert free.decide(mean, 0.01) == "accepted"
    assert guarded.decide(mean, 0.01) == "not decided"
    assert close(guarded.guard, 1.959964 * 0.005, 1e-6)


# --- the budget ------------------------------------------------------------------------------


def pairs_of(n=8, seed=4, scatter=0.005, **tares):
    rng = np.random.default_rng(seed)
    resin = 0.28 * (1 + rng.normal(0, 0.01, n))
    hardener = resin * 0.084 * (1 + rng.normal(0, scatter, n))
    return Pairs(
        resin + tares.get("resin_tare", 0.0), hardener + tares.get("hardener_tare", 0.0), **tares
    )


def parts(proof):
    return {line.name: line.standard for line in proof.ratio.budget}


def test_the_budget_is_the_root_sum_square_of_its_sensitivities():
    # First order by hand: e = R rho_r/(rho_h r0) - 1, relative parts add in square.
    requirement = Requirement(
        ratio=0.14,
        tolerance=(0.05, 0.05),
        resin_density=1750.0,
        hardener_density=1050.0,
        density_uncertainty=0.003,
    )
    weighing = Weighing(gain=0.002, one_scale=False)
    proof = prove(Catches(pairs_of(), {}), requirement, weighing)
    ratio, found = proof.ratio, parts(proof)
    scale = 1 + ratio.mean
    assert close(found["scatter of the catches"], ratio.sd / math.sqrt(8), EXACT)
    assert close(found["scale calibration"], scale * 0.002 * math.sqrt(2), 1e-9)
    assert close(found["density of the resin"], scale * 0.003, 1e-9)
    assert close(found["density of the hardener"], scale * 0.003, 1e-9)
    lift = 1.2 * (1 / 1050 - 1 / 1750) / math.sqrt(3)
    assert close(found["air buoyancy"], scale * lift, 1e-9)
    assert close(ratio.uncertainty, math.sqrt(sum(u**2 for u in found.values())), EXACT)
    # Welch-Satterthwaite, JCGM 100:2008, G.4.1.
    freedom = ratio.uncertainty**4 / (found["scatter of the catches"] ** 4 / 7)
    assert close(ratio.freedom, freedom, EXACT)
    assert close(ratio.expanded, stats.t.ppf(0.975, freedom) * ratio.uncertainty, EXACT)


def test_one_scale_cancels_and_a_ratio_by_weight_needs_no_density():
    proof = prove(Catches(pairs_of(), {}), BY_WEIGHT)
    assert set(parts(proof)) == {"scatter of the catches"}


def test_one_shared_tare_counts_for_less_than_two_where_the_cups_hold_alike():
    tare = np.full(8, 0.02)
    weighing = Weighing(step=1e-3, repeatability=1e-3)
    near = Requirement(ratio=0.084, by="weight", tolerance=(0.05, 0.05))
    shared = pairs_of(resin_tare=tare, hardener_tare=tare, one_tare=True)
    separate = pairs_of(resin_tare=tare, hardener_tare=tare)
    one, two = (prove(Catches(each, {}), near, weighing) for each in (shared, separate))
    assert one.ratio.mean == two.ratio.mean
    assert 0 < parts(one)["tare"] < parts(two)["tare"]
    # d(h/r)/dt = (R - 1)/r against 1/r and R/r apart.
    ratio, resin = 0.084, 0.28
    expected = weighing.reading * math.hypot(1, ratio) / (ratio * resin)
    assert close(parts(two)["tare"], expected, 0.02)  # mean of ratios, weights within 1 %
    each_weighed = 0.02 + 1e-5 * np.arange(8)
    scattered = prove(
        Catches(pairs_of(resin_tare=each_weighed, hardener_tare=each_weighed), {}), near, weighing
    )
    assert "tare" not in parts(scattered)  # weighed each time: in the scatter already


def test_equal_catches_fall_back_on_the_scatter_of_the_scale():
    proof = prove(Catches.from_weights([0.28] * 5, [0.0235] * 5), BY_VOLUME)
    reading = Weighing().reading * math.sqrt(2)
    expected = 0.0235 / 0.28 / 0.084 * reading * math.hypot(1 / 0.28, 1 / 0.0235)
    assert proof.ratio.sd == 0.0
    assert close(proof.ratio.scatter, expected, EXACT)
    assert "scale can show" in str(proof)
    json.dumps(proof.to_dict(), allow_nan=False)


def test_a_ratio_by_volume_is_that_by_weight_times_the_densities():
    # Volume 100:12 is weight 100:7.896774 at 1.55 and 1.02 g/cm3; evaluated, 1e-6.
    requirement = Requirement(
        ratio=0.12, tolerance=(0.05, 0.05), resin_density=1550.0, hardener_density=1020.0
    )
    assert close(requirement.by_weight, 0.07896774, 1e-6)
    proof = prove(Catches.from_weights([0.1] * 3, [0.007896774] * 3), requirement)
    assert abs(proof.ratio.mean) < 1e-7
    assert close(proof.to_dict()["ratio"]["by_volume"], 0.12, 1e-6)


# --- the start -------------------------------------------------------------------------------


def shot_of(lead, rng=None, cups=8, drop=0.0, reading=0.0):
    """Cups of a shot whose lead settles to `lead` [m^3] in about one cup; times of 0.2 s."""
    ends = 0.2 * np.arange(1, cups + 1)
    resin, hardener = 20e-6 * ends, 0.14 * 20e-6 * ends + lead * (1 - np.exp(-ends / 0.1))
    if rng is not None:
        resin = resin + rng.uniform(-drop, drop, cups)
        hardener = hardener + rng.uniform(-drop, drop, cups)
    masses = [
        density * np.diff(each, prepend=0.0)
        for each, density in ((resin, 1750.0), (hardener, 1050.0))
    ]
    if rng is not None:
        masses = [each + rng.normal(0, reading, cups) for each in masses]
    return Pairs(*masses, time=np.full(cups, 0.2))


EVEN = Catches.from_weights([0.28] * 6, 0.28 * 0.084 * (1 + 0.002 * np.array([-1, 1] * 3)))


def with_shot(shot):
    return Catches(EVEN.ratio, {"1": shot})


def test_the_lead_is_that_of_the_definition():
    proof = prove(with_shot(shot_of(0.4e-6)), BY_VOLUME)
    shot = proof.starts[0]
    steady = proof.to_dict()["ratio"]["by_volume"]
    by_hand = np.cumsum(shot.hardener) - steady * np.cumsum(shot.resin)
    assert shot.lead == pytest.approx(by_hand, rel=1e-9)
    assert close(shot.lead[-1], 0.4e-6, 1e-3)  # exp(-16) and the mean of the ratio catches
    assert shot.peak_lead == max(shot.lead)
    assert shot.peak_lag == 0.0
    assert close(shot.swing, shot.peak_lead - shot.peak_lag, EXACT)
    assert close(shot.limit, 0.05 * 0.14 * 32e-6, 1e-9)
    assert proof.start == "failed"
    assert shot.cup_states[0] == "rich"


def test_resin_density_and_calibration_cancel_in_the_lead():
    names = {line.name for line in prove(with_shot(shot_of(0.4e-6)), BY_VOLUME).starts[0].budget}
    assert "weighing of the cups" in names
    assert "change of cups" in names
    rough = Requirement(
        ratio=0.14,
        tolerance=(0.05, 0.05),
        resin_density=1750.0,
        hardener_density=1050.0,
        density_uncertainty=0.05,
    )
    budget = {
        line.name: line.standard
        for line in prove(with_shot(shot_of(0.4e-6)), rough, Weighing(gain=0.02)).starts[0].budget
    }
    assert budget.get("density of the resin", 0.0) < 1e-15
    # The lead itself is only as well known as hardener density and calibration: L u.
    assert close(budget["density of the hardener"], 0.4e-6 * 0.05, 1e-2)
    assert close(budget["scale calibration"], 0.4e-6 * 0.02, 1e-2)


def test_changes_of_cups_do_not_add_up_and_weighings_do():
    only_cut = prove(
        with_shot(shot_of(0.0)), BY_VOLUME, Weighing(step=1e-9, repeatability=1e-9)
    ).starts[0]
    cut = next(line.standard for line in only_cut.budget if line.name == "change of cups")
    drop, skew = 3e-8 / math.sqrt(3), 5e-3 / math.sqrt(3)
    assert close(cut, math.hypot(drop, 0.14 * drop, skew * 0.14 * 20e-6), 1e-3)
    no_cut = prove(with_shot(shot_of(0.0)), BY_VOLUME, None, Cutting(drop=0.0, skew=0.0)).starts[0]
    weighed = next(line.standard for line in no_cut.budget if line.name == "weighing of the cups")
    net = Weighing().reading * math.sqrt(2)
    expected = math.sqrt(8) * math.hypot(net / 1050, 0.14 * net / 1750)
    assert close(weighed, expected, 1e-3)


def test_the_interval_of_the_lead_covers_and_the_smallest_lead_is_found_as_promised():
    rng = np.random.default_rng(3)
    cutting = Cutting(drop=3e-8, skew=0.0)
    net = Weighing().reading * math.sqrt(2)
    exact = Catches.from_weights([0.28] * 3, [0.28 * 0.084] * 3)
    smallest = prove(with_shot(shot_of(0.0)), BY_VOLUME, None, cutting).starts[0].smallest_lead
    trials, covered, found, in_vain = 300, 0, 0, 0
    for _ in range(trials):
        for lead in (smallest, 0.0):
            cups = shot_of(lead, rng, drop=3e-8, reading=net)
            shot = prove(Catches(exact.ratio, {"1": cups}), BY_VOLUME, None, cutting).starts[0]
            claimed = abs(shot.net_lead) > shot.net_lead_uncertainty
            covered += abs(shot.net_lead - lead) <= shot.net_lead_uncertainty
            found += claimed and lead > 0
            in_vain += claimed and lead == 0
    # The steady ratio is exact here but counts in the budget: cover at least as stated.
    assert covered / (2 * trials) > 0.95 - SIGMA * math.sqrt(0.05 * 0.95 / (2 * trials))
    assert found / trials > 0.95 - SIGMA * math.sqrt(0.05 * 0.95 / trials)
    assert in_vain / trials < 0.05 + SIGMA * math.sqrt(0.05 * 0.95 / trials)


def test_a_start_is_proven_failed_or_not_decided():
    large = Requirement(**{**vars(BY_VOLUME), "lead_limit": 0.3e-6})
    assert prove(with_shot(shot_of(0.0)), large).verdict == "ratio proven, start proven"
    undecided = prove(
        with_shot(shot_of(0.0)), Requirement(**vars(BY_VOLUME) | {"lead_limit": 1e-8})
    )
    assert undecided.verdict == "ratio proven, start not decided"
    assert not undecided.accepted
    lagging = prove(with_shot(shot_of(-0.4e-6)), BY_VOLUME)
    assert lagging.start == "failed"
    assert lagging.starts[0].cup_states[0] == "lean"
    assert "Resin is ahead" in str(lagging)


def test_a_proof_of_the_ratio_alone_says_that_the_start_was_not_tested():
    proof = prove(EVEN, BY_VOLUME)
    assert proof.verdict == "ratio proven, start not tested"
    assert proof.accepted
    assert str(proof).startswith("Ratio proven, start not tested\n")
    assert "not tested" in repr(proof)
    assert "not tested" in proof._repr_html_()


def test_a_cup_without_resin_is_rich_and_no_division_by_zero():
    shot = Pairs(
        np.array([0.0, 7e-3, 7e-3]), np.array([5e-4, 5.9e-4, 5.9e-4]), time=np.full(3, 0.2)
    )
    proof = prove(with_shot(shot), BY_VOLUME).starts[0]
    assert proof.cup_states[0] == "rich"
    assert proof.cup_errors[0] == 1.0


def test_a_start_without_densities_is_refused():
    with pytest.raises(CatchError, match="densities"):
        prove(with_shot(shot_of(0.0)), BY_WEIGHT)


# --- what is unusual -------------------------------------------------------------------------


def test_an_outlier_is_named_and_kept():
    errors = np.array([0.001, -0.001, 0.002, 0.0, -0.002, 0.001, 0.03])
    proof = prove(Catches.from_weights([0.28] * 7, 0.28 * 0.084 * (1 + errors)), BY_VOLUME)
    assert "Catch 7 is an outlier by the two-sided Grubbs test" in str(proof)
    assert proof.ratio.plan.n == 7


def test_a_wrong_ratio_is_rejected_with_what_to_look_for():
    proof = prove(
        Catches.from_weights([0.28] * 7, 0.28 * 0.084 * 1.09 * np.linspace(0.998, 1.002, 7)),
        BY_VOLUME,
    )
    assert proof.ratio.decision == "rejected"
    assert "hardener-rich by 9 %" in str(proof)
    assert "throttle does not change" in " ".join(str(proof).split())


def test_the_usual_cautions_are_whole_sentences():
    from evenfront.prove_words import cautions

    assert all(len(each.split()) > 4 for each in cautions(prove(EVEN, BY_VOLUME)))


@pytest.mark.parametrize(
    "values",
    [
        {"ratio": 0.0},
        {"ratio": math.nan},
        {"tolerance": (0.0, 0.05)},
        {"resin_density": -1.0},
        {"hardener_density": None},
        {"content": 1.0},
        {"confidence": 0.2},
        {"density_uncertainty": -0.1},
        {"lead_limit": 0.0},
    ],
)
def test_requirements_no_machine_can_be_held_to_are_refused(values):
    with pytest.raises(ValueError, match=r"Requirement: .*(must|needs)"):
        Requirement(**vars(BY_VOLUME) | values)


# --- files -----------------------------------------------------------------------------------

GOOD = "resin_g,hardener_g\n280.1,23.5\n279.4,23.6\n281.0,23.6\n280.6,23.5\n"


def write(folder, content):
    path = folder / "catches.csv"
    if isinstance(content, bytes):
        path.write_bytes(content)
    else:
        path.write_text(content)
    return path


def problems(folder, content):
    with pytest.raises(CatchError) as refusal:
        load_catches(write(folder, content))
    assert pickle.loads(pickle.dumps(refusal.value)).problems == refusal.value.problems
    return refusal.value.problems


@pytest.mark.parametrize(
    "content",
    [
        GOOD,
        GOOD.replace(",", ";"),
        GOOD.replace(",", "\t"),
        GOOD.replace("\n", "\r\n"),
        GOOD.encode("utf-8-sig"),
        "# a remark\n\n" + GOOD.replace("resin_g", " Resin_G "),
        GOOD.replace("280.1", '"280.1"') + ",,\n",
    ],
)
def test_usual_kinds_of_csv_give_the_same_weights(tmp_path, content):
    catches = load_catches(write(tmp_path, content))
    assert catches.ratio.net_resin == pytest.approx([0.2801, 0.2794, 0.2810, 0.2806], rel=EXACT)
    assert catches.ratio.net_hardener == pytest.approx([0.0235, 0.0236, 0.0236, 0.0235], rel=EXACT)


def test_tares_times_positions_and_increments_are_read(tmp_path):
    text = (
        "# Invented.\nresin_g,hardener_g,tare_g,time_s,position,shot,increment,note\n"
        "285.1,28.5,5,8,10,,,first\n284.4,28.6,5,8,20,,,\n286,28.6,5,8,30,,,\n"
        "12,5.6,5,0.2,,A,2,\n12,5.7,5,0.2,,A,1,\n"
    )
    catches = load_catches(write(tmp_path, text))
    assert catches.remarks == ("Invented.",)
    assert catches.ratio.net_resin == pytest.approx([0.2801, 0.2794, 0.281], rel=EXACT)
    assert catches.ratio.one_tare
    assert list(catches.ratio.position) == [10, 20, 30]
    assert catches.shots["A"].net_hardener == pytest.approx([0.7e-3, 0.6e-3], rel=1e-9)  # sorted
    assert catches.shots["A"].position is None


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", ["empty", "resin_g"]),
        (" \n\n", ["empty"]),
        ("# only this\n", ["remarks only"]),
        ("resin_g,hardener_g\n", ["no rows"]),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", ["binary"]),
        (GOOD.encode("utf-16"), ["UTF-16", "UTF-8"]),
        (GOOD.replace("resin_g", "r\u00e9sine_g").encode("latin-1"), ["row 1", "not UTF-8"]),
        (GOOD.replace("hardener_g", "hardner_g"), ["row 1", "hardner_g", 'mean "hardener_g"']),
        (GOOD.replace("hardener_g", "note"), ["row 1", "hardener_g", "missing"]),
        (GOOD.replace("hardener_g", "resin_g"), ["row 1", "twice"]),
        (GOOD.replace("279.4", "abc"), ["row 3", 'resin_g = "abc"', "weight above 0"]),
        (GOOD.replace("279.4", "-279.4"), ["row 3", 'resin_g = "-279.4"', "weight above 0"]),
        (GOOD.replace("23.6", "0", 1), ["row 3", 'hardener_g = "0"', "weight above 0"]),
        (GOOD.replace("279.4", "nan"), ["row 3", 'resin_g = "nan"', "finite"]),
        (GOOD.replace("279.4", "inf"), ["row 3", "finite"]),
        (GOOD.replace("279.4", "1e99"), ["row 3", "out of range", "100000 g"]),
        (GOOD.replace("279.4", "279.4 g"), ["row 3", "finite"]),
        (GOOD.replace("279.4", "=1+1"), ["row 3", "finite"]),
        (GOOD.replace("279.4", ""), ["row 3, resin_g: is missing"]),
        (GOOD.replace("279.4", "279,4"), ["row 3", "3 cells", "point"]),
        (GOOD.replace(",", ";").replace("279.4", "279,4"), ["row 3", '"279.4"', "comma"]),
        (GOOD.replace("279.4", '"279.4'), ["row 3", "quotation"]),
        ("resin_g,hardener_g\n280,23\n", ["1 ratio catches", "3 pairs"]),
        ("resin_g,hardener_g,tare_g\n2,23,5\n3,23,5\n4,23,5\n", ['resin_g = "2"', "tare"]),
        ("resin_g,hardener_g,resin_tare_g\n9,9,1\n9,9,1\n9,9,1\n", ["hardener_tare_g", "missing"]),
        ("resin_g,hardener_g,time_s\n9,9,1\n9,9,\n9,9,1\n", ["row 3, time_s", "in every row"]),
        ("resin_g,hardener_g,time_s\n9,9,1\n9,9,0\n9,9,1\n", ['time_s = "0"', "above 0"]),
        ("resin_g,hardener_g,increment\n9,9,\n9,9,\n9,9,\n1,1,1.5\n", ["increment", "whole"]),
        ("resin_g,hardener_g,increment\n9,9,\n9,9,\n9,9,\n1,1,2\n", ["increments 2", "gap"]),
        ("resin_g,hardener_g,shot\n9,9,1\n9,9,1\n9,9,1\n", ["increment", "beside shot"]),
    ],
)
def test_bad_files_are_refused_in_a_sentence(tmp_path, content, words):
    found = "\n".join(problems(tmp_path, content))
    assert found.startswith("catches.csv: ")
    for word in words:
        assert word in found


def test_five_problems_are_told_at_once(tmp_path):
    text = "resin_g,hardener_g,time_s\n280,x,8\n-1,23,8\n281,nan,8\n280,23,0\n279,,8\n"
    found = problems(tmp_path, text)
    assert [re.search(r"row (\d), (\w+)", each).groups() for each in found] == [
        ("3", "resin_g"),
        ("2", "hardener_g"),
        ("4", "hardener_g"),
        ("6", "hardener_g"),
        ("5", "time_s"),
    ]


def test_a_directory_and_a_missing_file_are_refused(tmp_path):
    for path, word in ((tmp_path, "directory"), (tmp_path / "none.csv", "no such file")):
        with pytest.raises(CatchError, match=word):
            load_catches(path)


def test_arrays_that_do_not_fit_are_refused():
    for arrays in (([1, 1, 1], [1, 1]), ([1, 1], [1, 1]), ([1, 1, math.nan], [1, 1, 1])):
        with pytest.raises(CatchError):
            Catches.from_weights(*arrays)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_files_given_say_that_they_are_invented_and_so_does_their_proof(path):
    assert path.read_text().startswith("# Invented")
    assert "Invented" in str(prove(load_catches(path), BY_VOLUME))


def test_the_files_given_are_those_their_generator_makes():
    script = ROOT / "tests" / "make_catches.py"
    assert subprocess.run([sys.executable, script, "--check"], check=False).returncode == 0


# --- the command -----------------------------------------------------------------------------


def command(*words):
    return cli.main(["prove", *map(str, words)])


def file_of(name):
    return next(path for path in FILES if path.stem == name)


@pytest.mark.parametrize(
    ("name", "code", "verdict"),
    [
        ("full-stroke", 0, "Ratio proven, start not tested"),
        ("full-stroke-and-start", 1, "Ratio proven, start failed"),
        ("after-trim", 0, "Ratio proven, start proven"),
        ("too-few", 1, "Ratio not decided, start not tested"),
        ("drifting", 1, "Ratio not decided, start not tested"),
    ],
)
def test_the_exit_code_is_the_verdict(capsys, name, code, verdict):
    assert command(file_of(name), "--case", CASE) == code
    out, err = capsys.readouterr()
    assert out.splitlines()[0] == verdict
    assert err == ""


def test_json_csv_plot_and_options(capsys, tmp_path):
    file = file_of("full-stroke")
    assert command(file, "--case", CASE, "--json") == 0
    from_case = json.loads(capsys.readouterr().out)
    options = ["--volume-ratio", "100:14", "--tolerance", "5 %"]
    options += ["--resin-density", "1.75 g/cm^3", "--hardener-density", "1050 kg/m^3", "--json"]
    assert command(file, *options) == 0
    from_options = json.loads(capsys.readouterr().out)
    assert from_options.pop("title") == ""
    assert from_case.pop("title").endswith("(invented)")
    assert flat(from_options) == pytest.approx(flat(from_case), rel=1e-12)
    assert command(file, "--weight-ratio", "100:8.4", "--tolerance", "-3 %, +5 %", "--csv") == 0
    rows = capsys.readouterr().out.splitlines()
    assert rows[0] == "catch,resin_g,hardener_g,ratio_by_weight,ratio_error"
    assert len(rows) == 11
    for suffix in ("png", "svg", "pdf"):
        picture = tmp_path / f"picture.{suffix}"
        assert command(file, "--case", CASE, "--plot", picture) == 0
        assert picture.stat().st_size > 1000
    capsys.readouterr()


def flat(node, path=""):
    if isinstance(node, dict):
        items = node.items()
    elif isinstance(node, list):
        items = enumerate(node)
    else:
        return {path: node} if isinstance(node, int | float) else {}
    return dict(
        itertools.chain.from_iterable(flat(v, f"{path}.{k}".strip(".")).items() for k, v in items)
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["none.csv"], "none.csv: there is no such file"),
        (["{}"], "--tolerance"),
        (["{}", "--case", "none.toml"], "none.toml: there is no such file"),
        (["{}", "--volume-ratio", "100:0", "--tolerance", "5 %"], 'such as "100:14"'),
        (["{}", "--volume-ratio", "14", "--tolerance", "5 %"], "resin:hardener"),
        (["{}", "--volume-ratio", "100:14", "--tolerance", "5 %"], "both densities"),
        (["{}", "--weight-ratio", "100:8", "--tolerance", "5"], "--tolerance"),
        (["{}", "--case", str(CASE), "--resin-density", "1.6 mm"], "--resin-density"),
        (["{}", "--case", str(CASE), "--scale-step", "0 g"], "--scale-step"),
        (["{}", "--case", str(CASE), "--confidence", "100 %"], "at most 99.99 %"),
        (["{}", "--case", str(CASE), "--cut-skew", "2,5 ms"], "point, not a comma"),
        (["{}", "--case", str(CASE), "--plot", "x.gif"], "must end in"),
        (["{}", "--case", str(CASE), "--certificate", "none/x.html"], "folder"),
        (["{}", "--case", str(CASE), "--certificate", "{}"], "is the file of catch weights itself"),
    ],
)
def test_bad_input_is_refused_on_stderr_alone(capsys, words, said):
    file = str(file_of("full-stroke"))
    assert command(*(word.replace("{}", file) for word in words)) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
    assert "Traceback" not in err


def test_problems_of_file_and_options_are_told_together(capsys, tmp_path):
    path = write(tmp_path, GOOD.replace("279.4", "abc").replace("281.0", "-2"))
    assert command(path, "--weight-ratio", "8", "--tolerance", "x", "--scale-gain", "y") == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert len(err.splitlines()) == 5


# --- certificate and pictures ----------------------------------------------------------------


class Page(html.parser.HTMLParser):
    """Data elements, tags and addresses of a page."""

    def __init__(self, text):
        super().__init__()
        self.data, self.tags, self.addresses = {}, [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        self.tags.append(tag)
        if tag == "data":
            self.data[given["data-key"]] = float(given["value"])
        names = ("href", "src", "xlink:href", "action", "data")
        self.addresses += [given[name] for name in names if given.get(name)]


@pytest.mark.parametrize("name", [path.stem for path in FILES])
def test_the_certificate_holds_the_numbers_of_the_json(capsys, tmp_path, name):
    target = tmp_path / "certificate.html"
    command(file_of(name), "--case", CASE, "--json", "--certificate", target)
    numbers = flat(json.loads(capsys.readouterr().out))
    page = Page(target.read_text())
    assert len(page.data) > 40
    for key, value in page.data.items():
        assert value == numbers[key], key


def test_the_certificate_needs_no_network_and_no_script():
    proof = prove(load_catches(file_of("full-stroke-and-start")), BY_VOLUME)
    text = certificate(proof, datetime.date(2001, 2, 3))
    page = Page(text)
    assert all(address.startswith("#") for address in page.addresses)
    assert not {"script", "link", "img", "iframe", "base"} & set(page.tags)
    outside = re.sub(r'xmlns(:\w+)?="[^"]*"', "", text)
    assert "http" not in outside
    assert "//" not in re.sub(r"/\*.*?\*/", "", outside)
    assert "@import" not in text
    assert all(each.startswith("#") for each in re.findall(r"url\(['\"]?([^)'\"]*)", text))
    for said in ("2001-02-03", "evenfront", "Cautions", "<figcaption>", "prefers-color-scheme"):
        assert said in text
    assert "Invented" in text


def test_text_of_a_user_is_escaped_everywhere(tmp_path):
    evil = "<script>alert(1)</script>&\"'"
    folder = tmp_path / "x"
    folder.mkdir()
    rows = "".join(f"280,23.5{each},0.2,,\n" for each in (1, 2, 3))
    cups = "".join(f"7,0.6,0.2,{evil.replace(chr(34), '')},{i}\n" for i in (1, 2, 3))
    path = folder / "<b>catches.csv"
    path.write_text(f"# Invented {evil}\nresin_g,hardener_g,time_s,shot,increment\n{rows}{cups}")
    requirement = Requirement(**vars(BY_VOLUME) | {"title": evil})
    proof = prove(load_catches(path), requirement)
    for text in (certificate(proof), proof._repr_html_()):
        assert "<script" not in text
        assert "<b>" not in text
    assert html.escape(evil, quote=False).split("&amp;")[0] in certificate(proof)


def test_a_terminal_is_not_steered_by_what_a_file_says(tmp_path):
    text = GOOD.replace("\n", ",,\n").replace("hardener_g,,", "hardener_g,shot,increment")
    text = "# Invented \x1b[2J\n" + text + "7,0.6,\x1b[31m,1\n7,0.6,\x1b[31m,2\n7,0.6,\x1b[31m,3\n"
    assert "\x1b" not in str(prove(load_catches(write(tmp_path, text)), BY_VOLUME))


def test_pictures_draw_on_the_axes_they_are_given():
    from matplotlib.figure import Figure

    proof = prove(load_catches(file_of("full-stroke-and-start")), BY_VOLUME)
    figure = Figure()
    axes = figure.subplots(2, 1)
    axes[0].set_xlabel("mine")
    assert plot_ratio(proof, ax=axes[0]) is axes[0]
    assert axes[0].get_xlabel() == "mine"
    assert axes[0].get_ylabel().endswith("[%]")
    assert plot_start(proof.starts[0], ax=axes[1]) is axes[1]
    assert axes[1].get_xlabel().endswith("[s]")
    drawn = next(line for line in axes[0].lines if line.get_label() == "catch")
    assert drawn.get_ydata() == pytest.approx(100 * proof.ratio.errors)
    new, made = plot_proof(proof)
    assert len(made) == 2
    import matplotlib.pyplot as plt

    plt.close(new)
