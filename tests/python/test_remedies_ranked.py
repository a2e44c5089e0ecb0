"""Remedies ranked: what each removes and costs, against simulations of the changed machine."""

from pathlib import Path

import numpy as np
import pytest

from evenfront import load_case, trim
from evenfront.remedy_ranking import WORTH_A_SECOND, rank_remedies

CASES = Path(__file__).parents[2] / "data" / "cases"


@pytest.fixture(scope="module")
def held():
    case = load_case(CASES / "bleed-the-hardener.toml")
    return case, rank_remedies(case)


def test_what_is_left_is_what_the_changed_machine_leaves(held):
    """Each is simulated again as a case run; a purge keeps the machine and gives away liquid."""
    case, ranked = held
    before = case.simulate().shot.outlet.soft_volume
    for remedy in ranked:
        assert remedy.soft_before == pytest.approx(before, rel=1e-12)
        if remedy.kinds != ("purge",):
            assert remedy.soft_after == pytest.approx(
                remedy.run.shot.outlet.soft_volume, rel=1e-9
            ), remedy.name
    purge = next(remedy for remedy in ranked if remedy.kinds == ("purge",))
    assert purge.waste == pytest.approx(case.simulate().shot.outlet.end, rel=1e-9)


def test_those_that_last_come_first_by_what_they_remove(held):
    _, ranked = held
    assert [r.lasting for r in ranked] == sorted((r.lasting for r in ranked), reverse=True)
    for group in (True, False):
        removed = [r.soft_removed for r in ranked if r.lasting is group]
        assert removed == sorted(removed, reverse=True)
    # To throw away the first of every shot is no remedy, to set a valve to 3.5 ms neither.
    assert not any(r.lasting for r in ranked if r.kinds == ("purge",))
    assert all(r.too_fine == (0.0 < r.delay < 10e-3) for r in ranked)


def test_the_throttle_is_the_trim_of_least_soft(held):
    case, ranked = held
    answer = trim(case, "least_soft").answer
    throttle = next(r for r in ranked if r.kinds == ("throttle",))
    assert throttle.soft_after == pytest.approx(answer.core.trial.outlet.soft_volume, rel=1e-9)
    assert -throttle.flow_change == pytest.approx(answer.flow_lost, rel=1e-6)


def test_pressure_added_is_that_of_the_gauges(held):
    """Highest pressure of both lines with the trim, less that of the case as written."""
    case, ranked = held
    throttle = next(r for r in ranked if r.kinds == ("throttle",))
    after, before = (
        max(np.max(run.trace.resin.pressure), np.max(run.trace.hardener.pressure))
        for run in (throttle.run, case.simulate())
    )
    assert throttle.pressure_added == pytest.approx(after - before, rel=1e-9)


def test_a_pair_is_named_only_where_it_beats_each_alone(held):
    _, ranked = held
    pairs = [r for r in ranked if len(r.kinds) == 2]
    assert len(pairs) <= 1
    for pair in pairs:
        alone = max(r.soft_removed for r in ranked if len(r.kinds) == 1 and r.lasting)
        assert pair.soft_removed >= alone + WORTH_A_SECOND * pair.soft_before
        assert len(set(pair.kinds)) == 2
        assert ";" in pair.name


def test_bleeding_removes_the_air_that_was_there(held):
    _, ranked = held
    bleed = next(r for r in ranked if r.kinds == ("bleed_pocket",))
    assert "0.4 mL" in bleed.name
    assert all(piece.pocket == 0.0 for piece in bleed.run.machine.hardener.line)
    assert bleed.waste == bleed.flow_change == 0.0


def test_ratings_are_kept_or_it_is_said_that_they_are_not():
    """A hose rated half a bar above what it sees: the trim keeps it. Below that: nothing lasts."""
    case = load_case(CASES / "bleed-the-hardener.toml")
    highest = case.simulate().trace.hardener.pressure[:, 1:].max() / 1e5
    free, above, below = (
        rank_remedies(case.changed({"hardener.line[0].rating": rating}), pairs=False)
        for rating in ("210 bar", f"{highest + 0.5:.2f} bar", f"{highest - 0.5:.2f} bar")
    )
    added = [
        next(r.pressure_added for r in ranked if r.kinds == ("throttle",))
        for ranked in (free, above)
    ]
    assert added[1] <= 0.5e5 < added[0]
    assert all(r.within_ratings for r in above if r.kinds == ("throttle",))
    bled = next(r for r in below if r.kinds == ("bleed_pocket",))
    assert not bled.within_ratings
    assert not bled.lasting
    assert "above the rating" in bled.over_rating[0]
    assert not bled.to_dict()["within_ratings"]


def test_a_first_shot_from_rest_may_go_to_the_cup():
    case = load_case(CASES / "bleed-the-hardener-slack.toml")
    ranked = rank_remedies(case, pairs=False)
    assert ranked[0].kinds == ("purge",)
    assert ranked[0].lasting


def test_the_answer_does_not_depend_on_threads():
    case = load_case(CASES / "bleed-the-hardener-slack.toml")
    one, two = (rank_remedies(case, pairs=False, threads=n) for n in (1, 2))
    assert [r.to_dict() for r in one] == [r.to_dict() for r in two]
