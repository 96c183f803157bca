"""The invariant of the room: no command waits for what another needs."""

import subprocess
import sys

HEAVY = {"numpy", "dash", "fastapi", "plotly", "sqlite3", "aiomqtt", "amqtt", "bleak", "serial", "pymodbus", "typst"}
ROOMS = ("calc.catalogue", "dashboard", "ingest.record", "ingest.report", "simulators")


def test_the_command_line_loads_no_room_that_one_command_alone_needs() -> None:
    code = "import sys, dewline; dewline._parser(); print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = done.stdout.split()
    assert not HEAVY & set(loaded)
    assert not [name for name in loaded if name.startswith(ROOMS)]
