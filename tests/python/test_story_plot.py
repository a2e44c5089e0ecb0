"""Pictures of several runs: they draw what was computed, and can be read without colour."""

import math
from pathlib import Path

import matplotlib

matplotlib.use("agg")

import matplotlib.pyplot as plt
import numpy as np
import pytest
from matplotlib.colors import to_rgb

from evenfront import load_case, mending, story_plot, trim

CASES = Path(__file__).parents[2] / "data" / "cases"
ML, BAR = 1e-6, 1e5


@pytest.fixture(scope="module")
def boom():
    return load_case(CASES / "long-boom-held-shots.toml").changed({"run.repeat": 2})


@pytest.fixture(scope="module")
def runs(boom):
    stiff = boom.changed({"resin.line[0].wall_expansion": None})
    return {"as written": boom.simulate(), "stiff hose": stiff.simulate()}


@pytest.fixture(scope="module")
def result():
    return trim(load_case(CASES / "bleed-the-hardener.toml"))


@pytest.fixture(autouse=True)
def leaves_no_trace():
    before = dict(matplotlib.rcParams)
    yield
    assert dict(matplotlib.rcParams) == before
    plt.close("all")


def line(ax, name):
    """Data of the line of this name."""
    return next(drawn.get_data() for drawn in ax.lines if drawn.get_label() == name)


def widths(ax):
    """Lengths of the bars by row, one list per series."""
    return [[bar.get_width() for bar in series] for series in ax.containers]


def rows(ax):
    """Names beside the bars, on one line each."""
    return [label.get_text().replace("\n", " ") for label in ax.get_yticklabels()]


@pytest.mark.parametrize(
    "draw",
    [
        story_plot.lead,
        story_plot.outlet,
        story_plot.entering,
        story_plot.trapped,
        lambda runs, ax=None: story_plot.over_time(runs, "mixing point", ax=ax),
    ],
    ids=["lead", "outlet", "entering", "trapped", "over_time"],
)
def test_draws_in_the_axes_given_and_labels_them_with_units(runs, draw):
    figure, ax = plt.subplots()
    assert draw(runs, ax=ax) is ax
    assert plt.get_fignums() == [figure.number]
    assert draw(runs).figure.number != figure.number
    assert ax.get_xlabel().endswith("]")
    assert ax.get_ylabel().endswith("]") or len(ax.get_yticks()) == len(runs)
    figure.canvas.draw()


def test_lead_is_that_of_the_shot_of_each_run(runs):
    ax = story_plot.lead(runs, shot=(0, 1))
    for (name, run), shot in zip(runs.items(), (0, 1), strict=True):
        time, drawn = line(ax, name)
        assert drawn[-1] * ML == pytest.approx(run.measures.shots[shot].net_lead, abs=1e-15)
        assert time[-1] == pytest.approx(run.measures.shots[shot].duration)
    with pytest.raises(ValueError, match="zip"):
        story_plot.lead(runs, shot=(0,))


def test_outlet_errors_are_per_cent_of_the_ratio_asked(runs):
    ax = story_plot.outlet(runs, model="plug")
    for name, run in runs.items():
        drawn = next(patch for patch in ax.patches if patch.get_label() == name).get_data()
        assert drawn.values == pytest.approx(100 * run.outlet(model="plug").error)


def test_bars_stand_as_long_as_their_values_with_a_figure_each():
    ax = story_plot.bars({"a": (1.5, -2.0), "b": (0.25, 4.0)}, "volume [mL]", series=("x", "y"))
    assert widths(ax) == [[1.5, 0.25], [-2.0, 4.0]]
    assert rows(ax) == ["a", "b"]
    said = {text.get_text() for text in ax.texts}
    assert said == {"1.5", "0.25", "\N{MINUS SIGN}2", "4"}
    assert ax.yaxis_inverted()  # the first on top


def test_six_lines_differ_without_colour():
    dashes = [str(story_plot._style(i)["linestyle"]) for i in range(6)]
    colours = [to_rgb(story_plot._style(i)["color"]) for i in range(6)]

    def lightness(colour):  # CIE 1976 L* of an sRGB colour, IEC 61966-2-1
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour]
        return 116 * math.cbrt(np.dot([0.2126, 0.7152, 0.0722], linear)) - 16

    for i in range(6):
        for j in range(i):
            if dashes[i] == dashes[j]:
                assert abs(lightness(colours[i]) - lightness(colours[j])) > 20


def test_what_enters_is_what_passed_the_shut_offs(boom):
    """Conservation: hardener drawn, share times volume, is hardener delivered."""
    run = boom.changed({"run.repeat": 1}).simulate()
    ax = story_plot.entering({"run": run})
    drawn = next(patch for patch in ax.patches if patch.get_label() == "run").get_data()
    inside = drawn.edges[:-1] >= 0.0
    entered = np.dot(drawn.values, np.diff(drawn.edges) * inside) / 100.0
    before = drawn.edges[0] * run.ratio / (1.0 + run.ratio)
    assert entered + before == pytest.approx(run.trace.hardener.volume[-1] / ML, rel=1e-3)


def test_trapped_pressures_balance_the_shaft(boom):
    """Statics: with the drive's force gone, forces of both pistons add up to nothing."""
    steps = [{"dispense": "1 s"}, {"dwell": "30 s"}]
    loose = boom.changed({"drive.between_shots": "vent_drive", "run.steps": steps})
    resin, hardener = (series[0] for series in widths(story_plot.trapped({"x": loose.simulate()})))
    areas = [math.pi / 4 * bore**2 for bore in (70e-3, 26.19e-3)]  # of the case file
    assert hardener < 0.0 < resin
    assert resin * areas[0] == pytest.approx(-hardener * areas[1], rel=1e-3)


def test_remaining_marks_where_to_start_and_leaves_out_the_purge(result):
    ax = story_plot.remaining(result)
    first = mending.first_to_do(result)
    assert first.name.startswith("bleed")
    names = rows(ax)
    assert f"start here: {first.name}" in names
    assert not any("purge" in name for name in names)
    plug, dispersed = widths(ax)
    assert plug[0] * ML == pytest.approx(result.before.shot.outlet_plug.soft_volume)
    assert plug[names.index(f"start here: {first.name}")] * ML == pytest.approx(
        first.soft, rel=1e-6
    )  # the same machine, simulated again
    assert len(plug) == len(dispersed) == len(names)


def test_every_quantity_is_drawn_in_its_unit(runs):
    one = {"run": runs["as written"]}
    trace = one["run"].trace
    span = trace.shots[-1]
    ends = {
        "resin flow": trace.resin.flow[span.close] / ML,
        "hardener flow": trace.hardener.flow[span.close] / ML,
        "resin cylinder": trace.resin.pressure[span.close, 0] / BAR,
        "hardener cylinder": trace.hardener.pressure[span.close, 0] / BAR,
        "mixing point": trace.mixer_pressure[span.close] / BAR,
        "shaft speed": trace.speed[span.close] * 1e3,
        "shaft position": trace.position[span.close] * 1e3,
        "drive force": trace.force[span.close] / 1e3,
    }
    for quantity, value in ends.items():
        ax = story_plot.over_time(one, quantity)
        assert line(ax, "run")[1][span.close - span.open] == pytest.approx(value)
        assert bool(ax.child_axes) == ("pressure" in ax.get_ylabel())  # psi beside bar
        plt.close("all")
