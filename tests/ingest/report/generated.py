"""Visits that nobody made: marks of every kind in any order, with all that may be answered, at a unit of any sheet."""

from collections.abc import Sequence
from typing import Any, get_args

from hypothesis import strategies as st

from calc.quantities import QUANTITIES
from ingest.visit.checklist import guided
from ingest.wire.messages import (
    Acknowledged,
    Added,
    AlarmChanged,
    ChargeLeft,
    Correction,
    CylinderDescribed,
    Finding,
    FoundSound,
    HandedOver,
    Hold,
    HoseSet,
    LeftAlone,
    Mark,
    Note,
    Photograph,
    Placed,
    PowerRead,
    Question,
    ReadingTaken,
    Recovered,
    Reply,
    Resumed,
    Sheet,
    Signed,
    Stop,
    VisitOpened,
    Waiting,
    Want,
    Warned,
    WhyLeft,
)
from ingest.wire.wording import Wording

BEGAN_S = 1_780_000_000.0
TAG = "RTU-M2D-1"
COACHED = "slower with that hose"
"""What a lead says, in every mark of theirs: no report says it."""
CODE = "door code 4711"
"""Likewise of a code, whoever wrote it."""
_OUTCOMES = ("met", "not_met", "cannot_tell", "skipped")
_WORDS = st.sampled_from(["", "At the back of it.", "2026-07-01", f"Stairs; {CODE}; then left", "Matted with lint"])
_ADVISED_KG = st.sampled_from([None, 0.14, -0.2])
_BY = st.sampled_from(["Sam", "Kim"])


def _finding(
    draw: st.DrawFn, head: dict[str, Any], circuits: list[str], parts: list[str], likely: Sequence[str]
) -> Mark:
    check = guided()[draw(st.sampled_from(likely or sorted(guided())))].check
    outcome = draw(st.sampled_from(_OUTCOMES))
    values = {
        f"{figure.name}.{of}" if of else figure.name: draw(st.floats(0.5, 400.0))
        for figure in check.figures
        for of in figure.per or ("",)
        if draw(st.booleans())
    }
    choices = {it.name: draw(st.sampled_from(sorted(it.options))) for it in check.choices if draw(st.booleans())}
    choices |= {it.name: words for it in check.texts if (words := draw(_WORDS))}
    skipped = outcome == "skipped"
    return Finding(
        **head,
        text=draw(_WORDS),
        check=check.word,
        grade=draw(st.sampled_from(["measured", "typed", "seen", "said"])),
        outcome=outcome,  # type: ignore[arg-type]
        values={} if skipped else values,
        choices={} if skipped else choices,
        part=draw(st.sampled_from(["", *parts])) if check.of == "part" else "",
        circuit=draw(st.sampled_from(["", *circuits])) if check.of == "circuit" else "",
        reason=draw(st.sampled_from(["not_fitted", "weather", "other"])) if skipped else "",
        says=draw(st.sampled_from([None, Wording("As it is.", "As it is.", "finding.chosen")])),
    )


def _of_the_rig(draw: st.DrawFn, head: dict[str, Any]) -> Mark:
    kind = draw(st.sampled_from([LeftAlone, PowerRead, AlarmChanged, FoundSound]))
    more: dict[str, Any] = {"idle_s": 4000.0} if kind is LeftAlone else {}
    return kind(**{**head, "by": "", "role": ""}, text="head pressure: it came" if kind is AlarmChanged else "", **more)


def _of_a_lead(draw: st.DrawFn, head: dict[str, Any], ids: list[str]) -> Mark:
    head = {**head, "by": "Robin", "role": "lead"}
    of = draw(st.sampled_from(ids))
    return draw(
        st.sampled_from(
            [
                Note(**head, text=COACHED),
                Reply(**head, text=COACHED, of=of),
                Want(**head, text=COACHED, what="reading"),
                Hold(**head, text=COACHED, before="first_move"),
                Stop(**head, text=COACHED),
                Acknowledged(**head, of=of),
            ]
        )
    )


def _of_a_technician(draw: st.DrawFn, head: dict[str, Any], circuits: list[str], ids: list[str]) -> Mark:
    mass_kg, circuit = draw(st.floats(0.01, 3.0)), draw(st.sampled_from(["", *circuits]))
    how = draw(st.sampled_from(["scale", "typed", "estimated", ""]))
    cylinder, purpose = draw(st.sampled_from(["", "7"])), draw(st.sampled_from(["", "adjust", "weigh_in", "scrap"]))
    of = draw(st.sampled_from(ids))
    said, why_left = Wording("Think.", "Think."), draw(st.sampled_from(get_args(WhyLeft)))
    return draw(
        st.sampled_from(
            [
                Added(
                    **head,
                    mass_kg=mass_kg,
                    phase="liquid",
                    circuit=circuit,
                    how=how,
                    cylinder=cylinder,
                    purpose=purpose,
                ),  # type: ignore[arg-type]
                Recovered(**head, mass_kg=mass_kg, circuit=circuit, how=how, cylinder=cylinder, purpose=purpose),  # type: ignore[arg-type]
                Correction(**head, of=of, mass_kg=draw(st.none() | st.floats(0.01, 3.0)), circuit=circuit),
                Note(**head, text=draw(_WORDS) or "A note."),
                Question(**head, text="Is that right?"),
                ReadingTaken(**head, figures=dict.fromkeys(QUANTITIES)),
                CylinderDescribed(**head, name="7", use="virgin", refrigerant="R-410A", tare_kg=5.0, gross_kg=15.0),
                Placed(**head, on=draw(st.sampled_from([*circuits])), channels=["suction_pressure"]),
                HoseSet(**head, port="suction", on=draw(st.booleans())),
                Waiting(**head, reason="parts", text=draw(_WORDS)),
                ChargeLeft(**head, reason=why_left, circuit=circuit, advised=said, advised_kg=draw(_ADVISED_KG)),
                Resumed(**head),
                HandedOver(**head, to="Kim", text=draw(_WORDS)),
                Photograph(**head, digest="0" * 64, sent_digest="1" * 64, width=4, height=3, check="panels"),
                Warned(**{**head, "by": "", "role": ""}, of=of, whom="Sam", warnings=["guard.sum"], says=said),
            ]
        )
    )


@st.composite
def visits(
    draw: st.DrawFn, sheet: Sheet, *, name: str = "v1", began_s: float = BEGAN_S, likely: Sequence[str] = ()
) -> list[Mark]:
    """The marks of a visit to a unit, signed or not, with what came later. likely: the checks made; empty for all."""
    circuits, parts = [it.name for it in sheet.circuits], [it.name for it in sheet.parts]
    opened = VisitOpened(
        f"{name}-0", began_s, text="visit", unit=sheet.tag, circuit=draw(st.sampled_from(["", circuits[0]]))
    )
    marks: list[Mark] = [opened]
    for at in range(1, draw(st.integers(1, 14))):
        head = {"id": f"{name}-{at}", "time_s": began_s + 60.0 * at, "by": draw(_BY), "role": "technician"}
        ids = [mark.id for mark in marks]
        match draw(st.integers(0, 9)):
            case 0:
                marks.append(_of_the_rig(draw, head))
            case 1:
                marks.append(_of_a_lead(draw, head, ids))
            case 2 | 3 | 4:
                marks.append(_of_a_technician(draw, head, circuits, ids))
            case _:
                marks.append(_finding(draw, head, circuits, parts, likely))
    if draw(st.booleans()):
        at_s = marks[-1].time_s + 60.0
        owner = draw(st.sampled_from(["", "Jo Field, 2 Mill Street"]))
        strokes = [[(0.1, 0.2), (0.3, 0.4)]]
        marks.append(
            Signed(f"{name}-sign", at_s, "Sam", "technician", name="Sam", digest="", strokes=strokes, owner=owner)
        )
        moves = [mark.id for mark in marks if isinstance(mark, Added | Recovered)]
        if moves and draw(st.booleans()):
            marks.append(Correction(f"{name}-later", at_s + 60.0, "Sam", "technician", of=moves[-1], mass_kg=0.5))
    return marks
