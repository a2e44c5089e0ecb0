"""Classes of shots, the periodic start and the words for both."""

from pathlib import Path

import pytest

from evenfront import _core as core
from evenfront import check_report, load_case, report, run_report, shot_words
from evenfront import units as u
from evenfront.shot_class import shot_classes, shots_in, softest, travels

CASES = Path(__file__).parents[2] / "data" / "cases"
START_UP, REFILLED = "first after start-up", "first after refill"
PAUSED, LAST, IN_STROKE = "after a pause", "last before refill", "n-th in the stroke"


def sequence(text, repeat=1, *, periodic=False):
    """Sequence from words such as ``"shot dwell:5 shot refill"``."""
    steps = []
    for word in text.split():
        name, _, amount = word.partition(":")
        kind = "dispense_time" if name == "shot" else name
        steps.append(core.Step(kind=kind, amount=float(amount or 3.0)))
    return core.Sequence(steps=steps, repeat=repeat, start=core.Start(periodic=periodic))


@pytest.mark.parametrize(
    ("steps", "repeat", "periodic", "expected"),
    [
        ("shot dwell:20", 3, False, [(START_UP, 1), (IN_STROKE, 2), (IN_STROKE, 3)]),
        ("shot dwell:20", 3, True, [(IN_STROKE, 1)] * 3),  # put back before every round
        ("shot refill", 3, False, [(START_UP, 1), (REFILLED, 1), (REFILLED, 1)]),
        ("shot refill", 2, True, [(REFILLED, 1), (REFILLED, 1)]),
        ("refill shot", 2, True, [(REFILLED, 1), (REFILLED, 1)]),
        (
            "shot dwell:5 shot dwell:5 shot refill",
            1,
            True,
            [(REFILLED, 1), (IN_STROKE, 2), (LAST, 3)],
        ),
        (
            "shot dwell:5 shot refill",
            2,
            False,
            [(START_UP, 1), (LAST, 2), (REFILLED, 1), (LAST, 2)],
        ),
        (
            "shot dwell:5 shot dwell:5 shot dwell:60",
            2,
            False,
            [
                (START_UP, 1),
                (IN_STROKE, 2),
                (IN_STROKE, 3),
                (PAUSED, 4),
                (IN_STROKE, 5),
                (IN_STROKE, 6),
            ],
        ),
        # The round follows itself: its first shot comes after the pause at its end.
        (
            "shot dwell:5 shot dwell:5 shot dwell:60",
            1,
            True,
            [(PAUSED, 1), (IN_STROKE, 2), (IN_STROKE, 3)],
        ),
        # A pause is twice the usual dwell, not less; dwells in a row count together.
        (
            "shot dwell:5 shot dwell:5 shot dwell:4 dwell:5",
            1,
            True,
            [(IN_STROKE, n) for n in (1, 2, 3)],
        ),
        # A purge stands for the shot before: only what comes after it counts.
        ("purge shot dwell:5 shot", 1, False, [(IN_STROKE, 1), (IN_STROKE, 2)]),
        (
            "shot dwell:5 shot dwell:5 shot dwell:60 purge dwell:5 shot",
            1,
            False,
            [(START_UP, 1), (IN_STROKE, 2), (IN_STROKE, 3), (IN_STROKE, 4)],
        ),
        (
            "shot dwell:5 shot refill purge shot",
            1,
            False,
            [(START_UP, 1), (LAST, 2), (IN_STROKE, 1)],
        ),
        ("shot shot shot dwell:1", 1, True, [(PAUSED, 1), (IN_STROKE, 2), (IN_STROKE, 3)]),
    ],
)
def test_a_shot_is_classed_by_what_comes_before_and_after(steps, repeat, periodic, expected):
    asked = sequence(steps, repeat, periodic=periodic)
    classes = shot_classes(asked, len(expected))
    assert [(one.name, one.in_stroke) for one in classes] == expected


def test_a_shot_that_went_on_after_a_refill_is_a_class_of_its_own():
    classes = shot_classes(sequence("shot dwell:5", 5), 5, through={2})
    assert [(one.name, one.in_stroke) for one in classes] == [
        (START_UP, 1),
        (IN_STROKE, 2),
        ("through a refill", 3),
        (IN_STROKE, 1),
        (IN_STROKE, 2),
    ]
    # The round follows itself: before its first shot comes its last.
    around = shot_classes(sequence("shot shot dwell:5 refill shot", 1, periodic=True), 3, {2})
    assert [one.in_stroke for one in around] == [1, 2, 1]


def test_a_run_that_ended_early_has_classes_for_the_shots_it_completed():
    classes = shot_classes(sequence("shot dwell:5 shot refill", 5), 3)
    assert [one.name for one in classes] == [START_UP, LAST, REFILLED]
    assert shot_classes(sequence("shot"), 0) == []


def test_travel_of_a_shot_is_that_of_steady_flow(machine):
    # Definitions: speed times time; volume over volume per travel; counts as they are.
    steady = core.steady_state(machine)
    flow = steady.resin.flow + steady.hardener.flow
    kinds = {"dispense_time": 2.0, "dispense_volume": 2.0 * flow, "dispense_travel": 0.003}
    asked = core.Sequence(
        steps=[core.Step(kind=kind, amount=amount) for kind, amount in kinds.items()]
        + [core.Step(kind="dwell", amount=5.0), core.Step(kind="purge", amount=flow)]
    )
    found = travels(asked, steady)
    assert [travel for travel, _ in found] == pytest.approx(
        [2.0 * steady.speed, 2.0 * steady.speed, 0.003, steady.speed], rel=1e-14
    )
    assert [shot for _, shot in found] == [True, True, True, False]


def test_a_purge_takes_travel_but_is_no_shot():
    # 5 to the cup and twice 10 in 100: four rounds; 12.5 more hold nothing but a purge.
    moves = [(5.0, False), (10.0, True), (10.0, True)]
    assert shots_in(100.0, moves) == 8
    assert shots_in(112.5, moves) == 8
    assert shots_in(117.0, moves) == 9
    assert shots_in(4.0, moves) == 0


# --- runs ------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def wait():
    return load_case(CASES / "wait-one-second.toml")


@pytest.fixture(scope="module")
def stroke(wait):
    """Three shots a stroke, from rest, twice."""
    return wait.changed(
        {
            "run.steps": [
                {"dispense": "3 s"},
                {"dwell": "3 s"},
                {"dispense": "3 s"},
                {"dwell": "3 s"},
                {"dispense": "3 s"},
                {"refill": {"time": "10 s"}},
            ],
            "run.repeat": 2,
            "run.start": "rest",
        }
    ).simulate()


def test_the_refill_cycle_repeats_and_says_how_well(wait):
    result = wait.simulate().to_dict()
    assert result["periodic_rounds"] <= 6
    assert result["periodic_residual"] <= 1e-8
    assert result["mass_balance_error"] <= 1e-9
    assert result["class"] == result["shots"][0]["class"] == REFILLED
    held = load_case(CASES / "long-boom-held-shots.toml").simulate().to_dict()
    assert held["periodic_rounds"] is None
    assert held["periodic_residual"] is None


def test_a_weight_is_what_the_cup_catches(wait):
    # Definition: liquid volume times gas-free density, 1.85 and 0.98 g/cm^3.
    m = wait.simulate().to_dict()
    resin = m["resin_dispensed_mL"] + m["after_close_resin_mL"]
    hardener = m["hardener_dispensed_mL"] + m["after_close_hardener_mL"]
    assert m["weight_g"] == pytest.approx(1.85 * resin + 0.98 * hardener, rel=1e-12)


def test_the_table_of_classes_has_a_row_each_with_its_softest_shot(stroke):
    assert [shot["class"] for shot in stroke.to_dict()["shots"]] == [
        START_UP,
        IN_STROKE,
        LAST,
        REFILLED,
        IN_STROKE,
        LAST,
    ]
    (table,) = (
        section.blocks[0]
        for section in run_report.run_sections(stroke)
        if section.title.startswith("Classes of shots")
    )
    assert [row[0] for row in table.rows] == [START_UP, "2nd in the stroke", LAST, REFILLED]
    for row in table.rows:
        shot = stroke.shots[int(row[1]) - 1]
        same = [s["soft_volume_mL"] for s in stroke.shots if s["class"] == shot["class"]]
        assert shot["soft_volume_mL"] == max(same)
        assert row[6] == u.digits(shot["weight_g"])
    assert "2nd in the stroke" in report.page(stroke)
    assert "Classes of shots" in report.run_text(stroke)


def test_the_verdict_names_the_worst_class_that_reaches_a_part(stroke):
    soft = [shot["soft_volume_mL"] for shot in stroke.shots]
    worst = softest(stroke.classes, stroke.measures.shots)
    assert worst == max(range(1, 6), key=soft.__getitem__)
    words = f"Worst class that reaches a part: {REFILLED} (shot {worst + 1})"
    assert words in shot_words.verdict(stroke)
    assert f"the {START_UP} goes to the cup" in shot_words.verdict(stroke)
    assert words in " ".join(report.run_text(stroke).split())


def test_a_class_that_is_worse_than_the_last_shot_is_said_where_that_is_told(stroke, wait):
    soft = [shot["soft_volume_mL"] for shot in stroke.shots]
    worst = softest(stroke.classes, stroke.measures.shots)
    assert soft[worst] - soft[-1] > 0.01 * stroke.shots[worst]["resin_dispensed_mL"]
    said = shot_words.worse_than_last(stroke)
    assert f"{REFILLED} (shot {worst + 1})" in said
    assert f"is for shot {len(soft)}" in said
    alike = wait.changed({"run.steps": [{"dispense": "3 s"}, {"dwell": "20 s"}]})
    assert shot_words.worse_than_last(alike.changed({"run.repeat": 3}).simulate()) == ""


def test_the_only_shot_is_not_said_to_go_to_the_cup(wait):
    alone = wait.changed({"run.steps": [{"dispense": "3 s"}], "run.start": "rest"}).simulate()
    assert alone.classes[0].name == START_UP
    assert softest(alone.classes, alone.measures.shots) == 0
    assert "to the cup" not in shot_words.verdict(alone)


def test_a_starved_refill_is_said_with_stream_place_and_time(wait):
    fast = wait.changed({"resin.feed.bore": "10 mm", "run.start": "rest"}).simulate()
    starved = fast.to_dict()["starved"]
    assert (starved["stream"], starved["place"]) == ("resin", "cylinder")
    assert starved["time_s"] > 3.0
    assert starved["pressure_bar"] < -0.9
    assert any("starved in the cylinder" in text for text in fast.to_dict()["warnings"])
    assert not wait.simulate().to_dict()["starved"]


def test_a_check_says_how_many_shots_fit_into_the_stroke(wait):
    steady = check_report.steady_state(wait)
    # 130 mm left; closed form: floor(left/(speed x 3 s)).
    expected = int(0.130 // (steady.speed * 3.0))
    assert check_report.check_dict(wait, steady)["shots_per_stroke"] == expected
    assert check_report.check_dict(wait, steady)["stroke_left_mm"] == pytest.approx(130.0)
    text = " ".join(report.as_text(check_report.check_sections(wait, steady)).split())
    assert f"about {expected} shots fit" in text
    # In turn 20 and 60 mm of travel: 20, 80, 100 of 130 mm.
    counted = wait.changed(
        {
            "shaft.encoder": "100 1/mm",
            "run.steps": [
                {"dispense": "2000 counts"},
                {"dispense": "6000 counts"},
                {"refill": {}},
            ],
        }
    )
    assert check_report.shots_per_stroke(counted, steady) == 3
    long = wait.changed({"run.steps": [{"dispense": "30 s"}]})
    assert check_report.shots_per_stroke(long, steady) == 0
    assert "no shot fits" in report.as_text(check_report.check_sections(long, steady))


def test_a_preload_keeps_the_lead_of_a_refilled_shot_and_degassing_does_not(wait):
    """One shaft moves both pistons in ratio: packing identity, closed form."""
    preloaded = wait.changed(
        {"run.steps": [{"preload": "3 s"}, {"dispense": "3 s"}, {"refill": {}}]}
    )
    degassed = wait.changed({"resin.free_gas": "0.3 %"})
    lead, kept, less = (
        case.simulate().to_dict()["net_lead_mL"] for case in (wait, preloaded, degassed)
    )
    # The shot ends 3 s after it opened: within 5 % of steady in all three.
    assert kept == pytest.approx(lead, rel=0.05)
    assert less < 0.4 * lead
