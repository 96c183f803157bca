"""The daemon: instruments to record to broker, put together and run until it is told to stop.

It starts the broker, the record, then all that reads; it stops what reads, lets what is queued reach the record, then
the broker, and closes the record last.
"""

import asyncio
import logging
import secrets
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Literal

from calc.estimate import Estimate
from ingest.advice.advisor import Given
from ingest.advice.memory import Earlier
from ingest.advice.sentence import InView
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
from ingest.noticing.sight import Known
from ingest.parts.about_rig import AboutRig, Sources
from ingest.parts.attendance import At, Attendance
from ingest.parts.broker_place import broker_place
from ingest.parts.judging import JudgedRig, Judging
from ingest.parts.known_marks import known_marks, newest_marks
from ingest.parts.latest import Latest
from ingest.parts.memory import Memory
from ingest.parts.noticing import NoticedVisit, Noticing
from ingest.parts.outbox import Outbox
from ingest.parts.own_marks import OwnMarks
from ingest.parts.power_watch import PowerWatch
from ingest.parts.present_setup import Affected, PresentSetup
from ingest.parts.register import Register
from ingest.parts.saved_advice import SavedAdvice
from ingest.parts.ticking import Ticking
from ingest.parts.tidying import tidy
from ingest.parts.until_saved import UntilSaved
from ingest.photographs import Parts
from ingest.process import boot_id, end, heed_signals
from ingest.publish import Publisher
from ingest.record.custody import Custody, Run
from ingest.record.recorder import Begun, Listener, Recorder
from ingest.record.store import Record, Session
from ingest.rig import Rig
from ingest.setup import Setup
from ingest.supervise import LinkState
from ingest.supervise import Surroundings as LinkSurroundings
from ingest.tick import every
from ingest.visit.checklist import checklists
from ingest.visit.circumstances import Place, place_of
from ingest.visit.deciding import Facts, RefusedError
from ingest.visit.earlier import History, history
from ingest.visit.finding import asks_for_a_stop, asks_of_charge
from ingest.visit.found_sound import found_sound
from ingest.visit.leading import Now
from ingest.visit.moving import asks_for_leaks_first, mode_now
from ingest.visit.opening import carried_over
from ingest.visit.photographs import of_another_visit
from ingest.visit.plates import circuits_of, read_now, unnamed_is
from ingest.visit.power import believed, power_in
from ingest.visit.rule_rig import are_both_pressed
from ingest.visit.sealed import check_goes_on
from ingest.visit.sheets import about, has_circuit
from ingest.visit.standing import Standing
from ingest.visit.stopping import MOST_CARRIED
from ingest.wire.bench_acts import BenchState
from ingest.wire.bench_messages import BenchReveal
from ingest.wire.held_back import held_back
from ingest.wire.messages import (
    Advice,
    BrokerAddress,
    ByHold,
    Calibration,
    CarriedOver,
    CheckAsk,
    CheckFound,
    Corrected,
    Described,
    HoseSet,
    Instance,
    LinkChanged,
    Mark,
    MessageError,
    NotSaved,
    Pack,
    Photograph,
    PhotographLost,
    Placed,
    RecordChanged,
    SessionBegan,
    Signed,
    StopStands,
    VisitOpened,
    decode,
    encode,
)

logger = logging.getLogger(__name__)

FAREWELL_S = 1.0
"""How long stopping may wait for the broker to take what is queued; the rest follows at the next start."""
FORGETTING_S = 10.0
"""How often it is looked for photographs that no longer arrive."""
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
        self._made_at_s: dict[str, float] = {}  # the marks of this run, by the clock that nobody sets
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
                changed=self._measured_as_configured,
                note=self._own_marks.note,
            ),
        )
        run = Run(
            rig=self._present.configured_at,
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
        self._attendance = Attendance(lambda: At(self._time_s(), clock.steady_s()), self._goes_on, self._add_mark)
        self._power_watch = PowerWatch(self._made_dead_s, self._own_marks.power_read)
        self._until_saved = UntilSaved(
            self._find_mark, self._add_after_looking, self._added_after_all, self._show_unsaved_marks
        )
        self._ticking = Ticking(
            clock,
            self._channels,
            rig=lambda: self._rig,
            session=lambda: self._session.number,
            took=self._took,
            note=self._own_marks.note,
        )
        self._judging = Judging(
            JudgedRig(
                lambda: self._rig,
                self._channels,
                lambda: self._barometer().value,
                self._in_view,
                lambda: self._standing.stops.stopped_by,
                lambda: self._standing.charges_left.of(self._standing.placing.circuit) is not None,
            ),
            self._advised,
            self._own_marks.note,
        )
        self._noticing = Noticing(
            NoticedVisit(self._known, lambda: self._rig.speed, self._goes_on),
            self._own_marks.put,
            self._show_left_out,
            self._show_by_hold,
        )
        self._is_revealed = False
        self._told: bytes | None = None
        self._was_read: set[str] = set()  # channels, at this visit
        self._parts = Parts(run.monotonic_s, lambda lost: self._own_marks.note(PhotographLost, lost))
        self._cover: Literal["closed", "open", ""] = ""
        outbox = Outbox(self._recorder)
        self._asks = Asks(
            AskSurroundings(
                users=users_of(setup.config.broker),
                find=self._find_mark,
                add=self._add_mark,
                standing=lambda: self._standing,
                facts=self._facts,
                reload=self._present.reload,
                check=self._check,
                correct=self._correct,
                parts=self._parts,
                add_photograph=self._add_photograph,
                open=self._open,
                unsaved=lambda: self._until_saved.marks,
                show=self._until_saved.keep,
                look_after=self._attendance.look,
                time_s=self._time_s,
            )
        )
        self._publisher = Publisher(
            address,
            setup.rig.name,
            outbox=outbox.read,
            advance=outbox.advance,
            handle_ask=self._asks.handle,
            is_beside=self._asks.is_beside,
            backoff=Backoff(),
            instance=Instance(started_s, secrets.token_hex(4)),
            hears=self._hears(setup.rig),
        )
        for group in checklists():
            self._publisher.set_state(f"checklist/{group.group.lower()}", encode(group))
        self._register = Register(self._publisher.set_state)
        self._memory = Memory(self._publisher.set_state)
        self._latest = Latest(partial(self._publisher.set_state, "latest", qos=0), run.monotonic_s)
        self._about = AboutRig(
            Sources(
                boot=boot,
                started_s=started_s,
                rig=lambda: self._rig,
                circuit=self._circuit_read,
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

    def _goes_on(self) -> bool:
        return self._standing.progress.state != "signed"

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
                group.create_task(every(FORGETTING_S, self._parts.forget)),
                group.create_task(self._attendance.run()),
                group.create_task(self._present.run(reload)),
            ]
            parts = (self._recorder, self._own_marks, self._saved_advice, self._until_saved)
            saving = [group.create_task(part.run()) for part in parts]
            publishing = group.create_task(self._publisher.run())
            await stop.wait()
            async with self._present.unchanged():  # no reload begins any more
                logger.info("stopping")
                for task in reading:
                    task.cancel()
                await self._recorder.flush()
                await self._own_marks.flush()
                await self._until_saved.flush()
                await self._saved_advice.flush()
                await self._publisher.finish(FAREWELL_S)
                await end(publishing)
                for task in saving:
                    task.cancel()

    def _begin(self, begun: Begun) -> None:
        """Go on in the session that the record has begun, with what its visit knows: here, or in a session before."""
        has_moved = self._session.number != NO_SESSION and self._session.visit != begun.session.visit
        self._told = None if has_moved else self._told  # of another unit
        self._session = begun.session
        self._marks = known_marks(begun.marks)
        self._standing = Standing(begun.session.visit, history=self._history(begun))
        self._standing.unsaved = self._until_saved.marks
        self._standing.stops_elsewhere = begun.stops_elsewhere
        self._standing.placing.instruments = self._instruments_by_channel()
        self._was_read = {name for pack in begun.packs for name in pack.readings}
        self._register.begin(begun.sheets, begun.visited, begun.unit.tag)
        sheet = self._register.sheets.get(begun.unit.tag)
        known = sheet.circuits if sheet else ()
        self._standing.moved.know(circuits_of(begun.unit, known, ""), unnamed_is(begun.unit, known))
        changes_kg = {mark.id: self._standing.take(mark, self._made_s(mark)) for mark in begun.marks}
        self._memory.begin(begun.earlier, begun.session.visit, begun.marks, begun.unit.tag, sheet)
        if begun.unit != self._rig.unit:
            self._present.at(begun.unit)
        self._look_at_circuit()
        self._standing.findings.at(self._place())
        self._channels.place(self._standing.placing.elsewhere(), self._standing.placing.turns())
        self._know_circuits()
        self._publisher.set_state("visit", self._standing.encoded())
        self._present.begin(begun.marks, begun.instruments_corrected)
        self._noticing.begin(begun.session.visit, begun.packs, begun.marks)
        sound_before = found_sound(begun.earlier, unnamed_is(begun.unit, known), begun.marks)
        earlier = Earlier(begun.grounds, begun.packs, begun.marks, changes_kg, sound_before)
        self._judging.begin(earlier, elsewhere=has_moved)
        self._show_status(self._not_saved)
        self._own_marks.note(SessionBegan, f"session {begun.session.number}")
        if not has_moved and (begun.before or not begun.session.resumed):  # whoever moved it makes a mark of that
            self._own_marks.opened(self._rig.unit.tag, *self._carried_over(begun))
        began_s = begun.session.visit_started_s
        made = ((mark, self._made_s(mark)) for mark in begun.marks)
        self._attendance.begin(At(began_s, self._clock.steady_of(began_s)), made)
        self._power_watch.begin()
        self._renew_about()

    def _carried_over(self, begun: Begun) -> tuple[CarriedOver | None, Sequence[StopStands]]:
        """Tell where the instruments are as the rig comes to a visit that nobody opened, by the one before it.

        And which stops stand there: with that visit they would leave the technician's screen.
        """
        if begun.before is None:
            return None, ()
        left, marks = begun.before
        before = Standing("", marks)
        channels = [channel.name for channel in self._rig.channels]
        over = carried_over(self._rig.unit.tag, left, before.placing, channels, before.findings.locks)
        stops = before.stops.standing
        if len(stops) > MOST_CARRIED:  # nobody is there to be told: as long as one stands, nobody may go on
            logger.warning("of %d stops that stand the oldest are in the visit before alone", len(stops))
        return over, stops[-MOST_CARRIED:]

    def _made_dead_s(self) -> float | None:
        """Tell when something was last made dead that still counts; None where nothing is, and once it is signed."""
        newest = self._standing.findings.made_dead_by if self._goes_on() else ""
        return self._standing.at_s(newest) if newest else None

    def _made_s(self, mark: Mark) -> float:
        """Tell when a mark of the record was made, by the clock that nobody sets."""
        return self._made_at_s.setdefault(mark.id, self._clock.steady_of(mark.time_s))

    def _look_at_circuit(self) -> bool:
        """Be at the circuit in view, as the newest sheet of the unit has it; tells whether anything changes by that."""
        unit, sheet = self._rig.unit, self._register.sheets.get(self._rig.unit.tag)
        if sheet is None:
            return False
        is_described = unit.tag in self._standing.described_by  # at this visit, and so newer than the rig's file
        circuit = self._standing.placing.circuit or (unnamed_is(unit, sheet.circuits) if is_described else "")
        if not has_circuit(sheet, circuit):  # nothing is in view yet, or an import took it away
            return False
        if (now := about(sheet, circuit)) == unit:
            return False
        self._present.at(now)
        return True

    def _show_status(self, not_saved: NotSaved | None) -> None:
        self._not_saved = not_saved
        self._publisher.set_status(self._session.number, not_saved)

    def _show_unsaved_marks(self, marks: Sequence[Mark]) -> None:
        self._standing.unsaved = marks
        self._publisher.set_state("visit", self._standing.encoded())

    def _show_left_out(self, names: tuple[str, ...]) -> None:
        self._publisher.set_left_out(names)

    def _show_by_hold(self, by_hold: ByHold | None) -> None:
        self._standing.by_hold = by_hold
        self._publisher.set_state("visit", self._standing.encoded())

    def _took(self, pack: Pack) -> None:
        self._recorder.put(pack)
        self._was_read |= pack.readings.keys()
        self._judging.follow(pack)
        self._noticing.follow(pack)
        self._power_watch.follow(self._ticking.readings, self._ticking.read_s, self._clock.steady_s())

    def _measured_anew(self) -> None:
        self._judging.measured_anew()
        self._standing.judged("", self._time_s(), at_s=self._clock.steady_s())

    def _measured_as_configured(self) -> None:
        """Read the channels where they are by the instruments that are configured from now on."""
        placing = self._standing.placing
        placing.instruments = self._instruments_by_channel()
        self._channels.place(placing.elsewhere(), placing.turns())
        self._publisher.set_state("visit", self._standing.encoded())
        self._renew_about()

    def _instruments_by_channel(self) -> dict[str, str]:
        return {channel.name: channel.instrument for channel in self._rig.channels}

    def _renew_about(self) -> None:
        self._standing.findings.at(self._place())
        self._know_circuits()
        self._about.renew()

    def _place(self) -> Place:
        """Tell what the checks want to know of the unit beforehand."""
        unit = self._rig.unit
        channels = [channel.name for channel in self._rig.channels]
        return place_of(unit, channels, self._register.sheets.get(unit.tag))

    def _history(self, begun: Begun) -> History:
        """Work out what the record knows of the unit's earlier visits; one that takes another's place has none."""
        if begun.session.visit == self._standing.visit and not begun.earlier:
            return self._standing.moved.history
        return history(begun.earlier)

    def _know_circuits(self) -> None:
        unit, sheet = self._rig.unit, self._register.sheets.get(self._rig.unit.tag)
        known = sheet.circuits if sheet else ()
        named = self._standing.placing.circuit
        self._standing.moved.know(circuits_of(unit, known, named), unnamed_is(unit, known))

    def _in_view(self) -> InView:
        names = [circuit.name for circuit in self._standing.moved.circuits]
        found = self._standing.findings.safety_class()
        unlisted = max(0, self._standing.findings.circuits_counted - len(names))
        if len(names) <= 1 and not unlisted:
            return InView(safety_class=found)
        return InView(names[0], tuple(self._standing.unmeasured), found, unlisted)

    def _advised(self, given: Given) -> None:
        told = given.payload if self._is_told else encode(held_back(decode(given.payload, Advice)))
        self._told = told
        self._publisher.set_state("advice", told)
        given_s = self._clock.steady_s(given.monotonic_s)
        facts = self._facts()
        rig = believed(facts.readings)
        powered, both = power_in(rig) is not None, are_both_pressed(rig, facts.site_pa)
        stops, charge_asked = asks_for_a_stop(facts), asks_of_charge(facts)
        step = facts.advice.next_step if facts.advice and facts.advised else None
        step_kg = None if step is None else step.step_kg
        first = charge_asked and asks_for_leaks_first(facts)
        now = Now(facts.runs, mode_now(facts), stops, powered, charge_asked, facts.advised, both, step_kg, first)
        self._standing.judged(given.settled, given.time_s, now=now, at_s=given_s)
        self._publisher.set_state("visit", self._standing.encoded())
        if given.is_news:
            self._saved_advice.put(given)
        if given.found_sound and self._is_told and self._goes_on():
            self._own_marks.found_sound(self._rig.unit, given.found_sound, self._marks[-1].id if self._marks else "")

    @property
    def _is_told(self) -> bool:
        """Whether advice may be told in full: the record keeps it, but in a blind exercise it names what is wrong."""
        return self._is_revealed or not self._rig.blind

    def _hears(self, rig: Rig) -> Mapping[str, Callable[[bytes], None]]:
        """Name what is heard from a bench: how hands left the panel, and in a blind exercise if it was judged."""
        panel = {"bench/state": self._panel_left} if rig.simulated else {}
        return panel | ({"bench/reveal": self._revealed} if rig.blind else {})

    def _panel_left(self, payload: bytes) -> None:
        """Hear from the bench whether the panel is on; empty: that there is no bench any more."""
        try:
            self._cover = ("closed" if decode(payload, BenchState).panel_on else "open") if payload else ""
        except MessageError as error:
            logger.warning("bench/state cannot be read: %s", error)

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

    async def _add_mark(self, mark: Mark) -> Mark:
        """Record a mark, and let everybody know; gives it as it is recorded."""
        if isinstance(mark, Corrected | Signed):
            # A rig that is being taken over would be read without the one, a photograph come into what the other ends.
            async with self._present.unchanged():
                return await self._record(mark)
        return await self._record(mark)

    async def _record(self, mark: Mark) -> Mark:
        if isinstance(mark, Signed):
            recorded = await self._recorder.add_mark(mark, self._asks.check_no_stop_waits)
        else:
            recorded = await self._recorder.add_mark(mark)
        if isinstance(recorded, Corrected):
            self._present.recalibrate(recorded)
        self._added(recorded)
        return recorded

    async def _add_after_looking(self, mark: Mark) -> None:
        await self._attendance.look()
        await self._add_mark(mark)

    def _added_after_all(self, mark: Mark) -> None:
        if not self._standing.has(mark.id):
            self._added(mark)

    async def _add_photograph(self, mark: Photograph, jpeg: bytes, visit: str) -> None:
        async with self._present.unchanged():  # nobody goes to another unit meanwhile, or signs
            if self._standing.visit != visit:
                raise RefusedError(of_another_visit())
            check_goes_on(self._standing)
            await self._recorder.add_photograph(mark, jpeg)
        self._added(mark)

    def _added(self, mark: Mark) -> None:
        """Let everybody know of a mark that was recorded."""
        self._marks.append(mark)
        self._register.take(mark)
        self._memory.take(mark, self._register.sheets.get(self._rig.unit.tag))
        before = self._standing.placing.elsewhere()
        self._made_at_s[mark.id] = self._clock.steady_s()
        change_kg = self._standing.take(mark, self._made_at_s[mark.id])
        self._placed(mark, before)
        if isinstance(mark, Placed | Described) and self._look_at_circuit():
            self._measured_anew()
            self._standing.findings.at(self._place())
        self._attendance.take(mark, self._made_at_s[mark.id])
        self._judging.take(mark, change_kg)
        self._noticing.take(mark)
        self._know_circuits()
        self._publisher.set_state("visit", self._standing.encoded())
        self._publisher.wake("mqtt marks")
        self._renew_about()

    async def _open(self, opened: VisitOpened) -> None:
        """Go to another unit: whatever was read and judged before belongs to the visit that is left open behind."""
        unit = about(self._register.sheets[opened.unit], opened.circuit)
        async with self._present.unchanged():
            await self._recorder.open_visit(unit, secrets.token_hex(8), opened, self._asks.check_no_stop_waits)
        self._publisher.wake("mqtt marks")

    def _facts(self) -> Facts:
        sheets = self._register.sheets
        here = sheets.get(self._rig.unit.tag)
        return Facts(
            self._rig.unit,
            self._ticking.readings,
            self._judging.in_doubt,
            self._judging.unsettled,
            circuits=[circuit.name for circuit in here.circuits] if here else (),
            parts=[part.name for part in here.parts] if here else (),
            sheets=sheets,
            advice=decode(self._told, Advice) if self._told else None,
            runs=self._judging.runs,
            advised=self._judging.advised if self._is_told else "",
            is_blind=not self._is_told,
            cover=self._cover,
            steady_s=self._clock.steady_s(),
            read_s=self._ticking.read_s,
            speed=self._rig.speed,
            part_readings=self._memory.part_readings,
            instruments=self._instruments_by_channel(),
            was_read=self._was_read,
            site_pa=self._barometer().value,
            baselines=self._memory.baselines,
        )

    def _placed(self, mark: Mark, before: Mapping[str, str]) -> None:
        """Read the channels where they are after a mark; what was elsewhere, or is, settles anew."""
        placing = self._standing.placing
        elsewhere = placing.elsewhere()
        self._channels.place(elsewhere, placing.turns())
        if elsewhere != before:
            self._judging.interrupted("since.hose" if isinstance(mark, HoseSet) else "since.placed")

    def _circuit_read(self) -> str:
        unit, sheet = self._rig.unit, self._register.sheets.get(self._rig.unit.tag)
        return read_now(unit, sheet.circuits if sheet else (), self._standing.placing.circuit)

    def _known(self) -> Known:
        standing = self._standing
        cylinders = standing.moved.cylinders.names()
        pattern = standing.pattern.pattern
        return Known(
            self._rig.unit,
            self._barometer().value,
            self._register.sheets.get(self._rig.unit.tag),
            in_doubt=self._judging.in_doubt,
            settled=standing.settled,
            moved_s=standing.moved_in_view_s,
            least_wait_s=standing.least_wait_s,
            circuit=self._circuit_read(),
            cylinder=cylinders[0] if len(cylinders) == 1 else "",
            is_blind=not self._is_told,
            pattern_s=pattern.times_s if pattern else (),
            places={name: it.on for name, it in standing.placing.places.items() if it.on},
            unsaid=frozenset(standing.placing.unsaid),
            is_locked=bool(standing.findings.locks),
            speed=self._rig.speed,
            views=tuple(standing.placing.views),
            stops=standing.stops.spans,
            was=standing.read_before(""),
        )

    def _check(self, ask: CheckAsk) -> CheckFound:
        return check(
            ask, self._channels.checkable(self._clock.now()), self._barometer(), self._rig.barometric_pressure_pa
        )

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
        it = self._channels.barometer
        return Estimate(it.pressure_pa, it.standard_uncertainty_pa)
