"""The settings sheet against sums done by hand and against what the trim itself says."""

import json
import math
import re
from pathlib import Path

import pytest
from explained import explained, long_boom

from evenfront import load_case, report, trim
from evenfront.cli import main
from evenfront.sheet import make_sheet
from evenfront.sheet_page import page, sections

CASES = Path(__file__).parents[2] / "data" / "cases"
DEMO = CASES / "long-boom-held-shots.toml"
PSI = 14.5037738  # psi in one bar, NIST SP 811


@pytest.fixture(scope="module")
def result():
    return long_boom().trim


@pytest.fixture(scope="module")
def sheet():
    return long_boom().sheet


@pytest.fixture(scope="module")
def counted():
    """Shots by counts, a machine whose throttles stay as they are."""
    return make_sheet(trim(load_case(CASES / "needle-and-encoder.toml")))


def test_gauges_and_settings_are_those_of_the_trim(result, sheet):
    told = sheet.to_dict()
    answer = result.answer.to_dict()
    assert sheet.trimmed
    for throttle, side in zip(told["throttles"], ("resin", "hardener"), strict=True):
        assert throttle["setting"] == answer[f"{side}_setting"]["value"]
        assert throttle["back_pressure_bar"] == answer[f"{side}_back_pressure_bar"]
    gauges = {gauge["place"]: gauge for gauge in told["gauges"]}
    for side, label in (("resin", "Part A"), ("hardener", "Part B")):
        closed = gauges[f"{label} cylinder"]["closed_bar"]
        for state, found in (
            ("cylinder_closed", closed),
            ("cylinder_flowing", gauges[f"{label} cylinder"]["flowing_bar"]),
            ("head_flowing", gauges[f"{label} head"]["flowing_bar"]),
        ):
            # The band is searched with the answer's run; the reading is that run's own.
            assert found == pytest.approx(answer["target_gauges"][f"{side}_{state}_bar"], rel=1e-6)
        assert gauges[f"{label} head"]["closed_bar"]["value"] == pytest.approx(
            closed["value"], abs=0.05
        )  # nothing flows: no pressure is lost on the way, but for the last of the settling


def test_the_regulator_gives_the_force_over_the_area_of_the_piston(sheet):
    # 4.6 kN on 100 mm: 4600 N / 7854 mm2 = 0.5857 N/mm2; on 125 mm: / 12272 mm2 (by hand; the bores
    # are those of ISO 15552).
    found = {r["air_cylinder_bore_mm"]: r["pressure_bar"] for r in sheet.to_dict()["regulators"]}
    assert found == pytest.approx({100.0: 5.857, 125.0: 3.748}, rel=2e-4)


def test_a_blocked_side_takes_the_whole_drive(sheet):
    # 4.6 kN over pi/4 (70 mm)^2 = 3848.5 mm2 and pi/4 (26.19 mm)^2 = 538.7 mm2, by hand.
    assert [b["pressure_bar"] for b in sheet.to_dict()["blocked"]] == pytest.approx(
        [11.953, 85.39], rel=2e-4
    )


@pytest.fixture(scope="module")
def rude():
    """A weak hose, and words that would do harm if they were not escaped."""
    changes = {
        "hardener.metering.rating": "80 bar",
        "title": "<script>alert(1)</script> & \"Sons'",
        "resin.label": "<b>A</b>",
    }
    return make_sheet(trim(load_case(DEMO).changed(changes), "least_soft"))


def test_a_side_that_would_burst_when_blocked_is_said_to_need_a_relief(rude, sheet):
    said = " ".join(report.as_text(sections(rude)).split())
    assert "If Part B alone is blocked, the whole drive puts 85.4 bar (1240 psi) on it" in said
    assert "needs a relief" in said
    assert "needs a relief" not in report.as_text(sections(sheet))


def test_the_ratio_by_weight_is_that_of_the_densities(sheet):
    told = sheet.to_dict()
    # 100:14 by volume, 1.75 and 1.05 g/cm3, +-5 %: 14 x 1.05/1.75 = 8.4, 7.98, 8.82 (by hand).
    assert 100 * told["hardener_per_resin_by_weight"] == pytest.approx(8.4, rel=1e-12)
    assert 100 * told["lowest_ratio_by_weight"] == pytest.approx(7.98, rel=1e-12)
    assert 100 * told["highest_ratio_by_weight"] == pytest.approx(8.82, rel=1e-12)
    whole = told["catches"][0]
    for end, limit in (("low", 7.98), ("high", 8.82)):
        assert 100 * whole["hardener_g"][end] / whole["resin_g"]["value"] == pytest.approx(limit)


def test_both_cups_of_a_whole_shot_hold_what_the_shot_weighs(sheet, counted):
    for one in (sheet, counted):
        told = one.to_dict()
        cups = [told["catches"][0][side]["value"] for side in ("resin_g", "hardener_g")]
        assert sum(cups) == pytest.approx(told["shot_weight_g"], rel=1e-12)


def test_a_shot_by_counts_has_its_counts_as_target_and_hardly_moves_in_weight(sheet, counted):
    assert counted.to_dict()["encoder_target_counts"] == pytest.approx(500.0, rel=1e-9)
    # 500 counts at 1200 counts per inch: 10.583 mm (by hand)
    assert counted.to_dict()["shot_travel_mm"] == pytest.approx(500 / 1200 * 25.4, rel=1e-9)
    assert sheet.to_dict()["encoder_target_counts"] is None
    for one, widest in ((counted, 1.03), (sheet, 2.0)):
        band = one.to_dict()["catches"][0]["resin_g"]
        assert 1.0 < band["high"] / band["low"] < widest
    timed = sheet.to_dict()["catches"][0]["resin_g"]
    assert timed["high"] / timed["low"] > 1.2  # 5 degC of a resin of 50 kJ/mol: 29 % of viscosity


def test_temperatures_are_those_set_one_row_a_zone(counted):
    rows = counted.to_dict()["temperatures"]
    assert [row["place"] for row in rows] == [
        "Part A cylinder, dispense hose",
        "Part A head",
        "Part B cylinder, dispense hose",
    ]
    assert [row["temperature_degC"] for row in rows] == pytest.approx([60.0, 50.0, 25.0])


def test_every_band_holds_its_value(sheet, counted):
    for one in (sheet, counted):
        told = one.to_dict()
        bands = [g[k] for g in told["gauges"] for k in ("closed_bar", "flowing_bar") if g[k]]
        bands += [c[k] for c in told["catches"] for k in ("resin_g", "hardener_g")]
        assert len(bands) == 13
        for band in bands:
            assert band["low"] <= band["value"] <= band["high"]


def test_a_remedy_that_comes_first_leaves_the_throttles_alone():
    sheet = explained().sheet
    assert not sheet.trimmed
    assert sheet.verdict.startswith("Throttles stay as they are. First: bleed 0.4 mL (cc) of air")
    assert all(t["back_pressure_bar"] == 0.0 for t in sheet.to_dict()["throttles"])


def test_the_page_holds_the_numbers_of_json_and_says_them_in_both_units(sheet):
    told, written = sheet.to_dict(), page(sheet)
    shown = re.findall(r'<data data-key="([^"]+)" value="([^"]+)">([^<]+)</data>', written)
    assert len(shown) > 40
    for key, value, _ in shown:
        number = told
        for step in key.split("."):
            number = number[int(step)] if isinstance(number, list) else number[step]
        assert float(value) == number, key
    pairs = re.findall(
        r'_bar\.value" value="([^"]+)">[^<]+</data> [^(]+\(<data [^>]+>([^<]+)<', written
    )
    assert len(pairs) == 9
    for bar, psi in pairs:
        assert float(psi) == pytest.approx(PSI * float(bar), rel=5e-3)  # three figures


def test_text_of_a_user_is_escaped(rude):
    written = page(rude)
    assert "<script" not in written
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; &#34;Sons&#39;" in written
    assert "<b>" not in written


def test_the_command_prints_json_and_writes_the_page(tmp_path, capsys):
    out = tmp_path / "sheet.html"
    assert (
        main(["sheet", str(CASES / "bleed-the-hardener-slack.toml"), "--json", "-o", str(out)]) == 0
    )
    told = json.loads(capsys.readouterr().out)
    assert told["throttles"][1]["unit"] == "bar*s/mL"
    assert all(math.isfinite(t["setting"]) for t in told["throttles"])
    assert "Settings sheet" in out.read_text(encoding="utf-8")


def test_nothing_is_written_where_nothing_flows_or_the_place_is_wrong(tmp_path, capsys):
    weak = tmp_path / "weak.toml"
    weak.write_text(DEMO.read_text().replace('force = "4.6 kN"', 'force = "1 N"'))
    out = tmp_path / "sheet.html"
    assert main(["sheet", str(weak), "-o", str(out)]) == 1
    assert capsys.readouterr().out.strip()
    assert main(["sheet", str(DEMO), "-o", str(tmp_path / "none" / "sheet.html")]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "there is no folder" in said.err
    assert main(["sheet", str(weak), "-o", str(weak)]) == 2
    assert "is the case file itself" in capsys.readouterr().err
    assert not out.exists()
    assert "force" in weak.read_text()
