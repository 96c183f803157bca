"""What the tests of an opened circuit came to, each for itself: its rules, asked again of what the finding keeps."""

from collections.abc import Mapping, Sequence

from calc.estimate import Estimate
from calc.refrigerants import get, propagates_flame
from ingest.report.course import Course
from ingest.visit.answers import AnswerError, Answers, Before
from ingest.visit.checklist import guided
from ingest.visit.leaks import OPENED
from ingest.visit.rules import Between, Called, Chosen, Rule
from ingest.visit.ruling import ruled
from ingest.visit.sheets import about
from ingest.wire.messages import Finding
from ingest.wire.sheet import Circuit

CONCERN = "its opened circuit did not pass every test"
WEIGHED_IN = "weighed_in"

PRESSED, EVACUATED = ("gas", "tested", "nitrogen_held"), ("vacuum_course", "isolated_for", "vacuum")

NOT_PASSED: Mapping[str, tuple[str, str]] = {
    "level_verified": (
        "that its refrigerant was out was not verified before it was opened",
        "ask us what was recovered from it",
    ),
    "gas": ("it was pressed with another gas than dry nitrogen", "have that gas taken out and a vacuum drawn anew"),
    "tested": (
        "its pressure test was made before its last joint, which that test tells nothing of",
        "have it tested for leaks after its last joint",
    ),
    "purged": (
        "it was not purged with nitrogen before heat, in which refrigerant burns or breaks down",
        "ask us how it was made safe for heat",
    ),
    "flowing": (
        "its joints were brazed without nitrogen flowing, which leaves scale in its pipes",
        "have its drier and its screens watched for scale",
    ),
    "nitrogen_held": ("it did not hold the pressure of its test, or went above its plate's", "have its leak found"),
    "vacuum_course": ("its vacuum did not hold: water or a leak", "have a vacuum drawn anew until it holds"),
    "isolated_for": (
        "its vacuum was watched for less than 20 minutes",
        "have its vacuum watched for 20 minutes",
    ),
    "vacuum": ("its vacuum did not go deep enough to tell that it is dry", "have a deeper vacuum drawn"),
    "drier": ("its old drier is still in", "have its drier renewed"),
    WEIGHED_IN: ("what was weighed in is not the charge that is due", "have its whole charge weighed in anew"),
}
"""By what its rule asks: what was not passed, and what to have done. Common practice, no source; the figures of the
check itself have theirs."""


def not_passed(course: Course, found: Finding) -> Sequence[str]:
    """Name the tests of an opened circuit that were not passed; none that could not be told."""
    circuit = circuit_of(course, found)
    if course.sheet is None or circuit is None or found.outcome == "skipped":
        return ()
    spreads = found.standard_uncertainties
    values = {name: Estimate(value, spreads.get(name, 0.0)) for name, value in found.values.items()}
    beside = {name: Estimate(value, 0.0) for name, value in found.plated.items()}
    burns = propagates_flame(get(circuit.refrigerant).safety_class)
    answers = Answers(
        guided()[OPENED].check,
        beside | values,
        found.choices,
        len(found.photographs),
        frozenset(["flammable"] if burns else []),
        about(course.sheet, circuit.name),
        Before({}, 0, 0.0),
    )
    return [rule_name(rule) for rule in guided()[OPENED].rules if _fails(rule, answers)]


def circuit_of(course: Course, found: Finding) -> Circuit | None:
    """Give the circuit that a finding is of: one that names none is of the one in view."""
    return next((it for it in course.circuits if it.name == (found.circuit or course.in_view)), None)


def _fails(rule: Rule, answers: Answers) -> bool:
    try:
        told = ruled([rule], answers)
    except AnswerError:  # of values that the daemon would have refused nothing is told
        return False
    return told is not None and told.told == "not_met"


def rule_name(rule: Rule) -> str:
    """Give what a rule asks of: its words in a report stand under it."""
    match rule:
        case Chosen():
            return rule.choice
        case Between():
            return rule.figure
        case Called():
            return rule.function
    raise TypeError(f"a rule of {OPENED} of the kind {type(rule).__name__} has no words in a report: give it some")
