"""Units brought into a record: all or none, never beside a daemon, and asked about where they change what is known."""

from contextlib import closing
from pathlib import Path

import pytest
from msgspec.structs import replace

from ingest.record.lock import Lock
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.register.bringing_in import BroughtIn, RegisterError, bring_in
from ingest.wire.messages import Sheet
from tests.rigs import make_rig
from tests.units import CORRECT

T0_S = 1_700_000_000.0
SHEETS = [replace(CORRECT, tag=tag) for tag in ("AHU-1", "AHU-2", "KX7-7PM")]


@pytest.fixture
def record(tmp_path: Path) -> Path:
    return tmp_path / "visit.sqlite"


def kept(record: Path) -> dict[str, Sheet]:
    return {known.sheet.tag: known.sheet for known in RecordFile(record).sheets()}


def bring(record: Path, sheets: list[Sheet], *, confirmed: bool = False, time_s: float = T0_S) -> BroughtIn:
    return bring_in(record, sheets, time_s=time_s, confirmed=confirmed)


def test_a_shop_brings_its_units_in_before_its_first_visit(record: Path, tmp_path: Path) -> None:
    assert bring(record, SHEETS) == BroughtIn(new=3, changed=0, same=0)
    assert kept(record).keys() == {"AHU-1", "AHU-2", "KX7-7PM"}
    with closing(Record(record)) as opened:  # and the daemon goes on with them
        opened.begin_session(make_rig(tmp_path), boot="b", new_visit="v1", time_s=T0_S)
        assert len(opened.sheets()) == 4


def test_what_is_as_it_was_is_not_written_again(record: Path) -> None:
    bring(record, SHEETS)
    moved = replace(SHEETS[0], place="moved to the yard")
    assert bring(record, [moved, *SHEETS[1:]], time_s=T0_S + 1) == BroughtIn(new=0, changed=1, same=2)
    assert kept(record)["AHU-1"].place == "moved to the yard"
    assert [known.since_s for known in RecordFile(record).sheets_of("AHU-1")] == [T0_S + 1, T0_S]
    assert len(RecordFile(record).sheets_of("AHU-2")) == 1


def test_another_refrigerant_of_a_known_unit_is_asked_about_and_nothing_is_imported_before(record: Path) -> None:
    bring(record, SHEETS)
    first = replace(CORRECT.circuits[0], refrigerant="R-32")
    other = replace(SHEETS[0], circuits=[first, CORRECT.circuits[1]])
    with pytest.raises(RegisterError, match=r"(?s)nothing was imported.*AHU-1, circuit 1.*R-32.*--confirmed"):
        bring(record, [other, replace(CORRECT, tag="AHU-7")])
    assert kept(record).keys() == {"AHU-1", "AHU-2", "KX7-7PM"}
    assert bring(record, [other, replace(CORRECT, tag="AHU-7")], confirmed=True) == BroughtIn(1, 1, 0)
    assert kept(record)["AHU-1"].circuits[0].refrigerant == "R-32"


def test_two_units_of_a_file_that_look_alike_are_asked_about(record: Path) -> None:
    with pytest.raises(RegisterError, match="RTU-I is not known, and RTU-1 is, which looks like it"):
        bring(record, [replace(CORRECT, tag="RTU-1"), replace(CORRECT, tag="RTU-I")])


def test_beside_a_daemon_nothing_is_imported_and_it_says_what_to_do(record: Path) -> None:
    bring(record, SHEETS[:1])
    with (
        closing(Lock(record)),
        pytest.raises(RegisterError, match=r"a daemon writes .*: stop it, import, and start it"),
    ):
        bring(record, SHEETS)
    assert kept(record).keys() == {"AHU-1"}
    assert bring(record, SHEETS) == BroughtIn(2, 0, 1)  # and once it has ended, they are


def test_the_lock_is_let_go(record: Path) -> None:
    bring(record, SHEETS)
    with closing(Lock(record)) as lock:
        assert lock.holds


def test_no_new_unit_is_brought_in_under_a_tag_that_means_something_else_elsewhere(record: Path) -> None:
    bad = [replace(CORRECT, tag=tag) for tag in ("AHU-3", "=cmd|x", "a/#+")]
    with pytest.raises(RegisterError, match=r"(?s)nothing was imported.*'=cmd\|x': letters and digits.*'a/#\+'"):
        bring(record, bad, confirmed=True)
    assert kept(record) == {}


def test_a_target_or_a_device_is_not_changed_by_a_file_without_a_question(record: Path) -> None:
    bring(record, [CORRECT])
    first, second = CORRECT.circuits
    other = replace(CORRECT, circuits=[replace(first, metering_device="eev", target_subcooling_dk=8.0), second])
    with pytest.raises(RegisterError, match=r"(?s)it had a TXV, and would have an EEV.* its target subcooling was"):
        bring(record, [other])
    assert bring(record, [other], confirmed=True) == BroughtIn(new=0, changed=1, same=0)
