"""An instrument that failed a field check is not beyond doubt, until it passes one or is corrected."""

import msgspec
import pytest

from ingest.advice.advisor import Advisor
from ingest.advice.failed_checks import FailedChecks
from ingest.advice.memory import Earlier
from ingest.rig import Rig
from ingest.wire.messages import Advice, Calibration, Checked, CheckFound, Corrected, Line, Mark
from tests.ingest.advice.test_advisor import T0_S, pack

ALL = ("suction_pressure", "liquid_pressure")


def checked(verdict: str, channel: str = "suction_pressure") -> Mark:
    found = CheckFound("open_to_air", channel, 118.0, 914_906.0, 101_325.0, 813_581.0, 500.0, 3_447.0, verdict)  # type: ignore[arg-type]
    return Checked("c1", T0_S, "Sam", "technician", check=found)


def corrected(channel: str) -> Mark:
    line = Line(1.0, 0.0, 500.0)
    return Corrected("c2", T0_S, "Sam", "technician", calibration=Calibration(channel, line, line, ["c1"]))


def doubted(*marks: Mark) -> list[tuple[str, ...]]:
    return [doubt.channels for doubt in FailedChecks(marks).doubts(ALL)]


def test_who_failed_is_doubted_until_it_passes_or_is_corrected() -> None:
    failed = checked("out")
    assert doubted(failed) == [("suction_pressure",)]
    assert doubted(failed, checked("within")) == []
    assert doubted(failed, checked("cannot_tell")) == [("suction_pressure",)]
    assert doubted(failed, corrected("suction_pressure")) == []
    assert doubted(failed, corrected("liquid_pressure")) == [("suction_pressure",)]
    assert doubted(checked("within"), checked("cannot_tell")) == []
    assert doubted(checked("out", "a channel that the rig has no more")) == []


def told(advisor: Advisor, rig: Rig, second: float) -> Advice:
    newest = pack(rig, second, 4.0)
    advisor.follow(newest, rig, 101_325.0)
    return msgspec.json.decode(advisor.advise(newest, rig, 101_325.0, {}).payload, type=Advice)


@pytest.mark.parametrize("way", ["in this session", "in a session before"])
def test_the_advice_doubts_it_at_once_and_what_comes_of_it(way: str, rig: Rig) -> None:
    """The rig has an expansion valve: subcooling, from the liquid line, shows its charge."""
    advisor = Advisor(1.0, None)
    assert told(advisor, rig, 0.0).doubts == []
    if way == "in this session":
        advisor.take(checked("out", "liquid_pressure"), 0.0)
    else:
        advisor.go_on(Earlier(marks=[checked("out", "liquid_pressure")]), rig, 101_325.0)
    advice = told(advisor, rig, 1.0)
    (doubt,) = advice.doubts
    assert tuple(doubt.channels) == ("liquid_pressure",)
    assert "beyond its maker's limit" in doubt.reason.us
    assert advice.verification is not None
    (condition,) = [it for it in advice.verification.conditions if it.name == "readings"]
    assert condition.state != "met"
    assert advice.next_step is None
    assert advisor.in_doubt == {"liquid_pressure", "liquid_bubble_point", "subcooling", "condensing_over_ambient"}
    advisor.take(checked("within", "liquid_pressure"), 0.0)
    assert told(advisor, rig, 2.0).doubts == []
