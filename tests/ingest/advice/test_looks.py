"""What was looked for at this visit reaches the judge, circuit by circuit, the newest of each cause."""

import msgspec
import pytest

from calc.diagnosis import Fault
from calc.looks import LOOKED_FOR, MISSED
from ingest.advice.looks import Looks
from ingest.advice.memory import Earlier
from ingest.advice.rerun import Grounds
from ingest.visit.checklist import guided
from ingest.wire.messages import Advice, Finding
from tests.ingest.advice.visits import T0_S, Visit


def look(cause: str, seen: str, mark_id: str = "f1", outcome: str = "met", circuit: str = "") -> Finding:
    choices = {"cause": cause, "seen": seen}
    return Finding(mark_id, T0_S, check="looked_for", grade="said", outcome=outcome, choices=choices, circuit=circuit)


def test_every_cause_of_the_check_is_one_that_the_judge_weighs_a_look_at() -> None:
    check = guided()["looked_for"].check
    (causes,) = [choice.options for choice in check.choices if choice.name == "cause"]
    assert set(causes) == set(LOOKED_FOR)
    assert set(LOOKED_FOR.values()) == set(MISSED)


@pytest.mark.parametrize(
    ("seen", "counts"), [("nothing", "clear"), ("mended", "clear"), ("found", "found"), ("could_not", None)]
)
def test_what_was_seen_counts_and_what_could_not_be_seen_does_not(seen: str, counts: str | None) -> None:
    expected = {} if counts is None else {"low evaporator airflow": counts}
    assert Looks([look("airflow", seen)]).of("") == expected


def test_the_newest_look_for_a_cause_counts_and_leaves_those_for_others() -> None:
    looks = Looks([look("airflow", "found"), look("valves", "nothing", "f2"), look("airflow", "mended", "f3")])
    assert looks.of("") == {"low evaporator airflow": "clear", "compressor valve leakage": "clear"}


def test_a_look_is_of_its_circuit_and_one_that_names_none_of_all() -> None:
    looks = Looks([look("feed", "nothing", circuit="1"), look("rejection", "nothing", "f2")])
    assert looks.of("2") == {"condenser fouling or low outdoor airflow": "clear"}
    assert looks.of("1").keys() == {
        "condenser fouling or low outdoor airflow",
        "expansion valve that feeds too much",
    }


def test_of_a_unit_whose_only_circuit_nobody_named_every_look_counts() -> None:
    assert Looks([look("feed", "found", circuit="1")]).of("") == {"expansion valve that feeds too much": "found"}


def test_what_was_skipped_and_other_checks_tell_nothing() -> None:
    other = Finding("f2", T0_S, check="air", grade="said", outcome="met", choices={"cause": "airflow"})
    assert Looks([look("airflow", "nothing", outcome="skipped"), other]).of("") == {}


def test_it_reaches_the_judge_at_once_and_after_a_start_of_the_daemon(visit: Visit) -> None:
    mark = look("airflow", "nothing")
    visit.take(mark)
    again = Visit(visit.rig, visit.record)
    again.advisor.go_on(Earlier(marks=[mark], changes_kg={mark.id: 0.0}), visit.rig, 101_325.0)
    for each in (visit, again):
        given = each.watch(range(20), lambda _: 10.0)[-1]
        known = msgspec.json.decode(given.grounds, type=Grounds).known
        assert known.situation.looked == {Fault.LOW_EVAPORATOR_AIRFLOW.value: "clear"}


def test_what_was_put_right_settles_anew_and_what_was_only_looked_at_does_not(visit: Visit) -> None:
    visit.watch(range(300), lambda _: 10.0)
    for begins, mark, restarts in (
        (300, look("airflow", "nothing"), False),
        (320, look("airflow", "mended", "f2"), True),
    ):
        visit.take(mark)
        given = visit.watch(range(begins, begins + 20), lambda _: 10.0)[-1]
        advice = msgspec.json.decode(given.payload, type=Advice)
        assert (advice.state == "settling") is restarts, advice.sentence.us
