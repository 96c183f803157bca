"""The command line: what cannot work is said, with the exit code 2, before anything is begun."""

from pathlib import Path

import pytest

from dewline import main


@pytest.mark.parametrize("record", ["/dev/null", "/"])
def test_what_is_no_record_is_not_worked_out_again(record: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rerun", record]) == 2
    assert f"{record} is no record" in capsys.readouterr().err


@pytest.mark.parametrize("speed", ["nan", "0", "inf", "101"])
def test_a_bench_of_no_speed_begins_nothing(speed: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    directory = tmp_path / "bench"
    assert main(["bench", "--speed", speed, "--directory", str(directory)]) == 2
    assert f"speed is {speed}; the bench runs 0.1 to 100 times" in capsys.readouterr().err
    assert not directory.exists()
