"""`dewline calc` at a shell: what it prints, where, and with which exit code."""

import json
import subprocess
import sys

import pytest

from calc import catalogue

DEWLINE = [sys.executable, "-m", "dewline", "calc"]


def dewline_calc(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([*DEWLINE, *arguments], capture_output=True, text=True, check=False)


def test_lists_every_calculation_with_its_question():
    done = dewline_calc("--list")
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


def test_a_reader_that_goes_away_is_no_error():
    process = subprocess.Popen([*DEWLINE, "--list"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    process.stdout.close()
    _, errors = process.communicate(timeout=30)
    assert errors == ""
    assert process.returncode == 0
