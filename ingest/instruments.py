"""The instruments of a rig under supervision. They may change while it runs, one without the other noticing."""

import asyncio
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import partial

from calc.units import parse
from ingest.backoff import Backoff
from ingest.config.structs import InstrumentConfig
from ingest.kinds.kind import Around
from ingest.kinds.table import kind_of
from ingest.link.bluetooth_scan import SharedScan
from ingest.supervise import Instrument, Surroundings
from ingest.wire.messages import BrokerAddress, InstrumentAbout


@dataclass(frozen=True, slots=True)
class _Supervised:
    instrument: Instrument
    task: asyncio.Task[None]


class Instruments:
    """One task for each instrument, from entering `run` to its cancellation. broker: the rig's own."""

    def __init__(self, around: Surroundings, broker: BrokerAddress | None = None) -> None:
        self._around = around
        self._shared = Around(SharedScan(), broker)
        self._group = asyncio.TaskGroup()
        self._supervised: dict[str, _Supervised] = {}

    async def run(self, configs: Sequence[InstrumentConfig]) -> None:
        """Supervise these instruments, and those that take their place, until cancelled."""
        async with self._group:
            self.start(configs)
            await asyncio.Event().wait()

    def start(self, configs: Iterable[InstrumentConfig]) -> None:
        """Have exactly these instruments, in this order: those that run go on, the others start."""
        self._supervised = {config.name: self._supervised.get(config.name) or self._begin(config) for config in configs}

    async def stop(self, names: Collection[str]) -> None:
        """Stop instruments; returns when they have let go of what they had open."""
        tasks = [self._supervised.pop(name).task for name in names]
        for task in tasks:
            task.cancel()
        if tasks:
            await asyncio.wait(tasks)

    def ended(self) -> set[str]:
        """Name those that, as configured, cannot work as far as is known: a new look at the file begins them anew."""
        return {name for name, supervised in self._supervised.items() if supervised.instrument.is_refused}

    def about(self) -> list[InstrumentAbout]:
        """Describe the instruments to those who watch."""
        return [supervised.instrument.about() for supervised in self._supervised.values()]

    def _begin(self, config: InstrumentConfig) -> _Supervised:
        kind = kind_of(config.link)
        build = partial(kind.build, config.link, parse(config.interval, "time"), self._shared)
        instrument = Instrument(config.name, kind.word, build, self._around, Backoff())
        return _Supervised(instrument, self._group.create_task(instrument.supervise(), name=config.name))
