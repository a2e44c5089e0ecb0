"""The whole nonlinear transient against scipy, from a right-hand side of its own."""

import math
from pathlib import Path

import pytest
from reference_transient import Model

from evenfront import _core, load_case

CASES = Path(__file__).parents[2] / "data" / "cases"


def test_held_shots_agree_with_scipy_radau_on_equations_written_separately() -> None:
    # scipy.integrate.solve_ivp, Radau IIA of order 5 (Hairer & Wanner), at a tolerance far below
    # the 1e-4 that is asked for; the core at its default tolerance.
    case = load_case(CASES / "long-boom-held-shots.toml").changed({"run.repeat": 2})
    run = case.simulate()
    model = Model(run.machine, run.steady.mixer_resistance)
    parts = model.shot_pieces(shot=3.0, dwell=20.0, repeat=2)
    relative = 1e-7
    states = model.solve(
        parts,
        method="Radau",
        rtol=relative,
        atol=model.scales(relative),
        jac_sparsity=model.sparsity(),
    )
    opened = states[0] * 0
    for shot, (closed, next_open) in enumerate(zip(states[::2], states[1::2], strict=True)):
        resin, hardener = closed[-2:] - opened[-2:]
        measured = run.measures.shots[shot]
        assert measured.resin_volume == pytest.approx(resin, rel=1e-4)
        assert measured.hardener_volume == pytest.approx(hardener, rel=1e-4)
        lead = hardener - run.ratio * resin
        # A held shot's lead is the small difference of two volumes: held to 1e-4 of the swing.
        assert measured.net_lead == pytest.approx(lead, rel=1e-4, abs=1e-4 * measured.swing)
        opened = next_open


def test_equations_of_the_reference_are_those_of_the_core_at_the_steady_state() -> None:
    # Both formulations must stand still, but for the shaft, at the core's own steady state.
    case = load_case(CASES / "long-boom-held-shots.toml")
    run = case.simulate()
    stream = _core.steady_state(run.machine)
    assert math.isclose(stream.ratio, stream.hardener.flow / stream.resin.flow, rel_tol=1e-12)
