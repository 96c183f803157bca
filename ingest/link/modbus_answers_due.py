"""Which answers of a Modbus device on a serial line may still come, so that none is taken for another.

RTU frames carry no number: an answer says its device, its function and its length, and nothing else. So of one device,
no value is asked for while the answer to an earlier request may come. To find out, something else is asked, of the
other table (another function) and of a length that no value has: a probe. A device answers in order, so with the answer
to a probe whatever was due before it has come, or never will. Registers that it does not have it refuses, which is as
good; only a refusal does not say which of several probes it is for, so those that are open are counted.

Where some probes were left unanswered earlier and the device speaks again, it is asked for one coil; left that
unanswered too, later for one discrete input: a key. No other request has that function, so its answer or refusal,
however late, settles all that came before it.

Nothing is settled by an exception after which the answer itself may follow: that one is due as after a silence.

A device that has never answered a probe is left alone until no answer comes any more: LATEST times the timeout after it
was asked. That its answer comes by then or never is the one thing assumed here; common practice, no source. Of one that
has, nothing is assumed: only a probe settles what is due.
"""

from dataclasses import dataclass, field, replace

from ingest.link.modbus_request import AnyTable, Request, may_still_answer

LATEST = 10
MOST_PROBE_WORDS = 16

_OTHER: dict[AnyTable, AnyTable] = {"holding": "input", "input": "holding"}
_KEYS: tuple[AnyTable, ...] = ("coils", "discrete")


@dataclass(slots=True)
class _Due:
    """Of one device. overdue: the request whose answer stayed away. asked_s: when, on the monotonic clock.

    open_keys: the keys without an answer, oldest first, and how many probes were asked after each.
    """

    overdue: Request | None = None
    asked_s: float = 0.0
    open_probes: int = 0
    probes_before: int = 0
    probe_words: int = 0
    answers_probes: bool = False
    open_keys: dict[Request, int] = field(default_factory=dict)


@dataclass(slots=True)
class AnswersDue:
    """What is due, by device. It outlasts a connection, since the devices do too. timeout_s: of an answer."""

    timeout_s: float
    _of: dict[int, _Due] = field(default_factory=dict)
    _asked: set[tuple[int, AnyTable, int]] = field(default_factory=set)

    def overdue(self, now_s: float) -> list[tuple[Request, float]]:
        """Give the requests whose answers may still come, and when they were sent [s]."""
        for due in self._of.values():
            if due.overdue and not due.answers_probes and now_s - due.asked_s > LATEST * self.timeout_s:
                due.overdue, due.open_probes = None, 0
        return [(due.overdue, due.asked_s) for due in self._of.values() if due.overdue]

    def will_ask(self, request: Request) -> None:
        """Note what a request for values looks like, so that no probe does."""
        self._asked.add((request.device, request.table, request.words))

    def answered(self, request: Request) -> None:
        """Note that a request for values was answered."""
        due = self._device(request)
        due.open_probes = 0
        due.open_keys.clear()

    def is_final(self, request: Request, exception: int) -> bool:
        """Say whether an exception is the last that is heard of a request, and not of some probe before it."""
        return not may_still_answer(exception) and not self._device(request).open_probes

    def unanswered(self, request: Request, asked_s: float) -> None:
        """Note that the answer to a request for values stayed away."""
        due = self._device(request)
        due.overdue, due.asked_s, due.probes_before = request, asked_s, due.open_probes

    def came(self, request: Request) -> None:
        """Note that an overdue answer came."""
        self._device(request).overdue = None

    def probe(self, request: Request) -> Request:
        """Give what to ask of a device before the next request for values of it."""
        due = self._device(request)
        table = _OTHER[due.overdue.table if due.overdue else request.table]
        for _ in range(MOST_PROBE_WORDS):
            due.probe_words = due.probe_words % MOST_PROBE_WORDS + 1
            if (request.device, table, due.probe_words) not in self._asked:
                break
        due.open_probes += 1
        due.open_keys = {key: since + 1 for key, since in due.open_keys.items()}
        return replace(request, table=table, address=0, words=due.probe_words)

    def probe_answered(self, probe: Request, *, refused: bool) -> bool:
        """Note the answer to a probe; says whether it settles that nothing is due any more."""
        due = self._device(probe)
        due.answers_probes = True
        if refused and due.probes_before:
            due.probes_before -= 1
            due.open_probes -= 1
            return False
        due.overdue, due.probes_before = None, 0
        due.open_probes = due.open_probes - 1 if refused else 0
        return True

    def key(self, request: Request) -> Request | None:
        """Give what to ask of a device that speaks, but maybe of earlier probes; None where all keys are out."""
        due = self._device(request)
        keys = (replace(request, table=table, address=0, words=1) for table in _KEYS)
        key = next((key for key in keys if key not in due.open_keys), None)
        if key:
            due.open_keys[key] = 0
        return key

    def open_keys(self) -> list[Request]:
        """Give the keys whose answers may still come."""
        return [key for due in self._of.values() for key in due.open_keys]

    def key_answered(self, key: Request) -> None:
        """Note the answer to a key: only what was asked after it is open."""
        due = self._device(key)
        due.overdue, due.probes_before, due.open_probes = None, 0, due.open_keys[key]
        at = list(due.open_keys).index(key)
        due.open_keys = dict(list(due.open_keys.items())[at + 1 :])

    def _device(self, request: Request) -> _Due:
        return self._of.setdefault(request.device, _Due())
