"""The command line: exit codes, streams, files and the words of its refusals."""

import contextlib
import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from evenfront import load_case, trim
from evenfront.cli import main

CASES = sorted((Path(__file__).parents[2] / "data" / "cases").glob("*.toml"))
DEMO = next(path for path in CASES if path.stem == "long-boom-held-shots")

# Keys promised to those who read the JSON object of a run.
RUN_KEYS = {
    "net_lead_mL",
    "peak_lead_mL",
    "peak_lag_mL",
    "swing_mL",
    "lead_time_s",
    "off_ratio_volume_inlet_mL",
    "off_ratio_volume_outlet_mL",
    "off_ratio_start_outlet_mL",
    "off_ratio_end_outlet_mL",
    "soft_volume_mL",
    "surplus_mL",
    "missing_mL",
    "pushed_back_resin_mL",
    "pushed_back_hardener_mL",
    "resin_dispensed_mL",
    "hardener_dispensed_mL",
    "after_close_resin_mL",
    "after_close_hardener_mL",
    "steady_resin_flow_mL_per_s",
    "steady_hardener_flow_mL_per_s",
    "steady_ratio_error",
    "steady_resin_cylinder_pressure_bar",
    "steady_hardener_cylinder_pressure_bar",
    "mass_balance_error",
    "status",
}
TRIM_KEYS = {
    "objective",
    "feasible",
    "reason",
    "before",
    "after",
    "resin_setting",
    "hardener_setting",
    "resin_back_pressure_bar",
    "hardener_back_pressure_bar",
    "flow_lost_fraction",
    "restoring_force_N",
}


def call(*args):
    """Exit code, stdout and stderr of one command."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main([str(arg) for arg in args])
    return code, out.getvalue(), err.getvalue()


def refusal(*args):
    """Lines on stderr of a command that must end with 2 and print nothing else."""
    code, out, err = call(*args)
    assert (code, out) == (2, ""), err
    assert "Traceback" not in err
    return err.splitlines()


@pytest.fixture
def edited(tmp_path):
    """Write the demo case with some text replaced, each found at its first place."""

    def write(*changes):
        text = DEMO.read_text()
        for old, new in changes:
            assert old in text
            text = text.replace(old, new, 1)
        path = tmp_path / "case.toml"
        path.write_text(text)
        return path

    return write


# --- what is printed -------------------------------------------------------------------------


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_every_demo_case_is_checked_and_run(path):
    code, text, err = call("check", path)
    assert (code, err) == (0, "")
    assert text.startswith(load_case(path).title[:30])
    assert "Assumed" in text
    code, text, err = call("run", path, "--json")
    assert (code, err) == (0, "")
    result = json.loads(text)
    assert result.keys() >= RUN_KEYS | {"shots"}
    assert result["status"] == "ok"
    assert all(shot.keys() >= RUN_KEYS for shot in result["shots"])
    assert result == load_case(path).simulate().to_dict()


def test_a_trim_of_one_objective_is_one_answer():
    code, text, _ = call("trim", DEMO, "--objective", "least_soft", "--json")
    assert code == 0
    result = json.loads(text)
    assert result.keys() >= TRIM_KEYS
    assert result["objective"] == "least_soft"
    assert result["before"].keys() >= RUN_KEYS
    assert result["after"]["soft_volume_mL"] < result["before"]["soft_volume_mL"]
    assert result["hardener_setting"]["unit"] == "bar*s/mL"
    assert result == trim(load_case(DEMO), "least_soft").to_dict()


def test_a_trim_of_all_objectives_has_an_answer_each_and_remedies():
    code, text, _ = call("trim", DEMO, "--json")
    result = json.loads(text)
    assert code == 0
    assert result.keys() >= {"before", "null", "least_soft", "least_excess", "remedies"}
    for name in ("null", "least_soft", "least_excess"):
        assert result[name].keys() >= TRIM_KEYS
    assert result["remedies"]


def test_an_infeasible_objective_ends_with_one_and_says_why():
    # A held cycle has no net lead to null; common practice, and mass conservation.
    code, text, err = call("trim", DEMO, "--objective", "null")
    assert (code, err) == (1, "")
    assert "othing to null" in text
    code, text, _ = call("trim", DEMO, "--objective", "null", "--json")
    assert code == 1
    assert json.loads(text)["feasible"] is False


def test_options_of_a_trim_reach_the_search():
    code, text, _ = call(
        *("trim", DEMO, "--objective", "least_soft", "--fix", "resin", "--json"),
        *("--max-back-pressure", "29 psi", "--least-flow", "0.9"),
    )
    result = json.loads(text)
    assert code == 0
    assert result["resin_back_pressure_bar"] == pytest.approx(0.0, abs=1e-9)
    # 29 psi = 1.99948 bar, from 1 psi = 6894.757 Pa (definition of the pound-force).
    assert 0.0 < result["hardener_back_pressure_bar"] <= 1.99949
    assert result["flow_lost_fraction"] <= 0.1 + 1e-9


def test_schema_prints_the_schema_of_case_files():
    code, text, _ = call("schema")
    schema = json.loads(text)
    assert code == 0
    assert schema["$schema"].endswith("2020-12/schema")
    assert schema["properties"].keys() >= {"ratio", "resin", "hardener", "shaft", "drive", "run"}


def test_check_as_json_holds_the_steady_state_of_the_run():
    _, text, _ = call("check", DEMO, "--json")
    checked = json.loads(text)
    run = load_case(DEMO).simulate().to_dict()
    assert checked["flows"] is True
    for key in ("steady_resin_flow_mL_per_s", "steady_ratio_error", "steady_mixer_pressure_bar"):
        assert checked[key] == pytest.approx(run[key], rel=1e-12)
    assert checked["assumptions"] == list(load_case(DEMO).assumptions)


# --- the answer is no ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ([('position = "60 mm"', 'position = "185 mm"')], "stroke of 200 mm is used up"),
        ([('mass = "12 kg"', 'mass = "12 kg"\nfriction = "5 kN"')], "othing flows, because"),
        ([('force = "4.6 kN"', 'force = "1 N"')], "othing to speak of flows"),
        (
            [
                ('model = "power_law"', 'model = "herschel_bulkley"\nyield_stress = "400 Pa"'),
                ('viscosity = "26 Pa*s"', 'viscosity = "60 Pa*s"'),
                ('force = "4.6 kN"', 'force = "2 kN"'),
            ],
            "yield stress",
        ),
        (
            [('resistance = "0.2 bar*s/mL"', 'resistance = "1e9 bar*s/mL"')],
            "othing to speak of flows",
        ),
    ],
    ids=["stroke", "friction", "weak drive", "yield stress", "closed throttle"],
)
def test_where_nothing_comes_out_the_answer_is_no_with_its_reason(edited, changes, said):
    path = edited(*changes)
    for command in ("run", "trim"):
        code, text, err = call(command, path)
        assert (code, err) == (1, ""), text
        assert said in " ".join(text.split())


# --- bad input -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ('length = "6 m"', 'length = "6 kg"', "resin.line[0].length"),
        ('length = "6 m"', 'length = "2,5 mm"', "resin.line[0].length"),
        ('length = "6 m"', 'length = "-6 m"', "resin.line[0].length"),
        ("hardener_per_resin = 0.14", "hardener_per_resin = 0", "ratio.hardener_per_resin"),
        ("hardener_per_resin = 0.14", "hardener_per_resin = nan", "ratio.hardener_per_resin"),
        ('resistance = "0.02 bar*s/mL"', 'resistance = "0 bar*s/mL"', "resin.throttle.resistance"),
        ('length = "6 m"', 'length = "6 m"\ncells = 0', "resin.line[0].cells"),
        ('length = "6 m"', 'length = "6 m"\ncells = 1000000', "resin.line[0].cells"),
        ('position = "60 mm"', 'position = "260 mm"', "shaft.position"),
        ('kind = "resistance"', 'kind = "resistance"\nturns = "1 turns"', "resin.throttle.turns"),
        ('force = "4.6 kN"', 'force = "nan kN"', "drive.force"),
    ],
)
def test_a_bad_value_is_one_line_that_names_file_and_key(edited, old, new, key):
    path = edited((old, new))
    for command in ("check", "run", "trim"):
        (line,) = refusal(command, path)
        assert line.startswith(f"case.toml: {key}")


def test_five_errors_are_five_lines(edited):
    path = edited(
        ('length = "6 m"', 'length = "6 kg"'),
        ("hardener_per_resin = 0.14", "hardener_per_resin = 0"),
        ('bore = "16 mm"', 'bore = "16,0 mm"'),
        ('position = "60 mm"', 'position = "sixty"'),
        ('mass = "12 kg"', 'mass = "-12 kg"'),
    )
    assert len(refusal("trim", path)) == 5


def test_what_is_no_case_file_is_refused(tmp_path):
    empty = tmp_path / "empty.toml"
    empty.write_bytes(b"")
    binary = tmp_path / "binary.toml"
    binary.write_bytes(bytes(range(256)))
    for path in (empty, binary, tmp_path, tmp_path / "missing.toml"):
        for command in ("check", "run", "trim"):
            assert len(refusal(command, path)) == 1


@pytest.mark.parametrize(
    "args",
    [
        [],
        ["mend"],
        ["trim"],
        ["run", DEMO, "--speed", "fast"],
        ["trim", DEMO, "--objective", "best"],
        ["trim", DEMO, "--fix", "both"],
        ["trim", DEMO, "--max-back-pressure", "60"],
        ["trim", DEMO, "--max-back-pressure", "60 mm"],
        ["trim", DEMO, "--max-back-pressure", "-3 bar"],
        ["trim", DEMO, "--max-back-pressure", "0 bar"],
        ["trim", DEMO, "--least-flow", "70 %"],
        ["trim", DEMO, "--least-flow", "0"],
        ["trim", DEMO, "--least-flow", "1.5"],
        ["trim", DEMO, "--least-flow", "nan"],
    ],
    ids=str,
)
def test_a_bad_option_is_one_line(args):
    assert len(refusal(*args)) == 1


# --- files -----------------------------------------------------------------------------------


def test_the_table_of_a_run_has_units_in_its_header_and_the_trace_in_its_rows(tmp_path):
    path = tmp_path / "trace.csv"
    assert call("run", DEMO, "--csv", path)[0] == 0
    with path.open(newline="") as file:
        rows = list(csv.DictReader(file))
    trace = load_case(DEMO).simulate().trace
    assert len(rows) == len(trace.time)
    units = ("_s", "_mL", "_mL_per_s", "_bar", "_mm", "_N")
    assert all(name == "shot" or name.endswith(units) for name in rows[0])
    last = rows[-1]
    assert float(last["resin_volume_mL"]) == pytest.approx(trace.resin.volume[-1] * 1e6, rel=1e-8)
    assert float(last["mixer_pressure_bar"]) == pytest.approx(0.0, abs=1e-9)
    # Lead belongs to a shot: nothing between the shots, and at a close command the net lead.
    assert last["lead_mL"] == ""
    fourth = [row for row in rows if row["shot"] == "4"]
    net = load_case(DEMO).simulate().to_dict()["net_lead_mL"]
    assert float(fourth[0]["lead_mL"]) == 0.0
    assert float(fourth[-1]["lead_mL"]) == pytest.approx(net, abs=1e-9)


def test_the_table_of_a_trim_is_its_curve(tmp_path):
    path = tmp_path / "curve.csv"
    assert call("trim", DEMO, "--csv", path)[0] == 0
    with path.open(newline="") as file:
        rows = list(csv.DictReader(file))
    curve = trim(load_case(DEMO)).curve
    assert len(rows) == len(curve) == 21
    for row, trial in zip(rows, curve, strict=True):
        assert float(row["soft_volume_mL"]) == pytest.approx(
            trial.outlet.soft_volume * 1e6, rel=1e-8
        )
    settings = [float(row["hardener_setting_bar_s_per_mL"]) for row in rows]
    assert settings == sorted(settings)


def test_pictures_and_report_are_written_in_the_format_of_their_suffix(tmp_path):
    png, svg, pdf = (tmp_path / f"run.{suffix}" for suffix in ("png", "svg", "pdf"))
    page = tmp_path / "page.html"
    assert call("run", DEMO, "--plot", png, "--report", page)[0] == 0
    assert call("run", DEMO, "--plot", svg)[0] == 0
    assert call("run", DEMO, "--plot", pdf)[0] == 0
    assert png.read_bytes().startswith(b"\x89PNG")
    assert "<svg" in svg.read_text()
    assert pdf.read_bytes().startswith(b"%PDF")
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert sorted(p.name for p in tmp_path.iterdir()) == [
        "page.html",
        "run.pdf",
        "run.png",
        "run.svg",
    ]


def test_a_label_with_dollar_signs_is_drawn_as_it_is(tmp_path, edited):
    picture = tmp_path / "run.svg"
    case = edited(('label = "Part A"', 'label = "A$^$"'))
    assert call("run", case, "--plot", picture)[0] == 0
    assert "A$^$" in picture.read_text()


def test_an_output_that_cannot_be_written_is_refused_before_anything_is(tmp_path, edited):
    case = edited()
    text = case.read_text()
    good = tmp_path / "good.csv"
    for bad in (
        ("--plot", tmp_path / "no folder" / "a.png"),
        ("--plot", tmp_path),
        ("--plot", tmp_path / "a.gif"),
        ("--report", good),
        ("--report", case),
    ):
        assert len(refusal("run", case, "--csv", good, *bad)) == 1
        assert not good.exists()
    assert case.read_text() == text


def test_a_bad_case_leaves_an_older_output_alone(tmp_path, edited):
    case = edited(('length = "6 m"', 'length = "6 kg"'))
    output = tmp_path / "trace.csv"
    output.write_text("older")
    refusal("run", case, "--csv", output)
    assert output.read_text() == "older"


# --- as a command ----------------------------------------------------------------------------


def command(*args, **more):
    return subprocess.run(
        [sys.executable, "-m", "evenfront.cli", *map(str, args)],
        capture_output=True,
        timeout=120,
        check=False,
        **more,
    )


def test_the_command_works_in_a_plain_locale_with_any_label(edited):
    case = edited(('label = "Part A"', 'label = "Harz µ-β \\u001b[31m"'))
    plain = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("LC_", "PYTHONUTF8", "PYTHONIOENCODING"))
    }
    for encoding in ({"LANG": "C"}, {"LANG": "C", "PYTHONIOENCODING": "ascii"}):
        done = command("run", case, env={**plain, **encoding})
        assert done.returncode == 0, done.stderr
        assert done.stderr == b""
        assert b"\x1b" not in done.stdout
        assert b"Harz" in done.stdout


def test_a_reader_that_leaves_early_is_no_error():
    first = subprocess.Popen(
        [sys.executable, "-m", "evenfront.cli", "run", str(DEMO), "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    first.stdout.read(10)
    first.stdout.close()
    error = first.stderr.read()
    first.stderr.close()
    assert first.wait(timeout=60) == 0
    assert error == b""


def test_bad_input_ends_the_process_with_two_and_an_empty_stdout(tmp_path):
    done = command("trim", tmp_path)
    assert (done.returncode, done.stdout) == (2, b"")
    assert done.stderr.count(b"\n") == 1


def test_no_line_is_wider_than_a_plain_terminal():
    for name in ("check", "run", "trim"):
        _, text, _ = call(name, DEMO)
        assert max(map(len, text.splitlines())) <= 80
