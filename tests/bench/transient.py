"""Speed of the transient, as ratios to peers in the same run; not a test.

    python tests/bench/transient.py

The demo case's first shot and dwell: the core at its default tolerance beside scipy's BDF on the
same equations (tests/python/reference_transient.py), at the coarsest tolerance at which BDF is as
accurate as the core. Then cost against cells, and a whole trim beside one scipy transient.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "python"))

from reference_transient import Model  # noqa: E402

from evenfront import _core, load_case, trim  # noqa: E402

LEAST_SECONDS = 0.5


def seconds(call: Callable[[], Any]) -> float:
    """Shortest time of a call over repetitions that fill at least half a second."""
    best, spent = float("inf"), 0.0
    while spent < LEAST_SECONDS:
        start = time.perf_counter()
        call()
        took = time.perf_counter() - start
        best, spent = min(best, took), spent + took
    return best


def scipy_run(
    model: Model, parts: Any, method: str, relative: float, *, told: bool
) -> tuple[Any, float, int]:
    """State at the end, time and right-hand sides of one scipy transient.

    `told`: scipy is given the Jacobian's pattern; else it finds every entry by differences.
    """
    model.evaluations = 0
    start = time.perf_counter()
    states = model.solve(
        parts,
        method=method,
        rtol=relative,
        atol=model.scales(relative),
        jac_sparsity=model.sparsity() if told else None,
    )
    return states[0], time.perf_counter() - start, model.evaluations


def main() -> None:
    """Print the figures."""
    case = load_case(ROOT / "data" / "cases" / "long-boom-held-shots.toml").changed(
        {"run.repeat": 1}
    )
    machine, sequence, numerics = case.machine, case.sequence, case.numerics
    run = case.simulate()
    model = Model(machine, run.steady.mixer_resistance)
    parts = model.shot_pieces(shot=3.0, dwell=20.0, repeat=1)
    exact, _, _ = scipy_run(model, parts, "Radau", 1e-10, told=True)

    def lead_error(resin: float, hardener: float) -> float:
        true = exact[-1] - run.ratio * exact[-2]
        return abs(hardener - run.ratio * resin - true) / abs(true)

    own_error = lead_error(run.shot.resin_volume, run.shot.hardener_volume)
    own = seconds(lambda: _core.simulate(machine, sequence, numerics))
    print(
        f"core, rtol {numerics.rtol:g}: {own * 1e3:.2f} ms, {run.trace.steps} steps, "
        f"error of the lead {own_error:.1e}"
    )
    relative = 1e-6
    for told, name in ((False, "BDF"), (True, "BDF told the Jacobian's pattern")):
        for relative in (1e-6, 1e-7, 1e-8, 1e-9):
            state, took, evaluations = scipy_run(model, parts, "BDF", relative, told=told)
            error = lead_error(state[-2], state[-1])
            print(
                f"scipy {name}, rtol {relative:g}: {took:.2f} s, {evaluations} right-hand sides, "
                f"error {error:.1e}, {took / own:,.0f} times the core"
            )
            if error <= own_error:
                break

    print("cells a stream, time, time a cell:")
    for cells in (16, 32, 64, 128, 256):
        changed = case.changed({"resin.line[0].cells": cells, "hardener.line[0].cells": cells})
        took = seconds(lambda c=changed: _core.simulate(c.machine, c.sequence, c.numerics))
        print(f"  {cells:4d}  {took * 1e3:8.2f} ms  {took / cells * 1e6:6.1f} us")

    held = load_case(ROOT / "data" / "cases" / "long-boom-held-shots.toml")
    start = time.perf_counter()
    trim(held).to_dict()
    whole = time.perf_counter() - start
    print(
        f"whole trim of the held case, objectives, curve, remedies and sensitivities: {whole:.2f} s"
    )
    held_parts = model.shot_pieces(shot=3.0, dwell=20.0, repeat=4)
    model.evaluations = 0
    start = time.perf_counter()
    model.solve(
        held_parts,
        method="BDF",
        rtol=relative,
        atol=model.scales(relative),
        jac_sparsity=model.sparsity(),
    )
    one = time.perf_counter() - start
    print(
        f"one scipy transient of the same case: {one:.2f} s; the trim takes {whole / one:.2f} of it"
    )


if __name__ == "__main__":
    main()
