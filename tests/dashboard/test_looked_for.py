"""Keys beside what the readings point at: each is an answer that the check of it takes."""

from calc.diagnosis import Fault
from calc.looks import MISSED
from dashboard.looked_for import looked_for
from ingest.visit.checklist import guided


def test_what_a_look_tells_of_has_keys_and_nothing_else_has_any() -> None:
    assert {fault.value for fault in Fault if looked_for(fault.value)} == set(MISSED)


def test_each_key_is_an_answer_of_the_check() -> None:
    check = guided()["looked_for"].check
    options = {choice.name: set(choice.options) for choice in check.choices}
    for fault in MISSED:
        for key in looked_for(fault):
            fields = key["body"]["fields"]
            assert fields["check"] == "looked_for"
            assert fields["choices"].keys() == options.keys()
            assert all(chosen in options[name] for name, chosen in fields["choices"].items())
        assert len({key["says"] for key in looked_for(fault)}) == 3
