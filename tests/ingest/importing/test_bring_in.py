"""A log becomes a visit as if it had been read live: stamps, units, what derives, advice; from every kind of file."""

import math
from datetime import UTC, datetime

import pytest
from CoolProp.CoolProp import PropsSI

from ingest.advice.rerun import rerun
from ingest.record.errors import NotSavedError
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from tests.ingest.importing.logs import LOG, Folder
from tests.rigs import make_rig

PSI_PA = 6894.757
"""NIST SP 811, appendix B.8."""
T0_S = datetime(2026, 6, 1, 14, tzinfo=UTC).timestamp()


def test_a_log_becomes_a_visit_with_stamps_units_and_what_derives(folder: Folder) -> None:
    taken = folder.bring_in()
    assert (taken.packs, taken.gaps, taken.left_out) == (3, 0, 0)
    file = RecordFile(folder.record)
    (visit,) = file.visits()
    assert (visit.id, visit.unit.tag, visit.unit.refrigerant) == (taken.visit, "RTU-9", "R-134a")
    assert (visit.started_s, visit.ended_s) == (T0_S, T0_S + 2)
    assert [pack.time_s for pack in folder.packs()] == [T0_S, T0_S + 1, T0_S + 2]
    assert [pack.sequence for pack in folder.packs()] == [1, 2, 3]
    pressures = folder.values("suction_pressure")
    assert pressures == pytest.approx([101_325 + gauge * PSI_PA for gauge in (35.0, 35.1, 35.2)], abs=0.1)
    kelvins = folder.values("suction_line_temperature")
    assert kelvins == pytest.approx([283.15, 283.2611, 283.3722], abs=1e-4)  # 50 °F is 10 °C


def test_superheat_is_there_as_an_equation_of_state_has_it(folder: Folder) -> None:
    """CoolProp (BSD oracle, Tillner-Roth and Baehr 1994 for R-134a): dew point at the pressure that the log gives."""
    folder.bring_in()
    first = folder.packs()[0].readings
    dew_k = PropsSI("T", "P", 101_325 + 35.0 * PSI_PA, "Q", 1, "R134a")
    assert first["superheat"].value == pytest.approx(283.15 - dew_k, abs=0.005)
    assert first["superheat"].standard_uncertainty
    assert first["superheat"].quality == "ok"


def test_advice_is_given_on_it_and_comes_out_again(folder: Folder) -> None:
    lines = [f"{datetime.fromtimestamp(T0_S + second, UTC):%Y-%m-%dT%H:%M:%S},35.0,{50 + math.exp(-second / 60):.1f}"
             for second in range(120)]  # fmt: skip
    folder.written("Time,Suction,Line\n" + "\n".join(lines))
    taken = folder.bring_in(judged=True)
    found = list(rerun(folder.record))
    assert taken.advices == len(found) > 0
    assert all(it.same for it in found)
    assert {it.visit for it in found} == {taken.visit}


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le with a mark", "cp1252"])
def test_it_is_read_in_each_encoding(folder: Folder, encoding: str) -> None:
    text = LOG.replace("Line", "Line °F")
    name = "utf-16" if encoding.startswith("utf-16") else encoding
    folder.mapped(('"Line"', '"Line °F"'), ("[log]", f'[log]\nencoding = "{name}"'))
    if encoding.endswith("mark"):
        folder.log.write_bytes(b"\xff\xfe" + text.encode("utf-16-le"))
    else:
        folder.written(text, encoding)
    assert folder.bring_in().packs == 3


@pytest.mark.parametrize("end", ["\r\n", "\r", "\n\n"])
def test_it_is_read_with_each_end_of_line(folder: Folder, end: str) -> None:
    folder.written(LOG.replace("\n", end))
    assert folder.bring_in().packs == 3


def test_decimal_commas_quotes_and_lines_around_the_table(folder: Folder) -> None:
    folder.written(
        'A logger, 2026\nTime;Suction;Line\n;"psi";"°F"\n2026-06-01 14:00:00;"35,0";50,0\n2026-06-01 14:00:01;35,1;\n'
    )
    folder.mapped(("[log]", '[log]\nseparator = ";"\ndecimal = ","\nheader_line = 2\nskip = 1'))
    folder.bring_in()
    assert folder.values("suction_pressure") == pytest.approx([342_641.5, 343_331.0], abs=0.1)
    assert folder.packs()[1].readings["suction_line_temperature"].time_s == T0_S  # an empty cell leaves what was


@pytest.mark.parametrize(
    ("written", "form", "zone"),
    [
        ("2026-06-01T16:00:0{}+02:00", "iso", "stated"),
        ("2026-06-01 09:30:0{}", "%Y-%m-%d %H:%M:%S", "-04:30"),
        ("06/01/2026 02:00:0{} PM", "%m/%d/%Y %I:%M:%S %p", "UTC"),
        ("178032240{}", "unix_s", "UTC"),
        ("178032240{}000", "unix_ms", "UTC"),
    ],
)
def test_stamps_are_read_as_the_map_has_them(folder: Folder, written: str, form: str, zone: str) -> None:
    """The same three seconds: 2026-06-01T14:00:00Z is 1780322400 s since 1970 (`date -u -d @1780322400`)."""
    rows = [f"{written.format(second)},35,50" for second in range(3)]
    folder.written("Time,Suction,Line\n" + "\n".join(rows))
    folder.mapped(('format = "iso"', f'format = "{form}"'), ('zone = "UTC"', f'zone = "{zone}"'))
    folder.bring_in()
    assert [pack.time_s for pack in folder.packs()] == [1_780_322_400, 1_780_322_401, 1_780_322_402]


def test_a_spreadsheets_days_and_seconds_since_a_start(folder: Folder) -> None:
    """Day 46174.5 is noon of 2026-06-01: day 46174 by ECMA-376 part 1, 18.17.4.1, 25569 being 1970-01-01."""
    folder.written("Time,Suction,Line\n46174.5,35,50\n46174.75,35,50")
    folder.mapped(('format = "iso"', 'format = "spreadsheet"'), ('interval = "1 s"', 'interval = "1 h"'))
    folder.bring_in()
    noon_s = (46174.5 - 25569) * 86400
    assert [pack.time_s for pack in folder.packs()] == [noon_s, noon_s + 21600]
    folder.written("Time,Suction,Line\n0,35,50\n1.5,35,50")
    folder.mapped(('format = "iso"', 'format = "elapsed_s"\nstart = "2026-06-01T14:00:00Z"'))
    folder.bring_in()
    assert [pack.time_s for pack in folder.packs()] == [T0_S, T0_S + 1.5]


def test_date_and_time_of_day_in_columns_of_their_own(folder: Folder) -> None:
    folder.written("Date,Clock,Suction,Line\n2026-06-01,14:00:00,35,50\n2026-06-01,14:00:01,35,50\n")
    folder.mapped(('column = "Time"', 'column = "Date"\nand_column = "Clock"'))
    assert folder.bring_in().first_s == T0_S


def test_an_average_is_dated_to_the_middle_of_what_it_is_of(folder: Folder) -> None:
    folder.written("Time,Suction,Line\n2026-06-01T14:15:00,35,50\n2026-06-01T14:30:00,35,50\n")
    quarter = ('interval = "1 s"', 'interval = "15 min"')
    for value, read_at_s, line_at_s in (("before", T0_S + 450, T0_S + 900), ("after", T0_S + 1350, T0_S + 1800)):
        folder.mapped(quarter, ('value = "sample"', f'value = "average_{value}"'))
        folder.record.unlink(missing_ok=True)
        folder.bring_in()
        first = folder.packs()[0]
        assert (first.time_s, first.readings["suction_pressure"].time_s) == (line_at_s, read_at_s)
        assert first.readings["superheat"].quality == "ok"


def test_gaps_are_counted_and_what_is_overload_is_no_number(folder: Folder) -> None:
    folder.written(LOG + "2026-06-01T14:01:00,OL,50\n")
    taken = folder.bring_in()
    assert (taken.gaps, taken.longest_gap_s) == (1, 58.0)
    last = folder.packs()[-1].readings
    assert (last["suction_pressure"].value, last["suction_pressure"].quality) == (None, "overload")
    assert last["superheat"].value is None


def test_a_channel_that_comes_seldom_is_stale_only_by_its_own_interval(folder: Folder) -> None:
    rows = [f"2026-06-01T14:00:{second:02},{'35' if second % 10 == 0 else ''},50" for second in range(30)]
    folder.written("Time,Suction,Line\n" + "\n".join(rows))
    folder.bring_in()
    assert "stale" in {pack.readings["suction_pressure"].quality for pack in folder.packs()}
    folder.mapped(('accuracy = "1 psi"', 'accuracy = "1 psi"\ninterval = "10 s"'))
    folder.record.unlink()
    folder.bring_in()
    assert {pack.readings["suction_pressure"].quality for pack in folder.packs()} == {"ok"}


def test_a_minus_as_printers_write_it_is_one(folder: Folder) -> None:
    """U+2212 of the Unicode standard."""
    folder.written(LOG.replace("50.0", "\N{MINUS SIGN}40.0"))
    folder.bring_in()
    assert folder.values("suction_line_temperature")[0] == pytest.approx(233.15)  # -40 °F is -40 °C


def test_a_calibration_in_the_map_is_applied(folder: Folder) -> None:
    """docs/import.md: corrected = slope × reading + offset, of the gauge's own reading; 6894.757 Pa: NIST SP 811."""
    folder.mapped(('accuracy = "1 psi"', 'accuracy = "1 psi"\noffset = "-0.4 psi"\nslope = 1.02'))
    folder.bring_in()
    corrected = [1.02 * psig - 0.4 for psig in (35.0, 35.1, 35.2)]
    assert folder.values("suction_pressure") == pytest.approx([101_325.0 + 6894.757 * it for it in corrected])


def test_several_logs_follow_each_other_and_the_same_one_is_refused(folder: Folder) -> None:
    first = folder.bring_in()
    folder.written(LOG.replace("06-01", "06-02"))
    second = folder.bring_in()
    assert [visit.id for visit in RecordFile(folder.record).visits()] == [first.visit, second.visit]
    assert [pack.sequence for pack in folder.packs()] == [4, 5, 6]
    with pytest.raises(NotSavedError, match=f"it is in this record already, as the visit {second.visit}"):
        folder.bring_in()


def test_the_record_of_a_rig_takes_no_log(folder: Folder) -> None:
    folder.record.parent.mkdir()
    record = Record(folder.record)
    record.begin_session(make_rig(folder.record.parent), boot="boot", new_visit="v1", time_s=T0_S)
    record.close()
    with pytest.raises(NotSavedError, match="a rig writes this record"):
        folder.bring_in()
    assert [visit.id for visit in RecordFile(folder.record).visits()] == ["v1"]
