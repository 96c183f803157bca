"""The daemon: instruments to record to broker, put together and run until it is told to stop.

It starts the broker, the record, then all that reads; it stops what reads, lets what is queued reach the record, then
the broker, and closes the record last.
"""

import asyncio
import logging
import secrets
from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path

from calc.estimate import Estimate
from ingest.advice.advisor import Advisor
from ingest.advice.history import JUDGED_CHANNELS
from ingest.asks import Asks
from ingest.asks import Surroundings as AskSurroundings
from ingest.backoff import Backoff
from ingest.broker.credentials import users_of
from ingest.broker.serve import BrokerSetupError, serve_broker
from ingest.channels import Channels
from ingest.clock import Clock
from ingest.config.load import Config, ConfigError, resolve
from ingest.field_checks import CheckRefusedError, check, correct, corrected
from ingest.instruments import Instruments
from ingest.parts.barometer import barometer
from ingest.parts.broker_place import broker_place
from ingest.parts.known_marks import known_marks, newest_marks
from ingest.parts.latest import Latest
from ingest.parts.outbox import Outbox
from ingest.parts.own_marks import OwnMarks
from ingest.parts.saved_advice import SavedAdvice
from ingest.parts.tidying import tidy
from ingest.process import boot_id, end, heed_signals
from ingest.publish import Publisher
from ingest.record.custody import Custody, Run
from ingest.record.errors import NotSavedError
from ingest.record.recorder import Begun, Listener, Recorder
from ingest.record.store import Record, Session
from ingest.reload import ReloadError, compare, touched_channels
from ingest.rig import Rig
from ingest.setup import Setup
from ingest.supervise import LinkState
from ingest.supervise import Surroundings as LinkSurroundings
from ingest.tick import PERIOD_S, every, make_pack
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    About,
    AlarmChanged,
    BrokerAddress,
    Calibration,
    CheckAsk,
    CheckFound,
    ClockStepped,
    Corrected,
    LinkChanged,
    Mark,
    NotSaved,
    Pack,
    Reading,
    RecordChanged,
    Reloaded,
    SessionBegan,
    VisitOpened,
    encode,
)

logger = logging.getLogger(__name__)

ADVICE_PERIOD_S = 2.0
"""An alarm does not wait for it, and nothing else that is advised changes faster than a person can act."""
ABOUT_PERIOD_S = 10.0
FAREWELL_S = 1.0
"""How long stopping may wait for the broker to take what is queued; the rest follows at the next start."""
NO_SESSION = 0
"""Until a record could first be opened."""
LONGEST_REASON = 1000
"""Of a refused configuration, in an answer and a mark; the log has all of it."""


class StartError(Exception):
    """The daemon cannot start: the broker cannot be had. A record that cannot be had does not keep it from starting."""


async def run(config: Config, config_path: Path) -> None:
    """Run until SIGTERM or SIGINT; on SIGHUP read the configuration again.

    Raises:
        StartError: the broker cannot be had.

    """
    stop, reload = asyncio.Event(), asyncio.Event()
    heed_signals(stop, reload)
    rig = resolve(config, config_path)
    setup = Setup(config_path, config, rig)
    clock = Clock()
    try:
        with broker_place(rig.record.parent) as directory:
            async with serve_broker(config.broker, rig.name, directory) as address:
                await Daemon(setup, address, clock).run(stop, reload)
    except BrokerSetupError as error:
        raise StartError(str(error)) from error


class Daemon:
    """One session of one rig."""

    def __init__(self, setup: Setup, address: BrokerAddress, clock: Clock) -> None:
        self._calibrations: list[Corrected] = []
        self._setup = setup
        self._reloading = asyncio.Lock()
        self._clock = clock
        self._started_s = round(clock.now().time_s, 3)
        self._boot = boot_id()
        self._session = Session(NO_SESSION, secrets.token_hex(8), self._started_s, resumed=False)
        self._standing = Standing(self._session.visit)
        self._channels = Channels(self._rig, clock.time_s)
        self._advisor = Advisor(setup.rig.speed, None)
        self._newest: Pack | None = None
        self._ready = False
        self._marks = known_marks()
        self._own_marks = OwnMarks(self._add_mark, lambda: clock.now().time_s)
        run = Run(
            rig=self._configured,
            boot=self._boot,
            new_visit=self._session.visit,
            now_s=lambda: clock.now().time_s,
            monotonic_s=lambda: clock.now().monotonic_s,
        )
        listener = Listener(
            began=self._begin,
            saved=self._saved,
            unsaved=self._unsaved,
            changed=self._show_status,
            told=lambda news: self._own_marks.note(RecordChanged, news),
        )
        self._recorder = Recorder(Custody(setup.rig.record, run), listener, run.now_s)
        self._saved_advice = SavedAdvice(self._recorder)
        outbox = Outbox(self._recorder)
        self._asks = Asks(
            AskSurroundings(
                users=users_of(setup.config.broker),
                find=self._find_mark,
                add=self._add_mark,
                readings=self._readings,
                reload=self._reload,
                check=self._check,
                correct=self._correct,
                ledger=lambda: self._standing.ledger,
                nameplate_charge_kg=lambda: self._rig.unit.nameplate_charge_kg,
                time_s=lambda: clock.now().time_s,
            )
        )
        self._publisher = Publisher(
            address,
            setup.rig.name,
            outbox=outbox.read,
            advance=outbox.advance,
            handle_ask=self._asks.handle,
            backoff=Backoff(),
        )
        self._latest = Latest(partial(self._publisher.set_state, "latest", qos=0), run.monotonic_s)
        self._instruments = Instruments(
            LinkSurroundings(self._channels.accept, self._link_changed, lambda: clock.now().time_s), address
        )

    def _configured(self) -> Rig:
        return self._setup.configured()

    @property
    def _rig(self) -> Rig:
        return self._setup.rig

    async def run(self, stop: asyncio.Event, reload: asyncio.Event) -> None:
        """Run until `stop` is set, then bring home what is under way; read the configuration again on `reload`."""
        self._show_status(None)
        await self._recorder.open()
        try:
            await self._run_tasks(stop, reload)
        finally:
            self._recorder.close(round(self._clock.now().time_s, 3))
        logger.info("stopped; %d packs of this session were not saved", self._recorder.unsaved_packs)

    def _begin(self, begun: Begun) -> None:
        """Go on in the session that the record has begun, with what its visit knows: here, or in a session before."""
        self._session = begun.session
        self._marks = known_marks(begun.marks)
        self._calibrations = [mark for mark in begun.marks if isinstance(mark, Corrected)]
        self._standing = Standing(begun.session.visit, begun.marks)
        self._publisher.set_state("visit", self._standing.encoded())
        self._setup = replace(self._setup, rig=corrected(self._setup.configured(), self._calibrations))
        self._channels.change(self._rig, [instrument.name for instrument in self._rig.instruments])
        if begun.grounds:
            self._advisor = Advisor(self._rig.speed, begun.grounds)
        self._show_status(self._not_saved)
        self._own_marks.note(SessionBegan, f"session {begun.session.number}")
        if not begun.session.resumed:
            self._own_marks.note(VisitOpened, f"visit at {self._rig.unit.tag}")
        self._renew_about()

    def _show_status(self, not_saved: NotSaved | None) -> None:
        self._not_saved = not_saved
        self._publisher.set_status(self._session.number, not_saved)

    async def _run_tasks(self, stop: asyncio.Event, reload: asyncio.Event) -> None:
        async with asyncio.TaskGroup() as group:
            reading = [
                group.create_task(self._instruments.run(self._setup.config.instruments)),
                group.create_task(every(PERIOD_S, self._tick)),
                group.create_task(every(ADVICE_PERIOD_S, self._advise)),
                group.create_task(every(ABOUT_PERIOD_S, self._renew_about)),
                group.create_task(tidy(self._recorder)),
                group.create_task(self._reload_whenever(reload)),
            ]
            saving = [group.create_task(part.run()) for part in (self._recorder, self._own_marks, self._saved_advice)]
            publishing = group.create_task(self._publisher.run())
            await stop.wait()
            async with self._reloading:  # none begins any more
                logger.info("stopping")
                for task in reading:
                    task.cancel()
                await self._recorder.flush()
                await self._own_marks.flush()
                await self._saved_advice.flush()
                await self._publisher.finish(FAREWELL_S)
                await end(publishing)
                for task in saving:
                    task.cancel()

    async def _reload_whenever(self, asked: asyncio.Event) -> None:
        while True:
            await asked.wait()
            asked.clear()
            try:
                self._own_marks.note(Reloaded, await self._reload())
            except ReloadError:
                continue  # _reload has told

    async def _reload(self) -> str:
        """Read the configuration again, and take over what it says of instruments; says what changed.

        Raises:
            ReloadError: it cannot be used; everything stays as it was.

        """
        async with self._reloading:
            try:
                changed = await self._take_over(await asyncio.to_thread(self._setup.read_again))
            except (ConfigError, ReloadError, NotSavedError) as error:
                logger.error("nothing is reloaded: %s", error)  # noqa: TRY400 - a mistake of the file, not ours
                reason = str(error)[:LONGEST_REASON]
                self._own_marks.note(Reloaded, f"nothing is reloaded: {reason}")
                raise ReloadError(reason) from error
        logger.info("reloaded: %s", changed)
        return changed

    async def _take_over(self, wanted: Setup) -> str:
        change = compare(self._setup.config, wanted.config, self._instruments.ended())
        wanted = replace(wanted, rig=corrected(wanted.rig, self._calibrations))
        touched = touched_channels(self._rig, wanted.rig, change)
        await self._recorder.call(Record.describe, wanted.rig, round(self._clock.now().time_s, 3))
        await self._instruments.stop(change.stopped)
        self._setup = wanted
        kept = {instrument.name for instrument in wanted.rig.instruments} - {*change.added, *change.restarted}
        self._channels.change(wanted.rig, kept)
        if touched & JUDGED_CHANNELS:
            self._advisor.measured_anew()
        self._instruments.start(wanted.config.instruments)
        self._renew_about()
        return str(change)

    def _tick(self) -> None:
        step = self._clock.follow()
        if step is not None:
            logger.warning("the wall clock was set by %+.3f s", step.by_s)
            self._own_marks.note(ClockStepped, f"the clock was set by {step.by_s:+.3f} s")
        moment = self._clock.now()
        self._newest = make_pack(self._rig, self._session.number, self._channels, moment)
        self._recorder.put(self._newest)
        alarms = self._advisor.follow(self._newest, self._rig)
        for alarm in alarms.raised:
            logger.warning("%s: %s", alarm.kind.value, alarm.says)
            self._own_marks.note(AlarmChanged, f"{alarm.kind.value}: {alarm.says}")
        if alarms.raised or alarms.ended:
            self._advise()

    def _advise(self) -> None:
        if self._newest is None:
            return
        given = self._advisor.advise(self._newest, self._rig, self._barometer().value, self._channels.repetitions())
        self._publisher.set_state("advice", given.payload)
        if given.is_news:
            self._saved_advice.put(given)

    def _readings(self) -> dict[str, Reading]:
        return dict(self._newest.readings) if self._newest else {}

    def _saved(self, newest: bytes) -> None:
        if not self._ready:
            self._ready = True
            logger.info("ready: session %d, visit %s", self._session.number, self._session.visit)
        self._publisher.wake("mqtt packs")
        self._latest.offer(newest)

    def _unsaved(self, payload: bytes) -> None:
        self._publisher.show_unsaved(payload)
        self._latest.offer(payload)

    def _link_changed(self, instrument: str, former: LinkState, state: LinkState) -> None:
        if LinkState.CONNECTED in (former, state) or state is LinkState.MISCONFIGURED:
            self._own_marks.note(LinkChanged, f"{instrument}: {state.value}")
        self._renew_about()

    async def _add_mark(self, mark: Mark) -> None:
        if isinstance(mark, Corrected):
            async with self._reloading:  # or a rig that is being taken over would be read without it
                await self._recorder.add_mark(mark)
                self._recalibrate(mark, mark.calibration)
        else:
            await self._recorder.add_mark(mark)
        self._marks.append(mark)
        self._advisor.take(mark, self._standing.take(mark))
        self._publisher.set_state("visit", self._standing.encoded())
        self._publisher.wake("mqtt marks")
        self._renew_about()

    def _check(self, ask: CheckAsk) -> CheckFound:
        return check(ask, self._channels.checkable(self._clock.now()), self._barometer())

    def _correct(self, checks: Mapping[str, CheckFound]) -> Calibration:
        channels = {found.channel for found in checks.values()}
        for setup in self._rig.channels:
            if setup.name in channels:
                return correct(checks, setup)
        raise CheckRefusedError(f"there is no channel {', '.join(channels)} any more")

    def _recalibrate(self, mark: Corrected, calibration: Calibration) -> None:
        """Read a channel differently from now on, and judge its figures anew."""
        self._calibrations.append(mark)
        self._setup = replace(self._setup, rig=corrected(self._rig, [mark]))
        self._channels.change(self._rig, [instrument.name for instrument in self._rig.instruments])
        if calibration.channel in JUDGED_CHANNELS:
            self._advisor.measured_anew()
        logger.info("%s is corrected: %s", calibration.channel, calibration.after)

    async def _find_mark(self, mark_id: str) -> Mark | None:
        return await self._recorder.call(Record.find_mark, mark_id)

    def _barometer(self) -> Estimate:
        return barometer(self._rig, self._readings())

    def _renew_about(self) -> None:
        about = About(
            rig=self._rig.name,
            boot=self._boot,
            session=self._session.number,
            started_s=self._started_s,
            visit=self._session.visit,
            visit_started_s=self._session.visit_started_s,
            unit=self._rig.unit,
            barometric_pressure_pa=round(self._barometer().value, 1),
            channels=[channel.about() for channel in self._rig.channels],
            instruments=self._instruments.about(),
            marks=newest_marks(self._marks),
            simulated=self._rig.simulated,
            speed=self._rig.speed,
        )
        self._publisher.set_state("about", encode(about))
