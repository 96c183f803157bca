"""Works the advices of a record out again, from the packs and from what else they rested on."""

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal, TypeVar

import msgspec

from calc.governing import governing_figure
from ingest.advice.history import HISTORY_S, History
from ingest.advice.memory import Memory
from ingest.advice.sentence import Known, Told, tell
from ingest.record.errors import RecordError
from ingest.record.reading import RecordFile
from ingest.wire.messages import Advice, Pack, encode

Kind = TypeVar("Kind")
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
    """An advice as it was given, and as it comes out now; None where its readings are not in the record.

    visit: at which it was given. told: with what is again told; grounds: what it rests on beside the packs.
    """

    given: Advice
    again: Advice | None = None
    visit: str = ""
    told: Told | None = None
    grounds: Grounds | None = None

    @property
    def settled(self) -> Literal["superheat", "subcooling", ""]:
        """The figure that shows the charge, where that comes out as settled in a circuit at work; else empty."""
        if self.told is None or self.grounds is None or not self.told.is_kept:
            return ""
        figure = governing_figure(self.grounds.known.situation.metering_device or "none")
        return figure if self.told.advice.steadiness[figure].state == "settled" else ""

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
    following = Following(history)
    if following.is_any:
        for pack in history.packs_after(0):
            yield from following.take(pack)
        yield from following.left()


class _At(msgspec.Struct, frozen=True):
    """Of the grounds of an advice, on which pack it was given, and how far back of it packs count."""

    monotonic_s: float
    speed: float


class Following:
    """Follows the packs of a record in order, and works out again each advice that was given on one of them.

    visit: of one visit only.

    Raises:
        RecordError: an advice is none that this version reads.

    """

    def __init__(self, record: RecordFile, visit: str | None = None) -> None:
        self._record = record
        self._numbers: dict[tuple[int, float], list[int]] = {}
        self._horizon_s = 0.0
        for recorded in record.advices():
            if visit in (None, recorded.visit):
                at = self._decode(recorded.grounds, _At)
                self._numbers.setdefault((recorded.session, at.monotonic_s), []).append(recorded.number)
                self._horizon_s = max(self._horizon_s, (HISTORY_S + _SPARE_S) / at.speed)
        self._recent: deque[Pack] = deque()
        self._history = History()

    @property
    def is_any(self) -> bool:
        """Whether any advice is still to be worked out."""
        return bool(self._numbers)

    def take(self, pack: Pack) -> Iterator[Rerun]:
        """Take the next pack; gives the advices that were given on it."""
        recent = self._recent
        if recent and recent[-1].monotonic_s >= pack.monotonic_s:  # the machine was started anew
            recent.clear()
            self._history = History()  # of which a moment of the same name was another one
        recent.append(pack)
        while recent[0].monotonic_s < pack.monotonic_s - self._horizon_s:
            recent.popleft()
        self._history.add(pack.monotonic_s, pack.readings)
        for grounds, given in self._given(self._numbers.pop((pack.session, pack.monotonic_s), [])):
            history = self._history
            made_of = history.since_monotonic_s, history.because, history.speed, history.left_alone_since_s
            if made_of != grounds.made_of:
                self._history = _history(recent, grounds)
            told = tell(grounds.known, pack, self._history)
            yield replace(given, again=told.advice, told=told, grounds=grounds)

    def left(self) -> Iterator[Rerun]:
        """Give the advices whose pack was not there."""
        for numbers in self._numbers.values():
            yield from (given for _, given in self._given(numbers))

    def _given(self, numbers: Iterable[int]) -> Iterator[tuple[Grounds, Rerun]]:
        """Read advices when their turn has come: those of days do not fit the memory."""
        for recorded in map(self._record.advice, numbers):
            if recorded is not None:
                given = self._decode(recorded.payload, Advice)
                yield self._decode(recorded.grounds, Grounds), Rerun(given, visit=recorded.visit)

    def _decode(self, data: bytes, kind: type[Kind]) -> Kind:
        try:
            return msgspec.json.decode(data, type=kind)
        except msgspec.MsgspecError as error:
            raise RecordError(f"the record {self._record.path} cannot be read: {error}") from error


def _history(recent: Iterable[Pack], grounds: Grounds) -> History:
    history = History()
    history.begin_as(*grounds.made_of)
    for pack in recent:
        if grounds.history_since_s is not None and pack.monotonic_s >= grounds.history_since_s:
            history.add(pack.monotonic_s, pack.readings)
    return history
