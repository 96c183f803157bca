"""Whether a mark is what an ask asks for: then the ask is only sent again, after an answer that was lost.

Compared is all that the person said. What the rig adds itself (the time, figures, what a check found or a file changed)
was so when the mark was made. A confirmation belongs to the asking.
"""

from collections.abc import Callable, Mapping
from typing import Any

from msgspec.structs import replace

from calc.sentences import Part, Sentence, weighed
from ingest.visit.cylinders import as_designated
from ingest.visit.finding import MOTOR, SECTIONS
from ingest.visit.signing import drawn
from ingest.wire.messages import (
    AcknowledgeAsk,
    Acknowledged,
    Added,
    AddedAsk,
    Ask,
    BaselineWithdrawn,
    ChargeLeft,
    CheckAsk,
    Checked,
    CheckFound,
    ChooseAsk,
    Chosen,
    CorrectAsk,
    Corrected,
    Correction,
    CorrectionAsk,
    CylinderAsk,
    CylinderDescribed,
    DescribeAsk,
    Described,
    DismissAsk,
    Dismissed,
    Finding,
    FindingAsk,
    Grade,
    HandedOver,
    HandOverAsk,
    Hold,
    HoldAsk,
    HoseAsk,
    HoseSet,
    KeepAsk,
    Kept,
    LeaveChargeAsk,
    Mark,
    Moved,
    Note,
    NoteAsk,
    OpenAsk,
    PatternAsk,
    PatternBegun,
    Photograph,
    PhotographAsk,
    PlaceAsk,
    Placed,
    Proposed,
    ProposedMove,
    Question,
    QuestionAsk,
    ReadingAsk,
    ReadingTaken,
    Recovered,
    RecoveredAsk,
    ReleaseAsk,
    Released,
    ReloadAsk,
    Reloaded,
    Reply,
    ReplyAsk,
    ResumeAsk,
    Resumed,
    Role,
    Seen,
    SeenAsk,
    SignAsk,
    Signed,
    Stop,
    StopAsk,
    VisitOpened,
    WaitAsk,
    Waiting,
    Want,
    WantAsk,
    WithdrawBaselineAsk,
)
from ingest.wire.wording import Wording, worded


def _finding_asked(found: Finding) -> FindingAsk:
    return FindingAsk(
        found.id,
        found.by,
        check=found.check,
        grade=found.grade,
        outcome=found.said,
        values=dict(found.values),
        accuracies=dict(found.accuracies),
        grades=dict(found.grades),
        choices=dict(found.choices),
        photographs=tuple(found.photographs),
        by_photograph=dict(found.by_photograph),
        part=found.part,
        circuit=found.circuit,
        reason=found.reason,
        builds_on=found.builds_on,
        text=found.text,
        want=found.want,
    )


_OF_ANY_PART: Mapping[str, Any] = {"part_number": 0, "part_count": 0, "data": b""}
"""What tells the parts of one photograph apart; that they are of the same file, its digest tells."""


def _photograph_sent(it: Photograph) -> PhotographAsk:
    return PhotographAsk(
        it.id,
        it.by,
        photograph=it.id,
        digest=it.sent_digest,
        **_OF_ANY_PART,
        text=it.text,
        check=it.check,
        part=it.part,
        circuit=it.circuit,
        unit=it.unit,
        want=it.want,
        shot=it.shot,
    )


def _move_asked(it: Moved) -> dict[str, Any]:
    """Give the fields of the ask."""
    return {
        "id": it.id,
        "by": it.by,
        "mass_kg": it.mass_kg,
        "phase": it.phase,
        "circuit": it.circuit,
        "cylinder": it.cylinder,
        "how": it.how,
        "within_share": it.within_share,
        "port": it.port,
        "purpose": it.purpose,
        "proposal": it.proposal,
    }


def _cylinder_asked(it: CylinderDescribed) -> CylinderAsk:
    return CylinderAsk(
        it.id,
        it.by,
        name=it.name,
        use=it.use,
        refrigerant=it.refrigerant,
        tare_kg=it.tare_kg,
        water_capacity_kg=it.water_capacity_kg,
        gross_kg=it.gross_kg,
        hose_m=it.hose_m,
        hose_bore_m=it.hose_bore_m,
        photographs=tuple(it.photographs),
    )


_ASKED: Mapping[type[Mark], Callable[[Any], Ask]] = {
    Added: lambda it: AddedAsk(**_move_asked(it)),
    Recovered: lambda it: RecoveredAsk(**_move_asked(it)),
    Correction: lambda it: CorrectionAsk(
        it.id, it.by, of=it.of, mass_kg=it.mass_kg, circuit=it.circuit, cylinder=it.cylinder
    ),
    CylinderDescribed: _cylinder_asked,
    ReadingTaken: lambda it: ReadingAsk(it.id, it.by, want=it.want),
    Note: lambda it: NoteAsk(it.id, it.by, text=it.text, at_s=it.at_s),
    Acknowledged: lambda it: AcknowledgeAsk(it.id, it.by, of=it.of),
    Reloaded: lambda it: ReloadAsk(it.id, it.by),
    Checked: lambda it: _check_asked(it.id, it.by, it.check),
    VisitOpened: lambda it: OpenAsk(it.id, it.by, unit=it.unit, circuit=it.circuit, grade=it.grade),
    Placed: lambda it: PlaceAsk(it.id, it.by, on=it.on, channels=tuple(it.channels), turns=it.turns),
    HoseSet: lambda it: HoseAsk(it.id, it.by, port=it.port, on=it.on),
    ChargeLeft: lambda it: LeaveChargeAsk(it.id, it.by, reason=it.reason, circuit=it.circuit, text=it.text),
    Waiting: lambda it: WaitAsk(it.id, it.by, reason=it.reason, text=it.text),
    Resumed: lambda it: ResumeAsk(it.id, it.by),
    HandedOver: lambda it: HandOverAsk(it.id, it.by, to=it.to, text=it.text),
    Signed: lambda it: SignAsk(
        it.id,
        it.by,
        name=it.name,
        strokes=drawn(it.strokes),
        company=it.company,
        certificate=it.certificate,
        owner=it.owner,
        owner_strokes=drawn(it.owner_strokes),
    ),
    Corrected: lambda it: CorrectAsk(it.id, it.by, checks=tuple(it.calibration.checks)),
    Dismissed: lambda it: DismissAsk(it.id, it.by, of=it.of, text=it.text),
    Finding: _finding_asked,
    Described: lambda it: DescribeAsk(it.id, it.by, sheet=it.sheet, circuits_were=tuple(it.circuits_were)),
    Question: lambda it: QuestionAsk(it.id, it.by, text=it.text, check=it.check, photographs=tuple(it.photographs)),
    Reply: lambda it: ReplyAsk(it.id, it.by, of=it.of, text=it.text),
    Want: lambda it: WantAsk(it.id, it.by, what=it.what, text=it.text),
    Hold: lambda it: HoldAsk(it.id, it.by, before=it.before, text=it.text),
    Released: lambda it: ReleaseAsk(it.id, it.by, of=it.of, once=it.once, text=it.text),
    Stop: lambda it: StopAsk(it.id, it.by, text=it.text),
    Seen: lambda it: SeenAsk(it.id, it.by, of=it.of),
    Photograph: _photograph_sent,
    PatternBegun: lambda it: PatternAsk(it.id, it.by, states=len(it.times_s)),
    BaselineWithdrawn: lambda it: WithdrawBaselineAsk(it.id, it.by, of=it.of, text=it.text),
    Chosen: lambda it: ChooseAsk(it.id, it.by, tag=it.tag, grade=it.grade, photographs=tuple(it.photographs)),
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
    if isinstance(ask, KeepAsk):
        return isinstance(mark, Kept) and role == mark.role and _is_kept_so(ask, mark)
    asked = _ASKED.get(type(mark))
    return asked is not None and role == mark.role and _as_recorded(ask, mark) == asked(mark)


def are_alike(one: Ask, other: Ask) -> bool:
    """Say whether two asks say the same, though neither is recorded yet."""
    return replace(one, **_as_kept(one)) == replace(other, **_as_kept(other))


def as_proposed(ask: KeepAsk, proposed: Proposed) -> KeepAsk:
    """Write an ask to keep a move with the amount that it means: what was proposed, where it names none [kg]."""
    if ask.mass_kg is None and isinstance(proposed.what, ProposedMove):
        return replace(ask, mass_kg=abs(proposed.what.mass_kg))
    return ask


def _is_kept_so(ask: KeepAsk, mark: Kept) -> bool:
    """Say whether a proposal was kept so."""
    if (ask.by.strip(), ask.of) != (mark.by, mark.proposal):
        return False
    if isinstance(mark, Added | Recovered):
        return mark.how in ("scale", "typed") and ask.phase == mark.phase and ask.mass_kg == mark.mass_kg
    taken = {name.partition(".")[2] or name for name in mark.values} if isinstance(mark, Finding) else set()
    chosen = mark.choices.items() if isinstance(mark, Finding) else ()
    is_chosen = all(each in chosen for each in ask.choices.items())
    return ask.mass_kg is None and not ask.phase and set(ask.per) <= taken and is_chosen


_WORDS = ("by", "text", "to", "name", "company", "certificate", "owner")
"""What is kept without the spaces around it."""
_DRAWN = ("strokes", "owner_strokes")


def _as_kept(ask: Ask) -> dict[str, object]:
    """Give what is kept otherwise of any ask: its words without spaces around them, no confirmation, no visit.

    Of what is drawn no more than anybody sees.
    """
    fields = ask.__struct_fields__
    words: dict[str, object] = {field: getattr(ask, field).strip() for field in fields if field in _WORDS}
    words |= {field: drawn(getattr(ask, field)) for field in fields if field in _DRAWN}
    words["visit"] = ""  # a mark stands in its visit
    return words | {"confirmed": False, "confirms": ()} if "confirmed" in fields else words


def _as_recorded(ask: Ask, mark: Mark) -> Ask:
    """Write an ask as its mark keeps it."""
    said = _as_kept(ask)
    match ask:
        case OpenAsk() | PlaceAsk() | LeaveChargeAsk():
            said |= _as_it_was_there(ask, mark)
        case CorrectionAsk():
            said["mass_kg"] = ask.mass_kg or None
        case CylinderAsk():
            said |= {"photographs": tuple(ask.photographs), "refrigerant": as_designated(ask.refrigerant)}
        case FindingAsk():
            said |= _answers_as_recorded(ask, mark)
        case CorrectAsk():
            said["checks"] = tuple(dict.fromkeys(ask.checks))
        case ChooseAsk():
            said |= {"tag": ask.tag.strip(), "photographs": tuple(dict.fromkeys(ask.photographs))}
        case DescribeAsk():
            said |= {"builds_on": "", "circuits_were": tuple(ask.circuits_were)}
        case QuestionAsk():
            said["photographs"] = tuple(dict.fromkeys(ask.photographs))
        case PhotographAsk():
            said |= {"id": ask.photograph, **_OF_ANY_PART}
    return replace(ask, **said)


def _as_it_was_there(ask: OpenAsk | PlaceAsk | LeaveChargeAsk, mark: Mark) -> dict[str, object]:
    """Write out what was left to the rig: the first circuit or the one in view, and all that reads a circuit."""
    match mark:
        case VisitOpened() if isinstance(ask, OpenAsk) and not ask.circuit:
            return {"circuit": mark.circuit}
        case ChargeLeft() if isinstance(ask, LeaveChargeAsk):
            return {"circuit": ask.circuit or mark.circuit}
        case Placed() if isinstance(ask, PlaceAsk) and not ask.channels:
            return {"channels": tuple(mark.channels)}
    return {"channels": tuple(dict.fromkeys(ask.channels))} if isinstance(ask, PlaceAsk) else {}


def _answers_as_recorded(ask: FindingAsk, mark: Mark) -> dict[str, object]:
    """Write what a check was answered as its mark keeps it: with what it builds on, where that is in the mark.

    Who named no circuit meant the one in view, which the mark names; of a motor its part tells what it drives, and that
    tells the part; which sections a capacitor has, the visit may know.
    """
    said: dict[str, object] = {"photographs": tuple(dict.fromkeys(ask.photographs))}
    if not isinstance(mark, Finding):
        return said
    said["circuit"] = ask.circuit or mark.circuit
    if MOTOR in mark.choices:
        told_by_it = {MOTOR: mark.choices[MOTOR]} if ask.part else {}
        said |= {"part": ask.part or mark.part, "choices": told_by_it | dict(ask.choices)}
    if SECTIONS in mark.choices:  # what the visit knew is in the mark too
        said["choices"] = {SECTIONS: mark.choices[SECTIONS]} | dict(ask.choices)
    if ask.values and all(_is_graded_so(ask.grades.get(name, ask.grade), mark.grades.get(name)) for name in ask.values):
        said |= {"grade": mark.grade, "grades": dict(mark.grades)}
    if not ask.builds_on:
        return said
    kept = mark.values.items() >= ask.values.items() and mark.choices.items() >= ask.choices.items()
    shown = mark.by_photograph.items() >= ask.by_photograph.items()
    if kept and shown and {*mark.photographs} >= {*ask.photographs}:
        said |= {} if ask.values else {"grade": mark.grade, "grades": dict(mark.grades)}
        said["by_photograph"] = dict(mark.by_photograph)
        said |= {"values": mark.values, "choices": mark.choices, "photographs": tuple(mark.photographs)}
    return said


def _is_graded_so(asked: Grade, kept: Grade | None) -> bool:
    """Say whether a figure was asked with the grade that it has; as measured too, where nothing linked measured it."""
    return asked == kept or (asked == "measured" and kept == "typed")


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
            return used_before()
    parts = (Part("what", "sentence", terms=(what,)), weighed("amount", mark.mass_kg or 0.0))
    return worded(Sentence("refusal.recorded_before", parts))


def used_before() -> Wording:
    """Say that an id was used for something else, and nothing of what that was."""
    return worded(Sentence("refusal.used_before"))
