"""A meter that answers SCPI over a serial port.

From the standards: IEEE 488.2 for `*IDN?`, `*CLS`, `*ESE?`, the form NR3 of numbers, and a message of several units
parted by semicolons, whose answers are one line parted likewise (6.4 and 8.4, from memory); SCPI-99 volume 2, 21.8 for
`SYSTem:ERRor?`; SCPI-99 volume 1, 7.2.1 for 9.9E37 (infinity) and 9.91E37 (not a number).
"""

import asyncio
import math
import os
from collections import deque
from collections.abc import Mapping, Sequence
from pathlib import Path

from simulators.device.device import Read, SimulatedDevice
from simulators.device.pty_port import PtyPort

IDENTITY = "SIMULATED,METER,0,1"
MOST_ERRORS = 16


class ScpiDevice(SimulatedDevice):
    """A SCPI meter on a pseudo-terminal.

    queries: by the text of the query, such as `MEAS:VOLT:AC?`, the name of the value in `read` that answers
    it. A query is answered with the newest sample, `delay_s` later, or as much later as `delays_s` says for that value.
    Anything else is an error and gets no answer. repeats_after_s: by value, how long after its answer that goes out a
    second time. settings: commands that it accepts and that need no answer. echoes: whether it first repeats what it is
    sent. names: the queries that it knows, in capitals; it may come to know more. takes_several: in one message, as the
    standard has it and many meters have not. loses: how many of the next answers are lost on their way, by value.
    """

    def __init__(
        self,
        read: Read,
        *,
        address: Path,
        queries: Mapping[str, str],
        settings: frozenset[str] = frozenset(),
        interval_s: float = 0.1,
        delay_s: float = 0.0,
        echoes: bool = False,
        takes_several: bool = False,
    ) -> None:
        super().__init__(read, interval_s)
        self.delay_s = delay_s
        self.delays_s: dict[str, float] = {}
        self.repeats_after_s: dict[str, float] = {}
        self.loses: dict[str, int] = {}
        self._echoes = echoes
        self._takes_several = takes_several
        self._port = PtyPort(address)
        self.names = {query.upper(): name for query, name in queries.items()}
        self._settings = {command.upper() for command in settings}
        self._newest: Mapping[str, float] = {}
        self._errors: deque[str] = deque(maxlen=MOST_ERRORS)
        self._begun = b""
        self._master: int | None = None

    @property
    def address(self) -> str:
        """The path of its port."""
        return str(self._port.address)

    def unplug(self) -> None:
        """Pull the plug."""
        if self._master is not None:
            asyncio.get_running_loop().remove_reader(self._master)
            self._master = None
        self._port.unplug()

    def replug(self) -> None:
        """Plug it in again: a new port behind the same name, and a meter that starts afresh."""
        self._errors.clear()
        self._begun = b""
        self._busy_until_s = 0.0
        self._sample()
        self._master = self._port.plug()
        asyncio.get_running_loop().add_reader(self._master, self._receive, self._master)

    def send(self, data: bytes) -> None:
        """Send these bytes as they are: damage, or an answer that nobody asked for."""
        self._port.write(data)

    def _sample(self) -> None:
        self._newest = self._read()

    def _receive(self, master: int) -> None:
        *commands, self._begun = (self._begun + os.read(master, 4096)).split(b"\n")
        for command in commands:
            if self._echoes:
                self.send(command + b"\r\n")
            said = command.decode("ascii", "replace").strip().upper()
            units = said.split(";") if self._takes_several else [said]
            answer = self._answer_all(units)
            if answer is not None:
                name = self.names.get(units[-1], "")
                delay_s = self.delays_s.get(name, self.delay_s)
                if self.loses.get(name, 0):
                    self.loses[name] -= 1
                    continue
                self._answer_after(delay_s, self.send, answer.encode() + b"\n")
                if name in self.repeats_after_s:
                    again_s = delay_s + self.repeats_after_s[name]
                    asyncio.get_running_loop().call_later(again_s, self.send, answer.encode() + b"\n")

    def _answer_all(self, units: Sequence[str]) -> str | None:
        """Answer every unit of a message in one line; after an error the rest of it is not read."""
        answers = []
        for unit in units:
            before = len(self._errors)
            answer = self._answer(unit)
            answers += [] if answer is None else [answer]
            if len(self._errors) > before:
                break
        return ";".join(answers) if answers else None

    def _answer(self, command: str) -> str | None:
        if command == "*ESE?" and self._takes_several:
            return "0"
        if command == "*IDN?":
            return IDENTITY
        if command == "SYST:ERR?":
            return self._errors.popleft() if self._errors else '0,"No error"'
        if command in self.names:
            return _number(self._newest[self.names[command]])
        if command == "*CLS":
            self._errors.clear()
        elif command not in self._settings:
            self._errors.append('-113,"Undefined header"')
        return None


def _number(value: float) -> str:
    if math.isnan(value):
        return "9.91000000E+37"
    if math.isinf(value):
        return f"{math.copysign(9.9e37, value):.8E}"
    return f"{value:+.8E}"
