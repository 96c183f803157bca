"""What a technician or a lead asks for: validated, done, recorded as a mark, answered.

What an answer confirms was on the disk before it went out. Asking twice under one id records once. A lead
watches from elsewhere and may leave notes; only the technician at the unit says what was done to it.
"""

import logging
import re
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from typing import get_args

import msgspec

from ingest.field_checks import CheckRefusedError
from ingest.record.errors import NotSavedError
from ingest.reload import ReloadError
from ingest.wire.messages import (
    Answer,
    Ask,
    AskKind,
    Calibration,
    CheckFound,
    Mark,
    MessageError,
    Reading,
    decode,
    encode,
)

logger = logging.getLogger(__name__)

KINDS: tuple[str, ...] = get_args(AskKind)
HEAVIEST_KG = 50.0
"""More than any single addition to equipment of this kind: a slip of the decimal point."""
LONGEST_TEXT = 500
LONGEST_NAME = 64

_ID = re.compile(r"[A-Za-z0-9_-]{1,64}")


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What answering needs from the daemon.

    find: a mark by its id. add: stores a mark; raises NotSavedError. readings: the newest of each channel and
    figure. reload: reads the configuration again and says what changed; raises ReloadError. check: compares a channel
    with what is true; raises CheckRefusedError. correct: makes a calibration of checks, by their ids; raises likewise.
    time_s: tells wall time.
    """

    find: Callable[[str], Awaitable[Mark | None]]
    add: Callable[[Mark], Awaitable[None]]
    readings: Callable[[], Mapping[str, Reading]]
    reload: Callable[[], Awaitable[str]]
    check: Callable[[Ask], CheckFound]
    correct: Callable[[Mapping[str, CheckFound]], Calibration]
    time_s: Callable[[], float]


class Asks:
    """Answers asks. refused_messages: how many could not even be read."""

    def __init__(self, surroundings: Surroundings) -> None:
        self._around = surroundings
        self.refused_messages = 0

    async def handle(self, kind: str, payload: bytes) -> tuple[str, bytes] | None:
        """Answer one message: the id and payload of the answer; None where it has no id to answer to."""
        try:
            ask = decode(payload, Ask)
        except MessageError as error:
            self._refuse(kind, str(error))
            return None
        if not _ID.fullmatch(ask.id):
            self._refuse(kind, "its id is not 1 to 64 letters, digits, - and _")
            return None
        answer = await self.answer(kind, ask)
        return ask.id, encode(answer)

    def _refuse(self, kind: str, reason: str) -> None:
        self.refused_messages += 1
        logger.info("ask/%.32s refused (%d so far): %.200s", kind, self.refused_messages, reason)

    async def answer(self, kind: str, ask: Ask) -> Answer:
        """Record what is asked, and say so; or say why not."""
        try:
            known = await self._around.find(ask.id)
            if known is not None:
                return Answer(ask.id, ok=True, mark=known)
            reason = refusal(kind, ask) or await self._missing_note(kind, ask)
            if reason:
                return Answer(ask.id, ok=False, reason=reason)
            mark = await self._done(kind, ask, self._mark(kind, ask))
            await self._around.add(mark)
        except NotSavedError as error:
            return Answer(ask.id, ok=False, reason=f"not saved: {error}")
        except (ReloadError, CheckRefusedError) as error:
            return Answer(ask.id, ok=False, reason=str(error))
        return Answer(ask.id, ok=True, mark=mark)

    async def _done(self, kind: str, ask: Ask, mark: Mark) -> Mark:
        """Do what is more than to record, and tell of it in the mark."""
        match kind:
            case "reload":
                return msgspec.structs.replace(mark, text=await self._around.reload())
            case "check":
                return msgspec.structs.replace(mark, check=self._around.check(ask))
            case "correct":
                return msgspec.structs.replace(mark, calibration=self._around.correct(await self._checks(ask)))
        return mark

    async def _checks(self, ask: Ask) -> dict[str, CheckFound]:
        """Find what the checks found that an ask names."""
        found = {}
        for check_id in ask.checks:
            mark = await self._around.find(check_id)
            if mark is None or mark.check is None:
                raise CheckRefusedError(f"there is no check {check_id!r} to correct by")
            found[check_id] = mark.check
        return found

    async def _missing_note(self, kind: str, ask: Ask) -> str:
        """Say so where an acknowledgement names no note; empty otherwise."""
        if kind != "acknowledge":
            return ""
        note = await self._around.find(ask.of)
        return "" if note and note.kind == "note" else f"there is no note {ask.of!r} to acknowledge"

    def _mark(self, kind: str, ask: Ask) -> Mark:
        figures: dict[str, float | None] = {}
        if kind == "reading":
            figures = {name: _rounded(reading.value) for name, reading in self._around.readings().items()}
        return Mark(
            id=ask.id,
            kind=kind,
            time_s=round(self._around.time_s(), 3),
            by=ask.by.strip(),
            role=ask.role,
            text=ask.text.strip(),
            mass_kg=ask.mass_kg,
            phase=ask.phase,
            of=ask.of,
            figures=figures,
        )


def refusal(kind: str, ask: Ask) -> str:
    """Say why an ask cannot be recorded; empty where it can."""
    if kind not in KINDS:
        return f"{kind!r} is none of {', '.join(KINDS)}"
    if ask.role == "lead" and kind != "note":
        return "a lead may leave notes; the technician at the unit records what was done"
    if not ask.by.strip() or len(ask.by) > LONGEST_NAME:
        return f"by is the name of who asks, of at most {LONGEST_NAME} letters"
    if len(ask.text) > LONGEST_TEXT:
        return f"the text has {len(ask.text)} letters; at most {LONGEST_TEXT} are kept"
    if kind == "note" and not ask.text.strip():
        return "a note needs a text"
    if kind in ("added", "recovered"):
        return _charge_refusal(kind, ask)
    if ask.mass_kg is not None or ask.phase:
        return f"mass and phase do not belong to {kind!r}"
    if kind == "correct" and len(set(ask.checks)) not in (1, 2):
        return f"checks names {len(set(ask.checks))} checks; one, or two at different values, were expected"
    return ""


def _charge_refusal(kind: str, ask: Ask) -> str:
    if ask.mass_kg is None:
        return f"mass_kg is missing: how much was {kind}, off the scale"
    if not 0 < ask.mass_kg <= HEAVIEST_KG:
        return f"mass_kg is {ask.mass_kg:g}; more than 0, at most {HEAVIEST_KG:g}, was expected"
    if kind == "added" and not ask.phase:
        return "phase is missing: liquid or vapour, as it left the cylinder"
    return ""


def _rounded(value: float | None) -> float | None:
    return None if value is None else float(f"{value:.7g}")
