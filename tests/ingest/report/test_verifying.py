"""Is a report as it was made, and does the record say the same? On real records, with each thing that can be wrong."""

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import get_args

import pytest
from msgspec.structs import replace

from ingest.record.erasing import erase
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.report.drawn.own_digest import ChangedError, Form, closed, opened
from ingest.report.errors import ErasedVisitError, UnknownVisitError
from ingest.report.making import Asked, make
from ingest.report.verifying import verify
from ingest.wire.messages import Added, Photograph, Signed, VisitOpened
from tests.ingest.report.kept import VISIT, add, goes_on, kept, marks
from tests.rigs import make_rig

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
    assert "signature itself is sealed by nothing" in found.says


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


def rewritten(record: Path, before: bytes, after: bytes, kind: str = "") -> None:
    """Write something else into the first mark that has it, as who has the file can."""
    with closing(sqlite3.connect(record)) as database:
        first = "SELECT min(number) FROM marks WHERE instr(payload, :before) AND (:kind = '' OR kind = :kind)"
        changed = f"UPDATE marks SET payload = CAST(replace(payload, :before, :after) AS BLOB) WHERE number = ({first})"
        assert database.execute(changed, {"before": before, "after": after, "kind": kind}).rowcount == 1
        database.commit()


@pytest.mark.parametrize("noted", [False, True])
def test_a_record_with_a_broken_seal_is_told_and_a_report_of_it_is_not_called_signed(
    tmp_path: Path, noted: bool
) -> None:
    """Whatever came later, and whichever version drew it."""
    data, record = made(kept(tmp_path / "then"), "json"), kept(tmp_path / "now", noted=noted)
    rewritten(record, b"Sam", b"Tim")
    for each in (data, stated(data, program="Dewline 0.0.1, typst 0.14.0")):
        assert tried(each, record) == "seal_broken"
    after = made(record, "html")
    found = verify(after, RecordFile(record), charts=CHARTS)
    assert (found.outcome, found.made) == ("seal_broken", None)
    assert found.says.startswith("THE RECORD IS NOT AS IT WAS SIGNED")
    assert b"NOT AS IT WAS SIGNED</span>" in after
    assert b"Signed</span></header>" not in after


def test_a_draft_of_marks_that_the_record_has_otherwise_is_not_of_it(tmp_path: Path) -> None:
    data, record = made(kept(tmp_path / "then", 20), "json"), kept(tmp_path / "now", 20)
    rewritten(record, b"Sam", b"Tim")
    for each in (data, stated(data, program="Dewline 0.0.1, typst 0.14.0")):
        found = verify(each, RecordFile(record), charts=CHARTS)
        assert (found.outcome, "NOT OF THIS RECORD" in found.says) == ("differs", True)


def test_a_mark_that_was_taken_out_breaks_the_seal(tmp_path: Path) -> None:
    record = kept(tmp_path)
    with closing(sqlite3.connect(record)) as database:
        database.execute("DELETE FROM marks WHERE number = (SELECT min(number) FROM marks WHERE kind = 'finding')")
        database.commit()
    assert tried(made(record, "json"), record) == "seal_broken"


def test_a_digest_taken_from_the_signature_breaks_the_seal(tmp_path: Path) -> None:
    record = kept(tmp_path)
    signed = next(mark for mark in marks() if isinstance(mark, Signed))
    rewritten(record, signed.digest.encode(), b"", "sign")
    assert tried(made(record, "json"), record) == "seal_broken"


def test_another_name_in_the_signature_is_told_by_a_report_made_before(tmp_path: Path) -> None:
    record = kept(tmp_path)
    before = made(record, "json")
    rewritten(record, b'"name":"Sam', b'"name":"Tim', "sign")
    assert tried(before, record) == "differs"
    assert "its name" in verify(made(record, "json"), RecordFile(record), charts=CHARTS).says  # and by nothing else


def test_a_record_with_fewer_marks_is_not_the_one(tmp_path: Path) -> None:
    assert tried(made(kept(tmp_path / "all")), kept(tmp_path / "less", 20)) == "differs"


def stated(data: bytes, word: bytes = b"", **otherwise: str) -> bytes:
    """Give a report as data that says otherwise what it was made of, with a digest that fits.

    word: what it says in the place of the first "not recorded".
    """
    body, _, _ = data.rpartition(b'"made": "')
    body = body.replace(b"not recorded", word, 1) if word else body
    return closed(body, "json", replace(opened(data)[1], **otherwise))


def told_of(data: bytes, record: Path) -> str:
    """Try a file of which nothing may be called right; gives what is said."""
    found = verify(data, RecordFile(record), charts=CHARTS)
    assert found.says.startswith("NOT COMPARED: ")
    assert found.says.endswith("The file has the digest that it carries, which anybody can write.")
    assert "nchanged" not in found.says
    assert found.made is None
    return found.says


def test_another_rigs_record_has_no_such_visit(tmp_path: Path) -> None:
    record = kept(tmp_path)
    data = stated(made(record, "json"), visit="v2")
    assert tried(data, record) == "no_visit"
    assert "'v2'" in told_of(data, record)


def test_nothing_of_a_file_reaches_a_terminal_as_it_stands(tmp_path: Path) -> None:
    record = kept(tmp_path)
    data = made(record, "json")
    clears = "\x1b[2J\x1b]0;It matches the record.\x07"
    for otherwise in ({"visit": clears}, {"program": clears}):
        assert "\x1b" not in verify(stated(data, **otherwise), RecordFile(record), charts=CHARTS).says
    found = verify(stated(data, program=clears, code=clears), RecordFile(record), charts=CHARTS)
    assert (found.outcome, found.made) == ("matches", opened(data)[1])  # what is shown of it is the record's
    found = verify(stated(data, b"\\u001b[2J", program=clears), RecordFile(record), charts=CHARTS)
    assert (found.outcome, "\x1b" in found.says) == ("not_compared", False)


def ended(record: Path) -> None:
    with closing(sqlite3.connect(record)) as database:
        database.execute("UPDATE visits SET ended_s = 1")  # what is open is not erased
        database.commit()


def test_of_an_erased_visit_the_journal_is_still_compared(tmp_path: Path) -> None:
    record, more, other = kept(tmp_path / "then"), kept(tmp_path / "now", noted=True), kept(tmp_path / "other")
    rewritten(other, b"Sam", b"Tim")
    whole, data, early = made(record), made(record, "json"), made(kept(tmp_path / "early", 20))
    for path in (record, more, other):
        ended(path)
        erase(path, [VISIT], because="asked for by the owner", now_s=1_800_000_000.0)  # 15 January 2027, by `date -u`
    assert tried(whole, record) == "erased"
    says = told_of(whole, record)
    assert "of the very journal, which was erased from the record on 15 January 2027 (asked for by the owner)" in says
    assert "with which the very journal was signed" in told_of(whole, more)
    assert "there were" in told_of(early, more)
    found = verify(whole, RecordFile(other), charts=CHARTS)  # of as many marks
    assert (found.outcome, "ANOTHER JOURNAL" in found.says) == ("differs", True)
    assert tried(stated(data, journal="0" * 64, digest="0" * 64), record) == "differs"
    with pytest.raises(ErasedVisitError):
        made(record)


def test_who_names_another_version_is_not_believed(tmp_path: Path) -> None:
    record = kept(tmp_path)
    data = made(record, "json")
    assert tried(stated(data, program="Dewline 0.0.1, typst 0.14.0"), record) == "matches"  # every word is compared
    forged = stated(data, b"well recorded", program="Dewline 0.0.1, typst 0.14.0")
    assert tried(forged, record) == "not_compared"
    says = told_of(forged, record)
    assert "Dewline 0.0.1" in says
    assert "well recorded" in says


def test_of_a_page_that_another_version_is_named_in_nothing_is_compared(tmp_path: Path) -> None:
    record = kept(tmp_path)
    data = made(record, "html")
    body, _, _ = data.rpartition(b"\n<!-- dewline report")
    forged = closed(body.replace(b"not recorded", b"well recorded", 1), "html", replace(opened(data)[1], program="X 1"))
    assert tried(forged, record) == "not_compared"
    assert "'X 1'" in told_of(forged, record)


def two_visits(directory: Path) -> Path:
    """Keep the visit of the others after one a week before at the same unit."""
    record = Record((rig := make_rig(directory)).record)
    early_s = marks()[0].time_s - 7 * 86_400.0
    record.begin_session(rig, boot="a", new_visit="v0", time_s=early_s)
    record.add_mark(VisitOpened("open-0", early_s, "Robin", "technician", unit=rig.unit.tag))
    record.add_mark(Added("added-0", early_s + 60.0, "Robin", "technician", mass_kg=0.5, phase="liquid", how="scale"))
    record.close()
    ended(rig.record)
    record = Record(rig.record)
    record.begin_session(rig, boot="b", new_visit=VISIT, time_s=marks()[0].time_s)
    add(record, marks())
    record.close()
    return rig.record


def test_a_report_is_not_accused_because_an_earlier_visit_was_erased(tmp_path: Path) -> None:
    record = two_visits(tmp_path)
    data = made(record, "json")
    assert tried(data, record) == "matches"
    erase(record, ["v0"], because="asked for", now_s=2_000_000_000.0)  # 18 May 2033: what was moved is not kept
    found = verify(data, RecordFile(record), charts=CHARTS)
    assert found.outcome == "earlier_erased"
    assert "visit v0 was erased on 18 May 2033 (asked for)" in told_of(data, record)


def test_a_forged_report_is_accused_where_the_earlier_visit_was_erased_before_it(tmp_path: Path) -> None:
    record = two_visits(tmp_path)
    erase(record, ["v0"], because="asked for", now_s=marks()[0].time_s - 60.0)
    forged = stated(made(record, "json"), b"well recorded")
    assert tried(forged, record) == "differs"


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ("DELETE FROM photographs WHERE id = ?", "is missing"),
        ("UPDATE photographs SET jpeg = x'ffd8ffd9' WHERE id = ?", "is not the one that was taken"),
    ],
)
def test_a_photograph_that_is_missing_or_another_is_told(tmp_path: Path, change: str, says: str) -> None:
    record = kept(tmp_path)
    before = made(record, "html")
    taken = next(mark.id for mark in marks() if isinstance(mark, Photograph))
    with closing(sqlite3.connect(record)) as database:
        assert database.execute(change, (taken,)).rowcount == 1
        database.commit()
    assert tried(before, record) == "photographs"
    assert f"{taken} {says}" in told_of(before, record)
    after = made(record, "json")
    assert f"Photograph {taken} {says} in the record".encode() in after
    found = verify(after, RecordFile(record), charts=CHARTS)
    assert (found.outcome, f"{taken} {says}" in found.says) == ("matches", True)


def test_there_is_no_report_of_what_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UnknownVisitError):
        make(RecordFile(kept(tmp_path)), Asked(visit="v9"), charts=CHARTS)
    with pytest.raises(ChangedError):
        opened(b"Good morning")


def test_each_step_is_told_as_it_begins(tmp_path: Path) -> None:
    told: list[str] = []
    make(RecordFile(kept(tmp_path)), Asked(visit=VISIT), charts=CHARTS, tell=told.append)
    assert told == ["reading the record", "drawing", "closing"]
