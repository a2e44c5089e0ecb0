"""The job around the throttles against outside values, reference libraries, facts of the trade."""

import json
import math
import re
from pathlib import Path

import numpy as np
import pytest
from scipy import integrate, optimize, special

from evenfront import _core as core
from evenfront import cli, setup, setup_cli
from evenfront import units as u
from evenfront.case import load_case
from evenfront.setup.tables import read_columns

ROOT = Path(__file__).parents[2]
CASE = ROOT / "data/cases/long-boom-held-shots.toml"
TOPICS = [
    *("ratio", "drive", "shot", "gas", "stiffness"),
    *("soak", "settling", "prime", "fill", "mixer_life"),
]

SOURCES = {
    "E1": "public note on hardener stoichiometry: amine equivalent and phr",
    "E2": "public coatings-chemistry note: equivalent of a filled blend",
    "E3": "definition of the ratio, evaluated: weight and volume",
    "P1": "Hagen-Poiseuille by hand, every piece of a machine in series",
    "P2": "Hagen-Poiseuille at resin scale, evaluated",
    "B1": "IAPWS-95 release, Table 7: secant modulus of water",
    "B2": "IAPWS-95: density and isothermal modulus of water",
    "B3": "Merritt (1967), ch. 2: gas and liquid in series",
    "B4": "definition, evaluated: tangent modulus with gas taken at one atmosphere",
    "B5": "Wood (1930): speed of sound in a bubbly liquid",
    "B6": "Subramanya, Ex. 14.12, 14.14: thin elastic wall",
    "B7": "Lame: thick elastic wall",
    "B8": "49 CFR 571.106: hose expansion figure",
    "H1": "one-term tables of Cengel and Incropera: roots; scipy",
    "H2": "Incropera, Ex. 5.4: slab and its energy",
    "H3": "Holman, Ex. 4-6, 4-7: slab and cylinder",
    "H4": "Geankoplis, Ex. 5.3-2: slab warmed on one face",
    "H5": "Geankoplis, Ex. 5.3-3: cylinder with an almost fixed wall",
    "N1": "Arrhenius, evaluated: viscosity at three temperatures",
    "N7": "Krieger and Dougherty, Maron and Pierce, Einstein: filled liquids",
    "P6": "Coulson and Richardson vol. 1, Ex. 3.10: power law, and the Bingham line through it",
    "S1": "Stokes (1851), fluids: filler in resin",
    "S2": "Geankoplis, Ex. 14.3-1: Stokes in air",
    "S3": "Geankoplis, Ex. 14.3-2: hindered settling",
    "S4": "Coulson and Richardson vol. 2, Ex. 5.3: largest flux",
    "S5": "Coulson and Richardson vol. 2, Ex. 3.1: steel ball; fluids",
    "S6": "Schiller and Naumann: drag coefficients",
    "F1": "Washburn (1921): filling a tube; solve_ivp",
    "F2": "the same, power law, evaluated",
    "F3": "Bretherton (1961), Aussillous and Quere (2000): film",
    "R10": "Levenspiel ch. 15: laminar tube without diffusion",
    "definition": "evaluated by hand from the definition",
    "identity": "conservation: mass booked another way",
    "memory": "from memory, no page seen",
    "practice": "common practice, no source",
}

# function -> command that uses it, outside checks; the first is shared with the transient
TABLE = {
    "compressibility": ("gas", "B4 B5"),
    "equivalent_weight": ("ratio", "E1"),
    "blend_equivalent": ("ratio", "E2"),
    "stoichiometric_ratio": ("ratio", "E1 E2"),
    "volume_ratio": ("ratio", "E3"),
    "weight_ratio": ("ratio", "E3"),
    "liquid_per_volume": ("ratio", "B2"),
    "bore_ratio": ("ratio", "definition"),
    "metered_ratio": ("ratio", "definition identity"),
    "hardener_bore": ("ratio", "definition"),
    "pressure_stations": ("pressure", "P1"),
    "force_for_flow": ("pressure", "P1"),
    "force_for_rating": ("pressure", "identity"),
    "blocked_pressure": ("pressure", "definition"),
    "travel_of_counts": ("shot", "practice"),
    "counts_of_travel": ("shot", "practice"),
    "swept_by_travel": ("shot", "definition"),
    "travel_of_volume": ("shot", "definition"),
    "shots_per_stroke": ("shot", "definition"),
    "least_shot": ("shot", "definition"),
    "drop_volume": ("shot", "practice"),
    "compression": ("gas", "B1"),
    "refill_ratio_error": ("gas", "identity practice"),
    "free_gas_of_modulus": ("gas", "B3"),
    "gas_share": ("gas", "B3"),
    "gas_left": ("gas", "definition practice"),
    "vacuum_for_gas": ("gas", "definition"),
    "foam_fill": ("gas", "definition"),
    "elastic_wall_expansion": ("stall", "B6 B7"),
    "wall_modulus": ("stall", "B7 B8"),
    "stall_volume": ("stall", "identity"),
    "blocked_in_pressure": ("heat", "B2 practice"),
    "hardener_leak_error": ("leak", "definition"),
    "resin_leak_error": ("leak", "definition"),
    "pressure_for_leak": ("leak", "definition"),
    "slab_root": ("heat", "H1"),
    "cylinder_root": ("heat", "H1"),
    "slab_soak": ("heat", "H1 H2 H3 H4"),
    "cylinder_soak": ("heat", "H1 H3 H5"),
    "slab_soak_mean": ("heat", "H2"),
    "cylinder_soak_mean": ("heat", "identity"),
    "slab_fourier": ("heat", "identity"),
    "cylinder_fourier": ("heat", "H5"),
    "temperature_for_viscosity": ("heat", "N1"),
    "apparent_viscosity": ("viscosity", "P6"),
    "heat_rate": ("heat", "definition"),
    "line_loss": ("heat", "definition"),
    "stokes_velocity": ("filler", "S1 S2"),
    "terminal_velocity": ("filler", "S5 S6"),
    "filler_fraction": ("filler", "S3"),
    "hindered_settling": ("filler", "S4"),
    "hindered_by_viscosity": ("filler", "S3"),
    "filled_viscosity": ("filler", "N7"),
    "holding_yield_stress": ("filler", "memory"),
    "idle_time": ("filler", "S1"),
    "prime_time": ("prime", "F1 F2"),
    "prime_reach": ("prime", "definition"),
    "film_left": ("prime", "F3"),
    "laminar_washout": ("prime", "R10"),
    "purge_volumes": ("prime", "R10"),
    "feed_flow": ("fill", "P2"),
    "retract_speed": ("fill", "definition"),
    "feed_bore": ("fill", "P2"),
    "change_over_time": ("fill", "definition"),
    "residence_in_flow": ("mixer", "definition"),
    "age_at_exit": ("mixer", "identity"),
    "longest_pause": ("mixer", "definition"),
    "aged_viscosity": ("mixer", "definition"),
}


def test_every_function_has_a_command_and_an_outside_check(capsys):
    bound = set()
    for topic in TOPICS:
        text = (ROOT / f"cpp/bindings/bind_{topic}.cpp").read_text(encoding="utf-8")
        bound |= set(re.findall(r'define(?:_plain)?\(\s*m,\s*"(\w+)"', text))
    assert set(TABLE) == bound | {"compressibility", "apparent_viscosity"}
    commands = {command.name for command in setup_cli.COMMANDS}
    rows = []
    for function, (command, ids) in TABLE.items():
        assert hasattr(core, function)
        assert command in commands
        assert ids.split()
        rows += [f"{function:27} {command:9} {each:11} {SOURCES[each]}" for each in ids.split()]
    assert {command for command, _ in TABLE.values()} == commands
    assert {each for _, ids in TABLE.values() for each in ids.split()} == set(SOURCES)
    with capsys.disabled():
        print("\n" + "\n".join(rows))


# --- reference libraries ---------------------------------------------------------------------


def test_roots_and_series_against_scipy():
    for biot in (0.1, 1.0, 5.0, 10.0):
        zeros = [0.0, *special.jn_zeros(1, 8)], special.jn_zeros(0, 8)
        roots = [
            optimize.brentq(lambda z, b=biot: z * special.j1(z) - b * special.j0(z), low, high)
            for low, high in zip(zeros[0][:8], zeros[1], strict=True)
        ]
        np.testing.assert_allclose(core.cylinder_root(biot, np.arange(1, 9)), roots, rtol=1e-12)
        z = np.array(roots)
        terms = 2 / z * special.j1(z) / (special.j0(z) ** 2 + special.j1(z) ** 2)
        expected = float(np.sum(terms * np.exp(-(z**2) * 0.05) * special.j0(0.3 * z)))
        assert math.isclose(core.cylinder_soak(biot, 0.05, 0.3), expected, rel_tol=1e-9)


def test_settling_against_fluids():
    import fluids

    # fluids takes Stokes' law below a Reynolds number of 0.01, so both agree there.
    for d, mu in ((50e-6, 5.0), (70e-6, 0.1)):
        ours = core.terminal_velocity(d, 2650.0 - 1150.0, mu, 1150.0)
        assert math.isclose(ours, fluids.v_terminal(d, 2650.0, 1150.0, mu), rel_tol=2e-3)
    # Past it another fit of the drag: 52.12 mm/s against 50.69, and a book's 51 mm/s.
    ours = core.terminal_velocity(0.4e-3, 7870 - 820, 10e-3, 820.0)
    assert math.isclose(ours, fluids.v_terminal(0.4e-3, 7870.0, 820.0, 10e-3), rel_tol=0.03)
    for reynolds in (0.1, 1.0):
        v = reynolds * 1e-3 / (1000 * 1e-3)
        drag = 4 / 3 * 9.80665 * 1e-3 * 1.0 / (1000 * v**2)
        creeping = core.stokes_velocity(1e-3, 1.0, 1e-3)
        assert math.isclose(
            drag * v * v / creeping**2,
            fluids.drag.Stokes(1000 * creeping * 1e-3 / 1e-3),
            rel_tol=1e-6,
        )


def test_stiffness_of_water_against_iapws():
    from iapws import IAPWS95

    cold = IAPWS95(T=298.15, P=0.101325)
    modulus = 1e6 / cold.kappa  # kappa per MPa
    assert math.isclose(modulus, 2.21013e9, rel_tol=1e-4)
    water = core.Liquid(density=cold.rho, bulk_modulus=modulus, thermal_expansion=cold.alfav)
    pressed = IAPWS95(T=298.15, P=10.0)
    squeezed = core.compression(water, 0.0, 10e6 - core.standard_pressure)
    # K rises 2.6 % over these 100 bar; the mean is half of that above the one taken.
    assert math.isclose(1 - squeezed, cold.rho / pressed.rho, rel_tol=1e-4)
    assert math.isclose(squeezed, 1 - cold.rho / pressed.rho, rel_tol=0.02)
    # At constant volume: the density of the cold state at the temperature of the warm one.
    warm = IAPWS95(T=303.15, rho=cold.rho)
    rise = core.blocked_in_pressure(water, 298.15, 303.15, 0.0)
    assert math.isclose(rise, (warm.P - cold.P) * 1e6, rel_tol=0.1)  # alpha_v rises 18 % over 5 K


def test_priming_against_an_ordinary_differential_equation():
    for law in (
        core.ShearLaw(consistency=10.0),
        core.ShearLaw(consistency=200.0, index=0.5),
        core.ShearLaw(consistency=60.0, index=0.6, yield_stress=400.0),
    ):
        bore, length, dp = 0.010, 2.0, 2e6
        start = 1e-3 * length

        def speed(_, x, law=law, bore=bore, dp=dp):
            return [core.PipeFlow(law, bore, x[0])(dp).q / (math.pi / 4 * bore**2)]

        def arrived(_, x, length=length):
            return x[0] - length

        arrived.terminal = True
        early = core.prime_time(law, dp, bore, start)
        run = integrate.solve_ivp(
            speed, (early, 1e3), [start], "DOP853", events=arrived, rtol=1e-10, atol=1e-13
        )
        time = core.prime_time(law, dp, bore, length)
        assert math.isclose(time, run.t_events[0][0], rel_tol=1e-6)


def test_functions_take_arrays():
    counts = np.array([1.0, 1200.0])
    np.testing.assert_allclose(core.travel_of_counts(counts, 1200 / 0.0254), counts * 0.0254 / 1200)
    liquid = core.Liquid(density=1600.0, bulk_modulus=2.5e9, free_gas=0.01)
    squeezed = core.compression(liquid, np.zeros(3), np.array([0.0, 1e6, 1e7]))
    assert squeezed.shape == (3,)
    assert squeezed[0] == 0.0
    with pytest.raises(ValueError, match="diameter"):
        core.stokes_velocity(np.array([1e-4, -1.0]), 1500.0, 1.0)


# --- facts of the trade: common practice, no source ------------------------------------------


@pytest.mark.parametrize("parts", [12, 10, 7])
def test_usual_ratios_have_a_pair_among_usual_bores(parts):
    """100:12, 100:10, 100:7 by volume; resin 1 to 4 in, hardener 3/8 to 1 1/4 in by sixteenths."""
    resin = [0.0254 * x / 4 for x in range(4, 17)]
    hardener = [0.0254 * x / 16 for x in range(6, 21)]
    best = setup.best_bores(parts / 100, resin, hardener)
    assert abs(best[0][2]) < 0.02
    assert [abs(pair[2]) for pair in best] == sorted(abs(pair[2]) for pair in best)
    assert len(best) == 13 * 15


def test_an_encoder_of_1200_marks_per_inch_resolves_a_usual_shot():
    found = setup.shot(bores=(0.0635, 0.022), encoder=u.si("1200 1/in", u.ENCODER), volume=40e-6)
    assert found["resolution"] < 0.005
    assert math.isclose(found["counts"] / (1200 / 25.4), found["travel"] * 1e3, rel_tol=1e-12)


def test_tank_prime_and_agitator_are_those_of_the_trade():
    assert math.isclose(setup.TANK_PRIME, 100 * 6894.757, rel_tol=1e-6)
    assert math.isclose(setup.AGITATOR * 60, 30)


def test_five_heat_zones_are_each_turned_off():
    case = load_case(CASE)
    hose = case.to_dict()["resin"]["line"][0]
    pieces = [
        hose | {"name": name, "length": length, "bore": bore}
        for name, length, bore in (
            ("block", "100 mm", "16 mm"),
            ("hose", "5 m", "16 mm"),
            ("boom", "1 m", "16 mm"),
            ("head", "80 mm", "12 mm"),
        )
    ]
    found = setup.zones(case.changed({"resin.line": pieces}), u.si("20 degC", u.TEMPERATURE))
    assert len(found.records) == 1 + 5
    flows = {record.name: record.values[2].value for record in found.records}
    assert min(flows, key=lambda name: flows[name]) == "hose off"
    assert all(flow <= flows["all on"] * (1 + 1e-9) for flow in flows.values())


def test_the_watery_side_hardly_gives_and_the_resin_does_until_degassed():
    thin = core.Liquid(density=1000.0, bulk_modulus=1.7e9, free_gas=2e-4)
    raw = core.Liquid(density=1750.0, bulk_modulus=2.5e9, free_gas=0.03)
    degassed = raw.replace(free_gas=0.002)
    by_liquid = [core.compression(liquid, 0.0, 40e5) for liquid in (thin, raw, degassed)]
    assert by_liquid[1] > 10 * by_liquid[0]
    assert by_liquid[2] < 2 * by_liquid[0]


# --- findings --------------------------------------------------------------------------------


def test_a_ratio_in_three_forms_is_one_ratio():
    resin = setup.Metered(core.Liquid(density=1550.0, bulk_modulus=2.5e9), 298.15)
    hardener = setup.Metered(core.Liquid(density=1020.0, bulk_modulus=1.7e9), 298.15)
    weight = core.weight_ratio(0.12, 1550, 1020)
    found = [
        setup.ratio(resin, hardener, by_volume=0.12),
        setup.ratio(resin, hardener, by_weight=weight),
        setup.ratio(resin, hardener, equivalents=(0.2, 0.2 * weight)),
    ]
    for each in found:
        assert math.isclose(each["ratio_by_volume"], 0.12, rel_tol=1e-12)
        assert math.isclose(100 * each["ratio_by_weight"], 7.896774, rel_tol=1e-6)
    with pytest.raises(ValueError, match="one form"):
        setup.ratio(resin, hardener, by_volume=0.12, by_weight=0.08)


def test_a_budget_adds_up_in_both_ways():
    found = setup.ratio_budget({"bores": 0.003, "temperature": -0.004, "gas": 0.0}, 0.005)
    assert math.isclose(found["sum"], 0.007)
    assert math.isclose(found["root_sum_square"], 0.005)
    assert found.good
    assert "not if they add up" in found.verdict
    assert "temperature" in found.verdict
    assert not setup.ratio_budget({"bores": 0.0051}, 0.005).good
    with pytest.raises(ValueError, match="finite"):
        setup.ratio_budget({"bores": math.nan}, 0.005)


def test_a_machine_budget_is_what_the_model_says_when_each_cause_is_put_in(machine, target):
    """Steady ratio of the machine with one cause at a time, against the budget's own row."""
    inputs = setup.BudgetInputs(shot=40e-6, bore_deviation=2e-5, temperature_change=5.0)
    warm = machine.hardener.liquid.replace(thermal_expansion=9e-4)
    machine = machine.replace(hardener=machine.hardener.replace(liquid=warm))
    rows = {
        record.name: record.values[0].value
        for record in setup.machine_budget(machine, target, inputs).records
    }
    plain = core.steady_state(machine).ratio
    cylinder = machine.hardener.cylinder
    wide = cylinder.replace(bore=cylinder.bore + 2e-5)
    hot = cylinder.replace(temperature=cylinder.temperature + 5.0)
    for name, changed in (("hardener bore", wide), ("temperature, hardener warmer", hot)):
        other = machine.replace(hardener=machine.hardener.replace(cylinder=changed))
        error = core.steady_state(other).ratio / plain - 1.0
        assert math.isclose(rows[name], error, rel_tol=0.02), name


def test_drive_and_flow_go_both_ways(machine):
    there = setup.pressure(machine)
    back = setup.pressure(machine, flow=there["flow"])
    assert math.isclose(back["force"], machine.drive.force, rel_tol=1e-9)
    assert math.isinf(there["limit_force"])
    rated = machine.replace(mixer=machine.mixer.replace(rating=1e5))
    found = setup.pressure(rated)
    assert not found.good
    assert "past its rating: mixer" in found.verdict
    assert found.to_dict()["table"][0]["rating_bar"] is None


def test_bars_of_lost_pressure_add_up(machine):
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt

    found = setup.pressure(machine)
    ax = setup.plot_stations(found)
    assert "[bar]" in ax.get_xlabel()
    assert len(ax.patches) == len(found.records) - 2
    plt.close(ax.figure)


def test_pictures_of_soak_and_closed_tests_have_units_and_end_where_they_should():
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt

    line = setup.Soak(0.016, 293.15, 333.15, 0.3, 1700.0, 1200.0)
    rheology = core.Rheology(consistency=90.0, activation_energy=60e3)
    time = setup.soak_time(line, rheology, 0.1)
    soak = setup.plot_soak(line, rheology, time)
    x, y = soak.lines[0].get_data()
    assert math.isclose(x[-1], time / 60, rel_tol=1e-12)
    assert math.isclose(y[-1], 1.1, rel_tol=1e-9)
    motion, p = stall_record(np.random.default_rng(0), motion=0.0, gauge=0.0)
    found = setup.fit_stall(motion, p, AREA, CLOSED_IN)
    stall = setup.plot_stall(motion, p, found, AREA)
    assert math.isclose(stall.lines[1].get_ydata()[-1], motion[-1] * 1e3, rel_tol=1e-3)
    t, creeping = creep_record(np.random.default_rng(0))
    creep = setup.plot_creep(t, creeping, setup.fit_creep(t, creeping))
    assert math.isclose(creep.lines[1].get_ydata()[-1], creeping[-1] * 1e3, rel_tol=0.02)
    for ax in (soak, stall, creep):
        assert "[" in ax.get_xlabel()
        assert "[" in ax.get_ylabel()
        plt.close(ax.figure)


def test_a_soak_ends_where_the_viscosity_is_within_a_tenth():
    rheology = core.Rheology(consistency=90.0, index=0.8, activation_energy=60e3)
    line = setup.Soak(0.016, 293.15, 333.15, 0.3, 1700.0, 1200.0)
    time = setup.soak_time(line, rheology, 0.1)
    left = core.cylinder_soak(math.inf, time / line.unit_time, 0.0)
    middle = line.wall + left * (line.start - line.wall)
    thick = core.at_temperature(rheology, middle).consistency
    assert math.isclose(
        thick, 1.1 * core.at_temperature(rheology, line.wall).consistency, rel_tol=1e-9
    )
    assert setup.soak_time(setup.Soak(0.016, 333.15, 333.15, 0.3, 1700.0, 1200.0), rheology) == 0


def test_filler_is_held_by_a_yield_stress():
    sinking = setup.Filler(100e-6, 2650.0, 0.5)
    arguments = {"filled_density": 1620.0, "filled_viscosity": 60.0, "heights": {"tank": 0.4}}
    free = setup.filler(sinking, idle=1e9, **arguments)
    assert not free.good
    held = setup.filler(sinking, idle=1e9, yield_stress=free["holding_yield_stress"], **arguments)
    assert held.good
    assert held.to_dict()["table"][0]["idle_min"] is None
    with pytest.raises(ValueError, match="weight_fraction"):
        setup.filler(setup.Filler(1e-4, 1200.0, 0.9), **arguments)


def test_a_finding_prints_its_verdict_values_and_cautions():
    found = setup.gas(
        core.Liquid(density=1700.0, bulk_modulus=2.5e9, free_gas=0.02),
        tank_pressure=4e5,
        working_pressure=40e5,
        cylinder_volume=400e-6,
        cylinder_bore=0.06,
        wanted=0.003,
    )
    text = str(found)
    assert text.startswith("Gas: 2 % of gas costs")
    assert "Relieve pressure" in text
    assert "mbar" in text
    assert "<b>Gas:</b>" in found._repr_html_()
    assert found.to_dict()["lost_motion_mm"] == pytest.approx(found["lost_motion"] * 1e3)
    with pytest.raises(KeyError):
        found["nothing"]


# --- stall and leak --------------------------------------------------------------------------

RESIN = core.Liquid(density=1750.0, bulk_modulus=2.5e9, free_gas=0.012)
AREA = math.pi / 4 * 0.07**2
CLOSED_IN = 900e-6
WALLS = 0.21e-6 / 1e5
POCKET = 0.5e-6
LASH = 1e-4
TRUTH = {
    "gas": RESIN.free_gas * CLOSED_IN + POCKET,
    "softness": CLOSED_IN * (1 - RESIN.free_gas) / RESIN.bulk_modulus + WALLS,
    "lash": LASH * AREA,
}


def stall_record(random, *, motion=1e-5, gauge=5e3, volume=CLOSED_IN, start=2e4, gas=None):
    """Shaft motion and pressure of a stall test with normal noise in both."""
    liquid = RESIN if gas is None else RESIN.replace(free_gas=gas)
    p = np.linspace(start, 60e5, 60)
    x = LASH + core.stall_volume(liquid, p, volume, WALLS, POCKET) / AREA
    return x + random.normal(0, motion, p.size), p + random.normal(0, gauge, p.size)


def test_stall_intervals_hold_the_truth_in_95_of_100():
    held = dict.fromkeys(TRUTH, 0)
    for seed in range(100):
        x, p = stall_record(np.random.default_rng(seed))
        found = setup.fit_stall(x, p, AREA, CLOSED_IN, pressure_noise=5e3, motion_noise=1e-5)
        assert found.separable
        for name, truth in TRUTH.items():
            estimate = getattr(found, name)
            held[name] += estimate.low <= truth <= estimate.high
    assert all(90 <= count <= 99 for count in held.values()), held


def test_a_stall_without_noise_finds_what_was_put_in():
    x, p = stall_record(np.random.default_rng(0), motion=0.0, gauge=0.0)
    found = setup.fit_stall(x, p, AREA, CLOSED_IN)
    # The liquid's own curvature, V p^2/(2 K^2) = 0.003 mL at 60 bar, is all that differs.
    for name, truth in TRUTH.items():
        assert math.isclose(getattr(found, name).value, truth, rel_tol=2e-3), name


def test_a_stall_that_starts_high_says_that_gas_and_jump_are_not_told_apart():
    x, p = stall_record(np.random.default_rng(1), start=25e5)
    found = setup.stall_test(x, p, area=AREA, volume=CLOSED_IN)
    assert not found.good
    assert "cannot be told apart" in found.verdict


def test_a_stall_without_gas_says_that_gas_is_not_told_from_zero():
    random = np.random.default_rng(2)
    p = np.linspace(2e4, 60e5, 60)
    stiff = RESIN.replace(free_gas=core.least_free_gas)
    x = core.stall_volume(stiff, p, CLOSED_IN, WALLS, 0.0) / AREA
    x = x + random.normal(0, 2e-5, p.size)
    found = setup.stall_test(x, p, area=AREA, volume=CLOSED_IN, bulk_modulus=2.5e9)
    assert any("Gas is not told from zero" in note for note in found.notes)
    assert found["wall_softness_low"] <= WALLS <= found["wall_softness_high"]


def test_two_positions_tell_gas_in_the_liquid_from_a_pocket():
    random = np.random.default_rng(3)
    tests = []
    for volume in (1200e-6, 500e-6):
        x, p = stall_record(random, volume=volume)
        tests.append(setup.fit_stall(x, p, AREA, volume, pressure_noise=5e3, motion_noise=1e-5))
    found = setup.separate_gas(*tests)
    assert found.good
    assert found["free_gas_low"] <= RESIN.free_gas <= found["free_gas_high"]
    assert found["pocket_low"] <= POCKET <= found["pocket_high"]


LEAK = 0.04e-6 / 60 / 1e5
HELD = 50e5


def creep_record(random, *, packing=8e-4, tau=25.0, noise=1e-5, lasts=300.0):
    """Shaft motion of a leak test: packing dies out, the leak goes on."""
    t = np.linspace(0.0, lasts, 151)
    x = LEAK * HELD / AREA * t + packing * (1 - np.exp(-t / tau))
    return t, x + random.normal(0, noise, t.size)


@pytest.mark.parametrize("packing", [8e-4, 0.0])
def test_leak_intervals_hold_the_truth_in_95_of_100(packing):
    held = 0
    for seed in range(100):
        t, x = creep_record(np.random.default_rng(seed), packing=packing)
        speed = setup.fit_creep(t, x).speed
        held += speed.low <= LEAK * HELD / AREA <= speed.high
    assert 90 <= held <= 99


def test_a_leak_test_that_ends_while_packing_goes_on_is_refused():
    t, x = creep_record(np.random.default_rng(4), tau=200.0)
    found = setup.leak_test(t, x, area=AREA, pressure=HELD, flow=10e-6, side="resin")
    assert not found.good
    assert "packing" in found.verdict


def test_a_leak_test_judges_the_ratio():
    t, x = creep_record(np.random.default_rng(5))
    for flow, good in ((10e-6, True), (1e-6, False)):
        found = setup.leak_test(t, x, area=AREA, pressure=HELD, flow=flow)
        assert found.good is good
        assert math.isclose(found["ratio_error"], -LEAK * HELD / flow, rel_tol=0.05)
        assert math.isclose(found["greatest_pressure"], 0.01 * flow / LEAK, rel_tol=0.05)


def closed_machine(machine, leak):
    """Hardener closed in with a leak; the resin's side gives way as if relieved, being half air."""
    airy = machine.resin.liquid.replace(free_gas=0.5)
    leaking = machine.hardener.cylinder.replace(leak=leak)
    return machine.replace(
        resin=machine.resin.replace(liquid=airy),
        hardener=machine.hardener.replace(cylinder=leaking),
    )


def held(machine, time):
    """Trace of the shaft held against closed shut-offs."""
    steps = [core.Step(kind="preload_time", amount=time)]
    steps.append(core.Step(kind="dispense_time", amount=0.01))
    return core.simulate(machine, core.Sequence(steps=steps), core.Numerics(rtol=1e-8))


def test_the_leak_of_a_simulated_machine_is_found_from_its_shaft(machine):
    """The transient itself, a separate model: the shaft creeps by the leak."""
    leak = 0.005e-6 / 60 / 1e5  # small: so the soft side hardly takes up any force
    trace = held(closed_machine(machine, leak), 60.0)
    during = (trace.time > 5.0) & (trace.time < 59.0)
    times, x = trace.time[during], trace.position[during]
    p, soft = trace.hardener.pressure[during, 0], trace.resin.pressure[during, 0]
    # The small piston carries all of the force but for what the soft side still takes.
    rest = trace.force[during] - core.area(machine.resin.cylinder) * soft
    np.testing.assert_allclose(
        p, [core.blocked_pressure(machine.hardener.cylinder, each) for each in rest], rtol=1e-3
    )
    pressure = float(integrate.trapezoid(p, times) / np.ptp(times))
    speed = setup.fit_creep(times, x).speed.value
    assert math.isclose(speed * core.area(machine.hardener.cylinder) / pressure, leak, rel_tol=1e-3)


def test_with_both_sides_closed_the_soft_side_is_not_tested(machine):
    """Why the caution stands: the resin sees a few percent of the hardener's pressure."""
    trace = held(machine, 20.0)
    at = np.searchsorted(trace.time, 15.0)
    resin, hardener = trace.resin.pressure[at, 0], trace.hardener.pressure[at, 0]
    assert resin < 0.05 * hardener


def test_a_stall_of_a_simulated_machine_gives_its_gas_back(machine):
    """The transient's own books: motion and pressure of the hardener while it is pressed slowly."""
    gas = 0.01
    liquid = machine.hardener.liquid.replace(free_gas=gas)
    machine = closed_machine(
        machine.replace(
            hardener=machine.hardener.replace(liquid=liquid),
            drive=machine.drive.replace(rise_time=2000.0),
        ),
        0.0,
    )
    trace = held(machine, 6000.0)
    during = (trace.time > 1.0) & (trace.time < 5999.0)
    p, x = trace.hardener.pressure[during, 0], trace.position[during]
    area = core.area(machine.hardener.cylinder)
    line = machine.hardener.line[0]
    volume = area * (machine.shaft.stroke - machine.shaft.position)
    volume += math.pi / 4 * line.bore**2 * line.length
    found = setup.fit_stall(x, p, area, volume)
    assert math.isclose(found.gas.value, gas * volume, rel_tol=0.01)
    walls = line.wall_expansion * line.length
    assert math.isclose(
        found.softness.value, volume * (1 - gas) / liquid.bulk_modulus + walls, rel_tol=0.01
    )


def test_bad_records_are_refused_by_name():
    with pytest.raises(ValueError, match="at least 6 points"):
        setup.fit_stall([0, 1], [0, 1], AREA, CLOSED_IN)
    with pytest.raises(ValueError, match="same length"):
        setup.fit_stall([0, 1], [0, 1, 2], AREA, CLOSED_IN)
    with pytest.raises(ValueError, match="span"):
        setup.fit_stall(np.arange(6), np.arange(6), AREA, CLOSED_IN)
    with pytest.raises(ValueError, match="rise"):
        setup.fit_creep([0, 1, 1, 2, 3, 4, 5, 6], np.arange(8))
    with pytest.raises(ValueError, match=r"motion \[mm\]"):
        read_columns("pressure [bar]\n1\n", {"motion": u.LENGTH})
    with pytest.raises(ValueError, match="line 3"):
        read_columns("motion [mm]\n1\nx\n", {"motion": u.LENGTH})


# --- command line ----------------------------------------------------------------------------


def command(*words):
    return cli.main(["setup", *words])


def record_file(path, header, *columns):
    rows = "\n".join(
        ",".join(f"{value:.9g}" for value in row) for row in zip(*columns, strict=True)
    )
    path.write_text(f"{header}\n{rows}\n", encoding="utf-8")
    return str(path)


@pytest.fixture
def logs(tmp_path):
    random = np.random.default_rng(6)
    x, p = stall_record(random)
    t, creep = creep_record(random)
    return {
        "stall": record_file(
            tmp_path / "stall.csv", "motion [mm],pressure [bar]", x * 1e3, p / 1e5
        ),
        "leak": record_file(tmp_path / "leak.csv", "time [s],motion [mm]", t, creep * 1e3),
    }


POINTS = ROOT / "data/viscosity/filled-resin.csv"
EXAMPLES = {
    "ratio": ["--case", str(CASE), "--resin-bore", "70 mm"],
    "pressure": ["--case", str(CASE), "--flow", "12 mL/s"],
    "heat": ["--case", str(CASE), "--flow", "10 mL/s"],
    "viscosity": [str(POINTS), "--model", "cross"],
    "filler": [
        *("--case", str(CASE), "--diameter", "60 um", "--filler-density", "2.65 g/cm^3"),
        *("--weight-fraction", "40 %", "--tank-depth", "400 mm"),
    ],
    "gas": ["--case", str(CASE), "--wanted", "0.3 %"],
    "stall": ["--log", "stall", "--bore", "70 mm", "--volume", "900 mL"],
    "leak": ["--log", "leak", "--bore", "70 mm", "--pressure", "50 bar", "--flow", "10 mL/s"],
    "prime": ["--case", str(CASE)],
    "fill": ["--case", str(CASE), "--feed-bore", "1 in", "--feed-length", "2 m"],
    "shot": ["--case", str(CASE), "--volume", "40 mL", "--jump", "yes"],
    "mixer": ["--case", str(CASE), "--working-life", "20 min", "--shot", "30 mL"],
}


def test_every_command_has_an_example():
    assert set(EXAMPLES) == {each.name for each in setup_cli.COMMANDS}


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_command_prints_text_or_one_json_object(name, logs, capsys):
    words = [name, *(logs.get(word, word) for word in EXAMPLES[name])]
    assert command(*words) == 0
    text = capsys.readouterr()
    assert text.err == ""
    assert "Caution: Follow the safety data sheets" in text.out
    assert command(*words, "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert found["good"] is True
    assert found["cautions"]


@pytest.mark.parametrize("name", EXAMPLES)
def test_bad_options_are_one_line_each_and_exit_2(name, capsys):
    options = next(each for each in setup_cli.COMMANDS if each.name == name).options
    words = [
        word
        for option in options
        for word in (["nonsense"] if option.positional else [option.shown, "nonsense"])
    ]
    assert command(name, *words) == 2
    text = capsys.readouterr()
    assert text.out == ""
    assert "Traceback" not in text.err
    named = {line.split(":")[0].split(" ")[0] for line in text.err.splitlines()}
    readable = {option.shown for option in options} - {"--jump"}
    assert readable <= named


@pytest.mark.parametrize("name", EXAMPLES)
def test_nothing_given_is_refused_by_what_is_missing(name, capsys):
    assert command(name) == 2
    text = capsys.readouterr()
    assert text.out == ""
    assert text.err.strip()


def test_the_answer_no_exits_1(capsys):
    assert command("fill", *EXAMPLES["fill"], "--time", "1 s") == 1
    assert command("pressure", "--case", str(CASE), "--force", "60 kN") == 1
    assert "past its rating" in capsys.readouterr().out


def test_options_go_before_the_case(capsys):
    assert command("prime", "--case", str(CASE), "--length", "3 m", "--json") == 0
    short = json.loads(capsys.readouterr().out)
    assert command("prime", "--case", str(CASE), "--json") == 0
    full = json.loads(capsys.readouterr().out)
    assert math.isclose(full["prime_volume_mL"], 2 * short["prime_volume_mL"], rel_tol=1e-12)


def test_a_budget_on_the_command_line(capsys):
    assert command("ratio", "--case", str(CASE), "--budget-shot", "40 mL", "--json") == 0
    rows = json.loads(capsys.readouterr().out)["table"]
    assert {"resin bore", "scale", "leak, hardener", "gas and compression per refill"} <= {
        row["name"] for row in rows
    }


def test_a_picture_is_written_and_a_bad_place_refused(tmp_path, capsys):
    picture = tmp_path / "pressure.png"
    assert command("pressure", "--case", str(CASE), "--plot", str(picture)) == 0
    assert picture.read_bytes().startswith(b"\x89PNG")
    capsys.readouterr()
    for bad in (tmp_path / "a.txt", tmp_path / "none/a.png"):
        assert command("pressure", "--case", str(CASE), "--plot", str(bad)) == 2
        assert capsys.readouterr().out == ""
