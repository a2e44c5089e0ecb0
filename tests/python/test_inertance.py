"""When the inertia of the liquid in a line matters."""

import math
from pathlib import Path

import pytest

from evenfront import _core as core
from evenfront import check_report, inertance, load_case, report
from evenfront.inertance import line_inertia

CASES = Path(__file__).parents[2] / "data" / "cases"


def stream(machine, **rheology):
    """3 m of 8 mm bore, 100 mPa*s, 1000 kg/m^3, walls that give as a modulus of 50 MPa."""
    area = math.pi / 4 * 8e-3**2
    return machine.hardener.replace(
        liquid=core.Liquid(density=1000.0, bulk_modulus=1e15, free_gas=1e-6),
        rheology=core.Rheology(consistency=0.1, **rheology),
        line=[
            core.Segment(
                name="hose",
                bore=8e-3,
                length=3.0,
                temperature=298.15,
                wall_expansion=area / 50e6,
            )
        ],
    )


def test_a_line_of_one_bore_is_its_closed_form(machine):
    # I/R = rho D^2/(32 mu) = 0.02 s. RC = 32 mu L^2/(D^2 beta) = 0.00900 s (evaluated, closed form
    # of a hose full of liquid), so (R/2) sqrt(C/I) = sqrt(RC R/I)/2 = sqrt(0.009/0.02)/2.
    found = line_inertia(stream(machine), 0.0)
    # A ppm of gas at 0 bar gives 1e-6/p0, 5e-4 of the walls' 1/50 MPa.
    assert found.time == pytest.approx(0.02, rel=2e-6)
    assert found.damping_ratio == pytest.approx(math.sqrt(0.00900 / 0.02) / 2, rel=5e-4)


def test_two_pieces_add_up(machine):
    one = stream(machine)
    (hose,) = one.line
    halves = one.replace(line=[hose.replace(length=1.0), hose.replace(length=2.0)])
    whole, parts = (line_inertia(s, 5e5) for s in (one, halves))
    assert parts.time == pytest.approx(whole.time, rel=1e-14)
    assert parts.damping_ratio == pytest.approx(whole.damping_ratio, rel=1e-14)


def test_only_newtonian_liquids_have_one(machine):
    assert line_inertia(stream(machine, index=0.9), 0.0) is None
    assert line_inertia(stream(machine, yield_stress=1.0), 0.0) is None


def test_a_check_says_when_inertia_matters():
    case = load_case(CASES / "wait-one-second.toml")
    steady = check_report.steady_state(case)
    # rho D^2/(32 mu) = 980 x 4.8e-3^2/(32 x 0.030) = 23.5 ms at the density and temperature of the
    # sheet, against 40 ms of opening; the resin is no Newtonian liquid.
    (said,) = inertance.sentences(case, steady)
    assert "23 ms" in said or "24 ms" in said
    assert "matters, set numerics.inertia = true" in said
    assert said.rstrip(".") in " ".join(
        report.as_text(check_report.check_sections(case, steady)).split()
    )
    slow = case.changed({"hardener.shutoff.open_time": "200 ms"})
    (said,) = inertance.sentences(slow, steady)
    assert "does not matter" in said
    found = check_report.check_dict(case, steady)
    assert found["resin_inertance_time_ms"] is None
    assert found["hardener_inertance_time_ms"] == pytest.approx(23.52, rel=2e-3)
