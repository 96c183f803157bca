"""Judging as the daemon has it: what a mark changes is said at once, and not two seconds later."""

import msgspec
import pytest

from ingest.advice.advisor import Given
from ingest.channels import Channels
from ingest.parts.judging import JudgedRig, Judging
from ingest.rig import Rig
from ingest.wire.messages import Added, Advice, Checked, CheckFound, Mark, Note, Recovered
from tests.ingest.advice.test_advisor import T0_S, pack

FOUND = CheckFound("open_to_air", "suction_pressure", 118.0, 914_906.0, 101_325.0, 813_581.0, 500.0, 3_447.0, "out")
PERSON = ("m1", T0_S, "Sam", "technician")


@pytest.mark.parametrize(
    ("mark", "change_kg", "at_once"),
    [
        (Added(*PERSON, mass_kg=0.1, phase="liquid"), 0.1, True),
        (Recovered(*PERSON, mass_kg=0.1, phase="vapour"), -0.1, True),
        (Checked(*PERSON, check=FOUND), 0.0, True),
        (Note(*PERSON, "Filter changed."), 0.0, False),
    ],
)
def test_what_a_mark_changes_is_said_at_once(mark: Mark, change_kg: float, at_once: bool, rig: Rig) -> None:
    given: list[Given] = []
    judging = Judging(
        JudgedRig(lambda: rig, Channels(rig, lambda: T0_S), lambda: 101_325.0), given.append, lambda *_: None
    )
    judging.take(mark, change_kg)
    assert given == []  # nothing was measured yet
    assert judging.unsettled == {"superheat", "subcooling"}
    for second in range(1200):
        judging.follow(pack(rig, float(second), 4.0))
    judging.advise()
    assert judging.unsettled == set()
    given.clear()
    judging.take(mark, change_kg)
    assert len(given) == at_once
    if isinstance(mark, Added | Recovered):
        advice = msgspec.json.decode(given[0].payload, type=Advice)
        assert (advice.state, advice.next_step) == ("settling", None)
        assert "subcooling" in judging.unsettled
    if isinstance(mark, Checked):
        assert "suction_pressure" in judging.in_doubt
