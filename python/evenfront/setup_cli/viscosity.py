"""`setup viscosity`: a law of viscosity from measured points."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evenfront import setup
from evenfront.finding import Finding
from evenfront.setup_cli.command import Command, Inputs, Option
from evenfront.setup_cli.readers import TEMPERATURE, one_of, sheet

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def _do_viscosity(i: Inputs) -> Finding:
    return setup.viscosity(
        i["points"], i["model"], i["law"], reference_temperature=i["reference-temperature"]
    )


def _points(path: str) -> setup.Points:
    return setup.Points.read(sheet(path))


def _draw_viscosity(finding: setup.ViscosityFinding, ax: Axes) -> None:
    assert finding.fit is not None
    setup.plot_viscosity(finding.fit, ax=ax)


COMMANDS = (
    Command(
        "viscosity",
        "fit a law of viscosity to a file of points; with --plot the curve over them",
        _do_viscosity,
        (
            Option(
                "points",
                _points,
                'CSV file, first line "temperature [degC],shear rate [1/s],viscosity [Pa*s]"; the '
                "first two columns may be left out",
                needed=True,
                positional=True,
            ),
            Option(
                "model",
                one_of(setup.MODELS),
                f"law of shear: {', '.join(setup.MODELS)}",
                "newtonian",
            ),
            Option(
                "law",
                one_of(setup.TEMPERATURE_LAWS),
                f"law of temperature: {', '.join(setup.TEMPERATURE_LAWS)}",
                "arrhenius",
            ),
            Option(
                "reference-temperature",
                TEMPERATURE,
                "at which the viscosity is stated; default the middle one of the points",
            ),
        ),
        case="none",
        draw=_draw_viscosity,
    ),
)
