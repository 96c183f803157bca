"""What may still come from a Modbus device, and when nothing may any more."""

import pytest

from ingest.link.modbus_answers_due import AnswersDue
from ingest.link.modbus_request import Request

LATEST = 10
"""Times the timeout, after which no answer is due any more: common practice, no source."""

VALUE = Request(1, "holding", 100, 2)


@pytest.fixture
def due() -> AnswersDue:
    due = AnswersDue(timeout_s=1.0)
    due.will_ask(VALUE)
    due.will_ask(Request(1, "input", 0, 1))
    return due


def test_a_probe_is_like_no_value_and_like_no_other_probe(due: AnswersDue) -> None:
    due.unanswered(VALUE, 0.0)
    probes = [due.probe(VALUE) for _ in range(8)]
    assert {probe.table for probe in probes} == {"input"}
    assert all((probe.device, probe.words) != (1, 1) for probe in probes)
    assert len({probe.words for probe in probes}) == 8


def test_an_answered_probe_settles_everything_before_it(due: AnswersDue) -> None:
    due.unanswered(VALUE, 0.0)
    due.probe(VALUE)
    assert due.probe_answered(due.probe(VALUE), refused=False)
    assert due.overdue(0.1) == []


def test_a_refusal_settles_it_only_where_no_earlier_probe_may_be_refused_yet(due: AnswersDue) -> None:
    due.unanswered(VALUE, 0.0)
    due.probe(VALUE)
    second = due.probe(VALUE)
    assert due.probe_answered(second, refused=True)  # of the first or of the second: both came after the value
    due.unanswered(VALUE, 2.0)  # and now the refusal of the second may still come
    third = due.probe(VALUE)
    assert not due.probe_answered(third, refused=True)
    assert due.overdue(2.1) == [(VALUE, 2.0)]
    assert due.probe_answered(third, refused=True)
    assert due.overdue(2.1) == []
    due.unanswered(VALUE, 4.0)  # every refusal has come by now
    assert due.probe_answered(due.probe(VALUE), refused=True)


def test_registers_in_answer_settle_it_whatever_else_is_open(due: AnswersDue) -> None:
    """Their length is that of one probe alone."""
    due.unanswered(VALUE, 0.0)
    due.probe(VALUE)
    due.probe_answered(due.probe(VALUE), refused=True)
    due.unanswered(VALUE, 2.0)
    due.probe(VALUE)
    assert due.probe_answered(due.probe(VALUE), refused=False)
    assert due.overdue(2.1) == []
    due.unanswered(VALUE, 4.0)  # and of the earlier probes none is open any more
    assert due.probe_answered(due.probe(VALUE), refused=True)


def test_a_key_settles_what_refusals_of_many_lost_probes_would_not(due: AnswersDue) -> None:
    due.unanswered(VALUE, 0.0)
    for _ in range(9):
        probe = due.probe(VALUE)
    assert due.probe_answered(probe, refused=True)
    due.unanswered(VALUE, 20.0)
    assert not due.probe_answered(due.probe(VALUE), refused=True)
    key = due.key(VALUE)
    assert key is not None
    assert due.overdue(20.1) == [(VALUE, 20.0)]
    later = due.probe(VALUE)
    due.key_answered(key)
    assert due.overdue(20.2) == []
    due.unanswered(VALUE, 21.0)
    assert not due.probe_answered(due.probe(VALUE), refused=True)  # it may be of the probe after the key
    assert due.probe_answered(later, refused=True)


def test_a_key_that_is_out_is_asked_for_no_second_time(due: AnswersDue) -> None:
    due.unanswered(VALUE, 0.0)
    first, second = due.key(VALUE), due.key(VALUE)
    assert first is not None
    assert second is not None
    assert first.table != second.table
    assert due.key(VALUE) is None
    due.key_answered(second)
    assert due.open_keys() == []
    assert due.key(VALUE) == first


@pytest.mark.parametrize("exception", [5, 6, 11])
def test_after_some_exceptions_the_answer_may_still_come(due: AnswersDue, exception: int) -> None:
    assert not due.is_final(VALUE, exception)  # MODBUS Application Protocol V1.1b3, 7
    assert due.is_final(VALUE, 2)
    due.probe(VALUE)
    assert not due.is_final(VALUE, 2)  # it may be of the probe


def test_after_an_answered_value_no_earlier_probe_is_open(due: AnswersDue) -> None:
    due.unanswered(VALUE, 0.0)
    due.probe(VALUE)
    due.probe_answered(due.probe(VALUE), refused=True)
    due.answered(VALUE)
    due.unanswered(VALUE, 2.0)
    assert due.probe_answered(due.probe(VALUE), refused=True)


def test_what_has_not_come_for_long_never_comes(due: AnswersDue) -> None:
    due.unanswered(VALUE, 5.0)
    assert due.overdue(5.0 + LATEST - 0.1) == [(VALUE, 5.0)]
    assert due.overdue(5.0 + LATEST + 0.1) == []


@pytest.mark.parametrize(("timeout_s", "asked_s"), [(1.0, 10.0), (0.5, 5.0)])
def test_an_answer_is_expected_for_ten_times_the_timeout(timeout_s: float, asked_s: float) -> None:
    """Common practice, no source: the slowest gateways take some seconds, at the usual timeout of a second."""
    due = AnswersDue(timeout_s)
    due.unanswered(VALUE, 0.0)
    assert due.overdue(asked_s * 0.99) == [(VALUE, 0.0)]
    assert due.overdue(asked_s * 1.01) == []


def test_with_what_never_comes_its_probes_are_over_too(due: AnswersDue) -> None:
    due.unanswered(VALUE, 0.0)
    due.probe(VALUE)
    assert due.overdue(60.0) == []
    due.unanswered(VALUE, 60.0)
    assert due.probe_answered(due.probe(VALUE), refused=True)  # of this probe: the one of a minute ago is over


def test_a_probe_is_unlike_what_is_due_whatever_is_to_be_asked_next(due: AnswersDue) -> None:
    """Its function tells it from the answer that is due, its length from any that is not."""
    due.unanswered(VALUE, 0.0)
    probe = due.probe(Request(1, "input", 0, 1))
    assert probe.table == "input"
    assert probe.words != 1


def test_of_a_device_that_answers_probes_only_a_probe_settles_it(due: AnswersDue) -> None:
    due.unanswered(VALUE, 0.0)
    due.probe_answered(due.probe(VALUE), refused=True)
    due.unanswered(VALUE, 5.0)
    assert due.overdue(5.0 + 100 * LATEST) == [(VALUE, 5.0)]
    assert due.probe_answered(due.probe(VALUE), refused=True)
    assert due.overdue(5.0 + 100 * LATEST) == []


def test_devices_do_not_concern_each_other(due: AnswersDue) -> None:
    due.unanswered(VALUE, 0.0)
    due.unanswered(Request(7, "holding", 100, 2), 0.0)
    due.came(VALUE)
    assert [request.device for request, _ in due.overdue(0.1)] == [7]
