"""Units at the edge, against scipy.constants (exact inch, pound, psi, gallon)."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from evenfront import units as u

# One multiplication or a chain of three: a few units in the last place.
CLOSE = 1e-14


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("0.5 in", u.LENGTH, 0.5 * constants.inch),
        ("10 ft", u.LENGTH, 10 * constants.foot),
        ("12.7mm", u.LENGTH, 0.0127),
        ("5e-1 in", u.LENGTH, 0.5 * constants.inch),
        ("40 cc", u.VOLUME, 40e-6),
        ("1 gal", u.VOLUME, constants.gallon),
        ("870 psi", u.PRESSURE, 870 * constants.psi),
        ("7 barg", u.PRESSURE, 7 * constants.bar),
        ("20 psig", u.PRESSURE, 20 * constants.psi),
        ("2 bara", u.PRESSURE, 2 * constants.bar - constants.atm),
        ("1 bar(a)", u.PRESSURE, constants.bar - constants.atm),
        ("50 psia", u.PRESSURE, 50 * constants.psi - constants.atm),
        ("60 degC", u.TEMPERATURE, constants.convert_temperature(60, "C", "K")),
        ("140 degF", u.TEMPERATURE, constants.convert_temperature(140, "F", "K")),
        ("60 °C", u.TEMPERATURE, 333.15),
        ("300 K", u.TEMPERATURE, 300.0),
        ("1150 lbf", u.FORCE, 1150 * constants.lbf),
        ("11 lb", u.MASS, 11 * constants.lb),
        ("180 cps", u.VISCOSITY, 0.18),
        ("180 cP", u.VISCOSITY, 0.18),
        ("180 mPa·s", u.VISCOSITY, 0.18),
        ("1.62 g/cm3", u.DENSITY, 1620.0),
        ("1.62 g/cc", u.DENSITY, 1620.0),
        ("10 1/s", u.SHEAR_RATE, 10.0),
        ("10 s^-1", u.SHEAR_RATE, 10.0),
        ("400 ppm/K", u.EXPANSION, 4e-4),
        ("4e-4 1/degC", u.EXPANSION, 4e-4),
        ("9e-4 1/°F", u.EXPANSION, 9e-4 * 1.8),
        ("0.025 mL/bar/m", u.WALL_EXPANSION, 0.025e-11),
        ("2.5 mL/m", u.VOLUME_PER_LENGTH, 2.5e-6),
        ("0.2 bar*s/mL", u.RESISTANCE, 2e10),
        ("0.02 mL/min/bar", u.CONDUCTANCE, 0.02e-6 / 60 / 1e5),
        ("1200 1/in", u.ENCODER, 1200 / constants.inch),
        ("47 counts/mm", u.ENCODER, 47000.0),
        ("1500 counts", u.COUNTS, 1500.0),
        ("1.5 turns", u.TURNS, 1.5),
        ("0.8 mm/turn", u.PITCH, 0.8e-3),
        ("15 deg", u.ANGLE, 15 * constants.degree),
        ("15°", u.ANGLE, 15 * constants.degree),
        ("5 %", u.FRACTION, 0.05),
        ("200 ppm", u.FRACTION, 2e-4),
        ("-3 %", u.FRACTION, -0.03),
    ],
)
def test_text_with_a_unit_becomes_its_si_value(text, kind, expected):
    # A gauge value is a difference: the round-off is that of p0.
    absolute = 1e-10 if kind is u.PRESSURE else 0.0
    assert math.isclose(u.si(text, kind), expected, rel_tol=CLOSE, abs_tol=absolute)


@pytest.mark.parametrize(
    ("text", "kind", "hint"),
    [
        ("2,5 mm", u.LENGTH, '"2.5 mm"'),
        ("1/2 in", u.LENGTH, "no unit"),
        ("2*3 mm", u.LENGTH, "no unit"),
        ("2 3 mm", u.LENGTH, "no unit"),
        ("5 mm + 2 mm", u.LENGTH, "no unit"),
        ("5 mm*2", u.LENGTH, "not a unit"),
        ("5 m^99999", u.LENGTH, "no unit"),
        ("nan mm", u.LENGTH, "finite"),
        ("inf mm", u.LENGTH, "finite"),
        ("1e400 mm", u.LENGTH, "finite"),
        ("mm", u.LENGTH, "number"),
        ("", u.LENGTH, "number"),
        ("12.7", u.LENGTH, "unit is missing"),
        ("12.7 bar", u.LENGTH, "something else"),
        ("5 foo", u.LENGTH, "not a unit"),
        ("5 __import__", u.LENGTH, "no unit"),
        ("20 mPas", u.VISCOSITY, "write mPa*s"),
        ("20 mPa.s", u.VISCOSITY, "mPa*s"),
        ("5 Nm", u.FORCE, "write N*m"),
        ("5 kn", u.FORCE, "write kN"),
        ("25 C", u.TEMPERATURE, "write degC"),
        ("77 F", u.TEMPERATURE, "write degF"),
        ("2 bara", u.STRESS, "something else"),
        ("5 delta_degC", u.TEMPERATURE, "no unit"),
        ("0.05", u.FRACTION, "unit is missing"),
        ("5 mm", u.FRACTION, "something else"),
        ("15 %", u.ANGLE, "something else"),
        ("1 rad", u.TURNS, "something else"),
    ],
)
def test_a_refusal_says_what_is_wrong_and_gives_an_example(text, kind, hint):
    with pytest.raises(u.UnitError) as refusal:
        u.si(text, kind)
    assert hint in str(refusal.value)
    assert kind.name in str(refusal.value)
    assert kind.examples[0] in str(refusal.value)


def test_first_kind_that_fits_is_taken():
    assert u.parse("4 s", u.TIME, u.VOLUME) == (u.TIME, 4.0)
    assert u.parse("40 mL", u.TIME, u.VOLUME)[0] is u.VOLUME


KINDS = [value for value in vars(u).values() if isinstance(value, u.Kind)]


@given(
    kind=st.sampled_from(KINDS),
    value=st.floats(1e-12, 1e12),
    data=st.data(),
)
def test_written_text_is_read_back(kind, value, data):
    unit = data.draw(st.sampled_from(kind.shown))
    back = u.si(u.written(value, kind, unit), kind)
    # 15 digits are written; a temperature loses those of its offset of 273.15 K or 459.67 degF.
    offset = 1e-12 if kind is u.TEMPERATURE else 0.0
    assert math.isclose(back, value, rel_tol=2e-14, abs_tol=offset)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_every_example_of_a_kind_can_be_read(kind):
    assert all(math.isfinite(u.si(text, kind)) for text in kind.examples)


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text):
    for kind in (u.LENGTH, u.PRESSURE, u.FRACTION, u.TURNS):
        try:
            value = u.si(text, kind)
        except u.UnitError:
            value = 0.0
        assert math.isfinite(value)


@pytest.mark.parametrize(
    ("value", "kind", "expected"),
    [
        (1.42e6, u.PRESSURE, "14.2 bar (206 psi)"),
        (0.0, u.PRESSURE, "0 bar (0 psi)"),
        (-5e4, u.PRESSURE, "-0.5 bar (-7.25 psi)"),
        (323.15, u.TEMPERATURE, "50 degC (122 degF)"),
        (3.2e-6, u.VOLUME, "3.2 mL (cc)"),
        (1e-5, u.FLOW, "10 mL/s (600 cc/min)"),
        (0.18, u.VISCOSITY, "180 mPa*s (cP)"),
        (26.0, u.VISCOSITY, "26000 mPa*s (cP)"),
        (0.0127, u.LENGTH, "12.7 mm (0.5 in)"),
        (5100.0, u.FORCE, "5.1 kN (1150 lbf)"),
        (0.05, u.FRACTION, "5 %"),
    ],
)
def test_people_read_trade_units_with_three_digits(value, kind, expected):
    assert u.show(value, kind) == expected


@pytest.mark.parametrize(
    ("value", "figures", "expected"),
    [
        (1234.6, 3, "1230"),
        (0.00123456, 2, "0.0012"),
        (99.96, 3, "100"),
        (-2.5, 3, "-2.5"),
        (3.0, 3, "3"),
        (1.5e-9, 3, "1.5e-9"),
        (2e10, 3, "2e10"),
        (0.0, 3, "0"),
        (math.inf, 3, "inf"),
    ],
)
def test_significant_figures(value, figures, expected):
    assert u.digits(value, figures) == expected
