"""The command line: what cannot work is said, with the exit code 2, before anything is begun."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from dewline import main
from simulators.bench.alone import alone_in
from tests.rigs import write_configuration


@pytest.mark.parametrize("record", ["/dev/null", "/"])
def test_what_is_no_record_is_not_worked_out_again(record: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rerun", record]) == 2
    assert f"{record} is no record" in capsys.readouterr().err


def test_of_a_record_with_nothing_in_it_nothing_comes_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record = tmp_path / "visit.sqlite"
    record.touch()
    assert main(["rerun", str(record)]) == 2
    assert f"nothing is recorded in {record}" in capsys.readouterr().err


def test_two_benches_do_not_share_a_folder(
    tmp_path: Path, free_port: Callable[[], int], capsys: pytest.CaptureFixture[str]
) -> None:
    ports = ["--port", str(free_port()), "--broker-port", str(free_port())]
    with alone_in(tmp_path):
        assert main(["bench", "--directory", str(tmp_path), *ports]) == 2
    assert f"another bench runs in {tmp_path}; stop it" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_a_bench_is_not_told_of_two_scenarios(
    tmp_path: Path, free_port: Callable[[], int], capsys: pytest.CaptureFixture[str]
) -> None:
    visit = tmp_path / "visit.toml"
    visit.write_text('title = "A visit"\nscenario = "low_charge"\n', encoding="utf-8")
    given = ["--script", str(visit), "--scenario", "long_lines", "--directory", str(tmp_path / "record")]
    assert main(["bench", *given, "--port", str(free_port()), "--broker-port", str(free_port())]) == 2
    assert "names its own scenario; leave --scenario long_lines out" in capsys.readouterr().err


def test_a_folder_that_cannot_be_is_said(
    tmp_path: Path, free_port: Callable[[], int], capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").touch()
    ports = ["--port", str(free_port()), "--broker-port", str(free_port())]
    assert main(["bench", "--directory", str(tmp_path / "file" / "record"), *ports]) == 2
    assert "file/record cannot be the bench's folder: Not a directory" in capsys.readouterr().err


@pytest.mark.parametrize("speed", ["nan", "0", "inf", "101"])
def test_a_bench_of_no_speed_begins_nothing(speed: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    directory = tmp_path / "bench"
    assert main(["bench", "--speed", speed, "--directory", str(directory)]) == 2
    assert f"speed is {speed}; the bench runs 0.1 to 100 times" in capsys.readouterr().err
    assert not directory.exists()


@pytest.mark.parametrize(
    "words",
    [
        "--json superheat {a} {b}",
        "superheat --json {a} {b}",
        "superheat {a} --json {b}",
        "superheat {a} {b} --json",
    ],
)
def test_an_option_may_stand_anywhere_among_the_values(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    given = ["refrigerant=R-410A", "suction_pressure=118psig"]
    line = words.format(a=given[0], b=" ".join([given[1], "suction_line_temperature=50degF"]))
    assert main(["calc", *line.split()]) == 0
    # CoolProp 8.0.0: R-410A at 118 psig (14.696 psia barometric) has its dew point at 39.843 °F
    superheat = json.loads(capsys.readouterr().out)["superheat_dk"]
    assert superheat * 9 / 5 == pytest.approx(50 - 39.843, abs=0.01)


@pytest.mark.parametrize("words", ["calc superheat --jsn a=1", "calc superheat a=1 --jsn", "rerun a.sqlite b.sqlite"])
def test_what_is_no_option_is_refused(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(words.split())
    assert ended.value.code == 2
    assert "unrecognized arguments" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["a/#", "+", "", "two words", "-x", "x" * 64])
def test_what_is_no_name_of_a_rig_is_not_watched(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["dashboard", "--broker=mqtt://127.0.0.1:9", f"--rig={name}", f"--data-directory={tmp_path}"])
    assert ended.value.code == 2
    assert f"'{name}' is no name of a rig; 1 to 63 letters, digits, - and _" in capsys.readouterr().err


def test_a_folder_is_no_record(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write_configuration(tmp_path)
    (tmp_path / "bench.sqlite").mkdir()
    assert main(["check", str(path), "--within=1 s"]) == 2
    assert 'rig.record = "bench.sqlite": is a folder; the name of a file was expected' in capsys.readouterr().err


@pytest.mark.parametrize(
    ("room", "act", "words"),
    [
        ("ingest.export.write", "write_visit", ["export", "--record", "r", "--to", "csv", "-o", "o"]),
        ("ingest.advice.rerun", "rerun", ["rerun", "r"]),
        ("ingest.importing.bring_in", "bring_in", ["import", "l", "--map", "m", "--data", "d"]),
    ],
)
def test_ctrl_c_and_a_reader_that_has_gone_end_it_in_a_line(monkeypatch, capsys, room, act, words):
    """128 and the number of the signal: POSIX.1-2017, XCU 2.8.2, as shells have it."""
    monkeypatch.setattr("ingest.importing.log_map.read_map", lambda *_: None)
    for error, code, said in ((KeyboardInterrupt, 130, 1), (BrokenPipeError, 0, 0)):

        def stops(*_: object, error: type[BaseException] = error, **__: object) -> None:
            raise error

        monkeypatch.setattr(f"{room}.{act}", stops)
        monkeypatch.setattr("dewline.drop_output", lambda: None)
        assert main(words) == code
        assert capsys.readouterr().err.count("\n") == said
