"""Doubts of a rig: only about what is fresh, and only those that last."""

from collections.abc import Mapping

import pytest

from calc.doubts.observed import Doubt
from calc.doubts.plausibility import doubts
from calc.estimate import Estimate
from calc.judge.running import is_running
from calc.situation import Repetition, Situation
from ingest.advice.advisor import _observed
from ingest.advice.situation import known_of
from ingest.rig import Rig
from ingest.wire.messages import Pack, Reading

# R-410A as a unit has it at work: 118 psig and 350 psig, the wrong way round
EXCHANGED = {"suction_pressure": 2_514_000.0, "liquid_pressure": 914_906.0}


def found(
    rig: Rig, values: Mapping[str, float], quality: str = "ok", repetitions: Mapping[str, Repetition] = {}
) -> list[Doubt]:
    readings = {name: Reading(value, 0.0, quality, "", 1e-3 * value) for name, value in values.items()}
    return doubts_of(rig, readings, repetitions)


def doubts_of(rig: Rig, readings: Mapping[str, Reading], repetitions: Mapping[str, Repetition] = {}) -> list[Doubt]:
    pack = Pack(rig.name, 1, 1, 0, 0.0, 0.0, readings)
    return doubts(_observed(known_of(rig, 101_325.0, repetitions), pack, rig))


def test_exchanged_pressures_are_told_with_what_to_do(rig: Rig) -> None:
    (doubt,) = found(rig, EXCHANGED)
    assert doubt.channels == ("suction_pressure", "liquid_pressure")
    assert str(doubt.fix).startswith("Stop the unit, close the valves and recover what the hoses hold; then exchange")


def test_what_is_old_or_unknown_is_not_doubted(rig: Rig) -> None:
    assert found(rig, EXCHANGED, quality="stale") == []
    assert doubts_of(rig, {"suction_pressure": Reading(None, 0.0, "stale")}) == []


def test_the_reference_that_is_configured_is_the_one_to_doubt(rig: Rig) -> None:
    (doubt,) = found(rig, {"suction_pressure": 2 * 101_325.0})  # one atmosphere over the air: psia taken for psig
    assert "may send absolute pressure" in str(doubt.fix)


def test_a_frozen_probe(rig: Rig) -> None:
    held = {"suction_pressure": Repetition(40, 2, 20.0), "liquid_pressure": Repetition(40, 2, 20.0)}
    (doubt,) = found(rig, {"suction_pressure": 914_906.0}, repetitions=held)
    assert doubt.channels == ("suction_pressure",)


@pytest.mark.parametrize(
    ("known", "rla_a", "running"),
    [
        ({"compressor_current": 7.6}, 12.0, True),
        ({"compressor_current": 0.2}, 12.0, False),
        ({"compressor_current": 1.5}, None, True),
        ({"compressor_current_a": 0.0, "compressor_current_b": 7.0}, 12.0, True),
        ({"compressor_current": 0.2, "suction_pressure": 9e5, "liquid_pressure": 25e5}, 12.0, False),
        ({"suction_pressure": 9e5, "liquid_pressure": 25e5}, 12.0, True),
        ({"suction_pressure": 16e5, "liquid_pressure": 16.5e5}, 12.0, False),
        ({"suction_pressure": 9e5, "liquid_pressure": 12e5}, 12.0, None),
        ({"suction_pressure": 25e5, "liquid_pressure": 9e5}, 12.0, None),
        ({"suction_pressure": 9e5}, 12.0, None),
    ],
)
def test_whether_it_runs(known: Mapping[str, float], rla_a: float | None, running: bool | None) -> None:
    measured = {name: Estimate(value, 0.0) for name, value in known.items()}
    assert is_running(Situation(measured=measured, compressor_rla_a=rla_a)) is running
