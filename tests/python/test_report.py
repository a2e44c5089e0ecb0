"""Words of a run and a trim: their order, their units, and that they say what the numbers say."""

import datetime
import html
import re
from pathlib import Path

import pytest

from evenfront import load_case, mending, report, shot_words, trim, trim_report
from evenfront import units as u
from evenfront.words import version

CASES = sorted((Path(__file__).parents[2] / "data" / "cases").glob("*.toml"))
DEMO = next(path for path in CASES if path.stem == "long-boom-held-shots")
NEEDLE = next(path for path in CASES if path.stem == "needle-and-encoder")
WAIT = next(path for path in CASES if path.stem == "wait-one-second")
BLEED = next(path for path in CASES if path.stem == "bleed-the-hardener")

TITLES = [
    r"^1 Shot \d+ of \d+",
    r"^2 What to do, cheapest first",
    r"^3 Ratio",
    r"^4 Pressures",
    r"^5 What moves the answer most",
    r"^6 Proof by catch weights",
    r"^7 Cautions",
]


@pytest.fixture(scope="module")
def results():
    return {path.stem: trim(load_case(path)) for path in CASES}


@pytest.fixture(scope="module")
def demo(results):
    return results[DEMO.stem]


def flat(text):
    return " ".join(text.split())


def first_screen(text):
    """Up to the cautions' end; what the case says of itself comes after."""
    return re.split(r"^(?:Warnings|Assumed)$", text, flags=re.MULTILINE)[0]


# --- order, units, length --------------------------------------------------------------------


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_trim_is_told_in_its_fixed_order(results, path):
    text = report.trim_text(results[path.stem])
    places = [re.search(title, text, re.MULTILINE).start() for title in TITLES]
    assert places == sorted(places)
    assert len(first_screen(text).splitlines()) <= 75


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_people_read_bar_with_psi_and_mL_with_cc_never_Pa_or_K(results, path):
    for text in (
        report.trim_text(results[path.stem]),
        report.run_text(results[path.stem].before),
    ):
        screen = flat(first_screen(text))
        assert not re.search(r"\d (?:[kM]?Pa|K|m\^3)\b", screen)
        for found in re.finditer(r"\d bar\b(?!\*|/)", screen):
            after = screen[found.end() : found.end() + 60]
            # "1 to 2 bar per degC (8 to 16 psi per degF)" is the one rate.
            assert re.match(r" \(?[^()]*\(?[-+0-9., and]*\d psi|[^(]*\(\d+ to \d+ psi", after), (
                screen[found.start() - 20 : found.end() + 40]
            )


def test_bar_and_psi_are_the_same_pressure(demo):
    # 1 bar = 14.503774 psi, from 1 lbf = 4.4482216152605 N and 1 in = 25.4 mm (definitions).
    rows = re.findall(
        r"(\d+(?:\.\d+)?) \((\d+(?:\.\d+)?)\)", report.trim_text(demo).split("4 Pressures")[1]
    )
    assert len(rows) >= 12
    for bar, psi in rows:
        assert float(psi) == pytest.approx(14.503774 * float(bar), rel=1e-2)


def test_cautions_name_each_hazard_and_defer_to_those_who_know(demo):
    for text in (report.trim_text(demo), report.run_text(demo.before), report.page(demo)):
        said = flat(html.unescape(text))
        for words in (
            "relieve pressure before opening",
            "closed valves",
            "1 to 2 bar per degC",
            "ratings",
            "Hot surfaces",
            "sensitisers",
            "heat of reaction",
            "safety data sheets",
            "equipment maker's manual",
            "local codes",
            "licensed practice",
            "catch weights",
        ):
            assert words in said


# --- what is said is what was computed -------------------------------------------------------


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_values_in_words_and_on_the_page_are_those_of_the_object(results, path):
    result = results[path.stem]
    before = result.to_dict()["before"]
    page = report.as_html(trim_report.trim_sections(result))
    for text in (report.trim_text(result), html.unescape(page)):
        said = flat(text)
        off = before["off_ratio_volume_outlet_mL"]
        assert f"{u.digits(off, 3 if off >= 1 else 2)} of " in said
        start, end = before["off_ratio_start_outlet_mL"], before["off_ratio_end_outlet_mL"]
        assert f"from {u.digits(start)} to {u.digits(end)} mL (cc)" in said
        soft = before["soft_volume_mL"]
        assert u.digits(soft, 3 if soft >= 1 else 2) in said


def test_gauge_readings_are_those_of_the_answer(demo):
    text = flat(report.trim_text(demo))
    gauges = demo.answer.to_dict()["target_gauges"]
    for reading in gauges.values():
        value, low, high = (u.digits(reading[key]) for key in ("value", "low", "high"))
        assert (value if low == high else f"{value} ({low}-{high})") in text


def test_ratio_by_volume_and_by_weight_both_ways_round(demo):
    # 100:14 at 1.75 and 1.05 g/cm^3 is 100:8.4 by weight; 7.143:1 and 11.90:1, closed form.
    text = flat(report.trim_text(demo))
    assert "Asked 100:14 (7.143:1) by volume, 100:8.4 (11.9:1) by weight" in text
    assert "delivered 100:14.01" in text
    assert "trim never mends it" in text


def test_the_catch_of_a_whole_shot_is_what_passed_until_the_valves_were_shut(results):
    # Lead of the cup: hardener less ratio times resin, after-close liquid included.
    result = results[WAIT.stem]
    m = result.before.to_dict()
    ratio = 0.08 * (1.0 + m["steady_ratio_error"])
    hardener = m["hardener_dispensed_mL"] + m["after_close_hardener_mL"]
    resin = m["resin_dispensed_mL"] + m["after_close_resin_mL"]
    over = (hardener - ratio * resin) * 0.98
    text = flat(report.trim_text(result))
    assert f"{u.digits(resin * 1.85)} g resin with {u.digits(hardener * 0.98)} g hardener" in text
    assert f"{u.digits(over)} g over ratio" in text


def test_whole_held_shots_hide_the_lead_and_the_catch_says_so(demo):
    # Packing identity: open to open a held cycle delivers on ratio whatever happens within it.
    assert "Whole shots hide it (on ratio)" in flat(report.trim_text(demo))


def test_the_soft_volume_of_the_offset_alone_is_the_closed_form():
    # e^2/(e^2 + tol^2) over the shot and two hold-ups; hold-up 0.82 pi/4 1.3^2 25 = 27.2 mL.
    case = load_case(DEMO).changed({"ratio.hardener_per_resin": 0.1386})
    run = case.simulate()
    m = run.to_dict()
    e = m["steady_ratio_error"]
    followed = m["resin_dispensed_mL"] + m["hardener_dispensed_mL"] + 2 * 27.2101
    expected = e * e / (e * e + 0.05**2) * followed
    assert shot_words.offset_share(run) * 1e6 == pytest.approx(expected, rel=1e-5)
    assert f"about {u.digits(expected)} mL (cc) is the steady offset" in flat(report.run_text(run))


def test_an_offset_that_makes_most_of_the_softness_is_to_be_mended_first(results):
    text = flat(report.trim_text(results[NEEDLE.stem]))
    assert "mend that first" in text
    assert "start with" not in text


# --- what is said first ----------------------------------------------------------------------


def first_said(text):
    """What stands below the first heading, on one line."""
    below = text.splitlines()
    first = next(i for i, line in enumerate(below) if line.startswith("  "))
    last = next(i for i, line in enumerate(below) if i > first and not line.startswith("  "))
    return " ".join(line.strip() for line in below[first:last])


def test_residence_models_that_disagree_are_said_before_the_verdict(demo):
    before = demo.to_dict()["before"]
    plug = before["off_ratio_volume_outlet_plug_mL"]
    assert plug > 1.0
    assert before["off_ratio_volume_outlet_pe100_mL"] == 0.0
    said = first_said(report.trim_text(demo))
    assert said.startswith(f"The residence model decides: as plug {u.digits(plug)} mL")


def test_nulling_that_softens_more_is_said_before_the_verdict():
    case = load_case(NEEDLE).changed({"run.repeat": 1, "run.steps": [{"dispense": "500 counts"}]})
    result = trim(case)
    null = result.to_dict()["null"]
    then = null["after"]["off_ratio_volume_outlet_mL"]
    now = null["before"]["off_ratio_volume_outlet_mL"]
    assert then > now
    said = first_said(report.trim_text(result))
    assert said.startswith("Nulling the net lead makes it worse")
    assert f"{u.digits(now)} to {u.digits(then)} mL" in said.partition(". ")[0]


def test_three_demo_cases_have_three_right_answers(results):
    # Needle, bleed, wait: what a commissioning engineer would do; common practice, no source.
    def first(path):
        return flat(report.trim_text(results[path.stem])).split("start with: ")[1]

    assert re.match(r"throttle Part A \+0\.\d+, Part B \+\d(\.\d)? bar", first(DEMO))
    assert first(BLEED).startswith("bleed 0.4 mL (cc) of air at hardener head")
    assert first(WAIT).startswith("preload for ")


def test_actions_are_ranked_by_effort_and_cost_and_say_what_they_leave(demo):
    ranked = mending.actions(demo)
    costs = [(action.effort, action.share) for action in ranked]
    assert costs == sorted(costs)
    before = demo.before.shot.outlet.soft_volume
    for action in ranked:
        assert action.soft == pytest.approx(before - action.removed, abs=1e-15)


def test_a_setting_that_costs_flow_names_the_drive_that_restores_it(demo):
    answer = demo.answer.to_dict()
    text = flat(report.trim_text(demo))
    assert answer["flow_lost_fraction"] > 0.005
    assert f"a drive of {u.digits(answer['restoring_force_N'] / 1e3)} kN" in text
    assert "Trim again after degassing, always" in text


# --- verdicts, notebooks, page ---------------------------------------------------------------


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_results_print_as_one_sentence_and_as_html(results, path):
    result = results[path.stem]
    for one in (result.before, result.answer, result):
        sentence = repr(one)
        assert sentence.endswith(".")
        assert "\n" not in sentence
        page = one._repr_html_()
        assert page.count("<section>") == page.count("</section>") >= 1


def test_text_of_a_user_is_escaped_on_the_page_and_harmless_on_a_terminal():
    case = load_case(DEMO).changed(
        {
            "title": "<script>alert(1)</script>",
            "resin.label": "<b>A</b> & \x1b[31m",
            "resin.line[0].name": '"><img src=x>',
        }
    )
    result = trim(case, "least_soft")
    for page in (report.page(result), report.page(result.before), result._repr_html_()):
        assert "<script>" not in page
        assert "<b>A</b>" not in page
        assert "<img" not in page
        assert "\x1b" not in page
        assert "&lt;b&gt;A&lt;/b&gt;" in page
    assert "\x1b" not in report.trim_text(result)
    assert "\x1b" not in repr(result.before)


def test_the_page_stands_alone_with_pictures_date_version_inputs_and_assumptions(demo, tmp_path):
    path = tmp_path / "page.html"
    report.write_html(demo, path)
    page = path.read_text(encoding="utf-8")
    assert "<svg" in page
    assert not re.search(r'(?:src|href)="(?!#)', page.replace("xlink:href", "href"))
    assert "prefers-color-scheme: dark" in page
    assert "@media print" in page
    assert datetime.date.today().isoformat() in page
    assert f"evenfront {version()}" in page
    assert "<code>resin.line[0].wall_expansion</code></td><td>0.035 mL/bar/m" in page
    for sentence in demo.case.assumptions:
        assert sentence in html.unescape(page)


def test_a_run_without_a_shot_has_a_page_and_words():
    run = load_case(DEMO).changed({"shaft.friction": "5 kN"}).simulate()
    assert repr(run).startswith("Nothing flows, because the drive force of 4.6 kN")
    assert "<svg" not in report.page(run)
    assert "Nothing flows" in report.page(run)


# --- throttles with lost motion ---------------------------------------------------------------


def test_a_setting_with_backlash_is_a_band_and_says_whether_the_answer_bears_it(results):
    result = results["rated-valve-and-filler"]
    answer = result.answer.to_dict()
    # Needle in turns with 0.125 of them lost, valve in per cent with 2 %; neither past its end.
    assert answer["resin_setting"]["unit"] == "turns"
    assert answer["hardener_setting"]["unit"] == "%"
    for name, lost in (("resin_setting", 0.125), ("hardener_setting", 2.0)):
        setting = answer[name]
        assert setting["low"] == pytest.approx(setting["value"] - lost)
        assert setting["high"] <= setting["value"] + lost + 1e-9
    name = "resin" if result.core.curve_sweeps_resin else "hardener"
    low, high = result.answer.backlash_band(name)
    edges = [
        getattr(trial.settings, name)
        for trial in (result.answer.core.band_open, result.answer.core.band_closed)
    ]
    bears = min(edges) <= low and high <= max(edges)
    text = flat(report.trim_text(result))
    if "With its backlash" in text:  # said where the throttle is to be set at all
        assert ("the answer bears that" in text) == bears
        assert ("set it by the gauge, always closing" in text) == (not bears)
    else:
        assert "No throttle setting is worth what it costs" in text


def test_without_backlash_a_setting_is_one_number(demo):
    assert set(demo.answer.to_dict()["hardener_setting"]) == {"value", "unit"}
