"""Production, part map, travel and their pictures, held to closed forms and to bookkeeping."""

import itertools
import math
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from evenfront import _core, load_case, production_plot
from evenfront.case import Case, CaseError
from evenfront.explain_plot import part_picture
from evenfront.made import Made
from evenfront.mixer_plot import mixer_movie, mixer_stills
from evenfront.part import (
    Production,
    hardness,
    part_map,
    production,
    travel,
)
from evenfront.production import HOLD_UPS_BEFORE
from evenfront.run import Run

ML = 1e-6
CASES = Path(__file__).parents[2] / "data" / "cases"
BEAD = {"kind": "bead", "area": "30 mm^2", "path": "1.1 m"}
LAYERS = {
    "kind": "casting",
    "layers": [
        {"name": "below the coil", "volume": "10 mL"},
        {"name": "around the coil", "volume": "18 mL"},
        {"name": "above the coil", "volume": "6 mL"},
    ],
}


@pytest.fixture(scope="module")
def case() -> Case:
    return load_case(CASES / "long-boom-held-shots.toml")


@pytest.fixture(scope="module")
def run(case: Case) -> Run:
    return case.changed({"part": BEAD}).simulate()


def with_part(run: Run, part: dict[str, Any]) -> Run:
    """Same run, another part: what is made changes nothing of what the machine does."""
    other = object.__new__(Run)
    other.__dict__.update(run.__dict__)
    other.case = run.case.changed({"part": part})
    return other


def made(run: Run, volumes: list[float], errors: list[float], shots: list[int]) -> Production:
    """Invent liquid of known ratio error, one piece each [mL]."""
    widths = np.array(volumes) * ML
    ratio = run.target.ratio * (1.0 + np.array(errors))
    edges = np.concatenate([[0.0], np.cumsum(widths)])
    hardener = np.concatenate([[0.0], np.cumsum(widths * ratio / (1.0 + ratio))])
    return Production(
        volume=edges,
        hardener=hardener,
        error=np.array(errors),
        shot=np.array(shots, dtype=np.int32),
        age=np.zeros(len(errors)),
        time=np.zeros(len(errors)),
        target=run.target,
        inlet=_core.mixer_inlet(run.trace, _core.passages(run.machine), run.ratio),
        fraction=run.ratio / (1.0 + run.ratio),
        warnings=(),
    )


# Production


def test_all_that_passed_the_shut_offs_leaves_or_is_in_the_mixer(run: Run) -> None:
    trace = run.trace
    delivered = trace.resin.volume[-1] + trace.hardener.volume[-1]
    for model in ("plug", "dispersed"):
        made_of = production(run, model)
        assert made_of.volume[0] == 0.0
        assert made_of.volume[-1] == pytest.approx(delivered, rel=1e-12)
        assert np.all(np.diff(made_of.volume) > 0.0)
        assert np.all(made_of.shot >= 0)  # nothing passes between the shots
    # plug: what is inside at the end is the last hold-up that entered
    plug = production(run, "plug")
    held = _core.hold_up(run.machine.mixer)
    entered = plug.inlet.composition
    inside = entered.hardener[-1] - np.interp(delivered - held, entered.volume, entered.hardener)
    before = plug.fraction * held
    slug = plug.inlet.left[1] - sum(plug.inlet.left_hardener)
    assert plug.hardener[-1] + inside - before == pytest.approx(
        trace.hardener.volume[-1] + slug, rel=1e-12
    )


@pytest.mark.parametrize("name", ["first-fill", "lost-motion", "large-casting", "two-drives"])
def test_hardener_is_conserved_from_the_shut_offs_of_every_machine(name: str) -> None:
    run = load_case(CASES / "machines" / f"{name}.toml").simulate()
    inlet = production(run, "plug").inlet
    passages = _core.passages(run.machine)
    streams = (run.trace.resin, run.trace.hardener)
    filled = [
        0.0 if full else volume - unfilled
        for full, volume, unfilled in zip(
            passages.full, passages.volume, inlet.unfilled, strict=True
        )
    ]
    passed = [stream.volume[-1] - fill for stream, fill in zip(streams, filled, strict=True)]
    assert inlet.composition.volume[-1] == pytest.approx(sum(passed), rel=1e-12)
    # what stands in the hardener's passage pushed back is there in place of its own liquid
    own = passed[1] + inlet.left[1]
    inside = inlet.composition.hardener[-1] + sum(inlet.left_hardener)
    assert inside == pytest.approx(own, rel=1e-12)
    for stream, arrival in zip(streams, inlet.arrival, strict=True):
        if not math.isnan(stream.arrival):  # the event as the run found it
            assert arrival == pytest.approx(stream.arrival, abs=5e-4)


def test_a_lead_leaves_one_mixer_volume_later_and_often_in_the_next_shot(run: Run) -> None:
    left = production(run, "plug")
    held = _core.hold_up(run.machine.mixer)
    # the first shot is smaller than the mixer: nothing off ratio leaves in it
    assert left.shots[0].end < held
    assert left.shots[0].measures.volume == 0.0
    off = np.flatnonzero(left.error > run.target.tolerance_high)
    assert left.volume[off[0]] == pytest.approx(held, rel=1e-3)
    assert left.shot[off[0]] == 1
    # the second shot gets its own lead and that of the first: as much as both have at the inlet,
    # and some of what passed while the shut-offs closed in between
    first, second = (m.inlet.volume for m in run.measures.shots[:2])
    closing = run.measures.shots[0].resin_after_close + run.measures.shots[0].hardener_after_close
    assert first + second < left.shots[1].measures.volume < first + second + closing


def test_shots_end_on_what_the_machine_dispensed(run: Run) -> None:
    for shot, measures in zip(production(run).shots, run.measures.shots, strict=True):
        dispensed = (
            measures.resin_volume
            + measures.hardener_volume
            + measures.resin_after_close
            + measures.hardener_after_close
        )
        assert shot.end - shot.start == pytest.approx(dispensed, rel=1e-9)


def test_liquid_in_the_mixer_ages_through_the_dwell(run: Run) -> None:
    left = production(run, "plug")
    held = _core.hold_up(run.machine.mixer)
    flow = run.steady.resin.flow + run.steady.hardener.flow
    # the last to leave entered a hold-up before, in the same shot
    assert left.age[-2] == pytest.approx(held / flow, rel=0.05)
    # the first of the last shot has stood through the dwell of 20 s as well
    assert left.shots[-1].oldest > 20.0
    early = np.flatnonzero(left.shot == 3)[5]
    assert 20.0 < left.age[early] < 20.0 + 2.0 * held / flow


def test_a_periodic_run_leaves_the_same_in_every_round(case: Case) -> None:
    periodic = case.changed(
        {"run": {"steps": case.data["run"]["steps"], "repeat": 3, "start": "periodic"}}
    ).simulate()
    shots = production(periodic, "dispersed").shots
    assert HOLD_UPS_BEFORE > 1.0
    for shot in shots[1:]:
        assert shot.measures.soft_volume == pytest.approx(shots[0].measures.soft_volume, rel=0.01)
        assert shot.measures.highest_error == pytest.approx(
            shots[0].measures.highest_error, abs=2e-3
        )


def test_a_purge_goes_to_the_cup(case: Case) -> None:
    steps = [{"dispense": "2 s"}, {"dwell": "5 s"}, {"purge": "12 mL"}, {"dwell": "5 s"}]
    purged = case.changed({"run": {"steps": steps, "repeat": 2}, "part": BEAD}).simulate()
    left = production(purged, "plug")
    cup = np.diff(left.volume)[left.shot < 0]
    # a purge ends on its volume, and what passes while the shut-offs close is on top
    assert 24.0 * ML <= cup.sum() < 28.0 * ML
    assert [shot.shot for shot in left.shots] == [0, 1]
    assert part_map(purged, left).parts == 2


def test_nothing_leaves_an_empty_mixer_before_it_is_full(case: Case) -> None:
    empty = case.changed({"mixer.starts": "empty"}).simulate()
    full = case.simulate()
    held = _core.hold_up(empty.machine.mixer)
    left = production(empty, "plug")
    delivered = empty.trace.resin.volume[-1] + empty.trace.hardener.volume[-1]
    assert left.volume[-1] == pytest.approx(delivered - held, rel=1e-9)
    # what leaves first is what entered first: the lead of the first shot
    assert left.error[0] == pytest.approx(1.0)
    assert production(full, "plug").error[0] == pytest.approx(
        full.ratio / full.target.ratio - 1.0, abs=1e-9
    )


def test_a_tip_smears_what_leaves_and_lets_its_middle_out_first(case: Case) -> None:
    tip = case.changed({"mixer.tip": {"bore": "6 mm", "length": "100 mm"}}).simulate()
    left = production(tip, "plug")
    held = _core.hold_up(tip.machine.mixer)
    inside = 0.25 * math.pi * 0.006**2 * 0.1
    first = left.volume[np.flatnonzero(left.error > 0.05)[0]]
    assert held + 0.5 * inside <= first < held + 0.5 * inside + 0.3 * ML
    delivered = tip.trace.resin.volume[-1] + tip.trace.hardener.volume[-1]
    assert left.volume[-1] == pytest.approx(delivered, rel=1e-12)
    # the shot's own outlet goes through it as well
    assert tip.shot.outlet.highest_error < tip.shot.inlet.highest_error


def test_blend_pushed_beyond_the_passage_is_said(case: Case, run: Run) -> None:
    said = production(run).warnings
    assert any("beyond the shut-off" in sentence for sentence in said)
    tight = case.changed({"resin.shutoff.passage_volume": "0.4 mL"}).simulate()
    assert any("passage of 0.4 mL" in sentence for sentence in production(tight).warnings)
    roomy = case.changed({"resin.shutoff.passage_volume": "3 mL"}).simulate()
    assert not production(roomy).warnings


def test_liquid_older_than_the_working_life_is_said(case: Case) -> None:
    old = case.changed({"mixer.working_life": "20 s"}).simulate()
    assert any("working life" in sentence for sentence in production(old, "plug").warnings)
    young = case.changed({"mixer.working_life": "10 min"}).simulate()
    assert not any("working life" in sentence for sentence in production(young, "plug").warnings)


# The part


def test_a_soft_place_lies_where_its_liquid_was_laid(run: Run) -> None:
    # 33 mL of 30 mm^2 is 1.1 m; 3 mL soft after 9 mL is 0.3 to 0.4 m
    liquid = made(run, [9.0, 3.0, 20.9, 0.1], [0.0, 0.4, -0.01, 0.0], [0, 0, 0, 0])
    found = part_map(run, liquid)
    assert found.parts == 1
    soft = [s for s in found.stretches(0) if s.verdict == "soft"]
    assert len(soft) == 1
    resolve = 0.011 * 1.01  # one per cent of the shot on this bead [m]
    first, last = soft[0].pieces[0], soft[0].pieces[-1]
    assert first.start == pytest.approx(0.3, abs=resolve)
    assert last.end == pytest.approx(0.4, abs=resolve)
    assert soft[0].worst.error == pytest.approx(0.4, rel=1e-9)
    assert found.volume(0, "brittle") == 0.0
    total = sum(piece.volume for piece in found.of(0))
    assert total == pytest.approx(33.0 * ML, rel=1e-12)
    assert max(piece.volume for piece in found.of(0)) <= 0.01 * 33.0 * ML * (1.0 + 1e-9)


def test_a_spike_smaller_than_the_piece_that_matters_is_averaged(run: Run) -> None:
    # 0.05 mL at twice the hardener within pieces of 0.33 mL: one piece at 100 %/6.6, seen from the
    # hardener: r = r0 (1 + e w) up to order r0
    liquid = made(run, [0.1, 0.05, 32.85], [0.0, 1.0, 0.0], [0, 0, 0])
    error = part_map(run, liquid).of(0)[0].error
    ratio = run.target.ratio
    h = 0.05 * 2 * ratio / (1 + 2 * ratio) + 0.28 * ratio / (1 + ratio)
    assert error == pytest.approx(h / (0.33 - h) / ratio - 1.0, rel=1e-6)
    assert part_map(run, liquid).of(0)[1].error == pytest.approx(0.0, abs=1e-9)


def test_layers_are_filled_in_order_and_liquid_that_lacks_leaves_the_last_short(run: Run) -> None:
    cast = with_part(run, LAYERS)
    liquid = made(cast, [12.0, 5.0, 14.0], [0.0, -0.3, 0.0], [0, 0, 0])
    found = part_map(cast, liquid)
    names = [stretch.name for stretch in found.stretches(0)]
    assert names == ["below the coil", *["around the coil"] * 3, "above the coil"]
    brittle = [s for s in found.stretches(0) if s.verdict == "brittle"]
    assert len(brittle) == 1
    assert brittle[0].volume == pytest.approx(5.0 * ML, abs=2 * 0.31 * ML)
    assert brittle[0].pieces[0].start is None
    assert found.of(0)[-1].volume_end == pytest.approx(31.0 * ML)
    assert any("3 mL" in sentence and "less" in sentence for sentence in found.warnings)


def test_a_cavity_is_filled_to_a_height(run: Run) -> None:
    cavity = {"kind": "casting", "cavity": "34 mL", "cross_section": "850 mm^2"}
    cast = with_part(run, cavity)
    found = part_map(cast, made(cast, [33.0, 1.0], [0.0, 0.5], [0, 0]))
    top = found.stretches(0)[-1]
    assert top.verdict == "soft"
    assert top.pieces[-1].end == pytest.approx(0.04)
    assert top.pieces[0].start == pytest.approx(33.0 / 850.0, abs=0.01 * 0.04)


def test_two_shots_make_a_part_and_an_odd_one_makes_none(run: Run) -> None:
    pair = with_part(run, BEAD | {"shots_per_part": 2})
    liquid = made(pair, [17.0, 2.0, 17.0, 16.0, 16.0], [0.0, 0.9, 0.0, 0.2, 0.0], [0, -1, 1, 2, 3])
    found = part_map(pair, liquid)
    assert found.shots == ((0, 1), (2, 3))
    # what went to the cup in between is not in the part
    assert found.volume(0, "soft") == 0.0
    assert found.volume(1, "soft") == pytest.approx(16.0 * ML, abs=0.4 * ML)
    assert found.worst() == 1
    triple = with_part(run, BEAD | {"shots_per_part": 3})
    assert part_map(triple, liquid).parts == 1
    lonely = with_part(run, BEAD | {"shots_per_part": 5})
    none = part_map(lonely, liquid)
    assert none.parts == 0
    assert any("no part" in sentence for sentence in none.warnings)
    with pytest.raises(LookupError):
        none.worst()


def test_the_hardener_of_all_pieces_is_that_of_the_shot(run: Run) -> None:
    left = production(run, "dispersed")
    found = part_map(run, left)
    for number, shot in enumerate(left.shots):
        inside = left.window(shot.start, shot.end)
        laid = min(run.case.part.volume, shot.end - shot.start)  # type: ignore[union-attr]
        expected = np.interp(laid, inside.volume, inside.hardener)
        ratio = run.target.ratio
        total = 0.0
        for piece in found.of(number):
            if abs(piece.error) < 1.0:
                r = ratio * (1.0 + piece.error)
                total += piece.volume * r / (1.0 + r)
            else:  # capped
                total += np.interp(piece.volume_end, inside.volume, inside.hardener)
                total -= np.interp(piece.volume_start, inside.volume, inside.hardener)
        assert total == pytest.approx(expected, rel=1e-12)


def test_hardness_is_the_users_own_and_never_overshoots(run: Run) -> None:
    points = [["-20 %", 62], ["-5 %", 84], ["0 %", 85], ["10 %", 84.5], ["20 %", 48]]
    hard = with_part(run, BEAD | {"hardness": points}).case.part
    assert hard is not None
    for text, value in points:
        assert hardness(hard, float(str(text)[:-1]) / 100.0) == pytest.approx(value)
    errors = np.linspace(-0.2, 0.2, 401)
    curve = np.array([hardness(hard, float(e)) for e in errors], dtype=float)
    assert curve.max() <= 85.0 + 1e-9
    assert np.all(np.diff(curve[errors <= 0.0]) >= -1e-9)
    assert np.all(np.diff(curve[errors >= 0.0]) <= 1e-9)
    assert hardness(hard, 0.21) is None
    assert run.case.part is not None
    assert hardness(run.case.part, 0.0) is None  # no default
    measured = with_part(run, BEAD | {"hardness": points})
    found = part_map(measured, made(measured, [30.0, 3.0], [0.02, 0.5], [0, 0]))
    assert found.of(0)[-1].hardness is None
    assert any("+50 %" in sentence for sentence in found.warnings)


def test_a_bead_laid_faster_than_the_flow_is_said(run: Run) -> None:
    flow = run.steady.resin.flow + run.steady.hardener.flow
    right = f"{flow / 30e-6 * 1e3:.6g} mm/s"
    liquid = made(run, [33.0], [0.0], [0])
    assert not part_map(with_part(run, BEAD | {"speed": right}), liquid).warnings
    fast = part_map(with_part(run, BEAD | {"speed": "900 mm/s"}), liquid)
    assert any("900 mm/s" in sentence for sentence in fast.warnings)


def test_a_case_without_a_part_says_so(case: Case, run: Run) -> None:
    bare = object.__new__(Run)
    bare.__dict__.update(run.__dict__)
    bare.case = case.changed({"part": None})
    with pytest.raises(LookupError, match="part"):
        part_map(bare, production(run))


@pytest.mark.parametrize(
    ("part", "path", "words"),
    [
        ({"kind": "bead", "area": "30 mm^2"}, "part.path", "missing"),
        ({"kind": "bead", "path": "1 m"}, "part.area", "cross-section"),
        ({"kind": "bead", "path": "1 m", "width": "3 mm"}, "part.height", "missing"),
        (BEAD | {"width": "3 mm", "height": "3 mm"}, "part.area", "either"),
        (BEAD | {"path": "1 s"}, "part.path", "length"),
        (BEAD | {"path": [["0 mm", "0 mm"]]}, "part.path", "2 pairs"),
        (BEAD | {"path": [["1 mm", "0 mm"]] * 2}, "part.path", "longer than nothing"),
        (BEAD | {"shots_per_part": 0}, "part.shots_per_part", "at least 1"),
        (BEAD | {"hardness": [["1 %", 80], ["1 %", 70]]}, "part.hardness[1][0]", "above"),
        (BEAD | {"hardness_scale": "D"}, "part.hardness_scale", "hardness"),
        ({"kind": "casting"}, "part.cavity", "missing"),
        ({"kind": "casting", "layers": []}, "part.layers", "at least one"),
        (LAYERS | {"cavity": "3 mL"}, "part.cavity", "either"),
        (LAYERS | {"height": "3 mm"}, "part.height", "cavity"),
        ({"kind": "casting", "cavity": "3 mL"}, "part.height", "height or cross_section"),
        ({"kind": "sphere"}, "part.kind", "bead"),
    ],
)
def test_what_cannot_be_made_is_refused(
    case: Case, part: dict[str, Any], path: str, words: str
) -> None:
    with pytest.raises(CaseError) as refusal:
        case.changed({"part": part})
    assert any(f": {path}" in line and words in line for line in refusal.value.problems), (
        refusal.value.problems
    )


# Travel


def test_plug_flow_keeps_a_lead_for_good_and_dispersion_settles_it(run: Run) -> None:
    found = travel(run)
    assert found.settling["plug"] is None
    assert found.elements["plug"] is None
    distance = found.settling["dispersed"]
    assert distance is not None
    # as the core finds it for the same shot, each on its own pieces (400 and 1000): 0.5 %
    assert distance == pytest.approx(run.shot.settling_distance, rel=5e-3)
    assert found.elements["dispersed"] == math.ceil(32 * distance / 0.25)
    by_length = [row.outlet.volume for row in found.table if row.model == "plug"]
    assert by_length == pytest.approx([run.shot.outlet_plug.volume] * len(by_length), rel=1e-6)
    spread = [row for row in found.table if row.model == "dispersed"]
    peaks = [row.outlet.highest_error for row in spread]
    assert peaks == sorted(peaks, reverse=True)
    assert [row.elements for row in spread] == [16, 32, 48, 64, 96]


def test_a_short_spike_is_gone_where_its_closed_form_says(run: Run) -> None:
    # all the spike's volume m spreads to a normal curve of deviation z V sqrt(2/(Pe z)): its peak
    # is m/(V sqrt(4 pi z/Pe)); from the held shot's lead, of both signs, it is the upper bound
    found = travel(run, shot=0, places=[0.2, 0.5, 1.0], instants=[27.2e-6])
    assert found.profiles["plug"].shape == (1, 3)
    inlet = _core.inlet_composition(
        run.trace, run.trace.shots[0], run.ratio, passages=_core.passages(run.machine)
    )
    # the flux that passes each place is that which leaves a mixer of that length
    for place, error in zip([0.2, 0.5, 1.0], found.profiles["dispersed"][0], strict=True):
        held = _core.hold_up(run.machine.mixer)
        out = _core.through_mixer(inlet, run.residence("dispersed"), held, place, 20000)
        passing = _core.ratio_error(out, run.target.ratio)
        piece = np.searchsorted(out.volume, 27.2e-6, side="right") - 1
        assert error == pytest.approx(passing[piece], abs=2e-3)


def test_a_lead_may_need_more_mixer_than_there_is(case: Case, run: Run) -> None:
    narrow = case.changed({"ratio.tolerance": "1 %"}).simulate()
    found = travel(narrow)
    distance = found.settling["dispersed"]
    assert distance is not None
    assert distance > narrow.machine.mixer.length
    assert math.isnan(narrow.shot.settling_distance)
    elements = found.elements["dispersed"]
    assert elements is not None
    assert elements > 32
    # a mixer of that length, all else the same, just does it
    longer = travel(narrow, lengths=[0.98 * distance / 0.25, 1.02 * distance / 0.25])
    before, after = (
        max(row.outlet.highest_error, -row.outlet.lowest_error)
        for row in longer.table
        if row.model == "dispersed"
    )
    assert after < 0.01 < before
    # and a start from rest, pure hardener first, is beyond any mixer
    assert travel(run, shot=0).settling["dispersed"] is None


# Pictures


def hatches(ax: Any) -> set[str]:
    return {patch.get_hatch() for patch in ax.patches if patch.get_hatch()}


def test_the_sequence_is_drawn_with_its_soft_places_hatched(run: Run) -> None:
    left = production(run, "plug")
    ax = production_plot.outlet_sequence(run, left)
    assert "////" in hatches(ax)
    assert "[mL]" in ax.get_xlabel()
    assert "[%]" in ax.get_ylabel()
    words = {text.get_text() for text in ax.texts}
    assert {"shot 1", "shot 4"} <= words
    low, high = ax.get_ylim()
    assert low < 100.0 * left.error.min()
    assert high > 100.0 * left.error.max()
    older = production_plot.age(run, left)
    assert older.get_ylim()[1] > left.age.max()


@pytest.mark.parametrize(
    "part",
    [
        BEAD,
        BEAD | {"path": [["0 mm", "0 mm"], ["600 mm", "0 mm"], ["600 mm", "500 mm"]]},
        LAYERS,
        {"kind": "casting", "cavity": "34 mL", "height": "40 mm"},
    ],
)
def test_the_part_is_drawn_with_what_is_off_hatched_to_scale_and_named(
    run: Run, part: dict[str, Any]
) -> None:
    shown = with_part(run, part)
    left = made(shown, [20.0, 3.0, 8.0], [0.0, 0.4, -0.3], [0, 0, 0])
    found = part_map(shown, left)
    drawn = str(part_picture(Made(shown, left, found, 0)))
    assert set(re.findall(r'class="label">(\w+) ', drawn)) == {"brittle", "soft"}
    for verdict in ("soft", "brittle"):
        share = found.volume(0, verdict) / found.part.volume
        if part["kind"] == "casting":  # as high as its volume
            high = rf'height="([\d.]+)" class="fill" style="fill:url\(#part-{verdict}\)'
            hatched = sum(map(float, re.findall(high, drawn))) / 200.0
        else:  # as long as its volume
            laid = rf'd="([^"]+)" class="laid" style="[^"]*url\(#part-{verdict}\)'
            (bead,) = re.findall(r'd="([^"]+)" class="bead"', drawn)
            hatched = sum(map(length, re.findall(laid, drawn))) / length(bead)
        assert hatched == pytest.approx(share, abs=1e-3)  # points stand to 0.1 of some 300
    # two pieces of the grid may lie half in it
    assert 3.0 * ML - 1e-12 <= found.volume(0, "soft") <= (3.0 + 2 * 0.31) * ML


def length(route: str) -> float:
    """Length of a line drawn from point to point."""
    points = [tuple(map(float, point.split())) for point in route.strip("M").split("L")]
    return sum(math.dist(a, b) for a, b in itertools.pairwise(points))


def test_the_plug_is_drawn_moving_through_the_mixer_with_the_liquid(run: Run) -> None:
    held = _core.hold_up(run.machine.mixer)
    found = travel(run, instants=np.linspace(0.3, 0.9, 13) * held)
    plug = replace(found, profiles={"plug": found.profiles["plug"]})
    drawn = str(mixer_movie(run, [("as it is", plug)], 0.3))
    ((left, wide),) = re.findall(r'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)".*?"tube"', drawn)
    frames = drawn.split('class="frame"')[1:]
    assert len(frames) == 13
    off = r'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)" height="[\d.]+" class="plug"'
    for frame, entered in zip(frames, found.entered, strict=True):
        x, width = map(float, re.findall(off, frame)[-1])
        # what entered first is farthest: as far as what entered since is of the hold-up
        front = (x + width - float(left)) / float(wide)
        assert front == pytest.approx(entered / held, abs=2.0 / 250.0)
    stills = str(mixer_stills(run, [("as it is", plug), ("mended", plug)], 0.3))
    assert stills.count('class="tube"') == 2 * 6
