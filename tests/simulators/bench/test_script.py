"""A visit from a file: it is read with its units, done at its times over the real wire, and the same every time."""

import asyncio
import time
from collections.abc import Callable
from pathlib import Path

import aiomqtt
import pytest

import simulators
from calc.units import parse
from ingest.wire.bench_acts import (
    BenchState,
    Discharge,
    FitCapacitor,
    Hose,
    OpenCylinder,
    Panel,
    PlaceLeads,
    SetLug,
    ThrowDisconnect,
)
from ingest.wire.messages import AddedAsk, Answer, NoteAsk, decode, decode_ask, encode, topic
from simulators.bench.bench import RIG_NAME, SimulatedRig
from simulators.bench.following import Outgoing
from simulators.bench.scenario import ScenarioError
from simulators.bench.script import ScriptError, load_script
from simulators.errors import SimulatorError
from tests import wire_rig
from tests.brokers import listening_to, mosquitto

HEAD = 'title = "A visit"\nscenario = "low_charge"\nby = "Sam"\n'
OFF = '[[step]]\nat = "1 s"\nact = "panel"\non = false\n'


def script_of(directory: Path, steps: str, head: str = HEAD) -> Path:
    path = directory / "visit.toml"
    path.write_text(head + steps, encoding="utf-8")
    return path


def test_a_step_is_an_act_or_an_ask_with_its_values_in_the_trades_units(tmp_path: Path) -> None:
    script = load_script(
        script_of(
            tmp_path,
            """
            ends = "30 min"
            [[step]]
            at = "0 s"
            act = "cylinder"
            open = "50 %"
            says = "slowly"
            [[step]]
            at = "2 min"
            ask = "added"
            mass = "6 oz"
            phase = "liquid"
            """,
        )
    )
    opened, added = script.steps
    assert (opened.at_s, opened.does, opened.says) == (0.0, OpenCylinder(open_ratio=0.5), "slowly")
    assert added.does == AddedAsk("script-2", "Sam", mass_kg=pytest.approx(0.170097, abs=1e-6), phase="liquid")
    assert list(script.due(0.0, 0.25)) == [opened]
    assert list(script.due(0.25, 120.0)) == []
    assert list(script.due(120.0, 120.25)) == [added]
    assert script.ends_s == 1800.0


def test_a_gauge_pressure_counts_from_the_barometer_of_its_scenario(tmp_path: Path) -> None:
    step = '[[step]]\nat = "1 s"\nact = "nitrogen"\npressure = "150 psig"\n'
    script = load_script(script_of(tmp_path, step))
    barometric_pa = script.scenario.parameters.conditions.barometric_pressure_pa
    expected_pa = parse("150 psig", "pressure", barometric_pressure_pa=barometric_pa)
    assert script.steps[0].does.pressure_pa == pytest.approx(expected_pa)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("steps", "says"),
    [
        ('[[step]]\nat = "soon"\nact = "panel"\non = true\n', "step 1: .*soon"),
        ('[[step]]\nact = "panel"\non = true\n', "step 1"),
        ('[[step]]\nat = "1 s"\nact = "kick"\n', "step 1: .*kick"),
        ('[[step]]\nat = "1 s"\nact = "panel"\nopen = true\n', "step 1: .*open"),
        ('[[step]]\nat = "1 s"\nask = "added"\nmass = "6 feet"\n', "step 1: .*feet"),
        (
            '[[step]]\nat = "2 s"\nact = "panel"\non = true\n[[step]]\nat = "1 s"\nact = "panel"\non = true\n',
            "another order than their times",
        ),
        ('ends = "never"\n', "ends: .*never"),
        ('[[step]]\nat = "1 s"\nsays = {a = "b"}\nact = "panel"\non = true\n', "step 1: Expected `str`"),
        (
            '[[step]]\nat = "1 s"\nact = "cylinder"\nopen = "5 %"\nopen_ratio = 0.7\n',
            "step 1: open and open_ratio say the same",
        ),
        ('[[step]]\nat = "-1 s"\nact = "panel"\non = true\n', "step 1: at = '-1 s' is before the start"),
        ('[[step]]\nat = "1 s"\nask = "note"\ntext = "x"\nmass = "1 oz"\nact = "panel"\n', "act, mass.* ask = 'note'"),
        ('[[step]]\nat = "1 s"\nask = "note"\ntext = "x"\nid = "mine"\n', "step 1: id cannot be given"),
        (f'[[step]]\nat = "1 s"\nask = "note"\ntext = "{"x" * 70_000}"\n', "step 1: .* bytes; at most"),
        ('ends = "-1 s"\n', "ends = '-1 s' comes before"),
        ('ends = "1 s"\n[[step]]\nat = "1 s"\nact = "panel"\non = true\n', "ends = '1 s' comes before"),
        ("steps = 3\n", "steps"),
        (
            f'{OFF}[[step]]\nat = "2 s"\nact = "lug"\nlug = "fan_comon"\n',
            "line 8, step 2: there is no lug 'fan_comon'; there are .*; was 'fan_common' meant",
        ),
        (
            f'{OFF}\n[[step]]\nat = "2 s"\nact = "leads"\nred = "line_a"\nblack = "line_d"\n',
            "line 9, step 2: there is no point 'line_d'; there are .*; was 'line_[abc]' meant",
        ),
        (
            f'{OFF}[[step]]\nat = "2 s"\nact = "clamp"\nlead = "fan_run"\nturns = 50\n',
            "line 8, step 2: .* 1 to 20 times",
        ),
        (
            f'{OFF}[[step]]\nat = "2 s"\nact = "swap_leads"\none = "a"\nother = "d"\n',
            "line 8, step 2: there is no leg 'd'",
        ),
        (
            '[[step]]\nat = "2 s"\nact = "lug"\nlug = "fan_common"\n',
            "line 4, step 1: the panel is on: take it off first",
        ),
        (
            'step = [{at = "2 s", act = "block", motor = "pump", blocked = true}]\n',
            "toml: step 1: there is no motor 'pump'",
        ),
    ],
)
def test_a_mistake_is_told_with_the_step_it_is_in(tmp_path: Path, steps: str, says: str) -> None:
    with pytest.raises(ScriptError, match=says):
        load_script(script_of(tmp_path, steps))


def test_a_script_of_no_scenario_or_of_no_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError, match="nowhere"):
        load_script(script_of(tmp_path, "", 'title = "A visit"\nscenario = "nowhere"\n'))
    with pytest.raises(ScriptError, match=r"none\.toml"):
        load_script(tmp_path / "none.toml")
    with pytest.raises(ScriptError, match="/dev/zero is a folder, a pipe or a device"):
        load_script(Path("/dev/zero"))  # which has no end
    with pytest.raises(ScriptError, match="by is empty"):
        load_script(script_of(tmp_path, "", HEAD.replace("Sam", " ")))


def test_a_script_is_not_played_on_top_of_another_visit(tmp_path: Path) -> None:
    """Its asks have the ids of the time before, so the rig would take them for the same ones again."""
    script = load_script(script_of(tmp_path, ""))
    (tmp_path / "bench.sqlite").touch()
    with pytest.raises(SimulatorError, match=r"bench\.sqlite holds one: give it a new folder"):
        SimulatedRig(script.scenario, directory=tmp_path, script=script)


def test_what_the_rig_does_not_do_of_a_script_is_told(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    script = load_script(script_of(tmp_path, '[[step]]\nat = "9 s"\nask = "note"\ntext = "x"\n'))
    rig = SimulatedRig(script.scenario, directory=tmp_path, script=script)
    for answer in (Answer("script-1", ok=True), Answer("other", ok=False, reason="no"), Answer("script-1", ok=False)):
        rig.receive(topic(RIG_NAME, f"answer/technician/{answer.id}"), encode(answer))
    rig.receive(topic(RIG_NAME, "answer/technician/script-1"), encode(Answer("script-1", ok=False, reason="not saved")))
    assert caplog.messages[-1] == "the script at 9 s: the rig did not do it: not saved"
    assert len(caplog.messages) == 2


def test_what_a_rig_has_not_answered_is_asked_again_when_it_is_back_and_told_at_the_end(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """A rig that is killed between broker and record has not done what it was asked, and nobody else would know."""
    script = load_script(script_of(tmp_path, 'ends = "3 s"\n[[step]]\nat = "1 s"\nask = "note"\ntext = "x"\n'))
    rig = SimulatedRig(script.scenario, directory=tmp_path, script=script)
    rig.advance(2.0)
    there = encode(wire_rig.about(started_s=0.0))
    rig.receive(topic(RIG_NAME, "about"), there)

    def asked() -> list[Outgoing]:
        return [it for it in rig._outbox._waiting if "/ask/" in it.topic]  # beside what is heard of the compressor

    first, again = asked()
    assert first == again
    rig.advance(2.0)
    rig.advance(2.0)
    assert [text for text in caplog.messages if "not answered script-1" in text] == [
        "the script ends, and the rig has not answered script-1: it may not be in the record"
    ]
    rig.receive(topic(RIG_NAME, "answer/technician/script-1"), encode(Answer("script-1", ok=True)))
    rig.receive(topic(RIG_NAME, "about"), there)
    assert len(asked()) == 2


def test_a_scenario_of_ones_own_stands_beside_its_script(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shipped = Path(simulators.__file__).parent / "scenarios" / "low_charge.toml"
    (tmp_path / "mine.toml").write_bytes(shipped.read_bytes())
    monkeypatch.chdir("/")
    visit = script_of(tmp_path, "", 'title = "A visit"\nscenario = "mine.toml"\n')
    assert load_script(visit).scenario.file.title == "A little low"


SHIPPED = sorted((Path(simulators.__file__).parent / "scripts").glob("*.toml"))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_no_hand_of_a_shipped_visit_is_in_a_live_panel_and_no_leak_goes_untested(path: Path) -> None:
    """Whoever watches it learns from it. Common practice, no source; before and after: NFPA 70E 120.5, as taught."""
    does = [step.does for step in load_script(path).steps]
    closed = True
    for act in does:
        closed = act.closed if isinstance(act, ThrowDisconnect) else closed
        assert not (closed and isinstance(act, (SetLug, FitCapacitor, Discharge)))
    off, on = (next((place for place, act in enumerate(does) if act == Panel(on=on)), None) for on in (False, True))
    if off is not None and on is not None:
        known_live = PlaceLeads(red="line_a", black="line_b")
        opened, closes = does.index(ThrowDisconnect(closed=False)), does.index(ThrowDisconnect(closed=True))
        first_wire = next(place for place, act in enumerate(does) if isinstance(act, (SetLug, FitCapacitor)))
        emptied = {act.section: place for place, act in enumerate(does) if isinstance(act, Discharge)}
        assert known_live in does[:opened]
        assert known_live in does[off : min(emptied.values())]
        fitted = next(act for act in does if isinstance(act, FitCapacitor))
        assert emptied.keys() == fitted.sections_f.keys()
        for section, place in emptied.items():
            leads = PlaceLeads(red=f"capacitor_{section}", black="capacitor_common")
            assert leads in does[opened:place]
            assert leads in does[place:first_wire]
        assert on < closes
    last_hose = max(place for place, act in enumerate(does) if isinstance(act, Hose) and not act.on)
    assert any("No leak found" in getattr(it, "text", "") for it in does[last_hose:])


def test_what_a_step_says_is_told_to_who_watches_with_its_time(tmp_path: Path) -> None:
    steps = '[[step]]\nat = "65 s"\nact = "panel"\non = false\nsays = "Panel off."\n'
    script, told = load_script(script_of(tmp_path, steps)), []
    rig = SimulatedRig(script.scenario, directory=tmp_path, script=script, tell=told.append)
    rig.simulated_s = 65.0
    rig.advance(0.25)
    assert told == ["  1:05  Panel off."]
    rig.advance(0.25)
    assert len(told) == 1


async def test_it_is_played_over_the_broker_once_the_rig_is_there(tmp_path: Path, free_port: Callable[[], int]) -> None:
    script = load_script(
        script_of(
            tmp_path,
            """
            ends = "8 s"
            [[step]]
            at = "1 s"
            act = "hose"
            port = "suction"
            on = true
            [[step]]
            at = "2 s"
            act = "recovery"
            runs = true
            [[step]]
            at = "3 s"
            ask = "note"
            text = "hose on"
            """,
        )
    )
    note, state = topic(RIG_NAME, "ask/technician/note"), topic(RIG_NAME, "bench/state")
    async with (
        mosquitto(free_port(), tmp_path) as broker,
        listening_to(broker.address) as ear,
        SimulatedRig(script.scenario, directory=tmp_path, speed=10.0, script=script) as rig,
        aiomqtt.Client("127.0.0.1", broker.address.port) as client,
    ):
        following = asyncio.create_task(rig.follow(broker.address))
        try:
            await ear.until(lambda: len(ear.payloads(state)) == 1)
            assert rig.simulated_s == 0.0  # nobody is there yet who could be asked
            await client.publish(topic(RIG_NAME, "about"), encode(wire_rig.about(started_s=time.time())), qos=1)
            async with asyncio.timeout(30):
                await rig.ended.wait()
            await ear.until(lambda: len(ear.payloads(note)) == 1 and len(ear.payloads(state)) == 3)
        finally:
            following.cancel()
            await asyncio.wait([following])
    assert decode_ask(ear.payloads(note)[0]) == NoteAsk("script-3", "Sam", text="hose on")
    stood = [decode(payload, BenchState) for payload in ear.payloads(state)]
    assert [(it.hoses, it.done) for it in stood] == [((), 0), (("suction",), 1), (("suction",), 1)]
    assert "stop the unit" in stood[-1].refused
