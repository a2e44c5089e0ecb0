"""Case files of every machine: drives, shafts, hoses, passages, mixers, steps.

What the core gets in SI, what is assumed or unusual, and how bad input is refused.
"""

import tomllib
from pathlib import Path

import jsonschema
import pytest

from evenfront import units as u
from evenfront.case import CaseError, load_case
from evenfront.schema import json_schema

DEMO = Path(__file__).parents[2] / "data" / "cases" / "long-boom-held-shots.toml"

AIR = {
    "kind": "air",
    "bore": "125 mm",
    "rod_bore": "25 mm",
    "pressure": "6 bar",
    "droop": "0.6 bar",
    "droop_flow": "500 L/min",
    "dead_volume": "150 mL",
    "supply": {"conductance": "2.5 L/(s*bar)", "critical_ratio": 0.25},
    "exhaust": {"conductance": "3 dm^3/(s*bar)"},
}
SPEED = {
    "kind": "speed",
    "speed": "0.5 mm/s",
    "ramp_time": "0.1 s",
    "stiffness": "60 N/um",
    "force": "9 kN",
}
SHAFT = {"stroke": "200 mm", "position": "60 mm", "mass": "6 kg"}
TWO = {
    "shaft": {"arrangement": "independent"},
    "drive": None,
    "resin.drive": SPEED | SHAFT | {"encoder": "100 1/mm"},
    "hardener.drive": {"kind": "force", "force": "600 N", "delay": "20 ms"} | SHAFT,
}


@pytest.fixture(scope="module")
def demo():
    return load_case(DEMO)


def problems(case, changes):
    with pytest.raises(CaseError) as refusal:
        case.changed(changes)
    return refusal.value.problems


def fits_the_schema(case):
    return jsonschema.Draft202012Validator(json_schema()).is_valid(case.to_dict())


# --- units -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        # By definition: 1 dm^3/(s bar) is 1e-3/1e5, a litre 1 dm^3, a foot 0.3048 m, a
        # micrometre 1e-6 m, a pound-force 4.4482216152605 N, an inch 0.0254 m.
        ("2.5 L/(s*bar)", u.AIR_CONDUCTANCE, 2.5e-8),
        ("2.5 dm^3/(s*bar)", u.AIR_CONDUCTANCE, 2.5e-8),
        ("600 L/min", u.FREE_AIR, 0.01),
        ("60 ft^3/min", u.FREE_AIR, 0.3048**3),
        ("100 N/um", u.STIFFNESS, 1e8),
        ("100 N/µm", u.STIFFNESS, 1e8),
        ("50 kN/mm", u.STIFFNESS, 5e7),
        ("1000 lbf/in", u.STIFFNESS, 1000 * 4.4482216152605 / 0.0254),
    ],
)
def test_units_of_air_and_screws(text, kind, value):
    assert u.si(text, kind) == pytest.approx(value, rel=1e-12)


# --- drives ----------------------------------------------------------------------------------


def test_an_air_drive_comes_to_the_core_in_si(demo):
    case = demo.changed({"drive": AIR | {"delay": "30 ms", "between_shots": "vent_drive"}})
    assert case.warnings == ()
    drive = case.resolved.machine["drive"]
    assert drive == {
        "kind": "air",
        "between_shots": "vent_drive",
        "delay": pytest.approx(0.03),
        "air": {
            "bore": pytest.approx(0.125),
            "rod_bore": pytest.approx(0.025),
            "pressure": pytest.approx(6e5),
            "droop": pytest.approx(0.6e5),
            "droop_flow": pytest.approx(0.5 / 60),
            "dead_volume": pytest.approx(150e-6),
            "exponent": 1.2,
            "temperature": 293.15,
            "supply": {"conductance": pytest.approx(2.5e-8), "critical_ratio": 0.25},
            "exhaust": {"conductance": pytest.approx(3e-8), "critical_ratio": 0.3},
        },
    }
    said = " ".join(case.assumptions)
    assert "drive.exponent = 1.2: assumed" in said
    assert "drive.exhaust.critical_ratio = 0.3: assumed" in said
    assert "drive.supply.critical_ratio" not in said
    assert fits_the_schema(case)


def test_an_air_drive_is_judged_by_its_push(demo):
    # 6 bar on 125 mm push with 7363 N, on 70 and 26.19 mm bores that is 16.8 bar; 3 bar on 63 mm
    # with 935 N, 2.1 bar (areas by hand).
    weak = demo.changed({"drive": AIR | {"bore": "63 mm", "pressure": "3 bar"}})
    (said,) = [text for text in weak.warnings if "over both pistons" in text]
    assert said.startswith("drive.pressure over both pistons = 2.1")
    drooping = demo.changed({"drive": AIR | {"droop": "1.2 bar"}})
    assert any("drive.droop over pressure = 20 %" in text for text in drooping.warnings)
    steady = {**AIR, "droop": None, "droop_flow": None}
    assert any("regulator holds" in text for text in demo.changed({"drive": steady}).assumptions)


def test_a_speed_drive_comes_to_the_core_in_si(demo):
    case = demo.changed({"drive": SPEED})
    assert case.resolved.machine["drive"] == {
        "kind": "speed",
        "speed": pytest.approx(5e-4),
        "ramp_time": pytest.approx(0.1),
        "stiffness": pytest.approx(6e7),
        "force": pytest.approx(9000.0),
        "between_shots": "lock",
    }
    assert not any("stiffness" in text for text in case.assumptions)
    assumed = demo.changed({"drive": {**SPEED, "stiffness": None}})
    assert assumed.resolved.machine["drive"]["stiffness"] == pytest.approx(1e8)
    assert any(text.startswith("drive.stiffness = 100 N/um") for text in assumed.assumptions)
    assert fits_the_schema(case)


@pytest.mark.parametrize(
    ("drive", "path", "said"),
    [
        (AIR | {"bore": None}, "drive.bore", "is missing"),
        (AIR | {"supply": None}, "drive.supply", "is missing"),
        (AIR | {"supply": {}}, "drive.supply.conductance", "is missing"),
        (AIR | {"supply": {"conductance": "2.5 L/min"}}, "supply.conductance", "sonic cond"),
        (AIR | {"supply": AIR["supply"] | {"critical_ratio": 1}}, "critical_ratio", "at most 0.95"),
        (AIR | {"rod_bore": "125 mm"}, "drive.rod_bore", "below bore, 125 mm"),
        (AIR | {"droop": "6 bar"}, "drive.droop", "below pressure, 6 bar"),
        (AIR | {"droop_flow": None}, "drive.droop_flow", "is missing"),
        (AIR | {"droop": None}, "drive.droop_flow", "droop above 0 bar"),
        (AIR | {"exponent": 1.5}, "drive.exponent", "at most 1.4"),
        (AIR | {"force": "5 kN"}, "drive.force", 'does not apply to kind = "air"'),
        (SPEED | {"rise_time": "0.1 s"}, "drive.rise_time", "it belongs to force"),
        (SPEED | {"between_shots": "hold"}, "drive.between_shots", "keeps its place"),
        (SPEED | {"between_shots": "vent_drive"}, "drive.between_shots", '"lock" or "vent"'),
        (SPEED | {"speed": "0 mm/s"}, "drive.speed", "above 0 mm/s"),
        (SPEED | {"stiffness": "100 N"}, "drive.stiffness", "a stiffness is needed"),
        (SPEED | {"kind": "screw"}, "drive.kind", '"force", "air", "speed"'),
        ({"force": "5 kN"}, "drive.kind", "is missing: one of"),
        (None, "drive", "is missing: what pushes the shaft"),
    ],
)
def test_a_drive_that_cannot_be_is_one_sentence(demo, drive, path, said):
    found = problems(demo, {"drive": drive})
    assert len(found) == 1
    assert path in found[0]
    assert said in found[0]


def test_friction_from_rest(demo):
    case = demo.changed({"shaft.friction": "200 N", "shaft.breakaway": "400 N"})
    assert case.resolved.machine["shaft"]["breakaway"] == pytest.approx(400.0)
    assert case.warnings == ()
    assert any("nothing damps what sticks" in text for text in case.assumptions)
    damped = case.changed({"shaft.viscous_friction": "3 kN*s/m"})
    assert not any("nothing damps" in text for text in damped.assumptions)
    assumed = demo.changed({"shaft.friction": "200 N"})
    assert "breakaway" not in assumed.resolved.machine["shaft"]  # the core takes friction
    assert any(text.startswith("shaft.breakaway = friction") for text in assumed.assumptions)
    sticky = demo.changed({"shaft.friction": "600 N", "shaft.breakaway": "3 kN"}).warnings
    assert any("friction over the drive's force = 13 %" in text for text in sticky)
    assert any("breakaway over friction = 5 " in text for text in sticky)
    (refused,) = problems(demo, {"shaft.friction": "200 N", "shaft.breakaway": "100 N"})
    assert refused.startswith(f'{DEMO.name}: shaft.breakaway = "100 N": must be at least friction')


# --- two shafts ------------------------------------------------------------------------------


def test_two_shafts_are_the_machines_own_and_the_hardeners(demo):
    case = demo.changed(TWO)
    machine = case.resolved.machine
    assert machine["shaft"] == {
        "stroke": pytest.approx(0.2),
        "position": pytest.approx(0.06),
        "mass": 6.0,
        "friction": 0.0,
        "viscous_friction": 0.0,
    }
    assert machine["drive"]["kind"] == "speed"
    hardener = machine["hardener_axis"]
    assert hardener["shaft"]["stroke"] == pytest.approx(0.2)
    assert hardener["drive"] == {
        "force": pytest.approx(600.0),
        "rise_time": 0.0,
        "between_shots": "hold",
        "delay": pytest.approx(0.02),
    }
    assert "hardener_axis" not in demo.resolved.machine
    said = " ".join(case.assumptions)
    assert "resin.drive.friction, hardener.drive.friction, resin.metering.leak" in said
    assert "the ratio is what their forces" in said
    assert fits_the_schema(case)


def test_counts_go_by_the_resins_shaft(demo):
    case = demo.changed(TWO | {"run.steps": [{"dispense": "250 counts"}]})
    assert case.resolved.sequence["steps"] == [
        {"kind": "dispense_travel", "amount": pytest.approx(2.5e-3)}
    ]
    (found,) = problems(
        demo,
        TWO | {"run.steps": [{"dispense": "250 counts"}], "resin.drive": SPEED | SHAFT},
    )
    assert "resin.drive.encoder" in found


def test_bores_and_speeds_together_make_the_ratio(demo):
    # (26.19/70)^2 = 0.13998 times the ratio of the speeds.
    right = TWO | {"hardener.drive": SPEED | SHAFT}
    assert not any("by volume" in text for text in demo.changed(right).warnings)
    twice = TWO | {"hardener.drive": SPEED | SHAFT | {"speed": "1 mm/s"}}
    (said,) = [text for text in demo.changed(twice).warnings if "by volume" in text]
    assert "bores and the speeds of their drives give 100:28 by volume, 100 % off" in said


def test_each_of_two_strokes_is_watched(demo):
    # 4 x 120 mL at 100:14 are 421 of resin, 109 mm, and 59 of hardener, 109 mm of travel.
    short = TWO["hardener.drive"] | {"stroke": "70 mm", "position": "60 mm"}
    case = demo.changed(TWO | {"hardener.drive": short, "run.steps": [{"dispense": "120 mL"}]})
    said = [text for text in case.warnings if "exhausted" in text]
    assert len(said) == 1
    assert "109 mm (4.31 in) of travel of the hardener, 10 mm" in said[0]


@pytest.mark.parametrize(
    ("changes", "path", "said"),
    [
        ({"hardener.drive": None}, "hardener.drive", "needs it, with kind, stroke"),
        ({"drive": SPEED}, "drive", "write resin.drive and hardener.drive"),
        ({"shaft.stroke": "200 mm"}, "shaft.stroke", "write it in resin.drive"),
        ({"shaft.encoder": "100 1/mm"}, "shaft.encoder", "write it in resin.drive"),
        ({"resin.drive.mass": None}, "resin.drive.mass", "is missing: moving mass"),
        ({"resin.drive.position": "200 mm"}, "resin.drive.position", "below the stroke, 200 mm"),
        ({"hardener.drive.kind": None}, "hardener.drive.kind", "is missing: one of"),
        ({"resin.drive.bore": "80 mm"}, "resin.drive.bore", "it belongs to air"),
        ({"resin.drive.strok": "80 mm"}, "resin.drive.strok", 'did you mean "stroke"'),
    ],
)
def test_two_shafts_that_cannot_be_are_one_sentence(demo, changes, path, said):
    (found,) = problems(demo.changed(TWO), changes)
    assert found.startswith(f"{DEMO.name}: {path}")
    assert said in found


def test_a_drive_of_ones_own_needs_two_shafts(demo):
    (found,) = problems(demo, {"resin.drive": SPEED | SHAFT})
    assert found.startswith(f"{DEMO.name}: resin.drive: applies only to shaft.arrangement")
    (found,) = problems(demo, {"shaft.arrangement": "crossed"})
    assert 'shaft.arrangement = "crossed"' in found
    assert '"common", "independent"' in found


def test_misplaced_drives_are_said_beside_other_problems(demo):
    found = problems(demo, {"drive": None, "resin.drive": {}, "resin.metering.bore": "0 mm"})
    assert [text.split(": ")[1].split(" =")[0] for text in found] == [
        "resin.metering.bore",
        "resin.drive.kind",
        "resin.drive",
        "drive",
    ]


# --- compliance and rest ---------------------------------------------------------------------

TABLE = [["50 bar", "1.2 mL/m"], ["100 bar", "1.9 mL/m"]]


def test_a_table_of_expansion_and_a_hot_hose(demo):
    piece = {"name": "hose", "bore": "16 mm", "length": "6 m", "expansion": TABLE}
    case = demo.changed({"resin.line": [piece | {"hot_factor": 1.5}]})
    (line,) = case.resolved.machine["resin"]["line"]
    assert line["expansion_pressures"] == pytest.approx([5e6, 1e7])
    assert line["expansion_volumes"] == pytest.approx([1.8e-6, 2.85e-6])
    assert line["wall_expansion"] == 0.0
    assert not any("walls taken as rigid" in text for text in case.assumptions)
    hot = demo.changed({"resin.line[0].hot_factor": 1.4}).resolved.machine["resin"]["line"][0]
    assert hot["wall_expansion"] == pytest.approx(1.4 * 0.035e-11)
    assert fits_the_schema(case)


def test_a_hot_hose_without_a_factor_is_an_assumption(demo):
    # The demo's resin is at 50 degC, its hardener at 25 degC; both hoses give.
    said = [text for text in demo.assumptions if "hot_factor" in text]
    assert len(said) == 1
    assert said[0].startswith("resin.line, hose: hot_factor 1 assumed")
    given = demo.changed({"resin.line[0].hot_factor": 1.0})
    assert not any("hot_factor" in text for text in given.assumptions)


def test_a_head_that_cools_while_idle(demo):
    case = demo.changed(
        {"resin.line[0].idle_temperature": "22 degC", "resin.line[0].idle_time": "10 min"}
    )
    line = case.resolved.machine["resin"]["line"][0]
    assert line["idle_temperature"] == pytest.approx(295.15)
    assert line["idle_time"] == pytest.approx(600.0)
    assert "idle_time" not in demo.resolved.machine["resin"]["line"][0]


def test_a_table_of_viscosities_has_to_cover_the_idle_temperature(demo):
    case = demo.changed(
        {
            "resin.viscosity.activation_energy": None,
            "resin.viscosity.table": [["40 degC", "45 Pa*s"], ["65 degC", "13 Pa*s"]],
            "resin.line[0].idle_temperature": "22 degC",
            "resin.line[0].idle_time": "10 min",
        }
    )
    (said,) = [text for text in case.warnings if "viscosity.table" in text]
    assert "22 degC" in said


def test_lash_stem_suck_back_and_passages(demo):
    case = demo.changed(
        {
            "resin.metering.lash": "0.1 mm",
            "resin.shutoff.stem_volume": "0.05 mL",
            "resin.shutoff.suck_back": "0.1 mL",
            "resin.shutoff.passage_volume": "1 mL",
            "resin.shutoff.passage_full": False,
            "hardener.shutoff.check_valve": True,
        }
    )
    assert case.warnings == ()
    resin, hardener = (case.resolved.machine[name] for name in ("resin", "hardener"))
    assert resin["cylinder"]["lash"] == pytest.approx(1e-4)
    assert resin["shutoff"]["stem_volume"] == pytest.approx(5e-8)
    assert resin["shutoff"]["suck_back"] == pytest.approx(1e-7)
    assert resin["shutoff"]["passage"] == pytest.approx(1e-6)
    assert resin["shutoff"]["passage_full"] is False
    assert "check_valve" not in resin["shutoff"]
    assert hardener["shutoff"]["check_valve"] == pytest.approx(0.3e5)
    (said,) = [text for text in case.assumptions if "opening_pressure" in text]
    assert said.startswith("hardener.shutoff.opening_pressure = 0.3 bar")
    given = case.changed({"hardener.shutoff.opening_pressure": "0.5 bar"})
    assert given.resolved.machine["hardener"]["shutoff"]["check_valve"] == pytest.approx(0.5e5)
    assert not any("opening_pressure" in text for text in given.assumptions)


def test_suck_back_beyond_the_passage_is_warned_of(demo):
    changes = {"resin.shutoff.suck_back": "0.3 mL", "resin.shutoff.passage_volume": "0.2 mL"}
    (said,) = demo.changed(changes).warnings
    assert "draws blend back past the mixing point" in said
    (said,) = demo.changed(changes | {"resin.shutoff.check_valve": True}).warnings
    assert "resin.shutoff.suck_back has no effect" in said


# --- mixer -----------------------------------------------------------------------------------


def test_a_mixer_that_starts_empty_follows_its_blend_and_has_a_tip(demo):
    case = demo.changed(
        {
            "mixer.starts": "empty",
            "mixer.tip": {"bore": "3 mm", "length": "30 mm"},
            "mixer.doubling_time": "4 min",
            "mixer.working_life": "15 min",
        }
    )
    mixer = case.resolved.machine["mixer"]
    assert mixer["starts_full"] is False
    assert mixer["tip"] == {"bore": pytest.approx(3e-3), "length": pytest.approx(0.03)}
    assert mixer["follow_blend"] is True  # implied by the doubling time
    assert (mixer["doubling_time"], mixer["working_life"]) == pytest.approx((240.0, 900.0))
    assert any("mixer starts empty" in text for text in case.assumptions)
    assert "follow_blend" not in demo.resolved.machine["mixer"]
    assert demo.changed({"mixer.follow_blend": True}).resolved.machine["mixer"]["follow_blend"]
    assert fits_the_schema(case)


# --- steps and numerics ----------------------------------------------------------------------

FEEDS = {
    "resin.feed": {"tank_pressure": "4 bar", "bore": "25 mm", "length": "2 m"},
    "hardener.feed": {"tank_pressure": "1 bar", "bore": "9 mm", "length": "2 m"},
}


def test_a_purge_and_a_shot_through_a_refill(demo):
    steps = [{"purge": "30 mL"}, {"dispense": "700 mL", "through_refill": "3 s"}]
    case = demo.changed(FEEDS | {"run.steps": steps, "run.repeat": 1})
    assert case.resolved.sequence["steps"] == [
        {"kind": "purge", "amount": pytest.approx(30e-6)},
        {
            "kind": "dispense_volume",
            "amount": pytest.approx(700e-6),
            "refill_time": pytest.approx(3.0),
        },
    ]
    # 140 mm of 70 and 26.19 mm bores hold 614 mL: more than once through, and no warning.
    assert not any("exhausted" in text for text in case.warnings)
    plain = demo.changed(FEEDS | {"run.steps": [{"purge": "30 mL"}, {"dispense": "700 mL"}]})
    assert any("exhausted" in text for text in plain.warnings)
    assert any("draws the shaft back" in text and "3 s" in text for text in case.assumptions)
    assert fits_the_schema(case)


def test_inertia_is_for_newtonian_liquids(demo):
    assert demo.changed({"numerics.inertia": True}).resolved.numerics["inertia"] is True
    assert "inertia" not in demo.resolved.numerics
    thick = {
        "hardener.viscosity": {
            "model": "bingham",
            "viscosity": "180 cP",
            "yield_stress": "1 Pa",
        }
    }
    (found,) = problems(demo, thick | {"numerics.inertia": True})
    assert found.startswith(f"{DEMO.name}: numerics.inertia = true")
    assert "neither stream" in found


@pytest.mark.parametrize(
    ("changes", "path", "said"),
    [
        ({"resin.metering.lash": "-1 mm"}, "resin.metering.lash", "at least 0 mm"),
        ({"resin.line[0].expansion": TABLE}, "resin.line[0].expansion", "either wall_expansion"),
        (
            {"resin.line[0].expansion": TABLE[::-1], "resin.line[0].wall_expansion": None},
            "resin.line[0].expansion[1][0]",
            "must rise",
        ),
        (
            {
                "resin.line[0].expansion": [*TABLE, ["150 bar", "1.9 mL/m"]],
                "resin.line[0].wall_expansion": None,
            },
            "resin.line[0].expansion[2][1]",
            "above the volume",
        ),
        (
            {"resin.line[0].expansion": [], "resin.line[0].wall_expansion": None},
            "resin.line[0].expansion",
            "at least one pair",
        ),
        ({"resin.line[0].hot_factor": 0}, "resin.line[0].hot_factor", "above 0"),
        ({"resin.line[0].pocket": "2 L"}, "resin.line[0].pocket", "this piece of line holds"),
        ({"resin.metering.pocket": "2 L"}, "resin.metering.pocket", "holds at the start"),
        ({"resin.line[0].idle_temperature": "22 degC"}, "resin.line[0].idle_time", "is missing"),
        ({"resin.line[0].idle_time": "9 min"}, "resin.line[0].idle_time", "only with"),
        ({"resin.shutoff.stem_volume": "-1 mL"}, "resin.shutoff.stem_volume", "at least 0"),
        ({"resin.shutoff.passage_full": False}, "resin.shutoff.passage_volume", "above 0 mL"),
        ({"resin.shutoff.passage_full": "no"}, "resin.shutoff.passage_full", "true or false"),
        (
            {"resin.shutoff.opening_pressure": "0.3 bar"},
            "resin.shutoff.opening_pressure",
            "check_valve = true",
        ),
        ({"mixer.starts": "half"}, "mixer.starts", '"full" or "empty"'),
        (
            {"mixer.starts": "empty", "run.start": "periodic"},
            "mixer.starts",
            "filled once stays full",
        ),
        (
            {
                "resin.shutoff.passage_full": False,
                "resin.shutoff.passage_volume": "1 mL",
                "run.start": "periodic",
            },
            "resin.shutoff.passage_full",
            "filled once stays full",
        ),
        ({"mixer.tip": {"length": "3 cm"}}, "mixer.tip.bore", "is missing"),
        (
            {"mixer.doubling_time": "4 min", "mixer.follow_blend": False},
            "mixer.doubling_time",
            "follow_blend = true",
        ),
        ({"run.steps[0].purge": "3 mL"}, "run.steps[0]", "exactly one key"),
        (
            {"run.steps[1].through_refill": "3 s"},
            "run.steps[1].through_refill",
            "beside a dispense",
        ),
        ({"run.steps": [{"purge": "30 mL"}]}, "run.steps", "at least one dispense"),
        ({"run.steps[1]": {"purge": "3 s"}}, "run.steps[1].purge", "a volume is needed"),
        ({"numerics.inertia": "yes"}, "numerics.inertia", "true or false"),
    ],
)
def test_what_cannot_be_is_one_sentence(demo, changes, path, said):
    (found,) = problems(demo, changes)
    assert found.startswith(f"{DEMO.name}: {path}")
    assert said in found
    assert "\n" not in found


def test_a_shot_through_a_refill_needs_both_feeds(demo):
    found = problems(demo, {"run.steps[0].through_refill": "3 s"})
    assert [text.split(": ")[1] for text in found] == ["resin.feed", "hardener.feed"]


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"resin.metering.lash": "0.5 mm"}, "resin.metering.lash"),
        ({"resin.line[0].hot_factor": 2}, "resin.line[0].hot_factor"),
        ({"hardener.shutoff.stem_volume": "0.3 mL"}, "hardener.shutoff.stem_volume"),
        ({"hardener.shutoff.passage_volume": "1 mL"}, "hardener.shutoff.passage_volume"),
        ({"mixer.tip": {"bore": "8 mm", "length": "30 mm"}}, "mixer.tip.bore"),
        ({"mixer.working_life": "2 min"}, "mixer.working_life"),
        ({"drive": AIR | {"pressure": "10 bar"}}, "drive.pressure"),
        (
            {"drive": AIR | {"supply": {"conductance": "0.1 L/(s*bar)"}}},
            "drive.supply.conductance",
        ),
        ({"drive": SPEED | {"speed": "50 mm/s"}}, "drive.speed"),
        (
            TWO | {"hardener.drive": TWO["hardener.drive"] | {"mass": "40 kg"}},
            "hardener.drive.mass",
        ),
    ],
)
def test_what_is_unusual_is_named_with_its_range(demo, changes, path):
    case = demo.changed(changes)
    assert any(text.startswith(f"{path} = ") and "usual range" in text for text in case.warnings)


def test_the_printed_schema_knows_both_arrangements():
    validator = jsonschema.Draft202012Validator(json_schema())
    data = tomllib.loads(DEMO.read_text())
    data["shaft"]["arrangement"] = "independent"  # and the keys of a common one
    assert not validator.is_valid(data)
    data["shaft"] = {"arrangement": "independent"}
    assert validator.is_valid(data)
