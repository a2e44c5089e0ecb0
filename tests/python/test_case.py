"""Case files: what is read, what is assumed, and how bad input is refused."""

import copy
import math
import pickle
import tomllib
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenfront import _core
from evenfront import units as u
from evenfront.case import Case, CaseError, load_case
from evenfront.schema import json_schema

CASES = sorted((Path(__file__).parents[2] / "data" / "cases").glob("*.toml"))
DEMO = next(path for path in CASES if path.stem == "long-boom-held-shots")


@pytest.fixture(scope="module")
def demo():
    return load_case(DEMO)


def problems(case, changes):
    with pytest.raises(CaseError) as refusal:
        case.changed(changes)
    return refusal.value.problems


# --- what is read ----------------------------------------------------------------------------


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_demo_cases_are_read_and_say_that_they_are_invented(path):
    case = load_case(path)
    assert "(invented)" in case.title
    assert path.read_text().startswith("# Invented")
    assert case.assumptions


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_demo_cases_fit_the_printed_schema(path):
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(tomllib.loads(path.read_text()))


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("resin", "density"), 1.75),
        (("resin", "density"), "1.75"),
        (("resin", "density"), "1,75 g/cm^3"),
        (("resin", "bor"), "3 mm"),
        (("resin", "viscosity", "model"), "cross"),
        (("resin", "line"), []),
        (("drive", "between_shots"), "held"),
        (("shaft", "mass"), None),
    ],
)
def test_the_printed_schema_refuses_what_the_reader_refuses(path, value):
    data = tomllib.loads(DEMO.read_text())
    table = data
    for key in path[:-1]:
        table = table[key]
    if value is None:
        del table[path[-1]]
    else:
        table[path[-1]] = value
    assert not jsonschema.Draft202012Validator(json_schema()).is_valid(data)
    with pytest.raises(CaseError):
        Case.from_dict(data)


def test_every_key_of_the_schema_has_a_description():
    schema = json_schema()
    for table in [schema, *schema["$defs"].values()]:
        for name, key in table["properties"].items():
            target = schema["$defs"].get(key.get("$ref", "").removeprefix("#/$defs/"), {})
            assert {**target, **key}.get("description"), (table["title"], name)


def test_values_are_si_gauge_and_kelvin(demo):
    machine = demo.resolved.machine
    assert machine["resin"]["cylinder"]["temperature"] == 323.15
    assert machine["resin"]["line"][0]["wall_expansion"] == pytest.approx(0.035e-11, rel=1e-14)
    assert machine["hardener"]["rheology"]["consistency"] == pytest.approx(0.18, rel=1e-14)
    assert machine["hardener"]["throttle"]["resistance"] == pytest.approx(2e10, rel=1e-14)
    assert machine["drive"]["force"] == pytest.approx(4600.0, rel=1e-14)
    assert demo.resolved.sequence["repeat"] == 4
    assert demo.trim.max_back_pressure == pytest.approx(60e5, rel=1e-14)
    assert demo.trim.least_flow == 0.7


def test_consistency_gives_the_data_sheet_viscosity_back(demo):
    case = demo.changed(
        {
            "resin.viscosity": {
                "model": "herschel_bulkley",
                "viscosity": "40 Pa*s",
                "shear_rate": "5 1/s",
                "index": 0.85,
                "yield_stress": "15 Pa",
            }
        }
    )
    law = case.resolved.machine["resin"]["rheology"]
    # Definition of the apparent viscosity: (tau_y + k s^n)/s at the data sheet's shear rate.
    stress = law["yield_stress"] + law["consistency"] * 5.0 ** law["index"]
    assert stress / 5.0 == pytest.approx(40.0, rel=1e-14)


@pytest.mark.parametrize(
    ("by_weight", "by_volume"),
    # Closed form, evaluated: 100:7.896774 and 100:10 by weight at 1.55 and 1.02 g/cm^3 are
    # 100:12 and 100:15.196078 by volume; printed to 1e-6 of a part.
    [(0.07896774, 0.12), (0.10, 0.15196078)],
)
def test_ratio_by_weight_becomes_ratio_by_volume(demo, by_weight, by_volume):
    case = demo.changed(
        {
            "ratio": {"by_weight": by_weight, "tolerance": "5 %"},
            "resin.density": "1.55 g/cm^3",
            "hardener.density": "1.02 g/cm^3",
        }
    )
    assert case.resolved.target["ratio"] == pytest.approx(by_volume, abs=1e-8)


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [("5 %", 0.05, 0.05), ("-3 %, +5 %", 0.03, 0.05), ("+-2 %", 0.02, 0.02)],
)
def test_tolerance_may_be_two_sided(demo, text, low, high):
    target = demo.changed({"ratio.tolerance": text}).resolved.target
    assert target["tolerance_low"] == pytest.approx(low, rel=1e-14)
    assert target["tolerance_high"] == pytest.approx(high, rel=1e-14)


def test_wall_expansion_in_either_form_is_the_same(demo):
    direct = demo.changed({"resin.line[0].wall_expansion": "0.025 mL/bar/m"})
    maker = demo.changed(
        {
            "resin.line[0].wall_expansion": "2.5 mL/m",
            "resin.line[0].expansion_pressure": "100 bar",
        }
    )
    values = [
        case.resolved.machine["resin"]["line"][0]["wall_expansion"] for case in (direct, maker)
    ]
    assert values[0] == pytest.approx(values[1], rel=1e-14)


def test_sixteen_cells_are_shared_out_by_length(demo):
    def piece(length):
        return {"name": length, "bore": "16 mm", "length": length}

    case = demo.changed(
        {"resin.line": [piece("6 m"), piece("1.5 m"), piece("10 mm"), piece("0.49 m")]}
    )
    cells = [part["cells"] for part in case.resolved.machine["resin"]["line"]]
    assert cells == [12, 3, 1, 1]  # shares 12, 3, 0.02 and 0.98, none without a cell


def test_default_range_of_a_needle_spans_the_same_resistance(demo):
    case = load_case(next(path for path in CASES if path.stem == "needle-and-encoder"))
    throttle = case.changed({"hardener.throttle.range": None}).resolved.machine["hardener"][
        "throttle"
    ]
    assert throttle["highest"] == throttle["turns"]
    # A slit's resistance goes with gap^-3.
    assert (throttle["highest"] / throttle["lowest"]) ** 3 == pytest.approx(2000, rel=1e-12)
    resin = demo.resolved.machine["resin"]["throttle"]
    assert resin["highest"] / resin["lowest"] == pytest.approx(2000, rel=1e-12)


def test_counts_become_travel_and_need_an_encoder(demo):
    case = demo.changed({"run.steps": [{"dispense": "1200 counts"}], "shaft.encoder": "1200 1/in"})
    step = case.resolved.sequence["steps"][0]
    assert step["kind"] == "dispense_travel"
    assert step["amount"] == pytest.approx(0.0254, rel=1e-14)
    found = problems(demo, {"run.steps": [{"dispense": "1200 counts"}]})
    assert "shaft.encoder" in found[0]


@pytest.mark.parametrize(
    ("start", "expected"),
    [
        ("rest", (0, 0, 0, 0)),
        ("7 bar", (7e5, 7e5, 7e5, 7e5)),
        ({"resin": "4 bar", "hardener": "1 bar"}, (4e5, 4e5, 1e5, 1e5)),
        (
            {"resin": {"cylinder": "4 bar", "hose": "3 bar"}, "hardener": "1 bar"},
            (4e5, 3e5, 1e5, 1e5),
        ),
    ],
)
def test_start_pressures(demo, start, expected):
    values = demo.changed({"run.start": start}).resolved.sequence["start"]
    keys = ("resin_cylinder", "resin_line", "hardener_cylinder", "hardener_line")
    assert tuple(values[key] for key in keys) == pytest.approx(expected, rel=1e-14)


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_the_core_takes_every_demo_case(path):
    case = load_case(path)
    _core.validate(case.machine)
    values = case.resolved
    assert case.machine.resin.liquid.density == values.machine["resin"]["liquid"]["density"]
    assert case.machine.hardener.line[0].bore == values.machine["hardener"]["line"][0]["bore"]
    assert case.machine.drive.between_shots.name == values.machine["drive"]["between_shots"]
    assert len(case.sequence.steps) == len(values.sequence["steps"])
    assert case.sequence.start.hardener_line == values.sequence["start"]["hardener_line"]
    assert case.target.ratio == values.target["ratio"]
    assert case.numerics.rtol == values.numerics["rtol"]


# --- assumptions and warnings ----------------------------------------------------------------


def test_a_class_fills_only_what_is_missing_and_says_so(demo):
    case = demo.changed({"hardener.class": "amine", "hardener.bulk_modulus": None})
    liquid = case.resolved.machine["hardener"]["liquid"]
    assert liquid["bulk_modulus"] == pytest.approx(1.75e9)  # middle of 1.5 to 2 GPa
    assert liquid["thermal_expansion"] == 9e-4  # as written in the file
    said = [text for text in case.assumptions if text.startswith("hardener.bulk_modulus")]
    assert said == ['hardener.bulk_modulus = 1.75 GPa: assumed for class "amine", +-0.25 GPa.']


def test_activation_energy_of_a_class_is_divided_by_the_index(demo):
    case = demo.changed({"resin.class": "filled epoxy", "resin.viscosity.activation_energy": None})
    law = case.resolved.machine["resin"]["rheology"]
    # At fixed shear rate tau goes with a_T^n, so E of a_T is that of the viscosity over n.
    assert law["activation_energy"] * law["index"] == pytest.approx(67.5e3, rel=1e-14)


# --- laws of temperature ----------------------------------------------------------------------

TABLE = [["40 degC", "45 Pa*s"], ["50 degC", "26 Pa*s"], ["65 degC", "13 Pa*s"]]


def shear_law(case, temperature):
    return _core.at_temperature(case.machine.resin.rheology, temperature)


def test_a_table_of_viscosities_takes_the_place_of_the_activation_energy(demo):
    case = demo.changed({"resin.viscosity.activation_energy": None, "resin.viscosity.table": TABLE})
    assert case.warnings == ()
    for celsius, viscosity in ((40, 45), (50, 26), (65, 13)):
        law = shear_law(case, celsius + 273.15)
        # 26 Pa*s at 10 1/s and 50 degC is the case's own viscosity; the table's is at that rate.
        assert _core.apparent_viscosity(law, 10.0) == pytest.approx(viscosity, rel=1e-13)


def test_a_table_alone_gives_the_viscosity_too(demo):
    case = demo.changed(
        {
            "resin.viscosity.activation_energy": None,
            "resin.viscosity.table": TABLE,
            "resin.viscosity.viscosity": None,
        }
    )
    law = shear_law(case, 323.15)
    assert _core.apparent_viscosity(law, 10.0) == pytest.approx(26.0, rel=1e-13)
    jsonschema.Draft202012Validator(json_schema()).validate(case.to_dict())


def test_a_temperature_outside_the_table_is_warned_of(demo):
    case = demo.changed(
        {
            "resin.viscosity.activation_energy": None,
            "resin.viscosity.table": TABLE,
            "resin.metering.temperature": "35 degC",
        }
    )
    (said,) = [text for text in case.warnings if "viscosity.table" in text]
    assert "40 degC" in said
    assert "35 degC" in said


def test_vogel_and_wlf_give_the_core_the_same_law(demo):
    # The universal constants at 10 degC: B = ln(10) 17.44 51.6 K, T0 = 283.15 K - 51.6 K.
    wlf = {"C1": 17.44, "C2": "51.6 K", "reference_temperature": "10 degC"}
    vogel = {"B": f"{math.log(10) * 17.44 * 51.6} K", "T0": "231.55 K"}
    laws = [
        demo.changed({"resin.viscosity.activation_energy": None, f"resin.viscosity.{name}": value})
        for name, value in (("wlf", wlf), ("vogel", vogel))
    ]
    for celsius in (30.0, 50.0, 65.0):
        first, second = (shear_law(case, celsius + 273.15).consistency for case in laws)
        assert first == pytest.approx(second, rel=1e-12)
    assert _core.vogel_from_wlf(17.44, 51.6, 283.15).pole == pytest.approx(231.55)


CROSS = {
    "model": "cross",
    "viscosity": "60 Pa*s",
    "high_shear_viscosity": "3 Pa*s",
    "time_constant": "0.5 s",
    "exponent": 0.7,
}


def test_a_cross_liquid_has_half_the_fall_at_one_over_its_time_constant(demo):
    case = demo.changed({"resin.viscosity": CROSS})
    law = shear_law(case, 323.15)
    # Definition of the law: eta_inf + (eta_0 - eta_inf)/2 at a shear rate of 2 1/s.
    assert _core.apparent_viscosity(law, 2.0) == pytest.approx(31.5, rel=1e-12)
    assert case.simulate().status == "ok"


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"high_shear_viscosity": "70 Pa*s"}, "below viscosity"),
        ({"high_shear_viscosity": "0 Pa*s", "exponent": 0.95}, "at most 0.9"),
        ({"exponent": 0.05}, "at least 0.1"),
        ({"time_constant": "0 s"}, "above 0 s"),
    ],
)
def test_a_cross_liquid_that_cannot_be_is_one_sentence(demo, changes, said):
    found = problems(demo, {"resin.viscosity": CROSS | changes})
    assert len(found) == 1
    assert said in found[0]


@pytest.mark.parametrize(
    ("changes", "path", "said"),
    [
        ({"table": TABLE}, "table", "only one of activation_energy, table"),
        ({"table": TABLE[:1], "activation_energy": None}, "table", "at least 2 pairs"),
        ({"table": TABLE[::-1], "activation_energy": None}, "table[1][0]", "must rise"),
        (
            {"table": [*TABLE, ["70 degC", "14 Pa*s"]], "activation_energy": None},
            'table[3][1] = "14 Pa*s"',
            "below the viscosity",
        ),
        ({"table": [["40 degC"], TABLE[1]]}, "table[0]", "a pair"),
        ({"table": [["40 degC", "45 kg"], TABLE[1]]}, 'table[0][1] = "45 kg"', "a viscosity"),
        (
            {"vogel": {"B": "1600 K", "T0": "45 degC"}, "activation_energy": None},
            'vogel.T0 = "45 degC"',
            "10 K or more below",
        ),
        ({"vogel": {"B": "1600 K"}, "activation_energy": None}, "vogel.T0", "is missing"),
        ({"wlf": {"C1": -1, "C2": "51.6 K"}, "activation_energy": None}, "wlf.C1", "above 0"),
    ],
)
def test_a_law_of_temperature_that_cannot_be_is_one_sentence(demo, changes, path, said):
    found = problems(demo, {f"resin.viscosity.{name}": value for name, value in changes.items()})
    assert len(found) == 1
    assert found[0].startswith(f"{DEMO.name}: resin.viscosity.{path}")
    assert said in found[0]


# --- filler -----------------------------------------------------------------------------------


def test_filler_makes_a_liquid_denser_and_thicker(demo):
    # 40 % by volume at 0.64 and 2.5: 4.80341 times (Krieger and Dougherty, evaluated); density
    # 0.6 x 1.15 + 0.4 x 2.65 g/cm^3 by hand.
    filler = {"volume_fraction": "40 %", "density": "2.65 g/cm^3"}
    plain = demo.changed({"resin.density": "1.15 g/cm^3"})
    filled = plain.changed({"resin.filler": filler})
    resin = filled.resolved.machine["resin"]
    assert resin["liquid"]["density"] == pytest.approx(1750.0, rel=1e-12)
    ratio = (
        resin["rheology"]["consistency"]
        / plain.resolved.machine["resin"]["rheology"]["consistency"]
    )
    assert ratio == pytest.approx(4.80341, abs=5e-6)
    assert any("4.8 times the viscosity" in text for text in filled.assumptions)
    # The same by weight: 0.4 x 2.65 of 1.75.
    by_weight = {"weight_fraction": f"{100 * 0.4 * 2.65 / 1.75} %", "density": "2.65 g/cm^3"}
    same = plain.changed({"resin.filler": by_weight}).resolved.machine["resin"]
    assert same["liquid"]["density"] == pytest.approx(1750.0, rel=1e-12)
    # A ratio by weight is one of the filled resin.
    ratio_table = {"by_weight": 0.084, "tolerance": "5 %"}
    by_volume = filled.changed({"ratio": ratio_table}).resolved.target["ratio"]
    assert by_volume == pytest.approx(0.084 * 1750 / 1050, rel=1e-12)


@pytest.mark.parametrize(
    ("filler", "path", "said"),
    [
        ({"density": "2.65 g/cm^3"}, "volume_fraction", "either"),
        ({"volume_fraction": "70 %", "density": "2.65 g/cm^3"}, "volume_fraction", "max_packing"),
        ({"weight_fraction": "95 %", "density": "2.65 g/cm^3"}, "weight_fraction", "by volume"),
        ({"volume_fraction": "10 %"}, "density", "is missing"),
    ],
)
def test_filler_that_cannot_be_is_one_sentence(demo, filler, path, said):
    found = problems(demo, {"resin.filler": filler})
    assert len(found) == 1
    assert found[0].startswith(f"{DEMO.name}: resin.filler.{path}")
    assert said in found[0]


def test_a_needle_narrower_than_five_particles_is_warned_of(demo):
    needle = {
        "kind": "needle",
        "turns": "2 turns",
        "pitch": "0.5 mm",
        "half_angle": "30 deg",
        "seat_bore": "5 mm",
        "land_length": "2 mm",
        "range": ["1 turns", "2 turns"],
    }
    # Gap at one turn: 0.5 mm x sin 30 degrees = 0.25 mm, five particles of 50 um.
    case = demo.changed({"resin.throttle": needle, "resin.filler_top_size": "0.049 mm"})
    assert not any("filler" in text for text in case.warnings)
    case = demo.changed({"resin.throttle": needle, "resin.filler_top_size": "0.06 mm"})
    (said,) = [text for text in case.warnings if "filler" in text]
    assert "1.2 turns" in said


def test_a_throttle_past_its_laminar_range_is_warned_of_where_its_bore_is_known(demo):
    # Re = rho Q/(pi d eta): 5 mPa*s instead of 180 and about 3 mL/s through 3 mm make some 60.
    thin = demo.changed({"hardener.viscosity.viscosity": "5 cP"})
    assert any("that needs throttle.seat_bore" in text for text in thin.assumptions)
    assert not any("gap reaches" in text for text in thin.simulate().to_dict()["warnings"])
    known = thin.changed({"hardener.throttle.seat_bore": "3 mm"})
    assert not any("that needs throttle.seat_bore" in text for text in known.assumptions)
    run = known.simulate()
    (said,) = [text for text in run.to_dict()["warnings"] if "gap reaches" in text]
    steady = run.steady.hardener
    reynolds = 1050.0 * steady.flow / (math.pi * 3e-3 * 5e-3)
    # Liquid flow for actual flow: gas and compression change it by less than a percent.
    assert steady.gap_reynolds_number == pytest.approx(reynolds, rel=1e-2)
    assert f"reaches {steady.gap_reynolds_number:.0f}" in said


# --- throttles known by a flow coefficient ----------------------------------------------------

VALVE = {
    "kind": "flow_coefficient",
    "opening": "60 %",
    "kv": [["20 %", 0.002], ["60 %", 0.006], ["100 %", 0.02]],
    "FL": 0.9,
    "Fd": 0.3,
    "seat_bore": "3 mm",
}


def test_kv_and_cv_are_the_same_coefficient_in_other_units(demo):
    # IEC 60534-1, evaluated: A_v 2.77653e-5 m^2 for each Kv, Cv = 1.156099 Kv.
    assert pytest.approx(2.77653e-5, abs=5e-11) == u.KV
    assert pytest.approx(1.156099, abs=5e-7) == u.KV / u.CV
    case = demo.changed({"hardener.throttle": VALVE})
    throttle = case.machine.hardener.throttle
    assert _core.flow_coefficient(throttle) == pytest.approx(0.006 * u.KV, rel=1e-12)
    assert (throttle.lowest, throttle.highest) == (0.2, 0.6)
    in_cv = {**VALVE, "kv": None, "cv": [[at, kv * 1.156099] for at, kv in VALVE["kv"]]}
    other = demo.changed({"hardener.throttle": in_cv}).machine.hardener.throttle
    assert _core.flow_coefficient(other) == pytest.approx(0.006 * u.KV, rel=1e-6)
    assert case.simulate().status == "ok"


def test_a_characteristic_and_turns_stand_for_a_table(demo):
    # Equal percentage, R = 50: 0.141421 of the rated coefficient at half the travel.
    valve = {
        **VALVE,
        "kv": 0.04,
        "characteristic": "equal_percentage",
        "opening": "4 turns",
        "full_turns": "8 turns",
        "backlash": "0.125 turns",
    }
    case = demo.changed({"hardener.throttle": valve})
    throttle = case.machine.hardener.throttle
    assert _core.flow_coefficient(throttle) == pytest.approx(0.04 * 0.141421 * u.KV, rel=5e-6)
    assert case.resolved.backlash == {"hardener": 0.125}
    assert any("hardener.throttle.range = 0 turns to 4 turns" in s for s in case.assumptions)


@pytest.mark.parametrize(
    ("changes", "path", "said"),
    [
        ({"kv": None}, "kv", "either kv or cv"),
        ({"cv": 0.1}, "kv", "either kv or cv"),
        ({"kv": 0.04}, "characteristic", "is missing"),
        ({"characteristic": "linear"}, "characteristic", "applies only"),
        ({"kv": VALVE["kv"][::-1]}, "kv[1][0]", "must rise"),
        ({"kv": [["20 %", 0.002], ["60 %", 0.002]]}, "kv[1][1]", "above the coefficient"),
        ({"kv": [["20 %", 0.002], ["60 %", 0.0]]}, "kv[1][1]", "above 0"),
        ({"opening": "10 %"}, "opening", "from 20 % to 100 %"),
        ({"opening": "2 turns"}, "kv[0][0]", "turns, as opening"),
        ({"backlash": "1 turns"}, "backlash", "percentage, as opening"),
        ({"range": ["70 %", "100 %"]}, "range", "must contain opening"),
        ({"range": ["10 %", "100 %"]}, "range[0]", "from 20 % to 100 %"),
        ({"FL": 1.2}, "FL", "at most 1"),
        ({"seat_bore": None}, "seat_bore", "is missing"),
    ],
)
def test_a_valve_that_cannot_be_is_one_sentence(demo, changes, path, said):
    found = problems(demo, {"hardener.throttle": VALVE | changes})
    assert len(found) == 1
    assert found[0].startswith(f"{DEMO.name}: hardener.throttle.{path}")
    assert said in found[0]


def test_a_flow_coefficient_on_a_thinning_resin_is_refused(demo):
    found = problems(demo, {"resin.throttle": VALVE})
    assert len(found) == 1
    assert "Newtonian" in found[0]


def test_usual_inputs_give_no_warning_and_unusual_ones_name_the_range(demo):
    assert demo.warnings == ()
    warnings = demo.changed({"hardener.metering.bore": "40 mm"}).warnings
    assert any("hardener.metering.bore" in text and "10 mm to 32 mm" in text for text in warnings)
    assert any("metering bores" in text for text in warnings)


FEEDS = {
    "resin.feed": {"tank_pressure": "4 bar", "bore": "25 mm", "length": "2 m"},
    "hardener.feed": {
        "tank_pressure": "1 bar",
        "bore": "9 mm",
        "length": "2 m",
        "temperature": "20 degC",
        "valve_time": "0.5 s",
        "vapour_pressure": "2 kPa",
    },
}
REFILLED = [{"dispense": "3 s"}, {"refill": {}}]


def test_feed_lines_and_refills_come_to_the_core_in_SI(demo):
    case = demo.changed(FEEDS | {"run.steps": [*REFILLED, {"refill": {"time": "1.5 s"}}]})
    resin, hardener = case.machine.resin.feed, case.machine.hardener.feed
    assert (resin.tank_pressure, resin.bore, resin.length) == (4e5, 0.025, 2.0)
    assert resin.temperature == 323.15  # the metering's
    assert hardener.temperature == 293.15
    assert hardener.valve_time == 0.5
    assert resin.valve_time == 0.0
    # Absolute in the file, gauge in the core: 2 kPa less the standard 101325 Pa.
    assert hardener.vapour_pressure == pytest.approx(2000 - 101325, rel=1e-14)
    assert [(step.kind.name, step.amount) for step in case.sequence.steps] == [
        ("dispense_time", 3.0),
        ("refill", 3.0),
        ("refill", 1.5),
    ]
    said = " ".join(case.assumptions)
    assert "even speed, in 1.5 s or 3 s" in said
    assert "a refill takes 3 s where no time is given" in said
    assert "resin.feed.valve_time = 0 s: assumed" in said
    assert "hardener.feed.valve_time" not in said
    assert "starved" in said


@pytest.mark.parametrize(
    ("without", "changes", "path", "said"),
    [
        ("resin.feed", {}, "resin.feed", "is missing: a refill step needs it"),
        ("hardener.feed", {}, "hardener.feed", "is missing: a refill step needs it"),
        ("", {"resin.feed.bore": "-25 mm"}, "resin.feed.bore", "above 0 mm"),
        ("", {"resin.feed.vapour_pressure": "6 bar"}, "resin.feed.vapour_pressure", "tank"),
        ("", {"run.steps[1].refill.time": "0 s"}, "run.steps[1].refill.time", "above 0 s"),
        ("", {"run.steps[1].refill": "3 s"}, "run.steps[1].refill", "table of keys"),
        ("", {"run.steps[1].refill": {"speed": "3 s"}}, "refill.speed", "known are time"),
    ],
)
def test_a_refill_that_cannot_be_is_one_sentence(demo, without, changes, path, said):
    case = demo.changed(FEEDS | {"run.steps": REFILLED})
    found = problems(case, changes | ({without: None} if without else {}))
    assert len(found) == 1
    assert path in found[0]
    assert said in found[0]


def test_both_missing_feeds_are_said_at_once(demo):
    assert len(problems(demo, {"run.steps": REFILLED})) == 2


def test_a_periodic_start_is_searched_from_the_tanks_or_puts_the_shaft_back(demo):
    refilled = demo.changed(FEEDS | {"run.steps": REFILLED, "run.start": "periodic"})
    assert refilled.sequence.start == _core.Start(
        resin_cylinder=4e5,
        resin_line=4e5,
        hardener_cylinder=1e5,
        hardener_line=1e5,
        periodic=True,
    )
    assert not any("put back" in text for text in refilled.assumptions)
    held = demo.changed({"run.start": "periodic"})
    assert held.sequence.start.periodic
    assert held.sequence.start.resin_line == 0.0
    assert any("put back to 60 mm" in text for text in held.assumptions)
    assert not demo.sequence.start.periodic


def test_the_stroke_is_counted_from_refill_to_refill(demo):
    shots = {"run.steps": [{"dispense": "300 mL"}], "run.repeat": 3}
    assert any("stroke will be exhausted" in text for text in demo.changed(shots).warnings)
    refilled = {"run.steps": [{"dispense": "300 mL"}, {"refill": {}}], "run.repeat": 3}
    assert not any("exhausted" in text for text in demo.changed(FEEDS | refilled).warnings)
    periodic = shots | {"run.start": "periodic"}
    assert not any("exhausted" in text for text in demo.changed(periodic).warnings)


def test_shots_beyond_the_stroke_are_warned_of(demo):
    warnings = demo.changed({"run.steps": [{"dispense": "200 mL"}]}).warnings
    assert any("stroke will be exhausted" in text for text in warnings)


# --- copies ----------------------------------------------------------------------------------


def test_a_case_survives_a_round_trip_and_pickling(demo):
    assert Case.from_dict(demo.to_dict(), demo.source) == demo
    assert pickle.loads(pickle.dumps(demo)) == demo


LEAVES = [
    ("hardener.throttle.resistance", u.RESISTANCE, "bar*s/mL", 0.001, 100),
    ("resin.line[0].length", u.LENGTH, "m", 0.1, 20),
    ("resin.metering.bore", u.LENGTH, "mm", 10, 200),
    ("drive.force", u.FORCE, "kN", 0.1, 50),
    ("mixer.blend_viscosity", u.VISCOSITY, "cP", 10, 1e6),
    ("hardener.shutoff.delay", u.TIME, "ms", 0, 1000),
]


@given(st.data(), st.sampled_from(LEAVES))
def test_changed_changes_one_value_in_a_copy(data, leaf):
    path, kind, unit, low, high = leaf
    case = load_case(DEMO)
    before = case.to_dict()
    text = f"{data.draw(st.floats(low, high))!r} {unit}"
    other = case.changed({path: text})
    assert case.to_dict() == before
    changed = other.to_dict()
    table = changed
    keys = path.replace("[0]", "").split(".")
    for key in keys[:-1]:
        table = table[key][0] if key == "line" else table[key]
    assert table[keys[-1]] == text
    assert u.si(text, kind) in set(leaf_values(other.resolved.machine))
    assert other.changed({path: value_at(before, path)}).to_dict() == before


def value_at(data, path):
    for key in path.split("."):
        data = data[key[:-3]][0] if key.endswith("[0]") else data.get(key)
        if data is None:
            return None
    return data


def leaf_values(node):
    if isinstance(node, dict):
        for value in node.values():
            yield from leaf_values(value)
    elif isinstance(node, list):
        for value in node:
            yield from leaf_values(value)
    else:
        yield node


def test_none_takes_a_key_out_and_missing_tables_are_made(demo):
    without = demo.changed({"trim": None, "mixer.rating": None})
    assert "rating" not in without.resolved.machine["mixer"]
    assert without.trim.max_back_pressure is None
    again = without.changed({"trim.max_back_pressure": "60 bar"})
    assert again.trim.max_back_pressure == pytest.approx(60e5)


@pytest.mark.parametrize(
    "path",
    ["resin.line[3].length", "resin.line[0", "", "resin.line.length", "title[0]", "resin..x"],
)
def test_a_path_that_leads_nowhere_is_refused(demo, path):
    assert len(problems(demo, {path: "3 m"})) == 1


# --- bad input -------------------------------------------------------------------------------

NEEDLE = {
    "kind": "needle",
    "turns": "2 turns",
    "pitch": "0.5 mm",
    "half_angle": "10 deg",
    "seat_bore": "3 mm",
    "land_length": "2 mm",
}


@pytest.mark.parametrize(
    ("changes", "path", "said"),
    [
        ({"resin.metering.bore": "70 bar"}, "resin.metering.bore", "a length is needed"),
        ({"resin.metering.bore": "2,5 mm"}, "resin.metering.bore", '"2.5 mm"'),
        ({"resin.metering.bore": 70}, "resin.metering.bore", "with its unit"),
        ({"resin.metering.bore": True}, "resin.metering.bore", "with its unit"),
        ({"resin.metering.bore": ["70 mm"]}, "resin.metering.bore", "with its unit"),
        ({"resin.metering.bore": "nan mm"}, "resin.metering.bore", "finite"),
        ({"resin.metering.bor": "70 mm"}, "resin.metering.bor", 'did you mean "bore"'),
        ({"resin.metering.bore": None}, "resin.metering.bore", "is missing"),
        ({"resin.line[0].length": "-3 m"}, "resin.line[0].length", "above 0 mm"),
        ({"resin.line[0].cells": 0}, "resin.line[0].cells", "at least 1 and at most 10000"),
        ({"resin.line[0].cells": 1000000}, "resin.line[0].cells", "at most 10000"),
        ({"resin.line[0].cells": True}, "resin.line[0].cells", "whole number"),
        ({"resin.line": []}, "resin.line", "must not be empty"),
        (
            {"resin.line[0].wall_expansion": "2.5 mL/m"},
            "resin.line[0].wall_expansion",
            "expansion_p",
        ),
        ({"resin.line[0].expansion_pressure": "9 bar"}, "resin.line[0].expansion_pressure", "only"),
        ({"resin.free_gas": "0.015"}, "resin.free_gas", "unit is missing"),
        ({"resin.free_gas": "-1 %"}, "resin.free_gas", "at least 0 %"),
        ({"resin.gas_exponent": "1.2"}, "resin.gas_exponent", "without quotes"),
        ({"resin.bulk_modulus": None}, "resin.bulk_modulus", "is missing"),
        ({"resin.class": "epoxi"}, "resin.class", '"filled epoxy"'),
        ({"resin.viscosity.model": "newtonian"}, "resin.viscosity.shear_rate", "power_law"),
        ({"resin.viscosity.yield_stress": "5 Pa"}, "resin.viscosity.yield_stress", "bingham"),
        ({"resin.viscosity.model": "thick"}, "resin.viscosity.model", '"newtonian"'),
        ({"resin.viscosity.model": None}, "resin.viscosity.model", "is missing"),
        ({"resin.viscosity.model": [1]}, "resin.viscosity.model", "must be one of"),
        ({"resin.viscosity.index": 1.2}, "resin.viscosity.index", "at most 1"),
        ({"resin.viscosity": "26 Pa*s"}, "resin.viscosity", "table"),
        ({"resin.throttle.turns": "2 turns"}, "resin.throttle.turns", "needle"),
        ({"resin.throttle.resistance": "0 bar*s/mL"}, "resin.throttle.resistance", "above 0"),
        (
            {"resin.throttle": {**NEEDLE, "turns": "0 turns"}},
            "resin.throttle.turns",
            "passes nothing",
        ),
        (
            {"resin.throttle": {**NEEDLE, "turns": "9 turns"}},
            "resin.throttle.turns",
            "at most 8.64",
        ),
        (
            {"resin.throttle": {**NEEDLE, "resistance": "1 bar*s/mL"}},
            "resin.throttle.resistance",
            "ne",
        ),
        ({"resin.throttle.range": "1 bar"}, "resin.throttle.range", "two settings"),
        ({"resin.throttle.range": ["1 bar*s/mL"]}, "resin.throttle.range", "two settings"),
        (
            {"resin.throttle.range": ["1 bar*s/mL", "2 bar*s/mL"]},
            "resin.throttle.range",
            "must contain resistance, 0.02 bar*s/mL",
        ),
        (
            {"resin.throttle.range": ["2 bar*s/mL", "1 bar*s/mL"]},
            "resin.throttle.range",
            "first value must be below",
        ),
        ({"resin.throttle.volume_between": "-1 mL"}, "resin.throttle.volume_between", "at least 0"),
        ({"ratio.hardener_per_resin": 0}, "ratio.hardener_per_resin", "above 0"),
        ({"ratio.hardener_per_resin": math.nan}, "ratio.hardener_per_resin", "above 0"),
        ({"ratio.hardener_per_resin": math.inf}, "ratio.hardener_per_resin", "above 0"),
        ({"ratio.hardener_per_resin": None}, "ratio.hardener_per_resin", "is missing"),
        ({"ratio.by_weight": 0.1}, "ratio.by_weight", "not both"),
        ({"ratio.tolerance": "2,5 %"}, "ratio.tolerance", "not a comma"),
        ({"ratio.tolerance": "0 %"}, "ratio.tolerance", "above 0 %"),
        ({"shaft.position": "200 mm"}, "shaft.position", "below the stroke, 200 mm"),
        ({"shaft.mass": "0 kg"}, "shaft.mass", "above 0 kg"),
        ({"drive.force": "5 Nm"}, "drive.force", "write N*m"),
        ({"drive.between_shots": "held"}, "drive.between_shots", '"hold"'),
        ({"mixer.peclet": 100}, "mixer.peclet", "dispersion"),
        ({"mixer.residence": "tanks"}, "mixer.tanks", "is missing"),
        ({"run.steps": []}, "run.steps", "must not be empty"),
        ({"run.steps": [{}]}, "run.steps[0]", "exactly one key"),
        ({"run.steps": [{"dispense": "3 kg"}]}, "run.steps[0].dispense", "a time or a volume"),
        ({"run.steps": [{"dispense": "0 s"}]}, "run.steps[0].dispense", "above zero"),
        ({"run.steps": [{"dwell": "3 s"}]}, "run.steps", "at least one dispense"),
        ({"run.repeat": 1.5}, "run.repeat", "whole number"),
        ({"run.start": "cold"}, "run.start", "gauge pressure"),
        ({"run.start": {"resin": "1 bar"}}, "run.start", "resin and hardener"),
        ({"run.start": {"resin": "1 bar", "hardener": "0 bara"}}, "run.start.hardener", "-0.9 bar"),
        ({"surprise": 1}, "surprise", "known are"),
        ({"resin": 3}, "resin", "table"),
    ],
)
def test_bad_input_is_one_sentence_naming_file_key_and_rule(demo, changes, path, said):
    found = [text for text in problems(demo, changes) if text.startswith(f"{DEMO.name}: {path}")]
    assert len(found) == 1
    assert said in found[0]
    assert "\n" not in found[0]


def test_five_errors_are_reported_at_once(demo):
    found = problems(
        demo,
        {
            "ratio.hardener_per_resin": 0,
            "resin.metering.bor": "70 mm",
            "resin.line[0].length": "-3 m",
            "hardener.density": None,
            "shaft.position": "300 mm",
        },
    )
    assert len(found) == 5
    assert all(text.startswith(f"{DEMO.name}: ") for text in found)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty"),
        (b"# nothing but a comment\n", "empty"),
        (b"\x7fELF\x00\x01\x02", "binary"),
        (b'title = "caf\xe9"\n', "UTF-8"),
        (b'title = "open\n[ratio]\n', "line 1, column"),
        (b"[ratio]\n[ratio]\n", "line 2, column"),
        (b'"a key" = 1\n', "a key = 1: is not a key"),
        (b"title = 2020-01-01\n", "title"),
        (b"x = " + b"[" * 100000, "nested too deeply"),
    ],
)
def test_a_file_that_is_no_case_is_refused_in_words(tmp_path, content, said):
    path = tmp_path / "bad.toml"
    path.write_bytes(content)
    with pytest.raises(CaseError) as refusal:
        load_case(path)
    assert all(text.startswith("bad.toml: ") for text in refusal.value.problems)
    assert any(said in text for text in refusal.value.problems)


def test_a_directory_and_a_missing_file_are_refused_in_words(tmp_path):
    with pytest.raises(CaseError, match="directory"):
        load_case(tmp_path)
    with pytest.raises(CaseError, match="no such file"):
        load_case(tmp_path / "missing.toml")


SURPRISES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=10),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=5,
)


@given(st.data(), SURPRISES)
def test_any_value_anywhere_is_read_or_refused_in_words(data, surprise):
    tables = tomllib.loads(DEMO.read_text())
    node = tables
    while True:
        keys = list(node) if isinstance(node, dict) else list(range(len(node)))
        key = data.draw(st.sampled_from(keys))
        if isinstance(node[key], (dict, list)) and node[key] and data.draw(st.booleans()):
            node = node[key]
            continue
        node[key] = copy.deepcopy(surprise)
        break
    try:
        said = Case.from_dict(tables).assumptions
    except CaseError as refusal:
        said = tuple(refusal.problems)
        assert all(text.startswith("case: ") for text in said)
    assert said
