"""A port that is taken is told before anything starts: one line, with what to do, and exit code 2."""

import socket
from pathlib import Path

import pytest

from ingest.ports import PortTakenError, check_free
from tests.processes import is_free, running, unused_port


def test_a_free_port_stays_free() -> None:
    port = unused_port()
    check_free("127.0.0.1", port, of="the page", option="--port")
    assert is_free(port)


@pytest.mark.parametrize("port", [0, -1, 65536])
def test_what_is_no_port(port: int) -> None:
    with pytest.raises(PortTakenError, match=f"--port is {port}; a port is 1 to 65535"):
        check_free("127.0.0.1", port, of="the page", option="--port")


@pytest.mark.parametrize(
    ("command", "option"),
    [
        (["bench", "--broker-port", "{free}", "--port", "{taken}"], "--port"),
        (["bench", "--broker-port", "{taken}", "--port", "{free}"], "--broker-port"),
        (["dashboard", "--broker", "mqtt://127.0.0.1:{free}", "--port", "{taken}"], "--port"),
    ],
)
async def test_a_taken_port_is_one_line_and_nothing_is_started(command: list[str], option: str, tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        number = taken.getsockname()[1]
        arguments = [part.format(taken=number, free=unused_port()) for part in command]
        arguments += ["--directory" if command[0] == "bench" else "--data-directory", str(tmp_path / "run")]
        async with running(arguments, tmp_path / "log.txt") as it:
            assert await it.process.wait() == 2
        (line,) = it.output().splitlines()
    assert f"port {number} of 127.0.0.1 cannot be had for" in line
    assert line.endswith(f"choose another port with {option}")


async def test_a_daemon_whose_broker_port_is_taken_says_so_and_ends(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        number = taken.getsockname()[1]
        (tmp_path / "rig.toml").write_text(
            f'[rig]\nname = "r"\nrecord = "r.sqlite"\nelevation = "0 m"\n[broker]\nlisten = "127.0.0.1:{number}"\n'
            '[unit]\ntag = "T-1"\nrefrigerant = "R-410A"\nmetering_device = "txv"\n'
            '[[instrument]]\nname = "p"\nlink = { kind = "serial_lines", port = "/dev/null" }\n'
            '[[instrument.channel]]\nchannel = "suction_pressure"\nfield = "x"\nunit = "psi"\n'
            'reference = "gauge"\naccuracy = "1 psi"\n'
        )
        async with running(["daemon", "--config", str(tmp_path / "rig.toml")], tmp_path / "log.txt") as it:
            assert await it.process.wait() == 2
        assert f"port {number} of 127.0.0.1" in it.output()
        assert "Traceback" not in it.output()


async def test_a_password_file_that_cannot_be_used_is_told_and_its_content_is_not(tmp_path: Path) -> None:
    secret = tmp_path / "password"
    secret.write_bytes(b"\xef\xbb\xbfhunting-horn\n")
    arguments = ["dashboard", "--broker", "mqtt://van-3@127.0.0.1:9", "--password-file", str(secret)]
    arguments += ["--port", str(unused_port()), "--data-directory", str(tmp_path / "run")]
    async with running(arguments, tmp_path / "log.txt") as it:
        assert await it.process.wait() == 2
    assert "byte order mark" in it.output()
    assert "hunting-horn" not in it.output()
