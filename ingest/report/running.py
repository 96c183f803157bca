"""Whether the unit ran as it was left, by what was said and what the instruments read: front and back ask here."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from calc.estimate import Estimate
from calc.judge.running import is_running
from calc.motor.supply import LIVE_V
from calc.quantities import Quantity
from calc.situation import Situation
from ingest.report.course import Course, Reading
from ingest.report.said import listed, rounded
from ingest.wire.messages import Finding

_AMPS = ("compressor_current", "compressor_current_a", "compressor_current_b", "compressor_current_c")
_READ = (*_AMPS, "suction_pressure", "liquid_pressure")
_VOLTS = "line_voltage_ab"


@dataclass(frozen=True, slots=True)
class HowLeft:
    """How it was left. stands: it does not run. against: what the instruments read of one that is said to run."""

    state: Literal["off", "stands", "against", "runs", "jumper", "unknown"]
    evidence: Sequence[str]
    against: str = ""


def how_left(course: Course) -> HowLeft:
    """Tell it: what was seen last, and what was read, come before what was handed over."""
    left, runs, power = (
        course.chosen(check, name)
        for check, name in (("handover", "left"), ("as_it_was", "runs"), ("as_it_was", "power"))
    )
    evidence = course.ids("handover", "as_it_was")
    if left == "off" or power == "left_off":
        return HowLeft("off", evidence)
    if runs == "no":
        return HowLeft("stands", evidence)
    if not (left or runs):
        return HowLeft("unknown", evidence)
    return _at_rest(course, evidence) or HowLeft("jumper" if runs == "jumper" and not left else "runs", evidence)


def _at_rest(course: Course, evidence: Sequence[str]) -> HowLeft | None:
    """Tell that it rests by what was read; where it was met that it runs, the clamps may be off since."""
    was = course.one("as_it_was")
    if was is not None and was.outcome == "met":
        return None
    for found in sorted(course.of("as_it_was", "handover"), key=course.seen_s, reverse=True):
        read = course.at(found)
        runs = runs_by(read)
        if runs:
            return None
        if runs is False:
            by = [name for it in read.values() for name in it.evidence]
            return HowLeft("against", [*evidence, *by], _told(course, read))
        if _says_rests(found):
            return HowLeft("stands", evidence)
    return None


def runs_by(read: dict[str, Reading]) -> bool | None:
    """Tell whether the compressor runs by what was read at a moment; None where that does not tell."""
    measured = {name: Estimate(read[name].value, read[name].spread or 0.0) for name in _READ if name in read}
    return is_running(Situation(measured=measured))


def _says_rests(found: Finding) -> bool:
    return found.says is not None and found.says.kind == "finding.rig_rests"


def _told(course: Course, read: dict[str, Reading]) -> str:
    amps = max((read[name].value for name in _AMPS if name in read), default=None)
    if amps is None:
        return "it at rest"
    volts = read.get(_VOLTS)
    told = [rounded(amps, Quantity.CURRENT, course.system)]
    if volts is not None and volts.value < LIVE_V:
        told.append(rounded(volts.value, Quantity.VOLTAGE, course.system))
    return listed(told)
