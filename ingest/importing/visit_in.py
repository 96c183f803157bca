"""The lines of a log through what they go through live, into a record: where they are judged one by one."""

from abc import ABC, abstractmethod
from collections.abc import Mapping

import msgspec

from ingest.advice.advisor import Advisor
from ingest.advice.memory import Earlier
from ingest.channels import Channels
from ingest.clock import Moment
from ingest.frames import Stamp, Value
from ingest.importing.log_map import ReadMap
from ingest.importing.reader import Batch, Reader
from ingest.importing.vectors import Vectors, can_take
from ingest.record.chunks import CHUNK_PACKS, can_share_a_chunk
from ingest.record.incoming import Incoming
from ingest.tick import make_pack
from ingest.wire.messages import AlarmChanged, Pack, Reading

ADVISED_EVERY_S = 2.0
"""As live (ingest.parts.judging)."""


def visit_into(read: ReadMap, incoming: Incoming, reader: Reader, *, judged: bool) -> "VisitInto":
    """Choose how the lines of a log go into a record. judged: give advice on them, as live."""
    if not judged and can_take(read.rig, reader.dated_back_s):
        return _ManyAtOnce(read, incoming, reader)
    return _OneByOne(read, incoming, reader, judged=judged)


class VisitInto(ABC):
    """Takes the lines of a log into a record."""

    def __init__(self, read: ReadMap, incoming: Incoming, reader: Reader) -> None:
        self._read, self._rig, self._incoming = read, read.rig, incoming
        self._taken = reader.taken

    def take(self, batch: Batch) -> None:
        """Take some lines."""
        if not self._taken.packs:
            self._taken.first_s = batch.times_s[0]
        self._take(batch)
        self._taken.packs += len(batch.times_s)
        self._taken.last_s = batch.times_s[-1]

    @abstractmethod
    def store(self) -> None:
        """Store what is left."""

    @abstractmethod
    def _take(self, batch: Batch) -> None: ...

    def _look(self, name: str, reading: Reading) -> None:
        """Count what cannot be: of a channel of which nothing can, the unit is wrong."""
        if reading.quality == "out_of_range":
            count, first = self._taken.out_of_range.get(name, (0, reading.reason))
            self._taken.out_of_range[name] = count + 1, first
        elif reading.value is not None:
            self._taken.sound.add(name)


class _ManyAtOnce(VisitInto):
    """In arrays."""

    _vectors: Vectors | None = None

    def _take(self, batch: Batch) -> None:
        if self._vectors is None:
            columns = {channel.channel: channel.column for channel in self._read.written.channels}
            self._vectors = Vectors(self._rig, columns, self._taken.first_s)
        readings = self._vectors.take(batch)
        for series in readings.series[: len(self._rig.channels)]:
            if len(series.odd) < len(batch.times_s):
                self._taken.sound.add(series.name)
            for line in sorted(series.odd):
                self._look(series.name, series.odd[line])
        for chunk in readings.chunks(self._rig.name, self._incoming.session, self._incoming.sequence + 1):
            self._incoming.add_chunk(chunk)

    def store(self) -> None:
        """Do nothing: all of it is stored."""


class _OneByOne(VisitInto):
    """Pack by pack, as the daemon does it."""

    def __init__(self, read: ReadMap, incoming: Incoming, reader: Reader, *, judged: bool) -> None:
        super().__init__(read, incoming, reader)
        self._logger = read.written.log.logger
        self._channels = Channels(read.rig, lambda stamp: stamp.time_ns / 1e9)
        self._advisor = Advisor(1.0, None) if judged else None
        if self._advisor:
            self._advisor.go_on(Earlier(), read.rig, read.rig.barometric_pressure_pa)
        self._advised_s: float | None = None
        self._packs: list[Pack] = []
        self._number = incoming.sequence

    def _take(self, batch: Batch) -> None:
        for time_s, values in batch.rows():
            self._take_line(time_s, values)

    def _take_line(self, time_s: float, values: Mapping[str, Value]) -> None:
        monotonic_s = round(time_s - self._taken.first_s, 3)
        self._channels.accept(self._logger, Stamp(round(monotonic_s * 1e9), round(time_s * 1e9)), values)
        pack = make_pack(self._rig, self._incoming.session, self._channels, Moment(monotonic_s, time_s, 0))
        self._number += 1
        pack = msgspec.structs.replace(pack, sequence=self._number)
        if self._packs and (len(self._packs) == CHUNK_PACKS or not can_share_a_chunk(self._packs[0], pack)):
            self.store()
        self._packs.append(pack)
        for setup in self._rig.channels:
            self._look(setup.name, pack.readings[setup.name])
        if self._advisor:
            self._judge(self._advisor, pack)

    def _judge(self, advisor: Advisor, pack: Pack) -> None:
        air_pa = self._channels.barometer.pressure_pa
        alarms = advisor.follow(pack, self._rig, air_pa)
        for alarm in alarms.raised:
            told = f"{alarm.kind.value}{', in doubt' if alarm.in_doubt else ''}: {alarm.says}"
            mark = AlarmChanged(f"{self._taken.visit}-{self._number}-{alarm.kind.value}", pack.time_s, text=told)
            self._incoming.add_mark(mark)
            advisor.take(mark, 0.0)
        is_due = self._advised_s is None or pack.monotonic_s - self._advised_s >= ADVISED_EVERY_S
        if not is_due and not alarms.raised and not alarms.ended:
            return
        self._advised_s = pack.monotonic_s
        given = advisor.advise(pack, self._rig, air_pa, self._channels.repetitions())
        if given.is_news:
            self._incoming.add_advice(given.time_s, given.grounds, given.payload)
            self._taken.advices += 1

    def store(self) -> None:
        """See VisitInto."""
        if self._packs:
            self._incoming.add(self._packs)
        self._packs = []
