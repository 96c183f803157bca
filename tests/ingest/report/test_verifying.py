"""Is a report as it was made, and does the record say the same? On real records, with each thing that can be wrong."""

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import get_args

import pytest
from msgspec.structs import replace

from ingest.record.erasing import erase
from ingest.record.reading import RecordFile
from ingest.report.drawn.own_digest import ChangedError, Form, closed, opened
from ingest.report.errors import ErasedVisitError, UnknownVisitError
from ingest.report.making import Asked, make
from ingest.report.verifying import verify
from tests.ingest.report.kept import VISIT, goes_on, kept, marks

FORMS = get_args(Form)
CHARTS = "// charts"


def made(record: Path, form: Form = "pdf") -> bytes:
    return make(RecordFile(record), Asked(visit=VISIT, form=form, zone="America/Chicago"), charts=CHARTS)


def tried(data: bytes, record: Path) -> str:
    return verify(data, RecordFile(record), charts=CHARTS).outcome


@pytest.mark.parametrize("form", FORMS)
def test_what_was_just_made_matches(tmp_path: Path, form: Form) -> None:
    record = kept(tmp_path)
    found = verify(made(record, form), RecordFile(record), charts=CHARTS)
    assert found.outcome == "matches"
    assert found.made is not None
    assert (found.made.visit, found.made.signed, found.made.marks) == (VISIT, True, len(marks()))
    assert "to the last byte" in found.says


@pytest.mark.parametrize("form", FORMS)
def test_one_changed_byte_is_told(tmp_path: Path, form: Form) -> None:
    record = kept(tmp_path)
    data = bytearray(made(record, form))
    data[len(data) // 2] ^= 1
    assert tried(bytes(data), record) == "changed"


@pytest.mark.parametrize("form", FORMS)
def test_marks_that_came_later_are_counted_and_it_still_comes_out_the_same(tmp_path: Path, form: Form) -> None:
    data, record = made(kept(tmp_path / "then"), form), kept(tmp_path / "now", noted=True)
    found = verify(data, RecordFile(record), charts=CHARTS)
    assert found.outcome == "later"
    assert "1 mark of the visit that came later" in found.says
    assert tried(made(record, form), record) == "matches"


def test_a_draft_stays_what_it_was_once_the_visit_is_signed(tmp_path: Path) -> None:
    half = len(marks()) // 2
    record = kept(tmp_path, half)
    data = made(record, "json")
    assert opened(data)[1].signed is False
    goes_on(record, half)
    found = verify(data, RecordFile(record), charts=CHARTS)
    assert (found.outcome, f"{len(marks()) - half} marks" in found.says) == ("later", True)


def test_who_changes_a_word_and_writes_a_new_digest_is_found(tmp_path: Path) -> None:
    record = kept(tmp_path)
    data = made(record, "json")
    body, _, _ = data.rpartition(b'"made": "')
    forged = closed(body.replace(b"not recorded", b"well recorded", 1), "json", opened(data)[1])
    assert opened(forged)
    assert tried(forged, record) == "differs"


def change(record: Path) -> None:
    """Write another name into a mark."""
    with closing(sqlite3.connect(record)) as database:
        first = "SELECT min(number) FROM marks WHERE instr(payload, :before)"
        changed = f"UPDATE marks SET payload = CAST(replace(payload, :before, :after) AS BLOB) WHERE number = ({first})"
        assert database.execute(changed, {"before": b"Sam", "after": b"Tim"}).rowcount == 1
        database.commit()


def drawn_by_another(data: bytes) -> bytes:
    """The same report, as another version of this program made it."""
    older = replace(opened(data)[1], program="Dewline 0.0.1, typst 0.14.0")
    return closed(data.rpartition(b'"made": "')[0], "json", older)


@pytest.mark.parametrize("noted", [False, True])
def test_a_record_whose_mark_was_changed_is_not_the_one(tmp_path: Path, noted: bool) -> None:
    """Whatever came later, and whichever version drew it."""
    data, record = made(kept(tmp_path / "then"), "json"), kept(tmp_path / "now", noted=noted)
    change(record)
    for each in (data, drawn_by_another(data)):
        found = verify(each, RecordFile(record), charts=CHARTS)
        assert (found.outcome, "NOT OF THIS RECORD" in found.says) == ("differs", True)


def test_a_record_with_fewer_marks_is_not_the_one(tmp_path: Path) -> None:
    assert tried(made(kept(tmp_path / "all")), kept(tmp_path / "less", 20)) == "differs"


def test_another_rigs_record_has_no_such_visit(tmp_path: Path) -> None:
    record = kept(tmp_path)
    data = made(record, "json")
    body, _, _ = data.rpartition(b'"made": "')
    assert tried(closed(body, "json", replace(opened(data)[1], visit="v2")), record) == "no_visit"


def test_of_an_erased_visit_the_journal_is_still_compared(tmp_path: Path) -> None:
    record, more, other = kept(tmp_path / "then"), kept(tmp_path / "now", noted=True), kept(tmp_path / "other")
    whole, early = made(record), made(kept(tmp_path / "early", 20))
    change(other)
    for path in (record, more, other):
        with closing(sqlite3.connect(path)) as database:
            database.execute("UPDATE visits SET ended_s = 1")  # what is open is not erased
            database.commit()
        erase(path, [VISIT], because="asked for by the owner", now_s=marks()[-1].time_s + 1e9)
    found = verify(whole, RecordFile(record), charts=CHARTS)
    assert (found.outcome, "of the very journal" in found.says) == ("no_visit", True)
    assert "asked for by the owner" in found.says
    assert "there were" in verify(early, RecordFile(more), charts=CHARTS).says
    assert "of ANOTHER journal" in verify(whole, RecordFile(other), charts=CHARTS).says  # of as many marks
    with pytest.raises(ErasedVisitError):
        made(record)


def test_what_another_version_drew_is_not_called_forged(tmp_path: Path) -> None:
    record = kept(tmp_path)
    data = made(record, "json")
    found = verify(drawn_by_another(data), RecordFile(record), charts=CHARTS)
    assert found.outcome == "not_compared"
    assert "Dewline 0.0.1" in found.says


def test_there_is_no_report_of_what_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UnknownVisitError):
        make(RecordFile(kept(tmp_path)), Asked(visit="v9"), charts=CHARTS)
    with pytest.raises(ChangedError):
        opened(b"Good morning")


def test_each_step_is_told_as_it_begins(tmp_path: Path) -> None:
    told: list[str] = []
    make(RecordFile(kept(tmp_path)), Asked(visit=VISIT), charts=CHARTS, tell=told.append)
    assert told == ["reading the record", "drawing", "closing"]
