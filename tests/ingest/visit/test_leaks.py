"""Where a leak was looked for, and where one is open, by the name of the circuit."""

from typing import Any

import pytest

from ingest.visit.leaks import Leaks
from ingest.wire.messages import Finding


def found(outcome: str, joints: str) -> Finding:
    return Finding("f1", 60.0, check="leaks", grade="said", outcome=outcome, choices={"joints": joints})


@pytest.mark.parametrize("named_first", [True, False])
def test_what_names_no_circuit_is_of_the_one_that_is_meant(named_first: bool) -> None:
    """Nobody is asked again whether leaks were looked for, though the unit's only circuit has a name in its sheet."""
    tight, leaks = Leaks(), Leaks()
    for it, finding in ((tight, found("met", "tight")), (leaks, found("not_met", "leak"))):
        if named_first:
            it.name("1")
        it.take(finding, "")
        it.name("1")
    assert ("1" in tight.sought, tight.open) == (True, {})
    assert ("1" in leaks.sought, leaks.open) == (True, {"1": 60.0})


def test_another_circuit_than_the_one_that_is_meant_is_not_looked_at_by_it() -> None:
    leaks = Leaks()
    leaks.name("1")
    leaks.take(found("met", "tight"), "2")
    assert leaks.sought == {"2"}


@pytest.mark.parametrize(("shut", "stays"), [("met", {}), ("not_met", {"1": 9.0}), ("cannot_tell", {"1": 9.0})])
def test_a_leak_of_before_stays_open_until_the_cores_under_the_probes_were_looked_at(
    shut: Any, stays: dict[str, float]
) -> None:
    """A core under a probe is not looked at: common practice, no source."""
    leaks = Leaks({"1": 9.0})
    choices = {"joints": "tight", "caps_and_cores": "as_they_come_off"}
    leaks.take(Finding("f1", 60.0, check="leaks", grade="said", outcome="met", choices=choices), "1")
    assert (leaks.sought, leaks.open) == ({"1"}, {"1": 9.0})
    leaks.take(Finding("f2", 70.0, check="probes_off", grade="said", outcome=shut), "1")
    assert leaks.open == stays


def test_probes_that_come_off_close_no_leak_that_nobody_looked_for() -> None:
    leaks = Leaks({"1": 9.0})
    leaks.take(Finding("f2", 70.0, check="probes_off", grade="said", outcome="met"), "1")
    assert leaks.open == {"1": 9.0}


def test_a_leak_that_is_found_after_all_else_was_tight_is_not_closed_as_the_probes_come_off() -> None:
    """Tight cores repair no joint: common practice, no source."""
    leaks, later = Leaks(), {"joints": "tight", "caps_and_cores": "as_they_come_off"}
    leaks.take(Finding("f1", 60.0, check="leaks", grade="said", outcome="met", choices=later), "1")
    leaks.take(Finding("f2", 70.0, check="leaks", grade="said", outcome="not_met", choices={"joints": "leak"}), "1")
    leaks.take(Finding("f3", 80.0, check="probes_off", grade="said", outcome="met"), "1")
    assert leaks.open == {"1": 70.0}


def test_a_leak_that_is_found_again_is_open_since_it_was_found_first() -> None:
    """How long it has been known is told whoever moves refrigerant: common practice, no source."""
    leaks = Leaks({"1": 9.0})
    leaks.take(found("not_met", "leak"), "1")
    assert leaks.open == {"1": 9.0}
