"""The daemon: instruments to record to broker, put together and run until it is told to stop.

It starts the broker, the record, then all that reads; it stops what reads, lets what is queued reach the record, then
the broker, and closes the record last.
"""

import asyncio
import logging
import secrets
from collections.abc import Mapping
from functools import partial
from pathlib import Path

from calc.estimate import Estimate
from ingest.advice.advisor import Given
from ingest.advice.memory import Earlier
from ingest.asks import Asks
from ingest.asks import Surroundings as AskSurroundings
from ingest.backoff import Backoff
from ingest.broker.credentials import users_of
from ingest.broker.serve import BrokerSetupError, serve_broker
from ingest.channels import Channels
from ingest.clock import Clock
from ingest.config.load import Config, resolve
from ingest.field_checks import CheckRefusedError, check, correct
from ingest.instruments import Instruments
from ingest.parts.about_rig import AboutRig, Sources
from ingest.parts.barometer import barometer
from ingest.parts.broker_place import broker_place
from ingest.parts.judging import JudgedRig, Judging
from ingest.parts.known_marks import known_marks, newest_marks
from ingest.parts.latest import Latest
from ingest.parts.outbox import Outbox
from ingest.parts.own_marks import OwnMarks
from ingest.parts.present_setup import Affected, PresentSetup
from ingest.parts.saved_advice import SavedAdvice
from ingest.parts.ticking import Ticking
from ingest.parts.tidying import tidy
from ingest.process import boot_id, end, heed_signals
from ingest.publish import Publisher
from ingest.record.custody import Custody, Run
from ingest.record.recorder import Begun, Listener, Recorder
from ingest.record.store import Record, Session
from ingest.rig import Rig
from ingest.setup import Setup
from ingest.supervise import LinkState
from ingest.supervise import Surroundings as LinkSurroundings
from ingest.visit.standing import Standing
from ingest.wire.bench_messages import BenchReveal
from ingest.wire.held_back import held_back
from ingest.wire.messages import (
    Advice,
    BrokerAddress,
    Calibration,
    CheckAsk,
    CheckFound,
    Corrected,
    Instance,
    LinkChanged,
    Mark,
    MessageError,
    NotSaved,
    Pack,
    RecordChanged,
    SessionBegan,
    VisitOpened,
    decode,
    encode,
)

logger = logging.getLogger(__name__)

FAREWELL_S = 1.0
"""How long stopping may wait for the broker to take what is queued; the rest follows at the next start."""
NO_SESSION = 0
"""Until a record could first be opened."""


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
        self._config = setup.config
        self._clock = clock
        started_s, boot = round(clock.now().time_s, 3), boot_id()
        self._session = Session(NO_SESSION, secrets.token_hex(8), started_s, resumed=False)
        self._standing = Standing(self._session.visit)
        self._channels = Channels(setup.rig, clock.time_s)
        self._ready = False
        self._marks = known_marks()
        self._own_marks = OwnMarks(self._add_mark, self._time_s)
        self._instruments = Instruments(
            LinkSurroundings(self._channels.accept, self._link_changed, self._time_s), address
        )
        self._present = PresentSetup(
            setup,
            Affected(
                channels=self._channels,
                instruments=self._instruments,
                describe=self._describe,
                measured_anew=self._measured_anew,
                changed=self._renew_about,
                note=self._own_marks.note,
            ),
        )
        run = Run(
            rig=self._present.configured,
            boot=boot,
            new_visit=self._session.visit,
            now_s=self._time_s,
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
        self._ticking = Ticking(
            clock,
            self._channels,
            rig=lambda: self._rig,
            session=lambda: self._session.number,
            took=self._took,
            note=self._own_marks.note,
        )
        self._judging = Judging(
            JudgedRig(lambda: self._rig, self._channels, lambda: self._barometer().value),
            self._advised,
            self._own_marks.note,
        )
        self._is_revealed = False
        outbox = Outbox(self._recorder)
        asks = Asks(
            AskSurroundings(
                users=users_of(setup.config.broker),
                find=self._find_mark,
                add=self._add_mark,
                readings=lambda: self._ticking.readings,
                in_doubt=lambda: self._judging.in_doubt,
                unsettled=lambda: self._judging.unsettled,
                reload=self._present.reload,
                check=self._check,
                correct=self._correct,
                ledger=lambda: self._standing.ledger,
                nameplate_charge_kg=lambda: self._rig.unit.nameplate_charge_kg,
                time_s=self._time_s,
            )
        )
        self._publisher = Publisher(
            address,
            setup.rig.name,
            outbox=outbox.read,
            advance=outbox.advance,
            handle_ask=asks.handle,
            backoff=Backoff(),
            instance=Instance(started_s, secrets.token_hex(4)),
            hears={"bench/reveal": self._revealed} if setup.rig.blind else {},
        )
        self._latest = Latest(partial(self._publisher.set_state, "latest", qos=0), run.monotonic_s)
        self._about = AboutRig(
            Sources(
                boot=boot,
                started_s=started_s,
                rig=lambda: self._rig,
                session=lambda: self._session,
                instruments=self._instruments.about,
                marks=lambda: newest_marks(self._marks),
                barometric_pressure_pa=lambda: self._barometer().value,
            ),
            partial(self._publisher.set_state, "about"),
        )

    @property
    def _rig(self) -> Rig:
        return self._present.rig

    def _time_s(self) -> float:
        return self._clock.now().time_s

    async def run(self, stop: asyncio.Event, reload: asyncio.Event) -> None:
        """Run until `stop` is set, then bring home what is under way; read the configuration again on `reload`."""
        self._show_status(None)
        await self._recorder.open()
        try:
            await self._run_tasks(stop, reload)
        finally:
            self._recorder.close(round(self._time_s(), 3))
        unsaved = self._recorder.unsaved_packs
        logger.info("stopped; %s", f"{unsaved} packs of this session were not saved" if unsaved else "all is saved")

    async def _run_tasks(self, stop: asyncio.Event, reload: asyncio.Event) -> None:
        async with asyncio.TaskGroup() as group:
            reading = [
                group.create_task(self._instruments.run(self._config.instruments)),
                group.create_task(self._ticking.run()),
                group.create_task(self._judging.run()),
                group.create_task(self._about.run()),
                group.create_task(tidy(self._recorder)),
                group.create_task(self._present.run(reload)),
            ]
            saving = [group.create_task(part.run()) for part in (self._recorder, self._own_marks, self._saved_advice)]
            publishing = group.create_task(self._publisher.run())
            await stop.wait()
            async with self._present.unchanged():  # no reload begins any more
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

    def _begin(self, begun: Begun) -> None:
        """Go on in the session that the record has begun, with what its visit knows: here, or in a session before."""
        self._session = begun.session
        self._marks = known_marks(begun.marks)
        self._standing = Standing(begun.session.visit)
        changes_kg = {mark.id: self._standing.take(mark) for mark in begun.marks}
        self._publisher.set_state("visit", self._standing.encoded())
        self._present.begin(begun.marks)
        self._judging.begin(Earlier(begun.grounds, begun.packs, begun.marks, changes_kg))
        self._show_status(self._not_saved)
        self._own_marks.note(SessionBegan, f"session {begun.session.number}")
        if not begun.session.resumed:
            self._own_marks.note(VisitOpened, f"visit at {self._rig.unit.tag}")
        self._renew_about()

    def _show_status(self, not_saved: NotSaved | None) -> None:
        self._not_saved = not_saved
        self._publisher.set_status(self._session.number, not_saved)

    def _took(self, pack: Pack) -> None:
        self._recorder.put(pack)
        self._judging.follow(pack)

    def _measured_anew(self) -> None:
        self._judging.measured_anew()
        self._standing.judged("", self._time_s())

    def _renew_about(self) -> None:
        self._about.renew()

    def _advised(self, given: Given) -> None:
        told = given.payload if self._is_told else encode(held_back(decode(given.payload, Advice)))
        self._publisher.set_state("advice", told)
        self._standing.judged(given.settled, given.time_s)
        self._publisher.set_state("visit", self._standing.encoded())
        if given.is_news:
            self._saved_advice.put(given)

    @property
    def _is_told(self) -> bool:
        """Whether advice may be told in full: the record keeps it, but in a blind exercise it names what is wrong."""
        return self._is_revealed or not self._rig.blind

    def _revealed(self, payload: bytes) -> None:
        """Hear from the bench that the verdict was given; empty: that it is still to come."""
        try:
            if payload:
                decode(payload, BenchReveal)
        except MessageError as error:
            logger.warning("bench/reveal cannot be read: %s", error)
            return
        self._is_revealed = bool(payload)
        self._judging.advise()

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
            async with self._present.unchanged():  # or a rig that is being taken over would be read without it
                await self._recorder.add_mark(mark)
                self._present.recalibrate(mark)
        else:
            await self._recorder.add_mark(mark)
        self._marks.append(mark)
        self._judging.take(mark, self._standing.take(mark))
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

    async def _describe(self, rig: Rig) -> None:
        await self._recorder.call(Record.describe, rig, round(self._time_s(), 3))

    async def _find_mark(self, mark_id: str) -> Mark | None:
        return await self._recorder.call(Record.find_mark, mark_id)

    def _barometer(self) -> Estimate:
        return barometer(self._rig, self._ticking.readings)
