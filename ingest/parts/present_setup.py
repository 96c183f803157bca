"""The configuration that is in force, with what was corrected since, and how another takes its place."""

import asyncio
import logging
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass, replace

from ingest.advice.history import JUDGED_CHANNELS
from ingest.channels import Channels
from ingest.config.load import ConfigError
from ingest.field_checks import corrected, lapsed
from ingest.instruments import Instruments
from ingest.record.errors import NotSavedError
from ingest.reload import ReloadError, compare, touched_channels
from ingest.rig import Rig
from ingest.setup import Setup
from ingest.wire.messages import Corrected, Mark, Reloaded, UnitAbout

logger = logging.getLogger(__name__)

LONGEST_REASON = 1000
"""Of a refused configuration, in an answer and a mark; the log has all of it."""


@dataclass(frozen=True, slots=True)
class Affected:
    """What a configuration has an effect on.

    describe: puts a rig into the record; raises NotSavedError. measured_anew: told when something that is judged is
    measured otherwise from now on. changed: told once it is in force. note: puts a mark on the visit's time line.
    """

    channels: Channels
    instruments: Instruments
    describe: Callable[[Rig], Awaitable[None]]
    measured_anew: Callable[[], None]
    changed: Callable[[], None]
    note: Callable[[type[Reloaded], str], None]


class PresentSetup:
    """The setup in force. Only one change of it goes on at a time."""

    def __init__(self, setup: Setup, affected: Affected) -> None:
        self._setup = setup
        self._affected = affected
        self._calibrations: list[Corrected] = []
        self._instruments: Mapping[str, str] = {}  # that were corrected, by the mark
        self._changing = asyncio.Lock()

    @property
    def rig(self) -> Rig:
        """The rig as it is read now."""
        return self._setup.rig

    def configured(self) -> Rig:
        """Give the rig as its file has it, without what was corrected since."""
        return self._setup.configured()

    def at(self, unit: UnitAbout) -> None:
        """Be at another unit, or another circuit of it, from now on."""
        self._setup = self._setup.at(unit)

    def configured_at(self, unit: UnitAbout | None) -> Rig:
        """Give the rig as its file has it, at a unit that somebody opened, if any."""
        return self._setup.at(unit).configured() if unit else self._setup.configured()

    def begin(self, marks: Sequence[Mark], instruments: Mapping[str, str]) -> None:
        """Read by what was corrected earlier in the visit; what applies no more is told once.

        instruments: of which each correction was, by the id of its mark.
        """
        self._instruments = instruments
        self._calibrations = [mark for mark in marks if isinstance(mark, Corrected)]
        self._setup = replace(self._setup, rig=self._corrected(self._setup.configured()))
        self._keep_all()
        told = {mark.text for mark in marks if isinstance(mark, Reloaded)}
        for text in self._lapsed(self.rig):
            if text not in told:
                logger.warning("%s", text)
                self._affected.note(Reloaded, text)

    @asynccontextmanager
    async def unchanged(self) -> AsyncIterator[None]:
        """Keep any other change waiting."""
        async with self._changing:
            yield

    async def run(self, asked: asyncio.Event) -> None:
        """Read the configuration again whenever it is asked, until cancelled."""
        while True:
            await asked.wait()
            asked.clear()
            try:
                self._affected.note(Reloaded, await self.reload())
            except ReloadError:
                continue  # reload has told

    async def reload(self) -> str:
        """Read the configuration again, and take over what it says of instruments; says what changed.

        Raises:
            ReloadError: it cannot be used; everything stays as it was.

        """
        async with self._changing:
            try:
                changed = await self._take_over(await asyncio.to_thread(self._setup.read_again))
            except (ConfigError, ReloadError, NotSavedError) as error:
                logger.error("nothing is reloaded: %s", error)  # noqa: TRY400 - a mistake of the file, not ours
                reason = str(error)[:LONGEST_REASON]
                self._affected.note(Reloaded, f"nothing is reloaded: {reason}")
                raise ReloadError(reason) from error
        logger.info("reloaded: %s", changed)
        return changed

    async def _take_over(self, wanted: Setup) -> str:
        channels, instruments = self._affected.channels, self._affected.instruments
        change = compare(self._setup.config, wanted.config, instruments.ended())
        lapsed = [text for text in self._lapsed(wanted.rig) if text not in self._lapsed(self.rig)]
        wanted = replace(wanted, rig=self._corrected(wanted.rig))
        touched = touched_channels(self.rig, wanted.rig, change)
        await self._affected.describe(wanted.rig)
        await instruments.stop(change.stopped)
        self._setup = wanted
        kept = {instrument.name for instrument in wanted.rig.instruments} - {*change.added, *change.restarted}
        channels.change(wanted.rig, kept)
        if touched & JUDGED_CHANNELS:
            self._affected.measured_anew()
        instruments.start(wanted.config.instruments)
        self._affected.changed()
        return "; ".join([str(change), *lapsed])

    def _corrected(self, rig: Rig) -> Rig:
        return corrected(rig, self._calibrations, self._instruments)

    def _lapsed(self, rig: Rig) -> list[str]:
        return lapsed(rig, self._calibrations, self._instruments)

    def recalibrate(self, mark: Corrected) -> None:
        """Read a channel differently from now on, and judge its figures anew. Within `unchanged`."""
        self._calibrations.append(mark)
        self._setup = replace(self._setup, rig=corrected(self.rig, [mark]))
        self._keep_all()
        if mark.calibration.channel in JUDGED_CHANNELS:
            self._affected.measured_anew()
        logger.info("%s is corrected: %s", mark.calibration.channel, mark.calibration.after)

    def _keep_all(self) -> None:
        self._affected.channels.change(self.rig, [instrument.name for instrument in self.rig.instruments])
