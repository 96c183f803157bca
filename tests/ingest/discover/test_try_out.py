"""`dewline check`: a configuration is tried on real ports, and everything that fails is told in one tree."""

import asyncio
import sys
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from ingest.config.load import load, resolve
from ingest.discover.try_out import as_tree, try_out
from ingest.link.port_settings import PortSettings
from ingest.link.serial_thread import open_port
from simulators.device.serial import SerialProbe
from tests.rigs import write_configuration


@pytest.fixture
async def low(tmp_path: Path) -> AsyncIterator[SerialProbe]:
    values = {"pressure": 118.0, "temperature": 50.0}
    async with SerialProbe(lambda: values, address=tmp_path / "low", interval_s=0.05) as probe:
        yield probe


@pytest.fixture
async def high(tmp_path: Path) -> AsyncIterator[SerialProbe]:
    values = {"pressure": 2413.0, "temperature": 36.0}
    async with SerialProbe(lambda: values, address=tmp_path / "high", interval_s=0.05, form="json") as probe:
        yield probe


async def tree(configuration: Path, within_s: float = 10.0) -> tuple[bool, str]:
    """Whether all is well, and the tree."""
    config = load(configuration)
    rig = resolve(config, configuration)
    trials = await try_out(config, rig, within_s=within_s)
    return all(trial.is_good for trial in trials), as_tree(rig.name, trials)


@pytest.mark.usefixtures("low", "high")
async def test_what_was_read_is_told_with_unit_and_quality(tmp_path: Path) -> None:
    good, said = await tree(write_configuration(tmp_path))
    assert good
    lines = [line for line in said.splitlines() if "refused" not in line]  # rows before the first header
    assert "\n".join(lines) == (
        "bench: 2 instruments, every channel is read\n"
        "    low side probe\n"
        "        suction_pressure: 118 psi gauge ± 1 psi, ok\n"
        "        suction_line_temperature: 50 degF ± 0.9 degF, ok\n"
        "    high side probe\n"
        "        liquid_pressure: 2413 kPa gauge ± 7 kPa, ok\n"
        "        liquid_line_temperature: 36 degC ± 0.5 degC, ok"
    )


async def test_all_failures_are_told_at_once(low: SerialProbe, tmp_path: Path) -> None:
    path = write_configuration(tmp_path)
    path.write_text(path.read_text().replace('field = "pressure"', 'field = "presure"', 1))
    good, said = await tree(path, within_s=1.0)
    assert not good
    assert "bench: 2 of 2 instruments cannot be relied on" in said
    assert '        suction_pressure: nothing under "presure"; it sends pressure, temperature' in said
    assert "        suction_line_temperature: 50 degF ± 0.9 degF, ok" in said
    assert f"    high side probe\n        {tmp_path}/high cannot be opened: plug the instrument in" in said


async def test_a_value_that_is_none_is_told_with_its_reason(
    low: SerialProbe, high: SerialProbe, tmp_path: Path
) -> None:
    high._read = lambda: {"pressure": float("inf"), "temperature": 4000.0}
    good, said = await tree(write_configuration(tmp_path))
    assert not good
    assert "liquid_pressure: overload: the instrument shows overload" in said
    assert "liquid_line_temperature: out_of_range: 4000 degC is not plausible" in said


async def test_an_instrument_that_says_nothing_sensible(low: SerialProbe, high: SerialProbe, tmp_path: Path) -> None:
    high.unplug()
    high.replug()
    high._sample = lambda: high.send(b"?????\n")  # type: ignore[method-assign]
    good, said = await tree(write_configuration(tmp_path), within_s=1.0)
    assert not good
    assert "nothing that can be read in 1 s" in said
    assert "the last because of: a row before the header" in said


@pytest.mark.usefixtures("low", "high")
async def test_a_port_that_another_program_has_is_told(tmp_path: Path) -> None:
    with open_port(PortSettings(str(tmp_path / "high"), 9600)):
        good, said = await tree(write_configuration(tmp_path))
    assert not good
    assert "high cannot be opened: another program has it open" in said


async def dewline_check(*arguments: str) -> tuple[int, str]:
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "dewline", "check", *arguments,
        stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.STDOUT,
    )  # fmt: skip
    output, _ = await process.communicate()
    return process.returncode or 0, output.decode()


@pytest.mark.usefixtures("low", "high")
async def test_the_command_says_by_its_exit_code_whether_all_is_well(tmp_path: Path) -> None:
    path = write_configuration(tmp_path)
    code, said = await dewline_check(str(path))
    assert code == 0, said
    assert said.startswith("bench: 2 instruments, every channel is read")
    path.write_text(path.read_text().replace(f"{tmp_path}/high", f"{tmp_path}/nowhere"))
    code, said = await dewline_check(str(path), "--within", "5 s")
    assert code == 2
    assert "nowhere cannot be opened" in said


async def test_the_command_tells_a_file_that_cannot_be_used(tmp_path: Path) -> None:
    path = write_configuration(tmp_path)
    path.write_text(path.read_text().replace("R-410A", "R-410Z"))
    code, said = await dewline_check(str(path))
    assert code == 2
    assert 'unit.refrigerant = "R-410Z"' in said
    code, said = await dewline_check(str(path), "--within", "soon")
    assert code == 2
    assert "'soon' is no time" in said
