"""The wall clock is set by an hour in the middle of a visit: it neither silences a warning nor prolongs one.

That nothing but the time that went by counts is common practice, no source.
"""

from dataclasses import replace
from pathlib import Path

import pytest

from ingest.channels import Channels
from ingest.clock import Clock
from ingest.config.load import load, resolve
from ingest.decode.mqtt import MqttDecoder, MqttValue
from ingest.frames import Frame
from ingest.parts.ticking import Ticking
from ingest.rig import Rig
from ingest.visit.standing import Standing
from ingest.visit.whose import doubts
from ingest.wire.messages import Added, AddedAsk, Pack, Reading, VisitOpened
from tests.ingest.test_clock import Machine
from tests.ingest.visit.checks import TIME_S, course, facts, taken
from tests.ingest.visit.moves import T0_S, Visit
from tests.ingest.visit.test_honest import DEAD, LOCKED, OWN, kept, told
from tests.rigs import write_configuration

HOUR_S = 3600.0
METER = """
[[instrument]]
name = "meter"
interval = "5 s"
link = { kind = "mqtt", values.volts = { topic = "meter", senml = "volts", unit = "V" } }

[[instrument.channel]]
channel = "line_voltage_ab"
field = "volts"
unit = "V"
accuracy = "1 V"
"""
either_way = pytest.mark.parametrize("set_by_s", [-HOUR_S, HOUR_S])


@either_way
@pytest.mark.parametrize(("later_s", "outcome"), [(-10.0, "cannot_tell"), (5.0, "met")])
def test_what_is_read_counts_from_the_lock_on_whatever_the_clock_shows(
    set_by_s: float, later_s: float, outcome: str
) -> None:
    stamped_s = TIME_S + set_by_s if later_s > 0.0 else TIME_S + later_s
    read = {"line_voltage_ab": Reading(0.5, stamped_s, standard_uncertainty=0.5)}
    known = replace(facts(), readings=read, steady_s=TIME_S + 6.0, read_s={"line_voltage_ab": TIME_S + later_s})
    assert told("prove_dead", DEAD, OWN, known=known, standing=course(kept("i1", "isolate")))[0] == outcome
    standing = Standing("v1")
    standing.take(taken("p0", check="isolate"), TIME_S)
    assert told("isolate", {}, LOCKED, known=known, standing=standing)[0] == outcome


@either_way
@pytest.mark.parametrize(("late_s", "outcome"), [(2.0, "met"), (8.0, "cannot_tell")])
def test_what_was_measured_before_the_lock_and_came_after_it_proves_nothing(
    tmp_path: Path, set_by_s: float, late_s: float, outcome: str
) -> None:
    """From a real pack: 0.5 V that a meter measured so long before it sent it, 5 s after the lock."""
    machine = Machine(TIME_S)
    clock = Clock(machine.now)
    path = write_configuration(tmp_path)
    path.write_text(path.read_text(encoding="utf-8") + METER, encoding="utf-8")
    rig = resolve(load(path), path)
    channels = Channels(rig, clock.time_s)
    ticking = Ticking(clock, channels, rig=lambda: rig, session=lambda: 1, took=lambda _: None, note=lambda *_: None)
    standing = Standing("v1")
    standing.take(kept("i1", "isolate"), clock.steady_s())
    machine.wait(5.0)
    machine.set_by(set_by_s)
    ticking.tick()
    pack = Frame(b'[{"n": "volts", "u": "V", "v": 0.5, "t": %f}]' % -late_s, machine.now(), "meter")
    channels.accept("meter", pack.stamp, MqttDecoder({"volts": MqttValue("meter", senml="volts", unit="V")})(pack))
    ticking.tick()
    known = replace(facts(), readings=ticking.readings, steady_s=clock.steady_s(), read_s=ticking.read_s)
    assert told("prove_dead", DEAD, OWN, known=known, standing=standing)[0] == outcome


@either_way
def test_the_judge_is_heard_after_a_move(set_by_s: float) -> None:
    standing = Standing("v1")
    standing.take(Added("a", TIME_S, mass_kg=0.1), TIME_S)
    standing.judged("subcooling", TIME_S + set_by_s, at_s=TIME_S - 1.0)
    assert standing.settled == ""
    standing.judged("subcooling", TIME_S + set_by_s + 600.0, at_s=TIME_S + 600.0)
    assert standing.settled == "subcooling"


@either_way
@pytest.mark.parametrize(("minutes", "warned"), [(1.0, {"guard.too_soon", "guard.noted_by_both"}), (6.0, set[str]())])
def test_what_was_moved_just_now_was_moved_just_now(set_by_s: float, minutes: float, warned: set[str]) -> None:
    visit = Visit()
    visit.runs()
    visit.settles()
    visit.take(Added("m1", visit.now_s, "Robin", "technician", mass_kg=0.1, phase="liquid"))
    steady_s = visit.now_s + 60.0 * minutes
    visit.now_s += set_by_s + 60.0 * minutes
    visit.standing.judged("subcooling", visit.now_s, at_s=steady_s)
    visit.see(steady_s=steady_s)
    visit.adds(0.1)
    assert {kind for each in visit.warned for kind in each} == warned


@either_way
@pytest.mark.parametrize(("later_s", "is_asked"), [(60.0, True), (601.0, False)])
def test_who_has_just_opened_a_visit_has_just_opened_it(set_by_s: float, later_s: float, is_asked: bool) -> None:
    standing = Standing("v1")
    standing.take(VisitOpened("o1", T0_S, "Robin", "technician", unit="RTU-B", circuit="1"), T0_S)
    known = replace(facts(), steady_s=T0_S + later_s)
    ask = AddedAsk("a1", "Sam", mass_kg=0.1)
    assert bool(doubts(ask, standing, known, T0_S + later_s + set_by_s)) is is_asked


@either_way
def test_a_reading_is_as_old_as_it_is_and_a_mark_of_the_record_is_of_no_future(rig: Rig, set_by_s: float) -> None:
    machine = Machine()
    clock = Clock(machine.now)
    channels = Channels(rig, clock.time_s)
    packs: list[Pack] = []
    ticking = Ticking(clock, channels, rig=lambda: rig, session=lambda: 1, took=packs.append, note=lambda *_: None)
    assert ticking.read_s == {}
    channels.accept("low side probe", machine.now(), {"pressure": 118.0})
    first_s = clock.steady_s()
    machine.wait(1.0)
    machine.set_by(set_by_s)
    ticking.tick()
    assert ticking.read_s["suction_pressure"] == pytest.approx(first_s, abs=1e-3)
    channels.accept("low side probe", machine.now(), {"pressure": 118.0})
    ticking.tick()
    assert ticking.read_s["suction_pressure"] == pytest.approx(first_s + 1.0, abs=1e-3)
    assert clock.steady_of(clock.now().time_s - 30.0) == pytest.approx(first_s - 29.0, abs=1e-3)
    assert clock.steady_of(clock.now().time_s + HOUR_S) == pytest.approx(first_s + 1.0, abs=1e-3)
