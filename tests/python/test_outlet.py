"""What leaves the outlet, held to residence-time curves of another library."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from evenfront import _core, load_case
from evenfront.run import Run

CASE = Path(__file__).parents[2] / "data" / "cases" / "long-boom-held-shots.toml"
LAWS = {
    # mean 1, variance 2/Pe: shape Pe/2 of the inverse Gaussian
    ("dispersion", 100.0): stats.invgauss(mu=1.0 / 50.0, scale=50.0).cdf,
    ("dispersion", 20.0): stats.invgauss(mu=1.0 / 10.0, scale=10.0).cdf,
    ("tanks", 8.0): stats.gamma(8.0, scale=1.0 / 8.0).cdf,
}


@pytest.fixture(scope="module")
def run() -> Run:
    return load_case(CASE).simulate()


@pytest.fixture(scope="module")
def inlet(run: Run) -> _core.MixerInlet:
    return _core.mixer_inlet(run.trace, _core.passages(run.machine), run.ratio, refine=32)


def left_by(
    inlet: _core.Composition, held: float, cdf: Callable[..., np.ndarray], volume: float
) -> float:
    """Hardener that has left, piece by piece: before V + sum of deviation x integral of F."""
    nodes, weights = np.polynomial.legendre.leggauss(6)
    start, end = inlet.volume[:-1], np.minimum(inlet.volume[1:], volume)
    width = np.maximum(end - start, 0.0)
    places = start[:, None] + 0.5 * width[:, None] * (nodes + 1.0)
    share = cdf((volume - places) / held) @ weights * 0.5 * width
    fraction = np.diff(inlet.hardener) / np.diff(inlet.volume)
    return float(inlet.before * volume + np.sum((fraction - inlet.before) * share))


@pytest.mark.parametrize("law", LAWS)
def test_the_whole_run_leaves_as_the_curve_of_another_library_says(
    run: Run, inlet: _core.MixerInlet, law: tuple[str, float]
) -> None:
    mixer = run.machine.mixer
    held = _core.hold_up(mixer)
    outlet = _core.outlet_sequence(inlet, run.trace, mixer, _core.ResidenceTime(*law))
    for volume in np.linspace(0.1, 1.0, 19) * outlet.volume[-1]:
        expected = left_by(inlet.composition, held, LAWS[law], volume)
        found = np.interp(volume, outlet.volume, outlet.hardener)
        # pieces of 0.07 mL in a lead of pure hardener: order 2, below a thousandth of a lead's mL
        assert found == pytest.approx(expected, abs=2e-9)


def test_the_profile_along_the_mixer_is_that_of_another_library(
    run: Run, inlet: _core.MixerInlet
) -> None:
    held, entered = _core.hold_up(run.machine.mixer), 50e-6
    composition = inlet.composition
    residence = _core.ResidenceTime("dispersion", 100.0)
    places = np.array([0.1, 0.4, 1.0])
    found = _core.profile_along(composition, residence, held, entered, places)
    fraction = np.diff(composition.hardener) / np.diff(composition.volume) - composition.before
    for place, value in zip(places, found, strict=True):
        cdf = stats.invgauss(mu=1.0 / (50.0 * place), scale=50.0 * place).cdf
        passed = cdf((entered - composition.volume) / (place * held))
        expected = composition.before + np.sum(fraction * (passed[:-1] - passed[1:]))
        assert value == pytest.approx(expected, abs=1e-12)


def test_sequences_are_followed_side_by_side(run: Run, inlet: _core.MixerInlet) -> None:
    from concurrent.futures import ThreadPoolExecutor

    def follow(peclet: float) -> np.ndarray:
        law = _core.ResidenceTime("dispersion", peclet)
        outlet = _core.outlet_sequence(inlet, run.trace, run.machine.mixer, law)
        return np.asarray(outlet.hardener).copy()

    alone = [follow(peclet) for peclet in (20.0, 50.0, 100.0, 400.0)]
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(follow, (20.0, 50.0, 100.0, 400.0)))
    for one, other in zip(alone, together, strict=True):
        assert np.array_equal(one, other)
