"""A proposed map: filled in where the log shows it, a question where only a person can know. Answered, it imports."""

import re
import tomllib
from pathlib import Path

import pytest

from dewline import main
from ingest.config.load import ConfigError
from ingest.export.write import write_visit
from ingest.importing.answers import answered
from ingest.importing.bring_in import bring_in
from ingest.importing.errors import LogError
from ingest.importing.guess import guess
from ingest.importing.log_map import read_map
from ingest.record.reading import RecordFile
from tests.ingest.importing.logs import Folder

ANSWERS = ("zone=UTC", "elevation=0 m", "tag=RTU-9", "refrigerant=R-134a", "metering_device=txv")
ACCURACIES = ("pressure.accuracy=1 psi", "temperature.accuracy=0.5 degF", "current.accuracy=0.1 A")


LOG = """Time,Suction pressure (psig),Suction line temp (degF),Liquid press (bar),Liquid temp [°F],Comp current,Flow
2026-06-01 14:00:00,35.0,50.0,9.0,90.0,9.1,1
2026-06-01 14:00:05,35.1,50.2,9.1,90.1,9.2,1
2026-06-01 14:00:10,35.1,50.2,9.1,90.1,9.2,1
"""


def proposed(path: Path, text: str) -> dict[str, dict[str, object]]:
    path.write_text(text, encoding="utf-8")
    return tomllib.loads(guess(path).text)


def channels(found: dict[str, object]) -> dict[str, dict[str, str]]:
    return {each["column"]: each for each in found["channel"]}  # type: ignore[index, attr-defined]


def test_what_a_log_shows_is_filled_in_and_the_rest_is_asked(tmp_path: Path) -> None:
    found = proposed(tmp_path / "log.csv", LOG)
    assert found["log"] | {"logger": ""} == {
        "logger": "", "interval": "5 s", "encoding": "utf-8", "separator": ",", "decimal": ".", "header_line": 1,
    }  # fmt: skip
    assert found["time"] == {"column": "Time", "format": "iso", "zone": "?", "value": "sample"}
    assert found["usual"] == {
        "pressure": {"reference": "?", "accuracy": "?"}, "temperature": {"accuracy": "?"}, "current": {"accuracy": "?"},
    }  # fmt: skip
    assert found["site"] == {"elevation": "?"}
    known = channels(found)
    assert {name: (it["channel"], it["unit"], it.get("reference")) for name, it in known.items()} == {
        "Suction pressure (psig)": ("suction_pressure", "psig", "gauge"),
        "Suction line temp (degF)": ("suction_line_temperature", "degF", None),
        "Liquid press (bar)": ("liquid_pressure", "bar", None),
        "Liquid temp [°F]": ("liquid_line_temperature", "°F", None),
        "Comp current": ("compressor_current", "?", None),
    }


def test_no_proposed_map_is_used_before_it_was_answered(tmp_path: Path) -> None:
    proposed(tmp_path / "log.csv", LOG)
    text = guess(tmp_path / "log.csv").text
    (tmp_path / "map.toml").write_text(text)
    with pytest.raises(ConfigError) as wrong:
        read_map(tmp_path / "map.toml", tmp_path / "visit.sqlite")
    told = re.findall(r"line (\d+): ", str(wrong.value))
    asked = [str(number) for number, line in enumerate(text.splitlines(), 1) if '= "?"' in line]
    assert told == asked


def test_answered_it_imports(tmp_path: Path) -> None:
    log, map_ = tmp_path / "log.csv", tmp_path / "map.toml"
    log.write_text(LOG.replace(",Flow", "").replace(",1\n", "\n").replace("Comp current", "Comp current (A)"))
    words = [*ANSWERS, *ACCURACIES, "reference=absolute"]
    map_.write_text(answered(guess(log).text, words, {}), encoding="utf-8")
    assert bring_in(log, read_map(map_, tmp_path / "visit.sqlite")).packs == 3


@pytest.mark.parametrize(
    ("stamps", "form"),
    [
        (["03/04/2026 10:00", "03/04/2026 10:01"], "?"),
        (["26/04/03 10:00", "26/04/03 10:01"], "?"),  # of 2003 or 2026
        (["13/04/2026 10:00", "13/04/2026 10:01"], "%d/%m/%Y %H:%M"),
        (["04/13/2026 10:00", "04/13/2026 10:01"], "%m/%d/%Y %H:%M"),
        (["12/04/2026 10:00", "01/05/2026 10:01"], "%d/%m/%Y %H:%M"),
        (["13.04.2026 10:00:00", "13.04.2026 10:00:01"], "%d.%m.%Y %H:%M:%S"),
        (["1780322400", "1780322401"], "unix_s"),
        (["2026-06-01T14:00:00Z", "2026-06-01T14:00:01Z"], "iso"),
    ],
)
def test_day_and_month_are_told_apart_only_by_what_cannot_be(tmp_path: Path, stamps: list[str], form: str) -> None:
    """A 13 is no month, and a log does not go back by months."""
    found = proposed(tmp_path / "log.csv", "Time,Suction (psig)\n" + "\n".join(f"{it},35" for it in stamps))
    assert found["time"]["format"] == form


def test_semicolons_decimal_commas_and_a_line_of_units(tmp_path: Path) -> None:
    text = "Logger no. 7\nDate;Clock;Suction pressure;Return humidity\n;;psig;%RH\n2026-06-01;14:00:00;35,5;48,1\n"
    found = proposed(tmp_path / "log.csv", text + "2026-06-01;14:00:01;35,6;48,2\n")
    log = found["log"]
    assert (log["separator"], log["decimal"], log["header_line"], log["skip"]) == (";", ",", 2, 1)
    assert (found["time"]["column"], found["time"]["and_column"]) == ("Date", "Clock")
    assert [it["unit"] for it in channels(found).values()] == ["psig", "%RH"]


def test_what_is_no_table_is_said(tmp_path: Path) -> None:
    for text in ("", "only words\nand more of them\n", "1,2\n3,4\n"):
        (tmp_path / "log.csv").write_text(text)
        with pytest.raises(LogError):
            guess(tmp_path / "log.csv")


def test_a_letter_at_the_end_of_a_name_is_degrees_where_nothing_else_is_meant(tmp_path: Path) -> None:
    text = "Time,Suction line F,Liquid line (C)\n" + "".join(
        f"2026-06-01 14:00:{at:02d},50.0,30.1\n" for at in range(3)
    )
    found = channels(proposed(tmp_path / "log.csv", text))
    assert [(it["channel"], it["unit"]) for it in found.values()] == [
        ("suction_line_temperature", "degF"),
        ("liquid_line_temperature", "C"),
    ]


def test_names_that_stand_there_again_are_no_word_for_nothing(tmp_path: Path) -> None:
    head, *lines = LOG.splitlines()
    assert "missing" not in proposed(tmp_path / "log.csv", "\n".join([head, *lines, head, *lines]))["log"]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("Time,Suction psig\n", "no number"),
        ("2026-06-01 14:00:00,35.0\n2026-06-01 14:00:05,35.1\n", "no line of names"),
    ],
)
def test_what_a_log_lacks_is_named(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(LogError, match=says):
        proposed(tmp_path / "log.csv", text)


def test_what_was_exported_is_understood_and_comes_in_as_it_was(folder: Folder, tmp_path: Path) -> None:
    """Out as CSV, a map proposed for that, its questions answered, and in: the same values at the same moments."""
    folder.bring_in()
    out, map_ = tmp_path / "out.csv", tmp_path / "again.toml"
    write_visit(folder.record, None, "csv", out)
    map_.write_text(answered(guess(out).text, ANSWERS[1:], {}), encoding="utf-8")
    again = tmp_path / "again.sqlite"
    bring_in(out, read_map(map_, again), judged=False)
    file = RecordFile(again)
    packs = list(file.visit_packs(file.visits()[0].id))
    for before, after in zip(folder.packs(), packs, strict=True):
        assert before.time_s == after.time_s
        for name in ("suction_pressure", "suction_line_temperature", "superheat"):
            assert before.readings[name].value == after.readings[name].value


def test_the_command_prints_a_map(folder: Folder, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["import", "--guess", str(folder.log)]) == 0
    assert tomllib.loads(capsys.readouterr().out)["log"]["interval"] == "1 s"
    kept = folder.log.with_name("proposed.toml")
    assert main(["import", "--guess", str(folder.log), "--map", str(kept)]) == 0
    assert "has a question in 11 places" in capsys.readouterr().out
    assert main(["import", "--guess", str(folder.log), "--map", str(kept)]) == 2
    assert "is there already and may have been reviewed" in capsys.readouterr().err
    kept.write_text(kept.read_text(encoding="utf-8") + "# looked through by Sam\n", encoding="utf-8")
    assert main(["import", "--guess", str(folder.log), "--map", str(kept), "--answer", "elevation=0 m"]) == 0
    assert "has a question in 10 places" in capsys.readouterr().out
    assert tomllib.loads(kept.read_text(encoding="utf-8"))["site"] == {"elevation": "0 m"}
    assert kept.read_text(encoding="utf-8").endswith("# looked through by Sam\n")
    kept.write_text(kept.read_text(encoding="utf-8").replace('"?"', '"-"'), encoding="utf-8")
    assert main(["import", "--guess", str(folder.log), "--map", str(kept), "--answer", "elevation=0 m"]) == 2
    assert "nothing is asked" in capsys.readouterr().err
    assert main(["import", "--guess", str(folder.log.with_name("none.csv"))]) == 2
    assert "cannot be read: No such file or directory" in capsys.readouterr().err


SECONDS = """Bench logger
{above}
Elapsed (s),Suction pressure (psig)
0.0,35.0
0.5,35.1
1.0,35.1
"""


@pytest.mark.parametrize(
    ("above", "start", "zone"),
    [
        ("Begun 2026-06-01 14:00:00", "2026-06-01 14:00:00", "?"),
        ("Begun 2026-06-01T14:00:00+02:00", "2026-06-01T14:00:00+02:00", "stated"),
        ("Begun this morning", "?", "?"),
        ("Begun 2026-13-41 14:00", "?", "?"),
        ("Begun 2026-06-01 14:00 calibrated 2026-01-01 09:00", "?", "?"),
    ],
)
def test_seconds_since_the_log_began_are_known_and_their_beginning_where_it_stands_there(
    tmp_path: Path, above: str, start: str, zone: str
) -> None:
    found = proposed(tmp_path / "log.csv", SECONDS.format(above=above))["time"]
    assert found == {"column": "Elapsed (s)", "format": "elapsed_s", "start": start, "zone": zone, "value": "sample"}


@pytest.mark.parametrize(
    "text", [SECONDS.replace("(s)", "(min)"), SECONDS.replace("1.0,", "0.2,"), SECONDS.replace("Elapsed (s)", "")]
)
def test_what_counts_otherwise_or_goes_back_is_asked(tmp_path: Path, text: str) -> None:
    assert proposed(tmp_path / "log.csv", text)["time"]["format"] == "?"


def test_commas_beside_points_may_part_thousands_and_are_asked_about(tmp_path: Path) -> None:
    text = "Time;Head (kPa);Outdoor (degC)\n2026-06-01 14:00:00;2,450;35.1\n2026-06-01 14:00:05;2,451;35.2\n"
    assert proposed(tmp_path / "log.csv", text)["log"]["decimal"] == "?"


def test_no_name_is_written_that_may_mean_two_columns(tmp_path: Path) -> None:
    text = "Time,Zone 1,#2,\n2026-06-01 14:00:00,35.0,50.0,7\n2026-06-01 14:00:05,35.1,50.2,7\n"
    found = proposed(tmp_path / "log.csv", text)
    assert [each["column"] for each in found["channel"]] == ["Zone 1", "#3", "#4"]  # type: ignore[index, attr-defined]
    crossed = text.replace("#2,", "#2,#3")
    found = proposed(tmp_path / "log.csv", crossed)
    assert [each["column"] for each in found["channel"]] == ["Zone 1", "?", "#4"]  # type: ignore[index, attr-defined]
