"""Pictures: what they draw, that they can be read without colour, that they disturb nothing."""

import copy
import math
from pathlib import Path

import matplotlib

matplotlib.use("agg")

import matplotlib.pyplot as plt
import numpy as np
import pytest
from matplotlib.colors import to_rgb

from evenfront import _core, load_case, overview_plot, plot, plot_base, trim, trim_plot

CASES = sorted((Path(__file__).parents[2] / "data" / "cases").glob("*.toml"))
DEMO = next(path for path in CASES if path.stem == "long-boom-held-shots")
SINGLE = (plot.outlet, plot.flows, plot.pressures, plot.lead, plot.strip)
ML, BAR = 1e-6, 1e5


@pytest.fixture(scope="module")
def run():
    return load_case(DEMO).simulate()


@pytest.fixture(scope="module")
def result():
    return trim(load_case(DEMO))


def line(ax, name):
    """Data of the line of this name in an axes."""
    return next(drawn.get_data() for drawn in ax.lines if drawn.get_label() == name)


def steps(ax, name):
    """Values and edges of the stairs of this name in an axes."""
    found = next(patch for patch in ax.patches if patch.get_label() == name).get_data()
    return found.values, found.edges


def labels(ax):
    """Axis labels that a person reads, those of second axes too."""
    second = [axis for child in ax.child_axes for axis in (child.xaxis, child.yaxis)]
    found = [axis.get_label_text() for axis in (ax.xaxis, ax.yaxis, *second)]
    return [text for text in found if text]


def luminance(colour):
    """Relative luminance of an sRGB colour, 0 black to 1 white (IEC 61966-2-1)."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return float(np.dot([0.2126, 0.7152, 0.0722], linear))


def lightness(colour):
    """CIE 1976 lightness L*, 0 black to 100 white (CIE 15), of a colour that is not near black."""
    return 116 * math.cbrt(luminance(colour)) - 16


@pytest.mark.parametrize("draw", SINGLE)
def test_a_picture_draws_in_the_axes_it_is_given_and_changes_no_setting(run, draw):
    figure, (mine, other) = plt.subplots(1, 2)
    plt.sca(other)
    before = copy.deepcopy(dict(matplotlib.rcParams))
    assert draw(run, ax=mine) is mine
    assert dict(matplotlib.rcParams) == before
    assert plt.get_fignums() == [figure.number]
    assert plt.gca() is other
    assert not other.has_data()
    assert mine.has_data()


def test_panels_draw_in_the_axes_they_are_given(run, result):
    figure, axes = plt.subplots(2, 3)
    drawn = (
        plot.outlet_models(run, axes=axes[:, 0]),
        trim_plot.before_after(result.answer, axes=axes[:, 1]),
        trim_plot.trim_curve(result, axes=axes[:, 2]),
    )
    assert plt.get_fignums() == [figure.number]
    for (found, panels), column in zip(drawn, axes.T, strict=True):
        assert found is figure
        assert list(panels) == list(column)
        assert all(ax.has_data() for ax in column)


@pytest.mark.parametrize("draw", SINGLE)
def test_every_axis_has_a_name_and_a_unit(run, draw):
    ax = draw(run)
    ax.figure.canvas.draw()
    # The strip's upright axis has its units at each tick.
    ticks = [text.get_text() for text in ax.get_yticklabels()] if draw is plot.strip else []
    assert all("mL" in text for text in ticks)
    found = labels(ax)
    assert len(found) >= 2
    assert all("[" in text or (ticks and text == ax.get_ylabel()) for text in found)


def test_a_label_of_the_user_stays(run):
    _, ax = plt.subplots()
    ax.set(xlabel="mine", title="also mine")
    plot.strip(run, ax=ax)
    assert (ax.get_xlabel(), ax.get_title()) == ("mine", "also mine")


def test_lines_are_as_thick_and_words_as_dark_as_the_users_style_has_them(run):
    with plt.style.context({"lines.linewidth": 4.0, "text.color": "#ddeeff"}):
        ax = plot.lead(run)
        curve = next(drawn for drawn in ax.lines if drawn.get_label() == "lead")
        assert curve.get_linewidth() == 4.0
        assert to_rgb(curve.get_color()) == to_rgb("#ddeeff")


@pytest.mark.parametrize("shot", [0, -1])
@pytest.mark.parametrize(("model", "name"), [("plug", "plug"), ("dispersed", "Pe 100")])
def test_the_outlet_curve_is_the_ratio_error_of_the_run(run, shot, model, name):
    ax = plot.outlet(run, shot=shot, model=model)
    values, edges = steps(ax, f"outlet, {name}")
    drawn = run.outlet(shot, model)
    np.testing.assert_allclose(values, 100 * drawn.error)
    np.testing.assert_allclose(edges, drawn.volume / ML)
    values, edges = steps(ax, "inlet")
    np.testing.assert_allclose(values, 100 * run.outlet(shot, place=0.0).error)


def test_the_zones_cover_what_is_outside_the_tolerance_and_nothing_else(run):
    ax = plot.outlet(run)
    error, tolerance = run.outlet().error, run.target.tolerance_high
    rich, edges = steps(ax, "too much hardener (soft)")
    lean, _ = steps(ax, "too little hardener (brittle)")
    np.testing.assert_array_equal(rich > 100 * tolerance, error > tolerance)
    np.testing.assert_array_equal(lean < -100 * tolerance, error < -tolerance)
    # The measure runs straight between the middles of pieces, the picture in steps: a piece or two
    # differ at each of three borders, each below 0.05 mL here.
    hatched = np.diff(edges)[(rich > 100 * tolerance) | (lean < -100 * tolerance)].sum()
    assert hatched == pytest.approx(run.shot.outlet.volume / ML, abs=0.15)


def test_flows_are_those_of_the_trace_and_meet_where_the_ratio_is_the_steady_one(run):
    ax = plot.flows(run)
    span = run.trace.shots[-1]
    rows = slice(span.open, span.shut + 1)
    time, resin = line(ax, run.case.labels[0])
    np.testing.assert_array_equal(time, run.trace.time[rows] - run.trace.time[span.open])
    np.testing.assert_allclose(resin * ML, run.trace.resin.flow[rows])
    _, hardener = line(ax, f"{run.case.labels[1]} (right axis)")
    np.testing.assert_allclose(hardener * ML * run.ratio, run.trace.hardener.flow[rows])
    close = span.close - span.open
    assert hardener[close] == pytest.approx(resin[close], rel=1e-3)  # steady at the close command
    ax.figure.canvas.draw()
    right = ax.child_axes[0].get_ylim()
    np.testing.assert_allclose(right, np.array(ax.get_ylim()) * run.ratio)


def test_pressures_are_gauge_readings_in_bar_and_psi(run):
    ax = plot.pressures(run)
    span = run.trace.shots[-1]
    rows = slice(span.open, span.shut + 1)
    for label, stream in zip(run.case.labels, (run.trace.resin, run.trace.hardener), strict=True):
        for place, column in (("cylinder", 0), ("head", -1)):
            _, drawn = line(ax, f"{label}, {place}")
            np.testing.assert_allclose(drawn * BAR, stream.pressure[rows, column])
    ax.figure.canvas.draw()
    low, high = ax.child_axes[0].get_ylim()
    # 1 bar = 14.5038 psi, NIST SP 811 (2008), B.8: 1 psi = 6.894757e3 Pa
    np.testing.assert_allclose([low, high], np.array(ax.get_ylim()) * 1e5 / 6.894757e3, rtol=1e-6)


def test_the_whole_run_is_drawn_where_no_shot_is_named(run):
    time, _ = line(plot.pressures(run, shot=None), "mixing point")
    np.testing.assert_array_equal(time, run.trace.time)


def test_the_lead_is_that_of_the_run_and_its_peaks_are_the_measures(run):
    ax = plot.lead(run, shot=0)
    curve, measures = run.lead(0), run.measures.shots[0]
    time, drawn = line(ax, "lead")
    np.testing.assert_array_equal(time, curve.time)
    np.testing.assert_allclose(drawn * ML, curve.lead)
    texts = {text.get_text(): text for text in (*ax.get_legend().get_texts(), *ax.texts)}
    assert f"net lead at close +{measures.net_lead / ML:.1f} mL" in texts
    assert f"swing {measures.swing / ML:.1f} mL" in texts


def test_a_strip_shows_the_plug_where_the_liquid_has_carried_it(run):
    """Common practice: as plug, what entered first is after a volume V at V/V_mix of the length."""
    held, mixer = _core.hold_up(run.machine.mixer), run.machine.mixer
    share = 0.5
    ax = plot.strip(run, model="plug", instants=[share * held])
    values = next(patch for patch in ax.patches if patch.get_label() == "").get_data()
    middles = (values.edges[1:] + values.edges[:-1]) / 2
    steady = values.values[-1]
    front = middles[np.abs(values.values - steady) > 1e-3][-1]
    assert front == pytest.approx(share * mixer.length * 1e3, abs=2 * np.diff(values.edges)[0])
    assert middles[np.argmax(values.values)] == pytest.approx(front, abs=0.02 * mixer.length * 1e3)


def test_the_trim_curve_is_that_of_the_result_and_marks_every_answer(result):
    _, (upper, lower) = trim_plot.trim_curve(result)
    added, soft = line(upper, "soft volume S")
    for trial in result.curve:
        at = np.flatnonzero(np.isclose(added, trial.hardener_back_pressure / BAR))
        assert any(np.isclose(soft[at], trial.outlet.soft_volume / ML))
    assert np.all(np.diff(added) >= 0)
    _, net = line(lower, "net lead")
    assert np.ptp(net) < 0.02  # held shots: nearly the same at every setting
    marked = {drawn.get_label(): drawn.get_data() for drawn in upper.lines}
    trial = result.answers["least_soft"].core.trial
    assert marked["S, least soft"][0][0] == trial.hardener_back_pressure / BAR
    assert marked["S, least soft"][1][0] == trial.outlet.soft_volume / ML
    assert "S, net lead nulled" not in marked  # nothing to null


def test_before_and_after_differ_as_the_answer_says(result):
    _, (left, right) = trim_plot.before_after(result.answer)
    answer = result.answer
    for name, run in (("before", answer.before), ("after", answer.after)):
        values, _ = steps(left, name)
        np.testing.assert_allclose(values, 100 * run.outlet().error)
    named = [drawn.get_label() for drawn in right.lines]
    assert any(name.startswith("before: swing") for name in named)
    assert any(name.startswith("after: swing") for name in named)


def test_streams_and_zones_can_be_told_apart_without_colour(run):
    # Twenty L* apart is seen at once in greyscale: common practice, no source.
    assert abs(lightness(plot_base.RESIN) - lightness(plot_base.HARDENER)) > 20
    for colour in (plot_base.RESIN, plot_base.HARDENER):
        # WCAG 2.2, 1.4.11: graphics at least 3:1 against what is beside them; white, then black
        assert 1.05 / (luminance(colour) + 0.05) >= 3
        assert (luminance(colour) + 0.05) / 0.05 >= 3
    ax = plot.flows(run)
    assert len({drawn.get_linestyle() for drawn in ax.lines[:2]}) == 2
    ax = plot.outlet(run)
    hatches = {patch.get_hatch() for patch in ax.patches if "hardener (" in patch.get_label()}
    assert len(hatches) == 2
    assert None not in hatches


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_every_demo_case_fills_its_page(path, tmp_path):
    figure, panels = overview_plot.overview(load_case(path).simulate())
    assert all(ax.has_data() for ax in panels.values())
    figure.savefig(tmp_path / "page.png", dpi=60)
    page = figure.bbox.padded(1.0)
    renderer = figure.canvas.get_renderer()
    for ax in panels.values():  # nothing is cut off at the page's edge
        box = ax.get_tightbbox(renderer)
        assert page.containsx(box.x0)
        assert page.containsx(box.x1)
        assert page.containsy(box.y0)
        assert page.containsy(box.y1)


def test_a_trim_fills_its_page(result, tmp_path):
    figure, panels = overview_plot.overview(result)
    assert all(ax.has_data() for ax in panels.values())
    figure.savefig(tmp_path / "page.svg")


def test_a_run_without_a_shot_shows_its_pressures_and_says_why():
    still = load_case(DEMO).changed({"drive.force": "0.01 N", "shaft.friction": "100 N"}).simulate()
    assert still.status != "ok"
    for draw in SINGLE:
        draw(still).figure.canvas.draw()
    _, panels = overview_plot.overview(still)
    assert panels["pressures"].get_title().replace("\n", " ") == still.message
