"""A charge that was left as it is, in words: why, and against which advice. Nothing here calls it right."""

from collections.abc import Mapping

from calc.wording import mass_to_move
from ingest.report.course import Course
from ingest.report.said import quoted
from ingest.wire.messages import ChargeLeft, WhyLeft

_WHY: Mapping[WhyLeft, str] = {
    "near_enough": "near enough by the plate, by our word",
    "none_today": "no more refrigerant today",
    "leak_first": "the leak comes first",
    "owner": "the owner decides",
    "other": "",
}
_MOST_KG = 1e3
"""Beyond the charge of whatever stands on a roof: common practice, no source."""


def told_left(course: Course, mark: ChargeLeft) -> str:
    """Tell it, as a part of a sentence."""
    why = ", ".join(filter(None, [_WHY[mark.reason], quoted(mark.text) if mark.text else ""]))
    return f"left as it is: {why}, against the advice to {_advised(course, mark)}"


def _advised(course: Course, mark: ChargeLeft) -> str:
    if mark.advised_kg is None:
        return "look further before that is judged"
    if not abs(mark.advised_kg) <= _MOST_KG:
        return "move an amount that cannot be: its mark was changed in the record"
    verb = "add" if mark.advised_kg > 0.0 else "recover"
    return f"{verb} {mass_to_move(mark.advised_kg, course.system)}"
