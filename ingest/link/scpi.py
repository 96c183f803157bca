"""A SCPI meter over a serial port: set up once, then asked in turn.

IEEE 488.2 gives `*IDN?` and `*CLS`; SCPI-99 volume 2, 21.8 gives `SYSTem:ERRor?`, whose answer is a number, a
comma and a text in quotes, the number 0 when nothing went wrong. Command errors are -199 to -100.

An answer does not say what it answers; only their order does. So a value is asked for only while no other answer is
due. When one stays away, `*IDN?` follows: its answer is like no value, and since a meter answers in order, whatever was
due before has come, or never will, once it is there. What comes until then came too late, is told, and is dropped. An
answer of the wrong kind anywhere else means that we have lost count: then we begin anew.
"""

import re
import time
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ingest.frames import Connected, Deliver, Frame, LinkError, LinkSetupError, Notice, Stamp
from ingest.link.port_settings import PortSettings
from ingest.link.presence import port_appears
from ingest.link.serial_thread import Port, converse

ANSWER_TIMEOUT_S = 5.0
"""Capacitance ranges take over 2 s: common practice, no source."""

PATIENCE = 4
"""For so many times the timeout an answer that is due is waited for, before the meter counts as lost."""

LONGEST_ANSWER_BYTES = 4096
_CUT = b"(too long)"
"""Takes the place of what is longer, so that its end is not taken for a number."""

_IDENTITY_QUERY, _ERROR_QUERY = "*IDN?", "SYST:ERR?"
_ERROR = re.compile(rb"\s*([+-]?\d{1,6})\s*,")
_VALUE = re.compile(rb"[-+.\d]+([eE][-+\d]+)?|.{0,4}")
"""Like a number, or a word for none such as OL; maker and model (IEEE 488.2, 10.14) are longer."""


@dataclass(frozen=True, slots=True)
class ScpiMeter:
    """A link that polls a meter. `Frame.source` is the name of the query in `queries`.

    queries: name to query. setup: commands sent once after connecting. poll_s: from one round of queries to
    the next [s]; a round that takes longer is followed by the next at once. answer_timeout_s: how long an answer may
    take and still count as a reading of now [s].
    """

    settings: PortSettings
    queries: Mapping[str, str]
    setup: Sequence[str] = ()
    poll_s: float = 0.5
    answer_timeout_s: float = ANSWER_TIMEOUT_S

    async def run(self, deliver: Deliver, connected: Connected) -> None:
        """See Link.run."""
        await converse(self.settings, self._talk, deliver, connected)

    async def seen_again(self) -> None:
        """See Link.seen_again."""
        await port_appears(self.settings.port)

    def _talk(self, port: Port, deliver: Deliver, connected: Connected) -> None:
        meter = _Meter(port, self.answer_timeout_s, [*self.queries.values(), *self.setup])
        try:
            self._configure(meter)
            connected()
            self._poll(meter, port, deliver)
        except _OutOfStepError as error:
            raise LinkError(f"{self.settings.port}: {error}; nothing of it is used, and we begin anew") from error

    def _poll(self, meter: "_Meter", port: Port, deliver: Deliver) -> None:
        problems = _Problems(deliver)
        has_answered = False
        while True:
            next_round_s = time.monotonic() + self.poll_s
            refusals = []
            for name, query in self.queries.items():
                try:
                    answer, stamp = meter.ask(query)
                except TimeoutError:
                    refusals += self._explain_silence(meter, name, query, problems)
                    continue
                if meter.names_itself(answer) or _ERROR.match(answer):
                    raise _OutOfStepError(f"the meter answers {query!r} with {answer!r}, which answers something else")
                has_answered = True
                problems.over(name)
                deliver(Frame(answer, stamp, name))
            if refusals and not has_answered:
                raise LinkSetupError(refusals[0])
            port.wait_until(next_round_s)

    def _explain_silence(self, meter: "_Meter", name: str, query: str, problems: "_Problems") -> list[str]:
        """Get back into step, and tell why an answer stayed away; gives a refusal, if that is why."""
        asked_s = time.monotonic() - self.answer_timeout_s
        slow = f'if "{name}" is measured that slowly, `timeout` must be longer than {self.answer_timeout_s:g} s'
        try:
            dropped = meter.resynchronise(PATIENCE * self.answer_timeout_s)
            if dropped:  # told before anything else can go wrong
                after_s = dropped[0].monotonic_ns / 1e9 - asked_s
                problems.tell(name, f"the answer to {query!r} came after {after_s:.3g} s and is dropped; {slow}")
            error = meter.error()
        except TimeoutError as silence:
            raise LinkError(f"{self.settings.port}: the meter no longer answers; is it still on?") from silence
        if error.startswith("-1"):
            refusal = f"{self.settings.port}: the meter refuses {query!r} with {error}; correct `queries`"
            problems.tell(name, refusal)
            return [refusal]
        if not dropped:
            problems.tell(name, f"the answer to {query!r} did not come; {slow}")
        return []

    def _configure(self, meter: "_Meter") -> None:
        meter.drain()
        try:
            meter.resynchronise(self.answer_timeout_s)
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


class _OutOfStepError(Exception):
    """An answer came that cannot be one to what was asked."""


class _Problems:
    """Tells of queries that get no answer in time, until they do."""

    def __init__(self, deliver: Deliver) -> None:
        self._deliver = deliver
        self._count = Counter[str]()

    def tell(self, name: str, problem: str) -> None:
        self._count[name] += 1
        self._deliver(Notice(name, f"{problem} ({self._count[name]} in a row)"))

    def over(self, name: str) -> None:
        if self._count.pop(name, 0):
            self._deliver(Notice(name, ""))


class _Meter:
    """Questions and answers, one at a time. What a meter repeats of what it is sent, is no answer."""

    def __init__(self, port: Port, answer_timeout_s: float, told: Sequence[str]) -> None:
        self._port = port
        self._answer_timeout_s = answer_timeout_s
        self._received = b""
        self._identity = b""
        self._told = {text.encode().strip().upper() for text in (*told, "*CLS", _IDENTITY_QUERY, _ERROR_QUERY)}

    def tell(self, command: str) -> None:
        self._port.write(command.encode() + b"\n")

    def ask(self, query: str) -> tuple[bytes, Stamp]:
        """Ask, while no answer is due; returns the answer without its newline, and when it was complete.

        Raises:
            TimeoutError: it did not come in time. Resynchronise before asking again.

        """
        self._port.clear()
        self._received = b""
        self.tell(query)
        return self._answer(time.monotonic() + self._answer_timeout_s)

    def resynchronise(self, within_s: float) -> list[Stamp]:
        """Ask who it is until it says so; returns when answers came that were due before.

        Raises:
            TimeoutError: it does not say so in time.

        """
        self.tell(_IDENTITY_QUERY)
        deadline_s = time.monotonic() + within_s
        dropped: list[Stamp] = []
        while True:
            answer, stamp = self._answer(deadline_s)
            if not self._identity and not _ERROR.match(answer) and not _VALUE.fullmatch(answer):
                self._identity = answer
            if self.names_itself(answer):
                return dropped
            dropped.append(stamp)

    def names_itself(self, answer: bytes) -> bool:
        """Say whether this is what it answers when asked who it is."""
        return bool(self._identity) and answer == self._identity

    def error(self) -> str:
        """Ask for the oldest error in the meter's queue; empty if there is none.

        Raises:
            TimeoutError: it does not answer.

        """
        answer, _ = self.ask(_ERROR_QUERY)
        code = _ERROR.match(answer)
        if not code:
            raise _OutOfStepError(f"the meter answers {_ERROR_QUERY!r} with {answer!r}, which is no error")
        return "" if int(code[1]) == 0 else answer.decode("ascii", "backslashreplace").strip()

    def drain(self) -> None:
        """Discard what comes until the meter is quiet."""
        deadline_s = time.monotonic() + self._answer_timeout_s
        while self._port.read() and time.monotonic() < deadline_s:
            pass

    def _answer(self, deadline_s: float) -> tuple[bytes, Stamp]:
        """Give the next line that is no echo.

        Raises:
            TimeoutError: none came by that moment of the monotonic clock.

        """
        while True:
            line, newline, rest = self._received.partition(b"\n")
            if time.monotonic() >= deadline_s:
                raise TimeoutError
            if newline:
                self._received = rest
                for part in line.split(b"\r"):
                    if part.strip() and part.strip().upper() not in self._told:
                        return part.strip(), Stamp.now()
            else:
                self._received += self._port.read(deadline_s)
                if len(self._received) > LONGEST_ANSWER_BYTES:
                    self._received = _CUT
