"""`dewline report` and `dewline verify` at the shell, on a real record."""

import os
import re
from pathlib import Path
from typing import get_args

import pytest

from commands.verify import VERIFIED
from dewline import main
from ingest.report.verifying import Outcome
from tests.ingest.report.kept import VISIT, kept, with_notes


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return kept(tmp_path_factory.mktemp("data"))


@pytest.mark.parametrize("form", ["pdf", "html", "json"])
def test_a_report_is_made_and_verified(
    record: Path, tmp_path: Path, form: str, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / f"visit.{form}"
    assert main(["report", VISIT, "--data", str(record.parent), "--zone", "America/Chicago", "-o", str(out)]) == 0
    told = capsys.readouterr()
    assert re.fullmatch(rf"{out}: \d+ kB, in \d+\.\d s", told.out.splitlines()[0])
    assert told.err.splitlines() == ["reading the record …", "drawing …", "closing …"]
    assert main(["verify", str(out), "--record", str(record)]) == 0
    assert "It matches the record." in capsys.readouterr().out
    changed = bytearray(out.read_bytes())
    changed[len(changed) // 3] ^= 4
    out.write_bytes(changed)
    assert main(["verify", str(out), "--record", str(record)]) == 6
    assert capsys.readouterr().out.startswith("CHANGED: ")


def test_what_a_sheet_has_no_room_for_is_written_beside_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record, out = kept(tmp_path / "data", 30), tmp_path / "visit.pdf"
    assert main(["report", VISIT, "--record", str(record), "-o", str(out)]) == 0
    assert list(tmp_path.glob("*.html")) == []
    with_notes(record, 60)
    assert main(["report", VISIT, "--record", str(record), "-o", str(out)]) == 0
    beside = tmp_path / f"report-{VISIT}.html"
    assert f"{beside}: all of the report" in capsys.readouterr().out
    assert "Note 59: the gasket" in beside.read_text()
    for file in (out, beside):
        assert main(["verify", str(file), "--record", str(record)]) == 0


def test_the_exit_code_tells_what_came_of_it(record: Path, tmp_path: Path) -> None:
    out = tmp_path / "visit.json"
    assert main(["report", "--record", str(record), "-o", str(out)]) == 0
    assert main(["verify", str(out), "--record", str(kept(tmp_path / "now", noted=True))]) == 3
    assert main(["verify", str(out), "--record", str(kept(tmp_path / "less", 30))]) == 7


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["v9"], "the record has no visit 'v9'"),
        (["--zone", "Mars/Olympus"], "Mars/Olympus"),
        (["-o", "visit.docx"], "the name of a report ends in .pdf, .html or .json, not as 'visit.docx' does"),
        (["-o", "nowhere/visit.pdf"], "nowhere/visit.pdf cannot be written: No such file or directory"),
    ],
)
def test_what_cannot_be_made_says_why(
    record: Path, words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["report", *words, "--record", str(record)]) == 2
    assert says in capsys.readouterr().err


def test_a_folder_without_a_record_or_with_two_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", "--data", str(tmp_path)]) == 2
    assert "was to have one record in it, a file *.sqlite; found: none" in capsys.readouterr().err
    for name in ("a.sqlite", "b.sqlite"):
        (tmp_path / name).touch()
    assert main(["verify", __file__, "--data", str(tmp_path)]) == 2
    assert "found: a.sqlite, b.sqlite" in capsys.readouterr().err
    assert main(["verify", str(tmp_path / "none.pdf"), "--record", str(tmp_path / "a.sqlite")]) == 2
    assert "none.pdf is no file that is there to be read" in capsys.readouterr().err


def test_what_is_no_file_or_too_large_is_not_read(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    os.mkfifo(tmp_path / "pipe.pdf")
    with (tmp_path / "large.pdf").open("wb") as large:
        large.truncate(64 * 2**20 + 1)
    for name, says in (("pipe.pdf", "is no file"), ("large.pdf", "more than 64 MiB")):
        assert main(["verify", str(tmp_path / name), "--record", str(record)]) == 2
        assert says in capsys.readouterr().err


def test_no_outcome_has_the_exit_code_of_a_program_that_failed() -> None:
    """That is 1 for Python (docs.python.org, sys.exit; from memory)."""
    assert set(VERIFIED) == set(get_args(Outcome))
    assert not {1, 2} & set(VERIFIED.values())


def test_no_report_is_written_over_a_record(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record = kept(tmp_path / "data")
    named = record.rename(record.with_name("visit.json"))
    before = named.read_bytes()
    assert main(["report", "--record", str(named), "-o", str(named)]) == 2
    assert "is a record, or another database, and would be lost" in capsys.readouterr().err
    assert named.read_bytes() == before
