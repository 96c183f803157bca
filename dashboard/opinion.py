"""What the rig makes of a unit, worded: reasons to stop, what would explain the readings, may the charge be judged."""

from collections.abc import Mapping
from typing import Any

from calc.units import System
from dashboard import words
from ingest.wire.messages import Advice, Alarm, Condition, Evidence, Explanation, Judgement

Json = dict[str, Any]

MOST_EXPLANATIONS = 4
_LEAST_TOLD = 0.05

_FIGURES = {
    "superheat": "Superheat",
    "subcooling": "Subcooling",
    "suction_dew_point": "Dew point, suction",
    "condensing_over_outdoor": "Condensing over outdoor air",
    "air_split": "Return air less supply air",
    "discharge_superheat": "Discharge superheat",
    "rest_over_outdoor": "Bubble point at rest over outdoor air",
    "compressor_load": "Compressor amps over RLA",
    "condenser_fan_load": "Condenser fan amps over FLA",
}

_CONDITIONS = {
    "readings": "Readings fresh and beyond doubt",
    "settled": "Settled",
    "metering_device": "Metering device",
    "outdoor_air_temperature": "Outdoor air",
    "running_time": "Time running",
    "undisturbed_time": "Time left alone",
    "suction_pressure_accuracy": "Accuracy of the suction pressure",
    "liquid_pressure_accuracy": "Accuracy of the liquid pressure",
    "temperature_accuracy": "Accuracy of the line temperature",
    "expansion_valve_superheat": "Superheat of the valve",
    "target": "Target",
    "air_split": "Airflow, by the split of the air",
    "airflow_per_capacity": "Airflow for the capacity",
    "airflow_over_design": "Airflow against its design",
    "other_causes": "Other causes ruled out",
}

_STATES: Mapping[str, tuple[str, str]] = {
    "met": ("good", "check"),
    "not met": ("bad", "cross"),
    "unknown": ("care", "unknown"),
}


def opinion(given: Advice, system: System) -> Json:
    """Lay out what the advice rests on."""
    told = [it for it in given.explanations if it.probability >= _LEAST_TOLD][:MOST_EXPLANATIONS]
    return {
        "alarms": [_alarm(alarm, system) for alarm in given.alarms],
        "explanations": [_explanation(it, system) for it in told],
        "judgement": None if given.judgement is None else _judgement(given.judgement, system),
    }


def _alarm(alarm: Alarm, system: System) -> Json:
    return {
        "kind": alarm.kind,
        "says": sentence_case(alarm.says),
        "measured": getattr(alarm.measured, system),
        "source": alarm.source,
    }


def _explanation(found: Explanation, system: System) -> Json:
    together = f": {' and '.join(found.together)}" if found.together else ""
    return {
        "fault": f"{sentence_case(found.fault)}{together}",
        "chance": chance(found.probability),
        "share": round(found.probability, 2),
        "for": [_evidence(piece, system) for piece in found.evidence_for],
        "against": [_evidence(piece, system) for piece in found.evidence_against],
        "next": found.next_check,
        "held_back": sentence_case(found.held_back),
    }


def _evidence(piece: Evidence, system: System) -> str:
    return f"{_FIGURES.get(piece.figure, words.channel(piece.figure))} {getattr(piece.measured, system)}"


def _judgement(given: Judgement, system: System) -> Json:
    return {
        "verdict": verdict(given),
        "conditions": [_condition(condition, system) for condition in given.conditions],
    }


def _condition(condition: Condition, system: System) -> Json:
    mood, icon = _STATES[condition.state]
    measured = getattr(condition.measured, system)
    says = "" if condition.says == "met" else sentence_case(condition.says)
    return {
        "name": _CONDITIONS.get(condition.name, words.channel(condition.name)),
        "mood": mood,
        "icon": icon,
        "state": condition.state,
        "measured": measured,
        "says": says,
        "source": condition.source,
    }


def verdict(given: Judgement) -> str:
    """Word what a formal verification says of the charge."""
    open_conditions = [condition for condition in given.conditions if condition.state != "met"]
    if given.state == "may not be judged":
        return f"Not yet: {len(open_conditions)} of {len(given.conditions)} conditions open."
    if given.probability is None or given.state == "cannot tell":
        return "Yes, but these instruments cannot tell."
    return f"Yes: the charge is {given.state} ({chance(given.probability)})."


def chance(probability: float) -> str:
    """Word a probability, no finer than it deserves, so that it stands still while readings flicker.

    >>> chance(0.723), chance(0.981), chance(0.02)
    ('70 %', 'over 95 %', 'under 5 %')
    """
    if probability > 0.95:
        return "over 95 %"
    if probability < 0.05:
        return "under 5 %"
    return f"{5 * round(20 * probability)} %"


def sentence_case(text: str) -> str:
    """Begin with a capital."""
    return f"{text[:1].upper()}{text[1:]}"
