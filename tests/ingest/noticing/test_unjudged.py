"""In a blind exercise before the verdict a proposal says what was measured, and nothing of what it may mean."""

import pytest
from msgspec.structs import replace

from calc.sentences import ENGLISH
from ingest.noticing.unjudged import JUDGED, MEASURED
from ingest.visit.checklist import guided
from ingest.wire.messages import Proposed
from tests.ingest.noticing.courses import SHEET, Course, known
from tests.ingest.noticing.test_electrical_live import REST, RUNS

TELLS_FIGURES = {
    "power_off",
    "power_off_by_amps",
    "power_back",
    "power_back_early",
    "power_back_locked",
    "dead_unnamed",
    "dead_held",
    "discharge",
    "capacitor",
    "capacitor_unnamed",
    "supply",
    "supply_of_three",
    "joint",
    "probes_on",
    "suction_probe_on",
    "liquid_probe_on",
    "probes_off",
    "probe_moved",
    "clamp_moved",
    "settled_before",
    "settled_after",
    "settled_after_alike",
    "nitrogen_rose",
    "pattern_unit",
    "pattern_none",
    "pattern_cannot_tell",
}
"""What each says was read off instruments, is how the instruments were handled, or is which unit it is."""


def test_every_sentence_of_what_is_noticed_is_known_to_judge_or_not() -> None:
    kinds = {kind for kind in ENGLISH.sentences if kind.startswith("noticed.") and not kind.endswith("_unjudged")}
    assert kinds == MEASURED.keys() | {f"noticed.{kind}" for kind in TELLS_FIGURES}


def test_what_is_left_out_is_asked_of_whoever_keeps_it() -> None:
    choices = {it.name for word in ("start", "opened") for it in guided()[word].check.choices}
    assert choices >= JUDGED


def proposed_of(course: Course, check: str) -> Proposed:
    return next(it for it in course.proposed if it.what.check == check)


def backwards(*, is_blind: bool) -> Proposed:
    """A scroll that turns backwards draws far less, and the pressures do not part (makers' manuals)."""
    volts = dict.fromkeys(("line_voltage_ab", "line_voltage_bc", "line_voltage_ca"), 240.0)
    legs = dict.fromkeys((f"compressor_current_{leg}" for leg in "abc"), 0.0)
    course = Course(of=known(sheet=replace(SHEET, phases=3), is_blind=is_blind))
    course.go(400.0, **volts, **legs, suction_pressure=1.4e6, liquid_pressure=1.4e6, condenser_fan_current=0.0)
    course.go(30.0, **dict.fromkeys(legs, 4.0), condenser_fan_current=1.6)
    return proposed_of(course, "start")


def test_a_start_is_proposed_without_what_it_means() -> None:
    full, kept = backwards(is_blind=False), backwards(is_blind=True)
    assert full.what.choices["course"] == "backwards"
    assert "backwards" in full.says.us
    assert kept.what.choices == {"motor": "compressor"}
    assert kept.what.values == full.what.values
    assert "backwards" not in f"{kept.says}"


@pytest.mark.parametrize("is_blind", [False, True])
def test_a_capacitor_is_proposed_without_its_verdict(is_blind: bool) -> None:
    """20 µF of a labelled 45 µF: far below the 6 % of its label."""
    course = Course(of=known(is_blind=is_blind), spreads={"capacitance_herm": 2e-7})
    course.go(20.0, **REST | {"line_voltage_ab": 0.0})
    course.go(20.0, capacitance_herm=20e-6)
    kept = proposed_of(course, "capacitor_measured")
    assert ("failed" in f"{kept.says}") is not is_blind
    assert "µF" in kept.says.us
    assert kept.what.values["measured.herm"] == pytest.approx(20e-6)


def test_amps_are_proposed_beside_the_plate_and_not_held_against_it() -> None:
    """3 A on a fan's plate of 2 A."""
    course = Course(of=known(is_blind=True))
    course.go(400.0, **RUNS | {"condenser_fan_current": 3.0})
    fan = next(it for it in course.proposed if it.what.check == "motor_amps" and "fan" in it.says.us)
    assert "3.0 A; its nameplate says 2 A" in fan.says.us
