"""Works the advices of a record out again, from the packs and from what else they rested on."""

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import msgspec

from ingest.advice.history import HISTORY_S, History
from ingest.advice.memory import Memory
from ingest.advice.sentence import Known, advise
from ingest.record.errors import RecordError
from ingest.record.reading import RecordedAdvice, RecordFile
from ingest.wire.messages import Advice, Pack, encode

_SPARE_S = 10.0


class Grounds(msgspec.Struct, frozen=True):
    """What an advice rests on beside the packs.

    monotonic_s: of the pack on which it was given. history_since_s: the monotonic time of the first pack that its
    history is made of; history_because: why it begins there. left_alone_since_s: likewise, since when the charge was
    left alone; None, in an older record, where that is the same. memory: what a later session goes on from.
    """

    monotonic_s: float
    known: Known
    history_since_s: float | None
    history_because: str
    speed: float
    left_alone_since_s: float | None = None
    memory: Memory | None = None

    @property
    def made_of(self) -> tuple[float | None, str, float, float | None]:
        """What its history is made of."""
        left_alone_since_s = self.history_since_s if self.left_alone_since_s is None else self.left_alone_since_s
        return self.history_since_s, self.history_because, self.speed, left_alone_since_s


@dataclass(frozen=True, slots=True)
class Rerun:
    """An advice as it was given, and as it comes out now; None where its readings are not in the record."""

    given: Advice
    again: Advice | None = None

    @property
    def same(self) -> bool:
        """Whether it comes out as it was given."""
        return self.again is not None and not self.differing

    @property
    def differing(self) -> list[str]:
        """Name the parts of the advice that come out differently."""
        if self.again is None:
            return []
        given, again = (msgspec.json.decode(encode(advice)) for advice in (self.given, self.again))
        return [part for part in given if given[part] != again[part]]


def rerun(record: Path) -> Iterator[Rerun]:
    """Work out every advice of a record again, in the order of the packs.

    Raises:
        RecordError: there is no record at the path, nothing in it, or it is not one that this version reads.

    """
    if not record.exists():
        raise RecordError(f"the record {record} cannot be read: there is no such file")
    if not record.is_file():
        raise RecordError(f"{record} is no record, but a folder, a device or a pipe")
    history = RecordFile(record)
    if history.newest_visit() is None:
        raise RecordError(f"nothing is recorded in {record}")
    try:
        given = _Given(history.advices())
    except msgspec.MsgspecError as error:
        raise RecordError(f"the record {record} cannot be read: {error}") from error
    if given:
        yield from _again(history.packs_after(0), given)


class _Given:
    """The advices of a record, by the session and the moment of the pack on which they were given."""

    def __init__(self, advices: Iterable[RecordedAdvice]) -> None:
        self._advices: dict[tuple[int, float], list[tuple[Grounds, Advice]]] = {}
        for recorded in advices:
            decoded = msgspec.json.decode(recorded.grounds, type=Grounds)
            key = recorded.session, decoded.monotonic_s
            self._advices.setdefault(key, []).append((decoded, msgspec.json.decode(recorded.payload, type=Advice)))

    def __bool__(self) -> bool:
        return bool(self._advices)

    def at(self, pack: Pack) -> list[tuple[Grounds, Advice]]:
        """Take the advices that were given on a pack."""
        return self._advices.pop((pack.session, pack.monotonic_s), [])

    def left(self) -> Iterator[Advice]:
        """Give the advices whose pack was not there."""
        for advices in self._advices.values():
            yield from (advice for _, advice in advices)


def _again(packs: Iterable[Pack], given: _Given) -> Iterator[Rerun]:
    recent: deque[Pack] = deque()
    history = History()
    for pack in packs:
        if recent and recent[-1].monotonic_s > pack.monotonic_s:  # the machine was started anew
            recent.clear()
        recent.append(pack)
        history.add(pack.monotonic_s, pack.readings)
        for grounds, advice in given.at(pack):
            horizon_s = (HISTORY_S + _SPARE_S) / grounds.speed
            while recent[0].monotonic_s < pack.monotonic_s - horizon_s:
                recent.popleft()
            made_of = history.since_monotonic_s, history.because, history.speed, history.left_alone_since_s
            if made_of != grounds.made_of:
                history = _history(recent, grounds)
            yield Rerun(advice, advise(grounds.known, pack, history))
    for advice in given.left():
        yield Rerun(advice)


def _history(recent: Iterable[Pack], grounds: Grounds) -> History:
    history = History()
    history.begin_as(*grounds.made_of)
    for pack in recent:
        if grounds.history_since_s is not None and pack.monotonic_s >= grounds.history_since_s:
            history.add(pack.monotonic_s, pack.readings)
    return history
