"""What shafts, air, first fill, pauses, purges and mixer did in a run, and the words for it."""

import json
import math
import tomllib
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from evenfront import _core, behaviour, check_report, cli, load_case, report, shot_words
from evenfront.schema import json_schema

CASES = Path(__file__).parents[2] / "data" / "cases"
MACHINES = sorted((CASES / "machines").glob("*.toml"))
ML, BAR = 1e-6, 1e5


def run_of(name, **changes):
    return load_case(CASES / "machines" / f"{name}.toml").changed(changes).simulate()


@pytest.fixture(scope="module")
def fill():
    return run_of("first-fill")


@pytest.fixture(scope="module")
def air():
    return run_of("air-drive")


@pytest.fixture(scope="module")
def two():
    return run_of("two-drives")


# --- demo cases ------------------------------------------------------------------------------


@pytest.mark.parametrize("path", MACHINES, ids=lambda path: path.stem)
def test_demo_machines_are_read_and_say_that_they_are_invented(path):
    case = load_case(path)
    assert "(invented)" in case.title
    assert path.read_text().startswith("# Invented")
    assert case.warnings == ()
    jsonschema.Draft202012Validator(json_schema()).validate(tomllib.loads(path.read_text()))
    _core.validate(case.machine)


@pytest.mark.parametrize("path", MACHINES, ids=lambda path: path.stem)
def test_demo_machines_are_checked_and_run(path, capsys):
    assert cli.main(["check", str(path)]) == 0
    assert "Assumed" in capsys.readouterr().out
    assert cli.main(["run", str(path), "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert result["status"] == "ok"
    assert result["mass_balance_error"] < 1e-9
    assert [shot["class"] for shot in result["shots"]]


def test_every_key_of_the_demo_machines_reaches_the_core():
    """Nothing that is written is dropped on the way."""
    machines = {path.stem: load_case(path).machine for path in MACHINES}
    air = machines["air-drive"].drive
    assert air.kind == _core.DriveKind.air
    assert air.air.supply.conductance == pytest.approx(2e-8)
    assert air.air.rod_bore == pytest.approx(0.025)
    assert machines["speed-drive"].drive.stiffness == pytest.approx(6e7)
    own = machines["two-drives"].hardener_axis
    assert own.drive.delay == pytest.approx(0.06)
    assert own.shaft.mass == pytest.approx(4.0)
    shutoff = machines["first-fill"].resin.shutoff
    assert (shutoff.passage, shutoff.passage_full) == (pytest.approx(2e-6), False)
    assert shutoff.check_valve == pytest.approx(0.3e5)
    assert not machines["first-fill"].mixer.starts_full
    head = machines["cold-head"].resin.line[1]
    assert (head.idle_temperature, head.idle_time) == (pytest.approx(295.15), 480.0)
    lost = machines["lost-motion"]
    assert lost.hardener.cylinder.lash == pytest.approx(1.5e-4)
    assert lost.resin.shutoff.stem_volume == pytest.approx(5e-8)
    assert lost.resin.line[0].expansion_volumes[0] == pytest.approx(1.4 * 0.4e-6)


# --- numbers ---------------------------------------------------------------------------------


def test_a_stream_arrives_when_its_passage_is_full(fill):
    for name, volume in (("resin", 2.0), ("hardener", 0.1)):
        stream = getattr(fill.trace, name)
        # Definition: what passed the shut-off by then is the passage's volume.
        passed = np.interp(stream.arrival, fill.trace.time, stream.volume) / ML
        assert passed == pytest.approx(volume, rel=1e-6)
    found = fill.to_dict()
    ahead = found["resin_arrival_s"] - found["hardener_arrival_s"]
    assert ahead > 0
    assert found["hardener_arrives_ahead_s"] == pytest.approx(ahead)
    said = " ".join(report.run_text(fill).split())
    assert "hardener reaches the mixing point" in said
    full = run_of("first-fill", **{"resin.shutoff.passage_full": True}).to_dict()
    assert full["resin_arrival_s"] == 0.0
    held = load_case(CASES / "long-boom-held-shots.toml").simulate()
    assert held.to_dict()["resin_arrival_s"] is None
    assert "First fill" not in report.run_text(held)


def test_an_empty_mixer_resists_by_what_is_in_it(fill):
    first, last = fill.shots[0], fill.shots[-1]
    assert first["mixer_resistance_open_bar_s_per_mL"] == 0.0
    steady = fill.steady.mixer_resistance / (BAR / ML)
    for shot in (first, last):
        assert shot["mixer_resistance_close_bar_s_per_mL"] == pytest.approx(steady, rel=1e-12)
    assert "Back pressure of the mixer" in report.run_text(fill)


def test_air_of_a_shot_is_what_the_piston_sweeps_less_what_stood_there(air):
    # Energy balance of the driving side, exponent n: n R T m = d(p V) + (n - 1) int p A dx, p
    # absolute. Free air has 20 degC and 1.185 kg/m^3 (ISO 6358-1). 0.4 %: the rows' trapezoids.
    span = air.trace.shots[-1]
    rows = slice(span.open, span.shut + 1)
    pressure, x = 101325.0 + air.trace.air.driving_pressure[rows], air.trace.position[rows]
    area = math.pi / 4 * 0.1**2
    held = pressure * (150e-6 + area * x)
    work = area * np.sum(np.diff(x) * (pressure[1:] + pressure[:-1]) / 2)
    mass = (held[-1] - held[0] + 0.2 * work) / (1.2 * 287.05 * 293.15)
    shot = air.shots[-1]
    assert shot["air_used_L"] == pytest.approx(mass / 1.185 / 1e-3, rel=4e-3)
    assert shot["driving_pressure_bar"] < 6.0 - 0.2  # the regulator droops
    assert air.shots[0]["air_used_L"] > 2 * shot["air_used_L"]  # its cylinder has to be filled
    total = air.to_dict()["air_used_whole_run_L"]
    assert total >= sum(one["air_used_L"] for one in air.shots)
    assert "of free air" in report.run_text(air)


def test_two_shafts_are_told_apart(two):
    shot = two.shots[-1]
    # The hardener's screw starts 60 ms later and both go 6 mm/s: 0.36 mm for each of three shots,
    # less what the screws and hoses give, a few hundredths.
    assert shot["position_mm"] - shot["hardener_position_mm"] == pytest.approx(3 * 0.36, abs=0.12)
    # So much hardener is short at the close command: 60 ms of 2.28 mL/s.
    flow = two.to_dict()["steady_hardener_flow_mL_per_s"]
    assert shot["net_lead_mL"] == pytest.approx(-0.06 * flow, rel=0.05)
    together = run_of("two-drives", **{"hardener.drive.delay": None})
    assert abs(together.shots[-1]["net_lead_mL"]) < 0.02
    assert together.shots[-1]["air_used_L"] is None


def test_a_stroke_is_that_of_the_shaft_used_up_first(two):
    case = two.case
    steady = check_report.steady_state(case)
    both = check_report.shots_per_stroke(case, steady)
    assert both == math.floor(140 / 18)  # 140 mm left, 3 s at 6 mm/s
    short = case.changed({"hardener.drive.position": "150 mm"})
    assert check_report.shots_per_stroke(short, steady) == math.floor(50 / 18)
    said = " ".join(report.as_text(check_report.check_sections(short, steady)).split())
    assert "hardener: 50 mm (1.97 in) are left of the stroke" in said


def test_what_a_stop_leaves_is_told_where_the_drive_does_not_hold():
    run = run_of("speed-drive")
    rests = run.to_dict()["rests"]
    assert [rest["duration_s"] for rest in rests] == pytest.approx([20.0, 20.0, 20.0])
    for rest in rests:
        for name in ("resin", "hardener"):  # nothing flows any more
            head = rest[f"{name}_head_pressure_bar"]
            assert rest[f"{name}_cylinder_pressure_bar"] == pytest.approx(head, rel=1e-3)
            assert head > 1.0
    assert "Pressure trapped at the end of a pause" in report.run_text(run)


def test_a_purge_is_no_shot():
    case = load_case(CASES / "long-boom-held-shots.toml")
    run = case.changed({"run.steps": [{"purge": "30 mL"}, {"dispense": "3 s"}], "run.repeat": 1})
    found = run.simulate().to_dict()
    assert len(found["shots"]) == 1
    (purge,) = found["purges"]
    # The amount, and what passes while the shut-offs close: under 50 ms of the flow.
    flow = found["steady_resin_flow_mL_per_s"] + found["steady_hardener_flow_mL_per_s"]
    assert 30.0 < purge["resin_mL"] + purge["hardener_mL"] < 30.0 + 0.05 * flow
    assert found["class"] == "n-th in the stroke"  # the purge was the first after start-up
    assert "no shot" in report.run_text(run.simulate())


def test_blend_that_stays_longer_than_its_working_life_is_warned_of():
    case = load_case(CASES / "long-boom-held-shots.toml").changed(
        {
            "mixer.working_life": "5 min",
            "run.steps": [{"dispense": "3 s"}, {"dwell": "4 min"}],
            "run.repeat": 2,
        }
    )
    found = case.simulate().to_dict()
    # What stood in the mixer through the pause: 4 min and up to the two shots' 3 s.
    assert 240.0 < found["oldest_blend_s"] < 246.2
    assert not any("working life" in text for text in found["warnings"])
    late = case.changed({"run.steps[1].dwell": "6 min"}).simulate().to_dict()
    (said,) = [text for text in late["warnings"] if "working life" in text]
    assert "blend 6.1 min old" in said  # 6 min and up to 6 s
    assert "5 min" in said
    assert (
        load_case(CASES / "long-boom-held-shots.toml").simulate().to_dict()["oldest_blend_s"]
        is None
    )


def test_a_shot_that_goes_through_a_refill_is_one_shot_of_its_own_class():
    run = run_of("large-casting")
    assert [one.name for one in run.classes] == ["n-th in the stroke", "through a refill"]
    shot = run.shots[1]
    # Asked for 300 mL, whatever the stroke: met at the second close command, less what passed
    # while the shut-offs closed before the refill.
    volume = shot["resin_dispensed_mL"] + shot["hardener_dispensed_mL"]
    assert volume == pytest.approx(300.0, rel=1e-6)
    assert shot["position_mm"] < run.shots[0]["position_mm"]
    # Viscosity doubles in 4 min, and so long the mixer stood: twice the resistance.
    ratio = (
        shot["mixer_resistance_open_bar_s_per_mL"]
        / run.shots[0]["mixer_resistance_close_bar_s_per_mL"]
    )
    assert ratio == pytest.approx(2.0, rel=0.01)
    assert "through a refill" in shot_words.verdict(run)
    assert "oldest blend" in report.run_text(run)


@pytest.mark.parametrize("name", ["air-drive", "two-drives", "first-fill"])
def test_the_table_of_a_run_has_the_machines_columns(name):
    run = run_of(name)
    columns = behaviour.columns(run)
    assert all(len(column) == len(run.trace.time) for column in columns.values())
    header = cli.run_csv(run).splitlines()[0].split(",")
    assert set(columns) <= set(header)
    assert ("driving_pressure_bar" in header) == (name == "air-drive")
    assert ("hardener_position_mm" in header) == (name == "two-drives")
