"""What several tests share: a small machine, invented, within the usual ranges."""

import sys
from collections.abc import Iterator

import pytest

from evenfront import _core as core


@pytest.fixture
def machine() -> core.Machine:
    """Filled epoxy and amine, 100:14, held between shots."""
    resin = core.Stream(
        liquid=core.Liquid(density=1750.0, bulk_modulus=2.5e9, free_gas=0.015),
        rheology=core.Rheology(consistency=36.7, index=0.85),
        cylinder=core.Cylinder(bore=70e-3, temperature=298.15),
        line=[
            core.Segment(
                name="hose", bore=16e-3, length=6.0, temperature=298.15, wall_expansion=3.5e-13
            )
        ],
        throttle=core.Throttle(resistance=2e9),
        shutoff=core.Shutoff(resistance=2e9, open_time=0.05, close_time=0.05),
    )
    hardener = core.Stream(
        liquid=core.Liquid(density=1050.0, bulk_modulus=1.7e9, free_gas=2e-4),
        rheology=core.Rheology(consistency=0.18),
        cylinder=core.Cylinder(bore=26.19e-3, temperature=298.15),
        line=[
            core.Segment(
                name="hose", bore=4.8e-3, length=6.0, temperature=298.15, wall_expansion=2e-14
            )
        ],
        throttle=core.Throttle(resistance=2e10),
        shutoff=core.Shutoff(resistance=1e10, open_time=0.05, close_time=0.05),
    )
    return core.Machine(
        resin=resin,
        hardener=hardener,
        shaft=core.Shaft(stroke=0.2, position=0.06, mass=12.0),
        drive=core.Drive(force=4600.0, rise_time=0.25),
        mixer=core.Mixer(bore=13e-3, length=0.25, void_fraction=0.82, blend_viscosity=9.0),
    )


@pytest.fixture(autouse=True)
def no_figures_left_open() -> Iterator[None]:
    """Each test starts and ends without figures, whatever it draws."""
    yield
    if "matplotlib.pyplot" in sys.modules:
        sys.modules["matplotlib.pyplot"].close("all")


@pytest.fixture
def sequence() -> core.Sequence:
    """Two held shots."""
    shot = core.Step(kind="dispense_time", amount=3.0)
    dwell = core.Step(kind="dwell", amount=20.0)
    return core.Sequence(steps=[shot, dwell], repeat=2)


@pytest.fixture
def target() -> core.Target:
    """What the part asks for."""
    return core.Target(ratio=0.14, tolerance_high=0.05, tolerance_low=0.05)
