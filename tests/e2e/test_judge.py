"""The trial of the judge, `make judge`, on a few cases: it runs, and its page and drawing hold what it measured."""

from xml.etree import ElementTree as ET

import pytest

from tests.judge import Results, report
from tests.judge.cases import WIDE
from tests.judge.diagnosis import Answer, category, judge_unit
from tests.judge.families import CORRELATED
from tests.judge.guidance import try_start
from tests.judge.memory import judge_remembered
from tests.judge.obedient import play
from tests.judge.settling import try_changes, try_ramp
from tests.judge.two_faults import PAIRS, judge_pairs


@pytest.fixture(scope="module")
def results() -> Results:
    forecasts, by_itself = (
        [each for kind in ("one lag", "two lags", "ringing") for each in try_changes(kind, 1, by_itself=alone)]
        for alone in (False, True)
    )
    return Results(
        judge_unit(1),
        judge_unit(1, WIDE)[-1:],
        forecasts,
        by_itself,
        [try_ramp(1), try_ramp(2)],
        [try_start(1, "expansion valve"), try_start(1, "fixed orifice")],
        judge_unit(1, CORRELATED),
        [play(1, CORRELATED)],
        judge_pairs(1, pairs=PAIRS[:2]),
        judge_remembered(1)[-2:],
    )


@pytest.mark.hours
def test_tries_every_fault_once_and_a_sound_unit_twice(results: Results) -> None:
    truths = [case.truth for case in results.judged]
    assert len(truths) == 9
    assert len(set(truths)) == 8
    assert truths.count("nothing wrong") == 2
    for case in results.judged:
        assert sum(probability for _, probability in case.running.ranking) == pytest.approx(1.0, abs=0.01)


def test_a_start_is_followed_until_it_is_near_enough(results: Results) -> None:
    for start in results.starts:
        assert abs(start.deviations_dk[0]) > start.tolerance_dk
        assert abs(start.deviations_dk[-1]) < abs(start.deviations_dk[0])


def test_page_and_drawing_hold_what_was_measured(results: Results, tmp_path) -> None:
    report.write(results, tmp_path)
    page = (tmp_path / "judge.md").read_text("utf-8")
    assert "9 units, 2 of them sound" in page
    assert "| expansion valve | 1 |" in page
    assert "2 ramps" in page
    assert "1 cases of the same faults in wider designs" in page
    assert "9 cases of the same faults at units of a second family" in page
    assert "2 cases in such designs, 12 of each pair" in page
    assert "| undercharge and low evaporator airflow | 1 |" in page
    assert "2 cases in such designs: at an earlier visit" in page
    drawing = ET.fromstring((tmp_path / "judge.svg").read_text("utf-8"))
    assert drawing.tag.endswith("svg")


def test_one_section_is_written_anew_and_the_others_stay(results: Results, tmp_path) -> None:
    report.write(results, tmp_path)
    page = tmp_path / "judge.md"
    whole = page.read_text("utf-8")
    report.write_other_physics(results.other, results.other_visits, tmp_path)
    assert page.read_text("utf-8") == whole
    without = whole.replace(whole[whole.index("### Units of other") : whole.index("## When it has")], "")
    page.write_text(without.replace("How good the judge is", "How good it was"), "utf-8")
    report.write_other_physics(results.other, results.other_visits, tmp_path)
    assert page.read_text("utf-8") == whole.replace("How good the judge is", "How good it was")


@pytest.mark.parametrize(
    ("truth", "response", "sorted_as"),
    [
        ("nothing wrong", "nothing wrong", "correct"),
        ("nothing wrong", "overcharge", "false alarm"),
        ("overcharge", "nothing wrong", "missed detection"),
        ("overcharge", "non-condensables", "misdiagnosis"),
        ("overcharge", "overcharge", "correct"),
        ("nothing wrong", "no response", "no response"),
    ],
)
def test_responses_fall_into_the_published_categories(truth: str, response: str, sorted_as: str) -> None:
    """Yuill and Braun, Purdue IRACC 2012, paper 1307."""
    assert category(truth, response) == sorted_as


@pytest.mark.parametrize(
    ("answer", "named", "acted_upon"),
    [
        (Answer([("restriction", 0.9)], None), "restriction", "restriction"),
        (Answer([("overcharge", 0.5)], "non-condensables"), "overcharge", "non-condensables"),
        (Answer([("not one of these", 0.8)], None), "no response", "no response"),
    ],
)
def test_a_charge_that_is_held_back_counts_by_its_name_and_by_what_is_looked_at_first(
    answer: Answer, named: str, acted_upon: str
) -> None:
    assert (answer.named, answer.acted_upon) == (named, acted_upon)
