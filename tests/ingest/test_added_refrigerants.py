"""The files of added refrigerants, and the command that writes them."""

import json
import os
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest
from CoolProp.CoolProp import PropsSI

from ingest.added_refrigerants import AddedFile, AddedFileError, put_on_shelf, read, signed


def dewline(place: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "dewline", *arguments],
        env={**os.environ, "DEWLINE_REFRIGERANTS": str(place)},
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with R-450A in it, as the command puts it there."""
    folder = tmp_path_factory.mktemp("refrigerants")
    done = dewline(folder, "refrigerant", "add", "R-450A", "--of", "R-134a 42, R-1234ze(E) 58", "--class", "A1")
    assert done.returncode == 0, done.stderr
    assert "within 0.18 mK of CoolProp" in done.stdout
    return folder


def test_another_program_knows_it(place):
    """Superheat at 100 psia with a line of 100 °F, against a flash of CoolProp's own mixture of that number."""
    assert "R-450A" in dewline(place, "refrigerant", "list").stdout
    words = ("refrigerant=R-450A", "suction_pressure=100 psia", "suction_line_temperature=100 degF")
    told = dewline(place, "calc", "--json", "superheat", *words)
    assert told.returncode == 0, told.stderr
    dew_k = PropsSI("T", "P", 100 * 6894.757, "Q", 1, "R450A.mix")
    expected_dk = (100 - 32) / 1.8 + 273.15 - dew_k
    assert json.loads(told.stdout)["superheat_dk"] == pytest.approx(expected_dk, abs=2e-3)
    checked = dewline(place, "refrigerant", "check")
    assert checked.returncode == 0
    assert "R-450A: within" in checked.stdout


def test_a_fresh_machine_has_none(tmp_path):
    assert "R-450A" not in dewline(tmp_path / "none", "refrigerant", "list").stdout
    assert "No refrigerant was added" in dewline(tmp_path / "none", "refrigerant", "check").stdout


@pytest.mark.parametrize(
    ("spoil", "because"),
    [
        (lambda text: "x" + text, "is no refrigerant: JSON is malformed"),
        (lambda text: text.replace('"saturation"', '"saturations"'), "is no refrigerant"),
        (lambda text: text.replace('"R-450A"', '"R-450B"'), "name the file after it"),
        (lambda text: _changed(text), "its curves cannot be true"),
        (lambda text: text.replace('"A1"', '"A3"'), "was changed since it was made"),
    ],
)
def test_a_file_that_cannot_be_used_is_named_and_nothing_starts(place, tmp_path, spoil, because):
    (tmp_path / "R-450A.json").write_text(spoil((place / "R-450A.json").read_text("utf-8")), "utf-8")
    done = dewline(tmp_path, "calc", "--list")
    assert done.returncode == 2
    assert f"{tmp_path}/R-450A.json" in done.stderr
    assert because in done.stderr


def test_a_file_that_cannot_be_used_is_listed_checked_and_removed(place, tmp_path):
    text = (place / "R-450A.json").read_text("utf-8")
    (tmp_path / "R-450A.json").write_text(text, "utf-8")
    (tmp_path / "R-450B.json").write_text(text.replace('"A1"', '"A3"'), "utf-8")
    for act in ("list", "check"):
        done = dewline(tmp_path, "refrigerant", act)
        assert done.returncode == 1
        assert "R-450A" in done.stdout
        assert f"{tmp_path}/R-450B.json" in done.stderr
    assert dewline(tmp_path, "refrigerant", "remove", "../R-450B").returncode == 2
    assert dewline(tmp_path, "refrigerant", "remove", "R-450B").returncode == 0
    assert [path.name for path in tmp_path.iterdir()] == ["R-450A.json"]
    assert dewline(tmp_path, "calc", "--list").returncode == 0


def _changed(text: str) -> str:
    file = json.loads(text)
    curves = file["tables"]["saturation"]["R-450A"]
    curves["bubble"], curves["dew"] = curves["dew"], curves["bubble"]
    return msgspec.json.encode(signed(msgspec.convert(file, AddedFile))).decode()


def test_a_mixture_that_coolprop_cannot_reckon_leaves_no_file(tmp_path):
    done = dewline(tmp_path, "refrigerant", "add", "R-999", "--of", "R-22 60, R-600 40", "--class", "A1")
    assert done.returncode == 2
    assert "Could not match the binary pair" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_holds_none(tmp_path):
    assert read(tmp_path / "none") == []
    put_on_shelf(tmp_path / "none")


def test_an_error_says_what_to_do(tmp_path):
    (tmp_path / "R-1.json").write_bytes(b"\xff")
    with pytest.raises(AddedFileError, match=r"refrigerant remove 'R-1'\), then add it anew"):
        read(tmp_path)
