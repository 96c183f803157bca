"""A SCPI meter over a serial port: set up once, then asked in turn.

IEEE 488.2 gives `*IDN?` and `*CLS`; SCPI-99 volume 2, 21.8 gives `SYSTem:ERRor?`, whose answer is a number, a
comma and a text in quotes, the number 0 when nothing went wrong. Command errors are -199 to -100.

An answer does not say what it answers. From a meter that takes several queries in one message each value is asked for
behind a number of its own (`ingest.link.scpi_numbers`), so that no answer is taken for another's.

Of a meter that takes one query at a time only the order of its answers tells. So a value is asked for only while no
other answer is due, and each round ends with `SYST:ERR?`: its answer is like no value, and since a meter answers in
order, whatever was due before has come, or never will, once it is there. Until then the values of a round are held
back. A line too many, such as a repeated answer, moves every later one under the next query: then a value comes where
an error is due, and the whole round is dropped. So it is when a line is found waiting before a query is sent, and when
the meter has refused a query of a round in which each seemed to be answered: a repeated answer stood in that one's
place. Where an answer of such a meter is lost on its way while another comes twice, nothing tells; that is said as soon
as it sends a line too many.

When an answer stays away, `*IDN?` follows at once. What comes until its answer came too late, is told, and is dropped.
An answer of the wrong kind anywhere else means that we have lost count: then we begin anew.
"""

import re
import time
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ingest.frames import Connected, Deliver, Frame, LinkError, LinkSetupError, Notice, Stamp
from ingest.link.port_settings import PortSettings
from ingest.link.presence import port_appears
from ingest.link.scpi_numbers import (
    MOST_NUMBERS,
    can_be_numbered,
    is_refused,
    numbered,
    numbers_in_turn,
    takes_several,
    value_of,
)
from ingest.link.serial_thread import READ_TIMEOUT_S, Port, converse

ANSWER_TIMEOUT_S = 5.0
"""Capacitance ranges take over 2 s: common practice, no source."""

PATIENCE = 4
"""For so many times the timeout an answer that is due is waited for, before a meter that has spoken counts as lost."""

LONGEST_ANSWER_BYTES = 4096
_CUT = b"(too long)"
"""Takes the place of what is longer, so that its end is not taken for a number."""

_ORDER = "the order of its answers"
_NO_NUMBERS = ". Were another answer lost as well, nothing would tell: this meter takes one query at a time"

_IDENTITY_QUERY, _ERROR_QUERY = "*IDN?", "SYST:ERR?"
_REFUSED = "-1"
"""How a command error begins, as text."""
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

    @property
    def _patience_s(self) -> float:
        return PATIENCE * self.answer_timeout_s

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
            self._poll(meter, deliver)
        except _OutOfStepError as error:
            raise LinkError(f"{self.settings.port}: {error}; nothing of it is used, and we begin anew") from error

    def _poll(self, meter: "_Meter", deliver: Deliver) -> None:
        problems = _Problems(deliver)
        refused: dict[str, str] = {}
        accepted: set[str] = set()
        has_answered = False
        while True:
            next_round_s = time.monotonic() + self.poll_s
            what_is_dropped = "all values of its round are"
            try:
                has_answered |= self._round(meter, problems, refused, accepted, deliver)
                what_is_dropped = "it came after its round, and is"
                if refused and not has_answered:
                    raise LinkSetupError(next(iter(refused.values())))
                meter.listen_until(next_round_s)
                problems.over(_ORDER)
            except _UnaskedError as unasked:
                problems.tell(_ORDER, f"{unasked}; {self._dropped(meter, what_is_dropped)}")
                self._get_back_into_step(meter)

    def _dropped(self, meter: "_Meter", what: str) -> str:
        """Say what becomes of a line that nobody asked for."""
        if meter.is_numbered:
            return "it is dropped"
        return f"{what} dropped" + (_NO_NUMBERS if len(self.queries) > 1 else "")

    def _round(
        self, meter: "_Meter", problems: "_Problems", refused: dict[str, str], accepted: set[str], deliver: Deliver
    ) -> bool:
        """Ask every query, and deliver the answers once it is sure which is which; says whether any came.

        refused: by name why a query is refused, so far and after the round. accepted: the names of those that are not.

        Raises:
            _UnaskedError: a line came too many, and none of the answers since the last silence is sure.

        """
        has_answered = False
        held: list[Frame] = []

        def pass_on() -> None:
            for frame in held:
                problems.over(frame.source)
                deliver(frame)
            held.clear()

        for name, query in self.queries.items():
            try:
                answer, stamp = meter.ask(query)
            except TimeoutError:
                refusal = self._explain_silence(meter, name, query, problems)
                if refusal:
                    refused[name] = refusal
                    accepted.discard(name)
                pass_on()
                continue
            self._check_is_its_own(meter, query, answer, is_first=name not in accepted)
            accepted.add(name)
            refused.pop(name, None)
            has_answered = True
            held.append(Frame(answer, stamp, name))
            if meter.is_numbered:  # whatever comes later in the round
                pass_on()
        if held:
            self._confirm(meter)
            pass_on()
        return has_answered

    def _check_is_its_own(self, meter: "_Meter", query: str, answer: bytes, *, is_first: bool) -> None:
        """See that a line can be the answer to a query; of its first one also that the meter knows the query at all.

        Raises:
            _OutOfStepError: it cannot.

        """
        if meter.names_itself(answer) or _ERROR.match(answer):
            raise _OutOfStepError(f"the meter answers {query!r} with {answer!r}, which answers something else")
        if is_first and self._is_refused(meter):  # then this is another's answer, repeated
            raise _UnaskedError(answer)

    def _is_refused(self, meter: "_Meter") -> bool:
        if meter.is_numbered:  # then only the query's number is answered
            return False
        try:
            return meter.error(self._patience_s).startswith(_REFUSED)
        except TimeoutError as silence:
            raise self._silent() from silence

    def _confirm(self, meter: "_Meter") -> None:
        try:
            meter.confirm(self._patience_s)
        except TimeoutError as silence:
            raise self._silent() from silence

    def _silent(self) -> LinkError:
        return LinkError(f"{self.settings.port}: the meter no longer answers; is it still on?")

    def _get_back_into_step(self, meter: "_Meter") -> None:
        meter.drain()
        try:
            meter.resynchronise(self._patience_s)
        except TimeoutError as silence:
            raise self._silent() from silence
        meter.drain()

    def _explain_silence(self, meter: "_Meter", name: str, query: str, problems: "_Problems") -> str:
        """Get back into step, and tell why an answer stayed away; gives the refusal, if that is why.

        Raises:
            _UnaskedError: more came than was due.

        """
        slow = f'if "{name}" is measured that slowly, `timeout` must be longer than {self.answer_timeout_s:g} s'
        try:
            dropped = meter.resynchronise(self._patience_s)
            if dropped:  # told before anything else can go wrong
                after_s = dropped[0].stamp.monotonic_ns / 1e9 - meter.asked_s
                problems.tell(name, f"the answer to {query!r} came after {after_s:.3g} s and is dropped; {slow}")
            if len(dropped) > 1:
                raise _UnaskedError(dropped[1].payload)
            error = meter.error(self._patience_s)
        except TimeoutError as silence:
            raise self._silent() from silence
        if error.startswith(_REFUSED):
            refusal = f"{self.settings.port}: the meter refuses {query!r} with {error}; correct `queries`"
            problems.tell(name, refusal)
            return refusal
        if not dropped:
            problems.tell(name, f"the answer to {query!r} did not come; {slow}")
        return ""

    def _configure(self, meter: "_Meter") -> None:
        meter.drain()
        try:
            meter.resynchronise(self.answer_timeout_s)
            meter.tell("*CLS")
            for command in self.setup:
                meter.tell(command)
            error = meter.error(self.answer_timeout_s)
        except TimeoutError as silence:
            raise LinkError(
                f"{self.settings.port}: no answer to *IDN? or SYST:ERR?; is the meter on, and {self.settings} right?"
            ) from silence
        if error:
            raise LinkSetupError(
                f"{self.settings.port}: after its setup commands the meter reports {error}; correct `setup`"
            )
        try:
            self._try_numbers(meter)
        except TimeoutError as silence:
            raise self._silent() from silence

    def _try_numbers(self, meter: "_Meter") -> None:
        """See by the first query whether the meter takes several in a message. One that does not notes an error."""
        queries = list(self.queries.values())
        if not can_be_numbered(queries):
            return
        meter.tell(numbered(queries[0], 1))
        if takes_several([answer.payload for answer in meter.resynchronise(self._patience_s)]):
            meter.numbers = numbers_in_turn(len(queries))
        else:
            meter.tell("*CLS")


class _OutOfStepError(Exception):
    """An answer came that cannot be one to what was asked."""


class _UnaskedError(_OutOfStepError):
    """A line came that no query asked for."""

    def __init__(self, line: bytes, how: str = "unasked") -> None:
        super().__init__(f"the meter sent {line!r} {how}")


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
    """Questions and answers, one at a time. What a meter repeats of what it is sent, is no answer.

    asked_s: when it was last asked for a value, on the monotonic clock. numbers: how many there are, behind which
    values are asked for in turn; 0 where they are asked for behind none.
    """

    def __init__(self, port: Port, answer_timeout_s: float, told: Sequence[str]) -> None:
        self._port = port
        self._answer_timeout_s = answer_timeout_s
        self._received = b""
        self._identity = b""
        self.asked_s = 0.0
        self.numbers = 0
        self._number = 0
        sent = (numbered(text, number) for text in told for number in range(MOST_NUMBERS))
        about_itself = ("*CLS", _IDENTITY_QUERY, _ERROR_QUERY)
        self._told = {text.encode().strip().upper() for text in (*sent, *about_itself)}

    @property
    def is_numbered(self) -> bool:
        """Whether each value is asked for behind a number."""
        return self.numbers > 0

    def tell(self, command: str) -> None:
        self._port.write(command.encode() + b"\n")

    def ask(self, query: str) -> tuple[bytes, Stamp]:
        """Ask for a value, while no answer is due; returns it without its newline, and when it was complete.

        Raises:
            TimeoutError: it did not come in time, or only its number did. Resynchronise before asking again.
            _UnaskedError: a line had come already, or came with another number.

        """
        self._look(self._port.read_waiting())
        self._number = (self._number + 1) % self.numbers if self.is_numbered else 0
        self.tell(numbered(query, self._number))
        self.asked_s = time.monotonic()
        answer, stamp = self._answer(self.asked_s + self._answer_timeout_s, even_late=False)
        return (self._of_number(answer, self._number), stamp) if self.is_numbered else (answer, stamp)

    def _of_number(self, answer: bytes, number: int) -> bytes:
        """Give the value of an answer, if it has the number of its query."""
        value = value_of(answer, number)
        if value is None and is_refused(answer, number):
            raise TimeoutError  # of the query behind the numbers nothing will come
        if value is None:
            raise _UnaskedError(answer)
        return value

    def confirm(self, within_s: float) -> None:
        """Make sure that the answers so far are those to the queries so far.

        Raises:
            TimeoutError: the meter does not say what went wrong.
            _UnaskedError: it says something else first, or something more, or that it refused one of them.

        """
        error = self.error(within_s)
        if error.startswith(_REFUSED):
            raise _UnaskedError(error.encode(), "though each query seemed to be answered")
        self._look(self._port.read_waiting())

    def listen_until(self, moment_s: float) -> None:
        """Wait until a moment of the monotonic clock [s] by listening: an unplugged device is noticed at once.

        Raises:
            _UnaskedError: a line came.

        """
        while time.monotonic() < moment_s - READ_TIMEOUT_S:
            self._look(self._port.read())
        time.sleep(max(0.0, moment_s - time.monotonic()))
        self._look(self._port.read_waiting())
        self._received = b""  # half a line is damage; were it the half of one too many, `confirm` would tell

    def resynchronise(self, within_s: float) -> list[Frame]:
        """Ask who it is until it says so; returns the answers that came before.

        Raises:
            TimeoutError: it does not say so in time.

        """
        self.tell(_IDENTITY_QUERY)
        deadline_s = time.monotonic() + within_s
        dropped: list[Frame] = []
        while True:
            answer, stamp = self._answer(deadline_s, even_late=True)
            if not self._identity and not _ERROR.match(answer) and not _VALUE.fullmatch(answer):
                self._identity = answer
            if self.names_itself(answer):
                return dropped
            dropped.append(Frame(answer, stamp))

    def names_itself(self, answer: bytes) -> bool:
        """Say whether this is what it answers when asked who it is."""
        return bool(self._identity) and answer == self._identity

    def error(self, within_s: float) -> str:
        """Ask for the oldest error in the meter's queue; empty if there is none.

        Raises:
            TimeoutError: it does not answer.
            _UnaskedError: it says something else first.

        """
        answer = self._ask_about_itself(_ERROR_QUERY, within_s)
        code = _ERROR.match(answer)
        if not code:
            raise _UnaskedError(answer)
        return "" if int(code[1]) == 0 else answer.decode("ascii", "backslashreplace").strip()

    def _ask_about_itself(self, query: str, within_s: float) -> bytes:
        """Ask what is as good when it is answered late."""
        self._look(self._port.read_waiting())
        self.tell(query)
        answer, _ = self._answer(time.monotonic() + within_s, even_late=True)
        return answer

    def drain(self) -> None:
        """Discard what comes until the meter is quiet."""
        deadline_s = time.monotonic() + self._answer_timeout_s
        while self._port.read() and time.monotonic() < deadline_s:
            pass
        self._received = b""

    def _look(self, chunk: bytes) -> None:
        """Take in bytes while no answer is due.

        Raises:
            _UnaskedError: they complete a line.

        """
        self._take(chunk)
        *lines, self._received = self._received.split(b"\n")
        said = [part for line in lines for part in self._said(line)]
        if said:
            raise _UnaskedError(said[0])

    def _take(self, chunk: bytes) -> None:
        self._received += chunk
        if len(self._received) > LONGEST_ANSWER_BYTES:
            _, newline, rest = self._received.rpartition(b"\n")
            self._received = _CUT + newline + rest if newline else _CUT  # it has ended, or goes on

    def _said(self, line: bytes) -> list[bytes]:
        """Give what a line says that is no echo."""
        parts = (part.strip() for part in line.split(b"\r"))
        return [part for part in parts if part and part.upper() not in self._told]

    def _answer(self, deadline_s: float, *, even_late: bool) -> tuple[bytes, Stamp]:
        """Give the next line that is no echo.

        even_late: what is there counts, however late we look: it may be this thread that was held up, not the meter.

        Raises:
            TimeoutError: none came by that moment of the monotonic clock.
            _UnaskedError: it is more than one.

        """
        while True:
            is_over = time.monotonic() >= deadline_s
            if is_over and even_late:
                self._take(self._port.read_waiting())
            line, newline, rest = self._received.partition(b"\n")
            if is_over and not (even_late and newline):
                raise TimeoutError
            if newline:
                self._received = rest
                said = self._said(line)
                if len(said) > 1:
                    raise _UnaskedError(said[1])
                if said:
                    return said[0], Stamp.now()
            else:
                self._take(self._port.read(deadline_s))
