"""What a technician or a lead asks for: validated, done, recorded as a mark, answered.

What an answer confirms was on the disk before it went out. Asking twice under one id records once; an id that was used
for something else is refused. Who asks is the user in the topic, bound to a credential by the broker; what that user
may ask stands in one table (`ingest.wire.asks.ASKS`).
A new kind is a struct and a line there, a decision with its line in `ingest.visit.decisions.DECISIONS` (or, where it
needs more than the visit and the moment, a handler here with its line in `Asks.HANDLERS`), and a line in
`ingest.visit.repeated`.
"""

import asyncio
import hashlib
import logging
from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from msgspec.structs import replace

from ingest.field_checks import CheckRefusedError, ElsewhereError
from ingest.photographs import Parts
from ingest.record.errors import NotSavedError, WaitsError
from ingest.reload import ReloadError
from ingest.visit import whose
from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError, decided, to_ask
from ingest.visit.decisions import DECISIONS
from ingest.visit.opening import open_visit
from ingest.visit.photographs import Picture, check_part, photograph
from ingest.visit.repeated import are_alike, as_proposed, is_repeated, used_before, used_for
from ingest.visit.sealed import check_not_sealed
from ingest.visit.standing import Standing
from ingest.wire.asks import MAY_ASK
from ingest.wire.events import Confirmable, word_of
from ingest.wire.messages import (
    LARGEST_MESSAGE_BYTES,
    AcknowledgeAsk,
    Answer,
    Ask,
    Calibration,
    CheckAsk,
    Checked,
    CheckFound,
    CorrectAsk,
    Corrected,
    Correction,
    CorrectionAsk,
    KeepAsk,
    Mark,
    MessageError,
    MoveAsk,
    OpenAsk,
    Photograph,
    PhotographAsk,
    Proposed,
    ReloadAsk,
    Reloaded,
    Role,
    SeenAsk,
    SignAsk,
    StopAsk,
    VisitOpened,
    Warned,
    Wording,
    decode_ask,
    encode,
    read_id,
)
from ingest.wire.roles import role_of
from ingest.wire.texts import LONGEST_NAME, LONGEST_TEXT, fault, is_empty, shown

logger = logging.getLogger(__name__)

_LONGEST_REASON = 200
_NAMES_NOTHING = (
    "`confirmed` covers what `confirms` names, and it named nothing: give there what this answer has in `asks`"
)
_BESIDE = {word_of(ask) for ask in (PhotographAsk, StopAsk, SeenAsk)}
LOOKED_UP_WITHIN_S = 0.5
"""How long a stop waits to be looked up in the record, before it is shown: a disk may hang."""

Handler = Callable[[Any, Any, Head], Awaitable[Mark | None]]
"""From an ask of its kind to the mark that it recorded. Raises RefusedError, or what the surroundings raise.

None where it was only a part of what is to be recorded.
"""


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What answering needs from the daemon.

    users: the role of each user at the broker. find: a mark by its id. add: stores a mark, and gives it as it is
    stored; raises NotSavedError. standing: how the visit stands. facts: what the rig knows now. reload: reads the
    configuration again and says what changed; raises ReloadError. check: compares a channel with what is true; raises
    CheckRefusedError, or ElsewhereError to ask first. correct: makes a calibration of checks, by their ids; raises
    CheckRefusedError. parts: of photographs that are not whole yet. add_photograph: stores a mark with its picture, as
    JPEG, in the visit of this id; raises NotSavedError, or RefusedError where the rig has gone on to another, or it was
    signed. open: goes to a unit, begins or goes on with its visit, and stores the mark of that, all or nothing; raises
    NotSavedError. unsaved: what waits for the disk. show: shows a mark at once and records it, or one that waits and
    says the same, and gives that; raises WaitsError where the disk has not taken it yet, or NotSavedError. look_after:
    records first that the visit was left alone, if it was; raises NotSavedError. time_s: tells the wall time.
    """

    users: Mapping[str, Role]
    find: Callable[[str], Awaitable[Mark | None]]
    add: Callable[[Mark], Awaitable[Mark]]
    standing: Callable[[], Standing]
    facts: Callable[[], Facts]
    reload: Callable[[], Awaitable[str]]
    check: Callable[[CheckAsk], CheckFound]
    correct: Callable[[Mapping[str, CheckFound]], Calibration]
    parts: Parts
    add_photograph: Callable[[Photograph, bytes, str], Awaitable[None]]
    open: Callable[[VisitOpened], Awaitable[None]]
    unsaved: Callable[[], Sequence[Mark]]
    show: Callable[[Mark], Awaitable[Mark]]
    look_after: Callable[[], Awaitable[None]]
    time_s: Callable[[], float]


class Asks:
    """Answers asks. refused_messages: how many could not even be read."""

    def __init__(self, surroundings: Surroundings) -> None:
        self._around = surroundings
        self._units: dict[str, str] = {}  # of the visits in which something was asked, by their ids
        self._hurrying: list[tuple[Ask, Role]] = []  # stops, and what is said to them, until they are shown
        self.refused_messages = 0

    async def handle(self, path: str, payload: bytes) -> tuple[str, bytes] | None:
        """Answer one message: the last parts of the answer's topic, and its payload; None without an id to answer to.

        path: the ask's topic after `ask/`, which is the user and the kind.
        """
        user, _, kind = path.partition("/")
        try:
            ask = decode_ask(payload)
        except MessageError as error:
            self._refuse(path, str(error))
            ask_id = read_id(payload)
            if not ask_id or role_of(user, self._around.users) is None:
                return None
            reason = f"the ask cannot be read: {error}"[:_LONGEST_REASON]
            return f"{user}/{ask_id}", encode(Answer(ask_id, ok=False, reason=reason))
        return f"{user}/{ask.id}", encode(await self.answer(user, kind, ask))

    def is_beside(self, path: str, payload: bytes) -> bool:
        """Tell whether an ask stands in no order: a photograph takes long; a stop, and what is said to it, hurries.

        What else is acknowledged keeps its place: it belongs to the visit that is open by then.
        """
        kind = path.rpartition("/")[2]
        if kind != word_of(AcknowledgeAsk):
            return kind in _BESIDE
        try:
            return self._is_of_a_stop(decode_ask(payload))
        except MessageError:
            return False

    def _refuse(self, path: str, reason: str) -> None:
        self.refused_messages += 1
        logger.info("ask/%.80r refused (%d so far): %.200s", path, self.refused_messages, reason)

    async def answer(self, user: str, kind: str, ask: Ask) -> Answer:
        """Record what is asked, and say so; or say why not; or what to ask the person first.

        Of a photograph each part is answered; only with the last that was missing there is a mark.
        """
        try:
            role = self._role(user, kind, ask)
            mark = await self._recorded(ask, role)
        except DoubtfulError as error:
            await self._warn(ask, error.question, error.warnings)
            hint = _NAMES_NOTHING if isinstance(ask, Confirmable) and ask.confirmed and not ask.confirms else ""
            return Answer(ask.id, ok=False, reason=hint, question=error.question, asks=error.names)
        except NotSavedError as error:
            return Answer(ask.id, ok=False, reason=f"not saved: {error}", waits=isinstance(error, WaitsError))
        except RefusedError as error:
            if error.wording is not None:
                await self._warn(ask, error.wording, error.warnings, refused=True)
            return Answer(ask.id, ok=False, reason=str(error), refusal=error.wording)
        except (ReloadError, CheckRefusedError) as error:
            return Answer(ask.id, ok=False, reason=str(error))
        return Answer(ask.id, ok=True, mark=mark)

    async def _recorded(self, ask: Ask, role: Role) -> Mark | None:
        """Record it.

        In the record a stop stands in the visit in which it was said. So nobody leaves that visit or seals it while one
        waits for the disk: neither as that is asked, nor as it comes to be recorded.
        """
        if self._is_of_a_stop(ask):
            return await self._hurried(ask, role)
        known = await self._known(ask, role)
        if known is not None:
            return known
        if isinstance(ask, OpenAsk | SignAsk):
            self.check_no_stop_waits()
        await self._around.look_after()
        return await self._do(ask, role)

    def check_no_stop_waits(self) -> None:
        """See that the disk has each stop, and what was said to it. Called in the thread of the record, too.

        Raises:
            NotSavedError: it has not.

        """
        if self._hurrying or self._around.unsaved():
            raise NotSavedError("the disk has not taken yet what came before: a stop, or what was said to it")

    async def _hurried(self, ask: Ask, role: Role) -> Mark:
        """Show it and record it, unless another is under way under its id: the record knows of neither yet."""
        if any(other.id == ask.id and not (by == role and are_alike(other, ask)) for other, by in self._hurrying):
            used = used_before()
            raise RefusedError(used.us, used)
        self._hurrying.append((ask, role))
        try:
            return await self._shown(ask, role)
        finally:
            self._hurrying.remove((ask, role))

    async def _shown(self, ask: Ask, role: Role) -> Mark:
        """Show it, and record it behind what waits: in the record a stop stands before what was said to it.

        Who is to see it waits neither for the disk, nor for what else is asked.
        """
        head = self._head(ask, role)  # it was said now, whenever the disk comes back
        try:
            known = await self._known_soon(ask, role)
        except NotSavedError:
            if self._around.standing().has(ask.id):  # by this ask, or by another
                raise
            known = None
        if known is not None and known not in self._around.unsaved():
            return known
        return await self._around.show(known or self._decided(ask, head))

    async def _known_soon(self, ask: Ask, role: Role) -> Mark | None:
        try:
            async with asyncio.timeout(LOOKED_UP_WITHIN_S):
                return await self._known(ask, role)
        except TimeoutError as error:
            raise NotSavedError("the disk hangs") from error

    def _is_of_a_stop(self, ask: Ask) -> bool:
        """Tell whether it is a stop, or what is said to one: who is to see it does not wait for a disk."""
        is_said = isinstance(ask, SeenAsk | AcknowledgeAsk) and self._around.standing().stops.has(ask.of)
        return is_said or isinstance(ask, StopAsk)

    def _head(self, ask: Ask, role: Role) -> Head:
        return ask.id, round(self._around.time_s(), 3), ask.by.strip(), role

    def _role(self, user: str, kind: str, ask: Ask) -> Role:
        """Tell in which role a user asks, from the table."""
        role = role_of(user, self._around.users)
        if role is None:
            raise RefusedError(f"{shown(user)!r} is nobody whom this rig knows; users stand in its configuration")
        if kind != ask.kind:
            raise RefusedError(f"the topic says {shown(kind)!r}, the ask {ask.kind!r}")
        if role not in MAY_ASK[ask.kind]:
            raise RefusedError(_may_not(role, ask.kind))
        _check_texts(ask)
        return role

    async def _known(self, ask: Ask, role: Role) -> Mark | None:
        """Find what was made of an ask that is sent again: it is recorded, or waits for the disk.

        Refuse an id that was used for something else.
        """
        name = ask.photograph if isinstance(ask, PhotographAsk) else ask.id
        waiting = (mark for mark in self._around.unsaved() if mark.id == name)
        mark = next(waiting, None) or await self._around.find(name)
        if mark is None:
            return None
        if isinstance(ask, CorrectionAsk) and isinstance(earlier := await self._around.find(ask.of), Correction):
            ask = replace(ask, of=earlier.of)
        if isinstance(ask, KeepAsk) and isinstance(proposed := await self._around.find(ask.of), Proposed):
            ask = as_proposed(ask, proposed)
        if is_repeated(ask, role, mark):
            return mark
        used = used_for(mark)
        raise RefusedError(used.us, used)

    async def _do(self, ask: Ask, role: Role) -> Mark | None:
        """Do what is asked and record it; gives the mark that tells of it."""
        head = self._head(ask, role)
        standing, facts = self._around.standing(), self._around.facts()
        self._units[standing.visit] = facts.unit.tag
        whose.check_of_this_visit(ask, standing, facts, self._units.get(ask.visit, ""))
        check_not_sealed(ask, standing)
        if type(ask) in DECISIONS:
            await self._warn_of_what_is_confirmed(ask, head)
            return await self._added(self._decided(ask, head))
        return await self.HANDLERS[type(ask)](self, ask, head)

    def _decided(self, ask: Ask, head: Head) -> Mark:
        """Decide; whether it is of this visit at all is asked together with the rest: a yes names the visit, too."""
        standing, facts = self._around.standing(), self._around.facts()

        def decide(asked: Ask) -> Mark:
            return DECISIONS[type(ask)](asked, head, standing, facts)

        return decided(ask, decide, whose.doubts(ask, standing, facts, head[1]))

    async def _warn_of_what_is_confirmed(self, ask: Ask, head: Head) -> None:
        """Note what a question would have said, where an amount comes confirmed at once: the lead is told first."""
        if not (isinstance(ask, MoveAsk | CorrectionAsk | KeepAsk | SignAsk) and ask.confirmed):
            return
        try:
            self._decided(replace(ask, confirmed=False), head)
        except DoubtfulError as error:
            if {*error.names} <= {*ask.confirms}:
                await self._warn(ask, error.question, error.warnings)
        except RefusedError:
            return  # the ask itself is refused alike, and that is noted

    async def _warn(self, ask: Ask, says: Wording, warnings: Sequence[str], *, refused: bool = False) -> None:
        """Note on the visit's time line what speaks against a move, once an ask: the lead hears of it before it is so.

        What came up between the question and the yes is noted besides. Where the disk refuses, the person at the unit
        is told all the same.
        """
        noted = warned_id(ask.id)
        try:
            first = await self._around.find(noted) if warnings else None
            if isinstance(first, Warned) and (warnings := [it for it in warnings if it not in first.warnings]):
                noted = warned_id(ask.id, warnings)
            if warnings and await self._around.find(noted) is None:
                time_s, whom = round(self._around.time_s(), 3), ask.by.strip()
                mark = Warned(noted, time_s, of=ask.id, whom=whom, warnings=tuple(warnings), says=says, refused=refused)
                await self._around.add(mark)
        except NotSavedError as error:
            logger.error("NOT SAVED: a warning of the ask %s: %s", ask.id, error)  # noqa: TRY400 - the disk's fault

    async def _added(self, mark: Mark) -> Mark:
        _check_can_be_told(mark)
        return await self._around.add(mark)

    async def _open(self, ask: OpenAsk, head: Head) -> Mark:
        """Go to another unit. The mark of it is the first that is recorded there."""
        standing, facts = self._around.standing(), self._around.facts()
        opened = decided(ask, lambda asked: open_visit(asked, head, standing, facts))
        await self._around.open(opened)
        return opened

    async def _reload(self, _: ReloadAsk, head: Head) -> Mark:
        return await self._added(Reloaded(*head, text=await self._around.reload()))

    async def _check(self, ask: CheckAsk, head: Head) -> Mark:
        return await self._added(Checked(*head, check=decided(ask, self._checked)))

    def _checked(self, ask: CheckAsk) -> CheckFound:
        try:
            return self._around.check(ask)
        except ElsewhereError as error:
            raise DoubtfulError(*(to_ask(said, f"check.{name}") for name, said in error.questions.items())) from error

    async def _correct(self, ask: CorrectAsk, head: Head) -> Mark:
        return await self._added(Corrected(*head, calibration=self._around.correct(await self._checks(ask))))

    async def _photograph(self, ask: PhotographAsk, head: Head) -> Mark | None:
        """Take a part of a photograph; that is recorded once all parts are there, under the photograph's own id."""
        check_part(ask, self._around.standing(), self._around.facts())
        _, _, by, role = head
        visit = self._around.standing().visit

        async def keep(picture: Picture) -> Photograph:
            of_the_whole = (ask.photograph, round(self._around.time_s(), 3), by, role)
            mark = photograph(ask, of_the_whole, picture)
            await self._around.add_photograph(mark, picture.jpeg, visit)
            return mark

        return await self._around.parts.take(ask, visit, keep)

    HANDLERS: ClassVar[Mapping[type[Ask], Handler]] = {
        OpenAsk: _open,
        ReloadAsk: _reload,
        CheckAsk: _check,
        CorrectAsk: _correct,
        PhotographAsk: _photograph,
    }

    async def _checks(self, ask: CorrectAsk) -> dict[str, CheckFound]:
        """Find what the checks found that an ask names."""
        if len(set(ask.checks)) not in (1, 2):
            named = len(set(ask.checks))
            raise RefusedError(f"checks names {named} checks; one, or two at different values, were expected")
        found = {}
        for check_id in ask.checks:
            mark = await self._around.find(check_id)
            if not isinstance(mark, Checked):
                raise CheckRefusedError(f"there is no check {check_id!r} to correct by")
            found[check_id] = mark.check
        return found


def warned_id(ask_id: str, later: Sequence[str] = ()) -> str:
    """Give the id of the mark that tells of what was said to an ask: always the same, so that it is noted once.

    later: what came up only as it was asked again.
    """
    return hashlib.sha256(" ".join(["warned", ask_id, *later]).encode()).hexdigest()[:32]


def _check_can_be_told(mark: Mark) -> None:
    """Refuse what is larger as a mark, in its answer, than anybody reads: what was recorded of it would be lost."""
    size = len(encode(Answer(mark.id, ok=True, mark=mark)))
    if size > LARGEST_MESSAGE_BYTES:
        raise RefusedError(
            f"with all that belongs to it, it has {size} bytes; at most {LARGEST_MESSAGE_BYTES} are kept: name less"
        )


def _may_not(role: Role, kind: str) -> str:
    """Say what somebody may ask for, from the table, who asked for something else.

    >>> _may_not("technician", "stop")
    'stop is for a lead: a technician acts at the unit, and a lead watches, answers and asks to stop'
    """
    if role == "technician":
        return f"{kind} is for a lead: a technician acts at the unit, and a lead watches, answers and asks to stop"
    *others, last = (word for word, roles in MAY_ASK.items() if role in roles)
    may = f"{', '.join(others)} and {last}"
    return f"{kind} is for the technician at the unit, who records what was done; a lead may ask for {may}"


def _check_texts(ask: Ask) -> None:
    """Refuse a text that nobody could have meant: it is kept for ever, and shown to everybody."""
    for field in ask.__struct_fields__:
        value = getattr(ask, field)
        texts = [value] if isinstance(value, str) else value if isinstance(value, list | tuple) else []
        for text in filter(lambda each: isinstance(each, str), texts):  # a signature is a list of strokes
            is_words = field == "text"
            if wrong := fault(text, LONGEST_TEXT if is_words else LONGEST_NAME, several_lines=is_words):
                raise RefusedError(f"{field} {wrong}")
    if is_empty(ask.by):
        raise RefusedError("by is empty: the name of who asks was expected")
