"""What cannot be known, or is broken, is refused with its line and what to do; nothing half done stays behind."""

import os
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from dewline import main
from ingest.config.load import ConfigError
from ingest.importing.bring_in import Progress, bring_in
from ingest.importing.errors import LogError
from ingest.importing.log_map import read_map
from ingest.record.errors import NotSavedError
from ingest.record.lock import Lock
from ingest.record.reading import RecordFile
from tests.ingest.importing.logs import LOG, Folder

FAULTS = {
    "a broken line": (LOG + "2026-06-01T14:00:03,35\n", r"line 5: has 2 cells where the header has 3; .*leave_out"),
    "no number": (LOG.replace("35.1", "high"), r"line 3: Suction: 'high' is no number: if it stands for no value"),
    "a decimal comma": (LOG.replace("35.1", '"35,1"'), r"line 3: Suction: '35,1' is no number: log.decimal says '\.'"),
    "a unit in a cell": (LOG.replace("35.1", "35.1 psi"), r"line 3: .*: take the unit out of the cells"),
    "the same stamp": (LOG.replace("14:00:02", "14:00:01"), r"line 4: has the same stamp as the line before"),
    "a backward stamp": (LOG.replace("14:00:02", "13:00:01"), r"line 4: has a stamp 3600 s before that of the line"),
    "no stamp": (LOG.replace("2026-06-01T14:00:01", "now"), r"line 3: the stamp 'now' is not written as ISO 8601"),
    "two zones": (LOG.replace("14:00:01", "14:00:01+02:00"), r'line 3: .* and the map says UTC: write zone = "stated"'),
    "a clock not set": (LOG.replace("2026", "1970"), r"line 2: .*is of 1970-06-01: the clock of the logger was not"),
    "a missing column": (LOG.replace("Suction", "Low"), r"line 1: has no column 'Suction'; there are 'Time', 'Low'"),
    "a column twice": (LOG.replace("Line", "Suction"), r"line 1: has several columns 'Suction': .*\"#2\", \"#3\""),
    "nothing in it": ("Time,Suction,Line\n", r"log\.csv: holds no reading"),
    "not even a header": ("", r"line 1: no names of columns"),
    "a quote that never ends": (LOG + '"2026', r"cannot be parted into cells"),
    "no line ends": ("Time,Suction,Line" + "x" * 70_000, r"line 1: has over 65536 letters"),
    "another unit": (
        LOG.replace("35.", "90035."),
        r"Suction as suction_pressure: none of 3 values can be: 90035 psi is not plausible",
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_told_with_its_line_and_nothing_stays(folder: Folder, name: str) -> None:
    text, told = FAULTS[name]
    folder.written(text)
    with pytest.raises(LogError, match=told):
        folder.bring_in()
    assert [path.name for path in folder.record.parent.iterdir()] == ["visit.sqlite.lock"]


@pytest.mark.parametrize("name", ["a broken line", "no number", "no stamp"])
def test_a_broken_line_is_left_out_where_the_map_says_so_and_told(folder: Folder, name: str) -> None:
    folder.written(FAULTS[name][0])
    folder.mapped(("[log]", '[log]\nbroken_lines = "leave_out"'))
    taken = folder.bring_in()
    assert (taken.left_out, len(taken.told)) == (1, 1)
    assert taken.packs == FAULTS[name][0].count("\n") - 2


@pytest.mark.parametrize("name", ["the same stamp", "a backward stamp"])
def test_so_is_a_stamp_that_is_not_later(folder: Folder, name: str) -> None:
    folder.written(FAULTS[name][0] + "2026-06-01T14:00:03,35,50\n")
    folder.mapped(("[time]", '[time]\nnot_later = "leave_out"'))
    taken = folder.bring_in()
    assert (taken.packs, taken.left_out) == (3, 1)


def test_bytes_that_are_no_utf_8_are_told_where_they_are(folder: Folder) -> None:
    folder.log.write_bytes(LOG.encode() + b"2026-06-01T14:00:03,35,50\xb0\n")
    with pytest.raises(LogError, match=r"is not utf-8 from here on .*; log.encoding says what it is"):
        folder.bring_in()


def test_a_mark_that_says_another_encoding_is_told(folder: Folder) -> None:
    folder.written(LOG, "utf-16")
    with pytest.raises(LogError, match=r'its byte order mark says utf-16, .*write encoding = "utf-16"'):
        folder.bring_in()


MAPS = {
    "gauge or absolute": (('reference = "gauge"\n', ""), 'channel[0].reference: is missing; "gauge" or "absolute"'),
    "an open question": (('reference = "gauge"', 'reference = "?"'), 'line 23: channel[0].reference = "?": only a'),
    "a unit that is none": (('unit = "degF"', 'unit = "degQ"'), "line 29: channel[1].unit = \"degQ\": 'degQ' is no"),
    "another quantity": (('unit = "degF"', 'unit = "psi"'), "'psi' is no unit of temperature (it is one of pressure)"),
    "no such channel": (('"suction_line_temperature"', '"suction_temp"'), "there is no such channel; did you mean"),
    "a misspelt key": (("[site]", '[site]\nelevatoin = "3 m"'), "there is no such key here; did you mean"),
    "no site": (('barometric_pressure = "101325 Pa"', ""), 'site.elevation: is missing; elevation = "30 m" or'),
    "letters for a zone": (('zone = "UTC"', 'zone = "EST"'), "letters such as EST or CET mean several"),
    "no such zone": (('zone = "UTC"', 'zone = "Nowhere/Land"'), "there is no such zone on this machine"),
    "a zone that does not count": (
        ('format = "iso"\nzone = "UTC"', 'format = "unix_ms"\nzone = "+02:00"'), "seconds since 1970 count from there"
    ),
    "no such format": (('format = "iso"', 'format = "day first"'), "or signs of strptime such as"),
    "a sign for two": (("[log]", '[log]\ndecimal = ","'), "the separator is the same sign"),
    "twelve hours": (('format = "iso"', 'format = "%d/%m/%Y %I:%M:%S"'), "%I is an hour of twelve: %p (AM or PM) was"),
    "a tag that cannot be": (('tag = "RTU-9"', 'tag = "a/#"'), 'unit.tag = "a/#": letters and digits were expected'),
    "a channel twice": (('"suction_line_temperature"', '"suction_pressure"'), "channel[0].channel has this name"),
}  # fmt: skip


@pytest.mark.parametrize("name", MAPS)
def test_what_a_map_leaves_open_or_has_wrong_is_told_with_its_line(folder: Folder, name: str) -> None:
    change, told = MAPS[name]
    folder.mapped(change)
    with pytest.raises(ConfigError) as wrong:
        folder.bring_in()
    assert told in str(wrong.value)
    assert not folder.record.exists()


def test_names_that_stand_there_again_and_a_quotation_mark_that_never_closes_are_told(folder: Folder) -> None:
    head = LOG.splitlines()[0]
    for more, says in (
        (f"{head}\n", "line 5: has the names of the columns once more; delete it"),
        ('2026-06-01T14:00:03,"35.0,50.0\n', "line 5: cannot be parted into cells: a quotation mark that opens"),
    ):
        folder.written(LOG + more)
        with pytest.raises(LogError, match=says):
            folder.bring_in()
        assert not folder.record.exists()


def test_a_refusal_leaves_a_record_with_what_it_had(folder: Folder) -> None:
    first = folder.bring_in()
    before = folder.record.read_bytes()
    folder.written(FAULTS["a broken line"][0])
    with pytest.raises(LogError):
        folder.bring_in()
    assert folder.record.read_bytes() == before
    assert [visit.id for visit in RecordFile(folder.record).visits()] == [first.visit]


def test_who_finds_another_import_at_work_touches_nothing_of_it(folder: Folder) -> None:
    folder.record.parent.mkdir()
    with closing(Lock(folder.record)):
        folder.record.write_bytes(b"of the other")
        with pytest.raises(NotSavedError, match=r"another process writes .*Wait for it"):
            folder.bring_in()
        assert folder.record.read_bytes() == b"of the other"


def test_killed_in_the_middle_it_leaves_the_old_and_can_be_done_again(folder: Folder) -> None:
    first = folder.bring_in()
    rows = [
        f"2026-07-{day:02}T{hour:02}:{minute:02}:{second:02},35,50"
        for day in range(1, 7) for hour in range(24) for minute in range(60) for second in range(60)
    ]  # fmt: skip
    folder.written("Time,Suction,Line\n" + "\n".join(rows))
    arguments = ["import", str(folder.log), "--map", str(folder.map), "--data", str(folder.record.parent)]
    with subprocess.Popen(
        [sys.executable, "-m", "dewline", *arguments, "--no-advice"], stderr=subprocess.PIPE, text=True
    ) as at_work:
        assert at_work.stderr
        assert "% of" in at_work.stderr.readline()
        at_work.send_signal(signal.SIGKILL)
    with closing(sqlite3.connect(folder.record)) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert database.execute("SELECT id FROM visits").fetchall() == [(first.visit,)]
        assert database.execute("SELECT max(last_sequence) FROM chunks").fetchone() == (3,)
    folder.written("\n".join(["Time,Suction,Line", *rows[:500]]))
    assert folder.bring_in().packs == 500


def test_the_command_says_what_became_of_it(folder: Folder, capsys: pytest.CaptureFixture[str]) -> None:
    data = str(folder.record.parent)
    assert main(["import", str(folder.log)]) == 2
    assert "--data is needed, the folder of the record; or --guess for a map" in capsys.readouterr().err
    assert main(["import", str(folder.log), "--data", data]) == 2
    assert "--map is needed; --guess proposes one to begin with" in capsys.readouterr().err
    assert main(["import", str(folder.log), "--map", str(folder.map), "--data", data]) == 0
    assert "3 lines from 2026-06-01 14:00:00+00:00 to 2026-06-01 14:00:02+00:00" in capsys.readouterr().out
    assert main(["import", str(folder.log), "--map", str(folder.map), "--data", data]) == 2
    assert "it is in this record already" in capsys.readouterr().err
    assert main(["import", str(folder.log / "x"), "--map", str(folder.map), "--data", data]) == 2
    assert "Nothing was imported." in capsys.readouterr().err


def test_what_is_no_file_is_no_log(folder: Folder, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    os.mkfifo(tmp_path / "pipe")
    for log in (tmp_path, tmp_path / "pipe"):
        assert main(["import", str(log), "--map", str(folder.map), "--data", str(tmp_path / "d")]) == 2
        assert main(["import", str(log), "--guess"]) == 2
        assert capsys.readouterr().err.count("is a folder, a pipe or a device; a file was expected") == 2


def test_a_folder_that_cannot_be_is_told(folder: Folder, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").touch()
    assert main(["import", str(folder.log), "--map", str(folder.map), "--data", str(tmp_path / "file")]) == 2
    assert "Nothing was imported." in capsys.readouterr().err


def test_a_name_that_is_also_the_place_of_another_column_is_refused(folder: Folder) -> None:
    folder.written(LOG.replace("Line", "#2"))
    folder.mapped(('"Line"', '"#2"'))
    with pytest.raises(LogError, match="has '#2' as the name of one column and the place of another"):
        folder.bring_in()
    folder.mapped(('"Line"', '"#3"'))
    folder.bring_in()
    assert folder.values("suction_line_temperature")[0] == pytest.approx((50.0 - 32.0) / 1.8 + 273.15)


def test_cells_may_be_parted_by_tabs(folder: Folder) -> None:
    """As TOML 1.0 writes one: \\t."""
    folder.written(LOG.replace(",", "\t"))
    folder.mapped(("[log]", '[log]\nseparator = "\\t"'))
    assert folder.bring_in().packs == 3


@pytest.mark.parametrize(
    ("header", "says"),
    [
        ("Suction [psia]", "psia"),  # its plate says absolute, the map gauge
        ("Suction (bar)", "bar"),
        ("suction_pressure_kPa", "kPa"),
        ("Suction [psig]", None),
        ("Suction (psi)", None),
        ("Suction (1)", None),
        ("Suction A", None),
        ("Suction (degF)", None),
    ],
)
def test_a_header_that_states_another_unit_than_the_map_is_refused(folder: Folder, header: str, says: str) -> None:
    folder.written(LOG.replace("Suction", header))
    folder.mapped(('column = "Suction"', f'column = "{header}"'))
    if says is None:
        assert folder.bring_in().packs == 3
        return
    with pytest.raises(LogError, match=f"line 1: column 2, .* says '{says}', and the map 'psi'"):
        folder.bring_in()


@pytest.mark.parametrize("column", ["Suction", "#2", "Time"])
def test_one_column_is_not_read_for_two(folder: Folder, column: str) -> None:
    folder.mapped(('column = "Line"', f'column = "{column}"'))
    with pytest.raises(LogError, match=r"line 1: column [12], .* is taken for (suction_pressure|the stamps) already"):
        folder.bring_in()


@pytest.mark.parametrize("key", ["header_line", "skip"])
def test_a_count_of_lines_beyond_the_log_ends_with_it(folder: Folder, key: str) -> None:
    folder.mapped(("[log]", f"[log]\n{key} = 9000000000000"))
    with pytest.raises(LogError, match=r"no names of columns|holds no reading"):
        folder.bring_in()


LONG = [
    "Time,Suction,Line",
    *(f"2026-06-01T{at // 3600:02}:{at // 60 % 60:02}:{at % 60:02},35,50" for at in range(11_000)),
]


@pytest.mark.parametrize(
    ("line", "text", "told"),
    [
        (10_003, "2026-06-01T02:46:41,35", "has 2 cells where the header has 3"),
        (10_003, "2026-06-01T02:46:41,high,50", "Suction: 'high' is no number"),
        (4_802, LONG[4_800], "has the same stamp as the line before"),
        (9_602, "2026-06-01T01:00:00,35,50", "has a stamp 5999 s before that of the line before"),
    ],
)
def test_far_into_a_log_the_line_is_told_and_left_out_as_in_its_first(
    folder: Folder, line: int, text: str, told: str
) -> None:
    """Among them the lines with which a part that is read at once begins: the one before it stands in another."""
    rows = [*LONG[: line - 1], text, *LONG[line:]]
    folder.written("\n".join(rows))
    with pytest.raises(LogError, match=f"line {line}: {told}"):
        folder.bring_in()
    folder.mapped(("[log]", '[log]\nbroken_lines = "leave_out"'), ("[time]", '[time]\nnot_later = "leave_out"'))
    taken = folder.bring_in()
    assert (taken.packs, taken.left_out) == (10_999, 1)
    assert taken.told[0].startswith(f"line {line}: ")


def test_progress_is_told_of_a_long_log_and_comes_to_its_end(folder: Folder, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("ingest.importing.bring_in.TOLD_EVERY_S", 0.0)
    folder.written("\n".join(LONG) + "\n")
    told: list[Progress] = []
    bring_in(folder.log, read_map(folder.map, folder.record), judged=False, tell=told.append)
    assert [each.lines for each in told] == [4_800, 9_600, 11_000]
    assert told[-1].bytes_read == told[-1].size_bytes == folder.log.stat().st_size
    assert told[0].bytes_read < told[1].bytes_read
