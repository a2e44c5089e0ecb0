"""Laws of viscosity fitted to points, against formulas and statistics written down here."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
from iapws import IAPWS95
from scipy import stats

from evenfront import _core, cli, load_case
from evenfront.setup import (
    MODELS,
    Points,
    fit_viscosity,
    plot_viscosity,
    viscosity,
)

CASES = Path(__file__).parents[2] / "data" / "cases"
POINTS = Path(__file__).parents[2] / "data" / "viscosity" / "filled-resin.csv"
R = 8.31446261815324
RATES = np.geomspace(0.03, 300.0, 13)
CELSIUS = np.array([25.0, 40.0, 55.0, 70.0])

# The laws by their definitions, not by the core: stress and rate without the temperature shift.
SHEAR = {
    "newtonian": (lambda s: np.full_like(s, 40.0), {"consistency": 40.0}),
    "bingham": (lambda s: 12.0 / s + 40.0, {"consistency": 40.0, "yield_stress": 12.0}),
    "power_law": (lambda s: 40.0 * s**-0.3, {"consistency": 40.0, "index": 0.7}),
    "herschel_bulkley": (
        lambda s: 12.0 / s + 40.0 * s**-0.3,
        {"consistency": 40.0, "index": 0.7, "yield_stress": 12.0},
    ),
    "cross": (
        lambda s: 40.0 * (0.05 + 0.95 / (1 + (0.5 * s) ** 0.8)),
        {"consistency": 40.0, "time_constant": 0.5, "exponent": 0.8, "plateau_ratio": 0.05},
    ),
}


def shifted(model, factor, rates):
    """Viscosity at a shift a_T: tau_y + k (a_T s)^n, and a_T eta(a_T s) for Cross."""
    eta, values = SHEAR[model]
    yield_stress = values.get("yield_stress", 0.0)
    plain = eta(factor * rates) * factor * rates - yield_stress
    return (yield_stress + plain) / rates


def made(model, factor_of, noise=0.0, seed=1):
    rng = np.random.default_rng(seed)
    rate, kelvin, value = [], [], []
    for temperature in CELSIUS + 273.15:
        rate.append(RATES)
        kelvin.append(np.full_like(RATES, temperature))
        value.append(shifted(model, factor_of(temperature), RATES))
    measured = np.concatenate(value) * np.exp(noise * rng.standard_normal(RATES.size * 4))
    return Points.of(measured, np.concatenate(rate), np.concatenate(kelvin))


def arrhenius(temperature):
    return math.exp(50e3 / R * (1 / temperature - 1 / 328.15))


@pytest.mark.parametrize("model", MODELS)
def test_a_fit_gives_back_the_law_the_points_were_made_of(model):
    fit = fit_viscosity(made(model, arrhenius), model, "arrhenius", reference_temperature=328.15)
    # Points without noise: what is left is the tolerance of the minimiser, about 1e-8.
    for name, value in SHEAR[model][1].items():
        assert fit.estimates[name].value == pytest.approx(value, rel=1e-6), name
    assert fit.estimates["activation_energy"].value == pytest.approx(50e3, rel=1e-6)
    assert fit.scatter < 1e-7
    assert fit.untold == ()


def test_vogel_and_its_other_form_are_found_again():
    # Water by Viswanath and Natarajan (1989): log10 mu/mPa s = -1.5318 - 220.57/(149.39 - T).
    kelvin = np.arange(275.0, 370.0, 5.0)
    points = Points.of(1e-3 * 10 ** (-1.5318 - 220.57 / (149.39 - kelvin)), None, kelvin)
    fit = fit_viscosity(points, "newtonian", "vogel")
    assert fit.estimates["slope"].value == pytest.approx(220.57 * math.log(10), rel=1e-5)
    assert fit.estimates["pole"].value == pytest.approx(149.39, rel=1e-5)
    reference = fit.rheology.reference_temperature
    other = fit_viscosity(points, "newtonian", "wlf")
    # B = ln(10) C1 C2 and T0 = T_r - C2.
    assert other.estimates["c2"].value == pytest.approx(reference - 149.39, rel=1e-5)
    assert other.estimates["c1"].value == pytest.approx(220.57 / (reference - 149.39), rel=1e-5)


def test_three_constants_carry_water_within_a_few_parts_in_a_thousand():
    # IAPWS 2008 by the iapws package, 1 atm; the three-constant form is known to 0.5 % there.
    kelvin = np.arange(278.15, 363.15, 5.0)
    measured = [IAPWS95(T=float(t), P=0.101325).mu for t in kelvin]
    fit = fit_viscosity(Points.of(measured, None, kelvin), "newtonian", "vogel")
    fitted = [fit.viscosity(1.0, float(t)) for t in kelvin]
    np.testing.assert_allclose(fitted, measured, rtol=5e-3)
    assert 120 < fit.estimates["pole"].value < 160


def test_intervals_of_a_straight_line_are_those_of_linear_regression():
    # Newtonian with Arrhenius is linear in ln viscosity against 1/T: scipy's linregress and t.
    rng = np.random.default_rng(7)
    kelvin = np.linspace(290.0, 340.0, 9)
    log_eta = 3.0 + 6000.0 * (1 / kelvin - 1 / 315.0) + 0.04 * rng.standard_normal(9)
    fit = fit_viscosity(
        Points.of(np.exp(log_eta), None, kelvin),
        "newtonian",
        "arrhenius",
        reference_temperature=315.0,
    )
    line = stats.linregress(1 / kelvin - 1 / 315.0, log_eta)
    t = stats.t.ppf(0.975, 7)
    energy = fit.estimates["activation_energy"]
    assert energy.value == pytest.approx(R * line.slope, rel=1e-6)
    assert energy.half_width == pytest.approx(R * t * line.stderr, rel=1e-5)
    level = fit.estimates["consistency"]
    assert level.value == pytest.approx(math.exp(line.intercept), rel=1e-6)
    assert math.log(level.high / level.low) / 2 == pytest.approx(
        t * line.intercept_stderr, rel=1e-5
    )


def test_intervals_hold_the_truth_about_as_often_as_they_say():
    # 100 records of a power law with 5 % noise: 95 % of 300 intervals, give or take 1.3 % (sd).
    inside = []
    for seed in range(100):
        fit = fit_viscosity(
            made("power_law", arrhenius, 0.05, seed), "power_law", reference_temperature=328.15
        )
        for name, value in {**SHEAR["power_law"][1], "activation_energy": 50e3}.items():
            inside.append(fit.estimates[name].low < value < fit.estimates[name].high)
    assert 0.90 < np.mean(inside) < 0.99


def test_what_the_points_do_not_tell_is_named():
    # All rates far above 1/lambda: the upper plateau is out of sight.
    rates = np.geomspace(1e3, 1e4, 8)
    noise = np.exp(0.02 * np.random.default_rng(3).standard_normal(8))
    points = Points.of(40.0 / (1 + (5 * rates) ** 0.8) * noise, rates)
    found = viscosity(points, "cross", "none")
    assert not found.good
    assert "do not tell" in found.verdict


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("law", ["arrhenius", "vogel"])
def test_a_fitted_law_goes_into_a_case_as_it_is_written(model, law):
    fit = fit_viscosity(made(model, arrhenius, 0.01), model, law)
    case = load_case(CASES / "long-boom-held-shots.toml")
    rheology = case.changed({"resin.viscosity": fit.case_table()}).machine.resin.rheology
    for rate in (0.1, 5.0, 100.0):
        in_case = _core.apparent_viscosity(_core.at_temperature(rheology, 320.0), rate)
        # Six digits are written.
        assert in_case == pytest.approx(fit.viscosity(rate, 320.0), rel=2e-4)


def test_the_picture_draws_every_point_and_a_curve_per_temperature():
    fit = fit_viscosity(made("cross", arrhenius, 0.02), "cross")
    ax = plot_viscosity(fit)
    marks = [line for line in ax.lines if line.get_marker() not in ("None", "")]
    curves = [line for line in ax.lines if line not in marks]
    assert sum(line.get_xdata().size for line in marks) == fit.points.viscosity.size
    assert [text.get_text() for text in ax.get_legend().get_texts()] == [
        "25 degC",
        "40 degC",
        "55 degC",
        "70 degC",
    ]
    for curve, kelvin in zip(curves, CELSIUS + 273.15, strict=True):
        x, y = curve.get_xdata()[50], curve.get_ydata()[50]
        assert y == pytest.approx(fit.viscosity(float(x), float(kelvin)))
    kelvin = np.array([290.0, 300.0, 320.0])
    newtonian = fit_viscosity(Points.of([3.0, 2.0, 1.0], None, kelvin))
    ax = plot_viscosity(newtonian)
    assert ax.get_xlabel() == "temperature [degC]"
    np.testing.assert_allclose(ax.lines[0].get_xdata(), kelvin - 273.15)


@pytest.mark.parametrize(
    ("points", "model", "law", "said"),
    [
        (([1.0, 2.0], None, [300.0]), "newtonian", "arrhenius", "as long as"),
        (([1.0, -2.0], None, [300.0, 310.0]), "newtonian", "arrhenius", "above zero"),
        (([2.0, 1.0], None, [300.0, 310.0]), "newtonian", "arrhenius", "at least 3 points"),
        (([2.0, 1.0, 1.0], None, [300.0] * 3), "newtonian", "arrhenius", "2 temperatures"),
        (([2.0, 1.0, 1.0], None, None), "newtonian", "arrhenius", "the temperature"),
        (([2.0, 1.0, 1.0], None, [300.0, 310.0, 320.0]), "newtonian", "none", "not"),
        (([2.0, 1.0, 1.0], None, None), "power_law", "none", "the shear rate"),
        (([2.0, 1.0, 1.0], [5.0] * 3, None), "power_law", "none", "different shear rates"),
    ],
)
def test_points_that_cannot_tell_a_law_are_refused_in_words(points, model, law, said):
    with pytest.raises(ValueError, match=said):
        fit_viscosity(Points.of(*points), model, law)


def test_unknown_laws_are_refused_by_name():
    points = Points.of([2.0, 1.0, 1.0], None, [300.0, 310.0, 320.0])
    with pytest.raises(ValueError, match="must be one of newtonian"):
        fit_viscosity(points, "thick")
    with pytest.raises(ValueError, match="must be one of none"):
        fit_viscosity(points, "newtonian", "cold")


def test_the_command_fits_a_file_of_points_and_draws_it(tmp_path, capsys):
    picture = tmp_path / "fit.svg"
    arguments = ["setup", "viscosity", str(POINTS), "--model", "cross", "--json"]
    assert cli.main([*arguments, "--plot", str(picture)]) == 0
    answer = json.loads(capsys.readouterr().out)
    # The invented points were made with these values and 2 % noise: see the file's maker.
    assert answer["consistency_low_mPas"] < 60e3 < answer["consistency_high_mPas"]
    assert answer["exponent_low"] < 0.7 < answer["exponent_high"]
    assert answer["activation_energy_low_kJ_per_mol"] < 55
    assert answer["activation_energy_high_kJ_per_mol"] > 55
    assert picture.read_text(encoding="utf-8").startswith("<?xml")


def test_the_command_refuses_in_one_line(tmp_path, capsys):
    bad = tmp_path / "bad.csv"
    bad.write_text("temperature [degC],viscosity [kg]\n25,1\n", encoding="utf-8")
    assert cli.main(["setup", "viscosity", str(bad)]) == 2
    assert cli.main(["setup", "viscosity"]) == 2
    assert cli.main(["setup", "viscosity", str(POINTS), "--model", "thick"]) == 2
    problems = capsys.readouterr().err.splitlines()
    assert len(problems) == 3
    assert "viscosity" in problems[0]
    assert "is missing" in problems[1]
    assert "newtonian" in problems[2]
