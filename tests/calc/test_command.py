"""`dewline calc` at a shell: what it prints, where, and with which exit code."""

import io
import json
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout

import pytest

from calc import catalogue
from dewline import main

COMMAND = [sys.executable, "-m", "dewline", "calc", "--list"]


def dewline_calc(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Run the command, without the quarter of a second that a process takes to start."""
    with redirect_stdout(io.StringIO()) as out, redirect_stderr(io.StringIO()) as err:
        code = main(["calc", *arguments])
    return subprocess.CompletedProcess(arguments, code, out.getvalue(), err.getvalue())


def test_lists_every_calculation_with_its_question():
    done = subprocess.run(COMMAND, capture_output=True, text=True, check=False)
    assert done.returncode == 0
    lines = [line.split(maxsplit=1) for line in done.stdout.splitlines()]
    assert [name for name, _ in lines] == list(catalogue.names())
    assert all(question for _, question in lines)


def test_a_missing_argument_describes_them_all():
    done = dewline_calc("superheat", "refrigerant=R-410A")
    assert done.returncode == 2
    assert done.stdout == ""
    assert "superheat needs suction_pressure, such as suction_pressure=118psig" in done.stderr
    assert catalogue.describe("superheat") in done.stderr


def test_json_is_in_si():
    done = dewline_calc("annualized_leak_rate", "added=2lb", "full_charge=50lb", "days_since_last_addition=30",
                        "appliance=comfort_cooling", "--json")  # fmt: skip
    assert done.returncode == 0
    assert json.loads(done.stdout)["leak_rate_percent"] == pytest.approx(48.6667, abs=1e-4)  # in print: 48.7 %


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["superheat", "118psig"], "'118psig' is not of the form key=value"),
        (["saturation", "refrigerant=R-32", "pressure=118psi"], "write psig or psia"),
        (["superhot"], "unknown calculation 'superhot'"),
    ],
)
def test_errors_go_to_stderr(arguments, message):
    done = dewline_calc(*arguments)
    assert done.returncode == 2
    assert done.stdout == ""
    assert message in done.stderr


def test_a_key_given_twice_is_refused():
    done = dewline_calc("saturation", "refrigerant=R-32", "pressure=118psig", "pressure=120psig")
    assert (done.returncode, done.stdout) == (2, "")
    assert "pressure is given twice, as '118psig' and '120psig'" in done.stderr


def test_errors_are_json_under_json():
    done = dewline_calc("moist_air", "dry_bulb=-500degF", "humidity=50%", "--json")
    assert done.returncode == 2
    error = json.loads(done.stdout)["error"]
    assert (error["kind"], error["argument"], error["unit"]) == ("CalcRangeError", "dry_bulb", "°F")
    assert (error["value"], error["low"], error["high"]) == pytest.approx((-500, -40, 140))
    for wrong in (["superhot"], ["superheat", "118psig"], ["superheat", "refrigerant=R-0"], ["wetbulb"]):
        done = dewline_calc(*wrong, "--json")
        assert done.returncode == 2
        assert json.loads(done.stdout)["error"]["message"]
        assert done.stderr == ""


def test_help_on_one_calculation_tells_limits_and_results():
    done = dewline_calc("superheat", "--help")
    assert done.returncode == 0
    assert done.stdout == catalogue.help_on("superheat") + "\n"
    assert "suction_line_temperature=50degF  (-148 to 392 °F)" in done.stdout
    assert "superheat            10.16 ± 1.87 °F" in done.stdout
    assert "key=value" in dewline_calc("--help").stdout


@pytest.mark.parametrize(("words", "name"), [(["wetbulb"], "wet_bulb"), (["recovery", "cylinder"], "cylinder_fill")])
def test_words_that_are_no_name_are_looked_for(words, name):
    done = dewline_calc(*words)
    assert done.returncode == 0
    assert name in [line.split()[0] for line in done.stdout.splitlines()]


def test_a_question_finds_what_it_asks_for_and_what_finds_nothing_is_told_in_one_short_line():
    asked = dewline_calc("how", "much", "charge")
    assert asked.returncode == 0
    assert "line_set_charge" in [line.split()[0] for line in asked.stdout.splitlines()]
    nothing = dewline_calc("superhot")
    assert nothing.stderr == (
        "dewline calc: unknown calculation 'superhot': did you mean superheat?; "
        "`dewline calc --list` shows all there are\n"
    )
    assert dewline_calc("what", "is").stderr.startswith("dewline calc: unknown calculation 'what'; `dewline calc")


@pytest.mark.parametrize(
    ("name", "key", "meant"),
    [("load_ratio", "rated", "rated_current"), ("expected_amps", "rated", "rated_load")],
)
def test_a_key_that_begins_right_is_told_the_right_one(name, key, meant):
    assert f"did you mean {meant}" in dewline_calc(name, f"{key}=12A").stderr


def test_a_reader_that_goes_away_is_no_error():
    process = subprocess.Popen(COMMAND, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    process.stdout.close()
    _, errors = process.communicate(timeout=30)
    assert errors == ""
    assert process.returncode == 0
