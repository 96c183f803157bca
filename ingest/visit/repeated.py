"""Whether a mark is what an ask asks for: then the ask is only sent again, after an answer that was lost.

Compared is all that the person said. What the rig adds itself (the time, figures, what a check found or a file changed)
was so when the mark was made. A confirmation belongs to the asking.
"""

from collections.abc import Callable, Mapping
from typing import Any

from msgspec.structs import replace

from calc.sentences import Part, Sentence, weighed
from ingest.wire.messages import (
    AcknowledgeAsk,
    Acknowledged,
    Added,
    AddedAsk,
    Ask,
    CheckAsk,
    Checked,
    CheckFound,
    CorrectAsk,
    Corrected,
    Correction,
    CorrectionAsk,
    Mark,
    MoveAsk,
    Note,
    NoteAsk,
    ReadingAsk,
    ReadingTaken,
    Recovered,
    RecoveredAsk,
    ReloadAsk,
    Reloaded,
    Role,
)
from ingest.wire.wording import Wording, worded

_ASKED: Mapping[type[Mark], Callable[[Any], Ask]] = {
    Added: lambda it: AddedAsk(it.id, it.by, mass_kg=it.mass_kg, phase=it.phase),
    Recovered: lambda it: RecoveredAsk(it.id, it.by, mass_kg=it.mass_kg, phase=it.phase),
    Correction: lambda it: CorrectionAsk(it.id, it.by, of=it.of, mass_kg=it.mass_kg),
    ReadingTaken: lambda it: ReadingAsk(it.id, it.by),
    Note: lambda it: NoteAsk(it.id, it.by, text=it.text),
    Acknowledged: lambda it: AcknowledgeAsk(it.id, it.by, of=it.of),
    Reloaded: lambda it: ReloadAsk(it.id, it.by),
    Checked: lambda it: _check_asked(it.id, it.by, it.check),
    Corrected: lambda it: CorrectAsk(it.id, it.by, checks=tuple(it.calibration.checks)),
}
"""What was asked, by what was recorded of it."""


def _check_asked(mark_id: str, by: str, found: CheckFound) -> CheckAsk:
    return CheckAsk(
        mark_id,
        by,
        check=found.kind,
        channel=found.channel,
        other=found.other,
        value=found.value,
        value_accuracy=found.value_accuracy,
    )


def is_repeated(ask: Ask, role: Role, mark: Mark) -> bool:
    """Say whether an ask, sent in a role, is the one that made this mark. A correction names the move itself."""
    asked = _ASKED.get(type(mark))
    return asked is not None and role == mark.role and _as_recorded(ask) == asked(mark)


def _as_recorded(ask: Ask) -> Ask:
    """Write an ask as its mark keeps it."""
    said: dict[str, object] = {"by": ask.by.strip()}
    if isinstance(ask, MoveAsk | CorrectionAsk | CheckAsk):
        said["confirmed"] = False
    match ask:
        case CorrectionAsk():
            said["mass_kg"] = ask.mass_kg or None
        case NoteAsk():
            said["text"] = ask.text.strip()
        case CorrectAsk():
            said["checks"] = tuple(dict.fromkeys(ask.checks))
    return replace(ask, **said)


def used_for(mark: Mark) -> Wording:
    """Say that an id was used for something else, and what to do. An amount is told: nobody shall record it again.

    >>> used_for(Added("a1", 1.7e9, "Sam", "technician", mass_kg=0.11339809)).us
    'Recorded before under this id: 4 oz added. Correct that, or ask again under a new one.'

    """
    match mark:
        case Added() | Recovered():
            what = f"amount.{mark.kind}"
        case Correction():
            what = "amount.corrected" if mark.mass_kg else "amount.withdrawn"
        case _:
            return worded(Sentence("refusal.used_before"))
    parts = (Part("what", "sentence", terms=(what,)), weighed("amount", mark.mass_kg or 0.0))
    return worded(Sentence("refusal.recorded_before", parts))
