"""A check that lacks something stays asked for, its answers add up, and nothing of a part counts for the next one."""

from typing import Any

import pytest

from ingest.visit.deciding import RefusedError
from ingest.visit.decisions import DECISIONS
from ingest.visit.repeated import is_repeated
from ingest.visit.standing import Standing
from ingest.wire.messages import Finding, FindingAsk, KeepAsk, Mark, Proposed, ProposedFinding, Wording
from ingest.wire.sheet import Capacitor, Circuit, Sheet
from tests.ingest.visit.checks import TIME_S, exact, facts, find

LABEL = {"label.herm": 45e-6, "label.fan": 5e-6}
DEAD: dict[str, dict[str, Any]] = {
    "isolate": {}, "prove_dead": {}, "discharge": {"choices": {"sections": "dual"}}, "wiring_photograph": {}
}  # fmt: skip


def found(check: str, outcome: Any = "met", **fields: Any) -> Finding:
    return Finding(
        f"f-{check}", TIME_S, "Sam", "technician", check=check, outcome=outcome, **{"grade": "said"} | fields
    )


def made_dead(*more: Mark) -> Standing:
    """A visit at which the panel is open, dead and discharged."""
    return Standing("v1", [*(found(check, **fields) for check, fields in DEAD.items()), *more])


def record(standing: Standing, name: str, check: str = "capacitor_measured", **fields: Any) -> Finding:
    values = fields.pop("values", {})
    accuracies = exact(values)
    head = (name, TIME_S, "Sam", "technician")
    made = find(check, values, standing=standing, head=head, accuracies=accuracies, **fields)  # type: ignore[arg-type]
    standing.take(made)
    return made


SECTION = {"herm": "Herm to common", "fan": "Fan to common"}


def keep(standing: Standing, name: str, farad: float, section: str, seen_s: float = TIME_S) -> Finding:
    """Keep what the meter showed of a section. seen_s: when."""
    what = ProposedFinding(
        "capacitor_measured", {"measured.?": farad}, SECTION, standard_uncertainties={"measured.?": 1e-8}
    )
    standing.take(Proposed(f"p-{name}", seen_s, what=what, from_s=seen_s, to_s=seen_s, says=Wording("", "")))
    ask = KeepAsk(name, "Sam", of=f"p-{name}", per=[section])
    made = DECISIONS[KeepAsk](ask, (name, seen_s, "Sam", "technician"), standing, facts())
    assert isinstance(made, Finding)
    standing.take(made)
    return made


MISSING = Wording("Still missing: it.", "Still missing: it.", kind="finding.missing")


@pytest.mark.parametrize("check", ["discharge", "wiring_photograph", "capacitor_measured", "start", "supply"])
@pytest.mark.parametrize(
    ("outcome", "is_asked"), [("cannot_tell", True), ("met", False), ("skipped", False), ("not_met", False)]
)
def test_what_lacks_something_is_asked_for_until_it_is_there_or_skipped(
    check: str, outcome: Any, is_asked: bool
) -> None:
    said = MISSING if outcome == "cannot_tell" else None
    by_eye = found("capacitor_by_eye")  # so that it is measured
    standing = made_dead(by_eye, found(check, outcome, says=said))
    hands = check == "discharge" and outcome == "not_met"  # a life hangs on it: asked for until it is met
    assert (check in standing.message().next) is (is_asked or hands)


def test_what_cannot_be_told_though_all_was_taken_is_not_asked_again() -> None:
    near = Wording("Too near.", "Too near.", kind="finding.cannot_tell")
    standing = made_dead(found("capacitor_by_eye"), found("capacitor_measured", "cannot_tell", says=near))
    assert "capacitor_measured" not in standing.message().next


def test_answers_of_a_part_add_up_record_by_record() -> None:
    standing = Standing("v1")
    first = record(standing, "1", values=LABEL)
    second = record(standing, "2", values={"measured.herm": 9e-6, "measured.fan": 5e-6}, builds_on="1")
    third = record(standing, "3", choices={"sections": "dual"}, builds_on="2")
    assert [it.outcome for it in (first, second, third)] == ["cannot_tell", "cannot_tell", "not_met"]


def test_sections_are_those_that_were_discharged_or_stand_in_the_sheet() -> None:
    values = {**LABEL, "measured.herm": 45e-6, "measured.fan": 5e-6}
    asked = record(made_dead(), "1", values=values)
    assert (asked.outcome, asked.choices) == ("met", {"sections": "dual"})
    again = FindingAsk("1", "Sam", check="capacitor_measured", grade="typed", values=values, accuracies=exact(values))
    assert is_repeated(again, "technician", asked)  # though the mark says more than was asked
    single = Sheet("RTU-K7Q-4", [Circuit("1", "R-410A", "txv")], parts=[Capacitor("can", fan_f=5e-6)])
    known = facts(sheet=single)
    of_fan = record(Standing("v1"), "2", values={"measured.fan": 5e-6}, known=known)
    assert (of_fan.outcome, of_fan.choices) == ("met", {"sections": "fan"})
    empty = record(
        Standing("v1"), "3", "discharge", values={"volts.fan_common": 0.1}, choices={"means": "resistor"}, known=known
    )
    assert (empty.outcome, empty.choices["sections"]) == ("met", "single")
    said = record(made_dead(), "4", values=values, choices={"sections": "fan"})
    assert said.choices == {"sections": "fan"}  # what somebody says counts


def test_the_cause_and_the_new_part_stay_asked_for_though_the_new_one_measures_well() -> None:
    standing = made_dead(found("capacitor_by_eye"), found("capacitor_measured", "not_met"))
    standing.take(found("capacitor_measured"))
    assert {"replacement", "cause"} <= {*standing.message().next}
    assert {"replacement", "cause"} <= {*standing.findings.left_open()}
    standing.take(found("replacement"))
    standing.take(found("cause", "skipped", reason="other"))
    assert not {"replacement", "cause"} & {*standing.message().next}


def test_a_burst_can_that_was_exchanged_still_asks_for_its_cause() -> None:
    standing = made_dead(found("capacitor_by_eye", "not_met", choices={"top": "domed"}))
    standing.take(found("capacitor_by_eye", choices={"top": "flat"}))
    assert {"capacitor_measured", "replacement", "cause"} <= {*standing.message().next}


def test_a_section_of_the_new_can_is_never_held_beside_one_of_the_old() -> None:
    standing = made_dead()
    record(standing, "1", values={**LABEL, "measured.herm": 9e-6, "measured.fan": 5e-6}, choices={"sections": "dual"})
    herm = keep(standing, "2", 45e-6, "herm")
    assert (herm.builds_on, herm.values, herm.outcome) == ("", {"measured.herm": 45e-6}, "cannot_tell")
    both = keep(standing, "3", 5e-6, "fan")
    assert (both.builds_on, both.values) == ("2", {"measured.herm": 45e-6, "measured.fan": 5e-6})


def test_a_section_that_reads_the_same_again_goes_on_and_one_that_reads_otherwise_begins_anew() -> None:
    standing = made_dead()
    keep(standing, "1", 45e-6, "herm")
    keep(standing, "2", 5e-6, "fan")
    assert keep(standing, "3", 45.01e-6, "herm").builds_on == "2"
    assert keep(standing, "4", 9e-6, "herm").builds_on == ""


def test_nothing_goes_on_from_the_part_that_was_exchanged() -> None:
    standing = made_dead(found("capacitor_by_eye"))
    old = record(standing, "1", values={"measured.herm": 9e-6})
    assert "capacitor_measured" in standing.message().next
    standing.take(found("replacement"))
    assert "capacitor_measured" not in standing.message().next  # nobody asks of the old one any more
    with pytest.raises(RefusedError, match="of the part that was exchanged since"):
        record(standing, "2", values={"measured.fan": 5e-6}, builds_on=old.id)
    assert keep(standing, "3", 5e-6, "fan").values == {"measured.fan": 5e-6}


EXCHANGED = {"strap": "strapped", "leads": "yes", "old_part": "kept", "why": "low", "labels": "alike"}
OLD = {"old_label.herm": 45e-6, "old_label.fan": 5e-6}


def test_what_a_meter_shows_after_an_exchange_is_of_the_part_that_went_in() -> None:
    standing = made_dead(found("capacitor_by_eye"), found("capacitor_measured", "not_met"))
    record(standing, "r1", "replacement", values=OLD, choices=EXCHANGED)
    assert "replacement" in standing.message().next  # the new one was not measured
    herm = keep(standing, "2", 45.1e-6, "herm", seen_s=TIME_S + 60.0)
    fan = keep(standing, "3", 5e-6, "fan", seen_s=TIME_S + 30.0)  # seen before the other one was kept
    assert [(it.check, it.outcome, it.builds_on) for it in (herm, fan)] == [
        ("replacement", "cannot_tell", "r1"), ("replacement", "met", "2")
    ]  # fmt: skip
    assert (fan.values, fan.choices) == ({**OLD, "measured.herm": 45.1e-6, "measured.fan": 5e-6}, EXCHANGED)
    assert "replacement" not in standing.message().next
    again = keep(standing, "4", 45e-6, "herm", seen_s=TIME_S + 90.0)
    assert again.check == "capacitor_measured"  # the exchange lacks nothing any more


def test_what_a_meter_showed_before_an_exchange_was_recorded_is_never_of_the_new_part() -> None:
    standing = made_dead(found("capacitor_by_eye"))
    record(standing, "r1", "replacement", values=OLD, choices=EXCHANGED)
    for seen_s in (TIME_S - 60.0, TIME_S):
        assert keep(standing, f"k{seen_s}", 5e-6, "fan", seen_s=seen_s).check == "capacitor_measured"


def test_a_new_part_that_measures_outside_its_label_is_not_met() -> None:
    """±6 % where the label is silent: common practice, no source."""
    standing = made_dead(found("capacitor_by_eye"))
    record(standing, "r1", "replacement", values={"old_label.fan": 5e-6}, choices=EXCHANGED)
    assert keep(standing, "2", 4.5e-6, "fan", seen_s=TIME_S + 1.0).outcome == "not_met"


def test_the_supply_takes_its_volts_from_the_register() -> None:
    sheet = Sheet("RTU-K7Q-4", [Circuit("1", "R-410A", "txv")], volts=230.0, phases=1)
    running = {"running.a_b": 228.0, "rest.a_b": 232.0}
    told = record(Standing("v1"), "1", "supply", values=running, known=facts(sheet=sheet))
    assert told.outcome == "met"
    assert record(Standing("v1"), "2", "supply", values=running, known=facts()).outcome == "cannot_tell"
