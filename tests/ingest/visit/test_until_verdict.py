"""A blind exercise: what was found is kept, and no judging word is told before the verdict."""

from dataclasses import replace

import pytest

from calc.sentences import ENGLISH
from ingest.visit.checklist import guided
from ingest.visit.deciding import RefusedError
from ingest.visit.until_verdict import NEVER_HELD_BACK
from ingest.wire.messages import Finding, MessageError, Visit, decode, decode_ask, encode
from tests.ingest.visit.checks import TIME_S, course, exact, facts, find
from tests.ingest.visit.test_every_check import LOOKED, WHOLE

WEAK = {"measured.herm": 31e-6, "label.herm": 45e-6}
HERM = {"sections": "herm"}
JUDGING = ("met", "not met", "cannot tell", "expected", "between", "limit", "fail", "weak", "open", "loose")
BLIND = replace(facts(), is_blind=True)


def test_a_weak_capacitor_is_kept_and_not_called_weak_before_the_verdict() -> None:
    told = find("capacitor_measured", WEAK, HERM, accuracies=exact(WEAK))
    assert told.outcome == "not_met"
    found = find("capacitor_measured", WEAK, HERM, accuracies=exact(WEAK), known=BLIND)
    assert (found.outcome, found.said, found.values) == ("unjudged", "", told.values)
    assert found.says is not None
    assert not any(word in said.lower() for word in JUDGING for said in (found.says.us, found.says.si))
    standing = course(found)
    (stands,) = decode(encode(standing.message()), Visit).findings
    assert (stands.outcome, stands.says and stands.says.kind) == ("unjudged", "finding.until_verdict")
    assert "replacement" not in standing.findings.next()  # where to go would tell as much
    assert "capacitor_failed" in course(told).findings.facts()
    assert "capacitor_failed" not in standing.findings.facts()


@pytest.mark.parametrize("outcome", ["met", "not_met", "cannot_tell"])
def test_in_an_exercise_the_persons_own_judgement_stands_whatever_the_rule_says(outcome: str) -> None:
    found = find("capacitor_measured", WEAK, HERM, accuracies=exact(WEAK), known=BLIND, outcome=outcome)
    assert (found.outcome, found.said) == (outcome, outcome)
    with pytest.raises(RefusedError, match="by its rule the check is not met"):
        find("capacitor_measured", WEAK, HERM, accuracies=exact(WEAK), outcome="met")
    assert find("capacitor_measured", WEAK, HERM, accuracies=exact(WEAK), outcome="not_met").outcome == "not_met"


def test_what_hands_depend_on_is_judged_all_the_same() -> None:
    live = find("prove_dead", {"volts.a_b": 236.0}, known=BLIND)
    assert (live.outcome, live.says and live.says.kind) == ("not_met", "finding.live")
    locked = find("isolate", {}, {"disconnect_state": "closed"}, known=BLIND)
    assert locked.outcome == "not_met"
    lock = Finding("i1", TIME_S, check="isolate", grade="said", outcome="met", choices={"locked_by": "Sam"})
    back = find("power_back", {"compressor": 9.0}, {"lock_removed_by": "Kim"}, known=BLIND, standing=course(lock))
    assert (back.outcome, back.says and back.says.kind) == ("not_met", "finding.lock_of_another")
    assert find("panels", {"screws.out": 8.0, "screws.back": 7.0}, known=BLIND).outcome == "not_met"


def test_what_has_to_be_stopped_is_told_all_the_same_and_so_is_what_was_not_taken() -> None:
    leg = {"amps.a": 0.1, "amps.b": 21.0, "amps.c": 21.0, "rated": 25.0}
    lost = find(
        "motor_amps", leg, {"motor": "blower"}, accuracies=exact(leg),
        known=replace(facts("line_voltage_ab", "line_voltage_bc", "line_voltage_ca"), is_blind=True),
    )  # fmt: skip
    assert (lost.outcome, lost.says and lost.says.kind) == ("not_met", "finding.single_phasing")
    lacks = find("capacitor_measured", {"measured.herm": 31e-6}, HERM, known=BLIND)
    assert (lacks.outcome, lacks.says and lacks.says.kind) == ("cannot_tell", "finding.missing")
    assert set(ENGLISH.sentences) >= NEVER_HELD_BACK


def test_no_check_of_the_unit_itself_is_judged_even_where_it_is_met() -> None:
    """Places C to E of the list, but for closing the panel; what was looked at first, too."""
    of_the_unit = {word for word, one in guided().items() if one.check.place[0] in "CDE" or word == "look_first"}
    for word in sorted(of_the_unit - {"close_panel"}):
        values, choices, photographs = WHOLE[word]
        named = [f"p{number}" for number in range(photographs)]
        found = find(
            word, values, choices, photographs=named, accuracies=exact(values), standing=course(LOOKED), grade="said",
            known=BLIND,
        )  # fmt: skip
        assert found.outcome == "unjudged", word


def test_nobody_says_unjudged() -> None:
    with pytest.raises(MessageError, match="outcome"):
        decode_ask(b'{"kind":"finding","id":"f1","by":"Sam","check":"tag","grade":"said","outcome":"unjudged"}')
