"""Moments of measured pulses, held to published examples."""

import math

import pytest

from evenfront import _core
from evenfront.tracer import peclet_of, pulse_moments, relative_variance


def test_a_published_pulse_has_its_moments() -> None:
    # Levenspiel, Chemical Reaction Engineering, Ex. 11.1: area 100, mean 15 min, variance 47.5 min2
    found = pulse_moments([0, 5, 10, 15, 20, 25, 30, 35], [0, 3, 5, 5, 4, 2, 1, 0])
    assert found.area == pytest.approx(100.0, rel=1e-14)
    assert found.mean == pytest.approx(15.0, rel=1e-14)
    assert found.variance == pytest.approx(47.5, rel=1e-13)
    assert found.relative_variance == pytest.approx(0.211111, abs=1e-6)
    # Ex. 13.1: D/uL 0.119937 (book 0.120) with closed ends, 4.7368 tanks
    assert 1.0 / peclet_of(found.relative_variance, "closed") == pytest.approx(0.119937, rel=1e-5)
    assert found.tanks == pytest.approx(4.7368, rel=1e-5)
    # the same read from the model's own curve: its variance is what the case then has
    residence = _core.ResidenceTime("dispersion", peclet_of(found.relative_variance))
    assert residence.variance() == pytest.approx(found.relative_variance, rel=1e-9)


def test_a_second_published_pulse_by_simpson_in_two_parts() -> None:
    # Fogler, Elements of Chemical Reaction Engineering, RTD chapter, Ex. 13-1 and 13-2 (4th ed.);
    # digits evaluated; book 5.15 min and 6.1 min2 (from memory)
    time = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 14]
    signal = [0, 1, 5, 8, 10, 8, 6, 4, 3, 2.2, 1.5, 0.6, 0]
    found = pulse_moments(time, signal, "simpson")
    assert found.area == pytest.approx(50.033, rel=1e-4)
    assert found.mean == pytest.approx(5.1552, rel=1e-4)
    assert found.variance == pytest.approx(6.1085, rel=1e-4)
    # Ex. 14-2, from 5.15 and 6.1: Pe 7.5438 with closed ends, 4.3480 tanks (book 7.5 and 4.35)
    assert peclet_of(6.1 / 5.15**2, "closed") == pytest.approx(7.5438, rel=1e-5)
    tanks = 5.15**2 / 6.1
    assert tanks == pytest.approx(4.3480, abs=5e-5)  # half a unit of the last digit


@pytest.mark.parametrize(
    ("peclet", "closed", "closed_open", "open_ends"),
    [(10, 0.180001, 0.23, 0.28), (50, 0.0392, 0.0412, 0.0432), (100, 0.0198, 0.0203, 0.0208)],
)
def test_variance_depends_on_the_ends(
    peclet: float, closed: float, closed_open: float, open_ends: float
) -> None:
    # Levenspiel and Smith 1957; van der Laan 1958 (from memory, evaluated)
    assert relative_variance(peclet, "closed") == pytest.approx(closed, abs=1e-6)
    assert relative_variance(peclet, "closed-open") == pytest.approx(closed_open, abs=1e-6)
    assert relative_variance(peclet, "open") == pytest.approx(open_ends, abs=1e-6)
    own = _core.ResidenceTime("dispersion", peclet).variance()
    assert relative_variance(peclet) == own
    assert closed < own < closed_open
    for ends in ("through", "closed", "closed-open", "open"):
        variance = relative_variance(peclet, ends)
        assert peclet_of(variance, ends) == pytest.approx(peclet, rel=1e-9)


def test_spread_adds_along_the_way() -> None:
    # Levenspiel Ex. 13.2: 16 and 84 % at 178 550 and 187 750 s over 1219 mm at 0.0067 mm/s:
    # D/uL 0.000320
    half = 0.5 * (187750.0 - 178550.0)
    assert 1.0 / peclet_of((half / (1219.0 / 0.0067)) ** 2) == pytest.approx(0.000320, rel=2e-3)
    # Ex. 13.3: variance from 39 to 64 s2 over 90 cm, voidage 0.4, at 1.2 cm/s: D/uL 0.013889
    assert 1.0 / peclet_of((64.0 - 39.0) / (90.0 * 0.4 / 1.2) ** 2) == pytest.approx(
        0.013889, rel=1e-4
    )
    # Ex. 14.4: delay of 60 s and 900 s2 more: 4 tanks
    assert 1.0 / _core.ResidenceTime("tanks", 4.0).variance() == 60.0**2 / 900.0


def test_what_is_no_pulse_is_refused() -> None:
    with pytest.raises(ValueError, match="three"):
        pulse_moments([0, 1], [0, 1])
    with pytest.raises(ValueError, match="rise"):
        pulse_moments([0, 1, 1], [0, 1, 0])
    with pytest.raises(ValueError, match="area"):
        pulse_moments([0, 1, 2], [0, 0, 0])
    for bad in (0.0, -1.0, math.inf, math.nan):
        with pytest.raises(ValueError, match="peclet"):
            relative_variance(bad)
    with pytest.raises(ValueError, match="below 1"):
        peclet_of(1.5, "closed")
