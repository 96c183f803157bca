"""What a technician or a lead asks for: validated, done, recorded as a mark, answered.

What an answer confirms was on the disk before it went out. Asking twice under one id records once; an id that was used
for something else is refused. Who asks is the user in the topic, bound to a credential by the broker; what that user
may ask stands in one table (`ingest.wire.asks.ASKS`).
A new kind is a struct and a line there, a handler here with its line in `Asks.HANDLERS`, and a line in
`ingest.visit.repeated`.
"""

import logging
from collections.abc import Awaitable, Callable, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import Any, ClassVar

from msgspec.structs import replace

from calc.ledger import HEAVIEST_KG, LIGHTEST_KG, Doubtful, Ledger, doubtful_amount
from ingest.field_checks import CheckRefusedError, ElsewhereError
from ingest.record.errors import NotSavedError
from ingest.reload import ReloadError
from ingest.visit.amounts import question
from ingest.visit.repeated import is_repeated, used_for
from ingest.wire.asks import MAY_ASK
from ingest.wire.messages import (
    AcknowledgeAsk,
    Acknowledged,
    Added,
    AddedAsk,
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
    Mark,
    MessageError,
    MoveAsk,
    Note,
    NoteAsk,
    Reading,
    ReadingAsk,
    ReadingTaken,
    Recovered,
    RecoveredAsk,
    ReloadAsk,
    Reloaded,
    Role,
    Wording,
    decode_ask,
    encode,
    read_id,
)
from ingest.wire.roles import role_of
from ingest.wire.texts import LONGEST_NAME, LONGEST_TEXT, fault, is_empty, shown

logger = logging.getLogger(__name__)

_LONGEST_REASON = 200


Head = tuple[str, float, str, Role]
"""What every mark begins with: id, time [s since 1970], by, role."""
Handler = Callable[[Any, Any, Head], Awaitable[Mark]]
"""From an ask of its kind to the mark of it. Raises RefusedError, DoubtfulError, or what the surroundings raise."""


class RefusedError(Exception):
    """An ask that cannot be recorded: says why. wording: the same in either system of units, where it has figures."""

    def __init__(self, reason: str, wording: Wording | None = None) -> None:
        super().__init__(reason)
        self.wording = wording


class DoubtfulError(Exception):
    """An ask that is recorded only once the person has confirmed it. question: what to ask them."""

    def __init__(self, question: Wording) -> None:
        super().__init__(question.us)
        self.question = question


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What answering needs from the daemon.

    users: the role of each user at the broker. find: a mark by its id. add: stores a mark; raises NotSavedError.
    readings: the newest of each channel and figure. in_doubt, unsettled: those of them that are. reload: reads the
    configuration again and says what changed; raises ReloadError. check: compares a channel with what is true; raises
    CheckRefusedError, or ElsewhereError to ask first. correct: makes a calibration of checks, by their ids; raises
    CheckRefusedError. ledger: what the visit's moves come to. nameplate_charge_kg: of the unit, None where there is
    none. time_s: tells wall time.
    """

    users: Mapping[str, Role]
    find: Callable[[str], Awaitable[Mark | None]]
    add: Callable[[Mark], Awaitable[None]]
    readings: Callable[[], Mapping[str, Reading]]
    in_doubt: Callable[[], AbstractSet[str]]
    unsettled: Callable[[], AbstractSet[str]]
    reload: Callable[[], Awaitable[str]]
    check: Callable[[CheckAsk], CheckFound]
    correct: Callable[[Mapping[str, CheckFound]], Calibration]
    ledger: Callable[[], Ledger]
    nameplate_charge_kg: Callable[[], float | None]
    time_s: Callable[[], float]


class Asks:
    """Answers asks. refused_messages: how many could not even be read."""

    def __init__(self, surroundings: Surroundings) -> None:
        self._around = surroundings
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

    def _refuse(self, path: str, reason: str) -> None:
        self.refused_messages += 1
        logger.info("ask/%.80r refused (%d so far): %.200s", path, self.refused_messages, reason)

    async def answer(self, user: str, kind: str, ask: Ask) -> Answer:
        """Record what is asked, and say so; or say why not; or what to ask the person first."""
        try:
            role = self._role(user, kind, ask)
            mark = await self._known(ask, role)
            if mark is None:
                mark = await self._mark(ask, role)
                await self._around.add(mark)
        except (DoubtfulError, ElsewhereError) as error:
            return Answer(ask.id, ok=False, question=error.question)
        except NotSavedError as error:
            return Answer(ask.id, ok=False, reason=f"not saved: {error}")
        except RefusedError as error:
            return Answer(ask.id, ok=False, reason=str(error), refusal=error.wording)
        except (ReloadError, CheckRefusedError) as error:
            return Answer(ask.id, ok=False, reason=str(error))
        return Answer(ask.id, ok=True, mark=mark)

    def _role(self, user: str, kind: str, ask: Ask) -> Role:
        """Tell in which role a user asks, from the table."""
        role = role_of(user, self._around.users)
        if role is None:
            raise RefusedError(f"{shown(user)!r} is nobody whom this rig knows; users stand in its configuration")
        if kind != ask.kind:
            raise RefusedError(f"the topic says {shown(kind)!r}, the ask {ask.kind!r}")
        if role not in MAY_ASK[ask.kind]:
            raise RefusedError("a lead may leave notes; the technician at the unit records what was done")
        _check_texts(ask)
        return role

    async def _known(self, ask: Ask, role: Role) -> Mark | None:
        """Find what was recorded of an ask that is sent again. Refuse an id that was used for something else."""
        mark = await self._around.find(ask.id)
        if mark is None:
            return None
        if isinstance(ask, CorrectionAsk) and isinstance(earlier := await self._around.find(ask.of), Correction):
            ask = replace(ask, of=earlier.of)
        if is_repeated(ask, role, mark):
            return mark
        used = used_for(mark)
        raise RefusedError(used.us, used)

    async def _mark(self, ask: Ask, role: Role) -> Mark:
        """Do what is asked, short of recording it, and give the mark that tells of it."""
        head = (ask.id, round(self._around.time_s(), 3), ask.by.strip(), role)
        return await self.HANDLERS[type(ask)](self, ask, head)

    async def _move(self, ask: MoveAsk, head: Head) -> Mark:
        self._weigh(ask)
        kind = Added if isinstance(ask, AddedAsk) else Recovered
        return kind(*head, mass_kg=ask.mass_kg, phase=ask.phase)

    async def _correction(self, ask: CorrectionAsk, head: Head) -> Mark:
        return Correction(*head, of=self._corrected_move(ask), mass_kg=ask.mass_kg or None)

    async def _reading(self, _: ReadingAsk, head: Head) -> Mark:
        readings = self._around.readings()
        spreads = {name: _rounded(reading.standard_uncertainty) for name, reading in readings.items()}
        return ReadingTaken(
            *head,
            figures={name: _rounded(reading.value) for name, reading in readings.items()},
            standard_uncertainties={name: spread for name, spread in spreads.items() if spread is not None},
            in_doubt=sorted(self._around.in_doubt() & readings.keys()),
            unsettled=sorted(self._around.unsettled() & readings.keys()),
        )

    async def _note(self, ask: NoteAsk, head: Head) -> Mark:
        if is_empty(ask.text):
            raise RefusedError("a note needs a text")
        return Note(*head, text=ask.text.strip())

    async def _acknowledge(self, ask: AcknowledgeAsk, head: Head) -> Mark:
        if not isinstance(await self._around.find(ask.of), Note):
            raise RefusedError(f"there is no note {ask.of!r} to acknowledge")
        return Acknowledged(*head, of=ask.of)

    async def _reload(self, _: ReloadAsk, head: Head) -> Mark:
        return Reloaded(*head, text=await self._around.reload())

    async def _check(self, ask: CheckAsk, head: Head) -> Mark:
        return Checked(*head, check=self._around.check(ask))

    async def _correct(self, ask: CorrectAsk, head: Head) -> Mark:
        return Corrected(*head, calibration=self._around.correct(await self._checks(ask)))

    HANDLERS: ClassVar[Mapping[type[Ask], Handler]] = {
        AddedAsk: _move,
        RecoveredAsk: _move,
        CorrectionAsk: _correction,
        ReadingAsk: _reading,
        NoteAsk: _note,
        AcknowledgeAsk: _acknowledge,
        ReloadAsk: _reload,
        CheckAsk: _check,
        CorrectAsk: _correct,
    }

    def _weigh(self, ask: MoveAsk) -> None:
        """Refuse an amount that cannot be, and ask about one that is unlikely for this unit."""
        if not LIGHTEST_KG <= ask.mass_kg <= HEAVIEST_KG:
            raise RefusedError(_no_amount(ask.mass_kg))
        if isinstance(ask, AddedAsk) and not ask.phase:
            raise RefusedError("phase is missing: liquid or vapour, as it left the cylinder")
        ledger = self._around.ledger()
        self._doubt(
            ask.mass_kg if isinstance(ask, AddedAsk) else -ask.mass_kg, ledger.net_kg, ledger, confirmed=ask.confirmed
        )

    def _corrected_move(self, ask: CorrectionAsk) -> str:
        """Find the move that a correction is of; its new amount is weighed like a first one."""
        ledger = self._around.ledger()
        move = ledger.original(ask.of)
        if move is None:
            raise RefusedError(f"there is no amount {ask.of!r} of this visit to correct")
        if ask.mass_kg and not LIGHTEST_KG <= ask.mass_kg <= HEAVIEST_KG:
            raise RefusedError(f"{_no_amount(ask.mass_kg)}; 0 takes it back")
        sign = 1 if ledger.is_added(move) else -1
        before_kg = ledger.net_kg - sign * (ledger.mass_kg(move) or 0.0)
        self._doubt(sign * (ask.mass_kg or 0.0), before_kg, ledger, confirmed=ask.confirmed, without=move)
        return move

    def _doubt(self, change_kg: float, net_kg: float, ledger: Ledger, *, confirmed: bool, without: str = "") -> None:
        recovered_kg = ledger.recovered_kg
        if without and not ledger.is_added(without):
            recovered_kg -= ledger.mass_kg(without) or 0.0
        nameplate_kg = self._around.nameplate_charge_kg()
        why = doubtful_amount(change_kg, net_kg, recovered_kg, nameplate_kg=nameplate_kg)
        if why is None or (confirmed and why is not Doubtful.IMPOSSIBLE):
            return
        asked = question(why, change_kg, net_kg=net_kg, recovered_kg=recovered_kg, nameplate_kg=nameplate_kg)
        if why is Doubtful.IMPOSSIBLE:
            raise RefusedError(asked.us, asked)
        raise DoubtfulError(asked)

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


def _check_texts(ask: Ask) -> None:
    """Refuse a text that nobody could have meant: it is kept for ever, and shown to everybody."""
    for field in ask.__struct_fields__:
        value = getattr(ask, field)
        for text in [value] if isinstance(value, str) else value if isinstance(value, list | tuple) else []:
            is_words = field == "text"
            if wrong := fault(text, LONGEST_TEXT if is_words else LONGEST_NAME, several_lines=is_words):
                raise RefusedError(f"{field} {wrong}")
    if is_empty(ask.by):
        raise RefusedError("by is empty: the name of who asks was expected")


def _rounded(value: float | None) -> float | None:
    return None if value is None else float(f"{value:.7g}")


def _no_amount(mass_kg: float) -> str:
    much = "more" if mass_kg > HEAVIEST_KG else "less"
    return f"mass_kg: the amount is {much} than can be noted at once: 0.0035 oz to 110 lb (0.1 g to 50 kg)"
