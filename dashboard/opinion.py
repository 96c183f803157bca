"""What the rig makes of a unit, laid out: reasons to stop, causes, and whether the charge may be judged."""

from collections.abc import Mapping
from typing import Any

from calc.judge.alarms import AlarmKind, to_stop
from calc.sentences import ENGLISH
from calc.targets import TABLE_SOURCE
from calc.units import System
from calc.wording import percent
from dashboard import words
from dashboard.looked_for import Looks, looked_for
from dashboard.sentences import say
from ingest.wire.messages import (
    Advice,
    AlarmMessage,
    CauseMessage,
    ConditionMessage,
    EvidenceMessage,
    VerificationMessage,
    Wording,
)

Json = dict[str, Any]

MOST_CAUSES = 4
NO_LOOKS = Looks(())
_LEAST_TOLD = 0.05

_FIGURES = {
    "suction_dew_point": say("opinion.suction_dew_point"),
    "air_split": say("opinion.air_split"),
    "rest_over_outdoor": say("opinion.rest_over_outdoor"),
}

_STATES: Mapping[str, tuple[str, str]] = {
    "met": ("good", "check"),
    "not met": ("bad", "cross"),
    "cannot tell": ("care", "unknown"),
}


_HEATS = ("headline.heating", "headline.defrost")
_BY_THE_CHART = (
    "headline.table_alone",
    "detail.weigh_in",
    "no_target.beyond_table",
    "no_target.too_hot_and_dry",
    "no_target.beyond_chart",
    "no_target.blank_in_chart",
)
"""What more of the maker's own charging chart, entered, would tell more than."""

_LEADS = (
    "headline.refrigerant_in_air",
    "headline.vacuum",
    "headline.vacuum_live",
    "headline.empty",
    "headline.open_or_empty",
    "headline.falling",
    "headline.rising",
    "detail.live_under_lock",
)
"""What nobody may start it in, or stay at it in, or have hands in: it stands above all else on every page, in the words
of the advice."""


def heats(given: Advice) -> bool:
    """Whether the unit heats: no target counts then."""
    return given.sentence.kind in _HEATS


def _is_better_by_chart(said: Wording) -> bool:
    """Tell whether this rests on the table for all makers, or says that there is not enough of a chart."""
    is_by_table = said.kind == "detail.target_source" and any(TABLE_SOURCE in it.terms for it in said.parts)
    return is_by_table or said.kind in _BY_THE_CHART


def opinion(given: Advice, system: System, looks: Looks = NO_LOOKS) -> Json:
    """Lay out what the advice rests on. to_move: which key the advice asks for, if any. heats: no target counts.

    leads: what stands above all else beside the alarms, as the advice says it. looks: what may be looked at. to_chart:
    the maker's own charging chart, or more of it, would tell more.
    """
    told = [it for it in given.causes if it.probability + it.beside >= _LEAST_TOLD][:MOST_CAUSES]
    to_move = "" if given.next_step is None or given.alarms else "added" if given.next_step.step_kg > 0 else "recovered"
    return {
        "state": given.state,
        "word": words.GLANCE.get(to_move or given.state, given.state),
        "to_move": to_move,
        "heats": heats(given),
        "to_chart": any(map(_is_better_by_chart, (given.sentence, *given.details))),
        "alarms": [_alarm(alarm, system) for alarm in given.alarms],
        "leads": [_in(it, system) for it in (given.sentence, *given.details) if it.kind in _LEADS],
        "explanations": [_cause(it, system, looks) for it in told],
        "judgement": None if given.verification is None else _verification(given.verification, system),
        "not_judged": [term(name) for name in given.not_judged],
    }


def term(key: str) -> str:
    """Word a term of judging, or what is none as a channel."""
    return sentence_case(ENGLISH.terms[key]) if key in ENGLISH.terms else words.channel(key)


def _in(wording: Wording | None, system: System) -> str:
    return "" if wording is None else getattr(wording, system)


def _alarm(alarm: AlarmMessage, system: System) -> Json:
    return {
        "stop": _to_stop(alarm.kind),
        "says": _in(alarm.says, system),
        "measured": _in(alarm.measured, system),
        "source": alarm.source,
    }


def _to_stop(kind: str) -> str:
    """Say what is to be stopped; of an alarm that only a newer rig knows, everything."""
    known = next((it for it in AlarmKind if it == kind), None)
    return say("opinion.unknown_alarm", kind=kind) if known is None else str(to_stop([known]))


def _cause(found: CauseMessage, system: System, looks: Looks) -> Json:
    together = f": {' and '.join(term(fault).lower() for fault in found.together)}" if found.together else ""
    return {
        "fault": f"{term(found.fault)}{together}",
        "chance": _chance(found),
        "share": round(found.probability + found.beside, 2),
        "for": [_evidence(piece, system) for piece in found.evidence_for],
        "against": [_evidence(piece, system) for piece in found.evidence_against],
        "next": _in(found.next_check, system),
        "held_back": _in(found.held_back, system),
        "looks": looked_for((found.fault, *found.together), looks),
    }


def _chance(found: CauseMessage) -> str:
    """Say how likely it is there at all, and how likely alone where that is another figure."""
    there, alone = percent(found.probability + found.beside), percent(found.probability)
    return there if there == alone else say("opinion.there", there=there, alone=alone)


def _evidence(piece: EvidenceMessage, system: System) -> str:
    name = _FIGURES.get(piece.figure) or term(piece.figure)
    return f"{name} {_in(piece.measured, system)}"


def _verification(given: VerificationMessage, system: System) -> Json:
    return {
        "verdict": _in(given.says, system),
        "conditions": [_condition(condition, system) for condition in given.conditions],
    }


def _condition(condition: ConditionMessage, system: System) -> Json:
    mood, icon = _STATES[condition.state]
    return {
        "name": term(condition.name),
        "mood": mood,
        "icon": icon,
        "state": condition.state,
        "measured": _in(condition.measured, system),
        "says": "" if condition.says.kind == "condition.met" else _in(condition.says, system),
        "source": condition.source,
    }


def sentence_case(text: str) -> str:
    """Begin with a capital."""
    return f"{text[:1].upper()}{text[1:]}"
