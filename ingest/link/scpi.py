"""A SCPI meter over a serial port: set up once, then asked in turn.

IEEE 488.2 gives `*IDN?` and `*CLS`; SCPI-99 volume 2, 21.8 gives `SYSTem:ERRor?`, whose answer is a number, a
comma and a text in quotes, the number 0 when nothing went wrong. Command errors are -199 to -100.
"""

import re
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ingest.frames import Frame, LinkError, LinkSetupError, Stamp
from ingest.link.port_settings import PortSettings
from ingest.link.serial_thread import Connected, Deliver, Port, converse

ANSWER_TIMEOUT_S = 2.0
LONGEST_ANSWER_BYTES = 4096
_ERROR = re.compile(rb"\s*([+-]?\d{1,6})\s*,")


@dataclass(frozen=True, slots=True)
class ScpiMeter:
    """A link that polls a meter. `Frame.source` is the name of the query in `queries`.

    queries: name to query. setup: commands sent once after connecting. poll_s: from one round of queries to
    the next [s]; a round that takes longer is followed by the next at once.
    """

    settings: PortSettings
    queries: Mapping[str, str]
    setup: Sequence[str] = ()
    poll_s: float = 0.5
    answer_timeout_s: float = ANSWER_TIMEOUT_S

    async def run(self, deliver: Deliver, connected: Connected) -> None:
        """See Link.run."""
        await converse(self.settings, self._talk, deliver, connected)

    def _talk(self, port: Port, deliver: Deliver, connected: Connected) -> None:
        meter = _Meter(port, self.answer_timeout_s)
        self._configure(meter)
        connected()
        while True:
            next_round_s = time.monotonic() + self.poll_s
            for name, query in self.queries.items():
                try:
                    answer, stamp = meter.ask(query)
                except TimeoutError:
                    self._explain_silence(meter, query)
                else:
                    deliver(Frame(answer, stamp, name))
            port.wait_until(next_round_s)

    def _configure(self, meter: "_Meter") -> None:
        meter.drain()
        try:
            meter.ask("*IDN?")
            meter.tell("*CLS")
            for command in self.setup:
                meter.tell(command)
            error = meter.error()
        except TimeoutError as silence:
            raise LinkError(
                f"{self.settings.port}: no answer to *IDN? or SYST:ERR?; is the meter on, and {self.settings} right?"
            ) from silence
        if error:
            raise LinkSetupError(
                f"{self.settings.port}: after its setup commands the meter reports {error}; correct `setup`"
            )

    def _explain_silence(self, meter: "_Meter", query: str) -> None:
        """Find out why an answer stayed away: a missed query is let pass, a refused one ends the link."""
        meter.drain()
        try:
            error = meter.error()
        except TimeoutError as silence:
            raise LinkError(f"{self.settings.port}: the meter no longer answers; is it still on?") from silence
        if error.startswith("-1"):
            raise LinkSetupError(f"{self.settings.port}: the meter refuses {query!r} with {error}; correct `queries`")


class _Meter:
    """Questions and answers, one at a time."""

    def __init__(self, port: Port, answer_timeout_s: float) -> None:
        self._port = port
        self._answer_timeout_s = answer_timeout_s

    def tell(self, command: str) -> None:
        self._port.write(command.encode() + b"\n")

    def ask(self, query: str) -> tuple[bytes, Stamp]:
        """Ask; returns the answer without its newline, and when it was complete.

        Raises:
            TimeoutError: it did not come in time, or went on without end. Drain before asking again.

        """
        self.tell(query)
        deadline_s = time.monotonic() + self._answer_timeout_s
        answer = b""
        while time.monotonic() < deadline_s and len(answer) <= LONGEST_ANSWER_BYTES:
            answer += self._port.read()
            if b"\n" in answer:
                return answer.partition(b"\n")[0], Stamp.now()
        raise TimeoutError(query)

    def error(self) -> str:
        """Ask for the oldest error in the meter's queue; empty if there is none."""
        answer, _ = self.ask("SYST:ERR?")
        code = _ERROR.match(answer)
        if code and int(code[1]) == 0:
            return ""
        return answer.decode("ascii", "backslashreplace").strip() or "an empty error"

    def drain(self) -> None:
        """Discard what comes until the meter is quiet, so that a late answer is not taken for the next."""
        deadline_s = time.monotonic() + self._answer_timeout_s
        while self._port.read() and time.monotonic() < deadline_s:
            pass
