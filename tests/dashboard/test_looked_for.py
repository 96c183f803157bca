"""Keys beside what the readings point at: each is an answer that the check of it takes."""

from itertools import count
from typing import Any

import pytest
from msgspec.structs import replace

from calc.diagnosis import Fault
from calc.looks import MISSED
from dashboard.asks import MADE_FROM, AskBody
from dashboard.looked_for import Looks, looked_for, looks_at
from dashboard.visit.checks import cards
from ingest.advice.looks import Looks as Seen
from ingest.visit.checklist import checklists
from ingest.visit.deciding import Facts, RefusedError
from ingest.visit.decisions import DECISIONS
from ingest.visit.standing import Standing
from ingest.wire.messages import Circuit, Finding, FindingAsk, Mark, Progress, Sheet, Visit
from tests import wire_rig
from tests.wire_rig import unit

ALL = Looks()
FOULED = Fault.CONDENSER_FOULING.value
SHEET = Sheet("RTU-K7Q-4", [Circuit("1", "R-410A", "txv"), Circuit("2", "R-410A", "txv")])
OPEN = Visit("v1", 0.0, 0.0, 0)
IDS = count()


def touched(key: dict[str, Any], *circuits: str) -> Finding:
    """What the rig records of a touch, at a unit with these circuits."""
    ask = MADE_FROM["finding"]((f"f{next(IDS)}", "Sam"), AskBody(fields=key["body"]["fields"]))
    facts = Facts(unit(), {}, frozenset(), frozenset(), circuits=circuits)
    found = DECISIONS[FindingAsk](ask, (ask.id, 1.7e9, "Sam", "technician"), Standing("v1"), facts)
    assert isinstance(found, Finding)
    return found


def test_what_a_look_tells_of_has_keys_and_nothing_else_has_any() -> None:
    assert {fault.value for fault in Fault if looked_for((fault.value,), ALL)} == set(MISSED)


def test_each_key_is_an_answer_of_the_check_and_is_taken_back_by_a_touch() -> None:
    for fault in MISSED:
        keys = looked_for((fault,), ALL)
        assert len({key["says"] for key in keys}) == 3
        for key in keys:
            found = touched(key, "1")
            seen = Seen([found])
            assert seen.of("").keys() == {fault}
            again = looked_for((fault,), looks_at(None, OPEN, [found]))
            assert [it["said"] for it in again if it["said"]] == [{"by": "Sam", "time": 1.7e9}]
            assert [it["says"] for it in again if it["said"]] == [key["says"]]
            back = touched(again[-1], "1")
            seen.take(back)
            assert seen.of("") == {}
            assert len(looked_for((fault,), looks_at(None, OPEN, [found, back]))) == 3


def test_a_look_is_of_the_circuit_in_view_and_of_several_without_probes_each_has_its_keys() -> None:
    def of(looks: Looks) -> list[str]:
        return [key["body"]["fields"].get("circuit", "") for key in looked_for((FOULED,), looks)]

    assert of(looks_at(SHEET, OPEN, [])) == ["1", "1", "1", "2", "2", "2"]
    assert of(looks_at(SHEET, replace(OPEN, circuit="2"), [])) == ["2", "2", "2"]
    assert of(looks_at(replace(SHEET, circuits=SHEET.circuits[:1]), OPEN, [])) == ["", "", ""]
    keys = looked_for((FOULED,), looks_at(SHEET, OPEN, []))
    assert [key["says"] for key in keys[:4:3]] == [f"Circuit {it}: Looked: nothing of it" for it in (1, 2)]
    assert touched(keys[3], "1", "2").circuit == "2"


def test_the_rig_refuses_a_look_that_names_no_circuit_where_there_are_several() -> None:
    (key, *_) = looked_for((FOULED,), ALL)
    with pytest.raises(RefusedError, match="circuit is missing: the unit has 1, 2; which one was looked at"):
        touched(key, "1", "2")
    assert touched(key, "1").circuit == ""


def test_of_several_at_once_each_that_a_look_tells_of_has_its_own_keys() -> None:
    keys = looked_for((Fault.SEVERAL.value, Fault.LOW_EVAPORATOR_AIRFLOW.value, Fault.UNDERCHARGE.value, FOULED), ALL)
    assert {key["body"]["fields"]["choices"]["cause"] for key in keys} == {"airflow", "rejection"}
    assert len({key["says"] for key in keys}) == 6


def test_nothing_is_to_be_looked_at_once_it_is_signed_or_before_a_visit_is_heard_of() -> None:
    found: list[Mark] = [touched(looked_for((FOULED,), ALL)[0], "1")]
    for visit in (replace(OPEN, progress=Progress("signed")), None):
        assert looked_for((FOULED,), looks_at(SHEET, visit, found)) == []


@pytest.mark.parametrize("circuits", [[], ["1"], ["1", "2"]])
def test_the_check_asks_at_which_of_several_circuits_it_was(circuits: list[str]) -> None:
    told = cards(checklists(), wire_rig.about(started_s=0.0), (), "us", circuits=circuits)["cards"]["looked_for"]
    asked = [it for it in told["fields"] if it["name"] == "circuit"]
    assert [[value for value, _ in it["options"]] for it in asked] == ([circuits] if len(circuits) > 1 else [])
