"""What a field check found there where the instrument measures counts as evidence, and ends what waited for it."""

import msgspec
import pytest

from calc.estimate import Estimate
from ingest.advice.checked import CheckedInPlace
from ingest.wire.messages import Advice, Calibration, Checked, CheckFound, CheckKind, Corrected, Line, Mark, Reloaded
from tests.ingest.advice.visits import T0_S, Given, Visit

CLAMP = "liquid_line_temperature"


def checked(kind: CheckKind, channel: str, offset: float) -> Mark:
    found = CheckFound(kind, channel, 309.0, 309.0, 309.0 - offset, offset, 0.3, 0.25, "within")
    return Checked("c1", T0_S, "Sam", "technician", check=found)


def corrected(channel: str) -> Mark:
    line = Line(1.0, 0.0, 0.25)
    return Corrected("c2", T0_S, "Sam", "technician", calibration=Calibration(channel, line, line, ("c1",)))


@pytest.mark.parametrize("kind", ["one_pipe", "reference", "open_to_air", "closed_jaw"])
def test_what_was_found_in_place_is_remembered_and_the_newest_counts(kind: CheckKind) -> None:
    marks = [checked(kind, CLAMP, 0.4), checked(kind, CLAMP, 0.2), checked(kind, "suction_pressure", 0.1)]
    assert CheckedInPlace(marks).found == {CLAMP: Estimate(0.2, 0.3), "suction_pressure": Estimate(0.1, 0.3)}


def test_ice_tells_nothing_of_how_a_clamp_sits_on_its_pipe() -> None:
    assert CheckedInPlace([checked("ice_point", CLAMP, 0.1)]).found == {}


def test_what_was_corrected_is_off_by_nothing_more_and_no_other_channel_is() -> None:
    marks = [checked("one_pipe", CLAMP, 0.6), corrected("suction_line_temperature")]
    assert CheckedInPlace(marks).found == {CLAMP: Estimate(0.6, 0.3)}
    assert CheckedInPlace([*marks, corrected(CLAMP)]).found == {CLAMP: Estimate(0.0, 0.3)}


def test_of_another_instrument_nothing_was_found() -> None:
    assert CheckedInPlace([checked("one_pipe", CLAMP, 0.1), Reloaded("r", T0_S, "Sam", "technician")]).found == {}


def told(given: list[Given]) -> Advice:
    return msgspec.json.decode(given[-1].payload, type=Advice)


def test_a_low_charge_that_one_clamp_alone_reads_waits_for_a_look_at_it_and_no_longer(visit: Visit) -> None:
    """4 °F of subcooling where the plate says 10, and all else as of a sound unit: a clamp 6 °F warm reads the same."""
    before = told(visit.watch(range(400), lambda _: 4.0))
    assert before.next_step is None
    assert (before.state, before.sentence.kind) == ("look", "headline.held_back")
    assert "an instrument that is off" in before.sentence.us
    (said,) = [it for it in before.details if it.kind == "check.instrument_off_pipe"]
    assert "the liquid line temperature" in said.us
    assert before.causes[0].held_back is not None
    assert before.causes[0].held_back.kind == "held_back.instrument_off"
    assert any("hot" in caution.lower() or "turn" in caution.lower() for caution in before.cautions)
    visit.check_clamp(CLAMP, T0_S + 400)
    after = told(visit.watch(range(400, 420), lambda _: 4.0))
    assert after.next_step is not None
    assert after.sentence.kind.startswith("headline.add")


def test_what_was_found_is_known_again_after_a_restart(visit: Visit) -> None:
    visit.watch(range(400), lambda _: 4.0)
    visit.check_clamp(CLAMP, T0_S + 400)
    visit.watch(range(400, 420), lambda _: 4.0)
    again = Visit(visit.rig, visit.record)
    assert told(again.watch(range(420, 440), lambda _: 4.0)).sentence.kind.startswith("headline.add")
