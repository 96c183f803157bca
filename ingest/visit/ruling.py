"""What the rules of a check tell of its answers."""

import math
from collections.abc import Sequence

from calc.errors import CalcError
from calc.estimate import Estimate
from calc.sentences import Sentence, text
from calc.uncertainty import propagate
from ingest.visit.answers import (
    AnswerError,
    Answers,
    Verdict,
    each_not_met,
    held_against,
    lacking,
    missing,
    refused,
    worst,
)
from ingest.visit.rule_table import RULES
from ingest.visit.rules import (
    Alike,
    AllOf,
    Below,
    Between,
    Called,
    Chosen,
    Given,
    Photographed,
    Rule,
    ShareOf,
)


def ruled(rules: Sequence[Rule], answers: Answers) -> Verdict | None:
    """Tell what all rules come to: the worst of them; None where none tells.

    Raises:
        AnswerError: an answer cannot be.

    """
    told = [_told(rule, answers) for rule in rules if not rule.only or rule.only in answers.facts]
    return each_not_met([each for each in told if each is not None])


def _told(rule: Rule, answers: Answers) -> Verdict | None:
    try:
        told = _by_kind(rule, answers)
    except CalcError as error:
        raise refused(error) from error
    return None if rule.optional and told is not None and told.lacks else told


def _by_kind(rule: Rule, answers: Answers) -> Verdict | None:
    match rule:
        case Below():
            return _limits(rule.figure, -math.inf, rule.limit, rule.trick, answers, closed=False)
        case Between():
            low = -math.inf if rule.low is None else rule.low
            high = math.inf if rule.high is None else rule.high
            return _limits(rule.figure, low, high, rule.trick, answers)
        case ShareOf():
            return _share(rule, answers)
        case Alike():
            return _alike(rule, answers)
        case Called():
            return RULES[rule.function](answers, rule.trick)
        case AllOf():
            return ruled(rule.rules, answers)
    return _seen(rule, answers)


def _seen(rule: Chosen | Given | Photographed, answers: Answers) -> Verdict:
    match rule:
        case Chosen():
            return _chosen(rule, answers)
        case Given():
            lacks = [name for name in rule.names if name not in answers.choices]
            labels = [each.label for each in answers.check.texts if each.name in lacks]
            return missing(", ".join(labels)) if lacks else Verdict("met")
        case Photographed():
            lacking = answers.photographs < rule.least
            return missing(", ".join(answers.check.photographs)) if lacking else Verdict("met")


def _limits(figure: str, low: float, high: float, trick: str, answers: Answers, *, closed: bool = True) -> Verdict:
    kind = next(each.quantity for each in answers.check.figures if each.name == figure)
    told = [
        held_against(value, low, high, what=answers.label(name), kind=kind, trick=trick, closed=closed)
        for name, value in answers.of(figure).items()
    ]
    return lacking(told, answers.missing_of(figure))


def _share(rule: ShareOf, answers: Answers) -> Verdict:
    value, whole = answers.values.get(rule.figure), answers.values.get(rule.of)
    if value is None or whole is None:
        return missing(answers.label(rule.figure if value is None else rule.of))
    if whole.value == 0:
        raise AnswerError(f"values: {rule.of} is 0, of which nothing is a share: more was expected")
    relative = math.hypot(value.standard_uncertainty, value.value / whole.value * whole.standard_uncertainty)
    share = Estimate(value.value / whole.value, relative / abs(whole.value))
    what = f"{answers.label(rule.figure)} / {answers.label(rule.of)}"
    return held_against(share, rule.low, rule.high, what=what, kind="ratio", trick=rule.trick)


def _alike(rule: Alike, answers: Answers) -> Verdict:
    found = answers.of(rule.figure)
    label = next(each.label for each in answers.check.figures if each.name == rule.figure)
    if len(found) < rule.least:
        return missing(", ".join(answers.missing_of(rule.figure)) or label)
    told = []
    for name in found:

        def apart(*, this: str = name, **values: float) -> float:
            mean = sum(values.values()) / len(values)
            if mean == 0:
                raise AnswerError(f"values: all of {rule.figure} are 0: there is nothing to compare")
            return values[this] / mean - 1

        budget = propagate(apart, found)
        spread = Estimate(budget.value, math.hypot(*budget.contributions.values()))
        told.append(
            held_against(
                spread, -rule.share, rule.share, what=f"{answers.label(name)}, off the mean", kind="ratio",
                trick=rule.trick,
            )
        )  # fmt: skip
    return worst(told) or missing(label)


def _chosen(rule: Chosen, answers: Answers) -> Verdict:
    choice = next(each for each in answers.check.choices if each.name == rule.choice)
    chosen = answers.choices.get(rule.choice)
    if chosen is None:
        return missing(choice.label)
    said = Sentence("finding.chosen", (text("what", choice.label), text("chosen", choice.options[chosen])))
    return Verdict("met" if chosen in rule.met else "not_met" if chosen in rule.not_met else "cannot_tell", said)
