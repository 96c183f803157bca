"""A unit that is found sound is remembered, once for each charge, and the next visit compares with that."""

from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from calc.diagnosis import Fault
from calc.estimate import Estimate
from ingest.advice.advisor import Given
from ingest.advice.memory import Earlier
from ingest.advice.rerun import Grounds, rerun
from ingest.advice.sound import FoundSoundOnce
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.visit.found_sound import found_sound
from ingest.wire.messages import Added, Advice, BaselineWithdrawn, Finding, FoundSound
from tests.calc.test_sound_units_met import POINTS, measured_unit
from tests.ingest.advice.visits import T0_S, Visit
from tests.rigs import make_rig

RIGHT_DF = 10.0
"""As on the plate of the invented rig."""


def begun(rig: Rig, directory: Path, name: str = "a") -> Visit:
    """Begin a visit in a record of its own, whose liquid clamp was found right."""
    rig = replace(rig, record=directory / f"{name}.sqlite")
    record = Record(rig.record)
    record.begin_session(rig, boot="boot", new_visit=f"visit-{name}", time_s=T0_S)
    visit = Visit(rig, record, every_s=60)
    visit.check_clamp("liquid_line_temperature")
    return visit


def right(visit: Visit, seconds: range = range(1140)) -> list[Given]:
    """Watch it while all is right; gives the advices with which it is kept as found sound."""
    return [given for given in visit.watch(seconds, lambda _: RIGHT_DF) if given.found_sound]


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Visit, list[Given]]]:
    """A visit at which all is right from the first."""
    visit = begun(make_rig(tmp_path_factory.mktemp("rig")), tmp_path_factory.mktemp("sound"))
    yield visit, visit.watch(range(1140), lambda _: RIGHT_DF)
    visit.record.close()


def a_mark(visit: Visit, departures: Mapping[str, Estimate]) -> FoundSound:
    of = {name: (it.value, it.standard_uncertainty) for name, it in departures.items()}
    built = {"refrigerant": visit.rig.unit.refrigerant, "metering_device": visit.rig.unit.metering_device}
    return FoundSound("s1", T0_S, departures=of, **built)


def told(given: Given) -> Advice:
    return msgspec.json.decode(given.payload, type=Advice)


def test_it_is_kept_once_when_all_has_been_right_for_three_minutes(sound: tuple[Visit, list[Given]]) -> None:
    _, given = sound
    (kept,) = [it for it in given if it.found_sound]
    assert {"suction_dew_point", "condensing_over_outdoor", "superheat"} <= kept.found_sound.keys()
    assert "subcooling" not in kept.found_sound  # of that the plate says what is right
    first_s = next(it.time_s for it in given if told(it).state in ("near enough", "done"))
    assert kept.time_s == pytest.approx(first_s + 180.0, abs=20.0)


def test_a_unit_that_is_low_leaves_nothing(rig: Rig, tmp_path: Path) -> None:
    with closing(begun(rig, tmp_path).record) as record:
        visit = Visit(rig, record, every_s=20)
        assert not [it for it in visit.watch(range(1140), lambda _: 3.0) if it.found_sound]


def test_after_a_move_it_is_found_anew_and_a_start_of_the_daemon_forgets_nothing(rig: Rig, tmp_path: Path) -> None:
    visit = begun(rig, tmp_path)
    with closing(visit.record):
        (given,) = right(visit)
        visit.take(a_mark(visit, given.found_sound))
        again = Visit(visit.rig, visit.record, every_s=60)
        assert right(again, range(1140, 1800)) == []
        again.take(Added("m1", T0_S + 1800, mass_kg=0.02, phase="liquid"))
        assert len(right(again, range(1800, 2900))) == 1


def test_the_next_visit_is_judged_by_what_the_unit_itself_showed(
    sound: tuple[Visit, list[Given]], rig: Rig, tmp_path: Path
) -> None:
    first, given = sound
    mark = a_mark(first, next(it.found_sound for it in given if it.found_sound))
    again = begun(rig, tmp_path)
    with closing(again.record):
        again.advisor.go_on(Earlier(found_sound=found_sound([("before", [mark])])), again.rig, 101_325.0)
        last = again.watch(range(700), lambda _: RIGHT_DF)[-1]
    assert "detail.known_unit" in {it.kind for it in told(last).details}
    grounds = msgspec.json.decode(last.grounds, type=Grounds)
    assert grounds.known.situation.found_sound.keys() == mark.departures.keys()
    at_first = next(it for it in given if it.time_s == last.time_s)
    assert "detail.known_unit" not in {it.kind for it in told(at_first).details}
    surer, sure = (
        next(it.probability for it in told(given).causes if it.fault == Fault.NOTHING_WRONG)
        for given in (last, at_first)
    )
    assert surer > sure
    assert all(it.same for it in rerun(again.rig.record))  # the record tells by what it was judged


@pytest.mark.parametrize("seen", ["nothing", "mended", "found"])
def test_what_is_right_by_a_look_alone_is_no_baseline(rig: Rig, tmp_path: Path, seen: str) -> None:
    visit = begun(rig, tmp_path)
    with closing(visit.record):
        outcome = "not_met" if seen == "found" else "met"
        choices = {"cause": "rejection", "seen": seen}
        said = {"check": "looked_for", "grade": "said", "outcome": outcome}
        visit.take(Finding("f1", T0_S, choices=choices, **said))
        assert right(visit) == []


def test_after_a_move_and_a_start_of_the_daemon_the_new_charge_is_found_anew(rig: Rig, tmp_path: Path) -> None:
    visit = begun(rig, tmp_path)
    with closing(visit.record):
        (given,) = right(visit)
        visit.take(a_mark(visit, given.found_sound))
        visit.take(Added("m1", T0_S + 1140, mass_kg=0.02, phase="liquid"))
        again = Visit(visit.rig, visit.record, every_s=60)
        assert len(right(again, range(1140, 2900))) == 1


def test_where_somebody_withdrew_a_baseline_none_is_kept_at_that_visit(rig: Rig, tmp_path: Path) -> None:
    visit = begun(rig, tmp_path)
    with closing(visit.record):
        (given,) = right(visit)
        visit.take(a_mark(visit, given.found_sound))
        visit.take(BaselineWithdrawn("w1", T0_S + 1140, "Sam", "technician", "Fouled.", of="s1"))
        visit.take(Added("m1", T0_S + 1140, mass_kg=0.02, phase="liquid"))
        assert right(visit, range(1140, 2300)) == []
        assert right(Visit(visit.rig, visit.record, every_s=60), range(2300, 3500)) == []


@pytest.mark.parametrize("ends", ["withdrawn", "put right"])
def test_what_is_withdrawn_or_put_right_is_expected_no_more_from_that_moment_on(
    sound: tuple[Visit, list[Given]], rig: Rig, tmp_path: Path, ends: str
) -> None:
    first, given = sound
    mark = a_mark(first, next(it.found_sound for it in given if it.found_sound))
    again = begun(rig, tmp_path)
    with closing(again.record):
        again.advisor.go_on(Earlier(found_sound=found_sound([("before", [mark])])), again.rig, 101_325.0)
        again.watch(range(700), lambda _: RIGHT_DF)
        choices = {"cause": "rejection", "seen": "mended"}
        mended = Finding("f1", T0_S + 700, check="looked_for", grade="said", outcome="met", choices=choices)
        withdrawn = BaselineWithdrawn("w1", T0_S + 700, "Sam", "technician", "Fouled.", of="s1")
        again.take(withdrawn if ends == "withdrawn" else mended)
        last = again.watch(range(700, 900), lambda _: RIGHT_DF)[-1]
    grounds = msgspec.json.decode(last.grounds, type=Grounds)
    assert grounds.known.situation.found_sound == {}


def test_a_unit_with_a_figure_beyond_what_units_show_is_kept_by_no_patience() -> None:
    usual = measured_unit(POINTS[3], 4.25).relied_on()
    hot = usual.measured["liquid_pressure"]
    hotter = {**usual.measured, "liquid_pressure": Estimate(1.35 * hot.value, hot.standard_uncertainty)}
    for unit, is_kept in ((usual, True), (replace(usual, measured=hotter), False)):
        keeper = FoundSoundOnce()
        assert keeper.follow(unit, "", 0.0) == {}
        assert bool(keeper.follow(unit, "", 200.0)) is is_kept


def test_while_somebody_leaves_the_charge_against_advice_nothing_is_kept(rig: Rig, tmp_path: Path) -> None:
    visit = begun(rig, tmp_path)
    with closing(visit.record):
        visit.is_left = True
        assert right(visit) == []
        visit.is_left = False
        assert len(right(visit, range(1140, 1500))) == 1
