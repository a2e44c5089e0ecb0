"""Live throttles follow the hand, as fast as a drawing and a few runs allow."""

import math
import re
import statistics
import time

import pytest
from explained import CASES, long_boom

from evenfront import load_case
from evenfront.live import LiveThrottles


@pytest.fixture(scope="module")
def case():
    return load_case(CASES / "long-boom-held-shots.toml")


def timed(action):
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def test_the_sliders_start_at_the_case_and_span_its_range(case):
    resin, hardener = LiveThrottles(case).sliders
    assert (resin.value, hardener.value) == pytest.approx((0.02, 0.2))
    # default: from the case's setting to 2,000 times it
    assert (10**resin.min, 10**resin.max) == pytest.approx((0.02, 40.0))
    assert (10**hardener.min, 10**hardener.max) == pytest.approx((0.2, 400.0))
    assert (resin.description, hardener.description) == ("Part A", "Part B")


def test_a_needle_is_set_in_turns(case):
    live = LiveThrottles(load_case(CASES / "needle-and-encoder.toml"))
    needle = live.sliders[1]
    assert needle.value == pytest.approx(2.0)
    assert (10**needle.min, 10**needle.max) == pytest.approx((0.4, 2.0))
    assert live.settings.hardener == pytest.approx(2.0)


def test_outlet_and_part_follow_the_hand_to_what_the_trim_finds(case):
    live = LiveThrottles(case)
    before, drawn = live.made.off, live.view.value
    answer = long_boom().trim.answers["least_soft"].to_dict()
    for slider, side in zip(live.sliders, ("resin", "hardener"), strict=True):
        slider.value = answer[f"{side}_setting"]["value"]
    after = live.made
    assert after.off < 0.2 * before
    assert after.run.to_dict()["soft_volume_mL"] == pytest.approx(
        answer["after"]["soft_volume_mL"], rel=1e-9
    )
    assert live.view.value != drawn
    assert "as written" in live.view.value
    assert re.search(r"Off ratio [0-9.]+ mL \(cc\) of", live.view.value)


def test_a_throttle_all_but_shut_is_told_in_words(case):
    live = LiveThrottles(
        case.changed({"hardener.throttle.range": ["0.2 bar*s/mL", "1e9 bar*s/mL"]})
    )
    live.sliders[1].value = 1e9
    assert "Nothing to speak of flows" in live.view.value


def test_a_move_takes_no_longer_than_a_drawing_and_ten_runs(case):
    live = LiveThrottles(case)
    slider = live.sliders[1]
    values = [10 ** (slider.min + (slider.max - 1.0 - slider.min) * i / 51) for i in range(1, 51)]
    moves = [timed(lambda value=value: setattr(slider, "value", value)) for value in values]
    drawing = statistics.median(timed(live.draw) for _ in range(20))
    run = statistics.median(timed(live.run) for _ in range(20))
    assert statistics.median(moves) <= drawing + 10 * run
    assert math.isclose(slider.value, values[-1])
