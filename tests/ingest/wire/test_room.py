"""The invariant of the room: what travels can be read without the rest of the house."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import ingest.wire

ROOM = Path(ingest.wire.__file__).parent
IO = {"asyncio", "socket", "sqlite3", "subprocess", "logging", "time", "datetime", "os", "pathlib", "aiomqtt"}


def imported(path: Path) -> set[str]:
    """Every module that a file imports, by its full name."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return names


def test_the_room_says_its_invariant() -> None:
    assert "\nInvariant: nothing here does I/O" in str(ingest.wire.__doc__)


@pytest.mark.parametrize("path", sorted(ROOM.glob("*.py")), ids=lambda path: path.stem)
def test_a_file_of_the_room_does_no_io_and_knows_no_other_room(path: Path) -> None:
    for name in imported(path):
        assert name.partition(".")[0] not in IO, name
        if name.startswith(("ingest.", "dashboard", "simulators")):
            assert name.startswith("ingest.wire"), name


def test_reading_the_wire_loads_nothing_else_of_ours() -> None:
    code = "import sys, ingest.wire.messages, ingest.wire.bench_messages; print(*sys.modules)"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    ours = {name for name in said if name.partition(".")[0] in ("ingest", "dashboard", "simulators")}
    assert {name for name in ours if not name.startswith("ingest.wire")} == {"ingest"}
    assert not {"sqlite3", "aiomqtt", "serial", "bleak", "pymodbus"} & set(said)
