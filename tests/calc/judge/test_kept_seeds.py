"""What `make judge` asks of whole sets, held on a small sample: less than one correct judge in a thousand fails here.

Seeds that nothing was set on, and other ones than those of docs/judge.md. How far chance carries a sample of
independent cases below what is asked: the binomial distribution (by scipy).
"""

import pytest

from tests.judge.beyond import at_least, at_most
from tests.judge.cases import NO_FAULT, WIDE
from tests.judge.diagnosis import Judged, judge_unit
from tests.judge.memory import Remembered, judge_remembered
from tests.judge.two_faults import TwoJudged, judge_pairs

KEPT = 2_500_000


@pytest.fixture(scope="module")
def wide() -> list[Judged]:
    return [case for seed in range(KEPT, KEPT + 3) for case in judge_unit(seed, WIDE)]


@pytest.fixture(scope="module")
def pairs() -> list[TwoJudged]:
    return judge_pairs(KEPT)


@pytest.fixture(scope="module")
def remembered() -> list[Remembered]:
    return [case for seed in range(KEPT, KEPT + 2) for case in judge_remembered(seed)]


def test_at_a_first_visit_the_truth_comes_first_in_three_of_four(wide: list[Judged]) -> None:
    assert at_least([it.running.ranking[0][0] == it.truth for it in wide], 0.75)


def test_of_twenty_sound_units_one_is_called_faulty(wide: list[Judged], remembered: list[Remembered]) -> None:
    answers = [it.running for it in wide if it.truth == NO_FAULT]
    answers += [it.remembered for it in remembered if it.truth == NO_FAULT]
    assert len(answers) == 10
    assert at_most([it.is_known and it.ranking[0][0] != NO_FAULT for it in answers], 0.05)


def test_with_one_earlier_sound_visit_it_comes_first_in_eleven_of_twelve(remembered: list[Remembered]) -> None:
    assert at_least([it.remembered.ranking[0][0] == it.truth for it in remembered], 0.92)


def test_two_faults_are_found_in_seven_of_ten_and_called_nothing_in_one_of_twenty(pairs: list[TwoJudged]) -> None:
    assert len(pairs) == 20
    assert at_least([it.is_found for it in pairs], 0.70)
    assert at_most([it.ranking[0][0] == NO_FAULT for it in pairs], 0.05)


def test_what_is_said_to_be_likely_is(wide: list[Judged], pairs: list[TwoJudged]) -> None:
    """Of all that was said the mean, with 5 % more either way, beside what was right."""
    firsts = [(it.running.ranking[0], {it.truth}) for it in wide]
    firsts += [(it.ranking[0], {"several at once"}) for it in pairs]
    said = sum(first[1] for first, _ in firsts) / len(firsts)
    right = [first[0] in truth for first, truth in firsts]
    assert at_least(right, said - 0.05)
    assert at_most(right, said + 0.05)
